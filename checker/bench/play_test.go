package bench

import (
	"os"
	"strings"
	"testing"

	"ketyl/checker/procedure"
	"ketyl/checker/substance"
)

// playFile plays a procedure of testdata and fails on any fault of reading.
func playFile(t *testing.T, name string) *Trace {
	t.Helper()
	raw, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	p, bad := procedure.Load(name, raw)
	for _, f := range bad {
		line, col := p.Source.Position(f.Span.Start)
		t.Fatalf("%s:%d:%d: %s", name, line, col, f.Message)
	}
	c, err := substance.Default()
	if err != nil {
		t.Fatal(err)
	}
	return Record(p, c, substance.DefaultSite())
}

// The design's example, by hand: 1.06 g of 99 % benzaldehyde is 9.89 mmol,
// 6.9 mL of 1.6 M butyllithium is 11.04 mmol.
func TestPhenylpentanol(t *testing.T) {
	tr := playFile(t, "../procedure/testdata/phenylpentanol.yaml")
	for _, f := range tr.Findings {
		t.Error(f.Rule, f.Message)
	}
	state := func(step int, vessel string) VesselState {
		t.Helper()
		v, ok := tr.Steps[step-1].Vessels[vessel]
		if !ok {
			t.Fatalf("step %d has no %s", step, vessel)
		}
		return v
	}
	near(t, "oxygen after three cycles at 1 mbar, ppm", state(3, "flask").OxygenPPM, 2.1, 0.02) // floor: gas of 99.999 %
	near(t, "live butyllithium", state(7, "flask").LiveMmol["n-butyllithium"], 11.04, 0.005)
	// 95 % of 9.89 mmol, as no conversion is stated; the rest of the aldehyde
	// stays, and the butyllithium that was for it is not counted on
	near(t, "alkoxide", state(8, "flask").Contents["lithium 1-phenylpentoxide"], 0.95*9.89, 0.001)
	near(t, "aldehyde left", state(8, "flask").Contents["benzaldehyde"], 0.05*9.89, 0.001)
	near(t, "butyllithium left", state(8, "flask").LiveMmol["n-butyllithium"], 11.04-9.89, 0.02)
	if n := len(state(10, "flask").LiveMmol); n != 0 {
		t.Errorf("%d live species after the quench", n)
	}
	near(t, "alcohol in the ether layer", state(11, "ether layer").Contents["1-phenylpentan-1-ol"], 0.95*9.89, 0.001)
	if tr.Figures.Limiting != "benzaldehyde" {
		t.Errorf("limiting reagent %q", tr.Figures.Limiting)
	}
	near(t, "theoretical yield, g", tr.Figures.TheoreticalG.V, 9.888*164.244/1000, 0.001)
	var gas, loss float64
	for _, e := range tr.Events {
		switch f := e.Facts.(type) {
		case *ReleaseFacts:
			gas += f.Mmol.V
		case *WaterFacts:
			loss = f.LossPercent.V
		}
	}
	near(t, "butane from the quench, mmol", gas, 11.04-9.89, 0.02)
	if loss <= 0 || loss > 1 {
		t.Errorf("sieve-dried THF costs %v %% of the reagent", loss)
	}
}

func BenchmarkRun(b *testing.B) {
	raw, err := os.ReadFile("../procedure/testdata/phenylpentanol.yaml")
	if err != nil {
		b.Fatal(err)
	}
	p, _ := procedure.Load("phenylpentanol.yaml", raw)
	c, err := substance.Default()
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		Run(p, c, substance.DefaultSite())
	}
}

// A vessel of a kind that no list has is played as the text uses it: what goes
// into it is not lost from sight.
func TestUnknownKindHoldsWhatIsPutIn(t *testing.T) {
	const text = `
materials: {n-butyllithium: {solution: 1.6 M in hexanes, amount: 20 mL}, water: {amount: 20 mL}}
apparatus: {r: {kind: KIND, size: 250 mL}}
steps:
  - {add: n-butyllithium, to: r, by: syringe}
  - {add: water, to: r, over: 10 s}
`
	facts := func(kind string) (live float64, gas float64) {
		tr := playText(t, strings.Replace(text, "KIND", kind, 1))
		for _, e := range tr.Events {
			if f, ok := e.Facts.(*ReleaseFacts); ok {
				gas += f.Mmol.V
			}
		}
		return tr.Steps[0].Vessels["r"].LiveMmol["n-butyllithium"], gas
	}
	live, gas := facts("round-bottom flask")
	if live < 29 || gas < 29 {
		t.Fatalf("a flask holds %v mmol and gives %v mmol of gas, want about 30 of both, 32 less what the air in the flask takes", live, gas)
	}
	for _, kind := range []string{"RBF", "2-neck RBF", "pot", "jacketed reactor", "reaction vessel", "whatsit"} {
		if l, g := facts(kind); l != live || g != gas {
			t.Errorf("%s: %v mmol live and %v mmol of gas, want %v and %v", kind, l, g, live, gas)
		}
	}
	// a piece that only stands on another holds nothing
	tr := playText(t, "materials: {toluene: {amount: 20 mL}}\napparatus: {flask: {kind: round-bottom flask, size: 100 mL}, gadget: {kind: whatsit, on: flask}}\nsteps: [{add: toluene, to: flask}]\n")
	if _, ok := tr.Steps[0].Vessels["gadget"]; ok {
		t.Error("a whatsit on the flask is taken for a vessel")
	}
}
