package substance

import (
	"fmt"
	"io/fs"
	"sort"
	"strings"

	"ketyl/checker/document"
	"ketyl/checker/finding"
)

// Load opens reference files of one's own, laid out as rules/ is, and checks
// every one of them strictly: unknown keys, units, source keys, CAS check
// digits, families, groups, names that two entries share. The compendium is
// nil when the files cannot be opened at all; with findings it still answers
// from what could be read, and leaves out what could not.
func Load(fsys fs.FS) (*Compendium, []finding.Finding) {
	c, err := open(fsys)
	if err != nil {
		return nil, []finding.Finding{{Rule: "knowledge/reference", Level: finding.Hold, Outcome: finding.Unread, Message: err.Error()}}
	}
	k := &checking{c: c, seen: map[string]string{}, casOf: map[string]string{}}
	k.families()
	k.substances()
	k.reactivity()
	k.tables()
	return c, k.found
}

// checking gathers what is wrong with the reference files.
type checking struct {
	c     *Compendium
	found []finding.Finding
	seen  map[string]string // name key → entry
	casOf map[string]string
}

func (k *checking) report(f *document.File, at finding.Span, format string, args ...any) {
	message := fmt.Sprintf(format, args...)
	if f != nil && f.Source != nil {
		line, column := f.Source.Position(at.Start)
		message = fmt.Sprintf("%s:%d:%d: %s", f.Source.Name, line, column, message)
	}
	k.found = append(k.found, finding.Finding{Rule: "knowledge/reference", Level: finding.Hold, Outcome: finding.Unread, Span: at, Message: message})
}

// add takes over findings of the reader, each with its place in words: one
// list holds findings of many files.
func (k *checking) add(f *document.File, found []finding.Finding) {
	for _, x := range found {
		if f != nil && f.Source != nil {
			line, column := f.Source.Position(x.Span.Start)
			x.Message = fmt.Sprintf("%s:%d:%d: %s", f.Source.Name, line, column, x.Message)
		}
		k.found = append(k.found, x)
	}
}

func (k *checking) read(name string) *document.File {
	b, err := fs.ReadFile(k.c.fsys, name)
	if err != nil {
		k.report(nil, finding.Span{}, "%v", err)
		return nil
	}
	f, found := document.Read(name, b)
	k.add(f, found)
	if f.Root == nil || len(found) > 0 {
		return nil
	}
	return f
}

// sources decodes the sources of a file and checks their kind.
func (k *checking) sources(f *document.File) map[string]Source {
	var s map[string]Source
	n := f.Root.Get("sources")
	if n == nil {
		k.report(f, f.Root.Span, "the file names no sources")
		return nil
	}
	k.add(f, document.Decode(f, n, &s))
	for _, e := range n.Entries {
		switch v := s[e.Key.Text]; {
		case v.Cite == "":
			k.report(f, e.Key.Span, "source %q has no cite", e.Key.Text)
		case v.Kind != "published" && v.Kind != "common practice" && v.Kind != "from memory":
			k.report(f, e.Key.Span, "source %q: kind is %q, want published, common practice or from memory", e.Key.Text, v.Kind)
		}
	}
	return s
}

// resolve checks that every source key below n is one of the file's.
func (k *checking) resolve(f *document.File, n *document.Node, sources map[string]Source) {
	if n == nil {
		return
	}
	for _, e := range n.Entries {
		if e.Key.Text == "source" || e.Key.Text == "identity" {
			items := e.Value.Items
			if e.Value.Kind == document.Scalar {
				items = []*document.Node{e.Value}
			}
			for _, item := range items {
				if _, ok := sources[item.Text]; !ok {
					k.report(f, item.Span, "source %q is not among the file's sources", item.Text)
				}
			}
			continue
		}
		k.resolve(f, e.Value, sources)
	}
	for _, item := range n.Items {
		k.resolve(f, item, sources)
	}
}

