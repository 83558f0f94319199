package judge

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"github.com/google/cel-go/common/types"

	"ketyl/checker/bench"
	"ketyl/checker/finding"
)

// scratch is what one run of Judge needs: a record for each kind of event, and
// the variables of the expressions.
type scratch struct {
	records map[string]*record
	bind    bindings
}

// record wraps the facts of an event, until the next event of its kind.
func (s *scratch) record(ev *bench.Event) (*record, error) {
	g := vocab.kinds[ev.Kind]
	if g == nil {
		return nil, fmt.Errorf("found an event of the kind %q, which no rule can be over", ev.Kind)
	}
	v := reflect.ValueOf(ev.Facts)
	switch {
	case v.IsValid() && v.Kind() == reflect.Pointer && v.Type().Elem() == g.goType && !v.IsNil():
		v = v.Elem()
	case v.IsValid() && v.Type() == g.goType:
		p := reflect.New(g.goType)
		p.Elem().Set(v)
		v = p.Elem()
	default:
		return nil, fmt.Errorf("found %T as the facts of an event of the kind %s, expected *%s", ev.Facts, ev.Kind, g.goType)
	}
	r := s.records[ev.Kind]
	if r == nil {
		r = newRecord(g)
		s.records[ev.Kind] = r
	}
	r.reset(v)
	return r, nil
}

// hit is a finding before it is folded with others.
type hit struct {
	finding.Finding
	rule  *activeRule
	cause string
	one   string   // what the rule is said once for, as `once for` gives it
	limit string   // the sentence that says whose limit it is
	also  []string // steps that have the same
}

// Judge judges events in their order and gives the findings in reading order:
// rules that are broken and rules that cannot tell, one for each cause. What
// could not be judged is a finding of outcome unread.
func (s *Set) Judge(ctx context.Context, events []bench.Event) []finding.Finding {
	sc := s.pool.Get().(*scratch)
	defer s.pool.Put(sc)
	hits := s.hits(ctx, sc, events)
	sc.release()
	fs := fold(hits)
	finding.Sort(fs)
	return fs
}

// release lets go of the facts, so that a pooled scratch keeps no procedure
// alive.
func (s *scratch) release() {
	s.bind = bindings{}
	for _, r := range s.records {
		r.release()
	}
}

func (r *record) release() {
	r.reset(reflect.Value{})
	for _, c := range r.children {
		if c != nil {
			c.release()
		}
	}
}

// hits judges each event by each rule over its kind.
func (s *Set) hits(ctx context.Context, sc *scratch, events []bench.Event) []hit {
	var hits []hit
	for i := range events {
		ev := &events[i]
		if err := ctx.Err(); err != nil {
			f := unread("rules/stopped", ev.Span, fmt.Sprintf("judging stopped at step %d of the text: %v", ev.Step, context.Cause(ctx)))
			return append(hits, hit{Finding: f})
		}
		rules := s.byKind[ev.Kind]
		if len(rules) == 0 && vocab.kinds[ev.Kind] != nil {
			continue
		}
		r, err := sc.record(ev)
		if err != nil {
			f := unread("rules/event", ev.Span, err.Error())
			f.Step, f.Subject = ev.Step, ev.Subject
			hits = append(hits, hit{Finding: f})
			continue
		}
		sc.bind.event = r
		for _, a := range rules {
			sc.bind.limit = a.limits
			if h := a.judge(&sc.bind, ev); h != nil {
				hits = append(hits, *h)
			}
		}
	}
	return hits
}

// outcome applies the rule to the bound event: the empty outcome when it does
// not apply or is met. The error is *unknown, or why it could not be judged.
func (r *rule) outcome(b *bindings) (finding.Outcome, error) {
	applies, whenErr := true, error(nil)
	if r.when != nil {
		applies, whenErr = r.when.holds(b)
	}
	if whenErr == nil && !applies {
		return "", nil
	}
	met, err := r.require.holds(b)
	if err == nil && met {
		// Met, whether or not it applies.
		return "", nil
	}
	switch err = cmp.Or(whenErr, err); {
	case err == nil:
		return finding.Broken, nil
	case isUnknown(err):
		return finding.CannotTell, err
	}
	return finding.Unread, err
}

