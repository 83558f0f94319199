package report

import (
	"fmt"
	"io"
	"maps"
	"math"
	"regexp"
	"slices"
	"strings"
	"unicode"

	"ketyl/checker"
	"ketyl/checker/bench"
	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
)

// journal writes what the bench computed as a bench journal: a table of the
// materials, a short block for each step, and what the whole comes to. A
// figure that was assumed carries ~ and the number of its reason; a figure
// that a sentence lacks is asked for once.
type journal struct {
	*painter
	r      checker.Result
	steps  map[int]*procedure.Step
	events map[int][]bench.Event
	notes  []string       // reasons of what was assumed, in the order of their numbers
	number map[string]int // of each reason
	asked  map[string]bool
	known  []string // names of materials, apparatus and vessels
	pieces map[string]bool
	needed map[string]bool   // materials of which the amount matters
	at     int               // the present step
	asks   []string          // questions of the present block
	line   map[string]string // what stood in the last line of a vessel
}

// BenchJournal prints what the bench computed as a chemist keeps a journal. A
// step other than 0 prints that step alone.
func BenchJournal(w io.Writer, r checker.Result, o Options, step int) error {
	if o.Width <= 0 {
		o.Width = 100
	}
	j := &journal{painter: &painter{sticky: sticky{w: w}, colour: o.Colour, width: o.Width}, r: r, number: map[string]int{}, asked: map[string]bool{},
		line: map[string]string{}, pieces: map[string]bool{}, needed: map[string]bool{}, steps: map[int]*procedure.Step{}}
	if !j.benchHead(r) {
		return j.err
	}
	if r.Procedure != nil {
		for _, s := range r.Procedure.Steps {
			j.steps[s.N] = s
		}
		for _, m := range r.Procedure.Materials {
			j.known = append(j.known, m.Name.S)
		}
		for _, a := range r.Procedure.Apparatus {
			j.known = append(j.known, a.Name.S)
			j.pieces[a.Name.S] = true
		}
	}
	j.events = byStep(r.Trace.Events)
	for _, s := range r.Trace.Steps {
		for _, name := range slices.Sorted(maps.Keys(s.Vessels)) {
			if !slices.Contains(j.known, name) {
				j.known = append(j.known, name)
			}
		}
	}
	for _, e := range j.events[0] {
		if m, ok := e.Facts.(*bench.MaterialEvent); ok {
			j.needed[m.Material.Name] = m.Needed
		}
	}
	if step == 0 {
		j.materials()
	}
	for _, s := range r.Trace.Steps {
		shown := step == 0 || step == s.Step
		j.at = s.Step
		changed := j.changes(s, shown)
		if shown {
			j.step(s, changed)
		}
	}
	if step == 0 {
		j.foot()
	}
	if len(j.notes) > 0 {
		j.printf("\n%s\n", j.paint(bold, "assumed (~)"))
		for i, note := range j.notes {
			j.footnote(2, fmt.Sprintf("[%d] ", i+1), note)
		}
	}
	j.printf("\n")
	j.paragraph(0, checker.Notice)
	return j.err
}

// footnote writes a text under a mark, later lines under the first.
func (p *painter) footnote(indent int, mark, text string) {
	at := indent + width(mark)
	for i, line := range wrap(text, p.width-at) {
		if i == 0 {
			p.printf("%*s%s%s\n", indent, "", p.paint(dim, mark), line)
		} else {
			p.printf("%*s%s\n", at, "", line)
		}
	}
}

// Figures.

// fig prints a figure of the bench in the unit of ordinary work; times brings
// it to the base unit of the dimension. An unknown one gives nothing.
func (j *journal) fig(n bench.Num, dim quantity.Dimension, times float64) string {
	if !n.Known {
		return ""
	}
	return j.marked(n, quantity.Format(n.V*times, dim))
}

// num prints a figure that has no dimension, with what stands behind it.
func (j *journal) num(n bench.Num, times float64, unit string) string {
	if !n.Known {
		return ""
	}
	return j.marked(n, quantity.FormatNumber(n.V*times)+unit)
}

func (j *journal) marked(n bench.Num, text string) string {
	if n.Assumed() == "" {
		return text
	}
	return "~" + text + j.note(n.Assumed())
}

// note gives the mark of a reason, and a number to one that is new. Marks
// stand between control characters, which no text holds, until once takes out
// those that a line has twice.
func (j *journal) note(why string) string {
	if j.number[why] == 0 {
		j.notes = append(j.notes, why)
		j.number[why] = len(j.notes)
	}
	return fmt.Sprintf("\x02%d\x03", j.number[why])
}

var noteMark = regexp.MustCompile("\x02([0-9]+)\x03")

// once writes the marks of a text, each where it first stands.
func once(text string) string {
	seen := map[string]bool{}
	return noteMark.ReplaceAllStringFunc(text, func(mark string) string {
		if seen[mark] {
			return ""
		}
		seen[mark] = true
		return " [" + mark[1:len(mark)-1] + "]"
	})
}

// say writes a text under a label.
func (j *journal) say(label, text string) { j.labelled(label, once(text)) }

// ask keeps the question of an unknown figure for the end of the block.
func (j *journal) ask(n bench.Num) {
	if n.Known || n.Ask() == "" {
		return
	}
	key := n.Ask()
	if !strings.ContainsFunc(key, unicode.IsDigit) && !j.names(key) {
		key += fmt.Sprint("|", j.at) // it says nothing of what; asked for here, it may be wanted elsewhere
	}
	if !j.asked[key] {
		j.asked[key] = true
		j.asks = append(j.asks, n.Ask())
	}
}

// names reports whether a text names a material or a vessel.
func (j *journal) names(text string) bool {
	return slices.ContainsFunc(j.known, func(name string) bool { return name != "" && strings.Contains(text, name) })
}

// questions writes what the block lacks.
func (j *journal) questions() {
	if len(j.asks) > 0 {
		j.say("?", "not stated: "+strings.Join(j.asks, "; "))
	}
	j.asks = nil
}

func mmol(v float64) string { return quantity.Format(v, quantity.Amount) }

// some reports a figure that is known and not nothing.
func some(n bench.Num) bool { return n.Known && n.V != 0 && !math.IsNaN(n.V) }

// join joins the parts that say something.
func join(sep string, parts ...string) string {
	return strings.Join(slices.DeleteFunc(parts, func(s string) bool { return s == "" }), sep)
}

// when gives a text if something holds.
func when(ok bool, text string) string {
	if ok {
		return text
	}
	return ""
}

// around sets words around a figure; nothing around nothing.
func around(before, figure, after string) string {
	if figure == "" {
		return ""
	}
	return before + figure + after
}

// The head.

// written gives the source of a span on one line, without the marks of YAML.
func (j *journal) written(start, end int) string {
	if j.r.Source == nil || start < 0 || end > len(j.r.Source.Bytes) || start >= end {
		return ""
	}
	var lines []string
	for line := range strings.Lines(string(j.r.Source.Bytes[start:end])) {
		line, _, _ = strings.Cut(line, " #")
		line = strings.TrimPrefix(strings.TrimSpace(line), "- ")
		if line != "" && line != ">" && line != "|" && line != ">-" && line != "|-" {
			lines = append(lines, line)
		}
	}
	s := strings.Join(lines, " ")
	if strings.HasPrefix(s, "[") && strings.HasSuffix(s, "]") {
		s = strings.TrimSpace(s[1 : len(s)-1])
	}
	return strings.NewReplacer(`"`, "", `'`, "").Replace(s)
}

