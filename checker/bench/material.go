package bench

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"ketyl/checker/finding"
	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
	"ketyl/checker/substance"
)

// material is a row of the materials table, resolved to species and amounts.
type material struct {
	row  *procedure.Material
	name string
	sp   *species // the substance itself, the solute of a solution

	mmol, g, ml Num // of the whole row; mL of the liquid as it is measured
	molarity    Num
	solvent     *species  // of a solution
	portions    float64   // 3 for 3 x 20 mL
	mix         []portion // contents of the whole row, ready to be put somewhere
	taken       float64   // share of the row that steps take by figures of their own
	left        float64   // share not yet used

	waterPPM         Num
	grade            string
	dried            string
	driedAsWorkup    bool
	driedSolid       bool
	calledAs         *species // what the row's name means, when the row says it is something else
	liquefied        bool
	openAmount       bool // "excess", "as needed", none written
	used             bool
	firstStep        int
	degassed         bool
	air              aeration
	mismatch         Num
	stated, computed string
	how              string
	assayMissing     bool
	nearest          []string
	known            bool
	equivalents      Num
	desiccant        bool
	unweighed        bool // measured, but without a molar mass: how many mmol is not known
	shelf            shelf
	purified         bool // by a still or a column of this text
}

// the words of a grade and the water each is taken to hold, ppm by mass,
// when the compendium says nothing of the liquid itself; common practice.
var gradeWords = map[string]string{
	"anhydrous": "anhydrous", "dry": "anhydrous", "absolute": "anhydrous", "extra dry": "anhydrous", "sure seal": "anhydrous",
	"reagent": "reagent", "ordinary": "reagent", "commercial": "reagent", "technical": "reagent", "undried": "reagent", "hplc": "reagent", "acs": "reagent", "bench": "reagent",
	"saturated": "saturated", "wet": "saturated",
}

// lookup finds a substance; nil when nothing is known of the name.
func (b *Bench) lookup(name string) *species {
	key := strings.ToLower(name)
	if sp, ok := b.byName[key]; ok {
		return sp
	}
	if d, ok := b.declared[key]; ok {
		sp := b.species(d)
		b.byName[key] = sp
		return sp
	}
	if b.notKnown[key] {
		return nil
	}
	s, found := b.find(name)
	if s == nil {
		b.notKnown[key] = true
		return nil
	}
	sp := b.species(s)
	if !sp.entry && found && sp.sub == s {
		sp.own().entry = true
	}
	b.byName[key] = sp
	return sp
}

// unknownSpecies stands in for a substance that nothing is known of, so that
// the rest of the procedure can still be played.
func (b *Bench) unknownSpecies(name string) *species {
	key := strings.ToLower(name)
	if sp, ok := b.byName[key]; ok {
		return sp
	}
	sp := &species{figures: &figures{name: name, family: "unknown", cp: solidCp, unknown: true,
		bp: b.ask("the boiling point of ", name, ""), fp: b.ask("the melting point of ", name, ""), flash: b.ask("the flash point of ", name, "")}}
	b.byName[key] = sp
	return sp
}

// madeSpecies is a product that only a reaction names.
func (b *Bench) madeSpecies(name string, mw float64, family string) *species {
	key := strings.ToLower(name)
	if sp, ok := b.byName[key]; ok {
		return sp
	}
	// a name of our own making is not looked up: "adduct of … and
	// phenylmagnesium bromide" is no Grignard reagent
	if !strings.Contains(name, " of ") {
		if sp := b.lookup(name); sp != nil {
			return sp
		}
	}
	sp := &species{figures: &figures{name: name, family: family, mw: mw, cp: solidCp, made: true,
		bp: b.ask("the boiling point of ", name, ""), fp: b.ask("the melting point of ", name, ""), flash: b.ask("the flash point of ", name, "")}}
	b.byName[key] = sp
	return sp
}

// declare takes a substance that the file declares. A name that the compendium
// knows cannot be declared away, a formula must be one, and a declaration that
// says nothing of hazard or family leaves the substance unknown.
func (b *Bench) declare(d *procedure.Declared) {
	for _, n := range append([]string{d.Name.S, d.CAS.S}, d.Names...) {
		if n == "" {
			continue
		}
		if s, ok := b.c.Find(n); ok {
			if b.agrees(d, s) {
				b.declaredKnown = append(b.declaredKnown, d.Name.S)
				return
			}
			b.problem("knowledge/declared-known", d.Name.Span, "found "+quoted(n)+" declared, which the compendium knows as "+s.Name+" and says otherwise of: a declaration cannot replace its entry", "take it out of `substances:`, or give your substance a name of its own")
			return
		}
	}
	if d.Formula.Is() {
		if _, err := substance.ParseFormula(d.Formula.S); err != nil {
			b.problem("format/value", d.Formula.Span, "found "+quoted(d.Formula.S)+" as a formula: "+err.Error(), "formula: C11H16O")
			return
		}
	}
	if d.Family.Is() {
		if _, ok := b.c.Family(d.Family.S); !ok {
			var keys []string
			for _, f := range b.c.Families() {
				keys = append(keys, f.Key)
			}
			msg := "found the family " + quoted(d.Family.S) + ", which is not known"
			if n := wider(d.Family.S, keys); len(n) > 1 {
				msg += "; of that name there are " + strings.Join(n, ", ")
			} else if len(n) == 1 {
				msg += ", did you mean " + n[0] + "?"
			} else if n := nearest(d.Family.S, keys); n != "" {
				msg += ", did you mean " + quoted(n) + "?"
			}
			b.problem("format/value", d.Family.Span, msg, "family: … # one of rules/reference/families.yaml; in doubt the more reactive one, e.g. carbanion salt for an enolate")
			return
		}
	}
	if !d.Family.Is() && len(d.Hazards) == 0 && len(d.AttackedBy) == 0 && !d.Exclusion.Is() {
		return // nothing is said that could be judged: it stays unknown, a hold
	}
	s := &substance.Substance{Name: d.Name.S, Names: d.Names, Formula: d.Formula.S, Structure: d.Structure.S, CAS: d.CAS.S,
		Family: d.Family.S, Phase: d.Phase.S, Declared: true}
	src := []string{"the procedure file"}
	if d.Density != nil {
		v := d.Density.Value()
		s.Density = &substance.Value{Value: &v, Unit: "g/mL", At: "20 °C", Source: src}
	}
	if d.Boiling != nil {
		v := d.Boiling.Value()
		s.BoilingPoint = &substance.Value{Value: &v, Unit: "°C", Source: src}
	}
	if len(d.Hazards) > 0 {
		s.Hazards = &substance.Hazards{Codes: d.Hazards, Source: src}
	}
	for _, a := range d.AttackedBy {
		s.AttackedBy = append(s.AttackedBy, substance.Attack{By: a.S, Speed: "fast", Source: src})
	}
	if d.Exclusion.Is() {
		s.Exclusion = &substance.Exclusion{Need: d.Exclusion.S, Source: src}
	}
	if len(d.Waste) > 0 {
		s.Waste = &substance.Waste{Groups: d.Waste, Source: src}
	}
	if s.Formula == "" {
		s.Formula = b.c.FormulaFor(s.Family, s.Name, s.Structure)
	}
	b.declared[strings.ToLower(d.Name.S)] = s
	for _, n := range d.Names {
		b.declared[strings.ToLower(n)] = s
	}
}

