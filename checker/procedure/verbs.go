package procedure

// Group says what kind of work a verb is.
type Group string

// Groups of verbs, in the order in which a procedure usually meets them.
const (
	Prepare    Group = "prepare"
	Atmosphere Group = "atmosphere"
	Transfer   Group = "transfer"
	Condition  Group = "conditions"
	Watch      Group = "watch"
	Finish     Group = "finish"
	ClearUp    Group = "clear up"
)

// Verb is one thing a step can do.
type Verb struct {
	Name  string
	Group Group
	// Object says what stands after the verb.
	Object string
	Doc    string
	// Needs lists modifiers without which the step cannot be played.
	Needs []string
	// Takes lists the modifiers that mean something to this verb, beyond
	// those that every step takes.
	Takes []string
}

// Verbs is every verb of the format. The schema is checked against it.
var Verbs = []Verb{
	// prepare
	{"dry", Prepare, "apparatus, a material or a layer", "Take water out of glassware (in an oven, by flame or heat gun), of a solvent or reagent (with a drying agent), or of a layer before it is concentrated.", nil,
		[]string{"in", "with", "at", "load", "vacuum", "activated at", "activated for", "cool in", "into", "gives", "by", "pressure", "under", "bath"}},
	{"assemble", Prepare, "apparatus", "Put the apparatus together.", nil, []string{"with", "on", "under", "hot"}},
	{"degas", Prepare, "a liquid", "Take dissolved air out of a liquid by freeze–pump–thaw cycles or under vacuum.", nil, []string{"cycles", "vacuum", "with", "in", "by", "bath", "under"}},
	{"sparge", Prepare, "a liquid", "Bubble inert gas through a liquid.", nil, []string{"with", "from", "flow", "in", "outlet", "rate", "through"}},
	{"distil", Prepare, "a liquid or a vessel", "Distil a solvent before use, or a product after work-up.", nil, []string{"from", "into", "with", "at", "bath", "pressure", "vacuum", "fraction", "leave", "under", "gives", "keep above", "keep below", "by", "trap"}},
	{"weigh", Prepare, "a material", "Weigh out a material.", nil, []string{"into", "to", "in", "amount", "under", "by", "from"}},
	{"titrate", Prepare, "a material", "Determine the strength of a reagent.", nil, []string{"with", "against", "amount", "replicates", "in", "by", "at"}},
	{"activate", Prepare, "a metal or a drying agent", "Make a metal or a drying agent ready: heat, crush, etch, add a crystal of iodine.", nil, []string{"with", "at", "vacuum", "in", "by"}},
	{"crush", Prepare, "a solid", "Break up, cut, press, grind or scrape a solid.", nil, []string{"in", "under", "with"}},
	{"follow", Prepare, "a material that another text makes", "Make something by a procedure that stands elsewhere.", nil, []string{"text", "from", "with", "gives", "to", "in", "into"}},
	{"test", Prepare, "a material", "Test a material before use: peroxides, water, acid.", nil, []string{"with", "expect", "limit", "in", "by"}},
	{"check", Prepare, "apparatus or a supply", "Look a thing over before relying on it: cracks, flow, a blocked tube, the temperature of a bath.", nil, []string{"expect", "in", "on", "by"}},
	{"clear", Prepare, "a place", "Take solvents, paper and stock out of the hood.", nil, []string{"from"}},
	// atmosphere
	{"guard", Atmosphere, "a vessel", "Close a vessel against moisture with a drying tube.", nil, []string{"with", "on", "by"}},
	{"blanket", Atmosphere, "a vessel", "Keep a vessel under a slow stream or slight pressure of inert gas with a way out.", nil, []string{"with", "from", "outlet", "flow", "by", "on"}},
	{"purge", Atmosphere, "a vessel", "Sweep the air out of a vessel with a flow of gas for a time.", nil, []string{"with", "from", "flow", "outlet", "by", "in", "through", "rate"}},
	{"backfill", Atmosphere, "a vessel", "Evacuate and refill with inert gas, n cycles.", nil, []string{"with", "from", "vacuum", "cycles", "outlet", "hot"}},
	{"seal", Atmosphere, "a vessel", "Close a vessel so that nothing goes in or out.", nil, []string{"with", "under"}},
	{"open", Atmosphere, "a vessel", "Open a vessel to the air, or take a fitting out of a neck.", nil, []string{"under", "to", "with", "swap"}},
	{"vent", Atmosphere, "a vessel", "Let gas out through an outlet.", nil, []string{"to", "outlet", "through", "into", "with"}},
	{"scrub", Atmosphere, "a vessel", "Lead the gas that leaves a vessel through an absorbent.", nil, []string{"with", "by", "through", "trap", "amount", "tip"}},
	{"evacuate", Atmosphere, "a vessel", "Put a vessel under vacuum and leave it there.", nil, []string{"vacuum", "from", "trap", "with", "bath"}},
	{"introduce", Atmosphere, "apparatus or a material", "Bring into the glovebox through the antechamber.", nil, []string{"into", "cycles", "vacuum", "sealed"}},
	{"withdraw", Atmosphere, "apparatus or a material", "Take out of the glovebox.", nil, []string{"from", "sealed"}},
	{"trap", Atmosphere, "a line or vessel", "Fit or cool a cold trap.", nil, []string{"with", "in", "bath", "from", "on"}},
	{"isolate", Atmosphere, "a line, trap or vessel", "Close a tap between the line and a vessel, trap or pump.", nil, []string{"from"}},
	// transfer
	{"add", Transfer, "a material or what a vessel holds", "Add a material to a vessel.", []string{"to"},
		[]string{"to", "from", "by", "amount", "over", "rate", "portions", "at", "bath", "under", "through", "in", "gives", "keep below", "keep above", "size", "hold for", "rinse with"}},
	{"charge", Transfer, "a material", "Put a material into a dry vessel or funnel before the reaction.", []string{"to"},
		[]string{"to", "from", "by", "amount", "under", "in", "gives", "rinse with", "through"}},
	{"transfer", Transfer, "what a vessel holds, or a material", "Move a liquid or solid from one vessel to another.", []string{"to"},
		[]string{"to", "from", "by", "amount", "over", "rate", "under", "through", "gives", "rinse with", "at", "keep below", "keep above", "size"}},
	{"rinse", Transfer, "apparatus", "Rinse apparatus with a liquid, into a vessel or into waste.", nil, []string{"with", "to", "into", "amount", "gives", "then"}},
	{"dissolve", Transfer, "a material or a solid", "Dissolve something in a solvent.", nil, []string{"in", "with", "to", "amount", "at", "bath", "under", "gives", "by", "from"}},
	{"pour", Transfer, "what a vessel holds, or a material", "Pour a liquid in the open.", []string{"to"}, []string{"to", "from", "over", "rate", "amount", "under", "gives", "at", "by", "keep below", "keep above", "bath"}},
	{"pass", Transfer, "a gas", "Pass a gas over or through what a vessel holds.", []string{"to"}, []string{"to", "from", "flow", "rate", "amount", "through", "outlet", "keep below", "keep above", "at", "over", "bath", "tip"}},
	{"condense", Transfer, "a gas", "Condense a gas into a cold vessel.", []string{"to"}, []string{"to", "from", "at", "bath", "amount", "outlet", "rate", "flow"}},
	// conditions
	{"cool", Condition, "a vessel", "Bring a vessel to a lower temperature.", nil, []string{"to", "bath", "in", "at", "with", "flow", "over"}},
	{"heat", Condition, "a vessel", "Bring a vessel to a higher temperature and hold it.", nil, []string{"to", "at", "bath", "in", "with", "vacuum", "pressure", "keep below", "keep above", "over", "under"}},
	{"warm", Condition, "a vessel", "Let a vessel come up to a temperature.", nil, []string{"to", "bath", "in", "at", "with", "over", "under"}},
	{"reflux", Condition, "a vessel", "Boil a vessel under a condenser.", nil, []string{"bath", "at", "in", "with", "coolant", "condenser", "under", "rate"}},
	{"stir", Condition, "a vessel", "Stir, swirl or shake.", nil, []string{"at", "bath", "by", "with", "under", "in", "keep below", "keep above", "rate"}},
	{"stand", Condition, "a vessel", "Leave a vessel as it is.", nil, []string{"at", "under", "in", "bath"}},
	{"irradiate", Condition, "a vessel", "Expose to light, microwaves or ultrasound.", nil, []string{"with", "at", "in", "bath"}},
	{"fit", Condition, "apparatus", "Fit, exchange or take away a piece of apparatus, bath or stirrer.", nil, []string{"to", "on", "in", "with", "under", "swap", "outlet"}},
	{"remove", Condition, "apparatus or a bath", "Take away a bath, a fitting or a source of heat.", nil, []string{"from", "under"}},
	{"start", Condition, "water, stirring, a pump, a flow", "Start cooling water, stirring, a pump or a gas flow.", nil, []string{"to", "in", "on", "flow", "with", "at"}},
	{"stop", Condition, "water, stirring, a pump, a flow", "Stop cooling water, stirring, a pump or a gas flow.", nil, []string{"to", "in", "on", "with"}},
	// watch
	{"confirm", Watch, "what must be seen", "Look for a sign before going on: initiation, colour, temperature, an end point.", nil, []string{"in", "by", "sign", "within", "otherwise", "bath", "at", "with", "keep below", "expect"}},
	{"sample", Watch, "a vessel", "Take an aliquot.", nil, []string{"by", "amount", "into", "under", "with", "gives"}},
	// finish
	{"quench", Finish, "a vessel", "Destroy what is still reactive.", nil, []string{"with", "in", "into", "to", "over", "rate", "at", "bath", "amount", "portions", "keep below", "keep above", "under", "by", "sign", "from", "hold for", "through", "then", "outlet", "gives"}},
	{"acidify", Finish, "a vessel or layer", "Make acid.", nil, []string{"with", "to", "amount", "at", "bath", "over", "rate", "in", "keep below", "by", "portions", "sign", "hold for", "under"}},
	{"basify", Finish, "a vessel or layer", "Make basic.", nil, []string{"with", "to", "amount", "at", "bath", "over", "rate", "in", "keep below", "by", "portions", "sign", "hold for", "under"}},
	{"neutralise", Finish, "a vessel or layer", "Bring to neutral.", nil, []string{"with", "to", "amount", "at", "bath", "over", "rate", "in", "keep below", "by", "portions", "sign", "hold for", "under"}},
	{"filter", Finish, "a vessel or layer", "Filter.", nil, []string{"through", "by", "under", "with", "gives", "into", "rinse with", "at", "amount", "to", "vacuum", "hot", "in"}},
	{"decant", Finish, "a vessel or layer", "Pour a liquid off a solid.", nil, []string{"into", "to", "from", "gives", "under", "rinse with", "through"}},
	{"centrifuge", Finish, "a vessel", "Spin down a solid.", nil, []string{"gives", "at", "into"}},
	{"separate", Finish, "a vessel or mixture", "Part two layers.", nil, []string{"in", "gives", "keep", "into", "layer", "by"}},
	{"extract", Finish, "a vessel or layer", "Extract with a solvent.", nil, []string{"with", "in", "gives", "amount", "portions", "into", "keep", "layer", "by", "at", "under"}},
	{"wash", Finish, "a layer or a solid", "Wash a layer or a solid.", nil, []string{"with", "in", "gives", "amount", "portions", "into", "layer", "by", "at", "keep", "on", "through", "under"}},
	{"concentrate", Finish, "a layer or vessel", "Take solvent off: rotary evaporator, distillation, a stream of gas.", nil, []string{"at", "in", "by", "pressure", "vacuum", "bath", "leave", "gives", "under", "into", "to", "from", "trap", "with", "keep below"}},
	{"crystallise", Finish, "a solid or residue", "Crystallise or recrystallise.", nil, []string{"from", "with", "amount", "at", "to", "gives", "in", "bath"}},
	{"precipitate", Finish, "a vessel or solution", "Bring a solid down with a second liquid.", nil, []string{"with", "amount", "at", "gives", "to", "in", "over", "rate"}},
	{"chromatograph", Finish, "a residue", "Purify on a column or a plug.", nil, []string{"on", "with", "through", "gives", "amount", "under"}},
	{"sublime", Finish, "a solid", "Sublime.", nil, []string{"at", "pressure", "vacuum", "bath", "gives", "in", "under"}},
	{"steam-distil", Finish, "a vessel", "Distil with steam.", nil, []string{"into", "gives", "at"}},
	{"analyse", Finish, "a product", "Characterise: melting point, spectra, titration.", nil, []string{"by", "expect", "in", "with"}},
	{"store", Finish, "a product, reagent or vessel", "Keep for later.", nil, []string{"in", "at", "under", "with", "away from", "sealed"}},
	// clear up
	{"destroy", ClearUp, "a residue, rinse or tool", "Destroy a reactive leftover.", nil, []string{"with", "in", "by", "under", "over", "rate", "at", "bath", "amount", "sign", "gives", "hold for", "then", "into", "keep below", "portions", "outlet"}},
	{"discard", ClearUp, "a leftover", "Put a leftover into a named waste container.", nil, []string{"into", "amount", "from", "with", "sealed"}},
	{"clean", ClearUp, "apparatus", "Clean apparatus.", nil, []string{"with", "into", "in", "then", "at"}},
	{"return", ClearUp, "apparatus or a material", "Give back.", nil, []string{"to", "into"}},
}

// Everywhere lists the modifiers that every step takes.
var Everywhere = []string{"for", "until", "if", "look for", "cautions", "note", "time", "done by", "before the section", "part", "repeat", "optional", "attended", "vented", "shielded", "accepted", "protection", "stop point", "temperature"}

var verbIndex = func() map[string]*Verb {
	m := make(map[string]*Verb, len(Verbs))
	for i := range Verbs {
		m[Verbs[i].Name] = &Verbs[i]
	}
	return m
}()

// FindVerb looks a verb up by its name.
func FindVerb(name string) (*Verb, bool) {
	v, ok := verbIndex[name]
	return v, ok
}
