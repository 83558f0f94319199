package bench

import (
	"math"
	"slices"
	"strings"

	"ketyl/checker/procedure"
	"ketyl/checker/substance"
)

// outcome is what a round of reactions in one vessel did.
type outcome struct {
	kJ        float64
	heatKnown bool
	gas       map[string]float64 // mmol by gas
	gasOrder  []string
	gathered  float64 // heat that piles up because it is cold, kJ
	slow      string  // what piles up because it is cold
	what      []string
	assumed   string   // what a class heat in it rests on
	ask       string   // question without whose answer neither heat nor gas can be counted
	unsized   []string // gases that come in an amount nobody can count
}

func (o *outcome) addGas(name string, mmol float64) {
	if mmol <= trace || name == "" {
		return
	}
	if o.gas == nil {
		o.gas = map[string]float64{}
	}
	if _, ok := o.gas[name]; !ok {
		o.gasOrder = append(o.gasOrder, name)
	}
	o.gas[name] += mmol
}

// merge adds what another round did.
func (o *outcome) merge(p outcome) {
	o.kJ += p.kJ
	o.heatKnown = o.heatKnown && p.heatKnown
	for _, g := range p.gasOrder {
		o.addGas(g, p.gas[g])
	}
	o.slow = word(o.slow, p.slow)
	o.what = append(o.what, p.what...)
	o.ask = word(o.ask, p.ask)
	o.assumed = word(o.assumed, p.assumed)
	o.unsized = append(o.unsized, p.unsized...)
}

func (o *outcome) gasTotal() float64 {
	var n float64
	for _, k := range o.gasOrder {
		n += o.gas[k]
	}
	return n
}

// kinds of reagent by what they take.
func strongBaseKind(active string) bool {
	switch active {
	case "carbanion", "amide base", "hydride", "metal", "borane", "ylide":
		return true
	}
	return false
}

// react lets the contents of a vessel do what they do, in the order of the
// trade: water and acids first, then the declared reactions, then what else
// must happen. Everything that can react does (the careful reading for heat
// and gas), but a declared reaction runs to its stated conversion or to the
// site's default, so that starting material follows the streams.
func (b *Bench) react(v *vessel) outcome {
	o := outcome{heatKnown: true}
	for _, r := range b.reactions {
		together := len(r.consumes) > 0 && (r.in == "" || sameName(r.in, v.name))
		for _, c := range r.consumes {
			together = together && v.find(c.sp) != nil
		}
		r.met = r.met || together
	}
	if v.volume() <= 0 && !v.anyFluid() {
		return o // dry solids do nothing yet
	}
	b.uncounted(v, &o)
	for range 12 {
		did := len(o.what)
		b.iodineSpent(v, &o)
		b.waterAttack(v, &o)
		b.neutralise(v, &o)
		b.makeReagent(v, &o)
		b.declaredReactions(v, &o)
		b.proton(v, &o)
		b.makeReagent(v, &o)
		b.carbonyl(v, &o)
		b.reduceMetal(v, &o)
		if len(o.what) == did {
			break
		}
	}
	b.boilOff(v, &o)
	b.complexation(v, &o)
	if told := b.foretell(v, &o); !told && len(o.what) == 0 {
		b.alkylation(v, &o)
	}
	return o
}

// uncounted reports a portion of which only mass or volume is known.
func (p portion) uncounted() bool { return p.maybe && p.sp.mw <= 0 && !p.sp.made }

