package bench

import (
	"math"
	"slices"
	"strings"

	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
)

// ventWords and shakeWords tell that a funnel is let off, or shaken closed.
var (
	ventWords  = []string{" vent", " release", " swirl"} // and not: solvent
	shakeWords = []string{"shak", "stopper", "invert"}
)

// wetWords say of a cake that it is not to run dry.
var wetWords = []string{"keep it wet", "kept wet", "keep wet", "stays wet", "stay wet", "wet cake", "wetted", "moist", "run dry", "go dry", "never dry", "not dry", "under nitrogen", "under argon", "covered with", "damp"}

// workupEvent describes a work-up act for the rules.
func (b *Bench) workupEvent(s *procedure.Step, v *vessel, with procedure.Text, before *VesselFacts, o outcome, acid float64) {
	f := &WorkupFacts{Verb: s.Verb.Name, Vessel: before, With: with.S, TemperatureC: Num{V: v.tC, Known: true}, BoilingC: Missing("the solvent"), GasL: Got(GasLitres(o.gasTotal())),
		FunnelML: Missing("the size of the separating funnel"), FunnelFill: Missing("the size of the separating funnel"), VolumeML: v.volumeNum(), AcidMmol: Got(acid), VesselRatio: b.ask("the size of ", v.name, "")}
	if !v.tKnown {
		f.TemperatureC.Note = "room temperature, as nothing else is written"
	}
	if sp := v.mostLive(); sp != nil {
		f.LiveMmol, f.Live = v.liveMmol(), sp.name
	} else if before.LiveMmol > 0 {
		f.LiveMmol, f.Live = before.LiveMmol, before.Live
	}
	if m := b.material(with.S); m != nil {
		f.WithFamily = m.sp.family
		f.AgentAmount = m.row.Amount.Is()
	} else if sp := b.lookup(with.S); sp != nil {
		f.WithFamily = sp.family
	}
	for _, p := range v.contents {
		if p.sp.liquid && p.sp.bp.Known && p.ml > 0.5 && (!f.BoilingC.Known || p.sp.bp.V < f.BoilingC.V) {
			f.BoilingC = p.sp.bp
		}
	}
	if len(o.gasOrder) > 0 {
		f.Gas = o.gasOrder[0]
	}
	own := strings.ToLower(" " + s.Note.S + " " + s.By.S + " " + s.Until.S + " " + joined(s.Signs))
	f.VentGiven = isTrue(s.Vented) || hasLower(own, ventWords...)
	f.Stoppered = s.Verb.Name == "extract" || s.Verb.Name == "wash" || hasLower(own, shakeWords...)
	for _, c := range b.pageCautions() {
		// a warning at the head of the page must speak of the funnel or its gas
		if c.step == s.N || c.step == 0 && hasLower(c.about+c.say, "pressure", "funnel", "stopper", "gas", "carbon dioxide") {
			f.VentGiven = f.VentGiven || hasLower(" "+c.say, ventWords...)
			f.Stoppered = f.Stoppered || hasLower(c.say, shakeWords...)
		}
	}
	if v.class == "separating funnel" && v.size.Known {
		f.FunnelML = v.size
		b.funnelFill(f, s, v, v)
	}
	for _, t := range s.In {
		if p := b.pieceNamed(t.S); p != nil {
			p.used = true
			if p.vessel != nil && p.vessel.size.Known {
				f.FunnelML = p.vessel.size
				if p.class == "separating funnel" {
					b.funnelFill(f, s, v, p.vessel)
				}
			}
		} else if class, ok := classOf(t.S); ok && class != "bath" {
			b.missingPiece(t.S)
		}
	}
	if v.size.Known && v.volume() > 0 {
		f.VesselRatio = Got(v.size.V / v.volume())
	}
	f.LayerWrong = b.layerWrong(s, v)
	f.LayerNamed = s.Keep.Is() || s.Layer.Is() || len(s.Gives) > 0
	for _, p := range v.contents {
		if p.sp.need >= 2 && p.mmol > 0.01 && !p.sp.live && !b.spentNow(v, p.sp, s) {
			f.Sensitive = p.sp.name
		}
		if p.sp.is("precatalyst", "metal powder") && p.sp.pyro() {
			f.PyroSolid = p.sp.name
		}
	}
	f.DriedInAir = hasLower(own, " air", "suction dry", "sucked dry", "pulled dry", "until dry", "until it is dry") && !hasLower(own, "no air", "not dry", "air-free")
	if f.PyroSolid != "" {
		f.Suction = hasLower(own, "suction", "vacuum", "aspirator", "büchner", "buchner", "hirsch")
		for _, t := range s.Through {
			f.Suction = f.Suction || has(t.S, "büchner", "buchner", "hirsch", "sinter")
			if p := b.pieceNamed(t.S); p != nil {
				f.Suction = f.Suction || has(p.kind, "büchner", "buchner", "hirsch", "sinter")
			}
		}
		f.KeptWet = hasLower(own, wetWords...)
		for _, c := range b.pageCautions() {
			f.KeptWet = f.KeptWet || (c.step == 0 || c.step == s.N) && hasLower(c.say, wetWords...)
		}
	}
	f.Hydrogen = v.hydrogenated || sameName(v.gasName, "hydrogen")
	if b.guarded(s) || v.conn == connBox {
		f.Sensitive = ""
		f.DriedInAir, f.KeptWet = false, true
	}
	b.emit(Event{Kind: "workup", Facts: f})
}

