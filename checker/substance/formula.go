package substance

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"
	"unicode/utf8"

	"ketyl/checker/document"
	"ketyl/rules"
)

// Limits that keep any text within a few microseconds: no substance of a
// procedure comes near them.
const (
	maxFormulaBytes = 400
	maxFormulaDepth = 20
	maxFormulaCount = 100_000
)

// Formula counts atoms: element symbol to number, which may be broken in a
// hydrate such as CaSO4·0.5H2O. D and T count apart from H.
type Formula struct {
	Elements map[string]float64
	Charge   int
}

// FormulaError says which byte of a formula could not be read, and why.
type FormulaError struct {
	Text   string
	Offset int // byte offset of what is at fault
	Reason string
	Hint   string // what to write instead; may be empty
}

// Error shows the formula, the place counted in characters from 1, and the reason.
func (e *FormulaError) Error() string {
	at := utf8.RuneCountInString(e.Text[:min(max(e.Offset, 0), len(e.Text))]) + 1
	s := fmt.Sprintf("formula %q: character %d: %s", e.Text, at, e.Reason)
	if e.Hint != "" {
		s += "; " + e.Hint
	}
	return s
}

// elementFile is rules/reference/elements.yaml.
type elementFile struct {
	Sources map[string]Source `yaml:"sources"`
	Weights []struct {
		Source  []string           `yaml:"source"`
		Note    string             `yaml:"note"`
		Weights map[string]float64 `yaml:"weights"` // g/mol
	} `yaml:"weights"`
	NoWeight []string          `yaml:"no standard weight"`
	Metals   []string          `yaml:"metals"`
	NotAtoms map[string]string `yaml:"not elements"` // Et: C2H5
}

type elementTable struct {
	weight  map[string]float64
	unstabl map[string]bool
	metal   map[string]bool
	abbrev  map[string]string
}

var elements = sync.OnceValue(func() *elementTable {
	t := &elementTable{map[string]float64{}, map[string]bool{}, map[string]bool{}, nil}
	b, err := rules.FS.ReadFile("reference/elements.yaml")
	if err != nil {
		return t
	}
	var f elementFile
	file, fs := document.Read("reference/elements.yaml", b)
	if file.Root == nil || len(fs) > 0 || len(document.Decode(file, file.Root, &f)) > 0 {
		return t
	}
	for _, w := range f.Weights {
		for el, m := range w.Weights {
			t.weight[el] = m
		}
	}
	for _, el := range f.NoWeight {
		t.unstabl[el] = true
	}
	for _, el := range f.Metals {
		t.metal[el] = true
	}
	t.abbrev = f.NotAtoms
	return t
})

// ParseFormula reads a molecular formula: nested round, square and curly
// brackets, hydrates and adducts joined by · . * or a bullet with a leading
// multiplier (MgSO4·7H2O, BF3·C4H10O), broken multipliers (0.5, ½), subscript
// digits, and a charge at the end (NH4+, SO4^2-, [Fe(CN)6]4-, Cu2+). The error
// is a *FormulaError; no text makes it panic.
func ParseFormula(f string) (Formula, error) {
	text := strings.TrimSpace(f)
	p := &formulaParser{whole: f, table: elements()}
	p.src, p.at = foldFormula(f)
	out := Formula{Elements: map[string]float64{}}
	switch {
	case text == "":
		return Formula{}, p.fail(0, "a formula is wanted", "for example C4H8O")
	case len(f) > maxFormulaBytes:
		return Formula{}, p.fail(maxFormulaBytes, fmt.Sprintf("a formula has at most %d bytes", maxFormulaBytes), "")
	}
	for {
		times, err := p.multiplier()
		if err != nil {
			return Formula{}, err
		}
		part, err := p.group(0, 0)
		if err != nil {
			return Formula{}, err
		}
		if len(part) == 0 {
			return Formula{}, p.fail(p.i, "an element is wanted here", "for example C4H8O or MgSO4·7H2O")
		}
		for el, n := range part {
			out.Elements[el] += n * times
			if out.Elements[el] > maxFormulaCount {
				return Formula{}, p.fail(p.i, "more atoms than any substance of a procedure has", "")
			}
		}
		if p.i < len(p.src) && p.src[p.i] == '.' {
			p.i++
			continue
		}
		break
	}
	charge, err := p.charge()
	if err != nil {
		return Formula{}, err
	}
	out.Charge = charge
	return out, nil
}

