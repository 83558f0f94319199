package quantity

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// rowAt returns the longest unit spelling at the start of s and its bytes.
// hint is what to write instead where only a change of case would make it a
// unit of another size.
func rowAt(s string) (row *unit, n int, hint string) {
	if s == "" {
		return nil, 0, ""
	}
	if c := s[0]; !isLetter(c) && c != '%' && c < utf8.RuneSelf {
		return nil, 0, ""
	}
	var fold [32]byte
	limit := min(len(s), longest, len(fold))
	ascii := true
	for k := 0; k < limit; k++ {
		c := s[k]
		if c >= 'A' && c <= 'Z' {
			c |= 0x20
		}
		fold[k] = c
		ascii = ascii && c < utf8.RuneSelf
	}
	for n := limit; n > 0; n-- {
		if n < len(s) && !boundary(s, n) {
			continue
		}
		if i, ok := unitByName[s[:n]]; ok {
			return &units[i], n, ""
		}
		if h, ok := confusable[s[:n]]; ok {
			return nil, n, h
		}
		if i, ok := unitByFold[string(fold[:n])]; ok {
			return &units[i], n, ""
		}
	}
	return nil, 0, ""
}

// boundary reports whether a word may end before byte n of s.
func boundary(s string, n int) bool {
	if !utf8.RuneStart(s[n]) {
		return false
	}
	if s[n-1] < utf8.RuneSelf && !isLetter(s[n-1]) {
		return true
	}
	if isLetter(s[n]) {
		// After a letter no letter; after ° % or ³ there may be one.
		return !isLetter(s[n-1]) && !endsInLetter(s[:n])
	}
	return s[n] < utf8.RuneSelf || !isWordRune(s[n:]) || !isLetter(s[n-1])
}

func endsInLetter(s string) bool {
	r, _ := utf8.DecodeLastRuneInString(s)
	switch r {
	case '°', 'º', '˚', '³', '²', '℃', '℉', '‰', '%':
		return false
	}
	return true
}

// bases are the spellings of what a fraction is a fraction of.
var bases = [...]struct{ text, basis string }{
	{"w/w", "w/w"}, {"wt/wt", "w/w"}, {"m/m", "w/w"}, {"by weight", "w/w"}, {"by mass", "w/w"}, {"w.w", "w/w"},
	{"v/v", "v/v"}, {"vol/vol", "v/v"}, {"by volume", "v/v"}, {"by vol", "v/v"},
	{"m/v", "m/v"}, {"w/v", "m/v"}, {"wt/vol", "m/v"}, {"w/vol", "m/v"}, {"wt/v", "m/v"},
	{"mol/mol", "mol"}, {"by mole", "mol"}, {"by moles", "mol"}, {"mol", "mol"},
}

// basisAt reads the basis that follows a per cent sign, bracketed or not.
func basisAt(s string) (string, int) {
	open := 0
	if s[0] == '(' {
		open = 1
	}
	rest := s[open:]
	if rest == "" || !isLetter(rest[0]) {
		return "", 0
	}
	basis, n := "", 0
	for _, b := range bases {
		if k := matchWords(rest, b.text); k > n {
			basis, n = b.basis, k
		}
	}
	if n == 0 {
		return "", 0
	}
	if open > 0 {
		if n >= len(rest) || rest[n] != ')' {
			return "", 0
		}
		n++
	}
	return basis, n + open
}

// percentBefore are the words before a per cent sign: wt%, vol %, mol per cent.
var percentBefore = [...]struct{ text, basis string }{
	{"wt", "w/w"}, {"weight", "w/w"}, {"mass", "w/w"}, {"w/w", "w/w"}, {"vol", "v/v"}, {"volume", "v/v"}, {"v/v", "v/v"},
	{"w/v", "m/v"}, {"m/v", "m/v"}, {"mol", "mol"}, {"mole", "mol"}, {"molar", "mol"},
}

