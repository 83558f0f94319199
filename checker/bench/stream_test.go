package bench

import (
	"strings"
	"testing"
)

// heldBy plays a text and gives what a vessel holds at the end, mmol by name, and its
// volume, mL.
func heldBy(t *testing.T, text, vessel string) (map[string]float64, float64) {
	t.Helper()
	b := benchOf(t, text)
	for _, st := range b.p.Steps {
		b.timed(st)
	}
	out := map[string]float64{}
	v := b.vesselNamed(vessel)
	if v == nil {
		t.Fatalf("no vessel %s", vessel)
	}
	for _, p := range v.contents {
		out[p.sp.name] += p.mmol
	}
	return out, v.volume()
}

func holdsAbout(t *testing.T, what string, got map[string]float64, want map[string]float64) {
	t.Helper()
	for name, n := range want {
		if g := got[name]; g < n*0.99-1e-6 || g > n*1.01+1e-6 {
			t.Errorf("%s: %s %g mmol, want %g; holds %v", what, name, g, n, got)
		}
	}
}

// Acid, weak acid, base and neutral part in the separating funnel as the textbook has
// it: pKa of hydrochloric acid, benzoic acid 4.20, 4-chloroanilinium 3.98, carbonic
// acid 6.35, phenol 9.99 (CRC Handbook). 10 mmol of each: 1 M acid takes the amine
// alone, bicarbonate the carboxylic acid with its carbon dioxide, hydroxide the
// phenol.
func TestPartsInTheFunnel(t *testing.T) {
	const text = `
materials:
  benzoic acid: {amount: 10 mmol}
  4-chloroaniline: {amount: 10 mmol}
  naphthalene: {amount: 10 mmol}
  phenol: {amount: 10 mmol}
  dichloromethane: {amount: 50 mL}
  hydrochloric acid: {solution: 1 M in water, amount: 20 mL}
  sodium bicarbonate: {solution: 1 M in water, amount: 25 mL}
  sodium hydroxide: {solution: 1 M in water, amount: 20 mL}
apparatus:
  beaker: {kind: beaker, size: 250 mL}
  separating funnel: {kind: separating funnel, size: 125 mL}
steps:
  - {charge: dichloromethane, to: beaker}
  - {charge: benzoic acid, to: beaker}
  - {charge: 4-chloroaniline, to: beaker}
  - {charge: naphthalene, to: beaker}
  - {charge: phenol, to: beaker}
  - {extract: beaker, with: hydrochloric acid, in: separating funnel, vented: yes, gives: {organic: lower layer, aqueous: amine layer}}
  - {wash: lower layer, with: sodium bicarbonate, in: separating funnel, vented: yes, gives: {organic: lower layer, aqueous: acid layer}}
  - {wash: lower layer, with: sodium hydroxide, in: separating funnel, vented: yes, gives: {organic: lower layer, aqueous: phenol layer}}
`
	for vessel, want := range map[string]map[string]float64{
		"amine layer":  {"ammonium salt of 4-chloroaniline": 10, "hydrochloric acid": 10, "benzoic acid": 0, "salt of benzoic acid": 0, "phenol": 0},
		"acid layer":   {"salt of benzoic acid": 10, "sodium bicarbonate": 15, "salt of phenol": 0},
		"phenol layer": {"salt of phenol": 10, "sodium hydroxide": 10},
		"lower layer":  {"naphthalene": 10, "phenol": 0, "benzoic acid": 0, "4-chloroaniline": 0},
	} {
		got, _ := heldBy(t, text, vessel)
		holdsAbout(t, vessel, got, want)
	}
	var gas []string
	for _, e := range playText(t, text).Events {
		if f, ok := e.Facts.(*ReleaseFacts); ok {
			gas = append(gas, f.Gas)
			near(t, "carbon dioxide, L", f.Litres.V, 0.010*24.05, 0.01) // 24.06 L/mol at 20 °C
		}
	}
	if strings.Join(gas, ",") != "carbon dioxide" {
		t.Errorf("gases of the washes: %v", gas)
	}
	// acid sets the phenol and the benzoic acid free again
	again := text + `
  - {acidify: phenol layer, with: hydrochloric acid}
`
	again = strings.Replace(again, "hydrochloric acid: {solution: 1 M in water, amount: 20 mL}", "hydrochloric acid: {solution: 1 M in water, amount: 60 mL}", 1)
	again = strings.Replace(again, "with: hydrochloric acid, in: separating funnel, ", "with: hydrochloric acid, amount: 20 mL, in: separating funnel, ", 1)
	got, _ := heldBy(t, again, "phenol layer")
	holdsAbout(t, "acidified", got, map[string]float64{"phenol": 10, "salt of phenol": 0, "sodium hydroxide": 0, "hydrochloric acid": 20})
}

