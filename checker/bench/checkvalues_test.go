package bench

import (
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"ketyl/checker/document"
)

// checkValues is testdata/checkvalues.yaml: published figures with sources.
type checkValues struct {
	Sources map[string]struct {
		Cite    string `yaml:"cite"`
		How     string `yaml:"how"`
		Address string `yaml:"address"`
	} `yaml:"sources"`
	Cycles []struct {
		ID     string  `yaml:"id"`
		Vacuum float64 `yaml:"vacuum_mbar"`
		Refill float64 `yaml:"refill_mbar"`
		Cycles float64 `yaml:"cycles"`
		Oxygen float64 `yaml:"oxygen"`
		TenTo  float64 `yaml:"ten_to"`
		Source string  `yaml:"source"`
	} `yaml:"cycles"`
	Saturation []struct {
		ID      string  `yaml:"id"`
		Celsius float64 `yaml:"celsius"`
		KPa     float64 `yaml:"kpa"`
		Source  string  `yaml:"source"`
	} `yaml:"saturation"`
	Moist []struct {
		ID       string  `yaml:"id"`
		Celsius  float64 `yaml:"celsius"`
		Grams    float64 `yaml:"grams"`
		Fraction float64 `yaml:"fraction"`
		Source   string  `yaml:"source"`
	} `yaml:"moist air"`
	Dry []struct {
		ID     string  `yaml:"id"`
		N2     float64 `yaml:"n2"`
		O2     float64 `yaml:"o2"`
		Ar     float64 `yaml:"ar"`
		Source string  `yaml:"source"`
	} `yaml:"dry air"`
	Molar []struct {
		ID      string  `yaml:"id"`
		Celsius float64 `yaml:"celsius"`
		Mbar    float64 `yaml:"mbar"`
		Litres  float64 `yaml:"litres"`
		Source  string  `yaml:"source"`
	} `yaml:"molar volume"`
	Reactions []struct {
		ID       string  `yaml:"id"`
		Equation string  `yaml:"equation"`
		Value    float64 `yaml:"value"`
		Source   string  `yaml:"source"`
	} `yaml:"water reactions"`
	Rises []struct {
		ID        string  `yaml:"id"`
		Joules    float64 `yaml:"joules"`
		PerKelvin float64 `yaml:"per_kelvin"`
		Kelvins   float64 `yaml:"kelvins"`
		Source    string  `yaml:"source"`
	} `yaml:"rises"`
	Rooms []struct {
		ID        string  `yaml:"id"`
		Room      float64 `yaml:"room"`
		Changes   float64 `yaml:"changes"`
		Litres    float64 `yaml:"litres_a_day"`
		Expansion float64 `yaml:"expansion"`
		Factor    float64 `yaml:"factor"`
		Gas       float64 `yaml:"gas"`
		Drop      float64 `yaml:"drop"`
		Percent   float64 `yaml:"percent"`
		Source    string  `yaml:"source"`
	} `yaml:"rooms"`
	Dried []struct {
		ID     string  `yaml:"id"`
		Liquid string  `yaml:"liquid"`
		Agent  string  `yaml:"agent"`
		PPM    float64 `yaml:"ppm"`
		Load   float64 `yaml:"load"`
		Hours  float64 `yaml:"hours"`
		Start  float64 `yaml:"start"`
		Source string  `yaml:"source"`
	} `yaml:"dried"`
	Formation []struct {
		ID     string  `yaml:"id"`
		Value  float64 `yaml:"value"`
		Source string  `yaml:"source"`
	} `yaml:"formation"`
	Differ []struct {
		ID        string  `yaml:"id"`
		Substance string  `yaml:"substance"`
		First     float64 `yaml:"first"`
		Second    float64 `yaml:"second"`
		Source    string  `yaml:"source"`
	} `yaml:"two compilations"`
	Complexes []struct {
		ID     string  `yaml:"id"`
		Donor  string  `yaml:"donor"`
		Value  float64 `yaml:"value"`
		Source string  `yaml:"source"`
	} `yaml:"complexes"`
	PerGram []struct {
		ID     string  `yaml:"id"`
		CAS    string  `yaml:"cas"`
		Gas    string  `yaml:"gas"`
		Moles  float64 `yaml:"moles"`
		Litres float64 `yaml:"litres"`
		Water  float64 `yaml:"water"`
		Source string  `yaml:"source"`
	} `yaml:"gas per gram"`
	Records [][]string `yaml:"records"`
}

