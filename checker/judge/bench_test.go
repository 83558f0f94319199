package judge

import (
	"context"
	"fmt"
	"io/fs"
	"os"
	"strings"
	"testing"
	"testing/fstest"

	"ketyl/checker/bench"
)

// manyRules writes n rules of the size and kind that the trade's are, in
// files of ten.
func manyRules(n int) fstest.MapFS {
	kinds := []struct{ over, when, require, say string }{
		{"addition", "event.from.kind == 'addition funnel' && event.vessel.closed", "event.from.equalised || event.volume_ml < limit.bound", "{event.from.name} over {event.vessel.name}: {event.volume_ml | mL}."},
		{"water", "event.reagent_mmol > 0 && !event.water_tolerant", "event.loss_percent <= limit.bound", "{event.source} brings {event.water_mmol | mmol} to {event.reagent_mmol | mmol} of {event.reagent}."},
		{"exposure", "event.need_rank > event.barrier_rank && !event.accepted", "event.oxygen_ppm <= limit.bound", "{event.species} stands under {event.barrier}, needs {event.need}; {event.oxygen_ppm | ppm} oxygen."},
		{"heating", "event.sealed || oneOf(event.verb, ['heat', 'reflux', 'warm'])", "event.pressure_bar < limit.bound", "{event.vessel.name} reaches {event.pressure_bar | bar}."},
		{"discard", "event.into != '' && event.contents.exists(c, c.contains('lithium'))", "event.live_mmol <= limit.bound", "{event.stream} holds {event.live_mmol | mmol} of {event.live}."},
	}
	fsys := fstest.MapFS{}
	for file := range (n + 9) / 10 {
		var b strings.Builder
		family := Families[file%len(Families)]
		fmt.Fprintf(&b, "family: %s\nbases:\n  buli:\n    steps:\n", family)
		for range 20 {
			b.WriteString("      - add: n-butyllithium\n        to: flask\n        over: 10 min\n")
		}
		b.WriteString("rules:\n")
		for i := range min(10, n-10*file) {
			k := kinds[i%len(kinds)]
			if file%4 > 0 { // few rules go through a list
				k.when = strings.ReplaceAll(k.when, "event.contents.exists(c, c.contains('lithium'))", "'lithium chloride' in event.contents")
			}
			fmt.Fprintf(&b, `
  - id: %s/rule-%d-%d
    level: hold
    over: %s
    when: %s
    require: %s
    say: "%s"
    because: >-
      Why it matters, in two sentences for a student. Wet solvent takes the
      reagent before the substrate can.
    fix: "write what to do instead for {event.%s}"
    explain: >-
      A longer paragraph that says what the rule does not see, how to satisfy
      it, and where its limit comes from.
    source: [{cite: "A Handbook, 3rd ed., p. 12", kind: published}]
    limits:
      bound: {value: 5, unit: '%%', basis: derived, source: worked out from the excess}
    danger: 5
    mode: [some-mode]
    good:
`, family, file, i, k.over, k.when, k.require, k.say, map[string]string{"addition": "verb", "water": "reagent", "exposure": "species", "heating": "verb", "discard": "stream"}[k.over])
			for j := range 3 {
				fmt.Fprintf(&b, "      - name: good %d\n        base: buli\n        drop: [3]\n        change: {4: {over: 20 min, to: null}}\n        procedure: {materials: {thf: {amount: 40 mL, grade: anhydrous}}}\n", j)
			}
			b.WriteString("    bad:\n")
			for j := range 3 {
				fmt.Fprintf(&b, "      - name: bad %d\n        base: buli\n        change: {4: {over: 20 min, to: null}}\n        insert: [{before: 5, step: {add: water, to: flask}}]\n        step: 4\n        figures: {loss_percent: 12.3 ± 5 %%}\n", j)
			}
		}
		fsys[fmt.Sprintf("rules/f%02d.yaml", file)] = &fstest.MapFile{Data: []byte(b.String())}
	}
	return fsys
}

// manyEvents makes n events of the kinds that manyRules are over.
func manyEvents(n int) []bench.Event {
	vessel := &bench.VesselFacts{Name: "flask", Kind: "round-bottom flask", Closed: true, SizeML: bench.Got(250), VolumeML: bench.Got(80)}
	var events []bench.Event
	for i := range n {
		ev := bench.Event{Step: i/5 + 1, Subject: "add n-butyllithium"}
		switch i % 5 {
		case 0:
			ev.Kind, ev.Facts = "addition", &bench.AdditionFacts{
				Verb: "add", From: bench.PlaceFacts{Name: "funnel", Kind: "addition funnel", Equalised: i%3 > 0}, Vessel: vessel, VolumeML: bench.Got(6.9)}
		case 1:
			ev.Kind, ev.Facts = "water", &bench.WaterFacts{Reagent: "n-butyllithium", ReagentMmol: 11, Vessel: vessel, LossPercent: bench.Got(2), WaterMmol: bench.Got(0.1)}
		case 2:
			ev.Kind, ev.Facts = "exposure", &bench.ExposureFacts{Species: "n-butyllithium", NeedRank: 2, BarrierRank: 2, Vessel: vessel, OxygenPPM: bench.Got(3)}
		case 3:
			f := &bench.HeatingFacts{Verb: "heat", Vessel: vessel, PressureBar: bench.Got(1.2)}
			if i == 3 {
				f.PressureBar = bench.Missing("the way out")
			}
			ev.Kind, ev.Facts = "heating", f
		case 4:
			ev.Kind, ev.Facts = "discard", &bench.DiscardFacts{Stream: "aqueous layer", Into: "neutral aqueous", Contents: []string{"water", "lithium chloride", "ammonium chloride"}}
		}
		events = append(events, ev)
	}
	return events
}

func BenchmarkLoad(b *testing.B) {
	for _, c := range []struct {
		name string
		fsys fs.FS
	}{{"made=100", manyRules(100)}, {"rules", os.DirFS("../..")}} {
		for _, trusted := range []bool{true, false} {
			b.Run(fmt.Sprintf("%s/trusted=%v", c.name, trusted), func(b *testing.B) {
				b.ReportAllocs()
				var rules int
				for b.Loop() {
					s, fs := Load(c.fsys, "rules", trusted)
					if rules = len(s.rules); len(fs) > 0 || rules == 0 {
						b.Fatal(rules, fs)
					}
				}
				b.ReportMetric(float64(rules), "rules")
			})
		}
	}
}

func BenchmarkJudge(b *testing.B) {
	for _, events := range []int{60, 200} {
		for _, trusted := range []bool{true, false} {
			b.Run(fmt.Sprintf("events=%d/trusted=%v", events, trusted), func(b *testing.B) {
				s, fs := Load(manyRules(100), "rules", trusted)
				if len(fs) > 0 {
					b.Fatal(fs)
				}
				evs := manyEvents(events)
				b.ReportAllocs()
				for b.Loop() {
					s.Judge(context.Background(), evs)
				}
			})
		}
	}
}
