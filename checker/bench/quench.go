package bench

import (
	"math"
	"slices"
	"strings"

	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
	"ketyl/checker/substance"
)

// quenchStrength says how hard a quench is: 0 hindered alcohol, 1 alcohol,
// 2 ester, ketone or wet salt, 3 water and neutral solutions, 4 acid; common
// practice.
func quenchStrength(ps []portion) float64 {
	best := 0.0
	acid, water := false, false
	for _, p := range ps {
		switch {
		case p.sp.strongAcid():
			acid = true
		case p.sp.family == "water" || p.sp.name == "ice":
			water = true
		case p.sp.is("alcohol"):
			if has(p.sp.name, "tert-butanol", "2-methyl-2-propanol") {
				best = math.Max(best, 0)
			} else if has(p.sp.name, "2-propanol", "isopropyl", "isopropanol") {
				best = math.Max(best, 0.5)
			} else {
				best = math.Max(best, 1)
			}
		case p.sp.is("ester", "ketone", "aldehyde") || p.sp.hydrate >= 5:
			best = math.Max(best, 2)
		case p.sp.is("carboxylic acid"):
			acid = acid || p.mmol > 1
		}
	}
	switch {
	case acid:
		return 4
	case water:
		return 3
	}
	return best
}

// quench destroys what is live in a vessel, or shifts its acidity.
func (b *Bench) quench(s *procedure.Step, v *vessel) {
	if s.Verb.Name == "destroy" && b.onlyTools(s.Object) {
		b.rinseTools(s)
		return
	}
	if v == nil && len(s.Object) > 0 {
		for _, o := range s.Object {
			b.closeTransfers(o.S)
			if w := b.place(o, false); w != nil {
				v = w
			}
		}
		if v == nil {
			// a syringe's film, a residue that no vessel of ours holds, or a
			// material left over
			for _, o := range s.Object {
				if m := b.material(o.S); m != nil {
					m.used = true
					for _, t := range s.In {
						if w := b.place(t, false); w != nil && v == nil {
							v = w
							b.pourMaterial(m, math.Max(m.left, 0.02), w, s)
						}
					}
					if v != nil {
						continue
					}
					w := b.newVessel(m.name+" left over", nil)
					w.kind, w.conn, w.rank, w.outlet = "residue", connGas, 2, "open"
					share := m.left
					if share <= 0 {
						share = 0.02
					}
					b.pourMaterial(m, share, w, s)
					v = w
				}
			}
		}
		if v == nil {
			for _, t := range s.With {
				if m := b.material(t.S); m != nil {
					m.used = true
				}
			}
			b.quenched = true
			return
		}
	}
	if v == nil {
		return
	}
	for _, o := range s.Object {
		b.closeTransfers(o.S)
	}
	b.standsIn(s, v)
	b.quenched = b.quenched || s.Verb.Name == "quench" || s.Verb.Name == "destroy" || v.liveMmol() > 0
	if s.Verb.Name == "destroy" {
		v.product = false // what is destroyed is no product, and has to go somewhere
	}
	work := v
	reverse := false
	// poured into the quench
	for _, t := range concat(s.Into, s.To) {
		w := b.place(t, false)
		if m := b.material(t.S); w == nil && m != nil {
			if reverse && work != v {
				// the quench is a mixture: acid on ice
				b.pourMaterial(m, 1, work, s)
				continue
			}
			w = b.heap(m)
		}
		if w != nil && w != v {
			reverse, work = true, w
		}
	}
	defer func() { b.quenchGives(s, work) }()
	if reverse {
		b.reverseQuench(s, v, work)
		return
	}
	met := v.destroyEq()
	v.quenchStep = s.N
	if len(s.With) == 0 && v.liveMmol() > 0 {
		q := b.quenchFacts(s, v, nil, v, false)
		q.Hot = b.hottest(v, v.tC, quenchFree(q))
		b.emit(Event{Kind: "quench", Facts: q})
	}
	gasFormer := unproved{}
	for _, p := range v.live() {
		if p.sp.is("aluminium hydride", "saline hydride", "organoaluminium", "alkali metal") && p.mmol > gasFormer.mmol {
			gasFormer = unproved{name: p.sp.name, mmol: p.mmol}
		}
	}
	for i, t := range s.With {
		b.quenchWith(s, v, t, i)
	}
	if gasFormer.mmol > 1 && !v.aqueous() {
		v.unproved = gasFormer
		b.proves(s, v)
	}
	if t, ok := atEnd(s.ToTemp); ok {
		v.tC = t
	}
	if !v.quenched {
		v.quenchMet = met
	}
	v.quenched = true
	b.lastQuench, b.lastQuenchStep = v, s.N
	v.endSeen = len(s.Signs) > 0 || s.Until.Is() && has(s.Until.S, "gas", "bubbl", "no more", "stops", "ceases", "gone", "colour", "color", "test")
	if s.Verb.Name == "destroy" || s.Verb.Name == "quench" {
		for _, t := range s.With {
			b.disarm(v, t.S)
		}
	}
	if s.Verb.Name == "destroy" || s.Verb.Name == "quench" && v.hasFamily("low-valent complex") {
		// a complex destroyed on purpose becomes its salts; the metal stays
		for p := range v.each {
			if p.sp.is("low-valent complex", "precatalyst", "metal powder", "metal carbonyl") && p.sp.pyro() {
				b.relabel(v, p, "salts of "+p.sp.name, "salt")
			}
		}
	}
}

