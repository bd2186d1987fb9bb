package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"tuckfinger/assembly/study/sweep"
	results "tuckfinger/export/sweep"
	"tuckfinger/params"
)

func sweepCommand() *cobra.Command {
	var out, shard string
	var shards int
	var build bool
	cmd := &cobra.Command{
		Use:   "sweep FILE",
		Short: "Try every variant of a sweep file, on one machine or many",
		Long: `Sweep reads a sweep file, which names a finger file and the variants of it to
try, and checks every variant; tuckfinger params sweep lists its keys. The output
folder gets a journal of what is finished and, when all variants are, results/
with results.csv, results.parquet and sweep.html. With --build each variant that
passes is built too, in variants/.

A sweep that was stopped, by Ctrl-C, a kill or a power cut, goes on where it was
when the same command is given again. A variant that can't be computed is a row
with its error.

With --shard 3/8 this run does the third of eight parts; the parts need not know
of each other. In a job array of a batch scheduler, or an indexed Kubernetes Job
with --shards, the part comes from the job's variables. The command sweep merge
joins the parts. The results are the same bytes as those of one machine.

Exit codes: 0 finished, whatever the variants are like; 2 stopped, bad input or
I/O error.`,
		Example: "  tuckfinger sweep sweep.yaml\n  tuckfinger sweep sweep.yaml --build\n  tuckfinger sweep sweep.yaml --shard 3/8 -o /scratch/sweep",
		Args:    one("sweep file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			job, err := sweepJob(args[0], out)
			if err != nil {
				return err
			}
			job.Build = build
			if job.Shard, err = whichShard(shard, shards); err != nil {
				return err
			}
			p := newPace(cmd.ErrOrStderr())
			defer p.done()
			job.Progress = func(s sweep.Progress) {
				p.say(func() string { return counted(s.Done, s.Total, "variants", s.Rate, s.Left) })
			}
			ctx, stop := interruptible(cmd.Context())
			defer stop()
			done, err := job.Run(ctx)
			p.done()
			w := cmd.OutOrStdout()
			switch {
			case errors.Is(err, context.Canceled):
				fmt.Fprintf(w, "stopped: %d of %d variants are finished; the same command goes on\n", done.Done, done.Total)
				return errStopped
			case err != nil:
				return err
			}
			if done.Earlier > 0 {
				fmt.Fprintf(w, "%s had been finished before\n", variants(done.Earlier))
			}
			if job.Shard.Count > 1 {
				fmt.Fprintf(w, "shard %s: %s, %d could not be computed\nnext, when all shards are finished: tuckfinger sweep merge %s -o %s\n", job.Shard, variants(done.Total), done.Errors, args[0], job.Dir)
				return nil
			}
			return writeResults(cmd, job, job.Dir)
		},
	}
	cmd.Flags().StringVar(&shard, "shard", "", "part of the sweep to do, such as 3/8")
	cmd.Flags().IntVar(&shards, "shards", 0, "number of parts, where the job's variables say which this one is")
	cmd.Flags().BoolVar(&build, "build", false, "build each variant that passes")
	cmd.MarkFlagsMutuallyExclusive("shard", "shards")
	cmd.PersistentFlags().StringVarP(&out, "out", "o", "", "the sweep's folder (default: beside the sweep file, with its name)")
	cmd.AddCommand(mergeCommand(&out))
	return cmd
}

func mergeCommand(out *string) *cobra.Command {
	return &cobra.Command{
		Use:   "merge FILE [FOLDER ...]",
		Short: "Join the parts of a sweep",
		Long: `Merge reads the journals of all parts of a sweep from the given folders, or from
the sweep's own, makes sure that no part and no variant is missing or there
twice, and writes the results as one machine would have: the same bytes. They go
into the folder of -o, or the sweep's own.`,
		Example: "  tuckfinger sweep merge sweep.yaml\n  tuckfinger sweep merge sweep.yaml node-1/sweep node-2/sweep -o all",
		Args: func(cmd *cobra.Command, args []string) error {
			return one("sweep file")(cmd, args[:min(len(args), 1)])
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			job, err := sweepJob(args[0], *out)
			if err != nil {
				return err
			}
			dirs := args[1:]
			if len(dirs) == 0 {
				dirs = []string{job.Dir}
			}
			return writeResults(cmd, job, dirs...)
		},
	}
}

func sweepJob(file, out string) (*results.Job, error) {
	s, err := params.LoadSweep(file)
	if err != nil {
		return nil, err
	}
	if out == "" {
		base := filepath.Base(file)
		out = filepath.Join(filepath.Dir(file), base[:len(base)-len(filepath.Ext(base))]+"-out")
	}
	return &results.Job{Sweep: s, File: file, Dir: out}, nil
}

// whichShard is the part that flags or the job's variables give, else the whole.
func whichShard(shard string, shards int) (sweep.Shard, error) {
	if shard != "" {
		return sweep.ParseShard(shard)
	}
	if shards < 0 {
		return sweep.Shard{}, fmt.Errorf("--shards is %d; give 1 or more", shards)
	}
	s, ok, err := sweep.ShardFromEnv(os.Getenv, shards)
	if err == nil && !ok && shards > 1 {
		err = errors.New("--shards is given, but no variable of a job array or an indexed Job says which part this is; use --shard i/n")
	}
	return s, err
}

func writeResults(cmd *cobra.Command, job *results.Job, dirs ...string) error {
	dir, sum, err := job.Results(dirs...)
	if err != nil {
		return err
	}
	w := cmd.OutOrStdout()
	fmt.Fprintf(w, "%s: %d pass, %d fail a check, %d could not be computed\n", variants(sum.Passed+sum.Failed+sum.Errors), sum.Passed, sum.Failed, sum.Errors)
	if sum.First != "" {
		fmt.Fprintln(w, sum.First)
	}
	_, err = fmt.Fprintf(w, "wrote %s\n", dir)
	return err
}

func variants(n int) string {
	if n == 1 {
		return "1 variant"
	}
	return fmt.Sprintf("%d variants", n)
}