// uncounted notes, once for a vessel, what reacts here in an amount that cannot
// be counted for want of a molar mass: heat and gas are then not known. Nothing
// of its partner is taken as spent, so that what a quench has to destroy is not
// counted too low.
func (b *Bench) uncounted(v *vessel, o *outcome) {
	for _, x := range v.contents {
		if !x.uncounted() || slices.Contains(v.uncountedMet, x.sp) {
			continue
		}
		for _, y := range v.contents {
			if y.sp == x.sp || y.mmol <= trace || y.sp.family == "water" && b.fateOf(x.sp) != fateWater {
				continue
			}
			proton := func(r, p *species) bool {
				return p.protic > 0 && p.family != "water" && (strongBaseKind(r.active) || r.active == "acyl" || r.active == "water-reactive halide") && meetsProton(r, p)
			}
			var gases []share
			met := b.covered(x.sp, y.sp, v) || y.sp.family == "water"
			switch {
			case proton(y.sp, x.sp):
				met, gases = true, b.gasesOf(y.sp)
			case proton(x.sp, y.sp), y.sp.family == "water":
				met, gases = true, b.gasesOf(x.sp)
			case strongBaseKind(y.sp.active) && x.sp.electro > 0 && meetsSite(y.sp, x.sp),
				strongBaseKind(x.sp.active) && y.sp.electro > 0 && meetsSite(x.sp, y.sp):
				met = true
			}
			if !met {
				continue
			}
			o.heatKnown, o.ask = false, word(o.ask, x.sp.massAsk())
			for _, g := range gases {
				if !slices.Contains(o.unsized, g.sp.name) {
					o.unsized = append(o.unsized, g.sp.name)
				}
			}
			if !slices.Contains(v.uncountedMet, x.sp) {
				v.uncountedMet = append(v.uncountedMet, x.sp)
			}
		}
	}
}

// iodineSpent: a crystal of iodine is used up by magnesium or by a live
// organometallic as soon as solvent is there; thiosulfate, sulfite and iron(II)
// take iodine, bromine, peroxide and hypochlorite in water; peroxide turns what
// a borane has added to into the alcohol.
func (b *Bench) iodineSpent(v *vessel, o *outcome) {
	if v.volume() <= 0 || !v.hasFamily("halogen", "peroxide", "hypochlorite", "oxidant") {
		return
	}
	for x := range v.each {
		if x.mmol <= trace || !x.sp.is("halogen", "peroxide", "hypochlorite", "oxidant") {
			continue
		}
		for r := range v.each {
			have := v.find(x.sp)
			if r.mmol <= trace || have == nil {
				continue
			}
			metal := x.sp.is("halogen") && (metalOf(r.sp) != "" || r.sp.active == "carbanion")
			reducer := v.aqueous() && has(r.sp.name, "thiosulfate", "sulfite", "bisulfite", "iron(ii)", "ascorb")
			if x.sp.is("peroxide") && r.sp.boranes > 0 {
				q := b.equationFor(byOxidant, r.sp, x.sp, func() *equation {
					of := r.sp.atoms.plus(x.sp.atoms, r.sp.boranes)
					var gives []share
					if p := b.productSpecies(); p != nil && p.atoms != nil && of.fits(p.atoms) >= 1 {
						gives = []share{{p, of.fits(p.atoms)}}
					}
					q := b.balanced([]share{{r.sp, 1}, {x.sp, r.sp.boranes}}, gives, nil, "alcohol from the "+r.sp.name, "product")
					if len(gives) > 0 && q.rest != nil {
						q.rest = b.variant("neutral salts", q.rest.atoms, "salt")
					}
					return q
				})
				n := math.Min(have.mmol/r.sp.boranes, r.mmol)
				b.run(v, q, n, "product", o)
				o.did("oxidised " + r.sp.name)
				continue
			}
			if !metal && !reducer {
				continue
			}
			per := 1.0 // of the reducer for one of the oxidant
			if has(r.sp.name, "thiosulfate", "iron(ii)") {
				per = 2
			}
			q := b.equationFor(byOxidant, r.sp, x.sp, func() *equation {
				return b.balanced([]share{{x.sp, 1}, {r.sp, per}}, nil, nil, "neutral salts", "salt")
			})
			b.run(v, q, math.Min(have.mmol, r.mmol/per), "neutralisation", o)
			o.did("spent " + x.sp.name)
			break
		}
	}
}

func (v *vessel) anyFluid() bool {
	return slices.ContainsFunc(v.contents, func(p portion) bool { return p.sp.liquid || p.sp.gas })
}

func (o *outcome) did(what string) { o.what = append(o.what, what) }

func (b *Bench) classHeat(kind string) Num { return b.heats[kind] }

