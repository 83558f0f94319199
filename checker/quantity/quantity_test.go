package quantity

import (
	"errors"
	"math"
	"strings"
	"testing"
)

var inf = math.Inf(1)

// readable holds what must be read, with the figures expected: low and high
// in the base unit, the printed form, and what else the words say. The forms
// are those of public procedures; see the vocabulary of the format.
var readable = []struct {
	in        string
	dim       Dimension
	low, high float64
	print     string
	is        Quantity // Times, About, AtLeast, AtMost, Unit, Basis, Of, Word where not the default
}{
	// Volumes.
	{"6.9 mL", Volume, 6.9, 6.9, "6.9 mL", Quantity{}},
	{"6,9 mL", Volume, 6.9, 6.9, "6.9 mL", Quantity{}},
	{"6.9ml", Volume, 6.9, 6.9, "6.9 mL", Quantity{}},
	{"6.9 ml.", Volume, 6.9, 6.9, "6.9 mL", Quantity{}},
	{"5 ML", Volume, 5, 5, "5 mL", Quantity{}},
	{"10 cc", Volume, 10, 10, "10 mL", Quantity{}},
	{"10 c.c.", Volume, 10, 10, "10 mL", Quantity{}},
	{"10 cm3", Volume, 10, 10, "10 mL", Quantity{}},
	{"10 cm³", Volume, 10, 10, "10 mL", Quantity{}},
	{"2 L", Volume, 2000, 2000, "2 L", Quantity{}},
	{"2 l.", Volume, 2000, 2000, "2 L", Quantity{}},
	{"2 litres", Volume, 2000, 2000, "2 L", Quantity{}},
	{"1 liter", Volume, 1000, 1000, "1 L", Quantity{}},
	{"1 dm³", Volume, 1000, 1000, "1 L", Quantity{}},
	{"250 µL", Volume, 0.25, 0.25, "250 µL", Quantity{}},
	{"250 μL", Volume, 0.25, 0.25, "250 µL", Quantity{}},
	{"250 uL", Volume, 0.25, 0.25, "250 µL", Quantity{}},
	{"1,000 mL", Volume, 1000, 1000, "1000 mL", Quantity{}},
	{"1,234,567 mL", Volume, 1234567, 1234567, "1234567 mL", Quantity{}},
	{"0,125 mL", Volume, 0.125, 0.125, "0.125 mL", Quantity{}},
	{"12,50 mL", Volume, 12.5, 12.5, "12.5 mL", Quantity{}},
	{"1000,125 mL", Volume, 1000.125, 1000.125, "1000.125 mL", Quantity{}},
	{"1,000.5 mL", Volume, 1000.5, 1000.5, "1000.5 mL", Quantity{}},
	{"1\u00a0000 mL", Volume, 1000, 1000, "1000 mL", Quantity{}},
	{"500 mL to 1 L", Volume, 500, 1000, "0.5–1 L", Quantity{}},
	{"a further 2-3 mL", Volume, 2, 3, "2–3 mL", Quantity{}},
	{"upwards of 70 mL", Volume, 70, inf, "at least 70 mL", Quantity{AtLeast: true}},
	{"up to 5 mL", Volume, 0, 5, "up to 5 mL", Quantity{AtMost: true}},
	{"3.5 mL, more if needed", Volume, 3.5, inf, "at least 3.5 mL", Quantity{AtLeast: true}},
	{"~5 mL", Volume, 5, 5, "about 5 mL", Quantity{About: true}},
	{"≈ 5 mL", Volume, 5, 5, "about 5 mL", Quantity{About: true}},
	{"ca. 5 mL", Volume, 5, 5, "about 5 mL", Quantity{About: true}},
	{"approximately 5 mL", Volume, 5, 5, "about 5 mL", Quantity{About: true}},
	{"circa 5 mL", Volume, 5, 5, "about 5 mL", Quantity{About: true}},
	{"5 mL dropwise", Volume, 5, 5, "5 mL dropwise", Quantity{Word: "dropwise"}},
	// Portions.
	{"3 x 20 mL", Volume, 20, 20, "3 × 20 mL", Quantity{Times: 3}},
	{"3x20 mL", Volume, 20, 20, "3 × 20 mL", Quantity{Times: 3}},
	{"3 × 20 mL", Volume, 20, 20, "3 × 20 mL", Quantity{Times: 3}},
	{"4 x 150 cc", Volume, 150, 150, "4 × 150 mL", Quantity{Times: 4}},
	{"three 100 mL portions", Volume, 100, 100, "3 × 100 mL", Quantity{Times: 3}},
	{"4 portions of 25 mL", Volume, 25, 25, "4 × 25 mL", Quantity{Times: 4}},
	{"20 mL x 3", Volume, 20, 20, "3 × 20 mL", Quantity{Times: 3}},
	{"several 25 mL portions", Volume, 25, 25, "several × 25 mL", Quantity{Times: 3, Word: "several"}},
	{"2 mL in about 0.5 mL portions", Volume, 0.5, 0.5, "about 4 × 0.5 mL", Quantity{Times: 4, About: true}},
	{"20 mL, twice", Volume, 20, 20, "2 × 20 mL", Quantity{Times: 2}},
	{"twice with 20 mL", Volume, 20, 20, "2 × 20 mL", Quantity{Times: 2}},
	{"50 g if needed", Mass, 50, 50, "50 g if needed", Quantity{Word: "if needed"}},
	{"40 g in five portions", Mass, 8, 8, "5 × 8 g", Quantity{Times: 5}},
	// Masses and amounts.
	{"1.06 g", Mass, 1.06, 1.06, "1.06 g", Quantity{}},
	{"99-101 g", Mass, 99, 101, "99–101 g", Quantity{}},
	{"250 mg", Mass, 0.25, 0.25, "250 mg", Quantity{}},
	{"1.5 kg", Mass, 1500, 1500, "1.5 kg", Quantity{}},
	{"50 microgram", Mass, 5e-5, 5e-5, "50 µg", Quantity{}},
	{"1 lb", Mass, 453.59237, 453.59237, "1 lb", Quantity{}},
	{"0.5 mol", Amount, 500, 500, "0.5 mol", Quantity{}},
	{"2 moles", Amount, 2000, 2000, "2 mol", Quantity{}},
	{"10.0 mmol", Amount, 10, 10, "10 mmol", Quantity{}},
	{"1 gram-atom", Amount, 1000, 1000, "1 g-atom", Quantity{}},
	{"2 gram atoms", Amount, 2000, 2000, "2 g-atom", Quantity{}},
	{"54 mg-atom", Amount, 54, 54, "54 mg-atom", Quantity{}},
	{"1.5e-3 mol", Amount, 1.5, 1.5, "0.0015 mol", Quantity{}},
	{"1.5 × 10⁻³ mol", Amount, 1.5, 1.5, "0.0015 mol", Quantity{}},
	{"1.5 x 10^-3 mol", Amount, 1.5, 1.5, "0.0015 mol", Quantity{}},
	// Strengths.
	{"1.6 M", Molarity, 1.6, 1.6, "1.6 M", Quantity{}},
	{"10 mM", Molarity, 0.01, 0.01, "10 mM", Quantity{}},
	{"0.10 N", Molarity, 0.1, 0.1, "0.1 N", Quantity{Unit: "N"}},
	{"2 mol/L", Molarity, 2, 2, "2 mol/L", Quantity{}},
	{"2 mol L-1", Molarity, 2, 2, "2 mol/L", Quantity{}},
	{"1000 microgram/mL", MassConcentration, 1e-3, 1e-3, "1000 µg/mL", Quantity{}},
	{"10 g per 100 mL", MassConcentration, 0.1, 0.1, "0.1 g/mL", Quantity{}},
	{"20 % m/v", Fraction, 0.2, 0.2, "20 % m/v", Quantity{Basis: "m/v"}},
	{"20 % w/v", Fraction, 0.2, 0.2, "20 % m/v", Quantity{Basis: "m/v"}},
	{"5% (w/w)", Fraction, 0.05, 0.05, "5 % w/w", Quantity{Basis: "w/w"}},
	{"5 wt%", Fraction, 0.05, 0.05, "5 % w/w", Quantity{Basis: "w/w"}},
	{"5 wt. %", Fraction, 0.05, 0.05, "5 % w/w", Quantity{Basis: "w/w"}},
	{"5 vol%", Fraction, 0.05, 0.05, "5 % v/v", Quantity{Basis: "v/v"}},
	{"5 % by volume", Fraction, 0.05, 0.05, "5 % v/v", Quantity{Basis: "v/v"}},
	{"5 mol %", Fraction, 0.05, 0.05, "5 % mol", Quantity{Basis: "mol"}},
	{"5 mol per cent", Fraction, 0.05, 0.05, "5 % mol", Quantity{Basis: "mol"}},
	{"91-93 per cent", Fraction, 0.91, 0.93, "91–93 %", Quantity{}},
	{"99+ %", Fraction, 0.99, inf, "at least 99 %", Quantity{AtLeast: true}},
	{"180 ppm", Fraction, 180e-6, 180e-6, "180 ppm", Quantity{}},
	{"180 ppmw", Fraction, 180e-6, 180e-6, "180 ppm w/w", Quantity{Basis: "w/w"}},
	{"20 % of theory", Fraction, 0.2, 0.2, "20 % of theory", Quantity{Of: "theory"}},
	{"20 % excess", Fraction, 0.2, 0.2, "20 % excess", Quantity{Word: "excess"}},
	{"20:1", Fraction, 20, 20, "20:1", Quantity{}},
	{"1:1", Fraction, 1, 1, "1:1", Quantity{}},
	{"1:4 v/v", Fraction, 0.25, 0.25, "1:4 v/v", Quantity{Basis: "v/v"}},
	{"half", Fraction, 0.5, 0.5, "half", Quantity{Word: "half"}},
	{"half the solution", Fraction, 0.5, 0.5, "half of solution", Quantity{Word: "half", Of: "solution"}},
	{"second half", Fraction, 0.5, 0.5, "second half", Quantity{Word: "second half"}},
	{"a third", Fraction, 1. / 3, 1. / 3, "a third", Quantity{Word: "a third"}},
	{"quarter", Fraction, 0.25, 0.25, "a quarter", Quantity{Word: "a quarter"}},
	{"0.37 equiv", Equivalents, 0.37, 0.37, "0.37 equiv", Quantity{}},
	{"1.2 eq.", Equivalents, 1.2, 1.2, "1.2 equiv", Quantity{}},
	{"1.1 hydride equiv", Equivalents, 1.1, 1.1, "1.1 equiv of hydride", Quantity{Of: "hydride"}},
	{"1.2 equiv of benzaldehyde", Equivalents, 1.2, 1.2, "1.2 equiv of benzaldehyde", Quantity{Of: "benzaldehyde"}},
	// Temperatures.
	{"-78 °C", Temperature, -78, -78, "−78 °C", Quantity{}},
	{"−78 °C", Temperature, -78, -78, "−78 °C", Quantity{}},
	{"–78 °C", Temperature, -78, -78, "−78 °C", Quantity{}},
	{"25 C", Temperature, 25, 25, "25 °C", Quantity{}},
	{"25 deg C", Temperature, 25, 25, "25 °C", Quantity{}},
	{"25°", Temperature, 25, 25, "25 °C", Quantity{}},
	{"77 °F", Temperature, 25, 25, "77 °F", Quantity{}},
	{"298.15 K", Temperature, 25, 25, "298.15 K", Quantity{}},
	{"0 to 5 °C", Temperature, 0, 5, "0 to 5 °C", Quantity{}},
	{"0–5 °C", Temperature, 0, 5, "0 to 5 °C", Quantity{}},
	{"−78 to −70 °C", Temperature, -78, -70, "−78 to −70 °C", Quantity{}},
	{"-65 to -78 °C", Temperature, -78, -65, "−78 to −65 °C", Quantity{}},
	{"-10 - -5 °C", Temperature, -10, -5, "−10 to −5 °C", Quantity{}},
	{"between 30 and 35 °C", Temperature, 30, 35, "30 to 35 °C", Quantity{}},
	{"from 30 to 35 °C", Temperature, 30, 35, "30 to 35 °C", Quantity{}},
	{"25 ± 2 °C", Temperature, 23, 27, "23 to 27 °C", Quantity{}},
	{"not above -2 °C", Temperature, -inf, -2, "not above −2 °C", Quantity{AtMost: true}},
	{"not below 35 °C", Temperature, 35, inf, "at least 35 °C", Quantity{AtLeast: true}},
	{"room temperature", Temperature, 20, 25, "room temperature", Quantity{Word: "room temperature"}},
	{"r.t.", Temperature, 20, 25, "room temperature", Quantity{Word: "room temperature"}},
	{"RT", Temperature, 20, 25, "room temperature", Quantity{Word: "room temperature"}},
	{"ambient", Temperature, 20, 25, "room temperature", Quantity{Word: "room temperature"}},
	{"ice-cold", Temperature, 0, 5, "ice-cold", Quantity{Word: "ice-cold"}},
	{"ice bath", Temperature, 0, 0, "ice bath", Quantity{Word: "ice bath"}},
	{"Δ5 K", TemperatureRange, 5, 5, "Δ5 K", Quantity{}},
	// Pressures.
	{"0.1 torr", Pressure, 0.1 * 1013.25 / 760, 0.1 * 1013.25 / 760, "0.1 torr", Quantity{}},
	{"1 mbar", Pressure, 1, 1, "1 mbar", Quantity{}},
	{"1 atm", Pressure, 1013.25, 1013.25, "1 atm", Quantity{}},
	{"100 kPa", Pressure, 1000, 1000, "100 kPa", Quantity{}},
	{"100 Pa", Pressure, 1, 1, "100 Pa", Quantity{}},
	{"2 bar", Pressure, 2000, 2000, "2 bar", Quantity{}},
	{"20 mm Hg", Pressure, 26.664477483, 26.664477483, "20 mmHg", Quantity{}},
	{"5 psi", Pressure, 344.7378646584, 344.7378646584, "5 psi", Quantity{}},
	{"atmospheric pressure", Pressure, 1013.25, 1013.25, "atmospheric pressure", Quantity{Word: "atmospheric pressure"}},
	// Times.
	{"1–2 h", Time, 60, 120, "1–2 h", Quantity{}},
	{"15-20 min", Time, 15, 20, "15–20 min", Quantity{}},
	{"30 s", Time, 0.5, 0.5, "30 s", Quantity{}},
	{"3 days", Time, 4320, 4320, "3 d", Quantity{}},
	{"a day", Time, 1440, 1440, "1 d", Quantity{}},
	{"two hours", Time, 120, 120, "2 h", Quantity{}},
	{"twelve hours", Time, 720, 720, "12 h", Quantity{}},
	{"half an hour", Time, 30, 30, "0.5 h", Quantity{}},
	{"quarter of an hour", Time, 15, 15, "0.25 h", Quantity{}},
	{"an hour and a half", Time, 90, 90, "1.5 h", Quantity{}},
	{"one and a half hours", Time, 90, 90, "1.5 h", Quantity{}},
	{"1½ h", Time, 90, 90, "1.5 h", Quantity{}},
	{"1 1/2 h", Time, 90, 90, "1.5 h", Quantity{}},
	{"1 h 30 min", Time, 90, 90, "90 min", Quantity{}},
	{"a few hours", Time, 120, 300, "a few h", Quantity{Word: "a few"}},
	{"at least 24 h", Time, 1440, inf, "at least 24 h", Quantity{AtLeast: true}},
	{"within 1 min", Time, 0, 1, "up to 1 min", Quantity{AtMost: true}},
	{"about 20 min", Time, 20, 20, "about 20 min", Quantity{About: true}},
	{"overnight", Time, 720, 1080, "overnight", Quantity{Word: "overnight"}},
	// Rates.
	{"2 drops/s", DripRate, 120, 120, "2 drops/s", Quantity{}},
	{"2 drops per second", DripRate, 120, 120, "2 drops/s", Quantity{}},
	{"a drop a second", DripRate, 60, 60, "1 drops/s", Quantity{}},
	{"about 6 drops every 30 s", DripRate, 12, 12, "about 12 drops/min", Quantity{About: true}},
	{"4 drops per half minute", DripRate, 8, 8, "8 drops/min", Quantity{}},
	{"6 mL/h", Flow, 0.1, 0.1, "6 mL/h", Quantity{}},
	{"50 mL/min", Flow, 50, 50, "50 mL/min", Quantity{}},
	{"5 mL min⁻¹", Flow, 5, 5, "5 mL/min", Quantity{}},
	{"1 g/min", MassRate, 1, 1, "1 g/min", Quantity{}},
	{"2 mmol/min", AmountRate, 2, 2, "2 mmol/min", Quantity{}},
	{"6 air changes/h", PerTime, 0.1, 0.1, "6 air changes/h", Quantity{}},
	{"6 /h", PerTime, 0.1, 0.1, "6 /h", Quantity{}},
	{"every 60 s", PerTime, 1, 1, "1 /min", Quantity{}},
	{"every hour", PerTime, 1. / 60, 1. / 60, "1 /h", Quantity{}},
	{"6 h⁻¹", PerTime, 0.1, 0.1, "6 /h", Quantity{}},
	// Numbers, lengths, power.
	{"3", Count, 3, 3, "3", Quantity{}},
	{"twice", Count, 2, 2, "2 times", Quantity{Unit: "time"}},
	{"at least three cycles", Count, 3, inf, "at least 3 cycles", Quantity{Unit: "cycle", AtLeast: true}},
	{"5 drops", Count, 5, 5, "5 drops", Quantity{Unit: "drop"}},
	{"1-2 crystals", Count, 1, 2, "1–2 crystals", Quantity{Unit: "crystal"}},
	{"one small piece", Count, 1, 1, "1 piece", Quantity{Unit: "piece"}},
	{"a couple of drops", Count, 2, 2, "about 2 drops", Quantity{Unit: "drop", About: true}},
	{"15 cm", Length, 150, 150, "15 cm", Quantity{}},
	{"15 mm", Length, 15, 15, "15 mm", Quantity{}},
	{"5 micron", Length, 0.005, 0.005, "5 µm", Quantity{}},
	{"1.5 kW", Power, 1500, 1500, "1.5 kW", Quantity{}},
	// Words without a figure.
	{"excess", Word, 0, 0, "excess", Quantity{Word: "excess"}},
	{"a little", Word, 0, 0, "a little", Quantity{Word: "a little"}},
	{"a small amount", Word, 0, 0, "a little", Quantity{Word: "a little"}},
	{"the minimum", Word, 0, 0, "just enough", Quantity{Word: "just enough"}},
	{"saturated", Word, 0, 0, "saturated", Quantity{Word: "saturated"}},
	{"as assigned", Word, 0, 0, "as assigned", Quantity{Word: "as assigned"}},
	{"just enough", Word, 0, 0, "just enough", Quantity{Word: "just enough"}},
	{"the rest", Word, 0, 0, "rest", Quantity{Word: "rest"}},
	{"remainder", Word, 0, 0, "rest", Quantity{Word: "rest"}},
	{"rest of the thf", Word, 0, 0, "rest of thf", Quantity{Word: "rest", Of: "thf"}},
	{"dropwise", Word, 0, 0, "dropwise", Quantity{Word: "dropwise"}},
	{"in portions", Word, 0, 0, "in portions", Quantity{Word: "in portions"}},
	{"in one portion", Word, 0, 0, "at once", Quantity{Word: "at once"}},
	{"reflux", Word, 0, 0, "reflux", Quantity{Word: "reflux"}},
}

