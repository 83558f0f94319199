package bench

import (
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"ketyl/checker/procedure"
	"ketyl/checker/substance"
)

// allSpecies is every species of a run.
func (b *Bench) allSpecies() []*species {
	seen := map[*species]bool{}
	for _, sp := range b.bySub {
		seen[sp] = true
	}
	for _, sp := range b.byName {
		seen[sp] = true
	}
	for _, sp := range b.variants {
		seen[sp] = true
	}
	return slices.SortedFunc(maps.Keys(seen), func(x, y *species) int { return strings.Compare(x.name, y.name) })
}

// unbalanced sets what came onto the bench against what left it and what it
// holds, element by element; without lists matter of unknown composition.
func (b *Bench) unbalanced() (off map[string]float64, without []string) {
	in, out := make([]float64, len(symbols)), make([]float64, len(symbols))
	count := func(sum []float64, sp *species, n float64) {
		for _, a := range sp.atoms {
			sum[a.el] += a.n * n
		}
	}
	for _, sp := range b.allSpecies() {
		count(in, sp, sp.in)
		count(out, sp, sp.out)
		if sp.atoms == nil && sp.in > trace {
			without = append(without, sp.name)
		}
	}
	for _, v := range b.vessels {
		for _, p := range v.contents {
			count(out, p.sp, p.mmol)
			if p.sp.atoms == nil && p.mmol > trace && !slices.Contains(without, p.sp.name) {
				without = append(without, p.sp.name)
			}
		}
	}
	off = map[string]float64{}
	for el := range in {
		if d := out[el] - in[el]; math.Abs(d) > 1e-6*in[el]+1e-9 {
			off[symbols[el]] = d
		}
	}
	return off, without
}

// shippedTexts loads all procedures of the repository: the released ones, the
// flawed and the published.
func shippedTexts(t testing.TB) map[string]*Bench {
	t.Helper()
	c, err := substance.Default()
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]*Bench{}
	for _, glob := range []string{"../../procedures/*.yaml", "../../testdata/flawed/*.yaml", "../../testdata/published/[0-9]*.yaml"} {
		files, err := filepath.Glob(glob)
		if err != nil || len(files) < 10 {
			t.Fatalf("%s: %d files, %v", glob, len(files), err)
		}
		for _, name := range files {
			raw, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			p, bad := procedure.Load(name, raw)
			if p == nil {
				t.Fatalf("%s: %v", name, bad)
			}
			out[strings.TrimPrefix(name, "../../")] = prepare(p, c, substance.DefaultSite())
		}
	}
	return out
}

// withoutFormula are the matters of the texts whose composition nothing tells.
var withoutFormula = map[string][]string{}

// Each element is conserved over every procedure: what was put in is what left
// and what is there.
func TestElementsAreConserved(t *testing.T) {
	texts := shippedTexts(t)
	for _, name := range slices.Sorted(maps.Keys(texts)) {
		b := texts[name]
		b.finished()
		off, without := b.unbalanced()
		for el, d := range off {
			t.Errorf("%s: %s off by %.4g mmol", name, el, d)
		}
		for _, w := range b.wrong {
			t.Errorf("%s: %s", name, w)
		}
		for _, r := range b.leftOut {
			t.Errorf("%s: the equation to %s is not balanced", name, b.giveNames(r))
		}
		if !slices.Equal(without, withoutFormula[name]) {
			t.Errorf("%s: no formula for %q, expected %q", name, without, withoutFormula[name])
		}
	}
}

// Water, an alcohol, an acid, an ammonium salt and the common electrophiles make
// nothing of nothing with any reagent of the compendium.
func TestEquationsOfTheCompendium(t *testing.T) {
	b := benchOf(t, `
materials: {water: {amount: 1 g}}
apparatus: {flask: {kind: round-bottom flask, size: 100 mL}}
steps:
  - {add: water, to: flask}
`)
	water := b.lookup("water")
	partners := func(names ...string) []*species {
		var out []*species
		for _, n := range names {
			sp := b.lookup(n)
			if sp == nil || sp.atoms == nil {
				t.Fatalf("no %s", n)
			}
			out = append(out, sp)
		}
		return out
	}
	protic := partners("ethanol", "phenol", "acetic acid", "hydrochloric acid", "sulfuric acid", "ammonium chloride", "diethylamine", "phenylacetylene", "diethyl malonate", "thiophenol")
	sites := partners("acetone", "benzaldehyde", "benzophenone", "ethyl acetate", "acetonitrile", "acetyl chloride", "1-octene", "carbon dioxide", "acetic anhydride")
	n := 0
	for _, s := range b.c.All() {
		sp := b.species(s)
		if sp.atoms == nil {
			t.Errorf("%s has no formula", sp.name)
			continue
		}
		if b.fateOf(sp) == fateWater || sp.is("borohydride", "strong borohydride") {
			b.hydrolysis(sp, water, byWater)
			b.hydrolysis(sp, water, byTrace)
			n++
		}
		if strongBaseKind(sp.active) || sp.active == "acyl" || sp.active == "water-reactive halide" {
			for _, p := range protic {
				if p.protic > 0 && meetsProton(sp, p) && !(sp.active == "acyl" && p.proticKind == "acid") {
					b.deprotonation(sp, p)
					n++
				}
			}
		}
		if strongBaseKind(sp.active) && sp.active != "metal" {
			for _, p := range sites {
				if meetsSite(sp, p) {
					b.additionTo(sp, p)
					n++
				}
			}
		}
		for _, a := range partners("hydrochloric acid", "sulfuric acid", "acetic acid") {
			if sp.is("hydroxide", "carbonate", "amine", "aromatic amine", "pyridine base", "cyanide", "sulfide") && sp != a {
				b.neutralisation(a, sp)
				n++
			}
		}
	}
	for _, w := range b.wrong {
		t.Error(w)
	}
	if n < 600 {
		t.Fatalf("only %d equations", n)
	}
}
