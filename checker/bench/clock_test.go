package bench

import (
	"slices"
	"strings"
	"testing"
)

func times(t *testing.T, text string) *ProcedureFacts {
	t.Helper()
	f := eventsOf[*ProcedureFacts](playText(t, text))
	if len(f) != 1 {
		t.Fatalf("%d events for the whole text", len(f))
	}
	return f[0]
}

const twoFlasks = `
section: {time: 3 h}
materials:
  ether: {substance: diethyl ether, amount: 50 mL, grade: anhydrous}
  toluene: {amount: 50 mL, grade: anhydrous}
apparatus:
  left: {kind: round-bottom flask, size: 250 mL}
  right: {kind: round-bottom flask, size: 250 mL}
steps:
  - {add: ether, to: left, time: 5 min}
  - {stir: left, for: 60 min}
  - {add: toluene, to: right, time: 20 min}
  - {stir: right, for: 30 min}
`

// By hand: the second flask is filled (5 to 25 min) and stirred (to 55) while
// the first is stirred (5 to 65): 65 min on the path, 115 one after the other.
func TestCriticalPathOverlaps(t *testing.T) {
	f := times(t, twoFlasks)
	near(t, "path, min", f.CriticalPathMin.V, 65, 1e-9)
	near(t, "one after the other, min", f.TotalMin.V, 115, 1e-9)
	near(t, "work, min", f.HandsOnMin.V, 25, 1e-9)
	if f.LatestQuenchMin.Known || f.QuenchStartMin.Known {
		t.Error("without a quench there is no latest start of it")
	}
	// what is attended holds the hands: the right flask waits
	f = times(t, strings.Replace(twoFlasks, "{stir: left, for: 60 min}", "{stir: left, for: 60 min, attended: true}", 1))
	near(t, "attended path, min", f.CriticalPathMin.V, 115, 1e-9)
	// an assistant fills the right flask from the first minute on
	f = times(t, strings.Replace(twoFlasks, "time: 20 min}", "time: 20 min, done by: assistant}", 1))
	near(t, "with an assistant, min", f.CriticalPathMin.V, 65, 1e-9)
	// the same flask: nothing overlaps
	f = times(t, strings.NewReplacer("to: right", "to: left", "stir: right", "stir: left").Replace(twoFlasks))
	near(t, "one flask, min", f.CriticalPathMin.V, 115, 1e-9)
}

// The path lies between the longest step and the sum of all, and a longer wait
// never shortens it.
func TestCriticalPathBounds(t *testing.T) {
	last := 0.0
	for _, min := range []string{"1 min", "30 min", "50 min", "2 h"} {
		f := times(t, strings.Replace(twoFlasks, "right, for: 30 min", "right, for: "+min, 1))
		if p := f.CriticalPathMin.V; p < last || p > f.TotalMin.V || p < f.HandsOnMin.V {
			t.Errorf("%s: path %v after %v, sum %v", min, p, last, f.TotalMin.V)
		} else {
			last = p
		}
	}
}

// A reagent is made, quenched (10 min) and worked up (10 min written, 15 of
// waiting): of a section of 120 min the quench takes the last 35, so it begins
// at 85 min at the latest; it is due at 5 + 10 + 30 = 45 min.
func TestLatestQuench(t *testing.T) {
	text := `
section: {time: 2 h}
materials:
  n-butyllithium: {solution: 1.6 M in hexanes, amount: 5 mL}
  thf: {substance: tetrahydrofuran, amount: 50 mL, grade: anhydrous}
  water: {amount: 50 mL}
apparatus:
  flask: {kind: round-bottom flask, size: 250 mL, dry: true}
steps:
  - {blanket: flask, with: nitrogen, outlet: bubbler, flow: 500 mL/min, for: 2 min, time: 5 min}
  - {add: thf, to: flask, by: syringe, time: 5 min}
  - {add: n-butyllithium, to: flask, by: syringe, time: 5 min}
  - {stir: flask, for: 30 min}
  - {quench: flask, with: water, over: 10 min, at: 0 °C}
  - {stir: flask, for: 15 min}
  - {extract: flask, gives: {organic: top, aqueous: bottom}, time: 10 min}
`
	f := times(t, text)
	near(t, "quench is due, min", f.QuenchStartMin.V, 45, 1e-9)
	near(t, "latest quench, min", f.LatestQuenchMin.V, 85, 1e-9)
	near(t, "path, min", f.CriticalPathMin.V, 80, 1e-9)
	f = times(t, strings.Replace(text, "section: {time: 2 h}\n", "", 1))
	if f.LatestQuenchMin.Known || f.LatestQuenchMin.Ask() != "the length of the section" {
		t.Errorf("latest quench without a section: %+v", f.LatestQuenchMin)
	}
}

// 15 h of activation and 72 h over the sieves are 87 h, begun four days
// before; an oven of 4 h is the day before.
func TestLeadDays(t *testing.T) {
	f := times(t, `
section: {time: 2 h}
materials:
  thf: {substance: tetrahydrofuran, amount: 50 mL, grade: reagent}
  molecular sieves 3A: {amount: 10 g}
apparatus:
  flask: {kind: round-bottom flask, size: 250 mL}
steps:
  - {dry: flask, in: oven, at: 130 °C, for: 4 h, before the section: true}
  - {dry: thf, with: molecular sieves 3A, load: 20 % m/v, for: 72 h, activated at: 300 °C, activated for: 15 h, before the section: true}
  - {add: thf, to: flask, by: syringe, time: 5 min}
`)
	near(t, "days", f.LeadDays.V, 4, 1e-9)
	if want := []string{"thf: 4 days", "flask: 1 day"}; !slices.Equal(f.LeadItems, want) {
		t.Errorf("items %q, want %q", f.LeadItems, want)
	}
	near(t, "path, min", f.CriticalPathMin.V, 5, 1e-9)
}
