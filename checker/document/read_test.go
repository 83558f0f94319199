package document

import (
	"bytes"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"ketyl/checker/finding"
)

// placed prints findings as "line:column rule message", one a line.
func placed(f *File, fs []finding.Finding) []string {
	var out []string
	for _, fd := range fs {
		line, column := f.Source.Position(fd.Span.Start)
		out = append(out, fmt.Sprintf("%d:%d %s %s", line, column, fd.Rule, fd.Message))
	}
	return out
}

// matches reports whether each got begins with the want of its place.
func matches(got, want []string) bool {
	return slices.EqualFunc(got, want, strings.HasPrefix)
}

func TestReadRefuses(t *testing.T) {
	tests := []struct {
		name, in string
		want     []string
		tree     bool // the tree is given out all the same
	}{
		{"nothing", "", []string{"1:1 format/empty the file is empty"}, false},
		{"blank lines", " \n\n", []string{"1:1 format/empty"}, false},
		{"comments only", "# a\n  # b\n", []string{"1:1 format/empty"}, false},
		{"byte order mark only", "\ufeff", []string{"1:1 format/empty"}, false},
		{"document mark only", "---\n", []string{"1:1 format/empty"}, false},

		{"duplicate key", "a: 1\nb: 2\na: 3\n", []string{"3:1 format/duplicate-key found the key `a` a second time"}, true},
		{"duplicate key deep", "s:\n  - {to: x, to: y}\n", []string{"2:13 format/duplicate-key found the key `to`"}, true},
		{"duplicate by quotes", "a: 1\n'a': 2\n\"a\": 3\n", []string{"2:1 format/duplicate-key", "3:1 format/duplicate-key"}, true},
		{"1 and 0x1 differ", "1: a\n0x1: b\n", nil, true},
		{"same key of two mappings", "- a: 1\n- a: 1\n", nil, true},

		{"anchor", "a: &x 1\nb: 2\n", []string{"1:4 format/alias found the anchor `&x`"}, false},
		{"anchor and alias", "a: &x 1\nb: *x\n", []string{"1:4 format/alias found the anchor", "2:4 format/alias found the alias `*x`"}, false},
		{"anchor on a mapping", "a: &x\n  b: 1\n", []string{"1:4 format/alias found the anchor `&x`"}, false},
		{"anchor on a first key", "&x a: 1\n", []string{"1:1 format/alias found the anchor `&x`"}, false},
		{"merge", "a: {b: 1}\nc:\n  <<: {d: 1}\n", []string{"3:3 format/alias found the merge key `<<`"}, false},
		{"quoted merge is text", "'<<': 1\n", nil, true},
		{"unknown aliases", "a: *x\nb: \"*x *y\" # *y\nc: *y\nd: [*x, '*x']\n",
			[]string{"1:4 format/alias found the alias `*x`", "3:4 format/alias found the alias `*y`", "4:5 format/alias found the alias `*x`"}, false},
		{"unknown alias then syntax", "a: *x\nb: @\n", []string{"1:4 format/alias", "2:4 format/syntax found a value that begins with `@`"}, false},
		{"tag", "a: !!str 5\nb: !mine x\n", []string{"1:4 format/tag found the tag `!!str`", "2:4 format/tag found the tag `!mine`"}, false},
		{"bare tag", "a: ! x\n", []string{"1:4 format/tag found the tag `!`"}, false},
		{"the lot", "a: &x 1\na: *x\nb: !t 2\nc:\n  <<: 1\n", []string{
			"1:4 format/alias", "2:1 format/duplicate-key", "2:4 format/alias", "3:4 format/tag", "5:3 format/alias"}, false},

		{"list as key", "? [a]\n: 1\n", []string{"1:3 format/key found a list as a key"}, false},
		{"mapping as key", "{{a: 1}: 2}\n", []string{"1:2 format/key found a group of keys as a key"}, false},
		{"struct decoding would panic", "{{},<<}", []string{"1:2 format/key", "1:5 format/alias"}, false},
		{"empty key", "'': 1\n", []string{"1:1 format/key found an empty key"}, false},
		{"no-break space in a key", "keep\u00a0below: 1\n", []string{"1:5 format/key found the character U+00A0"}, false},
		{"no-break space as indentation", "a: 1\n\u00a0\u00a0b: 2\n", []string{"2:1 format/key found the character U+00A0"}, false},
		{"zero width in a key", "to\u200b: 1\n", []string{"1:3 format/key found the character U+200B"}, false},
		{"no-break space in a value", "a: 40\u00a0mL\n", nil, true},

		{"two documents", "a: 1\n---\nb: 2\n", []string{"2:1 format/documents found a second document"}, false},
		{"front matter", "---\na: 1\n---\n", []string{"3:1 format/documents"}, false},
		{"text after the end", "a: 1\n...\nb: 2\n", []string{"3:1 format/documents found text after the end mark"}, false},
		{"one document with marks", "# c\n---\na: 1\n...\n# end\n", nil, true},
		{"dashes inside a value", "a: |\n  ---\n  b\n", nil, true},

		{"UTF-16 LE", "\xff\xfea\x00:\x00 \x001\x00", []string{"1:1 format/encoding found UTF-16"}, false},
		{"UTF-16 BE", "\xfe\xff\x00a\x00:\x00 \x001", []string{"1:1 format/encoding found UTF-16"}, false},
		{"UTF-16 without mark", "a\x00:\x00 \x001\x00\n\x00", []string{"1:1 format/encoding found UTF-16"}, false},
		{"Latin-1", "a: 1\nb: 5 \xb0C\n", []string{"2:6 format/encoding found the byte 0xB0"}, false},
		{"cut character", "a: \xe2\x82", []string{"1:4 format/encoding found the byte 0xE2"}, false},
		{"control character", "a: 1\nb: x\x07\n", []string{"2:5 format/encoding found the control character U+0007"}, false},
		{"C1 control", "a: \u0085\n", []string{"1:4 format/encoding found the control character U+0085"}, false},
		{"line separator", "a: b\u2028c\n", []string{"1:5 format/encoding found the line separator U+2028"}, false},
		{"stray byte order mark", "a: \ufeffb\n", []string{"1:4 format/encoding found the invisible character U+FEFF"}, false},
		{"old line ends", "a: 1\rb: 2\r", []string{"1:5 format/encoding found a carriage return (U+000D) alone"}, false},
		{"program", "\x7fELF\x02\x01\x01\x00\x00", []string{"1:1 format/encoding found the control character U+007F"}, false},

		{"block that is no block", "purity: >5\nb: 1\n", []string{"1:9 format/syntax found a value that begins with `>`"}, false},
		{"no space in braces", "a: {amount:5 g}\n", []string{"1:11 format/syntax found `amount:5 g`, expected a space after the colon"}, false},

		{"65 deep", strings.Repeat("[", 65) + strings.Repeat("]", 65), []string{"1:65 format/size found values nested more than 64 deep"}, false},
		{"64 deep", strings.Repeat("[", 64) + strings.Repeat("]", 64), nil, true},
		{"200 deep", strings.Repeat("- ", 200) + "a\n", []string{"1:129 format/size"}, false},
		{"20000 deep", strings.Repeat("{a: ", 20000), []string{"1:1 format/size"}, false},
		{"too long", strings.Repeat("# filling\n", maxBytes/10+1), []string{"1:1 format/size found 16777220 bytes"}, false},
		{"too many values", "[" + strings.Repeat("1,", maxNodes+1) + "1]", []string{"1:1 format/size found more than 1000000 values"}, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			f, fs := Read("x.yaml", []byte(tt.in))
			if got := placed(f, fs); !matches(got, tt.want) {
				t.Errorf("found\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(tt.want, "\n"))
			}
			if (f.Root != nil) != tt.tree {
				t.Errorf("tree given out: %v, want %v", f.Root != nil, tt.tree)
			}
			for _, fd := range fs {
				if fd.Level != finding.Hold || fd.Outcome != finding.Unread {
					t.Errorf("%s: level %s, outcome %s", fd.Rule, fd.Level, fd.Outcome)
				}
			}
		})
	}
}