// inOnePortion is the liquid that a separating funnel holds at one time of what lies
// in v after the agent came in, mL at 20 °C: a row that is written in portions (3 x
// 20 mL) goes in one after the other, unless the step has an amount of its own.
func (b *Bench) inOnePortion(s *procedure.Step, v *vessel) float64 {
	ml := v.volume()
	if s.Amount.Is() || len(s.With) == 0 {
		return ml
	}
	if m := b.material(s.With[0].S); m != nil && m.portions > 1 && m.ml.Known {
		ml -= m.ml.V * (1 - 1/m.portions)
	}
	return ml
}

// funnelFill notes how full a separating funnel is as it is shaken: one portion, no
// colder than 20 °C, to which hands and room bring it.
func (b *Bench) funnelFill(f *WorkupFacts, s *procedure.Step, v, funnel *vessel) {
	ml := b.inOnePortion(s, v)
	if v.blur != "" || ml <= 0 || funnel.size.V <= 0 {
		return
	}
	if v.tC > warmC {
		ml *= v.volumeAt(v.tC) / v.volume()
	}
	f.Funnel = funnel.name
	f.FunnelFill = Num{V: ml / funnel.size.V, Known: true, Note: funnel.size.Assumed()}
}

// layerWrong compares where the text says a layer lies with the densities.
func (b *Bench) layerWrong(s *procedure.Step, v *vessel) string {
	var og, oml, ag, aml float64
	for _, p := range v.contents {
		if w := b.goesWithWater(p, v, true); w >= 0.8 {
			ag += p.g
			aml += p.ml
		} else if w >= 0 {
			og += p.g
			oml += p.ml
		}
	}
	if oml < 0.5 || aml < 0.5 || v.blur != "" {
		return ""
	}
	organic, aqueous := og/oml, ag/aml
	if math.Abs(organic-aqueous) < 0.05 {
		return ""
	}
	organicBelow := organic > aqueous
	figures := "the organic layer has " + quantity.FormatNumber(organic) + " g/mL, the aqueous " + quantity.FormatNumber(aqueous) + " g/mL"
	says := func(where, what string) string {
		isOrganic := has(what, "organic", "ether", "toluene", "chlorid", "dichloromethane", "acetate", "extract", "hexane") && !has(what, "aqueous", "water")
		isAqueous := has(what, "aqueous", "water", "acid layer")
		if isOrganic && (where == "lower") != organicBelow || isAqueous && (where == "lower") == organicBelow {
			return "the " + where + " layer is not the " + map[bool]string{true: "organic", false: "aqueous"}[isOrganic] + " one: " + figures
		}
		return ""
	}
	for _, w := range []string{"upper", "lower"} {
		if t, ok := s.Gives[w]; ok {
			if x := says(w, t.S); x != "" {
				return x
			}
		}
	}
	for _, key := range s.GivesOrder {
		name := strings.ToLower(s.Gives[key].S)
		for where, words := range map[string][]string{"upper": {"upper ", "top "}, "lower": {"lower ", "bottom "}} {
			if (key == "organic" || key == "aqueous") && hasLower(" "+name, " "+words[0], " "+words[1]) {
				if x := says(where, key); x != "" {
					return x
				}
			}
		}
	}
	for _, t := range []procedure.Text{s.Layer, s.Keep} {
		for where, words := range map[string][]string{"upper": {"upper", "top"}, "lower": {"lower", "bottom"}} {
			if has(t.S, words...) {
				if x := says(where, t.S); x != "" {
					return x
				}
			}
		}
	}
	return ""
}

