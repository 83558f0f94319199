package bench

import (
	"strings"

	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
	"ketyl/checker/substance"
)

// clashes reports pairs that should not meet, of what comes in and what is
// there.
func (b *Bench) clashes(s *procedure.Step, l *lot, dest *vessel) {
	for _, p := range l.portions {
		b.wetLot = b.wetLot || p.sp.is("water") && p.ml > 1
	}
	defer func() { b.wetLot = false }()
	for _, p := range l.portions {
		for _, q := range dest.contents {
			b.clash(s, p, q, dest, false)
		}
	}
	for i, p := range l.portions {
		for _, q := range l.portions[i+1:] {
			if p.from != q.from {
				b.clash(s, p, q, dest, false)
			}
		}
	}
}

// nobleAndAcid reports a pair that stands for metal and acid giving hydrogen
// where the metal is below hydrogen in the electrochemical series: palladium
// charcoal in a carboxylic acid. Formic acid, which it takes apart, stays.
func nobleAndAcid(c substance.Conflict, metal, acid *species) bool {
	switch metal.sub.Formula {
	case "Pd", "Pt", "Rh", "Ru", "Ir", "Au", "Ag":
	default:
		return false
	}
	return strings.Contains(c.Consequence, "flammable hydrogen") && (acid.is("carboxylic acid", "ammonium salt") || acid.strongAcid()) && acid.name != "formic acid"
}

func (b *Bench) clash(s *procedure.Step, p, q portion, dest *vessel, quench bool) {
	if p.sp.sub == nil || q.sp.sub == nil || p.mmol <= 10*trace || q.mmol <= 10*trace || p.sp == q.sp || p.maybe || q.maybe {
		return
	}
	known := b.conflicts(p.sp, q.sp)
	if len(known) == 0 {
		return
	}
	key := p.sp.name + "|" + q.sp.name
	if p.sp.name > q.sp.name {
		key = q.sp.name + "|" + p.sp.name
	}
	if b.saidUnknown["clash "+key+dest.name] {
		return
	}
	for _, c := range known {
		if aqueousHydroxide(p, q, dest) {
			continue // the pair is the solid over peroxidised ether, not its solution in water
		}
		if b.soldIn(p, q) || b.soldIn(q, p) || p.sp.is("alkoxide") && q.sp.is("alcohol") || q.sp.is("alkoxide") && p.sp.is("alcohol") {
			continue // a solution and its own solvent
		}
		if nobleAndAcid(c, p.sp, q.sp) || nobleAndAcid(c, q.sp, p.sp) {
			continue
		}
		if c.By == "chart" {
			continue // the chart is for waste: it sets every reagent against every solvent
		}
		if covalentAzide(p.sp, q.sp) || covalentAzide(q.sp, p.sp) {
			continue
		}
		if nitrateUnderLiquid(p.sp, q.sp, dest) || nitrateUnderLiquid(q.sp, p.sp, dest) {
			continue
		}
		b.saidUnknown["clash "+key+dest.name] = true
		f := &ContactFacts{A: p.sp.name, B: q.sp.name, FamilyA: p.sp.family, FamilyB: q.sp.family, Consequence: c.Consequence, Severe: c.Grave, Vessel: b.facts(dest), Source: c.Source, TemperatureC: Num{V: dest.tC, Known: true}}
		switch c.By {
		case "pair":
			f.Kind = "specific pair"
		default:
			f.Kind = "keep from"
		}
		if c.Because != "" {
			f.Consequence = c.Because
		}
		f.Wet = dest.aqueous() || b.wetLot
		f.Intended = b.oxidation(p, q, dest) || b.intended(p.sp, q.sp)
		if poison := poisonOf(p.sp, q.sp); poison != nil {
			f.Intended = f.Intended || b.destroyer(poison, dest)
		} else {
			f.Intended = f.Intended || (quench || s.Verb.Group == procedure.Finish) && !b.barredFirst(p.sp, q.sp) && !b.barredFirst(q.sp, p.sp)
		}
		b.emit(Event{Kind: "contact", Facts: f, Subject: b.join(p.sp.name, " with ", q.sp.name), Cause: b.join("contact ", key, "")})
		break
	}
}

