package bench

import (
	"testing"

	"ketyl/checker/finding"
	"ketyl/checker/procedure"
	"ketyl/checker/substance"
)

// playText plays a fragment; what every procedure must say is put before it.
func playText(t *testing.T, text string) *Trace {
	t.Helper()
	raw := []byte("procedure: p\ntitle: t\nformat: 1\nsetting: research\n" + text)
	p, bad := procedure.Load("p.yaml", raw)
	for _, f := range bad {
		line, col := finding.NewSource("", raw).Position(f.Span.Start)
		t.Fatalf("%d:%d: %s", line, col, f.Message)
	}
	c, err := substance.Default()
	if err != nil {
		t.Fatal(err)
	}
	tr := Record(p, c, substance.DefaultSite())
	for _, f := range tr.Findings {
		t.Errorf("%s: %s", f.Rule, f.Message)
	}
	return tr
}

func eventsOf[T any](tr *Trace) []T {
	var out []T
	for _, e := range tr.Events {
		if f, ok := e.Facts.(T); ok {
			out = append(out, f)
		}
	}
	return out
}

const grignard = `
materials:
  magnesium: {amount: 1.0 g, form: turnings}
  bromobenzene: {amount: 4.0 mL}
  ether: {substance: diethyl ether, amount: 45 mL, grade: anhydrous}
  benzophenone: {amount: 5.5 g}
  hydrochloric acid: {solution: 3 M in water, amount: 30 mL}
apparatus:
  flask: {kind: round-bottom flask, size: 250 mL, necks: 3, dry: true}
  funnel: {kind: addition funnel, size: 50 mL, equalised: true, on: flask}
  condenser: {kind: reflux condenser, on: flask}
  tube: {kind: drying tube, fill: calcium chloride, on: condenser}
steps:
  - add: magnesium
    to: flask
  - add: ether
    to: flask
    amount: 15 mL
  - charge: bromobenzene
    to: funnel
    in: ether
  - add: bromobenzene
    to: flask
    from: funnel
    amount: 5 %
  - confirm: the reaction has started
    in: flask
    sign: cloudiness
    within: 5 min
    otherwise: add a crystal of iodine
  - add: bromobenzene
    to: flask
    from: funnel
    over: 30 min
    rate: to hold gentle reflux
  - reflux: flask
    for: 15 min
  - add: benzophenone
    to: flask
    over: 10 min
  - quench: flask
    with: hydrochloric acid
    over: 10 min
    at: 0 °C
`

func TestGrignard(t *testing.T) {
	tr := playText(t, grignard)
	last := tr.Steps[6].Vessels["flask"]
	// 4.0 mL × 1.495 g/mL / 157.0 g/mol = 38.1 mmol, 95 % of which is counted
	// on to be gone from the flask; 1.0 g Mg is 41.1 mmol.
	near(t, "Grignard reagent", last.LiveMmol["phenylmagnesium bromide"], 38.1, 0.06)
	var starts []*AdditionFacts
	for _, f := range eventsOf[*AdditionFacts](tr) {
		if f.Starts {
			starts = append(starts, f)
		}
	}
	if len(starts) != 2 {
		t.Fatalf("%d additions of halide to metal, want 2", len(starts))
	}
	near(t, "first share", starts[0].ChargedShare.V, 0.05, 0.05)
	if starts[0].Initiated || !starts[1].Initiated || !starts[0].EvidenceLater || !starts[0].Branch {
		t.Error("the proof of start lies between the two additions and is announced in the text")
	}
	if p := starts[0].PermittedShare.V; p < 0.04 || p > 0.2 {
		t.Errorf("permitted share %v, guidance for 1 M halide in ether is about 0.08", p)
	}
	for _, f := range eventsOf[*ExposureFacts](tr) {
		if f.Species == "phenylmagnesium bromide" && !f.Opened && !f.Accepted {
			t.Errorf("a drying tube over refluxing ether is accepted for a Grignard reagent: %+v", f.Barrier)
		}
	}
	q := eventsOf[*QuenchFacts](tr)
	if len(q) != 1 || q[0].LeftMmol != 0 {
		t.Fatalf("quench: %+v", q)
	}
}

