package substance

import (
	"io/fs"
	"sort"
	"strings"
	"unicode"
)

// pattern is a name pattern of a family; * stands for one or more characters.
type pattern struct {
	parts []string
	size  int // letters outside the stars: the more, the more certain
}

func patterns(like []string) []pattern {
	out := make([]pattern, 0, len(like))
	for _, l := range like {
		out = append(out, pattern{strings.Split(strings.ToLower(l), "*"), len(strings.ReplaceAll(l, "*", ""))})
	}
	return out
}

func (p pattern) matches(name string) bool {
	if len(p.parts) == 1 {
		return name == p.parts[0]
	}
	if !strings.HasPrefix(name, p.parts[0]) {
		return false
	}
	rest := name[len(p.parts[0]):]
	for i, part := range p.parts[1:] {
		if i == len(p.parts)-2 {
			return len(rest) > len(part) && strings.HasSuffix(rest, part)
		}
		if len(rest) < 1 {
			return false
		}
		at := strings.Index(rest[1:], part)
		if at < 0 {
			return false
		}
		rest = rest[1+at+len(part):]
	}
	return false
}

// plainName lowers case, spells as the patterns do and makes any space one.
func plainName(name string) string {
	return spelling(strings.Join(strings.Fields(strings.ToLower(name)), " "))
}

// familyLike gives the family whose pattern says most about a name.
func (c *Compendium) familyLike(name string) (*Family, bool) {
	best, size := "", 0
	for _, key := range c.order {
		e := c.families[key]
		for _, p := range e.like {
			if p.size > size && p.matches(name) && !matchesAny(e.notLike, name) {
				best, size = key, p.size
			}
		}
	}
	if best == "" {
		return nil, false
	}
	return c.Family(best)
}

func matchesAny(ps []pattern, name string) bool {
	for _, p := range ps {
		if p.matches(name) {
			return true
		}
	}
	return false
}

// Derive judges a substance that has no entry by its family, known from its
// name: 2-thienyllithium is an organolithium reagent. The formula is the one
// given, or that of the structure (SMILES), or worked out from the name where its
// groups are known, else empty. JudgedAs holds the family's title. It is
// false when no family's pattern fits: nothing is guessed.
func (c *Compendium) Derive(name, formula, structure string) (*Substance, bool) {
	name = strings.TrimSpace(name)
	if len(name) > 200 {
		return nil, false
	}
	key := name + "\x00" + formula + "\x00" + structure
	if s, ok := c.derivations.Load(key); ok {
		d, _ := s.(*Substance)
		return d, d != nil
	}
	f, ok := c.familyLike(plainName(name))
	if !ok {
		return nil, false
	}
	s := &Substance{Name: name, Family: f.Key, Formula: formula, Structure: structure, JudgedAs: f.Title}
	gas, gasKnown := "", false
	if formula == "" && structure != "" {
		if f, err := StructureFormula(structure); err == nil {
			s.Formula = f.String()
		}
	}
	if s.Formula == "" {
		if made, ok := c.groups().formulaOf(f.Key, plainName(name)); ok {
			s.Formula = made.formula.String()
			gas, gasKnown = made.gas, made.gasKnown
		}
	}
	if f.NeedsFormula && s.Formula == "" {
		return nil, false
	}
	s = c.Merge(s)
	if f.Key == "alkoxide" && divalent(plainName(name)) {
		s.Active.Equivalents, s.Hydrolysis.Water = 2, 2
	}
	if f.Key == "organozinc" && strings.HasPrefix(plainName(name), "di") {
		// two groups on zinc, where the family counts one of a halide
		s.Active.Equivalents, s.Hydrolysis.Water, s.Hydrolysis.Moles = 2, 2, 2
	}
	if s.Hydrolysis != nil && s.Hydrolysis.Gas == "alkane" && gasKnown {
		s.Hydrolysis.Gas = gas
		if gas == "" { // the hydrocarbon set free is a liquid
			s.Hydrolysis.Moles = 0
		}
	}
	if _, err := ParseFormula(s.Formula); s.Formula != "" && err != nil {
		s.Formula = ""
	}
	if c.derived.Add(1) < maxDerived {
		c.derivations.Store(key, s)
	}
	return s, true
}