// quenchGives calls what a quench leaves as the step does: by one name, or as
// the two layers that it names.
func (b *Bench) quenchGives(s *procedure.Step, v *vessel) {
	if v == nil || len(s.GivesOrder) == 0 || b.onlyTools(s.Object) {
		return
	}
	_, organic := s.Gives["organic"]
	_, aqueous := s.Gives["aqueous"]
	_, upper := s.Gives["upper"]
	_, lower := s.Gives["lower"]
	if (organic && aqueous || upper && lower) && v.aqueous() && v.hasLiquid() {
		b.last, _ = b.layers(s, v)
		b.last.product = v.product && s.Verb.Name != "destroy"
		return
	}
	for _, k := range s.GivesOrder {
		if n := strings.ToLower(s.Gives[k].S); b.vesselNamed(n) == nil {
			b.alias[n] = v
			return
		}
	}
}

// onlyTools reports syringes, needles and cannulas, of which a film is left.
func (b *Bench) onlyTools(ts []procedure.Text) bool {
	for _, t := range ts {
		p := b.pieceNamed(t.S)
		if p == nil || p.class != "syringe" && p.class != "cannula" && !has(p.kind, "needle") {
			return false
		}
	}
	return len(ts) > 0
}

// rinseTools draws each liquid through the tools and out into a vessel of its
// own: a tool is not filled by its rinses.
func (b *Bench) rinseTools(s *procedure.Step) {
	var dest *vessel
	for _, t := range concat(s.Into, s.To) {
		if dest == nil && !b.isContainer(t.S) {
			dest = b.place(t, true)
		}
	}
	if dest == nil {
		name := "rinses of " + joinNames(s.Object)
		if len(s.GivesOrder) > 0 {
			name = s.Gives[s.GivesOrder[0]].S
		}
		dest = b.newVessel(name, nil)
		dest.kind = "rinse"
		dest.gone = len(s.GivesOrder) == 0 && len(s.Into) == 0
	}
	for _, o := range s.Object {
		b.closeTransfers(o.S)
		if p := b.pieceNamed(o.S); p != nil {
			p.used = true
		}
		if w := b.vesselNamed(o.S); w != nil && w != dest {
			for _, p := range w.pourOut(1) {
				dest.put(p)
			}
		}
	}
	for _, t := range concat(s.With, s.Then) {
		m := b.material(t.S)
		if m == nil {
			continue
		}
		if m.left <= 0 {
			m.used = true // a bottle of the bench, squirted from
			continue
		}
		b.move(s, t, dest)
	}
	b.quenched = true
	if len(s.Into) > 0 && b.isContainer(s.Into[0].S) {
		b.discardOne(s, procedure.Text{S: dest.name, Span: s.Head})
	}
}

