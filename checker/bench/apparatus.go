package bench

import (
	"slices"
	"strings"

	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
)

// kindClasses says what a piece is to the bench, by words in its kind; the
// first that matches wins, so the special stands before the general.
var kindClasses = []struct{ word, class string }{
	{"rotary evaporator", "evaporator"}, {"rotavap", "evaporator"},
	{"glovebox", "glovebox"}, {"glove box", "glovebox"}, {"dry box", "glovebox"}, {"drybox", "glovebox"},
	{"addition funnel", "funnel"}, {"dropping funnel", "funnel"}, {"addition-funnel", "funnel"}, {"equalising funnel", "funnel"}, {"equalizing funnel", "funnel"}, {"tap funnel", "funnel"},
	{"separat", "separating funnel"},
	{"powder funnel", "other"}, {"filter funnel", "filter"}, {"büchner", "filter"}, {"buchner", "filter"}, {"hirsch", "filter"}, {"frit", "filter"}, {"sinter", "filter"}, {"schlenk filter", "filter"}, {"filter", "filter"},
	{"funnel", "other"},
	{"syringe pump", "other"}, {"syringe", "syringe"}, {"cannula", "cannula"}, {"double-ended needle", "cannula"}, {"transfer needle", "cannula"}, {"needle", "needle"}, {"pipette", "pipette"}, {"pipet", "pipette"}, {"dropping tube", "pipette"},
	{"air condenser", "air condenser"}, {"condenser", "condenser"}, {"cold finger", "condenser"}, {"fractionating column", "column"}, {"vigreux", "column"},
	{"drying tube", "drying tube"}, {"guard tube", "drying tube"}, {"calcium chloride tube", "drying tube"},
	{"bubbler", "bubbler"}, {"scrubber", "scrubber"}, {"wash bottle", "other"}, {"gas trap", "scrubber"},
	{"balloon", "balloon"},
	{"gas line", "line"}, {"schlenk line", "line"}, {"manifold", "line"}, {"vacuum line", "line"}, {"cylinder", "line"}, {"regulator", "line"}, {"gas supply", "line"}, {"house nitrogen", "line"}, {"nitrogen line", "line"}, {"argon line", "line"}, {"double-ended line", "line"},
	{"cold trap", "trap"}, {"trap", "trap"},
	{"bath", "bath"}, {"mantle", "bath"}, {"hot plate", "bath"}, {"hotplate", "bath"}, {"heating block", "bath"}, {"heat gun", "bath"}, {"burner", "bath"}, {"pan of", "bath"},
	{"dewar", "dewar"},
	{"thermometer", "thermometer"}, {"thermocouple", "thermometer"}, {"temperature probe", "thermometer"}, {"probe", "thermometer"},
	{"stirrer", "stirrer"}, {"stir bar", "stirrer"}, {"stirring bar", "stirrer"}, {"magnetic bar", "stirrer"}, {"spin vane", "stirrer"}, {"paddle", "stirrer"},
	{"stopcock", "other"}, {"septum", "closure"}, {"stopper", "closure"}, {"tap", "other"}, {"adapter", "other"}, {"adaptor", "other"}, {"still head", "other"}, {"inlet", "other"}, {"entry tube", "other"}, {"gas inlet", "other"}, {"dispersion tube", "other"},
	{"still", "still"}, {"solvent column", "column"}, {"purification column", "column"}, {"chromatography column", "column"}, {"column", "column"},
	{"oven", "oven"}, {"desiccator", "oven"}, {"vacuum pump", "pump"}, {"pump", "pump"}, {"aspirator", "pump"},
	{"waste", "container"}, {"extinguisher", "other"}, {"shield", "other"}, {"jacketed", "vessel"}, {"jack", "other"}, {"clamp", "other"}, {"balance", "other"}, {"spatula", "other"}, {"hose", "other"}, {"tongs", "other"}, {"mortar", "other"}, {"glass rod", "other"}, {"rod", "other"}, {"paper", "other"}, {"capillary", "other"},
	{"flask", "vessel"}, {"schlenk", "vessel"}, {"tube", "vessel"}, {"vial", "vessel"}, {"beaker", "vessel"}, {"erlenmeyer", "vessel"}, {"cylinder (", "vessel"}, {"graduated cylinder", "vessel"}, {"measuring cylinder", "vessel"}, {"bottle", "vessel"}, {"ampoule", "vessel"}, {"receiver", "vessel"}, {"dish", "vessel"}, {"jar", "vessel"}, {"autoclave", "vessel"}, {"pressure vessel", "vessel"}, {"sublimator", "vessel"}, {"sublimation", "vessel"}, {"bulb", "vessel"}, {"reactor", "vessel"}, {"bucket", "vessel"}, {"bowl", "vessel"}, {"crucible", "vessel"}, {"rbf", "vessel"}, {"vessel", "vessel"}, {"kettle", "vessel"}, {"retort", "vessel"},
}

