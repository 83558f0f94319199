package bench

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"ketyl/checker/substance"
)

// lewisMetals are the elements whose halides take up ethers, carbonyl compounds
// and amines with great heat.
var lewisMetals = func() (m [128]bool) {
	for _, s := range []string{"B", "Al", "Ga", "Ti", "Zr", "Hf", "Sn", "Sb", "Nb", "Ta", "V", "Fe"} {
		m[element(s)] = true
	}
	return m
}()

// lewisAcid reports a halide with no donor on it yet: an etherate or another
// complex holds carbon.
func (sp *species) lewisAcid() bool {
	if !sp.is("Lewis acid", "reactive gas") || sp.atoms.of(carbonEl) > 0 || sp.atoms.of(hydrogenEl) > 0 {
		return false
	}
	metal, halide := false, false
	for _, x := range sp.atoms {
		metal = metal || lewisMetals[x.el]
		halide = halide || halogens[x.el]
	}
	return metal && halide
}

// complexHeat is the heat that the Lewis acids and the lithium alkyls among some
// matter give with its donors, the strongest first, one to one, kJ.
func (b *Bench) complexHeat(ps []portion) float64 {
	acid, lithium := 0.0, 0.0
	for i := range ps {
		switch sp := ps[i].sp; {
		case sp.family == "organolithium":
			if slices.Contains(b.ref.lithiumAlkyls, sp.name) {
				lithium += ps[i].mmol
			}
		case sp.lewisAcid():
			acid += ps[i].mmol
		}
	}
	kJ := 0.0
	if acid > trace {
		kJ = takenUp(ps, acid, func(sp *species) float64 { return b.ref.complexes[sp.family] })
	}
	if lithium > trace {
		kJ += takenUp(ps, lithium, func(sp *species) float64 { return b.ref.lithiumDonors[sp.name] })
	}
	return kJ
}

// takenUp is the heat, kJ, of an amount of acceptor, mmol, with the donors among
// some matter; heat is that of one donor, kJ/mol, 0 for what is none.
func takenUp(ps []portion, acceptor float64, heat func(*species) float64) float64 {
	type donor struct{ heat, mmol float64 }
	var donors []donor
	for _, p := range ps {
		if h := heat(p.sp); h > 0 && p.mmol > trace {
			donors = append(donors, donor{h, p.mmol})
		}
	}
	slices.SortFunc(donors, func(x, y donor) int { return cmp.Compare(y.heat, x.heat) })
	kJ := 0.0
	for _, d := range donors {
		n := math.Min(acceptor, d.mmol)
		kJ += n * d.heat / 1000
		if acceptor -= n; acceptor <= 0 {
			break
		}
	}
	return kJ
}

// complexation books the heat of Lewis acids and lithium alkyls with donors that
// have come to them.
func (b *Bench) complexation(v *vessel, o *outcome) {
	if kJ := b.complexHeat(v.contents); kJ > v.complexed+1e-9 {
		o.kJ += kJ - v.complexed
		o.did("complexed")
		v.complexed = kJ
	}
}

var palladiumEl, nickelEl = element("Pd"), element("Ni")

// reduceMetal lets a palladium(II) or nickel(II) precatalyst become the
// metal(0) complex that the reaction runs on, and that air takes: at once with
// an organometallic, a hydride, zinc or hydrazine, and with a phosphine as it is
// warmed (common practice); a precatalyst that a declared reaction takes is left
// to it.
func (b *Bench) reduceMetal(v *vessel, o *outcome) {
	if v.volume() <= 0 || !v.hasFamily("precatalyst") {
		return
	}
	strong, phosphine := false, false
	for _, p := range v.contents {
		if p.mmol <= trace {
			continue
		}
		strong = strong || p.sp.active == "carbanion" || p.sp.active == "hydride" || p.sp.is("zinc metal") || has(p.sp.name, "hydrazine", "formate")
		phosphine = phosphine || p.sp.is("phosphine")
	}
	if !strong && !(phosphine && v.tC >= 40) {
		return
	}
	for p := range v.each {
		metal := ""
		switch {
		case p.mmol <= trace || b.consumed(p.sp) || !p.sp.is("precatalyst") || p.sp.sub == nil || has(p.sp.name, "(0)", "on carbon"):
		case p.sp.atoms.of(palladiumEl) > 0:
			metal = "palladium(0)"
		case p.sp.atoms.of(nickelEl) > 0:
			metal = "nickel(0)"
		}
		if metal == "" {
			continue
		}
		sp := b.lowValent(metal+" from "+p.sp.name, p.sp)
		got := v.take(p.sp, p.mmol)
		got.sp = sp
		v.put(got)
		o.did("reduced " + p.sp.name)
	}
}

// lowValent is the active complex that a precatalyst becomes, judged by its
// family; its composition stays that of what it came from, for the ligands do.
func (b *Bench) lowValent(name string, from *species) *species {
	if sp, ok := b.byName[strings.ToLower(name)]; ok {
		return sp
	}
	sp := b.species(&substance.Substance{Name: name, Family: "low-valent complex", Formula: from.sub.Formula, Declared: true})
	sp.own().made = true
	b.byName[strings.ToLower(name)] = sp
	return sp
}

// oxygenTakes lets the oxygen that is shut in over a live reagent take its
// share, mol for mol, after the water and before anything that is added later:
// peroxide, then alkoxide, stays. What comes in through an open neck has no
// amount, and is judged by the barrier instead.
func (b *Bench) oxygenTakes() {
	for _, v := range b.vessels {
		if v.gone || v.discarded || !v.closed() || v.conn == connBox || v.liveEq() == 0 || v.volume() <= 0 || v.oxygenAsk != "" {
			continue
		}
		if v.gases.O2 > v.oxygenSeen {
			v.oxygenSpent = 0
		}
		v.oxygenSeen = v.gases.O2
		h := v.headspace()
		if !h.Known {
			continue
		}
		n := GasMmol(h.V, v.gases.O2*v.headMbar(), v.tC) - v.oxygenSpent
		if n < 1e-3 {
			continue
		}
		for _, p := range v.live() {
			if s := p.sp.attacked.oxygen; s != "violent" && s != "fast" || n <= trace {
				continue
			}
			oxygen := b.lookup("oxygen")
			if oxygen == nil {
				return
			}
			q := b.equationFor(byAir, p.sp, oxygen, func() *equation {
				q := b.balanced([]share{{p.sp, 1}, {oxygen, 1}}, nil, nil, "oxidation products of "+p.sp.name, "salt")
				if q.rest != nil {
					metals, halide := p.sp.atoms.charge()
					q.rest.own().bases = metals - halide
				}
				return q
			})
			x := math.Min(n, p.mmol)
			gas := portion{sp: oxygen, mmol: x, g: x * oxygen.mw / 1000, from: "air"}
			b.bring([]portion{gas})
			v.put(gas)
			var o outcome
			b.run(v, q, x, p.from, &o)
			v.oxygenSpent += x
			n -= x
		}
	}
}