func (j *journal) rows() map[string]*procedure.Material {
	rows := map[string]*procedure.Material{}
	if j.r.Procedure != nil {
		for _, m := range j.r.Procedure.Materials {
			rows[m.Name.S] = m
		}
	}
	return rows
}

// counted are families whose mmol mean nothing: they are taken by the gram.
var counted = []string{"molecular sieve", "drying salt", "adsorbent", "filter aid"}

// materials writes the table of the materials.
func (j *journal) materials() {
	var list []*bench.MaterialEvent
	for _, e := range j.events[0] {
		if m, ok := e.Facts.(*bench.MaterialEvent); ok {
			list = append(list, m)
		}
	}
	if len(list) == 0 {
		return
	}
	rows := j.rows()
	table := [][]string{{"name", "what it is", "as written", "amount", "equiv"}}
	var under []string
	for _, m := range list {
		f := &m.Material
		cells := []string{f.Name, whatItIs(m), "", "", ""}
		row := rows[f.Name]
		if row != nil {
			amount := ""
			if row.Amount.Is() {
				amount = j.written(row.Amount.Span.Start, row.Amount.Span.End)
			}
			cells[2] = join(", ", amount, j.written(row.SolSpan.Start, row.SolSpan.End))
		}
		if cells[2] == "" {
			cells[2] = "no amount"
		}
		how := ""
		switch {
		case slices.Contains(counted, f.Family):
		case f.Mmol.Known:
			cells[3] = j.fig(f.Mmol, quantity.Amount, 1)
			if f.Equivalents.Known && (m.ExcessPct.Known || m.Reactive || f.Equivalents.V <= 5 && (m.Needed || f.Phase != "solution")) { // of a solvent or a quench they mean nothing
				cells[4] = j.num(f.Equivalents, 1, "")
			}
			how = j.howMuch(m, row)
		case m.Needed && m.Used:
			j.ask(f.Mmol)
		}
		table = append(table, cells)
		under = append(under, join("; ", how, j.waterOf(m, row), when(!m.Used, "no step that is played uses it")))
	}
	j.printf("\n%s\n", j.paint(bold, "materials"))
	widths := []int{24, 22, 30, 14, 8}
	for c := range widths {
		most, word := 0, 0
		for _, cells := range table {
			most = max(most, width(once(cells[c])))
			for _, w := range strings.Fields(cells[c]) {
				word = max(word, width(once(w)))
			}
		}
		widths[c] = min(max(widths[c], min(word, 40)), most)
	}
	for i, cells := range table {
		j.row(widths, cells, i == 0)
		if i > 0 && under[i-1] != "" {
			j.paragraph(4, once(under[i-1]))
		}
	}
	g := j.r.Trace.Figures
	var limits []string
	if g.Limiting != "" {
		limits = append(limits, join(", ", "limiting: "+g.Limiting, j.fig(g.LimitingMmol, quantity.Amount, 1)))
	}
	if f := j.whole(); f != nil {
		if f.HasProduct {
			name := "the product"
			if j.r.Procedure != nil && j.r.Procedure.Product != nil {
				name = j.r.Procedure.Product.Name.S
			}
			j.ask(g.TheoreticalG)
			limits = append(limits, around("theory ", j.fig(g.TheoreticalG, quantity.Mass, 1), " of "+name),
				join(", ", around("expected ", j.fig(f.ExpectedG, quantity.Mass, 1), ""), j.num(g.YieldPercent, 1, " %")))
		}
		if len(f.IdleReactions) > 0 {
			limits = append(limits, "declared but never run: "+strings.Join(f.IdleReactions, ", "))
		}
	}
	if text := join("; ", limits...); text != "" {
		j.paragraph(2, once(text))
	}
	j.questions()
}

// row writes the cells of a table, each wrapped in its column.
func (j *journal) row(widths []int, cells []string, head bool) {
	most := 1
	wrapped := make([][]string, len(cells))
	for c, cell := range cells {
		if cell != "" {
			wrapped[c] = wrap(once(cell), max(1, widths[c]))
		}
		most = max(most, len(wrapped[c]))
	}
	for i := range most {
		line := " "
		for c := range cells {
			text := ""
			if i < len(wrapped[c]) {
				text = wrapped[c][i]
			}
			line += " " + text + strings.Repeat(" ", max(0, widths[c]-width(text))+1)
		}
		line = strings.TrimRight(line, " ")
		if head {
			line = j.paint(dim, line)
		}
		j.printf("%s\n", line)
	}
}

func whatItIs(m *bench.MaterialEvent) string {
	f := &m.Material
	switch {
	case !m.Known:
		return join(", ", "not known", around("near: ", strings.Join(m.Nearest, ", "), ""))
	case f.JudgedAs != "":
		return "judged as " + f.JudgedAs
	case f.Substance != "" && !strings.EqualFold(f.Substance, f.Name):
		return f.Substance
	}
	return f.Family
}

// howMuch says how the amount was computed and what disagrees in it.
func (j *journal) howMuch(m *bench.MaterialEvent, row *procedure.Material) string {
	f := &m.Material
	how := strings.Replace(m.BrokenDown, " × 1 / ", " / ", 1)
	if how != "" && f.VolumeML.Known && f.MassG.Known && f.Phase == "liquid" && row != nil && row.Amount.Is() {
		if _, weighed := row.Amount.Of(quantity.Mass); !weighed {
			how = quantity.Format(f.VolumeML.V, quantity.Volume) + " = " + how
		}
	}
	off := ""
	if f := m.MismatchPct; f.Known && f.V >= 1 {
		off = fmt.Sprintf("%s is %s by the others, %s off", m.Stated, m.Computed, j.num(f, 1, " %"))
	}
	taken := ""
	if t := m.TakenPercent; t.Known && math.Abs(t.V-100) >= 0.5 {
		taken = around("the steps take ", j.num(t, 1, " %"), "")
	}
	excess := ""
	if m.ExcessPct.Known && math.Abs(m.ExcessPct.V) >= 0.5 && m.Reactive {
		excess = j.num(m.ExcessPct, 1, " %") + " over what the reactions take"
		if m.ExcessPct.V < 0 {
			excess = j.num(m.ExcessPct, -1, " %") + " short of what the reactions take"
		}
	}
	return join("; ", how, excess, off, taken)
}

// waterOf says what water a material brings and how that is known.
func (j *journal) waterOf(m *bench.MaterialEvent, row *procedure.Material) string {
	f := &m.Material
	switch {
	case f.Hydrate > 0:
		return join(", ", "hydrate with "+quantity.FormatNumber(f.Hydrate)+" H₂O", around("", j.fig(f.WaterMmol, quantity.Amount, 1), " of water"))
	case some(f.WaterPPM) && some(f.WaterMmol) && (f.Phase == "liquid" || f.Phase == "solution"):
		how := ""
		switch {
		case f.Dried != "":
			how = "dried with " + f.Dried
		case row != nil && row.Water != nil:
			how = "stated"
		case row != nil && row.Origin.Is():
			how = row.Origin.S
		case f.Grade != "":
			how = f.Grade
			if !strings.Contains(how, " ") {
				how += " grade"
			}
		}
		text := join(", ", j.fig(f.WaterPPM, quantity.Fraction, 1e-6), j.fig(f.WaterMmol, quantity.Amount, 1))
		return "water " + text + around(" (", how, ")")
	case !f.WaterPPM.Known && f.Phase == "liquid" && !f.Aqueous && f.Family != "water":
		return "dryness not stated"
	}
	return ""
}

