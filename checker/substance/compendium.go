package substance

import (
	"bytes"
	"fmt"
	"io/fs"
	"maps"
	"path"
	"slices"
	"sort"
	"strings"
	"sync"
	"sync/atomic"

	"ketyl/checker/document"
	"ketyl/checker/finding"
	"ketyl/rules"
)

// Compendium answers what is known of a substance. It is safe for concurrent
// use; what it returns is shared and must not be changed (copy it first).
//
// A cold start must not parse hundreds of entries, so the files are only
// scanned for names, CAS numbers and formulas; an entry is parsed when it is
// first asked for.
type Compendium struct {
	fsys     fs.FS
	entries  []*entry
	families map[string]*familyEntry
	order    []string // family keys in file order
	names    map[string]int
	loose    map[string]int // -1 when two entries share the key
	exact    map[string]int // names as written
	cas      map[string]int

	formulas    func() map[string]int
	folded      func() map[string]int // formulas without case; -1 when two share the key
	nameList    func() []indexedName
	groups      func() *groupTable
	reactivity  func() *reactivity
	desiccants  func() *DesiccantTable
	derivations sync.Map // name → *Substance; what Derive has worked out
	derived     atomic.Int64
	sides       sync.Map // *Substance → []pairSide
	sidesKept   atomic.Int64
}

// maxDerived bounds the derived substances kept, so that a long-running editor
// or a large shelf does not grow without end.
const maxDerived = 4096

// maxNameBytes is far beyond any name; longer text is no name.
const maxNameBytes = 300

type indexedName struct{ key, entry string }

// entry is one substance of a file, parsed at first use.
type entry struct {
	name    string
	file    *blob
	start   int // of its block within the file
	end     int
	names   []string
	cas     string
	formula string

	once sync.Once
	raw  *Substance
	full *Substance
}

type familyEntry struct {
	key        string
	file       *blob
	start, end int
	like       []pattern
	notLike    []pattern

	once sync.Once
	fam  *Family
}

// blob is a reference file with its sources, parsed at first use.
type blob struct {
	name  string
	bytes []byte

	once    sync.Once
	sources map[string]Source
}

var defaultOnce = sync.OnceValues(func() (*Compendium, error) {
	return open(rules.FS)
})

// Default gives the compendium built into the program, opened once.
func Default() (*Compendium, error) { return defaultOnce() }

// open scans the reference files of fsys; nothing is parsed yet.
func open(fsys fs.FS) (*Compendium, error) {
	c := &Compendium{
		fsys:     fsys,
		families: map[string]*familyEntry{},
		names:    map[string]int{},
		loose:    map[string]int{},
		exact:    map[string]int{},
		cas:      map[string]int{},
	}
	files, err := fs.Glob(fsys, "reference/substances/*.yaml")
	if err != nil {
		return nil, fmt.Errorf("reading the substances: %w", err)
	}
	sort.Strings(files)
	for _, name := range files {
		b, err := fs.ReadFile(fsys, name)
		if err != nil {
			return nil, fmt.Errorf("reading the substances: %w", err)
		}
		file := &blob{name: name, bytes: b}
		for _, s := range scan(b, "substances") {
			c.add(&entry{name: s.key, file: file, start: s.start, end: s.end, names: s.list("names"), cas: s.word("cas"), formula: s.word("formula")})
		}
	}
	b, err := fs.ReadFile(fsys, "reference/families.yaml")
	if err != nil {
		return nil, fmt.Errorf("reading the families: %w", err)
	}
	file := &blob{name: "reference/families.yaml", bytes: b}
	for _, s := range scan(b, "families") {
		c.families[s.key] = &familyEntry{key: s.key, file: file, start: s.start, end: s.end, like: patterns(s.list("like")), notLike: patterns(s.list("not like"))}
		c.order = append(c.order, s.key)
	}
	c.formulas = sync.OnceValue(c.indexFormulas)
	c.folded = sync.OnceValue(c.indexFolded)
	c.nameList = sync.OnceValue(c.indexNames)
	c.groups = sync.OnceValue(func() *groupTable { return readGroups(fsys) })
	c.reactivity = sync.OnceValue(func() *reactivity { return readReactivity(fsys) })
	c.desiccants = sync.OnceValue(func() *DesiccantTable { return readDesiccants(fsys) })
	return c, nil
}

