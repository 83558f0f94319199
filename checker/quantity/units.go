package quantity

import (
	"math"
	"strings"
)

// unit is one row of the table: a value v in the unit is (v − zero) × factor
// in the base unit of its dimension, for a temperature (v + zero) × factor.
type unit struct {
	sym    string    // the spelling that is printed
	dim    Dimension // what it measures
	alt    Dimension // a second reading, taken only when the caller asks for it
	altSym string    // the symbol under the second reading
	factor float64
	zero   float64 // added before the factor is applied; temperatures only
	altFac float64
	names  string // other spellings, parted by |
	exact  bool   // case matters: M is not m
	source string
}

// units is the one table of units. "exact" means by definition: of the SI and
// its prefixes, the litre, or in NIST SP 811 (2008), appendix B, where the
// factor is printed in bold as exact.
var units = [...]unit{
	// Mass, in g.
	{sym: "g", dim: Mass, factor: 1, names: "gm|gms|gram|grams|gramme|grammes", source: "exact"},
	{sym: "mg", dim: Mass, factor: 1e-3, names: "milligram|milligrams|milligramme|milligrammes|mgm", source: "exact"},
	{sym: "µg", dim: Mass, factor: 1e-6, names: "μg|ug|mcg|microgram|micrograms|microgramme|microgrammes", source: "exact"},
	{sym: "ng", dim: Mass, factor: 1e-9, names: "nanogram|nanograms", source: "exact"},
	{sym: "kg", dim: Mass, factor: 1e3, names: "kilo|kilos|kilogram|kilograms|kilogramme|kilogrammes|kgs", source: "exact"},
	{sym: "lb", dim: Mass, factor: 453.59237, names: "lbs|pound|pounds", source: "NIST SP 811, exact"},
	{sym: "oz", dim: Mass, factor: 28.349523125, names: "ounce|ounces", source: "NIST SP 811, exact (1/16 lb)"},

	// Volume, in mL.
	{sym: "mL", dim: Volume, factor: 1, names: "ml|mls|cc|ccs|c.c.|c.c|cm3|cm³|cm^3|cu cm|milliliter|milliliters|millilitre|millilitres", source: "exact"},
	{sym: "µL", dim: Volume, factor: 1e-3, names: "μL|µl|μl|uL|ul|microliter|microliters|microlitre|microlitres|mm3|mm³|mm^3", source: "exact"},
	{sym: "nL", dim: Volume, factor: 1e-6, names: "nanoliter|nanoliters|nanolitre|nanolitres", source: "exact"},
	{sym: "cL", dim: Volume, factor: 10, names: "centiliter|centiliters|centilitre|centilitres", source: "exact"},
	{sym: "dL", dim: Volume, factor: 100, names: "deciliter|deciliters|decilitre|decilitres", source: "exact"},
	{sym: "L", dim: Volume, factor: 1e3, names: "l|ℓ|ltr|liter|liters|litre|litres|dm3|dm³|dm^3", source: "exact"},
	{sym: "m³", dim: Volume, factor: 1e6, names: "m3|m^3|cubic meter|cubic meters|cubic metre|cubic metres", source: "exact"},

	// Amount of substance, in mmol. A gram-atom is the older name of the mole
	// of an element.
	{sym: "mmol", dim: Amount, factor: 1, names: "mmols|mmole|mmoles|millimole|millimoles", source: "exact"},
	{sym: "mol", dim: Amount, factor: 1e3, names: "mols|mole|moles", source: "exact"},
	{sym: "µmol", dim: Amount, factor: 1e-3, names: "μmol|umol|micromole|micromoles|µmoles|μmoles|umoles", source: "exact"},
	{sym: "nmol", dim: Amount, factor: 1e-6, names: "nanomole|nanomoles", source: "exact"},
	{sym: "kmol", dim: Amount, factor: 1e6, names: "kilomole|kilomoles", source: "exact"},
	{sym: "g-atom", dim: Amount, factor: 1e3, names: "g-atoms|g atom|g atoms|g. atom|g. atoms|gram-atom|gram-atoms|gram atom|gram atoms|g.-atom|g.-atoms|g-at", source: "exact"},
	{sym: "mg-atom", dim: Amount, factor: 1, names: "mg-atoms|mg atom|mg atoms|milligram-atom|milligram-atoms|milligram atom|milligram atoms|mg.-atom|mg.-atoms", source: "exact"},

	// Molar concentration, in mol/L.
	{sym: "M", dim: Molarity, factor: 1, exact: true, names: "molar|Molar", source: "exact"},
	{sym: "mM", dim: Molarity, factor: 1e-3, exact: true, names: "millimolar", source: "exact"},
	{sym: "µM", dim: Molarity, factor: 1e-6, exact: true, names: "μM|uM|micromolar", source: "exact"},
	{sym: "nM", dim: Molarity, factor: 1e-9, exact: true, names: "nanomolar", source: "exact"},
	{sym: "N", dim: Molarity, factor: 1, exact: true, names: "normal|Normal", source: "exact (equivalents per litre)"},

	// Fractions, of one. Their basis (w/w, v/v …) is read apart.
	{sym: "%", dim: Fraction, factor: 1e-2, names: "per cent|percent|pct", source: "exact"},
	{sym: "‰", dim: Fraction, factor: 1e-3, names: "per mille|permille", source: "exact"},
	{sym: "ppm", dim: Fraction, factor: 1e-6, names: "p.p.m.|p.p.m|parts per million", source: "exact"},
	{sym: "ppb", dim: Fraction, factor: 1e-9, names: "p.p.b.|p.p.b|parts per billion", source: "exact"},
	{sym: "ppmv", dim: Fraction, factor: 1e-6, source: "exact (v/v)"},
	{sym: "ppmw", dim: Fraction, factor: 1e-6, source: "exact (w/w)"},

	// Temperature, in °C; a difference, in K.
	{sym: "°C", dim: Temperature, alt: TemperatureRange, altSym: "K", altFac: 1, factor: 1, exact: true,
		names: "C|°c|° C|º C|ºC|˚C|˚ C|℃|°|º|˚|oC|deg|deg.|deg C|deg. C|degC|degree|degrees|degree C|degrees C|deg c|Celsius|celsius|degree Celsius|degrees Celsius|degree celsius|degrees celsius|centigrade|degrees centigrade|degrees Centigrade|° Celsius|°Celsius", source: "exact"},
	{sym: "K", dim: Temperature, alt: TemperatureRange, altSym: "K", altFac: 1, factor: 1, zero: -273.15, exact: true,
		names: "kelvin|kelvins|Kelvin", source: "NIST SP 811, exact"},
	{sym: "°F", dim: Temperature, alt: TemperatureRange, altSym: "°F", altFac: 5.0 / 9, factor: 5.0 / 9, zero: -32, exact: true,
		names: "F|°f|° F|ºF|º F|˚F|℉|deg F|deg. F|degF|degree F|degrees F|Fahrenheit|fahrenheit|degrees Fahrenheit|degree Fahrenheit|degrees fahrenheit", source: "NIST SP 811, exact"},

	// Pressure, in mbar. The torr is 1/760 atm; the conventional millimetre of
	// mercury, 1.333 224 mbar in SP 811, agrees with it to 1.5 parts in ten
	// million, and chemists use the two names for one unit.
	{sym: "mbar", dim: Pressure, factor: 1, names: "millibar|millibars|mb", source: "exact"},
	{sym: "µbar", dim: Pressure, factor: 1e-3, names: "μbar|ubar|microbar", source: "exact"},
	{sym: "bar", dim: Pressure, factor: 1e3, names: "bars", source: "exact"},
	{sym: "torr", dim: Pressure, factor: 1013.25 / 760, names: "tor|torrs", source: "NIST SP 811, exact (1/760 atm)"},
	{sym: "mtorr", dim: Pressure, factor: 1013.25 / 760e3, names: "millitorr", source: "NIST SP 811, exact (1/760000 atm)"},
	{sym: "mmHg", dim: Pressure, factor: 1.33322387415, names: "mm hg|mm. hg|mm of hg|mm of mercury|mm mercury|mmhg", source: "NIST SP 811 (conventional, 13.5951 × 9.80665 Pa)"},
	{sym: "inHg", dim: Pressure, factor: 33.86388640341, names: "in hg|in. hg|inches of mercury|inhg|inches hg", source: "NIST SP 811 (conventional, 25.4 mmHg)"},
	{sym: "atm", dim: Pressure, factor: 1013.25, names: "atmosphere|atmospheres|atms", source: "NIST SP 811, exact"},
	{sym: "Pa", dim: Pressure, factor: 1e-2, names: "pascal|pascals|pa", source: "exact"},
	{sym: "mPa", dim: Pressure, factor: 1e-5, exact: true, names: "millipascal", source: "exact"},
	{sym: "hPa", dim: Pressure, factor: 1, names: "hectopascal|hectopascals", source: "exact"},
	{sym: "kPa", dim: Pressure, factor: 10, names: "kilopascal|kilopascals", source: "exact"},
	{sym: "MPa", dim: Pressure, factor: 1e4, exact: true, names: "megapascal|megapascals", source: "exact"},
	{sym: "psi", dim: Pressure, factor: 68.94757293168, names: "psia|lb/in2|lb/in²|lbf/in2|lbf/in²|p.s.i.|pounds per square inch", source: "NIST SP 811 (4.4482216152605 N over 25.4² mm²)"},

	// Time, in min.
	{sym: "s", dim: Time, factor: 1.0 / 60, names: "sec|secs|second|seconds", source: "exact"},
	{sym: "min", dim: Time, factor: 1, names: "mins|minute|minutes", source: "exact"},
	{sym: "h", dim: Time, factor: 60, names: "hr|hrs|hour|hours", source: "exact"},
	{sym: "d", dim: Time, factor: 1440, names: "day|days", source: "exact"},
	{sym: "week", dim: Time, factor: 10080, names: "weeks|wk|wks", source: "exact"},

	// Equivalents and numbers of things.
	{sym: "equiv", dim: Equivalents, factor: 1, names: "eq|eqs|eqv|equivs|equivalent|equivalents|mol equiv|mol. equiv|molar equiv|molar equivalent|molar equivalents|mole equiv", source: "exact"},
	{sym: "drop", dim: Count, factor: 1, names: "drops", source: "exact"},
	{sym: "piece", dim: Count, factor: 1, names: "pieces|pcs", source: "exact"},
	{sym: "crystal", dim: Count, factor: 1, names: "crystals", source: "exact"},
	{sym: "pellet", dim: Count, factor: 1, names: "pellets", source: "exact"},
	{sym: "chip", dim: Count, factor: 1, names: "chips|boiling chip|boiling chips", source: "exact"},
	{sym: "stone", dim: Count, factor: 1, names: "stones|boiling stone|boiling stones", source: "exact"},
	{sym: "slice", dim: Count, factor: 1, names: "slices", source: "exact"},
	{sym: "strip", dim: Count, factor: 1, names: "strips", source: "exact"},
	{sym: "granule", dim: Count, factor: 1, names: "granules", source: "exact"},
	{sym: "flake", dim: Count, factor: 1, names: "flakes", source: "exact"},
	{sym: "lump", dim: Count, factor: 1, names: "lumps", source: "exact"},
	{sym: "turning", dim: Count, factor: 1, names: "turnings", source: "exact"},
	{sym: "tablet", dim: Count, factor: 1, names: "tablets", source: "exact"},
	{sym: "bead", dim: Count, factor: 1, names: "beads", source: "exact"},
	{sym: "cycle", dim: Count, factor: 1, names: "cycles", source: "exact"},
	{sym: "time", dim: Count, factor: 1, names: "times", source: "exact"},
	{sym: "fraction", dim: Count, factor: 1, names: "fractions", source: "exact"},
	{sym: "student", dim: Count, factor: 1, names: "students", source: "exact"},
	{sym: "neck", dim: Count, factor: 1, names: "necks", source: "exact"},
	{sym: "air change", dim: Count, factor: 1, names: "air changes|change|changes", source: "exact"},
	{sym: "bubble", dim: Count, factor: 1, names: "bubbles", source: "exact"},

	// Length, in mm; "mm" and "micron" are pressures when one is asked for.
	{sym: "mm", dim: Length, alt: Pressure, altSym: "mmHg", altFac: 1.33322387415, factor: 1, exact: true,
		names: "millimeter|millimeters|millimetre|millimetres", source: "exact"},
	{sym: "µm", dim: Length, alt: Pressure, altSym: "mtorr", altFac: 1013.25 / 760e3, factor: 1e-3, exact: true,
		names: "μm|um|micron|microns|micrometer|micrometers|micrometre|micrometres", source: "exact"},
	{sym: "nm", dim: Length, factor: 1e-6, exact: true, names: "nanometer|nanometers|nanometre|nanometres", source: "exact"},
	{sym: "cm", dim: Length, factor: 10, names: "centimeter|centimeters|centimetre|centimetres", source: "exact"},
	{sym: "m", dim: Length, factor: 1e3, exact: true, names: "meter|meters|metre|metres", source: "exact"},
	{sym: "inch", dim: Length, factor: 25.4, names: "inches", source: "NIST SP 811, exact"},
	{sym: "Å", dim: Length, factor: 1e-7, exact: true, names: "Å|angstrom|angstroms|ångström", source: "NIST SP 811, exact"},

	// Power, in W.
	{sym: "W", dim: Power, factor: 1, exact: true, names: "watt|watts|Watt|Watts", source: "exact"},
	{sym: "mW", dim: Power, factor: 1e-3, exact: true, names: "milliwatt|milliwatts", source: "exact"},
	{sym: "kW", dim: Power, factor: 1e3, exact: true, names: "kilowatt|kilowatts|KW", source: "exact"},

	// Per time, in 1/min.
	{sym: "rpm", dim: PerTime, factor: 1, names: "r.p.m.|r.p.m|rev/min|revolutions per minute", source: "exact"},
	{sym: "Hz", dim: PerTime, factor: 60, names: "hertz", source: "exact"},
	{sym: "ACH", dim: PerTime, factor: 1.0 / 60, exact: true, names: "ach", source: "exact (air changes per hour)"},
}

