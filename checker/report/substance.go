package report

import (
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"ketyl/checker"
	"ketyl/checker/quantity"
	"ketyl/checker/substance"
)

// molarVolume of a gas at 20 °C and 1 atm in L/mol: RT/p of the ideal gas with
// R = 8.314462618 J/(mol K) (CODATA 2018).
const molarVolume = 8.314462618 * 293.15 / 101.325

type (
	jsonAttack struct {
		By     string  `json:"by"`
		Speed  string  `json:"speed"`
		Gives  string  `json:"gives,omitempty"`
		Moles  float64 `json:"mol_per_mol,omitempty"`
		At     string  `json:"at,omitempty"`
		Note   string  `json:"note,omitempty"`
		Source string  `json:"source"`
	}

	jsonAgent struct {
		Agent   string `json:"agent"`
		Word    string `json:"verdict,omitempty"`
		Because string `json:"because,omitempty"`
		Source  string `json:"source"`
	}

	jsonValue struct {
		Value  any    `json:"value"`
		Low    any    `json:"low,omitempty"`
		High   any    `json:"high,omitempty"`
		Unit   string `json:"unit"`
		At     string `json:"at,omitempty"`
		Note   string `json:"note,omitempty"`
		Source string `json:"source"`
	}

	jsonExclusion struct {
		Need     string         `json:"need"`
		Because  string         `json:"because,omitempty"`
		NotUnder []string       `json:"not_under,omitempty"`
		Oxygen   *jsonValue     `json:"oxygen_limit,omitempty"`
		Accepted []jsonAccepted `json:"accepted,omitempty"`
		Source   string         `json:"source"`
	}

	jsonAccepted struct {
		Barrier string `json:"barrier"`
		When    string `json:"when"`
		Source  string `json:"source"`
	}

	jsonGas struct {
		Gas      string `json:"gas"`
		Moles    any    `json:"mol_per_mol"`
		LPerMmol any    `json:"l_per_mmol"`
		LPerG    any    `json:"l_per_g"` // null when the molar mass is not known
		Source   string `json:"source"`
	}

	jsonQuench struct {
		First      []string `json:"first,omitempty"`
		Then       []string `json:"then,omitempty"`
		NeverFirst []string `json:"never_first,omitempty"`
		Unless     string   `json:"unless,omitempty"`
		Note       string   `json:"note,omitempty"`
		Source     string   `json:"source"`
	}

	jsonWaste struct {
		Flags   []string   `json:"flags"`
		Groups  []string   `json:"groups"`
		Into    []string   `json:"into"`    // containers of the site that take it as it is
		Destroy bool       `json:"destroy"` // must be destroyed first
		Route   *jsonRoute `json:"route,omitempty"`
		streams []string
		Note    string `json:"note,omitempty"`
		Source  string `json:"source"`
	}

	// jsonRoute is how leftovers are made fit for a container.
	jsonRoute struct {
		How    string `json:"how"`
		Into   string `json:"into,omitempty"`
		Source string `json:"source"`
	}

	jsonHalfLife struct {
		In       string `json:"in"`
		At       string `json:"at"`
		HalfLife string `json:"half_life"`
		Source   string `json:"source"`
	}

	jsonDried struct {
		Agent    string  `json:"agent"`
		Load     float64 `json:"load_percent_m_v,omitempty"`
		Hours    float64 `json:"hours,omitempty"`
		Residual any     `json:"residual_ppm"`
		Removed  any     `json:"removed_percent"`
		Source   string  `json:"source"`
	}

	jsonWord struct {
		Value  string `json:"value"`
		When   string `json:"when,omitempty"`
		Note   string `json:"note,omitempty"`
		Source string `json:"source"`
	}

	// card is all that is known of a substance, in the shape of the JSON.
	card struct {
		Name          string               `json:"name"`
		Names         []string             `json:"names"`
		CAS           string               `json:"cas"`
		Formula       string               `json:"formula"`
		MolarMass     any                  `json:"molar_mass_g_per_mol"`
		Family        string               `json:"family"`
		FamilyTitle   string               `json:"family_title"`
		JudgedAs      string               `json:"judged_as"`
		Phase         string               `json:"phase"`
		Properties    map[string]jsonValue `json:"properties"`
		AttackedBy    []jsonAttack         `json:"attacked_by"`
		Exclusion     *jsonExclusion       `json:"exclusion"`
		Live          bool                 `json:"live"`
		DestroyBefore []string             `json:"destroy_before"`
		Vigour        *int                 `json:"vigour_with_water"`
		GasWithWater  []jsonGas            `json:"gas_with_water"`
		HeatWithWater any                  `json:"heat_with_water_kj_per_mol"`
		Stability     []jsonHalfLife       `json:"stability"`
		DryWith       []jsonAgent          `json:"dry_with"`
		Dried         []jsonDried          `json:"dried"`
		NeverDryWith  []jsonAgent          `json:"never_dry_with"`
		PeroxideTest  bool                 `json:"test_for_peroxides_before_drying_or_distilling"`
		Keeps         *jsonValue           `json:"keeps_after_opening"`
		WaterSat      *jsonValue           `json:"water_saturated"`
		WaterMiscible bool                 `json:"water_miscible"`
		KeepFrom      []jsonAgent          `json:"keep_from"`
		Quench        *jsonQuench          `json:"quench"`
		Waste         *jsonWaste           `json:"waste"`
		Pyrophoric    *jsonWord            `json:"pyrophoric"`
		PeroxideClass *jsonWord            `json:"peroxide_class"`
		HazardCodes   []string             `json:"hazard_codes"`
		HazardSource  string               `json:"hazard_source"`
		Cautions      []string             `json:"cautions"`
		Note          string               `json:"note"`
		Notice        string               `json:"notice"`

		desiccant bool
	}
)