// foldFormula replaces the ways to write dots, signs and subscripts by one
// each and drops white space before an adduct dot; at maps each folded byte to
// its byte offset in f.
func foldFormula(f string) (src []byte, at []int) {
	for i, r := range f {
		s := ""
		switch {
		case r == '·' || r == '∙' || r == '•' || r == '⋅' || r == '*' || r == '.' || r == '・':
			s = "."
		case r == '−' || r == '–' || r == '⁻':
			s = "-"
		case r == '⁺':
			s = "+"
		case r >= '₀' && r <= '₉':
			s = string('0' + r - '₀')
		case r == '²' || r == '³':
			s = "^" + string('0'+r-'²'+2)
		case r == '¹':
			s = "^1"
		case r >= '⁴' && r <= '⁹':
			s = "^" + string('0'+r-'⁴'+4)
		case r == '½':
			s = "0.5"
		case r == '{':
			s = "["
		case r == '}':
			s = "]"
		case r == ' ' || r == '\t' || r == '\u00a0':
			s = " "
		case r < 0x80:
			s = string(r)
		default:
			s = "?"
		}
		for range len(s) {
			at = append(at, i)
		}
		src = append(src, s...)
	}
	// White space around a dot and at the ends carries nothing.
	out, place := src[:0], at[:0]
	for i, b := range src {
		if b == ' ' {
			rest := strings.TrimLeft(string(src[i:]), " ")
			if rest == "" || rest[0] == '.' || len(out) == 0 || out[len(out)-1] == '.' || out[len(out)-1] == ' ' {
				continue
			}
		}
		out, place = append(out, b), append(place, at[i])
	}
	return out, place
}

type formulaParser struct {
	whole string
	src   []byte
	at    []int
	i     int
	table *elementTable
}

func (p *formulaParser) fail(i int, reason, hint string) error {
	offset := len(p.whole)
	if i < len(p.at) {
		offset = p.at[i]
	}
	return &FormulaError{p.whole, offset, reason, hint}
}

// multiplier reads the number before a part: 7 in ·7H2O, 0.5 in ·0.5H2O.
func (p *formulaParser) multiplier() (float64, error) {
	start := p.i
	for p.i < len(p.src) && (isDigit(p.src[p.i]) || p.src[p.i] == '.' && p.i > start && p.i+1 < len(p.src) && isDigit(p.src[p.i+1])) {
		p.i++
	}
	if start == p.i {
		if p.i < len(p.src) && (p.src[p.i] == 'x' || p.src[p.i] == 'n') {
			return 0, p.fail(p.i, fmt.Sprintf("%q is no number", p.src[p.i]), "write how many, for example ·7H2O")
		}
		return 1, nil
	}
	v, err := strconv.ParseFloat(string(p.src[start:p.i]), 64)
	if err != nil || v <= 0 || v > maxFormulaCount {
		return 0, p.fail(start, "this multiplier cannot be read", "write for example ·7H2O")
	}
	for p.i < len(p.src) && p.src[p.i] == ' ' {
		p.i++
	}
	return v, nil
}