// confusable spellings differ from a unit by case alone where case changes
// the meaning, so they are refused with what to write instead.
var confusable = map[string]string{
	"Mg": "mg (Mg is magnesium or a million grams)", "MM": "mM or mm (MM is neither)",
	"Mm": "mM or mm (Mm is neither)", "Mbar": "mbar", "mpa": "mPa or MPa", "MPA": "mPa or MPa", "Mpa": "mPa or MPa",
	"n": "N", "k": "K", "c": "°C", "f": "°F", "w": "W", "nm.": "nM or nm",
	"NM": "nM or nm", "psig": "psi (above vacuum, not above the atmosphere)",
	"barg": "bar (above vacuum, not above the atmosphere)", "S": "s", "D": "d", "MW": "W or kW", "kw": "kW",
	"molal": "M (mol per litre of solution; molality cannot be converted without a density)",
	"ml/l":  "mL/L", "bara": "bar",
}

var (
	unitByName map[string]uint8 // exact spelling → row
	unitByFold map[string]uint8 // lower-case spelling → row, where case does not matter
	longest    int              // bytes of the longest spelling
)

func init() {
	unitByName = make(map[string]uint8, 512)
	unitByFold = make(map[string]uint8, 512)
	for i := range units {
		u := &units[i]
		for rest := u.sym + "|" + u.names; rest != ""; {
			var name string
			name, rest, _ = strings.Cut(rest, "|")
			unitByName[name] = uint8(i)
			longest = max(longest, len(name))
			// A spelled-out word is the same in any case; a symbol only if
			// its row says so.
			if !u.exact || len(name) > 5 {
				unitByFold[strings.ToLower(name)] = uint8(i)
			}
		}
	}
}

