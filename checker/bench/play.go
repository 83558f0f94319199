package bench

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
)

// play carries out one step. A step that happens only if something, or that
// is optional, is read for what it promises but changes nothing.
func (b *Bench) play(s *procedure.Step) {
	b.step = s
	b.clock(s)
	b.markUsed(s)
	clear(b.sensitiveBefore)
	clear(b.cameIn)
	clear(b.mmolBefore)
	b.noteOpen()
	for _, v := range b.vessels {
		v.mlBefore = 0
		for _, p := range v.contents {
			v.mlBefore += p.ml
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
	b.standing(s)
	if s.Verb.Name == "introduce" && isTrue(s.Sealed) && v != nil && v.conn == connOpen && v.piece != nil && !b.guarded(s) && !has(s.Note.S, "evacuat", "pumped", "vacuum") {
		v.conn = connSealed // closed with the air that is in it
	}
	b.stepEvent(s, v)
	switch s.Verb.Name {
	case "evacuate", "backfill", "degas":
		for _, o := range s.Object[min(1, len(s.Object)):] {
			if w := b.vesselNamed(o.S); w != nil && w != v {
				b.stepEvent(s, w) // each vessel of the step is under vacuum
			}
		}
	}
	if s.If.Is() || isTrue(s.Optional) {
		if v != nil && s.If.Is() {
			b.branch[v] = true
		}
		b.snapshot(s)
		return
	}
	if t, ok := atEnd(s.Temp); ok && v != nil {
		v.tC, v.tKnown = t, true
	}
	b.openedToQuench(s, v)
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
				if isTrue(s.Sealed) && w.conn != connSealed {
					b.seal(w, s) // a bottle that is stored closed is closed now
				}
				if (isTrue(s.Sealed) || w.conn == connSealed) && s.For != nil {
					w.conn = connSealed
					b.closure(w, "stored", s)
				}
			}
		}
	case "discard":
		b.discard(s)
	case "clean":
		if b.cleansInto(s) {
			b.rinse(s)
			break
		}
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
				b.wetAgain(s, w)
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
	b.proves(s, v)
	b.shareGas(s)
	b.exposures(s)
	b.oxygenTakes()
	b.madeHazards(s)
	b.humidAir(s)
	b.drift(s)
	b.fills(s)
	b.snapshot(s)
}

