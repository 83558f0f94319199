package bench

import "ketyl/checker/finding"

// Num is a figure that the text may leave unknown. A rule that reads an
// unknown figure cannot tell, and asks for it.
type Num struct {
	V     float64
	Note  string // when not Known, what the text would have to state; else why this value was taken, if it was not stated
	Known bool
}

// Ask is what the text would have to state; empty for a known figure.
func (n Num) Ask() string {
	if n.Known {
		return ""
	}
	return n.Note
}

// Assumed is why a value was taken that was not stated; empty for one that was.
func (n Num) Assumed() string {
	if n.Known {
		return n.Note
	}
	return ""
}

// Got makes a known figure.
func Got(v float64) Num { return Num{V: v, Known: true} }

// Assume makes a figure that the bench assumed, with the reason.
func Assume(v float64, why string) Num { return Num{V: v, Known: true, Note: why} }

// Missing makes an unknown figure and says what to ask for.
func Missing(ask string) Num { return Num{Note: ask} }

// Event is one thing that happened on the bench, with its figures. Facts
// points at one of the *Facts structs below, by Kind. The `fact` tags are the
// words rules use; `doc` explains them and gives the unit.
type Event struct {
	Kind    string
	Step    int // 1-based, 0 when it belongs to no step
	Span    finding.Span
	Subject string // in a few words, for the head of a finding
	Facts   any
	// Cause names the root of what happened, so that one cause gives one
	// finding: events of the same cause are folded.
	Cause string
}

// Kinds maps every kind of event to an empty value of its facts.
var Kinds = map[string]any{
	"procedure": ProcedureFacts{},
	"material":  MaterialEvent{},
	"apparatus": ApparatusEvent{},
	"step":      StepFacts{},
	"addition":  AdditionFacts{},
	"water":     WaterFacts{},
	"exposure":  ExposureFacts{},
	"drying":    DryingFacts{},
	"heating":   HeatingFacts{},
	"release":   ReleaseFacts{},
	"closure":   ClosureFacts{},
	"contact":   ContactFacts{},
	"transfer":  TransferFacts{},
	"quench":    QuenchFacts{},
	"workup":    WorkupFacts{},
	"discard":   DiscardFacts{},
	"meeting":   MeetingFacts{},
	"container": ContainerFacts{},
	"hazard":    HazardFacts{},
	"fill":      FillFacts{},
}

// VesselFacts is a vessel at one moment. Events of one moment share it: it is
// never changed once an event has it.
type VesselFacts struct {
	Name           string   `fact:"name" doc:"its name in the apparatus list"`
	Kind           string   `fact:"kind" doc:"round-bottom flask, addition funnel, …"`
	SizeML         Num      `fact:"size_ml" doc:"nominal size, mL"`
	VolumeML       Num      `fact:"volume_ml" doc:"liquid in it, mL, as measured at 20 °C"`
	Fill           Num      `fact:"fill" doc:"liquid over size, 0 to 1"`
	HeadspaceML    Num      `fact:"headspace_ml" doc:"gas space, mL"`
	TemperatureC   Num      `fact:"temperature_c" doc:"temperature of the contents, °C"`
	Connection     string   `fact:"connection" doc:"open | drying tube | inert gas | balloon | sealed | vacuum | glovebox"`
	BarrierRank    float64  `fact:"barrier_rank" doc:"0 open, 1 drying tube, 2 inert gas, 3 evacuate and refill, 4 glovebox"`
	Barrier        string   `fact:"barrier" doc:"the barrier in words"`
	Closed         bool     `fact:"closed" doc:"the head space is not open to the room: inert gas, balloon, sealed or vacuum"`
	Vented         bool     `fact:"vented" doc:"gas has a way out"`
	Supplied       bool     `fact:"supplied" doc:"a supply of gas stays on: blanket or refilled from a line"`
	Outlet         string   `fact:"outlet" doc:"the way out: bubbler, drying tube, balloon, open"`
	Gas            string   `fact:"gas" doc:"gas named for the head space"`
	OxygenPPM      Num      `fact:"oxygen_ppm" doc:"oxygen in the head space, ppm by volume"`
	Glass          string   `fact:"glass" doc:"dry | damp | wet | not stated"`
	WaterMmol      Num      `fact:"water_mmol" doc:"water in the vessel, mmol"`
	LiveMmol       float64  `fact:"live_mmol" doc:"mmol of live air- or water-sensitive reagent"`
	Live           string   `fact:"live" doc:"the live reagent that needs most care"`
	LiveFamily     string   `fact:"live_family" doc:"its family"`
	Solvent        string   `fact:"solvent" doc:"main liquid"`
	BoilingC       Num      `fact:"boiling_c" doc:"bubble point of the liquid at 1 atm, °C"`
	FreezingC      Num      `fact:"freezing_c" doc:"freezing point of the main liquid, °C"`
	FlashC         Num      `fact:"flash_c" doc:"lowest flash point among the liquids, °C"`
	Contents       []string `fact:"contents" doc:"names of what it holds"`
	Families       []string `fact:"families" doc:"families of what it holds"`
	Aqueous        bool     `fact:"aqueous" doc:"holds a water layer or solution"`
	Halogenated    bool     `fact:"halogenated" doc:"holds a halogenated organic"`
	Condenser      bool     `fact:"condenser" doc:"carries a condenser"`
	Coolant        bool     `fact:"coolant" doc:"condenser water was started"`
	CondenserLater bool     `fact:"condenser_later" doc:"a later step fits the condenser"`
	AirCondenser   bool     `fact:"air_condenser" doc:"the condenser is air-cooled"`
	Probe          bool     `fact:"probe" doc:"a thermometer dips into the mixture"`
	Explosive      string   `fact:"explosive" doc:"what it holds that explodes when it is dry, concentrated or warm; empty if none"`
	ExplosiveMmol  Num      `fact:"explosive_mmol" doc:"how much of it, mmol"`
	ExplosiveG     Num      `fact:"explosive_g" doc:"how much of it, g"`
	ExplosiveRatio Num      `fact:"explosive_ratio" doc:"for an organic azide of known formula, (carbon + oxygen) over nitrogen"`
	GlassExplosive string   `fact:"glass_explosive" doc:"what it holds that explodes on ground or scratched glass; empty if none"`
	SmoothGlass    bool     `fact:"smooth_glass" doc:"the list calls its glass smooth, fire-polished or clear-sealed"`
	GroundGlass    bool     `fact:"ground_glass" doc:"a piece on it, or the vessel, is said to be of ground glass"`
	Thin           bool     `fact:"thin" doc:"flat-bottomed or thin-walled glass"`
}

// HotFacts is a vessel at the hottest that a step brings it to: its liquid has
// expanded, and boiling or foam wants room over it.
type HotFacts struct {
	TemperatureC Num `fact:"temperature_c" doc:"hottest that the vessel gets in this step, °C; no colder than 20 °C, at which volumes are measured"`
	VolumeML     Num `fact:"volume_ml" doc:"liquid at that temperature, mL"`
	Fill         Num `fact:"fill" doc:"liquid at that temperature over size, 0 to 1"`
	FreeML       Num `fact:"free_ml" doc:"left free over it, mL; negative where it runs over"`
	KeepFree     Num `fact:"keep_free" doc:"share of the vessel that the trade leaves free for what goes on in it: boiling, foam, stirring, 0 to 1"`
	KeepFreeML   Num `fact:"keep_free_ml" doc:"that share of this vessel, mL"`
}

// PlaceFacts is where a liquid comes from: funnel, syringe, bottle.
type PlaceFacts struct {
	Name      string `fact:"name" doc:"its name"`
	Kind      string `fact:"kind" doc:"addition funnel, syringe, …"`
	SizeML    Num    `fact:"size_ml" doc:"size, mL"`
	Equalised bool   `fact:"equalised" doc:"has a pressure-equalising arm"`
	Stoppered bool   `fact:"stoppered" doc:"its top is closed"`
	GasPath   bool   `fact:"gas_path" doc:"its head space has a link to the vessel, the line or dry air"`
	Tip       string `fact:"tip" doc:"luer-lock | slip | not stated"`
	Gauge     Num    `fact:"gauge" doc:"needle gauge"`
	Shared    bool   `fact:"shared" doc:"used by several students"`
	Uses      Num    `fact:"uses" doc:"times used"`
	Listed    bool   `fact:"listed" doc:"stands in the apparatus list"`
}

