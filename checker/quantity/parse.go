package quantity

import (
	"fmt"
	"math"
	"strings"
	"unicode"
	"unicode/utf8"
)

// longestText bounds what is read, and with it the time.
const longestText = 1000

// parser reads one text. It holds no copy of it: what it returns are parts of
// the text or of the tables.
type parser struct {
	s    string
	i    int
	want mask // dimensions the caller takes; empty means any
	many bool // several expressions stand in the text, so commas and brackets part them
	sol  bool // a solution's strength: "in" and what follows is left to the caller

	unitAt int       // where the last unit began
	seen   Dimension // what the last unit measures, for the example of an error
}

// Parse reads one quantity of any dimension. The error is an *Error.
func Parse(s string) (Quantity, error) { return ParseAs(s) }

// ParseAs reads one quantity of one of the dimensions, or of any if none is
// given. What has two readings ("15 mm", "5 K") is read as the dimension asked
// for. A word without a figure ("excess") is taken only where Word is among
// the dimensions. The error is an *Error.
func ParseAs(s string, dims ...Dimension) (Quantity, error) {
	p := parser{s: s, want: maskOf(dims...)}
	q, err := p.only()
	if err != nil {
		return Quantity{}, err
	}
	return q, nil
}

// only reads one quantity that takes up the whole text.
func (p *parser) only() (Quantity, *Error) {
	want := p.want
	if err := p.begin(); err != nil {
		return Quantity{}, err
	}
	start := p.i
	q, err := p.quantity()
	if err != nil {
		return Quantity{}, err
	}
	p.space()
	if p.i < len(p.s) {
		return Quantity{}, p.unexpected(&q)
	}
	q.Raw = p.s
	if want != 0 && !want.has(q.Dim) {
		return Quantity{}, p.otherDimension(start, want, &q)
	}
	return q, nil
}

// begin refuses what cannot be a quantity at all.
func (p *parser) begin() *Error {
	if len(p.s) > longestText {
		return p.fail(longestText, fmt.Sprintf("a quantity of at most %d bytes", longestText))
	}
	p.space()
	if p.i == len(p.s) {
		return p.fail(p.i, p.expectation("a quantity"))
	}
	rest := p.s[p.i:]
	switch strings.ToLower(strings.TrimSpace(rest)) {
	case "yes", "no", "true", "false", "on", "off", "null", "nil", "~":
		return p.fail(p.i, p.expectation("a quantity, not a yes or a no"))
	}
	return nil
}

// expectation names the wanted dimensions, or the fallback if any will do.
func (p *parser) expectation(fallback string) string {
	if p.want == 0 {
		return fallback
	}
	var list []string
	for d := Dimension(1); d < dimensions; d++ {
		if p.want.has(d) {
			list = append(list, d.String())
		}
	}
	return strings.Join(list, " or ")
}

// example returns a text of the wanted dimension that can be read.
func (p *parser) example() string {
	for d := Dimension(1); d < dimensions; d++ {
		if p.want.has(d) {
			return kinds[d].example
		}
	}
	return kinds[p.seen].example
}

// fail returns an error at byte at.
func (p *parser) fail(at int, expected string) *Error {
	at = min(at, len(p.s))
	e := &Error{At: at, Found: foundAt(p.s, at), Expected: expected, Example: p.example()}
	if e.Found == "" {
		e.After = strings.TrimSpace(p.s[:at])
	}
	return e
}

// foundAt returns the word at byte at, cut at 24 bytes.
func foundAt(s string, at int) string {
	end := at
	for end < len(s) && end < at+24 {
		_, n := utf8.DecodeRuneInString(s[end:])
		if end > at && (s[end] == ' ' || s[end] == '\n' || s[end] == '\t') {
			break
		}
		end += n
	}
	return strings.TrimRight(s[at:end], " \t\n")
}

func (p *parser) unexpected(q *Quantity) *Error {
	p.seen = q.Dim
	if k := digits(p.rest()); k > 0 && q.Dim == Count && q.Unit == "" {
		p.seen = None
		return p.fail(p.i, "one figure with its unit (thousands are written 1000 or 1,000)")
	}
	if n := matchWords(p.rest(), "in"); n > 0 && (q.Dim == Mass || q.Dim == Volume || q.Dim == Amount) {
		return p.fail(p.i, "the end of "+q.Dim.String()+" (what it is dissolved in belongs under solution)")
	}
	return p.fail(p.i, "the end of "+q.Dim.String())
}

func (p *parser) otherDimension(start int, want mask, q *Quantity) *Error {
	p.want = want
	at := start
	if p.unitAt > start {
		at = p.unitAt
	}
	e := p.fail(at, p.expectation("a quantity")+", not "+q.Dim.String())
	if q.Dim == Count && q.Unit == "" {
		e.Expected = p.expectation("a quantity") + " with its unit"
	}
	if q.Dim == Word {
		e.Found = q.Word
		e.Expected = p.expectation("a quantity")
	}
	return e
}