func (b *Bench) quenchWith(s *procedure.Step, v *vessel, t procedure.Text, i int) {
	if t, ok := atEnd(s.At); ok {
		v.tC, v.tKnown = t, true
	} else if bath := b.bathText(s); has(bath, "ice") && i == 0 {
		v.tC, v.tKnown = math.Min(v.tC, 0), true
	}
	saved := s.Amount
	if i > 0 {
		s.Amount = nil
	}
	before := b.facts(v)
	acidBefore := v.acidMmol()
	l := b.fetch(s, t, v)
	s.Amount = saved
	if len(l.portions) == 0 {
		return
	}
	live := v.toDestroy()
	liveEq := v.destroyEq()
	var qf *QuenchFacts
	if liveEq > 0 {
		qf = b.quenchFacts(s, v, l, v, false)
		qf.Vessel = before
	}
	meth, tool := b.method(s, l)
	af := b.addition(s, l, v, before, meth, tool)
	b.openDuring(s, v, meth, l, af)
	for _, p := range l.portions {
		for _, q := range v.contents {
			b.clash(s, p, q, v, true)
		}
	}
	b.orders(af, l, v)
	b.closeBudget(v)
	b.airIn(v, l)
	kJ, why, unknown := b.dilute(v, l)
	for _, p := range l.portions {
		v.put(p)
	}
	if l.blur != "" {
		v.blur = l.blur
	}
	o := b.react(v)
	if l.blur != "" && liveEq > 0 && l.has(func(sp *species) bool { return sp.family == "water" || sp.protic > 0 }) {
		// an unstated amount of quench: it does what it is there for
		b.enoughQuench(v, l, &o)
	}
	o.addDilution(kJ, why, unknown)
	b.toEndPoint(s, v)
	b.iceGone(v, &o)
	b.book(v, o, af, s)
	b.fillLimits(af, v, s)
	if qf != nil {
		qf.LeftMmol = v.destroyEq()
		if g := o.gasTotal(); g > 0 {
			qf.GasL = Got(GasLitres(g))
			qf.Gas = o.gasOrder[0]
		} else {
			qf.GasL = Got(0)
		}
		if len(o.unsized) > 0 {
			qf.Gas, qf.GasL = word(qf.Gas, o.unsized[0]), Missing(o.ask)
		}
		if o.heatKnown {
			qf.HeatKJ = Got(o.kJ + o.gathered)
			if c := v.heatCapacity(); c > 0 {
				qf.RiseK = Got(AdiabaticRise(o.kJ+o.gathered, c))
				qf.Boils, qf.VapourL, qf.BoilsOffML = v.boilsWith(o.kJ, &qf.RiseK)
			}
		}
		qf.FillAfter = v.fill()
		qf.Hot = b.hottest(v, peakOf(v, qf.RiseK, Num{}, af.KeepBelowC), quenchFree(qf))
		if o.slow != "" {
			qf.SlowCold = true
		}
		b.emit(Event{Kind: "quench", Facts: qf})
		for _, p := range live {
			if len(p.sp.gases) > 0 && p.mmol > 0.5 {
				b.meetHazards(p.sp, p, s)
			}
		}
	} else {
		b.emit(Event{Kind: "addition", Facts: af, Subject: s.Verb.Name + " " + v.name + " with " + t.S, Span: t.Span})
		b.workupEvent(s, v, t, before, o, acidBefore)
	}
	cause := doing(s.Verb.Name) + " " + v.name + " with " + t.S
	if slices.Contains([]string{"add", "charge", "pour", "transfer"}, s.Verb.Name) { // it is the other that is added
		cause = doing(s.Verb.Name) + " " + t.S
	}
	b.releases(s, v, o, cause, af)
	for _, p := range l.portions {
		b.meetHazards(p.sp, p, s)
	}
	v.peakFill = math.Max(v.peakFill, valueOf(v.fill()))
}

// enoughQuench brings as much more of a quench of unknown amount as what is live
// still takes.
func (b *Bench) enoughQuench(v *vessel, l *lot, o *outcome) {
	var with *species
	for _, p := range l.portions {
		if p.sp.family == "water" || p.sp.protic > 0 && (with == nil || with.family != "water") {
			with = p.sp
		}
	}
	for range 3 {
		n := 1.1 * v.liveEq() / math.Max(1, with.protic)
		if n <= trace {
			return
		}
		p := made(share{with, 1}, n, l.name)
		b.bring([]portion{p})
		v.put(p)
		o.merge(b.react(v))
	}
}

// toEndPoint leaves a vessel as an end point in pH says: as much acid or base
// goes in as that takes.
func (b *Bench) toEndPoint(s *procedure.Step, v *vessel) {
	var pH float64
	switch {
	case s.ToPH != nil && s.ToPH.Known():
		pH = s.ToPH.Value()
	case has(s.Until.S, "neutral", "ph 7"):
		pH = 7
	case has(s.Until.S, "acid", "ph 1", "ph 2", "ph 3"):
		pH = 2
	case has(s.Until.S, "alkaline", "basic", "ph 12", "ph 11", "ph 10", "ph 14"):
		pH = 12
	default:
		return
	}
	drop := func(families ...string) {
		for p := range v.each {
			if p.sp.is(families...) {
				b.relabel(v, p, "neutral salts", "salt")
			}
		}
	}
	if pH < 8 {
		drop("hydroxide", "carbonate")
	}
	if pH > 6 {
		drop("mineral acid", "sulfonic acid", "oxidising acid")
	}
	if pH < 5 {
		if short := math.Pow(10, -pH)*v.volume() - v.acidMmol(); short > 0 {
			acid := b.lookup("hydrochloric acid")
			for _, t := range s.With {
				if m := b.material(t.S); m != nil && m.sp.strongAcid() {
					acid = m.sp
				}
			}
			p := portion{sp: acid, mmol: short / math.Max(1, acid.protic), from: "acid to the end point"}
			p.g = p.mmol * acid.mw / 1000
			b.bring([]portion{p})
			v.put(p)
		}
	}
}

