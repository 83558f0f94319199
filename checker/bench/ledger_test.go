package bench

import (
	"math"
	"strings"
	"testing"
)

// A dispersion is as strong as its row says, wherever the row says it: 2.0 g of 60 %
// sodium hydride are 2000·0.60/23.998 = 50.0 mmol (IUPAC 2021 atomic weights).
func TestStrengthOfADispersion(t *testing.T) {
	const steps = "\napparatus:\n  flask: {kind: round-bottom flask, size: 100 mL}\nsteps:\n  - {charge: sodium hydride, to: flask}\n"
	for _, row := range []string{
		"{solution: 60 % dispersion in mineral oil, amount: 2.0 g}",
		"{amount: 2.0 g, purity: 60 %, form: dispersion in mineral oil}",
		"{amount: 2.0 g, form: 60 % dispersion in mineral oil}",
		"{amount: 2.0 g, grade: 60% suspension in paraffin}",
		"{amount: 2.0 g, note: as a 60 wt% dispersion in oil}",
	} {
		for _, m := range eventsOf[*MaterialEvent](playText(t, "\nmaterials:\n  sodium hydride: "+row+steps)) {
			near(t, row, m.Material.Mmol.V, 50.0, 0.002)
		}
	}
	// a percentage that is no strength
	for _, row := range []string{"{amount: 2.0 g, note: washed free of oil; 60 % of the class uses it}", "{amount: 2.0 g, form: powder}"} {
		for _, m := range eventsOf[*MaterialEvent](playText(t, "\nmaterials:\n  sodium hydride: "+row+steps)) {
			near(t, row, m.Material.Mmol.V, 83.34, 0.002)
		}
	}
}

// 3.28 g of a solid with 0.5 % of water bring 3.28·0.005/18.015 = 0.910 mmol to the
// Grignard reagent, dried ones none; a solid that is called damp is asked about.
func TestDampSolid(t *testing.T) {
	water := func(row, step string) *WaterFacts {
		tr := playText(t, `
materials:
  ether: {substance: diethyl ether, amount: 40 mL, water: 0 ppm}
  benzophenone: {amount: 3.28 g`+row+`}
  phenylmagnesium bromide: {solution: 1.0 M in diethyl ether, amount: 20 mL}
apparatus:
  flask: {kind: round-bottom flask, size: 250 mL, dry: true}
steps:
`+step+`  - {backfill: flask, with: nitrogen, vacuum: 1 mbar, cycles: 3, outlet: bubbler}
  - {charge: benzophenone, to: flask, under: counter-flow of nitrogen}
  - {add: ether, to: flask, by: syringe}
  - {add: phenylmagnesium bromide, to: flask, by: syringe, over: 10 min}
`)
		return eventsOf[*WaterFacts](tr)[0]
	}
	f := water(", water: 0.5 %", "")
	near(t, "water of the solid, mmol", f.SolidMmol.V, 0.910, 0.002)
	near(t, "its share, %", f.LossPercent.V, 4.55, 0.005)
	if f := water(", water: 0.5 %", "  - {dry: benzophenone, in: vacuum desiccator, for: 12 h}\n"); f.SolidMmol.V != 0 {
		t.Errorf("dried: %v mmol", f.SolidMmol.V)
	}
	if f := water("", ""); !f.LossPercent.Known || f.SolidMmol.V != 0 {
		t.Errorf("as it comes: %+v", f.SolidMmol)
	}
	f = water(", form: damp crystals", "")
	if f.LossPercent.Known || !strings.Contains(f.LossPercent.Ask(), "damp benzophenone") {
		t.Errorf("called damp: %+v", f.LossPercent)
	}
}