// severity gives the level: that of the first band that holds, else the
// rule's. While a band cannot be told, the graver of what may come is taken.
func (a *activeRule) severity(b *bindings) (finding.Level, error) {
	if a.level != "" {
		return a.level, nil
	}
	var maybe finding.Level
	level := a.doc.Level
	for _, band := range a.bands {
		holds, err := band.when.holds(b)
		if isUnknown(err) {
			maybe = graver(maybe, band.level)
			continue
		}
		if err != nil {
			return level, err
		}
		if holds {
			level = band.level
			break
		}
	}
	return graver(level, maybe), nil
}

func graver(a, b finding.Level) finding.Level {
	if b.Rank() > a.Rank() {
		return b
	}
	return a
}

// judge judges the bound event; nil when there is nothing to say.
func (a *activeRule) judge(b *bindings, ev *bench.Event) *hit {
	outcome, why := a.outcome(b)
	if outcome == "" {
		return nil
	}
	a.settle()
	h := &hit{rule: a, cause: ev.Cause}
	h.Finding = finding.Finding{
		Rule: a.doc.ID, Outcome: outcome, Step: ev.Step, Span: ev.Span, Subject: ev.Subject,
		Because: a.doc.Because, Source: a.doc.source(), Danger: a.doc.Danger,
	}
	if outcome == finding.Unread {
		return a.failed(h, why)
	}
	var err error
	if h.Level, err = a.severity(b); err != nil {
		return a.failed(h, err)
	}
	if outcome == finding.CannotTell && a.doc.CannotTell != "" {
		if a.doc.CannotTell == "silent" {
			return nil
		}
		h.Level = a.doc.CannotTell
		if a.level != "" && h.Level.Rank() > a.level.Rank() {
			h.Level = a.level
		}
	}
	if a.cause != nil {
		v, err := a.cause.eval(b)
		switch {
		case isUnknown(err):
			h.cause = ""
		case err != nil:
			return a.failed(h, err)
		default:
			h.cause, _ = native(v).(string)
		}
	}
	if a.onceFor != nil {
		if v, err := a.onceFor.eval(b); err == nil {
			h.one, _ = native(v).(string)
		}
	}
	if h.Fix, err = a.fix.fill(b, "…"); err != nil { // what the reader has to fill in
		return a.failed(h, err)
	}
	if a.why != nil {
		if h.Because, err = a.why.print(b); err != nil {
			return a.failed(h, err)
		}
	}
	h.limit = a.limitSentence(b, outcome)
	if outcome == finding.CannotTell {
		if u, ok := errors.AsType[*unknown](why); ok {
			h.Ask = u.ask
		}
		if a.ask != nil {
			if h.Ask, err = a.ask.print(b); err != nil {
				return a.failed(h, err)
			}
		}
		h.Message = "cannot tell; wanted: " + h.Ask
	} else if h.Message, err = a.say.print(b); err != nil {
		return a.failed(h, err)
	}
	for _, f := range a.figures {
		v, err := f.value.eval(b)
		if err != nil {
			if !isUnknown(err) {
				return a.failed(h, err)
			}
			continue
		}
		g := finding.Figure{Name: f.name, Value: native(v)}
		for _, p := range f.value.paths {
			if g.Assumed == "" {
				g.Assumed = p.assumed(b.event)
			}
		}
		if f.listed || g.Assumed != "" {
			h.Figures = append(h.Figures, g)
		}
	}
	return h
}

// failed turns a hit into the report that the rule could not be judged.
func (a *activeRule) failed(h *hit, err error) *hit {
	at := fmt.Sprintf("%s:%d:%d", a.doc.File, a.doc.Line, a.doc.Column)
	if f, ok := errors.AsType[*failure](err); ok {
		at = f.position()
	}
	h.Outcome, h.Level, h.cause, h.limit = finding.Unread, finding.Hold, "", ""
	h.Message = fmt.Sprintf("the rule %s could not be judged: %v (%s)", a.doc.ID, err, at)
	h.Fix, h.Ask, h.Figures = "", "", nil
	return h
}

