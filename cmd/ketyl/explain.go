package main

import (
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"ketyl/checker"
	"ketyl/checker/bench"
	"ketyl/checker/finding"
	"ketyl/checker/judge"
	"ketyl/checker/report"
)

func (s *shell) explainCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "explain RULE",
		Short: "Why a rule exists, its source, its limits, how to satisfy it",
		Long: `Explain tells of a rule what a colleague would: what it asks, why, the limits it
applies and whose they are, and an example that breaks it beside one that meets
it, taken from the rule's self-tests.

Exit codes: 0 found; 2 not known.`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return trouble("explain wants one rule, as in: ketyl explain addition/unequalised-funnel; 'ketyl rules' lists them")
			}
			return nil
		},
		RunE: func(_ *cobra.Command, args []string) error { return s.explain(args[0]) },
	}
	s.judging(c)
	return c
}

func (s *shell) explain(id string) error {
	file := s.site
	if file == "" {
		file = siteOf(".")
	}
	c, faults := checker.New(checker.Options{SiteFile: file, RulesDirs: s.rules})
	if err := s.complain(faults); err != nil {
		return err
	}
	options := report.Options{Colour: s.coloured(), Width: s.width()}
	r, ok := c.Rules.Rule(id)
	if !ok {
		if about, ok := report.Stages[id]; ok {
			return report.Stage(s.out, id, about, options)
		}
		list := c.Rules.Rules()
		if of := slices.DeleteFunc(slices.Clone(list), func(r judge.Rule) bool { return r.Family != id }); len(of) > 0 {
			var ids []string
			for _, r := range of {
				ids = append(ids, r.ID)
			}
			return trouble("%s is a family of rules, expected one rule of it: %s", id, strings.Join(ids, ", "))
		}
		hint := "; 'ketyl rules' lists them"
		if near := c.Rules.Nearest(id); near != "" {
			hint = ", did you mean " + near + "?"
		}
		return trouble("no rule is called %s%s", id, hint)
	}
	bad, good := s.examples(c, r)
	if err := report.Explain(s.out, r, bad, good, options); err != nil {
		return trouble("the explanation could not be written: %v", err)
	}
	return nil
}

// examples plays the self-tests of a rule and keeps the first that breaks it
// and the one that meets it with the least difference.
func (s *shell) examples(c *checker.Checker, r judge.Rule) (bad, good *report.Example) {
	texts := map[string][]byte{}
	play := func(name string, b []byte) ([]bench.Event, []finding.Finding) {
		texts[name] = slices.Clone(b)
		return c.Play(name, b)
	}
	var meeting []*report.Example
	for _, t := range c.Rules.Test(play, r.ID) {
		text, ok := texts[t.Rule+": "+t.Example]
		if !ok || !t.OK {
			continue
		}
		x := &report.Example{Name: t.Example, Source: finding.NewSource(t.Example, text)}
		switch {
		case t.Kind == "good":
			meeting = append(meeting, x)
		case bad == nil:
			if f, ok := first(c.Check(t.Example, text).Findings, r.ID); ok {
				x.Finding = &f
			}
			bad = x
		}
	}
	for _, x := range meeting {
		if good == nil || report.Nearer(bad, x, good) {
			good = x
		}
	}
	return bad, good
}