// MaterialFacts is a material as it is used.
type MaterialFacts struct {
	Name          string   `fact:"name" doc:"name in the materials table"`
	Substance     string   `fact:"substance" doc:"compendium name"`
	Family        string   `fact:"family" doc:"compendium family"`
	JudgedAs      string   `fact:"judged_as" doc:"family title when derived, else empty"`
	Phase         string   `fact:"phase" doc:"solid | liquid | gas | solution"`
	Role          string   `fact:"role" doc:"role as written"`
	WrittenIn     string   `fact:"written_in" doc:"what its amount is written in: volume, mass, amount; empty where none is"`
	Mmol          Num      `fact:"mmol" doc:"amount, mmol"`
	MassG         Num      `fact:"mass_g" doc:"mass, g"`
	VolumeML      Num      `fact:"volume_ml" doc:"volume, mL"`
	Molarity      Num      `fact:"molarity" doc:"concentration, mol/L"`
	Equivalents   Num      `fact:"equivalents" doc:"mol per mol of the limiting reagent"`
	Pyrophoric    bool     `fact:"pyrophoric" doc:"can catch fire in air in this form"`
	WaterReactive bool     `fact:"water_reactive" doc:"reacts violently or gives gas with water"`
	Live          bool     `fact:"live" doc:"must be destroyed before work-up, waste or the end"`
	NeedRank      float64  `fact:"need_rank" doc:"barrier it needs, 0 to 4"`
	Codes         []string `fact:"codes" doc:"GHS H- and EUH-codes"`
	FlashC        Num      `fact:"flash_c" doc:"flash point, °C"`
	BoilingC      Num      `fact:"boiling_c" doc:"boiling point, °C"`
	Hydrate       float64  `fact:"hydrate" doc:"mol of water of crystallisation per mol"`
	WaterPPM      Num      `fact:"water_ppm" doc:"water in it, ppm by mass"`
	WaterMmol     Num      `fact:"water_mmol" doc:"water it brings, mmol"`
	Grade         string   `fact:"grade" doc:"grade as written"`
	Dried         string   `fact:"dried" doc:"how it was dried, if it was"`
	Acid          bool     `fact:"acid" doc:"strong acid"`
	Base          bool     `fact:"base" doc:"strong base"`
	Concentrated  bool     `fact:"concentrated" doc:"concentrated, glacial, fuming or neat acid"`
	Oxidiser      bool     `fact:"oxidiser" doc:"oxidising agent"`
	Halogenated   bool     `fact:"halogenated" doc:"halogenated organic"`
	Aqueous       bool     `fact:"aqueous" doc:"water or a solution in water"`
	Solvent       string   `fact:"solvent" doc:"solvent of a solution as bought"`
	PeroxideClass string   `fact:"peroxide_class" doc:"A, B, C or empty"`
	Inhibited     bool     `fact:"inhibited" doc:"said to hold an inhibitor"`
	Opened        bool     `fact:"opened_dated" doc:"an opening date or fresh bottle is stated"`
	OpenedMonths  Num      `fact:"shelf_months" doc:"age at the day of the run, months: since opening, or since receipt where only that is written"`
	Received      bool     `fact:"since_receipt" doc:"that age counts from receipt"`
	ShelfWritten  bool     `fact:"shelf_written" doc:"anything is written of when it was opened or received"`
	KeepMonths    Num      `fact:"keep_months" doc:"how long a peroxide former of its class is kept after that, by the limits of the site, months"`
	TestedMonths  Num      `fact:"tested_months" doc:"age of its peroxide test, months"`
	TestNote      string   `fact:"test_note" doc:"why what is written of a peroxide test does not count; empty if it does or none is written"`
	Tested        bool     `fact:"tested" doc:"a peroxide test that found none, not older than the site allows, is written"`
	Peroxides     bool     `fact:"peroxides_found" doc:"the test that is written found peroxides, 25 ppm and over"`
}

// ProcedureFacts is the whole text.
type ProcedureFacts struct {
	Name             string   `fact:"name" doc:"procedure name"`
	Setting          string   `fact:"setting" doc:"teaching | research"`
	Whole            bool     `fact:"whole" doc:"the whole text was read"`
	Students         Num      `fact:"students" doc:"students in the section"`
	Alone            bool     `fact:"alone" doc:"says that students work alone"`
	SectionMin       Num      `fact:"section_min" doc:"section length, min"`
	HandsOnMin       Num      `fact:"hands_on_min" doc:"hands-on time in the section, min"`
	WaitingMin       Num      `fact:"waiting_min" doc:"waiting time in the section, min"`
	TotalMin         Num      `fact:"total_min" doc:"hands-on and waiting time in the section one after the other, min"`
	CriticalPathMin  Num      `fact:"critical_path_min" doc:"time from the first step of the section to its last, waiting on one vessel overlapped with work on others, min"`
	QuenchStartMin   Num      `fact:"quench_start_min" doc:"when the main quench begins on that path, min"`
	LatestQuenchMin  Num      `fact:"latest_quench_min" doc:"latest start of the main quench that leaves time for all after it in the section, min"`
	LeadDays         Num      `fact:"lead_days" doc:"days before the section on which the first preparation begins"`
	LeadItems        []string `fact:"lead_items" doc:"what is made ready before the section and how many days before, longest first"`
	LeadHours        Num      `fact:"lead_hours" doc:"longest preparation that must precede the section and is not marked so; where all are, the longest of all, h"`
	LeadPlanned      bool     `fact:"lead_planned" doc:"every preparation that takes hours is marked before the section"`
	LeadWhat         string   `fact:"lead_what" doc:"what needs that preparation"`
	Unattended       string   `fact:"unattended" doc:"the step left alone with live reagent, heat or gas; empty if none"`
	UnattendedSaid   string   `fact:"unattended_said" doc:"the step of that kind which itself says that nobody attends it; empty if none"`
	AluminiumHydride string   `fact:"aluminium_hydride" doc:"an aluminium hydride that is used, by its row; empty if none"`
	StillML          float64  `fact:"still_ml" doc:"largest volume of a peroxide former that is distilled, mL"`
	ApprovedAlone    bool     `fact:"approved_alone" doc:"the approval speaks of unattended or overnight runs"`
	UnattendedMin    Num      `fact:"unattended_min" doc:"how long, min"`
	Attended         bool     `fact:"attended" doc:"that step says it is attended or approved"`
	LiveAtEndMmol    float64  `fact:"live_at_end_mmol" doc:"live reagent left at the end, mmol"`
	LiveAtEnd        string   `fact:"live_at_end" doc:"what and where"`
	LiveUsed         []string `fact:"live_used" doc:"live reagents used at any time"`
	Quenched         bool     `fact:"quenched" doc:"a quench or destroy step exists"`
	StopPoint        bool     `fact:"stop_point" doc:"a safe stopping point is named"`
	Topics           []string `fact:"topics" doc:"caution topics the page carries"`
	Pyrophoric       bool     `fact:"pyrophoric" doc:"a pyrophoric reagent is handled"`
	PyrophoricMmol   float64  `fact:"pyrophoric_mmol" doc:"how much of pyrophoric reagents is handled, mmol; what is not stated counts as much"`
	PyrophoricName   string   `fact:"pyrophoric_name" doc:"which"`
	ReactiveMetal    bool     `fact:"reactive_metal" doc:"alkali metal, hydride or metal alkyl is handled: CO2 and water will not put it out"`
	MagnesiumMmol    float64  `fact:"magnesium_mmol" doc:"magnesium metal taken, mmol"`
	Cryogen          bool     `fact:"cryogen" doc:"dry ice or liquid nitrogen is used"`
	Vacuum           bool     `fact:"vacuum" doc:"glass is put under vacuum"`
	Coat             string   `fact:"coat" doc:"coat asked for"`
	Gloves           string   `fact:"gloves" doc:"gloves asked for"`
	Eyes             string   `fact:"eyes" doc:"eye protection asked for; none where it is denied"`
	Shield           string   `fact:"shield" doc:"shield or sash asked for; none where it is denied"`
	Hood             string   `fact:"hood" doc:"yes where a hood is named anywhere on the page, no where it is denied, else empty"`
	HoodLiquid       string   `fact:"hood_liquid" doc:"the volatile flammable liquid of which most is handled: boils below 100 °C, flashes below 23 °C; empty if none"`
	HoodLiquidML     float64  `fact:"hood_liquid_ml" doc:"how much of it, mL"`
	HoodNeeds        []string `fact:"hood_needs" doc:"what on the page wants a hood: pyrophoric liquids, poisonous gas or vapour, tear gas"`
	Extinguisher     string   `fact:"extinguisher" doc:"extinguishing agent named"`
	Emergency        float64  `fact:"emergency" doc:"number of if-then emergency lines"`
	Approved         bool     `fact:"approved" doc:"an approval with training is recorded"`
	SafetyPart       bool     `fact:"safety_part" doc:"the page has a safety part of its own: what is worn, and cautions at its head"`
	Leftovers        []string `fact:"leftovers" doc:"leftovers without a waste route"`
	LeftoverRoutes   string   `fact:"leftover_routes" doc:"the discard step that each leftover lacks"`
	LeftoverCount    float64  `fact:"leftover_count" doc:"how many"`
	Limiting         string   `fact:"limiting" doc:"limiting reagent"`
	LimitingMmol     Num      `fact:"limiting_mmol" doc:"its amount, mmol"`
	TheoreticalG     Num      `fact:"theoretical_g" doc:"theoretical yield, g"`
	ExpectedG        Num      `fact:"expected_g" doc:"expected product, g"`
	MeltingOffK      Num      `fact:"melting_off_k" doc:"stated melting point of the product away from the known one, K; negative when below"`
	YieldPercent     Num      `fact:"yield_percent" doc:"expected over theoretical, %"`
	ProtonFirst      []string `fact:"proton_first" doc:"declared reactions that give a carbanion or hydride to a group while an O–H or S–H of the same molecule takes it first, with how much is needed"`
	DeclaredKnown    []string `fact:"declared_known" doc:"substances that the file declares and the compendium knows with the same facts"`
	StatedYield      Num      `fact:"stated_yield_percent" doc:"yield as stated, %"`
	PossiblePercent  Num      `fact:"possible_percent" doc:"most product that the amounts and the declared reactions allow, % of the limiting reagent as written"`
	Short            string   `fact:"short" doc:"material that runs out before the limiting reagent"`
	Unbalanced       []string `fact:"unbalanced" doc:"declared reactions that give elements which none of their partners holds, with what is out of nothing"`
	IdleReactions    []string `fact:"idle_reactions" doc:"declared reactions that never run on the bench"`
	RefersWaste      bool     `fact:"refers_waste" doc:"the text relies on a common section on waste"`
	RefersGlass      bool     `fact:"refers_glassware" doc:"the text relies on a common list of glassware"`
	LeftoverLive     bool     `fact:"leftover_live" doc:"something without a route holds live reagent, an explosive, or what water attacks violently"`
	MissingApparatus []string `fact:"missing_apparatus" doc:"used in steps but not listed"`
	HasProduct       bool     `fact:"has_product" doc:"a product is named"`
	InertGas         bool     `fact:"inert_gas" doc:"inert gas is used anywhere"`
	RoomOxygen       Num      `fact:"room_oxygen_percent" doc:"oxygen left if the largest gas or cryogen store empties into the room, %"`
	Cleared          bool     `fact:"cleared" doc:"says that the hood is cleared of solvents, paper and stock"`
	Jack             bool     `fact:"jack" doc:"a jack or another way to drop the bath at once is listed"`
	ScaleRatio       Num      `fact:"scale_ratio" doc:"amount of the limiting reagent over the scale that was reviewed"`
	SparePercent     Num      `fact:"spare_percent" doc:"smallest spare allowance among the materials, %"`
	QueueMin         Num      `fact:"queue_min" doc:"longest wait at a shared station if all arrive at once, min"`
	QueueAt          string   `fact:"queue_at" doc:"which station"`
	LastOutMin       Num      `fact:"last_out_min" doc:"when the last student is through, who waits longest at the shared station: the critical path and the wait, min"`
	QueueLive        bool     `fact:"queue_live" doc:"students wait there with live reagent"`
	RoomSource       string   `fact:"room_source" doc:"which store"`

	RoomOxygenHour Num `fact:"room_oxygen_hour_percent" doc:"oxygen in the long run if that store empties evenly within an hour and the room is ventilated as the site file says, %"`
}

