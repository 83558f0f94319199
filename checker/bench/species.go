package bench

import (
	"math"
	"slices"
	"strings"

	"ketyl/checker/quantity"
	"ketyl/checker/substance"
)

// species is a substance on one bench: its figures, and what this run makes of it.
type species struct {
	*figures
	shared  bool    // its figures are those that all runs read: own makes them its own
	fate    uint8   // what water does to it, once asked
	in, out float64 // mmol that came onto the bench and left it
}

// own gives a species figures that may be changed for this run alone.
func (sp *species) own() *figures {
	if sp.shared {
		f := *sp.figures
		sp.figures, sp.shared = &f, false
	}
	return sp.figures
}

// figures are a substance as the bench handles it: what the compendium says,
// gaps filled from the family, brought to plain figures once. Those of an entry
// are shared by all runs and never changed.
type figures struct {
	// what every step asks of all that every vessel holds stands together
	name     string
	family   string
	live     bool
	liquid   bool
	gas      bool
	made     bool // product of a reaction on the bench
	entry    bool // an entry of the compendium, not declared or derived
	explodes bool // when it is dry, concentrated or warm
	coarse   bool // a metal in pieces, not powder
	unknown  bool
	wetCode  bool // its hazard codes are of fire or violence with water
	tears    bool // its cautions name tears
	formYes  bool // some row's form is pyrophoric
	need     float64
	vigour   float64
	eq       float64
	mw       float64 // g/mol, 0 when unknown
	cp       float64 // J/(g K)
	density  float64 // g/mL at 20 °C, 0 when unknown
	active   string
	attacked attacks
	protic   float64
	electro  float64
	water    float64              // mol of water one mol takes
	sub      *substance.Substance // nil for a product that only a reaction names
	hydrate  float64
	waste    wasteMarks
	atoms    atoms
	antoine  *antoine
	vapour   *substance.Vapour // read with antoine
	boils    boiling           // of an entry that is a liquid: alone, at 1 atm

	asks        speciesAsks
	title       string // family title with its article
	bp          Num
	fp          Num
	flash       Num
	proticKind  string
	electroKind string
	gases       []substance.Gas
	heat        Num     // kJ/mol with water, positive when given off
	dissolves   float64 // heat of solution in water, kJ/mol given off; 0 where it has no figure or does not count
	oxygenGrade bool
	oxygenLimit Num
	notUnder    []string
	accepted    []substance.Accepted
	pyrophoric  string // yes | no | conditional
	quench      *substance.Quench
	codes       []string
	frees       []share // made here: what water or acid sets free of it
	protons     float64 // made here: mol of acid that sets it free
	acidOnly    bool    // water does not: a carboxylate, a phenoxide
	bases       float64 // a salt of a quench: mol of acid that it still takes
	boranes     float64 // what a borane added to: mol of peroxide that it takes
	lifetimes   []lifetime
	sold        Num      // strongest solution on sale, mol/L
	ofAcid      *species // of a carboxylate made here: the acid that strong acid sets free
	ofAmine     *species // of an ammonium salt made here: the amine it frees
	azideRatio  Num      // (carbon + oxygen) over nitrogen of an organic azide
}

// boiling is a temperature at which something boils.
type boiling struct {
	tC float64
	ok bool
}

// speciesAsks are the questions about a substance of which nothing is measured.
type speciesAsks struct{ amount, dryness, strength string }

func (sp *species) word() {
	if sp.asks.amount == "" {
		sp.asks = speciesAsks{"the amount of " + sp.name, "the dryness of " + sp.name, "the concentration of " + sp.name}
	}
}

// attacks is how fast what the bench looks for attacks a substance: violent, fast,
// moderate or slow; empty where it does not.
type attacks struct{ water, oxygen, carbonDioxide, groundGlass string }

// wasteMarks are what a stream that holds the substance is told apart by.
type wasteMarks struct {
	Halogenated, Oxidiser, Acid, Base, Cyanide, Sulfide, Azide, WaterReactive, Mercury bool
	ToxicMetal, GasFormer                                                              string
}

var needRanks = map[string]float64{
	"": 0, "none": 0, "drying tube": 1, "inert gas": 2, "evacuate and refill": 3, "glovebox": 4,
}

func isGas(family string) bool {
	switch family {
	case "inert gas", "reactive gas", "acid gas":
		return true
	}
	return false
}

func value(v *substance.Value) Num {
	switch {
	case v == nil:
		return Num{}
	case v.Value != nil:
		return Got(*v.Value)
	case v.Low != nil && v.High != nil:
		return Got((*v.Low + *v.High) / 2)
	case v.Low != nil:
		return Got(*v.Low)
	case v.High != nil:
		return Got(*v.High)
	}
	return Num{}
}

// default specific heats, J/(g K): an organic liquid about 2, a solid about 1
// (common practice); entries with a heat capacity use their own.
const (
	organicCp = 2.0
	solidCp   = 1.0
)

