package sweep

import (
	"bytes"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"

	"github.com/parquet-go/parquet-go"

	"tuckfinger/assembly/study"
	"tuckfinger/assembly/study/sample"
	"tuckfinger/assembly/study/sweep"
)

var about = About{Finger: "test <finger>", File: "sweep.yaml", Note: "A & B.", Checks: "all", Tool: "tuckfinger test",
	Units: map[string]string{"rail": "mm", "share": "1"}, Order: map[string]float64{"order.O1": 1.5},
	Built: func(i int) string { return "../" + variant(i) }}

// results runs a made-up sweep of n variants.
func results(t testing.TB, n, shards int) *sweep.Results {
	t.Helper()
	p, err := sample.NewLatin(n, 2, 3)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	var paths []string
	for i := range shards {
		s := sweep.Setup{Plan: p, Names: []string{"rail", "share"}, ID: strings.Repeat("5e", 32), Shard: sweep.Shard{Index: i, Count: shards},
			Measures: []study.Measure{{Name: "order.O1", Unit: "1"}, {Name: "slide.out", Unit: "N"}}}
		path := filepath.Join(dir, fmt.Sprint("journal-", i))
		if _, err := sweep.Run(context.Background(), path, s, outcome); err != nil {
			t.Fatal(err)
		}
		paths = append(paths, path)
	}
	r, err := sweep.Open(paths...)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// outcome has every kind of row.
func outcome(v []float64) study.Outcome {
	x := v[0]
	switch {
	case x < 0.05:
		return study.Outcome{Err: errors.New(`does not "close", <here>`)}
	case x < 0.1:
		return study.Outcome{Measures: []float64{math.NaN(), 3}, Failed: []string{"order"}}
	case x < 0.15:
		return study.Outcome{Measures: []float64{math.Inf(1), 4}}
	case x < 0.5:
		return study.Outcome{Measures: []float64{1 + x, 5 * v[1]}, Failed: []string{"order", "arm strain"}}
	}
	return study.Outcome{Measures: []float64{1 + x, 5 * v[1]}}
}

// The CSV is read by encoding/csv, the Parquet file by another reader of the
// library, column by column; both hold what the outcomes were.
func TestTables(t *testing.T) {
	res := results(t, 100, 3)
	var text, file bytes.Buffer
	if err := CSV(&text, res, about); err != nil {
		t.Fatal(err)
	}
	if err := Parquet(&file, res, about); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(bytes.NewReader(text.Bytes())).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if got := strings.Join(rows[0], ","); got != "variant,rail [mm],share,verdict,order.O1,slide.out [N],failed,error" {
		t.Errorf("header %s", got)
	}
	f, err := parquet.OpenFile(bytes.NewReader(file.Bytes()), int64(file.Len()))
	if err != nil {
		t.Fatal(err)
	}
	var columns []string
	for _, c := range f.Root().Columns() {
		columns = append(columns, c.Name())
	}
	if got := strings.Join(columns, ","); got != "variant,rail,share,verdict,order.O1,slide.out,failed,error" {
		t.Errorf("Parquet columns %s", got)
	}
	if u, _ := f.Lookup("unit.slide.out"); u != "N" {
		t.Errorf("unit of slide.out is %q", u)
	}
	type record struct {
		Variant int64    `parquet:"variant"`
		Rail    float64  `parquet:"rail"`
		Share   float64  `parquet:"share"`
		Verdict string   `parquet:"verdict"`
		O1      *float64 `parquet:"order.O1,optional"`
		Out     *float64 `parquet:"slide.out,optional"`
		Failed  string   `parquet:"failed"`
		Error   string   `parquet:"error"`
	}
	records, err := parquet.Read[record](bytes.NewReader(file.Bytes()), int64(file.Len()))
	if err != nil {
		t.Fatal(err)
	}
	if len(records) != 100 || len(rows) != 101 {
		t.Fatalf("%d and %d rows", len(records), len(rows)-1)
	}
	kinds := map[string]int{}
	i := 0
	for r, err := range res.Rows() {
		if err != nil {
			t.Fatal(err)
		}
		o := outcome(r.Values)
		p, c := records[i], rows[i+1]
		i++
		kinds[p.Verdict]++
		if p.Variant != int64(r.Index) || p.Rail != r.Values[0] || p.Share != r.Values[1] || c[0] != fmt.Sprint(r.Index) || c[3] != p.Verdict {
			t.Fatalf("row %d: %+v, %q", r.Index, p, c)
		}
		if v, _ := strconv.ParseFloat(c[1], 64); math.Abs(v-r.Values[0]) > 1e-14 {
			t.Errorf("row %d: rail %v in CSV", r.Index, c[1])
		}
		if o.Err != nil {
			if p.O1 != nil || c[4] != "" || p.Error != o.Err.Error() || c[7] != o.Err.Error() {
				t.Errorf("row %d: %+v, %q", r.Index, p, c)
			}
			continue
		}
		if p.Failed != strings.Join(o.Failed, "; ") || c[6] != p.Failed || math.Abs(*p.Out-o.Measures[1]) > 1e-5 {
			t.Errorf("row %d: %+v, %q", r.Index, p, c)
		}
		switch m := o.Measures[0]; {
		case math.IsNaN(m):
			kinds["undetermined"]++
			if p.O1 != nil || c[4] != "" {
				t.Errorf("row %d: undetermined is %v, %q", r.Index, p.O1, c[4])
			}
		case math.IsInf(m, 1):
			kinds["infinite"]++
			if !math.IsInf(*p.O1, 1) || c[4] != "inf" {
				t.Errorf("row %d: infinite is %v, %q", r.Index, *p.O1, c[4])
			}
		default:
			if v, _ := strconv.ParseFloat(c[4], 64); v != *p.O1 || math.Abs(v-m) > 1e-5 {
				t.Errorf("row %d: %v in CSV, %v in Parquet, %v", r.Index, v, *p.O1, m)
			}
		}
	}
	for _, k := range []string{pass, fail, fault, "undetermined", "infinite"} {
		if kinds[k] == 0 {
			t.Errorf("no row is %s", k)
		}
	}
}

func TestSameBytesForAnyShards(t *testing.T) {
	write := map[string]func(io.Writer, *sweep.Results, About) error{"csv": CSV, "parquet": Parquet, "page": Page}
	one, eight := results(t, 200, 1), results(t, 200, 8)
	for name, f := range write {
		var a, b bytes.Buffer
		if err := f(&a, one, about); err != nil {
			t.Fatal(err)
		}
		if err := f(&b, eight, about); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(a.Bytes(), b.Bytes()) {
			t.Errorf("%s differs", name)
		}
	}
}

func TestPageCounts(t *testing.T) {
	var b bytes.Buffer
	if err := Page(&b, results(t, 200, 2), about); err != nil {
		t.Fatal(err)
	}
	page := b.String()
	for _, want := range []string{
		"<title>test &lt;finger&gt;: sweep</title>", "A &amp; B.",
		"110 of 200 variants pass every check; 10 could not be computed",
		`<tr><td>order</td><td class="n">80</td><td class="n">10</td><td class="n">40.0 %</td>`,
		`<tr><td>arm strain</td><td class="n">70</td><td class="n">0</td>`,
		"does not &#34;close&#34;, &lt;here&gt;",
		"unlimited",
	} {
		if !strings.Contains(page, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	for _, remote := range []string{"http://", "https://", "src=", "@import"} {
		if strings.Contains(strings.ReplaceAll(page, "http://www.w3.org/2000/svg", ""), remote) {
			t.Errorf("the page asks for something else: %s", remote)
		}
	}
	if strings.Count(page, "</script>") != 2 {
		t.Error("the data end their element early")
	}
}

// peak is the largest heap while something writes.
type peak struct {
	n, most uint64
}

func (p *peak) Write(b []byte) (int, error) {
	if p.n++; p.n%16 == 1 {
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		p.most = max(p.most, m.HeapAlloc)
	}
	return len(b), nil
}

// A hundred times as many variants take no more memory to write, but for what
// the page and a row group of the Parquet file hold at most.
func TestMemoryIsFlat(t *testing.T) {
	if testing.Short() {
		t.Skip("100,000 variants")
	}
	heap := func(res *sweep.Results) float64 {
		runtime.GC()
		p := &peak{}
		for _, f := range []func(io.Writer, *sweep.Results, About) error{CSV, Parquet, Page} {
			if err := f(p, res, about); err != nil {
				t.Fatal(err)
			}
		}
		return float64(p.most) / (1 << 20)
	}
	small, large := heap(results(t, 1000, 1)), heap(results(t, 100_000, 1))
	t.Logf("%.1f MiB for 1,000 variants, %.1f MiB for 100,000", small, large)
	if large > small+32 {
		t.Errorf("%.1f MiB for 1,000 variants, %.1f MiB for 100,000", small, large)
	}
}