func (b *Bench) missingPiece(name string) {
	if b.pieceNamed(name) == nil && !slices.Contains(b.missing, name) {
		b.missing = append(b.missing, name)
	}
}

// goesWithWater says which side of a separating funnel a species takes:
// 1 water, 0 organic, 0.5 both, −1 a solid that stays where it is.
func (b *Bench) goesWithWater(p portion, v *vessel, organic bool) float64 {
	sp := p.sp
	switch {
	case sp.family == "water" || sp.name == "ice":
		return 1
	case sp.covalentAzide():
		return 0
	case sp.metalHalide():
		return 1
	case sp.strongAcid(), sp.is("hydroxide", "carbonate", "ammonium salt", "salt", "drying salt", "hypochlorite", "nitrite", "cyanide", "sulfide", "azide", "carboxylic salt", "copper salt"):
		return 1
	case sp.is("amine", "pyridine base", "aromatic amine") && v.acidic(), sp.ammoniumByName():
		return 1
	case sp.is("carboxylic acid") && v.basic():
		return 1
	case sp.liquid && sp.sub != nil && sp.sub.Water != nil && sp.sub.Water.Miscible:
		if sp.is("ether") && organic {
			return 0.3
		}
		return 0.8
	case sp.made && sp.family == "salt", b.dissolvedSalt(sp):
		return 1
	case sp.is("alkali metal", "alkaline-earth metal", "metal powder", "zinc metal"):
		return -1
	}
	return 0
}

// ammoniumByName reports the salt of an amine that a text names or makes: an
// ammonium chloride, a hydrochloride. Those with long chains, which go with an
// organic liquid too, are left out.
func (sp *species) ammoniumByName() bool {
	return !sp.liquid && !sp.gas && has(sp.name, "ammonium chloride", "ammonium bromide", "ammonium iodide", "ammonium sulfate", "hydrochloride", "hydrobromide", "pyridinium chloride", "anilinium chloride") &&
		!has(sp.name, "tetra", "tributyl", "trioctyl", "hexadecyl", "cetyl", "benzalkonium")
}

// metalHalide reports a halide of a metal that water dissolves: magnesium,
// zinc, iron, aluminium and their kind, without an organic group.
func (sp *species) metalHalide() bool {
	if !sp.is("Lewis acid", "mild Lewis acid", "salt") && !sp.made || sp.gas || has(sp.name, "silver", "lead(ii)", "thallium", "copper(i)", "mercury(i)") {
		return false
	}
	metals, halide := sp.atoms.charge()
	return metals > 0 && halide >= metals && sp.atoms.of(carbonEl) == 0 && sp.atoms.of(hydrogenEl) == 0
}

// dissolvedSalt reports the salt of an acid that water takes: a carboxylate, a
// phenoxide.
func (b *Bench) dissolvedSalt(sp *species) bool {
	return !sp.liquid && b.fateOf(sp) == fateAcid
}

// dissolvedShare is the share of an organic substance that the water under its
// layer takes up, 0 to 1: its solubility in water (g per 100 g, as listed) times
// its mol fraction in the organic layer, as its activity there (Raoult's law).
// Salt in the water would hold it back; that is left out, which errs high.
func dissolvedShare(p portion, waterML, organicMmol float64) float64 {
	s := p.sp.sub
	if s == nil || s.Water == nil || s.Water.InWater == nil || s.Water.InWater.Value == nil || p.g <= 0 || waterML <= 0 {
		return 0
	}
	x := 1.0
	if organicMmol > 0 {
		x = math.Min(1, p.mmol/organicMmol)
	}
	return math.Min(0.95, *s.Water.InWater.Value/100*waterML*x/p.g)
}