// agrees reports a declaration that says no more than the entry of the same
// name: the same atoms, its family or one without dangers of its own, and no hazard or attacker that the entry
// lacks. The entry is used then; files written before it stay readable.
func (b *Bench) agrees(d *procedure.Declared, s *substance.Substance) bool {
	if d.Formula.Is() && d.Formula.S != s.Formula {
		x, err1 := substance.ParseFormula(d.Formula.S)
		y, err2 := substance.ParseFormula(s.Formula)
		if err1 != nil || err2 != nil || !maps.Equal(x.Elements, y.Elements) {
			return false
		}
	}
	if d.Family.Is() && !b.c.Is(s, d.Family.S) {
		// a family that brings no danger of its own takes none away either
		f, ok := b.c.Family(d.Family.S)
		if !ok || f.Live || f.Vigour > 0 || f.Active != nil || len(f.AttackedBy) > 0 || f.Pyrophoric != nil {
			return false
		}
	}
	if d.Phase.Is() && s.Phase != "" && d.Phase.S != s.Phase {
		return false
	}
	for _, c := range d.Hazards {
		if s.Hazards == nil || !slices.Contains(s.Hazards.Codes, c) {
			return false
		}
	}
	for _, a := range d.AttackedBy {
		if !slices.ContainsFunc(s.AttackedBy, func(x substance.Attack) bool { return x.By == a.S }) {
			return false
		}
	}
	return !d.Exclusion.Is() || s.Exclusion != nil && s.Exclusion.Need == d.Exclusion.S
}