func (c *Compendium) add(e *entry) {
	i := len(c.entries)
	c.entries = append(c.entries, e)
	if e.cas != "" {
		c.cas[e.cas] = i
	}
	c.addName(e.name, i)
	for _, n := range e.names {
		c.addName(n, i)
	}
}

func (c *Compendium) addName(name string, i int) {
	ts := tokens(name)
	key := joinTokens(ts, false)
	if key == "" {
		return
	}
	if _, taken := c.names[key]; !taken {
		c.names[key] = i
	}
	if _, taken := c.exact[name]; !taken {
		c.exact[name] = i
	}
	if !hasChainPrefix(ts) {
		return
	}
	loose := joinTokens(ts, true)
	if j, taken := c.loose[loose]; taken && j != i {
		c.loose[loose] = -1
	} else {
		c.loose[loose] = i
	}
}

func (c *Compendium) indexFormulas() map[string]int {
	m := make(map[string]int, len(c.entries))
	for i, e := range c.entries {
		if f, err := ParseFormula(e.formula); err == nil {
			key := f.String()
			if _, taken := m[key]; taken {
				m[key] = -1
				continue
			}
			m[key] = i
		}
	}
	return m
}

func (c *Compendium) indexNames() []indexedName {
	out := make([]indexedName, 0, len(c.names))
	for key, i := range c.names {
		out = append(out, indexedName{key, c.entries[i].name})
	}
	sort.Slice(out, func(i, j int) bool { return out[i].key < out[j].key })
	return out
}

// Find gives the entry with a name, abbreviation, CAS number or formula, its
// gaps filled from its family. Case, spaces, hyphens, primes and the usual
// spellings do not count; words of state (anhydrous, turnings, conc.) are
// dropped when the name as a whole is not known. A formula counts only when it
// belongs to one substance alone.
func (c *Compendium) Find(name string) (*Substance, bool) {
	i, ok := c.find(name)
	if !ok {
		return nil, false
	}
	s := c.substance(i)
	return s, s != nil
}

func (c *Compendium) find(name string) (int, bool) {
	name = strings.TrimSpace(name)
	if i, ok := c.cas[name]; ok {
		return i, true
	}
	if isSymbol(name) {
		// Co is cobalt and CO is not: case decides for an element's symbol.
		if i, ok := c.exact[name]; ok {
			return i, true
		}
		return c.byFormula(name)
	}
	ts := tokens(name)
	if len(ts) == 0 || len(name) > maxNameBytes {
		return 0, false
	}
	if i, ok := c.exact[name]; ok {
		return i, true
	}
	if i, ok := c.byTokens(ts); ok && !c.otherFormula(i, name) {
		return i, true
	}
	if i, ok := c.byFormula(name); ok {
		return i, true
	}
	if s, ok := sieve(ts); ok {
		if i, ok := c.names[joinTokens(tokens(s), false)]; ok {
			return i, true
		}
	}
	words := strings.Fields(name)
	for _, short := range shortened(ts) {
		if i, ok := c.byTokens(short); ok && !slices.ContainsFunc(words, func(w string) bool { return c.otherFormula(i, w) }) {
			return i, true
		}
	}
	if plain, ok := withoutStrength(name); ok {
		return c.find(plain)
	}
	if len(words) > 1 {
		// "anhydrous MgSO4", "conc. HCl"
		for _, w := range words {
			if i, ok := c.byFormula(w); ok && othersAreState(words, w) {
				return i, true
			}
		}
	}
	return 0, false
}

// indexFolded is the formulas of the entries in lower case without brackets; -1
// where two differ in nothing else.
func (c *Compendium) indexFolded() map[string]int {
	m := make(map[string]int, len(c.entries))
	for i, e := range c.entries {
		key := joinTokens(tokens(e.formula), false)
		if j, taken := m[key]; taken && c.entries[j].formula != e.formula {
			i = -1
		}
		m[key] = i
	}
	return m
}

