package document

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"gopkg.in/yaml.v3"

	"ketyl/checker/finding"
)

// A syntax error of the YAML library names a line that may be missing, one too
// low or that of an enclosing block. The true place is therefore found by
// parsing beginnings of the file: the shortest that fails in the same way ends
// at the fault. Files above maxSearch bytes are not searched, for time.
const maxSearch = 256 << 10

var (
	errorLine   = regexp.MustCompile(`^yaml: (?:line (\d+): )?(.*)`)
	errorAnchor = regexp.MustCompile(`^yaml: unknown anchor '(.*)' referenced$`)
)

// unknownAliases reports aliases without an anchor, for which the parser gives
// no place, one by one: a suspect is made into text and the file parsed again.
// It gives the tree or the next error, and what was parsed last.
func (w *walker) unknownAliases(b []byte, start int, err error) (*yaml.Node, []byte, error) {
	masked := false
	tries := min(maxAliases, 2+(8<<20)/(len(b)+1))
	from, last := 0, ""
	for {
		m := errorAnchor.FindStringSubmatch(err.Error())
		if m == nil {
			return nil, b, err
		}
		w.refused = true
		if m[1] != last {
			from, last = 0, m[1]
		}
		if !masked {
			b, masked = bytes.Clone(b), true
		}
		at := aliasFrom(b, m[1], from)
		if tries--; at < 0 || tries < 0 {
			w.reportAlias(finding.Span{}, m[1])
			return nil, b, nil
		}
		b[at] = 'x'
		root, next := parse(b)
		if next != nil && next.Error() == err.Error() && aliasFrom(b, m[1], at+1) >= 0 {
			// Either another alias of this name follows, or this was text in
			// quotes or a comment. Only an alias moves the fault.
			if !isAlias(b, at) {
				b[at] = '*'
				from = at + 1
				continue
			}
		}
		w.reportAlias(finding.Span{Start: start + at, End: start + at + 1 + len(m[1])}, m[1])
		if next == nil {
			return root, b, nil
		}
		from, err = at+1, next
	}
}

func (w *walker) reportAlias(at finding.Span, name string) {
	fd := w.refuse("format/alias", at, fmt.Sprintf("found the alias %s, expected the value itself: aliases are not read", show("*"+name)))
	fd.Fix = fmt.Sprintf(`write the value again, or put text that begins with * into quotes: "*%s"`, name)
}

// aliasFrom finds *name as a word of its own.
func aliasFrom(b []byte, name string, from int) int {
	for from < len(b) {
		i := bytes.Index(b[from:], []byte("*"+name))
		if i < 0 {
			return -1
		}
		at, end := from+i, from+i+1+len(name)
		if (at == 0 || strings.IndexByte(" \t\n[{,", b[at-1]) >= 0) && (end == len(b) || !wordByte(b[end])) {
			return at
		}
		from = at + 1
	}
	return -1
}

func wordByte(c byte) bool {
	return c == '_' || c == '-' || c >= '0' && c <= '9' || c >= 'A' && c <= 'Z' || c >= 'a' && c <= 'z'
}

// isAlias reports whether a value begins at an offset, outside quotes,
// comments and blocks.
func isAlias(b []byte, at int) bool {
	s := scan(b, at)
	return s.fresh && s.quote < 0 && !s.skipped
}

// explainSyntax words a syntax error at its best place; parsed is what failed,
// the source from start on, where aliases may be masked.
func explainSyntax(src *finding.Source, start int, parsed []byte, err error) finding.Finding {
	m := errorLine.FindStringSubmatch(err.Error())
	if m == nil {
		return unread("format/syntax", finding.Span{}, "found text that is no YAML, expected `key: value` lines")
	}
	line, _ := strconv.Atoi(m[1])
	x := &syntax{src: src.Bytes, parsed: parsed, start: start, problem: m[2]}
	if strings.HasPrefix(m[2], "exceeded max depth") {
		return unread("format/size", finding.Span{}, fmt.Sprintf("found values nested more than %d deep, expected a few levels", maxDepth))
	}
	x.locate(src.Offset(max(line, 1), 1))
	fd := x.explain()
	fd.Span.Start = max(0, min(fd.Span.Start, len(x.src)))
	fd.Span.End = max(fd.Span.Start, min(fd.Span.End, len(x.src)))
	return fd
}