func TestReadRelatesSecondToFirst(t *testing.T) {
	f, fs := Read("x", []byte("a: &x 1\nb: 2\nb: *x\n"))
	want := map[string]string{"format/duplicate-key": "2:1", "format/alias": "1:4"}
	n := 0
	for _, fd := range fs {
		for _, r := range fd.Related {
			n++
			line, column := f.Source.Position(r.Span.Start)
			if got := fmt.Sprintf("%d:%d", line, column); got != want[fd.Rule] {
				t.Errorf("%s relates to %s, want %s", fd.Rule, got, want[fd.Rule])
			}
		}
	}
	if n != 2 {
		t.Errorf("%d related places, want 2", n)
	}
}

func TestFirstOfRepeatedKeysIsKept(t *testing.T) {
	f, _ := Read("x", []byte("a: 1\na: 2\n"))
	if got := f.Root.Get("a").Text; got != "1" || len(f.Root.Entries) != 1 {
		t.Errorf("got %q of %d entries, want the first alone", got, len(f.Root.Entries))
	}
}

// An alias bomb is refused at its aliases without being opened.
func TestAliasBomb(t *testing.T) {
	var b strings.Builder
	b.WriteString("a0: &a0 [x, x]\n")
	for i := 1; i < 60; i++ {
		fmt.Fprintf(&b, "a%d: &a%d [*a%d, *a%d]\n", i, i, i-1, i-1)
	}
	f, fs := Read("x", []byte(b.String()))
	if f.Root != nil || len(fs) != 60+2*59 {
		t.Errorf("%d findings, want one for each of 60 anchors and 118 aliases", len(fs))
	}
}

