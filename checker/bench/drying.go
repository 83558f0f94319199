package bench

import (
	"math"
	"slices"
	"strings"

	"ketyl/checker/finding"
	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
	"ketyl/checker/substance"
)

// driesProduct reports that what a step dries holds what the reaction made.
func (b *Bench) driesProduct(s *procedure.Step) bool {
	for _, t := range s.Object {
		if v := b.place(t, false); v != nil && (v.product || v.hasProduct(b)) {
			return true
		}
	}
	return false
}

// dry takes water out of glass, a liquid, a solid or a layer.
func (b *Bench) dry(s *procedure.Step) {
	if s.Verb.Name == "activate" {
		for _, o := range s.Object {
			if m := b.material(o.S); m != nil {
				m.used = true
				b.activated[m.sp] = figureOf(s.At)
				if s.For == nil {
					continue
				}
			}
		}
		return
	}
	for _, o := range s.Object {
		if m := b.material(o.S); m != nil && !(b.vesselNamed(o.S) != nil) {
			b.dryMaterial(s, m, o.Span)
			continue
		}
		if p := b.pieceNamed(o.S); p != nil && p.vessel == nil {
			b.dryGlassEvent(s, o.S, nil) // a condenser is not the flask under it
			continue
		}
		if v := b.place(o, false); v != nil {
			if v.piece == nil || v.volume() > 0.5 && !has(joined(s.In)+joined(s.With)+s.By.S+s.Bath.S, "flame", "heat gun", "burner", "torch") {
				b.dryLayer(s, v)
				continue
			}
			b.dryGlass(s, v)
			continue
		}
		if p := b.pieceNamed(o.S); p != nil {
			p.used = true
			b.dryGlassEvent(s, o.S, nil)
			continue
		}
		if class, known := classOf(o.S); known && class != "other" || has(o.S, "glass", "apparatus", "everything") {
			b.dryGlassEvent(s, o.S, nil)
			if has(o.S, "glass", "apparatus", "everything") {
				for _, v := range b.vessels {
					if v.piece != nil && v.volume() == 0 {
						b.applyGlass(s, v)
					}
				}
			}
			continue
		}
		b.placeUnknown(o)
	}
}

func figureOf(f *procedure.Figure) Num {
	if f == nil || !f.Known() {
		return Missing("a figure")
	}
	return Got(f.Value())
}

func (b *Bench) dryGlass(s *procedure.Step, v *vessel) {
	b.dryGlassEvent(s, v.name, v)
	b.applyGlass(s, v)
}

// applyGlass marks glass as dry when the oven, flame or vacuum could have
// done it: 105 °C for half an hour at the least; see rules/drying.yaml for
// the limits that are judged.
func (b *Bench) applyGlass(s *procedure.Step, v *vessel) {
	how := joined(s.In) + joined(s.With) + s.By.S + s.Bath.S + s.Note.S
	t := math.NaN()
	if s.At != nil && s.At.Known() {
		t = s.At.Value()
	}
	flame := has(how, "flame", "heat gun", "burner", "torch")
	switch {
	case flame, has(how, "vacuum") || s.Vacuum != nil:
		v.glass = "dry"
	case math.IsNaN(t) || t >= 100:
		v.glass = "dry"
	default:
		v.glass = "damp"
	}
	v.hotDry = true
	if !math.IsNaN(t) {
		v.tC = b.roomT()
	}
	v.rinsed = ""
	v.glassStep = s.N
}

func (b *Bench) dryGlassEvent(s *procedure.Step, name string, v *vessel) {
	how := joined(s.In) + joined(s.With) + s.Note.S + s.By.S + s.Bath.S
	f := b.blankDrying()
	f.Target, f.Name, f.Agent = "glass", name, strings.TrimSpace(joined(s.In)+joined(s.With))
	f.Flame = has(how, "flame", "heat gun", "burner", "torch")
	f.VacuumDry = has(how, "vacuum") || s.Vacuum != nil
	f.CoolIn = s.CoolIn.S
	f.OvenC, f.Hours = Missing("the oven temperature"), Missing("the time in the oven")
	if s.At != nil && s.At.Known() {
		f.OvenC = Got(s.At.Min())
	}
	if s.For != nil && s.For.Known() {
		f.Hours = Got(s.For.Min() / 60)
	}
	f.AssembledHot = isTrue(s.Hot) || b.soonGassed(s, name)
	if v != nil && (f.Flame || f.OvenC.Known || !has(how, "air", "aspirator", "drain")) {
		f.RinsedOrganic = v.rinsed
	}
	if f.Flame {
		f.FlammableOut = b.flammableOut()
	}
	f.MeetsLive = b.willMeetLive(name)
	b.emit(Event{Kind: "drying", Facts: f, Subject: b.join("dry ", name, "")})
}

