package bench

import (
	"math"
	"slices"
	"strings"

	"ketyl/checker/finding"
	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
	"ketyl/checker/substance"
)

// play carries out one step. A step that happens only if something, or that
// is optional, is read for what it promises but changes nothing.
func (b *Bench) play(s *procedure.Step) {
	b.step = s
	b.clock(s)
	b.markUsed(s)
	clear(b.sensitiveBefore)
	clear(b.mmolBefore)
	b.noteOpen()
	for _, v := range b.vessels {
		for _, p := range v.contents {
			if p.sp.need > 0 && p.mmol > b.mmolBefore[p.sp] {
				b.mmolBefore[p.sp] = p.mmol
			}
		}
		if p := v.mostSensitive(); p != nil && p.mmol > 1e-3 && (p.sp.live || p.sp.need >= 2) {
			b.sensitiveBefore[v] = true
		}
	}
	b.watchWords(s)
	v := b.target(s)
	b.stepEvent(s, v)
	if s.If.Is() || isTrue(s.Optional) {
		if v != nil && s.If.Is() {
			b.branch[v] = true
		}
		b.snapshot(s)
		return
	}
	if s.Temp != nil && v != nil && s.Temp.Known() {
		v.tC, v.tKnown = s.Temp.Value(), true
	}
	switch s.Verb.Name {
	case "dry", "activate":
		b.dry(s)
	case "assemble":
		for _, o := range s.Object {
			if w := b.place(o, false); w != nil {
				w.hotDry = w.hotDry || isTrue(s.Hot)
			}
		}
	case "degas", "sparge":
		b.degas(s)
	case "distil":
		b.distil(s)
	case "follow":
		b.follow(s)
	case "test":
		for _, o := range s.Object {
			if m := b.material(o.S); m != nil && (len(s.With) == 0 || has(joined(s.With)+s.Expect.S, "perox", "strip", "starch", "iodide")) {
				b.tested[m] = true
			}
		}
	case "titrate":
		for _, o := range s.Object {
			if m := b.material(o.S); m != nil {
				m.row.Titrated = procedure.Text{S: "step", Span: s.Head}
			}
		}
	case "guard", "blanket", "purge", "backfill", "seal", "open", "vent", "scrub", "evacuate", "introduce", "withdraw", "trap", "isolate":
		b.atmosphere(s, v)
	case "add", "charge", "transfer", "pour", "dissolve", "pass", "condense", "weigh":
		b.transfer(s)
	case "rinse":
		b.rinse(s)
	case "cool", "heat", "warm", "reflux", "stir", "stand", "irradiate":
		b.condition(s, v)
	case "fit", "remove", "start", "stop":
		b.fitting(s, v)
	case "confirm":
		b.confirm(s, v)
	case "sample":
		b.sample(s, v)
	case "quench", "destroy", "acidify", "basify", "neutralise":
		b.quench(s, v)
	case "extract", "wash", "separate", "filter", "decant", "centrifuge", "crystallise", "precipitate", "chromatograph", "steam-distil", "sublime":
		b.workup(s, v)
	case "concentrate":
		b.concentrate(s, v)
	case "analyse":
		if v != nil {
			v.product, v.stored = true, true
		}
	case "store":
		for _, o := range s.Object {
			if w := b.place(o, false); w != nil {
				w.stored = true
				if (isTrue(s.Sealed) || w.conn == connSealed) && s.For != nil {
					w.conn = connSealed
					b.closure(w, "stored", s)
				}
			}
		}
	case "discard":
		b.discard(s)
	case "clean":
		for _, o := range s.Object {
			b.closeTransfers(o.S)
			if w := b.place(o, false); w != nil {
				if len(s.With) > 0 {
					if sp := b.liquidOf(s.With[len(s.With)-1].S); sp != nil && sp.flash.Known && sp.flash.V < 23 && !has(joined(s.Then)+s.Note.S, "air", "evaporat", "dry") {
						w.rinsed = sp.name
					} else {
						w.rinsed = ""
					}
				}
				w.cleanedHot = true
			}
		}
	case "return":
	}
	if v != nil {
		b.last = v
		if v.halideIn > 0 && has(s.Until.S+joined(s.Signs), "cloud", "turbid", "bubbl", "boil", "brown", "grey", "gray", "reflux") {
			v.initiated = true
		}
		if has(s.Until.S+joined(s.Signs), "start", "initiat", "begins", "has begun") {
			v.initiated = true // it is watched for here
		}
	}
	b.exposures(s)
	b.humidAir(s)
	b.fills(s)
	b.snapshot(s)
}

func plural(n float64, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return quantity.FormatNumber(n) + " " + what + "s"
}

// markUsed notes every piece of apparatus that a step names anywhere.
func (b *Bench) markUsed(s *procedure.Step) {
	mark := func(name string) {
		if p := b.pieceNamed(name); p != nil {
			p.used = true
		}
	}
	for _, ts := range [][]procedure.Text{s.Object, s.With, s.To, s.From, s.Into, s.In, s.On, s.Under, s.Through, s.Against, s.Then} {
		for _, t := range ts {
			mark(t.S)
		}
	}
	for _, t := range []procedure.Text{s.Bath, s.By, s.Outlet, s.Coolant, s.Condenser, s.Trap, s.CoolIn, s.Tip, s.Swap} {
		mark(t.S)
	}
}

func joined(ts []procedure.Text) string {
	if len(ts) == 0 {
		return ""
	}
	n := len(ts)
	for _, t := range ts {
		n += len(t.S)
	}
	var sb strings.Builder
	sb.Grow(n)
	for _, t := range ts {
		sb.WriteString(t.S)
		sb.WriteByte(' ')
	}
	return sb.String()
}

var vagueNames = []string{"reaction mixture", "mixture", "contents", "suspension", "solution", "residue", "crude product", "crude", "the mixture", "slurry", "reaction"}

// place finds the vessel, layer or product that a name means; nil when it is
// none. With make, a name that is unknown becomes a vessel and is reported.
func (b *Bench) place(t procedure.Text, make bool) *vessel {
	if !t.Is() {
		return nil
	}
	if v := b.vesselNamed(t.S); v != nil {
		if v.piece != nil {
			v.piece.used = true
		}
		return v
	}
	if v := b.alias[strings.ToLower(t.S)]; v != nil {
		return v
	}
	if p := b.pieceNamed(t.S); p != nil {
		p.used = true
		if p.vessel != nil {
			return p.vessel
		}
		if v := b.under(p.on); v != nil && p.class != "line" {
			return v
		}
		return nil
	}
	l := strings.ToLower(strings.TrimPrefix(t.S, "the "))
	if slices.Contains(vagueNames, l) {
		for i := len(b.vessels) - 1; i >= 0; i-- {
			if b.vessels[i].name != "" && strings.EqualFold(b.vessels[i].name, l) {
				return b.vessels[i]
			}
		}
		if b.last != nil {
			return b.last
		}
	}
	// a layer called by its kind: aqueous layer, organic layer, filter cake
	if v := b.byKind(l); v != nil {
		return v
	}
	if b.p.Product != nil && strings.EqualFold(l, b.p.Product.Name.S) {
		for i := len(b.vessels) - 1; i >= 0; i-- {
			if v := b.vessels[i]; v.product && !v.discarded {
				return v
			}
		}
		if b.last != nil {
			return b.last
		}
	}
	if !make {
		return nil
	}
	if m := b.material(t.S); m != nil {
		return b.heap(m)
	}
	return b.implicit(t)
}

