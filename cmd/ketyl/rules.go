package main

import (
	"fmt"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"ketyl/checker"
	"ketyl/checker/finding"
	"ketyl/checker/judge"
)

func (s *shell) rulesCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "rules",
		Short: "List the rules in force; 'rules test' runs their self-tests",
		Long: `Rules lists the rules in force with their levels, limits and whether a site
file has changed them. 'rules test' runs the examples that rules carry, 'rules
facts' prints what a rule can read.`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error { return s.listRules() },
	}
	s.judging(c)
	c.AddCommand(s.rulesTestCommand(), s.rulesFactsCommand())
	return c
}

func (s *shell) listRules() error {
	file := s.site
	if file == "" {
		file = siteOf(".")
	}
	c, faults := checker.New(checker.Options{SiteFile: file, RulesDirs: s.rules})
	if err := s.complain(faults); err != nil {
		return err
	}
	w := tabwriter.NewWriter(s.out, 0, 4, 2, ' ', 0)
	off := 0
	list := c.Rules.Rules()
	for _, r := range list {
		level := string(r.Level)
		if r.Configured {
			level += " (site)"
		}
		if r.Level == judge.Off {
			off++
		}
		var limits []string
		for _, l := range r.Limits {
			limits = append(limits, strings.TrimSpace(fmt.Sprintf("%s %g %s", l.Name, l.Value, l.Unit)))
		}
		fmt.Fprintf(w, "%s\t%s\tover %s\t%s\n", r.ID, level, r.Over, strings.Join(limits, ", "))
	}
	if err := w.Flush(); err != nil {
		return trouble("the list could not be written: %v", err)
	}
	fmt.Fprintf(s.out, "\n%d rules, %d of them off. 'ketyl explain RULE' says why a rule exists and how to satisfy it.\n", len(list), off)
	return nil
}

func (s *shell) rulesTestCommand() *cobra.Command {
	var only string
	var verbose bool
	c := &cobra.Command{
		Use:   "test [DIR]",
		Short: "Run the self-tests of the built-in rules, or of those in a folder",
		Long: `Test plays the examples that rules carry: a good one must stay silent, a bad one
must fire as it says. A rule without a bad and a good example is a fault too.

Exit codes: 0 all as they should be; 1 an example failed or is missing; 2 a rule
could not be read.`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 1 {
				return trouble("rules test wants one folder at most, found %d", len(args))
			}
			return nil
		},
		RunE: func(_ *cobra.Command, args []string) error { return s.testRules(args, only, verbose) },
	}
	c.Flags().StringVar(&only, "only", "", "a rule `ID` or a family")
	c.Flags().BoolVarP(&verbose, "verbose", "v", false, "list the examples that are as they should be too")
	return c
}

func (s *shell) testRules(args []string, only string, verbose bool) error {
	c, faults := checker.New(checker.Options{})
	set := c.Rules
	if len(args) == 1 {
		// Faults of the built-in rules do not matter to a folder of one's own.
		set, faults = checker.LoadRules(args[0])
	}
	for _, f := range faults {
		fmt.Fprintf(s.err, "ketyl: %s\n", f.Message)
	}
	if only != "" && !slices.ContainsFunc(set.Rules(), func(r judge.Rule) bool { return r.ID == only || r.Family == only }) {
		hint := ""
		if near := set.Nearest(only); near != "" {
			hint = ", did you mean " + near + "?"
		}
		return trouble("found --only %s, which is no rule or family here%s", only, hint)
	}
	failed, ran := 0, 0
	counts := map[string]map[string]int{}
	for _, t := range set.Test(c.Play, only) {
		ran++
		if counts[t.Rule] == nil {
			counts[t.Rule] = map[string]int{}
		}
		counts[t.Rule][t.Kind]++
		switch {
		case !t.OK:
			failed++
			fmt.Fprintf(s.out, "FAIL %s, %s example %q\n  %s:%d: %s\n", t.Rule, t.Kind, t.Example, t.File, t.Line, strings.ReplaceAll(strings.TrimSpace(t.Got), "\n", "\n  "))
		case verbose:
			fmt.Fprintf(s.out, "ok   %s, %s example %q\n", t.Rule, t.Kind, t.Example)
		}
	}
	for _, r := range set.Rules() {
		if only != "" && r.ID != only && r.Family != only {
			continue
		}
		if good, bad := counts[r.ID]["good"], counts[r.ID]["bad"]; good == 0 || bad == 0 {
			failed++
			fmt.Fprintf(s.out, "FAIL %s\n  %s:%d: found %d good and %d bad examples, expected at least one of each\n", r.ID, r.File, r.Line, good, bad)
		}
	}
	fmt.Fprintf(s.out, "%d rules, %d examples, %d failed\n", len(set.Rules()), ran, failed)
	switch {
	case len(faults) > 0:
		return trouble("%d faults in the rules", len(faults))
	case failed > 0:
		return &exit{code: exitHold}
	}
	return nil
}

func (s *shell) rulesFactsCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "facts [KIND]",
		Short: "Print the kinds of event and the facts that a rule can read",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 1 {
				return trouble("rules facts wants one kind at most, found %d", len(args))
			}
			return nil
		},
		RunE: func(_ *cobra.Command, args []string) error {
			printed := 0
			var names []string
			for _, d := range judge.Facts() {
				names = append(names, d.Name)
				if len(args) == 1 && d.Name != args[0] {
					continue
				}
				printed++
				what := "an event: rules may be over it"
				if !d.Event {
					what = "part of events"
				}
				fmt.Fprintf(s.out, "%s (%s)\n", d.Name, what)
				w := tabwriter.NewWriter(s.out, 0, 4, 2, ' ', 0)
				for _, f := range d.Facts {
					fmt.Fprintf(w, "  %s\t%s\t%s\n", f.Name, f.Type, f.Doc)
				}
				if err := w.Flush(); err != nil {
					return trouble("the list could not be written: %v", err)
				}
				fmt.Fprintln(s.out)
			}
			if printed == 0 {
				return trouble("found the kind %q, expected one of %s", args[0], strings.Join(names, ", "))
			}
			return nil
		},
	}
}

// first gives the finding of a rule among findings, folded ones too.
func first(fs []finding.Finding, rule string) (finding.Finding, bool) {
	for _, f := range fs {
		if f.Rule == rule {
			return f, true
		}
		if g, ok := first(f.Consequences, rule); ok {
			return g, true
		}
	}
	return finding.Finding{}, false
}
