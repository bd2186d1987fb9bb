package sweep

import (
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tuckfinger/assembly/study"
	"tuckfinger/assembly/study/sample"
)

// setup is a sweep of n variants of two dimensions.
func setup(t testing.TB, n int) Setup {
	t.Helper()
	p, err := sample.NewLatin(n, 2, 5)
	if err != nil {
		t.Fatal(err)
	}
	return Setup{
		Plan:     p,
		Names:    []string{"rail", "overlap"},
		Measures: []study.Measure{{Name: "margin"}, {Name: "force", Unit: "N"}},
		ID:       "test",
	}
}

// outcome has every kind of result: numbers, infinities, failed checks, errors,
// faults.
func outcome(v []float64) study.Outcome {
	switch {
	case v[0] < 0.03:
		return study.Outcome{Err: fmt.Errorf("no closure at s = %.3f mm, \"joint\" K", v[1])}
	case v[0] < 0.05:
		panic("odd variant")
	case v[1] < 0.05:
		return study.Outcome{Measures: []float64{math.NaN(), math.Inf(1)}, Failed: []string{"order O1", "strain"}}
	}
	return study.Outcome{Measures: []float64{v[0] / v[1], math.Exp(10*v[0] - 20*v[1])}}
}

// table is what a writer makes of results.
func table(t testing.TB, paths ...string) string {
	t.Helper()
	r, err := Open(paths...)
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	w := csv.NewWriter(&b)
	for row, err := range r.Rows() {
		if err != nil {
			t.Fatal(err)
		}
		rec := []string{strconv.Itoa(row.Index), row.Err, strings.Join(row.Failed, "; ")}
		for _, x := range append(row.Values, row.Measures...) {
			rec = append(rec, strconv.FormatFloat(x, 'g', -1, 64))
		}
		if err := w.Write(rec); err != nil {
			t.Fatal(err)
		}
	}
	w.Flush()
	return b.String()
}

