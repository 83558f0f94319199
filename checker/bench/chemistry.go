package bench

import (
	"math"
	"slices"
	"strings"

	"ketyl/checker/substance"
)

// outcome is what a round of reactions in one vessel did.
type outcome struct {
	kJ        float64
	heatKnown bool
	gas       map[string]float64 // mmol by gas
	gasOrder  []string
	consumed  map[*species]float64 // live mmol consumed
	slow      string               // what piles up because it is cold
	what      []string
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
	o := outcome{consumed: map[*species]float64{}, heatKnown: true}
	for _, r := range b.reactions {
		together := len(r.consumes) > 0 && (r.in == "" || strings.EqualFold(r.in, v.name))
		for _, c := range r.consumes {
			together = together && v.find(c.sp) != nil
		}
		r.met = r.met || together
	}
	if v.volume() <= 0 && !v.anyFluid() {
		return o // dry solids do nothing yet
	}
	before := v.grams()
	for range 12 {
		did := len(o.what)
		b.iodineSpent(v, &o)
		b.waterAttack(v, &o)
		b.freeProducts(v, &o)
		b.neutralise(v, &o)
		b.makeReagent(v, &o)
		b.declaredReactions(v, &o)
		b.proton(v, &o)
		b.makeReagent(v, &o)
		b.carbonyl(v, &o)
		if len(o.what) == did {
			break
		}
	}
	b.boilOff(v, &o)
	if len(o.what) == 0 {
		b.alkylation(v, &o)
	}
	b.balance(v, before, &o)
	return o
}

// iodineSpent: a crystal of iodine is used up by magnesium or by a live
// organometallic as soon as solvent is there; thiosulfate, sulfite and iron(II)
// take iodine, bromine, peroxide and hypochlorite in water.
func (b *Bench) iodineSpent(v *vessel, o *outcome) {
	if v.volume() <= 0 || !v.hasFamily("halogen", "peroxide", "hypochlorite", "oxidant") {
		return
	}
	for _, x := range slices.Clone(v.contents) {
		if x.mmol <= trace || !x.sp.is("halogen", "peroxide", "hypochlorite", "oxidant") {
			continue
		}
		for _, r := range slices.Clone(v.contents) {
			if r.mmol <= trace {
				continue
			}
			metal := x.sp.is("halogen") && (metalOf(r.sp) != "" || r.sp.active == "carbanion")
			reducer := v.aqueous() && has(r.sp.name, "thiosulfate", "sulfite", "bisulfite", "iron(ii)", "ascorb")
			if !metal && !reducer {
				continue
			}
			n := math.Min(x.mmol, r.mmol)
			v.take(x.sp, n)
			v.take(r.sp, n)
			b.saltWater(v, n)
			o.did("spent " + x.sp.name)
			break
		}
	}
}

// freeProducts sets free what a declared reaction left as alkoxide, enolate
// or salt, when water, acid or an ammonium salt comes to it.
func (b *Bench) freeProducts(v *vessel, o *outcome) {
	if b.p.Product == nil || !(v.aqueous() || v.acidic() || v.hasFamily("ammonium salt")) {
		return
	}
	for _, p := range slices.Clone(v.contents) {
		if p.mmol <= trace || p.sp.live || b.isProduct(p.sp) {
			continue
		}
		if p.from != "reaction" && !strings.HasPrefix(p.sp.name, "adduct of ") {
			continue
		}
		if !p.sp.made && !p.sp.is("alkoxide", "carbanion salt", "metal amide") {
			continue
		}
		if p.from == "reaction" && !has(p.sp.name, "oxide", "enolate", "oate", "olate", "amide", "lithium", "magnesium", "sodium", "potassium", "aluminate", "borinate", "borane", "borate", "anion", "salt", "complex") {
			continue
		}
		got := v.take(p.sp, p.mmol)
		got.from = "reaction"
		if !b.freed(v, got) {
			v.put(p)
			continue
		}
		o.did("freed " + p.sp.name)
	}
}

func (v *vessel) anyFluid() bool {
	return slices.ContainsFunc(v.contents, func(p portion) bool { return p.sp.liquid || p.sp.gas })
}

func (o *outcome) did(what string) { o.what = append(o.what, what) }

// spend consumes mmol of a reagent and books it.
func (b *Bench) spend(v *vessel, sp *species, mmol float64, o *outcome) portion {
	p := v.take(sp, mmol)
	if sp.live {
		o.consumed[sp] += p.mmol
	}
	return p
}

