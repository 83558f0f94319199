package judge

import (
	"context"
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/fstest"

	"ketyl/checker/bench"
	"ketyl/checker/finding"
)

// fixture is a small rule file with one of everything.
const fixture = `family: addition
bases:
  buli:
    materials:
      thf: {amount: 40 mL, grade: reagent}
      n-butyllithium: {solution: 1.6 M in hexanes, amount: 6.9 mL}
    apparatus:
      flask: {kind: round-bottom flask, size: 250 mL}
    steps:
      - add: thf
        to: flask
      - add: n-butyllithium
        to: flask
        over: 10 min
      - warm: flask
        to: 0 °C
rules:
  - id: addition/unequalised-funnel
    level: hold
    over: addition
    when: event.from.kind == 'addition funnel' && event.vessel.closed
    require: event.from.equalised
    say: "{event.from.name} is stoppered over {event.vessel.name}: {event.volume_ml | mL} will stop flowing."
    because: Liquid that leaves a closed funnel leaves a vacuum behind.
    fix: write equalised under {event.from.name}
    source: [{cite: bench craft, kind: common practice}]
    danger: 6
    good:
      - {name: equalised, base: buli}
    bad:
      - {name: not equalised, base: buli, change: {2: {equalised: false}}, step: 2, figures: {volume_ml: 6.9}}
  - id: addition/overfull
    level: revise
    levels:
      - {when: event.fill_after > limit.brim, level: hold}
    over: addition
    require: event.fill_after <= limit.fill
    say: "{event.vessel.name} is {event.fill_after | share} full after {event.volume_ml | mL}."
    because: It foams over.
    fix: take a larger {event.vessel.kind}
    source: {cite: A Book, kind: published}
    limits:
      fill: {value: 0.67, unit: of its size, basis: practice, source: bench craft}
      brim: {value: 0.9, unit: of its size, basis: practice, source: bench craft}
    danger: 3
`

func load(t testing.TB, text string) *Set {
	t.Helper()
	s, fs := Load(fstest.MapFS{"rules/addition.yaml": {Data: []byte(text)}}, "rules", true)
	for _, f := range fs {
		t.Fatal(f.Message)
	}
	return s
}

// oneRule writes a file with one rule; each line of more replaces the key that
// it begins with, or is added.
func oneRule(more ...string) string {
	lines := []string{
		"id: addition/rule", "level: revise", "over: addition", "require: event.rate_given",
		`say: "{event.verb}"`, "because: It matters.", "fix: write it", "source: {cite: A Book, kind: published}",
	}
	for _, m := range more {
		key, _, _ := strings.Cut(m, ":")
		i := slices.IndexFunc(lines, func(l string) bool { return strings.HasPrefix(l, key+":") })
		if i < 0 {
			lines = append(lines, m)
			continue
		}
		lines[i] = m
	}
	return "family: addition\nrules:\n  - " + strings.Join(lines, "\n    ") + "\n"
}

func addition(change func(*bench.AdditionFacts)) bench.Event {
	f := &bench.AdditionFacts{
		Verb: "add", Vessel: &bench.VesselFacts{Name: "flask", Kind: "round-bottom flask", Contents: []string{"thf", "hexanes"}},
		From: bench.PlaceFacts{Name: "funnel", Kind: "addition funnel", Uses: bench.Got(1)}, VolumeML: bench.Got(6.9), FillAfter: bench.Got(0.5),
	}
	if change != nil {
		change(f)
	}
	return bench.Event{Kind: "addition", Step: 2, Subject: "add n-butyllithium", Facts: f}
}

func judgeOne(t *testing.T, s *Set, ev bench.Event) finding.Finding {
	t.Helper()
	fs := s.Judge(context.Background(), []bench.Event{ev})
	if len(fs) > 1 {
		t.Fatalf("found %d findings, expected at most one: %+v", len(fs), fs)
	}
	if len(fs) == 0 {
		return finding.Finding{}
	}
	return fs[0]
}

