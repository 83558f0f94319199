package document

import (
	"strings"
	"testing"
)

func TestSyntaxErrors(t *testing.T) {
	tests := []struct {
		name, in string
		want     string // line:column rule message, its beginning
		fix      string // part of the fix
	}{
		{"colon in a value", "note: 50 % of: x\n", "1:14 format/syntax found `: ` inside the value `50 % of: x`, expected the value in quotes", "write `note: \"50 % of: x\"`"},
		{"colon in a value of a list", "s:\n  - say: a: b # c\n", "2:11 format/syntax found `: ` inside the value `a: b # c`", "write `- say: \"a: b\"`"},
		{"colon in a value with quotes", "note: say \"a\": b\n", "1:14 format/syntax found `: ` inside the value", `write ` + "`note: 'say \"a\": b'`"},
		{"colon in braces", "a: {b: c: d}\n", "1:9 format/syntax found `: ` inside a value", "quotes"},
		{"asterisks", "say: *important*\n", "1:6 format/syntax found a value that begins with `*`, expected it in quotes", "write `say: \"*important*\"`"},
		{"ampersand", "a: 1\nsay: & more\n", "2:6 format/syntax found a value that begins with `&`", "write `say: \"& more\"`"},
		{"at", "- at: @ 5\n", "1:7 format/syntax found a value that begins with `@`", "write `- at: \"@ 5\"`"},
		{"backtick", "a: `b`\n", "1:4 format/syntax found a value that begins with ```", "\"`b`\""},
		{"per cent", "a: %5\n", "1:4 format/syntax found a value that begins with `%`", `"%5"`},
		{"exclamation", "a: !!\n", "1:4 format/syntax found a value that begins with `!`", `"!!"`},
		{"more than", "a: > 5 mL\n", "1:4 format/syntax found a value that begins with `>`", `"> 5 mL"`},
		{"bar", "a: | b\n", "1:4 format/syntax found a value that begins with `|`", `"| b"`},
		{"question mark", "a: ? b\n", "1:4 format/syntax found a value that begins with `? `", `"? b"`},
		{"comma", "a: , b\n", "1:4 format/syntax found a value that begins with `,`", `", b"`},
		{"closing bracket", "a: ]\n", "1:4 format/syntax found `]`, expected a value", "quotes"},
		{"second closing bracket", "a: [1]]\n", "1:7 format/syntax found `]` without its opening bracket", ""},
		{"dash before a number", "at: - 78 °C\n", "1:5 format/syntax found `- ` before a number", "write `at: -78 °C`"},
		{"item on the key's line", "dry: - flask\n", "1:6 format/syntax found a list item on the line of its key", "write `dry: [flask]`"},
		{"per cent at line start", "a: 1\n% b\n", "2:1 format/syntax found a line that begins with `%`", ""},
		{"directive", "%YAML 1.2\n---\na: 1\n", "1:1 format/syntax found a line that begins with `%`", "take the line away"},

		{"no space after the colon", "a: 1\nto:flask\nb: 2\n", "2:3 format/syntax found `to:flask`, expected a space after the colon", "write `to: flask`"},
		{"no colon", "a: 1\nto flask\nb: 2\n", "2:1 format/syntax found `to flask`, expected `key: value`", "put a colon"},
		{"no colon in the first line", "to flask\nb: 2\n", "1:1 format/syntax found `to flask`, expected `key: value`", ""},
		{"no colon in the last line", "a: 1\nto flask", "2:1 format/syntax found `to flask`", ""},
		{"no colon in a step", "steps:\n  - add: thf\n    to flask\n    by: syringe\n", "3:5 format/syntax found `to flask`", ""},
		{"no space after the dash", "- a\n-b\n", "2:1 format/syntax found `-b`, expected a space after the dash", "write `- b`"},
		{"no key", ": x\n", "1:1 format/syntax found `:` without a key", ""},

		{"quote not closed", "a: 1\nb: \"open\nc: 2\n", "2:4 format/syntax found `\"open` without the closing quote", "close the quote"},
		{"quote closed by another", "a: 'open\nb: 'it'\nc: 1\n", "1:4 format/syntax found `'open` without a closing quote on its line", "close the quote"},
		{"apostrophe in quotes", "a: 'it's'\n", "1:8 format/syntax found `s'` after the closing quote", `"'it's'"`},
		{"text after quotes", "a: \"5\" wide\n", "1:8 format/syntax found `wide` after the closing quote", `'"5" wide'`},
		{"backslash", "a: \"\\delta\"\n", "1:5 format/syntax found `\\d` in double quotes", "single quotes"},

		{"bracket not closed", "a: [1, 2\nb: 3\n", "1:4 format/syntax found `[1, 2` without its closing bracket, expected `]`", ""},
		{"bracket not closed before keys of its step", "s:\n  - dry: [flask, funnel\n    in: oven\n  - add: thf\n    to: [a, b]\n", "2:10 format/syntax found `[flask, funnel` without its closing bracket, expected `]`", "on the line that opens it"},
		{"bracket closed a line later, comma missing", "s: {a: 1\n  b: 2}\n", "2:4 format/syntax found `: ` inside a value", ""},
		{"brace not closed", "s:\n  - {a: 1\n  - {b: 1}\n", "2:5 format/syntax found `{a: 1` without its closing bracket, expected `}`", ""},
		{"bracket not closed at the end", "a: 1\nb: [1,\n", "2:4 format/syntax found `[1,` without its closing bracket, expected `]`", ""},
		{"two commas", "a: [1, , 2]\n", "1:8 format/syntax found `,`, expected a value", ""},
		{"wrong bracket", "a: [1, 2}\n", "1:9 format/syntax found `}`, expected `,` or `]`", ""},
		{"inner bracket", "a: {to: [x, y}\n", "1:14 format/syntax found `}`, expected `,` or `]`", ""},
		{"no comma", "a: [\"b\" c]\n", "1:9 format/syntax found `c`, expected `,` or `]`", ""},

		{"deeper than a value", "a: 1\n  b: 2\n", "2:3 format/syntax found the key `b` indented deeper than the line above", "indent both lines alike"},
		{"deeper in a step", "steps:\n- add: thf\n    to: flask\n", "3:5 format/syntax found the key `to` indented deeper", ""},
		{"step without a key", "steps:\n  - adding thf\n    by: syringe\n", "2:5 format/syntax found `adding thf`, expected `key: value`", ""},
		{"colon in a value over lines", "note: some\n  more text\n  and: this\n", "3:6 format/syntax found `: ` inside a value that goes on over lines", "quotes"},
		{"between two levels", "steps:\n  - a: 1\n    b: 2\n   c: 3\n", "4:4 format/syntax found `c` indented by 3 spaces, which fits no line above, expected 2 or 4", ""},
		{"item between two levels", "steps:\n  - a: 1\n - b: 2\n", "3:2 format/syntax found `-` indented by 1 space, which fits no line above, expected 0 or 2", ""},
		{"key between two levels", "a:\n  b: 1\n c: 2\n", "3:2 format/syntax found `c` indented by 1 space, which fits no line above, expected 0 or 2", ""},
		{"key among items", "a:\n  - x\n  y: 2\n", "3:3 format/syntax found `y` among list items", ""},
		{"item among keys", "a:\n  x: 2\n  - y\n", "3:3 format/syntax found a list item among keys", ""},

		{"tab", "a:\n\tb: 1\n", "2:1 format/tab found a tab at the start of the line", "spaces"},
		{"tab after spaces", "a:\n  b: 1\n  \tc: 2\n", "3:3 format/tab", ""},
		{"tab after a value", "a:\n  b: 1\n\tc: 2\n", "3:1 format/tab", ""},
		{"wide characters before", "ä: µ\nö: ü: ñ\n", "2:5 format/syntax found `: ` inside the value `ü: ñ`", ""},
		{"behind a byte order mark", "\ufeffa: 1\nb: @\n", "2:4 format/syntax", ""},
		{"after CRLF", "a: 1\r\nto flask\r\nb: 2\r\n", "2:1 format/syntax found `to flask`, ", ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			f, fs := Read("x", []byte(tt.in))
			if len(fs) != 1 {
				t.Fatalf("%d findings, want one: %v", len(fs), placed(f, fs))
			}
			if got := placed(f, fs)[0]; !strings.HasPrefix(got, tt.want) {
				t.Errorf("found\n%s\nwant\n%s", got, tt.want)
			}
			if !strings.Contains(fs[0].Fix, tt.fix) {
				t.Errorf("fix %q, want %q in it", fs[0].Fix, tt.fix)
			}
			if f.Root != nil {
				t.Error("a tree is given out")
			}
		})
	}
}

