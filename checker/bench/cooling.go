package bench

import (
	"math"
	"strings"

	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
)

// Heat through the wall of a flask, W/(m² K).
const (
	// bathU is a stirred flask in a liquid bath: 2 mm of borosilicate glass at
	// 1.2 W/(m K) (maker's data sheet of borosilicate 3.3 laboratory glass) between films
	// of 500 (stirred organic liquid) and 750 (bath), the low end of what is usual for
	// them (common practice): 1/U = 1/500 + 0.002/1.2 + 1/750.
	bathU = 200
	// airU is the same flask in still air: free convection and radiation, 5 to 25
	// (Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, table 1.1).
	airU = 10
	// glassCp is the specific heat of borosilicate glass, J/(g K) (maker's data
	// sheet), glassShare the mass of a flask for each mL of its size, g (catalogue
	// weights of 100 mL to 2 L flasks, common practice).
	glassCp, glassShare = 0.8, 0.35
)

// WallArea is the surface of a sphere that holds a volume (mL), m².
func WallArea(ml float64) float64 { return math.Cbrt(36*math.Pi) * math.Pow(ml*1e-6, 2.0/3) }

// TimeConstant is how long a body takes to lose 63 % of its distance to a bath,
// min: τ = C/(U·A), Newton's law of cooling. C in J/K, U in W/(m² K), A in m².
func TimeConstant(jPerK, u, area float64) float64 { return jPerK / (u * area) / 60 }

// CoolingTime is how long a body with a time constant (min) takes from a start
// to an end temperature in surroundings at a third, °C: Newton's law of cooling,
// t = τ·ln((T0−Ts)/(T−Ts)). It is +Inf where the surroundings do not reach.
func CoolingTime(tau, from, to, around float64) float64 {
	a, b := (from-around)/(to-around), to-around
	switch {
	case from == to:
		return 0
	case b == 0 || a <= 0:
		return math.Inf(1)
	case a < 1:
		return 0
	}
	return tau * math.Log(a)
}

// CooledTo is the temperature reached after some minutes, same source as
// CoolingTime.
func CooledTo(tau, from, around, minutes float64) float64 {
	return around + (from-around)*math.Exp(-minutes/tau)
}

// timeConstant is that of a vessel in a bath or in air, min.
func (v *vessel) timeConstant(u float64) Num {
	ml := v.volume()
	if v.blur != "" {
		return Missing(v.blur)
	}
	if ml <= 0 {
		return Missing("the liquid in " + v.name)
	}
	c := v.heatCapacity()
	if v.size.Known {
		c += v.size.V * glassShare * glassCp * math.Min(1, ml/v.size.V)
	}
	why := "a stirred glass flask in a bath, 200 W/(m² K)"
	if u == airU {
		why = "a glass flask in still air, 10 W/(m² K)"
	}
	return Assume(TimeConstant(c, u, WallArea(ml)), why)
}

// closeEnough is how close to a target counts as there, K: what a thermometer in a
// class is read to (common practice).
const closeEnough = 2

// reach fills the facts on the time that a change of temperature takes: the time
// constant, the time until the target is as good as reached, and the temperature
// at the end of the time that is written. around is the bath's temperature.
func (v *vessel) reach(f *HeatingFacts, from, to, around float64, u float64) {
	f.TimeConstantMin = v.timeConstant(u)
	f.WallWatts = Missing(f.TimeConstantMin.Ask())
	if !f.TimeConstantMin.Known {
		f.ReachMin, f.ReachedC = f.TimeConstantMin, f.TimeConstantMin
		return
	}
	tau := f.TimeConstantMin
	f.WallWatts = Assume(u*WallArea(v.volume())*math.Abs(from-around), tau.Assumed())
	end := to
	if math.Abs(to-around) < closeEnough {
		end = around + math.Copysign(closeEnough, from-around)
	}
	f.ReachMin = Assume(0, tau.Assumed())
	if math.Abs(from-to) > closeEnough {
		t := CoolingTime(tau.V, from, end, around)
		if math.IsInf(t, 1) {
			f.ReachMin = Missing("a bath that reaches it")
		} else {
			f.ReachMin.V = t
		}
	}
	f.ReachedC = Missing("how long")
	if f.Minutes.Known {
		t := CooledTo(tau.V, from, around, f.Minutes.V)
		if (t-to)*(from-to) < 0 {
			t = to // the bath is taken off or set back there
		}
		f.ReachedC = Assume(t, tau.Assumed())
	}
}

// spelledC is a temperature written inside words, such as "until crystals
// appear, at about 125 °C".
func spelledC(text string) (float64, bool) {
	if !strings.Contains(text, "°") {
		return 0, false
	}
	words := strings.Fields(strings.ReplaceAll(text, ",", " "))
	for i, w := range words {
		for _, s := range [...]string{w, w + " " + next(words, i)} {
			if !strings.Contains(s, "°") {
				continue
			}
			if q, err := quantity.Parse(s); err == nil && q.Dim == quantity.Temperature && q.Known() && strings.ContainsAny(s, "0123456789") {
				return q.Value(), true
			}
		}
	}
	return 0, false
}

