package bench

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"

	"ketyl/checker/substance"
)

// symbols are the elements by atomic number, deuterium and tritium after them:
// they count apart from hydrogen.
var symbols = strings.Fields("H He Li Be B C N O F Ne Na Mg Al Si P S Cl Ar K Ca Sc Ti V Cr Mn Fe Co Ni Cu Zn Ga Ge As Se Br Kr Rb Sr Y Zr Nb Mo Tc Ru Rh Pd Ag Cd In Sn Sb Te I Xe Cs Ba La Ce Pr Nd Pm Sm Eu Gd Tb Dy Ho Er Tm Yb Lu Hf Ta W Re Os Ir Pt Au Hg Tl Pb Bi Po At Rn Fr Ra Ac Th Pa U Np Pu Am Cm Bk Cf Es Fm Md No Lr Rf Db Sg Bh Hs Mt Ds Rg Cn Nh Fl Mc Lv Ts Og D T")

func element(symbol string) uint8 { return uint8(slices.Index(symbols, symbol)) }

// atom is how many of an element there are.
type atom struct {
	el uint8
	n  float64
}

// atoms is a composition, sorted by element; nil where nothing is known.
type atoms []atom

// formulas keeps the composition of a formula across runs: there are no more
// than the compendium has and a page names.
var (
	formulas     sync.Map // string → atoms
	formulasKept atomic.Int64
)

// atomsOf reads a formula; nil when it is none.
func atomsOf(formula string) atoms {
	if a, ok := formulas.Load(formula); ok {
		return a.(atoms)
	}
	f, err := substance.ParseFormula(formula)
	if err != nil {
		return nil
	}
	a := make(atoms, 0, len(f.Elements))
	for s, n := range f.Elements {
		if i := slices.Index(symbols, s); i >= 0 && n != 0 {
			a = append(a, atom{uint8(i), n})
		}
	}
	slices.SortFunc(a, func(x, y atom) int { return int(x.el) - int(y.el) })
	if formulasKept.Add(1) <= namesToKeep {
		formulas.Store(strings.Clone(formula), a)
	}
	return a
}

var (
	weights = sync.OnceValue(func() []float64 {
		w := make([]float64, len(symbols))
		for i, s := range symbols {
			if f, err := substance.ParseFormula(s); err == nil {
				w[i] = f.Mass()
			}
		}
		return w
	})
)

var (
	hydrogenEl, boronEl, carbonEl, oxygenEl = element("H"), element("B"), element("C"), element("O")
	nitrogenEl                              = element("N")
	aluminiumEl, deuteriumEl                = element("Al"), element("D")
	hydrogenDeuteride                       = atoms{{hydrogenEl, 1}, {deuteriumEl, 1}}
)

// charges of the metals whose organic and hydride reagents water turns into
// bases.
var charges = func() (z [128]float64) {
	for s, n := range map[string]float64{"Li": 1, "Na": 1, "K": 1, "Rb": 1, "Cs": 1, "Mg": 2, "Ca": 2, "Sr": 2, "Ba": 2, "Zn": 2, "Cu": 1, "Al": 3, "Ga": 3, "Ce": 3, "Sm": 3} {
		z[element(s)] = n
	}
	return z
}()

// organicEl are the elements of organic matter that water does not take as salts.
var organicEl = func() (m [128]bool) {
	for _, s := range []string{"C", "H", "D", "N", "O", "S", "P", "Si"} {
		m[element(s)] = true
	}
	return m
}()

var halogens = func() (h [128]bool) {
	for _, s := range []string{"F", "Cl", "Br", "I"} {
		h[element(s)] = true
	}
	return h
}()

func (a atoms) of(el uint8) float64 {
	for _, x := range a {
		if x.el == el {
			return x.n
		}
	}
	return 0
}

// plus adds n times c; what cancels is left out.
func (a atoms) plus(c atoms, n float64) atoms {
	out := make(atoms, 0, len(a)+len(c))
	i, j := 0, 0
	add := func(el uint8, v float64) {
		if math.Abs(v) > 1e-9 {
			out = append(out, atom{el, v})
		}
	}
	for i < len(a) || j < len(c) {
		switch {
		case j == len(c) || i < len(a) && a[i].el < c[j].el:
			add(a[i].el, a[i].n)
			i++
		case i == len(a) || c[j].el < a[i].el:
			add(c[j].el, n*c[j].n)
			j++
		default:
			add(a[i].el, a[i].n+n*c[j].n)
			i, j = i+1, j+1
		}
	}
	return out
}

// times is the composition n times over.
func (a atoms) times(n float64) atoms { return atoms{}.plus(a, n) }

// fits is how many whole times c is contained in a.
func (a atoms) fits(c atoms) float64 {
	if len(c) == 0 {
		return 0
	}
	n := math.Inf(1)
	for _, x := range c {
		n = math.Min(n, a.of(x.el)/x.n)
	}
	return math.Floor(n + 1e-6)
}

// negative names the elements of which there are fewer than none.
func (a atoms) negative() atoms {
	var out atoms
	for _, x := range a {
		if x.n < -1e-6 {
			out = append(out, x)
		}
	}
	return out
}