func value(s *substance.Substance, v *substance.Value) *jsonValue {
	if v == nil {
		return nil
	}
	return &jsonValue{pointed(v.Value), pointed(v.Low), pointed(v.High), v.Unit, v.At, v.Note, s.Cite(v.Source)}
}

// siteValue is a figure of the site with its source in words.
func siteValue(lab *substance.Site, v *substance.Value) *jsonValue {
	var cites []string
	for _, key := range v.Source {
		if src, ok := lab.Sources[key]; ok {
			key = src.Cite
		}
		cites = append(cites, key)
	}
	return &jsonValue{Value: pointed(v.Value), Low: pointed(v.Low), High: pointed(v.High), Unit: v.Unit, At: v.At, Note: v.Note, Source: strings.Join(cites, "; ")}
}

func word(s *substance.Substance, w *substance.Word) *jsonWord {
	if w == nil {
		return nil
	}
	return &jsonWord{w.Value, w.When, w.Note, s.Cite(w.Source)}
}

// newCard gathers what the compendium knows of a substance. Empty lists are
// empty, not absent: nothing known is an answer too.
func newCard(c *substance.Compendium, lab *substance.Site, s *substance.Substance) card {
	k := card{
		Name: s.Name, Names: append([]string{}, s.Names...), CAS: s.CAS, Formula: s.Formula, Family: s.Family, JudgedAs: s.JudgedAs, Phase: s.Phase,
		Properties: map[string]jsonValue{}, AttackedBy: []jsonAttack{}, DestroyBefore: append([]string{}, s.DestroyBefore...), Vigour: s.Vigour,
		GasWithWater: []jsonGas{}, Stability: []jsonHalfLife{}, DryWith: []jsonAgent{}, Dried: []jsonDried{}, NeverDryWith: []jsonAgent{}, KeepFrom: []jsonAgent{},
		HazardCodes: []string{}, Cautions: append([]string{}, s.Cautions...), Note: s.Note, Notice: checker.Notice,
		Live: s.Live != nil && *s.Live, Pyrophoric: word(s, s.Pyrophoric), PeroxideClass: word(s, s.PeroxideClass),
	}
	k.desiccant = s.Desiccant != nil && (s.Vigour == nil || *s.Vigour < 2)
	mass, err := s.MolarMass()
	if err == nil {
		k.MolarMass = plain(mass)
	}
	if f, ok := c.Family(s.Family); ok {
		k.FamilyTitle = f.Title
	}
	for name, v := range map[string]*substance.Value{
		"density": s.Density, "melting point": s.MeltingPoint, "boiling point": s.BoilingPoint, "flash point": s.FlashPoint,
		"autoignition": s.Autoignition, "flammable limits": s.FlammableLimits, "assay as sold": s.Assay, "vapour pressure": s.ListedPressure, "heat capacity": s.HeatCapacity, "heat of vaporisation": s.HeatOfVaporisation,
	} {
		if x := value(s, v); x != nil {
			k.Properties[name] = *x
		}
	}
	for _, a := range s.AttackedBy {
		k.AttackedBy = append(k.AttackedBy, jsonAttack{a.By, a.Speed, a.Gives, a.Moles, a.At, a.Note, s.Cite(a.Source)})
	}
	if e := s.Exclusion; e != nil {
		k.Exclusion = &jsonExclusion{Need: e.Need, Because: e.Because, NotUnder: e.NotUnder, Oxygen: value(s, e.OxygenLimit), Source: s.Cite(e.Source)}
		for _, a := range e.Accepted {
			k.Exclusion.Accepted = append(k.Exclusion.Accepted, jsonAccepted{a.Barrier, a.When, s.Cite(a.Source)})
		}
	}
	if h := s.Hydrolysis; h != nil {
		for _, g := range h.Emitted() {
			x := jsonGas{Gas: g.Gas, Moles: plain(g.Moles), LPerMmol: plain(g.Moles * molarVolume / 1000), Source: s.Cite(h.Source)}
			if err == nil {
				x.LPerG = plain(g.Moles * molarVolume / mass)
			}
			k.GasWithWater = append(k.GasWithWater, x)
		}
		k.HeatWithWater = pointed(h.Heat)
	}
	k.PeroxideTest = s.TestForPeroxides()
	if p := s.PeroxideClass; p != nil {
		class := p.Value
		if class == "D" {
			class = "B" // the list gives both the same time
		}
		if v, ok := lab.Limits["peroxide class "+class+" after opening"]; ok {
			k.Keeps = siteValue(lab, &v)
		}
	}
	for _, h := range s.Stability {
		k.Stability = append(k.Stability, jsonHalfLife{h.In, h.At, h.HalfLife, s.Cite(h.Source)})
	}
	if w := s.Water; w != nil {
		k.WaterMiscible = w.Miscible
		if w.Saturated != nil {
			k.WaterSat = &jsonValue{Value: plain(*w.Saturated), Unit: w.Unit, At: w.At, Note: w.Note, Source: s.Cite(w.Source)}
		}
	}
	for _, a := range c.DryWithAgents(s) {
		k.DryWith = append(k.DryWith, jsonAgent{Agent: a.Agent, Because: a.Because, Source: s.Cite(a.Source)})
	}
	k.drying(c, s)
	for _, a := range s.KeepFrom {
		agent := a.Agent
		if agent == "" {
			agent = a.What
		}
		k.KeepFrom = append(k.KeepFrom, jsonAgent{Agent: agent, Because: with(a.Because, "; ", a.Note), Source: s.Cite(a.Source)})
	}
	if q := s.Quench; q != nil {
		k.Quench = &jsonQuench{First: q.First, Then: q.Then, NeverFirst: q.NeverFirst, Note: q.Note, Source: s.Cite(q.Source)}
		if u := q.Unless; u != nil {
			k.Quench.Unless = strings.Join(nonEmpty("no stronger than "+u.Below, u.Below, "no warmer than "+u.At, u.At), " and ")
		}
	}
	if h := s.Hazards; h != nil {
		k.HazardCodes, k.HazardSource = append(k.HazardCodes, h.Codes...), s.Cite(h.Source)
	}
	if w := s.Waste; w != nil {
		k.Waste = &jsonWaste{Flags: append([]string{}, w.Flags()...), Groups: append([]string{}, w.Groups...), Note: w.Note, Source: s.Cite(w.Source), Into: []string{}}
		k.Waste.streams = streams(w)
		k.Waste.Destroy = k.Live || s.MustDie("waste") || w.WaterReactive || w.Pyrophoric
		if !k.Waste.Destroy {
			k.Waste.Into = append(k.Waste.Into, into(lab, s)...)
			k.Waste.Route = route(lab, s)
		}
	}
	return k
}