// What water dissolves does not stay on a filter, and what it does not dissolve does:
// 2 g of sodium hydroxide in 20 mL of water run through (solubility 100 g per 100 mL),
// 2 g of magnesium sulfate in an ether stay.
func TestFilteredFromWater(t *testing.T) {
	text := func(liquid, solid string) string {
		return `
materials:
  ` + liquid + `: {amount: 20 mL}
  ` + solid + `: {amount: 2 g}
apparatus:
  flask: {kind: round-bottom flask, size: 100 mL}
steps:
  - {charge: ` + liquid + `, to: flask}
  - {charge: ` + solid + `, to: flask}
  - {filter: flask, gives: {cake: cake, filtrate: filtrate}}
`
	}
	for _, test := range []struct {
		liquid, solid string
		cake          float64 // share of the solid
	}{
		{"water", "sodium hydroxide", 0}, {"water", "potassium carbonate", 0}, {"water", "magnesium sulfate", 0}, {"water", "calcium sulfate", 0.98},
		{"diethyl ether", "magnesium sulfate", 1}, {"diethyl ether", "potassium carbonate", 1}, {"water", "silica gel", 1}, {"toluene", "molecular sieves 4A", 1},
	} {
		cake, _ := heldBy(t, text(test.liquid, test.solid), "cake")
		through, _ := heldBy(t, text(test.liquid, test.solid), "filtrate")
		on, past := 0.0, 0.0
		for name, n := range cake {
			if name != test.liquid {
				on += n
			}
		}
		for name, n := range through {
			if name != test.liquid {
				past += n
			}
		}
		if share := on / (on + past); share < test.cake-0.03 || share > test.cake+0.03 {
			t.Errorf("%s in %s: %g of it on the filter, want %g (%v, %v)", test.solid, test.liquid, share, test.cake, cake, through)
		}
	}
}

// A cake is washed on its filter: the liquid runs through with what it dissolves,
// under its own name or to the filtrate that is still there.
func TestWashedOnTheFilter(t *testing.T) {
	const base = `
materials:
  silica gel: {amount: 3 g}
  sodium chloride: {amount: 1.17 g}
  toluene: {amount: 20 mL}
  diethyl ether: {amount: 15 mL}
  water: {amount: 10 mL}
apparatus:
  flask: {kind: round-bottom flask, size: 100 mL}
steps:
  - {charge: toluene, to: flask}
  - {charge: silica gel, to: flask}
  - {charge: sodium chloride, to: flask}
  - {filter: flask, gives: {cake: cake, filtrate: filtrate}}
`
	joins := base + "  - {wash: cake, with: diethyl ether}\n"
	got, ml := heldBy(t, joins, "filtrate")
	near(t, "filtrate and washings, mL", ml, 35, 0.01)
	if got["diethyl ether"] < 100 {
		t.Errorf("filtrate holds %v", got)
	}
	if _, ml := heldBy(t, joins, "cake"); ml != 0 {
		t.Errorf("%g mL stay in the cake", ml)
	}
	own := base + "  - {wash: cake, with: diethyl ether, gives: {washings: ether washings}}\n  - {wash: cake, with: water, gives: {washings: salt water}}\n"
	got, ml = heldBy(t, own, "ether washings")
	near(t, "ether washings, mL", ml, 15, 0.01)
	holdsAbout(t, "ether washings", got, map[string]float64{"sodium chloride": 0})
	got, ml = heldBy(t, own, "salt water")
	near(t, "salt water, mL", ml, 10, 0.01)
	holdsAbout(t, "salt water", got, map[string]float64{"sodium chloride": 20})
	got, _ = heldBy(t, own, "cake")
	holdsAbout(t, "cake", got, map[string]float64{"sodium chloride": 0, "diethyl ether": 0, "water": 0})
}

