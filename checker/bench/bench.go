// Package bench plays a procedure on a simulated bench: named vessels with
// what is in them, how warm they are, what air they hold and what in them is
// still reactive, step by step. It emits events with figures for the rules to
// judge, and a trace that can be printed. It judges nothing itself.
package bench

import (
	"slices"
	"strings"
	"sync"
	"time"

	"ketyl/checker/document"
	"ketyl/checker/finding"
	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
	"ketyl/checker/substance"
	"ketyl/rules"
)

// VesselState is a vessel after a step, as `ketyl bench` prints it.
type VesselState struct {
	TemperatureC float64            `json:"temperature_c"`
	VolumeML     *float64           `json:"volume_ml"` // at 20 °C
	HereML       *float64           `json:"here_ml"`   // at TemperatureC, where that differs by 2 % and more
	Fill         *float64           `json:"fill"`
	Connection   string             `json:"connection"`
	OxygenPPM    float64            `json:"oxygen_ppm"`
	WaterMmol    float64            `json:"water_mmol"`
	LiveMmol     map[string]float64 `json:"live_mmol"`
	Contents     map[string]float64 `json:"contents_mmol"`
}

// StepState is the bench after a step.
type StepState struct {
	Step    int                    `json:"step"`
	Line    int                    `json:"line"`
	Text    string                 `json:"text"`
	Vessels map[string]VesselState `json:"vessels"`
	Events  []Event                `json:"-"`
}

// Figures are the whole procedure's figures for the report.
type Figures struct {
	Limiting         string
	LimitingMmol     Num
	TheoreticalG     Num
	YieldPercent     Num
	LargestRiseK     Num
	GasL             Num
	WaterMmol        Num
	WaterLossPercent Num
	HandsOnMin       Num
	TotalMin         Num
	CriticalPathMin  Num
	QuenchStartMin   Num
	LatestQuenchMin  Num
	LeadDays         Num
	Wastes           []string
}

// Trace is what the bench saw.
type Trace struct {
	Steps    []StepState
	Events   []Event
	Findings []finding.Finding // names and places that could not be made out
	Figures  Figures

	streams  []*stream // what went into containers
	students float64
}

