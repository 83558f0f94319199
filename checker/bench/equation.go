package bench

import (
	"math"
	"slices"
	"strings"

	"ketyl/checker/quantity"
)

// equation is an elementary reaction, per mol: what it takes, the named matter
// and the gas it gives, and a by-product that is all the rest, element by
// element. Of a substance without a formula the mass alone is carried on.
type equation struct {
	takes, gives, gas []share
	brings            []share // matter that a text's own equation leaves out
	rest              *species
	bulk              uint8 // which product keeps the volume of what went in
	trace             bool  // of a trace of water: its gas is not told
	told              bool  // declared by the text: a gas that it names leaves unless the liquid is well below its boiling point
	named             int   // gives that bring their own volume; what is set free takes that of what went in
}

// bulk of an equation.
const (
	noBulk uint8 = iota
	firstIsBulk
	restIsBulk
)

// kinds of equation, for the table in which each pair's is kept.
const (
	byWater uint8 = iota
	byTrace
	byAcid
	byProton
	bySite
	byMetal
	byAmine
	byBase
	byAmmonium
	byOxidant
	byAir
)

type equationOf struct {
	kind uint8
	a, c *species
}

// equationFor is the equation of a pair, worked out once.
func (b *Bench) equationFor(kind uint8, a, c *species, build func() *equation) *equation {
	key := equationOf{kind, a, c}
	q, ok := b.equations[key]
	if !ok {
		q = build()
		b.equations[key] = q
	}
	return q
}

// sum is the composition of some matter; known is false when a part has no
// formula.
func sumOf(known bool, of atoms, parts []share, sign float64) (atoms, bool) {
	for _, p := range parts {
		if p.sp.atoms == nil {
			known = false
			continue
		}
		of = of.plus(p.sp.atoms, sign*p.n)
	}
	return of, known
}

// balanced closes an equation with a by-product of the name and family given.
// What comes out more than goes in is an error of the equation, kept for the
// tests to find.
func (b *Bench) balanced(takes, gives, gas []share, name, family string) *equation {
	q := &equation{takes: takes, gives: gives, gas: gas}
	for _, g := range gives {
		if g.sp.family == "water" {
			q.named++ // stands first
		}
	}
	rest, known := sumOf(true, atoms{}, takes, 1)
	rest, known = sumOf(known, rest, gives, -1)
	rest, known = sumOf(known, rest, gas, -1)
	if !known {
		q.rest = b.variant(name, nil, family)
	} else {
		if neg := rest.negative(); neg != nil {
			b.wrong = append(b.wrong, q.String()+": "+neg.String()+" out of nothing")
			rest = slices.DeleteFunc(rest, func(x atom) bool { return x.n < 0 })
		}
		if len(rest) > 0 {
			q.rest = b.variant(name, rest, family)
		}
	}
	if q.rest != nil {
		for _, t := range takes {
			if m := t.sp.waste.ToxicMetal; m != "" {
				q.rest.own().waste.ToxicMetal = m
			}
		}
	}
	return q
}

// String writes an equation for an error.
func (q *equation) String() string {
	side := func(parts ...[]share) string {
		var out []string
		for _, ps := range parts {
			for _, p := range ps {
				out = append(out, quantity.FormatNumber(p.n)+" "+p.sp.name+" ("+p.sp.atoms.String()+")")
			}
		}
		return strings.Join(out, " + ")
	}
	return side(q.takes, q.brings) + " → " + side(q.gives, q.gas)
}

// variant is matter made on the bench, by name and composition: two by-products
// of one name need not hold the same.
func (b *Bench) variant(name string, of atoms, family string) *species {
	key := strings.ToLower(name)
	sp, taken := b.byName[key]
	if taken && sp.made && sp.atoms.same(of) {
		return sp
	}
	for _, v := range b.variants {
		if v.name == name && v.family == family && v.atoms.same(of) {
			return v
		}
	}
	sp = &species{figures: &figures{name: name, family: family, atoms: of, mw: of.mass(), cp: solidCp, made: true,
		bp: b.ask("the boiling point of ", name, ""), fp: b.ask("the melting point of ", name, ""), flash: b.ask("the flash point of ", name, "")}}
	if of == nil {
		sp.mw = 100 // mass alone is carried on
	}
	if !taken {
		b.byName[key] = sp
	}
	b.variants = append(b.variants, sp)
	return sp
}

