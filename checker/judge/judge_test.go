package judge

import (
	"context"
	"strings"
	"testing"
	"testing/fstest"

	"ketyl/checker/bench"
	"ketyl/checker/finding"
)

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
    fix: "write ` + "`equalised: true`" + ` under {event.from.name}"
    source: [{cite: trade practice, kind: common practice}]
    danger: 6
  - id: addition/overfull
    level: revise
    levels:
      - {when: event.fill_after > limit.brim, level: hold}
    over: addition
    require: event.fill_after <= limit.fill
    say: "{event.vessel.name} is {event.fill_after | share} full after {event.volume_ml | mL}."
    because: It foams over.
    fix: take a larger {event.vessel.kind}
    source: [{cite: A Book, kind: published}]
    limits:
      fill: {value: 0.67, unit: of its size, basis: practice, source: trade practice}
      brim: {value: 0.9, unit: of its size, basis: practice, source: trade practice}
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

func TestFirst(t *testing.T) {
	s := load(t, fixture)
	ev := []bench.Event{{Kind: "addition", Step: 2, Facts: &bench.AdditionFacts{
		From: bench.PlaceFacts{Name: "funnel", Kind: "addition funnel"}, Vessel: bench.VesselFacts{Name: "flask", Kind: "round-bottom flask", Closed: true},
		VolumeML: bench.Got(6.9), FillAfter: bench.Assume(0.95, "careful"),
	}}, {Kind: "addition", Step: 3, Facts: &bench.AdditionFacts{
		From: bench.PlaceFacts{Name: "funnel", Kind: "addition funnel"}, Vessel: bench.VesselFacts{Name: "flask", Kind: "round-bottom flask", Closed: true},
		VolumeML: bench.Missing("the volume"), FillAfter: bench.Missing("the size of the flask"),
	}}}
	for _, f := range s.Judge(context.Background(), ev) {
		t.Logf("%+v", f)
	}
	_, fs := Load(fstest.MapFS{"rules/addition.yaml": {Data: []byte(strings.ReplaceAll(fixture, "volume_ml", "volum_ml"))}}, "rules", true)
	for _, f := range fs {
		t.Log(f.Message)
	}
	_ = finding.Hold
}
