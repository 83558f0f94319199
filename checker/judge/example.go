package judge

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/google/cel-go/cel"
	"github.com/google/cel-go/common/ast"
	"github.com/google/cel-go/common/types"
	"github.com/google/cel-go/common/types/ref"

	"ketyl/checker/bench"
	"ketyl/checker/document"
	"ketyl/checker/finding"
)

// exampleShape is one self-test of a rule: a procedure, mostly a base with
// changes, and what the rule must say of it.
type exampleShape struct {
	Span      finding.Span   `yaml:",span"`
	Name      string         `yaml:"name,required"`
	Base      *document.Node `yaml:"base"`
	Procedure *document.Node `yaml:"procedure"`
	Drop      []int          `yaml:"drop"`
	Change    []struct {
		Key     string
		KeySpan finding.Span
		Value   *document.Node
	} `yaml:"change,ordered"`
	Insert []struct {
		Span   finding.Span     `yaml:",span"`
		Before int              `yaml:"before"`
		After  int              `yaml:"after"`
		Step   []*document.Node `yaml:"step,required"`
	} `yaml:"insert"`
	Step    *document.Node `yaml:"step"`
	Figures []struct {
		Key   string
		Value *document.Node
	} `yaml:"figures,ordered"`
	Outcome *document.Node `yaml:"outcome"`
	Level   *document.Node `yaml:"level"`
	Say     string         `yaml:"say"`
	Idle    bool           `yaml:"idle"`
}

// examples are the self-tests of a rule, with the base procedures of its file.
type examples struct {
	file      *document.File
	bases     map[string]*document.Node
	good, bad []exampleShape
}

// defaultTolerance is how far a figure may be from the one expected, as a
// share of it, where the example states no tolerance.
const defaultTolerance = 0.05

var outcomeWords = []string{string(finding.Broken), string(finding.CannotTell)}

// examples checks what of a rule's examples can be checked without playing
// them.
func (l *loader) examples(x *examples) {
	names := map[string]bool{}
	check := func(e *exampleShape, bad bool) {
		if names[e.Name] {
			l.report("rules/example", e.Span, "found the example `%s` a second time, expected each name once", e.Name)
		}
		names[e.Name] = true
		if e.Base != nil && l.bases[e.Base.Text] == nil {
			var known []string
			for name := range l.bases {
				known = append(known, name)
			}
			slices.Sort(known)
			l.report("rules/example", e.Base.Span, "found the base `%s`%s", e.Base.Text, meant(e.Base.Text, known))
		}
		if e.Base == nil && e.Procedure == nil {
			l.report("rules/example", e.Span, "the example `%s` has neither `base` nor `procedure`, expected one or both", e.Name)
		}
		l.word(e.Outcome, "outcome", outcomeWords)
		l.word(e.Level, "level", levelWords)
		for _, f := range e.Figures {
			if _, err := parseWanted(f.Value); err != nil {
				l.report("rules/example", f.Value.Span, "%v", err)
			}
		}
		if e.Step != nil {
			if _, _, err := parseStep(e.Step.Text); err != nil {
				l.report("rules/example", e.Step.Span, "%v", err)
			}
		}
		switch {
		case bad && e.Idle:
			l.report("rules/example", e.Span, "found `idle` in the bad example `%s`, expected it only in good ones", e.Name)
		case !bad && (e.Step != nil || e.Outcome != nil || e.Level != nil || e.Figures != nil || e.Say != ""):
			l.report("rules/example", e.Span, "the good example `%s` says what the rule finds, expected that only of bad ones", e.Name)
		}
	}
	for i := range x.good {
		check(&x.good[i], false)
	}
	for i := range x.bad {
		check(&x.bad[i], true)
	}
}

// parseStep reads the step of an example: 3, inserted, or inserted 2.
func parseStep(s string) (n int, inserted bool, err error) {
	rest, inserted := strings.CutPrefix(s, "inserted")
	rest = strings.TrimSpace(rest)
	if inserted && rest == "" {
		return 1, true, nil
	}
	n, err = strconv.Atoi(rest)
	if err != nil || n < 0 || inserted && n == 0 {
		return 0, false, fmt.Errorf("found the step `%s`, expected a number of the base's numbering, or `inserted 2` for the second inserted step", s)
	}
	return n, inserted, nil
}

