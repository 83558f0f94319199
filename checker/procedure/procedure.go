// Package procedure holds the typed procedure: what a chemist wrote, decoded
// from the checked tree, every word with its place. It knows the format and
// its quantities; it knows no chemistry.
package procedure

import (
	"time"

	"ketyl/checker/finding"
	"ketyl/checker/quantity"
)

// Text is a word or phrase and where it stands.
type Text struct {
	S    string
	Span finding.Span
}

// Is reports whether anything was written.
func (t Text) Is() bool { return t.S != "" }

// Amount is one amount, perhaps expressed several times over: by mass, volume
// and moles. Nothing that was written is dropped.
type Amount struct {
	All  []quantity.Quantity
	Raw  string
	Span finding.Span
}

// Is reports whether an amount was written.
func (a *Amount) Is() bool { return a != nil && len(a.All) > 0 }

// Of gives the expression in one of the dimensions, if there is one.
func (a *Amount) Of(dims ...quantity.Dimension) (quantity.Quantity, bool) {
	if a != nil {
		for _, d := range dims {
			for _, q := range a.All {
				if q.Dim == d {
					return q, true
				}
			}
		}
	}
	return quantity.Quantity{}, false
}

// Figure is one quantity and where it stands.
type Figure struct {
	quantity.Quantity
	Span finding.Span
}

// Procedure is one written procedure.
type Procedure struct {
	Source *finding.Source
	Span   finding.Span // of the procedure's name

	Name    Text
	Title   Text
	Setting string // teaching | research
	// On is the day of the run, to which ages on the shelf are counted; zero
	// when none is written, and then whoever judges sets it.
	On         time.Time
	Section    Section
	Citation   Text   // where a published text comes from
	Coverage   Text   // how much of a published text was read: whole | part, or words
	Aims       []Text // what the class is to learn: justifies a technique
	Refers     []Text // sections of the manual this text relies on
	Materials  []*Material
	Apparatus  []*Apparatus
	Reactions  []Reaction
	Product    *Product
	Cautions   []Caution
	Protection *Protection
	Emergency  []Branch
	Approval   *Approval
	Substances []*Declared
	Accepted   []Acceptance // those at a step too, with its number
	Steps      []*Step
}

// Whole reports whether the text is complete: a published sheet that was read
// only in part says so under coverage, and silence there is no fault.
func (p *Procedure) Whole() bool { return p.Coverage.S == "" || p.Coverage.S == "whole" }

// Section is the class that runs the procedure.
type Section struct {
	Students   *Figure
	Alone      *bool
	Time       *Figure
	Assistants *Figure
	Stations   map[string]Figure // shared station → how many
	Span       finding.Span
}

// Material is one row of the materials table.
type Material struct {
	Name      Text
	Substance Text // what it is, when the row's name is not a substance
	Amount    *Amount
	Solution  *quantity.Solution
	SolSpan   finding.Span
	Purity    *Figure
	Water     *Figure // stated water content, fraction w/w
	Grade     Text    // anhydrous | reagent | saturated | wet | …
	Form      Text    // turnings, powder, pellets, ribbon …
	Origin    Text    // how it came to be dry: "from sodium/benzophenone just before use"
	Role      Text
	Opened    Text // day or age
	Received  Text // day or age
	Tested    Text // day or age of the last peroxide test
	Inhibited *bool
	Peroxides Text // result and date of the last test
	Titrated  Text
	KeptUnder Text
	Portioned *bool // issued pre-weighed, one per student
	Spare     *Figure
	Density   *Figure
	Part      Text
	Note      Text
	Span      finding.Span
}

// Apparatus is one piece of the set-up.
type Apparatus struct {
	Name      Text
	Kind      Text // its name, where no kind is written
	Size      *Figure
	Necks     *Figure
	On        Text // the piece it stands on
	Equalised *bool
	Stoppered *bool
	Guard     Text // what its own drying tube holds
	Gas       Text
	Purity    *Figure
	Pressure  *Figure // supply pressure above atmospheric
	Vacuum    *Figure
	Relief    Text // what limits the pressure: bubbler, relief valve
	Fill      Text // liquid of a bubbler or bath, packing of a tube
	Material  Text // glass, polypropylene …
	Tip       Text // luer-lock, slip
	Gauge     *Figure
	Wall      Text // thick | thin
	Oxygen    *Figure
	Water     *Figure
	Count     *Figure
	Shared    *bool
	Uses      *Figure
	Dry       *bool
	Rated     *Figure // pressure rating
	Reads     Text    // what a thermometer dips into: mixture | bath
	Packing   Text
	Trap      Text
	Note      Text
	Span      finding.Span
}

