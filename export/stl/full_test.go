//go:build linux

package stl

import (
	"errors"
	"os"
	"syscall"
	"testing"

	"tuckfinger/export/internal/solids"
)

// sdfx's ToSTL waits for ever when the disk is full; here that is an error that
// says so.
func TestFullDisk(t *testing.T) {
	f, err := os.OpenFile("/dev/full", os.O_WRONLY, 0)
	if err != nil {
		t.Skipf("no /dev/full to write to: %v", err)
	}
	defer f.Close()
	if err := Write(f, "p", solids.Tube(3, 8, 2, 1000)); !errors.Is(err, syscall.ENOSPC) {
		t.Errorf("writing to a full disk: %v", err)
	}
}
