package substance

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"testing"
)

// hasCode reports a code, H360 standing for H360D and the other way round.
func hasCode(codes []string, want string) bool {
	return slices.ContainsFunc(codes, func(c string) bool { return strings.HasPrefix(c, want) || strings.HasPrefix(want, c) })
}

// ledger strikes off the records of a collection of published figures as tests
// compare them: what is left at the end is a failure, not a gap.
type ledger map[string]bool

func newLedger(records [][]string) ledger {
	l := ledger{}
	for _, id := range slices.Concat(records...) {
		l[id] = false
	}
	return l
}

func (l ledger) did(t *testing.T, ids ...string) {
	t.Helper()
	for _, id := range ids {
		if _, ok := l[id]; !ok {
			t.Errorf("%s is no record of the collection", id)
		}
		l[id] = true
	}
}

func (l ledger) close(t *testing.T) {
	t.Helper()
	if len(l) == 0 {
		t.Error("the collection has no records")
	}
	for _, id := range slices.Sorted(maps.Keys(l)) {
		if !l[id] {
			t.Errorf("%s is compared with nothing", id)
		}
	}
}

// Reagents against Annex VI, NITE, stoichiometry, the trade's strengths and the
// Emergency Response Guidebook; the source of each stands in
// testdata/reagents.yaml.
func TestReagentsAgainstLiterature(t *testing.T) {
	var file struct {
		Reagents []struct {
			Name       string     `yaml:"name"`
			CAS        string     `yaml:"cas"`
			Mass       float64    `yaml:"mass"`
			AttackedBy []string   `yaml:"attacked by"`
			Pyrophoric string     `yaml:"pyrophoric"`
			Gases      []Gas      `yaml:"gases"`
			Water      *float64   `yaml:"water"`
			Law        [][]string `yaml:"law"`
			NITE       []string   `yaml:"nite"`
			Sheets     []string   `yaml:"sheets"`
			Source     []string   `yaml:"source"`
		} `yaml:"reagents"`
		Strengths []struct {
			ID       string   `yaml:"id"`
			Name     string   `yaml:"name"`
			Molarity float64  `yaml:"molarity"`
			In       string   `yaml:"in"`
			Percent  float64  `yaml:"percent"`
			Density  float64  `yaml:"density"`
			Source   []string `yaml:"source"`
		} `yaml:"strengths"`
		Sold []struct {
			ID         string    `yaml:"id"`
			Name       string    `yaml:"name"`
			In         string    `yaml:"in"`
			Molarities []float64 `yaml:"molarities"`
			Source     []string  `yaml:"source"`
		} `yaml:"sold"`
		Guidebook []struct {
			Name   string   `yaml:"name"`
			UN     int      `yaml:"un"`
			Gases  []string `yaml:"gases"`
			Source []string `yaml:"source"`
		} `yaml:"guidebook"`
		Alkyls []struct {
			ID     string   `yaml:"id"`
			Names  []string `yaml:"names"`
			Says   string   `yaml:"says"`
			Source []string `yaml:"source"`
		} `yaml:"solutions of alkyls"`
		Records [][]string        `yaml:"records"`
		Sources map[string]string `yaml:"sources"`
	}
	readTestdata(t, "reagents.yaml", &file)
	left := newLedger(file.Records)
	defer left.close(t)
	c := compendium(t)
	for _, r := range file.Reagents {
		left.did(t, "rg-"+r.CAS)
		s, ok := c.Find(r.CAS)
		if !ok {
			t.Errorf("%s (%s) is not in the compendium", r.Name, r.CAS)
			continue
		}
		if m, err := s.MolarMass(); err != nil || math.Abs(m-r.Mass) > 0.006 {
			t.Errorf("%s: %.3f g/mol, want %.3f (%v)", r.Name, m, r.Mass, err)
		}
		for _, by := range r.AttackedBy {
			if !slices.ContainsFunc(s.AttackedBy, func(a Attack) bool { return a.By == by }) {
				t.Errorf("%s: %s is said to leave it alone", r.Name, by)
			}
		}
		if s.Pyrophoric != nil && s.Pyrophoric.Value == "no" && r.Pyrophoric != "no" {
			t.Errorf("%s: pyrophoric no, elsewhere %s", r.Name, r.Pyrophoric)
		}
		if r.Pyrophoric == "yes" && (s.Pyrophoric == nil || s.Pyrophoric.Value == "no") {
			t.Errorf("%s: pyrophoric elsewhere", r.Name)
		}
		own := map[string]float64{}
		water := 0.0
		if s.Hydrolysis != nil {
			for _, g := range s.Hydrolysis.Emitted() {
				own[g.Gas] += g.Moles
			}
			water = s.Hydrolysis.Water
		}
		want := map[string]float64{}
		for _, g := range r.Gases {
			want[gasName(g.Gas)] += g.Moles
		}
		for g, n := range want {
			if r.Water != nil && *r.Water == 0 {
				// decomposition, not hydrolysis: the gas must be named
				if !gives(s, g) {
					t.Errorf("%s: no word of %s", r.Name, g)
				}
			} else if math.Abs(own[g]-n) > 0.01 {
				t.Errorf("%s: %g mol of %s, want %g", r.Name, own[g], g, n)
			}
		}
		for g := range own {
			if want[g] == 0 {
				t.Errorf("%s: %g mol of %s, elsewhere none", r.Name, own[g], g)
			}
		}
		if r.Water != nil && math.Abs(water-*r.Water) > 0.01 {
			t.Errorf("%s: %g mol of water, want %g", r.Name, water, *r.Water)
		}
		var codes []string
		if s.Hazards != nil {
			codes = slices.Clone(s.Hazards.Codes)
		}
		missing := func(list []string) []string {
			var out []string
			for _, w := range list {
				if !hasCode(codes, w) {
					out = append(out, w)
				}
			}
			return out
		}
		// several lists are several forms (powder, turnings): one must fit
		var lacks []string
		fits := len(r.Law) == 0
		for _, list := range r.Law {
			lacks = missing(list)
			fits = fits || len(lacks) == 0
		}
		if !fits {
			t.Errorf("%s: %v lacks %v of Annex VI", r.Name, codes, lacks)
		}
		// NITE classifies what is sold, often a solution; of both only the
		// physical hazards are held against the entry.
		for _, x := range s.Solutions {
			codes = append(codes, x.Codes...)
		}
		for _, w := range slices.Concat(r.NITE, r.Sheets) {
			if physical := strings.HasPrefix(w, "H2") || w == "EUH014"; physical && !hasCode(codes, w) && !(w == "EUH014" && hasCode(codes, "H260")) {
				t.Errorf("%s: %v lacks the physical hazard %s", r.Name, codes, w)
			}
		}
	}
	if len(file.Reagents) < 100 {
		t.Errorf("only %d reagents", len(file.Reagents))
	}
	solutions := func(name string) []Sold {
		s, ok := c.Find(name)
		if !ok {
			t.Errorf("%s is not in the compendium", name)
			return nil
		}
		return s.Solutions
	}
	molar := func(x Sold) (float64, string) {
		v, unit, _ := numberUnit(x.As)
		solvent, ok := strings.CutPrefix(unit, "M in ")
		if !ok {
			return 0, ""
		}
		return v, solvent
	}
	for _, w := range file.Strengths {
		weighed := false
		for _, x := range solutions(w.Name) {
			v, solvent := molar(x)
			if v != w.Molarity || !strings.HasPrefix(solvent, w.In) || x.Density == nil {
				continue
			}
			weighed = true
			m, err := find(t, w.Name).MolarMass()
			if percent := v * m / *x.Density / 10; err != nil || math.Abs(percent-w.Percent) > math.Max(1, 0.035*w.Percent) {
				t.Errorf("%s %s is %.1f %% by mass, elsewhere %g %%", w.Name, x.As, percent, w.Percent)
			}
			if w.Density > 0 && math.Abs(*x.Density-w.Density) > 0.02*w.Density {
				t.Errorf("%s %s has %g g/mL, elsewhere %g", w.Name, x.As, *x.Density, w.Density)
			}
		}
		if !weighed {
			t.Errorf("%s %g M in %s: not sold with a density in the entry", w.Name, w.Molarity, w.In)
		}
		left.did(t, w.ID)
	}
	for _, w := range file.Sold {
		left.did(t, w.ID)
		for _, m := range w.Molarities {
			if !slices.ContainsFunc(solutions(w.Name), func(x Sold) bool { v, in := molar(x); return v == m && strings.HasPrefix(in, w.In) }) {
				t.Errorf("%s %g M in %s is sold and not in the entry", w.Name, m, w.In)
			}
		}
	}
	for _, a := range file.Alkyls {
		left.did(t, a.ID)
		for _, name := range a.Names {
			if p := find(t, name).Pyrophoric; p == nil || !strings.Contains(p.When, a.Says) {
				t.Errorf("%s: pyrophoric %+v, want word of %s", name, p, a.Says)
			}
		}
	}
	for _, g := range file.Guidebook {
		left.did(t, fmt.Sprintf("erg-%d", g.UN))
		s, _ := c.Lookup(g.Name)
		if s == nil {
			t.Errorf("%s (UN %d) is not in the compendium", g.Name, g.UN)
			continue
		}
		for _, gas := range g.Gases {
			if !gives(s, gas) {
				t.Errorf("%s (UN %d) gives %s: neither its hydrolysis nor an attack says so", g.Name, g.UN, gas)
			}
		}
	}
}

