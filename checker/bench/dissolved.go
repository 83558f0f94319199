package bench

import (
	"math"
	"sync"

	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
	"ketyl/checker/substance"
)

// oxygenTable is rules/reference/oxygen.yaml: oxygen in liquids under air.
type oxygenTable struct {
	Sources  map[string]substance.Source `yaml:"sources"`
	Solvents map[string]solubility       `yaml:"solvents"`
	Families map[string]solubility       `yaml:"families"`
	Default  solubility                  `yaml:"default"`
}

type solubility struct {
	MmolPerL float64  `yaml:"mmol_per_l"`
	Note     string   `yaml:"note"`
	Source   []string `yaml:"source"`
}

var loadOxygen = sync.OnceValue(func() *oxygenTable {
	t := &oxygenTable{}
	mustRead("reference/oxygen.yaml", t)
	return t
})

// dilutionTable is rules/reference/dilution.yaml: heat of sulfuric acid and of
// solids into water.
type dilutionTable struct {
	Sources map[string]substance.Source `yaml:"sources"`
	Acid    string                      `yaml:"acid"`
	Points  []struct {
		Water float64 `yaml:"water"`
		Heat  float64 `yaml:"heat"`
	} `yaml:"points"`
	Solids struct {
		Heat   map[string]float64 `yaml:"heat"`  // kJ/mol given off in much water
		Water  float64            `yaml:"water"` // mol for each mol of solid that count as much
		Source []string           `yaml:"source"`
	} `yaml:"solids"`
	Source []string `yaml:"source"`
}

var loadDilution = sync.OnceValue(func() *dilutionTable {
	t := &dilutionTable{}
	mustRead("reference/dilution.yaml", t)
	return t
})

// WaterOxygen is the oxygen in water under moist air at 1 atm, mmol/L, by the
// equation of APHA, Standard Methods, 1985 (Benson and Krause 1984), good from
// 0 to 40 °C; outside it the nearer end counts:
// ln(mg/L) = −139.34411 + 1.575701·10⁵/T − 6.642308·10⁷/T² + 1.243800·10¹⁰/T³ − 8.621949·10¹¹/T⁴.
func WaterOxygen(tC float64) float64 {
	k := math.Max(0, math.Min(40, tC)) + zeroC
	mg := math.Exp(-139.34411 + 1.575701e5/k - 6.642308e7/(k*k) + 1.2438e10/(k*k*k) - 8.621949e11/(k*k*k*k))
	return mg / oxygenMass
}

// bubbleShare is how much of its equilibrium a bubble from a needle comes to: a
// tenth, the low end of the factor for imperfect mixing in Crowl and Louvar,
// Chemical Process Safety, chapter 7 (0.1 to 1).
const bubbleShare = 0.1

// oxygenMass is the molar mass of O2, g/mol (IUPAC 2021, abridged).
const oxygenMass = 31.998

// Ostwald is the partition coefficient of oxygen between a liquid and the gas
// over it, concentration over concentration, from what the liquid holds under
// air at 1 atm and 25 °C (mmol/L): Henry's law with the ideal gas.
func Ostwald(airMmolPerL float64) float64 {
	return airMmolPerL / GasMmol(1000, airO2*Atm, 25)
}

// AfterSparge is the share of dissolved oxygen left when gas bubbles through a
// liquid and leaves in equilibrium with it: V·dc/dt = −Q·c/L, so
// exp(−Q·t/(L·V)); mass balance and Henry's law, L the Ostwald coefficient.
// floor is what the gas's own oxygen keeps there, as a share of air's.
func AfterSparge(start, gasML, liquidML, ostwald, floor float64) float64 {
	if liquidML <= 0 || ostwald <= 0 {
		return floor
	}
	end := floor + (start-floor)*math.Exp(-gasML/(ostwald*liquidML))
	return math.Min(start, end)
}

// AfterThaw is the share of dissolved oxygen left after n cycles in which the
// head space is pumped to a pressure (mbar), closed, and filled again by the
// thawed liquid's own gas: of what the liquid held L·V_l/(L·V_l + V_g) stays in
// it (mass balance and Henry's law, L the Ostwald coefficient); what the pump
// leaves in the head space comes back. floor is the oxygen of the refill gas,
// as a share of air's. Volumes in mL.
func AfterThaw(start, headML, liquidML, ostwald, mbar, floor, n float64) float64 {
	if liquidML <= 0 {
		return start
	}
	keep := ostwald * liquidML / (ostwald*liquidML + math.Max(headML, 0))
	s := start
	for range int(math.Min(math.Max(n, 0), 1000)) {
		next := keep*s + (1-keep)*math.Min(s, mbar/Atm)
		next = math.Max(next, math.Min(s, floor))
		s = next
	}
	return s
}

