package bench

import (
	"math"
	"strings"

	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
	"ketyl/checker/substance"
)

// Swell is the volume of a liquid at tC over its volume at fromC, both °C. Mass stays,
// so it is the density there over the density here:
//
//   - water by Kell's equation (substance.WaterDensity), 0.998 g/mL at 20 °C and
//     0.958 at 100 °C; in ice water and below its 4 °C it is not taken smaller again;
//   - a liquid with a published density (Perry's Chemical Engineers' Handbook, 8th ed.,
//     Table 2-32) by that, substance.LiquidDensity;
//   - any other by a density that falls evenly with temperature, V/V₂₀ = 1/(1 − α(t − 20)),
//     with α of expansion, which errs to the larger volume when it is heated.
//
// A solid, and what is dissolved, keeps its volume: a solution counts as its solvent.
func (sp *species) Swell(fromC, tC float64) float64 {
	switch {
	case sp.family == "water":
		return substance.WaterDensity(fromC) / substance.WaterDensity(tC)
	case sp.sub != nil && sp.sub.LiquidDensity != nil:
		return sp.sub.LiquidDensity.At(fromC) / sp.sub.LiquidDensity.At(tC)
	case !sp.liquid && !sp.gas:
		return 1
	}
	alpha := sp.expansion()
	fall := func(t float64) float64 { return math.Max(0.4, 1-alpha*(t-volumeC)) }
	return fall(fromC) / fall(tC)
}

// volumeC is the temperature at which volumes are measured out, °C: that of graduated
// glass and of the densities of the compendium.
const volumeC = 20

// warmC is the temperature, °C, below which a step is at room temperature: what a
// room swings by moves no fill worth a word (toluene by 0.5 %).
const warmC = 26

// expansion is the cubic expansion coefficient at 20 °C, 1/K, of a liquid with no
// published density at other temperatures: the upper end of the hundred liquids of
// Perry's Table 2-32 in the compendium that boil in the same span (diethyl ether 1.63
// and pentane 1.60, hexane 1.36, toluene 1.05, decane 1.02, each times 10⁻³). A condensed
// gas expands faster (ammonia 2.5, propane 3.2). The span of a boiling point that is not
// known is that of the usual solvents.
func (sp *species) expansion() float64 {
	switch bp := sp.bp; {
	case sp.gas, bp.Known && bp.V < 10:
		return 2.5e-3
	case !bp.Known:
		return 1.45e-3
	case bp.V < 45:
		return 1.75e-3
	case bp.V < 90:
		return 1.45e-3
	case bp.V < 130:
		return 1.32e-3
	}
	return 1.2e-3
}

// measuredC is the temperature at which the volume of a portion counts, °C: 20, and
// the boiling point for a condensed gas, whose volume is that of the cold liquid.
func (p portion) measuredC() float64 {
	if p.sp.gas && p.sp.bp.Known {
		return p.sp.bp.V
	}
	return volumeC
}

// volumeAt is the liquid in a vessel when all of it is at tC, mL: the sum of what each
// portion comes to, as if they mixed without a change of volume (within 1 % for what
// is mixed here; ethanol and water shrink by 4 %, which errs high). A condensed gas is
// no warmer than its boiling point unless it is sealed in.
func (v *vessel) volumeAt(tC float64) float64 {
	var ml float64
	for i := range v.contents {
		p := &v.contents[i]
		if p.ml <= 0 {
			continue
		}
		from, t := p.measuredC(), tC
		if p.sp.gas && v.conn != connSealed {
			t = math.Min(t, from)
		}
		if t == from {
			ml += p.ml
			continue
		}
		ml += p.ml * p.sp.Swell(from, t)
	}
	return ml
}

// headspaceAt is the gas space over the liquid at tC, mL; never less than a
// hundredth of the vessel, which keeps a pressure finite: what is full to there is
// judged by its fill.
func (v *vessel) headspaceAt(tC float64) Num {
	if !v.size.Known {
		return Missing(v.size.Ask())
	}
	return Num{V: math.Max(v.size.V-v.volumeAt(tC), 0.01*v.size.V), Known: true, Note: v.size.Assumed()}
}