// resolve works out what a row of the materials table is and how much.
func (b *Bench) resolve(row *procedure.Material) *material {
	m := &material{row: row, name: row.Name.S, left: 1, portions: 1}
	want := row.Name.S
	if row.Substance.Is() {
		want = row.Substance.S
	}
	if row.Substance.Is() {
		// a row called by the name of another substance hides what it is
		if named, ok := b.find(row.Name.S); ok {
			if said := b.lookup(want); said != nil && said.sub != nil && said.name != named.Name {
				m.calledAs = b.species(named)
			}
		}
	}
	sp := b.lookup(want)
	if sp == nil {
		sp = b.unknownSpecies(want)
		_, m.nearest = b.c.Lookup(want)
	} else {
		m.known = true
	}
	if acid := b.inWater(row, sp); acid != nil {
		sp = acid
	}
	m.sp = sp
	m.desiccant = sp.sub != nil && sp.sub.Desiccant != nil
	ask := b.join("the amount of ", m.name, "")
	m.mmol, m.g, m.ml = Missing(ask), Missing(ask), Missing(ask)
	m.molarity = b.ask("the concentration of ", m.name, "")
	m.equivalents = Missing("the limiting reagent")
	m.mismatch = Num{Note: "a second expression of the amount of " + m.name}
	m.waterPPM = b.ask("the dryness of ", m.name, "")
	m.grade = strings.ToLower(row.Grade.S)

	rho := sp.density
	if row.Density != nil && row.Density.Known() {
		rho = row.Density.Value()
	}
	purity, assay := 1.0, ""
	if on := row.Solution; on != nil && on.Support != "" {
		// the metal on a support is a share of a solid
		copied := *row
		copied.Solution = nil
		row, m.row = &copied, &copied
		purity = math.Min(1, on.Strength.Value())
	} else if row.Purity != nil && row.Purity.Known() && row.Purity.Dim == quantity.Fraction && row.Purity.Value() > 0 {
		purity = math.Min(1, row.Purity.Value())
	} else if said, ok := dispersed(row); ok {
		purity = said
	} else if sp.sub != nil && sp.sub.Assay != nil && row.Solution == nil {
		if a := value(sp.sub.Assay); a.Known {
			purity, assay = a.V/100, quantity.FormatNumber(a.V)+" % "+sp.name+", as it is sold"
			// "10 % Pd/C" says it in its name
			if said, ok := percentIn(row.Name.S + " " + row.Form.S); ok {
				purity, assay = said/100, ""
			}
		}
	}
	if q, ok := row.Amount.Of(quantity.Volume, quantity.Mass, quantity.Amount); ok && q.Times > 1 {
		m.portions = float64(q.Times)
	}
	mass, hasMass := row.Amount.Of(quantity.Mass)
	vol, hasVol := row.Amount.Of(quantity.Volume)
	amt, hasAmt := row.Amount.Of(quantity.Amount)
	hasMass, hasVol, hasAmt = hasMass && mass.Known(), hasVol && vol.Known(), hasAmt && amt.Known()

	if row.Solution == nil && has(m.name, "brine") && sp.is("salt") {
		// brine is what the trade calls a saturated solution
		if s, err := quantity.ParseSolution("saturated in water"); err == nil {
			copied := *row
			copied.Solution = &s
			row, m.row = &copied, &copied
		}
	}
	if row.Solution == nil && hasVol && !hasMass && !hasAmt && sp.dissolvedByVolume() {
		// a solid by the millilitre is a solution whose strength is not told
		if s, err := quantity.ParseSolution("in water"); err == nil {
			copied := *row
			copied.Solution = &s
			row, m.row = &copied, &copied
		}
	}
	if q, ok := row.Amount.Of(quantity.Count); ok && q.Known() && has(q.Unit+q.Raw, "drop") && !hasVol {
		// 20 drops to the millilitre (common practice)
		vol = quantity.Quantity{Raw: q.Raw, Dim: quantity.Volume, Low: q.Low * 0.05, High: q.High * 0.05, Times: max(1, q.Times), Unit: "mL"}
		hasVol = true
	}
	if sp.gas && has(row.Form.S+row.Name.S, "liqu") {
		// at its boiling point by its own density (ammonia 0.682 g/mL), else taken
		// at 0.6, the low end
		rho = 0.6
		if sp.sub != nil && sp.sub.LiquidDensity != nil && sp.bp.Known && sp.mw > 0 {
			rho = sp.sub.LiquidDensity.At(sp.bp.V) * sp.mw / 1e6
		}
		m.liquefied = true
	}
	if row.Solution != nil || m.asSold() != nil {
		b.resolveSolution(m, mass, vol, amt, hasMass, hasVol, hasAmt)
	} else if hasVol && !hasMass && m.meansSolution() {
		// a volume of it is a volume of its solution: never of the neat liquid
		m.ml = Got(vol.Total())
		m.mix = []portion{{sp: sp, mmol: m.ml.V, g: m.ml.V * sp.mw / 1000, ml: m.ml.V, from: m.name}}
		if hasAmt && m.ml.V > 0 {
			m.mmol, m.molarity = Got(amt.Total()), Got(amt.Total()/m.ml.V)
			m.mix[0].mmol, m.mix[0].g = m.mmol.V, m.mmol.V*sp.mw/1000
		} else {
			m.assayMissing = true
			m.mmol = b.ask("the concentration of ", m.name, "")
		}
	} else {
		switch {
		case hasMass:
			m.g = Got(mass.Total())
		case hasVol && rho > 0:
			m.g = Got(vol.Total() * rho)
		case hasAmt && sp.mw > 0:
			m.g = Got(amt.Total() * sp.mw / 1000 / purity)
		}
		switch {
		case hasVol:
			m.ml = Got(vol.Total())
		case m.g.Known && sp.liquid && rho > 0:
			m.ml = Got(m.g.V / rho)
		case m.g.Known && !sp.liquid:
			m.ml = Got(0)
		}
		switch {
		case m.g.Known && sp.mw > 0:
			m.mmol = Num{V: m.g.V * purity / sp.mw * 1000, Known: true, Note: assay}
			m.how = fmt.Sprintf("%s × %s / %s g/mol", quantity.Format(m.g.V, quantity.Mass), quantity.FormatNumber(purity), quantity.FormatNumber(sp.mw))
		case hasAmt:
			m.mmol = Got(amt.Total())
		case m.known && (m.g.Known || hasVol) && b.counts(sp):
			m.unweighed = true
			m.mmol = Missing(sp.massAsk())
		}
		if m.unweighed {
			m.mix = []portion{{sp: sp, mmol: 2 * trace, g: m.g.V, ml: m.ml.V, from: m.name, maybe: true}}
		} else if hasAmt && sp.mw <= 0 && !m.ml.Known && m.known {
			m.mix = []portion{{sp: sp, mmol: m.mmol.V, from: m.name}} // moles are all that is known
		} else if m.g.Known && m.mmol.Known || m.ml.Known {
			m.mix = []portion{{sp: sp, mmol: m.mmol.V, g: m.g.V, ml: m.ml.V, from: m.name}}
			if m.mmol.V == 0 && m.ml.V > 0 && sp.mw > 0 && rho > 0 {
				m.mix[0].g = m.ml.V * rho
				m.mix[0].mmol = m.mix[0].g / sp.mw * 1000
				m.mmol = Got(m.mix[0].mmol)
			}
			if m.mix[0].mmol == 0 {
				m.mix[0].mmol = math.Max(m.mix[0].g, m.mix[0].ml) // no molar mass: keep it present
			}
			switch {
			case m.liquefied:
			case sp.gas:
				m.mix[0].ml = 0
			case sp.name == "ice":
				// ice is water as soon as anything is poured on it
				if w := b.lookup("water"); w != nil {
					g := m.mix[0].g
					m.mix[0] = portion{sp: w, mmol: g / w.mw * 1000, g: g, ml: g, from: m.name}
				}
			}
		}
		// several expressions of one amount must agree
		b.compare(m, hasMass, hasVol, hasAmt, mass, vol, amt, rho, purity)
	}
	m.shelf = b.shelfOf(row)
	m.openAmount = !m.mmol.Known && !m.ml.Known
	sp.judgeForm(m)
	b.waterOf(m, rho)
	return m
}

// dispersed reads the strength of a dispersion where a row gives it in the words
// of its form, grade, note or name: "60 % dispersion in mineral oil".
func dispersed(row *procedure.Material) (share float64, ok bool) {
	if row.Solution != nil {
		return 0, false
	}
	for _, text := range [...]string{row.Form.S, row.Grade.S, row.Note.S, row.Name.S} {
		if strings.Contains(text, "%") && has(text, "dispersion", "suspension", "in mineral oil", "in oil", "in paraffin") {
			if said, found := percentIn(text); found {
				return said / 100, true
			}
		}
	}
	return 0, false
}

