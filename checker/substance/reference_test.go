package substance

import (
	"flag"
	"fmt"
	"io/fs"
	"math"
	"os"
	"reflect"
	"regexp"
	"slices"
	"sort"
	"strings"
	"testing"
	"testing/fstest"

	"ketyl/checker/document"
	"ketyl/rules"
	"ketyl/schema"
)

var update = flag.Bool("update", false, "rewrite the coverage table of DEVELOPERS.md")

// TestReference checks every built-in reference file strictly.
func TestReference(t *testing.T) {
	_, found := Load(rules.FS)
	for _, f := range found {
		t.Error(f.Message)
	}
}

func TestSchema(t *testing.T) {
	s, err := document.CompileSchema("substance.schema.json", schema.Substance(), nil)
	if err != nil {
		t.Fatal(err)
	}
	for name, f := range substanceFiles(t) {
		for _, x := range s.Validate(f) {
			line, column := f.Source.Position(x.Span.Start)
			t.Errorf("%s:%d:%d: %s", name, line, column, x.Message)
		}
	}
}

func substanceFiles(t *testing.T) map[string]*document.File {
	t.Helper()
	names, err := fs.Glob(rules.FS, "reference/substances/*.yaml")
	if err != nil || len(names) == 0 {
		t.Fatalf("no substances: %v", err)
	}
	out := map[string]*document.File{}
	for _, name := range names {
		b, err := rules.FS.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		f, found := document.Read(name, b)
		for _, x := range found {
			line, column := f.Source.Position(x.Span.Start)
			t.Errorf("%s:%d:%d: %s", name, line, column, x.Message)
		}
		if f.Root != nil {
			out[name] = f
		}
	}
	return out
}

// TestScanIsParse holds the line scan of the compendium to a full parse.
func TestScanIsParse(t *testing.T) {
	for name, f := range substanceFiles(t) {
		scanned := scan(f.Source.Bytes, "substances")
		all := f.Root.Get("substances")
		if all == nil || len(all.Entries) != len(scanned) {
			t.Errorf("%s: the scan sees %d entries", name, len(scanned))
			continue
		}
		for i, e := range all.Entries {
			var s struct {
				Names   []string       `yaml:"names"`
				CAS     string         `yaml:"cas"`
				Formula string         `yaml:"formula"`
				Rest    map[string]any `yaml:"-"`
			}
			for _, key := range []string{"names", "cas", "formula"} {
				if n := e.Value.Get(key); n != nil {
					part := &document.Node{Kind: document.Mapping, Span: n.Span}
					part.Set(key, n)
					for _, x := range document.Decode(f, part, &s) {
						t.Errorf("%s: %s: %s", name, e.Key.Text, x.Message)
					}
				}
			}
			got := scanned[i]
			if got.key != e.Key.Text || !slices.Equal(got.list("names"), s.Names) || got.word("cas") != s.CAS || got.word("formula") != s.Formula {
				t.Errorf("%s: the scan reads %q %q %q %q, the parse %q %q %q %q", name, got.key, got.list("names"), got.word("cas"), got.word("formula"), e.Key.Text, s.Names, s.CAS, s.Formula)
			}
		}
	}
}

// TestEveryNameFindsItsEntry holds that no name leads to another substance.
func TestEveryNameFindsItsEntry(t *testing.T) {
	c := compendium(t)
	for _, s := range c.All() {
		for _, n := range append([]string{s.Name, s.CAS}, s.Names...) {
			if n == "" {
				continue
			}
			got, ok := c.Find(n)
			if !ok || got.Name != s.Name {
				t.Errorf("%s: its name %q finds %v", s.Name, n, got)
			}
		}
		if _, err := s.MolarMass(); err != nil && s.Formula != "" {
			t.Errorf("%s: %v", s.Name, err)
		}
	}
	if n := len(c.All()); n != len(c.entries) {
		t.Errorf("%d of %d entries can be read", n, len(c.entries))
	}
}

// TestAntoine compares the boiling point that the Antoine constants give with
// the entry's own, which comes from another table.
func TestAntoine(t *testing.T) {
	n := 0
	for _, s := range compendium(t).All() {
		a := s.Antoine
		if a == nil || s.BoilingPoint == nil || s.BoilingPoint.At != "" {
			continue
		}
		tb, ok := s.BoilingPoint.Celsius()
		if !ok {
			continue
		}
		n++
		got := a.B/(a.A-math.Log10(atmosphere)) - a.C - zeroCelsius
		if math.Abs(got-tb) > 2 {
			t.Errorf("%s: Antoine gives %.1f °C, the entry %.1f °C", s.Name, got, tb)
		}
	}
	if n < 20 {
		t.Errorf("only %d entries have both", n)
	}
}