// The steps.

// whole gives the facts of the whole text.
func (j *journal) whole() *bench.ProcedureFacts {
	for _, e := range j.r.Trace.Events {
		if f, ok := e.Facts.(*bench.ProcedureFacts); ok {
			return f
		}
	}
	return nil
}

// apart are modifiers that the head of a step leaves out: they do not say
// what is done.
var apart = []string{"cautions", "note", "accepted", "part", "time", "expect", "look for", "stop point", "protection", "done by", "text", "sign", "optional", "attended", "vented", "shielded", "then"}

// spoken are modifiers that read on in a sentence; others follow a comma.
var spoken = []string{"to", "from", "by", "with", "in", "into", "on", "under", "through", "against", "at", "temperature", "over", "for", "within", "before the section", "gives", "until"}

// sentenceOf is a step in words, in the order in which it was written.
func (j *journal) sentenceOf(s bench.StepState) string {
	step := j.steps[s.Step]
	if step == nil {
		return s.Text
	}
	text := s.Text
	keys := slices.SortedFunc(maps.Keys(step.At_), func(a, b string) int { return step.At_[a].Start - step.At_[b].Start })
	for _, key := range keys {
		if slices.Contains(apart, key) || key == step.Verb.Name {
			continue
		}
		value := j.written(step.At_[key].Start, step.At_[key].End)
		switch {
		case key == "before the section":
			if step.Before == nil || !*step.Before {
				continue
			}
			key, value = "before", "the section"
		case key == "gives" && len(step.GivesOrder) > 0:
			var names []string
			for _, name := range step.GivesOrder {
				names = append(names, step.Gives[name].S)
			}
			value = strings.Join(names, ", ")
			fallthrough
		case !slices.Contains(spoken, key):
			text += ","
		}
		switch {
		case value == "yes" || value == "true":
			value = ""
		case value == "no" || value == "false":
			key, value = "not", key
		case key == "temperature":
			key = "at"
		}
		text = join(" ", text, key, value)
	}
	return text
}

// stand finds the vessel as the events know it after a step: as the next step
// that names it finds it, else as it was last seen, if it still stands so.
func (j *journal) stand(step int, name string, v bench.VesselState) *bench.VesselFacts {
	var last *bench.VesselFacts
	for _, e := range j.r.Trace.Events {
		f := vesselOf(e.Facts)
		if f == nil || f.Name != name {
			continue
		}
		if f.Connection == v.Connection {
			last = f
		}
		if e.Step > step {
			if f.Connection == v.Connection {
				return f
			}
			break
		}
	}
	return last
}

func vesselOf(facts any) *bench.VesselFacts {
	switch f := facts.(type) {
	case *bench.StepFacts:
		return f.Vessel
	case *bench.AdditionFacts:
		return f.Vessel
	case *bench.HeatingFacts:
		return f.Vessel
	case *bench.ExposureFacts:
		return f.Vessel
	case *bench.QuenchFacts:
		return f.Vessel
	case *bench.WorkupFacts:
		return f.Vessel
	}
	return nil
}

// changes gives a line for every vessel that the step changed.
func (j *journal) changes(s bench.StepState, shown bool) []string {
	var lines []string
	for _, name := range slices.Sorted(maps.Keys(s.Vessels)) {
		v := s.Vessels[name]
		_, pure := v.Contents[name]
		if pure && len(v.Contents) == 1 && len(v.LiveMmol) == 0 {
			continue // a solid that lies ready, or a cake, under its own name
		}
		key := vesselKey(v, j.pieces[name])
		old, was := j.line[name]
		j.line[name] = key
		if key == old {
			continue
		}
		empty := (v.VolumeML != nil && *v.VolumeML == 0) && len(v.Contents) == 0
		switch {
		case empty && v.Connection == "open" && !was:
			continue // glass that stands ready
		case !shown:
			continue
		case empty && v.Connection == "open":
			lines = append(lines, name+": empty")
		default:
			lines = append(lines, name+": "+j.state(s.Step, name, v))
		}
	}
	return lines
}

// vesselKey is what a line on a vessel would say, to see what changed.
func vesselKey(v bench.VesselState, piece bool) string {
	parts := []string{quantity.Format(v.TemperatureC, quantity.Temperature), v.Connection, quantity.Format(v.OxygenPPM*1e-6, quantity.Fraction), mmol(v.WaterMmol)}
	if v.VolumeML != nil {
		parts = append(parts, quantity.Format(*v.VolumeML, quantity.Volume))
	}
	return strings.Join(append(parts, list(v.LiveMmol), when(!piece || v.VolumeML != nil && *v.VolumeML == 0, list(v.Contents))), "|")
}

func list(amounts map[string]float64) string {
	var out []string
	for _, name := range slices.Sorted(maps.Keys(amounts)) {
		out = append(out, name+" "+mmol(amounts[name]))
	}
	return strings.Join(out, ", ")
}

// state is a vessel after a step on one line.
func (j *journal) state(step int, name string, v bench.VesselState) string {
	f := j.stand(step, name, v)
	degrees := quantity.Format(v.TemperatureC, quantity.Temperature)
	if f != nil && f.TemperatureC.Known && f.TemperatureC.V == v.TemperatureC {
		degrees = j.marked(f.TemperatureC, degrees)
	}
	volume := "volume not stated"
	nothing := false
	if v.VolumeML != nil {
		at20, here := *v.VolumeML, *v.VolumeML
		nothing = at20 == 0
		if v.HereML != nil && !nothing {
			here = *v.HereML
		}
		volume = quantity.Format(here, quantity.Volume)
		if v.Fill != nil && !nothing {
			volume += " (" + quantity.FormatNumber(*v.Fill*100*here/at20) + " % full)"
		}
		if here != at20 {
			volume += ", " + quantity.Format(at20, quantity.Volume) + " at 20 °C"
		}
	}
	if nothing {
		volume = "no liquid"
	}
	parts := []string{join(", ", degrees, volume, barrierText(v.Connection, f))}
	if v.Connection != "open" {
		switch {
		case f != nil && !f.OxygenPPM.Known && f.OxygenPPM.Ask() != "":
			j.ask(f.OxygenPPM)
			parts = append(parts, "oxygen not known")
		case v.Connection == "vacuum":
		default:
			parts = append(parts, "oxygen "+quantity.Format(v.OxygenPPM*1e-6, quantity.Fraction))
		}
	}
	if v.WaterMmol > 0 {
		parts = append(parts, "water so far "+mmol(v.WaterMmol))
	}
	parts = append(parts, around("live: ", list(v.LiveMmol), ""))
	if !j.pieces[name] || nothing {
		rest := maps.Clone(v.Contents)
		for name := range v.LiveMmol {
			delete(rest, name)
		}
		parts = append(parts, around("holds ", list(rest), ""))
	}
	return join("; ", parts...)
}

