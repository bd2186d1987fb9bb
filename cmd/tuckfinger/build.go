package main

import (
	"path/filepath"

	"github.com/spf13/cobra"

	"tuckfinger/export"
)

func buildCommand() *cobra.Command {
	var out, measured string
	cmd := &cobra.Command{
		Use:   "build FILE",
		Short: "Check a finger and write everything needed to make it",
		Long: `Build reads a finger file, computes its stroke, runs every check and writes a
folder: report and assembly guide, parts as STL, print plates as 3MF, the moving
assembly as GLB, the bill of materials, flat drawings as DXF and SVG, the stroke
table and all results. The folder appears whole or not at
all; an earlier build of the same name is replaced.

A design that fails a check is still written, so that it can be looked at, and
the exit code is 1.`,
		Example: "  tuckfinger build examples/rack-lifter/finger.yaml\n  tuckfinger build finger.yaml -o /tmp/try-7",
		Args:    one("finger file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			bench, err := bench(measured)
			if err != nil {
				return err
			}
			p := newProgress(cmd.ErrOrStderr())
			defer p.done()
			a, err := load(cmd, args[0], p)
			if err != nil {
				return err
			}
			dir := out
			if dir == "" {
				dir = filepath.Join(filepath.Dir(args[0]), a.Design.Name+"-out")
			}
			p.step("writing " + dir)
			if err := export.Build(dir, a, bench); err != nil {
				return err
			}
			p.done()
			if err := export.Summary(cmd.OutOrStdout(), a, dir); err != nil {
				return err
			}
			return failed(a)
		},
	}
	cmd.Flags().StringVarP(&out, "out", "o", "", "folder to write (default: NAME-out beside the file)")
	cmd.Flags().StringVar(&measured, "measured", "", "bench test to lay over the prediction in the report (CSV with s and force)")
	return cmd
}
