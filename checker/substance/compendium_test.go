package substance

import (
	"math"
	"slices"
	"strings"
	"sync"
	"testing"

	"ketyl/rules"
)

func compendium(t testing.TB) *Compendium {
	t.Helper()
	c, err := Default()
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func find(t testing.TB, name string) *Substance {
	t.Helper()
	s, ok := compendium(t).Find(name)
	if !ok {
		t.Fatalf("%q is not found", name)
	}
	return s
}

func TestFind(t *testing.T) {
	c := compendium(t)
	for _, test := range []struct{ name, want string }{
		{"tetrahydrofuran", "tetrahydrofuran"},
		{"THF", "tetrahydrofuran"},
		{"dry THF", "tetrahydrofuran"},
		{"Tetra-hydro furan", "tetrahydrofuran"},
		{"109-99-9", "tetrahydrofuran"},
		{"ether", "diethyl ether"},
		{"n-BuLi", "n-butyllithium"},
		{"nBuLi", "n-butyllithium"},
		{"N-BUTYLLITHIUM", "n-butyllithium"},
		{"1.6 M n-BuLi in hexanes", "n-butyllithium"},
		{"t-BuLi", "tert-butyllithium"},
		{"tert.-butyllithium", "tert-butyllithium"},
		{"tertiary butyl lithium", "tert-butyllithium"},
		{"s-BuLi", "sec-butyllithium"},
		{"aluminum chloride", "aluminium chloride"},
		{"sodium sulphate", "sodium sulfate"},
		{"anhydrous magnesium sulfate", "magnesium sulfate"},
		{"magnesium sulphate, anhydrous", "magnesium sulfate"},
		{"anhydrous MgSO4", "magnesium sulfate"},
		// case and brackets tell formulas apart
		{"CoCl2", "cobalt(II) chloride"},
		{"anhydrous CoCl2", "cobalt(II) chloride"},
		{"COCl2", "phosgene"},
		{"(COCl)2", "oxalyl chloride"},
		{"(cocl)2", "oxalyl chloride"},
		{"nabh4", "sodium borohydride"},
		{"magnesium turnings", "magnesium"},
		{"zinc dust", "zinc"},
		{"conc. HCl", "hydrochloric acid"},
		{"sat. ammonium chloride", "ammonium chloride"},
		{"LiAlH4", "lithium aluminium hydride"},
		{"NaH", "sodium hydride"},
		{"3 Å molecular sieves", "molecular sieves 3A"},
		{"4A sieves", "molecular sieves 4A"},
		{"α-pinene", "alpha-pinene"},
		{"N,N′-dimethylformamide", "N,N-dimethylformamide"},
		{"CO", "carbon monoxide"},
		{"sodium hydride 60% dispersion", "sodium hydride"},
		{"sodium hydride, 60 % dispersion in mineral oil", "sodium hydride"},
		{"Cp*H", "pentamethylcyclopentadiene"},
		{"CpH", "cyclopentadiene"},
		{"HF-pyridine", "hydrogen fluoride pyridine complex"},
		{"Et2AlCN", "diethylaluminium cyanide"},
		{"Pd/C 10 wt%", "palladium on carbon"},
	} {
		s, ok := c.Find(test.name)
		if !ok {
			t.Errorf("%q is not found, want %s", test.name, test.want)
			continue
		}
		if s.Name != test.want {
			t.Errorf("%q is %s, want %s", test.name, s.Name, test.want)
		}
	}
}

// TestNotFound holds that nothing is guessed: a formula that several substances
// share, a symbol in the wrong case, words that name nothing.
func TestNotFound(t *testing.T) {
	c := compendium(t)
	for _, name := range []string{"", " ", "C4H8O", "C2H6O", "solution", "anhydrous", "powder", "xyzzy", "Pm", "---", "in hexanes", "1 M", "109-99-8"} {
		if s, ok := c.Find(name); ok {
			t.Errorf("%q is taken for %s", name, s.Name)
		}
	}
	if s, ok := c.Find("Co"); ok && s.Formula != "Co" {
		t.Errorf("Co is taken for %s", s.Name)
	}
}

func TestNearest(t *testing.T) {
	c := compendium(t)
	for _, test := range []struct{ typed, want string }{
		{"bromobenzen", "bromobenzene"},
		{"tetrahydofuran", "tetrahydrofuran"},
		{"benzaldehide", "benzaldehyde"},
	} {
		s, nearest := c.Lookup(test.typed)
		if s != nil {
			t.Errorf("%q is taken for %s", test.typed, s.Name)
			continue
		}
		if len(nearest) == 0 || len(nearest) > 3 || nearest[0] != test.want {
			t.Errorf("%q: nearest %q, want %s first", test.typed, nearest, test.want)
		}
	}
	// a very different word is worse than none: prussic acid for pyruvic
	for typed, wrong := range map[string]string{"pyruvic acid": "hydrogen cyanide", "vanillic acid": "nitric acid", "ethyl picolinate": "ethyl acrylate", "lactic acids": "picric acid"} {
		if s, nearest := c.Lookup(typed); s != nil || slices.Contains(nearest, wrong) {
			t.Errorf("%q: %v %q", typed, s, nearest)
		}
	}
	if s, nearest := c.Lookup("qqqqqqqq"); s != nil || len(nearest) != 0 {
		t.Errorf("nonsense: %v %q", s, nearest)
	}
}

func TestDerive(t *testing.T) {
	c := compendium(t)
	for _, test := range []struct{ name, family, formula, judgedAs, gas string }{
		{"2-thienyllithium", "organolithium", "C4H3LiS", "an organolithium reagent", ""},
		{"cyclohexylmagnesium chloride", "organomagnesium", "C6H11ClMg", "a Grignard reagent", ""},
		{"cyclopropylmagnesium bromide", "organomagnesium", "C3H5BrMg", "a Grignard reagent", "cyclopropane"},
		{"sodium isopropoxide", "alkoxide", "C3H7NaO", "a metal alkoxide", ""},
		{"sodium cyclohexanolate", "alkoxide", "C6H11NaO", "a metal alkoxide", ""},
		{"lithium dicyclohexylamide", "metal amide", "C12H22LiN", "a metal amide base", ""},
		{"sodium diethylamide", "metal amide", "C4H10NNa", "a metal amide base", ""},
		{"(4-methoxy-3-methylphenyl)magnesium iodide", "organomagnesium", "C8H9IMgO", "a Grignard reagent", ""},
		{"mesityllithium", "organolithium", "C9H11Li", "an organolithium reagent", ""},
		{"dicyclohexylzinc", "organozinc", "C12H22Zn", "an organozinc reagent", ""},
		{"ethylzinc iodide", "organozinc", "C2H5IZn", "an organozinc reagent", "ethane"},
		{"lithium diphenylcuprate", "cuprate", "C12H10CuLi", "an organocuprate", ""},
		{"4-methylbenzoyl chloride", "acid chloride", "C8H7ClO", "an acyl halide", "hydrogen chloride"},
		{"cyclohexanecarbonyl chloride", "acid chloride", "C7H11ClO", "an acyl halide", "hydrogen chloride"},
		{"2-naphthalenesulfonyl chloride", "sulfonyl chloride", "C10H7ClO2S", "a sulfonyl chloride", "hydrogen chloride"},
		{"butanoic anhydride", "anhydride", "C8H14O3", "an acid anhydride", ""},
		{"tri-n-octylphosphine", "phosphine", "C24H51P", "a phosphine", ""},
		{"trimesitylborane", "trialkylborane", "C27H33B", "a trialkylborane", ""},
		{"benzyltriphenylphosphonium iodide", "phosphonium salt", "C25H22IP", "a phosphonium salt", ""},
		{"4-bromobiphenyl", "aryl halide", "C12H9Br", "an aryl halide", ""},
		{"2,4-dimethoxybenzaldehyde", "aldehyde", "C9H10O3", "an aldehyde", ""},
		// formulas of the PubChem records
		{"4-methoxybenzoic acid", "carboxylic acid", "C8H8O3", "a carboxylic acid", ""},
		{"3,5-bis(trifluoromethyl)benzoic acid", "carboxylic acid", "C9H4F6O2", "a carboxylic acid", ""},
		{"4-methoxyphenylacetic acid", "carboxylic acid", "C9H10O3", "a carboxylic acid", ""},
		{"ethyl 4-methoxybenzoate", "ester", "C10H12O3", "an ester", ""},
		{"methyl octanoate", "ester", "C9H18O2", "an ester", ""},
		{"4-methoxybenzonitrile", "nitrile", "C8H7NO", "a nitrile", ""},
		{"2,6-di-tert-butylphenol", "phenol", "C14H22O", "a phenol", ""},
		{"4-isopropylaniline", "aromatic amine", "C9H13N", "an aromatic amine", ""},
	} {
		s, ok := c.Derive(test.name, "", "")
		if !ok {
			t.Errorf("%s is not derived", test.name)
			continue
		}
		f, err := ParseFormula(s.Formula)
		if err != nil {
			t.Errorf("%s: %v", test.name, err)
			continue
		}
		if s.Family != test.family || f.String() != test.formula || s.JudgedAs != test.judgedAs {
			t.Errorf("%s: %s, %s, %q; want %s, %s, %q", test.name, s.Family, f, s.JudgedAs, test.family, test.formula, test.judgedAs)
		}
		gas := ""
		for _, g := range s.Hydrolysis.Emitted() {
			gas = g.Gas
		}
		if gas != test.gas {
			t.Errorf("%s gives off %q, want %q", test.name, gas, test.gas)
		}
	}
}

// TestDeriveNothing holds that a name which fits no family, or fits one by its
// ending alone, is left unknown: unknown is a hold, never a guess.
func TestDeriveNothing(t *testing.T) {
	c := compendium(t)
	for _, name := range []string{"", "lithium", "sodium peroxide", "sodium hydroxide", "sodium oxide", "4-hydroxybenzaldehyde", "4-nitrobenzaldehyde",
		"unobtainyl bromide", "wibblybromobenzene", "thionyl chloride", "tin oxide", "dimethyl sulfoxide", "lithium sulfonamide", "carbonic anhydride",
		strings.Repeat("methyl", 60) + "lithium"} {
		if s, ok := c.Derive(name, "", ""); ok {
			t.Errorf("%q is judged as %s", name, s.JudgedAs)
		}
	}
}

func TestDeriveTwoGroupsOnZinc(t *testing.T) {
	s, ok := compendium(t).Derive("dicyclohexylzinc", "", "")
	if !ok || s.Active.Equivalents != 2 || s.Hydrolysis.Water != 2 {
		t.Fatalf("dicyclohexylzinc: %+v %+v, want two equivalents", s.Active, s.Hydrolysis)
	}
	f, _ := compendium(t).Family("organozinc")
	if f.Active.Equivalents != 1 {
		t.Fatal("deriving has changed the family")
	}
}

func TestOrganometallic(t *testing.T) {
	c := compendium(t)
	for _, test := range []struct{ halide, metal, name, formula, family string }{
		{"bromobenzene", "magnesium", "phenylmagnesium bromide", "C6H5BrMg", "organomagnesium"},
		{"bromobenzene", "lithium", "phenyllithium", "C6H5Li", "organolithium"},
		{"1-bromobutane", "magnesium turnings", "n-butylmagnesium bromide", "C4H9BrMg", "organomagnesium"},
		{"2-bromopropane", "Mg", "isopropylmagnesium bromide", "C3H7BrMg", "organomagnesium"},
		{"iodomethane", "magnesium", "methylmagnesium iodide", "CH3IMg", "organomagnesium"},
		{"2-bromobutane", "magnesium", "sec-butylmagnesium bromide", "C4H9BrMg", "organomagnesium"},
		{"4-bromoanisole", "magnesium", "4-methoxyphenylmagnesium bromide", "C7H7BrMgO", "organomagnesium"},
		{"1-chlorobutane", "lithium", "n-butyllithium", "C4H9Li", "organolithium"},
		{"2-bromothiophene", "lithium", "2-thienyllithium", "C4H3LiS", "organolithium"},
	} {
		h, nearest := c.Lookup(test.halide)
		if h == nil {
			t.Errorf("%s is not known, nearest %q", test.halide, nearest)
			continue
		}
		s, ok := c.Organometallic(h, test.metal)
		if !ok {
			t.Errorf("%s with %s gives nothing", test.halide, test.metal)
			continue
		}
		f, err := ParseFormula(s.Formula)
		if err != nil || s.Name != test.name || f.String() != test.formula || s.Family != test.family {
			t.Errorf("%s with %s: %s %s %s %v, want %s %s %s", test.halide, test.metal, s.Name, f, s.Family, err, test.name, test.formula, test.family)
		}
	}
	for _, no := range [][2]string{{"benzene", "magnesium"}, {"bromobenzene", "water"}, {"acetyl chloride", "magnesium"}, {"bromobenzene", ""}, {"hydrochloric acid", "magnesium"}} {
		if s, ok := c.Organometallic(find(t, no[0]), no[1]); ok {
			t.Errorf("%s with %q gives %s", no[0], no[1], s.Name)
		}
	}
}

// cocl2 may be cobalt chloride or phosgene, and is therefore neither, nor the oxalyl
// chloride whose formula has the same letters.
func TestFormulaWithoutItsCase(t *testing.T) {
	if s, ok := compendium(t).Find("cocl2"); ok {
		t.Errorf("cocl2 is read as %s", s.Name)
	}
}

func TestMetalAmide(t *testing.T) {
	c := compendium(t)
	for _, test := range []struct{ amine, base, name string }{
		{"diisopropylamine", "n-butyllithium", "lithium diisopropylamide"},
		{"hexamethyldisilazane", "n-butyllithium", "lithium bis(trimethylsilyl)amide"},
		{"2,2,6,6-tetramethylpiperidine", "n-butyllithium", "lithium 2,2,6,6-tetramethylpiperidide"},
	} {
		s, ok := c.MetalAmide(find(t, test.amine), find(t, test.base))
		if !ok || s.Name != test.name || s.Family != "metal amide" {
			t.Errorf("%s with %s: %v %v, want %s", test.amine, test.base, s, ok, test.name)
		}
	}
	// The isomer of diisopropylamine without a proton must not make LDA.
	if s, ok := c.MetalAmide(find(t, "triethylamine"), find(t, "n-butyllithium")); ok {
		t.Errorf("triethylamine gives %s", s.Name)
	}
	if s, ok := c.MetalAmide(find(t, "diisopropylamine"), find(t, "tetrahydrofuran")); ok {
		t.Errorf("tetrahydrofuran makes %s", s.Name)
	}
}

func TestMergeTwiceIsOnce(t *testing.T) {
	c := compendium(t)
	for _, s := range c.All() {
		again := c.Merge(s)
		if len(again.AttackedBy) != len(s.AttackedBy) || len(again.Cautions) != len(s.Cautions) || len(again.KeepFrom) != len(s.KeepFrom) {
			t.Errorf("%s grows when merged twice", s.Name)
		}
	}
}

func TestNeedFromAttacks(t *testing.T) {
	c := compendium(t)
	for _, test := range []struct {
		attacks []string
		want    string
	}{{nil, ""}, {[]string{"water"}, "drying tube"}, {[]string{"water", "oxygen"}, "inert gas"}, {[]string{"oxygen", "water"}, "inert gas"}, {[]string{"light"}, ""}} {
		s := &Substance{Name: "declared", Declared: true}
		for _, by := range test.attacks {
			s.AttackedBy = append(s.AttackedBy, Attack{By: by, Speed: "fast"})
		}
		m := c.Merge(s)
		got := ""
		if m.Exclusion != nil {
			got = m.Exclusion.Need
		}
		if got != test.want || s.Exclusion != nil {
			t.Errorf("attacked by %q: needs %q, want %q", test.attacks, got, test.want)
		}
	}
	for _, s := range c.All() {
		if s.Exclusion == nil || s.Exclusion.Need == "" {
			t.Errorf("%s: nothing says how far air must be kept out", s.Name)
		}
	}
}

func TestClash(t *testing.T) {
	c := compendium(t)
	for _, test := range []struct {
		a, b, consequence string
		grave             bool
	}{
		{"sodium azide", "dichloromethane", "explosive", true},
		{"nitric acid", "acetone", "explosion", true},
		{"water", "sodium", "flammable gas", true},
		{"bleach", "hydrochloric acid", "chlorine", true},
		{"sodium hypochlorite", "ammonia", "chloramine", true},
		{"sodium cyanide", "hydrochloric acid", "hydrogen cyanide", true},
		{"hydrochloric acid", "sodium hydroxide", "heat", false},
		{"dimethyl sulfoxide", "oxalyl chloride", "explosion", true},
		{"sodium", "dichloromethane", "explosion", true},
	} {
		for _, order := range [][2]string{{test.a, test.b}, {test.b, test.a}} {
			hits := c.Clash(find(t, order[0]), find(t, order[1]))
			said, grave := false, false
			for _, h := range hits {
				said = said || strings.Contains(h.Consequence, test.consequence)
				grave = grave || h.Grave
				if h.Source == "" {
					t.Errorf("%s with %s: %q has no source", order[0], order[1], h.Consequence)
				}
			}
			if !said || grave != test.grave {
				t.Errorf("%s with %s: %+v, want %q, grave %v", order[0], order[1], hits, test.consequence, test.grave)
			}
		}
	}
	for _, quiet := range [][2]string{{"tetrahydrofuran", "diethyl ether"}, {"toluene", "hexane"}, {"water", "sodium chloride"}, {"ethyl acetate", "hexane"}, {"water", "ethyl acetate"}, {"water", "ammonium chloride"}} {
		if hits := c.Clash(find(t, quiet[0]), find(t, quiet[1])); len(hits) > 0 {
			t.Errorf("%s with %s: %+v, want nothing", quiet[0], quiet[1], hits)
		}
	}
}

// TestResidualWater compares with Williams and Lawton, J. Org. Chem. 2010, 75,
// 8351, and Burfield and Smithers, J. Chem. Educ. 1982, 59, 703.
func TestResidualWater(t *testing.T) {
	c := compendium(t)
	for _, test := range []struct {
		solvent, agent     string
		load, hours, start float64
		low, high          float64
	}{
		{"tetrahydrofuran", "molecular sieves 3A", 20, 72, 107, 4, 4.1},
		{"tetrahydrofuran", "3A sieves", 20, 48, 107, 6.1, 6.1},
		{"tetrahydrofuran", "sodium benzophenone ketyl", 0, 48, 107, 43, 43.4},
		{"tetrahydrofuran", "alumina column", 0, 0, 107, 5, 5.9},
		{"diethyl ether", "magnesium sulfate", 10, 0.25, 12000, 2400, 2400},
		{"diethyl ether", "sodium sulfate", 10, 1, 12000, 9840, 9840},
		// never below what a shorter or weaker drying reached
		{"tetrahydrofuran", "molecular sieves 3A", 40, 200, 107, 4, 4.1},
		{"tetrahydrofuran", "molecular sieves 3A", 10, 24, 107, 6.1, 107},
		{"tetrahydrofuran", "molecular sieves 3A", 20, 72, 2, 2, 2},
	} {
		got, basis, source, ok := c.ResidualWater(find(t, test.solvent), test.agent, test.load, test.hours, test.start)
		if !ok || got < test.low-0.01 || got > test.high+0.01 || basis == "" || source == "" {
			t.Errorf("%s over %s, %g %%, %g h, from %g ppm: %g ppm (%s; %s), want %g to %g", test.solvent, test.agent, test.load, test.hours, test.start, got, basis, source, test.low, test.high)
		}
	}
	// 1 g of sieve cannot take the 1.2 g of water of 100 mL of wet THF.
	got, basis, _, ok := c.ResidualWater(find(t, "tetrahydrofuran"), "molecular sieves 3A", 1, 1000, 13000)
	if !ok || got < 11000 {
		t.Errorf("an overloaded sieve leaves %g ppm (%s), want above 11000", got, basis)
	}
	for _, none := range []struct {
		agent       string
		load, hours float64
	}{{"molecular sieves 3A", 0, 72}, {"molecular sieves 3A", 20, 0}, {"moonlight", 20, 72}, {"molecular sieves 3A", math.NaN(), 72}, {"molecular sieves 3A", -1, 72}} {
		if got, _, _, ok := c.ResidualWater(find(t, "tetrahydrofuran"), none.agent, none.load, none.hours, 107); ok {
			t.Errorf("%s, %g %%, %g h: %g ppm, want no answer", none.agent, none.load, none.hours, got)
		}
	}
}

// TestDryingNeverFlatters holds that more agent, more time and drier starts
// never leave more water.
func TestDryingNeverFlatters(t *testing.T) {
	c := compendium(t)
	for _, name := range []string{"tetrahydrofuran", "diethyl ether", "toluene", "dichloromethane", "acetonitrile"} {
		s := find(t, name)
		for agent := range c.Desiccants().Agents {
			last := math.Inf(1)
			for hours := 1.0; hours <= 200; hours += 7 {
				got, _, _, ok := c.ResidualWater(s, agent, 20, hours, 500)
				if !ok {
					break
				}
				if got > last+1e-9 || got > 500 {
					t.Fatalf("%s over %s: %g ppm after %g h, %g before", name, agent, got, hours, last)
				}
				last = got
			}
			last = 0
			for start := 10.0; start < 20000; start *= 2 {
				got, _, _, ok := c.ResidualWater(s, agent, 20, 72, start)
				if !ok {
					break
				}
				if got < last-1e-9 || got > start {
					t.Fatalf("%s over %s: %g ppm from %g ppm, %g from half of it", name, agent, got, start, last)
				}
				last = got
			}
		}
	}
}

// TestMayDry holds the pairs of Prudent Practices 1995, Table 3.9, and the
// near-miss of Armarego and Chai: calcium hydride is the usual agent for
// dichloromethane.
func TestMayDry(t *testing.T) {
	c := compendium(t)
	for _, test := range []struct{ solvent, agent, verdict string }{
		{"dichloromethane", "sodium", "forbidden"},
		{"chloroform", "sodium wire", "forbidden"},
		{"dichloromethane", "LiAlH4", "forbidden"},
		{"acetone", "sodium", "forbidden"},
		{"ethanol", "calcium chloride", ""},
		{"chloroform", "KOH", "forbidden"},
	} {
		got := c.MayDry(find(t, test.solvent), test.agent)
		if len(got) == 0 || test.verdict != "" && got[len(got)-1].Word != test.verdict {
			t.Errorf("%s over %s: %+v, want %s", test.solvent, test.agent, got, test.verdict)
		}
		for _, v := range got {
			if v.Because == "" || v.Source == "" {
				t.Errorf("%s over %s: %+v lacks its reason or source", test.solvent, test.agent, v)
			}
		}
	}
	for _, fine := range [][2]string{{"dichloromethane", "calcium hydride"}, {"tetrahydrofuran", "molecular sieves 3A"}, {"diethyl ether", "sodium"}, {"diethyl ether", "calcium chloride"}, {"toluene", "sodium"}, {"methanol", "molecular sieves 3A"}} {
		if got := c.MayDry(find(t, fine[0]), fine[1]); len(got) > 0 {
			t.Errorf("%s over %s: %+v, want no objection", fine[0], fine[1], got)
		}
	}
}

// TestVapourPressure compares with the CRC Handbook (vapour pressure of fluids)
// and the boiling points of ordinary distillation tables.
func TestVapourPressure(t *testing.T) {
	for _, test := range []struct {
		name      string
		at        float64
		mbar, tol float64
	}{
		{"water", 100, 1013.25, 15},
		{"water", 20, 23.4, 0.7},
		{"tetrahydrofuran", 25, 216, 8},
		{"diethyl ether", 20, 587, 20},
		{"toluene", 25, 38, 2},
	} {
		got, basis, ok := find(t, test.name).VapourPressureBasis(test.at)
		if !ok || math.Abs(got-test.mbar) > test.tol || basis == "" {
			t.Errorf("%s at %g °C: %.1f mbar (%s), want %g ± %g", test.name, test.at, got, basis, test.mbar, test.tol)
		}
	}
	s := find(t, "tetrahydrofuran")
	at, ok := s.BoilingAt(1013.25)
	if !ok || math.Abs(at-66) > 2 {
		t.Errorf("tetrahydrofuran boils at %.1f °C under 1013 mbar, want 66", at)
	}
	if low, ok := s.BoilingAt(200); !ok || low > 25 || low < 20 {
		t.Errorf("tetrahydrofuran boils at %.1f °C under 200 mbar, want 20 to 25", low)
	}
	for _, bad := range []float64{math.NaN(), math.Inf(1), -300} {
		if _, ok := s.VapourPressure(bad); ok {
			t.Errorf("a vapour pressure at %g °C", bad)
		}
	}
	for _, bad := range []float64{0, -1, math.NaN(), math.Inf(1), 1e12} {
		if _, ok := s.BoilingAt(bad); ok {
			t.Errorf("a boiling point under %g mbar", bad)
		}
	}
}

func TestCASValid(t *testing.T) {
	for cas, want := range map[string]bool{"109-99-9": true, "7732-18-5": true, "745038-86-2": true, "109-99-8": false, "109-9-99": false, "": false, "1-2-3": false, "a09-99-9": false, "109-99-": false, "0109-99-9": false} {
		if CASValid(cas) != want {
			t.Errorf("CASValid(%q) = %v", cas, !want)
		}
	}
}

func TestBarriers(t *testing.T) {
	tech := Techniques()
	last := -1
	for _, b := range []string{"open", "drying tube", "inert gas", "evacuate and refill", "glovebox"} {
		r, ok := tech.Rank(b)
		if !ok || r != last+1 {
			t.Errorf("%s has rank %d, want %d", b, r, last+1)
		}
		last = r
	}
	if r, ok := tech.Rank("guard tube"); !ok || r != 1 {
		t.Errorf("a guard tube has rank %d", r)
	}
	if _, ok := tech.Rank("hope"); ok {
		t.Error("hope is a barrier")
	}
	if g := tech.Gases["nitrogen"]; len(g.Grades) == 0 || len(g.NotOver) == 0 || g.NotOver[0] != "lithium" {
		t.Errorf("nitrogen: %+v, want grades and a warning of lithium", g)
	}
}

func TestDefaultSite(t *testing.T) {
	site := DefaultSite()
	for name, want := range map[string]struct {
		v *Value
		n float64
	}{
		"humidity":    {site.Humidity, 50},
		"temperature": {site.Temperature, 22},
		"pump":        {site.Pump, 1},
		"pump speed":  {site.PumpSpeed, 50},
		"aspirator":   {site.Aspirator, 25},
		"gas purity":  {site.GasPurity, 99.998},
		"room":        {site.Room, 200},
		"air changes": {site.AirChanges, 6},
		"fill limit":  {site.FillLimit, 75},
	} {
		if n, ok := want.v.number(); !ok || n != want.n || len(want.v.Source) == 0 {
			t.Errorf("%s: %+v, want %g with a source", name, want.v, want.n)
		}
	}
	for _, name := range []string{"non-halogenated organic", "halogenated organic", "neutral aqueous", "acidic aqueous", "basic aqueous", "heavy metal aqueous", "oxidiser", "solid", "contaminated solid", "sharps", "cyanide", "metal catalyst", "glass"} {
		if c, ok := site.Container(name); !ok || len(c.Matter) == 0 || c.Size == nil {
			t.Errorf("container %s: %+v", name, c)
		}
	}
	if _, ok := site.Container("sink"); ok {
		t.Error("the sink is a container")
	}
}

// FuzzLookup holds that no name panics or hangs, and that what is found has a
// name and a formula that can be read.
func FuzzLookup(f *testing.F) {
	for _, s := range []string{"THF", "n-BuLi", "2-thienyllithium", "sodium isopropoxide", "di", "tri*phosphine", "lithium ", " magnesium bromide", "1.6 M in hexanes", "\xff", "t-", "bis(", "chlorochlorochlorosilane", "MgSO4·7H2O", "3 Å"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, name string) {
		c := compendium(t)
		s, nearest := c.Lookup(name)
		if s == nil {
			if len(nearest) > 3 {
				t.Fatalf("%q: %d names", name, len(nearest))
			}
			return
		}
		if s.Name == "" || s.Family == "" {
			t.Fatalf("%q: %+v", name, s)
		}
		if _, err := s.MolarMass(); err != nil && s.Formula != "" {
			t.Fatalf("%q: %v", name, err)
		}
		c.Organometallic(s, "magnesium")
		c.MetalAmide(s, s)
		c.Clash(s, s)
		c.MayDry(s, name)
	})
}