func TestParse(t *testing.T) {
	for _, c := range readable {
		q, err := Parse(c.in)
		if err != nil {
			t.Errorf("%q: %v", c.in, err)
			continue
		}
		want := c.is
		if want.Times == 0 {
			want.Times = 1
		}
		if q.Dim != c.dim || !close1(q.Low, c.low) || !close1(q.High, c.high) {
			t.Errorf("%q read as %s, %g to %g; want %s, %g to %g", c.in, q.Dim, q.Low, q.High, c.dim, c.low, c.high)
		}
		if q.Times != want.Times || q.About != want.About || q.AtLeast != want.AtLeast || q.AtMost != want.AtMost ||
			q.Basis != want.Basis || q.Of != want.Of || q.Word != want.Word || want.Unit != "" && q.Unit != want.Unit {
			t.Errorf("%q read as %+v; want %+v", c.in, q, want)
		}
		if got := q.String(); got != c.print {
			t.Errorf("%q printed as %q; want %q", c.in, got, c.print)
		}
		if q.Raw != c.in {
			t.Errorf("%q kept as %q", c.in, q.Raw)
		}
		if figure := q.Word != "" && q.Dim != Word && lookupWord(q.Word).standsForFigure(); figure && q.Dim != Fraction && q.Assumed == "" {
			t.Errorf("%q: a figure was put on a word and not recorded", c.in)
		} else if !figure && q.Assumed != "" {
			t.Errorf("%q: assumed %q", c.in, q.Assumed)
		}
		checkSane(t, c.in, q)
		checkStable(t, c.in, q)
		if _, err := ParseAs(c.in, c.dim); err != nil {
			t.Errorf("ParseAs(%q, %s): %v", c.in, c.dim, err)
		}
	}
}

