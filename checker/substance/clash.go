package substance

import (
	"fmt"
	"io/fs"
	"strings"
)

// reactivityFile is rules/reference/reactivity.yaml.
type reactivityFile struct {
	Sources map[string]Source    `yaml:"sources"`
	Codes   map[string]Code      `yaml:"codes"`
	Groups  map[string]int       `yaml:"groups"` // EPA group name → number
	Chart   []chartPart          `yaml:"chart"`
	Words   map[string]wordGroup `yaml:"words"`
	Pairs   []specificPair       `yaml:"pairs"`
}

// Code is a letter of the compatibility chart.
type Code struct {
	Says   string   `yaml:"says"`
	Source []string `yaml:"source"`
	Grave  bool     `yaml:"grave"`
}

// chartPart holds pairs of one source, written "1 + 4: H" for brevity.
type chartPart struct {
	Source []string `yaml:"source"`
	Note   string   `yaml:"note"`
	Pairs  []string `yaml:"pairs"`
}

// wordGroup says what a word of the trade such as "acids" takes in.
type wordGroup struct {
	Families   []string `yaml:"families"`
	Groups     []string `yaml:"groups"`
	Flags      []string `yaml:"flags"`
	Substances []string `yaml:"substances"`
	Elements   []string `yaml:"elements"`
	Source     []string `yaml:"source"`
}

type specificPair struct {
	ID          string   `yaml:"id"`
	A           []string `yaml:"a"` // substances, families, groups or words
	B           []string `yaml:"b"`
	Except      []string `yaml:"except"` // "calcium hydride + dichloromethane": accepted practice
	Consequence string   `yaml:"consequence"`
	Grave       bool     `yaml:"grave"`
	Source      []string `yaml:"source"`
	Note        string   `yaml:"note"`
}

// spares reports two substances that the pair names as an exception.
func (p *specificPair) spares(c *Compendium, a, b *Substance) bool {
	for _, e := range p.Except {
		one, two, ok := strings.Cut(e, " + ")
		if ok && (c.Is(a, one) && c.Is(b, two) || c.Is(b, one) && c.Is(a, two)) {
			return true
		}
	}
	return false
}

// Conflict is one reason why two substances must not meet.
type Conflict struct {
	A, B        string    // the substances' names
	By          string    // chart | pair | keep from
	ID          string    // of the pair, or "epa-1-4"
	Groups      [2]string // what of A met what of B
	Codes       []string  // of the chart; empty otherwise
	Consequence string    // in words, for a sentence: "heat and toxic gas"
	Because     string    // the entry's reason when By is keep from
	Grave       bool      // fire, explosion, toxic or flammable gas, violent polymerisation
	Source      string    // a citation
	SourceKind  string    // published | common practice | from memory
}

type reactivity struct {
	reactivityFile
	numbers map[[2]int]chartHit
}

type chartHit struct {
	codes  []string
	source []string
}

func readReactivity(fsys fs.FS) *reactivity {
	r := &reactivity{numbers: map[[2]int]chartHit{}}
	if found := readTable(fsys, "reactivity.yaml", &r.reactivityFile); len(found) > 0 {
		return r
	}
	for _, part := range r.Chart {
		for _, text := range part.Pairs {
			a, b, codes, ok := chartPair(text)
			if !ok {
				continue // the strict check reports it
			}
			r.numbers[[2]int{min(a, b), max(a, b)}] = chartHit{codes, part.Source}
		}
	}
	return r
}

// chartPair reads "1 + 4: H GT".
func chartPair(text string) (a, b int, codes []string, ok bool) {
	left, right, ok1 := strings.Cut(text, ":")
	one, two, ok2 := strings.Cut(left, "+")
	if !ok1 || !ok2 {
		return 0, 0, nil, false
	}
	a, okA := wholeNumber(one)
	b, okB := wholeNumber(two)
	codes = strings.Fields(right)
	return a, b, codes, okA && okB && len(codes) > 0
}

func wholeNumber(s string) (int, bool) {
	v, unit, ok := numberUnit(s)
	return int(v), ok && unit == "" && v == float64(int(v))
}