// Reaction is what is meant to happen.
type Reaction struct {
	Consumes   []Portion
	Gives      []Portion
	In         Text
	Conversion *Figure
	Heat       *Figure  // stated as text; kJ/mol, negative when given off
	HeatKJ     *float64 // of a range, the end that gives off more
	Gas        Text
	Part       Text
	Span       finding.Span
}

// Portion is a stoichiometric share.
type Portion struct {
	Name  Text
	Moles float64
}

// Product is what the procedure is for.
type Product struct {
	Name     Text
	Formula  Text
	From     Text
	Expected *Amount
	Yield    *Figure // as a share of theory
	Melting  *Figure
	Boiling  *Figure
	// BoilingAt is the pressure of the boiling point; nil at atmospheric.
	BoilingAt *Figure
	Note      Text
	Span      finding.Span
}

// Caution is one warning on the page.
type Caution struct {
	About Text
	Say   Text
	Span  finding.Span
}

// Protection is what is worn and at hand.
type Protection struct {
	Coat         Text
	Gloves       Text
	Eyes         Text
	Shield       Text
	Extinguisher Text
	Hood         *bool
	Span         finding.Span
}

// Branch is an emergency instruction.
type Branch struct {
	If, Do Text
}

// Approval is the record that the text was reviewed.
type Approval struct {
	By, On, Version, Training, Scale Text
	Span                             finding.Span
}

// Declared is a substance declared in the file itself.
type Declared struct {
	Name       Text
	Names      []string
	Formula    Text
	Structure  Text
	CAS        Text
	Family     Text
	Phase      Text
	Density    *Figure
	Boiling    *Figure
	BoilingAt  *Figure // pressure of the boiling point; nil at atmospheric
	Hazards    []string
	AttackedBy []Text
	Exclusion  Text
	Waste      []string
	Source     Text
	Span       finding.Span
}

// Acceptance is a deviation that a role takes responsibility for.
type Acceptance struct {
	Rule    Text
	Step    int // 0 for the whole text
	Because Text
	By      Text
	Until   Text
	Span    finding.Span
}

// Step is one verb with its object and modifiers.
type Step struct {
	N      int // 1-based
	Verb   *Verb
	Object []Text
	Span   finding.Span // the whole step
	Head   finding.Span // verb and object, for the marker under a line

	With, To, From, Into, In, On, Under, Through, Against, Then []Text

	At, Temp, KeepBelow, KeepAbove, ActivatedAt    *Figure
	ToTemp                                         *Figure // `to` when it is a temperature
	ToPH                                           *Figure // `to` when it is a pH
	For, Over, Within, HoldFor, Time, ActivatedFor *Figure
	Vacuum, Pressure, Flow, Load, Cycles           *Figure
	Portions, Size, Repeat, Replicates, Leave      *Figure
	Fraction, Limit                                *Figure
	Amount                                         *Amount
	RinseWith                                      []Text
	RinseAmount                                    *Amount

	Bath, By, Rate, Outlet, Coolant, Condenser, Until, If, Otherwise Text
	Note, Part, DoneBy, Text, Expect, Keep, Layer, CoolIn, Tip, Trap Text
	Swap, Protection, AwayFrom, StopPoint                            Text
	RateFigure                                                       *Figure
	Signs                                                            []Text
	Gives                                                            map[string]Text // "" for a single product
	GivesOrder                                                       []string

	Before, Optional, Attended, Vented, Shielded, Hot, Sealed *bool

	Cautions []Caution
	Accepted *Acceptance // the first at this step; Procedure.Accepted has all

	// Spans of every modifier by its key, for markers.
	At_ map[string]finding.Span
}

// Where gives the place of a modifier, or of the step's head.
func (s *Step) Where(key string) finding.Span {
	if sp, ok := s.At_[key]; ok {
		return sp
	}
	return s.Head
}
