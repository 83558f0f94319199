package bench

import (
	"math"
	"slices"

	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
	"ketyl/checker/substance"
)

// equivalents finds the limiting reagent and sets every amount against it.
func (b *Bench) equivalents() {
	var lim *material
	// the product says what it comes from
	if p := b.p.Product; p != nil && p.From.Is() {
		lim = b.material(p.From.S)
	}
	if lim != nil && lim.unweighed {
		return // what all others are set against cannot be counted
	}
	if lim == nil || !lim.mmol.Known {
		best := math.Inf(1)
		for _, r := range b.reactions {
			for _, c := range r.consumes {
				for _, m := range b.materials {
					if m.sp == c.sp && m.mmol.Known && m.mmol.V/c.n < best {
						best, lim = m.mmol.V/c.n, m
					}
				}
			}
		}
	}
	// amounts written as equivalents
	for _, m := range b.materials {
		q, ok := m.row.Amount.Of(quantity.Equivalents)
		if !ok || !q.Known() {
			continue
		}
		ref := lim
		if q.Of != "" {
			ref = b.material(q.Of)
		}
		if ref == nil {
			for _, x := range b.materials {
				if e, ok := x.row.Amount.Of(quantity.Equivalents); ok && e.Known() && e.Value() == 1 && x.mmol.Known {
					ref = x
				}
			}
		}
		if ref == nil || !ref.mmol.Known {
			continue
		}
		if m.mmol.Known {
			if said := ref.mmol.V * q.Total(); ref != m && math.Abs(said-m.mmol.V) > rounding(q.Raw)*said+0.005*said {
				m.note(said, m.mmol.V, q.Raw+", "+quantity.Format(said, quantity.Amount)+",", quantity.Format(m.mmol.V, quantity.Amount))
			}
			continue
		}
		row := *m.row
		amt := quantity.Quantity{Raw: q.Raw, Dim: quantity.Amount, Low: ref.mmol.V * q.Total(), High: ref.mmol.V * q.Total(), Times: 1, Unit: "mmol"}
		row.Amount = &procedure.Amount{All: append([]quantity.Quantity{amt}, m.row.Amount.All...), Raw: m.row.Amount.Raw, Span: m.row.Amount.Span}
		name, orig := m.name, m.row
		*m = *b.resolve(&row)
		m.name, m.row = name, orig
	}
	if lim == nil || !lim.mmol.Known || slices.ContainsFunc(b.materials, func(m *material) bool { return m.unweighed && b.consumed(m.sp) }) {
		return // a partner that cannot be counted may be the one that limits
	}
	b.trace.Figures.Limiting = lim.name
	b.trace.Figures.LimitingMmol = lim.mmol
	for _, m := range b.materials {
		if m.mmol.Known {
			m.equivalents = Got(m.mmol.V / lim.mmol.V)
		}
	}
}