// 1 g of LiAlH4 gives about 2.5 L of hydrogen (four per formula unit, 37.95
// g/mol, 24.06 L/mol); the 1 : 1 : 3 work-up is n mL water, n mL 15 % base, 3n
// mL water for n grams.
func TestHydrideWorkUp(t *testing.T) {
	tr := playText(t, `
materials:
  lithium aluminium hydride: {amount: 1.0 g}
  thf: {substance: tetrahydrofuran, amount: 40 mL, grade: anhydrous}
  water: {amount: 4 mL}
  base: {substance: sodium hydroxide, solution: 15 % w/w in water, amount: 1 mL}
apparatus:
  flask: {kind: round-bottom flask, size: 250 mL, dry: true}
  line: {kind: Schlenk line, gas: nitrogen, purity: 99.999 %}
steps:
  - blanket: flask
    with: nitrogen
    from: line
    outlet: bubbler
  - add: lithium aluminium hydride
    to: flask
    under: counter-flow of nitrogen
  - add: thf
    to: flask
    by: cannula
  - quench: flask
    with: water
    amount: 1 mL
    at: 0 °C
    over: 20 min
  - quench: flask
    with: base
    over: 5 min
  - quench: flask
    with: water
    amount: 3 mL
    over: 5 min
`)
	q := eventsOf[*QuenchFacts](tr)
	if len(q) < 1 {
		t.Fatal("no quench")
	}
	near(t, "water per gram", q[0].MlPerG.V, 1, 0.001)
	if !q[0].PatternOff.Known || q[0].PatternOff.V > 0.01 {
		t.Errorf("pattern %q off by %v", q[0].Pattern, q[0].PatternOff.V)
	}
	var litres float64
	for _, r := range eventsOf[*ReleaseFacts](tr) {
		if r.Gas != "hydrogen" {
			t.Errorf("gas %q", r.Gas)
		}
		litres += r.Litres.V
	}
	near(t, "hydrogen, L", litres, 2.53, 0.02)
}

// 0.48 g of a 60 % dispersion is 12 mmol of sodium hydride, and gives as much
// hydrogen with an alcohol.
func TestDispersion(t *testing.T) {
	tr := playText(t, `
materials:
  sodium hydride: {solution: 60 % dispersion in mineral oil, amount: 0.48 g}
  thf: {substance: tetrahydrofuran, amount: 20 mL, grade: anhydrous}
  benzyl alcohol: {amount: 1.08 g}
apparatus:
  flask: {kind: round-bottom flask, size: 100 mL, dry: true}
steps:
  - {blanket: flask, with: nitrogen, outlet: bubbler}
  - {add: sodium hydride, to: flask, under: counter-flow of nitrogen}
  - {add: thf, to: flask, by: syringe}
  - {add: benzyl alcohol, to: flask, by: syringe, over: 10 min}
`)
	for _, m := range eventsOf[*MaterialEvent](tr) {
		if m.Material.Substance == "sodium hydride" {
			near(t, "sodium hydride, mmol", m.Material.Mmol.V, 12.0, 0.005)
		}
	}
	r := eventsOf[*ReleaseFacts](tr)
	if len(r) != 1 {
		t.Fatalf("%d releases", len(r))
	}
	near(t, "hydrogen, mmol", r[0].Mmol.V, 9.99, 0.02) // 1.08 g benzyl alcohol
}

// 50 mL of 1 M acid with bicarbonate give about 1.2 L of carbon dioxide.
func TestBicarbonate(t *testing.T) {
	tr := playText(t, `
materials:
  hydrochloric acid: {solution: 1 M in water, amount: 50 mL}
  sodium bicarbonate: {amount: 6 g}
apparatus:
  beaker: {kind: beaker, size: 400 mL}
steps:
  - {pour: hydrochloric acid, to: beaker}
  - {neutralise: beaker, with: sodium bicarbonate, portions: 10}
`)
	r := eventsOf[*ReleaseFacts](tr)
	if len(r) != 1 || r[0].Gas != "carbon dioxide" {
		t.Fatalf("releases: %+v", r)
	}
	near(t, "carbon dioxide, L", r[0].Litres.V, 1.2, 0.01)
}

