package substance

// Family is what members of a family have in common. A compendium entry says
// only what differs from it.
type Family struct {
	Key     string   `yaml:"-"`
	Title   string   `yaml:"title"`    // with its article: "a Grignard reagent"
	Like    []string `yaml:"like"`     // name patterns, * for one or more characters
	NotLike []string `yaml:"not like"` // patterns that override Like
	// NeedsFormula admits a name only when every group in it is known.
	NeedsFormula  bool        `yaml:"like needs formula"`
	AttackedBy    []Attack    `yaml:"attacked by"`
	Exclusion     *Exclusion  `yaml:"exclusion"`
	Active        *Active     `yaml:"active"`
	Sites         *Sites      `yaml:"sites"`
	Hydrolysis    *Hydrolysis `yaml:"hydrolysis"`
	Hazards       *Hazards    `yaml:"hazards"` // the usual codes, for members that state none
	Pyrophoric    *Word       `yaml:"pyrophoric"`
	Live          bool        `yaml:"live"`
	DestroyBefore []string    `yaml:"destroy before"`
	Vigour        int         `yaml:"vigour"`
	Quench        *Quench     `yaml:"quench"`
	Cautions      []string    `yaml:"cautions"`
	Waste         *Waste      `yaml:"waste"`
	Halogenated   bool        `yaml:"halogenated"`
	KeepFrom      []Agent     `yaml:"keep from"`
	DryWith       []Agent     `yaml:"dry with"` // usual choices for the family's liquids
	Note          string      `yaml:"note"`
	Source        []string    `yaml:"source"`

	// Sources resolves the source keys used in the family.
	Sources map[string]Source `yaml:"-"`
}

// allActs are what a live reagent must be destroyed before.
var allActs = []string{"opening", "work-up", "evaporation", "waste"}

// Merge returns a copy of s with its gaps filled from its family: lists of
// attackers, cautions and things to keep away are joined, the entry's own word
// winning; anything else of the family's stands only where the entry is silent.
// Merging twice changes nothing. A substance of no known family is returned
// as a plain copy.
func (c *Compendium) Merge(s *Substance) *Substance {
	if s == nil {
		return nil
	}
	m := *s
	f, ok := c.Family(s.Family)
	if !ok {
		m.needFromAttacks()
		return &m
	}
	m.Sources = make(map[string]Source, len(s.Sources)+len(f.Sources))
	for k, v := range f.Sources {
		m.Sources[k] = v
	}
	for k, v := range s.Sources {
		m.Sources[k] = v
	}
	m.AttackedBy = mergeAttacks(s.AttackedBy, f.AttackedBy)
	m.Exclusion = mergeExclusion(s.Exclusion, f.Exclusion)
	m.needFromAttacks()
	m.Waste = mergeWaste(s.Waste, f.Waste, f.Halogenated)
	m.KeepFrom = joinAgents(s.KeepFrom, f.KeepFrom)
	m.Cautions = join(s.Cautions, f.Cautions)
	if m.Active != nil {
		a := *m.Active
		m.Active = &a
	}
	fill(&m.Active, f.Active)
	fill(&m.Sites, f.Sites)
	fill(&m.Hydrolysis, f.Hydrolysis)
	if m.Hydrolysis != nil {
		h := *m.Hydrolysis
		h.Gas = gasName(h.Gas)
		h.Gases = append([]Gas(nil), h.Gases...)
		for i := range h.Gases {
			h.Gases[i].Gas = gasName(h.Gases[i].Gas)
		}
		m.Hydrolysis = &h
	}
	fill(&m.Hazards, f.Hazards)
	fill(&m.Pyrophoric, f.Pyrophoric)
	fill(&m.Quench, f.Quench)
	if m.Vigour == nil {
		v := f.Vigour
		m.Vigour = &v
	}
	if m.Live == nil {
		v := f.Live
		m.Live = &v
	}
	if m.DestroyBefore == nil {
		m.DestroyBefore = f.DestroyBefore
		if *m.Live && m.DestroyBefore == nil {
			m.DestroyBefore = allActs
		}
	}
	return &m
}

// needFromAttacks works out how far air must be kept out where neither the
// entry nor its family says: oxygen and carbon dioxide ask for an inert gas,
// water alone for a drying tube. Only an entry of the compendium, which was
// gone through with care, may conclude from silence that nothing is needed.
func (s *Substance) needFromAttacks() {
	if s.Exclusion != nil {
		return
	}
	need, by := "none", "no attack by air or moisture in a working day is listed"
	for _, a := range s.AttackedBy {
		if a.Speed == "slow" || a.Speed == "very slow" {
			continue
		}
		switch a.By {
		case "oxygen", "air", "carbon dioxide":
			need, by = "inert gas", a.By+" attacks it"
		case "water", "moisture":
			if need == "none" {
				need, by = "drying tube", "moisture attacks it"
			}
		}
	}
	if need == "none" && (s.Declared || s.JudgedAs != "" || s.Family == "") {
		return
	}
	s.Exclusion = &Exclusion{Need: need, Because: by, Source: []string{derivedSource}}
	sources := make(map[string]Source, len(s.Sources)+1)
	for k, v := range s.Sources {
		sources[k] = v
	}
	sources[derivedSource] = Source{Cite: "derived from what attacks it", Kind: "common practice"}
	s.Sources = sources
}

