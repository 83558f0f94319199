package bench

import (
	"math"
	"slices"
	"strings"

	"ketyl/checker/procedure"
)

// closeTransfers marks the tools of earlier transfers as rinsed and made safe.
func (b *Bench) closeTransfers(name string) {
	for _, o := range b.openTransfers {
		if o.ev.Rinsed {
			continue
		}
		if b.isTool(o, name) {
			o.ev.Rinsed = true
			if b.step != nil && len(b.step.With) > 0 {
				o.ev.RinsedWith = b.step.With[0].S
				if sp := b.liquidOf(b.step.With[0].S); sp != nil {
					o.ev.RinsedWith = sp.name
				}
			}
		}
	}
}

// rinse washes apparatus into a vessel or into waste.
func (b *Bench) rinse(s *procedure.Step) {
	var dest *vessel
	for _, t := range concat(s.To, s.Into) {
		if b.isContainer(t.S) {
			continue
		}
		dest = b.place(t, true)
		break
	}
	if dest == nil && len(s.Into) > 0 && b.isContainer(s.Into[0].S) {
		// rinsed straight into a waste container: residue and rinse meet there
		dest = b.newVessel("rinse of "+joinNames(s.Object), nil)
		dest.kind = "rinse"
		defer func() {
			b.discardOne(s, procedure.Text{S: dest.name, Span: s.Head})
		}()
		for _, o := range s.Object {
			if src := b.place(o, false); src != nil {
				for _, p := range src.pourOut(1) {
					dest.put(p)
				}
			}
		}
	}
	for _, o := range s.Object {
		p := b.pieceNamed(o.S)
		if p == nil || len(b.trapped[p]) == 0 || len(s.With) == 0 {
			continue
		}
		to := dest
		if to == nil {
			to = b.place(o, false)
		}
		if to == nil {
			continue
		}
		b.bring(b.trapped[p])
		for _, q := range b.trapped[p] {
			to.put(q) // there before the rinse meets it
		}
		delete(b.trapped, p)
		if to.piece != nil { // rinsed in itself
			dest = to
		}
	}
	moved := false
	for _, o := range s.Object {
		film := b.filmOf(o.S)
		b.closeTransfers(o.S)
		src := b.place(o, false)
		if src != nil && src.piece != nil {
			src.piece.used = true
		}
		if dest == nil && len(s.Into) == 0 {
			if g, ok := s.Gives[""]; ok {
				dest = b.vesselNamed(g.S)
				if dest == nil {
					dest = b.newVessel(g.S, nil)
					dest.kind = "rinse"
				}
			}
		}
		b.wetWith(src, s.With)
		b.wetAgain(s, src)
		into := src
		if dest != nil {
			into = dest
		}
		if into == nil {
			for _, t := range s.With {
				if m := b.material(t.S); m != nil {
					m.used = true
				}
			}
			continue
		}
		for _, t := range s.With {
			if into == src && src.liveEq() > 0 && b.isProtic(t.S) {
				b.quench(s, src)
				continue
			}
			if dest != nil {
				if !moved { // one amount for all that is rinsed
					b.move(s, t, dest)
				}
			} else if m := b.material(t.S); m != nil {
				m.used = true
				if m.sp.family == "water" {
					src.glass = "wet"
				}
			}
		}
		if dest != nil {
			b.bring(film) // drawn beyond what went over
			for _, p := range film {
				dest.put(p) // live there until it is destroyed
				dest.filmed = true
			}
		}
		if dest != nil && dest.alcoholTakes() {
			// what is rinsed into plenty of alcohol is destroyed there
			o := b.react(dest)
			b.releases(s, dest, o, "rinsing "+joinNames(s.Object), nil)
		}
		moved = moved || dest != nil
		if src != nil && dest != nil && src != dest && len(src.contents) > 0 {
			dest.comesFrom(src)
			for _, p := range src.pourOut(1) {
				dest.put(p)
			}
		}
	}
}

// plenty is the alcohol, mol per mol of what is live, that destroys a rinse at
// once (common practice).
const plenty = 20

// alcoholTakes reports live reagent in plenty of alcohol.
func (v *vessel) alcoholTakes() bool {
	live := v.liveEq()
	return live > 0 && v.mmolOf("alcohol") >= plenty*live
}

