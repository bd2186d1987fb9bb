package main

import (
	"github.com/spf13/cobra"

	"tuckfinger/export"
)

func checkCommand() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "check FILE",
		Short: "Run every check and print the findings",
		Long: `Check computes all that build computes and prints the findings: what was
measured, the limit, and what to change where it fails. Nothing is written.`,
		Example: "  tuckfinger check finger.yaml\n  tuckfinger check finger.yaml --json",
		Args:    one("finger file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			p := newProgress(cmd.ErrOrStderr())
			defer p.done()
			a, err := load(cmd, args[0], p)
			if err != nil {
				return err
			}
			p.done()
			if asJSON {
				err = export.Results(cmd.OutOrStdout(), a)
			} else {
				err = export.Findings(cmd.OutOrStdout(), a)
			}
			if err != nil {
				return err
			}
			return failed(a)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print all results as JSON")
	return cmd
}