// The fault's place does not depend on what stands around it.
func TestSyntaxErrorInALongFile(t *testing.T) {
	src := string(procedure(t))
	line := strings.Count(src, "\n")
	for name, tail := range map[string]string{
		"between levels": "  - add: thf\n     to: flask\n",
		"no colon":       "  - add: thf\n    to flask\n  - stir: flask\n",
		"colon":          "  - add: thf\n    note: a: b\n",
	} {
		f, fs := Read("x", []byte(src+tail))
		if len(fs) != 1 {
			t.Fatalf("%s: %v", name, placed(f, fs))
		}
		if got, _ := f.Source.Position(fs[0].Span.Start); got != line+2 {
			t.Errorf("%s: line %d, want %d: %s", name, got, line+2, fs[0].Message)
		}
	}
}

// Above the size that is searched, the parser's own line must do.
func TestSyntaxErrorInAHugeFile(t *testing.T) {
	b := append(huge(maxSearch+1000), "  - note: a: b\n"...)
	f, fs := Read("x", b)
	if len(fs) != 1 {
		t.Fatalf("%v", placed(f, fs))
	}
	if line, _ := f.Source.Position(fs[0].Span.Start); line != f.Source.Lines()-1 {
		t.Errorf("line %d, want %d: %s", line, f.Source.Lines()-1, fs[0].Message)
	}
}
