// Package quantity reads and prints the figures chemists write: 6.9 mL,
// −78 °C, 0 to 5 °C, about 20 min, overnight, 3 × 20 mL, 1.6 M in hexanes,
// 20 % m/v, 0.1 torr, 2 drops/s, 1.2 equiv of benzaldehyde, excess.
//
// Every figure is kept in the base unit of its dimension (see Quantity), so
// that arithmetic needs no further conversion and cannot mix dimensions. A
// text that cannot be read is an *Error with the byte at which reading
// stopped and an example that can be read. No input panics, and every input
// is read in time bounded by its length.
package quantity

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Dimension is what a figure measures. Only figures of one dimension can be
// added, compared or converted.
type Dimension uint8

// The dimensions, each with the base unit in which its figures are kept.
const (
	None              Dimension = iota
	Mass                        // g
	Volume                      // mL
	Amount                      // mmol
	Molarity                    // mol/L; normality (unit N) is kept here too but never converted
	MassConcentration           // g/mL
	Fraction                    // %, ppm, ratio: dimensionless, 1 % = 0.01
	Temperature                 // °C
	TemperatureRange            // a difference of temperature, K
	Pressure                    // mbar
	Time                        // min
	Flow                        // mL/min
	DripRate                    // drops/min
	Equivalents                 // equiv
	Count                       // a bare number, or pieces, drops, crystals
	MassRate                    // g/min
	AmountRate                  // mmol/min
	Length                      // mm
	Power                       // W
	PerTime                     // 1/min
	Word                        // excess, saturated, as assigned: no figure
	dimensions
)

// kinds holds, by dimension: the chemist's word, the base unit's symbol and
// an example that can be read.
var kinds = [dimensions]struct{ word, base, example string }{
	None:              {"nothing", "", "6.9 mL"},
	Mass:              {"a mass", "g", "1.06 g"},
	Volume:            {"a volume", "mL", "6.9 mL"},
	Amount:            {"an amount of substance", "mmol", "10.0 mmol"},
	Molarity:          {"a molar concentration", "M", "1.6 M"},
	MassConcentration: {"a mass concentration", "g/mL", "50 mg/mL"},
	Fraction:          {"a fraction", "", "5 % w/w"},
	Temperature:       {"a temperature", "°C", "-78 °C"},
	TemperatureRange:  {"a temperature difference", "K", "5 K"},
	Pressure:          {"a pressure", "mbar", "0.1 torr"},
	Time:              {"a time", "min", "20 min"},
	Flow:              {"a flow", "mL/min", "50 mL/min"},
	DripRate:          {"a drip rate", "drops/min", "2 drops/s"},
	Equivalents:       {"a number of equivalents", "equiv", "1.2 equiv"},
	Count:             {"a number", "", "3"},
	MassRate:          {"a mass per time", "g/min", "1 g/min"},
	AmountRate:        {"an amount per time", "mmol/min", "2 mmol/min"},
	Length:            {"a length", "mm", "15 cm"},
	Power:             {"a power", "W", "100 W"},
	PerTime:           {"a number per time", "/min", "6 air changes/h"},
	Word:              {"a word without a figure", "", "excess"},
}

// String returns the chemist's word with its article: "a volume".
func (d Dimension) String() string {
	if d >= dimensions {
		return "an unknown dimension"
	}
	return kinds[d].word
}

// Quantity is one written figure.
//
// Low and High are in the base unit of Dim: g, mL, mmol, mol/L, g/mL,
// fraction of one, °C, K, mbar, min, mL/min, drops/min, equiv, 1, g/min,
// mmol/min, mm, W, 1/min. They are equal for a single figure. A ceiling ("up
// to", "below") has Low 0, or −Inf for a temperature, and AtMost; a floor ("at
// least", "upwards of") has High +Inf and AtLeast.
type Quantity struct {
	Raw             string    // as written
	Dim             Dimension // what is measured
	Low, High       float64   // one portion, in the base unit
	About           bool      // about, ca., ~, ≈, approximately, circa
	AtLeast, AtMost bool      // a floor; a ceiling
	Times           int       // 3 for 3 x 20 mL, where Low and High are the single portion; else 1
	Unit            string    // as written, in the table's spelling; "" if none
	Basis           string    // of a Fraction: "w/w", "v/v", "m/v", "mol" or ""
	Of              string    // "benzaldehyde" in "1.2 equiv of benzaldehyde"
	Word            string    // the word that carried or qualified it: "overnight", "excess", "dropwise"
	Assumed         string    // not empty when a figure was put on a word, with its source
}

// Error says where reading stopped and what could have stood there.
type Error struct {
	At       int    // byte offset in the text, 0 ≤ At ≤ len(text)
	Found    string // what stands there; "" at the end of the text
	After    string // what stands before the end, where Found is ""
	Expected string // what could stand there
	Example  string // a text that can be read
}