func (b *Bench) materialEvents() {
	for _, m := range b.materials {
		f := &MaterialEvent{Material: b.materialFacts(m, 1), Known: m.known, Nearest: m.nearest, AmountGiven: amountGiven(m.row.Amount), MismatchPct: m.mismatch, Stated: m.stated, Computed: m.computed,
			AssayMissing: m.assayMissing, Unweighed: m.unweighed, Used: m.used, TitreStated: m.row.Titrated.Is(), ExcessPct: Missing("the amounts of the reaction"), SparePct: Missing("the amounts of the reaction"), BrokenDown: m.how, Sites: Missing("the amounts of the reaction")}
		for _, x := range b.site.Forbidden {
			if m.sp.sub != nil && b.isA(m.sp, x.Agent) || sameName(m.name, x.Agent) {
				f.Forbidden, f.ForbiddenFor = x.Agent, word(x.Because, x.What)
				break
			}
		}
		f.TakenPercent = b.ask("what the steps take of ", m.name, "")
		if m.taken > 0 {
			f.TakenPercent = Got(100 * m.taken)
		}
		f.Reactive = m.sp.live
		f.SoldMolarity = m.strongestSold()
		if m.calledAs != nil && !sameMatter(m.calledAs, m.sp) {
			f.CalledAs, f.CalledLive = m.calledAs.name, m.calledAs.live
		}
		raw := ""
		if m.row.Amount != nil {
			raw = m.row.Amount.Raw
		}
		small := has(m.name+m.row.Form.S+m.row.Role.S+raw, "crystal", "starter", "initiator", "boiling", "indicator", "drying agent", "seed", "stone", "chip") || has(m.row.Role.S+m.name, "catalyst") && !m.sp.live && m.sp.need < 2
		f.Needed = !small && !b.onlyEluent(m) && (!m.desiccant || !b.driesWith(m)) && !m.sp.is("drying salt", "adsorbent", "filter aid", "indicator", "molecular sieve", "inert gas", "salt")
		f.Peroxide = m.sp.sub != nil && m.sp.sub.PeroxideClass != nil || m.solvent != nil && m.solvent.sub != nil && m.solvent.sub.PeroxideClass != nil
		f.Concentrated = b.evaporated(m)
		for _, r := range b.reactions {
			for _, c := range r.consumes {
				if c.sp != m.sp {
					continue
				}
				need := math.Inf(1)
				for _, d := range r.consumes {
					if d.sp == c.sp {
						continue
					}
					if total, known := b.planned(d.sp); known {
						need = math.Min(need, total/d.n*c.n)
					}
				}
				if have, known := b.planned(c.sp); known && !math.IsInf(need, 1) && need > 0 {
					f.ExcessPct = Got((have - need) / need * 100)
					if n, known := b.neededOn(r, c); known {
						need = math.Min(need, n) // what it makes is asked for by less than it makes
					}
					f.SparePct = Got((have - need) / need * 100)
				}
			}
		}
		if m.sp.live && m.mmol.Known {
			// a declared reaction takes what its scarcest partner allows, however
			// many partners share the reagent; none of them counts again
			sites, handed, known := 0.0, 0.0, false
			partner := map[*species]bool{}
			for _, r := range b.reactions {
				if n := b.reactionNeeds(r, m.sp, partner); n.Known {
					sites, known = sites+n.V*math.Max(m.sp.eq, 1), true
				}
			}
			for _, o := range b.materials {
				if o.sp == m.sp || partner[o.sp] || !b.countsAsSite(o) {
					continue
				}
				if o.sp.protic > 0 && meetsProton(m.sp, o.sp) {
					known = true
					if o.sp.is("amine", "silazane") && m.sp.is("organolithium") {
						handed += o.mmol.V * o.sp.protic // makes the amide, which goes on
					} else {
						sites += o.mmol.V * o.sp.protic
					}
				}
				if o.sp.electro > 0 && meetsSite(m.sp, o.sp) {
					sites += o.mmol.V * o.sp.electro
					known = true
				}
			}
			sites = math.Max(sites, handed)
			if known {
				f.Sites = Got(sites / math.Max(m.sp.eq, 1))
			}
		}
		f.MakesMmol = Missing("the amounts of the reaction")
		if made, n := b.makesLive(m); made != nil {
			f.Makes, f.MakesMmol = made.name, Got(n)
			f.Sites = b.sitesOfMade(made, n)
		}
		b.ownSolvent(m)
		span := m.row.Name.Span
		b.emit(Event{Kind: "material", Span: span, Subject: m.name, Facts: f, Cause: b.join("material ", m.name, "")})
	}
}

// makesLive is the carbanion or hydride that a row is turned into before anything
// else, where that row limits how much of it there is: of a Grignard reagent made
// in the flask that is the halide, if the metal is in excess. With the amount, mmol.
func (b *Bench) makesLive(m *material) (*species, float64) {
	if !m.mmol.Known || m.sp.live && m.sp.active != "metal" {
		return nil, 0
	}
	for _, r := range b.reactions {
		n, least := 0.0, math.Inf(1)
		for _, c := range r.consumes {
			have, known := b.planned(c.sp)
			if !known || c.n <= 0 {
				least = 0
				break
			}
			if c.sp == m.sp {
				n = c.n
			}
			least = math.Min(least, have/c.n)
		}
		if n == 0 || least <= 0 || m.mmol.V/n > least*1.001 {
			continue
		}
		for _, g := range r.gives {
			if g.sp.live && g.sp.active == "carbanion" && !b.listed(g.sp) {
				return g.sp, least * g.n
			}
		}
	}
	for _, r := range b.reactions {
		for _, c := range r.consumes {
			if c.sp.live && c.sp.active == "carbanion" && !b.listed(c.sp) {
				if n, from := b.madeFromTable(c.sp); from == m.name {
					return c.sp, n
				}
			}
		}
	}
	return nil, 0
}

