package bench

import (
	"math"
	"slices"
	"strings"

	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
)

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
			if p.class == "line" && (s.Verb.Name == "blanket" || s.Verb.Name == "purge" || s.Verb.Name == "backfill") && sameName(p.name, joinedOne(s.By)) {
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
			before := b.airBefore(w)
			b.underGas(w, gas, supply, s)
			if s.By.Is() && has(s.By.S, "balloon") || has(gas, "balloon") {
				w.conn, w.outlet = connBalloon, "balloon"
			}
			if s.Flow != nil && s.For != nil && s.Flow.Known() && s.For.Known() {
				b.sweepOut(w, s, supply, before)
			} else if w.rank < 3 && !w.cycles.Known && !w.swept {
				w.how = "a slow stream of " + word(w.gasName, "gas")
				w.oxygenAsk = "how much gas sweeps " + w.name + " before the reagent goes in (flow and time, or evacuate–refill cycles)"
			}
		case "purge":
			before := b.airBefore(w)
			b.underGas(w, gas, supply, s)
			b.sweepOut(w, s, supply, before)
			b.sweptThrough(w, s, supply)
			w.supplied = false // swept once; nothing says that the gas stays on
		case "backfill":
			b.backfill(w, gas, supply, s)
		case "evacuate":
			p := Assume(b.pumpMbar(), "pump of the site file")
			if s.Vacuum != nil && s.Vacuum.Known() {
				p = Got(s.Vacuum.Value())
			}
			w.prevOutlet = w.outlet
			w.conn, w.outlet, w.vacuum = connVacuum, "", Got(p.V)
			b.vacuumUsed = true
			b.act("vacuum", w.name)
			if w.rank < 3 {
				w.rank = 3
			}
			b.overVacuum(w, p, s)
			b.pumpedThrough(w, p, s)
			b.pumpOff(s, w)
		case "seal":
			b.seal(w, s)
			b.topOff(w, 0)
		case "open":
			if b.guarded(s) {
				w.how = "opened under a stream of gas"
				continue
			}
			b.openAir(w)
			b.topOff(w, s.N)
		case "vent":
			if denied(s.Outlet.S) {
				w.outlet, w.outletSaid = "", true
				continue
			}
			out := s.Outlet.S
			if out == "" {
				out = joined(s.To) + joined(s.Through) + joined(s.Into)
			}
			w.outlet, w.outletSaid = word(strings.TrimSpace(out), "open"), true
			if w.conn == connSealed {
				w.conn = connGas
			}
		case "scrub":
			sc := &scrubber{what: strings.TrimSpace(joined(s.With)), mmol: Missing("how much absorbent the scrubber holds"), ml: Missing("the volume of the scrubber liquid"), trapML: Missing("the size of the empty trap")}
			if len(s.With) > 0 {
				if m := b.material(s.With[0].S); m != nil {
					sc.with, m.used = m.sp, true
					sc.mmol, sc.ml = m.mmol, m.ml
					for _, p := range m.mix {
						if p.sp.family == "water" && sc.ml.Known && sc.ml.V > 0 {
							sc.wet += p.mmol / sc.ml.V
						}
					}
					if sc.mmol.Known {
						sc.mmol.V *= math.Max(1, m.sp.eq)
					}
				} else {
					sc.with = b.lookup(s.With[0].S)
				}
			}
			sc.suck = has(s.Tip.S, "below", "under", "dip")
			sc.dips = sc.suck
			if trapped, size := b.emptyTrap(s); !trapped {
				sc.trapML = Got(0)
			} else if sc.suck {
				sc.trapML = size
				sc.suck = size.Known && sc.ml.Known && size.V < sc.ml.V
			}
			w.scrub = sc
			w.outletSaid = true
			if w.outlet == "" {
				w.outlet = "scrubber"
			}
		case "introduce":
			shut := w.conn == connSealed && w.gases.O2 > airShutIn
			w.conn, w.rank, w.outlet, w.outletSaid = connBox, 4, "glovebox", true
			w.gasStated = true
			if shut {
				w.sealedAt, w.how, w.oxygenAsk = s.N, "closed with its air before it went into the box", ""
				break
			}
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
			if out := s.Outlet.S + joined(s.With) + joined(s.To) + joined(s.Through); b.trapC.Known && b.trapC.V < airCondenses && !b.guarded(s) && !has(out, "bubbler", "nitrogen", "argon", "line", "gas") {
				b.trapIsolated = false
				b.airOnTrap(s, b.trapVessel()) // air on what stands in the coolant
			}
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

// relieving names what lets the pressure of a supply go: its relief as written,
// or the bubbler that a manifold has by build. Empty when none is written or the
// text says that there is none.
func relieving(p *piece) string {
	switch {
	case p == nil || p.row == nil:
		return ""
	case p.row.Relief.Is():
		return stated(p.row.Relief)
	case relieved(p):
		return "bubbler"
	}
	return ""
}

func joinedOne(t procedure.Text) string { return t.S }

// guarded reports a step that is done against a stream of inert gas or in a
// glovebox.
func (b *Bench) guarded(s *procedure.Step) bool {
	t := joined(s.Under) + " " + s.By.S + " " + s.Note.S
	return has(t, "counter", "nitrogen", "argon", "inert", "stream of", "positive pressure", "glovebox", "flow")
}

// emptyTrap finds the empty trap or safety bottle by which a scrubber is reached,
// with its size where the page lists it.
func (b *Bench) emptyTrap(s *procedure.Step) (found bool, size Num) {
	size = Missing("the size of the empty trap")
	for _, t := range append(slices.Clone(s.Through), s.Trap) {
		text := t.S
		p := b.pieceNamed(t.S)
		if p != nil && p.row != nil {
			text += " " + p.kind + " " + p.row.Note.S + " " + p.row.Fill.S
		}
		if !t.Is() || t != s.Trap && !has(text, "trap", "empty", "safety bottle", "safety flask", "catch pot", "check valve") {
			continue
		}
		found = true
		if p != nil && p.row != nil && p.row.Size != nil && p.row.Size.Known() && p.row.Size.Dim == quantity.Volume {
			size = Got(p.row.Size.Value())
		}
	}
	return found, size
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
	out, reliefs := stated(s.Outlet), relieving(supply)
	if denied(s.Outlet.S) {
		w.outlet, w.outletSaid, w.prevOutlet, reliefs = "", true, "", ""
	}
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
	} else if reliefs != "" {
		w.outlet, w.outletSaid = "the line's "+reliefs, true
	}
	if w.outlet == "drying tube" && was == connTube && out == "" {
		w.outlet = "drying tube"
	}
	if s.Flow != nil && s.Flow.Known() && s.Flow.Dim == quantity.Flow {
		w.flowML = s.Flow.Max()
	}
	w.flow = w.flow || s.Flow != nil || has(s.Rate.S, "stream", "flow")
	if w.outlet == "" && w.prevOutlet != "" {
		w.outlet, w.outletSaid = w.prevOutlet, true
	}
	if w.rank < 3 && !w.swept {
		w.gases = AfterSweep(w.gases, b.supplied(w, supply), 3)
	}
}