func TestOutcomes(t *testing.T) {
	unknown := func(f *bench.AdditionFacts) { f.OverMin = bench.Missing("the time of the addition") }
	for _, c := range []struct {
		name          string
		when, require string
		change        func(*bench.AdditionFacts)
		want          finding.Outcome
		ask           string
	}{
		{name: "met", when: "true", require: "event.volume_ml < 10"},
		{name: "broken", when: "true", require: "event.volume_ml < 5", want: finding.Broken},
		{name: "does not apply", when: "event.verb == 'pour'", require: "false"},
		{name: "an unknown figure is required", when: "true", require: "event.over_min > 5", change: unknown, want: finding.CannotTell, ask: "the time of the addition"},
		{name: "decided without the unknown figure of when", when: "event.over_min > 5 && event.verb == 'pour'", require: "false", change: unknown},
		{name: "when turns on the unknown figure", when: "event.over_min > 5 && event.verb == 'add'", require: "false", change: unknown, want: finding.CannotTell, ask: "the time of the addition"},
		{name: "met whatever when says", when: "event.over_min > 5", require: "event.verb == 'add'", change: unknown},
		{name: "or decides without it", when: "true", require: "event.over_min > 5 || event.verb == 'add'", change: unknown},
		{name: "broken: the other part of and decides", when: "true", require: "event.over_min > 5 && event.verb == 'pour'", change: unknown, want: finding.Broken},
		{name: "has() of an unknown figure", when: "has(event.over_min)", require: "false", change: unknown},
		{name: "has() of a known zero", when: "has(event.volume_ml)", require: "false", change: func(f *bench.AdditionFacts) { f.VolumeML = bench.Got(0) }, want: finding.Broken},
		{name: "has() of an empty text", when: "has(event.method)", require: "false"},
		{name: "has() of a text", when: "has(event.verb)", require: "false", want: finding.Broken},
		{name: "has() of a list", when: "has(event.vessel.contents) && !has(event.vessel.families)", require: "false", want: finding.Broken},
		{name: "no number is unknown", when: "true", require: "event.volume_ml < 10", change: func(f *bench.AdditionFacts) { f.VolumeML = bench.Got(math.NaN()) }, want: finding.CannotTell, ask: "volume added, mL"},
		{name: "a question without words takes those of the fact", when: "true", require: "event.volume_ml < 10", change: func(f *bench.AdditionFacts) { f.VolumeML = bench.Num{} }, want: finding.CannotTell, ask: "volume added, mL"},
		{name: "division by zero", when: "true", require: "event.volume_ml / event.mmol < 5", change: func(f *bench.AdditionFacts) { f.Mmol = bench.Got(0) }, want: finding.Unread},
		{name: "division by an unknown figure", when: "true", require: "event.volume_ml / event.mmol < 5", change: func(f *bench.AdditionFacts) { f.Mmol = bench.Missing("the amount") }, want: finding.CannotTell, ask: "the amount"},
		{name: "an unknown figure of a nested group", when: "true", require: "event.vessel.fill < 1", want: finding.CannotTell, ask: "liquid over size, 0 to 1"},
		// All numbers of a rule are decimals.
		{name: "equal to a whole number", when: "event.from.uses == 1", require: "false", want: finding.Broken},
		{name: "not equal to a whole number", when: "event.from.uses != 1", require: "false"},
		{name: "arithmetic with whole numbers", when: "event.volume_ml * 2 + 1 > 14 && -event.volume_ml < 0", require: "false", want: finding.Broken},
		{name: "a whole number on the left", when: "6 < event.volume_ml", require: "false", want: finding.Broken},
		{name: "a count", when: "size(event.vessel.contents) == 2 && event.vessel.contents.size() * 2 > 3", require: "false", want: finding.Broken},
		{name: "an item", when: "event.vessel.contents[1] == 'hexanes'", require: "false", want: finding.Broken},
		{name: "a part of a text", when: "event.verb.substring(1) == 'dd' && event.verb.indexOf('d') == 1", require: "false", want: finding.Broken},
		{name: "the larger", when: "math.greatest(event.volume_ml, 7) == 7", require: "false", want: finding.Broken},
		{name: "exists", when: "event.vessel.contents.exists(c, c.startsWith('hex'))", require: "false", want: finding.Broken},
		{name: "exists one", when: "event.vessel.contents.exists_one(c, c == 'thf')", require: "false", want: finding.Broken},
		{name: "one of", when: "oneOf(event.verb, ['add', 'charge']) && event.verb in ['add']", require: "false", want: finding.Broken},
		{name: "a choice", when: "(event.rate_given ? 1 : 2) == 2", require: "false", want: finding.Broken},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := load(t, oneRule("when: \""+c.when+"\"", "require: \""+c.require+"\""))
			f := judgeOne(t, s, addition(c.change))
			if f.Outcome != c.want || f.Ask != c.ask {
				t.Errorf("found %q asking %q, expected %q asking %q (%s)", f.Outcome, f.Ask, c.want, c.ask, f.Message)
			}
		})
	}
}

