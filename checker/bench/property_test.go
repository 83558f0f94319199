package bench

import (
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
	"ketyl/checker/substance"
)

// benchOf lays out a fragment without playing it.
func benchOf(t testing.TB, text string) *Bench {
	t.Helper()
	p, bad := procedure.Load("p.yaml", []byte("procedure: p\ntitle: t\nformat: 1\nsetting: research\n"+text))
	if p == nil {
		t.Fatal(bad)
	}
	c, err := substance.Default()
	if err != nil {
		t.Fatal(err)
	}
	return prepare(p, c, substance.DefaultSite())
}

// released gives a fresh copy of every released procedure, changed by a test.
func released(t testing.TB, change func(*procedure.Procedure), only ...string) map[string]*Bench {
	t.Helper()
	files, err := filepath.Glob("../../procedures/*.yaml")
	if err != nil || len(files) < 10 {
		t.Fatalf("%d released procedures, %v", len(files), err)
	}
	c, err := substance.Default()
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]*Bench{}
	for _, name := range files {
		if len(only) > 0 && !slices.Contains(only, filepath.Base(name)) {
			continue
		}
		raw, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		p, bad := procedure.Load(name, raw)
		if len(bad) > 0 {
			t.Fatalf("%s: %s", name, bad[0].Message)
		}
		if change != nil {
			change(p)
		}
		out[filepath.Base(name)] = prepare(p, c, substance.DefaultSite())
	}
	return out
}

func (b *Bench) finished() *Trace {
	for _, s := range b.p.Steps {
		b.timed(s)
	}
	b.finish()
	return &b.trace
}

// allGrams is all that is on the bench: in vessels, in the bottles of the
// table, in waste that came straight from them, and what dried off.
func (b *Bench) allGrams() float64 {
	sum := b.aired
	for _, v := range b.vessels {
		sum += v.grams()
	}
	for _, m := range b.materials {
		for _, p := range m.mix {
			sum += p.g * m.left
		}
	}
	for _, x := range b.streams {
		if b.vesselNamed(x.name) == nil && b.material(x.name) != nil {
			sum += totalG(x.contents)
		}
	}
	return sum
}

// gasGrams is the mass of the gas that the events of a step report.
func (b *Bench) gasGrams(step int) float64 {
	sum := 0.0
	for _, e := range b.trace.Events {
		if r, ok := e.Facts.(*ReleaseFacts); ok && e.Step == step && r.Mmol.Known {
			if sp := b.lookup(r.Gas); sp != nil {
				sum += r.Mmol.V * sp.mw / 1000
			}
		}
	}
	return sum
}

// Mass is conserved step by step within 1 % of what is on the bench.
func TestMassIsConserved(t *testing.T) {
	for name, b := range released(t, nil) {
		before := b.allGrams()
		for _, s := range b.p.Steps {
			b.timed(s)
			after := b.allGrams()
			gas := b.gasGrams(s.N)
			if off := after + gas - before; math.Abs(off) > 0.01*before {
				t.Errorf("%s, step %d, %s: %.2f g of %.1f g (gas %.2f g)", name, s.N, headOf(s), off, before, gas)
			}
			before = after
		}
	}
}

// exposed lists the oxygen of every exposure: in the head space (ppm) and
// dissolved (mmol), NaN where unknown.
func exposed(tr *Trace) []float64 {
	var out []float64
	for _, e := range eventsOf[*ExposureFacts](tr) {
		for _, n := range []Num{e.OxygenPPM, e.DissolvedMmol} {
			if !n.Known {
				n.V = math.NaN()
			}
			out = append(out, n.V)
		}
	}
	return out
}

// More cycles never mean more oxygen, over the liquid or in it.
func TestMoreCyclesNeverMoreOxygen(t *testing.T) {
	plain, some := released(t, nil), 0
	more := released(t, func(p *procedure.Procedure) {
		for _, s := range p.Steps {
			if s.Cycles != nil && s.Verb.Name != "introduce" {
				s.Cycles.Low += 2
				s.Cycles.High += 2
				some++
			}
		}
	})
	if some < 2 {
		t.Fatalf("only %d steps with cycles", some)
	}
	for name := range plain {
		was, is := exposed(plain[name].finished()), exposed(more[name].finished())
		if len(was) != len(is) {
			t.Errorf("%s: %d figures, then %d", name, len(was), len(is))
			continue
		}
		for i := range was {
			if is[i] > was[i]*(1+1e-9) {
				t.Errorf("%s, figure %d: %v, with two cycles more %v", name, i, was[i], is[i])
			}
		}
	}
}

