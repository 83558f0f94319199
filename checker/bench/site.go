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
	return hasLower(strings.ToLower(s), words...)
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