// FormulaFor works out the formula of a substance of a family from its structure
// (SMILES), else from its name; empty when neither can be read.
func (c *Compendium) FormulaFor(family, name, structure string) string {
	if structure != "" {
		f, err := StructureFormula(structure)
		if err != nil {
			return ""
		}
		return f.String()
	}
	if len(name) > 200 {
		return ""
	}
	if made, ok := c.groups().formulaOf(family, plainName(name)); ok {
		return made.formula.String()
	}
	return ""
}

// divalent reports a salt of a metal with two charges: magnesium ethoxide
// holds two ethoxides.
func divalent(name string) bool {
	for _, m := range [...]string{"magnesium ", "calcium ", "zinc ", "barium ", "strontium "} {
		if strings.HasPrefix(name, m) {
			return true
		}
	}
	return false
}

// groupFile is rules/reference/groups.yaml.
type groupFile struct {
	Sources     map[string]Source  `yaml:"sources"`
	Groups      map[string]Group   `yaml:"groups"`
	Prefixes    map[string]string  `yaml:"prefixes"`
	Acyls       map[string]string  `yaml:"acyls"`
	Parents     map[string]string  `yaml:"parents"` // aniline → C6H7N
	Times       map[string]float64 `yaml:"multipliers"`
	Halides     map[string]string  `yaml:"halides"` // hydrocarbon of a halo- name → group
	AmideAnions map[string]string  `yaml:"amide anions"`
	Metals      map[string]string  `yaml:"metals"` // sodium → Na
	Source      []string           `yaml:"source"`
}

// Group is a hydrocarbon (or heteroaryl) group of a name.
type Group struct {
	Formula string `yaml:"formula"`
	// Gas is the hydrocarbon set free with a proton when it is a gas at 20 °C.
	Gas string `yaml:"gas"`
}

type groupTable struct {
	groupFile
	prefixes []string // longest first
}

func readGroups(fsys fs.FS) *groupTable {
	t := &groupTable{}
	if found := readTable(fsys, "groups.yaml", &t.groupFile); len(found) > 0 {
		return &groupTable{}
	}
	for p := range t.Prefixes {
		t.prefixes = append(t.prefixes, p)
	}
	sort.Slice(t.prefixes, func(i, j int) bool {
		if len(t.prefixes[i]) != len(t.prefixes[j]) {
			return len(t.prefixes[i]) > len(t.prefixes[j])
		}
		return t.prefixes[i] < t.prefixes[j]
	})
	return t
}

// made is a formula worked out from a name, and the gas its hydrocarbon part is.
type made struct {
	formula  Formula
	gas      string
	gasKnown bool
}

// bare drops locants, brackets and separators and unifies tert-, sec-, iso-.
func bare(name string) string {
	ts := tokens(name)
	kept := ts[:0]
	for i, t := range ts {
		w := strings.TrimFunc(t.text, unicode.IsDigit)
		// h in 1H-indole, o- m- p- and n- are places, not groups
		if w == "" || len(w) == 1 && i+1 < len(ts) && strings.Contains("ompnhdlrseza", w) && !(strings.Contains("s", w) && strings.HasPrefix(ts[i+1].text, "bu")) {
			continue
		}
		t.text = w
		kept = append(kept, t)
	}
	return joinTokens(kept, true)
}

// group reads a group name, substituted or not: 4-methoxyphenyl, tert-butyl.
func (t *groupTable) group(name string) (made, bool) {
	return t.bareGroup(bare(name), 0)
}

