package bench

import (
	"math"
	"slices"
	"strings"

	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
)

// opens says how a step lets air to what a vessel holds; empty if it does not.
func (b *Bench) opens(s *procedure.Step, v *vessel) string {
	if v.conn == connBox {
		return ""
	}
	if v.swapped == s.N {
		return "change of a fitting"
	}
	named := false
	for _, all := range [...][]procedure.Text{s.Object, s.From, s.In} {
		for _, o := range all {
			named = named || sameName(o.S, v.name) || b.last == v && slices.Contains(vagueNames, strings.ToLower(o.S))
		}
	}
	switch s.Verb.Name {
	case "open", "withdraw":
		if named && v.conn == connOpen {
			return "opening"
		}
	case "filter", "decant", "centrifuge", "extract", "separate", "wash":
		if b.worksOn(s, v) && !b.guarded(s) {
			return s.Verb.Name
		}
	case "quench", "destroy":
		if named && has(s.By.S, "pipet", "dropper", "beaker", "pouring") && !b.guarded(s) && v.conn != connOpen && v.conn != connTube && v.piece != nil {
			return "pipetting"
		}
	case "concentrate":
		if b.worksOn(s, v) && !b.guarded(s) && v.conn != connVacuum {
			return "evaporation"
		}
	case "add", "charge", "transfer", "pour":
		m := ""
		if len(s.To) > 0 && sameName(s.To[0].S, v.name) {
			m, _ = b.method(s, nil)
			if m == "pour" && !b.guarded(s) {
				return "pouring in"
			}
			if m == "pipette" && !b.guarded(s) && v.conn != connOpen {
				return "pipetting"
			}
			if s.Verb.Name != "pour" && b.solidStep(s) && !b.guarded(s) && v.conn != connOpen && !has(joined(s.Through)+s.By.S, "solid addition", "side", "tipping", "bent", "addition tube") {
				return "a solid through an open neck"
			}
		} else if named {
			m, _ = b.method(s, nil)
			if m == "pour" && !b.guarded(s) {
				return "pouring out"
			}
		}
	}
	return ""
}

// standing keeps what a finishing step works on, before it changes anything, and
// how many vessels stand on the bench by then.
func (b *Bench) standing(s *procedure.Step) {
	b.worked, b.stood = b.worked[:0], len(b.vessels)
	if s.Verb.Group != procedure.Finish {
		return
	}
	for _, ts := range [][]procedure.Text{s.Object, s.From, s.In} {
		for _, t := range ts {
			if v := b.place(t, false); v != nil {
				b.worked = append(b.worked, v)
			}
		}
	}
	if len(s.Object) == 0 && b.last != nil {
		b.worked = append(b.worked, b.last)
	}
}

// worksOn reports a vessel that a finishing step opens: what it works on, what it
// pours into and what it gives. Whatever else stands on the bench it leaves alone.
func (b *Bench) worksOn(s *procedure.Step, v *vessel) bool {
	if slices.Contains(b.worked, v) || slices.Index(b.vessels, v) >= b.stood {
		return true
	}
	is := func(t procedure.Text) bool { return sameName(t.S, v.name) }
	if slices.ContainsFunc(s.To, is) || slices.ContainsFunc(s.Into, is) {
		return true
	}
	for _, t := range s.Gives {
		if is(t) {
			return true
		}
	}
	return false
}

func (b *Bench) solidStep(s *procedure.Step) bool {
	for _, o := range s.Object {
		if m := b.material(o.S); m != nil && m.row.Solution == nil && !m.sp.liquid && !m.sp.gas && !has(m.row.Form.S, "solution") && len(s.In) == 0 && len(s.From) == 0 {
			return true
		}
	}
	return false
}