// MaterialEvent is one row of the materials table.
type MaterialEvent struct {
	Whole        bool          `fact:"whole" doc:"the whole text was read: silence is a fault"`
	Material     MaterialFacts `fact:"material" doc:"the material"`
	Known        bool          `fact:"known" doc:"in the compendium, declared, or derived"`
	Forbidden    string        `fact:"forbidden" doc:"the entry of the site's list of what is not used there that it falls under"`
	ForbiddenFor string        `fact:"forbidden_because" doc:"why the site does not use it"`
	Nearest      []string      `fact:"nearest" doc:"nearest known names"`
	AmountGiven  bool          `fact:"amount_given" doc:"any amount is written"`
	Needed       bool          `fact:"needed" doc:"the amount matters: reagent, solvent or quench, not a crystal or a drying agent"`
	Reactive     bool          `fact:"reactive" doc:"a live reagent"`
	Stated       string        `fact:"stated" doc:"the expression that disagrees, as written"`
	Computed     string        `fact:"computed" doc:"what it should be by the others"`
	MismatchPct  Num           `fact:"mismatch_percent" doc:"largest disagreement between expressions of the amount, %"`
	Unweighed    bool          `fact:"unweighed" doc:"weighed or measured, but its molar mass is not known: mmol cannot be counted"`
	AssayMissing bool          `fact:"assay_missing" doc:"a dispersion or solution without strength"`
	Used         bool          `fact:"used" doc:"a step uses it"`
	SoldMolarity Num           `fact:"sold_molarity" doc:"strongest solution known to be sold, mol/L"`
	TakenPercent Num           `fact:"taken_percent" doc:"what the steps take by their own figures, % of what is listed"`
	CalledAs     string        `fact:"called_as" doc:"known substance that the row is named after, when it says it is another"`
	CalledLive   bool          `fact:"called_live" doc:"that other one is a live reagent"`
	TitreStated  bool          `fact:"titre_stated" doc:"a titration is written"`
	SparePct     Num           `fact:"spare_percent" doc:"excess over what its own reaction takes or, if less, over what the reactions of what it makes ask for, %"`
	ExcessPct    Num           `fact:"excess_percent" doc:"excess over the limiting reagent by the reactions, %"`
	Peroxide     bool          `fact:"peroxide_former" doc:"peroxide former"`
	Concentrated bool          `fact:"is_concentrated_later" doc:"it is evaporated or distilled in a later step"`
	Makes        string        `fact:"makes" doc:"live reagent that the steps make of it, where it is what limits how much; empty if none"`
	MakesMmol    Num           `fact:"makes_mmol" doc:"how much of that, mmol"`
	Sites        Num           `fact:"sites_needed_mmol" doc:"reagent its protic and electrophilic sites need, mmol"`
	BrokenDown   string        `fact:"broken_down" doc:"how the mmol were computed"`
}

// ApparatusEvent is one row of the apparatus table.
type ApparatusEvent struct {
	Name       string  `fact:"name" doc:"its name"`
	Kind       string  `fact:"kind" doc:"its kind as written"`
	Class      string  `fact:"class" doc:"what it is to the bench: vessel, funnel, syringe, condenser, drying tube, bubbler, line, bath, thermometer, other"`
	Known      bool    `fact:"known" doc:"the bench knows this kind"`
	SizeML     Num     `fact:"size_ml" doc:"size, mL"`
	PeakML     Num     `fact:"peak_ml" doc:"most liquid that it ever holds or delivers, mL"`
	Used       bool    `fact:"used" doc:"a step or another piece uses it"`
	Supply     bool    `fact:"supply" doc:"a gas supply: line, cylinder, regulator"`
	Relief     bool    `fact:"relief" doc:"its pressure is limited by a bubbler or relief"`
	PressureMb Num     `fact:"pressure_mbar" doc:"supply pressure above atmospheric, mbar"`
	Gas        string  `fact:"gas" doc:"gas it supplies"`
	GasStated  bool    `fact:"gas_stated" doc:"its gas is named"`
	PurityPct  Num     `fact:"purity_percent" doc:"purity of its gas as written, %"`
	NeedRank   float64 `fact:"need_rank" doc:"highest barrier need of anything that its gas stands over, 0 to 4"`
	Packing    string  `fact:"packing" doc:"how a drying tube is packed"`
	Fill       string  `fact:"fill" doc:"substance that it is filled with; empty if not written or not known"`
	FillFamily string  `fact:"fill_family" doc:"family of that"`
	FillBoilsC Num     `fact:"fill_boils_c" doc:"boiling point of that, °C"`
	Mercury    bool    `fact:"mercury" doc:"filled or sealed with mercury"`
	Needs      string  `fact:"needs" doc:"what the step that uses it needs to know"`
	Count      float64 `fact:"count" doc:"how many"`

	ReliefAssumed bool `fact:"relief_assumed" doc:"a manifold whose relief is not written and that is taken to have its own bubbler"`
	ReliefKnown   Num  `fact:"relief_known" doc:"1 where a relief or an outlet is written for what it feeds, 0 where a whole text for a class names none"`
	ClassText     bool `fact:"class_text" doc:"that text is whole, for a class, and leaves the line to no other section of the manual"`
}