// wetAgain marks glass that is cleaned or rinsed with water, last, and not said to be
// dried.
func (b *Bench) wetAgain(s *procedure.Step, w *vessel) {
	if w == nil || w.piece == nil || len(s.With) == 0 || has(joined(s.Then)+s.Note.S, "oven", "dry", "dried") {
		return
	}
	if sp := b.liquidOf(s.With[len(s.With)-1].S); sp != nil && sp.family == "water" {
		w.glass = "wet"
	}
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
	if len(b.alias) > 0 {
		if v := b.alias[strings.ToLower(t.S)]; v != nil {
			return v
		}
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
	n := b.reading(t.S)
	if n.whole != t.S {
		if v := b.place(procedure.Text{S: n.whole, Span: t.Span}, false); v != nil {
			return v
		}
	}
	l := n.bare
	if n.vague {
		for i := len(b.vessels) - 1; i >= 0; i-- {
			if b.vessels[i].name != "" && sameName(b.vessels[i].name, l) {
				return b.vessels[i]
			}
		}
		if b.last != nil {
			return b.last
		}
	}
	// a layer called by its kind: aqueous layer, organic layer, filter cake
	if v := b.byKind(n.layer); v != nil {
		return v
	}
	if b.p.Product != nil && sameName(l, b.p.Product.Name.S) {
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
		m.sp.in += 1000
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

// layerKind is the kind of layer or solid that a name in lower case calls for by
// words such as aqueous or cake; empty where it calls for none.
func layerKind(l string) string {
	switch {
	case has(l, "aqueous", "water layer", "water phase"):
		return "aqueous"
	case has(l, "organic", "ether layer", "ether extract", "extract", "ethereal"):
		return "organic"
	case has(l, "cake", "precipitate", "filter residue", "solid"):
		return "cake"
	case has(l, "filtrate"):
		return "filtrate"
	case has(l, "mother liquor"):
		return "mother liquor"
	case has(l, "distillate", "recovered"):
		return "distillate"
	case has(l, "washing"):
		return "aqueous"
	}
	return ""
}

// byKind finds the latest layer or solid of a kind.
func (b *Bench) byKind(want string) *vessel {
	if want == "" {
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
		for _, t := range concat(s.In, s.To, s.On, s.From) {
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

// firstHowLong are the questions for the time of the first steps.
var firstHowLong = func() (asks [128]string) {
	for n := range asks {
		asks[n] = "how long step " + strconv.Itoa(n) + " takes"
	}
	return asks
}()

func howLongTakes(n int) string {
	if n >= 0 && n < len(firstHowLong) {
		return firstHowLong[n]
	}
	return "how long step " + strconv.Itoa(n) + " takes"
}

// minutes is the length of a step as written, its longest reading.
func minutes(s *procedure.Step) Num {
	var sum float64
	known := false
	for _, f := range [...]*procedure.Figure{s.For, s.Over, s.HoldFor} {
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
		return Missing(howLongTakes(s.N))
	}
	return Got(sum)
}

// hands-on minutes taken for a step that states no time, by the work it is
// (from memory: a practised student at a bench).
var usualMinutes = map[procedure.Group]float64{
	procedure.Prepare: 5, procedure.Atmosphere: 5, procedure.Transfer: 5, procedure.Condition: 2, procedure.Watch: 2, procedure.Finish: 10, procedure.ClearUp: 3,
}

// leadTime keeps the longest preparation; one that is not planned counts before
// all that are.
func (b *Bench) leadTime(s *procedure.Step, hours float64, planned bool) {
	if b.leadPlanned == planned && hours > b.lead || b.leadPlanned && !planned || b.lead == 0 {
		b.lead, b.leadWhat, b.leadPlanned = hours, headOf(s), planned
	}
}

func (b *Bench) clock(s *procedure.Step) {
	m := minutes(s)
	if isTrue(s.Before) || s.DoneBy.S == "stockroom" {
		if m.Known {
			b.leadTime(s, m.V/60, true)
		}
		return
	}
	if s.Verb.Name == "dry" && m.Known && m.V > 180 && !b.quenched && !b.driesProduct(s) {
		b.leadTime(s, m.V/60, false)
		return
	}
	waits := s.Verb.Group == procedure.Condition || s.Verb.Name == "dry" || s.Verb.Name == "purge" || s.Verb.Name == "sparge" || s.Verb.Name == "degas"
	if s.Verb.Name == "stand" && m.Known && m.V >= 600 && b.restsSafely(s) {
		return // it stands over to another day
	}
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

// restsSafely reports a step that lets something stand in which nothing is live,
// or that names itself as the point where the work may rest.
func (b *Bench) restsSafely(s *procedure.Step) bool {
	if s.StopPoint.Is() {
		b.stopPoint = true
		return true
	}
	v := b.target(s)
	return v != nil && v.liveMmol() < 0.1
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
	if text := signsOf(s); has(text, "initiat", "start", "begin", "bubbl", "boil", "cloud", "turbid", "colour", "color", "reflux", "iodine", "warm", "grey", "gray", "brown") {
		b.evidence[v] = true
	}
	if s.Otherwise.Is() || s.If.Is() && has(s.If.S, "start", "initiat", "begin", "not react", "no reaction", "no boil", "does not") {
		b.branch[v] = true
	}
}

// signsOf is what a step says is to be seen; empty where it says nothing.
func signsOf(s *procedure.Step) string {
	confirms := s.Verb.Name == "confirm"
	if !confirms && !s.Until.Is() && len(s.Signs) == 0 && !s.Expect.Is() {
		return ""
	}
	text := s.Until.S + " " + joined(s.Signs) + " " + s.Expect.S
	if confirms {
		text += " " + joined(s.Object)
	}
	return text
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
		if text := signsOf(s); has(text, "initiat", "start", "begin", "bubbl", "boil", "cloud", "turbid", "colour", "color", "iodine", "grey", "gray", "brown") {
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
	for _, all := range [...][]procedure.Text{s.To, s.Object, s.In, s.On} {
		for _, t := range all {
			if v := b.vesselNamed(t.S); v != nil {
				return v
			}
		}
	}
	return nil
}

// vagueWords stand where a figure belongs; the longer first.
var vagueWords = []string{"carefully", "slowly", "cautiously", "gently", "with care", "until done", "a small amount", "gradually", "careful", "cautious", "slow"}

// noSign are ends that nobody can see.
var noSign = []string{"done", "complete", "completed", "it is done", "finished", "ready", "over", "it is complete", "the reaction is done", "the reaction is complete", "the reaction is finished", "completion"}

func (b *Bench) newStepFacts() *StepFacts {
	if len(b.stepFacts) == cap(b.stepFacts) {
		b.stepFacts = make([]StepFacts, 0, 8)
	}
	b.stepFacts = b.stepFacts[:len(b.stepFacts)+1]
	return &b.stepFacts[len(b.stepFacts)-1]
}

func (b *Bench) stepEvent(s *procedure.Step, v *vessel) {
	cycles := Missing("the number of antechamber cycles")
	switch s.Verb.Name {
	case "introduce", "backfill":
		if s.Cycles != nil && s.Cycles.Known() {
			cycles = Got(s.Cycles.Min())
		} else if s.Verb.Name == "backfill" && v != nil {
			cycles = b.ask("the number of evacuate–refill cycles of ", v.name, "")
		}
	}
	flow := Missing("the stream of gas")
	if s.Flow != nil && s.Flow.Known() && s.Flow.Dim == quantity.Flow {
		flow = Got(s.Flow.Max() / 1000)
	}
	f := b.newStepFacts()
	*f = StepFacts{Cycles: cycles, FlowLMin: flow, Verb: s.Verb.Name, Group: string(s.Verb.Group), Vessel: b.facts(v), Minutes: minutes(s), Conditional: s.If.Is() || isTrue(s.Optional),
		By: s.By.S, AfterQuench: v != nil && b.lastQuench == v && b.lastQuenchStep == s.N-1, DoneBy: s.DoneBy.S, Text: s.Note.S, WaitMin: Missing("how long to wait for the sign"), BathC: Missing("the bath temperature")}
	if n := len(s.With) + len(s.In) + len(s.Through); n > 0 {
		f.With = make([]string, 0, n)
		for _, all := range [...][]procedure.Text{s.With, s.In, s.Through} {
			for _, t := range all {
				f.With = append(f.With, t.S)
			}
		}
	}
	if v != nil {
		f.Live = v.liveMmol() > 0
	}
	f.Measured = s.For != nil || s.Over != nil || s.At != nil || s.ToTemp != nil || s.ToPH != nil || s.Amount.Is() || s.RateFigure != nil || s.Until.Is() || len(s.Signs) > 0 ||
		s.KeepBelow != nil || s.KeepAbove != nil || s.Portions != nil || s.Cycles != nil || s.Flow != nil || has(s.Rate.S, "reflux", "drop", "temperature", "below") || s.HoldFor != nil || s.Expect.Is()
	if s.Rate.Is() || s.Note.Is() || s.Until.Is() {
		text := strings.ToLower(s.Rate.S + "\n" + s.Note.S + "\n" + s.Until.S)
		if i := slices.IndexFunc(vagueWords, func(w string) bool { return strings.Contains(text, w) }); i >= 0 {
			f.Vague = vagueWords[i]
		}
	}
	if s.Until.Is() && slices.Contains(noSign, strings.ToLower(strings.TrimSpace(s.Until.S))) {
		f.Vague = "until " + s.Until.S
		f.Measured = f.Minutes.Known || s.Over != nil
	}
	if s.Verb.Name == "return" && has(joined(s.To)+joined(s.Into), "stock", "bottle", "store") {
		for _, o := range s.Object {
			if m := b.material(o.S); m != nil && m.sp.need > 0 {
				f.Returned = true
			}
		}
	}
	if s.Verb.Name == "store" {
		b.keeps(f, s, v)
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
	kept := s.Verb.Name == "store" || s.Verb.Name == "stand" && !condensed && (s.At != nil && s.At.Known() && s.At.Value() <= 10 || (s.At == nil || !s.At.Known()) && v != nil && v.tC <= 10)
	if kept {
		b.emit(Event{Kind: "step", Span: s.Head, Facts: f})
		return
	}
	alone := s.Attended != nil && !*s.Attended
	if alone && f.Minutes.Known && f.Minutes.V >= 600 && (f.Live || condensed || s.Verb.Name == "reflux" || s.Verb.Name == "heat" || s.Verb.Name == "distil") {
		b.leftAlone(s, f.Minutes.V)
		if b.unattendedSaid == "" {
			b.unattendedSaid = headOf(s) + " (step " + quantity.FormatNumber(float64(s.N)) + ")"
		}
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

func word(s, def string) string {
	if s == "" {
		return def
	}
	return s
}

// follow makes something by a text that stands elsewhere.
func (b *Bench) follow(s *procedure.Step) {
	var dest *vessel
	for _, t := range concat(s.To, s.In, s.Into) {
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
	for _, t := range concat(s.From, s.With) {
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
		if m := b.material(t.S); m != nil && m.mmol.Known && m.left > 0 {
			b.pourMaterial(m, m.left, dest, s) // the table says how much is made
			continue
		}
		n := b.limitingOf(dest)
		dest.put(portion{sp: sp, mmol: n, g: n * sp.mw / 1000, from: t.S})
		sp.in += n
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
