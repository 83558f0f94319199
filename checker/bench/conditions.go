package bench

import (
	"math"
	"strings"

	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
)

// bathRange is what a bath can give, °C, by words in its name; common
// practice (cooling-bath sheets of university laboratories).
var bathRanges = []struct {
	word      string
	low, high float64
	water     bool
	ice       bool
}{
	{"slush", -160, 0, false, false}, {"/liquid nitrogen", -160, 0, false, false}, {"/ liquid nitrogen", -160, 0, false, false}, {"and liquid nitrogen", -160, 0, false, false}, {"with liquid nitrogen", -160, 0, false, false}, {"liquid nitrogen/", -160, 0, false, false}, {"liquid nitrogen /", -160, 0, false, false}, {"liquid nitrogen and", -160, 0, false, false},
	{"liquid nitrogen", -196, -196, false, false},
	{"dry ice", -78, -40, false, false},
	{"acetone-dry", -78, -40, false, false}, {"co2/acetone", -78, -40, false, false}, {"co2", -78, -40, false, false},
	{"cryocool", -100, 20, false, false}, {"cryostat", -90, 100, false, false}, {"chiller", -40, 60, false, false},
	{"ice-salt", -20, -5, true, true}, {"ice / salt", -20, -5, true, true}, {"ice/salt", -20, -5, true, true}, {"ice and salt", -20, -5, true, true}, {"salt", -20, -5, true, true},
	{"ice", 0, 10, true, true},
	{"cold water", 5, 20, true, false}, {"tap water", 8, 45, true, false}, {"warm water", 20, 60, true, false}, {"running water", 8, 20, true, false},
	{"steam", 95, 100, true, false}, {"water", 5, 98, true, false},
	{"oil", 20, 220, false, false}, {"silicone", 20, 220, false, false}, {"sand", 30, 350, false, false},
	{"mantle", 30, 400, false, false}, {"heating block", 25, 350, false, false}, {"metal block", 25, 350, false, false}, {"aluminium block", 25, 350, false, false}, {"bead", 25, 250, false, false},
	{"hot plate", 30, 350, false, false}, {"hotplate", 30, 350, false, false}, {"heat gun", 100, 600, false, false}, {"burner", 200, 1200, false, false}, {"flame", 200, 1200, false, false}, {"oven", 30, 250, false, false},
	{"room temperature", 18, 28, false, false}, {"cold room", 2, 8, false, false}, {"refrigerator", 2, 8, false, false}, {"freezer", -25, -15, false, false},
}

func (b *Bench) blankHeating(f *HeatingFacts, v *vessel) {
	f.TargetC, f.BathC = Missing("the temperature"), Missing("the bath temperature")
	f.BathLowC, f.BathHighC = Missing("what bath is used"), Missing("what bath is used")
	f.Minutes, f.GatheredKJ, f.GatheredRiseK = Missing("how long"), Missing("what has gathered cold"), Missing("what has gathered cold")
	f.FreezesC, f.AboveBoilK = Missing("the solvent"), Missing("the bath temperature")
	f.PressureBar, f.HalfLifeMin, f.LostPercent = b.ask("the size of ", v.name, ""), Missing("the half-life of the reagent in this solvent"), Missing("the half-life of the reagent in this solvent")
	f.KeepsAtC = Missing("the half-life of the reagent in this solvent")
	f.HoldupML, f.DrawnML, f.DrawnWaterMmol, f.DrawnPercent = Missing("a scrubber"), Missing("a scrubber"), Missing("a scrubber"), Missing("a scrubber")
	f.ContractionML, f.TrapColdC, f.VolumeOffML = b.ask("the size of ", v.name, ""), b.trapC, Missing("the volume")
	f.Reachable = true
}

func (b *Bench) bathText(s *procedure.Step) string {
	t := s.Bath.S
	if t == "" {
		for _, x := range concat(s.In, s.With) {
			if p := b.pieceNamed(x.S); p != nil {
				p.used = true
				t = word(p.kind, x.S) + " " + p.row.Fill.S
				continue
			}
			t += " " + x.S
		}
	} else if p := b.pieceNamed(t); p != nil {
		p.used = true
		t = p.kind + " " + p.row.Fill.S
	}
	return strings.TrimSpace(t)
}

