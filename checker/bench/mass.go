package bench

import (
	"slices"

	"ketyl/checker/procedure"
)

// hydrogenChloride is the molar mass, g/mol, by which dissolved acid gas is
// weighed (IUPAC 2021, abridged).
const hydrogenChloride = 36.46

// grams is the mass of what a vessel holds, g, with the acid gas in its water.
func (v *vessel) grams() float64 {
	g := v.acid * hydrogenChloride / 1000
	for _, p := range v.contents {
		g += p.g
	}
	return g
}

// gasMass is the mass of the gas that left, g; a gas without molar mass weighs
// nothing here, and stays with the salts.
func (b *Bench) gasMass(o *outcome) float64 {
	g := 0.0
	for _, name := range o.gasOrder {
		if sp := b.lookup(name); sp != nil {
			g += o.gas[name] * sp.mw / 1000
		}
	}
	return g
}

// balance closes the mass of a round of reactions. What went in and did not
// come out as gas is by-product that no equation names, and stays as salts;
// where the equations give more than went in, because unreacted starting
// material is carried along beside the full amount of product, the products
// weigh so much less. Amounts of substance stay as they are.
func (b *Bench) balance(v *vessel, before float64, o *outcome) {
	if len(o.what) == 0 {
		return
	}
	lost := before - v.grams() - b.gasMass(o)
	switch least := 1e-6 * before; {
	case lost > least:
		salt := b.madeSpecies("neutral salts", 58, "salt")
		v.put(portion{sp: salt, mmol: lost / salt.mw * 1000, g: lost, from: "by-product"})
	case lost < -least:
		made := 0.0
		is := func(p portion) bool {
			return p.sp.made || slices.Contains([]string{"reaction", "product", "neutralisation", "by-product"}, p.from)
		}
		for _, p := range v.contents {
			if is(p) {
				made += p.g
			}
		}
		if made <= -lost {
			return
		}
		for i := range v.contents {
			if is(v.contents[i]) {
				v.contents[i].g *= (made + lost) / made
			}
		}
	}
}

// soak gives the water that a layer lost in a drying step to its agent; what
// dries in air or vacuum leaves the bench.
func (b *Bench) soak(s *procedure.Step, g float64) {
	if len(s.With) > 0 {
		if d := b.vesselNamed(s.With[0].S); d != nil && d.isDesiccant && len(d.contents) > 0 {
			d.contents[0].g += g
			return
		}
	}
	b.aired += g
}
