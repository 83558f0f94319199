package document

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"gopkg.in/yaml.v3"

	"ketyl/checker/finding"
)

// Limits of what is read. They keep any input within about a second and a few
// hundred megabytes; a procedure of a thousand steps is far below all of them.
const (
	maxBytes    = 16 << 20
	maxDepth    = 64
	maxNodes    = 1_000_000 // values; keys are not counted
	maxFindings = 1000      // of one file's intake; a last one says that there are more
	maxAliases  = 50        // unknown aliases found one by one, each by one more parse
)

// Read parses the bytes of a file. The File is never nil; its Root is nil when
// the file could not be read. A file whose only fault is a repeated key keeps
// its Root, with the first of the repeated keys. Every finding is a hold with
// outcome unread and a rule of the family format.
func Read(name string, b []byte) (f *File, fs []finding.Finding) {
	f = &File{Source: finding.NewSource(name, b)}
	defer func() {
		if r := recover(); r != nil {
			f.Root = nil
			fs = []finding.Finding{unread("format/syntax", finding.Span{},
				"the YAML of this file cannot be read, expected plain `key: value` lines and lists")}
		}
	}()
	start, fs := precheck(b)
	if fs != nil {
		return f, fs
	}
	w := &walker{src: b, lines: lineStarts(b, start)}
	if fs := documents(b, w.lines); fs != nil {
		return f, fs
	}
	parsed := b[start:]
	root, err := parse(parsed)
	if err != nil {
		root, parsed, err = w.unknownAliases(parsed, start, err)
	}
	if err != nil {
		w.findings = append(w.findings, explainSyntax(f.Source, start, parsed, err))
		return f, w.sorted()
	}
	if root == nil || root.Kind == yaml.ScalarNode && root.Value == "" && root.Style == 0 && root.Anchor == "" {
		if len(w.findings) == 0 {
			w.report("format/empty", finding.Span{}, "the file is empty: found no `key: value` line outside comments")
		}
		return f, w.sorted()
	}
	tree := w.node(root, 1, -1)
	if !w.refused {
		f.Root = tree
	}
	return f, w.sorted()
}

// parse gives the content of the first document; nil when there is none.
func parse(b []byte) (root *yaml.Node, err error) {
	defer func() {
		if r := recover(); r != nil {
			root, err = nil, errors.New("yaml: parser stopped")
		}
	}()
	var doc yaml.Node
	if err := yaml.Unmarshal(b, &doc); err != nil {
		return nil, err
	}
	if doc.Kind != yaml.DocumentNode || len(doc.Content) == 0 {
		return nil, nil
	}
	return doc.Content[0], nil
}

// precheck refuses what must not reach the parser: too much, not UTF-8,
// invisible characters. It returns the offset after a byte order mark.
func precheck(b []byte) (start int, fs []finding.Finding) {
	one := func(rule string, at, n int, format string, args ...any) (int, []finding.Finding) {
		return start, []finding.Finding{unread(rule, finding.Span{Start: at, End: min(at+n, len(b))}, fmt.Sprintf(format, args...))}
	}
	if len(b) > maxBytes {
		return one("format/size", 0, 0, "found %d bytes, expected at most %d MB in one file", len(b), maxBytes>>20)
	}
	if bytes.HasPrefix(b, []byte("\xef\xbb\xbf")) {
		start = 3
	}
	if bytes.HasPrefix(b, []byte("\xff\xfe")) || bytes.HasPrefix(b, []byte("\xfe\xff")) || utf16ish(b) {
		return one("format/encoding", 0, 0, "found UTF-16 text, expected UTF-8: save the file again with the encoding UTF-8")
	}
	marks := 0
	for i := start; i < len(b); {
		c := b[i]
		if c < utf8.RuneSelf {
			switch {
			case c >= 0x20 && c < 0x7f:
				switch c {
				case ',':
					marks++
				case ':', '-', '?':
					if i+1 == len(b) || b[i+1] <= ' ' {
						marks++
					}
				}
			case c == '\n' || c == '\t':
			case c == '\r':
				if i+1 == len(b) || b[i+1] != '\n' {
					return one("format/encoding", i, 1, "found a carriage return (U+000D) alone, expected lines to end with a line feed")
				}
			default:
				return one("format/encoding", i, 1, "found the control character U+%04X, expected readable text: is this a text file?", c)
			}
			i++
			continue
		}
		r, n := utf8.DecodeRune(b[i:])
		switch {
		case r == utf8.RuneError && n == 1:
			return one("format/encoding", i, 1, "found the byte 0x%02X, which is not UTF-8: save the file again with the encoding UTF-8", c)
		case r < 0xa0 || r == 0xfffe || r == 0xffff:
			return one("format/encoding", i, n, "found the control character U+%04X, expected readable text", r)
		case r == 0x2028 || r == 0x2029:
			return one("format/encoding", i, n, "found the line separator U+%04X, expected an ordinary line break", r)
		case r == 0xfeff:
			return one("format/encoding", i, n, "found the invisible character U+FEFF (a byte order mark) inside the text, expected it at the start of the file or not at all")
		}
		i += n
	}
	// Each value needs at least one of these marks, so this bounds the tree
	// before it is built.
	if marks > maxNodes {
		return one("format/size", 0, 0, "found more than %d values, expected one procedure", maxNodes)
	}
	return start, nil
}