// counts reports a substance without a molar mass of which it matters how many
// mmol there are: it reacts, or a declared reaction takes it.
func (b *Bench) counts(sp *species) bool {
	if sp.mw > 0 {
		return false
	}
	for _, r := range b.p.Reactions {
		for _, c := range r.Consumes {
			if b.lookup(c.Name.S) == sp {
				return true
			}
		}
	}
	return sp.protic > 0 || sp.electro > 0 || sp.active != "" || sp.live
}

// massAsk is the question for a molar mass that is not known.
func (sp *species) massAsk() string {
	return "the molar mass of " + sp.name + ": declare its formula under substances"
}

// dissolvedByVolume reports a solid that nobody measures by volume as it is, and
// that water dissolves: 20 mL of it are of its solution.
func (sp *species) dissolvedByVolume() bool {
	if sp.sub == nil || sp.sub.Phase != "solid" || sp.live || sp.takesWater() || sp.name == "ice" || sp.is("adsorbent", "filter aid", "drying salt", "drying oxide", "molecular sieve", "indicator") {
		return false
	}
	if w := sp.sub.Water; w != nil && w.InWater != nil && w.InWater.Value != nil {
		return *w.InWater.Value >= 1
	}
	return sp.is("salt", "ammonium salt", "carboxylic salt", "hydroxide", "carbonate", "nitrite", "cyanide", "azide", "sulfide", "hypochlorite", "oxidant")
}

// inWater is the acid that a gas is in water: hydrogen chloride as 2 M in water
// is hydrochloric acid. Nil where the row is no solution in water, or where the
// compendium has no mineral acid of that formula.
func (b *Bench) inWater(row *procedure.Material, sp *species) *species {
	if row.Solution == nil || !sp.is("acid gas") || sp.sub == nil || sp.sub.Formula == "" {
		return nil
	}
	if s := row.Solution.Solvent; s != "" {
		if w := b.lookup(s); w == nil || w.family != "water" {
			return nil
		}
	}
	if acid := b.lookup(sp.sub.Formula); acid != nil && acid.is("mineral acid") {
		return acid
	}
	return nil
}

// asSold finds the solution that the trade means by the name alone, such as
// concentrated hydrochloric acid.
func (m *material) asSold() *substance.Sold {
	if m.sp.sub == nil || m.row.Solution != nil {
		return nil
	}
	if m.sp.gas && m.sp.sub.Solutions != nil || m.sp.is("mineral acid", "oxidising acid", "hypochlorite") && len(m.sp.sub.Solutions) > 0 && !strings.Contains(strings.ToLower(m.row.Form.S), "gas") {
		if _, isVol := m.row.Amount.Of(quantity.Volume); isVol {
			return &m.sp.sub.Solutions[0]
		}
	}
	return nil
}

// meansSolution reports a reagent that is dispensed as a solution unless the row
// says otherwise: a volume of it says nothing without the strength.
func (m *material) meansSolution() bool {
	if m.row.Purity != nil || m.row.Density != nil || has(m.row.Form.S+" "+m.row.Grade.S+" "+m.row.Note.S+" "+m.row.Name.S, "neat", "pure", "solid") {
		return false
	}
	if m.sp.is("organolithium", "organomagnesium", "diorganomagnesium", "metal amide") {
		return true
	}
	return m.sp.is("organoaluminium", "organozinc") && m.sp.sub != nil && len(m.sp.sub.Solutions) > 0
}