// group reads atoms and brackets up to a closing bracket, dot, charge or end.
func (p *formulaParser) group(depth int, closing byte) (map[string]float64, error) {
	if depth > maxFormulaDepth {
		return nil, p.fail(p.i, "brackets are nested too deep", "")
	}
	out := map[string]float64{}
	for p.i < len(p.src) {
		switch c := p.src[p.i]; {
		case c == '(' || c == '[':
			open := p.i
			p.i++
			want := byte(')')
			if c == '[' {
				want = ']'
			}
			inner, err := p.group(depth+1, want)
			if err != nil {
				return nil, err
			}
			if p.i >= len(p.src) || p.src[p.i] != want {
				return nil, p.fail(open, fmt.Sprintf("the bracket %q is never closed", c), "")
			}
			if len(inner) == 0 {
				return nil, p.fail(open, "nothing is inside the brackets", "")
			}
			p.i++
			n, err := p.count(want == ']')
			if err != nil {
				return nil, err
			}
			for el, k := range inner {
				out[el] += k * n
				if out[el] > maxFormulaCount {
					return nil, p.fail(open, "more atoms than any substance of a procedure has", "")
				}
			}
		case c == ')' || c == ']':
			if c != closing {
				return nil, p.fail(p.i, fmt.Sprintf("%q closes a bracket that is not open", c), "")
			}
			return out, nil
		case c >= 'A' && c <= 'Z':
			el, err := p.element()
			if err != nil {
				return nil, err
			}
			n, err := p.count(len(out) == 0 && depth == 0 && p.table.metal[el])
			if err != nil {
				return nil, err
			}
			out[el] += n
		case depth == 0 && len(out) > 0 && isDigit(c): // digits of a charge
			return out, nil
		case c == '+' || c == '-' || c == '^' || c == ' ':
			if depth > 0 {
				if c == ' ' {
					p.i++
					continue
				}
				return nil, p.fail(p.i, "a charge stands at the end of the formula, outside brackets", "write for example [Fe(CN)6]4-")
			}
			return out, nil
		case c == '.':
			if depth > 0 {
				// An adduct inside brackets, as in (BH3·THF)2, is not needed.
				return nil, p.fail(p.i, "a dot cannot stand inside brackets", "")
			}
			return out, nil
		default:
			hint := ""
			if c == 'n' || c == 'x' {
				hint = "write the number"
			} else if c >= 'a' && c <= 'z' {
				hint = "an element begins with a capital letter"
			}
			r, _ := utf8.DecodeRuneInString(p.whole[min(p.at[p.i], len(p.whole)):])
			return nil, p.fail(p.i, fmt.Sprintf("%q cannot stand in a formula", r), hint)
		}
	}
	return out, nil
}

func (p *formulaParser) element() (string, error) {
	start := p.i
	end := start + 1
	for end < len(p.src) && p.src[end] >= 'a' && p.src[end] <= 'z' && end-start < 3 {
		end++
	}
	for n := min(end-start, 2); n >= 1; n-- {
		sym := string(p.src[start : start+n])
		if n == 1 && end-start >= 2 && p.src[start+1] >= 'a' {
			break // "Xx": never read the X alone
		}
		if _, ok := p.table.weight[sym]; ok {
			if n < end-start {
				break
			}
			p.i = start + n
			return sym, nil
		}
		if p.table.unstabl[sym] {
			return "", p.fail(start, fmt.Sprintf("%s has no standard atomic weight", sym), "")
		}
	}
	sym := string(p.src[start:end])
	hint := ""
	if full := p.table.abbrev[sym]; full != "" {
		hint = "write " + full + " for " + sym
	} else if len(sym) > 1 {
		hint = "write the second letter as a capital if two elements are meant"
	}
	return "", p.fail(start, fmt.Sprintf("%q is no element", sym), hint)
}

// count reads the number after an atom or bracket. When a charge may follow
// directly (after a square bracket or a lone metal) digits before a sign at
// the end belong to the charge: Cu2+, [Fe(CN)6]4-.
func (p *formulaParser) count(chargeMayFollow bool) (float64, error) {
	start := p.i
	for p.i < len(p.src) && isDigit(p.src[p.i]) {
		p.i++
	}
	if p.i == start {
		return 1, nil
	}
	if chargeMayFollow && p.i == len(p.src)-1 && (p.src[p.i] == '+' || p.src[p.i] == '-') {
		p.i = start
		return 1, nil
	}
	if p.i-start >= 2 && p.i == len(p.src)-1 && (p.src[p.i] == '+' || p.src[p.i] == '-') {
		return 0, p.fail(start, "count and charge run together", "write the charge after ^, for example SO4^2-")
	}
	v, err := strconv.Atoi(string(p.src[start:p.i]))
	if err != nil || v == 0 || v > maxFormulaCount {
		return 0, p.fail(start, "this count cannot be read", "write a number from 1")
	}
	return float64(v), nil
}