// withoutStrength takes "1.6 M n-BuLi in hexanes", "n-BuLi solution, 1.6 M in
// hexanes" and "n-BuLi 23 % dispersion" down to "n-BuLi".
func withoutStrength(name string) (string, bool) {
	plain := name
	if i := strings.Index(plain, " in "); i > 0 {
		plain = plain[:i]
	}
	if _, rest, ok := numberUnit(plain); ok && rest != "" && rest != plain {
		for _, unit := range []string{"M ", "N ", "mol/L ", "% ", "% w/w ", "wt% ", "wt % "} {
			if tail, ok := strings.CutPrefix(rest, unit); ok {
				plain = tail
			}
		}
	}
	// "sec-butyllithium solution, 1.4 M", as catalogues write it
	words := strings.Fields(plain)
	last := len(words)
	for last > 1 {
		w := strings.Trim(words[last-1], ",;()")
		_, rest, isNumber := numberUnit(w)
		if !(isNumber && (rest == "" || rest == "M" || rest == "N" || rest == "%") || w == "solution" || w == "dispersion" || w == "suspension" || w == "slurry" ||
			w == "M" || w == "N" || w == "%" || w == "wt%" || w == "wt" || w == "w/w" || w == "mol/L") {
			break
		}
		last--
	}
	plain = strings.TrimRight(strings.Join(words[:last], " "), ",; ")
	return plain, plain != name && plain != ""
}

func othersAreState(words []string, but string) bool {
	for _, w := range words {
		if w == but {
			continue
		}
		for _, t := range tokens(w) {
			if !leading[t.text] && !trailing[t.text] {
				return false
			}
		}
	}
	return true
}

func (c *Compendium) byTokens(ts []token) (int, bool) {
	key := joinTokens(ts, false)
	if key == "" {
		return 0, false
	}
	if i, ok := c.names[key]; ok {
		return i, true
	}
	loose := joinTokens(ts, true)
	if i, ok := c.names[loose]; ok {
		return i, true
	}
	if i, ok := c.loose[loose]; ok && i >= 0 {
		return i, true
	}
	return 0, false
}

// isSymbol reports whether name is written as an element's symbol.
func isSymbol(name string) bool {
	if len(name) == 0 || len(name) > 2 || name[0] < 'A' || name[0] > 'Z' {
		return false
	}
	if len(name) == 2 && (name[1] < 'a' || name[1] > 'z') {
		return false
	}
	t := elements()
	_, ok := t.weight[name]
	return ok || t.unstabl[name]
}

// otherFormula reports a name that, as it is written, is the formula of other
// matter than the entry that it finds when case does not count: CoCl2 is no
// (COCl)2, and of cocl2 nobody can say which is meant. An abbreviation as the entry
// spells it (NBS) stands.
func (c *Compendium) otherFormula(i int, name string) bool {
	if _, ok := c.exact[name]; ok {
		return false
	}
	if strings.ContainsAny(name[:1], "ABCDEFGHIJKLMNOPQRSTUVWXYZ([{") {
		if x, err := ParseFormula(name); err == nil {
			y, err := ParseFormula(c.entries[i].formula)
			return err == nil && len(x.Elements) > 1 && !maps.Equal(x.Elements, y.Elements)
		}
	}
	if len(name) > 16 || strings.ContainsAny(name, " -,") || !strings.ContainsAny(name, "0123456789₀₁₂₃₄₅₆₇₈₉") {
		return false
	}
	key := joinTokens(tokens(name), false)
	for _, n := range c.entries[i].names {
		if strings.EqualFold(n, name) || joinTokens(tokens(n), false) != key {
			continue
		}
		if _, err := ParseFormula(n); err == nil {
			j, ok := c.folded()[key]
			return ok && j != i
		}
	}
	return false
}

// byFormula finds a formula that one entry alone has. A formula of carbon
// chains that other substances share (C2H6O) names nothing, even when the
// compendium holds one of them only.
func (c *Compendium) byFormula(text string) (int, bool) {
	if len(text) == 0 || len(text) > 60 || !strings.ContainsAny(text[:1], "ABCDEFGHIJKLMNOPQRSTUVWXYZ([{") {
		return 0, false
	}
	f, err := ParseFormula(text)
	if err != nil || f.Elements["C"] > 1 && f.Elements["H"] > 0 {
		return 0, false
	}
	i, ok := c.formulas()[f.String()]
	return i, ok && i >= 0
}

// OfFormula lists the entries that share a molecular formula, sorted: C4H8O is
// the formula of tetrahydrofuran, of butanal and of others, and so the name of
// none. It is empty for what is no formula and for one that no entry has.
func (c *Compendium) OfFormula(text string) []string {
	text = strings.TrimSpace(text)
	if len(text) == 0 || len(text) > 60 || !strings.ContainsAny(text[:1], "ABCDEFGHIJKLMNOPQRSTUVWXYZ([{") {
		return nil
	}
	f, err := ParseFormula(text)
	if err != nil {
		return nil
	}
	var out []string
	for _, e := range c.entries {
		if g, err := ParseFormula(e.formula); err == nil && g.String() == f.String() {
			out = append(out, e.name)
		}
	}
	sort.Strings(out)
	return out
}