func nonEmpty(pairs ...string) (out []string) {
	for i := 0; i+1 < len(pairs); i += 2 {
		if pairs[i+1] != "" {
			out = append(out, pairs[i])
		}
	}
	return out
}

// drying adds what the desiccant table knows of a liquid: how dry it gets, and
// which agents do not suit it.
func (k *card) drying(c *substance.Compendium, s *substance.Substance) {
	seen := map[string]bool{}
	key := func(agent string) string { return strings.ReplaceAll(agent, "–", "-") }
	for _, a := range s.NeverDryWith {
		seen[key(a.Agent)] = true
		k.NeverDryWith = append(k.NeverDryWith, jsonAgent{Agent: a.Agent, Word: "forbidden", Because: a.Because, Source: s.Cite(a.Source)})
	}
	if s.Phase != "liquid" {
		return
	}
	table := c.Desiccants()
	for _, d := range table.Dried {
		if d.Solvent != s.Name {
			continue
		}
		var cites []string
		for _, key := range d.Source {
			if src, ok := table.Sources[key]; ok {
				key = src.Cite
			}
			cites = append(cites, key)
		}
		k.Dried = append(k.Dried, jsonDried{d.Agent, d.Load, d.Hours, pointed(d.Residual), pointed(d.Removed), strings.Join(cites, "; ")})
	}
	if s.Family == "water" {
		return
	}
	for _, agent := range slices.Sorted(maps.Keys(table.Agents)) {
		if seen[key(agent)] {
			continue
		}
		for _, v := range c.MayDry(s, agent) {
			seen[key(agent)] = true
			// what is used all the same is used with that in mind
			if i := slices.IndexFunc(k.DryWith, func(a jsonAgent) bool { return key(a.Agent) == key(agent) }); i >= 0 && v.Word == "avoid" {
				k.DryWith[i].Because = with(k.DryWith[i].Because, "; ", v.Because)
				break
			}
			k.NeverDryWith = append(k.NeverDryWith, jsonAgent{Agent: agent, Word: v.Word, Because: v.Because, Source: v.Source})
			break
		}
	}
}

