package bench

import (
	"math"
	"slices"

	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
)

// refreshBudget moves the water traces of a vessel to the live charge there.
func (b *Bench) refreshBudget(v *vessel, s *procedure.Step) {
	b.refreshBudgetWith(v, s, v.liveEq())
}

func (b *Bench) refreshBudgetWith(v *vessel, s *procedure.Step, eq float64) {
	b.refreshBudgetOf(v, s, eq, nil)
}

// waterCharge is the halide of acyl, sulfur, phosphorus or silicon in a vessel
// that a trace of water takes, with the water that all of it would take, mmol.
// The trade does not call it live, and what it meets may use it up at once.
func (v *vessel) waterCharge() (*species, float64) {
	if v.aqueous() {
		return nil, 0
	}
	var best *species
	most := 0.0
	for _, p := range v.contents {
		if !p.sp.made && p.sp.takesWater() && p.sp.is("acid chloride", "chloroformate", "sulfur halide", "phosphorus halide", "silyl halide") && p.mmol*p.sp.water > most {
			best, most = p.sp, p.mmol*p.sp.water
		}
	}
	return best, most
}

// refreshBudgetOf is refreshBudgetWith for a charge that may be used up by now.
func (b *Bench) refreshBudgetOf(v *vessel, s *procedure.Step, eq float64, charge *species) {
	if v.aliquot {
		return // it is spent to be looked at
	}
	var reagent *species
	for _, p := range v.contents {
		if p.sp.live && p.sp.takesWater() && (reagent == nil || p.mmol*math.Max(p.sp.eq, 1) > 0 && p.sp.vigour > reagent.vigour) {
			reagent = p.sp
		}
	}
	if reagent == nil {
		reagent = charge
	}
	if v.budget == nil {
		if reagent == nil {
			return
		}
		v.budget = &budget{step: s.N, span: s.Head, subject: headOf(s), reagent: reagent, excess: Missing("the amounts of the reaction"), vessel: b.facts(v)}
		b.glassWater(v)
		b.airWater(v)
	}
	bd := v.budget
	if reagent != nil && reagent != bd.reagent && (metalOf(bd.reagent) != "" || reagent.is("metal amide")) {
		// the metal has become the organometallic: the charge is that now
		bd.reagent = reagent
		bd.step, bd.span, bd.subject = s.N, s.Head, headOf(s)
		bd.eq = 0
		bd.vessel = b.facts(v)
	}
	bd.eq = math.Max(bd.eq, eq)
	for _, w := range v.traces {
		bd.sources = append(bd.sources, w)
		if math.IsNaN(w.ppm) && bd.unknown == "" {
			bd.unknown = "the dryness of " + w.name + " (grade, water content or how it was dried)"
			if w.kind == "solid" {
				bd.unknown = "how much water the damp " + w.name + " holds"
			}
		}
		if !math.IsNaN(w.ppm) && w.mmol > 0 && reagent != nil {
			// what water takes is no longer live
			if p := v.find(reagent); p != nil {
				b.traceWater(v, reagent, math.Min(p.mmol, w.mmol/math.Max(reagent.water, 1)))
			}
		}
	}
	v.traces = nil
	for _, r := range b.reactions {
		for _, c := range r.consumes {
			if c.sp != reagent && c.sp != bd.reagent {
				continue
			}
			// what the reaction needs, by its other partners as planned
			need := math.Inf(1)
			for _, d := range r.consumes {
				if d.sp == c.sp {
					continue
				}
				total, known := b.planned(d.sp)
				if known {
					need = math.Min(need, total/d.n*c.n)
				}
			}
			if have, known := b.planned(c.sp); known && !math.IsInf(need, 1) {
				bd.excess = Got((have - need) * math.Max(c.sp.eq, 1))
			}
		}
	}
}

// traceWater lets water that is in no ledger, a trace in a solvent or on glass,
// take its share of a reagent.
func (b *Bench) traceWater(v *vessel, reagent *species, mmol float64) {
	water := b.lookup("water")
	if water == nil || mmol <= trace {
		return
	}
	q := b.hydrolysis(reagent, water, byTrace)
	p := made(share{water, q.takes[1].n}, mmol, "a trace")
	b.bring([]portion{p})
	kept := v.find(water)
	if kept == nil {
		p.ml = 0
	}
	v.put(p)
	var o outcome
	b.run(v, q, mmol, reagent.name, &o)
}

// planned is how much of a species the materials table lists, mmol.
func (b *Bench) planned(sp *species) (float64, bool) {
	n, known := 0.0, false
	for _, m := range b.materials {
		if m.sp == sp && m.mmol.Known {
			n += m.mmol.V
			known = true
		}
	}
	return n, known
}

