package bench

import (
	"math"
	"testing"
)

// What the name alone buys is not the pure substance: the complex with its
// free sulfide, a metal on its support. Strengths are the trade's: borane
// dimethyl sulfide of 94 % is 10.0 to 10.2 M; palladium on carbon of 10 % has
// 0.094 mmol of the metal in 100 mg.
func TestAssay(t *testing.T) {
	for _, test := range []struct {
		row       string
		low, high float64
		assumed   bool
		mismatch  float64 // at most, %
	}{
		{"borane dimethyl sulfide complex: {amount: 10.0 mL}", 98, 102, true, 0},
		{"borane dimethyl sulfide complex: {amount: [10.0 mL, 100 mmol]}", 98, 102, true, 2},
		{"borane dimethyl sulfide complex: {amount: 10.0 mL, purity: 90 %}", 94, 96, false, 0},
		{"borane dimethyl sulfide complex: {amount: 10.0 mL, solution: 2.0 M in tetrahydrofuran}", 20, 20, false, 0},
		{"palladium on carbon: {amount: 100 mg}", 0.0939, 0.0941, true, 0},
		{"5 % Pd/C: {amount: 100 mg}", 0.0469, 0.0471, false, 0},
		{"palladium on carbon: {amount: [100 mg, 0.094 mmol], purity: 10 %}", 0.0939, 0.0941, false, 1},
		{"zinc: {amount: 65.4 mg}", 0.99, 1.01, false, 0},
		{"lithium aluminium hydride: {amount: 0.38 g}", 10, 10.02, false, 0},
	} {
		text := "title: assay\nmaterials:\n  " + test.row + "\nsteps:\n  - wait: 1 min\n"
		b := benchOf(t, text)
		if len(b.materials) != 1 {
			t.Fatalf("%s: %d materials", test.row, len(b.materials))
		}
		m := b.materials[0]
		if !m.mmol.Known || m.mmol.V < test.low || m.mmol.V > test.high {
			t.Errorf("%s: %v mmol, want %g to %g", test.row, m.mmol.V, test.low, test.high)
		}
		if (m.mmol.Assumed() != "") != test.assumed {
			t.Errorf("%s: assumed %q", test.row, m.mmol.Assumed())
		}
		if m.mismatch.Known && m.mismatch.V > test.mismatch {
			t.Errorf("%s: the expressions differ by %g %%", test.row, m.mismatch.V)
		}
	}
	// the carbon counted as metal is a mistake, and shows as one
	b := benchOf(t, "title: assay\nmaterials:\n  palladium on carbon: {amount: [100 mg, 0.94 mmol], purity: 10 %}\nsteps:\n  - wait: 1 min\n")
	if m := b.materials[0]; !m.mismatch.Known || math.Abs(m.mismatch.V-90) > 1 {
		t.Errorf("carbon counted as metal: %+v", m.mismatch)
	}
}

func TestPercentIn(t *testing.T) {
	for text, want := range map[string]float64{
		"10 % Pd/C": 10, "Pd/C (5 wt%)": 5, "10% on carbon, 50 % water-wet": 10, "palladium on carbon, 2.5 wt. %": 2.5,
		"palladium on carbon": 0, "%": 0, "a 200 % thing": 0,
	} {
		if got, ok := percentIn(text); got != want || ok != (want > 0) {
			t.Errorf("%q: %g %v, want %g", text, got, ok, want)
		}
	}
}