// A phenol with an aldehyde group takes two of a Grignard reagent, the proton first:
// 30 mmol over 10 mmol leave 10.
func TestBothSitesOfASubstrate(t *testing.T) {
	live := func(substrate string) float64 {
		tr := playText(t, `
materials:
  ether: {substance: diethyl ether, amount: 40 mL, water: 0 ppm}
  substrate: {substance: `+substrate+`, amount: 10 mmol}
  methylmagnesium bromide: {solution: 3.0 M in diethyl ether, amount: 10 mL}
apparatus:
  flask: {kind: round-bottom flask, size: 250 mL, dry: true}
steps:
  - {backfill: flask, with: nitrogen, vacuum: 1 mbar, cycles: 3, outlet: bubbler}
  - {add: ether, to: flask, by: syringe}
  - {add: methylmagnesium bromide, to: flask, by: syringe}
  - {add: substrate, to: flask, under: counter-flow of nitrogen, portions: 4}
`)
		return tr.Steps[len(tr.Steps)-1].Vessels["flask"].LiveMmol["methylmagnesium bromide"]
	}
	near(t, "hydroxybenzaldehyde", live("4-hydroxybenzaldehyde"), 10, 0.01)
	near(t, "phenol", live("phenol"), 20, 0.01)
	near(t, "benzaldehyde", live("benzaldehyde"), 20, 0.01)
	near(t, "acetylacetone: its enolate has no carbonyl left to add to", live("acetylacetone"), 20, 0.01)
}

// A sweep starts from the gas that stands there: what three cycles left is not made
// worse by a flow, and a neck that was opened starts again from air.
func TestSweepAfterCycles(t *testing.T) {
	oxygen := func(steps string) Num {
		tr := playText(t, `
materials:
  toluene: {amount: 20 mL}
apparatus:
  flask: {kind: Schlenk flask, size: 250 mL, dry: true}
  line: {kind: Schlenk line, gas: nitrogen, purity: 99.99 %}
steps:
`+steps+`  - {check: flask}
`)
		f := eventsOf[*StepFacts](tr)
		return f[len(f)-1].Vessel.OxygenPPM
	}
	const cycles = "  - {backfill: flask, with: nitrogen, from: line, vacuum: 10 mbar, cycles: 3}\n"
	const sweep = "  - {purge: flask, with: nitrogen, from: line, outlet: bubbler, flow: 100 mL/min, for: 1 min}\n"
	// the gas is a ten-thousandth air: 21 ppm of oxygen
	near(t, "cycles", oxygen(cycles).V, 0.2095e6*(1e-4+9.6e-7), 0.01)
	near(t, "a short sweep after cycles", oxygen(cycles+sweep).V, 0.2095e6*1e-4, 0.01)
	near(t, "a short sweep of air", oxygen(sweep).V/1e6, 0.2070*0.6703, 0.01) // exp(-0.4)
	near(t, "opened between", oxygen(cycles+"  - {open: flask}\n"+sweep).V/1e6, 0.2070*0.6703, 0.01)
	near(t, "two sweeps", oxygen(sweep+sweep).V/1e6, 0.2070*0.4493, 0.01) // exp(-0.8)
	if o := oxygen(sweep + "  - {open: flask}\n  - {blanket: flask, with: nitrogen, from: line, outlet: bubbler}\n"); o.Known {
		t.Errorf("opened and put under gas again: %v ppm, known", o.V)
	}
}

// Air that was stoppered in a flask goes into the glovebox with it: 250 mL of air
// spread over 1 m³ are 52 ppm of oxygen beside the box's own.
func TestAirShutInGoesIntoTheBox(t *testing.T) {
	oxygen := func(steps, sealed string) float64 {
		tr := playText(t, `
materials:
  potassium hydride: {amount: 1 g}
apparatus:
  flask: {kind: Schlenk flask, size: 250 mL, dry: true}
  box: {kind: glovebox, gas: argon, oxygen: 2 ppm, water: 0.5 ppm}
steps:
`+steps+`  - {introduce: flask, into: box, cycles: 3`+sealed+`}
  - {check: flask}
  - {charge: potassium hydride, to: flask}
  - {check: flask}
`)
		f := eventsOf[*StepFacts](tr)
		if shut := f[len(f)-3].Vessel.OxygenPPM.V; sealed != "" && steps == "" {
			near(t, "while it is shut", shut, 0.207e6, 0.01)
		}
		return f[len(f)-1].Vessel.OxygenPPM.V
	}
	near(t, "stoppered", oxygen("", ", sealed: true"), 2+0.207*250, 0.01)
	near(t, "open", oxygen("", ""), 2, 1e-9)
	near(t, "closed under argon", oxygen("  - {backfill: flask, with: argon, vacuum: 1 mbar, cycles: 3}\n  - {seal: flask}\n", ", sealed: true"), 2, 1e-9)
}