// barrierText says how a vessel stands to the room.
func barrierText(connection string, f *bench.VesselFacts) string {
	gas, out, after := "inert gas", "", ""
	if f != nil {
		if f.Gas != "" {
			gas = f.Gas
		}
		if f.Outlet != "" && f.Outlet != "open" && f.Outlet != "drying tube" {
			out = ", outlet " + f.Outlet
		}
		if f.BarrierRank == 3 {
			after = " after evacuation"
		}
	}
	switch connection {
	case "open":
		return "open to air"
	case "drying tube":
		return "under a drying tube"
	case "inert gas":
		return "under " + gas + after + out
	case "balloon":
		return "under a balloon of " + gas
	case "vacuum":
		return "under vacuum"
	case "glovebox":
		return "in the glovebox"
	}
	return connection
}

// step writes the block of a step.
func (j *journal) step(s bench.StepState, changed []string) {
	j.printf("\n")
	right := fmt.Sprintf("line %d", s.Line)
	head := fmt.Sprintf("step %d, %s", s.Step, j.sentenceOf(s))
	for i, line := range wrap(head, j.width-len(right)-2) {
		if i == 0 {
			j.ends(line, bold, right, dim)
		} else {
			j.printf("  %s\n", j.paint(bold, line))
		}
	}
	for i, line := range changed {
		j.say(map[bool]string{true: "after"}[i == 0], line)
	}
	last := ""
	for _, l := range j.sentences(j.events[s.Step]) {
		if l.text == "" {
			continue
		}
		label := l.label
		if label == last {
			label = ""
		}
		last = l.label
		j.say(label, l.text)
	}
	j.questions()
}

// said is a sentence under its label.
type said struct{ label, text string }

// sentences says what the events of a step have figures for.
func (j *journal) sentences(events []bench.Event) []said {
	var out []said
	var glass []string
	glassHow := ""
	flushGlass := func() {
		if len(glass) > 0 {
			out = append(out, said{"dried", strings.Join(glass, ", ") + ": " + glassHow})
		}
		glass = nil
	}
	var cautions []*bench.HazardFacts
	for _, e := range events {
		switch f := e.Facts.(type) {
		case *bench.DryingFacts:
			if f.Target == "glass" {
				how := j.glass(f)
				if how != glassHow {
					flushGlass()
				}
				if how != "" {
					glass, glassHow = append(glass, f.Name), how
				}
				continue
			}
			out = append(out, said{"dried", j.drying(f)})
		case *bench.TransferFacts:
			out = append(out, said{"moved", j.transfer(f)})
		case *bench.AdditionFacts:
			out = append(out, said{"added", j.addition(f, e.Subject)})
		case *bench.WaterFacts:
			out = append(out, said{"water", j.water(f)})
		case *bench.ExposureFacts:
			out = append(out, said{"air", j.exposure(f)})
		case *bench.HeatingFacts:
			out = append(out, said{"heat", j.heating(f)})
		case *bench.QuenchFacts:
			out = append(out, said{"quench", j.quench(f)})
		case *bench.ReleaseFacts:
			out = append(out, said{"gas", j.release(f)})
		case *bench.ClosureFacts:
			out = append(out, said{"closed", j.closure(f)})
		case *bench.ContactFacts:
			out = append(out, said{"meets", j.contact(f)})
		case *bench.MeetingFacts:
			out = append(out, said{"meets", j.meeting(f)})
		case *bench.ContainerFacts:
			out = append(out, said{"holds", j.container(f)})
		case *bench.WorkupFacts:
			out = append(out, said{"work-up", j.workup(f)})
		case *bench.DiscardFacts:
			out = append(out, said{"waste", j.discard(f)})
		case *bench.FillFacts:
			out = append(out, said{"full", fmt.Sprintf("%s is %s full: %s in %s", f.Vessel, j.num(f.Fill, 100, " %"), j.fig(f.VolumeML, quantity.Volume, 1)+when(f.Fill.V > 1.005*f.ColdFill.V, " at "+j.fig(f.TemperatureC, quantity.Temperature, 1)+", "+j.num(f.ColdFill, 100, " %")+" at 20 °C,"), j.fig(f.SizeML, quantity.Volume, 1))})
		case *bench.StepFacts:
			out = append(out, said{"pumped", j.pumped(f)}, said{"freed", j.freed(f)})
		case *bench.HazardFacts:
			cautions = append(cautions, f)
		}
	}
	flushGlass()
	return append(out, said{"cautions", hazards(cautions)})
}

// glass says what the head of a step does not say of the glass it dries.
func (j *journal) glass(f *bench.DryingFacts) string {
	if f.Agent == "oven" {
		j.ask(f.OvenC)
		j.ask(f.Hours)
	}
	return join("; ", around("still wet with ", f.RinsedOrganic, ""), f.Clash)
}

func (j *journal) drying(f *bench.DryingFacts) string {
	var parts []string
	counts := f.Target == "solvent" || f.Target == "reagent"
	if counts {
		j.ask(f.ResidualPPM)
	}
	start, left := j.fig(f.StartPPM, quantity.Fraction, 1e-6), j.fig(f.ResidualPPM, quantity.Fraction, 1e-6)
	switch {
	case left != "" && start != "":
		parts = append(parts, start+" of water before, "+left+" after")
	case left != "":
		parts = append(parts, left+" of water left")
	case start != "":
		parts = append(parts, start+" of water before, not known after")
	}
	if left != "" && f.Basis != "" && !strings.Contains(f.ResidualPPM.Assumed(), f.Basis) {
		parts = append(parts, "basis: "+f.Basis)
	}
	if (counts || f.Target == "layer") && f.WaterG.Known && f.CapacityG.Known {
		parts = append(parts, fmt.Sprintf("%s of water, the agent takes %s", j.fig(f.WaterG, quantity.Mass, 1), j.fig(f.CapacityG, quantity.Mass, 1)))
	}
	parts = append(parts, f.Clash)
	return around(f.Name+": ", join("; ", parts...), "")
}

func (j *journal) transfer(f *bench.TransferFacts) string {
	if !f.ToolFill.Known || !f.Tool.SizeML.Known {
		return ""
	}
	return fmt.Sprintf("%s of %s in %s of %s, %s full%s", j.fig(f.VolumeML, quantity.Volume, 1), f.Material.Name, f.Tool.Name, j.fig(f.Tool.SizeML, quantity.Volume, 1), j.num(f.ToolFill, 100, " %"),
		when(f.OpenAir, "; passes through open air"))
}

// little is the rise below which heat is not worth a sentence, K.
const little = 0.05

