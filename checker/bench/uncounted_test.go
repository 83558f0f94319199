package bench

import (
	"math"
	"strings"
	"testing"
)

const onBorane = `
materials:
  %ACID: {amount: %AMOUNT}
  borane-THF: {solution: 1.0 M in tetrahydrofuran, amount: 250 mL}
apparatus:
  flask: {kind: round-bottom flask, size: 2 L, necks: 3}
  bubbler: {kind: oil bubbler, on: flask}
  line: {kind: inert gas line, gas: nitrogen}
%DECLARED
steps:
  - {blanket: flask, with: nitrogen, from: line, outlet: bubbler}
  - {add: borane-THF, to: flask, by: cannula}
  - {add: %ACID, to: flask, over: 1 min}
`

// A mass without a molar mass is no number of moles: heat, gas and live amount
// are asked for. 30.4 g of 4-methoxybenzoic acid (152.15 g/mol, PubChem) are
// 200 mmol and give 200 mmol of hydrogen.
func TestAMassWithoutAMolarMassIsNotCounted(t *testing.T) {
	for _, test := range []struct {
		name, acid, amount, declared string
		mmol                         float64 // 0: not known
	}{
		{"read from the name", "4-methoxybenzoic acid", "30.4 g", "", 200},
		{"read from the structure", "acid A", "30.4 g", `substances: {acid A: {structure: "COc1ccc(cc1)C(=O)O", family: carboxylic acid}}`, 200},
		{"the declared formula", "acid A", "30.4 g", `substances: {acid A: {formula: C8H8O3, family: carboxylic acid}}`, 200},
		{"an amount in mmol needs no formula", "acid A", "200 mmol", `substances: {acid A: {family: carboxylic acid}}`, 200},
		{"a name that is not read", "4-sebacylbenzoic acid", "30.4 g", "", 0},
		{"declared without a formula", "acid A", "30.4 g", `substances: {acid A: {family: carboxylic acid}}`, 0},
		{"a structure that is none", "acid A", "30.4 g", `substances: {acid A: {structure: "COc1cc(", family: carboxylic acid}}`, 0},
	} {
		t.Run(test.name, func(t *testing.T) {
			tr := playText(t, strings.NewReplacer("%ACID", test.acid, "%AMOUNT", test.amount, "%DECLARED", test.declared).Replace(onBorane))
			add := eventsOf[*AdditionFacts](tr)
			f := add[len(add)-1]
			gas := eventsOf[*ReleaseFacts](tr)
			if len(gas) != 1 || gas[0].Gas != "hydrogen" {
				t.Fatalf("%d gases, want hydrogen", len(gas))
			}
			if test.mmol > 0 {
				if !f.Mmol.Known || math.Abs(f.Mmol.V-test.mmol) > 1 || !gas[0].Mmol.Known || math.Abs(gas[0].Mmol.V-test.mmol) > 1 {
					t.Errorf("%v of acid, %v of hydrogen, want %v of each", f.Mmol, gas[0].Mmol, test.mmol)
				}
				return
			}
			for what, n := range map[string]Num{"amount": f.Mmol, "heat": f.HeatKJ, "rise": f.RiseK, "gas": f.GasL, "litres": gas[0].Litres, "rate": gas[0].LPerMin} {
				if n.Known || !strings.Contains(n.Ask(), "molar mass of "+test.acid) {
					t.Errorf("%s: %+v, want the question for the molar mass", what, n)
				}
			}
			if live := at(t, tr, 3, "flask")["borane tetrahydrofuran complex"]; math.Abs(live-250) > 5 {
				t.Errorf("%v mmol of borane, want all 250 but for traces of water: nobody knows how much is spent", live)
			}
			if tr.Figures.LimitingMmol.Known {
				t.Errorf("limiting: %s", tr.Figures.Limiting)
			}
		})
	}
}
