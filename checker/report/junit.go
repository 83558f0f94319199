package report

import (
	"encoding/xml"
	"fmt"
	"io"
	"slices"
	"strings"

	"ketyl/checker"
	"ketyl/checker/finding"
)

// The shapes of a JUnit report as test servers read it.
type (
	junitSuite struct {
		XMLName    xml.Name        `xml:"testsuite"`
		Name       string          `xml:"name,attr"`
		Tests      int             `xml:"tests,attr"`
		Failures   int             `xml:"failures,attr"`
		Errors     int             `xml:"errors,attr"`
		Skipped    int             `xml:"skipped,attr"`
		Properties []junitProperty `xml:"properties>property"`
		Cases      []junitCase     `xml:"testcase"`
	}

	junitProperty struct {
		Name  string `xml:"name,attr"`
		Value string `xml:"value,attr"`
	}

	junitCase struct {
		Name    string     `xml:"name,attr"`
		Class   string     `xml:"classname,attr"`
		File    string     `xml:"file,attr,omitempty"`
		Line    int        `xml:"line,attr,omitempty"`
		Failure *junitText `xml:"failure"`
		Error   *junitText `xml:"error"`
		Skipped *junitText `xml:"skipped"`
		Out     string     `xml:"system-out,omitempty"`
	}

	junitText struct {
		Message string `xml:"message,attr"`
		Type    string `xml:"type,attr,omitempty"`
		Body    string `xml:",chardata"`
	}
)

// junitPrinter prints each file as a suite and each rule that ran as a test:
// a hold fails it, what could not be judged is an error, what was accepted is
// skipped, and milder findings stand in its output.
type junitPrinter struct {
	out   io.Writer
	o     Options
	files int
}

func (j *junitPrinter) Result(r checker.Result) error {
	s := &sticky{w: j.out}
	if j.files == 0 {
		s.printf("%s<testsuites name=\"ketyl\">\n", xml.Header)
	}
	j.files++
	suite := junitSuite{Name: tidy(r.Path), Properties: []junitProperty{
		{"ketyl", checker.Version}, {"rules", r.Rules}, {"sha256", r.SHA256}, {"verdict", r.Verdict}, {"summary", summary(r, j.o.Strict)}, {"notice", checker.Notice},
	}}
	spoken := map[string]bool{}
	var cases func(fs []finding.Finding)
	cases = func(fs []finding.Finding) {
		for _, f := range fs {
			spoken[f.Rule] = true
			suite.add(j.test(r, f))
			cases(f.Consequences)
		}
	}
	cases(r.Findings)
	if r.Ran > 0 {
		for _, id := range ids(j.o.Rules) {
			if !spoken[id] {
				suite.add(junitCase{Name: id, Class: class(r, id)})
			}
		}
	}
	slices.SortStableFunc(suite.Cases, func(a, b junitCase) int { return strings.Compare(a.Name, b.Name) })
	b, err := xml.MarshalIndent(suite, "  ", "  ")
	if err != nil {
		return fmt.Errorf("junit: %w", err)
	}
	s.printf("%s\n", b)
	return s.err
}

func class(r checker.Result, id string) string {
	family, _, _ := strings.Cut(id, "/")
	name := r.Path
	if r.Procedure != nil && r.Procedure.Name.S != "" {
		name = r.Procedure.Name.S
	}
	return tidy(name) + "." + family
}

func (s *junitSuite) add(c junitCase) {
	s.Tests++
	switch {
	case c.Failure != nil:
		s.Failures++
	case c.Error != nil:
		s.Errors++
	case c.Skipped != nil:
		s.Skipped++
	}
	s.Cases = append(s.Cases, c)
}

func (j *junitPrinter) test(r checker.Result, f finding.Finding) junitCase {
	line, column := r.Source.Position(f.Span.Start)
	name := f.Rule
	if f.Step > 0 {
		name += fmt.Sprintf(" (step %d)", f.Step)
	}
	c := junitCase{Name: name, Class: class(r, f.Rule), File: tidy(r.Path), Line: line}
	body := fmt.Sprintf("%s:%d:%d: %s (%s): %s", r.Path, line, column, subject(f, r.Source), standing(f), sentence(f))
	if f.Because != "" {
		body += "\nwhy: " + f.Because
	}
	if f.Fix != "" {
		body += "\nwrite: " + f.Fix
	}
	if f.Source != "" {
		body += "\nsource: " + f.Source
	}
	if f.Accepted != nil {
		body += "\naccepted: " + acceptance(f.Accepted)
	}
	text := &junitText{Message: tidy(subject(f, r.Source) + ": " + sentence(f)), Type: standing(f), Body: tidy(body)}
	switch {
	case f.Outcome == finding.Unread:
		c.Error = text
	case checker.Accepted(f):
		text.Type = ""
		c.Skipped = text
	case f.Level == finding.Hold || j.o.Strict && f.Level == finding.Revise:
		c.Failure = text
	default:
		c.Out = tidy(body)
	}
	return c
}

func (j *junitPrinter) Close() error {
	s := &sticky{w: j.out}
	if j.files == 0 {
		s.printf("%s<testsuites name=\"ketyl\">\n", xml.Header)
	}
	s.printf("</testsuites>\n")
	return s.err
}

// tidy takes out what XML 1.0 cannot hold.
func tidy(s string) string {
	return strings.Map(func(r rune) rune {
		if r == '\n' || r == '\t' || r >= 0x20 && r != 0xfffe && r != 0xffff {
			return r
		}
		return '\uFFFD'
	}, s)
}
