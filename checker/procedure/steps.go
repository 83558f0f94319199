package procedure

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"ketyl/checker/document"
	"ketyl/checker/finding"
	"ketyl/checker/quantity"
)

// modifiers is every modifier of the format. A key that has no setter here
// does not exist; a test keeps it equal to what the verbs take.
var modifiers = fieldsOf(
	// names of vessels, materials and places
	asTexts("with", func(s *Step) *[]Text { return &s.With }),
	own("to", func(d *decoder, key string, n *document.Node, s *Step) { d.to(key, n, s) }),
	asTexts("from", func(s *Step) *[]Text { return &s.From }),
	asTexts("into", func(s *Step) *[]Text { return &s.Into }),
	asTexts("in", func(s *Step) *[]Text { return &s.In }),
	asTexts("on", func(s *Step) *[]Text { return &s.On }),
	asTexts("under", func(s *Step) *[]Text { return &s.Under }),
	asTexts("through", func(s *Step) *[]Text { return &s.Through }),
	asTexts("against", func(s *Step) *[]Text { return &s.Against }),
	asTexts("then", func(s *Step) *[]Text { return &s.Then }),
	// figures
	asFigure("at", aSetting, func(s *Step) **Figure { return &s.At }),
	asFigure("temperature", aSetting, func(s *Step) **Figure { return &s.Temp }),
	asFigure("keep below", aTemperature, func(s *Step) **Figure { return &s.KeepBelow }),
	asFigure("keep above", aTemperature, func(s *Step) **Figure { return &s.KeepAbove }),
	asFigure("activated at", aTemperature, func(s *Step) **Figure { return &s.ActivatedAt }),
	asFigure("activated for", aTime, func(s *Step) **Figure { return &s.ActivatedFor }),
	asFigure("for", aTime, func(s *Step) **Figure { return &s.For }),
	asFigure("over", aTime, func(s *Step) **Figure { return &s.Over }),
	asFigure("within", aTime, func(s *Step) **Figure { return &s.Within }),
	asFigure("hold for", aTime, func(s *Step) **Figure { return &s.HoldFor }),
	asFigure("time", aTime, func(s *Step) **Figure { return &s.Time }),
	asFigure("vacuum", aVacuum, func(s *Step) **Figure { return &s.Vacuum }),
	asFigure("pressure", aPressure, func(s *Step) **Figure { return &s.Pressure }),
	asFigure("flow", aFlow, func(s *Step) **Figure { return &s.Flow }),
	asFigure("load", aLoad, func(s *Step) **Figure { return &s.Load }),
	asFigure("cycles", aCountOrWord, func(s *Step) **Figure { return &s.Cycles }),
	asFigure("portions", aPortion, func(s *Step) **Figure { return &s.Portions }),
	asFigure("size", aSize, func(s *Step) **Figure { return &s.Size }),
	own("repeat", func(d *decoder, key string, n *document.Node, s *Step) { s.Repeat = d.repeat(key, n) }),
	asFigure("replicates", aCount, func(s *Step) **Figure { return &s.Replicates }),
	asFigure("leave", aRemainder, func(s *Step) **Figure { return &s.Leave }),
	asFigure("fraction", aTemperature, func(s *Step) **Figure { return &s.Fraction }),
	asFigure("limit", aLimit, func(s *Step) **Figure { return &s.Limit }),
	asAmount("amount", func(s *Step) **Amount { return &s.Amount }),
	own("rinse with", func(d *decoder, key string, n *document.Node, s *Step) { d.rinse(key, n, s) }),
	own("rate", func(d *decoder, key string, n *document.Node, s *Step) { d.rate(key, n, s) }),
	// words
	asText("bath", func(s *Step) *Text { return &s.Bath }),
	asText("by", func(s *Step) *Text { return &s.By }),
	asText("outlet", func(s *Step) *Text { return &s.Outlet }),
	asText("coolant", func(s *Step) *Text { return &s.Coolant }),
	asText("condenser", func(s *Step) *Text { return &s.Condenser }),
	asText("until", func(s *Step) *Text { return &s.Until }),
	asText("if", func(s *Step) *Text { return &s.If }),
	asText("otherwise", func(s *Step) *Text { return &s.Otherwise }),
	asText("note", func(s *Step) *Text { return &s.Note }),
	asText("part", func(s *Step) *Text { return &s.Part }),
	asOneOf("done by", func(s *Step) *Text { return &s.DoneBy }, "stockroom", "student", "assistant", "instructor"),
	asText("text", func(s *Step) *Text { return &s.Text }),
	asText("expect", func(s *Step) *Text { return &s.Expect }),
	asText("keep", func(s *Step) *Text { return &s.Keep }),
	asText("layer", func(s *Step) *Text { return &s.Layer }),
	asText("cool in", func(s *Step) *Text { return &s.CoolIn }),
	asText("tip", func(s *Step) *Text { return &s.Tip }),
	asText("trap", func(s *Step) *Text { return &s.Trap }),
	asText("swap", func(s *Step) *Text { return &s.Swap }),
	asText("protection", func(s *Step) *Text { return &s.Protection }),
	asText("away from", func(s *Step) *Text { return &s.AwayFrom }),
	asWordOrYes("stop point", func(s *Step) *Text { return &s.StopPoint }),
	asTexts("look for", func(s *Step) *[]Text { return &s.Signs }),
	asTexts("sign", func(s *Step) *[]Text { return &s.Signs }),
	own("gives", func(d *decoder, key string, n *document.Node, s *Step) { d.gives(key, n, s) }),
	// yes or no
	asYes("before the section", func(s *Step) **bool { return &s.Before }),
	asYes("optional", func(s *Step) **bool { return &s.Optional }),
	asYes("attended", func(s *Step) **bool { return &s.Attended }),
	asYes("vented", func(s *Step) **bool { return &s.Vented }),
	asYes("shielded", func(s *Step) **bool { return &s.Shielded }),
	asYes("hot", func(s *Step) **bool { return &s.Hot }),
	asYes("sealed", func(s *Step) **bool { return &s.Sealed }),
	own("cautions", func(d *decoder, key string, n *document.Node, s *Step) { s.Cautions = d.cautions(n) }),
	// "accepted" is decoded by decodeStep, which knows the procedure.
	own("accepted", func(*decoder, string, *document.Node, *Step) {}),
)

