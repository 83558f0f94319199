package bench

import (
	"math"
	"slices"
	"strings"

	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
	"ketyl/checker/substance"
)

// conversion is the share of a reaction that happens: as stated, or the
// site's default, so that unreacted starting material is carried along.
func (b *Bench) conversion(r *reaction) float64 {
	if r != nil && r.conversion.Known {
		return r.conversion.V
	}
	return b.siteFigure("conversion", 0.95)
}

// reaction is a declared reaction, resolved.
type reaction struct {
	consumes, gives []share
	in              string
	conversion      Num
	heat            Num // kJ per mol of equation, positive when given off
	gas             string
	equation        *equation
	done            map[*vessel]float64 // extent, mmol
	foretold        map[*vessel]float64 // extent whose heat was told before it runs, mmol
	met             bool                // its partners were in one vessel at some time
}

type share struct {
	sp *species
	n  float64
}

func (b *Bench) declaredReactions(v *vessel, o *outcome) {
	for _, r := range b.reactions {
		if r.in != "" && !sameName(r.in, v.name) || len(r.consumes) == 0 {
			continue
		}
		if b.waits(r, v) {
			continue
		}
		extent, most := b.extent(r, v), 0.0
		if extent <= 10*trace {
			continue
		}
		most, extent = extent, extent*b.conversion(r)
		live := false
		for _, c := range r.consumes {
			live = live || c.sp.live || c.sp.active != ""
			if v.find(c.sp).mmol <= most*c.n*(1+1e-9) && !c.sp.live {
				v.find(c.sp).maybe = true // the unreacted share may turn up in the streams
			}
		}
		b.run(v, b.declaredEquation(r), extent, "reaction", o)
		for _, c := range r.consumes {
			b.sideReaction(v, c.sp, (most-extent)*c.n)
		}
		told := math.Min(extent, r.foretold[v])
		r.foretold[v] -= told
		b.declaredHeat(r, extent-told, live, o)
		r.done[v] += extent
		o.did("declared")
	}
}

// extent is how far a declared reaction can go in a vessel, mmol of equation.
func (b *Bench) extent(r *reaction, v *vessel) float64 {
	extent := math.Inf(1)
	for _, c := range r.consumes {
		p := v.find(c.sp)
		if p == nil || p.mmol <= 10*trace || p.maybe {
			return 0
		}
		extent = math.Min(extent, p.mmol/c.n)
	}
	if math.IsInf(extent, 1) {
		return 0
	}
	return extent
}

// declaredHeat books the heat of a declared reaction: the text's own figure,
// else that of its class when something live is in it.
func (b *Bench) declaredHeat(r *reaction, extent float64, live bool, o *outcome) {
	switch {
	case r.heat.Known:
		o.warm(r.heat, extent)
	case live:
		kind := b.heatKind(r)
		heat := b.classHeat(kind)
		o.warm(heat, extent*r.sites(kind))
		o.assumed = word(o.assumed, heat.Assumed())
	}
}

// sites is how often the reaction of its class happens in one equation: an
// ester takes two hydrides or two carbanions, a hydride has up to four to give.
// At least one.
func (r *reaction) sites(kind string) float64 {
	proton := strings.HasSuffix(kind, " and proton") || kind == "saline hydride and acid"
	if !proton && kind != "hydride and carbonyl" && kind != "carbanion and carbonyl" {
		return 1
	}
	var gives, takes float64
	for _, c := range r.consumes {
		switch {
		case strongBaseKind(c.sp.active):
			gives += c.n * math.Max(1, c.sp.eq)
		case proton:
			takes += c.n * c.sp.protic
		default:
			takes += c.n * c.sp.electro
		}
	}
	return math.Max(1, math.Min(gives, takes))
}

