package quantity

import (
	"math"
	"strconv"
	"unicode/utf8"
)

// Figures outside these bounds are slips of the pen: there is no procedure
// with 1e-30 of anything.
const (
	tiniest = 1e-30
	hugest  = 1e30
)

// number is one figure as it stands in the text.
type number struct {
	v       float64
	at, end int
	whole   bool  // a positive whole number in digits or a word, fit to count portions
	part    bool  // a vulgar fraction: 1/2, ½
	signed  bool  // a sign was written
	word    *word // the word that stood for it, if one did
}

var pow10 = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

func isLetter(c byte) bool { return c|0x20 >= 'a' && c|0x20 <= 'z' }

// sign reads one plus or minus sign that a figure follows, and returns the
// length of it and of one space after it, with −1 or 1; 0 bytes if none.
func sign(s string) (n int, f float64) {
	if s == "" {
		return 0, 1
	}
	f = -1
	switch r, size := utf8.DecodeRuneInString(s); r {
	case '+':
		n, f = 1, 1
	case '-', '−', '–', '‐', '‑':
		n = size
	default:
		return 0, 1
	}
	m := n
	if m < len(s) && s[m] == ' ' {
		m++
	}
	if m < len(s) && (isDigit(s[m]) || s[m] == '.' && m+1 < len(s) && isDigit(s[m+1])) {
		return m, f
	}
	return 0, 1
}

// groupSpace returns the length of a space that may part thousands: one that
// does not break the line.
func groupSpace(s string) int {
	for _, sp := range [...]string{"\u00a0", "\u202f", "\u2009"} {
		if len(s) >= len(sp) && s[:len(sp)] == sp {
			return len(sp)
		}
	}
	return 0
}

// digits returns the number of leading digits of s.
func digits(s string) int {
	n := 0
	for n < len(s) && isDigit(s[n]) {
		n++
	}
	return n
}

var vulgar = map[rune]float64{'½': 1.0 / 2, '¼': 1.0 / 4, '¾': 3.0 / 4, '⅓': 1.0 / 3, '⅔': 2.0 / 3, '⅛': 1.0 / 8, '⅕': 1.0 / 5}

func vulgarAt(s string) (float64, int) {
	if s == "" || s[0] < utf8.RuneSelf {
		return 0, 0
	}
	r, n := utf8.DecodeRuneInString(s)
	if v, ok := vulgar[r]; ok {
		return v, n
	}
	return 0, 0
}

// figure reads a figure in digits: 6.9, 6,9, 1,000, .5, 1/2, 1 1/2, 1½,
// 1.5e-3, 1.5 × 10^-3. ok is false if none stands here.
func (p *parser) figure() (num number, ok bool, err *Error) {
	s, i := p.s, p.i
	num.at = i
	n, f := sign(s[i:])
	num.signed = n > 0
	i += n
	if v, n := vulgarAt(s[i:]); n > 0 && !num.signed {
		num.v, num.part, num.end = v, true, i+n
		p.i = num.end
		return num, true, nil
	}
	if i >= len(s) || !isDigit(s[i]) && !(s[i] == '.' && i+1 < len(s) && isDigit(s[i+1])) {
		return num, false, nil
	}
	var buf [64]byte
	b := buf[:0]
	first := i
	var mant uint64 // the digits without the point, for the exact short path
	var nd, nf int  // digits in all, digits after the point
	put := func(t string) {
		for k := 0; k < len(t); k++ {
			if nd < 15 {
				mant = mant*10 + uint64(t[k]-'0')
			}
			nd++
		}
		b = append(b, t...)
	}
	n = digits(s[i:])
	if n > 40 {
		return num, true, p.fail(i, "a figure of fewer digits")
	}
	if n > 1 && s[i] == '0' {
		return num, true, p.fail(i, "a figure without leading zeros")
	}
	if n == 1 && s[i] == '0' && i+2 < len(s) {
		c, d := s[i+1]|0x20, s[i+2]
		if (c == 'o' || c == 'b') && isDigit(d) || c == 'x' && (isDigit(d) || d|0x20 >= 'a' && d|0x20 <= 'f') {
			return num, true, p.fail(i, "a figure in plain decimal digits")
		}
	}
	put(s[i : i+n])
	intDigits := n
	lead := i
	i += n
	point := false
	// Thousands: a comma, or a space that does not break, before exactly
	// three digits, after one to three that do not begin with nought.
	if intDigits >= 1 && intDigits <= 3 && s[lead] != '0' {
		for i < len(s) {
			w := 0
			if s[i] == ',' {
				w = 1
			} else {
				w = groupSpace(s[i:])
			}
			if w == 0 || digits(s[i+w:]) != 3 {
				break
			}
			put(s[i+w : i+w+3])
			if len(b) > 40 {
				return num, true, p.fail(first, "a figure of fewer digits")
			}
			i += w + 3
			intDigits += 3
		}
	}
	grouped := intDigits > n
	if i+1 < len(s) && (s[i] == '.' || s[i] == ',') && isDigit(s[i+1]) {
		if grouped && s[i] == ',' {
			return num, true, p.fail(i, "a point for the decimals after commas for the thousands")
		}
		k := digits(s[i+1:])
		if k > 20 {
			return num, true, p.fail(first, "a figure of fewer digits")
		}
		point = true
		b = append(b, '.')
		put(s[i+1 : i+1+k])
		nf = k
		i += 1 + k
		if i+1 < len(s) && (s[i] == '.' || s[i] == ',') && isDigit(s[i+1]) {
			return num, true, p.fail(i, "one decimal point or comma in a figure")
		}
	}
	if i < len(s) && s[i] == '_' {
		return num, true, p.fail(i, "a figure without underscores")
	}
	// Vulgar fractions.
	if !point && !grouped {
		if v, n := vulgarAt(s[i:]); n > 0 {
			num.v, num.part, num.end = f*(float64(mant)+v), true, i+n
			p.i = num.end
			return num, true, p.bounds(&num)
		}
		if v, n, bad := slash(s[first:]); n > 0 {
			if bad {
				return num, true, p.fail(first, "a fraction with a divisor other than nought")
			}
			num.v, num.part, num.end = f*v, true, first+n
			p.i = num.end
			return num, true, p.bounds(&num)
		}
		if i < len(s) && s[i] == ' ' {
			if v, n, bad := slash(s[i+1:]); n > 0 && !bad && v < 1 {
				num.v, num.part, num.end = f*(float64(mant)+v), true, i+1+n
				p.i = num.end
				return num, true, p.bounds(&num)
			}
		}
	}
	exp, n, far := exponent(s[i:])
	if far {
		return num, true, p.fail(first, "a figure that can be measured")
	}
	i += n
	switch {
	case n == 0 && nd <= 15:
		// Both numbers are exact, so the quotient is the nearest double.
		num.v = float64(mant) / pow10[nf]
	default:
		b = append(b, 'e')
		b = strconv.AppendInt(b, int64(exp), 10)
		v, perr := strconv.ParseFloat(string(b), 64)
		if perr != nil {
			return num, true, p.fail(first, "a figure that can be measured")
		}
		num.v = v
		if v == 0 && nonzero(b) {
			return num, true, p.fail(first, "a figure that can be measured")
		}
	}
	if f < 0 && num.v != 0 {
		num.v = -num.v
	}
	num.whole = !point && !num.signed && n == 0 && num.v >= 1 && num.v <= 1000
	num.end = i
	p.i = i
	return num, true, p.bounds(&num)
}