// heap is a material that stands as a place: dry ice or ice that something is
// poured on. It holds its whole amount.
func (b *Bench) heap(m *material) *vessel {
	v := b.newVessel(m.name, nil)
	v.kind, v.bench = "heap", true
	if m.mix0() {
		b.pourMaterial(m, 1, v, b.step)
	} else {
		m.used = true
		v.put(portion{sp: m.sp, mmol: 1000, g: m.sp.mw, from: m.name})
		v.blur = "the amount of " + m.name
	}
	v.tKnown = true
	b.meetHazards(m.sp, portion{sp: m.sp, mmol: math.Max(m.mmol.V, 1)}, b.step)
	switch m.sp.name {
	case "ice":
		v.tC = 0
	case "dry ice":
		v.tC = -78
		b.cryogenUsed = true
	default:
		v.tKnown = false
	}
	return v
}

// byKind finds the latest layer or solid by words such as aqueous or cake.
func (b *Bench) byKind(l string) *vessel {
	var want string
	switch {
	case has(l, "aqueous", "water layer", "water phase"):
		want = "aqueous"
	case has(l, "organic", "ether layer", "ether extract", "extract", "ethereal"):
		want = "organic"
	case has(l, "cake", "precipitate", "filter residue", "solid"):
		want = "cake"
	case has(l, "filtrate"):
		want = "filtrate"
	case has(l, "mother liquor"):
		want = "mother liquor"
	case has(l, "distillate", "recovered"):
		want = "distillate"
	case has(l, "washing"):
		want = "aqueous"
	default:
		return nil
	}
	for i := len(b.vessels) - 1; i >= 0; i-- {
		if v := b.vessels[i]; v.piece == nil && v.kind == want && !v.discarded {
			return v
		}
	}
	return nil
}

// target is the vessel a step acts on, nil when its object is a material or a
// thing that holds nothing.
func (b *Bench) target(s *procedure.Step) *vessel {
	switch s.Verb.Group {
	case procedure.Transfer:
		if len(s.To) > 0 && s.Verb.Name != "rinse" {
			return b.place(s.To[0], true)
		}
		if s.Verb.Name == "dissolve" && len(s.In) > 0 {
			if v := b.place(s.In[0], false); v != nil {
				return v
			}
		}
	}
	if len(s.Object) == 0 {
		return nil
	}
	if v := b.place(s.Object[0], false); v != nil {
		return v
	}
	switch s.Verb.Name {
	case "confirm", "fit", "remove", "start", "stop", "trap", "check":
		for _, t := range slices.Concat(s.In, s.To, s.On, s.From) {
			if v := b.place(t, false); v != nil {
				return v
			}
		}
		if b.last != nil && s.Verb.Name == "confirm" {
			return b.last
		}
		return nil
	case "rinse", "crush", "clear", "test", "titrate", "weigh", "dry", "distil", "degas", "sparge", "activate", "follow", "discard", "destroy", "clean", "return", "store", "analyse", "introduce", "withdraw", "assemble":
		if s.Verb.Name == "crush" && len(s.In) > 0 {
			return b.place(s.In[0], false)
		}
		return nil
	}
	if b.material(s.Object[0].S) != nil {
		return nil
	}
	switch s.Verb.Group {
	case procedure.Atmosphere, procedure.Condition, procedure.Finish, procedure.Watch:
		return b.place(s.Object[0], true)
	}
	return nil
}

func (b *Bench) liquidOf(name string) *species {
	if m := b.material(name); m != nil {
		if m.solvent != nil {
			return m.solvent
		}
		return m.sp
	}
	sp := b.lookup(name)
	return sp
}

// minutes is the length of a step as written, its longest reading.
func minutes(s *procedure.Step) Num {
	var sum float64
	known := false
	for _, f := range []*procedure.Figure{s.For, s.Over, s.HoldFor} {
		if f != nil && f.Dim == quantity.Time && f.Known() {
			if m := f.Max(); !math.IsInf(m, 1) {
				sum += m
			} else {
				sum += f.Min() // "at least": what is certain
			}
			known = true
		}
	}
	if s.Time != nil && s.Time.Known() {
		return Got(s.Time.Max())
	}
	if s.Repeat != nil && s.Repeat.Known() && s.Repeat.Dim == quantity.Count && s.Repeat.Value() > 1 {
		sum *= s.Repeat.Value()
	}
	if !known {
		return Missing("how long step " + quantity.FormatNumber(float64(s.N)) + " takes")
	}
	return Got(sum)
}

// hands-on minutes taken for a step that states no time, by the work it is
// (from memory: a practised student at a bench).
var usualMinutes = map[procedure.Group]float64{
	procedure.Prepare: 5, procedure.Atmosphere: 5, procedure.Transfer: 5, procedure.Condition: 2, procedure.Watch: 2, procedure.Finish: 10, procedure.ClearUp: 3,
}

// driesProduct reports that what a step dries holds what the reaction made.
func (b *Bench) driesProduct(s *procedure.Step) bool {
	for _, t := range s.Object {
		if v := b.place(t, false); v != nil && (v.product || v.hasProduct(b)) {
			return true
		}
	}
	return false
}

func (b *Bench) clock(s *procedure.Step) {
	m := minutes(s)
	if isTrue(s.Before) || s.DoneBy.S == "stockroom" {
		if m.Known {
			if h := m.V / 60; h > b.lead {
				b.lead, b.leadWhat, b.leadPlanned = h, headOf(s), true
			}
		}
		return
	}
	if s.Verb.Name == "dry" && m.Known && m.V > 180 && !b.quenched && !b.driesProduct(s) {
		if h := m.V / 60; h > b.lead {
			b.lead, b.leadWhat, b.leadPlanned = h, headOf(s), false
		}
		return
	}
	waits := s.Verb.Group == procedure.Condition || s.Verb.Name == "dry" || s.Verb.Name == "purge" || s.Verb.Name == "sparge" || s.Verb.Name == "degas"
	if m.Known && waits {
		b.waiting += m.V
	} else if m.Known {
		b.handsOn += m.V
	} else {
		b.handsOn += usualMinutes[s.Verb.Group]
	}
	if isTrue(s.Before) {
		return
	}
	if s.StopPoint.Is() {
		b.stopPoint = true
	}
}

// watchWords keeps what the text says is to be seen, for the vessel it is
// about: signs of a start and what to do without them.
func (b *Bench) watchWords(s *procedure.Step) {
	v := b.target(s)
	if v == nil {
		v = b.last
	}
	if v == nil {
		return
	}
	text := s.Until.S + " " + joined(s.Signs) + " " + s.Expect.S
	if s.Verb.Name == "confirm" {
		text += " " + joined(s.Object)
	}
	if has(text, "initiat", "start", "begin", "bubbl", "boil", "cloud", "turbid", "colour", "color", "reflux", "iodine", "warm", "grey", "gray", "brown") {
		b.evidence[v] = true
	}
	if s.Otherwise.Is() || s.If.Is() && has(s.If.S, "start", "initiat", "begin", "not react", "no reaction", "no boil", "does not") {
		b.branch[v] = true
	}
}