func (k *checking) families() {
	f := k.read("reference/families.yaml")
	if f == nil {
		return
	}
	sources := k.sources(f)
	all := f.Root.Get("families")
	if all == nil {
		k.report(f, f.Root.Span, "no families")
		return
	}
	for _, e := range all.Entries {
		var fam Family
		found := document.Decode(f, e.Value, &fam)
		k.add(f, found)
		k.resolve(f, e.Value, sources)
		if len(found) > 0 {
			continue
		}
		if fam.Title == "" {
			k.report(f, e.Key.Span, "family %q: a title is wanted, with its article, as in \"an ether\"", e.Key.Text)
		}
		for _, a := range fam.DryWith {
			if _, _, ok := k.c.Agent(a.Agent); !ok {
				k.report(f, e.Key.Span, "family %q: dry with %q: no agent of desiccants.yaml", e.Key.Text, a.Agent)
			}
		}
		if fam.Vigour < 0 || fam.Vigour > 5 {
			k.report(f, e.Key.Span, "family %q: vigour %d is outside 0 to 5", e.Key.Text, fam.Vigour)
		}
		k.common(f, e.Value, e.Key.Text, fam.AttackedBy, fam.Exclusion, fam.Active, fam.Waste, fam.Hazards, fam.Cautions, fam.DestroyBefore)
	}
}

var (
	speeds    = words("violent fast moderate slow very-slow")
	needs     = map[string]bool{"none": true, "drying tube": true, "inert gas": true, "evacuate and refill": true, "glovebox": true}
	actives   = map[string]bool{"carbanion": true, "amide base": true, "hydride": true, "alkoxide": true, "hydroxide": true, "metal": true, "acyl": true, "water-reactive halide": true, "ylide": true, "borane": true, "complex": true}
	topics    = map[string]bool{}
	phases    = words("solid liquid gas")
	protics   = map[string]bool{"": true, "water": true, "alcohol": true, "phenol": true, "acid": true, "mineral acid": true, "ammonium": true, "thiol": true, "amine": true, "amide": true, "alkyne": true, "C-H acid": true, "silanol": true}
	electros  = map[string]bool{}
	desiccant = words("sieve salt metal hydride oxide base column acid gel")
)

func init() {
	for _, t := range []string{"pyrophoric", "water-reactive", "flammable", "ether vapour", "peroxide former", "corrosive", "toxic", "carcinogen", "toxic gas", "hydrogen", "explosive", "oxidiser", "lachrymator", "stench", "sensitiser", "cryogen", "vacuum", "pressure", "exotherm", "alkali metal", "asphyxiant", "hot apparatus", "carbon monoxide", "cyanide", "mercury", "reproductive"} {
		topics[t] = true
	}
	for _, e := range []string{"", "aldehyde", "ketone", "ester", "lactone", "amide", "nitrile", "acid chloride", "anhydride", "carbon dioxide", "epoxide", "imine", "isocyanate", "alkyl halide", "aryl halide", "silyl halide", "alkene", "alkyne", "enone", "nitro", "sulfonate"} {
		electros[e] = true
	}
}

// Topics lists the topics a caution may be about, sorted.
func Topics() []string {
	out := make([]string, 0, len(topics))
	for t := range topics {
		out = append(out, t)
	}
	sort.Strings(out)
	return out
}

// common checks what entries and families share.
func (k *checking) common(f *document.File, n *document.Node, name string, attacks []Attack, ex *Exclusion, act *Active, w *Waste, h *Hazards, cautions, before []string) {
	at := func(key string) finding.Span {
		if e, ok := n.Entry(key); ok {
			return e.Value.Span
		}
		return n.Span
	}
	for _, a := range attacks {
		if a.By == "" || !speeds[strings.ReplaceAll(a.Speed, " ", "-")] {
			k.report(f, at("attacked by"), "%s: attacked by %q at speed %q: want violent, fast, moderate, slow or very slow", name, a.By, a.Speed)
		}
	}
	if ex != nil {
		if ex.Need != "" && !needs[ex.Need] {
			k.report(f, at("exclusion"), "%s: exclusion needs %q: want none, drying tube, inert gas, evacuate and refill or glovebox", name, ex.Need)
		}
		for _, a := range ex.Accepted {
			if !needs[a.Barrier] {
				k.report(f, at("exclusion"), "%s: accepted barrier %q is not known", name, a.Barrier)
			}
		}
	}
	if act != nil && !actives[act.As] {
		k.report(f, at("active"), "%s: active as %q is not known", name, act.As)
	}
	if w != nil {
		for _, g := range w.Groups {
			if _, ok := k.c.reactivity().Groups[g]; !ok {
				k.report(f, at("waste"), "%s: %q is no group of the EPA-600/2-80-076 chart", name, g)
			}
		}
		if r := w.Route; r != nil {
			known := r.Into == ""
			for _, c := range DefaultSite().Containers {
				known = known || c.Name == r.Into
			}
			if !known || r.How == "" || len(r.Source) == 0 {
				k.report(f, at("waste"), "%s: a waste route wants how, a source, and into: a container of site.yaml or none, found %q", name, r.Into)
			}
		}
	}
	if h != nil {
		for _, code := range h.Codes {
			if !hazardCode(code) {
				k.report(f, at("hazards"), "%s: %q is no H- or EUH-code", name, code)
			}
		}
	}
	for _, t := range cautions {
		if !topics[t] {
			k.report(f, at("cautions"), "%s: caution topic %q is not known", name, t)
		}
	}
	for _, b := range before {
		if b != "opening" && b != "work-up" && b != "evaporation" && b != "waste" {
			k.report(f, at("destroy before"), "%s: destroy before %q: want opening, work-up, evaporation or waste", name, b)
		}
	}
}