// into lists the containers of a site that take a substance as it is. It is
// asked only of what need not be destroyed first, and errs by leaving out: a
// liquid that the formula does not show to be organic goes nowhere here.
func into(lab *substance.Site, s *substance.Substance) []string {
	if s.Family == "cryogen" {
		return nil // it goes off in the open
	}
	var matter string
	f, err := substance.ParseFormula(s.Formula)
	switch {
	case s.Phase == "solid":
		matter = "solid"
	case s.Phase == "liquid" && (slices.Contains([]string{"water", "mineral acid", "oxidising acid", "hypochlorite", "hydroxide"}, s.Family) || s.Waste.Oxidiser && f.Count("C") == 0):
		matter = "aqueous"
	case s.Phase == "liquid" && err == nil && f.Count("C") > 0:
		matter = "organic"
	case s.Phase == "liquid" && s.Waste.Mercury:
		matter = "solid"
	default:
		return nil
	}
	features := s.Waste.Flags()
	has := func(words []string) bool {
		return slices.ContainsFunc(words, func(w string) bool {
			return slices.Contains(features, w) || w == "gas former" && s.Waste.GasFormer != "" || w == "toxic metal" && s.Waste.ToxicMetal != ""
		})
	}
	var out []string
	for _, c := range lab.Containers {
		if slices.Contains(c.Matter, matter) && !has(c.Refuses) && (len(c.Only) == 0 || has(c.Only)) {
			out = append(out, c.Name)
		}
	}
	return out
}