// Error returns the message in lower case, without a full stop.
func (e *Error) Error() string {
	var b strings.Builder
	if e.Found == "" {
		b.WriteString("found nothing more")
		if e.After != "" && len(e.After) < 40 {
			b.WriteString(" after ")
			b.WriteString(strconv.Quote(e.After))
		}
	} else {
		b.WriteString("found ")
		b.WriteString(strconv.Quote(e.Found))
	}
	b.WriteString(", expected ")
	b.WriteString(e.Expected)
	if e.Example != "" {
		b.WriteString("; for example ")
		b.WriteString(e.Example)
	}
	return b.String()
}

// Value returns the single portion in the base unit: the middle of Low and
// High. A floor or a ceiling gives the figure that was written, and
// "overnight" its usual 16 h. It is NaN where there is no figure.
func (q Quantity) Value() float64 {
	switch {
	case !q.Known():
		return math.NaN()
	case q.AtMost, math.IsInf(q.Low, 0):
		return q.High
	case q.AtLeast, math.IsInf(q.High, 0):
		return q.Low
	case q.Low == q.High:
		return q.Low
	case q.Word == overnightWord && q.Low == overnightLow && q.High == overnightHigh:
		return overnightUsual
	}
	return q.Low + (q.High-q.Low)/2
}

func (q Quantity) times() float64 {
	if q.Times < 1 {
		return 1
	}
	return float64(q.Times)
}

// Total returns Value times the number of portions, in the base unit.
func (q Quantity) Total() float64 { return q.Value() * q.times() }

// Max returns the total at the upper end, in the base unit; +Inf for a floor,
// NaN where there is no figure.
func (q Quantity) Max() float64 {
	if !q.Known() {
		return math.NaN()
	}
	return q.High * q.times()
}

// Min returns the total at the lower end, in the base unit; −Inf for a ceiling
// on a temperature, NaN where there is no figure.
func (q Quantity) Min() float64 {
	if !q.Known() {
		return math.NaN()
	}
	return q.Low * q.times()
}

// Known reports whether the quantity has at least one finite figure.
func (q Quantity) Known() bool {
	if q.Dim == None || q.Dim == Word || q.Dim >= dimensions || math.IsNaN(q.Low) || math.IsNaN(q.High) {
		return false
	}
	return !math.IsInf(q.Low, 0) || !math.IsInf(q.High, 0)
}

// In returns Value in a named unit of the same dimension. It is an error if
// there is no figure, the unit is unknown or of another dimension, or the
// conversion would be between normality and molarity.
func (q Quantity) In(name string) (float64, error) {
	if !q.Known() {
		return 0, fmt.Errorf("%q has no figure to give in %s", q.Raw, name)
	}
	u, err := unitNamed(name, maskOf(q.Dim))
	if err != nil {
		return 0, err
	}
	if u.dim != q.Dim {
		return 0, fmt.Errorf("%s is a unit of %s, not of %s", name, bare(u.dim), bare(q.Dim))
	}
	if q.Dim == Molarity && (u.sym == "N") != (q.Unit == "N") {
		return 0, errNormality
	}
	return u.fromBase(q.Value()), nil
}

// Convert returns v, given in one unit, in another of the same dimension.
// Temperatures convert with their zero points; normality does not convert to
// molarity, which needs the equivalents per mole.
func Convert(v float64, from, to string) (float64, error) {
	f, err := unitNamed(from, 0)
	if err != nil {
		return 0, err
	}
	t, err := unitNamed(to, maskOf(f.dim))
	if err != nil {
		return 0, err
	}
	if f.dim != t.dim && f.alt != None {
		// "mm" and "K" serve two dimensions; the other unit decides.
		if g, gerr := unitNamed(from, maskOf(t.dim)); gerr == nil {
			f = g
		}
	}
	if f.dim != t.dim {
		return 0, fmt.Errorf("%s measures %s and %s measures %s", from, f.dim, to, t.dim)
	}
	if f.dim == Molarity && (f.sym == "N") != (t.sym == "N") {
		return 0, errNormality
	}
	return t.fromBase(f.toBase(v)), nil
}

var errNormality = fmt.Errorf("normality converts to molarity only with the equivalents per mole of the substance")

// bare drops the article of a dimension's word.
func bare(d Dimension) string {
	_, after, ok := strings.Cut(d.String(), " ")
	if !ok {
		return d.String()
	}
	return after
}