// StepFacts is one step as written.
type StepFacts struct {
	Whole       bool         `fact:"whole" doc:"the whole text was read: silence is a fault"`
	Verb        string       `fact:"verb" doc:"its verb"`
	Group       string       `fact:"group" doc:"prepare, atmosphere, transfer, conditions, watch, finish, clear up"`
	Vessel      *VesselFacts `fact:"vessel" doc:"the vessel it acts on, before the step"`
	Hazardous   bool         `fact:"hazardous" doc:"acts on live reagent, makes gas or much heat"`
	Measured    bool         `fact:"measured" doc:"has a figure, a rate, an end point or an observable"`
	Vague       string       `fact:"vague" doc:"the adverb it leans on, if that is all"`
	Minutes     Num          `fact:"minutes" doc:"how long it takes, min"`
	Conditional bool         `fact:"conditional" doc:"happens only if something"`
	StockKept   string       `fact:"stock_kept" doc:"for store: what water attacks violently among what is put away"`
	StockBeside string       `fact:"stock_beside" doc:"for store: what the text puts it beside, if that is aqueous, acid or oxidising"`
	PlainBottle bool         `fact:"into_plain_bottle" doc:"for store: into a bottle, jar or can for which no gas and no seal is named"`
	Returned    bool         `fact:"returned_to_stock" doc:"puts a reagent back into stock"`
	Live        bool         `fact:"live" doc:"live reagent is present"`
	Confirm     string       `fact:"confirm" doc:"what is to be seen, for confirm"`
	Signs       float64      `fact:"signs" doc:"how many signs are named"`
	NoStart     bool         `fact:"branch" doc:"says what to do if the sign does not come"`
	WaitMin     Num          `fact:"wait_min" doc:"how long to wait for the sign, min"`
	BathC       Num          `fact:"bath_c" doc:"bath temperature while watching, °C"`
	Cycles      Num          `fact:"cycles" doc:"cycles of the antechamber, or of evacuating and refilling, as written"`
	FlowLMin    Num          `fact:"flow_l_per_min" doc:"stream of gas as written, L/min"`
	With        []string     `fact:"with" doc:"what it is done with"`
	By          string       `fact:"by" doc:"how it is done, as written"`
	AfterQuench bool         `fact:"after_quench" doc:"the step before destroyed live reagent in this vessel"`
	DoneBy      string       `fact:"done_by" doc:"who does it"`
	Text        string       `fact:"text" doc:"its note"`
	Reference   bool         `fact:"reference" doc:"points at another text"`
	PumpMin     Num          `fact:"pump_min" doc:"time the site's pump takes to the stated vacuum in this vessel, min each cycle"`
	PumpedMin   Num          `fact:"pumped_min" doc:"time the text gives the pump in each cycle, min"`
	ReachedMbar Num          `fact:"reached_mbar" doc:"pressure after that time, mbar"`
	AirLeft     Num          `fact:"dissolved_percent" doc:"oxygen left in what was degassed or sparged, % of what air dissolves in it"`
	AirMmol     Num          `fact:"dissolved_mmol" doc:"the same, mmol"`
	StatedMbar  Num          `fact:"stated_mbar" doc:"vacuum as written, or the pump's of the site file, mbar"`
}

// AdditionFacts is a material going into a vessel.
type AdditionFacts struct {
	Whole          bool          `fact:"whole" doc:"the whole text was read: silence is a fault"`
	Verb           string        `fact:"verb" doc:"add, charge, transfer, rinse, dissolve, pour, pass"`
	Material       MaterialFacts `fact:"material" doc:"what is added"`
	From           PlaceFacts    `fact:"from" doc:"where it comes from"`
	Vessel         *VesselFacts  `fact:"vessel" doc:"the vessel before the addition"`
	FillAfter      Num           `fact:"fill_after" doc:"fill of the vessel after it, 0 to 1"`
	FillAtEnd      Num           `fact:"fill_at_end" doc:"largest fill the vessel reaches before it is emptied, 0 to 1"`
	Hot            *HotFacts     `fact:"hot" doc:"the vessel after it, at the hottest that its heat brings it to; unknown where it is neither warm, foaming nor near the brim"`
	Method         string        `fact:"method" doc:"syringe, cannula, funnel, pour, pipette, solid, portions, gas, or as written"`
	VolumeML       Num           `fact:"volume_ml" doc:"volume added, mL"`
	Mmol           Num           `fact:"mmol" doc:"amount added, mmol"`
	OverMin        Num           `fact:"over_min" doc:"time of the addition, min"`
	RateGiven      bool          `fact:"rate_given" doc:"a time, a rate, portions or a limit is written"`
	Rate           string        `fact:"rate" doc:"the rate as written"`
	AtOnce         bool          `fact:"at_once" doc:"said to go in all at once"`
	Portions       Num           `fact:"portions" doc:"number of portions"`
	KeepBelowC     Num           `fact:"keep_below_c" doc:"temperature limit during it, °C"`
	OwnBath        bool          `fact:"own_bath" doc:"the step itself names a bath or a temperature at which it is done"`
	LimitGiven     bool          `fact:"limit_given" doc:"a temperature limit or bath is written"`
	HeatKJ         Num           `fact:"heat_kj" doc:"heat given off by it, kJ"`
	RiseK          Num           `fact:"rise_k" doc:"adiabatic rise in what is then in the vessel, K; where a halide comes to a metal, that of the whole charge going at once"`
	OwnRiseK       Num           `fact:"own_rise_k" doc:"adiabatic rise by the heat of this addition alone, K"`
	Halide         string        `fact:"halide" doc:"the halide that comes to a metal or that a metal comes to"`
	HalideMmol     Num           `fact:"halide_mmol" doc:"how much of that halide, mmol"`
	MarginK        Num           `fact:"margin_k" doc:"boiling point less temperature, K"`
	PermittedShare Num           `fact:"permitted_share" doc:"share of the halide that may be in before proof of start: margin over full adiabatic rise"`
	ChargedShare   Num           `fact:"charged_share" doc:"share of the halide in before proof of start"`
	Starts         bool          `fact:"starts" doc:"this addition brings a halide to a metal, a reaction that must be seen to start"`
	Initiated      bool          `fact:"initiated" doc:"the start was confirmed before this addition"`
	EvidenceLater  bool          `fact:"evidence" doc:"a sign of the start is asked for anywhere"`
	Branch         bool          `fact:"branch" doc:"says what to do if it does not start"`
	Watts          Num           `fact:"watts" doc:"heat at the stated rate, W"`
	CoolingWatts   Num           `fact:"cooling_watts" doc:"what the flask wall gives to the bath, W"`
	GasL           Num           `fact:"gas_l" doc:"gas given off, L at 20 °C and 1 atm"`
	Boils          string        `fact:"boils" doc:"liquid that boils off with the heat, where the contents are at the boil: heat goes into vapour, not into a rise; empty if none"`
	VapourL        Num           `fact:"vapour_l" doc:"vapour that the heat makes there, L at 20 °C and 1 atm"`
	VapourLPerMin  Num           `fact:"vapour_litres_per_min" doc:"at the stated rate, L/min"`
	BoilsOffML     Num           `fact:"boils_off_ml" doc:"liquid that the heat turns into vapour, mL"`
	Gathers        string        `fact:"gathers" doc:"what lies in cold water unreacted after it, and reacts as that warms; empty if nothing"`
	GathersMmol    Num           `fact:"gathers_mmol" doc:"how much of it, mmol"`
	IntoStrongAcid bool          `fact:"into_strong_acid" doc:"water, alcohol or base into concentrated acid"`
	SolidIntoLive  bool          `fact:"solid_into_live" doc:"a solid through an open neck over live reagent"`
	CounterFlow    bool          `fact:"counter_flow" doc:"against a stream of inert gas, or in a glovebox"`
	FromOpen       bool          `fact:"from_open" doc:"comes out of a vessel that stands open to the air"`
	Unproved       bool          `fact:"unproved" doc:"live reagent was destroyed in this vessel and no sign of its end is written before this step"`
	WaterOn        string        `fact:"water_on_unproved" doc:"water meets what held this gas-forming reagent, spent by the equations but with no sign or wait written that it is gone; empty if none"`
	WaterOnMmol    Num           `fact:"water_on_mmol" doc:"how much of it there was, mmol"`
	OpensVessel    bool          `fact:"opens_vessel" doc:"a neck stands open while it happens"`
	OpenAir        bool          `fact:"open_air" doc:"the material passes through open air"`
	FunnelFill     Num           `fact:"funnel_fill" doc:"volume over the funnel's size, as it stands there: measured cold it grows to 20 °C, in a heated funnel to what that has"`
	MlPerGHydride  Num           `fact:"ml_per_g_hydride" doc:"solvent per gram of aluminium hydride in the vessel, mL/g"`
	ReverseOrder   bool          `fact:"reverse_order" doc:"the substrate waits in the vessel for the strong reagent"`
	Conditional    bool          `fact:"conditional" doc:"only if something"`
	Optional       bool          `fact:"optional" doc:"optional"`
	ExternalHeat   bool          `fact:"external_heat" doc:"the bath is at or above the boiling point"`
	Concentration  Num           `fact:"concentration" doc:"live reagent after mixing, mol/L"`
	SmallMmol      bool          `fact:"small" doc:"less than 1 mmol of halide: whole-batch heat of a few tens of joules"`

	OwnBoilingC Num `fact:"own_boiling_c" doc:"bubble point of what is added, by itself at 1 atm, °C"`

	PeakC Num `fact:"peak_c" doc:"temperature that the stated rate or the whole at once brings it to in its bath, °C"`

	HeatedToC   Num `fact:"heated_to_c" doc:"temperature to which the next step that heats the vessel brings it, for an alkylating agent that goes in cold: its heat waits for that, °C"`
	StoredWatts Num `fact:"stored_watts" doc:"heat that waits as it comes at that temperature at first, W: first order, 99 % in the time that the heating step has"`
}

