package bench

import (
	"math"
	"strings"
	"testing"

	"ketyl/checker/substance"
)

// Oxygen in air-saturated water: 8.26 mg/L at 25 °C and 9.09 at 20 °C, 1 atm
// (APHA, Standard Methods, table after Benson and Krause); a maker's table of
// dissolved oxygen (Hach DR/850 manual, table 3, 760 mm) gives 14.6, 11.3, 9.2
// and 8.7 for 0, 10, 20 and 23 °C; 254.7 µmol/L at 25 °C under 100 kPa of
// moist air (Oroboros, oxygen solubility).
func TestOxygenInWater(t *testing.T) {
	for _, c := range []struct{ tC, mg, within float64 }{{25, 8.26, 0.002}, {20, 9.09, 0.002}, {0, 14.6, 0.02}, {10, 11.3, 0.02}, {20, 9.2, 0.02}, {23, 8.7, 0.02}} {
		near(t, "oxygen in water, mg/L", WaterOxygen(c.tC)*oxygenMass, c.mg, c.within)
	}
	moist := (101.325 - 3.169) / (100 - 3.169)
	near(t, "oxygen in water, µmol/L", WaterOxygen(25)*1000, 254.7*moist, 0.002)
}

// Oxygen under air, mmol/L: Franco and Olmsted, Talanta 1990, 37, 905 (±6 %);
// tetrahydrofuran and toluene hold about 2 (trade fact); 1 L of gas holds 8.56
// at 25 °C, so that the Ostwald coefficient of water is 0.0311 (CRC Handbook,
// with the 3 % of water vapour in the gas) and of an organic liquid 0.2 to 0.5.
func TestOxygenInSolvents(t *testing.T) {
	b := benchOf(t, "steps: []\n")
	for _, c := range []struct {
		name         string
		want, within float64
	}{
		{"acetone", 2.37, 0.06}, {"acetonitrile", 2.42, 0.06}, {"dimethyl sulfoxide", 0.33, 0.06}, {"ethanol", 1.94, 0.06},
		{"tetrahydrofuran", 2, 0.15}, {"toluene", 2, 0.15},
	} {
		sp := b.lookup(c.name)
		if sp == nil {
			t.Fatalf("%s is not known", c.name)
		}
		got, why := b.airHolds(sp, 25)
		near(t, c.name, got, c.want, c.within)
		if why != "" {
			t.Errorf("%s: assumed %q", c.name, why)
		}
	}
	for name := range loadOxygen().Solvents {
		if sp := b.lookup(name); sp == nil || sp.name != name || !sp.liquid {
			t.Errorf("oxygen.yaml: %q is no liquid of the compendium by that name", name)
		}
	}
	for name := range loadOxygen().Families {
		if _, ok := b.c.Family(name); !ok {
			t.Errorf("oxygen.yaml: %q is no family", name)
		}
	}
	near(t, "Ostwald coefficient of water", Ostwald(WaterOxygen(25))/(1-3.169/101.325), 0.0311, 0.01)
	for name, s := range loadOxygen().Solvents {
		if l := Ostwald(s.MmolPerL); name != "water" && name != "dimethyl sulfoxide" && (l < 0.1 || l > 0.5) {
			t.Errorf("%s: Ostwald coefficient %v", name, l)
		}
	}
}

// Every figure of the two tables names a source that stands in its file.
func TestOxygenSources(t *testing.T) {
	o := loadOxygen()
	check := func(what string, sources map[string]substance.Source, ids []string) {
		if len(ids) == 0 {
			t.Errorf("%s: no source", what)
		}
		for _, id := range ids {
			if s, ok := sources[id]; !ok || s.Cite == "" || s.Kind == "" {
				t.Errorf("%s: source %q does not stand in the file", what, id)
			}
		}
	}
	for name, s := range o.Solvents {
		check(name, o.Sources, s.Source)
	}
	for name, s := range o.Families {
		check(name, o.Sources, s.Source)
	}
	check("default", o.Sources, o.Default.Source)
	check("dilution", loadDilution().Sources, loadDilution().Source)
}