// condition changes or holds the temperature of a vessel.
func (b *Bench) condition(s *procedure.Step, v *vessel) {
	if v == nil {
		return
	}
	verb := s.Verb.Name
	b.cryogenGoes(s, v)
	f := &HeatingFacts{Verb: verb, Vessel: b.facts(v)}
	b.blankHeating(f, v)
	f.LiveMmol = v.liveMmol()
	f.StatedBar = statedBar(s)
	bath := b.bathText(s)
	if bath == "" && s.At != nil && s.At.Word != "" {
		bath = s.At.Word
	}
	f.Bath = bath
	f.Flame = has(bath, "flame", "burner", "heat gun")
	for _, r := range bathRanges {
		if bath != "" && has(bath, r.word) {
			f.BathLowC, f.BathHighC = Got(r.low), Got(r.high)
			f.WaterBath, f.Ice = r.water, r.ice
			break
		}
	}
	if f.BathLowC.Known && f.BathLowC.V <= -40 {
		b.cryogenUsed = true
		b.act("cryogen", bath)
	}
	if m := minutes(s); m.Known {
		f.Minutes = m
	} else if verb == "reflux" || verb == "stir" || verb == "stand" || verb == "heat" {
		f.Minutes = b.ask("how long to ", verb, "")
	}
	start := v.tC
	target, coldest := math.NaN(), math.Inf(1)
	pick := func(fig *procedure.Figure) {
		if fig != nil && fig.Known() && fig.Dim == quantity.Temperature && math.IsNaN(target) {
			target = fig.Value()
			if e := fig.High; !math.IsInf(e, 0) && !math.IsInf(fig.Low, 0) && e > fig.Low {
				target, f.RangeC = e, strings.TrimSpace(fig.Raw) // the warm end is judged
				coldest = fig.Low
			}
		}
	}
	pick(s.ToTemp)
	pick(s.At)
	bp, bpOK := v.bubblePoint(Atm)
	if s.Pressure != nil && s.Pressure.Known() {
		bp, bpOK = v.bubblePoint(s.Pressure.Value())
	} else if s.Vacuum != nil && s.Vacuum.Known() {
		bp, bpOK = v.bubblePoint(s.Vacuum.Value())
	}
	if verb == "reflux" || math.IsNaN(target) && (has(bath, "reflux") || has(s.Rate.S, "reflux")) {
		v.refluxed = true
		if s.At != nil && s.At.Known() {
			f.BathC = Got(s.At.Value())
		}
		if bpOK {
			target = bp
		}
		if s.Coolant.Is() {
			v.coolant = true
		}
		if !v.condenser && s.Condenser.Is() {
			v.condenser = true
		}
		for _, p := range b.pieces {
			if (p.class == "condenser" || p.class == "air condenser") && p.on == nil && !b.fittedLater(p) {
				v.condenser = true // listed, and nowhere else to go
				v.airCondenser = v.airCondenser || p.class == "air condenser"
				p.used = true
			}
		}
		if w := f.Vessel; w.Condenser != v.condenser || w.Coolant != v.coolant || v.peakFill > 0 && w.Fill != v.fill() {
			shown := *w
			shown.Condenser, shown.Coolant = v.condenser, v.coolant
			if v.peakFill > 0 {
				shown.Fill = v.fill()
			}
			f.Vessel = &shown
		}
	}
	if math.IsNaN(target) {
		switch {
		case f.BathLowC.Known && verb == "cool":
			target = f.BathLowC.V
		case f.Ice:
			target = 0
		case verb == "cool" && bath == "" && start > b.roomT() && !f.Minutes.Known:
			target = b.roomT() // cooled, with neither bath nor figure
		case verb == "warm" && has(bath, "warm", "hot", "water"):
			target = 40 // a warm bath without a figure
		case has(bath, "room temperature", "ambient"), verb == "warm" && bath == "":
			target = b.roomT()
		case verb == "heat" && bath != "" && f.BathHighC.Known:
			if f.WaterBath {
				target = math.Min(f.BathHighC.V, 60)
			}
		}
	}
	if math.IsNaN(target) && verb == "cool" && bath == "" && start > b.roomT()+20 && f.Minutes.Known {
		// left to the air: half the difference is gone in about ten minutes
		// (time constant of a small flask about 15 min, from memory)
		target = b.roomT() + (start-b.roomT())*math.Exp(-f.Minutes.V/15)
	}
	if c, ok := spelledC(s.Until.S); ok && s.ToTemp == nil && s.At == nil && (verb == "cool" && c < start || verb == "warm" && c > start) {
		target = c // until a sign that is said to come at a temperature
	}
	sign := s.Until.Is() && s.ToTemp == nil && s.At == nil && !has(s.Until.S, "frozen", "solid", "freez", "cold", "bath")
	if !math.IsNaN(target) {
		f.TargetC = Got(target)
		if f.RangeC != "" && verb != "reflux" {
			f.TargetC.Note = "the upper end of " + f.RangeC
		}
		if verb == "reflux" && !bpOK {
			f.TargetC = b.ask("the solvent in ", v.name, "")
		}
		if f.BathLowC.Known && verb != "reflux" {
			low, high := target, target
			if s.ToTemp != nil && s.ToTemp.Known() {
				low, high = s.ToTemp.Low, s.ToTemp.High
				if math.IsInf(low, 0) {
					low = high
				}
				if math.IsInf(high, 0) {
					high = low
				}
			}
			f.Reachable = high >= f.BathLowC.V-3 && low <= f.BathHighC.V+3
			if verb == "cool" {
				f.Reachable = high >= f.BathLowC.V-3
			}
		}
		if f.BathLowC.Known && verb == "reflux" && bpOK {
			f.Reachable = f.BathHighC.V >= bp
		}
		if sol := v.solvent(); sol != nil && sol.fp.Known && v.volume() > 0 {
			f.FreezesC = sol.fp
			f.Frozen = math.Min(target, coldest) < sol.fp.V && v.volumeShare(sol) > 0.8 && !sign // a bath left at a sign is taken away in time
			if f.BathHighC.Known && f.BathHighC.V < -150 && target > -150 && sol.fp.V > -196 {
				f.Frozen = true // the bath is at −196 °C, whatever is asked
				if f.TargetC.Known {
					f.TargetC.Note = ""
				}
			}
			if verb == "degas" {
				f.Frozen = false
			}
		}
		if t, ok := bathTemperature(s.Bath.S); ok && !f.BathC.Known {
			f.BathC = Got(t)
		}
		if f.BathC.Known && bpOK {
			f.AboveBoilK = Got(f.BathC.V - bp)
		} else if bpOK && verb == "heat" && s.At != nil && s.At.Known() {
			f.AboveBoilK = Got(s.At.Value() - bp)
		}
		b.hold(v, f, target, s)
		if target < start-5 {
			b.coolBack(v, f, start, target, s)
		}
		b.settle(s, v, f, start, target)
		v.tC, v.tKnown, v.adrift = target, true, false
	}
	if has(s.Until.S, "gone", "evaporated", "boiled off", "driven off", "has left") {
		// a condensed gas is left to boil away
		var gone outcome
		for p := range v.each {
			if p.sp.gas && p.ml > 0 {
				keep := 0.0
				if has(s.Until.S, "nearly", "most", "almost") {
					keep = 0.02 // a remainder that nobody has measured
				}
				got := v.take(p.sp, p.mmol*(1-keep))
				b.gasOff(&gone, p.sp, got.mmol)
				v.tC = b.roomT()
			}
		}
		b.releases(s, v, gone, "boiling away from "+v.name, nil)
	}
	if v.conn == connSealed && !math.IsNaN(target) && target > v.sealT+5 {
		if verb != "stir" && verb != "stand" || target > b.roomT()+5 || v.filledBy(target) {
			b.closure(v, word(map[bool]string{true: "cold then warmed", false: "heated"}[v.sealT < 10 && target < 40], "heated"), s)
		}
	}
	if verb == "cool" || verb == "reflux" || valueOf(f.Minutes) >= 5 {
		v.restRise = 0
	}
	f.Closed = !v.vented()
	if !math.IsNaN(target) && v.size.Known {
		h, h0 := v.headspaceAt(target), v.headspaceAt(start)
		gas := v.sealGasMmol
		for _, p := range v.contents {
			if (p.condensed() || p.sp.is("cryogen")) && (!p.sp.bp.Known || target > p.sp.bp.V) {
				gas += math.Min(p.mmol, p.sp.gasAbove(h.V, target)) // no more than its vapour pressure while liquid is left
			}
		}
		f.PressureBar = Num{V: ShrunkPressureBar(h0.V, h.V, start, target, gas, v.vapourOf(start, false), v.vapourOf(target, false)) + v.squeezedBar(target), Known: true, Note: h.Assumed()}
	}
	if v.conn == connGas && !v.vented() && !math.IsNaN(target) && target > start+10 {
		v.sealT = start // it was shut off at what it had before
		b.closure(v, "heated", s)
	}
	if v.class == "trap" {
		switch {
		case verb == "cool" && f.TargetC.Known:
			if b.trapCools(s, f.TargetC.V) {
				f.CondensesGas, f.Trap = "oxygen", true
			}
		case verb == "warm" || verb == "heat":
			b.trapWarmed(s)
		}
	} else if f.TargetC.Known && f.TargetC.V <= -186 && (v.gasName == "argon" && v.closed() || v.conn == connOpen || v.conn == connTube) && has(bath, "nitrogen") {
		f.CondensesGas = "oxygen"
		if v.gasName == "argon" && v.closed() {
			f.CondensesGas = "argon"
		}
	}
	f.FlowKept = s.Flow == nil && v.flow || flowEnough(s, f.ContractionML) || has(s.Note.S, "flow", "stream", "positive pressure")
	f.Unattended = f.Minutes.Known && f.Minutes.V >= 600
	if f.TargetC.Known && v.liveMmol() > 0 && f.TargetC.V < start-30 && len(v.traces) == 0 {
		_ = start
	}
	if verb == "reflux" || verb == "heat" || verb == "irradiate" || verb == "warm" {
		v.heated = true
	}
	if verb == "reflux" || verb == "heat" {
		b.peroxideFacts(f, v)
	}
	b.heatedTo(v, f, start, target)
	o := b.react(v)
	if v.gathered != "" && o.kJ > 0 {
		f.Gathered, f.GatheredKJ = v.gathered, Got(o.kJ)
		if c := v.heatCapacity(); c > 0 {
			f.GatheredRiseK = Got(AdiabaticRise(o.kJ, c))
		}
		v.gathered = ""
	}
	b.emit(Event{Kind: "heating", Facts: f})
	b.releases(s, v, o, doing(verb)+" "+v.name, nil)
	b.wetStream(s, v)
	b.refreshBudget(v, s)
}

