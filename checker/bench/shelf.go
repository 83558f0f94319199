package bench

import (
	"errors"
	"math"
	"strings"

	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
)

// shelf is what a row says of how long its bottle has stood and how it was
// tested for peroxides; ages in months at the day of the run, by the oldest
// reading of what is written.
type shelf struct {
	written  bool // anything is written of when it was opened or received
	dated    bool // a day or an age of the opening can be read
	received bool // the age is that since receipt
	age      Num
	tested   Num    // age of the test, known when one is written
	clean    bool   // a test that found none, with its result
	dirty    bool   // a test that found peroxides
	note     string // why what is written of a test does not count
}

// dirtyPPM is the level at which universities ask for treatment before any
// use (New Mexico State University, peroxide former policy: 25 ppm); Prudent
// Practices names 100 ppm as dangerous.
const dirtyPPM = 25

// shelfOf reads the row once.
func (b *Bench) shelfOf(row *procedure.Material) shelf {
	x := shelf{age: b.ask("the day on which ", row.Name.S, " was opened"), tested: b.ask("the day of the peroxide test of ", row.Name.S, "")}
	read := func(t procedure.Text, what string) (Num, bool) {
		a, err := quantity.ParseAge(t.S, b.day)
		switch {
		case err == nil:
			return Got(a.Months()), true
		case errors.Is(err, quantity.ErrNoDay):
			return Missing("the day of the run (on: 2030-01-31), to set against the " + t.S + " of " + row.Name.S), true
		}
		return Missing("the day on which " + row.Name.S + " was " + what + ": " + err.Error()), false
	}
	switch {
	case row.Opened.Is():
		x.written = true
		x.age, x.dated = read(row.Opened, "opened")
	case has(row.Origin.S, "fresh"):
		x.written, x.dated, x.age = true, true, Got(0)
	case row.Received.Is():
		x.written, x.received = true, true
		x.age, x.dated = read(row.Received, "received")
	}
	if !row.Peroxides.Is() && !row.Tested.Is() {
		return x
	}
	x.clean, x.dirty, x.note = peroxideResult(row.Peroxides.S)
	when := row.Tested
	if !when.Is() {
		when = row.Peroxides
		// a result without any word of when stands for this run
		if a, err := quantity.ParseAge(when.S, b.day); err != nil && !errors.Is(err, quantity.ErrNoDay) && strings.Contains(err.Error(), "expected a day such as") && !strings.Contains(err.Error(), "without its year") {
			return x
		} else if err == nil {
			x.tested = Got(a.Months())
		}
	}
	if !x.tested.Known {
		a, err := quantity.ParseAge(when.S, b.day)
		switch {
		case err == nil:
			x.tested = Got(a.Months())
		case errors.Is(err, quantity.ErrNoDay):
			x.tested, x.clean, x.note = b.ask("the day of the run (on: 2030-01-31), to set against the peroxide test of ", row.Name.S, ""), false, "the day of the run is not written (on: 2030-01-31), so that the age of its test is not known"
		default:
			x.clean, x.note = false, "of the day of its test: "+err.Error()
		}
	}
	if limit := b.siteFigure("peroxide test", 6); x.clean && x.tested.Known && x.tested.V > limit {
		x.clean, x.note = false, "its test is "+quantity.FormatNumber(math.Round(10*x.tested.V)/10)+" months old, and counts for "+quantity.FormatNumber(limit)
	}
	return x
}

// peroxideResult reads the result of a test: clean or dirty, or neither with
// the reason. A figure counts before words.
func peroxideResult(s string) (clean, dirty bool, note string) {
	l := strings.ToLower(strings.TrimSpace(s))
	switch {
	case l == "":
		return false, false, "a test is dated, and its result is not written"
	case strings.Contains(l, "?"):
		return false, false, "“" + s + "” is no result of a test"
	case has(l, "not tested", "untested", "not test", "unknown", "no test", "to be tested", "not yet", "never tested"):
		return false, false, "“" + s + "” is no result of a test"
	}
	words := strings.Fields(strings.NewReplacer("<", " < ", "ppm", " ppm", "mg/l", " mg/L", "≤", " < ").Replace(l))
	for i, w := range words {
		if i == 0 || w != "ppm" && !strings.HasPrefix(w, "mg/L") {
			continue
		}
		n, err := quantity.Parse(words[i-1])
		if err != nil || !n.Known() {
			continue
		}
		clean = n.High < dirtyPPM || n.High == dirtyPPM && i > 1 && words[i-2] == "<"
		return clean, !clean, ""
	}
	if has(l, "negative", "none", "not present", "absent", "not detected", "no peroxide", "free of peroxide", "peroxide-free", "no blue", "no colour", "no color", "colourless", "passed", "clean", "nil") {
		return true, false, ""
	}
	if has(l, "positive", "present", "blue", "found", "detected", "failed", "yellow", "brown") {
		return false, true, ""
	}
	return false, false, "“" + s + "” tells no result"
}