func next(words []string, i int) string {
	if i+1 < len(words) {
		return words[i+1]
	}
	return ""
}

// condensed reports a gas that lies there as a liquid of its own: liquid
// ammonia, condensed butadiene. What is merely dissolved is not.
func (p portion) condensed() bool {
	return p.sp.gas && p.ml > 0.5 && p.from != "dissolved" && p.sp.bp.Known && p.sp.bp.V > -120 && !p.sp.is("cryogen")
}

// hvap is the heat of vaporisation, kJ/mol: the compendium's, else by Trouton's
// rule, 85 J/(mol K) times the boiling point (Atkins, Physical Chemistry: about 85
// for ordinary liquids), which errs low for liquids with hydrogen bonds and so
// high for the vapour.
func (sp *species) hvap() Num {
	if sp.sub != nil {
		if h := value(sp.sub.HeatOfVaporisation); h.Known {
			switch sp.sub.HeatOfVaporisation.Unit {
			case "kJ/mol":
				return h
			case "J/mol":
				return Got(h.V / 1000)
			}
		}
	}
	if sp.bp.Known && sp.bp.V > -200 {
		return Assume(0.085*(sp.bp.V+zeroC), "heat of vaporisation by Trouton's rule")
	}
	return Missing("the heat of vaporisation of " + sp.name)
}

// Evaporated is the amount of liquid, mmol, that heat (kJ) turns into vapour at
// its boiling point: n = Q/ΔHvap (kJ/mol). Stoessel, Thermal Safety of Chemical
// Processes, chapter 5, the boiling point as a barrier.
func Evaporated(kJ, hvap float64) float64 { return kJ / hvap * 1000 }

// boiler is the liquid that boils first there: the one whose own boiling point
// is lowest among what makes up a tenth of the liquid or more.
func (v *vessel) boiler() *portion {
	var best *portion
	total := v.volume()
	for i := range v.contents {
		p := &v.contents[i]
		if !p.sp.liquid && !p.condensed() || p.ml < 0.1*total || !p.sp.bp.Known {
			continue
		}
		if best == nil || p.sp.bp.V < best.sp.bp.V {
			best = p
		}
	}
	return best
}

// atTheBoil reports a vessel whose liquid boils as it stands and may do so: a
// condensed gas at its boiling point, or a solvent at reflux under a condenser.
func (v *vessel) atTheBoil() bool {
	p := v.boiler()
	if p == nil || v.conn == connSealed {
		return false
	}
	if p.condensed() {
		return v.tC > p.sp.bp.V-3
	}
	bp, ok := v.bubblePoint(Atm)
	return ok && v.condenser && v.refluxed && v.tC > bp-3
}

// evaporation books heat (kJ) that goes into boiling, not into a rise: what is
// left after the contents have come to the boil, as litres of vapour.
func (v *vessel) evaporation(kJ float64) (name string, litres, ml float64, why string, ok bool) {
	p := v.boiler()
	if p == nil || kJ <= 0 {
		return "", 0, 0, "", false
	}
	h := p.sp.hvap()
	if !h.Known || h.V <= 0 {
		return "", 0, 0, "", false
	}
	n := math.Min(Evaporated(kJ, h.V), p.mmol)
	return p.sp.name, GasLitres(n), p.ml * n / math.Max(p.mmol, trace), h.Assumed(), true
}

// warming is how long a step without a written time takes to change the
// temperature, for the clock; none where it cannot be known.
func (b *Bench) warming(s *procedure.Step) (float64, bool) {
	t, ok := b.reachMin[s.N]
	return t, ok
}

// settle works out how long a step takes to bring a vessel to its target, and
// books that on the clock where the step states no time. A cooling bath stands at
// its coldest, a heating bath at its own figure or 20 K above the target (common
// practice), the room where there is none.
func (b *Bench) settle(s *procedure.Step, v *vessel, f *HeatingFacts, from, to float64) {
	around, u := b.roomT(), float64(airU)
	switch {
	case f.BathC.Known:
		around, u = f.BathC.V, bathU
	case f.Bath != "" && !has(f.Bath, "room temperature", "ambient", "vacuum"):
		u = bathU
		switch {
		case to < from && f.BathLowC.Known:
			around = math.Min(f.BathLowC.V, to)
		case to > from:
			around = to + 20
		default:
			around = to
		}
	case to > from && to > b.roomT()+3:
		around, u = to+20, bathU // heated by what is not named
	case to < b.roomT()-3:
		around, u = to, bathU // cooled by what is not named
	}
	v.reach(f, from, to, around, u)
	v.bathC = Missing("the bath")
	if u == bathU {
		v.bathC = Got(around)
	}
	wants := s.Verb.Name == "cool" || s.Verb.Name == "heat" || s.Verb.Name == "warm" || s.Verb.Name == "reflux"
	if wants && f.ReachMin.Known && f.ReachMin.V > 0 && !minutes(s).Known {
		b.reachMin[s.N] = f.ReachMin.V
		b.waiting += f.ReachMin.V
	}
}

