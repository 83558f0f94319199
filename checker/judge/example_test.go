package judge

import (
	"strings"
	"testing"

	"ketyl/checker/bench"
	"ketyl/checker/document"
	"ketyl/checker/finding"
)

// stage is a Player for tests: every `add` is an addition whose figures stand
// in the step; it knows nothing of chemistry.
func stage(name string, text []byte) ([]bench.Event, []finding.Finding) {
	f, fs := document.Read(name, text)
	if len(fs) > 0 {
		return nil, fs
	}
	var events []bench.Event
	for i, step := range f.Root.Get("steps").Items {
		if step.Get("add") == nil {
			continue
		}
		facts := &bench.AdditionFacts{
			Verb: "add", VolumeML: bench.Missing("the volume"), FillAfter: bench.Got(0.5),
			From: bench.PlaceFacts{Name: "funnel", Kind: "addition funnel", Equalised: true}, Vessel: &bench.VesselFacts{Name: step.Get("to").Text, Closed: true},
		}
		if v, ok := step.Get("volume").Number(); ok {
			facts.VolumeML = bench.Got(v)
		}
		if v, ok := step.Get("fill").Number(); ok {
			facts.FillAfter = bench.Got(v)
		}
		if v, ok := step.Get("equalised").Bool(); ok {
			facts.From.Equalised = v
		}
		events = append(events, bench.Event{Kind: "addition", Step: i + 1, Subject: "add " + step.Get("add").Text, Facts: facts})
	}
	return events, nil
}

const exampleRules = `family: addition
bases:
  two:
    materials: {thf: {amount: 40 mL, grade: reagent}, ether: {amount: 5 mL}}
    steps:
      - {add: thf, to: flask, volume: 40}
      - {warm: flask, to: 0 °C}
      - {add: ether, to: flask, volume: 5}
rules:
  - id: addition/volume
    level: revise
    levels: [{when: event.volume_ml > 60, level: hold}]
    over: addition
    when: event.vessel.closed
    require: event.volume_ml < limit.most && event.from.equalised
    say: "{event.volume_ml | mL} into {event.vessel.name}."
    because: b
    fix: f
    source: {cite: c, kind: published}
    limits: {most: {value: 50, unit: mL, basis: derived, source: s}}
EXAMPLES
`