// barredFirst reports an oxidiser whose entry bars the other from being what it is
// destroyed with: the verb does not make that pair a method.
func (b *Bench) barredFirst(sp, agent *species) bool {
	if sp.quench == nil || !sp.is("oxidant") {
		return false
	}
	for _, n := range sp.quench.NeverFirst {
		if sameName(n, agent.name) || b.isA(agent, n) {
			return true
		}
	}
	return false
}

// soldIn reports that one of two is bought as a solution in the other.
func (b *Bench) soldIn(p, q portion) bool {
	m := b.material(p.from)
	return m != nil && m.solvent == q.sp && m.sp == p.sp
}

func aqueousHydroxide(p, q portion, dest *vessel) bool {
	h := p.sp
	if !h.is("hydroxide") {
		h = q.sp
	}
	return h.is("hydroxide") && (p.sp.is("ether") || q.sp.is("ether")) && (dest.aqueous() || strings.Contains(p.from+q.from, "solution") || dest.find(h) == nil && p.from != "")
}

// oxidation reports dilute peroxide dripped into what it is meant to oxidise:
// a borane's adduct, or the partner of a declared reaction.
func (b *Bench) oxidation(p, q portion, dest *vessel) bool {
	x := p.sp
	if !x.is("peroxide") {
		x = q.sp
	}
	if !x.is("peroxide") {
		return false
	}
	for _, m := range b.materials {
		if m.sp == x && m.row.Solution != nil && m.row.Solution.Strength.Dim == quantity.Fraction && m.row.Solution.Strength.Value() > 0.35 {
			return false
		}
	}
	for _, c := range dest.contents {
		if c.sp.is("borane", "trialkylborane") || has(c.sp.name, "borane", "borinate", "boronate", "boryl") {
			return true
		}
	}
	for _, r := range b.reactions {
		for _, c := range r.consumes {
			if c.sp == x {
				return true
			}
		}
	}
	return false
}

// poisonOf is the salt from which the acid of a pair sets a poisonous gas free,
// hydrazoic acid, hydrogen cyanide or hydrogen sulfide; nil for another pair.
// Making a mixture acid is no reason to let that gas off.
func poisonOf(x, y *species) *species {
	acid := func(sp *species) bool {
		return sp.strongAcid() || sp.is("mineral acid", "oxidising acid", "sulfonic acid", "carboxylic acid", "acid gas")
	}
	switch {
	case givesPoison(x) && acid(y):
		return x
	case givesPoison(y) && acid(x):
		return y
	}
	return nil
}

// destroyer reports that what destroys a poison stands in the vessel before the
// acid: nitrite with azide, which needs the acid (Prudent Practices in the
// Laboratory, 1995, chapter 7). Cyanide and sulfide are destroyed in base.
func (b *Bench) destroyer(poison *species, dest *vessel) bool {
	return poison.is("azide") && dest.mmolOf("nitrite") >= poisonShare*dest.mmolOf("azide")
}

// poisonShare is the nitrite that counts as a method, mol per mol of azide: the
// reaction takes one, and a slip of the pen is not to pass (common practice).
const poisonShare = 0.9

// mmolOf sums what a vessel holds of a family, mmol.
func (v *vessel) mmolOf(family string) float64 {
	n := 0.0
	for _, p := range v.contents {
		if p.sp.is(family) {
			n += p.mmol
		}
	}
	return n
}

// covalentAzide reports an organic azide, in which the three nitrogens are bound to
// carbon: neither salt nor silyl azide.
func (sp *species) covalentAzide() bool {
	if !sp.is("azide") || has(sp.name, "onium", "silyl", "stannyl", "phosphoryl") {
		return false
	}
	if sp.atoms == nil {
		first, _, _ := strings.Cut(strings.ToLower(sp.name), " ")
		return strings.HasSuffix(first, "yl")
	}
	metals, _ := sp.atoms.charge()
	return metals == 0 && sp.atoms.of(carbonEl) > 0
}

// covalentAzide reports an organic azide beside a chlorinated solvent or an
// acid: neither diazidomethane nor hydrazoic acid comes of it.
func covalentAzide(azide, with *species) bool {
	return azide.covalentAzide() && (with.is("halogenated solvent") || with.strongAcid() || with.is("mineral acid", "carboxylic acid", "acid gas"))
}

