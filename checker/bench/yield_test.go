package bench

import (
	"math"
	"strings"
	"testing"
)

// Theory by the declared equation: two of a reagent for one of the product, one for
// two, and one for one; an expected amount in mmol, and the upper end of a range.
// By hand: 2 C6H5COCl (140.57) and C2H6O2 to C16H14O4 (270.28); (C6H5S)2 (218.34) to
// 2 C6H5SH (110.18); C6H5CHO and C6H5COCH3 to C15H12O (208.26).
func TestTheoryByTheEquation(t *testing.T) {
	for _, test := range []struct {
		name, materials, reaction, product string
		theory, yield, possible            float64
		short, note                        string
	}{
		{"two for one", "benzoyl chloride: {amount: 2.81 g}\n  ethylene glycol: {amount: 0.62 g}", "{consumes: {benzoyl chloride: 2, ethylene glycol: 1}, gives: {ethylene dibenzoate: 1, hydrogen chloride: 2}, in: flask}",
			"{name: ethylene dibenzoate, formula: C16H14O4, from: benzoyl chloride, expected: 2.2 g}", 2.700, 81.5, 100, "", ""},
		{"two for one, half the partner", "benzoyl chloride: {amount: 2.81 g}\n  ethylene glycol: {amount: 0.31 g}", "{consumes: {benzoyl chloride: 2, ethylene glycol: 1}, gives: {ethylene dibenzoate: 1, hydrogen chloride: 2}, in: flask}",
			"{name: ethylene dibenzoate, formula: C16H14O4, from: benzoyl chloride, expected: 1.1 g}", 1.350, 81.5, 50, "ethylene glycol", ""},
		{"one for two", "diphenyl disulfide: {amount: 2.18 g}\n  sodium borohydride: {amount: 0.38 g}", "{consumes: {diphenyl disulfide: 1, sodium borohydride: 1}, gives: {thiophenol: 2}, in: flask}",
			"{name: thiophenol, formula: C6H6S, from: diphenyl disulfide, expected: 1.8 g}", 2.200, 81.8, 100, "", ""},
		{"mmol expected", "benzaldehyde: {amount: 2.12 g}\n  acetophenone: {amount: 2.4 g}", "{consumes: {benzaldehyde: 1, acetophenone: 1}, gives: {chalcone: 1, water: 1}, in: flask}",
			"{name: chalcone, formula: C15H12O, from: benzaldehyde, expected: 14 mmol}", 4.160, 70.1, 100, "", ""},
		{"a range expected", "benzaldehyde: {amount: 2.12 g}\n  acetophenone: {amount: 2.4 g}", "{consumes: {benzaldehyde: 1, acetophenone: 1}, gives: {chalcone: 1, water: 1}, in: flask}",
			"{name: chalcone, formula: C15H12O, from: benzaldehyde, expected: 3 to 4.4 g}", 4.160, 105.8, 100, "", "upper end of 3 to 4.4 g"},
	} {
		tr := playText(t, "\nmaterials:\n  "+test.materials+"\napparatus:\n  flask: {kind: round-bottom flask, size: 100 mL}\nreactions:\n  - "+test.reaction+"\nproduct: "+test.product+"\nsteps:\n  - {stand: flask, for: 1 min}\n")
		f := eventsOf[*ProcedureFacts](tr)[0]
		for what, w := range map[string][2]float64{"theory": {f.TheoreticalG.V, test.theory}, "yield": {f.YieldPercent.V, test.yield}, "possible": {f.PossiblePercent.V, test.possible}} {
			if math.Abs(w[0]-w[1]) > 0.005*w[1] {
				t.Errorf("%s: %s %g, want %g", test.name, what, w[0], w[1])
			}
		}
		if f.Short != test.short || !strings.Contains(f.YieldPercent.Assumed(), test.note) {
			t.Errorf("%s: %q runs short, want %q; the yield says %q", test.name, f.Short, test.short, f.YieldPercent.Assumed())
		}
	}
}
