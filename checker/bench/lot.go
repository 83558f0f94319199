package bench

import (
	"math"
	"slices"
	"strings"

	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
)

// lot is what moves in one transfer: portions, the water traces with them,
// and the material they are if they come straight from the table.
type lot struct {
	name     string
	m        *material
	from     *vessel
	portions []portion
	traces   []waterSource
	blur     string // question, when the amount is not known
	share    float64
	degassed bool
	air      aeration
	grows    float64 // mL that it gained since it was measured cold
	// openSource: it comes out of a vessel open to the air
	openSource bool
}

func (l *lot) ml() float64 {
	var v float64
	for _, p := range l.portions {
		v += p.ml
	}
	return v
}

func (l *lot) mmol(sp *species) float64 {
	var n float64
	for _, p := range l.portions {
		if sp == nil || p.sp == sp {
			n += p.mmol
		}
	}
	return n
}

func (l *lot) has(f func(*species) bool) bool {
	return slices.ContainsFunc(l.portions, func(p portion) bool { return f(p.sp) && p.mmol > trace })
}

// shareOf turns a step's amount into a share of a whole: of a material's row
// or of what a vessel holds.
func shareOf(a *procedure.Amount, mmol, g, ml, left float64) (float64, bool) {
	if !a.Is() {
		return left, true
	}
	for _, q := range a.All {
		if sameName(q.Word, "rest") || has(q.Word, "rest", "remain") {
			return left, true
		}
		if has(q.Word, "second half") {
			return math.Min(left, 0.5), true
		}
		if !q.Known() {
			continue
		}
		switch q.Dim {
		case quantity.Fraction:
			return math.Min(1, q.Total()), true
		case quantity.Volume:
			if ml > 0 {
				return q.Total() / ml, true
			}
		case quantity.Mass:
			if g > 0 {
				return q.Total() / g, true
			}
		case quantity.Amount:
			if mmol > 0 {
				return q.Total() / mmol, true
			}
		}
	}
	return left, false
}