// losses are the shares of reagent that water takes, %, by vessel and reagent.
func losses(tr *Trace) map[string]float64 {
	out := map[string]float64{}
	for i, e := range tr.Events {
		if w, ok := e.Facts.(*WaterFacts); ok && w.LossPercent.Known {
			out[fmt.Sprintf("%s in %s, step %d (%d)", w.Reagent, w.Vessel.Name, e.Step, i)] = w.LossPercent.V
		}
	}
	return out
}

// A drier solvent never means more loss, and a wetter one never less.
func TestDrierNeverMoreLoss(t *testing.T) {
	at := func(ppm float64) map[string]*Bench {
		bs := released(t, nil)
		for _, b := range bs {
			for _, m := range b.materials {
				if m.waterPPM.Known && m.waterPPM.V > 0 {
					m.waterPPM.V *= ppm
				}
			}
		}
		return bs
	}
	dry, plain, wet := at(0.2), at(1), at(3)
	figures := 0
	for name := range plain {
		a, b, c := losses(dry[name].finished()), losses(plain[name].finished()), losses(wet[name].finished())
		if !slices.Equal(slices.Sorted(maps.Keys(a)), slices.Sorted(maps.Keys(b))) {
			t.Errorf("%s: the water events change with the dryness", name)
		}
		for k := range b {
			if a[k] > b[k]*(1+1e-9) || b[k] > c[k]*(1+1e-9) {
				t.Errorf("%s, %s: drier %v, as written %v, wetter %v %%", name, k, a[k], b[k], c[k])
			}
			figures++
		}
	}
	if figures < 5 {
		t.Fatalf("only %d figures", figures)
	}
}

// More quench never leaves more alive.
func TestMoreQuenchNeverLeavesMore(t *testing.T) {
	left := func(by float64) map[string]float64 {
		out := map[string]float64{}
		for name, b := range released(t, nil) {
			for _, s := range b.p.Steps {
				if s.Verb.Name != "quench" && s.Verb.Name != "destroy" {
					continue
				}
				for _, w := range s.With {
					if m := b.material(w.S); m != nil {
						for i := range m.mix {
							p := &m.mix[i]
							p.mmol, p.g, p.ml = p.mmol*by, p.g*by, p.ml*by
						}
					}
				}
			}
			tr := b.finished()
			for _, e := range tr.Events {
				if q, ok := e.Facts.(*QuenchFacts); ok {
					out[fmt.Sprintf("%s, after step %d", name, e.Step)] += q.LeftMmol
				}
			}
			out[name+", at the end"] = eventsOf[*ProcedureFacts](tr)[0].LiveAtEndMmol
		}
		return out
	}
	little, plain, much := left(0.001), left(1), left(2)
	starved := 0
	for k, b := range plain {
		if a, c := little[k], much[k]; b > a+1e-9 || c > b+1e-9 {
			t.Errorf("%s: a thousandth of the quench leaves %v, as written %v, twice %v mmol", k, a, b, c)
		} else if a > b+1e-9 {
			starved++
		}
	}
	if starved < 5 {
		t.Errorf("a thousandth of the quench leaves more alive in %d places only: the test sees nothing", starved)
	}
}

// ledger is all that the bench holds at the end, mmol by vessel and species.
func ledger(tr *Trace) map[string]float64 {
	out := map[string]float64{}
	if len(tr.Steps) == 0 {
		return out
	}
	for name, v := range tr.Steps[len(tr.Steps)-1].Vessels {
		for sp, n := range v.Contents {
			out[name+" / "+sp] = n
		}
	}
	return out
}