// residue is what is left of a reagent's metal after it is spent: a salt that
// goes with the water.
func (b *Bench) residue(v *vessel, p portion, name string) {
	if p.mmol <= trace {
		return
	}
	// a strong base that water spends leaves the hydroxide of its metal
	if p.sp.sub != nil && (strongBaseKind(p.sp.active) || p.sp.is("alkoxide")) {
		if f, err := substance.ParseFormula(p.sp.sub.Formula); err == nil {
			for _, m := range [...]struct{ symbol, base string }{{"Li", "lithium hydroxide"}, {"Na", "sodium hydroxide"}, {"K", "potassium hydroxide"}} {
				if n := f.Count(m.symbol); n > 0 && f.Count("Al") == 0 && f.Count("B") == 0 {
					if h := b.lookup(m.base); h != nil {
						v.put(portion{sp: h, mmol: p.mmol * n, g: p.mmol * n * h.mw / 1000, from: p.from})
						return
					}
				}
			}
		}
	}
	sp := b.madeSpecies(name, 60, "salt")
	if p.sp.waste.ToxicMetal != "" {
		sp.waste.ToxicMetal = p.sp.waste.ToxicMetal
	}
	v.put(portion{sp: sp, mmol: p.mmol, g: p.mmol * 0.06, from: p.from})
}

// freed turns the alkoxide or amide that a reaction made into the product it
// stands for, when water or acid sets that free.
func (b *Bench) freed(v *vessel, p portion) bool {
	given := p.from == "reaction"
	if !given || b.p.Product == nil || p.sp.active == "carbanion" || p.sp.active == "hydride" || b.besideProduct(p.sp) {
		return false
	}
	name := b.p.Product.Name.S
	mw := p.sp.mw
	if b.p.Product.Formula.Is() {
		if f, err := substance.ParseFormula(b.p.Product.Formula.S); err == nil {
			mw = f.Mass()
		}
	}
	sp := b.madeSpecies(name, mw, "product")
	n := p.mmol * b.perGiven(p.sp)
	v.put(portion{sp: sp, mmol: n, g: n * sp.mw / 1000, from: "product"})
	return true
}

// besideProduct reports what stands next to the product itself in what a
// declared reaction gives, or holds no carbon: lithium bromide frees no ketone.
func (b *Bench) besideProduct(sp *species) bool {
	if sp.sub != nil && sp.sub.Formula != "" {
		if f, err := substance.ParseFormula(sp.sub.Formula); err == nil && f.Count("C") == 0 {
			return true
		}
	}
	for _, r := range b.reactions {
		var product, other bool
		for _, g := range r.gives {
			product = product || b.isProduct(g.sp)
			other = other || g.sp == sp
		}
		if product && other {
			return true
		}
	}
	return false
}

// perGiven is how many mol of product a mol of what a reaction gives stands
// for: four for a tetraalkoxyaluminate of four ketones.
func (b *Bench) perGiven(given *species) float64 {
	from := b.material(b.p.Product.From.S)
	if from == nil {
		return 1
	}
	for _, r := range b.reactions {
		for _, g := range r.gives {
			if g.sp != given {
				continue
			}
			for _, c := range r.consumes {
				if c.sp == from.sp {
					return c.n / g.n
				}
			}
		}
	}
	return 1
}

func (b *Bench) classHeat(kind string) Num { return b.heats[kind] }

func (o *outcome) warm(n Num, mmol float64) {
	if !n.Known {
		o.heatKnown = false
		return
	}
	o.kJ += n.V * mmol / 1000
}

// waterAttack lets bulk water destroy what water destroys. Water traces of
// solvents and glass are booked in the vessel's budget instead.
func (b *Bench) waterAttack(v *vessel, o *outcome) {
	var water *portion
	for i := range v.contents {
		if v.contents[i].sp.family == "water" && v.contents[i].mmol > trace {
			water = &v.contents[i]
		}
	}
	if water == nil {
		return
	}
	acid := v.acidic()
	for _, p := range slices.Clone(v.contents) {
		sp := p.sp
		if p.mmol <= trace || sp.is("hydroxide", "carbonate", "drying salt", "molecular sieve", "mineral acid", "oxidising acid", "sulfonic acid") || !sp.takesWater() && !(acid && sp.is("borohydride", "strong borohydride")) && !(sp.live && sp.is("copper salt", "cuprate")) {
			continue
		}
		if sp.is("phosphorus halide") && v.tC < 15 && !acid {
			o.slow = sp.name
		}
		n := p.mmol
		need := math.Max(sp.water, 0.01)
		if water.mmol < n*need {
			n = water.mmol / need
		}
		if n <= trace {
			continue
		}
		got := b.spend(v, sp, n, o)
		v.take(water.sp, got.mmol*need)
		for _, g := range sp.gases {
			b.gasOrProduct(v, sp, g, got.mmol, o)
		}
		if sp.heat.Known {
			o.warm(sp.heat, got.mmol)
		} else if sp.active == "carbanion" || sp.active == "amide base" {
			o.warm(b.classHeat("carbanion and proton"), got.mmol*sp.eq)
		} else if sp.active == "hydride" {
			o.warm(b.classHeat("hydride and proton"), got.mmol*sp.eq)
		} else if sp.live {
			o.heatKnown = false
		}
		if !b.freed(v, got) {
			b.residue(v, got, "salts of "+sp.name)
		}
		o.did("water + " + sp.name)
		// the water portion may have moved
		water = nil
		for i := range v.contents {
			if v.contents[i].sp.family == "water" && v.contents[i].mmol > trace {
				water = &v.contents[i]
			}
		}
		if water == nil {
			return
		}
	}
}