func (t *groupTable) bareGroup(name string, depth int) (made, bool) {
	if g, ok := t.Groups[name]; ok {
		f, err := ParseFormula(g.Formula)
		return made{f, g.Gas, true}, err == nil
	}
	return t.substituted(name, depth, func(rest string) (Formula, bool) {
		m, ok := t.bareGroup(rest, depth+1)
		return m.formula, ok
	})
}

// substituted reads [multiplier]prefix before a parent that parent can read,
// each prefix taking the place of a hydrogen.
func (t *groupTable) substituted(name string, depth int, parent func(string) (Formula, bool)) (made, bool) {
	if depth > 4 || len(name) > 120 {
		return made{}, false
	}
	for _, m := range []string{"", "di", "tri", "tetra", "penta", "bis", "tris"} {
		rest, ok := strings.CutPrefix(name, m)
		if !ok {
			continue
		}
		n := 1.0
		if m != "" {
			n = t.Times[m]
		}
		for _, p := range t.prefixes {
			tail, ok := strings.CutPrefix(rest, p)
			if !ok || tail == "" {
				continue
			}
			base, ok := parent(tail)
			if !ok {
				continue
			}
			sub, err := ParseFormula(t.Prefixes[p])
			if err != nil {
				continue
			}
			f, ok1 := base.plus(Formula{Elements: map[string]float64{"H": 1}}, -n)
			f, ok2 := f.plus(sub, n)
			if ok1 && ok2 {
				return made{f, "", true}, true
			}
		}
	}
	return made{}, false
}

// several reads one group, or di-/tri- with a group: dicyclohexyl, triphenyl.
func (t *groupTable) several(name string, want float64) (made, bool) {
	b := bare(name)
	for m, n := range t.Times {
		if rest, ok := strings.CutPrefix(b, m); ok && n == want {
			if g, ok := t.bareGroup(rest, 0); ok {
				f, _ := Formula{Elements: map[string]float64{}}.plus(g.formula, n)
				return made{f, g.gas, g.gasKnown}, true
			}
		}
	}
	return made{}, false
}

func (t *groupTable) acyl(name string) (Formula, bool) {
	return t.bareAcyl(bare(name), 0)
}

func (t *groupTable) bareAcyl(b string, depth int) (Formula, bool) {
	if f, ok := t.Acyls[b]; ok {
		g, err := ParseFormula(f)
		return g, err == nil
	}
	m, ok := t.substituted(b, depth, func(rest string) (Formula, bool) { return t.bareAcyl(rest, depth+1) })
	return m.formula, ok
}

// acylOf reads the acyl group of an acid, ester or nitrile by the stem of its
// name: benzo of benzoic acid, cinnam of a cinnamate, hexan of hexanenitrile.
func (t *groupTable) acylOf(stem string) (Formula, bool) {
	for _, as := range [...]string{stem + "yl", stem + "oyl"} {
		if f, ok := t.acyl(as); ok {
			return f, true
		}
	}
	return Formula{}, false
}

// parent reads a parent compound, substituted or not: 2,6-dimethylaniline.
func (t *groupTable) parent(b string, depth int) (Formula, bool) {
	if f, ok := t.Parents[b]; ok {
		g, err := ParseFormula(f)
		return g, err == nil
	}
	m, ok := t.substituted(b, depth, func(rest string) (Formula, bool) { return t.parent(rest, depth+1) })
	return m.formula, ok
}

var halogenOf = map[string]string{"fluoride": "F", "chloride": "Cl", "bromide": "Br", "iodide": "I"}

func atoms(symbols ...string) Formula {
	f := Formula{Elements: map[string]float64{}}
	for _, s := range symbols {
		f.Elements[s]++
	}
	return f
}

