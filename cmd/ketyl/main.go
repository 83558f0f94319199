// Ketyl checks written procedures for work under inert gas, and answers
// questions about the substances and rules it checks with.
//
// Exit codes: 0 no hold, 1 at least one hold, 2 something could not be read or
// judged, or the command was not understood.
package main

import "os"

func main() {
	os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}