// listed reports a species that a row of the table is.
func (b *Bench) listed(sp *species) bool {
	return slices.ContainsFunc(b.materials, func(m *material) bool { return m.sp == sp })
}

// sitesOfMade is how much of a reagent made in the flask what it meets before the
// quench takes up, mmol: by the declared reactions that use it, and by protons of
// everything else that is there. Where the reactions alone could take more than
// there is, a partner is in excess and takes what it finds: not known.
func (b *Bench) sitesOfMade(made *species, mmol float64) Num {
	sites, known := 0.0, false
	partner := map[*species]bool{}
	for _, r := range b.reactions {
		if n := b.reactionNeeds(r, made, partner); n.Known {
			sites, known = sites+n.V, true
		}
	}
	if !known || sites > 1.01*mmol {
		return Missing("the amounts of the reaction")
	}
	for _, o := range b.materials {
		if !partner[o.sp] && b.countsAsSite(o) && o.sp.protic > 0 && meetsProton(made, o.sp) && !o.sp.live {
			sites += o.mmol.V * o.sp.protic
		}
	}
	return Got(sites / math.Max(made.eq, 1))
}

// ownSolvent sets a live reagent against the solvent it is written to be in,
// unless it is known to be sold in that solvent or in one of its family.
func (b *Bench) ownSolvent(m *material) {
	if !m.used || m.solvent == nil || m.sp.sub == nil || m.solvent.sub == nil || !(m.sp.live || strongBaseKind(m.sp.active)) || m.sp.is("borohydride", "alkoxide", "hydroxide") {
		return
	}
	for _, s := range m.sp.sub.Solutions {
		q, err := quantity.ParseSolution(s.As)
		if err != nil {
			continue
		}
		if o := b.lookup(q.Solvent); o != nil && o.family == m.solvent.family {
			return
		}
	}
	for _, c := range b.c.Clash(m.sp.sub, m.solvent.sub) {
		if c.By == "chart" {
			continue
		}
		f := &ContactFacts{A: m.sp.name, B: m.solvent.name, FamilyA: m.sp.family, FamilyB: m.solvent.family, Consequence: word(c.Because, c.Consequence), Severe: true, Kind: "own solvent", Vessel: b.facts(nil), Source: c.Source, TemperatureC: Got(b.roomT())}
		bottle := *f.Vessel
		bottle.Name = "its bottle"
		f.Vessel = &bottle
		b.emit(Event{Kind: "contact", Span: m.row.Name.Span, Facts: f, Subject: b.join(m.name, " in ", m.solvent.name), Cause: "contact " + m.sp.name + "|" + m.solvent.name})
		return
	}
}

// strongestSold is the highest molarity among the solutions that the
// compendium knows to be sold or usual; not known when it names none, nor for
// one in water.
func (m *material) strongestSold() Num {
	if !m.sp.sold.Known || m.solvent != nil && m.solvent.family == "water" {
		return Missing("the strengths that " + m.name + " is sold at")
	}
	return m.sp.sold
}

func strongestSold(of *substance.Substance, mw float64) (out Num) {
	if mw <= 0 {
		return out
	}
	for _, s := range of.Solutions {
		q, err := quantity.ParseSolution(s.As)
		if err != nil || !q.Strength.Known() {
			continue
		}
		v := 0.0
		switch q.Strength.Dim {
		case quantity.Molarity:
			v = q.Strength.Max()
		case quantity.Fraction:
			rho := 1.0
			if s.Density != nil {
				rho = *s.Density
			}
			v = q.Strength.Max() * rho / mw * 1000
		}
		if v > out.V {
			out = Got(v)
		}
	}
	return out
}

// countsAsSite reports a material of known amount that can meet a reagent
// before the quench.
func (b *Bench) countsAsSite(m *material) bool {
	return m.mmol.Known && m.sp.family != "water" && (m.solvent == nil || m.solvent.family != "water") && !b.usedOnlyAfterQuench(m)
}