// TestChemistry holds facts that a chemist would check first.
func TestChemistry(t *testing.T) {
	c := compendium(t)
	need := func(name, want string) {
		t.Helper()
		s := find(t, name)
		if s.Exclusion == nil || s.Exclusion.Need != want {
			t.Errorf("%s needs %+v, want %s", name, s.Exclusion, want)
		}
	}
	need("phenylmagnesium bromide", "inert gas")
	need("n-butyllithium", "inert gas")
	need("lithium aluminium hydride", "inert gas")
	need("sodium borohydride", "none")
	need("aluminium chloride", "drying tube")
	need("acetyl chloride", "drying tube")
	need("chlorotrimethylsilane", "drying tube")
	need("diethylzinc", "evacuate and refill")
	need("trimethylaluminium", "evacuate and refill")
	accepts := func(name, barrier string, want bool) {
		t.Helper()
		got := false
		for _, a := range find(t, name).Exclusion.Accepted {
			got = got || a.Barrier == barrier
		}
		if got != want {
			t.Errorf("%s under %s: accepted %v, want %v", name, barrier, got, want)
		}
	}
	accepts("phenylmagnesium bromide", "drying tube", true)
	accepts("n-butyllithium", "drying tube", false)
	accepts("lithium aluminium hydride", "drying tube", false)
	if s := find(t, "lithium"); !slices.Contains(s.Exclusion.NotUnder, "nitrogen") {
		t.Errorf("lithium may lie under nitrogen: %+v", s.Exclusion)
	}
	for _, live := range []string{"n-butyllithium", "lithium aluminium hydride", "sodium hydride", "sodium", "phenylmagnesium bromide", "lithium diisopropylamide", "diethylzinc"} {
		s := find(t, live)
		for _, act := range allActs {
			if !s.MustDie(act) {
				t.Errorf("%s may live to see %s", live, act)
			}
		}
		if s.Quench == nil || len(s.Quench.First) == 0 {
			t.Errorf("%s has no quench", live)
		}
	}
	if s := find(t, "sodium borohydride"); s.MustDie("opening") || !s.MustDie("waste") {
		t.Errorf("sodium borohydride: %v, want before evaporation and waste only", s.DestroyBefore)
	}
	for _, name := range []string{"n-butyllithium", "phenylmagnesium bromide", "lithium diisopropylamide"} {
		found := false
		for _, a := range find(t, name).AttackedBy {
			found = found || a.By == "carbon dioxide"
		}
		if !found {
			t.Errorf("carbon dioxide leaves %s alone", name)
		}
	}
	// what a quench names must be known
	for _, f := range c.Families() {
		if f.Quench == nil {
			continue
		}
		for _, q := range slices.Concat(f.Quench.First, f.Quench.Then, f.Quench.NeverFirst) {
			if _, family := c.Family(q); family {
				continue // a whole family is kept away
			}
			if s, nearest := c.Lookup(q); s == nil {
				t.Errorf("family %s: its quench %q is not known, nearest %q", f.Key, q, nearest)
			}
		}
		if f.Live && f.Vigour == 0 {
			t.Errorf("family %s is live but does not react with water", f.Key)
		}
	}
}

// TestLoadReports breaks the reference files one way at a time: each fault must
// be reported, with its file and line.
func TestLoadReports(t *testing.T) {
	good := `group: test
sources:
  x: {cite: test, kind: from memory}
substances:
  testol:
    names: [testanol]
    cas: '109-99-9'
    formula: C4H8O
    identity: x
    family: ether
    phase: liquid
    density: {value: 0.88, unit: g/mL, at: 20 °C, source: x}
    hazards: {codes: [H225], source: x}
    waste: {groups: [ethers], source: x}
`
	load := func(text string) []string {
		m := fstest.MapFS{"reference/substances/test.yaml": {Data: []byte(text)}}
		for _, name := range []string{"families", "reactivity", "desiccants", "techniques", "site", "groups", "elements"} {
			b, err := rules.FS.ReadFile("reference/" + name + ".yaml")
			if err != nil {
				t.Fatal(err)
			}
			m["reference/"+name+".yaml"] = &fstest.MapFile{Data: b}
		}
		_, found := Load(m)
		var out []string
		for _, f := range found {
			// the tables name entries that this small compendium lacks
			if strings.Contains(f.Message, "substances/test.yaml") {
				out = append(out, f.Message)
			}
		}
		return out
	}
	if got := load(good); len(got) > 0 {
		t.Fatalf("a good file is blamed: %q", got)
	}
	for _, test := range []struct{ from, to, want string }{
		{"'109-99-9'", "'109-99-8'", "check digit"},
		{"C4H8O", "C4H8Q", "no element"},
		{"family: ether", "family: etheer", "is not in families.yaml"},
		{"phase: liquid", "phase: wet", "phase"},
		{"source: x}\n    hazards", "source: y}\n    hazards", "not among the file's sources"},
		{"H225", "X225", "no H- or EUH-code"},
		{"[ethers]", "[etherz]", "no group"},
		{"unit: g/mL", "unit: stone", "density"},
		{"phase: liquid", "phase: liquid\n    colour: red", "colour"},
		{"kind: from memory", "kind: hearsay", "hearsay"},
		{"    identity: x\n", "    identity: x\n    pyrophoric: {value: maybe, source: x}\n", "pyrophoric"},
		{"    identity: x\n", "    identity: x\n    keep from: [{what: gryphons, because: x, source: x}]\n", "gryphons"},
		{"    identity: x\n", "    identity: x\n    dry with: [{agent: moonlight, source: x}]\n", "moonlight"},
		{"    identity: x\n", "    identity: x\n    sites: {protic: 1, source: x}\n", "protic kind"},
		{"substances:\n", "substances:\n  other:\n    names: [testanol]\n    identity: x\n    family: ether\n    phase: liquid\n", "belongs to"},
	} {
		text := strings.Replace(good, test.from, test.to, 1)
		if text == good {
			t.Fatalf("%q is not in the file", test.from)
		}
		got := load(text)
		hit := false
		for _, m := range got {
			hit = hit || strings.Contains(m, test.want) && strings.HasPrefix(m, "reference/substances/test.yaml:")
		}
		if !hit {
			t.Errorf("%q for %q: %q, want %q at a line", test.to, test.from, got, test.want)
		}
	}
	if c, found := Load(fstest.MapFS{}); c != nil || len(found) == 0 {
		t.Error("no files at all are no fault")
	}
}