// layers splits a mixture into its organic and aqueous parts.
func (b *Bench) layers(s *procedure.Step, v *vessel) (organic, aqueous *vessel) {
	name := func(keys []string, def string) string {
		for _, k := range keys {
			if t, ok := s.Gives[k]; ok {
				return t.S
			}
		}
		return def
	}
	orgName := name([]string{"organic", "extract", "ether", "product"}, "")
	aqName := name([]string{"aqueous", "water", "washings", "washing"}, "")
	for _, k := range []string{"upper", "lower"} {
		if t, ok := s.Gives[k]; ok {
			halo := v.halogenated() && v.solvent() != nil && v.solventDense()
			if (k == "upper") != halo {
				orgName = word(orgName, t.S)
			} else {
				aqName = word(aqName, t.S)
			}
		}
	}
	if t, ok := s.Gives[""]; ok {
		if has(t.S, "aqueous", "acid extract", "base extract", "water") {
			aqName = word(aqName, t.S)
		} else {
			orgName = word(orgName, t.S)
		}
	}
	inLayer := v.piece == nil
	get := func(n, kind string) *vessel {
		if w := b.vesselNamed(n); w != nil && w != v && w.piece == nil {
			w.discarded, w.gone = false, false
			w.comesFrom(v)
			return w
		}
		w := b.newVessel(n, nil)
		w.kind, w.class, w.origin = kind, "layer", v.name
		w.comesFrom(v)
		w.metWater = true
		w.conn, w.tC, w.tKnown = connOpen, v.tC, v.tKnown
		if b.guarded(s) || v.conn == connBox {
			b.standUnder(w, v, s)
			w.degassed, w.air = v.degassed, v.air
		}
		return w
	}
	if orgName == "" {
		if inLayer && v.kind == "organic" {
			orgName = v.name
		} else {
			orgName = "organic layer"
		}
	}
	if aqName == "" {
		if inLayer && v.kind == "aqueous" {
			aqName = v.name
		} else if inLayer && s.Verb.Name == "wash" {
			aqName = "aqueous washings"
			if w := b.vesselNamed("aqueous layer"); w != nil && !w.discarded && b.vesselNamed(aqName) == nil {
				aqName = "aqueous layer"
			}
		} else {
			aqName = "aqueous layer"
		}
	}
	parts := v.pourOut(1)
	tmp := &vessel{contents: parts}
	hasOrganic := false
	for _, p := range parts {
		if b.goesWithWater(p, tmp, true) == 0 && p.sp.liquid && p.ml > 0 {
			hasOrganic = true
		}
	}
	take := func(n, kind string) *vessel {
		if v.piece == nil && sameName(n, v.name) {
			v.gone = false
			return v
		}
		return get(n, kind)
	}
	organic, aqueous = take(orgName, "organic"), take(aqName, "aqueous")
	var waterML, organicMmol float64
	for _, p := range parts {
		w := b.goesWithWater(p, tmp, hasOrganic)
		if p.sp.family == "water" {
			waterML += p.ml
		}
		if w >= 0 && w < 1 && p.sp.liquid {
			organicMmol += p.mmol * (1 - w)
		}
	}
	for _, p := range parts {
		w := b.goesWithWater(p, tmp, hasOrganic)
		if w == 0 {
			w = dissolvedShare(p, waterML, organicMmol)
		}
		switch {
		case w < 0:
			aqueous.put(p)
		case w >= 1:
			aqueous.put(p)
		case w <= 0:
			organic.put(p)
		default:
			aqueous.put(portion{p.sp, p.mmol * w, p.g * w, p.ml * w, p.from, p.maybe})
			organic.put(portion{p.sp, p.mmol * (1 - w), p.g * (1 - w), p.ml * (1 - w), p.from, p.maybe})
		}
	}
	organic.blur, aqueous.blur = word(organic.blur, v.blur), word(aqueous.blur, v.blur)
	if v.blur != "" && v != organic {
		v.blur = ""
	}
	organic.product = true
	if v != organic && v != aqueous {
		v.gone = true
		v.conn = connOpen
	}
	return organic, aqueous
}

func (v *vessel) solventDense() bool {
	s := v.solvent()
	return s != nil && s.density > 1.05
}