func TestConcurrentUse(t *testing.T) {
	c, err := open(rules.FS)
	if err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			for _, n := range []string{"THF", "n-BuLi", "2-thienyllithium", "sodium isopropoxide", "nothing at all", "NaH", "water"} {
				s, _ := c.Lookup(n)
				c.Clash(s, s)
			}
			a, _ := c.Find("sodium")
			b, _ := c.Find("dichloromethane")
			if len(c.Clash(a, b)) == 0 || len(c.MayDry(b, "sodium")) == 0 {
				t.Error("sodium and dichloromethane go together")
			}
		})
	}
	wg.Wait()
}

func BenchmarkColdLoad(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := open(rules.FS); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkColdProcedure is a fresh process's share: open, then look up what a
// procedure names.
func BenchmarkColdProcedure(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		c, err := open(rules.FS)
		if err != nil {
			b.Fatal(err)
		}
		for _, n := range []string{"benzaldehyde", "n-butyllithium", "THF", "ammonium chloride", "ether", "magnesium sulfate", "nitrogen", "water"} {
			if _, ok := c.Find(n); !ok {
				b.Fatalf("%s is not found", n)
			}
		}
	}
}

func BenchmarkFind(b *testing.B) {
	c := compendium(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, ok := c.Find("anhydrous tetrahydrofuran"); !ok {
			b.Fatal("not found")
		}
	}
}