// coldBath reports dry ice or a liquefied gas with nothing but plain organic
// liquids: that is a bath, and it lasts for hours.
func (v *vessel) coldBath() bool {
	for _, p := range v.contents {
		if p.mmol > trace && !p.sp.is("cryogen") && (!p.sp.liquid || p.sp.live || p.sp.family == "water" || p.sp.strongAcid()) {
			return false
		}
	}
	return true
}

// iceGone: dry ice is gone, as carbon dioxide, once more than its mass of
// liquid has come to it.
func (b *Bench) iceGone(v *vessel, o *outcome) {
	if v.coldBath() {
		return
	}
	for p := range v.each {
		if p.sp.name != "dry ice" {
			continue
		}
		if v.volume() < p.g && v.blur == "" {
			continue
		}
		got := v.take(p.sp, p.mmol)
		b.gasOff(o, b.lookup("carbon dioxide"), got.mmol)
		v.tC = math.Max(v.tC, 0)
	}
}

// overnight is the wait, in minutes, after which a laboratory amount of dry ice
// or liquid nitrogen in the open is gone (common practice).
const overnight = 12 * 60

// cryogenGoes: what stands open until it is gone, or overnight, holds no dry
// ice or liquid nitrogen any more.
func (b *Bench) cryogenGoes(s *procedure.Step, v *vessel) {
	switch s.Verb.Name {
	case "stand", "warm":
	default:
		return
	}
	if v.conn == connSealed || !v.hasFamily("cryogen") {
		return
	}
	m := minutes(s)
	if !has(s.Until.S+joined(s.Signs), "gone", "off", "evaporated", "sublimed", "no more gas") && !(m.Known && m.V >= overnight) {
		return
	}
	var o outcome
	for p := range v.each {
		gas := map[string]string{"dry ice": "carbon dioxide", "liquid nitrogen": "nitrogen"}[p.sp.name]
		if !p.sp.is("cryogen") || gas == "" || b.lookup(gas) == nil {
			continue
		}
		b.gasOff(&o, b.lookup(gas), v.take(p.sp, p.mmol).mmol)
		v.tC = b.roomT()
	}
	b.releases(s, v, o, "what goes off in "+v.name, nil)
}