// glassWater is the film on glass that was not dried: taken as 10 mg for
// every 100 mL of flask, the careful end of what undried glass is said to
// hold (from memory); glass that was dried holds none that counts.
func (b *Bench) glassWater(v *vessel) {
	if v.glass == "dry" || v.piece == nil || v.piece.class == "syringe" || v.piece.class == "cannula" {
		return
	}
	ml := v.size.V
	if !v.size.Known {
		ml = math.Max(100, 2*v.volume())
	}
	mg := 10.0 * ml / 100
	why := "film on undried glass, 10 mg per 100 mL of flask"
	if v.glass == "wet" {
		mg, why = mg*10, "wet glass, 100 mg per 100 mL of flask"
	}
	v.traces = append(v.traces, waterSource{kind: "glass", name: v.name, mmol: mg / waterMass, grade: v.glass, assumed: why})
}

// airWater is the water vapour of the head space when the charge goes in.
func (b *Bench) airWater(v *vessel) {
	h := v.headspace()
	if !h.Known || v.gases.H2O <= 0 {
		return
	}
	if n := GasMmol(h.V, v.gases.H2O*Atm, v.tC); n > 1e-4 {
		v.traces = append(v.traces, waterSource{kind: "air", name: "the air in " + v.name, mmol: n, grade: v.how})
	}
}

// bubbleML is the stream of gas taken where none is written, mL/min: a bubble a
// second (common practice); dryGas the share of water below which a stream brings
// none that counts.
const (
	bubbleML = 10
	dryGas   = 1e-4
)

// wetStream books the water that a moist stream of gas carries over a live charge
// while a step lasts, all of it taken: flow times time (ideal gas).
func (b *Bench) wetStream(s *procedure.Step, v *vessel) {
	if v.budget == nil || v.conn != connGas || !v.supplied || v.supply == nil || v.liveEq() <= 0 {
		return
	}
	wet, m := b.supplied(v, v.supply).H2O, minutes(s)
	if wet < dryGas || !m.Known || m.V <= 0 {
		return
	}
	ml, why := v.flowML, ""
	if s.Flow != nil && s.Flow.Known() && s.Flow.Dim == quantity.Flow {
		ml = s.Flow.Max()
	}
	if ml <= 0 {
		ml, why = bubbleML, "a stream of a bubble a second, 10 mL/min"
	}
	v.traces = append(v.traces, waterSource{kind: "gas", name: "the moist gas of " + v.supply.name + " (step " + quantity.FormatNumber(float64(s.N)) + ")", mmol: GasMmol(ml*m.V, wet*Atm, b.roomT()), grade: v.how, assumed: why})
}

// closeBudget reports the water that a charge met, once it is at an end.
func (b *Bench) closeBudget(v *vessel) {
	bd := v.budget
	v.budget = nil
	if bd == nil || bd.eq <= 0 || b.unsure[bd.reagent] != "" {
		return // a reagent of unknown amount is asked for by its own row
	}
	f := b.waterMet(v, bd)
	if f.WaterMmol.Known {
		b.waterTotal += f.WaterMmol.V
		b.worstLoss = math.Max(b.worstLoss, f.LossPercent.V)
	}
	b.emit(Event{Kind: "water", Step: bd.step, Span: bd.span, Subject: bd.subject, Facts: f, Cause: b.join("water in ", v.name, "")})
}

// saponifies reports the water that stands with an alkoxide in its alcohol when an
// ester meets it: RO⁻ + H2O = ROH + OH⁻ is drawn to the right, since OH⁻ + R'CO2R =
// R'CO2⁻ + ROH goes to its end, so that each mol of water takes a mol of ester and a mol of base (stoichiometry).
func (b *Bench) saponifies(s *procedure.Step, l *lot, v *vessel) {
	if !v.hasFamily("alkoxide") || v.blur != "" || v.aqueous() || !l.has(func(sp *species) bool { return sp.is("ester", "alkoxide") }) {
		return
	}
	var base, ester *portion
	for i := range v.contents {
		p := &v.contents[i]
		switch {
		case p.mmol <= 0.01 || p.maybe:
		case p.sp.family == "alkoxide" && (base == nil || p.mmol > base.mmol):
			base = p
		case p.sp.is("ester") && !p.sp.made && (ester == nil || p.mmol > ester.mmol):
			ester = p
		}
	}
	sol := v.solvent()
	if base == nil || ester == nil || sol == nil || !sol.is("alcohol") || v.liveEq() > 0 && v.budget != nil {
		return
	}
	n := len(v.traces)
	b.glassWater(v)
	bd := &budget{step: s.N, span: s.Head, subject: headOf(s), reagent: base.sp, eq: base.mmol, excess: Missing("the amounts of the reaction"), vessel: b.facts(v), sources: slices.Clone(v.traces)}
	v.traces = v.traces[:n]
	for _, w := range bd.sources {
		if math.IsNaN(w.ppm) && bd.unknown == "" {
			bd.unknown = "the dryness of " + w.name + " (grade, water content or how it was dried)"
		}
	}
	f := b.waterMet(v, bd)
	f.Ester, f.EsterMmol, f.EsterPercent = ester.sp.name, Got(ester.mmol), Missing(f.WaterMmol.Ask())
	if f.WaterMmol.Known {
		lost := math.Min(f.WaterMmol.V, math.Min(base.mmol, ester.mmol))
		f.EsterPercent = Num{V: 100 * lost / ester.mmol, Known: true, Note: f.WaterMmol.Assumed()}
	}
	b.emit(Event{Kind: "water", Facts: f, Cause: b.join("water in ", v.name, "")})
}

