package judge

import (
	"fmt"
	"io/fs"
	"os"
	"reflect"
	"strings"
	"testing"
	"testing/fstest"

	"ketyl/checker/bench"
	"ketyl/checker/document"
	"ketyl/checker/finding"
)

// loadErrors loads one file both ways and gives the messages, which must not
// differ and must point into the file.
func loadErrors(t *testing.T, text string) []string {
	t.Helper()
	var first []string
	for _, trusted := range []bool{false, true} {
		var got []string
		s, fs := Load(fstest.MapFS{"r/a.yaml": {Data: []byte(text)}}, "r", trusted)
		if trusted && len(fs) == 0 && len(s.rules) > 0 {
			// What only compiling finds, the tests of a trusted file find.
			_, fs = s.rules[0].examples()
		}
		for _, f := range fs {
			if f.Outcome != finding.Unread || !strings.HasPrefix(f.Rule, "rules/") || f.Span.Start < 0 || f.Span.End > len(text) || f.Span.Start > f.Span.End {
				t.Errorf("found %+v", f)
			}
			got = append(got, f.Message)
		}
		if trusted && !reflect.DeepEqual(got, first) {
			t.Errorf("trusted: found %q, not trusted: %q", got, first)
		}
		first = got
	}
	return first
}

func TestLoadErrors(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"syntax", "family: [", "r/a.yaml:1:"},
		{"empty", "", "r/a.yaml:1:1: the file is empty"},
		{"no family", "rules: []", "`family`"},
		{"family", "family: adition\nrules: []\n", "r/a.yaml:1:9: found the family `adition`, did you mean `addition`?"},
		{"unknown key", oneRule("requires: true"), "r/a.yaml:11:5: unknown key `requires`"},
		{"missing key", strings.Replace(oneRule(), "\n    because: It matters.", "", 1), "has no `because`"},
		{"id", oneRule("id: addition/Some Rule"), "r/a.yaml:3:9: found the id `addition/Some Rule`, expected addition/name in small letters, figures and hyphens"},
		{"other family", oneRule("id: quench/rule"), "r/a.yaml:3:9: found the id `quench/rule` in a file of the family addition, expected addition/rule"},
		{"level", oneRule("level: gravely"), "r/a.yaml:4:12: found the level `gravely`, expected one of `hold`, `revise`, `advise`"},
		{"kind", oneRule("over: additon"), "r/a.yaml:5:11: found the kind of event `additon`, did you mean `addition`?"},
		{"fact", oneRule("require: event.rate_gven"), "r/a.yaml:6:20: event (addition) has no `rate_gven`, did you mean `rate_given`?"},
		{"nested fact", oneRule("require: event.vessel.fil < 1 && event.rate_given"), "r/a.yaml:6:27: event.vessel (vessel) has no `fil`, did you mean `fill`?"},
		{"fact of a number", oneRule("require: event.vessel.fill.x < 1"), "r/a.yaml:6:32: event.vessel.fill is a number, may be unknown and holds no `x`"},
		{"wrong nest", oneRule("require: event.vesel.fill < 1"), "r/a.yaml:6:20: event (addition) has no `vesel`, did you mean `vessel`?"},
		{"word", oneRule("require: evnt.rate_given"), "r/a.yaml:6:14: found the word `evnt`, did you mean `event`?"},
		{"bare fact", oneRule("require: rate_given"), "r/a.yaml:6:14: found the word `rate_given`, did you mean `event.rate_given`?"},
		{"types", oneRule("require: event.verb > 1"), "r/a.yaml:6:25: `>` cannot be used on (text, number)"},
		{"not a condition", oneRule("require: event.volume_ml"), "r/a.yaml:6:14: found an expression that gives a number, expected a yes or no"},
		{"group as a value", oneRule("say: '{event.vessel}'"), "r/a.yaml:7:18: found the whole vessel, expected one of its facts"},
		{"syntax of CEL", oneRule("require: event.rate_given &&"), "r/a.yaml:6:33: this is no expression: mismatched input '<EOF>', expected something like event.volume_ml > 5"},
		{"empty expression", oneRule("require: ' '"), "this is no expression: found nothing"},
		{"regex", oneRule("require: event.verb.matches('(')"), "r/a.yaml:6:"},
		{"limit", oneRule("require: event.volume_ml < limit.mots", "limits: {most: {value: 1, basis: derived, source: x}}"), "r/a.yaml:6:38: the rule has no limit `mots`, did you mean `most`?"},
		{"no limits", oneRule("require: event.volume_ml < limit.most"), "r/a.yaml:6:38: the rule has no limit `most`"},
		{"unused limit", oneRule("limits: {most: {value: 1, basis: derived, source: x}}"), "r/a.yaml:11:14: no expression of the rule reads limit.most, expected each limit to be used"},
		{"limit with its unit", oneRule("require: event.volume_ml < limit.most", "limits: {most: {value: 1 mL, basis: derived, source: x}}"), "r/a.yaml:11:28: found the value `1 mL` of limit most, expected a plain number like 5 or 0.5; its unit goes under `unit`"},
		{"basis", oneRule("require: event.volume_ml < limit.most", "limits: {most: {value: 1, basis: guess, source: x}}"), "r/a.yaml:11:38: found the basis `guess`"},
		{"kind of source", oneRule("source: {cite: A Book, kind: hearsay}"), "r/a.yaml:10:34: found the kind of source `hearsay`"},
		{"no source", oneRule("source: []"), "r/a.yaml:3:9: the rule has an empty `source`"},
		{"danger", oneRule("danger: 11"), "r/a.yaml:11:13: found the danger `11`, expected a number from 0 to 10"},
		{"silent", oneRule("cannot tell: silent"), "r/a.yaml:11:18: found `cannot tell: silent` without a reason"},
		{"reason without silence", oneRule("cannot tell: hold", "silent because: x"), "r/a.yaml:11:18: found `silent because`, expected it only beside `cannot tell: silent`"},
		{"item named event", oneRule("require: event.vessel.contents.exists(event, event == 'x')"), "found event as the name of an item"},
		{"template: open", oneRule("say: 'x {event.verb'"), "r/a.yaml:7:13: found { without its }"},
		{"template: close", oneRule("say: 'x } y'"), "r/a.yaml:7:13: found } without its {"},
		{"template: fact", oneRule("say: 'x {event.verb} {event.vrb}'"), "r/a.yaml:7:33: event (addition) has no `vrb`, did you mean `verb`?"},
		{"template: format", oneRule("say: 'x {event.volume_ml | ml}'"), "r/a.yaml:7:32: found the format `ml`, did you mean `mL`?"},
		{"template: misfit", oneRule("say: 'x {event.verb | mL}'"), "r/a.yaml:7:14: found an expression that gives a text, expected a number for the format `mL`"},
		{"template: YAML in it", oneRule("fix: '- add: x {a: b}'"), "a brace itself is written {{ or }}"},
		{"figure", oneRule("figures: {x: event.y}"), "r/a.yaml:11:24: event (addition) has no `y`, expected one of"},
		{"cause", oneRule("cause: event.volume_ml"), "r/a.yaml:11:12: found an expression that gives a number, expected a text"},
		{"twice", oneRule() + strings.TrimPrefix(oneRule(), "family: addition\nrules:\n"), "r/a.yaml:11:9: found the id addition/rule a second time, expected each once: it is first used at r/a.yaml:3:9"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := loadErrors(t, c.text)
			if len(got) == 0 || !strings.Contains(got[0], c.want) {
				t.Errorf("found %q, expected %q", got, c.want)
			}
		})
	}
}

