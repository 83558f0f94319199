package quantity

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"
)

// Age is how long ago something was, in days, from the youngest to the oldest
// reading of what is written: "March 2026" is the first and the last of March.
type Age struct{ Low, High float64 }

// Mean lengths of the Gregorian calendar, days.
const (
	Month = 365.2425 / 12
	Year  = 365.2425
)

// Months is the oldest reading in months.
func (a Age) Months() float64 { return a.High / Month }

// ErrNoDay says that a date cannot be made an age because the day it is to be
// counted from is not known.
var ErrNoDay = errors.New("the day of the run is not known")

const (
	monthNames = `(jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?|july?|aug(?:ust)?|sept?(?:ember)?|oct(?:ober)?|nov(?:ember)?|dec(?:ember)?)\b\.?`
	yearDigits = `(?:'?(\d{2})|((?:19|20)\d{2}))\b`
	unitNames  = `(hours?|h|days?|d|weeks?|wks?|fortnights?|months?|mo|years?|yrs?)\b`
)

var (
	isoDay     = regexp.MustCompile(`\b((?:19|20)\d{2})[-/.](\d{1,2})[-/.](\d{1,2})\b`)
	numberDay  = regexp.MustCompile(`\b(\d{1,2})\s?([./-])\s?(\d{1,2})\s?[./-]\s?` + yearDigits)
	dayMonth   = regexp.MustCompile(`\b(\d{1,2})(?:st|nd|rd|th)?\.?[ -]?(?:of )?` + monthNames + `(?:,? ?[ -]?` + yearDigits + `)?`)
	monthDay   = regexp.MustCompile(`\b` + monthNames + ` (\d{1,2})(?:st|nd|rd|th)?(?:,? ` + yearDigits + `|$|[,; ])`)
	monthYear  = regexp.MustCompile(`\b` + monthNames + `(?:,? ?` + yearDigits + `)?`)
	isoMonth   = regexp.MustCompile(`\b((?:19|20)\d{2})[-/.](\d{1,2})\b`)
	slashMonth = regexp.MustCompile(`\b(\d{1,2})[/.]((?:19|20)\d{2})\b`)
	yearAlone  = regexp.MustCompile(`\b((?:19|20)\d{2})\b`)
	numberAgo  = regexp.MustCompile(`(more than |over |at least |> ?)?\b(\d+(?:[.,]\d+)?|an?|one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve)(?: and a half)?(?: (?:to|or) (\d+)|[-–](\d+))? ?` + unitNames)
	halfAgo    = regexp.MustCompile(`\bhalf an? ` + unitNames)
)

var numberWords = map[string]float64{"a": 1, "an": 1, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9, "ten": 10, "eleven": 11, "twelve": 12}

// agesInWords are what people write in place of a date; the first that is
// found counts, so that the longer stands before the shorter.
var agesInWords = []struct {
	word      string
	low, high float64
}{
	{"last year", 1, 2 * Year}, {"last term", 1, 1.5 * Year}, {"last semester", 1, Year}, {"last month", 1, 62}, {"last week", 1, 14},
	{"this year", 0, Year}, {"this term", 0, Year / 2}, {"this semester", 0, Year / 2}, {"this month", 0, 31}, {"this week", 0, 7},
	{"yesterday", 1, 2}, {"today", 0, 1}, {"this morning", 0, 1}, {"this afternoon", 0, 1}, {"on the day", 0, 1}, {"same day", 0, 1}, {"day of use", 0, 1},
	{"before use", 0, 1}, {"before each use", 0, 1}, {"just opened", 0, 1}, {"just now", 0, 1}, {"freshly", 0, 1}, {"fresh", 0, 1}, {"newly", 0, 1}, {"new bottle", 0, 1}, {"unopened", 0, 1}, {"not yet opened", 0, 1}, {"sealed", 0, 1},
}

