package main

import (
	"fmt"
	"runtime"

	"github.com/spf13/cobra"

	"ketyl/checker"
)

func (s *shell) versionCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "version",
		Short: "Print the version, the hash of the rules and their number",
		Args:  cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			c, faults := checker.New(checker.Options{})
			if err := s.complain(faults); err != nil {
				return err
			}
			fmt.Fprintf(s.out, "ketyl %s, %d rules %s, %s %s/%s\n", checker.Version, len(c.Rules.Rules()), c.Rules.Hash(), runtime.Version(), runtime.GOOS, runtime.GOARCH)
			return nil
		},
	}
}