func TestNitrogenAndLithium(t *testing.T) {
	for gas, attacks := range map[string]bool{"nitrogen": true, "argon": false} {
		tr := playText(t, `
materials:
  lithium: {amount: 0.5 g, form: ribbon}
  ether: {substance: diethyl ether, amount: 30 mL, grade: anhydrous}
apparatus:
  flask: {kind: round-bottom flask, size: 100 mL, dry: true}
steps:
  - {backfill: flask, with: `+gas+`, vacuum: 1 mbar, cycles: 3, outlet: bubbler}
  - {add: ether, to: flask, by: cannula}
  - {add: lithium, to: flask, under: counter-flow of gas}
`)
		hit := false
		for _, e := range eventsOf[*ExposureFacts](tr) {
			hit = hit || e.GasAttacks
		}
		if hit != attacks {
			t.Errorf("lithium under %s: attacked %v, want %v", gas, hit, attacks)
		}
	}
}

// What did not react follows the organic layer, and makes it halogenated.
func TestUnreactedHalideFollows(t *testing.T) {
	tr := playText(t, grignard+`
  - {extract: flask, with: ether, amount: 15 mL, gives: {organic: ether layer, aqueous: aqueous layer}}
  - {discard: ether layer, into: non-halogenated organic}
`)
	d := eventsOf[*DiscardFacts](tr)
	if len(d) != 1 || !d[0].Halogenated || d[0].HalogenMmol.V < 0.5 {
		t.Fatalf("discard: %+v", d)
	}
	if d[0].Refused == "" || d[0].Better != "halogenated organic" {
		t.Errorf("refused %q, better %q", d[0].Refused, d[0].Better)
	}
}

// Ether over water boils a little below ether alone (34.5 °C), not 40 K above.
func TestTwoPhasesBoil(t *testing.T) {
	tr := playText(t, `
materials:
  ether: {substance: diethyl ether, amount: 30 mL}
  water: {amount: 100 mL}
apparatus:
  flask: {kind: round-bottom flask, size: 500 mL}
steps:
  - {add: water, to: flask}
  - {add: ether, to: flask}
  - {warm: flask, to: 25 °C}
`)
	h := eventsOf[*HeatingFacts](tr)
	near(t, "bubble point, °C", h[len(h)-1].Vessel.BoilingC.V, 33.3, 0.04)
}

// The amount of a step that dissolves is that of the solvent where it cannot be
// that of what is dissolved.
func TestAmountOfSolvent(t *testing.T) {
	const head = "materials: {benzoic acid: {amount: 1.22 g}, cyclohexanone: {amount: 1.04 mL}, thf: {substance: tetrahydrofuran, amount: 30 mL, grade: anhydrous}}\napparatus: {flask: {kind: 100 mL round-bottom flask}}\nsteps:\n"
	for step, want := range map[string]float64{
		"  - {dissolve: benzoic acid, in: thf, amount: 5 mL, to: flask}\n":     5,
		"  - {dissolve: cyclohexanone, in: thf, amount: 5 mL, to: flask}\n":    6.04,
		"  - {dissolve: cyclohexanone, with: thf, amount: 5 mL, in: flask}\n":  6.04,
		"  - {dissolve: cyclohexanone, in: thf, amount: 0.5 mL, to: flask}\n":  30.5, // half of the ketone
		"  - {dissolve: benzoic acid, in: thf, to: flask}\n":                   30,
		"  - {dissolve: benzoic acid, in: thf, amount: 0.61 g, to: flask}\n":   30,
		"  - {add: cyclohexanone, in: thf, amount: 0.52 mL, to: flask}\n":      30.52,
		"  - {dissolve: benzoic acid, in: flask, with: thf, amount: 12 mL}\n":  12,
		"  - {dissolve: [benzoic acid], in: [thf], amount: 7 mL, to: flask}\n": 7,
	} {
		tr := playText(t, head+step)
		v := tr.Steps[0].Vessels["flask"]
		if v.VolumeML == nil {
			t.Errorf("%s: the volume is not known", step)
			continue
		}
		near(t, step, *v.VolumeML, want, 0.01)
		if v.Fill == nil || *v.Fill <= 0 {
			t.Errorf("%s: the size in the kind is not read", step)
		}
	}
}