// flammableOut names a liquid of flash point below 23 °C that stands in a
// vessel from which vapour reaches the room: open, or behind a drying tube or
// condenser. Five millilitres are taken as the least that counts (common
// practice).
func (b *Bench) flammableOut() string {
	for _, v := range b.vessels {
		if v.discarded || v.gone || v.closed() {
			continue
		}
		for _, p := range v.contents {
			if p.ml >= 5 && !p.maybe && p.sp.flash.Known && p.sp.flash.V < 23 {
				return p.sp.name
			}
		}
	}
	return ""
}

// soonGassed reports that the glass is next assembled hot, purged, evacuated
// or blanketed.
func (b *Bench) soonGassed(s *procedure.Step, name string) bool {
	for _, t := range b.p.Steps[s.N:] {
		switch t.Verb.Name {
		case "backfill", "purge", "blanket", "evacuate", "introduce":
			for _, o := range t.Object {
				if sameName(o.S, name) {
					return true
				}
			}
		case "assemble":
			return isTrue(t.Hot)
		case "add", "charge":
			return false
		}
	}
	return false
}

func (b *Bench) willMeetLive(name string) bool {
	for _, t := range b.p.Steps {
		for _, to := range concat(t.To, t.From) {
			if !sameName(to.S, name) {
				continue
			}
			for _, o := range t.Object {
				if m := b.material(o.S); m != nil && (m.sp.live || m.sp.takesWater() || metalOf(m.sp) != "" || m.sp.is(halideFamilies...) && b.usesMetal()) {
					return true
				}
			}
		}
	}
	return false
}

// usesMetal reports that a halide here meets magnesium or lithium.
func (b *Bench) usesMetal() bool {
	for _, m := range b.materials {
		if metalOf(m.sp) != "" {
			return true
		}
	}
	return false
}

func (b *Bench) blankDrying() *DryingFacts {
	return &DryingFacts{OvenC: Missing("the oven temperature"), Hours: Missing("the drying time"), LoadPercent: Missing("how much drying agent"), ListedPercent: Missing("how much drying agent"), StartPPM: Missing("the water at the start"), ResidualPPM: Missing("the water left"), ActivationC: Missing("the activation temperature of the sieves"), CapacityG: Missing("the capacity of the agent"), WaterG: Missing("the water present")}
}

