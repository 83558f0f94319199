package bench

import (
	"sync"

	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
	"ketyl/checker/substance"
)

// roomTable is rules/reference/room.yaml: the gas that a store of it gives.
type roomTable struct {
	Sources  map[string]substance.Source `yaml:"sources"`
	Liquids  map[string]store            `yaml:"liquids"`
	Solids   map[string]store            `yaml:"solids"`
	Cylinder map[string]struct {
		Value  float64  `yaml:"value"`
		Note   string   `yaml:"note"`
		Source []string `yaml:"source"`
	} `yaml:"cylinder"`
}

// store is a liquid or solid that boils away: litres of gas per litre, or m³
// per kg, at 20 °C and 1 atm.
type store struct {
	Names  []string `yaml:"names"`
	Gas    float64  `yaml:"gas"`
	Source []string `yaml:"source"`
}

var loadRoom = sync.OnceValue(func() *roomTable {
	t := &roomTable{}
	mustRead("reference/room.yaml", t)
	return t
})

// gasOf is the gas, m³ at 20 °C and 1 atm, of a volume, mL, or mass, g, of what
// a text calls by these words; 0 where it is no such store.
func (t *roomTable) gasOf(words string, ml, g float64) float64 {
	for _, l := range t.Liquids {
		if ml > 0 && has(words, l.Names...) {
			return ml * l.Gas / 1e6
		}
	}
	for _, d := range t.Solids {
		if g > 0 && has(words, d.Names...) {
			return g * d.Gas / 1000
		}
	}
	return 0
}

// cylinderGas is the gas in a cylinder, m³: the size is its water volume, or
// the gas itself where it is more than any cylinder's.
func (t *roomTable) cylinderGas(row *procedure.Apparatus) float64 {
	const largest = 1e6 // mL; transportable cylinders hold up to 150 L of water
	if row.Size.High > largest {
		return row.Size.High / 1e6
	}
	bar := t.Cylinder["bar"].Value
	if row.Pressure != nil && row.Pressure.Known() && row.Pressure.High > 5000 {
		bar = row.Pressure.High / Atm
	}
	return row.Size.High * bar / 1e6
}

// roomOxygen finds what would be left of the room's oxygen if the largest store
// of gas emptied into it: a cylinder or Dewar of the apparatus list, or the
// cryogen that the whole section takes. Of several cylinders one empties; of several
// Dewars all do.
func (b *Bench) roomOxygen(f *ProcedureFacts) {
	room := figure(b.site.Room, 200)
	t := loadRoom()
	worst := 0.0
	take := func(m3 float64, name string) {
		if m3 > worst {
			worst, f.RoomSource = m3, name
		}
	}
	for _, p := range b.pieces {
		if p.row == nil || p.row.Size == nil || !p.row.Size.Known() {
			continue
		}
		var ml, g float64
		switch p.row.Size.Dim {
		case quantity.Volume:
			ml = p.row.Size.High
		case quantity.Mass:
			g = p.row.Size.High
		}
		if m3 := t.gasOf(p.kind+" "+p.row.Fill.S+" "+p.name, ml, g); m3 > 0 {
			name := p.name
			if n := p.row.Count; n != nil && n.Known() && n.High > 1 {
				m3 *= n.High // they stand open and boil away together
				name = "all " + quantity.FormatNumber(n.High) + " of " + name
			}
			take(m3, name)
		} else if p.class == "line" && has(p.kind, "cylinder") && p.row.Size.Dim == quantity.Volume {
			take(t.cylinderGas(p.row), p.name)
		}
	}
	for _, m := range b.materials {
		if m3 := t.gasOf(m.row.Substance.S+" "+m.name, m.ml.V, m.g.V); m3 > 0 {
			name := m.name
			if n := b.students(); n > 1 {
				m3 *= n
				name += " of all students"
			}
			take(m3, name)
		}
	}
	if worst <= 0 {
		return
	}
	f.RoomOxygen = Assume(RoomOxygen(room, worst), "room of the site file, no ventilation")
	f.RoomOxygenHour = Missing("the air changes of the room")
	if n := figure(b.site.AirChanges, 0); n > 0 {
		f.RoomOxygenHour = Assume(RoomOxygenVented(room, n, worst), "emptied evenly within an hour, "+quantity.FormatNumber(n)+" air changes an hour")
	}
}