// foresee looks through the steps once for what comes later and matters
// earlier: halide totals, signs, branches, tools that are rinsed.
func (b *Bench) foresee() {
	for _, s := range b.p.Steps {
		b.step = s
		v := b.quietTarget(s)
		if v == nil {
			continue
		}
		text := s.Until.S + " " + joined(s.Signs) + " " + s.Expect.S
		if s.Verb.Name == "confirm" {
			text += " " + joined(s.Object)
		}
		if has(text, "initiat", "start", "begin", "bubbl", "boil", "cloud", "turbid", "colour", "color", "iodine", "grey", "gray", "brown") {
			b.evidence[v] = true
		}
		if s.Otherwise.Is() || s.If.Is() && has(s.If.S, "start", "initiat", "begin", "no reaction", "boil", "does not") {
			b.branch[v] = true
		}
		switch s.Verb.Name {
		case "reflux", "heat", "irradiate", "warm":
			b.willHeat[v] = true
		}
		if s.Verb.Name == "reflux" || has(s.Rate.S, "reflux") || s.At != nil && has(s.At.Word, "reflux") {
			v.willReflux = true
		}
	}
	b.step = nil
}

// quietTarget is target without making or reporting anything.
func (b *Bench) quietTarget(s *procedure.Step) *vessel {
	for _, t := range slices.Concat(s.To, s.Object, s.In, s.On) {
		if v := b.vesselNamed(t.S); v != nil {
			return v
		}
	}
	return nil
}

func (b *Bench) stepEvent(s *procedure.Step, v *vessel) {
	cycles := Missing("the number of antechamber cycles")
	if s.Verb.Name == "introduce" && s.Cycles != nil && s.Cycles.Known() {
		cycles = Got(s.Cycles.Min())
	}
	f := &StepFacts{Cycles: cycles, Verb: s.Verb.Name, Group: string(s.Verb.Group), Vessel: b.facts(v), Minutes: minutes(s), Conditional: s.If.Is() || isTrue(s.Optional),
		By: s.By.S, AfterQuench: v != nil && b.lastQuench == v && b.lastQuenchStep == s.N-1, DoneBy: s.DoneBy.S, Text: s.Note.S, WaitMin: Missing("how long to wait for the sign"), BathC: Missing("the bath temperature")}
	for _, t := range slices.Concat(s.With, s.In, s.Through) {
		f.With = append(f.With, t.S)
	}
	if v != nil {
		f.Live = v.liveMmol() > 0
	}
	f.Measured = s.For != nil || s.Over != nil || s.At != nil || s.ToTemp != nil || s.ToPH != nil || s.Amount.Is() || s.RateFigure != nil || s.Until.Is() || len(s.Signs) > 0 ||
		s.KeepBelow != nil || s.KeepAbove != nil || s.Portions != nil || s.Cycles != nil || s.Flow != nil || has(s.Rate.S, "reflux", "drop", "temperature", "below") || s.HoldFor != nil || s.Expect.Is()
	for _, w := range []string{"carefully", "slowly", "cautiously", "gently", "with care", "until done", "a small amount", "gradually", "careful", "cautious", "slow"} {
		if has(s.Rate.S, w) || has(s.Note.S, w) || has(s.Until.S, w) {
			f.Vague = w
			break
		}
	}
	if s.Verb.Name == "return" && has(joined(s.To)+joined(s.Into), "stock", "bottle", "store") {
		for _, o := range s.Object {
			if m := b.material(o.S); m != nil && m.sp.need > 0 {
				f.Returned = true
			}
		}
	}
	if s.Verb.Name == "confirm" {
		f.Confirm = joined(s.Object)
		f.Signs = float64(len(s.Signs))
		if len(s.Signs) == 0 && s.Until.Is() {
			f.Signs = 1
		}
		f.NoStart = s.Otherwise.Is() || v != nil && b.branch[v]
		if s.Within != nil && s.Within.Known() {
			f.WaitMin = Got(s.Within.Max())
		} else if s.For != nil && s.For.Known() {
			f.WaitMin = Got(s.For.Max())
		}
		if s.At != nil && s.At.Known() {
			f.BathC = Got(s.At.Value())
		}
	}
	switch s.Verb.Name {
	case "add", "quench", "transfer", "pour", "acidify", "destroy", "pass":
		f.Hazardous = f.Live && s.Verb.Name != "transfer" || s.Verb.Name == "quench"
		if !f.Hazardous && s.Verb.Name == "add" {
			for _, o := range s.Object {
				if m := b.material(o.S); m != nil && m.sp.live {
					f.Hazardous = true
				}
			}
		}
	}
	f.Reference = s.Verb.Name == "follow"
	condensed := v != nil && slices.ContainsFunc(v.contents, func(p portion) bool { return p.sp.gas && p.ml > 10 })
	kept := s.Verb.Name == "store" || s.Verb.Name == "stand" && !condensed && (v != nil && v.tC <= 10 || s.At != nil && s.At.Known() && s.At.Value() <= 10)
	if kept {
		b.emit(Event{Kind: "step", Span: s.Head, Facts: f})
		return
	}
	if f.Live && !isTrue(s.Attended) && f.Minutes.Known && (f.Minutes.V >= 600 || s.For != nil && s.For.Word == "overnight") {
		b.leftAlone(s, f.Minutes.V)
	}
	if s.Attended != nil && *s.Attended && f.Minutes.Known && f.Minutes.V >= 600 && f.Live {
		b.leftAlone(s, f.Minutes.V)
		b.attended = true
	}
	if (s.Verb.Name == "reflux" || s.Verb.Name == "heat" || s.Verb.Name == "distil" || condensed) && f.Minutes.Known && f.Minutes.V >= 600 {
		b.leftAlone(s, f.Minutes.V)
		b.attended = b.attended || isTrue(s.Attended)
	}
	b.emit(Event{Kind: "step", Span: s.Head, Facts: f})
}

func (b *Bench) leftAlone(s *procedure.Step, m float64) {
	if b.unattended == "" || m > b.unattendedMin {
		b.unattended, b.unattendedMin = headOf(s)+" (step "+quantity.FormatNumber(float64(s.N))+")", m
	}
}