// utf16ish recognises UTF-16 without a byte order mark: every other byte of
// the beginning is zero.
func utf16ish(b []byte) bool {
	n := min(len(b), 64) &^ 1
	zeros := [2]int{}
	for i := range n {
		if b[i] == 0 {
			zeros[i%2]++
		}
	}
	return n >= 4 && (zeros[0] >= n/2-n/8 && zeros[1] == 0 || zeros[1] >= n/2-n/8 && zeros[0] == 0)
}

// lineStarts lists where lines begin; the first begins after a byte order mark.
func lineStarts(b []byte, start int) []int {
	lines := make([]int, 1, 1+bytes.Count(b, []byte{'\n'}))
	lines[0] = start
	for i, c := range b {
		if c == '\n' {
			lines = append(lines, i+1)
		}
	}
	return lines
}

// documents refuses a second document. A line that begins with --- or ... is
// a document mark wherever it stands, since no content may begin with one.
func documents(b []byte, lines []int) []finding.Finding {
	content, started, ended := false, false, false
	for i, at := range lines {
		end := len(b)
		if i+1 < len(lines) {
			end = lines[i+1]
		}
		line := b[at:end]
		blank := len(line) < 4 || line[3] <= ' '
		switch {
		case blank && bytes.HasPrefix(line, []byte("---")):
			if content || started {
				fd := unread("format/documents", finding.Span{Start: at, End: at + 3},
					"found a second document after `---`, expected one procedure per file")
				fd.Fix = "put what follows into a file of its own"
				return []finding.Finding{fd}
			}
			started = true
			content = len(bytes.TrimSpace(line[3:])) > 0
		case blank && bytes.HasPrefix(line, []byte("...")):
			ended = content || started
		case len(line) > 0 && line[0] == '%' && !started && !content:
		default:
			t := bytes.TrimSpace(line)
			if len(t) == 0 || t[0] == '#' {
				continue
			}
			if ended {
				return []finding.Finding{unread("format/documents", finding.Span{Start: at, End: at + len(bytes.TrimRight(line, "\r\n"))},
					"found text after the end mark `...`, expected one procedure per file")}
			}
			content = true
		}
	}
	return nil
}

// walker turns the library's nodes into ours.
type walker struct {
	src      []byte
	lines    []int
	findings []finding.Finding
	dropped  int
	refused  bool // something was found that leaves no tree
	values   int
	slab     []Node
	// Nodes come nearly in file order, so a column is counted from the last
	// one; a long line would otherwise be walked again for each value on it.
	line, column, offset int
}

func (w *walker) report(rule string, at finding.Span, message string) *finding.Finding {
	if len(w.findings) >= maxFindings {
		w.dropped++
		return &finding.Finding{}
	}
	w.findings = append(w.findings, unread(rule, at, message))
	return &w.findings[len(w.findings)-1]
}

// refuse reports something after which the tree is not given out.
func (w *walker) refuse(rule string, at finding.Span, message string) *finding.Finding {
	w.refused = true
	return w.report(rule, at, message)
}

func (w *walker) sorted() []finding.Finding {
	slices.SortStableFunc(w.findings, func(a, b finding.Finding) int { return a.Span.Start - b.Span.Start })
	// An anchor before a mapping's first key is met as the mapping's and the key's.
	w.findings = slices.CompactFunc(w.findings, func(a, b finding.Finding) bool { return a.Span == b.Span && a.Message == b.Message })
	if w.dropped > 0 {
		last := &w.findings[len(w.findings)-1]
		last.Message += fmt.Sprintf(" (and %d more like this in the file)", w.dropped)
	}
	return w.findings
}