// foretell books at an addition the heat that a text states for a reaction of
// partners that are together now and are warmed later: the careful reading is
// that it does not wait.
func (b *Bench) foretell(v *vessel, o *outcome) (all bool) {
	for _, r := range b.reactions {
		if r.in != "" && !sameName(r.in, v.name) || !r.heat.Known || !b.waits(r, v) {
			continue
		}
		if n := b.extent(r, v)*b.conversion(r) - r.foretold[v]; n > 10*trace {
			o.warm(r.heat, n)
			r.foretold[v] += n
			all = true
		}
	}
	return all
}

// declaredEquation closes what the text says a reaction consumes and gives, the
// first time it runs. What has no formula has that of the rest of the equation.
// A product that needs protons which only the work-up brings is held as its
// salt until then; other matter that the text leaves out is counted as brought.
func (b *Bench) declaredEquation(r *reaction) *equation {
	if r.equation != nil {
		return r.equation
	}
	var gives, gas []share
	for _, g := range r.gives {
		if g.sp.gas {
			gas = append(gas, g)
		} else {
			gives = append(gives, g)
		}
	}
	if sp := b.lookup(r.gas); r.gas != "" && sp != nil && len(gas) == 0 {
		gas = append(gas, share{sp, 1}) // a gas that the equation gives is counted there
	}
	if p := b.productSpecies(); len(r.gives) == 0 && p != nil && p.atoms.of(carbonEl) > 0 {
		// a reaction that names no product makes the text's own
		n := 1.0
		if from := b.material(b.p.Product.From.S); from != nil && countOf(r.consumes, from.sp) > 0 {
			n = countOf(r.consumes, from.sp)
		}
		gives = append(gives, share{p, n})
	}
	named := len(gives)
	diff, _ := sumOf(true, atoms{}, r.consumes, 1)
	diff, _ = sumOf(true, diff, gives, -1)
	diff, _ = sumOf(true, diff, gas, -1)
	for _, c := range r.consumes {
		// what the text does not name may be a known parent set free: the amine
		// of an amide, the ligand of a complex
		for _, f := range b.parentsOf(c.sp) {
			if countOf(gives, f) > 0 || countOf(r.gives, f) > 0 {
				continue
			}
			if n := math.Min(c.n, diff.fits(f.atoms)); n > 0 && diff.plus(f.atoms, -n).negative() == nil {
				diff = diff.plus(f.atoms, -n)
				gives = append(gives, share{f, n})
			}
		}
	}
	unknown := func(ps []share) (n float64, first *species) {
		for _, p := range ps {
			if p.sp.atoms == nil {
				n += p.n
				if first == nil {
					first = p.sp
				}
			}
		}
		return n, first
	}
	in, inSp := unknown(r.consumes)
	out, _ := unknown(gives)
	switch {
	case in > 0 && out == 0:
		// an unknown partner is what the product holds beyond the others
		need := diff.times(-1 / in)
		need = slices.DeleteFunc(need, func(x atom) bool { return x.n < 0 })
		if len(need) > 0 && in == countOf(r.consumes, inSp) {
			inSp.own().atoms = need
			if inSp.mw == 0 {
				inSp.own().mw = need.mass()
			}
			diff = diff.plus(need, in)
		}
	case out > 0 && in == 0 && diff.negative() == nil:
		for _, g := range gives {
			if g.sp.atoms != nil || len(diff) == 0 {
				continue
			}
			g.sp.own().atoms = diff.times(1 / out)
			if of := b.boundProduct(g.sp.name); of != nil && diff.plus(of, -g.n).negative() == nil {
				g.sp.own().atoms = of
			}
			diff = diff.plus(g.sp.atoms, -g.n)
			out -= g.n
			g.sp.own().mw = g.sp.atoms.mass()
		}
	}
	neg := diff.negative()
	protons := slices.ContainsFunc(r.consumes, func(c share) bool {
		return strongBaseKind(c.sp.active) || c.sp.is("alkoxide", "carbanion salt", "borohydride") || c.sp.protons > 0
	})
	var brings []share
	switch {
	case neg == nil:
	case protons && !slices.ContainsFunc(neg, func(x atom) bool { return x.el != hydrogenEl && x.el != oxygenEl }):
		if i := b.mainGive(gives); i >= 0 {
			p := gives[i]
			need := math.Max(-diff.of(hydrogenEl), -diff.of(oxygenEl)) / p.n
			held := b.variant("salt of "+p.sp.name, p.sp.atoms.plus(diff, 1/p.n), "product")
			held.own().protons, held.own().frees = need, []share{{p.sp, 1}}
			held.own().waste.Halogenated = p.sp.waste.Halogenated
			gives[i].sp = held
		}
	default:
		lacks := b.variant("matter that the equation for "+b.giveNames(r)+" leaves out", neg.times(-1), "other")
		brings = []share{{lacks, 1}}
		b.leftOut = append(b.leftOut, r)
		if from := diff.outOfNothing(r.consumes); from != nil {
			b.outOfNothing = append(b.outOfNothing, b.giveNames(r)+" ("+from.String()+" out of nothing)")
		}
	}
	takes := append(slices.Clone(r.consumes), brings...)
	q := b.balanced(takes, gives, gas, "neutral salts", "salt")
	q.takes, q.brings = r.consumes, brings
	base := slices.ContainsFunc(r.consumes, func(c share) bool { return strongBaseKind(c.sp.active) })
	if h := b.lookup("hydrogen"); q.rest != nil && h != nil && len(q.rest.atoms) == 1 && q.rest.atoms[0].el == hydrogenEl {
		// hydrogen alone is left over: it leaves
		q = b.balanced(takes, gives, append(gas, share{h, q.rest.atoms[0].n / 2}), "neutral salts", "salt")
		q.takes, q.brings = r.consumes, brings
	}
	if q.rest != nil && q.rest.atoms != nil {
		if q.rest != nil && q.rest.atoms.of(carbonEl) > 0 {
			if len(gives) == 0 {
				q.rest = b.variant("product of "+b.consumeNames(r), q.rest.atoms, "product")
			} else {
				q.rest = b.variant("by-products of the reaction to "+b.giveNames(r), q.rest.atoms, "salt")
			}
		}
		if q.rest != nil && base {
			metals, halide := q.rest.atoms.charge()
			q.rest.own().bases = math.Max(0, metals-halide)
		}
	}
	// alkyl groups of an aluminium reagent last until water or acid
	for _, c := range r.consumes {
		if !c.sp.is("organoaluminium") || c.sp.active != "hydride" {
			continue
		}
		keep := q.rest
		for _, g := range gives {
			if g.sp.atoms.of(aluminiumEl) > 0 {
				keep = g.sp
			}
		}
		if keep == nil || keep.atoms.of(aluminiumEl) == 0 || keep.entry {
			continue
		}
		var keeps []substance.Gas
		for _, g := range b.gasesOf(c.sp) {
			if g.sp.name != "hydrogen" && !g.sp.is("acid gas") {
				keeps = append(keeps, substance.Gas{Gas: g.sp.name, Moles: g.n * c.n})
			}
		}
		b.stillReactive(keep, keeps)
	}
	q.named, q.told = named, true
	r.equation = q
	return q
}