func close1(a, b float64) bool {
	return a == b || math.Abs(a-b) <= 1e-12*math.Max(math.Abs(a), math.Abs(b))
}

// unreadable holds what must be refused, with the byte, the text found there,
// and a part of what the message says was expected.
var unreadable = []struct {
	in       string
	at       int
	found    string
	expected string
}{
	{"", 0, "", "a quantity"},
	{"   ", 3, "", "a quantity"},
	{"yes", 0, "yes", "not a yes or a no"},
	{"No", 0, "No", "not a yes or a no"},
	{"null", 0, "null", "not a yes or a no"},
	{"1_000", 1, "_000", "underscores"},
	{"0o17", 0, "0o17", "decimal"},
	{"0x1F mL", 0, "0x1F", "decimal"},
	{"007 mL", 0, "007", "leading zeros"},
	{"1e400 mL", 0, "1e400", "measured"},
	{"1e-400 mL", 0, "1e-400", "measured"},
	{"NaN", 0, "NaN", "a quantity"},
	{"Inf mL", 0, "Inf", "a quantity"},
	{".inf", 0, ".inf", "a quantity"},
	{"6.9 mLL", 4, "mLL", "perhaps mL"},
	{"5 mililitre", 2, "mililitre", "perhaps mL"},
	{"5 bananas", 2, "bananas", "a unit"},
	{"5 Mg", 2, "Mg", "mg"},
	{"5 MM", 2, "MM", "mM or mm"},
	{"5 psig", 2, "psig", "psi"},
	{"-5 mL", 0, "-5", "nought or more"},
	{"−300 °C", 0, "−300", "absolute zero"},
	{"10-5 mL", 3, "5", "larger figure after the smaller"},
	{"0 -5 °C", 3, "5", "with \"to\""},
	{"1.2.3 mL", 3, ".3", "one decimal point"},
	{"1,000,5 mL", 5, ",5", "a point for the decimals"},
	{"1 000 mL", 2, "000", "thousands"},
	{"5 mL 6 mL", 5, "6", "the end of a volume"},
	{"133 g in 300 mL", 6, "in", "the end of a mass"},
	{"75 g (71.5 mL)", 5, "(71.5", "the end of a mass"},
	{"mL", 0, "mL", "a figure before the unit"},
	{"about", 5, "", "a quantity"},
	{"between 5 mL", 12, "", "upper end"},
	{"at least up to 5 mL", 9, "up", "either a floor or a ceiling"},
	{"at least excess", 0, "at", "a figure for a floor"},
	{"1:0", 1, ":0", "ratio"},
	{"1:1:1", 3, ":1", "ratio"},
	{"10 mL/g", 6, "g", "makes sense under a volume"},
	{"5 mL/", 5, "", "under the line"},
	{"5 mL to 10 g", 11, "", ""},
	{"a few", 5, "", "a unit"},
	{"overnigt", 0, "overnigt", "overnight"},
	{"5 mL of", 5, "of", "the end of a volume"},
	{"thrice a few hours", 0, "thrice", "size of a portion"},
	{"a few hours x 3", 14, "3", "size of a portion"},
	{"3 x 5 °C", 0, "3", "no portions"},
	{"5 mL in 3 g", 5, "in", "belongs under solution"},
	{"1/0 mL", 0, "1/0", "divisor"},
	{"\xff", 0, "\xff", "a quantity"},
	{"5 \xff", 2, "\xff", "a unit"},
	{"5 mL\x00", 4, "\x00", "the end"},
}

