package bench

import (
	"math"
	"strings"

	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
)

// bores is the nominal inner diameter of regular-wall needles by gauge, mm:
// needle-maker's tables of regular-wall tubing (nominal dimensions, after the
// Birmingham wire gauge).
var bores = map[float64]float64{
	10: 2.692, 11: 2.388, 12: 2.159, 13: 1.803, 14: 1.600, 15: 1.372, 16: 1.194, 17: 1.067, 18: 0.838, 19: 0.686,
	20: 0.603, 21: 0.514, 22: 0.413, 23: 0.337, 24: 0.311, 25: 0.260, 26: 0.260, 27: 0.210,
}

// gasViscosity is the viscosity (Pa s) of gases at 20 °C and 1 atm, rounded from
// CRC Handbook of Chemistry and Physics, Viscosity of Gases (300 K).
var gasViscosity = map[string]float64{
	"hydrogen": 8.9e-6, "helium": 19.8e-6, "nitrogen": 17.7e-6, "argon": 22.5e-6, "carbon dioxide": 14.8e-6, "methane": 11.0e-6, "ethane": 9.3e-6,
	"propane": 8.1e-6, "butane": 7.4e-6, "ammonia": 10.0e-6, "hydrogen chloride": 14.4e-6, "sulfur dioxide": 12.7e-6, "carbon monoxide": 17.7e-6, "ethylene": 10.2e-6,
}

// Tube is a straight round tube: bore and length in mm.
type Tube struct{ Bore, Length float64 }

// TubeDrop is the pressure, mbar, that a flow of gas (L/min at 20 °C and 1 atm)
// costs in a tube: Hagen and Poiseuille (8ηLQ/πr⁴) while laminar, the
// friction factor of Blasius where that is more (Re > 2300), and one and a half
// velocity heads for the way in and out; Perry's Chemical Engineers' Handbook,
// section 6. viscosity in Pa s, mw in g/mol; the gas is taken as
// incompressible, good to a tenth of a bar.
func TubeDrop(t Tube, lpm, viscosity, mw float64) float64 {
	if lpm <= 0 {
		return 0
	}
	d, l, q := t.Bore/1000, t.Length/1000, lpm/60000
	v := q / (math.Pi * d * d / 4)
	rho := mw / MolarGas // g/L is kg/m³
	drop := 128 * viscosity * l * q / (math.Pi * math.Pow(d, 4))
	if re := rho * v * d / viscosity; re > 2300 {
		drop = math.Max(drop, 0.3164/math.Pow(re, 0.25)*l/d*rho*v*v/2)
	}
	return (drop + 1.5*rho*v*v/2) / 100
}

// TubeFlow is the flow, L/min, that a tube passes at a pressure (mbar): the
// reverse of TubeDrop, by halving.
func TubeFlow(t Tube, mbar, viscosity, mw float64) float64 {
	low, high := 0.0, 1000.0
	for range 60 {
		mid := (low + high) / 2
		if TubeDrop(t, mid, viscosity, mw) > mbar {
			high = mid
		} else {
			low = mid
		}
	}
	return low
}

// BedDrop is the pressure, mbar, that a flow of gas (L/min) costs in a packed
// tube, by Ergun's equation, Chem. Eng. Prog. 1952, 48, 89: bore and length of
// the bed and the size of the granules in mm, void the free share.
func BedDrop(bore, length, grain, void, lpm, viscosity, mw float64) float64 {
	u := lpm / 60000 / (math.Pi * bore * bore / 4e6)
	rho, dp, l := mw/MolarGas, grain/1000, length/1000
	return l * (150*viscosity*(1-void)*(1-void)*u/(void*void*void*dp*dp) + 1.75*rho*(1-void)*u*u/(void*void*void*dp)) / 100
}

// outletRoom is the pressure that glass joints and septa stand above the room,
// mbar: what the closed-vessel rules allow, a tenth of a bar.
const outletRoom = 100

// outlet is how much gas a way out carries.
type outlet struct {
	lpm Num
	// drop gives the back pressure of a flow, mbar; nil where there is none
	drop func(lpm float64) float64
}