// heatedTo tells what the liquid comes to where a step boils or warms it.
func (b *Bench) heatedTo(v *vessel, f *HeatingFacts, start, target float64) {
	keep := quietFree
	switch bp := f.Vessel.BoilingC; {
	case f.Verb == "reflux":
		keep = boilingFree
	case math.IsNaN(target) || target < volumeC+5:
		return
	case bp.Known && target >= bp.V-5:
		keep = boilingFree
	}
	if math.IsNaN(target) {
		target = start
	}
	f.Hot = b.hottest(v, target, keep)
}

func (v *vessel) volumeShare(sp *species) float64 {
	if t := v.volume(); t > 0 {
		var ml float64
		for _, p := range v.contents {
			if p.sp == sp {
				ml += p.ml
			}
		}
		return ml / t
	}
	return 0
}

// hold looks at what a temperature costs a reagent, and at which it keeps.
func (b *Bench) hold(v *vessel, f *HeatingFacts, tC float64, s *procedure.Step) {
	const rests = "nearest published half-life, rate doubled per 10 K"
	for _, p := range v.live() {
		half, found := b.halfLife(v, p.sp, tC)
		if !found {
			continue
		}
		f.Reagent = p.sp.name
		f.HalfLifeMin = Num{V: half, Known: true, Note: rests}
		if !f.Minutes.Known {
			f.LostPercent = Missing("how long it is held at this temperature")
			return
		}
		f.LostPercent = Num{V: 100 * (1 - math.Pow(0.5, f.Minutes.V/half)), Known: true, Note: rests}
		for _, t := range [...]float64{0, -20, -40, -78} { // the baths of the trade
			if t >= tC {
				continue
			}
			if half, found = b.halfLife(v, p.sp, t); found && f.Minutes.V <= 0.1*half {
				f.KeepsAtC = Num{V: t, Known: true, Note: rests}
				break
			}
		}
		return
	}
}

