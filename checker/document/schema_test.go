package document

import (
	"fmt"
	"strings"
	"testing"

	"ketyl/checker/finding"
)

// A small schema of the shape that procedures have.
const testSchema = `{
  "$schema": "https://json-schema.org/draft/2020-12/schema",
  "type": "object",
  "required": ["procedure", "steps"],
  "additionalProperties": false,
  "properties": {
    "procedure": {"$ref": "words.json#/$defs/name"},
    "format": {"const": 1},
    "setting": {"enum": ["teaching", "research"]},
    "tags": {"type": "array", "items": {"type": "string"}, "minItems": 1, "maxItems": 3, "uniqueItems": true},
    "day": {"type": "string", "format": "date"},
    "share": {"type": "number", "minimum": 0, "exclusiveMaximum": 1},
    "students": {"type": "integer", "minimum": 1},
    "secret": false,
    "a/b ~c%": {"type": "object", "properties": {"ü": {"type": "number"}}},
    "materials": {
      "type": "object",
      "minProperties": 1,
      "propertyNames": {"pattern": "^[a-z0-9 -]+$", "title": "a name in lower-case letters, digits, spaces and hyphens"},
      "additionalProperties": {"$ref": "#/$defs/material"}
    },
    "level": {"propertyNames": {"enum": ["hold", "revise", "advise"]}},
    "either": {"oneOf": [{"type": "number"}, {"type": "string", "minLength": 1}, {"type": "object", "required": ["min"], "additionalProperties": false, "properties": {"min": {"type": "number"}}}]},
    "kinds": {"items": {"anyOf": [
      {"type": "object", "required": ["kind", "size"], "additionalProperties": false, "properties": {"kind": {"const": "flask"}, "size": {"type": "string"}, "necks": {"type": "integer"}}},
      {"type": "object", "required": ["kind"], "additionalProperties": false, "properties": {"kind": {"const": "bubbler"}, "oil": {"type": "string"}}}]}},
    "choice": {"anyOf": [{"enum": ["low", "high"]}, {"const": "off"}, {"type": "number"}]},
    "two": {"oneOf": [{"type": "string"}, {"minLength": 2}]},
    "no": {"not": {"type": "string"}},
    "has": {"type": "array", "contains": {"const": "water"}},
    "pair": {"dependentRequired": {"from": ["to"]}, "maxProperties": 2},
    "loose": {"allOf": [{"$ref": "#/$defs/base"}], "properties": {"own": {"type": "number"}}, "unevaluatedProperties": false},
    "empty": {"type": ["string", "null"]},
    "steps": {"type": "array", "minItems": 1, "items": {"$ref": "#/$defs/step"}}
  },
  "$defs": {
    "amount": {"type": ["string", "number"], "examples": ["6.9 mL"], "description": "how much is used"},
    "base": {"properties": {"kind": {"type": "string"}, "size": {"type": "number"}}, "required": ["kind"]},
    "material": {
      "type": "object", "additionalProperties": false,
      "properties": {"amount": {"$ref": "#/$defs/amount"}, "purity": {"type": "string"}, "cas": {"type": "string", "pattern": "^[0-9]+-[0-9]{2}-[0-9]$", "examples": ["109-72-8"]}}
    },
    "step": {
      "type": "object", "additionalProperties": false,
      "properties": {"add": {"type": "string"}, "stir": {"type": "string"}, "to": {"type": "string", "examples": ["flask"]}, "volume": {"$ref": "#/$defs/amount"}, "by": {"enum": ["syringe", "cannula"]}},
      "anyOf": [{"required": ["add"]}, {"required": ["stir"]}],
      "if": {"required": ["add"]}, "then": {"required": ["to"]}
    }
  }
}`

const testWords = `{"$defs": {"name": {"type": "string", "minLength": 1}}}`