func readCheckValues(t *testing.T) *checkValues {
	t.Helper()
	raw, err := os.ReadFile("testdata/checkvalues.yaml")
	if err != nil {
		t.Fatal(err)
	}
	c := &checkValues{}
	f, bad := document.Read("checkvalues.yaml", raw)
	if len(bad) == 0 {
		bad = document.Decode(f, f.Root, c)
	}
	if len(bad) > 0 {
		line, col := f.Source.Position(bad[0].Span.Start)
		t.Fatalf("checkvalues.yaml:%d:%d: %s", line, col, bad[0].Message)
	}
	return c
}

// from gives the source of a figure, for a failure.
func (c *checkValues) from(t *testing.T, id, source string) string {
	t.Helper()
	s, ok := c.Sources[source]
	if !ok || s.Cite == "" || s.How == "" {
		t.Errorf("%s: source %q does not stand in the file", id, source)
	}
	return id + " (" + s.Cite + ")"
}

// Head space after cycles, for every row of the table and on the bench with
// the pure gas that the table assumes.
func TestCheckCycles(t *testing.T) {
	c := readCheckValues(t)
	if len(c.Cycles) < 16 {
		t.Fatalf("%d rows", len(c.Cycles))
	}
	for _, w := range c.Cycles {
		near(t, c.from(t, w.ID, w.Source), AfterCycles(Gases{O2: 0.2095}, Gases{}, w.Vacuum, w.Refill, w.Cycles).O2, w.Oxygen*math.Pow(10, w.TenTo), 1e-3)
	}
	// the worked answer of 6 mmHg: two cycles leave more than 5 ppm, three less
	for cycles, under := range map[string]bool{"2": false, "3": true} {
		tr := playText(t, `
apparatus:
  tank: {kind: Schlenk flask, size: 1 L}
  line: {kind: Schlenk line, gas: nitrogen, purity: 99.9999 %}
steps:
  - {backfill: tank, with: nitrogen, from: line, vacuum: 6 torr, cycles: `+cycles+`}
`)
		if ppm := tr.Steps[0].Vessels["tank"].OxygenPPM; (ppm < 5) != under {
			t.Errorf("%s cycles at 6 mmHg leave %v ppm", cycles, ppm)
		}
	}
	// gas used by cycles, in vessel volumes: n·(1 − p/P); Branan's examples
	for _, w := range []struct{ cycles, low, want float64 }{{math.Ceil(CyclesNeeded(0.21, 0.01, 0.5, 1)), 0.5, 2.5}, {math.Ceil(CyclesNeeded(0.21, 5e-6, 6, 760)), 6.0 / 760, 2.976}} {
		near(t, "gas, vessel volumes", w.cycles*(1-w.low), w.want, 1e-3)
	}
}

// Water vapour: saturation within 0.5 %, and what a cubic metre of moist air
// holds.
func TestCheckMoisture(t *testing.T) {
	c := readCheckValues(t)
	if len(c.Saturation) < 20 || len(c.Moist) < 5 {
		t.Fatalf("%d pressures, %d airs", len(c.Saturation), len(c.Moist))
	}
	for _, w := range c.Saturation {
		near(t, c.from(t, w.ID, w.Source), SaturationMbar(w.Celsius)/10, w.KPa, 0.005)
	}
	for _, w := range c.Moist {
		air := Air(1, w.Celsius)
		near(t, c.from(t, w.ID, w.Source), air.H2O, w.Fraction, 0.005)
		near(t, w.ID+", g", GasMmol(1e6, air.H2O*Atm, w.Celsius)*waterMass/1000, w.Grams, 0.005)
	}
}