func TestExamples(t *testing.T) {
	for _, c := range []struct {
		name    string
		example string // of one list, good or bad
		want    string // what is wrong; "" when the example is as it should be
	}{
		{"stays silent", "good: [{name: x, base: two}]", ""},
		{"fires", "bad: [{name: x, base: two, change: {3: {volume: 55}}, step: 3, figures: {volume_ml: 55}, level: revise, say: 55 mL into}]", ""},
		{"fires by the words of the limit", "bad: [{name: x, base: two, change: {3: {volume: 55}}, say: '50 mL (ketyl default, derived)'}]", ""},
		{"band", "bad: [{name: x, base: two, change: {3: {volume: 70}}, level: hold}]", ""},
		{"cannot tell", "bad: [{name: x, base: two, change: {3: {volume: null}}, step: 3, outcome: cannot tell}]", ""},
		{"cannot tell is no break", "bad: [{name: x, base: two, change: {3: {volume: null}}}]", "expects the outcome broken; but it is cannot tell (hold) at step 3: cannot tell; wanted: the volume"},
		{"the number of the base after a drop", "bad: [{name: x, base: two, drop: [2], change: {3: {volume: 55}}, step: 3}]", ""},
		{"the number of the base after an insertion", "bad: [{name: x, base: two, insert: [{before: 1, step: {cool: flask}}], change: {1: {volume: 55}}, step: 1}]", ""},
		{"an inserted step", "bad: [{name: x, base: two, insert: [{after: 3, step: {add: x, to: flask, volume: 55}}], step: inserted}]", ""},
		{"the second inserted step", "bad: [{name: x, base: two, insert: [{after: 3, step: [{cool: flask}]}, {before: 1, step: {add: x, to: flask, volume: 55}}], step: inserted 2}]", ""},
		{"steps replaced", "bad: [{name: x, base: two, procedure: {steps: [{add: x, to: flask, volume: 55}]}, step: 1}]", ""},
		{"no base", "bad: [{name: x, procedure: {steps: [{add: x, to: flask, volume: 55}]}}]", ""},
		{"tolerance", "bad: [{name: x, base: two, change: {3: {volume: 55}}, figures: {volume_ml: 56 ± 2 %}}]", ""},
		{"two of them", "bad: [{name: x, base: two, change: {1: {volume: 55}, 3: {volume: 70}}, step: 3, level: hold}]", ""},

		{"fires where it must not", "good: [{name: x, base: two, change: {3: {volume: 55}}}]", "must not fire, but it is broken (revise) at step 3: 55 mL into flask. Limit: 50 mL (ketyl default, derived). [volume_ml=55]"},
		{"asks where it must not", "good: [{name: x, base: two, change: {3: {volume: null}}}]", "must not fire, but it is cannot tell"},
		{"silent where it must fire", "bad: [{name: x, base: two}]", "event.volume_ml < limit.most = true\n          event.from.equalised = true\n          event.volume_ml = 40"},
		{"other step", "bad: [{name: x, base: two, drop: [2], change: {3: {volume: 55}}, step: 1}]", "expects it at step 1; but it is broken (revise) at step 2 (3 of the base)"},
		{"other figure", "bad: [{name: x, base: two, change: {3: {volume: 55}}, figures: {volume_ml: 70}}]", "expects volume_ml 70; but"},
		{"unknown figure", "bad: [{name: x, base: two, change: {3: {volume: 55}}, figures: {volume: 55}}]", "expects the figure volume, which the finding does not carry, expected one of `volume_ml`"},
		{"other level", "bad: [{name: x, base: two, change: {3: {volume: 55}}, level: hold}]", "expects the level hold; but"},
		{"other words", "bad: [{name: x, base: two, change: {3: {volume: 55}}, say: 56 mL}]", "expects a message with \"56 mL\"; but"},
		{"idle", "good: [{name: x, base: two, drop: [1, 3]}]", "is idle: no event of the kind addition occurs in it"},
		{"idle on purpose", "good: [{name: x, base: two, drop: [1, 3], idle: true}]", ""},
		{"bad and idle", "bad: [{name: x, base: two, drop: [1, 3]}]", "must fire, but no event of the kind addition occurs in it"},
		{"no such step", "bad: [{name: x, base: two, drop: [4]}]", "found step 4, expected one of the base's steps 1 to 3"},
		{"dropped and changed", "bad: [{name: x, base: two, drop: [3], change: {3: {volume: 55}}}]", "step 3 is both dropped and changed"},
		{"before and after", "bad: [{name: x, base: two, insert: [{step: {cool: flask}}]}]", "expected either `before` or `after`"},
		{"no steps", "bad: [{name: x, procedure: {materials: {}}}]", "has no list of steps"},

		{"unknown base", "bad: [{name: x, base: tow}]", "found the base `tow`, did you mean `two`?"},
		{"nothing", "bad: [{name: x}]", "has neither `base` nor `procedure`"},
		{"good that expects", "good: [{name: x, base: two, step: 1}]", "says what the rule finds, expected that only of bad ones"},
		{"no step", "bad: [{name: x, base: two, step: second}]", "found the step `second`"},
		{"no figure", "bad: [{name: x, base: two, figures: {volume_ml: 5 ± many}}]", "found the figure `5 ± many`"},
		{"unknown key", "bad: [{name: x, base: two, stepp: 2}]", "unknown key `stepp`"},
		{"name twice", "good: [{name: x, base: two}, {name: x, base: two}]", "found the example `x` a second time"},
		{"outcome", "bad: [{name: x, base: two, outcome: brokn}]", "found the outcome `brokn`, did you mean `broken`?"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := load(t, strings.Replace(exampleRules, "EXAMPLES", "    "+c.example, 1))
			results := s.Test(stage, "")
			if len(results) == 0 {
				t.Fatal("found no result")
			}
			r := results[0]
			if r.OK != (c.want == "") || !strings.Contains(r.Got, c.want) || r.Rule != "addition/volume" {
				t.Errorf("found %+v, expected %q", r, c.want)
			}
			if s.Test(stage, "addition")[0] != r || s.Test(stage, "addition/volume")[0] != r || s.Test(stage, "heat") != nil {
				t.Error("a family or id finds other results")
			}
		})
	}
}

// TestBuild looks at the procedure that an example becomes.
func TestBuild(t *testing.T) {
	s := load(t, strings.Replace(exampleRules, "EXAMPLES", `
    good:
      - name: "what it shows: a colon"
        base: two
        procedure: {setting: research, materials: {thf: {grade: null, water: 10 ppm}, ether: null, dmf: {amount: 1 mL}}}
        drop: [2]
        change: {3: {volume: 6, to: null, by: syringe}}
        insert: [{before: 3, step: {stir: flask}}, {after: 1, step: {cool: flask}}]
`, 1))
	var got string
	s.Test(func(name string, text []byte) ([]bench.Event, []finding.Finding) {
		got = name + "\n" + string(text)
		return nil, nil
	}, "")
	want := `addition/volume: what it shows: a colon
procedure: addition-volume
title: "what it shows: a colon"
format: 1
setting: research
materials:
  thf:
    amount: 40 mL
    water: 10 ppm
  dmf:
    amount: 1 mL
steps:
  - add: thf
    to: flask
    volume: 40
  - cool: flask
  - stir: flask
  - add: ether
    volume: 6
    by: syringe
`
	if got != want {
		t.Errorf("found\n%s\nexpected\n%s", got, want)
	}
	x, _ := s.rules[0].examples()
	if x.bases["two"].Get("steps").Items[2].Get("to") == nil {
		t.Error("playing an example changed its base")
	}
}

func TestUnreadableExample(t *testing.T) {
	s := load(t, strings.Replace(exampleRules, "EXAMPLES", "    good: [{name: x, base: two}]", 1))
	r := s.Test(func(string, []byte) ([]bench.Event, []finding.Finding) {
		return nil, []finding.Finding{{Rule: "format/x", Outcome: finding.Unread, Message: "found no sense", Span: finding.Span{Start: 30}}}
	}, "")[0]
	if r.OK || !strings.Contains(r.Got, "the example cannot be read: found no sense\n  2 | title: \"x\"") {
		t.Errorf("found %+v", r)
	}
}
