package bench

import (
	"math"
)

func (v *vessel) acidic() bool {
	for _, p := range v.contents {
		if p.mmol > trace && (p.sp.strongAcid() || p.sp.is("carboxylic acid") && v.aqueous()) {
			return true
		}
	}
	return false
}

func (v *vessel) acidMmol() float64 {
	n := 0.0
	for _, p := range v.contents {
		if p.sp.strongAcid() {
			n += p.mmol * math.Max(1, p.sp.protic)
		}
	}
	return n
}

func (v *vessel) basic() bool {
	for _, p := range v.contents {
		if p.mmol > trace && p.sp.is("hydroxide", "carbonate", "alkoxide") {
			return true
		}
	}
	return false
}

// neutralise sets acids against bases: carbon dioxide from carbonates, heat
// from hydroxides and the basic salts that a quench leaves, hydrogen cyanide and
// the like from their salts; and sets free what acid alone frees.
func (b *Bench) neutralise(v *vessel, o *outcome) {
	b.neutraliseWith(v, o, true)
	b.neutraliseWith(v, o, false)
}

// neutraliseWith does it for the strong acids, which take the bases first, or for
// the others.
func (b *Bench) neutraliseWith(v *vessel, o *outcome, strong bool) {
	if strong && !v.hasFamily("mineral acid", "oxidising acid", "sulfonic acid") || !strong && !v.hasFamily("carboxylic acid", "ammonium salt", "hydroxide") {
		return
	}
	for a := range v.each {
		if a.sp.strongAcid() != strong {
			continue
		}
		weak := a.sp.is("carboxylic acid") && a.sp.protic > 0 && (v.aqueous() || v.hasFamily("hydroxide"))
		ammonium := a.sp.is("ammonium salt")
		// phenols and thiols (pKa 10 and 10.5) are acids to a hydroxide in water
		phenol := !strong && a.sp.weakAcid() && v.aqueous()
		if !strong && !weak && !ammonium && !phenol && !a.sp.is("carboxylic acid") || a.mmol <= trace {
			continue
		}
		for p := range v.each {
			if p.mmol <= trace || p.sp == a.sp {
				continue
			}
			have := v.find(a.sp)
			if have == nil || have.mmol <= trace {
				break
			}
			acid := a.sp.strongAcid() || weak
			var q *equation
			heat, what, from := "acid and base", "acid + base", "neutralisation"
			switch {
			case ammonium:
				switch {
				case p.sp.is("hydroxide") && v.aqueous() || p.sp.bases > 0 && v.aqueous():
					q, what = b.ammoniaFreed(a.sp, p.sp), "ammonium + base"
					heat = ""
				case b.fateOf(p.sp) == fateWater && !v.aqueous() && (p.sp.active == "" || p.sp.active == "alkoxide"):
					q, what, heat = b.liberation(p.sp, a.sp), "freed "+p.sp.name, "alkoxide and ammonium"
					if p.sp.is("carbanion salt") || has(p.sp.name, "enolate") {
						heat = "amide base and C-H acid"
					}
				}
			case p.sp.ofAcid != nil && a.sp.strongAcid():
				q, what, heat = b.neutralisation(a.sp, p.sp), "freed "+p.sp.ofAcid.name, ""
			case acid && p.sp.is("hydroxide"):
				q = b.neutralisation(a.sp, p.sp)
			case phenol:
				if p.sp.is("hydroxide") && p.sp.atoms.of(oxygenEl) > 0 {
					q, heat, what = b.neutralisation(a.sp, p.sp), "phenol and base", "phenol + base"
				}
			case acid && p.sp.is("carbonate"):
				q, heat, what = b.neutralisation(a.sp, p.sp), "acid and carbonate", "acid + carbonate"
			case acid && (p.sp.is("amine", "aromatic amine", "pyridine base") || p.sp.name == "ammonia"):
				if weak && p.sp.is("aromatic amine") {
					break // anilinium (pKa 4.6) is as strong an acid as benzoic (4.2)
				}
				q, what, from = b.neutralisation(a.sp, p.sp), "acid + amine", p.from
			case acid && (p.sp.is("cyanide") || p.sp.is("sulfide")) && v.aqueous():
				q, heat, what = b.neutralisation(a.sp, p.sp), "", "acid + "+p.sp.family
			case a.sp.strongAcid() && p.sp.bases > 0:
				q = b.liberation(p.sp, a.sp)
			case a.sp.strongAcid() && b.fateOf(p.sp) == fateAcid, b.fateOf(p.sp) == fateWater && !v.aqueous() && !strongBaseKind(p.sp.active) && p.sp.active != "acyl" && p.sp.active != "water-reactive halide" && len(p.sp.frees)+int(p.sp.atoms.of(carbonEl)) > 0 && b.basic(p.sp):
				q, what, heat = b.liberation(p.sp, a.sp), "freed "+p.sp.name, ""
				if b.givesProduct(q) {
					from = "product"
				}
			}
			if q == nil {
				continue
			}
			per, n := 1.0, p.mmol
			for _, t := range q.takes {
				if t.sp == a.sp {
					per = t.n
				}
			}
			n = math.Min(n, have.mmol/per)
			if n <= trace {
				continue
			}
			b.run(v, q, n, from, o)
			if heat != "" {
				k := n * per * math.Max(1, a.sp.protic)
				if heat == "acid and carbonate" {
					k = n
				}
				o.warm(b.classHeat(heat), k)
			}
			o.did(what)
		}
	}
}

// weakAcid reports a phenol or a thiol.
func (sp *species) weakAcid() bool {
	return sp.protic > 0 && (sp.proticKind == "phenol" || sp.proticKind == "thiol") && !sp.is("carboxylic acid", "mineral acid")
}

// basic reports a metal compound that acid sets free or turns into its salt.
func (b *Bench) basic(sp *species) bool {
	metals, _ := sp.atoms.charge()
	return metals > 0 || sp.protons > 0
}

// ammoniaFreed is the equation of an ammonium salt with a base, per mol of
// base. An ammonium salt is acid enough for a hydroxide; the ammonia stays in
// the water, as part of the salts.
func (b *Bench) ammoniaFreed(a, p *species) *equation {
	return b.equationFor(byAmmonium, a, p, func() *equation {
		k := p.basePower()
		if p.bases > 0 {
			k = p.bases
		}
		gives := []share(nil)
		there := p.atoms.plus(a.atoms, k)
		if a.ofAmine != nil && a.ofAmine.atoms != nil {
			gives = append(gives, share{a.ofAmine, k})
			there = there.plus(a.ofAmine.atoms, -k)
		}
		if w := b.lookup("water"); w != nil && p.atoms.of(carbonEl) == 0 && p.atoms.of(oxygenEl) >= k && there.plus(w.atoms, -k).negative() == nil {
			gives = append(gives, share{w, k})
		}
		return b.balanced([]share{{p, 1}, {a, k}}, gives, nil, "neutral salts", "salt")
	})
}