// What a text leaves of a liquid that it takes off stays, as a volume, as a share or
// in the words of its end; without a word all of it goes.
func TestWhatIsLeftOfALiquid(t *testing.T) {
	for how, want := range map[string]float64{"leave: 5 mL": 5, "leave: 10 %": 4, "until: about 8 mL are left": 8, "note: slowly": 0, "until: 8 mL have been collected": 0, "leave: 60 mL": 40} {
		text := `
materials:
  toluene: {amount: 40 mL}
  naphthalene: {amount: 1 g}
apparatus:
  flask: {kind: round-bottom flask, size: 100 mL}
  rotary evaporator: {kind: rotary evaporator}
steps:
  - {charge: toluene, to: flask}
  - {charge: naphthalene, to: flask}
  - {concentrate: flask, in: rotary evaporator, at: 50 °C, pressure: 80 mbar, ` + how + `}
`
		if _, ml := heldBy(t, text, "flask"); ml < want-0.1 || ml > want+0.1 {
			t.Errorf("%s: %g mL stay, want %g", how, ml, want)
		}
		for _, h := range eventsOf[*HeatingFacts](playText(t, text)) {
			near(t, how+", taken off, mL", h.VolumeOffML.V, 40-want, 0.01)
		}
	}
}

// A mother liquor keeps some of what crystallised from it: that of a bromide is
// halogenated.
func TestMotherLiquorKeepsProduct(t *testing.T) {
	got, _ := heldBy(t, `
materials:
  4-bromobenzoic acid: {amount: 2.01 g}
  ethanol: {amount: 30 mL}
product: {name: 4-bromobenzoic acid, formula: C7H5BrO2, from: 4-bromobenzoic acid}
apparatus:
  flask: {kind: round-bottom flask, size: 100 mL}
steps:
  - {charge: 4-bromobenzoic acid, to: flask}
  - {crystallise: flask, from: ethanol, gives: {crystals: needles, mother liquor: liquor}}
`, "liquor")
	holdsAbout(t, "liquor", got, map[string]float64{"4-bromobenzoic acid": 0.5})
}

// The pH of what goes into a bottle for neutral water: acetic acid 1 M has pH 2.4,
// bisulfate 1 M 1.0, citric acid 10 % 1.6; ammonia 25 % 13, triethylamine 11.8
// (pKa 4.76, 1.99, 3.13, 9.25, 10.75, CRC Handbook). Ammonium chloride alone has 4.6 to
// 5, and one of ammonia with two of it 8.9.
func TestWeakAcidsAndBasesInWaste(t *testing.T) {
	for _, test := range []struct{ rows, refused, better string }{
		{"acetic acid: {solution: 1 M in water, amount: 40 mL}", "acid: 40 mmol of acid", "acidic aqueous"},
		{"citric acid: {solution: 10 % m/v in water, amount: 20 mL}", "acid: 10.4 mmol of acid", "acidic aqueous"},
		{"sodium hydrogen sulfate: {solution: 1 M in water, amount: 20 mL}", "acid: 20 mmol of acid", "acidic aqueous"},
		{"ammonia: {solution: 1 M in water, amount: 40 mL}", "base: 40 mmol of base", "basic aqueous"},
		{"triethylamine: {amount: 2 mL}\n  water: {amount: 40 mL}", "base: 14.4 mmol of base", "basic aqueous"},
		{"ammonium chloride: {solution: 1 M in water, amount: 20 mL}", "", "neutral aqueous"},
		{"ammonia: {solution: 1 M in water, amount: 10 mL}\n  ammonium chloride: {solution: 1 M in water, amount: 20 mL}", "", "neutral aqueous"},
		{"acetic acid: {solution: 1 M in water, amount: 10 mL}\n  sodium acetate: {solution: 1 M in water, amount: 20 mL}", "", "neutral aqueous"},
		{"acetic acid: {amount: 0.02 g}\n  water: {amount: 50 mL}", "", "neutral aqueous"},
		{"acetic acid: {amount: 1 mL}\n  toluene: {amount: 50 mL}", "", ""},
	} {
		steps, into := "", "neutral aqueous"
		for _, row := range strings.Split(test.rows, "\n  ") {
			name, _, _ := strings.Cut(row, ":")
			steps += "  - {charge: " + name + ", to: beaker}\n"
		}
		if test.better == "" {
			into = "non-halogenated organic" // a weak acid in a solvent is no matter of pH
		}
		d := eventsOf[*DiscardFacts](playText(t, "\nmaterials:\n  "+test.rows+"\napparatus:\n  beaker: {kind: beaker, size: 100 mL}\nsteps:\n"+steps+"  - {discard: beaker, into: "+into+"}\n"))[0]
		if test.better == "" {
			if d.Refused != "" {
				t.Errorf("%s: refused, %s", test.rows, d.Refused)
			}
			continue
		}
		if d.Refused != test.refused || d.Better != test.better {
			t.Errorf("%s: refused %q, better %q; want %q, %q", test.rows, d.Refused, d.Better, test.refused, test.better)
		}
	}
	// what a container is for decides before its pH
	d := eventsOf[*DiscardFacts](playText(t, "\nmaterials:\n  sodium cyanide: {amount: 0.5 g}\nsteps:\n  - {discard: sodium cyanide, into: contaminated solid}\n"))[0]
	if d.Better != "cyanide" {
		t.Errorf("solid cyanide is sent to %s", d.Better)
	}
}

