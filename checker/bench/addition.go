package bench

import (
	"math"
	"slices"
	"strings"

	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
)

func (b *Bench) addition(s *procedure.Step, l *lot, dest *vessel, before *VesselFacts, meth string, tool *piece) *AdditionFacts {
	howLong, size := b.ask("how long the addition of ", l.name, " takes"), b.ask("the size of ", dest.name, "")
	f := &AdditionFacts{Verb: s.Verb.Name, From: b.placeFacts(tool, dest), Vessel: before, Method: meth,
		VolumeML: Got(l.ml()), Mmol: Got(0), OverMin: howLong, Portions: Missing("the number of portions"),
		KeepBelowC: b.ask("a temperature limit for the addition of ", l.name, ""), HeatKJ: Missing("the heat of this reaction"), OwnRiseK: Missing("the heat of this reaction"), HalideMmol: Missing("the halide amount"), RiseK: Missing("the heat of this reaction"), MarginK: b.ask("the boiling point of what is in ", dest.name, ""),
		PermittedShare: Missing("the halide and solvent amounts"), ChargedShare: Missing("the halide amount"), Watts: howLong, CoolingWatts: Missing("the bath temperature"),
		GasL: Got(0), FunnelFill: Missing("the size of the funnel"), MlPerGHydride: Missing("the hydride and solvent amounts"), GathersMmol: Missing("what lies unreacted in the cold"), FillAfter: size, FillAtEnd: size, Concentration: Missing("the volume")}
	if l.m != nil {
		f.Material = b.materialFacts(l.m, l.share)
		if l.from != nil && l.blur == "" {
			f.Material.Mmol, f.Material.VolumeML = Got(l.mmol(l.m.sp)), Got(l.ml())
			if l.m.sp.mw > 0 {
				f.Material.MassG = Got(l.mmol(l.m.sp) * l.m.sp.mw / 1000)
			}
		}
	} else {
		sp := mainOf(l.portions)
		f.Material = b.speciesFacts(sp)
		f.Material.Name = l.name
		if l.blur == "" {
			f.Material.Mmol, f.Material.VolumeML = Got(l.mmol(sp)), Got(l.ml())
		}
	}
	f.Mmol = f.Material.Mmol
	if l.blur != "" {
		f.VolumeML = Missing(l.blur)
	}
	if s.Over != nil && s.Over.Known() {
		f.OverMin = Got(s.Over.Min())
	} else if s.RateFigure != nil && s.RateFigure.Known() && l.ml() > 0 {
		switch s.RateFigure.Dim {
		case quantity.Flow:
			f.OverMin = Got(l.ml() / s.RateFigure.Value())
		case quantity.DripRate:
			f.OverMin = Assume(l.ml()*20/s.RateFigure.Value(), "20 drops to the millilitre")
		}
	}
	f.Rate = s.Rate.S
	f.AtOnce = has(s.Rate.S, "at once", "one portion", "all at", "rapid", "quick") || s.Portions != nil && s.Portions.Known() && s.Portions.Dim == quantity.Count && s.Portions.Value() == 1
	if s.Portions != nil && s.Portions.Known() {
		switch s.Portions.Dim {
		case quantity.Count:
			f.Portions = Got(s.Portions.Value())
		case quantity.Volume:
			f.Portions = Got(math.Max(1, l.ml()/s.Portions.Value()))
		}
	}
	if s.Size != nil && s.Size.Known() && s.Size.Value() > 0 {
		switch s.Size.Dim {
		case quantity.Volume:
			f.Portions = Got(math.Max(1, l.ml()/s.Size.Value()))
		case quantity.Mass:
			if f.Material.MassG.Known {
				f.Portions = Got(math.Max(1, f.Material.MassG.V/s.Size.Value()))
			}
		}
	}
	if s.KeepBelow != nil && s.KeepBelow.Known() {
		f.KeepBelowC = Got(s.KeepBelow.Value())
		if q := s.KeepBelow.Quantity; q.High > q.Low && !math.IsInf(q.High, 0) && !math.IsInf(q.Low, 0) {
			f.KeepBelowC = Assume(q.High, "the upper end of "+strings.TrimSpace(q.Raw))
		}
	}
	f.OwnBath = s.At != nil || s.Bath.Is() || has(joined(s.In)+s.Note.S, "ice", "cold", "cooling bath")
	f.LimitGiven = s.KeepBelow != nil || s.At != nil || s.Bath.Is() || has(joined(s.In)+s.Note.S, "ice", "cold", "cooling bath") || has(s.Rate.S, "reflux", "temperature") || dest.tKnown && dest.tC < 15
	f.RateGiven = s.Over != nil || s.RateFigure != nil || s.Portions != nil || s.Size != nil || s.KeepBelow != nil || has(s.Rate.S, "drop", "reflux", "boil", "portion", "pieces", "piece by", "temperature", "hold", "keep", "as ")
	f.CounterFlow = b.guarded(s) || dest.conn == connBox
	f.FromOpen = l.openSource
	f.Unproved = dest.quenched && !dest.endSeen
	b.waterOnUnproved(f, l, dest)
	switch s.Verb.Name {
	case "add", "charge", "transfer":
		if !dest.aqueous() && !dest.bench {
			for _, p := range l.portions {
				if p.sp.live && p.sp.need > b.cameIn[dest].need() {
					b.cameIn[dest] = p
				}
			}
		}
	}
	if s.Verb.Name == "pass" && (s.Flow != nil || s.Rate.Is()) {
		f.RateGiven = true
	}
	f.Conditional, f.Optional = s.If.Is(), isTrue(s.Optional)
	if tool != nil && tool.class == "funnel" && f.From.SizeML.Known && f.VolumeML.Known {
		f.FunnelFill = Got(f.VolumeML.V / f.From.SizeML.V)
		if grown, fromC := b.grown(s, l, tool); grown > 1 {
			f.FunnelFill = Num{V: f.FunnelFill.V * grown, Known: true, Note: grownNote(fromC)}
		}
	}
	if tool != nil && tool.vessel != nil {
		tool.vessel.peakML = math.Max(tool.vessel.peakML, l.ml())
		tool.vessel.peakBlur = tool.vessel.peakBlur || l.blur != ""
	}
	f.OwnBoilingC = b.ask("the boiling point of ", l.name, "")
	if dest.volume() > 0 && l.ml() > 0 && l.blur == "" { // into an empty vessel nothing flashes
		b.thought = vessel{contents: l.portions}
		if bp, ok := b.thought.findBubblePoint(Atm); ok {
			f.OwnBoilingC = Got(bp)
		}
	}
	if bp := before.BoilingC; bp.Known {
		f.MarginK = Got(bp.V - dest.tC)
	}
	if bp := f.OwnBoilingC; bp.Known && dest.volume() > 0 && (!f.MarginK.Known || bp.V-dest.tC < f.MarginK.V) && !slices.ContainsFunc(l.portions, portion.condensed) {
		f.MarginK = Got(bp.V - dest.tC) // what comes in may boil first
	}
	return f
}

