//go:build unix && !solaris && !illumos && !aix

package sweep

import (
	"os"
	"syscall"
)

// lock keeps other processes from a file until it is closed, also by a kill.
func lock(f *os.File) error {
	return syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
}
