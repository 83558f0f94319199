package bench

import (
	"math"
	"testing"
)

// Pressure drops in tubes: OpenStax, College Physics, example 12.8 (saline through
// a needle of 0.150 mm radius and 2.50 cm at 0.120 cm³/s: 1.52·10⁴ Pa of the 1.62·10⁴
// with the 8 mm of mercury of the vein).
func TestPoiseuilleWorkedExample(t *testing.T) {
	d, l, q := 0.3e-3, 0.025, 0.12e-6
	near(t, "formula", 128*1.0e-3*l*q/(math.Pi*math.Pow(d, 4)), 1.62e4-8*133.322, 0.01)
	// as a tube of gas: the two velocity heads are what is added
	drop := TubeDrop(Tube{0.3, 25}, 0.12e-6*60000, 1.0e-3, 1e-9) * 100
	near(t, "TubeDrop", drop, 1.62e4-8*133.322, 0.01)
}

// Gas through needles: drop and flow are one another's reverse, thinner and longer
// never pass more, and turbulence never passes more than Poiseuille's law.
func TestTubeFlow(t *testing.T) {
	last := math.Inf(1)
	for _, g := range []float64{14, 16, 18, 20, 22, 25} {
		tube := Tube{bores[g], 40}
		q := TubeFlow(tube, 20, 17.7e-6, 28)
		near(t, "back", TubeDrop(tube, q, 17.7e-6, 28), 20, 1e-6)
		laminar := 2000 * math.Pi * math.Pow(bores[g]/1000, 4) / (128 * 17.7e-6 * 0.04) * 60000
		if q >= last || q > laminar {
			t.Errorf("%v gauge: %v L/min, laminar %v, thicker %v", g, q, laminar, last)
		}
		if long := TubeFlow(Tube{bores[g], 80}, 20, 17.7e-6, 28); long >= q {
			t.Errorf("%v gauge: a longer needle passes more", g)
		}
		last = q
	}
	// the older estimate of the rules: half a litre a minute through 20 gauge at
	// 20 mbar in laminar flow alone is of that order
	if q := TubeFlow(Tube{bores[20], 40}, 20, 17.7e-6, 28); q < 0.4 || q > 2 {
		t.Errorf("20 gauge at 20 mbar: %v L/min", q)
	}
	for _, g := range []float64{10, 12, 15, 17, 19, 21, 23, 24, 27} {
		if bores[g] <= 0 {
			t.Errorf("no bore of %v gauge", g)
		}
	}
}

// Ergun's equation with the laminar term alone is that of Kozeny and Carman with
// 150; at high speed the other term counts alone (both limits of Ergun 1952).
func TestErgun(t *testing.T) {
	const eta = 17.7e-6
	slow := BedDrop(15, 100, 4, 0.4, 1e-4, eta, 28) * 100
	u := 1e-4 / 60000 / (math.Pi * 0.0075 * 0.0075)
	near(t, "slow", slow, 0.1*150*eta*0.36*u/(0.064*16e-6), 0.01)
	fast := BedDrop(15, 100, 4, 0.4, 1e4, eta, 28) * 100
	u *= 1e8
	near(t, "fast", fast, 0.1*1.75*(28/MolarGas)*0.6*u*u/(0.064*4e-3), 0.01)
}

// Pumping down: Dekker, evacuation of a closed vessel: 750 ft³ from 760 to 150
// torr in 3 min, expansion factor 1.62, 1215 ft³ of air, a pump of 405 ft³/min.
func TestPumpDownWorkedExample(t *testing.T) {
	const ft3 = 28.3168
	near(t, "expansion factor", math.Log(760.0/150), 1.62, 0.003)
	near(t, "min", PumpDown(750*ft3, 405*ft3, 760, 150, 0, 0, 0), 3, 0.003)
	// conductances of Leybold, Fundamentals of Vacuum Technology: 135 d⁴ p/l and
	// 12.1 d³/l, so that 1 cm by 1 m at 1 mbar has 1.35 + 0.12 L/s
	near(t, "conductance", HoseConductance(1, 100, 1), 1.471, 1e-3)
	if !math.IsInf(PumpDown(1, 50, Atm, 0.5, 1, 0, 0), 1) {
		t.Error("a pump that ends at 1 mbar reaches 0.5")
	}
	free, hose := PumpDown(1, 50, Atm, 0.1, 0.01, 0, 0), PumpDown(1, 50, Atm, 0.1, 0.01, 0.8, 150)
	if hose <= free {
		t.Errorf("a hose costs nothing: %v, %v min", free, hose)
	}
}