// atmosphere changes what air a vessel holds and how it is joined to the room.
func (b *Bench) atmosphere(s *procedure.Step, v *vessel) {
	targets := []*vessel{v}
	if len(s.Object) > 1 {
		targets = targets[:0]
		for _, o := range s.Object {
			if w := b.place(o, false); w != nil {
				targets = append(targets, w)
			}
		}
	}
	var supply *piece
	for _, t := range s.From {
		if p := b.pieceNamed(t.S); p != nil {
			supply, p.used = p, true
		} else if s.Verb.Name != "withdraw" {
			b.missing = append(b.missing, t.S)
		}
	}
	if supply == nil {
		for _, p := range b.pieces {
			if p.class == "line" && (s.Verb.Name == "blanket" || s.Verb.Name == "purge" || s.Verb.Name == "backfill") && strings.EqualFold(p.name, joinedOne(s.By)) {
				supply = p
			}
		}
	}
	gas := strings.TrimSpace(joined(s.With))
	if gas == "" && supply != nil {
		gas = supply.row.Gas.S
	}
	if has(gas, "air", "oxygen") && (s.Verb.Name == "purge" || s.Verb.Name == "backfill" || s.Verb.Name == "introduce" || s.Verb.Name == "blanket") {
		where := b.last
		for _, w := range targets {
			if w != nil {
				where = w
			}
		}
		if where == nil {
			for _, w := range b.vessels {
				where = w
				break
			}
		}
		b.airOnTrap(s, where)
	}
	if s.Verb.Name == "introduce" || s.Verb.Name == "withdraw" {
		for _, o := range s.Object {
			if b.place(o, false) == nil && b.material(o.S) == nil && b.pieceNamed(o.S) == nil && b.alias[strings.ToLower(o.S)] == nil {
				if _, known := classOf(o.S); !known && b.lookup(o.S) == nil {
					b.placeUnknown(o)
				}
			}
		}
	}
	for _, w := range targets {
		if w == nil {
			if s.Verb.Name == "introduce" || s.Verb.Name == "withdraw" {
				continue
			}
			continue
		}
		switch s.Verb.Name {
		case "guard":
			fill := gas
			if len(s.With) > 0 {
				if p := b.pieceNamed(s.With[0].S); p != nil {
					p.used = true
					fill = p.row.Fill.S
				}
			}
			b.guard(w, fill)
		case "blanket":
			b.underGas(w, gas, supply, s)
			if s.By.Is() && has(s.By.S, "balloon") || has(gas, "balloon") {
				w.conn, w.outlet = connBalloon, "balloon"
			}
			if s.Flow != nil && s.For != nil && s.Flow.Known() && s.For.Known() {
				b.sweepOut(w, s, supply)
			} else if w.rank < 3 && !w.cycles.Known && !w.swept {
				w.how = "a slow stream of " + word(w.gasName, "gas")
				w.oxygenAsk = "how much gas sweeps " + w.name + " before the reagent goes in (flow and time, or evacuate–refill cycles)"
			}
		case "purge":
			b.underGas(w, gas, supply, s)
			b.sweepOut(w, s, supply)
			w.supplied = false // swept once; nothing says that the gas stays on
		case "backfill":
			b.backfill(w, gas, supply, s)
		case "evacuate":
			p := b.pumpMbar()
			if s.Vacuum != nil && s.Vacuum.Known() {
				p = s.Vacuum.Value()
			}
			w.prevOutlet = w.outlet
			w.conn, w.outlet, w.vacuum = connVacuum, "", Got(p)
			b.vacuumUsed = true
			b.act("vacuum", w.name)
			if w.rank < 3 {
				w.rank = 3
			}
			b.overVacuum(w, p, s)
		case "seal":
			b.seal(w, s)
		case "open":
			if b.guarded(s) {
				w.how = "opened under a stream of gas"
				continue
			}
			b.openAir(w)
		case "vent":
			out := s.Outlet.S
			if out == "" {
				out = joined(s.To) + joined(s.Through) + joined(s.Into)
			}
			w.outlet, w.outletSaid = word(strings.TrimSpace(out), "open"), true
			if w.conn == connSealed {
				w.conn = connGas
			}
		case "scrub":
			sc := &scrubber{what: strings.TrimSpace(joined(s.With)), mmol: Missing("how much absorbent the scrubber holds")}
			if len(s.With) > 0 {
				if m := b.material(s.With[0].S); m != nil {
					sc.with, m.used = m.sp, true
					sc.mmol = m.mmol
					if sc.mmol.Known {
						sc.mmol.V *= math.Max(1, m.sp.eq)
					}
				} else {
					sc.with = b.lookup(s.With[0].S)
				}
			}
			sc.suck = has(s.Tip.S, "below", "under", "dip") && !s.Trap.Is()
			w.scrub = sc
			w.outletSaid = true
			if w.outlet == "" {
				w.outlet = "scrubber"
			}
		case "introduce":
			w.conn, w.rank, w.outlet, w.outletSaid = connBox, 4, "glovebox", true
			w.gasStated = true
			b.boxGas(w, s)
		case "withdraw":
			if isTrue(s.Sealed) || w.sealedAt > 0 || w.conn == connBox && w.class != "beaker" {
				w.conn = connSealed
				if isTrue(s.Sealed) {
					w.sealedAt = s.N
				}
			} else {
				b.openAir(w)
			}
		case "isolate":
			b.trapIsolated = true
		case "trap":
		}
	}
	if s.Verb.Name == "introduce" {
		b.entry(s)
	}
	switch s.Verb.Name {
	case "trap":
		b.trapStep(s)
	case "isolate":
		b.trapIsolated = true
	case "open", "withdraw", "vent":
		if v != nil && v.class == "trap" || has(joined(s.Object), "trap") {
			b.trapIsolated, b.trapVented = false, true
		} else {
			b.airOnTrap(s, v)
		}
	}
}

// relieved reports a line that has its own bubbler by build: a manifold.
func relieved(p *piece) bool {
	return p != nil && has(p.kind, "schlenk line", "double", "manifold", "house")
}

func joinedOne(t procedure.Text) string { return t.S }

func word(s, def string) string {
	if s == "" {
		return def
	}
	return s
}

// guarded reports a step that is done against a stream of inert gas or in a
// glovebox.
func (b *Bench) guarded(s *procedure.Step) bool {
	t := joined(s.Under) + " " + s.By.S + " " + s.Note.S
	return has(t, "counter", "nitrogen", "argon", "inert", "stream of", "positive pressure", "glovebox", "flow")
}

func (b *Bench) underGas(w *vessel, gas string, supply *piece, s *procedure.Step) {
	was := w.conn
	w.conn = connGas
	w.supply, w.supplied = supply, true
	b.inertUsed = true
	b.nameGas(w, gas)
	if w.rank < 2 || was == connOpen && !w.cycles.Known {
		w.rank = 2
	}
	if w.cycles.Known && was != connOpen {
		w.rank = math.Max(w.rank, 3)
	}
	out := s.Outlet.S
	if out != "" {
		w.outletSaid = true
		if p := b.pieceNamed(out); p != nil {
			p.used = true
			out = word(p.kind, out)
			if p.class == "drying tube" {
				out = "drying tube"
			}
		}
		w.outlet = out
		w.narrow = has(out, "needle", "capillary")
	} else if supply != nil && supply.row.Relief.Is() {
		w.outlet = "the line's " + supply.row.Relief.S
		w.outletSaid = true
	}
	if w.outlet == "" && relieved(supply) {
		w.outlet, w.outletSaid = "the line's bubbler", true
	}
	if w.outlet == "drying tube" && was == connTube && out == "" {
		w.outlet = "drying tube"
	}
	w.flow = w.flow || s.Flow != nil || has(s.Rate.S, "stream", "flow")
	if w.outlet == "" && w.prevOutlet != "" {
		w.outlet, w.outletSaid = w.prevOutlet, true
	}
	if w.rank < 3 && !w.swept {
		w.gases = AfterSweep(w.gases, Pure(w.gasName, b.impurity(supply)), 3)
	}
}

// sweepOut is a flow for a time: vessel volumes of gas and what they leave.
func (b *Bench) sweepOut(w *vessel, s *procedure.Step, supply *piece) {
	head := w.headspace()
	w.swept = true
	switch {
	case s.Flow == nil || !s.Flow.Known() || s.Flow.Dim != quantity.Flow:
		w.sweep = Missing("the flow of gas through " + w.name)
	case s.For == nil || !s.For.Known():
		w.sweep = Missing("how long gas sweeps " + w.name)
	case !head.Known:
		w.sweep = Missing(head.Ask)
	default:
		vol := s.Flow.Min() * s.For.Min() / head.V
		w.sweep = Got(vol)
		w.gases = AfterSweep(b.roomAir(), Pure(w.gasName, b.impurity(supply)), vol)
		w.oxygenAsk = ""
		w.how = "a sweep of " + quantity.FormatNumber(vol) + " vessel volumes of " + word(w.gasName, "gas")
		return
	}
	if w.rank < 3 {
		w.oxygenAsk = w.sweep.Ask
		w.how = "a sweep whose volume is not stated"
	}
}