var (
	verbNames = func() (names []string) {
		for _, v := range Verbs {
			names = append(names, v.Name)
		}
		return names
	}()
	everywhere = func() map[string]bool {
		m := map[string]bool{}
		for _, name := range Everywhere {
			m[name] = true
		}
		return m
	}()
)

// otherWords are the trade's other words for the verbs, to suggest the right
// one to whoever writes them.
var otherWords = map[string]string{
	"evaporate": "concentrate", "strip": "concentrate", "rotavap": "concentrate", "remove solvent": "concentrate",
	"flush": "purge", "sweep": "purge", "inert": "backfill", "refill": "backfill", "degass": "degas",
	"wait": "stand", "hold": "stand", "keep": "stand", "leave": "stand", "swirl": "stir", "shake": "stir", "mix": "stir",
	"inject": "add", "syringe": "transfer", "cannulate": "transfer", "cannula": "transfer", "pipette": "transfer", "drop": "add", "combine": "add",
	"recrystallise": "crystallise", "recrystallize": "crystallise", "crystallize": "crystallise",
	"neutralize": "neutralise", "analyze": "analyse", "characterise": "analyse", "distill": "distil", "basic": "basify", "alkalise": "basify",
	"hydrolyse": "quench", "kill": "quench", "dispose": "discard", "throw away": "discard", "bin": "discard",
	"boil": "reflux", "chill": "cool", "freeze": "cool", "weigh out": "weigh", "observe": "confirm", "watch": "confirm", "verify": "confirm",
	"suction filter": "filter", "centrifugate": "centrifuge", "close": "seal", "stopper": "seal", "grind": "crush", "cut": "crush",
	"back-extract": "extract", "measure": "weigh", "make": "follow", "prepare": "follow", "set up": "assemble", "attach": "fit", "connect": "fit", "swap": "fit", "replace": "fit",
	"turn on": "start", "turn off": "stop", "bubble": "pass", "suspend": "dissolve", "slurry": "dissolve",
}