// fetch takes what a step names: from the vessel it says, from a vessel of
// that name, or from the materials table.
func (b *Bench) fetch(s *procedure.Step, t procedure.Text, dest *vessel) *lot {
	l := &lot{name: t.S, share: 1}
	// from a vessel that already holds it
	for _, f := range s.From {
		src := b.place(f, false)
		if src == nil || src == dest || len(src.contents) == 0 {
			continue
		}
		m := b.material(t.S)
		var holds bool
		for _, p := range src.contents {
			if m != nil && (p.from == m.name || p.sp == m.sp) {
				holds = true
			}
		}
		if sp := b.lookup(t.S); sp != nil && src.find(sp) != nil {
			holds = true
		}
		if holds || m == nil || m.left <= 0 {
			l.from = src
			if holds {
				l.m = m
			}
			break
		}
	}
	if l.from == nil {
		if v := b.madeUp(s, t, dest); v != nil {
			l.from, l.m = v, b.material(t.S) // it is no longer in its bottle
		} else if m := b.material(t.S); m != nil && b.vesselNamed(t.S) == nil {
			l.m = m
			return b.fetchMaterial(l, s, m)
		}
		if v := b.place(t, false); v != nil && v != dest {
			l.from = v
		}
	}
	if l.from != nil {
		v := l.from
		dest.comesFrom(v)
		ml := v.volume()
		var g, n float64
		for _, p := range v.contents {
			g += p.g
			n += p.mmol
		}
		share, ok := shareOf(s.Amount, n, g, ml, 1)
		if !ok {
			l.blur = "how much of " + v.name + " goes over"
		}
		l.share = math.Min(1, share)
		var stays []portion
		if meth, _ := b.method(s, nil); meth == "cannula" || meth == "syringe" || meth == "pipette" {
			// what does not dissolve stays in the source
			for i := len(v.contents) - 1; i >= 0; i-- {
				if sp := v.contents[i].sp; v.volume() > 0 && (sp.is("alkali metal", "alkaline-earth metal", "zinc metal", "metal powder", "molecular sieve", "drying salt", "filter aid", "adsorbent") || has(sp.name, "palladium on")) {
					stays = append(stays, v.contents[i])
					v.contents = slices.Delete(v.contents, i, i+1)
				}
			}
		}
		l.grows = v.grows * l.share
		l.portions = v.pourOut(l.share)
		for _, p := range stays {
			v.put(p)
		}
		for i := range v.traces {
			x := v.traces[i]
			x.mmol *= l.share
			v.traces[i].mmol -= x.mmol
			l.traces = append(l.traces, x)
		}
		if v.budget != nil && l.has(func(sp *species) bool { return sp.live }) {
			b.closeBudget(v)
		}
		l.degassed, l.air = v.degassed, v.air
		l.openSource = v.conn == connOpen && v.rank == 0 && !v.bench
		if v.piece != nil && (v.piece.class == "funnel" || v.piece.class == "syringe" || v.piece.class == "cannula") {
			l.openSource = v.madeOpen
		}
		dest.madeOpen = dest.madeOpen || l.openSource && v.piece != nil && v.piece.thin
		l.blur = word(l.blur, v.blur)
		if v.product {
			dest.product = true
		}
		if v.workupDried {
			dest.workupDried = true
		}
		return l
	}
	// neither material nor vessel: a substance named only in the step
	if sp := b.lookup(t.S); sp != nil {
		n := 2 * b.enough(&material{row: &procedure.Material{Name: t}, name: t.S, sp: sp}, s)
		l.portions = []portion{{sp: sp, mmol: n, g: n * sp.mw / 1000, from: t.S}}
		if sp.liquid && sp.density > 0 {
			l.portions[0].ml = l.portions[0].g / sp.density
		}
		if q, ok := s.Amount.Of(quantity.Volume); ok && q.Known() && sp.density > 0 && sp.mw > 0 {
			ml := q.Total()
			l.portions = []portion{{sp: sp, mmol: ml * sp.density / sp.mw * 1000, g: ml * sp.density, ml: ml, from: t.S}}
		} else if q, ok := s.Amount.Of(quantity.Mass); ok && q.Known() && sp.mw > 0 {
			l.portions = []portion{{sp: sp, mmol: q.Total() / sp.mw * 1000, g: q.Total(), from: t.S}}
			if sp.density > 0 && sp.liquid {
				l.portions[0].ml = q.Total() / sp.density
			}
		} else {
			l.blur = "the amount of " + t.S
		}
		b.bring(l.portions)
		l.m = b.rowless(sp, t, l)
		if !sp.is("filter aid", "adsorbent", "inert gas", "water") {
			b.materials = append(b.materials, l.m) // its amount is asked for like any other
			if sp.live && l.blur != "" {
				b.unsure[sp] = l.blur
			}
		}
		return l
	} else {
		if dest != nil && b.p.Product != nil && sameName(t.S, b.p.Product.Name.S) {
			return l
		}
		b.unknownName(t.S, t.Span)
		u := b.unknownSpecies(t.S)
		l.portions = []portion{{sp: u, mmol: 1, g: 0.1, from: t.S}}
		b.bring(l.portions)
		l.blur = "the amount of " + t.S
	}
	return l
}

// rowless stands in for a material that a step uses and no table lists.
func (b *Bench) rowless(sp *species, t procedure.Text, l *lot) *material {
	row := &procedure.Material{Name: t, Span: t.Span}
	m := &material{row: row, name: t.S, sp: sp, known: true, left: 0, portions: 1, used: true,
		mmol: b.ask("the amount of ", t.S, ""), g: b.ask("the amount of ", t.S, ""), ml: b.ask("the amount of ", t.S, ""), molarity: b.ask("the concentration of ", t.S, ""), waterPPM: b.ask("the dryness of ", t.S, ""), shelf: b.shelfOf(row), equivalents: Missing("the limiting reagent"), mismatch: Missing("the amount")}
	if l.blur == "" {
		m.mmol, m.g, m.ml = Got(l.mmol(sp)), Got(l.portions[0].g), Got(l.ml())
	}
	return m
}