func (o *outcome) warm(n Num, mmol float64) {
	if !n.Known {
		o.heatKnown = false
		return
	}
	o.kJ += n.V * mmol / 1000
}

// waterIn is the water of a vessel, nil when there is none.
func (v *vessel) waterIn() *portion {
	for i := range v.contents {
		if v.contents[i].sp.family == "water" && v.contents[i].mmol > trace {
			return &v.contents[i]
		}
	}
	return nil
}

// waterAttack lets bulk water destroy what water destroys, and set free what is
// bound as alkoxide, enolate or amide. Water traces of solvents and glass are
// booked in the vessel's budget instead.
func (b *Bench) waterAttack(v *vessel, o *outcome) {
	water := v.waterIn()
	if water == nil {
		return
	}
	acid := v.acidic()
	for p := range v.each {
		sp := p.sp
		if p.mmol <= trace || b.fateOf(sp) != fateWater && !(acid && sp.is("borohydride", "strong borohydride")) {
			continue
		}
		if b.slowWhenCold(sp) && v.tC < slowBelow && v.acidMmol() < p.mmol {
			o.slow = sp.name
			if b.step != nil && (v.quenchStep == b.step.N || b.step.Verb.Group == procedure.Transfer && !v.hasFamily("hydroxide", "carbonate")) {
				// it gathers, and runs away as the water warms
				if v.gathered = sp.name; o.gathered == 0 && sp.heat.Known {
					o.gathered = sp.heat.V * math.Min(p.mmol, water.mmol/sp.water) / 1000
				}
				continue
			}
		}
		q := b.hydrolysis(sp, water.sp, byWater)
		need := q.takes[1].n
		n := math.Min(p.mmol, water.mmol/need)
		if n <= trace {
			continue
		}
		from := "product"
		if !b.givesProduct(q) {
			from = p.from
		}
		b.run(v, q, n, from, o)
		switch {
		case sp.heat.Known:
			o.warm(sp.heat, n)
		case sp.active == "carbanion" || sp.active == "amide base":
			o.warm(b.classHeat("carbanion and proton"), n*math.Max(1, sp.eq))
		case sp.active == "hydride":
			o.warm(b.classHeat("hydride and proton"), n*math.Max(1, sp.eq))
		case len(sp.gases) > 0 && sp.made:
			o.warm(b.classHeat("carbanion and proton"), n*sp.gases[0].Moles)
		case sp.live:
			o.heatKnown = false
		}
		o.did("water + " + sp.name)
		if water = v.waterIn(); water == nil {
			return
		}
	}
}

// givesProduct reports an equation that sets the product free.
func (b *Bench) givesProduct(q *equation) bool {
	return slices.ContainsFunc(q.gives, func(g share) bool { return b.isProduct(g.sp) })
}

// slowBelow is the temperature, °C, below which phosphoryl chloride and sulfonyl
// and aroyl chlorides lie under water instead of reacting (common practice).
const slowBelow = 10

func (b *Bench) slowWhenCold(sp *species) bool {
	return sp.is("phosphorus halide", "sulfonyl chloride") || sp.name == "benzoyl chloride"
}

// holdsCold reports that a gas made in a liquid well below its boiling point
// stays there until that warms or is pumped on.
func (v *vessel) holdsCold(sp *species) bool {
	return sp.bp.Known && v.tC < sp.bp.V-10 && v.volume() > 0
}

// dissolve keeps a gas in the liquid, at about 0.6 g/mL where the compendium
// has no density of it.
func (v *vessel) dissolve(sp *species, mmol float64) {
	g, density := mmol*sp.mw/1000, sp.density
	if density <= 0 {
		density = 0.6
	}
	v.put(portion{sp: sp, mmol: mmol, g: g, ml: g / density, from: "dissolved"})
}

// boilOff lets what was dissolved as a condensed gas leave when the vessel is
// warmer than its boiling point.
func (b *Bench) boilOff(v *vessel, o *outcome) {
	for p := range v.each {
		if p.from == "dissolved" && p.sp.gas && p.sp.bp.Known && v.tC > p.sp.bp.V {
			got := v.take(p.sp, p.mmol)
			b.gasOff(o, p.sp, got.mmol)
		}
	}
}

