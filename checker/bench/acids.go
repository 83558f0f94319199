package bench

import (
	"math"
	"slices"
	"strings"
)

func (v *vessel) acidic() bool {
	if v.acid > trace {
		return true
	}
	for _, p := range v.contents {
		if p.mmol > trace && (p.sp.strongAcid() || p.sp.is("carboxylic acid") && v.aqueous()) {
			return true
		}
	}
	return false
}

func (v *vessel) acidMmol() float64 {
	n := v.acid
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
// from hydroxides, hydrogen cyanide and the like from their salts.
func (b *Bench) neutralise(v *vessel, o *outcome) {
	if v.acid <= trace && !v.hasFamily("mineral acid", "oxidising acid", "sulfonic acid", "carboxylic acid", "ammonium salt") {
		return
	}
	for _, a := range slices.Clone(v.contents) {
		weak := a.sp.is("carboxylic acid") && a.sp.protic > 0 && (v.aqueous() || v.hasFamily("hydroxide"))
		if !a.sp.strongAcid() && !weak || a.mmol <= trace {
			continue
		}
		for _, p := range slices.Clone(v.contents) {
			if p.mmol <= trace || p.sp == a.sp {
				continue
			}
			if p.sp.ofAcid != nil && a.sp.strongAcid() {
				// a strong acid sets a carboxylic acid free from its salt
				have := v.find(a.sp)
				if have == nil {
					break
				}
				n := math.Min(have.mmol*math.Max(1, a.sp.protic), p.mmol)
				v.take(a.sp, n/math.Max(1, a.sp.protic))
				got := v.take(p.sp, n)
				acid := p.sp.ofAcid
				ml := 0.0
				if acid.liquid && acid.density > 0 {
					ml = n * acid.mw / 1000 / acid.density
				}
				v.put(portion{sp: acid, mmol: n, g: n * acid.mw / 1000, ml: ml, from: got.from})
				b.saltWater(v, n)
				o.did("freed " + acid.name)
				continue
			}
			have := v.find(a.sp)
			if have == nil || have.mmol <= trace {
				break
			}
			h := math.Max(1, a.sp.protic)
			switch {
			case p.sp.is("hydroxide"):
				n := math.Min(have.mmol*h, p.mmol)
				got := v.take(a.sp, n/h)
				v.take(p.sp, n)
				o.warm(b.classHeat("acid and base"), n)
				b.acidSalt(v, a.sp, got, n)
				o.did("acid + base")
			case p.sp.is("carbonate"):
				k := 2.0
				if strings.Contains(p.sp.name, "bicarbonate") || strings.Contains(p.sp.name, "hydrogen") {
					k = 1
				}
				n := math.Min(have.mmol*h/k, p.mmol)
				got := v.take(a.sp, n*k/h)
				v.take(p.sp, n)
				o.addGas("carbon dioxide", n)
				o.warm(b.classHeat("acid and carbonate"), n)
				b.acidSalt(v, a.sp, got, n)
				o.did("acid + carbonate")
			case p.sp.is("amine", "aromatic amine", "pyridine base"), p.sp.name == "ammonia":
				n := math.Min(have.mmol*h, p.mmol)
				v.take(a.sp, n/h)
				got := v.take(p.sp, n)
				o.warm(b.classHeat("acid and base"), n)
				salt := b.madeSpecies("ammonium salt of "+p.sp.name, p.sp.mw+36, "ammonium salt")
				salt.ofAmine = p.sp
				v.put(portion{sp: salt, mmol: n, g: got.g * 1.3, from: p.from})
				o.did("acid + amine")
			case p.sp.is("cyanide") && v.aqueous():
				n := math.Min(have.mmol*h, p.mmol)
				v.take(a.sp, n/h)
				v.take(p.sp, n)
				o.addGas("hydrogen cyanide", n)
				o.did("acid + cyanide")
			case p.sp.is("sulfide") && v.aqueous():
				n := math.Min(have.mmol*h/2, p.mmol)
				v.take(a.sp, 2*n/h)
				v.take(p.sp, n)
				o.addGas("hydrogen sulfide", n)
				o.did("acid + sulfide")
			}
		}
	}
	// an ammonium salt is acid enough for a hydroxide; the ammonia stays in
	// the water
	for _, a := range slices.Clone(v.contents) {
		if !a.sp.is("ammonium salt") || a.mmol <= trace || !v.aqueous() {
			continue
		}
		for _, p := range slices.Clone(v.contents) {
			have := v.find(a.sp)
			if have == nil || !p.sp.is("hydroxide") || p.mmol <= trace {
				continue
			}
			n := math.Min(have.mmol, p.mmol)
			got := v.take(a.sp, n)
			v.take(p.sp, n)
			b.saltWater(v, n)
			if free := a.sp.ofAmine; free != nil {
				ml := 0.0
				if free.density > 0 && free.liquid {
					ml = n * free.mw / 1000 / free.density
				}
				v.put(portion{sp: free, mmol: n, g: n * free.mw / 1000, ml: ml, from: got.from})
			}
			o.did("ammonium + base")
		}
	}
	// a dissolved acid gas meets a carbonate or hydroxide
	if v.acid > trace {
		for _, p := range slices.Clone(v.contents) {
			if p.sp.is("carbonate") && p.mmol > trace {
				n := math.Min(v.acid, p.mmol)
				v.acid -= n
				v.take(p.sp, n)
				o.addGas("carbon dioxide", n)
				o.did("acid + carbonate")
			} else if p.sp.is("hydroxide") && p.mmol > trace {
				n := math.Min(v.acid, p.mmol)
				v.acid -= n
				v.take(p.sp, n)
				o.warm(b.classHeat("acid and base"), n)
				o.did("acid + base")
			}
		}
	}
}

// acidSalt is the salt that a spent acid leaves: of a carboxylic acid one that
// remembers it.
func (b *Bench) acidSalt(v *vessel, acid *species, got portion, mmol float64) {
	if !acid.is("carboxylic acid") {
		b.saltWater(v, mmol)
		return
	}
	sp := b.madeSpecies("salt of "+acid.name, acid.mw+22, "carboxylic salt")
	sp.ofAcid = acid
	v.put(portion{sp: sp, mmol: got.mmol, g: got.mmol * sp.mw / 1000, from: got.from})
}

func (b *Bench) saltWater(v *vessel, mmol float64) {
	salt := b.madeSpecies("neutral salts", 58, "salt")
	v.put(portion{sp: salt, mmol: mmol, g: mmol * 0.058, from: "neutralisation"})
}
