package bench

import (
	"math"
	"slices"

	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
)

// task is a step as the clock sees it: what it needs and for how long.
type task struct {
	n      int
	needs  []any // *vessel, *material
	gives  []any
	min    float64
	hands  bool   // takes someone's hands all the time
	worker string // student | assistant
}

// touches lists the vessels and materials that a step acts on, before it is
// played. Tools, baths and gas lines hold nothing up.
func (b *Bench) touches(s *procedure.Step) []any {
	var out []any
	add := func(k any) {
		if !slices.Contains(out, k) {
			out = append(out, k)
		}
	}
	for _, ts := range [][]procedure.Text{s.Object, s.With, s.To, s.From, s.Into, s.In, s.On, s.Through, s.Then, s.RinseWith} {
		for _, t := range ts {
			if v := b.place(t, false); v != nil {
				add(v)
			} else if i := slices.IndexFunc(b.materials, func(m *material) bool { return sameName(m.name, t.S) }); i >= 0 && !b.materials[i].sp.is("inert gas") {
				add(b.materials[i])
			}
		}
	}
	return out
}

// timeOf is how long a step takes, min, and whether it takes hands: as written,
// else the usual time of its kind (see usualMinutes).
func timeOf(s *procedure.Step) (min float64, hands bool) {
	m := minutes(s)
	waits := s.Verb.Group == procedure.Condition || s.Verb.Name == "dry" || s.Verb.Name == "purge" || s.Verb.Name == "sparge" || s.Verb.Name == "degas"
	if !m.Known {
		return usualMinutes[s.Verb.Group], true
	}
	return m.V, !waits || isTrue(s.Attended)
}

// ahead reports a step that is done before the section.
func ahead(s *procedure.Step) bool {
	return isTrue(s.Before) || s.DoneBy.S == "stockroom" || s.Verb.Name == "dry" && minutes(s).Known && minutes(s).V > 180
}

// schedule takes a played step into the clock. known is how many vessels there
// were before it: what is new was made by it.
func (b *Bench) schedule(s *procedure.Step, touched []any, known int) {
	if ahead(s) {
		b.leads(s)
		return
	}
	if m := minutes(s); s.Verb.Name == "stand" && m.Known && m.V >= 600 && b.restsSafely(s) {
		return
	}
	t := task{n: s.N, needs: touched, worker: "student"}
	if s.DoneBy.S == "assistant" || s.DoneBy.S == "instructor" {
		t.worker = "assistant"
	}
	t.min, t.hands = timeOf(s)
	if m, ok := b.warming(s); ok && !minutes(s).Known {
		t.min, t.hands = math.Max(m, t.min), s.Verb.Group == procedure.Atmosphere
	}
	for _, v := range b.vessels[min(known, len(b.vessels)):] {
		t.gives = append(t.gives, v)
	}
	b.tasks = append(b.tasks, t)
}

// criticalPath lays tasks out in the order written: each starts when what it
// needs is free and someone has a hand free, so that waiting on one vessel
// overlaps with work on another. A task that names nothing waits for all
// before it. It returns the start of each and the end of the last, min.
func criticalPath(tasks []task) (starts []float64, end float64) {
	free := make(map[any]float64, len(tasks))
	starts = make([]float64, 0, len(tasks))
	hand := map[string]float64{}
	for _, t := range tasks {
		at := hand[t.worker]
		if len(t.needs) == 0 {
			at = math.Max(at, end)
		}
		for _, k := range t.needs {
			at = math.Max(at, free[k])
		}
		done := at + t.min
		for _, all := range [...][]any{t.needs, t.gives} {
			for _, k := range all {
				free[k] = math.Max(free[k], done)
			}
		}
		if t.hands {
			hand[t.worker] = done
		} else {
			hand[t.worker] = at // set going, then left
		}
		starts = append(starts, at)
		end = math.Max(end, done)
	}
	return starts, end
}

// lead is an item that is made ready before the section.
type lead struct {
	item  string
	hours float64
}

// leads adds a step to the preparation of what it acts on: its own time, the
// activation of its agent, and what the agent itself took.
func (b *Bench) leads(s *procedure.Step) {
	h := 0.0
	if m := minutes(s); m.Known {
		h = m.V / 60
	}
	if f := s.ActivatedFor; f != nil && f.Known() && f.Dim == quantity.Time {
		h += f.Max() / 60
	}
	agent := 0.0
	for _, t := range s.With {
		for _, l := range b.leadItems {
			if sameName(l.item, t.S) {
				agent = math.Max(agent, l.hours)
			}
		}
	}
	for _, o := range s.Object {
		i := slices.IndexFunc(b.leadItems, func(l lead) bool { return sameName(l.item, o.S) })
		if i < 0 {
			b.leadItems = append(b.leadItems, lead{item: o.S})
			i = len(b.leadItems) - 1
		}
		b.leadItems[i].hours += h + agent
	}
}

// days is how many days before the section an item is begun: whole days, and
// at least the day before.
func (l lead) days() float64 { return math.Max(1, math.Ceil(l.hours/24-1e-9)) }

// times fills the clock's facts of the whole text.
func (b *Bench) times(f *ProcedureFacts) {
	starts, end := criticalPath(b.tasks)
	f.CriticalPathMin = Got(end)
	f.LastOutMin = Missing(f.QueueMin.Ask())
	if f.QueueMin.Known {
		f.LastOutMin = Num{V: end + f.QueueMin.V, Known: true, Note: f.QueueMin.Assumed()}
	}
	f.QuenchStartMin, f.LatestQuenchMin = Missing("the quench"), Missing("the quench")
	if i := b.mainQuench(); i >= 0 {
		f.QuenchStartMin = Got(starts[i])
		_, tail := criticalPath(b.tasks[i:])
		if t := b.p.Section.Time; t != nil && t.Known() {
			f.LatestQuenchMin = Got(t.Value() - tail)
		} else {
			f.LatestQuenchMin = Missing("the length of the section")
		}
	}
	f.LeadDays = Got(0)
	items := slices.Clone(b.leadItems)
	slices.SortStableFunc(items, func(x, y lead) int { return int(y.days() - x.days()) })
	for _, l := range items {
		f.LeadDays.V = math.Max(f.LeadDays.V, l.days())
		f.LeadItems = append(f.LeadItems, l.item+": "+plural(l.days(), "day"))
	}
}

// mainQuench is the task that destroys most live reagent; −1 without one.
func (b *Bench) mainQuench() int {
	best, n := 0.0, 0
	for _, e := range b.trace.Events {
		if q, ok := e.Facts.(*QuenchFacts); ok && q.LiveMmol > best {
			best, n = q.LiveMmol, e.Step
		}
	}
	return slices.IndexFunc(b.tasks, func(t task) bool { return n > 0 && t.n == n })
}

// timed plays a step and takes it into the clock.
func (b *Bench) timed(s *procedure.Step) {
	b.step = s
	touched, known := b.touches(s), len(b.vessels)
	b.play(s)
	b.schedule(s, touched, known)
}
