//go:build unix

package sweep

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"tuckfinger/assembly/study"
	"tuckfinger/assembly/study/sample"
)

const (
	killJournal = "SWEEP_KILL_JOURNAL"
	killLog     = "SWEEP_KILL_LOG"
	killCount   = 4000
)

// TestMain lets this binary be the process that is killed.
func TestMain(m *testing.M) {
	if os.Getenv(killJournal) == "" {
		os.Exit(m.Run())
	}
	if err := victim(os.Getenv(killJournal), os.Getenv(killLog)); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// victim sweeps, noting each variant that it begins.
func victim(path, log string) error {
	f, err := os.OpenFile(log, os.O_WRONLY|os.O_CREATE|os.O_APPEND, 0o644)
	if err != nil {
		return err
	}
	p, err := sample.NewLatin(killCount, 2, 5)
	if err != nil {
		return err
	}
	s := Setup{Plan: p, Names: []string{"rail", "overlap"}, ID: "test", Workers: 4,
		Measures: []study.Measure{{Name: "margin"}, {Name: "force", Unit: "N"}}}
	_, err = Run(context.Background(), path, s, func(v []float64) study.Outcome {
		fmt.Fprintf(f, "%v\n", v)
		time.Sleep(time.Duration(v[0] * float64(time.Millisecond)))
		return outcome(v)
	})
	return err
}

// recorded lists what a journal has, by the values of the variants, and fails
// on a doubled one.
func recorded(t *testing.T, path string) map[string]bool {
	t.Helper()
	done := map[string]bool{}
	f, err := os.Open(path)
	if os.IsNotExist(err) {
		return done
	} else if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := &reader{buf: bufio.NewReader(f), name: path}
	if _, _, err := r.header(); err != nil {
		if err == io.EOF || err == errTorn {
			return done
		}
		t.Fatal(err)
	}
	for {
		p, err := r.next()
		if err == io.EOF || err == errTorn {
			return done
		}
		if err != nil {
			t.Fatal(err)
		}
		row, err := decodeRow(p)
		if err != nil {
			t.Fatal(err)
		}
		k := fmt.Sprint(row.Values)
		if done[k] {
			t.Fatalf("variant %d is recorded twice", row.Index)
		}
		done[k] = true
	}
}

// A sweep that is killed at 20 random moments and started again ends with the
// bytes of one that was left alone; no recorded variant is lost or repeated.
func TestKilledSweepsResume(t *testing.T) {
	dir := t.TempDir()
	path, log := filepath.Join(dir, "journal"), filepath.Join(dir, "log")
	start := func() *exec.Cmd {
		c := exec.Command(os.Args[0])
		c.Env = append(os.Environ(), killJournal+"="+path, killLog+"="+log)
		c.Stderr = os.Stderr
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		return c
	}
	before := map[string]bool{}
	// after checks a process that has ended.
	after := func() {
		begun, err := os.ReadFile(log)
		if err != nil && !os.IsNotExist(err) {
			t.Fatal(err)
		}
		for l := range strings.Lines(string(begun)) {
			if before[strings.TrimSpace(l)] {
				t.Errorf("finished variant %s was begun again", l)
			}
		}
		os.Remove(log)
		now := recorded(t, path)
		for k := range before {
			if !now[k] {
				t.Errorf("finished variant %s was lost", k)
			}
		}
		before = now
	}
	kills, lengths := 0, []int{}
	for kills < 20 {
		c := start()
		time.Sleep(time.Duration(rand.IntN(40_000)) * time.Microsecond)
		if err := c.Process.Signal(syscall.SIGKILL); err != nil {
			t.Fatal(err)
		}
		if err := c.Wait(); err == nil {
			t.Fatal("the sweep ended before it could be killed 20 times")
		}
		kills++
		after()
		lengths = append(lengths, len(before))
	}
	t.Logf("variants recorded at each kill: %v", lengths)
	if lengths[19] == 0 || lengths[19] == killCount {
		t.Errorf("the kills did not come in the middle: %v", lengths)
	}
	if err := start().Wait(); err != nil {
		t.Fatal(err)
	}
	after()
	calm := filepath.Join(dir, "calm")
	run(t, calm, setup(t, killCount))
	if table(t, path) != table(t, calm) {
		t.Error("the results differ from those of an undisturbed sweep")
	}
}