// aeration is how a liquid stands to air: gone is the share of the oxygen that
// air would dissolve in it that was taken out, 0 for a liquid that stood open.
type aeration struct {
	gone float64
	ask  string // question, when it cannot be known
	why  string // what was assumed
}

// freed reports a liquid that gave up nine tenths of the oxygen that air dissolves
// in it (common practice), or one of which it is not said how far it went.
func (a aeration) freed() bool { return a.ask != "" || a.gone >= 0.9 }

func (a aeration) left() float64 { return math.Max(0, 1-a.gone) }

// airHolds is the oxygen that a liquid holds under air at the site's pressure,
// mmol/L, with the reason when it is not the liquid's own figure.
func (b *Bench) airHolds(sp *species, tC float64) (mmolPerL float64, why string) {
	t := loadOxygen()
	p := figure(b.site.Pressure, Atm) / Atm
	switch {
	case sp.gas:
		return 0, "" // a condensed gas boils, which keeps air out
	case sp.family == "water":
		return WaterOxygen(tC) * p, ""
	}
	if s, ok := t.Solvents[sp.name]; ok {
		return s.MmolPerL * p, ""
	}
	if s, ok := t.Families[sp.family]; ok {
		return s.MmolPerL * p, "oxygen in " + sp.name + " taken as in liquids of its family"
	}
	return t.Default.MmolPerL * p, "oxygen in " + sp.name + " taken as 2.5 mmol/L under air"
}

// underAir is the oxygen that portions hold when they have stood in air, mmol:
// linear in volume, as mixtures have no figures of their own.
func (b *Bench) underAir(ps []portion, tC float64) (mmol float64, why string) {
	n := 0
	for _, p := range ps {
		if p.ml <= 0 {
			continue
		}
		c, w := b.airHolds(p.sp, tC)
		mmol += c * p.ml / 1000
		if w != "" && why == "" {
			why = w
		}
		n++
	}
	if n > 1 && why == "" {
		why = "oxygen of a mixture taken linear in volume"
	}
	return mmol, why
}

// ostwaldOf is the partition coefficient of the liquid in a vessel or lot.
func (b *Bench) ostwaldOf(ps []portion, tC float64) float64 {
	mmol, _ := b.underAir(ps, tC)
	ml := 0.0
	for _, p := range ps {
		ml += p.ml
	}
	if ml <= 0 {
		return 0
	}
	return Ostwald(mmol / ml * 1000 * Atm / figure(b.site.Pressure, Atm))
}

// dissolvedOxygen is the oxygen dissolved in what a vessel holds, mmol: what
// air would dissolve (Henry's law), less what sparging and cycles took out. A
// flow of gas over the liquid and boiling under it are given no credit.
func (b *Bench) dissolvedOxygen(v *vessel) Num {
	switch {
	case v.blur != "":
		return Missing(v.blur)
	case v.volume() <= 0:
		return Got(0)
	case v.air.ask != "":
		return Missing(v.air.ask)
	}
	mmol, why := b.underAir(v.contents, v.tC)
	return Num{V: mmol * v.air.left(), Known: true, Note: word(v.air.why, why)}
}

// oxygenShare is what dissolved oxygen takes of a species, %: two mol for each
// mol of oxygen, as 2 RM + O2 = 2 ROM and 2 R3P + O2 = 2 R3PO (stoichiometry).
func oxygenShare(oxygen Num, mmol float64) Num {
	if !oxygen.Known {
		return Missing(oxygen.Ask())
	}
	if mmol <= 0 {
		return Missing("the amount of the species")
	}
	return Num{V: math.Min(100, 100*2*oxygen.V/mmol), Known: true, Note: oxygen.Assumed()}
}

// airOf is how a material stands to air as it comes from its bottle: what
// oxygen destroys holds none, and a bottle that the text says is degassed or
// kept under inert gas is believed.
func (m *material) airOf() aeration {
	if m.air != (aeration{}) {
		return m.air
	}
	if m.sp.live {
		return aeration{gone: 1}
	}
	if has(m.row.Grade.S+" "+m.row.Origin.S+" "+m.row.KeptUnder.S+" "+m.row.Form.S, "degassed", "sparged", "nitrogen", "argon", "inert", "glovebox", "deoxygenated") {
		return aeration{gone: 1, why: "said to be free of air"}
	}
	return aeration{}
}

// airIn mixes the air that a lot brings with what a vessel's liquid holds,
// before the lot is put there.
func (b *Bench) airIn(dest *vessel, l *lot) {
	was, _ := b.underAir(dest.contents, dest.tC)
	more, _ := b.underAir(l.portions, dest.tC)
	if more <= 0 {
		return
	}
	if was <= 0 {
		dest.air = l.air
		return
	}
	x := aeration{gone: (was*dest.air.gone + more*l.air.gone) / (was + more), ask: word(dest.air.ask, l.air.ask), why: word(l.air.why, dest.air.why)}
	dest.air = x
}