func classOf(kind string) (string, bool) {
	k := strings.ToLower(kind)
	if strings.Contains(k, "graduated cylinder") || strings.Contains(k, "measuring cylinder") {
		return "vessel", true
	}
	for _, c := range kindClasses {
		if strings.Contains(k, c.word) {
			return c.class, true
		}
	}
	return "other", false
}

func holds(class string) bool {
	switch class {
	case "vessel", "funnel", "separating funnel", "syringe", "trap", "bubbler", "scrubber", "filter", "dewar", "cannula":
		return true
	}
	return false
}

// sizeIn is the volume in front of a kind, as in 50 mL round-bottom flask, mL;
// 0 without one.
func sizeIn(kind string) float64 {
	words := strings.Fields(kind)
	for i, w := range words {
		if w[0] < '0' || w[0] > '9' {
			continue
		}
		tries := []string{w} // 50mL
		if i+1 < len(words) {
			tries = append(tries, w+" "+words[i+1])
		}
		for _, try := range tries {
			if q, err := quantity.ParseAs(strings.ReplaceAll(try, "-mL", " mL"), quantity.Volume); err == nil && q.Known() {
				return q.Value()
			}
		}
	}
	return 0
}

// packing is what a column or tube is filled with; its kind where nothing is
// said of that.
func (p *piece) packing() string {
	if p.row == nil {
		return p.kind
	}
	return word(p.row.Packing.S, word(p.row.Fill.S, p.kind))
}

// kinds says what names are: the kind and filling of a piece of the apparatus
// list, whatever it is called, and any other name as it stands.
func (b *Bench) kinds(names []procedure.Text) string {
	var sb strings.Builder
	for _, t := range names {
		sb.WriteString(b.kindOf(t.S))
		sb.WriteByte(' ')
	}
	return sb.String()
}

func (b *Bench) kindOf(name string) string {
	p := b.pieceNamed(name)
	if p == nil || p.row == nil {
		return name
	}
	return strings.Join(strings.Fields(p.kind+" "+p.row.Packing.S+" "+p.row.Fill.S), " ")
}

func isTrue(b *bool) bool { return b != nil && *b }

// denied reports a word that says there is none of it: "none", "not needed".
func denied(s string) bool {
	switch strings.Trim(strings.ToLower(s), " .") {
	case "none", "no", "false", "nil", "n/a", "nothing", "not needed", "not required", "not necessary", "unnecessary", "without", "-", "–":
		return true
	}
	return false
}

// stated gives a text, empty where it says that there is none.
func stated(t procedure.Text) string {
	if denied(t.S) {
		return ""
	}
	return t.S
}

// worn gives what a page says of a piece of protection: "none" where it is
// denied, whatever the word.
func worn(t procedure.Text) string {
	if denied(t.S) {
		return "none"
	}
	return t.S
}

