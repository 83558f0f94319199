package bench

import (
	"math"
	"strings"
	"testing"

	"ketyl/checker/quantity"
)

// The worst end of every range is judged, and the figure says so: full at the
// upper volume, lost at the lower strength, hot at the upper, thin at the upper
// pressure, few at the lower count. Written as its worst end alone it comes to the
// same; written as its middle it is less.
func TestWorstEndsOfRanges(t *testing.T) {
	run := func(ml, molar, mbar, cycles, at string) (fill, loss, rise, oxygen, tC, ratio Num) {
		tr := playText(t, `
materials:
  tetrahydrofuran: {amount: `+ml+` mL, water: 60 ppm}
  n-butyllithium: {solution: `+molar+` M in hexanes, amount: 5 mL}
  benzaldehyde: {amount: 2 g}
  methanol: {amount: 5 mL}
apparatus:
  flask: {kind: round-bottom flask, size: 50 mL, necks: 3, dry: true}
  other: {kind: round-bottom flask, size: 50 mL, necks: 3, dry: true}
  line: {kind: inert gas line, gas: argon, purity: 99.99999 %, relief: bubbler}
steps:
  - {backfill: flask, with: argon, from: line, vacuum: `+mbar+` mbar, cycles: `+cycles+`}
  - {add: tetrahydrofuran, to: flask, by: syringe}
  - {cool: flask, to: `+at+` °C, bath: ice}
  - {add: n-butyllithium, to: flask, by: syringe, over: 10 min}
  - {quench: flask, with: methanol, over: 10 min}
`)
		add := eventsOf[*AdditionFacts](tr)
		q := eventsOf[*QuenchFacts](tr)[0]
		var cooled *HeatingFacts
		for _, h := range eventsOf[*HeatingFacts](tr) {
			if h.Verb == "cool" {
				cooled = h
			}
		}
		return add[1].FillAfter, eventsOf[*WaterFacts](tr)[0].LossPercent, q.HeatKJ, add[1].Vessel.OxygenPPM, cooled.TargetC, q.Ratio
	}
	fill, loss, _, oxygen, tC, ratio := run("15–20", "1.4–1.6", "10–50", "1–2", "0 to 5")
	fillW, _, _, oxygenW, tCW, _ := run("20", "1.5", "50", "1", "5")
	_, lossW, _, _, _, _ := run("17.5", "1.4", "50", "1", "5")
	_, _, _, _, _, ratioW := run("17.5", "1.6", "50", "1", "5")
	for _, w := range []struct {
		what      string
		got, want Num
		end       string
	}{
		{"fill", fill, fillW, "upper end of 15–20 mL"}, {"loss", loss, lossW, "lower end of 1.4–1.6 M"}, {"ratio", ratio, ratioW, "upper end of 1.4–1.6 M"},
		{"oxygen", oxygen, oxygenW, ""}, {"temperature", tC, tCW, "upper end of 0 to 5 °C"},
	} {
		near(t, w.what, w.got.V, w.want.V, 0.005)
		if !strings.Contains(w.got.Assumed(), w.end) || w.want.Assumed() != "" && w.end != "" && strings.Contains(w.want.Assumed(), "end of") {
			t.Errorf("%s: says %q, a single figure %q", w.what, w.got.Assumed(), w.want.Assumed())
		}
	}
}

func TestEndsOf(t *testing.T) {
	for text, want := range map[string]ends{
		"15–20 mL":      {15 / 17.5, 20 / 17.5, "15–20 mL"},
		"1.4-1.6 M":     {1.4 / 1.5, 1.6 / 1.5, "1.4-1.6 M"},
		"20 mL":         {1, 1, ""},
		"at least 5 mL": {1, 1, ""},
		"0 mL":          {1, 1, ""},
	} {
		q, err := quantity.Parse(text)
		if err != nil {
			t.Fatal(err)
		}
		got := endsOf(q)
		if math.Abs(got.low-want.low) > 1e-9 || math.Abs(got.high-want.high) > 1e-9 || got.raw != want.raw {
			t.Errorf("%s: %+v, want %+v", text, got, want)
		}
	}
}

// A range of temperature freezes at its cold end.
func TestFreezesAtTheColdEnd(t *testing.T) {
	for at, want := range map[string]bool{"5 to 15": true, "12 to 15": false, "5": true} {
		tr := playText(t, "\nmaterials:\n  benzene: {amount: 50 mL}\napparatus:\n  flask: {kind: round-bottom flask, size: 100 mL}\nsteps:\n  - {add: benzene, to: flask}\n  - {cool: flask, to: "+at+" °C, bath: ice}\n")
		if f := eventsOf[*HeatingFacts](tr)[0]; f.Frozen != want {
			t.Errorf("%s °C: frozen %v", at, f.Frozen)
		}
	}
}

// A quench written at a range comes up along it: the mixture ends at its warm end.
// A narrow range is what a bath swings by, and its middle counts.
func TestWideRangeEndsWarm(t *testing.T) {
	for at, want := range map[string]float64{"-78 to 0 °C": 0, "-78 °C": -78, "0 to 5 °C": 2.5, "-20 to 20 °C": 20} {
		tr := playText(t, `
materials:
  n-butyllithium: {solution: 1.6 M in hexanes, amount: 10 mL}
  ammonium chloride: {solution: saturated in water, amount: 20 mL}
apparatus: {flask: {kind: round-bottom flask, size: 100 mL, dry: true}}
steps:
  - {add: n-butyllithium, to: flask}
  - {cool: flask, to: -78 °C, bath: dry ice / acetone}
  - {quench: flask, with: ammonium chloride, over: 10 min, at: `+at+`}
  - {separate: flask}
`)
		if got := eventsOf[*WorkupFacts](tr); len(got) == 0 || got[len(got)-1].TemperatureC.V != want {
			t.Errorf("%s: leaves %v, want %v °C", at, got, want)
		}
	}
}