// gives reports a gas among what hydrolysis or any attack sets free.
func gives(s *Substance, gas string) bool {
	for _, g := range s.Hydrolysis.Emitted() {
		if g.Gas == gas {
			return true
		}
	}
	for _, a := range s.AttackedBy {
		if strings.Contains(a.Gives, gas) {
			return true
		}
	}
	return false
}

type agentSpan struct {
	IDs     []string `yaml:"ids"`
	Agent   string   `yaml:"agent"`
	Low     float64  `yaml:"low"`
	High    float64  `yaml:"high"`
	Load    float64  `yaml:"load"`
	Minutes float64  `yaml:"minutes"`
	By      string   `yaml:"by"`
	Source  []string `yaml:"source"`
}

// Drying against Williams and Lawton, Burfield and Smithers, Robertson,
// stoichiometry and the reference works; sources in testdata/drying.yaml.
func TestDryingAgainstLiterature(t *testing.T) {
	var file struct {
		Residual []struct {
			ID       string   `yaml:"id"`
			Solvent  string   `yaml:"solvent"`
			Agent    string   `yaml:"agent"`
			Residual float64  `yaml:"residual"`
			Load     float64  `yaml:"load"`
			Hours    float64  `yaml:"hours"`
			Start    float64  `yaml:"start"`
			Source   []string `yaml:"source"`
		} `yaml:"residual"`
		WetEther []agentSpan `yaml:"wet ether"`
		Capacity []agentSpan `yaml:"capacity"`
		Openings []struct {
			IDs    []string `yaml:"ids"`
			Sieve  string   `yaml:"sieve"`
			Value  float64  `yaml:"value"`
			Source []string `yaml:"source"`
		} `yaml:"openings"`
		Activation []agentSpan `yaml:"activation"`
		Gas        []agentSpan `yaml:"gas"`
		Pairs      []struct {
			ID      string   `yaml:"id"`
			IDs     []string `yaml:"ids"`
			Agents  []string `yaml:"agents"`
			Liquids []string `yaml:"liquids"`
			Verdict string   `yaml:"verdict"`
			Source  []string `yaml:"source"`
		} `yaml:"pairs"`
		Peroxides []struct {
			ID      string   `yaml:"id"`
			Agents  []string `yaml:"agents"`
			Liquids []string `yaml:"liquids"`
			Source  []string `yaml:"source"`
		} `yaml:"peroxides"`
		Compositions []struct {
			ID     string   `yaml:"id"`
			Sieve  string   `yaml:"sieve"`
			Is     string   `yaml:"is"`
			Source []string `yaml:"source"`
		} `yaml:"compositions"`
		Records [][]string        `yaml:"records"`
		Sources map[string]string `yaml:"sources"`
	}
	readTestdata(t, "drying.yaml", &file)
	left := newLedger(file.Records)
	defer left.close(t)
	c := compendium(t)
	for _, p := range file.Peroxides {
		left.did(t, p.ID)
		for _, liquid := range p.Liquids {
			if s := find(t, liquid); s.PeroxideClass == nil || !s.TestForPeroxides() {
				t.Errorf("%s: %s wants a test for peroxides before it is dried over a metal or a hydride", p.ID, liquid)
			}
		}
		for _, agent := range p.Agents {
			if len(c.Clash(find(t, agent), find(t, "tert-butyl hydroperoxide"))) == 0 {
				t.Errorf("%s: %s with a peroxide raises nothing", p.ID, agent)
			}
		}
	}
	for _, w := range file.Compositions {
		left.did(t, w.ID)
		if s := find(t, w.Sieve); !strings.Contains(s.Note, w.Is) {
			t.Errorf("%s: %q, want %s", w.Sieve, s.Note, w.Is)
		}
	}
	for _, r := range file.Residual {
		left.did(t, r.ID)
		start, load := r.Start, r.Load
		if start == 0 {
			start = 107 // of the same paper
		}
		if load == 0 {
			load = 20
		}
		hours := math.Max(r.Hours, 1)
		// Two figures for two times stand in the sources: the estimate may
		// promise less than the figure, never a drier liquid (0.5 ppm of
		// rounding apart), and not more than twice the water.
		ppm, basis, _, ok := c.ResidualWater(find(t, r.Solvent), r.Agent, load, hours, start)
		if !ok || ppm < r.Residual-1 {
			t.Errorf("%s: %s over %s: %.1f ppm (%s), measured %g", r.ID, r.Solvent, r.Agent, ppm, basis, r.Residual)
		}
		if r.Hours != 48 || r.Load > 0 {
			if ppm > 2*r.Residual {
				t.Errorf("%s: %s over %s: %.1f ppm (%s), measured %g", r.ID, r.Solvent, r.Agent, ppm, basis, r.Residual)
			}
		}
	}
	ether := find(t, "diethyl ether")
	for _, w := range file.WetEther {
		left.did(t, w.IDs...)
		const start = 12600 // saturated
		ppm, basis, _, ok := c.ResidualWater(ether, w.Agent, w.Load, w.Minutes/60, start)
		removed := (1 - ppm/start) * 100
		if !ok || removed > w.High+0.5 {
			t.Errorf("wet ether over %s: %.0f %% removed (%s), measured %g to %g", w.Agent, removed, basis, w.Low, w.High)
		}
		// calcium sulfate and beads stop for want of capacity
		if removed < 0.5*w.Low {
			t.Errorf("wet ether over %s: only %.0f %% removed (%s), measured %g to %g", w.Agent, removed, basis, w.Low, w.High)
		}
	}
	// The working capacity stays at or below the most that is possible, and the
	// most agrees; an entry's own figure lies within the span.
	compared := 0
	for _, w := range file.Capacity {
		left.did(t, w.IDs...)
		_, a, isAgent := c.Agent(w.Agent)
		s, _ := c.Find(w.Agent)
		if !isAgent && s == nil {
			t.Errorf("%s is no drying agent", w.Agent)
			continue
		}
		if v, ok := a.Capacity.number(); ok {
			compared++
			if v > w.High*1.01 {
				t.Errorf("%s: capacity %g, at most %g", w.Agent, v, w.High)
			}
		}
		if v, ok := a.Limit.number(); ok {
			compared++
			if v < w.Low*0.99 || v > w.High*1.01 {
				t.Errorf("%s: limit %g, published %g to %g", w.Agent, v, w.Low, w.High)
			}
		}
		if s == nil || s.Desiccant == nil || s.Desiccant.Capacity == nil {
			t.Errorf("%s: its entry says nothing of its capacity", w.Agent)
			continue
		}
		compared++
		if v := *s.Desiccant.Capacity; v < w.Low*0.99 || v > w.High*1.01 {
			t.Errorf("%s: the entry's capacity %g, published %g to %g", w.Agent, v, w.Low, w.High)
		}
	}
	if compared < 30 {
		t.Errorf("only %d capacities compared", compared)
	}
	for _, w := range file.Openings {
		left.did(t, w.IDs...)
		_, a, ok := c.Agent(w.Sieve)
		if v, known := a.Opening.number(); !ok || !known || v != w.Value || a.Opening.Unit != "Å" {
			t.Errorf("%s: opening %v, want %g Å", w.Sieve, a.Opening, w.Value)
		}
	}
	for _, w := range file.Activation {
		left.did(t, w.IDs...)
		_, a, ok := c.Agent(w.Agent)
		if !ok || a.Activate == nil {
			t.Errorf("%s: no activation", w.Agent)
			continue
		}
		low, rest, ok := numberUnit(a.Activate.At)
		high := low
		if tail, isSpan := strings.CutPrefix(rest, "to "); isSpan {
			high, _, ok = numberUnit(tail)
		}
		if !ok || low < w.Low || high > w.High {
			t.Errorf("%s: activated at %s, published %g to %g °C", w.Agent, a.Activate.At, w.Low, w.High)
		}
	}
	gas := map[string]*span{}
	for _, w := range file.Gas {
		left.did(t, w.IDs...)
		name := strings.TrimSuffix(w.Agent, ", fused")
		if g := gas[name]; g == nil {
			gas[name] = &span{Low: w.Low, High: w.High}
		} else {
			g.Low, g.High = math.Min(g.Low, w.Low), math.Max(g.High, w.High)
		}
	}
	for name, w := range gas {
		_, a, _ := c.Agent(name)
		if v, ok := a.Air.number(); !ok || !w.within(v, 0.001, 0) || a.Air.Unit != "mg/L" {
			t.Errorf("air over %s keeps %v, published %g to %g mg/L", name, a.Air, w.Low, w.High)
		}
	}
	rank := map[string]int{"": 0, "unsuitable": 1, "avoid": 1, "forbidden": 2}
	for _, p := range file.Pairs {
		left.did(t, append(p.IDs, p.ID)...)
		for _, agent := range p.Agents {
			for _, liquid := range p.Liquids {
				s := find(t, liquid)
				if p.Verdict == "clash" {
					if len(c.Clash(find(t, agent), s)) == 0 {
						t.Errorf("%s: %s with %s raises nothing", p.ID, agent, liquid)
					}
					continue
				}
				worst := ""
				var says []string
				for _, v := range c.MayDry(s, agent) {
					if rank[v.Word] > rank[worst] || worst == "" {
						worst = v.Word
					}
					says = append(says, v.Word+": "+v.Because)
				}
				switch p.Verdict {
				case "accepted":
					if worst != "" {
						t.Errorf("%s: %s on %s is accepted practice, not %q", p.ID, agent, liquid, says)
					}
				case "poor":
					ppm, _, _, ok := c.ResidualWater(s, agent, 10, 0.25, 12000)
					if ok && ppm < 12000*0.7 {
						t.Errorf("%s: %s in %s leaves %.0f of 12000 ppm: too good", p.ID, agent, liquid, ppm)
					}
					if !ok && worst == "" {
						t.Errorf("%s: nothing is known of %s in %s", p.ID, agent, liquid)
					}
				case "warning":
					if worst == "" || worst == "forbidden" {
						t.Errorf("%s: %s on %s: %q, guides differ", p.ID, agent, liquid, says)
					}
				case "forbidden":
					if worst == "" {
						t.Errorf("%s: nothing against %s on %s", p.ID, agent, liquid)
					}
				default:
					if worst == "" {
						t.Errorf("%s: nothing against %s on %s, published %s", p.ID, agent, liquid, p.Verdict)
					}
				}
			}
		}
	}
}

