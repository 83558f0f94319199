package bench

import (
	"math"
	"strings"
	"testing"
)

const wittig = `
materials:
  methyltriphenylphosphonium bromide: {amount: 15 mmol}
  BASE
  thf: {substance: tetrahydrofuran, amount: 30 mL, grade: anhydrous}
  4-tert-butylcyclohexanone: {amount: 10 mmol}
apparatus: {flask: {kind: round-bottom flask, size: 100 mL, dry: true}}
reactions:
  - {consumes: {methyltriphenylphosphonium bromide: 1, NAME: 1}, gives: {methylenetriphenylphosphorane: 1, FREED}, in: flask}
  - {consumes: {methylenetriphenylphosphorane: 1, 4-tert-butylcyclohexanone: 1}, gives: {4-tert-butyl-1-methylenecyclohexane: 1, triphenylphosphine oxide: 1}, in: flask}
product: {name: 4-tert-butyl-1-methylenecyclohexane, formula: C11H20, from: 4-tert-butylcyclohexanone}
steps:
  - {charge: methyltriphenylphosphonium bromide, to: flask}
  - {add: thf, to: flask}
  - {add: NAME, to: flask, over: 10 min}
  - {add: 4-tert-butylcyclohexanone, to: flask, over: 10 min}
`

// An alkoxide takes its proton from a phosphonium salt with little heat, 30 to
// 50 kJ/mol; butyllithium gives that of a carbanion with an acid, above 100. In
// both the ylide lives beside the alcohol or alkane set free, until the ketone.
func TestYlideByDeprotonation(t *testing.T) {
	for _, test := range []struct {
		name, row, base, freed string
		least, most            float64 // kJ per mol
	}{
		{"an alkoxide", "potassium tert-butoxide: {amount: 15 mmol}", "potassium tert-butoxide", "tert-butanol: 1, potassium bromide: 1", 30, 50},
		{"butyllithium", "n-butyllithium: {solution: 1.6 M in hexanes, amount: 15 mmol}", "n-butyllithium", "butane: 1, lithium bromide: 1", 100, 260},
	} {
		t.Run(test.name, func(t *testing.T) {
			tr := playText(t, replaced(wittig, "BASE", test.row, "NAME", test.base, "FREED", test.freed))
			f := eventsOf[*AdditionFacts](tr)
			per := f[2].HeatKJ.V / 15 * 1000
			if !f[2].HeatKJ.Known || per < test.least*0.9 || per > test.most {
				t.Errorf("%v kJ/mol, want %v to %v", per, test.least, test.most)
			}
			if n := at(t, tr, 3, "flask")["methylenetriphenylphosphorane"]; n < 14 {
				t.Errorf("%v mmol of ylide after the base", n)
			}
			if n := at(t, tr, 4, "flask")["4-tert-butyl-1-methylenecyclohexane"]; math.Abs(n-9.5) > 0.5 {
				t.Errorf("%v mmol of alkene, want about 9.5", n)
			}
		})
	}
}

const fromFunnel = `
materials:
  magnesium: {amount: 1.2 g, form: turnings}
  1-bromobutane: {amount: 44.6 mmol}
  ether: {substance: diethyl ether, amount: 30 mL, grade: anhydrous}
apparatus:
  flask: {kind: round-bottom flask, size: 250 mL, necks: 3, dry: true}
  funnel: {kind: addition funnel, size: 50 mL, equalised: true, on: flask}
  tube: {kind: drying tube, fill: calcium chloride, on: flask}
steps:
  - {charge: magnesium, to: flask}
  - {add: ether, to: flask, amount: 5 mL}
  - {charge: 1-bromobutane, to: funnel}
  - {charge: ether, to: funnel, amount: 25 mL}
  - {add: contents of funnel, to: flask, amount: 2 mL}
`

// Of a halide in ether it is the halide that is told, and the rise beside the
// heat of a first portion is that portion's: heat over the heat capacity of what
// is there (about 5 g ether with the portion's 1.4 g, 2.3 J/(g K), and a gram
// of magnesium, 1.02 J/(g K), CRC Handbook).
func TestFirstPortionOfAHalide(t *testing.T) {
	tr := playText(t, fromFunnel)
	all := eventsOf[*AdditionFacts](tr)
	f := all[len(all)-1]
	if !f.Starts || f.Halide != "1-bromobutane" || math.Abs(f.HalideMmol.V-44.6*2/29.8) > 0.1 {
		t.Fatalf("starts %v with %v of %s, want 3.0 mmol of 1-bromobutane", f.Starts, f.HalideMmol.V, f.Halide)
	}
	if c := f.HeatKJ.V * 1000 / f.OwnRiseK.V; c < 11 || c > 16 {
		t.Errorf("%v kJ and %v K: a heat capacity of %v J/K, want 11 to 16", f.HeatKJ.V, f.OwnRiseK.V, c)
	}
	if f.RiseK.V < 2*f.OwnRiseK.V {
		t.Errorf("the whole charge gives %v K, the first portion %v K", f.RiseK.V, f.OwnRiseK.V)
	}
}

func replaced(text string, pairs ...string) string {
	return strings.NewReplacer(pairs...).Replace(text)
}