func (b *Bench) species(s *substance.Substance) *species {
	if sp, ok := b.bySub[s.Name]; ok {
		return sp
	}
	if sp := b.prototype(s); sp != nil {
		return sp
	}
	if s.Declared {
		s = b.c.Merge(s) // entries of the compendium come merged
	}
	sp := &species{figures: &figures{name: s.Name, sub: s, family: s.Family, cp: organicCp}}
	fam, _ := b.c.Family(s.Family)
	if sp.atoms = atomsOf(s.Formula); sp.atoms != nil {
		sp.mw = sp.atoms.mass()
	}
	if d, ok := s.DensityAt20(); ok {
		sp.density = d
	}
	sp.dissolves = loadDilution().Solids.Heat[s.Name]
	sp.liquid = s.Phase == "liquid"
	sp.gas = s.Phase == "gas" || s.Phase == "" && isGas(s.Family)
	if !sp.liquid && !sp.gas {
		sp.cp = solidCp
	}
	if h := value(s.HeatCapacity); h.Known && sp.mw > 0 {
		switch s.HeatCapacity.Unit {
		case "J/(mol K)":
			sp.cp = h.V / sp.mw
		case "J/(g K)":
			sp.cp = h.V
		}
	}
	sp.bp, sp.fp, sp.flash = value(s.BoilingPoint), value(s.MeltingPoint), value(s.FlashPoint)
	for _, x := range []struct {
		n    *Num
		what string
	}{{&sp.bp, "boiling"}, {&sp.fp, "melting"}, {&sp.flash, "flash"}} {
		if !x.n.Known {
			x.n.Note = "the " + x.what + " point of " + s.Name
		}
	}
	if s.Active != nil {
		sp.active, sp.eq = s.Active.As, s.Active.Equivalents
		if sp.eq == 0 {
			sp.eq = 1
		}
	}
	if s.Sites != nil {
		sp.protic, sp.proticKind = s.Sites.Protic, s.Sites.ProticKind
		sp.electro, sp.electroKind = s.Sites.Electrophilic, s.Sites.ElectrophilicKind
	}
	if h := s.Hydrolysis; h != nil {
		sp.water = h.Water
		sp.gases = h.Gases
		if len(sp.gases) == 0 && h.Gas != "" {
			sp.gases = []substance.Gas{{Gas: h.Gas, Moles: math.Max(h.Moles, 0)}}
			if h.Moles == 0 {
				sp.gases[0].Moles = 1
			}
		}
		if h.Heat != nil {
			sp.heat = Got(-*h.Heat)
		}
	}
	if sp.water == 0 && sp.active != "" {
		sp.water = sp.eq
	}
	if e := s.Exclusion; e != nil {
		sp.need = needRanks[e.Need]
		sp.notUnder = e.NotUnder
		sp.accepted = e.Accepted
		sp.oxygenLimit = value(e.OxygenLimit)
		sp.oxygenGrade = sp.need >= 3
	}
	if s.Pyrophoric != nil {
		sp.pyrophoric = s.Pyrophoric.Value
	}
	for _, a := range s.AttackedBy {
		switch a.By {
		case "water":
			sp.attacked.water = a.Speed
		case "oxygen":
			sp.attacked.oxygen = a.Speed
		case "carbon dioxide":
			sp.attacked.carbonDioxide = a.Speed
		case "ground glass":
			sp.attacked.groundGlass = a.Speed
		}
	}
	if s.Waste != nil {
		w := s.Waste
		sp.waste = wasteMarks{Halogenated: w.Halogenated, Oxidiser: w.Oxidiser, Acid: w.Acid, Base: w.Base, Cyanide: w.Cyanide, Sulfide: w.Sulfide, Azide: w.Azide,
			WaterReactive: w.WaterReactive, Mercury: w.Mercury, ToxicMetal: w.ToxicMetal, GasFormer: w.GasFormer}
	}
	if s.Hazards != nil {
		sp.codes = s.Hazards.Codes
		sp.wetCode = slices.ContainsFunc(sp.codes, func(c string) bool {
			return strings.HasPrefix(c, "H260") || strings.HasPrefix(c, "H261") || strings.HasPrefix(c, "EUH014")
		})
	}
	if fam != nil {
		sp.title = fam.Title
	}
	if s.Live != nil {
		sp.live = *s.Live
	}
	if s.Vigour != nil {
		sp.vigour = float64(*s.Vigour)
	}
	sp.quench = s.Quench
	sp.tears = slices.Contains(s.Cautions, "lachrymator")
	if i := strings.LastIndexAny(s.Formula, "·*"); i > 0 && strings.HasSuffix(s.Formula, "H2O") {
		tail := strings.TrimLeft(s.Formula[i:], "·*")
		sp.hydrate = 1
		if n := strings.TrimSuffix(tail, "H2O"); n != "" {
			if q, err := quantity.Parse(n); err == nil {
				sp.hydrate = q.Value()
			}
		}
	}
	sp.explodes = s.MustDie("evaporation") && slices.Contains(s.Cautions, "explosive")
	if x, err := substance.ParseFormula(s.Formula); err == nil && s.Family == "azide" && x.Elements["C"] > 0 {
		// Bräse and others, Angew. Chem. Int. Ed. 2005, 44, 5188: (C + O)/N of at
		// least 3 may be isolated
		sp.azideRatio = Got((x.Elements["C"] + x.Elements["O"]) / x.Elements["N"])
	}
	b.bySub[s.Name] = sp
	sp.lifetimes = lifetimesOf(s)
	sp.sold = strongestSold(s, sp.mw)
	sp.word()
	b.keep(s, sp)
	return sp
}

