package bench

import (
	"math"
	"slices"
	"strings"
	"sync"

	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
	"ketyl/checker/substance"
)

// pairOf is a pair of entries of a compendium, by identity.
type pairOf struct{ a, b *substance.Substance }

// known is what has been worked out of a compendium's entries and kept across
// runs: of pairs, words and agents there are no more than its own tables have,
// of names no more than namesToKeep. What a file declares, or what is derived
// from a name, is kept for one run only.
type known struct {
	mu     sync.RWMutex
	pairs  map[pairOf][]substance.Conflict
	names  map[string]meaning // an entry, what is derived from the name, or nothing
	words  map[wordOf]bool
	drying map[wordOf][]substance.Verdict
	sold   map[string]strength               // solutions as the tables write them
	plain  map[*substance.Substance]*figures // the plain figures of entries, never changed: a run works on copies
}

// compendia is what is known of each compendium: *Compendium → *known.
var compendia sync.Map

func knownOf(c *substance.Compendium) *known {
	if k, ok := compendia.Load(c); ok {
		return k.(*known)
	}
	k, _ := compendia.LoadOrStore(c, &known{pairs: map[pairOf][]substance.Conflict{}, names: map[string]meaning{}, words: map[wordOf]bool{},
		drying: map[wordOf][]substance.Verdict{}, sold: map[string]strength{}, plain: map[*substance.Substance]*figures{}})
	return k.(*known)
}

// recall reads one of the maps of what is known, or works it out and keeps it.
func recall[K comparable, V any](k *known, of map[K]V, key K, find func() V) V {
	k.mu.RLock()
	v, ok := of[key]
	k.mu.RUnlock()
	if !ok {
		v = find()
		k.mu.Lock()
		of[key] = v
		k.mu.Unlock()
	}
	return v
}

// conflicts is Compendium.Clash, worked out once for a pair.
func (b *Bench) conflicts(x, y *species) []substance.Conflict {
	key := pairOf{x.sub, y.sub}
	if x.entry && y.entry {
		return recall(b.known, b.known.pairs, key, func() []substance.Conflict { return b.c.Clash(key.a, key.b) })
	}
	if c, ok := b.pairs[key]; ok {
		return c
	}
	c := b.c.Clash(x.sub, y.sub)
	b.pairs[key] = c
	return c
}

// nearBubblePoint looks for the bubble point by the secant rule on ln p
// against 1/T, along which a vapour pressure is nearly straight (Clausius and
// Clapeyron); false when it does not settle within 0.005 K of a temperature
// between −140 and 340 °C, and halving has to do it.
func (v *vessel) nearBubblePoint(mbar, guess float64) (float64, bool) {
	f := func(tC float64) float64 { return math.Log(v.vapourMbar(tC) / mbar) }
	t0, t1 := guess, guess-10
	y0, y1 := f(t0), f(t1)
	for range 12 {
		x0, x1 := 1/(t0+zeroC), 1/(t1+zeroC)
		slope := (y1 - y0) / (x1 - x0)
		if !(slope < 0) || math.IsInf(slope, 0) {
			return 0, false
		}
		t2 := 1/(x1-y1/slope) - zeroC
		if !(t2 > -140 && t2 < 340) {
			return 0, false
		}
		if math.Abs(t2-t1) < 0.005 {
			return t2, math.Abs(f(t2)) < 1e-3
		}
		t0, y0, t1, y1 = t1, y1, t2, f(t2)
	}
	return 0, false
}

// vapourAt is Substance.VapourPressure, mbar, with what the entry says read
// once: within the range of its Antoine equation that alone counts.
func (sp *species) vapourAt(tC float64) (mbar float64, ok bool) {
	if sp.sub == nil {
		return 0, false
	}
	if sp.antoine == nil {
		sp.antoine, sp.vapour = antoineOf(sp.sub), sp.sub.Vapour()
	}
	if k, x := tC+zeroC, sp.antoine; k > x.from && k < x.to && k+x.c > 0 {
		return math.Exp((x.a-x.b/(k+x.c))*math.Ln10) / 100, true
	}
	return sp.vapour.Pressure(tC)
}

func antoineOf(s *substance.Substance) *antoine {
	if a := s.Antoine; a != nil && (a.Form == "" || a.Form == "log10 Pa K") {
		from, err1 := quantity.ParseAs(a.From, quantity.Temperature)
		to, err2 := quantity.ParseAs(a.To, quantity.Temperature)
		if err1 == nil && err2 == nil && from.Known() && to.Known() {
			return &antoine{a.A, a.B, a.C, from.Value() + zeroC, to.Value() + zeroC}
		}
	}
	return straight(s)
}

// lifetime is a published half-life of a reagent in a solvent.
type lifetime struct {
	in      string
	tC, min float64
}

