package folder

import (
	"fmt"
	"io/fs"
	"path"
	"strings"
	"unicode"
)

// checkName refuses names that leave the folder, that this package uses itself,
// or that some common file system can't hold: the output is made to be handed on.
func checkName(name string) error {
	if !fs.ValidPath(name) || name == "." {
		return fmt.Errorf("not a file name inside the folder: use relative names with forward slashes, without . and ..")
	}
	for _, part := range strings.Split(name, "/") {
		if i := strings.IndexFunc(part, func(r rune) bool {
			return unicode.IsControl(r) || strings.ContainsRune(`<>:"|?*\`, r)
		}); i >= 0 {
			return fmt.Errorf("character %q can't stand in a file name on every system", part[i:i+1])
		}
		if strings.HasSuffix(part, ".") || strings.HasSuffix(part, " ") {
			return fmt.Errorf("a name can't end in a dot or a space on every system")
		}
		if len(part) > 255 {
			return fmt.Errorf("a name can't be longer than 255 bytes")
		}
		if reserved(part) {
			return fmt.Errorf("%q is the name of a device on some systems", part)
		}
	}
	if first, _, _ := strings.Cut(name, "/"); strings.HasPrefix(first, prefix) || strings.EqualFold(first, ManifestName) {
		return fmt.Errorf("this name is kept for the folder's own records")
	}
	return nil
}

// reserved reports device names, with or without an extension (documented for
// the Windows file systems; from memory).
func reserved(part string) bool {
	stem, _, _ := strings.Cut(strings.ToLower(part), ".")
	switch stem {
	case "con", "prn", "aux", "nul":
		return true
	}
	return len(stem) == 4 && (stem[:3] == "com" || stem[:3] == "lpt") && stem[3] >= '1' && stem[3] <= '9'
}

// claim enters a name and the folders that lead to it. taken maps every name in
// small letters to itself; a folder ends in a slash there.
func claim(taken map[string]string, name string) error {
	if old, ok := taken[strings.ToLower(name)]; ok {
		return fmt.Errorf("the name is taken by %s", old)
	}
	for dir := path.Dir(name); dir != "."; dir = path.Dir(dir) {
		key := strings.ToLower(dir)
		if old, ok := taken[key]; ok && old != dir+"/" {
			return fmt.Errorf("its folder is taken by %s", old)
		}
	}
	taken[strings.ToLower(name)] = name
	for dir := path.Dir(name); dir != "."; dir = path.Dir(dir) {
		taken[strings.ToLower(dir)] = dir + "/"
	}
	return nil
}
