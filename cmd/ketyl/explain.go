package main

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"unicode"

	"github.com/spf13/cobra"

	"ketyl/checker"
	"ketyl/checker/bench"
	"ketyl/checker/document"
	"ketyl/checker/finding"
	"ketyl/checker/judge"
	"ketyl/checker/report"
	"ketyl/rules"
)

func (s *shell) explainCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "explain [RULE | FAMILY]",
		Short: "Why a rule exists, its source, its limits, how to satisfy it",
		Long: `Explain tells of a rule what a colleague would: what it asks, why, the limits it
applies and whose they are, and an example that breaks it beside one that meets
it, taken from the rule's self-tests. Of a family, such as quench, and of all
families when nothing is named, it lists the rules, each with its reason in a
sentence.

Exit codes: 0 found; 2 not known.`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 1 {
				return trouble("explain wants one rule or family, as in: ketyl explain addition/unequalised-funnel")
			}
			return nil
		},
		RunE: func(_ *cobra.Command, args []string) error { return s.explain(strings.Join(args, "")) },
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
		of := list
		if id != "" {
			of = slices.DeleteFunc(slices.Clone(list), func(r judge.Rule) bool { return r.Family != id })
		}
		if len(of) > 0 {
			if err := report.Index(s.out, of, options); err != nil {
				return trouble("the list could not be written: %v", err)
			}
			return nil
		}
		return trouble("no rule is called %s%s", id, suggestion(id, c.Rules.Nearest(id), list))
	}
	bad, good := s.examples(c, r)
	if err := report.Explain(s.out, r, bands(r), bad, good, options); err != nil {
		return trouble("the explanation could not be written: %v", err)
	}
	return nil
}

// suggestion ends the message on an unknown rule with the rules that may be
// meant: the one of the nearest id, those with all the words in their id, and
// those that speak of them in their reason. At most eight are told.
func suggestion(id, near string, list []judge.Rule) string {
	words := strings.FieldsFunc(strings.ToLower(id), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	all := func(text string) bool {
		text = strings.ToLower(text)
		return len(words) > 0 && !slices.ContainsFunc(words, func(w string) bool { return len(w) < 3 || !strings.Contains(text, w) })
	}
	var named, telling []judge.Rule
	for _, r := range list {
		switch {
		case r.ID == near:
			named = slices.Insert(named, 0, r)
		case all(r.ID):
			named = append(named, r)
		case all(r.Say + " " + r.Because):
			telling = append(telling, r)
		}
	}
	found := slices.Concat(named, telling)
	switch {
	case len(found) == 0:
		return "; 'ketyl rules' lists them"
	case len(found) == 1 && found[0].ID == near:
		return ", did you mean " + near + "?"
	}
	const most = 8
	s := "; near it:"
	if near != "" {
		s = ", did you mean " + near + "? Near it:"
	}
	for _, r := range found[:min(most, len(found))] {
		s += "\n  " + r.ID + ": " + report.Reason(r)
	}
	if n := len(found) - most; n > 0 {
		s += fmt.Sprintf("\n  and %d more", n)
	}
	return s
}

// bands reads the levels a rule may give from its file: those of its bands,
// in order, with their conditions. There are none where the site file sets
// the level.
func bands(r judge.Rule) (found []report.Band) {
	if r.Configured {
		return nil
	}
	for _, read := range []func(string) ([]byte, error){rules.FS.ReadFile, os.ReadFile} {
		b, err := read(r.File)
		if err != nil {
			continue
		}
		f, _ := document.Read(r.File, b)
		if f == nil || f.Root == nil {
			continue
		}
		list := f.Root.Get("rules")
		if list == nil {
			continue
		}
		for _, rule := range list.Items {
			if id := rule.Get("id"); id == nil || id.Text != r.ID {
				continue
			}
			if levels := rule.Get("levels"); levels != nil {
				for _, band := range levels.Items {
					if when, level := band.Get("when"), band.Get("level"); when != nil && level != nil {
						found = append(found, report.Band{Level: finding.Level(level.Text), When: when.Text})
					}
				}
			}
			return found
		}
	}
	return found
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