// source writes the rule's sources on one line.
func (d *Rule) source() string {
	parts := make([]string, len(d.Sources))
	for i, s := range d.Sources {
		parts[i] = s.Cite
		if s.Kind != "published" && !strings.EqualFold(s.Cite, s.Kind) {
			parts[i] += " (" + s.Kind + ")"
		}
	}
	return strings.Join(parts, "; ")
}

// limitSentence says which limits were passed and whose they are. Where several
// limits have a say, a question names none: which of them it will come to is
// what the missing figure decides.
func (a *activeRule) limitSentence(b *bindings, outcome finding.Outcome) string {
	passed := a.applied
	switch {
	case len(passed) == 0 || outcome == finding.CannotTell && len(passed) > 1:
		return ""
	case outcome == finding.Broken:
		passed = a.passed(b)
	}
	if !a.required() {
		passed = passed[:min(1, len(passed))] // the first is the rule's threshold, the others say what it leaves alone
	}
	var parts []string
	for _, i := range passed {
		l := a.limit(i)
		s := fmt.Sprintf("%s (%s)", l.text(), l.Set)
		switch {
		case l.As != "":
			s = l.As + " " + s
		case len(a.applied) > 1:
			s = strings.ReplaceAll(l.Name, "_", " ") + " " + s
		}
		parts = append(parts, s)
	}
	switch len(parts) {
	case 0:
		return ""
	case 1:
		return "Limit: " + parts[0] + "."
	}
	return "Limits: " + strings.Join(parts, "; ") + "."
}

// required reports whether what is required is measured against limits; else
// they only decide whether the rule applies.
func (a *activeRule) required() bool {
	return slices.Contains(a.require.limits, a.doc.Limits[a.applied[0]].Name)
}

// passed are the limits without which the rule would be silent on the bound
// event: each is set so wide, or so narrow, that nothing could pass it, and the
// rule asked again. Where no limit alone decides, a pair of them may; where
// none does, limits had no part in it.
func (a *activeRule) passed(b *bindings) []int {
	own := b.limit
	defer func() { b.limit = own }()
	moved := &limitValues{own.names, slices.Clone(own.values)}
	b.limit = moved
	silent := func() bool {
		outcome, err := a.outcome(b)
		return outcome == "" && err == nil
	}
	var alone []int
	extremes := []types.Double{types.Double(math.Inf(1)), types.Double(math.Inf(-1))}
	if !a.required() {
		extremes = extremes[:1] // a figure below its limit has not passed it: it was let in
	}
	for _, i := range a.applied {
		for _, x := range extremes {
			if moved.values[i] = x; silent() {
				alone = append(alone, i)
				break
			}
		}
		moved.values[i] = own.values[i]
	}
	if len(alone) > 0 {
		return alone
	}
	for at, i := range a.applied {
		for _, j := range a.applied[at+1:] {
			for _, x := range extremes {
				for _, y := range extremes {
					if moved.values[i], moved.values[j] = x, y; silent() {
						return []int{i, j}
					}
				}
			}
			moved.values[j] = own.values[j]
		}
		moved.values[i] = own.values[i]
	}
	return nil
}

// order puts the hit to keep first: gravest, most dangerous, earliest.
func order(a, b *hit) int {
	return cmp.Or(
		cmp.Compare(b.Level.Rank(), a.Level.Rank()),
		cmp.Compare(b.Danger, a.Danger),
		cmp.Compare(a.Step, b.Step),
		cmp.Compare(a.Span.Start, b.Span.Start),
		cmp.Compare(a.Rule, b.Rule),
		cmp.Compare(a.Message, b.Message),
	)
}