// route is how leftovers that no container takes as they are become fit for one:
// by the entry or its family, or, of a gas, off into the air or through a trap.
func route(lab *substance.Site, s *substance.Substance) *jsonRoute {
	if r := s.Waste.Route; r != nil {
		out := &jsonRoute{How: r.How, Source: s.Cite(r.Source)}
		if slices.ContainsFunc(lab.Containers, func(c substance.Container) bool { return c.Name == r.Into }) {
			out.Into = r.Into
		}
		return out
	}
	if s.Phase != "gas" {
		return nil
	}
	how := "no bottle takes a gas: let it off slowly into the draught of the fume cupboard"
	switch {
	case slices.ContainsFunc(s.Cautions, func(t string) bool {
		return slices.Contains([]string{"toxic gas", "toxic", "carcinogen", "pyrophoric", "explosive"}, t)
	}):
		how = "no bottle takes a gas: through a trap that is known to take it up, or back to the supplier in its cylinder"
	case slices.Contains(s.Cautions, "flammable") || s.HasCode("H220") || s.HasCode("H221"):
		how += ", with no flame or hot plate near"
	}
	return &jsonRoute{How: how, Source: "common practice"}
}

// streams says in words what a substance makes of a stream that holds it.
func streams(s *substance.Waste) []string {
	var out []string
	for _, f := range s.Flags() {
		switch f {
		case "acid":
			f = "acidic"
		case "base":
			f = "basic"
		case "oxidiser":
			f = "oxidising"
		case "cyanide", "sulfide", "azide", "mercury":
			f = "with " + f
		case "toxic metal":
			f = "with " + s.ToxicMetal
		case "gas former":
			f = "that gives off " + s.GasFormer
		}
		out = append(out, f)
	}
	return out
}

// SubstanceJSON prints what is known of a substance as the promised JSON.
func SubstanceJSON(w io.Writer, c *substance.Compendium, lab *substance.Site, s *substance.Substance) error {
	if err := writeJSON(w, newCard(c, lab, s), ""); err != nil {
		return err
	}
	_, err := io.WriteString(w, "\n")
	return err
}

// notes numbers the sources of a card.
type notes struct{ cites []string }

// mark gives the mark of a source: " [2]".
func (n *notes) mark(cite string) string {
	if cite == "" {
		return ""
	}
	i := slices.Index(n.cites, cite)
	if i < 0 {
		i = len(n.cites)
		n.cites = append(n.cites, cite)
	}
	return fmt.Sprintf(" [%d]", i+1)
}

// SubstanceText prints what is known of a substance as a colleague would tell
// it: what attacks it first, then what follows from that.
func SubstanceText(w io.Writer, c *substance.Compendium, lab *substance.Site, s *substance.Substance, o Options) error {
	if o.Width <= 0 {
		o.Width = 100
	}
	p := &painter{sticky: sticky{w: w}, colour: o.Colour, width: o.Width}
	k := newCard(c, lab, s)
	n := &notes{}
	p.card(&k, n)
	p.printf("\n")
	for i, cite := range n.cites {
		p.hang(fmt.Sprintf("[%d] ", i+1), cite)
	}
	p.printf("\n")
	p.paragraph(0, checker.Notice)
	return p.err
}

