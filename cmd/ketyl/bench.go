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
	var brief bool
	c := &cobra.Command{
		Use:   "bench FILE",
		Short: "Print what the bench computed, step by step",
		Long: `Bench plays a procedure on the simulated bench and prints the state of every
vessel after each step and every event with its figures: those that the text
leaves unknown as "not stated", those that the bench assumed with the reason.

Exit codes: 0 it was played; 2 something in it could not be read or made out.`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return trouble("bench wants one file, found %d", len(args))
			}
			return nil
		},
		RunE: func(_ *cobra.Command, args []string) error {
			if format != "text" && format != "json" {
				return trouble("found the format %q, expected one of text, json", format)
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
			if format == "json" {
				err = report.BenchJSON(s.out, r)
			} else {
				err = report.BenchText(s.out, r, report.Options{Colour: s.coloured(), Width: s.width()}, brief)
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
	c.Flags().BoolVar(&brief, "brief", false, "leave the events out of the text")
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
