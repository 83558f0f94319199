package procedure

import (
	"cmp"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"sync"
	"unicode/utf8"

	"ketyl/checker/document"
	"ketyl/checker/finding"
	"ketyl/checker/quantity"
	"ketyl/schema"
)

// Rules of the findings that decoding makes; all are holds with the outcome
// unread. Intake and schema add their own of the same family.
const (
	ruleQuantity   = "format/quantity"   // a figure that cannot be read, or of another dimension
	ruleValue      = "format/value"      // a value of another kind than its key takes
	ruleKey        = "format/key"        // a key that its place does not know
	ruleVerb       = "format/verb"       // a step with no verb or more than one
	ruleModifier   = "format/modifier"   // a modifier that the step's verb does not take
	ruleIncomplete = "format/incomplete" // something needed that is not written
	ruleName       = "format/name"       // one name for two things
)

const schemaName = "procedure.schema.json"

var compiled = sync.OnceValues(func() (*document.Schema, error) {
	return document.CompileSchema(schemaName, schema.Procedure(), nil)
})

// Load reads the bytes of a procedure file: its YAML, its schema and its
// words. The name is the one shown to the reader.
//
// Every fault is a finding (a hold with the outcome unread), each reported
// once, by place. The procedure is nil when the file has no readable tree.
// When there are findings beside a procedure it holds only what could be
// read: good enough for an outline, not for judgement.
func Load(name string, b []byte) (*Procedure, []finding.Finding) {
	f, fs := document.Read(name, b)
	if f == nil || f.Root == nil {
		return nil, fs
	}
	d := &decoder{src: f.Source.Bytes}
	p := d.procedure(f)
	if len(d.fs) > 0 {
		d.fs = append(d.fs, d.schemaFaults(f)...)
		sortByPlace(d.fs)
	}
	return p, append(fs, d.fs...)
}

// schemaFaults gives what the schema finds wrong and decoding passed over.
//
// The schema is the word on the format for editors and people. Decoding is at
// least as strict (FuzzLoad holds it to that), so where decoding found nothing
// the schema, which is slow to compile and to apply, need not be asked.
func (d *decoder) schemaFaults(f *document.File) (fs []finding.Finding) {
	s, err := compiled()
	if err != nil {
		return []finding.Finding{unread("format/schema", spot(f.Root), err.Error())}
	}
	faults := s.Validate(f)
	if len(faults) > 0 {
		d.settleKeys(f.Root)
	}
	for _, fd := range faults {
		// Decoding knows more and says more: of one place it has the word.
		if !d.settled[fd.Span.Start] {
			fs = append(fs, fd)
		}
	}
	return fs
}

// Decode makes the typed procedure from a file's tree. Faults are reported as
// by Load; the procedure is nil only when the tree is missing or no mapping.
// Names of vessels and materials are kept as written, not looked up.
func Decode(f *document.File) (*Procedure, []finding.Finding) {
	if f == nil || f.Root == nil {
		return nil, nil
	}
	d := &decoder{src: f.Source.Bytes}
	p := d.procedure(f)
	sortByPlace(d.fs)
	return p, d.fs
}

func (d *decoder) procedure(f *document.File) *Procedure {
	if f.Root.Kind != document.Mapping {
		d.report(ruleValue, spot(f.Root), fmt.Sprintf("found %s, expected a procedure: keys such as procedure, materials and steps", kind(f.Root)), "begin with `procedure: a-short-name`")
		return nil
	}
	p := &Procedure{Source: f.Source, Span: spot(f.Root)}
	if n := f.Root.Get("procedure"); n != nil {
		p.Span = n.Span
	}
	fill(d, f.Root, spot(f.Root), "a procedure", &procedureFields, p)
	d.need(f.Root, spot(f.Root), "the file", "procedure", "steps")
	d.step, d.subject = 0, ""
	d.distinct(p)
	d.stepNumbers(p)
	p.plainGases()
	return p
}