// wayOut works out what the way out of a vessel carries of a gas: a needle by
// its gauge, a capillary, a bubbler, a drying tube, a balloon. An open neck or a
// condenser carries what comes.
//   - needle: as its gauge says, else a 20 gauge needle, 40 mm
//   - capillary: 1 mm by 100 mm
//   - bubbler: hose and dip tube of 6 mm bore, 1 m, under 1.5 cm of oil (1.3
//     mbar, density 0.9); from 2 L/min on, oil is thrown (common practice)
//   - drying tube: 100 mm of 4 mm granules in a 15 mm bore, 40 % void
func (b *Bench) wayOut(v *vessel, gas string) outlet {
	eta, mw := gasViscosity[strings.ToLower(gas)], 28.0
	if sp := b.lookup(gas); sp != nil && sp.mw > 0 {
		mw = sp.mw
	}
	if eta == 0 {
		eta = 15e-6
	}
	out := strings.ToLower(v.outlet)
	of := func(t Tube, why string) outlet {
		return outlet{lpm: Num{V: TubeFlow(t, outletRoom, eta, mw), Known: true, Note: why}, drop: func(q float64) float64 { return TubeDrop(t, q, eta, mw) }}
	}
	switch {
	case v.conn == connBalloon || out == "balloon":
		return outlet{lpm: Assume(0, "a balloon stores gas and lets none go")}
	case v.conn == connOpen || out == "open":
		return outlet{lpm: Missing("nothing: the neck is open")}
	case has(out, "needle"):
		gauge, why := b.gaugeIn(out), ""
		if gauge == 0 {
			gauge, why = 20, "a 20 gauge needle, 40 mm, as its gauge is not written"
		}
		return of(Tube{bores[gauge], 40}, word(why, "a needle 40 mm long"))
	case has(out, "capillary"):
		return of(Tube{1, 100}, "a capillary of 1 mm bore and 100 mm")
	case has(out, "drying tube") || v.conn == connTube:
		bed := func(q float64) float64 { return BedDrop(15, 100, 4, 0.4, q, eta, mw) }
		low, high := 0.0, 1000.0
		for range 60 {
			if mid := (low + high) / 2; bed(mid) > outletRoom {
				high = mid
			} else {
				low = mid
			}
		}
		return outlet{lpm: Assume(low, "100 mm of loose 4 mm granules in a drying tube of 15 mm bore"), drop: bed}
	case has(out, "bubbler", "oil", "scrubber"):
		hose := func(q float64) float64 { return TubeDrop(Tube{6, 1000}, q, eta, mw) + 1.3 }
		return outlet{lpm: Assume(2, "an oil bubbler throws its oil from about 2 L/min on"), drop: hose}
	}
	return outlet{lpm: b.ask("the way out of ", v.name, "")}
}

// gaugeIn is the gauge of a needle by its row or in the words of an outlet (20
// gauge, 18G); 0 when it is not said or is none of the table.
func (b *Bench) gaugeIn(out string) float64 {
	for _, p := range b.pieces {
		if (strings.Contains(out, strings.ToLower(p.name)) || p.class == "needle" && out == strings.ToLower(p.kind)) && p.row != nil && p.row.Gauge != nil && p.row.Gauge.Known() {
			if g := p.row.Gauge.Value(); bores[g] > 0 {
				return g
			}
		}
	}
	for _, f := range strings.FieldsFunc(out, func(r rune) bool { return r == ' ' || r == '-' || r == ',' || r == '(' }) {
		n := strings.TrimRight(f, "g)")
		if q, err := quantity.Parse(n); err == nil && q.Dim == quantity.Count && bores[q.Value()] > 0 && has(out, "gauge", n+"g") {
			return q.Value()
		}
	}
	return 0
}

// HoseConductance is the conductance, L/s, of a round hose for air at 20 °C at a
// mean pressure (mbar): 135·d⁴·p/l in viscous flow and 12.1·d³/l in molecular
// flow, added as for Knudsen flow; d and l in cm. Leybold, Fundamentals of
// Vacuum Technology, chapter 1.5.
func HoseConductance(cm, length, mbar float64) float64 {
	return 135*math.Pow(cm, 4)*mbar/length + 12.1*math.Pow(cm, 3)/length
}

// PumpDown is the time, min, that a pump takes from a start to an end pressure
// (mbar) in a volume (L): t = V/S·ln(p0/p) with the speed S (L/min) at the
// vessel, 1/S = 1/pump + 1/conductance, summed over small falls of pressure; the
// pump's own end pressure is taken off. Pfeiffer, The Vacuum Technology Book,
// volume II, 2.3; Leybold, Fundamentals of Vacuum Technology, 2.3.1. A hose of no
// length is left out. It is +Inf where the pump does not reach the end.
func PumpDown(litres, speed, from, to, end, hoseCM, hoseLength float64) float64 {
	if to <= end || speed <= 0 {
		return math.Inf(1)
	}
	if to >= from {
		return 0
	}
	const steps = 200
	ratio := math.Pow(to/from, 1.0/steps)
	t, p := 0.0, from
	// the conductance of a hose is a straight line in the pressure
	free := HoseConductance(hoseCM, hoseLength, 0)
	perMbar := HoseConductance(hoseCM, hoseLength, 1) - free
	for range steps {
		next := p * ratio
		s := speed
		if hoseLength > 0 {
			// at the mean of the pressures of the vessel and the pump
			c := 60 * (free + perMbar*(p+next)/4)
			s = speed * c / (speed + c)
		}
		t += litres / s * math.Log((p-end)/(next-end))
		p = next
	}
	return t
}

// pumpTime is how long the pump of the site takes to bring a vessel with its
// hose (8 mm, 1.5 m, as usual on a manifold: common practice) from the air to a
// pressure, min.
func (b *Bench) pumpTime(w *vessel, mbar float64) Num {
	h := w.headspace()
	if !h.Known {
		return Missing(h.Ask())
	}
	speed := figure(b.site.PumpSpeed, 50)
	litres := h.V/1000 + math.Pi*0.16*150/1000 // the hose is emptied too
	t := PumpDown(litres, speed, Atm, mbar, b.pumpEnd(mbar), 0.8, 150)
	return Assume(t, "a pump of "+quantity.FormatNumber(speed)+" L/min on 1.5 m of 8 mm hose")
}