func (b *Bench) quenchFacts(s *procedure.Step, v *vessel, l *lot, in *vessel, reverse bool) *QuenchFacts {
	live := v.toDestroy()
	at := v.tC
	if reverse {
		at = in.tC // it takes the temperature of what it is poured into
	}
	q := &QuenchFacts{LiveMmol: v.destroyEq(), LeftMmol: v.destroyEq(), Vessel: b.facts(in), Reverse: reverse, TemperatureC: Num{V: at, Known: true}, Ratio: Missing("the amount of the quench"),
		GasL: Missing("what the quench gives off"), HeatKJ: Missing("the heat of the quench"), RiseK: Missing("the heat of the quench"), FillAfter: in.fill(), Concentration: b.ask("the volume in ", v.name, ""), MlPerG: Missing("the amounts of hydride and water"), PatternOff: Missing("the work-up volumes"), PatternShape: Missing("the work-up volumes"), PatternScale: Missing("the work-up volumes"), TemperC: Missing("its reaction temperature")}
	if len(live) > 0 {
		q.Reagent, q.Family, q.Vigour = live[0].sp.name, live[0].sp.family, live[0].sp.vigour
		for _, p := range live {
			if p.sp.vigour > q.Vigour {
				q.Reagent, q.Family, q.Vigour = p.sp.name, p.sp.family, p.sp.vigour
			}
		}
	}
	if !v.tKnown {
		q.TemperatureC.Note = "room temperature, as nothing else is written"
	}
	if v.volume() > 0 && v.blur == "" {
		q.Concentration = Got(v.destroyEq() / v.volume())
	}
	q.Cooled = s.At != nil && s.At.Known() && s.At.Value() <= 10 || has(s.Bath.S, "ice", "cold", "cool", "water") || v.tKnown && v.tC <= 10 || s.KeepBelow != nil || has(joined(s.With)+joined(s.Into)+joined(s.In)+s.Note.S, "ice", "cold", "cool")
	q.RateGiven = s.Over != nil || s.RateFigure != nil || s.Portions != nil || s.Rate.Is() && !has(s.Rate.S, "at once", "quick", "rapid", "all at") && !careAlone(s.Rate.S) || s.KeepBelow != nil
	q.OverMin = Missing("how long the quench takes")
	if s.Over != nil && s.Over.Known() {
		q.OverMin = Got(s.Over.Min())
	}
	q.First = !v.quenched || v.quenchMet > 0 && v.destroyEq() > v.quenchMet/2 // a first quench that left most of it was none
	q.InertKept = in.closed() || in.conn == connTube
	q.EndSign = len(s.Signs) > 0 || s.Until.Is() || s.HoldFor != nil || s.For != nil || b.endSignLater(s, v)
	q.Large = q.LiveMmol >= 1
	if l != nil && (l.m != nil || len(l.portions) > 0) {
		if l.m != nil {
			q.With = b.materialFacts(l.m, l.share)
		} else {
			sp := mainOf(l.portions)
			q.With = b.speciesFacts(sp)
			q.With.Name = l.name
			q.With.Mmol, q.With.VolumeML = Got(l.mmol(sp)), Got(l.ml())
			if l.blur != "" {
				q.With.Mmol, q.With.VolumeML = Missing(l.blur), Missing(l.blur)
			}
		}
		q.WithVigour = quenchStrength(l.portions)
		q.FirstOK = b.firstOK(live, l, q.WithVigour, v)
		if l.blur == "" && q.LiveMmol > 0 {
			n := proticCapacity(l.portions) + b.laterQuench(s, v, l.name)
			q.Ratio = Got(n / q.LiveMmol)
			if p := v.toDestroy(); len(p) > 0 {
				if e := b.molesEnds(p[0].sp); e.ranged() {
					q.Ratio = Assume(q.Ratio.V/e.high, e.upper())
				}
			}
		} else if l.blur != "" {
			q.Ratio = Missing(l.blur)
		}
		b.pattern(s, v, l, q)
	} else {
		q.With = MaterialFacts{Mmol: Missing("what quenches it"), MassG: Missing("what quenches it"), VolumeML: Missing("what quenches it"), Molarity: Missing("what quenches it"), Equivalents: Missing("what quenches it"), FlashC: Missing("what quenches it"), BoilingC: Missing("what quenches it"), WaterPPM: Missing("what quenches it"), WaterMmol: Missing("what quenches it")}
	}
	for _, p := range live {
		if p.sp.is("phosphorus halide", "sulfonyl chloride") && at < 15 {
			q.SlowCold = true
			q.TemperC = Got(15)
		}
	}
	q.Desc = headOf(s)
	return q
}

// careAlone reports a rate that asks for care and says nothing of how fast.
func careAlone(rate string) bool {
	return has(rate, "careful", "cautious", "with care") && !has(rate, "drop", "slow", "portion", "little", "gradual", "piece")
}

// proticCapacity is how many equivalents a quench can give, mmol.
func proticCapacity(ps []portion) float64 {
	var n float64
	for _, p := range ps {
		switch {
		case p.sp.family == "water" || p.sp.name == "ice":
			n += p.mmol
		case p.sp.protic > 0:
			n += p.mmol * p.sp.protic
		case p.sp.is("ester", "ketone", "aldehyde"):
			n += p.mmol * math.Max(1, p.sp.electro)
		}
		if p.sp.hydrate > 0 {
			n += p.mmol * p.sp.hydrate
		}
	}
	return n
}

// laterQuench is what further quenches of the same vessel bring, mmol.
func (b *Bench) laterQuench(s *procedure.Step, v *vessel, but string) float64 {
	var n float64
	count := func(ts []procedure.Text, skip bool) {
		for _, t := range ts {
			if skip && sameName(t.S, but) {
				continue
			}
			if m := b.material(t.S); m != nil && m.mix0() {
				n += proticCapacity(m.mix)
			} else if m != nil && (m.sp.family == "water" || m.solvent != nil && m.solvent.family == "water" || m.sp.protic > 0) {
				n += 1000
			}
		}
	}
	count(s.With, true)
	for _, t := range b.p.Steps[s.N:] {
		same := false
		for _, o := range t.Object {
			same = same || sameName(o.S, v.name) || slices.Contains(vagueNames, strings.ToLower(o.S))
		}
		into := false
		for _, o := range t.To {
			into = into || sameName(o.S, v.name)
		}
		switch t.Verb.Name {
		case "quench", "acidify", "destroy", "basify", "neutralise":
			if same {
				count(t.With, false)
			}
		case "add", "pour":
			if into {
				count(t.Object, false)
			} else if same {
				for _, o := range t.To {
					if w := b.vesselNamed(o.S); w != nil {
						n += proticCapacity(w.contents)
					}
				}
			}
		case "extract", "wash", "concentrate", "filter", "discard":
			if same {
				return n
			}
		}
	}
	return n
}

