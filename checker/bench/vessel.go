package bench

import (
	"math"
	"slices"
	"strings"

	"ketyl/checker/finding"
	"ketyl/checker/procedure"
)

// trace is the amount below which nothing is counted as present, mmol.
const trace = 1e-6

// portion is a share of a vessel's contents.
type portion struct {
	sp   *species
	mmol float64
	g    float64
	ml   float64 // liquid volume it adds
	from string  // material or reaction it came from
	// maybe marks what may still be there: unreacted starting material that
	// stays behind because no conversion was stated.
	maybe bool
}

// need is the barrier that the species of a portion needs, 0 for no portion.
func (p portion) need() float64 {
	if p.sp == nil {
		return 0
	}
	return p.sp.need
}

// waterSource is water that came in as a trace, with where from.
type waterSource struct {
	kind    string // solvent | glass | solid | air | gas
	name    string
	mmol    float64
	ppm     float64
	grade   string
	ml      float64
	rho     float64
	assumed string
	workup  bool
}

// budget follows the water that one live charge meets in one vessel.
type budget struct {
	step    int
	span    finding.Span
	subject string
	reagent *species
	eq      float64 // equivalents that entered, mmol
	sources []waterSource
	unknown string // question, when a source's water is not known
	excess  Num
	vessel  *VesselFacts
}

// connection says how a head space stands to the room.
type connection string

const (
	connOpen    connection = "open"
	connTube    connection = "drying tube"
	connGas     connection = "inert gas"
	connBalloon connection = "balloon"
	connSealed  connection = "sealed"
	connVacuum  connection = "vacuum"
	connBox     connection = "glovebox"
)

// vessel is one place that holds something: a flask, a funnel, a layer.
type vessel struct {
	name  string
	piece *piece // nil for a layer or another product of a step
	kind  string
	class string // vessel | funnel | syringe | layer | solid | bottle
	size  Num

	contents        []portion
	gone, discarded bool       // emptied or used up; put into a container
	mlBefore        float64    // liquid in it before the step
	had             []*species // all that it ever held
	parents         []*vessel  // what its contents came from
	held            held
	asked           asks
	shot            *VesselFacts           // its latest picture
	aliquot         bool                   // a sample, spent to be looked at: air and water may have it
	wasOpen         bool                   // before the step that is played
	ranges          func(from string) ends // of the rows that are in it; nil for a vessel of thought
	blur            string                 // question when an unknown amount went in

	tC     float64
	tKnown bool

	conn         connection
	gases        Gases
	gasName      string
	gasStated    bool
	outlet       string
	outletSaid   bool
	rank         float64
	cycles       Num
	vacuum       Num
	sweep        Num
	tubeFill     string
	how          string  // how the head space came to be as it is
	flow         bool    // a flow of gas is stated
	hydrogenated bool    // hydrogen was led over what it holds
	gasStep      int     // last step at which gas left it
	gasMmol      float64 // how much left then
	narrow       bool    // the only outlet is a needle or capillary
	scrub        *scrubber
	supply       *piece

	glass     string // not stated | dry | damp | wet
	glassStep int
	hotDry    bool   // hot from the oven, not yet cooled
	rinsed    string // flammable liquid last rinsed with
	traces    []waterSource
	budget    *budget
	degassed  bool // every liquid in it was degassed
	air       aeration
	seen      picture

	condenser, coolant, airCondenser, probe bool
	refluxed, willReflux                    bool
	oxygenAsk                               string // question, when the oxygen in the head space is not known
	workupDried                             bool
	swapped                                 int  // step in which a fitting was changed in the open
	filmed                                  bool // a tool's film was rinsed into it
	bathC                                   Num  // of the bath it stands in, °C; unknown in the air
	adrift                                  bool // hot, with its bath taken away: it cools in the air
	precip, bulk, heated                    bool
	endSeen, madeOpen                       bool
	supplied                                bool    // gas stays on from a line
	flowML                                  float64 // its stream as written, mL/min
	shares                                  bool    // a closed funnel that has the gas of the vessel below it
	swept                                   bool    // a sweep or cycles came before
	prevOutlet                              string  // outlet before a vacuum
	bench                                   bool    // stands in the open on purpose: a heap of ice, a beaker
	largestRise                             float64
	restRise                                float64 // K that what went in since the last rest or cooling can still give
	boils                                   struct {
		mbar float64
		key  [2]float64
		tC   float64
		ok   bool
	}

	initiated   bool
	halideIn    float64
	peakFill    float64
	peakML      float64 // most liquid it ever held
	grows       float64 // mL that what was measured into it cold gains up to 20 °C
	peakBlur    bool    // that is not known
	origin      string  // the vessel it was separated from
	product     bool    // carries the product
	absorbs     float64 // caustic that something is being poured into, mmol
	stored      bool
	isDesiccant bool
	sealedAt    int
	sealT       float64
	sealGasMmol float64
	quenched    bool
	quenchStep  int     // step that quenches it
	complexed   float64 // heat that Lewis acids in it have given with donors, kJ
	oxygenSpent float64 // oxygen of the head space that live matter has taken, mmol
	oxygenSeen  float64 // share of oxygen when it was last looked at
	gathered    string  // what lies under cold water and has not reacted
	quenchMet   float64 // equivalents that the first quench met, mmol
	maxNeed     float64
	cleanedHot  bool
	unproved    unproved
	metWater    bool // a layer parted from water
	// uncountedMet is what met its partners here in an amount nobody can count
	uncountedMet []*species
	doneHalide   []*species // halide whose reaction with the metal is over; what is left stays
}