// workup plays extraction, washing, filtration and the rest.
func (b *Bench) workup(s *procedure.Step, v *vessel) {
	if v == nil {
		return
	}
	before := b.facts(v)
	acidBefore := v.acidMmol()
	with := procedure.Text{}
	if len(s.With) > 0 {
		with = s.With[0]
	}
	var all outcome
	if s.Verb.Name != "chromatograph" && s.Verb.Name != "filter" {
		for i, t := range s.With {
			saved := s.Amount
			if i > 0 {
				s.Amount = nil
			}
			if s.Verb.Name == "crystallise" && b.material(t.S) == nil && b.place(t, false) == nil {
				if sp := b.lookup(t.S); sp == nil {
					s.Amount = saved
					continue
				}
			}
			l := b.fetch(s, t, v)
			s.Amount = saved
			for _, p := range l.portions {
				for _, q := range v.contents {
					b.clash(s, p, q, v, false)
				}
			}
			for _, p := range l.portions {
				v.put(p)
				b.meetHazards(p.sp, p, s)
			}
			if l.blur != "" {
				v.blur = l.blur
			}
		}
		if s.Verb.Name == "crystallise" {
			for _, t := range s.From {
				sp := b.lookup(t.S)
				if b.material(t.S) != nil || b.place(t, false) == nil && sp != nil && sp.liquid {
					l := b.fetch(s, t, v)
					for _, p := range l.portions {
						v.put(p)
					}
				}
			}
		}
		o := b.react(v)
		b.iceGone(v, &o)
		all = o
	}
	if b.material(with.S) == nil && with.Is() {
		if p := b.pieceNamed(with.S); p != nil {
			p.used = true
		}
	}
	b.workupEvent(s, v, with, before, all, acidBefore)
	for _, t := range s.In {
		// the separating funnel that the text names must hold it
		if p := b.pieceNamed(t.S); p != nil && p.vessel != nil && p.vessel != v && p.vessel.size.Known && v.blur == "" && p.vessel.size.V > 0 {
			b.fillOf(p.vessel, b.inOnePortion(s, v))
		}
	}
	b.releases(s, v, all, doing(s.Verb.Name)+" "+v.name, nil)
	for _, t := range concat(s.Through, s.In, s.On) {
		if p := b.pieceNamed(t.S); p != nil {
			p.used = true
		} else if m := b.material(t.S); m != nil && s.Verb.Name != "chromatograph" { // its adsorbent is left over below
			b.usedMaterial(m, 1)
		}
	}
	switch s.Verb.Name {
	case "extract", "separate":
		org, aq := b.layers(s, v)
		b.last = org
		if s.Verb.Name == "extract" && v.kind == "aqueous" {
			b.last = org
		}
		_ = aq
	case "wash":
		if v.class == "solid" {
			b.washCake(s, v)
		} else if v.hasLiquid() || v.kind == "organic" || v.class == "vessel" {
			if v.aqueous() || s.Gives != nil {
				org, _ := b.layers(s, v)
				b.last = org
			}
		} else {
			// a solid on a filter: the liquid runs through
			b.splitSolid(s, v, "washings")
		}
	case "filter", "decant", "centrifuge", "crystallise", "precipitate":
		b.splitSolid(s, v, "")
	case "chromatograph":
		for _, t := range concat(s.On, s.Through) {
			if m := b.material(t.S); m != nil {
				b.leftover(m, v, s)
				if d := b.vesselNamed(m.name); d != nil {
					for p := range v.each {
						if b.spentCatalyst(p.sp) {
							d.put(v.take(p.sp, p.mmol))
						}
					}
				}
			}
		}
		var eluent *vessel
		for _, t := range s.With {
			if m := b.material(t.S); m != nil {
				// the eluent that is listed comes through with what it carries
				if m.ml.Known && m.left > 0 && m.sp.liquid {
					for _, p := range m.mix {
						v.put(portion{p.sp, p.mmol * m.left, p.g * m.left, p.ml * m.left, m.name, p.maybe})
					}
					eluent = v
				}
				b.usedMaterial(m, 1)
			}
		}
		if eluent != nil {
			for _, t := range concat(s.On, s.Through) {
				if d := b.vesselNamed(t.S); d != nil && d.isDesiccant {
					b.wets(d, eluent.solvent())
				}
			}
		}
		v.product = true
		b.renameTo(s, v)
	case "sublime":
		b.vacuumUsed = true
		b.act("vacuum", v.name)
		v.product = true
		b.renameTo(s, v)
	case "steam-distil":
		b.steam(s, v)
	}
}