// reactionNeeds is how much of a reagent one declared reaction can take, mmol:
// by the scarcest of its partners in the table. It notes them in partner. Not
// known when the reaction does not consume the reagent or no partner's amount
// is written.
func (b *Bench) reactionNeeds(r *reaction, reagent *species, partner map[*species]bool) Num {
	var n float64
	for _, c := range r.consumes {
		if c.sp == reagent {
			n = c.n
		}
	}
	need := math.Inf(1)
	if n > 0 {
		for _, c := range r.consumes {
			if c.sp == reagent {
				continue
			}
			total := 0.0
			for _, m := range b.materials {
				if m.sp == c.sp && b.countsAsSite(m) {
					total += m.mmol.V
				}
			}
			if total > 0 {
				partner[c.sp] = true
				need = math.Min(need, total/c.n*n)
			}
		}
	}
	if math.IsInf(need, 1) {
		return Missing("the amounts of the reaction")
	}
	return Got(need)
}

// onlyEluent reports a material that serves only to run a column: that is
// given by ratio, not by amount.
func (b *Bench) onlyEluent(m *material) bool {
	used := false
	for _, s := range b.p.Steps {
		for _, ts := range [][]procedure.Text{s.Object, s.With, s.In, s.Into, s.To, s.Then, s.RinseWith} {
			for _, t := range ts {
				if !sameName(t.S, m.name) {
					continue
				}
				if s.Verb.Name != "chromatograph" {
					return false
				}
				used = true
			}
		}
	}
	return used
}

// driesWith reports that a material is used as a drying agent.
func (b *Bench) driesWith(m *material) bool {
	if has(m.row.Role.S, "drying", "desiccant") {
		return true
	}
	for _, s := range b.p.Steps {
		if s.Verb.Name != "dry" && s.Verb.Name != "distil" {
			continue
		}
		for _, t := range s.With {
			if sameName(t.S, m.name) {
				return true
			}
		}
	}
	return false
}

// amountGiven reports a figure or a word of the trade; "one small piece" is
// neither.
func amountGiven(a *procedure.Amount) bool {
	if a == nil {
		return false
	}
	for _, q := range a.All {
		if q.Dim == quantity.Count && !has(q.Raw, "drop", "equiv") {
			continue
		}
		return true
	}
	return false
}

// usedOnlyAfterQuench reports that a material first comes in with or after the
// quench.
func (b *Bench) usedOnlyAfterQuench(m *material) bool {
	q := 0
	for _, s := range b.p.Steps {
		switch s.Verb.Name {
		case "quench", "destroy", "extract", "wash", "separate", "filter", "concentrate":
			if q == 0 {
				q = s.N
			}
		}
	}
	if q == 0 {
		return m.firstStep == 0
	}
	return m.firstStep == 0 || m.firstStep >= q
}

func (b *Bench) evaporated(m *material) bool {
	for _, e := range b.trace.Events {
		h, ok := e.Facts.(*HeatingFacts)
		if !ok || h.Verb != "concentrate" && h.Verb != "distil" {
			continue
		}
		if slices.Contains(h.Vessel.Contents, m.sp.name) || m.solvent != nil && slices.Contains(h.Vessel.Contents, m.solvent.name) {
			return true
		}
	}
	return false
}