// unproved is a reagent that by the equations is spent while nothing in the
// text shows it: a metal in lumps, a hydride after a mild quench.
type unproved struct {
	name  string
	mmol  float64
	metal bool // only a sign settles it, not a wait
}

type scrubber struct {
	with   *species
	mmol   Num
	ml     Num
	trapML Num // of the empty trap before it
	suck   bool
	dips   bool // its tip stands below the liquid
	what   string
	wet    float64 // water in a mL of the liquid, mmol
}

func (v *vessel) find(sp *species) *portion {
	for i := range v.contents {
		if v.contents[i].sp == sp {
			return &v.contents[i]
		}
	}
	return nil
}

// put adds a portion, merging with what is already there of the species.
func (v *vessel) put(p portion) {
	if p.sp == nil || p.mmol <= 0 && p.g <= 0 && p.ml <= 0 {
		return
	}
	v.gone = false
	if q := v.find(p.sp); q != nil {
		q.mmol += p.mmol
		q.g += p.g
		q.ml += p.ml
		q.maybe = q.maybe && p.maybe
		return
	}
	if v.contents == nil {
		v.contents = make([]portion, 0, 4)
	}
	v.contents = append(v.contents, p)
	if !slices.Contains(v.had, p.sp) {
		v.had = append(v.had, p.sp)
	}
	v.maxNeed = math.Max(v.maxNeed, p.sp.need)
}

// take removes mmol of a species and returns what was taken.
func (v *vessel) take(sp *species, mmol float64) portion {
	for i := range v.contents {
		q := &v.contents[i]
		if q.sp != sp {
			continue
		}
		share := 1.0
		if q.mmol > 0 {
			share = math.Min(1, mmol/q.mmol)
		}
		out := portion{sp: sp, mmol: q.mmol * share, g: q.g * share, ml: q.ml * share, from: q.from, maybe: q.maybe}
		q.mmol -= out.mmol
		q.g -= out.g
		q.ml -= out.ml
		if q.mmol <= trace {
			// what is too little to count goes along
			out.mmol, out.g, out.ml = out.mmol+q.mmol, out.g+q.g, out.ml+q.ml
			v.contents = slices.Delete(v.contents, i, i+1)
		}
		return out
	}
	return portion{}
}

// pourOut takes a share of everything.
func (v *vessel) pourOut(share float64) []portion {
	share = math.Max(0, math.Min(1, share))
	out := make([]portion, 0, len(v.contents))
	v.grows -= v.grows * share
	for i := range v.contents {
		q := &v.contents[i]
		out = append(out, portion{q.sp, q.mmol * share, q.g * share, q.ml * share, q.from, q.maybe})
		q.mmol -= q.mmol * share
		q.g -= q.g * share
		q.ml -= q.ml * share
	}
	if share >= 1 {
		v.contents = nil
		v.gone = true
	}
	return out
}

// each yields what the vessel holds now, whatever is put in or taken out
// meanwhile.
func (v *vessel) each(yield func(portion) bool) {
	var few [24]portion
	for _, p := range append(few[:0], v.contents...) {
		if !yield(p) {
			return
		}
	}
}

func (v *vessel) volume() float64 {
	var ml float64
	for _, p := range v.contents {
		ml += p.ml
	}
	return ml
}

// heatCapacity is J/K of all it holds: mass times specific heat.
func (v *vessel) heatCapacity() float64 {
	var c float64
	for _, p := range v.contents {
		c += p.g * p.sp.cp
	}
	return c
}

