package bench

import (
	"math"
	"slices"
	"strings"

	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
	"ketyl/checker/substance"
)

// bathRange is what a bath can give, °C, by words in its name; common
// practice (cooling-bath sheets of university laboratories).
var bathRanges = []struct {
	word      string
	low, high float64
	water     bool
	ice       bool
}{
	{"liquid nitrogen", -196, -196, false, false},
	{"dry ice", -78, -40, false, false},
	{"acetone-dry", -78, -40, false, false}, {"co2/acetone", -78, -40, false, false}, {"co2", -78, -40, false, false},
	{"cryocool", -100, 20, false, false}, {"cryostat", -90, 100, false, false}, {"chiller", -40, 60, false, false},
	{"ice-salt", -20, -5, true, true}, {"ice / salt", -20, -5, true, true}, {"ice/salt", -20, -5, true, true}, {"ice and salt", -20, -5, true, true}, {"salt", -20, -5, true, true},
	{"ice", 0, 10, true, true},
	{"cold water", 5, 20, true, false}, {"tap water", 8, 45, true, false}, {"warm water", 20, 60, true, false}, {"running water", 8, 20, true, false},
	{"steam", 95, 100, true, false}, {"water", 5, 98, true, false},
	{"oil", 20, 220, false, false}, {"silicone", 20, 220, false, false}, {"sand", 30, 350, false, false},
	{"mantle", 30, 400, false, false}, {"heating block", 25, 350, false, false}, {"metal block", 25, 350, false, false}, {"aluminium block", 25, 350, false, false}, {"bead", 25, 250, false, false},
	{"hot plate", 30, 350, false, false}, {"hotplate", 30, 350, false, false}, {"heat gun", 100, 600, false, false}, {"burner", 200, 1200, false, false}, {"flame", 200, 1200, false, false}, {"oven", 30, 250, false, false},
	{"room temperature", 18, 28, false, false}, {"cold room", 2, 8, false, false}, {"refrigerator", 2, 8, false, false}, {"freezer", -25, -15, false, false},
}

func (b *Bench) blankHeating(f *HeatingFacts, v *vessel) {
	f.TargetC, f.BathC = Missing("the temperature"), Missing("the bath temperature")
	f.BathLowC, f.BathHighC = Missing("what bath is used"), Missing("what bath is used")
	f.Minutes = Missing("how long")
	f.FreezesC, f.AboveBoilK = Missing("the solvent"), Missing("the bath temperature")
	f.PressureBar, f.HalfLifeMin, f.LostPercent = Missing("the size of "+v.name), Missing("the half-life of the reagent in this solvent"), Missing("the half-life of the reagent in this solvent")
	f.ContractionML, f.TrapColdC, f.VolumeOffML = Missing("the size of "+v.name), b.trapC, Missing("the volume")
	f.Reachable = true
}

func (b *Bench) bathText(s *procedure.Step) string {
	t := s.Bath.S
	if t == "" {
		for _, x := range slices.Concat(s.In, s.With) {
			if p := b.pieceNamed(x.S); p != nil {
				p.used = true
				t = word(p.kind, x.S) + " " + p.row.Fill.S
				continue
			}
			t += " " + x.S
		}
	} else if p := b.pieceNamed(t); p != nil {
		p.used = true
		t = p.kind + " " + p.row.Fill.S
	}
	return strings.TrimSpace(t)
}

// condition changes or holds the temperature of a vessel.
func (b *Bench) condition(s *procedure.Step, v *vessel) {
	if v == nil {
		return
	}
	verb := s.Verb.Name
	f := &HeatingFacts{Verb: verb, Vessel: b.facts(v)}
	b.blankHeating(f, v)
	f.LiveMmol = v.liveMmol()
	bath := b.bathText(s)
	if bath == "" && s.At != nil && s.At.Word != "" {
		bath = s.At.Word
	}
	f.Bath = bath
	f.Flame = has(bath, "flame", "burner", "heat gun")
	for _, r := range bathRanges {
		if bath != "" && has(bath, r.word) {
			f.BathLowC, f.BathHighC = Got(r.low), Got(r.high)
			f.WaterBath, f.Ice = r.water, r.ice
			break
		}
	}
	if f.BathLowC.Known && f.BathLowC.V <= -40 {
		b.cryogenUsed = true
		b.act("cryogen", bath)
	}
	if m := minutes(s); m.Known {
		f.Minutes = m
	} else if verb == "reflux" || verb == "stir" || verb == "stand" || verb == "heat" {
		f.Minutes = Missing("how long to " + verb)
	}
	start := v.tC
	target := math.NaN()
	pick := func(fig *procedure.Figure) {
		if fig != nil && fig.Known() && fig.Dim == quantity.Temperature && math.IsNaN(target) {
			target = fig.Value()
		}
	}
	pick(s.ToTemp)
	pick(s.At)
	bp, bpOK := v.bubblePoint(Atm)
	if s.Pressure != nil && s.Pressure.Known() {
		bp, bpOK = v.bubblePoint(s.Pressure.Value())
	} else if s.Vacuum != nil && s.Vacuum.Known() {
		bp, bpOK = v.bubblePoint(s.Vacuum.Value())
	}
	if verb == "reflux" || math.IsNaN(target) && (has(bath, "reflux") || has(s.Rate.S, "reflux")) {
		v.refluxed = true
		if s.At != nil && s.At.Known() {
			f.BathC = Got(s.At.Value())
		}
		if bpOK {
			target = bp
		}
		if s.Coolant.Is() {
			v.coolant = true
		}
		if !v.condenser && s.Condenser.Is() {
			v.condenser = true
		}
		for _, p := range b.pieces {
			if (p.class == "condenser" || p.class == "air condenser") && p.on == nil && !b.fittedLater(p) {
				v.condenser = true // listed, and nowhere else to go
				v.airCondenser = v.airCondenser || p.class == "air condenser"
				p.used = true
			}
		}
		f.Vessel.Condenser, f.Vessel.Coolant = v.condenser, v.coolant
		if v.peakFill > 0 {
			f.Vessel.Fill = v.fill()
		}
	}
	if math.IsNaN(target) {
		switch {
		case f.BathLowC.Known && verb == "cool":
			target = f.BathLowC.V
		case f.Ice:
			target = 0
		case verb == "cool" && bath == "" && start > b.roomT() && !f.Minutes.Known:
			target = b.roomT() // cooled, with neither bath nor figure
		case verb == "warm" && has(bath, "warm", "hot", "water"):
			target = 40 // a warm bath without a figure
		case has(bath, "room temperature", "ambient"), verb == "warm" && bath == "":
			target = b.roomT()
		case verb == "heat" && bath != "" && f.BathHighC.Known:
			if f.WaterBath {
				target = math.Min(f.BathHighC.V, 60)
			}
		}
	}
	if math.IsNaN(target) && verb == "cool" && bath == "" && start > b.roomT()+20 && f.Minutes.Known {
		// left to the air: half the difference is gone in about ten minutes
		// (time constant of a small flask about 15 min, from memory)
		target = b.roomT() + (start-b.roomT())*math.Exp(-f.Minutes.V/15)
	}
	if !math.IsNaN(target) {
		f.TargetC = Got(target)
		if verb == "reflux" && !bpOK {
			f.TargetC = Missing("the solvent in " + v.name)
		}
		if f.BathLowC.Known && verb != "reflux" {
			low, high := target, target
			if s.ToTemp != nil && s.ToTemp.Known() {
				low, high = s.ToTemp.Low, s.ToTemp.High
				if math.IsInf(low, 0) {
					low = high
				}
				if math.IsInf(high, 0) {
					high = low
				}
			}
			f.Reachable = high >= f.BathLowC.V-3 && low <= f.BathHighC.V+3
			if verb == "cool" {
				f.Reachable = high >= f.BathLowC.V-3
			}
		}
		if f.BathLowC.Known && verb == "reflux" && bpOK {
			f.Reachable = f.BathHighC.V >= bp
		}
		if sol := v.solvent(); sol != nil && sol.fp.Known && v.volume() > 0 {
			f.FreezesC = sol.fp
			f.Frozen = target < sol.fp.V && v.volumeShare(sol) > 0.8
			if has(bath, "liquid nitrogen") && target > -150 && sol.fp.V > -196 {
				f.Frozen = true // the bath is at −196 °C, whatever is asked
				f.TargetC.Assumed = ""
			}
			if verb == "degas" {
				f.Frozen = false
			}
		}
		if f.BathC.Known && bpOK {
			f.AboveBoilK = Got(f.BathC.V - bp)
		} else if bpOK && verb == "heat" && s.At != nil && s.At.Known() {
			f.AboveBoilK = Got(s.At.Value() - bp)
		}
		b.hold(v, f, target, s)
		if target < start-5 {
			b.coolBack(v, f, start, target, s)
		}
		v.tC, v.tKnown = target, true
	}
	if has(s.Until.S, "gone", "evaporated", "boiled off", "driven off", "has left") {
		// a condensed gas is left to boil away
		var gone outcome
		for _, p := range slices.Clone(v.contents) {
			if p.sp.gas && p.ml > 0 {
				keep := 0.0
				if has(s.Until.S, "nearly", "most", "almost") {
					keep = 0.02 // a remainder that nobody has measured
				}
				got := v.take(p.sp, p.mmol*(1-keep))
				gone.addGas(p.sp.name, got.mmol)
				v.tC = b.roomT()
			}
		}
		b.releases(s, v, gone, "boiling away from "+v.name, nil)
	}
	if v.conn == connSealed && !math.IsNaN(target) && target > v.sealT+5 {
		if verb != "stir" && verb != "stand" || target > b.roomT()+5 {
			b.closure(v, word(map[bool]string{true: "cold then warmed", false: "heated"}[v.sealT < 10 && target < 40], "heated"), s)
		}
	}
	f.Closed = !v.vented()
	if h := v.headspace(); h.Known && !math.IsNaN(target) {
		f.PressureBar = Num{V: PressureBar(h.V, start, target, v.sealGasMmol, v.vapourMbar(start), v.vapourMbar(target)), Known: true, Assumed: h.Assumed}
	}
	if v.conn == connGas && !v.vented() && !math.IsNaN(target) && target > start+10 {
		b.closure(v, "heated", s)
	}
	if f.TargetC.Known && f.TargetC.V <= -186 && (v.gasName == "argon" && v.closed() || v.conn == connOpen || v.conn == connTube) && has(bath, "nitrogen") {
		f.CondensesGas = "oxygen"
		if v.gasName == "argon" && v.closed() {
			f.CondensesGas = "argon"
		}
	}
	f.FlowKept = v.flow || s.Flow != nil || has(s.Note.S, "flow", "stream", "positive pressure")
	f.Unattended = f.Minutes.Known && f.Minutes.V >= 600
	if f.TargetC.Known && v.liveMmol() > 0 && f.TargetC.V < start-30 && len(v.traces) == 0 {
		_ = start
	}
	if verb == "reflux" || verb == "heat" || verb == "irradiate" || verb == "warm" {
		v.heated = true
	}
	o := b.react(v)
	b.emit(Event{Kind: "heating", Facts: f})
	b.releases(s, v, o, verb+"ing "+v.name, nil)
	b.reactionGas(s, v)
	b.refreshBudget(v, s)
}