func (sp *species) waterReactive() bool {
	if sp.coarse {
		return false // turnings and ribbon: the code is that of the powder
	}
	if sp.wetCode {
		return true
	}
	s := sp.attacked.water
	return s == "violent" || s == "fast" && sp.live
}

// takesWater reports whether water destroys it fast enough to count in a
// water budget.
func (sp *species) takesWater() bool {
	switch sp.attacked.water {
	case "violent", "fast", "moderate":
		return sp.water > 0
	}
	return false
}

// pyro reports whether the species is pyrophoric in the form it has here: a
// conditional entry counts as pyrophoric (the careful reading).
func (sp *species) pyro() bool { return sp.pyrophoric == "yes" || sp.pyrophoric == "conditional" }

// judgeForm settles a conditional pyrophoric entry by the form at hand: what
// its own words say of solutions, dispersions or pieces. Nothing said leaves
// it as it is, the careful reading.
func (sp *species) judgeForm(m *material) {
	form := strings.ToLower(m.row.Form.S + " " + m.name)
	pieces := has(form, "turning", "wire", "granul", "pellet", "ribbon", "chip", "piece", "rod", "stick", "lump", "foil", "strip")
	if pieces && sp.is("alkaline-earth metal", "zinc metal") {
		sp.own().coarse = true
	}
	if sp.pyrophoric != "conditional" || sp.sub == nil || sp.sub.Pyrophoric == nil || sp.formYes {
		return
	}
	var words []string
	switch {
	case m.row.Solution != nil && m.row.Solution.Form == "dispersion", has(form, "dispersion"):
		words = []string{"dispersion"}
	case m.row.Solution != nil:
		words = []string{"solution", "dilute"}
	case pieces:
		words = []string{"turning", "wire", "granul", "pellet", "ribbon", "piece", "lump", "coarse", "bulk", "compact", "foil"}
	default:
		sp.own().formYes = true
		return
	}
	verdict := ""
	for _, clause := range strings.FieldsFunc(strings.ToLower(sp.sub.Pyrophoric.When), func(r rune) bool { return r == ';' || r == ',' || r == '.' || r == ':' }) {
		if !has(clause, words...) {
			continue
		}
		if has(clause, "not", "rarely", "no ", "seldom") {
			verdict = "no"
		} else {
			verdict = "yes"
			break
		}
	}
	switch {
	case verdict == "no":
		sp.own().pyrophoric = "no"
	case pieces && sp.is("alkaline-earth metal", "zinc metal"):
		sp.own().pyrophoric = "no"
	default:
		sp.own().formYes = true
	}
}

func (sp *species) is(families ...string) bool {
	for _, f := range families {
		if sp.family == f {
			return true
		}
	}
	return false
}

// gasAbove is the most of a condensed gas (mmol) that stands over its own
// liquid in a space (mL): its vapour pressure there. Where the compendium has
// no vapour pressure it is taken from the boiling point by Trouton's rule, 11.1
// for the entropy of vaporisation over R (92 J/(mol·K), the upper end of the
// range of ordinary liquids, so that it errs high). Without a boiling point,
// above it by more than twice (supercritical), or below it, nothing is held
// back.
func (sp *species) gasAbove(ml, tC float64) float64 {
	mbar := 0.0
	if sp.sub != nil {
		if p, ok := sp.sub.VapourPressure(tC); ok {
			mbar = p
		}
	}
	if mbar <= 0 {
		if !sp.bp.Known || sp.is("cryogen") || sp.bp.V > tC {
			return math.Inf(1)
		}
		tb, t := sp.bp.V+273.15, tC+273.15
		if t > 1.6*tb { // past the critical point, which lies near 1.5 boiling points (Guldberg's rule)
			return math.Inf(1)
		}
		mbar = Atm * math.Exp(11.1*(1-tb/t))
	}
	return GasMmol(ml, mbar, tC)
}

func (sp *species) strongAcid() bool {
	return sp.is("mineral acid", "oxidising acid", "sulfonic acid")
}