// percentAt reads "wt. %", "mol per cent" and returns its basis and bytes.
func percentAt(s string) (string, int) {
	switch s[0] | 0x20 {
	case 'w', 'm', 'v':
	default:
		return "", 0
	}
	for _, b := range percentBefore {
		k := matchWords(s, b.text)
		if k == 0 {
			continue
		}
		if k < len(s) && s[k] == '.' {
			k++
		}
		k = skipSpaces(s, k)
		if k < len(s) && s[k] == '-' {
			k++
		}
		if k < len(s) && s[k] == '%' {
			return b.basis, k + 1
		}
		for _, word := range [...]string{"per cent", "percent", "pct"} {
			if n := matchWords(s[k:], word); n > 0 {
				return b.basis, k + n
			}
		}
	}
	return "", 0
}

// unit reads the unit after a figure, alone or over another: mL, mL/min,
// g per 100 mL, drops every 30 s, mol·L⁻¹. It leaves the text where it was if
// none stands here.
func (p *parser) unit() (measure, bool, *Error) {
	p.space()
	mark := p.i
	s := p.rest()
	if s == "" {
		return measure{}, false, nil
	}
	if isLetter(s[0]) {
		if basis, n := percentAt(s); n > 0 {
			p.i += n
			return measure{sym: "%", dim: Fraction, factor: 1e-2, div: 100, basis: basis}, true, nil
		}
	}
	row, n, hint := rowAt(s)
	if hint != "" {
		e := p.fail(mark, hint)
		return measure{}, false, e
	}
	if row == nil {
		// A bare number per time: 6 /h, 6 per hour; or "1.1 hydride equiv".
		if m, ok, err := p.over(measure{dim: Count, factor: 1}, true); ok || err != nil {
			return m, ok, err
		}
		p.i = mark
		// "1.1 hydride equiv"
		k := 0
		for k < len(s) && s[k] >= 'a' && s[k] <= 'z' {
			k++
		}
		if k > 0 && k < len(s) && s[k] == ' ' && s[:k] != "of" {
			if eq, n, _ := rowAt(s[k+1:]); eq != nil && eq.dim == Equivalents {
				m := eq.reading(0)
				m.of = s[:k]
				p.i += k + 1 + n
				return m, true, nil
			}
		}
		return measure{}, false, nil
	}
	p.i += n
	if p.i < len(p.s) && p.s[p.i] == '.' && isLetter(p.s[p.i-1]) && (p.i+1 == len(p.s) || !isDigit(p.s[p.i+1]) && p.s[p.i+1] != '.') {
		p.i++ // the full stop of an abbreviation
	}
	m := row.reading(p.want)
	if m.sym == "ppmv" || m.sym == "ppmw" {
		m.basis = string(m.sym[3]) + "/" + string(m.sym[3])
		m.sym = "ppm"
	}
	if m.dim == Fraction || m.dim == Temperature || m.dim == Pressure {
		return m, true, nil
	}
	if m.dim == Time {
		if k := minusOne(p.rest(), false); k > 0 {
			p.i += k
			return measure{sym: "/" + m.sym, dim: PerTime, factor: 1 / m.factor, div: divisor(1 / m.factor), ratio: true}, true, nil
		}
		return m, true, nil
	}
	over, ok, err := p.over(m, false)
	if err != nil {
		return measure{}, false, err
	}
	if ok {
		return over, true, nil
	}
	return m, true, nil
}

// minusOne reads the exponent of a unit under the line; plain also takes the
// bare "-1".
func minusOne(s string, plain bool) int {
	for _, t := range [...]string{"⁻¹", "^-1", "^−1"} {
		if strings.HasPrefix(s, t) {
			return len(t)
		}
	}
	if plain {
		for _, t := range [...]string{"-1", "−1"} {
			if strings.HasPrefix(s, t) && (len(s) == len(t) || !isDigit(s[len(t)]) && s[len(t)] != '.') {
				return len(t)
			}
		}
	}
	return 0
}