// run lets an equation happen in a vessel, mmol of it.
func (b *Bench) run(v *vessel, q *equation, mmol float64, from string, o *outcome) {
	var in, out, ml float64
	for _, t := range q.takes {
		p := v.take(t.sp, t.n*mmol)
		in += p.g
		if p.sp != nil && p.sp.family != "water" {
			ml += p.ml
		}
	}
	for _, t := range q.brings {
		t.sp.in += t.n * mmol
		in += t.n * mmol * t.sp.mw / 1000
	}
	for i, g := range q.gives {
		p := made(g, mmol, from)
		out += p.g
		switch {
		case i == 0 && q.bulk == firstIsBulk && !g.sp.liquid:
			p.ml, ml = ml, 0
		case i >= q.named:
			p.ml = math.Min(p.ml, ml)
			ml -= p.ml
		}
		v.put(p)
	}
	for _, g := range q.gas {
		out += g.n * mmol * g.sp.mw / 1000
	}
	left := in - out
	if q.rest != nil {
		p := portion{sp: q.rest, mmol: mmol, g: mmol * q.rest.mw / 1000, from: "by-product"}
		if q.rest.atoms == nil {
			p.g = math.Max(0, left)
		}
		if q.bulk == restIsBulk {
			p.ml, p.from = ml, from
		}
		left -= p.g
		v.put(p)
	}
	if left > 1e-9*in {
		// what came with an impure reactant stays
		v.put(portion{sp: b.impurities(), g: left, from: "by-product"})
	}
	for _, g := range q.gas {
		if q.trace {
			b.gasOff(o, g.sp, g.n*mmol)
			continue
		}
		b.gasOut(v, g.sp, g.n*mmol, from, q.told, o)
	}
}

// made is a product of an equation.
func made(s share, mmol float64, from string) portion {
	p := portion{sp: s.sp, mmol: s.n * mmol, from: from}
	p.g = p.mmol * s.sp.mw / 1000
	if s.sp.liquid && s.sp.density > 0 {
		p.ml = p.g / s.sp.density
	}
	return p
}

// impurities is what an impure material holds besides its substance.
func (b *Bench) impurities() *species {
	const name = "impurities"
	if sp, ok := b.byName[name]; ok {
		return sp
	}
	return b.variant(name, nil, "other")
}

// relabel gives matter another name, as it stands.
func (b *Bench) relabel(v *vessel, p portion, name, family string) *species {
	got := v.take(p.sp, p.mmol)
	sp := b.variant(name, p.sp.atoms, family)
	if m := p.sp.waste.ToxicMetal; m != "" {
		sp.own().waste.ToxicMetal = m
	}
	if p.sp.atoms == nil {
		sp.own().mw = p.sp.mw
	}
	got.sp, got.from = sp, "by-product"
	if got.mmol > 0 || got.g > 0 {
		v.put(got)
	}
	return sp
}

// bring counts what comes onto the bench from the bottles; brought alone is
// what the text does not list.
func (b *Bench) bring(ps []portion) {
	for _, p := range ps {
		p.sp.in += p.mmol
	}
}

// gasOff lets a gas leave.
func (b *Bench) gasOff(o *outcome, sp *species, mmol float64) {
	sp.out += mmol
	o.addGas(sp.name, mmol)
}