func TestParseRefuses(t *testing.T) {
	for _, c := range unreadable {
		q, err := Parse(c.in)
		var e *Error
		if !errors.As(err, &e) {
			t.Errorf("%q read as %+v, error %v; want an *Error", c.in, q, err)
			continue
		}
		if c.expected != "" && (e.At != c.at || e.Found != c.found || !strings.Contains(e.Expected, c.expected)) {
			t.Errorf("%q: at %d found %q expected %q; want at %d found %q expected …%s…", c.in, e.At, e.Found, e.Expected, c.at, c.found, c.expected)
		}
		if _, err := Parse(e.Example); err != nil {
			t.Errorf("%q: the example %q cannot be read: %v", c.in, e.Example, err)
		}
		if m := e.Error(); strings.HasSuffix(m, ".") || m[:1] != strings.ToLower(m[:1]) {
			t.Errorf("%q: message %q", c.in, m)
		}
		checkError(t, c.in, err)
	}
}

func TestParseAs(t *testing.T) {
	for _, c := range []struct {
		in    string
		dims  []Dimension
		dim   Dimension
		value float64
		unit  string
	}{
		{"15 mm", []Dimension{Pressure}, Pressure, 15 * 1.33322387415, "mmHg"},
		{"15 mm", []Dimension{Length, Pressure}, Length, 15, "mm"},
		{"100 micron", []Dimension{Pressure}, Pressure, 0.1 * 1013.25 / 760, "mtorr"},
		{"100 µm", []Dimension{Pressure}, Pressure, 0.1 * 1013.25 / 760, "mtorr"},
		{"100 mtorr", []Dimension{Pressure}, Pressure, 0.1 * 1013.25 / 760, "mtorr"},
		{"5 K", []Dimension{TemperatureRange}, TemperatureRange, 5, "K"},
		{"5 °C", []Dimension{TemperatureRange}, TemperatureRange, 5, "K"},
		{"9 °F", []Dimension{TemperatureRange}, TemperatureRange, 5, "°F"},
		{"5 K", []Dimension{Temperature}, Temperature, -268.15, "K"},
		{"1 g", []Dimension{Volume, Mass}, Mass, 1, "g"},
	} {
		q, err := ParseAs(c.in, c.dims...)
		if err != nil || q.Dim != c.dim || !close1(q.Value(), c.value) || q.Unit != c.unit {
			t.Errorf("ParseAs(%q, %v) = %+v, %v", c.in, c.dims, q, err)
			continue
		}
		checkStable(t, c.in, q)
	}
	for _, c := range []struct {
		in       string
		dim      Dimension
		at       int
		expected string
	}{
		{"6.9 mL", Mass, 4, "a mass, not a volume"},
		{"25", Temperature, 2, "the unit of a temperature"},
		{"excess", Volume, 0, "a volume"},
		{"5 drops", Volume, 2, "a volume, not a number"},
		{"overnight", Temperature, 0, "a temperature, not a time"},
		{"5 m", Time, 2, "a time, not a length"},
		{"", Time, 0, "a time"},
		{"yes", Time, 0, "a time"},
	} {
		_, err := ParseAs(c.in, c.dim)
		var e *Error
		if !errors.As(err, &e) || e.At != c.at || !strings.Contains(e.Expected, c.expected) {
			t.Errorf("ParseAs(%q, %s): %#v; want %q at %d", c.in, c.dim, err, c.expected, c.at)
			continue
		}
		if _, err := ParseAs(e.Example, c.dim); err != nil {
			t.Errorf("ParseAs(%q, %s): the example %q cannot be read: %v", c.in, c.dim, e.Example, err)
		}
	}
}