func TestOfFormula(t *testing.T) {
	c := compendium(t)
	for _, test := range []struct {
		formula string
		want    []string
	}{
		{"C4H8O", []string{"2-butanone", "butanal", "cyclopropyl methyl ether", "isobutyraldehyde", "tetrahydrofuran"}},
		{"CH3CH2CHO", []string{"acetone", "propylene oxide"}},
		{"(CH3)2CO", []string{"acetone"}},
		{"C8H18O", []string{"1-octanol", "dibutyl ether"}},
		{"NaH", []string{"sodium hydride"}},
		{"C999H3", nil}, {"no formula", nil}, {"", nil}, {"Q2", nil},
	} {
		got := c.OfFormula(test.formula)
		if len(got) < len(test.want) || test.want == nil && len(got) > 0 {
			t.Errorf("%s: %q, want %q", test.formula, got, test.want)
		}
		for _, w := range test.want {
			if !slices.Contains(got, w) {
				t.Errorf("%s: %q lacks %s", test.formula, got, w)
			}
		}
		if !slices.IsSorted(got) {
			t.Errorf("%s: %q is not sorted", test.formula, got)
		}
	}
	if s, _ := c.Lookup("C4H8O"); s != nil {
		t.Errorf("C4H8O is taken for %s", s.Name)
	}
}