// Lookup finds or derives a substance. When it can do neither s is nil and
// nearest has up to three names of the compendium that come near.
func (c *Compendium) Lookup(name string) (s *Substance, nearest []string) {
	if s, ok := c.Find(name); ok {
		return s, nil
	}
	if s, ok := c.Derive(name, "", ""); ok {
		return s, nil
	}
	if plain, ok := withoutStrength(name); ok {
		if s, ok := c.Derive(plain, "", ""); ok {
			return s, nil
		}
	}
	return nil, nearest3(name, c.nameList())
}

// All gives every entry, sorted by name.
func (c *Compendium) All() []*Substance {
	out := make([]*Substance, 0, len(c.entries))
	for i := range c.entries {
		if s := c.substance(i); s != nil {
			out = append(out, s)
		}
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Name < out[j].Name })
	return out
}

// Families gives every family, in the order of the file.
func (c *Compendium) Families() []*Family {
	out := make([]*Family, 0, len(c.order))
	for _, k := range c.order {
		if f, ok := c.Family(k); ok {
			out = append(out, f)
		}
	}
	return out
}

// Family gives the family with a key such as organolithium.
func (c *Compendium) Family(key string) (*Family, bool) {
	e, ok := c.families[key]
	if !ok {
		return nil, false
	}
	e.once.Do(func() {
		var f Family
		if fs := decodeBlock(e.file, e.start, e.end, &f); len(fs) > 0 {
			return
		}
		f.Key, f.Sources = e.key, e.file.resolve()
		e.fam = &f
	})
	return e.fam, e.fam != nil
}

func (c *Compendium) substance(i int) *Substance {
	e := c.entries[i]
	e.once.Do(func() {
		var s Substance
		if fs := decodeBlock(e.file, e.start, e.end, &s); len(fs) > 0 {
			return // a broken entry is an unknown substance, which is a hold
		}
		s.Name, s.Sources = e.name, e.file.resolve()
		e.raw = &s
		e.full = c.Merge(&s)
	})
	return e.full
}

// decodeBlock parses one entry's lines on their own.
func decodeBlock(file *blob, start, end int, to any) []finding.Finding {
	text := append([]byte("e:\n"), file.bytes[start:end]...)
	f, fs := document.Read(file.name, text)
	if len(fs) > 0 {
		return fs
	}
	body := f.Root.Get("e")
	if body == nil || len(body.Entries) != 1 {
		return []finding.Finding{{Rule: "knowledge/reference", Level: finding.Hold, Outcome: finding.Unread,
			Message: fmt.Sprintf("%s: an entry cannot be read", file.name)}}
	}
	return document.Decode(f, body.Entries[0].Value, to)
}

// resolve gives the sources of a file, parsed once.
func (b *blob) resolve() map[string]Source {
	b.once.Do(func() {
		start, end := section(b.bytes, "sources")
		if start < 0 {
			return
		}
		f, fs := document.Read(b.name, b.bytes[start:end])
		if len(fs) > 0 || f.Root == nil {
			return
		}
		var s map[string]Source
		if n := f.Root.Get("sources"); n != nil && len(document.Decode(f, n, &s)) == 0 {
			b.sources = s
		}
	})
	return b.sources
}

// scanned is what the line scan sees of an entry.
type scanned struct {
	key        string
	start, end int // of its lines, the key's line included
	body       []byte
}

// section finds a top-level key and the end of its lines; start is -1 when the
// file has no such key.
func section(b []byte, key string) (start, end int) {
	start = -1
	if bytes.HasPrefix(b, []byte(key+":")) {
		start = 0
	} else if i := bytes.Index(b, []byte("\n"+key+":")); i >= 0 {
		start = i + 1
	} else {
		return -1, -1
	}
	end = start
	for {
		i := bytes.IndexByte(b[end:], '\n')
		if i < 0 {
			return start, len(b)
		}
		end += i + 1
		if end >= len(b) {
			return start, len(b)
		}
		if c := b[end]; c != ' ' && c != '\n' && c != '\r' && c != '#' {
			return start, end
		}
	}
}