func TestExamplesAreReadable(t *testing.T) {
	for d := Mass; d < dimensions; d++ {
		q, err := ParseAs(kinds[d].example, d)
		if err != nil || q.Dim != d {
			t.Errorf("the example of %s, %q: %v", d, kinds[d].example, err)
		}
	}
	for i := range words {
		w := &words[i]
		if w.kind < wordShare {
			continue
		}
		q, err := Parse(w.text)
		if err != nil || q.String() != w.canon {
			t.Errorf("%q read as %q, %v; want %q", w.text, q.String(), err, w.canon)
		}
	}
}

// lists holds several expressions of one amount.
var lists = []struct {
	in   string
	want []string
}{
	{"75 g (71.5 mL, 0.5 mol)", []string{"75 g", "71.5 mL", "0.5 mol"}},
	{"1.06 g, 10.0 mmol", []string{"1.06 g", "10 mmol"}},
	{"1 g; 2 mL", []string{"1 g", "2 mL"}},
	{"2.0 g = 7.6 mmol", []string{"2 g", "7.6 mmol"}},
	{"2.0 g (2.002 g, 7.6 mmol)", []string{"2 g", "2.002 g", "7.6 mmol"}},
	{"0.24 g (text says 7.4 mmol)", []string{"0.24 g", "7.4 mmol"}},
	{"54-55 g (91-93 per cent)", []string{"54–55 g", "91–93 %"}},
	{"10 cc (15 g, 0.07 mol)", []string{"10 mL", "15 g", "0.07 mol"}},
	{"24.3 g (1 gram-atom)", []string{"24.3 g", "1 g-atom"}},
	{"3 x 20 mL", []string{"3 × 20 mL"}},
	{"6,9 mL,11 mmol", []string{"6.9 mL", "11 mmol"}},
	{"1.3 g (0.9 equiv of benzaldehyde)", []string{"1.3 g", "0.9 equiv of benzaldehyde"}},
	{"1 g ≈ 7 mmol", []string{"1 g", "about 7 mmol"}},
	{"1 g/7 mmol", []string{"1 g", "7 mmol"}},
	{"excess", []string{"excess"}},
}