// at gives the byte offset of the library's line and column (code points).
func (w *walker) at(line, column int) int {
	if line < 1 || line > len(w.lines) {
		return len(w.src)
	}
	if line != w.line || column < w.column {
		w.line, w.column, w.offset = line, 1, w.lines[line-1]
	}
	for w.column < column && w.offset < len(w.src) && w.src[w.offset] != '\n' {
		if w.src[w.offset] < utf8.RuneSelf {
			w.offset++
		} else {
			_, n := utf8.DecodeRune(w.src[w.offset:])
			w.offset += n
		}
		w.column++
	}
	return w.offset
}

func (w *walker) new(k Kind, start int) *Node {
	if len(w.slab) == 0 {
		w.slab = make([]Node, 64)
	}
	n := &w.slab[0]
	w.slab = w.slab[1:]
	n.Kind, n.Span = k, finding.Span{Start: start, End: start}
	return n
}

// node converts a value. Indent is the column (from 0) of the block collection
// around it, -1 at the root.
func (w *walker) node(y *yaml.Node, depth, indent int) *Node {
	start := w.at(y.Line, y.Column)
	if w.values++; w.values == maxNodes+1 {
		w.refuse("format/size", finding.Span{Start: start, End: start}, fmt.Sprintf("found more than %d values, expected one procedure", maxNodes))
	}
	if y.Kind != yaml.AliasNode {
		start = w.properties(start)
	}
	switch y.Kind {
	case yaml.AliasNode:
		n := w.new(Null, start)
		n.Span.End = min(start+1+len(y.Value), len(w.src))
		fd := w.refuse("format/alias", n.Span, fmt.Sprintf("found the alias %s, expected the value itself: aliases are not read", show("*"+y.Value)))
		fd.Fix = fmt.Sprintf(`write the value again, or put text that begins with * into quotes: "*%s"`, y.Value)
		if y.Alias != nil {
			line, column, offset := w.line, w.column, w.offset
			a := w.at(y.Alias.Line, y.Alias.Column)
			w.line, w.column, w.offset = line, column, offset
			fd.Related = []finding.Related{{Span: finding.Span{Start: a, End: min(a+1+len(y.Value), len(w.src))}, Message: "it repeats this value"}}
		}
		return n
	case yaml.ScalarNode:
		return w.scalar(y, start, indent)
	}
	if depth > maxDepth {
		n := w.new(Null, start)
		if !w.refused || w.findings[len(w.findings)-1].Rule != "format/size" {
			w.refuse("format/size", n.Span, fmt.Sprintf("found values nested more than %d deep, expected a few levels", maxDepth))
		}
		return n
	}
	if w.values > maxNodes {
		return w.new(Null, start)
	}
	if y.Style&yaml.FlowStyle == 0 {
		indent = y.Column - 1
	}
	if y.Kind == yaml.SequenceNode {
		n := w.new(Sequence, start)
		end := start
		if len(y.Content) > 0 {
			n.Items = make([]*Node, len(y.Content))
		}
		for i, c := range y.Content {
			n.Items[i] = w.node(c, depth+1, indent)
			end = max(end, n.Items[i].Span.End)
		}
		if y.Style&yaml.FlowStyle == 0 && len(n.Items) > 0 && end == start {
			end = min(start+1, len(w.src))
		}
		n.Span.End = w.close(start, end, '[', ']')
		return n
	}
	n := w.new(Mapping, start)
	end := start
	if len(y.Content) > 0 {
		n.Entries = make([]Entry, 0, len(y.Content)/2)
	}
	var seen map[string]int
	for i := 0; i+1 < len(y.Content); i += 2 {
		key := w.key(y.Content[i], depth, indent)
		value := w.node(y.Content[i+1], depth+1, indent)
		end = max(end, key.Span.End, value.Span.End)
		if first := n.find(key.Text, &seen); first != nil && y.Content[i].Kind == yaml.ScalarNode {
			fd := w.report("format/duplicate-key", key.Span, fmt.Sprintf("found the key %s a second time, expected each key once", show(key.Text)))
			fd.Related = []finding.Related{{Span: first.Span, Message: "it is first written here"}}
			continue
		}
		if y.Style&yaml.FlowStyle != 0 && !key.Quoted && value.Kind == Null && value.Text == "" {
			// {amount:5 g} is to YAML one key without a value.
			if before, after, ok := strings.Cut(key.Text, ":"); ok && after != "" {
				fd := w.refuse("format/syntax", finding.Span{Start: key.Span.Start + len(before), End: key.Span.Start + len(before) + 1},
					fmt.Sprintf("found %s, expected a space after the colon", show(key.Text)))
				fd.Fix = "write `" + before + ": " + strings.TrimSpace(after) + "`"
			}
		}
		n.Entries = append(n.Entries, Entry{key, value})
		if seen != nil {
			seen[key.Text] = len(n.Entries) - 1
		}
	}
	n.Span.End = w.close(start, end, '{', '}')
	return n
}