// gasOut books what a reaction sets free: an acid gas goes to a base or into
// the water, a liquid stays, a gas below its boiling point stays until the
// liquid warms, the rest leaves.
func (b *Bench) gasOut(v *vessel, sp *species, mmol float64, from string, told bool, o *outcome) {
	if mmol <= 0 {
		return
	}
	if !sp.gas && (sp.bp.Known && sp.bp.V > 25 || sp.made) {
		v.put(made(share{sp, 1}, mmol, from))
		return
	}
	if sp.is("acid gas") && has(sp.name, "hydrogen chloride", "hydrogen bromide", "hydrogen iodide", "hydrogen fluoride") {
		for i := 0; i < len(v.contents) && mmol > trace; i++ {
			p := v.contents[i]
			if p.mmol <= trace || !p.sp.is("amine", "aromatic amine", "pyridine base", "heterocyclic amine") {
				continue
			}
			n := math.Min(mmol, p.mmol)
			v.put(portion{sp: sp, mmol: n, g: n * sp.mw / 1000, from: from})
			b.run(v, b.neutralisation(sp, p.sp), n, p.from, o)
			o.warm(b.classHeat("acid and base"), n)
			mmol -= n
			i = -1
		}
		if acid := b.acidOf(sp); acid != nil && v.aqueous() {
			// hydrogen halides dissolve in water up to about 10 mol/L (the
			// concentrated acid has 12)
			n := math.Min(mmol, math.Max(0, 10*v.volume()-v.acidMmol()))
			v.put(portion{sp: acid, mmol: n, g: n * acid.mw / 1000, from: from})
			mmol -= n
		}
	}
	switch q := v.find(sp); {
	case mmol <= trace || !sp.gas || !sp.bp.Known:
	case told:
		if v.holdsCold(sp) {
			v.dissolve(sp, mmol)
			return
		}
	case q != nil && q.condensed() && v.tC < sp.bp.V+3:
		// into its own liquid, which boils: what leaves does so with the heat
		v.put(portion{sp: sp, mmol: mmol, g: mmol * sp.mw / 1000, ml: q.ml / math.Max(q.mmol, trace) * mmol, from: q.from})
		return
	case v.tC < sp.bp.V && v.volume() > 0:
		v.dissolve(sp, mmol)
		return
	}
	b.gasOff(o, sp, mmol)
}

// acidOf is the acid that a hydrogen halide is in water.
func (b *Bench) acidOf(gas *species) *species {
	acid := b.lookup(strings.Replace(strings.Replace(gas.name, "hydrogen ", "hydro", 1), "ide", "ic acid", 1))
	if acid == nil || !acid.is("mineral acid") || !acid.atoms.same(gas.atoms) {
		return nil
	}
	return acid
}

// gasesOf is what hydrolysis of a mol sets free as gas, by species.
func (b *Bench) gasesOf(sp *species) []share {
	out := make([]share, 0, len(sp.gases)+1)
	for _, g := range sp.gases {
		if g.Moles <= 0 {
			continue
		}
		if g.Gas == "alkane" || g.Gas == "hydrocarbon" || g.Gas == "arene" {
			if h := b.hydrocarbon(sp); h != nil {
				out = append(out, share{h, g.Moles})
			}
			continue
		}
		s := b.lookup(g.Gas)
		if s == nil {
			continue
		}
		if s.name == "hydrogen" && sp.atoms.of(deuteriumEl) > 0 {
			s = b.variant("hydrogen", hydrogenDeuteride, "reactive gas")
			s.own().gas = true
		}
		out = append(out, share{s, g.Moles})
	}
	return out
}

// protons is how many mol of acid a mol of a strong base takes in full: what
// water gives it as hydroxide.
func (sp *species) acidTaken() float64 {
	switch {
	case sp.protons > 0:
		return sp.protons
	case sp.active == "metal" || sp.is("organoaluminium"):
		return math.Max(sp.water, 1)
	}
	return math.Max(sp.eq, 1)
}

// hydrocarbon is what a carbon–metal reagent gives with a proton: the
// compendium's entry of that composition where its name is known, else matter
// named after the reagent.
func (b *Bench) hydrocarbon(sp *species) *species {
	n := math.Max(sp.eq, 1)
	if sp.is("organoaluminium") && sp.active == "carbanion" {
		n = math.Max(sp.eq, 1)
	}
	if sp.atoms == nil {
		return b.lookup(b.conjugate(sp))
	}
	of := sp.atoms.group(n).times(1 / n)
	if of.of(carbonEl) == 0 {
		return nil
	}
	if h := b.lookup(b.conjugate(sp)); h != nil && h.atoms.same(of) {
		return h
	}
	h := b.variant("hydrocarbon of "+sp.name, of, "alkane")
	h.own().gas = of.of(carbonEl) <= 4
	return h
}

