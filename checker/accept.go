package checker

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"ketyl/checker/finding"
	"ketyl/checker/procedure"
)

// acceptance is one accepted deviation, of the file or of the site.
type acceptance struct {
	finding.Acceptance
	rule string
	step int // 0 for the whole text
	span finding.Span
	// here: it speaks of this very text, so that matching nothing is a fault.
	here, used bool
}

// accept marks the findings that a role has taken on itself. Findings folded
// under an accepted one that are not accepted themselves are brought up again.
// An acceptance that matches nothing is reported, so that none outlives its
// reason unseen.
func (c *Checker) accept(p *procedure.Procedure, fs []finding.Finding) []finding.Finding {
	var all []acceptance
	for _, a := range p.Accepted {
		all = append(all, c.acceptance(a.Rule.S, a.Step, a.Because.S, a.By.S, a.Until.S, a.Span, true))
	}
	for _, a := range c.accepted {
		if a.Procedure == "" || strings.EqualFold(a.Procedure, p.Name.S) {
			all = append(all, c.acceptance(a.Rule, a.Step, a.Because, a.By, a.Until, finding.Span{}, a.Procedure != ""))
		}
	}
	if len(all) == 0 {
		return fs
	}
	var out []finding.Finding
	for _, f := range fs {
		mark(&f, p, all)
		for i := range f.Consequences {
			mark(&f.Consequences[i], p, all)
		}
		if Accepted(f) {
			var open []finding.Finding
			f.Consequences = slices.DeleteFunc(slices.Clone(f.Consequences), func(x finding.Finding) bool {
				if Accepted(x) {
					return false
				}
				open = append(open, x)
				return true
			})
			if len(open) > 0 {
				finding.Sort(open)
				first := open[0]
				first.Consequences = append(slices.Clone(first.Consequences), open[1:]...)
				out = append(out, first)
			}
		}
		out = append(out, f)
	}
	for _, a := range all {
		if a.here && !a.used {
			out = append(out, c.idle(a))
		}
	}
	return out
}

func (c *Checker) acceptance(rule string, step int, because, by, until string, at finding.Span, here bool) acceptance {
	return acceptance{
		Acceptance: finding.Acceptance{Because: because, By: by, Until: until, Lapsed: lapsed(until, c.Today)},
		rule:       rule, step: step, span: at, here: here,
	}
}

// lapsed reports whether the last day is over. A day that cannot be read has
// no force.
func lapsed(until string, today time.Time) bool {
	if until == "" {
		return false
	}
	last, err := time.Parse(time.DateOnly, until)
	return err != nil || today.Format(time.DateOnly) > last.Format(time.DateOnly)
}

// mark sets the acceptance of a finding: one that still holds before one that
// has lapsed.
func mark(f *finding.Finding, p *procedure.Procedure, all []acceptance) {
	if f.Outcome == finding.Unread {
		return
	}
	for i := range all {
		a := &all[i]
		if a.rule != f.Rule || !covers(a, f, p, all) {
			continue
		}
		a.used = true
		if f.Accepted == nil || f.Accepted.Lapsed && !a.Lapsed {
			f.Accepted = &a.Acceptance
		}
	}
}

// covers reports whether an acceptance speaks of every step of a finding. A
// finding that was folded over several steps is accepted at one of them only
// if each of the others is accepted too.
func covers(a *acceptance, f *finding.Finding, p *procedure.Procedure, all []acceptance) bool {
	if a.step == 0 {
		return true
	}
	if a.step != f.Step {
		return false
	}
	for _, r := range f.Related {
		if !strings.HasPrefix(r.Message, "also at step") {
			continue
		}
		step := stepAt(p, r.Span.Start)
		if step == a.step {
			continue
		}
		ok := slices.ContainsFunc(all, func(b acceptance) bool {
			return b.rule == f.Rule && (b.step == 0 || b.step == step) && b.Lapsed == a.Lapsed
		})
		if !ok {
			return false
		}
	}
	return true
}

// stepAt gives the number of the step that holds a place; 0 for none.
func stepAt(p *procedure.Procedure, at int) int {
	for _, s := range p.Steps {
		if s.Span.Start <= at && at < s.Span.End {
			return s.N
		}
	}
	return 0
}

// idle is the finding for an acceptance that matches nothing.
func (c *Checker) idle(a acceptance) finding.Finding {
	f := finding.Finding{
		Rule: "format/idle-acceptance", Level: finding.Advise, Outcome: finding.Broken, Step: a.step, Span: a.span,
		Subject: "accepted " + a.rule,
		Message: fmt.Sprintf("the accepted deviation from %s matches no finding in this text", a.rule),
		Because: "An acceptance that outlives its reason would hide the next fault of that kind.",
		Fix:     "remove it, or correct its rule or step",
	}
	if _, ok := c.Rules.Rule(a.rule); !ok {
		f.Message = fmt.Sprintf("found the rule `%s` accepted, which is not known%s", a.rule, meant(c.Rules, a.rule))
	}
	return f
}
