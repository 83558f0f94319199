package report

import (
	"fmt"
	"io"
	"maps"
	"reflect"
	"slices"
	"strings"

	"ketyl/checker"
	"ketyl/checker/bench"
	"ketyl/checker/finding"
	"ketyl/checker/quantity"
)

// fact is one figure of an event under its word, with the words of what holds
// it before it: vessel.volume_ml.
type fact struct {
	group, name string
	value       any    // nil when the text leaves it unknown
	ask         string // what the text would have to state
	assumed     string
}

// flat lists the facts of an event in the order of their struct. A fact that
// says nothing (no, an empty word, a figure that does not arise) is left out.
func flat(facts any) []fact {
	var out []fact
	var walk func(v reflect.Value, group string)
	walk = func(v reflect.Value, group string) {
		for v.Kind() == reflect.Pointer {
			if v.IsNil() {
				return
			}
			v = v.Elem()
		}
		if v.Kind() != reflect.Struct {
			return
		}
		for i := range v.NumField() {
			name := v.Type().Field(i).Tag.Get("fact")
			if name == "" {
				continue
			}
			switch x := v.Field(i).Interface().(type) {
			case bench.Num:
				switch {
				case x.Known:
					out = append(out, fact{group, name, x.V, "", x.Assumed()})
				case x.Ask() != "":
					out = append(out, fact{group, name, nil, x.Ask(), ""})
				}
			case float64:
				out = append(out, fact{group, name, x, "", ""})
			case string:
				if x != "" {
					out = append(out, fact{group, name, x, "", ""})
				}
			case bool:
				if x {
					out = append(out, fact{group, name, x, "", ""})
				}
			case []string:
				if len(x) > 0 {
					out = append(out, fact{group, name, x, "", ""})
				}
			default:
				inner := name
				if group != "" {
					inner = group + "." + name
				}
				walk(v.Field(i), inner)
			}
		}
	}
	walk(reflect.ValueOf(facts), "")
	return out
}

// benchHead writes the name of the file and what in it could not be read or
// made out; false when nothing was played.
func (p *painter) benchHead(r checker.Result) bool {
	p.printf("%s\n", p.paint(bold, flatten(r.Path, 0)))
	for _, f := range r.Findings {
		p.printf("\n")
		p.finding(f, r.Source)
	}
	if r.Trace == nil {
		p.printf("\nNothing was played: the text could not be read.\n")
	}
	return r.Trace != nil
}

// BenchText prints every vessel after each step and every fact of every
// event. Quiet leaves the events out; a step other than 0 prints that step
// alone.
func BenchText(w io.Writer, r checker.Result, o Options, step int, quiet bool) error {
	if o.Width <= 0 {
		o.Width = 100
	}
	p := &painter{sticky: sticky{w: w}, colour: o.Colour, width: o.Width}
	if !p.benchHead(r) {
		return p.err
	}
	events := byStep(r.Trace.Events)
	if !quiet && step == 0 {
		p.printf("\n%s\n", p.paint(bold, "before the first step"))
		p.events(events[0])
	}
	for _, s := range r.Trace.Steps {
		if step != 0 && s.Step != step {
			continue
		}
		p.printf("\n")
		p.ends(fmt.Sprintf("step %d, %s", s.Step, s.Text), bold, fmt.Sprintf("line %d", s.Line), dim)
		for _, name := range slices.Sorted(maps.Keys(s.Vessels)) {
			p.labelled("", name+": "+vesselText(s.Vessels[name]))
		}
		if !quiet {
			p.events(events[s.Step])
		}
	}
	if step == 0 {
		p.wholeText(r.Trace)
	}
	p.printf("\n")
	p.paragraph(0, checker.Notice)
	return p.err
}

// wholeText prints the figures of the whole procedure.
func (p *painter) wholeText(t *bench.Trace) {
	p.printf("\n%s\n", p.paint(bold, "the whole text"))
	values, assumed := wholeFigures(t)
	for _, name := range slices.Sorted(maps.Keys(values)) {
		text := "not stated"
		if v := values[name]; v != nil {
			text = show(v)
		}
		if a := assumed[name]; a != "" {
			text += " (assumed: " + a + ")"
		}
		p.paragraph(2, words(name)+" "+text)
	}
}

func byStep(events []bench.Event) map[int][]bench.Event {
	out := map[int][]bench.Event{}
	for _, e := range events {
		out[e.Step] = append(out[e.Step], e)
	}
	return out
}

// vesselText is a vessel after a step on one line.
func vesselText(v bench.VesselState) string {
	parts := []string{quantity.Format(v.TemperatureC, quantity.Temperature)}
	if v.VolumeML != nil {
		parts = append(parts, quantity.Format(*v.VolumeML, quantity.Volume))
	} else {
		parts = append(parts, "volume not stated")
	}
	if v.Fill != nil {
		parts = append(parts, quantity.FormatNumber(*v.Fill*100)+" % full")
	}
	parts = append(parts, v.Connection, "oxygen "+quantity.FormatNumber(v.OxygenPPM)+" ppm", "water "+quantity.Format(v.WaterMmol, quantity.Amount))
	text := strings.Join(parts, ", ")
	for _, x := range []struct {
		what string
		of   map[string]float64
	}{{"live", v.LiveMmol}, {"holds", v.Contents}} {
		var list []string
		for _, name := range slices.Sorted(maps.Keys(x.of)) {
			list = append(list, name+" "+quantity.Format(x.of[name], quantity.Amount))
		}
		if len(list) > 0 {
			text += "; " + x.what + " " + strings.Join(list, ", ")
		}
	}
	return text
}