// freed is what water or acid sets free of a metal compound, out of what is
// there of each element: what it was made from, the product, the amine of an
// amide, the alcohol of an alkoxide, the hydrocarbon of a carbanion, the ligand
// of a complex.
func (b *Bench) freed(sp *species, there atoms) []share {
	var out []share
	take := func(f *species, most float64) bool {
		if f == nil || f == sp || f.atoms == nil || len(f.atoms) == 0 {
			return false
		}
		n := math.Min(there.fits(f.atoms), most)
		if n < 1 {
			return false
		}
		there = there.plus(f.atoms, -n)
		out = append(out, share{f, n})
		return true
	}
	if len(sp.frees) > 0 {
		for _, f := range sp.frees {
			if f.sp.atoms == nil || there.plus(f.sp.atoms, -f.n).negative() != nil {
				continue
			}
			there = there.plus(f.sp.atoms, -f.n)
			out = append(out, f)
		}
		return out
	}
	many := math.Inf(1)
	if given, made := b.madeHere(sp); made {
		p := b.productSpecies()
		if p != nil && p.atoms == nil && given && sp.atoms != nil && !b.consumed(sp) {
			// a product without a formula is what the last of its precursors holds
			k := math.Max(1, b.protonsOf(sp))
			p.own().atoms = sp.atoms.group(k)
			if p.mw == 0 {
				p.own().mw = p.atoms.mass()
			}
		}
		if c := p.carbons(); c > 0 && c*there.fits(p.atoms) >= 0.3*there.of(carbonEl) {
			take(p, many)
		}
		if given && len(out) == 0 {
			for _, r := range b.reactions {
				if !slices.ContainsFunc(r.gives, func(g share) bool { return g.sp == sp }) {
					continue
				}
				for _, c := range r.consumes {
					if c.sp.active == "" && len(out) == 0 && c.sp.atoms.of(carbonEl) > 0 && there.plus(c.sp.atoms, -1).of(carbonEl) < 0.5 {
						take(c.sp, 1)
					}
				}
			}
		}
		if given && b.fromWeinreb(sp) {
			a := b.lookup("N,O-dimethylhydroxylamine")
			if a == nil {
				a = b.variant("N,O-dimethylhydroxylamine", atomsOf("C2H7NO"), "amine")
			}
			take(a, 1)
		}
	}
	if rest, ok := strings.CutPrefix(sp.name, "adduct of "); ok && len(out) == 0 && sp.protons > 0 {
		of := slices.DeleteFunc(sp.atoms.group(sp.protons), func(x atom) bool { return x.el == boronEl })
		take(b.variant("alcohol from "+rest, of, "product"), 1)
	}
	if len(out) == 0 {
		switch {
		case sp.is("metal amide"):
			take(b.named1(sp, "amine of"), many)
		case sp.is("alkoxide"):
			take(b.named1(sp, "alcohol of"), many)
		case (sp.active == "carbanion" || sp.is("carbanion salt")) && len(sp.gases) == 0 || sp.active == "carbanion" && sp.gases[0].Moles == 0:
			take(b.hydrocarbon(sp), math.Max(1, sp.eq))
		}
	}
	if strings.HasSuffix(sp.name, " complex") {
		for _, n := range [...]string{"tetrahydrofuran", "dimethyl sulfide", "pyridine", "tert-butylamine", "trimethylamine", "diethyl ether", "ethylenediamine"} {
			if strings.Contains(sp.name, n) {
				take(b.lookup(n), 2)
			}
		}
	}
	if sp.active == "acyl" || sp.is("phosphorus halide", "sulfur halide", "drying oxide", "sulfonyl chloride", "anhydride") {
		take(b.acylAcid(sp), many)
		for _, n := range [...]string{"phosphoric acid", "sulfuric acid", "phosphorous acid"} {
			if f := b.lookup(n); f != nil && f.atoms != nil && there.of(carbonEl) == 0 && there.plus(f.atoms, -there.fits(f.atoms)).mass() < 0.01 {
				take(f, many)
			}
		}
	}
	return out
}

// fromWeinreb reports what a declared reaction makes of an N-methoxy-N-methyl
// amide: it gives its amine back with the acid.
func (b *Bench) fromWeinreb(sp *species) bool {
	for _, r := range b.reactions {
		if countOf(r.gives, sp) > 0 && slices.ContainsFunc(r.consumes, func(c share) bool { return has(c.sp.name, "n-methoxy-n-methyl", "weinreb") }) {
			return true
		}
	}
	return false
}

// acylAcid is the acid of an acyl or sulfonyl chloride or of an anhydride, by
// its name: benzoyl chloride → benzoic acid.
func (b *Bench) acylAcid(sp *species) *species {
	names := []string{sp.name}
	if sp.sub != nil {
		names = append(names, sp.sub.Names...)
	}
	for _, n := range names {
		n = strings.ToLower(n)
		acid := ""
		if stem, ok := strings.CutSuffix(n, " anhydride"); ok {
			acid = stem + " acid"
		} else if i := strings.LastIndex(n, "yl "); i > 0 && has(n[i:], "chloride", "bromide", "fluoride", "iodide") {
			acid = n[:i] + "ic acid"
		}
		if acid != "" {
			if f := b.lookup(acid); f != nil && f.atoms != nil {
				return f
			}
		}
	}
	return nil
}