// exposures reports, for every vessel that holds a sensitive species, the
// barrier it stands under, whenever that changes.
func (b *Bench) exposures(s *procedure.Step) {
	for _, v := range b.vessels {
		if v.gone || v.discarded || len(v.contents) == 0 || v.aliquot {
			continue
		}
		p := v.mostSensitive()
		act := b.opens(s, v)
		if in := b.cameIn[v]; act == "" && in.need() >= 2 && (p == nil || in.need() > p.need()) {
			p = &in // used up as it came, but it came through the air there
		}
		if p == nil || p.mmol < 1e-3 {
			continue
		}
		if (act == "pouring in" || act == "pipetting" || act == "a solid through an open neck") && !b.sensitiveBefore[v] {
			act = "" // what is sensitive comes with or after the pour
		}
		if s.Verb.Group == procedure.Finish && act != "" {
			b.workedUp[v] = true
		}
		if !p.sp.live && b.spentNow(v, p.sp, s) {
			b.workedUp[v] = true
			continue
		}
		if v.filmed && act == "" && v.liveMmol() < 1 {
			continue // a film under its rinse, in the beaker where it is to be destroyed
		}
		if v.volume() == 0 && p.sp.need <= 1 {
			continue // dry metal turnings in an empty flask
		}
		// a fresh sensitive metal or solid charged before the gas goes on is
		// judged once the liquid is in
		if act == "" && v.volume() == 0 && v.conn == connOpen && !p.sp.pyro() && !p.sp.liquid {
			continue
		}
		if !p.sp.live && (v.aqueous() || v.metWater) && p.sp.attacked.water != "" {
			continue // in its aqueous quench water takes it before air does
		}
		if v.kind == "filtrate" && b.isProduct(p.sp) && b.moreElsewhere(v, p) {
			continue // what the liquor keeps of the product is a leftover
		}
		if act != "" && !p.sp.live && v.kind == "cake" {
			if ok, _ := b.acceptedHere(v, p.sp); ok {
				continue // crystals on a filter that the trade washes and dries in air
			}
		}
		// a catalyst that air takes slowly is weighed in air; its air is taken out
		// before anything happens in the vessel
		if act == "" && v.conn == connOpen && p.sp.attacked.oxygen == "slow" && !p.sp.live && b.airGoesFirst(s, v) {
			continue
		}
		key := v.name + "|" + p.sp.name + "|" + string(v.conn) + "|" + v.gasName + "|" + barrierWord(v.rank) + "|" + act
		if v.volume() > 0 {
			key += "|wet"
			if v.degassed {
				key += "|degassed"
			}
		}
		if act == "" && b.lastExposure[key] {
			continue
		}
		b.lastExposure[key] = true
		f := b.exposure(s, v, p, act)
		b.emit(Event{Kind: "exposure", Facts: f, Cause: b.join("barrier of ", v.name, "")})
	}
}

// moreElsewhere reports that another vessel holds more of a species.
func (b *Bench) moreElsewhere(v *vessel, p *portion) bool {
	for _, w := range b.vessels {
		if w == v || w.gone || w.discarded {
			continue
		}
		if q := w.find(p.sp); q != nil && q.mmol > p.mmol {
			return true
		}
	}
	return false
}

// airGoesFirst reports that the next thing that happens to a vessel, but for
// more going in, is that its air is taken out.
func (b *Bench) airGoesFirst(s *procedure.Step, v *vessel) bool {
	for _, t := range b.p.Steps[s.N:] {
		named := false
		for _, o := range concat(t.Object, t.To) {
			named = named || sameName(o.S, v.name)
		}
		switch {
		case !named:
		case slices.Contains([]string{"backfill", "purge", "sparge", "degas"}, t.Verb.Name):
			return true
		case t.Verb.Name != "charge" && t.Verb.Name != "add" && t.Verb.Name != "fit" && t.Verb.Name != "seal":
			return false
		}
	}
	return false
}

// spentNow reports an oxygen-sensitive catalyst whose work is over: from the
// first work-up step in air on it is a residue, not a thing to protect.
func (b *Bench) spentNow(v *vessel, sp *species, s *procedure.Step) bool {
	if s.Verb.Name == "destroy" && sp.is("low-valent complex", "precatalyst") && namesVessel(s, v) {
		return true // what is left of the product in a residue goes too
	}
	if b.isProduct(sp) || !sp.is("low-valent complex", "precatalyst", "metal powder", "phosphine", "copper salt", "ligand") {
		return false
	}
	if v.piece == nil || b.workedUp[v] || v.quenched {
		return true
	}
	return s.Verb.Group == procedure.Finish || s.Verb.Name == "open" && b.hasRun(s, v) && b.workedUpNext(s, v)
}