func TestFinding(t *testing.T) {
	s := load(t, fixture)
	ev := addition(func(f *bench.AdditionFacts) {
		f.Vessel.Closed, f.FillAfter = true, bench.Assume(0.95, "the careful size")
	})
	ev.Span = finding.Span{Start: 10, End: 20}
	got := s.Judge(context.Background(), []bench.Event{ev})
	want := []finding.Finding{{
		Rule: "addition/unequalised-funnel", Level: finding.Hold, Outcome: finding.Broken, Step: 2, Span: ev.Span, Subject: ev.Subject,
		Message: "funnel is stoppered over flask: 6.9 mL will stop flowing.",
		Because: "Liquid that leaves a closed funnel leaves a vacuum behind.", Fix: "write equalised under funnel",
		Source: "bench craft (common practice)", Danger: 6, Figures: []finding.Figure{{Name: "volume_ml", Value: 6.9}},
	}, {
		Rule: "addition/overfull", Level: finding.Hold, Outcome: finding.Broken, Step: 2, Span: ev.Span, Subject: ev.Subject,
		Message: "flask is 95 % full after 6.9 mL. Limit: 0.67 of its size (ketyl default, common practice).",
		Because: "It foams over.", Fix: "take a larger round-bottom flask", Source: "A Book", Danger: 3,
		Figures: []finding.Figure{{Name: "fill_after", Value: 0.95, Assumed: "the careful size"}, {Name: "volume_ml", Value: 6.9}},
	}}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("found\n%+v\nexpected\n%+v", got, want)
	}
}

func TestLevels(t *testing.T) {
	bands := "levels: [{when: event.mmol < 1, level: advise}, {when: event.mmol > 100, level: hold}]"
	for _, c := range []struct {
		name       string
		mmol       bench.Num
		configured finding.Level
		want       finding.Level
	}{
		{"no band", bench.Got(10), "", finding.Revise},
		{"the first band", bench.Got(0.5), "", finding.Advise},
		{"the second band", bench.Got(500), "", finding.Hold},
		{"unknown: the gravest", bench.Missing("the amount"), "", finding.Hold},
		{"configured", bench.Got(500), finding.Advise, finding.Advise},
		{"off", bench.Got(500), Off, ""},
	} {
		s := load(t, oneRule(bands))
		if c.configured != "" {
			s, _ = s.Configure(Config{Levels: map[string]finding.Level{"addition/rule": c.configured}})
		}
		f := judgeOne(t, s, addition(func(f *bench.AdditionFacts) { f.Mmol = c.mmol }))
		if f.Level != c.want {
			t.Errorf("%s: found %q, expected %q", c.name, f.Level, c.want)
		}
	}
	for _, c := range []struct {
		own, configured, want finding.Level
	}{
		{"", "", finding.Revise},
		{"advise", "", finding.Advise},
		{"hold", "", finding.Hold},
		{"hold", finding.Advise, finding.Advise}, // a question is no graver than the site lets the rule be
		{"advise", finding.Hold, finding.Advise},
		{"", finding.Hold, finding.Hold},
	} {
		lines := []string{"require: event.mmol < 1"}
		if c.own != "" {
			lines = append(lines, "cannot tell: "+string(c.own))
		}
		s := load(t, oneRule(lines...))
		if c.configured != "" {
			s, _ = s.Configure(Config{Levels: map[string]finding.Level{"addition/rule": c.configured}})
		}
		f := judgeOne(t, s, addition(func(f *bench.AdditionFacts) { f.Mmol = bench.Missing("the amount") }))
		if f.Outcome != finding.CannotTell || f.Level != c.want {
			t.Errorf("cannot tell %q, configured %q: found %s %q, expected %q", c.own, c.configured, f.Outcome, f.Level, c.want)
		}
	}
	s := load(t, oneRule("require: event.mmol < 1", "cannot tell: silent", "silent because: another rule asks"))
	if f := judgeOne(t, s, addition(nil)); f.Rule != "" {
		t.Errorf("found %+v, expected silence", f)
	}
}