// over reads the unit under the line, if there is one. alone says that none
// stands above it.
func (p *parser) over(top measure, alone bool) (measure, bool, *Error) {
	mark := p.i
	p.space()
	s := p.rest()
	if s == "" {
		p.i = mark
		return top, false, nil
	}
	sure := false
	switch {
	case s[0] == '/':
		p.i++
		sure = true
	case matchWords(s, "per") > 0:
		p.i += len("per")
		sure = true
	case matchWords(s, "every") > 0:
		p.i += len("every")
		sure = true
	case !alone && top.dim == Count && matchWords(s, "a") > 0:
		p.i++
	default:
		if alone {
			return top, false, nil
		}
		// mol·L⁻¹, mL min-1
		if r, n := utf8.DecodeRuneInString(s); r == '·' || r == '⋅' || r == '.' {
			p.i += n
		}
		under, n, _ := rowAt(p.rest())
		if under == nil {
			p.i = mark
			return top, false, nil
		}
		k := minusOne(p.s[p.i+n:], true)
		if k == 0 {
			p.i = mark
			return top, false, nil
		}
		at := p.i
		p.i += n + k
		return p.quotient(top, under.reading(0), 1, at)
	}
	p.space()
	at := p.i
	n := number{v: 1}
	if figure, ok, err := p.figure(); err != nil {
		return top, false, err
	} else if ok {
		n = figure
	} else if k := matchWords(p.rest(), "half a"); k > 0 {
		n.v, p.i = 0.5, p.i+k
	} else if k := matchWords(p.rest(), "half"); k > 0 {
		n.v, p.i = 0.5, p.i+k
	}
	p.space()
	under, k, hint := rowAt(p.rest())
	if under == nil || n.v <= 0 {
		if sure && hint == "" && n.v > 0 && p.many && p.s[p.i-1] == '/' {
			// "2 drops / 0.1 mL": in a list the stroke parts expressions.
			p.i = mark
			return top, false, nil
		}
		if sure {
			if hint == "" {
				hint = "the unit under the line, as in mL/min"
			}
			return top, false, p.fail(p.i, hint)
		}
		p.i = mark
		return top, false, nil
	}
	if p.many && n.at > 0 && s[0] == '/' && n.end > 0 {
		// "1 g/10 mmol" in a list: two expressions.
		if under.dim != Volume || top.dim != Mass {
			p.i = mark
			return top, false, nil
		}
	}
	p.i += k
	if p.i < len(p.s) && p.s[p.i] == '.' && isLetter(p.s[p.i-1]) && p.i+1 == len(p.s) {
		p.i++
	}
	m, ok, err := p.quotient(top, under.reading(0), n.v, at)
	if err != nil && !sure {
		p.i = mark
		return top, false, nil
	}
	return m, ok, err
}

// quotient returns the unit of top over n of under.
func (p *parser) quotient(top, under measure, n float64, at int) (measure, bool, *Error) {
	m := measure{ratio: true, factor: top.factor / (under.factor * n)}
	sym := top.sym
	switch {
	case top.dim == Mass && under.dim == Volume:
		m.dim = MassConcentration
	case top.dim == Amount && under.dim == Volume:
		m.dim = Molarity
	case top.dim == Volume && under.dim == Time:
		m.dim = Flow
	case top.dim == Mass && under.dim == Time:
		m.dim = MassRate
	case top.dim == Amount && under.dim == Time:
		m.dim = AmountRate
	case top.dim == Count && under.dim == Time:
		m.dim = PerTime
		if sym == "drop" {
			m.dim = DripRate
		}
		sym = plural(sym, 2)
	case top.dim == Mass && under.dim == Mass:
		m.dim, m.basis = Fraction, "w/w"
	case top.dim == Volume && under.dim == Volume:
		m.dim, m.basis = Fraction, "v/v"
	case top.dim == Amount && under.dim == Amount:
		m.dim, m.basis = Fraction, "mol"
	default:
		return m, false, p.fail(at, fmt.Sprintf("a unit that makes sense under %s, as in mL/min", top.dim))
	}
	if m.factor > 0.999999999999 && m.factor < 1.000000000001 {
		m.factor = 1
	}
	if n == 1 {
		if top.dim == Count && top.sym != "drop" && top.sym != "air change" && top.sym != "bubble" {
			sym = ""
		}
		m.sym = sym + "/" + under.sym
		m.div = divisor(m.factor)
		return m, true, nil
	}
	// A figure under the line: kept in the base unit, which every figure of
	// the dimension can be written in.
	m.pre = m.factor
	m.factor = 1
	m.sym = kinds[m.dim].base
	if m.dim == Fraction {
		m.pre /= 1e-2
		m.factor, m.div, m.sym = 1e-2, 100, "%"
	}
	return m, true, nil
}