// fold makes one finding of each cause. A rule said once keeps its gravest,
// then first, event; questions for the same figure become one; broken rules
// of one cause become consequences of the gravest. Nothing is lost: what is
// folded stands as a step ("also at"), a related place or a consequence.
func fold(hits []hit) []finding.Finding {
	kept := make([]*hit, 0, len(hits))
	for i := range hits {
		kept = append(kept, &hits[i])
	}
	slices.SortStableFunc(kept, order)
	kept = gather(kept, func(h *hit) string { // exact repetitions
		return strings.Join([]string{h.Rule, string(h.Outcome), strconv.Itoa(h.Step), strconv.Itoa(h.Span.Start), h.Message}, "\x00")
	}, func(*hit, []*hit) {})
	kept = gather(kept, func(h *hit) string {
		if h.Outcome == finding.Unread && h.rule != nil {
			return h.Rule + "\x00" + h.Message
		}
		if h.rule == nil || !h.rule.doc.Once && h.one == "" {
			return ""
		}
		return h.Rule + "\x00" + string(h.Outcome) + "\x00" + h.Ask + "\x00" + h.one
	}, (*hit).repeat)
	kept = gather(kept, func(h *hit) string {
		if h.Outcome != finding.CannotTell {
			return ""
		}
		return h.Ask
	}, (*hit).question)
	kept = gather(kept, func(h *hit) string {
		if h.Outcome != finding.Broken {
			return ""
		}
		return h.cause
	}, (*hit).causes)
	var fs []finding.Finding
	for _, h := range kept {
		fs = append(fs, h.finish())
	}
	return fs
}

// gather joins hits with an equal non-empty key to the first of them.
func gather(hits []*hit, key func(*hit) string, join func(first *hit, others []*hit)) []*hit {
	at := map[string]int{}
	var firsts []*hit
	others := map[int][]*hit{}
	for _, h := range hits {
		k := key(h)
		if i, ok := at[k]; ok && k != "" {
			others[i] = append(others[i], h)
			continue
		}
		at[k] = len(firsts)
		firsts = append(firsts, h)
	}
	for i, first := range firsts {
		if len(others[i]) > 0 {
			join(first, others[i])
		}
	}
	return firsts
}

// repeat notes that the same rule has the same to say elsewhere.
func (h *hit) repeat(others []*hit) {
	for _, o := range others {
		if o.Step == h.Step && o.Span == h.Span {
			continue
		}
		message := "also here"
		if o.Step > 0 {
			step := strconv.Itoa(o.Step)
			if o.Step != h.Step && !slices.Contains(h.also, step) {
				h.also = append(h.also, step)
			}
			message = "also at step " + step
		}
		h.Related = append(h.Related, finding.Related{Span: o.Span, Message: message})
		h.Related = append(h.Related, o.Related...)
		for _, step := range o.also {
			if !slices.Contains(h.also, step) && step != strconv.Itoa(h.Step) {
				h.also = append(h.also, step)
			}
		}
	}
}

// question joins questions for the same figure.
func (h *hit) question(others []*hit) {
	rules := []string{h.Rule}
	var same []*hit
	for _, o := range others {
		if o.Rule == h.Rule {
			same = append(same, o)
			continue
		}
		if !slices.Contains(rules, o.Rule) {
			rules = append(rules, o.Rule)
		}
		h.Consequences = append(h.Consequences, o.finish())
	}
	h.repeat(same)
	if len(rules) > 1 {
		h.Message += " (for " + enumerate(rules, "and") + ")"
	}
}

// causes puts findings of the same cause under the gravest.
func (h *hit) causes(others []*hit) {
	for _, o := range others {
		f := o.finish()
		more := f.Consequences
		f.Consequences = nil
		h.Consequences = append(append(h.Consequences, f), more...)
	}
}

// finish writes the message in full.
func (h *hit) finish() finding.Finding {
	f := h.Finding
	if h.limit != "" {
		f.Message = sentence(f.Message) + " " + h.limit
	}
	if len(h.also) > 0 {
		slices.SortFunc(h.also, func(a, b string) int { return cmp.Or(cmp.Compare(len(a), len(b)), cmp.Compare(a, b)) })
		word := "step "
		if len(h.also) > 1 {
			word = "steps "
		}
		f.Message = sentence(f.Message) + " Also at " + word + enumerate(h.also, "and") + "."
	}
	h.limit, h.also = "", nil
	return f
}

// sentence ends a text with a full stop, so that another may follow.
func sentence(s string) string {
	s = strings.TrimSpace(s)
	if s == "" || strings.ContainsAny(s[len(s)-1:], ".!?:") {
		return s
	}
	return s + "."
}