// fillAt is fill at tC, with what the ranges that are written can add.
func (v *vessel) fillAt(tC float64) Num {
	f := v.fill()
	if ml := v.volume(); f.Known && ml > 0 {
		f.V *= v.volumeAt(tC) / ml
	}
	return f
}

// fullAt is the temperature at which the liquid fills its vessel, °C, by halving
// between two temperatures at the first of which it does not, and at the second does.
func (v *vessel) fullAt(low, high float64) float64 {
	for high-low > 0.1 {
		mid := (low + high) / 2
		if v.volumeAt(mid) < v.size.V {
			low = mid
		} else {
			high = mid
		}
	}
	return high
}

// compressibility is that of an organic liquid at 20 °C, 1/bar: chloroform 1.00,
// dichloromethane 1.03, tetrachloromethane 1.05, carbon disulfide 0.94, methanol 1.21,
// each per GPa (CRC Handbook, Pressure and Temperature Dependence of Liquid Density);
// water, 0.46, comes to twice the pressure.
const compressibility = 1.0e-4

// squeezedBar is the pressure of a liquid that has no more room at tC, bar: what it
// would expand by over its compressibility, in walls that do not give. It tells a
// vessel that bursts, not what its glass would ever stand.
func (v *vessel) squeezedBar(tC float64) float64 {
	return math.Max(0, v.volumeAt(tC)/v.size.V-1) / compressibility
}

// brimShare is the share of a closed vessel that its liquid may fill at the hottest,
// by ADR 2013, 4.1.1.4 (98 % of the capacity at 50 °C); the rule has it as its limit.
const brimShare = 0.98

// filledBy reports that the liquid of a closed vessel would fill it at tC.
func (v *vessel) filledBy(tC float64) bool {
	return v.size.Known && v.blur == "" && v.volume() > 0.5*v.size.V && v.volumeAt(tC) > brimShare*v.size.V
}

// The shares of a vessel that the trade leaves free, by what goes on in it. The
// rules that judge the fill have the same figures as limits, which a site may set.
var (
	boilingFree = Assume(0.5, "half of the vessel for boiling or foam (university course page on three-neck set-ups)")
	distilFree  = Assume(0.33, "a third of the pot in a distillation (university teaching page)")
	quietFree   = Assume(0.1, "a tenth of the vessel for stirring (common practice)")
)

// foamL is the gas that raises foam, L at 20 °C (common practice; the rules have it
// as their limit).
const foamL = 0.05

// quenchFree is what a quench leaves free: half where gas comes off, a third where
// none does (common practice).
func quenchFree(q *QuenchFacts) Num {
	if q.GasL.Known && q.GasL.V > foamL {
		return boilingFree
	}
	return Assume(0.33, "a third of the vessel for a quench that gives no gas (common practice)")
}

// hottest tells how a vessel stands at the hottest that a step brings it to, °C, with
// the share of it that the trade leaves free for what goes on there. It counts no
// colder than 20 °C, to which everything comes back, room temperature as 20 °C, and no hotter than the liquid
// boils where it has a way out.
func (b *Bench) hottest(v *vessel, tC float64, keep Num) *HotFacts {
	if len(b.hots) == cap(b.hots) {
		b.hots = make([]HotFacts, 0, 4)
	}
	if tC < warmC {
		tC = volumeC
	}
	if tC > 30 && v.conn != connSealed {
		if bp, ok := v.bubblePoint(Atm); ok {
			tC = math.Max(volumeC, math.Min(tC, bp))
		}
	}
	b.hots = append(b.hots, HotFacts{TemperatureC: Got(tC), VolumeML: v.volumeNum(), Fill: v.fillAt(tC), FreeML: v.size, KeepFree: keep, KeepFreeML: v.size})
	f := &b.hots[len(b.hots)-1]
	if v.blur != "" {
		f.FreeML = Missing(v.blur)
		return f
	}
	f.VolumeML.V = v.volumeAt(tC)
	if v.size.Known {
		f.KeepFreeML = Num{V: v.size.V * keep.V, Known: true, Note: keep.Note}
	}
	if f.Fill.Known && v.size.Known {
		f.FreeML = Num{V: v.size.V * (1 - f.Fill.V), Known: true, Note: f.Fill.Assumed()}
	}
	return f
}