// cleansInto reports cleaning with a listed liquid that is led into a waste
// container: it is a rinse, and meets there what the container holds.
func (b *Bench) cleansInto(s *procedure.Step) bool {
	if len(s.Into) == 0 || !b.isContainer(s.Into[0].S) {
		return false
	}
	return slices.ContainsFunc(s.With, func(t procedure.Text) bool { return b.material(t.S) != nil })
}

// wetWith remembers the flammable liquid that a piece was rinsed with last,
// wherever the rinse went; water after it takes it away.
func (b *Bench) wetWith(v *vessel, with []procedure.Text) {
	if v == nil {
		return
	}
	for _, t := range with {
		sp := b.liquidOf(t.S)
		switch {
		case sp == nil:
		case sp.family == "water":
			v.rinsed = ""
		case sp.flash.Known && sp.flash.V < 23:
			v.rinsed = sp.name
		}
	}
}

func joinNames(ts []procedure.Text) string {
	var names []string
	for _, t := range ts {
		names = append(names, t.S)
	}
	return strings.Join(names, " and ")
}

func (b *Bench) isProtic(name string) bool {
	if m := b.material(name); m != nil {
		for _, p := range m.mix {
			if p.sp.family == "water" || p.sp.is("alcohol") {
				return true
			}
		}
		return m.sp.is("alcohol", "water")
	}
	if sp := b.lookup(name); sp != nil {
		return sp.is("alcohol", "water")
	}
	return false
}

// filmML is what a syringe with its needle, or a cannula, keeps when it is
// emptied, mL: 0.1 for syringes of up to 5 mL, 0.2 for larger ones and for a cannula
// (from memory: dead volume of hub and needle, and the film on the barrel), and
// never more than a tenth of what was moved.
func filmML(size Num, moved float64) float64 {
	ml := 0.2
	if size.Known && size.V <= 5 {
		ml = 0.1
	}
	return math.Min(ml, moved/10)
}

// film is what a transfer of a live liquid leaves in its tool. It is drawn beyond
// what is delivered, so that the ledger of the flask stays as it is written.
func (b *Bench) film(f *TransferFacts, l *lot, meth string) []portion {
	f.FilmML, f.FilmMmol = Got(0), Got(0)
	if meth != "syringe" && meth != "cannula" || l.ml() <= 0 {
		return nil
	}
	if l.blur != "" {
		f.FilmML, f.FilmMmol = Missing(l.blur), Missing(l.blur)
		return nil
	}
	ml := filmML(f.Tool.SizeML, l.ml())
	share := ml / l.ml()
	var out []portion
	live := 0.0
	for _, p := range l.portions {
		p.mmol, p.g, p.ml = p.mmol*share, p.g*share, p.ml*share
		if p.sp.live {
			live += p.mmol
		}
		out = append(out, p)
	}
	f.FilmML, f.FilmMmol = Assume(ml, "what hub, needle and barrel keep"), Assume(live, "what hub, needle and barrel keep")
	return out
}

// isTool reports the tool of a transfer under a name: of two pieces of the
// apparatus list each is itself, else the words of name and kind tell.
func (b *Bench) isTool(o *openTransfer, name string) bool {
	if p, q := b.pieceNamed(name), b.pieceNamed(o.tool); p != nil && p.row != nil && q != nil && q.row != nil {
		return p == q || p.class == "needle" && q.class == "syringe" // the needle of a syringe
	}
	name = b.kindOf(name)
	return sameName(o.tool, name) || has(name, o.tool) && o.tool != "" || has(name, "syringe", "needle", "cannula", "tool", "transfer", "funnel") && (has(o.tool, "syringe") && has(name, "syringe", "needle") || has(o.tool, "cannula") && has(name, "cannula", "needle") || has(o.tool, "funnel") && has(name, "funnel") || has(name, "tool"))
}

// filmOf takes what is still in the tools of a name.
func (b *Bench) filmOf(name string) []portion {
	var out []portion
	for _, o := range b.openTransfers {
		if !o.ev.Rinsed && b.isTool(o, name) {
			out = append(out, o.film...)
			o.film = nil
		}
	}
	return out
}
