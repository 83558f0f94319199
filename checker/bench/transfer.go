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
	acid     float64
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
		if strings.EqualFold(q.Word, "rest") || has(q.Word, "rest", "remain") {
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
		if m := b.material(t.S); m != nil && b.vesselNamed(t.S) == nil {
			l.m = m
			return b.fetchMaterial(l, s, m)
		}
		if v := b.place(t, false); v != nil && v != dest {
			l.from = v
		}
	}
	if l.from != nil {
		v := l.from
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
		l.portions = v.pourOut(l.share)
		for _, p := range stays {
			v.put(p)
		}
		l.acid = v.acid * l.share
		v.acid -= l.acid
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
		l.m = b.rowless(sp, t, l)
		if !sp.is("filter aid", "adsorbent", "inert gas", "water") {
			b.materials = append(b.materials, l.m) // its amount is asked for like any other
			if sp.live && l.blur != "" {
				b.unsure[sp] = l.blur
			}
		}
		return l
	} else {
		if dest != nil && b.p.Product != nil && strings.EqualFold(t.S, b.p.Product.Name.S) {
			return l
		}
		b.unknownName(t.S, t.Span)
		u := b.unknownSpecies(t.S)
		l.portions = []portion{{sp: u, mmol: 1, g: 0.1, from: t.S}}
		l.blur = "the amount of " + t.S
	}
	return l
}