func (b *Bench) resolveSolution(m *material, mass, vol, amt quantity.Quantity, hasMass, hasVol, hasAmt bool) {
	row, sp := m.row, m.sp
	var sol quantity.Solution
	rho := 0.0
	if row.Solution != nil {
		sol = *row.Solution
	} else if sold := m.asSold(); sold != nil {
		s, ok := b.solution(sold.As)
		if !ok {
			return
		}
		sol = s
		if sold.Density != nil {
			rho = *sold.Density
		}
	}
	strength := sol.Strength
	if sp.sub != nil {
		for _, s := range sp.sub.Solutions {
			t, ok := b.solution(s.As)
			if !ok {
				continue
			}
			same := t.Strength.Dim == strength.Dim && strength.Known() && math.Abs(t.Strength.Value()-strength.Value()) < 0.03*strength.Value()
			word := strength.Word != "" && sameName(strength.Word, t.Strength.Word)
			conc := sameName(strength.Word, "concentrated")
			if same || word || conc {
				if conc && !word {
					strength = t.Strength
				}
				if s.Density != nil {
					rho = *s.Density
				}
				break
			}
		}
	}
	name := sol.Solvent
	if name == "" {
		switch {
		case sp.waste.Acid || sp.waste.Base || sp.strongAcid() || sp.is("hydroxide", "carbonate", "ammonium salt", "salt", "hypochlorite", "nitrite", "cyanide", "azide", "sulfide", "peroxide", "carboxylic salt", "oxidant", "drying salt"):
			name = "water"
		case sol.Form == "dispersion":
			name = "mineral oil"
		}
	}
	if name != "" {
		if s := b.lookup(name); s != nil {
			m.solvent = s
		} else {
			m.solvent = b.unknownSpecies(name)
			b.unknownName(name, row.SolSpan)
		}
	}
	rhoAssumed := ""
	if rho == 0 && row.Density != nil && row.Density.Known() {
		rho = row.Density.Value()
	}
	if rho == 0 && m.solvent != nil && m.solvent.density > 0 {
		rho = m.solvent.density
		if m.solvent.family == "water" && strength.Known() && strength.Dim == quantity.Fraction {
			rho *= 1 + 0.8*strength.Value() // rough: aqueous solutions of salts, acids and bases (common practice)
		}
		rhoAssumed = "density of the solution taken from its solvent"
	}
	liquidForm := sol.Form != "dispersion" && sol.Form != "amalgam"
	total := Num{} // g of solution
	ofSolute := hasMass && m.massOfSolute(strength, mass, vol, amt, hasVol, hasAmt, rho)
	switch {
	case hasMass && !ofSolute:
		total = Got(mass.Total())
	case ofSolute && !hasVol && strength.Dim == quantity.Fraction && strength.Basis != "m/v" && strength.Basis != "v/v":
		total = Got(mass.Total() / strength.Value())
	}
	if hasVol {
		m.ml = Got(vol.Total())
		if !total.Known && rho > 0 {
			total = Num{V: vol.Total() * rho, Known: true, Note: rhoAssumed}
		}
	}
	if !m.ml.Known && total.Known && rho > 0 && liquidForm {
		m.ml = Num{V: total.V / rho, Known: true, Note: rhoAssumed}
	}
	eqPerMol := 1.0
	if sol.Normal {
		eqPerMol = math.Max(1, math.Max(sp.protic, sp.eq))
	}
	if sol.SoluteMass.Known() && sol.SolventVolume.Known() && !hasMass && !hasVol && !hasAmt && sp.mw > 0 {
		m.mmol = Got(sol.SoluteMass.Total() / sp.mw * 1000)
		m.ml = Got(sol.SolventVolume.Total() + 0.3*sol.SoluteMass.Total())
		total = Got(sol.SoluteMass.Total() + sol.SolventVolume.Total())
	}
	switch {
	case m.mmol.Known && m.ml.Known && m.ml.V > 0:
		m.molarity = Got(m.mmol.V / m.ml.V)
	case strength.Known() && strength.Dim == quantity.Molarity:
		c := strength.Value() / eqPerMol
		m.molarity = Got(c)
		switch {
		case m.ml.Known:
			m.mmol = Got(m.ml.V * c)
			m.how = fmt.Sprintf("%s × %s", quantity.Format(m.ml.V, quantity.Volume), quantity.Format(c, quantity.Molarity))
		case hasAmt:
			m.mmol = Got(amt.Total())
			m.ml = Got(amt.Total() / c)
		}
	case strength.Known() && strength.Dim == quantity.Fraction:
		switch {
		case strength.Basis == "m/v" && m.ml.Known && sp.mw > 0:
			m.mmol = Num{V: m.ml.V * strength.Value() / sp.mw * 1000, Known: true, Note: m.ml.Assumed()}
			m.how = fmt.Sprintf("%s × %s g/100 mL / %s g/mol", quantity.Format(m.ml.V, quantity.Volume), quantity.FormatNumber(strength.Value()*100), quantity.FormatNumber(sp.mw))
		case strength.Basis == "v/v" && m.ml.Known && sp.mw > 0 && sp.liquid && sp.density > 0:
			m.mmol = Num{V: m.ml.V * strength.Value() * sp.density / sp.mw * 1000, Known: true, Note: m.ml.Assumed()}
			m.how = fmt.Sprintf("%s × %s %% v/v × %s g/mL / %s g/mol", quantity.Format(m.ml.V, quantity.Volume), quantity.FormatNumber(strength.Value()*100), quantity.FormatNumber(sp.density), quantity.FormatNumber(sp.mw))
		case total.Known && sp.mw > 0:
			m.mmol = Num{V: total.V * strength.Value() / sp.mw * 1000, Known: true, Note: total.Assumed()}
			m.how = fmt.Sprintf("%s × %s %% / %s g/mol", quantity.Format(total.V, quantity.Mass), quantity.FormatNumber(strength.Value()*100), quantity.FormatNumber(sp.mw))
		case hasAmt && sp.mw > 0:
			m.mmol = Got(amt.Total())
			switch {
			case strength.Basis == "m/v":
				m.ml = Got(amt.Total() * sp.mw / 1000 / strength.Value())
			case strength.Basis == "v/v" && sp.liquid && sp.density > 0:
				m.ml = Got(amt.Total() * sp.mw / 1000 / sp.density / strength.Value())
			default:
				total = Got(amt.Total() * sp.mw / 1000 / strength.Value())
			}
		}
		if m.mmol.Known && m.ml.Known && m.ml.V > 0 {
			m.molarity = Got(m.mmol.V / m.ml.V)
		}
	case strength.Known() && strength.Dim == quantity.MassConcentration:
		if m.ml.Known && sp.mw > 0 {
			m.mmol = Got(m.ml.V * strength.Value() / sp.mw * 1000)
		}
		if sp.mw > 0 {
			m.molarity = Got(strength.Value() / sp.mw * 1000)
		}
	default:
		switch word := strings.ToLower(strength.Word); {
		case word == "saturated" && m.solvent != nil && m.solvent.family == "water" && sp.mw > 0:
			// g per 100 mL of water from the compendium; else 30 g, a
			// common salt's figure
			g, assumed := 30.0, "solubility taken as 30 g per 100 mL of water"
			if sp.sub != nil && sp.sub.Water != nil && sp.sub.Water.InWater != nil && sp.sub.Water.InWater.Value != nil {
				g, assumed = *sp.sub.Water.InWater.Value, ""
			}
			// mmol per mL of solution: by the density that is listed, else a
			// gram of salt is taken to fill 0.4 mL
			c := g / (100 + 0.4*g) / sp.mw * 1000
			if rhoAssumed == "" && rho > 0 {
				c = g / (100 + g) * rho / sp.mw * 1000
			}
			m.molarity = Num{V: c, Known: true, Note: assumed}
			if m.ml.Known {
				m.mmol = Num{V: m.ml.V * c, Known: true, Note: assumed}
			}
		default:
			m.assayMissing = true
			m.molarity = b.ask("the concentration of ", m.name, "")
			if m.ml.Known && sp.live {
				m.mmol = b.ask("the concentration of ", m.name, "")
			}
		}
	}
	if ofSolute && !m.mmol.Known && sp.mw > 0 {
		m.mmol = Got(mass.Total() / sp.mw * 1000)
		if c := m.molarity; c.Known && c.V > 0 && !m.ml.Known {
			m.ml = Got(m.mmol.V / c.V)
		}
	}
	if hasAmt && m.mmol.Known && (hasVol || hasMass) {
		m.note(amt.Total(), m.mmol.V, amt.Raw, quantity.Format(m.mmol.V, quantity.Amount))
	}
	if ofSolute && m.mmol.Known && sp.mw > 0 && hasVol {
		if g := m.mmol.V * sp.mw / 1000; math.Abs(g-mass.Total()) > rounding(mass.Raw)*mass.Total()+rounding(vol.Raw)*g {
			m.note(mass.Total(), g, mass.Raw+" of "+sp.name, quantity.Format(g, quantity.Mass))
		}
	} else if hasMass && hasVol && rho > 0 {
		// an assumed density is good to a tenth
		if g := vol.Total() * rho; math.Abs(g-mass.Total()) > (rounding(mass.Raw)+map[bool]float64{true: 0.1}[rhoAssumed != ""])*mass.Total()+rounding(vol.Raw)*g {
			m.note(mass.Total(), g, mass.Raw+" of solution", quantity.Format(g, quantity.Mass))
		}
	}
	if !m.mmol.Known && hasAmt {
		m.mmol = Got(amt.Total())
	}
	if m.mmol.Known && sp.mw > 0 {
		m.g = Got(m.mmol.V * sp.mw / 1000)
	}
	if m.mmol.Known || m.ml.Known {
		soluteG := 0.0
		if m.g.Known {
			soluteG = m.g.V
		}
		if m.mmol.V > 0 {
			m.mix = append(m.mix, portion{sp: sp, mmol: m.mmol.V, g: soluteG, from: m.name})
		} else if m.ml.Known {
			// strength unknown: the species is there, how much is not
			m.mix = append(m.mix, portion{sp: sp, mmol: 2 * trace, g: 0, from: m.name, maybe: true})
		}
		if m.solvent != nil {
			g := 0.0
			switch {
			case total.Known:
				g = math.Max(0, total.V-soluteG)
			case m.ml.Known && rho > 0:
				g = math.Max(0.3*m.ml.V*rho, m.ml.V*rho-soluteG)
			}
			n := g
			if m.solvent.mw > 0 {
				n = g / m.solvent.mw * 1000
			}
			ml := m.ml.V
			if !liquidForm {
				ml = 0
			}
			m.mix = append(m.mix, portion{sp: m.solvent, mmol: n, g: g, ml: ml, from: m.name})
		} else if m.ml.Known {
			s := b.unknownSpecies("the solvent of " + m.name)
			of := s.own()
			of.liquid, of.unknown, of.family = true, false, "other"
			m.mix = append(m.mix, portion{sp: s, mmol: m.ml.V, g: m.ml.V, ml: m.ml.V, from: m.name})
		}
	}
}