func (j *journal) addition(f *bench.AdditionFacts, subject string) string {
	name := f.Material.Name
	if name == "" {
		_, name, _ = strings.Cut(subject, " ")
	}
	amount := around("", j.mixed(f), "")
	if amount == "" {
		amount = join(", ", when(some(f.VolumeML), j.fig(f.VolumeML, quantity.Volume, 1)), when(some(f.Mmol), j.fig(f.Mmol, quantity.Amount, 1)))
	}
	parts := []string{around(name+" ", amount, "")}
	if amount == "" {
		parts[0] = name
		if j.needed[name] {
			j.ask(f.Mmol)
		}
	}
	if some(f.FunnelFill) {
		parts = append(parts, "funnel "+j.num(f.FunnelFill, 100, " %")+" full")
	}
	const densest = 12 // M: above that it lies in its own oil, and nothing dissolves it
	if some(f.Concentration) && f.Concentration.V <= densest {
		parts = append(parts, "live then "+j.fig(f.Concentration, quantity.Molarity, 1))
	}
	if some(f.MlPerGHydride) {
		parts = append(parts, j.num(f.MlPerGHydride, 1, " mL")+" of solvent per g of hydride")
	}
	hot := f.RiseK.Known && math.Abs(f.RiseK.V) >= little || f.HeatKJ.Known && f.HeatKJ.V >= 0.01
	switch {
	case hot:
		text := "gives " + j.num(f.HeatKJ, 1, " kJ")
		if f.Starts {
			// the heat is that of this addition, the rise that of the whole charge
			text += around(", ", j.fig(f.OwnRiseK, quantity.TemperatureRange, 1), " if none leaves") + around("; the whole charge at once ", j.fig(f.RiseK, quantity.TemperatureRange, 1), "")
		} else {
			text += around(", ", j.fig(f.RiseK, quantity.TemperatureRange, 1), " if none leaves")
		}
		text += around(" (", j.fig(f.MarginK, quantity.TemperatureRange, 1), " to boiling)")
		if f.Watts.Known {
			text += "; " + j.fig(f.Watts, quantity.Power, 1) + " at the stated rate" + around(", the wall takes ", j.fig(f.CoolingWatts, quantity.Power, 1), "")
			j.ask(f.CoolingWatts)
		} else if !f.AtOnce {
			j.ask(f.Watts)
		}
		j.ask(f.RiseK)
		if f.Boils != "" {
			text += "; boils off " + j.fig(f.BoilsOffML, quantity.Volume, 1) + " of " + f.Boils + around(", ", j.fig(f.VapourL, quantity.Volume, 1000), " of its gas") + around(", ", j.fig(f.VapourLPerMin, quantity.Flow, 1000), "")
		}
		parts = append(parts, text)
	case !f.HeatKJ.Known:
		j.ask(f.HeatKJ)
		parts = append(parts, when(f.HeatKJ.Ask() != "", "heat not known"))
	}
	if f.Starts && !f.Initiated {
		if f.PermittedShare.Known {
			share := j.num(f.PermittedShare, 100, " %") + " of the halide may be in before the start is seen"
			if f.PermittedShare.V >= 1 {
				share = "all of the halide may be in before the start is seen"
			}
			parts = append(parts, share+around(", ", j.num(f.ChargedShare, 100, " %"), " is"))
		}
		j.ask(f.PermittedShare)
		j.ask(f.ChargedShare)
	}
	if len(parts) == 1 && amount == "" {
		return ""
	}
	return join("; ", append(parts, j.room(f.Hot, f.FillAfter))...)
}

// mixed is the amount of what comes as part of a mixture.
func (j *journal) mixed(f *bench.AdditionFacts) string {
	if !some(f.VolumeML) || !some(f.Mmol) {
		return ""
	}
	_, listed := j.rows()[f.Material.Name]
	switch {
	case listed && !strings.HasSuffix(f.From.Kind, "funnel"):
		return ""
	case listed || f.Material.Substance == "":
		return j.fig(f.Mmol, quantity.Amount, 1) + " in " + j.fig(f.VolumeML, quantity.Volume, 1)
	}
	return j.fig(f.VolumeML, quantity.Volume, 1) + " with " + f.Material.Substance + " " + j.fig(f.Mmol, quantity.Amount, 1)
}

func (j *journal) water(f *bench.WaterFacts) string {
	j.ask(f.WaterMmol)
	j.ask(f.SolventMmol)
	head := f.Reagent + ", " + mmol(f.ReagentMmol) + " in equivalents, meets "
	if f.WaterMmol.Known {
		head += j.fig(f.WaterMmol, quantity.Amount, 1) + " of water"
		if f.LossPercent.Known {
			head += ", " + j.num(bench.Got(f.LossPercent.V), 1, " %") + " of it lost"
		}
	} else {
		head += "water that is not known"
	}
	var by []string
	for _, x := range []struct {
		n    bench.Num
		what string
	}{{f.SolventMmol, "solvents"}, {f.GlassMmol, "glass"}, {f.SolidMmol, "solids"}, {f.AirMmol, "air"}} {
		if some(x.n) {
			by = append(by, x.what+" "+j.fig(x.n, quantity.Amount, 1))
		}
	}
	parts := []string{head + around(" (", strings.Join(by, ", "), ")")}
	if f.Source != "" && (!f.SourceMmol.Known || f.SourceMmol.V > 0) {
		parts = append(parts, "most from "+join(", ", f.Source, j.fig(f.SourceVolumeML, quantity.Volume, 1), j.fig(f.SourcePPM, quantity.Fraction, 1e-6), when(f.SourceKind == "solvent", when(f.SourceGrade == "not stated", "dryness ")+f.SourceGrade)))
	}
	if f.ExcessMmol.Known {
		if f.ExcessMmol.V >= 0 {
			parts = append(parts, j.fig(f.ExcessMmol, quantity.Amount, 1)+" more than the reactions take")
		} else {
			parts = append(parts, "no more than the reactions take")
		}
	}
	if f.Ester != "" && f.EsterPercent.Known {
		parts = append(parts, "as hydroxide it takes "+j.fig(f.EsterPercent, quantity.Fraction, 0.01)+" of "+f.Ester)
	}
	if f.NeedPPM.Known {
		if f.NeedPPM.V > 0 {
			parts = append(parts, "dry enough here: solvents of "+j.fig(f.NeedPPM, quantity.Fraction, 1e-6)+" or less, "+j.fig(f.NeedMmol, quantity.Amount, 1)+" of water in all")
		} else {
			parts = append(parts, "no solvent is dry enough: glass, solids and air bring too much already, and "+j.fig(f.NeedMmol, quantity.Amount, 1)+" of water in all is what it stands")
		}
	} else if some(f.NeedMmol) {
		parts = append(parts, "dry enough here: "+j.fig(f.NeedMmol, quantity.Amount, 1)+" of water in all")
	}
	return join("; ", parts...)
}

func (j *journal) exposure(f *bench.ExposureFacts) string {
	barrier := f.Barrier
	if f.Gas != "" {
		barrier += " (" + f.Gas + ")"
	}
	text := f.Species + " " + mmol(f.Mmol) + around(" in ", f.Vessel.Name, "") + " under " + barrier
	if f.Opened {
		text += ", opened: " + f.Act + when(f.CounterFlow, " against a stream of gas")
	}
	standing := "kept"
	switch {
	case f.BarrierRank < f.NeedRank && f.Accepted:
		standing = "less, accepted: " + f.AcceptedWhy
	case f.BarrierRank < f.NeedRank:
		standing = "this is less"
	}
	parts := []string{text, "needs " + f.Need + ": " + standing}
	oxygen := ""
	if f.OxygenPPM.Known {
		oxygen = "oxygen " + j.fig(f.OxygenPPM, quantity.Fraction, 1e-6)
	} else {
		j.ask(f.OxygenPPM)
	}
	if oxygen != "" {
		oxygen += around(", limit ", j.fig(f.OxygenLimit, quantity.Fraction, 1e-6), "")
		oxygen += around(", ", j.fig(f.OxygenMmol, quantity.Amount, 1), " of it")
	}
	source := f.OxygenSource
	if source == f.Vessel.Connection || source == "open to air" {
		source = "" // said already
	}
	if oxygen == "" && source != "" {
		oxygen = "oxygen not known"
	}
	parts = append(parts, oxygen+around(" (", source, ")"), when(f.GasAttacks, f.Gas+" attacks it; "+f.BetterGas+" does not"))
	return join("; ", parts...)
}