func (v *vessel) headspace() Num {
	if !v.size.Known {
		return Missing(v.size.Ask())
	}
	return Num{V: math.Max(v.size.V-v.volume(), 0.02*v.size.V), Known: true, Note: v.size.Assumed()}
}

// headMbar is the pressure of the gas over what a vessel holds, mbar: that of the
// pump while it draws, else 1 atm.
func (v *vessel) headMbar() float64 {
	if v.conn == connVacuum && v.vacuum.Known {
		return v.vacuum.V
	}
	return Atm
}

func (v *vessel) volumeNum() Num {
	if v.blur != "" {
		return Missing(v.blur)
	}
	return Got(v.volume())
}

func (v *vessel) fill() Num {
	if v.blur != "" {
		return Missing(v.blur)
	}
	if !v.size.Known {
		if v.volume() == 0 {
			return Got(0)
		}
		return Missing(v.size.Ask())
	}
	ml, raw := v.spareML()
	why := v.size.Assumed()
	if ml > 0 {
		why = word(why, "the upper end of "+raw)
	}
	return Num{V: (v.volume() + ml) / v.size.V, Known: true, Note: why}
}

// live lists the live species, the one that needs most care first.
func (v *vessel) live() []portion {
	var out []portion
	for _, p := range v.contents {
		if p.sp.live && p.mmol > trace {
			out = append(out, p)
		}
	}
	slices.SortStableFunc(out, byCare)
	return out
}

// byCare puts the portion first that needs most care.
func byCare(a, b portion) int {
	switch {
	case a.sp.need != b.sp.need:
		return int(b.sp.need - a.sp.need)
	case a.sp.vigour != b.sp.vigour:
		return int(b.sp.vigour - a.sp.vigour)
	case a.mmol != b.mmol:
		if a.mmol > b.mmol {
			return -1
		}
		return 1
	}
	return strings.Compare(a.sp.name, b.sp.name)
}

// mostLive is the first of live; nil where nothing is.
func (v *vessel) mostLive() *species {
	var most *portion
	for i := range v.contents {
		if p := &v.contents[i]; p.sp.live && p.mmol > trace && (most == nil || byCare(*p, *most) < 0) {
			most = p
		}
	}
	if most == nil {
		return nil
	}
	return most.sp
}

func (v *vessel) liveMmol() float64 {
	var n float64
	for _, p := range v.contents {
		if p.sp.live {
			n += p.mmol
		}
	}
	if n < trace {
		return 0
	}
	return n
}

// waterTakers are species that water destroys although the trade does not
// call them live: acid chlorides, phosphorus halides, Lewis acids.
func (v *vessel) waterTakers() []portion {
	var out []portion
	for _, p := range v.contents {
		if !p.sp.live && p.sp.takesWater() && p.mmol > 0.5 && !p.sp.made && !p.sp.strongAcid() && !p.sp.is("hydroxide", "carbonate", "alkoxide", "carbanion salt", "drying salt", "drying oxide", "molecular sieve") {
			out = append(out, p)
		}
	}
	return out
}

// toDestroy is what a quench has to deal with: the live species, else what
// water takes, else a borohydride, which stands alcohol and gives acid its hydrogen.
func (v *vessel) toDestroy() []portion {
	if l := v.live(); len(l) > 0 {
		return l
	}
	if l := v.waterTakers(); len(l) > 0 {
		return l
	}
	var out []portion
	for _, p := range v.contents {
		if p.mmol > trace && p.sp.is("borohydride") {
			out = append(out, p)
		}
	}
	return out
}

// destroyEq is toDestroy in equivalents, mmol.
func (v *vessel) destroyEq() float64 {
	if n := v.liveEq(); n > 0 {
		return n
	}
	var n float64
	for _, p := range v.toDestroy() {
		n += p.mmol * math.Max(p.sp.water, 1)
	}
	return n
}

// liveEq is what the live species can still deliver, in equivalents, mmol.
func (v *vessel) liveEq() float64 {
	var n float64
	for _, p := range v.contents {
		if p.sp.live {
			n += p.mmol * math.Max(p.sp.eq, 1)
		}
	}
	if n < trace {
		return 0
	}
	return n
}