func (b *Bench) backfill(w *vessel, gas string, supply *piece, s *procedure.Step) {
	b.vacuumUsed, b.inertUsed = true, true
	p := Assume(b.pumpMbar(), "pump of the site file")
	if s.Vacuum != nil {
		switch {
		case s.Vacuum.Known() && s.Vacuum.Word == "":
			p = Got(s.Vacuum.Value())
		case has(s.Vacuum.Word+s.Vacuum.Raw, "aspirator", "house", "water"):
			p = Assume(b.aspiratorMbar(), "aspirator of the site file")
		case s.Vacuum.Known():
			p = Got(s.Vacuum.Value())
		}
	} else if supply != nil && supply.row != nil && supply.row.Vacuum != nil && supply.row.Vacuum.Known() {
		p = Got(supply.row.Vacuum.Value())
	}
	w.vacuum = p
	w.conn, w.supply, w.supplied = connGas, supply, true
	b.nameGas(w, gas)
	if s.Outlet.Is() {
		w.outlet, w.outletSaid = s.Outlet.S, true
	} else if supply != nil && supply.row.Relief.Is() {
		w.outlet, w.outletSaid = "the line's "+supply.row.Relief.S, true
	} else if relieved(supply) && w.outlet == "" {
		w.outlet, w.outletSaid = "the line's bubbler", true
	}
	b.overVacuum(w, p.V, s)
	if s.Cycles == nil || !s.Cycles.Known() {
		w.cycles = Missing("the number of evacuate–refill cycles of " + w.name)
		w.oxygenAsk = w.cycles.Ask
		w.rank = 3
		w.how = "evacuate–refill cycles, number not stated"
		return
	}
	n := s.Cycles.Min()
	if s.Repeat != nil && s.Repeat.Known() && s.Repeat.Dim == quantity.Count {
		n *= s.Repeat.Value()
	}
	w.cycles, w.swept = Got(n), true
	if n >= 3 {
		w.degassed = true // what stands in it goes through the cycles too
		for _, p := range w.contents {
			if m := b.material(p.from); m != nil {
				m.degassed = true
			}
		}
	}
	w.gases = AfterCycles(w.gases, Pure(w.gasName, b.impurity(supply)), p.V, Atm, n)
	b.cyclesOver(w, p.V, b.impurity(supply), n)
	w.oxygenAsk = ""
	w.rank = 3
	w.how = plural(n, "evacuate–refill cycle") + " at " + quantity.Format(p.V, quantity.Pressure)
	if (w.glass == "not stated" || w.glass == "damp") && isTrue(s.Hot) {
		w.glass = "dry"
	}
}

// overVacuum looks at what a pump does to a liquid and to thin glass.
func (b *Bench) overVacuum(w *vessel, mbar float64, s *procedure.Step) {
	f := &HeatingFacts{Verb: s.Verb.Name, Vessel: b.facts(w), Bath: "vacuum"}
	b.blankHeating(f, w)
	f.PressureBar = Got(mbar / 1000)
	if t, ok := w.bubblePoint(mbar); ok && w.volume() > 0 && !w.frozenHard() && !b.stripsNext(w, s) {
		f.AboveBoilK = Got(w.tC - t)
	}
	f.LiveMmol = w.liveMmol()
	if b.coldTrap() && w.gasName == "argon" {
		f.CondensesGas = "argon"
	}
	b.emit(Event{Kind: "heating", Facts: f})
}

// stripsNext reports that taking the solvent off is the purpose of a vacuum.
func (b *Bench) stripsNext(w *vessel, s *procedure.Step) bool {
	for _, t := range b.p.Steps[s.N:min(len(b.p.Steps), s.N+2)] {
		if t.Verb.Name != "concentrate" && t.Verb.Name != "distil" && t.Verb.Name != "sublime" && t.Verb.Name != "dry" {
			continue
		}
		for _, o := range t.Object {
			if strings.EqualFold(o.S, w.name) || slices.Contains(vagueNames, strings.ToLower(o.S)) {
				return true
			}
		}
	}
	return false
}

// coldTrap reports a trap cold enough to condense oxygen (90 K) and argon (87
// K), joined to the line.
func (b *Bench) coldTrap() bool { return b.trapC.Known && b.trapC.V < -183 && !b.trapIsolated }

// airOnTrap reports air let onto a line whose trap stands in liquid nitrogen.
func (b *Bench) airOnTrap(s *procedure.Step, v *vessel) {
	if v == nil || !b.coldTrap() || v.conn == connBox {
		return
	}
	f := &HeatingFacts{Verb: s.Verb.Name, Vessel: b.facts(v), Bath: "trap"}
	b.blankHeating(f, v)
	f.CondensesGas, f.Trap = "oxygen", true
	b.emit(Event{Kind: "heating", Facts: f})
}

// trapWarmed reports a trap that loses its coolant while it is closed.
func (b *Bench) trapWarmed(s *procedure.Step) {
	if !b.trapC.Known || b.trapC.V > -50 {
		return
	}
	if b.trapIsolated && !b.trapVented {
		v := b.newVessel("trap", nil)
		for _, p := range b.pieces {
			if p.class == "trap" && p.vessel != nil {
				b.vessels = b.vessels[:len(b.vessels)-1]
				v = p.vessel
				break
			}
		}
		v.conn, v.sealedAt, v.sealT, v.tC = connSealed, s.N, b.trapC.V, b.roomT()
		b.closure(v, "cold then warmed", s)
		v.gone = v.piece == nil
	}
	b.trapC = Missing("the temperature of the trap")
}

func (v *vessel) frozenHard() bool {
	s := v.solvent()
	return s != nil && s.fp.Known && v.tC < s.fp.V
}

func (b *Bench) boxGas(w *vessel, s *procedure.Step) {
	w.gases = Pure("nitrogen", 1e-6)
	w.gasName = "nitrogen"
	w.how = "glovebox"
	for _, p := range b.pieces {
		if p.class == "glovebox" {
			p.used = true
			if p.row.Gas.Is() {
				b.nameGas(w, p.row.Gas.S)
			}
			w.gases = Pure(w.gasName, 0)
			ppm := 1.0
			if p.row.Oxygen != nil && p.row.Oxygen.Known() {
				ppm = p.row.Oxygen.Value() * 1e6
			}
			w.gases.O2 = ppm * 1e-6
			w.gases.H2O = 1e-6
			if p.row.Water != nil && p.row.Water.Known() {
				w.gases.H2O = p.row.Water.Value()
			}
		}
	}
	w.oxygenAsk = ""
}

func (b *Bench) openAir(w *vessel) {
	w.conn, w.rank, w.outlet = connOpen, 0, ""
	w.gases, w.air = b.roomAir(), aeration{}
	w.oxygenAsk = ""
	w.how = "opened to air"
	w.cycles = Missing("the number of cycles")
	if w.glass == "dry" && w.volume() == 0 && w.tC < 60 {
		w.glassStep = b.step.N
	}
}

// seal closes a vessel and remembers what it was like then.
func (b *Bench) seal(w *vessel, s *procedure.Step) {
	if w.conn == connBox {
		w.sealedAt = s.N
		return
	}
	if b.guarded(s) || w.closed() {
		if w.rank < 2 && b.guarded(s) {
			w.rank = 2
		}
	}
	if w.hasFamily("borohydride") && (w.aqueous() || w.hasFamily("alcohol")) {
		// borohydride in water or alcohol goes on giving hydrogen: four per mol
		for _, p := range w.contents {
			if p.sp.is("borohydride") {
				w.sealGasMmol += 4 * p.mmol
			}
		}
		gas := w.sealGasMmol
		w.conn, w.outlet, w.outletSaid = connSealed, "", false
		w.sealedAt, w.sealT, w.sealGasMmol = s.N, w.tC, gas
		b.closure(w, "gas", s)
		return
	}
	w.conn, w.outlet, w.outletSaid = connSealed, "", false
	w.sealedAt, w.sealT, w.sealGasMmol = s.N, w.tC, 0
	if s.For != nil && s.For.Known() {
		b.closure(w, "stored", s)
	}
	for _, p := range w.contents {
		if p.sp.gas || p.sp.is("cryogen") {
			b.closure(w, "cold then warmed", s)
			break
		}
	}
}

