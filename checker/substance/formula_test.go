package substance

import (
	"errors"
	"math"
	"os"
	"testing"

	"ketyl/checker/document"
)

// readTestdata decodes a file of figures to compare with.
func readTestdata(t *testing.T, name string, to any) {
	t.Helper()
	b, err := os.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	f, found := document.Read(name, b)
	for _, x := range append(found, document.Decode(f, f.Root, to)...) {
		line, column := f.Source.Position(x.Span.Start)
		t.Errorf("%s:%d:%d: %s", name, line, column, x.Message)
	}
	if t.Failed() {
		t.FailNow()
	}
}

// TestMolarMass compares with sums made by hand from the IUPAC table.
func TestMolarMass(t *testing.T) {
	var file struct {
		Masses []struct {
			Name    string  `yaml:"name"`
			Formula string  `yaml:"formula"`
			Value   float64 `yaml:"value"`
			Unit    string  `yaml:"unit"`
			Source  string  `yaml:"source"`
		} `yaml:"masses"`
	}
	readTestdata(t, "molar-masses.yaml", &file)
	if len(file.Masses) < 10 {
		t.Fatalf("only %d masses to compare with", len(file.Masses))
	}
	for _, m := range file.Masses {
		f, err := ParseFormula(m.Formula)
		if err != nil {
			t.Errorf("%s: %v", m.Name, err)
			continue
		}
		if got := f.Mass(); math.Abs(got-m.Value) > 0.002 {
			t.Errorf("%s %s: %.4f g/mol, want %.3f (%s)", m.Name, m.Formula, got, m.Value, m.Source)
		}
	}
}

func TestParseFormula(t *testing.T) {
	for _, test := range []struct {
		text, hill string
	}{
		{"H2O", "H2O"},
		{"CH3CH2OH", "C2H6O"},
		{"(CH3)2CO", "C3H6O"},
		{"MgSO4·7H2O", "H14MgO11S"},
		{"MgSO4.7H2O", "H14MgO11S"},
		{"MgSO4 * 7 H2O", "H14MgO11S"},
		{"CaSO4·0.5H2O", "CaHO4.5S"},
		{"CaSO4·½H2O", "CaHO4.5S"},
		{"BF3·C4H10O", "C4H10BF3O"},
		{"[Ir(C8H12)Cl]2", "C16H24Cl2Ir2"},
		{"{[Rh(C8H12)]2Cl2}", "C16H24Cl2Rh2"},
		{"Pd(P(C6H5)3)4", "C72H60P4Pd"},
		{"NH4+", "H4N^+"},
		{"SO4^2-", "O4S^2-"},
		{"SO4²⁻", "O4S^2-"},
		{"SO4 2-", "O4S^2-"},
		{"[Fe(CN)6]4-", "C6FeN6^4-"},
		{"Cu2+", "Cu^2+"},
		{"Ca++", "Ca^2+"},
		{"Hg2^2+", "Hg2^2+"},
		{"C₄H₈O", "C4H8O"},
		{"CD3OD", "CD4O"},
		{"Co", "Co"},
		{"CO", "CO"},
		{"No2", ""},
		{"2NaOH", "H2Na2O2"},
	} {
		f, err := ParseFormula(test.text)
		if test.hill == "" {
			if err == nil {
				t.Errorf("%q was read as %s, want an error", test.text, f)
			}
			continue
		}
		if err != nil {
			t.Errorf("%q: %v", test.text, err)
			continue
		}
		if got := f.String(); got != test.hill {
			t.Errorf("%q: %s, want %s", test.text, got, test.hill)
		}
	}
}

func TestFormulaError(t *testing.T) {
	for _, test := range []struct {
		text   string
		offset int
		reason string
	}{
		{"", 0, "a formula is wanted"},
		{"Et2O", 0, `"Et" is no element`},
		{"C4H8Q", 4, `"Q" is no element`},
		{"C4(H8O", 2, `the bracket '(' is never closed`},
		{"C4H8)O", 4, `')' closes a bracket that is not open`},
		{"(C4H8]O", 5, `']' closes a bracket that is not open`},
		{"MgSO4·xH2O", 7, `'x' is no number`},
		{"SO42-", 2, "count and charge run together"},
		{"C0", 1, "this count cannot be read"},
		{"c4h8o", 0, `'c' cannot stand in a formula`},
		{"()2", 0, "nothing is inside the brackets"},
		{"TcO2", 0, "Tc has no standard atomic weight"},
		{"C4H8O ether", 6, "this cannot stand here"},
		{"C2H4n", 4, `'n' cannot stand in a formula`},
		{"Na+Cl", 3, "nothing may follow the charge"},
		{"MgSO4·", 7, "an element is wanted here"},
		{"C99999999", 1, "this count cannot be read"},
	} {
		_, err := ParseFormula(test.text)
		var fe *FormulaError
		if !errors.As(err, &fe) {
			t.Errorf("%q: error %v, want a *FormulaError", test.text, err)
			continue
		}
		if fe.Offset != test.offset || fe.Reason != test.reason {
			t.Errorf("%q: byte %d %q, want byte %d %q", test.text, fe.Offset, fe.Reason, test.offset, test.reason)
		}
	}
}

// FuzzFormula holds that no text panics, that a reported place lies within the
// text, and that what is printed reads back as the same.
func FuzzFormula(f *testing.F) {
	for _, s := range []string{"C4H8O", "MgSO4·7H2O", "[Fe(CN)6]4-", "SO4^2-", "BF3·C4H10O", "((((", "C1e9", "½½", "^", "H^", "2", ".", "Cu2+", "\xff", "C4H8O ", "A·B", "O2-", "D2O", "(NH4)2SO4"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		got, err := ParseFormula(s)
		if err != nil {
			var fe *FormulaError
			if !errors.As(err, &fe) {
				t.Fatalf("%q: %T, want *FormulaError", s, err)
			}
			if fe.Offset < 0 || fe.Offset > len(s) || fe.Error() == "" {
				t.Fatalf("%q: offset %d outside the text", s, fe.Offset)
			}
			return
		}
		if m := got.Mass(); !(m > 0) || math.IsInf(m, 0) {
			t.Fatalf("%q: mass %g", s, m)
		}
		for _, n := range got.Elements {
			if n != math.Trunc(n) {
				return // broken counts are read only as multipliers
			}
		}
		again, err := ParseFormula(got.String())
		if err != nil {
			t.Fatalf("%q printed as %q: %v", s, got, err)
		}
		if again.String() != got.String() {
			t.Fatalf("%q printed as %q read back as %q", s, got, again)
		}
	})
}