// syntax is one syntax error under study.
type syntax struct {
	src     []byte
	parsed  []byte // from start on
	start   int    // after a byte order mark
	problem string
	end     int // offset past the fault: the shortest failing beginning
	line    int // offset of the first byte of the fault's line
	stop    int // offset past its last
}

// locate finds the fault's line and end.
func (x *syntax) locate(hint int) {
	lines := lineStarts(x.src, x.start)
	lineEnd := func(i int) int {
		if i+1 < len(lines) {
			return lines[i+1]
		}
		return len(x.src)
	}
	fails := func(end int) bool {
		_, err := parse(x.parsed[:end-x.start])
		if err == nil {
			return false
		}
		m := errorLine.FindStringSubmatch(err.Error())
		return m != nil && m[2] == x.problem
	}
	if len(x.src) > maxSearch {
		i, _ := slices.BinarySearch(lines, hint)
		i = min(i, len(lines)-1)
		x.line, x.end = lines[i], lineEnd(i)
	} else {
		i := first(len(lines), func(i int) bool { return fails(lineEnd(i)) })
		i = min(i, len(lines)-1)
		x.line = lines[i]
		x.end = x.line + 1 + first(lineEnd(i)-x.line-1, func(n int) bool { return fails(x.line + 1 + n) })
	}
	x.end = min(x.end, len(x.src))
	x.stop = x.line + len(bytes.TrimRight(x.src[x.line:min(len(x.src), lineEndAt(x.src, x.line))], "\r\n"))
}

// first is the least i below n for which f holds, or n.
func first(n int, f func(int) bool) int {
	low, high := 0, max(n, 0)
	for low < high {
		if mid := (low + high) / 2; f(mid) {
			high = mid
		} else {
			low = mid + 1
		}
	}
	return low
}

func lineEndAt(b []byte, at int) int {
	if i := bytes.IndexByte(b[at:], '\n'); i >= 0 {
		return at + i
	}
	return len(b)
}

// explain chooses words by what the library ran into and what stands there.
func (x *syntax) explain() finding.Finding {
	at := max(x.end-1, x.line)
	if tab := x.leadingTab(); tab >= 0 {
		fd := unread("format/tab", span(tab, 1), "found a tab at the start of the line, expected spaces")
		fd.Fix = "indent with spaces, two for each level"
		return fd
	}
	if x.line < x.stop && x.src[x.line] == '%' {
		return x.fault(span(x.line, x.stop-x.line), "found a line that begins with `%%`, expected `key: value`", "take the line away")
	}
	value := x.value()
	quoted := func(what string) finding.Finding {
		return x.fault(span(at, len(firstRune(x.src[at:]))), "found a value that begins with %s, expected it in quotes", x.quoting(), what)
	}
	switch p := x.problem; {
	case p == "mapping values are not allowed in this context":
		return x.secondColon(at)
	case p == "could not find expected ':'":
		return x.noColon()
	case p == "found unexpected end of stream" || p == "found unexpected document indicator":
		return x.openQuote(len(x.src))
	case p == "did not find expected key" || p == "did not find expected '-' indicator":
		return x.misplaced(at)
	case strings.HasPrefix(p, "did not find expected ',' or "):
		return x.openBracket(at)
	case p == "found character that cannot start any token":
		return quoted(show(string(firstRune(x.src[at:]))))
	case p == "block sequence entries are not allowed in this context":
		i := x.dash(at)
		rest := strings.TrimSpace(string(x.src[min(i+1, x.stop):x.stop]))
		if rest != "" && unicode.IsDigit(rune(rest[0])) {
			return x.fault(span(i, 1), "found `- ` before a number, expected the minus sign without a space", x.written("-"+rest))
		}
		return x.fault(span(i, 1), "found a list item on the line of its key, expected it on a line of its own", x.written("["+rest+"]"))
	case p == "mapping keys are not allowed in this context":
		at = max(value, x.line)
		return quoted("`? `")
	case p == "found unknown escape character" || strings.Contains(p, "hexdecimal") || strings.Contains(p, "Unicode character escape"):
		slash := at
		for slash > x.line && x.src[slash] != '\\' {
			slash--
		}
		return x.fault(span(slash, max(2, x.end-slash)), "found %s in double quotes, where \\ has a meaning of its own, expected single quotes or \\\\",
			"write the value in single quotes, or without quotes", show(string(x.src[slash:min(max(x.end, slash+2), len(x.src))])))
	case p == "did not find expected node content":
		if s := scan(x.src[x.start:], len(x.src)-x.start); s.gap >= 0 {
			return x.fault(span(x.start+s.gap, 1), "found `,`, expected a value before it", "take the comma away, or put text that begins with a comma into quotes")
		} else if len(s.brackets) > 0 && s.quote < 0 {
			return x.openBracket(at)
		}
		if value >= 0 && x.src[value] == ',' {
			at = value
			return quoted("`,`")
		}
		return x.fault(span(at, 1), "found %s, expected a value", "put text that begins with a bracket or comma into quotes", show(string(firstRune(x.src[at:]))))
	case value >= 0 && strings.IndexByte("|>*&!", x.src[value]) >= 0:
		// The rest are halves of blocks, aliases, anchors and tags.
		at = value
		return quoted(show(string(x.src[value : value+1])))
	}
	return x.fault(span(at, 1), "found %s, expected `key: value`", "", show(word(x.src, at)))
}