// gasOrProduct books what hydrolysis sets free: a gas leaves, a liquid such as
// benzene from phenyllithium stays, an acid gas stays in much water.
func (b *Bench) gasOrProduct(v *vessel, from *species, g substance.Gas, mmol float64, o *outcome) {
	name := g.Gas
	if name == "alkane" || name == "hydrocarbon" || name == "arene" {
		name = b.conjugate(from)
	}
	n := mmol * g.Moles
	sp := b.lookup(name)
	if sp != nil && !sp.gas && sp.bp.Known && sp.bp.V > 25 {
		ml := 0.0
		if sp.density > 0 {
			ml = n * sp.mw / 1000 / sp.density
		}
		v.put(portion{sp: sp, mmol: n, g: n * sp.mw / 1000, ml: ml, from: from.name})
		return
	}
	if sp != nil && sp.is("acid gas") && v.aqueous() && has(sp.name, "hydrogen chloride", "hydrogen bromide", "hydrogen iodide", "hydrogen fluoride") {
		// hydrogen halides dissolve in water up to about 10 mol/L (the
		// concentrated acid has 12)
		dissolved := math.Min(n, math.Max(0, 10*v.volume()-v.acid))
		v.acid += dissolved
		n -= dissolved
	}
	if q := v.find(sp); sp != nil && q != nil && q.condensed() && v.tC < sp.bp.V+3 {
		// into its own liquid, which boils: what leaves does so with the heat
		g := n * sp.mw / 1000
		v.put(portion{sp: sp, mmol: n, g: g, ml: q.ml / math.Max(q.mmol, trace) * n, from: q.from})
		return
	}
	if sp != nil && sp.gas && sp.bp.Known && v.tC < sp.bp.V && v.volume() > 0 {
		v.dissolve(sp, n)
		return
	}
	o.addGas(name, n)
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
	for _, p := range slices.Clone(v.contents) {
		if p.from == "dissolved" && p.sp.gas && p.sp.bp.Known && v.tC > p.sp.bp.V {
			got := v.take(p.sp, p.mmol)
			o.addGas(p.sp.name, got.mmol)
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
	if !v.hasFamily("alkali metal", "alkaline-earth metal", "amine") {
		return
	}
	for _, m := range slices.Clone(v.contents) {
		metal := metalOf(m.sp)
		if metal == "" || m.mmol <= trace {
			continue
		}
		for _, h := range slices.Clone(v.contents) {
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
			n := math.Min(h.mmol, have.mmol/per)
			left := 1 - b.conversion(nil)
			v.take(m.sp, n*per)
			got := v.take(h.sp, n)
			if left > 0 && h.mmol-n <= trace {
				// a little halide stays, and follows the organic layer
				v.put(portion{sp: h.sp, mmol: n * left, g: got.g * left, ml: got.ml * left, from: h.from, maybe: true})
				v.doneHalide = append(v.doneHalide, h.sp)
			}
			sp := b.species(s)
			v.put(portion{sp: sp, mmol: n, g: n * sp.mw / 1000, ml: got.ml, from: h.from})
			o.warm(b.classHeat("metal and halide"), n)
			o.did(metal + " + " + h.sp.name)
		}
	}
	for _, a := range slices.Clone(v.contents) {
		if a.mmol <= trace || !a.sp.is("amine") || a.sp.sub == nil {
			continue
		}
		for _, r := range slices.Clone(v.contents) {
			if r.mmol <= trace || r.sp.active != "carbanion" || !r.sp.is("organolithium") || r.sp.sub == nil {
				continue
			}
			s, ok := b.c.MetalAmide(a.sp.sub, r.sp.sub)
			if !ok {
				continue
			}
			n := math.Min(a.mmol, r.mmol)
			v.take(a.sp, n)
			b.spend(v, r.sp, n, o)
			sp := b.species(s)
			v.put(portion{sp: sp, mmol: n, g: n * sp.mw / 1000, from: a.from})
			for _, g := range r.sp.gases {
				b.gasOrProduct(v, r.sp, g, n, o)
			}
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
	for _, r := range slices.Clone(v.contents) {
		if r.mmol <= trace || !strongBaseKind(r.sp.active) && r.sp.active != "acyl" && r.sp.active != "water-reactive halide" {
			continue
		}
		if r.sp.is("borohydride") {
			continue // made for alcohols
		}
		for _, p := range slices.Clone(v.contents) {
			if p.mmol <= trace || p.sp == r.sp || p.sp.protic == 0 || p.sp.family == "water" || p.sp.name == "ammonia" && p.ml > 0 || b.covered(r.sp, p.sp, v) {
				continue
			}
			if !meetsProton(r.sp, p.sp) || has(r.sp.name, "acetylide") && p.sp.name == "acetylene" {
				continue
			}
			if r.sp.active == "acyl" && (p.sp.proticKind == "acid" || r.sp.is("anhydride") && !p.sp.is("amine", "aromatic amine") && !v.acidic() && !v.hasFamily("amine", "heterocyclic amine") && v.tC < 60) {
				continue // an anhydride waits for its catalyst or for heat, and gives no heat with an acid
			}
			have := v.find(r.sp)
			if have == nil || have.mmol <= trace {
				break
			}
			eq := math.Max(r.sp.eq, 1)
			n := math.Min(have.mmol*eq, p.mmol*p.sp.protic) // equivalents
			if n <= trace {
				continue
			}
			got := b.spend(v, r.sp, n/eq, o)
			used := v.take(p.sp, n/p.sp.protic)
			for _, g := range r.sp.gases {
				b.gasOrProduct(v, r.sp, g, got.mmol, o)
			}
			heat := "carbanion and proton"
			switch {
			case r.sp.active == "hydride" && r.sp.is("saline hydride"):
				heat = "saline hydride and proton"
			case r.sp.active == "hydride" || r.sp.active == "borane":
				heat = "hydride and proton"
			case r.sp.active == "metal":
				heat = "metal and proton"
				if p.sp.is("alcohol") {
					heat = "metal and alcohol"
				}
			case r.sp.active == "acyl", r.sp.active == "water-reactive halide":
				heat = "acyl and nucleophile"
			}
			o.warm(b.classHeat(heat), n)
			name := "alkoxide of " + p.sp.name
			if p.sp.is("amine", "aromatic amine") {
				name = "amide of " + p.sp.name
			}
			if r.sp.active == "acyl" || r.sp.active == "water-reactive halide" {
				name = "product of " + p.sp.name + " and " + r.sp.name
			}
			if p.sp.proticKind == "ammonium" {
				name = "salts of " + p.sp.name
			}
			made := b.madeSpecies(name, used.sp.mw+30, "product")
			made.waste.Halogenated = made.waste.Halogenated || p.sp.waste.Halogenated
			v.put(portion{sp: made, mmol: used.mmol, g: used.g * 1.2, ml: used.ml, from: p.from})
			o.did(r.sp.name + " + " + p.sp.name)
		}
	}
}

// meetsProton says whether a base takes a proton of a kind within a step.
func meetsProton(r, p *species) bool {
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
	for _, r := range slices.Clone(v.contents) {
		if r.mmol <= trace || r.sp.active != "carbanion" && r.sp.active != "hydride" && r.sp.active != "borane" && r.sp.active != "amide base" && r.sp.active != "ylide" {
			continue
		}
		if r.from == "reaction" && (!r.sp.live || r.sp.active == "borane") {
			continue // what a declared reaction gives stays as declared
		}
		for _, p := range slices.Clone(v.contents) {
			if p.mmol <= 10*trace || p.maybe || p.from == "reaction" || p.sp == r.sp || p.sp.electro == 0 || !meetsSite(r.sp, p.sp) || b.covered(r.sp, p.sp, v) {
				continue
			}
			have := v.find(r.sp)
			if have == nil || have.mmol <= trace {
				break
			}
			eq := math.Max(r.sp.eq, 1)
			n := math.Min(have.mmol*eq, p.mmol*p.sp.electro)
			if n <= 10*trace {
				continue
			}
			b.spend(v, r.sp, n/eq, o)
			used := v.take(p.sp, n/p.sp.electro)
			if rest := 1 - b.conversion(nil); rest > 0 && used.mmol > 100*trace && v.find(p.sp) == nil {
				v.put(portion{sp: p.sp, mmol: used.mmol * rest, g: used.g * rest, ml: used.ml * rest, from: p.from, maybe: true})
			}
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
			made := b.madeSpecies("adduct of "+p.sp.name+" and "+r.sp.name, p.sp.mw+r.sp.mw, "product")
			made.waste.Halogenated = made.waste.Halogenated || p.sp.waste.Halogenated
			v.put(portion{sp: made, mmol: used.mmol, g: used.g * 1.3, ml: used.ml, from: p.from})
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
		if r.in != "" && !strings.EqualFold(r.in, v.name) {
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