// formulaOf works out the formula of a member of a family from its name.
func (t *groupTable) formulaOf(family, name string) (made, bool) {
	add := func(m made, ok bool, symbols ...string) (made, bool) {
		if !ok {
			return made{}, false
		}
		m.formula, ok = m.formula.plus(atoms(symbols...), 1)
		return m, ok
	}
	cutHalide := func(s string) (string, string) {
		for word, sym := range halogenOf {
			if rest, ok := strings.CutSuffix(s, word); ok {
				return strings.TrimSpace(rest), sym
			}
		}
		return s, ""
	}
	metalAnd := func(s string) (symbol, rest string) {
		for word, sym := range t.Metals {
			if tail, ok := strings.CutPrefix(s, word+" "); ok {
				return sym, tail
			}
		}
		return "", s
	}
	switch family {
	case "organolithium":
		if rest, ok := strings.CutSuffix(name, "lithium"); ok {
			m, ok := t.group(rest)
			return add(m, ok, "Li")
		}
	case "organomagnesium":
		if rest, x := cutHalide(name); x != "" {
			if rest, ok := strings.CutSuffix(rest, "magnesium"); ok {
				m, ok := t.group(rest)
				return add(m, ok, "Mg", x)
			}
		}
	case "organozinc":
		rest, x := cutHalide(name)
		if rest, ok := strings.CutSuffix(rest, "zinc"); ok {
			if x != "" {
				m, ok := t.group(rest)
				return add(m, ok, "Zn", x)
			}
			m, ok := t.several(rest, 2)
			return add(m, ok, "Zn")
		}
	case "diorganomagnesium":
		if rest, ok := strings.CutSuffix(name, "magnesium"); ok {
			m, ok := t.several(rest, 2)
			return add(m, ok, "Mg")
		}
	case "organoaluminium":
		if rest, ok := strings.CutSuffix(name, "aluminium"); ok {
			m, ok := t.several(rest, 3)
			return add(m, ok, "Al")
		}
	case "trialkylborane":
		if rest, ok := strings.CutSuffix(name, "borane"); ok {
			m, ok := t.several(rest, 3)
			return add(m, ok, "B")
		}
	case "phosphine":
		if rest, ok := strings.CutSuffix(name, "phosphine"); ok {
			m, ok := t.several(rest, 3)
			return add(m, ok, "P")
		}
	case "alkoxide":
		metal, rest := metalAnd(name)
		for _, end := range []string{"oxide", "olate", "ylate"} {
			stem, ok := strings.CutSuffix(rest, end)
			if !ok || metal == "" {
				continue
			}
			for _, as := range []string{stem + "yl", stem, strings.TrimSuffix(stem, "an") + "yl"} {
				if m, ok := t.group(as); ok {
					m.gasKnown = false
					if divalent(name) {
						if m, ok = add(m, true, "O"); ok {
							m.formula, ok = m.formula.plus(m.formula, 1)
						}
						return add(m, ok, metal)
					}
					return add(m, true, "O", metal)
				}
			}
		}
	case "metal amide":
		metal, rest := metalAnd(name)
		if metal == "" || divalent(name) {
			break
		}
		if f, ok := t.AmideAnions[bare(rest)]; ok {
			g, err := ParseFormula(f)
			return add(made{formula: g}, err == nil, metal)
		}
		if stem, ok := strings.CutSuffix(rest, "amide"); ok {
			if m, ok := t.several(stem, 2); ok {
				m.gasKnown = false
				return add(m, true, "N", metal)
			}
			m, ok := t.group(stem)
			m.gasKnown = false
			return add(m, ok, "N", "H", metal)
		}
	case "acid chloride":
		if rest, x := cutHalide(name); x != "" {
			f, ok := t.acyl(rest)
			return add(made{formula: f}, ok, x)
		}
	case "sulfonyl chloride":
		if rest, ok := strings.CutSuffix(name, "sulfonyl chloride"); ok {
			for _, as := range []string{rest, strings.TrimSuffix(rest, "ane") + "yl", strings.TrimSuffix(rest, "e") + "yl"} {
				if m, ok := t.group(as); ok {
					m.gasKnown = false
					return add(m, true, "S", "O", "O", "Cl")
				}
			}
			b := bare(rest)
			for parent, group := range t.Halides {
				head, ok := strings.CutSuffix(b, parent)
				if !ok {
					continue
				}
				if m, ok := t.bareGroup(head+bare(group), 0); ok {
					m.gasKnown = false
					return add(m, true, "S", "O", "O", "Cl")
				}
			}
		}
	case "anhydride":
		if rest, ok := strings.CutSuffix(name, "ic anhydride"); ok {
			for _, as := range []string{rest + "yl", strings.TrimSuffix(rest, "o") + "yl"} {
				if f, ok := t.acyl(as); ok {
					two, ok := f.plus(f, 1)
					return add(made{formula: two}, ok, "O")
				}
			}
		}
	case "cuprate":
		if rest, ok := strings.CutSuffix(name, "cuprate"); ok {
			if metal, rest := metalAnd(rest); metal != "" {
				m, ok := t.several(rest, 2)
				return add(m, ok, "Cu", metal)
			}
		}
	case "phosphonium salt":
		if rest, x := cutHalide(name); x != "" {
			if rest, ok := strings.CutSuffix(rest, "triphenylphosphonium"); ok {
				m, ok := t.group(strings.Trim(rest, " ()"))
				if !ok {
					break
				}
				salt, err := ParseFormula("C18H15P")
				f, ok := m.formula.plus(salt, 1)
				return add(made{formula: f}, ok && err == nil, x)
			}
		}
	case "carboxylic acid":
		if rest, ok := strings.CutSuffix(name, "ic acid"); ok {
			f, ok := t.acylOf(rest)
			return add(made{formula: f}, ok, "O", "H")
		}
	case "ester":
		head, rest, ok := strings.Cut(name, " ")
		if rest, cut := strings.CutSuffix(rest, "ate"); ok && cut {
			g, ok1 := t.group(head)
			f, ok2 := t.acylOf(rest)
			if ok1 && ok2 {
				f, ok := f.plus(g.formula, 1)
				return add(made{formula: f}, ok, "O")
			}
		}
	case "nitrile":
		rest, ok := strings.CutSuffix(name, "onitrile")
		if !ok {
			rest, ok = strings.CutSuffix(name, "enitrile")
		}
		if f, read := t.acylOf(rest); ok && read {
			f, ok := f.plus(atoms("O"), -1)
			return add(made{formula: f}, ok, "N")
		}
	case "phenol", "aromatic amine", "heterocyclic amine":
		if f, ok := t.parent(bare(name), 0); ok {
			return made{formula: f}, true
		}
	case "aryl halide", "alkyl halide":
		return t.halide(name)
	case "aldehyde", "ketone":
		for parent, formula := range map[string]string{"benzaldehyde": "C7H6O", "acetophenone": "C8H8O", "benzophenone": "C13H10O"} {
			b := bare(name)
			if !strings.HasSuffix(b, parent) {
				continue
			}
			base, err := ParseFormula(formula)
			m, ok := t.substituted(b, 0, func(rest string) (Formula, bool) { return base, rest == parent && err == nil })
			if !ok {
				m, ok = t.substituted(b, 0, func(rest string) (Formula, bool) {
					m, ok := t.substituted(rest, 1, func(rest string) (Formula, bool) { return base, rest == parent && err == nil })
					return m.formula, ok
				})
			}
			m.gasKnown = false
			return m, ok
		}
	}
	return made{}, false
}

