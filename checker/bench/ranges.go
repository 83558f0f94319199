package bench

import (
	"math"
	"strings"

	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
)

// ends are the ends of a range that is written, as factors on the middle that
// the ledger holds, with the words it is written in. No range gives ones.
type ends struct {
	low, high float64
	raw       string
}

func (e ends) ranged() bool { return e.raw != "" }

// atEnd is the temperature at which a step that is written at a range leaves its
// vessel, °C: the warm end of a range of more than 10 K, along which it is let come
// up, as one says -78 to 0 °C; the middle of a narrow one, which is what a bath
// swings by.
func atEnd(f *procedure.Figure) (float64, bool) {
	if f == nil || !f.Known() {
		return 0, false
	}
	if q := f.Quantity; !math.IsInf(q.Low, 0) && !math.IsInf(q.High, 0) && q.High-q.Low > 10 {
		return q.High, true
	}
	return f.Value(), true
}

// upper and lower name the end that is judged, for a figure's assumption.
func (e ends) upper() string { return "the upper end of " + e.raw }
func (e ends) lower() string { return "the lower end of " + e.raw }

// endsOf reads a quantity: 15–20 mL is 0.857 to 1.143 of its middle. A floor, a
// ceiling and a single figure have none.
func endsOf(q quantity.Quantity) ends {
	mid := q.Value()
	if !q.Known() || math.IsInf(q.Low, 0) || math.IsInf(q.High, 0) || !(q.High > q.Low) || !(mid > 0) || !(q.Low > 0) {
		return ends{1, 1, ""}
	}
	return ends{q.Low / mid, q.High / mid, strings.TrimSpace(q.Raw)}
}

func (e ends) times(o ends) ends {
	raw := e.raw
	if o.raw != "" {
		if raw != "" {
			raw += " and "
		}
		raw += o.raw
	}
	return ends{e.low * o.low, e.high * o.high, raw}
}

// amountEnds are the ends of what a row holds: of its amount, and of its
// strength where that decides the moles. Of several expressions of one amount the
// first that has a range counts.
func (m *material) amountEnds(strength bool) ends {
	e := ends{1, 1, ""}
	if m == nil || m.row == nil {
		return e
	}
	if m.row.Amount.Is() {
		for _, q := range m.row.Amount.All {
			if x := endsOf(q); x.ranged() {
				e = x
				break
			}
		}
	}
	if s := m.row.Solution; strength && s != nil {
		e = e.times(endsOf(s.Strength))
	}
	return e
}

// molesEnds are the ends of all that the table lists of a species.
func (b *Bench) molesEnds(sp *species) ends {
	for _, m := range b.materials {
		if m.sp == sp {
			if e := m.amountEnds(true); e.ranged() {
				return e
			}
		}
	}
	return ends{1, 1, ""}
}

// spareML is the liquid that a vessel holds more than its middle volume when
// every range that is written comes out at its upper end, mL, with the ranges.
func (v *vessel) spareML() (ml float64, raw string) {
	if v.ranges == nil {
		return 0, ""
	}
	said := map[string]bool{}
	for _, p := range v.contents {
		if p.ml <= 0 {
			continue
		}
		if e := v.ranges(p.from); e.ranged() {
			ml += p.ml * (e.high - 1)
			if !said[e.raw] {
				said[e.raw] = true
				raw = join(raw, e.raw)
			}
		}
	}
	return ml, raw
}

func join(a, b string) string {
	if a == "" {
		return b
	}
	return a + ", " + b
}

// volumeEnds are the ends of the volume of a row by name.
func (b *Bench) volumeEnds(from string) ends {
	if b.anyRange {
		for _, m := range b.materials {
			if m.name == from {
				return m.amountEnds(false)
			}
		}
	}
	return ends{1, 1, ""}
}

// worst raises the heat and gas of an addition to the upper end of what is added.
func (f *AdditionFacts) worst(e ends) {
	if !e.ranged() {
		return
	}
	for _, n := range []*Num{&f.HeatKJ, &f.RiseK, &f.Watts, &f.GasL, &f.VapourL, &f.VapourLPerMin, &f.BoilsOffML} {
		if n.Known && n.V > 0 {
			n.V *= e.high
			n.Note = word(n.Assumed(), e.upper())
		}
	}
}

// endsIn are the ends of the moles of what an addition brings.
func (b *Bench) endsIn(f *AdditionFacts) ends {
	for _, m := range b.materials {
		if m.name == f.Material.Name {
			return m.amountEnds(true)
		}
	}
	return ends{1, 1, ""}
}

// highest is the upper end of a figure that is written.
func highest(f *procedure.Figure) Num {
	if e := endsOf(f.Quantity); e.ranged() {
		return Assume(f.High, e.upper())
	}
	return Got(f.Value())
}