// 4.4 g of dry ice (100 mmol) shut into 160 mL of head space at −78 °C and warmed to
// 22 °C: nRT/V = 0.1·0.083145·295.15/0.160 = 15.3 bar, the gas there 1.0133·295.15/195.15
// = 1.53; the heating says the same as the closing.
func TestDryIceShutInIsHeated(t *testing.T) {
	tr := playText(t, `
materials:
  toluene: {amount: 40 mL}
  dry ice: {amount: 4.4 g}
apparatus:
  flask: {kind: Schlenk flask, size: 200 mL}
steps:
  - {add: toluene, to: flask}
  - {cool: flask, to: -78 °C, bath: dry ice / acetone, for: 15 min}
  - {add: dry ice, to: flask}
  - {seal: flask}
  - {warm: flask, to: 22 °C, for: 1 h}
`)
	heating := eventsOf[*HeatingFacts](tr)
	near(t, "heating, bar", heating[len(heating)-1].PressureBar.V, 15.3+1.53+0.03, 0.01)
	for _, c := range eventsOf[*ClosureFacts](tr) {
		near(t, "closure, bar", c.PressureBar.V, 15.3+1.53+0.03, 0.01)
	}
}

// Heat of solution: 20 g of potassium hydroxide (356.5 mmol at 57.61 kJ/mol, Parker,
// NSRDS-NBS 2) give 20.5 kJ in 50 mL of water; 4.0 g of sodium hydroxide (44.51) 4.45
// kJ in 100 mL; a solution has given it before, and toluene takes none.
func TestCausticIntoWater(t *testing.T) {
	heat := func(what, into string) Num {
		tr := playText(t, `
materials:
  caustic: {substance: `+what+`}
  liquid: {substance: `+into+`}
apparatus:
  beaker: {kind: beaker, size: 500 mL}
steps:
  - {add: liquid, to: beaker}
  - {add: caustic, to: beaker, over: 5 min}
`)
		f := eventsOf[*AdditionFacts](tr)
		return f[len(f)-1].HeatKJ
	}
	near(t, "potassium hydroxide, kJ", heat("potassium hydroxide, amount: 20 g", "water, amount: 50 mL").V, 20.5, 0.005)
	near(t, "sodium hydroxide, kJ", heat("sodium hydroxide, amount: 4.0 g", "water, amount: 100 mL").V, 4.45, 0.005)
	near(t, "sodium hydroxide and acid, kJ", heat("sodium hydroxide, amount: 4.0 g", "hydrochloric acid, solution: 1 M in water, amount: 100 mL").V, 4.45+5.6, 0.02)
	if q := heat("sodium hydroxide, solution: 2 M in water, amount: 50 mL", "water, amount: 100 mL"); q.V != 0 {
		t.Errorf("a solution into water: %v kJ", q.V)
	}
	if q := heat("sodium hydroxide, amount: 4.0 g", "toluene, amount: 100 mL"); q.V != 0 {
		t.Errorf("into toluene: %v kJ", q.V)
	}
}

// Glass that is washed with water after its oven is wet again: 100 mg for 100 mL,
// 13.9 mmol in a 250 mL flask; dried once more it is dry.
func TestGlassWashedAfterDrying(t *testing.T) {
	glass := func(steps string) float64 {
		tr := playText(t, `
materials:
  ether: {substance: diethyl ether, amount: 40 mL, water: 0 ppm}
  phenylmagnesium bromide: {solution: 1.0 M in diethyl ether, amount: 20 mL}
apparatus:
  flask: {kind: round-bottom flask, size: 250 mL}
steps:
  - {dry: flask, in: oven, at: 130 °C, for: 4 h}
`+steps+`  - {backfill: flask, with: nitrogen, vacuum: 1 mbar, cycles: 3, outlet: bubbler}
  - {add: ether, to: flask, by: syringe}
  - {add: phenylmagnesium bromide, to: flask, by: syringe, over: 10 min}
`)
		return eventsOf[*WaterFacts](tr)[0].GlassMmol.V
	}
	near(t, "washed", glass("  - {clean: flask, with: water}\n"), 13.88, 0.005)
	near(t, "rinsed", glass("  - {rinse: flask, with: water}\n"), 13.88, 0.005)
	if n := glass("  - {clean: flask, with: water}\n  - {dry: flask, in: oven, at: 130 °C, for: 4 h}\n") + glass(""); n != 0 {
		t.Errorf("dried again: %v mmol", n)
	}
}

