package procedure

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"ketyl/checker/document"
	"ketyl/checker/finding"
	"ketyl/checker/quantity"
)

// What the figures of the format may be.
var (
	aTemperature  = expects{dims: []quantity.Dimension{quantity.Temperature}, example: "-78 °C"}
	aSetting      = expects{dims: []quantity.Dimension{quantity.Temperature, quantity.PerTime, quantity.Length, quantity.Power, quantity.Word}, words: true, settings: true, example: "130 °C"}
	aTime         = expects{dims: []quantity.Dimension{quantity.Time}, example: "20 min"}
	aPressure     = expects{dims: []quantity.Dimension{quantity.Pressure, quantity.Word}, words: true, example: "20 mmHg"}
	aVacuum       = expects{dims: []quantity.Dimension{quantity.Pressure, quantity.Word}, words: true, example: "1 mbar"}
	aRating       = expects{dims: []quantity.Dimension{quantity.Pressure}, example: "10 bar"}
	aFlow         = expects{dims: []quantity.Dimension{quantity.Flow, quantity.DripRate, quantity.PerTime, quantity.MassRate, quantity.AmountRate, quantity.Word}, words: true, example: "100 mL/min"}
	aLoad         = expects{dims: []quantity.Dimension{quantity.Fraction, quantity.Mass, quantity.MassConcentration, quantity.Word}, words: true, example: "20 % m/v"}
	aCount        = expects{dims: []quantity.Dimension{quantity.Count}, example: "3"}
	aCountOrWord  = expects{dims: []quantity.Dimension{quantity.Count, quantity.Word}, words: true, example: "2"}
	aPortion      = expects{dims: []quantity.Dimension{quantity.Count, quantity.Volume, quantity.Mass, quantity.Fraction, quantity.Word}, words: true, example: "3"}
	aSize         = expects{dims: []quantity.Dimension{quantity.Volume, quantity.Mass, quantity.Length, quantity.Word}, words: true, example: "20 mL"}
	aCapacity     = expects{dims: []quantity.Dimension{quantity.Volume, quantity.Length, quantity.Mass}, example: "250 mL"}
	aRemainder    = expects{dims: []quantity.Dimension{quantity.Volume, quantity.Fraction, quantity.Mass, quantity.Word}, words: true, example: "50 mL"}
	aPurity       = expects{dims: []quantity.Dimension{quantity.Fraction, quantity.Word}, example: "99 %"}
	aContent      = expects{dims: []quantity.Dimension{quantity.Fraction}, example: "180 ppm"}
	aSpare        = expects{dims: []quantity.Dimension{quantity.Fraction, quantity.Volume, quantity.Mass, quantity.Amount, quantity.Count, quantity.Word}, example: "20 %"}
	aDensity      = expects{dims: []quantity.Dimension{quantity.MassConcentration}, example: "0.813 g/mL"}
	aLimit        = expects{dims: []quantity.Dimension{quantity.Fraction, quantity.MassConcentration, quantity.Molarity, quantity.Temperature, quantity.Pressure, quantity.Time, quantity.Volume, quantity.Mass, quantity.Amount, quantity.Count, quantity.Flow, quantity.Word}, example: "25 ppm"}
	aBoilingRange = expects{dims: []quantity.Dimension{quantity.Temperature}, example: "131-133 °C at 15 mmHg"}
)

type setter[T any] = func(d *decoder, key string, n *document.Node, t *T)

// Makers of fields, by what stands in the file.
func asText[T any](name string, at func(*T) *Text) field[T] {
	return field[T]{name, func(d *decoder, key string, n *document.Node, t *T) { *at(t) = d.text(key, n) }}
}

func asTexts[T any](name string, at func(*T) *[]Text) field[T] {
	return field[T]{name, func(d *decoder, key string, n *document.Node, t *T) { *at(t) = append(*at(t), d.texts(key, n)...) }}
}

func asStrings[T any](name string, at func(*T) *[]string) field[T] {
	return field[T]{name, func(d *decoder, key string, n *document.Node, t *T) { *at(t) = d.strings(key, n) }}
}