// WaterFacts is water meeting a live reagent.
type WaterFacts struct {
	Whole          bool         `fact:"whole" doc:"the whole text was read: silence is a fault"`
	Reagent        string       `fact:"reagent" doc:"the live reagent"`
	Family         string       `fact:"family" doc:"its family"`
	ReagentMmol    float64      `fact:"reagent_mmol" doc:"equivalents of it that water can take, mmol"`
	Live           bool         `fact:"live" doc:"the trade calls it live; an acyl, sulfur, phosphorus or silyl halide it does not"`
	Vessel         *VesselFacts `fact:"vessel" doc:"where"`
	WaterMmol      Num          `fact:"water_mmol" doc:"water that meets it, mmol"`
	LossPercent    Num          `fact:"loss_percent" doc:"share of the reagent it destroys, %"`
	ExcessMmol     Num          `fact:"excess_mmol" doc:"excess over what the reaction needs, mmol"`
	Source         string       `fact:"source" doc:"largest source of that water: a solvent, the glass, a solid, air"`
	SourceKind     string       `fact:"source_kind" doc:"solvent | glass | solid | air | gas"`
	SourceReagent  bool         `fact:"source_reagent" doc:"that source is the solvent in which a reagent is bought: it is not dried by itself"`
	SourceMmol     Num          `fact:"source_mmol" doc:"what that source brings, mmol"`
	SourcePPM      Num          `fact:"source_ppm" doc:"its water content, ppm by mass"`
	SourceGrade    string       `fact:"source_grade" doc:"how its dryness is known: stated, grade, drying step, not stated"`
	SourceVolumeML Num          `fact:"source_volume_ml" doc:"its volume, mL"`
	NeedPPM        Num          `fact:"need_ppm" doc:"driest solvent this step needs for a loss below the limit and the excess, ppm"`
	NeedMmol       Num          `fact:"need_mmol" doc:"water from all sources that this step stands for such a loss, mmol"`
	SolventMmol    Num          `fact:"solvent_mmol" doc:"from all solvents, mmol"`
	GlassMmol      Num          `fact:"glass_mmol" doc:"from undried glass, mmol"`
	SolidMmol      Num          `fact:"solid_mmol" doc:"from hydrates and damp solids, mmol"`
	AirMmol        Num          `fact:"air_mmol" doc:"from humid air let in, mmol"`
	GlassDry       bool         `fact:"glass_dry" doc:"the vessel was dried and kept dry"`
	Glass          string       `fact:"glass" doc:"dry | damp | wet | not stated"`
	WorkupDried    bool         `fact:"workup_dried" doc:"the liquid was dried only with a work-up salt and handled in air"`
	Titrated       bool         `fact:"on_purpose" doc:"the text titrates the water out on purpose (colour, excess for it)"`
	WaterTolerant  bool         `fact:"water_tolerant" doc:"reagent that is used in water or alcohol on purpose"`
	Ester          string       `fact:"ester" doc:"ester that stands with an alkoxide in its alcohol, where water makes hydroxide that saponifies it; empty if none"`
	EsterMmol      Num          `fact:"ester_mmol" doc:"how much of it, mmol"`
	EsterPercent   Num          `fact:"ester_percent" doc:"share of it that the water takes to its salt, mol for mol, %"`
}

// ExposureFacts is a sensitive species standing under a barrier.
type ExposureFacts struct {
	Whole            bool         `fact:"whole" doc:"the whole text was read: silence is a fault"`
	Species          string       `fact:"species" doc:"the most sensitive live species"`
	Family           string       `fact:"family" doc:"its family"`
	Mmol             float64      `fact:"mmol" doc:"how much of it, mmol"`
	Vessel           *VesselFacts `fact:"vessel" doc:"where"`
	NeedRank         float64      `fact:"need_rank" doc:"barrier it needs, 0 to 4"`
	Need             string       `fact:"need" doc:"in words"`
	BarrierRank      float64      `fact:"barrier_rank" doc:"barrier in force, 0 to 4"`
	Barrier          string       `fact:"barrier" doc:"in words"`
	Accepted         bool         `fact:"accepted" doc:"the trade accepts the lesser barrier here"`
	AcceptedWhy      string       `fact:"accepted_why" doc:"why"`
	Opened           bool         `fact:"opened" doc:"the step opens the vessel to air"`
	Act              string       `fact:"act" doc:"what opens it: open, pour, filter, concentrate, rinse, swap, discard"`
	CounterFlow      bool         `fact:"counter_flow" doc:"against a stream of inert gas"`
	Gas              string       `fact:"gas" doc:"gas in force"`
	GasStated        bool         `fact:"gas_stated" doc:"the gas is named"`
	OutletStated     bool         `fact:"outlet_stated" doc:"a way out is named"`
	GasAttacks       bool         `fact:"gas_attacks" doc:"that gas attacks the species (nitrogen and lithium, carbon dioxide and carbanions)"`
	BetterGas        string       `fact:"better_gas" doc:"gas that does not"`
	OxygenPPM        Num          `fact:"oxygen_ppm" doc:"oxygen in the head space when the species stands there, ppm"`
	OxygenLimit      Num          `fact:"oxygen_limit_ppm" doc:"oxygen the species stands, ppm"`
	OxygenMmol       Num          `fact:"oxygen_mmol" doc:"oxygen in the head space, mmol"`
	DissolvedMmol    Num          `fact:"dissolved_oxygen_mmol" doc:"oxygen dissolved in the liquid there, mmol: what air dissolves less what sparging and cycles took out"`
	DissolvedPercent Num          `fact:"dissolved_oxygen_percent" doc:"share of the species that this oxygen takes, two mol per mol of oxygen, %"`
	OxygenSource     string       `fact:"oxygen_source" doc:"how the head space came to that: cycles, sweep, drying tube, open"`
	Cycles           Num          `fact:"cycles" doc:"evacuate–refill cycles"`
	VacuumMbar       Num          `fact:"vacuum_mbar" doc:"pressure reached in them, mbar"`
	SweepVolumes     Num          `fact:"sweep_volumes" doc:"vessel volumes of gas swept"`
	Degassed         bool         `fact:"degassed" doc:"every liquid in it was degassed after its last exposure"`
	OxygenGrade      bool         `fact:"oxygen_grade" doc:"the species is destroyed by traces of oxygen"`
	Pyrophoric       bool         `fact:"pyrophoric" doc:"pyrophoric in this form"`
	Refluxing        bool         `fact:"refluxing" doc:"boiling solvent vapour fills the head space"`
	Taught           bool         `fact:"taught" doc:"the text says that the technique is what is taught"`
	Refers           bool         `fact:"refers" doc:"the text relies on a common section of the manual"`
	MaxNeedRank      float64      `fact:"max_need_rank" doc:"highest need of any species the vessel ever holds"`
	DryingAgent      string       `fact:"drying_agent" doc:"what the drying tube holds"`

	LiquidBefore float64 `fact:"liquid_before_ml" doc:"liquid that stood in the vessel before the step, mL: a pump would boil it"`
	ArmTo        string  `fact:"arm_to" doc:"flask under inert gas whose gas the vessel, a funnel with an equalising arm, shares when its top is closed"`
	Shares       bool    `fact:"shares" doc:"a closed funnel that shares the gas of that flask"`

	HumidMmol  Num `fact:"humid_mmol" doc:"water vapour that comes in with the air, mmol"`
	AirPercent Num `fact:"air_percent" doc:"share of the species that the oxygen of that air can take, and its nitrogen where that attacks it, %"`
}

// DryingFacts is one drying step.
type DryingFacts struct {
	Whole         bool     `fact:"whole" doc:"the whole text was read: silence is a fault"`
	Target        string   `fact:"target" doc:"glass | solvent | reagent | layer | solid"`
	Name          string   `fact:"name" doc:"what is dried"`
	Family        string   `fact:"family" doc:"its family"`
	Agent         string   `fact:"agent" doc:"drying agent or oven, flame, vacuum"`
	AgentFamily   string   `fact:"agent_family" doc:"family of the agent"`
	AgentKnown    bool     `fact:"agent_known" doc:"the agent is in the compendium"`
	Clash         string   `fact:"clash" doc:"why the agent does not suit the liquid; empty if it does"`
	Explosive     bool     `fact:"explosive" doc:"alkali metal or strong hydride with a halogenated liquid"`
	OvenC         Num      `fact:"oven_c" doc:"oven temperature, °C"`
	Hours         Num      `fact:"hours" doc:"time, h"`
	VacuumDry     bool     `fact:"under_vacuum" doc:"under vacuum or in a stream of dry gas"`
	Flame         bool     `fact:"flame" doc:"by flame or heat gun"`
	CoolIn        string   `fact:"cool_in" doc:"what the glass cools in; empty if not stated"`
	AssembledHot  bool     `fact:"assembled_hot" doc:"assembled hot, purged or evacuated next"`
	FlammableOut  string   `fact:"flammable_out" doc:"while a flame or heat gun is used: a liquid of flash point below 23 °C that stands in a vessel not closed to the room"`
	RinsedOrganic string   `fact:"rinsed_with" doc:"flammable liquid it was last rinsed with, not yet evaporated"`
	LoadPercent   Num      `fact:"load_percent" doc:"agent per volume, % m/v"`
	ListedPercent Num      `fact:"listed_percent" doc:"agent as its row in the materials table lists it, per volume of the liquid, % m/v"`
	StartPPM      Num      `fact:"start_ppm" doc:"water before, ppm"`
	ResidualPPM   Num      `fact:"residual_ppm" doc:"water after, ppm"`
	Basis         string   `fact:"basis" doc:"how the residual was found"`
	ActivationC   Num      `fact:"activation_c" doc:"activation temperature of sieves, °C"`
	Activated     bool     `fact:"activated" doc:"activation is written, or the agent is used as a still, column or metal"`
	Sieve         bool     `fact:"sieve" doc:"molecular sieve"`
	Still         bool     `fact:"still" doc:"a still: distilled from the agent"`
	Column        bool     `fact:"column" doc:"a column of alumina or the like"`
	WorkupSalt    bool     `fact:"workup_salt" doc:"agent that takes out bulk water only"`
	CapacityG     Num      `fact:"capacity_g" doc:"water the agent can take, g"`
	WaterG        Num      `fact:"water_g" doc:"water present, g"`
	MeetsLive     bool     `fact:"meets_live" doc:"a live reagent meets it later"`
	Topics        []string `fact:"topics" doc:"caution topics that this act calls for"`
	UsedStep      float64  `fact:"used_step" doc:"earlier step in which the liquid or solid goes in, where no later step takes any more of it; 0 where one does"`
}