// scan lists the entries of a section by their two-space keys. It relies on the
// house format and is held to a full parse by a test.
func scan(b []byte, key string) []scanned {
	start, end := section(b, key)
	if start < 0 {
		return nil
	}
	var out []scanned
	i := start + bytes.IndexByte(b[start:end], '\n') + 1
	if i <= start {
		return nil
	}
	for i < end {
		n := bytes.IndexByte(b[i:end], '\n')
		next := end
		if n >= 0 {
			next = i + n + 1
		}
		line := b[i:next]
		if len(line) > 3 && line[0] == ' ' && line[1] == ' ' && line[2] != ' ' && line[2] != '#' {
			if len(out) > 0 {
				out[len(out)-1].end = i
			}
			out = append(out, scanned{key: keyOf(line[2:]), start: i, end: end})
		}
		i = next
	}
	for j := range out {
		out[j].body = b[out[j].start:out[j].end]
	}
	return out
}

// keyOf reads the key of a "key:" line, quoted or not.
func keyOf(line []byte) string {
	s := string(bytes.TrimRight(line, " \r\n"))
	if s != "" && (s[0] == '\'' || s[0] == '"') {
		if i := strings.IndexByte(s[1:], s[0]); i >= 0 {
			return s[1 : 1+i]
		}
	}
	if i := strings.Index(s, ": "); i >= 0 {
		return s[:i]
	}
	return strings.TrimSuffix(s, ":")
}

// field gives what follows a four-space key of an entry, to the end of its line.
func (s scanned) field(key string) (string, int) {
	i := bytes.Index(s.body, []byte("\n    "+key+":"))
	if i < 0 {
		return "", -1
	}
	i += len(key) + 6
	end := bytes.IndexByte(s.body[i:], '\n')
	if end < 0 {
		end = len(s.body) - i
	}
	return strings.TrimSpace(string(s.body[i : i+end])), i
}

// word reads a scalar field without its quotes and trailing comment.
func (s scanned) word(key string) string {
	v, _ := s.field(key)
	return unquote(v)
}

func unquote(v string) string {
	if len(v) > 1 && (v[0] == '\'' || v[0] == '"') {
		if i := strings.IndexByte(v[1:], v[0]); i >= 0 {
			return v[1 : 1+i]
		}
	}
	if i := strings.Index(v, " #"); i >= 0 {
		v = strings.TrimSpace(v[:i])
	}
	return v
}

// list reads a flow list, or one word, of a field.
func (s scanned) list(key string) []string {
	v, at := s.field(key)
	if at < 0 || v == "" {
		return nil
	}
	if v[0] != '[' {
		return []string{unquote(v)}
	}
	text := s.body[at:]
	text = text[bytes.IndexByte(text, '[')+1:]
	var out []string
	for i := 0; i < len(text); {
		switch c := text[i]; {
		case c == ']':
			return out
		case c == ' ' || c == ',' || c == '\n' || c == '\r':
			i++
		case c == '\'' || c == '"':
			var b []byte
			for i++; i < len(text); i++ {
				if text[i] == c {
					if c == '\'' && i+1 < len(text) && text[i+1] == c {
						b = append(b, c)
						i++
						continue
					}
					break
				}
				b = append(b, text[i])
			}
			i++
			out = append(out, string(b))
		default:
			j := i
			for j < len(text) && text[j] != ',' && text[j] != ']' && text[j] != '\n' {
				j++
			}
			out = append(out, strings.TrimSpace(string(text[i:j])))
			i = j
		}
	}
	return out
}

// HasCode reports whether a GHS code of the substance begins with prefix, as
// in HasCode("H35").
func (s *Substance) HasCode(prefix string) bool {
	if s.Hazards == nil {
		return false
	}
	for _, c := range s.Hazards.Codes {
		if strings.HasPrefix(c, prefix) {
			return true
		}
	}
	return false
}

// readTable reads one reference file into a struct.
func readTable(fsys fs.FS, name string, to any) []finding.Finding {
	b, err := fs.ReadFile(fsys, path.Join("reference", name))
	if err != nil {
		return []finding.Finding{{Rule: "knowledge/reference", Level: finding.Hold, Outcome: finding.Unread, Message: err.Error()}}
	}
	f, found := document.Read(path.Join("reference", name), b)
	if len(found) > 0 || f.Root == nil {
		return found
	}
	return document.Decode(f, f.Root, to)
}