// unitNamed reads a unit by its name alone.
func unitNamed(name string, want mask) (*measure, error) {
	p := parser{s: name, want: want}
	if len(name) > longestText {
		return nil, fmt.Errorf("no unit has a name of %d bytes", len(name))
	}
	m, ok, err := p.unit()
	p.space()
	if err != nil || !ok || p.i < len(name) || m.pre != 0 {
		hint := ""
		if u := nearUnit(strings.TrimSpace(name), want); u != "" {
			hint = ", perhaps " + u
		}
		return nil, fmt.Errorf("%q is not a unit%s", name, hint)
	}
	return &m, nil
}

// nearUnit returns the unit whose spelling is nearest to the first word of s,
// or "" if none is near. Where a dimension is wanted no other is offered.
func nearUnit(s string, want mask) string {
	n := newNearest(s)
	for i := range units {
		u := &units[i]
		if want != 0 && !want.has(u.dim) {
			continue
		}
		for rest := u.sym + "|" + u.names; rest != ""; {
			var name string
			name, rest, _ = strings.Cut(rest, "|")
			n.try(name, u.sym)
		}
	}
	return n.best
}

// nearWord returns the word nearest to the whole of s, or "".
func nearWord(s string) string {
	n := newNearest("")
	n.word, n.at = strings.ToLower(s), 2
	if len(s) > 5 {
		n.at = 3
	}
	if len(s) < 4 || len(s) > 24 {
		return ""
	}
	for i := range words {
		if w := &words[i]; w.kind >= wordVague && len(w.text) > 3 {
			n.try(w.text, w.canon)
		}
	}
	return n.best
}

type nearest struct {
	word, best string
	at         int // the distance to beat
}

func newNearest(s string) nearest {
	end := 0
	for end < len(s) && s[end] != ' ' && s[end] != ',' && s[end] != ';' && s[end] != ')' && s[end] != '/' {
		end++
	}
	n := nearest{word: strings.ToLower(s[:end]), at: 2}
	if end > 5 {
		n.at = 3
	}
	if end < 2 || end > 24 || isDigit(s[0]) {
		n.at = 0
	}
	return n
}

func (n *nearest) try(name, print string) {
	if n.at == 0 || len(name) < 2 {
		return
	}
	if d := distance(n.word, strings.ToLower(name), n.at); d < n.at {
		n.best, n.at = print, d
	}
}

// distance is the number of letters to add, drop, change or swap with their
// neighbour to turn a into b, or limit if it is at least that.
func distance(a, b string, limit int) int {
	if d := len(a) - len(b); d >= limit || -d >= limit || len(a) > 31 || len(b) > 31 {
		return limit
	}
	var prev2, prev, row [32]int
	for j := 0; j <= len(b); j++ {
		prev[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			row[j] = min(prev[j]+1, row[j-1]+1, prev[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], prev2[j-2]+1)
			}
		}
		prev2, prev = prev, row
	}
	return min(prev[len(b)], limit)
}
