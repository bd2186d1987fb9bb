// Command tuckfinger designs one-finger, one-motor folding grippers: it checks a
// finger file and writes what is needed to print, buy for and assemble it.
package main

import (
	"os"
)

func main() {
	os.Exit(run(os.Args[1:], os.Stdout, os.Stderr))
}
