// Package substance is the compendium: what is known of each substance, under
// any usual name, abbreviation or CAS number, with the source of every value.
// It knows chemistry but no vessels, steps or rules.
package substance

// Value is one figure of the compendium with its unit and source keys.
type Value struct {
	Value  *float64 `yaml:"value"`
	Low    *float64 `yaml:"low"`
	High   *float64 `yaml:"high"`
	Unit   string   `yaml:"unit"`
	At     string   `yaml:"at"`
	Source []string `yaml:"source"`
	Note   string   `yaml:"note"`
}

// Word is one sourced word, such as a peroxide class.
type Word struct {
	Value  string   `yaml:"value"`
	When   string   `yaml:"when"`
	Source []string `yaml:"source"`
	Note   string   `yaml:"note"`
}

// Source says where a value comes from.
type Source struct {
	Cite string `yaml:"cite"`
	Kind string `yaml:"kind"` // published | common practice | from memory
	Read string `yaml:"read"`
}

// Antoine holds log10(p/Pa) = A − B/(T/K + C) and its range in kelvin.
type Antoine struct {
	A      float64  `yaml:"A"`
	B      float64  `yaml:"B"`
	C      float64  `yaml:"C"`
	Form   string   `yaml:"form"`
	From   string   `yaml:"from"`
	To     string   `yaml:"to"`
	Source []string `yaml:"source"`
	Note   string   `yaml:"note"`
}

// LiquidDensity is the density of a liquid at its vapour pressure, mol/m³ =
// C1 / C2^(1 + (1 − T/C3)^C4) with T in K: Rackett's equation as Perry's Table 2-32
// and the DIPPR collection (equation 105) have it. C3 is the critical temperature.
type LiquidDensity struct {
	C1     float64  `yaml:"C1"`
	C2     float64  `yaml:"C2"`
	C3     float64  `yaml:"C3"`
	C4     float64  `yaml:"C4"`
	Form   string   `yaml:"form"`
	From   string   `yaml:"from"`
	To     string   `yaml:"to"`
	Source []string `yaml:"source"`
	Note   string   `yaml:"note"`
}

// Hazards lists GHS H- and EUH-codes.
type Hazards struct {
	Codes  []string `yaml:"codes"`
	Source []string `yaml:"source"`
	Note   string   `yaml:"note"`
}

// Attack is one thing that destroys the substance.
type Attack struct {
	By     string   `yaml:"by"`
	Speed  string   `yaml:"speed"` // violent | fast | moderate | slow | very slow
	Gives  string   `yaml:"gives"`
	Moles  float64  `yaml:"moles"` // mol of attacker per mol; 0 when not stated
	At     string   `yaml:"at"`
	Source []string `yaml:"source"`
	Note   string   `yaml:"note"`
}

// Active says how many equivalents of what the substance can deliver per mol.
type Active struct {
	As          string   `yaml:"as"`
	Equivalents float64  `yaml:"equivalents"`
	Source      []string `yaml:"source"`
}

// Sites counts, per mol, what would consume a reagent.
type Sites struct {
	Protic            float64  `yaml:"protic"`
	ProticKind        string   `yaml:"protic kind"`
	Electrophilic     float64  `yaml:"electrophilic"`
	ElectrophilicKind string   `yaml:"electrophilic kind"`
	Source            []string `yaml:"source"`
}

// Gas is a gas given off, in mol per mol of substance.
type Gas struct {
	Gas   string  `yaml:"gas"`
	Moles float64 `yaml:"moles"`
}

// Hydrolysis is what a mol of the substance does with liquid water.
type Hydrolysis struct {
	Water  float64  `yaml:"water"`
	Gas    string   `yaml:"gas"`
	Moles  float64  `yaml:"moles"`
	Gases  []Gas    `yaml:"gases"`
	Heat   *float64 `yaml:"heat"` // kJ/mol, negative when given off
	Source []string `yaml:"source"`
	Note   string   `yaml:"note"`
}

// Accepted is a lesser barrier that the trade accepts, and when.
type Accepted struct {
	Barrier string   `yaml:"barrier"`
	When    string   `yaml:"when"`
	Source  []string `yaml:"source"`
}

