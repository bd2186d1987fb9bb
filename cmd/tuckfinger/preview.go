package main

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"runtime"
	"syscall"

	"github.com/spf13/cobra"

	"tuckfinger/export"
	"tuckfinger/export/page/preview"
)

func previewCommand() *cobra.Command {
	var port int
	var timing, open bool
	cmd := &cobra.Command{
		Use:   "preview FILE",
		Short: "Show the finger in a browser and follow its file",
		Long: `Preview serves the report of a finger file on this machine only and follows the
file and its tables: save, and the page shows the new state. Mistakes appear in
the page with line and column while the last good state stays. Named dimensions
with a range can be moved in the page; the button Write to file changes just
that value in the file. Ctrl-C ends it.`,
		Example: "  tuckfinger preview finger.yaml\n  tuckfinger preview finger.yaml --port 8080 --timing",
		Args:    one("finger file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
			defer stop()
			c := preview.Config{File: args[0], Quick: export.QuickView, Full: export.FullView}
			if timing {
				c.Timing = cmd.OutOrStdout()
			}
			s, err := preview.Start(ctx, c, port)
			if err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "previewing %s at %s (Ctrl-C ends)\n", args[0], s.URL())
			if open {
				show(s.URL())
			}
			s.Wait()
			return nil
		},
	}
	cmd.Flags().IntVar(&port, "port", 0, "port on this machine (default: any free one)")
	cmd.Flags().BoolVar(&timing, "timing", false, "print how long each change took")
	cmd.Flags().BoolVar(&open, "open", false, "open the address in the browser")
	return cmd
}

// show opens an address in the user's browser; where that fails the printed
// address is enough.
func show(url string) {
	switch runtime.GOOS {
	case "darwin":
		_ = exec.Command("open", url).Start()
	case "windows":
		_ = exec.Command("rundll32", "url.dll,FileProtocolHandler", url).Start()
	default:
		_ = exec.Command("xdg-open", url).Start()
	}
}