// conjugate names the hydrocarbon that a carbon–metal reagent gives with a
// proton, from its name.
func (b *Bench) conjugate(sp *species) string {
	n := strings.ToLower(sp.name)
	for _, c := range [...]struct{ in, out string }{
		{"methyl", "methane"}, {"ethyl", "ethane"}, {"propyl", "propane"}, {"isobutyl", "isobutane"}, {"tert-butyl", "isobutane"}, {"butyl", "butane"},
		{"phenyl", "benzene"}, {"vinyl", "ethylene"}, {"allyl", "propene"}, {"ethynyl", "acetylene"}, {"acetylide", "acetylene"},
	} {
		if strings.HasPrefix(n, c.in) || strings.Contains(n, "-"+c.in) && !strings.Contains(n, "trimethyl") {
			if c.in == "methyl" && !strings.HasPrefix(n, "methyl") {
				continue
			}
			return c.out
		}
	}
	return "hydrocarbon of " + sp.name
}

// makeReagent turns a metal and a halide into the organometallic, and an
// amine and an organolithium into the amide.
func (b *Bench) makeReagent(v *vessel, o *outcome) {
	if !v.hasFamily("alkali metal", "alkaline-earth metal", "amine", "silazane") {
		return
	}
	for m := range v.each {
		metal := metalOf(m.sp)
		if metal == "" || m.mmol <= trace || v.waitsForProof(m.sp) {
			continue
		}
		for h := range v.each {
			if h.mmol <= trace || !h.sp.is("alkyl halide", "aryl halide", "vinyl halide") || h.sp.sub == nil {
				continue
			}
			if v.waitsForProof(h.sp) || b.electrophileHere(h.sp) {
				continue
			}
			have := v.find(m.sp)
			if have == nil || have.mmol <= trace {
				break
			}
			s, ok := b.c.Organometallic(h.sp.sub, metal)
			if !ok {
				continue
			}
			per := 1.0
			if metal == "lithium" {
				per = 2
			}
			sp := b.species(s)
			q := b.equationFor(byMetal, m.sp, h.sp, func() *equation {
				q := b.balanced([]share{{h.sp, 1}, {m.sp, per}}, []share{{sp, 1}}, nil, "neutral salts", "salt")
				q.bulk = firstIsBulk
				return q
			})
			// a little halide and metal stay, and follow the organic layer
			most := math.Min(h.mmol, have.mmol/per)
			n := most * b.conversion(nil)
			metalShort := have.mmol-most*per <= trace
			b.run(v, q, n, h.from, o)
			if rest := v.find(h.sp); rest != nil && h.mmol-most <= trace {
				rest.maybe = true
				v.doneHalide = append(v.doneHalide, h.sp)
			}
			if metalShort {
				v.doneHalide = append(v.doneHalide, m.sp)
			}
			o.warm(b.classHeat("metal and halide"), n)
			o.did(metal + " + " + h.sp.name)
		}
	}
	for a := range v.each {
		if a.mmol <= trace || !a.sp.is("amine", "silazane") || a.sp.sub == nil {
			continue
		}
		for r := range v.each {
			if r.mmol <= trace || r.sp.active != "carbanion" || !r.sp.is("organolithium") || r.sp.sub == nil {
				continue
			}
			s, ok := b.c.MetalAmide(a.sp.sub, r.sp.sub)
			if !ok {
				continue
			}
			n := math.Min(a.mmol, r.mmol)
			sp := b.species(s)
			q := b.equationFor(byAmine, a.sp, r.sp, func() *equation {
				gives, gas := []share{{sp, 1}}, b.gasesOf(r.sp)
				if len(gas) == 0 {
					if h := b.hydrocarbon(r.sp); h != nil {
						gives = append(gives, share{h, 1})
					}
				}
				return b.balanced([]share{{a.sp, 1}, {r.sp, 1}}, gives, gas, "neutral salts", "salt")
			})
			b.run(v, q, n, a.from, o)
			o.warm(b.classHeat("carbanion and proton"), n/2)
			o.did(a.sp.name + " + " + r.sp.name)
			break
		}
	}
}