func lifetimesOf(s *substance.Substance) []lifetime {
	var out []lifetime
	for _, h := range s.Stability {
		at, err1 := quantity.ParseAs(h.At, quantity.Temperature)
		life, err2 := quantity.ParseAs(h.HalfLife, quantity.Time)
		if err1 == nil && err2 == nil {
			out = append(out, lifetime{h.In, at.Value(), life.Value()})
		}
	}
	return out
}

// antoine is log10(p/Pa) = a − b/(T + c) between two temperatures, K.
type antoine struct{ a, b, c, from, to float64 }

// picture is what a vessel held when it was last pictured, so that a step that
// leaves it alone shares the maps of the step before.
type picture struct {
	held           []portion
	contents, live map[string]float64
}

func (v *vessel) picture() (contents, live map[string]float64) {
	p := &v.seen
	if p.contents != nil && slices.EqualFunc(p.held, v.contents, func(x, y portion) bool { return x.sp == y.sp && x.mmol == y.mmol }) {
		return p.contents, p.live
	}
	p.held = append(p.held[:0], v.contents...)
	p.contents, p.live = make(map[string]float64, len(v.contents)), map[string]float64{}
	for _, q := range v.contents {
		if q.mmol <= trace {
			continue
		}
		p.contents[q.sp.name] += q.mmol
		if q.sp.live {
			p.live[q.sp.name] += q.mmol
		}
	}
	return p.contents, p.live
}

// namesToKeep is a number of names that no laboratory's texts reach.
const namesToKeep = 1 << 14

type meaning struct {
	s     *substance.Substance // nil when nothing is known
	entry bool                 // of the compendium
}

// find is Compendium.Find, then Derive, worked out once for a name; the
// substance is nil when neither knows it, entry says that it was found.
func (b *Bench) find(name string) (s *substance.Substance, entry bool) {
	k := b.known
	k.mu.RLock()
	m, ok := k.names[name]
	k.mu.RUnlock()
	if ok {
		return m.s, m.entry
	}
	s, entry = b.c.Find(name)
	if !entry {
		var ok bool
		if s, ok = b.c.Derive(name, "", ""); !ok {
			s = nil
		}
	}
	k.mu.Lock()
	if len(k.names) < namesToKeep {
		k.names[strings.Clone(name)] = meaning{s, entry}
	}
	k.mu.Unlock()
	return s, entry
}

// straight reads two points of a vapour pressure that has no Antoine equation:
// by Clausius and Clapeyron ln p runs straight against 1/T, which a third point
// proves. Without that proof the range is empty.
func straight(s *substance.Substance) *antoine {
	if s.Antoine != nil {
		return &antoine{}
	}
	p0, ok0 := s.VapourPressure(0)
	p1, ok1 := s.VapourPressure(100)
	mid, ok2 := s.VapourPressure(50)
	if !ok0 && !ok1 && !ok2 {
		return trouton(s)
	}
	if !ok0 || !ok1 || !ok2 || p0 <= 0 || p1 <= 0 {
		return &antoine{}
	}
	x := &antoine{from: 100, to: 700}
	x.b = (math.Log10(p1) - math.Log10(p0)) / (1/zeroC - 1/(100+zeroC))
	x.a = math.Log10(p0*100) + x.b/zeroC
	if got := math.Pow(10, x.a-x.b/(50+zeroC)) / 100; math.Abs(got-mid) > 1e-9*mid {
		return &antoine{}
	}
	return x
}

// trouton is the vapour pressure of a liquid of which only the boiling point at 1
// atm is known: Clausius and Clapeyron with the heat of vaporisation by Trouton's
// rule, 85 J/(mol K) times the boiling point (Atkins, Physical Chemistry), as in hvap.
func trouton(s *substance.Substance) *antoine {
	if s.Phase != "liquid" || s.BoilingPoint == nil || s.BoilingPoint.At != "" {
		return &antoine{}
	}
	bp := value(s.BoilingPoint)
	if !bp.Known || bp.V < -100 {
		return &antoine{}
	}
	x := &antoine{from: 100, to: 700}
	x.b = 85 / R * (bp.V + zeroC) / math.Ln10
	x.a = math.Log10(Atm*100) + 85/R/math.Ln10
	return x
}

// active reports that something in a vessel takes protons or electrophiles.
func (v *vessel) active() bool {
	return slices.ContainsFunc(v.contents, func(p portion) bool {
		return p.mmol > trace && (strongBaseKind(p.sp.active) || p.sp.active == "acyl" || p.sp.active == "water-reactive halide")
	})
}

