package substance

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// outside finds a general-purpose reference program. Its absence is a skip at
// a developer's desk and a failure where KETYL_OUTSIDE=required.
func outside(t *testing.T, program string) string {
	t.Helper()
	path, err := exec.LookPath(program)
	if err != nil {
		if os.Getenv("KETYL_OUTSIDE") == "required" {
			t.Fatalf("%s is not installed and is required here", program)
		}
		t.Skipf("%s is not installed: nothing was compared", program)
	}
	return path
}

// babel runs Open Babel over the structures of the compendium.
func babel(t *testing.T, program string, c *Compendium, args ...string) string {
	t.Helper()
	var in strings.Builder
	for i, s := range c.All() {
		if s.Structure != "" {
			fmt.Fprintf(&in, "%s\tn%d\n", s.Structure, i)
		}
	}
	file := filepath.Join(t.TempDir(), "compendium.smi")
	if err := os.WriteFile(file, []byte(in.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(program, append([]string{"-ismi", file}, args...)...)
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	if err := cmd.Run(); err != nil {
		t.Fatalf("Open Babel: %v: %s", err, errs.String())
	}
	return out.String()
}

// Formula and molar mass of every structure against Open Babel (Debian
// package openbabel).
func TestStructuresAgainstOpenBabel(t *testing.T) {
	program := outside(t, "obabel")
	c := compendium(t)
	all := c.All()
	out := babel(t, program, c, "-otxt", "-h", "--append", "formula MW")
	seen := 0
	for _, line := range strings.Split(out, "\n") {
		var i int
		var formula string
		var mass float64
		if n, _ := fmt.Sscanf(strings.ReplaceAll(line, "\t", " "), "n%d %s %f", &i, &formula, &mass); n != 3 {
			continue
		}
		seen++
		s := all[i]
		own, err := ParseFormula(s.Formula)
		if err != nil {
			t.Errorf("%s: %v", s.Name, err)
			continue
		}
		theirs, err := ParseFormula(strings.TrimRight(formula, "+-"))
		if err != nil {
			t.Errorf("%s: Open Babel's formula %s: %v", s.Name, formula, err)
			continue
		}
		if s.Name == "sodium hydrosulfide" {
			continue // Open Babel drops the hydrogen of [SH-] from the sum
		}
		for _, e := range slices.Concat(own.symbols(), theirs.symbols()) {
			if own.Count(e) != theirs.Count(e) {
				t.Errorf("%s: formula %s has %v %s, the structure %v (%s)", s.Name, s.Formula, own.Count(e), e, theirs.Count(e), formula)
				break
			}
		}
		// weights of older tables differ in the last digit; lithium by 0.02 %
		if m, err := s.MolarMass(); err != nil || math.Abs(m-mass) > 5e-4*mass {
			t.Errorf("%s: %v g/mol, Open Babel %v", s.Name, m, mass)
		}
	}
	structures := 0
	for _, s := range all {
		if s.Structure != "" {
			structures++
		}
	}
	if seen < structures || seen < 400 {
		t.Errorf("Open Babel answered for %d of %d structures", seen, structures)
	}
	t.Logf("%d structures compared", seen)
}

// Functional groups of every structure against Open Babel's substructure
// search: what the ledger and the waste rules rest on.
func TestGroupsAgainstOpenBabel(t *testing.T) {
	program := outside(t, "obabel")
	c := compendium(t)
	all := c.All()
	kind := func(s *Substance, words ...string) bool {
		return s.Sites != nil && (slices.Contains(words, s.Sites.ElectrophilicKind) || slices.Contains(words, s.Sites.ProticKind))
	}
	for _, g := range []struct {
		name, smarts string
		// has: the compendium's word for it. A structure with the group must
		// have the word (unless spared), and the other way round.
		has   func(*Substance) bool
		spare func(*Substance) bool
		back  bool
	}{
		{"carbon–halogen bond", "[#6][F,Cl,Br,I]", func(s *Substance) bool { return s.Waste != nil && s.Waste.Halogenated },
			func(s *Substance) bool {
				return slices.Contains([]string{"sulfonic acid", "silyl triflate", "anhydride"}, s.Family) || strings.Contains(s.Structure, "C(F)(F)F") || strings.Contains(s.Structure, "FC(F)(F)")
			}, false},
		{"aldehyde", "[CX3;H1,H2]=[OX1]", func(s *Substance) bool { return kind(s, "aldehyde") || s.Family == "aldehyde" }, func(s *Substance) bool {
			return strings.Contains(s.Name, "form") && s.Family != "aldehyde" || s.Family == "carboxamide" || s.Family == "ester"
		}, true},
		{"nitrile", "[CX4,c,$(C=C)]C#N", func(s *Substance) bool { return s.Family == "nitrile" || kind(s, "nitrile") }, func(s *Substance) bool { return s.Family == "radical initiator" || s.Family == "oxidant" }, true},
		{"azide", "[$([N]=[N+]=[N-]),$([N-]=[N+]=[N-])]", func(s *Substance) bool { return s.Family == "azide" || s.Waste != nil && s.Waste.Azide }, nil, true},
		{"nitro group", "[$([NX3](=O)=O),$([NX3+](=O)[O-])][#6]", func(s *Substance) bool { return s.Family == "nitro compound" || kind(s, "nitro") }, func(s *Substance) bool { return s.Family != "nitro compound" }, true},
		{"peroxide", "[OX2][OX2]", func(s *Substance) bool {
			return s.Family == "peroxide" || s.Family == "oxidant" || s.Waste != nil && s.Waste.Oxidiser
		}, nil, false},
		{"acid", "[CX3](=O)[OX2H1]", func(s *Substance) bool { return kind(s, "acid") || s.Family == "carboxylic acid" }, nil, true},
		{"thiol", "[#6][SX2H]", func(s *Substance) bool { return kind(s, "thiol") || s.Family == "thiol" }, nil, true},
		{"alcohol", "[CX4][OX2H]", func(s *Substance) bool {
			return kind(s, "alcohol") || s.Family == "alcohol" || s.Sites != nil && s.Sites.Protic > 0
		}, nil, true},
		{"acid chloride", "[$([CX3](=[O,S])[Cl,Br]),$(OC(=O)OC(Cl)(Cl)Cl)]", func(s *Substance) bool {
			return s.Family == "acid chloride" || s.Family == "chloroformate" || kind(s, "acid chloride")
		}, nil, true},
	} {
		out := babel(t, program, c, "-osmi", "-s", g.smarts)
		found := map[int]bool{}
		for _, line := range strings.Split(out, "\n") {
			if j := strings.LastIndex(line, "\tn"); j >= 0 {
				var i int
				if n, _ := fmt.Sscanf(strings.TrimSpace(line[j+1:]), "n%d", &i); n == 1 {
					found[i] = true
				}
			}
		}
		if len(found) == 0 {
			t.Errorf("%s: Open Babel finds none", g.name)
		}
		for i, s := range all {
			if s.Structure == "" || g.spare != nil && g.spare(s) {
				continue
			}
			switch {
			case found[i] && !g.has(s):
				t.Errorf("%s: the structure %s has a %s, the entry (family %s) does not say so", s.Name, s.Structure, g.name, s.Family)
			case g.back && !found[i] && g.has(s) && (s.Family == strings.TrimSuffix(g.name, " group")):
				t.Errorf("%s: the entry is of family %s, the structure %s has no %s", s.Name, s.Family, s.Structure, g.name)
			}
		}
	}
}

type span struct {
	Low    float64  `yaml:"low"`
	High   float64  `yaml:"high"`
	Source []string `yaml:"source"`
}

// within reports a value inside the sources' span, widened by a share and an
// absolute slack for the sources' own rounding.
func (s *span) within(v, share, slack float64) bool {
	if s == nil {
		return true
	}
	give := math.Max(share*math.Abs(s.High), slack)
	return v >= s.Low-give && v <= s.High+give
}

// Solvents against handbooks and regulations; the source of each figure
// stands in testdata/solvents.yaml.
func TestSolventsAgainstHandbooks(t *testing.T) {
	type bySolvent struct {
		IDs    []string `yaml:"ids"`
		Name   string   `yaml:"name"`
		CAS    string   `yaml:"cas"`
		Low    float64  `yaml:"low"`
		High   float64  `yaml:"high"`
		Source []string `yaml:"source"`
	}
	var file struct {
		Solvents []struct {
			Name         string   `yaml:"name"`
			CAS          string   `yaml:"cas"`
			Mass         float64  `yaml:"mass"`
			Density      *span    `yaml:"density"`
			Boiling      *span    `yaml:"boiling"`
			Flash        *span    `yaml:"flash"`
			Autoignition *span    `yaml:"autoignition"`
			Vapour20     *span    `yaml:"vapour20"`
			HeatCapacity *span    `yaml:"cp"`
			Vaporisation *span    `yaml:"hvap"`
			Vapour25     *span    `yaml:"vapour25"`
			Burns        *span    `yaml:"burns"`
			Antoine      *Antoine `yaml:"antoine"`
			Peroxide     string   `yaml:"peroxide"`
			Halogenated  bool     `yaml:"halogenated"`
			Miscible     bool     `yaml:"miscible"`
			Codes        []string `yaml:"codes"`
		} `yaml:"solvents"`
		Water    []bySolvent `yaml:"water in solvent"`
		InWater  []bySolvent `yaml:"solvent in water"`
		Miscible []bySolvent `yaml:"miscible"`
		Steam    []struct {
			ID      string  `yaml:"id"`
			Celsius float64 `yaml:"celsius"`
			KPa     float64 `yaml:"kPa"`
		} `yaml:"vapour pressure of water"`
		Rising []struct {
			ID      string  `yaml:"id"`
			Celsius float64 `yaml:"celsius"`
			Percent float64 `yaml:"percent"`
		} `yaml:"2-methyltetrahydrofuran in water"`
		Records [][]string        `yaml:"records"`
		Sources map[string]string `yaml:"sources"`
	}
	readTestdata(t, "solvents.yaml", &file)
	left := newLedger(file.Records)
	defer left.close(t)
	c := compendium(t)
	compared := 0
	for _, w := range file.Solvents {
		left.did(t, "sol-"+w.CAS)
		s, ok := c.Find(w.CAS)
		if !ok {
			t.Errorf("%s (%s) is not in the compendium", w.Name, w.CAS)
			continue
		}
		check := func(what string, v *Value, sp *span, share, slack float64) {
			if sp == nil {
				return
			}
			if v == nil {
				t.Errorf("%s: no %s, published %g to %g", w.Name, what, sp.Low, sp.High)
				return
			}
			low, high := v.Low, v.High
			if v.Value != nil {
				low, high = v.Value, v.Value
			}
			compared++
			if low == nil || high == nil || !sp.within(*low, share, slack) || !sp.within(*high, share, slack) {
				t.Errorf("%s: %s %v, published %g to %g", w.Name, what, show(v), sp.Low, sp.High)
			}
		}
		if m, err := s.MolarMass(); err != nil || math.Abs(m-w.Mass) > 0.005 {
			t.Errorf("%s: %v g/mol, want %v", w.Name, m, w.Mass)
		}
		check("density", s.Density, w.Density, 0.008, 0)
		check("boiling point", s.BoilingPoint, w.Boiling, 0, 1)
		check("flash point", s.FlashPoint, w.Flash, 0, 3)
		check("autoignition", s.Autoignition, w.Autoignition, 0, 5)
		check("heat capacity", s.HeatCapacity, w.HeatCapacity, 0.03, 0)
		check("heat of vaporisation", s.HeatOfVaporisation, w.Vaporisation, 0.01, 0)
		check("flammable limits", s.FlammableLimits, w.Burns, 0, 0.1)
		if w.Vapour25 != nil {
			if p, ok := s.VapourPressure(25); !ok || !w.Vapour25.within(p/10, 0.03, 0) {
				t.Errorf("%s: %v kPa at 25 °C, published %g to %g", w.Name, p/10, w.Vapour25.Low, w.Vapour25.High)
			}
		}
		if a := w.Antoine; a != nil && (s.Antoine == nil || math.Abs(s.Antoine.A-a.A) > 1e-4 || math.Abs(s.Antoine.B-a.B) > 0.01 || math.Abs(s.Antoine.C-a.C) > 0.01) {
			t.Errorf("%s: Antoine %+v, published %+v", w.Name, s.Antoine, a)
		}
		// the classes of flammable liquids of Regulation (EC) No 1272/2008,
		// Annex I, Table 2.6.1; Annex VI may be graver where it is older
		if s.FlashPoint != nil && s.BoilingPoint != nil {
			left.did(t, "bc-flash-class")
			if want := flammable(s); want != "" && !s.HasCode(want) {
				t.Errorf("%s: %v, want %s by its flash and boiling points", w.Name, s.Hazards.Codes, want)
			} else if w.Name == "diethyl ether" && want == "H224" {
				left.did(t, "bc-ether")
			}
		}
		if w.Vapour20 != nil {
			if p, ok := s.VapourPressure(20); !ok || !w.Vapour20.within(p/10, 0.03, 0) {
				t.Errorf("%s: %v kPa at 20 °C, published %g to %g", w.Name, p/10, w.Vapour20.Low, w.Vapour20.High)
			} else {
				compared++
			}
		}
		if len(w.Peroxide) == 1 && (s.PeroxideClass == nil || s.PeroxideClass.Value != w.Peroxide) {
			t.Errorf("%s: peroxide class %v, published %s", w.Name, s.PeroxideClass, w.Peroxide)
		}
		if got := s.Waste != nil && s.Waste.Halogenated; got != w.Halogenated {
			t.Errorf("%s: halogenated %v, want %v", w.Name, got, w.Halogenated)
		}
		if got := s.Water != nil && s.Water.Miscible; got != w.Miscible {
			t.Errorf("%s: miscible with water %v, want %v", w.Name, got, w.Miscible)
		}
		for _, code := range w.Codes {
			if s.Hazards == nil || !slices.ContainsFunc(s.Hazards.Codes, func(x string) bool { return strings.HasPrefix(x, code) || strings.HasPrefix(code, x) }) {
				t.Errorf("%s lacks %s of Annex VI", w.Name, code)
			}
		}
	}
	for _, w := range file.Water {
		left.did(t, w.IDs...)
		s, ok := c.Find(w.CAS)
		if !ok || s.Water == nil || s.Water.Saturated == nil {
			t.Errorf("%s: no figure for the water it takes up, published %g to %g %%", w.Name, w.Low, w.High)
			continue
		}
		v := *s.Water.Saturated
		if strings.Contains(s.Water.Unit, "ppm") {
			v /= 1e4
		}
		sp := &span{Low: w.Low, High: w.High}
		compared++
		if !sp.within(v, 0.05, 0.002) {
			t.Errorf("%s takes up %v %% water, published %g to %g", w.Name, v, w.Low, w.High)
		}
	}
	for _, w := range file.InWater {
		left.did(t, w.IDs...)
		s, ok := c.Find(w.CAS)
		if !ok || s.Water == nil || s.Water.InWater == nil || s.Water.InWater.Value == nil {
			t.Errorf("%s: no figure for what water takes up of it, published %g to %g g per 100 g", w.Name, w.Low, w.High)
			continue
		}
		sp := &span{Low: w.Low, High: w.High}
		compared++
		if !sp.within(*s.Water.InWater.Value, 0.25, 0.02) {
			t.Errorf("%s in water: %v %s, published %g to %g g per 100 g", w.Name, *s.Water.InWater.Value, s.Water.InWater.Unit, w.Low, w.High)
		}
	}
	// Of a series over temperature the entry has one figure: it lies between
	// its neighbours.
	mthf := find(t, "2-methyltetrahydrofuran").Water.InWater
	for i, w := range file.Rising {
		left.did(t, w.ID)
		at := 20.0
		if k, ok := kelvin(mthf.At); ok {
			at = k - zeroCelsius
		}
		share := *mthf.Value / (100 + *mthf.Value) * 100
		if i > 0 && at >= file.Rising[i-1].Celsius && at <= w.Celsius && (share > file.Rising[i-1].Percent+0.5 || share < w.Percent-0.5) {
			t.Errorf("2-methyltetrahydrofuran: %.1f %% in water at %g °C, published %g at %g °C and %g at %g °C", share, at, file.Rising[i-1].Percent, file.Rising[i-1].Celsius, w.Percent, w.Celsius)
		}
	}
	for _, w := range file.Steam {
		left.did(t, w.ID)
		if p, ok := find(t, "water").VapourPressure(w.Celsius); !ok || math.Abs(p/10-w.KPa) > 0.01*w.KPa {
			t.Errorf("water at %g °C: %v kPa, published %g", w.Celsius, p/10, w.KPa)
		}
	}
	for _, w := range file.Miscible {
		left.did(t, w.IDs...)
		if s, ok := c.Find(w.CAS); !ok || s.Water == nil || !s.Water.Miscible {
			t.Errorf("%s is miscible with water", w.Name)
		}
	}
	// the spans also catch figures put on the wrong side, of which 14.4 % for
	// 2-methyltetrahydrofuran and 7 % for diethyl ether are in print
	if compared < 200 {
		t.Errorf("only %d figures were compared", compared)
	}
	t.Logf("%d figures compared", compared)
}

// The classes of flammable liquids of Regulation (EC) No 1272/2008, Annex I,
// Table 2.6.1, for every liquid with a flash point: the code must be there,
// or that of a liquid that ignites by itself.
func TestFlammableClass(t *testing.T) {
	compared := 0
	for _, s := range compendium(t).All() {
		want := flammable(s)
		if s.Phase != "liquid" || want == "" || s.JudgedAs != "" {
			continue
		}
		compared++
		if !s.HasCode(want) && !s.HasCode("H224") && !s.HasCode("H250") && !(want == "H226" && s.HasCode("H225")) {
			t.Errorf("%s: no %s, with a flash point of %s and a boiling point of %s", s.Name, want, show(s.FlashPoint), show(s.BoilingPoint))
		}
	}
	if compared < 200 {
		t.Errorf("only %d liquids compared", compared)
	}
}

// flammable gives the class that the regulation's table gives a liquid with a
// flash and a boiling point, by its lowest figures; empty for none.
func flammable(s *Substance) string {
	flash, ok := lowest(s.FlashPoint)
	boils, known := lowest(s.BoilingPoint)
	switch {
	case !ok || flash >= 60: // the table ends at 60 °C, where sources differ by a degree
		return ""
	case flash >= 23:
		return "H226"
	case known && boils <= 35:
		return "H224"
	}
	return "H225"
}

func lowest(v *Value) (float64, bool) {
	switch {
	case v == nil:
		return 0, false
	case v.Value != nil:
		return *v.Value, true
	case v.Low != nil:
		return *v.Low, true
	}
	return 0, false
}

func show(v *Value) string {
	switch {
	case v == nil:
		return "nothing"
	case v.Value != nil:
		return fmt.Sprintf("%g %s", *v.Value, v.Unit)
	case v.Low != nil && v.High != nil:
		return fmt.Sprintf("%g to %g %s", *v.Low, *v.High, v.Unit)
	}
	return "nothing"
}

var appendixV = []struct{ group, a, b string }{
	{"1: alkali and acid", "sodium hydroxide", "sulfuric acid"},
	{"1: alkali and acid", "potassium hydroxide", "hydrochloric acid"},
	{"2: reactive metal and caustic or acid", "aluminium", "hydrochloric acid"},
	{"2: reactive metal and acid", "zinc", "sulfuric acid"},
	{"2: reactive metal and acid", "sodium", "hydrochloric acid"},
	{"2: hydride and acid", "sodium hydride", "hydrochloric acid"},
	{"3: water and a water-reactive substance", "water", "lithium"},
	{"3: water and a water-reactive substance", "water", "calcium carbide"},
	{"3: water and a water-reactive substance", "water", "sodium hydride"},
	{"3: alcohol and a water-reactive substance", "methanol", "potassium"},
	{"3: water and a water-reactive substance", "water", "thionyl chloride"},
	{"3: water and a water-reactive substance", "water", "phosphorus trichloride"},
	{"4: alcohol or aldehyde and an alkali metal", "acetaldehyde", "sodium"},
	{"4: halogenated hydrocarbon and an alkali metal", "dichloromethane", "sodium"},
	{"4: nitro compound and an alkali metal", "nitromethane", "potassium"},
	{"5: cyanide and acid", "sodium cyanide", "hydrochloric acid"},
	{"5: sulfide and acid", "sodium sulfide", "sulfuric acid"},
	{"6: oxidiser and organic acid", "potassium permanganate", "acetic acid"},
	{"6: oxidiser and organic solvent", "nitric acid", "acetone"},
	{"6: oxidiser and a metal", "hydrogen peroxide", "zinc"},
}

// The pairs of 40 CFR Part 264 Appendix V, by substances that stand for the
// two sides of each group.
func TestAppendixV(t *testing.T) {
	c := compendium(t)
	for _, p := range appendixV {
		a, okA := c.Find(p.a)
		b, okB := c.Find(p.b)
		if !okA || !okB {
			t.Errorf("%s or %s is not in the compendium", p.a, p.b)
			continue
		}
		if k := c.Clash(a, b); len(k) == 0 {
			t.Errorf("group %s: %s with %s raises nothing", p.group, p.a, p.b)
		}
		if k := c.Clash(b, a); len(k) == 0 {
			t.Errorf("group %s: %s with %s raises nothing the other way round", p.group, p.b, p.a)
		}
	}
	// near misses: what shares a bottle every day
	for _, p := range [][2]string{{"toluene", "ethyl acetate"}, {"hexane", "diethyl ether"}, {"sodium chloride", "water"}, {"dichloromethane", "chloroform"}, {"ammonium chloride", "water"}, {"magnesium sulfate", "sodium chloride"}} {
		a, _ := c.Find(p[0])
		b, _ := c.Find(p[1])
		for _, k := range c.Clash(a, b) {
			if k.Grave {
				t.Errorf("%s with %s: %s (%s)", p[0], p[1], k.Consequence, k.Source)
			}
		}
	}
}