// halide reads bromobenzene, 2-bromopropane, 4-bromoanisole, cyclohexyl bromide.
func (t *groupTable) halide(name string) (made, bool) {
	group, x, ok := t.halideGroup(name)
	if !ok {
		return made{}, false
	}
	f, ok := group.plus(atoms(x), 1)
	return made{formula: f}, ok
}

// halideGroup splits a halide's name into its group's formula and its halogen.
func (t *groupTable) halideGroup(name string) (Formula, string, bool) {
	for word, sym := range halogenOf {
		if rest, ok := strings.CutSuffix(name, " "+word); ok {
			m, ok := t.group(rest)
			return m.formula, sym, ok
		}
	}
	b := bare(name)
	for _, x := range []struct{ prefix, symbol string }{{"bromo", "Br"}, {"iodo", "I"}, {"chloro", "Cl"}} {
		at := strings.Index(b, x.prefix)
		if at < 0 {
			continue
		}
		rest := b[:at] + b[at+len(x.prefix):]
		for parent, group := range t.Halides {
			if strings.HasSuffix(rest, parent) {
				m, ok := t.bareGroup(strings.TrimSuffix(rest, parent)+bare(group), 0)
				if ok {
					return m.formula, x.symbol, true
				}
			}
		}
	}
	return Formula{}, "", false
}