// waterOnUnproved notes water that meets what held a metal or hydride of which
// no sign says that it is gone, and a metal that goes in.
func (b *Bench) waterOnUnproved(f *AdditionFacts, l *lot, dest *vessel) {
	f.WaterOnMmol = Missing("the amount of the reagent")
	u := dest.unproved
	wet := l.has(func(sp *species) bool { return sp.family == "water" || sp.name == "ice" })
	if l.from != nil && l.from.unproved.name != "" && !wet {
		u, wet = l.from.unproved, dest.aqueous()
		dest.unproved = l.from.unproved
	}
	if wet && u.name != "" {
		f.WaterOn, f.WaterOnMmol = u.name, Got(u.mmol)
		dest.unproved = unproved{}
	}
	for _, p := range l.portions {
		if p.sp.is("alkali metal") && p.mmol > 1 {
			dest.unproved = unproved{name: p.sp.name, mmol: dest.unproved.mmol + p.mmol, metal: true}
		}
	}
}

// proves settles what is unproved in a vessel: a metal by a sign that speaks
// of it or by boiling, a quenched hydride by any sign or by a wait.
func (b *Bench) proves(s *procedure.Step, v *vessel) {
	if v == nil || v.unproved.name == "" {
		return
	}
	signs := joined(s.Signs) + " " + s.Until.S + " " + s.Expect.S
	if s.Verb.Name == "confirm" {
		signs += " " + joined(s.Object)
	}
	switch {
	case has(signs, v.unproved.name, "metal", "blue", "colour", "color", "bronze", "dissolv", "pieces", "lumps"), v.refluxed, v.heated && v.tC >= 50:
		v.unproved = unproved{}
	case v.unproved.metal:
	case strings.TrimSpace(signs) != "", s.For != nil && valueOf(minutes(s)) >= 5, s.HoldFor != nil:
		v.unproved = unproved{}
	}
}