// hasRun reports that a vessel was heated, stirred or left to stand before a step.
func (b *Bench) hasRun(s *procedure.Step, v *vessel) bool {
	for _, t := range b.p.Steps[:s.N-1] {
		switch t.Verb.Name {
		case "heat", "reflux", "stir", "stand", "warm", "irradiate":
			if namesVessel(t, v) && !t.If.Is() && !isTrue(t.Optional) && minutes(t).Known {
				return true
			}
		}
	}
	return false
}

// workedUpNext reports that the next thing that is done to a vessel is its work-up.
func (b *Bench) workedUpNext(s *procedure.Step, v *vessel) bool {
	for _, t := range b.p.Steps[s.N:] {
		if namesVessel(t, v) {
			return t.Verb.Group == procedure.Finish || t.Verb.Name == "quench" || t.Verb.Name == "destroy" || t.Verb.Name == "discard"
		}
	}
	return false
}

// namesVessel reports a step that acts on a vessel, puts something there or takes
// something from it.
func namesVessel(s *procedure.Step, v *vessel) bool {
	for _, all := range [...][]procedure.Text{s.Object, s.To, s.From, s.In} {
		for _, t := range all {
			if sameName(t.S, v.name) {
				return true
			}
		}
	}
	return false
}

func (b *Bench) exposure(s *procedure.Step, v *vessel, p *portion, act string) *ExposureFacts {
	mmolHere := p.mmol
	if act != "" && b.mmolBefore[p.sp] > mmolHere {
		mmolHere = b.mmolBefore[p.sp] // what stood there when it was opened
	}
	f := &ExposureFacts{Species: p.sp.name, Family: p.sp.family, Mmol: mmolHere, Vessel: b.facts(v), NeedRank: p.sp.need, Need: needWord(p.sp.need), BarrierRank: v.rank, Barrier: barrierWord(v.rank),
		Opened: act != "", Act: act, CounterFlow: b.guarded(s), Gas: v.gasName, GasStated: v.gasStated, OutletStated: v.outletSaid, OxygenSource: v.how, Cycles: v.cycles, VacuumMbar: v.vacuum, SweepVolumes: v.sweep,
		Degassed: v.degassed || v.volume() == 0, OxygenGrade: p.sp.oxygenGrade, Pyrophoric: p.sp.pyro(), Refluxing: v.refluxed || v.willReflux, MaxNeedRank: math.Max(v.maxNeed, p.sp.need), DryingAgent: v.tubeFill}
	f.LiquidBefore, f.Shares = v.mlBefore, v.shares
	if a := b.armOf(v); a != nil && (a.base.conn == connGas || a.base.conn == connBalloon) {
		f.ArmTo = a.base.name
	}
	f.OxygenPPM = f.Vessel.OxygenPPM
	f.OxygenLimit = p.sp.oxygenLimit
	if !f.OxygenLimit.Known {
		f.OxygenLimit = b.ask("how much oxygen ", p.sp.name, " stands")
	}
	f.OxygenMmol = b.ask("the size of ", v.name, "")
	if h := v.headspace(); h.Known && f.OxygenPPM.Known {
		f.OxygenMmol = Got(GasMmol(h.V, f.OxygenPPM.V*1e-6*v.headMbar(), v.tC))
	} else if !f.OxygenPPM.Known {
		f.OxygenMmol = Missing(f.OxygenPPM.Ask())
	}
	f.DissolvedMmol = b.dissolvedOxygen(v)
	f.DissolvedPercent = oxygenShare(f.DissolvedMmol, mmolHere)
	if v.rank < p.sp.need {
		f.Accepted, f.AcceptedWhy = b.acceptedHere(v, p.sp)
	}
	for _, g := range p.sp.notUnder {
		if sameName(g, v.gasName) {
			f.GasAttacks = true
		}
	}
	if v.gasName == "carbon dioxide" && (p.sp.attacked.carbonDioxide == "violent" || p.sp.attacked.carbonDioxide == "fast") {
		f.GasAttacks = !b.gasIsReagent("carbon dioxide")
	}
	// any species there that the gas attacks, not only the most sensitive one
	for _, q := range v.contents {
		for _, g := range q.sp.notUnder {
			if sameName(g, v.gasName) && q.mmol > 0.01 && !f.GasAttacks {
				f.GasAttacks = true
				f.Species, f.Family, f.Mmol = q.sp.name, q.sp.family, q.mmol
			}
		}
	}
	f.Refers = b.refersToLine()
	f.BetterGas = "argon"
	for _, a := range b.p.Aims {
		if has(a.S, "schlenk", "glovebox", "inert", "technique", "line", "air-free", "cannula") {
			f.Taught = true
		}
	}
	return f
}