func (b *Bench) endSignLater(s *procedure.Step, v *vessel) bool {
	for _, t := range b.p.Steps[s.N:min(len(b.p.Steps), s.N+4)] {
		switch t.Verb.Name {
		case "quench", "destroy", "acidify", "basify", "neutralise":
			for _, o := range t.Object {
				if sameName(o.S, v.name) && (t.For != nil || t.HoldFor != nil || len(t.Signs) > 0 || t.Until.Is()) {
					return true
				}
			}
		case "confirm", "stir", "stand", "warm", "check", "reflux", "heat":
			if t.For != nil || len(t.Signs) > 0 || t.Until.Is() || t.Verb.Name == "confirm" {
				return true
			}
		}
	}
	return false
}

// firstOK reports whether the trade accepts a quench as the first a reagent
// meets: what its entry or family lists, else by its strength.
func (b *Bench) firstOK(live []portion, l *lot, strength float64, v *vessel) bool {
	ok := true
	for _, p := range live {
		good := strength <= 2 || p.sp.vigour <= 2
		if p.sp.vigour <= 3 && strength <= 3 {
			good = true
		}
		if q := p.sp.quench; q != nil {
			for _, w := range l.portions {
				if w.sp.sub == nil || w.mmol <= trace {
					continue
				}
				for _, n := range q.First {
					if b.isA(w.sp, n) || sameName(n, w.sp.name) {
						good = true
					}
				}
			}
			for _, w := range l.portions {
				if w.sp.sub == nil || w.mmol <= trace {
					continue
				}
				for _, n := range q.NeverFirst {
					if (b.isA(w.sp, n) || sameName(n, w.sp.name)) && !listed(q.First, l, b) {
						good = spared(q, v)
					}
				}
			}
		}
		ok = ok && good
	}
	return ok
}

// spared reports a solution weak and cold enough to be quenched directly.
func spared(q *substance.Quench, v *vessel) bool {
	if q.Unless == nil || v.volume() == 0 || v.blur != "" {
		return false
	}
	for _, p := range v.live() {
		if p.sp.is("saline hydride", "alkali metal", "alkaline-earth metal") {
			return false // a slurry is no solution: each grain is the neat solid
		}
	}
	c, err := quantity.ParseAs(q.Unless.Below, quantity.Molarity)
	if err != nil || v.liveEq()/v.volume() > c.Value()*1.0001 {
		return false
	}
	if q.Unless.At == "" {
		return true
	}
	t, err := quantity.ParseAs(q.Unless.At, quantity.Temperature)
	return err == nil && v.tC <= t.Value()+5
}

func listed(names []string, l *lot, b *Bench) bool {
	for _, p := range l.portions {
		if p.sp.sub == nil || p.sp.family == "water" {
			continue
		}
		for _, n := range names {
			if b.isA(p.sp, n) || sameName(n, p.sp.name) {
				return true
			}
		}
	}
	return false
}

