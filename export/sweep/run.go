package sweep

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime/debug"
	"slices"
	"strings"

	"tuckfinger/assembly"
	"tuckfinger/assembly/study/fingers"
	"tuckfinger/assembly/study/sweep"
	"tuckfinger/export"
	"tuckfinger/export/folder"
	"tuckfinger/params"
)

// A sweep's folder holds
//
//	journal-1-of-1     what is finished, shard by shard
//	variants/000042/   the build of a passing variant, if asked for
//	results/           results.csv, results.parquet, sweep.html, when all is finished

// Job is a sweep file to be run or merged.
type Job struct {
	Sweep *params.Sweep
	File  string // name of the sweep file
	Dir   string // the sweep's folder
	Build bool   // build the variants that pass
	Shard sweep.Shard
	// Progress may be nil.
	Progress func(sweep.Progress)
}

// version is what the journals and results call this program: the revision it
// was built from, if that is known.
func version() string {
	v := "development"
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return v
	}
	if m := info.Main.Version; m != "" && m != "(devel)" {
		v = m
	}
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" && len(s.Value) >= 12 && v == "development" {
			v = s.Value[:12]
		}
	}
	return v
}

// id tells the journals of different programs and options apart.
func (j *Job) id() string {
	if j.Build {
		return version() + " build"
	}
	return version()
}

// journal is the path of a shard's journal.
func (j *Job) journal(s sweep.Shard) string {
	return filepath.Join(j.Dir, "journal-"+strings.Replace(s.String(), "/", "-of-", 1))
}

func variant(index int) string { return fmt.Sprintf("variants/%06d", index) }

// Run tries the shard's variants that its journal does not have yet. It ends
// early, without an error of its own, where ctx is done; the error is the
// context's.
func (j *Job) Run(ctx context.Context) (sweep.Progress, error) {
	if j.Build && j.Sweep.Checks != "all" {
		return sweep.Progress{}, errors.New("variants that pass are built only where every check is run; write checks: all in the sweep file")
	}
	var passed func(int, *assembly.Analysis) error
	if j.Build {
		passed = func(i int, a *assembly.Analysis) error {
			if err := a.Mesh(); err != nil {
				return err
			}
			return export.Build(filepath.Join(j.Dir, filepath.FromSlash(variant(i))), a, nil)
		}
		if err := folder.Make(filepath.Join(j.Dir, "variants")); err != nil {
			return sweep.Progress{}, err
		}
	}
	s, err := fingers.Sweep(j.Sweep, j.id(), passed)
	if err != nil {
		return sweep.Progress{}, fmt.Errorf("%s: %w", j.File, err)
	}
	if err := folder.Make(j.Dir); err != nil {
		return sweep.Progress{}, err
	}
	s.Shard, s.Progress = j.Shard, j.Progress
	return sweep.Run(ctx, j.journal(j.Shard), s, nil)
}

// Summary counts the variants.
type Summary struct {
	Passed, Failed, Errors int
	First                  string // what is wrong with the first variant that could not be computed
}

// Results writes the results of a finished sweep into its folder, from the
// journals of all shards, which lie in dirs. It returns where they are.
func (j *Job) Results(dirs ...string) (out string, sum Summary, err error) {
	var paths []string
	for _, d := range dirs {
		entries, err := os.ReadDir(d)
		if err != nil {
			return "", sum, params.Unreadable(d, err)
		}
		before := len(paths)
		for _, e := range entries {
			if strings.HasPrefix(e.Name(), "journal-") {
				paths = append(paths, filepath.Join(d, e.Name()))
			}
		}
		if len(paths) == before {
			return "", sum, fmt.Errorf("%s holds no journal of a sweep", d)
		}
	}
	slices.Sort(paths)
	res, err := sweep.Open(slices.Compact(paths)...)
	if err != nil {
		return "", sum, err
	}
	built, ok := strings.CutPrefix(res.ID, j.Sweep.ID+" "+version())
	if !ok || built != "" && built != " build" {
		return "", sum, fmt.Errorf("%s was not run from %s as it is now, or by another version of this program", paths[0], j.File)
	}
	var link func(int) string
	if built != "" {
		link = func(i int) string { return "../" + variant(i) }
	}
	a := NewAbout(j.Sweep, filepath.Base(j.File), "tuckfinger "+version(), link)
	for r, err := range res.Rows() {
		if err != nil {
			return "", sum, err
		}
		switch verdict(&r) {
		case pass:
			sum.Passed++
		case fail:
			sum.Failed++
		default:
			if sum.Errors++; sum.First == "" {
				sum.First = fmt.Sprintf("variant %d: %s", r.Index, r.Err)
			}
		}
	}
	out = filepath.Join(j.Dir, "results")
	if err := os.MkdirAll(j.Dir, 0o777); err != nil {
		return "", sum, err
	}
	file := func(name string, write func(io.Writer, *sweep.Results, About) error) folder.File {
		return folder.File{Name: name, Write: func(w io.Writer) error { return write(w, res, a) }}
	}
	return out, sum, folder.Write(out, []folder.File{file("results.csv", CSV), file("results.parquet", Parquet), file("sweep.html", Page)}, 0)
}
