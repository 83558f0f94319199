package substance

import (
	"fmt"
	"io/fs"
	"slices"
	"strings"
)

// DesiccantTable is rules/reference/desiccants.yaml: what drying agents do to
// liquids.
type DesiccantTable struct {
	Sources map[string]Source      `yaml:"sources"`
	Agents  map[string]DryingAgent `yaml:"agents"`
	Dried   []DryingPoint          `yaml:"dried"`
	Never   []ForbiddenDrying      `yaml:"never"`
}

// DryingAgent is one way to take water out of a liquid.
type DryingAgent struct {
	Names []string `yaml:"names"`
	// Substance is the compendium entry of the agent; empty for a column or still.
	Substance string `yaml:"substance"`
	Kind      string `yaml:"kind"` // sieve | salt | metal | hydride | oxide | base | column | acid | gel
	// Capacity is the water it can take, g per g, as one should count on.
	Capacity *Value      `yaml:"capacity"`
	Limit    *Value      `yaml:"limit"` // the most that stoichiometry or equilibrium allows, g per g
	Activate *Activation `yaml:"activate"`
	// WorkUp marks a salt for clearing wet extracts, which never makes a
	// solvent anhydrous.
	WorkUp bool `yaml:"work-up"`
	// Gas is given off when it meets water, mol per mol of water.
	Gas   string  `yaml:"gas"`
	Moles float64 `yaml:"moles"`
	// Air is the water left in air dried over it, mg/L.
	Air *Value `yaml:"air"`
	// Opening is the width of a sieve's pores, Å.
	Opening *Value   `yaml:"opening"`
	Source  []string `yaml:"source"`
	Note    string   `yaml:"note"`
}

// DryingPoint is one figure of how dry a liquid gets.
type DryingPoint struct {
	Solvent  string   `yaml:"solvent"`  // an entry; or
	Families []string `yaml:"families"` // the families it stands for
	Except   []string `yaml:"except"`
	Agent    string   `yaml:"agent"`
	Load     float64  `yaml:"load"`  // % m/v (g per 100 mL); 0 when the way has none (a still, a column)
	Hours    float64  `yaml:"hours"` // 0 when time does not count
	Start    float64  `yaml:"start"` // ppm w/w of water before; 0 when not stated
	// Residual is the water left, ppm w/w; or Removed the share taken out, %.
	Residual *float64 `yaml:"residual"`
	Removed  *float64 `yaml:"removed"`
	Source   []string `yaml:"source"`
	Note     string   `yaml:"note"`
}

// ForbiddenDrying is a pair of agent and liquid that must not meet, or that
// does not work.
type ForbiddenDrying struct {
	Agents   []string `yaml:"agents"`
	Solvents []string `yaml:"solvents"` // substances, families, groups or words of the trade
	Except   []string `yaml:"except"`
	Verdict  string   `yaml:"verdict"` // forbidden | avoid | unsuitable
	Because  string   `yaml:"because"`
	Source   []string `yaml:"source"`
	Note     string   `yaml:"note"`
}

func readDesiccants(fsys fs.FS) *DesiccantTable {
	t := &DesiccantTable{}
	if found := readTable(fsys, "desiccants.yaml", t); len(found) > 0 {
		return &DesiccantTable{}
	}
	return t
}

// Desiccants gives what is known of drying agents.
func (c *Compendium) Desiccants() *DesiccantTable { return c.desiccants() }

// Agent finds a drying agent by any of its names; key is how the table calls it.
func (c *Compendium) Agent(name string) (key string, a DryingAgent, ok bool) {
	t := c.desiccants()
	if a, ok := t.Agents[name]; ok {
		return name, a, true
	}
	want := lookupKey(name, true)
	entry := ""
	if i, ok := c.find(name); ok {
		entry = c.entries[i].name
	}
	found := ""
	for k, a := range t.Agents {
		hit := lookupKey(k, true) == want || entry != "" && a.Substance == entry
		for _, n := range a.Names {
			hit = hit || lookupKey(n, true) == want
		}
		if hit && (found == "" || k < found) {
			found = k
		}
	}
	if found == "" {
		return "", DryingAgent{}, false
	}
	return found, t.Agents[found], true
}

// Verdict is what the trade says of drying a liquid with an agent.
type Verdict struct {
	Word    string // forbidden | avoid | unsuitable
	Because string
	Source  string
}

// MayDry gives the objections to drying a liquid with an agent, the entry's
// own first; none means that none is known.
func (c *Compendium) MayDry(solvent *Substance, agent string) []Verdict {
	if solvent == nil {
		return nil
	}
	key, a, ok := c.Agent(agent)
	if !ok {
		key = agent
	}
	same := func(name string) bool {
		if name == key || a.Substance != "" && name == a.Substance {
			return true
		}
		k, _, ok := c.Agent(name)
		return ok && k == key
	}
	var out []Verdict
	for _, n := range solvent.NeverDryWith {
		if same(n.Agent) || a.Substance != "" && c.isNamed(a.Substance, n.Agent) {
			text, _ := cite(solvent.Sources, n.Source)
			out = append(out, Verdict{"forbidden", n.Because, text})
		}
	}
	t := c.desiccants()
next:
	for _, f := range t.Never {
		hit := false
		for _, name := range f.Agents {
			hit = hit || name == key
		}
		if !hit {
			continue
		}
		if _, ok := c.oneOf(f.Solvents, solvent); !ok {
			continue
		}
		for _, e := range f.Except {
			if c.Is(solvent, e) {
				continue next
			}
		}
		text, _ := cite(t.Sources, f.Source)
		out = append(out, Verdict{f.Verdict, f.Because, text})
	}
	return out
}