func metalOf(sp *species) string {
	n := strings.ToLower(sp.name)
	switch {
	case !sp.is("alkali metal", "alkaline-earth metal"):
		return ""
	case strings.HasPrefix(n, "magnesium"):
		return "magnesium"
	case strings.HasPrefix(n, "lithium"):
		return "lithium"
	}
	return ""
}

func (v *vessel) waitsForProof(sp *species) bool { return slices.Contains(v.doneHalide, sp) }

// proton lets strong bases take the protic sites they meet.
func (b *Bench) proton(v *vessel, o *outcome) {
	if !v.active() {
		return
	}
	for r := range v.each {
		if r.mmol <= trace || !strongBaseKind(r.sp.active) && r.sp.active != "acyl" && r.sp.active != "water-reactive halide" {
			continue
		}
		if r.sp.is("borohydride") {
			continue // made for alcohols
		}
		for p := range v.each {
			if r.sp.active == "ylide" && p.sp.is("phosphonium salt") {
				continue // its own acid: the proton goes to and fro
			}
			if p.mmol <= trace || p.uncounted() || r.uncounted() || p.sp == r.sp || p.sp.protic == 0 || p.sp.family == "water" || p.sp.name == "ammonia" && p.ml > 0 || b.covered(r.sp, p.sp, v) {
				continue
			}
			if !meetsProton(r.sp, p.sp) || has(r.sp.name, "acetylide") && p.sp.name == "acetylene" {
				continue
			}
			if r.sp.active == "acyl" && (p.sp.proticKind == "acid" || r.sp.is("anhydride") && !p.sp.is("amine", "aromatic amine", "silazane") && !v.acidic() && !v.hasFamily("amine", "heterocyclic amine") && v.tC < 60) {
				continue // an anhydride waits for its catalyst or for heat, and gives no heat with an acid
			}
			have := v.find(r.sp)
			if have == nil || have.mmol <= trace {
				break
			}
			q := b.deprotonation(r.sp, p.sp)
			per := q.takes[1].n // of the base for one of the acid
			n := math.Min(have.mmol/per, p.mmol)
			if n <= trace {
				continue
			}
			b.run(v, q, n, p.from, o)
			n *= p.sp.protic
			heat := protonKind(r.sp, p.sp)
			o.warm(b.classHeat(heat), n)
			o.did(r.sp.name + " + " + p.sp.name)
		}
	}
}

// protonKind is the class heat of a base, hydride, metal or acyl reagent with a
// protic substance.
func protonKind(r, p *species) string {
	switch r.active {
	case "hydride", "borane":
		switch {
		case !r.is("saline hydride"):
			return "hydride and proton"
		case p.proticKind == "acid" || p.proticKind == "mineral acid":
			return "saline hydride and acid"
		}
		return "saline hydride and proton"
	case "metal":
		if p.is("alcohol") {
			return "metal and alcohol"
		}
		return "metal and proton"
	case "acyl", "water-reactive halide":
		return "acyl and nucleophile"
	}
	return "carbanion and proton"
}

// meetsProton says whether a base takes a proton of a kind within a step.
func meetsProton(r, p *species) bool {
	if (r.active == "acyl" || r.active == "water-reactive halide") && (p.strongAcid() || p.is("ammonium salt")) {
		return false
	}
	if r.is("zinc metal") && p.proticKind != "acid" && p.proticKind != "mineral acid" && p.proticKind != "ammonium" {
		return false // zinc is dissolved by acids, and boiled with alcohols unchanged
	}
	switch p.proticKind {
	case "alcohol", "phenol", "acid", "mineral acid", "ammonium", "thiol", "silanol":
		return true
	case "amine", "amide":
		switch r.active {
		case "carbanion":
			return true
		case "hydride":
			return r.is("saline hydride") && p.proticKind == "amide"
		}
		return false
	case "alkyne":
		return r.active == "carbanion" || r.active == "amide base" || r.active == "metal"
	case "C-H acid":
		return r.active != "borane" && r.active != "acyl" && r.active != "water-reactive halide"
	}
	return false
}