// decodeStep decodes the n-th step of p; it never returns nil, so that steps
// keep their numbers.
func (d *decoder) decodeStep(n *document.Node, number int, p *Procedure) *Step {
	s := &Step{N: number, Span: n.Span, Head: spot(n)}
	d.step, d.subject = number, ""
	if n.Kind != document.Mapping || len(n.Entries) == 0 {
		d.report(ruleVerb, spot(n), fmt.Sprintf("step %d: found %s, expected a verb with its object", number, kind(n)), "for example `- stir: flask`")
		return s
	}
	verb := d.verb(n, s)
	s.At_ = make(map[string]finding.Span, len(n.Entries))
	known := func(key string) bool {
		_, isVerb := FindVerb(key)
		return isVerb || modifiers.by[key] != nil
	}
	for i := 0; i < len(n.Entries); i++ {
		e := n.Entries[i]
		key := e.Key.Text
		if parted := d.comma(n, i, known); parted > 0 {
			i += parted
			continue
		}
		if i == verb {
			if e.Value.Kind != document.Null { // d.verb has said so
				s.Object = d.texts(key, e.Value)
			}
			continue
		}
		set, ok := modifiers.by[key]
		if !ok {
			if _, isVerb := FindVerb(key); !isVerb { // a second verb is reported already
				d.unknownModifier(e.Key, s, verb < 0)
			}
			continue
		}
		if s.Verb != nil && !s.Verb.takes(key) {
			d.misplaced(e.Key, s)
			continue
		}
		if e.Value.Kind == document.Null {
			d.empty(e)
			continue
		}
		s.At_[key] = e.Value.Span
		if key == "accepted" {
			d.each(e.Value, func(item *document.Node) {
				a := d.acceptance(item, number)
				p.Accepted = append(p.Accepted, a)
				if s.Accepted == nil {
					s.Accepted = &a
				}
			})
			continue
		}
		set(d, key, e.Value, s)
	}
	if s.Verb != nil {
		for _, need := range s.Verb.Needs {
			if _, ok := n.Entry(need); !ok {
				d.report(ruleIncomplete, s.Head, fmt.Sprintf("%s needs %s: %s", quote(s.Verb.Name), quote(need), strings.ToLower(s.Verb.Doc[:1])+s.Verb.Doc[1:]), "write `"+need+": …`")
			}
		}
	}
	return s
}

// verb finds the step's verb and head, and gives the verb's entry or -1.
func (d *decoder) verb(n *document.Node, s *Step) int {
	var found []int
	for i, e := range n.Entries {
		if _, ok := FindVerb(e.Key.Text); ok {
			found = append(found, i)
		}
	}
	if len(found) > 1 {
		// "trap" is also a modifier: it is the verb only where nothing else is.
		strict := slices.DeleteFunc(slices.Clone(found), func(i int) bool { _, both := modifiers.by[n.Entries[i].Key.Text]; return both })
		if len(strict) > 0 {
			found = strict
		}
	}
	if len(found) == 0 {
		d.noVerb(n, s)
		return -1
	}
	e := n.Entries[found[0]]
	s.Verb, _ = FindVerb(e.Key.Text)
	s.Head = finding.Span{Start: e.Key.Span.Start, End: max(e.Key.Span.End, e.Value.Span.End)}
	d.subject = s.Verb.Name
	if object := objectWords(e.Value); object != "" {
		d.subject += " " + object
	}
	if e.Value.Kind == document.Null {
		d.report(ruleIncomplete, e.Key.Span, fmt.Sprintf("%s has no object, expected %s", quote(s.Verb.Name), s.Verb.Object), "")
		d.settle(e.Value.Span.Start)
	}
	if len(found) > 1 {
		first := e.Key
		for _, i := range found[1:] {
			second := n.Entries[i].Key
			d.report(ruleVerb, second.Span, fmt.Sprintf("step %d has two verbs, %s and %s, expected one", s.N, quote(first.Text), quote(second.Text)),
				"make them two steps", finding.Related{Span: first.Span, Message: "the first verb is here"})
		}
	}
	return found[0]
}

// objectWords names an object in a few words, for the head of a report.
func objectWords(n *document.Node) string {
	switch n.Kind {
	case document.Scalar:
		return strings.Join(strings.Fields(n.Text), " ")
	case document.Sequence:
		var words []string
		for _, item := range n.Items {
			if item.Kind == document.Scalar {
				words = append(words, strings.Join(strings.Fields(item.Text), " "))
			}
		}
		return list(words, "and")
	}
	return ""
}