// halfLife is that of a reagent in the solvent it is in, min, by the nearest
// published point (rate doubling per 10 K away from it, the usual rule, common
// practice); false where nothing is published.
func (b *Bench) halfLife(v *vessel, sp *species, tC float64) (half float64, found bool) {
	bestGap := math.Inf(1)
	for _, h := range sp.lifetimes {
		sol := b.lookup(h.in)
		if sol == nil || v.find(sol) == nil || v.volumeShare(sol) < 0.2 {
			continue
		}
		if gap := math.Abs(h.tC - tC); gap < bestGap {
			bestGap = gap
			half = h.min * math.Pow(2, (h.tC-tC)/10)
			found = true
		}
	}
	return half, found
}

func (b *Bench) coolBack(v *vessel, f *HeatingFacts, from, to float64, s *procedure.Step) {
	h, cold := v.headspaceAt(from), v.headspaceAt(to)
	if !h.Known {
		f.ContractionML = Missing(h.Ask())
	} else {
		y1 := math.Min(0.95, v.vapourMbar(from)/Atm)
		y2 := math.Min(0.95, v.vapourMbar(to)/Atm)
		f.ContractionML = Num{V: Contraction(h.V, from, to, y1, y2) + math.Max(0, cold.V-h.V), Known: true, Note: h.Assumed()}
	}
	f.DrawsBack = v.conn == connGas && has(v.outlet, "bubbler", "oil", "mercury") || v.scrub != nil && v.scrub.suck
	b.drawnOver(v, f)
}

