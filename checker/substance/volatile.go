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

// liquidDensityForm is the one form of a liquid density that is read.
const liquidDensityForm = "mol/m3, DIPPR 105"

// At is the density in mol/m³ at a temperature in °C. Above 0.95 of the critical
// temperature, where no glass holds the liquid, it stays as it is there.
func (d *LiquidDensity) At(tC float64) float64 {
	x := math.Min(tC+zeroCelsius, 0.95*d.C3) / d.C3
	return d.C1 / math.Pow(d.C2, 1+math.Pow(1-x, d.C4))
}

// WaterDensity is the density of water in kg/m³ at 1 atm between 0 and 150 °C by
// Kell, J. Chem. Eng. Data 1975, 20, 97 (equation 16); the end of that range stands
// for what lies beyond it. It is densest at 4 °C.
func WaterDensity(tC float64) float64 {
	t := math.Max(0, math.Min(150, tC))
	return (999.83952 + t*(16.945176+t*(-7.9870401e-3+t*(-46.170461e-6+t*(105.56302e-9-t*280.54253e-12))))) / (1 + 16.879850e-3*t)
}

// extended is how far, in K, an Antoine equation is trusted beyond its range:
// nearer the truth there than a constant heat of vaporisation.
const extended = 50

// Vapour is what an entry says of its vapour pressure, read into plain figures
// once for many temperatures; K, Pa and J/mol.
type Vapour struct {
	antoine          bool // within from to to
	a, b, c          float64
	from, to         float64
	listed           bool // a vapour pressure p at one temperature
	sloped           bool // with the boiling point it gives a slope
	p, at, slope, tb float64
	heat             bool // a heat of vaporisation and a boiling point
	h, boils         float64
}

// Vapour reads what the entry says of its vapour pressure.
func (s *Substance) Vapour() *Vapour {
	v := &Vapour{}
	if a := s.Antoine; a != nil && (a.Form == "" || a.Form == "log10 Pa K") {
		from, ok1 := kelvin(a.From)
		to, ok2 := kelvin(a.To)
		v.antoine, v.a, v.b, v.c, v.from, v.to = ok1 && ok2, a.A, a.B, a.C, from, to
	}
	if p, ok := s.ListedPressure.pascal(); ok && s.ListedPressure != nil {
		if at, ok := kelvin(s.ListedPressure.At); ok {
			v.listed, v.p, v.at = true, p, at
			tb, okb := s.BoilingPoint.Celsius()
			if okb && math.Abs(tb+zeroCelsius-at) > 5 && p > 0 && s.BoilingPoint.At == "" {
				v.sloped, v.tb = true, tb+zeroCelsius
				v.slope = math.Log(atmosphere/p) / (1/at - 1/v.tb)
			}
		}
	}
	if h, ok := s.heatOfVaporisation(); ok {
		if tb, ok := s.BoilingPoint.Celsius(); ok && s.BoilingPoint.At == "" {
			v.heat, v.h, v.boils = true, h, tb+zeroCelsius
		}
	}
	return v
}

// Pressure is VapourPressure of the entry that was read.
func (v *Vapour) Pressure(tC float64) (mbar float64, ok bool) {
	mbar, _, ok = v.basis(tC)
	return mbar, ok
}

func (v *Vapour) basis(tC float64) (mbar float64, basis string, ok bool) {
	t := tC + zeroCelsius
	if t <= 0 || math.IsNaN(t) || math.IsInf(t, 0) {
		return 0, "", false
	}
	pa, basis, ok := v.pascal(t)
	return pa / 100, basis, ok
}

// pascal is the vapour pressure in Pa at a temperature in K, with the way it was
// got.
func (v *Vapour) pascal(t float64) (pa float64, basis string, ok bool) {
	switch {
	case v.antoine && t >= v.from && t <= v.to && t+v.c > 0:
		return math.Pow(10, v.a-v.b/(t+v.c)), "Antoine equation", true
	case v.sloped:
		return atmosphere * math.Exp(-v.slope*(1/t-1/v.tb)), "Clausius–Clapeyron through the boiling point and one vapour pressure", true
	case v.listed && math.Abs(t-v.at) < 0.5:
		return v.p, "vapour pressure as listed", true
	case v.antoine && t >= v.from-extended && t <= v.to+extended && t+v.c > 50:
		return math.Pow(10, v.a-v.b/(t+v.c)), "Antoine equation, extended beyond its range", true
	case v.heat:
		// Clausius and Clapeyron, with a constant heat of vaporisation.
		return atmosphere * math.Exp(-v.h/gasConstant*(1/t-1/v.boils)), "Clausius–Clapeyron from the boiling point and the heat of vaporisation", true
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
	return s.Vapour().basis(tC)
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
	read := s.Vapour()
	low, high := math.Max(middle-250, 5-zeroCelsius), middle+250
	if p, ok := read.Pressure(low); !ok || p > mbar {
		return 0, false
	}
	if p, ok := read.Pressure(high); !ok || p < mbar {
		return 0, false
	}
	for high-low > 0.001 {
		mid := (low + high) / 2
		p, ok := read.Pressure(mid)
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