// hazardCode reports whether a code looks like H225, H360FD or EUH014.
func hazardCode(s string) bool {
	rest, ok := strings.CutPrefix(s, "EUH")
	if !ok {
		rest, ok = strings.CutPrefix(s, "H")
	}
	if !ok || len(rest) < 3 || len(rest) > 6 {
		return false
	}
	for i := range len(rest) {
		if i < 3 && !isDigit(rest[i]) || i >= 3 && !strings.ContainsRune("ADFdfi", rune(rest[i])) {
			return false
		}
	}
	return true
}

func (k *checking) substances() {
	files, _ := fs.Glob(k.c.fsys, "reference/substances/*.yaml")
	sort.Strings(files)
	for _, name := range files {
		f := k.read(name)
		if f == nil {
			continue
		}
		sources := k.sources(f)
		for _, e := range f.Root.Entries {
			if key := e.Key.Text; key != "group" && key != "sources" && key != "substances" {
				k.report(f, e.Key.Span, "unknown key %q, want group, sources or substances", key)
			}
		}
		all := f.Root.Get("substances")
		if all == nil {
			k.report(f, f.Root.Span, "no substances")
			continue
		}
		for _, e := range all.Entries {
			k.substance(f, e, sources)
		}
	}
}

func (k *checking) substance(f *document.File, e document.Entry, sources map[string]Source) {
	var s Substance
	name := e.Key.Text
	found := document.Decode(f, e.Value, &s)
	k.add(f, found)
	k.resolve(f, e.Value, sources)
	if len(found) > 0 {
		return
	}
	at := func(key string) finding.Span {
		if e, ok := e.Value.Entry(key); ok {
			return e.Value.Span
		}
		return e.Key.Span
	}
	if s.CAS != "" {
		if !CASValid(s.CAS) {
			k.report(f, at("cas"), "%s: CAS number %s has a wrong check digit or shape", name, s.CAS)
		}
		if other, taken := k.casOf[s.CAS]; taken {
			k.report(f, at("cas"), "%s: CAS number %s belongs to %s already", name, s.CAS, other)
		}
		k.casOf[s.CAS] = name
	}
	if s.Formula != "" {
		if _, err := ParseFormula(s.Formula); err != nil {
			k.report(f, at("formula"), "%s: %v", name, err)
		}
	}
	if s.Family == "" {
		k.report(f, e.Key.Span, "%s: no family", name)
	} else if _, ok := k.c.families[s.Family]; !ok {
		k.report(f, at("family"), "%s: family %q is not in families.yaml", name, s.Family)
	}
	if !phases[s.Phase] {
		k.report(f, at("phase"), "%s: phase %q, want solid, liquid or gas", name, s.Phase)
	}
	for _, n := range append([]string{name}, s.Names...) {
		key := joinTokens(tokens(n), false)
		if other, taken := k.seen[key]; taken && other != name {
			k.report(f, at("names"), "%s: the name %q belongs to %s already", name, n, other)
		}
		k.seen[key] = name
	}
	if s.Sites != nil {
		if !protics[s.Sites.ProticKind] || s.Sites.Protic > 0 && s.Sites.ProticKind == "" {
			k.report(f, at("sites"), "%s: protic kind %q is not known", name, s.Sites.ProticKind)
		}
		if !electros[s.Sites.ElectrophilicKind] || s.Sites.Electrophilic > 0 && s.Sites.ElectrophilicKind == "" {
			k.report(f, at("sites"), "%s: electrophilic kind %q is not known", name, s.Sites.ElectrophilicKind)
		}
	}
	for key, v := range map[string]*Value{"melting point": s.MeltingPoint, "boiling point": s.BoilingPoint, "flash point": s.FlashPoint, "autoignition": s.Autoignition} {
		if v == nil {
			continue
		}
		if _, ok := v.Celsius(); !ok {
			k.report(f, at(key), "%s: %s cannot be read as a temperature", name, key)
		}
	}
	if s.Density != nil {
		plain := *s.Density
		plain.At = ""
		if _, ok := (&Substance{Density: &plain}).DensityAt20(); !ok {
			k.report(f, at("density"), "%s: density in %q cannot be read, want g/mL", name, s.Density.Unit)
		}
		if s.Density.At != "" {
			if _, ok := kelvin(s.Density.At); !ok {
				k.report(f, at("density"), "%s: density at %q: no temperature", name, s.Density.At)
			}
		}
	}
	if d := s.LiquidDensity; d != nil {
		from, ok1 := kelvin(d.From)
		to, ok2 := kelvin(d.To)
		if d.Form != liquidDensityForm || !ok1 || !ok2 || from >= to || d.C1 <= 0 || d.C2 <= 0 || d.C2 >= 1 || to > d.C3 || d.C4 <= 0 {
			k.report(f, at("liquid density"), "%s: liquid density wants form: %s, positive constants with C2 below 1, and a range from … to …, at most C3", name, liquidDensityForm)
		}
	}
	if a := s.Antoine; a != nil {
		from, ok1 := kelvin(a.From)
		to, ok2 := kelvin(a.To)
		if a.Form != "log10 Pa K" || !ok1 || !ok2 || from >= to {
			k.report(f, at("antoine"), "%s: Antoine constants want form: log10 Pa K and a range from … to …", name)
		}
	}
	if b := s.FlammableLimits; b != nil && (b.Low == nil || b.High == nil || *b.Low <= 0 || *b.Low >= *b.High || *b.High > 100 || b.Unit != "% v/v in air") {
		k.report(f, at("flammable limits"), "%s: flammable limits want low, high and unit '%% v/v in air'", name)
	}
	if a := s.Assay; a != nil && (a.Value == nil || *a.Value <= 0 || *a.Value > 100 || a.Unit != "% w/w") {
		k.report(f, at("assay"), "%s: assay wants a value of 0 to 100 and unit '%% w/w'", name)
	}
	if s.ListedPressure != nil {
		if _, ok := s.ListedPressure.pascal(); !ok {
			k.report(f, at("vapour pressure"), "%s: vapour pressure in %q cannot be read", name, s.ListedPressure.Unit)
		}
	}
	if s.HeatOfVaporisation != nil {
		if _, ok := s.heatOfVaporisation(); !ok {
			k.report(f, at("heat of vaporisation"), "%s: heat of vaporisation in %q cannot be read", name, s.HeatOfVaporisation.Unit)
		}
	}
	if p := s.PeroxideClass; p != nil && p.Value != "A" && p.Value != "B" && p.Value != "C" && p.Value != "D" {
		k.report(f, at("peroxide class"), "%s: peroxide class %q, want A, B, C or D", name, p.Value)
	}
	if p := s.Pyrophoric; p != nil && p.Value != "yes" && p.Value != "no" && p.Value != "conditional" {
		k.report(f, at("pyrophoric"), "%s: pyrophoric %q, want 'yes', 'no' or conditional", name, p.Value)
	}
	if d := s.Desiccant; d != nil && !desiccant[d.Kind] {
		k.report(f, at("desiccant"), "%s: desiccant kind %q is not known", name, d.Kind)
	}
	for _, x := range s.Solutions {
		for _, code := range x.Codes {
			if !hazardCode(code) {
				k.report(f, at("solutions"), "%s: %q is no H- or EUH-code", name, code)
			}
		}
	}
	for _, a := range s.KeepFrom {
		if !k.isWord(a.What) {
			k.report(f, at("keep from"), "%s: keep from %q: no substance, family, group or word of reactivity.yaml", name, a.What)
		}
	}
	for key, list := range map[string][]Agent{"dry with": s.DryWith, "never dry with": s.NeverDryWith} {
		for _, a := range list {
			if _, _, ok := k.c.Agent(a.Agent); !ok {
				k.report(f, at(key), "%s: %s %q: no agent of desiccants.yaml", name, key, a.Agent)
			}
		}
	}
	k.common(f, e.Value, name, s.AttackedBy, s.Exclusion, s.Active, s.Waste, s.Hazards, s.Cautions, s.DestroyBefore)
}