// A 250 mL flask with 42 mL in it, near its boiling point (95 % vapour is the most that
// is counted of 208 mL of head space), set into ice draws in close to all of that, as
// Contraction says: of 250 mL of 2 M caustic behind a dipping tube all but 100 mL pass a
// trap of 100 mL. Dilute caustic holds about 55 mol of water in a litre.
func TestScrubberComesOver(t *testing.T) {
	cool := func(scrub, flow string) *HeatingFacts {
		tr := playText(t, `
materials:
  thionyl chloride: {amount: 10 mL}
  xylene: {amount: 32 mL, grade: anhydrous}
  sodium hydroxide: {solution: 2 M in water, amount: 250 mL}
apparatus:
  flask: {kind: round-bottom flask, size: 250 mL, dry: true}
  condenser: {kind: reflux condenser, on: flask}
  trap: {kind: wash bottle, size: 100 mL, note: empty}
  large trap: {kind: wash bottle, size: 500 mL, note: empty}
steps:
  - {add: [xylene, thionyl chloride], to: flask}
  - {scrub: flask, with: sodium hydroxide`+scrub+`}
  - {heat: flask, to: 100 °C, bath: oil, for: 1 h}
  - {cool: flask, to: 0 °C, bath: ice, for: 10 min`+flow+`}
`)
		h := eventsOf[*HeatingFacts](tr)
		return h[len(h)-1]
	}
	f := cool(", through: trap, tip: below the surface", "")
	near(t, "contraction", f.ContractionML.V, 188, 0.03)
	near(t, "what comes over, mL", f.DrawnML.V, f.ContractionML.V-100, 1e-9)
	near(t, "its water, mmol", f.DrawnWaterMmol.V, f.DrawnML.V*55.4, 0.02)
	near(t, "its share, %", f.DrawnPercent.V, 100, 1e-9)
	if g := cool(", tip: below the surface", ""); math.Abs(g.DrawnML.V-f.ContractionML.V) > 1e-9 {
		t.Errorf("without a trap: %v mL", g.DrawnML.V)
	}
	for _, s := range []string{", through: large trap, tip: below the surface", ", tip: above the liquid"} {
		if g := cool(s, ""); g.DrawnML.Known && g.DrawnML.V > 0 {
			t.Errorf("%s: %v mL", s, g.DrawnML.V)
		}
	}
}

// Of thionyl chloride the compendium has the boiling point alone, 75.6 °C: 85 J/(mol K)
// (Trouton) put it at 15 kPa at 22 °C; handbooks have 12.9 kPa (97 mmHg) at 20 °C. With
// that, one to one with toluene by mol it boils between the two, near 90 °C, and not at
// the 111 °C of the toluene.
func TestVapourFromTheBoilingPoint(t *testing.T) {
	b := benchOf(t, "steps: []\n")
	sp := b.lookup("thionyl chloride")
	p, ok := sp.vapourAt(20)
	if !ok {
		t.Fatal("no vapour pressure")
	}
	near(t, "thionyl chloride at 20 °C, mbar", p, 129, 0.15)
	v := &vessel{contents: []portion{{sp: sp, mmol: 100, ml: 7}, {sp: b.lookup("toluene"), mmol: 100, ml: 11}}}
	bp, ok := v.bubblePoint(Atm)
	if !ok || bp < 84 || bp > 94 {
		t.Errorf("boils at %v °C", bp)
	}
	alone := &vessel{contents: []portion{{sp: sp, mmol: 100, ml: 7}}}
	if bp, _ := alone.bubblePoint(Atm); math.Abs(bp-75.6) > 0.1 {
		t.Errorf("alone: %v °C", bp)
	}
}

