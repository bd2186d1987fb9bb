package main

import (
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"

	"tuckfinger/export"
)

func figuresCommand() *cobra.Command {
	var out, measured string
	cmd := &cobra.Command{
		Use:   "figures FILE",
		Short: "Write figures for papers",
		Long: `Figures writes the force against the slide, the opening against the slide, the
order margins and a strip of poses: the charts as SVG, PDF and PNG, the strip as
SVG. A bench test can be laid over the prediction: a CSV file with the slide
coordinate s and the force.`,
		Example: "  tuckfinger figures finger.yaml\n  tuckfinger figures finger.yaml --measured bench-3.csv -o fig",
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
				dir = filepath.Join(filepath.Dir(args[0]), a.Design.Name+"-figures")
			}
			p.step("drawing " + dir)
			if err := export.Figures(dir, a, bench); err != nil {
				return err
			}
			p.done()
			_, err = fmt.Fprintf(cmd.OutOrStdout(), "wrote %s\n", dir)
			return err
		},
	}
	cmd.Flags().StringVarP(&out, "out", "o", "", "folder to write (default: NAME-figures beside the file)")
	cmd.Flags().StringVar(&measured, "measured", "", "bench test to lay over the prediction (CSV with s and force)")
	return cmd
}