// measure is a unit as it stands in a text, with the reading that was asked
// for: a row of the table, or one unit over another.
type measure struct {
	sym    string
	dim    Dimension
	alt    Dimension
	factor float64
	zero   float64
	div    float64 // 1/factor where that is whole, so that 180 ppm is 0.00018 to the last digit; else 0
	pre    float64 // what a figure is multiplied by first, for "6 drops every 30 s"; 0 for none
	basis  string  // a fraction written as one unit over another: w/w, v/v, mol
	ratio  bool    // one unit over another
	of     string  // "hydride" in "1.1 hydride equiv"
}

func (m *measure) toBase(v float64) float64 {
	if m.zero == 0 && m.factor == 1 {
		return v
	}
	if m.div != 0 {
		return v / m.div
	}
	b := (v + m.zero) * m.factor
	if m.dim == Temperature {
		// Differences of like figures leave noise: 77 °F is 25 °C.
		b = math.Round(b*1e9) / 1e9
	}
	return b
}

func (m *measure) fromBase(b float64) float64 {
	if m.zero == 0 && m.factor == 1 {
		return b
	}
	if m.div != 0 {
		return b * m.div
	}
	v := b/m.factor - m.zero
	if m.dim == Temperature {
		v = math.Round(v*1e9) / 1e9
	}
	return v
}

// mask is a set of dimensions.
type mask uint32

func maskOf(ds ...Dimension) mask {
	var m mask
	for _, d := range ds {
		if d < dimensions {
			m |= 1 << d
		}
	}
	return m
}

func (m mask) has(d Dimension) bool { return m&(1<<d) != 0 }

// reading returns the unit of a row, under its second reading if only that is
// wanted.
func (u *unit) reading(want mask) measure {
	if u.alt != None && want != 0 && !want.has(u.dim) && want.has(u.alt) {
		return measure{sym: u.altSym, dim: u.alt, alt: u.dim, factor: u.altFac, div: divisor(u.altFac)}
	}
	return measure{sym: u.sym, dim: u.dim, alt: u.alt, factor: u.factor, zero: u.zero, div: divisor(u.factor)}
}

// divisor returns the whole number of which factor is the reciprocal, or 0.
func divisor(factor float64) float64 {
	if factor >= 1 {
		return 0
	}
	if d := math.Round(1 / factor); 1/d == factor {
		return d
	}
	return 0
}
