package bench

import "ketyl/checker/procedure"

// grams is the mass of what a vessel holds, g.
func (v *vessel) grams() float64 {
	g := 0.0
	for _, p := range v.contents {
		g += p.g
	}
	return g
}

// soak gives the water that a layer lost in a drying step to its agent; what
// dries in air or vacuum leaves the bench.
func (b *Bench) soak(s *procedure.Step, water portion) {
	if len(s.With) > 0 {
		if d := b.vesselNamed(s.With[0].S); d != nil && d.isDesiccant && len(d.contents) > 0 {
			d.put(portion{sp: b.variant("water in "+d.name, water.sp.atoms, "salt"), mmol: water.mmol, g: water.g, from: water.from})
			return
		}
	}
	water.sp.out += water.mmol
	b.aired += water.g
}
