package quantity

import (
	"math"
	"strconv"
	"strings"
)

// String prints the quantity canonically: "about 3 × 20 mL", "−78 to −70 °C",
// "at least 24 h", "20 % m/v", "1.2 equiv of benzaldehyde". What Parse or
// ParseAs read is read again from it with every field but Raw the same; what
// arithmetic made is the same to fifteen figures.
func (q Quantity) String() string {
	var buf [96]byte
	b := buf[:0]
	if q.About {
		b = append(b, "about "...)
	}
	switch {
	case q.AtLeast:
		b = append(b, "at least "...)
	case q.AtMost && canBeNegative(q.Dim):
		b = append(b, "not above "...)
	case q.AtMost:
		b = append(b, "up to "...)
	}
	w := lookupWord(q.Word)
	switch {
	case q.Dim == Word:
		b = append(b, q.Word...)
	case w.standsForFigure() && w.kind != wordVague:
		b = append(b, q.Word...)
	case !q.Known():
		return "unknown"
	default:
		b = q.appendFigures(b, w)
		if q.Word != "" && !w.standsForFigure() {
			if q.Dim == Count && q.Unit == "" {
				b = append(b, ',') // "6 in" would be inches to the eye
			}
			b = append(b, ' ')
			b = append(b, q.Word...)
		}
	}
	if q.Of != "" {
		b = append(b, " of "...)
		b = append(b, q.Of...)
	}
	return string(b)
}

func (q Quantity) appendFigures(b []byte, w *word) []byte {
	vague := w != nil && w.kind == wordVague
	switch {
	case vague && q.Times > 1:
		b = append(b, q.Word...)
		b = append(b, " × "...)
	case q.Times > 1:
		b = strconv.AppendInt(b, int64(q.Times), 10)
		b = append(b, " × "...)
	}
	m := measure{dim: q.Dim, factor: 1}
	if q.Dim == TemperatureRange {
		b = append(b, "Δ"...)
	}
	unit := q.Unit
	if unit == ratioUnit && q.Dim == Fraction {
		b = appendRatio(b, q.Value())
		if q.Basis != "" {
			b = append(b, ' ')
			b = append(b, q.Basis...)
		}
		return b
	}
	if unit != "" {
		if got, err := unitNamed(unit, maskOf(q.Dim)); err == nil && got.dim == q.Dim {
			m = *got
		} else {
			unit = kinds[q.Dim].base
		}
	} else if q.Dim != Count {
		unit = kinds[q.Dim].base
	}
	if q.Dim == Fraction && unit == "" {
		unit, m.factor = "%", 1e-2
	}
	low, high := q.Low, q.High
	switch {
	case math.IsInf(high, 0):
		high = low
	case math.IsInf(low, 0), q.AtMost:
		low = high
	}
	switch {
	case vague && q.Times <= 1:
		b = append(b, q.Word...)
	case low == high:
		b = append(b, m.write(low)...)
	default:
		l, h := m.write(low), m.write(high)
		b = append(b, l...)
		if q.Dim == Temperature || low < 0 || strings.Contains(l, " ") || strings.Contains(h, " ") {
			b = append(b, " to "...)
		} else {
			b = append(b, "–"...)
		}
		b = append(b, h...)
	}
	if unit != "" {
		b = append(b, ' ')
		if (q.Dim == Count || unit == "week") && (high != 1 || vague) {
			unit = plural(unit, 2)
		}
		b = append(b, unit...)
	}
	if q.Dim == Fraction && q.Basis != "" && !m.ratio {
		b = append(b, ' ')
		b = append(b, q.Basis...)
	}
	return b
}

func appendRatio(b []byte, v float64) []byte {
	if r := math.Round(1 / v); v > 0 && v < 1 && r < 1e6 && 1/r == v {
		b = append(b, "1:"...)
		return strconv.AppendFloat(b, r, 'f', -1, 64)
	}
	b = append(b, decimal(v)...)
	return append(b, ":1"...)
}

// write prints the figure which, read in the unit, gives base again: the
// shortest one, or the nearest if there is none.
func (m *measure) write(base float64) string {
	v := m.fromBase(base)
	for _, figures := range [...]int{12, 15, 16, 17} {
		var buf [32]byte
		c, err := strconv.ParseFloat(string(strconv.AppendFloat(buf[:0], v, 'g', figures, 64)), 64)
		if err == nil && m.toBase(c) == base {
			return decimal(c)
		}
	}
	// v is off the figure that was read by the rounding of one product and
	// one quotient, so that figure is among its nearest neighbours.
	up, down := v, v
	for range 4 {
		up, down = math.Nextafter(up, math.Inf(1)), math.Nextafter(down, math.Inf(-1))
		if m.toBase(up) == base {
			return decimal(up)
		}
		if m.toBase(down) == base {
			return decimal(down)
		}
	}
	return decimal(v)
}
