package judge

import (
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"ketyl/checker/document"
)

// TestRules holds the trade's rules to what every rule must have.
func TestRules(t *testing.T) {
	for _, trusted := range []bool{true, false} {
		s, fs := Load(os.DirFS("../.."), "rules", trusted)
		for _, f := range fs {
			t.Error(f.Message)
		}
		if len(s.Rules()) == 0 {
			t.Fatal("found no rules")
		}
		for _, a := range s.rules {
			d := a.describe()
			x, fs := a.examples()
			for _, f := range fs {
				t.Error(f.Message)
			}
			if x == nil {
				continue
			}
			if len(x.good) == 0 || len(x.bad) == 0 {
				t.Errorf("%s has %d good and %d bad examples, expected at least one of each", d.ID, len(x.good), len(x.bad))
			}
			if !strings.Contains(d.Say, "{") {
				t.Errorf("%s: the message names neither a figure nor a thing in braces: %s", d.ID, d.Say)
			}
			for _, l := range d.Limits {
				if l.As == "" {
					t.Errorf("%s: the limit %s has no name that a reader sees, expected one under `as`", d.ID, l.Name)
				}
			}
			for _, x := range a.all() {
				if cost, err := x.cost(); err != nil || cost > maxCost {
					t.Errorf("%s: %s may cost %d, expected at most %d (%v)", d.ID, x.source, cost, maxCost, err)
				}
			}
		}
	}
}

func rulesSchema(t *testing.T) (*document.Schema, []byte) {
	b, err := os.ReadFile("../../schema/rules.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	schema, err := document.CompileSchema("rules.schema.json", b, nil)
	if err != nil {
		t.Fatal(err)
	}
	return schema, b
}

func TestRulesFitTheSchema(t *testing.T) {
	schema, _ := rulesSchema(t)
	names, err := filepath.Glob("../../rules/*.yaml")
	if err != nil || len(names) == 0 {
		t.Fatal("found no rule files", err)
	}
	for _, name := range names {
		b, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		f, fs := document.Read(name, b)
		if len(fs) == 0 {
			fs = schema.Validate(f)
		}
		for _, d := range fs {
			line, column := f.Source.Position(d.Span.Start)
			t.Errorf("%s:%d:%d: %s", name, line, column, d.Message)
		}
	}
	// And it refuses what Load refuses.
	f, _ := document.Read("fixture", []byte(strings.Replace(fixture, "level: hold", "level: grave", 1)))
	if len(schema.Validate(f)) != 1 {
		t.Error("the schema does not refuse an unknown level")
	}
}

// TestSchemaWords keeps the schema's lists the same as the code's.
func TestSchemaWords(t *testing.T) {
	_, b := rulesSchema(t)
	type node struct {
		Description string
		Enum        []string
		Properties  map[string]node
	}
	var s struct {
		node
		Defs map[string]node `json:"$defs"`
	}
	if err := json.Unmarshal(b, &s); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		what      string
		got, want []string
	}{
		{"families", s.Properties["family"].Enum, Families},
		{"kinds of event", s.Defs["rule"].Properties["over"].Enum, vocab.sorted},
		{"levels", s.Defs["level"].Enum, levelWords},
		{"kinds of source", s.Defs["source"].Properties["kind"].Enum, sourceKinds},
		{"outcomes", s.Defs["bad"].Properties["outcome"].Enum, outcomeWords},
	} {
		if !slices.Equal(c.got, c.want) {
			t.Errorf("%s: the schema has %v, the code %v", c.what, c.got, c.want)
		}
	}
	for def, n := range s.Defs {
		if n.Description == "" {
			t.Errorf("$defs/%s has no description", def)
		}
		for key, p := range n.Properties {
			if p.Description == "" {
				t.Errorf("$defs/%s/%s has no description", def, key)
			}
		}
	}
}