// Exclusion says how far air must be kept out.
type Exclusion struct {
	Need        string     `yaml:"need"` // none | drying tube | inert gas | evacuate and refill | glovebox
	Because     string     `yaml:"because"`
	NotUnder    []string   `yaml:"not under"`
	OxygenLimit *Value     `yaml:"oxygen limit"`
	Accepted    []Accepted `yaml:"accepted"`
	Source      []string   `yaml:"source"`
}

// HalfLife is how long a reagent lasts in a solvent.
type HalfLife struct {
	In       string   `yaml:"in"`
	At       string   `yaml:"at"`
	HalfLife string   `yaml:"half-life"`
	Source   []string `yaml:"source"`
	Note     string   `yaml:"note"`
}

// Water is how much water the liquid takes up, and the other direction.
type Water struct {
	Miscible  bool     `yaml:"miscible"`
	Saturated *float64 `yaml:"saturated"`
	Unit      string   `yaml:"unit"`
	At        string   `yaml:"at"`
	InWater   *Value   `yaml:"in water"`
	Source    []string `yaml:"source"`
	Note      string   `yaml:"note"`
}

// Agent is a drying agent, or a thing to keep away, with the reason.
type Agent struct {
	Agent   string   `yaml:"agent"`
	What    string   `yaml:"what"`
	Because string   `yaml:"because"`
	Note    string   `yaml:"note"`
	Source  []string `yaml:"source"`
}

// Waste says what the substance makes of a stream that holds it.
type Waste struct {
	Groups        []string `yaml:"groups"` // EPA-600/2-80-076 group names
	Halogenated   bool     `yaml:"halogenated"`
	ToxicMetal    string   `yaml:"toxic metal"`
	Oxidiser      bool     `yaml:"oxidiser"`
	Acid          bool     `yaml:"acid"`
	Base          bool     `yaml:"base"`
	Cyanide       bool     `yaml:"cyanide"`
	Sulfide       bool     `yaml:"sulfide"`
	Azide         bool     `yaml:"azide"`
	WaterReactive bool     `yaml:"water-reactive"`
	Pyrophoric    bool     `yaml:"pyrophoric"`
	Mercury       bool     `yaml:"mercury"`
	GasFormer     string   `yaml:"gas former"`
	Note          string   `yaml:"note"`
	// Route is how the leftovers of it are made fit for a container that does
	// not take them as they are.
	Route  *Route   `yaml:"route"`
	Source []string `yaml:"source"`
}

// Route says what is done to leftovers and where they go then.
type Route struct {
	How    string   `yaml:"how"`
	Into   string   `yaml:"into"` // a container of the default site; empty for a bottle of its own or none
	Source []string `yaml:"source"`
}

// Activation is how a desiccant is made ready.
type Activation struct {
	At     string   `yaml:"at"`
	For    string   `yaml:"for"`
	Vacuum string   `yaml:"vacuum"`
	Source []string `yaml:"source"`
	Note   string   `yaml:"note"`
}

// Desiccant is what a drying agent can take up.
type Desiccant struct {
	Kind     string      `yaml:"kind"`
	Capacity *float64    `yaml:"capacity"`
	Unit     string      `yaml:"unit"`
	Activate *Activation `yaml:"activate"`
	Source   []string    `yaml:"source"`
	Note     string      `yaml:"note"`
}

// Quench is how the trade destroys what is left of a reagent.
type Quench struct {
	First      []string `yaml:"first"`       // what may meet it first, best choice first
	Then       []string `yaml:"then"`        // what follows once the first has done its work
	NeverFirst []string `yaml:"never first"` // what must not meet it first
	// Unless says when even that is accepted; nil means never.
	Unless *QuenchLimit `yaml:"unless"`
	Source []string     `yaml:"source"`
	Note   string       `yaml:"note"`
}

// QuenchLimit bounds a solution that may be quenched directly: no stronger
// than Below and no warmer than At.
type QuenchLimit struct {
	Below string `yaml:"below"` // 1 M
	At    string `yaml:"at"`    // 0 °C
}

