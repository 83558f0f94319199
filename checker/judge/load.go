package judge

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"reflect"
	"slices"
	"strings"
	"sync"

	"github.com/google/cel-go/common/types"

	"ketyl/checker/document"
	"ketyl/checker/finding"
	"ketyl/checker/quantity"
)

// Families are the promised families of rules; an id is family/name.
var Families = []string{
	"drying", "exclusion", "addition", "pressure", "heat", "quench", "workup", "waste", "caution", "amounts",
	"equipment", "storage", "cryogen", "timing", "contact", "knowledge", "format",
}

var (
	sourceKinds = []string{"published", "common practice", "from memory"}
	bases       = []string{"published", "derived", "practice", "site-set"}
	levelWords  = []string{string(finding.Hold), string(finding.Revise), string(finding.Advise)}
)

// The shapes of a rule file.
type (
	fileShape struct {
		Family *document.Node `yaml:"family,required"`
		Bases  []struct {
			Key   string
			Value *document.Node
		} `yaml:"bases,ordered"`
		Rules []*document.Node `yaml:"rules,required"`
	}

	ruleShape struct {
		Span   finding.Span   `yaml:",span"`
		ID     *document.Node `yaml:"id,required"`
		Level  *document.Node `yaml:"level,required"`
		Levels []struct {
			When  *document.Node `yaml:"when,required"`
			Level *document.Node `yaml:"level,required"`
		} `yaml:"levels"`
		Over          *document.Node `yaml:"over,required"`
		When          *document.Node `yaml:"when"`
		Require       *document.Node `yaml:"require,required"`
		Say           *document.Node `yaml:"say,required"`
		Ask           *document.Node `yaml:"ask"`
		CannotTell    *document.Node `yaml:"cannot tell"`
		SilentBecause string         `yaml:"silent because"`
		Limits        []struct {
			Key     string
			KeySpan finding.Span
			Value   limitShape
		} `yaml:"limits,ordered"`
		Because *document.Node `yaml:"because,required"`
		Why     *document.Node `yaml:"why"`
		Fix     *document.Node `yaml:"fix,required"`
		Explain string         `yaml:"explain"`
		Source  []sourceShape  `yaml:"source,required"`
		Danger  *document.Node `yaml:"danger"`
		Mode    []string       `yaml:"mode"`
		Once    bool           `yaml:"once"`
		OnceFor *document.Node `yaml:"once for"`
		Cause   *document.Node `yaml:"cause"`
		Figures []struct {
			Key   string
			Value *document.Node
		} `yaml:"figures,ordered"`
		Good []exampleShape `yaml:"good"`
		Bad  []exampleShape `yaml:"bad"`
	}

	limitShape struct {
		Value  *document.Node `yaml:"value,required"`
		Unit   string         `yaml:"unit"`
		As     string         `yaml:"as"`
		Basis  *document.Node `yaml:"basis,required"`
		Source string         `yaml:"source,required"`
	}

	sourceShape struct {
		Cite    string         `yaml:"cite,required"`
		Kind    *document.Node `yaml:"kind,required"`
		Address string         `yaml:"address"`
	}
)

// rule is one compiled rule. It never changes after Load.
type rule struct {
	doc     Rule
	file    *document.File
	span    finding.Span // of its id
	node    *document.Node
	trusted bool

	when, require *expression // when is nil when the rule always applies
	bands         []band
	say, ask, fix *template
	why           *template // nil where the reason is the same whatever is found
	cause         *expression
	onceFor       *expression
	listed        []figureOf // figures that the rule lists
	limits        limitValues

	settled sync.Once
	figures []figureOf // figures of its findings
	applied []int      // limits that the message names, as indexes of doc.Limits

	// examples reads the rule's examples: at load when they are not trusted,
	// else when they are first asked for.
	examples func() (*examples, []finding.Finding)
}

type band struct {
	when  *expression
	level finding.Level
}

// figureOf is one figure of a rule's findings.
type figureOf struct {
	name   string
	value  *expression
	listed bool // named by the rule; else taken from what it reads
}