// TestPlaces puts a wrong fact into every style of scalar.
func TestPlaces(t *testing.T) {
	for _, c := range []struct {
		name, require string
	}{
		{"plain", "event.rate_given && event.wrong"},
		{"letters of two bytes", `"event.verb == '°Cé' && event.wrong"`},
		{"single quotes", `'event.verb == ''a'' && event.wrong'`},
		{"double quotes", `"event.verb == '\u00b0\t\"' && event.wrong"`},
		{"double quotes on lines", "\"event.rate_given &&\n      event.wrong\""},
		{"escaped line break", "\"event.rate_given \\\n      && event.wrong\""},
		{"plain on lines", "event.rate_given\n      && event.rate_given\n\n      && event.wrong"},
		{"literal", "|\n      event.rate_given &&\n        event.wrong\n"},
		{"literal with a comment line above", "| # a comment\n      event.rate_given\n      &&   event.wrong\n"},
		{"literal with its own indent", "|2-\n        event.rate_given &&\n      event.wrong\n"},
		{"folded", ">-\n      event.rate_given &&\n      event.rate_given &&\n\n      event.wrong\n"},
		{"folded, indented more", ">\n      event.rate_given\n         && event.verb == 'x'\n      && event.wrong\n"},
	} {
		for _, ending := range []string{"\n", "\r\n"} {
			text := strings.ReplaceAll(oneRule("require: "+c.require), "\n", ending)
			src := finding.NewSource("", []byte(text))
			line, column := src.Position(strings.Index(text, "wrong"))
			got := loadErrors(t, text)
			if want := fmt.Sprintf("r/a.yaml:%d:%d: event (addition) has no `wrong`", line, column); len(got) != 1 || !strings.HasPrefix(got[0], want) {
				t.Errorf("%s %q: found %q, expected %q", c.name, ending, got, want)
			}
		}
	}
}

