package judge

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/google/cel-go/common/types"
	"github.com/google/cel-go/common/types/ref"
	"github.com/google/cel-go/common/types/traits"

	"ketyl/checker/quantity"
)

// unstated is printed for a figure that the text leaves unknown.
const unstated = "an unstated amount"

// form is what may follow "|" in a template.
type form struct {
	dim    quantity.Dimension
	factor float64 // base units of dim in one; 0 when the unit is written as it is
	suffix string  // the unit that is written as it is
	kind   factKind
	stops  []float64 // what is sold or read off: the value goes to the next of them
}

// What a fix may ask for: sizes that a stockroom has, in mL (glass and syringes of
// any catalogue), and times that a clock shows, in min.
var (
	syringeStops = []float64{1, 2, 5, 10, 20, 30, 50, 100}
	glassStops   = []float64{5, 10, 25, 50, 100, 250, 500, 1000, 2000, 5000, 10000, 20000}
	clockStops   = []float64{0.25, 0.5, 1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 45, 50, 60, 75, 90, 120, 150, 180, 240, 300, 360, 480, 720, 960, 1440, 2880, 4320}
)

// forms are the formats of templates. A unit with a dimension is scaled, so
// that 0.004 mmol is printed as 4 µmol.
var forms = map[string]form{
	"g":       {dim: quantity.Mass, factor: 1},
	"mg":      {dim: quantity.Mass, factor: 1e-3},
	"kg":      {dim: quantity.Mass, factor: 1e3},
	"mL":      {dim: quantity.Volume, factor: 1},
	"L":       {dim: quantity.Volume, factor: 1e3},
	"mmol":    {dim: quantity.Amount, factor: 1},
	"mol":     {dim: quantity.Amount, factor: 1e3},
	"M":       {dim: quantity.Molarity, factor: 1},
	"mol/L":   {dim: quantity.Molarity, factor: 1},
	"g/mL":    {dim: quantity.MassConcentration, factor: 1},
	"ppm":     {dim: quantity.Fraction, factor: 1e-6},
	"share":   {dim: quantity.Fraction, factor: 1},
	"°C":      {dim: quantity.Temperature, factor: 1},
	"K":       {dim: quantity.TemperatureRange, factor: 1},
	"mbar":    {dim: quantity.Pressure, factor: 1},
	"bar":     {dim: quantity.Pressure, factor: 1e3},
	"min":     {dim: quantity.Time, factor: 1},
	"h":       {dim: quantity.Time, factor: 60},
	"mL/min":  {dim: quantity.Flow, factor: 1},
	"L/min":   {dim: quantity.Flow, factor: 1e3},
	"equiv":   {dim: quantity.Equivalents, factor: 1},
	"W":       {dim: quantity.Power, factor: 1},
	"%":       {suffix: " %"},
	"kJ":      {suffix: " kJ"},
	"kJ/mol":  {suffix: " kJ/mol"},
	"mL/g":    {suffix: " mL/g"},
	"% m/v":   {suffix: " % m/v"},
	"cycles":  {suffix: " cycles"},
	"months":  {suffix: " months"},
	"times":   {suffix: " ×"},
	"syringe": {dim: quantity.Volume, factor: 1, stops: syringeStops},
	"glass":   {dim: quantity.Volume, factor: 1, stops: glassStops},
	"clock":   {dim: quantity.Time, factor: 1, stops: clockStops},
	"and":     {kind: texts, suffix: "and"},
	"or":      {kind: texts, suffix: "or"},
	"capital": {kind: text},
	"the":     {kind: text, suffix: "the"},
	"The":     {kind: text, suffix: "The"},
}