// waterMet sums the water of a budget and sets it against its charge.
func (b *Bench) waterMet(v *vessel, bd *budget) *WaterFacts {
	f := &WaterFacts{Reagent: bd.reagent.name, Family: bd.reagent.family, ReagentMmol: bd.eq, Live: bd.reagent.live, Vessel: bd.vessel, ExcessMmol: bd.excess,
		WaterMmol: Got(0), LossPercent: Got(0), SourceMmol: Missing("the water"), SourcePPM: Missing("the water"), SourceVolumeML: Missing("the volume"), NeedPPM: Missing("the solvent"), NeedMmol: Missing("the reagent"), EsterMmol: Missing("an ester"), EsterPercent: Missing("an ester"),
		SolventMmol: Got(0), GlassMmol: Got(0), SolidMmol: Got(0), AirMmol: Got(0), Glass: v.glass, GlassDry: v.glass == "dry"}
	var sum float64
	var worst *waterSource
	assumed, solidsUnknown := "", false
	var ml, grams float64
	for i := range bd.sources {
		w := &bd.sources[i]
		if math.IsNaN(w.ppm) {
			ml += w.ml
			grams += w.ml * w.rho
			if w.kind == "solid" {
				solidsUnknown = true
			} else {
				f.SolventMmol = Missing(bd.unknown)
			}
			if worst == nil || !math.IsNaN(worst.ppm) {
				worst = w
			}
			continue
		}
		sum += w.mmol
		switch w.kind {
		case "solvent":
			if f.SolventMmol.Known {
				f.SolventMmol.V += w.mmol
			}
			ml += w.ml
			grams += w.ml * w.rho
			f.WorkupDried = f.WorkupDried || w.workup
		case "glass":
			f.GlassMmol.V += w.mmol
			f.GlassMmol.Note = w.assumed
		case "solid":
			f.SolidMmol.V += w.mmol
		case "air", "gas":
			f.AirMmol.V += w.mmol
		}
		if worst == nil || !math.IsNaN(worst.ppm) && w.mmol > worst.mmol {
			worst = w
		}
	}
	if worst != nil {
		assumed = worst.assumed // what the sum rests on
	}
	f.WorkupDried = f.WorkupDried || v.workupDried
	perEq := 1.0
	f.WaterMmol = Num{V: sum, Known: true, Note: assumed}
	f.LossPercent = Num{V: math.Min(100, 100*sum*perEq/bd.eq), Known: true, Note: assumed}
	if e := b.molesEnds(bd.reagent); e.ranged() {
		f.LossPercent.V = math.Min(100, f.LossPercent.V/e.low)
		f.LossPercent.Note = word(f.LossPercent.Assumed(), e.lower())
	}
	limit := b.siteFigure("water loss of reagent", 0.05)
	switch {
	case bd.unknown == "":
	case solidsUnknown && sum >= limit*bd.eq:
		// what is known is too much already
		f.WaterMmol.Note, f.LossPercent.Note = "without what is not stated: "+bd.unknown, "without what is not stated: "+bd.unknown
	default:
		f.WaterMmol, f.LossPercent = Missing(bd.unknown), Missing(bd.unknown)
		if solidsUnknown {
			f.SolidMmol = Missing(bd.unknown)
		}
	}
	if worst != nil {
		f.Source, f.SourceKind, f.SourceGrade = worst.name, worst.kind, worst.grade
		if worst.kind == "glass" {
			f.Source = "the glass of " + worst.name
		}
		if math.IsNaN(worst.ppm) {
			f.SourceMmol, f.SourcePPM = Missing(bd.unknown), Missing(bd.unknown)
		} else {
			f.SourceMmol = Num{V: worst.mmol, Known: true, Note: worst.assumed}
			if worst.kind == "solvent" {
				f.SourcePPM = Num{V: worst.ppm, Known: true, Note: worst.assumed}
			}
		}
		if m := b.material(worst.name); m != nil {
			f.SourceReagent = m.solvent != nil && m.sp != m.solvent
		}
		if worst.ml > 0 {
			f.SourceVolumeML = Got(worst.ml)
		}
	}
	// the reverse question: what the step stands, by the site's limit and, where
	// that is less, by the excess of the reagent
	allowed := limit * bd.eq
	if f.ExcessMmol.Known && f.ExcessMmol.V > 0 {
		allowed = math.Min(allowed, f.ExcessMmol.V)
	}
	f.NeedMmol = Got(allowed)
	if grams > 0 {
		f.NeedPPM = Got(math.Max(0, (allowed-f.GlassMmol.V-f.SolidMmol.V-f.AirMmol.V)*waterMass/1000/grams*1e6))
	}
	for _, s := range b.p.Steps {
		if has(s.Until.S, "persist", "colour just", "faint colour", "color persists") && s.Verb.Name == "add" {
			f.Titrated = true
		}
	}
	f.WaterTolerant = bd.reagent.is("borohydride") || bd.reagent.attacked.water == "slow"
	return f
}