func (p *parser) space() { p.i = skipSpaces(p.s, p.i) }

// rest is the text not yet read.
func (p *parser) rest() string { return p.s[p.i:] }

// phrase returns the longest row of words that stands here and its bytes.
func (p *parser) phrase() (*word, int) {
	s := p.rest()
	if s == "" || !isLetter(s[0]) {
		return nil, 0
	}
	var best *word
	length := 0
	for _, i := range wordsBy[(s[0]|0x20)-'a'] {
		if n := matchWords(s, words[i].text); n > length {
			best, length = &words[i], n
		}
	}
	return best, length
}

// matchWords returns the bytes of s that read as text, in any case, with any
// run of spaces or one hyphen for each space; 0 if s does not begin with it.
func matchWords(s, text string) int {
	i := 0
	for k := 0; k < len(text); k++ {
		c := text[k]
		if c == ' ' {
			j := skipSpaces(s, i)
			if j == i {
				if i < len(s) && s[i] == '-' {
					j = i + 1
				} else {
					return 0
				}
			}
			i = j
			continue
		}
		if i >= len(s) {
			return 0
		}
		d := s[i]
		if d >= 'A' && d <= 'Z' {
			d |= 0x20
		}
		if d != c {
			return 0
		}
		i++
	}
	if isLetter(text[len(text)-1]) && i < len(s) && (isLetter(s[i]) || isDigit(s[i]) || s[i] == '\'' || s[i] >= utf8.RuneSelf && isWordRune(s[i:])) {
		return 0
	}
	return i
}

func isWordRune(s string) bool {
	r, _ := utf8.DecodeRuneInString(s)
	return r != utf8.RuneError && unicode.IsLetter(r)
}

// bound gathers what the words and signs around a figure say of it.
type bound struct {
	about, floor, ceiling bool
	from, between         bool
	at                    int // where the floor or the ceiling was written
}

// symbol reads ~ ≈ < > ≤ ≥ and the like; false if none stands here.
func (p *parser) symbol(b *bound) bool {
	s := p.rest()
	if s == "" || isDigit(s[0]) || isLetter(s[0]) {
		return false
	}
	switch {
	case strings.HasPrefix(s, "<="), strings.HasPrefix(s, ">="):
		b.at = p.i
		if s[0] == '<' {
			b.ceiling = true
		} else {
			b.floor = true
		}
		p.i += 2
		return true
	}
	r, n := utf8.DecodeRuneInString(s)
	switch r {
	case '~', '≈', '∼', '≅', '≃':
		b.about = true
	case '<', '≤', '⩽', '≦':
		b.ceiling, b.at = true, p.i
	case '>', '≥', '⩾', '≧':
		b.floor, b.at = true, p.i
	default:
		return false
	}
	p.i += n
	return true
}

// leads reads all that may stand before a figure.
func (p *parser) leads(b *bound) {
	for {
		p.space()
		if p.symbol(b) {
			continue
		}
		w, n := p.phrase()
		if w == nil {
			return
		}
		switch w.kind {
		case wordAbout:
			b.about = true
		case wordFloor:
			b.floor, b.at = true, p.i
		case wordCeiling:
			b.ceiling, b.at = true, p.i
		case wordFrom:
			b.from, b.at = true, p.i
		case wordBetween:
			b.between, b.at = true, p.i
		case wordFiller:
		default:
			return
		}
		p.i += n
	}
}