// keepMonths is how long a peroxide former is kept after it was opened, or
// after receipt where only that is written, by the limits of the site (see
// rules/reference/site.yaml for whose they are). Without a word of an inhibitor
// or of inert gas the shorter one counts.
func (b *Bench) keepMonths(m *material) Num {
	if m.sp.sub == nil || m.sp.sub.PeroxideClass == nil {
		return b.ask("whether ", m.name, " forms peroxides")
	}
	safe := isTrue(m.row.Inhibited) || has(m.row.KeptUnder.S, "nitrogen", "argon", "inert")
	name, months := "", 12.0
	switch class := m.sp.sub.PeroxideClass.Value; {
	case m.shelf.received && class == "A":
		name, months = "peroxide class A after receipt", 6
	case m.shelf.received:
		name = "peroxide class B after receipt"
	case class == "A":
		name, months = "peroxide class A after opening", 3
	case class == "C" && !isTrue(m.row.Inhibited):
		name, months = "peroxide class C after opening", 24
	case class == "C":
		name = "peroxide class C inhibited after opening"
	case safe:
		name = "peroxide class B after opening"
	default:
		name, months = "peroxide class B uninhibited after opening", 6
	}
	v, ok := b.site.Limits[name]
	if ok {
		months = figure(&v, months)
	}
	if v.Unit == "h" || !ok && name == "peroxide class C after opening" {
		months /= 24 * quantity.Month
	}
	return Got(months)
}

// keeps tells where what a step puts away will stand: beside what, and whether in
// a bottle of which the text says no gas and no seal.
func (b *Bench) keeps(f *StepFacts, s *procedure.Step, v *vessel) {
	where := joined(s.In) + "; " + joined(s.On) + "; " + joined(s.To) + "; " + joined(s.Into) + "; " + s.Note.S
	guarded := len(s.Under) > 0 || isTrue(s.Sealed) || has(where, "argon", "nitrogen", "inert", "septum", "sealed", "young", "schlenk", "crown", "glovebox")
	if v != nil && v.conn != connSealed && v.conn != connBox {
		f.PlainBottle = !guarded && has(joined(s.In)+joined(s.To)+joined(s.Into), "bottle", "jar", " can", "winchester")
	}
	fierce := func(sp *species) bool {
		return sp.live || sp.pyro() || sp.attacked.water == "violent"
	}
	for _, o := range s.Object {
		if m := b.material(o.S); m != nil && b.vesselNamed(o.S) == nil {
			for _, p := range append([]portion{{sp: m.sp}}, m.mix...) {
				if f.StockKept == "" && fierce(p.sp) {
					f.StockKept = m.name
				}
			}
			continue
		}
		if w := b.place(o, false); w != nil && f.StockKept == "" {
			for _, p := range w.contents {
				if p.mmol > 0.1 && fierce(p.sp) {
					f.StockKept = w.name
				}
			}
		}
	}
	if f.StockKept != "" {
		f.StockBeside = besideWet(where)
	}
}

// besideWet finds what is aqueous, acid or oxidising in the words of where a
// thing is kept; what stands after “away from” or “not” is where it is not.
func besideWet(where string) string {
	for _, clause := range strings.FieldsFunc(strings.ToLower(where), func(r rune) bool { return r == ';' || r == ',' || r == '.' || r == '(' || r == ')' }) {
		if i := cutBefore(clause, "away from", "apart from", "separate from", "not ", "never", "no ", "without", "free of", "far from", "clear of"); i >= 0 {
			clause = clause[:i]
		}
		neighbour := has(clause, "beside", "next to", "near", "among", "together", "alongside", "cupboard of", "shelf of", "cabinet of", "cupboard for", "cabinet for") || has(clause, "acid cupboard", "acid cabinet", "oxidiser cabinet", "oxidizer cabinet", "aqueous shelf", "sink")
		if !neighbour {
			continue
		}
		for _, w := range []string{"aqueous", "water", "acid", "oxidis", "oxidiz", "peroxide", "nitrate", "sink", "halogenated solvent", "chlorinated solvent"} {
			if has(clause, w) && !has(clause, w+"-free", w+" free", "waterproof", "water-free", "deionised water tap off") {
				return strings.TrimSpace(strings.Join(strings.Fields(afterWord(clause, "beside", "next to", "near", "among", "alongside", "together with")), " "))
			}
		}
	}
	return ""
}

// cutBefore is where the first of some words begins, -1 if none stands there.
func cutBefore(s string, words ...string) int {
	first := -1
	for _, w := range words {
		if i := strings.Index(s, w); i >= 0 && (first < 0 || i < first) {
			first = i
		}
	}
	return first
}

// afterWord is what stands after the first of some words, else the whole.
func afterWord(s string, words ...string) string {
	for _, w := range words {
		if _, rest, ok := strings.Cut(s, w); ok && strings.TrimSpace(rest) != "" {
			return rest
		}
	}
	return s
}