func nonzero(b []byte) bool {
	for _, c := range b {
		if c == 'e' {
			return false
		}
		if c >= '1' && c <= '9' {
			return true
		}
	}
	return false
}

func (p *parser) bounds(num *number) *Error {
	if a := math.Abs(num.v); a != 0 && !(a >= tiniest && a <= hugest) {
		return p.fail(num.at, "a figure that can be measured")
	}
	return nil
}

// slash reads a vulgar fraction of whole numbers, 1/2; n is 0 if none stands
// here.
func slash(s string) (v float64, n int, bad bool) {
	a := digits(s)
	if a == 0 || a > 4 || a+1 >= len(s) || s[a] != '/' {
		return 0, 0, false
	}
	d := digits(s[a+1:])
	if d == 0 || d > 4 {
		return 0, 0, false
	}
	top, _ := strconv.Atoi(s[:a])
	bottom, _ := strconv.Atoi(s[a+1 : a+1+d])
	if bottom == 0 {
		return 0, a + 1 + d, true
	}
	return float64(top) / float64(bottom), a + 1 + d, false
}

// exponent reads e-3, × 10^-3 or ×10⁻³ and returns its bytes, 0 if none; far
// reports one too large to hold.
func exponent(s string) (exp, n int, far bool) {
	if s == "" {
		return 0, 0, false
	}
	if s[0]|0x20 == 'e' {
		return exponentDigits(s, 1)
	}
	i := skipSpaces(s, 0)
	r, size := utf8.DecodeRuneInString(s[i:])
	switch r {
	case '×', 'x', '*', '·', '⋅':
	default:
		return 0, 0, false
	}
	i = skipSpaces(s, i+size)
	if i+2 >= len(s) || s[i] != '1' || s[i+1] != '0' {
		return 0, 0, false
	}
	i += 2
	if s[i] == '^' {
		return exponentDigits(s, i+1)
	}
	neg := false
	start := i
	for count := 0; ; count++ {
		r, size := utf8.DecodeRuneInString(s[i:])
		if r == '⁻' && i == start {
			neg = true
			i += size
			start = i
			continue
		}
		d := superscript(r)
		if d < 0 {
			if i == start {
				return 0, 0, false
			}
			break
		}
		if count > 4 {
			return 0, 0, true
		}
		exp = exp*10 + d
		i += size
	}
	if neg {
		exp = -exp
	}
	return exp, i, exp > 400 || exp < -400
}

// exponentDigits reads a signed exponent from byte i of s.
func exponentDigits(s string, i int) (exp, n int, far bool) {
	neg := false
	if r, size := utf8.DecodeRuneInString(s[i:]); r == '-' || r == '−' || r == '+' {
		neg = r != '+'
		i += size
	}
	d := digits(s[i:])
	if d == 0 {
		return 0, 0, false
	}
	if d > 4 {
		return 0, 0, true
	}
	exp, _ = strconv.Atoi(s[i : i+d])
	if neg {
		exp = -exp
	}
	return exp, i + d, false
}

func superscript(r rune) int {
	switch r {
	case '⁰':
		return 0
	case '¹':
		return 1
	case '²':
		return 2
	case '³':
		return 3
	case '⁴', '⁵', '⁶', '⁷', '⁸', '⁹':
		return int(r-'⁴') + 4
	}
	return -1
}

// skipSpaces returns the first byte from i on that is not a space of any kind.
func skipSpaces(s string, i int) int {
	for i < len(s) {
		switch c := s[i]; {
		case c == ' ' || c == '\t' || c == '\n' || c == '\r':
			i++
		case c == 0xC2 && i+1 < len(s) && s[i+1] == 0xA0: // no-break space
			i += 2
		case c == 0xE2 && i+2 < len(s) && s[i+1] == 0x80 && (s[i+2] == 0xAF || s[i+2] >= 0x80 && s[i+2] <= 0x8A): // narrow and thin spaces
			i += 3
		default:
			return i
		}
	}
	return i
}
