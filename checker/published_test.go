package checker_test

import (
	"fmt"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"ketyl/checker"
	"ketyl/checker/document"
	"ketyl/checker/finding"
)

const publishedDir = "../testdata/published"

// expectation is one thing said of a sheet, with the findings that amount to
// saying it: rules by id or glob, at any of the steps if some are named.
type expectation struct {
	What     string   `yaml:"what,required"`
	Severity string   `yaml:"severity"`
	Basis    string   `yaml:"basis"`
	Rules    []string `yaml:"rules"`
	Steps    []int    `yaml:"steps"`
	// Says narrows to messages that hold one of these words.
	Says []string `yaml:"says"`
	// Argued says why the fault is not ours to raise; Because, why a finding
	// that the reviewer does not have is right all the same.
	Argued  string `yaml:"argued"`
	Because string `yaml:"because"`
}

// sheet is what a careful reviewer said of one published procedure.
type sheet struct {
	Faults []expectation `yaml:"faults"`
	Unread []expectation `yaml:"perhaps"` // absent only from the part that was read: never scored
	Fine   []expectation `yaml:"fine"`
	Never  []expectation `yaml:"never"`
	Fair   []expectation `yaml:"fair"`
}

// floors are the measured totals; falling behind one is a regression.
type floors struct {
	Hold        int `yaml:"hold,required"`
	Revise      int `yaml:"revise,required"`
	Advise      int `yaml:"advise,required"`
	Fine        int `yaml:"fine,required"`
	FalseAlarms int `yaml:"false alarms,required"`
}

type expected struct {
	Floors floors `yaml:"floors,required"`
	Sheets []struct {
		Key     string
		KeySpan finding.Span
		Value   sheet
	} `yaml:"sheets,ordered"`
}

// matches reports whether a finding, or one folded under it, is what e means.
func (e expectation) matches(f finding.Finding, steps []int) bool {
	ok := len(e.Steps) == 0 || slices.ContainsFunc(steps, func(n int) bool { return slices.Contains(e.Steps, n) })
	ok = ok && slices.ContainsFunc(e.Rules, func(glob string) bool { hit, _ := path.Match(glob, f.Rule); return hit })
	text := strings.ToLower(f.Message + " " + f.Ask + " " + f.Subject)
	return ok && (len(e.Says) == 0 || slices.ContainsFunc(e.Says, func(w string) bool { return strings.Contains(text, strings.ToLower(w)) }))
}

// heard is a finding with the steps it stands at, those folded into it too.
type heard struct {
	finding.Finding
	steps []int
	top   int // index of the finding it is printed under
}

// listen flattens a result into what its reader is told.
func listen(r checker.Result) []heard {
	stepAt := func(sp finding.Span) (n int) {
		for _, s := range r.Procedure.Steps {
			if sp.Start >= s.Span.Start && sp.Start < s.Span.End {
				n = s.N
			}
		}
		return n
	}
	var out []heard
	for i, f := range r.Findings {
		for _, g := range append([]finding.Finding{f}, f.Consequences...) {
			h := heard{g, []int{g.Step}, i}
			for _, rel := range g.Related {
				if n := stepAt(rel.Span); n > 0 && !slices.Contains(h.steps, n) {
					h.steps = append(h.steps, n)
				}
			}
			out = append(out, h)
		}
	}
	return out
}

func readExpected(t *testing.T) expected {
	t.Helper()
	name := filepath.Join(publishedDir, "expected.yaml")
	raw, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	file, bad := document.Read(name, raw)
	var x expected
	if len(bad) == 0 {
		bad = document.Decode(file, file.Root, &x)
	}
	for _, f := range bad {
		line, column := file.Source.Position(f.Span.Start)
		t.Errorf("%s:%d:%d: %s", name, line, column, f.Message)
	}
	if len(bad) > 0 {
		t.FailNow()
	}
	return x
}

