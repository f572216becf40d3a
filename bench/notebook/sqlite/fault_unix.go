//go:build unix

package sqlite

import (
	"errors"
	"syscall"
)

// isFull tells a full disk, a used-up quota or a limit on the size of files.
func isFull(err error) bool {
	return errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT) || errors.Is(err, syscall.EFBIG)
}

func isReadOnly(err error) bool { return errors.Is(err, syscall.EROFS) }