func (b *Bench) yield(f *ProcedureFacts) {
	p := b.p.Product
	if p == nil {
		return
	}
	mw := 0.0
	if p.Formula.Is() {
		if x, err := substance.ParseFormula(p.Formula.S); err == nil {
			mw = x.Mass()
		} else {
			b.problem("format/value", p.Formula.Span, "found "+quoted(p.Formula.S)+" as a formula: "+err.Error(), "formula: C11H16O")
		}
	}
	if mw == 0 {
		if sp := b.lookup(p.Name.S); sp != nil {
			mw = sp.mw
		}
	}
	f.MeltingOffK = Missing("the melting point of the product")
	if m := p.Melting; m != nil && m.Known() {
		if sp := b.lookup(p.Name.S); sp != nil && sp.fp.Known && sp.sub != nil && !sp.liquid {
			switch {
			case m.High < sp.fp.V:
				f.MeltingOffK = Got(m.High - sp.fp.V)
			case m.Low > sp.fp.V:
				f.MeltingOffK = Got(m.Low - sp.fp.V)
			default:
				f.MeltingOffK = Got(0)
			}
		}
	}
	if lim := f.LimitingMmol; lim.Known && mw > 0 {
		f.TheoreticalG = Got(lim.V * mw / 1000)
		// the declared reactions say how many mol of product there can be: two of
		// one, one of two; and a partner that runs short earlier in the chain limits
		// it, whatever the text says it comes from
		if most, short := b.mostPossible(); most > 0.01*lim.V && math.Abs(most-lim.V) > 0.02*lim.V {
			of, note := most/lim.V, "the declared reactions in full"
			if per := b.productPer(p.From.S); per > 0 {
				of /= per
			}
			if of = math.Min(1, of); of < 0.98 {
				note += ": " + word(short, "a partner") + " runs short"
				f.Short = short
			}
			f.TheoreticalG = Num{V: most * mw / 1000, Known: true, Note: note}
			f.PossiblePercent = Got(100 * of)
		} else if most > 0 {
			f.PossiblePercent = Got(math.Min(100, 100*most/lim.V))
		}
	}
	if q, ok := p.Expected.Of(quantity.Mass); ok && q.Known() {
		f.ExpectedG = Got(q.Value())
		if e := endsOf(q); e.ranged() {
			f.ExpectedG = Assume(q.High, e.upper())
		}
	} else if q, ok := p.Expected.Of(quantity.Amount); ok && q.Known() && mw > 0 {
		f.ExpectedG = Got(q.Value() * mw / 1000)
		if e := endsOf(q); e.ranged() {
			f.ExpectedG = Assume(q.High*mw/1000, e.upper())
		}
	}
	if f.ExpectedG.Known && f.TheoreticalG.Known && f.TheoreticalG.V > 0 {
		f.YieldPercent = Num{V: f.ExpectedG.V / f.TheoreticalG.V * 100, Known: true, Note: f.ExpectedG.Assumed()}
	}
	if p.Yield != nil && p.Yield.Known() && p.Yield.Dim == quantity.Fraction {
		f.StatedYield = Got(p.Yield.High * 100)
	}
}

// mostPossible is the most product that the declared reactions can give from
// the amounts of the table, each run in full and as often as its partners come
// back (a catalyst, a base that is set free again), mmol, and the material that
// runs out first. Reagents that the text makes without saying so count: a
// Grignard reagent from its metal and halide, an amide from its amine. Zero when
// the reactions do not lead to the product.
func (b *Bench) mostPossible() (mmol float64, short string) {
	if len(b.reactions) == 0 || b.productSpecies() == nil {
		return 0, ""
	}
	have, names := map[*species]float64{}, map[*species]string{}
	for _, m := range b.materials {
		n := math.Inf(1)
		if m.mmol.Known && b.unsure[m.sp] == "" {
			n = m.mmol.V
		}
		have[m.sp] += n
		names[m.sp] = m.name
	}
	given := map[*species]bool{}
	for _, r := range b.reactions {
		for _, g := range r.gives {
			given[g.sp] = true
		}
	}
	for _, r := range b.reactions {
		for _, c := range r.consumes {
			if _, listed := have[c.sp]; listed || given[c.sp] {
				continue
			}
			n, from := b.madeFromTable(c.sp)
			have[c.sp], names[c.sp] = n, from
		}
	}
	ran, path := make([]float64, len(b.reactions)), b.pathToProduct()
	for range 200 {
		moved := false
		for i, r := range b.reactions {
			if !path[i] {
				continue // what competes with it is not counted against the most
			}
			extent := math.Inf(1)
			for _, c := range r.consumes {
				extent = math.Min(extent, have[c.sp]/c.n)
			}
			if len(r.consumes) == 0 || extent < 1e-6 {
				continue
			}
			if math.IsInf(extent, 1) {
				return 0, "" // nothing in it has a known amount
			}
			for _, c := range r.consumes {
				have[c.sp] -= extent * c.n
			}
			for _, g := range r.gives {
				have[g.sp] += extent * g.n
			}
			ran[i] += extent
			moved = true
		}
		if !moved {
			break
		}
	}
	for sp, n := range have {
		if !math.IsInf(n, 1) && n > trace {
			mmol += n * b.productIn(sp)
		}
	}
	// what stopped the first reaction of the chain that fell short
	least := math.Inf(1)
	for i, r := range b.reactions {
		for _, c := range r.consumes {
			if names[c.sp] != "" && have[c.sp] <= 1e-6 && ran[i] > 0 && ran[i] < least-1e-9 {
				least, short = ran[i], names[c.sp]
			}
		}
	}
	return mmol, short
}