func (b *Bench) fetchMaterial(l *lot, s *procedure.Step, m *material) *lot {
	m.used = true
	if m.firstStep == 0 {
		m.firstStep = s.N
	}
	share, ok := shareOf(s.Amount, m.mmol.V, m.g.V, m.ml.V, m.left)
	if ok && s.Amount.Is() {
		m.taken += share
	}
	if !ok && !m.mix0() {
		// the row has no amount, the step does
		if q, isVol := s.Amount.Of(quantity.Volume); isVol && q.Known() {
			return b.stepAmount(l, m, q)
		}
		if q, isMass := s.Amount.Of(quantity.Mass); isMass && q.Known() {
			return b.stepAmount(l, m, q)
		}
	}
	if !s.Amount.Is() && m.left <= 0 {
		share = 1 // used again without a figure: the careful reading is the whole
	}
	if s.Amount != nil && (!ok || !s.Amount.Is()) && has(s.Amount.Raw, "piece", "crystal", "speck", "a little", "small", "first", "drop") && !slices.Contains(strings.Fields(s.Amount.Raw), "all") {
		share = math.Min(m.left, 0.05) // an uncounted first part: a twentieth (common practice); the rest follows
	}
	b.usedMaterial(m, share)
	l.share = share
	for _, p := range m.mix {
		l.portions = append(l.portions, portion{p.sp, p.mmol * share, p.g * share, p.ml * share, m.name, p.maybe})
	}
	_, molar := m.row.Amount.Of(quantity.Amount) // moles are known though the strength is not
	if m.assayMissing && !molar && m.sp.live && len(l.portions) > 0 && l.portions[0].sp == m.sp {
		// strength unknown: taken as enough, and what rests on it is asked for
		n := b.enough(m, s)
		l.portions[0] = portion{sp: m.sp, mmol: n, g: n * m.sp.mw / 1000, from: m.name}
		b.unsure[m.sp] = "the concentration of " + m.name
	}
	if m.unweighed && m.sp.live {
		b.unsure[m.sp] = m.sp.massAsk()
	}
	if len(m.mix) == 0 {
		// an amount that is not stated is taken as enough for what it meets
		enough := b.enough(m, s)
		l.portions = []portion{{sp: m.sp, mmol: enough, g: enough * m.sp.mw / 1000, from: m.name}}
		ice := m.sp.name == "ice" && b.lookup("water") != nil
		if ice {
			// ice is water as soon as anything is poured on it
			l.portions[0].sp, l.portions[0].ml = b.lookup("water"), l.portions[0].g
		}
		if m.sp.liquid || m.solvent != nil || ice {
			l.blur = "the amount of " + m.name
		}
		if m.solvent != nil {
			l.portions = append(l.portions, portion{sp: m.solvent, mmol: 100, g: 0.1, ml: 0.1, from: m.name})
		}
		if m.sp.liquid && m.sp.density > 0 {
			l.portions[0].ml = l.portions[0].g / m.sp.density
		}
		if m.sp.live {
			b.unsure[m.sp] = "the amount of " + m.name
		}
	}
	b.bring(l.portions)
	l.degassed, l.air = m.degassed, m.airOf()
	l.traces = b.tracesOf(m, share)
	return l
}

// madeUp finds the vessel in which all of a material was dissolved, where a later
// step adds it by its name alone: what is added is that solution.
func (b *Bench) madeUp(s *procedure.Step, t procedure.Text, dest *vessel) *vessel {
	m := b.material(t.S)
	if m == nil || len(s.From) > 0 || s.Amount.Is() || m.left > 0 {
		return nil
	}
	v := b.solutionOf[m]
	if v == nil || v == dest || v.gone || v.discarded || !slices.ContainsFunc(v.contents, func(p portion) bool { return p.from == m.name && p.sp == m.sp }) {
		return nil
	}
	return v
}

// dissolved notes where all that there is of a material was dissolved.
func (b *Bench) dissolved(s *procedure.Step, dest *vessel) {
	for _, o := range s.Object {
		m := b.material(o.S)
		if m == nil || m.left > 0 || m.sp.is("drying salt", "inert gas") {
			continue
		}
		if b.solutionOf == nil {
			b.solutionOf = map[*material]*vessel{}
		}
		b.solutionOf[m] = dest
	}
}

// enough is how much of a material whose amount is not stated is taken: as
// much as the largest known partner needs, at least 1 mmol.
func (b *Bench) enough(m *material, s *procedure.Step) float64 {
	n := 1.0
	raw := m.row.Form.S + m.row.Role.S + m.name
	if m.row.Amount.Is() {
		raw += " " + m.row.Amount.Raw
	}
	if has(raw, "crystal", "starter", "speck", "seed", "initiator", "trace", "indicator", "spatula") {
		return 100 / math.Max(m.sp.mw, 50) // a crystal is about 0.1 g (common practice)
	}
	if m.sp.is("inert gas", "drying salt", "adsorbent", "filter aid", "indicator") {
		return n
	}
	for _, o := range b.materials {
		if o.sp == m.sp || !o.mmol.Known || o.sp.family == "water" || o.solvent != nil && o.solvent.family == "water" {
			continue
		}
		if o.sp.electro > 0 || o.sp.active != "" || o.sp.is(halideFamilies...) || o.sp.live {
			n = math.Max(n, o.mmol.V*math.Max(1, o.sp.eq))
		}
	}
	for _, r := range b.reactions {
		for _, c := range r.consumes {
			if c.sp != m.sp {
				continue
			}
			for _, d := range r.consumes {
				if total, known := b.planned(d.sp); known && d.sp != m.sp {
					n = math.Max(n, total/d.n*c.n*1.1)
				}
			}
		}
	}
	return n
}