// Organometallic gives the reagent that an organic halide makes with a metal:
// a Grignard reagent with magnesium, an organolithium with lithium, an
// organozinc halide with zinc. It is the compendium's entry where there is
// one, else derived, with the formula from the halide's. It is false for
// another metal or a substance without bromine, iodine or chlorine.
func (c *Compendium) Organometallic(halide *Substance, metal string) (*Substance, bool) {
	if halide == nil {
		return nil, false
	}
	f, err := ParseFormula(halide.Formula)
	if err != nil {
		return nil, false
	}
	// The heaviest halogen reacts first.
	x, word := "", ""
	for _, h := range []struct{ symbol, word string }{{"I", "iodide"}, {"Br", "bromide"}, {"Cl", "chloride"}} {
		if f.Elements[h.symbol] > 0 {
			x, word = h.symbol, h.word
			break
		}
	}
	if x == "" || f.Elements["C"] == 0 || halide.Family == "acid chloride" || halide.Family == "silyl halide" {
		return nil, false
	}
	var family, head, tail string
	var formula Formula
	ok := true
	switch metalSymbol(c, metal) {
	case "Mg":
		family, tail = "organomagnesium", "magnesium "+word
		formula, ok = f.plus(atoms("Mg"), 1)
	case "Zn":
		family, tail = "organozinc", "zinc "+word
		formula, ok = f.plus(atoms("Zn"), 1)
	case "Li":
		family, tail = "organolithium", "lithium"
		if formula, ok = f.plus(atoms(x), -1); ok {
			formula, ok = formula.plus(atoms("Li"), 1)
		}
	default:
		return nil, false
	}
	if !ok {
		return nil, false
	}
	for _, n := range append([]string{halide.Name}, halide.Names...) {
		group := c.groupName(n, x, word)
		if group == "" {
			continue
		}
		if head == "" {
			head = group
		}
		if s, ok := c.Find(group + tail); ok && s.Family == family {
			return s, true
		}
	}
	if head == "" {
		title := map[string]string{"organomagnesium": "Grignard reagent", "organozinc": "organozinc reagent", "organolithium": "organolithium reagent"}[family]
		return c.madeFrom(family, title+" from "+halide.Name, formula, made{})
	}
	g, _ := c.groups().group(head)
	return c.madeFrom(family, head+tail, formula, g)
}

// madeFrom builds a derived substance of a family that is known without
// looking at its name.
func (c *Compendium) madeFrom(family, name string, formula Formula, g made) (*Substance, bool) {
	f, ok := c.Family(family)
	if !ok {
		return nil, false
	}
	s := c.Merge(&Substance{Name: name, Family: family, Formula: formula.String(), JudgedAs: f.Title})
	if s.Hydrolysis != nil && s.Hydrolysis.Gas == "alkane" && (g.gasKnown || formula.Elements["C"] > 4) {
		s.Hydrolysis.Gas = g.gas
		if g.gas == "" {
			s.Hydrolysis.Moles = 0
		}
	}
	return s, true
}

func metalSymbol(c *Compendium, metal string) string {
	if s, ok := c.Find(metal); ok {
		if f, err := ParseFormula(s.Formula); err == nil && len(f.Elements) == 1 {
			return s.Formula
		}
	}
	return c.groups().Metals[plainName(metal)]
}