func (j *journal) heating(f *bench.HeatingFacts) string {
	var parts []string
	bath := f.Bath
	if bath != "" && f.BathLowC.Known && f.BathHighC.Known && f.BathLowC.V != f.BathHighC.V {
		bath += " (" + j.num(f.BathLowC, 1, "") + " to " + j.fig(f.BathHighC, quantity.Temperature, 1) + ")"
	}
	bath = join(" at ", bath, j.fig(f.BathC, quantity.Temperature, 1))
	if f.BathC.Known && f.Bath == "" {
		bath = "bath at " + bath
	}
	name := f.Vessel.Name
	figured := f.TargetC.Known || f.BathC.Known || f.BathLowC.Known || some(f.VolumeOffML)
	parts = append(parts, join(" ", name, around("to ", j.fig(f.TargetC, quantity.Temperature, 1), ""), around("by ", bath, ""), around("for ", j.fig(f.Minutes, quantity.Time, 1), "")))
	if !f.Reachable {
		parts = append(parts, "that bath does not reach it")
	}
	if f.AboveBoilK.Known {
		at := when(f.Verb == "concentrate", " at 1 atm")
		switch {
		case f.AboveBoilK.V > 0:
			parts = append(parts, "bath "+j.fig(f.AboveBoilK, quantity.TemperatureRange, 1)+" above its boiling point"+at)
		case f.AboveBoilK.V < 0:
			parts = append(parts, "bath "+j.fig(bench.Num{V: -f.AboveBoilK.V, Known: true, Note: f.AboveBoilK.Assumed()}, quantity.TemperatureRange, 1)+" below its boiling point"+at)
		}
	}
	if f.ReachMin.Known && f.ReachMin.V >= 0.1 {
		figured = true
		text := "there after about " + j.fig(f.ReachMin, quantity.Time, 1)
		if f.ReachedC.Known && f.TargetC.Known && math.Abs(f.ReachedC.V-f.TargetC.V) > 2 {
			text += around("; after the time written at ", j.fig(f.ReachedC, quantity.Temperature, 1), "")
		}
		if f.WallWatts.Known && f.WallWatts.V >= 1 {
			text += around("; ", j.fig(f.WallWatts, quantity.Power, 1), " through the wall at first")
		}
		parts = append(parts, text)
	}
	parts = append(parts, when(f.Frozen, "the solvent freezes at "+j.fig(f.FreezesC, quantity.Temperature, 1)))
	if f.HalfLifeMin.Known && f.Reagent != "" {
		figured = true
		parts = append(parts, f.Reagent+" has a half-life of "+j.fig(f.HalfLifeMin, quantity.Time, 1)+around(", ", j.num(bench.Got(f.LostPercent.V), 1, " %"), " lost"))
		j.ask(f.Minutes)
	}
	if text := j.room(f.Hot, f.Vessel.Fill); text != "" {
		figured = true
		parts = append(parts, text)
	}
	if f.Closed && f.PressureBar.Known {
		figured = true
		parts = append(parts, j.fig(f.PressureBar, quantity.Pressure, 1000)+" with no way out")
	}
	if some(f.ContractionML) && f.ContractionML.V > 0 {
		parts = append(parts, j.fig(f.ContractionML, quantity.Volume, 1)+" of gas drawn in as it cools"+when(f.DrawsBack, map[bool]string{true: ", the flow keeps the outlet liquid back", false: ", the outlet liquid can follow"}[f.FlowKept]))
	}
	if some(f.DrawnML) {
		parts = append(parts, j.fig(f.DrawnML, quantity.Volume, 1)+" of the scrubber comes over"+around(", past a trap of ", when(f.HoldupML.V > 0, j.fig(f.HoldupML, quantity.Volume, 1)), "")+
			around(": ", j.fig(f.DrawnWaterMmol, quantity.Amount, 1), " of water")+around(", ", j.num(f.DrawnPercent, 1, " %"), " of the "+f.DrawnOn))
	}
	if some(f.VolumeOffML) {
		parts = append(parts, j.fig(f.VolumeOffML, quantity.Volume, 1)+" taken off")
	}
	parts = append(parts, around("peroxide former: ", f.Peroxide, when(f.PeroxideTested, ", tested")), when(f.EvapToDryness, "taken to dryness"), around("condenses ", f.CondensesGas, ""))
	if !figured {
		return ""
	}
	return join("; ", parts...)
}

// room says what the liquid comes to at the hottest of a step and what is left free
// over it, against what the trade leaves free for what goes on there.
func (j *journal) room(f *bench.HotFacts, cold bench.Num) string {
	if f == nil || !f.Fill.Known || !f.FreeML.Known || f.Fill.V <= 0 {
		return ""
	}
	if f.KeepFree.V < 0.2 && cold.Known && f.Fill.V < 1.01*cold.V {
		return "" // nothing boils or foams there, and it is as the head of the step says
	}
	text := j.fig(f.VolumeML, quantity.Volume, 1) + " at " + j.fig(f.TemperatureC, quantity.Temperature, 1) + ", " + j.num(bench.Got(f.Fill.V), 100, " %") + " full"
	switch {
	case f.FreeML.V < 0:
		return text + ": more than it holds"
	case f.KeepFree.V < 0.2 && f.Fill.V < 0.5:
		return text
	}
	return text + ", " + j.fig(bench.Got(f.FreeML.V), quantity.Volume, 1) + " free" + around(" (", j.fig(f.KeepFreeML, quantity.Volume, 1), " wanted)")
}

// freed says what oxygen stays dissolved in what was degassed or sparged.
func (j *journal) freed(f *bench.StepFacts) string {
	if !f.AirLeft.Known || f.Verb != "degas" && f.Verb != "sparge" {
		j.ask(f.AirLeft)
		return ""
	}
	return j.fig(f.AirMmol, quantity.Amount, 1) + " of oxygen stays dissolved" + around(", ", j.num(f.AirLeft, 1, " %"), " of what air dissolves")
}

// pumped says how long the pump takes to the vacuum of a step.
func (j *journal) pumped(f *bench.StepFacts) string {
	if !f.PumpMin.Known || !f.StatedMbar.Known {
		return ""
	}
	text := f.Vessel.Name + " to " + j.fig(f.StatedMbar, quantity.Pressure, 1) + " in about " + j.fig(f.PumpMin, quantity.Time, 1) + " each cycle"
	if f.ReachedMbar.Known && f.ReachedMbar.V > f.StatedMbar.V*1.01 {
		text += around("; the ", j.fig(f.PumpedMin, quantity.Time, 1), "") + around(" written reach ", j.fig(f.ReachedMbar, quantity.Pressure, 1), "")
	}
	return text
}