func TestLoadFolder(t *testing.T) {
	rule := &fstest.MapFile{Data: []byte(oneRule())}
	other := &fstest.MapFile{Data: []byte(oneRule("id: addition/other"))}
	broken := &fstest.MapFile{Data: []byte(oneRule("id: addition/broken", "level: grave"))}
	for _, c := range []struct {
		name string
		fsys fstest.MapFS
		want string
	}{
		{"folders and endings", fstest.MapFS{"r/a.yaml": rule, "r/sub/b.yml": other, "r/reference/c.yaml": broken, "r/.hidden.yaml": broken, "r/x.txt": broken}, "addition/other addition/rule"},
		{"a broken rule leaves the others", fstest.MapFS{"r/a.yaml": rule, "r/b.yaml": broken}, "addition/rule; r/b.yaml:4:12: found the level `grave`, expected one of `hold`, `revise`, `advise`"},
		{"twice in two files", fstest.MapFS{"r/a.yaml": rule, "r/b.yaml": rule}, "addition/rule; r/b.yaml:3:9: found the id addition/rule a second time, expected each once: it is first used at r/a.yaml:3:9"},
		{"no file", fstest.MapFS{"r/x.txt": rule}, "; found no rule file in r, expected one that ends in .yaml"},
		{"no folder", fstest.MapFS{}, "; the folder of rules cannot be read: open r: file does not exist"},
	} {
		s, fs := Load(c.fsys, "r", false)
		var ids []string
		for _, r := range s.Rules() {
			ids = append(ids, r.ID)
		}
		got := strings.Join(ids, " ")
		for _, f := range fs {
			got += "; " + f.Message
		}
		if got != c.want {
			t.Errorf("%s: found %q, expected %q", c.name, got, c.want)
		}
	}
}

func TestWith(t *testing.T) {
	base := load(t, fixture)
	local, fs := Load(fstest.MapFS{"lab/a.yaml": {Data: []byte(
		oneRule("id: addition/overfull", "require: event.volume_ml < limit.most", "say: ours", "limits: {most: {value: 1, unit: mL, basis: site-set, source: x}}") +
			strings.TrimPrefix(oneRule("id: addition/own"), "family: addition\nrules:\n"))}}, "lab", false)
	if len(fs) > 0 {
		t.Fatal(fs)
	}
	s := base.With(local)
	var got []string
	for _, r := range s.Rules() {
		got = append(got, r.ID+" "+r.File)
	}
	if want := "addition/overfull lab/a.yaml, addition/own lab/a.yaml, addition/unequalised-funnel rules/addition.yaml"; strings.Join(got, ", ") != want {
		t.Errorf("found %s, expected %s", strings.Join(got, ", "), want)
	}
	if s.Hash() == base.Hash() || len(base.Rules()) != 2 {
		t.Error("the set with more rules must be another one")
	}
	ev := addition(func(f *bench.AdditionFacts) { f.FillAfter, f.RateGiven = bench.Got(0.99), true })
	if f := judgeOne(t, s, ev); f.Message != "ours. Limit: 1 mL (rule file a.yaml, to be set by the site)." {
		t.Errorf("found %q", f.Message)
	}
	for id, want := range map[string]string{
		"addition/overful": "addition/overfull", "overfull": "addition/overfull", "heat/unequalized-funnel": "addition/unequalised-funnel", "zzz": "",
	} {
		if got := s.Nearest(id); got != want {
			t.Errorf("Nearest(%q): found %q, expected %q", id, got, want)
		}
	}
	if _, ok := s.Rule("zzz"); ok {
		t.Error("found a rule zzz")
	}
}