// massOfSolute reports that the mass written beside a strength is that of what is
// dissolved and not of the solution: it comes nearer to what the volume, else the
// amount, gives for the solute. A mass alone is that of what is weighed.
func (m *material) massOfSolute(strength, mass, vol, amt quantity.Quantity, hasVol, hasAmt bool, rho float64) bool {
	mw, c := m.sp.mw, strength.Value()
	if !strength.Known() || c <= 0 || mw <= 0 || !hasVol && !hasAmt {
		return false
	}
	solute, solution := 0.0, 0.0
	switch {
	case hasAmt && !hasVol:
		solute = amt.Total() * mw / 1000
		switch {
		case strength.Dim == quantity.Fraction:
			solution = solute / c
		case strength.Dim == quantity.Molarity && rho > 0:
			solution = amt.Total() / c * rho
		}
	case strength.Dim == quantity.Molarity:
		solute, solution = vol.Total()*c*mw/1000, vol.Total()*rho
	case strength.Dim == quantity.Fraction && strength.Basis == "m/v":
		solute, solution = vol.Total()*c, vol.Total()*rho
	case strength.Dim == quantity.Fraction && rho > 0:
		solute, solution = vol.Total()*rho*c, vol.Total()*rho
	}
	if solute <= 0 {
		return false
	}
	off := func(x float64) float64 { return math.Abs(math.Log(mass.Total() / x)) }
	return mass.Total() > 0 && (solution <= 0 || off(solute) < off(solution))
}

// note keeps the largest disagreement between two expressions of an amount.
func (m *material) note(stated, computed float64, statedText, computedText string) {
	if stated <= 0 || computed <= 0 {
		return
	}
	off := math.Abs(computed-stated) / stated * 100
	if !m.mismatch.Known || off > m.mismatch.V {
		m.mismatch = Got(off)
		m.stated, m.computed = statedText, computedText
	}
}

// compare sets every pair of expressions of one amount against each other,
// allowing half a unit of the last written figure for rounding.
func (b *Bench) compare(m *material, hasMass, hasVol, hasAmt bool, mass, vol, amt quantity.Quantity, rho, purity float64) {
	slack := func(raw string, v float64) float64 { return rounding(raw) * v }
	check := func(stated, computed float64, q quantity.Quantity, text string, other quantity.Quantity) {
		give := slack(q.Raw, stated) + computed*rounding(other.Raw)
		if math.Abs(stated-computed) <= give {
			m.note(stated, stated, q.Raw, text)
			return
		}
		m.note(stated, computed, q.Raw, text)
	}
	pair := false
	if hasMass && hasVol && hasAmt && rho > 0 && m.sp.mw > 0 && m.sp.liquid {
		// of three, the one that the other two speak against is the slip
		ofMass, ofVol, ofAmt := mass.Total()*purity/m.sp.mw*1000, vol.Total()*rho*purity/m.sp.mw*1000, amt.Total()
		agree := func(x, y float64) bool { return math.Abs(x-y) <= 0.1*math.Max(x, y) }
		if agree(ofVol, ofAmt) && !agree(ofMass, ofVol) {
			check(mass.Total(), vol.Total()*rho, mass, quantity.Format(vol.Total()*rho, quantity.Mass), vol)
			return
		}
	}
	var all []quantity.Quantity
	if m.row.Amount != nil {
		all = m.row.Amount.All
	}
	for i, x := range all {
		for _, y := range all[:i] {
			// the same thing written twice must be the same figure
			if x.Dim == y.Dim && x.Known() && y.Known() && (x.Dim == quantity.Mass || x.Dim == quantity.Volume || x.Dim == quantity.Amount) && y.Total() > 0 {
				check(y.Total(), x.Total(), y, x.Raw, x)
				pair = true
			}
		}
	}
	if hasMass && hasVol && rho > 0 && m.sp.liquid {
		check(vol.Total(), mass.Total()/rho, vol, quantity.Format(mass.Total()/rho, quantity.Volume), mass)
		pair = true
	}
	if hasMass && hasAmt && m.sp.mw > 0 {
		n := mass.Total() * purity / m.sp.mw * 1000
		n2 := mass.Total() / m.sp.mw * 1000 // purity left out is common and small
		if purity >= nearlyPure && math.Abs(amt.Total()-n2) < math.Abs(amt.Total()-n) {
			n = n2
		}
		check(amt.Total(), n, amt, quantity.Format(n, quantity.Amount), mass)
		pair = true
	}
	if hasVol && hasAmt && !hasMass && rho > 0 && m.sp.mw > 0 {
		n := vol.Total() * rho / m.sp.mw * 1000
		if n2 := n * purity; purity < nearlyPure || math.Abs(amt.Total()-n2) < math.Abs(amt.Total()-n) {
			n = n2
		}
		check(amt.Total(), n, amt, quantity.Format(n, quantity.Amount), vol)
		pair = true
	}
	if pair && !m.mismatch.Known {
		m.mismatch = Got(0)
	}
}

