//go:build !unix

package sqlite

// Elsewhere the database's own codes have to do.
func isFull(error) bool     { return false }
func isReadOnly(error) bool { return false }
