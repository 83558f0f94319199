package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"runtime/debug"
	"strings"

	"github.com/spf13/cobra"

	"ketyl/checker"
	"ketyl/checker/finding"
)

// Exit codes, the same in every format.
const (
	exitClear  = 0
	exitHold   = 1
	exitUnread = 2
)

// How far the heap may grow before it is collected, in percent. To load the
// rules and judge one text takes some tens of megabytes that are given back by
// exiting, so the first collection is put off to 4 MB × 1600 %; a shelf is
// judged at a setting that keeps memory flat.
const (
	startupGC = 1600
	shelfGC   = 200
	shelf     = 8 // files from which a run is a shelf
)

// exit ends a command with a code; the text, if any, goes to stderr.
type exit struct {
	code int
	text string
}

func (e *exit) Error() string { return e.text }

// trouble is the error for what could not be read or judged.
func trouble(format string, args ...any) error {
	return &exit{exitUnread, fmt.Sprintf(format, args...)}
}

// shell is what all commands share: the streams and the flags that settle how
// to judge.
type shell struct {
	in       io.Reader
	out, err io.Writer
	terminal *os.File // the output when it is a file, else nil

	site   string
	rules  []string
	strict bool
	colour string
}

// run is the program without the process around it.
func run(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	debug.SetGCPercent(startupGC)
	out := bufio.NewWriterSize(stdout, 64<<10)
	s := &shell{in: stdin, out: out, err: stderr}
	s.terminal, _ = stdout.(*os.File)
	root := s.root()
	root.SetArgs(args)
	root.SetIn(stdin)
	root.SetOut(out)
	root.SetErr(stderr)
	err := root.Execute()
	if flushed := out.Flush(); err == nil && flushed != nil {
		err = trouble("the output could not be written: %v", flushed)
	}
	if err == nil {
		return exitClear
	}
	code := exitUnread
	if e, ok := errors.AsType[*exit](err); ok {
		code = e.code
	}
	if text := err.Error(); text != "" {
		fmt.Fprintf(stderr, "ketyl: %s\n", strings.TrimRight(text, "\n"))
	}
	return code
}

func (s *shell) root() *cobra.Command {
	c := &cobra.Command{
		Use:   "ketyl",
		Short: "Check written procedures for work under inert gas",
		Long: `Ketyl reads a procedure written as YAML, plays it step by step on a simulated
bench and judges what happens there by rules of the trade: moisture, air,
addition, heat, gas, quench, work-up, waste, cautions.

` + checker.Notice + `

Exit codes: 0 no hold; 1 at least one hold; 2 something could not be read or
judged.`,
		Args:              cobra.NoArgs,
		RunE:              func(c *cobra.Command, _ []string) error { return c.Help() },
		SilenceErrors:     true,
		SilenceUsage:      true,
		CompletionOptions: cobra.CompletionOptions{HiddenDefaultCmd: true},
	}
	c.SetHelpCommand(&cobra.Command{Use: "help [COMMAND]", Short: "Help on a command", RunE: func(h *cobra.Command, args []string) error {
		found, rest, err := c.Find(args)
		if err != nil || len(rest) > 0 {
			return trouble("found no command %q; 'ketyl --help' lists them", strings.Join(args, " "))
		}
		return found.Help()
	}})
	c.SetFlagErrorFunc(func(c *cobra.Command, err error) error {
		return trouble("%v; see '%s --help'", err, c.CommandPath())
	})
	c.PersistentFlags().StringVar(&s.colour, "color", "auto", "colours: auto, always or never")
	c.PersistentPreRunE = func(*cobra.Command, []string) error {
		switch s.colour {
		case "auto", "always", "never":
			return nil
		}
		return trouble("found --color %s, expected auto, always or never", s.colour)
	}
	c.AddCommand(s.checkCommand(), s.benchCommand(), s.explainCommand(), s.lookupCommand(), s.rulesCommand(), s.newCommand(), s.versionCommand())
	return c
}

// judging adds the flags of commands that judge.
func (s *shell) judging(c *cobra.Command) {
	c.Flags().StringVar(&s.site, "site", "", "site `FILE` of the laboratory (default: the nearest "+siteName+" upward from the checked file)")
	c.Flags().StringArrayVar(&s.rules, "rules", nil, "folder of rules of one's own beside the built-in ones (may be given several times)")
	c.Flags().BoolVar(&s.strict, "strict", false, "count what is to be revised as a hold")
}

// complain writes faults of the set-up to stderr and gives the error that ends
// the command: nothing is judged by half a set of rules.
func (s *shell) complain(fs []finding.Finding) error {
	if len(fs) == 0 {
		return nil
	}
	for _, f := range fs {
		text := f.Message
		if f.Fix != "" {
			text += "; " + f.Fix
		}
		fmt.Fprintf(s.err, "ketyl: %s\n", text)
	}
	return trouble("nothing was judged: the rules or the site file have faults")
}