// hang writes a text under a short head, later lines indented.
func (p *painter) hang(head, text string) {
	for i, line := range wrap(text, p.width-6) {
		if i > 0 {
			head = ""
		}
		p.printf("%-6s%s\n", head, line)
	}
}

// topic writes a heading with its lines, if there are any.
func (p *painter) topic(head string, lines ...string) {
	var kept []string
	for _, l := range lines {
		if l != "" {
			kept = append(kept, l)
		}
	}
	if len(kept) == 0 {
		return
	}
	p.printf("\n%s\n", p.paint(bold, head))
	for _, l := range kept {
		p.paragraph(2, l)
	}
}

// with joins a text and what qualifies it.
func with(text, join, more string) string {
	if more == "" {
		return text
	}
	if text == "" {
		return more
	}
	return text + join + more
}

func (v jsonValue) text(n *notes) string {
	var s string
	number := func(x any) string { return show(x) }
	switch {
	case v.Value != nil:
		s = number(v.Value)
	case v.Low != nil && v.High != nil && v.Low == v.High:
		s = number(v.Low)
	case v.Low != nil && v.High != nil:
		s = number(v.Low) + " to " + number(v.High)
	case v.Low != nil:
		s = "at least " + number(v.Low)
	case v.High != nil:
		s = "at most " + number(v.High)
	}
	s = with(s, " ", v.Unit)
	if v.At != "" {
		s += " at " + v.At
	}
	if v.Note != "" {
		s += " (" + v.Note + ")"
	}
	return s + n.mark(v.Source)
}

// the scale of vigour with water, as families.yaml has it.
var vigours = []string{"none", "slow or mild", "warms, or gives a little gas", "brisk heat or gas", "violent", "fire or explosion"}

// orList joins words as in "ice, water or methanol".
func orList(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " or " + words[len(words)-1]
}

// order of the properties in print.
var properties = []string{"melting point", "boiling point", "density", "vapour pressure", "flash point", "autoignition", "flammable limits", "assay as sold", "heat capacity", "heat of vaporisation"}

