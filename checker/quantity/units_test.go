package quantity

import (
	"math"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
)

// gnu gives, for each unit of the table that has a physical size, the same
// unit in the language of GNU units (Debian package "units"), and the base
// unit of each dimension. Numbers of things and equivalents have none.
var gnuBase = map[Dimension]string{
	Mass: "g", Volume: "ml", Amount: "mmol", Molarity: "mol/l", Fraction: "1", Pressure: "millibar",
	Time: "minute", Length: "mm", Power: "W", PerTime: "1/minute",
}

var gnu = map[string]string{
	"g": "g", "mg": "mg", "µg": "microgram", "ng": "nanogram", "kg": "kg", "lb": "lb", "oz": "oz",
	"mL": "ml", "µL": "microliter", "nL": "nanoliter", "cL": "centiliter", "dL": "deciliter", "L": "liter", "m³": "m^3",
	"mmol": "mmol", "mol": "mol", "µmol": "micromol", "nmol": "nanomol", "kmol": "kmol", "g-atom": "mol", "mg-atom": "mmol",
	"M": "mol/l", "mM": "mmol/l", "µM": "micromol/l", "nM": "nanomol/l", "N": "mol/l",
	"%": "percent", "‰": "0.001", "ppm": "ppm", "ppb": "ppb", "ppmv": "ppm", "ppmw": "ppm",
	"mbar": "millibar", "µbar": "microbar", "bar": "bar", "torr": "torr", "mtorr": "millitorr", "mmHg": "mmHg", "inHg": "inHg",
	"atm": "atm", "Pa": "Pa", "mPa": "mPa", "hPa": "hPa", "kPa": "kPa", "MPa": "MPa", "psi": "psi",
	"s": "s", "min": "minute", "h": "hour", "d": "day", "week": "week",
	"mm": "mm", "µm": "micrometer", "nm": "nm", "cm": "cm", "m": "m", "inch": "inch", "Å": "angstrom",
	"W": "W", "mW": "mW", "kW": "kW", "rpm": "1/minute", "Hz": "1/s", "ACH": "1/hour",
}

// gnuUnits asks GNU units for the value of one expression in a unit.
func gnuUnits(t *testing.T, from, to string) float64 {
	t.Helper()
	out, err := exec.Command("units", "--terse", "--output-format", "%.15g", from, to).Output()
	if err != nil {
		t.Fatalf("units %q %q: %v", from, to, err)
	}
	v, err := strconv.ParseFloat(strings.TrimSpace(string(out)), 64)
	if err != nil {
		t.Fatalf("units %q %q answered %q", from, to, out)
	}
	return v
}

// TestUnitsAgainstGNU checks every factor of the table against GNU units, an
// independent table of units.
func TestUnitsAgainstGNU(t *testing.T) {
	if _, err := exec.LookPath("units"); err != nil {
		if os.Getenv("KETYL_OUTSIDE") == "required" {
			t.Fatal("GNU units is required and not installed (Debian package units)")
		}
		t.Skip("GNU units is not installed (Debian package units); the table's factors go unchecked")
	}
	// The millimetre of mercury is the conventional one here and may be a
	// rounding of it there: 2 in ten million.
	loose := map[string]float64{"mmHg": 2e-7, "inHg": 2e-7}
	for i := range units {
		u := &units[i]
		switch u.dim {
		case Temperature, Count, Equivalents:
			continue
		}
		from, ok := gnu[u.sym]
		if !ok {
			t.Errorf("%s has no counterpart to be checked against", u.sym)
			continue
		}
		base, ok := gnuBase[u.dim]
		if !ok {
			t.Errorf("%s has no base unit to be checked in", u.dim)
			continue
		}
		want := gnuUnits(t, from, base)
		if tol := max(loose[u.sym], 1e-12); math.Abs(u.factor-want) > tol*want {
			t.Errorf("%s: factor %.15g; GNU units has %.15g %s", u.sym, u.factor, want, base)
		}
		if u.alt != None && u.alt != TemperatureRange {
			alt, ok := gnu[u.altSym]
			if !ok {
				t.Errorf("%s has no counterpart to be checked against", u.altSym)
				continue
			}
			if want := gnuUnits(t, alt, gnuBase[u.alt]); math.Abs(u.altFac-want) > 2e-7*want {
				t.Errorf("%s as %s: factor %.15g; GNU units has %.15g", u.sym, u.alt, u.altFac, want)
			}
		}
	}
	for _, c := range []struct {
		in, from, to string
	}{
		{"77 °F", "tempF(77)", "tempC"}, {"-40 °F", "tempF(-40)", "tempC"}, {"298.15 K", "tempK(298.15)", "tempC"},
		{"5 mL/h", "5 ml/hour", "ml/minute"}, {"50 mg/mL", "50 mg/ml", "g/ml"}, {"10 g/100 mL", "10 g/(100 ml)", "g/ml"},
		{"3 mmol/L", "3 mmol/l", "mol/l"}, {"2 kg/h", "2 kg/hour", "g/minute"}, {"7 µmol/s", "7 micromol/s", "mmol/minute"},
		{"180 mg/kg", "180 mg/kg", "1"}, {"2 mL/L", "2 ml/l", "1"}, {"3 L/s", "3 l/s", "ml/minute"}, {"4 d", "4 day", "minute"},
		{"1 h 30 min", "1 hour + 30 minute", "minute"}, {"6 /h", "6/hour", "1/minute"}, {"2 g/dm³", "2 g/dm^3", "g/ml"},
	} {
		q := must(t, c.in)
		want := gnuUnits(t, c.from, c.to)
		if math.Abs(q.Value()-want) > 1e-9*math.Max(1, math.Abs(want)) {
			t.Errorf("%s is %.15g; GNU units has %.15g", c.in, q.Value(), want)
		}
	}
	if got, want := must(t, "Δ5 °F").Value(), gnuUnits(t, "5 degF", "K"); math.Abs(got-want) > 1e-9 {
		t.Errorf("a difference of 5 °F is %g K; GNU units has %g", got, want)
	}
}

// TestUnitTable checks that the table is whole: every spelling leads to its
// row, every row has a source and a size.
func TestUnitTable(t *testing.T) {
	seen := map[string]string{}
	for i := range units {
		u := &units[i]
		if u.source == "" || u.factor <= 0 || u.dim == None {
			t.Errorf("%s: source %q, factor %g, %s", u.sym, u.source, u.factor, u.dim)
		}
		for _, name := range append([]string{u.sym}, strings.Split(u.names, "|")...) {
			if name == "" {
				if u.names != "" {
					t.Errorf("%s has an empty spelling", u.sym)
				}
				continue
			}
			if other, ok := seen[name]; ok && other != u.sym {
				t.Errorf("%q is both %s and %s", name, other, u.sym)
			}
			seen[name] = u.sym
			if strings.HasPrefix(u.sym, "ppm") && len(u.sym) == 4 {
				continue // printed as ppm with its basis
			}
			q, err := ParseAs("2 "+name, u.dim)
			if err != nil {
				t.Errorf("2 %s: %v", name, err)
				continue
			}
			if q.Unit != u.sym {
				t.Errorf("2 %s read in %s; want %s", name, q.Unit, u.sym)
			}
			if want := (2 + u.zero) * u.factor; !close1(q.Value(), want) && u.dim != Temperature {
				t.Errorf("2 %s read as %g; want %g", name, q.Value(), want)
			}
			checkStable(t, "2 "+name, q)
		}
	}
}