// carbonyl lets nucleophiles and hydrides take the electrophilic sites they
// meet when no declared reaction covers the pair.
func (b *Bench) carbonyl(v *vessel, o *outcome) {
	if !v.active() {
		return
	}
	for r := range v.each {
		if r.mmol <= trace || r.sp.active != "carbanion" && r.sp.active != "hydride" && r.sp.active != "borane" && r.sp.active != "amide base" && r.sp.active != "ylide" {
			continue
		}
		if r.from == "reaction" && (!r.sp.live || r.sp.active == "borane") {
			continue // what a declared reaction gives stays as declared
		}
		for p := range v.each {
			if r.sp.active == "amide base" && hindered(r.sp) && !enolises(p.sp) && p.sp.electroKind != "acid chloride" && p.sp.electroKind != "anhydride" {
				continue // it adds to nothing, and waits for a proton
			}
			if p.mmol <= 10*trace || p.maybe || p.from == "reaction" || p.sp == r.sp || p.sp.electro == 0 || !meetsSite(r.sp, p.sp) || b.covered(r.sp, p.sp, v) {
				continue
			}
			have := v.find(r.sp)
			if have == nil || have.mmol <= trace {
				break
			}
			q := b.additionTo(r.sp, p.sp)
			per := q.takes[1].n
			most := math.Min(have.mmol/per, p.mmol)
			if most <= 10*trace {
				continue
			}
			n := most
			if most*p.sp.electro > 100*trace {
				n = most * b.conversion(nil)
			}
			b.run(v, q, n, p.from, o)
			if rest := v.find(p.sp); rest != nil && p.mmol-most <= trace {
				rest.maybe = true
			}
			b.sideReaction(v, r.sp, (most-n)*per)
			n *= p.sp.electro
			heat := "carbanion and carbonyl"
			if r.sp.active == "amide base" {
				heat = "amide base and C-H acid"
			}
			if r.sp.active == "hydride" {
				heat = "hydride and carbonyl"
			}
			if r.sp.active == "borane" {
				heat = "borane and alkene"
			}
			o.warm(b.classHeat(heat), n)
			o.did(r.sp.name + " + " + p.sp.name)
		}
	}
}

// alkylation lets a live carbanion, amide or alkoxide take an alkyl halide: too
// slow to count on for the ledger, but its heat is there. It is booked as not
// known, so that nobody reads a zero.
func (b *Bench) alkylation(v *vessel, o *outcome) {
	for _, h := range v.contents {
		if !h.sp.is("alkyl halide") || h.mmol <= 1 || h.maybe {
			continue
		}
		for _, r := range v.contents {
			if r.mmol > 1 && (r.sp.active == "carbanion" || r.sp.active == "amide base" || r.from == "reaction" && has(r.sp.name, "enolate", "olate", "oxide", "lithium", "sodium", "amide")) {
				o.heatKnown = false
				return
			}
		}
	}
}

// covered reports whether a declared reaction deals with the pair here.
func (b *Bench) covered(a, c *species, v *vessel) bool {
	for _, r := range b.reactions {
		if r.in != "" && !sameName(r.in, v.name) {
			continue
		}
		var x, y bool
		for _, s := range r.consumes {
			x = x || s.sp == a
			y = y || s.sp == c
		}
		if x && y {
			return r.done[v] == 0
		}
		if countOf(r.gives, a) > 0 && countOf(r.gives, c) > 0 && r.done[v] > 0 {
			return true // what one reaction leaves behind stands together: an enolate and the amine of its base
		}
	}
	return false
}

func meetsSite(r, p *species) bool {
	switch p.electroKind {
	case "aldehyde", "ketone", "enone", "acid chloride", "anhydride", "carbon dioxide", "isocyanate":
		return true
	case "ester", "lactone", "epoxide", "imine", "nitrile", "amide":
		return r.active == "carbanion" || r.active == "hydride" && !r.is("saline hydride", "borohydride")
	case "silyl halide":
		return r.active == "carbanion" || r.active == "amide base"
	case "alkyl halide":
		return false // too slow to count on; declare it
	case "alkene", "alkyne":
		return r.active == "borane" || r.is("borane")
	}
	return false
}