func TestHash(t *testing.T) {
	s := load(t, fixture)
	same, _ := Load(fstest.MapFS{"other/x.yaml": {Data: []byte("# a comment\n" + fixture)}}, "other", false)
	if s.Hash() != same.Hash() || len(s.Hash()) != 16 {
		t.Errorf("found %s and %s, expected the same hash of the same rules", s.Hash(), same.Hash())
	}
	level, _ := s.Configure(Config{Levels: map[string]finding.Level{"addition/overfull": finding.Hold}})
	limit, _ := s.Configure(Config{Limits: map[string]float64{"addition/overfull.fill": 0.5}})
	text := load(t, strings.Replace(fixture, "foams", "spills", 1))
	seen := map[string]bool{s.Hash(): true}
	for _, other := range []*Set{level, limit, text} {
		if seen[other.Hash()] {
			t.Error("found the same hash for other rules")
		}
		seen[other.Hash()] = true
	}
}

// TestWithoutExamples reads real and made-up files with and without their
// examples.
func TestWithoutExamples(t *testing.T) {
	tricky := oneRule() + `    good:
    - name: at the same indent
      procedure: {steps: []}
    - {name: flow, procedure: {steps: []}}
    bad: [{name: on the line, procedure: {steps: []}},
      {name: over two lines, procedure: {steps: []}}]
  - id: addition/second
    level: hold
    over: addition
    explain: |
      This is how it is written:
      good:
        - name: not an example
    require: event.rate_given

    good:

      # a comment
      - name: block
        procedure:
          title: |
            good:
          steps: []
    say: "{event.verb}"
    because: b
    fix: f
    source: {cite: c, kind: published}
bases:
- x
`
	tricky = strings.Replace(tricky, "bases:\n- x\n", "", 1)
	files := map[string]string{"tricky": tricky, "fixture": fixture}
	names, err := fs.Glob(os.DirFS("../../rules"), "*.yaml")
	if err != nil || len(names) == 0 {
		t.Fatal("found no rule files", err)
	}
	for _, name := range names {
		b, err := os.ReadFile("../../rules/" + name)
		if err != nil {
			t.Fatal(err)
		}
		files[name] = string(b)
	}
	for name, text := range files {
		lean := withoutExamples([]byte(text))
		if len(lean) != len(text) || strings.Count(string(lean), "\n") != strings.Count(text, "\n") {
			t.Errorf("%s: places have moved", name)
		}
		if strings.Contains(string(lean), "- {name:") || strings.Contains(string(lean), "      - name: ") && name != "tricky" {
			t.Errorf("%s: found examples that are left", name)
		}
		full := readFile(name, []byte(text), false)
		l := readFile(name, []byte(text), true)
		if len(full.rules) == 0 || len(l.rules) != len(full.rules) {
			t.Fatalf("%s: found %d rules, expected %d: %v", name, len(l.rules), len(full.rules), full.findings)
		}
		for i, r := range l.rules {
			a, b := r.doc, full.rules[i].doc
			a.Limits, b.Limits = nil, nil // these say whether they are trusted
			if !reflect.DeepEqual(a, b) {
				t.Errorf("%s: found\n%+v\nexpected\n%+v", name, a, b)
			}
			x, fs := r.examples()
			y, _ := full.rules[i].examples()
			if len(fs) > 0 || len(x.good) != len(y.good) || len(x.bad) != len(y.bad) {
				t.Errorf("%s: %s has other examples: %v", name, r.doc.ID, fs)
			}
		}
	}
	// What would read otherwise is found, not passed over.
	flow := "family: addition\nrules:\n  - id: addition/rule\n    explain: \"\n    good:\n      x\n    \"\n" + strings.SplitN(oneRule(), "addition/rule\n", 2)[1]
	l := readFile("flow", []byte(flow), true)
	if len(l.rules) == 1 {
		if _, fs := l.rules[0].examples(); len(fs) != 1 || !strings.Contains(fs[0].Message, "reads differently") {
			t.Errorf("found %v, expected that the rule reads differently", fs)
		}
	} else {
		t.Errorf("found %d rules, %v", len(l.rules), l.findings)
	}
}

