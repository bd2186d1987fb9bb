package main

import (
	_ "embed"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"tuckfinger/export/folder"
	"tuckfinger/params"
)

//go:embed starter.yaml
var starter string

func newCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "new NAME",
		Short: "Write a commented starter file that builds",
		Long: `New makes a folder NAME with a finger.yaml in it: a small finger with a comment
on every part of the form, which builds and passes every check as it is. It
never overwrites a file.`,
		Example: "  tuckfinger new drawer-hook\n  tuckfinger build drawer-hook/finger.yaml",
		Args:    one("name"),
		RunE: func(cmd *cobra.Command, args []string) error {
			dir := args[0]
			name := filepath.Base(filepath.Clean(dir))
			if err := params.CheckName(name); err != nil {
				return fmt.Errorf("%s: %w", dir, err)
			}
			file := filepath.Join(dir, "finger.yaml")
			if _, err := os.Stat(file); err == nil {
				return fmt.Errorf("%s is there already; choose another name", file)
			}
			if err := folder.Make(dir); err != nil {
				return err
			}
			text := strings.Replace(starter, "name: starter", "name: "+name, 1)
			if err := folder.WriteFile(file, []byte(text)); err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "wrote %s\nnext: tuckfinger build %s\n", file, file)
			return nil
		},
	}
}
