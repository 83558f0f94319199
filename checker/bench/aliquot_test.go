package bench

import (
	"math"
	"strings"
	"testing"
)

// What is taken as a sample leaves the flask and is live where it goes, until
// it is destroyed there; nothing is made or lost by taking it.
func TestAliquotIsLive(t *testing.T) {
	const text = `
materials:
  n-butyllithium: {solution: 1.6 M in hexanes, amount: 20 mL}
  thf: {substance: tetrahydrofuran, amount: 60 mL, grade: anhydrous}
  methanol: {amount: 2 mL}
apparatus:
  flask: {kind: round-bottom flask, size: 250 mL, dry: true}
  vial: {kind: vial, size: 10 mL}
  bubbler: {kind: oil bubbler, on: flask}
  line: {kind: inert gas line, gas: nitrogen}
steps:
  - {backfill: flask, with: nitrogen, from: line, vacuum: 1 mbar, cycles: 3}
  - {blanket: flask, with: nitrogen, from: line, outlet: bubbler}
  - {add: thf, to: flask, by: syringe}
  - {cool: flask, to: -78 °C, bath: dry ice / acetone}
  - {add: n-butyllithium, to: flask, by: syringe}
  - {sample: flask, amount: AMOUNT, by: syringe, TAKEN}
  - {quench: PLACE, with: methanol}
`
	for _, test := range []struct {
		amount, taken string
		want          float64 // mmol in the sample: 32 mmol in 80 mL
	}{
		{"1 mL", "into: vial", 32. / 80},
		{"2 mL", "into: vial", 64. / 80},
		{"1 mL", "gives: {aliquot: the aliquot}", 32. / 80},
	} {
		place := "vial"
		if !strings.Contains(test.taken, "vial") {
			place = "the aliquot"
		}
		raw := strings.NewReplacer("PLACE", place, "AMOUNT", test.amount, "TAKEN", test.taken).Replace(text)
		tr := playText(t, raw)
		step := tr.Steps[5]
		live := map[string]float64{}
		for name, v := range step.Vessels {
			live[name] += v.LiveMmol["n-butyllithium"]
		}
		if math.Abs(live[place]-test.want) > 0.02*test.want {
			t.Errorf("%s %s: %.3f mmol live in %s, want %.3f", test.amount, test.taken, live[place], place, test.want)
		}
		if sum := live[place] + live["flask"]; math.Abs(sum-32) > 0.3 {
			t.Errorf("%s %s: %.2f mmol in both, want 32 less what solvent and glass took", test.amount, test.taken, sum)
		}
		for _, f := range eventsOf[*ExposureFacts](tr) {
			if f.Vessel.Name == place {
				t.Errorf("%s: an aliquot is judged as kept from air", test.taken)
			}
		}
		if left := tr.Steps[6].Vessels[place].LiveMmol["n-butyllithium"]; left > 1e-6 {
			t.Errorf("%v mmol of the sample in methanol are still live", left)
		}
	}
}
