package bench

import (
	"math"
	"testing"
)

const hydrideOnEster = `
materials:
  lithium aluminium hydride: {amount: 30 mmol}
  ether: {substance: diethyl ether, amount: 100 mL, grade: anhydrous}
  ethyl phenylacetate: {amount: 30 mmol}
apparatus: {flask: {kind: round-bottom flask, size: 500 mL, dry: true}}
substances:
  lithium tetraalkoxyaluminate: {formula: C20H28AlLiO4, attacked by: [water], family: alkoxide}
REACTIONS
steps:
  - {add: [ether, lithium aluminium hydride], to: flask}
  - {add: ethyl phenylacetate, to: flask, over: 20 min}
`

// An ester takes two hydrides, whether the text declares it or not: 250 to
// 285 kJ per mol of ester by Hess's law from the hydrolysis of lithium aluminium
// hydride (-522 kJ/mol, CRC Handbook) and the enthalpies of ester, alcohols and
// water. A heat that the text states stands as it is, and is not assumed.
func TestHeatOfADeclaredHydrideReaction(t *testing.T) {
	for _, test := range []struct {
		name, reactions string
		least, most     float64 // kJ per mol of ester that reacts
		assumed         bool
	}{
		{"not declared", "", 240, 290, false},
		{"declared, two esters to a hydride", "reactions: [{consumes: {ethyl phenylacetate: 2, lithium aluminium hydride: 1}, gives: {lithium tetraalkoxyaluminate: 1}, in: flask}]", 240, 290, true},
		{"declared, for one ester", "reactions: [{consumes: {ethyl phenylacetate: 1, lithium aluminium hydride: 0.5}, gives: {lithium tetraalkoxyaluminate: 0.5}, in: flask}]", 240, 290, true},
		{"declared with its heat", "reactions: [{consumes: {ethyl phenylacetate: 2, lithium aluminium hydride: 1}, gives: {lithium tetraalkoxyaluminate: 1}, in: flask, heat: -400 kJ/mol}]", 199, 201, false},
	} {
		t.Run(test.name, func(t *testing.T) {
			all := eventsOf[*AdditionFacts](playText(t, replaced(hydrideOnEster, "REACTIONS", test.reactions)))
			f := all[len(all)-1]
			per := f.HeatKJ.V / (0.95 * 30) * 1000
			if !f.HeatKJ.Known || per < test.least || per > test.most {
				t.Errorf("%v kJ/mol of ester, want %v to %v", math.Round(per), test.least, test.most)
			}
			if got := f.HeatKJ.Assumed() != ""; got != test.assumed {
				t.Errorf("assumed: %q", f.HeatKJ.Assumed())
			}
		})
	}
}