// isWord reports whether Is can make sense of a word.
func (k *checking) isWord(what string) bool {
	r := k.c.reactivity()
	if k.c.families[what] != nil || k.c.families[strings.TrimSuffix(what, "s")] != nil || r.Groups[what] != 0 {
		return true
	}
	if _, ok := r.Words[strings.ToLower(what)]; ok {
		return true
	}
	_, ok := k.c.names[joinTokens(tokens(what), false)]
	return ok
}

func (k *checking) reactivity() {
	var r reactivityFile
	f := k.table("reactivity.yaml", &r)
	if f == nil {
		return
	}
	numbers := map[int]bool{}
	for _, n := range r.Groups {
		numbers[n] = true
	}
	for _, part := range r.Chart {
		for _, text := range part.Pairs {
			a, b, codes, ok := chartPair(text)
			if !ok || !numbers[a] || !numbers[b] {
				k.report(f, f.Root.Get("chart").Span, "pair %q cannot be read, want \"1 + 4: H\"", text)
				continue
			}
			for _, code := range codes {
				if _, ok := r.Codes[code]; !ok {
					k.report(f, f.Root.Get("chart").Span, "pair %q: code %q is not explained", text, code)
				}
			}
		}
	}
	known := func(at finding.Span, what string) {
		if !k.isWord(what) {
			k.report(f, at, "%q is no substance, family, group or word of reactivity.yaml", what)
		}
	}
	for word, w := range r.Words {
		n := f.Root.Get("words").Get(word)
		for _, x := range w.Families {
			if k.c.families[x] == nil {
				k.report(f, n.Span, "word %q: no family %q", word, x)
			}
		}
		for _, x := range w.Groups {
			if r.Groups[x] == 0 {
				k.report(f, n.Span, "word %q: no group %q", word, x)
			}
		}
		for _, x := range w.Substances {
			if _, ok := k.c.names[joinTokens(tokens(x), false)]; !ok {
				k.report(f, n.Span, "word %q: no substance %q", word, x)
			}
		}
	}
	for i, p := range r.Pairs {
		n := f.Root.Get("pairs").Items[i]
		for _, w := range p.A {
			known(n.Span, w)
		}
		for _, w := range p.B {
			known(n.Span, w)
		}
		for _, e := range p.Except {
			one, two, ok := strings.Cut(e, " + ")
			if !ok {
				k.report(f, n.Span, "exception %q cannot be read, want \"calcium hydride + dichloromethane\"", e)
				continue
			}
			known(n.Span, one)
			known(n.Span, two)
		}
	}
}