// Load reads all rule files (*.yaml, *.yml) in dir and the folders in it,
// other than reference. Rules of a trusted folder run without a cost limit.
// Every fault is a finding of outcome unread whose message begins with
// file:line:column; a rule with a fault is left out, the others are loaded.
func Load(fsys fs.FS, dir string, trusted bool) (*Set, []finding.Finding) {
	var names []string
	var fs1 []finding.Finding
	err := fs.WalkDir(fsys, dir, func(name string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && name != dir && (d.Name() == "reference" || strings.HasPrefix(d.Name(), ".")):
			return fs.SkipDir
		case !d.IsDir() && !strings.HasPrefix(d.Name(), ".") && (path.Ext(name) == ".yaml" || path.Ext(name) == ".yml"):
			names = append(names, name)
		}
		return nil
	})
	if err != nil {
		fs1 = append(fs1, unread("rules/folder", finding.Span{}, fmt.Sprintf("the folder of rules cannot be read: %v", err)))
	} else if len(names) == 0 {
		fs1 = append(fs1, unread("rules/folder", finding.Span{}, fmt.Sprintf("found no rule file in %s, expected one that ends in .yaml", dir)))
	}
	type result struct {
		rules    []*rule
		findings []finding.Finding
	}
	results := make([]result, len(names))
	var group sync.WaitGroup
	for i, name := range names {
		group.Go(func() {
			b, err := fs.ReadFile(fsys, name)
			if err != nil {
				results[i].findings = []finding.Finding{unread("rules/folder", finding.Span{}, fmt.Sprintf("%s cannot be read: %v", name, err))}
				return
			}
			l := readFile(name, b, trusted)
			results[i] = result{l.rules, l.findings}
		})
	}
	group.Wait()
	var rules []*rule
	first := map[string]*rule{}
	for _, r := range results {
		fs1 = append(fs1, r.findings...)
		for _, r := range r.rules {
			if before := first[r.doc.ID]; before != nil {
				l := &loader{file: r.file}
				line, column := before.file.Source.Position(before.span.Start)
				l.report("rules/id", r.span, "found the id %s a second time, expected each once: it is first used at %s:%d:%d", r.doc.ID, before.file.Source.Name, line, column)
				fs1 = append(fs1, l.findings...)
				continue
			}
			first[r.doc.ID] = r
			rules = append(rules, r)
		}
	}
	active := make([]activeRule, len(rules))
	for i, r := range rules {
		active[i] = activeRule{rule: r, limits: &r.limits}
	}
	return newSet(active), fs1
}

// readFile reads one file. Of a trusted one, which its own tests check, the
// examples are left for later, as they are most of its text, and so is the
// compiling of its expressions. A trusted file with any fault that shows
// without them is read in full. Asking for its examples reads it in full and
// finds every fault.
func readFile(name string, b []byte, trusted bool) *loader {
	if trusted {
		l := &loader{trusted: true, lazy: true}
		if l.read(name, withoutExamples(b)); len(l.findings) == 0 {
			full := sync.OnceValue(func() *loader {
				l := &loader{trusted: true}
				l.read(name, b)
				return l
			})
			for i, r := range l.rules {
				r.examples = func() (*examples, []finding.Finding) {
					l := full()
					if len(l.findings) > 0 {
						return nil, l.findings
					}
					if i >= len(l.rules) || !reflect.DeepEqual(l.rules[i].doc, r.doc) {
						l.report("rules/format", r.span, "the rule %s reads differently without its examples, expected `good:` and `bad:` as keys of their own lines", r.doc.ID)
						return nil, l.findings
					}
					return l.rules[i].examples()
				}
			}
			return l
		}
	}
	l := &loader{trusted: trusted}
	l.read(name, b)
	return l
}

// withoutExamples blanks out the values of bases, good and bad, byte for byte,
// so that every place stays where it is.
func withoutExamples(b []byte) []byte {
	out := slices.Clone(b)
	key := -1    // column of the keys of a rule
	hidden := -1 // column of the key whose value is being blanked
	for start := 0; start < len(out); {
		end := start + bytes.IndexByte(out[start:], '\n')
		if end < start {
			end = len(out)
		}
		line := out[start:end]
		indent := len(line) - len(bytes.TrimLeft(line, " "))
		words := line[indent:]
		if hidden >= 0 && len(words) > 0 {
			item := bytes.HasPrefix(words, []byte("- "))
			if indent < hidden || indent == hidden && !item {
				hidden = -1
			}
		}
		if hidden >= 0 {
			for i := range line {
				line[i] = ' '
			}
			start = end + 1
			continue
		}
		if rest, ok := bytes.CutPrefix(words, []byte("- id:")); ok && len(rest) > 0 {
			key = indent + 2
		}
		base := indent == 0 && bytes.HasPrefix(words, []byte("bases:"))
		example := indent == key && (bytes.HasPrefix(words, []byte("good:")) || bytes.HasPrefix(words, []byte("bad:")))
		if base || example {
			hidden = indent
			for i := indent + bytes.IndexByte(words, ':') + 1; i < len(line); i++ {
				line[i] = ' '
			}
		}
		start = end + 1
	}
	return out
}