// Peroxide classes and limits against university manuals and Annex VI; sources
// in testdata/peroxide.yaml.
func TestPeroxidesAgainstLiterature(t *testing.T) {
	var file struct {
		Classes []struct {
			ID      string   `yaml:"id"`
			Class   string   `yaml:"class"`
			Members []string `yaml:"members"`
			Source  []string `yaml:"source"`
		} `yaml:"classes"`
		Limits []struct {
			Limit  string   `yaml:"limit"`
			IDs    []string `yaml:"ids"`
			Low    float64  `yaml:"low"`
			High   float64  `yaml:"high"`
			Unit   string   `yaml:"unit"`
			Source []string `yaml:"source"`
		} `yaml:"limits"`
		EUH019 []struct {
			Has     bool     `yaml:"has"`
			IDs     []string `yaml:"ids"`
			Members []string `yaml:"members"`
			Source  []string `yaml:"source"`
		} `yaml:"EUH019"`
		Records [][]string        `yaml:"records"`
		Sources map[string]string `yaml:"sources"`
	}
	readTestdata(t, "peroxide.yaml", &file)
	left := newLedger(file.Records)
	defer left.close(t)
	c := compendium(t)
	classes := map[string]string{}
	for _, cl := range file.Classes {
		left.did(t, cl.ID)
		for _, m := range cl.Members {
			// a group of the list stands for a substance after the sign
			if _, of, ok := strings.Cut(m, " = "); ok {
				m = of
			}
			name, _, _ := strings.Cut(m, " (")
			name = strings.TrimSuffix(name, " metal")
			classes[name] += cl.Class // butadiene is of A and of C
		}
	}
	for name, class := range classes {
		s, ok := c.Find(name)
		if !ok {
			t.Errorf("%s (class %s) is not in the compendium", name, class)
			continue
		}
		if s.PeroxideClass == nil || !strings.Contains(class, s.PeroxideClass.Value) {
			t.Errorf("%s: peroxide class %v, published %s", name, s.PeroxideClass, class)
		}
	}
	for _, l := range file.Limits {
		left.did(t, l.IDs...)
		v, ok := DefaultSite().Limits[l.Limit]
		if n, known := v.number(); !ok || !known || n < l.Low || n > l.High || v.Unit != l.Unit {
			t.Errorf("%s: %v, published %g to %g %s", l.Limit, show(&v), l.Low, l.High, l.Unit)
		}
	}
	for _, e := range file.EUH019 {
		left.did(t, e.IDs...)
		for _, m := range e.Members {
			if s := find(t, m); s.Hazards == nil || hasCode(s.Hazards.Codes, "EUH019") != e.Has {
				t.Errorf("%s: EUH019 %v, want %v", m, !e.Has, e.Has)
			}
		}
	}
}