// gasFloor is the oxygen of a supplied gas as a share of air's.
func (b *Bench) gasFloor(s *procedure.Step) float64 {
	for _, t := range s.From {
		if p := b.pieceNamed(t.S); p != nil && p.class == "line" {
			return b.impurity(p)
		}
	}
	return b.impurity(nil)
}

// deaerate works out what a degas or sparge step takes out of a liquid: of a
// vessel, or of a material still in its bottle (v nil).
func (b *Bench) deaerate(s *procedure.Step, name string, ps []portion, v *vessel, was aeration) aeration {
	ml, tC := 0.0, b.roomT()
	for _, p := range ps {
		ml += p.ml
	}
	if v != nil {
		tC = v.tC
	}
	floor := b.gasFloor(s)
	l := b.ostwaldOf(ps, tC)
	start := was.left()
	if s.Verb.Name == "sparge" || s.Cycles == nil && s.Flow != nil {
		switch {
		case s.Flow == nil || !s.Flow.Known() || s.Flow.Dim != quantity.Flow:
			return aeration{ask: "the flow of gas through " + name}
		case s.For == nil || !s.For.Known():
			return aeration{ask: "how long gas bubbles through " + name}
		case ml <= 0:
			return aeration{ask: "the volume of " + name}
		}
		left := AfterSparge(start, bubbleShare*s.Flow.Min()*s.For.Min(), ml, l, floor)
		return aeration{gone: 1 - left, why: "bubbles that take up a tenth of what they could"}
	}
	if s.Cycles == nil || !s.Cycles.Known() {
		return aeration{ask: "the number of freeze–pump–thaw cycles of " + name}
	}
	head, why := ml, "flask half full, as none is named"
	if v != nil {
		why = ""
		h := v.headspace()
		switch {
		case h.Known:
			head = h.V
		case v.piece != nil:
			return aeration{ask: h.Ask()}
		default:
			why = "flask half full, as its size is not stated"
		}
	}
	if ml <= 0 {
		return aeration{ask: "the volume of " + name}
	}
	p := b.pumpMbar()
	if s.Vacuum != nil && s.Vacuum.Known() {
		p = s.Vacuum.Value()
	} else {
		why = word(why, "pump of the site file")
	}
	return aeration{gone: 1 - AfterThaw(start, head, ml, l, p, floor, s.Cycles.Min()), why: why}
}

// cyclesOver is what evacuate–refill cycles over a liquid take out of it: at
// each the liquid comes to equilibrium with the pumped head space once, as in
// a thaw; that the pump goes on over a stirred liquid is given no credit.
func (b *Bench) cyclesOver(v *vessel, mbar, impurity, n float64) {
	if v.volume() <= 0 {
		return
	}
	h := v.headspace()
	if !h.Known {
		v.air = aeration{ask: h.Ask()}
		return
	}
	if v.air.ask != "" {
		return
	}
	v.air.gone = 1 - AfterThaw(v.air.left(), h.V, v.volume(), b.ostwaldOf(v.contents, v.tC), mbar, impurity, n)
}

// airLeft tells the step what oxygen a liquid still holds.
func (b *Bench) airLeft(a aeration, ps []portion, tC float64) {
	f := b.stepNow()
	switch {
	case f == nil || f.AirLeft.Known:
	case a.ask != "":
		f.AirLeft, f.AirMmol = Missing(a.ask), Missing(a.ask)
	default:
		n, why := b.underAir(ps, tC)
		f.AirLeft = Num{V: 100 * a.left(), Known: true, Note: a.why}
		f.AirMmol = Num{V: n * a.left(), Known: true, Note: word(a.why, why)}
	}
}

// airOnce lets one head space of air come to equilibrium with the liquid: a
// neck that stood open for a moment.
func (b *Bench) airOnce(v *vessel) {
	h := v.headspace()
	if v.volume() <= 0 {
		return
	}
	l := b.ostwaldOf(v.contents, v.tC)
	keep := 0.0
	if h.Known && l > 0 {
		keep = l * v.volume() / (l*v.volume() + h.V)
	}
	v.air.gone *= keep
}