// HeatingFacts is a change or hold of temperature.
type HeatingFacts struct {
	Whole            bool         `fact:"whole" doc:"the whole text was read: silence is a fault"`
	Verb             string       `fact:"verb" doc:"cool, heat, warm, reflux, stir, stand, distil, concentrate"`
	Vessel           *VesselFacts `fact:"vessel" doc:"the vessel before"`
	TargetC          Num          `fact:"target_c" doc:"temperature asked for, °C"`
	Gathered         string       `fact:"gathered" doc:"what had gathered unreacted in cold water and reacts now, empty if nothing"`
	GatheredKJ       Num          `fact:"gathered_kj" doc:"its heat, kJ"`
	GatheredRiseK    Num          `fact:"gathered_rise_k" doc:"adiabatic rise by that heat, K"`
	BathC            Num          `fact:"bath_c" doc:"bath temperature, °C"`
	Bath             string       `fact:"bath" doc:"bath or source of heat"`
	BathLowC         Num          `fact:"bath_low_c" doc:"coldest that bath can give, °C"`
	BathHighC        Num          `fact:"bath_high_c" doc:"hottest that bath can give, °C"`
	Reachable        bool         `fact:"reachable" doc:"the bath can give what is asked"`
	WaterBath        bool         `fact:"water_bath" doc:"the bath holds water"`
	Ice              bool         `fact:"ice" doc:"the bath is ice"`
	Flame            bool         `fact:"flame" doc:"open flame or heat gun"`
	Minutes          Num          `fact:"minutes" doc:"how long, min"`
	FreezesC         Num          `fact:"freezes_c" doc:"freezing point of the solvent, °C"`
	Frozen           bool         `fact:"frozen" doc:"the solvent freezes at the target"`
	AboveBoilK       Num          `fact:"above_boiling_k" doc:"bath less boiling point, K"`
	Closed           bool         `fact:"sealed" doc:"no way out for gas"`
	PressureBar      Num          `fact:"pressure_bar" doc:"pressure if there is no way out, bar absolute"`
	Reagent          string       `fact:"reagent" doc:"live reagent held at this temperature"`
	PressureSaid     bool         `fact:"pressure_stated" doc:"the pressure of a vacuum is written, at the step or for the line"`
	HalfLifeMin      Num          `fact:"half_life_min" doc:"half-life of the reagent in this solvent at this temperature, min"`
	KeepsAtC         Num          `fact:"keeps_at_c" doc:"warmest usual bath in which less than 7 % is lost in that time, °C"`
	LostPercent      Num          `fact:"lost_percent" doc:"reagent lost in the hold, %"`
	ContractionML    Num          `fact:"contraction_ml" doc:"gas drawn in on cooling, mL: what the gas shrinks by and what the liquid does"`
	DrawsBack        bool         `fact:"draws_back" doc:"a bubbler or scrubber liquid can be drawn in"`
	HoldupML         Num          `fact:"holdup_ml" doc:"what an empty trap before the scrubber takes up of its liquid before that comes over, mL"`
	DrawnML          Num          `fact:"drawn_ml" doc:"scrubber liquid that comes over into the vessel as it cools, mL"`
	DrawnWaterMmol   Num          `fact:"drawn_water_mmol" doc:"water in that, mmol"`
	DrawnOn          string       `fact:"drawn_on" doc:"what water attacks in a vessel whose scrubber tube dips; empty if nothing"`
	DrawnPercent     Num          `fact:"drawn_percent" doc:"share of that which the water takes, %"`
	FlowKept         bool         `fact:"flow_kept" doc:"a flow of gas is stated while it cools"`
	EvapToDryness    bool         `fact:"to_dryness" doc:"a peroxide former is taken to dryness"`
	Peroxide         string       `fact:"peroxide_former" doc:"peroxide former that is distilled or concentrated"`
	PeroxideSolution bool         `fact:"peroxide_solution" doc:"that row is a solution in it"`
	PeroxideRow      string       `fact:"peroxide_row" doc:"the row of the materials table that is it"`
	PeroxideML       Num          `fact:"peroxide_ml" doc:"volume of the peroxide former itself, mL"`
	PeroxideNote     string       `fact:"peroxide_note" doc:"why what is written of its age or test does not count; empty if it does or nothing is written"`
	Peroxides        bool         `fact:"peroxides_found" doc:"its test found peroxides, 25 ppm and over"`
	PeroxideTested   bool         `fact:"peroxide_tested" doc:"a test, a fresh bottle or a date is written"`
	Distillation     bool         `fact:"distillation" doc:"distilled"`
	Rotary           bool         `fact:"rotary" doc:"rotary evaporator"`
	LiveMmol         float64      `fact:"live_mmol" doc:"live reagent in it, mmol"`
	Unattended       bool         `fact:"unattended" doc:"overnight or beyond the section"`
	Trap             bool         `fact:"trap" doc:"a cold trap is fitted"`
	TrapColdC        Num          `fact:"trap_c" doc:"trap temperature, °C"`
	CondensesGas     string       `fact:"condenses" doc:"gas that condenses in the trap or flask: oxygen, argon; empty if none"`
	VolumeOffML      Num          `fact:"volume_off_ml" doc:"solvent taken off, mL"`
	DrynessSaid      bool         `fact:"dryness_said" doc:"the text says that the pot is taken dry"`
	Leave            bool         `fact:"leave" doc:"says how much is left"`
	TimeConstantMin  Num          `fact:"time_constant_min" doc:"time in which the vessel loses 63 % of its distance to the bath, min"`
	ReachMin         Num          `fact:"reach_min" doc:"time until the vessel is within 2 K of the target, min"`
	ReachedC         Num          `fact:"reached_c" doc:"temperature after the time that is written, °C"`
	WallWatts        Num          `fact:"wall_watts" doc:"heat through the wall of the flask at the start, W"`

	RangeC string `fact:"range" doc:"the range of temperature as written, of which the warm end is judged; empty if none"`

	StatedBar Num `fact:"stated_bar" doc:"pressure as written for the step, bar absolute"`

	Hot *HotFacts `fact:"hot" doc:"the vessel at the temperature of this step; unknown where nothing is heated"`
}

// ReleaseFacts is gas given off.
type ReleaseFacts struct {
	Whole         bool         `fact:"whole" doc:"the whole text was read: silence is a fault"`
	Gas           string       `fact:"gas" doc:"which gas"`
	Litres        Num          `fact:"litres" doc:"how much at 20 °C and 1 atm, L"`
	Mmol          Num          `fact:"mmol" doc:"how much, mmol"`
	LPerMin       Num          `fact:"litres_per_min" doc:"at the stated rate, L/min"`
	Vessel        *VesselFacts `fact:"vessel" doc:"from which vessel"`
	PressureBar   Num          `fact:"pressure_bar" doc:"pressure if it had no way out, bar absolute"`
	Toxic         bool         `fact:"toxic" doc:"toxic gas"`
	Flammable     bool         `fact:"flammable" doc:"flammable gas"`
	Scrubbed      bool         `fact:"scrubbed" doc:"led through an absorbent"`
	ScrubRatio    Num          `fact:"scrub_ratio" doc:"mol absorbent over mol gas"`
	SuckBack      bool         `fact:"suck_back" doc:"an aqueous scrubber can be drawn into a water-reactive vessel"`
	ScrubberML    Num          `fact:"scrubber_ml" doc:"liquid in the scrubber, mL"`
	TrapML        Num          `fact:"trap_ml" doc:"size of the empty trap before the scrubber, mL"`
	Hood          bool         `fact:"hood" doc:"a hood is named for this step or the page"`
	Cause         string       `fact:"cause" doc:"what gives it off"`
	Narrow        bool         `fact:"narrow" doc:"the only way out is a needle or capillary"`
	GasPerPortL   Num          `fact:"portion_litres" doc:"gas per portion, L"`
	PeakLPerMin   Num          `fact:"peak_litres_per_min" doc:"at the stated rate, or a portion's gas within a minute, L/min"`
	OutletLPerMin Num          `fact:"outlet_litres_per_min" doc:"what the way out carries at 0.1 bar, L/min; nothing for a balloon"`
	OutletMbar    Num          `fact:"outlet_mbar" doc:"pressure in the vessel above the room at the peak, mbar"`
}