// Newton's law of cooling: OpenStax, Calculus volume 2, section 2.8: coffee of 200 °F
// in a room of 70 °F is at 180 °F after 2 min; it is first fit to serve (175 °F) at
// about 2.5 min and too cold (155 °F) from about 5 min.
func TestCoolingWorkedExample(t *testing.T) {
	tau := 2 / math.Log(130.0/110)
	near(t, "first", CoolingTime(tau, 200, 175, 70), 2.56, 0.005)
	near(t, "last", CoolingTime(tau, 200, 155, 70), 5.09, 0.005)
	near(t, "back", CooledTo(tau, 200, 70, 2), 180, 1e-9)
	if !math.IsInf(CoolingTime(1, 20, -20, 0), 1) {
		t.Error("a bath at 0 reaches −20")
	}
}

// Evaporation: Stoessel's table of energy equivalents, 100 kJ/kg evaporates 0.1
// kg of methanol per kg, 2000 kJ/kg 1.8 kg.
func TestEvaporationWorkedExample(t *testing.T) {
	for kJ, kg := range map[float64]float64{100: 0.1, 2000: 1.8} {
		near(t, "methanol", Evaporated(kJ, 35.21)*32.042/1e6, kg, 0.1)
	}
	near(t, "at 1100 kJ/kg", Evaporated(100, 35.21)*32.042/1e6, 100.0/1100, 0.005)
}

// A litre in a bath has a time constant near twice that of 100 mL (the radius
// counts), and heat in a bath goes twenty times as fast as in air.
func TestTimeConstantScales(t *testing.T) {
	small, big := TimeConstant(170, bathU, WallArea(100)), TimeConstant(1700, bathU, WallArea(1000))
	near(t, "tenfold volume", big/small, math.Cbrt(10), 1e-9)
	near(t, "sphere", WallArea(1e6), 4.836, 1e-3)
	if small < 0.5 || small > 5 {
		t.Errorf("100 mL of solvent in ice: %v min", small)
	}
}

const ammonia = `
materials:
  ammonia: {amount: 300 mL, form: liquefied}
  sodium: {amount: 5 g}
  ethanol: {amount: 12 mL}
apparatus:
  flask: {kind: round-bottom flask, size: 1 L, necks: 3}
  condenser: {kind: condenser, on: flask}
steps:
  - {condense: ammonia, to: flask, bath: dry ice / acetone}
  - {add: sodium, to: flask, rate: in small pieces}
`

// Heat in liquid ammonia boils it (23.33 kJ/mol, CRC Handbook) and does not warm
// it; ethanol in its place, not at the boil, gets warm.
func TestCondensedGasIsAHeatSink(t *testing.T) {
	tr := playText(t, ammonia+"  - {add: ethanol, to: flask, over: 10 min}\n")
	add := eventsOf[*AdditionFacts](tr)
	f := add[len(add)-1]
	if !f.HeatKJ.Known || f.HeatKJ.V <= 0 {
		q := eventsOf[*QuenchFacts](tr)
		if len(q) == 0 {
			t.Fatalf("no heat: %+v", f.HeatKJ)
		}
		near(t, "vapour", q[0].VapourL.V, GasLitres(q[0].HeatKJ.V/23.33*1000), 1e-6)
		if q[0].Boils != "ammonia" || q[0].RiseK.V != 0 {
			t.Errorf("boils %q, rise %v", q[0].Boils, q[0].RiseK)
		}
		return
	}
	near(t, "vapour", f.VapourL.V, GasLitres(f.HeatKJ.V/23.33*1000), 1e-6)
	if f.Boils != "ammonia" || f.RiseK.V != 0 {
		t.Errorf("boils %q, rise %v", f.Boils, f.RiseK)
	}
}