func (p *formulaParser) charge() (int, error) {
	if p.i < len(p.src) && p.src[p.i] == ' ' {
		p.i++
	}
	if p.i < len(p.src) && p.src[p.i] == '^' {
		p.i++
	}
	if p.i >= len(p.src) {
		if len(p.src) > 0 && p.src[len(p.src)-1] == '^' {
			return 0, p.fail(p.i, "a charge is wanted after ^", "for example ^2-")
		}
		return 0, nil
	}
	start, n := p.i, 0
	digits := p.i
	for p.i < len(p.src) && (isDigit(p.src[p.i]) || p.src[p.i] == '^') {
		if p.src[p.i] != '^' {
			n = n*10 + int(p.src[p.i]-'0')
		}
		if p.i++; n > 99 {
			return 0, p.fail(start, "this charge cannot be read", "for example ^2-")
		}
	}
	if digits == p.i {
		n = 1
	}
	if p.i < len(p.src) && p.src[p.i] == '^' {
		p.i++
	}
	if p.i >= len(p.src) || (p.src[p.i] != '+' && p.src[p.i] != '-') {
		return 0, p.fail(start, "this cannot stand here", "a charge ends with + or -, for example SO4^2-")
	}
	sign := 1
	if p.src[p.i] == '-' {
		sign = -1
	}
	first := p.src[p.i]
	p.i++
	for digits == start && p.i < len(p.src) && p.src[p.i] == first && n < 9 { // Ca++
		n++
		p.i++
	}
	if p.i < len(p.src) {
		return 0, p.fail(p.i, "nothing may follow the charge", "")
	}
	if n == 0 {
		return 0, p.fail(start, "a charge of 0 is not written", "")
	}
	return sign * n, nil
}

func isDigit(b byte) bool { return b >= '0' && b <= '9' }

// Mass is the molar mass in g/mol from the abridged standard atomic weights of
// 2021 (rules/reference/elements.yaml); a charge's electrons are not weighed.
func (f Formula) Mass() float64 {
	t := elements()
	sum := 0.0
	for _, el := range f.symbols() {
		sum += f.Elements[el] * t.weight[el]
	}
	return sum
}

// Count is the number of atoms of an element.
func (f Formula) Count(element string) float64 { return f.Elements[element] }

// symbols lists the elements in Hill order: C, H, then the rest by letter; all
// by letter when there is no carbon.
func (f Formula) symbols() []string {
	out := make([]string, 0, len(f.Elements))
	for el, n := range f.Elements {
		if n != 0 {
			out = append(out, el)
		}
	}
	carbon := f.Elements["C"] != 0
	rank := func(el string) string {
		if carbon && el == "C" {
			return " 1"
		}
		if carbon && el == "H" {
			return " 2"
		}
		return el
	}
	slices.SortFunc(out, func(a, b string) int { return strings.Compare(rank(a), rank(b)) })
	return out
}

// String writes the formula in Hill order without brackets, with the charge at
// the end after ^.
func (f Formula) String() string {
	var b strings.Builder
	for _, el := range f.symbols() {
		b.WriteString(el)
		if n := f.Elements[el]; n != 1 {
			b.WriteString(strconv.FormatFloat(n, 'f', -1, 64))
		}
	}
	if f.Charge != 0 {
		sign := "+"
		if f.Charge < 0 {
			sign = "-"
		}
		b.WriteByte('^')
		if n := max(f.Charge, -f.Charge); n != 1 {
			b.WriteString(strconv.Itoa(n))
		}
		b.WriteString(sign)
	}
	return b.String()
}

// plus adds n times g to f; a negative n takes atoms away. It is false when
// fewer than none of an element would be left.
func (f Formula) plus(g Formula, n float64) (Formula, bool) {
	out := Formula{Elements: make(map[string]float64, len(f.Elements)+len(g.Elements)), Charge: f.Charge + int(math.Round(n))*g.Charge}
	for el, k := range f.Elements {
		out.Elements[el] = k
	}
	for el, k := range g.Elements {
		v := out.Elements[el] + n*k
		if v < -1e-9 {
			return Formula{}, false
		}
		if math.Abs(v) < 1e-9 {
			delete(out.Elements, el)
			continue
		}
		out.Elements[el] = v
	}
	return out, true
}

// MolarMass is the molar mass of the substance in g/mol, from its formula. The
// error is a *FormulaError, also when the entry has no formula.
func (s *Substance) MolarMass() (float64, error) {
	f, err := ParseFormula(s.Formula)
	if err != nil {
		return 0, err
	}
	return f.Mass(), nil
}
