package bench

import (
	"math"
	"slices"
	"strings"

	"ketyl/checker/finding"
	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
)

// refreshBudget moves the water traces of a vessel to the live charge there.
func (b *Bench) refreshBudget(v *vessel, s *procedure.Step) {
	b.refreshBudgetWith(v, s, v.liveEq())
}

func (b *Bench) refreshBudgetWith(v *vessel, s *procedure.Step, eq float64) {
	var reagent *species
	for _, p := range v.contents {
		if p.sp.live && p.sp.takesWater() && (reagent == nil || p.mmol*math.Max(p.sp.eq, 1) > 0 && p.sp.vigour > reagent.vigour) {
			reagent = p.sp
		}
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
		}
		if !math.IsNaN(w.ppm) && w.mmol > 0 && reagent != nil {
			// what water takes is no longer live
			if p := v.find(reagent); p != nil {
				var o outcome
				o.consumed = map[*species]float64{}
				b.spend(v, reagent, math.Min(p.mmol, w.mmol/math.Max(reagent.water, 1)), &o)
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

// closeBudget reports the water that a charge met, once it is at an end.
func (b *Bench) closeBudget(v *vessel) {
	bd := v.budget
	v.budget = nil
	if bd == nil || bd.eq <= 0 || b.unsure[bd.reagent] != "" {
		return // a reagent of unknown amount is asked for by its own row
	}
	f := &WaterFacts{Reagent: bd.reagent.name, Family: bd.reagent.family, ReagentMmol: bd.eq, Vessel: bd.vessel, ExcessMmol: bd.excess,
		WaterMmol: Got(0), LossPercent: Got(0), SourceMmol: Missing("the water"), SourcePPM: Missing("the water"), SourceVolumeML: Missing("the volume"), NeedPPM: Missing("the solvent"),
		SolventMmol: Got(0), GlassMmol: Got(0), SolidMmol: Got(0), AirMmol: Got(0), Glass: v.glass, GlassDry: v.glass == "dry"}
	var sum float64
	var worst *waterSource
	assumed := ""
	var ml, grams float64
	for i := range bd.sources {
		w := &bd.sources[i]
		if math.IsNaN(w.ppm) {
			ml += w.ml
			grams += w.ml * w.rho
			f.SolventMmol = Missing(bd.unknown)
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
			f.GlassMmol.Assumed = w.assumed
		case "solid":
			f.SolidMmol.V += w.mmol
		case "air":
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
	f.WaterMmol = Num{V: sum, Known: true, Assumed: assumed}
	f.LossPercent = Num{V: math.Min(100, 100*sum*perEq/bd.eq), Known: true, Assumed: assumed}
	if bd.unknown != "" {
		f.WaterMmol, f.LossPercent = Missing(bd.unknown), Missing(bd.unknown)
	}
	if worst != nil {
		f.Source, f.SourceKind, f.SourceGrade = worst.name, worst.kind, worst.grade
		if worst.kind == "glass" {
			f.Source = "the glass of " + worst.name
		}
		if math.IsNaN(worst.ppm) {
			f.SourceMmol, f.SourcePPM = Missing(bd.unknown), Missing(bd.unknown)
		} else {
			f.SourceMmol = Num{V: worst.mmol, Known: true, Assumed: worst.assumed}
			if worst.kind == "solvent" {
				f.SourcePPM = Num{V: worst.ppm, Known: true, Assumed: worst.assumed}
			}
		}
		if worst.ml > 0 {
			f.SourceVolumeML = Got(worst.ml)
		}
	}
	if grams > 0 {
		allowed := 0.05*bd.eq - (f.GlassMmol.V + f.SolidMmol.V + f.AirMmol.V)
		f.NeedPPM = Got(math.Max(0, allowed*waterMass/1000/grams*1e6))
	}
	for _, s := range b.p.Steps {
		if has(s.Until.S, "persist", "colour just", "faint colour", "color persists") && s.Verb.Name == "add" {
			f.Titrated = true
		}
	}
	f.WaterTolerant = bd.reagent.is("borohydride") || bd.reagent.attacked["water"] == "slow"
	if f.WaterMmol.Known {
		b.waterTotal += f.WaterMmol.V
		b.worstLoss = math.Max(b.worstLoss, f.LossPercent.V)
	}
	b.emit(Event{Kind: "water", Step: bd.step, Span: bd.span, Subject: bd.subject, Facts: f, Cause: "water in " + v.name})
}

// opens says how a step lets air to what a vessel holds; empty if it does not.
func (b *Bench) opens(s *procedure.Step, v *vessel) string {
	if v.conn == connBox {
		return ""
	}
	if v.swapped == s.N {
		return "change of a fitting"
	}
	named := false
	for _, o := range slices.Concat(s.Object, s.From, s.In) {
		if strings.EqualFold(o.S, v.name) || b.last == v && slices.Contains(vagueNames, strings.ToLower(o.S)) {
			named = true
		}
	}
	switch s.Verb.Name {
	case "open", "withdraw":
		if named && v.conn == connOpen {
			return "opening"
		}
	case "filter", "decant", "centrifuge", "extract", "separate", "wash":
		if !b.guarded(s) {
			return s.Verb.Name
		}
	case "concentrate":
		if !b.guarded(s) && v.conn != connVacuum {
			return "evaporation"
		}
	case "add", "charge", "transfer", "pour":
		m := ""
		if len(s.To) > 0 && strings.EqualFold(s.To[0].S, v.name) {
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
		if v.gone || v.discarded || len(v.contents) == 0 {
			continue
		}
		p := v.mostSensitive()
		if p == nil || p.mmol < 1e-3 {
			continue
		}
		act := b.opens(s, v)
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
		if v.volume() == 0 && p.sp.need <= 1 {
			continue // dry metal turnings in an empty flask
		}
		// a fresh sensitive metal or solid charged before the gas goes on is
		// judged once the liquid is in
		if act == "" && v.volume() == 0 && v.conn == connOpen && !p.sp.pyro() && !p.sp.liquid {
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
		b.emit(Event{Kind: "exposure", Facts: f, Cause: "barrier of " + v.name})
	}
}

// spentNow reports an oxygen-sensitive catalyst whose work is over: from the
// first work-up step in air on it is a residue, not a thing to protect.
func (b *Bench) spentNow(v *vessel, sp *species, s *procedure.Step) bool {
	if b.isProduct(sp) || !sp.is("low-valent complex", "precatalyst", "metal powder", "phosphine", "copper salt", "ligand") {
		return false
	}
	if v.piece == nil || b.workedUp[v] || v.quenched {
		return true
	}
	return s.Verb.Group == procedure.Finish
}

func (b *Bench) exposure(s *procedure.Step, v *vessel, p *portion, act string) *ExposureFacts {
	mmolHere := p.mmol
	if act != "" && b.mmolBefore[p.sp] > mmolHere {
		mmolHere = b.mmolBefore[p.sp] // what stood there when it was opened
	}
	f := &ExposureFacts{Species: p.sp.name, Family: p.sp.family, Mmol: mmolHere, Vessel: b.facts(v), NeedRank: p.sp.need, Need: needWord(p.sp.need), BarrierRank: v.rank, Barrier: barrierWord(v.rank),
		Opened: act != "", Act: act, CounterFlow: b.guarded(s), Gas: v.gasName, GasStated: v.gasStated, OutletStated: v.outletSaid, OxygenSource: v.how, Cycles: v.cycles, VacuumMbar: v.vacuum, SweepVolumes: v.sweep,
		Degassed: v.degassed || v.volume() == 0, OxygenGrade: p.sp.oxygenGrade, Pyrophoric: p.sp.pyro(), Refluxing: v.refluxed || v.willReflux, MaxNeedRank: math.Max(v.maxNeed, p.sp.need), DryingAgent: v.tubeFill}
	f.OxygenPPM = f.Vessel.OxygenPPM
	f.OxygenLimit = p.sp.oxygenLimit
	if !f.OxygenLimit.Known {
		f.OxygenLimit = Missing("how much oxygen " + p.sp.name + " stands")
	}
	f.OxygenMmol = Missing("the size of " + v.name)
	if h := v.headspace(); h.Known && f.OxygenPPM.Known {
		f.OxygenMmol = Got(GasMmol(h.V, f.OxygenPPM.V*1e-6*Atm, v.tC))
	} else if !f.OxygenPPM.Known {
		f.OxygenMmol = Missing(f.OxygenPPM.Ask)
	}
	f.DissolvedMmol = b.dissolvedOxygen(v)
	f.DissolvedPercent = oxygenShare(f.DissolvedMmol, mmolHere)
	if v.rank < p.sp.need {
		f.Accepted, f.AcceptedWhy = b.acceptedHere(v, p.sp)
	}
	for _, g := range p.sp.notUnder {
		if strings.EqualFold(g, v.gasName) {
			f.GasAttacks = true
		}
	}
	if v.gasName == "carbon dioxide" && (p.sp.attacked["carbon dioxide"] == "violent" || p.sp.attacked["carbon dioxide"] == "fast") {
		f.GasAttacks = !b.gasIsReagent("carbon dioxide")
	}
	// any species there that the gas attacks, not only the most sensitive one
	for _, q := range v.contents {
		for _, g := range q.sp.notUnder {
			if strings.EqualFold(g, v.gasName) && q.mmol > 0.01 && !f.GasAttacks {
				f.GasAttacks = true
				f.Species, f.Family, f.Mmol = q.sp.name, q.sp.family, q.mmol
			}
		}
	}
	for _, r := range b.p.Refers {
		f.Refers = f.Refers || has(r.S, "gas", "line", "inert", "nitrogen", "argon", "schlenk", "glovebox", "air-free", "air-sensitive")
	}
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
			if strings.EqualFold(c.sp.name, gas) {
				return true
			}
		}
	}
	for _, m := range b.materials {
		if strings.EqualFold(m.sp.name, gas) && has(m.row.Role.S, "electrophile", "reagent") {
			return true
		}
	}
	return false
}

// acceptedHere reports a lesser barrier that the trade accepts: a drying tube
// over refluxing ether for a Grignard, and the like, as the compendium lists.
func (b *Bench) acceptedHere(v *vessel, sp *species) (bool, string) {
	for _, a := range sp.accepted {
		if needRanks[a.Barrier] > v.rank {
			continue
		}
		w := strings.ToLower(a.When)
		switch {
		case w == "":
			return true, a.Barrier + " is accepted"
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

// act notes an act that has a hazard of its own, at this step.
func (b *Bench) act(topic, of string) { b.actAt(topic, of, b.step) }

func (b *Bench) actAt(topic, of string, s *procedure.Step) {
	if topic == "ether vapour" && of == "" {
		return
	}
	n, span := 0, finding.Span{}
	if s != nil {
		n, span = s.N, s.Head
	}
	b.hazards = append(b.hazards, hazard{topic: topic, of: of, step: n, span: span, mmol: Missing("the amount"), act: true})
}

// hazard is something that calls for a caution on the page.
type hazard struct {
	topic  string
	of     string
	step   int
	span   finding.Span
	mmol   Num
	codes  []string
	act    bool
	amount string
}

// meetHazards notes the hazards of a substance when a step handles it.
func (b *Bench) meetHazards(sp *species, p portion, s *procedure.Step) {
	if sp.sub == nil || p.mmol <= 10*trace {
		return
	}
	seen := map[string]bool{}
	add := func(topic string) {
		if topic == "" || seen[topic] {
			return
		}
		seen[topic] = true
		h := hazard{topic: topic, of: sp.name, step: s.N, span: s.Head, mmol: Got(p.mmol), codes: sp.codes}
		h.amount = quantity.Format(p.mmol, quantity.Amount)
		if m := b.material(p.from); m != nil && !m.mmol.Known && m.sp == sp {
			h.mmol, h.amount = Missing("the amount of "+m.name), "an unstated amount"
		} else if sp.mw > 0 && p.mmol > 0 {
			h.amount += " (" + quantity.Format(p.mmol*sp.mw/1000, quantity.Mass) + ")"
		}
		b.hazards = append(b.hazards, h)
	}
	for _, c := range sp.sub.Cautions {
		if c == "oxidiser" && has(sp.name, "sulfuric acid") {
			continue // corrosive is its topic at this use
		}
		if c == "water-reactive" && sp.coarse || c == "pyrophoric" && !sp.pyro() {
			continue
		}
		if c == "ether vapour" && !sp.liquid {
			continue // the ether's own row calls for it
		}
		add(c)
	}
	if sp.pyro() && sp.live {
		add("pyrophoric")
	}
	if sp.waterReactive() {
		add("water-reactive")
	}
	if sp.name == "acetylene" {
		add("metal acetylide")
	}
}

// lastGas gives the hazards of a release its amount.
func (b *Bench) lastGas(gas string, mmol float64) {
	if mmol <= 0 {
		return
	}
	for i := range b.hazards {
		h := &b.hazards[i]
		if !h.act || b.step == nil || h.step != b.step.N {
			continue
		}
		if h.topic == strings.ToLower(gas) || h.topic == "toxic gas" && strings.EqualFold(h.of, gas) {
			if !h.mmol.Known || h.mmol.V < mmol {
				h.mmol = Got(mmol)
				h.amount = quantity.Format(mmol, quantity.Amount)
			}
		}
	}
}

// cautions on the page, with the step they stand at (0 for the head).
type pageCaution struct {
	about, say string
	step       int
}

func (b *Bench) pageCautions() []pageCaution {
	if b.page != nil {
		return b.page
	}
	out := []pageCaution{}
	for _, c := range b.p.Cautions {
		out = append(out, pageCaution{strings.ToLower(c.About.S), strings.ToLower(c.Say.S), 0})
	}
	for _, s := range b.p.Steps {
		for _, c := range s.Cautions {
			out = append(out, pageCaution{strings.ToLower(c.About.S), strings.ToLower(c.Say.S), s.N})
		}
	}
	b.page = out
	return out
}

// judgeCautions sets each hazard against the cautions on the page.
func (b *Bench) judgeCautions() {
	page := b.pageCautions()
	first := map[string]hazard{}
	var order []string
	for _, h := range b.hazards {
		key := h.topic + "|" + strings.ToLower(h.of)
		if old, ok := first[key]; ok {
			if h.mmol.Known && (!old.mmol.Known || h.mmol.V > old.mmol.V) {
				old.mmol, old.amount = h.mmol, h.amount
			}
			if h.step < old.step {
				old.step, old.span = h.step, h.span
			}
			first[key] = old
			continue
		}
		first[key] = h
		order = append(order, key)
	}
	unnamed := map[string][]string{}
	var all []*HazardFacts
	for _, key := range order {
		h := first[key]
		t, ok := b.ref.topics[h.topic]
		if !ok {
			continue
		}
		f := &HazardFacts{Topic: h.topic, Of: h.of, Amount: h.amount, Mmol: h.mmol, CautionAt: Missing("a caution about " + h.topic), Grave: t.Grave, Codes: h.codes,
			ReadyText: strings.ReplaceAll(t.Ready, "{of}", h.of)}
		f.Act = h.act
		general := false
		for _, c := range page {
			topic := c.about == h.topic || has(c.about, h.topic) || h.topic != "" && c.about != "" && has(h.topic, c.about) && len(c.about) > 4
			words := has(c.say, t.Words...) || has(c.about, t.Words...)
			if !topic && !words {
				if has(c.say, "careful", "caution", "hazard", "dangerous") && len(c.say) < 60 {
					general = true
				}
				continue
			}
			if topic && c.say == "" {
				continue
			}
			if !f.Present || float64(c.step) < f.CautionAt.V {
				f.CautionAt = Got(float64(c.step))
			}
			f.Present = true
			if c.step <= h.step {
				f.Before = true
			}
			stem := strings.ToLower(h.of)
			if has(c.say, stem) || b.otherName(c.say, h.of) || c.step == h.step || h.act {
				f.Names = true
			}
		}
		f.General = general && !f.Present
		if !f.Present || !f.Names {
			unnamed[h.topic] = append(unnamed[h.topic], h.of)
		}
		all = append(all, f)
		b.emit(Event{Kind: "hazard", Step: h.step, Span: h.span, Subject: h.topic + ": " + h.of, Facts: f, Cause: "caution " + h.topic})
	}
	for _, f := range all {
		f.All = unnamed[f.Topic]
	}
}

// otherName reports that a text calls a substance by another of its names.
func (b *Bench) otherName(text, name string) bool {
	sp := b.lookup(name)
	if sp == nil || sp.sub == nil {
		return false
	}
	for _, n := range sp.sub.Names {
		if len(n) > 2 && has(text, strings.ToLower(n)) {
			return true
		}
	}
	for _, w := range strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return r == ' ' || r == '-' || r == '(' || r == ')' }) {
		if len(w) > 5 && has(text, w) {
			return true
		}
	}
	for _, m := range b.materials {
		if m.sp == sp && has(text, strings.ToLower(m.name)) {
			return true
		}
	}
	return false
}

// fills reports every vessel that a step leaves nearly full or over.
func (b *Bench) fills(s *procedure.Step) {
	for _, v := range b.vessels {
		if v.piece == nil || v.discarded || !v.size.Known || v.blur != "" || v.size.V <= 0 {
			continue
		}
		b.fillOf(v, v.volume())
	}
}

// fillOf emits the event once for each new height.
func (b *Bench) fillOf(v *vessel, ml float64) {
	fill := ml / v.size.V
	if fill <= 0.9 || fill <= b.peak[v]*1.001 {
		return
	}
	b.peak[v] = fill
	b.emit(Event{Kind: "fill", Facts: &FillFacts{Vessel: v.name, Kind: v.kind, SizeML: v.size, VolumeML: Got(ml), Fill: Got(fill)}, Cause: "fill of " + v.name})
}

// snapshot keeps the bench as it is after a step.
func (b *Bench) snapshot(s *procedure.Step) {
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