func (b *Bench) gasIsReagent(gas string) bool {
	for _, r := range b.reactions {
		for _, c := range r.consumes {
			if sameName(c.sp.name, gas) {
				return true
			}
		}
	}
	for _, m := range b.materials {
		if sameName(m.sp.name, gas) && has(m.row.Role.S, "electrophile", "reagent") {
			return true
		}
	}
	return false
}

// acceptedHere reports a lesser barrier that the trade accepts: a drying tube
// over refluxing ether for a Grignard, and the like, as the compendium lists.
func (b *Bench) acceptedHere(v *vessel, sp *species) (bool, string) {
	if v.conn == connTube && v.flow && sp.need <= needRanks["inert gas"] {
		return true, "a stream of gas leaves through the drying tube"
	}
	for _, a := range sp.accepted {
		if needRanks[a.Barrier] > v.rank {
			continue
		}
		w := strings.ToLower(a.When)
		switch {
		case w == "":
			return true, a.Barrier + " is accepted"
		case has(w, "halide"):
			// the organometal halide against the dialkyl: by its name
			if has(sp.name, "chloride", "bromide", "iodide") {
				return true, a.Barrier + " " + a.When
			}
		case has(w, "crystals"):
			if v.kind == "cake" {
				return true, a.Barrier + " " + a.When
			}
		case has(w, "schlenk"):
			if v.rank >= 3 {
				return true, a.Barrier + " " + a.When
			}
		case has(w, "reflux"):
			if !(v.refluxed || v.willReflux || b.selfReflux(v)) {
				continue
			}
			if has(w, "diethyl ether", "ether") && v.solventShare("diethyl ether") < 0.3 && !(strings.Contains(w, "tetrahydrofuran") && v.solventShare("tetrahydrofuran") > 0.3) {
				continue
			}
			return true, a.Barrier + " " + a.When
		case has(w, "solution"):
			// "as a solution of 1 M or less": the figure in the words counts
			limit := math.Inf(1)
			for _, word := range strings.Fields(w) {
				if n, err := quantity.Parse(word + " M"); err == nil && n.Known() {
					limit = n.Value()
				}
			}
			if p := v.find(sp); p != nil && v.volume() > 0 && p.mmol/v.volume() <= limit*1.05 {
				return true, a.Barrier + " " + a.When
			}
		case has(w, "ammonia"):
			if v.solventShare("ammonia") > 0.3 {
				return true, a.Barrier + " " + a.When
			}
		case has(w, "alcohol"):
			if v.hasFamily("alcohol") {
				return true, a.Barrier + " " + a.When
			}
		case has(w, "ether") && v.solventShare("diethyl ether") > 0.3:
			return true, a.Barrier + " " + a.When
		}
	}
	return false, ""
}

// selfReflux reports that ether boils by the reaction's own heat.
func (b *Bench) selfReflux(v *vessel) bool { return v.largestRise > 20 || v.initiated }