// wanted is a figure that an example expects.
type wanted struct {
	value     any // float64, string, bool or []string
	tolerance float64
}

// parseWanted reads 12.3, 12.3 ± 0.5, 12.3 ± 2 %, a text, or yes or no.
func parseWanted(n *document.Node) (wanted, error) {
	if n.Kind == document.Sequence {
		var words []string
		for _, item := range n.Items {
			words = append(words, item.Text)
		}
		return wanted{value: words}, nil
	}
	if n.Kind != document.Scalar {
		return wanted{}, fmt.Errorf("found %s, expected a figure like 12.3 or 12.3 ± 0.5", n.Kind)
	}
	if v, ok := n.Number(); ok {
		return wanted{v, math.Abs(v) * defaultTolerance}, nil
	}
	if before, after, ok := strings.Cut(n.Text, "±"); ok {
		v, err := strconv.ParseFloat(strings.TrimSpace(before), 64)
		share, percent := strings.CutSuffix(strings.TrimSpace(after), "%")
		t, err2 := strconv.ParseFloat(strings.TrimSpace(share), 64)
		if err != nil || err2 != nil || !(t >= 0) {
			return wanted{}, fmt.Errorf("found the figure `%s`, expected something like 12.3 ± 0.5 or 12.3 ± 2 %%", n.Text)
		}
		if percent {
			t *= math.Abs(v) / 100
		}
		return wanted{v, t}, nil
	}
	if v, ok := n.Bool(); ok && !n.Quoted {
		return wanted{value: v}, nil
	}
	return wanted{value: n.Text}, nil
}

func (w wanted) fits(v any) bool {
	switch want := w.value.(type) {
	case float64:
		got, ok := v.(float64)
		return ok && math.Abs(got-want) <= w.tolerance+1e-12
	case []string:
		got, ok := v.([]string)
		return ok && slices.Equal(got, want)
	}
	return v == w.value
}

// played is an example's procedure, with the numbers of its steps.
type played struct {
	root     *document.Node
	base     []int // by step: its number in the base, 0 when inserted
	inserted []int // step numbers of the inserted steps, in order of writing
}

// build makes an example's procedure.
func (x *examples) build(id string, e *exampleShape) (*played, error) {
	fail := func(at finding.Span, format string, args ...any) error {
		line, column := x.file.Source.Position(at.Start)
		return fmt.Errorf("%s:%d:%d: %s", x.file.Source.Name, line, column, fmt.Sprintf(format, args...))
	}
	root := &document.Node{Kind: document.Mapping}
	slug := strings.ReplaceAll(id, "/", "-")
	for _, kv := range [][2]string{{"procedure", slug}, {"title", e.Name}, {"format", "1"}, {"setting", "teaching"}} {
		root.Set(kv[0], &document.Node{Kind: document.Scalar, Text: kv[1], Quoted: kv[0] == "title"})
	}
	if e.Base != nil {
		base := x.bases[e.Base.Text]
		if base.Kind != document.Mapping {
			return nil, fail(base.Span, "the base `%s` is %s, expected keys of a procedure", e.Base.Text, base.Kind)
		}
		merge(root, base)
	}
	if e.Procedure != nil {
		if e.Procedure.Kind != document.Mapping {
			return nil, fail(e.Procedure.Span, "`procedure` is %s, expected keys of a procedure", e.Procedure.Kind)
		}
		merge(root, e.Procedure)
	}
	steps := root.Get("steps")
	if steps == nil || steps.Kind != document.Sequence {
		return nil, fail(e.Span, "the example `%s` has no list of steps", e.Name)
	}
	old := steps.Items
	known := func(n int, at finding.Span) error {
		if n < 1 || n > len(old) {
			return fail(at, "found step %d, expected one of the base's steps 1 to %d", n, len(old))
		}
		return nil
	}
	gone := map[int]bool{}
	for _, n := range e.Drop {
		if err := known(n, e.Span); err != nil {
			return nil, err
		}
		gone[n] = true
	}
	for _, c := range e.Change {
		n, err := strconv.Atoi(c.Key)
		if err != nil {
			return nil, fail(c.KeySpan, "found `%s` under change, expected the number of a step", c.Key)
		}
		if err := known(n, c.KeySpan); err != nil {
			return nil, err
		}
		if gone[n] {
			return nil, fail(c.KeySpan, "step %d is both dropped and changed", n)
		}
		if c.Value.Kind != document.Mapping || old[n-1].Kind != document.Mapping {
			return nil, fail(c.KeySpan, "the change of step %d is %s, expected keys with values", n, c.Value.Kind)
		}
		merge(old[n-1], c.Value)
	}
	before := map[int][]*document.Node{} // by base step that follows
	var order []*document.Node
	for _, in := range e.Insert {
		n := in.Before
		if (in.Before == 0) == (in.After == 0) {
			return nil, fail(in.Span, "expected either `before` or `after` a step of the base")
		}
		if n == 0 {
			n = in.After
		}
		if err := known(n, in.Span); err != nil {
			return nil, err
		}
		if in.After != 0 {
			n++
		}
		for _, step := range in.Step {
			c := step.Clone()
			order = append(order, c)
			before[n] = append(before[n], c)
		}
	}
	p := &played{root: root}
	var items []*document.Node
	for n := 1; n <= len(old)+1; n++ {
		for _, c := range before[n] {
			items = append(items, c)
			p.base = append(p.base, 0)
		}
		if n <= len(old) && !gone[n] {
			items = append(items, old[n-1])
			p.base = append(p.base, n)
		}
	}
	for _, c := range order {
		p.inserted = append(p.inserted, slices.Index(items, c)+1)
	}
	steps.Items = items
	return p, nil
}