// airBefore is what a sweep starts from: the gas that stands there, or air where
// nobody knows how far that was driven out.
func (b *Bench) airBefore(w *vessel) Gases {
	if w.oxygenAsk != "" {
		return b.roomAir()
	}
	return w.gases
}

// sweepOut is a flow for a time: vessel volumes of gas and what they leave of what
// stood there before.
func (b *Bench) sweepOut(w *vessel, s *procedure.Step, supply *piece, before Gases) {
	head := w.headspace()
	w.swept = true
	switch {
	case s.Flow == nil || !s.Flow.Known() || s.Flow.Dim != quantity.Flow:
		w.sweep = b.ask("the flow of gas through ", w.name, "")
	case s.For == nil || !s.For.Known():
		w.sweep = b.ask("how long gas sweeps ", w.name, "")
	case !head.Known:
		w.sweep = Missing(head.Ask())
	default:
		vol := s.Flow.Min() * s.For.Min() / head.V
		w.sweep = Got(vol)
		w.gases = AfterSweep(before, b.supplied(w, supply), vol)
		w.oxygenAsk = ""
		w.how = "a sweep of " + quantity.FormatNumber(vol) + " vessel volumes of " + word(w.gasName, "gas")
		return
	}
	if w.rank < 3 {
		w.oxygenAsk = w.sweep.Ask()
		w.how = "a sweep whose volume is not stated"
	}
}