// Atomic weights against IUPAC 2021; sources in testdata/atomic-weights.yaml.
func TestWeightsAgainstIUPAC(t *testing.T) {
	var file struct {
		Elements []struct {
			Symbol      string   `yaml:"symbol"`
			Value       float64  `yaml:"value"`
			Uncertainty float64  `yaml:"uncertainty"`
			Standard    string   `yaml:"standard"`
			Source      []string `yaml:"source"`
		} `yaml:"elements"`
		Sources map[string]string `yaml:"sources"`
	}
	readTestdata(t, "atomic-weights.yaml", &file)
	if len(file.Elements) < 48 {
		t.Fatalf("only %d elements", len(file.Elements))
	}
	weights := elements().weight
	for _, e := range file.Elements {
		if w := weights[e.Symbol]; w != e.Value {
			t.Errorf("%s weighs %v, want %v", e.Symbol, w, e.Value)
		}
		var low, high float64
		if n, _ := fmt.Sscanf(e.Standard, "[%f, %f]", &low, &high); n == 2 && (weights[e.Symbol] < low-e.Uncertainty || weights[e.Symbol] > high+e.Uncertainty) {
			t.Errorf("%s weighs %v, outside %s", e.Symbol, weights[e.Symbol], e.Standard)
		}
	}
}