// merge puts the entries of from over those of into: mappings key by key, any
// other value in place of the old one; an empty value removes its key.
func merge(into, from *document.Node) {
	for _, e := range from.Entries {
		old := into.Get(e.Key.Text)
		switch {
		case e.Value.Kind == document.Null:
			into.Delete(e.Key.Text)
		case old != nil && old.Kind == document.Mapping && e.Value.Kind == document.Mapping:
			merge(old, e.Value)
		default:
			into.Set(e.Key.Text, e.Value.Clone())
		}
	}
}

// stepName names a step of an example, with its number in the base.
func (p *played) stepName(n int) string {
	switch {
	case n == 0:
		return "no step"
	case n > len(p.base):
		return fmt.Sprintf("step %d", n)
	case p.base[n-1] == 0:
		return fmt.Sprintf("step %d (inserted %d)", n, slices.Index(p.inserted, n)+1)
	case p.base[n-1] != n:
		return fmt.Sprintf("step %d (%d of the base)", n, p.base[n-1])
	}
	return fmt.Sprintf("step %d", n)
}

// stepOf gives the number of the step that an example names.
func (p *played) stepOf(n int, inserted bool) (int, error) {
	switch {
	case inserted && n <= len(p.inserted):
		return p.inserted[n-1], nil
	case inserted:
		return 0, fmt.Errorf("expects it at inserted step %d, but %d are inserted", n, len(p.inserted))
	case n == 0:
		return 0, nil
	}
	i := slices.Index(p.base, n)
	if i < 0 {
		return 0, fmt.Errorf("expects it at step %d, which the example does not have", n)
	}
	return i + 1, nil
}

// Player plays a procedure on the bench: it gives the events, and the findings
// of the stages before it.
type Player func(name string, procedure []byte) ([]bench.Event, []finding.Finding)

// TestResult is the outcome of one example.
type TestResult struct {
	Rule, Example string
	Kind          string // good | bad
	OK            bool
	Got           string // when not OK: what was expected, what happened instead, with the values of the rule's conditions
	File          string
	Line          int
}