// quantity reads one expression. It stops at what it does not know, which is
// for the caller to judge.
func (p *parser) quantity() (Quantity, *Error) {
	q := Quantity{Times: 1}
	var b bound
	p.leads(&b)
	if s := p.rest(); strings.HasPrefix(s, "Δ") || strings.HasPrefix(s, "∆") {
		_, n := utf8.DecodeRuneInString(s)
		p.i += n
		p.space()
		p.want = maskOf(TemperatureRange)
	}
	start := p.i
	p.unitAt = start
	// A phrase that is not a number stands for the whole figure.
	if w, n := p.phrase(); w != nil {
		switch w.kind {
		case wordFigure, wordAlone, wordManner:
			p.i += n
			q.Word = w.canon
			q.Dim = Word
			if w.kind == wordFigure {
				q.Dim, q.Low, q.High, q.Assumed = w.dim, w.low, w.high, w.assumed
			}
			if w.kind == wordAlone && (w.text == "rest" || w.canon == "rest") {
				p.share(&q)
			}
			return q, p.finish(&q, &b, start)
		case wordShare:
			mark := p.i
			p.i += n
			if m, ok := p.unitAfterShare(); ok {
				q.Dim, q.Unit, q.Basis = m.dim, m.sym, m.basis
				q.Low = m.toBase(w.low)
				q.High = q.Low
				return q, p.finish(&q, &b, mark)
			}
			q.Dim, q.Low, q.High, q.Word = Fraction, w.low, w.high, w.canon
			p.share(&q)
			return q, p.finish(&q, &b, start)
		case wordTimes:
			at := p.i
			p.i += n
			mark := p.i
			p.space()
			if n := matchWords(p.rest(), "with"); n > 0 {
				p.i += n
			}
			p.leads(&b)
			if !startsFigure(p.rest()) {
				p.i = mark
				q.Dim, q.Low, q.High, q.Unit = Count, w.low, w.low, "time"
				return q, p.finish(&q, &b, start)
			}
			if err := p.body(&q, &b); err != nil {
				return q, err
			}
			if q.Times > 1 || q.Dim == Count {
				return q, p.fail(at, "the number of portions once, as in 2 x 20 mL")
			}
			if err := p.repeat(&q, &number{v: w.low, at: at}); err != nil {
				return q, err
			}
			return q, p.finish(&q, &b, start)
		}
	}
	if matchWords(p.rest(), "every") > 0 {
		m, ok, err := p.over(measure{dim: Count, factor: 1}, true)
		if err != nil {
			return q, err
		}
		if ok {
			one := number{v: 1, at: start}
			if err := p.set(&q, &one, &one, &m, &m, false, false, false); err != nil {
				return q, err
			}
			return q, p.finish(&q, &b, start)
		}
	}
	if err := p.body(&q, &b); err != nil {
		return q, err
	}
	return q, p.finish(&q, &b, start)
}

// unitAfterShare reads the unit of "half an hour", "quarter of an hour".
func (p *parser) unitAfterShare() (measure, bool) {
	mark := p.i
	p.space()
	for _, joint := range [...]string{"of an", "of a", "an", "a"} {
		if n := matchWords(p.rest(), joint); n > 0 {
			p.i += n
			p.space()
			break
		}
	}
	at := p.i
	m, ok, err := p.unit()
	if !ok || err != nil || m.dim == Fraction || m.dim == Temperature || m.pre != 0 {
		p.i = mark
		return m, false
	}
	p.unitAt = at
	return m, true
}

// share reads what a part is a part of where "of" is left out: "half the
// solution", "remaining solution".
func (p *parser) share(q *Quantity) {
	mark := p.i
	p.space()
	if p.i == mark && p.i < len(p.s) {
		return
	}
	if n := matchWords(p.rest(), "of"); n > 0 {
		p.i = mark
		return
	}
	n := matchWords(p.rest(), "the")
	if n == 0 && q.Word != "rest" {
		p.i = mark
		return
	}
	if n == 0 && (p.i >= len(p.s) || !isLetter(p.s[p.i])) {
		p.i = mark
		return
	}
	if w, _ := p.phrase(); w != nil && w.kind == wordManner {
		p.i = mark
		return
	}
	p.of(q)
}

// of reads the name after "of", to the end of the expression.
func (p *parser) of(q *Quantity) {
	s := p.rest()
	if p.many {
		if k := strings.IndexAny(s, ",;()="); k >= 0 {
			s = s[:k]
		}
	}
	end := p.i + len(s)
	name := strings.TrimSpace(s)
	for {
		n := matchWords(name, "the")
		if n == 0 {
			break
		}
		name = strings.TrimSpace(name[n:])
	}
	if name == "" || !utf8.ValidString(name) || strings.ContainsFunc(name, func(r rune) bool { return !unicode.IsPrint(r) }) {
		return
	}
	if w := lookupWord(q.Word); w != nil && w.kind == wordShare {
		// "quarter about of an hour" would print as a time.
		again := parser{s: "of " + name}
		if _, ok := again.unitAfterShare(); ok {
			return
		}
	}
	q.Of = name
	p.i = end
}

// body reads the figures and their unit: one, a range, or portions.
func (p *parser) body(q *Quantity, b *bound) *Error {
	at := p.i
	n1, ok, err := p.number(b)
	if err != nil {
		return err
	}
	if !ok {
		return p.notFigure()
	}
	// 20:1, a ratio.
	if ok, err := p.ratio(q, &n1); ok || err != nil {
		return err
	}
	if n1.whole || n1.word != nil && n1.word.kind == wordVague {
		done, err := p.portions(q, b, &n1)
		if done || err != nil {
			return err
		}
	}
	if err := p.span(q, b, n1); err != nil {
		return err
	}
	// "20 mL x 3", the count last.
	mark := p.i
	if p.timesSign() {
		p.space()
		n, ok, err := p.figure()
		if err != nil {
			return err
		}
		if ok && n.whole && q.Dim != Count {
			return p.repeat(q, &n)
		}
		p.i = mark
	}
	if p.portionNoun() {
		return p.fail(at, "the number of portions before their size, as in 3 x 20 mL")
	}
	return nil
}