func unread(id string, at finding.Span, message string) finding.Finding {
	return finding.Finding{Rule: id, Level: finding.Hold, Outcome: finding.Unread, Span: at, Message: message}
}

// loader reads one file.
type loader struct {
	trusted  bool
	lazy     bool // leave expressions to be compiled when they are needed
	file     *document.File
	family   string
	bases    map[string]*document.Node
	rules    []*rule
	findings []finding.Finding
}

func (l *loader) report(id string, at finding.Span, format string, args ...any) {
	line, column := l.file.Source.Position(at.Start)
	message := fmt.Sprintf("%s:%d:%d: ", l.file.Source.Name, line, column) + fmt.Sprintf(format, args...)
	l.findings = append(l.findings, unread(id, at, message))
}

// adopt takes findings of the document package over.
func (l *loader) adopt(fs []finding.Finding) {
	for _, f := range fs {
		l.report("rules/format", f.Span, "%s", f.Message)
		l.findings[len(l.findings)-1].Fix = f.Fix
		l.findings[len(l.findings)-1].Related = f.Related
	}
}

func (l *loader) read(name string, b []byte) {
	var fs []finding.Finding
	l.file, fs = document.Read(name, b)
	l.adopt(fs)
	if l.file.Root == nil {
		return
	}
	var shape fileShape
	l.adopt(document.Decode(l.file, l.file.Root, &shape))
	if shape.Family == nil {
		return
	}
	l.family = shape.Family.Text
	if !slices.Contains(Families, l.family) {
		l.report("rules/family", shape.Family.Span, "found the family `%s`%s", l.family, meant(l.family, Families))
		return
	}
	l.bases = map[string]*document.Node{}
	for _, base := range shape.Bases {
		l.bases[base.Key] = base.Value
	}
	for _, n := range shape.Rules {
		if r := l.rule(n); r != nil {
			l.rules = append(l.rules, r)
		}
	}
}

// word checks a word against a list.
func (l *loader) word(n *document.Node, what string, among []string) string {
	if n == nil {
		return ""
	}
	if n.Kind != document.Scalar || !slices.Contains(among, n.Text) {
		l.report("rules/format", n.Span, "found the %s `%s`%s", what, n.Text, meant(n.Text, among))
		return ""
	}
	return n.Text
}

// expression compiles one expression; nil for none or one with a fault.
func (l *loader) expression(kind string, n *document.Node, limits []string, want ...factKind) *expression {
	if n == nil || n.Kind == document.Null {
		return nil
	}
	if n.Kind != document.Scalar {
		l.report("rules/expression", n.Span, "found %s, expected an expression", n.Kind)
		return nil
	}
	at := place{file: l.file, node: n}
	x := &expression{over: kind, source: n.Text, place: at, known: limits, want: want, capped: !l.trusted}
	if !l.lazy {
		l.faults("rules/expression", at, x.compile())
	}
	return x
}

func (l *loader) template(kind string, n *document.Node, limits []string) *template {
	if n == nil || n.Kind == document.Null {
		return nil
	}
	if n.Kind != document.Scalar {
		l.report("rules/template", n.Span, "found %s, expected a text with {expressions} in it", n.Kind)
		return nil
	}
	at := place{file: l.file, node: n}
	t, fs := parseTemplate(kind, at, limits, l.trusted, l.lazy)
	l.faults("rules/template", at, fs)
	return t
}

func (l *loader) faults(id string, at place, fs []fault) {
	for _, f := range fs {
		l.report(id, at.span(f.from, f.to), "%s", f.message)
	}
}