// ClosureFacts is a vessel with no way out.
type ClosureFacts struct {
	Vessel       *VesselFacts `fact:"vessel" doc:"the vessel"`
	Why          string       `fact:"why" doc:"heated | gas | cold then warmed | supply | stored"`
	PressureBar  Num          `fact:"pressure_bar" doc:"predicted pressure, bar absolute"`
	RatedBar     Num          `fact:"rated_bar" doc:"pressure rating, bar absolute"`
	TemperatureC Num          `fact:"temperature_c" doc:"highest temperature while closed, °C"`
	GasL         Num          `fact:"gas_l" doc:"gas given off in it, L"`
	Supply       bool         `fact:"supply" doc:"a gas supply feeds it"`
	Relief       bool         `fact:"relief" doc:"the supply is limited by a bubbler or relief"`
	Hours        Num          `fact:"hours" doc:"how long it stays closed, h"`
	ClosedC      Num          `fact:"closed_c" doc:"temperature at which it was closed, °C"`
	ClosedFill   Num          `fact:"closed_fill" doc:"liquid over size when it was closed, 0 to 1"`
	LiquidFill   Num          `fact:"liquid_fill" doc:"liquid over size at the highest temperature; from 1 on the liquid alone bursts it"`
	FullC        Num          `fact:"full_c" doc:"temperature at which the liquid fills it, °C; unknown where it does not"`
}

// ContactFacts is two things that should not meet, meeting.
type ContactFacts struct {
	A            string       `fact:"a" doc:"one"`
	B            string       `fact:"b" doc:"the other"`
	FamilyA      string       `fact:"family_a" doc:"family of the one"`
	FamilyB      string       `fact:"family_b" doc:"family of the other"`
	Kind         string       `fact:"kind" doc:"what kind of clash: 'group pair' | 'specific pair' | 'keep from'"`
	Consequence  string       `fact:"consequence" doc:"what happens"`
	Severe       bool         `fact:"severe" doc:"fire, explosion or toxic gas"`
	Wet          bool         `fact:"wet" doc:"one of the two comes in water, or stands in it"`
	Intended     bool         `fact:"intended" doc:"a declared reaction, a quench or a work-up step"`
	Vessel       *VesselFacts `fact:"vessel" doc:"where"`
	TemperatureC Num          `fact:"temperature_c" doc:"temperature, °C"`
	Source       string       `fact:"source" doc:"source of the pair"`
}

// TransferFacts is a sensitive liquid being moved by hand.
type TransferFacts struct {
	Whole      bool          `fact:"whole" doc:"the whole text was read: silence is a fault"`
	Material   MaterialFacts `fact:"material" doc:"what"`
	Method     string        `fact:"method" doc:"syringe, cannula, funnel, pour, pipette, or as written; empty if not stated"`
	Tool       PlaceFacts    `fact:"tool" doc:"the syringe, cannula or funnel"`
	VolumeML   Num           `fact:"volume_ml" doc:"drawn volume, mL"`
	ToolFill   Num           `fact:"tool_fill" doc:"drawn volume over syringe size; what is drawn cold grows to 20 °C"`
	Drawn      Num           `fact:"drawn" doc:"drawn volume over syringe size, as it is drawn"`
	OpenAir    bool          `fact:"open_air" doc:"passes through open air"`
	Rinsed     bool          `fact:"rinsed" doc:"the tool is rinsed and its residue destroyed afterwards"`
	Inert      bool          `fact:"inert" doc:"from and to an inert vessel or in a glovebox"`
	RinsedWith string        `fact:"rinsed_with" doc:"what the tool is rinsed or destroyed with, first"`
	BulkStock  bool          `fact:"bulk_stock" doc:"students draw from a stock bottle"`
	Vessel     *VesselFacts  `fact:"vessel" doc:"where it goes"`

	FilmML   Num `fact:"film_ml" doc:"liquid that stays in syringe, needle or cannula, mL"`
	FilmMmol Num `fact:"film_mmol" doc:"live reagent in it until it is rinsed out and destroyed, mmol"`
}

// QuenchFacts is the destruction of what is live.
type QuenchFacts struct {
	Whole         bool          `fact:"whole" doc:"the whole text was read: silence is a fault"`
	Reagent       string        `fact:"reagent" doc:"what is destroyed"`
	Family        string        `fact:"family" doc:"its family"`
	LiveMmol      float64       `fact:"live_mmol" doc:"equivalents live before, mmol"`
	LeftMmol      float64       `fact:"left_mmol" doc:"equivalents live after, mmol"`
	With          MaterialFacts `fact:"with" doc:"the quench"`
	WithVigour    float64       `fact:"with_vigour" doc:"0 hindered alcohol, 1 alcohol, 2 ester or wet salt, 3 water or ammonium chloride, 4 acid"`
	Vigour        float64       `fact:"vigour" doc:"how hard the reagent takes water, 0 to 5"`
	First         bool          `fact:"first" doc:"the first quench this reagent meets"`
	FirstOK       bool          `fact:"first_ok" doc:"the trade accepts this quench first for this reagent"`
	OverMin       Num           `fact:"over_min" doc:"time over which the quench goes in, min"`
	Ratio         Num           `fact:"ratio" doc:"protic equivalents over live equivalents, this step and the quenches after it"`
	Vessel        *VesselFacts  `fact:"vessel" doc:"vessel before"`
	Reverse       bool          `fact:"reverse" doc:"poured into the quench"`
	TemperatureC  Num           `fact:"temperature_c" doc:"temperature at the start, °C"`
	Cooled        bool          `fact:"cooled" doc:"a bath, ice or a temperature is written"`
	RateGiven     bool          `fact:"rate_given" doc:"a time, rate or portions is written"`
	InertKept     bool          `fact:"inert_kept" doc:"the barrier stays while it is destroyed"`
	GasL          Num           `fact:"gas_l" doc:"gas given off, L"`
	Gas           string        `fact:"gas" doc:"which"`
	HeatKJ        Num           `fact:"heat_kj" doc:"heat given off, kJ"`
	RiseK         Num           `fact:"rise_k" doc:"adiabatic rise, K"`
	Boils         string        `fact:"boils" doc:"liquid that boils off with the heat, where the contents are at the boil: heat goes into vapour, not into a rise; empty if none"`
	VapourL       Num           `fact:"vapour_l" doc:"vapour that the heat makes there, L at 20 °C and 1 atm"`
	BoilsOffML    Num           `fact:"boils_off_ml" doc:"liquid that the heat turns into vapour, mL"`
	FillAfter     Num           `fact:"fill_after" doc:"fill after it, 0 to 1"`
	Hot           *HotFacts     `fact:"hot" doc:"the vessel after it, at the hottest that its heat brings it to"`
	Concentration Num           `fact:"concentration" doc:"live equivalents per litre before, mol/L"`
	EndSign       bool          `fact:"end_sign" doc:"says how the end is known, or a waiting time follows"`
	MlPerG        Num           `fact:"ml_per_g" doc:"first water per gram of aluminium hydride, mL/g"`
	Pattern       string        `fact:"pattern" doc:"the water : base : water volumes per gram, when that work-up is used"`
	PatternOff    Num           `fact:"pattern_off" doc:"largest deviation from 1 : 1 : 3, as a share"`
	PatternShape  Num           `fact:"pattern_shape" doc:"largest deviation of base and second water from the first water's own 1 : 1 : 3, as a share"`
	PatternScale  Num           `fact:"pattern_scale" doc:"first water as a multiple of 1 mL per gram"`
	SlowCold      bool          `fact:"slow_cold" doc:"hydrolyses slowly when cold and piles up"`
	TemperC       Num           `fact:"hydrolysis_c" doc:"temperature at which it hydrolyses as it is added, °C"`
	Large         bool          `fact:"large" doc:"more than trace: at least 1 mmol"`
	Desc          string        `fact:"how" doc:"how it is written"`
}

// WorkupFacts is a step on a quenched mixture.
type WorkupFacts struct {
	Whole        bool         `fact:"whole" doc:"the whole text was read: silence is a fault"`
	Verb         string       `fact:"verb" doc:"extract, wash, separate, filter, …"`
	Vessel       *VesselFacts `fact:"vessel" doc:"what it acts on, before"`
	LiveMmol     float64      `fact:"live_mmol" doc:"live reagent still there, mmol"`
	Live         string       `fact:"live" doc:"which"`
	With         string       `fact:"with" doc:"liquid or agent used"`
	WithFamily   string       `fact:"with_family" doc:"its family"`
	TemperatureC Num          `fact:"temperature_c" doc:"temperature, °C"`
	BoilingC     Num          `fact:"boiling_c" doc:"lowest boiling point there, °C"`
	GasL         Num          `fact:"gas_l" doc:"gas it gives off, L"`
	Gas          string       `fact:"gas" doc:"which"`
	VentGiven    bool         `fact:"vent_given" doc:"venting is written"`
	FunnelML     Num          `fact:"funnel_ml" doc:"size of the funnel, mL"`
	Funnel       string       `fact:"funnel" doc:"the separating funnel it is shaken in, empty if not known"`
	FunnelFill   Num          `fact:"funnel_fill" doc:"liquid in the separating funnel as it is shaken, one portion of the agent at a time, over its size"`
	Stoppered    bool         `fact:"stoppered" doc:"closed and shaken"`
	LayerNamed   bool         `fact:"layer_named" doc:"the kept layer is named"`
	LayerWrong   string       `fact:"layer_wrong" doc:"why the stated layer is the wrong one by density; empty if right or not stated"`
	PyroSolid    string       `fact:"pyrophoric_solid" doc:"pyrophoric solid on the filter, empty if none"`
	DriedInAir   bool         `fact:"dried_in_air" doc:"air is drawn through it"`
	Suction      bool         `fact:"suction" doc:"by suction: air follows the liquid through the cake"`
	KeptWet      bool         `fact:"kept_wet" doc:"the step or a caution says that the cake stays wet, or inert gas covers it"`
	Hydrogen     bool         `fact:"hydrogen" doc:"hydrogen was led over it before"`
	Sensitive    string       `fact:"sensitive" doc:"oxygen-sensitive species handled in air, empty if none"`
	VolumeML     Num          `fact:"volume_ml" doc:"total volume, mL"`
	AgentAmount  bool         `fact:"agent_amount" doc:"amount of the agent is written"`
	AcidMmol     Num          `fact:"acid_mmol" doc:"acid that a carbonate meets, mmol"`
	VesselRatio  Num          `fact:"vessel_ratio" doc:"vessel size over liquid volume"`
}