// deprotonation is the equation of a base or an acyl reagent with a protic
// substance, per mol of that. An aluminium alkyl gives an alcohol its hydride,
// or one alkyl group, and keeps the others for water or acid.
func (b *Bench) deprotonation(r, p *species) *equation {
	return b.equationFor(byProton, r, p, func() *equation {
		strong := p.strongAcid() || p.is("carboxylic acid", "ammonium salt")
		all := r.acidTaken()
		first := r.is("organoaluminium") && !strong
		eq := all
		switch {
		case first:
			eq = 1
		case strong && r.active != "metal":
			// each gas takes a proton, hydrogen cyanide too
			n := 0.0
			for _, g := range r.gases {
				n += g.Moles
			}
			eq = math.Max(all, n)
		}
		acyl := r.active == "acyl" || r.active == "water-reactive halide"
		if acyl {
			eq = math.Max(r.eq, 1)
		}
		per := p.protic / eq // mol of reagent
		takes := []share{{p, 1}, {r, per}}
		var gives, gas []share
		var keeps []substance.Gas
		for _, g := range b.gasesOf(r) {
			switch {
			case g.sp.is("acid gas") && !acyl && !strong:
				continue // its halide stays on the metal
			case acyl && !strings.HasPrefix(g.sp.name, "hydrogen ") && !(r.is("sulfur halide") && p.atoms.of(oxygenEl) > 0):
				continue // a chloroformate keeps its carbon dioxide, towards all but water
			case acyl && g.sp.is("acid gas") && p.protic < g.n*per-1e-9:
				gas = append(gas, share{g.sp, p.protic}) // a proton from each
				continue
			case first && g.sp.name != "hydrogen" && r.active == "hydride":
				keeps = append(keeps, substance.Gas{Gas: g.sp.name, Moles: g.n * per})
				continue
			case first && g.n > 1 && !g.sp.is("acid gas"):
				keeps = append(keeps, substance.Gas{Gas: g.sp.name, Moles: (g.n - 1) * per})
				gas = append(gas, share{g.sp, per})
				continue
			}
			gas = append(gas, share{g.sp, g.n * per})
		}
		if !acyl {
			switch {
			case r.is("metal amide") && len(gas) == 0:
				if a := b.named1(r, "amine of"); a != nil {
					gives = append(gives, share{a, per * r.atoms.group(eq).fits(a.atoms)})
				}
			case r.active == "carbanion" && len(gas) == 0:
				if h := b.hydrocarbon(r); h != nil {
					gives = append(gives, share{h, p.protic})
				}
			}
		}
		name, family := "alkoxide of "+p.name, "product"
		switch {
		case acyl:
			name = "product of " + p.name + " and " + r.name
		case p.proticKind == "ammonium", p.strongAcid():
			name, family = "neutral salts", "salt"
		case p.proticKind == "acid":
			name, family = "salt of "+p.name, "carboxylic salt"
		case p.is("amine", "aromatic amine"):
			name = "amide of " + p.name
		case p.proticKind == "alkyne":
			name = "acetylide of " + p.name
		case p.proticKind == "C-H acid":
			name = "carbanion of " + p.name
		}
		q := b.balanced(takes, gives, gas, name, family)
		q.bulk = restIsBulk
		if q.rest == nil {
			q.bulk = noBulk
			return q
		}
		q.rest.own().waste.Halogenated = q.rest.waste.Halogenated || p.waste.Halogenated
		if !acyl && family != "salt" {
			q.rest.own().protons, q.rest.own().frees = p.protic, []share{{p, 1}}
			if p.electro > 0 && (p.proticKind == "alcohol" || p.proticKind == "phenol" || p.proticKind == "acid") {
				q.rest.own().electro, q.rest.own().electroKind = p.electro, p.electroKind // its other site is still there
			}
			q.rest.own().acidOnly = p.proticKind == "phenol" || p.proticKind == "acid" || p.proticKind == "thiol"
			if p.proticKind == "acid" && p.is("carboxylic acid") {
				q.rest.own().ofAcid = p
			}
			b.stillReactive(q.rest, keeps)
		}
		return q
	})
}

