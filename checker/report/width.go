package report

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// wide are the ranges of characters that take two cells on a terminal: the
// blocks that Unicode Standard Annex 11 makes wide or full-width as a whole,
// and the pictographs.
var wide = [][2]rune{
	{0x1100, 0x115f}, {0x2e80, 0x303e}, {0x3041, 0x33ff}, {0x3400, 0x4dbf}, {0x4e00, 0x9fff}, {0xa000, 0xa4cf}, {0xa960, 0xa97f},
	{0xac00, 0xd7a3}, {0xf900, 0xfaff}, {0xfe30, 0xfe6f}, {0xff00, 0xff60}, {0xffe0, 0xffe6}, {0x1f300, 0x1f64f}, {0x1f680, 0x1f6ff},
	{0x1f900, 0x1f9ff}, {0x20000, 0x3fffd},
}

// cells counts the terminal cells of a character.
func cells(r rune) int {
	if r < 0x300 {
		return 1
	}
	if unicode.In(r, unicode.Mn, unicode.Me) || r == 0x200d || r == 0x200c {
		return 0
	}
	for _, w := range wide {
		if w[0] <= r && r <= w[1] {
			return 2
		}
	}
	return 1
}

func width(s string) int {
	n := 0
	for _, r := range s {
		n += cells(r)
	}
	return n
}

// tabStop is how far tabs reach in the lines that are shown.
const tabStop = 4

// flatten makes a line of a file fit to be shown: tabs become blanks as far as
// from column at, and what would steer the terminal or turn the reading
// direction becomes a replacement character.
func flatten(s string, at int) string {
	var b strings.Builder
	for _, r := range s {
		switch {
		case r == '\t':
			n := tabStop - at%tabStop
			b.WriteString(strings.Repeat(" ", n))
			at += n
		case steers(r):
			b.WriteRune(utf8.RuneError)
			at++
		default:
			b.WriteRune(r)
			at += cells(r)
		}
	}
	return b.String()
}

// steers reports whether a character is a control: C0, C1, or one that turns
// the reading direction.
func steers(r rune) bool {
	return r < 0x20 || 0x7f <= r && r < 0xa0 || 0x202a <= r && r <= 0x202e || 0x2066 <= r && r <= 0x2069
}

// cut shortens a text to n cells, with an ellipsis where it is cut.
func cut(s string, n int) string {
	if width(s) <= n {
		return s
	}
	if n <= 0 {
		return ""
	}
	at := 0
	for i, r := range s {
		if at += cells(r); at > n-1 {
			return strings.TrimRight(s[:i], " ") + "…"
		}
	}
	return s
}

// wrap breaks a text at blanks into lines of at most n cells. Line breaks of
// its own and the indent of each are kept; a line that goes on is indented
// further where its first was. A word that is longer stands alone.
func wrap(s string, n int) []string {
	var lines []string
	for _, paragraph := range strings.Split(strings.Trim(s, "\r\n"), "\n") {
		text := strings.TrimLeft(paragraph, " ")
		indent := strings.Repeat(" ", min(len(paragraph)-len(text), n/2))
		line, at := indent, 0
		room := n - len(indent)
		for _, word := range strings.FieldsFunc(text, func(r rune) bool { return r == ' ' || r == '\t' || r == '\r' }) {
			word = flatten(word, 0)
			w := width(word)
			if at > 0 && at+1+w > room {
				lines = append(lines, line)
				if indent != "" {
					line, room = indent+"  ", n-len(indent)-2
				} else {
					line = ""
				}
				at = 0
			}
			if at > 0 {
				line += " "
				at++
			}
			line += word
			at += w
		}
		lines = append(lines, strings.TrimRight(line, " "))
	}
	return lines
}