// mostSensitive is the species that needs the highest barrier, nil if none
// needs any.
func (v *vessel) mostSensitive() *portion {
	var best *portion
	if len(v.contents) == 0 {
		return nil
	}
	wet := v.aqueous()
	for i := range v.contents {
		p := &v.contents[i]
		if p.sp.need == 0 || p.mmol <= trace || wet && p.sp.need <= 1 && !p.sp.live {
			continue // what only minds moisture is past that in water
		}
		if best == nil || p.sp.need > best.sp.need ||
			p.sp.need == best.sp.need && (p.sp.live && !best.sp.live || p.sp.live == best.sp.live && p.sp.vigour > best.sp.vigour) {
			best = p
		}
	}
	return best
}

// solvent is the liquid there is most of.
func (v *vessel) solvent() *species {
	var best *species
	var ml float64
	for _, p := range v.contents {
		if p.ml > ml && (p.sp.liquid || p.condensed()) {
			best, ml = p.sp, p.ml
		}
	}
	return best
}

// solventShare is the volume share of a liquid by any of the names given.
func (v *vessel) solventShare(names ...string) float64 {
	total := v.volume()
	if total == 0 {
		return 0
	}
	var ml float64
	for _, p := range v.contents {
		if slices.Contains(names, p.sp.name) {
			ml += p.ml
		}
	}
	return ml / total
}

// vapourMbar is the vapour pressure of the liquid: Raoult's law over the mol
// fractions in each phase, water with what mixes with it in one, the rest in
// the other, and the sum of both (two liquids that do not mix boil below
// either). Solutes are left out, which errs high.
func (v *vessel) vapourMbar(tC float64) float64 { return v.vapourOf(tC, true) }

// vapourOf is vapourMbar with or without what lies there as a condensed gas.
func (v *vessel) vapourOf(tC float64, gases bool) float64 {
	var n, sum [2]float64
	wet := v.aqueous()
	for _, p := range v.contents {
		if !p.sp.liquid && !(gases && p.condensed()) || p.mmol <= trace {
			continue
		}
		phase := 0
		if wet && (p.sp.family == "water" || p.sp.sub != nil && p.sp.sub.Water != nil && p.sp.sub.Water.Miscible && !p.sp.is("ether")) {
			phase = 1
		}
		n[phase] += p.mmol
		if p.sp.sub == nil {
			continue
		}
		if pv, ok := p.sp.vapourAt(tC); ok {
			sum[phase] += p.mmol * pv
		}
	}
	var total float64
	for k := range n {
		if n[k] > 0 {
			total += sum[k] / n[k]
		}
	}
	return total
}

// bubblePoint is the temperature at which the vapour pressure reaches a
// pressure (mbar), by halving; ok is false when no liquid has figures.
func (v *vessel) bubblePoint(mbar float64) (float64, bool) {
	// asked at every event: worked out again only when the contents change
	var key [2]float64
	for _, p := range v.contents {
		if p.sp.liquid || p.condensed() {
			key[0] += p.mmol
			key[1] += p.mmol * p.sp.mw
		}
	}
	if c := &v.boils; c.mbar == mbar && c.key == key {
		return c.tC, c.ok
	}
	tC, ok := v.findBubblePoint(mbar)
	v.boils.mbar, v.boils.key, v.boils.tC, v.boils.ok = mbar, key, tC, ok
	return tC, ok
}

func (v *vessel) findBubblePoint(mbar float64) (float64, bool) {
	any, liquids, last := false, 0, (*species)(nil)
	for _, p := range v.contents {
		if p.sp.liquid || p.condensed() {
			if p.mmol > trace {
				liquids, last = liquids+1, p.sp
			}
			if _, ok := p.sp.vapourAt(25); ok {
				any = true
			}
		}
	}
	if liquids == 1 && mbar == Atm && last.boils.ok {
		return last.boils.tC, true // a liquid alone boils where it boils
	}
	if !any {
		if s := v.solvent(); s != nil && s.bp.Known && mbar > 900 {
			return s.bp.V, true
		}
		return 0, false
	}
	guess := 60.0
	if s := v.solvent(); s != nil && s.bp.Known && s.bp.V > -60 && s.bp.V < 300 {
		guess = s.bp.V
	}
	if t, ok := v.nearBubblePoint(mbar, guess); ok {
		return t, true
	}
	lo, hi := -150.0, 350.0
	for hi-lo > 0.01 {
		mid := (lo + hi) / 2
		if v.vapourMbar(mid) > mbar {
			hi = mid
		} else {
			lo = mid
		}
	}
	return (lo + hi) / 2, hi < 349
}

func (v *vessel) aqueous() bool {
	for _, p := range v.contents {
		if p.sp.family == "water" && p.ml > 0.02 {
			return true
		}
	}
	return false
}