// TestPublished sets the checker against careful reviews of published
// procedures. Their citations stand in the files; the reviews are in
// expected.yaml. Run with -v for the table.
func TestPublished(t *testing.T) {
	x := readExpected(t)
	c, bad := checker.New(checker.Options{})
	for _, f := range bad {
		t.Errorf("%s: %s", f.Rule, f.Message)
	}
	files, err := filepath.Glob(filepath.Join(publishedDir, "[0-9]*.yaml"))
	if err != nil || len(files) != len(x.Sheets) {
		t.Fatalf("found %d procedures and %d reviews (%v)", len(files), len(x.Sheets), err)
	}
	raised, all := map[string]int{}, map[string]int{}
	fine, fineAll, never, alarms, argued := 0, 0, 0, 0, 0
	for _, entry := range x.Sheets {
		var log strings.Builder
		say := func(format string, args ...any) { fmt.Fprintf(&log, "  "+format+"\n", args...) }
		name := filepath.Join(publishedDir, entry.Key+".yaml")
		raw, err := os.ReadFile(name)
		if err != nil {
			t.Error(err)
			continue
		}
		r := c.Check(name, raw)
		for _, f := range r.Findings {
			if f.Outcome == finding.Unread {
				line, column := r.Source.Position(f.Span.Start)
				t.Errorf("%s:%d:%d: %s: %s", name, line, column, f.Rule, f.Message)
			}
		}
		if r.Procedure == nil {
			continue
		}
		told := listen(r)
		s := entry.Value
		expectedTop := map[int]bool{}
		mark := func(list []expectation) {
			for _, e := range list {
				for _, h := range told {
					if e.matches(h.Finding, h.steps) {
						expectedTop[h.top] = true
					}
				}
			}
		}
		mark(s.Faults)
		mark(s.Unread)
		mark(s.Fair)
		for _, e := range s.Faults {
			by := ""
			for _, h := range told {
				if e.matches(h.Finding, h.steps) {
					by += fmt.Sprintf(" %s@%v(%s, %s)", h.Rule, h.steps, h.Level, h.Outcome)
				}
			}
			switch {
			case by != "":
				raised[e.Severity]++
				all[e.Severity]++
				say("raised  %-6s %s ←%s", e.Severity, e.What, by)
			case e.Argued != "":
				argued++
				say("argued  %-6s %s: %s", e.Severity, e.What, e.Argued)
			default:
				all[e.Severity]++
				say("MISSED  %-6s %s (steps %v)", e.Severity, e.What, e.Steps)
			}
		}
		for i, f := range r.Findings {
			if expectedTop[i] || f.Accepted != nil || f.Outcome == finding.Unread {
				continue
			}
			if f.Level == finding.Advise {
				say("also    %-6s %s@%d (%s): %s", f.Level, f.Rule, f.Step, f.Outcome, f.Message)
				continue
			}
			alarms++
			say("ALARM   %-6s %s@%d (%s): %s", f.Level, f.Rule, f.Step, f.Outcome, f.Message)
		}
		broken := func(e expectation) (by string) {
			for _, h := range told {
				if e.matches(h.Finding, h.steps) {
					by += fmt.Sprintf(" %s@%v: %s", h.Rule, h.steps, h.Message)
				}
			}
			return by
		}
		for _, e := range s.Fine {
			fineAll++
			if by := broken(e); by != "" {
				say("NOT SILENT %s ←%s", e.What, by)
				continue
			}
			fine++
		}
		for _, e := range s.Never {
			if by := broken(e); by != "" {
				never++
				t.Errorf("%s: %s must never be raised here:%s", entry.Key, e.What, by)
			}
		}
		t.Logf("%s: %s\n%s", entry.Key, r.Verdict, log.String())
	}
	total := func(m map[string]int) int { return m["hold"] + m["revise"] + m["advise"] }
	t.Logf("reviewers' faults raised: hold %d of %d, revise %d of %d, advise %d of %d, in all %d of %d (%d more argued)",
		raised["hold"], all["hold"], raised["revise"], all["revise"], raised["advise"], all["advise"], total(raised), total(all), argued)
	t.Logf("false alarms: %d; accepted practice that stayed silent: %d of %d; raised though it must never be: %d", alarms, fine, fineAll, never)

	for _, f := range []struct {
		what      string
		got, want int
	}{
		{"holds raised", raised["hold"], x.Floors.Hold}, {"revises raised", raised["revise"], x.Floors.Revise}, {"advices raised", raised["advise"], x.Floors.Advise},
		{"accepted practice left silent", fine, x.Floors.Fine}, {"false alarms", -alarms, -x.Floors.FalseAlarms},
	} {
		if f.got < f.want {
			t.Errorf("%s: %d, recorded %d; find out why before the record is changed", f.what, max(f.got, -f.got), max(f.want, -f.want))
		}
	}
}
