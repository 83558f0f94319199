package main

import (
	"os"
	"strconv"
)

// defaultWidth is the width of lines where no terminal tells another.
const defaultWidth = 100

// width gives the width of lines: that of the terminal, else COLUMNS, between
// 60 and 160 so that a report can be read.
func (s *shell) width() int {
	n, ok := terminalWidth(s.terminal)
	if !ok {
		n, _ = strconv.Atoi(os.Getenv("COLUMNS"))
	}
	if n <= 0 {
		return defaultWidth
	}
	return max(60, min(n, 160))
}

// coloured reports whether to write colours: on a terminal, unless NO_COLOR is
// set (no-color.org), or as the flag says.
func (s *shell) coloured() bool {
	switch s.colour {
	case "always":
		return true
	case "never":
		return false
	}
	if os.Getenv("NO_COLOR") != "" || os.Getenv("TERM") == "dumb" {
		return false
	}
	_, ok := terminalWidth(s.terminal)
	return ok
}