// derivedSource is the source key of what the compendium concludes by itself.
const derivedSource = "derived from attacks"

// fill puts the family's value where the entry has none.
func fill[T any](to **T, from *T) {
	if *to == nil && from != nil {
		v := *from
		*to = &v
	}
}

// mergeAttacks keeps the family's attackers in order, each replaced by the
// entry's word on the same attacker, and appends the entry's other attackers.
func mergeAttacks(own, family []Attack) []Attack {
	out := make([]Attack, 0, len(own)+len(family))
	for _, a := range family {
		for _, o := range own {
			if o.By == a.By {
				a = o
				break
			}
		}
		out = append(out, a)
	}
next:
	for _, o := range own {
		for _, a := range family {
			if o.By == a.By {
				continue next
			}
		}
		out = append(out, o)
	}
	return out
}

func mergeExclusion(own, family *Exclusion) *Exclusion {
	switch {
	case own == nil && family == nil:
		return nil
	case own == nil:
		e := *family
		return &e
	case family == nil:
		e := *own
		return &e
	}
	e := *own
	if e.Need == "" {
		e.Need, e.Because = family.Need, cmpOr(e.Because, family.Because)
		if e.Accepted == nil {
			e.Accepted = family.Accepted
		}
		if e.Source == nil {
			e.Source = family.Source
		}
	}
	e.NotUnder = join(own.NotUnder, family.NotUnder)
	if e.OxygenLimit == nil && e.Need == family.Need {
		e.OxygenLimit = family.OxygenLimit
	}
	if e.Accepted == nil && e.Need == family.Need {
		e.Accepted = family.Accepted
	}
	return &e
}

func cmpOr(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

// mergeWaste takes the entry's groups when it names any list, even an empty
// one, and joins the flags of both.
func mergeWaste(own, family *Waste, halogenated bool) *Waste {
	if own == nil && family == nil {
		if halogenated {
			return &Waste{Halogenated: true}
		}
		return nil
	}
	if own == nil {
		own = &Waste{Groups: family.Groups, Source: family.Source}
	}
	w := *own
	w.Halogenated = w.Halogenated || halogenated
	if family == nil {
		return &w
	}
	if w.Groups == nil {
		w.Groups = family.Groups
	}
	w.Halogenated = w.Halogenated || family.Halogenated
	w.Oxidiser = w.Oxidiser || family.Oxidiser
	w.Acid = w.Acid || family.Acid
	w.Base = w.Base || family.Base
	w.Cyanide = w.Cyanide || family.Cyanide
	w.Sulfide = w.Sulfide || family.Sulfide
	w.Azide = w.Azide || family.Azide
	w.WaterReactive = w.WaterReactive || family.WaterReactive
	w.Pyrophoric = w.Pyrophoric || family.Pyrophoric
	w.Mercury = w.Mercury || family.Mercury
	w.ToxicMetal = cmpOr(w.ToxicMetal, family.ToxicMetal)
	w.GasFormer = cmpOr(w.GasFormer, family.GasFormer)
	w.Note = cmpOr(w.Note, family.Note)
	fill(&w.Route, family.Route)
	return &w
}

// join appends what b has beyond a, keeping order.
func join(a, b []string) []string {
	if len(a) == 0 && len(b) == 0 {
		return nil
	}
	out := append(make([]string, 0, len(a)+len(b)), a...)
next:
	for _, s := range b {
		for _, t := range a {
			if s == t {
				continue next
			}
		}
		out = append(out, s)
	}
	return out
}

func joinAgents(a, b []Agent) []Agent {
	out := append(make([]Agent, 0, len(a)+len(b)), a...)
next:
	for _, x := range b {
		for _, y := range a {
			if x.What == y.What && x.Agent == y.Agent {
				continue next
			}
		}
		out = append(out, x)
	}
	return out
}

// MustDie reports whether the substance must have been destroyed before an
// act: opening, work-up, evaporation or waste.
func (s *Substance) MustDie(act string) bool {
	for _, a := range s.DestroyBefore {
		if a == act {
			return true
		}
	}
	return false
}

// gasNames turns formulas and older names of gases into the names reports use.
var gasNames = map[string]string{
	"H2": "hydrogen", "HCl": "hydrogen chloride", "HBr": "hydrogen bromide", "HI": "hydrogen iodide", "HF": "hydrogen fluoride",
	"CO": "carbon monoxide", "CO2": "carbon dioxide", "SO2": "sulfur dioxide", "NH3": "ammonia", "HCN": "hydrogen cyanide",
	"H2S": "hydrogen sulfide", "N2": "nitrogen", "O2": "oxygen", "CH4": "methane", "PH3": "phosphine",
	"ethylene": "ethene", "propylene": "propene", "acetylene": "ethyne", "2-methylpropane": "isobutane", "isobutylene": "isobutene",
}

func gasName(s string) string {
	if n, ok := gasNames[s]; ok {
		return n
	}
	return s
}

// Emitted lists the gases given off, however the entry wrote them.
func (h *Hydrolysis) Emitted() []Gas {
	if h == nil {
		return nil
	}
	var out []Gas
	if h.Gas != "" && h.Moles > 0 {
		out = append(out, Gas{h.Gas, h.Moles})
	}
	return append(out, h.Gases...)
}