// rule reads and compiles one rule; nil when it has a fault.
func (l *loader) rule(n *document.Node) *rule {
	before := len(l.findings)
	var s ruleShape
	l.adopt(document.Decode(l.file, n, &s))
	if len(l.findings) > before {
		return nil
	}
	r := &rule{
		file: l.file, span: s.ID.Span, trusted: l.trusted, node: n,
	}
	ex := &examples{file: l.file, bases: l.bases, good: s.Good, bad: s.Bad}
	r.examples = func() (*examples, []finding.Finding) { return ex, nil }
	d := &r.doc
	d.ID, d.Family, d.File = s.ID.Text, l.family, l.file.Source.Name
	d.Line, d.Column = l.file.Source.Position(s.ID.Span.Start)
	if family, name, ok := strings.Cut(d.ID, "/"); !ok || name == "" || !plainName(name) {
		l.report("rules/id", s.ID.Span, "found the id `%s`, expected %s/name in small letters, figures and hyphens", d.ID, l.family)
	} else if family != l.family {
		l.report("rules/id", s.ID.Span, "found the id `%s` in a file of the family %s, expected %s/%s", d.ID, l.family, l.family, name)
	}
	d.Level = finding.Level(l.word(s.Level, "level", levelWords))
	d.Over = l.word(s.Over, "kind of event", vocab.sorted)
	d.Explain, d.Modes, d.Once = s.Explain, s.Mode, s.Once
	d.Because = l.prose(s.Because, "because")
	l.cannotTell(&s, d)
	l.danger(&s, d)
	for _, c := range s.Source {
		d.Sources = append(d.Sources, Source{Cite: c.Cite, Kind: l.word(c.Kind, "kind of source", sourceKinds), Address: c.Address})
	}
	if len(s.Source) == 0 {
		l.report("rules/format", s.ID.Span, "the rule has an empty `source`, expected at least one")
	}
	limits := l.limits(&s, r)
	if d.Over == "" {
		return nil
	}
	r.when = l.expression(d.Over, s.When, limits, truth)
	r.require = l.expression(d.Over, s.Require, limits, truth)
	for _, b := range s.Levels {
		r.bands = append(r.bands, band{l.expression(d.Over, b.When, limits, truth), finding.Level(l.word(b.Level, "level", levelWords))})
	}
	r.say = l.template(d.Over, s.Say, limits)
	r.ask = l.template(d.Over, s.Ask, limits)
	r.fix = l.template(d.Over, s.Fix, limits)
	r.why = l.template(d.Over, s.Why, limits)
	r.cause = l.expression(d.Over, s.Cause, limits, text)
	r.onceFor = l.expression(d.Over, s.OnceFor, limits, text)
	for _, f := range s.Figures {
		if x := l.expression(d.Over, f.Value, limits, anything...); x != nil {
			r.listed = append(r.listed, figureOf{f.Key, x, true})
		}
	}
	l.examples(ex)
	if len(l.findings) > before {
		return nil
	}
	if s.When != nil {
		d.When = strings.TrimSpace(s.When.Text)
	}
	d.Require, d.Say, d.Fix = strings.TrimSpace(s.Require.Text), s.Say.Text, s.Fix.Text
	if s.Ask != nil {
		d.Ask = s.Ask.Text
	}
	if l.lazy {
		return r
	}
	for i, limit := range d.Limits {
		if !slices.ContainsFunc(r.all(), func(x *expression) bool { return slices.Contains(x.limits, limit.Name) }) {
			l.report("rules/limit", s.Limits[i].KeySpan, "no expression of the rule reads limit.%s, expected each limit to be used", limit.Name)
		}
	}
	if len(l.findings) > before {
		return nil
	}
	return r
}

func plainName(s string) bool {
	return strings.Trim(s, "abcdefghijklmnopqrstuvwxyz0123456789-") == "" && strings.Trim(s, "-") == s
}

// prose takes a text that must not be empty.
func (l *loader) prose(n *document.Node, key string) string {
	if n.Kind != document.Scalar || strings.TrimSpace(n.Text) == "" {
		l.report("rules/format", n.Span, "found %s for `%s`, expected a sentence", n.Kind, key)
	}
	return strings.TrimSpace(n.Text)
}

func (l *loader) cannotTell(s *ruleShape, d *Rule) {
	if s.CannotTell == nil {
		return
	}
	word := l.word(s.CannotTell, "level", append(slices.Clone(levelWords), "silent"))
	switch {
	case word == "silent" && s.SilentBecause == "":
		l.report("rules/format", s.CannotTell.Span, "found `cannot tell: silent` without a reason, expected `silent because: …` beside it")
	case word != "silent" && s.SilentBecause != "":
		l.report("rules/format", s.CannotTell.Span, "found `silent because`, expected it only beside `cannot tell: silent`")
	}
	d.CannotTell, d.SilentBecause = finding.Level(word), s.SilentBecause
}

func (l *loader) danger(s *ruleShape, d *Rule) {
	if s.Danger == nil {
		return
	}
	v, ok := s.Danger.Number()
	if !ok || v < 0 || v > 10 {
		l.report("rules/format", s.Danger.Span, "found the danger `%s`, expected a number from 0 to 10", s.Danger.Text)
	}
	d.Danger = v
}

