package substance

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Constants of nature: the gas constant from CODATA 2018 (exact), the standard
// atmosphere and zero Celsius by definition.
const (
	gasConstant = 8.314462618 // J/(mol K)
	atmosphere  = 101325.0    // Pa
	zeroCelsius = 273.15      // K
)

// Kelvin reads a temperature such as "25 °C", "298 K" or "77 °F", in kelvin.
func kelvin(s string) (float64, bool) {
	v, unit, ok := numberUnit(s)
	if !ok {
		return 0, false
	}
	switch unit {
	case "K":
	case "°C", "C", "":
		v += zeroCelsius
	case "°F", "F":
		v = (v-32)/1.8 + zeroCelsius
	default:
		return 0, false
	}
	return v, v > 0
}

func numberUnit(s string) (float64, string, bool) {
	s = strings.ReplaceAll(strings.TrimSpace(s), "−", "-")
	end := 0
	for end < len(s) && (isDigit(s[end]) || s[end] == '.' || end == 0 && (s[end] == '-' || s[end] == '+')) {
		end++
	}
	v, err := strconv.ParseFloat(s[:end], 64)
	return v, strings.TrimSpace(s[end:]), err == nil
}

// number gives a value as one figure: itself, or the middle of its span.
func (v *Value) number() (float64, bool) {
	switch {
	case v == nil:
		return 0, false
	case v.Value != nil:
		return *v.Value, true
	case v.Low != nil && v.High != nil:
		return (*v.Low + *v.High) / 2, true
	case v.Low != nil:
		return *v.Low, true
	case v.High != nil:
		return *v.High, true
	}
	return 0, false
}

// Celsius gives a temperature value in °C.
func (v *Value) Celsius() (float64, bool) {
	n, ok := v.number()
	if !ok {
		return 0, false
	}
	k, ok := kelvin(fmt.Sprintf("%g %s", n, v.Unit))
	return k - zeroCelsius, ok
}

// Pascal gives a pressure value in Pa.
func (v *Value) pascal() (float64, bool) {
	n, ok := v.number()
	if !ok {
		return 0, false
	}
	f, ok := map[string]float64{"Pa": 1, "hPa": 100, "mbar": 100, "kPa": 1000, "bar": 1e5, "atm": atmosphere, "torr": atmosphere / 760, "mmHg": 133.322387415, "MPa": 1e6}[v.Unit]
	return n * f, ok
}

// DensityAt20 is the density in g/mL at 20 °C. A figure given within 10 K of
// 20 °C stands as it is: a liquid's density changes by about a thousandth per
// kelvin. A figure for another temperature (a liquefied gas) is not used.
func (s *Substance) DensityAt20() (float64, bool) {
	n, ok := s.Density.number()
	if !ok {
		return 0, false
	}
	if s.Density.At != "" {
		if t, ok := kelvin(s.Density.At); !ok || math.Abs(t-zeroCelsius-20) > 10 {
			return 0, false
		}
	}
	switch s.Density.Unit {
	case "g/mL", "g/cm3", "g/cm³", "kg/L", "g/ml", "g/cc":
		return n, true
	case "kg/m3", "kg/m³", "g/L":
		return n / 1000, true
	}
	return 0, false
}

// extended is how far, in K, an Antoine equation is trusted beyond its range:
// nearer the truth there than a constant heat of vaporisation.
const extended = 50

