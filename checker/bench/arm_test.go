package bench

import (
	"math"
	"strings"
	"testing"
)

// What was dissolved and is then added by its name alone is the solution; what is
// fetched in part, or from a bottle that still holds some, is not.
func TestADissolvedMaterialIsAddedAsItsSolution(t *testing.T) {
	const text = `
materials:
  benzaldehyde: {amount: 5.11 mL}
  thf: {substance: tetrahydrofuran, amount: 10 mL}
apparatus:
  flask: {kind: round-bottom flask, size: 100 mL}
  vial: {kind: vial, size: 40 mL}
steps:
  - {dissolve: benzaldehyde, in: thf%SOME}
  - {add: benzaldehyde, to: flask%PART}
`
	for _, test := range []struct {
		name, some, part string
		ml               float64 // in the flask
	}{
		{"all of it, in a vial", ", to: vial", "", 15.11},
		{"all of it, by the name that it gives", "", "", 15.11},
		{"said to come from the vial", ", to: vial", ", from: vial", 15.11},
		{"an amount of its own", ", to: vial", ", amount: 2 mL", 2},
		{"half of it was dissolved", ", to: vial, amount: half of benzaldehyde", "", 2.555},
	} {
		t.Run(test.name, func(t *testing.T) {
			tr := playText(t, strings.NewReplacer("%SOME", test.some, "%PART", test.part).Replace(text))
			add := eventsOf[*AdditionFacts](tr)
			f := add[len(add)-1]
			if !f.VolumeML.Known || math.Abs(f.VolumeML.V-test.ml) > 0.05 {
				t.Errorf("%v mL into the flask, want %v", f.VolumeML, test.ml)
			}
		})
	}
}

// An amount in front of a name is told apart from names that have a figure or an
// "of" in them.
func TestAmountInAName(t *testing.T) {
	for _, test := range []struct{ name, amount, what string }{
		{"5 mL of thf", "5 mL", "thf"},
		{"1.06 g of benzaldehyde", "1.06 g", "benzaldehyde"},
		{"2 equiv of ketone", "2 equiv", "ketone"},
		{"thf", "", ""},
		{"solution of ketone", "", ""},
		{"2 of the flasks", "", ""},
		{"oil of vitriol", "", ""},
	} {
		if amount, what := amountIn(test.name); amount != test.amount && test.what != "" || what != test.what {
			t.Errorf("%s: found %q of %q, want %q of %q", test.name, amount, what, test.amount, test.what)
		}
	}
}