// Plus adds the totals of two quantities of one dimension. A temperature takes
// only a temperature difference. The sum is one portion in the unit of q.
func (q Quantity) Plus(r Quantity) (Quantity, error) {
	dim := q.Dim
	switch {
	case !q.Known() || !r.Known():
		return Quantity{}, fmt.Errorf("cannot add %s to %s: one has no figure", r.label(), q.label())
	case q.Dim == Temperature && r.Dim == TemperatureRange:
	case q.Dim == TemperatureRange && r.Dim == Temperature:
		dim = Temperature
	case q.Dim != r.Dim:
		return Quantity{}, fmt.Errorf("cannot add %s to %s", r.Dim, q.Dim)
	case q.Dim == Temperature:
		return Quantity{}, fmt.Errorf("cannot add two temperatures; only a difference, such as 5 K, can be added")
	}
	if err := sameBasis(q, r); err != nil {
		return Quantity{}, err
	}
	s := combine(q, r, dim, q.Min()+r.Min(), q.Max()+r.Max())
	if !s.Known() {
		return Quantity{}, fmt.Errorf("cannot add %s to %s: neither end of the sum has a figure", r.label(), q.label())
	}
	return s, nil
}

// Minus takes the total of r from that of q. Two temperatures give a
// temperature difference. For anything that cannot be negative, a result that
// is wholly below zero is an error and a lower end below zero becomes zero.
func (q Quantity) Minus(r Quantity) (Quantity, error) {
	dim := q.Dim
	switch {
	case !q.Known() || !r.Known():
		return Quantity{}, fmt.Errorf("cannot take %s from %s: one has no figure", r.label(), q.label())
	case q.Dim == Temperature && r.Dim == Temperature:
		dim = TemperatureRange
	case q.Dim == Temperature && r.Dim == TemperatureRange:
	case q.Dim != r.Dim:
		return Quantity{}, fmt.Errorf("cannot take %s from %s", r.Dim, q.Dim)
	}
	if err := sameBasis(q, r); err != nil {
		return Quantity{}, err
	}
	low, high := q.Min()-r.Max(), q.Max()-r.Min()
	if !canBeNegative(dim) {
		if high < 0 {
			return Quantity{}, fmt.Errorf("cannot take %s from %s: less than nothing would be left", r.label(), q.label())
		}
		if low < 0 || math.IsNaN(low) {
			low = 0
		}
	}
	s := combine(q, r, dim, low, high)
	if !s.Known() {
		return Quantity{}, fmt.Errorf("cannot take %s from %s: neither end of the difference has a figure", r.label(), q.label())
	}
	return s, nil
}

// Scale multiplies each portion by f, a finite number. Words that stood for a
// figure are dropped; what was assumed stays on record. A temperature is not
// scaled, having no natural zero in °C, and is returned as it is.
func (q Quantity) Scale(f float64) Quantity {
	if !q.Known() || q.Dim == Temperature || math.IsNaN(f) || math.IsInf(f, 0) {
		return q
	}
	low, high := q.Low*f, q.High*f
	if f == 0 {
		low, high = 0, 0
		q.AtLeast, q.AtMost = false, false
	}
	if low > high {
		low, high = high, low
	}
	q.Low, q.High = low, high
	if lookupWord(q.Word).standsForFigure() {
		q.Word = ""
	}
	if q.Unit == "" && q.Dim != Count {
		q.Unit = kinds[q.Dim].base
	}
	q.Raw = ""
	q.Raw = q.String()
	return q
}

func combine(q, r Quantity, dim Dimension, low, high float64) Quantity {
	s := Quantity{Dim: dim, Low: low, High: high, Times: 1, About: q.About || r.About, Unit: q.Unit, Basis: q.Basis}
	if s.Basis == "" {
		s.Basis = r.Basis
	}
	if q.Of == r.Of {
		s.Of = q.Of
	}
	if q.Dim != dim || s.Unit == "" {
		s.Unit = r.Unit
		if r.Dim != dim || s.Unit == "" {
			s.Unit = kinds[dim].base
		}
	}
	s.AtLeast = math.IsInf(high, 1)
	s.AtMost = math.IsInf(low, -1) || (q.AtMost && r.AtMost && low == 0 && !canBeNegative(dim))
	s.Assumed = q.Assumed
	if r.Assumed != "" && r.Assumed != q.Assumed {
		if s.Assumed != "" {
			s.Assumed += "; "
		}
		s.Assumed += r.Assumed
	}
	s.Raw = s.String()
	return s
}

func sameBasis(q, r Quantity) error {
	if q.Dim == Molarity && r.Dim == Molarity && (q.Unit == "N") != (r.Unit == "N") {
		return errNormality
	}
	if q.Dim == Fraction && q.Basis != "" && r.Basis != "" && q.Basis != r.Basis {
		return fmt.Errorf("cannot combine a fraction %s with a fraction %s", q.Basis, r.Basis)
	}
	if q.Dim == Count && q.Unit != r.Unit && q.Unit != "" && r.Unit != "" {
		return fmt.Errorf("cannot combine %s with %s", plural(q.Unit, 2), plural(r.Unit, 2))
	}
	return nil
}

func canBeNegative(d Dimension) bool { return d == Temperature || d == TemperatureRange }

func (q Quantity) label() string {
	if q.Raw != "" {
		return strconv.Quote(q.Raw)
	}
	return q.Dim.String()
}