// Test plays the rules' examples. A good one must have an event of the rule's
// kind and must not fire the rule; a bad one must fire it as it says, by
// default with the outcome broken. Other rules do not matter. Levels and
// limits are those of the rule file. Only, when not empty, is a rule id or a
// family.
func (s *Set) Test(play Player, only string) []TestResult {
	var results []TestResult
	for i := range s.rules {
		r := s.rules[i].rule
		if only != "" && only != r.doc.ID && only != r.doc.Family {
			continue
		}
		alone := newSet([]activeRule{{rule: r, limits: &r.limits}})
		x, fs := r.examples()
		if len(fs) > 0 {
			results = append(results, TestResult{
				Rule: r.doc.ID, Example: "all", Kind: "bad", Got: messages(fs), File: r.doc.File, Line: r.doc.Line,
			})
			continue
		}
		run := func(kind string, e *exampleShape) {
			line, _ := x.file.Source.Position(e.Span.Start)
			got := alone.example(play, r, x, kind, e)
			results = append(results, TestResult{
				Rule: r.doc.ID, Example: e.Name, Kind: kind, OK: got == "", Got: got, File: r.doc.File, Line: line,
			})
		}
		for i := range x.good {
			run("good", &x.good[i])
		}
		for i := range x.bad {
			run("bad", &x.bad[i])
		}
	}
	return results
}

func messages(fs []finding.Finding) string {
	lines := make([]string, len(fs))
	for i, f := range fs {
		lines[i] = f.Message
	}
	return strings.Join(lines, "\n")
}

// example plays one example of the set's only rule, and says what is wrong;
// nothing when it is as it should be.
func (s *Set) example(play Player, r *rule, x *examples, kind string, e *exampleShape) string {
	p, err := x.build(r.doc.ID, e)
	if err != nil {
		return err.Error()
	}
	text := document.Marshal(p.root)
	events, fs := play(r.doc.ID+": "+e.Name, text)
	for _, f := range fs {
		if f.Outcome == finding.Unread {
			return fmt.Sprintf("the example cannot be read: %s\n%s", f.Message, excerpt(text, f.Span))
		}
	}
	reached := slices.ContainsFunc(events, func(ev bench.Event) bool { return ev.Kind == r.doc.Over })
	sc := &scratch{records: map[string]*record{}}
	hits := s.hits(context.Background(), sc, events)
	for i := range hits {
		if hits[i].Outcome == finding.Unread {
			return hits[i].Message
		}
	}
	if kind == "good" {
		switch {
		case len(hits) > 0:
			return "must not fire, but " + describeHits(p, hits) + s.values(r, p, events)
		case !reached && !e.Idle:
			return fmt.Sprintf("is idle: no event of the kind %s occurs in it, so it shows nothing (kinds that do: %s)", r.doc.Over, kindsOf(events))
		}
		return ""
	}
	if len(hits) == 0 {
		if !reached {
			return fmt.Sprintf("must fire, but no event of the kind %s occurs in it (kinds that do: %s)", r.doc.Over, kindsOf(events))
		}
		return "must fire, but does not" + s.values(r, p, events)
	}
	var misfits []string
	for i := range hits {
		misfit := e.misfit(p, &hits[i])
		if misfit == "" {
			return ""
		}
		misfits = append(misfits, misfit)
	}
	return fmt.Sprintf("%s; but %s", strings.Join(unique(misfits), "; or "), describeHits(p, hits)) + s.values(r, p, events)
}

// misfit says in what a finding differs from what the example expects.
func (e *exampleShape) misfit(p *played, h *hit) string {
	outcome := finding.Broken
	if e.Outcome != nil {
		outcome = finding.Outcome(e.Outcome.Text)
	}
	if h.Outcome != outcome {
		return "expects the outcome " + string(outcome)
	}
	if e.Step != nil {
		n, inserted, _ := parseStep(e.Step.Text)
		at, err := p.stepOf(n, inserted)
		if err != nil {
			return err.Error()
		}
		if h.Step != at {
			return "expects it at " + p.stepName(at)
		}
	}
	if e.Level != nil && string(h.Level) != e.Level.Text {
		return "expects the level " + e.Level.Text
	}
	for _, f := range e.Figures {
		want, _ := parseWanted(f.Value)
		i := slices.IndexFunc(h.Figures, func(g finding.Figure) bool { return g.Name == f.Key })
		if i < 0 {
			var names []string
			for _, g := range h.Figures {
				names = append(names, g.Name)
			}
			return fmt.Sprintf("expects the figure %s, which the finding does not carry%s", f.Key, meant(f.Key, names))
		}
		if !want.fits(h.Figures[i].Value) {
			return fmt.Sprintf("expects %s %v", f.Key, f.Value.Text)
		}
	}
	if !strings.Contains(h.finish().Message, e.Say) {
		return fmt.Sprintf("expects a message with %q", e.Say)
	}
	return ""
}

