//go:build unix

package folder

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"
)

// TestMain lets the test binary play the parts that need a process of their
// own: one to be killed, one with a small disk quota, one without rights.
func TestMain(m *testing.M) {
	part, dst := os.Getenv("FOLDER_TEST_PART"), os.Getenv("FOLDER_TEST_DST")
	switch part {
	case "":
		os.Exit(m.Run())
	case "builder":
		builder(dst, os.Getenv("FOLDER_TEST_MODE") == "two renames")
	case "quota":
		// A write past RLIMIT_FSIZE fails with EFBIG once SIGXFSZ is ignored (setrlimit(2)).
		signal.Ignore(syscall.SIGXFSZ)
		lim := syscall.Rlimit{Cur: 5_000, Max: 5_000}
		if err := syscall.Setrlimit(syscall.RLIMIT_FSIZE, &lim); err != nil {
			fmt.Println("skip:", err)
			return
		}
		fmt.Println(errors.Is(Write(dst, version(1), 2), syscall.EFBIG))
	case "powerless":
		if err := syscall.Setuid(65534); os.Getuid() == 0 {
			fmt.Println("skip:", err)
			return
		}
		fmt.Println(errors.Is(Write(dst, version(2), 2), fs.ErrPermission))
	}
}

// builder builds version after version for ever and says when each is done.
func builder(dst string, twoRenames bool) {
	sys := osSystem()
	if twoRenames {
		sys.exchange = func(a, b string) error { return errNoExchange }
	}
	first, _ := strconv.Atoi(os.Getenv("FOLDER_TEST_VERSION"))
	for v := first; ; v++ {
		out, err := create(dst, sys)
		if err == nil {
			AddAll(out, version(v), 2)
			err = out.Commit()
		}
		if err != nil {
			fmt.Println("error:", err)
			os.Exit(1)
		}
		fmt.Println(v)
	}
}

// version makes files that all hold the same number.
func version(v int) []File {
	var files []File
	for i := range 6 {
		files = append(files, text(fmt.Sprintf("d%d/f%d", i%2, i), strings.Repeat(fmt.Sprintln(v), 3000)))
	}
	return files
}

func play(t *testing.T, part, dst string, more ...string) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(self)
	cmd.Env = append(append(os.Environ(), "FOLDER_TEST_PART="+part, "FOLDER_TEST_DST="+dst), more...)
	return cmd
}

// Builds are killed at random instants. Afterwards the destination holds one
// whole version, not older than the last that was reported done; where folders
// are swapped in two steps it may be absent until the next build looks.
func TestKill(t *testing.T) {
	kills := 30
	if testing.Short() {
		kills = 10
	}
	for _, mode := range []string{"exchange", "two renames"} {
		t.Run(mode, func(t *testing.T) {
			t.Parallel()
			parent := t.TempDir()
			dst := filepath.Join(parent, "out")
			if err := Write(dst, version(1), 2); err != nil {
				t.Fatal(err)
			}
			rng := rand.New(rand.NewPCG(1, 2))
			done, litter, absent := 1, 0, 0
			for range kills {
				cmd := play(t, "builder", dst, "FOLDER_TEST_MODE="+mode, fmt.Sprint("FOLDER_TEST_VERSION=", done+1))
				r, err := cmd.StdoutPipe()
				if err != nil {
					t.Fatal(err)
				}
				if err := cmd.Start(); err != nil {
					t.Fatal(err)
				}
				lines := bufio.NewScanner(r)
				read := func() {
					if strings.HasPrefix(lines.Text(), "error") {
						t.Error(lines.Text())
					} else if v, err := strconv.Atoi(lines.Text()); err == nil {
						done = v
					}
				}
				if lines.Scan() {
					read()
				}
				time.Sleep(time.Duration(rng.Int64N(int64(12 * time.Millisecond))))
				if err := cmd.Process.Kill(); err != nil {
					t.Fatal(err)
				}
				for lines.Scan() {
					read()
				}
				cmd.Wait()

				if _, err := os.Stat(dst); errors.Is(err, fs.ErrNotExist) {
					absent++
					if mode == "exchange" {
						t.Fatal("the output is gone")
					}
					// The next build puts it back before it does anything else.
					out, err := Create(dst)
					if err != nil {
						t.Fatal(err)
					}
					out.Abort()
				}
				if d, err := Compare(dst); err != nil || !d.none() {
					t.Fatalf("after %d: %+v, %v", done, d, err)
				}
				all := tree(t, dst)
				line, _, _ := strings.Cut(all["d0/f0"], "\n")
				v, err := strconv.Atoi(line)
				if err != nil || v < done || v > done+1 {
					t.Fatalf("holds version %q, the last reported is %d", line, done)
				}
				for _, f := range version(v) {
					if all[f.Name] != all["d0/f0"] {
						t.Fatalf("%s is of another version than d0/f0", f.Name)
					}
				}
				done = v
				if list, err := os.ReadDir(parent); err != nil {
					t.Fatal(err)
				} else if len(list) > 1 {
					litter++
				}
			}
			t.Logf("%d kills, %d within a build, %d between two renames, %d versions", kills, litter, absent, done)
			if litter == 0 {
				t.Error("no kill fell within a build; the test shows nothing")
			}
			if err := Write(dst, version(0), 2); err != nil {
				t.Fatal(err)
			}
			noLitter(t, parent)
		})
	}
}