func asYes[T any](name string, at func(*T) **bool) field[T] {
	return field[T]{name, func(d *decoder, key string, n *document.Node, t *T) { *at(t) = d.yes(key, n) }}
}

func asFigure[T any](name string, x expects, at func(*T) **Figure) field[T] {
	return field[T]{name, func(d *decoder, key string, n *document.Node, t *T) { *at(t) = d.figure(key, n, x) }}
}

func asAmount[T any](name string, at func(*T) **Amount) field[T] {
	return field[T]{name, func(d *decoder, key string, n *document.Node, t *T) { *at(t) = d.amount(key, n) }}
}

func asWordOrYes[T any](name string, at func(*T) *Text) field[T] {
	return field[T]{name, func(d *decoder, key string, n *document.Node, t *T) { *at(t) = d.wordOrYes(key, n) }}
}

func asOneOf[T any](name string, at func(*T) *Text, words ...string) field[T] {
	return field[T]{name, func(d *decoder, key string, n *document.Node, t *T) { *at(t) = d.oneOf(key, n, words...) }}
}

func own[T any](name string, set setter[T]) field[T] { return field[T]{name, set} }

// procedureFields is filled in init: a step's fields are decoded through it.
var procedureFields fields[Procedure]

func init() {
	procedureFields = fieldsOf(
		asText("procedure", func(p *Procedure) *Text { return &p.Name }),
		asText("title", func(p *Procedure) *Text { return &p.Title }),
		own("format", func(d *decoder, key string, n *document.Node, p *Procedure) {
			if n.Kind != document.Scalar || n.Text != "1" {
				d.report(ruleValue, spot(n), fmt.Sprintf("`format`: found %s, expected 1, the only format so far", kind(n)), "write `format: 1`")
			}
		}),
		own("setting", func(d *decoder, key string, n *document.Node, p *Procedure) {
			p.Setting = d.oneOf(key, n, "teaching", "research").S
		}),
		own("on", func(d *decoder, key string, n *document.Node, p *Procedure) {
			t := d.text(key, n)
			if !t.Is() {
				return
			}
			day, err := quantity.ParseDay(t.S)
			if err != nil {
				d.report(ruleValue, n.Span, quote(key)+": "+err.Error(), "write `on: 2030-01-31`, the day of the run")
				return
			}
			p.On = day
		}),
		own("section", func(d *decoder, key string, n *document.Node, p *Procedure) {
			p.Section.Span = n.Span
			fill(d, n, spot(n), "section", &sectionFields, &p.Section)
		}),
		asText("citation", func(p *Procedure) *Text { return &p.Citation }),
		asText("coverage", func(p *Procedure) *Text { return &p.Coverage }),
		asTexts("aims", func(p *Procedure) *[]Text { return &p.Aims }),
		asTexts("refers to", func(p *Procedure) *[]Text { return &p.Refers }),
		own("materials", func(d *decoder, key string, n *document.Node, p *Procedure) {
			d.rows(key, n, true, func(e document.Entry, name Text) { p.Materials = append(p.Materials, d.material(e, name)) })
		}),
		own("apparatus", func(d *decoder, key string, n *document.Node, p *Procedure) {
			d.rows(key, n, true, func(e document.Entry, name Text) { p.Apparatus = append(p.Apparatus, d.apparatus(e, name)) })
		}),
		own("reactions", func(d *decoder, key string, n *document.Node, p *Procedure) {
			d.items(key, n, func(item *document.Node) {
				r := Reaction{Span: item.Span}
				if fill(d, item, spot(item), "a reaction", &reactionFields, &r) {
					d.need(item, spot(item), "a reaction", "consumes")
				}
				p.Reactions = append(p.Reactions, r)
			})
		}),
		own("product", func(d *decoder, key string, n *document.Node, p *Procedure) {
			p.Product = &Product{Span: n.Span}
			if fill(d, n, spot(n), "product", &productFields, p.Product) {
				d.need(n, spot(n), "product", "name")
			}
		}),
		own("cautions", func(d *decoder, key string, n *document.Node, p *Procedure) { p.Cautions = d.cautions(n) }),
		own("protection", func(d *decoder, key string, n *document.Node, p *Procedure) {
			p.Protection = &Protection{Span: n.Span}
			fill(d, n, spot(n), "protection", &protectionFields, p.Protection)
		}),
		own("emergency", func(d *decoder, key string, n *document.Node, p *Procedure) {
			d.items(key, n, func(item *document.Node) {
				var b Branch
				if fill(d, item, spot(item), "a case of emergency", &branchFields, &b) {
					d.need(item, spot(item), "a case of emergency", "if", "do")
				}
				p.Emergency = append(p.Emergency, b)
			})
		}),
		own("approval", func(d *decoder, key string, n *document.Node, p *Procedure) {
			p.Approval = &Approval{Span: n.Span}
			fill(d, n, spot(n), "approval", &approvalFields, p.Approval)
		}),
		own("substances", func(d *decoder, key string, n *document.Node, p *Procedure) {
			d.rows(key, n, true, func(e document.Entry, name Text) {
				s := &Declared{Name: name, Span: rowSpan(e)}
				if e.Value.Kind != document.Null {
					fill(d, e.Value, e.Key.Span, "a substance", &declaredFields, s)
				}
				p.Substances = append(p.Substances, s)
			})
		}),
		own("accepted", func(d *decoder, key string, n *document.Node, p *Procedure) {
			d.items(key, n, func(item *document.Node) { p.Accepted = append(p.Accepted, d.acceptance(item, 0)) })
		}),
		own("steps", func(d *decoder, key string, n *document.Node, p *Procedure) {
			if n.Kind != document.Sequence {
				d.report(ruleValue, spot(n), fmt.Sprintf("`steps`: found %s, expected a list of steps, each beginning with a dash", kind(n)), "for example `- stir: flask`")
				return
			}
			p.Steps = make([]*Step, 0, len(n.Items))
			if len(n.Items) == 0 {
				d.report(ruleIncomplete, spot(n), "`steps`: found an empty list, expected at least one step", "for example `- stir: flask`")
			}
			for _, item := range n.Items {
				p.Steps = append(p.Steps, d.decodeStep(item, len(p.Steps)+1, p))
			}
			d.step, d.subject = 0, ""
		}),
	)
}