// repeat sets the number of portions.
func (p *parser) repeat(q *Quantity, n *number) *Error {
	if canBeNegative(q.Dim) || q.Unit == ratioUnit {
		return p.fail(n.at, "one figure, since "+q.Dim.String()+" has no portions")
	}
	if lookupWord(q.Word).standsForFigure() {
		return p.fail(n.at, "a figure for the size of a portion, as in 3 x 20 mL")
	}
	q.Times = int(n.v)
	if n.word != nil && n.word.kind == wordVague {
		if n.word.canon != "several" {
			return p.fail(n.at, "a number of portions, as in 3 x 20 mL")
		}
		q.Times, q.Word, q.Assumed = severalPortions, n.word.canon, n.word.assumed
	}
	return nil
}

// portions reads "3 x 20 mL", "three 100 mL portions", "4 portions of 25 mL".
// It leaves the text where it was if none of them stands here.
func (p *parser) portions(q *Quantity, b *bound, n1 *number) (bool, *Error) {
	mark := p.i
	switch {
	case p.timesSign():
		p.leads(b)
	case p.portionNoun():
		p.space()
		n := matchWords(p.rest(), "of")
		if n == 0 {
			p.i = mark
			return false, nil
		}
		p.i += n
		p.leads(b)
	default:
		// Two figures in a row: the second is the size of a portion.
		p.space()
		if p.i == mark {
			return false, nil
		}
		n2, ok, err := p.figure()
		if err != nil || !ok || n2.signed {
			p.i = mark
			return false, nil
		}
		if err := p.span(q, b, n2); err != nil {
			return true, err
		}
		if !p.portionNoun() {
			return true, p.fail(n2.at, "one figure with its unit, or portions as in 3 x 20 mL")
		}
		return true, p.repeat(q, n1)
	}
	n2, ok, err := p.number(b)
	if err != nil {
		return true, err
	}
	if !ok || n2.word != nil && n2.word.kind == wordVague {
		return true, p.fail(p.i, "the size of one portion, as in 3 x 20 mL")
	}
	if err := p.span(q, b, n2); err != nil {
		return true, err
	}
	return true, p.repeat(q, n1)
}

// timesSign reads x, ×, * or "times" between a count and a portion.
func (p *parser) timesSign() bool {
	mark := p.i
	p.space()
	s := p.rest()
	r, n := utf8.DecodeRuneInString(s)
	switch r {
	case '×', '*', '✕':
		p.i += n
		return true
	case 'x', 'X':
		after := skipSpaces(s, n)
		if after < len(s) && (isDigit(s[after]) || after > n && startsFigure(s[after:])) {
			p.i += n
			return true
		}
	case 't', 'T':
		// "3 times 20 mL", not "3 times".
		if k := matchWords(s, "times"); k > 0 {
			if after := skipSpaces(s, k); after < len(s) && isDigit(s[after]) {
				p.i += k
				return true
			}
		}
	}
	p.i = mark
	return false
}

// startsFigure reports whether a figure, or a word before one, may begin s.
func startsFigure(s string) bool {
	if n := digits(s); n > 0 {
		return true
	}
	q := parser{s: s}
	var b bound
	q.leads(&b)
	_, ok, err := q.number(&b)
	return ok || err != nil
}

// portionNoun reads "portions" and its like.
func (p *parser) portionNoun() bool {
	mark := p.i
	p.space()
	for _, noun := range [...]string{"portions", "portion", "aliquots", "aliquot", "batches", "batch", "lots", "lot"} {
		if n := matchWords(p.rest(), noun); n > 0 {
			p.i += n
			return true
		}
	}
	p.i = mark
	return false
}

// number reads one figure in digits or a number in words.
func (p *parser) number(b *bound) (number, bool, *Error) {
	n, ok, err := p.figure()
	if ok || err != nil {
		return n, ok, err
	}
	w, k := p.phrase()
	if w == nil {
		return n, false, nil
	}
	switch w.kind {
	case wordCouple:
		b.about = true
	case wordNumber, wordVague:
	case wordShare:
	default:
		return n, false, nil
	}
	n = number{v: w.low, at: p.i, end: p.i + k, word: w, whole: w.kind == wordNumber, part: w.kind == wordShare}
	p.i += k
	mark := p.i
	p.space()
	if k := matchWords(p.rest(), "and a half"); k > 0 && w.kind == wordNumber {
		p.i += k
		n.v, n.end, n.whole = n.v+0.5, p.i, false
	} else {
		p.i = mark
	}
	return n, true, nil
}