func TestLimits(t *testing.T) {
	s := load(t, fixture)
	over := addition(func(f *bench.AdditionFacts) { f.FillAfter = bench.Got(0.6) })
	if f := judgeOne(t, s, over); f.Rule != "" {
		t.Fatalf("found %s, expected nothing", f.Message)
	}
	set, fs := s.Configure(Config{Limits: map[string]float64{"addition/overfull.fill": 0.5}, LimitSource: "lab.yaml"})
	if len(fs) > 0 {
		t.Fatal(fs)
	}
	f := judgeOne(t, set, over)
	if want := "flask is 60 % full after 6.9 mL. Limit: 0.5 of its size (site file lab.yaml)."; f.Message != want {
		t.Errorf("found %q, expected %q", f.Message, want)
	}
	if f := judgeOne(t, s, over); f.Rule != "" {
		t.Error("configuring a set changed the set it came from")
	}
	r, _ := set.Rule("addition/overfull")
	if r.Limits[0].Value != 0.5 || r.Limits[0].Set != "site file lab.yaml" || r.Limits[1].Value != 0.9 {
		t.Errorf("found the limits %+v", r.Limits)
	}
	_, fs = s.Configure(Config{
		Levels: map[string]finding.Level{"addition/overful": finding.Hold, "addition/overfull": "graver"},
		Limits: map[string]float64{"addition/overfull.fil": 1, "addition/unequalised-funnel.x": 1, "nothing": 1, "addition/overfull.brim": math.NaN()},
	})
	var got []string
	for _, f := range fs {
		if f.Outcome != finding.Unread {
			t.Errorf("%s: found the outcome %s", f.Subject, f.Outcome)
		}
		got = append(got, f.Subject+": "+f.Message)
	}
	want := []string{
		"addition/overful: found a level for the rule `addition/overful`, which is not known, did you mean `addition/overfull`?",
		"addition/overfull: found the level `graver` for addition/overfull, expected one of `hold`, `revise`, `advise`, `off`",
		"addition/overfull.brim: found no number for the limit addition/overfull.brim, expected a plain number in of its size",
		"addition/overfull.fil: found the limit `fil`, which addition/overfull does not have, did you mean `fill`?",
		"addition/unequalised-funnel.x: found the limit `x`, but addition/unequalised-funnel has no limits",
		"nothing: found a limit for the rule `nothing`, which is not known",
	}
	if !slices.Equal(got, want) {
		t.Errorf("found\n%s\nexpected\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// A finding names the limit that was passed, under the name its rule gives it,
// and no other limit of the rule.
func TestLimitsPassed(t *testing.T) {
	const own = " (ketyl default, derived)"
	limits := "limits: {low_ml: {value: 1, unit: mL, basis: derived, source: x}, high_ml: {value: 2, unit: mL, as: what a vial takes, basis: derived, source: x}, share: {value: 0.5, basis: derived, source: x}}"
	for _, c := range []struct{ when, require, want string }{
		{"", "event.volume_ml > limit.low_ml && event.volume_ml < limit.high_ml", "Limit: what a vial takes 2 mL" + own + "."},
		{"", "event.volume_ml < limit.low_ml", "Limit: 1 mL" + own + "."},
		{"", "event.volume_ml < (event.verb == 'add' ? limit.high_ml : limit.low_ml)", "Limit: what a vial takes 2 mL" + own + "."},
		{"", "event.volume_ml < (event.verb == 'pour' ? limit.high_ml : limit.low_ml)", "Limit: low ml 1 mL" + own + "."},
		// neither alone
		{"", "event.volume_ml < limit.low_ml && event.volume_ml < limit.high_ml", "Limits: low ml 1 mL" + own + "; what a vial takes 2 mL" + own + "."},
		// of those that decide whether it applies, the first that had a part in it
		{"event.verb == 'pour' && event.volume_ml > limit.low_ml || event.volume_ml > limit.high_ml", "false", "Limit: what a vial takes 2 mL" + own + "."},
		{"event.verb == 'pour' && event.volume_ml > limit.low_ml || event.verb == 'add'", "false", ""},
		{"event.volume_ml < limit.high_ml * 10", "false", ""}, // below it: nothing was passed
		{"event.volume_ml > limit.low_ml && event.volume_ml > limit.high_ml", "false", "Limit: low ml 1 mL" + own + "."},
		// a question names the one limit it comes to, and none of several
		{"", "event.mmol < limit.low_ml", "Limit: 1 mL" + own + "."},
		{"", "event.mmol > limit.low_ml && event.mmol < limit.high_ml", ""},
	} {
		lines := []string{"require: \"" + c.require + "\"", limits}
		if c.when != "" {
			lines = append(lines, "when: \""+c.when+"\"")
		}
		var used []string
		for _, name := range []string{"low_ml", "high_ml", "share"} {
			if strings.Contains(c.when+c.require, "limit."+name) {
				used = append(used, name)
			}
		}
		if len(used) < 3 { // a limit that nothing reads is a fault of the rule
			var rest []string
			for _, name := range []string{"low_ml", "high_ml", "share"} {
				if !slices.Contains(used, name) {
					rest = append(rest, "event.volume_ml < limit."+name+" * 0")
				}
			}
			lines = append(lines, "levels: [{when: \""+strings.Join(rest, " && ")+"\", level: hold}]")
		}
		f := judgeOne(t, load(t, oneRule(lines...)), addition(func(f *bench.AdditionFacts) { f.Mmol = bench.Missing("the amount") }))
		_, got, _ := strings.Cut(f.Message, "Limit")
		if got != "" {
			got = "Limit" + got
		}
		if got != c.want || f.Rule == "" {
			t.Errorf("when %q, require %q: found %q, expected %q", c.when, c.require, f.Message, c.want)
		}
	}
}

// A finding gives the reason that fits what was found; the rule keeps its own.
func TestWhy(t *testing.T) {
	s := load(t, oneRule("require: event.volume_ml < 1", "why: \"{event.verb == 'add' ? 'It foams over' : 'It spills'}.\""))
	if f := judgeOne(t, s, addition(nil)); f.Because != "It foams over." {
		t.Errorf("found the reason %q", f.Because)
	}
	for _, r := range s.Rules() {
		if r.Because == "" || strings.Contains(r.Because, "foams") {
			t.Errorf("found the reason %q of the rule", r.Because)
		}
	}
}

// What a text calls a vessel, with its article.
func TestCalled(t *testing.T) {
	for name, want := range map[string]string{
		"flask": "the flask", "250 mL flask": "the 250 mL flask", "ether layer": "the ether layer", "A": "A", "the flask": "the flask",
		"crystals": "the vessel with the crystals", "aluminium salts": "the vessel with the aluminium salts", "washings": "the vessel with the washings",
		"apparatus": "the apparatus", "glass": "the glass", "gas": "the gas", "residue": "the residue", "flask A": "the flask A",
	} {
		if got := called("the", name); got != want {
			t.Errorf("%s: found %q, expected %q", name, got, want)
		}
	}
	for name, want := range map[string]string{"flask": "The flask", "the flask": "The flask", "A": "A", "a vial": "A vial", "crystals": "The vessel with the crystals"} {
		if got := called("The", name); got != want {
			t.Errorf("%s: found %q, expected %q", name, got, want)
		}
	}
}

func TestTemplates(t *testing.T) {
	for _, c := range []struct{ template, want string }{
		{"{event.volume_ml} mL", "6.9 mL"},
		{"{event.volume_ml | mL}", "6.9 mL"},
		{"{event.volume_ml / 1000 | mL}", "6.9 µL"},
		{"{event.volume_ml | L}", "6.9 L"},
		{"{event.volume_ml | syringe} {2.55 * event.volume_ml | syringe} {3 * event.volume_ml | syringe} {20 * event.volume_ml | syringe}", "10 mL 20 mL 30 mL …"},
		{"{event.volume_ml | glass} {event.volume_ml * 100 | glass}", "10 mL 1 L"},
		{"{event.volume_ml | clock} {event.volume_ml * 8 | clock} {event.volume_ml / 20 | clock}", "8 min 1 h 30 s"},
		{"{event.mmol | mmol}", "12.3 mmol"},
		{"{event.mmol}", "12.3"},
		{"{event.mmol | ppm}", "12.3 ppm"},
		{"{event.keep_below_c | °C}", "−65 °C"},
		{"{event.fill_after | share}", "50 %"},
		{"{event.fill_after | %}", "0.5 %"},
		{"{event.over_min | min} and {event.over_min} min", "an unstated amount and an unstated amount min"},
		{"{event.over_min * 2 > 3 ? 'long' : 'short'}", "an unstated amount"},
		{"{event.rate_given} {event.vessel.contents} {event.vessel.contents | or} {event.vessel.families}", "no thf and hexanes thf or hexanes nothing"},
		{"{event.verb | capital} it {{not an expression}}", "Add it {not an expression}"},
		{"{event.rate_given || true ? 'a | b' : '}'}", "a | b"},
		{"{limit.most | mL}", "5 mL"},
		{"{size(event.vessel.contents)}", "2"},
		{"no braces", "no braces"},
	} {
		s := load(t, oneRule("say: \""+c.template+"\"", "fix: \"{limit.most}\"", "limits: {most: {value: 5, basis: derived, source: x}}"))
		f := judgeOne(t, s, addition(func(f *bench.AdditionFacts) {
			f.Mmol, f.KeepBelowC, f.OverMin = bench.Got(12.3456), bench.Got(-65), bench.Missing("the time")
		}))
		if f.Message != c.want {
			t.Errorf("%s: found %q, expected %q", c.template, f.Message, c.want)
		}
	}
}

func TestFigures(t *testing.T) {
	ev := addition(func(f *bench.AdditionFacts) {
		f.Mmol, f.OverMin = bench.Assume(3, "a guess"), bench.Missing("the time")
	})
	listed := load(t, oneRule("when: event.mmol > 1", "figures: {twice: event.volume_ml * 2, verb: event.verb, what: event.vessel.contents, time: event.over_min, rate: event.rate_given}"))
	want := []finding.Figure{
		{Name: "twice", Value: 13.8}, {Name: "verb", Value: "add"}, {Name: "what", Value: []string{"thf", "hexanes"}}, {Name: "rate", Value: false},
		{Name: "mmol", Value: 3.0, Assumed: "a guess"}, // not listed, but assumed
	}
	if f := judgeOne(t, listed, ev); !reflect.DeepEqual(f.Figures, want) {
		t.Errorf("found %+v, expected %+v", f.Figures, want)
	}
	free := load(t, oneRule("when: event.vessel.live_mmol >= 0 && event.mmol > 1 && has(event.from.uses)", "say: \"{event.volume_ml} {event.mmol * 2}\""))
	want = []finding.Figure{{Name: "vessel_live_mmol", Value: 0.0}, {Name: "mmol", Value: 3.0, Assumed: "a guess"}, {Name: "volume_ml", Value: 6.9}}
	if f := judgeOne(t, free, ev); !reflect.DeepEqual(f.Figures, want) {
		t.Errorf("found %+v, expected %+v", f.Figures, want)
	}
}

// twoRules is a file of rules a and b over additions.
func twoRules(a, b string) string {
	one := oneRule(append([]string{"id: addition/a", "level: revise", "say: a at {event.volume_ml}"}, strings.Split(a, "\n")...)...)
	two := oneRule(append([]string{"id: addition/b", "level: hold", "say: b at {event.volume_ml}"}, strings.Split(b, "\n")...)...)
	return one + strings.TrimPrefix(two, "family: addition\nrules:\n")
}

func TestFolding(t *testing.T) {
	events := func(cause string, n int) []bench.Event {
		var evs []bench.Event
		for i := range n {
			ev := addition(func(f *bench.AdditionFacts) {
				f.OverMin = bench.Missing("the time")
				f.VolumeML = bench.Got(float64(i))
			})
			ev.Step, ev.Cause, ev.Span.Start = i+1, cause, 10*i
			evs = append(evs, ev)
		}
		return evs
	}
	for _, c := range []struct {
		name   string
		text   string
		events []bench.Event
		want   string
	}{
		{"no cause", twoRules("danger: 1", "danger: 1"), events("", 1), "addition/b 1 b at 0 | addition/a 1 a at 0"},
		{"one cause", twoRules("danger: 1", "danger: 1"), events("wet", 1), "addition/b 1 b at 0 [addition/a 1 a at 0]"},
		{"danger decides", twoRules("level: hold\ndanger: 5", "danger: 1"), events("wet", 1), "addition/a 1 a at 0 [addition/b 1 b at 0]"},
		{"one cause at two steps", twoRules("danger: 1", "danger: 1"), events("wet", 2), "addition/b 1 b at 0 [addition/b 2 b at 1; addition/a 1 a at 0; addition/a 2 a at 1]"},
		{"own cause", twoRules("cause: event.verb", "cause: event.verb"), events("", 1), "addition/b 1 b at 0 [addition/a 1 a at 0]"},
		{"never folded", twoRules("cause: \"''\"", "danger: 1"), events("wet", 1), "addition/b 1 b at 0 | addition/a 1 a at 0"},
		{"once", twoRules("once: true", "require: true"), events("", 4), "addition/a 1 a at 0. Also at steps 2, 3 and 4. (10 20 30)"},
		{"once keeps the gravest", twoRules("once: true\nlevels: [{when: event.volume_ml == 2, level: hold}]", "require: true"), events("", 4), "addition/a 3 a at 2. Also at steps 1, 2 and 4. (0 10 30)"},
		{"repetition", twoRules("danger: 1", "require: true"), append(events("", 1), events("", 1)...), "addition/a 1 a at 0"},
		{"same question", twoRules("require: event.over_min > 1", "require: event.over_min > 2"), events("", 1), "addition/b 1 cannot tell; wanted: the time (for addition/b and addition/a) [addition/a 1 cannot tell; wanted: the time]"},
		{"same question at two steps", twoRules("require: event.over_min > 1", "require: true"), events("", 2), "addition/a 1 cannot tell; wanted: the time. Also at step 2. (10)"},
		{"a question is not folded under a fault", twoRules("require: event.over_min > 1", "danger: 1"), events("wet", 1), "addition/b 1 b at 0 | addition/a 1 cannot tell; wanted: the time"},
		{"failures", twoRules("require: event.volume_ml / 0 > 1", "require: true"), events("wet", 3), "addition/a 1 the rule addition/a could not be judged: division by zero (rules/addition.yaml:6:30). Also at steps 2 and 3. (10 20)"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := load(t, c.text)
			var got []string
			for _, f := range s.Judge(context.Background(), c.events) {
				line := fmt.Sprintf("%s %d %s", f.Rule, f.Step, f.Message)
				var more []string
				for _, o := range f.Consequences {
					more = append(more, fmt.Sprintf("%s %d %s", o.Rule, o.Step, o.Message))
				}
				if more != nil {
					line += " [" + strings.Join(more, "; ") + "]"
				}
				var related []string
				for _, r := range f.Related {
					related = append(related, fmt.Sprint(r.Span.Start))
				}
				if related != nil {
					line += " (" + strings.Join(related, " ") + ")"
				}
				got = append(got, line)
			}
			if strings.Join(got, " | ") != c.want {
				t.Errorf("found\n%s\nexpected\n%s", strings.Join(got, " | "), c.want)
			}
		})
	}
}

// TestNothingSilent gives Judge what it cannot judge.
func TestNothingSilent(t *testing.T) {
	s := load(t, fixture)
	stopped, cancel := context.WithCancel(context.Background())
	cancel()
	for _, c := range []struct {
		name string
		ctx  context.Context
		ev   bench.Event
		want string
	}{
		{"unknown kind", context.Background(), bench.Event{Kind: "explosion", Facts: &bench.AdditionFacts{}}, `found an event of the kind "explosion"`},
		{"wrong facts", context.Background(), bench.Event{Kind: "addition", Facts: &bench.WaterFacts{}}, "found *bench.WaterFacts as the facts of an event of the kind addition, expected *bench.AdditionFacts"},
		{"no facts", context.Background(), bench.Event{Kind: "addition"}, "found <nil> as the facts"},
		{"nil facts", context.Background(), bench.Event{Kind: "addition", Facts: (*bench.AdditionFacts)(nil)}, "as the facts"},
		{"stopped", stopped, addition(nil), "judging stopped at step 2 of the text: context canceled"},
	} {
		fs := s.Judge(c.ctx, []bench.Event{c.ev})
		if len(fs) != 1 || fs[0].Outcome != finding.Unread || fs[0].Level != finding.Hold || !strings.Contains(fs[0].Message, c.want) {
			t.Errorf("%s: found %+v, expected one finding of outcome unread: %s", c.name, fs, c.want)
		}
	}
	// A trusted rule with a fault that only compiling finds.
	for _, line := range []string{"require: event.wrong", "when: event.wrong", "say: 'x {event.wrong}'", "fix: '{event.wrong}'", "levels: [{when: event.wrong, level: hold}]", "figures: {x: event.wrong}", "cause: event.wrong"} {
		f := judgeOne(t, load(t, oneRule(line)), addition(nil))
		if f.Outcome != finding.Unread || f.Level != finding.Hold || !strings.Contains(f.Message, "event (addition) has no `wrong`") || !strings.Contains(f.Message, "(rules/addition.yaml:") {
			t.Errorf("%s: found %+v, expected that it cannot be judged", line, f)
		}
	}
	ev := addition(func(f *bench.AdditionFacts) { f.FillAfter = bench.Got(0.8) })
	ev.Facts = *ev.Facts.(*bench.AdditionFacts)
	if f := judgeOne(t, s, ev); f.Rule != "addition/overfull" {
		t.Errorf("facts by value: found %+v", f)
	}
}

func TestCostLimit(t *testing.T) {
	load := func(require string, trusted bool) (*Set, []finding.Finding) {
		return Load(fstest.MapFS{"r/a.yaml": {Data: []byte(oneRule("require: \"" + require + "\""))}}, "r", trusted)
	}
	_, fs := load("event.vessel.contents.exists(a, event.vessel.contents.exists(b, a.matches(b + '(x+x+)+y')))", false)
	if len(fs) != 1 || !strings.Contains(fs[0].Message, "steps, expected at most") {
		t.Errorf("found %+v, expected that so dear an expression is refused", fs)
	}
	dear := "event.vessel.contents.exists(a, event.vessel.contents.exists(b, a + 'x' == b))"
	long := addition(func(f *bench.AdditionFacts) {
		f.Vessel.Contents = slices.Repeat([]string{"hexanes"}, 3000)
	})
	for _, trusted := range []bool{false, true} {
		s, fs := load(dear, trusted)
		if len(fs) > 0 {
			t.Fatal(fs)
		}
		if f := judgeOne(t, s, long); f.Outcome != finding.Unread || !strings.Contains(f.Message, "cost limit") {
			t.Errorf("trusted %v: found %s %q, expected that the evaluation is stopped", trusted, f.Outcome, f.Message)
		}
	}
	for _, bad := range []string{
		strings.Repeat("(", 300) + "true" + strings.Repeat(")", 300),
		"event.rate_given" + strings.Repeat(" || event.rate_given", 500),
		"event.vessel.contents.all(a, event.vessel.contents.all(b, event.vessel.contents.all(c, a == b + c)))",
	} {
		if _, fs := load(bad, false); len(fs) == 0 {
			t.Errorf("found no fault in %.40s…", bad)
		}
	}
}

// TestSketch holds sketches to what CEL gives, on facts at random.
func TestSketch(t *testing.T) {
	conditions := []string{
		"event.rate_given", "!event.rate_given", "event.verb == 'add'", "event.verb != 'add'", "event.verb in ['add', 'pour']",
		"oneOf(event.verb, ['add', 'pour'])", "event.volume_ml < 1", "event.volume_ml <= 1", "event.volume_ml > 1", "event.volume_ml >= 1",
		"event.volume_ml == 1", "event.volume_ml != 1", "event.volume_ml > limit.most", "event.vessel.live_mmol > 0",
		"event.vessel.closed", "event.vessel.fill < 1", "event.material.pyrophoric", "has(event.volume_ml)",
		"event.volume_ml / event.mmol > 1", "event.vessel.contents.exists(c, c == 'add')",
	}
	random := newRandom(1)
	var all []string
	for range 400 {
		pick := func() string { return conditions[random.IntN(len(conditions))] }
		all = append(all, fmt.Sprintf("%s && (%s || !(%s && %s)) || !(%s)", pick(), pick(), pick(), pick(), pick()))
	}
	all = append(all, conditions...)
	limits := &limitValues{[]string{"most"}, []celValue{celDouble(1)}}
	var decided, total int
	for _, c := range all {
		x := &expression{over: "addition", source: c, want: anything}
		if fs := x.compile(); fs != nil {
			t.Fatalf("%s: %v", c, fs)
		}
		if x.direct != nil {
			continue
		}
		for range 20 {
			ev := bench.Event{Kind: "addition", Facts: random.facts(reflect.TypeFor[bench.AdditionFacts]())}
			sc := &scratch{records: map[string]*record{}}
			rec, err := sc.record(&ev)
			if err != nil {
				t.Fatal(err)
			}
			b := &bindings{rec, limits}
			sketch := x.sketch.test(b)
			v, err := x.eval(b)
			total++
			if sketch == undecided {
				continue
			}
			decided++
			if err != nil || v != celBool(sketch == yes) {
				t.Fatalf("%s: the sketch tells %v, CEL gives %v, %v for %+v", c, sketch == yes, v, err, ev.Facts)
			}
		}
	}
	if decided < total/3 {
		t.Errorf("sketches decided %d of %d, expected at least a third", decided, total)
	}
}

func TestConcurrentAndDeterministic(t *testing.T) {
	s, fs := Load(manyRules(40), "rules", true)
	if len(fs) > 0 {
		t.Fatal(fs)
	}
	events := manyEvents(60)
	want := fmt.Sprintf("%+v", s.Judge(context.Background(), events))
	if !strings.Contains(want, "cannot tell") || !strings.Contains(want, "broken") {
		t.Fatal("the events show too little")
	}
	var group sync.WaitGroup
	errs := make(chan error, 16)
	for i := range 16 {
		group.Go(func() {
			use := s
			if i%4 == 0 { // compile at once with others
				use, _ = Load(manyRules(40), "rules", true)
			}
			if got := fmt.Sprintf("%+v", use.Judge(context.Background(), events)); got != want {
				errs <- errors.New("another run gave other findings")
			}
			if use.Hash() != s.Hash() {
				errs <- errors.New("another load gave another hash")
			}
		})
	}
	group.Wait()
	close(errs)
	for err := range errs {
		t.Error(err)
	}
}