// layOut reads the apparatus table: what each piece is, what stands on what,
// and how that leaves each head space connected before the first step.
// fillsIt reports that a step puts something into a piece, or works on what is
// in it.
func (b *Bench) fillsIt(name string) bool {
	is := func(t procedure.Text) bool { return sameName(t.S, name) }
	for _, s := range b.p.Steps {
		switch s.Verb.Group {
		case procedure.Transfer:
			if slices.ContainsFunc(s.To, is) || slices.ContainsFunc(s.Into, is) || slices.ContainsFunc(s.In, is) {
				return true
			}
		case procedure.Condition, procedure.Finish:
			if slices.ContainsFunc(s.Object, is) {
				return true
			}
		}
	}
	return false
}

func (b *Bench) layOut() {
	for _, row := range b.p.Apparatus {
		kind := row.Kind.S
		if kind == "" {
			kind = row.Name.S
		}
		class, known := classOf(kind)
		if class == "separating funnel" && row.On.Is() {
			class = "funnel" // a plain funnel used to add from
		}
		p := &piece{row: row, name: row.Name.S, kind: kind, class: class, known: known}
		if !known && b.fillsIt(row.Name.S) {
			// whatever it is, the text puts matter into it
			class, p.class = "vessel", "vessel"
		}
		k := strings.ToLower(kind)
		p.thin = strings.Contains(k, "erlenmeyer") || strings.Contains(k, "conical flask") || strings.Contains(k, "beaker") || strings.Contains(k, "flat-bottom") || row.Wall.S == "thin"
		if row.Wall.S == "thick" || strings.Contains(k, "filter flask") || strings.Contains(k, "conical vial") {
			p.thin = false
		}
		b.pieces = append(b.pieces, p)
		if holds(class) {
			if q := row.Size; q != nil && q.Known() && q.Dim != quantity.Volume && q.Dim != quantity.Length {
				b.problem("format/name", row.Name.Span, "found size "+quoted(q.Raw)+" for "+quoted(p.name)+"; a vessel is sized by volume, such as 250 mL", p.name+": {kind: "+kind+", size: 250 mL}")
			}
			p.vessel = b.newVessel(p.name, p)
		}
	}
	for _, p := range b.pieces {
		if p.row.On.Is() {
			if p.on = b.pieceNamed(p.row.On.S); p.on != nil {
				p.on.used, p.used = true, true
			} else {
				b.placeUnknown(p.row.On)
			}
		}
	}
	for _, p := range b.pieces {
		seen := map[*piece]bool{}
		for q := p; q != nil; q = q.on {
			if seen[q] {
				b.problem("format/name", p.row.On.Span, "found "+quoted(p.name)+" on "+quoted(p.row.On.S)+", which in the end stands on it: pieces cannot stand on each other in a circle", "on: flask")
				p.on = nil
				break
			}
			seen[q] = true
		}
	}
	for _, p := range b.pieces {
		v := b.under(p)
		if v == nil || p.vessel == v || b.fittedLater(p) {
			continue
		}
		switch p.class {
		case "condenser":
			v.condenser = true
		case "air condenser":
			v.condenser, v.airCondenser = true, true
		case "thermometer":
			if p.row.Reads.S != "bath" {
				v.probe = true
			}
		case "drying tube":
			if v.conn == connOpen {
				fill := p.row.Fill.S
				if fill == "" {
					fill = p.row.Guard.S
				}
				b.guard(v, fill)
			}
		case "balloon":
			v.conn, v.rank, v.outlet, v.outletSaid = connBalloon, 2, "balloon", true
			b.nameGas(v, p.row.Gas.S)
			v.how = "a balloon"
			v.oxygenAsk = "how " + v.name + " was flushed before the balloon was put on"
		case "bubbler":
			v.outletSaid = true
			if v.outlet == "" {
				v.outlet = "bubbler"
			}
		case "scrubber":
			v.scrub = &scrubber{what: p.row.Fill.S, mmol: Missing("how much absorbent the scrubber holds"), ml: Missing("the volume of the scrubber liquid"), trapML: Missing("the size of the empty trap")}
			if p.row.Fill.Is() {
				v.scrub.with = b.lookup(p.row.Fill.S)
			}
		}
	}
}