func TestParseAll(t *testing.T) {
	for _, c := range lists {
		list, err := ParseAll(c.in)
		if err != nil {
			t.Errorf("%q: %v", c.in, err)
			continue
		}
		var got []string
		for _, q := range list {
			got = append(got, q.String())
			if !strings.Contains(c.in, q.Raw) || q.Raw == "" {
				t.Errorf("%q: part kept as %q", c.in, q.Raw)
			}
		}
		if strings.Join(got, " | ") != strings.Join(c.want, " | ") {
			t.Errorf("%q read as %q; want %q", c.in, got, c.want)
		}
	}
	for _, c := range []struct {
		in string
		at int
	}{
		{"75 g (71.5 mL", 13}, {"75 g)", 4}, {"75 g,", 5}, {"75 g in 30 mL", 5}, {"", 0}, {"75 g ((1 mL))", 6}, {"75 g, 3 mLL", 8},
		{strings.Repeat("1 g,", 20), 64},
	} {
		list, err := ParseAll(c.in)
		var e *Error
		if !errors.As(err, &e) || e.At != c.at {
			t.Errorf("%q read as %v, %#v; want an error at %d", c.in, list, err, c.at)
		}
	}
}

// solutions holds strengths as they are written.
var solutions = []struct {
	in       string
	strength string
	normal   bool
	form     string
	solvent  string
}{
	{"1.6 M in hexanes", "1.6 M", false, "", "hexanes"},
	{"saturated in water", "saturated", false, "", "water"},
	{"saturated", "saturated", false, "", ""},
	{"saturated aqueous", "saturated", false, "", "water"},
	{"sat. aq.", "saturated", false, "", "water"},
	{"60 % dispersion in mineral oil", "60 %", false, "dispersion", "mineral oil"},
	{"60 % (w/w) dispersion in mineral oil", "60 % w/w", false, "dispersion", "mineral oil"},
	{"5 % w/w in water", "5 % w/w", false, "", "water"},
	{"2 N", "2 N", true, "", ""},
	{"6 M", "6 M", false, "", ""},
	{"200 g in 500 mL water", "0.4 g/mL", false, "", "water"},
	{"200 g in 500 mL of water", "0.4 g/mL", false, "", "water"},
	{"0.5 mol in 1 L THF", "0.5 M", false, "", "THF"},
	{"30 % w/w", "30 % w/w", false, "", ""},
	{"concentrated", "concentrated", false, "", ""},
	{"conc.", "concentrated", false, "", ""},
	{"dilute", "dilute", false, "", ""},
	{"10 wt% in hexane", "10 % w/w", false, "", "hexane"},
	{"0.1 M", "0.1 M", false, "", ""},
	{"1000 µg/mL", "1000 µg/mL", false, "", ""},
	{"1.0 M solution in THF", "1 M", false, "solution", "THF"},
	{"1 M (hexanes)", "1 M", false, "", "hexanes"},
	{"10 per cent aqueous solution", "10 %", false, "solution", "water"},
	{"3 % amalgam", "3 %", false, "amalgam", ""},
	{"1000 microgram/mL standard in 2 % nitric acid", "1000 µg/mL", false, "standard", "2 % nitric acid"},
	{"2.5 M in hexane (fraction from petroleum)", "2.5 M", false, "", "hexane (fraction from petroleum)"},
	{"about 1.6 M in hexanes", "about 1.6 M", false, "", "hexanes"},
	{"1.4–1.6 M in pentane", "1.4–1.6 M", false, "", "pentane"},
}

func TestParseSolution(t *testing.T) {
	for _, c := range solutions {
		sol, err := ParseSolution(c.in)
		if err != nil {
			t.Errorf("%q: %v", c.in, err)
			continue
		}
		if got := sol.Strength.String(); got != c.strength || sol.Normal != c.normal || sol.Form != c.form || sol.Solvent != c.solvent || sol.Raw != c.in {
			t.Errorf("%q read as %q normal %v form %q solvent %q", c.in, got, sol.Normal, sol.Form, sol.Solvent)
		}
	}
	sol, err := ParseSolution("200 g in 500 mL water")
	if err != nil || sol.SoluteMass.Value() != 200 || sol.SolventVolume.Value() != 500 || sol.Strength.Value() != 0.4 || sol.Strength.Assumed == "" {
		t.Errorf("200 g in 500 mL water read as %+v, %v", sol, err)
	}
	for in, on := range map[string]string{"10 % w/w on carbon": "carbon", "5 % on activated alumina": "activated alumina"} {
		if sol, err := ParseSolution(in); err != nil || sol.Support != on || sol.Solvent != "" {
			t.Errorf("%q read as %+v, %v", in, sol, err)
		}
	}
	for _, c := range []struct {
		in string
		at int
	}{
		{"10 % on", 7}, {"1 M on carbon", 4}, {"", 0}, {"6.9 mL", 4}, {"excess", 0}, {"200 g", 5}, {"200 g in water", 14}, {"1.6 M in", 8}, {"1.6 M hexanes", 6},
		{"1.6 M in 5 g hexanes", 9}, {"1.6 M (hexanes", 14}, {"3 x 1.6 M", 8}, {"room temperature", 0}, {"aqueous 2 M in toluene", 15},
		{"1.6 M in 12345", 14}, {"yes", 0},
	} {
		sol, err := ParseSolution(c.in)
		var e *Error
		if !errors.As(err, &e) || e.At != c.at {
			t.Errorf("%q read as %+v, %#v; want an error at %d", c.in, sol, err, c.at)
			continue
		}
		if _, err := ParseSolution(e.Example); err != nil {
			t.Errorf("%q: the example %q cannot be read: %v", c.in, e.Example, err)
		}
	}
}