// The compatibility chart pair by pair, and pairs known by name, both ways
// round; sources in testdata/waste.yaml.
func TestWasteAgainstLiterature(t *testing.T) {
	var file struct {
		Chart []struct {
			Source []string   `yaml:"source"`
			Pairs  [][]string `yaml:"pairs"`
		} `yaml:"chart"`
		Groups map[string]string `yaml:"groups"`
		Pairs  []struct {
			ID     string   `yaml:"id"`
			A      string   `yaml:"a"`
			B      string   `yaml:"b"`
			Says   string   `yaml:"says"`
			Source []string `yaml:"source"`
		} `yaml:"pairs"`
		Records [][]string        `yaml:"records"`
		Sources map[string]string `yaml:"sources"`
	}
	readTestdata(t, "waste.yaml", &file)
	left := newLedger(file.Records)
	defer left.close(t)
	c := compendium(t)
	for _, p := range appendixV {
		left.did(t, "cfr-"+p.group[:1])
	}
	// a bottle of aluminium chloride that took up moisture is under pressure
	left.did(t, "pair-27")
	if s := find(t, "aluminium chloride"); !gives(s, "hydrogen chloride") || !slices.Contains(s.Cautions, "pressure") || !strings.Contains(s.Note, "pressure") {
		t.Errorf("aluminium chloride: no word of hydrogen chloride under pressure in an old bottle")
	}
	// an ordering rule of waste programmes, not a reaction: kept apart by the
	// containers, and no clash
	left.did(t, "pair-43")
	for _, k := range c.Clash(find(t, "dichloromethane"), find(t, "hexane")) {
		t.Errorf("dichloromethane with hexane: %s", k.Consequence)
	}
	if !slices.ContainsFunc(DefaultSite().Containers, func(k Container) bool {
		return slices.Contains(k.Matter, "organic") && slices.Contains(k.Refuses, "halogenated")
	}) {
		t.Error("no container keeps halogen-free solvent apart")
	}
	r := c.reactivity()
	// the chart bars the last class from every other by rule
	left.did(t, "epa-107-any")
	for _, name := range []string{"acetone", "toluene", "sodium hydroxide", "acetic acid"} {
		if !slices.ContainsFunc(c.Clash(find(t, "sodium hydride"), find(t, name)), func(k Conflict) bool { return k.By == "chart" }) {
			t.Errorf("a water-reactive substance with %s: the chart says nothing", name)
		}
	}
	for n, name := range file.Groups {
		if fmt.Sprint(r.Groups[name]) != n {
			t.Errorf("group %s is %q: the chart has %d for it", n, name, r.Groups[name])
		}
	}
	for _, part := range file.Chart {
		for _, text := range slices.Concat(part.Pairs...) {
			a, b, codes, ok := chartPair(text)
			if !ok {
				t.Fatalf("pair %q cannot be read", text)
			}
			left.did(t, fmt.Sprintf("epa-%d-%d", a, b))
			hit := r.numbers[[2]int{min(a, b), max(a, b)}]
			got, want := slices.Sorted(slices.Values(hit.codes)), slices.Sorted(slices.Values(codes))
			if !slices.Equal(got, want) {
				t.Errorf("groups %d and %d: %v, published %v", a, b, got, want)
			}
		}
	}
	for _, p := range file.Pairs {
		left.did(t, p.ID)
		a, b := find(t, p.A), find(t, p.B)
		if len(c.Clash(a, b)) == 0 || len(c.Clash(b, a)) == 0 {
			t.Errorf("%s: %s with %s raises nothing: %s", p.ID, p.A, p.B, p.Says)
		}
	}
}