// The salt of an amine goes into the water, also one that only a reaction names.
func TestAmmoniumSaltGoesIntoTheWater(t *testing.T) {
	const text = `
materials:
  benzoyl chloride: {amount: 10 mmol}
  diethylamine: {amount: 20 mmol}
  toluene: {amount: 20 mL}
  water: {amount: 20 mL}
apparatus:
  flask: {kind: round-bottom flask, size: 100 mL}
  separating funnel: {kind: separating funnel, size: 125 mL}
reactions:
  - {consumes: {benzoyl chloride: 1, diethylamine: 2}, gives: {"N,N-diethylbenzamide": 1, diethylammonium chloride: 1}, in: flask, conversion: 100 %}
steps:
  - {charge: toluene, to: flask}
  - {charge: diethylamine, to: flask}
  - {add: benzoyl chloride, to: flask, over: 20 min, bath: ice}
  - {extract: flask, with: water, in: separating funnel, vented: yes, gives: {organic: toluene layer, aqueous: water layer}}
`
	got, _ := heldBy(t, text, "water layer")
	holdsAbout(t, "water layer", got, map[string]float64{"diethylammonium chloride": 10})
	got, _ = heldBy(t, text, "toluene layer")
	holdsAbout(t, "toluene layer", got, map[string]float64{"diethylammonium chloride": 0, "N,N-diethylbenzamide": 10})
}