// events prints events with their facts, each group of facts as a paragraph.
func (p *painter) events(events []bench.Event) {
	for _, e := range events {
		p.printf("  %s %s\n", p.paint(cyan, e.Kind), flatten(e.Subject, 0))
		group, line := "", []string{}
		flush := func() {
			if len(line) > 0 {
				head := ""
				if group != "" {
					head = words(group) + ": "
				}
				p.paragraph(4, head+strings.Join(line, "; "))
			}
			line = line[:0]
		}
		for _, f := range flat(e.Facts) {
			if f.group != group {
				flush()
				group = f.group
			}
			text := words(f.name) + " "
			switch {
			case f.ask != "":
				text += "not stated: " + f.ask
			default:
				text += show(f.value)
			}
			if f.assumed != "" {
				text += " (assumed: " + f.assumed + ")"
			}
			line = append(line, text)
		}
		flush()
	}
}

type (
	jsonVessel struct {
		TemperatureC any            `json:"temperature_c"`
		VolumeML     any            `json:"volume_ml"`
		HereML       any            `json:"here_ml"`
		Fill         any            `json:"fill"`
		Connection   string         `json:"connection"`
		OxygenPPM    any            `json:"oxygen_ppm"`
		WaterMmol    any            `json:"water_mmol"`
		LiveMmol     map[string]any `json:"live_mmol"`
		ContentsMmol map[string]any `json:"contents_mmol"`
	}

	jsonEvent struct {
		Kind      string            `json:"kind"`
		Line      int               `json:"line"`
		Column    int               `json:"column"`
		Subject   string            `json:"subject"`
		Figures   map[string]any    `json:"figures"`
		NotStated map[string]string `json:"not_stated,omitempty"`
		Assumed   map[string]string `json:"assumed,omitempty"`
	}

	jsonStep struct {
		Step    int                   `json:"step"`
		Line    int                   `json:"line"`
		Text    string                `json:"text"`
		Vessels map[string]jsonVessel `json:"vessels"`
		Events  []jsonEvent           `json:"events"`
	}

	jsonBench struct {
		Ketyl    string         `json:"ketyl"`
		Path     string         `json:"path"`
		SHA256   string         `json:"sha256"`
		Steps    []jsonStep     `json:"steps"`
		Events   []jsonEvent    `json:"events"` // of no step
		Figures  map[string]any `json:"figures"`
		Findings []jsonFinding  `json:"findings"`
		Notice   string         `json:"notice"`
	}
)

func amounts(m map[string]float64) map[string]any {
	out := map[string]any{}
	for name, v := range m {
		out[name] = plain(v)
	}
	return out
}

func pointed(v *float64) any {
	if v == nil {
		return nil
	}
	return plain(*v)
}

func eventsJSON(events []bench.Event, src *finding.Source) []jsonEvent {
	out := []jsonEvent{}
	for _, e := range events {
		j := jsonEvent{Kind: e.Kind, Subject: e.Subject, Figures: map[string]any{}, NotStated: map[string]string{}, Assumed: map[string]string{}}
		j.Line, j.Column = src.Position(e.Span.Start)
		for _, f := range flat(e.Facts) {
			name := f.name
			if f.group != "" {
				name = f.group + "." + name
			}
			switch {
			case f.ask != "":
				j.Figures[name], j.NotStated[name] = nil, f.ask
			default:
				j.Figures[name] = plain(f.value)
			}
			if f.assumed != "" {
				j.Assumed[name] = f.assumed
			}
		}
		out = append(out, j)
	}
	return out
}

// BenchJSON prints what the bench computed as the promised JSON. A step other
// than 0 leaves the other steps out.
func BenchJSON(w io.Writer, r checker.Result, step int) error {
	out := jsonBench{Ketyl: checker.Version, Path: r.Path, SHA256: r.SHA256, Steps: []jsonStep{}, Events: []jsonEvent{}, Findings: []jsonFinding{}, Notice: checker.Notice}
	for _, f := range r.Findings {
		out.Findings = append(out.Findings, findingJSON(f, r.Source))
	}
	out.Figures, _ = wholeFigures(r.Trace)
	if r.Trace != nil {
		events := byStep(r.Trace.Events)
		out.Events = eventsJSON(events[0], r.Source)
		for _, s := range r.Trace.Steps {
			if step != 0 && s.Step != step {
				continue
			}
			j := jsonStep{Step: s.Step, Line: s.Line, Text: s.Text, Vessels: map[string]jsonVessel{}, Events: eventsJSON(events[s.Step], r.Source)}
			for name, v := range s.Vessels {
				j.Vessels[name] = jsonVessel{
					plain(v.TemperatureC), pointed(v.VolumeML), pointed(v.HereML), pointed(v.Fill), v.Connection, plain(v.OxygenPPM), plain(v.WaterMmol), amounts(v.LiveMmol), amounts(v.Contents),
				}
			}
			out.Steps = append(out.Steps, j)
		}
	}
	if err := writeJSON(w, out, ""); err != nil {
		return err
	}
	_, err := io.WriteString(w, "\n")
	return err
}