// ParseAge reads a date, a month, a year or an age in words as an age at the
// day on: 2026-01-15, 15.1.2026, 15 January 2026, Jan 2026, 2026, 3 weeks ago,
// last month, freshly opened. A date of figures that can be read two ways gives
// both. Words around it are passed over. The error says what was found and what
// is expected; it is ErrNoDay when only the day on is missing (zero).
func ParseAge(text string, on time.Time) (Age, error) {
	s := strings.ToLower(strings.TrimSpace(text))
	unread := func() error {
		return fmt.Errorf("found %q, expected a day such as 2026-01-15 or an age such as 3 weeks ago", text)
	}
	if s == "" || strings.Contains(s, "?") {
		return Age{}, unread() // a question mark says that nobody knows
	}
	span := func(from, to time.Time) (Age, error) {
		if on.IsZero() {
			return Age{}, ErrNoDay
		}
		day := time.Date(on.Year(), on.Month(), on.Day(), 0, 0, 0, 0, time.UTC)
		if from.After(day) {
			return Age{}, fmt.Errorf("found %q, which lies after the day of the run, %s", text, day.Format(time.DateOnly))
		}
		return Age{math.Max(0, day.Sub(to).Hours()/24), day.Sub(from).Hours() / 24}, nil
	}
	days := func(all ...time.Time) (Age, error) {
		from, to := time.Time{}, time.Time{}
		for _, d := range all {
			if d.IsZero() {
				continue
			}
			if from.IsZero() || d.Before(from) {
				from = d
			}
			if to.IsZero() || d.After(to) {
				to = d
			}
		}
		if from.IsZero() {
			return Age{}, fmt.Errorf("found %q, which is no day of the calendar", text)
		}
		return span(from, to)
	}
	whole := func(year string, month time.Month) (Age, error) {
		y := atoi(year)
		if month == 0 {
			return span(time.Date(y, 1, 1, 0, 0, 0, 0, time.UTC), time.Date(y, 12, 31, 0, 0, 0, 0, time.UTC))
		}
		if month > 12 {
			return Age{}, fmt.Errorf("found %q, which is no month of the calendar", text)
		}
		first := time.Date(y, month, 1, 0, 0, 0, 0, time.UTC)
		return span(first, first.AddDate(0, 1, -1))
	}
	noYear := func() error {
		return fmt.Errorf("found %q without its year, expected a day such as 2026-01-15", text)
	}
	figures := strings.ContainsAny(s, "0123456789")
	if figures { // words alone are no date
		if m := isoDay.FindStringSubmatch(s); m != nil {
			return days(calendar(m[1], m[2], m[3]))
		}
		if m := numberDay.FindStringSubmatch(s); m != nil {
			y := fullYear(m[4], m[5])
			if m[2] != "/" {
				return days(calendar(y, m[3], m[1]))
			}
			return days(calendar(y, m[3], m[1]), calendar(y, m[1], m[3])) // day or month first
		}
		if m := dayMonth.FindStringSubmatch(s); m != nil {
			y := fullYear(m[3], m[4])
			if y == "" {
				return Age{}, noYear()
			}
			return days(calendar(y, monthOf(m[2]), m[1]))
		}
		if m := monthDay.FindStringSubmatch(s); m != nil {
			y := fullYear(m[3], m[4])
			if y == "" {
				return Age{}, noYear()
			}
			return days(calendar(y, monthOf(m[1]), m[2]))
		}
		if m := isoMonth.FindStringSubmatch(s); m != nil {
			return whole(m[1], time.Month(atoi(m[2])))
		}
		if m := slashMonth.FindStringSubmatch(s); m != nil {
			return whole(m[2], time.Month(atoi(m[1])))
		}
	}
	if strings.Contains(s, "half a") {
		if m := halfAgo.FindStringSubmatch(s); m != nil {
			return Age{0.5 * unitDays(m[1]), 0.5 * unitDays(m[1])}, nil
		}
	}
	if !figures && !wordBegins(s, numbersBegin) {
		// no number stands here
	} else if m := numberAgo.FindStringSubmatch(s); m != nil {
		n, ok := numberWords[m[2]]
		if !ok {
			n, _ = strconv.ParseFloat(strings.ReplaceAll(m[2], ",", "."), 64)
		}
		if strings.Contains(m[0], "and a half") {
			n += 0.5
		}
		a := Age{n * unitDays(m[5]), n * unitDays(m[5])}
		for _, to := range m[3:5] {
			if to != "" {
				a.High = math.Max(a.High, float64(atoi(to))*unitDays(m[5]))
			}
		}
		if m[1] != "" {
			a.High = math.Inf(1)
		}
		return a, nil
	}
	if !wordBegins(s, months) {
		// no month stands here
	} else if m := monthYear.FindStringSubmatch(s); m != nil && (m[2] != "" || m[3] != "" || m[1] != "may" && m[1] != "mar") {
		if y := fullYear(m[2], m[3]); y != "" {
			return whole(y, time.Month(atoi(monthOf(m[1]))))
		}
		return Age{}, noYear()
	}
	if figures {
		if m := yearAlone.FindStringSubmatch(s); m != nil {
			return whole(m[1], 0)
		}
	}
	for _, w := range agesInWords {
		if i := strings.Index(s, w.word); i >= 0 && !strings.HasSuffix(s[:i], "not ") && !strings.HasSuffix(s[:i], "un") {
			return Age{w.low, w.high}, nil
		}
	}
	return Age{}, unread()
}