// noVerb reports a step without a verb: at the key that was meant to be one,
// else at the step.
func (d *decoder) noVerb(n *document.Node, s *Step) {
	for _, e := range n.Entries {
		if _, ok := modifiers.by[e.Key.Text]; ok {
			continue
		}
		if near := nearestVerb(e.Key.Text); near != "" {
			s.Head = finding.Span{Start: e.Key.Span.Start, End: max(e.Key.Span.End, e.Value.Span.End)}
			d.report(ruleVerb, e.Key.Span, fmt.Sprintf("step %d has no verb: %s is not one, did you mean %s?", s.N, quote(e.Key.Text), quote(near)), "write `"+near+":`")
			return
		}
	}
	d.report(ruleVerb, spot(n), fmt.Sprintf("step %d has no verb, found only %s", s.N, list(keys(n), "and")), "begin with a verb, for example `- stir: flask`")
}

func keys(n *document.Node) (names []string) {
	for _, e := range n.Entries {
		names = append(names, quote(e.Key.Text))
	}
	return names
}

func nearestVerb(word string) string {
	if v, ok := otherWords[strings.ToLower(strings.Join(strings.Fields(word), " "))]; ok {
		return v
	}
	return document.Nearest(word, verbNames)
}

// unknownModifier reports a key that is no modifier. In a step without a verb
// a key near to a verb has been reported as such.
func (d *decoder) unknownModifier(key *document.Node, s *Step, verbless bool) {
	if verbless && nearestVerb(key.Text) != "" {
		return
	}
	var near string
	if s.Verb != nil {
		near = document.Nearest(key.Text, slices.Concat(s.Verb.Takes, s.Verb.Needs, Everywhere))
	} else {
		near = document.Nearest(key.Text, modifiers.names)
	}
	switch {
	case near != "":
		d.report(ruleModifier, key.Span, fmt.Sprintf("a step has no key %s, did you mean %s?", quote(key.Text), quote(near)), "write `"+near+":`")
	case s.Verb == nil:
		d.report(ruleModifier, key.Span, fmt.Sprintf("a step has no key %s", quote(key.Text)), "")
	case nearestVerb(key.Text) != "":
		v := nearestVerb(key.Text)
		d.report(ruleModifier, key.Span, fmt.Sprintf("%s takes no %s, did you mean the verb %s?", quote(s.Verb.Name), quote(key.Text), quote(v)), "make it a step of its own: `- "+v+": …`")
	default:
		d.report(ruleModifier, key.Span, fmt.Sprintf("a step has no key %s; %s", quote(key.Text), s.Verb.offers()), "put it under `note:` if it is only to be said")
	}
}

// misplaced reports a modifier that means nothing to the verb; leaving it
// unread would let a figure pass that nobody judges.
func (d *decoder) misplaced(key *document.Node, s *Step) {
	fix := "put it under `note:` if it is only to be said"
	if near := document.Nearest(key.Text, s.Verb.Takes); near != "" {
		fix = "write `" + near + ":` if that is meant"
	}
	d.report(ruleModifier, key.Span, fmt.Sprintf("%s means nothing to %s; %s", quote(key.Text), quote(s.Verb.Name), s.Verb.offers()), fix)
}

func (v *Verb) takes(key string) bool {
	return everywhere[key] || slices.Contains(v.Takes, key) || slices.Contains(v.Needs, key)
}

func (v *Verb) offers() string {
	if len(v.Takes) == 0 {
		return "it takes only what every step takes, such as for, until, if and note"
	}
	return "it takes " + list(v.Takes, "and") + ", besides what every step takes, such as for, until, if and note"
}

// thermal verbs bring a vessel to a temperature that `to` names.
func thermal(v *Verb) bool {
	if v == nil {
		return false
	}
	switch v.Name {
	case "cool", "heat", "warm", "crystallise":
		return true
	}
	return false
}

// protonic verbs bring a liquid to the acidity that `to` names.
func protonic(v *Verb) bool {
	if v == nil {
		return false
	}
	switch v.Name {
	case "acidify", "basify", "neutralise", "quench", "destroy":
		return true
	}
	return false
}