// dryMaterial dries a solvent or reagent before use.
func (b *Bench) dryMaterial(s *procedure.Step, m *material, at finding.Span) {
	m.used = true
	f := b.blankDrying()
	f.Target, f.Name, f.Family = "reagent", m.name, m.sp.family
	liquid := m.sp
	if m.solvent != nil {
		liquid = m.solvent
	}
	if liquid.liquid {
		f.Target = "solvent"
	} else if m.sp.desiccantKind() != "" {
		f.Target = "agent"
	} else {
		f.Target = "solid"
	}
	agentText := strings.TrimSpace(joined(s.With))
	if agentText == "" {
		agentText = strings.TrimSpace(joined(s.In))
	}
	f.Agent = agentText
	f.VacuumDry = has(joined(s.In)+joined(s.With), "vacuum") || s.Vacuum != nil
	if s.At != nil && s.At.Known() {
		f.OvenC = Got(s.At.Value())
	}
	if s.For != nil && s.For.Known() {
		f.Hours = Got(s.For.Min() / 60)
	}
	if s.Load != nil && s.Load.Known() {
		switch s.Load.Dim {
		case quantity.Fraction:
			f.LoadPercent = Got(s.Load.Value() * 100)
		case quantity.Mass:
			if m.ml.Known && m.ml.V > 0 {
				f.LoadPercent = Got(s.Load.Value() / m.ml.V * 100)
			}
		}
	}
	agent := agentText
	var agentSp *species
	if len(s.With) > 0 {
		agent = s.With[0].S
		if am := b.material(agent); am != nil {
			am.used = true
			agentSp = am.sp
			f.ListedPercent = am.listedPercent(m.ml)
			if !f.LoadPercent.Known && am.g.Known && m.ml.Known && m.ml.V > 0 {
				f.LoadPercent = Got(am.g.V / m.ml.V * 100)
			}
			b.leftover(am, nil, s)
		} else {
			if p := b.pieceNamed(agent); p != nil {
				p.used = true
				agent = p.packing() // what a column holds dries, whatever the column is called
			}
			agentSp = b.lookup(agent)
		}
	}
	f.AgentKnown = agentSp != nil
	key, _, known := b.c.Agent(agent)
	f.AgentKnown = f.AgentKnown || known
	text := b.kinds(concat(s.With, s.In)) + s.By.S + " " + s.Note.S
	f.Still = has(text, "still", "distil", "benzophenone")
	f.Column = has(text, "column", "alumina", "purification system")
	f.Sieve = has(agent, "sieve", "molsieve")
	if agentSp != nil {
		f.AgentFamily = agentSp.family
		f.WorkupSalt = agentSp.is("drying salt")
	}
	if s.ActivatedAt != nil && s.ActivatedAt.Known() {
		f.ActivationC = Got(s.ActivatedAt.Value())
		f.Activated = true
	}
	if agentSp != nil {
		if t, ok := b.activated[agentSp]; ok {
			f.Activated = true
			if t.Known {
				f.ActivationC = t
			}
		}
		if has(agentSp.name+agentText+b.formOf(agent), "activated") {
			f.Activated = true
		}
	}
	if f.Still || f.Column || agentSp != nil && agentSp.is("alkali metal", "saline hydride", "aluminium hydride", "alkaline-earth metal") {
		f.Activated = true
	}
	f.StartPPM = m.waterPPM
	start := m.waterPPM
	if f.Target == "solvent" {
		if !start.Known {
			if ppm, ok := b.gradePPM("reagent", liquid); ok {
				start = Assume(ppm, "reagent grade, as no dryness is stated before drying")
			} else {
				start = Assume(300, "reagent grade, as no dryness is stated before drying")
			}
			f.StartPPM = start
		}
		for _, c := range b.mayDry(liquid, key, agent) {
			if f.Clash == "" {
				f.Clash = c.Word + ": " + c.Because
			}
		}
		if agentSp != nil && agentSp.is("alkali metal", "alkaline-earth metal", "saline hydride", "aluminium hydride", "amalgam") && liquid.waste.Halogenated && !has(agentSp.name, "calcium hydride") {
			f.Explosive = true
			if f.Clash == "" {
				f.Clash = "an alkali metal or strong hydride can explode with a halogenated liquid"
			}
		}
		load, hours := 0.0, 0.0
		lk, hk := f.LoadPercent.Known, f.Hours.Known
		if lk {
			load = f.LoadPercent.V
		} else if f.Still || f.Column {
			load, lk = 20, true
		}
		if hk {
			hours = f.Hours.V
		} else if f.Column {
			hours, hk = 1, true
		} else if f.Still {
			hours, hk = 24, true
		}
		if lk && hk && f.Clash == "" {
			if ppm, basis, _, ok := b.c.ResidualWater(liquid.substance(), word(key, agent), load, hours, start.V); ok {
				f.ResidualPPM = Assume(ppm, "drying figures: "+basis)
				f.Basis = basis
			} else if f.WorkupSalt {
				f.ResidualPPM = start
			}
		} else if !lk {
			f.ResidualPPM = Missing("how much " + agent + " per volume of " + m.name)
		} else if !hk {
			f.ResidualPPM = Missing("how long " + m.name + " stands over " + agent)
		}
		if f.ResidualPPM.Known {
			m.waterPPM = f.ResidualPPM
		} else if f.WorkupSalt {
			m.waterPPM = start
		} else {
			m.waterPPM = Missing(f.ResidualPPM.Ask())
			if !f.AgentKnown || f.ResidualPPM.Ask() == "the water left" {
				m.waterPPM = start
			}
		}
		if agentSp != nil && agentSp.sub != nil && agentSp.sub.Desiccant != nil && agentSp.sub.Desiccant.Capacity != nil && m.ml.Known && lk {
			f.CapacityG = Got(*agentSp.sub.Desiccant.Capacity * load / 100 * m.ml.V)
			f.WaterG = Got(MolarWater(m.ml.V, m.rho(), start.V) * waterMass / 1000)
		}
		if d := b.vesselNamed(agent); d != nil && d.isDesiccant {
			b.wets(d, liquid)
			if f.ResidualPPM.Known && m.ml.Known && start.V > f.ResidualPPM.V {
				b.tookUp(d, Num{V: MolarWater(m.ml.V, m.rho(), start.V-f.ResidualPPM.V) * waterMass / 1000, Known: true, Note: f.ResidualPPM.Assumed()})
			}
		}
		m.dried = agentText
		m.purified = f.Still || f.Column
		m.grade = ""
		m.driedAsWorkup = f.WorkupSalt
		if f.Still {
			b.act("ether vapour", m.name)
			if agentSp != nil && agentSp.is("alkali metal", "saline hydride", "aluminium hydride") || has(text, "sodium") {
				b.actAt("alkali metal", word(agent, "the still"), s)
				b.actAt("water-reactive", word(agent, "the still"), s)
			}
			b.actAt("peroxide former", m.name, s)
		}
	} else {
		m.dried = word(agentText, "dried")
		m.dryWater()
	}
	f.MeetsLive = b.willMeet(m)
	if m.left <= 0 && m.firstStep > 0 && m.firstStep < s.N && !b.takenLater(s, m) {
		f.UsedStep = float64(m.firstStep)
	}
	b.emit(Event{Kind: "drying", Facts: f, Subject: b.join("dry ", m.name, ""), Span: at, Cause: b.join("dryness of ", m.name, "")})
}

