package bench

import (
	"maps"
	"math"
	"slices"
	"strings"

	"ketyl/checker/quantity"
)

// finish closes what is open and looks at the whole text.
func (b *Bench) finish() {
	b.step = nil
	for _, v := range b.vessels {
		b.closeBudget(v)
	}
	b.materialEvents()
	b.apparatusEvents()
	b.judgeCautions()
	for _, e := range b.trace.Events {
		if f, ok := e.Facts.(*ExposureFacts); ok {
			for _, v := range b.vessels {
				if v.name == f.Vessel.Name {
					f.MaxNeedRank = math.Max(f.MaxNeedRank, v.maxNeed)
				}
			}
		}
	}
	b.trace.streams, b.trace.students = b.streams, b.students()
	b.meetings()
	b.containersOf()
	b.fillAtEnd()
	b.wholeText()
}

// fillAtEnd tells every addition the largest fill its vessel came to.
func (b *Bench) fillAtEnd() {
	peak := map[string]Num{}
	for _, e := range b.trace.Events {
		switch f := e.Facts.(type) {
		case *AdditionFacts:
			if n := f.FillAfter; n.Known && n.V > valueOf(peak[f.Vessel.Name]) {
				peak[f.Vessel.Name] = n
			}
		case *QuenchFacts:
			if n := f.FillAfter; n.Known && n.V > valueOf(peak[f.Vessel.Name]) {
				peak[f.Vessel.Name] = n
			}
		}
	}
	for _, e := range b.trace.Events {
		if f, ok := e.Facts.(*AdditionFacts); ok {
			if n, ok := peak[f.Vessel.Name]; ok {
				f.FillAtEnd = n
			}
		}
	}
}

func (b *Bench) apparatusEvents() {
	for _, p := range b.pieces {
		if p.row == nil {
			continue
		}
		f := &ApparatusEvent{Name: p.name, Kind: p.kind, Class: p.class, Known: p.known, SizeML: b.ask("the size of ", p.name, ""), PeakML: b.ask("how much ", p.name, " is to hold"), Used: p.used, Supply: p.class == "line", PressureMb: Missing("the supply pressure"), Gas: p.row.Gas.S, GasStated: p.row.Gas.Is(), Packing: p.row.Packing.S, Count: 1}
		if p.class == "drying tube" && f.Packing == "" {
			f.Packing = p.row.Fill.S // how it is packed is said with what it holds
		}
		f.FillBoilsC = Missing("what " + p.name + " is filled with")
		if p.row.Fill.Is() {
			if sp := b.lookup(p.row.Fill.S); sp != nil {
				f.Fill, f.FillFamily, f.FillBoilsC = sp.name, sp.family, sp.bp
			}
		}
		if p.vessel != nil {
			f.SizeML = p.vessel.size
			if !p.vessel.peakBlur {
				f.PeakML = Got(p.vessel.peakML)
			}
		}
		f.PurityPct = Missing("the purity of its gas")
		if p.row.Purity != nil && p.row.Purity.Known() && p.row.Purity.Dim == quantity.Fraction {
			f.PurityPct = Got(p.row.Purity.Value() * 100)
		}
		for _, v := range b.vessels {
			if v.supply == p || v.supply == nil && f.Supply && b.onlyLine(p) && v.gasName != "" {
				f.NeedRank = math.Max(f.NeedRank, v.maxNeed)
			}
		}
		f.Relief = relieving(p) != ""
		for _, q := range b.pieces {
			if q.on == p && (q.class == "bubbler" || has(q.kind, "relief")) {
				f.Relief = true
			}
		}
		f.ReliefAssumed = f.Supply && relieved(p) && !p.row.Relief.Is() && !b.outletWritten() && !b.refersToLine()
		for _, q := range b.pieces {
			f.ReliefAssumed = f.ReliefAssumed && !(q.on == p && (q.class == "bubbler" || has(q.kind, "relief")))
		}
		f.ReliefKnown = Got(1)
		if f.ReliefAssumed {
			f.ReliefKnown = b.ask("what lets the pressure of ", p.name, " go: a bubbler, a relief valve")
			if f.ClassText = b.p.Whole() && b.p.Setting == "teaching"; f.ClassText {
				f.ReliefKnown = Got(0)
			}
		}
		if p.row.Pressure != nil && p.row.Pressure.Known() {
			f.PressureMb = Got(p.row.Pressure.Value())
		}
		f.Mercury = has(p.kind+p.row.Fill.S+p.row.Note.S, "mercury")
		if p.row.Count != nil && p.row.Count.Known() {
			f.Count = p.row.Count.Value()
		}
		b.emit(Event{Kind: "apparatus", Span: p.row.Name.Span, Subject: p.name, Facts: f, Cause: b.join("apparatus ", p.name, "")})
	}
}