func TestFormat(t *testing.T) {
	for _, c := range []struct {
		v    float64
		dim  Dimension
		want string
	}{
		{0.62, Amount, "0.62 mmol"}, {26, Amount, "26 mmol"}, {0.01, Amount, "0.01 mmol"}, {0.0042, Amount, "4.2 µmol"}, {1300, Amount, "1.3 mol"},
		{1300, Volume, "1.3 L"}, {6.9, Volume, "6.9 mL"}, {0.05, Volume, "50 µL"}, {999.7, Volume, "1 L"},
		{4e-6, Fraction, "4 ppm"}, {0.013, Fraction, "1.3 %"}, {180e-6, Fraction, "180 ppm"}, {5e-9, Fraction, "5 ppb"}, {1, Fraction, "100 %"}, {0, Fraction, "0 %"},
		{45, Time, "45 min"}, {180, Time, "3 h"}, {0.5, Time, "30 s"}, {90, Time, "1.5 h"}, {75, Time, "75 min"}, {4320, Time, "72 h"}, {14400, Time, "10 d"}, {0, Time, "0 min"},
		{-78, Temperature, "−78 °C"}, {22.5, Temperature, "22.5 °C"}, {0, Temperature, "0 °C"},
		{0.0243, Mass, "24.3 mg"}, {1.06, Mass, "1.06 g"}, {1500, Mass, "1.5 kg"}, {2e-5, Mass, "20 µg"}, {-1.06, Mass, "−1.06 g"},
		{1.6, Molarity, "1.6 M"}, {0.005, Molarity, "5 mM"}, {0.4, MassConcentration, "0.4 g/mL"},
		{0.133, Pressure, "0.133 mbar"}, {1013.25, Pressure, "1.01 bar"}, {50, Flow, "50 mL/min"}, {0.05, Flow, "3 mL/h"},
		{120, DripRate, "2 drops/s"}, {1.2, Equivalents, "1.2 equiv"}, {3, Count, "3"}, {150, Length, "15 cm"}, {0.1, PerTime, "6 /h"},
		{math.NaN(), Mass, "unknown"}, {inf, Mass, "∞ kg"}, {2, Word, "2"}, {2, 99, "unknown"},
	} {
		if got := Format(c.v, c.dim); got != c.want {
			t.Errorf("Format(%g, %s) = %q; want %q", c.v, c.dim, got, c.want)
		}
	}
	for _, c := range []struct {
		v    float64
		want string
	}{
		{0, "0"}, {1, "1"}, {1.23456, "1.23"}, {-0.5, "−0.5"}, {1e-4, "0.0001"}, {1234567, "1230000"}, {9999999, "10000000"}, {0.1 + 0.2, "0.3"},
		{1e-6, "1 × 10^−6"}, {6.02e23, "6.02 × 10^23"}, {inf, "∞"}, {-inf, "−∞"}, {math.NaN(), "unknown"},
	} {
		if got := FormatNumber(c.v); got != c.want {
			t.Errorf("FormatNumber(%g) = %q; want %q", c.v, got, c.want)
		}
	}
	// What Format prints can be read again, to its three digits.
	for d := Mass; d < Word; d++ {
		for v := 1e-6; v < 1e6; v *= 3.7 {
			text := Format(v, d)
			if d == TemperatureRange {
				text = "Δ" + text
			}
			q, err := ParseAs(text, d)
			if err != nil || math.Abs(q.Value()-v) > 0.0051*v {
				t.Errorf("Format(%g, %s) = %q, read as %g, %v", v, d, text, q.Value(), err)
			}
		}
	}
}

func must(t *testing.T, s string) Quantity {
	t.Helper()
	q, err := Parse(s)
	if err != nil {
		t.Fatal(err)
	}
	return q
}

func TestValue(t *testing.T) {
	for _, c := range []struct {
		in                     string
		value, total, min, max float64
	}{
		{"3 x 20 mL", 20, 60, 60, 60},
		{"15-20 min", 17.5, 17.5, 15, 20},
		{"2 x 10-20 mL", 15, 30, 20, 40},
		{"at least 24 h", 1440, 1440, 1440, inf},
		{"up to 5 mL", 5, 5, 0, 5},
		{"not above -65 °C", -65, -65, -inf, -65},
		{"overnight", 960, 960, 720, 1080},
		{"room temperature", 22.5, 22.5, 20, 25},
	} {
		q := must(t, c.in)
		if q.Value() != c.value || q.Total() != c.total || q.Min() != c.min || q.Max() != c.max || !q.Known() {
			t.Errorf("%q: value %g total %g min %g max %g", c.in, q.Value(), q.Total(), q.Min(), q.Max())
		}
	}
	for _, q := range []Quantity{{}, must(t, "excess"), {Dim: Mass, Low: -inf, High: inf}, {Dim: Mass, Low: math.NaN()}} {
		if q.Known() || !math.IsNaN(q.Value()) || !math.IsNaN(q.Max()) || !math.IsNaN(q.Min()) {
			t.Errorf("%+v has a value", q)
		}
		if _, err := q.In("g"); err == nil {
			t.Errorf("%+v is %s in g", q, q)
		}
	}
}

func TestIn(t *testing.T) {
	for _, c := range []struct {
		in, unit string
		want     float64
	}{
		{"6.9 mL", "L", 0.0069}, {"6.9 mL", "ul", 6900}, {"25 °C", "K", 298.15}, {"25 °C", "°F", 77}, {"1 atm", "torr", 760},
		{"1 atm", "mm", 760 * 1013.25 / 760 / 1.33322387415}, {"2 N", "N", 2}, {"5 mL/h", "mL/h", 5}, {"2 drops/s", "drops/min", 120}, {"5 %", "ppm", 50000}, {"10 g/L", "mg/mL", 10},
	} {
		got, err := must(t, c.in).In(c.unit)
		if err != nil || !close1(got, c.want) {
			t.Errorf("%s in %s = %v, %v; want %v", c.in, c.unit, got, err, c.want)
		}
	}
	for _, c := range []struct{ in, unit string }{{"6.9 mL", "g"}, {"6.9 mL", "mLL"}, {"6.9 mL", ""}, {"2 N", "M"}, {"2 M", "N"}, {"6.9 mL", "3 mL"}} {
		if got, err := must(t, c.in).In(c.unit); err == nil {
			t.Errorf("%s in %s = %v; want an error", c.in, c.unit, got)
		}
	}
	if v, err := Convert(5, "K", "g"); err == nil {
		t.Errorf("5 K = %v g", v)
	}
	if v, err := Convert(1, "N", "M"); err == nil {
		t.Errorf("1 N = %v M", v)
	}
	if v, err := Convert(760, "mm", "torr"); err != nil || math.Abs(v-760) > 0.001 {
		t.Errorf("760 mm = %v torr, %v", v, err)
	}
}