// humidAir books the water vapour that comes to a live charge when its vessel
// is opened without a counter-flow: one exchange of the head space with room
// air at the site's humidity and temperature (ideal gas, SaturationMbar).
func (b *Bench) humidAir(s *procedure.Step) {
	for _, v := range b.vessels {
		if v.budget == nil || v.gone || v.discarded || b.guarded(s) || v.conn == connBox {
			continue
		}
		act := b.opens(s, v)
		if act == "" || !b.sensitiveBefore[v] || v.liveEq() <= 0 || v.wasOpen {
			continue
		}
		ml, why := 0.0, ""
		if h := v.headspace(); h.Known {
			ml = h.V
		} else {
			ml, why = math.Max(100, v.volume()), "head space taken as large as the liquid, at least 100 mL"
		}
		n := GasMmol(ml, b.roomAir().H2O*Atm, b.roomT())
		if n <= 0 {
			continue
		}
		v.traces = append(v.traces, waterSource{kind: "air", name: "humid air let into " + v.name + " (" + act + ", step " + quantity.FormatNumber(float64(s.N)) + ")", mmol: n, grade: v.how, assumed: why})
		b.refreshBudget(v, s)
	}
}

// noteOpen remembers which vessels stood open before a step: what comes in
// then was let in when they were opened.
func (b *Bench) noteOpen() {
	for _, v := range b.vessels {
		v.wasOpen = v.conn == connOpen
	}
}

// AcidDilution is the heat given off when a mol of liquid sulfuric acid goes
// into n mol of water, kJ/mol, between the published points of
// rules/reference/dilution.yaml: along n/(n + 1.8) up to 100 mol of water, the
// form of Thomsen's equation, and along log n beyond.
func AcidDilution(n float64) float64 {
	t := loadDilution()
	if !(n > 0) || len(t.Points) == 0 {
		return 0
	}
	at := func(n float64) float64 { return n / (n + 1.8) }
	n0, q0 := 0.0, 0.0
	for _, p := range t.Points {
		if n <= p.Water {
			if p.Water > 100 {
				return q0 + (p.Heat-q0)*math.Log(n/n0)/math.Log(p.Water/n0)
			}
			return q0 + (p.Heat-q0)*(at(n)-at(n0))/(at(p.Water)-at(n0))
		}
		n0, q0 = p.Water, p.Heat
	}
	return q0
}

// alcoholAsWater is how much alcohol counts as so much water towards sulfuric acid,
// mol for each mol of acid: its oxygen takes the first proton as that of water does;
// what more than ten waters add to the heat is the second (from memory).
const alcoholAsWater = 10

// dilute is the heat, kJ, of sulfuric acid and water or alcohol, and of caustic and
// other solids and water, that come together: what the mixture has given off in all
// less what each part had (Hess), before anything reacts. why is what it assumes; unknown says that an amount it
// rests on is not stated.
func (b *Bench) dilute(dest *vessel, l *lot) (kJ float64, why string, unknown bool) {
	type parts struct{ acid, water, alcohol, solid, solidJ float64 }
	t := loadDilution()
	acid := t.Acid
	sum := func(ps []portion) (x parts) {
		for _, p := range ps {
			switch {
			case p.sp.name == acid:
				x.acid += p.mmol
			case p.sp.family == "water":
				x.water += p.mmol
			case p.sp.is("alcohol"):
				x.alcohol += p.mmol
			case p.sp.dissolves > 0 && !p.maybe:
				x.solid += p.mmol
				x.solidJ += p.mmol * p.sp.dissolves
			}
		}
		return x
	}
	given := func(x parts) (kJ float64) {
		if x.solid > trace {
			kJ = x.solidJ / 1000 * math.Min(1, x.water/(t.Solids.Water*x.solid))
		}
		if x.acid <= trace {
			return kJ
		}
		n := x.water / x.acid
		if with := math.Min(n+x.alcohol/x.acid, alcoholAsWater); with > n {
			n, why = with, "an alcohol taken for as much water"
		}
		return kJ + x.acid/1000*AcidDilution(n)
	}
	old, in := sum(dest.contents), sum(l.portions)
	all := parts{old.acid + in.acid, old.water + in.water, old.alcohol + in.alcohol, old.solid + in.solid, old.solidJ + in.solidJ}
	none := func(x parts) bool { return x.acid+x.water+x.alcohol+x.solid <= trace }
	if (all.acid <= trace || all.water+all.alcohol <= trace) && (all.solid <= trace || all.water <= trace) || none(old) || none(in) {
		return 0, "", false
	}
	if l.blur != "" || dest.blur != "" && !none(old) {
		return 0, "", true
	}
	before := given(in) + given(old)
	kJ = math.Max(0, given(all)-before)
	return kJ, why, false
}

// addDilution books it on what the addition did.
func (o *outcome) addDilution(kJ float64, why string, unknown bool) {
	if unknown {
		o.heatKnown = false
		return
	}
	if kJ > 0 {
		o.kJ += kJ
		o.assumed = word(o.assumed, why)
		o.did("heat of mixing with water")
	}
}