func (v *vessel) volumeShare(sp *species) float64 {
	if t := v.volume(); t > 0 {
		var ml float64
		for _, p := range v.contents {
			if p.sp == sp {
				ml += p.ml
			}
		}
		return ml / t
	}
	return 0
}

// reactionGas is kept for gases that a declared reaction gives on heating;
// they are booked when the reaction runs.
func (b *Bench) reactionGas(*procedure.Step, *vessel) {}

// hold looks at what a temperature costs a reagent: its half-life in the
// solvent there, by the nearest published point at or below the temperature
// (rate doubling per 10 K above it, the usual rule, common practice).
func (b *Bench) hold(v *vessel, f *HeatingFacts, tC float64, s *procedure.Step) {
	for _, p := range v.live() {
		if p.sp.sub == nil || len(p.sp.sub.Stability) == 0 {
			continue
		}
		bestGap := math.Inf(1)
		var half float64
		var found bool
		for _, h := range p.sp.sub.Stability {
			sol := b.lookup(h.In)
			if sol == nil || v.find(sol) == nil || v.volumeShare(sol) < 0.2 {
				continue
			}
			at, err1 := quantity.ParseAs(h.At, quantity.Temperature)
			life, err2 := quantity.ParseAs(h.HalfLife, quantity.Time)
			if err1 != nil || err2 != nil {
				continue
			}
			if gap := math.Abs(at.Value() - tC); gap < bestGap {
				bestGap = gap
				half = life.Value() * math.Pow(2, (at.Value()-tC)/10)
				found = true
			}
		}
		if !found {
			continue
		}
		f.Reagent = p.sp.name
		f.HalfLifeMin = Num{V: half, Known: true, Assumed: "nearest published half-life, rate doubled per 10 K"}
		if f.Minutes.Known {
			f.LostPercent = Num{V: 100 * (1 - math.Pow(0.5, f.Minutes.V/half)), Known: true, Assumed: f.HalfLifeMin.Assumed}
		} else {
			f.LostPercent = Missing("how long it is held at this temperature")
		}
		return
	}
}

func (b *Bench) coolBack(v *vessel, f *HeatingFacts, from, to float64, s *procedure.Step) {
	h := v.headspace()
	if !h.Known {
		f.ContractionML = Missing(h.Ask)
	} else {
		y1 := math.Min(0.95, v.vapourMbar(from)/Atm)
		y2 := math.Min(0.95, v.vapourMbar(to)/Atm)
		f.ContractionML = Num{V: Contraction(h.V, from, to, y1, y2), Known: true, Assumed: h.Assumed}
	}
	f.DrawsBack = v.conn == connGas && has(v.outlet, "bubbler", "oil", "mercury") || v.scrub != nil && v.scrub.suck
}