// What comes off a column goes to waste with its eluent, and solids have a mass, a
// place in the bottle and what wets them. By hand: 50 mL of tetrahydrofuran (0.889
// g/mL) from 200 to the residual ppm; 16 students with 4 g each are 64 g.
func TestSolidsAndEluents(t *testing.T) {
	text := `
section: {students: 8, time: 4 h}
materials:
  tetrahydrofuran: {amount: 50 mL, water: 200 ppm}
  molecular sieves 3A: {amount: 10 g}
  benzophenone: {amount: 1.82 g}
  hexanes: {amount: 300 mL}
  silica gel: {amount: 40 g}
apparatus:
  flask: {kind: round-bottom flask, size: 100 mL}
steps:
  - {dry: tetrahydrofuran, with: molecular sieves 3A, load: 20 % m/v, for: 72 h, before the section: true}
  - {charge: benzophenone, to: flask}
  - {add: tetrahydrofuran, to: flask, amount: 20 mL}
  - {chromatograph: flask, on: silica gel, with: hexanes, gives: {eluate: eluate}}
  - {concentrate: eluate, gives: {residue: crude}}
  - {discard: silica gel, into: solid}
  - {discard: molecular sieves 3A, into: solid}
  - {discard: solvent from eluate, into: non-halogenated organic}
`
	tr := playText(t, text)
	d := map[string]*DiscardFacts{}
	for _, f := range eventsOf[*DiscardFacts](tr) {
		d[f.Stream] = f
	}
	near(t, "eluent and solvent, mL", d["solvent from eluate"].VolumeML.V, 320, 0.01)
	near(t, "silica, g", d["silica gel"].SolidG.V, 40, 1e-9)
	near(t, "silica for the section, L", d["silica gel"].SectionL.V, 8*40/0.5/1000, 1e-9)
	sieves := d["molecular sieves 3A"]
	left := eventsOf[*DryingFacts](tr)[0].ResidualPPM.V
	near(t, "water in the sieves, g", sieves.WaterTakenG.V, 50*0.889*(200-left)*1e-6, 0.01)
	if sieves.WetWith != "tetrahydrofuran" || d["silica gel"].WetWith != "hexanes" || !sieves.Solid || sieves.WetML.V != 5 {
		t.Errorf("sieves %+v; silica wet with %q", sieves, d["silica gel"].WetWith)
	}
	for _, c := range eventsOf[*ContainerFacts](tr) {
		if c.Container == "solid" {
			near(t, "solids of the section, L", c.Litres.V, 8*(80+10)/1000.0, 1e-9)
		}
	}
	// ether saturated with water, 1.468 g in 100 g at 25 °C (IUPAC-NIST solubility
	// database 1.2 to 1.5): 90 mL hold 0.8 to 1.0 g
	tr = playText(t, `
materials:
  diethyl ether: {amount: 90 mL}
  water: {amount: 20 mL}
  magnesium sulfate: {amount: 4 g}
apparatus:
  flask: {kind: round-bottom flask, size: 250 mL}
steps:
  - {charge: diethyl ether, to: flask}
  - {extract: flask, with: water, gives: {organic: ether layer, aqueous: water layer}}
  - {dry: ether layer, with: magnesium sulfate, for: 10 min}
`)
	f := eventsOf[*DryingFacts](tr)[0]
	if f.WaterG.V < 0.75 || f.WaterG.V > 1.0 {
		t.Errorf("water in the ether layer: %v g", f.WaterG)
	}
	near(t, "what 4 g of magnesium sulfate take, g", f.CapacityG.V, 4*7*18.015/120.37, 0.001) // to the heptahydrate
}

// Dewars that stand open boil away together; of cylinders the largest empties. 6 × 10 L
// of liquid nitrogen are 42 m³ of gas of 700 L each: of 200 m³ of air 20.95 % · 158/200.
func TestRoomOfSeveralDewars(t *testing.T) {
	for rows, want := range map[string]float64{
		"dewar: {kind: Dewar, size: 10 L, fill: liquid nitrogen, count: 6}":                   20.95 * (200 - 42) / 200,
		"dewar: {kind: Dewar, size: 10 L, fill: liquid nitrogen}":                             20.95 * (200 - 7) / 200,
		"cylinder: {kind: gas cylinder, size: 50 L, pressure: 200 bar, gas: argon, count: 4}": 20.95 * (200 - 50*200/1.01325/1000*1.01325) / 200,
	} {
		f := eventsOf[*ProcedureFacts](playText(t, "\napparatus:\n  flask: {kind: beaker, size: 100 mL}\n  "+rows+"\nsteps:\n  - {stand: flask, for: 1 min}\n"))[0]
		near(t, rows, f.RoomOxygen.V, want, 0.002)
	}
}

// Zinc is dissolved by acids, not by alcohols or water in the cold.
func TestZincStaysInAlcohol(t *testing.T) {
	text := `
materials:
  zinc: {amount: 10 mmol}
  ethanol: {amount: 20 mL}
apparatus:
  flask: {kind: round-bottom flask, size: 100 mL}
steps:
  - {charge: ethanol, to: flask}
  - {charge: zinc, to: flask}
`
	got, _ := heldBy(t, text, "flask")
	holdsAbout(t, "zinc in ethanol", got, map[string]float64{"zinc": 10})
}
