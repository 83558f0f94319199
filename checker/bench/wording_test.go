package bench

import (
	"fmt"
	"math"
	"testing"
)

// lastState is the bench as it stands after the last step.
func lastState(t *testing.T, text string) StepState {
	t.Helper()
	tr := playText(t, text)
	return tr.Steps[len(tr.Steps)-1]
}

// The volume of a step that dissolves a solid is that of the liquid, and so is
// an amount that says of what it is; the volume of a liquid is its own.
func TestAmountOfTheSolvent(t *testing.T) {
	const rows = `
materials:
  benzophenone: {amount: 1.82 g}
  benzaldehyde: {amount: 1.06 g}
  thf: {substance: tetrahydrofuran, amount: 20 mL, grade: anhydrous}
apparatus:
  flask: {kind: round-bottom flask, size: 100 mL}
steps:
`
	for _, c := range []struct {
		name, step   string
		thf, benzald float64 // mmol: 5 mL and 20 mL of THF are 61 and 245 mmol
	}{
		{"a volume for a solid", "{dissolve: benzophenone, in: thf, amount: 5 mL, to: flask}", 61.2, 0},
		{"it says of what", "{dissolve: benzaldehyde, in: thf, amount: 5 mL of thf, to: flask}", 61.2, 10},
		{"by the substance's own name", "{dissolve: benzaldehyde, in: thf, amount: 5 mL of tetrahydrofuran, to: flask}", 61.2, 10},
		{"half of a liquid", "{dissolve: benzaldehyde, in: thf, amount: 0.53 g, to: flask}", 245, 5},
		{"nothing said", "{dissolve: benzaldehyde, in: thf, to: flask}", 245, 10},
	} {
		got := lastState(t, rows+"  - "+c.step+"\n").Vessels["flask"].Contents
		if n := got["tetrahydrofuran"]; math.Abs(n-c.thf) > 1 {
			t.Errorf("%s: %.1f mmol of THF, want %.1f", c.name, n, c.thf)
		}
		if n := got["benzaldehyde"]; math.Abs(n-c.benzald) > 0.2 {
			t.Errorf("%s: %.1f mmol of benzaldehyde, want %.1f", c.name, n, c.benzald)
		}
	}
}

// A gas that stands both among the products of an equation and as its gas
// comes off once: 10 mmol, and a little more from water on the glass.
func TestGasNamedTwice(t *testing.T) {
	const text = `
materials:
  sodium hydride: {solution: 60 %% w/w in mineral oil, amount: 0.48 g}
  benzyl alcohol: {amount: 1.08 g}
  thf: {substance: tetrahydrofuran, amount: 30 mL, grade: anhydrous}
apparatus:
  flask: {kind: round-bottom flask, size: 250 mL}
  bubbler: {kind: oil bubbler, on: flask}
  line: {kind: inert gas line, gas: nitrogen, relief: bubbler}
reactions:
  - {consumes: {sodium hydride: 1, benzyl alcohol: 1}, gives: {sodium benzyloxide: 1%s}, in: flask%s}
substances:
  sodium benzyloxide: {formula: C7H7NaO, family: alkoxide}
steps:
  - {blanket: flask, with: nitrogen, from: line, outlet: bubbler}
  - {add: thf, to: flask}
  - {add: sodium hydride, to: flask, under: nitrogen}
  - {add: benzyl alcohol, to: flask, over: 15 min}
`
	for _, c := range [][2]string{{", hydrogen: 1", ", gas: hydrogen"}, {", hydrogen: 1", ""}, {"", ", gas: hydrogen"}} {
		sum := 0.0
		for _, f := range eventsOf[*ReleaseFacts](playText(t, fmt.Sprintf(text, c[0], c[1]))) {
			sum += f.Mmol.V
		}
		if math.Abs(sum-10) > 1 {
			t.Errorf("%q %q: %.2f mmol of gas, want 10", c[0], c[1], sum)
		}
	}
}