// limits reads the limits of a rule and gives their names, never nil.
func (l *loader) limits(s *ruleShape, r *rule) []string {
	names := []string{}
	for _, e := range s.Limits {
		v, ok := e.Value.Value.Number()
		if !ok {
			l.report("rules/limit", e.Value.Value.Span, "found the value `%s` of limit %s, expected a plain number like 5 or 0.5; its unit goes under `unit`", e.Value.Value.Text, e.Key)
		}
		if strings.TrimSpace(e.Value.Source) == "" {
			l.report("rules/limit", e.KeySpan, "the limit %s has no source", e.Key)
		}
		if strings.Trim(e.Key, "abcdefghijklmnopqrstuvwxyz0123456789_") != "" || e.Key == "" {
			l.report("rules/limit", e.KeySpan, "found the limit `%s`, expected a name in small letters with _ between words", e.Key)
		}
		limit := Limit{Name: e.Key, Value: v, Unit: e.Value.Unit, As: e.Value.As, Basis: l.word(e.Value.Basis, "basis", bases), Source: e.Value.Source}
		limit.Set = l.owner(limit.Basis)
		r.doc.Limits = append(r.doc.Limits, limit)
		r.limits.names = append(r.limits.names, e.Key)
		r.limits.values = append(r.limits.values, types.Double(v))
		names = append(names, e.Key)
	}
	return names
}

// owner says whose limit it is.
func (l *loader) owner(basis string) string {
	who := "ketyl default"
	if !l.trusted {
		who = "rule file " + path.Base(l.file.Source.Name)
	}
	switch basis {
	case "practice":
		basis = "common practice"
	case "site-set":
		basis = "to be set by the site"
	}
	return who + ", " + basis
}

// text writes a limit with its unit.
func (l Limit) text() string {
	s := quantity.FormatNumber(l.Value)
	if l.Unit != "" {
		s += " " + l.Unit
	}
	return s
}

// all are the rule's expressions that may read limits.
func (r *rule) all() []*expression {
	var xs []*expression
	for _, x := range []*expression{r.when, r.require, r.cause, r.onceFor} {
		if x != nil {
			xs = append(xs, x)
		}
	}
	for _, b := range r.bands {
		xs = append(xs, b.when)
	}
	for _, f := range r.listed {
		xs = append(xs, f.value)
	}
	for _, t := range []*template{r.say, r.ask, r.fix, r.why} {
		xs = append(xs, t.expressions()...)
	}
	return xs
}

// limitsSaid are the limits that a message may name: those that what is required
// is measured against; where it is measured against none, those that decide
// whether the rule applies. One that only keeps traces out is not named.
func (r *rule) limitsSaid() (said []int) {
	for i, limit := range r.doc.Limits {
		if slices.Contains(r.require.limits, limit.Name) {
			said = append(said, i)
		}
	}
	if len(said) > 0 || r.when == nil {
		return said
	}
	for i, limit := range r.doc.Limits {
		if slices.Contains(r.when.limits, limit.Name) && !strings.HasPrefix(limit.Name, "trace") && !strings.HasPrefix(limit.Name, "small") {
			said = append(said, i)
		}
	}
	return said
}

// settle finds once which figures and limits the findings carry. Where the
// rule lists figures, those it reads without listing them are kept too, for
// the case that the bench assumed them.
func (r *rule) settle() {
	r.settled.Do(func() {
		judged := []*expression{r.require}
		if r.when != nil {
			judged = []*expression{r.when, r.require}
		}
		for _, x := range judged {
			x.compile()
		}
		r.applied = r.limitsSaid()
		listed := len(r.listed) > 0
		r.figures = slices.Clone(r.listed)
		taken := map[string]bool{}
		for _, f := range r.listed {
			if f.value.compile(); f.value.direct != nil {
				taken[f.value.direct.name] = true
			}
		}
		if !listed {
			judged = append(judged, r.say.expressions()...)
		}
		for _, x := range judged {
			x.compile()
			for _, p := range x.paths {
				if numeric := p.last.kind == figure || !listed && p.last.kind == number; !numeric || taken[p.name] {
					continue
				}
				taken[p.name] = true
				direct := &expression{over: r.doc.Over, source: "event." + p.name, want: anything}
				r.figures = append(r.figures, figureOf{strings.ReplaceAll(p.name, ".", "_"), direct, !listed})
			}
		}
	})
}

// isUnknown reports whether an evaluation failed for an unknown figure.
func isUnknown(err error) bool {
	_, ok := errors.AsType[*unknown](err)
	return ok
}