// takenLater reports that a step after this one names a material again.
func (b *Bench) takenLater(s *procedure.Step, m *material) bool {
	for _, t := range b.p.Steps[s.N:] {
		for _, ts := range [...][]procedure.Text{t.Object, t.With, t.In, t.From} {
			for _, o := range ts {
				if sameName(o.S, m.name) || b.material(o.S) == m {
					return true
				}
			}
		}
	}
	return false
}

// listedPercent is a drying agent as listed over the volume it dries, % m/v.
func (m *material) listedPercent(ml Num) Num {
	if !m.g.Known || !ml.Known || ml.V <= 0 {
		return Missing("how much " + m.name + " and how much it dries")
	}
	return Got(m.g.V / m.portions / ml.V * 100)
}

// dryWater takes a hydrate's or damp solid's water as gone.
func (m *material) dryWater() { m.waterPPM = Got(0); m.driedSolid = true }

func (b *Bench) formOf(name string) string {
	if m := b.material(name); m != nil {
		return m.row.Form.S + m.row.Grade.S
	}
	return ""
}

func (sp *species) desiccantKind() string {
	if sp.sub != nil && sp.sub.Desiccant != nil {
		return sp.sub.Desiccant.Kind
	}
	return ""
}

func (sp *species) substance() *substance.Substance { return sp.sub }

// willMeet reports that a material later goes where a live reagent is.
func (b *Bench) willMeet(m *material) bool {
	places := map[string]bool{}
	for _, t := range b.p.Steps {
		for _, o := range t.Object {
			if sameName(o.S, m.name) {
				for _, to := range t.To {
					places[strings.ToLower(to.S)] = true
				}
			}
		}
	}
	for _, t := range b.p.Steps {
		for _, o := range t.Object {
			if x := b.material(o.S); x != nil && x.sp.live {
				for _, to := range t.To {
					if places[strings.ToLower(to.S)] {
						return true
					}
				}
			}
		}
	}
	return false
}

// dryLayer dries a layer of the work-up.
func (b *Bench) dryLayer(s *procedure.Step, v *vessel) {
	f := b.blankDrying()
	f.Target, f.Name, f.Agent = "layer", v.name, strings.TrimSpace(joined(s.With)+joined(s.In))
	if sol := v.solvent(); sol != nil {
		f.Family = sol.family
	} else {
		f.Target = "solid"
	}
	if len(s.With) > 0 {
		if am := b.material(s.With[0].S); am != nil {
			am.used = true
			f.ListedPercent = am.listedPercent(v.volumeNum())
			f.AgentKnown, f.AgentFamily, f.WorkupSalt = true, am.sp.family, am.sp.is("drying salt", "carbonate")
			f.MeetsLive = v.liveMmol() > 0
			if sol := v.solvent(); sol != nil && sol.sub != nil {
				key, _, _ := b.c.Agent(s.With[0].S)
				for _, c := range b.mayDry(sol, key, s.With[0].S) {
					if f.Clash == "" {
						f.Clash = c.Word + ": " + c.Because
					}
				}
				if am.sp.is("alkali metal", "saline hydride", "aluminium hydride") && sol.waste.Halogenated {
					f.Explosive = true
				}
			}
			b.leftover(am, v, s)
		} else if sp := b.lookup(s.With[0].S); sp != nil {
			f.AgentKnown, f.AgentFamily, f.WorkupSalt = true, sp.family, sp.is("drying salt", "carbonate")
			b.leftoverSpecies(sp, s.With[0].S, v)
		} else {
			b.unknownName(s.With[0].S, s.With[0].Span)
		}
	}
	if s.At != nil && s.At.Known() {
		f.OvenC = Got(s.At.Value())
	}
	if s.For != nil && s.For.Known() {
		f.Hours = Got(s.For.Value() / 60)
	}
	v.workupDried = f.WorkupSalt
	b.layerWater(s, v, f)
	for i := len(v.contents) - 1; i >= 0; i-- {
		if v.contents[i].sp.family == "water" {
			b.soak(s, v.contents[i])
			v.contents = slices.Delete(v.contents, i, i+1)
		}
	}
	b.emit(Event{Kind: "drying", Facts: f, Subject: b.join("dry ", v.name, ""), Cause: b.join("dry ", v.name, "")})
}