// closure reports a vessel with no way out, with the pressure it would reach.
func (b *Bench) closure(w *vessel, why string, s *procedure.Step) {
	f := &ClosureFacts{Vessel: b.facts(w), Why: why, RatedBar: Missing("the pressure rating of " + w.name), TemperatureC: Num{V: w.tC, Known: true}, GasL: Got(GasLitres(w.sealGasMmol)), Hours: Missing("how long it stays closed"), PressureBar: Missing("the size of " + w.name)}
	if w.piece != nil && w.piece.row != nil && w.piece.row.Rated != nil && w.piece.row.Rated.Known() {
		f.RatedBar = Got(w.piece.row.Rated.Value() / 1000)
	}
	if m := minutes(s); m.Known {
		f.Hours = Got(m.V / 60)
	}
	f.Supply = w.supply != nil
	f.Relief = w.supply != nil && w.supply.row.Relief.Is()
	if h := w.headspace(); h.Known {
		gas := w.sealGasMmol
		t := w.tC
		if why == "cold then warmed" {
			t = math.Max(t, b.roomT())
		}
		for _, p := range w.contents {
			if p.sp.gas || p.sp.is("cryogen") {
				gas += math.Min(p.mmol, p.sp.gasAbove(h.V, t))
			}
		}
		f.TemperatureC = Got(t)
		f.PressureBar = Num{V: PressureBar(h.V, w.sealT, t, gas, w.vapourMbar(w.sealT), w.vapourMbar(t)), Known: true, Assumed: h.Assumed}
	}
	b.emit(Event{Kind: "closure", Facts: f, Cause: "closed " + w.name})
}

func (b *Bench) entry(s *procedure.Step) {
	// what goes through the antechamber: a sealed vessel of air, or a vapour
	// that poisons the box
	for _, o := range s.Object {
		if m := b.material(o.S); m != nil {
			m.used = true
		}
	}
}

func (b *Bench) trapStep(s *procedure.Step) {
	t := math.NaN()
	text := joined(s.With) + s.Bath.S
	switch {
	case has(text, "liquid nitrogen", "ln2", "liquid n2"):
		t = -196
	case has(text, "dry ice"):
		t = -78
	case has(text, "ice"):
		t = 0
	}
	for _, o := range slices.Concat(s.Object, s.On, s.In) {
		if p := b.pieceNamed(o.S); p != nil {
			p.used = true
		}
	}
	if !math.IsNaN(t) {
		b.trapC = Got(t)
		b.trapIsolated, b.trapVented = false, false
		if t < -100 {
			b.cryogenUsed = true
			b.act("cryogen", "liquid nitrogen")
		}
	}
}

// dry takes water out of glass, a liquid, a solid or a layer.
func (b *Bench) dry(s *procedure.Step) {
	if s.Verb.Name == "activate" {
		for _, o := range s.Object {
			if m := b.material(o.S); m != nil {
				m.used = true
				b.activated[m.sp] = figureOf(s.At)
				if s.For == nil {
					continue
				}
			}
		}
		return
	}
	for _, o := range s.Object {
		if m := b.material(o.S); m != nil && !(b.vesselNamed(o.S) != nil) {
			b.dryMaterial(s, m, o.Span)
			continue
		}
		if p := b.pieceNamed(o.S); p != nil && p.vessel == nil {
			b.dryGlassEvent(s, o.S, nil) // a condenser is not the flask under it
			continue
		}
		if v := b.place(o, false); v != nil {
			if v.piece == nil || v.volume() > 0.5 {
				b.dryLayer(s, v)
				continue
			}
			b.dryGlass(s, v)
			continue
		}
		if p := b.pieceNamed(o.S); p != nil {
			p.used = true
			b.dryGlassEvent(s, o.S, nil)
			continue
		}
		if class, known := classOf(o.S); known && class != "other" || has(o.S, "glass", "apparatus", "everything") {
			b.dryGlassEvent(s, o.S, nil)
			if has(o.S, "glass", "apparatus", "everything") {
				for _, v := range b.vessels {
					if v.piece != nil && v.volume() == 0 {
						b.applyGlass(s, v)
					}
				}
			}
			continue
		}
		b.placeUnknown(o)
	}
}

func figureOf(f *procedure.Figure) Num {
	if f == nil || !f.Known() {
		return Missing("a figure")
	}
	return Got(f.Value())
}

func (b *Bench) dryGlass(s *procedure.Step, v *vessel) {
	b.dryGlassEvent(s, v.name, v)
	b.applyGlass(s, v)
}

// applyGlass marks glass as dry when the oven, flame or vacuum could have
// done it: 105 °C for half an hour at the least; see rules/drying.yaml for
// the limits that are judged.
func (b *Bench) applyGlass(s *procedure.Step, v *vessel) {
	how := joined(s.In) + joined(s.With) + s.Note.S
	t := math.NaN()
	if s.At != nil && s.At.Known() {
		t = s.At.Value()
	}
	flame := has(how, "flame", "heat gun", "burner", "torch")
	switch {
	case flame, has(how, "vacuum") || s.Vacuum != nil:
		v.glass = "dry"
	case math.IsNaN(t) || t >= 100:
		v.glass = "dry"
	default:
		v.glass = "damp"
	}
	v.hotDry = true
	if !math.IsNaN(t) {
		v.tC = b.roomT()
	}
	v.rinsed = ""
	v.glassStep = s.N
}

func (b *Bench) dryGlassEvent(s *procedure.Step, name string, v *vessel) {
	how := joined(s.In) + joined(s.With) + s.Note.S + s.By.S
	f := b.blankDrying()
	f.Target, f.Name, f.Agent = "glass", name, strings.TrimSpace(joined(s.In)+joined(s.With))
	f.Flame = has(how, "flame", "heat gun", "burner", "torch")
	f.VacuumDry = has(how, "vacuum") || s.Vacuum != nil
	f.CoolIn = s.CoolIn.S
	f.OvenC, f.Hours = Missing("the oven temperature"), Missing("the time in the oven")
	if s.At != nil && s.At.Known() {
		f.OvenC = Got(s.At.Min())
	}
	if s.For != nil && s.For.Known() {
		f.Hours = Got(s.For.Min() / 60)
	}
	f.AssembledHot = isTrue(s.Hot) || b.soonGassed(s, name)
	if v != nil {
		f.RinsedOrganic = v.rinsed
	}
	f.MeetsLive = b.willMeetLive(name)
	b.emit(Event{Kind: "drying", Facts: f, Subject: "dry " + name})
}

// soonGassed reports that the glass is next assembled hot, purged, evacuated
// or blanketed.
func (b *Bench) soonGassed(s *procedure.Step, name string) bool {
	for _, t := range b.p.Steps[s.N:] {
		switch t.Verb.Name {
		case "backfill", "purge", "blanket", "evacuate", "introduce":
			for _, o := range t.Object {
				if strings.EqualFold(o.S, name) {
					return true
				}
			}
		case "assemble":
			return isTrue(t.Hot)
		case "add", "charge":
			return false
		}
	}
	return false
}