func (v *vessel) halogenated() bool {
	for _, p := range v.contents {
		if p.sp.waste.Halogenated && p.mmol > trace {
			return true
		}
	}
	return false
}

func (v *vessel) hasFamily(fs ...string) bool {
	for _, p := range v.contents {
		if p.mmol > trace && slices.Contains(fs, p.sp.family) {
			return true
		}
	}
	return false
}

func (v *vessel) closed() bool {
	return v.conn == connGas || v.conn == connBalloon || v.conn == connSealed || v.conn == connVacuum || v.conn == connBox
}

func (v *vessel) vented() bool {
	switch v.conn {
	case connOpen, connTube, connBalloon:
		return true
	case connGas:
		return v.outlet != ""
	case connBox:
		return true
	case connVacuum:
		return v.outlet == pumpOutlet
	}
	return false
}

// pumpOutlet is the way out of a vessel while a pump draws on it.
const pumpOutlet = "the pump"

func barrierWord(rank float64) string {
	switch {
	case rank >= 4:
		return "a glovebox"
	case rank >= 3:
		return "evacuate-and-refill, then inert gas"
	case rank >= 2:
		return "a flow of inert gas"
	case rank >= 1:
		return "a drying tube"
	}
	return "nothing: open to air"
}

func needWord(rank float64) string {
	switch {
	case rank >= 4:
		return "a glovebox"
	case rank >= 3:
		return "evacuate-and-refill cycles"
	case rank >= 2:
		return "inert gas with a bubbler"
	case rank >= 1:
		return "a drying tube"
	}
	return "no protection"
}

// held is the names of what a vessel held when it was last asked, which events
// share until something else is in it.
type held struct {
	of              []*species
	names, families []string
}

func (v *vessel) namesHeld() (names, families []string) {
	h, n := &v.held, 0
	same := true
	for i := range v.contents {
		p := &v.contents[i]
		if p.mmol <= trace && p.g <= 0 {
			continue
		}
		same = same && n < len(h.of) && h.of[n] == p.sp
		n++
	}
	if same && n == len(h.of) && h.names != nil {
		return h.names, h.families
	}
	h.of = h.of[:0]
	both := make([]string, 0, 2*n)
	h.names, h.families = both[:0:n], both[n:n]
	for i := range v.contents {
		p := &v.contents[i]
		if p.mmol <= trace && p.g <= 0 {
			continue
		}
		h.of = append(h.of, p.sp)
		if !p.sp.made || !slices.Contains(h.names, p.sp.name) {
			h.names = append(h.names, p.sp.name)
		}
		if !slices.Contains(h.families, p.sp.family) {
			h.families = append(h.families, p.sp.family)
		}
	}
	return h.names, h.families
}

// noVessel is the picture where there is no vessel.
var noVessel = VesselFacts{TemperatureC: Missing("the vessel"), SizeML: Missing("the vessel"), VolumeML: Missing("the vessel"), Fill: Missing("the vessel"), HeadspaceML: Missing("the vessel"), OxygenPPM: Missing("the vessel"), WaterMmol: Missing("the vessel"), BoilingC: Missing("the vessel"), FreezingC: Missing("the vessel"), FlashC: Missing("the vessel"),
	ExplosiveMmol: Missing("the vessel"), ExplosiveG: Missing("the vessel"), ExplosiveRatio: Missing("the vessel")}

// facts takes a picture of the vessel for an event; events share one as long as
// nothing about the vessel changes.
func (b *Bench) facts(v *vessel) *VesselFacts {
	if v == nil {
		return &noVessel
	}
	var now VesselFacts
	b.portray(v, &now)
	if v.shot == nil || !v.shot.same(&now) {
		if len(b.shots) == cap(b.shots) {
			b.shots = make([]VesselFacts, 0, 5)
		}
		b.shots = append(b.shots, now)
		v.shot = &b.shots[len(b.shots)-1]
	}
	return v.shot
}

// asks are the questions about a vessel that every picture of it may need.
type asks struct{ of, liquid, explodes string }

func (v *vessel) asks() *asks {
	if a := &v.asked; a.of != v.name || a.liquid == "" {
		*a = asks{v.name, "the liquid in " + v.name, "what explodes in " + v.name}
	}
	return &v.asked
}

