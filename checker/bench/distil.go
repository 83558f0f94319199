package bench

import (
	"math"
	"slices"
	"strings"

	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
)

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
	w.comesFrom(v)
	for p := range v.each {
		solid := p.sp.sub != nil && p.sp.sub.Phase == "solid"
		if (p.sp.liquid || b.isProduct(p.sp) && !solid) && !p.sp.strongAcid() {
			w.put(v.take(p.sp, p.mmol))
		}
	}
	w.product = !v.hasProduct(b)
	v.product = v.hasProduct(b)
	if residue != "" {
		r := b.newVessel(residue, nil)
		r.comesFrom(v)
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
	f.StatedBar = statedBar(s)
	if f.Rotary && !f.Distillation && s.At != nil && s.At.Known() {
		f.BathLowC, f.BathHighC = Got(20), Got(100) // water; a bath of oil goes to 180 °C (makers' data)
		if has(f.Bath, "oil") {
			f.BathHighC = Got(180)
		}
		f.Bath = word(f.Bath, "the bath of the rotary evaporator")
		f.Reachable = s.At.Value() <= f.BathHighC.V
	}
	v.tC = b.roomT()
	if s.At != nil && s.At.Known() {
		f.BathC, f.TargetC = Got(s.At.Value()), Got(s.At.Value())
		if bp, ok := v.bubblePoint(Atm); ok {
			f.AboveBoilK = Got(s.At.Value() - bp)
		}
	}
	f.Leave = s.Leave != nil || has(s.Until.S, "mL", "ml", "left", "volume")
	if v.conn != connOpen && !f.Rotary && !f.Distillation {
		b.pumping(s)
		if b.coldTrap() && v.gasName == "argon" && v.conn != connVacuum {
			f.CondensesGas = "argon"
		}
	}
	f.Trap = s.Trap.Is() || b.trapC.Known
	f.VolumeOffML = v.volumeNum()
	left := leftOf(s, v.volume())
	if f.VolumeOffML.Known {
		f.VolumeOffML.V = math.Max(0, f.VolumeOffML.V-left)
	}
	b.peroxideFacts(f, v)
	f.EvapToDryness = !f.Leave
	f.Hot = b.hottest(v, v.tC, boilingFree)
	b.emit(Event{Kind: "heating", Facts: f, Cause: b.join("concentrate ", v.name, "")})
	wu := &WorkupFacts{Verb: "concentrate", Vessel: f.Vessel, LiveMmol: f.LiveMmol, Live: f.Vessel.Live, TemperatureC: f.TargetC, BoilingC: Missing("the solvent"), GasL: Got(0), FunnelML: Missing("the funnel"), FunnelFill: Missing("the funnel"), VolumeML: v.volumeNum(), AcidMmol: Got(0), VesselRatio: Missing("the size of the flask")}
	if f.Rotary || v.conn == connOpen {
		b.emit(Event{Kind: "workup", Facts: wu})
	}
	for p := range v.each {
		if p.mmol > trace && p.ml > 0 && p.sp.bp.Known && p.sp.bp.V < 10 {
			// a liquefied gas leaves as gas, whatever goes into the receiver
			got := v.take(p.sp, p.mmol)
			p.sp.out += got.mmol
			b.emit(Event{Kind: "release", Facts: b.release(s, v, p.sp.name, got.mmol, "driven off "+v.name), Cause: b.join("gas from ", v.name, "")})
		}
	}
	off := b.newVessel("solvent from "+v.name, nil)
	if t, ok := s.Gives["distillate"]; ok {
		off.name = t.S
	}
	off.kind, off.class, off.origin = "distillate", "layer", v.name
	off.comesFrom(v)
	off.bulk = true
	for p := range v.each {
		if p.sp.liquid && (!p.sp.bp.Known || p.sp.bp.V < 130 && (p.sp.electro == 0 || p.sp.is("halogenated solvent", "ester", "ketone", "nitrile")) || p.sp.family == "water") && !b.isProduct(p.sp) && !p.sp.live {
			off.put(v.take(p.sp, p.mmol))
		}
	}
	if back := left - v.volume(); back > 0.05 && off.volume() > 0 {
		for _, p := range off.pourOut(math.Min(1, back/off.volume())) {
			v.put(p)
		}
	}
	if len(off.contents) == 0 {
		off.gone = true
	}
	b.caught(s, off)
	if t := b.pieceNamed(s.Trap.S); t != nil && !f.Rotary && s.Gives["distillate"].S == "" {
		t.used = true
		if b.condensed == nil {
			b.condensed = map[*piece]*vessel{}
		}
		b.condensed[t] = off // it is in the trap, and goes by its name
	}
	for _, k := range s.GivesOrder {
		if k == "distillate" {
			continue
		}
		w := b.newVessel(s.Gives[k].S, nil)
		w.comesFrom(v)
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

// leftOf is the volume, mL, that a text leaves of a liquid that is taken off: as a
// volume or a share, or in the words of its end, “until about 5 mL are left”.
func leftOf(s *procedure.Step, ml float64) float64 {
	of := func(q quantity.Quantity) float64 {
		switch {
		case !q.Known():
		case q.Dim == quantity.Volume:
			return math.Min(ml, q.Value())
		case q.Dim == quantity.Fraction:
			return ml * math.Min(1, q.Value())
		}
		return 0
	}
	if s.Leave != nil {
		return of(s.Leave.Quantity)
	}
	words := strings.Fields(strings.ToLower(s.Until.S))
	if !has(s.Until.S, "left", "remain", "volume", " to ", "about") || saysDry(s.Until.S) || has(s.Until.S, "collected", "come over", "distilled", "taken off") {
		return 0
	}
	for i, w := range words {
		if w = strings.Trim(w, ".,;"); i > 0 && (w == "ml" || w == "%") {
			if q, err := quantity.Parse(words[i-1] + " " + strings.Replace(w, "ml", "mL", 1)); err == nil {
				return of(q)
			}
		}
	}
	return 0
}

// caughtShare is what an evaporator's condenser lets through to its trap, taken
// at a tenth (common practice: a trap is emptied because something is in it).
const caughtShare = 0.1

// caught notes what a cold trap named by the step holds of what water attacks. It
// is met when the trap is rinsed; the ledger of the distillate stays as it is.
func (b *Bench) caught(s *procedure.Step, off *vessel) {
	p := b.pieceNamed(s.Trap.S)
	if p == nil || p.row == nil {
		return
	}
	p.used = true
	for _, q := range off.contents {
		if q.mmol > 10*trace && (q.sp.live || q.sp.attacked.water == "violent" || q.sp.active == "acyl") {
			q.mmol, q.g, q.ml = q.mmol*caughtShare, q.g*caughtShare, q.ml*caughtShare
			if b.trapped == nil {
				b.trapped = map[*piece][]portion{}
			}
			b.trapped[p] = append(b.trapped[p], q)
		}
	}
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
		found := b.foundPeroxides(p)
		tested, note := b.peroxideVouched(p)
		tested = tested && !found
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
		f.Peroxide, f.PeroxideML, f.Peroxides, f.PeroxideTested, f.PeroxideNote = p.sp.name, Got(p.ml), found, tested, note
		f.PeroxideRow = b.rowOf(p.sp)
		if rows := b.rowsOf(p); len(rows) == 1 {
			f.PeroxideRow, f.PeroxideSolution = rows[0].name, rows[0].sp != p.sp // the ether of a reagent's solution is not that of the bottle
		}
		if v.blur != "" {
			f.PeroxideML = Missing(v.blur)
		}
	}
}

// rowsOf are the rows that a portion may have come from: the one it names, else
// all of its species.
func (b *Bench) rowsOf(p portion) (rows []*material) {
	for _, m := range b.materials {
		if m.sp != p.sp && m.solvent != p.sp {
			continue
		}
		if m.name == p.from {
			return []*material{m}
		}
		rows = append(rows, m)
	}
	return rows
}

// rowOf names the row of the table that a species comes from, a used one first.
func (b *Bench) rowOf(sp *species) string {
	row := ""
	for _, m := range b.materials {
		if m.sp == sp && (row == "" || m.used) {
			row = m.name
		}
	}
	return word(row, sp.name)
}

// peroxideVouched reports a row of a peroxide former with a clean test, with
// an age below its limit, with an inhibitor and no age at all, or one that this
// text took through a still or a column, which hold peroxides back; else why
// what is written does not vouch for it.
func (b *Bench) peroxideVouched(p portion) (ok bool, note string) {
	for _, m := range b.rowsOf(p) {
		if m.purified {
			return true, ""
		}
		f := b.materialFacts(m, 1)
		young := f.OpenedMonths.Known && (!f.KeepMonths.Known || f.OpenedMonths.V <= f.KeepMonths.V)
		if f.Tested || young || f.Inhibited && !f.ShelfWritten {
			return true, ""
		}
		switch {
		case f.TestNote != "":
			note = f.TestNote
		case f.OpenedMonths.Known:
			note = "it has stood for " + quantity.FormatNumber(math.Round(f.OpenedMonths.V)) + " months, and " + quantity.FormatNumber(f.KeepMonths.V) + " are the limit"
		case f.ShelfWritten:
			note = "wanted: " + f.OpenedMonths.Ask()
		}
	}
	return false, note
}

// foundPeroxides reports a test of a used bottle of it that found peroxides.
func (b *Bench) foundPeroxides(p portion) bool {
	for _, m := range b.rowsOf(p) {
		if m.used && m.shelf.dirty {
			return true
		}
	}
	return false
}

// leaves tells what a distillation leaves in the pot: a share that is written,
// or nothing, said so or not. What is said to go dry leaves nothing, whatever
// else stands there.
func (b *Bench) leaves(f *HeatingFacts, s *procedure.Step) {
	text := s.Until.S + "; " + s.Note.S
	f.DrynessSaid = saysDry(text) || s.Leave != nil && s.Leave.Known() && s.Leave.Max() <= 0
	f.Leave = !f.DrynessSaid && (s.Leave != nil || has(text, "left", "leave", "dryness", "tenth", "10 %"))
	f.EvapToDryness = !f.Leave
}

// saysDry reports a text that takes a pot to the end: “to dryness”, “until the
// pot is dry”. “Never to dryness” and “before it runs dry” leave something.
func saysDry(s string) bool {
	l := strings.ToLower(s)
	for _, w := range []string{"dryness", "is dry", "runs dry", "goes dry", "pot dry", "flask dry", "boils dry", "nothing is left", "nothing left", "nothing remains", "pot is empty", "flask is empty", "last drop"} {
		for from := 0; ; {
			i := strings.Index(l[from:], w)
			if i < 0 {
				break
			}
			i += from
			from = i + len(w)
			clause := l[:i]
			if j := strings.LastIndexAny(clause, ".;,"); j >= 0 {
				clause = clause[j+1:]
			}
			if !has(clause, "not ", "never", "n't", "before", "short of", "without", "avoid", "rather than", "no further", "distillate", "solvent") {
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
			v := b.newVessel("still of "+m.name, nil)
			v.bulk = true
			v.kind, v.gone = "still", true
			for _, p := range m.mix {
				v.put(p)
			}
			f := &HeatingFacts{Verb: "distil", Vessel: b.facts(v), Distillation: true}
			b.blankHeating(f, v)
			b.peroxideFacts(f, v) // as it goes into the still
			b.dryMaterial(s, m, o.Span)
			b.leaves(f, s)
			f.Flame = has(b.bathText(s), "flame", "burner")
			b.emit(Event{Kind: "heating", Facts: f, Subject: b.join("distil ", m.name, "")})
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
		f.StatedBar = statedBar(s)
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
		boils := v.tC
		if bp, ok := v.bubblePoint(Atm); ok {
			boils = bp
		}
		f.Hot = b.hottest(v, boils, distilFree)
		b.leaves(f, s)
		if f.PeroxideML.Known {
			b.stillML = math.Max(b.stillML, f.PeroxideML.V)
		}
		b.emit(Event{Kind: "heating", Facts: f})
		v.product = true
		b.fractions(s, v)
	}
}

// fractions parts what a still holds: what is volatile goes over, and metals,
// salts and other solids stay in the pot with the share of liquid that the text
// leaves, a tenth if it names a residue and no share. Where no residue is named
// only what is still live stays.
func (b *Bench) fractions(s *procedure.Step, v *vessel) {
	res, named := s.Gives["residue"]
	share := 0.0
	if named {
		share = 0.1
	}
	if l := s.Leave; l != nil && l.Known() {
		switch {
		case l.Dim == quantity.Fraction:
			share = l.Value()
		case l.Dim == quantity.Volume && v.volume() > 0:
			share = math.Min(1, l.Value()/v.volume())
		}
	}
	var stays []portion
	if slices.ContainsFunc(v.contents, func(p portion) bool { return p.sp.liquid || b.isProduct(p.sp) }) {
		for p := range v.each {
			solid := !p.sp.liquid && !p.sp.gas && !b.isProduct(p.sp)
			if solid && (named || p.sp.live) {
				stays = append(stays, v.take(p.sp, p.mmol))
			}
		}
	}
	for _, k := range s.GivesOrder {
		if k == "residue" {
			continue
		}
		w := b.newVessel(s.Gives[k].S, nil)
		w.comesFrom(v)
		w.kind = "distillate"
		w.product = k == "" || k == "product" || b.isProductName(s.Gives[k].S)
		if b.guarded(s) || v.conn == connGas {
			// what is distilled under gas is collected under it
			w.conn, w.rank, w.outlet, w.gases = connGas, 2, "as written", v.gases
			w.gasName, w.gasStated, w.outletSaid = v.gasName, v.gasStated, v.outletSaid
		}
		for _, t := range s.Into {
			if r := b.vesselNamed(t.S); r != nil && r.piece != nil {
				w.size = r.size
			}
		}
		for _, q := range v.pourOut(1) {
			w.put(q)
		}
		b.last = w
	}
	var left []portion
	if from := b.last; share > 0 && from != nil && from != v {
		left = from.pourOut(share)
		from.gone = false
	}
	if !named {
		for _, q := range append(stays, left...) {
			v.put(q)
		}
		return
	}
	w := v
	if v.piece == nil {
		w = b.newVessel(res.S, nil)
		w.comesFrom(v)
		w.kind = "organic"
	} else {
		b.alias[strings.ToLower(res.S)] = v // it stays in the pot
	}
	for _, q := range append(stays, left...) {
		w.put(q)
	}
	w.product = false
	b.last = v
	for _, x := range b.vessels {
		if x.kind == "distillate" && x.product {
			b.last = x
		}
	}
}