// waterReactive is the number of the group that goes with nothing.
const waterReactive = 107

// Clash lists why two substances must not meet or share a container: pairs of
// the EPA-600/2-80-076 chart, pairs known by name, and what either entry is to
// be kept from. The chart is made for wastes: it bars n-butyllithium from hexane
// as it bars any water-reactive waste from any other, so By "chart" says nothing
// of a reaction flask. An empty list means that none of these names the two, not that
// they are safe together.
func (c *Compendium) Clash(a, b *Substance) []Conflict {
	if a == nil || b == nil || a.Name == b.Name {
		return nil
	}
	r := c.reactivity()
	var out []Conflict
	for _, ga := range groupsOf(a) {
		for _, gb := range groupsOf(b) {
			na, nb := r.Groups[ga], r.Groups[gb]
			if na == 0 || nb == 0 {
				continue
			}
			hit, ok := r.numbers[[2]int{min(na, nb), max(na, nb)}]
			if na == waterReactive || nb == waterReactive {
				if na == nb {
					continue
				}
				if any, known := r.numbers[[2]int{waterReactive, waterReactive}]; known && !ok {
					hit, ok = any, true
				}
			}
			if !ok {
				continue
			}
			k := Conflict{A: a.Name, B: b.Name, By: "chart", ID: fmt.Sprintf("epa-%d-%d", min(na, nb), max(na, nb)), Groups: [2]string{ga, gb}, Codes: hit.codes}
			var says []string
			for _, code := range hit.codes {
				says = append(says, r.Codes[code].Says)
				k.Grave = k.Grave || r.Codes[code].Grave
			}
			k.Consequence = andList(says)
			k.Source, k.SourceKind = cite(r.Sources, hit.source)
			out = append(out, k)
		}
	}
	as, bs := c.pairSides(a), c.pairSides(b)
	for i := range r.Pairs {
		p := &r.Pairs[i]
		for _, side := range [2]struct {
			a, b   *Substance
			sa, sb []pairSide
		}{{a, b, as, bs}, {b, a, bs, as}} {
			wa, wb := side.sa[i].a, side.sb[i].b
			if wa == "" || wb == "" || p.spares(c, a, b) {
				continue
			}
			k := Conflict{A: side.a.Name, B: side.b.Name, By: "pair", ID: p.ID, Groups: [2]string{wa, wb}, Consequence: p.Consequence, Grave: p.Grave}
			k.Source, k.SourceKind = cite(r.Sources, p.Source)
			out = append(out, k)
			break
		}
	}
	for _, side := range [2][2]*Substance{{a, b}, {b, a}} {
		for _, k := range side[0].KeepFrom {
			if c.Is(side[1], k.What) {
				conflict := Conflict{A: side[0].Name, B: side[1].Name, By: "keep from", Groups: [2]string{side[0].Name, k.What}, Consequence: k.Because, Because: k.Because, Grave: true}
				conflict.Source, conflict.SourceKind = cite(side[0].Sources, k.Source)
				out = append(out, conflict)
			}
		}
	}
	return out
}

// pairSide is the word by which a substance stands on either side of a known
// pair; empty when it does not.
type pairSide struct{ a, b string }

// pairSides works out once for a substance on which sides of the known pairs
// it stands.
func (c *Compendium) pairSides(s *Substance) []pairSide {
	if v, ok := c.sides.Load(s); ok {
		return v.([]pairSide)
	}
	pairs := c.reactivity().Pairs
	out := make([]pairSide, len(pairs))
	for i, p := range pairs {
		out[i].a, _ = c.oneOf(p.A, s)
		out[i].b, _ = c.oneOf(p.B, s)
	}
	if !s.Declared && c.sidesKept.Add(1) <= maxDerived {
		c.sides.Store(s, out)
	}
	return out
}

func groupsOf(s *Substance) []string {
	if s.Waste == nil {
		return nil
	}
	return s.Waste.Groups
}

