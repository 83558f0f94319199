package document

import (
	"errors"
	"fmt"
	"reflect"
	"strings"
	"testing"

	"ketyl/checker/finding"
)

type degrees float64

func (d *degrees) FromNode(f *File, n *Node) error {
	var x float64
	if _, err := fmt.Sscanf(n.Text, "%g °C", &x); err != nil {
		at := finding.Span{Start: n.Span.End - 1, End: n.Span.End}
		return errors.Join(&PlaceError{Span: at, Message: "found no degrees", Fix: "write 5 °C"})
	}
	*d = degrees(x)
	return nil
}

type source struct {
	Cite string `yaml:"cite,required"`
	Kind string `yaml:"kind"`
}

type common struct {
	ID   string       `yaml:"id,required"`
	Span finding.Span `yaml:",span"`
}

type table struct {
	common
	Title   string
	Sources []source          `yaml:"source"`
	Words   []string          `yaml:"words"`
	Number  *float64          `yaml:"number"`
	Count   int               `yaml:"count"`
	Yes     bool              `yaml:"yes"`
	Names   map[string]string `yaml:"names"`
	Order   []struct {
		Key     string
		KeySpan finding.Span
		Value   source
	} `yaml:"order,ordered"`
	Below  degrees  `yaml:"keep below"`
	Hot    *degrees `yaml:"hot"`
	Tree   *Node    `yaml:"tree"`
	Any    any      `yaml:"any"`
	Hidden string   `yaml:"-"`
}

func TestDecode(t *testing.T) {
	in := `
id: a/b
title: 5
source: {cite: x}
words: one
number: 0.5
count: 3
yes: on
names: {b: c, a: 1}
order:
  z: {cite: q}
  a: {cite: r, kind: s}
keep below: -65 °C
tree: {k: [v]}
any: {n: 1, l: [true, x]}
`
	f, fs := Read("x", []byte(in))
	var got table
	fs = append(fs, Decode(f, f.Root, &got)...)
	if len(fs) > 0 {
		t.Fatalf("%v", placed(f, fs))
	}
	half := 0.5
	if got.ID != "a/b" || got.Title != "5" || got.Count != 3 || !got.Yes || *got.Number != half || got.Below != -65 || got.Hot != nil {
		t.Errorf("plain fields are %+v", got)
	}
	if !reflect.DeepEqual(got.Sources, []source{{Cite: "x"}}) || !reflect.DeepEqual(got.Words, []string{"one"}) {
		t.Errorf("single values became %v and %v", got.Sources, got.Words)
	}
	if !reflect.DeepEqual(got.Names, map[string]string{"a": "1", "b": "c"}) {
		t.Errorf("names are %v", got.Names)
	}
	if len(got.Order) != 2 || got.Order[0].Key != "z" || text(f, got.Order[1].KeySpan) != "a" || got.Order[1].Value.Kind != "s" {
		t.Errorf("order is %+v", got.Order)
	}
	if got.Tree.Get("k").Items[0].Text != "v" {
		t.Errorf("tree is %s", Marshal(got.Tree))
	}
	if !reflect.DeepEqual(got.Any, map[string]any{"n": 1.0, "l": []any{true, "x"}}) {
		t.Errorf("any is %#v", got.Any)
	}
	if text(f, got.Span)[:2] != "id" {
		t.Errorf("span is %v", got.Span)
	}
}

func TestDecodeRefuses(t *testing.T) {
	tests := []struct{ name, in, want string }{
		{"unknown key", "id: a\nnmber: 5\n", "2:1 format/value unknown key `nmber`, did you mean `number`? expected one of `any`"},
		{"unknown key inside", "id: a\nsource: [{cite: x, knid: y}]\n", "2:20 format/value unknown key `knid`, did you mean `kind`? expected `kind`"},
		{"missing", "title: x\n", "1:1 format/value the file has no `id`"},
		{"missing in an item", "id: a\nsource:\n  - kind: y\n", "3:5 format/value item of `source` has no `cite`"},
		{"missing, but misspelt", "idd: a\n", "1:1 format/value unknown key `idd`, did you mean `id`?"},
		{"missing under a key", "id: a\norder: {z: {kind: y}}\n", "2:9 format/value `z` has no `cite`"},
		{"text for a number", "id: a\nnumber: 5 mL\n", "2:9 format/value `number`: found `5 mL`, expected a plain number"},
		{"quoted number", "id: a\nnumber: '5'\n", "2:9 format/value `number`: found `5`, expected a plain number"},
		{"exponent", "id: a\nnumber: 1e400\n", "2:9 format/value `number`"},
		{"fraction for a whole number", "id: a\ncount: 2.5\n", "2:8 format/value `count`: found `2.5`, expected a whole number"},
		{"text for a truth", "id: a\nyes: maybe\n", "2:6 format/value `yes`: found `maybe`, expected true or false"},
		{"list for a text", "id: [a]\n", "1:5 format/value `id`: found a list, expected a text"},
		{"list for a mapping", "id: a\nnames: [a]\n", "2:8 format/value `names`: found a list, expected keys with values"},
		{"text for an ordered mapping", "id: a\norder: b\n", "2:8 format/value `order`: found `b`, expected keys with values"},
		{"text for a struct", "id: a\nsource: b\n", "2:9 format/value `source`: found `b`, expected keys with values"},
		{"own decoder", "id: a\nkeep below: cold\n", "2:16 format/value `keep below`: found no degrees"},
		{"root", "a\n", "1:1 format/value the file: found `a`, expected keys with values"},
		{"nothing for a number", "id: a\ncount:\n", "2:7 format/value `count`: found nothing, expected a whole number"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			f, fs := Read("x", []byte(tt.in))
			if len(fs) > 0 {
				t.Fatalf("not read: %v", placed(f, fs))
			}
			var v table
			fs = Decode(f, f.Root, &v)
			if got := placed(f, fs); len(got) != 1 || !strings.HasPrefix(got[0], tt.want) {
				t.Errorf("found\n%s\nwant\n%s", strings.Join(got, "\n"), tt.want)
			}
		})
	}
}

// Of many keys only the likeliest are named.
func TestUnknownKeyAmongMany(t *testing.T) {
	var keys []string
	for i := range 60 {
		keys = append(keys, fmt.Sprintf("%c%d key", 'a'+i%3, i))
	}
	if got, want := unknownKey("b58 kye", keys), "unknown key `b58 kye`, did you mean `b58 key`?"; got != want {
		t.Errorf("found %s, want %s", got, want)
	}
	got := unknownKey("certainly not", keys)
	if want := "unknown key `certainly not`, expected one of 60 keys such as `c2 key`, `c5 key`, `c8 key`, `c11 key`, `c14 key`, `c17 key`, `c20 key`, `c23 key`"; got != want {
		t.Errorf("found\n%s\nwant\n%s", got, want)
	}
}

func TestDecodeReportsAll(t *testing.T) {
	f, _ := Read("x", []byte("count: x\nyes: x\nid: a\nfoo: 1\nkeep below: x\n"))
	var v table
	fs := Decode(f, f.Root, &v)
	if len(fs) != 4 || fs[3].Fix != "write 5 °C" {
		t.Errorf("found %v", placed(f, fs))
	}
	for i := 1; i < len(fs); i++ {
		if fs[i].Span.Start < fs[i-1].Span.Start {
			t.Error("findings are out of order")
		}
	}
}