// find gives an earlier key; beyond a few keys it keeps an index.
func (n *Node) find(key string, seen *map[string]int) *Node {
	const few = 12
	if *seen == nil && len(n.Entries) < few {
		for _, e := range n.Entries {
			if e.Key.Text == key {
				return e.Key
			}
		}
		return nil
	}
	if *seen == nil {
		*seen = make(map[string]int, 4*few)
		for i, e := range n.Entries {
			(*seen)[e.Key.Text] = i
		}
	}
	if i, ok := (*seen)[key]; ok {
		return n.Entries[i].Key
	}
	return nil
}

// key converts a key, which must be a text of one piece.
func (w *walker) key(y *yaml.Node, depth, indent int) *Node {
	if y.Kind == yaml.ScalarNode {
		start := w.properties(w.at(y.Line, y.Column))
		n := w.scalar(y, start, indent)
		switch {
		case y.Style == 0 && y.Value == "<<":
			w.refuse("format/alias", n.Span, "found the merge key `<<`, expected the keys themselves: merging is not read")
		case y.Value == "":
			w.refuse("format/key", n.Span, "found an empty key, expected `key: value`")
		default:
			w.invisible(n)
		}
		n.Kind = Scalar
		return n
	}
	w.values--
	n := w.node(y, depth+1, indent)
	if y.Kind != yaml.AliasNode {
		fd := w.refuse("format/key", n.Span, fmt.Sprintf("found %s as a key, expected a text", n.Kind))
		fd.Fix = "put a value that holds { or [ into quotes"
	}
	return &Node{Kind: Scalar, Span: n.Span}
}

// invisible refuses a key that only looks like another: a no-break space or
// a character without width in it. In values they do no harm.
func (w *walker) invisible(key *Node) {
	for i, r := range key.Text {
		if r < 0xa0 || !unicode.IsSpace(r) && !unicode.Is(unicode.Cf, r) {
			continue
		}
		at := key.Span
		if n := key.Span.Start + i; !key.Quoted && key.Span.End-key.Span.Start == len(key.Text) {
			at = finding.Span{Start: n, End: n + utf8.RuneLen(r)}
		}
		fd := w.refuse("format/key", at, fmt.Sprintf("found the character U+%04X in the key %s, which looks like a space or like nothing, expected an ordinary space", r, show(key.Text)))
		fd.Fix = "type the key again"
		return
	}
}

// properties refuses an anchor or tag before a value and gives the offset of
// the value itself.
func (w *walker) properties(start int) int {
	if start >= len(w.src) || w.src[start] != '&' && w.src[start] != '!' {
		return start
	}
	for start < len(w.src) && (w.src[start] == '&' || w.src[start] == '!') {
		end := start
		for end < len(w.src) && w.src[end] > ' ' && !(end > start && strings.IndexByte(",[]{}", w.src[end]) >= 0) {
			end++
		}
		span := finding.Span{Start: start, End: end}
		word := string(w.src[start:end])
		var fd *finding.Finding
		if w.src[start] == '&' {
			fd = w.refuse("format/alias", span, fmt.Sprintf("found the anchor %s, expected a value: anchors are not read", show(word)))
		} else {
			fd = w.refuse("format/tag", span, fmt.Sprintf("found the tag %s, expected a value: tags are not read", show(word)))
		}
		fd.Fix = fmt.Sprintf("put text that begins with %c into quotes", word[0])
		for start = end; start < len(w.src); start++ {
			if c := w.src[start]; c == '#' {
				for start+1 < len(w.src) && w.src[start+1] != '\n' {
					start++
				}
			} else if c != ' ' && c != '\t' && c != '\n' && c != '\r' {
				break
			}
		}
	}
	w.refused = true
	return min(start, len(w.src))
}

