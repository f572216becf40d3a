//go:build !unix

package simulate

import "os"

// unblocked has nothing to do where there are no pseudo-terminals.
func unblocked(*os.File) error { return nil }
