package folder

import (
	"errors"
	"os"

	"golang.org/x/sys/unix"
)

// exchange swaps the names of two folders in one step: renamex_np(2),
// RENAME_SWAP. Some file systems can't.
func exchange(a, b string) error {
	err := unix.RenamexNp(a, b, unix.RENAME_SWAP)
	if errors.Is(err, unix.ENOTSUP) || errors.Is(err, unix.EINVAL) {
		return errNoExchange
	}
	if err != nil {
		return &os.LinkError{Op: "exchange", Old: a, New: b, Err: err}
	}
	return nil
}
