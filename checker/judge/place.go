package judge

import (
	"strconv"
	"strings"
	"unicode/utf8"

	"ketyl/checker/document"
)

// sourceOffset gives the byte in the file at which byte at of a scalar's text
// was written. The text is aligned with what stands in the file: quotes,
// escapes, folded lines and indentation are passed over. Where the two cannot
// be aligned, the scalar's start is given.
func sourceOffset(src []byte, n *document.Node, at int) int {
	start, end := n.Span.Start, min(n.Span.End, len(src))
	if start >= end {
		return start
	}
	raw := string(src[start:end])
	i := 0 // in raw
	block, quote := false, byte(0)
	switch c := raw[0]; {
	case n.Quoted && (c == '|' || c == '>'):
		block = true
		nl := strings.IndexByte(raw, '\n')
		if nl < 0 {
			return start
		}
		i = nl + 1
	case n.Quoted && (c == '"' || c == '\''):
		quote = c
		i = 1
	}
	for t := 0; t < len(n.Text); {
		if i >= len(raw) {
			return start
		}
		want, size := utf8.DecodeRuneInString(n.Text[t:])
		got, width := utf8.DecodeRuneInString(raw[i:])
		if quote == '"' && got == '\\' {
			r, w := unescape(raw[i:])
			if w == 0 {
				return start
			}
			if r < 0 { // an escaped line break stands for nothing
				i += w
				continue
			}
			got, width = r, w
		}
		if quote == '\'' && got == '\'' {
			width = 2
		}
		switch {
		case want == got && (want != '\n' || block || quote == '"'):
			if t >= at {
				return start + i
			}
			i += width
			t += size
		case isBlank(want) && isBlank(got):
			// A folded line break: any run of blanks for this one.
			if t >= at {
				return start + i
			}
			for i < len(raw) && isBlank(rune(raw[i])) {
				i++
			}
			for t < len(n.Text) && isBlank(rune(n.Text[t])) {
				t++
				if t > at {
					return start + i
				}
			}
		case isBlank(got): // indentation
			i += width
		default:
			return start
		}
	}
	// Past the last character: never beyond it into blanks or a quote.
	return start + min(i, len(raw))
}

func isBlank(r rune) bool { return r == ' ' || r == '\n' || r == '\t' || r == '\r' }

// unescape reads one escape of a double-quoted scalar: its character (-1 for
// an escaped line break with the blanks after it) and its width, 0 if it is
// none.
func unescape(s string) (rune, int) {
	if len(s) < 2 {
		return 0, 0
	}
	digits := 0
	switch s[1] {
	case 'n':
		return '\n', 2
	case 't', '\t':
		return '\t', 2
	case 'r':
		return '\r', 2
	case '0':
		return 0, 2
	case 'a':
		return '\a', 2
	case 'b':
		return '\b', 2
	case 'e':
		return 0x1b, 2
	case 'f':
		return '\f', 2
	case 'v':
		return '\v', 2
	case '_':
		return 0xa0, 2
	case 'N':
		return 0x85, 2
	case 'L':
		return 0x2028, 2
	case 'P':
		return 0x2029, 2
	case '\n', '\r':
		w := 2
		for w < len(s) && isBlank(rune(s[w])) {
			w++
		}
		return -1, w
	case 'x':
		digits = 2
	case 'u':
		digits = 4
	case 'U':
		digits = 8
	default:
		return rune(s[1]), 2
	}
	if len(s) < 2+digits {
		return 0, 0
	}
	v, err := strconv.ParseUint(s[2:2+digits], 16, 32)
	if err != nil {
		return 0, 0
	}
	return rune(v), 2 + digits
}
