package bench

import (
	"math"
	"slices"
	"strings"

	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
)

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
	if l != nil && l.ml() == 0 && len(l.portions) > 0 && !l.portions[0].sp.gas && len(s.In) == 0 && (l.m == nil || l.m.row.Solution == nil) {
		return "solid", nil // dissolved in an unstated amount of solvent it is none
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
	f.SizeML.Note = "the size of " + p.name
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
		for _, t := range concat(s.Into, s.In) {
			if w := b.place(t, false); w != nil && dest == nil {
				dest = w // where it goes, before the box it is weighed in
			}
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
	object, solvent := b.move, b.moveWhole
	if b.amountIsSolvent(s) {
		object, solvent = b.moveWhole, b.move
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
		if src := b.place(o, false); b.pouredIntoQuench(s, src, dest) && b.material(o.S) == nil {
			b.pourQuench(s, o, src, dest)
			continue
		}
		object(s, o, dest)
	}
	// a solvent named with "in": benzaldehyde in ether
	if s.Verb.Name == "add" || s.Verb.Name == "charge" || s.Verb.Name == "dissolve" {
		for _, t := range s.In {
			if m := b.material(t.S); m != nil {
				solvent(s, t, dest)
			} else if v := b.place(t, false); v == nil && !has(t.S, "glovebox", "hood", "cupboard", "air", "dark", "cold", "room", "portion", "bath", "ice") {
				b.moveWhole(s, t, dest)
			}
		}
	}
	if s.Verb.Name == "dissolve" {
		for _, t := range s.With {
			solvent(s, t, dest)
		}
		b.dissolved(s, dest)
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
	if m == nil || has(m.row.Role.S, "reagent", "substrate", "solvent") || b.p.Product != nil && sameName(b.p.Product.From.S, m.name) {
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

// amountIsSolvent reports that the amount of a step that puts X into Y is that
// of Y: it says so ("5 mL of ether"), or it is a volume and X, which is
// dissolved, a solid or less than that.
func (b *Bench) amountIsSolvent(s *procedure.Step) bool {
	if !s.Amount.Is() {
		return false
	}
	q := s.Amount.All[0]
	for _, t := range concat(s.In, s.With) {
		m := b.material(t.S)
		if m == nil {
			continue
		}
		if q.Of != "" {
			if n := b.material(q.Of); n == m || sameName(q.Of, t.S) || n == nil && b.lookup(q.Of) == m.sp && m.sp != nil {
				return true
			}
			continue
		}
		if s.Verb.Name != "dissolve" || q.Dim != quantity.Volume || len(s.Amount.All) > 1 {
			continue
		}
		for _, o := range s.Object {
			x := b.material(o.S)
			if x != nil && x.ml.Known && x.ml.V > 0 && q.Known() && q.Total() > 1.1*x.ml.V {
				continue // more than there is of it
			}
			if x == nil || x.sp.liquid || x.solvent != nil || volumeWritten(x.row.Amount) {
				return false
			}
		}
		return true
	}
	return false
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
	for _, t := range concat(s.In, s.With) {
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
	object, solvent := b.move, b.moveWhole
	if b.amountIsSolvent(s) {
		object, solvent = b.moveWhole, b.move
	}
	// to dissolve X in Y is to put X into Y: acid into water
	for _, t := range solvents {
		solvent(s, t, dest)
	}
	for _, o := range moved {
		object(s, o, dest)
	}
	b.dissolved(s, dest)
	b.last = dest
}

// pourMaterial puts a share of a material into a vessel without an event.
func (b *Bench) pourMaterial(m *material, share float64, dest *vessel, s *procedure.Step) {
	b.usedMaterial(m, share)
	for _, p := range m.mix {
		p.sp.in += p.mmol * share
		dest.put(portion{p.sp, p.mmol * share, p.g * share, p.ml * share, m.name, p.maybe})
	}
	dest.traces = append(dest.traces, b.tracesOf(m, share)...)
}

// move is one addition: the event before, the contents after.
func (b *Bench) move(s *procedure.Step, t procedure.Text, dest *vessel) {
	before := b.facts(dest)
	hadVolume, hadLive := dest.volume(), dest.liveEq()
	l := b.fetch(s, t, dest)
	if len(l.portions) == 0 {
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
	b.openedInBox(dest, s)
	b.clashes(s, l, dest)
	b.orders(f, l, dest)

	degassedBefore := dest.degassed || hadVolume == 0
	b.airIn(dest, l)
	kJ, why, unknown := b.dilute(dest, l)
	dest.complexed += b.complexHeat(l.portions) // what comes as a solution gave its heat there
	for _, p := range l.portions {
		if !p.maybe {
			// fresh halide reacts even where the rest of an earlier one stays
			dest.doneHalide = slices.DeleteFunc(dest.doneHalide, func(sp *species) bool { return sp == p.sp })
		}
		dest.put(p)
	}
	if l.blur != "" {
		dest.blur = l.blur
	}
	if !b.dilutesQuench(s, l, dest) {
		dest.traces = append(dest.traces, l.traces...)
	}
	if l.ml() > 0 {
		dest.degassed = degassedBefore && l.degassed
	}
	b.mixTemperature(s, dest, l, hadVolume)
	if dest.piece != nil && (dest.piece.class == "funnel" || dest.piece.class == "syringe") {
		if grown, _ := b.grown(s, l, nil); grown > 1 {
			dest.grows += l.ml() * (grown - 1)
		}
	}
	if dest.piece != nil && dest.piece.class == "syringe" {
		dest.rank = math.Max(dest.rank, 2)
		dest.conn = connGas
		dest.gasName = "nitrogen"
		dest.gasStated, dest.outletSaid, dest.outlet = true, true, "the needle"
		dest.gases = Pure("nitrogen", 1e-4)
	}

	eqPeak := dest.liveEq()
	charge, takes := dest.waterCharge()
	if !l.has(func(sp *species) bool { return sp == charge }) {
		charge = nil
	}
	in := b.comesIn(l, dest)
	b.saponifies(s, l, dest)
	o := b.react(dest)
	b.wentThrough(s, dest, in)
	b.tippedIn(s, l, dest, before, f)
	o.addDilution(kJ, why, unknown)
	b.gasThrough(s, l, dest)
	b.book(dest, o, f, s)
	if eqPeak == 0 && charge != nil {
		b.refreshBudgetOf(dest, s, takes, charge)
	} else {
		b.refreshBudgetWith(dest, s, math.Max(eqPeak, dest.liveEq()))
	}
	if hadLive == 0 && dest.liveEq() > 0 {
		b.noteLive(dest)
	}
	b.fillLimits(f, dest, s)
	if l.from == nil || l.m != nil {
		b.transferEvent(s, l, dest, meth, tool)
	} else if l.has(func(sp *species) bool { return sp.live && sp.pyro() }) {
		b.transferEvent(s, l, dest, meth, tool)
	}
	b.emit(Event{Kind: "addition", Facts: f, Subject: b.join(s.Verb.Name, " ", t.S), Span: t.Span})
	b.releases(s, dest, o, "the addition of "+t.S, f)
	for _, p := range l.portions {
		b.meetHazards(p.sp, p, s)
	}
	if dest.peakFill < valueOf(dest.fill()) {
		dest.peakFill = valueOf(dest.fill())
	}
}

// dilutesQuench reports a solvent that thins what is destroyed next: how dry it is
// does not matter there.
func (b *Bench) dilutesQuench(s *procedure.Step, l *lot, dest *vessel) bool {
	if l.m == nil || l.m.solvent != nil || len(l.traces) == 0 || dest.liveEq() <= 0 {
		return false
	}
	for _, t := range b.p.Steps[s.N:] {
		switch {
		case !namesVessel(t, dest):
		case t.Verb.Name == "quench" || t.Verb.Name == "destroy":
			return true
		case t.Verb.Name != "cool" && t.Verb.Name != "check":
			return false
		}
	}
	return false
}

// gasThrough lets a gas that is passed through and did not react leave.
func (b *Bench) gasThrough(s *procedure.Step, l *lot, dest *vessel) {
	if s.Verb.Name != "pass" {
		return
	}
	if has(s.Outlet.S, "capillary", "needle") {
		dest.conn, dest.outlet, dest.outletSaid, dest.narrow = connGas, s.Outlet.S, true, true
	}
	if s.For == nil && !l.has(func(sp *species) bool { return sp.name == "oxygen" || sp.name == "ozone" || sp.name == "air" }) {
		dest.flow = true // it runs on until a step stops it
	}
	for _, p := range l.portions {
		if !p.sp.gas || p.sp.is("inert gas") {
			continue
		}
		if p.sp.name == "hydrogen" {
			dest.hydrogenated = true
		}
		if q := dest.find(p.sp); q != nil {
			if b.stillWanted(p.sp) && dest.volume() > 0 {
				continue // it stays in the liquid for what is to come
			}
			p.sp.out += dest.take(p.sp, q.mmol).mmol
		}
		name := strings.ToLower(p.sp.name)
		if isToxic(name) || slices.Contains(flammableGases, name) || p.sp.name == "carbon dioxide" {
			r := b.release(s, dest, p.sp.name, 0, "the stream of "+p.sp.name)
			r.Mmol, r.Litres, r.PressureBar = b.ask("how much ", p.sp.name, " passes through"), b.ask("how much ", p.sp.name, " passes through"), b.ask("how much ", p.sp.name, " passes through")
			b.emit(Event{Kind: "release", Facts: r, Cause: b.join("gas from ", dest.name, "")})
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

// transferEvent reports a sensitive liquid being moved by hand.
func (b *Bench) transferEvent(s *procedure.Step, l *lot, dest *vessel, meth string, tool *piece) {
	sp := mainOf(l.portions)
	if !sp.live || sp.need < 2 && !sp.pyro() {
		return
	}
	f := &TransferFacts{Method: meth, Tool: b.placeFacts(tool, dest), VolumeML: Got(l.ml()), ToolFill: Missing("the size of the syringe"), Drawn: Missing("the size of the syringe"), Vessel: b.facts(dest)}
	if l.m != nil {
		f.Material = b.materialFacts(l.m, l.share)
	} else {
		f.Material = b.speciesFacts(sp)
		f.Material.Name = l.name
		f.Material.Mmol, f.Material.VolumeML = Got(l.mmol(sp)), Got(l.ml())
	}
	if l.blur != "" {
		f.VolumeML = Missing(l.blur)
	} else if slices.Contains([]string{"syringe", "cannula", "funnel", "pipette"}, meth) && l.m != nil && (l.m.row.Solution == nil && len(l.portions) == 1 || l.m.row.Solution != nil && l.m.row.Solution.Strength.Word == quantity.Unstated) && !volumeWritten(l.m.row.Amount) && (!sp.liquid || sp.is("organolithium", "organomagnesium", "diorganomagnesium")) {
		// what is drawn up is a solution of which nothing is said
		f.VolumeML = b.ask("the strength and the solvent of ", l.name, "")
	}
	if f.Tool.SizeML.Known && f.VolumeML.Known && meth == "syringe" {
		draws := 1.0
		if s.Repeat != nil && s.Repeat.Known() && s.Repeat.Dim == quantity.Count {
			draws = math.Max(1, s.Repeat.Value())
		}
		if s.Portions != nil && s.Portions.Known() && s.Portions.Dim == quantity.Count {
			draws = math.Max(draws, s.Portions.Value())
		}
		f.Drawn = Got(f.VolumeML.V / draws / f.Tool.SizeML.V)
		f.ToolFill = f.Drawn
		if grown, fromC := b.grown(s, l, tool); grown > 1 {
			f.ToolFill = Num{V: f.Drawn.V * grown, Known: true, Note: grownNote(fromC)}
		}
	}
	solidIn := meth == "solid" && !b.guarded(s) && len(s.Through) == 0 && dest.conn != connTube
	f.OpenAir = (meth == "pour" || meth == "pipette" || solidIn) && dest.conn != connBox
	f.Inert = dest.closed() || b.guarded(s)
	if l.m != nil {
		f.BulkStock = !isTrue(l.m.row.Portioned) && s.DoneBy.S != "stockroom" && s.DoneBy.S != "assistant" && s.DoneBy.S != "instructor" && b.p.Setting == "teaching" && b.p.Section.Students != nil
	}
	b.emit(Event{Kind: "transfer", Facts: f, Subject: b.join(s.Verb.Name, " ", l.name), Step: s.N, Span: s.Head})
	name := meth
	if tool != nil {
		name = tool.name
	}
	b.openTransfers = append(b.openTransfers, &openTransfer{ev: f, film: b.film(f, l, meth), tool: name, step: s.N})
	for _, t := range s.RinseWith {
		if has(t.S, "hexane", "heptane", "toluene", "pentane", "ether", "thf", "tetrahydrofuran") {
			f.Rinsed = true
		}
	}
}

// volumeWritten reports an amount that is given as a volume.
func volumeWritten(a *procedure.Amount) bool {
	return a != nil && slices.ContainsFunc(a.All, func(q quantity.Quantity) bool { return q.Dim == quantity.Volume })
}

func (b *Bench) noteLive(v *vessel) {
	for _, p := range v.live() {
		if !slices.Contains(b.liveUsed, p.sp.name) {
			b.liveUsed = append(b.liveUsed, p.sp.name)
		}
	}
}