// rows calls fn for each row of a table whose keys are names.
func (d *decoder) rows(key string, n *document.Node, nullable bool, fn func(document.Entry, Text)) {
	if n.Kind != document.Mapping {
		d.report(ruleValue, spot(n), fmt.Sprintf("%s: found %s, expected rows of `name: …`", quote(key), kind(n)), "")
		return
	}
	for _, e := range n.Entries {
		name := Text{S: strings.TrimSpace(e.Key.Text), Span: e.Key.Span}
		if !name.Is() {
			d.report(ruleName, e.Key.Span, fmt.Sprintf("%s: found a row without a name, expected `name: …`", quote(key)), "")
			continue
		}
		if e.Value.Kind == document.Null && !nullable {
			d.empty(e)
			continue
		}
		fn(e, name)
	}
}

func rowSpan(e document.Entry) finding.Span {
	return finding.Span{Start: e.Key.Span.Start, End: max(e.Key.Span.End, e.Value.Span.End)}
}

var sectionFields = fieldsOf(
	asFigure("students", aCount, func(s *Section) **Figure { return &s.Students }),
	asYes("working alone", func(s *Section) **bool { return &s.Alone }),
	asFigure("time", aTime, func(s *Section) **Figure { return &s.Time }),
	asFigure("assistants", aCount, func(s *Section) **Figure { return &s.Assistants }),
	own("stations", func(d *decoder, key string, n *document.Node, s *Section) {
		d.rows(key, n, false, func(e document.Entry, name Text) {
			if f := d.figure(name.S, e.Value, aCount); f != nil {
				if s.Stations == nil {
					s.Stations = map[string]Figure{}
				}
				s.Stations[name.S] = *f
			}
		})
	}),
)

// material decodes a row: an amount alone, keys, or nothing but the name.
func (d *decoder) material(e document.Entry, name Text) *Material {
	m := &Material{Name: name, Span: rowSpan(e)}
	switch e.Value.Kind {
	case document.Null:
	case document.Scalar:
		m.Amount = d.amount(name.S, e.Value)
	default:
		fill(d, e.Value, e.Key.Span, "a material", &materialFields, m)
	}
	return m
}