func sortByPlace(fs []finding.Finding) {
	slices.SortStableFunc(fs, func(a, b finding.Finding) int {
		return cmp.Or(cmp.Compare(a.Span.Start, b.Span.Start), cmp.Compare(a.Rule, b.Rule), cmp.Compare(a.Message, b.Message))
	})
}

type decoder struct {
	src     []byte
	fs      []finding.Finding
	step    int    // of the step being decoded
	subject string // "add n-butyllithium"
	// settled holds the places, as offsets, of which something has been said.
	settled map[int]bool
}

func unread(rule string, at finding.Span, message string) finding.Finding {
	return finding.Finding{Rule: rule, Level: finding.Hold, Outcome: finding.Unread, Span: at, Message: message}
}

func (d *decoder) report(rule string, at finding.Span, message, fix string, related ...finding.Related) {
	fd := unread(rule, at, message)
	fd.Step, fd.Subject, fd.Fix, fd.Related = d.step, d.subject, fix, related
	d.fs = append(d.fs, fd)
	d.settle(at.Start)
}

func (d *decoder) settle(offset int) {
	if d.settled == nil {
		d.settled = map[int]bool{}
	}
	d.settled[offset] = true
}

// settleKeys carries what was said of a value to its key, where the schema
// would speak of it.
func (d *decoder) settleKeys(n *document.Node) {
	for _, e := range n.Entries {
		if d.settled[spot(e.Value).Start] || d.settled[e.Value.Span.Start] {
			d.settle(e.Key.Span.Start)
		}
		d.settleKeys(e.Value)
	}
	for _, item := range n.Items {
		d.settleKeys(item)
	}
}

// fields maps the keys of one kind of mapping to what decodes their values.
type fields[T any] struct {
	names []string // in the order in which they are offered to the reader
	by    map[string]func(d *decoder, key string, n *document.Node, t *T)
}

type field[T any] struct {
	name string
	set  func(d *decoder, key string, n *document.Node, t *T)
}

func fieldsOf[T any](list ...field[T]) fields[T] {
	f := fields[T]{by: make(map[string]func(*decoder, string, *document.Node, *T), len(list))}
	for _, x := range list {
		f.names = append(f.names, x.name)
		f.by[x.name] = x.set
	}
	return f
}

// fill decodes a mapping by its fields; owner is the place to point at when
// the value as a whole is at fault.
func fill[T any](d *decoder, n *document.Node, owner finding.Span, what string, f *fields[T], t *T) bool {
	if n.Kind != document.Mapping {
		d.report(ruleValue, spot(n), fmt.Sprintf("%s: found %s, expected keys with values: %s", what, kind(n), list(f.names, "and")), "")
		return false
	}
	if len(n.Entries) == 0 && len(n.Items) == 0 {
		d.report(ruleValue, owner, fmt.Sprintf("%s: found no keys, expected some of %s", what, list(f.names, "and")), "")
		return false
	}
	for i := 0; i < len(n.Entries); i++ {
		e := n.Entries[i]
		set, ok := f.by[e.Key.Text]
		if parted := d.comma(n, i, func(key string) bool { return f.by[key] != nil }); parted > 0 {
			i += parted
			continue
		}
		if !ok {
			d.unknownKey(e.Key, what, f.names)
			continue
		}
		if e.Value.Kind == document.Null {
			d.empty(e)
			continue
		}
		set(d, e.Key.Text, e.Value, t)
	}
	return true
}