// refersToLine reports that the line is described in a section of the manual which
// the text names.
func (b *Bench) refersToLine() bool {
	for _, r := range b.p.Refers {
		if has(r.S, "gas", "line", "manifold", "inert", "nitrogen", "argon", "schlenk", "glovebox", "air-free", "air-sensitive") {
			return true
		}
	}
	return false
}

// onlyLine reports the one supply of gas that the list has.
func (b *Bench) onlyLine(p *piece) bool {
	for _, q := range b.pieces {
		if q != p && q.class == "line" {
			return false
		}
	}
	return p.class == "line"
}

// wholeText sums the procedure up.
func (b *Bench) wholeText() {
	p := b.p
	f := &ProcedureFacts{ProtonFirst: b.protonFirst(), Name: p.Name.S, DeclaredKnown: b.declaredKnown, Setting: p.Setting, Whole: p.Whole(), Students: Missing("how many students run it"), SectionMin: Missing("the length of the section"),
		HandsOnMin: Got(b.handsOn), WaitingMin: Got(b.waiting), TotalMin: Got(b.handsOn + b.waiting), LeadHours: Got(b.lead), LeadPlanned: b.leadPlanned, LeadWhat: b.leadWhat,
		Unattended: b.unattended, UnattendedSaid: b.unattendedSaid, ApprovedAlone: b.approvedAlone(), StillML: b.stillML, UnattendedMin: Got(b.unattendedMin), Attended: b.attended, LiveUsed: b.liveUsed, Quenched: b.quenched, StopPoint: b.stopPoint,
		Cryogen: b.cryogenUsed, Vacuum: b.vacuumUsed, InertGas: b.inertUsed, Emergency: float64(len(p.Emergency)), Approved: p.Approval != nil && (p.Approval.By.Is() || p.Approval.Training.Is()),
		HasProduct: p.Product != nil, LimitingMmol: Missing("the amounts"), TheoreticalG: Missing("the product's formula and the limiting amount"), ExpectedG: Missing("the expected yield"), YieldPercent: Missing("the expected yield"), PossiblePercent: Missing("the declared reactions and their amounts"), StatedYield: Missing("the stated yield"), MeltingOffK: Missing("the melting point of the product"),
		RoomOxygen: Missing("the size of the gas store"), Limiting: b.trace.Figures.Limiting}
	if b.trace.Figures.LimitingMmol.Known {
		f.LimitingMmol = b.trace.Figures.LimitingMmol
	}
	if n := b.students(); n > 0 {
		f.Students = Got(n)
	}
	if t := p.Section.Time; t != nil && t.Known() {
		f.SectionMin = Got(t.Value())
	}
	f.Alone = isTrue(p.Section.Alone)
	for _, c := range p.Cautions {
		f.Topics = append(f.Topics, c.About.S)
	}
	for _, m := range b.materials {
		if !m.used {
			continue
		}
		if m.sp.name == "magnesium" && m.mmol.Known {
			f.MagnesiumMmol += m.mmol.V
		}
		if m.sp.live && !slices.Contains(f.LiveUsed, m.sp.name) {
			f.LiveUsed = append(f.LiveUsed, m.sp.name) // also one that is gone as it goes in
		}
		if m.sp.is("aluminium hydride") && f.AluminiumHydride == "" {
			f.AluminiumHydride = m.name
		}
		if m.sp.live && m.sp.pyro() {
			if m.mmol.Known {
				f.PyrophoricMmol += m.mmol.V
			} else {
				f.PyrophoricMmol += 1000
			}
		}
		if m.sp.live && m.sp.pyro() && !f.Pyrophoric {
			f.Pyrophoric, f.PyrophoricName = true, m.name
		}
		if m.sp.is("alkali metal", "saline hydride", "aluminium hydride", "organolithium", "organoaluminium", "organozinc") || m.sp.is("alkaline-earth metal") && !has(m.sp.name, "magnesium") {
			f.ReactiveMetal = true
		}
	}
	f.Cleared = b.clearsHood()
	for _, q := range b.pieces {
		f.Jack = f.Jack || has(q.kind, "jack", "lift")
	}
	f.ScaleRatio, f.SparePercent, f.QueueMin = Missing("the scale that was reviewed"), Missing("the spare allowance"), Missing("how many students share a station")
	if a := p.Approval; a != nil && a.Scale.Is() && f.LimitingMmol.Known {
		if q, err := quantity.Parse(a.Scale.S); err == nil && q.Dim == quantity.Amount && q.Known() && q.Value() > 0 {
			f.ScaleRatio = Got(f.LimitingMmol.V / q.Value())
		}
	}
	for _, m := range b.materials {
		if sp := m.row.Spare; sp != nil && sp.Known() && sp.Dim == quantity.Fraction && (!f.SparePercent.Known || sp.Value()*100 < f.SparePercent.V) {
			f.SparePercent = Got(sp.Value() * 100)
		}
	}
	b.queues(f)
	for _, r := range p.Refers {
		if has(r.S, "emergency", "first aid", "accident", "spill") {
			f.Emergency++
		}
		f.RefersWaste = f.RefersWaste || has(r.S, "waste", "disposal", "clearing up")
		f.RefersGlass = f.RefersGlass || has(r.S, "glassware", "apparatus", "equipment", "drawer", "kit list", "locker")
	}
	f.SafetyPart = p.Protection != nil && len(p.Cautions) > 0
	if q := p.Protection; q != nil {
		f.Coat, f.Gloves, f.Eyes, f.Shield, f.Extinguisher = worn(q.Coat), worn(q.Gloves), worn(q.Eyes), worn(q.Shield), worn(q.Extinguisher)
	}
	for _, st := range p.Steps {
		if isTrue(st.Shielded) && f.Shield == "" {
			f.Shield = "at " + headOf(st)
		}
	}
	for _, c := range b.pageCautions() {
		t := c.say
		if f.Coat == "" && has(t, "flame-resistant coat", "flame resistant coat", "fr coat", "nomex", "lab coat") {
			f.Coat = t
		}
		if f.Gloves == "" && has(t, "glove") {
			f.Gloves = t
		}
		if f.Eyes == "" && has(t, "goggle", "safety glasses", "spectacles", "eye protection", "face shield") {
			f.Eyes = t
		}
		if f.Shield == "" && has(t, "shield", "sash") {
			f.Shield = t
		}
		if f.Extinguisher == "" && has(t, "sand", "class d", "extinguisher") {
			f.Extinguisher = t
		}
	}
	f.Hood, f.HoodNeeds = b.hood()
	for _, m := range b.materials {
		if sp := m.sp; m.used && m.ml.Known && m.ml.V > f.HoodLiquidML && sp.liquid && sp.bp.Known && sp.bp.V < 100 && sp.flash.Known && sp.flash.V < 23 {
			f.HoodLiquid, f.HoodLiquidML = m.name, m.ml.V
		}
	}
	for _, r := range b.reactions {
		if r.met || len(r.consumes) == 0 {
			continue
		}
		var names []string
		for _, c := range r.consumes {
			names = append(names, c.sp.name)
		}
		f.IdleReactions = append(f.IdleReactions, strings.Join(names, " with "))
	}
	f.Unbalanced = b.outOfNothing
	b.endState(f)
	b.yield(f)
	for _, m := range b.missing {
		if !slices.Contains(f.MissingApparatus, m) {
			f.MissingApparatus = append(f.MissingApparatus, m)
		}
	}
	b.roomOxygen(f)
	b.times(f)
	b.emit(Event{Kind: "procedure", Span: p.Name.Span, Subject: p.Name.S, Facts: f})
	fig := &b.trace.Figures
	fig.TheoreticalG, fig.YieldPercent = f.TheoreticalG, f.YieldPercent
	fig.LargestRiseK, fig.GasL = Got(b.largestRise), Got(GasLitres(b.gasTotal))
	fig.WaterMmol, fig.WaterLossPercent = Got(b.waterTotal), Got(b.worstLoss)
	fig.HandsOnMin, fig.TotalMin = f.HandsOnMin, f.TotalMin
	fig.CriticalPathMin, fig.QuenchStartMin, fig.LatestQuenchMin, fig.LeadDays = f.CriticalPathMin, f.QuenchStartMin, f.LatestQuenchMin, f.LeadDays
	for _, s := range b.streams {
		fig.Wastes = append(fig.Wastes, s.name+" → "+s.container)
	}
}