// A closed flask of liquid ammonia holds its vapour pressure and no more while
// liquid is left: 10 atm at 25.7 °C, 5 atm at 4.7 °C (CRC Handbook), beside the air
// shut in with it; a few drops hold only what they make.
func TestClosedCondensedGas(t *testing.T) {
	for _, w := range []struct {
		tC, atm float64
	}{{25.7, 10}, {4.7, 5}} {
		tr := playText(t, "\nmaterials:\n  ammonia: {amount: 300 mL, form: liquefied}\napparatus:\n  flask: {kind: pressure vessel, size: 1 L, rated: 20 bar}\nsteps:\n  - {condense: ammonia, to: flask, bath: dry ice / acetone}\n  - {seal: flask}\n  - {heat: flask, to: "+num(w.tC)+" °C, bath: water bath, for: 1 h}\n")
		var got float64
		for _, h := range eventsOf[*HeatingFacts](tr) {
			if h.Verb == "heat" {
				got = h.PressureBar.V
			}
		}
		air := Atm / 1000 * (w.tC + zeroC) / (-33.3 + zeroC)
		near(t, "bar", got-air, w.atm*Atm/1000, 0.03)
	}
	tr := playText(t, "\nmaterials:\n  ammonia: {amount: 1 mL, form: liquefied}\napparatus:\n  flask: {kind: pressure vessel, size: 1 L, rated: 20 bar}\nsteps:\n  - {condense: ammonia, to: flask, bath: dry ice / acetone}\n  - {seal: flask}\n")
	c := eventsOf[*ClosureFacts](tr)
	if len(c) == 0 || c[0].PressureBar.V > 2.5 {
		t.Errorf("a millilitre of ammonia: %+v", c)
	}
}

// Cooling a litre takes the clock along where no time is written, and a written
// time says how far it comes.
func TestCoolingFeedsTheClock(t *testing.T) {
	flask := func(ml, size string, cool string) *Trace {
		return playText(t, "\nmaterials:\n  toluene: {amount: "+ml+" mL}\napparatus:\n  flask: {kind: round-bottom flask, size: "+size+"}\nsteps:\n  - {add: toluene, to: flask}\n  - {cool: flask, bath: ice"+cool+"}\n")
	}
	heating := func(tr *Trace) *HeatingFacts { return eventsOf[*HeatingFacts](tr)[0] }
	small, big := heating(flask("50", "100 mL", ", to: 0 °C")), heating(flask("2000", "4 L", ", to: 0 °C"))
	if !(big.ReachMin.V > 2.5*small.ReachMin.V) {
		t.Errorf("2 L in %v min, 50 mL in %v", big.ReachMin, small.ReachMin)
	}
	end := func(tr *Trace) float64 {
		f := eventsOf[*ProcedureFacts](tr)
		return f[len(f)-1].CriticalPathMin.V
	}
	if a, b := end(flask("50", "100 mL", ", to: 0 °C")), end(flask("2000", "4 L", ", to: 0 °C")); b-a < big.ReachMin.V-small.ReachMin.V-2 {
		t.Errorf("the clock: %v and %v min", a, b)
	}
	part := heating(flask("2000", "4 L", ", to: 0 °C, for: 1 min"))
	if !(part.ReachedC.V > 10 && part.ReachedC.V < 22) {
		t.Errorf("after a minute: %+v", part.ReachedC)
	}
}

// Bath left at a sign: dimethyl sulfoxide cooled until crystals appear at about 125
// °C does not come to the bath's own temperature; without the sign it freezes.
func TestCooledUntilASign(t *testing.T) {
	run := func(until string) *HeatingFacts {
		tr := playText(t, "\nmaterials:\n  dimethyl sulfoxide: {amount: 500 mL}\napparatus:\n  flask: {kind: round-bottom flask, size: 1 L}\nsteps:\n  - {add: dimethyl sulfoxide, to: flask}\n  - {heat: flask, to: 140 °C, bath: oil bath}\n  - {cool: flask, bath: cold water"+until+"}\n")
		h := eventsOf[*HeatingFacts](tr)
		return h[len(h)-1]
	}
	if f := run(", until: 'crystals appear, at about 125 °C'"); f.Frozen || f.TargetC.V != 125 {
		t.Errorf("until 125 °C: %v, frozen %v", f.TargetC, f.Frozen)
	}
	if f := run(", until: crystals appear"); f.Frozen {
		t.Error("until crystals appear: frozen")
	}
	if f := run(""); !f.Frozen {
		t.Error("left in cold water: not frozen")
	}
}

