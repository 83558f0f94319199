package bench

import (
	"slices"
	"strings"
	"testing"
)

// thrown plays a text and gives what each stream that it discards holds.
func thrown(t *testing.T, text string) map[string][]string {
	t.Helper()
	out := map[string][]string{}
	for _, f := range eventsOf[*DiscardFacts](playText(t, text)) {
		out[f.Stream] = f.Contents
	}
	return out
}

// Organic azides are neutral and stay in the organic layer; azide ion and the
// halides of metals go with the water (any textbook of organic work-up).
func TestLayersTakeWhatTheyDissolve(t *testing.T) {
	for _, c := range []struct {
		row, name      string
		organic, water bool
	}{
		{"benzyl azide: {amount: 2 g}", "benzyl azide", true, false},
		{"sodium azide: {amount: 2 g}", "sodium azide", false, true},
		{"zinc chloride: {amount: 2 g}", "zinc chloride", false, true},
		{"naphthalene: {amount: 2 g}", "naphthalene", true, false},
	} {
		got := thrown(t, `substances:
  benzyl azide: {formula: C7H7N3, family: azide, phase: liquid}
materials:
  `+c.row+`
  water: {amount: 40 mL}
  diethyl ether: {amount: 40 mL}
apparatus:
  flask: {kind: round-bottom flask, size: 250 mL}
  funnel: {kind: separating funnel, size: 250 mL}
steps:
  - {add: diethyl ether, to: flask}
  - {add: `+c.name+`, to: flask}
  - {add: water, to: flask}
  - {separate: flask, in: funnel, gives: {organic: upper part, aqueous: lower part}}
  - {discard: upper part, into: solvent}
  - {discard: lower part, into: aqueous}
`)
		if in := slices.Contains(got["upper part"], c.name); in != c.organic {
			t.Errorf("%s in the organic layer: %v, want %v", c.name, in, c.organic)
		}
		if in := slices.Contains(got["lower part"], c.name); in != c.water {
			t.Errorf("%s in the aqueous layer: %v, want %v", c.name, in, c.water)
		}
	}
}

// What is dissolved runs through the filter and clings to the cake; what is not
// stays on it. Lithium aluminium hydride is sold as a solution in ether, sodium
// hydride dissolves in nothing.
func TestDissolvedReagentRunsThroughTheFilter(t *testing.T) {
	for _, c := range []struct {
		row, name string
		through   bool
	}{
		{"lithium aluminium hydride: {solution: 1 M in diethyl ether, amount: 20 mL}", "lithium aluminium hydride", true},
		{"lithium aluminium hydride: {amount: 0.8 g}", "lithium aluminium hydride", true},
		{"calcium hydride: {amount: 2 g}", "calcium hydride", false},
		{"sodium: {amount: 1 g}", "sodium", false},
	} {
		got := eventsOf[*DiscardFacts](playText(t, `materials:
  `+c.row+`
  ether: {substance: diethyl ether, amount: 40 mL, grade: anhydrous}
apparatus:
  flask: {kind: round-bottom flask, size: 250 mL}
steps:
  - {add: ether, to: flask}
  - {add: `+c.name+`, to: flask}
  - {filter: flask, gives: {filtrate: what ran through, cake: what stayed}}
  - {discard: what ran through, into: solvent}
  - {discard: what stayed, into: solid}
`))
		mmol := map[string]float64{}
		for _, f := range got {
			mmol[f.Stream] = f.LiveMmol
		}
		if through := mmol["what ran through"] > 10; through != c.through {
			t.Errorf("%s: %v mmol in the filtrate, %v in the cake", c.row, mmol["what ran through"], mmol["what stayed"])
		}
		if mmol["what stayed"] <= 0 {
			t.Errorf("%s: nothing live in the cake", c.row)
		}
	}
}

// Plenty of alcohol destroys what is rinsed into it; a trace of alcohol, or a
// hydrocarbon, does not.
func TestRinseIntoAlcohol(t *testing.T) {
	for _, c := range []struct {
		with string
		live bool
	}{
		{"2-propanol: {amount: 10 mL}", false},
		{"2-propanol: {amount: 0.02 mL}", true},
		{"hexane: {amount: 10 mL}", true},
	} {
		name, _, _ := strings.Cut(c.with, ":")
		tr := playText(t, `materials:
  n-butyllithium: {solution: 2.5 M in hexanes, amount: 8 mL}
  ether: {substance: diethyl ether, amount: 40 mL, grade: anhydrous}
  `+c.with+`
apparatus:
  flask: {kind: round-bottom flask, size: 250 mL}
  beaker: {kind: beaker, size: 100 mL}
  syringe: {kind: syringe, size: 20 mL}
steps:
  - {add: ether, to: flask}
  - {add: n-butyllithium, to: flask, by: syringe}
  - {rinse: syringe, with: `+name+`, to: beaker}
  - {discard: beaker, into: solvent}
`)
		f := eventsOf[*DiscardFacts](tr)
		if len(f) != 1 {
			t.Fatalf("%d streams, want 1", len(f))
		}
		if live := f[0].LiveMmol > 0.01; live != c.live {
			t.Errorf("rinsed with %s: %v mmol live", c.with, f[0].LiveMmol)
		}
	}
}

// A bottle that is stored closed is closed: 100 g of dry ice in a litre is
// carbon dioxide at its vapour pressure at room temperature, some 57 bar at
// 20 °C (NIST Chemistry WebBook). Stored open, it is not.
func TestStoredClosed(t *testing.T) {
	for sealed, want := range map[string]bool{", sealed: true": true, ", sealed: false": false, "": false} {
		tr := playText(t, `materials:
  dry ice: {amount: 100 g}
apparatus:
  bottle: {kind: screw-cap bottle, size: 1 L}
steps:
  - {transfer: dry ice, to: bottle}
  - {store: bottle, at: 20 °C`+sealed+`}
`)
		high := 0.0
		for _, f := range eventsOf[*ClosureFacts](tr) {
			high = max(high, valueOf(f.PressureBar))
		}
		if (high > 40) != want {
			t.Errorf("stored%s: %v bar", sealed, high)
		}
	}
}