// named1 reads the parent of a metal amide or alkoxide from its name, if the
// compendium knows it and the composition agrees.
func (b *Bench) named1(sp *species, what string) *species {
	of := sp.atoms.group(math.Max(1, b.protonsOf(sp)))
	names := []string{sp.name}
	if sp.sub != nil {
		names = append(names, sp.sub.Names...)
	}
	for _, n := range names {
		n = strings.ToLower(n)
		for _, m := range [...]string{"lithium ", "sodium ", "potassium ", "magnesium ", "caesium "} {
			n = strings.TrimPrefix(n, m)
		}
		var tries []string
		switch what {
		case "amine of":
			for _, e := range [...][2]string{{"amide", "amine"}, {"idide", "idine"}, {"azide", "azane"}} {
				if stem, ok := strings.CutSuffix(n, e[0]); ok {
					tries = append(tries, stem+e[1])
				}
			}
			if n == "amide" {
				tries = append(tries, "ammonia")
			}
			if strings.Contains(n, "bis(trimethylsilyl)") || strings.Contains(n, "hexamethyldisilaz") {
				tries = append(tries, "hexamethyldisilazane")
			}
		case "alcohol of":
			if stem, ok := strings.CutSuffix(n, "oxide"); ok {
				tries = append(tries, stem+"anol", stem+"yl alcohol", stem+"ol", "2-"+stem+"anol")
			}
		}
		for _, t := range tries {
			f := b.lookup(t)
			if f == nil || f.atoms == nil {
				continue
			}
			if k := of.fits(f.atoms); k >= 1 && of.same(f.atoms.times(k)) {
				return f
			}
		}
	}
	if of.of(carbonEl) == 0 {
		return nil
	}
	return b.variant(what+" "+sp.name, of, map[string]string{"amine of": "amine", "alcohol of": "alcohol"}[what])
}

// madeHere reports matter that a reaction of this text makes: given by a
// declared reaction, or made on the bench.
func (b *Bench) madeHere(sp *species) (given, made bool) {
	for _, r := range b.reactions {
		if slices.ContainsFunc(r.gives, func(g share) bool { return g.sp == sp }) {
			return true, true
		}
	}
	return false, sp.made
}

// consumed reports matter that a declared reaction goes on with.
func (b *Bench) consumed(sp *species) bool {
	return slices.ContainsFunc(b.reactions, func(r *reaction) bool { return countOf(r.consumes, sp) > 0 })
}

// productSpecies is the product of the text as a species; nil without one.
func (b *Bench) productSpecies() *species {
	if b.p.Product == nil {
		return nil
	}
	if b.productMade == nil {
		mw := 0.0
		var of atoms
		if b.p.Product.Formula.Is() {
			of = atomsOf(b.p.Product.Formula.S)
			mw = of.mass()
		}
		sp := b.madeSpecies(b.p.Product.Name.S, mw, "product")
		if sp.atoms == nil && of != nil {
			sp.own().atoms = of
		}
		b.productMade = sp
	}
	return b.productMade
}

// carbons of a mol; none of nothing.
func (sp *species) carbons() float64 {
	if sp == nil {
		return 0
	}
	return sp.atoms.of(carbonEl)
}

// fates of matter in water.
const (
	fateUnknown uint8 = iota
	fateStays
	fateWater // water sets it free or destroys it
	fateAcid  // acid alone sets it free: a carboxylate, a phenoxide
)

// stable families: a salt of an acid, which water dissolves and no more.
func saltLike(name string) bool {
	n := strings.ToLower(name)
	if has(n, "aluminate", "zincate", "enolate", "malonate", "acetoacetate", "alcoholate", "borinate", "cuprate", "titanate") {
		return false
	}
	return has(n, "oate", "acetate", "carboxylate", "sulfonate", "sulfinate", "phenoxide", "phenolate", "thiolate", "carbonate", "phosphate", "borate", "carbamate", "tartrate", "citrate", "formate", "imidate")
}