func (b *Bench) backfill(w *vessel, gas string, supply *piece, s *procedure.Step) {
	b.vacuumUsed, b.inertUsed = true, true
	p := Assume(b.pumpMbar(), "pump of the site file")
	if s.Vacuum != nil {
		switch {
		case s.Vacuum.Known() && s.Vacuum.Word == "":
			p = highest(s.Vacuum)
		case has(s.Vacuum.Word+s.Vacuum.Raw, "aspirator", "house", "water"):
			p = Assume(b.aspiratorMbar(), "aspirator of the site file")
		case s.Vacuum.Known():
			p = Got(s.Vacuum.Value())
		}
	} else if supply != nil && supply.row != nil && supply.row.Vacuum != nil && supply.row.Vacuum.Known() {
		p = Got(supply.row.Vacuum.Value())
	}
	w.vacuum = p
	if p.Known && p.V < 500 {
		b.act("vacuum", w.name)
		b.hazards[len(b.hazards)-1].amount = "evacuated and refilled"
	}
	if supply != nil && supply.row != nil && has(supply.row.Trap.S, "dry ice", "liquid nitrogen", "ln2") {
		b.act("cryogen", supply.row.Trap.S+" of the trap")
	}
	w.conn, w.supply, w.supplied = connGas, supply, true
	b.nameGas(w, gas)
	if s.Outlet.Is() {
		w.outlet, w.outletSaid = stated(s.Outlet), true
	} else if r := relieving(supply); r != "" && (supply.row.Relief.Is() || w.outlet == "") {
		w.outlet, w.outletSaid = "the line's "+r, true
	}
	b.overVacuum(w, p, s)
	if s.Cycles == nil || !s.Cycles.Known() {
		w.cycles = b.ask("the number of evacuate–refill cycles of ", w.name, "")
		w.oxygenAsk = w.cycles.Ask()
		w.rank = 3
		w.how = "evacuate–refill cycles, number not stated"
		b.pumpedThrough(w, p, s)
		return
	}
	n := s.Cycles.Min()
	p = b.pumped(w, s, p, n)
	w.vacuum = p
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
	w.gases = AfterCycles(w.gases, b.supplied(w, supply), p.V, Atm, n)
	b.cyclesOver(w, p.V, b.impurity(supply), n)
	w.oxygenAsk = ""
	w.rank = 3
	w.how = plural(n, "evacuate–refill cycle") + " at " + quantity.Format(p.V, quantity.Pressure)
	b.pumpedThrough(w, p, s)
	if (w.glass == "not stated" || w.glass == "damp") && isTrue(s.Hot) {
		w.glass = "dry"
	}
}

// overVacuum looks at what a pump does to a liquid and to thin glass.
func (b *Bench) overVacuum(w *vessel, p Num, s *procedure.Step) {
	b.pumping(s)
	mbar := p.V
	f := &HeatingFacts{Verb: s.Verb.Name, Vessel: b.facts(w), Bath: "vacuum"}
	b.blankHeating(f, w)
	f.PressureBar = Num{V: mbar / 1000, Known: true, Note: p.Assumed()}
	f.StatedBar = statedBar(s)
	f.PressureSaid = p.Assumed() == ""
	if t, ok := w.bubblePoint(mbar); ok && w.volume() > 0 && !w.frozenHard() && !b.stripsNext(w, s) {
		f.AboveBoilK = Got(w.tC - t)
	}
	f.LiveMmol = w.liveMmol()
	if b.coldTrap() && w.gasName == "argon" {
		f.CondensesGas = "argon"
	}
	b.emit(Event{Kind: "heating", Facts: f})
}

