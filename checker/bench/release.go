package bench

import (
	"slices"
	"strings"

	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
)

// releases reports each gas that left, by its vessel; one of unknown amount too.
func (b *Bench) releases(s *procedure.Step, dest *vessel, o outcome, cause string, f *AdditionFacts) {
	for _, name := range o.unsized {
		r := b.release(s, dest, name, 0, cause)
		r.Litres, r.Mmol, r.LPerMin, r.PeakLPerMin = Missing(o.ask), Missing(o.ask), Missing(o.ask), Missing(o.ask)
		r.PressureBar, r.ScrubRatio, r.OutletMbar = Missing(o.ask), Missing(o.ask), Missing(o.ask)
		if dest.vented() && (dest.scrub == nil || dest.outlet != "") {
			r.OutletLPerMin = b.wayOut(dest, name).lpm
		}
		b.emit(Event{Kind: "release", Facts: r, Cause: b.join("gas from ", dest.name, "")})
	}
	for _, name := range o.gasOrder {
		mmol := o.gas[name]
		if mmol < 0.05 || slices.Contains(o.unsized, name) {
			continue
		}
		r := b.release(s, dest, name, mmol, cause)
		if f != nil && f.OverMin.Known && f.OverMin.V > 0 {
			r.LPerMin = Got(r.Litres.V / f.OverMin.V)
		}
		if m := minutes(s); f == nil && s.Verb.Name == "warm" && m.Known && m.V > 0 {
			r.LPerMin = Assume(r.Litres.V/(m.V*warmingShare), "all of it in a third of the time")
		}
		if f != nil && f.Portions.Known && f.Portions.V >= 1 {
			r.GasPerPortL = Got(r.Litres.V / f.Portions.V)
		}
		b.throughOutlet(r, dest, f)
		b.emit(Event{Kind: "release", Facts: r, Cause: b.join("gas from ", dest.name, "")})
		if dest.conn == connSealed {
			dest.sealGasMmol += mmol
			b.closure(dest, "gas", s)
		}
	}
}

// warmingShare is the part of a warming in which its gas is taken to come
// (common practice: a flask in a bath comes to its temperature in the first
// third of half an hour).
const warmingShare = 1.0 / 3

var toxicGases = []string{"hydrogen chloride", "hydrogen bromide", "hydrogen cyanide", "hydrogen sulfide", "sulfur dioxide", "carbon monoxide", "ammonia", "phosphine", "nitrogen dioxide", "chlorine", "phosgene", "diborane", "hydrogen iodide", "hydrogen fluoride", "hydrazoic acid", "bromomethane"}

var flammableGases = []string{"hydrogen", "methane", "ethane", "propane", "butane", "isobutane", "ethylene", "propene", "acetylene", "ammonia", "hydrogen sulfide", "carbon monoxide", "phosphine", "diborane"}

func isToxic(gas string) bool {
	return slices.Contains(toxicGases, strings.ToLower(gas)) || has(gas, "hcl", "hbr") && len(gas) < 5
}

func (b *Bench) release(s *procedure.Step, v *vessel, gas string, mmol float64, cause string) *ReleaseFacts {
	r := &ReleaseFacts{Gas: gas, Mmol: Got(mmol), Litres: Got(GasLitres(mmol)), LPerMin: Missing("the time over which the gas comes"), Vessel: b.facts(v), Cause: cause,
		PeakLPerMin: Missing("the time over which the gas comes"), OutletLPerMin: b.ask("the way out of ", v.name, ""), OutletMbar: Missing("the time over which the gas comes"), PressureBar: b.ask("the size of ", v.name, ""), ScrubRatio: Missing("the absorbent in the scrubber"), ScrubberML: Missing("a scrubber"), TrapML: Missing("an empty trap before the scrubber"), GasPerPortL: Missing("the number of portions")}
	if v.gasStep != s.N {
		v.gasStep, v.gasMmol = s.N, 0
	}
	v.gasMmol += mmol
	r.Toxic = isToxic(gas)
	r.Flammable = slices.Contains(flammableGases, strings.ToLower(gas)) || has(gas, "hydrocarbon")
	if h := v.headspaceAt(max(v.tC, volumeC)); h.Known {
		r.PressureBar = Num{V: PressureBar(h.V, v.tC, v.tC, mmol, v.vapourMbar(v.tC), v.vapourMbar(v.tC)), Known: true, Note: h.Assumed()}
	}
	r.Scrubbed = v.scrub != nil
	if v.scrub != nil {
		if v.scrub.mmol.Known && mmol > 0 {
			r.ScrubRatio = Got(v.scrub.mmol.V / mmol)
		} else {
			r.ScrubRatio = Missing(v.scrub.mmol.Ask())
		}
		r.ScrubberML, r.TrapML = v.scrub.ml, v.scrub.trapML
		r.SuckBack = v.scrub.suck && (v.liveEq() > 0 || len(v.waterTakers()) > 0)
	}
	if r.Scrubbed = r.Scrubbed || v.absorbs > 0 && causticTakes(gas) > 0; v.absorbs > 0 && v.scrub == nil && causticTakes(gas) > 0 && mmol > 0 {
		// poured into an excess of caustic it gives its gas to the caustic; half of
		// that is kept for what comes off beside it
		r.ScrubRatio = Got(v.absorbs / 2 / (causticTakes(gas) * mmol))
	}
	r.Hood = b.hoodNamed(s)
	defer func() { b.lastGas(gas, mmol) }()
	r.Narrow = v.narrow || has(v.outlet, "needle", "capillary")
	b.gasTotal += mmol
	switch {
	case sameName(gas, "hydrogen"):
		b.actAt("hydrogen", "this step", s)
	case sameName(gas, "carbon monoxide"):
		b.actAt("carbon monoxide", "this step", s)
	case r.Toxic:
		b.actAt("toxic gas", gas, s)
	}
	return r
}

