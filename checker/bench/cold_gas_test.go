package bench

import (
	"fmt"
	"testing"
)

// A gas that a reaction makes stays in a cold liquid until that warms or is
// pumped on: bromomethane boils at 3.5 °C (CRC Handbook, recalled).
func TestColdKeepsGasUntilPumped(t *testing.T) {
	const head = `
materials:
  diethyl ether: {amount: 80 mL, grade: anhydrous}
  dibromide: {substance: "1,1-dibromocyclopropane", amount: 15 mmol}
  methyllithium: {solution: 1.6 M in diethyl ether, amount: 9.4 mL}
apparatus:
  flask: {kind: round-bottom flask, size: 250 mL, necks: 3}
reactions:
  - {consumes: {"1,1-dibromocyclopropane": 1, methyllithium: 1}, gives: {"1-bromo-1-lithiocyclopropane": 1, bromomethane: 1}, in: flask}
substances:
  "1,1-dibromocyclopropane": {formula: C3H4Br2, family: alkyl halide, phase: liquid, source: formula from the name}
  "1-bromo-1-lithiocyclopropane": {formula: C3H4BrLi, family: organolithium, source: formula from the name}
steps:
  - {charge: [diethyl ether, dibromide], to: flask}
  - {cool: flask, to: %s, bath: dry ice / acetone}
  - {add: methyllithium, to: flask, by: syringe, over: 30 min}
  - {evacuate: flask, vacuum: 0.1 mbar, for: 2 min}
`
	for _, c := range []struct {
		name, to string
		step     int
	}{
		{"cold: at the pump", "-78 °C", 4},
		{"warmer than it boils: at once", "20 °C", 3},
	} {
		t.Run(c.name, func(t *testing.T) {
			var got []int
			var mmol float64
			for _, e := range playText(t, fmt.Sprintf(head, c.to)).Events {
				if r, ok := e.Facts.(*ReleaseFacts); ok && r.Gas == "bromomethane" {
					got, mmol = append(got, e.Step), r.Mmol.V
				}
			}
			if len(got) != 1 || got[0] != c.step || mmol < 14 || mmol > 15.1 {
				t.Errorf("bromomethane leaves at steps %v, %.1f mmol; expected step %d, 15 mmol", got, mmol, c.step)
			}
		})
	}
}