// standUnder puts what a guarded step gives under the gas it comes from, or under
// the gas that the step names where that stood open: its purity is then the
// supply's, and how the air was taken out is not asked twice.
func (b *Bench) standUnder(w, from *vessel, s *procedure.Step) {
	w.conn, w.rank, w.gases, w.outlet, w.outletSaid = from.conn, from.rank, from.gases, from.outlet, from.outletSaid
	w.gasName, w.gasStated, w.oxygenAsk, w.how = from.gasName, from.gasStated, from.oxygenAsk, from.how
	gas := joined(s.Under) + " " + s.By.S
	if w.closed() || !has(gas, "nitrogen", "argon", "inert", "helium") {
		return
	}
	b.nameGas(w, strings.TrimSpace(gas))
	w.conn, w.rank, w.outlet, w.outletSaid = connGas, 2, "as written", true
	w.gases, w.how = Pure(w.gasName, b.impurity(nil)), s.Verb.Name+" under "+word(w.gasName, "inert gas")+", as written"
	if from.conn == connOpen && from.liveEq() > 0 {
		w.oxygenAsk = "how the air was kept out of " + from.name + " before"
	}
}

// fills reports every vessel that a step leaves nearly full or over.
func (b *Bench) fills(s *procedure.Step) {
	for _, v := range b.vessels {
		v.peakBlur = v.peakBlur || v.blur != ""
		v.peakML = math.Max(v.peakML, v.volume())
		if v.piece == nil || v.discarded || !v.size.Known || v.blur != "" || v.size.V <= 0 {
			continue
		}
		spare, _ := v.spareML()
		b.fillOf(v, v.volume()+spare+v.grows)
	}
}

// fillOf emits the event once for each new height; ml is at 20 °C, and what is
// warmer fills more.
func (b *Bench) fillOf(v *vessel, ml float64) {
	v.peakML = math.Max(v.peakML, ml)
	cold, t := ml/v.size.V, float64(volumeC)
	fill := cold
	if v.tC > warmC && cold > 0.6 && v.volume() > 0 {
		t = v.tC
		fill *= v.volumeAt(t) / v.volume()
		ml = fill * v.size.V
	}
	if fill <= 0.9 || fill <= b.peak[v]*1.001 {
		return
	}
	b.peak[v] = fill
	b.emit(Event{Kind: "fill", Facts: &FillFacts{Vessel: v.name, Kind: v.kind, SizeML: v.size, VolumeML: Got(ml), Fill: Got(fill), TemperatureC: Got(t), ColdFill: Got(cold)}, Cause: b.join("fill of ", v.name, "")})
}

// snapshot keeps the bench as it is after a step, where that is recorded.
func (b *Bench) snapshot(s *procedure.Step) {
	if b.trace.Steps == nil {
		return
	}
	line, _ := b.p.Source.Position(s.Head.Start)
	st := StepState{Step: s.N, Line: line, Text: headOf(s), Vessels: make(map[string]VesselState, len(b.vessels))}
	for _, v := range b.vessels {
		if v.gone && v.piece == nil || v.discarded || v.bulk {
			continue
		}
		if len(v.contents) == 0 && v.conn == connOpen && v.glass != "dry" {
			continue
		}
		vs := VesselState{TemperatureC: v.tC, Connection: string(v.conn), OxygenPPM: v.gases.O2 * 1e6}
		vs.Contents, vs.LiveMmol = v.picture()
		if n := v.volumeNum(); n.Known {
			x := n.V
			vs.VolumeML = &x
			if here := v.volumeAt(v.tC); math.Abs(here-x) >= 0.02*x && x > 0 {
				vs.HereML = &here
			}
		}
		if n := v.fill(); n.Known {
			x := n.V
			vs.Fill = &x
		}
		for _, w := range v.traces {
			if !math.IsNaN(w.mmol) {
				vs.WaterMmol += w.mmol
			}
		}
		if v.budget != nil {
			for _, w := range v.budget.sources {
				if !math.IsNaN(w.ppm) {
					vs.WaterMmol += w.mmol
				}
			}
		}
		st.Vessels[v.name] = vs
	}
	b.trace.Steps = append(b.trace.Steps, st)
}

// comesIn is the most sensitive reagent that a lot brings to a vessel of the
// bench in which it has to stand, if only until it has reacted.
func (b *Bench) comesIn(l *lot, dest *vessel) *portion {
	if dest.bench || dest.piece == nil || dest.piece.class != "vessel" || dest.aqueous() || dest.acidic() || l.blur != "" {
		return nil // a heap of dry ice, or a quench
	}
	var best *portion
	for i := range l.portions {
		if p := &l.portions[i]; p.sp.live && p.sp.need >= 2 && p.mmol > 0.01 && (best == nil || p.sp.need > best.sp.need) {
			best = p
		}
	}
	return best
}