// pressure is the vapour pressure in Pa with the way it was got.
func (s *Substance) pressure(t float64) (pa float64, basis string, ok bool) {
	if a := s.Antoine; a != nil && (a.Form == "" || a.Form == "log10 Pa K") {
		from, ok1 := kelvin(a.From)
		to, ok2 := kelvin(a.To)
		if ok1 && ok2 && t >= from && t <= to && t+a.C > 0 {
			return math.Pow(10, a.A-a.B/(t+a.C)), "Antoine equation", true
		}
	}
	if p, ok := s.ListedPressure.pascal(); ok && s.ListedPressure != nil {
		if at, ok := kelvin(s.ListedPressure.At); ok {
			tb, okb := s.BoilingPoint.Celsius()
			if okb && math.Abs(tb+zeroCelsius-at) > 5 && p > 0 && s.BoilingPoint.At == "" {
				tb += zeroCelsius
				slope := math.Log(atmosphere/p) / (1/at - 1/tb)
				return atmosphere * math.Exp(-slope*(1/t-1/tb)), "Clausius–Clapeyron through the boiling point and one vapour pressure", true
			}
			if math.Abs(t-at) < 0.5 {
				return p, "vapour pressure as listed", true
			}
		}
	}
	if a := s.Antoine; a != nil && (a.Form == "" || a.Form == "log10 Pa K") {
		from, ok1 := kelvin(a.From)
		to, ok2 := kelvin(a.To)
		if ok1 && ok2 && t >= from-extended && t <= to+extended && t+a.C > 50 {
			return math.Pow(10, a.A-a.B/(t+a.C)), "Antoine equation, extended beyond its range", true
		}
	}
	if h, ok := s.heatOfVaporisation(); ok {
		if tb, ok := s.BoilingPoint.Celsius(); ok && !strings.Contains(s.BoilingPoint.At, "bar") && s.BoilingPoint.At == "" {
			tb += zeroCelsius
			// Clausius and Clapeyron, with a constant heat of vaporisation.
			return atmosphere * math.Exp(-h/gasConstant*(1/t-1/tb)), "Clausius–Clapeyron from the boiling point and the heat of vaporisation", true
		}
	}
	return 0, "", false
}

func (s *Substance) heatOfVaporisation() (float64, bool) {
	n, ok := s.HeatOfVaporisation.number()
	if !ok {
		return 0, false
	}
	switch s.HeatOfVaporisation.Unit {
	case "kJ/mol":
		return n * 1000, true
	case "J/mol":
		return n, true
	}
	return 0, false
}

// VapourPressure is the vapour pressure in mbar at a temperature in °C: by the
// Antoine equation within its range, else by Clausius–Clapeyron through the
// boiling point and one listed vapour pressure, by the Antoine equation up to 50
// K beyond its range, or by Clausius–Clapeyron from the boiling point and the heat
// of vaporisation. It is false when the entry has too little.
func (s *Substance) VapourPressure(tC float64) (mbar float64, ok bool) {
	mbar, _, ok = s.VapourPressureBasis(tC)
	return mbar, ok
}

// VapourPressureBasis is VapourPressure with the way the figure was got.
func (s *Substance) VapourPressureBasis(tC float64) (mbar float64, basis string, ok bool) {
	t := tC + zeroCelsius
	if t <= 0 || math.IsNaN(t) || math.IsInf(t, 0) {
		return 0, "", false
	}
	pa, basis, ok := s.pressure(t)
	return pa / 100, basis, ok
}

// BoilingAt is the boiling temperature in °C under a pressure in mbar, from the
// same equations; it is false when they are lacking or the answer lies beyond
// 250 K from the normal boiling point.
func (s *Substance) BoilingAt(mbar float64) (tC float64, ok bool) {
	if !(mbar > 0) || math.IsInf(mbar, 0) {
		return 0, false
	}
	middle, ok := s.BoilingPoint.Celsius()
	if !ok {
		if s.Antoine == nil {
			return 0, false
		}
		to, ok := kelvin(s.Antoine.To)
		if !ok {
			return 0, false
		}
		middle = to - zeroCelsius
	}
	low, high := math.Max(middle-250, 5-zeroCelsius), middle+250
	if p, ok := s.VapourPressure(low); !ok || p > mbar {
		return 0, false
	}
	if p, ok := s.VapourPressure(high); !ok || p < mbar {
		return 0, false
	}
	for high-low > 0.001 {
		mid := (low + high) / 2
		p, ok := s.VapourPressure(mid)
		if !ok {
			return 0, false
		}
		if p < mbar {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2, true
}