// groupName gives the group of a halide as a prefix: bromobenzene → phenyl,
// 2-bromopropane → isopropyl, cyclohexyl chloride → cyclohexyl; "" when the
// name cannot be read.
func (c *Compendium) groupName(halide, symbol, word string) string {
	name := plainName(halide)
	if rest, ok := strings.CutSuffix(name, " "+word); ok {
		return rest
	}
	prefix := strings.TrimSuffix(word, "ide") + "o"
	t := c.groups()
	if g, ok := t.Halides[strings.ReplaceAll(strings.Replace(name, prefix, "", 1), " ", "")]; ok {
		// the locant decides: 2-propane → isopropyl, 1-butane → n-butyl
		return g
	}
	at := strings.Index(name, prefix)
	if at < 0 {
		return ""
	}
	rest := name[at+len(prefix):]
	lead := name[:at]
	if strings.ContainsAny(lead, "abcdefghijklmnopqrstuvwxyz") {
		return ""
	}
	lead = strings.TrimSuffix(lead, "-")
	g, ok := t.Halides[rest]
	if !ok {
		return ""
	}
	if lead == "1" && strings.HasSuffix(rest, "ane") || rest == "mesitylene" {
		lead = "" // 1-bromobutane: an end of the chain
	}
	switch {
	case lead == "":
		return g
	case strings.HasSuffix(g, "tolyl"):
		return map[string]string{"2": "o-tolyl", "3": "m-tolyl", "4": "p-tolyl", "o": "o-tolyl", "m": "m-tolyl", "p": "p-tolyl"}[lead]
	case strings.HasSuffix(rest, "ane"):
		return "" // an inner carbon of a chain: only the table knows its group
	}
	return lead + "-" + g
}

// MetalAmide gives the amide that an amine makes with a strong base: lithium
// diisopropylamide from diisopropylamine and n-butyllithium. It is false when
// the amine has no N–H proton or the base no alkali metal.
func (c *Compendium) MetalAmide(amine, base *Substance) (*Substance, bool) {
	if amine == nil || base == nil {
		return nil, false
	}
	// Entries count protic sites only where there are any: triethylamine has
	// the formula of an amide's parent and no proton to give.
	if amine.Sites == nil || amine.Sites.Protic == 0 {
		return nil, false
	}
	f, err := ParseFormula(amine.Formula)
	if err != nil || f.Elements["N"] == 0 || f.Elements["H"] == 0 {
		return nil, false
	}
	b, err := ParseFormula(base.Formula)
	if err != nil {
		return nil, false
	}
	metal, word := "", ""
	for _, m := range []struct{ symbol, word string }{{"Li", "lithium"}, {"Na", "sodium"}, {"K", "potassium"}} {
		if b.Elements[m.symbol] > 0 {
			metal, word = m.symbol, m.word
			break
		}
	}
	if metal == "" {
		return nil, false
	}
	formula, ok := f.plus(atoms("H"), -1)
	if !ok {
		return nil, false
	}
	formula, _ = formula.plus(atoms(metal), 1)
	head := ""
	for _, n := range append([]string{amine.Name}, amine.Names...) {
		n = strings.TrimSpace(n)
		lower := strings.ToLower(n)
		var as []string
		if stem, ok := strings.CutSuffix(lower, "amine"); ok {
			as = append(as, stem+"amide")
		}
		if stem, ok := strings.CutSuffix(lower, "idine"); ok {
			as = append(as, stem+"idide")
		}
		if stem, ok := strings.CutSuffix(lower, "azane"); ok {
			as = append(as, stem+"azide")
		}
		for _, a := range as {
			if head == "" {
				head = word + " " + a
			}
			if s, ok := c.Find(word + " " + a); ok && s.Family == "metal amide" {
				return s, true
			}
		}
	}
	if head == "" {
		head = word + " amide of " + amine.Name
	}
	return c.madeFrom("metal amide", head, formula, made{})
}