// wentThrough reports the barrier over a reagent that was used up in the step
// in which it came in: it met the head space all the same.
func (b *Bench) wentThrough(s *procedure.Step, dest *vessel, in *portion) {
	if in == nil {
		return
	}
	if q := dest.find(in.sp); q != nil && q.mmol > 1e-3 {
		return // it is still there: exposures tells of it
	}
	key := dest.name + "|" + in.sp.name + "|" + string(dest.conn) + "|" + dest.gasName + "|" + barrierWord(dest.rank) + "|went through"
	if b.lastExposure[key] {
		return
	}
	b.lastExposure[key] = true
	f := b.exposure(s, dest, in, "")
	f.Mmol = in.mmol
	f.DissolvedPercent = oxygenShare(f.DissolvedMmol, in.mmol)
	b.emit(Event{Kind: "exposure", Facts: f, Cause: b.join("barrier of ", dest.name, "")})
}

// tippedIn reports a sensitive solid that goes into a vessel under gas through an
// open neck, with no counter-flow: it passes the air, and a head space of air comes
// with it.
func (b *Bench) tippedIn(s *procedure.Step, l *lot, dest *vessel, before *VesselFacts, add *AdditionFacts) {
	if add.Method != "solid" || !add.OpensVessel || before.BarrierRank < 2 || b.guarded(s) || dest.conn == connBox {
		return
	}
	sp := mainOf(l.portions)
	if !sp.live || sp.need < 2 {
		return
	}
	f := b.exposure(s, dest, &portion{sp: sp, mmol: l.mmol(sp)}, "a solid through an open neck")
	f.Vessel, f.BarrierRank, f.Barrier = before, before.BarrierRank, before.Barrier
	air := b.roomAir()
	f.OxygenPPM = Assume(air.O2*1e6, "one head space of room air comes in with it")
	f.OxygenMmol, f.HumidMmol = b.ask("the size of ", dest.name, ""), b.ask("the size of ", dest.name, "")
	if h := dest.headspace(); h.Known {
		f.OxygenMmol = Assume(GasMmol(h.V, air.O2*Atm, b.roomT()), "one head space of room air")
		f.HumidMmol = Assume(GasMmol(h.V, air.H2O*Atm, b.roomT()), "one head space of room air")
	}
	f.AirPercent = Missing(f.OxygenMmol.Ask())
	if f.OxygenMmol.Known && f.Mmol > 0 {
		f.AirPercent = Assume(math.Min(100, 100*airTakes(sp, f.OxygenMmol.V, f.OxygenMmol.V*(1-air.O2-air.H2O)/air.O2)/f.Mmol), "one head space of room air")
	}
	b.emit(Event{Kind: "exposure", Facts: f, Cause: b.join("opening of ", dest.name, "")})
}

// airTakes is how much of a species oxygen and nitrogen (mmol) can take, mmol, by
// the equations 4 M + O2 = 2 M2O, 6 M + N2 = 2 M3N for what nitrogen attacks, and
// two mol to a mol of oxygen for other reagents (autoxidation).
func airTakes(sp *species, oxygen, nitrogen float64) float64 {
	per := 2.0
	if sp.is("alkali metal") {
		per = 4
	}
	n := per * oxygen
	if slices.Contains(sp.notUnder, "nitrogen") {
		n += 6 * nitrogen
	}
	return n
}

// openedToQuench reports live reagent over which a neck is opened to bring the
// quench: a pipette or a beaker has no septum to go through. It is told before the
// quench, which leaves nothing to tell of.
func (b *Bench) openedToQuench(s *procedure.Step, v *vessel) {
	if v == nil || s.Verb.Name != "quench" && s.Verb.Name != "destroy" {
		return
	}
	act := b.opens(s, v)
	p := v.mostSensitive()
	if act != "pipetting" || p == nil || !p.sp.live || p.mmol <= 0.01 {
		return
	}
	f := b.exposure(s, v, p, act)
	b.emit(Event{Kind: "exposure", Facts: f, Cause: b.join("opening of ", v.name, "")})
}