// What the water of a work-up takes of the layer over it: shaken with its own
// volume of water ether loses 69 g to the litre of water (6.9 g per 100 g at
// 20 °C, handbooks; 6.05 at 25 °C), toluene 0.5 g (0.05 g per 100 g), and half as much
// where it is half of the layer. Nothing appears or vanishes.
func TestSolventInWaterLayer(t *testing.T) {
	share := func(solvents string) (aqueous, organic map[string]float64) {
		tr := playText(t, "materials: {water: {amount: 100 mL}, diethyl ether: {amount: 100 mL}, toluene: {amount: 100 mL}, hexane: {amount: 100 mL}}\napparatus: {flask: {kind: round-bottom flask, size: 1 L}}\nsteps:\n  - {add: water, to: flask}\n  - {add: "+solvents+", to: flask}\n  - {separate: flask, gives: {organic: upper, aqueous: lower}}\n")
		last := tr.Steps[len(tr.Steps)-1].Vessels
		return last["lower"].Contents, last["upper"].Contents
	}
	aq, org := share("[diethyl ether]")
	near(t, "ether in water", aq["diethyl ether"]*74.12/1000, 6.9, 0.15)
	near(t, "all of the ether", aq["diethyl ether"]+org["diethyl ether"], 100*0.7134/74.12*1000, 0.01)
	aq, _ = share("[toluene]")
	near(t, "toluene in water", aq["toluene"]*92.14/1000, 0.053, 0.2)
	half, _ := share("[toluene, hexane]")
	if r := half["toluene"] / aq["toluene"]; r < 0.4 || r > 0.6 {
		t.Errorf("diluted with its volume of hexane, %.2f of the toluene dissolves", r)
	}
}

// TestUnwrittenIce pours a live mixture into ice and water of no written amount:
// it is a quench, and no figure rests on an amount that nobody wrote.
func TestUnwrittenIce(t *testing.T) {
	for _, tc := range []struct {
		quench, amount string
		known          bool
	}{
		{"ice", "{note: amount not stated}", false},
		{"water", "{note: amount not stated}", false},
		{"ice", "{amount: 200 g}", true},
		{"water", "{amount: 200 mL}", true},
	} {
		tr := playText(t, `
materials:
  dichloromethane: {amount: 15 mL, grade: dry}
  titanium tetrachloride: {solution: 1 M in dichloromethane, amount: 84 mL}
  `+tc.quench+": "+tc.amount+`
apparatus:
  flask: {kind: round-bottom flask, size: 250 mL}
  beaker: {kind: beaker, size: 1 L}
steps:
  - charge: [dichloromethane, titanium tetrachloride]
    to: flask
  - charge: `+tc.quench+`
    to: beaker
  - pour: flask
    to: beaker
`)
		q := eventsOf[*QuenchFacts](tr)
		if len(q) != 1 || !q[0].Reverse {
			t.Errorf("%s %s: %d quenches", tc.quench, tc.amount, len(q))
			continue
		}
		for what, n := range map[string]Num{"rise": q[0].RiseK, "equivalents": q[0].Ratio, "amount": q[0].With.Mmol} {
			if n.Known != tc.known {
				t.Errorf("%s %s: %s %+v, want known %v", tc.quench, tc.amount, what, n, tc.known)
			}
		}
		for _, a := range eventsOf[*AdditionFacts](tr) {
			if a.Vessel.Name == "beaker" && a.RiseK.Known && a.RiseK.V > 0 && !tc.known {
				t.Errorf("%s %s: the addition tells a rise of %.0f K", tc.quench, tc.amount, a.RiseK.V)
			}
		}
	}
}
