package quantity

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"
)

// Days are counted on the Gregorian calendar: from 2026-01-15 to 2026-04-15 are
// 16 + 28 + 31 + 15 = 90 days.
func TestParseAge(t *testing.T) {
	on := time.Date(2026, 4, 15, 9, 30, 0, 0, time.UTC)
	for _, c := range []struct {
		text      string
		low, high float64 // days
	}{
		{"2026-01-15", 90, 90},
		{"2026/1/15", 90, 90},
		{"15.01.2026", 90, 90},
		{"15.1.26", 90, 90},
		{"15 January 2026", 90, 90},
		{"15th of January 2026", 90, 90},
		{"15 Jan 26", 90, 90},
		{"15-Jan-2026", 90, 90},
		{"January 15, 2026", 90, 90},
		{"Jan. 15th, 2026", 90, 90},
		{"opened on 2026-01-15 by the stockroom", 90, 90},
		{"1/2/2026", 73, 103}, // 1 February or 2 January
		{"15/1/2026", 90, 90}, // there is no month 15
		{"January 2026", 74, 104},
		{"jan 2026", 74, 104},
		{"2026-01", 74, 104},
		{"01/2026", 74, 104},
		{"2025", 105, 469},
		{"April 2026", 0, 14}, // the month is not over
		{"2026-04-15", 0, 0},
		{"2 years ago", 2 * Year, 2 * Year},
		{"a year ago", Year, Year},
		{"half a year ago", Year / 2, Year / 2},
		{"1.5 years ago", 1.5 * Year, 1.5 * Year},
		{"two and a half years ago", 2.5 * Year, 2.5 * Year},
		{"6 weeks ago", 42, 42},
		{"2-3 months ago", 2 * Month, 3 * Month},
		{"2 to 3 months ago", 2 * Month, 3 * Month},
		{"more than 6 months ago", 6 * Month, math.Inf(1)},
		{"ten days", 10, 10},
		{"a fortnight ago", 14, 14},
		{"this week", 0, 7},
		{"last month", 1, 62},
		{"negative, this morning", 0, 1},
		{"freshly opened", 0, 1},
		{"yesterday", 1, 2},
	} {
		a, err := ParseAge(c.text, on)
		if err != nil || math.Abs(a.Low-c.low) > 1e-9 || a.High != c.high && math.Abs(a.High-c.high) > 1e-9 {
			t.Errorf("%q: %v days, %v; want %v to %v", c.text, a, err, c.low, c.high)
		}
	}
	for _, c := range []struct{ text, says string }{
		{"", "expected a day"}, {"?", "expected a day"}, {"unknown", "expected a day"}, {"2026-01-15?", "expected a day"}, {"no date", "expected a day"}, {"some time ago", "expected a day"},
		{"a while ago", "expected a day"}, {"not fresh", "expected a day"}, {"recently", "expected a day"}, {"soon", "expected a day"},
		{"15 January", "without its year"}, {"in March", "without its year"},
		{"2026-02-30", "no day of the calendar"}, {"31.4.2025", "no day of the calendar"}, {"2025-13", "no month"},
		{"2026-04-16", "after the day of the run"}, {"2030", "after the day of the run"},
	} {
		if a, err := ParseAge(c.text, on); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%q: %v, %v; want an error that says %q", c.text, a, err, c.says)
		}
	}
}

// Without the day of the run an age stands and a date does not.
func TestParseAgeWithoutDay(t *testing.T) {
	if a, err := ParseAge("3 weeks ago", time.Time{}); err != nil || a.High != 21 {
		t.Errorf("an age: %v, %v", a, err)
	}
	if _, err := ParseAge("2026-01-15", time.Time{}); !errors.Is(err, ErrNoDay) {
		t.Errorf("a date: %v", err)
	}
}

func TestParseDay(t *testing.T) {
	for _, text := range []string{"2026-01-15", "15 January 2026", "15.1.2026"} {
		d, err := ParseDay(text)
		if err != nil || d.Format(time.DateOnly) != "2026-01-15" {
			t.Errorf("%q: %v, %v", text, d, err)
		}
	}
	for _, text := range []string{"January 2026", "2026", "1/2/2026", "today", "3 weeks ago", "?", "Easter"} {
		if d, err := ParseDay(text); err == nil {
			t.Errorf("%q: read as %v", text, d)
		}
	}
}

func FuzzParseAge(f *testing.F) {
	for _, s := range []string{"2026-01-15", "1/2/26", "15th of Jan, 2026", "more than 2 years ago", "half a week", "00.00.0000", "9999-99-99", "may"} {
		f.Add(s)
	}
	on := time.Date(2026, 4, 15, 0, 0, 0, 0, time.UTC)
	f.Fuzz(func(t *testing.T, s string) {
		if a, err := ParseAge(s, on); err == nil && !(a.Low >= 0 && a.High >= a.Low) {
			t.Errorf("%q: %v", s, a)
		}
	})
}