var materialFields = fieldsOf(
	asText("substance", func(m *Material) *Text { return &m.Substance }),
	asAmount("amount", func(m *Material) **Amount { return &m.Amount }),
	own("solution", func(d *decoder, key string, n *document.Node, m *Material) {
		m.SolSpan = n.Span
		if t := d.text(key, n); t.Is() {
			s, err := quantity.ParseSolution(n.Text)
			if err != nil {
				d.badQuantity(key, n, 0, len(n.Text), err, expects{example: "1.6 M in hexanes"})
				return
			}
			m.Solution = &s
		}
	}),
	asFigure("purity", aPurity, func(m *Material) **Figure { return &m.Purity }),
	asFigure("water", aContent, func(m *Material) **Figure { return &m.Water }),
	asText("grade", func(m *Material) *Text { return &m.Grade }),
	asText("form", func(m *Material) *Text { return &m.Form }),
	asText("origin", func(m *Material) *Text { return &m.Origin }),
	asText("role", func(m *Material) *Text { return &m.Role }),
	asText("opened", func(m *Material) *Text { return &m.Opened }),
	asText("received", func(m *Material) *Text { return &m.Received }),
	asText("tested", func(m *Material) *Text { return &m.Tested }),
	asYes("inhibited", func(m *Material) **bool { return &m.Inhibited }),
	asText("peroxides", func(m *Material) *Text { return &m.Peroxides }),
	asText("titrated", func(m *Material) *Text { return &m.Titrated }),
	asText("kept under", func(m *Material) *Text { return &m.KeptUnder }),
	asYes("portioned", func(m *Material) **bool { return &m.Portioned }),
	asFigure("spare", aSpare, func(m *Material) **Figure { return &m.Spare }),
	asFigure("density", aDensity, func(m *Material) **Figure { return &m.Density }),
	asText("part", func(m *Material) *Text { return &m.Part }),
	asText("note", func(m *Material) *Text { return &m.Note }),
)

// apparatus decodes a row: a kind alone, keys, or nothing but the name.
func (d *decoder) apparatus(e document.Entry, name Text) *Apparatus {
	a := &Apparatus{Name: name, Span: rowSpan(e)}
	switch e.Value.Kind {
	case document.Null:
		a.Kind = name
	case document.Scalar:
		if _, ok := e.Value.Number(); ok {
			d.report(ruleValue, e.Value.Span, fmt.Sprintf("%s: found %s, expected what kind of apparatus it is", quote(name.S), quote(e.Value.Text)), "for example `"+name.S+": {kind: round-bottom flask, size: 250 mL}`")
			break
		}
		a.Kind = d.text(name.S, e.Value)
	default:
		fill(d, e.Value, e.Key.Span, "a piece of apparatus", &apparatusFields, a)
		if !a.Kind.Is() {
			a.Kind = name
		}
	}
	return a
}

