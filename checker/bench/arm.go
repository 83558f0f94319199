package bench

import (
	"math"
	"slices"

	"ketyl/checker/procedure"
)

// arm is an addition funnel whose pressure-equalising arm opens into the vessel
// that it stands on: with its top closed both are one gas space.
type arm struct {
	funnel, base *vessel
	closed       bool // a stopper or septum on its top
	since        int  // step that puts it on, 0 from the start
	top          int  // step that took its top off, 0 while it is on
}

// findArms reads the funnels with an arm off the apparatus table.
func (b *Bench) findArms() {
	for _, p := range b.pieces {
		if p.class != "funnel" || p.vessel == nil || p.row == nil || !isTrue(p.row.Equalised) && !has(p.kind, "equalis", "equaliz") {
			continue
		}
		base := b.under(p.on)
		if base == nil || base == p.vessel {
			continue
		}
		a := &arm{funnel: p.vessel, base: base, closed: isTrue(p.row.Stoppered)}
		for _, q := range b.pieces {
			a.closed = a.closed || q.on == p && q.class == "closure"
		}
		for _, s := range b.p.Steps {
			if (s.Verb.Name == "assemble" || s.Verb.Name == "fit") && slices.ContainsFunc(s.Object, func(t procedure.Text) bool { return sameName(t.S, p.name) }) {
				a.since = s.N
			}
		}
		b.arms = append(b.arms, a)
	}
}

// armOf gives the arm of a funnel, nil when it has none.
func (b *Bench) armOf(v *vessel) *arm {
	for _, a := range b.arms {
		if a.funnel == v {
			return a
		}
	}
	return nil
}

// shut reports that a funnel stands on its vessel with its top closed.
func (a *arm) shut(s *procedure.Step) bool { return a.closed && a.top == 0 && s.N >= a.since }

// shareGas gives each closed funnel the atmosphere of the vessel below it. What
// gas it had stays in it: a stream that passes the vessel does not pass the funnel.
func (b *Bench) shareGas(s *procedure.Step) {
	for _, a := range b.arms {
		f, v := a.funnel, a.base
		if !a.shut(s) || f.conn != connOpen && !f.shares {
			continue
		}
		switch v.conn {
		case connGas, connBalloon, connTube:
		default:
			if f.shares {
				f.conn, f.rank, f.outlet, f.shares = connOpen, 0, "", false
				f.how = "open to air"
			}
			continue
		}
		if f.shares && f.conn == v.conn && f.outlet == v.outlet && f.gasName == v.gasName {
			continue
		}
		f.conn, f.outlet, f.outletSaid, f.tubeFill = v.conn, v.outlet, v.outletSaid, v.tubeFill
		f.gasName, f.gasStated = v.gasName, v.gasStated
		f.rank = math.Max(math.Min(v.rank, 2), f.rank)
		if f.conn == connTube {
			f.rank = 1
		}
		if !f.shares {
			f.how = shutIn
		}
		f.shares = true
	}
}

// shutIn says where the gas of a funnel comes from through which none was led.
const shutIn = "the air it was closed with"

// pumpedThrough evacuates and refills with a vessel what its gas space joins: the
// closed funnel over it, or the vessel under a funnel.
func (b *Bench) pumpedThrough(w *vessel, p Num, s *procedure.Step) {
	for _, a := range b.arms {
		switch {
		case a.base == w && a.shut(s):
			f := a.funnel
			f.conn, f.supply, f.supplied, f.gasName, f.gasStated = w.conn, w.supply, w.supplied, w.gasName, w.gasStated
			f.outlet, f.outletSaid, f.rank, f.how, f.oxygenAsk = w.outlet, w.outletSaid, w.rank, w.how, w.oxygenAsk
			f.gases, f.cycles, f.vacuum, f.swept, f.shares = w.gases, w.cycles, w.vacuum, w.swept, true
		case a.funnel == w && s.N >= a.since && a.base.volume() > 0 && !slices.ContainsFunc(s.Object, func(t procedure.Text) bool { return sameName(t.S, a.base.name) }):
			b.overVacuum(a.base, p, s) // the arm leads the pump to what stands below
		}
	}
}

// sweptThrough passes the gas of a purge through a funnel that it leaves by.
func (b *Bench) sweptThrough(w *vessel, s *procedure.Step, supply *piece) {
	for _, a := range b.arms {
		if a.base != w || s.N < a.since {
			continue
		}
		through := false
		for q := b.pieceNamed(s.Outlet.S); q != nil && !through; q = q.on {
			through = q == a.funnel.piece
		}
		if !through && !has(s.Outlet.S, a.funnel.name) {
			continue
		}
		f := a.funnel
		before := b.airBefore(f)
		f.conn, f.outlet, f.outletSaid = connGas, w.outlet, true
		f.gasName, f.gasStated, f.supply = w.gasName, w.gasStated, w.supply
		f.rank = math.Max(f.rank, 2)
		b.sweepOut(f, s, supply, before)
		f.shares = a.closed
	}
}

// topOff notes that a funnel is opened at its top, or closed again.
func (b *Bench) topOff(v *vessel, step int) {
	if a := b.armOf(v); a != nil {
		a.top = step
		v.shares = v.shares && step == 0
	}
}