func (v *vessel) hasProduct(b *Bench) bool {
	for _, p := range v.contents {
		if b.isProduct(p.sp) && p.mmol > trace {
			return true
		}
	}
	return false
}

func (v *vessel) hasLiquid() bool {
	var org float64
	for _, p := range v.contents {
		if p.sp.liquid && p.sp.family != "water" {
			org += p.ml
		}
	}
	return org > 0.5
}

func (b *Bench) renameTo(s *procedure.Step, v *vessel) {
	if len(s.GivesOrder) == 0 {
		return
	}
	w := b.newVessel(s.Gives[s.GivesOrder[0]].S, nil)
	w.comesFrom(v)
	w.kind, w.product = "organic", true
	w.conn, w.rank, w.gases = v.conn, v.rank, v.gases
	for _, p := range v.pourOut(1) {
		w.put(p)
	}
	b.last = w
}

// crystalShare is what of a solid product comes out on a filter; the rest stays in
// the liquor (common practice: a first crop is seldom more).
const crystalShare = 0.95

// dissolvedIn is the share of a solid that the water of a mixture holds dissolved,
// 0 to 1, by its solubility in water as listed; a hydroxide, carbonate or drying
// salt of sodium, potassium or ammonium without a figure dissolves, and so do
// magnesium sulfate and the chlorides of magnesium and calcium (CRC Handbook: 36, 56
// and 81 g per 100 g).
func (b *Bench) dissolvedIn(p portion, waterML float64) float64 {
	sp := p.sp
	if sp.live || !sp.is("hydroxide", "carbonate", "drying salt", "salt", "ammonium salt", "carboxylic salt", "alkoxide") || p.g <= 0 {
		return 0
	}
	if s := sp.sub; s != nil && s.Water != nil && s.Water.InWater != nil && s.Water.InWater.Value != nil {
		return math.Min(1, *s.Water.InWater.Value/100*waterML/p.g)
	}
	if has(sp.name, "sodium", "potassium", "ammonium", "magnesium sulfate", "magnesium chloride", "calcium chloride") {
		return 1
	}
	return 0
}

// washCake lets a liquid through a solid on a filter: the solid stays, but for what
// the liquid dissolves. What runs through goes by its name, else to the filtrate
// that is still there.
func (b *Bench) washCake(s *procedure.Step, v *vessel) {
	var to *vessel
	name := "washings"
	if len(s.GivesOrder) > 0 {
		name = s.Gives[s.GivesOrder[0]].S
		for _, k := range s.GivesOrder {
			if k == "washings" || k == "filtrate" || k == "rinse" || k == "liquid" {
				name = s.Gives[k].S
			}
		}
	} else {
		for _, w := range b.vessels {
			if w != v && w.origin == v.origin && w.class == "layer" && !w.gone && !w.discarded {
				to = w
			}
		}
	}
	if to == nil {
		to = b.vesselNamed(name)
	}
	if to == nil || to == v {
		to = b.newVessel(name, nil)
		to.kind, to.class, to.origin = "filtrate", "layer", v.name
		to.conn, to.tC, to.tKnown = connOpen, v.tC, v.tKnown
		if b.guarded(s) || v.conn == connBox {
			b.standUnder(to, v, s)
		}
	}
	to.comesFrom(v)
	waterML := 0.0
	if w := v.waterIn(); w != nil {
		waterML = w.ml
	}
	for p := range v.each {
		switch {
		case p.sp.liquid:
			to.put(v.take(p.sp, p.mmol))
		case p.sp.gas:
		case b.inSolution(p, v):
			to.put(v.take(p.sp, p.mmol*0.95)) // it clings as it did
		case waterML > 0:
			if n := p.mmol * b.dissolvedIn(p, waterML); n > trace {
				to.put(v.take(p.sp, n))
			}
		}
	}
	to.blur = word(to.blur, v.blur)
	b.wets(v, to.solvent())
	v.gone, v.blur = false, ""
	b.last = v
}