// drawnOver is the scrubber liquid that follows the gas into a cooling vessel:
// what the contraction moves, as far as there is liquid, less what an empty trap
// before it holds.
func (b *Bench) drawnOver(v *vessel, f *HeatingFacts) {
	sc := v.scrub
	if sc == nil || !sc.dips {
		return
	}
	f.HoldupML = sc.trapML
	taken := v.liveEq()
	if sp := v.mostLive(); sp != nil {
		f.DrawnOn = sp.name
	} else {
		for _, p := range v.waterTakers() {
			f.DrawnOn = word(f.DrawnOn, p.sp.name)
			taken += p.mmol * p.sp.water
		}
	}
	for _, n := range [...]Num{f.ContractionML, sc.ml, sc.trapML} {
		if !n.Known {
			f.DrawnML, f.DrawnWaterMmol, f.DrawnPercent = Missing(n.Ask()), Missing(n.Ask()), Missing(n.Ask())
			return
		}
	}
	why := word(f.ContractionML.Assumed(), sc.ml.Assumed())
	f.DrawnML = Num{V: math.Max(0, math.Min(f.ContractionML.V, sc.ml.V)-sc.trapML.V), Known: true, Note: why}
	f.DrawnWaterMmol = Num{V: f.DrawnML.V * sc.wet, Known: true, Note: why}
	if taken > 0 {
		f.DrawnPercent = Num{V: math.Min(100, 100*f.DrawnWaterMmol.V/taken), Known: true, Note: why}
	}
}

func (b *Bench) confirm(s *procedure.Step, v *vessel) {
	if v == nil {
		v = b.last
	}
	if v == nil {
		return
	}
	text := joined(s.Object) + s.Until.S + joined(s.Signs)
	if has(text, "gas", "bubbl", "no more", "end", "quench", "gone", "complete") {
		v.endSeen = true
	}
	if has(text, "initiat", "start", "begin", "reaction has", "under way", "underway") {
		v.initiated = true
	}
}

func (b *Bench) sample(s *procedure.Step, v *vessel) {
	if v == nil {
		return
	}
	b.aliquot(s, v)
	if has(s.By.S, "syringe", "cannula", "needle") || b.guarded(s) || v.conn == connOpen {
		return
	}
	v.swapped = s.N
}

// usualAliquot is taken where no amount is written, mL (common practice: a drop
// to a millilitre).
const usualAliquot = 0.5

// largeAliquot is the volume, mL, above which a sample is a batch of its own
// (common practice).
const largeAliquot = 5

// aliquot moves a sample to the vessel that it is taken into, or that the step
// makes of it: what is live in it is live there. A sample whose place is not
// named, or that goes straight into a liquid of the table, is not followed.
func (b *Bench) aliquot(s *procedure.Step, v *vessel) {
	var dest *vessel
	switch {
	case len(s.Into) > 0:
		dest = b.place(s.Into[0], false)
	case len(s.GivesOrder) > 0 && len(v.contents) > 0:
		dest = b.newVessel(s.Gives[s.GivesOrder[0]].S, nil)
	}
	if dest == nil || dest == v || len(v.contents) == 0 {
		return
	}
	one := *s
	one.Verb, _ = procedure.FindVerb("transfer")
	one.To, one.Into, one.Object = []procedure.Text{{S: dest.name, Span: s.Head}}, nil, s.Object[:1]
	if !one.Amount.Is() {
		all, err := quantity.ParseAll(quantity.Format(math.Min(usualAliquot, v.volume()/2), quantity.Volume))
		if err != nil {
			return
		}
		one.Amount = &procedure.Amount{All: all, Raw: "an aliquot", Span: s.Head}
	}
	dest.aliquot = len(dest.contents) == 0
	b.move(&one, s.Object[0], dest)
	dest.aliquot = dest.aliquot && dest.volume() <= largeAliquot
}

// statedBar is the pressure that a step states, bar.
func statedBar(s *procedure.Step) Num {
	for _, p := range []*procedure.Figure{s.Pressure, s.Vacuum} {
		if p != nil && p.Known() && p.Word == "" && p.Dim == quantity.Pressure {
			return Got(p.Max() / 1000)
		}
	}
	return Missing("the pressure")
}