// fateOf says what water or acid does to a species, worked out once for a run.
func (b *Bench) fateOf(sp *species) uint8 {
	if sp.fate != fateUnknown {
		return sp.fate
	}
	f := fateStays
	switch {
	case b.isProduct(sp), sp.gas, sp.is("hydroxide", "carbonate", "drying salt", "molecular sieve", "mineral acid", "oxidising acid", "sulfonic acid"):
	case sp.is("alkoxide") && has(sp.name, "phenoxide", "phenolate", "naphthoxide"):
		f = fateAcid
	case sp.takesWater() || sp.live && sp.is("copper salt", "cuprate"):
		f = fateWater
	case sp.acidOnly:
		f = fateAcid
	case sp.protons > 0:
		f = fateWater
	case sp.is("salt", "carboxylic salt", "ammonium salt", "low-valent complex", "precatalyst", "metal powder", "borohydride"):
	case sp.is("alkoxide", "carbanion salt", "metal amide"):
		f = fateWater
	case sp.atoms.of(carbonEl) > 0 && !sp.entry:
		if _, made := b.madeHere(sp); made {
			if metals, _ := sp.atoms.charge(); metals > 0 {
				f = fateWater
				if saltLike(sp.name) {
					f = fateAcid
				}
			} else if p := b.productSpecies(); p != nil && p.atoms.of(hydrogenEl)-sp.atoms.of(hydrogenEl) == 1 && p.atoms.same(sp.atoms.plus(atoms{{hydrogenEl, 1}}, 1)) {
				f = fateWater // the product less a proton: its anion by name
			}
		}
	}
	if f == fateWater && !sp.takesWater() {
		// what is set free may be an acid: then water alone does not do it
		if p := b.productSpecies(); p != nil && has(p.name, " acid") && sp.atoms.fits(p.atoms.plus(atoms{{hydrogenEl, 1}}, -1)) >= 1 {
			if _, made := b.madeHere(sp); made {
				f = fateAcid
			}
		}
	}
	sp.fate = f
	return f
}

// protonsOf is how many protons set a mol free.
func (b *Bench) protonsOf(sp *species) float64 {
	switch {
	case sp.protons > 0:
		return sp.protons
	case sp.water > 0:
		return sp.water
	}
	metals, halide := sp.atoms.charge()
	return math.Max(1, metals-halide)
}

// hydrolysis is the equation of a species with water; a trace leaves its metal
// as salts, bulk water as the hydroxide.
func (b *Bench) hydrolysis(sp, water *species, kind uint8) *equation {
	return b.equationFor(kind, sp, water, func() *equation {
		w := b.protonsOf(sp)
		if sp.takesWater() || sp.active != "" {
			w = math.Max(sp.water, 0.01)
			if sp.water == 0 {
				w = math.Max(1, sp.eq)
			}
		}
		gas := b.gasesOf(sp)
		there := sp.atoms.plus(water.atoms, w)
		for _, g := range gas {
			there = there.plus(g.sp.atoms, -g.n)
		}
		var gives []share
		if sp.atoms != nil {
			gives = b.freed(sp, there)
			for _, g := range gives {
				there = there.plus(g.sp.atoms, -g.n)
			}
		}
		base := strongBaseKind(sp.active) || sp.is("alkoxide", "carbanion salt", "metal amide") || sp.protons > 0 || !sp.takesWater()
		if metals, _ := there.charge(); kind == byWater && base && metals > 0 {
			for _, m := range [...]struct{ symbol, base string }{{"Li", "lithium hydroxide"}, {"Na", "sodium hydroxide"}, {"K", "potassium hydroxide"}} {
				n := there.of(element(m.symbol))
				h := b.lookup(m.base)
				if n <= 0 || math.Abs(n-metals) > 1e-6 || there.of(boronEl) > 0 || h == nil {
					continue
				}
				if left := there.plus(h.atoms, -n); left.negative() == nil {
					gives = append(gives, share{h, n})
				}
			}
		}
		name, family := "salts of "+sp.name, "salt"
		switch {
		case organic(there):
			name, family = "hydrolysis product of "+sp.name, "product" // a siloxane, an amide's acid
		case sp.made:
			name = "salts of the quench"
		}
		q := b.balanced([]share{{sp, 1}, {water, w}}, gives, gas, name, family)
		q.trace = kind == byTrace
		if q.rest != nil && base {
			metals, halide := q.rest.atoms.charge()
			q.rest.own().bases = metals - halide
		}
		return q
	})
}

// organic reports matter of carbon without a metal or a halogen.
func organic(a atoms) bool {
	for _, x := range a {
		if x.n > 1e-6 && !organicEl[x.el] {
			return false
		}
	}
	return a.of(carbonEl) > 0.5
}