func (j *journal) quench(f *bench.QuenchFacts) string {
	by := j.quencher(f)
	if f.Reverse {
		by = "poured into " + f.With.Substance + around(" (", j.fig(f.With.Mmol, quantity.Amount, 1), ")")
	}
	what := around("", by, when(!f.Reverse, " on ")+when(f.Reverse, ": ")) + f.Reagent + ", " + mmol(f.LiveMmol) + " in equivalents"
	parts := []string{what, around("", j.num(f.Ratio, 1, ""), " protic equivalents for each of it"), when(f.LeftMmol == 0, "none") + when(f.LeftMmol != 0, mmol(f.LeftMmol)) + " left"}
	j.ask(f.Ratio)
	if some(f.GasL) {
		parts = append(parts, j.fig(f.GasL, quantity.Volume, 1000)+" of gas")
	}
	j.ask(f.GasL)
	if some(f.HeatKJ) {
		parts = append(parts, j.num(f.HeatKJ, 1, " kJ")+around(", ", j.fig(f.RiseK, quantity.TemperatureRange, 1), around(" from ", j.fig(f.TemperatureC, quantity.Temperature, 1), "")))
	}
	j.ask(f.HeatKJ)
	j.ask(f.RiseK)
	if f.Boils != "" {
		parts = append(parts, "boils off "+j.fig(f.BoilsOffML, quantity.Volume, 1)+" of "+f.Boils+around(", ", j.fig(f.VapourL, quantity.Volume, 1000), " of its gas"))
	}
	parts = append(parts, around("", j.num(f.MlPerG, 1, " mL"), " of water per g of hydride"), around("pattern ", f.Pattern, around(", ", j.num(f.PatternOff, 100, " %"), " off")), j.room(f.Hot, f.FillAfter))
	return join("; ", parts...)
}

func (j *journal) quencher(f *bench.QuenchFacts) string {
	if f.With.Name == "" {
		return ""
	}
	return join(" ", f.With.Name, around("(", j.fig(f.With.Mmol, quantity.Amount, 1), ")"))
}

func (j *journal) release(f *bench.ReleaseFacts) string {
	parts := []string{join(" ", f.Gas, j.fig(f.Litres, quantity.Volume, 1000), around("(", j.fig(f.Mmol, quantity.Amount, 1), ")"), around("at ", j.fig(f.LPerMin, quantity.Flow, 1000), ""))}
	j.ask(f.Litres)
	if some(f.Litres) {
		j.ask(f.LPerMin)
	}
	parts = append(parts, join(" and ", when(f.Toxic, "toxic"), when(f.Flammable, "flammable")))
	switch {
	case f.Scrubbed:
		parts = append(parts, "through an absorbent"+around(", ", j.num(f.ScrubRatio, 1, ""), " mol per mol of gas")+around(" in ", j.fig(f.ScrubberML, quantity.Volume, 1), "")+around(", an empty trap of ", j.fig(f.TrapML, quantity.Volume, 1), " before it"))
	case f.Vessel.Vented && f.Vessel.Outlet != "" && f.Vessel.Outlet != "open":
		parts = append(parts, "out by "+f.Vessel.Outlet+when(f.Narrow, ", which is narrow"))
	case f.Vessel.Vented:
		parts = append(parts, "out at the open neck"+when(f.Narrow, ", which is narrow"))
	default:
		parts = append(parts, "no way out"+around(": ", j.fig(f.PressureBar, quantity.Pressure, 1000), ""))
		j.ask(f.PressureBar)
	}
	if f.PeakLPerMin.Known && f.OutletMbar.Known && !f.Scrubbed {
		parts = append(parts, "the way out carries "+j.fig(f.OutletLPerMin, quantity.Flow, 1000)+around(", ", j.fig(f.OutletMbar, quantity.Pressure, 1), " of back pressure"))
	}
	parts = append(parts, around("", j.fig(f.GasPerPortL, quantity.Volume, 1000), " per portion"))
	return join("; ", parts...)
}

func (j *journal) closure(f *bench.ClosureFacts) string {
	j.ask(f.PressureBar)
	j.ask(f.RatedBar)
	liquid := ""
	if f.LiquidFill.Known && f.ClosedFill.Known && f.LiquidFill.V > 0.05 {
		liquid = "liquid " + j.num(f.ClosedFill, 100, " %") + " of it at " + j.fig(f.ClosedC, quantity.Temperature, 1) + around(", ", j.num(f.LiquidFill, 100, " %"), " then") + around(", full from ", j.fig(f.FullC, quantity.Temperature, 1), " on")
	}
	return join("; ", f.Vessel.Name+" has no way out ("+f.Why+")", liquid, join(" at ", around("up to ", j.fig(f.PressureBar, quantity.Pressure, 1000), ""), j.fig(f.TemperatureC, quantity.Temperature, 1)),
		around("rated ", j.fig(f.RatedBar, quantity.Pressure, 1000), ""), when(some(f.GasL), j.fig(f.GasL, quantity.Volume, 1000)+" of gas given off in it"), around("for ", j.fig(f.Hours, quantity.Time, 60), ""), when(f.Supply, "a supply feeds it"+when(f.Relief, " with relief")))
}

func (j *journal) contact(f *bench.ContactFacts) string {
	return f.A + " and " + f.B + around(" at ", j.fig(f.TemperatureC, quantity.Temperature, 1), "") + ": " + f.Consequence + when(f.Intended, " (intended)")
}

func (j *journal) meeting(f *bench.MeetingFacts) string {
	return fmt.Sprintf("%s (%s) and %s (%s) in %s: %s%s", f.A, f.PartA, f.B, f.PartB, f.Container, f.Consequence, around(", ", f.Gas, ""))
}

func (j *journal) workup(f *bench.WorkupFacts) string {
	var parts []string
	if f.FunnelML.Known && f.VolumeML.Known {
		parts = append(parts, j.fig(f.VolumeML, quantity.Volume, 1)+" in a funnel of "+j.fig(f.FunnelML, quantity.Volume, 1)+around(", ", j.num(bench.Got(f.FunnelFill.V), 100, " %"), when(f.FunnelFill.Known, " full as it is shaken")))
	}
	if f.LiveMmol > 0 {
		parts = append(parts, "still live: "+f.Live+" "+mmol(f.LiveMmol))
	}
	parts = append(parts, f.LayerWrong, around("pyrophoric on the filter: ", f.PyroSolid, ""))
	return join("; ", parts...)
}

func (j *journal) container(f *bench.ContainerFacts) string {
	if !some(f.Litres) {
		return ""
	}
	bottles := ""
	if f.Bottles.Known {
		bottles = ", " + j.num(f.Bottles, 1, " bottle"+when(f.Bottles.V != 1, "s")) + around(" of ", j.fig(f.SizeL, quantity.Volume, 1000), "")
	}
	return f.Container + ": " + j.fig(f.Litres, quantity.Volume, 1000) + " of the section in all" + bottles + ", from " + strings.Join(f.Streams, ", ")
}