// comma reports a value that a comma inside { } has cut in pieces, as in
// {substance: 1,2-dimethoxyethane} or {amount: 75 g (71.5 mL, 0.5 mol)}, and
// gives the number of entries that are pieces of the i-th: keys that nobody
// knows and that say nothing.
func (d *decoder) comma(n *document.Node, i int, known func(key string) bool) int {
	e := n.Entries[i]
	end := i
	for end+1 < len(n.Entries) {
		last, next := n.Entries[end].Value.Span.End, n.Entries[end+1]
		if end > i {
			last = n.Entries[end].Key.Span.End
		}
		start := next.Key.Span.Start
		if next.Value.Kind != document.Null || next.Key.Quoted || known(next.Key.Text) || last >= start || start > len(d.src) ||
			strings.TrimSpace(string(d.src[last:start])) != "," {
			break
		}
		end++
	}
	if end == i || e.Value.Kind != document.Scalar || e.Value.Quoted {
		return 0
	}
	sp := finding.Span{Start: e.Value.Span.Start, End: n.Entries[end].Key.Span.End}
	for _, piece := range n.Entries[i+1 : end+1] {
		d.settle(piece.Key.Span.Start)
	}
	whole := strings.Join(strings.Fields(string(d.src[sp.Start:sp.End])), " ")
	d.report(ruleValue, sp, fmt.Sprintf("%s: found a comma, which ends a value inside { }", quote(e.Key.Text)), "put the value in quotes: `"+e.Key.Text+": \""+whole+"\"`")
	return end - i
}

func (d *decoder) unknownKey(key *document.Node, what string, names []string) {
	if near := document.Nearest(key.Text, names); near != "" {
		d.report(ruleKey, key.Span, fmt.Sprintf("%s has no key %s, did you mean %s?", what, quote(key.Text), quote(near)), "write `"+near+":`")
		return
	}
	d.report(ruleKey, key.Span, fmt.Sprintf("%s has no key %s, expected %s", what, quote(key.Text), list(names, "or")), "")
}

// empty reports a key without a value, which would otherwise look as if the
// key had not been written.
func (d *decoder) empty(e document.Entry) {
	d.report(ruleValue, e.Key.Span, fmt.Sprintf("%s says nothing, expected a value", quote(e.Key.Text)), "write a value or take the key out")
	d.settle(e.Value.Span.Start)
}

// need reports keys that must be there.
func (d *decoder) need(n *document.Node, owner finding.Span, what string, names ...string) {
	if n.Kind != document.Mapping {
		return
	}
	for _, name := range names {
		if _, ok := n.Entry(name); !ok {
			d.report(ruleIncomplete, owner, fmt.Sprintf("%s has no %s", what, quote(name)), "write `"+name+": …`")
		}
	}
}

// each calls fn for every item of a list; one value stands for a list of one,
// and an empty list for none.
func (d *decoder) each(n *document.Node, fn func(item *document.Node)) {
	if n.Kind != document.Sequence {
		fn(n)
		return
	}
	for _, item := range n.Items {
		if item.Kind == document.Null {
			d.report(ruleValue, item.Span, "found an empty item, expected a value", "write a value or take the item out")
			continue
		}
		fn(item)
	}
}

// items calls fn for every item of what must be a list.
func (d *decoder) items(key string, n *document.Node, fn func(item *document.Node)) {
	if n.Kind != document.Sequence {
		d.report(ruleValue, spot(n), fmt.Sprintf("%s: found %s, expected a list, each item beginning with a dash", quote(key), kind(n)), "")
		return
	}
	d.each(n, fn)
}

// spot is the place to point at for a value as a whole.
func spot(n *document.Node) finding.Span {
	if n.Kind == document.Mapping && len(n.Entries) > 0 && n.Entries[0].Key.Span.Start == n.Span.Start {
		return n.Entries[0].Key.Span
	}
	if (n.Kind == document.Mapping || n.Kind == document.Sequence) && n.Span.End > n.Span.Start {
		return finding.Span{Start: n.Span.Start, End: n.Span.Start + 1}
	}
	return n.Span
}

func kind(n *document.Node) string {
	if n.Kind == document.Scalar {
		return quote(n.Text)
	}
	return n.Kind.String()
}

// quote shows a word of the reader's in a message, shortened when long.
func quote(s string) string {
	if utf8.RuneCountInString(s) > 60 {
		s = string([]rune(s)[:57]) + "…"
	}
	return "`" + strings.Join(strings.Fields(s), " ") + "`"
}

// list writes words as prose: a, b and c.
func list(words []string, last string) string {
	const most = 40
	if len(words) > most {
		return strings.Join(words[:most], ", ") + fmt.Sprintf(" and %d more", len(words)-most)
	}
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " " + last + " " + words[len(words)-1]
}