// pumpEnd is the pressure below which the pump does not go, mbar: half of what
// the site says it reaches or of what is asked of it, whichever is less, so that a
// pump that is said to reach a figure does.
func (b *Bench) pumpEnd(mbar float64) float64 { return math.Min(b.pumpMbar(), mbar) / 2 }

// pumpReaches is the pressure a vessel is at after some minutes on the pump,
// mbar, by halving PumpDown; never under the stated one.
func (b *Bench) pumpReaches(w *vessel, mbar, minutes float64) (float64, bool) {
	h := w.headspace()
	if !h.Known {
		return mbar, false
	}
	speed := figure(b.site.PumpSpeed, 50)
	litres := h.V/1000 + math.Pi*0.16*150/1000
	if PumpDown(litres, speed, Atm, mbar, b.pumpEnd(mbar), 0.8, 150) <= minutes {
		return mbar, true
	}
	low, high := math.Log(mbar), math.Log(Atm)
	for range 40 {
		mid := (low + high) / 2
		if PumpDown(litres, speed, Atm, math.Exp(mid), b.pumpEnd(mbar), 0.8, 150) > minutes {
			low = mid
		} else {
			high = mid
		}
	}
	return math.Exp(high), true
}

// perCycle is the time a step leaves for each evacuation, min: the whole time
// over the cycles, half of it for the pump and half for the gas when both are in
// it (common practice).
func perCycle(s *procedure.Step, n float64) (float64, bool) {
	if s.For == nil || !s.For.Known() || s.For.Dim != quantity.Time || n < 1 {
		return 0, false
	}
	return s.For.Max() / n / 2, true
}

// pumped gives the pressure of evacuate–refill cycles when the text says how
// long they take: where that is too short for the site's pump, the pressure that
// it does reach. The figures go to the step's event.
func (b *Bench) pumped(w *vessel, s *procedure.Step, stated Num, n float64) Num {
	need := b.pumpTime(w, stated.V)
	given, ok := perCycle(s, n)
	f := b.stepNow()
	if f != nil {
		f.PumpMin, f.StatedMbar = need, stated
		f.PumpedMin, f.ReachedMbar = Missing("how long each cycle is pumped"), Missing("how long each cycle is pumped")
	}
	if !ok {
		if need.Known && !math.IsInf(need.V, 1) {
			// a minute for the gas in each cycle (common practice)
			if t := n * (need.V + 1); t > usualMinutes[procedure.Atmosphere] {
				b.reachMin[s.N] = t
				b.handsOn += t - usualMinutes[procedure.Atmosphere]
			}
		}
		return stated
	}
	if f != nil {
		f.PumpedMin = Assume(given, "half of each cycle for the pump, half for the gas")
	}
	got, known := b.pumpReaches(w, stated.V, given)
	if !known {
		return stated
	}
	if f != nil {
		f.ReachedMbar = Assume(got, need.Assumed())
	}
	if got > stated.V*1.01 {
		return Assume(got, "what "+need.Assumed()+" reaches in "+quantity.Format(given, quantity.Time))
	}
	return stated
}

// stepNow is the event of the step that is being played, to be filled by what is
// only known once it is.
func (b *Bench) stepNow() *StepFacts {
	for i := len(b.trace.Events) - 1; i >= 0; i-- {
		if f, ok := b.trace.Events[i].Facts.(*StepFacts); ok && b.step != nil && b.trace.Events[i].Step == b.step.N {
			return f
		}
	}
	return nil
}

// throughOutlet sets the gas at its peak against the way out. A stated rate
// counts as even; a portion gives its gas within a minute (common practice).
func (b *Bench) throughOutlet(r *ReleaseFacts, v *vessel, f *AdditionFacts) {
	switch {
	case r.GasPerPortL.Known && f != nil && f.Portions.Known:
		r.PeakLPerMin = Assume(r.GasPerPortL.V, "a portion gives its gas within a minute")
		if r.LPerMin.Known && r.LPerMin.V > r.PeakLPerMin.V {
			r.PeakLPerMin = r.LPerMin
		}
	case r.LPerMin.Known:
		r.PeakLPerMin = r.LPerMin
	}
	if !v.vented() || v.scrub != nil && v.outlet == "" {
		return
	}
	out := b.wayOut(v, r.Gas)
	r.OutletLPerMin = out.lpm
	if r.PeakLPerMin.Known && out.drop != nil {
		r.OutletMbar = Num{V: out.drop(r.PeakLPerMin.V), Known: true, Note: word(out.lpm.Assumed(), r.PeakLPerMin.Assumed())}
	} else if out.drop == nil {
		r.OutletMbar = Missing(out.lpm.Ask())
	}
}