// Cycles too short for the pump leave more oxygen than the stated vacuum would.
func TestShortCycles(t *testing.T) {
	oxygen := func(extra string) (float64, *StepFacts) {
		tr := playText(t, "\napparatus:\n  flask: {kind: Schlenk flask, size: 5 L}\n  line: {kind: Schlenk line, gas: argon, purity: 99.9999 %}\nsteps:\n  - {backfill: flask, with: argon, from: line, vacuum: 0.05 mbar, cycles: 3"+extra+"}\n")
		return tr.Steps[0].Vessels["flask"].OxygenPPM, eventsOf[*StepFacts](tr)[0]
	}
	full, f := oxygen("")
	long, _ := oxygen(", for: 120 min")
	short, g := oxygen(", for: 1 min")
	if full != long || !(short > 10*full) {
		t.Errorf("%v, %v, %v ppm", full, long, short)
	}
	if !(f.PumpMin.V > 1 && g.ReachedMbar.V > 1 && g.PumpedMin.V > 0.16 && g.PumpedMin.V < 0.17) {
		t.Errorf("pump %v min, reached %v mbar in %v min", f.PumpMin, g.ReachedMbar, g.PumpedMin)
	}
}

// Gas against its way out.
func TestGasThroughTheWayOut(t *testing.T) {
	run := func(outlet, over string) *ReleaseFacts {
		tr := playText(t, `
materials:
  sodium hydride: {amount: 15 g, purity: 60 %, form: dispersion in mineral oil}
  tetrahydrofuran: {amount: 300 mL, water: 10 ppm}
  2-propanol: {amount: 60 mL, role: reagent}
apparatus:
  flask: {kind: round-bottom flask, size: 1 L, necks: 3, dry: true}
  thin: {kind: needle, gauge: 25}
  line: {kind: inert gas line, gas: nitrogen, relief: bubbler}
steps:
  - {blanket: flask, with: nitrogen, from: line, outlet: `+outlet+`}
  - {add: tetrahydrofuran, to: flask, by: syringe}
  - {add: sodium hydride, to: flask, under: nitrogen}
  - {add: 2-propanol, to: flask, by: syringe, over: `+over+`}
`)
		r := eventsOf[*ReleaseFacts](tr)
		if len(r) == 0 {
			t.Fatal("no gas")
		}
		return r[len(r)-1]
	}
	wide, narrow, thin := run("14 gauge needle", "10 min"), run("22 gauge needle", "10 min"), run("thin", "10 min")
	if !(wide.OutletLPerMin.V > narrow.OutletLPerMin.V && narrow.OutletLPerMin.V > thin.OutletLPerMin.V && thin.OutletLPerMin.V > 0) {
		t.Errorf("14, 22, 25 gauge: %v, %v, %v", wide.OutletLPerMin, narrow.OutletLPerMin, thin.OutletLPerMin)
	}
	if !(narrow.OutletMbar.V > wide.OutletMbar.V) {
		t.Errorf("back pressure: %v, %v", narrow.OutletMbar, wide.OutletMbar)
	}
	near(t, "peak", wide.PeakLPerMin.V, wide.Litres.V/10, 1e-9)
	if b := run("bubbler", "1 min"); !(b.PeakLPerMin.V > b.OutletLPerMin.V) {
		t.Errorf("9 L in a minute by a bubbler: %v against %v", b.PeakLPerMin, b.OutletLPerMin)
	}
}

// What comes into a warm vessel may boil before what is there: ether on water.
func TestMarginOfWhatComesIn(t *testing.T) {
	tr := playText(t, "\nmaterials:\n  diethyl ether: {amount: 50 mL}\n  water: {amount: 100 mL}\napparatus:\n  beaker: {kind: beaker, size: 400 mL}\nsteps:\n  - {add: water, to: beaker}\n  - {heat: beaker, to: 60 °C, bath: hot plate}\n  - {pour: diethyl ether, to: beaker}\n")
	add := eventsOf[*AdditionFacts](tr)
	near(t, "margin", add[len(add)-1].MarginK.V, 34.5-60, 0.02)
	near(t, "own", add[len(add)-1].OwnBoilingC.V, 34.5, 0.02)
}