var apparatusFields = fieldsOf(
	asText("kind", func(a *Apparatus) *Text { return &a.Kind }),
	asFigure("size", aCapacity, func(a *Apparatus) **Figure { return &a.Size }),
	asFigure("necks", aCount, func(a *Apparatus) **Figure { return &a.Necks }),
	asText("on", func(a *Apparatus) *Text { return &a.On }),
	asYes("equalised", func(a *Apparatus) **bool { return &a.Equalised }),
	asYes("stoppered", func(a *Apparatus) **bool { return &a.Stoppered }),
	asText("guard", func(a *Apparatus) *Text { return &a.Guard }),
	asText("gas", func(a *Apparatus) *Text { return &a.Gas }),
	asFigure("purity", aPurity, func(a *Apparatus) **Figure { return &a.Purity }),
	asFigure("pressure", aPressure, func(a *Apparatus) **Figure { return &a.Pressure }),
	asFigure("vacuum", aVacuum, func(a *Apparatus) **Figure { return &a.Vacuum }),
	asText("relief", func(a *Apparatus) *Text { return &a.Relief }),
	asText("fill", func(a *Apparatus) *Text { return &a.Fill }),
	asText("material", func(a *Apparatus) *Text { return &a.Material }),
	asText("tip", func(a *Apparatus) *Text { return &a.Tip }),
	own("gauge", func(d *decoder, key string, n *document.Node, a *Apparatus) {
		if v, ok := gauge(n); ok {
			a.Gauge = &Figure{Quantity: quantity.Quantity{Raw: n.Text, Dim: quantity.Count, Low: v, High: v, Times: 1}, Span: n.Span}
			return
		}
		a.Gauge = d.figure(key, n, expects{dims: []quantity.Dimension{quantity.Count}, example: "18"})
	}),
	asText("wall", func(a *Apparatus) *Text { return &a.Wall }),
	asFigure("oxygen", aContent, func(a *Apparatus) **Figure { return &a.Oxygen }),
	asFigure("water", aContent, func(a *Apparatus) **Figure { return &a.Water }),
	asFigure("count", aCount, func(a *Apparatus) **Figure { return &a.Count }),
	asYes("shared", func(a *Apparatus) **bool { return &a.Shared }),
	asFigure("uses", aCount, func(a *Apparatus) **Figure { return &a.Uses }),
	asYes("dry", func(a *Apparatus) **bool { return &a.Dry }),
	asFigure("rated", aRating, func(a *Apparatus) **Figure { return &a.Rated }),
	asText("reads", func(a *Apparatus) *Text { return &a.Reads }),
	asText("packing", func(a *Apparatus) *Text { return &a.Packing }),
	asText("trap", func(a *Apparatus) *Text { return &a.Trap }),
	asText("note", func(a *Apparatus) *Text { return &a.Note }),
)

// gauge reads 18, 18 G, 18-gauge and G18.
func gauge(n *document.Node) (float64, bool) {
	if n.Kind != document.Scalar {
		return 0, false
	}
	s := strings.ToLower(strings.TrimSpace(n.Text))
	s = strings.TrimSuffix(strings.TrimSuffix(s, "gauge"), "g")
	s = strings.Trim(strings.TrimPrefix(s, "g"), " -")
	v, err := strconv.Atoi(s)
	return float64(v), err == nil && v > 0 && v < 60
}

var reactionFields = fieldsOf(
	own("consumes", func(d *decoder, key string, n *document.Node, r *Reaction) { r.Consumes = d.portions(key, n) }),
	own("gives", func(d *decoder, key string, n *document.Node, r *Reaction) { r.Gives = d.portions(key, n) }),
	asText("in", func(r *Reaction) *Text { return &r.In }),
	asFigure("conversion", expects{dims: []quantity.Dimension{quantity.Fraction}, example: "95 %"}, func(r *Reaction) **Figure { return &r.Conversion }),
	own("heat", func(d *decoder, key string, n *document.Node, r *Reaction) {
		t := d.text(key, n)
		if !t.Is() {
			return
		}
		low, high, ok := molarHeat(t.S)
		if !ok {
			d.report(ruleQuantity, n.Span, fmt.Sprintf("`heat`: found %s, expected a heat per mole, negative when given off", quote(t.S)), "for example `heat: -210 kJ/mol`")
			return
		}
		r.Heat = &Figure{Quantity: quantity.Quantity{Raw: t.S, Low: low, High: high, Times: 1, Unit: "kJ/mol"}, Span: n.Span}
		// Of a range the end that gives off more heat counts.
		r.HeatKJ = &low
	}),
	asText("gas", func(r *Reaction) *Text { return &r.Gas }),
	asText("part", func(r *Reaction) *Text { return &r.Part }),
)

// portions decodes coefficients: {benzaldehyde: 1, hydride: 0.25}.
func (d *decoder) portions(key string, n *document.Node) (ps []Portion) {
	if n.Kind == document.Mapping && len(n.Entries) == 0 {
		d.report(ruleIncomplete, n.Span, fmt.Sprintf("%s: found nothing, expected names with their coefficients", quote(key)), "for example `"+key+": {benzaldehyde: 1}`")
	}
	d.rows(key, n, false, func(e document.Entry, name Text) {
		v, ok := e.Value.Number()
		if !ok || v <= 0 {
			d.report(ruleValue, spot(e.Value), fmt.Sprintf("%s: found %s, expected the coefficient of %s, a number above 0", quote(key), kind(e.Value), name.S), "for example `"+name.S+": 1`")
			return
		}
		ps = append(ps, Portion{name, v})
	})
	return ps
}