// By hand: 50 mL of gas through 100 mL of toluene (1.80 mmol/L, L = 0.210)
// leave exp(−0.5/0.210) = 9.3 %; a half-full flask of tetrahydrofuran (L =
// 0.245) keeps 0.245/1.245 = 19.7 % in each thaw, 0.76 % after three.
func TestDeaeration(t *testing.T) {
	near(t, "sparged", AfterSparge(1, 50, 100, Ostwald(1.80), 0), 0.0926, 0.01)
	near(t, "sparged to the gas's own oxygen", AfterSparge(1, 1e6, 100, Ostwald(1.80), 1e-4), 1e-4, 1e-9)
	near(t, "thawed once", AfterThaw(1, 50, 50, Ostwald(2.10), 0, 0, 1), 0.197, 0.01)
	near(t, "thawed three times", AfterThaw(1, 50, 50, Ostwald(2.10), 0, 0, 3), 0.00765, 0.01)
	if s := AfterThaw(1, 50, 50, Ostwald(2.10), 1, 0, 3); s < 0.00765 || s > 0.0087 {
		t.Errorf("1 mbar left in the head space: %v", s)
	}
	// a pump that does not pump takes nothing out
	near(t, "no vacuum", AfterThaw(1, 50, 50, 0.2, Atm, 0, 5), 1, 1e-12)
}

// More gas, more cycles, a better vacuum and purer gas never leave more.
func TestDeaerationIsMonotone(t *testing.T) {
	for _, l := range []float64{0.03, 0.2, 0.47} {
		for _, p := range []float64{0.05, 1, 25, 500} {
			for _, floor := range []float64{0, 2e-5, 0.1} {
				last := 1.0
				for n := range 15 {
					s := AfterThaw(1, 30, 70, l, p, floor, float64(n))
					if s > last || s < 0 || AfterThaw(1, 30, 70, l, p/2, floor, float64(n)) > s {
						t.Fatalf("L %v, %v mbar, floor %v: %v cycles leave %v after %v", l, p, floor, n, s, last)
					}
					last = s
				}
				last = 1
				for gas := 0.0; gas < 400; gas += 20 {
					s := AfterSparge(1, gas, 70, l, floor)
					if s > last || s < floor*(1-1e-12) {
						t.Fatalf("%v mL of gas leave %v after %v", gas, s, last)
					}
					last = s
				}
			}
		}
	}
}

const airless = `
materials:
  n-butyllithium: {solution: 1.6 M in hexanes, amount: 5 mL}
  thf: {substance: tetrahydrofuran, amount: 50 mL, grade: anhydrous}
apparatus:
  flask: {kind: round-bottom flask, size: 100 mL, dry: true}
  line: {kind: Schlenk line, gas: argon, purity: 99.999 %}
steps:
  - {backfill: flask, with: argon, from: line, vacuum: 1 mbar, cycles: 3}
`

// dissolvedWith plays steps between the cycles and the reagent and gives the
// last exposure of the reagent.
func dissolvedWith(t *testing.T, steps string) *ExposureFacts {
	t.Helper()
	tr := playText(t, airless+steps+"  - {add: n-butyllithium, to: flask, by: syringe}\n")
	e := eventsOf[*ExposureFacts](tr)
	if len(e) == 0 || e[len(e)-1].Species != "n-butyllithium" {
		t.Fatalf("exposures: %+v", e)
	}
	return e[len(e)-1]
}

