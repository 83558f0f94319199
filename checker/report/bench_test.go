package report

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"ketyl/checker"
	"ketyl/checker/bench"
	"ketyl/checker/quantity"
)

func played(t *testing.T, name string) checker.Result {
	t.Helper()
	raw, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	k, faults := checker.New(checker.Options{})
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	r := k.Trace(filepath.Base(name), raw)
	if r.Trace == nil {
		t.Fatal("nothing was played", r.Findings)
	}
	return r
}

func journalOf(t *testing.T, r checker.Result, step int) string {
	t.Helper()
	var b bytes.Buffer
	if err := BenchJournal(&b, r, Options{Width: 100}, step); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// unitOf is the unit of a fact by the end of its name, as event.go writes it:
// the dimension it is printed in, and what brings it to the base unit.
var unitOf = []struct {
	end   string
	dim   quantity.Dimension
	times float64
}{
	{"_mmol", quantity.Amount, 1}, {"mmol", quantity.Amount, 1}, {"_ml", quantity.Volume, 1}, {"_g", quantity.Mass, 1}, {"_l", quantity.Volume, 1000}, {"litres", quantity.Volume, 1000},
	{"litres_per_min", quantity.Flow, 1000}, {"_c", quantity.Temperature, 1}, {"_k", quantity.TemperatureRange, 1}, {"_ppm", quantity.Fraction, 1e-6},
	{"_bar", quantity.Pressure, 1000}, {"_mbar", quantity.Pressure, 1}, {"watts", quantity.Power, 1}, {"_min", quantity.Time, 1}, {"minutes", quantity.Time, 1}, {"hours", quantity.Time, 60},
	{"molarity", quantity.Molarity, 1}, {"concentration", quantity.Molarity, 1},
}

// spelled gives the ways in which a fact may be printed: in its unit, as kJ,
// as a share in percent.
func spelled(name string, v float64) []string {
	var out []string
	for _, u := range unitOf {
		if strings.HasSuffix(name, u.end) {
			out = append(out, quantity.Format(v*u.times, u.dim), quantity.Format(-v*u.times, u.dim))
		}
	}
	switch {
	case strings.HasSuffix(name, "_kj"):
		out = append(out, quantity.FormatNumber(v)+" kJ")
	case strings.HasSuffix(name, "percent") || strings.HasSuffix(name, "halogen_share"):
		out = append(out, quantity.FormatNumber(v)+" %", quantity.FormatNumber(-v)+" %")
	case strings.HasSuffix(name, "share"), strings.HasSuffix(name, "fill"):
		out = append(out, quantity.FormatNumber(v*100)+" %")
	}
	return out
}

var figure = regexp.MustCompile(`(−?[0-9][0-9.]*(?: × 10\^−?[0-9]+)?) (mmol|µmol|mol|mL/min|L/min|mL|µL|L|mg|g|kg|kJ|K|W|mW|kW|ppm|%|bar|mbar|h|d|min|s|M|mM|°C)\b?`)

// blocks are the texts under the head of each step, by its number; 0 is what
// stands before the first step, -1 what stands after the last.
func blocks(text string) map[int]string {
	out := map[int]string{}
	at := 0
	for paragraph := range strings.SplitSeq(text, "\n\n") {
		if _, err := fmt.Sscanf(paragraph, "step %d,", &at); err != nil && strings.HasPrefix(paragraph, "the whole\n") {
			at = -1
		}
		out[at] += paragraph + "\n"
	}
	return out
}

// Every figure that the journal prints in a step is a fact of that step's
// events or of its vessels, in the unit of ordinary work; and the figures a
// chemist looks for are there.
func TestJournalPrintsTheFacts(t *testing.T) {
	for _, file := range []string{"phenylpentanol", "1-octanol"} {
		t.Run(file, func(t *testing.T) {
			r := played(t, filepath.Join("..", "..", "procedures", file+".yaml"))
			text := blocks(journalOf(t, r, 0))
			events := byStep(r.Trace.Events)
			for _, s := range r.Trace.Steps {
				known := map[string]bool{}
				add := func(name string, v float64) {
					for _, x := range spelled(name, v) {
						known[x] = true
					}
				}
				for _, e := range events[s.Step] {
					for _, f := range flat(e.Facts) {
						if v, ok := f.value.(float64); ok {
							add(f.name, v)
						}
						if x, ok := f.value.(string); ok { // figures that the words of a fact carry: 20 % m/v
							for _, m := range figure.FindAllStringSubmatch(x, -1) {
								known[m[1]+" "+m[2]] = true
							}
						}
					}
				}
				for _, v := range s.Vessels {
					add("temperature_c", v.TemperatureC)
					add("oxygen_ppm", v.OxygenPPM)
					add("water_mmol", v.WaterMmol)
					for _, m := range []map[string]float64{v.LiveMmol, v.Contents} {
						for _, x := range m {
							add("mmol", x)
						}
					}
					if v.VolumeML != nil {
						add("volume_ml", *v.VolumeML)
					}
					if v.Fill != nil {
						add("fill", *v.Fill)
					}
					if v.HereML != nil { // in a vessel that is warm or cold
						add("volume_ml", *v.HereML)
						add("temperature_c", 20)
						if v.Fill != nil {
							add("fill", *v.Fill**v.HereML / *v.VolumeML)
						}
					}
				}
				lines := strings.Split(strings.TrimSpace(text[s.Step]), "\n")
				for len(lines) > 0 && (strings.HasPrefix(lines[0], "step ") || len(lines[0]) > 3 && lines[0][:2] == "  " && lines[0][2] != ' ' && !strings.HasPrefix(lines[0], "  after ") && !label.MatchString(lines[0])) {
					lines = lines[1:] // the head repeats what is written
				}
				body := strings.Join(strings.Fields(strings.Join(lines, " ")), " ")
				body = regexp.MustCompile(`(−?[0-9.]+) to (−?[0-9.]+ °C)`).ReplaceAllString(body, "$1 °C, $2")
				for _, m := range figure.FindAllStringSubmatch(body, -1) {
					if got := m[1] + " " + m[2]; !known[got] {
						t.Errorf("step %d prints %s, which is no fact of it:\n%s", s.Step, got, body)
					}
				}
				for _, e := range events[s.Step] {
					for _, want := range wanted(e.Facts) {
						if !strings.Contains(body, want) {
							t.Errorf("step %d: the %s event has %s, which is not printed:\n%s", s.Step, e.Kind, want, body)
						}
					}
				}
			}
			head := strings.Join(strings.Fields(text[0]), " ")
			for _, e := range events[0] {
				m, ok := e.Facts.(*bench.MaterialEvent)
				if !ok {
					continue
				}
				if !strings.Contains(text[0], firstWord(m.Material.Name)) {
					t.Errorf("the table lacks %s", m.Material.Name)
				}
				if m.BrokenDown != "" && m.Needed && !strings.Contains(head, strings.Replace(m.BrokenDown, " × 1 / ", " / ", 1)) {
					t.Errorf("the table does not say how %s is computed: %s", m.Material.Name, m.BrokenDown)
				}
				if m.Needed && m.Material.Mmol.Known && !strings.Contains(head, quantity.Format(m.Material.Mmol.V, quantity.Amount)) {
					t.Errorf("the table lacks the mmol of %s", m.Material.Name)
				}
			}
			g := r.Trace.Figures
			foot := strings.Join(strings.Fields(text[-1]), " ")
			for _, want := range []string{"largest rise " + quantity.Format(g.LargestRiseK.V, quantity.TemperatureRange), "gas " + quantity.Format(g.GasL.V*1000, quantity.Volume), quantity.Format(g.WaterMmol.V, quantity.Amount),
				quantity.FormatNumber(g.WaterLossPercent.V) + " %", "hands-on " + quantity.Format(g.HandsOnMin.V, quantity.Time), "in all " + quantity.Format(g.TotalMin.V, quantity.Time), "first to last step " + quantity.Format(g.CriticalPathMin.V, quantity.Time)} {
				if !strings.Contains(foot, want) {
					t.Errorf("the foot lacks %q:\n%s", want, foot)
				}
			}
		})
	}
}

var label = regexp.MustCompile(`^  (after|dried|moved|added|water|air|heat|quench|gas|closed|meets|work-up|waste|full|cautions|\?) `)

func firstWord(s string) string { return strings.Fields(s + " ?")[0] }

// wanted are the figures of an event that a reader looks for.
func wanted(facts any) []string {
	var out []string
	add := func(n bench.Num, dim quantity.Dimension, times float64) {
		if n.Known && n.V != 0 {
			out = append(out, quantity.Format(n.V*times, dim))
		}
	}
	switch f := facts.(type) {
	case *bench.AdditionFacts:
		add(f.VolumeML, quantity.Volume, 1)
		add(f.Mmol, quantity.Amount, 1)
		if f.RiseK.Known && math.Abs(f.RiseK.V) > 0.1 {
			add(f.RiseK, quantity.TemperatureRange, 1)
			add(f.MarginK, quantity.TemperatureRange, 1)
			add(f.Watts, quantity.Power, 1)
			add(f.CoolingWatts, quantity.Power, 1)
		}
	case *bench.WaterFacts:
		add(f.WaterMmol, quantity.Amount, 1)
		add(f.NeedPPM, quantity.Fraction, 1e-6)
		add(f.NeedMmol, quantity.Amount, 1)
		add(f.SourcePPM, quantity.Fraction, 1e-6)
		out = append(out, quantity.FormatNumber(f.LossPercent.V)+" %")
	case *bench.DryingFacts:
		add(f.ResidualPPM, quantity.Fraction, 1e-6)
	case *bench.ReleaseFacts:
		add(f.Litres, quantity.Volume, 1000)
		add(f.LPerMin, quantity.Flow, 1000)
	case *bench.QuenchFacts:
		add(f.RiseK, quantity.TemperatureRange, 1)
		add(f.GasL, quantity.Volume, 1000)
		out = append(out, quantity.FormatNumber(f.Ratio.V))
	case *bench.DiscardFacts:
		add(f.VolumeML, quantity.Volume, 1)
		add(f.SectionL, quantity.Volume, 1000)
		if f.Known {
			out = append(out, f.Container)
		}
	case *bench.ExposureFacts:
		add(f.OxygenPPM, quantity.Fraction, 1e-6)
		out = append(out, f.Need, f.Barrier)
	case *bench.HazardFacts:
		out = append(out, f.Topic)
	}
	return out
}

// A figure that was assumed carries a mark whose reason stands once at the
// end, and every question is put once.
func TestJournalMarks(t *testing.T) {
	for _, file := range []string{"procedures/phenylpentanol.yaml", "testdata/published/11-hydroboration-alpha-pinene.yaml", "testdata/published/03-naphthyl-grignard-carbon-dioxide.yaml"} {
		text := journalOf(t, played(t, filepath.Join("..", "..", filepath.FromSlash(file))), 0)
		body, notes, ok := strings.Cut(text, "\nassumed (~)\n")
		if !ok {
			t.Fatalf("%s: nothing is marked as assumed:\n%s", file, text)
		}
		marks := regexp.MustCompile(`\[([0-9]+)\]`)
		used, listed := map[string]bool{}, map[string]string{}
		for _, m := range marks.FindAllString(body, -1) {
			used[m] = true
		}
		for line := range strings.Lines(notes) {
			m := marks.FindString(line)
			if m == "" || !strings.HasPrefix(line, "  [") {
				continue
			}
			if listed[m] != "" {
				t.Errorf("%s: %s stands twice", file, m)
			}
			for other, reason := range listed {
				if reason == strings.TrimPrefix(line, "  "+m) {
					t.Errorf("%s: %s and %s give the same reason", file, m, other)
				}
			}
			listed[m] = strings.TrimPrefix(line, "  "+m)
		}
		for m := range used {
			if listed[m] == "" {
				t.Errorf("%s: %s has no reason", file, m)
			}
		}
		for m := range listed {
			if !used[m] {
				t.Errorf("%s: the reason %s stands at no figure", file, m)
			}
		}
		if strings.ContainsAny(text, "\x02\x03") {
			t.Errorf("%s: a mark was not resolved", file)
		}
	}
	text := strings.Join(strings.Fields(journalOf(t, played(t, filepath.Join("..", "..", "testdata", "published", "11-hydroboration-alpha-pinene.yaml")), 0)), " ")
	if n := strings.Count(text, "how much gas sweeps flask before the reagent goes in"); n != 1 {
		t.Errorf("the question of the sweep is put %d times", n)
	}
}

// A step alone is the step as it stands in the whole journal, but for the
// numbers of the reasons; JSON keeps its promised keys.
func TestJournalOfOneStep(t *testing.T) {
	r := played(t, filepath.Join("..", "..", "procedures", "phenylpentanol.yaml"))
	got := journalOf(t, r, 10)
	if strings.Contains(got, "step 9,") || strings.Contains(got, "step 11,") || strings.Contains(got, "materials\n") {
		t.Errorf("more than the step is printed:\n%s", got)
	}
	number := regexp.MustCompile(`\s+|\[[0-9]+\]`)
	whole := number.ReplaceAllString(blocks(journalOf(t, r, 0))[10], "")
	alone, _, _ := strings.Cut(blocks(got)[10], "assumed (~)")
	if number.ReplaceAllString(alone, "") != whole {
		t.Errorf("the step alone:\n%s\nin the whole:\n%s", alone, blocks(journalOf(t, r, 0))[10])
	}
	var b bytes.Buffer
	if err := BenchJSON(&b, r, 10); err != nil {
		t.Fatal(err)
	}
	var out struct {
		Steps []struct {
			Step    int
			Line    int
			Vessels map[string]map[string]any
			Events  []map[string]any
		}
	}
	if err := json.Unmarshal(b.Bytes(), &out); err != nil {
		t.Fatal(err)
	}
	if len(out.Steps) != 1 || out.Steps[0].Step != 10 || len(out.Steps[0].Events) == 0 {
		t.Fatalf("found %d steps in JSON, expected step 10 alone", len(out.Steps))
	}
	for _, key := range []string{"temperature_c", "volume_ml", "fill", "connection", "oxygen_ppm", "water_mmol", "live_mmol"} {
		if _, ok := out.Steps[0].Vessels["flask"][key]; !ok {
			t.Errorf("JSON lacks the promised %s", key)
		}
	}
}

// The line on a vessel has the liquid at the temperature it has, where that is 2 % and
// more from 20 °C: 100 mL of toluene are 91.2 mL at −78 °C and 104.5 mL at 60 °C (Perry,
// Table 2-32: 952.6, 868.5 and 831.1 kg/m³), and at 30 °C 101.1 mL, which is not told.
func TestJournalVolumeHere(t *testing.T) {
	for _, tt := range []struct{ step, want string }{
		{"cool: flask, to: -78 °C, bath: dry ice / acetone", "−78 °C, 91.2 mL (36.5 % full), 100 mL at 20 °C"},
		{"heat: flask, to: 60 °C, bath: water bath", "60 °C, 104 mL (41.8 % full), 100 mL at 20 °C"},
		{"heat: flask, to: 30 °C, bath: water bath", "30 °C, 100 mL (40 % full), open"},
	} {
		k, faults := checker.New(checker.Options{})
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		r := k.Trace("volume.yaml", []byte("procedure: volume\nformat: 1\nmaterials:\n  toluene: {amount: 100 mL}\napparatus:\n  flask: {kind: round-bottom flask, size: 250 mL}\nsteps:\n  - {add: toluene, to: flask}\n  - {"+tt.step+"}\n"))
		if r.Trace == nil {
			t.Fatal("nothing was played", r.Findings)
		}
		if text := strings.Join(strings.Fields(journalOf(t, r, 2)), " "); !strings.Contains(text, tt.want) {
			t.Errorf("no %q in\n%s", tt.want, text)
		}
	}
}

// The journal is the same on every run, stays in its width, and no byte of
// the file steers the terminal.
func TestJournalLines(t *testing.T) {
	files, err := filepath.Glob(filepath.Join("..", "..", "testdata", "published", "*-*.yaml"))
	if err != nil || len(files) == 0 {
		t.Fatal(files, err)
	}
	for _, file := range files {
		r := played(t, file)
		text := journalOf(t, r, 0)
		if again := journalOf(t, r, 0); again != text {
			t.Errorf("%s: a second run prints other bytes", file)
		}
		for line := range strings.Lines(text) {
			line = strings.TrimRight(line, "\n")
			if width(line) > 120 {
				t.Errorf("%s: a line of %d cells: %s", file, width(line), line)
			}
			if strings.ContainsFunc(line, steers) {
				t.Errorf("%s: a control character in %q", file, line)
			}
			for _, bad := range []string{"; ;", " ,", ";  ", "unknown", "NaN", " ()", "%!", "; .", ":;"} {
				if strings.Contains(line, bad) {
					t.Errorf("%s: %q in %q", file, bad, line)
				}
			}
		}
	}
}

// The journal of a small procedure.
func TestJournalGolden(t *testing.T) {
	golden(t, "journal.text", journalOf(t, played(t, filepath.Join("testdata", "journal.yaml")), 0))
}