// approvedAlone reports an approval that speaks of runs nobody watches; one of
// the procedure as a whole is none.
func (b *Bench) approvedAlone() bool {
	a := b.p.Approval
	if a == nil {
		return false
	}
	t := a.By.S + "; " + a.Training.S
	return has(t, "overnight", "unattended", "out-of-hours", "out of hours", "night run", "left running", "after hours")
}

// clearsHood reports that the text clears the hood before reactive work.
func (b *Bench) clearsHood() bool {
	for _, s := range b.p.Steps {
		if s.Verb.Name == "clear" {
			return true
		}
	}
	for _, c := range b.pageCautions() {
		if has(c.say, "clear the hood", "cleared of", "no paper", "keep paper", "remove solvents", "out of the hood") {
			return true
		}
	}
	return false
}

// evaporatorMin is the least that an extract takes on a rotary evaporator with bulb, bath
// and pump, min, where a text states no time (common practice).
const evaporatorMin = 10

// queues works out the longest wait at a shared station: students over
// stations, times the minutes of the longest step there.
func (b *Bench) queues(f *ProcedureFacts) {
	n := b.students()
	if n == 0 {
		return
	}
	for _, name := range slices.Sorted(maps.Keys(b.p.Section.Stations)) {
		k := b.p.Section.Stations[name]
		if !k.Known() || k.Value() <= 0 {
			continue
		}
		for _, e := range b.trace.Events {
			sf, ok := e.Facts.(*StepFacts)
			if !ok || e.Step == 0 {
				continue
			}
			s := b.p.Steps[e.Step-1]
			took := sf.Minutes
			if !took.Known && s.Verb.Name == "concentrate" {
				took = Assume(evaporatorMin, "the usual time at an evaporator")
			}
			if !took.Known {
				continue
			}
			text := joined(s.In) + joined(s.On) + joined(s.From) + joined(s.With) + s.By.S + joined(s.Object)
			if !has(text, strings.ToLower(name)) {
				continue
			}
			if wait := (math.Ceil(n/k.Value()) - 1) * took.V; !f.QueueMin.Known || wait > f.QueueMin.V {
				f.QueueMin, f.QueueAt, f.QueueLive = Num{V: wait, Known: true, Note: took.Assumed()}, name, sf.Live
			}
		}
	}
}