// 50 mL of air-saturated tetrahydrofuran bring 0.105 mmol of oxygen, which
// takes 0.21 of 8 mmol of butyllithium, 2.6 %.
func TestDissolvedOxygenOnTheBench(t *testing.T) {
	plain := dissolvedWith(t, "  - {add: thf, to: flask, by: syringe}\n")
	near(t, "oxygen in 50 mL of THF, mmol", plain.DissolvedMmol.V, 0.105, 0.001)
	near(t, "share of the butyllithium, %", plain.DissolvedPercent.V, 2.6, 0.03)

	sparged := dissolvedWith(t, "  - {sparge: thf, with: argon, from: line, flow: 20 mL/min, for: 1 min}\n  - {add: thf, to: flask, by: syringe}\n")
	// a tenth of what bubbles in equilibrium would take
	near(t, "after 20 mL of argon", sparged.DissolvedMmol.V, 0.105*math.Exp(-bubbleShare*20/(50*0.2452)), 0.01)
	if sparged.DissolvedMmol.Assumed() == "" {
		t.Error("how far bubbles come is an assumption, and not named as one")
	}
	thawed := dissolvedWith(t, "  - {add: thf, to: flask, by: syringe}\n  - {degas: flask, by: freeze–pump–thaw, vacuum: 0.01 mbar, cycles: 3}\n")
	near(t, "after three thaws, half full", thawed.DissolvedMmol.V, 0.105*0.00765, 0.02)
	cycled := dissolvedWith(t, "  - {add: thf, to: flask, by: syringe}\n  - {backfill: flask, with: argon, from: line, vacuum: 1 mbar, cycles: 3}\n")
	if v := cycled.DissolvedMmol.V; v <= thawed.DissolvedMmol.V || v > 0.0012 {
		t.Errorf("three cycles over the liquid leave %v mmol", v)
	}
	reopened := dissolvedWith(t, "  - {add: thf, to: flask, by: syringe}\n  - {degas: flask, by: freeze–pump–thaw, vacuum: 0.01 mbar, cycles: 3}\n  - {open: flask}\n  - {blanket: flask, with: argon, from: line, flow: 1 L/min, for: 5 min}\n")
	near(t, "opened after the thaws", reopened.DissolvedMmol.V, 0.105, 0.001)

	for text, ask := range map[string]string{
		"  - {add: thf, to: flask, by: syringe}\n  - {sparge: flask, with: argon, for: 20 min}\n":     "flow",
		"  - {add: thf, to: flask, by: syringe}\n  - {sparge: flask, with: argon, flow: 50 mL/min}\n": "how long",
		"  - {degas: thf, by: freeze–pump–thaw}\n  - {add: thf, to: flask, by: syringe}\n":            "cycles",
	} {
		if e := dissolvedWith(t, text); e.DissolvedMmol.Known || !strings.Contains(e.DissolvedMmol.Ask(), ask) || e.DissolvedPercent.Known {
			t.Errorf("%q: %+v", text, e.DissolvedMmol)
		}
	}
}

// 1 L of air at 20 °C and half humidity holds 0.480 mmol of water and 8.61
// mmol of oxygen (ideal gas, saturation pressure of the CRC Handbook).
func TestMoistAir(t *testing.T) {
	air := Air(0.5, 20)
	near(t, "water in 1 L, mmol", GasMmol(1000, air.H2O*Atm, 20), 0.480, 0.005)
	near(t, "oxygen in 1 L, mmol", GasMmol(1000, air.O2*Atm, 20), 8.61, 0.002)
}

// A 500 mL flask with 100 mL in it, opened over live butyllithium: 400 mL of
// air at 22 °C (2.6447 kPa, CRC Handbook) and half humidity bring
// 0.5·2644.7·4e-4/(8.314·295.15) = 0.2156 mmol; a counter-flow brings none.
func TestHumidAirAtAnOpening(t *testing.T) {
	text := func(open string) string {
		return `
materials:
  n-butyllithium: {solution: 1.6 M in hexanes, amount: 10 mL}
  hexane: {amount: 90 mL, water: 0 ppm}
apparatus:
  flask: {kind: round-bottom flask, size: 500 mL, dry: true}
steps:
  - {backfill: flask, with: nitrogen, vacuum: 1 mbar, cycles: 3, outlet: bubbler}
  - {add: hexane, to: flask, by: syringe}
  - {add: n-butyllithium, to: flask, by: syringe}
` + open
	}
	air := func(open string) float64 {
		w := eventsOf[*WaterFacts](playText(t, text(open)))
		if len(w) != 1 {
			t.Fatalf("%d water events", len(w))
		}
		return w[0].AirMmol.V
	}
	base := air("")
	near(t, "opened, mmol", air("  - {open: flask}\n")-base, 0.2156, 0.01)
	if n := air("  - {open: flask, under: counter-flow of nitrogen}\n"); n != base {
		t.Errorf("a counter-flow lets in %v mmol", n-base)
	}
	live := func(open string) float64 {
		tr := playText(t, text(open))
		return tr.Steps[len(tr.Steps)-1].Vessels["flask"].LiveMmol["n-butyllithium"]
	}
	near(t, "what the air took", live("")-live("  - {open: flask}\n"), 0.2156, 0.01)
}