// The order of two steps that touch nothing in common does not change the
// ledger.
func TestOrderOfIndependentSteps(t *testing.T) {
	swaps := 0
	for name, b := range released(t, nil) {
		// which vessels and materials each step touches, as it is played
		touched := make([][]any, 0, len(b.p.Steps))
		for _, s := range b.p.Steps {
			b.step = s
			k := b.touches(s)
			n, last := len(b.vessels), b.last
			b.timed(s)
			for _, v := range b.vessels[min(n, len(b.vessels)):] {
				k = append(k, v)
			}
			if b.last != last && b.last != nil {
				k = append(k, b.last)
			}
			touched = append(touched, k)
		}
		b.finish()
		want := ledger(&b.trace)
		for i := 0; i+1 < len(touched); i++ {
			x, y := touched[i], touched[i+1]
			if len(x) == 0 || len(y) == 0 || slices.ContainsFunc(x, func(k any) bool { return slices.Contains(y, k) }) {
				continue
			}
			if s, u := b.p.Steps[i], b.p.Steps[i+1]; vague(s) || vague(u) {
				continue
			}
			p := released(t, func(p *procedure.Procedure) {
				if i+1 < len(p.Steps) {
					p.Steps[i], p.Steps[i+1] = p.Steps[i+1], p.Steps[i]
					p.Steps[i].N, p.Steps[i+1].N = i+1, i+2
				}
			}, name)[name]
			swaps++
			same(t, fmt.Sprintf("%s, steps %d and %d the other way round", name, i+1, i+2), want, ledger(p.finished()), 1, 1e-9)
		}
	}
	if swaps < 20 {
		t.Fatalf("only %d swaps", swaps)
	}
}

// vague reports a step whose words depend on the step before.
func vague(s *procedure.Step) bool {
	for _, t := range slices.Concat(s.Object, s.To, s.From, s.In, s.On) {
		if slices.Contains(vagueNames, strings.ToLower(strings.TrimPrefix(t.S, "the "))) || t.S == "" {
			return true
		}
	}
	return false
}

// same sets two ledgers against each other, the second scaled.
func same(t *testing.T, what string, want, got map[string]float64, by, within float64) {
	t.Helper()
	for _, k := range slices.Sorted(maps.Keys(want)) {
		w, g := want[k]*by, got[k]
		if math.Abs(w-g) > within*math.Abs(w)+1e-4 {
			t.Errorf("%s: %s: %v, expected %v", what, k, g, w)
		}
	}
	for _, k := range slices.Sorted(maps.Keys(got)) {
		if _, ok := want[k]; !ok && got[k] > 1e-4 {
			t.Errorf("%s: %s: %v, expected none", what, k, got[k])
		}
	}
}

// double makes a procedure for twice the scale: every amount, every size of
// glass, every flow and drip; times and temperatures stay.
func double(p *procedure.Procedure) {
	q := func(x *quantity.Quantity) {
		switch x.Dim {
		case quantity.Mass, quantity.Volume, quantity.Amount, quantity.Flow, quantity.DripRate:
			x.Low *= 2
			x.High *= 2
		case quantity.Count:
			if strings.Contains(x.Raw, "drop") {
				x.Low *= 2
				x.High *= 2
			}
		}
	}
	amount := func(a *procedure.Amount) {
		if a != nil {
			for i := range a.All {
				q(&a.All[i])
			}
		}
	}
	fig := func(f *procedure.Figure) {
		if f != nil {
			q(&f.Quantity)
		}
	}
	for _, m := range p.Materials {
		amount(m.Amount)
		if m.Solution != nil {
			q(&m.Solution.SoluteMass)
			q(&m.Solution.SolventVolume)
		}
	}
	for _, a := range p.Apparatus {
		fig(a.Size)
	}
	if p.Product != nil {
		amount(p.Product.Expected)
	}
	for _, s := range p.Steps {
		amount(s.Amount)
		amount(s.RinseAmount)
		for _, f := range []*procedure.Figure{s.Flow, s.Load, s.Size, s.Portions, s.Leave, s.RateFigure} {
			fig(f)
		}
	}
}