func unique(words []string) []string {
	var out []string
	for _, w := range words {
		if !slices.Contains(out, w) {
			out = append(out, w)
		}
	}
	return out
}

func describeHits(p *played, hits []hit) string {
	var out []string
	for i := range hits {
		h := &hits[i]
		figures := make([]string, len(h.Figures))
		for j, f := range h.Figures {
			figures[j] = fmt.Sprintf("%s=%v", f.Name, f.Value)
		}
		f := h.finish()
		out = append(out, fmt.Sprintf("it is %s (%s) at %s: %s [%s]", f.Outcome, f.Level, p.stepName(f.Step), f.Message, strings.Join(figures, " ")))
	}
	return strings.Join(out, "\n  and ")
}

func kindsOf(events []bench.Event) string {
	var kinds []string
	for _, ev := range events {
		kinds = append(kinds, ev.Kind)
	}
	slices.Sort(kinds)
	return enumerate(slices.Compact(kinds), "and")
}

// excerpt shows the line of a place.
func excerpt(text []byte, at finding.Span) string {
	src := finding.NewSource("", text)
	line, _ := src.Position(at.Start)
	return fmt.Sprintf("  %d | %s", line, src.Line(line))
}

// maxShown is how many events a failed example shows.
const maxShown = 8

// values shows the conditions of the rule, part by part, for each event of its
// kind.
func (s *Set) values(r *rule, p *played, events []bench.Event) string {
	var out strings.Builder
	shown := 0
	sc := &scratch{records: map[string]*record{}}
	sc.bind.limit = &r.limits
	for i := range events {
		ev := &events[i]
		if ev.Kind != r.doc.Over {
			continue
		}
		if shown++; shown > maxShown {
			out.WriteString("\n  …")
			break
		}
		rec, err := sc.record(ev)
		if err != nil {
			fmt.Fprintf(&out, "\n  %v", err)
			continue
		}
		sc.bind.event = rec
		fmt.Fprintf(&out, "\n  %s, %s", p.stepName(ev.Step), ev.Subject)
		for _, c := range []struct {
			name string
			x    *expression
		}{{"when", r.when}, {"require", r.require}} {
			if c.x != nil {
				fmt.Fprintf(&out, "\n    %s: %s", c.name, strings.Join(c.x.inParts(&sc.bind), "\n          "))
			}
		}
	}
	return out.String()
}

// inParts gives each part of a condition with its value, then the facts read.
func (x *expression) inParts(b *bindings) []string {
	var out []string
	x.compile()
	if x.checked != nil {
		program, err := x.env.Program(x.checked, cel.EvalOptions(cel.OptExhaustiveEval))
		if err == nil {
			_, details, _ := program.Eval(b)
			info := x.checked.NativeRep().SourceInfo()
			for _, e := range leaves(x.checked.NativeRep().Expr()) {
				source, err := cel.ExprToString(e, info)
				if err != nil {
					source = "a part"
				}
				v, _ := details.State().Value(e.ID())
				out = append(out, source+" = "+show(v))
			}
		}
	}
	for _, p := range x.paths {
		v, err := p.get(b.event)
		if err != nil {
			out = append(out, "event."+p.name+" = "+err.Error())
			continue
		}
		if v.Type() != types.BoolType {
			out = append(out, "event."+p.name+" = "+show(v))
		}
	}
	if x.direct != nil && len(out) == 0 {
		if v, err := x.direct.get(b.event); err == nil {
			out = append(out, "event."+x.direct.name+" = "+show(v))
		}
	}
	return out
}

// leaves are the parts of a condition that &&, || and ! join.
func leaves(e ast.Expr) []ast.Expr {
	if e.Kind() == ast.CallKind {
		switch c := e.AsCall(); c.FunctionName() {
		case "_&&_", "_||_", "!_":
			var out []ast.Expr
			for _, arg := range c.Args() {
				out = append(out, leaves(arg)...)
			}
			return out
		}
	}
	return []ast.Expr{e}
}

func show(v ref.Val) string {
	switch v := v.(type) {
	case nil:
		return "not evaluated"
	case *types.Err:
		return v.Error()
	case types.String:
		return strconv.Quote(string(v))
	}
	return fmt.Sprintf("%v", native(v))
}