func (c *Compendium) oneOf(what []string, s *Substance) (string, bool) {
	for _, w := range what {
		if c.Is(s, w) {
			return w, true
		}
	}
	return "", false
}

// Is reports whether a substance is what a word says: one of its names, its
// family, one of its waste groups, or a word of the trade (acids, oxidisers,
// chlorinated solvents) of rules/reference/reactivity.yaml.
func (c *Compendium) Is(s *Substance, what string) bool {
	if s == nil || what == "" {
		return false
	}
	if what == s.Family || what == s.Name {
		return true
	}
	for _, g := range groupsOf(s) {
		if g == what {
			return true
		}
	}
	r := c.reactivity()
	if w, ok := r.Words[what]; ok {
		return c.inWord(w, s)
	}
	if w, ok := r.Words[strings.ToLower(what)]; ok {
		return c.inWord(w, s)
	}
	key := lookupKey(what, false)
	if key == lookupKey(s.Name, false) {
		return true
	}
	for _, n := range s.Names {
		if key == lookupKey(n, false) {
			return true
		}
	}
	// families in the plural: "ketones", "alcohols", "Lewis acids"
	single := strings.TrimSuffix(what, "s")
	return single != what && (single == s.Family || strings.EqualFold(single, s.Family))
}

func (c *Compendium) inWord(w wordGroup, s *Substance) bool {
	for _, f := range w.Families {
		if f == s.Family {
			return true
		}
	}
	for _, g := range groupsOf(s) {
		for _, have := range w.Groups {
			if g == have {
				return true
			}
		}
	}
	for _, f := range w.Flags {
		if s.Waste != nil && s.Waste.flag(f) {
			return true
		}
	}
	for _, n := range w.Substances {
		if n == s.Name {
			return true
		}
		if i, ok := c.names[lookupKey(n, false)]; ok && c.entries[i].name == s.Name {
			return true
		}
	}
	if len(w.Elements) > 0 {
		if f, err := ParseFormula(s.Formula); err == nil {
			for _, el := range w.Elements {
				if f.Elements[el] > 0 {
					return true
				}
			}
		}
	}
	return false
}

func (w *Waste) flag(name string) bool {
	switch name {
	case "halogenated":
		return w.Halogenated
	case "oxidiser":
		return w.Oxidiser
	case "acid":
		return w.Acid
	case "base":
		return w.Base
	case "cyanide":
		return w.Cyanide
	case "sulfide":
		return w.Sulfide
	case "azide":
		return w.Azide
	case "water-reactive":
		return w.WaterReactive
	case "pyrophoric":
		return w.Pyrophoric
	case "mercury":
		return w.Mercury
	case "toxic metal":
		return w.ToxicMetal != ""
	case "gas former":
		return w.GasFormer != ""
	}
	return false
}

// Flags lists the waste flags that are set, in a fixed order.
func (w *Waste) Flags() []string {
	var out []string
	for _, f := range wasteFlags {
		if w != nil && w.flag(f) {
			out = append(out, f)
		}
	}
	return out
}

var wasteFlags = []string{"halogenated", "toxic metal", "mercury", "oxidiser", "acid", "base", "cyanide", "sulfide", "azide", "water-reactive", "pyrophoric", "gas former"}

// andList joins words as in "heat, fire and toxic gas".
func andList(words []string) string {
	switch len(words) {
	case 0:
		return ""
	case 1:
		return words[0]
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

// cite resolves source keys to one citation; the kind is that of the first.
func cite(sources map[string]Source, keys []string) (text, kind string) {
	var cites []string
	for _, k := range keys {
		s, ok := sources[k]
		if !ok {
			continue
		}
		cites = append(cites, s.Cite)
		if kind == "" {
			kind = s.Kind
		}
	}
	return strings.Join(cites, "; "), kind
}

// Cite gives the citation of a source key of the entry; the key itself when it
// cannot be resolved.
func (s *Substance) Cite(keys []string) string {
	if text, _ := cite(s.Sources, keys); text != "" {
		return text
	}
	return strings.Join(keys, "; ")
}