func TestManyFindingsAreCounted(t *testing.T) {
	f, fs := Read("x", []byte("a: &a 1\nb: ["+strings.Repeat("*a,", 3000)+"]\n"))
	if len(fs) != maxFindings || f.Root != nil {
		t.Fatalf("%d findings, want %d", len(fs), maxFindings)
	}
	if last := fs[len(fs)-1].Message; !strings.Contains(last, "and 2001 more") {
		t.Errorf("last message %q does not count the rest", last)
	}
}

// text gives the source under a span.
func text(f *File, s finding.Span) string { return string(f.Source.Bytes[s.Start:s.End]) }

func TestSpans(t *testing.T) {
	tests := []struct {
		name, in string
		path     string // keys and indices, by dots
		want     string // the source under the value's span
		value    string // its text
	}{
		{"plain", "a: 5 mL # note\n", "a", "5 mL", "5 mL"},
		{"no line end", "a: b", "a", "b", "b"},
		{"after wide characters", "é: {ü: −78 °C, k: µL}\n", "é.k", "µL", "µL"},
		{"CRLF", "a: b\r\nc: d e\r\n", "c", "d e", "d e"},
		{"byte order mark", "\ufeffa: b\nc: d\n", "a", "b", "b"},
		{"plain over lines", "a: one\n  two\n\n  three\nb: 1\n", "a", "one\n  two\n\n  three", "one two\nthree"},
		{"plain over lines in brackets", "a: [one\n  two , b]\n", "a.0", "one\n  two", "one two"},
		{"plain over lines with CRLF", "a: one\r\n  two\r\nb: 1\r\n", "a", "one\r\n  two", "one two"},
		{"double quotes", `a: "x \" \\" # c`, "a", `"x \" \\"`, `x " \`},
		{"single quotes", "a: 'it''s' # c\n", "a", "'it''s'", "it's"},
		{"quotes over lines", "a: \"x\n  y\"\nb: 1\n", "a", "\"x\n  y\"", "x y"},
		{"empty quotes", "a: ''\n", "a", "''", ""},
		{"literal", "a: |\n  x\n   y\n\nb: 1\n", "a", "|\n  x\n   y", "x\n y\n"},
		{"literal at the end", "a: |\n  x", "a", "|\n  x", "x"},
		{"folded with strip", "s:\n  - a: >-\n      x\n      y\n\n    b: 1\n", "s.0.a", ">-\n      x\n      y", "x y"},
		{"literal with comment after", "a: |\n  x\n# c\nb: 1\n", "a", "|\n  x", "x\n"},
		{"literal with hash inside", "a: |\n  x\n  # c\nb: 1\n", "a", "|\n  x\n  # c", "x\n# c\n"},
		{"literal with indicator", "a: |1\n   x\n b\nc: 1\n", "a", "|1\n   x\n b", "  x\nb\n"},
		{"literal in a list", "- |\n  x\n- b\n", "0", "|\n  x", "x\n"},
		{"literal under a list under a key", "a:\n- |\n  x\n- b\n", "a.0", "|\n  x", "x\n"},
		{"literal with CRLF", "a: |\r\n  x\r\nb: 1\r\n", "a", "|\r\n  x", "x\n"},
		{"empty literal", "a: |\nb: 1\n", "a", "|", ""},
		{"empty value", "a:\nb: 1\n", "a", "", ""},
		{"tilde", "a: ~\nb: 1\n", "a", "~", "~"},
		{"mapping", "s:\n  a: 1\n  b: 2 # c\n\n# d\nt: 1\n", "s", "a: 1\n  b: 2", ""},
		{"list", "s:\n  - a\n  - b\n\nt: 1\n", "s", "- a\n  - b", ""},
		{"list of mappings", "s:\n- a: 1\n  b: 2\n- c: 3\n", "s.0", "a: 1\n  b: 2", ""},
		{"list ending in nothing", "s:\n  -\nt: 1\n", "s", "-", ""},
		{"braces", "a: {b: 1, c: '}'} # }\n", "a", "{b: 1, c: '}'}", ""},
		{"brackets over lines", "a: [\n  1, # ]\n  2, # ]\n]\nb: 1\n", "a", "[\n  1, # ]\n  2, # ]\n]", ""},
		{"empty brackets", "a: [ ]\nb: {}\n", "a", "[ ]", ""},
		{"nested brackets", "a: [[1], {b: [2]}]\n", "a.1", "{b: [2]}", ""},
		{"pair in brackets", "a: [b: 1, c]\n", "a.0", "b: 1", ""},
		{"key without value in braces", "a: {b, c}\n", "a", "{b, c}", ""},
		{"JSON", `{"a":[1,"b"],"c":{"d":null}}`, "c", `{"d":null}`, ""},
		{"explicit key", "? a b\n: c\n", "a b", "c", "c"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			f, fs := Read("x", []byte(tt.in))
			if len(fs) > 0 {
				t.Fatalf("findings: %v", placed(f, fs))
			}
			n := f.Root
			for _, step := range strings.Split(tt.path, ".") {
				if n.Kind == Sequence {
					var i int
					fmt.Sscan(step, &i)
					n = n.Items[i]
				} else {
					n = n.Get(step)
				}
			}
			if n == nil {
				t.Fatal("no such value")
			}
			if got := text(f, n.Span); got != tt.want {
				t.Errorf("span %v covers %q, want %q", n.Span, got, tt.want)
			}
			if n.Text != tt.value {
				t.Errorf("text %q, want %q", n.Text, tt.value)
			}
		})
	}
}

// checkSpans proves for a whole tree that spans lie in the source, children in
// parents and in order, and that a plain scalar's span covers its text.
func checkSpans(t *testing.T, f *File, n *Node, within finding.Span) {
	t.Helper()
	s := n.Span
	if s.Start < within.Start || s.End > within.End || s.Start > s.End {
		t.Fatalf("%s at %v leaves its parent's %v in %q", n.Kind, s, within, f.Source.Bytes)
	}
	switch n.Kind {
	case Scalar, Null:
		if !n.Quoted && !strings.ContainsAny(text(f, s), "\n") && text(f, s) != n.Text {
			t.Fatalf("span %v covers %q, but the text is %q in %q", s, text(f, s), n.Text, f.Source.Bytes)
		}
	case Sequence:
		at := s.Start
		for _, item := range n.Items {
			checkSpans(t, f, item, finding.Span{Start: at, End: s.End})
			at = item.Span.End
		}
	case Mapping:
		at := s.Start
		for _, e := range n.Entries {
			checkSpans(t, f, e.Key, finding.Span{Start: at, End: s.End})
			checkSpans(t, f, e.Value, finding.Span{Start: e.Key.Span.End, End: s.End})
			at = e.Value.Span.End
		}
	}
}

func TestSpansOfAProcedure(t *testing.T) {
	b := procedure(t)
	for name, b := range map[string][]byte{
		"as it is": b,
		"CRLF":     bytes.ReplaceAll(b, []byte("\n"), []byte("\r\n")),
		"with BOM": append([]byte("\ufeff"), b...),
	} {
		f, fs := Read("x", b)
		if len(fs) > 0 {
			t.Fatalf("%s: %v", name, placed(f, fs))
		}
		checkSpans(t, f, f.Root, finding.Span{End: len(b)})
		cool := f.Root.Get("steps").Items[5]
		if got := cool.Get("to"); got == nil || text(f, got.Span) != "-78 °C" {
			t.Errorf("%s: the bath of step 6 reads %v", name, got)
		}
	}
}

func procedure(t testing.TB) []byte {
	t.Helper()
	b, err := os.ReadFile("testdata/procedure.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestScalars(t *testing.T) {
	tests := []struct {
		in    string
		value any
	}{
		{"5", 5.0}, {"-5", -5.0}, {"0.25", 0.25}, {"-0.5", -0.5}, {"007", 7.0}, {"1.0", 1.0},
		{"true", true}, {"False", false}, {"TRUE", true},
		{"", nil}, {"~", nil}, {"null", nil},
		{"7440-09-7", "7440-09-7"}, {"1_000", "1_000"}, {"yes", "yes"}, {"on", "on"}, {"0o17", "0o17"},
		{"0x1F", "0x1F"}, {"1e3", "1e3"}, {"12:30", "12:30"}, {"2024-01-02", "2024-01-02"},
		{".nan", ".nan"}, {"-.inf", "-.inf"}, {".5", ".5"}, {"5.", "5."}, {"+5", "+5"}, {"1.2.3", "1.2.3"}, {"-", "-"},
		{"'5'", "5"}, {`"true"`, "true"}, {"'~'", "~"}, {"1,5", "1,5"}, {"NULL", "NULL"},
		{"123456789012345", 123456789012345.0}, {"1234567890123456", "1234567890123456"},
		{strings.Repeat("9", 400), strings.Repeat("9", 400)},
		{"|\n  5", "5"},
	}
	for _, tt := range tests {
		f, fs := Read("x", []byte("a: "+tt.in+"\n"))
		if tt.in == "-" {
			f, fs = Read("x", []byte("a: '-'\n"))
		}
		if len(fs) > 0 {
			t.Errorf("%s: %v", tt.in, placed(f, fs))
			continue
		}
		got := f.Root.Get("a").value()
		if s, ok := got.(string); ok {
			got = strings.TrimSuffix(s, "\n")
		}
		if got != tt.value {
			t.Errorf("%s means %#v, want %#v", tt.in, got, tt.value)
		}
	}
}

func TestBoolAndNumber(t *testing.T) {
	for in, want := range map[string]bool{"true": true, "Yes": true, "ON": true, "off": false, "No": false, "FALSE": false} {
		if v, ok := ScalarNode(in).Bool(); !ok || v != want {
			t.Errorf("%s reads %v, %v", in, v, ok)
		}
	}
	for _, in := range []string{"", "y", "1", "truly", "nothing"} {
		if _, ok := ScalarNode(in).Bool(); ok {
			t.Errorf("%q passes as true or false", in)
		}
	}
	if _, ok := (&Node{Kind: Scalar, Text: "5", Quoted: true}).Number(); ok {
		t.Error("a quoted 5 passes as a number")
	}
	var none *Node
	if _, ok := none.Number(); ok || none.Get("a") != nil || none.Clone() != nil {
		t.Error("a nil node is something")
	}
	none.Set("a", nil)
	none.Delete("a")
}

func TestSetDeleteClone(t *testing.T) {
	f, _ := Read("x", []byte("a: 1\nb: [x]\nc: {d: 2}\n"))
	c := f.Root.Clone()
	c.Set("a", ScalarNode("9"))
	c.Set("e", ScalarNode("5"))
	c.Delete("b")
	c.Get("c").Set("d", ScalarNode("8"))
	if got, want := string(Marshal(c)), "a: 9\nc:\n  d: 8\ne: 5\n"; got != want {
		t.Errorf("changed copy is\n%s\nwant\n%s", got, want)
	}
	if got, want := string(Marshal(f.Root)), "a: 1\nb:\n  - x\nc:\n  d: 2\n"; got != want {
		t.Errorf("the original became\n%s\nwant\n%s", got, want)
	}
}

// Ten megabytes of ordinary steps are read whole; see BenchmarkReadHuge for time.
func TestReadTenMegabytes(t *testing.T) {
	if testing.Short() {
		t.Skip("reads 10 MB")
	}
	b := huge(10 << 20)
	f, fs := Read("x", b)
	if len(fs) > 0 {
		t.Fatalf("%v", placed(f, fs))
	}
	steps := f.Root.Get("steps").Items
	last := steps[len(steps)-1].Get("bath")
	if last == nil || text(f, last.Span) != "dry ice / acetone" {
		t.Errorf("the last of %d steps reads %v", len(steps), last)
	}
}

func huge(size int) []byte {
	var b bytes.Buffer
	b.WriteString("steps:\n")
	for b.Len() < size {
		b.WriteString("  - cool: flask\n    to: -78 °C\n    note: slowly, and watch the thermometer inside the flask\n    bath: dry ice / acetone\n")
	}
	return b.Bytes()
}

func BenchmarkRead(b *testing.B) {
	src := procedure(b)
	b.SetBytes(int64(len(src)))
	b.ReportAllocs()
	for b.Loop() {
		if f, _ := Read("x", src); f.Root == nil {
			b.Fatal("not read")
		}
	}
}

func BenchmarkReadHuge(b *testing.B) {
	src := huge(10 << 20)
	b.SetBytes(int64(len(src)))
	b.ReportAllocs()
	for b.Loop() {
		Read("x", src)
	}
}