// fittedLater reports a piece that a step puts on: until then it is not there.
func (b *Bench) fittedLater(p *piece) bool {
	for _, s := range b.p.Steps {
		if s.Verb.Name != "fit" || s.Swap.Is() {
			continue
		}
		for _, o := range s.Object {
			if sameName(o.S, p.name) {
				return true
			}
		}
	}
	return false
}

// condenserLater reports that a step still to come fits a condenser on the
// vessel, after something was waited for, stirred or warmed: at once is before
// that.
func (b *Bench) condenserLater(v *vessel) bool {
	if b.step == nil {
		return false
	}
	if b.condensers == nil {
		b.condensers = b.findCondensers()
	}
	for _, f := range b.condensers {
		if f.N <= b.step.N || b.nextWait[b.step.N] >= f.N-1 {
			continue
		}
		for _, t := range concat(f.On, f.To) {
			if sameName(t.S, v.name) {
				return true
			}
		}
	}
	return false
}

// findCondensers lists the steps that fit a condenser, and for each step the
// index of the next that waits; the text is looked through once.
func (b *Bench) findCondensers() []*procedure.Step {
	steps := b.p.Steps
	fits := []*procedure.Step{}
	b.nextWait = make([]int, len(steps)+1)
	b.nextWait[len(steps)] = len(steps)
	for i := len(steps) - 1; i >= 0; i-- {
		s := steps[i]
		b.nextWait[i] = b.nextWait[i+1]
		if s.Verb.Group == procedure.Condition && s.Verb.Name != "start" && s.Verb.Name != "fit" || s.Verb.Name == "crush" || s.Verb.Name == "confirm" {
			b.nextWait[i] = i
		}
		if s.Verb.Name != "fit" {
			continue
		}
		for _, o := range s.Object {
			class, _ := classOf(o.S)
			if p := b.pieceNamed(o.S); p != nil {
				class = p.class
			}
			if class == "condenser" || class == "air condenser" {
				fits = append(fits, s)
				break
			}
		}
	}
	return fits
}

// under finds the vessel that a piece stands on, through condensers and heads.
func (b *Bench) under(p *piece) *vessel {
	for range 8 {
		if p == nil {
			return nil
		}
		if p.class == "vessel" && p.vessel != nil {
			return p.vessel
		}
		p = p.on
	}
	return nil
}

func (b *Bench) newVessel(name string, p *piece) *vessel {
	v := &vessel{name: name, piece: p, ranges: b.volumeEnds, class: "layer", kind: "layer", size: b.ask("the size of ", name, ""), tC: b.roomT(), conn: connOpen,
		gases: b.roomAir(), glass: "not stated", how: "open to air",
		cycles: Missing("the number of cycles"), vacuum: Missing("the pressure reached"), sweep: Missing("the flow and the time of the sweep")}
	if p != nil {
		v.kind, v.class = p.kind, p.class
		if p.row != nil {
			if p.row.Size != nil && p.row.Size.Dim == quantity.Volume && p.row.Size.Known() {
				v.size = Got(p.row.Size.Value())
			} else if ml := sizeIn(p.kind); ml > 0 && p.row.Size == nil {
				v.size = Got(ml)
			}
			if isTrue(p.row.Dry) {
				v.glass = "dry"
			}
		}
		if p.class == "syringe" || p.class == "cannula" {
			v.glass = "dry"
		}
	}
	b.vessels = append(b.vessels, v)
	return v
}