func (p *painter) card(k *card, n *notes) {
	p.printf("%s\n", p.paint(bold, k.Name))
	about := []string{}
	if k.FamilyTitle != "" && k.Family != "other" {
		about = append(about, k.FamilyTitle)
	}
	for _, part := range []struct{ head, text string }{{"", k.Formula}, {"CAS ", k.CAS}, {"", k.Phase}} {
		if part.text != "" {
			about = append(about, part.head+part.text)
		}
	}
	if k.MolarMass != nil {
		about = append(about, fmt.Sprintf("%.2f g/mol", k.MolarMass))
	}
	p.paragraph(2, strings.Join(about, ", "))
	if len(k.Names) > 0 {
		p.paragraph(2, "also "+strings.Join(k.Names, ", "))
	}
	if k.JudgedAs != "" {
		p.paragraph(2, "There is no entry of that name: it is judged as "+k.JudgedAs+", by its name. Figures of its own are not known.")
	}
	var lines []string
	for _, a := range k.AttackedBy {
		l := with(a.By+", "+a.Speed, " at ", a.At)
		l = with(l, ", gives ", a.Gives)
		if a.Moles > 0 {
			l += fmt.Sprintf(", %s mol per mol", quantity.FormatNumber(a.Moles))
		}
		lines = append(lines, with(l, "; ", a.Note)+n.mark(a.Source))
	}
	if len(lines) == 0 {
		switch {
		case k.Family == "water":
			lines = append(lines, "nothing: it is what attacks")
		case k.desiccant:
			lines = append(lines, "nothing but moisture, which it takes up")
		case k.Exclusion != nil && k.Exclusion.Need == "none":
			lines = append(lines, "neither air nor moisture within a working day, as far as is known")
		default:
			lines = append(lines, "nothing is known to attack it; that is not to say that nothing does")
		}
	}
	p.topic("What attacks it", lines...)

	lines = nil
	if e := k.Exclusion; e != nil {
		lines = append(lines, with(e.Need, ": ", e.Because)+n.mark(e.Source))
		for _, a := range e.Accepted {
			lines = append(lines, "accepted by the trade: "+with(a.Barrier, ", ", a.When)+n.mark(a.Source))
		}
		if len(e.NotUnder) > 0 {
			lines = append(lines, "not under "+strings.Join(e.NotUnder, ", "))
		}
		if e.Oxygen != nil {
			lines = append(lines, "oxygen it stands: "+e.Oxygen.text(n))
		}
	}
	p.topic("How far to keep air out", lines...)

	lines = nil
	for _, g := range k.GasWithWater {
		l := fmt.Sprintf("%s, %s mol per mol: %s L per mmol", g.Gas, show(g.Moles), show(g.LPerMmol))
		if g.LPerG != nil {
			l += fmt.Sprintf(", %s L per g", show(g.LPerG))
		}
		lines = append(lines, l+" (20 °C, 1 atm)"+n.mark(g.Source))
	}
	if k.HeatWithWater != nil {
		lines = append(lines, fmt.Sprintf("heat of hydrolysis %s kJ/mol (negative: given off)", show(k.HeatWithWater)))
	}
	switch v := k.Vigour; {
	case v == nil || k.Family == "water":
	case *v == 0 && len(lines) == 0:
		lines = append(lines, "no reaction that matters")
	case *v >= 0 && *v < len(vigours):
		lines = append(lines, fmt.Sprintf("vigour %d of 5: %s", *v, vigours[*v]))
	}
	p.topic("With water", lines...)

	lines = nil
	for _, h := range k.Stability {
		lines = append(lines, fmt.Sprintf("in %s at %s: half-life %s%s", h.In, h.At, h.HalfLife, n.mark(h.Source)))
	}
	if v := k.Keeps; v != nil {
		l := fmt.Sprintf("forms peroxides, class %s: discard or test %s after opening%s", k.PeroxideClass.Value, show(v.Value)+" "+v.Unit, n.mark(v.Source))
		if k.PeroxideClass.Value == "C" {
			l = fmt.Sprintf("forms peroxides that start its polymerisation: without inhibitor use within %s%s", show(v.Value)+" "+v.Unit, n.mark(v.Source))
		}
		lines = append(lines, l)
	}
	p.topic("How long it lasts", lines...)

	lines = nil
	if k.WaterMiscible {
		lines = append(lines, "mixes with water in all proportions")
	}
	if k.WaterSat != nil {
		lines = append(lines, "takes up water to "+k.WaterSat.text(n))
	}
	if k.PeroxideTest {
		lines = append(lines, "test for peroxides before it is dried over a metal or a hydride, distilled or evaporated")
	}
	for _, a := range k.DryWith {
		lines = append(lines, "dry with "+with(a.Agent, ": ", a.Because)+n.mark(a.Source))
	}
	for _, d := range k.Dried {
		l := d.Agent
		if d.Load > 0 {
			l += fmt.Sprintf(", %s %% m/v", quantity.FormatNumber(d.Load))
		}
		if d.Hours > 0 {
			l += fmt.Sprintf(", %s h", quantity.FormatNumber(d.Hours))
		}
		switch {
		case d.Residual != nil:
			l += fmt.Sprintf(": leaves %s ppm", show(d.Residual))
		case d.Removed != nil:
			l += fmt.Sprintf(": takes out %s %%", show(d.Removed))
		}
		lines = append(lines, l+n.mark(d.Source))
	}
	for _, a := range k.NeverDryWith {
		verb := map[string]string{"forbidden": "do not dry with ", "avoid": "avoid drying with ", "unsuitable": "not dried by "}[a.Word]
		lines = append(lines, verb+with(a.Agent, ": ", a.Because)+n.mark(a.Source))
	}
	p.topic("Drying", lines...)

	lines = nil
	for i, a := range k.KeepFrom {
		if slices.ContainsFunc(k.KeepFrom[i+1:], func(b jsonAgent) bool { return saysAgain(a, b) }) {
			continue
		}
		lines = append(lines, with(a.Agent, ": ", a.Because)+n.mark(a.Source))
	}
	p.topic("What it must not meet", lines...)

	lines = nil
	if k.Live {
		lines = append(lines, "must be destroyed before "+strings.Join(k.DestroyBefore, ", "))
	}
	if q := k.Quench; q != nil {
		mark := n.mark(q.Source)
		unless := ""
		if q.Unless != "" {
			unless = ", unless the solution is " + q.Unless
		}
		if len(q.First) > 0 {
			l := "first with " + q.First[0]
			if rest := q.First[1:]; len(rest) > 0 {
				l += ", the usual choice; else with " + orList(rest)
			}
			lines = append(lines, l+mark)
		}
		if len(q.Then) > 0 {
			lines = append(lines, "once that has done its work, with "+orList(q.Then)+mark)
		}
		if len(q.NeverFirst) > 0 {
			lines = append(lines, "never first with "+orList(q.NeverFirst)+unless+mark)
		}
		if q.Note != "" {
			lines = append(lines, q.Note+mark)
		}
	}
	p.topic("How to destroy it", lines...)

	lines = nil
	if wst := k.Waste; wst != nil {
		switch {
		case wst.Destroy:
			lines = append(lines, "no container takes it as it is: it is destroyed first, and what is left goes by what it then is")
		case len(wst.Into) > 0:
			lines = append(lines, "into "+strings.Join(wst.Into, ", or ")+", by the site's list")
		case wst.Route != nil:
			l := wst.Route.How
			if wst.Route.Into != "" {
				l += "; then into " + wst.Route.Into
			}
			lines = append(lines, l+n.mark(wst.Route.Source))
		default:
			lines = append(lines, "no container of the site's list is known to take it as it is: ask")
		}
		if len(wst.streams) > 0 {
			lines = append(lines, "makes a stream "+strings.Join(wst.streams, ", "))
		}
		if len(wst.Groups) > 0 {
			lines = append(lines, "compatibility groups: "+strings.Join(wst.Groups, ", ")+n.mark(wst.Source))
		}
		lines = append(lines, wst.Note)
	}
	p.topic("Where its leftovers go", lines...)

	lines = nil
	if len(k.Cautions) > 0 {
		lines = append(lines, "the page must warn of: "+strings.Join(k.Cautions, ", "))
	}
	if len(k.HazardCodes) > 0 {
		lines = append(lines, strings.Join(k.HazardCodes, " ")+n.mark(k.HazardSource))
	}
	if w := k.Pyrophoric; w != nil {
		lines = append(lines, "pyrophoric: "+with(w.Value, ": ", w.When)+n.mark(w.Source))
	}
	if w := k.PeroxideClass; w != nil {
		lines = append(lines, "peroxide former, class "+with(w.Value, ": ", w.When)+n.mark(w.Source))
	}
	p.topic("Hazards and cautions", lines...)

	lines = nil
	for _, name := range properties {
		if v, ok := k.Properties[name]; ok {
			lines = append(lines, name+" "+v.text(n))
		}
	}
	p.topic("Figures", lines...)
	p.topic("Note", k.Note)
}

// saysAgain reports whether one clash is told by another, wider one: mineral
// acid by acids, for the same reason in other order.
func saysAgain(narrow, wide jsonAgent) bool {
	words := func(s string) []string {
		out := strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return r == ' ' || r == ',' || r == ';' })
		out = slices.DeleteFunc(out, func(w string) bool { return w == "and" })
		slices.Sort(out)
		return slices.Compact(out)
	}
	return strings.HasSuffix(narrow.Agent, strings.TrimSuffix(wide.Agent, "s")) && slices.Equal(words(narrow.Because), words(wide.Because))
}