// outOfNothing is what the products of an equation hold beyond its partners, of
// which a is the surplus: hydrogen and oxygen aside, which water and air bring, and
// one halide written for another that the partners hold too.
func (a atoms) outOfNothing(partners []share) atoms {
	spare := 0.0
	for _, x := range a {
		if halogens[x.el] && x.n > 0 {
			spare += x.n
		}
	}
	var out atoms
	told := false
	for _, x := range a {
		if x.n >= -1e-6 {
			continue
		}
		held := halogens[x.el] && -x.n <= spare+1e-6 && slices.ContainsFunc(partners, func(p share) bool { return p.sp.atoms.of(x.el) > 0 })
		if held {
			spare += x.n
			continue
		}
		told = told || x.el != hydrogenEl && x.el != oxygenEl
		out = append(out, atom{x.el, -x.n})
	}
	if !told {
		return nil
	}
	return out
}

// boundProduct is the composition of the product held by a metal as the name
// says: bromomagnesium triphenylmethoxide, lithium 1-phenylpentoxide. Nil for
// other names.
func (b *Bench) boundProduct(name string) atoms {
	p := b.productSpecies()
	if p == nil || p.atoms == nil || p.atoms.of(hydrogenEl) < 1 {
		return nil
	}
	n := strings.ToLower(name)
	if !has(n, "oxide", "olate", "oate", "enolate") {
		return nil
	}
	for _, m := range [...][2]string{{"bromomagnesium ", "MgBr"}, {"chloromagnesium ", "MgCl"}, {"iodomagnesium ", "MgI"}, {"lithium ", "Li"}, {"sodium ", "Na"}, {"potassium ", "K"}} {
		if strings.HasPrefix(n, m[0]) {
			return p.atoms.plus(atoms{{hydrogenEl, 1}}, -1).plus(atomsOf(m[1]), 1)
		}
	}
	return nil
}