// isNamed reports whether the entry called name is what a word says.
func (c *Compendium) isNamed(name, what string) bool {
	i, ok := c.names[lookupKey(name, false)]
	return ok && c.Is(c.substance(i), what)
}

// ResidualWater estimates how much water is left in a liquid, in ppm w/w, after
// drying: loadPercent is the agent in g per 100 mL, hours the time over it,
// startPPM the water before. It rests on measured points. Between a point and
// no drying at all it runs along the straight line, which never flatters since
// drying slows down as it goes; more time or agent than at a point counts as
// the point; more water than at the point leaves proportionally more; water
// beyond the agent's capacity stays in the liquid. basis says which point was
// used and how. It is false when no point covers the pair.
func (c *Compendium) ResidualWater(solvent *Substance, agent string, loadPercent, hours, startPPM float64) (ppm float64, basis string, source string, ok bool) {
	if solvent == nil || !(startPPM >= 0) || !(loadPercent >= 0) || !(hours >= 0) {
		return 0, "", "", false
	}
	key, a, known := c.Agent(agent)
	if !known {
		return 0, "", "", false
	}
	t := c.desiccants()
	byName := false
	var best *DryingPoint
	for i := range t.Dried {
		p := &t.Dried[i]
		if p.Agent != key {
			continue
		}
		own := p.Solvent != "" && c.Is(solvent, p.Solvent)
		if !own && (byName || !p.covers(solvent)) {
			continue
		}
		if own && !byName {
			byName, ok = true, false // a figure for the very liquid beats its family's
		}
		left, fits := p.left(loadPercent, hours, startPPM)
		if !fits || ok && left >= ppm {
			continue
		}
		ppm, best, ok = left, p, true
	}
	if !ok {
		return 0, "", "", false
	}
	basis = best.basis(loadPercent, hours, startPPM)
	source, _ = cite(t.Sources, best.Source)
	if limit, isKnown := a.Capacity.number(); isKnown && loadPercent > 0 {
		density, haveDensity := solvent.DensityAt20()
		if !haveDensity {
			density = 0.7 // light, so that the water to be taken is not overstated
		}
		// g of water that loadPercent g of agent can take from 100 mL
		stays := startPPM - limit*loadPercent/(100*density)*1e6
		if stays > ppm {
			ppm = stays
			basis = fmt.Sprintf("the agent is full: it takes %g g of water per gram; %s", limit, basis)
		}
	}
	if ppm > startPPM {
		ppm = startPPM
	}
	return ppm, basis, source, true
}

func (p DryingPoint) covers(s *Substance) bool {
	for _, e := range p.Except {
		if e == s.Name {
			return false
		}
	}
	for _, f := range p.Families {
		if f == s.Family {
			return true
		}
	}
	return false
}

// left applies one point to a load, a time and a starting water content.
func (p *DryingPoint) left(load, hours, start float64) (ppm float64, ok bool) {
	if p.Load > 0 && load <= 0 || p.Hours > 0 && hours <= 0 {
		return 0, false
	}
	var end float64
	switch {
	case p.Removed != nil:
		end = start * (1 - *p.Removed/100)
	case p.Residual != nil:
		end = *p.Residual
		if p.Start > 0 && start > p.Start {
			end *= start / p.Start
		}
	default:
		return 0, false
	}
	if end > start {
		end = start
	}
	share := 1.0
	if p.Load > 0 && load < p.Load {
		share *= load / p.Load
	}
	if p.Hours > 0 && hours < p.Hours {
		share *= hours / p.Hours
	}
	return start - share*(start-end), true
}

// basis is what that rests on, in words.
func (p *DryingPoint) basis(load, hours, start float64) string {
	var notes []string
	if p.Load > 0 && load < p.Load {
		notes = append(notes, fmt.Sprintf("less agent than the %g %% m/v of the figure: straight line from no drying", p.Load))
	}
	if p.Hours > 0 && hours < p.Hours {
		notes = append(notes, fmt.Sprintf("less time than the %g h of the figure: straight line from no drying", p.Hours))
	}
	if p.Removed == nil && p.Start > 0 && start > p.Start {
		notes = append(notes, fmt.Sprintf("wetter than the %g ppm of the figure: in proportion", p.Start))
	}
	of := p.Solvent
	if of == "" {
		of = "liquids such as " + andList(p.Families)
	}
	basis := of + " over " + p.Agent
	if p.Load > 0 {
		basis += fmt.Sprintf(", %g %% m/v", p.Load)
	}
	if p.Hours > 0 {
		basis += fmt.Sprintf(", %g h", p.Hours)
	}
	if len(notes) > 0 {
		basis += " (" + strings.Join(notes, "; ") + ")"
	}
	return basis
}

// DryWithAgents lists what a liquid is usually dried with: what its entry says,
// else the usual choices of its family less those that do not suit it.
func (c *Compendium) DryWithAgents(s *Substance) []Agent {
	f, ok := c.Family(s.Family)
	if len(s.DryWith) > 0 || !ok || s.Phase != "liquid" {
		return s.DryWith
	}
	var out []Agent
	for _, a := range f.DryWith {
		if len(c.MayDry(s, a.Agent)) == 0 && !slices.ContainsFunc(s.NeverDryWith, func(n Agent) bool { return n.Agent == a.Agent }) {
			out = append(out, a)
		}
	}
	return out
}