// Bench is the state of one run.
type Bench struct {
	p       *procedure.Procedure
	c       *substance.Compendium
	known   *known
	wording strings.Builder // what join has put together
	site    *substance.Site
	day     time.Time // of the run; zero when nobody says
	ref     *reference
	heats   map[string]Num

	bySub       map[string]*species
	copies      []species // of prototypes, the slab that is being filled
	notKnown    map[string]bool
	byName      map[string]*species
	declared    map[string]*substance.Substance
	saidUnknown map[string]bool
	tested      map[*material]bool

	materials []*material
	pieces    []*piece
	vessels   []*vessel
	reactions []*reaction
	streams   []*stream
	equations map[equationOf]*equation
	variants  []*species
	wrong     []string    // equations that make something of nothing: none, or a test fails
	leftOut   []*reaction // declared reactions that name only part of their matter
	// those of them that lack more than water, oxygen or hydrogen, in words
	outOfNothing []string

	names map[string]*naming // what the names of the text come to
	desk  *desk              // from where hazards, tasks and the maps of names are

	step *procedure.Step
	head struct {
		of   *procedure.Step // whose head the text is
		text string
	}
	trace                    Trace
	peak                     map[*vessel]float64
	missing                  []string
	hazards                  []hazard
	firstUse                 map[string]int
	activated                map[*species]Num
	trapIsolated, trapVented bool
	wetness                  map[*vessel]wetness
	pumpOn, trapFilled       bool // a pump draws on the line; the coolant of the list is in its trap
	trapC                    Num
	willHeat                 map[*vessel]bool
	alias                    map[string]*vessel
	workedUp                 map[*vessel]bool
	sensitiveBefore          map[*vessel]bool
	worked                   []*vessel             // what a finishing step works on
	solutionOf               map[*material]*vessel // where all of a material was dissolved
	arms                     []*arm
	stood                    int                 // vessels that stood on the bench before the step
	cameIn                   map[*vessel]portion // the most sensitive live species that went in during the step
	unsure                   map[*species]string
	lastQuench               *vessel
	lastQuenchStep           int
	mmolBefore               map[*species]float64
	lastExposure             map[string]bool
	last                     *vessel // what the step before acted on
	productMade              *species
	condensers               []*procedure.Step // steps that fit one
	nextWait                 []int             // for each step the index of the next that waits

	handsOn, waiting                             float64
	stillML                                      float64 // the largest ether distilled that forms peroxides
	unattendedSaid                               string
	unattended                                   string
	unattendedMin                                float64
	attended                                     bool
	liveUsed                                     []string
	quenched                                     bool
	stopPoint                                    bool
	vacuumUsed, cryogenUsed, inertUsed           bool
	lead                                         float64
	leadWhat                                     string
	leadPlanned                                  bool
	largestRise, gasTotal, waterTotal, worstLoss float64
	trapped                                      map[*piece][]portion // what a named cold trap caught, mmol assumed
	own                                          map[string]bool      // containers that a stream of the text has to itself, by their label
	condensed                                    map[*piece]*vessel   // solvent that was pumped into a named cold trap
	openTransfers                                []*openTransfer
	tasks                                        []task
	leadItems                                    []lead
	aired                                        float64         // g of water that dried off into the air
	declaredKnown                                []string        // declared, and in the compendium with the same facts
	thought                                      vessel          // of one lot alone
	hots                                         []HotFacts      // those that events have, the slab that is being filled
	shots                                        []VesselFacts   // the pictures that events have, the slab that is being filled
	stepFacts                                    []StepFacts     // likewise
	anyRange                                     bool            // some volume of the table is written as a range
	reachMin                                     map[int]float64 // step → time its change of temperature takes
	pairs                                        map[pairOf][]substance.Conflict
	page                                         []pageCaution        // the cautions of the page, once asked for
	madeSeen                                     map[*species]float64 // mmol of the reagents made on the bench whose hazards are noted
	wetLot                                       bool                 // what comes in brings water
	containers                                   map[string]*substance.Container
	evidence                                     map[*vessel]bool
	branch                                       map[*vessel]bool
}

type openTransfer struct {
	ev   *TransferFacts
	film []portion // what stays in the tool, until it is rinsed out
	tool string
	step int
}

// Run plays a procedure for its events. The compendium and site are only read.
func Run(p *procedure.Procedure, c *substance.Compendium, site *substance.Site) *Trace {
	return run(p, c, site, false)
}

// Record plays a procedure as Run does and keeps the bench as it stands after
// each step, which a journal shows and rules do not read.
func Record(p *procedure.Procedure, c *substance.Compendium, site *substance.Site) *Trace {
	return run(p, c, site, true)
}

func run(p *procedure.Procedure, c *substance.Compendium, site *substance.Site, record bool) *Trace {
	b := prepare(p, c, site)
	if record {
		b.trace.Steps = make([]StepState, 0, len(p.Steps))
	}
	for _, s := range p.Steps {
		b.timed(s)
	}
	b.finish()
	byStep(b.trace.Events, len(p.Steps))
	t := b.trace // of its own: the bench is not kept for it
	b.clear()
	return &t
}

// byStep puts events in the order of their steps, 0 (the head) to n, and keeps
// the order within a step.
func byStep(events []Event, n int) {
	next := make([]int, n+2+len(events))
	next, to := next[:n+2], next[n+2:] // to: where an event goes
	for i := range events {
		next[events[i].Step+1]++
	}
	for i := 1; i < len(next); i++ {
		next[i] += next[i-1]
	}
	for i := range events {
		to[i] = next[events[i].Step]
		next[events[i].Step]++
	}
	for i := range to {
		for to[i] != i {
			k := to[i]
			events[i], events[k] = events[k], events[i]
			to[i], to[k] = to[k], k
		}
	}
}