// scalar converts a scalar and finds where it ends.
func (w *walker) scalar(y *yaml.Node, start, indent int) *Node {
	n := w.new(Scalar, start)
	n.Text = y.Value
	switch {
	case y.Style&(yaml.DoubleQuotedStyle|yaml.SingleQuotedStyle) != 0:
		n.Quoted = true
		n.Span.End = quotedEnd(w.src, start)
	case y.Style&(yaml.LiteralStyle|yaml.FoldedStyle) != 0:
		n.Quoted = true
		n.Span.End = blockEnd(w.src, start, indent)
		if head := word(w.src, start); y.Value == "" && strings.ContainsAny(head, "0123456789") {
			// "purity: >5" is a block without text to YAML.
			fd := w.refuse("format/syntax", n.Span, fmt.Sprintf("found a value that begins with %s, expected it in quotes", show(head[:1])))
			fd.Fix = "write " + "`" + inQuotes(head) + "`"
		}
	default:
		n.Span.End = plainEnd(w.src, start, y.Value)
		if isNull(y.Value) {
			n.Kind = Null
		}
	}
	return n
}

// quotedEnd gives the offset past the closing quote.
func quotedEnd(src []byte, start int) int {
	if start >= len(src) || src[start] != '"' && src[start] != '\'' {
		return start
	}
	q := src[start]
	for i := start + 1; i < len(src); i++ {
		switch {
		case src[i] == '\\' && q == '"':
			i++
		case src[i] == q && q == '\'' && i+1 < len(src) && src[i+1] == q:
			i++
		case src[i] == q:
			return i + 1
		}
	}
	return len(src)
}

// plainEnd gives the offset past the last word of an unquoted text, which may
// run over lines: white space differs from the text, words do not.
func plainEnd(src []byte, start int, text string) int {
	if end := start + len(text); end <= len(src) && string(src[start:end]) == text {
		return end
	}
	at, end := start, start
	for i := range len(text) {
		c := text[i]
		if c == ' ' || c == '\t' || c == '\n' || c == '\r' {
			continue
		}
		for at < len(src) && (src[at] == ' ' || src[at] == '\t' || src[at] == '\n' || src[at] == '\r') {
			at++
		}
		if at >= len(src) || src[at] != c {
			return end
		}
		at++
		end = at
	}
	return end
}

// blockEnd gives the offset past the last line with text of a block that
// begins with | or >. Indent is the column of the collection around it.
func blockEnd(src []byte, start, indent int) int {
	end := start
	explicit := 0
	for end < len(src) && strings.IndexByte("|>+-0123456789", src[end]) >= 0 {
		if c := src[end]; c >= '1' && c <= '9' {
			explicit = int(c - '0')
		}
		end++
	}
	least := max(indent, 0) + explicit
	if explicit == 0 {
		least = max(indent+1, 1)
	}
	found := explicit > 0
	for at := lineEndAt(src, start) + 1; at < len(src); {
		stop := lineEndAt(src, at)
		column := 0
		for at+column < stop && src[at+column] == ' ' {
			column++
		}
		text := bytes.TrimRight(src[at:stop], " \t\r")
		switch {
		case len(text) <= column && (column < least || !found):
			// A blank line: it belongs to the block if text follows.
		case column < least:
			return end
		default:
			if !found {
				least, found = column, true
			}
			if len(text) > 0 {
				end = at + len(text)
			}
		}
		at = stop + 1
	}
	return end
}

// close gives the offset past the bracket that closes a flow collection, or
// end for one without brackets.
func (w *walker) close(start, end int, opening, closing byte) int {
	if start >= len(w.src) || w.src[start] != opening {
		return end
	}
	for i := max(end, start+1); i < len(w.src); i++ {
		switch w.src[i] {
		case closing:
			return i + 1
		case '#':
			for i+1 < len(w.src) && w.src[i+1] != '\n' {
				i++
			}
		}
	}
	return end
}

// show quotes what the author wrote, on one line and not too long.
func show(s string) string {
	const longest = 60
	s = strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\t' || r == '\r':
			return ' '
		case r < 0x20 || r >= 0x7f && r < 0xa0 || hidden(r) || r == utf8.RuneError:
			return '\uFFFD'
		}
		return r
	}, s)
	if utf8.RuneCountInString(s) > longest {
		s = string([]rune(s)[:longest-1]) + "…"
	}
	return "`" + s + "`"
}
