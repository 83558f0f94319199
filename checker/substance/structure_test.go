package substance

import "testing"

// Every entry that gives both: formula and structure were written apart, and the
// structures are compared with Open Babel's formulas in the outside tests.
func TestStructureFormulaOfEveryEntry(t *testing.T) {
	seen := 0
	for _, s := range compendium(t).All() {
		if s.Structure == "" || s.Formula == "" {
			continue
		}
		seen++
		own, err := ParseFormula(s.Formula)
		if err != nil {
			t.Fatal(err)
		}
		got, err := StructureFormula(s.Structure)
		if err != nil {
			t.Errorf("%s: %v", s.Name, err)
			continue
		}
		for _, e := range append(own.symbols(), got.symbols()...) {
			if own.Count(e) != got.Count(e) {
				t.Errorf("%s: %s, its structure %s is read as %s", s.Name, s.Formula, s.Structure, got)
				break
			}
		}
	}
	if seen < 400 {
		t.Errorf("only %d entries compared", seen)
	}
}

// Formulas of the PubChem records of these compounds.
func TestStructureFormula(t *testing.T) {
	for _, test := range []struct{ structure, want string }{
		{"COc1ccc(cc1)C(=O)O", "C8H8O3"},   // 4-methoxybenzoic acid
		{"N#Cc1ccc(Br)cc1", "C7H4BrN"},     // 4-bromobenzonitrile
		{"CCOC(=O)Cc1ccccc1", "C10H12O2"},  // ethyl phenylacetate
		{"c1ccc2[nH]ccc2c1", "C8H7N"},      // indole
		{"O=c1cc[nH]cc1", "C5H5NO"},        // 4-pyridone
		{"C[N+](C)(C)C.[Br-]", "C4H12BrN"}, // tetramethylammonium bromide
		{"[2H]C([2H])([2H])Cl", "CH3Cl"},   // deuterium counts as hydrogen
		{"CS(=O)(=O)Cl", "CH3ClO2S"},       // methanesulfonyl chloride
		{"C[C@H](N)C(=O)O", "C3H7NO2"},     // alanine
		{"C%12CCCCC%12", "C6H12"},          // cyclohexane
		{"c1ccc(cc1)-c1ccccc1", "C12H10"},  // biphenyl
		{"C/C=C\\C", "C4H8"},               // 2-butene
		{"FS(F)(F)(F)(F)F", "F6S"},         // sulfur hexafluoride
	} {
		f, err := StructureFormula(test.structure)
		f.Charge = 0
		if err != nil || f.String() != test.want {
			t.Errorf("%s: %s %v, want %s", test.structure, f, err, test.want)
		}
	}
	for _, bad := range []string{"", "C(", "C)", "c1ccccc", "[C", "[]", "[Xx]", "C%1", "1", "(C)", "C*", "C11", "[C?]", "é"} {
		if f, err := StructureFormula(bad); err == nil {
			t.Errorf("%q is read as %s", bad, f)
		}
	}
}

func FuzzStructureFormula(f *testing.F) {
	for _, s := range []string{"COc1ccc(cc1)C(=O)O", "[Na+].[O-]C", "C%12CC%12", "[", "[2H"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		g, err := StructureFormula(s)
		if err == nil && len(g.Elements) == 0 {
			t.Errorf("%q: no atoms and no error", s)
		}
	})
}
