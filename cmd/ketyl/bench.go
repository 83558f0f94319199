package main

import (
	"io"
	"path/filepath"

	"github.com/spf13/cobra"

	"ketyl/checker"
	"ketyl/checker/report"
)

func (s *shell) benchCommand() *cobra.Command {
	var format, stdinName string
	var brief, all bool
	var step int
	c := &cobra.Command{
		Use:   "bench FILE",
		Short: "Print what the bench computed, step by step",
		Long: `Bench plays a procedure on the simulated bench and prints a journal: the
materials with their amounts and the water they bring; for each step the
vessels that it changed and what its figures say; what the whole comes to. A
figure that the bench assumed is marked ~, with the reason at the end; one that
the text leaves unknown is asked for once, as "not stated". --all prints every
fact that a rule can read, --brief the vessels alone.

Exit codes: 0 it was played; 2 something in it could not be read or made out.`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return trouble("bench wants one file, found %d", len(args))
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			if format != "text" && format != "json" {
				return trouble("found the format %q, expected one of text, json", format)
			}
			if all && brief {
				return trouble("found --all and --brief, expected one of them")
			}
			j := &job{name: args[0]}
			if args[0] == "-" {
				j.stdin, j.name = true, "standard input"
				if stdinName != "" {
					j.name = stdinName
				}
			}
			file := s.site
			if file == "" {
				file = siteOf(filepath.Dir(j.name))
			}
			k, faults := checker.New(checker.Options{SiteFile: file})
			if err := s.complain(faults); err != nil {
				return err
			}
			b, err := s.read(j)
			if err != nil {
				return trouble("%v", err)
			}
			r := k.Trace(j.name, b)
			if f := c.Flags().Lookup("step"); f.Changed && r.Trace != nil && (step < 1 || step > len(r.Trace.Steps)) {
				return trouble("found the step %d, expected one of the %d steps of %s", step, len(r.Trace.Steps), j.name)
			}
			o := report.Options{Colour: s.coloured(), Width: s.width()}
			switch {
			case format == "json":
				err = report.BenchJSON(s.out, r, step)
			case all || brief:
				err = report.BenchText(s.out, r, o, step, brief)
			default:
				err = report.BenchJournal(s.out, r, o, step)
			}
			if err != nil {
				return trouble("the report could not be written: %v", err)
			}
			if len(r.Findings) > 0 {
				return &exit{code: exitUnread}
			}
			return nil
		},
	}
	c.Flags().StringVar(&format, "format", "text", "text or json")
	c.Flags().StringVar(&stdinName, "stdin-filename", "", "`NAME` to show for standard input")
	c.Flags().BoolVar(&brief, "brief", false, "print the vessels after each step and nothing else")
	c.Flags().BoolVar(&all, "all", false, "print every fact of every event")
	c.Flags().IntVar(&step, "step", 0, "print step `N` alone")
	c.Flags().StringVar(&s.site, "site", "", "site `FILE` of the laboratory (default: the nearest "+siteName+" upward from the file)")
	return c
}

// read gives the bytes of a job.
func (s *shell) read(j *job) ([]byte, error) {
	if j.stdin {
		return io.ReadAll(io.LimitReader(s.in, largest))
	}
	return readFile(j.name)
}