// table reads and decodes one of the other reference files.
func (k *checking) table(name string, to any) *document.File {
	f := k.read("reference/" + name)
	if f == nil {
		return nil
	}
	found := document.Decode(f, f.Root, to)
	k.add(f, found)
	sources := k.sources(f)
	for _, e := range f.Root.Entries {
		if e.Key.Text != "sources" {
			k.resolve(f, e.Value, sources)
		}
	}
	if len(found) > 0 {
		return nil
	}
	return f
}

func (k *checking) tables() {
	var d DesiccantTable
	if f := k.table("desiccants.yaml", &d); f != nil {
		for i, p := range d.Dried {
			at := f.Root.Get("dried").Items[i].Span
			if _, ok := d.Agents[p.Agent]; !ok {
				k.report(f, at, "agent %q is not in the table", p.Agent)
			}
			if (p.Residual == nil) == (p.Removed == nil) {
				k.report(f, at, "want either residual or removed")
			}
			for _, fam := range p.Families {
				if k.c.families[fam] == nil {
					k.report(f, at, "no family %q", fam)
				}
			}
			if p.Solvent != "" {
				if _, ok := k.c.names[joinTokens(tokens(p.Solvent), false)]; !ok {
					k.report(f, at, "no substance %q", p.Solvent)
				}
			}
		}
		for i, p := range d.Never {
			at := f.Root.Get("never").Items[i].Span
			for _, a := range p.Agents {
				if _, ok := d.Agents[a]; !ok {
					k.report(f, at, "agent %q is not in the table", a)
				}
			}
			if p.Verdict != "forbidden" && p.Verdict != "avoid" && p.Verdict != "unsuitable" {
				k.report(f, at, "verdict %q, want forbidden, avoid or unsuitable", p.Verdict)
			}
		}
		for name, a := range d.Agents {
			if a.Substance == "" {
				continue
			}
			if _, ok := k.c.names[joinTokens(tokens(a.Substance), false)]; !ok {
				k.report(f, f.Root.Get("agents").Get(name).Span, "agent %q: no substance %q", name, a.Substance)
			}
		}
	}
	k.table("techniques.yaml", &TechniqueTable{})
	k.table("site.yaml", &Site{})
	k.table("groups.yaml", &groupFile{})
	k.table("elements.yaml", &elementFile{})
}