// fault makes the finding.
func (x *syntax) fault(at finding.Span, format, fix string, args ...any) finding.Finding {
	fd := unread("format/syntax", at, fmt.Sprintf(format, args...))
	fd.Fix = fix
	return fd
}

func span(at, n int) finding.Span { return finding.Span{Start: at, End: at + n} }

func firstRune(b []byte) []byte {
	_, n := utf8.DecodeRune(b)
	return b[:n]
}

// word gives the text from an offset to the next white space.
func word(b []byte, at int) string {
	end := at
	for end < len(b) && b[end] > ' ' {
		end++
	}
	return string(b[at:end])
}

// leadingTab finds a tab before the first word of the fault's line.
func (x *syntax) leadingTab() int {
	for i := x.line; i < x.stop && (x.src[i] == ' ' || x.src[i] == '\t'); i++ {
		if x.src[i] == '\t' {
			return i
		}
	}
	return -1
}

// begin is the offset of the first word of a line.
func begin(b []byte, line int) int {
	for line < len(b) && (b[line] == ' ' || b[line] == '\t') {
		line++
	}
	return line
}

// value finds where the value on the fault's line begins, after dashes and the
// key; -1 when there is none.
func (x *syntax) value() int {
	v, key := valueStart(x.src[:x.stop], x.line)
	if !key && v == begin(x.src, x.line) {
		return -1
	}
	return v
}

// valueStart skips indentation, dashes and a key; key says whether there was one.
func valueStart(b []byte, line int) (at int, key bool) {
	at = begin(b, line)
	for at+1 < len(b) && b[at] == '-' && b[at+1] == ' ' {
		at = begin(b, at+1)
	}
	if at >= len(b) {
		return -1, false
	}
	end := lineEndAt(b, at)
	i := at
	if b[at] == '"' || b[at] == '\'' {
		i = min(quotedEnd(b[:end], at), end)
	}
	for ; i < end; i++ {
		if b[i] == ':' && (i+1 >= end || b[i+1] == ' ' || b[i+1] == '\t') {
			v := begin(b, i+1)
			if v >= end {
				return -1, true
			}
			return v, true
		}
	}
	return at, false
}

// quoting suggests the fault's line with its value in quotes.
func (x *syntax) quoting() string {
	v := x.value()
	if v < 0 || v >= x.stop || strings.IndexByte("[{", x.src[v]) >= 0 {
		return "put the value into quotes"
	}
	text, _, _ := strings.Cut(string(x.src[v:x.stop]), " #")
	return x.written(inQuotes(strings.TrimSpace(text)))
}