// TestCoverage prints how many values of each field rest on what, and holds
// that each names a source.
func TestCoverage(t *testing.T) {
	c := compendium(t)
	kinds := []string{"published", "common practice", "from memory"}
	counts := map[string]map[string]int{}
	for i, e := range c.entries {
		c.substance(i)
		if e.raw == nil {
			t.Errorf("%s cannot be read", e.name)
			continue
		}
		count := func(field string, keys []string) {
			if counts[field] == nil {
				counts[field] = map[string]int{}
			}
			if len(keys) == 0 {
				counts[field]["none"]++
				return
			}
			counts[field][e.raw.Sources[keys[0]].Kind]++
		}
		count("identity", e.raw.Identity)
		v := reflect.ValueOf(e.raw).Elem()
		for j := range v.NumField() {
			name := v.Type().Field(j).Tag.Get("yaml")
			f := v.Field(j)
			switch {
			case f.Kind() == reflect.Pointer && !f.IsNil() && f.Elem().Kind() == reflect.Struct:
				if src := f.Elem().FieldByName("Source"); src.IsValid() {
					count(name, src.Interface().([]string))
				}
			case f.Kind() == reflect.Slice && f.Len() > 0 && f.Type().Elem().Kind() == reflect.Struct:
				for k := range f.Len() {
					count(name, f.Index(k).FieldByName("Source").Interface().([]string))
				}
			case f.Kind() == reflect.Map && name == "grades":
				for _, k := range f.MapKeys() {
					count(name, f.MapIndex(k).FieldByName("Source").Interface().([]string))
				}
			}
		}
	}
	fields := make([]string, 0, len(counts))
	for f := range counts {
		fields = append(fields, f)
	}
	sort.Strings(fields)
	var b strings.Builder
	fmt.Fprintf(&b, "%d substances, %d families.", len(c.entries), len(c.families))
	head := b.String()
	b.Reset()
	fmt.Fprintf(&b, "| field | %s | no source |\n| --- |%s\n", strings.Join(kinds, " | "), strings.Repeat(" --- |", len(kinds)+1))
	for _, f := range fields {
		fmt.Fprintf(&b, "| %s |", f)
		for _, k := range append(slices.Clone(kinds), "none") {
			fmt.Fprintf(&b, " %d |", counts[f][k])
		}
		b.WriteString("\n")
	}
	t.Logf("\n%s\n%s", head, b.String())
	// the page for developers shows the same table
	page, err := os.ReadFile("../../DEVELOPERS.md")
	if err != nil {
		t.Fatal(err)
	}
	shown := strings.ReplaceAll(string(page), "\r\n", "\n")
	if *update {
		shown = regexp.MustCompile(`\d+ substances, \d+ families\.`).ReplaceAllLiteralString(shown, head)
		shown = regexp.MustCompile(`\| field \| published [^\n]*\n(\|[^\n]*\n)+`).ReplaceAllLiteralString(shown, b.String())
		if err := os.WriteFile("../../DEVELOPERS.md", []byte(shown), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if !strings.Contains(shown, head) || !strings.Contains(shown, b.String()) {
		t.Errorf("the coverage table of DEVELOPERS.md is out of date: go test ./checker/substance -run TestCoverage -update writes it anew")
	}
	for _, f := range fields {
		if counts[f]["none"] > 0 {
			t.Errorf("%s: %d values name no source", f, counts[f]["none"])
		}
	}
}