// to decodes the one modifier that names a place, a temperature, an acidity
// or, for concentrate, a volume.
func (d *decoder) to(key string, n *document.Node, s *Step) {
	if n.Kind != document.Scalar || strings.TrimSpace(n.Text) == "" {
		s.To = d.texts(key, n)
		return
	}
	text := strings.TrimSpace(n.Text)
	if q, ok := acidity(text, protonic(s.Verb)); ok {
		s.ToPH = &Figure{Quantity: q, Span: n.Span}
		return
	}
	digits := strings.ContainsAny(text, "0123456789")
	switch {
	case looksLikePH(text):
		d.report(ruleQuantity, n.Span, fmt.Sprintf("`to`: found %s, expected a pH from 0 to 14", quote(text)), "for example `to: pH 7`")
		return
	case thermal(s.Verb):
		if q, err := quantity.ParseAs(n.Text, quantity.Temperature, quantity.Word); err == nil {
			s.ToTemp = &Figure{Quantity: q, Span: n.Span}
			return
		}
		if digits {
			d.figure(key, n, aTemperature) // reports
			return
		}
	case s.Verb != nil && s.Verb.Name == "concentrate" && digits:
		if q, err := quantity.ParseAs(n.Text, quantity.Volume); err == nil {
			if s.Leave == nil {
				s.Leave = &Figure{Quantity: q, Span: n.Span}
			}
			return
		}
	}
	s.To = d.texts(key, n)
}

func looksLikePH(s string) bool {
	return len(s) > 2 && strings.EqualFold(s[:2], "pH") && (s[2] == ' ' || s[2] >= '0' && s[2] <= '9')
}

// acidity reads "pH 7", "pH 8-9", "pH below 2", "about pH 7" and, where an
// acidity is expected, a bare number and "neutral".
func acidity(s string, expected bool) (quantity.Quantity, bool) {
	raw := s
	if lower := strings.ToLower(s); expected && (lower == "neutral" || strings.HasPrefix(lower, "neutral to ") || lower == "neutrality") {
		return quantity.Quantity{Raw: raw, Dim: quantity.Count, Low: 7, High: 7, Times: 1, Word: "neutral", Assumed: "neutral taken as pH 7 (definition at 25 °C)"}, true
	}
	about := false
	for _, word := range []string{"about ", "ca. ", "~"} {
		if rest, ok := strings.CutPrefix(s, word); ok {
			s, about = strings.TrimSpace(rest), true
		}
	}
	switch {
	case looksLikePH(s):
		s = strings.TrimSpace(s[2:])
	case !expected:
		return quantity.Quantity{}, false
	}
	for sign, word := range map[string]string{"<": "below ", "≤": "below ", ">": "above ", "≥": "above ", "=": ""} {
		if rest, ok := strings.CutPrefix(s, sign); ok {
			s = word + strings.TrimSpace(rest)
			break
		}
	}
	q, err := quantity.ParseAs(s, quantity.Count)
	if err != nil || q.Unit != "" || !q.Known() || q.Value() < 0 || q.Value() > 14 {
		return quantity.Quantity{}, false
	}
	q.Raw, q.About = raw, q.About || about
	return q, true
}

// repeat decodes a count, or words that say until when.
func (d *decoder) repeat(key string, n *document.Node) *Figure {
	if n.Kind == document.Scalar && strings.HasPrefix(strings.ToLower(strings.TrimSpace(n.Text)), "until ") {
		s := strings.TrimSpace(n.Text)
		return &Figure{Quantity: quantity.Quantity{Raw: s, Dim: quantity.Word, Word: s, Times: 1}, Span: n.Span}
	}
	return d.figure(key, n, aCountOrWord)
}

// figureRate matches what can only be meant as a figure per time.
var figureRate = regexp.MustCompile(`^[0-9][0-9.,–-]* ?[^ ]+ ?/ ?[^ ]+$`)

// rate keeps the words in every case, and the figure where it is one.
func (d *decoder) rate(key string, n *document.Node, s *Step) {
	s.Rate = d.text(key, n)
	if !s.Rate.Is() {
		return
	}
	x := expects{dims: []quantity.Dimension{quantity.Flow, quantity.DripRate, quantity.MassRate, quantity.AmountRate, quantity.PerTime}, example: "1 mL/min"}
	if q, err := quantity.ParseAs(n.Text, x.dims...); err == nil {
		s.RateFigure = &Figure{Quantity: q, Span: n.Span}
	} else if figureRate.MatchString(s.Rate.S) {
		d.figure(key, n, x) // reports
	}
}

