package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"tuckfinger/export"
)

func strokeCommand() *cobra.Command {
	var out string
	cmd := &cobra.Command{
		Use:   "stroke FILE",
		Short: "Print the events of the stroke and write stroke.csv",
		Long: `Stroke computes the whole cycle of the slide from equilibrium and prints what
happens in which order, out and back, with the slide force at each event. The
table of poses, opening and forces along the stroke goes to a CSV file.`,
		Example: "  tuckfinger stroke finger.yaml\n  tuckfinger stroke finger.yaml -o run-3.csv",
		Args:    one("finger file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			p := newProgress(cmd.ErrOrStderr())
			defer p.done()
			a, err := load(cmd, args[0], p)
			if err != nil {
				return err
			}
			p.done()
			if err := export.StrokeFile(out, a); err != nil {
				return err
			}
			if err := export.Events(cmd.OutOrStdout(), a); err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "wrote %s\n", out)
			return failed(a)
		},
	}
	cmd.Flags().StringVarP(&out, "out", "o", "stroke.csv", "file to write")
	return cmd
}
