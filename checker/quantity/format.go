package quantity

import (
	"math"
	"strconv"
	"strings"
)

// step is one unit in which a dimension is printed: it is taken from size in
// the base unit upwards.
type step struct {
	from   float64 // smallest magnitude, base unit, already rounded to 3 digits
	factor float64 // base units in one of this unit
	unit   string
}

var steps = [dimensions][]step{
	Mass:              {{0, 1e-6, "µg"}, {1e-4, 1e-3, "mg"}, {0.1, 1, "g"}, {1e3, 1e3, "kg"}},
	Volume:            {{0, 1e-3, "µL"}, {0.1, 1, "mL"}, {1e3, 1e3, "L"}},
	Amount:            {{0, 1e-3, "µmol"}, {1e-2, 1, "mmol"}, {1e3, 1e3, "mol"}},
	Molarity:          {{0, 1e-6, "µM"}, {1e-4, 1e-3, "mM"}, {1e-2, 1, "M"}},
	MassConcentration: {{0, 1e-6, "µg/mL"}, {1e-4, 1e-3, "mg/mL"}, {0.1, 1, "g/mL"}},
	Fraction:          {{0, 1e-9, "ppb"}, {1e-7, 1e-6, "ppm"}, {1e-3, 1e-2, "%"}},
	Temperature:       {{0, 1, "°C"}},
	TemperatureRange:  {{0, 1, "K"}},
	Pressure:          {{0, 1, "mbar"}, {1e3, 1e3, "bar"}},
	Time:              {{0, 1.0 / 60, "s"}, {1, 1, "min"}, {120, 60, "h"}, {72*60 + 1, 1440, "d"}},
	Flow:              {{0, 1.0 / 60, "mL/h"}, {0.1, 1, "mL/min"}, {1e3, 1e3, "L/min"}},
	DripRate:          {{0, 1, "drops/min"}, {60, 60, "drops/s"}},
	Equivalents:       {{0, 1, "equiv"}},
	Count:             {{0, 1, ""}},
	MassRate:          {{0, 1e-3, "mg/min"}, {0.1, 1, "g/min"}},
	AmountRate:        {{0, 1e-3, "µmol/min"}, {1e-2, 1, "mmol/min"}},
	Length:            {{0, 1e-3, "µm"}, {0.1, 1, "mm"}, {100, 10, "cm"}, {1e3, 1e3, "m"}},
	Power:             {{0, 1e-3, "mW"}, {0.1, 1, "W"}, {1e3, 1e3, "kW"}},
	PerTime:           {{0, 1.0 / 60, "/h"}, {1, 1, "/min"}},
}

// Format prints v, in the base unit of dim, as a chemist writes it, with at
// most three significant digits: 0.62 mmol, 1.3 L, 4 ppm, 45 min, −78 °C.
// What is not a number is printed as "unknown".
func Format(v float64, dim Dimension) string {
	if dim >= dimensions || math.IsNaN(v) {
		return "unknown"
	}
	list := steps[dim]
	if len(list) == 0 {
		return FormatNumber(v)
	}
	r := math.Abs(round3(v))
	use := list[0]
	for _, s := range list[1:] {
		if r >= s.from {
			use = s
		}
	}
	switch {
	case r == 0:
		// Nothing is printed in the unit of ordinary work, not the smallest.
		for _, s := range list {
			if s.factor == 1 {
				use = s
			}
		}
		if dim == Fraction {
			use = list[len(list)-1]
		}
	case dim == Time && (r == 60 || r == 90):
		use = step{0, 60, "h"}
	}
	text := FormatNumber(v / use.factor)
	if use.unit == "" {
		return text
	}
	return text + " " + use.unit
}

// round3 rounds to three significant digits.
func round3(v float64) float64 {
	if v == 0 || math.IsInf(v, 0) || math.IsNaN(v) {
		return v
	}
	if v == math.Trunc(v) && math.Abs(v) < 1000 {
		return v // has no more than three
	}
	var buf [32]byte
	r, err := strconv.ParseFloat(string(strconv.AppendFloat(buf[:0], v, 'g', 3, 64)), 64)
	if err != nil {
		return v
	}
	return r
}

// FormatNumber prints v with at most three significant digits, without
// trailing zeros, and without an exponent from 1e-4 to 1e7.
func FormatNumber(v float64) string {
	switch {
	case math.IsNaN(v):
		return "unknown"
	case math.IsInf(v, 1):
		return "∞"
	case math.IsInf(v, -1):
		return "−∞"
	}
	return decimal(round3(v))
}

// decimal prints v in full, with the true minus sign, and with an exponent
// only where the zeros would not be read.
func decimal(v float64) string {
	if v == 0 {
		return "0"
	}
	sign := ""
	if v < 0 {
		sign, v = "−", -v
	}
	if v >= 1e-4 && v < 1e15 {
		return sign + strconv.FormatFloat(v, 'f', -1, 64)
	}
	s := strconv.FormatFloat(v, 'e', -1, 64)
	mantissa, exponent, _ := strings.Cut(s, "e")
	n, err := strconv.Atoi(exponent)
	if err != nil {
		return sign + s
	}
	return sign + mantissa + " × 10^" + strings.Replace(strconv.Itoa(n), "-", "−", 1)
}