// Twice the scale doubles mmol, litres and kJ, and leaves ppm, shares and
// kelvins as they were.
func TestScaling(t *testing.T) {
	plain, big := released(t, nil), released(t, double)
	type figures map[string]Num
	// what each event says, by whether it grows with the scale
	extensive := func(e any) figures {
		switch f := e.(type) {
		case *AdditionFacts:
			return figures{"mmol": f.Mmol, "volume_ml": f.VolumeML, "heat_kj": f.HeatKJ, "gas_l": f.GasL}
		case *QuenchFacts:
			return figures{"live": Got(f.LiveMmol), "left": Got(f.LeftMmol), "heat_kj": f.HeatKJ, "gas_l": f.GasL}
		case *WaterFacts:
			return figures{"water_mmol": f.WaterMmol, "solvent_mmol": f.SolventMmol, "glass_mmol": f.GlassMmol, "air_mmol": f.AirMmol}
		case *ExposureFacts:
			return figures{"mmol": Got(f.Mmol), "oxygen_mmol": f.OxygenMmol, "dissolved_oxygen_mmol": f.DissolvedMmol}
		case *ReleaseFacts:
			return figures{"litres": f.Litres, "litres_per_min": f.LPerMin}
		case *DiscardFacts:
			return figures{"volume_ml": f.VolumeML, "section_l": f.SectionL}
		case *MaterialEvent:
			return figures{"mmol": f.Material.Mmol, "mass_g": f.Material.MassG, "water_mmol": f.Material.WaterMmol}
		case *ProcedureFacts:
			return figures{"theoretical_g": f.TheoreticalG, "live_at_end": Got(f.LiveAtEndMmol)}
		}
		return nil
	}
	intensive := func(e any) figures {
		switch f := e.(type) {
		case *AdditionFacts:
			return figures{"rise_k": f.RiseK, "margin_k": f.MarginK, "fill_after": f.FillAfter, "permitted_share": f.PermittedShare, "charged_share": f.ChargedShare, "concentration": f.Concentration}
		case *QuenchFacts:
			return figures{"rise_k": f.RiseK, "ratio": f.Ratio, "ml_per_g": f.MlPerG}
		case *WaterFacts:
			return figures{"loss_percent": f.LossPercent, "source_ppm": f.SourcePPM}
		case *ExposureFacts:
			return figures{"oxygen_ppm": f.OxygenPPM, "dissolved_oxygen_percent": f.DissolvedPercent, "sweep": f.SweepVolumes}
		case *HeatingFacts:
			return figures{"target_c": f.TargetC, "above_boil_k": f.AboveBoilK, "lost_percent": f.LostPercent, "pressure_bar": f.PressureBar}
		case *DiscardFacts:
			return figures{"halogen_share": f.HalogenShare}
		case *ProcedureFacts:
			return figures{"yield_percent": f.YieldPercent, "critical_path_min": f.CriticalPathMin}
		}
		return nil
	}
	compared := 0
	for name := range plain {
		// what is counted in pieces has no scale: a few boiling chips
		pieces := map[string]bool{}
		for _, m := range plain[name].materials {
			pieces[m.sp.name] = !m.g.Known && !m.ml.Known
		}
		a, b := plain[name].finished(), big[name].finished()
		// nor has the film of a tool, whatever it is rinsed into
		filmed := map[string]bool{}
		for _, v := range plain[name].vessels {
			filmed[v.name] = v.filmed
		}
		place := func(e Event) string {
			switch f := e.Facts.(type) {
			case *ExposureFacts:
				return f.Vessel.Name
			case *QuenchFacts:
				return f.Vessel.Name
			case *ReleaseFacts:
				return f.Vessel.Name
			case *DiscardFacts:
				return f.Stream
			}
			return ""
		}
		weighed := func(l map[string]float64) map[string]float64 {
			maps.DeleteFunc(l, func(k string, _ float64) bool { return pieces[k[strings.Index(k, " / ")+3:]] })
			return l
		}
		same(t, name+" at the end", weighed(ledger(a)), weighed(ledger(b)), 2, 1e-6)
		if len(a.Events) != len(b.Events) {
			t.Errorf("%s: %d events, at twice the scale %d", name, len(a.Events), len(b.Events))
			continue
		}
		for i := range a.Events {
			x, y := a.Events[i], b.Events[i]
			if x.Kind != y.Kind || x.Step != y.Step {
				t.Errorf("%s: event %d is %s, at twice the scale %s", name, i, x.Kind, y.Kind)
				break
			}
			if f, ok := x.Facts.(*AdditionFacts); ok && pieces[f.Material.Substance] || filmed[place(x)] {
				continue
			}
			set := func(want, got figures, by float64) {
				for _, k := range slices.Sorted(maps.Keys(want)) {
					w, g := want[k], got[k]
					if w.Known != g.Known || w.Known && math.Abs(w.V*by-g.V) > 1e-6*math.Abs(w.V*by)+1e-6 {
						t.Errorf("%s, step %d, %s (%s): %s %v, at twice the scale %v", name, x.Step, x.Kind, x.Subject, k, w, g)
					}
					compared++
				}
			}
			set(extensive(x.Facts), extensive(y.Facts), 2)
			set(intensive(x.Facts), intensive(y.Facts), 1)
		}
	}
	if compared < 1000 {
		t.Fatalf("only %d figures", compared)
	}
}

func num(v float64) string { return quantity.FormatNumber(v) }