// implicit makes a vessel of a name that a step uses and no table lists.
func (b *Bench) implicit(t procedure.Text) *vessel {
	class, known := classOf(t.S)
	p := &piece{name: t.S, kind: t.S, class: class, known: known, used: true}
	if !holds(class) {
		p.class = "vessel"
	}
	k := strings.ToLower(t.S)
	p.thin = strings.Contains(k, "beaker") || strings.Contains(k, "erlenmeyer") || strings.Contains(k, "conical flask")
	p.vessel = b.newVessel(t.S, p)
	p.vessel.size = b.ask("the size of ", t.S, "")
	if ml := sizeIn(t.S); ml > 0 {
		p.vessel.size = Got(ml)
	}
	b.pieces = append(b.pieces, p)
	if known {
		b.missing = append(b.missing, t.S)
	} else {
		b.placeUnknown(t)
		b.missing = append(b.missing, t.S)
	}
	return p.vessel
}

// placeUnknown reports a name that is no vessel, material or layer.
func (b *Bench) placeUnknown(t procedure.Text) {
	key := "place " + strings.ToLower(t.S)
	if b.saidUnknown[key] {
		return
	}
	b.saidUnknown[key] = true
	var names []string
	for _, p := range b.pieces {
		names = append(names, p.name)
	}
	for _, m := range b.materials {
		names = append(names, m.name)
	}
	for _, v := range b.vessels {
		if v.piece == nil {
			names = append(names, v.name)
		}
	}
	near := nearest(t.S, names)
	msg := "found " + quoted(t.S) + ", which is no piece of apparatus, material or layer of this procedure"
	fix := "name it under apparatus: or materials:, or under gives: of the step that makes it"
	if near != "" && !sameName(near, t.S) {
		msg += ", did you mean " + quoted(near) + "?"
	}
	b.problem("format/name", t.Span, msg, fix)
}

func (b *Bench) guard(v *vessel, fill string) {
	v.conn, v.rank, v.outlet, v.outletSaid = connTube, 1, "drying tube", true
	if fill == "" {
		fill = "a drying agent"
	}
	v.tubeFill = fill
	v.gases.H2O = 1e-4 // calcium chloride leaves 0.14–1.5 mg/L, near 1e-3 of the volume at most; taken low as the tube breathes little
	v.how = "a drying tube of " + fill + ": oxygen and nitrogen pass"
	v.gasName = ""
}

// unnamedGas reports words for a gas that do not say which: “inert gas”.
func unnamedGas(gas string) bool {
	l := strings.ToLower(strings.TrimSpace(gas))
	for _, w := range []string{"a stream of ", "a counterflow of ", "an ", "a ", "the ", "dry "} {
		l = strings.TrimPrefix(l, w)
	}
	switch l {
	case "inert gas", "inert atmosphere", "inert", "protective gas", "protecting gas", "shielding gas", "gas":
		return true
	}
	return false
}

// gasOfLine is the gas that the page names for its supply, where all name one.
func (b *Bench) gasOfLine() string {
	gas := ""
	for _, p := range b.pieces {
		if p.row == nil || !p.row.Gas.Is() || unnamedGas(p.row.Gas.S) || gas != "" && gas != p.row.Gas.S {
			continue
		}
		gas = p.row.Gas.S
	}
	for _, m := range b.materials {
		if gas == "" && m.sp.is("inert gas") {
			gas = m.sp.name
		}
	}
	return gas
}

func (b *Bench) nameGas(v *vessel, gas string) {
	if unnamedGas(gas) {
		if g := b.gasOfLine(); g != "" {
			gas = g
		}
	}
	if gas != "" && !unnamedGas(gas) {
		v.gasStated = true
	}
	g := strings.ToLower(gas)
	switch {
	case strings.Contains(g, "argon"):
		v.gasName = "argon"
	case strings.Contains(g, "nitrogen"):
		v.gasName = "nitrogen"
	case strings.Contains(g, "carbon dioxide"), strings.Contains(g, "dry ice"):
		v.gasName = "carbon dioxide"
	case strings.Contains(g, "helium"):
		v.gasName = "helium"
	case g != "":
		v.gasName = gas
	}
}
