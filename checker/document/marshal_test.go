package document

import (
	"strings"
	"testing"
)

// same compares two trees by kind, text and meaning.
func same(a, b *Node) bool {
	if a.Kind != b.Kind || a.Text != b.Text || len(a.Entries) != len(b.Entries) || len(a.Items) != len(b.Items) {
		return false
	}
	if a.Kind == Scalar && a.value() != b.value() {
		return false
	}
	for i := range a.Entries {
		if a.Entries[i].Key.Text != b.Entries[i].Key.Text || !same(a.Entries[i].Value, b.Entries[i].Value) {
			return false
		}
	}
	for i := range a.Items {
		if !same(a.Items[i], b.Items[i]) {
			return false
		}
	}
	return true
}

// awkward texts must survive as values and as keys.
var awkward = []string{
	"a", "a b", "5", "-5", "- 5", "-", "--- a", "...", "true", "yes", "a: b", "a:", ":a", ": a", "a #b", "a#b", "#a", "'", `"`, `\`,
	"*a", "&a", "!a", "|", ">5", "%a", "@a", "`a`", "{a}", "[a]", ",a", "? a", "?a", "<<", "a\nb", "a\n\nb\n", "\ta", "a\t", " a", "a ",
	"é °C µL −", "\u00a0", "\u2028", "\ufeff", "\x00", "\x7f", "\u0085", "a\r\nb", "😀", "1e3", "0x1F", "12:30", "2024-01-02",
	strings.Repeat("9", 400), strings.Repeat("long ", 400), "=", "a, b", "a]b}",
}

func TestMarshalRoundTrip(t *testing.T) {
	root := &Node{Kind: Mapping}
	list := &Node{Kind: Sequence}
	for _, s := range awkward {
		list.Items = append(list.Items,
			&Node{Kind: Scalar, Text: s}, &Node{Kind: Scalar, Text: s, Quoted: true},
			&Node{Kind: Mapping, Entries: []Entry{{&Node{Kind: Scalar, Text: "k"}, &Node{Kind: Scalar, Text: s}}}})
		if !strings.ContainsAny(s, "\u00a0\u2028\ufeff") {
			root.Set(s, &Node{Kind: Scalar, Text: s})
		}
	}
	empty := func(k Kind, text string) *Node { return &Node{Kind: k, Text: text} }
	root.Set("list", list)
	root.Set("empty", &Node{Kind: Sequence, Items: []*Node{
		empty(Mapping, ""), empty(Sequence, ""), empty(Null, ""), empty(Null, "~"), empty(Null, "null"), {Kind: Scalar, Quoted: true},
		{Kind: Sequence, Items: []*Node{{Kind: Sequence, Items: []*Node{empty(Null, ""), ScalarNode("x")}}}},
	}})
	root.Set("nothing", empty(Null, ""))
	root.Set("null", empty(Null, "null"))
	f, fs := Read("x", Marshal(root))
	if len(fs) > 0 {
		t.Fatalf("%v\n%s", placed(f, fs), Marshal(root))
	}
	if !same(root, f.Root) {
		t.Errorf("the tree changed:\n%s\nbecame\n%s", Marshal(root), Marshal(f.Root))
	}
}

func TestMarshalRoots(t *testing.T) {
	for _, n := range []*Node{ScalarNode("a"), {Kind: Scalar, Text: "5", Quoted: true}, {Kind: Sequence}, {Kind: Mapping}, {Kind: Null, Text: "~"}} {
		f, fs := Read("x", Marshal(n))
		if len(fs) > 0 || !same(n, f.Root) {
			t.Errorf("%q: %v", Marshal(n), placed(f, fs))
		}
	}
	if got := string(Marshal(&Node{Kind: Null})); got != "null\n" {
		t.Errorf("an empty root is written %q", got)
	}
	if Marshal(nil) != nil {
		t.Error("a nil tree is written")
	}
}

func TestMarshalReadsAsWritten(t *testing.T) {
	f, _ := Read("x", []byte("a: {b: [1, 'two', {c: 3, d: 4}]}\n"))
	want := "a:\n  b:\n    - 1\n    - \"two\"\n    - c: 3\n      d: 4\n"
	if got := string(Marshal(f.Root)); got != want {
		t.Errorf("found\n%s\nwant\n%s", got, want)
	}
}

func TestMarshalProcedure(t *testing.T) {
	f, _ := Read("x", procedure(t))
	once := Marshal(f.Root)
	g, fs := Read("x", once)
	if len(fs) > 0 || !same(f.Root, g.Root) {
		t.Fatalf("%v\n%s", placed(g, fs), once)
	}
	if twice := Marshal(g.Root); string(once) != string(twice) {
		t.Error("writing is not stable")
	}
}