// text decodes one word or phrase.
func (d *decoder) text(key string, n *document.Node) Text {
	if n.Kind != document.Scalar || strings.TrimSpace(n.Text) == "" {
		found := kind(n)
		if n.Kind == document.Scalar {
			found = "an empty text"
		}
		d.report(ruleValue, spot(n), fmt.Sprintf("%s: found %s, expected one text", quote(key), found), "")
		return Text{}
	}
	if truth(n) {
		d.report(ruleValue, n.Span, fmt.Sprintf("%s: found %s, expected a word or phrase", quote(key), quote(n.Text)), "")
		return Text{}
	}
	if gap(n.Text) {
		d.report(ruleValue, n.Span, fmt.Sprintf("%s: found %s, a gap that is still to be filled, expected one text", quote(key), quote(n.Text)), "")
		return Text{}
	}
	return Text{S: strings.TrimSpace(n.Text), Span: n.Span}
}

// gap reports a text of dots, which stands for what a writer has yet to say.
func gap(s string) bool { return strings.Trim(s, " .…") == "" && strings.ContainsAny(s, ".…") }

// truth reports whether YAML takes the value for true or false.
func truth(n *document.Node) bool {
	if n.Quoted {
		return false
	}
	switch n.Text {
	case "true", "True", "TRUE", "false", "False", "FALSE":
		return true
	}
	return false
}

// wordOrYes decodes a phrase for which a bare yes or no also stands.
func (d *decoder) wordOrYes(key string, n *document.Node) Text {
	if v, ok := n.Bool(); ok {
		return Text{S: map[bool]string{true: "yes", false: "no"}[v], Span: n.Span}
	}
	return d.text(key, n)
}

func (d *decoder) texts(key string, n *document.Node) (ts []Text) {
	d.notEmpty(key, n)
	d.each(n, func(item *document.Node) {
		if t := d.text(key, item); t.Is() {
			ts = append(ts, t)
		}
	})
	return ts
}

func (d *decoder) notEmpty(key string, n *document.Node) {
	if n.Kind == document.Sequence && len(n.Items) == 0 {
		d.report(ruleValue, spot(n), fmt.Sprintf("%s: found an empty list, expected at least one item", quote(key)), "write an item or take the key out")
	}
}

func (d *decoder) strings(key string, n *document.Node) (ss []string) {
	for _, t := range d.texts(key, n) {
		ss = append(ss, t.S)
	}
	return ss
}

// oneOf decodes a phrase that must be one of the words.
func (d *decoder) oneOf(key string, n *document.Node, words ...string) Text {
	t := d.text(key, n)
	if !t.Is() || slices.Contains(words, t.S) {
		return t
	}
	hint := ""
	if near := document.Nearest(t.S, words); near != "" {
		hint = ", did you mean " + quote(near) + "?"
	}
	d.report(ruleValue, n.Span, fmt.Sprintf("%s: found %s, expected %s%s", quote(key), quote(t.S), list(words, "or"), hint), "")
	return Text{}
}

func (d *decoder) yes(key string, n *document.Node) *bool {
	if v, ok := n.Bool(); ok {
		return &v
	}
	d.report(ruleValue, spot(n), fmt.Sprintf("%s: found %s, expected yes or no", quote(key), kind(n)), "write `"+key+": yes`")
	return nil
}

// date decodes a day, written 2030-09-30.
func (d *decoder) date(key string, n *document.Node) Text {
	t := d.text(key, n)
	if t.Is() && !isDate(t.S) {
		d.report(ruleValue, n.Span, fmt.Sprintf("%s: found %s, expected a day as year-month-day", quote(key), quote(t.S)), "for example `"+key+": 2030-09-30`")
		return Text{}
	}
	return t
}

// expects says which figures a key takes.
type expects struct {
	dims []quantity.Dimension
	// words are allowed in place of a figure, as long as they hold no digit
	// and so cannot be a figure gone wrong.
	words bool
	// settings allows the mark on a control: mantle setting 6.
	settings bool
	example  string
}