func TestFacts(t *testing.T) {
	docs := Facts()
	events := 0
	names := map[string]bool{}
	for _, d := range docs {
		if d.Event {
			events++
		}
		if names[d.Name] {
			t.Errorf("found %s twice", d.Name)
		}
		names[d.Name] = true
		for _, f := range d.Facts {
			if f.Doc == "" || f.Type == "" || strings.Trim(f.Name, "abcdefghijklmnopqrstuvwxyz0123456789_") != "" {
				t.Errorf("%s: found the fact %+v", d.Name, f)
			}
		}
	}
	if events != len(bench.Kinds) {
		t.Errorf("found %d kinds of event, expected %d", events, len(bench.Kinds))
	}
	if !names["vessel"] || !names["place"] || !names["material (as used)"] || !names["material"] {
		t.Errorf("found %v", names)
	}
	for _, d := range docs {
		if d.Name != "addition" {
			continue
		}
		got := map[string]string{}
		for _, f := range d.Facts {
			got[f.Name] = f.Type
		}
		for name, want := range map[string]string{
			"verb": "text", "vessel": "vessel", "material": "material (as used)", "volume_ml": "number, may be unknown", "rate_given": "yes or no",
		} {
			if got[name] != want {
				t.Errorf("%s: found %q, expected %q", name, got[name], want)
			}
		}
	}
}

// FuzzLoad gives Load any file: it must not panic, and must point into it.
func FuzzLoad(f *testing.F) {
	f.Add(fixture)
	f.Add(oneRule("require: |\n      event.wrong"))
	f.Add(oneRule(`say: "{event.verb | mL} {"`))
	f.Add(oneRule("require: \"event.volume_ml\\\n      / 0 > limit.x\""))
	f.Fuzz(func(t *testing.T, text string) {
		for _, trusted := range []bool{false, true} {
			_, fs := Load(fstest.MapFS{"r/a.yaml": {Data: []byte(text)}}, "r", trusted)
			for _, d := range fs {
				if d.Span.Start < 0 || d.Span.End < d.Span.Start || d.Span.End > len(text) || d.Message == "" {
					t.Errorf("found %+v", d)
				}
			}
		}
	})
}

// FuzzExpression compiles any expression and template.
func FuzzExpression(f *testing.F) {
	for _, s := range []string{"event.rate_given", "event.x", "'a' + 1", "{event.verb | mL}", "[1][0] == 1", "{'a': 1}.a", "event.contents.map(x, x)", "has(event.vessel.fill)", "é && §"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		n := &document.Node{Kind: document.Scalar, Text: text}
		at := place{file: &document.File{Source: finding.NewSource("", nil)}, node: n}
		x := &expression{over: "addition", source: text, place: at, known: []string{}, want: anything, capped: true}
		fs := x.compile()
		_, more := parseTemplate("addition", at, []string{}, false, false)
		for _, d := range append(fs, more...) {
			if d.from < 0 || d.to < d.from || d.to > len(text) {
				t.Errorf("found bytes %d to %d of %d: %s", d.from, d.to, len(text), d.message)
			}
		}
		if fs == nil {
			sc := &scratch{records: map[string]*record{}}
			ev := addition(nil)
			rec, err := sc.record(&ev)
			if err != nil {
				t.Fatal(err)
			}
			if _, err := x.eval(&bindings{rec, &limitValues{}}); err != nil && strings.Contains(err.Error(), "internal error") {
				t.Errorf("found %v", err)
			}
		}
	})
}