// productPer is how many mol of the product the declared reactions give for one mol
// of a material, by the shortest way from it; 0 where they do not lead there.
func (b *Bench) productPer(name string) float64 {
	m := b.material(name)
	if m == nil {
		return 0
	}
	per, seen := map[*species]float64{m.sp: 1}, []*species{m.sp}
	for i := 0; i < len(seen); i++ {
		sp := seen[i]
		if n := b.productIn(sp); n > 0 {
			return n * per[sp]
		}
		for _, r := range b.reactions {
			c := countOf(r.consumes, sp)
			if c <= 0 {
				continue
			}
			for _, g := range r.gives {
				if per[g.sp] == 0 && g.n > 0 {
					per[g.sp] = per[sp] * g.n / c
					seen = append(seen, g.sp)
				}
			}
		}
	}
	return 0
}

// productIn is how many mol of the product a mol of a species is or sets free.
func (b *Bench) productIn(sp *species) float64 {
	if b.isProduct(sp) {
		return 1
	}
	given, _ := b.madeHere(sp)
	water := b.lookup("water")
	if !given || water == nil || b.consumed(sp) || b.fateOf(sp) == fateStays {
		return 0
	}
	n := 0.0
	for _, g := range b.hydrolysis(sp, water, byWater).gives {
		if b.isProduct(g.sp) {
			n += g.n
		}
	}
	return n
}

// pathToProduct marks the declared reactions that lead to the product.
func (b *Bench) pathToProduct() []bool {
	path := make([]bool, len(b.reactions))
	for changed := true; changed; {
		changed = false
		for i, r := range b.reactions {
			if path[i] {
				continue
			}
			for _, g := range r.gives {
				path[i] = path[i] || b.productIn(g.sp) > 0
				for j, next := range b.reactions {
					path[i] = path[i] || path[j] && j != i && countOf(next.consumes, g.sp) > 0
				}
			}
			changed = changed || path[i]
		}
	}
	return path
}

// madeFromTable is how much of a reagent the table's metal and halide, or amine
// and organolithium, make without a declared reaction; any amount when it
// cannot be said.
func (b *Bench) madeFromTable(sp *species) (mmol float64, from string) {
	for _, x := range b.materials {
		for _, y := range b.materials {
			if x.sp.sub == nil || y.sp.sub == nil || !x.mmol.Known || !y.mmol.Known {
				continue
			}
			per := 1.0
			var s *substance.Substance
			ok := false
			if y.sp.is("organolithium") {
				s, ok = b.c.MetalAmide(x.sp.sub, y.sp.sub)
			}
			if metal := metalOf(y.sp); !ok && metal != "" && x.sp.is(halideFamilies...) {
				s, ok = b.c.Organometallic(x.sp.sub, metal)
				if metal == "lithium" {
					per = 2
				}
			}
			if !ok || b.species(s) != sp {
				continue
			}
			if y.mmol.V/per < x.mmol.V {
				return y.mmol.V / per, y.name
			}
			return x.mmol.V, x.name
		}
	}
	return math.Inf(1), ""
}

// neededOn is how much of one partner the reactions after its own ask for: the
// amide of an amine and an alkyllithium is measured by the ketone it meets.
func (b *Bench) neededOn(r *reaction, c share) (float64, bool) {
	most, known := 0.0, false
	for _, g := range r.gives {
		sum, any := 0.0, false
		for _, next := range b.reactions {
			if next == r {
				continue
			}
			for _, d := range next.consumes {
				if d.sp != g.sp || d.n <= 0 {
					continue
				}
				least := math.Inf(1)
				for _, o := range next.consumes {
					if have, ok := b.planned(o.sp); ok && o.sp != d.sp && o.n > 0 {
						least = math.Min(least, have/o.n*d.n)
					}
				}
				if !math.IsInf(least, 1) {
					sum, any = sum+least, true
				}
			}
		}
		if any && g.n > 0 {
			most, known = math.Max(most, sum/g.n*c.n), true
		}
	}
	return most, known
}