// notFigure is the error where a figure should begin.
func (p *parser) notFigure() *Error {
	if row, _, _ := rowAt(p.rest()); row != nil {
		p.seen = row.dim
		return p.fail(p.i, "a figure before the unit")
	}
	e := p.fail(p.i, p.expectation("a quantity"))
	if word := nearWord(strings.TrimSpace(p.rest())); word != "" {
		e.Expected += ", perhaps " + word
	}
	return e
}

// ratio reads the rest of "20:1".
func (p *parser) ratio(q *Quantity, n1 *number) (bool, *Error) {
	i := skipSpaces(p.s, p.i)
	if n1.word != nil || n1.part || n1.signed || i >= len(p.s) || p.s[i] != ':' {
		return false, nil
	}
	p.i = skipSpaces(p.s, i+1)
	n2, ok, err := p.figure()
	if err != nil {
		return true, err
	}
	if !ok || n2.v <= 0 || n2.part || n2.signed {
		return true, p.fail(i, "a ratio of two figures, as in 20:1")
	}
	if p.i < len(p.s) && p.s[p.i] == ':' {
		return true, p.fail(p.i, "a ratio of two figures, as in 20:1")
	}
	q.Dim, q.Unit = Fraction, ratioUnit
	q.Low = n1.v / n2.v
	if q.Low != 0 && !(q.Low >= tiniest && q.Low <= hugest) {
		return true, p.fail(n1.at, "a ratio of two figures, as in 20:1")
	}
	q.High = q.Low
	p.unitAt = n1.at
	return true, nil
}

const ratioUnit = "ratio"

// dash reads what parts the ends of a range. leaning reports a dash with a
// space before it and none after, doubled two dashes.
func (p *parser) dash(b *bound) (ok, leaning, doubled bool) {
	mark := p.i
	p.space()
	spaced := p.i > mark
	s := p.rest()
	if s == "" {
		p.i = mark
		return false, false, false
	}
	if isLetter(s[0]) {
		for _, joint := range [...]string{"to", "and", "or"} {
			if joint == "and" && !b.between {
				continue
			}
			if n := matchWords(s, joint); n > 0 {
				p.i += n
				p.space()
				return true, false, false
			}
		}
		p.i = mark
		return false, false, false
	}
	r, n := utf8.DecodeRuneInString(s)
	switch r {
	case '-', '–', '—', '−', '‐', '‑', '―':
		p.i += n
	case '.', '…':
		if r == '.' && !strings.HasPrefix(s, "..") {
			p.i = mark
			return false, false, false
		}
		for p.i < len(p.s) && p.s[p.i] == '.' {
			p.i++
		}
		if r == '…' {
			p.i += n
		}
	default:
		p.i = mark
		return false, false, false
	}
	after := p.i
	p.space()
	leaning = spaced && p.i == after
	doubled = p.i == after && r == '-' && p.i < len(p.s) && p.s[p.i] == '-'
	return true, leaning, doubled
}

// span reads, after its first figure, a single figure or a range, with the
// unit, and fills in q.
func (p *parser) span(q *Quantity, b *bound, n1 number) *Error {
	p.unitAt = n1.at
	if p.i < len(p.s) && p.s[p.i] == '+' {
		// "99+ %"
		b.floor, b.at = true, p.i
		p.i++
	}
	n2 := n1
	ranged, leaning, doubled, plusMinus := false, false, false, false
	var m1, m2 measure
	have1, have2 := false, false
	second := func() (bool, *Error) {
		mark := p.i
		p.space()
		if n := p.plusMinus(); n > 0 {
			p.i += n
			p.space()
			n, ok, err := p.figure()
			if err != nil {
				return true, err
			}
			if !ok || n.signed {
				return true, p.fail(p.i, "the figure after ±")
			}
			n2, plusMinus = n, true
			return true, nil
		}
		p.i = mark
		ok := false
		ok, leaning, doubled = p.dash(b)
		if !ok {
			return false, nil
		}
		at := p.i
		n, ok, err := p.number(b)
		if err != nil {
			return true, err
		}
		if !ok || n.word != nil && n.word.kind == wordVague {
			if b.between {
				return true, p.fail(at, "the upper end of the range")
			}
			p.i = mark
			return false, nil
		}
		n2, ranged = n, true
		return true, nil
	}
	got, err := second()
	if err != nil {
		return err
	}
	before := p.i
	p.space()
	p.unitAt = p.i
	mark := p.i
	if !got {
		m1, have1, err = p.unit()
		if err != nil {
			return err
		}
		if have1 {
			after := p.i
			got, err = second()
			if err != nil {
				return err
			}
			if got {
				p.space()
				at := p.i
				m2, have2, err = p.unit()
				if err != nil {
					return err
				}
				if !have2 && plusMinus {
					m2, have2 = m1, true
				}
				if !have2 {
					return p.fail(at, "the unit of the upper end, as at the lower")
				}
				if m1.dim != m2.dim {
					return p.fail(at, "one dimension at both ends of the range")
				}
				p.unitAt = at
			} else {
				p.i = after
				m2, have2 = m1, true
				if m1.dim == Time {
					return p.clock(q, b, n1, m1)
				}
			}
		}
	} else {
		m2, have2, err = p.unit()
		if err != nil {
			return err
		}
		m1 = m2
	}
	if b.between && !ranged {
		return p.fail(p.i, "the upper end of the range, as in between 30 and 35 °C")
	}
	if !have2 {
		p.i = mark
		if err := p.noUnit(q, b, &n1, &n2, ranged, plusMinus); err != nil {
			return err
		}
		p.i = before
		m2 = measure{dim: Count, factor: 1}
		m1 = m2
		if q.Dim == Fraction { // 1/2 alone
			m2 = measure{sym: "%", dim: Fraction, factor: 1e-2, div: 100}
			m1 = m2
			n1.v, n2.v = n1.v*100, n2.v*100
		}
	}
	if doubled && m2.dim != Temperature && n2.v < 0 {
		n2.v = -n2.v
	}
	if leaning && m2.dim == Temperature && ranged {
		return p.fail(n2.at, "a range with \"to\", as in 0 to 5 °C")
	}
	return p.set(q, &n1, &n2, &m1, &m2, ranged, plusMinus, doubled)
}

