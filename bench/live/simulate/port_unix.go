//go:build unix

package simulate

import (
	"errors"
	"os"
	"syscall"
)

// unblocked lets the deadlines of a terminal's writes hold. A terminal whose
// descriptor was asked for by number blocks whoever writes more than it takes, for
// as long as nobody reads.
func unblocked(f *os.File) error {
	raw, err := f.SyscallConn()
	if err != nil {
		return err
	}
	var set error
	err = raw.Control(func(fd uintptr) { set = syscall.SetNonblock(int(fd), true) })
	return errors.Join(err, set)
}