// parentsOf is what a reactant may set free when the text does not say so.
func (b *Bench) parentsOf(sp *species) []*species {
	var out []*species
	if sp.is("metal amide") {
		if a := b.named1(sp, "amine of"); a != nil {
			out = append(out, a)
		}
	}
	if strings.HasSuffix(sp.name, " complex") {
		for _, n := range [...]string{"tetrahydrofuran", "dimethyl sulfide"} {
			if f := b.lookup(n); f != nil && strings.Contains(sp.name, n) {
				out = append(out, f)
			}
		}
	}
	return out
}

func countOf(ps []share, sp *species) float64 {
	n := 0.0
	for _, p := range ps {
		if p.sp == sp {
			n += p.n
		}
	}
	return n
}

// mainGive is the product among what a reaction gives, else what has most
// carbon.
func (b *Bench) mainGive(gives []share) int {
	best, carbon := -1, 0.0
	for i, g := range gives {
		c := g.sp.atoms.of(carbonEl)
		if b.isProduct(g.sp) {
			return i
		}
		if c > carbon {
			best, carbon = i, c
		}
	}
	return best
}

func (b *Bench) consumeNames(r *reaction) string {
	var names []string
	for _, c := range r.consumes {
		names = append(names, c.sp.name)
	}
	return strings.Join(names, " and ")
}

// protonFirst names the declared reactions that leave out a proton: a carbanion,
// a hydride or an amide takes an O–H or S–H within the mixing time and adds to a
// carbonyl after that, so that a molecule with both needs one more of it.
func (b *Bench) protonFirst() (out []string) {
	for _, r := range b.reactions {
		for _, base := range r.consumes {
			switch base.sp.active {
			case "carbanion", "hydride", "amide base":
			default:
				continue
			}
			if base.sp.is("borohydride") {
				continue
			}
			for _, p := range r.consumes {
				switch p.sp.proticKind {
				case "alcohol", "phenol", "acid", "thiol", "silanol":
				default:
					continue
				}
				if p.sp == base.sp || p.n <= 0 || p.sp.electro <= 0 {
					continue
				}
				has, need := base.n*math.Max(1, base.sp.eq)/p.n, p.sp.protic+1
				if has < 0.99*need {
					said := quantity.FormatNumber(need/math.Max(1, base.sp.eq)) + " " + base.sp.name + " for each " + p.sp.name + ", where " + quantity.FormatNumber(base.n/p.n) + " is written"
					if n, ok := b.planned(p.sp); ok {
						said += " (" + quantity.Format(n*need/math.Max(1, base.sp.eq), quantity.Amount) + " in all)"
					}
					out = append(out, said)
				}
			}
		}
	}
	return out
}

func (b *Bench) giveNames(r *reaction) string {
	var names []string
	for _, g := range r.gives {
		names = append(names, g.sp.name)
	}
	return strings.Join(names, " and ")
}