// What must stay silent, as the common practice of every laboratory has it: a
// grave clash by name or keep-from here would be a false alarm. The chart is
// left out where it bars a class by rule (107 with anything).
func TestNearMisses(t *testing.T) {
	c := compendium(t)
	for _, p := range [][2]string{
		{"sodium cyanoborohydride", "methanol"}, {"sodium triacetoxyborohydride", "acetic acid"}, {"sodium triacetoxyborohydride", "1,2-dichloroethane"},
		{"oxalyl chloride", "N,N-dimethylformamide"}, {"triethylsilane", "trifluoroacetic acid"},
		{"n-butyllithium", "hexane"}, {"n-butyllithium", "tetrahydrofuran"}, {"phenylmagnesium bromide", "diethyl ether"},
		{"magnesium", "bromobenzene"}, {"magnesium", "1-bromobutane"}, {"magnesium", "1,2-dibromoethane"}, {"calcium hydride", "dichloromethane"},
		{"titanium tetrachloride", "dichloromethane"}, {"chlorotrimethylsilane", "triethylamine"}, {"diisobutylaluminium hydride", "dichloromethane"},
		{"diethylaluminium chloride", "dichloromethane"}, {"pyridine", "acetic anhydride"}, {"sodium hydride", "tetrahydrofuran"}, {"copper(I) iodide", "methyllithium"},
		{"dichloromethane", "acetone"}, {"ethyl acetate", "hexane"}, {"sodium sulfate", "ethyl acetate"}, {"sodium bicarbonate", "ethyl acetate"},
	} {
		for _, k := range c.Clash(find(t, p[0]), find(t, p[1])) {
			if k.Grave && k.By != "chart" {
				t.Errorf("%s with %s: %s (%s, %s)", p[0], p[1], k.Consequence, k.By, k.Source)
			}
		}
	}
	// a reductive amination in dilute acetic acid is no reason to keep the two
	// apart in the flask, though the leftovers stay out of the acid bottle
	for _, k := range c.Clash(find(t, "sodium cyanoborohydride"), find(t, "acetic acid")) {
		if k.By == "keep from" {
			t.Errorf("sodium cyanoborohydride with acetic acid: %s", k.Because)
		}
	}
	// the cold sulfoxide oxidation must be told apart in words
	cold := func(with string) bool {
		return slices.ContainsFunc(c.Clash(find(t, with), find(t, "dimethyl sulfoxide")), func(k Conflict) bool { return strings.Contains(k.Because, "-60 °C") })
	}
	if !cold("oxalyl chloride") || cold("thionyl chloride") || cold("phosphoryl chloride") {
		t.Error("below -60 °C only oxalyl chloride goes with dimethyl sulfoxide")
	}
	// and what looks like them and is none
	for _, p := range [][2]string{
		{"sodium borohydride", "hydrochloric acid"}, {"sodium cyanoborohydride", "hydrochloric acid"}, {"sodium borohydride", "sulfuric acid"},
		{"thionyl chloride", "dimethyl sulfoxide"}, {"phosphoryl chloride", "dimethyl sulfoxide"}, {"acetyl chloride", "dimethyl sulfoxide"}, {"benzoyl chloride", "dimethyl sulfoxide"},
		{"calcium hydride", "chloroform"}, {"sodium hydride", "dimethyl sulfoxide"}, {"chloroform", "acetone"},
	} {
		if !slices.ContainsFunc(c.Clash(find(t, p[0]), find(t, p[1])), func(k Conflict) bool { return k.By != "chart" }) {
			t.Errorf("%s with %s raises nothing by name", p[0], p[1])
		}
	}
}

// Heats of hydrolysis against Hess sums; sources in testdata/thermo.yaml.
func TestHeatsAgainstHess(t *testing.T) {
	var file struct {
		Heats []struct {
			Name      string   `yaml:"name"`
			Low       float64  `yaml:"low"`
			High      float64  `yaml:"high"`
			Equations []string `yaml:"equations"`
			Source    []string `yaml:"source"`
		} `yaml:"heats"`
		Kinds []struct {
			Name     string   `yaml:"name"`
			Value    float64  `yaml:"value"`
			Equation string   `yaml:"equation"`
			Source   []string `yaml:"source"`
		} `yaml:"kinds"`
		Sources map[string]string `yaml:"sources"`
	}
	readTestdata(t, "thermo.yaml", &file)
	c := compendium(t)
	for _, w := range file.Heats {
		s, ok := c.Find(w.Name)
		if !ok || s.Hydrolysis == nil || s.Hydrolysis.Heat == nil {
			t.Errorf("%s: no heat of hydrolysis, Hess %g to %g kJ/mol", w.Name, w.Low, w.High)
			continue
		}
		// 1 kJ/mol is the rounding of the tables the sums rest on
		if h := *s.Hydrolysis.Heat; h < w.Low-1 || h > w.High+1 {
			t.Errorf("%s: %g kJ/mol, Hess %g to %g", w.Name, h, w.Low, w.High)
		}
	}
	var heats struct {
		Sources   map[string]Source `yaml:"sources"`
		Reactions map[string]struct {
			Heat   float64  `yaml:"heat"`
			Note   string   `yaml:"note"`
			Source []string `yaml:"source"`
		} `yaml:"reactions"`
		Formulas     any `yaml:"formulas"`
		Complexation any `yaml:"complexation"`
		Lithium      any `yaml:"complexation of lithium"`
	}
	if found := readTable(c.fsys, "reactions.yaml", &heats); len(found) > 0 {
		t.Fatal(found)
	}
	for _, w := range file.Kinds {
		if h := heats.Reactions[w.Name].Heat; math.Abs(h-w.Value) > 1 {
			t.Errorf("%s: %g kJ/mol, Hess %g", w.Name, h, w.Value)
		}
	}
}