func (b *Bench) willMeetLive(name string) bool {
	for _, t := range b.p.Steps {
		for _, to := range slices.Concat(t.To, t.From) {
			if !strings.EqualFold(to.S, name) {
				continue
			}
			for _, o := range t.Object {
				if m := b.material(o.S); m != nil && (m.sp.live || m.sp.takesWater() || metalOf(m.sp) != "" || m.sp.is(halideFamilies...) && b.usesMetal()) {
					return true
				}
			}
		}
	}
	return false
}

// usesMetal reports that a halide here meets magnesium or lithium.
func (b *Bench) usesMetal() bool {
	for _, m := range b.materials {
		if metalOf(m.sp) != "" {
			return true
		}
	}
	return false
}

func (b *Bench) blankDrying() *DryingFacts {
	return &DryingFacts{OvenC: Missing("the oven temperature"), Hours: Missing("the drying time"), LoadPercent: Missing("how much drying agent"), StartPPM: Missing("the water at the start"), ResidualPPM: Missing("the water left"), ActivationC: Missing("the activation temperature of the sieves"), CapacityG: Missing("the capacity of the agent"), WaterG: Missing("the water present")}
}

// dryMaterial dries a solvent or reagent before use.
func (b *Bench) dryMaterial(s *procedure.Step, m *material, at finding.Span) {
	m.used = true
	f := b.blankDrying()
	f.Target, f.Name, f.Family = "reagent", m.name, m.sp.family
	liquid := m.sp
	if m.solvent != nil {
		liquid = m.solvent
	}
	if liquid.liquid {
		f.Target = "solvent"
	} else if m.sp.desiccantKind() != "" {
		f.Target = "agent"
	} else {
		f.Target = "solid"
	}
	agentText := strings.TrimSpace(joined(s.With))
	if agentText == "" {
		agentText = strings.TrimSpace(joined(s.In))
	}
	f.Agent = agentText
	f.VacuumDry = has(joined(s.In)+joined(s.With), "vacuum") || s.Vacuum != nil
	if s.At != nil && s.At.Known() {
		f.OvenC = Got(s.At.Value())
	}
	if s.For != nil && s.For.Known() {
		f.Hours = Got(s.For.Min() / 60)
	}
	if s.Load != nil && s.Load.Known() {
		switch s.Load.Dim {
		case quantity.Fraction:
			f.LoadPercent = Got(s.Load.Value() * 100)
		case quantity.Mass:
			if m.ml.Known && m.ml.V > 0 {
				f.LoadPercent = Got(s.Load.Value() / m.ml.V * 100)
			}
		}
	}
	agent := agentText
	var agentSp *species
	if len(s.With) > 0 {
		agent = s.With[0].S
		if am := b.material(agent); am != nil {
			am.used = true
			agentSp = am.sp
			if !f.LoadPercent.Known && am.g.Known && m.ml.Known && m.ml.V > 0 {
				f.LoadPercent = Got(am.g.V / m.ml.V * 100)
			}
			b.leftover(am, nil, s)
		} else {
			agentSp = b.lookup(agent)
			if p := b.pieceNamed(agent); p != nil {
				p.used = true
			}
		}
	}
	f.AgentKnown = agentSp != nil
	key, _, known := b.c.Agent(agent)
	f.AgentKnown = f.AgentKnown || known
	text := agentText + " " + s.By.S + " " + s.Note.S
	f.Still = has(text, "still", "distil", "benzophenone")
	f.Column = has(text, "column", "alumina", "purification system")
	f.Sieve = has(agent, "sieve", "molsieve")
	if agentSp != nil {
		f.AgentFamily = agentSp.family
		f.WorkupSalt = agentSp.is("drying salt")
	}
	if s.ActivatedAt != nil && s.ActivatedAt.Known() {
		f.ActivationC = Got(s.ActivatedAt.Value())
		f.Activated = true
	}
	if agentSp != nil {
		if t, ok := b.activated[agentSp]; ok {
			f.Activated = true
			if t.Known {
				f.ActivationC = t
			}
		}
		if has(agentSp.name+agentText+b.formOf(agent), "activated") {
			f.Activated = true
		}
	}
	if f.Still || f.Column || agentSp != nil && agentSp.is("alkali metal", "saline hydride", "aluminium hydride", "alkaline-earth metal") {
		f.Activated = true
	}
	f.StartPPM = m.waterPPM
	start := m.waterPPM
	if f.Target == "solvent" {
		if !start.Known {
			if ppm, ok := b.gradePPM("reagent", liquid); ok {
				start = Assume(ppm, "reagent grade, as no dryness is stated before drying")
			} else {
				start = Assume(300, "reagent grade, as no dryness is stated before drying")
			}
			f.StartPPM = start
		}
		for _, c := range b.mayDry(liquid, key, agent) {
			if f.Clash == "" {
				f.Clash = c.Word + ": " + c.Because
			}
		}
		if agentSp != nil && agentSp.is("alkali metal", "alkaline-earth metal", "saline hydride", "aluminium hydride", "amalgam") && liquid.waste.Halogenated && !has(agentSp.name, "calcium hydride") {
			f.Explosive = true
			if f.Clash == "" {
				f.Clash = "an alkali metal or strong hydride can explode with a halogenated liquid"
			}
		}
		load, hours := 0.0, 0.0
		lk, hk := f.LoadPercent.Known, f.Hours.Known
		if lk {
			load = f.LoadPercent.V
		} else if f.Still || f.Column {
			load, lk = 20, true
		}
		if hk {
			hours = f.Hours.V
		} else if f.Column {
			hours, hk = 1, true
		} else if f.Still {
			hours, hk = 24, true
		}
		if lk && hk && f.Clash == "" && (f.Activated || !f.Sieve || true) {
			if ppm, basis, _, ok := b.c.ResidualWater(liquid.substance(), word(key, agent), load, hours, start.V); ok {
				f.ResidualPPM = Assume(ppm, "drying figures: "+basis)
				f.Basis = basis
			} else if f.WorkupSalt {
				f.ResidualPPM = start
			}
		} else if !lk {
			f.ResidualPPM = Missing("how much " + agent + " per volume of " + m.name)
		} else if !hk {
			f.ResidualPPM = Missing("how long " + m.name + " stands over " + agent)
		}
		if f.ResidualPPM.Known {
			m.waterPPM = f.ResidualPPM
		} else if f.WorkupSalt {
			m.waterPPM = start
		} else {
			m.waterPPM = Missing(f.ResidualPPM.Ask)
			if !f.AgentKnown || f.ResidualPPM.Ask == "the water left" {
				m.waterPPM = start
			}
		}
		if agentSp != nil && agentSp.sub != nil && agentSp.sub.Desiccant != nil && agentSp.sub.Desiccant.Capacity != nil && m.ml.Known && lk {
			f.CapacityG = Got(*agentSp.sub.Desiccant.Capacity * load / 100 * m.ml.V)
			f.WaterG = Got(MolarWater(m.ml.V, m.rho(), start.V) * waterMass / 1000)
		}
		m.dried = agentText
		m.grade = ""
		m.driedAsWorkup = f.WorkupSalt
		if f.Still {
			b.act("ether vapour", m.name)
			if agentSp != nil && agentSp.is("alkali metal", "saline hydride", "aluminium hydride") || has(agentText, "sodium") {
				b.actAt("alkali metal", word(agent, "the still"), s)
				b.actAt("water-reactive", word(agent, "the still"), s)
			}
			b.actAt("peroxide former", m.name, s)
		}
	} else {
		m.dried = word(agentText, "dried")
		m.dryWater()
	}
	f.MeetsLive = b.willMeet(m)
	b.emit(Event{Kind: "drying", Facts: f, Subject: "dry " + m.name, Span: at, Cause: "dryness of " + m.name})
}