// ParseDay reads one day of the calendar, whatever the way it is written.
func ParseDay(text string) (time.Time, error) {
	// within 292 years, which is as long as a Duration gets
	far := time.Date(2150, 1, 1, 0, 0, 0, 0, time.UTC)
	_, dated := ParseAge(text, time.Time{})
	a, err := ParseAge(text, far)
	if err != nil || !errors.Is(dated, ErrNoDay) || a.High != a.Low {
		return time.Time{}, fmt.Errorf("found %q, expected one day, such as 2026-01-15", text)
	}
	return far.AddDate(0, 0, -int(a.High)), nil
}

func atoi(s string) int {
	n, _ := strconv.Atoi(s)
	return n
}

// fullYear is a year of four digits from one of two or of four.
func fullYear(two, four string) string {
	if two != "" {
		return "20" + two
	}
	return four
}

// months as they begin, in order.
var months = []string{"jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"}

// numbersBegin is how the numbers of numberAgo begin that are written in words.
var numbersBegin = []string{"a", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"}

// wordBegins reports a word of a text in lower case that begins with one of some
// letters: it is asked before a pattern that needs such a word.
func wordBegins(s string, with []string) bool {
	inside := false
	for i := range len(s) {
		c := s[i]
		word := c >= 'a' && c <= 'z' || c >= '0' && c <= '9' || c == '_'
		if word && !inside {
			for _, w := range with {
				if strings.HasPrefix(s[i:], w) {
					return true
				}
			}
		}
		inside = word
	}
	return false
}

func monthOf(name string) string {
	for i, m := range months {
		if strings.HasPrefix(name, m) {
			return strconv.Itoa(i + 1)
		}
	}
	return ""
}

// calendar is a day that exists; zero for any other.
func calendar(year, month, day string) time.Time {
	y, m, d := atoi(year), atoi(month), atoi(day)
	t := time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC)
	if t.Year() != y || int(t.Month()) != m || t.Day() != d {
		return time.Time{}
	}
	return t
}

func unitDays(unit string) float64 {
	switch {
	case strings.HasPrefix(unit, "h"):
		return 1.0 / 24
	case strings.HasPrefix(unit, "d"):
		return 1
	case strings.HasPrefix(unit, "w"):
		return 7
	case strings.HasPrefix(unit, "f"):
		return 14
	case strings.HasPrefix(unit, "m"):
		return Month
	}
	return Year
}