// rowless stands in for a material that a step uses and no table lists.
func (b *Bench) rowless(sp *species, t procedure.Text, l *lot) *material {
	row := &procedure.Material{Name: t, Span: t.Span}
	m := &material{row: row, name: t.S, sp: sp, known: true, left: 0, portions: 1, used: true,
		mmol: Missing("the amount of " + t.S), g: Missing("the amount of " + t.S), ml: Missing("the amount of " + t.S), molarity: Missing("the concentration of " + t.S), waterPPM: Missing("the dryness of " + t.S), equivalents: Missing("the limiting reagent"), mismatch: Missing("the amount")}
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
	if m.assayMissing && m.sp.live && len(l.portions) > 0 && l.portions[0].sp == m.sp {
		// strength unknown: taken as enough, and what rests on it is asked for
		n := b.enough(m, s)
		l.portions[0] = portion{sp: m.sp, mmol: n, g: n * m.sp.mw / 1000, from: m.name}
		b.unsure[m.sp] = "the concentration of " + m.name
	}
	if len(m.mix) == 0 {
		// an amount that is not stated is taken as enough for what it meets
		enough := b.enough(m, s)
		l.portions = []portion{{sp: m.sp, mmol: enough, g: enough * m.sp.mw / 1000, from: m.name}}
		if m.sp.liquid || m.solvent != nil {
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
	l.degassed, l.air = m.degassed, m.airOf()
	l.traces = b.tracesOf(m, share)
	return l
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
	w := waterSource{kind: "solvent", name: m.name, ml: m.ml.V * share, rho: m.rho(), grade: m.grade, workup: m.driedAsWorkup, assumed: m.waterPPM.Assumed}
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

// method names how a liquid or solid goes over.
func (b *Bench) method(s *procedure.Step, l *lot) (string, *piece) {
	for _, t := range s.From {
		if p := b.pieceNamed(t.S); p != nil {
			p.used = true
			switch p.class {
			case "funnel", "separating funnel":
				return "funnel", p
			case "syringe", "cannula", "pipette", "needle":
				return p.class, p
			}
		}
	}
	for _, t := range s.Through {
		if p := b.pieceNamed(t.S); p != nil {
			p.used = true
		}
	}
	if s.By.Is() {
		if p := b.pieceNamed(s.By.S); p != nil {
			p.used = true
			switch p.class {
			case "funnel", "separating funnel":
				return "funnel", p
			case "syringe", "cannula", "pipette", "needle":
				return p.class, p
			}
		}
		t := strings.ToLower(s.By.S)
		switch {
		case has(t, "syringe", "inject"):
			return "syringe", b.firstPiece("syringe")
		case has(t, "cannula", "double-ended needle", "transfer needle"):
			return "cannula", b.firstPiece("cannula")
		case has(t, "pipet"):
			return "pipette", nil
		case has(t, "pour", "cylinder", "tipping", "beaker"):
			return "pour", nil
		case has(t, "funnel"):
			return "funnel", b.firstPiece("funnel")
		case has(t, "spatula", "powder", "portion", "solid"):
			return "solid", nil
		case has(t, "drop"):
			return "dropwise", nil
		}
		return t, nil
	}
	if s.Verb.Name == "pour" {
		return "pour", nil
	}
	if s.Verb.Name == "pass" || s.Verb.Name == "condense" {
		return "gas", nil
	}
	if l != nil && l.ml() == 0 && len(l.portions) > 0 && !l.portions[0].sp.gas {
		return "solid", nil
	}
	return "", nil
}

func (b *Bench) firstPiece(class string) *piece {
	for _, p := range b.pieces {
		if p.class == class {
			p.used = true
			return p
		}
	}
	return nil
}

func (b *Bench) placeFacts(p *piece, dest *vessel) PlaceFacts {
	f := PlaceFacts{SizeML: Missing("the size of the syringe or funnel"), Gauge: Missing("the gauge of the needle"), Uses: Missing("how often it is used")}
	if p == nil {
		return f
	}
	f.Name, f.Kind, f.Listed = p.name, p.kind, p.row != nil
	if p.class == "funnel" {
		f.Kind = "addition funnel"
	}
	f.SizeML.Ask = "the size of " + p.name
	if r := p.row; r != nil {
		if r.Size != nil && r.Size.Known() && r.Size.Dim == quantity.Volume {
			f.SizeML = Got(r.Size.Value())
		}
		f.Equalised = isTrue(r.Equalised) || has(p.kind, "equalis", "equaliz")
		f.Stoppered = isTrue(r.Stoppered)
		f.Tip = word(r.Tip.S, "not stated")
		f.Shared = isTrue(r.Shared)
		if r.Gauge != nil && r.Gauge.Known() {
			f.Gauge = Got(r.Gauge.Value())
		}
		if r.Uses != nil && r.Uses.Known() {
			f.Uses = Got(r.Uses.Value())
		}
		ownTube := r.Guard.Is()
		line := false
		for _, q := range b.pieces {
			if q.on == p && (q.class == "drying tube" || q.class == "line" || q.class == "balloon" || q.class == "bubbler") {
				ownTube = ownTube || q.class == "drying tube"
				line = line || q.class != "drying tube"
			}
		}
		if r.Gas.Is() || p.vessel != nil && (p.vessel.conn == connGas || p.vessel.conn == connBalloon) && p.vessel.supply != nil {
			line = true
		}
		open := dest != nil && !dest.closed() && !f.Stoppered
		f.GasPath = f.Equalised || ownTube || line || open
	}
	return f
}

// transfer moves materials or contents into a vessel.
func (b *Bench) transfer(s *procedure.Step) {
	var dest *vessel
	switch {
	case len(s.To) > 0:
		dest = b.place(s.To[0], true)
		if s.Verb.Name == "dissolve" && dest != nil && b.guarded(s) && dest.rank < 2 && !dest.closed() {
			dest.conn, dest.rank, dest.outlet = connGas, 2, "open"
		}
	case s.Verb.Name == "weigh":
		for _, t := range slices.Concat(s.Into, s.In) {
			dest = b.place(t, false)
		}
		if dest == nil {
			return
		}
	case s.Verb.Name == "dissolve":
		b.dissolve(s)
		return
	}
	if dest == nil {
		return
	}
	if len(s.Under) > 0 && has(joined(s.Under), "nitrogen", "argon", "helium", "inert") && dest.conn == connOpen && dest.piece != nil && dest.piece.class == "vessel" {
		// said to be done under gas: it stands under gas, however that is fed
		dest.conn, dest.rank, dest.outlet = connGas, 2, "as written"
		b.nameGas(dest, strings.TrimSpace(joined(s.Under)))
		if dest.gases.O2 > 0.1 {
			dest.oxygenAsk = "how the air was taken out of " + dest.name
		}
	}
	for _, o := range s.Object {
		if b.quenchesByAdding(s, o, dest) {
			one := *s
			one.With, one.Object = []procedure.Text{o}, []procedure.Text{{S: dest.name, Span: o.Span}}
			b.quenched = true
			b.quenchWith(&one, dest, o, 0)
			dest.quenched = true
			continue
		}
		b.move(s, o, dest)
	}
	// a solvent named with "in": benzaldehyde in ether
	if s.Verb.Name == "add" || s.Verb.Name == "charge" || s.Verb.Name == "dissolve" {
		for _, t := range s.In {
			if m := b.material(t.S); m != nil {
				b.moveWhole(s, t, dest)
			} else if v := b.place(t, false); v == nil && !has(t.S, "glovebox", "hood", "cupboard", "air", "dark", "cold", "room", "portion", "bath", "ice") {
				b.moveWhole(s, t, dest)
			}
		}
	}
	if s.Verb.Name == "dissolve" {
		for _, t := range s.With {
			b.moveWhole(s, t, dest)
		}
	}
	for _, k := range s.GivesOrder {
		// the place is called what the step says from then on
		b.alias[strings.ToLower(s.Gives[k].S)] = dest
	}
	for _, t := range s.RinseWith {
		if b.material(t.S) != nil {
			saved := s.Amount
			s.Amount = s.RinseAmount
			if s.Amount.Is() || b.material(t.S).left > 0 {
				b.move(s, t, dest)
			}
			s.Amount = saved
		}
	}
}

// quenchesByAdding reports an addition that is a quench in all but the verb:
// water, an aqueous solution or a plain alcohol onto a live reagent, where no
// declared reaction means it.
func (b *Bench) quenchesByAdding(s *procedure.Step, o procedure.Text, dest *vessel) bool {
	if s.Verb.Name != "add" && s.Verb.Name != "pour" || dest.liveEq() < 0.1 || dest.piece != nil && dest.piece.class != "vessel" {
		return false
	}
	m := b.material(o.S)
	if m == nil || has(m.row.Role.S, "reagent", "substrate", "solvent") || b.p.Product != nil && strings.EqualFold(b.p.Product.From.S, m.name) {
		return false
	}
	for _, r := range b.reactions {
		for _, c := range r.consumes {
			if c.sp == m.sp || m.solvent != nil && c.sp == m.solvent && m.sp.family == "water" {
				return false
			}
		}
	}
	wet := m.sp.family == "water" || m.sp.name == "ice" || m.solvent != nil && m.solvent.family == "water" || m.sp.is("ammonium salt")
	alcohol := m.sp.is("alcohol") && has(m.sp.name, "methanol", "ethanol", "propanol", "butanol")
	if dest.hasFamily("borohydride") && !dest.hasFamily("organolithium", "organomagnesium", "aluminium hydride", "saline hydride", "metal amide") && alcohol {
		return false
	}
	return wet || alcohol
}

func (b *Bench) moveWhole(s *procedure.Step, t procedure.Text, dest *vessel) {
	saved := s.Amount
	s.Amount = nil
	b.move(s, t, dest)
	s.Amount = saved
}

// dissolve puts a solid and its solvent together where the solid is or where
// the step says.
func (b *Bench) dissolve(s *procedure.Step) {
	var dest *vessel
	var solvents []procedure.Text
	for _, t := range slices.Concat(s.In, s.With) {
		if v := b.vesselNamed(t.S); v != nil {
			dest = v
			continue
		}
		if p := b.pieceNamed(t.S); p != nil {
			if v := b.place(t, false); v != nil {
				dest = v
				continue
			}
		}
		solvents = append(solvents, t)
	}
	var moved []procedure.Text
	for _, o := range s.Object {
		if v := b.vesselNamed(o.S); v != nil && dest == nil && b.material(o.S) == nil {
			dest = v
			continue
		}
		if b.material(o.S) == nil {
			if v := b.place(o, false); v != nil && dest == nil {
				dest = v
				continue
			}
		}
		moved = append(moved, o)
	}
	name := ""
	if t, ok := s.Gives[""]; ok {
		name = t.S
	} else if t, ok := s.Gives["solution"]; ok {
		name = t.S
	}
	if dest == nil {
		if name == "" && len(s.Object) > 0 {
			name = "solution of " + s.Object[0].S
		}
		dest = b.newVessel(name, nil)
		dest.kind = "solution"
		dest.glass = "not stated"
		if b.guarded(s) {
			dest.conn, dest.rank, dest.outlet = connGas, 2, "open"
		}
	} else if name != "" && dest.piece == nil {
		dest.name = name
	}
	if b.guarded(s) && dest.rank < 2 && !dest.closed() {
		dest.conn, dest.rank, dest.outlet = connGas, 2, "open"
	}
	// to dissolve X in Y is to put X into Y: acid into water
	for _, t := range solvents {
		b.moveWhole(s, t, dest)
	}
	for _, o := range moved {
		b.move(s, o, dest)
	}
	b.last = dest
}

// pourMaterial puts a share of a material into a vessel without an event.
func (b *Bench) pourMaterial(m *material, share float64, dest *vessel, s *procedure.Step) {
	b.usedMaterial(m, share)
	for _, p := range m.mix {
		dest.put(portion{p.sp, p.mmol * share, p.g * share, p.ml * share, m.name, p.maybe})
	}
	dest.traces = append(dest.traces, b.tracesOf(m, share)...)
}

// move is one addition: the event before, the contents after.
func (b *Bench) move(s *procedure.Step, t procedure.Text, dest *vessel) {
	before := b.facts(dest)
	hadVolume, hadLive := dest.volume(), dest.liveEq()
	l := b.fetch(s, t, dest)
	if len(l.portions) == 0 && l.acid == 0 {
		return
	}
	meth, tool := b.method(s, l)
	f := b.addition(s, l, dest, before, meth, tool)

	// what the vessel held that a proof of start is about
	metalThere := dest.hasFamily("alkaline-earth metal", "alkali metal")
	halide := b.halideIn(l)
	if halide != nil && metalThere && !b.electrophileHere(halide) {
		b.startFacts(f, dest, l, halide)
	} else if mt := b.metalIn(l); mt != nil {
		if h := b.halideOf(dest); h != nil && !b.electrophileHere(h.sp) {
			b.startFacts(f, dest, &lot{portions: []portion{*h}}, h.sp)
			f.ChargedShare = Got(1)
			f.Starts = true
		}
	}

	b.openDuring(s, dest, meth, l, f)
	b.clashes(s, l, dest)
	b.orders(f, l, dest)

	degassedBefore := dest.degassed || hadVolume == 0
	b.airIn(dest, l)
	kJ, unknown := b.dilute(dest, l)
	for _, p := range l.portions {
		if !p.maybe {
			// fresh halide reacts even where the rest of an earlier one stays
			dest.doneHalide = slices.DeleteFunc(dest.doneHalide, func(sp *species) bool { return sp == p.sp })
		}
		dest.put(p)
	}
	dest.acid += l.acid
	if l.blur != "" {
		dest.blur = l.blur
	}
	dest.traces = append(dest.traces, l.traces...)
	if l.ml() > 0 {
		dest.degassed = degassedBefore && l.degassed
	}
	b.mixTemperature(dest, l, hadVolume)
	if dest.piece != nil && dest.piece.class == "syringe" {
		dest.rank = math.Max(dest.rank, 2)
		dest.conn = connGas
		dest.gasName = "nitrogen"
		dest.gasStated, dest.outletSaid, dest.outlet = true, true, "the needle"
		dest.gases = Pure("nitrogen", 1e-4)
	}

	eqPeak := dest.liveEq()
	o := b.react(dest)
	o.addDilution(kJ, unknown)
	b.gasThrough(s, l, dest)
	b.book(dest, o, f, s)
	b.refreshBudgetWith(dest, s, math.Max(eqPeak, dest.liveEq()))
	if hadLive == 0 && dest.liveEq() > 0 {
		b.noteLive(dest)
	}
	b.fillLimits(f, dest, s)
	if l.from == nil || l.m != nil {
		b.transferEvent(s, l, dest, meth, tool)
	} else if l.has(func(sp *species) bool { return sp.live && sp.pyro() }) {
		b.transferEvent(s, l, dest, meth, tool)
	}
	b.emit(Event{Kind: "addition", Facts: f, Subject: s.Verb.Name + " " + t.S, Span: t.Span})
	b.releases(s, dest, o, "the addition of "+t.S, f)
	for _, p := range l.portions {
		b.meetHazards(p.sp, p, s)
	}
	if dest.peakFill < valueOf(dest.fill()) {
		dest.peakFill = valueOf(dest.fill())
	}
}

// gasThrough lets a gas that is passed through and did not react leave.
func (b *Bench) gasThrough(s *procedure.Step, l *lot, dest *vessel) {
	if s.Verb.Name != "pass" {
		return
	}
	if has(s.Outlet.S, "capillary", "needle") {
		dest.conn, dest.outlet, dest.outletSaid, dest.narrow = connGas, s.Outlet.S, true, true
	}
	for _, p := range l.portions {
		if !p.sp.gas || p.sp.is("inert gas") {
			continue
		}
		if q := dest.find(p.sp); q != nil {
			if b.stillWanted(p.sp) && dest.volume() > 0 {
				continue // it stays in the liquid for what is to come
			}
			dest.take(p.sp, q.mmol)
		}
		name := strings.ToLower(p.sp.name)
		if isToxic(name) || slices.Contains(flammableGases, name) || p.sp.name == "carbon dioxide" {
			r := b.release(s, dest, p.sp.name, 0, "the stream of "+p.sp.name)
			r.Mmol, r.Litres, r.PressureBar = Missing("how much "+p.sp.name+" passes through"), Missing("how much "+p.sp.name+" passes through"), Missing("how much "+p.sp.name+" passes through")
			b.emit(Event{Kind: "release", Facts: r, Cause: "gas from " + dest.name})
		}
	}
}

// stillWanted reports a gas that a declared reaction takes whose partner is
// yet to come in.
func (b *Bench) stillWanted(gas *species) bool {
	for _, r := range b.reactions {
		hit, waiting := false, false
		for _, c := range r.consumes {
			hit = hit || c.sp == gas
			for _, m := range b.materials {
				waiting = waiting || m.sp == c.sp && c.sp != gas && m.left > 0
			}
		}
		if hit && waiting {
			return true
		}
	}
	return false
}

func valueOf(n Num) float64 {
	if n.Known {
		return n.V
	}
	return 0
}

func (b *Bench) addition(s *procedure.Step, l *lot, dest *vessel, before VesselFacts, meth string, tool *piece) *AdditionFacts {
	f := &AdditionFacts{Verb: s.Verb.Name, From: b.placeFacts(tool, dest), Vessel: before, Method: meth,
		VolumeML: Got(l.ml()), Mmol: Got(0), OverMin: Missing("how long the addition of " + l.name + " takes"), Portions: Missing("the number of portions"),
		KeepBelowC: Missing("a temperature limit for the addition of " + l.name), HeatKJ: Missing("the heat of this reaction"), RiseK: Missing("the heat of this reaction"), MarginK: Missing("the boiling point of what is in " + dest.name),
		PermittedShare: Missing("the halide and solvent amounts"), ChargedShare: Missing("the halide amount"), Watts: Missing("how long the addition of " + l.name + " takes"), CoolingWatts: Missing("the bath temperature"),
		GasL: Got(0), FunnelFill: Missing("the size of the funnel"), MlPerGHydride: Missing("the hydride and solvent amounts"), FillAfter: Missing("the size of " + dest.name), FillAtEnd: Missing("the size of " + dest.name), Concentration: Missing("the volume")}
	if l.m != nil {
		f.Material = b.materialFacts(l.m, l.share)
		if l.from != nil && l.blur == "" {
			f.Material.Mmol, f.Material.VolumeML = Got(l.mmol(l.m.sp)), Got(l.ml())
			if l.m.sp.mw > 0 {
				f.Material.MassG = Got(l.mmol(l.m.sp) * l.m.sp.mw / 1000)
			}
		}
	} else {
		sp := mainOf(l.portions)
		f.Material = b.speciesFacts(sp)
		f.Material.Name = l.name
		if l.blur == "" {
			f.Material.Mmol, f.Material.VolumeML = Got(l.mmol(sp)), Got(l.ml())
		}
	}
	f.Mmol = f.Material.Mmol
	if l.blur != "" {
		f.VolumeML = Missing(l.blur)
	}
	if s.Over != nil && s.Over.Known() {
		f.OverMin = Got(s.Over.Min())
	} else if s.RateFigure != nil && s.RateFigure.Known() && l.ml() > 0 {
		switch s.RateFigure.Dim {
		case quantity.Flow:
			f.OverMin = Got(l.ml() / s.RateFigure.Value())
		case quantity.DripRate:
			f.OverMin = Assume(l.ml()*20/s.RateFigure.Value(), "20 drops to the millilitre")
		}
	}
	f.Rate = s.Rate.S
	f.AtOnce = has(s.Rate.S, "at once", "one portion", "all at", "rapid", "quick") || s.Portions != nil && s.Portions.Known() && s.Portions.Dim == quantity.Count && s.Portions.Value() == 1
	if s.Portions != nil && s.Portions.Known() {
		switch s.Portions.Dim {
		case quantity.Count:
			f.Portions = Got(s.Portions.Value())
		case quantity.Volume:
			f.Portions = Got(math.Max(1, l.ml()/s.Portions.Value()))
		}
	}
	if s.Size != nil && s.Size.Known() && s.Size.Value() > 0 {
		switch s.Size.Dim {
		case quantity.Volume:
			f.Portions = Got(math.Max(1, l.ml()/s.Size.Value()))
		case quantity.Mass:
			if f.Material.MassG.Known {
				f.Portions = Got(math.Max(1, f.Material.MassG.V/s.Size.Value()))
			}
		}
	}
	if s.KeepBelow != nil && s.KeepBelow.Known() {
		f.KeepBelowC = Got(s.KeepBelow.Value())
	}
	f.OwnBath = s.At != nil || s.Bath.Is() || has(joined(s.In)+s.Note.S, "ice", "cold", "cooling bath")
	f.LimitGiven = s.KeepBelow != nil || s.At != nil || s.Bath.Is() || has(joined(s.In)+s.Note.S, "ice", "cold", "cooling bath") || has(s.Rate.S, "reflux", "temperature") || dest.tKnown && dest.tC < 15
	f.RateGiven = s.Over != nil || s.RateFigure != nil || s.Portions != nil || s.Size != nil || s.KeepBelow != nil || has(s.Rate.S, "drop", "reflux", "boil", "portion", "temperature", "hold", "keep", "as ")
	f.CounterFlow = b.guarded(s) || dest.conn == connBox
	f.FromOpen = l.openSource
	f.Unproved = dest.quenched && !dest.endSeen
	if s.Verb.Name == "pass" && (s.Flow != nil || s.Rate.Is()) {
		f.RateGiven = true
	}
	f.Conditional, f.Optional = s.If.Is(), isTrue(s.Optional)
	if tool != nil && tool.class == "funnel" && f.From.SizeML.Known && f.VolumeML.Known {
		f.FunnelFill = Got(f.VolumeML.V / f.From.SizeML.V)
	}
	if bp := before.BoilingC; bp.Known {
		f.MarginK = Got(bp.V - dest.tC)
	}
	return f
}

func mainOf(ps []portion) *species {
	var best *portion
	for i := range ps {
		p := &ps[i]
		if best == nil || p.sp.live && !best.sp.live || p.sp.live == best.sp.live && p.mmol > best.mmol && best.sp.liquid == p.sp.liquid {
			best = p
		}
	}
	return best.sp
}

var halideFamilies = []string{"alkyl halide", "aryl halide", "vinyl halide"}

func (b *Bench) halideIn(l *lot) *species {
	for _, p := range l.portions {
		if p.sp.is(halideFamilies...) && p.mmol > 10*trace && !p.maybe {
			return p.sp
		}
	}
	return nil
}

// electrophileHere reports a halide that a declared reaction takes with
// something other than a metal: it is not there to make a reagent.
func (b *Bench) electrophileHere(h *species) bool {
	with, without := false, false
	for _, r := range b.reactions {
		takes, metal := false, false
		for _, c := range r.consumes {
			takes = takes || c.sp == h
			metal = metal || metalOf(c.sp) != ""
		}
		with = with || takes && metal
		without = without || takes && !metal
	}
	if without && !with {
		return true
	}
	for _, m := range b.materials {
		if m.sp == h && has(m.row.Role.S, "electrophile", "alkylating") {
			return true
		}
	}
	return false
}

func (b *Bench) metalIn(l *lot) *species {
	for _, p := range l.portions {
		if metalOf(p.sp) != "" && p.mmol > 10*trace {
			return p.sp
		}
	}
	return nil
}

func (b *Bench) halideOf(v *vessel) *portion {
	for i := range v.contents {
		if v.contents[i].sp.is(halideFamilies...) && v.contents[i].mmol > 10*trace && !v.contents[i].maybe {
			return &v.contents[i]
		}
	}
	return nil
}

// startFacts fills what a reaction that must be seen to start needs: the
// share of halide in, the share that is permitted, and whether a proof exists.
func (b *Bench) startFacts(f *AdditionFacts, dest *vessel, l *lot, h *species) {
	total := 0.0
	known := true
	for _, m := range b.materials {
		if m.sp == h {
			if !m.mmol.Known {
				known = false
			}
			total += m.mmol.V
		}
	}
	in := l.mmol(h)
	dest.halideIn += in
	f.Starts = true
	f.Initiated = dest.initiated
	f.EvidenceLater = b.evidence[dest]
	f.Branch = b.branch[dest]
	if known && total > 0 {
		f.ChargedShare = Got(math.Min(1, dest.halideIn/math.Max(total, dest.halideIn)))
	} else {
		f.ChargedShare = Missing("the amount of " + h.name)
	}
	f.SmallMmol = known && total < 1
	if f.SmallMmol {
		f.Concentration = Got(0)
	}
	heat := b.classHeat("metal and halide")
	c := dest.heatCapacity()
	for _, p := range l.portions {
		c += p.g * p.sp.cp
	}
	if l.from != nil {
		// ΔT_ad is that of the whole batch: the liquid that still waits in the
		// funnel counts
		c += l.from.heatCapacity()
	} else {
		for _, m := range b.materials {
			if m.sp == h && m.left > 0 {
				for _, p := range m.mix {
					c += m.left * p.g * p.sp.cp
				}
			}
		}
	}
	bp, ok := f.Vessel.BoilingC.V, f.Vessel.BoilingC.Known
	if !ok {
		// an empty flask with metal: the liquid comes with the halide
		tmp := &vessel{contents: l.portions}
		bp, ok = tmp.bubblePoint(Atm)
	}
	// what else this step brings cools it too
	if b.step != nil {
		for _, o := range slices.Concat(b.step.Object, b.step.In) {
			if m := b.material(o.S); m != nil && m.sp != h && m.left > 0 && m.mix0() {
				tmp := &vessel{contents: slices.Clone(m.mix)}
				c += tmp.heatCapacity() * m.left
				if t, found := tmp.bubblePoint(Atm); found && (!ok || t < bp) {
					bp, ok = t, true
				}
			}
		}
	}
	if known && ok && c > 0 {
		rise := AdiabaticRise(heat.V*math.Max(total, in)/1000, c)
		margin := math.Max(0, bp-dest.tC)
		f.MarginK = Got(margin)
		f.RiseK = Num{V: rise, Known: true, Assumed: heat.Assumed}
		f.PermittedShare = Num{V: math.Min(1, margin/rise), Known: true, Assumed: heat.Assumed}
	}
	f.ExternalHeat = ok && dest.tC >= bp-1
}

// openDuring works out whether the vessel stands open while the material goes
// in, and lets air in if it does.
func (b *Bench) openDuring(s *procedure.Step, dest *vessel, meth string, l *lot, f *AdditionFacts) {
	solid := meth == "solid"
	open := meth == "pour" || meth == "pipette" && !b.guarded(s)
	if solid && !has(joined(s.Through)+s.By.S, "solid addition", "side", "tipping", "bent tube", "addition tube") && !b.guarded(s) {
		open = true
	}
	f.OpensVessel = open && dest.conn != connOpen && dest.conn != connBox
	f.SolidIntoLive = solid && dest.liveEq() > 0
	f.OpenAir = open && dest.conn != connBox
	if !f.OpensVessel {
		return
	}
	if dest.conn == connGas && !dest.supplied && dest.supply == nil && !b.guarded(s) {
		b.openAir(dest) // a flush ends when the neck is next opened
		return
	}
	if (dest.conn == connGas || dest.conn == connBalloon) && b.guarded(s) {
		return
	}
	if dest.liveEq() == 0 && len(dest.contents) == 0 || dest.conn == connTube {
		return // charging before anything sensitive is there
	}
	if dest.conn == connGas && dest.liveEq() == 0 {
		// gas goes on after a moment's opening; what was gained by cycles is lost
		if dest.rank >= 3 {
			dest.rank = 2
			dest.cycles = Missing("evacuate–refill cycles after " + dest.name + " was opened")
			dest.gases = AfterSweep(b.roomAir(), dest.gases, 3)
			b.airOnce(dest)
			dest.how = "opened in step " + quantity.FormatNumber(float64(s.N)) + " after the cycles"
		}
	}
}

// clashes reports pairs that should not meet, of what comes in and what is
// there.
func (b *Bench) clashes(s *procedure.Step, l *lot, dest *vessel) {
	for _, p := range l.portions {
		for _, q := range dest.contents {
			b.clash(s, p, q, dest, false)
		}
	}
	for i, p := range l.portions {
		for _, q := range l.portions[i+1:] {
			if p.from != q.from {
				b.clash(s, p, q, dest, false)
			}
		}
	}
}

func (b *Bench) clash(s *procedure.Step, p, q portion, dest *vessel, quench bool) {
	if p.sp.sub == nil || q.sp.sub == nil || p.mmol <= 10*trace || q.mmol <= 10*trace || p.sp == q.sp || p.maybe || q.maybe {
		return
	}
	known := b.conflicts(p.sp, q.sp)
	if len(known) == 0 {
		return
	}
	key := p.sp.name + "|" + q.sp.name
	if p.sp.name > q.sp.name {
		key = q.sp.name + "|" + p.sp.name
	}
	if b.saidUnknown["clash "+key+dest.name] {
		return
	}
	for _, c := range known {
		if aqueousHydroxide(p, q, dest) {
			continue // the pair is the solid over peroxidised ether, not its solution in water
		}
		if b.soldIn(p, q) || b.soldIn(q, p) || p.sp.is("alkoxide") && q.sp.is("alcohol") || q.sp.is("alkoxide") && p.sp.is("alcohol") {
			continue // a solution and its own solvent
		}
		if c.By == "chart" {
			continue // the chart is for waste: it sets every reagent against every solvent
		}
		b.saidUnknown["clash "+key+dest.name] = true
		f := &ContactFacts{A: p.sp.name, B: q.sp.name, FamilyA: p.sp.family, FamilyB: q.sp.family, Consequence: c.Consequence, Severe: c.Grave, Vessel: b.facts(dest), Source: c.Source, TemperatureC: Num{V: dest.tC, Known: true}}
		switch c.By {
		case "pair":
			f.Kind = "specific pair"
		default:
			f.Kind = "keep from"
		}
		if c.Because != "" {
			f.Consequence = c.Because
		}
		f.Intended = b.oxidation(p, q, dest) || quench || b.intended(p.sp, q.sp) || s.Verb.Group == procedure.Finish
		b.emit(Event{Kind: "contact", Facts: f, Subject: p.sp.name + " with " + q.sp.name, Cause: "contact " + key})
		break
	}
}

// soldIn reports that one of two is bought as a solution in the other.
func (b *Bench) soldIn(p, q portion) bool {
	m := b.material(p.from)
	return m != nil && m.solvent == q.sp && m.sp == p.sp
}

func aqueousHydroxide(p, q portion, dest *vessel) bool {
	h := p.sp
	if !h.is("hydroxide") {
		h = q.sp
	}
	return h.is("hydroxide") && (p.sp.is("ether") || q.sp.is("ether")) && (dest.aqueous() || strings.Contains(p.from+q.from, "solution") || dest.find(h) == nil && p.from != "")
}

// oxidation reports dilute peroxide dripped into what it is meant to oxidise:
// a borane's adduct, or the partner of a declared reaction.
func (b *Bench) oxidation(p, q portion, dest *vessel) bool {
	x := p.sp
	if !x.is("peroxide") {
		x = q.sp
	}
	if !x.is("peroxide") {
		return false
	}
	for _, m := range b.materials {
		if m.sp == x && m.row.Solution != nil && m.row.Solution.Strength.Dim == quantity.Fraction && m.row.Solution.Strength.Value() > 0.35 {
			return false
		}
	}
	for _, c := range dest.contents {
		if c.sp.is("borane", "trialkylborane") || has(c.sp.name, "borane", "borinate", "boronate", "boryl") {
			return true
		}
	}
	for _, r := range b.reactions {
		for _, c := range r.consumes {
			if c.sp == x {
				return true
			}
		}
	}
	return false
}

// intended reports a pair that the procedure means to bring together: a
// declared reaction, or a reagent with what it is made from or made for.
func (b *Bench) intended(x, y *species) bool {
	for _, r := range b.reactions {
		var a, c bool
		for _, s := range r.consumes {
			a = a || s.sp == x
			c = c || s.sp == y
		}
		if a && c {
			return true
		}
	}
	if x.is(halideFamilies...) && metalOf(y) != "" || y.is(halideFamilies...) && metalOf(x) != "" {
		return true
	}
	reagent := func(a, c *species) bool {
		return strongBaseKind(a.active) && (c.electro > 0 && meetsSite(a, c) || c.protic > 0 && c.family != "water" && meetsProton(a, c))
	}
	return reagent(x, y) || reagent(y, x)
}

// orders notes water or alcohol going into a strong acid, and a substrate
// that waits for a strong reagent.
func (b *Bench) orders(f *AdditionFacts, l *lot, dest *vessel) {
	for _, q := range dest.contents {
		if q.sp.strongAcid() && q.mmol > 10*trace && dest.concentratedAcid() {
			if l.has(func(sp *species) bool { return sp.family == "water" || sp.is("alcohol", "hydroxide") }) && !l.has(func(sp *species) bool { return sp.strongAcid() }) {
				f.IntoStrongAcid = true
			}
		}
	}
	f.ReverseOrder = l.has(func(sp *species) bool { return sp.live }) && dest.liveEq() == 0
	hyd, vol := 0.0, 0.0
	if l.ml() == 0 && dest.volume() == 0 {
		return // the solvent is yet to come
	}
	for _, p := range append(slices.Clone(dest.contents), l.portions...) {
		if p.sp.is("aluminium hydride") && !p.maybe {
			if strings.Contains(p.sp.name, "lithium aluminium hydride") {
				hyd += p.g
			}
		}
		vol += p.ml
	}
	if hyd > 0.01 && l.blur == "" && dest.blur == "" {
		f.MlPerGHydride = Got(vol / hyd)
	}
}

// concentratedAcid reports that what is in the vessel is strong acid with
// little else: over 50 % by mass of the liquid.
func (v *vessel) concentratedAcid() bool {
	var acid, all float64
	for _, p := range v.contents {
		all += p.g
		if p.sp.strongAcid() {
			acid += p.g
		}
	}
	return all > 0 && acid/all > 0.3
}

func (b *Bench) mixTemperature(dest *vessel, l *lot, had float64) {
	if had == 0 && l.ml() > 0 && !dest.tKnown {
		dest.tC = b.roomT()
	}
	for _, p := range l.portions {
		if (p.sp.name == "ice" || p.from != "" && l.m != nil && l.m.sp.name == "ice") && p.g > 0.2*(had+1) {
			dest.tC, dest.tKnown = 0, true
		}
		if p.sp.gas && p.ml > 1 && p.sp.bp.Known {
			dest.tC, dest.tKnown = p.sp.bp.V, true // a condensed gas boils
			b.cryogenUsed = true
		}
		if p.sp.name == "dry ice" && p.g > 1 {
			dest.tC, dest.tKnown = -78, true
			b.cryogenUsed = true
		}
	}
}

// book writes heat and gas of what reacted into the addition.
func (b *Bench) book(dest *vessel, o outcome, f *AdditionFacts, s *procedure.Step) {
	if o.heatKnown && (o.kJ > 0 || len(o.what) == 0) {
		if o.kJ > 0 {
			f.HeatKJ = Num{V: o.kJ, Known: true}
			c := dest.heatCapacity()
			if c > 0 && !f.Starts {
				f.RiseK = Got(AdiabaticRise(o.kJ, c))
			}
			if f.RiseK.Known && f.RiseK.V > b.largestRise && !math.IsInf(f.RiseK.V, 1) {
				b.largestRise = f.RiseK.V
			}
			if f.OverMin.Known && f.OverMin.V > 0 {
				f.Watts = Got(o.kJ * 1000 / (f.OverMin.V * 60))
			}
			if s.Bath.Is() || dest.tKnown {
				f.CoolingWatts = Got(WallWatts(math.Max(dest.volume(), 1), 20))
			}
		} else {
			f.HeatKJ, f.RiseK = Got(0), Got(0)
		}
	}
	if dest.volume() > 0 && dest.blur == "" {
		f.Concentration = Got(dest.liveEq() / dest.volume())
	}
	if g := o.gasTotal(); g > 0 {
		f.GasL = Got(GasLitres(g))
	}
}

func (b *Bench) fillLimits(f *AdditionFacts, dest *vessel, s *procedure.Step) {
	f.FillAfter = dest.fill()
	f.FillAtEnd = dest.fill()
}

// releases reports each gas that left, by its vessel.
func (b *Bench) releases(s *procedure.Step, dest *vessel, o outcome, cause string, f *AdditionFacts) {
	for _, name := range o.gasOrder {
		mmol := o.gas[name]
		if mmol < 0.05 {
			continue
		}
		r := b.release(s, dest, name, mmol, cause)
		if f != nil && f.OverMin.Known && f.OverMin.V > 0 {
			r.LPerMin = Got(r.Litres.V / f.OverMin.V)
		}
		if f != nil && f.Portions.Known && f.Portions.V >= 1 {
			r.GasPerPortL = Got(r.Litres.V / f.Portions.V)
		}
		b.emit(Event{Kind: "release", Facts: r, Cause: "gas from " + dest.name})
		if dest.conn == connSealed {
			dest.sealGasMmol += mmol
			b.closure(dest, "gas", s)
		}
	}
}

var toxicGases = []string{"hydrogen chloride", "hydrogen bromide", "hydrogen cyanide", "hydrogen sulfide", "sulfur dioxide", "carbon monoxide", "ammonia", "phosphine", "nitrogen dioxide", "chlorine", "phosgene", "diborane", "hydrogen iodide", "hydrogen fluoride", "hydrazoic acid"}
var flammableGases = []string{"hydrogen", "methane", "ethane", "propane", "butane", "isobutane", "ethylene", "propene", "acetylene", "ammonia", "hydrogen sulfide", "carbon monoxide", "phosphine", "diborane"}

func isToxic(gas string) bool {
	return slices.Contains(toxicGases, strings.ToLower(gas)) || has(gas, "hcl", "hbr") && len(gas) < 5
}

func (b *Bench) release(s *procedure.Step, v *vessel, gas string, mmol float64, cause string) *ReleaseFacts {
	r := &ReleaseFacts{Gas: gas, Mmol: Got(mmol), Litres: Got(GasLitres(mmol)), LPerMin: Missing("the time over which the gas comes"), Vessel: b.facts(v), Cause: cause,
		PressureBar: Missing("the size of " + v.name), ScrubRatio: Missing("the absorbent in the scrubber"), GasPerPortL: Missing("the number of portions")}
	r.Toxic = isToxic(gas)
	r.Flammable = slices.Contains(flammableGases, strings.ToLower(gas)) || has(gas, "hydrocarbon")
	if h := v.headspace(); h.Known {
		r.PressureBar = Num{V: PressureBar(h.V, v.tC, v.tC, mmol, v.vapourMbar(v.tC), v.vapourMbar(v.tC)), Known: true, Assumed: h.Assumed}
	}
	r.Scrubbed = v.scrub != nil
	if v.scrub != nil {
		if v.scrub.mmol.Known && mmol > 0 {
			r.ScrubRatio = Got(v.scrub.mmol.V / mmol)
		} else {
			r.ScrubRatio = Missing(v.scrub.mmol.Ask)
		}
		r.SuckBack = v.scrub.suck && (v.liveEq() > 0 || len(v.waterTakers()) > 0)
	}
	r.Hood = b.hoodNamed(s)
	defer func() { b.lastGas(gas, mmol) }()
	r.Narrow = v.narrow || has(v.outlet, "needle", "capillary")
	b.gasTotal += mmol
	switch {
	case strings.EqualFold(gas, "hydrogen"):
		b.actAt("hydrogen", "this step", s)
	case strings.EqualFold(gas, "carbon monoxide"):
		b.actAt("carbon monoxide", "this step", s)
	case r.Toxic:
		b.actAt("toxic gas", gas, s)
	}
	return r
}

func (b *Bench) hoodNamed(s *procedure.Step) bool {
	if b.p.Protection != nil && isTrue(b.p.Protection.Hood) {
		return true
	}
	text := s.Note.S + joined(s.In) + s.Protection.S
	for _, c := range s.Cautions {
		text += c.Say.S
	}
	for _, c := range b.p.Cautions {
		text += " " + c.Say.S
	}
	return has(text, "hood", "fume cupboard", "fume-cupboard")
}

// transferEvent reports a sensitive liquid being moved by hand.
func (b *Bench) transferEvent(s *procedure.Step, l *lot, dest *vessel, meth string, tool *piece) {
	sp := mainOf(l.portions)
	if !sp.live || sp.need < 2 && !sp.pyro() {
		return
	}
	f := &TransferFacts{Method: meth, Tool: b.placeFacts(tool, dest), VolumeML: Got(l.ml()), ToolFill: Missing("the size of the syringe"), Vessel: b.facts(dest)}
	if l.m != nil {
		f.Material = b.materialFacts(l.m, l.share)
	} else {
		f.Material = b.speciesFacts(sp)
		f.Material.Name = l.name
		f.Material.Mmol, f.Material.VolumeML = Got(l.mmol(sp)), Got(l.ml())
	}
	if l.blur != "" {
		f.VolumeML = Missing(l.blur)
	}
	if f.Tool.SizeML.Known && f.VolumeML.Known && meth == "syringe" {
		draws := 1.0
		if s.Repeat != nil && s.Repeat.Known() && s.Repeat.Dim == quantity.Count {
			draws = math.Max(1, s.Repeat.Value())
		}
		if s.Portions != nil && s.Portions.Known() && s.Portions.Dim == quantity.Count {
			draws = math.Max(draws, s.Portions.Value())
		}
		f.ToolFill = Got(f.VolumeML.V / draws / f.Tool.SizeML.V)
	}
	solidIn := meth == "solid" && !b.guarded(s) && len(s.Through) == 0 && dest.conn != connTube
	f.OpenAir = (meth == "pour" || meth == "pipette" || solidIn) && dest.conn != connBox
	f.Inert = dest.closed() || b.guarded(s)
	if l.m != nil {
		f.BulkStock = !isTrue(l.m.row.Portioned) && s.DoneBy.S != "stockroom" && s.DoneBy.S != "assistant" && s.DoneBy.S != "instructor" && b.p.Setting == "teaching" && b.p.Section.Students != nil
	}
	b.emit(Event{Kind: "transfer", Facts: f, Subject: s.Verb.Name + " " + l.name, Step: s.N, Span: s.Head})
	name := meth
	if tool != nil {
		name = tool.name
	}
	b.openTransfers = append(b.openTransfers, &openTransfer{ev: f, tool: name, step: s.N})
	for _, t := range s.RinseWith {
		if has(t.S, "hexane", "heptane", "toluene", "pentane", "ether", "thf", "tetrahydrofuran") {
			f.Rinsed = true
		}
	}
}

// closeTransfers marks the tools of earlier transfers as rinsed and made safe.
func (b *Bench) closeTransfers(name string) {
	for _, o := range b.openTransfers {
		if o.ev.Rinsed {
			continue
		}
		if strings.EqualFold(o.tool, name) || has(name, o.tool) && o.tool != "" || has(name, "syringe", "needle", "cannula", "tool", "transfer", "funnel") && (has(o.tool, "syringe") && has(name, "syringe", "needle") || has(o.tool, "cannula") && has(name, "cannula", "needle") || has(o.tool, "funnel") && has(name, "funnel") || has(name, "tool")) {
			o.ev.Rinsed = true
			if b.step != nil && len(b.step.With) > 0 {
				o.ev.RinsedWith = b.step.With[0].S
				if sp := b.liquidOf(b.step.With[0].S); sp != nil {
					o.ev.RinsedWith = sp.name
				}
			}
		}
	}
}

// rinse washes apparatus into a vessel or into waste.
func (b *Bench) rinse(s *procedure.Step) {
	var dest *vessel
	for _, t := range slices.Concat(s.To, s.Into) {
		if b.isContainer(t.S) {
			continue
		}
		dest = b.place(t, true)
		break
	}
	if dest == nil && len(s.Into) > 0 && b.isContainer(s.Into[0].S) {
		// rinsed straight into a waste container: residue and rinse meet there
		dest = b.newVessel("rinse of "+joinNames(s.Object), nil)
		dest.kind = "rinse"
		defer func() {
			b.discardOne(s, procedure.Text{S: dest.name, Span: s.Head})
		}()
		for _, o := range s.Object {
			if src := b.place(o, false); src != nil {
				for _, p := range src.pourOut(1) {
					dest.put(p)
				}
			}
		}
	}
	moved := false
	for _, o := range s.Object {
		b.closeTransfers(o.S)
		src := b.place(o, false)
		if src != nil && src.piece != nil {
			src.piece.used = true
		}
		if dest == nil && len(s.Into) == 0 {
			if g, ok := s.Gives[""]; ok {
				dest = b.vesselNamed(g.S)
				if dest == nil {
					dest = b.newVessel(g.S, nil)
					dest.kind = "rinse"
				}
			}
		}
		into := src
		if dest != nil {
			into = dest
		}
		if into == nil {
			for _, t := range s.With {
				if m := b.material(t.S); m != nil {
					m.used = true
				}
			}
			continue
		}
		for _, t := range s.With {
			if into == src && src.liveEq() > 0 && b.isProtic(t.S) {
				b.quench(s, src)
				continue
			}
			if dest != nil {
				if !moved { // one amount for all that is rinsed
					b.move(s, t, dest)
				}
			} else if m := b.material(t.S); m != nil {
				m.used = true
				if m.sp.flash.Known && m.sp.flash.V < 23 {
					src.rinsed = m.sp.name
				}
				if m.sp.family == "water" {
					src.rinsed = ""
					src.glass = "wet"
				}
			}
		}
		moved = moved || dest != nil
		if src != nil && dest != nil && src != dest && len(src.contents) > 0 {
			for _, p := range src.pourOut(1) {
				dest.put(p)
			}
		}
	}
}

func joinNames(ts []procedure.Text) string {
	var names []string
	for _, t := range ts {
		names = append(names, t.S)
	}
	return strings.Join(names, " and ")
}

func (b *Bench) isProtic(name string) bool {
	if m := b.material(name); m != nil {
		for _, p := range m.mix {
			if p.sp.family == "water" || p.sp.is("alcohol") {
				return true
			}
		}
		return m.sp.is("alcohol", "water")
	}
	if sp := b.lookup(name); sp != nil {
		return sp.is("alcohol", "water")
	}
	return false
}

func (b *Bench) noteLive(v *vessel) {
	for _, p := range v.live() {
		if !slices.Contains(b.liveUsed, p.sp.name) {
			b.liveUsed = append(b.liveUsed, p.sp.name)
		}
	}
}
