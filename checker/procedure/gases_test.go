package procedure

import "testing"

// A gas written by its formula is that gas.
func TestGasByFormula(t *testing.T) {
	for from, want := range map[string]string{"N2": "nitrogen", "a stream of N2": "a stream of nitrogen", "Ar": "argon", "under Ar (99.999 %)": "under argon (99.999 %)",
		"LN2": "liquid nitrogen", "aryl bromide": "aryl bromide", "ar": "ar", "N2O": "N2O", "NaH": "NaH", "argon": "argon"} {
		if got := plainGas(from); got != want {
			t.Errorf("%q became %q, want %q", from, got, want)
		}
	}
}

// A procedure names its gases when it has been read; a row called by the formula
// keeps its name.
func TestGasesAreNamedAtDecode(t *testing.T) {
	head := "procedure: p\ntitle: t\nformat: 1\nsetting: research\napparatus: {flask: {kind: round-bottom flask}}\nsteps:\n  - {add: water, to: flask, under: a stream of N2}\nmaterials:\n"
	for row, want := range map[string]string{"water: {amount: 1 mL}": "a stream of nitrogen", "a stream of N2: {amount: 1 L}": "a stream of N2"} {
		p, fs := Load("p.yaml", []byte(head+"  "+row+"\n"))
		if p == nil {
			t.Fatal(fs)
		}
		if got := p.Steps[0].Under[0].S; got != want {
			t.Errorf("%s: under %q, want %q", row, got, want)
		}
	}
}