func compile(t testing.TB) *Schema {
	t.Helper()
	s, err := CompileSchema("test.json", []byte(testSchema), map[string][]byte{"words.json": []byte(testWords)})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestValidate(t *testing.T) {
	const fine = "procedure: p\nsteps: [{add: thf, to: flask}]\n" // two lines before each test's own
	tests := []struct {
		name, in string // a leading "!" leaves out the two lines
		want     []string
	}{
		{"clear", "materials: {thf: {amount: 40 mL, cas: 109-99-9}}\n", nil},
		{"missing at the root", "!setting: teaching\n", []string{"1:1 the file has no `procedure`", "1:1 the file has no `steps`"}},
		{"no mapping", "!just text\n", []string{"1:1 the file: found `just text`, expected keys with values"}},
		{"no mapping but a list", "!- a\n", []string{"1:1 the file: found a list, expected keys with values"}},
		{"nothing for steps", "!procedure: p\nsteps:\n", []string{"2:7 `steps`: found nothing, expected a list"}},
		{"empty list", "!procedure: p\nsteps: []\n", []string{"2:1 `steps`: found 0 items, expected at least 1 item"}},
		{"number as text by reference", "!procedure: 5\nsteps: [{stir: a}]\n", []string{"1:12 `procedure`: found `5`, expected a text"}},

		{"missing key of a step", "!procedure: p\nsteps:\n  - stir: flask\n  - add: thf\n    by: syringe\n", []string{"4:5 step has no `to`"}},
		{"unknown key", "!procedure: p\nsteps:\n  - add: thf\n    to: flask\n    volum: 5\n", []string{"5:5 unknown key `volum`, did you mean `volume`? expected one of `by`, `stir`, `volume`"}},
		{"unknown key without a likeness", "colour: red\n", []string{"3:1 unknown key `colour`, expected one of `a/b ~c%`, `choice`, `day`"}},
		{"misspelt needed key is said once", "!procedure: p\nsteps:\n  - add: thf\n    too: flask\n", []string{"4:5 unknown key `too`, did you mean `to`?"}},
		{"misspelt verb is said once", "!procedure: p\nsteps:\n  - ad: thf\n    to: flask\n", []string{"3:5 unknown key `ad`, did you mean `add`?"}},
		{"no verb", "!procedure: p\nsteps:\n  - to: flask\n", []string{"3:5 step has none of its keys, expected `add` or `stir`"}},
		{"step that is a text", "!procedure: p\nsteps:\n  - stir\n", []string{"3:5 step: found `stir`, expected keys with values"}},

		{"enum", "setting: teching\n", []string{"3:10 `setting`: found `teching`, expected `teaching` or `research`, did you mean `teaching`?"}},
		{"enum with a list", "setting: [teaching]\n", []string{"3:10 `setting`: found a list, expected `teaching` or `research`"}},
		{"const", "format: 2\n", []string{"3:9 `format`: found `2`, expected `1`"}},
		{"two types", "materials: {thf: {amount: [1, 2]}}\n", []string{"3:27 `amount`: found a list, expected a text or a number"}},
		{"pattern", "materials: {thf: {cas: 109-99}}\n", []string{"3:24 `cas`: found `109-99`, expected a text like `109-72-8`"}},
		{"number is no text", "materials: {thf: {purity: 99}}\n", []string{"3:27 `purity`: found `99`, expected a text"}},
		{"minimum", "share: -0.5\n", []string{"3:8 `share`: found `-0.5`, expected a number of at least 0 and below 1"}},
		{"maximum", "share: 1\n", []string{"3:8 `share`: found `1`, expected a number"}},
		{"whole number", "students: 2.5\n", []string{"3:11 `students`: found `2.5`, expected a whole number"}},
		{"one point nought is whole", "students: 2.0\n", nil},
		{"huge digits are text", "share: " + strings.Repeat("9", 400) + "\n", []string{"3:8 `share`: found `999"}},
		{"not a number", "share: .nan\n", []string{"3:8 `share`: found `.nan`, expected a number"}},
		{"date", "day: tomorrow\n", []string{"3:6 `day`: found `tomorrow`, expected a date like `2024-05-31`"}},
		{"date is text", "day: 2024-05-31\n", nil},
		{"max items", "tags: [a, b, c, d]\n", []string{"3:1 `tags`: found 4 items, expected at most 3 items"}},
		{"item type", "tags: [a, 5, {b: c}]\n", []string{"3:11 tag: found `5`, expected a text", "3:14 tag: found a group of keys, expected a text"}},
		{"unique", "tags: [a, b, a]\n", []string{"3:14 `tags`: found `a` a second time, expected each once"}},
		{"min properties", "materials: {}\n", []string{"3:1 `materials`: found 0 keys, expected at least 1 key"}},
		{"property names by pattern", "materials: {THF: {}}\n", []string{"3:13 found the key `THF`, expected a name in lower-case letters"}},
		{"property names by list", "level: {hld: 1}\n", []string{"3:9 unknown key `hld`, did you mean `hold`? expected one of `hold`, `revise`, `advise`"}},
		{"forbidden key", "secret: 1\n", []string{"3:1 found `secret`, expected nothing of that name here"}},
		{"escaped path", "a/b ~c%: {ü: x}\n", []string{"3:14 `ü`: found `x`, expected a number"}},

		{"one of by type", "either: [1]\n", []string{"3:9 `either`: found a list, expected a number or a text or keys with values"}},
		{"one of, nearest branch", "either: {min: a}\n", []string{"3:15 `min`: found `a`, expected a number"}},
		{"one of, key misspelt", "either: {mn: 1}\n", []string{"3:10 unknown key `mn`, did you mean `min`?"}},
		{"one of, length", "either: ''\n", []string{"3:9 `either`: found an empty text, expected a text"}},
		{"any of, by its kind", "kinds: [{kind: flask, size: 5}]\n", []string{"3:29 `size`: found `5`, expected a text"}},
		{"any of, missing in its kind", "kinds: [{kind: flask}]\n", []string{"3:9 kind has no `size`"}},
		{"any of, key of the other kind", "kinds: [{kind: bubbler, necks: 3}]\n", []string{"3:25 unknown key `necks`, expected `oil`"}},
		{"any of, merged", "choice: hgih\n", []string{"3:9 `choice`: found `hgih`, expected one of `low`, `high`, `off`, did you mean `high`?"}},
		{"fits two", "two: abc\n", []string{"3:6 `two`: found `abc`, expected only one of the allowed forms"}},
		{"not", "'no': a\n", []string{"3:7 `no`: found `a`, expected something else"}},
		{"contains", "has: [thf]\n", []string{"3:1 `has`: found no such item, expected `water` in the list"}},
		{"dependent", "pair: {from: a}\n", []string{"3:8 `pair` has `from` but no `to`, expected both"}},
		{"max properties", "pair: {a: 1, b: 2, c: 3}\n", []string{"3:1 `pair`: found 3 keys, expected at most 2 keys"}},
		{"unevaluated", "loose: {kind: a, own: 1, siz: 2}\n", []string{"3:26 unknown key `siz`, did you mean `size`?"}},
		{"no cascade of unevaluated", "loose: {kind: 5, own: 1, size: 2}\n", []string{"3:15 `kind`: found `5`, expected a text"}},
		{"text or nothing", "empty: 5\n", []string{"3:8 `empty`: found `5`, expected a text or nothing"}},
		{"nothing is allowed", "empty:\n", nil},

		{"many at once", "setting: x\ntags: []\nformat: a\nmaterials:\n  thf: {amunt: 5, purity: 3}\n", []string{
			"3:10 `setting`", "4:1 `tags`", "5:9 `format`", "7:9 unknown key `amunt`, did you mean `amount`?", "7:27 `purity`"}},
	}
	s := compile(t)
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			in, bare := strings.CutPrefix(tt.in, "!")
			if !bare {
				in = fine + in
			}
			f, fs := Read("x", []byte(in))
			if len(fs) > 0 {
				t.Fatalf("not read: %v", placed(f, fs))
			}
			fs = s.Validate(f)
			var got []string
			for _, fd := range fs {
				line, column := f.Source.Position(fd.Span.Start)
				got = append(got, fmt.Sprintf("%d:%d %s", line, column, fd.Message))
				if fd.Rule != "format/schema" || fd.Level != finding.Hold || fd.Outcome != finding.Unread {
					t.Errorf("%s: %s, %s", fd.Rule, fd.Level, fd.Outcome)
				}
				if strings.Contains(fd.Message, "jsonschema") || strings.HasSuffix(fd.Message, ".") || fd.Span.End < fd.Span.Start {
					t.Errorf("ill-made finding %+v", fd)
				}
			}
			if !matches(got, tt.want) {
				t.Errorf("found\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(tt.want, "\n"))
			}
		})
	}
}