// prepare lays out the apparatus and resolves the materials.
func prepare(p *procedure.Procedure, c *substance.Compendium, site *substance.Site) *Bench {
	b := &Bench{p: p, c: c, site: site, known: knownOf(c), day: p.On, ref: loadReference(),
		notKnown: map[string]bool{}, declared: map[string]*substance.Substance{},
		saidUnknown: map[string]bool{}, tested: map[*material]bool{}, peak: map[*vessel]float64{}, firstUse: map[string]int{},
		equations: map[equationOf]*equation{}, pairs: map[pairOf][]substance.Conflict{}, containers: map[string]*substance.Container{}, reachMin: map[int]float64{}, evidence: map[*vessel]bool{}, branch: map[*vessel]bool{}, activated: map[*species]Num{}, lastExposure: map[string]bool{}, willHeat: map[*vessel]bool{}, alias: map[string]*vessel{}, workedUp: map[*vessel]bool{}, mmolBefore: map[*species]float64{}, unsure: map[*species]string{}, sensitiveBefore: map[*vessel]bool{}, cameIn: map[*vessel]portion{}, trapC: Missing("the temperature of the trap")}
	b.heats = b.ref.heats
	b.trace.Events = make([]Event, 0, 3*len(p.Steps)+40)
	b.set()
	for _, d := range p.Substances {
		b.declare(d)
	}
	b.layOut()
	b.findArms()
	for _, row := range p.Materials {
		b.materials = append(b.materials, b.resolve(row))
	}
	b.anyRange = slices.ContainsFunc(b.materials, func(m *material) bool { return m.amountEnds(false).ranged() })
	b.resolveReactions()
	b.equivalents()
	b.foresee()
	return b
}

func (b *Bench) emit(e Event) {
	b.markWhole(e.Facts)
	if e.Step == 0 && b.step != nil && e.Kind != "procedure" && e.Kind != "material" && e.Kind != "apparatus" {
		e.Step = b.step.N
	}
	if e.Span == (finding.Span{}) && b.step != nil {
		e.Span = b.step.Head
	}
	if e.Subject == "" && b.step != nil {
		if b.head.of != b.step {
			b.head.of, b.head.text = b.step, headOf(b.step)
		}
		e.Subject = b.head.text
	}
	b.trace.Events = append(b.trace.Events, e)
}

// headOf is a step in a few words: "add n-butyllithium".
func headOf(s *procedure.Step) string {
	if len(s.Object) == 1 {
		return s.Verb.Name + " " + s.Object[0].S
	}
	names := make([]string, 0, len(s.Object))
	for _, o := range s.Object {
		names = append(names, o.S)
	}
	return s.Verb.Name + " " + strings.Join(names, ", ")
}

func (b *Bench) problem(rule string, sp finding.Span, msg, fix string) {
	n := 0
	if b.step != nil {
		n = b.step.N
	}
	b.trace.Findings = append(b.trace.Findings, finding.Finding{Rule: rule, Level: finding.Hold, Outcome: finding.Unread, Step: n, Span: sp, Message: msg, Fix: fix})
}

// reference is the data the bench needs beyond substances.
type reference struct {
	heats     map[string]Num
	formulas  map[string]atoms   // by-products that texts name and the compendium does not hold
	complexes map[string]float64 // kJ per mol of Lewis acid, by the family of the donor
	// what the ether or diamine gives with an alkyl of lithium, kJ/mol, by its name
	lithiumDonors map[string]float64
	lithiumAlkyls []string
	topics        map[string]topic
	phrases       *phrases // the words of the topics
}

type topic struct {
	Grave  bool     `yaml:"grave"`
	Codes  []string `yaml:"codes"`
	Words  []string `yaml:"words"`
	Ready  string   `yaml:"ready"`
	Source []string `yaml:"source"`
}