// A hot litre whose bath is taken away is still hot a quarter of an hour later; a
// test tube is not.
func TestHotWithoutItsBath(t *testing.T) {
	run := func(ml, size string) float64 {
		tr := playText(t, "\nmaterials:\n  toluene: {amount: "+ml+" mL}\napparatus:\n  flask: {kind: round-bottom flask, size: "+size+"}\n  oil bath: {kind: oil bath}\nsteps:\n  - {add: toluene, to: flask}\n  - {heat: flask, to: 100 °C, bath: oil bath}\n  - {remove: oil bath, from: flask}\n  - {stir: flask, for: 15 min}\n  - {stir: flask, for: 10 h}\n")
		if end := tr.Steps[4].Vessels["flask"].TemperatureC; math.Abs(end-22) > 6 {
			t.Errorf("%s mL after ten hours: %v °C", ml, end)
		}
		return tr.Steps[3].Vessels["flask"].TemperatureC
	}
	if got := run("1000", "2 L"); got < 80 || got >= 100 {
		t.Errorf("a litre after 15 min: %v °C", got)
	}
	if got := run("20", "50 mL"); got > 30 {
		t.Errorf("20 mL: %v °C", got)
	}
}

// What is used up as it goes in has met the head space: butyllithium on an
// aldehyde in an open flask, and not one under argon.
func TestUsedUpAtOnce(t *testing.T) {
	run := func(first string) *ExposureFacts {
		tr := playText(t, `
materials:
  benzaldehyde: {amount: 2 g}
  tetrahydrofuran: {amount: 50 mL, water: 10 ppm}
  n-butyllithium: {solution: 1.6 M in hexanes, amount: 10 mL}
apparatus:
  flask: {kind: round-bottom flask, size: 250 mL, necks: 3, dry: true}
  line: {kind: inert gas line, gas: argon, relief: bubbler}
steps:
`+first+`  - {add: tetrahydrofuran, to: flask, by: syringe}
  - {add: benzaldehyde, to: flask, by: syringe}
  - {add: n-butyllithium, to: flask, by: syringe, over: 10 min}
`)
		for _, f := range eventsOf[*ExposureFacts](tr) {
			if f.Species == "n-butyllithium" {
				return f
			}
		}
		return nil
	}
	if f := run(""); f == nil || f.BarrierRank != 0 || f.OxygenPPM.V < 1e5 || math.Abs(f.Mmol-16) > 0.1 {
		t.Errorf("in air: %+v", f)
	}
	if f := run("  - {backfill: flask, with: argon, from: line, vacuum: 1 mbar, cycles: 3}\n"); f == nil || f.BarrierRank != 3 || f.OxygenPPM.V > 10 {
		t.Errorf("under argon: %+v", f)
	}
}

// Cake and filtrate of a filtration under nitrogen stand under nitrogen; in the
// open they do not.
func TestFilteredUnderGas(t *testing.T) {
	for under, ppm := range map[string]float64{", under: nitrogen": 100, "": 3e5} {
		tr := playText(t, `
materials:
  toluene: {amount: 50 mL, grade: anhydrous}
  tetrakis(triphenylphosphine)palladium(0): {amount: 1 g}
apparatus:
  flask: {kind: Schlenk flask, size: 250 mL, dry: true}
  frit: {kind: sintered glass funnel}
  line: {kind: Schlenk line, gas: nitrogen, relief: bubbler}
steps:
  - {backfill: flask, with: nitrogen, from: line, vacuum: 1 mbar, cycles: 3}
  - {charge: tetrakis(triphenylphosphine)palladium(0), to: flask, under: a stream of nitrogen}
  - {add: toluene, to: flask, by: syringe}
  - {filter: flask, through: frit, gives: {cake: yellow crystals, filtrate: liquor}`+under+`}
`)
		v := tr.Steps[3].Vessels
		for _, name := range []string{"liquor"} {
			if got := v[name].OxygenPPM; got > ppm || under == "" && got < 1e5 {
				t.Errorf("%s%s: %v ppm", name, under, got)
			}
		}
	}
}

