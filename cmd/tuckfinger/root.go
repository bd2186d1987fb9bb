package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"sync"

	"github.com/spf13/cobra"

	"tuckfinger/assembly"
	"tuckfinger/export"
	"tuckfinger/params"
)

// Exit codes, the same for every command.
const (
	exitGood = 0 // done, and every check passed or only warned
	exitFail = 1 // done, and the design fails a check
	exitBad  = 2 // bad input, or reading or writing failed
)

// errFails says that a command did its work and the design fails a check.
var errFails = errors.New("the design fails a check")

const rootLong = `tuckfinger takes one finger file (YAML) that describes a one-finger, one-motor
folding gripper and computes its stroke, checks the design and writes
print-ready geometry, a bill of materials, drawings and a report.

Exit codes: 0 good, 1 the design fails a check, 2 bad input or I/O error.`

// run executes one command line and returns its exit code.
func run(args []string, stdout, stderr io.Writer) int {
	root := &cobra.Command{
		Use:           "tuckfinger",
		Short:         "Design, check and print one-motor folding fingers",
		Long:          rootLong,
		Example:       "  tuckfinger new my-finger\n  tuckfinger build my-finger/finger.yaml",
		SilenceErrors: true,
		SilenceUsage:  true,
	}
	root.Version = export.Version
	root.SetVersionTemplate("tuckfinger {{.Version}}\n")
	root.SetArgs(args)
	out := &checked{Writer: stdout}
	root.SetOut(out)
	root.SetErr(stderr)
	root.CompletionOptions.DisableDefaultCmd = true
	root.AddCommand(buildCommand(), checkCommand(), strokeCommand(), figuresCommand(), previewCommand(), paramsCommand(), newCommand(),
		scatterCommand(), tuneCommand(), sweepCommand())
	err := root.Execute()
	if err == nil || errors.Is(err, errFails) {
		err = cmp.Or(out.err, err)
	}
	switch {
	case err == nil:
		return exitGood
	case errors.Is(err, errFails):
		return exitFail
	}
	var list params.Errors
	if errors.As(err, &list) {
		fmt.Fprintln(stderr, list.Error())
		return exitBad
	}
	fmt.Fprintf(stderr, "tuckfinger: %v\n", err)
	return exitBad
}

// one wants exactly one argument, and says which.
func one(what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		switch len(args) {
		case 0:
			return fmt.Errorf("%s needs a %s: %s", cmd.Name(), what, strings.TrimSuffix(cmd.UseLine(), " [flags]"))
		case 1:
			return nil
		}
		return fmt.Errorf("%s takes one %s, not %d: %s", cmd.Name(), what, len(args), strings.TrimSuffix(cmd.UseLine(), " [flags]"))
	}
}

// checked passes on what is written and keeps the first error, for those who
// print without looking: a full disk behind a pipe must not pass as good.
type checked struct {
	io.Writer
	mu  sync.Mutex
	err error
}

func (c *checked) Write(p []byte) (int, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	n, err := c.Writer.Write(p)
	if c.err == nil {
		c.err = err
	}
	return n, err
}

// load reads a finger file and analyses it, with progress on stderr.
func load(cmd *cobra.Command, file string, p *progress) (*assembly.Analysis, error) {
	p.step("reading " + file)
	d, err := params.Load(file)
	if err != nil {
		return nil, err
	}
	for _, w := range d.Warnings {
		fmt.Fprintf(cmd.ErrOrStderr(), "warning: %v\n", w)
	}
	return assembly.Analyse(d, p.step)
}

// failed turns findings into the command's result.
func failed(a *assembly.Analysis) error {
	if a.Failed() {
		return errFails
	}
	return nil
}

func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	if !ok {
		return false
	}
	st, err := f.Stat()
	return err == nil && st.Mode()&os.ModeCharDevice != 0
}