// boils turns the heat of an addition into vapour where the contents are at the
// boil and may boil: a condensed gas, or a solvent under a condenser.
func (b *Bench) boils(dest *vessel, kJ float64, f *AdditionFacts) {
	f.VapourLPerMin = Missing(f.OverMin.Ask())
	rise := &f.RiseK
	if f.Starts {
		rise = new(Num) // the whole batch is judged, not what boils here
	}
	f.Boils, f.VapourL, f.BoilsOffML = dest.boilsWith(kJ, rise)
	if f.Boils == "" {
		return
	}
	if f.OverMin.Known && f.OverMin.V > 0 {
		f.VapourLPerMin = Num{V: f.VapourL.V / f.OverMin.V, Known: true, Note: f.VapourL.Assumed()}
	}
}

// boilsWith is what heat (kJ) does to a vessel at the boil: which liquid goes,
// litres of its vapour, mL of it. A condensed gas holds its
// boiling point while half of the liquid stays, whatever comes: there is no rise.
// Under a condenser the rise is left as the measure of what has to boil away.
func (v *vessel) boilsWith(kJ float64, rise *Num) (name string, vapour, ml Num) {
	if !v.atTheBoil() {
		return "", Got(0), Got(0)
	}
	name, l, off, why, ok := v.evaporation(kJ)
	if !ok {
		return "", Got(0), Got(0)
	}
	if off < 0.5*v.volume() && v.boiler().condensed() {
		*rise = Assume(0, "the heat goes into boiling "+name)
	}
	return name, Num{V: l, Known: true, Note: why}, Num{V: off, Known: true, Note: why}
}

// drift lets hot vessels whose bath was taken away cool in the air for as long
// as the step says, by Newton's law; a step without a time takes none.
func (b *Bench) drift(s *procedure.Step) {
	for _, v := range b.vessels {
		if !v.adrift {
			continue
		}
		m, tau := minutes(s), v.timeConstant(airU)
		if v.volume() <= 0 || !tau.Known {
			v.adrift, v.tC = false, b.roomT()
			continue
		}
		if m.Known {
			v.tC = CooledTo(tau.V, v.tC, b.roomT(), m.V)
		}
		v.adrift = v.tC > b.roomT()+5
	}
}

// HeatedTo is the temperature of a stirred flask after minutes of even heating
// (W) in a bath: C·dT/dt = W − U·A·(T−Ts), so
// T = Ts + W/(U·A) + (T0 − Ts − W/(U·A))·exp(−t/τ). Lumped heat balance of a
// semi-batch vessel: Stoessel, Thermal Safety of Chemical Processes, chapter 2.
func HeatedTo(from, around, watts, wattsPerK, tau, minutes float64) float64 {
	end := around + watts/wattsPerK
	return end + (from-end)*math.Exp(-minutes/tau)
}

// peakTemperature is what an addition brings its vessel to: the whole rise
// where it goes in at once, the heat balance of wall and rate where a time is
// written; never over the boiling point. heat in kJ.
func (b *Bench) peakTemperature(s *procedure.Step, v *vessel, f *AdditionFacts) {
	f.PeakC = b.ask("how long the addition of ", f.Material.Name, " takes")
	if !f.HeatKJ.Known || !f.RiseK.Known || v.blur != "" {
		f.PeakC = Missing(word(f.HeatKJ.Ask(), f.RiseK.Ask()))
		return
	}
	bath := v.bathC
	if s.Bath.Is() || s.At != nil && s.At.Known() {
		bath = Missing("the bath")
		for _, r := range bathRanges {
			if has(s.Bath.S, r.word) {
				bath = Got(r.low)
				break
			}
		}
		if s.At != nil && s.At.Known() && !bath.Known {
			bath = Got(s.At.Value())
		}
	}
	around, u, why := b.roomT(), float64(airU), "in still air, 10 W/(m² K)"
	if bath.Known {
		around, u, why = bath.V, bathU, "in its bath, 200 W/(m² K)"
	}
	top := math.Inf(1)
	if bp, ok := v.bubblePoint(Atm); ok {
		top = math.Max(bp, v.tC)
	}
	tau := v.timeConstant(u)
	switch {
	case f.AtOnce:
		f.PeakC = Assume(math.Min(top, v.tC+f.RiseK.V), "all the heat at once")
	case f.OverMin.Known && f.OverMin.V > 0 && tau.Known:
		t := HeatedTo(v.tC, around, f.HeatKJ.V*1000/(f.OverMin.V*60), u*WallArea(v.volume()), tau.V, f.OverMin.V)
		f.PeakC = Assume(math.Min(top, math.Max(t, v.tC)), "an even rate "+why)
	}
}