// molarHeat reads "-210 kJ/mol", "about -50 kcal/mol" and "-240 to -200
// kJ/mol" into kJ/mol, the lower figure first. The thermochemical calorie is
// 4.184 J exactly (NIST SP 811).
func molarHeat(s string) (low, high float64, ok bool) {
	s = strings.ToLower(strings.NewReplacer("−", "-", "–", "-", ",", ".", "+", "").Replace(s))
	factor := 1.0
	switch {
	case strings.HasSuffix(s, "kj/mol"):
		s = strings.TrimSuffix(s, "kj/mol")
	case strings.HasSuffix(s, "kj mol-1"):
		s = strings.TrimSuffix(s, "kj mol-1")
	case strings.HasSuffix(s, "kcal/mol"):
		s, factor = strings.TrimSuffix(s, "kcal/mol"), 4.184
	default:
		return 0, 0, false
	}
	s = strings.TrimSpace(s)
	for _, word := range []string{"about ", "ca. ", "ca ", "approximately ", "~"} {
		s = strings.TrimSpace(strings.TrimPrefix(s, word))
	}
	first, second, ranged := strings.Cut(s, " to ")
	if !ranged {
		second = first
	}
	a, err1 := strconv.ParseFloat(strings.TrimSpace(first), 64)
	b, err2 := strconv.ParseFloat(strings.TrimSpace(second), 64)
	if err1 != nil || err2 != nil || math.IsNaN(a+b) || math.IsInf(a, 0) || math.IsInf(b, 0) {
		return 0, 0, false
	}
	return min(a, b) * factor, max(a, b) * factor, true
}

var productFields = fieldsOf(
	asText("name", func(p *Product) *Text { return &p.Name }),
	asText("formula", func(p *Product) *Text { return &p.Formula }),
	asText("from", func(p *Product) *Text { return &p.From }),
	asAmount("expected", func(p *Product) **Amount { return &p.Expected }),
	asFigure("yield", expects{dims: []quantity.Dimension{quantity.Fraction}, example: "79 %"}, func(p *Product) **Figure { return &p.Yield }),
	asFigure("melting point", expects{dims: []quantity.Dimension{quantity.Temperature}, example: "161-163 °C"}, func(p *Product) **Figure { return &p.Melting }),
	own("boiling point", func(d *decoder, key string, n *document.Node, p *Product) {
		p.Boiling, p.BoilingAt = d.boiling(key, n)
	}),
	asText("note", func(p *Product) *Text { return &p.Note }),
)

// boiling decodes a boiling point with its pressure, as in "74 °C at 14 mm",
// "131–133 °C/15 mm" and "74 °C (14 mmHg)".
func (d *decoder) boiling(key string, n *document.Node) (at, pressure *Figure) {
	if n.Kind != document.Scalar {
		return d.figure(key, n, aBoilingRange), nil
	}
	s, cut, skip, end := n.Text, -1, 0, len(n.Text)
	if i := strings.Index(s, " at "); i >= 0 {
		cut, skip = i, 4
	} else if i := strings.IndexByte(s, '/'); i >= 0 {
		cut, skip = i, 1
	} else if i := strings.IndexByte(s, '('); i >= 0 && strings.HasSuffix(s, ")") {
		cut, skip, end = i, 1, len(s)-1
	}
	if cut < 0 {
		return d.figure(key, n, aBoilingRange), nil
	}
	return d.figureIn(key, n, 0, cut, aBoilingRange), d.figureIn(key, n, min(cut+skip, end), end, expects{dims: aPressure.dims, example: aBoilingRange.example})
}

var cautionFields = fieldsOf(
	asText("about", func(c *Caution) *Text { return &c.About }),
	asText("say", func(c *Caution) *Text { return &c.Say }),
)

func (d *decoder) cautions(n *document.Node) (cs []Caution) {
	d.items("cautions", n, func(item *document.Node) {
		c := Caution{Span: item.Span}
		if item.Kind == document.Scalar {
			c.Say = d.text("cautions", item)
		} else {
			fill(d, item, spot(item), "a caution", &cautionFields, &c)
		}
		cs = append(cs, c)
	})
	return cs
}