var loadReference = sync.OnceValue(func() *reference {
	r := &reference{heats: map[string]Num{}, topics: map[string]topic{}}
	var heats struct {
		Sources   map[string]substance.Source `yaml:"sources"`
		Reactions map[string]struct {
			Heat   float64  `yaml:"heat"`
			Note   string   `yaml:"note"`
			Source []string `yaml:"source"`
		} `yaml:"reactions"`
		Complexation struct {
			Heat   map[string]float64 `yaml:"heat"`
			Source []string           `yaml:"source"`
		} `yaml:"complexation"`
		Lithium struct {
			Heat   map[string]float64 `yaml:"heat"`
			Alkyls []string           `yaml:"alkyls"`
			Source []string           `yaml:"source"`
		} `yaml:"complexation of lithium"`
		Formulas struct {
			Of     map[string]string `yaml:"of"`
			Source []string          `yaml:"source"`
		} `yaml:"formulas"`
	}
	mustRead("reference/reactions.yaml", &heats)
	for k, v := range heats.Reactions {
		r.heats[k] = Assume(v.Heat, "heat of the class “"+k+"”")
	}
	r.complexes = heats.Complexation.Heat
	r.lithiumDonors, r.lithiumAlkyls = heats.Lithium.Heat, heats.Lithium.Alkyls
	r.formulas = map[string]atoms{}
	for k, f := range heats.Formulas.Of {
		r.formulas[k] = atomsOf(f)
	}
	var topics struct {
		Sources map[string]substance.Source `yaml:"sources"`
		Topics  map[string]topic            `yaml:"topics"`
	}
	mustRead("reference/cautions.yaml", &topics)
	r.topics, r.phrases = topics.Topics, newPhrases(topics.Topics)
	return r
})

// composition is that of a by-product that a text names: of the reference table
// or of a common salt by its ions; nil when neither knows it.
func (r *reference) composition(name string) atoms {
	if a, ok := r.formulas[strings.ToLower(name)]; ok {
		return a
	}
	return saltAtoms(name)
}

// mustRead decodes an embedded reference file; a broken one is a fault of the
// build, caught by any test.
func mustRead(name string, dst any) {
	raw, err := rules.FS.ReadFile(name)
	if err != nil {
		panic(err)
	}
	f, bad := document.Read(name, raw)
	if len(bad) == 0 {
		bad = document.Decode(f, f.Root, dst)
	}
	if len(bad) > 0 {
		line, col := f.Source.Position(bad[0].Span.Start)
		panic(name + ":" + quantity.FormatNumber(float64(line)) + ":" + quantity.FormatNumber(float64(col)) + ": " + bad[0].Message)
	}
}

func (b *Bench) resolveReactions() {
	for _, row := range b.inTurn(b.p.Reactions) {
		r := &reaction{in: row.In.S, conversion: Missing("the conversion"), heat: Num{}, gas: row.Gas.S, done: map[*vessel]float64{}, foretold: map[*vessel]float64{}}
		if row.Conversion != nil && row.Conversion.Known() {
			r.conversion = Got(row.Conversion.Value())
		}
		if row.HeatKJ != nil {
			r.heat = Got(-*row.HeatKJ)
		}
		var mass float64
		for _, c := range row.Consumes {
			sp := b.named(c.Name)
			r.consumes = append(r.consumes, share{sp, max(c.Moles, 1e-9)})
			mass += c.Moles * sp.mw
		}
		for _, g := range row.Gives {
			sp := b.lookup(g.Name.S)
			if sp == nil {
				fam := "product"
				of := b.ref.composition(g.Name.S)
				if of != nil && of.of(carbonEl) == 0 {
					fam = "salt"
				}
				if b.p.Product != nil && sameName(b.p.Product.Name.S, g.Name.S) && b.p.Product.Formula.Is() {
					of, fam = atomsOf(b.p.Product.Formula.S), "product"
				}
				mw := mass / max(g.Moles, 1)
				if of != nil {
					mw = of.mass()
				}
				sp = b.madeSpecies(g.Name.S, mw, fam)
				sp.own().atoms = of
			} else if sp.atoms == nil && b.p.Product != nil && sameName(b.p.Product.Name.S, g.Name.S) && b.p.Product.Formula.Is() {
				sp.own().atoms = atomsOf(b.p.Product.Formula.S)
			}
			r.gives = append(r.gives, share{sp, max(g.Moles, 1e-9)})
		}
		b.reactions = append(b.reactions, r)
	}
}