// prototype is a species of this run with the plain figures of an entry; nil when
// they have not been worked out yet.
func (b *Bench) prototype(s *substance.Substance) *species {
	b.known.mu.RLock()
	p := b.known.plain[s]
	b.known.mu.RUnlock()
	if p == nil {
		return nil
	}
	if len(b.copies) == cap(b.copies) {
		b.copies = make([]species, 0, 16)
	}
	b.copies = append(b.copies, species{figures: p, shared: true})
	sp := &b.copies[len(b.copies)-1]
	b.bySub[s.Name] = sp
	return sp
}

// keep makes a fresh species a prototype, if it is an entry of the compendium.
func (b *Bench) keep(s *substance.Substance, sp *species) {
	if e, ok := b.find(s.Name); ok && e == s {
		f := sp.figures
		f.entry, sp.shared = true, true
		f.antoine, f.vapour = antoineOf(s), s.Vapour()
		if f.liquid {
			alone := vessel{contents: []portion{{sp: sp, mmol: 1}}}
			if t, ok := alone.findBubblePoint(Atm); ok && alone.vapourMbar(25) > 0 {
				f.boils = boiling{t, true}
			}
		}
		b.known.mu.Lock()
		b.known.plain[s] = f
		b.known.mu.Unlock()
	}
}

// wordOf is an entry and a word of the compendium's or the site's own tables.
type wordOf struct {
	s    *substance.Substance
	word string
}

// strength is a solution as it was read, if it could be.
type strength struct {
	solution quantity.Solution
	ok       bool
}

// solution is quantity.ParseSolution, worked out once for a text of the
// compendium's tables.
func (b *Bench) solution(as string) (quantity.Solution, bool) {
	s := recall(b.known, b.known.sold, as, func() strength {
		s, err := quantity.ParseSolution(as)
		return strength{s, err == nil}
	})
	return s.solution, s.ok
}

// isA is Compendium.Is, worked out once for an entry and such a word.
func (b *Bench) isA(sp *species, word string) bool {
	if !sp.entry {
		return b.c.Is(sp.sub, word)
	}
	return recall(b.known, b.known.words, wordOf{sp.sub, word}, func() bool { return b.c.Is(sp.sub, word) })
}

// mayDry is Compendium.MayDry, worked out once for an entry and an agent; key
// is the agent's name in the table, empty when it is not there.
func (b *Bench) mayDry(sp *species, key, agent string) []substance.Verdict {
	if !sp.entry || key == "" {
		return b.c.MayDry(sp.sub, word(key, agent))
	}
	return recall(b.known, b.known.drying, wordOf{sp.sub, key}, func() []substance.Verdict { return b.c.MayDry(sp.sub, key) })
}

// siteContainer is Site.Container, worked out once for a name.
func (b *Bench) siteContainer(name string) (*substance.Container, bool) {
	c, ok := b.containers[name]
	if !ok {
		c, _ = b.site.Container(name)
		b.containers[name] = c
	}
	return c, c != nil
}

// join puts three texts together in memory that one run shares.
func (b *Bench) join(x, y, z string) string {
	w := &b.wording
	if n := len(x) + len(y) + len(z); w.Cap()-w.Len() < n {
		w.Reset()
		w.Grow(max(n, 4096))
	}
	at := w.Len()
	w.WriteString(x)
	w.WriteString(y)
	w.WriteString(z)
	return w.String()[at:]
}

// ask is Missing of three texts put together.
func (b *Bench) ask(x, y, z string) Num { return Num{Note: b.join(x, y, z)} }

// concat is slices.Concat for lists that are only read: where but one holds
// anything it is that one.
func concat(lists ...[]procedure.Text) []procedure.Text {
	var only []procedure.Text
	for _, l := range lists {
		if len(l) == 0 {
			continue
		}
		if only != nil {
			return slices.Concat(lists...)
		}
		only = l
	}
	return only
}

// desk is what a run needs for itself alone and leaves empty for the next.
type desk struct {
	hazards       []hazard
	tasks         []task
	names         map[string]*naming
	bySub, byName map[string]*species
}

var desks = sync.Pool{New: func() any {
	return &desk{names: map[string]*naming{}, bySub: map[string]*species{}, byName: map[string]*species{}}
}}

// set takes a desk for the run.
func (b *Bench) set() {
	d := desks.Get().(*desk)
	b.desk, b.hazards, b.tasks, b.names, b.bySub, b.byName = d, d.hazards, d.tasks, d.names, d.bySub, d.byName
}

// clear leaves the desk empty; the bench is done with. A desk that a large text
// has filled is not kept.
func (b *Bench) clear() {
	d := b.desk
	if cap(b.hazards) > 1000 || len(b.names) > 1000 || len(b.byName) > 1000 {
		return
	}
	clear(b.hazards)
	clear(b.tasks)
	clear(d.names)
	clear(d.bySub)
	clear(d.byName)
	d.hazards, d.tasks = b.hazards[:0], b.tasks[:0]
	desks.Put(d)
}
