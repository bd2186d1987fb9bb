package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"tuckfinger/params"
)

func paramsCommand() *cobra.Command {
	var asJSON, asPage bool
	var of string
	cmd := &cobra.Command{
		Use:   "params [KEY]",
		Short: "Print every key of a finger file: type, unit, bounds, default",
		Long: `Params prints the form of a finger file, or of one key of it; with the name of a
table, such as printers, materials or motors, what is built in; with sweep the
form of a sweep file. With --json it prints a JSON Schema, from which an editor
completes and checks, of a finger file, a table file or a sweep file; with --page
the whole reference of all three as Markdown.`,
		Example: "  tuckfinger params\n  tuckfinger params ramps\n  tuckfinger params materials\n  tuckfinger params sweep\n  tuckfinger params --json > finger.schema.json",
		Args:    cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			w := cmd.OutOrStdout()
			if (asJSON || asPage) && len(args) > 0 {
				return fmt.Errorf("--json and --page are about the whole form; leave out %s", args[0])
			}
			if cmd.Flags().Changed("of") && !asJSON {
				return errors.New("--of goes with --json")
			}
			switch {
			case asJSON:
				schema := map[string]func() []byte{"finger": params.JSONSchema, "table": params.TableJSONSchema, "sweep": params.SweepJSONSchema}[of]
				if schema == nil {
					return fmt.Errorf("--of is %q; give finger, table or sweep", of)
				}
				_, err := w.Write(schema())
				return err
			case asPage:
				_, err := fmt.Fprint(w, params.Reference())
				return err
			}
			key := ""
			if len(args) == 1 {
				key = args[0]
			}
			text, err := params.Listing(key)
			if err != nil {
				return err
			}
			_, err = fmt.Fprint(w, text)
			return err
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print a JSON Schema (draft 2020-12)")
	cmd.Flags().BoolVar(&asPage, "page", false, "print the reference page as Markdown")
	cmd.Flags().StringVar(&of, "of", "finger", "which file form --json is about: finger, table or sweep")
	cmd.MarkFlagsMutuallyExclusive("json", "page")
	return cmd
}