// liberation is the equation of a species with an acid where water has no part.
func (b *Bench) liberation(sp, acid *species) *equation {
	return b.equationFor(byAcid, sp, acid, func() *equation {
		k := b.protonsOf(sp)
		if sp.bases > 0 {
			k = sp.bases
		}
		n := k / math.Max(1, acid.protic)
		gas := b.gasesOf(sp)
		there := sp.atoms.plus(acid.atoms, n)
		for _, g := range gas {
			there = there.plus(g.sp.atoms, -g.n)
		}
		var gives []share
		if sp.bases > 0 {
			// a basic salt gives its hydroxide as water
			if w := b.lookup("water"); w != nil && there.of(carbonEl) == acid.atoms.of(carbonEl)*n {
				if m := math.Min(there.fits(w.atoms), k); m >= 1 && sp.atoms.of(oxygenEl) >= m {
					gives = []share{{w, m}}
				}
			}
		} else if sp.atoms != nil {
			gives = b.freed(sp, there)
		}
		return b.balanced([]share{{sp, 1}, {acid, n}}, gives, gas, b.saltName(acid), b.saltFamily(acid))
	})
}

func (b *Bench) saltName(acid *species) string {
	if acid.is("carboxylic acid") || acid.weakAcid() {
		return "salt of " + acid.name
	}
	return "neutral salts"
}

func (b *Bench) saltFamily(acid *species) string {
	if acid.is("carboxylic acid") {
		return "carboxylic salt"
	}
	return "salt"
}

// neutralisation is the equation of an acid with a base, per mol of base.
func (b *Bench) neutralisation(a, p *species) *equation {
	return b.equationFor(byBase, a, p, func() *equation {
		h := math.Max(1, a.protic)
		water := b.lookup("water")
		switch {
		case p.is("hydroxide") && p.atoms.of(oxygenEl) > 0:
			k := p.basePower()
			q := b.balanced([]share{{p, 1}, {a, k / h}}, []share{{water, k}}, nil, b.saltName(a), b.saltFamily(a))
			b.remember(q, a)
			return q
		case p.is("carbonate"):
			k := p.basePower()
			q := b.balanced([]share{{p, 1}, {a, k / h}}, []share{{water, 1}}, []share{{b.lookup("carbon dioxide"), 1}}, b.saltName(a), b.saltFamily(a))
			b.remember(q, a)
			return q
		case p.is("cyanide"):
			return b.balanced([]share{{p, 1}, {a, 1 / h}}, nil, []share{{b.lookup("hydrogen cyanide"), 1}}, "neutral salts", "salt")
		case p.is("sulfide"):
			return b.balanced([]share{{p, 1}, {a, 2 / h}}, nil, []share{{b.lookup("hydrogen sulfide"), 1}}, "neutral salts", "salt")
		case p.ofAcid != nil:
			metals, _ := p.atoms.charge()
			k := math.Max(1, metals)
			name, family := "neutral salts", "salt"
			if p.ofAmine != nil {
				name, family = "ammonium salt of "+p.ofAmine.name, "ammonium salt"
			}
			q := b.balanced([]share{{p, 1}, {a, k / h}}, []share{{p.ofAcid, p.atoms.plus(a.atoms, k/h).fits(p.ofAcid.atoms)}}, nil, name, family)
			if q.rest != nil && p.ofAmine != nil {
				q.rest.own().ofAmine = p.ofAmine
			}
			return q
		}
		q := b.balanced([]share{{p, 1}, {a, 1 / h}}, nil, nil, "ammonium salt of "+p.name, "ammonium salt")
		if q.rest != nil {
			q.rest.own().ofAmine = p
		}
		b.remember(q, a)
		return q
	})
}

// remember lets the salt of a carboxylic acid or a phenol give its acid back.
func (b *Bench) remember(q *equation, a *species) {
	if q.rest != nil && (a.is("carboxylic acid") || a.weakAcid()) {
		q.rest.own().ofAcid = a
	}
}

// basePower is how many protons a hydroxide or carbonate takes: one for each
// charge of its metal.
func (sp *species) basePower() float64 {
	if metals, _ := sp.atoms.charge(); metals > 0 {
		return metals
	}
	if sp.is("carbonate") && !has(sp.name, "bicarbonate", "hydrogen") {
		return 2
	}
	return 1
}