var protectionFields = fieldsOf(
	asWordOrYes("coat", func(p *Protection) *Text { return &p.Coat }),
	asWordOrYes("gloves", func(p *Protection) *Text { return &p.Gloves }),
	asWordOrYes("eyes", func(p *Protection) *Text { return &p.Eyes }),
	asWordOrYes("shield", func(p *Protection) *Text { return &p.Shield }),
	asWordOrYes("extinguisher", func(p *Protection) *Text { return &p.Extinguisher }),
	asYes("hood", func(p *Protection) **bool { return &p.Hood }),
)

var branchFields = fieldsOf(
	asText("if", func(b *Branch) *Text { return &b.If }),
	asText("do", func(b *Branch) *Text { return &b.Do }),
)

var approvalFields = fieldsOf(
	asText("by", func(a *Approval) *Text { return &a.By }),
	own("on", func(d *decoder, key string, n *document.Node, a *Approval) { a.On = d.date(key, n) }),
	asText("version", func(a *Approval) *Text { return &a.Version }),
	asText("training", func(a *Approval) *Text { return &a.Training }),
	asText("scale", func(a *Approval) *Text { return &a.Scale }),
)

var declaredFields = fieldsOf(
	asStrings("names", func(s *Declared) *[]string { return &s.Names }),
	asText("formula", func(s *Declared) *Text { return &s.Formula }),
	asText("structure", func(s *Declared) *Text { return &s.Structure }),
	asText("cas", func(s *Declared) *Text { return &s.CAS }),
	asText("family", func(s *Declared) *Text { return &s.Family }),
	asOneOf("phase", func(s *Declared) *Text { return &s.Phase }, "solid", "liquid", "gas"),
	asFigure("density", aDensity, func(s *Declared) **Figure { return &s.Density }),
	own("boiling point", func(d *decoder, key string, n *document.Node, s *Declared) {
		s.Boiling, s.BoilingAt = d.boiling(key, n)
	}),
	asStrings("hazards", func(s *Declared) *[]string { return &s.Hazards }),
	asTexts("attacked by", func(s *Declared) *[]Text { return &s.AttackedBy }),
	asOneOf("exclusion", func(s *Declared) *Text { return &s.Exclusion }, "none", "drying tube", "inert gas", "evacuate and refill", "glovebox"),
	asStrings("waste", func(s *Declared) *[]string { return &s.Waste }),
	asText("source", func(s *Declared) *Text { return &s.Source }),
)

// acceptance decodes a deviation; step is the step it stands in, or 0.
func (d *decoder) acceptance(n *document.Node, step int) Acceptance {
	a := Acceptance{Step: step, Span: n.Span}
	f := &acceptanceFields
	if step > 0 {
		f = &stepAcceptanceFields
	}
	if fill(d, n, spot(n), "an accepted deviation", f, &a) {
		d.need(n, spot(n), "an accepted deviation", "rule", "because", "by")
	}
	return a
}

var stepAcceptanceFields = fieldsOf(acceptanceKeys...)

var acceptanceFields = fieldsOf(append([]field[Acceptance]{
	own("step", func(d *decoder, key string, n *document.Node, a *Acceptance) {
		v, ok := n.Number()
		if !ok || v < 1 || v != math.Trunc(v) || v > 1e6 {
			d.report(ruleValue, spot(n), fmt.Sprintf("`step`: found %s, expected the number of a step", kind(n)), "for example `step: 3`")
			return
		}
		a.Step = int(v)
	}),
}, acceptanceKeys...)...)

var acceptanceKeys = []field[Acceptance]{
	asText("rule", func(a *Acceptance) *Text { return &a.Rule }),
	asText("because", func(a *Acceptance) *Text { return &a.Because }),
	asText("by", func(a *Acceptance) *Text { return &a.By }),
	own("until", func(d *decoder, key string, n *document.Node, a *Acceptance) { a.Until = d.date(key, n) }),
}

func isDate(s string) bool {
	_, err := time.Parse(time.DateOnly, s)
	return err == nil
}