func TestArithmetic(t *testing.T) {
	for _, c := range []struct{ a, op, b, want string }{
		{"5 mL", "+", "250 µL", "5.25 mL"},
		{"3 x 20 mL", "+", "40 mL", "100 mL"},
		{"1 L", "-", "200 mL", "0.8 L"},
		{"2-3 mL", "+", "1-2 mL", "3–5 mL"},
		{"5 mL", "-", "2-3 mL", "2–3 mL"},
		{"2-3 mL", "-", "2.5 mL", "0–0.5 mL"},
		{"3 mL", "+", "up to 5 mL", "3–8 mL"},
		{"3 mL", "+", "at least 5 mL", "at least 8 mL"},
		{"about 3 mL", "+", "5 mL", "about 8 mL"},
		{"25 °C", "+", "Δ5 K", "30 °C"},
		{"Δ5 K", "+", "25 °C", "30 °C"},
		{"25 °C", "-", "-78 °C", "Δ103 K"},
		{"25 °C", "-", "Δ5 K", "20 °C"},
		{"overnight", "+", "1 h", "13–19 h"},
		{"5 drops", "+", "3 drops", "8 drops"},
		{"5 % w/w", "+", "5 %", "10 % w/w"},
		{"5 mL", "+", "1 g", "error"},
		{"5 mL", "-", "1 h", "error"},
		{"5 mL", "-", "6 mL", "error"},
		{"25 °C", "+", "25 °C", "error"},
		{"5 mL", "+", "excess", "error"},
		{"5 % w/w", "+", "5 % v/v", "error"},
		{"2 N", "+", "2 M", "error"},
		{"5 drops", "+", "3 crystals", "error"},
		{"not above 5 °C", "-", "not above 2 °C", "error"},
	} {
		a, b := must(t, c.a), must(t, c.b)
		var got Quantity
		var err error
		if c.op == "+" {
			got, err = a.Plus(b)
		} else {
			got, err = a.Minus(b)
		}
		switch {
		case err != nil && c.want != "error":
			t.Errorf("%s %s %s: %v", c.a, c.op, c.b, err)
		case err == nil && got.String() != c.want:
			t.Errorf("%s %s %s = %s; want %s", c.a, c.op, c.b, got, c.want)
		}
	}
	for _, c := range []struct {
		a    string
		f    float64
		want string
	}{
		{"3 x 20 mL", 2, "3 × 40 mL"}, {"1-2 g", 0.5, "0.5–1 g"}, {"overnight", 2, "1440–2160 min"}, {"a few hours", 2, "4–10 h"},
		{"25 °C", 2, "25 °C"}, {"excess", 2, "excess"}, {"up to 5 mL", 2, "up to 10 mL"}, {"at least 5 mL", 2, "at least 10 mL"},
		{"at least 5 mL", 0, "0 mL"}, {"5 mL dropwise", 2, "10 mL dropwise"}, {"half", 0.5, "25 %"}, {"5 mL", math.NaN(), "5 mL"}, {"20:1", 2, "40:1"},
	} {
		if got := must(t, c.a).Scale(c.f).String(); got != c.want {
			t.Errorf("%s × %g = %s; want %s", c.a, c.f, got, c.want)
		}
	}
}

// TestCommaRule pins the one rule for a comma: three digits after it, with one
// to three before that do not begin with nought, are thousands; anything else
// is a decimal.
func TestCommaRule(t *testing.T) {
	for _, c := range []struct {
		in   string
		want float64
	}{
		{"1,000 mL", 1000}, {"12,345 mL", 12345}, {"999,999 mL", 999999}, {"0,500 mL", 0.5}, {"1234,567 mL", 1234.567},
		{"1,5 mL", 1.5}, {"1,50 mL", 1.5}, {"1,5000 mL", 1.5}, {"1,000,000 mL", 1e6},
	} {
		if got := must(t, c.in).Value(); got != c.want {
			t.Errorf("%s read as %g; want %g", c.in, got, c.want)
		}
	}
}

func TestLongTextIsRefused(t *testing.T) {
	for _, s := range []string{strings.Repeat("9", 1e6), strings.Repeat("about ", 1e5), "5 mL of " + strings.Repeat("x", 1e6), strings.Repeat("(", 1e5)} {
		if _, err := Parse(s); err == nil {
			t.Errorf("read %d bytes", len(s))
		} else {
			checkError(t, s, err)
		}
		if _, err := ParseAll(s); err == nil {
			t.Errorf("read %d bytes as a list", len(s))
		}
		if _, err := ParseSolution(s); err == nil {
			t.Errorf("read %d bytes as a solution", len(s))
		}
	}
}

func TestAllocations(t *testing.T) {
	for _, s := range []string{"6.9 mL", "0 to 5 °C", "3 x 20 mL", "overnight", "about 20 min"} {
		if n := testing.AllocsPerRun(100, func() {
			if _, err := Parse(s); err != nil {
				t.Fatal(err)
			}
		}); n > 2 {
			t.Errorf("Parse(%q) allocates %g times", s, n)
		}
	}
}

var sink Quantity

func BenchmarkParse(b *testing.B) {
	for _, s := range []string{"6.9 mL", "−78 to −70 °C", "3 x 20 mL", "overnight", "1.2 equiv of benzaldehyde", "50 mL/min"} {
		b.Run(s, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				q, err := Parse(s)
				if err != nil {
					b.Fatal(err)
				}
				sink = q
			}
		})
	}
}

func BenchmarkParseAll(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := ParseAll("75 g (71.5 mL, 0.5 mol)"); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkParseSolution(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := ParseSolution("60 % dispersion in mineral oil"); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkString(b *testing.B) {
	q, err := Parse("about 3 x 20 mL")
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if q.String() == "" {
			b.Fatal("printed nothing")
		}
	}
}

// A unit of what is asked for is offered, and none of another dimension; a text
// that ends too early says after what.
func TestUnitOfTheDimensionIsOffered(t *testing.T) {
	for _, c := range []struct {
		in   string
		want Dimension
		says string
	}{
		{"30 mn", Time, "perhaps min"},
		{"30 mL", Time, "expected"},
		{"6.9 mLL", Volume, "perhaps mL"},
		{"-78", Temperature, `found nothing more after "-78"`},
		{"", Temperature, "found nothing more, expected"},
	} {
		_, err := ParseAs(c.in, c.want)
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%q: %v, want %q", c.in, err, c.says)
		}
		if c.want == Time && err != nil && (strings.Contains(err.Error(), "perhaps mg") || strings.Contains(err.Error(), "perhaps mL")) {
			t.Errorf("%q: %v offers no time", c.in, err)
		}
	}
}
