package folder

import (
	"os"
	"path/filepath"
	"testing"
)

// A device is written to and stays a device; what can't be written leaves
// nothing behind.
func TestWriteFileToDevice(t *testing.T) {
	before, err := os.Stat(os.DevNull)
	if err != nil {
		t.Fatal(err)
	}
	link := filepath.Join(t.TempDir(), "null") // never risk the device itself
	if err := os.Symlink(os.DevNull, link); err != nil {
		t.Skip(err)
	}
	if err := WriteFile(link, []byte("x")); err != nil {
		t.Fatal(err)
	}
	fi, err := os.Lstat(link)
	if err != nil || fi.Mode()&os.ModeSymlink == 0 {
		t.Errorf("the link has become %v, %v", fi.Mode(), err)
	}
	after, err := os.Stat(os.DevNull)
	if err != nil || after.Mode() != before.Mode() {
		t.Errorf("%s was %v and is %v, %v", os.DevNull, before.Mode(), after.Mode(), err)
	}
	dir := t.TempDir()
	if err := WriteFile(dir, nil); err == nil || err.Error() != dir+": cannot be written: it is a folder; name a file" {
		t.Error(err)
	}
}