// splitSolid parts solids from the liquid: filter, decant, crystallise.
func (b *Bench) splitSolid(s *procedure.Step, v *vessel, washName string) {
	var solidName, liquidName string
	for _, k := range s.GivesOrder {
		t := s.Gives[k].S
		switch k {
		case "cake", "solid", "residue", "crystals", "precipitate", "solids", "salts", "product":
			solidName = t
		case "filtrate", "solution", "mother liquor", "liquid", "organic", "washings", "supernatant", "liquor", "aqueous":
			liquidName = t
		case "":
			if has(t, "filtrate", "liquor", "solution", "layer", "washing") {
				liquidName = t
			} else {
				solidName = t
			}
		}
	}
	if v.class == "solid" && solidName == "" && washName != "" {
		solidName = v.name // a cake that is washed stays where it is
	}
	liquidKind, solidKind := "filtrate", "cake"
	if s.Verb.Name == "crystallise" || s.Verb.Name == "precipitate" {
		liquidKind = "mother liquor"
	}
	var solids, liquids []portion
	waterML := 0.0
	if w := v.waterIn(); w != nil {
		waterML = w.ml
	}
	for _, p := range v.contents {
		isSolid := !p.sp.liquid && !p.sp.gas && (p.sp.is("drying salt", "molecular sieve", "drying oxide", "adsorbent", "filter aid", "alkali metal", "alkaline-earth metal", "metal powder", "zinc metal", "precatalyst") || p.sp.desiccantKind() != "")
		if isSolid && waterML > 0 {
			if n := p.mmol * b.dissolvedIn(p, waterML); n > trace {
				of := n / p.mmol
				liquids = append(liquids, portion{p.sp, n, p.g * of, p.ml * of, p.from, p.maybe})
				if p.mmol -= n; p.mmol <= trace {
					continue
				}
				p.g, p.ml = p.g*(1-of), p.ml*(1-of)
			}
		}
		if p.sp.family == "salt" && !v.aqueous() && (solidName != "" || liquidName != "") {
			isSolid = true // salts of a quench do not dissolve in what is no water
		}
		if solidName != "" && !p.sp.liquid && (sameName(solidName, p.sp.name) || b.byName[strings.ToLower(solidName)] == p.sp) {
			isSolid = true
		}
		if b.spentCatalyst(p.sp) && len(s.Through) > 0 {
			isSolid = true
		}
		if isSolid && b.inSolution(p, v) {
			isSolid = false // it runs through; what clings to the cake is below
		}
		if s.Verb.Name == "crystallise" || s.Verb.Name == "precipitate" || v.precip {
			if !isSolid && !p.sp.liquid && !p.sp.gas && (p.sp.made || b.isProduct(p.sp)) {
				isSolid = true
				if v.volume() > 0 && len(s.Gives) > 0 {
					stays := 1 - crystalShare
					liquids = append(liquids, portion{p.sp, p.mmol * stays, p.g * stays, p.ml * stays, p.from, p.maybe})
					p.mmol, p.g, p.ml = p.mmol*crystalShare, p.g*crystalShare, p.ml*crystalShare
				}
			}
		}
		if isSolid {
			solids = append(solids, p)
		} else {
			liquids = append(liquids, p)
		}
	}
	if s.Verb.Name == "precipitate" && len(s.Gives) == 0 {
		v.precip = true
		return
	}
	if s.Verb.Name == "crystallise" && len(s.Gives) == 0 {
		v.product, v.precip = true, true
		return
	}
	aq := v.aqueous()
	place := v
	if liquidName == "" && v.piece == nil {
		// the layer keeps its name; the solid leaves
		place = v
		v.contents = liquids
	} else {
		if liquidName == "" {
			liquidName = word(washName, liquidKind)
		}
		w := b.vesselNamed(liquidName)
		if w == nil || w == v {
			w = b.newVessel(liquidName, nil)
		}
		w.kind, w.class, w.origin = liquidKind, "layer", v.name
		w.comesFrom(v)
		w.conn, w.tC, w.tKnown = connOpen, v.tC, v.tKnown
		if b.guarded(s) || v.conn == connBox {
			b.standUnder(w, v, s)
			w.degassed, w.air = v.degassed, v.air
		}
		if w.kind == "filtrate" && !aq {
			w.product = true
		}
		for _, p := range liquids {
			w.put(p)
		}
		w.blur = v.blur
		v.contents = nil
		v.gone = true
		place = w
	}
	solidHere := len(solids) > 0 || solidName != ""
	if solidHere {
		if solidName == "" {
			for _, p := range solids {
				if b.vesselNamed(p.sp.name) != nil && b.vesselNamed(p.sp.name).isDesiccant {
					solidName = b.vesselNamed(p.sp.name).name
				}
			}
			if solidName == "" {
				solidName = "filter cake"
			}
		}
		c := b.vesselNamed(solidName)
		if c == nil {
			c = b.newVessel(solidName, nil)
			c.kind, c.class, c.origin = solidKind, "solid", v.name
		}
		c.comesFrom(v)
		b.wets(c, place.solvent())
		c.conn = connOpen
		if b.guarded(s) || v.conn == connBox {
			b.standUnder(c, place, s)
		}
		for _, p := range solids {
			c.put(p)
		}
		if d := b.spentAgent(v, place); d != nil && c != d && !b.isProductName(solidName) {
			// the cake is the drying agent: one leftover, two names
			for _, p := range d.pourOut(1) {
				c.put(p)
			}
			d.gone, c.isDesiccant = true, true
			if w, ok := b.wetness[d]; ok {
				b.wetness[c] = w
			}
			b.alias[strings.ToLower(d.name)] = c
		}
		bothNamed := solidName != "" && liquidName != "" && liquidName != washName
		if b.isProductName(solidName) || len(c.contents) == 0 && !bothNamed {
			c.product = true
			place.product = false
			for p := range place.each {
				if !p.sp.liquid && (p.sp.made || b.isProduct(p.sp)) {
					c.put(place.take(p.sp, p.mmol*crystalShare))
				}
			}
		}
		for _, p := range place.live() {
			wet := place.take(p.sp, p.mmol*0.05) // what clings to the cake
			wet.ml = 0
			c.put(wet)
		}
		if s.Verb.Name == "crystallise" || s.Verb.Name == "precipitate" {
			c.product = true
			b.last = c
			return
		}
		if c.product {
			b.last = c
			return
		}
	}
	for _, t := range s.RinseWith {
		if m := b.material(t.S); m != nil {
			b.pourMaterial(m, m.left, place, s)
		}
	}
	if washName != "" {
		return
	}
	b.last = place
}