// pattern reads the water : base : water work-up of an aluminium hydride.
func (b *Bench) pattern(s *procedure.Step, v *vessel, l *lot, q *QuenchFacts) {
	if q.Family != "aluminium hydride" || !q.First && b.wateredBefore(s, v) {
		return
	}
	grams := 0.0
	for _, m := range b.materials {
		if m.sp.is("aluminium hydride") && m.g.Known {
			grams += m.g.V
		}
	}
	if grams <= 0 || quenchStrength(l.portions) != 3 || l.has(func(sp *species) bool { return sp.is("ammonium salt", "carboxylic salt") }) {
		return
	}
	if l.blur == "" {
		q.MlPerG = Got(l.ml() / grams)
	}
	vols := []float64{l.ml()}
	base := -1
	look := func(t procedure.Text, a *procedure.Amount) {
		m := b.material(t.S)
		if m == nil {
			return
		}
		ml := m.ml.V
		if share, ok := shareOf(a, m.mmol.V, m.g.V, m.ml.V, m.left); ok {
			ml *= math.Min(share, 1)
		}
		if m.sp.is("hydroxide") {
			if base < 0 {
				base = len(vols)
			}
			vols = append(vols, ml)
		} else if m.sp.family == "water" {
			vols = append(vols, ml)
		}
	}
	for i, t := range s.With {
		if i > 0 {
			look(t, nil)
		}
	}
	for _, t := range b.p.Steps[s.N:min(len(b.p.Steps), s.N+6)] {
		switch t.Verb.Name {
		case "quench", "basify", "destroy":
			for _, w := range t.With {
				look(w, t.Amount)
			}
		case "add":
			for _, w := range t.Object {
				look(w, t.Amount)
			}
		case "filter", "extract":
			goto done
		}
	}
done:
	if base == 1 && len(vols) >= 3 {
		want := []float64{grams, grams, 3 * grams}
		off, shape, scale := 0.0, 0.0, vols[0]/want[0]
		for i := range want {
			off = math.Max(off, math.Abs(vols[i]-want[i])/want[i])
			shape = math.Max(shape, math.Abs(vols[i]-scale*want[i])/(scale*want[i]))
		}
		q.PatternOff, q.PatternShape, q.PatternScale = Got(off), Got(shape), Got(scale)
		q.Pattern = quantity.FormatNumber(vols[0]) + " : " + quantity.FormatNumber(vols[1]) + " : " + quantity.FormatNumber(vols[2]) + " mL for " + quantity.Format(grams, quantity.Mass)
	} else {
		q.PatternOff, q.PatternShape, q.PatternScale = Got(0), Got(0), Got(1)
	}
}

// wateredBefore reports an earlier step that put water or its solution onto what
// a vessel holds: an ester or alcohol before the first water does not count.
func (b *Bench) wateredBefore(s *procedure.Step, v *vessel) bool {
	wet := func(ts []procedure.Text) bool {
		return slices.ContainsFunc(ts, func(t procedure.Text) bool {
			sp := b.liquidOf(t.S)
			return sp != nil && sp.family == "water"
		})
	}
	named := func(ts []procedure.Text) bool {
		return slices.ContainsFunc(ts, func(t procedure.Text) bool { return sameName(t.S, v.name) })
	}
	for _, t := range b.p.Steps[:s.N-1] {
		switch t.Verb.Name {
		case "quench", "destroy", "basify", "acidify":
			if named(t.Object) && wet(t.With) {
				return true
			}
		case "add", "pour":
			if named(t.To) && wet(t.Object) {
				return true
			}
		}
	}
	return false
}

// pouredIntoQuench reports a live mixture that goes into water, ice or a plain
// alcohol: a reverse quench, whatever the verb.
func (b *Bench) pouredIntoQuench(s *procedure.Step, src, dest *vessel) bool {
	if src == nil || src == dest || s.Amount.Is() || src.destroyEq() < 0.1 || dest.volume() <= 0 {
		return false
	}
	switch s.Verb.Name {
	case "pour", "transfer", "add":
	default:
		return false
	}
	wet := 0.0
	for _, p := range dest.contents {
		if p.sp.family == "water" || p.sp.name == "ice" || p.sp.is("alcohol") && has(p.sp.name, "methanol", "ethanol", "propanol", "butanol") {
			wet += math.Max(p.ml, p.g)
		}
	}
	return wet > 0.3*dest.volume()
}

// pourQuench moves a live mixture into its quench and tells of the quench as
// well as of the addition.
func (b *Bench) pourQuench(s *procedure.Step, t procedure.Text, src, dest *vessel) {
	if t, ok := atEnd(s.At); ok {
		dest.tC, dest.tKnown = t, true
	} else if has(b.bathText(s), "ice") {
		dest.tC, dest.tKnown = math.Min(dest.tC, 0), true
	}
	q := b.quenchFacts(s, src, &lot{name: dest.name, share: 1, portions: slices.Clone(dest.contents), blur: dest.blur}, dest, true)
	from := len(b.trace.Events)
	b.move(s, t, dest)
	q.LeftMmol, q.FillAfter, q.GasL = dest.destroyEq(), dest.fill(), Got(0)
	for _, e := range b.trace.Events[from:] {
		if f, ok := e.Facts.(*AdditionFacts); ok {
			if dest.blur != "" && f.RiseK.Known && f.RiseK.V > 0 {
				// the quench is what takes the heat, and how much of it there is is not written
				f.RiseK, f.OwnRiseK = Missing(dest.blur), Missing(dest.blur)
			}
			q.GasL, q.HeatKJ, q.RiseK = f.GasL, f.HeatKJ, f.RiseK
		}
		if f, ok := e.Facts.(*ReleaseFacts); ok && q.Gas == "" {
			q.Gas = f.Gas
		}
	}
	q.Hot = b.hottest(dest, peakOf(dest, q.RiseK, Num{}, Num{}), quenchFree(q))
	b.emit(Event{Kind: "quench", Facts: q})
	b.quenched, dest.quenched = true, true
	b.lastQuench, b.lastQuenchStep = dest, s.N
}

