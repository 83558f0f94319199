package bench

import (
	"regexp"
	"slices"
	"strings"

	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
)

// sameMatter reports two names of one substance in two states: dry ice and
// carbon dioxide, a salt and its hydrate.
func sameMatter(a, b *species) bool {
	if a == nil || b == nil || a.sub == nil || b.sub == nil {
		return false
	}
	bare := func(f string) string {
		f, _, _ = strings.Cut(strings.ReplaceAll(f, "•", "·"), "·")
		return strings.TrimSpace(f)
	}
	fa, fb := bare(a.sub.Formula), bare(b.sub.Formula)
	return fa != "" && fa == fb && (a.family == b.family || a.name == "dry ice" || b.name == "dry ice")
}

var degrees = regexp.MustCompile(`(-?\d+(?:[.,]\d+)?)\s*(?:°\s*C|degC|℃|K)`)

// bathTemperature reads the temperature that stands with a bath's name, as in
// "oil bath at 130 °C"; the hotter end of a range.
func bathTemperature(bath string) (float64, bool) {
	if !strings.ContainsAny(bath, "0123456789") {
		return 0, false
	}
	all := degrees.FindAllString(bath, -1)
	if len(all) == 0 {
		return 0, false
	}
	q, err := quantity.ParseAs(all[len(all)-1], quantity.Temperature)
	if err != nil || !q.Known() {
		return 0, false
	}
	return q.Max(), true
}

// flowEnough reports a stream written at a step that cools: in words, or as a
// figure that fills the contraction in the time of the step, five minutes in a
// bath where none is written (common practice).
func flowEnough(s *procedure.Step, contraction Num) bool {
	if s.Flow == nil {
		return false
	}
	if !s.Flow.Known() || s.Flow.Dim != quantity.Flow || !contraction.Known {
		return true
	}
	min := 5.0
	if s.Over != nil && s.Over.Known() && s.Over.Dim == quantity.Time {
		min = s.Over.Value()
	}
	return s.Flow.Max()*min >= contraction.V
}

// parts are the openings by which a page speaks of a part of something, or of
// what a vessel holds, in place of its name.
var parts = []string{"the rest of ", "rest of ", "the remainder of ", "remainder of ", "the remaining ", "remaining ", "the second half of ", "the first half of ", "half of ", "the unused ", "unused ", "the leftover ", "leftover ", "left-over ",
	"the contents of ", "contents of ", "the condensate in ", "condensate in ", "the condensate from ", "condensate from ", "the condensate of ", "condensate of ", "the liquid in ", "the solvent in ", "solvent in ", "the mixture in ", "the reaction mixture in ", "the solution in ", "the suspension in "}

// partsBegin are the letters with which parts begin.
const partsBegin = "trhulc"

// wholeOf is the name that such a phrase is about: "the rest of the
// butyllithium" is butyllithium, "the mixture in the flask" is the flask.
func wholeOf(name string) string {
	if name == "" || strings.IndexByte(partsBegin, name[0]|0x20) < 0 {
		return name
	}
	l := strings.ToLower(name)
	for _, p := range parts {
		if strings.HasPrefix(l, p) && len(name) > len(p) {
			rest := name[len(p):]
			if strings.HasPrefix(strings.ToLower(rest), "the ") {
				rest = rest[len("the "):]
			}
			return rest
		}
	}
	return name
}

// doing is a verb of a step as what somebody is doing: adding, stirring.
func doing(verb string) string {
	switch {
	case strings.HasSuffix(verb, "e") && !strings.HasSuffix(verb, "ee"):
		verb = strings.TrimSuffix(verb, "e")
	case slices.Contains([]string{"stir", "put", "let", "distil", "fit", "drop"}, verb):
		verb += verb[len(verb)-1:]
	}
	return verb + "ing"
}