// print writes a value as a chemist would read it.
func (f form) print(v ref.Val) string {
	switch v := v.(type) {
	case types.Double:
		switch {
		case f.stops != nil:
			return f.stop(float64(v))
		case f.factor != 0:
			return quantity.Format(float64(v)*f.factor, f.dim)
		default:
			return quantity.FormatNumber(float64(v)) + f.suffix
		}
	case types.Int:
		return quantity.FormatNumber(float64(v)) + f.suffix
	case types.String:
		switch {
		case f.kind != text || len(v) == 0:
			return string(v)
		case f.suffix != "":
			return called(f.suffix, string(v))
		}
		return capital(string(v))
	case types.Bool:
		if v {
			return "yes"
		}
		return "no"
	case traits.Lister:
		words := wordsOf(v)
		join := f.suffix
		if join == "" {
			join = "and"
		}
		return enumerate(words, join)
	}
	return fmt.Sprint(v.Value())
}

// stop writes the next size that is sold or time that a clock shows, a gap where
// none is large enough. Two per thousand over a mark count as on it.
func (f form) stop(v float64) string {
	i := slices.IndexFunc(f.stops, func(s float64) bool { return s >= v*0.998 })
	if i < 0 {
		return "…"
	}
	return quantity.Format(f.stops[i]*f.factor, f.dim)
}

// locants are what stands before the name proper in a chemical name, and
// keeps its case at the start of a sentence: n-Butyllithium, tert-Butanol
// (IUPAC 2013, P-16.9).
var locants = regexp.MustCompile(`^(?:(?:n|i|s|t|o|m|p|sec|tert|cis|trans|ortho|meta|para|[A-Z](?:,[A-Z])*|[0-9][0-9,'a-z]*)-)+`)

// capital begins a sentence with a word.
func capital(s string) string {
	n := len(locants.FindString(s))
	r, size := utf8.DecodeRuneInString(s[n:])
	if size == 0 {
		return s
	}
	return s[:n] + string(unicode.ToUpper(r)) + s[n+size:]
}

// called is what a text calls a vessel, a layer or a solid, with its article,
// which is "the" or "The". Sentences speak of one thing: of what has the name of
// many, its vessel is spoken of.
func called(article, name string) string {
	first, _, _ := strings.Cut(name, " ")
	last := name[strings.LastIndex(name, " ")+1:]
	switch {
	case slices.Contains([]string{"a", "an", "the", "my", "our", "its", "his", "her", "each", "every"}, strings.ToLower(first)) || utf8.RuneCountInString(name) == 1:
		if article == "The" {
			return capital(name)
		}
		return name
	case len(last) > 3 && strings.HasSuffix(last, "s") && !strings.ContainsAny(last[len(last)-2:len(last)-1], "suia"):
		return article + " vessel with the " + name
	}
	return article + " " + name
}

func wordsOf(l traits.Lister) []string {
	var words []string
	for i := l.Iterator(); i.HasNext() == types.True; {
		words = append(words, fmt.Sprint(i.Next().Value()))
	}
	return words
}

// enumerate writes a, b and c; "nothing" for an empty list.
func enumerate(words []string, join string) string {
	switch len(words) {
	case 0:
		return "nothing"
	case 1:
		return words[0]
	}
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " " + join + " " + words[last]
}

// native is a value as a figure keeps it.
func native(v ref.Val) any {
	switch v := v.(type) {
	case types.Double:
		return float64(v)
	case types.Int:
		return float64(v)
	case types.String:
		return string(v)
	case types.Bool:
		return bool(v)
	case traits.Lister:
		return slices.Clip(wordsOf(v))
	}
	return fmt.Sprint(v.Value())
}

// template is text with {expressions} in it.
type template struct {
	parts []part
}

type part struct {
	literal string
	value   *expression // nil for a literal
	form    form
}