// portray takes the picture of a vessel.
func (b *Bench) portray(v *vessel, f *VesselFacts) {
	*f = VesselFacts{
		Name: v.name, Kind: v.kind, SizeML: v.size, VolumeML: v.volumeNum(), Fill: v.fill(), HeadspaceML: v.headspace(),
		Connection: string(v.conn), BarrierRank: v.rank, Barrier: barrierWord(v.rank), Closed: v.closed(), Vented: v.vented(),
		CondenserLater: !v.condenser && b.condenserLater(v), Supplied: v.supplied, Outlet: v.outlet, Gas: v.gasName, Glass: v.glass, LiveMmol: v.liveMmol(),
		Aqueous: v.aqueous(), Halogenated: v.halogenated(),
		Condenser: v.condenser, Coolant: v.coolant, AirCondenser: v.airCondenser, Probe: v.probe,
	}
	if v.piece != nil {
		f.Thin = v.piece.thin
	}
	b.explosives(f, v)
	f.TemperatureC = Num{V: v.tC, Known: true}
	if !v.tKnown {
		f.TemperatureC.Note = "room temperature, as nothing else is written"
	}
	f.OxygenPPM = Got(v.gases.O2 * 1e6)
	if v.oxygenAsk != "" {
		f.OxygenPPM = Missing(v.oxygenAsk)
	}
	var w float64
	for _, s := range v.traces {
		w += s.mmol
	}
	if v.budget != nil {
		for _, s := range v.budget.sources {
			w += s.mmol
		}
	}
	f.WaterMmol = Got(w)
	if sp := v.mostLive(); sp != nil {
		f.Live, f.LiveFamily = sp.name, sp.family
	}
	none := Missing(v.asks().liquid)
	f.BoilingC, f.FreezingC, f.FlashC = none, none, none
	if s := v.solvent(); s != nil {
		f.Solvent = s.name
		f.FreezingC = s.fp
		if t, ok := v.bubblePoint(Atm); ok {
			f.BoilingC = Got(t)
		} else {
			f.BoilingC = s.bp
		}
	}
	f.Contents, f.Families = v.namesHeld()
	for _, p := range v.contents {
		if p.mmol <= trace && p.g <= 0 {
			continue
		}
		if p.sp.liquid && p.sp.flash.Known && (!f.FlashC.Known || p.sp.flash.V < f.FlashC.V) {
			f.FlashC = p.sp.flash
		}
	}
}

// same reports that two pictures show the same.
func (f *VesselFacts) same(g *VesselFacts) bool {
	return f.TemperatureC == g.TemperatureC && f.VolumeML == g.VolumeML && f.Connection == g.Connection && f.OxygenPPM == g.OxygenPPM &&
		f.WaterMmol == g.WaterMmol && f.LiveMmol == g.LiveMmol && f.Live == g.Live && f.LiveFamily == g.LiveFamily &&
		f.Fill == g.Fill && f.HeadspaceML == g.HeadspaceML && f.SizeML == g.SizeML && f.BarrierRank == g.BarrierRank && f.Barrier == g.Barrier &&
		f.Closed == g.Closed && f.Vented == g.Vented && f.Supplied == g.Supplied && f.Outlet == g.Outlet && f.Gas == g.Gas && f.Glass == g.Glass &&
		f.Name == g.Name && f.Kind == g.Kind && f.Solvent == g.Solvent && f.BoilingC == g.BoilingC && f.FreezingC == g.FreezingC && f.FlashC == g.FlashC &&
		f.Aqueous == g.Aqueous && f.Halogenated == g.Halogenated && f.Condenser == g.Condenser && f.Coolant == g.Coolant &&
		f.CondenserLater == g.CondenserLater && f.AirCondenser == g.AirCondenser && f.Probe == g.Probe && f.Explosive == g.Explosive &&
		f.ExplosiveMmol == g.ExplosiveMmol && f.ExplosiveG == g.ExplosiveG && f.ExplosiveRatio == g.ExplosiveRatio &&
		f.GlassExplosive == g.GlassExplosive && f.SmoothGlass == g.SmoothGlass && f.GroundGlass == g.GroundGlass && f.Thin == g.Thin &&
		slices.Equal(f.Contents, g.Contents) && slices.Equal(f.Families, g.Families)
}

// piece is a row of the apparatus table with what the bench makes of it.
type piece struct {
	row    *procedure.Apparatus
	name   string
	kind   string
	class  string // vessel | funnel | syringe | condenser | drying tube | bubbler | balloon | line | bath | thermometer | stirrer | glovebox | trap | still | septum | other
	known  bool
	thin   bool
	used   bool
	on     *piece
	vessel *vessel
}