// dryWater takes a hydrate's or damp solid's water as gone.
func (m *material) dryWater() { m.waterPPM = Got(0); m.driedSolid = true }

func (b *Bench) formOf(name string) string {
	if m := b.material(name); m != nil {
		return m.row.Form.S + m.row.Grade.S
	}
	return ""
}

func (sp *species) desiccantKind() string {
	if sp.sub != nil && sp.sub.Desiccant != nil {
		return sp.sub.Desiccant.Kind
	}
	return ""
}

func (sp *species) substance() *substance.Substance { return sp.sub }

// willMeet reports that a material later goes where a live reagent is.
func (b *Bench) willMeet(m *material) bool {
	places := map[string]bool{}
	for _, t := range b.p.Steps {
		for _, o := range t.Object {
			if strings.EqualFold(o.S, m.name) {
				for _, to := range t.To {
					places[strings.ToLower(to.S)] = true
				}
			}
		}
	}
	for _, t := range b.p.Steps {
		for _, o := range t.Object {
			if x := b.material(o.S); x != nil && x.sp.live {
				for _, to := range t.To {
					if places[strings.ToLower(to.S)] {
						return true
					}
				}
			}
		}
	}
	return false
}

// dryLayer dries a layer of the work-up.
func (b *Bench) dryLayer(s *procedure.Step, v *vessel) {
	f := b.blankDrying()
	f.Target, f.Name, f.Agent = "layer", v.name, strings.TrimSpace(joined(s.With)+joined(s.In))
	if sol := v.solvent(); sol != nil {
		f.Family = sol.family
	} else {
		f.Target = "solid"
	}
	if len(s.With) > 0 {
		if am := b.material(s.With[0].S); am != nil {
			am.used = true
			f.AgentKnown, f.AgentFamily, f.WorkupSalt = true, am.sp.family, am.sp.is("drying salt", "carbonate")
			f.MeetsLive = v.liveMmol() > 0
			if sol := v.solvent(); sol != nil && sol.sub != nil {
				key, _, _ := b.c.Agent(s.With[0].S)
				for _, c := range b.mayDry(sol, key, s.With[0].S) {
					if f.Clash == "" {
						f.Clash = c.Word + ": " + c.Because
					}
				}
				if am.sp.is("alkali metal", "saline hydride", "aluminium hydride") && sol.waste.Halogenated {
					f.Explosive = true
				}
			}
			b.leftover(am, v, s)
		} else if sp := b.lookup(s.With[0].S); sp != nil {
			f.AgentKnown, f.AgentFamily, f.WorkupSalt = true, sp.family, sp.is("drying salt", "carbonate")
			b.leftoverSpecies(sp, s.With[0].S, v)
		} else {
			b.unknownName(s.With[0].S, s.With[0].Span)
		}
	}
	if s.At != nil && s.At.Known() {
		f.OvenC = Got(s.At.Value())
	}
	if s.For != nil && s.For.Known() {
		f.Hours = Got(s.For.Value() / 60)
	}
	v.workupDried = f.WorkupSalt
	for i := len(v.contents) - 1; i >= 0; i-- {
		if v.contents[i].sp.family == "water" {
			b.soak(s, v.contents[i].g)
			v.contents = slices.Delete(v.contents, i, i+1)
		}
	}
	b.emit(Event{Kind: "drying", Facts: f, Subject: "dry " + v.name, Cause: "dry " + v.name})
}

// leftover puts the used drying agent on the bench as a thing to be discarded.
func (b *Bench) leftover(m *material, from *vessel, s *procedure.Step) {
	v := b.vesselNamed(m.name)
	if v == nil {
		v = b.newVessel(m.name, nil)
		v.kind, v.class = "cake", "solid"
	}
	v.isDesiccant = true
	v.discarded = false
	g := 1.0
	if m.g.Known {
		g = m.g.V * m.left
	}
	v.put(portion{sp: m.sp, mmol: math.Max(m.mmol.V*m.left, 1), g: g, from: m.name})
	b.usedMaterial(m, 1)
	if from != nil {
		for _, p := range from.live() {
			v.put(portion{sp: p.sp, mmol: p.mmol * 0.02, g: p.g * 0.02, from: p.from})
		}
		v.origin = from.name
	}
}

func (b *Bench) leftoverSpecies(sp *species, name string, from *vessel) {
	v := b.vesselNamed(name)
	if v == nil {
		v = b.newVessel(name, nil)
		v.kind, v.class = "cake", "solid"
	}
	v.isDesiccant = true
	v.put(portion{sp: sp, mmol: 1, g: 1, from: name})
	_ = from
}

func (b *Bench) degas(s *procedure.Step) {
	for _, o := range s.Object {
		if m := b.material(o.S); m != nil {
			m.used, m.degassed = true, true
			m.air = b.deaerate(s, m.name, m.mix, nil, m.airOf())
			continue
		}
		if v := b.place(o, false); v != nil {
			v.degassed = true
			v.air = b.deaerate(s, v.name, v.contents, v, v.air)
			for _, p := range v.contents {
				if m := b.material(p.from); m != nil {
					m.degassed = true
				}
			}
			if s.Verb.Name == "sparge" && v.conn != connBox {
				b.nameGas(v, strings.TrimSpace(joined(s.With)))
			}
			continue
		}
		b.placeUnknown(o)
	}
	if s.Verb.Name == "degas" && (s.Cycles != nil || has(s.Note.S+joined(s.With), "freeze")) {
		b.vacuumUsed, b.cryogenUsed = true, true
		b.act("vacuum", "the frozen flask")
		b.act("cryogen", "liquid nitrogen")
	}
}

// follow makes something by a text that stands elsewhere.
func (b *Bench) follow(s *procedure.Step) {
	var dest *vessel
	for _, t := range slices.Concat(s.To, s.In, s.Into) {
		dest = b.place(t, false)
	}
	if dest == nil {
		name := ""
		for _, k := range s.GivesOrder {
			name = s.Gives[k].S
		}
		if name == "" && len(s.Object) > 0 {
			name = s.Object[0].S
		}
		dest = b.newVessel(name, nil)
		dest.kind, dest.conn, dest.rank, dest.outlet, dest.how = "solution", connGas, 2, "as in the other text", "made by another text, whose atmosphere is not judged here"
		dest.glass = "dry"
		for _, m := range b.materials {
			if m.sp.is("inert gas") {
				b.nameGas(dest, m.name)
			}
		}
	}
	for _, t := range slices.Concat(s.From, s.With) {
		if m := b.material(t.S); m != nil {
			b.pourMaterial(m, 1, dest, s)
		}
	}
	names := slices.Clone(s.Object)
	for _, k := range s.GivesOrder {
		names = append(names, s.Gives[k])
	}
	dest.air = aeration{ask: "what the other text does about air dissolved in its solvent"}
	o := b.react(dest)
	_ = o
	for _, t := range names {
		sp := b.lookup(t.S)
		if sp == nil || dest.find(sp) != nil || t.S == dest.name && b.lookup(t.S) == nil {
			continue
		}
		n := b.limitingOf(dest)
		dest.put(portion{sp: sp, mmol: n, g: n * sp.mw / 1000, from: t.S})
	}
	b.refreshBudget(dest, s)
	b.last = dest
}

func (b *Bench) limitingOf(v *vessel) float64 {
	n := math.Inf(1)
	for _, p := range v.contents {
		if !p.sp.liquid || p.sp.electro > 0 || p.sp.is("alkyl halide", "aryl halide") {
			n = math.Min(n, p.mmol)
		}
	}
	if math.IsInf(n, 1) {
		return 1
	}
	return n
}