func mainOf(ps []portion) *species {
	var best *portion
	for i := range ps {
		p := &ps[i]
		if best == nil || p.sp.live && !best.sp.live || p.sp.live == best.sp.live && p.mmol > best.mmol && best.sp.liquid == p.sp.liquid {
			best = p
		}
	}
	return best.sp
}

var halideFamilies = []string{"alkyl halide", "aryl halide", "vinyl halide"}

func (b *Bench) halideIn(l *lot) *species {
	for _, p := range l.portions {
		if p.sp.is(halideFamilies...) && p.mmol > 10*trace && !p.maybe {
			return p.sp
		}
	}
	return nil
}

// electrophileHere reports a halide that a declared reaction takes with
// something other than a metal: it is not there to make a reagent.
func (b *Bench) electrophileHere(h *species) bool {
	with, without := false, false
	for _, r := range b.reactions {
		takes, metal := false, false
		for _, c := range r.consumes {
			takes = takes || c.sp == h
			metal = metal || metalOf(c.sp) != ""
		}
		with = with || takes && metal
		without = without || takes && !metal
	}
	if without && !with {
		return true
	}
	for _, m := range b.materials {
		if m.sp == h && has(m.row.Role.S, "electrophile", "alkylating") {
			return true
		}
	}
	return false
}

func (b *Bench) metalIn(l *lot) *species {
	for _, p := range l.portions {
		if metalOf(p.sp) != "" && p.mmol > 10*trace {
			return p.sp
		}
	}
	return nil
}

func (b *Bench) halideOf(v *vessel) *portion {
	for i := range v.contents {
		if v.contents[i].sp.is(halideFamilies...) && v.contents[i].mmol > 10*trace && !v.contents[i].maybe {
			return &v.contents[i]
		}
	}
	return nil
}

// startFacts fills what a reaction that must be seen to start needs: the
// share of halide in, the share that is permitted, and whether a proof exists.
func (b *Bench) startFacts(f *AdditionFacts, dest *vessel, l *lot, h *species) {
	total := 0.0
	known := true
	for _, m := range b.materials {
		if m.sp == h {
			if !m.mmol.Known {
				known = false
			}
			total += m.mmol.V
		}
	}
	in := l.mmol(h)
	dest.halideIn += in
	f.Starts = true
	f.Halide, f.HalideMmol = h.name, Got(in)
	f.Initiated = dest.initiated
	f.EvidenceLater = b.evidence[dest]
	f.Branch = b.branch[dest]
	if known && total > 0 {
		f.ChargedShare = Got(math.Min(1, dest.halideIn/math.Max(total, dest.halideIn)))
	} else {
		f.ChargedShare = b.ask("the amount of ", h.name, "")
	}
	f.SmallMmol = known && total < 1
	if f.SmallMmol {
		f.Concentration = Got(0)
	}
	heat := b.classHeat("metal and halide")
	c := dest.heatCapacity()
	for _, p := range l.portions {
		c += p.g * p.sp.cp
	}
	if l.from != nil {
		// ΔT_ad is that of the whole batch: the liquid that still waits in the
		// funnel counts
		c += l.from.heatCapacity()
	} else {
		for _, m := range b.materials {
			if m.sp == h && m.left > 0 {
				for _, p := range m.mix {
					c += m.left * p.g * p.sp.cp
				}
			}
		}
	}
	bp, ok := f.Vessel.BoilingC.V, f.Vessel.BoilingC.Known
	if !ok {
		// an empty flask with metal: the liquid comes with the halide
		tmp := &vessel{contents: l.portions}
		bp, ok = tmp.bubblePoint(Atm)
	}
	// what else this step brings cools it too
	if b.step != nil {
		for _, o := range concat(b.step.Object, b.step.In) {
			if m := b.material(o.S); m != nil && m.sp != h && m.left > 0 && m.mix0() {
				tmp := &vessel{contents: slices.Clone(m.mix)}
				c += tmp.heatCapacity() * m.left
				if t, found := tmp.bubblePoint(Atm); found && (!ok || t < bp) {
					bp, ok = t, true
				}
			}
		}
	}
	if known && ok && c > 0 {
		rise := AdiabaticRise(heat.V*math.Max(total, in)/1000, c)
		margin := math.Max(0, bp-dest.tC)
		f.MarginK = Got(margin)
		f.RiseK = Num{V: rise, Known: true, Note: heat.Assumed()}
		f.PermittedShare = Num{V: math.Min(1, margin/rise), Known: true, Note: heat.Assumed()}
	}
	f.ExternalHeat = ok && dest.tC >= bp-1
}