// Names from the air-sensitive pages of a supplier's catalogue, chosen without
// a look at the compendium: each is an entry, is judged by the right family, or
// is refused. A leading / stands for a family, an empty string for a refusal.
func TestCatalogue(t *testing.T) {
	c := compendium(t)
	for _, test := range []struct{ name, want string }{
		{"sec-butyllithium solution, 1.4 M in cyclohexane", "sec-butyllithium"},
		{"trimethylsilylmethyllithium", "(trimethylsilyl)methyllithium"},
		{"2-thienyllithium", "/organolithium"},
		{"octylmagnesium chloride solution 2.0 M in THF", "/organomagnesium"},
		{"diisopropylzinc solution (1.0 M in toluene)", "diisopropylzinc"},
		{"neopentyllithium", "/organolithium"},
		{"cyclopentylmagnesium chloride", "/organomagnesium"},
		{"4-fluorophenylmagnesium bromide", "/organomagnesium"},
		{"octylmagnesium chloride", "/organomagnesium"},
		{"dibutylmagnesium", "dibutylmagnesium"},
		{"cyclohexylzinc bromide", "/organozinc"},
		{"diisopropylzinc", "diisopropylzinc"},
		{"trioctylaluminum", "/organoaluminium"},
		{"dimethylaluminum chloride", "dimethylaluminium chloride"},
		{"MAO", "methylaluminoxane"},
		{"trimethylgallium", "trimethylgallium"},
		{"hexamethylditin", "hexamethylditin"},
		{"L-Selectride", "lithium tri-sec-butylborohydride"},
		{"potassium triethylborohydride", "/strong borohydride"},
		{"lithium aluminum deuteride", "lithium aluminium deuteride"},
		{"Red-Al", "sodium bis(2-methoxyethoxy)aluminium hydride"},
		{"potassium hydride", "potassium hydride"},
		{"ammonia borane", "ammonia borane"},
		{"borane morpholine complex", "/amine borane"},
		{"catecholborane", "catecholborane"},
		{"dicyclohexylborane", "dicyclohexylborane"},
		{"B2pin2", "bis(pinacolato)diboron"},
		{"tributyl borate", "/borate ester"},
		{"tris(pentafluorophenyl)borane", "tris(pentafluorophenyl)borane"},
		{"tri-n-octylphosphine", "/phosphine"},
		{"diphenylphosphine", "diphenylphosphine"},
		{"chlorodiphenylphosphine", "chlorodiphenylphosphine"},
		{"tricyclohexylphosphine", "tricyclohexylphosphine"},
		{"tris(o-tolyl)phosphine", "tri(o-tolyl)phosphine"},
		{"RuPhos", "RuPhos"},
		{"Xantphos", "Xantphos"},
		{"1,3-bis(2,6-diisopropylphenyl)imidazol-2-ylidene", "IPr"},
		{"1,3-di-tert-butylimidazol-2-ylidene", "/carbene"},
		{"IMes hydrochloride", "IMes hydrochloride"},
		{"Pd2(dba)3", "tris(dibenzylideneacetone)dipalladium(0)"},
		{"Pd(PtBu3)2", "bis(tri-tert-butylphosphine)palladium(0)"},
		{"Ni(cod)2", "bis(1,5-cyclooctadiene)nickel(0)"},
		{"Wilkinson's catalyst", "chlorotris(triphenylphosphine)rhodium(I)"},
		{"Crabtree's catalyst", "Crabtree's catalyst"},
		{"Hoveyda-Grubbs catalyst second generation", "Hoveyda–Grubbs catalyst second generation"},
		{"Stryker's reagent", "hydrido(triphenylphosphine)copper(I) hexamer"},
		{"Schwartz's reagent", "chlorobis(cyclopentadienyl)hydridozirconium"},
		{"cobaltocene", "cobaltocene"},
		{"chromocene", "chromocene"},
		{"dicobalt octacarbonyl", "dicobalt octacarbonyl"},
		{"rhenium decacarbonyl", "/metal carbonyl"},
		{"samarium(II) iodide", "samarium(II) iodide"},
		{"titanium tetrachloride", "titanium tetrachloride"},
		{"tantalum pentachloride", "tantalum(V) chloride"},
		{"titanium(IV) bromide", "/Lewis acid"},
		{"boron tribromide", "boron tribromide"},
		{"trimethylsilyl triflate", "trimethylsilyl trifluoromethanesulfonate"},
		{"triisopropylsilyl triflate", "triisopropylsilyl trifluoromethanesulfonate"},
		{"dichlorodiphenylsilane", "/silyl halide"},
		{"tris(trimethylsilyl)silane", "tris(trimethylsilyl)silane"},
		{"lithium diethylamide", "/metal amide"},
		{"KHMDS", "potassium bis(trimethylsilyl)amide"},
		{"LiTMP", "lithium 2,2,6,6-tetramethylpiperidide"},
		{"lithium tert-butoxide", "lithium tert-butoxide"},
		{"potassium tert-pentoxide", "/alkoxide"},
		{"KC8", "potassium graphite"},
		{"sodium naphthalenide", "/carbanion salt"},
		{"1,2-dimethoxyethane, anhydrous", "1,2-dimethoxyethane"},
		{"trifluorotoluene, anhydrous", "trifluoromethylbenzene"},
		{"N-methylpyrrolidone anhydrous", "N-methyl-2-pyrrolidone"},
		{"ethyl bromoacetate", "ethyl bromoacetate"},
		{"phenylboronic acid", "phenylboronic acid"},
		{"bis(cyclopentadienyl)zirconium chloride hydride", "chlorobis(cyclopentadienyl)hydridozirconium"},
		{"diisobutylaluminum hydride solution, 1.0 M in hexanes", "diisobutylaluminium hydride"},
		{"Super-Hydride", "lithium triethylborohydride"},
		{"Karstedt catalyst", "Karstedt's catalyst"},
		{"TBSOTf", "tert-butyldimethylsilyl trifluoromethanesulfonate"},
		{"TIPSOTf", "triisopropylsilyl trifluoromethanesulfonate"},
		{"diethylzinc solution 1.0 M in hexanes", "diethylzinc"},
		{"tributyltin hydride", "tributyltin hydride"},
		{"Tebbe reagent", "Tebbe reagent"},
		{"nickelocene", "nickelocene"},
		{"titanium isopropoxide", "titanium tetraisopropoxide"},
		{"Nagata's reagent", "diethylaluminium cyanide"},
		{"ethylaluminum sesquichloride", "ethylaluminium sesquichloride"},
		{"HF-pyridine", "hydrogen fluoride pyridine complex"},
		{"DAST", "DAST"},
		{"Meerwein's salt", "trimethyloxonium tetrafluoroborate"},
		{"TBAF solution 1.0 M in THF", "tetrabutylammonium fluoride"},
		{"DIP-Chloride", "B-chlorodiisopinocampheylborane"},
		{"LiDBB", "lithium 4,4'-di-tert-butylbiphenylide"},
		{"Rieke zinc", "Rieke zinc"},
		{"methyllithium lithium bromide complex 1.5 M in ether", "methyllithium lithium bromide complex"},
		{"butylethylmagnesium", "butylethylmagnesium"},
		{"vanadium oxytrichloride", "vanadium oxytrichloride"},
		{"triethoxysilane", "triethoxysilane"},
		{"Rosenmund catalyst", "palladium on barium sulfate"},
		{"P4-t-Bu", "phosphazene base P4-t-Bu"},
		{"lithium dimethylamide", "/metal amide"},
		{"hexylmagnesium bromide", "/organomagnesium"},
		{"triruthenium dodecacarbonyl", "/metal carbonyl"},
		{"magnesium phosphide", "/phosphide"},
		// what the compendium does not hold, it must not make up
		{"lithium diphenylphosphide", ""},
		{"indium phosphide", ""},
		{"europium chloride", ""},
		{"Cp*2ZrCl2", ""},
		{"europium tris(tetramethylheptanedionate)", ""},
		{"tetrakis(dimethylamino)ethylene", ""},
		{"bis(triphenylphosphine)nickel dicarbonyl", ""},
		{"lithium bis(oxalato)borate", ""},
		{"copper(I) acetylide", "/explosive"},
		{"methyltriphenoxyphosphonium iodide", ""},
	} {
		s, nearest := c.Lookup(test.name)
		family, isFamily := strings.CutPrefix(test.want, "/")
		switch {
		case test.want == "":
			if s != nil {
				t.Errorf("%s is taken for %s (%s)", test.name, s.Name, s.JudgedAs)
			}
		case s == nil:
			t.Errorf("%s is refused, nearest %q, want %s", test.name, nearest, test.want)
		case isFamily:
			if s.Family != family || s.JudgedAs == "" {
				t.Errorf("%s is judged as %s (%s), want family %s", test.name, s.Family, s.Name, family)
			}
		case s.Name != test.want:
			t.Errorf("%s is %s, want %s", test.name, s.Name, test.want)
		}
	}
	for name, formula := range map[string]string{"magnesium methoxide": "C2H6MgO2", "sodium isopropoxide": "C3H7NaO", "lithium diethylamide": "C4H10LiN"} {
		if s, _ := c.Lookup(name); s == nil || s.Formula != formula {
			t.Errorf("%s: %+v, want formula %s", name, s, formula)
		}
	}
	// a copper salt is no cuprate: nothing to destroy before the funnel
	for _, name := range []string{"copper(I) iodide", "copper(I) cyanide", "copper(I) cyanide di(lithium chloride) complex", "dilithium tetrachlorocuprate", "dilithium trichlorocuprate", "copper(I) bromide dimethyl sulfide complex"} {
		s, _ := c.Lookup(name)
		if s == nil || s.Live == nil || *s.Live || len(s.DestroyBefore) > 0 {
			t.Errorf("%s is live", name)
		}
	}
}
