// Package folder writes a set of files as one folder, all or nothing.
//
// The files go to a hidden folder beside the destination, each synced to disk,
// and the finished folder takes the destination's name in one step. Whatever
// happens, a kill or a power cut included, the destination holds either the
// whole earlier output or the whole new one:
//
//	out, err := folder.Create("rack-lifter-out")
//	if err != nil { … }
//	defer out.Abort()
//	if err := out.Add("stl/tip.stl", func(w io.Writer) error { … }); err != nil { … }
//	return out.Commit()
//
// An earlier output is known by its manifest, which lists every file with size
// and SHA-256 (FIPS 180-4). A folder without a manifest, or with files in it
// that were added or changed since, is never replaced.
//
// A map of the package: Output and its steps, this file and commit.go; what may
// be replaced, manifest.go; names of files, name.go; Memory, the same interface
// without a disk, memory.go; what differs between operating systems, swap_*.go
// and lock_*.go.
package folder

import (
	"bufio"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
)

// Files takes files one by one. Names are relative with forward slashes, as in
// "stl/tip.stl". Add calls write once and returns when the file is complete; it
// may be called from several goroutines at once.
type Files interface {
	Add(name string, write func(io.Writer) error) error
}

// prefix starts the name of everything that is not the finished folder.
const prefix = ".tuckfinger-"

// ErrBusy is in the chain of the error when another build, in this process or
// another one, writes to the same destination.
var ErrBusy = errors.New("another build is writing to it")

// Output is a folder being written. Its methods may be called from several
// goroutines at once, Commit and Abort after the last Add has returned.
type Output struct {
	dst  string // absolute, without symbolic links
	temp string // where the files go until Commit
	lock *lock
	sys  system

	mu    sync.Mutex
	files map[string]Entry  // by name
	fold  map[string]string // names and their folders, in small letters, to names
	fails map[string]error
	done  bool
}

// system is what Output asks of the disk; tests put faults in.
type system struct {
	create   func(path string) (file, error)
	exchange func(a, b string) error
	rename   func(from, to string) error
	syncDir  func(path string) error
}

type file interface {
	io.Writer
	Sync() error
	Close() error
}

func osSystem() system {
	return system{
		create: func(path string) (file, error) {
			return os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
		},
		exchange: exchange,
		rename:   os.Rename,
		syncDir:  syncDir,
	}
}

// Create starts an output. It makes missing parent folders, takes the lock of
// the destination, puts back or clears away what a killed build left behind,
// and checks that the destination may be replaced: it is free, an empty folder,
// or an untouched earlier output. An error wraps ErrBusy, a *TakenError, or
// the operating system's error.
func Create(dst string) (*Output, error) { return create(dst, osSystem()) }

func create(dst string, sys system) (out *Output, err error) {
	path, err := resolve(dst)
	if err != nil {
		return nil, err
	}
	parent, base := filepath.Split(path)
	l, err := acquire(filepath.Join(parent, prefix+base+".lock"))
	if err != nil {
		return nil, fmt.Errorf("output folder %s: %w", dst, plain(err))
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, l.release())
		}
	}()
	o := &Output{dst: path, lock: l, sys: sys,
		files: map[string]Entry{}, fold: map[string]string{}, fails: map[string]error{}}
	if err := o.recover(); err != nil {
		return nil, fmt.Errorf("output folder %s: %w", dst, err)
	}
	if err := replaceable(path); err != nil {
		return nil, err
	}
	o.temp, err = o.sibling("new")
	if err != nil {
		return nil, fmt.Errorf("output folder %s: %w", dst, err)
	}
	if err := os.WriteFile(filepath.Join(o.temp, marker), nil, 0o666); err != nil {
		os.Remove(o.temp)
		return nil, fmt.Errorf("output folder %s: %w", dst, err)
	}
	return o, nil
}

// Add writes one file. A name may be used once; names that differ only in
// capitals count as equal, for they are one file on many disks. The error of
// write is wrapped, so errors.Is and errors.As see it. After a failed Add,
// Commit fails too.
func (o *Output) Add(name string, write func(io.Writer) error) error {
	err := o.add(name, write)
	if err != nil {
		err = fmt.Errorf("%s: %w", name, err)
		o.mu.Lock()
		o.fails[name] = err
		o.mu.Unlock()
	}
	return err
}

func (o *Output) add(name string, write func(io.Writer) error) (err error) {
	if err := checkName(name); err != nil {
		return err
	}
	if err := o.reserve(name); err != nil {
		return err
	}
	path := filepath.Join(o.temp, filepath.FromSlash(name))
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		return err
	}
	e, err := o.put(path, write)
	if err != nil {
		return err
	}
	e.Name = name
	o.mu.Lock()
	o.files[name] = e
	o.mu.Unlock()
	return nil
}