// openDuring works out whether the vessel stands open while the material goes
// in, and lets air in if it does.
func (b *Bench) openDuring(s *procedure.Step, dest *vessel, meth string, l *lot, f *AdditionFacts) {
	solid := meth == "solid"
	open := meth == "pour" || meth == "pipette" && !b.guarded(s)
	if solid && !has(joined(s.Through)+s.By.S, "solid addition", "side", "tipping", "bent tube", "addition tube") && !b.guarded(s) {
		open = true
	}
	f.OpensVessel = open && dest.conn != connOpen && dest.conn != connBox
	f.SolidIntoLive = solid && dest.liveEq() > 0
	f.OpenAir = open && dest.conn != connBox
	if !f.OpensVessel {
		return
	}
	if dest.conn == connGas && !dest.supplied && dest.supply == nil && !b.guarded(s) {
		if !b.p.Whole() && !s.By.Is() {
			return // how it was put in, and whether gas stayed on, may stand in what was not read
		}
		b.openAir(dest) // a flush ends when the neck is next opened
		return
	}
	if (dest.conn == connGas || dest.conn == connBalloon) && b.guarded(s) {
		return
	}
	if dest.conn == connTube && l.has(func(sp *species) bool { return sp.live }) {
		dest.gases = b.roomAir() // moist air comes in by the neck, past the tube
	}
	if dest.liveEq() == 0 && len(dest.contents) == 0 || dest.conn == connTube {
		return // charging before anything sensitive is there
	}
	if dest.conn == connGas && dest.liveEq() == 0 {
		// gas goes on after a moment's opening; what was gained by cycles is lost
		if dest.rank >= 3 {
			dest.rank = 2
			dest.cycles = b.ask("evacuate–refill cycles after ", dest.name, " was opened")
			dest.gases = AfterSweep(b.roomAir(), dest.gases, 3)
			b.airOnce(dest)
			dest.how = "opened in step " + quantity.FormatNumber(float64(s.N)) + " after the cycles"
		}
	}
}

// orders notes water or alcohol going into a strong acid, and a substrate
// that waits for a strong reagent.
func (b *Bench) orders(f *AdditionFacts, l *lot, dest *vessel) {
	for _, q := range dest.contents {
		if q.sp.strongAcid() && q.mmol > 10*trace && dest.concentratedAcid() {
			if l.has(func(sp *species) bool { return sp.family == "water" || sp.is("alcohol", "hydroxide") }) && !l.has(func(sp *species) bool { return sp.strongAcid() }) {
				f.IntoStrongAcid = true
			}
		}
	}
	f.ReverseOrder = l.has(func(sp *species) bool { return sp.live }) && dest.liveEq() == 0
	hyd, vol := 0.0, 0.0
	if l.ml() == 0 && dest.volume() == 0 {
		return // the solvent is yet to come
	}
	for _, ps := range [...][]portion{dest.contents, l.portions} {
		for i := range ps {
			p := &ps[i]
			if p.sp.is("aluminium hydride") && !p.maybe {
				if strings.Contains(p.sp.name, "lithium aluminium hydride") {
					hyd += p.g
				}
			}
			vol += p.ml
		}
	}
	if ml := dest.volume(); ml > 0 && ml < 10*hyd {
		vol = ml // the first drops meet a paste: below 10 mL/g it hardly stirs (common practice; published slurries have 12 and more)
	}
	if hyd > 0.01 && l.blur == "" && dest.blur == "" {
		f.MlPerGHydride = Got(vol / hyd)
	}
}

