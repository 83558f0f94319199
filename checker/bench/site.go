package bench

import (
	"strconv"
	"strings"

	"ketyl/checker/document"
	"ketyl/checker/substance"
)

func figure(v *substance.Value, def float64) float64 {
	if n := value(v); n.Known {
		return n.V
	}
	return def
}

// siteFigure is one of the site's limits by name, as a plain figure.
func (b *Bench) siteFigure(name string, def float64) float64 {
	v, ok := b.site.Limits[name]
	if !ok {
		return def
	}
	n := figure(&v, def)
	if v.Unit == "%" {
		n /= 100
	}
	return n
}

func (b *Bench) roomT() float64 { return figure(b.site.Temperature, 22) }

func (b *Bench) humidity() float64 {
	h := figure(b.site.Humidity, 50)
	if h > 1 {
		h /= 100
	}
	return h
}

func (b *Bench) roomAir() Gases { return Air(b.humidity(), b.roomT()) }

func (b *Bench) pumpMbar() float64 { return figure(b.site.Pump, 1) }

func (b *Bench) aspiratorMbar() float64 { return figure(b.site.Aspirator, 25) }

// impurity of the inert gas as a mol fraction, from its purity in %.
func (b *Bench) impurity(p *piece) float64 {
	if p != nil && p.row != nil && p.row.Purity != nil && p.row.Purity.Known() {
		if v := p.row.Purity.Value(); v > 0 && v <= 1 {
			return 1 - v
		}
	}
	v := figure(b.site.GasPurity, 99.998)
	return max(0, 1-v/100)
}

func (b *Bench) gradePPM(grade string, sp *species) (float64, bool) {
	if sp != nil {
		if g, ok := b.site.Grades[sp.name][grade]; ok {
			if n := value(&g); n.Known {
				return n.V, true
			}
		}
	}
	if g, ok := b.site.GradeDefault[grade]; ok {
		if n := value(&g); n.Known {
			return n.V, true
		}
	}
	return 0, false
}

func nearest(word string, among []string) string { return document.Nearest(word, among) }

func quoted(s string) string { return strconv.Quote(s) }

func has(s string, words ...string) bool {
	if s == "" {
		return false
	}
	if len(s) > shortText {
		return hasLower(strings.ToLower(s), words...)
	}
	var letters uint64
	capital := false
	for i := range len(s) {
		c := s[i]
		if c < 'A' || c > 'Z' && c < 0x80 {
			letters |= 1 << (c & 63)
			continue
		}
		capital = true
		letters |= 1<<(c&63) | 1<<((c|0x20)&63)
		if c >= 0x80 { // what it becomes in lower case may be any letter
			letters = ^uint64(0)
			break
		}
	}
	if capital {
		s = strings.ToLower(s)
	}
	return hasOf(s, letters, words)
}

// shortText is the length, in bytes, below which the letters of a text tell
// quickly which words cannot stand in it.
const shortText = 96

// hasOf is hasLower for a text of which the letters are known: bit c&63 for each
// byte c.
func hasOf(s string, letters uint64, words []string) bool {
	for _, w := range words {
		if n := len(w); n > 0 && (n > len(s) || letters>>(w[0]&63)&1 == 0 || letters>>(w[n-1]&63)&1 == 0) {
			continue
		}
		if strings.Contains(s, w) {
			return true
		}
	}
	return false
}

// hasLower is has for a text that is in lower case already.
func hasLower(s string, words ...string) bool {
	for _, w := range words {
		if strings.Contains(s, w) {
			return true
		}
	}
	return false
}

// firstOf is the first byte of a name with which beginsAs is asked, 0 for none.
func firstOf(name string) byte {
	if name == "" {
		return 0
	}
	return name[0] | 0x20
}

// beginsAs reports that a name may be, but for its case, one that begins with a
// byte.
func beginsAs(name string, first byte) bool {
	if name == "" {
		return first == 0
	}
	x := name[0] | 0x20
	return x == first || (x|first) >= 0x80
}

// sameName is strings.EqualFold, which most pairs of names need not be asked: the
// first and last letters tell.
func sameName(a, b string) bool {
	if !beginsAs(a, firstOf(b)) {
		return false
	}
	if a == b {
		return true
	}
	if a == "" || b == "" {
		return false
	}
	x, y := a[len(a)-1]|0x20, b[len(b)-1]|0x20
	return (x == y || x|y >= 0x80) && strings.EqualFold(a, b)
}