func (b *Bench) hoodNamed(s *procedure.Step) bool {
	if b.p.Protection != nil && isTrue(b.p.Protection.Hood) {
		return true
	}
	text := s.Note.S + joined(s.In) + s.Protection.S
	for _, c := range s.Cautions {
		text += c.Say.S
	}
	for _, c := range b.p.Cautions {
		text += " " + c.Say.S
	}
	return has(text, "hood", "fume cupboard", "fume-cupboard")
}

// hood says whether the page names a hood, and what is on it that wants one: a
// gas that poisons, what can catch fire in air, vapour that poisons or brings
// tears. What is handled by less than a millimole is left out.
func (b *Bench) hood() (named string, needs []string) {
	if q := b.p.Protection; q != nil && q.Hood != nil {
		named = map[bool]string{true: "yes", false: "no"}[*q.Hood]
	}
	words := func(t string) {
		if named == "" && has(t, "hood", "fume cupboard", "fume-cupboard", "glovebox") && !has(t, "no hood", "without a hood", "no fume") {
			named = "yes"
		}
	}
	for _, c := range b.pageCautions() {
		words(c.say)
	}
	for _, e := range b.p.Emergency {
		words(e.Do.S)
	}
	for _, s := range b.p.Steps {
		if named != "" {
			break
		}
		words(s.Note.S + " " + joined(s.In) + " " + joined(s.Object) + " " + joined(s.Into) + " " + s.Protection.S + " " + s.Outlet.S)
		named = word(named, map[bool]string{true: "yes"}[s.Verb.Name == "introduce"])
	}
	for _, h := range b.hazards {
		if h.mmol.Known && h.mmol.V < 1 || !h.mmol.Known && h.act {
			continue
		}
		wants := false
		switch {
		case h.topic == "pyrophoric" && !h.act, h.topic == "lachrymator":
			wants = true
		case h.topic == "toxic gas" && h.act, h.topic == "carbon monoxide" && h.act:
			wants = true
		case h.topic == "toxic" || h.topic == "carcinogen":
			sp := b.lookup(h.of)
			volatile := sp != nil && (sp.gas || sp.bp.Known && sp.bp.V < 150)
			for _, c := range h.codes {
				wants = wants || volatile && (c == "H330" || c == "H331" || c == "H350" || c == "H340")
			}
		}
		of := h.of
		if h.act && h.topic == "carbon monoxide" {
			of = h.topic
		}
		if wants && !slices.Contains(needs, of) {
			needs = append(needs, of)
		}
	}
	return named, needs
}

// lastGas gives the hazards of a release its amount.
func (b *Bench) lastGas(gas string, mmol float64) {
	if mmol <= 0 {
		return
	}
	for i := range b.hazards {
		h := &b.hazards[i]
		if !h.act || b.step == nil || h.step != b.step.N {
			continue
		}
		if h.topic == strings.ToLower(gas) || h.topic == "toxic gas" && sameName(h.of, gas) {
			if !h.mmol.Known || h.mmol.V < mmol {
				h.mmol = Got(mmol)
				h.amount = quantity.Format(mmol, quantity.Amount)
			}
		}
	}
}

// causticTakes is how much hydroxide one mol of an acid gas takes; 0 for a gas
// that caustic does not hold.
func causticTakes(gas string) float64 {
	switch strings.ToLower(gas) {
	case "hydrogen chloride", "hydrogen bromide", "hydrogen iodide", "hydrogen fluoride":
		return 1
	case "sulfur dioxide":
		return 2
	}
	return 0
}