func (j *journal) discard(f *bench.DiscardFacts) string {
	into := f.Into
	switch {
	case into == "":
		into = "no container named" + around(" (takes it: ", f.Better, ")")
	case !f.Known && !f.Drain:
		into += ", not a container of this site"
	case f.Container != "" && !strings.EqualFold(f.Container, into):
		into += " (" + f.Container + ")"
	}
	stream := f.Stream
	if len(f.Contents) > 0 && !(len(f.Contents) == 1 && strings.EqualFold(f.Contents[0], f.Stream)) {
		stream += " (" + strings.Join(f.Contents, ", ") + ")"
	}
	parts := []string{stream + " → " + into, around("refused: ", f.Refused, around("; takes it: ", f.Better, ""))}
	if some(f.VolumeML) {
		parts = append(parts, j.fig(f.VolumeML, quantity.Volume, 1)+" each")
	}
	if some(f.SolidG) {
		parts = append(parts, j.fig(f.SolidG, quantity.Mass, 1)+" each")
	}
	if some(f.WaterTakenG) {
		parts = append(parts, j.fig(f.WaterTakenG, quantity.Mass, 1)+" of water in it")
	}
	if f.WetWith != "" && some(f.WetML) {
		parts = append(parts, "wet with "+f.WetWith+", "+j.fig(f.WetML, quantity.Volume, 1)+" at most")
	}
	if some(f.SectionL) {
		parts = append(parts, j.fig(f.SectionL, quantity.Volume, 1000)+" for the section")
	}
	if f.LiveMmol > 0 {
		parts = append(parts, "still live: "+f.Live+" "+mmol(f.LiveMmol))
	}
	if f.Halogenated {
		parts = append(parts, join(", ", "halogenated: "+f.HalogenSource, j.fig(f.HalogenMmol, quantity.Amount, 1), j.num(f.HalogenShare, 1, " % of the mass")))
	}
	parts = append(parts, around("metal: ", f.ToxicMetal, ""), around("pyrophoric: ", f.Pyrophoric, ""), around("water-reactive: ", f.WaterReactive, ""), around("may give off ", f.GasFormer, ""))
	return join("; ", parts...)
}

// hazards says in one line which cautions a step calls for, and which of them
// the page lacks.
func hazards(list []*bench.HazardFacts) string {
	var standings []string
	of := map[string][]string{}     // what has a hazard, by standing
	topics := map[string][]string{} // its topics, by standing and name
	for _, f := range list {
		standing := "on the page"
		switch {
		case !f.Present && !f.Whole:
			standing = "not in what was read"
		case !f.Present:
			standing = "not on the page"
		case !f.Before:
			standing = "on the page too late"
		case !f.Names && f.Grave:
			standing = "on the page, not by name"
		}
		if !slices.Contains(standings, standing) {
			standings = append(standings, standing)
		}
		if !slices.Contains(of[standing], f.Of) {
			of[standing] = append(of[standing], f.Of)
		}
		topics[standing+"\x00"+f.Of] = append(topics[standing+"\x00"+f.Of], f.Topic)
	}
	var parts []string
	for _, standing := range standings {
		var names []string
		for _, name := range of[standing] {
			names = append(names, name+" ("+strings.Join(topics[standing+"\x00"+name], ", ")+")")
		}
		parts = append(parts, standing+": "+strings.Join(names, ", "))
	}
	return strings.Join(parts, "; ")
}

// The foot.

// foot says what the whole comes to.
func (j *journal) foot() {
	g := j.r.Trace.Figures
	j.printf("\n%s\n", j.paint(bold, "the whole"))
	var met, heatless, gasless, waterless bool
	for _, e := range j.r.Trace.Events {
		switch f := e.Facts.(type) {
		case *bench.AdditionFacts:
			heatless = heatless || !f.HeatKJ.Known || !f.RiseK.Known
		case *bench.QuenchFacts:
			heatless = heatless || !f.HeatKJ.Known || !f.RiseK.Known
		case *bench.ReleaseFacts:
			gasless = gasless || !f.Litres.Known
		case *bench.WaterFacts:
			met, waterless = true, waterless || !f.WaterMmol.Known
		}
	}
	part := func(lacks bool) string { return when(lacks, " as far as known") }
	water := ""
	switch {
	case met && waterless && !some(g.WaterMmol):
		water = "water that meets live reagents not known"
	case met:
		water = join("; ", around("water that meets live reagents ", j.fig(g.WaterMmol, quantity.Amount, 1), part(waterless)), around("worst loss of one ", j.num(g.WaterLossPercent, 1, " %"), part(waterless)))
	}
	if text := join("; ", around("largest rise ", j.fig(g.LargestRiseK, quantity.TemperatureRange, 1), part(heatless)), around("gas ", j.fig(g.GasL, quantity.Volume, 1000), part(gasless)),
		water); text != "" {
		j.say("figures", text)
	}
	f := j.whole()
	if f == nil {
		f = &bench.ProcedureFacts{}
	}
	if text := join("; ", around("hands-on ", j.fig(g.HandsOnMin, quantity.Time, 1), ""), around("in all ", j.fig(g.TotalMin, quantity.Time, 1), around(" of a section of ", j.fig(f.SectionMin, quantity.Time, 1), "")),
		when(some(f.LeadHours), "to prepare before: "+join(", ", f.LeadWhat, j.fig(f.LeadHours, quantity.Time, 60))), around("left alone: ", f.Unattended, around(", ", j.fig(f.UnattendedMin, quantity.Time, 1), "")),
		when(some(f.QueueMin), "longest wait at "+f.QueueAt+" "+j.fig(f.QueueMin, quantity.Time, 1))); text != "" {
		j.say("time", text)
	}
	clock := func(n bench.Num) string {
		if !n.Known || n.V < 0 {
			return ""
		}
		return quantity.Format(n.V, quantity.Time)
	}
	late := around(", at the latest at ", clock(f.LatestQuenchMin), "")
	if f.LatestQuenchMin.Known && f.LatestQuenchMin.V < 0 {
		late = ", and the section is too short for what follows it"
	}
	if text := join("; ", around("first to last step ", clock(f.CriticalPathMin), " with what runs side by side"), when(some(f.LastOutMin), "with the wait at "+f.QueueAt+" the last is through after "+j.fig(f.LastOutMin, quantity.Time, 1)), around("main quench from ", clock(f.QuenchStartMin), late),
		around("made ready before: ", strings.Join(f.LeadItems, ", "), "")); text != "" {
		j.say("plan", text)
	}
	if some(f.RoomOxygen) {
		j.say("room", "oxygen falls to "+j.num(f.RoomOxygen, 1, " %")+" if "+f.RoomSource+" empties into the room"+around(", to ", j.num(f.RoomOxygenHour, 1, " %"), " if within an hour with the ventilation on"))
	}
	if f.LiveAtEndMmol > 0 {
		j.say("live", "at the end "+mmol(f.LiveAtEndMmol)+around(": ", f.LiveAtEnd, ""))
	}
	into := map[string][]string{}
	var order []string
	for _, waste := range g.Wastes {
		stream, container, ok := strings.Cut(waste, " → ")
		if !ok {
			container = ""
		}
		if !slices.Contains(order, container) {
			order = append(order, container)
		}
		into[container] = append(into[container], stream)
	}
	for i, container := range order {
		j.say(map[bool]string{true: "streams"}[i == 0], around("", container, ": ")+strings.Join(into[container], ", "))
	}
	if len(f.Leftovers) > 0 {
		j.say("no route", strings.Join(f.Leftovers, ", "))
	}
	j.questions()
}