// Dry air and the molar volume of a gas.
func TestCheckGases(t *testing.T) {
	c := readCheckValues(t)
	air := Air(0, 20)
	for _, w := range c.Dry {
		what := c.from(t, w.ID, w.Source)
		near(t, what+", nitrogen", air.N2*100, w.N2, 0.001)
		near(t, what+", oxygen", air.O2*100, w.O2, 0.001)
		near(t, what+", argon", air.Ar*100, w.Ar, 0.006)
	}
	for _, w := range c.Molar {
		near(t, c.from(t, w.ID, w.Source), 1000/GasMmol(1000, w.Mbar, w.Celsius), w.Litres, 1e-4)
		if w.Celsius == roomC {
			near(t, w.ID, GasLitres(1000), w.Litres, 1e-4)
		}
	}
	if len(c.Dry) < 3 || len(c.Molar) < 4 {
		t.Fatalf("%d airs, %d volumes", len(c.Dry), len(c.Molar))
	}
}

// Adiabatic rises; Fogler prints 90.1 for 36309/403.3.
func TestCheckRises(t *testing.T) {
	c := readCheckValues(t)
	for _, w := range c.Rises {
		near(t, c.from(t, w.ID, w.Source), AdiabaticRise(w.Joules/1000, w.PerKelvin), w.Kelvins, 0.006)
	}
	if len(c.Rises) < 7 {
		t.Fatalf("%d rises", len(c.Rises))
	}
}

// Oxygen of rooms: sudden and steady releases.
func TestCheckRooms(t *testing.T) {
	c := readCheckValues(t)
	for _, w := range c.Rooms {
		what := c.from(t, w.ID, w.Source)
		if w.Percent > 0 {
			near(t, what, RoomOxygen(w.Room, w.Gas), w.Percent, 0.001)
			continue
		}
		gas := w.Factor * w.Litres * w.Expansion / 1000 / 24
		near(t, what+", m3/h", gas, w.Gas, 1e-3)
		near(t, what+", drop", 100*airO2-RoomOxygenVented(w.Room, w.Changes, gas), w.Drop, 0.01)
	}
	if len(c.Rooms) < 5 {
		t.Fatalf("%d rooms", len(c.Rooms))
	}
}

// Heats of reagents with much water on the bench, from the vessel's ledger to
// the heat of the quench, against Hess sums. A hydrogen halide may leave as gas
// or dissolve: both ends span the figure.
func TestCheckHeatsOnTheBench(t *testing.T) {
	c := readCheckValues(t)
	// the equation's reagent and how many mol of it one equation holds
	reagents := map[string]struct {
		name string
		per  float64
	}{
		"rx-NaH": {"sodium hydride", 1}, "rx-KH": {"potassium hydride", 1}, "rx-LiH": {"lithium hydride", 1}, "rx-CaH2": {"calcium hydride", 1},
		"rx-LiAlH4": {"lithium aluminium hydride", 1}, "rx-Na": {"sodium", 2}, "rx-Na-aq": {"sodium", 1}, "rx-Li": {"lithium", 2}, "rx-K": {"potassium", 2},
		"rx-nBuLi": {"n-butyllithium", 1}, "rx-MeLi": {"methyllithium", 1}, "rx-ZnMe2": {"dimethylzinc", 1}, "rx-ZnEt2": {"diethylzinc", 1}, "rx-AlMe3": {"trimethylaluminium", 2},
		"rx-NaNH2": {"sodium amide", 1}, "rx-SO2Cl2": {"sulfuryl chloride", 1}, "rx-PCl3": {"phosphorus trichloride", 1}, "rx-PCl3-aq": {"phosphorus trichloride", 1},
		"rx-POCl3": {"phosphorus oxychloride", 1}, "rx-POCl3-aq": {"phosphorus oxychloride", 1}, "rx-SiCl4": {"silicon tetrachloride", 1}, "rx-SiCl4-aq": {"silicon tetrachloride", 1},
		"rx-TiCl4": {"titanium tetrachloride", 1}, "rx-TiCl4-aq": {"titanium tetrachloride", 1}, "rx-BBr3": {"boron tribromide", 1},
		"rx-AcCl": {"acetyl chloride", 1}, "rx-AcCl-aq": {"acetyl chloride", 1}, "rx-BzCl": {"benzoyl chloride", 1}, "rx-Ac2O": {"acetic anhydride", 1},
		"rx-SOCl2": {"thionyl chloride", 1}, "rx-SOCl2-aq": {"thionyl chloride", 1},
	}
	type span struct{ low, high float64 }
	want := map[string]span{}
	for _, w := range c.Reactions {
		r, ok := reagents[w.ID]
		if !ok {
			continue
		}
		c.from(t, w.ID, w.Source)
		h := -w.Value / r.per
		wet := h
		for _, acid := range []struct {
			name string
			heat float64
		}{{"HCl(g)", 74.9}, {"HBr(g)", 85.3}} {
			// of rx-HCl-diss; bromide ion −121.6 kJ/mol, CRC Handbook
			if before, _, ok := strings.Cut(w.Equation, " "+acid.name); ok {
				n := 1.0
				if k := before[strings.LastIndex(before, " ")+1:]; k != "+" && k != "=" {
					n, _ = strconv.ParseFloat(k, 64)
				}
				wet += n * acid.heat / r.per
			}
		}
		s, seen := want[r.name]
		if !seen {
			s = span{h, h}
		}
		want[r.name] = span{math.Min(s.low, h), math.Max(s.high, wet)}
	}
	if len(want) < 20 {
		t.Fatalf("%d reagents", len(want))
	}
	for name, w := range want {
		tr := playText(t, `
materials:
  `+name+`: {amount: 10 mmol}
  hexane: {amount: 50 mL, grade: anhydrous}
  water: {amount: 100 mL}
apparatus:
  flask: {kind: round-bottom flask, size: 500 mL, dry: true}
steps:
  - {backfill: flask, with: argon, vacuum: 1 mbar, cycles: 3, outlet: bubbler}
  - {add: hexane, to: flask, by: syringe}
  - {add: `+name+`, to: flask, under: counter-flow of argon}
  - {quench: flask, with: water, over: 30 min, at: 20 °C}
`)
		q := eventsOf[*QuenchFacts](tr)
		if len(q) != 1 || !q[0].HeatKJ.Known {
			t.Errorf("%s: no heat of the quench: %+v", name, q)
			continue
		}
		// 10 mmol, less what the water of hexane takes; the tables are rounded to
		// 1 kJ/mol
		got := q[0].HeatKJ.V * 100
		if got < w.low*0.98-2 || got > w.high+2 {
			t.Errorf("%s: %.1f kJ/mol on the bench, Hess %.1f to %.1f", name, got, w.low, w.high)
		}
	}
}