// The film of a syringe is live: in the beaker that it is rinsed into until that is
// quenched, and in what is thrown away before.
func TestFilmOfASyringe(t *testing.T) {
	run := func(rest string) *Trace {
		return playText(t, `
materials:
  tetrahydrofuran: {amount: 50 mL, water: 10 ppm}
  n-butyllithium: {solution: 1.6 M in hexanes, amount: 10 mL}
  heptane: {amount: 20 mL, water: 1 ppm}
  2-propanol: {amount: 20 mL}
apparatus:
  flask: {kind: round-bottom flask, size: 250 mL, necks: 3, dry: true}
  beaker: {kind: beaker, size: 100 mL, dry: true}
  syringe: {kind: syringe, size: 20 mL, tip: luer-lock}
  line: {kind: inert gas line, gas: argon, relief: bubbler}
steps:
  - {backfill: flask, with: argon, from: line, vacuum: 1 mbar, cycles: 3}
  - {add: tetrahydrofuran, to: flask, by: syringe}
  - {add: n-butyllithium, to: flask, by: syringe, over: 10 min}
`+rest)
	}
	const rinse = "  - {rinse: syringe, with: heptane, to: beaker}\n"
	tr := run(rinse + "  - {destroy: beaker, with: 2-propanol, over: 5 min}\n")
	f := eventsOf[*TransferFacts](tr)[0]
	near(t, "film", f.FilmML.V, 0.2, 1e-9)
	near(t, "film, mmol", f.FilmMmol.V, 0.32, 1e-9)
	near(t, "in the beaker", tr.Steps[3].Vessels["beaker"].LiveMmol["n-butyllithium"], 0.32, 0.05)
	if left := tr.Steps[4].Vessels["beaker"].LiveMmol["n-butyllithium"]; left != 0 {
		t.Errorf("after the alcohol: %v", left)
	}
	tr = run(rinse + "  - {discard: beaker, into: non-halogenated organic}\n")
	if d := eventsOf[*DiscardFacts](tr)[0]; d.LiveMmol < 0.2 {
		t.Errorf("thrown away live: %v mmol", d.LiveMmol)
	}
	tr = run("  - {rinse: syringe, with: heptane, to: beaker}\n  - {rinse: syringe, with: heptane, to: beaker}\n")
	near(t, "only once, less what the air brings", tr.Steps[4].Vessels["beaker"].LiveMmol["n-butyllithium"], 0.32, 0.15)
}

// A sparge of half a minute does not free 20 mL of its oxygen; half an hour does.
func TestSpargedTooShort(t *testing.T) {
	for time, want := range map[string]bool{"30 s": false, "10 min": true} {
		tr := playText(t, `
materials:
  toluene: {amount: 20 mL, grade: anhydrous}
  tetrakis(triphenylphosphine)palladium(0): {amount: 1 g}
apparatus:
  flask: {kind: Schlenk flask, size: 100 mL, dry: true}
  line: {kind: Schlenk line, gas: nitrogen, relief: bubbler}
steps:
  - {sparge: toluene, with: nitrogen, from: line, flow: 20 mL/min, for: `+time+`}
  - {backfill: flask, with: nitrogen, from: line, vacuum: 1 mbar, cycles: 3}
  - {charge: tetrakis(triphenylphosphine)palladium(0), to: flask, under: a stream of nitrogen}
  - {add: toluene, to: flask, by: syringe}
`)
		e := eventsOf[*ExposureFacts](tr)
		if got := e[len(e)-1].Degassed; got != want {
			t.Errorf("%s: degassed %v", time, got)
		}
	}
}

// Heat balance of an addition: slow it stays with the bath, fast it comes to the
// whole rise; between them more heat in less time is never cooler.
func TestHeatBalance(t *testing.T) {
	const c, uA = 200.0, 1.3 // J/K, W/K
	tau := c / uA / 60
	near(t, "at once", HeatedTo(-78, -78, 5000/(0.001*60), uA, tau, 0.001), -78+5000/c, 0.001)
	near(t, "slow", HeatedTo(-78, -78, 5000.0/36000, uA, tau, 600), -78+5000/36000.0/uA, 0.001)
	last := math.Inf(-1)
	for _, min := range []float64{300, 60, 30, 10, 3, 1, 0.1} {
		got := HeatedTo(-78, -78, 5000/(min*60), uA, tau, min)
		if got < last {
			t.Errorf("%v min: %v °C, slower %v", min, got, last)
		}
		last = got
	}
}

func live(step string) string {
	return `
materials:
  tetrahydrofuran: {amount: 50 mL, water: 10 ppm}
  n-butyllithium: {solution: 1.6 M in hexanes, amount: 10 mL}
  lithium aluminium hydride: {amount: 1 g}
  methanol: {amount: 10 mL}
apparatus:
  flask: {kind: round-bottom flask, size: 250 mL, necks: 3, dry: true}
  line: {kind: inert gas line, gas: argon, relief: bubbler}
steps:
  - {backfill: flask, with: argon, from: line, vacuum: 1 mbar, cycles: 3}
  - {blanket: flask, with: argon, from: line, outlet: bubbler}
  - {add: tetrahydrofuran, to: flask, by: syringe}
` + step
}

