package quantity

import (
	"errors"
	"math"
	"testing"
	"unicode/utf8"
)

// sameButRaw reports whether two quantities agree in every field but Raw.
func sameButRaw(a, b Quantity) bool {
	a.Raw, b.Raw = "", ""
	return a == b
}

// checkStable fails unless what q prints is read as q again.
func checkStable(t *testing.T, s string, q Quantity) {
	t.Helper()
	printed := q.String()
	again, err := ParseAs(printed, q.Dim)
	if err != nil {
		t.Fatalf("%q read as %+v printed %q, which is not read: %v", s, q, printed, err)
	}
	if !sameButRaw(q, again) {
		t.Fatalf("%q printed %q\n was %+v\n now %+v", s, printed, q, again)
	}
	if third := again.String(); third != printed {
		t.Fatalf("%q printed %q and then %q", s, printed, third)
	}
}

// checkSane fails where a read quantity breaks what its type promises.
func checkSane(t *testing.T, s string, q Quantity) {
	t.Helper()
	switch {
	case q.Dim == None || q.Dim >= dimensions:
		t.Fatalf("%q read without a dimension", s)
	case math.IsNaN(q.Low) || math.IsNaN(q.High) || q.Low > q.High:
		t.Fatalf("%q read as %g to %g", s, q.Low, q.High)
	case q.Low < 0 && !canBeNegative(q.Dim):
		t.Fatalf("%q read as %s below nought", s, q.Dim)
	case math.IsInf(q.High, 1) != q.AtLeast:
		t.Fatalf("%q: upper end %g with AtLeast %v", s, q.High, q.AtLeast)
	case q.Times < 1:
		t.Fatalf("%q: %d portions", s, q.Times)
	case q.Dim != Word && !q.Known():
		t.Fatalf("%q: %s without a figure", s, q.Dim)
	case q.Known() && (math.IsNaN(q.Value()) || math.IsInf(q.Value(), 0)):
		t.Fatalf("%q: value %g", s, q.Value())
	}
}

func checkError(t *testing.T, s string, err error) {
	t.Helper()
	var e *Error
	if !errors.As(err, &e) {
		t.Fatalf("%q: error of type %T", s, err)
	}
	if e.At < 0 || e.At > len(s) {
		t.Fatalf("%q: error at byte %d of %d", s, e.At, len(s))
	}
	if e.Expected == "" || e.Example == "" {
		t.Fatalf("%q: error %+v says not what was expected", s, e)
	}
	if e.At < len(s) && utf8.ValidString(s) && !utf8.RuneStart(s[e.At]) {
		t.Fatalf("%q: error at byte %d, within a character", s, e.At)
	}
}

// TestPrintsWhatItReads holds texts that once printed as something else.
func TestPrintsWhatItReads(t *testing.T) {
	for _, s := range []string{
		"6,excess", "1,in portions", "six portionwise", "a few vol%", "1.2of  equiv ofbenzaldehyde", "1/3 of the solution",
		"0.1 ± 0.02 g", "7 µL", "0.3 torr", "1e-9 °F", "5 mL dropwise of the the water", "half of the the solution",
		"about at least 3 x ca. 20 mL", "40 g in 3 portions", "1:3", "3:7", "99.999 %", "1.0000000000000002 torr", "slowly, dropwise",
		"10 g/30 mL", "7 drops per 13 s", "30 s to 7 h", "3 mmHg–7 psi", "0.1 °F to 25 °C", "2 h ± 7 min", "25 °C ± 3 °F",
	} {
		q, err := Parse(s)
		if err != nil {
			t.Errorf("%q: %v", s, err)
			continue
		}
		checkSane(t, s, q)
		checkStable(t, s, q)
	}
	for _, s := range []string{"twice 1:4 v/v", "quarter up to of an hour No", "thrice a few hours"} {
		if q, err := Parse(s); err == nil {
			t.Errorf("%q read as %+v", s, q)
		}
	}
	if q, err := ParseAs("4 x 12 °C", TemperatureRange); err == nil {
		t.Errorf("4 x 12 °C read as %+v", q)
	}
}

func FuzzParse(f *testing.F) {
	for _, c := range readable {
		f.Add(c.in)
	}
	for _, c := range unreadable {
		f.Add(c.in)
	}
	for _, c := range solutions {
		f.Add(c.in)
	}
	for _, c := range lists {
		f.Add(c.in)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if q, err := Parse(s); err != nil {
			checkError(t, s, err)
		} else {
			if q.Raw != s {
				t.Fatalf("%q kept as %q", s, q.Raw)
			}
			checkSane(t, s, q)
			checkStable(t, s, q)
			Format(q.Value(), q.Dim)
		}
		for d := Mass; d < dimensions; d++ {
			q, err := ParseAs(s, d)
			if err != nil {
				checkError(t, s, err)
				continue
			}
			if q.Dim != d {
				t.Fatalf("ParseAs(%q, %s) gave %s", s, d, q.Dim)
			}
			checkSane(t, s, q)
			checkStable(t, s, q)
		}
		if list, err := ParseAll(s); err != nil {
			checkError(t, s, err)
		} else {
			if len(list) == 0 {
				t.Fatalf("ParseAll(%q) read nothing and said nothing", s)
			}
			for _, q := range list {
				checkSane(t, s, q)
			}
		}
		if sol, err := ParseSolution(s); err != nil {
			checkError(t, s, err)
		} else {
			switch sol.Strength.Dim {
			case Molarity, Fraction, MassConcentration, Word:
			default:
				t.Fatalf("ParseSolution(%q) gave a strength that is %s", s, sol.Strength.Dim)
			}
		}
	})
}
