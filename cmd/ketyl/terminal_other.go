//go:build !(linux || darwin || freebsd || netbsd || openbsd)

package main

import "os"

// terminalWidth cannot be asked for here: lines have the default width and no
// colours, unless --color says always.
func terminalWidth(*os.File) (int, bool) { return 0, false }