// A solid tipped in and a quench by pipette open the flask; a counter-stream and a
// syringe do not.
func TestNecksOpened(t *testing.T) {
	for step, want := range map[string]string{
		"  - {charge: lithium aluminium hydride, to: flask}\n":                                                                            "a solid through an open neck",
		"  - {charge: lithium aluminium hydride, to: flask, under: a stream of argon}\n":                                                  "",
		"  - {add: n-butyllithium, to: flask, by: syringe}\n  - {quench: flask, with: methanol, by: pipette, over: 5 min}\n":              "pipetting",
		"  - {add: n-butyllithium, to: flask, by: syringe}\n  - {quench: flask, with: methanol, by: syringe, over: 5 min}\n":              "",
		"  - {add: n-butyllithium, to: flask, by: syringe}\n  - {quench: flask, with: methanol, by: pipette, under: a stream of argon}\n": "",
	} {
		got := ""
		var f *ExposureFacts
		for _, e := range eventsOf[*ExposureFacts](playText(t, live(step))) {
			if e.Opened {
				got, f = e.Act, e
			}
		}
		if got != want {
			t.Errorf("%s: opened by %q, want %q", step, got, want)
		}
		if f != nil && (f.CounterFlow || f.Act == "a solid through an open neck" && !(f.OxygenMmol.V > 1 && f.HumidMmol.V > 0.05)) {
			t.Errorf("%s: %+v", step, f)
		}
	}
}

// Liquid nitrogen by itself freezes tetrahydrofuran whatever is asked; a slush
// with acetone does not.
func TestLiquidNitrogenBath(t *testing.T) {
	for bath, want := range map[string]bool{"liquid nitrogen": true, "acetone / liquid nitrogen": false, "dry ice / acetone": false} {
		var f *HeatingFacts
		for _, h := range eventsOf[*HeatingFacts](playText(t, live("  - {cool: flask, to: -78 °C, bath: "+bath+"}\n"))) {
			if h.Verb == "cool" {
				f = h
			}
		}
		if f.Frozen != want {
			t.Errorf("%s: frozen %v", bath, f.Frozen)
		}
	}
}

// Water in the gas supply stands over the charge: argon led through water is
// saturated (17.3 mg in a litre at 20 °C, CRC Handbook), dry argon is not.
func TestWetGasSupply(t *testing.T) {
	water := func(row string) float64 {
		tr := playText(t, "\nmaterials:\n  hexane: {amount: 10 mL, water: 0 ppm}\n  n-butyllithium: {solution: 1.6 M in hexanes, amount: 5 mL}\napparatus:\n  flask: {kind: round-bottom flask, size: 1 L, dry: true}\n  line: {kind: Schlenk line, gas: argon"+row+"}\nsteps:\n  - {backfill: flask, with: argon, from: line, vacuum: 1 mbar, cycles: 3}\n  - {add: hexane, to: flask, by: syringe}\n  - {add: n-butyllithium, to: flask, by: syringe}\n")
		return eventsOf[*WaterFacts](tr)[0].AirMmol.V
	}
	dry, stated, wet := water(""), water(", water: 1000 ppm"), water(", note: led through water")
	near(t, "stated", stated, GasMmol(990, 1e-3*Atm, 22), 0.01)
	near(t, "saturated", wet, 0.99*SaturationMbar(22)/SaturationMbar(20)*17.3/waterMass, 0.02)
	if dry > 1e-3 {
		t.Errorf("dry argon: %v mmol", dry)
	}
}

// A cylinder that empties within an hour into a ventilated room leaves more oxygen
// than one that empties at once into a closed one.
func TestRoomWithAirChanges(t *testing.T) {
	tr := playText(t, "\nmaterials:\n  toluene: {amount: 10 mL}\napparatus:\n  flask: {kind: round-bottom flask, size: 100 mL}\n  dewar: {kind: Dewar, size: 50 L, fill: liquid nitrogen}\nsteps:\n  - {add: toluene, to: flask}\n")
	f := eventsOf[*ProcedureFacts](tr)[0]
	near(t, "at once", f.RoomOxygen.V, 100*airO2*(200-35)/200, 1e-9)
	near(t, "in an hour", f.RoomOxygenHour.V, 100*airO2*(1-35.0/1200), 1e-9)
}
