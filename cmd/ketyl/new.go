package main

import (
	_ "embed"
	"errors"
	"fmt"
	"io/fs"
	"os"

	"github.com/spf13/cobra"
)

//go:embed new.yaml
var starter []byte

func (s *shell) newCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "new [FILE]",
		Short: "Write a starting file",
		Long: `New writes a short procedure with comments on what can be written where: to
standard output, or to a file that does not exist yet. It can be checked as it
stands, and has a few faults to try the checker on.`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 1 {
				return trouble("new wants one file at most, found %d", len(args))
			}
			return nil
		},
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 || args[0] == "-" {
				_, err := s.out.Write(starter)
				return err
			}
			f, err := os.OpenFile(args[0], os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
			if errors.Is(err, fs.ErrExist) {
				return trouble("%s exists already, and is left as it is", args[0])
			}
			if err != nil {
				return trouble("%v", err)
			}
			if _, err := f.Write(starter); err != nil {
				f.Close()
				return trouble("%v", err)
			}
			if err := f.Close(); err != nil {
				return trouble("%v", err)
			}
			fmt.Fprintf(s.err, "ketyl: wrote %s; next: ketyl check %s\n", args[0], args[0])
			return nil
		},
	}
}