// fitting fits, removes, starts and stops things.
func (b *Bench) fitting(s *procedure.Step, v *vessel) {
	obj := strings.ToLower(joined(s.Object))
	place := v
	for _, t := range slices.Concat(s.To, s.On, s.In, s.From) {
		if w := b.place(t, false); w != nil {
			place = w
		}
	}
	for _, o := range s.Object {
		if p := b.pieceNamed(o.S); p != nil {
			p.used = true
			if w := b.under(p.on); w != nil && place == nil {
				place = w
			}
		}
	}
	if place == nil {
		place = b.last
	}
	if place == nil {
		return
	}
	class := ""
	fill := ""
	for i, o := range s.Object {
		if p := b.pieceNamed(o.S); p != nil && p.row != nil {
			class, fill = p.class, p.row.Fill.S
		} else if c, ok := classOf(o.S); ok {
			class = c
		}
		if class == "thermometer" && s.Verb.Name == "fit" {
			place.probe = true
		}
		if class == "condenser" && s.Verb.Name == "fit" {
			place.condenser = true
		}
		if i < len(s.Object)-1 && class == "closure" {
			class = ""
		}
	}
	switch s.Verb.Name {
	case "start":
		if has(obj, "water", "coolant", "condenser") {
			place.coolant = true
		}
		if has(obj, "gas", "nitrogen", "argon", "flow") {
			place.flow = true
		}
	case "stop":
		if has(obj, "pump") {
			b.trapIsolated = true
		}
		if has(obj, "water", "coolant") {
			place.coolant = false
		}
		if has(obj, "gas", "nitrogen", "argon", "flow") {
			place.flow = false
		}
	case "fit":
		switch class {
		case "condenser":
			place.condenser = true
		case "air condenser":
			place.condenser, place.airCondenser = true, true
		case "drying tube":
			if place.conn == connOpen {
				b.guard(place, word(strings.TrimSpace(joined(s.With)), fill))
			} else {
				place.outlet, place.outletSaid = "drying tube", true
			}
		case "thermometer":
			place.probe = true
		case "bubbler":
			place.outlet, place.outletSaid = "bubbler", true
		case "closure":
			if has(obj, "stopper") && !has(obj, "hole", "vent") && place.conn == connOpen && (s.Swap.Is() || len(s.To) > 0 || len(s.On) > 0) && has(obj, "glass stopper", "tight") {
				b.seal(place, s)
			}
		case "balloon":
			place.conn, place.outlet, place.outletSaid = connBalloon, "balloon", true
			place.rank = math.Max(2, place.rank)
		}
		if s.Outlet.Is() {
			if has(s.Outlet.S, "needle", "capillary") && (place.conn == connOpen || place.conn == connTube) {
				place.conn = connGas // closed but for that
			}
			place.outlet, place.outletSaid = s.Outlet.S, true
			place.narrow = has(s.Outlet.S, "needle", "capillary")
		}
		if s.Swap.Is() || has(s.Note.S, "exchange", "replace") {
			b.swapOpen(place, s)
		}
	case "remove":
		if has(obj, "dewar", "trap", "liquid nitrogen", "coolant") {
			b.trapWarmed(s)
			return
		}
		switch {
		case class == "drying tube" && place.conn == connTube:
			b.openAir(place)
		case class == "bath", has(obj, "bath", "mantle", "heat"):
			place.tC = b.roomT()
			if s.ToTemp != nil && s.ToTemp.Known() {
				place.tC = s.ToTemp.Value()
			}
		case class == "condenser":
			place.condenser = false
			b.swapOpen(place, s)
		case class == "closure" || class == "funnel":
			b.swapOpen(place, s)
		}
	}
}

// swapOpen marks a vessel whose neck stands open while a fitting is changed.
func (b *Bench) swapOpen(v *vessel, s *procedure.Step) {
	if b.guarded(s) || v.conn == connBox || v.conn == connOpen {
		return
	}
	b.airOnTrap(s, v)
	v.swapped = s.N
}

func (b *Bench) confirm(s *procedure.Step, v *vessel) {
	if v == nil {
		v = b.last
	}
	if v == nil {
		return
	}
	text := joined(s.Object) + s.Until.S + joined(s.Signs)
	if has(text, "gas", "bubbl", "no more", "end", "quench", "gone", "complete") {
		v.endSeen = true
	}
	if has(text, "initiat", "start", "begin", "reaction has", "under way", "underway") {
		v.initiated = true
	}
}