// pumpOff takes a gas that the cold has kept in the liquid out through the
// pump.
func (b *Bench) pumpOff(s *procedure.Step, w *vessel) {
	var o outcome
	for p := range w.each {
		if p.from == "dissolved" && p.sp.gas && p.mmol > trace {
			b.gasOff(&o, p.sp, w.take(p.sp, p.mmol).mmol)
		}
	}
	w.outlet = pumpOutlet
	b.releases(s, w, o, "pumped off "+w.name, nil)
	w.outlet = ""
}

// stripsNext reports that taking the solvent off is the purpose of a vacuum.
func (b *Bench) stripsNext(w *vessel, s *procedure.Step) bool {
	for _, t := range b.p.Steps[s.N:min(len(b.p.Steps), s.N+2)] {
		if t.Verb.Name != "concentrate" && t.Verb.Name != "distil" && t.Verb.Name != "sublime" && t.Verb.Name != "dry" {
			continue
		}
		for _, o := range t.Object {
			if sameName(o.S, w.name) || slices.Contains(vagueNames, strings.ToLower(o.S)) {
				return true
			}
		}
	}
	return false
}

// coldTrap reports a trap cold enough to condense oxygen (90 K) and argon (87
// K), joined to the line.
func (b *Bench) coldTrap() bool { return b.trapC.Known && b.trapC.V < airCondenses && !b.trapIsolated }

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

// airShutIn is the share of oxygen from which what is shut into a vessel is air and
// not gas with a trace of it, boxML the gas of a small glovebox, mL (common practice).
const (
	airShutIn = 1e-3
	boxML     = 1e6
)

// openedInBox lets the air that was shut into a vessel out into the glovebox.
func (b *Bench) openedInBox(w *vessel, s *procedure.Step) {
	if w.conn != connBox || w.gases.O2 <= airShutIn {
		return
	}
	air, ml := w.gases, 0.0
	if h := w.headspace(); h.Known {
		ml = h.V
	}
	b.boxGas(w, s)
	w.sealedAt = 0
	w.gases = w.gases.mix(air, boxML/(boxML+ml))
	w.how = "the glovebox, with the air that was shut into " + w.name + " spread over 1 m³ of it"
}

func (b *Bench) openAir(w *vessel) {
	w.conn, w.rank, w.outlet, w.swept = connOpen, 0, "", false
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
		w.sealedAt, w.sealT = s.N, w.tC
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
	still := b.stillGassing(w, s)
	w.conn, w.outlet, w.outletSaid = connSealed, "", false
	w.sealedAt, w.sealT, w.sealGasMmol = s.N, w.tC, still
	if still > 0 {
		b.closure(w, "gas", s)
		return
	}
	if s.For != nil && s.For.Known() {
		b.closure(w, "stored", s)
	}
	if w.restRise >= 10 {
		// closed while what was just mixed still warms itself
		cold := w.tC
		w.tC += w.restRise
		b.closure(w, "heated", s)
		w.tC = cold
	}
	for _, p := range w.contents {
		if (p.sp.gas || p.sp.is("cryogen")) && !b.ventedNext(w, s) {
			b.closure(w, "cold then warmed", s)
			return
		}
	}
	if w.tC < b.roomT()-5 && w.filledBy(b.roomT()) && !b.ventedNext(w, s) {
		b.closure(w, "cold then warmed", s) // whatever the text does with it next, the room warms it
	}
}

// stillGassing gives the gas of the step just before, mmol, when that step says
// neither how long it is waited nor a sign that the gas has stopped: the bench
// lets all of it go at once, the flask does not.
func (b *Bench) stillGassing(w *vessel, s *procedure.Step) float64 {
	if s.N < 2 || w.gasStep != s.N-1 {
		return 0
	}
	last := b.p.Steps[s.N-2]
	if last.Until.Is() || len(last.Signs) > 0 || last.For != nil || last.HoldFor != nil || last.Over != nil && last.Over.Known() && last.Over.Value() >= 5 {
		return 0
	}
	return w.gasMmol
}