func TestValidateDetails(t *testing.T) {
	f, _ := Read("x", []byte("procedure: p\ntags: [a, a]\nmaterials: {thf: {amount: []}}\nsteps:\n  - stir: a\n  - add: thf\n"))
	fs := compile(t).Validate(f)
	if len(fs) != 3 {
		t.Fatalf("%v", placed(f, fs))
	}
	if r := fs[0].Related; len(r) != 1 || text(f, r[0].Span) != "a" || r[0].Span.Start >= fs[0].Span.Start {
		t.Errorf("the second item does not point at the first: %+v", r)
	}
	if fs[1].Fix != "for example `amount: 6.9 mL`" || fs[1].Because != "how much is used" {
		t.Errorf("fix %q, because %q", fs[1].Fix, fs[1].Because)
	}
	if fs[2].Step != 2 || fs[2].Fix != "for example `to: flask`" || fs[2].Subject != "step" {
		t.Errorf("step %d, fix %q, subject %q", fs[2].Step, fs[2].Fix, fs[2].Subject)
	}
}

// The library visits keys in map order; the report must not show it.
func TestValidateIsSteady(t *testing.T) {
	s := compile(t)
	f, _ := Read("x", []byte("q: 1\nw: 2\nsetting: x\nkinds: [{}, {a: 1, kind: flask}]\npair: {from: 1}\nloose: {a: 1, b: 2}\n"))
	first := fmt.Sprint(s.Validate(f))
	for range 20 {
		if again := fmt.Sprint(s.Validate(f)); again != first {
			t.Fatalf("found\n%s\nthen\n%s", first, again)
		}
	}
}