// set puts the figures into q in the base unit.
func (p *parser) set(q *Quantity, n1, n2 *number, m1, m2 *measure, ranged, plusMinus, doubled bool) *Error {
	q.Dim, q.Unit, q.Basis, q.Of = m2.dim, m2.sym, m2.basis, m2.of
	p.seen = q.Dim
	if m2.pre != 0 {
		n1.v, n2.v = tidy(n1.v*m2.pre), tidy(n2.v*m2.pre)
		if *m1 == *m2 {
			m1.pre = 0
		}
		m2.pre = 0
	}
	if m1.pre != 0 {
		return p.fail(n1.at, "the same unit at both ends of the range")
	}
	low, high := n1.v, n2.v
	switch {
	case plusMinus:
		d := n2.v
		if *m1 != *m2 {
			if m2.dim == Temperature {
				d *= m2.factor / m1.factor
			} else {
				d = m1.fromBase(m2.toBase(n2.v))
			}
			*m2 = *m1
			q.Unit = m1.sym
		}
		low, high = tidy(n1.v-d), tidy(n1.v+d)
	case !ranged:
		high = low
		if n1.word != nil && n1.word.kind == wordVague {
			low, high = n1.word.low, n1.word.high
			q.Word, q.Assumed = n1.word.canon, n1.word.assumed
		}
	case *m1 != *m2:
		low = tidy(m2.fromBase(m1.toBase(low)))
	}
	q.Low, q.High = m2.toBase(low), m2.toBase(high)
	if q.Low > q.High {
		if m2.dim != Temperature || doubled {
			return p.fail(n2.at, "the larger figure after the smaller in a range")
		}
		q.Low, q.High = q.High, q.Low
	}
	for _, v := range [...]float64{q.Low, q.High} {
		if a := math.Abs(v); a != 0 && !(a >= tiniest && a <= hugest) {
			return p.fail(n1.at, "a figure that can be measured")
		}
	}
	if q.Low < 0 && !canBeNegative(q.Dim) {
		return p.fail(n1.at, q.Dim.String()+" of nought or more")
	}
	if q.Dim == Temperature && q.Low < -273.15 {
		return p.fail(n1.at, "a temperature above absolute zero, −273.15 °C")
	}
	return nil
}

// tidy drops the noise of one binary operation on decimal figures.
func tidy(v float64) float64 {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return v
	}
	scale := math.Pow(10, float64(13-int(math.Floor(math.Log10(math.Abs(v))))))
	if math.IsInf(scale, 0) || scale == 0 {
		return v
	}
	if r := math.Round(v*scale) / scale; !math.IsNaN(r) && !math.IsInf(r, 0) {
		return r
	}
	return v
}

// clock reads on after a time: "1 h 30 min", "an hour and a half".
func (p *parser) clock(q *Quantity, b *bound, n1 number, m measure) *Error {
	mark := p.i
	v := n1.v
	p.space()
	and := matchWords(p.rest(), "and")
	if and > 0 {
		p.i += and
		p.space()
		if k := matchWords(p.rest(), "a half"); k > 0 && m.dim == Time {
			p.i += k
			n1.v += 0.5
			return p.set(q, &n1, &n1, &m, &m, false, false, false)
		}
	}
	unitAt := p.unitAt
	n, ok, err := p.figure()
	if err == nil && ok && !n.signed && n1.word == nil {
		p.space()
		m2, ok, err := p.unit()
		if err == nil && ok && m2.dim == Time && m2.factor < m.factor && m2.toBase(n.v) < m.toBase(1) {
			n1.v = tidy(m.toBase(v) + m2.toBase(n.v))
			base := measure{sym: "min", dim: Time, factor: 1}
			p.unitAt = unitAt
			return p.set(q, &n1, &n1, &base, &base, false, false, false)
		}
	}
	p.i = mark
	p.unitAt = unitAt
	return p.set(q, &n1, &n1, &m, &m, false, false, false)
}