// nearlyPure is the purity above which it is commonly left out of a sum; the
// metal of a supported catalyst or the solute of a dispersion never is.
const nearlyPure = 0.8

// percentIn reads the smallest percentage written in a name: of "10 % on
// carbon, 50 % water-wet" the metal's.
func percentIn(text string) (float64, bool) {
	least := 0.0
	for i, r := range text {
		if r != '%' {
			continue
		}
		head := strings.TrimRight(text[:i], " \u00a0\u202f")
		for _, unit := range []string{"wt.", "wt", "mass", "w/w"} {
			head = strings.TrimRight(strings.TrimSuffix(head, unit), " \u00a0\u202f")
		}
		j := len(head)
		for j > 0 && (head[j-1] >= '0' && head[j-1] <= '9' || head[j-1] == '.') {
			j--
		}
		if v, err := strconv.ParseFloat(head[j:], 64); err == nil && v > 0 && v <= 100 && (least == 0 || v < least) {
			least = v
		}
	}
	return least, least > 0
}

// rounding is half a unit of the last written digit as a share of the value.
func rounding(raw string) float64 {
	digits, seen, dot := 0, false, false
	var v float64
	scale := 1.0
	for _, r := range raw {
		switch {
		case r >= '0' && r <= '9':
			seen = true
			digits++
			v = v*10 + float64(r-'0')
			if dot {
				scale *= 10
			}
		case (r == '.' || r == ',') && seen && !dot:
			dot = true
		case seen:
			goto done
		}
	}
done:
	if v == 0 || digits == 0 {
		return 0.05
	}
	return 0.5 / v
}

// waterOf says how much water a liquid brings: as stated, by its grade, or
// not known.
func (b *Bench) waterOf(m *material, rho float64) {
	if m.row.Water != nil && m.row.Water.Known() {
		v := m.row.Water.Max()
		if m.row.Water.Dim == quantity.Fraction {
			m.waterPPM = Got(v * 1e6)
			return
		}
	}
	liquid := m.sp
	if m.solvent != nil {
		liquid = m.solvent
	}
	if m.sp.takesWater() && (m.row.Solution != nil || m.sp.live) {
		// a reagent in solution has already eaten the water of its solvent
		m.waterPPM = Assume(0, "what water destroys holds no water")
		return
	}
	if liquid.family == "water" {
		return
	}
	g := ""
	for w, k := range gradeWords {
		if m.grade == w || strings.Contains(m.grade, w) && (g == "" || len(w) > 3) {
			g = k
		}
	}
	if strings.Contains(m.grade, "undried") || strings.Contains(m.grade, "not dried") {
		g = "reagent"
	}
	if m.row.Origin.Is() && g == "" {
		o := strings.ToLower(m.row.Origin.S)
		switch {
		case strings.Contains(o, "benzophenone") || strings.Contains(o, "sodium") || strings.Contains(o, "hydride") || strings.Contains(o, "column") || strings.Contains(o, "sieve") || strings.Contains(o, "freshly distilled") || strings.Contains(o, "still"):
			g = "anhydrous"
		}
	}
	switch g {
	case "":
		return
	case "saturated":
		if w := b.saturatedPPM(liquid); w.Known {
			m.waterPPM = w
		}
		return
	}
	if liquid.sub != nil {
		if v, ok := liquid.sub.Grades[g]; ok {
			if n := value(&v); n.Known {
				m.waterPPM = Assume(n.V, g+" grade of "+liquid.name)
				return
			}
		}
	}
	if n, ok := b.gradePPM(g, liquid); ok {
		m.waterPPM = Assume(n, g+" grade, by the site file")
	}
}

// saturatedPPM is the water a liquid takes up, ppm by mass.
func (b *Bench) saturatedPPM(sp *species) Num {
	if sp.sub == nil || sp.sub.Water == nil || sp.sub.Water.Saturated == nil {
		return b.ask("the dryness of ", sp.name, "")
	}
	v := *sp.sub.Water.Saturated
	switch {
	case strings.Contains(sp.sub.Water.Unit, "ppm"):
		return Got(v)
	case strings.Contains(sp.sub.Water.Unit, "g/100 mL"), strings.Contains(sp.sub.Water.Unit, "m/v"):
		if sp.density > 0 {
			return Got(v / sp.density * 1e4)
		}
	}
	return Got(v * 1e4)
}