// written suggests the fault's line with another value.
func (x *syntax) written(value string) string {
	v := x.value()
	if v < 0 {
		return ""
	}
	return "write `" + string(x.src[begin(x.src, x.line):v]) + value + "`"
}

// inQuotes quotes text the way that needs fewest changes.
func inQuotes(s string) string {
	if strings.ContainsAny(s, `"\`) {
		return "'" + strings.ReplaceAll(s, "'", "''") + "'"
	}
	return `"` + s + `"`
}

// secondColon explains ": " where no key may stand.
func (x *syntax) secondColon(at int) finding.Finding {
	for at > x.line && x.src[at] != ':' {
		at--
	}
	if v := x.value(); v >= 0 && v <= at {
		if scan(x.src[x.start:], at-x.start).brackets != nil {
			return x.fault(span(at, 1), "found `: ` inside a value, expected the value in quotes", "put the value into quotes")
		}
		return x.fault(span(at, 1), "found `: ` inside the value %s, expected the value in quotes", x.quoting(), show(strings.TrimSpace(string(x.src[v:x.stop]))))
	}
	key := begin(x.src, x.line)
	for at > key && key+1 < len(x.src) && x.src[key] == '-' && x.src[key+1] == ' ' {
		key = begin(x.src, key+1)
	}
	above, ok := x.above(x.line)
	if !ok {
		return x.fault(span(at, 1), "found `:` without a key before it, expected `key: value`", "")
	}
	if !x.keyed(above) {
		if x.goesOn(above) {
			return x.fault(span(at, 1), "found `: ` inside a value that goes on over lines, expected the value in quotes", "put the whole value into quotes")
		}
		return x.keyless(above)
	}
	fd := x.fault(span(key, at-key), "found the key %s indented deeper than the line above, whose key has its value already, expected both to begin in one column", "", show(string(x.src[key:at])))
	fd.Fix = "indent both lines alike, or put text that goes on over lines into quotes"
	b := begin(x.src, above)
	fd.Related = []finding.Related{{Span: finding.Span{Start: b, End: lineTextEnd(x.src, above)}, Message: "the line above"}}
	return fd
}

// keyed reports whether a line has a key.
func (x *syntax) keyed(line int) bool {
	_, key := valueStart(x.src[:lineEndAt(x.src, line)], line)
	return key
}

// goesOn reports whether a line without a key continues the value of a key
// further up.
func (x *syntax) goesOn(line int) bool {
	column := begin(x.src, line) - line
	for {
		above, ok := x.above(line)
		if !ok || begin(x.src, above)-above > column {
			return false
		}
		line = above
		if x.keyed(line) {
			v, _ := valueStart(x.src[:lineEndAt(x.src, line)], line)
			return v >= 0 && begin(x.src, line)-line < column
		}
	}
}

func lineTextEnd(b []byte, line int) int {
	return line + len(bytes.TrimRight(b[line:lineEndAt(b, line)], " \t\r"))
}

// above finds the last line before one that has text other than a comment.
func (x *syntax) above(line int) (int, bool) {
	for line > x.start {
		line = x.start + bytes.LastIndexByte(x.src[x.start:line-1], '\n') + 1
		if b := begin(x.src, line); b < len(x.src) && x.src[b] != '\n' && x.src[b] != '\r' && x.src[b] != '#' {
			return line, true
		}
	}
	return 0, false
}

// noColon explains a line that is no `key: value`.
func (x *syntax) noColon() finding.Finding {
	line := x.line
	if b := begin(x.src, line); b >= x.stop || x.src[b] == '#' {
		if above, ok := x.above(line); ok {
			line = above
		}
	}
	return x.keyless(line)
}

func (x *syntax) keyless(line int) finding.Finding {
	b, end := begin(x.src, line), lineTextEnd(x.src, line)
	for b+1 < end && x.src[b] == '-' && x.src[b+1] == ' ' {
		b = begin(x.src, b+1)
	}
	b = min(b, end)
	text := string(x.src[b:end])
	if i := strings.IndexByte(text, ':'); i > 0 && i+1 < len(text) {
		fd := x.fault(span(b+i, 1), "found %s, expected a space after the colon", "", show(text))
		fd.Fix = "write `" + text[:i] + ": " + strings.TrimSpace(text[i+1:]) + "`"
		return fd
	}
	if len(text) > 1 && text[0] == '-' {
		fd := x.fault(span(b, 1), "found %s, expected a space after the dash of a list item", "", show(text))
		fd.Fix = "write `- " + strings.TrimSpace(text[1:]) + "`"
		return fd
	}
	fd := x.fault(finding.Span{Start: b, End: end}, "found %s, expected `key: value`", "", show(text))
	fd.Fix = "put a colon and a space after the key; text that goes on from the line above is indented deeper"
	return fd
}

// openQuote explains a quote that is not closed before an offset.
func (x *syntax) openQuote(until int) finding.Finding {
	s := scan(x.src[x.start:], until-x.start)
	if s.quote < 0 {
		return x.fault(span(max(x.end-1, x.line), 1), "found the end of the file inside a value, expected the value to be closed", "")
	}
	q := x.start + s.quote
	return x.fault(span(q, 1), "found %s without the closing quote, expected it on the same line", "close the quote, or leave out both", show(string(x.src[q:lineTextEnd(x.src, q)])))
}

// openBracket explains a list or mapping in brackets that goes wrong. The end
// of the file is as good a fault to the parser as any, so the place is found by
// the brackets themselves.
func (x *syntax) openBracket(at int) finding.Finding {
	closing := x.problem[len(x.problem)-2 : len(x.problem)-1]
	s := scan(x.src[x.start:], len(x.src)-x.start)
	if s.gap >= 0 {
		s = scan(x.src[x.start:], s.gap)
	}
	if s.colon >= 0 {
		if open, ok := x.neverClosed(s.colon); ok {
			return x.fault(span(open, 1), "found %s without its closing bracket, expected `%s`",
				"close the bracket on the line that opens it", show(string(x.src[open:lineTextEnd(x.src, open)])), shutting(x.src[open]))
		}
		return x.fault(span(x.start+s.colon, 1), "found `: ` inside a value, expected the value in quotes or a comma before the next key", "put the value into quotes")
	}
	wrong := s.mismatch
	if wrong < 0 {
		wrong = s.junk
	}
	if len(s.brackets) == 0 && wrong < 0 {
		return x.fault(span(at, 1), "found %s, expected `,` or `%s`", "", show(word(x.src, at)), closing)
	}
	if wrong >= 0 {
		open := x.start + s.brackets[len(s.brackets)-1]
		at = x.start + wrong
		closing = map[byte]string{'[': "]", '{': "}"}[x.src[open]]
		text := word(x.src, at)
		if s.mismatch >= 0 {
			text = string(x.src[at : at+1])
		} else if i := strings.IndexAny(text, ",]}"); i > 0 {
			text = text[:i]
		}
		fd := x.fault(span(at, len(text)), "found %s, expected `,` or `%s`", "", show(text), closing)
		fd.Related = []finding.Related{{Span: span(open, 1), Message: "the bracket is opened here"}}
		return fd
	}
	open := x.start + s.brackets[len(s.brackets)-1]
	closing = map[byte]string{'[': "]", '{': "}"}[x.src[open]]
	return x.fault(span(open, 1), "found %s without its closing bracket, expected `%s`",
		"close the bracket on the line that opens it", show(string(x.src[open:lineTextEnd(x.src, open)])), closing)
}

// shutting is the bracket that closes one.
func shutting(open byte) string { return map[byte]string{'[': "]", '{': "}"}[open] }

// neverClosed finds the bracket that a key on a later line, whose colon is given,
// shows to be open: the key stands first on its line, and nothing closes the
// bracket down to the end.
func (x *syntax) neverClosed(colon int) (open int, ok bool) {
	inner := scan(x.src[x.start:], colon)
	if len(inner.brackets) == 0 {
		return 0, false
	}
	last := inner.brackets[len(inner.brackets)-1]
	between := x.src[x.start+last : x.start+colon]
	nl := bytes.LastIndexByte(between, '\n')
	if nl < 0 || bytes.ContainsAny(between[nl:], ",[]{}:\"'") {
		return 0, false
	}
	depth, quote := 0, byte(0)
	for i := x.start + last; i < len(x.src); i++ {
		switch c := x.src[i]; {
		case c == '\n':
			quote = 0
		case quote != 0:
			if c == quote {
				quote = 0
			}
		case c == '"':
			quote = c
		case c == '[' || c == '{':
			depth++
		case c == ']' || c == '}':
			if depth--; depth == 0 {
				return 0, false
			}
		}
	}
	return x.start + last, true
}

// dash finds the dash before an offset on the fault's line.
func (x *syntax) dash(at int) int {
	for i := min(at, x.stop-1); i >= x.line; i-- {
		if x.src[i] == '-' && (i+1 >= x.stop || x.src[i+1] == ' ') {
			return i
		}
	}
	return at
}

// misplaced explains a word where the block goes no further: text after a
// closing quote, or a line whose indentation fits nothing above.
func (x *syntax) misplaced(at int) finding.Finding {
	b := begin(x.src, x.line)
	s := scan(x.src[x.start:], at-x.start)
	if at > b && s.quoteEnd > 0 && len(bytes.TrimSpace(x.src[x.start+s.quoteEnd:at])) == 0 {
		open, shut := x.start+s.quoteStart, x.start+s.quoteEnd-1
		if open < x.line {
			fd := x.fault(span(open, 1), "found %s without a closing quote on its line, expected one", "close the quote, or leave out both", show(string(x.src[open:lineTextEnd(x.src, open)])))
			fd.Related = []finding.Related{{Span: span(shut, 1), Message: "this quote closes it"}}
			return fd
		}
		fd := x.fault(finding.Span{Start: at, End: max(at+1, x.stop)}, "found %s after the closing quote, expected the end of the value", x.quoting(), show(string(x.src[at:max(at, x.stop)])))
		return fd
	}
	if c := x.src[min(at, len(x.src)-1)]; at > b && (c == ']' || c == '}') {
		return x.fault(span(at, 1), "found %s without its opening bracket, expected the end of the value", "", show(string(c)))
	}
	if at > b && x.src[b] != '-' && x.src[at] != ':' {
		return x.fault(span(at, 1), "found %s, expected the end of the line", "", show(word(x.src, at)))
	}
	text := word(x.src, b)
	if _, keyed := valueStart(x.src[:x.stop], x.line); keyed && text != "-" {
		text = string(x.src[b:x.stop])
		if i := strings.Index(text+" ", ": "); i >= 0 {
			text = text[:i]
		}
	}
	column := b - x.line
	levels := x.levels()
	where := span(b, max(1, len(text)))
	if text == ":" || text == "" {
		return x.fault(where, "found `:` without a key before it, expected `key: value`", "")
	}
	if slices.Contains(levels, column) {
		switch {
		case text == "-" && x.problem == "did not find expected key":
			return x.fault(where, "found a list item among keys, expected `key: value` in this column", "indent the list deeper than the key it belongs to, or take away the dash")
		case text != "-":
			return x.fault(where, "found %s among list items, expected a dash before it or another indentation", "", show(text))
		}
	}
	fits := slices.DeleteFunc(levels, func(l int) bool { return l == column })
	var below, beyond []int
	for _, l := range fits {
		if l < column {
			below = append(below, l)
		} else {
			beyond = append(beyond, l)
		}
	}
	var expected []string
	if len(below) > 0 {
		expected = append(expected, strconv.Itoa(slices.Max(below)))
	}
	if len(beyond) > 0 {
		expected = append(expected, strconv.Itoa(slices.Min(beyond)))
	}
	if len(expected) == 0 {
		expected = []string{"another number"}
	}
	return x.fault(where, "found %s indented by %s, which fits no line above, expected %s", "",
		show(text), count(column, "space"), strings.Join(expected, " or "))
}

// levels lists the columns at which blocks are open above the fault's line.
func (x *syntax) levels() []int {
	var open []int
	for line := x.start; line < x.line; line = lineEndAt(x.src, line) + 1 {
		b, end := begin(x.src, line), lineEndAt(x.src, line)
		if b >= end || x.src[b] == '#' || x.src[b] == '\r' {
			continue
		}
		column := b - line
		for len(open) > 0 && open[len(open)-1] > column {
			open = open[:len(open)-1]
		}
		for {
			if len(open) == 0 || open[len(open)-1] < b-line {
				open = append(open, b-line)
			}
			if b+1 >= end || x.src[b] != '-' || x.src[b+1] != ' ' {
				break
			}
			b = begin(x.src, b+1)
		}
	}
	return open
}

// state is what a scan knows at its end; offsets are -1 when there is none.
type state struct {
	quote      int   // an open quote
	mismatch   int   // a closing bracket of the wrong kind; the scan ends there
	junk       int   // the first text after a value inside brackets; likewise
	colon      int   // a second ": " before a comma inside brackets; likewise
	gap        int   // a comma without a value before it inside brackets; likewise
	quoteStart int   // the last closed quotes
	quoteEnd   int   // past them; 0 when there were none
	brackets   []int // open brackets
	fresh      bool  // a value may begin here
	skipped    bool  // inside a comment or block
}

// scan reads b up to an offset for quotes and brackets, roughly as YAML does.
func scan(b []byte, until int) state {
	s := state{quote: -1, mismatch: -1, junk: -1, colon: -1, gap: -1}
	after := false // a value inside brackets is complete
	keyed := false // a colon was met since the last bracket or comma
	until = min(until, len(b))
	line := 0
	s.fresh = true
	for i := 0; i < until; {
		c := b[i]
		switch {
		case c == '\n':
			i++
			line, s.fresh = i, true
		case c == ' ' || c == '\t' || c == '\r':
			i++
		case c == '#' && (i == 0 || b[i-1] <= ' '):
			i = lineEndAt(b, i)
			if i >= until {
				s.skipped = true
			}
		case after && len(s.brackets) > 0 && strings.IndexByte(",:]}", c) < 0:
			s.junk = i
			return s
		case s.fresh && (c == '"' || c == '\''):
			end := quotedEnd(b, i)
			if end > until || end == len(b) && (b[end-1] != c || end == i+1) {
				s.quote = i
				return s
			}
			s.quoteStart, s.quoteEnd = i, end
			i, s.fresh, after = end, false, true
		case (s.fresh || len(s.brackets) > 0) && (c == '[' || c == '{'):
			s.brackets = append(s.brackets, i)
			s.fresh, after, keyed = true, false, false
			i++
		case len(s.brackets) > 0 && (c == ']' || c == '}'):
			if (c == ']') != (b[s.brackets[len(s.brackets)-1]] == '[') {
				s.mismatch = i
				return s
			}
			s.brackets = s.brackets[:len(s.brackets)-1]
			s.fresh, after, keyed = false, true, false
			i++
		case len(s.brackets) > 0 && c == ',':
			if s.fresh && !keyed {
				s.gap = i
				return s
			}
			s.fresh, after, keyed = true, false, false
			i++
		case c == ':' && (i+1 >= len(b) || b[i+1] <= ' ' || len(s.brackets) > 0 && i > 0 && b[i-1] == '"'):
			if keyed && len(s.brackets) > 0 {
				s.colon = i
				return s
			}
			s.fresh, after, keyed = true, false, true
			i++
		case s.fresh && (c == '-' || c == '?') && (i+1 >= len(b) || b[i+1] <= ' '):
			i++
		case s.fresh && (c == '|' || c == '>') && len(s.brackets) == 0:
			margin := begin(b, line) - line
			i = min(lineEndAt(b, i)+1, len(b))
			for i < len(b) {
				end := lineEndAt(b, i)
				t := begin(b, i)
				if t < end && b[t] != '\r' && t-i <= margin {
					break
				}
				i = min(end+1, len(b))
			}
			if i > until {
				s.skipped = true
			}
			line, s.fresh = i, true
		default:
			s.fresh = false
			i++
		}
	}
	return s
}