// named resolves a name that stands in a reaction: a material row, then the
// compendium; an unknown reactant is reported.
// inTurn puts declared reactions in the order in which one makes what the next
// consumes, whatever the order of the list.
func (b *Bench) inTurn(rows []procedure.Reaction) []procedure.Reaction {
	made := map[string]bool{}
	known := func(name string) bool {
		return made[strings.ToLower(name)] || b.material(name) != nil || b.lookup(name) != nil
	}
	var out []procedure.Reaction
	rest := slices.Clone(rows)
	for len(rest) > 0 {
		next := slices.IndexFunc(rest, func(r procedure.Reaction) bool {
			return !slices.ContainsFunc(r.Consumes, func(c procedure.Portion) bool { return !known(c.Name.S) })
		})
		if next < 0 {
			next = 0 // consumes what nothing makes: said where it is resolved
		}
		for _, g := range rest[next].Gives {
			made[strings.ToLower(g.Name.S)] = true
		}
		out = append(out, rest[next])
		rest = slices.Delete(rest, next, next+1)
	}
	return out
}

func (b *Bench) named(t procedure.Text) *species {
	for _, m := range b.materials {
		if sameName(m.name, t.S) {
			return m.sp
		}
	}
	sp := b.lookup(t.S)
	if sp == nil {
		for _, r := range b.reactions {
			for _, g := range r.gives {
				if sameName(g.sp.name, t.S) {
					return g.sp
				}
			}
		}
		b.unknownName(t.S, t.Span)
		return b.unknownSpecies(t.S)
	}
	return sp
}

func (b *Bench) material(name string) *material {
	first := firstOf(name)
	for _, m := range b.materials {
		if beginsAs(m.name, first) && sameName(m.name, name) {
			return m
		}
	}
	// another usual name of a listed substance
	if sp := b.lookup(name); sp != nil {
		for _, m := range b.materials {
			if m.sp == sp {
				return m
			}
		}
	}
	if whole := wholeOf(name); whole != name {
		return b.material(whole)
	}
	return nil
}

func (b *Bench) vesselNamed(name string) *vessel {
	first := firstOf(name)
	for _, v := range b.vessels {
		if beginsAs(v.name, first) && sameName(v.name, name) {
			return v
		}
	}
	return nil
}

func (b *Bench) pieceNamed(name string) *piece {
	if name == "" || len(b.pieces) == 0 {
		return nil
	}
	n := b.naming(name)
	if n.piece == nil && n.among != len(b.pieces) {
		first := firstOf(name)
		for _, p := range b.pieces[n.among:] {
			if beginsAs(p.name, first) && sameName(p.name, name) {
				n.piece = p
				break
			}
		}
		n.among = len(b.pieces)
	}
	return n.piece
}

// naming is what a name of the text comes to wherever it is read.
type naming struct {
	piece *piece // the first piece of that name
	among int    // pieces that were looked through for it: more may come
	read  bool   // what follows is read from the name
	bare  string // in lower case, without its article
	whole string // what it is a part of, or itself
	layer string // the kind of layer or cake that it calls for
	vague bool   // it stands for whatever is at hand
}

// naming is what has been found of a name so far. The names of a text come up
// again and again.
func (b *Bench) naming(name string) *naming {
	n, ok := b.names[name]
	if !ok {
		n = new(naming)
		b.names[name] = n
	}
	return n
}

// reading is a name with what is read from it alone.
func (b *Bench) reading(name string) *naming {
	n := b.naming(name)
	if !n.read {
		n.bare = strings.ToLower(strings.TrimPrefix(name, "the "))
		n.whole, n.layer, n.vague, n.read = wholeOf(name), layerKind(n.bare), slices.Contains(vagueNames, n.bare), true
	}
	return n
}

// markWhole tells the facts whether the whole text was read.
func (b *Bench) markWhole(facts any) {
	w := b.p.Whole()
	switch f := facts.(type) {
	case *HazardFacts:
		f.Whole = w
	case *TransferFacts:
		f.Whole = w
	case *MaterialEvent:
		f.Whole = w
	case *ExposureFacts:
		f.Whole = w
	case *WaterFacts:
		f.Whole = w
	case *AdditionFacts:
		f.Whole = w
	case *QuenchFacts:
		f.Whole = w
	case *WorkupFacts:
		f.Whole = w
	case *DiscardFacts:
		f.Whole = w
	case *HeatingFacts:
		f.Whole = w
	case *ReleaseFacts:
		f.Whole = w
	case *DryingFacts:
		f.Whole = w
	case *StepFacts:
		f.Whole = w
	}
}