// stillReactive marks what keeps metal alkyls after its first proton or
// addition: water and acid set the hydrocarbon free.
func (b *Bench) stillReactive(sp *species, keeps []substance.Gas) {
	if len(keeps) == 0 {
		return
	}
	metals, halide := sp.atoms.charge()
	of := sp.own()
	of.gases, of.water, of.protons = keeps, metals-halide, metals-halide
	of.attacked = attacks{water: "fast"}
}

// additionTo is the equation of a nucleophile or hydride with an electrophile,
// per mol of that; a metal amide takes a proton beside a carbonyl group where
// there can be one.
func (b *Bench) additionTo(r, p *species) *equation {
	return b.equationFor(bySite, r, p, func() *equation {
		eq := math.Max(r.eq, 1)
		if r.active == "amide base" && enolises(p) {
			q := &equation{}
			var gives []share
			if a := b.named1(r, "amine of"); a != nil {
				gives = []share{{a, r.atoms.group(eq).fits(a.atoms) / eq}}
			}
			q = b.balanced([]share{{p, 1}, {r, 1 / eq}}, gives, nil, "enolate of "+p.name, "product")
			q.bulk = restIsBulk
			if q.rest != nil {
				q.rest.own().protons, q.rest.own().frees = 1, []share{{p, 1}}
			}
			return q
		}
		per := p.electro / eq
		q := b.balanced([]share{{p, 1}, {r, per}}, nil, nil, "adduct of "+p.name+" and "+r.name, "product")
		q.bulk = restIsBulk
		if q.rest == nil {
			return q
		}
		q.rest.own().waste.Halogenated = q.rest.waste.Halogenated || p.waste.Halogenated
		if p.electroKind == "alkene" || p.electroKind == "alkyne" {
			q.rest.own().boranes = p.electro
			return q
		}
		q.rest.own().protons = p.electro + p.protons
		if r.active == "amide base" {
			// it adds where there is no proton to take, and comes off again
			q.rest.own().frees = []share{{p, 1}}
			if a := b.named1(r, "amine of"); a != nil {
				q.rest.own().frees = append(q.rest.frees, share{a, per * r.atoms.group(eq).fits(a.atoms)})
			}
		}
		if r.active == "hydride" {
			var keeps []substance.Gas
			for _, g := range b.gasesOf(r) {
				if g.sp.name != "hydrogen" && !g.sp.is("acid gas") {
					keeps = append(keeps, substance.Gas{Gas: g.sp.name, Moles: g.n * per})
				}
			}
			b.stillReactive(q.rest, keeps)
		}
		return q
	})
}

// enolises reports a carbonyl compound or nitrile from which a metal amide
// takes a proton; benzaldehyde, benzophenone and benzoates have none to give.
func enolises(p *species) bool {
	switch p.electroKind {
	case "ketone", "aldehyde", "enone", "ester", "lactone", "nitrile", "amide":
		return !has(p.name, "benzaldehyde", "benzophenone", "benzoate", "benzonitrile", "formate", "formaldehyde", "pivalaldehyde", "dimethylformamide")
	}
	return false
}

// hindered reports a metal amide that is a base and no nucleophile.
func hindered(sp *species) bool {
	return has(sp.name, "diisopropyl", "trimethylsilyl", "tetramethylpiperid", "dicyclohexyl", "hexamethyldisilaz")
}

// sideReaction spends the share of a live partner that was for what did not
// react: it went elsewhere, and only what was in excess is counted as alive.
func (b *Bench) sideReaction(v *vessel, sp *species, mmol float64) {
	p := v.find(sp)
	if p == nil || !sp.live || mmol <= trace {
		return
	}
	spent := *p
	spent.mmol = mmol
	made := b.relabel(v, spent, "by-products of "+sp.name, "salt")
	metals, halide := sp.atoms.charge()
	made.own().bases = metals - halide
}
