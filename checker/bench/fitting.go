package bench

import (
	"math"
	"strings"

	"ketyl/checker/procedure"
)

// fitting fits, removes, starts and stops things.
func (b *Bench) fitting(s *procedure.Step, v *vessel) {
	obj := strings.ToLower(joined(s.Object))
	place := v
	for _, t := range concat(s.To, s.On, s.In, s.From) {
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
	if has(obj, "pump") {
		switch s.Verb.Name {
		case "start":
			b.pumpOn = true
		case "stop":
			b.pumpOn, b.trapIsolated = false, true
		}
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
			place.outlet, place.outletSaid = stated(s.Outlet), true
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
			if place.tC > b.roomT()+20 && place.volume() >= 100 {
				place.adrift = true // a quarter of a litre stays hot for an hour
			} else {
				place.tC = b.roomT()
			}
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