// A build killed between the two renames of systems without an exchange: the
// earlier output is put back.
func TestRecover(t *testing.T) {
	parent := t.TempDir()
	dst := filepath.Join(parent, "out")
	if err := Write(dst, version(1), 2); err != nil {
		t.Fatal(err)
	}
	before := tree(t, dst)
	if err := os.Rename(dst, filepath.Join(parent, ".tuckfinger-out.old-7")); err != nil {
		t.Fatal(err)
	}
	out, err := Create(dst)
	if err != nil {
		t.Fatal(err)
	}
	if after := tree(t, dst); len(after) != len(before) || after["d0/f0"] != before["d0/f0"] {
		t.Error("the earlier output was not put back")
	}
	out.Abort()
	noLitter(t, parent)
}

func TestQuota(t *testing.T) {
	parent := t.TempDir()
	dst := filepath.Join(parent, "out")
	expect(t, play(t, "quota", dst))
	if list, err := os.ReadDir(parent); err != nil || len(list) != 0 {
		t.Errorf("left: %v, %v", list, err)
	}
}

func TestNoRights(t *testing.T) {
	parent := filepath.Join(t.TempDir(), "closed")
	if err := os.Mkdir(parent, 0o755); err != nil {
		t.Fatal(err)
	}
	dst := filepath.Join(parent, "out")
	if err := Write(dst, version(1), 2); err != nil {
		t.Fatal(err)
	}
	before := tree(t, parent)
	if os.Getuid() != 0 {
		if err := os.Chmod(parent, 0o555); err != nil {
			t.Fatal(err)
		}
		defer os.Chmod(parent, 0o755)
		if err := Write(dst, version(2), 2); !errors.Is(err, fs.ErrPermission) {
			t.Error(err)
		}
	} else {
		expect(t, play(t, "powerless", dst))
	}
	if after := tree(t, parent); len(after) != len(before) || after["out/d0/f0"] != before["out/d0/f0"] {
		t.Error("the earlier output changed")
	}
}

func expect(t *testing.T, cmd *exec.Cmd) {
	t.Helper()
	b, err := cmd.Output()
	if err != nil && !errors.Is(err, io.EOF) {
		t.Fatal(err, string(b))
	}
	switch s := strings.TrimSpace(string(b)); {
	case strings.HasPrefix(s, "skip"):
		t.Skip(s)
	case s != "true":
		t.Errorf("wrong error from the other process: %s", s)
	}
}