func run(t testing.TB, path string, s Setup) Progress {
	t.Helper()
	p, err := Run(t.Context(), path, s, outcome)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// expected is the table, made without a journal.
func expected(t testing.TB, s Setup) string {
	t.Helper()
	var b strings.Builder
	w := csv.NewWriter(&b)
	for i := range s.Plan.Len() {
		v := sample.Point(s.Plan, i)
		o := study.Try(outcome, v, 2)
		rec := []string{strconv.Itoa(i), "", strings.Join(o.Failed, "; ")}
		if o.Err != nil {
			rec[1] = o.Err.Error()
		}
		for _, x := range append(v, o.Measures...) {
			rec = append(rec, strconv.FormatFloat(x, 'g', -1, 64))
		}
		if err := w.Write(rec); err != nil {
			t.Fatal(err)
		}
	}
	w.Flush()
	return b.String()
}

func TestRowsAreInOrderAtAnyNumberOfThreads(t *testing.T) {
	s := setup(t, 3000)
	want := expected(t, s)
	for _, s.Workers = range []int{1, 2, 9} {
		path := filepath.Join(t.TempDir(), "journal")
		p := run(t, path, s)
		if p.Done != 3000 || p.Total != 3000 || p.Earlier != 0 || p.Errors < 100 || p.Errors > 200 {
			t.Errorf("got %+v", p)
		}
		if got := table(t, path); got != want {
			t.Errorf("%d threads: %s", s.Workers, cmp.Diff(want, got))
		}
		if again := run(t, path, s); again.Earlier != 3000 || again.Errors != p.Errors {
			t.Errorf("a finished sweep, run again: %+v", again)
		}
	}
}

func TestShardsMakeTheSameTable(t *testing.T) {
	for _, n := range []int{3, 1001} {
		s := setup(t, n)
		want := expected(t, s)
		dir := t.TempDir()
		var paths []string
		for i := 7; i >= 0; i-- {
			s.Shard = Shard{i, 8}
			p := filepath.Join(dir, strconv.Itoa(i))
			run(t, p, s)
			paths = append(paths, p)
		}
		if got := table(t, paths...); got != want {
			t.Errorf("%d variants: %s", n, cmp.Diff(want, got))
		}
	}
}

func TestWrongSetsOfJournalsAreErrors(t *testing.T) {
	dir := t.TempDir()
	file := func(name string) string { return filepath.Join(dir, name) }
	s := setup(t, 100)
	for i := range 3 {
		s.Shard = Shard{i, 3}
		run(t, file(strconv.Itoa(i)), s)
	}
	s.Shard = Shard{}
	run(t, file("whole"), s)
	s.ID = "other"
	s.Shard = Shard{2, 3}
	run(t, file("foreign"), s)
	s.ID = "test"
	full, err := os.ReadFile(file("2"))
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.SplitAfter(string(full), "\n")
	write := func(name string, lines ...string) {
		if err := os.WriteFile(file(name), []byte(strings.Join(lines, "")), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	write("short", lines[:20]...)
	write("torn", string(full[:len(full)-7]))
	write("twice", string(full), lines[4])
	write("damaged", strings.Join(lines[:5], ""), strings.Replace(lines[5], "\"v\"", "\"w\"", 1), strings.Join(lines[6:], ""))
	write("empty")
	write("text", "hello\n", "hello\n")
	for _, c := range []struct {
		names []string
		want  string
	}{
		{nil, "no journal is given"},
		{[]string{"0", "2"}, "shard 2/3 is missing"},
		{[]string{"0"}, "shard 2/3 is missing\nshard 3/3 is missing"},
		{[]string{"0", "1", "2", "1"}, "shard 2/3 is there twice: 1 and 1"},
		{[]string{"0", "1", "whole"}, "whole is shard 1/1, of another number of shards than 0, 1/3"},
		{[]string{"0", "1", "foreign"}, "foreign and 0 are of different sweeps: input"},
		{[]string{"0", "1", "short"}, "short, shard 3/3, is not finished: 19 of 33 variants; run it again to go on"},
		{[]string{"0", "1", "torn"}, "torn, shard 3/3, is not finished: 32 of 33 variants; run it again to go on"},
		{[]string{"twice", "damaged"}, "twice: variant 11 is there twice\ndamaged: the record at byte"},
		{[]string{"empty"}, "empty has not been begun; run it again"},
		{[]string{"text"}, "text: the record at byte 0 is damaged"},
	} {
		var paths []string
		for _, n := range c.names {
			paths = append(paths, file(n))
		}
		_, err := Open(paths...)
		if err == nil {
			t.Errorf("%v: no error", c.names)
			continue
		}
		got := strings.ReplaceAll(err.Error(), dir+string(filepath.Separator), "")
		// The order of finishing differs from run to run, so which is line 4 does.
		if c.names != nil && c.names[0] == "twice" {
			p, _ := payload([]byte(lines[4]))
			row, err := decodeRow(p)
			if err != nil {
				t.Fatal(err)
			}
			c.want = strings.Replace(c.want, "11", strconv.Itoa(row.Index), 1)
		}
		if !strings.HasPrefix(got, c.want) {
			t.Errorf("%v: got %s, want %s", c.names, got, c.want)
		}
	}
}

func TestAJournalServesOneSweep(t *testing.T) {
	path := filepath.Join(t.TempDir(), "journal")
	s := setup(t, 50)
	run(t, path, s)
	for what, change := range map[string]func(s *Setup){
		"its input differs":              func(s *Setup) { s.ID = "other" },
		"its number of variants differs": func(s *Setup) { *s = setup(t, 51) },
		"its shard differs":              func(s *Setup) { s.Shard = Shard{0, 2} },
		"its list of dimensions differs": func(s *Setup) { s.Names = []string{"rail", "clip"} },
		"its list of measures differs": func(s *Setup) {
			s.Measures = []study.Measure{{Name: "margin", Unit: "N"}, {Name: "force", Unit: "N"}}
		},
	} {
		other := s
		change(&other)
		if _, err := Run(t.Context(), path, other, outcome); err == nil || !strings.Contains(err.Error(), what) {
			t.Errorf("got %v, want %s", err, what)
		}
	}
	s.Names = s.Names[:1]
	if _, err := Run(t.Context(), path, s, outcome); err == nil || err.Error() != "1 names for 2 dimensions" {
		t.Errorf("got %v", err)
	}
}

func TestOneRunAtATime(t *testing.T) {
	path := filepath.Join(t.TempDir(), "journal")
	s := setup(t, 10)
	var once sync.Once
	_, err := Run(t.Context(), path, s, func(v []float64) study.Outcome {
		once.Do(func() {
			if _, err := Run(t.Context(), path, s, outcome); err == nil || !strings.Contains(err.Error(), "is in use by another run") {
				t.Errorf("a second run: %v", err)
			}
		})
		return outcome(v)
	})
	if err != nil {
		t.Fatal(err)
	}
}

func TestStopRecordsWhatRuns(t *testing.T) {
	path := filepath.Join(t.TempDir(), "journal")
	s := setup(t, 500)
	s.Workers = 3
	ctx, cancel := context.WithCancel(t.Context())
	var calls atomic.Int64
	p, err := Run(ctx, path, s, func(v []float64) study.Outcome {
		if calls.Add(1) == 100 {
			cancel()
		}
		return outcome(v)
	})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
	if n := int(calls.Load()); p.Done != n || n > 103 {
		t.Errorf("%d variants were evaluated, %d recorded", n, p.Done)
	}
	if q := run(t, path, s); q.Earlier != p.Done {
		t.Errorf("resumed with %d, recorded were %d", q.Earlier, p.Done)
	}
	if got, want := table(t, path), expected(t, s); got != want {
		t.Error(cmp.Diff(want, got))
	}
}

// A journal cut at any byte of its last records is completed to the same table.
func TestTornRecordsAreRepeated(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "journal")
	s := setup(t, 12)
	s.Workers = 1
	run(t, path, s)
	want := table(t, path)
	full, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for cut := range len(full) {
		torn := filepath.Join(dir, "torn")
		b := full[:cut]
		if cut%3 == 0 { // a machine that stopped may leave zeros
			b = append(append([]byte(nil), b...), make([]byte, 5)...)
		}
		if err := os.WriteFile(torn, b, 0o644); err != nil {
			t.Fatal(err)
		}
		p := run(t, torn, s)
		if lines := max(0, strings.Count(string(full[:cut]), "\n")-1); p.Earlier != lines {
			t.Fatalf("cut at %d: %d variants kept of %d", cut, p.Earlier, lines)
		}
		if got := table(t, torn); got != want {
			t.Fatalf("cut at %d: %s", cut, cmp.Diff(want, got))
		}
	}
}

// A slow variant does not let others run so far ahead that the journal could
// not be read in little memory.
func TestOthersWaitForASlowVariant(t *testing.T) {
	path := filepath.Join(t.TempDir(), "journal")
	s := setup(t, 3*window)
	s.Workers = 4
	slow := sample.Point(s.Plan, 0)[0]
	var others atomic.Int64
	_, err := Run(t.Context(), path, s, func(v []float64) study.Outcome {
		if v[0] != slow {
			others.Add(1)
			return outcome(v)
		}
		for others.Load() < window-1 {
			time.Sleep(time.Millisecond)
		}
		time.Sleep(20 * time.Millisecond)
		if n := others.Load(); n != window-1 {
			t.Errorf("%d variants ran ahead, want %d", n, window-1)
		}
		return outcome(v)
	})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := table(t, path), expected(t, s); got != want {
		t.Error(cmp.Diff(want, got))
	}
}

// peak is the largest heap while a sweep of n variants runs and is read.
func peak(t *testing.T, n int) uint64 {
	var most uint64
	look := func() {
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		most = max(most, m.HeapAlloc)
	}
	path := filepath.Join(t.TempDir(), "journal")
	s := setup(t, n)
	mark := 0
	s.Progress = func(p Progress) {
		if p.Done >= mark {
			mark += n / 10
			look()
		}
	}
	run(t, path, s)
	r, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	count := 0
	for _, err := range r.Rows() {
		if err != nil {
			t.Fatal(err)
		}
		if count++; count%(n/10) == 0 {
			look()
		}
	}
	if count != n {
		t.Errorf("%d rows of %d", count, n)
	}
	return most
}

func TestMemoryIsFlat(t *testing.T) {
	many := 100_000
	if testing.Short() {
		many = 20_000
	}
	few, lots := peak(t, 1000), peak(t, many)
	t.Logf("1,000 variants: %d kB, %d variants: %d kB", few/1000, many, lots/1000)
	if lots > few+500_000 {
		t.Errorf("heap of %d kB for 1,000 variants, %d kB for %d", few/1000, lots/1000, many)
	}
}

func BenchmarkRecord(b *testing.B) {
	s := setup(b, b.N)
	run(b, filepath.Join(b.TempDir(), "journal"), s)
}
