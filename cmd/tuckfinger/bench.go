package main

import (
	"os"
	"path/filepath"

	"tuckfinger/export/page"
	"tuckfinger/params"
)

// bench reads a bench test; no name is no test.
func bench(name string) (*page.Measured, error) {
	if name == "" {
		return nil, nil
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, params.Unreadable(name, err)
	}
	defer f.Close()
	return page.ReadMeasured(filepath.Base(name), f)
}