func (p *parser) plusMinus() int {
	s := p.rest()
	switch {
	case strings.HasPrefix(s, "±"):
		return len("±")
	case strings.HasPrefix(s, "+/-"):
		return 3
	case strings.HasPrefix(s, "+/−"):
		return len("+/−")
	}
	return 0
}

// noUnit judges a figure without a unit: a bare number stands alone, before
// the end of the expression.
func (p *parser) noUnit(q *Quantity, b *bound, n1, n2 *number, ranged, plusMinus bool) *Error {
	at := p.i
	s := p.rest()
	if n1.word != nil && n1.word.kind == wordVague || n1.word != nil && (n1.word.text == "a" || n1.word.text == "an") {
		return p.unknownUnit(at)
	}
	if s != "" && (isLetter(s[0]) || s[0] >= utf8.RuneSelf) {
		if matchWords(s, "of") == 0 && !p.many {
			if w, _ := p.phrase(); w == nil {
				if !(p.sol && matchWords(s, "in") > 0) {
					return p.unknownUnit(at)
				}
			}
		}
		if p.many && matchWords(s, "of") == 0 {
			return p.unknownUnit(at)
		}
	}
	if p.want != 0 && !p.want.has(Count) && !(n1.part && p.want.has(Fraction)) {
		return p.unknownUnit(at)
	}
	if n1.part && !ranged && !plusMinus && n1.v > 0 && n1.v < 1 && (p.want == 0 || p.want.has(Fraction)) {
		q.Dim = Fraction
	}
	return nil
}

// unknownUnit is the error where a unit should stand.
func (p *parser) unknownUnit(at int) *Error {
	e := p.fail(at, "a unit")
	if p.want != 0 {
		e.Expected = "the unit of " + p.expectation("")
	}
	if u := nearUnit(p.s[at:], p.want); u != "" {
		e.Expected += ", perhaps " + u
	}
	return e
}

// finish reads what follows the figure and judges the whole.
func (p *parser) finish(q *Quantity, b *bound, start int) *Error {
	if err := p.trail(q, b); err != nil {
		return err
	}
	if b.from {
		// "from 30 to 35 °C" is a range, "from 1.25 h" a floor.
		if q.Low == q.High {
			b.floor = true
		}
	}
	q.About = b.about
	if b.floor && b.ceiling {
		return p.fail(b.at, "either a floor or a ceiling; for both write a range, 5 to 10 mL")
	}
	if (b.floor || b.ceiling) && q.Dim == Word {
		return p.fail(b.at, "a figure for a floor or a ceiling")
	}
	if b.floor {
		q.AtLeast, q.High = true, math.Inf(1)
	}
	if b.ceiling {
		q.AtMost, q.Low = true, ceilingFrom(q.Dim)
	}
	return nil
}

// trail reads the basis of a fraction, words after the figure, and "of".
func (p *parser) trail(q *Quantity, b *bound) *Error {
	for {
		mark := p.i
		p.space()
		spaced := p.i > mark
		s := p.rest()
		if s == "" {
			return nil
		}
		if q.Dim == Fraction && q.Basis == "" && (q.Word == "" || q.Unit != "") {
			if basis, n := basisAt(s); n > 0 {
				q.Basis = basis
				p.i += n
				continue
			}
		}
		if spaced && !p.sol && q.Times == 1 && q.Low == q.High && q.Word == "" {
			ok, err := p.inPortions(q, b)
			if err != nil {
				return err
			}
			if ok {
				continue
			}
		}
		if s[0] == ',' && !p.sol {
			p.i++
			p.space()
			spaced = true
		}
		w, n := p.phrase()
		if w == nil || !spaced {
			p.i = mark
			break
		}
		switch w.kind {
		case wordAbout:
			b.about = true
		case wordFloor:
			b.floor, b.at = true, p.i
		case wordCeiling:
			b.ceiling, b.at = true, p.i
		case wordFiller:
			if w.text != "each" && w.text != "in total" && w.text != "total" && w.text != "in all" && w.text != "exactly" {
				p.i = mark
				return nil
			}
		case wordTimes:
			if q.Times > 1 || q.Dim == Count || q.Dim == Word || lookupWord(q.Word).standsForFigure() {
				p.i = mark
				return nil
			}
			if err := p.repeat(q, &number{v: w.low, at: p.i}); err != nil {
				return err
			}
		case wordManner:
			switch {
			case q.Word == "":
				q.Word = w.canon
			case lookupWord(q.Word).standsForFigure() || q.Dim == Word && lookupWord(q.Word) != nil && lookupWord(q.Word).kind == wordAlone:
				p.i = mark
				return nil
			default:
				q.Word += ", " + w.canon
			}
		default:
			p.i = mark
			goto of
		}
		p.i += n
	}
of:
	mark := p.i
	p.space()
	if n := matchWords(p.rest(), "of"); n > 0 && q.Of == "" {
		p.i += n
		p.of(q)
		if q.Of == "" {
			p.i = mark
		}
		return nil
	}
	// "1.1 hydride equiv" is read with the unit.
	p.i = mark
	return nil
}