// layerWater tells of a layer that has met water how much of it its liquid holds
// dissolved, by its saturation as listed, and how much the agent can take. The
// ledger leaves this water in the aqueous layer.
func (b *Bench) layerWater(s *procedure.Step, v *vessel, f *DryingFacts) {
	if !v.metWater || v.aqueous() || len(s.With) == 0 {
		return
	}
	g := 0.0
	for _, p := range v.contents {
		if !p.sp.liquid || p.ml <= 0 {
			continue
		}
		if ppm := b.saturatedPPM(p.sp); ppm.Known {
			g += p.g * ppm.V * 1e-6
		}
	}
	if g <= 0 {
		return
	}
	f.WaterG = Assume(g, "the layer saturated with water")
	d := b.vesselNamed(s.With[0].S)
	if d == nil || !d.isDesiccant {
		return
	}
	for _, p := range d.contents {
		if t := p.sp.sub; t != nil && t.Desiccant != nil && t.Desiccant.Capacity != nil {
			f.CapacityG = Got(*t.Desiccant.Capacity * p.g)
			b.tookUp(d, Num{V: math.Min(g, f.CapacityG.V), Known: true, Note: "of what saturates the layer"})
		}
	}
}

// wetness is what a solid on a filter or in a bottle is wet with, and the water that
// it has taken up.
type wetness struct {
	liquid string
	water  Num
}

// wets notes the liquid that a solid stood in.
func (b *Bench) wets(d *vessel, liquid *species) {
	if liquid == nil {
		return
	}
	if b.wetness == nil {
		b.wetness = map[*vessel]wetness{}
	}
	w := b.wetness[d]
	w.liquid = liquid.name
	b.wetness[d] = w
}

func (b *Bench) tookUp(d *vessel, g Num) {
	if b.wetness == nil {
		b.wetness = map[*vessel]wetness{}
	}
	w := b.wetness[d]
	g.V += valueOf(w.water)
	w.water = g
	b.wetness[d] = w
}

// Liquid on a gram of a filtered solid, mL, and in a gram of packed silica or filter
// aid; grams of the two to the millilitre of a waste bottle (common practice).
const (
	wetSolid, wetSilica   = 0.5, 1.5
	bulkSolid, bulkSilica = 1.0, 0.5
)

// solidOf is the solid of a stream, its volume as it lies in a bottle, and the liquid
// that it holds at most.
func solidOf(contents []portion) (g, bulk, wet float64) {
	for _, p := range contents {
		if p.sp.liquid || p.sp.gas || p.g <= 0 {
			continue
		}
		g += p.g
		if p.sp.is("adsorbent", "filter aid") {
			bulk, wet = bulk+p.g/bulkSilica, wet+p.g*wetSilica
		} else {
			bulk, wet = bulk+p.g/bulkSolid, wet+p.g*wetSolid
		}
	}
	return g, bulk, wet
}

// leftover puts the used drying agent on the bench as a thing to be discarded.
func (b *Bench) leftover(m *material, from *vessel, s *procedure.Step) {
	v := b.vesselNamed(m.name)
	if v == nil {
		v = b.newVessel(m.name, nil)
		v.kind, v.class = "cake", "solid"
	}
	v.isDesiccant = true
	v.discarded = false
	g := 1.0
	if m.g.Known {
		g = m.g.V * m.left
	}
	n := math.Max(m.mmol.V*m.left, 1)
	m.sp.in += n
	v.put(portion{sp: m.sp, mmol: n, g: g, from: m.name})
	b.usedMaterial(m, 1)
	if from != nil {
		for _, p := range from.live() {
			wet := from.take(p.sp, p.mmol*0.02) // what clings to the agent
			wet.ml = 0
			v.put(wet)
		}
		v.origin = from.name
		b.wets(v, from.solvent())
	}
}

func (b *Bench) leftoverSpecies(sp *species, name string, from *vessel) {
	v := b.vesselNamed(name)
	if v == nil {
		v = b.newVessel(name, nil)
		v.kind, v.class = "cake", "solid"
	}
	v.isDesiccant = true
	sp.in++
	v.put(portion{sp: sp, mmol: 1, g: 1, from: name})
	_ = from
}