// DiscardFacts is a leftover going into a container.
type DiscardFacts struct {
	Whole         bool     `fact:"whole" doc:"the whole text was read: silence is a fault"`
	Stream        string   `fact:"stream" doc:"the leftover"`
	Into          string   `fact:"into" doc:"container as written"`
	Container     string   `fact:"container" doc:"the site's container it was read as; empty if not known"`
	Known         bool     `fact:"known" doc:"the container is one the site has"`
	Drain         bool     `fact:"drain" doc:"down the sink or left to evaporate"`
	LiveMmol      float64  `fact:"live_mmol" doc:"live reagent in it, mmol"`
	Live          string   `fact:"live" doc:"which"`
	Halogenated   bool     `fact:"halogenated" doc:"holds, or may hold, a halogenated organic"`
	HalogenSource string   `fact:"halogen_source" doc:"which, and why it may be there"`
	HalogenMmol   Num      `fact:"halogen_mmol" doc:"how much of it, mmol"`
	HalogenShare  Num      `fact:"halogen_share" doc:"its share of the stream by mass, %"`
	Acidic        bool     `fact:"acidic" doc:"acidic stream"`
	Basic         bool     `fact:"basic" doc:"basic stream"`
	Aqueous       bool     `fact:"aqueous" doc:"aqueous stream"`
	Organic       bool     `fact:"organic" doc:"organic liquid"`
	Solid         bool     `fact:"solid" doc:"a solid"`
	Oxidiser      bool     `fact:"oxidiser" doc:"oxidising stream"`
	UpperML       Num      `fact:"other_layer_ml" doc:"liquid in it that does not mix with its water: a layer that wants parting, mL"`
	Upper         string   `fact:"other_layer" doc:"most of that liquid"`
	WaterML       Num      `fact:"water_ml" doc:"water in it, mL"`
	ToxicMetal    string   `fact:"toxic_metal" doc:"toxic metal it holds; empty if none"`
	Cyanide       bool     `fact:"cyanide" doc:"holds cyanide"`
	Sulfide       bool     `fact:"sulfide" doc:"holds sulfide"`
	Azide         bool     `fact:"azide" doc:"holds azide"`
	Pyrophoric    string   `fact:"pyrophoric" doc:"pyrophoric solid or residue; empty if none"`
	WaterReactive string   `fact:"water_reactive" doc:"water-reactive residue; empty if none"`
	Cryogen       string   `fact:"cryogen" doc:"dry ice or a liquefied gas in it; empty if none"`
	CryogenOnly   bool     `fact:"cryogen_only" doc:"it holds nothing else"`
	GoesOff       bool     `fact:"goes_off" doc:"left in the hood or let into the air, in no container"`
	GasFormer     string   `fact:"gas_former" doc:"gas it may still give off"`
	Refused       string   `fact:"refused" doc:"why that container does not take it; empty if it does"`
	Better        string   `fact:"better" doc:"container that takes it"`
	BetterAfter   string   `fact:"better_after" doc:"container that takes it once what is live in it has been destroyed"`
	Closed        bool     `fact:"sealed" doc:"the container is closed tight"`
	VolumeML      Num      `fact:"volume_ml" doc:"volume per student, mL"`
	SectionL      Num      `fact:"section_l" doc:"litres per section"`
	ContainerL    Num      `fact:"container_l" doc:"size of the container, L"`
	Provided      Num      `fact:"provided" doc:"containers provided, by the apparatus list or the site"`
	Contents      []string `fact:"contents" doc:"what it may hold"`
	SolidG        Num      `fact:"solid_g" doc:"solid in it per student, g"`
	WetWith       string   `fact:"wet_with" doc:"liquid that wets a solid from a filter, a column or a bottle, as it ran off; empty if none"`
	WetML         Num      `fact:"wet_ml" doc:"how much of that liquid the solid holds at most, mL"`
	WaterTakenG   Num      `fact:"water_taken_g" doc:"water that a drying agent has taken up, g"`
	Sharp         bool     `fact:"sharp" doc:"needle or other sharp"`
}

// MeetingFacts is two streams in one container.
type MeetingFacts struct {
	Container   string `fact:"container" doc:"the container"`
	A           string `fact:"a" doc:"one stream"`
	B           string `fact:"b" doc:"the other"`
	StepA       Num    `fact:"step_a" doc:"step of the one"`
	PartA       string `fact:"part_a" doc:"what in the one reacts"`
	PartB       string `fact:"part_b" doc:"what in the other reacts"`
	Consequence string `fact:"consequence" doc:"what happens"`
	Severe      bool   `fact:"severe" doc:"fire, explosion, toxic or flammable gas"`
	Gas         string `fact:"gas" doc:"gas that would form; empty if none"`
	Source      string `fact:"source" doc:"source of the pair"`
	GroupA      string `fact:"group_a" doc:"its waste group"`
	GroupB      string `fact:"group_b" doc:"its waste group"`
	GasL        Num    `fact:"gas_l" doc:"gas that forms, of every student, L; known for carbonate with acid"`
	Better      string `fact:"better" doc:"another container that takes the one stream"`
	OtherFile   string `fact:"other_file" doc:"the procedure that the other stream is of; empty when it is the same"`
}

// ContainerFacts is a container with all that the section puts into it.
type ContainerFacts struct {
	Container string   `fact:"container" doc:"the container"`
	Known     bool     `fact:"known" doc:"it is one that the site has"`
	Streams   []string `fact:"streams" doc:"the leftovers that go into it, with their file where several share it"`
	Files     []string `fact:"files" doc:"the procedures that share it; empty when one is judged alone"`
	Litres    Num      `fact:"litres" doc:"litres in all, of every student"`
	SizeL     Num      `fact:"size_l" doc:"size of the container, L"`
	Bottles   Num      `fact:"bottles" doc:"containers needed at the fill limit"`
	Provided  Num      `fact:"provided" doc:"containers provided, by the apparatus list or the site"`
}

// HazardFacts is a hazard and the caution it calls for.
type HazardFacts struct {
	Whole     bool     `fact:"whole" doc:"the whole text was read: silence is a fault"`
	Topic     string   `fact:"topic" doc:"caution topic"`
	Of        string   `fact:"of" doc:"what has the hazard"`
	Amount    string   `fact:"amount" doc:"how much of it"`
	Mmol      Num      `fact:"mmol" doc:"how much, mmol"`
	Present   bool     `fact:"present" doc:"a caution on this topic stands on the page"`
	Before    bool     `fact:"before" doc:"it stands before or at the first step that needs it"`
	CautionAt Num      `fact:"caution_step" doc:"step of the first such caution, 0 for the head of the page"`
	Names     bool     `fact:"names" doc:"it names the substance or act, or stands at its step"`
	Grave     bool     `fact:"grave" doc:"pyrophoric, water-reactive, toxic gas, explosive, vacuum or cryogen"`
	General   bool     `fact:"general" doc:"only a general word such as careful"`
	All       []string `fact:"all" doc:"everything on the page with this hazard that no caution names"`
	Act       bool     `fact:"act" doc:"the hazard comes of an act or a gas of this step, not of a substance in the table"`
	OfSolvent bool     `fact:"of_solvent" doc:"it is a hydrocarbon, halogenated or ether solvent, for which another may do"`
	ReadyText string   `fact:"ready_text" doc:"a text that would do"`
	Codes     []string `fact:"codes" doc:"codes that call for it"`
}

// FillFacts is a vessel that comes to be nearly full, or more than full.
type FillFacts struct {
	Vessel   string `fact:"vessel" doc:"which"`
	Kind     string `fact:"kind" doc:"its kind"`
	SizeML   Num    `fact:"size_ml" doc:"its size, mL"`
	VolumeML Num    `fact:"volume_ml" doc:"liquid in it after the step at the temperature it has, mL; no colder than 20 °C"`
	Fill     Num    `fact:"fill" doc:"that over size"`

	TemperatureC Num `fact:"temperature_c" doc:"that temperature, °C"`
	ColdFill     Num `fact:"cold_fill" doc:"liquid over size at 20 °C"`
}