// facts of a material, for a share of it.
func (b *Bench) materialFacts(m *material, share float64) MaterialFacts {
	scale := func(n Num) Num {
		if n.Known {
			n.V *= share
		}
		return n
	}
	f := b.speciesFacts(m.sp)
	f.Name = m.name
	f.Role = m.row.Role.S
	f.Mmol, f.MassG, f.VolumeML, f.Molarity, f.Equivalents = scale(m.mmol), scale(m.g), scale(m.ml), m.molarity, m.equivalents
	if m.row.Amount.Is() {
		switch m.row.Amount.All[0].Dim {
		case quantity.Volume:
			f.WrittenIn = "volume"
		case quantity.Mass:
			f.WrittenIn = "mass"
		case quantity.Amount:
			f.WrittenIn = "amount"
		}
	}
	f.WaterPPM = m.waterPPM
	f.WaterMmol = b.ask("the dryness of ", m.name, "")
	if m.waterPPM.Known && m.ml.Known {
		f.WaterMmol = Num{V: MolarWater(m.ml.V*share, m.rho(), m.waterPPM.V), Known: true, Note: m.waterPPM.Assumed()}
		if m.ml.V == 0 && m.g.Known {
			f.WaterMmol.V = m.g.V * share * m.waterPPM.V * 1e-3 / waterMass // a damp solid
		}
	}
	f.Grade, f.Dried = m.grade, m.dried
	if m.row.Solution != nil || m.solvent != nil {
		f.Phase = "solution"
	}
	if m.solvent != nil {
		f.Solvent = m.solvent.name
		f.Aqueous = m.solvent.family == "water"
		if m.solvent.flash.Known {
			f.FlashC = m.solvent.flash
		}
	}
	f.Concentrated = m.concentrated()
	f.Inhibited = m.row.Inhibited != nil && *m.row.Inhibited
	x := &m.shelf
	f.Opened, f.OpenedMonths, f.TestedMonths = x.dated, x.age, x.tested
	f.ShelfWritten, f.Received = x.written, x.received
	f.KeepMonths = b.keepMonths(m)
	f.Tested, f.Peroxides, f.TestNote = x.clean || b.tested[m] && !x.dirty, x.dirty, x.note
	return f
}

func (m *material) rho() float64 {
	if m.solvent != nil && m.solvent.density > 0 {
		return m.solvent.density
	}
	if m.sp.density > 0 {
		return m.sp.density
	}
	return 1
}

// concentrated reports an acid strong enough that water must go in last:
// neat, above 10 mol/L, or called concentrated.
func (m *material) concentrated() bool {
	if !m.sp.strongAcid() && m.sp.family != "carboxylic acid" {
		return false
	}
	if m.row.Solution == nil {
		return true
	}
	if sameName(m.row.Solution.Strength.Word, "concentrated") {
		return true
	}
	return m.molarity.Known && m.molarity.V >= 10
}

func (b *Bench) speciesFacts(sp *species) MaterialFacts {
	sp.word()
	amount, dryness := Missing(sp.asks.amount), Missing(sp.asks.dryness)
	f := MaterialFacts{Name: sp.name, Substance: sp.name, Family: sp.family, NeedRank: sp.need, Live: sp.live,
		Pyrophoric: sp.pyro(), WaterReactive: sp.waterReactive(), Codes: sp.codes, FlashC: sp.flash, BoilingC: sp.bp, Hydrate: sp.hydrate,
		Acid: sp.strongAcid(), Base: sp.is("hydroxide", "alkoxide"), Oxidiser: sp.waste.Oxidiser || sp.is("oxidant", "peroxide", "oxidising acid", "hypochlorite"),
		Halogenated: sp.waste.Halogenated, Aqueous: sp.family == "water",
		Mmol: amount, MassG: amount, VolumeML: amount,
		OpenedMonths: Missing("when the bottle was opened"), TestedMonths: Missing("when it was tested"), KeepMonths: Missing("whether it forms peroxides"), Molarity: Missing(sp.asks.strength), Equivalents: Missing("the limiting reagent"),
		WaterPPM: dryness, WaterMmol: dryness}
	f.Phase = "solid"
	if sp.liquid {
		f.Phase = "liquid"
	}
	if sp.gas {
		f.Phase = "gas"
	}
	if sp.sub != nil {
		f.JudgedAs = sp.sub.JudgedAs
		if sp.sub.PeroxideClass != nil {
			f.PeroxideClass = sp.sub.PeroxideClass.Value
		}
	}
	return f
}

// amountIn parts "5 mL of thf", which no name is, into amount and name.
func amountIn(name string) (amount, what string) {
	amount, what, ok := strings.Cut(name, " of ")
	if !ok {
		return "", ""
	}
	if q, err := quantity.Parse(amount); err != nil || !q.Known() || q.Dim == quantity.Count {
		return "", ""
	}
	return amount, strings.TrimSpace(what)
}

// unknownName reports a name the compendium lacks, once.
func (b *Bench) unknownName(name string, at finding.Span) {
	if b.saidUnknown[strings.ToLower(name)] {
		return
	}
	b.saidUnknown[strings.ToLower(name)] = true
	if amount, what := amountIn(name); what != "" {
		b.problem("format/name", at, "found "+quoted(name)+", an amount and a name in one, expected the name alone: the amount stands under `amount`", what+"\namount: "+amount+" of "+what)
		return
	}
	_, near := b.c.Lookup(name)
	sp := b.unknownSpecies(name)
	f := b.speciesFacts(sp)
	f.Name = name
	b.emit(Event{Kind: "material", Span: at, Subject: name, Cause: b.join("unknown ", name, ""),
		Facts: &MaterialEvent{Material: f, Nearest: near, MismatchPct: Missing("an amount"), ExcessPct: Missing("an amount"), SparePct: Missing("an amount"), Sites: Missing("an amount")}})
}

// wider lists the families whose name contains a word, or ends in it: a word that
// stands for several is answered by all of them, never by one that is spelled
// nearly so and means something else.
func wider(word string, keys []string) []string {
	w := strings.ToLower(strings.TrimSpace(word))
	if len(w) < 4 {
		return nil
	}
	var out []string
	for _, k := range keys {
		if strings.Contains(strings.ToLower(k), w) {
			out = append(out, quoted(k))
		}
	}
	return out
}