// Heat of sulfuric acid into water, kJ/mol: the NBS table (as reprinted by
// Petrucci and others, General Chemistry, problem 7-126) between whose points
// the rest runs; Thomsen's equation, 17860·n/(n + 1.798) cal/mol, holds within
// 6 % up to 20 mol of water.
func TestAcidDilution(t *testing.T) {
	for n, formation := range map[float64]float64{1: -841.8, 10: -880.5, 50: -886.8, 100: -887.7, 500: -890.5, 1000: -892.3, 10000: -900.8, 100000: -907.3} {
		near(t, "at a point", AcidDilution(n), -814.0-formation, 1e-3)
	}
	for n := 0.5; n <= 20; n += 0.5 {
		near(t, "Thomsen", AcidDilution(n), 17860*n/(n+1.798)*4.184/1000, 0.06)
	}
	last := 0.0
	for n := 0.1; n < 1e6; n *= 1.3 {
		if q := AcidDilution(n); q < last {
			t.Fatalf("%v mol of water give %v after %v", n, q, last)
		} else {
			last = q
		}
	}
	if AcidDilution(0) != 0 || AcidDilution(math.NaN()) != 0 {
		t.Error("no water, no heat")
	}
}

// Problem 7-126 (c) of the same book: 0.5 L of 1 M acid from the pure acid
// gives about 0.5 mol × 72.8 kJ/mol = 36.4 kJ, about 17 K in 530 g at 4.2
// J/(g K). Acid that is added to dilute acid, and water to acid, add up to the
// same.
func TestAcidIntoWater(t *testing.T) {
	heat := func(steps string) (kJ float64, rise float64) {
		tr := playText(t, `
materials:
  sulfuric acid: {amount: 49.04 g}
  water: {amount: 487 mL}
apparatus:
  beaker: {kind: beaker, size: 1 L}
steps:
`+steps)
		for _, f := range eventsOf[*AdditionFacts](tr) {
			if f.HeatKJ.Known {
				kJ += f.HeatKJ.V
				rise += f.RiseK.V
			}
		}
		return kJ, rise
	}
	kJ, rise := heat("  - {add: water, to: beaker}\n  - {add: sulfuric acid, to: beaker, over: 10 min}\n")
	near(t, "heat, kJ", kJ, 36.4, 0.01)
	near(t, "rise, K", rise, 17, 0.1)
	kJ, _ = heat("  - {add: water, to: beaker}\n  - {add: sulfuric acid, to: beaker, amount: 20 g}\n  - {add: sulfuric acid, to: beaker, amount: 29.04 g}\n")
	near(t, "in two portions, kJ", kJ, 36.4, 0.01)
	kJ, _ = heat("  - {add: sulfuric acid, to: beaker}\n  - {add: water, to: beaker}\n")
	near(t, "the wrong way round, kJ", kJ, 36.4, 0.01)
}

// An alcohol takes the first proton of sulfuric acid as water does: the acid in
// twenty mol of ethanol gives the 66.5 kJ/mol of ten mol of water, and says what
// that is taken for; in toluene nothing is reckoned.
func TestAcidIntoAlcohol(t *testing.T) {
	for solvent, want := range map[string]float64{"ethanol": 6.65, "toluene": 0} {
		tr := playText(t, `
materials:
  solvent: {substance: `+solvent+`, amount: 2 mol}
  sulfuric acid: {amount: 100 mmol}
apparatus: {flask: {kind: round-bottom flask, size: 500 mL}}
steps:
  - {add: solvent, to: flask}
  - {add: sulfuric acid, to: flask, over: 10 min}
`)
		f := eventsOf[*AdditionFacts](tr)
		h := f[len(f)-1].HeatKJ
		if math.Abs(h.V-want) > 0.15 || want > 0 && h.Assumed() == "" {
			t.Errorf("%s: %v kJ, assumed %q, want %v", solvent, h.V, h.Assumed(), want)
		}
	}
}