// inPortions reads "in three portions", "in about 0.5 mL portions" and "in
// portions of 0.5 mL" after a total, which is shared out evenly.
func (p *parser) inPortions(q *Quantity, b *bound) (bool, *Error) {
	mark := p.i
	n := matchWords(p.rest(), "in")
	if n == 0 || q.Dim == Word || q.Dim == None || canBeNegative(q.Dim) {
		return false, nil
	}
	p.i += n
	p.space()
	after := false
	if n := matchWords(p.rest(), "portions of"); n > 0 {
		p.i += n
		after = true
	}
	own := *b
	p.leads(&own)
	count, ok, err := p.number(&own)
	if err != nil || !ok || count.word != nil && count.word.kind != wordNumber || count.signed {
		p.i = mark
		return false, nil
	}
	unit, _, uerr := unitOrBase(q)
	if uerr != nil {
		p.i = mark
		return false, nil
	}
	times := count.v
	if after || !count.whole || !p.portionNoun() {
		size := Quantity{Times: 1}
		if err := p.span(&size, &own, count); err != nil || size.Dim != q.Dim || size.Low <= 0 || size.Low != size.High || !after && !p.portionNoun() {
			p.i = mark
			return false, nil
		}
		times = math.Round(q.Low / size.Low)
	}
	if !(times >= 1 && times <= 1000) {
		return false, p.fail(mark, "portions smaller than the whole, a thousand at most")
	}
	*b = own
	q.Times = int(times)
	q.Low = unit.toBase(unit.fromBase(q.Low) / times)
	q.High = q.Low
	return true, nil
}

// unitOrBase returns the unit q is written in.
func unitOrBase(q *Quantity) (*measure, bool, error) {
	if q.Unit == "" || q.Unit == ratioUnit {
		return &measure{dim: q.Dim, factor: 1}, false, nil
	}
	m, err := unitNamed(q.Unit, maskOf(q.Dim))
	return m, true, err
}

// ParseAll reads several expressions of one amount, each kept as written:
// "75 g (71.5 mL, 0.5 mol)", "1.06 g, 10.0 mmol", "2.0 g = 7.6 mmol". They
// may disagree; that is for the caller to judge. The error is an *Error.
func ParseAll(s string) ([]Quantity, error) {
	p := parser{s: s, many: true}
	if err := p.begin(); err != nil {
		return nil, err
	}
	var list []Quantity
	open := -1
	for {
		p.space()
		if open < 0 && p.i < len(s) && s[p.i] == '(' {
			open = p.i
			p.i++
		}
		p.note()
		p.space()
		start := p.i
		p.want, p.seen = 0, None
		q, err := p.quantity()
		if err != nil {
			return nil, err
		}
		q.Raw = strings.TrimSpace(s[start:p.i])
		list = append(list, q)
		if len(list) > 16 {
			return nil, p.fail(start, "at most 16 expressions of one amount")
		}
		p.space()
		if open >= 0 && p.i < len(s) && s[p.i] == ')' {
			open = -1
			p.i++
			p.space()
		}
		if p.i == len(s) {
			if open >= 0 {
				return nil, p.fail(p.i, "a closing bracket")
			}
			return list, nil
		}
		r, n := utf8.DecodeRuneInString(s[p.i:])
		switch r {
		case ',', ';', '=', '/':
			p.i += n
			// "1.06 g; (10 mmol)" is as good as without the semicolon.
		case '(':
			if open >= 0 {
				return nil, p.unexpected(&q)
			}
		case '≈', '~', '≙':
			if r == '≙' {
				p.i += n
			}
		default:
			if k := matchWords(s[p.i:], "or"); k > 0 {
				p.i += k
				continue
			}
			return nil, p.unexpected(&q)
		}
	}
}

// note reads the words that say where an expression comes from.
func (p *parser) note() {
	p.space()
	for _, text := range [...]string{"text says", "called for", "used", "i.e.", "equivalent to", "corresponding to", "that is", "namely"} {
		if n := matchWords(p.rest(), text); n > 0 {
			p.i += n
			return
		}
	}
}
