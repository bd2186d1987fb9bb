package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"tuckfinger/assembly/study/fingers"
	"tuckfinger/export"
	"tuckfinger/params"
)

func scatterCommand() *cobra.Command {
	var o fingers.ScatterOptions
	var asJSON bool
	var need float64
	cmd := &cobra.Command{
		Use:   "scatter FILE",
		Short: "Find how often printed copies keep the order of the stroke",
		Long: `Scatter runs the full stroke of many printed copies. Each differs in clearance,
friction, stiffness and sizes: as the scatter of its dimensions and the section
scatter of the file say, and else as the printer and material tables do. It
prints in how many copies every order rule holds, with a Wilson interval, how
the margins are distributed, and which input drives them (Sobol indices).

The same seed gives the same numbers at any number of threads.`,
		Example: "  tuckfinger scatter finger.yaml -n 10000\n  tuckfinger scatter finger.yaml -n 500 --seed 7 --json",
		Args:    one("finger file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if need < 0 || need > 1 {
				return fmt.Errorf("--need is %g; give a share from 0 to 1", need)
			}
			d, err := params.Load(args[0])
			if err != nil {
				return err
			}
			p := newPace(cmd.ErrOrStderr())
			defer p.done()
			o.Progress = p.of("copies")
			ctx, stop := interruptible(cmd.Context())
			defer stop()
			s, err := fingers.Scatter(ctx, d, o)
			p.done()
			switch {
			case ctx.Err() != nil:
				return errStopped
			case err != nil:
				return fmt.Errorf("%s: %w", args[0], err)
			}
			if asJSON {
				err = export.ScatterJSON(cmd.OutOrStdout(), d.Name, o.Seed, s)
			} else {
				err = export.ScatterText(cmd.OutOrStdout(), d.Name, s)
			}
			if err == nil && s.Share < need {
				return errFails
			}
			return err
		},
	}
	f := cmd.Flags()
	f.IntVarP(&o.N, "number", "n", 1000, "number of copies")
	f.Uint64Var(&o.Seed, "seed", 1, "picks the copies")
	f.IntVar(&o.Base, "base", -1, "`points` of each matrix of the Sobol indices, best a power of two; 0: no indices (default: as many as take about as many strokes as the copies)")
	f.Lookup("base").DefValue = "0" // said in words
	f.Float64Var(&need, "need", 0, "exit with 1 if the `share` of copies in which every rule holds is smaller than this, 0 to 1")
	f.BoolVar(&o.Margins, "margins", false, "count a rule as held only with the margin that the file asks for; without this, wherever the order is right")
	f.BoolVar(&asJSON, "json", false, "print the result as JSON")
	return cmd
}

// errStopped says that a command was interrupted.
var errStopped = errors.New("stopped")