// same allows for rounding in the coefficients of an equation.
func (a atoms) same(c atoms) bool {
	return len(a) == len(c) && slices.EqualFunc(a, c, func(x, y atom) bool { return x.el == y.el && math.Abs(x.n-y.n) < 1e-6 })
}

// mass is the molar mass, g/mol (IUPAC 2021, abridged).
func (a atoms) mass() float64 {
	w, sum := weights(), 0.0
	for _, x := range a {
		sum += x.n * w[x.el]
	}
	return sum
}

// String writes the composition, carbon and hydrogen first.
func (a atoms) String() string {
	var sb strings.Builder
	write := func(x atom) {
		sb.WriteString(symbols[x.el])
		if x.n != 1 {
			sb.WriteString(strconv.FormatFloat(math.Round(x.n*1000)/1000, 'f', -1, 64))
		}
	}
	for _, first := range []uint8{carbonEl, hydrogenEl} {
		if n := a.of(first); n != 0 {
			write(atom{first, n})
		}
	}
	for _, x := range a {
		if x.el != carbonEl && x.el != hydrogenEl {
			write(x)
		}
	}
	return sb.String()
}

// charge is the sum of the charges of the base-forming metals in a composition
// less the halide that stays with them: the protons it takes, of which n are
// asked for where that is known. Halide counts only where there is a metal of
// two charges or more; a lithium alkyl with chlorine in its group keeps it.
func (a atoms) charge() (metals, halide float64) {
	several := false
	for _, x := range a {
		z := charges[x.el]
		metals += z * x.n
		several = several || z > 1
	}
	if several {
		for _, x := range a {
			if halogens[x.el] {
				halide += x.n
			}
		}
	}
	return metals, math.Min(halide, metals)
}

// group is the organic part of a metal compound with the protons that set it
// free: n-butyllithium → C4H10, two bromides or chlorides of a Grignard complex
// left with the metal. Protons says how many it takes.
func (a atoms) group(protons float64) atoms {
	metals, _ := a.charge()
	stay := math.Max(0, metals-protons) // halide that stays with the metal
	out := make(atoms, 0, len(a)+1)
	heavy := []string{"I", "Br", "Cl", "F"}
	left := map[uint8]float64{}
	for _, s := range heavy {
		n := math.Min(stay, a.of(element(s)))
		left[element(s)] = n
		stay -= n
	}
	for _, x := range a {
		if charges[x.el] > 0 {
			continue
		}
		if n := x.n - left[x.el]; n > 1e-9 {
			out = append(out, atom{x.el, n})
		}
	}
	return out.plus(atoms{{hydrogenEl, 1}}, protons)
}

// ions by name, with their charges, so that a salt that a text names and the
// compendium does not hold still has its composition.
var (
	cations = map[string]atom{"lithium": {element("Li"), 1}, "sodium": {element("Na"), 1}, "potassium": {element("K"), 1}, "caesium": {element("Cs"), 1}, "cesium": {element("Cs"), 1}, "silver": {element("Ag"), 1},
		"magnesium": {element("Mg"), 2}, "calcium": {element("Ca"), 2}, "barium": {element("Ba"), 2}, "zinc": {element("Zn"), 2}, "aluminium": {element("Al"), 3}}
	anions = map[string]struct {
		formula string
		charge  float64
	}{"fluoride": {"F", 1}, "chloride": {"Cl", 1}, "bromide": {"Br", 1}, "iodide": {"I", 1}, "hydroxide": {"OH", 1}, "oxide": {"O", 2}, "sulfate": {"SO4", 2}, "bisulfate": {"HSO4", 1}, "hydrogensulfate": {"HSO4", 1}, "sulfite": {"SO3", 2}, "nitrate": {"NO3", 1},
		"acetate": {"C2H3O2", 1}, "formate": {"CHO2", 1}, "carbonate": {"CO3", 2}, "bicarbonate": {"HCO3", 1}, "benzoate": {"C7H5O2", 1}, "phosphate": {"PO4", 3}, "metaborate": {"BO2", 1}, "tosylate": {"C7H7SO3", 1}, "mesylate": {"CH3SO3", 1}, "triflate": {"CF3SO3", 1}, "tetrahydroxyborate": {"BO4H4", 1}}
)

// saltAtoms is the composition of a salt of a common metal or of ammonium by
// its name, nil when the name is none.
func saltAtoms(name string) atoms {
	words := strings.Fields(strings.ToLower(name))
	if len(words) != 2 {
		return nil
	}
	x, ok := anions[words[1]]
	if !ok {
		return nil
	}
	anion := atomsOf(x.formula)
	if words[0] == "ammonium" {
		return atomsOf("NH4").times(x.charge).plus(anion, 1)
	}
	c, ok := cations[words[0]]
	if !ok {
		return nil
	}
	n, m := x.charge, c.n // n cations to m anions
	if n == m {
		n, m = 1, 1
	}
	return atoms{{c.el, n}}.plus(anion, m)
}
