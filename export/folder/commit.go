package folder

import (
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
)

// errNoExchange says that the system can't exchange two folders in one step.
var errNoExchange = errors.New("folders can't be exchanged in one step here")

// Commit writes the manifest and gives the folder its name. It fails, and
// leaves the destination as it was, when an Add failed, when the destination
// was touched meanwhile, or when the disk refuses; the unfinished folder is
// removed. After Commit the output is finished, whatever it returned.
//
// Where the system can't exchange two folders in one step, there is an instant
// at which the earlier output has another, hidden name; the next Create puts
// it back.
func (o *Output) Commit() (err error) {
	if err := o.finish(); err != nil {
		return err
	}
	committed := false
	defer func() {
		// An earlier output that can't be removed is no reason to call the new
		// one failed; the next Create tries again.
		if gone := o.leave(); !committed {
			err = errors.Join(err, gone)
		}
	}()
	if err := o.failures(); err != nil {
		return fmt.Errorf("output folder %s not written: %w", o.dst, err)
	}
	if err := o.seal(); err != nil {
		return fmt.Errorf("output folder %s not written: %w", o.dst, err)
	}
	if err := replaceable(o.dst); err != nil {
		return err
	}
	if err := o.swap(); err != nil {
		return fmt.Errorf("output folder %s not written: %w", o.dst, err)
	}
	committed = true
	if err := o.sys.syncDir(filepath.Dir(o.dst)); err != nil {
		return fmt.Errorf("output folder %s is in place but may not survive a power cut: %w", o.dst, err)
	}
	return nil
}

// Abort removes the unfinished folder and gives the lock back. After Commit or
// Abort it does nothing, so it may be deferred.
func (o *Output) Abort() error {
	if o.finish() != nil {
		return nil
	}
	return o.leave()
}

// Path returns the absolute path of the destination.
func (o *Output) Path() string { return o.dst }

func (o *Output) finish() error {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.done {
		return fmt.Errorf("output folder %s: already finished", o.dst)
	}
	o.done = true
	return nil
}

// leave removes what stands under the temporary name: the unfinished work, or
// after an exchange the earlier output.
func (o *Output) leave() error {
	return errors.Join(remove(o.temp), o.lock.release())
}

// seal completes the temporary folder: manifest last, then the folders' entries
// are synced from the inside out.
func (o *Output) seal() error {
	m := Manifest{Form: manifestForm, Files: []Entry{}}
	for _, e := range o.files {
		m.Files = append(m.Files, e)
	}
	slices.SortFunc(m.Files, func(a, b Entry) int {
		if a.Name < b.Name {
			return -1
		}
		return 1
	})
	if _, err := o.put(filepath.Join(o.temp, ManifestName), m.write); err != nil {
		return fmt.Errorf("%s: %w", ManifestName, err)
	}
	if err := os.Remove(filepath.Join(o.temp, marker)); err != nil {
		return err
	}
	var dirs []string
	err := filepath.WalkDir(o.temp, func(path string, e fs.DirEntry, err error) error {
		if err == nil && e.IsDir() {
			dirs = append(dirs, path)
		}
		return err
	})
	if err != nil {
		return err
	}
	slices.Reverse(dirs)
	for _, d := range dirs {
		if err := o.sys.syncDir(d); err != nil {
			return err
		}
	}
	return nil
}

// swap gives the finished folder the destination's name.
func (o *Output) swap() error {
	list, err := os.ReadDir(o.dst)
	if errors.Is(err, fs.ErrNotExist) {
		return o.sys.rename(o.temp, o.dst)
	}
	if err != nil {
		return err
	}
	if len(list) == 0 {
		// Fails if something was put in meanwhile.
		if err := os.Remove(o.dst); err != nil {
			return err
		}
		return o.sys.rename(o.temp, o.dst)
	}
	if err := o.sys.exchange(o.temp, o.dst); !errors.Is(err, errNoExchange) {
		return err
	}
	aside, err := o.sibling("old")
	if err != nil {
		return err
	}
	if err := os.Remove(aside); err != nil {
		return err
	}
	if err := o.sys.rename(o.dst, aside); err != nil {
		return err
	}
	if err := o.sys.rename(o.temp, o.dst); err != nil {
		return errors.Join(err, o.sys.rename(aside, o.dst))
	}
	remove(aside) // if it fails, the next Create tries again
	return nil
}

// sibling makes an empty hidden folder beside the destination. The number in
// its name is no part of the output.
func (o *Output) sibling(kind string) (string, error) {
	dir, base := filepath.Split(o.dst)
	for try := 0; ; try++ {
		path := filepath.Join(dir, prefix+base+"."+kind+"-"+strconv.FormatUint(uint64(rand.Uint32()), 10))
		err := os.Mkdir(path, 0o777)
		if err == nil || !errors.Is(err, fs.ErrExist) || try > 100 {
			return path, err
		}
	}
}

// recover puts back an earlier output that a killed build had set aside, and
// removes unfinished folders of dead builds. It holds the lock, so nobody else
// is at work on them. Only real folders with the marker or a manifest, or empty
// ones, are removed.
func (o *Output) recover() error {
	dir, base := filepath.Split(o.dst)
	own := regexp.MustCompile(`^` + regexp.QuoteMeta(prefix+base) + `\.(new|old)-[0-9]+$`)
	list, err := os.ReadDir(dir)
	if err != nil {
		return err
	}
	for _, e := range list {
		kind := own.FindStringSubmatch(e.Name())
		if kind == nil || !e.IsDir() {
			continue
		}
		path := filepath.Join(dir, e.Name())
		if kind[1] == "old" {
			if _, err := os.Lstat(o.dst); errors.Is(err, fs.ErrNotExist) {
				if _, err := Read(path); err == nil {
					if err := o.sys.rename(path, o.dst); err != nil {
						return err
					}
					continue
				}
			}
		}
		if err := discard(path); err != nil {
			return fmt.Errorf("clearing an unfinished build: %w", err)
		}
	}
	return nil
}

// discard removes a folder that this package made and leaves any other alone.
func discard(path string) error {
	_, unfinished := os.Lstat(filepath.Join(path, marker))
	_, complete := os.Lstat(filepath.Join(path, ManifestName))
	if unfinished != nil && complete != nil {
		os.Remove(path) // succeeds on an empty folder only
		return nil
	}
	return remove(path)
}

// remove deletes a folder of this package so that, killed half way, what is
// left still carries the marker.
func remove(path string) error {
	list, err := os.ReadDir(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	mark := filepath.Join(path, marker)
	if err := os.WriteFile(mark, nil, 0o666); err != nil {
		return err
	}
	for _, e := range list {
		if e.Name() != marker {
			if err := os.RemoveAll(filepath.Join(path, e.Name())); err != nil {
				return err
			}
		}
	}
	if err := os.Remove(mark); err != nil {
		return err
	}
	return os.Remove(path)
}