// figure decodes a quantity of one of the expected dimensions.
func (d *decoder) figure(key string, n *document.Node, x expects) *Figure {
	if n.Kind != document.Scalar || strings.TrimSpace(n.Text) == "" {
		d.report(ruleQuantity, spot(n), fmt.Sprintf("%s: found %s, expected %s", quote(key), kind(n), x.expected()), x.fix(key))
		return nil
	}
	if gap(n.Text) {
		d.report(ruleQuantity, n.Span, fmt.Sprintf("%s: found %s, a gap that is still to be filled, expected %s", quote(key), quote(n.Text), x.expected()), x.fix(key))
		return nil
	}
	return d.figureIn(key, n, 0, len(n.Text), x)
}

// figureIn decodes the bytes from start to end of a scalar's text.
func (d *decoder) figureIn(key string, n *document.Node, start, end int, x expects) *Figure {
	s := n.Text[start:end]
	q, err := quantity.ParseAs(s, x.dims...)
	if err == nil {
		return &Figure{Quantity: q, Span: d.within(n, start, end)}
	}
	if x.words && !truth(n) && (!strings.ContainsAny(s, "0123456789") || x.settings && settingMark.MatchString(s)) {
		s = strings.TrimSpace(s)
		return &Figure{Quantity: quantity.Quantity{Raw: s, Dim: quantity.Word, Word: s, Times: 1}, Span: d.within(n, start, end)}
	}
	if other, e := quantity.Parse(s); e == nil && !slices.Contains(x.dims, other.Dim) {
		found := other.Dim.String()
		if other.Dim == quantity.Count && other.Unit == "" {
			found = "a number without a unit"
		}
		d.report(ruleQuantity, d.within(n, start, end), fmt.Sprintf("%s: found %s, %s, expected %s", quote(key), quote(s), found, x.expected()), x.fix(key))
		return nil
	}
	d.badQuantity(key, n, start, end, err, x)
	return nil
}

var settingMark = regexp.MustCompile(`(?i)\bsetting\b`)

func (x expects) expected() string {
	var words []string
	for _, dim := range x.dims {
		if dim != quantity.Word {
			words = append(words, dim.String())
		}
	}
	if x.words {
		words = append(words, "words")
	}
	return list(words, "or")
}

func (x expects) fix(key string) string {
	if x.example == "" {
		return ""
	}
	return "for example `" + key + ": " + x.example + "`"
}

// badQuantity reports a text that quantity could not read, at the very byte.
func (d *decoder) badQuantity(key string, n *document.Node, start, end int, err error, x expects) {
	var qe *quantity.Error
	if !errors.As(err, &qe) {
		d.report(ruleQuantity, d.within(n, start, end), fmt.Sprintf("%s: %v", quote(key), err), x.fix(key))
		return
	}
	at := min(start+max(qe.At, 0), end)
	stop := min(at+len(qe.Found), end)
	found := "nothing more"
	switch {
	case qe.Found != "":
		found = quote(qe.Found)
	case qe.After != "" && len(qe.After) < 40:
		found = "nothing after " + quote(qe.After)
	}
	if qe.At == 0 && len(x.dims) > 2 {
		qe.Expected = x.expected()
	}
	if x.example == "" || (qe.Example != "" && len(x.dims) == 0) {
		x.example = qe.Example
	}
	d.report(ruleQuantity, d.within(n, at, stop), fmt.Sprintf("%s: found %s, expected %s", quote(key), found, qe.Expected), x.fix(key))
}

// within gives the place of a part of a scalar's text. Where the text is not
// in the source byte for byte (escapes, folded lines) it is the whole value.
func (d *decoder) within(n *document.Node, start, end int) finding.Span {
	sp := n.Span
	if sp.Start < 0 || sp.End > len(d.src) || sp.Start > sp.End {
		return sp
	}
	raw := string(d.src[sp.Start:sp.End])
	switch {
	case raw == n.Text:
	case n.Quoted && len(raw) == len(n.Text)+2 && raw[1:len(raw)-1] == n.Text:
		sp.Start++
	default:
		return sp
	}
	return finding.Span{Start: sp.Start + start, End: sp.Start + end}
}