// gives decodes one name, or a name for each part.
func (d *decoder) gives(key string, n *document.Node, s *Step) {
	if n.Kind != document.Mapping {
		if t := d.text(key, n); t.Is() {
			s.Gives, s.GivesOrder = map[string]Text{"": t}, []string{""}
		}
		return
	}
	if len(n.Entries) == 0 {
		d.report(ruleIncomplete, n.Span, "`gives`: found nothing, expected the names of what is made", "for example `gives: {organic: ether layer, aqueous: aqueous layer}`")
		return
	}
	s.Gives = make(map[string]Text, len(n.Entries))
	for _, e := range n.Entries {
		part := e.Key.Text
		switch {
		case !slices.Contains(parts, part) && !numberedFraction.MatchString(part):
			d.unknownKey(e.Key, "`gives`", parts)
		case e.Value.Kind == document.Null:
			d.empty(e)
		default:
			if t := d.text(part, e.Value); t.Is() {
				s.Gives[part] = t
				s.GivesOrder = append(s.GivesOrder, part)
			}
		}
	}
}

// parts are what a step can give by name, besides fraction 1, fraction 2 …
var parts = []string{"organic", "aqueous", "upper", "lower", "middle", "solid", "liquid", "filtrate", "cake", "residue", "distillate", "forerun", "solution",
	"mother liquor", "crystals", "precipitate", "supernatant", "extract", "washings", "rinse", "eluate", "aliquot", "gas", "trap"}

var numberedFraction = regexp.MustCompile(`^fraction [0-9]{1,2}$`)

type rinseKeys struct {
	with   []Text
	amount *Amount
}

var rinseFields = fieldsOf(
	asTexts("with", func(r *rinseKeys) *[]Text { return &r.with }),
	asAmount("amount", func(r *rinseKeys) **Amount { return &r.amount }),
)

// rinse decodes "ether", "ether, 2 x 5 mL", a list of liquids without
// amounts, or {with, amount}.
func (d *decoder) rinse(key string, n *document.Node, s *Step) {
	switch n.Kind {
	case document.Mapping:
		var r rinseKeys
		if fill(d, n, spot(n), "`rinse with`", &rinseFields, &r) {
			d.need(n, spot(n), "`rinse with`", "with")
		}
		s.RinseWith, s.RinseAmount = r.with, r.amount
		return
	case document.Scalar:
	default:
		s.RinseWith = d.texts(key, n)
		for _, t := range s.RinseWith {
			if name, amount, ok := strings.Cut(t.S, ","); ok && strings.ContainsAny(amount, "0123456789") {
				d.report(ruleValue, t.Span, fmt.Sprintf("`rinse with`: found an amount of %s in a list, expected names only", strings.TrimSpace(name)), "make each a step of its own: `- rinse: …`")
			}
		}
		return
	}
	whole := d.text(key, n)
	if !whole.Is() {
		return
	}
	cut := amountAfterComma(n.Text)
	if cut < 0 {
		s.RinseWith = []Text{whole}
		return
	}
	start := cut + 1 + len(n.Text[cut+1:]) - len(strings.TrimLeft(n.Text[cut+1:], " \t\n"))
	name := strings.TrimSpace(n.Text[:cut])
	if name == "" {
		d.report(ruleValue, n.Span, "`rinse with`: found only an amount, expected a liquid before the comma", "for example `rinse with: ether, 5 mL`")
		return
	}
	s.RinseWith = []Text{{S: name, Span: d.within(n, 0, cut)}}
	if qs, ok := d.amountIn(key, n, start, len(n.Text)); ok {
		s.RinseAmount = &Amount{All: qs, Raw: strings.TrimSpace(n.Text[start:]), Span: d.within(n, start, len(n.Text))}
	}
}

// amountAfterComma finds the comma between a liquid and its amount, as in
// "1,2-dimethoxyethane, 5 mL": the last one with a blank behind it.
func amountAfterComma(s string) int {
	if i := strings.LastIndex(s, ", "); i >= 0 {
		return i
	}
	return -1
}