// spentAgent is the drying agent that stands in a layer, as a thing of its own.
func (b *Bench) spentAgent(vs ...*vessel) *vessel {
	for _, d := range b.vessels {
		if !d.isDesiccant || d.gone || d.discarded {
			continue
		}
		for _, v := range vs {
			if v != nil && d.origin == v.name && d.origin != "" {
				return d
			}
		}
	}
	return nil
}

// inSolution reports a reagent that is dissolved in what it stands in: one that
// came as a solution, or an aluminium hydride in an ether (lithium aluminium
// hydride is sold as 1 M to 4 M in ether, 1 M to 2.4 M in tetrahydrofuran).
func (b *Bench) inSolution(p portion, v *vessel) bool {
	if !p.sp.live || v.aqueous() {
		return false
	}
	if m := b.material(p.from); m != nil && m.sp == p.sp && m.solvent != nil {
		return true
	}
	return p.sp.is("aluminium hydride") && v.hasFamily("ether")
}

// spentCatalyst is a metal complex that stays on Celite or silica.
func (b *Bench) spentCatalyst(sp *species) bool {
	return sp.is("low-valent complex", "precatalyst", "metal powder", "copper salt") && !sp.live && !b.isProduct(sp)
}

func (b *Bench) isProduct(sp *species) bool {
	if b.p.Product == nil {
		return false
	}
	return sameName(sp.name, b.p.Product.Name.S) || b.productSp() == sp
}

// productSp is the product as a species, nil when the compendium lacks it.
func (b *Bench) productSp() *species {
	if b.p.Product == nil {
		return nil
	}
	return b.byName[strings.ToLower(b.p.Product.Name.S)]
}

func (b *Bench) isProductName(n string) bool {
	return b.p.Product != nil && sameName(n, b.p.Product.Name.S) || has(n, "product", "crude", "crystal")
}