// concentratedAcid reports that what is in the vessel is strong acid with
// little else: over 50 % by mass of the liquid.
func (v *vessel) concentratedAcid() bool {
	var acid, all float64
	for _, p := range v.contents {
		all += p.g
		if p.sp.strongAcid() {
			acid += p.g
		}
	}
	return all > 0 && acid/all > 0.3
}

func (b *Bench) mixTemperature(s *procedure.Step, dest *vessel, l *lot, had float64) {
	if had == 0 && l.ml() > 0 && !dest.tKnown {
		dest.tC = b.roomT()
		if src := l.from; src != nil && src.tC > b.roomT()+5 && s.Over == nil && s.At == nil {
			// what is poured hot is hot there, and cools in the air
			dest.tC, dest.tKnown, dest.adrift = src.tC, src.tKnown, true
		}
	}
	for _, p := range l.portions {
		if (p.sp.name == "ice" || p.from != "" && l.m != nil && l.m.sp.name == "ice") && (p.g > 0.2*(had+1) || had == 0 && l.blur != "") {
			dest.tC, dest.tKnown = 0, true
		}
		if p.sp.gas && p.ml > 1 && p.sp.bp.Known {
			dest.tC, dest.tKnown = p.sp.bp.V, true // a condensed gas boils
			b.cryogenUsed = true
		}
		if p.sp.name == "dry ice" && p.g > 1 {
			dest.tC, dest.tKnown = -78, true
			b.cryogenUsed = true
		}
	}
}

// book writes heat and gas of what reacted into the addition.
func (b *Bench) book(dest *vessel, o outcome, f *AdditionFacts, s *procedure.Step) {
	if o.gathered > 0 {
		// what lies there unreacted is judged as if all of it went at once
		o.kJ += o.gathered
		f.Gathers, f.GathersMmol = b.gathersIn(dest)
	}
	if o.heatKnown && (o.kJ > 0 || len(o.what) == 0) {
		if o.kJ > 0 {
			f.HeatKJ = Num{V: o.kJ, Known: true, Note: o.assumed}
			c := dest.heatCapacity()
			if c > 0 {
				f.OwnRiseK = Num{V: AdiabaticRise(o.kJ, c), Known: true, Note: o.assumed}
			}
			if c > 0 && !f.Starts {
				f.RiseK = f.OwnRiseK
			}
			if dest.blur != "" && f.RiseK.Known {
				// what is not stated of the contents takes heat too
				f.RiseK.Note = "what the text does not measure of the contents is not counted"
				if dest.volume() < 5 {
					f.RiseK = Missing(dest.blur)
				}
			}
			if f.RiseK.Known {
				dest.restRise += f.RiseK.V
			}
			if f.RiseK.Known && f.RiseK.V > b.largestRise && !math.IsInf(f.RiseK.V, 1) {
				b.largestRise = f.RiseK.V
			}
			if f.OverMin.Known && f.OverMin.V > 0 {
				f.Watts = Got(o.kJ * 1000 / (f.OverMin.V * 60))
			}
			if s.Bath.Is() || dest.tKnown {
				f.CoolingWatts = Got(WallWatts(math.Max(dest.volume(), 1), 20))
			}
			b.boils(dest, o.kJ, f)
		} else {
			f.HeatKJ, f.RiseK, f.OwnRiseK = Got(0), Got(0), Got(0)
		}
	}
	if o.ask != "" {
		f.HeatKJ, f.RiseK, f.OwnRiseK, f.Watts = Missing(o.ask), Missing(o.ask), Missing(o.ask), Missing(o.ask)
		if len(o.unsized) > 0 {
			f.GasL = Missing(o.ask)
		}
	}
	if dest.volume() > 0 && dest.blur == "" {
		f.Concentration = Got(dest.liveEq() / dest.volume())
	}
	if g := o.gasTotal(); g > 0 && len(o.unsized) == 0 {
		f.GasL = Got(GasLitres(g))
	}
	f.worst(b.endsIn(f))
	b.peakTemperature(s, dest, f)
	b.storedHeat(s, dest, f)
}