// reserve claims a name and the folders on the way to it.
func (o *Output) reserve(name string) error {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.done {
		return errors.New("the output is already finished")
	}
	return claim(o.fold, name)
}

// put writes a file, syncs and closes it, and reports the first error of the
// three.
func (o *Output) put(path string, write func(io.Writer) error) (e Entry, err error) {
	f, err := o.sys.create(path)
	if err != nil {
		return e, err
	}
	defer func() {
		// The close error matters: some network disks report a full disk there.
		if cerr := f.Close(); err == nil {
			err = cerr
		}
	}()
	sum := &counter{w: f, h: sha256.New()}
	b := bufio.NewWriterSize(sum, 1<<16)
	if err := write(b); err != nil {
		return e, err
	}
	if err := b.Flush(); err != nil {
		return e, err
	}
	if err := f.Sync(); err != nil {
		return e, err
	}
	return Entry{Bytes: sum.n, SHA256: hex.EncodeToString(sum.h.Sum(nil))}, nil
}

// counter passes bytes on, counting and hashing those that were accepted.
type counter struct {
	w io.Writer
	h hash.Hash
	n int64
}

func (c *counter) Write(p []byte) (int, error) {
	n, err := c.w.Write(p)
	c.h.Write(p[:n])
	c.n += int64(n)
	return n, err
}

// Make makes a folder and those that lead to it; it may be there already.
func Make(dir string) error {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return fmt.Errorf("folder %s: %w", dir, plain(err))
	}
	return nil
}

// plain says why a folder can't be made, without the call that failed and the
// name of the lock.
func plain(err error) error {
	var pe *fs.PathError
	if !errors.As(err, &pe) {
		return err
	}
	if fi, serr := os.Stat(pe.Path); serr == nil && !fi.IsDir() {
		return fmt.Errorf("%s is a file; choose another name", pe.Path)
	}
	dir := pe.Path
	if strings.HasPrefix(filepath.Base(dir), prefix) {
		dir = filepath.Dir(dir)
	}
	return fmt.Errorf("can't write in %s: %w", dir, pe.Err)
}

// resolve returns the absolute path that dst stands for, its parent existing.
func resolve(dst string) (string, error) {
	if dst == "" {
		return "", errors.New("output folder: no name given")
	}
	abs, err := filepath.Abs(dst)
	if err != nil {
		return "", err
	}
	if filepath.Dir(abs) == abs {
		return "", fmt.Errorf("output folder %s: the root of a disk can't be replaced; name a folder in it", dst)
	}
	if err := os.MkdirAll(filepath.Dir(abs), 0o777); err != nil {
		return "", fmt.Errorf("output folder %s: %w", dst, plain(err))
	}
	// The link stays; what it points to is replaced.
	if fi, err := os.Lstat(abs); err == nil && fi.Mode()&fs.ModeSymlink != 0 {
		to, err := filepath.EvalSymlinks(abs)
		if err != nil {
			return "", fmt.Errorf("output folder %s: the link leads nowhere: %w", dst, err)
		}
		abs = to
	}
	// One lock per folder, however it is spelt.
	parent, err := filepath.EvalSymlinks(filepath.Dir(abs))
	if err != nil {
		return "", fmt.Errorf("output folder %s: %w", dst, err)
	}
	abs = filepath.Join(parent, filepath.Base(abs))
	if strings.HasPrefix(filepath.Base(abs), prefix) {
		return "", fmt.Errorf("output folder %s: names that start with %s are kept for unfinished work; choose another", dst, prefix)
	}
	if wd, err := os.Getwd(); err == nil {
		if wd, err = filepath.EvalSymlinks(wd); err == nil && within(wd, abs) {
			return "", fmt.Errorf("output folder %s: it is, or holds, the current folder; name another, or run from outside it", dst)
		}
	}
	return abs, nil
}

// within reports whether path is dir or inside it.
func within(path, dir string) bool {
	rel, err := filepath.Rel(dir, path)
	return err == nil && rel != ".." && !strings.HasPrefix(rel, ".."+string(filepath.Separator))
}

// failures joins the errors of all failed files in the order of their names.
func (o *Output) failures() error {
	o.mu.Lock()
	defer o.mu.Unlock()
	var names []string
	for n := range o.fails {
		names = append(names, n)
	}
	slices.Sort(names)
	var all []error
	for _, n := range names {
		all = append(all, o.fails[n])
	}
	return errors.Join(all...)
}
