package sweep

import (
	"math"
	"os"

	"golang.org/x/sys/windows"
)

// lock keeps other processes from a file until it is closed, also by a kill.
// Locks keep others from reading on this system, so it is put on a byte far
// behind the end.
func lock(f *os.File) error {
	at := &windows.Overlapped{OffsetHigh: math.MaxInt32}
	return windows.LockFileEx(windows.Handle(f.Fd()), windows.LOCKFILE_EXCLUSIVE_LOCK|windows.LOCKFILE_FAIL_IMMEDIATELY, 0, 1, 0, at)
}
