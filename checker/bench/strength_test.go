package bench

import (
	"math"
	"testing"
)

// A strength by volume is grams, or millilitres, of the substance in 100 mL of
// solution (IUPAC Green Book, mass and volume fraction and mass concentration),
// whatever the solution weighs; a mass beside a strength is that of the solution
// or of what is dissolved, whichever the other figures say. By hand, with M in
// g/mol: H2SO4 98.08, CH3CO2H 60.05 (1.049 g/mL), C6H8O7 192.12, C6H5MgBr 181.31.
func TestStrengthsOfSolutions(t *testing.T) {
	for _, test := range []struct {
		row      string
		mmol     float64
		mismatch float64 // %, at least; 0 for none above 3
	}{
		{"sulfuric acid: {solution: 10 % m/v in water, amount: [49 mL, 50 mmol]}", 49.96, 0},       // 4.9 g
		{"sulfuric acid: {solution: 10 % w/v in water, amount: [49 mL, 54 mmol]}", 49.96, 7},       // what m/m would give
		{"citric acid: {solution: 10 % m/v in water, amount: 20 mL}", 10.41, 0},                    // 2 g
		{"acetic acid: {solution: 5 % v/v in water, amount: 100 mL}", 87.34, 0},                    // 5 mL, 5.245 g
		{"acetic acid: {solution: 5 % v/v in water, amount: 87.3 mmol}", 87.3, 0},                  // 100 mL
		{"acetic acid: {solution: 50 % m/m in water, density: 1.058 g/mL, amount: 20 mL}", 176, 0}, // 21.16 g
		{"acetic acid: {solution: 50 % m/m in water, density: 1.058 g/mL, amount: [20 mL, 10.6 g, 176 mmol]}", 176, 0},
		{"acetic acid: {solution: 50 % m/m in water, density: 1.058 g/mL, amount: [20 mL, 21.2 g, 176 mmol]}", 176.5, 0},
		{"acetic acid: {solution: 50 % m/m in water, density: 1.058 g/mL, amount: [20 mL, 16 g]}", 133, 20},
		{"acetic acid: {solution: 50 % m/m in water, amount: [10.6 g, 176 mmol]}", 176.5, 0}, // of the acid
		{"phenylmagnesium bromide: {solution: 3.0 M in diethyl ether, amount: [10 mL, 30 mmol, 5.44 g]}", 30, 0},
		{"phenylmagnesium bromide: {solution: 3.0 M in diethyl ether, amount: [10 mL, 11.3 g]}", 30, 0},
		{"phenylmagnesium bromide: {solution: 3.0 M in diethyl ether, amount: [10 mL, 3.44 g]}", 30, 50},
		{"hydrogen peroxide: {solution: 30 % m/m in water, amount: [10 mL, 98 mmol]}", 97.9, 0},
	} {
		b := benchOf(t, "title: strength\nmaterials:\n  "+test.row+"\nsteps:\n  - wait: 1 min\n")
		m := b.materials[0]
		if !m.mmol.Known || math.Abs(m.mmol.V-test.mmol) > 0.005*test.mmol {
			t.Errorf("%s: %v mmol, want %g", test.row, m.mmol, test.mmol)
		}
		if off := valueOf(m.mismatch); test.mismatch == 0 && off > 3 || test.mismatch > 0 && off < test.mismatch {
			t.Errorf("%s: the expressions are %g %% apart (%s against %s)", test.row, off, m.stated, m.computed)
		}
		// a solution has a solvent, and the two together weigh more than the solvent
		var g, solvent float64
		for _, p := range m.mix {
			g += p.g
			if p.sp == m.solvent {
				solvent += p.g
			}
		}
		if solvent < 0.3*g {
			t.Errorf("%s: %g g of solvent in %g g", test.row, solvent, g)
		}
	}
}
