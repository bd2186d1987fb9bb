package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"tuckfinger/assembly"
	"tuckfinger/assembly/study/fingers"
	"tuckfinger/assembly/study/tune"
	"tuckfinger/export"
	"tuckfinger/export/folder"
	"tuckfinger/params"
)

func tuneCommand() *cobra.Command {
	var o fingers.TuneOptions
	var out string
	cmd := &cobra.Command{
		Use:   "tune FILE",
		Short: "Find dimensions that meet the file's goals within its limits",
		Long: `Tune changes the dimensions that the section tune of the file frees, within
their bounds, so that its goals are met as far as its limits allow; the margins
of order rules and the strains of rails and arms always are limits. It writes a
new finger file, in which nothing but these numbers has changed, and says which
limits bind. With copies, limits count for printed copies and not for the
drawing alone.

Where nothing within all limits is found, it says which limits conflict and by
how much, writes nothing, and exits with 1. The tuned finger goes through every
check; if one fails, the file is written all the same and the exit code is 1.`,
		Example: "  tuckfinger tune finger.yaml\n  tuckfinger tune finger.yaml -o finger-b.yaml --seed 4",
		Args:    one("finger file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			d, err := params.Load(args[0])
			if err != nil {
				return err
			}
			file := out
			if file == "" {
				file = strings.TrimSuffix(args[0], filepath.Ext(args[0])) + "-tuned.yaml"
			}
			p := newPace(cmd.ErrOrStderr())
			defer p.done()
			o.Progress = p.tries
			ctx, stop := interruptible(cmd.Context())
			defer stop()
			t, err := fingers.Tune(ctx, d, o)
			p.done()
			var conflict *tune.Infeasible
			switch {
			case ctx.Err() != nil:
				return errStopped
			case errors.As(err, &conflict):
				if err := export.ConflictText(cmd.OutOrStdout(), d, conflict); err != nil {
					return err
				}
				return errFails
			case err != nil:
				return fmt.Errorf("%s: %w", args[0], err)
			}
			a, err := assembly.Examine(t.Design, nil)
			if err != nil {
				return err
			}
			text, err := export.TunedFile(d.Text, t)
			if err != nil {
				return fmt.Errorf("%s: %w", args[0], err)
			}
			if err := folder.WriteFile(file, text); err != nil {
				return err
			}
			if err := export.TunedText(cmd.OutOrStdout(), d, t); err != nil {
				return err
			}
			if err := export.FailedFindings(cmd.OutOrStdout(), a); err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "wrote %s\n", file)
			return failed(a)
		},
	}
	f := cmd.Flags()
	f.StringVarP(&out, "out", "o", "", "file to write (default: FILE with -tuned)")
	f.Uint64Var(&o.Seed, "seed", 1, "picks where the search starts")
	f.IntVar(&o.Starts, "starts", 0, "number of searches from different places (default 4; with copies one, from where the drawing is best)")
	f.IntVar(&o.Budget, "budget", 0, "tries of each search (default: 450, and 150 for each free dimension)")
	return cmd
}