// peakOf is the hottest that an addition brings its vessel to, °C: its peak where that
// is reckoned, else the whole adiabatic rise; a limit that the step sets holds it.
func peakOf(v *vessel, riseK, peakC, limitC Num) float64 {
	t := v.tC
	switch {
	case peakC.Known:
		t = math.Max(t, peakC.V)
	case riseK.Known && riseK.V > 0:
		t += math.Min(riseK.V, 300)
	}
	if limitC.Known {
		t = math.Min(t, math.Max(limitC.V, v.tC))
	}
	return t
}

// coldC is the temperature, °C, below which a volume is measured cold: what is drawn
// cooler than a room has less space in its syringe as it warms.
const coldC = 15

// grown is what a lot grows by in the syringe or funnel in which it stands before it
// goes over, as a factor, and the temperature at which it was measured, °C. A volume that
// is written for what comes out of a cold vessel, or out of a refrigerator or freezer, is
// measured cold and comes to 20 °C; a heated funnel holds what it holds at its own
// temperature. What moves whole was measured at 20 °C before it was cooled.
func (b *Bench) grown(s *procedure.Step, l *lot, tool *piece) (factor, fromC float64) {
	toC := float64(volumeC)
	fromC = toC
	var in *vessel
	if tool != nil {
		in = tool.vessel
	}
	if in != nil && in.tC > warmC {
		toC = in.tC
	}
	ml := l.ml()
	if ml <= 0 || l.blur != "" {
		return 1, fromC
	}
	var before float64 // mL that it gained up to 20 °C
	_, volume := s.Amount.Of(quantity.Volume)
	switch {
	case l.from != nil && l.from == in:
		before = l.grows
	case l.from != nil:
		if volume && l.from.tC < coldC {
			fromC = l.from.tC
		}
	case l.m != nil:
		if volume || !s.Amount.Is() && volumeWritten(l.m.row.Amount) {
			fromC = l.m.keptC(s)
		}
	}
	if fromC == toC {
		return 1 + before/ml, fromC
	}
	var hot float64
	for i := range l.portions {
		switch p := &l.portions[i]; {
		case p.ml <= 0:
		case p.sp.gas: // a condensed gas boils before it is warm
			hot += p.ml
		default:
			hot += p.ml * p.sp.Swell(fromC, toC)
		}
	}
	return hot/ml + before/ml, fromC
}

// grownNote says why a syringe or funnel is fuller than what was measured into it.
func grownNote(fromC float64) string {
	if fromC < volumeC {
		return "measured at " + quantity.Format(fromC, quantity.Temperature) + ", it grows as it warms to 20 °C"
	}
	return "at the temperature at which it stands there"
}

// keptC is the temperature at which a material comes out of its bottle, °C: the cold end
// of a refrigerator (2 °C) or a freezer (−25 °C, common practice), where the row or the step
// says that it is kept there and not that it warms up first; else 20.
func (m *material) keptC(s *procedure.Step) float64 {
	if !m.row.KeptUnder.Is() && !m.row.Note.Is() && !s.Note.Is() {
		return volumeC
	}
	text := strings.ToLower(m.row.KeptUnder.S + " " + m.row.Note.S + " " + s.Note.S)
	switch {
	case hasLower(text, "room temperature", "warm", "20 °c", "25 °c"):
		return volumeC
	case hasLower(text, "freezer"):
		return -25
	case hasLower(text, "refrigerator", "fridge", "cold room"):
		return 2
	}
	return volumeC
}