func (m *material) mix0() bool { return len(m.mix) > 0 }

func (b *Bench) usedMaterial(m *material, share float64) {
	m.used = true
	m.left = math.Max(0, m.left-share)
	if m.left < 1e-9 {
		m.left = 0
	}
	if b.step != nil && m.firstStep == 0 {
		m.firstStep = b.step.N
	}
}

func (b *Bench) stepAmount(l *lot, m *material, q quantity.Quantity) *lot {
	row := *m.row
	row.Amount = &procedure.Amount{All: []quantity.Quantity{q}, Raw: q.Raw}
	x := b.resolve(&row)
	l.portions = slices.Clone(x.mix)
	b.bring(l.portions)
	l.traces = b.tracesOf(x, 1)
	l.m = x
	x.used, x.firstStep = true, m.firstStep
	l.degassed, l.air = m.degassed, m.airOf()
	return l
}

// tracesOf is the water that a share of a material brings along.
func (b *Bench) tracesOf(m *material, share float64) []waterSource {
	var out []waterSource
	liquid := m.sp
	if m.solvent != nil {
		liquid = m.solvent
	}
	if m.sp.hydrate > 0 && !m.driedSolid {
		out = append(out, waterSource{kind: "solid", name: m.name, mmol: m.mmol.V * share * m.sp.hydrate, grade: "hydrate"})
	}
	if m.solvent == nil && !liquid.liquid && liquid.family != "water" && !m.driedSolid {
		switch {
		case m.waterPPM.Known && m.waterPPM.V > 0 && m.g.Known:
			out = append(out, waterSource{kind: "solid", name: m.name, mmol: m.g.V * share * m.waterPPM.V * 1e-3 / waterMass, grade: "damp", assumed: m.waterPPM.Assumed()})
		case !m.waterPPM.Known && m.saidDamp():
			out = append(out, waterSource{kind: "solid", name: m.name, ppm: math.NaN(), grade: "damp"})
		}
	}
	if liquid.family == "water" || !liquid.liquid || m.ml.V*share < 0.3 && m.sp.electro > 0 {
		return out
	}
	for _, r := range b.reactions {
		for _, c := range r.consumes {
			if c.sp == m.sp && m.solvent == nil && !m.waterPPM.Known {
				return out // a reactant
			}
		}
	}
	if m.sp.takesWater() {
		return out // what water destroys brings none, whatever it is kept in
	}
	solventLike := liquid.is("ether", "alkane", "arene", "halogenated solvent", "sulfoxide") || has(m.row.Role.S, "solvent") || liquid.protic == 0 && liquid.electro == 0 && liquid.active == "" && !liquid.is(halideFamilies...)
	if m.solvent == nil && (!solventLike || has(m.row.Role.S, "electrophile", "substrate", "reagent", "alkene")) && !m.waterPPM.Known {
		return out // a reagent in small measure; its dryness is asked for elsewhere
	}
	w := waterSource{kind: "solvent", name: m.name, ml: m.ml.V * share, rho: m.rho(), grade: m.grade, workup: m.driedAsWorkup, assumed: m.waterPPM.Assumed()}
	if m.dried != "" {
		w.grade = "dried with " + m.dried
	}
	if m.waterPPM.Known {
		w.ppm = m.waterPPM.V
		w.mmol = MolarWater(w.ml, w.rho, w.ppm)
	} else {
		w.ppm = math.NaN()
		w.grade = word(w.grade, "not stated")
	}
	if !m.ml.Known {
		w.ppm = math.NaN()
	}
	return append(out, w)
}

// saidDamp reports a solid that its row calls damp without a figure.
func (m *material) saidDamp() bool {
	text := m.row.Form.S + " " + m.row.Grade.S + " " + m.row.Note.S
	return has(text, "damp", "moist", "wet with water", "water-wet", "not dried", "undried")
}
