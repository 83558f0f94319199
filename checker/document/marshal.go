package document

import (
	"bytes"
	"fmt"
	"strings"
	"unicode/utf8"
)

// longKey is the length in bytes from which a written key takes the "? key"
// form: YAML allows an ordinary key 1024 characters.
const longKey = 900

// Marshal writes a tree as YAML in block style. Read of the result gives an
// equal tree, spans aside; text that cannot stand unquoted is quoted. A nil
// tree is empty.
func Marshal(n *Node) []byte {
	var b bytes.Buffer
	if n == nil {
		return nil
	}
	if inline(n) {
		if n.Kind == Null && n.Text == "" {
			b.WriteString("null")
		}
		writeInline(&b, n)
		b.WriteByte('\n')
	} else {
		writeBlock(&b, n, 0)
	}
	return b.Bytes()
}

// inline reports whether a value is written on its key's line.
func inline(n *Node) bool {
	return n == nil || n.Kind == Scalar || n.Kind == Null || len(n.Entries)+len(n.Items) == 0
}

func writeInline(b *bytes.Buffer, n *Node) {
	switch {
	case n == nil:
	case n.Kind == Mapping:
		b.WriteString("{}")
	case n.Kind == Sequence:
		b.WriteString("[]")
	case n.Kind == Null:
		b.WriteString(n.Text)
	default:
		writeText(b, n.Text, n.Quoted)
	}
}

// writeBlock writes a mapping or sequence whose first line's indentation is
// already written; it ends with a line break.
func writeBlock(b *bytes.Buffer, n *Node, indent int) {
	margin := strings.Repeat(" ", indent)
	lead := func(i int) {
		if i > 0 {
			b.WriteString(margin)
		}
	}
	for i, item := range n.Items {
		lead(i)
		b.WriteByte('-')
		if inline(item) {
			space(b, item)
			writeInline(b, item)
			b.WriteByte('\n')
			continue
		}
		b.WriteByte(' ')
		writeBlock(b, item, indent+2)
	}
	for i, e := range n.Entries {
		lead(i)
		at := b.Len()
		writeText(b, e.Key.Text, e.Key.Quoted || isNull(e.Key.Text))
		if b.Len()-at > longKey {
			key := string(b.Bytes()[at:])
			b.Truncate(at)
			fmt.Fprintf(b, "? %s\n%s", key, margin)
		}
		b.WriteByte(':')
		if inline(e.Value) {
			space(b, e.Value)
			writeInline(b, e.Value)
			b.WriteByte('\n')
			continue
		}
		b.WriteByte('\n')
		b.WriteString(margin)
		b.WriteString("  ")
		writeBlock(b, e.Value, indent+2)
	}
}

// space separates an indicator from a value that has any text.
func space(b *bytes.Buffer, n *Node) {
	if n != nil && !(n.Kind == Null && n.Text == "") {
		b.WriteByte(' ')
	}
}

func writeText(b *bytes.Buffer, s string, quoted bool) {
	if !quoted && plain(s) {
		b.WriteString(s)
		return
	}
	writeQuoted(b, s)
}

func writeQuoted(b *bytes.Buffer, s string) {
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r == '\n':
			b.WriteString(`\n`)
		case r == '\t':
			b.WriteString(`\t`)
		case r == '\r':
			b.WriteString(`\r`)
		case r < 0x20 || r >= 0x7f && r <= 0xa0:
			fmt.Fprintf(b, `\x%02x`, r)
		case hidden(r):
			fmt.Fprintf(b, `\u%04x`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
}

// hidden reports code points that Read refuses in a file.
func hidden(r rune) bool {
	return r == '\u2028' || r == '\u2029' || r == '\ufeff' || r == '\ufffe' || r == '\uffff'
}

// plain reports whether s can stand unquoted in block style and read back the
// same. It is careful rather than exact.
func plain(s string) bool {
	if s == "" || s == "~" || s == "null" || s == "<<" || !utf8.ValidString(s) {
		return false
	}
	switch s[0] {
	case ',', '[', ']', '{', '}', '#', '&', '*', '!', '|', '>', '\'', '"', '%', '@', '`', ' ':
		return false
	case '-', '?', ':':
		if len(s) == 1 || s[1] == ' ' {
			return false
		}
	}
	if strings.HasPrefix(s, "---") || strings.HasPrefix(s, "...") || s[len(s)-1] == ' ' || s[len(s)-1] == ':' {
		return false
	}
	if strings.Contains(s, ": ") || strings.Contains(s, " #") {
		return false
	}
	for _, r := range s {
		if r < 0x20 || r >= 0x7f && r < 0xa0 || hidden(r) {
			return false
		}
	}
	return true
}