// Hopeless files are answered with the first thousand faults, in good time.
func TestValidateCountsFaults(t *testing.T) {
	var b strings.Builder
	b.WriteString("procedure: p\nsteps: [{stir: a}]\n")
	for i := range 50_000 {
		fmt.Fprintf(&b, "k%d: 1\n", i)
	}
	f, _ := Read("x", []byte(b.String()))
	fs := compile(t).Validate(f)
	if len(fs) != maxFindings {
		t.Fatalf("%d findings, want %d", len(fs), maxFindings)
	}
	if !strings.HasPrefix(fs[0].Message, "unknown key `k0`") || !strings.HasSuffix(fs[maxFindings-1].Message, "(and 49000 more faults further down)") {
		t.Errorf("first %q, last %q", fs[0].Message, fs[maxFindings-1].Message)
	}
}

func TestValidateWithoutTree(t *testing.T) {
	if fs := compile(t).Validate(&File{}); fs != nil {
		t.Errorf("found %v", fs)
	}
}

func TestCompileSchemaRefuses(t *testing.T) {
	for name, in := range map[string]string{
		"no JSON":              `{`,
		"no schema":            `{"type": 5}`,
		"reference to the net": `{"$ref": "https://example.org/x.json"}`,
		"reference to a file":  `{"$ref": "file:///etc/hostname"}`,
		"unknown neighbour":    `{"$ref": "nowhere.json"}`,
		"loop":                 `{"$ref": "#"}`,
	} {
		s, err := CompileSchema("x.json", []byte(in), nil)
		if err == nil {
			f, _ := Read("x", []byte("a: 1\n"))
			if fs := s.Validate(f); name != "loop" || len(fs) != 1 {
				t.Errorf("%s: compiled, and found %v", name, fs)
			}
		} else if !strings.Contains(err.Error(), "x.json") {
			t.Errorf("%s: error %q does not name the schema", name, err)
		}
	}
}

func TestCompileSchemaByID(t *testing.T) {
	s, err := CompileSchema("a.json", []byte(`{"$id": "https://example.org/s/a.json", "properties": {"x": {"$ref": "b.json"}}}`),
		map[string][]byte{"b.json": []byte(`{"$id": "https://example.org/s/b.json", "type": "number"}`)})
	if err != nil {
		t.Fatal(err)
	}
	f, _ := Read("x", []byte("x: a\n"))
	if got := placed(f, s.Validate(f)); !matches(got, []string{"1:4 format/schema `x`: found `a`, expected a number"}) {
		t.Errorf("found %v", got)
	}
}

func BenchmarkValidate(b *testing.B) {
	s := compile(b)
	f, _ := Read("x", []byte("procedure: p\nmaterials: {thf: {amount: 40 mL}}\nsteps:\n"+strings.Repeat("  - add: thf\n    to: flask\n    by: syringe\n    volume: 5 mL\n", 40)))
	if fs := s.Validate(f); len(fs) > 0 {
		b.Fatal(placed(f, fs))
	}
	b.ReportAllocs()
	for b.Loop() {
		s.Validate(f)
	}
}
