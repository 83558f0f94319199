package bench

import (
	"strings"
	"testing"
)

// A declared reaction without a heat of its own gives that of its class, counted
// by the sites that react: a hydride or a metal with an acidic hydrogen no more than
// with water (84, 130 and 184 kJ/mol), to which a carboxylic acid adds its
// neutralisation (sodium hydride with acetic acid 168: CRC Handbook, formation
// enthalpies); a Grignard reagent gives zinc its group with far less than its
// hydrolysis of about 200.
func TestHeatOfDeclaredReactions(t *testing.T) {
	for _, test := range []struct {
		name, reagent, partner, takes, gives string
		least, most                          float64 // kJ for 10 mmol of the partner, all of it
	}{
		{"sodium hydride and an alcohol", "sodium hydride: {amount: 12 mmol}", "cyclohexanol: {amount: 10 mmol}", "cyclohexanol: 1, sodium hydride: 1", "sodium cyclohexoxide: 1, hydrogen: 1", 0.79, 0.84},
		{"sodium hydride and an acid", "sodium hydride: {amount: 12 mmol}", "acetic acid: {amount: 10 mmol}", "acetic acid: 1, sodium hydride: 1", "sodium acetate: 1, hydrogen: 1", 1.67, 1.69},
		{"sodium and an alcohol", "sodium: {amount: 12 mmol}", "ethanol: {amount: 10 mmol}", "ethanol: 1, sodium: 1", "sodium ethoxide: 1, hydrogen: 0.5", 1.36, 1.96},
		{"an aluminium hydride and an alcohol", "lithium aluminium hydride: {amount: 5 mmol}", "ethanol: {amount: 10 mmol}", "ethanol: 2, lithium aluminium hydride: 1", "lithium diethoxyaluminate: 1, hydrogen: 2", 0.9, 1.31},
		{"a Grignard reagent and zinc chloride", "phenylmagnesium bromide: {solution: 1 M in tetrahydrofuran, amount: 10 mL}", "zinc chloride: {amount: 10 mmol}", "phenylmagnesium bromide: 1, zinc chloride: 1", "phenylzinc chloride: 1, magnesium bromide chloride: 1", 0.4, 0.9},
		{"a lithium alkyl and copper iodide", "n-butyllithium: {solution: 1.6 M in hexanes, amount: 20 mmol}", "copper(I) iodide: {amount: 10 mmol}", "n-butyllithium: 1, copper(I) iodide: 1", "butylcopper: 1, lithium iodide: 1", 0.4, 0.9},
	} {
		t.Run(test.name, func(t *testing.T) {
			first, _, _ := strings.Cut(test.reagent, ":")
			second, _, _ := strings.Cut(test.partner, ":")
			tr := playText(t, `
materials:
  `+test.reagent+`
  `+test.partner+`
  thf: {substance: tetrahydrofuran, amount: 40 mL, grade: anhydrous}
apparatus: {flask: {kind: round-bottom flask, size: 250 mL, dry: true}}
reactions:
  - {consumes: {`+test.takes+`}, gives: {`+test.gives+`}, conversion: 100 %, in: flask}
steps:
  - {add: thf, to: flask}
  - {charge: `+second+`, to: flask}
  - {add: `+first+`, to: flask}
`)
			f := eventsOf[*AdditionFacts](tr)
			kJ := f[len(f)-1].HeatKJ
			if !kJ.Known || kJ.V < test.least || kJ.V > test.most {
				t.Errorf("%v kJ, want %v to %v", kJ, test.least, test.most)
			}
			if kJ.Assumed() == "" {
				t.Error("a class heat is not marked as assumed")
			}
		})
	}
}

// Ammonium chloride on an alkoxide in liquid ammonia gives 30 kJ/mol, sodium
// ethoxide to ethanol, salt and ammonia that stays (-413.4 kJ/mol: Chandran and
// others, J. Chem. Thermodyn. 2007, 39, 449; the others CRC Handbook), whether or not
// the crystal water of another salt has spent the last of the amide.
func TestAmmoniumOnAlkoxide(t *testing.T) {
	tr := playText(t, `
materials:
  ammonia: {amount: 300 mL, form: liquefied}
  sodium ethoxide: {amount: 100 mmol}
  ammonium chloride: {amount: 120 mmol}
apparatus: {flask: {kind: round-bottom flask, size: 1 L, necks: 3}, condenser: {kind: condenser, on: flask}}
steps:
  - {condense: ammonia, to: flask, bath: dry ice / acetone}
  - {add: sodium ethoxide, to: flask}
  - {quench: flask, with: ammonium chloride}
`)
	var kJ float64
	for _, f := range eventsOf[*AdditionFacts](tr) {
		if f.Material.Name == "ammonium chloride" {
			kJ = f.HeatKJ.V
		}
	}
	near(t, "heat, kJ", kJ, 0.1*(277.6+411.2+45.9+23.3-413.4-314.4), 0.05)
}

// Hexamethyldisilazane is an amine towards butyllithium, and gives ammonia, one mol
// for each, with acid and water; it holds no hydride.
func TestSilazane(t *testing.T) {
	tr := playText(t, `
materials:
  n-butyllithium: {solution: 1.6 M in hexanes, amount: 10 mmol}
  hexamethyldisilazane: {amount: 10 mmol}
  thf: {substance: tetrahydrofuran, amount: 40 mL, grade: anhydrous}
apparatus: {flask: {kind: round-bottom flask, size: 250 mL, dry: true}}
steps:
  - {add: thf, to: flask}
  - {add: hexamethyldisilazane, to: flask}
  - {add: n-butyllithium, to: flask}
`)
	near(t, "amide, mmol", at(t, tr, 3, "flask")["lithium bis(trimethylsilyl)amide"], 10, 0.03) // anhydrous solvent takes a little
	if gas := gasIn(tr, 3); gas["hydrogen"] > 0 {
		t.Errorf("%v", gas)
	}
}