// waits reports a declared reaction that needs what is yet to come: a liquid
// to run in, or the heat that a later step brings to partners that are stable
// together.
func (b *Bench) waits(r *reaction, v *vessel) bool {
	calm, liquid := true, v.volume() > 0
	for _, c := range r.consumes {
		if strongBaseKind(c.sp.active) && !c.sp.is("borohydride") || c.sp.active == "acyl" || c.sp.active == "water-reactive halide" || c.sp.is("Lewis acid", "halogen", "hydroxide", "alkoxide", "oxidant", "mineral acid") {
			calm = false
		}
		liquid = liquid || c.sp.liquid || c.sp.gas
	}
	return !liquid || calm && !v.heated && b.willHeat[v] || b.catalystToCome(r, v)
}

// catalystToCome reports that a material named as catalyst is still to be put
// into the vessel where a reaction without a strong base in it is to run.
func (b *Bench) catalystToCome(r *reaction, v *vessel) bool {
	for _, c := range r.consumes {
		if strongBaseKind(c.sp.active) {
			return false
		}
	}
	if b.step == nil {
		return false
	}
	for _, m := range b.materials {
		if m.firstStep != 0 || !has(m.row.Role.S, "catalyst") {
			continue
		}
		for _, s := range b.p.Steps[min(b.step.N, len(b.p.Steps)):] {
			if s.Verb.Group != procedure.Transfer || len(s.To) == 0 || !sameName(s.To[0].S, v.name) {
				continue
			}
			for _, o := range s.Object {
				if sameName(o.S, m.name) {
					return true
				}
			}
		}
	}
	return false
}

// heatKind picks the class heat of a declared reaction that states none.
func (b *Bench) heatKind(r *reaction) string {
	var hydride, carbanion, electro, metal, halide, acyl, alkoxide, onium, salt bool
	var base, saline, acid *species
	amide := true
	for _, c := range r.consumes {
		amide = amide && c.sp.active != "carbanion"
		switch {
		case c.sp.is("saline hydride"):
			saline = c.sp
		case c.sp.active == "hydride" || c.sp.active == "borane":
			hydride = true
		case c.sp.active == "carbanion" || c.sp.active == "amide base":
			carbanion = true
		case c.sp.active == "metal":
			metal = true
		}
		if strongBaseKind(c.sp.active) {
			base = c.sp
		} else if c.sp.protic > 0 {
			acid = c.sp
		}
		acyl = acyl || c.sp.active == "acyl"
		electro = electro || c.sp.electro > 0
		alkoxide = alkoxide || c.sp.is("alkoxide")
		onium = onium || c.sp.is("phosphonium salt")
		halide = halide || c.sp.is("alkyl halide", "aryl halide")
		salt = salt || c.sp.transfers()
	}
	switch {
	case saline != nil && acid != nil:
		return protonKind(saline, acid)
	case saline != nil && electro:
		return "saline hydride and proton" // it takes a proton beside the carbonyl, and adds to nothing
	case metal && halide:
		return "metal and halide"
	case hydride && electro:
		return "hydride and carbonyl"
	case carbanion && electro && amide:
		return "amide base and C-H acid"
	case carbanion && electro:
		return "carbanion and carbonyl"
	case carbanion && salt && !amide:
		return "carbanion and metal halide"
	case carbanion:
		return "carbanion and proton"
	case base != nil && acid != nil && meetsProton(base, acid):
		return protonKind(base, acid)
	case acyl:
		return "acyl and nucleophile"
	case alkoxide && onium:
		return "alkoxide and C-H acid"
	}
	return "declared"
}

// transfers reports a halide of zinc, copper, cerium or magnesium, which takes
// over the carbanion of a lithium or magnesium reagent.
func (sp *species) transfers() bool {
	metal, halide := false, false
	for _, x := range sp.atoms {
		metal = metal || transferMetals[x.el]
		halide = halide || halogens[x.el]
	}
	return metal && halide && sp.active == "" && sp.atoms.of(hydrogenEl) == 0
}

var transferMetals = func() (m [128]bool) {
	for _, s := range []string{"Zn", "Cu", "Ce", "Mg", "Mn", "Cd"} {
		m[element(s)] = true
	}
	return m
}()