// amount decodes an amount in all its expressions.
func (d *decoder) amount(key string, n *document.Node) *Amount {
	a := &Amount{Span: n.Span}
	var raws []string
	ok := true
	d.notEmpty(key, n)
	d.each(n, func(item *document.Node) {
		if item.Kind != document.Scalar || strings.TrimSpace(item.Text) == "" {
			d.report(ruleQuantity, spot(item), fmt.Sprintf("%s: found %s, expected an amount", quote(key), kind(item)), amountExample.fix(key))
			ok = false
			return
		}
		qs, good := d.amountIn(key, item, 0, len(item.Text))
		ok = ok && good
		a.All = append(a.All, qs...)
		raws = append(raws, strings.TrimSpace(item.Text))
	})
	if !ok || len(a.All) == 0 {
		return nil
	}
	a.Raw = strings.Join(raws, "; ")
	return a
}

var amountExample = expects{example: "75 g (71.5 mL, 0.5 mol)"}

func (d *decoder) amountIn(key string, n *document.Node, start, end int) ([]quantity.Quantity, bool) {
	s := n.Text[start:end]
	qs, err := quantity.ParseAll(s)
	if err != nil {
		d.badQuantity(key, n, start, end, err, amountExample)
		return nil, false
	}
	for _, q := range qs {
		switch q.Dim {
		case quantity.Mass, quantity.Volume, quantity.Amount, quantity.Equivalents, quantity.Fraction, quantity.Word:
		case quantity.Length:
			// Ribbon and wire go by length, but mm is more often a slip for mL.
			if strings.HasSuffix(q.Unit, "mm") {
				d.report(ruleQuantity, d.within(n, start, end), fmt.Sprintf("%s: found %s, a length, expected an amount", quote(key), quote(s)), "write mL if a volume is meant, or cm for the length of a ribbon")
				return nil, false
			}
		case quantity.Count:
			// "3" alone is a gram to one reader and a piece to the next;
			// nobody writes grams as "two".
			if q.Unit == "" && strings.ContainsAny(q.Raw, "0123456789") {
				d.report(ruleQuantity, d.within(n, start, end), fmt.Sprintf("%s: found %s, a number without a unit, expected an amount", quote(key), quote(s)), "for example `"+key+": 3 g` or `"+key+": 3 pieces`")
				return nil, false
			}
		default:
			d.report(ruleQuantity, d.within(n, start, end), fmt.Sprintf("%s: found %s, %s, expected an amount", quote(key), quote(s), q.Dim), amountExample.fix(key))
			return nil, false
		}
	}
	return qs, len(qs) > 0
}

// distinct reports a name that two rows share: a step could mean either.
func (d *decoder) distinct(p *Procedure) {
	type row struct {
		name Text
		what string
	}
	seen := make(map[string]row, len(p.Materials)+len(p.Apparatus))
	add := func(r row) {
		k := strings.ToLower(strings.Join(strings.Fields(r.name.S), " "))
		if first, ok := seen[k]; ok {
			d.report(ruleName, r.name.Span, fmt.Sprintf("%s names %s and %s: a step that says it could mean either", quote(r.name.S), first.what, r.what), "give one of them another name",
				finding.Related{Span: first.name.Span, Message: "it is first used here"})
			return
		}
		seen[k] = r
	}
	for _, m := range p.Materials {
		add(row{m.Name, "a material"})
	}
	for _, a := range p.Apparatus {
		add(row{a.Name, "a piece of apparatus"})
	}
}

// stepNumbers reports acceptances of steps that do not exist.
func (d *decoder) stepNumbers(p *Procedure) {
	for _, a := range p.Accepted {
		if a.Step > len(p.Steps) {
			d.report(ruleValue, a.Span, fmt.Sprintf("found a deviation at step %d, but the procedure has %d steps", a.Step, len(p.Steps)), "")
		}
	}
}