// parseTemplate reads {expression} and {expression | format}; {{ and }} are
// braces.
// Unless lazy, its expressions are compiled.
func parseTemplate(kind string, at place, limits []string, trusted, lazy bool) (*template, []fault) {
	s := at.node.Text
	t := &template{}
	var fs []fault
	literal := strings.Builder{}
	flush := func() {
		if literal.Len() > 0 {
			t.parts = append(t.parts, part{literal: literal.String()})
			literal.Reset()
		}
	}
	for i := 0; i < len(s); {
		switch c := s[i]; {
		case (c == '{' || c == '}') && i+1 < len(s) && s[i+1] == c:
			literal.WriteByte(c)
			i += 2
		case c == '}':
			fs = append(fs, fault{i, i + 1, "found } without its {, expected {expression}; a brace itself is written }}"})
			i++
		case c != '{':
			literal.WriteByte(c)
			i++
		default:
			end, bar := closing(s, i+1)
			if end < 0 {
				fs = append(fs, fault{i, i + 1, "found { without its }, expected {expression}; a brace itself is written {{"})
				return nil, fs
			}
			flush()
			stop := end
			var f form
			if bar >= 0 {
				stop = bar
				name := strings.TrimSpace(s[bar+1 : end])
				for bar+2 < end && s[bar+1] == ' ' {
					bar++
				}
				known, ok := forms[name]
				if !ok {
					fs = append(fs, fault{bar + 1, end, fmt.Sprintf("found the format `%s`%s", name, meant(name, formNames()))})
				}
				f = known
			}
			source := s[i+1 : stop]
			inner := at
			inner.at += i + 1
			x := &expression{over: kind, source: source, place: inner, known: limits, want: anything, capped: !trusted}
			if f.factor != 0 || f.suffix != "" && f.kind == number {
				x.want = []factKind{number}
			} else if f.kind == texts || f.kind == text && bar >= 0 {
				x.want = []factKind{f.kind}
			}
			if bar >= 0 {
				x.use = " for the format `" + strings.TrimSpace(s[bar+1:end]) + "`"
			}
			var more []fault
			if !lazy {
				more = x.compile()
			}
			for _, m := range more {
				if strings.HasPrefix(m.message, noExpression) {
					m.message += "; a brace itself is written {{ or }}"
				}
				fs = append(fs, fault{m.from + i + 1, m.to + i + 1, m.message})
			}
			t.parts = append(t.parts, part{value: x, form: f})
			i = end + 1
		}
	}
	flush()
	if fs != nil {
		return nil, fs
	}
	return t, nil
}

func formNames() []string {
	var names []string
	for name := range forms {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// closing finds the brace that ends an expression which begins at i, and the
// single bar before its format (-1 if none), outside quotes and brackets.
func closing(s string, i int) (end, bar int) {
	bar = -1
	depth := 0
	var quote byte
	for ; i < len(s); i++ {
		c := s[i]
		switch {
		case quote != 0:
			if c == '\\' {
				i++
			} else if c == quote {
				quote = 0
			}
		case c == '\'' || c == '"':
			quote = c
		case c == '{' || c == '(' || c == '[':
			depth++
		case c == '}' && depth == 0:
			return i, bar
		case c == '}' || c == ')' || c == ']':
			depth--
		case c == '|' && i+1 < len(s) && s[i+1] == '|':
			i++
		case c == '|' && depth == 0 && bar < 0:
			bar = i
		}
	}
	return -1, -1
}

// print fills the template for the bound event. An unknown figure prints as
// an unstated amount; any other error is returned.
func (t *template) print(b *bindings) (string, error) { return t.fill(b, unstated) }

// fill is print with a text of the caller's for an unknown figure.
func (t *template) fill(b *bindings, unstated string) (string, error) {
	if t == nil {
		return "", nil
	}
	if len(t.parts) == 1 && t.parts[0].value == nil {
		return t.parts[0].literal, nil
	}
	var out strings.Builder
	for _, p := range t.parts {
		if p.value == nil {
			out.WriteString(p.literal)
			continue
		}
		v, err := p.value.eval(b)
		switch {
		case isUnknown(err):
			out.WriteString(unstated)
		case err != nil:
			return out.String(), err
		default:
			out.WriteString(p.form.print(v))
		}
	}
	return out.String(), nil
}

// expressions are the template's, in order.
func (t *template) expressions() []*expression {
	if t == nil {
		return nil
	}
	var xs []*expression
	for _, p := range t.parts {
		if p.value != nil {
			xs = append(xs, p.value)
		}
	}
	return xs
}