// closure reports a vessel with no way out, with the pressure it would reach.
func (b *Bench) closure(w *vessel, why string, s *procedure.Step) {
	f := &ClosureFacts{Vessel: b.facts(w), Why: why, RatedBar: b.ask("the pressure rating of ", w.name, ""), TemperatureC: Num{V: w.tC, Known: true}, GasL: Got(GasLitres(w.sealGasMmol)), Hours: Missing("how long it stays closed"), PressureBar: b.ask("the size of ", w.name, ""),
		ClosedC: Got(w.sealT), ClosedFill: w.fillAt(w.sealT), LiquidFill: b.ask("the size of ", w.name, ""), FullC: Missing("the temperature at which the liquid fills it")}
	if w.piece != nil && w.piece.row != nil && w.piece.row.Rated != nil && w.piece.row.Rated.Known() {
		f.RatedBar = Got(w.piece.row.Rated.Value() / 1000)
	}
	if m := minutes(s); m.Known {
		f.Hours = Got(m.V / 60)
	}
	f.Supply = w.supply != nil
	f.Relief = relieving(w.supply) != ""
	t := w.tC
	if why == "cold then warmed" {
		t = math.Max(t, b.roomT())
	}
	if f.LiquidFill = w.fillAt(t); f.LiquidFill.Known && f.LiquidFill.V > 1 && f.ClosedFill.V < 1 {
		f.FullC = Got(w.fullAt(w.sealT, t))
	}
	if h, h0 := w.headspaceAt(t), w.headspaceAt(w.sealT); h.Known {
		gas := w.sealGasMmol
		for _, p := range w.contents {
			if p.sp.gas || p.sp.is("cryogen") {
				gas += math.Min(p.mmol, p.sp.gasAbove(h.V, t))
			}
		}
		f.TemperatureC = Got(t)
		f.PressureBar = Num{V: ShrunkPressureBar(h0.V, h.V, w.sealT, t, gas, w.vapourOf(w.sealT, false), w.vapourOf(t, false)) + w.squeezedBar(t), Known: true, Note: h.Assumed()}
	}
	b.emit(Event{Kind: "closure", Facts: f, Cause: b.join("closed ", w.name, "")})
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

// airCondenses is where oxygen condenses at the pressure of the room, °C (90.2 K,
// CRC Handbook); argon does so 3 K lower.
const airCondenses = -183

// coolantOf reads the temperature of a trap in its coolant, °C; a slush of liquid
// nitrogen and a solvent is warmer than the air condenses.
func coolantOf(text string) (float64, bool) {
	switch {
	case has(text, "liquid nitrogen", "ln2", "liquid n2", "n2(l)", "liquid-nitrogen", "liq. nitrogen", "liq. n2"):
		if has(text, "slush", "ethanol", "pentane", "hexane", "acetone", "toluene", "acetate") {
			return -84, true // the warmest of them, with ethyl acetate; pentane −130
		}
		return -196, true
	case has(text, "dry ice", "cardice", "solid carbon dioxide"):
		return -78, true
	case has(text, "ice"):
		return 0, true
	}
	return 0, false
}

func (b *Bench) trapStep(s *procedure.Step) {
	t, ok := coolantOf(joined(s.With) + s.Bath.S)
	for _, o := range concat(s.Object, s.On, s.In) {
		if p := b.pieceNamed(o.S); p != nil {
			p.used = true
			if p.class == "trap" && !ok && p.row != nil {
				t, ok = coolantOf(p.row.Fill.S)
			}
		}
	}
	if ok && b.trapCools(s, t) {
		v := b.trapVessel()
		f := &HeatingFacts{Verb: "cool", Vessel: b.facts(v), Bath: "liquid nitrogen"}
		b.blankHeating(f, v)
		f.CondensesGas, f.Trap = "oxygen", true
		b.emit(Event{Kind: "heating", Facts: f})
	}
}

// trapVessel is the trap of the list as a vessel; nil when none is listed.
func (b *Bench) trapVessel() *vessel {
	for _, p := range b.pieces {
		if p.class == "trap" && p.vessel != nil {
			return p.vessel
		}
	}
	for _, v := range b.vessels {
		return v
	}
	return b.newVessel("trap", nil)
}

// trapCools brings the trap on the line to a temperature, °C, and reports one that
// goes into liquid nitrogen full of air: before the pump, which the text starts
// later, draws on it.
func (b *Bench) trapCools(s *procedure.Step, t float64) bool {
	b.trapC = Got(t)
	b.trapIsolated, b.trapVented, b.trapFilled = false, false, true
	if t < -100 {
		b.cryogenUsed = true
		b.act("cryogen", "liquid nitrogen")
	}
	return t < airCondenses && !b.pumpOn && slices.ContainsFunc(b.p.Steps[s.N:], func(t *procedure.Step) bool {
		return t.Verb.Name == "start" && has(joined(t.Object), "pump")
	})
}

// pumping notes that a pump draws on the line: the trap that the list fills with a
// coolant, or that the step names with one, stands in it by then.
func (b *Bench) pumping(s *procedure.Step) {
	b.pumpOn = true
	if t, ok := coolantOf(s.Trap.S); ok {
		b.trapCools(s, t)
		return
	}
	if b.trapFilled {
		return
	}
	for _, p := range b.pieces {
		if p.class == "trap" && p.row != nil {
			if t, ok := coolantOf(p.row.Fill.S); ok {
				b.trapCools(s, t)
				p.used = true
			}
		}
	}
}

func (b *Bench) degas(s *procedure.Step) {
	for _, o := range s.Object {
		if m := b.material(o.S); m != nil {
			m.used = true
			m.air = b.deaerate(s, m.name, m.mix, nil, m.airOf())
			b.airLeft(m.air, m.mix, b.roomT())
			m.degassed = m.air.freed()
			continue
		}
		if v := b.place(o, false); v != nil {
			v.air = b.deaerate(s, v.name, v.contents, v, v.air)
			b.airLeft(v.air, v.contents, v.tC)
			v.degassed = v.air.freed()
			for _, p := range v.contents {
				if m := b.material(p.from); m != nil && v.degassed {
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
		cold := "liquid nitrogen"
		if has(b.bathText(s), "dry ice", "co2") {
			cold = "dry ice"
		}
		b.act("cryogen", cold)
	}
}

// ventedNext reports that the next step that names a vessel lets its gas out, or
// that it is kept cold until then.
func (b *Bench) ventedNext(w *vessel, s *procedure.Step) bool {
	if s.For != nil {
		return false
	}
	for _, next := range b.p.Steps[s.N:] {
		if !slices.ContainsFunc(concat(next.Object, next.To, next.In), func(t procedure.Text) bool { return sameName(t.S, w.name) }) {
			continue
		}
		if next.If.Is() {
			return false
		}
		switch next.Verb.Name {
		case "vent", "open", "blanket":
			return !denied(next.Outlet.S)
		case "stir", "stand", "cool":
			if w.tC < -20 || next.At != nil && next.At.Known() && next.At.Value() < -20 || next.Verb.Name == "cool" {
				continue
			}
		}
		return false
	}
	return false
}

// supplied is the gas that a supply gives a vessel: its purity taken as air, and
// the water that its row states (water: 50 ppm) or that a wash bottle or trap of
// water in it leaves, saturated at the room's temperature.
func (b *Bench) supplied(w *vessel, supply *piece) Gases {
	g := Pure(w.gasName, b.impurity(supply))
	if supply == nil || supply.row == nil {
		return g
	}
	switch r := supply.row; {
	case r.Water != nil && r.Water.Known():
		g.H2O = r.Water.Max()
	case has(r.Note.S+" "+r.Fill.S, "wet", "moist", "over water", "through water"):
		g.H2O = SaturationMbar(b.roomT()) / Atm
	}
	return g
}