// What does not boil stays in the pot of a still, under the residue's name and
// the pot's own.
func TestStillKeepsItsMetal(t *testing.T) {
	const text = `
materials:
  thf: {substance: tetrahydrofuran, amount: 500 mL, water: 50 ppm}
  sodium: {amount: 5 g}
apparatus:
  pot: {kind: round-bottom flask, size: 1 L}
  receiver: {kind: Schlenk flask, size: 500 mL}
  bubbler: {kind: oil bubbler, on: pot}
  line: {kind: inert gas line, gas: argon, relief: bubbler}
steps:
  - {blanket: pot, with: argon, from: line, outlet: bubbler}
  - {add: thf, to: pot, under: argon}
  - {add: sodium, to: pot, under: argon}
  - {distil: pot, into: receiver, under: argon, %sgives: {distillate: dry thf%s}}
`
	for _, c := range []struct {
		leave, res string
		ml         float64
	}{{"leave: 100 mL, ", ", residue: still residue", 100}, {"leave: 10 %, ", ", residue: still residue", 50}, {"", ", residue: still residue", 50}, {"", "", 0}} {
		got := lastState(t, fmt.Sprintf(text, c.leave, c.res)).Vessels
		if n := got["dry thf"].Contents["sodium"]; n != 0 {
			t.Errorf("%q: %.1f mmol of sodium went over", c.leave, n)
		}
		if n := got["pot"].Contents["sodium"]; n < 200 {
			t.Errorf("%q: %.1f mmol of sodium in the pot, want more than 200", c.leave, n)
		}
		if ml := got["pot"].VolumeML; ml == nil || math.Abs(*ml-c.ml) > 3 {
			t.Errorf("%q: %v mL in the pot, want %.0f", c.leave, ml, c.ml)
		}
	}
}

// A part of something, or what a vessel holds, is spoken of by that thing.
func TestWholeOf(t *testing.T) {
	for from, want := range map[string]string{"the rest of the n-BuLi": "n-BuLi", "the mixture in the flask": "flask", "remaining ether": "ether", "half of the solution": "solution",
		"the rest": "the rest", "theobromine": "theobromine", "restful of": "restful of", "contents of receiver": "receiver"} {
		if got := wholeOf(from); got != want {
			t.Errorf("%q is about %q, want %q", from, got, want)
		}
	}
	const text = `
materials:
  benzaldehyde: {amount: 1.06 g}
  ether: {substance: diethyl ether, amount: 30 mL}
apparatus:
  flask: {kind: round-bottom flask, size: 100 mL}
  beaker: {kind: beaker, size: 100 mL}
steps:
  - {add: ether, to: flask, amount: 10 mL}
  - {add: the rest of the ether, to: flask}
  - {pour: the mixture in the flask, to: beaker}
`
	if n := lastState(t, text).Vessels["beaker"].Contents["diethyl ether"]; math.Abs(n-289) > 3 { // 30 mL at 0.713 g/mL
		t.Errorf("%.0f mmol of ether in the beaker, want 289", n)
	}
}

// The temperature of a bath may stand with its name.
func TestBathTemperature(t *testing.T) {
	for bath, want := range map[string]float64{"oil bath at 130 °C": 130, "water bath, 45–50 °C": 50, "dry ice / acetone (-78 °C)": -78, "oil": math.NaN(), "": math.NaN()} {
		got, ok := bathTemperature(bath)
		if ok == math.IsNaN(want) || ok && math.Abs(got-want) > 0.01 {
			t.Errorf("%q: %g, %v; want %g", bath, got, ok, want)
		}
	}
}

func TestDoing(t *testing.T) {
	for verb, want := range map[string]string{"add": "adding", "acidify": "acidifying", "neutralise": "neutralising", "stir": "stirring", "distil": "distilling", "pour": "pouring", "destroy": "destroying"} {
		if got := doing(verb); got != want {
			t.Errorf("%s: found %q, expected %q", verb, got, want)
		}
	}
}