// reverseQuench pours a live mixture into the quench.
func (b *Bench) reverseQuench(s *procedure.Step, v, work *vessel) {
	work.absorbs = 0
	for _, p := range work.contents {
		if p.sp.is("hydroxide") {
			work.absorbs += p.mmol
		}
	}
	defer func() { work.absorbs = 0 }()
	for _, t := range s.With {
		if m := b.material(t.S); m != nil && m.left > 0 && len(m.mix) == 0 {
			// no amount is written: as much as it takes, and no figure of it
			q := b.fetch(s, t, work)
			for _, p := range q.portions {
				work.put(p)
			}
			work.blur = word(work.blur, word(q.blur, "the amount of "+m.name))
		} else if m != nil && m.left > 0 {
			b.pourMaterial(m, m.left, work, s)
		} else if m == nil {
			b.moveWhole(s, t, work)
		}
	}
	l := &lot{name: v.name, share: 1, portions: slices.Clone(work.contents)}
	if v.destroyEq() > 0 {
		q := b.quenchFacts(s, v, l, work, true)
		q.Cooled = q.Cooled || work.tC <= 10
		q.First = true
		b.closeBudget(v)
		work.quenchStep = s.N
		in := v.pourOut(1)
		for _, p := range in {
			work.put(p)
		}
		o := b.react(work)
		q.LeftMmol = work.destroyEq()
		q.GasL = Got(GasLitres(o.gasTotal()))
		if len(o.gasOrder) > 0 {
			q.Gas = o.gasOrder[0]
		}
		if o.heatKnown {
			q.HeatKJ = Got(o.kJ + o.gathered)
			if c := work.heatCapacity(); c > 0 {
				q.RiseK = Got(AdiabaticRise(o.kJ+o.gathered, c))
				q.Boils, q.VapourL, q.BoilsOffML = work.boilsWith(o.kJ, &q.RiseK)
			}
			if work.blur != "" {
				q.RiseK = Missing(work.blur)
			}
		}
		q.FillAfter = work.fill()
		q.Hot = b.hottest(work, peakOf(work, q.RiseK, Num{}, Num{}), quenchFree(q))
		b.emit(Event{Kind: "quench", Facts: q})
		b.releases(s, work, o, "pouring "+v.name+" into the quench", nil)
	} else {
		for _, p := range v.pourOut(1) {
			work.put(p)
		}
		o := b.react(work)
		b.releases(s, work, o, "pouring "+v.name+" into "+work.name, nil)
	}
	work.comesFrom(v)
	work.product = work.product || v.product
	work.quenched = true
	b.lastQuench, b.lastQuenchStep = work, s.N
	b.last = work
}

// disarm destroys what explodes on concentrating with what the trade takes for
// it: diazomethane with an acid, a peroxide with sulfite, thiosulfate, iodide or
// an iron(II) salt, azide with nitrite, an acetylide or silver nitride with acid
// (Prudent Practices in the Laboratory, 1995, chapter 7).
func (b *Bench) disarm(v *vessel, with string) {
	agent := b.lookup(with)
	for _, m := range b.materials {
		if sameName(m.name, with) {
			agent = m.sp
		}
	}
	name := strings.ToLower(with)
	if agent != nil {
		name = strings.ToLower(agent.name)
	}
	acid := agent != nil && (agent.strongAcid() || agent.is("carboxylic acid"))
	for p := range v.each {
		if !p.sp.explodes {
			continue
		}
		gone := false
		switch {
		case p.sp.is("peroxide"):
			gone = has(name, "sulfite", "thiosulfate", "iodide", "iron(ii)", "ferrous")
		case p.sp.is("azide"):
			gone = has(name, "nitrite")
		default:
			gone = acid && !p.sp.strongAcid()
		}
		if gone {
			b.relabel(v, p, "what is left of "+p.sp.name, "salt")
		}
	}
}

// standsIn takes the size of the empty vessel into which a step puts a layer that
// had none: `neutralise: acid layer, in: 500 mL beaker`.
func (b *Bench) standsIn(s *procedure.Step, v *vessel) {
	if v.size.Known {
		return
	}
	for _, t := range s.In {
		if w := b.place(t, false); w != nil && w != v && w.piece != nil && holds(w.piece.class) && w.size.Known && len(w.contents) == 0 {
			v.size, w.piece.used = w.size, true
		}
	}
}
