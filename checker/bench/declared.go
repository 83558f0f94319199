package bench

import (
	"math"
	"slices"
	"strings"

	"ketyl/checker/procedure"
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
	done            map[*vessel]float64 // extent, mmol
	left            map[*vessel]bool
	met             bool // its partners were in one vessel at some time
}

type share struct {
	sp *species
	n  float64
}

func (b *Bench) declaredReactions(v *vessel, o *outcome) {
	for _, r := range b.reactions {
		if r.in != "" && !strings.EqualFold(r.in, v.name) || len(r.consumes) == 0 {
			continue
		}
		if b.waits(r, v) {
			continue
		}
		extent := math.Inf(1)
		for _, c := range r.consumes {
			p := v.find(c.sp)
			if p == nil || p.mmol <= 10*trace || p.maybe {
				extent = 0
				break
			}
			extent = math.Min(extent, p.mmol/c.n)
		}
		if extent <= 10*trace || math.IsInf(extent, 1) {
			continue
		}
		conv := b.conversion(r)
		live := false
		for _, c := range r.consumes {
			live = live || c.sp.live || c.sp.active != ""
			p := v.find(c.sp)
			limiting := p.mmol/c.n <= extent*(1+1e-9)
			n := extent * c.n
			if limiting && !c.sp.live {
				// the unreacted share stays, and may turn up in the streams
				got := v.take(c.sp, n)
				if rest := 1 - conv; rest > 0 {
					v.put(portion{sp: c.sp, mmol: got.mmol * rest, g: got.g * rest, ml: got.ml * rest, from: got.from, maybe: true})
				}
				continue
			}
			if limiting {
				b.spend(v, c.sp, n, o)
				continue
			}
			b.spend(v, c.sp, n, o)
		}
		for _, g := range r.gives {
			n := extent * g.n
			if g.sp.gas && !v.holdsCold(g.sp) {
				o.addGas(g.sp.name, n)
				continue
			}
			if g.sp.gas {
				v.dissolve(g.sp, n)
				continue
			}
			ml := 0.0
			if g.sp.liquid && g.sp.density > 0 {
				ml = n * g.sp.mw / 1000 / g.sp.density
			}
			v.put(portion{sp: g.sp, mmol: n, g: n * g.sp.mw / 1000, ml: ml, from: "reaction"})
		}
		if r.gas != "" && !slices.ContainsFunc(r.gives, func(g share) bool { return g.sp.gas }) {
			o.addGas(r.gas, extent) // a gas that the equation gives is counted there
		}
		switch {
		case r.heat.Known:
			o.warm(r.heat, extent)
		case live:
			o.warm(b.classHeat(b.heatKind(r)), extent)
		}
		r.done[v] += extent
		o.did("declared")
	}
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
			if s.Verb.Group != procedure.Transfer || len(s.To) == 0 || !strings.EqualFold(s.To[0].S, v.name) {
				continue
			}
			for _, o := range s.Object {
				if strings.EqualFold(o.S, m.name) {
					return true
				}
			}
		}
	}
	return false
}

// heatKind picks the class heat of a declared reaction that states none.
func (b *Bench) heatKind(r *reaction) string {
	var hydride, carbanion, electro, metal, halide, acyl bool
	amide := true
	for _, c := range r.consumes {
		amide = amide && c.sp.active != "carbanion"
		switch {
		case c.sp.active == "hydride" || c.sp.active == "borane":
			hydride = true
		case c.sp.active == "carbanion" || c.sp.active == "amide base":
			carbanion = true
		case c.sp.active == "metal":
			metal = true
		}
		acyl = acyl || c.sp.active == "acyl"
		electro = electro || c.sp.electro > 0
		halide = halide || c.sp.is("alkyl halide", "aryl halide")
	}
	switch {
	case metal && halide:
		return "metal and halide"
	case hydride && electro:
		return "hydride and carbonyl"
	case carbanion && electro && amide:
		return "amide base and C-H acid"
	case carbanion && electro:
		return "carbanion and carbonyl"
	case carbanion:
		return "carbanion and proton"
	case acyl:
		return "acyl and nucleophile"
	}
	return "declared"
}