// Under a pump the head space holds so much less oxygen: air over 90 mL at 20 mbar has
// 0.207·2000·90e-6/(8.314·295.15) = 0.0152 mmol of it, not the 0.77 mmol of 1 atm.
func TestOxygenUnderVacuum(t *testing.T) {
	tr := playText(t, `
materials:
  hexane: {amount: 150 mL, water: 0 ppm}
  n-butyllithium: {solution: 1.6 M in hexanes, amount: 10 mL}
apparatus:
  flask: {kind: round-bottom flask, size: 250 mL, dry: true}
steps:
  - {guard: flask, with: calcium chloride}
  - {add: hexane, to: flask, by: syringe}
  - {add: n-butyllithium, to: flask, by: syringe}
  - {evacuate: flask, vacuum: 20 mbar}
`)
	e := eventsOf[*ExposureFacts](tr)
	near(t, "oxygen, mmol", e[len(e)-1].OxygenMmol.V, 0.207*2000*90e-6/(8.314*295.15)*1000, 0.02)
	if live := tr.Steps[len(tr.Steps)-1].Vessels["flask"].LiveMmol["n-butyllithium"]; live < 15.9 {
		t.Errorf("the pumped air takes butyllithium down to %v mmol", live)
	}
}

// A stream led through water at 20 mL/min for two hours carries 2.4 L of gas saturated
// at 22 °C, 26.4 mbar: 2640·2.4e-3/(8.314·295.15) = 2.58 mmol of water over the charge;
// a dry one none, and one whose flow is not written is taken as 10 mL/min.
func TestMoistStreamOverTheCharge(t *testing.T) {
	air := func(line, flow string) Num {
		tr := playText(t, `
materials:
  hexane: {amount: 50 mL, water: 0 ppm}
  n-butyllithium: {solution: 1.6 M in hexanes, amount: 10 mL}
apparatus:
  flask: {kind: round-bottom flask, size: 100 mL, dry: true}
  line: {kind: Schlenk line, gas: nitrogen`+line+`}
steps:
  - {backfill: flask, with: nitrogen, from: line, vacuum: 1 mbar, cycles: 3}
  - {blanket: flask, with: nitrogen, from: line, outlet: bubbler`+flow+`}
  - {add: hexane, to: flask, by: syringe}
  - {add: n-butyllithium, to: flask, by: syringe}
  - {stir: flask, for: 2 h}
`)
		return eventsOf[*WaterFacts](tr)[0].AirMmol
	}
	const wet = ", note: led through water"
	head := GasMmol(40, SaturationMbar(22), 22)
	near(t, "stated", air(wet, ", flow: 20 mL/min").V, 2.58+head, 0.01)
	near(t, "not stated", air(wet, "").V, 1.29+head, 0.01)
	if n := air("", ", flow: 20 mL/min"); n.V > 1e-3 {
		t.Errorf("dry nitrogen: %v mmol", n.V)
	}
}

// What degassing leaves is told with its step: 50 mL of toluene hold about 0.1 mmol of
// oxygen under air, and three cycles under 1 mbar leave less than a hundredth.
func TestStepTellsDissolvedOxygen(t *testing.T) {
	left := func(step string) *StepFacts {
		tr := playText(t, `
materials:
  toluene: {amount: 50 mL}
apparatus:
  flask: {kind: Schlenk flask, size: 100 mL}
steps:
  - {add: toluene, to: flask}
  - `+step+`
`)
		f := eventsOf[*StepFacts](tr)
		return f[len(f)-1]
	}
	f := left("{degas: flask, with: freeze–pump–thaw, cycles: 3, vacuum: 1 mbar}")
	near(t, "mmol", f.AirMmol.V, 0.1*f.AirLeft.V/100, 0.15)
	if f.AirLeft.V <= 0 || f.AirLeft.V > 1.5 {
		t.Errorf("%v %% left", f.AirLeft.V)
	}
	if f := left("{sparge: flask, with: nitrogen}"); f.AirLeft.Known || f.AirLeft.Ask() == "" {
		t.Errorf("no flow written: %+v", f.AirLeft)
	}
}