func (b *Bench) sample(s *procedure.Step, v *vessel) {
	if v == nil {
		return
	}
	if has(s.By.S, "syringe", "cannula", "needle") || b.guarded(s) || v.conn == connOpen {
		return
	}
	v.swapped = s.N
}

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
	b.quenched = b.quenched || s.Verb.Name == "quench" || s.Verb.Name == "destroy" || v.liveMmol() > 0
	work := v
	reverse := false
	// poured into the quench
	for _, t := range slices.Concat(s.Into, s.To) {
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
	if reverse {
		b.reverseQuench(s, v, work)
		return
	}
	if len(s.With) == 0 && v.liveMmol() > 0 {
		b.emit(Event{Kind: "quench", Facts: b.quenchFacts(s, v, nil, v, false)})
	}
	for i, t := range s.With {
		b.quenchWith(s, v, t, i)
	}
	if s.ToTemp != nil && s.ToTemp.Known() {
		v.tC = s.ToTemp.Value()
	}
	v.quenched = true
	b.lastQuench, b.lastQuenchStep = v, s.N
	v.endSeen = len(s.Signs) > 0 || s.Until.Is() && has(s.Until.S, "gas", "bubbl", "no more", "stops", "ceases", "gone", "colour", "color", "test")
	if s.Verb.Name == "destroy" || s.Verb.Name == "quench" && v.hasFamily("low-valent complex") {
		// a complex destroyed on purpose becomes its salts; the metal stays
		for _, p := range slices.Clone(v.contents) {
			if p.sp.is("low-valent complex", "precatalyst", "metal powder", "metal carbonyl") && p.sp.pyro() {
				got := v.take(p.sp, p.mmol)
				b.residue(v, got, "salts of "+p.sp.name)
			}
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
	for _, t := range slices.Concat(s.Into, s.To) {
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
	for _, t := range slices.Concat(s.With, s.Then) {
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
	if s.At != nil && s.At.Known() {
		v.tC, v.tKnown = s.At.Value(), true
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
	kJ, unknown := b.dilute(v, l)
	for _, p := range l.portions {
		v.put(p)
	}
	if l.blur != "" {
		v.blur = l.blur
	}
	o := b.react(v)
	if l.blur != "" && liveEq > 0 && l.has(func(sp *species) bool { return sp.family == "water" || sp.protic > 0 }) {
		// an unstated amount of quench: it does what it is there for
		for _, p := range v.live() {
			b.spend(v, p.sp, p.mmol, &o)
			for _, g := range p.sp.gases {
				b.gasOrProduct(v, p.sp, g, p.mmol, &o)
			}
		}
	}
	o.addDilution(kJ, unknown)
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
		if o.heatKnown {
			qf.HeatKJ = Got(o.kJ)
			if c := v.heatCapacity(); c > 0 {
				qf.RiseK = Got(AdiabaticRise(o.kJ, c))
			}
		}
		qf.FillAfter = v.fill()
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
	b.releases(s, v, o, s.Verb.Name+"ing "+v.name+" with "+t.S, af)
	for _, p := range l.portions {
		b.meetHazards(p.sp, p, s)
	}
	v.peakFill = math.Max(v.peakFill, valueOf(v.fill()))
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
		for _, p := range slices.Clone(v.contents) {
			if p.sp.is(families...) {
				v.take(p.sp, p.mmol)
				b.saltWater(v, p.mmol)
			}
		}
	}
	if pH < 8 {
		drop("hydroxide", "carbonate")
	}
	if pH > 6 {
		drop("mineral acid", "sulfonic acid", "oxidising acid")
		v.acid = 0
	}
	if pH < 5 {
		v.acid = math.Max(v.acid, math.Pow(10, -pH)*v.volume())
	}
}

// iceGone: dry ice is gone, as carbon dioxide, once more than its mass of
// liquid has come to it.
func (b *Bench) iceGone(v *vessel, o *outcome) {
	for _, p := range slices.Clone(v.contents) {
		if p.sp.name != "dry ice" {
			continue
		}
		if v.volume() < p.g && v.blur == "" {
			continue
		}
		got := v.take(p.sp, p.mmol)
		o.addGas("carbon dioxide", got.mmol)
		v.tC = math.Max(v.tC, 0)
	}
}

func (b *Bench) quenchFacts(s *procedure.Step, v *vessel, l *lot, in *vessel, reverse bool) *QuenchFacts {
	live := v.toDestroy()
	q := &QuenchFacts{LiveMmol: v.destroyEq(), LeftMmol: v.destroyEq(), Vessel: b.facts(in), Reverse: reverse, TemperatureC: Num{V: v.tC, Known: true}, Ratio: Missing("the amount of the quench"),
		GasL: Missing("what the quench gives off"), HeatKJ: Missing("the heat of the quench"), RiseK: Missing("the heat of the quench"), FillAfter: in.fill(), Concentration: Missing("the volume in " + v.name), MlPerG: Missing("the amounts of hydride and water"), PatternOff: Missing("the work-up volumes"), TemperC: Missing("its reaction temperature")}
	if len(live) > 0 {
		q.Reagent, q.Family, q.Vigour = live[0].sp.name, live[0].sp.family, live[0].sp.vigour
		for _, p := range live {
			if p.sp.vigour > q.Vigour {
				q.Reagent, q.Family, q.Vigour = p.sp.name, p.sp.family, p.sp.vigour
			}
		}
	}
	if !v.tKnown {
		q.TemperatureC.Assumed = "room temperature, as nothing else is written"
	}
	if v.volume() > 0 && v.blur == "" {
		q.Concentration = Got(v.destroyEq() / v.volume())
	}
	q.Cooled = s.At != nil && s.At.Known() && s.At.Value() <= 10 || has(s.Bath.S, "ice", "cold", "cool", "water") || v.tKnown && v.tC <= 10 || s.KeepBelow != nil || has(joined(s.With)+joined(s.Into)+joined(s.In)+s.Note.S, "ice", "cold", "cool")
	q.RateGiven = s.Over != nil || s.RateFigure != nil || s.Portions != nil || s.Rate.Is() && !has(s.Rate.S, "at once", "quick", "rapid", "all at") || s.KeepBelow != nil
	q.First = !v.quenched
	q.InertKept = in.closed() || in.conn == connTube
	q.EndSign = len(s.Signs) > 0 || s.Until.Is() || s.HoldFor != nil || s.For != nil || b.endSignLater(s, v)
	q.Large = q.LiveMmol >= 1
	if l != nil {
		if l.m != nil {
			q.With = b.materialFacts(l.m, l.share)
		} else {
			sp := mainOf(l.portions)
			q.With = b.speciesFacts(sp)
			q.With.Name = l.name
			q.With.Mmol, q.With.VolumeML = Got(l.mmol(sp)), Got(l.ml())
		}
		q.WithVigour = quenchStrength(l.portions)
		q.FirstOK = b.firstOK(live, l, q.WithVigour, v)
		if l.blur == "" && q.LiveMmol > 0 {
			n := proticCapacity(l.portions) + b.laterQuench(s, v, l.name)
			q.Ratio = Got(n / q.LiveMmol)
		} else if l.blur != "" {
			q.Ratio = Missing(l.blur)
		}
		b.pattern(s, v, l, q)
	} else {
		q.With = MaterialFacts{Mmol: Missing("what quenches it"), MassG: Missing("what quenches it"), VolumeML: Missing("what quenches it"), Molarity: Missing("what quenches it"), Equivalents: Missing("what quenches it"), FlashC: Missing("what quenches it"), BoilingC: Missing("what quenches it"), WaterPPM: Missing("what quenches it"), WaterMmol: Missing("what quenches it")}
	}
	for _, p := range live {
		if p.sp.is("phosphorus halide", "sulfonyl chloride") && v.tC < 15 {
			q.SlowCold = true
			q.TemperC = Got(15)
		}
	}
	q.Desc = headOf(s)
	return q
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
			if skip && strings.EqualFold(t.S, but) {
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
			same = same || strings.EqualFold(o.S, v.name) || slices.Contains(vagueNames, strings.ToLower(o.S))
		}
		into := false
		for _, o := range t.To {
			into = into || strings.EqualFold(o.S, v.name)
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
				if strings.EqualFold(o.S, v.name) && (t.For != nil || t.HoldFor != nil || len(t.Signs) > 0 || t.Until.Is()) {
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
					if b.isA(w.sp, n) || strings.EqualFold(n, w.sp.name) {
						good = true
					}
				}
			}
			for _, w := range l.portions {
				if w.sp.sub == nil || w.mmol <= trace {
					continue
				}
				for _, n := range q.NeverFirst {
					if (b.isA(w.sp, n) || strings.EqualFold(n, w.sp.name)) && !listed(q.First, l, b) {
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
			if b.isA(p.sp, n) || strings.EqualFold(n, p.sp.name) {
				return true
			}
		}
	}
	return false
}

// pattern reads the water : base : water work-up of an aluminium hydride.
func (b *Bench) pattern(s *procedure.Step, v *vessel, l *lot, q *QuenchFacts) {
	if q.Family != "aluminium hydride" || !q.First {
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
		off := 0.0
		for i := range want {
			off = math.Max(off, math.Abs(vols[i]-want[i])/want[i])
		}
		q.PatternOff = Got(off)
		q.Pattern = quantity.FormatNumber(vols[0]) + " : " + quantity.FormatNumber(vols[1]) + " : " + quantity.FormatNumber(vols[2]) + " mL for " + quantity.Format(grams, quantity.Mass)
	} else {
		q.PatternOff = Got(0)
	}
}

// reverseQuench pours a live mixture into the quench.
func (b *Bench) reverseQuench(s *procedure.Step, v, work *vessel) {
	for _, t := range s.With {
		if m := b.material(t.S); m != nil && m.left > 0 {
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
			q.HeatKJ = Got(o.kJ)
			if c := work.heatCapacity(); c > 0 {
				q.RiseK = Got(AdiabaticRise(o.kJ, c))
			}
		}
		q.FillAfter = work.fill()
		b.emit(Event{Kind: "quench", Facts: q})
		b.releases(s, work, o, "pouring "+v.name+" into the quench", nil)
	} else {
		for _, p := range v.pourOut(1) {
			work.put(p)
		}
		o := b.react(work)
		b.releases(s, work, o, "pouring "+v.name+" into "+work.name, nil)
	}
	work.product = work.product || v.product
	work.quenched = true
	b.lastQuench, b.lastQuenchStep = work, s.N
	b.last = work
}

// workupEvent describes a work-up act for the rules.
func (b *Bench) workupEvent(s *procedure.Step, v *vessel, with procedure.Text, before VesselFacts, o outcome, acid float64) {
	f := &WorkupFacts{Verb: s.Verb.Name, Vessel: before, With: with.S, TemperatureC: Num{V: v.tC, Known: true}, BoilingC: Missing("the solvent"), GasL: Got(GasLitres(o.gasTotal())),
		FunnelML: Missing("the size of the separating funnel"), VolumeML: v.volumeNum(), AcidMmol: Got(acid), VesselRatio: Missing("the size of " + v.name)}
	if !v.tKnown {
		f.TemperatureC.Assumed = "room temperature, as nothing else is written"
	}
	if l := v.live(); len(l) > 0 {
		f.LiveMmol, f.Live = v.liveMmol(), l[0].sp.name
	} else if before.LiveMmol > 0 {
		f.LiveMmol, f.Live = before.LiveMmol, before.Live
	}
	if m := b.material(with.S); m != nil {
		f.WithFamily = m.sp.family
		f.AgentAmount = m.row.Amount.Is()
	} else if sp := b.lookup(with.S); sp != nil {
		f.WithFamily = sp.family
	}
	for _, p := range v.contents {
		if p.sp.liquid && p.sp.bp.Known && p.ml > 0.5 && (!f.BoilingC.Known || p.sp.bp.V < f.BoilingC.V) {
			f.BoilingC = p.sp.bp
		}
	}
	if len(o.gasOrder) > 0 {
		f.Gas = o.gasOrder[0]
	}
	text := s.Note.S + s.By.S + s.Until.S + joined(s.Signs)
	for _, c := range s.Cautions {
		text += c.Say.S
	}
	for _, c := range b.p.Cautions {
		text += c.Say.S
	}
	f.VentGiven = isTrue(s.Vented) || has(text, "vent", "release", "swirl")
	f.Stoppered = has(text, "shak", "stopper", "invert") || s.Verb.Name == "extract" || s.Verb.Name == "wash"
	for _, t := range s.In {
		if p := b.pieceNamed(t.S); p != nil {
			p.used = true
			if p.vessel != nil && p.vessel.size.Known {
				f.FunnelML = p.vessel.size
			}
		} else if class, ok := classOf(t.S); ok && class != "bath" {
			b.missingPiece(t.S)
		}
	}
	if v.size.Known && v.volume() > 0 {
		f.VesselRatio = Got(v.size.V / v.volume())
	}
	f.LayerWrong = b.layerWrong(s, v)
	f.LayerNamed = s.Keep.Is() || s.Layer.Is() || len(s.Gives) > 0
	for _, p := range v.contents {
		if p.sp.need >= 2 && p.mmol > 0.01 && !p.sp.live && !b.spentNow(v, p.sp, s) {
			f.Sensitive = p.sp.name
		}
		if p.sp.is("precatalyst", "metal powder") && p.sp.pyro() {
			f.PyroSolid = p.sp.name
		}
	}
	f.DriedInAir = has(text+s.Until.S, "air", "suction dry", "pulled dry", "until dry")
	if b.guarded(s) || v.conn == connBox {
		f.Sensitive = ""
		f.DriedInAir = false
	}
	b.emit(Event{Kind: "workup", Facts: f})
}

// layerWrong compares where the text says a layer lies with the densities.
func (b *Bench) layerWrong(s *procedure.Step, v *vessel) string {
	var og, oml, ag, aml float64
	for _, p := range v.contents {
		if w := b.goesWithWater(p, v, true); w >= 0.8 {
			ag += p.g
			aml += p.ml
		} else if w >= 0 {
			og += p.g
			oml += p.ml
		}
	}
	if oml < 0.5 || aml < 0.5 || v.blur != "" {
		return ""
	}
	organic, aqueous := og/oml, ag/aml
	if math.Abs(organic-aqueous) < 0.05 {
		return ""
	}
	organicBelow := organic > aqueous
	figures := "the organic layer has " + quantity.FormatNumber(organic) + " g/mL, the aqueous " + quantity.FormatNumber(aqueous) + " g/mL"
	says := func(where, what string) string {
		isOrganic := has(what, "organic", "ether", "toluene", "chlorid", "dichloromethane", "acetate", "extract", "hexane") && !has(what, "aqueous", "water")
		isAqueous := has(what, "aqueous", "water", "acid layer")
		if isOrganic && (where == "lower") != organicBelow || isAqueous && (where == "lower") == organicBelow {
			return "the " + where + " layer is not the " + map[bool]string{true: "organic", false: "aqueous"}[isOrganic] + " one: " + figures
		}
		return ""
	}
	for _, w := range []string{"upper", "lower"} {
		if t, ok := s.Gives[w]; ok {
			if x := says(w, t.S); x != "" {
				return x
			}
		}
	}
	for _, t := range []procedure.Text{s.Layer, s.Keep} {
		for where, words := range map[string][]string{"upper": {"upper", "top"}, "lower": {"lower", "bottom"}} {
			if has(t.S, words...) {
				if x := says(where, t.S); x != "" {
					return x
				}
			}
		}
	}
	return ""
}

func (b *Bench) missingPiece(name string) {
	if b.pieceNamed(name) == nil && !slices.Contains(b.missing, name) {
		b.missing = append(b.missing, name)
	}
}

// goesWithWater says which side of a separating funnel a species takes:
// 1 water, 0 organic, 0.5 both, −1 a solid that stays where it is.
func (b *Bench) goesWithWater(p portion, v *vessel, organic bool) float64 {
	sp := p.sp
	switch {
	case sp.family == "water" || sp.name == "ice":
		return 1
	case sp.strongAcid(), sp.is("hydroxide", "carbonate", "ammonium salt", "salt", "drying salt", "hypochlorite", "nitrite", "cyanide", "sulfide", "azide", "carboxylic salt", "copper salt"):
		return 1
	case sp.is("amine", "pyridine base", "aromatic amine") && v.acidic():
		return 1
	case sp.is("carboxylic acid") && v.basic():
		return 1
	case sp.liquid && sp.sub != nil && sp.sub.Water != nil && sp.sub.Water.Miscible:
		if sp.is("ether") && organic {
			return 0.3
		}
		return 0.8
	case sp.made && sp.family == "salt":
		return 1
	case sp.is("alkali metal", "alkaline-earth metal", "metal powder", "zinc metal"):
		return -1
	}
	return 0
}

// layers splits a mixture into its organic and aqueous parts.
func (b *Bench) layers(s *procedure.Step, v *vessel) (organic, aqueous *vessel) {
	name := func(keys []string, def string) string {
		for _, k := range keys {
			if t, ok := s.Gives[k]; ok {
				return t.S
			}
		}
		return def
	}
	orgName := name([]string{"organic", "extract", "ether", "product"}, "")
	aqName := name([]string{"aqueous", "water", "washings", "washing"}, "")
	for _, k := range []string{"upper", "lower"} {
		if t, ok := s.Gives[k]; ok {
			halo := v.halogenated() && v.solvent() != nil && v.solventDense()
			if (k == "upper") != halo {
				orgName = word(orgName, t.S)
			} else {
				aqName = word(aqName, t.S)
			}
		}
	}
	if t, ok := s.Gives[""]; ok {
		if has(t.S, "aqueous", "acid extract", "base extract", "water") {
			aqName = word(aqName, t.S)
		} else {
			orgName = word(orgName, t.S)
		}
	}
	inLayer := v.piece == nil
	get := func(n, kind string) *vessel {
		if w := b.vesselNamed(n); w != nil && w != v && w.piece == nil {
			w.discarded, w.gone = false, false
			return w
		}
		w := b.newVessel(n, nil)
		w.kind, w.class, w.origin = kind, "layer", v.name
		w.conn, w.tC, w.tKnown = connOpen, v.tC, v.tKnown
		if b.guarded(s) || v.conn == connBox {
			w.conn, w.rank, w.gases, w.outlet, w.degassed = v.conn, v.rank, v.gases, v.outlet, v.degassed
			w.air = v.air
		}
		return w
	}
	if orgName == "" {
		if inLayer && v.kind == "organic" {
			orgName = v.name
		} else {
			orgName = "organic layer"
		}
	}
	if aqName == "" {
		if inLayer && v.kind == "aqueous" {
			aqName = v.name
		} else if inLayer && s.Verb.Name == "wash" {
			aqName = "aqueous washings"
			if w := b.vesselNamed("aqueous layer"); w != nil && !w.discarded && b.vesselNamed(aqName) == nil {
				aqName = "aqueous layer"
			}
		} else {
			aqName = "aqueous layer"
		}
	}
	parts := v.pourOut(1)
	acid := v.acid
	v.acid = 0
	tmp := &vessel{contents: parts}
	hasOrganic := false
	for _, p := range parts {
		if b.goesWithWater(p, tmp, true) == 0 && p.sp.liquid && p.ml > 0 {
			hasOrganic = true
		}
	}
	take := func(n, kind string) *vessel {
		if v.piece == nil && strings.EqualFold(n, v.name) {
			v.gone = false
			return v
		}
		return get(n, kind)
	}
	organic, aqueous = take(orgName, "organic"), take(aqName, "aqueous")
	aqueous.acid += acid
	for _, p := range parts {
		w := b.goesWithWater(p, tmp, hasOrganic)
		switch {
		case w < 0:
			aqueous.put(p)
		case w >= 1:
			aqueous.put(p)
		case w <= 0:
			organic.put(p)
			// what dissolves a little goes along with the water
		default:
			aqueous.put(portion{p.sp, p.mmol * w, p.g * w, p.ml * w, p.from, p.maybe})
			organic.put(portion{p.sp, p.mmol * (1 - w), p.g * (1 - w), p.ml * (1 - w), p.from, p.maybe})
		}
	}
	organic.blur, aqueous.blur = word(organic.blur, v.blur), word(aqueous.blur, v.blur)
	if v.blur != "" && v != organic {
		v.blur = ""
	}
	organic.product = true
	if v != organic && v != aqueous {
		v.gone = true
		v.conn = connOpen
	}
	return organic, aqueous
}

func (v *vessel) solventDense() bool {
	s := v.solvent()
	return s != nil && s.density > 1.05
}

// workup plays extraction, washing, filtration and the rest.
func (b *Bench) workup(s *procedure.Step, v *vessel) {
	if v == nil {
		return
	}
	before := b.facts(v)
	acidBefore := v.acidMmol()
	with := procedure.Text{}
	if len(s.With) > 0 {
		with = s.With[0]
	}
	var all outcome
	all.consumed = map[*species]float64{}
	if s.Verb.Name != "chromatograph" && s.Verb.Name != "filter" {
		for i, t := range s.With {
			saved := s.Amount
			if i > 0 {
				s.Amount = nil
			}
			if s.Verb.Name == "crystallise" && b.material(t.S) == nil && b.place(t, false) == nil {
				if sp := b.lookup(t.S); sp == nil {
					s.Amount = saved
					continue
				}
			}
			l := b.fetch(s, t, v)
			s.Amount = saved
			for _, p := range l.portions {
				for _, q := range v.contents {
					b.clash(s, p, q, v, false)
				}
			}
			for _, p := range l.portions {
				v.put(p)
				b.meetHazards(p.sp, p, s)
			}
			if l.blur != "" {
				v.blur = l.blur
			}
		}
		if s.Verb.Name == "crystallise" {
			for _, t := range s.From {
				if b.material(t.S) != nil {
					l := b.fetch(s, t, v)
					for _, p := range l.portions {
						v.put(p)
					}
				}
			}
		}
		o := b.react(v)
		b.iceGone(v, &o)
		all = o
	}
	if b.material(with.S) == nil && with.Is() {
		if p := b.pieceNamed(with.S); p != nil {
			p.used = true
		}
	}
	b.workupEvent(s, v, with, before, all, acidBefore)
	for _, t := range s.In {
		// the separating funnel that the text names must hold it
		if p := b.pieceNamed(t.S); p != nil && p.vessel != nil && p.vessel != v && p.vessel.size.Known && v.blur == "" && p.vessel.size.V > 0 {
			ml := v.volume()
			if s.Amount.Is() || len(s.With) == 0 || b.material(s.With[0].S) == nil || b.material(s.With[0].S).portions <= 1 {
				b.fillOf(p.vessel, ml)
			} else if m := b.material(s.With[0].S); m.ml.Known {
				b.fillOf(p.vessel, ml-m.ml.V*(1-1/m.portions)) // in portions: one at a time
			}
		}
	}
	b.releases(s, v, all, s.Verb.Name+"ing "+v.name, nil)
	for _, t := range slices.Concat(s.Through, s.In, s.On) {
		if p := b.pieceNamed(t.S); p != nil {
			p.used = true
		} else if m := b.material(t.S); m != nil && s.Verb.Name != "chromatograph" { // its adsorbent is left over below
			b.usedMaterial(m, 1)
		}
	}
	switch s.Verb.Name {
	case "extract", "separate":
		org, aq := b.layers(s, v)
		b.last = org
		if s.Verb.Name == "extract" && v.kind == "aqueous" {
			b.last = org
		}
		_ = aq
	case "wash":
		if v.hasLiquid() || v.kind == "organic" || v.class == "vessel" {
			if v.aqueous() || s.Gives != nil {
				org, _ := b.layers(s, v)
				b.last = org
			}
		} else {
			// a solid on a filter: the liquid runs through
			b.splitSolid(s, v, "washings")
		}
	case "filter", "decant", "centrifuge", "crystallise", "precipitate":
		b.splitSolid(s, v, "")
	case "chromatograph":
		for _, t := range slices.Concat(s.On, s.Through) {
			if m := b.material(t.S); m != nil {
				b.leftover(m, v, s)
				if d := b.vesselNamed(m.name); d != nil {
					for _, p := range slices.Clone(v.contents) {
						if b.spentCatalyst(p.sp) {
							d.put(v.take(p.sp, p.mmol))
						}
					}
				}
			}
		}
		for _, t := range s.With {
			if m := b.material(t.S); m != nil {
				b.usedMaterial(m, 1)
			}
		}
		v.product = true
		b.renameTo(s, v)
	case "sublime":
		b.vacuumUsed = true
		b.act("vacuum", v.name)
		v.product = true
		b.renameTo(s, v)
	case "steam-distil":
		b.steam(s, v)
	}
}

// steam takes what is volatile with steam over, and leaves salts and solids.
func (b *Bench) steam(s *procedure.Step, v *vessel) {
	name := "distillate of " + v.name
	residue := ""
	for _, k := range s.GivesOrder {
		if k == "residue" {
			residue = s.Gives[k].S
		} else {
			name = s.Gives[k].S
		}
	}
	w := b.newVessel(name, nil)
	w.kind, w.class, w.origin = "distillate", "layer", v.name
	for _, p := range slices.Clone(v.contents) {
		solid := p.sp.sub != nil && p.sp.sub.Phase == "solid"
		if (p.sp.liquid || b.isProduct(p.sp) && !solid) && !p.sp.strongAcid() {
			w.put(v.take(p.sp, p.mmol))
		}
	}
	w.product = !v.hasProduct(b)
	v.product = v.hasProduct(b)
	if residue != "" {
		r := b.newVessel(residue, nil)
		r.kind, r.product = "cake", v.product
		for _, p := range v.pourOut(1) {
			r.put(p)
		}
		b.last = r
		return
	}
	b.last = w
	if v.product {
		b.last = v
	}
}

func (v *vessel) hasProduct(b *Bench) bool {
	for _, p := range v.contents {
		if b.isProduct(p.sp) && p.mmol > trace {
			return true
		}
	}
	return false
}

func (v *vessel) hasLiquid() bool {
	var org float64
	for _, p := range v.contents {
		if p.sp.liquid && p.sp.family != "water" {
			org += p.ml
		}
	}
	return org > 0.5
}

func (b *Bench) renameTo(s *procedure.Step, v *vessel) {
	if len(s.GivesOrder) == 0 {
		return
	}
	w := b.newVessel(s.Gives[s.GivesOrder[0]].S, nil)
	w.kind, w.product = "organic", true
	w.conn, w.rank, w.gases = v.conn, v.rank, v.gases
	for _, p := range v.pourOut(1) {
		w.put(p)
	}
	b.last = w
}

// splitSolid parts solids from the liquid: filter, decant, crystallise.
func (b *Bench) splitSolid(s *procedure.Step, v *vessel, washName string) {
	var solidName, liquidName string
	for _, k := range s.GivesOrder {
		t := s.Gives[k].S
		switch k {
		case "cake", "solid", "residue", "crystals", "precipitate", "solids", "salts", "product":
			solidName = t
		case "filtrate", "solution", "mother liquor", "liquid", "organic", "washings", "supernatant", "liquor", "aqueous":
			liquidName = t
		case "":
			if has(t, "filtrate", "liquor", "solution", "layer", "washing") {
				liquidName = t
			} else {
				solidName = t
			}
		}
	}
	liquidKind, solidKind := "filtrate", "cake"
	if s.Verb.Name == "crystallise" || s.Verb.Name == "precipitate" {
		liquidKind = "mother liquor"
	}
	var solids, liquids []portion
	for _, p := range v.contents {
		isSolid := !p.sp.liquid && !p.sp.gas && (p.sp.is("drying salt", "molecular sieve", "drying oxide", "adsorbent", "filter aid", "alkali metal", "alkaline-earth metal", "metal powder", "zinc metal", "precatalyst") || p.sp.desiccantKind() != "")
		if p.sp.family == "salt" && !v.aqueous() && (solidName != "" || liquidName != "") {
			isSolid = true // salts of a quench do not dissolve in what is no water
		}
		if solidName != "" && !p.sp.liquid && (strings.EqualFold(solidName, p.sp.name) || b.byName[strings.ToLower(solidName)] == p.sp) {
			isSolid = true
		}
		if b.spentCatalyst(p.sp) && len(s.Through) > 0 {
			isSolid = true
		}
		if s.Verb.Name == "crystallise" || s.Verb.Name == "precipitate" || v.precip {
			isSolid = isSolid || !p.sp.liquid && !p.sp.gas && (p.sp.made || b.isProduct(p.sp))
		}
		if isSolid {
			solids = append(solids, p)
		} else {
			liquids = append(liquids, p)
		}
	}
	if s.Verb.Name == "precipitate" && len(s.Gives) == 0 {
		v.precip = true
		return
	}
	if s.Verb.Name == "crystallise" && len(s.Gives) == 0 {
		v.product, v.precip = true, true
		return
	}
	aq := v.aqueous()
	place := v
	if liquidName == "" && v.piece == nil {
		// the layer keeps its name; the solid leaves
		place = v
		v.contents = liquids
	} else {
		if liquidName == "" {
			liquidName = word(washName, liquidKind)
		}
		w := b.vesselNamed(liquidName)
		if w == nil || w == v {
			w = b.newVessel(liquidName, nil)
		}
		w.kind, w.class, w.origin = liquidKind, "layer", v.name
		w.conn, w.tC, w.tKnown = connOpen, v.tC, v.tKnown
		if b.guarded(s) || v.conn == connBox {
			w.conn, w.rank, w.gases, w.outlet, w.degassed = v.conn, v.rank, v.gases, v.outlet, v.degassed
			w.air = v.air
		}
		if w.kind == "filtrate" && !aq {
			w.product = true
		}
		for _, p := range liquids {
			w.put(p)
		}
		w.blur = v.blur
		v.contents = nil
		v.gone = true
		place = w
	}
	solidHere := len(solids) > 0 || solidName != ""
	if solidHere {
		if solidName == "" {
			for _, p := range solids {
				if b.vesselNamed(p.sp.name) != nil && b.vesselNamed(p.sp.name).isDesiccant {
					solidName = b.vesselNamed(p.sp.name).name
				}
			}
			if solidName == "" {
				solidName = "filter cake"
			}
		}
		c := b.vesselNamed(solidName)
		if c == nil {
			c = b.newVessel(solidName, nil)
			c.kind, c.class, c.origin = solidKind, "solid", v.name
		}
		c.conn = connOpen
		if b.guarded(s) || v.conn == connBox {
			c.conn, c.rank, c.gases, c.outlet = place.conn, place.rank, place.gases, place.outlet
		}
		for _, p := range solids {
			c.put(p)
		}
		if d := b.spentAgent(v, place); d != nil && c != d && !b.isProductName(solidName) {
			// the cake is the drying agent: one leftover, two names
			for _, p := range d.pourOut(1) {
				c.put(p)
			}
			d.gone, c.isDesiccant = true, true
			b.alias[strings.ToLower(d.name)] = c
		}
		bothNamed := solidName != "" && liquidName != "" && liquidName != washName
		if b.isProductName(solidName) || len(c.contents) == 0 && !bothNamed {
			c.product = true
			place.product = false
			for _, p := range slices.Clone(place.contents) {
				if !p.sp.liquid && (p.sp.made || b.isProduct(p.sp)) {
					c.put(place.take(p.sp, p.mmol*0.95))
				}
			}
		}
		for _, p := range place.live() {
			c.put(portion{p.sp, p.mmol * 0.05, p.g * 0.05, 0, p.from, p.maybe})
		}
		if s.Verb.Name == "crystallise" || s.Verb.Name == "precipitate" {
			c.product = true
			b.last = c
			return
		}
		if c.product {
			b.last = c
			return
		}
	}
	for _, t := range s.RinseWith {
		if m := b.material(t.S); m != nil {
			b.pourMaterial(m, m.left, place, s)
		}
	}
	if washName != "" {
		return
	}
	b.last = place
}

// spentAgent is the drying agent that stands in a layer, as a thing of its own.
func (b *Bench) spentAgent(vs ...*vessel) *vessel {
	for _, d := range b.vessels {
		if !d.isDesiccant || d.gone || d.discarded {
			continue
		}
		for _, v := range vs {
			if v != nil && d.origin == v.name && d.origin != "" {
				return d
			}
		}
	}
	return nil
}

// spentCatalyst is a metal complex that stays on Celite or silica.
func (b *Bench) spentCatalyst(sp *species) bool {
	return sp.is("low-valent complex", "precatalyst", "metal powder", "copper salt") && !sp.live && !b.isProduct(sp)
}

func (b *Bench) isProduct(sp *species) bool {
	if b.p.Product == nil {
		return false
	}
	return strings.EqualFold(sp.name, b.p.Product.Name.S) || b.productSp() == sp
}

// productSp is the product as a species, nil when the compendium lacks it.
func (b *Bench) productSp() *species {
	if b.p.Product == nil {
		return nil
	}
	return b.byName[strings.ToLower(b.p.Product.Name.S)]
}

func (b *Bench) isProductName(n string) bool {
	return b.p.Product != nil && strings.EqualFold(n, b.p.Product.Name.S) || has(n, "product", "crude", "crystal")
}

// concentrate takes the solvent off.
func (b *Bench) concentrate(s *procedure.Step, v *vessel) {
	if v == nil {
		return
	}
	f := &HeatingFacts{Verb: "concentrate", Vessel: b.facts(v)}
	b.blankHeating(f, v)
	f.LiveMmol = v.liveMmol()
	f.Bath = b.bathText(s)
	f.WaterBath = f.Bath == "" || has(f.Bath, "water", "steam")
	f.Flame = has(f.Bath, "flame", "burner")
	how := s.By.S + joined(s.In)
	for _, t := range s.In {
		if p := b.pieceNamed(t.S); p != nil {
			p.used = true
			how += " " + p.kind
		}
	}
	if p := b.pieceNamed(s.By.S); p != nil {
		p.used = true
		how += " " + p.kind
	}
	f.Rotary = how == "" || has(how, "rot")
	f.Distillation = has(how, "distil")
	v.tC = b.roomT()
	if s.At != nil && s.At.Known() {
		f.BathC, f.TargetC = Got(s.At.Value()), Got(s.At.Value())
		if bp, ok := v.bubblePoint(Atm); ok {
			f.AboveBoilK = Got(s.At.Value() - bp)
		}
	}
	f.Leave = s.Leave != nil || has(s.Until.S, "mL", "ml", "left", "volume")
	f.Trap = s.Trap.Is() || b.trapC.Known
	f.VolumeOffML = v.volumeNum()
	b.peroxideFacts(f, v)
	f.EvapToDryness = !f.Leave
	b.emit(Event{Kind: "heating", Facts: f, Cause: "concentrate " + v.name})
	wu := &WorkupFacts{Verb: "concentrate", Vessel: f.Vessel, LiveMmol: f.LiveMmol, Live: f.Vessel.Live, TemperatureC: f.TargetC, BoilingC: Missing("the solvent"), GasL: Got(0), FunnelML: Missing("the funnel"), VolumeML: v.volumeNum(), AcidMmol: Got(0), VesselRatio: Missing("the size of the flask")}
	if f.Rotary || v.conn == connOpen {
		b.emit(Event{Kind: "workup", Facts: wu})
	}
	for _, p := range slices.Clone(v.contents) {
		if p.mmol > trace && p.ml > 0 && p.sp.bp.Known && p.sp.bp.V < 10 {
			// a liquefied gas leaves as gas, whatever goes into the receiver
			got := v.take(p.sp, p.mmol)
			b.emit(Event{Kind: "release", Facts: b.release(s, v, p.sp.name, got.mmol, "driven off "+v.name), Cause: "gas from " + v.name})
		}
	}
	off := b.newVessel("solvent from "+v.name, nil)
	if t, ok := s.Gives["distillate"]; ok {
		off.name = t.S
	}
	off.kind, off.class, off.origin = "distillate", "layer", v.name
	off.bulk = true
	for _, p := range slices.Clone(v.contents) {
		if p.sp.liquid && (!p.sp.bp.Known || p.sp.bp.V < 130 && (p.sp.electro == 0 || p.sp.is("halogenated solvent", "ester", "ketone", "nitrile")) || p.sp.family == "water") && !b.isProduct(p.sp) && !p.sp.live {
			off.put(v.take(p.sp, p.mmol))
		}
	}
	if len(off.contents) == 0 {
		off.gone = true
	}
	for _, k := range s.GivesOrder {
		if k == "distillate" {
			continue
		}
		w := b.newVessel(s.Gives[k].S, nil)
		w.kind, w.product = "organic", true
		for _, p := range v.pourOut(1) {
			w.put(p)
		}
		w.conn, w.rank, w.gases = v.conn, v.rank, v.gases
		b.last = w
		return
	}
	if v.kind == "filtrate" || v.kind == "organic" || v.piece != nil {
		v.product = true
	}
	b.last = v
}

// peroxideFacts tells of the peroxide former that needs a word most: one whose
// test found peroxides, else the largest volume without a test, else the
// largest.
func (b *Bench) peroxideFacts(f *HeatingFacts, v *vessel) {
	rank, most := -1, 0.0
	for _, p := range v.contents {
		if p.sp.sub == nil || p.sp.sub.PeroxideClass == nil || p.ml <= 2 {
			continue
		}
		found := b.foundPeroxides(p.sp)
		tested := !found && b.peroxideVouched(p.sp)
		r := 0
		switch {
		case found:
			r = 2
		case !tested:
			r = 1
		}
		if r < rank || r == rank && p.ml <= most {
			continue
		}
		rank, most = r, p.ml
		f.Peroxide, f.PeroxideML, f.Peroxides, f.PeroxideTested = p.sp.name, Got(p.ml), found, tested
		if v.blur != "" {
			f.PeroxideML = Missing(v.blur)
		}
	}
}

// peroxideVouched reports a clean test, a fresh bottle or an inhibitor on a row
// of a peroxide former.
func (b *Bench) peroxideVouched(sp *species) bool {
	for _, m := range b.materials {
		if m.sp != sp && m.solvent != sp {
			continue
		}
		fm := b.materialFacts(m, 1)
		limit := 12.0 // months after opening, class B and C (Cornell, appendix J, after Prudent Practices)
		if fm.PeroxideClass == "A" {
			limit = 3
		}
		old := fm.OpenedMonths.Known && fm.OpenedMonths.V > limit
		if fm.Tested || !old && (fm.Opened || fm.Inhibited) {
			return true
		}
	}
	return false
}

// foundPeroxides reports a test of a used bottle of it that found peroxides.
func (b *Bench) foundPeroxides(sp *species) bool {
	for _, m := range b.materials {
		if m.used && (m.sp == sp || m.solvent == sp) {
			if _, dirty := peroxideTest(m.row.Peroxides.S); dirty {
				return true
			}
		}
	}
	return false
}

// distil distils a solvent before use or a product after.
func (b *Bench) distil(s *procedure.Step) {
	for _, o := range s.Object {
		if m := b.material(o.S); m != nil && b.vesselNamed(o.S) == nil {
			b.dryMaterial(s, m, o.Span)
			v := b.newVessel("still of "+m.name, nil)
			v.bulk = true
			v.kind, v.gone = "still", true
			for _, p := range m.mix {
				v.put(p)
			}
			f := &HeatingFacts{Verb: "distil", Vessel: b.facts(v), Distillation: true}
			b.blankHeating(f, v)
			b.peroxideFacts(f, v)
			f.Leave = s.Leave != nil || has(s.Until.S+s.Note.S, "left", "leave", "dryness", "tenth", "10 %")
			f.EvapToDryness = !f.Leave
			f.Flame = has(b.bathText(s), "flame", "burner")
			b.emit(Event{Kind: "heating", Facts: f, Subject: "distil " + m.name})
			v.contents = nil
			m.degassed = b.guarded(s)
			if m.air = (aeration{}); m.degassed {
				m.air = aeration{gone: 1, why: "distilled under inert gas"}
			}
			continue
		}
		v := b.place(o, false)
		if v == nil {
			b.placeUnknown(o)
			continue
		}
		f := &HeatingFacts{Verb: "distil", Vessel: b.facts(v), Distillation: true}
		b.blankHeating(f, v)
		f.LiveMmol = v.liveMmol()
		f.Bath = b.bathText(s)
		f.Flame = has(f.Bath, "flame", "burner")
		p := Atm
		if s.Pressure != nil && s.Pressure.Known() {
			p = s.Pressure.Value()
		} else if s.Vacuum != nil && s.Vacuum.Known() {
			p = s.Vacuum.Value()
		}
		if p < 900 {
			b.vacuumUsed = true
			b.actAt("vacuum", v.name, s)
		}
		if s.At != nil && s.At.Known() {
			f.TargetC = Got(s.At.Value())
		}
		b.peroxideFacts(f, v)
		f.Leave = s.Leave != nil || has(s.Until.S+s.Note.S, "left", "leave", "dryness")
		f.EvapToDryness = !f.Leave
		b.emit(Event{Kind: "heating", Facts: f})
		v.product = true
		res := procedure.Text{}
		for _, k := range s.GivesOrder {
			if k == "residue" {
				res = s.Gives[k]
				continue
			}
			w := b.newVessel(s.Gives[k].S, nil)
			w.kind = "distillate"
			w.product = k == "" || k == "product" || b.isProductName(s.Gives[k].S)
			for _, q := range v.pourOut(1) {
				w.put(q)
			}
			b.last = w
		}
		if res.Is() {
			w := b.newVessel(res.S, nil)
			w.kind = "organic"
			// what is left behind is the share that the text leaves, a tenth if
			// it names none
			share := 0.1
			if s.Leave != nil && s.Leave.Known() && s.Leave.Dim == quantity.Fraction {
				share = s.Leave.Value()
			}
			if from := b.last; from != nil && from != v {
				for _, q := range from.pourOut(share) {
					w.put(q)
				}
				from.gone = false
			}
			w.product = false
			b.last = v
			for _, x := range b.vessels {
				if x.kind == "distillate" && x.product {
					b.last = x
				}
			}
		}
	}
}