// nitrateUnderLiquid reports the nitrate of a metal in or under a liquid with an
// organic substance: dry and hot, or with strong acid, it is an oxidiser; in a
// solution below the boiling point of water it is a salt (common practice).
func nitrateUnderLiquid(salt, with *species, dest *vessel) bool {
	if !has(salt.name, "nitrate") || salt.is("oxidant", "ammonium salt") || with.active != "" || with.strongAcid() {
		return false
	}
	metals, _ := salt.atoms.charge()
	return (metals > 0 || salt.is("salt", "copper salt")) && salt.atoms.of(carbonEl) == 0 && with.atoms.of(carbonEl) > 0 && dest.volume() > 0 && dest.tC < 100
}

// intended reports a pair that the procedure means to bring together: a
// declared reaction, or a reagent with what it is made from or made for.
func (b *Bench) intended(x, y *species) bool {
	for _, r := range b.reactions {
		var a, c bool
		for _, s := range r.consumes {
			a = a || s.sp == x
			c = c || s.sp == y
		}
		if a && c {
			return true
		}
	}
	if x.is(halideFamilies...) && metalOf(y) != "" || y.is(halideFamilies...) && metalOf(x) != "" {
		return true
	}
	reagent := func(a, c *species) bool {
		return strongBaseKind(a.active) && (c.electro > 0 && meetsSite(a, c) || c.protic > 0 && c.family != "water" && meetsProton(a, c))
	}
	return reagent(x, y) || reagent(y, x)
}

// driesInStill reports an alkali metal in a still: it stays in the pot, and no
// boiling down concentrates it. Its crust on the shelf is judged where it is
// taken from its jar, and an amide or a peroxide of it by its own name.
func (b *Bench) driesInStill(sp *species) bool {
	return b.step != nil && sp.is("alkali metal") && (b.step.Verb.Name == "distil" || b.step.Verb.Name == "concentrate")
}

// explosives notes what a vessel holds that explodes when it is dry,
// concentrated or warm, and what ground glass sets off.
func (b *Bench) explosives(f *VesselFacts, v *vessel) {
	none := Missing(v.asks().explodes)
	f.ExplosiveMmol, f.ExplosiveG, f.ExplosiveRatio = none, none, Missing("an organic azide of known formula")
	for _, p := range v.contents {
		if p.mmol <= 10*trace || p.maybe {
			continue
		}
		if p.sp.explodes && !b.driesInStill(p.sp) && (!f.ExplosiveMmol.Known || p.mmol > f.ExplosiveMmol.V) {
			f.Explosive, f.ExplosiveMmol, f.ExplosiveG, f.ExplosiveRatio = p.sp.name, Got(p.mmol), b.ask("the formula of ", p.sp.name, ""), p.sp.azideRatio
			mw, n := p.sp.mw, p.sp.atoms.of(nitrogenEl)
			if mw <= 0 {
				mw = p.sp.atoms.mass() // the formula of the product
			}
			if mw > 0 {
				f.ExplosiveG = Got(p.mmol * mw / 1000)
			}
			if !f.ExplosiveRatio.Known && p.sp.covalentAzide() && n > 0 {
				f.ExplosiveRatio = Got((p.sp.atoms.of(carbonEl) + p.sp.atoms.of(oxygenEl)) / n)
			}
			if !f.ExplosiveRatio.Known {
				f.ExplosiveRatio = b.ask("the formula of ", p.sp.name, "")
			}
		}
		if p.sp.attacked.groundGlass == "violent" {
			f.GlassExplosive = p.sp.name
		}
	}
	if f.GlassExplosive == "" {
		return
	}
	for _, q := range b.pieces {
		if q.row == nil || q.vessel != v && (q.on == nil || q.on.vessel != v) {
			continue
		}
		text := q.kind + " " + q.row.Note.S + " " + q.row.Material.S
		f.SmoothGlass = f.SmoothGlass || has(text, "smooth", "fire-polished", "fire polished", "clear-seal", "clear seal")
		f.GroundGlass = f.GroundGlass || has(text, "ground", "frosted", "scratched") && !has(text, "no ground", "not ground")
	}
}