// endState looks for what is still live and what has no route when the text
// ends.
func (b *Bench) endState(f *ProcedureFacts) {
	var where []string
	for _, v := range b.vessels {
		if v.discarded || v.gone && len(v.contents) == 0 || v.piece != nil && (v.piece.class == "syringe" || v.piece.class == "cannula") {
			continue
		}
		stored := v.stored && (v.closed() || v.conn == connBox)
		if n := v.liveMmol(); n > 0.01 && !stored {
			f.LiveAtEndMmol += n
			l := v.live()[0]
			where = append(where, l.sp.name+" in "+v.name)
		}
	}
	f.LiveAtEnd = strings.Join(where, ", ")
	for _, v := range b.vessels {
		if v.discarded || v.gone || v.product || v.stored || len(v.contents) == 0 || v.bulk && v.volume() < 5 {
			continue
		}
		if v.piece != nil && (v.piece.class == "syringe" || v.piece.class == "cannula" || v.piece.class == "bubbler" || v.piece.class == "scrubber") {
			continue
		}
		if v.isDesiccant && b.keptDry(v) {
			continue
		}
		if v.kind == "organic" && !v.aqueous() && b.isProductVessel(v) {
			continue
		}
		if b.onlyProduct(v) {
			continue
		}
		route := b.routeFor(v)
		if strings.HasPrefix(route, "none: ") {
			route = "hood, to evaporate" // a cryogen: no container takes it
		}
		f.Leftovers = append(f.Leftovers, v.name)
		for _, p := range v.contents {
			if p.mmol > 0.01 && (p.sp.live || p.sp.explodes || p.sp.attacked.water == "violent") {
				f.LeftoverLive = true
			}
		}
		if f.LeftoverRoutes != "" {
			f.LeftoverRoutes += "\n"
		}
		f.LeftoverRoutes += "- discard: " + v.name + "\n  into: " + route
	}
	f.LeftoverCount = float64(len(f.Leftovers))
}

// routeFor names the container that takes what is left in a vessel.
func (b *Bench) routeFor(v *vessel) string {
	ml := 0.0
	for _, p := range v.contents {
		ml += p.ml
	}
	feat := b.features(v.contents, ml)
	if _, ok := feat["live"]; ok {
		return "… # destroy what is live in it first"
	}
	return b.better(feat, nil)
}

// keptDry: sieves that only dried a stock bottle before the section stay in
// it, with the stockroom.
func (b *Bench) keptDry(v *vessel) bool {
	for _, s := range b.p.Steps {
		for _, t := range s.With {
			if sameName(t.S, v.name) && (isTrue(s.Before) || s.DoneBy.S == "stockroom") {
				return true
			}
		}
	}
	return false
}

func (b *Bench) isProductVessel(v *vessel) bool { return v.product }

func (b *Bench) onlyProduct(v *vessel) bool {
	for _, p := range v.contents {
		if p.mmol > trace && !b.isProduct(p.sp) {
			return false
		}
	}
	return true
}

// outletWritten reports a way out for gas that the text writes anywhere: a
// bubbler in the table or an outlet of a step.
func (b *Bench) outletWritten() bool {
	for _, p := range b.pieces {
		if p.class == "bubbler" || p.class == "balloon" || p.class == "scrubber" || p.class == "drying tube" {
			return true
		}
	}
	for _, s := range b.p.Steps {
		if s.Outlet.Is() || s.Verb.Name == "vent" {
			return true
		}
	}
	return false
}