// storedHeat works out what waits in a vessel when an alkylating agent goes in too
// cold to react and a later step heats it: all of the heat is accumulated then,
// whatever the rate of the addition (Stoessel, Thermal Safety of Chemical
// Processes, chapter 5). A reaction of first order that is 99 % over in the time t
// of the heating step begins with ln(100)/t of its heat a minute.
func (b *Bench) storedHeat(s *procedure.Step, dest *vessel, f *AdditionFacts) {
	switch f.Material.Family {
	case "alkyl halide", "epoxide":
	default:
		return
	}
	if !f.HeatKJ.Known || f.HeatKJ.V <= 0 || f.Starts || dest.tC > 40 || f.Vessel.LiveMmol > 0 {
		return
	}
	t := b.heatedNext(s, dest)
	if t == nil {
		return
	}
	f.HeatedToC = b.ask("the temperature at which ", dest.name, " is heated")
	bp, boils := dest.bubblePoint(Atm)
	switch {
	case t.Verb.Name == "reflux" && boils:
		f.HeatedToC = Got(bp)
	case figureOf(t.ToTemp).Known:
		f.HeatedToC = Got(t.ToTemp.Max())
	case figureOf(t.At).Known:
		f.HeatedToC = Got(t.At.Max())
	}
	if f.HeatedToC.Known && boils && f.HeatedToC.V > bp {
		f.HeatedToC = Got(bp)
	}
	if m := minutes(t); m.Known && m.V > 0 {
		f.StoredWatts = Num{V: math.Log(100) * f.HeatKJ.V * 1000 / (m.V * 60), Known: true, Note: f.HeatKJ.Assumed()}
	} else {
		f.StoredWatts = Missing("how long " + dest.name + " is heated")
	}
}

// heatedNext is the step that heats a vessel 20 K and more before anything but
// more material comes to it; nil when there is none.
func (b *Bench) heatedNext(s *procedure.Step, v *vessel) *procedure.Step {
	for _, t := range b.p.Steps[s.N:] {
		if !namesVessel(t, v) {
			continue
		}
		switch t.Verb.Name {
		case "reflux":
			return t
		case "heat", "warm", "stir":
			to := figureOf(t.ToTemp)
			if !to.Known {
				to = figureOf(t.At)
			}
			if to.Known && to.V >= v.tC+20 {
				return t
			}
		case "add", "charge", "transfer", "pour", "stand", "fit", "blanket", "purge", "guard", "start", "confirm", "assemble", "cool":
		default:
			return nil
		}
	}
	return nil
}

// gathersIn is what lies under the cold water of a vessel and has not reacted.
func (b *Bench) gathersIn(v *vessel) (name string, mmol Num) {
	for _, p := range v.contents {
		if p.sp.name == v.gathered {
			return p.sp.name, Got(p.mmol)
		}
	}
	return "", Missing("what lies unreacted in the cold")
}

func (b *Bench) fillLimits(f *AdditionFacts, dest *vessel, s *procedure.Step) {
	f.FillAfter = dest.fill()
	f.FillAtEnd = f.FillAfter
	keep := quietFree
	if f.Starts || f.GasL.Known && f.GasL.V > foamL {
		keep = boilingFree
	}
	peak := peakOf(dest, f.RiseK, f.PeakC, f.KeepBelowC)
	if keep == quietFree && (!f.FillAfter.Known || peak < warmC && f.FillAfter.V < 0.8) {
		return // it is as cold as it was, and far from the brim
	}
	f.Hot = b.hottest(dest, peak, keep)
}