// Sold is a solution, dispersion or adduct as bought.
type Sold struct {
	As      string   `yaml:"as"`
	Density *float64 `yaml:"density"` // g/mL
	Codes   []string `yaml:"codes"`
	Source  []string `yaml:"source"`
	Note    string   `yaml:"note"`
}

// Substance is one entry of the compendium. Fields that the entry leaves
// empty are filled from its family by Compendium.
type Substance struct {
	Name               string
	Names              []string         `yaml:"names"`
	CAS                string           `yaml:"cas"`
	Formula            string           `yaml:"formula"`
	Structure          string           `yaml:"structure"`
	Identity           []string         `yaml:"identity"`
	Family             string           `yaml:"family"`
	Phase              string           `yaml:"phase"`
	Density            *Value           `yaml:"density"`
	LiquidDensity      *LiquidDensity   `yaml:"liquid density"`
	MeltingPoint       *Value           `yaml:"melting point"`
	BoilingPoint       *Value           `yaml:"boiling point"`
	FlashPoint         *Value           `yaml:"flash point"`
	Autoignition       *Value           `yaml:"autoignition"`
	FlammableLimits    *Value           `yaml:"flammable limits"` // of the vapour in air, % by volume
	ListedPressure     *Value           `yaml:"vapour pressure"`  // one listed vapour pressure
	Antoine            *Antoine         `yaml:"antoine"`
	HeatCapacity       *Value           `yaml:"heat capacity"`
	HeatOfVaporisation *Value           `yaml:"heat of vaporisation"`
	Hazards            *Hazards         `yaml:"hazards"`
	Pyrophoric         *Word            `yaml:"pyrophoric"`
	AttackedBy         []Attack         `yaml:"attacked by"`
	Active             *Active          `yaml:"active"`
	Sites              *Sites           `yaml:"sites"`
	Hydrolysis         *Hydrolysis      `yaml:"hydrolysis"`
	Exclusion          *Exclusion       `yaml:"exclusion"`
	Stability          []HalfLife       `yaml:"stability"`
	PeroxideClass      *Word            `yaml:"peroxide class"`
	Water              *Water           `yaml:"water"`
	Grades             map[string]Value `yaml:"grades"`
	DryWith            []Agent          `yaml:"dry with"`
	NeverDryWith       []Agent          `yaml:"never dry with"`
	KeepFrom           []Agent          `yaml:"keep from"`
	Waste              *Waste           `yaml:"waste"`
	Desiccant          *Desiccant       `yaml:"desiccant"`
	Solutions          []Sold           `yaml:"solutions"`
	// Assay is the share of the substance in what its name alone buys, % by
	// mass: the metal of a supported catalyst, the borane complex with its
	// free sulfide. Nil for what is sold as good as pure.
	Assay    *Value   `yaml:"assay"`
	Cautions []string `yaml:"cautions"`
	Note     string   `yaml:"note"`
	// Vigour is how hard it reacts with water, 0 (not at all) to 5 (fire or
	// explosion), by the scale in rules/reference/families.yaml.
	Vigour *int `yaml:"vigour"`
	// Live is true when it must be destroyed before a vessel that holds it is
	// opened, worked up, evaporated or thrown away.
	Live *bool `yaml:"live"`
	// DestroyBefore names the acts it must not live to see: opening, work-up,
	// evaporation, waste. A live substance has all four.
	DestroyBefore []string `yaml:"destroy before"`
	Quench        *Quench  `yaml:"quench"`

	// Sources resolves the source keys used in this entry.
	Sources map[string]Source `yaml:"-"`
	// JudgedAs names the family when the entry was derived from it, as in
	// "a Grignard reagent"; empty for an entry of the compendium.
	JudgedAs string `yaml:"-"`
	// Declared is true for a substance declared in the procedure file.
	Declared bool `yaml:"-"`
}

// TestForPeroxides reports a liquid that is to be tested for peroxides before it
// is dried over a metal or a hydride, distilled or evaporated (National Research
// Council, Prudent Practices in the Laboratory, 1995, Table 3.9).
func (s *Substance) TestForPeroxides() bool {
	return s.Phase == "liquid" && s.PeroxideClass != nil
}