// Drying of tetrahydrofuran on the bench: never drier than measured, and not
// more than twice as wet where load and time are those of the measurement.
func TestCheckDryingOnTheBench(t *testing.T) {
	c := readCheckValues(t)
	for _, w := range c.Dried {
		what := c.from(t, w.ID, w.Source)
		agent := strings.TrimSuffix(strings.TrimSuffix(w.Agent, ", one column pass"), " (still)")
		steps := "  - {dry: " + w.Liquid + ", with: " + agent + ", activated at: 300 °C"
		if w.Load > 0 {
			steps += ", load: " + num(w.Load) + " % m/v"
		} else if strings.Contains(agent, "sieve") {
			steps += ", load: 20 % m/v"
		}
		if w.Hours > 0 {
			steps += ", for: " + num(w.Hours) + " h"
		}
		start := w.Start
		if start == 0 {
			start = 107
		}
		by := ""
		switch {
		case strings.Contains(agent, "alumina"):
			by = ", by: column"
		case strings.Contains(w.Agent, "still"):
			by = ", by: still"
		}
		tr := playText(t, "\nmaterials:\n  "+w.Liquid+": {amount: 100 mL, water: "+num(start)+" ppm}\napparatus:\n  flask: {kind: round-bottom flask, size: 250 mL}\nsteps:\n"+steps+by+"}\n")
		d := eventsOf[*DryingFacts](tr)
		if len(d) != 1 || !d[0].ResidualPPM.Known {
			t.Errorf("%s: %+v", what, d)
			continue
		}
		if got := d[0].ResidualPPM.V; got < w.PPM-1 || w.Load > 0 && got > 2*w.PPM {
			t.Errorf("%s: %v ppm on the bench, measured %v", what, got, w.PPM)
		}
	}
	// the worked budget of the same sources: 1 L at 107 and at 4 ppm
	near(t, "107 ppm", MolarWater(1000, 0.885, 107), 5.26, 0.002)
	near(t, "4 ppm", MolarWater(1000, 0.885, 4), 0.197, 0.003)
	if len(c.Dried) < 5 {
		t.Fatalf("%d figures", len(c.Dried))
	}
}
