package checker_test

import (
	"fmt"
	"math"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"ketyl/checker"
	"ketyl/checker/document"
	"ketyl/checker/finding"
)

// Seeded faults at scale: every safeguard that a released procedure writes is
// taken out or altered, one at a time, and must be missed by name; edits that
// harm nothing must change nothing. What counts as a safeguard is laid down
// here, apart from the rules and the compendium.

const explainedFile = "../testdata/seeded/explained.yaml"

// page is the tree of one procedure, to be cut about.
type page struct {
	file string
	root *document.Node
}

func (p page) clone() page { return page{p.file, p.root.Clone()} }

func (p page) steps() []*document.Node { return p.root.Get("steps").Items }

func (p page) row(table, name string) *document.Node { return p.root.Get(table).Get(name) }

func (p page) rows(table string) []document.Entry {
	if t := p.root.Get(table); t != nil {
		return t.Entries
	}
	return nil
}

// cut takes the steps of the given places out.
func (p page) cut(places ...int) {
	s := p.root.Get("steps")
	var kept []*document.Node
	for i, n := range s.Items {
		if !slices.Contains(places, i) {
			kept = append(kept, n)
		}
	}
	s.Items = kept
}

// move puts the step at from where it stands after the one now at to; -1 puts
// it first.
func (p page) move(from, to int) {
	s := p.root.Get("steps")
	n := s.Items[from]
	s.Items = slices.Delete(slices.Clone(s.Items), from, from+1)
	if from > to {
		to++
	}
	s.Items = slices.Insert(s.Items, to, n)
}

func (p page) insert(at int, entries ...string) {
	n := &document.Node{Kind: document.Mapping}
	for i := 0; i+1 < len(entries); i += 2 {
		n.Set(entries[i], document.ScalarNode(entries[i+1]))
	}
	s := p.root.Get("steps")
	s.Items = slices.Insert(slices.Clone(s.Items), at, n)
}

func verbOf(step *document.Node) string { return step.Entries[0].Key.Text }

// words are the texts of a value or of a list of them.
func words(n *document.Node) []string {
	switch {
	case n == nil:
		return nil
	case n.Kind == document.Scalar:
		return []string{n.Text}
	}
	var all []string
	for _, item := range n.Items {
		all = append(all, words(item)...)
	}
	return all
}

func word(n *document.Node) string {
	if n == nil || n.Kind != document.Scalar {
		return ""
	}
	return n.Text
}

func objects(step *document.Node) []string { return words(step.Entries[0].Value) }

func text(s string) *document.Node {
	n := document.ScalarNode(s)
	n.Quoted = strings.Contains(s, ", ")
	return n
}

// label names a step as a reader would, with its turn when there are several.
func (p page) label(i int) string {
	name := func(n *document.Node) string { return verbOf(n) + " " + strings.Join(objects(n), ", ") }
	l, turn := name(p.steps()[i]), 1
	for _, n := range p.steps()[:i] {
		if name(n) == l {
			turn++
		}
	}
	if turn > 1 {
		return fmt.Sprintf("%s (%d)", l, turn)
	}
	return l
}

// next is the first step from i on that f takes, or -1.
func (p page) next(i int, f func(n *document.Node) bool) int {
	for ; i < len(p.steps()); i++ {
		if f(p.steps()[i]) {
			return i
		}
	}
	return -1
}

// does makes a test for steps by verb and, if given, object.
func does(verbs string, object ...string) func(*document.Node) bool {
	return func(n *document.Node) bool {
		if !slices.Contains(strings.Fields(verbs), verbOf(n)) {
			return false
		}
		return len(object) == 0 || slices.ContainsFunc(objects(n), func(o string) bool { return slices.Contains(object, o) })
	}
}

// What the reagents of the examples ask for, as the trade teaches it.
const (
	wants1Dry   = 1 << iota // attacked by water
	wantsGas                // attacked by oxygen: gas, not a drying tube
	wantsNoO2               // low-valent complexes: degassed liquids
	pyrophoric              // catches fire in air
	alkaliMetal             // lithium, sodium
)

var traits = map[string]int{
	"n-butyllithium":                           wants1Dry | wantsGas | pyrophoric,
	"lithium":                                  wants1Dry | wantsGas | alkaliMetal,
	"sodium":                                   wants1Dry | alkaliMetal,
	"magnesium":                                wants1Dry,
	"lithium aluminium hydride":                wants1Dry | wantsGas,
	"borane tetrahydrofuran complex":           wants1Dry | wantsGas,
	"thionyl chloride":                         wants1Dry,
	"bis(1,5-cyclooctadiene)nickel(0)":         wantsGas | wantsNoO2,
	"tetrakis(triphenylphosphine)palladium(0)": wantsGas | wantsNoO2,
}

// has reports whether the page uses a reagent with all of the traits.
func (p page) has(t int) bool {
	for _, e := range p.rows("materials") {
		if traits[e.Key.Text]&t == t {
			return true
		}
	}
	return false
}

// filled is where a reagent with the traits first gets into a vessel: its
// step and vessel; -1 when there is none.
func (p page) filled(t int) (step int, vessel string) {
	for i, n := range p.steps() {
		if does("add charge transfer")(n) && slices.ContainsFunc(objects(n), func(o string) bool { return traits[o]&t == t }) {
			return i, word(n.Get("to"))
		}
	}
	return -1, ""
}

// flasks are the vessels that see live reagent: those it is put into, and
// those that their contents go to before a quench.
func (p page) flasks(t int) []string {
	var all []string
	for _, n := range p.steps() {
		if !does("add charge transfer")(n) {
			continue
		}
		live := slices.ContainsFunc(objects(n), func(o string) bool { return traits[o]&t == t || slices.Contains(all, o) })
		if to := word(n.Get("to")); live && !slices.Contains(all, to) {
			all = append(all, to)
		}
	}
	return all
}

func (p page) kind(apparatus string) string { return word(p.row("apparatus", apparatus).Get("kind")) }

var figure = regexp.MustCompile(`^((?:about |\d+ x )?)(-?\d+(?:\.\d+)?)((?: to |-)\d+(?:\.\d+)?)?( ?)(.*)$`)

// times puts f times the first figure of a quantity in its place.
func times(s string, f float64) string {
	m := figure.FindStringSubmatch(s)
	if m == nil {
		panic("no figure in " + s)
	}
	x, _ := strconv.ParseFloat(m[2], 64)
	return m[1] + plainNumber(x*f) + m[4] + m[5]
}

func plainNumber(x float64) string {
	if x != 0 {
		d := math.Pow(10, 8-math.Ceil(math.Log10(math.Abs(x))))
		x = math.Round(x*d) / d
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

func unitOf(s string) string {
	m := figure.FindStringSubmatch(s)
	if m == nil {
		return ""
	}
	u, _, _ := strings.Cut(m[5], " in ")
	return u
}

// change is one edit of one page.
type change struct {
	family  string // of safeguards: drying, load, …; or of harmless edits
	what    string // what was taken out, by the reader's words
	answers []string
	level   finding.Level
	slip    bool   // a unit slip, which the format may refuse to read
	word    bool   // a word is at fault, so that there is no figure to show
	says    string // the topic that the message must name; empty for anything
	edit    func(p page)
}

func (c change) name() string { return c.family + ": " + c.what }

// mutator takes out or alters one kind of safeguard.
type mutator struct {
	family  string        // the row of the table
	answers string        // globs of the rules that may answer
	level   finding.Level // at least; empty for revise
	unless  string        // when there is nothing to take out
	slip    bool
	word    bool // a word is at fault, not a figure
	sites   func(p page, add func(what string, edit func(p page)))
}

type adder = func(what string, edit func(p page))

// perStep offers every step that takes says yes to.
func perStep(takes func(p page, i int, n *document.Node) bool, what string, edit func(p page, i int, n *document.Node)) func(page, adder) {
	return func(p page, add adder) {
		for i, n := range p.steps() {
			if takes(p, i, n) {
				add(what+", "+p.label(i), func(p page) { edit(p, i, p.steps()[i]) })
			}
		}
	}
}

// isGlassDrying: a dry step of glassware; isSolventDrying: of a liquid before
// the work-up.
func isGlassDrying(n *document.Node) bool { return verbOf(n) == "dry" && n.Get("in") != nil }

func (p page) isSolventDrying(n *document.Node) bool {
	return verbOf(n) == "dry" && n.Get("with") != nil && len(objects(n)) == 1 && p.row("materials", objects(n)[0]) != nil
}

// sieves: a solvent that must be dry stands over sieves.
func sieves(p page, _ int, n *document.Node) bool {
	return p.isSolventDrying(n) && n.Get("load") != nil && p.has(wants1Dry)
}

// undry makes the solvent of a drying step one that needs it.
func (p page) undry(n *document.Node) {
	p.row("materials", objects(n)[0]).Set("grade", text("reagent"))
}

// doses are the steps that put reagent in at a pace.
func dose(p page, _ int, n *document.Node) bool {
	return does("add transfer")(n) && n.Get("over") != nil
}

// hot are the reagents and partners whose addition gives heat worth a rate:
// organometallics and hydrides with their electrophiles, acid chlorides with
// amines, peroxide oxidation, metals.
var hot = map[string]bool{
	"n-butyllithium": true, "benzaldehyde": true, "4-tert-butylcyclohexanone": true, "methyl benzoate": true,
	"diethylamine": true, "hydrogen peroxide": true, "borane tetrahydrofuran complex": true, "sodium": true,
	"1-bromobutane": true, "bromobenzene": true, "sodium borohydride": true, "ethyl acetate": true, "sulfuric acid": true,
}

func hotDose(p page, i int, n *document.Node) bool {
	starter := i+1 < len(p.steps()) && verbOf(p.steps()[i+1]) == "confirm"
	return dose(p, i, n) && !starter && (hot[objects(n)[0]] || verbOf(n) == "transfer" && p.has(pyrophoric))
}

// isQuench: a quench that meets live reagent; water on salts is none.
func isQuench(p page, _ int, n *document.Node) bool {
	if verbOf(n) != "quench" {
		return false
	}
	for _, e := range p.rows("materials") {
		if killed[e.Key.Text] {
			return true
		}
	}
	return false
}

// killed are the reagents of which something is left to quench.
var killed = map[string]bool{"n-butyllithium": true, "lithium": true, "lithium aluminium hydride": true,
	"borane tetrahydrofuran complex": true, "magnesium": true, "sodium borohydride": true}

// gassing pages give hydrogen with the quench.
func (p page) gassing() bool {
	return p.row("materials", "lithium aluminium hydride") != nil || p.row("materials", "borane tetrahydrofuran complex") != nil || p.row("materials", "lithium") != nil
}

// firstQuench is the quench that meets the live reagent.
func firstQuench(p page, i int, n *document.Node) bool {
	return isQuench(p, i, n) && p.next(0, does("quench", objects(n)...)) == i
}

// ethers are the peroxide formers among the row names and substances.
var ethers = []string{"thf", "ether", "work-up ether", "wash ether", "DME"}

// halogenated is judged by its share, as an advice.
const halogenated = "into non-halogenated organic, "

var mutators = []mutator{
	// drying
	{family: "drying", answers: "drying/*", unless: "no glass is dried, or nothing in it minds water",
		sites: func(p page, add adder) {
			if !p.has(wants1Dry) {
				return
			}
			for i, n := range p.steps() {
				if !isGlassDrying(n) {
					continue
				}
				add("step out, "+p.label(i), func(p page) { p.cut(i) })
				for k, o := range objects(n) {
					if len(objects(n)) > 1 && slices.Contains(p.flasks(wants1Dry), o) {
						add("not dried, "+o, func(p page) {
							l := p.steps()[i].Entries[0].Value
							l.Items = slices.Delete(l.Items, k, k+1)
						})
					}
				}
			}
		}},
	{family: "drying", answers: "drying/*", unless: "no solvent is dried, or nothing minds water", sites: func(p page, add adder) {
		for i, n := range p.steps() {
			if p.isSolventDrying(n) && p.has(wants1Dry) {
				add("step out, "+p.label(i), func(p page) { p.undry(n); p.cut(i) })
				add("over magnesium sulfate, "+p.label(i), func(p page) { p.undry(n); p.steps()[i].Set("with", text("magnesium sulfate")) })
			}
			if does("distil")(n) && n.Get("from") != nil && p.kind(word(n.Get("from"))) == "still" {
				add("step out and saturated, "+p.label(i), func(p page) {
					p.row("materials", objects(n)[0]).Set("grade", text("saturated"))
					p.cut(i)
				})
			}
		}
	}},
	{family: "drying", answers: "drying/*", unless: "no solvent is bought dry, or nothing minds water", sites: func(p page, add adder) {
		for _, e := range p.rows("materials") {
			if !p.has(wants1Dry) || word(e.Value.Get("grade")) != "anhydrous" || word(e.Value.Get("role")) == "rinse" || p.next(0, does("dry", e.Key.Text)) >= 0 {
				continue
			}
			if !slices.Contains([]string{"thf", "ether", "toluene", "hexane"}, e.Key.Text) {
				continue
			}
			for _, g := range []string{"reagent", "saturated"} {
				add(e.Key.Text+" of grade "+g, func(p page) { p.row("materials", e.Key.Text).Set("grade", text(g)) })
			}
			add(e.Key.Text+" without its grade", func(p page) { p.row("materials", e.Key.Text).Delete("grade") })
		}
	}},
	{family: "drying", answers: "drying/*", unless: "glass is not dried in an oven, or nothing minds water",
		sites: perStep(func(p page, _ int, n *document.Node) bool { return isGlassDrying(n) && p.has(wants1Dry) }, "oven at 60 °C",
			func(_ page, _ int, n *document.Node) { n.Set("at", text("60 °C")) })},
	{family: "drying", answers: "drying/*", level: finding.Advise, unless: "the glass does not cool in a desiccator, or nothing minds water",
		sites: perStep(func(p page, _ int, n *document.Node) bool {
			return isGlassDrying(n) && n.Get("cool in") != nil && p.has(wants1Dry)
		},
			"cooled in the open", func(_ page, _ int, n *document.Node) { n.Set("cool in", text("the open air")) })},
	{family: "drying", answers: "drying/*", unless: "no sieves", sites: perStep(sieves, "sieves not activated", func(p page, _ int, n *document.Node) { p.undry(n); n.Delete("activated at"); n.Delete("activated for") })},
	{family: "drying", answers: "drying/*", unless: "no sieves", sites: perStep(sieves, "sieves activated at 110 °C", func(p page, _ int, n *document.Node) { p.undry(n); n.Set("activated at", text("110 °C")) })},
	{family: "drying", answers: "drying/* contact/* waste/*", unless: "no alcohol is dried",
		sites: perStep(func(p page, _ int, n *document.Node) bool { return p.isSolventDrying(n) && objects(n)[0] == "ethanol" }, "over calcium chloride",
			func(_ page, _ int, n *document.Node) { n.Set("with", text("calcium chloride")) })},

	// load
	{family: "load", answers: "drying/*", unless: "no sieves",
		sites: perStep(sieves, "a tenth of the sieves", func(p page, _ int, n *document.Node) {
			p.undry(n)
			n.Set("load", text(times(word(n.Get("load")), 0.1)))
		})},
	{family: "load", answers: "drying/*", unless: "no sieves",
		sites: perStep(sieves, "no load", func(p page, _ int, n *document.Node) {
			p.undry(n)
			n.Delete("load")
			p.row("materials", word(n.Get("with"))).Delete("amount")
		})},

	// time
	{family: "time", answers: "drying/*", unless: "no sieves",
		sites: perStep(sieves, "one hour on sieves", func(p page, _ int, n *document.Node) { p.undry(n); n.Set("for", text("1 h")) })},
	{family: "time", answers: "drying/*", level: finding.Advise, unless: "no oven, or nothing minds water",
		sites: perStep(func(p page, _ int, n *document.Node) bool { return isGlassDrying(n) && p.has(wants1Dry) }, "15 min in the oven",
			func(_ page, _ int, n *document.Node) { n.Set("for", text("15 min")) })},
	{family: "time", answers: "exclusion/*", unless: "no sweep",
		sites: perStep(func(_ page, _ int, n *document.Node) bool { return does("purge")(n) }, "swept for 30 s",
			func(_ page, _ int, n *document.Node) { n.Set("for", text("30 s")) })},
	{family: "time", answers: "exclusion/*", unless: "nothing is sparged",
		sites: perStep(func(_ page, _ int, n *document.Node) bool { return does("sparge")(n) }, "sparged for 30 s",
			func(_ page, _ int, n *document.Node) { n.Set("for", text("30 s")) })},
	{family: "time", answers: "timing/*", unless: "nothing was made ready beforehand",
		sites: func(p page, add adder) {
			for i, n := range p.steps() {
				if n.Get("before the section") != nil && n.Get("for") != nil {
					add("not said to be beforehand, "+p.label(i), func(p page) { p.steps()[i].Delete("before the section"); p.steps()[i].Delete("done by") })
				}
			}
		}},
	{family: "time", answers: "timing/*", sites: func(p page, add adder) {
		add("a section of 1 h", func(p page) { p.root.Get("section").Set("time", text("1 h")) })
	}},

	// cycles
	{family: "cycles", answers: "exclusion/*", unless: "nothing is evacuated and refilled or brought into the box",
		sites: perStep(func(_ page, _ int, n *document.Node) bool {
			return does("backfill introduce")(n) && n.Get("cycles") != nil
		}, "one cycle",
			func(_ page, _ int, n *document.Node) { n.Set("cycles", text("1")) })},
	{family: "cycles", answers: "exclusion/*", level: finding.Advise, unless: "nothing is evacuated and refilled or brought into the box", sites: perStep(func(_ page, _ int, n *document.Node) bool {
		return does("backfill introduce")(n) && n.Get("cycles") != nil
	}, "no cycles stated",
		func(_ page, _ int, n *document.Node) { n.Delete("cycles") })},
	{family: "cycles", answers: "exclusion/*", unless: "nothing is degassed by freezing",
		sites: perStep(func(_ page, _ int, n *document.Node) bool { return does("degas")(n) && n.Get("cycles") != nil }, "degassing out",
			func(p page, i int, _ *document.Node) { p.cut(i) })},

	// pressure
	{family: "pressure", answers: "exclusion/*", unless: "no evacuation",
		sites: perStep(func(p page, _ int, n *document.Node) bool {
			return does("backfill")(n) && n.Get("vacuum") != nil && (p.has(wantsNoO2) || p.has(pyrophoric) || p.has(wantsGas))
		}, "vacuum of 200 mbar", func(p page, _ int, n *document.Node) { n.Set("vacuum", text("200 mbar")) })},
	{family: "pressure", answers: "exclusion/*", unless: "no glovebox",
		sites: func(p page, add adder) {
			for _, e := range p.rows("apparatus") {
				if word(e.Value.Get("kind")) == "glovebox" {
					add("box at 500 ppm of oxygen", func(p page) { p.row("apparatus", e.Key.Text).Set("oxygen", text("500 ppm")) })
				}
				if word(e.Value.Get("gas")) != "" && e.Value.Get("purity") != nil && p.has(wantsGas) {
					add("gas of 98 %", func(p page) { p.row("apparatus", e.Key.Text).Set("purity", text("98 %")) })
				}
			}
		}},
	{family: "pressure", answers: "pressure/*", unless: "no line",
		sites: func(p page, add adder) {
			for _, e := range p.rows("apparatus") {
				if e.Value.Get("relief") != nil {
					add("a line at 1 bar above the air without relief", func(p page) {
						r := p.row("apparatus", e.Key.Text)
						r.Delete("relief")
						r.Set("pressure", text("1 bar"))
					})
				}
			}
		}},
	{family: "pressure", answers: "equipment/*", word: true, unless: "nothing is put under vacuum",
		sites: func(p page, add adder) {
			for _, n := range p.steps() {
				if !does("backfill degas")(n) {
					continue
				}
				for _, o := range objects(n) {
					add(o+" of thin flat glass", func(p page) {
						p.row("apparatus", o).Set("kind", text("conical flask"))
						p.row("apparatus", o).Delete("wall")
					})
				}
			}
		}},

	// barrier
	{family: "barrier", answers: "exclusion/* drying/*", level: finding.Advise, unless: "no drying tube",
		sites: perStep(func(p page, _ int, n *document.Node) bool { return does("guard")(n) }, "step out",
			func(p page, i int, n *document.Node) {
				name := word(n.Get("with"))
				p.cut(i)
				for _, m := range p.steps() {
					dropWord(m.Get("with"), name)
				}
				for _, e := range p.rows("apparatus") {
					if word(e.Value.Get("on")) == name {
						e.Value.Delete("on")
					}
				}
				p.root.Get("apparatus").Delete(name)
			})},
	{family: "barrier", answers: "exclusion/*", unless: "no inert gas, or nothing minds air",
		sites: func(p page, add adder) {
			if !p.has(wantsGas) || p.row("apparatus", "glovebox") != nil {
				return
			}
			var places []int
			for i, n := range p.steps() {
				if does("purge blanket backfill")(n) {
					places = append(places, i)
				}
			}
			if len(places) > 0 {
				add("all gas out", func(p page) { p.cut(places...); p.ungas() })
			}
		}},
	{family: "barrier", answers: "exclusion/*", unless: "a second cover stands over the same vessel, or nothing minds air",
		sites: perStep(func(p page, _ int, n *document.Node) bool {
			return does("purge backfill sparge")(n) && p.has(wantsGas) && p.row("apparatus", "glovebox") == nil
		}, "step out", func(p page, i int, _ *document.Node) { p.cut(i) })},
	{family: "barrier", answers: "exclusion/*", unless: "no inert gas, or a drying tube would do",
		sites: func(p page, add adder) {
			if !p.has(wantsGas) || p.row("apparatus", "glovebox") != nil {
				return
			}
			var places []int
			for i, n := range p.steps() {
				if does("purge blanket backfill")(n) {
					places = append(places, i)
				}
			}
			if len(places) == 0 {
				return
			}
			into := objects(p.steps()[places[0]])
			add("a drying tube for the gas", func(p page) {
				p.cut(places...)
				p.ungas()
				p.root.Get("apparatus").Set("tube", &document.Node{Kind: document.Mapping})
				p.row("apparatus", "tube").Set("kind", text("drying tube"))
				p.row("apparatus", "tube").Set("fill", text("calcium chloride"))
				for k, v := range into {
					p.insert(places[0]+k, "guard", v, "with", "tube")
				}
			})
		}},
	{family: "barrier", answers: "exclusion/*", unless: "no solid is tipped into a live vessel",
		sites: perStep(func(p page, i int, n *document.Node) bool {
			return does("charge add")(n) && strings.HasPrefix(word(n.Get("under")), "a stream of") && slices.ContainsFunc(objects(n), func(o string) bool { return traits[o]&wantsGas != 0 })
		}, "without the counter-stream", func(_ page, _ int, n *document.Node) { n.Delete("under") })},
	{family: "barrier", answers: "quench/* exclusion/*", unless: "the quench does not open the flask",
		sites: perStep(func(p page, i int, n *document.Node) bool {
			return firstQuench(p, i, n) && strings.HasPrefix(word(n.Get("under")), "a stream of")
		}, "without the counter-stream", func(_ page, _ int, n *document.Node) { n.Delete("under") })},
	{family: "barrier", answers: "exclusion/*", unless: "no lithium metal",
		sites: func(p page, add adder) {
			if p.row("materials", "lithium") == nil {
				return
			}
			add("nitrogen for argon", func(p page) {
				walk(p.root, func(n *document.Node) {
					if n.Kind == document.Scalar {
						n.Text = strings.ReplaceAll(n.Text, "argon", "nitrogen")
					}
				})
				for _, e := range p.root.Get("apparatus").Entries {
					e.Key.Text = strings.ReplaceAll(e.Key.Text, "argon", "nitrogen")
				}
				for _, e := range p.root.Get("section").Get("stations").Entries {
					e.Key.Text = strings.ReplaceAll(e.Key.Text, "argon", "nitrogen")
				}
			})
		}},
	{family: "barrier", answers: "exclusion/*", unless: "no glovebox", sites: func(p page, add adder) {
		if p.row("apparatus", "glovebox") == nil {
			return
		}
		add("everything outside the glovebox", func(p page) {
			p.root.Get("apparatus").Delete("glovebox")
			s := p.root.Get("steps")
			s.Items = slices.DeleteFunc(slices.Clone(s.Items), does("introduce withdraw"))
			for _, n := range s.Items {
				for _, k := range []string{"in", "under", "note", "stop point"} {
					if strings.Contains(word(n.Get(k)), "glovebox") {
						n.Delete(k)
					}
				}
			}
		})
	}},
	{family: "barrier", answers: "exclusion/*", unless: "nothing is brought into the box closed",
		sites: perStep(func(p page, _ int, n *document.Node) bool { return does("introduce")(n) && n.Get("sealed") != nil }, "not sealed",
			func(_ page, _ int, n *document.Node) { n.Delete("sealed") })},
	{family: "barrier", answers: "exclusion/* addition/* drying/*", unless: "no pyrophoric liquid",
		sites: perStep(func(p page, i int, n *document.Node) bool { return dose(p, i, n) && objects(n)[0] == "n-butyllithium" }, "poured in",
			func(_ page, _ int, n *document.Node) { n.Delete("by"); n.Entries[0].Key.Text = "pour" })},

	// equalising arm
	{family: "equalising arm", answers: "addition/unequalised-funnel pressure/*", unless: "no addition funnel, or it is not stoppered",
		sites: func(p page, add adder) {
			for _, e := range p.rows("apparatus") {
				if word(e.Value.Get("kind")) == "addition funnel" {
					add("arm out, "+e.Key.Text, func(p page) { p.row("apparatus", e.Key.Text).Delete("equalised") })
					add("arm denied, "+e.Key.Text, func(p page) { p.row("apparatus", e.Key.Text).Set("equalised", text("false")) })
				}
			}
		}},

	// outlet
	{family: "outlet", answers: "pressure/*", unless: "no bubbler",
		sites: func(p page, add adder) {
			if p.next(0, does("purge blanket")) < 0 {
				return
			}
			add("every way out for the gas", func(p page) {
				for _, e := range slices.Clone(p.rows("apparatus")) {
					e.Value.Delete("relief")
					if word(e.Value.Get("kind")) == "oil bubbler" {
						p.root.Get("apparatus").Delete(e.Key.Text)
						for _, n := range p.steps() {
							dropWord(n.Get("with"), e.Key.Text)
						}
					}
				}
				for _, n := range p.steps() {
					n.Delete("outlet")
				}
			})
		}},
	{family: "outlet", answers: "pressure/* quench/* exclusion/*", unless: "the quench gives no gas",
		sites: perStep(func(p page, i int, n *document.Node) bool {
			return firstQuench(p, i, n) && p.gassing() && p.next(0, does("purge blanket backfill", objects(n)...)) >= 0
		}, "sealed before", func(p page, i int, n *document.Node) { p.insert(i, "seal", objects(n)[0], "with", "stopper") })},
	{family: "outlet", answers: "pressure/*", unless: "nothing is boiled",
		sites: perStep(func(p page, _ int, n *document.Node) bool { return does("reflux heat")(n) }, "sealed before",
			func(p page, i int, n *document.Node) { p.insert(i, "seal", objects(n)[0], "with", "stopper") })},
	{family: "outlet", answers: "pressure/*", unless: "no cold flask is warmed",
		sites: perStep(func(p page, i int, n *document.Node) bool {
			return does("warm")(n) && p.has(pyrophoric) && i > 0
		}, "sealed cold before", func(p page, i int, n *document.Node) { p.insert(i, "seal", objects(n)[0], "with", "stopper") })},
	{family: "outlet", answers: "pressure/*", unless: "nothing is scrubbed",
		sites: perStep(func(p page, _ int, n *document.Node) bool { return does("scrub")(n) }, "step out",
			func(p page, i int, _ *document.Node) {
				p.cut(i)
				for _, a := range []string{"scrubber", "inverted funnel", "empty trap"} {
					p.root.Get("apparatus").Delete(a)
				}
				p.root.Get("materials").Delete("scrubber base")
				for _, n := range p.steps() {
					dropWord(n.Entries[0].Value, "scrubber base")
				}
			})},
	{family: "outlet", answers: "pressure/*", unless: "no balloon gives way to a bubbler",
		sites: perStep(func(p page, _ int, n *document.Node) bool { return does("vent")(n) }, "step out", func(p page, i int, _ *document.Node) { p.cut(i) })},
	{family: "outlet", answers: "workup/*", unless: "no acid meets carbonate in a funnel",
		sites: perStep(func(p page, _ int, n *document.Node) bool {
			return does("wash extract")(n) && n.Get("vented") != nil && word(n.Get("with")) == "sodium bicarbonate"
		}, "funnel not vented", func(p page, _ int, n *document.Node) { n.Delete("vented"); p.dropCautions("pressure") })},
	{family: "outlet", answers: "pressure/*", word: true, unless: "no drying tube",
		sites: func(p page, add adder) {
			for _, e := range p.rows("apparatus") {
				if e.Value.Get("packing") != nil && word(e.Value.Get("kind")) == "drying tube" {
					add("a tube packed tight", func(p page) { p.row("apparatus", e.Key.Text).Set("packing", text("fine powder, packed tight")) })
				}
			}
		}},

	// order
	{family: "order", answers: "quench/* workup/* exclusion/opened-while-live waste/live-reagent", unless: "nothing live is quenched, or no work-up follows",
		sites: func(p page, add adder) {
			for i, n := range p.steps() {
				if !firstQuench(p, i, n) {
					continue
				}
				j := p.next(i, does("extract separate filter", objects(n)...))
				if j < 0 {
					continue
				}
				var all []int
				for k := i; k < j; k++ {
					if does("quench acidify", objects(n)...)(p.steps()[k]) {
						all = append(all, k)
					}
				}
				add("quench after the work-up, "+p.label(i), func(p page) {
					for k := range all {
						p.move(all[k]-k, j)
					}
				})
			}
		}},
	{family: "order", answers: "exclusion/*", unless: "nothing minds air",
		sites: func(p page, add adder) {
			at, vessel := p.filled(wantsGas)
			if at < 0 || p.kind(vessel) == "conical vial" {
				return
			}
			var places []int
			for i, n := range p.steps()[:at] {
				if does("purge blanket backfill", vessel)(n) {
					places = append(places, i)
				}
			}
			if len(places) > 0 {
				add("gas after the reagent, "+p.label(at), func(p page) {
					for range places {
						p.move(places[0], at)
					}
				})
			}
		}},
	{family: "order", answers: "addition/*", unless: "no start is waited for",
		sites: perStep(func(_ page, _ int, n *document.Node) bool { return does("confirm")(n) }, "sign of start after the rest",
			func(p page, i int, n *document.Node) {
				j := p.next(i, does("add"))
				p.move(i, j)
			})},
	{family: "order", answers: "addition/* heat/* equipment/* cryogen/* quench/*", unless: "nothing is cooled before a reagent",
		sites: func(p page, add adder) {
			for i, n := range p.steps() {
				if !does("cool")(n) {
					continue
				}
				if j := p.next(i, func(m *document.Node) bool { return hotDose(p, len(p.steps()), m) }); j > 0 && j-i <= 2 && strings.HasPrefix(word(n.Get("to")), "-") {
					add("cooled after the addition, "+p.label(i), func(p page) { p.move(i, j) })
				}
			}
		}},
	{family: "order", answers: "heat/*", unless: "no water condenser",
		sites: func(p page, add adder) {
			i := p.next(0, does("start", "condenser water"))
			j := p.next(0, does("reflux"))
			if i >= 0 && j > i {
				last := j
				for k := j; k < len(p.steps()); k++ {
					if does("reflux")(p.steps()[k]) {
						last = k
					}
				}
				add("condenser water after the reflux", func(p page) { p.move(i, last) })
				add("no condenser water", func(p page) { p.cut(i) })
			}
		}},
	{family: "order", answers: "waste/*", unless: "no leftover is destroyed and then discarded",
		sites: perStep(func(p page, i int, n *document.Node) bool {
			return does("destroy")(n) && p.next(i, does("discard", objects(n)...)) > 0 && p.has(pyrophoric)
		}, "destroyed after it is discarded", func(p page, i int, n *document.Node) { p.move(i, p.next(i, does("discard", objects(n)...))) })},
	{family: "order", answers: "pressure/*", unless: "nothing is scrubbed",
		sites: perStep(func(p page, i int, n *document.Node) bool { return does("scrub")(n) }, "scrubber after the heating",
			func(p page, i int, _ *document.Node) { p.move(i, p.next(i, does("heat reflux"))) })},
	{family: "order", answers: "quench/*", unless: "no 1 to 1 to 3 work-up",
		sites: perStep(func(p page, i int, n *document.Node) bool {
			return firstQuench(p, i, n) && i+1 < len(p.steps()) && does("quench")(p.steps()[i+1]) && p.row("materials", "lithium aluminium hydride") != nil
		}, "the last water first", func(p page, i int, _ *document.Node) { p.move(i+2, i-1) })},
	{family: "order", answers: "exclusion/*", unless: "nothing is degassed",
		sites: func(p page, add adder) {
			at, vessel := p.filled(wantsNoO2)
			for i, n := range p.steps() {
				if at > i && does("sparge", vessel)(n) {
					add("after the catalyst, "+p.label(i), func(p page) { p.move(i, at) })
				}
			}
		}},
	{family: "order", answers: "drying/*", unless: "no solvent is dried",
		sites: func(p page, add adder) {
			for i, n := range p.steps() {
				if p.isSolventDrying(n) && p.has(wants1Dry) {
					add("last, "+p.label(i), func(p page) { p.move(i, len(p.steps())-1) })
				}
			}
		}},
	{family: "order", answers: "drying/* exclusion/*", unless: "no glass is dried, or nothing minds water",
		sites: func(p page, add adder) {
			for i, n := range p.steps() {
				if isGlassDrying(n) && p.has(wants1Dry) {
					add("last, "+p.label(i), func(p page) { p.move(i, len(p.steps())-1) })
				}
			}
		}},
	{family: "order", answers: "exclusion/* drying/*", level: finding.Advise, unless: "no drying tube",
		sites: func(p page, add adder) {
			i := p.next(0, does("guard"))
			if i < 0 {
				return
			}
			if j := p.next(i, does("quench", objects(p.steps()[i])...)); j > 0 {
				add("drying tube after the quench", func(p page) {
					name := word(p.steps()[i].Get("with"))
					for _, n := range p.steps() {
						if does("assemble")(n) {
							dropWord(n.Get("with"), name)
						}
					}
					p.move(i, j)
				})
			}
		}},

	// rate
	{family: "rate", answers: "addition/* heat/*", unless: "nothing that gives heat is added",
		sites: perStep(hotDose, "at once", func(_ page, _ int, n *document.Node) { pace(n, "all at once") })},
	{family: "rate", answers: "addition/* heat/*", unless: "nothing that gives heat is added",
		sites: perStep(hotDose, "no rate", func(_ page, _ int, n *document.Node) { pace(n, "") })},
	{family: "rate", answers: "quench/* heat/* addition/*", unless: "nothing live is quenched",
		sites: perStep(firstQuench, "at once", func(_ page, _ int, n *document.Node) { pace(n, "all at once") })},
	{family: "rate", answers: "quench/* heat/* addition/*", unless: "nothing live is quenched",
		sites: perStep(firstQuench, "no rate", func(_ page, _ int, n *document.Node) { pace(n, "") })},
	{family: "rate", answers: "equipment/*", unless: "no limit of temperature is written",
		sites: func(p page, add adder) {
			for _, e := range p.rows("apparatus") {
				if e.Value.Get("reads") == nil {
					continue
				}
				on := word(e.Value.Get("on"))
				if p.next(0, func(n *document.Node) bool {
					return n.Get("keep below") != nil && (word(n.Get("to")) == on || objects(n)[0] == on)
				}) < 0 {
					continue
				}
				add("no "+e.Key.Text, func(p page) {
					p.root.Get("apparatus").Delete(e.Key.Text)
					for _, n := range p.steps() {
						dropWord(n.Get("with"), e.Key.Text)
					}
				})
			}
		}},

	// bath
	{family: "bath", answers: "addition/* heat/* quench/* cryogen/*", unless: "nothing is cooled before a reagent",
		sites: func(p page, add adder) {
			for i, n := range p.steps() {
				if !does("cool")(n) {
					continue
				}
				if j := p.next(i, func(m *document.Node) bool { return hotDose(p, len(p.steps()), m) }); j > 0 && j-i <= 2 && strings.HasPrefix(word(n.Get("to")), "-") {
					add("step out, "+p.label(i), func(p page) { p.cut(i) })
				}
			}
		}},
	{family: "bath", answers: "cryogen/*", unless: "no bath below 0 °C",
		sites: perStep(func(_ page, _ int, n *document.Node) bool {
			return does("cool stir")(n) && strings.HasPrefix(word(n.Get("to"))+word(n.Get("at")), "-")
		}, "ice for the cold bath", func(_ page, _ int, n *document.Node) { n.Set("bath", text("ice")) })},
	{family: "bath", answers: "quench/* heat/* addition/*", unless: "nothing live is quenched cold",
		sites: perStep(func(p page, i int, n *document.Node) bool { return firstQuench(p, i, n) && n.Get("bath") != nil }, "quenched without cooling",
			func(p page, i int, n *document.Node) {
				n.Delete("bath")
				n.Delete("at")
				n.Delete("keep below")
				n.Delete("over")
				if prev := p.steps()[i-1]; does("cool warm", objects(n)...)(prev) {
					p.cut(i - 1)
				} else if prev := p.steps()[i-2]; does("cool warm", objects(n)...)(prev) {
					p.cut(i - 2)
				}
			})},
	{family: "bath", answers: "heat/*", unless: "nothing flammable is heated",
		sites: perStep(func(_ page, _ int, n *document.Node) bool {
			return does("reflux heat distil")(n) && n.Get("bath") != nil
		}, "a flame for the bath",
			func(_ page, _ int, n *document.Node) { n.Set("bath", text("Bunsen burner")) })},
	{family: "bath", answers: "heat/* storage/*", unless: "nothing is boiled",
		sites: perStep(func(_ page, _ int, n *document.Node) bool { return does("reflux")(n) && n.Get("at") != nil }, "bath at 200 °C",
			func(_ page, _ int, n *document.Node) { n.Set("at", text("200 °C")) })},
	{family: "bath", answers: "heat/*", unless: "nothing that water sets on fire is heated",
		sites: perStep(func(p page, _ int, n *document.Node) bool {
			return does("reflux heat")(n) && (p.row("materials", "lithium aluminium hydride") != nil || p.row("materials", "sodium") != nil && p.next(0, does("confirm")) >= 0)
		}, "a water bath under it", func(_ page, _ int, n *document.Node) { n.Set("bath", text("hot water")) })},

	// size
	{family: "size", answers: "heat/* addition/* quench/* equipment/*", unless: "no flask takes reagent",
		sites: func(p page, add adder) {
			for _, e := range p.rows("apparatus") {
				k := word(e.Value.Get("kind"))
				if !strings.Contains(k, "flask") && k != "conical vial" || strings.Contains(k, "filter") || e.Value.Get("size") == nil || p.next(0, func(n *document.Node) bool { return word(n.Get("to")) == e.Key.Text || word(n.Get("in")) == e.Key.Text }) < 0 {
					continue
				}
				add("a fifth of the "+e.Key.Text, func(p page) {
					r := p.row("apparatus", e.Key.Text)
					r.Set("size", text(times(word(r.Get("size")), 0.2)))
				})
			}
		}},
	{family: "size", answers: "addition/* equipment/* heat/*", unless: "no addition funnel",
		sites: func(p page, add adder) {
			for _, e := range p.rows("apparatus") {
				if word(e.Value.Get("kind")) == "addition funnel" && p.next(0, func(n *document.Node) bool {
					return word(n.Get("to")) == e.Key.Text || word(n.Get("from")) == e.Key.Text
				}) >= 0 {
					add("a fifth of the "+e.Key.Text, func(p page) {
						r := p.row("apparatus", e.Key.Text)
						r.Set("size", text(times(word(r.Get("size")), 0.2)))
					})
				}
			}
		}},
	{family: "size", answers: "addition/* equipment/*", unless: "no pyrophoric liquid is drawn up",
		sites: perStep(func(p page, _ int, n *document.Node) bool {
			return word(n.Get("by")) == "syringe" && objects(n)[0] == "n-butyllithium"
		}, "a syringe just large enough",
			func(p page, _ int, _ *document.Node) { p.row("apparatus", "syringe").Set("size", text("7 mL")) })},
	{family: "size", answers: "equipment/*", unless: "no pyrophoric liquid is drawn up",
		sites: perStep(func(p page, _ int, n *document.Node) bool {
			return word(n.Get("by")) == "syringe" && objects(n)[0] == "n-butyllithium"
		}, "a slip tip",
			func(p page, _ int, _ *document.Node) { p.row("apparatus", "syringe").Set("tip", text("slip")) })},
	{family: "size", answers: "pressure/*", unless: "nothing is scrubbed",
		sites: func(p page, add adder) {
			if p.row("materials", "scrubber base") != nil {
				add("a twentieth of the absorbent", func(p page) { p.row("materials", "scrubber base").Set("amount", text("5 mL")) })
			}
		}},

	// quench
	{family: "quench", word: true, answers: "quench/* waste/live-reagent waste/rinse-reacts exclusion/opened-while-live", unless: "nothing live is quenched",
		sites: func(p page, add adder) {
			for i, n := range p.steps() {
				if !firstQuench(p, i, n) {
					continue
				}
				add("all out, "+p.label(i), func(p page) {
					var places []int
					for k, m := range p.steps() {
						if does("quench acidify", objects(n)...)(m) || does("charge")(m) && slices.Contains(objects(m), word(n.Get("with"))) {
							places = append(places, k)
						}
					}
					p.cut(places...)
				})
			}
		}},
	{family: "quench", answers: "quench/*", unless: "nothing live is quenched, or water is the right thing",
		sites: perStep(func(p page, i int, n *document.Node) bool {
			return firstQuench(p, i, n) && word(n.Get("with")) == "2-propanol"
		}, "water first", func(p page, _ int, n *document.Node) {
			row := &document.Node{Kind: document.Mapping}
			row.Set("amount", text("20 mL"))
			p.root.Get("materials").Set("water", row)
			n.Set("with", text("water"))
		})},
	{family: "quench", answers: "quench/*", unless: "nothing live is quenched",
		sites: perStep(func(p page, i int, n *document.Node) bool {
			return firstQuench(p, i, n) && p.row("materials", word(n.Get("with"))) != nil && p.next(0, func(m *document.Node) bool {
				return does("quench")(m) && word(m.Get("with")) == word(n.Get("with")) && m != n
			}) < 0
		}, "with a drop of the agent", func(p page, _ int, n *document.Node) {
			p.row("materials", word(n.Get("with"))).Set("amount", text("0.01 mL"))
		})},
	{family: "quench", answers: "quench/*", level: finding.Advise, unless: "nothing live is quenched, or no end is written",
		sites: perStep(func(p page, i int, n *document.Node) bool { return firstQuench(p, i, n) && n.Get("until") != nil }, "no end written",
			func(p page, _ int, n *document.Node) {
				for _, m := range p.steps() {
					if does("quench acidify", objects(n)...)(m) {
						for _, k := range []string{"until", "hold for", "look for", "sign"} {
							m.Delete(k)
						}
					}
				}
			})},
	{family: "quench", answers: "waste/* quench/*", unless: "no tool or leftover is killed",
		sites: perStep(func(p page, _ int, n *document.Node) bool {
			return does("destroy")(n) && p.next(0, does("rinse discard", objects(n)...)) >= 0
		}, "step out",
			func(p page, i int, _ *document.Node) { p.cut(i) })},
	{family: "quench", answers: "waste/*", unless: "no syringe of pyrophoric is rinsed",
		sites: perStep(func(p page, i int, n *document.Node) bool { return does("rinse")(n) && p.has(pyrophoric) }, "neither rinsed nor cleaned",
			func(p page, i int, n *document.Node) {
				for _, m := range p.steps() {
					if does("clean")(m) {
						dropWord(m.Entries[0].Value, objects(n)[0])
					}
				}
				p.cut(i)
			})},
	{family: "quench", word: true, answers: "waste/* quench/* contact/*", unless: "no syringe of pyrophoric is rinsed",
		sites: perStep(func(p page, i int, n *document.Node) bool { return does("rinse")(n) && p.has(pyrophoric) }, "with acetone",
			func(p page, _ int, n *document.Node) {
				row := &document.Node{Kind: document.Mapping}
				row.Set("amount", text("15 mL"))
				p.root.Get("materials").Set("acetone", row)
				n.Set("with", text("acetone"))
			})},
	{family: "quench", answers: "storage/*", word: true, unless: "no peroxide former is distilled",
		sites: perStep(func(p page, _ int, n *document.Node) bool {
			return does("distil")(n) && slices.Contains(ethers, objects(n)[0])
		}, "to dryness, untested",
			func(p page, _ int, n *document.Node) {
				n.Delete("leave")
				n.Delete("cautions")
				for _, k := range []string{"peroxides", "opened", "inhibited"} {
					p.row("materials", objects(n)[0]).Delete(k)
				}
			})},

	// start
	{family: "start", answers: "addition/*", unless: "no start is waited for",
		sites: perStep(func(_ page, _ int, n *document.Node) bool { return does("confirm")(n) }, "sign of start out", func(p page, i int, _ *document.Node) { p.cut(i) })},
	{family: "start", answers: "addition/*", unless: "no start is waited for",
		sites: perStep(func(_ page, _ int, n *document.Node) bool { return does("confirm")(n) }, "nothing said if it does not start",
			func(p page, _ int, n *document.Node) {
				n.Delete("otherwise")
				for i, e := range p.root.Get("emergency").Items {
					if strings.Contains(word(e.Get("if")), "not started") {
						l := p.root.Get("emergency")
						l.Items = slices.Delete(slices.Clone(l.Items), i, i+1)
						break
					}
				}
			})},
	{family: "start", answers: "addition/*", unless: "no start is waited for",
		sites: perStep(func(p page, i int, n *document.Node) bool {
			return does("add")(n) && word(n.Get("amount")) != "" && p.next(i, does("confirm")) > 0 && p.next(i+1, func(m *document.Node) bool {
				return does("add", objects(n)...)(m) && word(m.Get("amount")) == "the rest"
			}) > 0
		}, "all of the halide before the start", func(p page, i int, n *document.Node) {
			n.Delete("amount")
			n.Delete("note")
			p.cut(p.next(i+1, does("add", objects(n)...)))
		})},

	// direction
	{family: "direction", answers: "addition/* heat/*", unless: "no strong acid is diluted",
		sites: func(p page, add adder) {
			i := p.next(0, does("add", "sulfuric acid"))
			if i > 0 {
				add("the rest poured onto the acid", func(p page) { p.move(i, -1) })
				add("water poured onto the acid", func(p page) {
					p.move(i, -1)
					p.insert(1, "add", "water", "to", word(p.steps()[0].Get("to")))
				})
			}
		}},
	{family: "direction", word: true, answers: "pressure/scrubber-sucks-back", unless: "nothing is scrubbed",
		sites: perStep(func(_ page, _ int, n *document.Node) bool { return does("scrub")(n) }, "the tip in the liquid, no trap",
			func(p page, _ int, n *document.Node) {
				n.Set("tip", text("2 cm below the liquid"))
				n.Delete("trap")
				p.root.Get("apparatus").Delete("empty trap")
				p.row("apparatus", "scrubber").Delete("on")
			})},
	{family: "direction", answers: "quench/* addition/*", unless: "nothing live is quenched, or too little of it",
		sites: perStep(func(p page, i int, n *document.Node) bool {
			return firstQuench(p, i, n) && p.row("materials", word(n.Get("with"))) != nil && n.Get("from") == nil && (p.row("materials", "lithium aluminium hydride") != nil || p.row("materials", "magnesium") != nil || p.has(pyrophoric))
		}, "the mixture poured into a little agent", func(p page, i int, n *document.Node) {
			with := word(n.Get("with"))
			p.row("materials", with).Set("amount", text("2 mL"))
			row := &document.Node{Kind: document.Mapping}
			row.Set("kind", text("beaker"))
			row.Set("size", text("400 mL"))
			p.root.Get("apparatus").Set("pot", row)
			vessel := objects(n)[0]
			var places []int
			for k, m := range p.steps() {
				if does("quench acidify", vessel)(m) {
					places = append(places, k)
				}
			}
			p.cut(places...)
			p.insert(places[0], "charge", with, "to", "pot")
			p.insert(places[0]+1, "pour", vessel, "to", "pot")
			for _, m := range p.steps()[places[0]+2:] {
				if objects(m)[0] == vessel {
					m.Entries[0].Value = text("pot")
				}
			}
		})},
	{family: "direction", answers: "workup/* waste/* storage/* heat/* quench/*", unless: "no layers are parted",
		sites: perStep(func(_ page, _ int, n *document.Node) bool {
			return does("extract separate")(n) && n.Get("gives").Get("organic") != nil
		}, "the wrong layer kept",
			func(_ page, _ int, n *document.Node) {
				g := n.Get("gives")
				o, a := g.Get("organic"), g.Get("aqueous")
				g.Set("organic", a)
				g.Set("aqueous", o)
			})},

	// container
	{family: "container", word: true, answers: "waste/*", sites: func(p page, add adder) {
		for i, n := range p.steps() {
			if !does("discard")(n) {
				continue
			}
			add("step out, "+p.label(i), func(p page) { p.cut(i) })
			add("no container, "+p.label(i), func(p page) { p.steps()[i].Delete("into") })
			add("down the drain, "+p.label(i), func(p page) { p.steps()[i].Set("into", text("the sink")) })
			wrong := map[string]string{
				"non-halogenated organic": "neutral aqueous", "halogenated organic": "neutral aqueous", "neutral aqueous": "non-halogenated organic",
				"acidic aqueous": "non-halogenated organic", "basic aqueous": "acidic aqueous", "solid": "non-halogenated organic",
				"contaminated solid": "neutral aqueous", "metal catalyst": "non-halogenated organic", "heavy metal aqueous": "neutral aqueous", "sharps": "solid",
			}[word(n.Get("into"))]
			if wrong == "" {
				panic("no wrong container for " + word(n.Get("into")))
			}
			add("into "+wrong+", "+p.label(i), func(p page) { p.steps()[i].Set("into", text(wrong)) })
			if word(n.Get("into")) == "halogenated organic" {
				add(halogenated+p.label(i), func(p page) { p.steps()[i].Set("into", text("non-halogenated organic")) })
			}
		}
	}},

	// caution, and where it stands
	{family: "caution", word: true, answers: "caution/*", level: finding.Advise, sites: func(p page, add adder) {
		for _, topic := range p.topics() {
			add("on "+topic+" out", func(p page) { p.silence(topic) })
		}
	}},
	{family: "caution", word: true, answers: "caution/*", level: finding.Advise, unless: "no grave hazard", sites: func(p page, add adder) {
		for _, topic := range p.topics() {
			if graveTopic[topic] {
				add("on "+topic+" says to be careful", func(p page) {
					p.silence(topic)
					p.caution(topic, "Be careful.")
				})
			}
		}
	}},
	{family: "position of caution", word: true, answers: "caution/*", unless: "no grave hazard", sites: func(p page, add adder) {
		for _, topic := range p.topics() {
			if !graveTopic[topic] {
				continue
			}
			add("on "+topic+" at the last step", func(p page) {
				p.silence(topic)
				c := cautionNode(topic, "This can "+topicWords[topic]+".")
				l := &document.Node{Kind: document.Sequence, Items: []*document.Node{c}}
				p.steps()[len(p.steps())-1].Set("cautions", l)
			})
		}
	}},

	// protection
	{family: "protection", word: true, answers: "caution/* timing/no-approval", unless: "nothing is pyrophoric", sites: func(p page, add adder) {
		if !p.has(pyrophoric) {
			return
		}
		add("a cotton coat", func(p page) { p.root.Get("protection").Set("coat", text("cotton")) })
		add("nitrile gloves", func(p page) { p.root.Get("protection").Set("gloves", text("nitrile")) })
		add("no shield", func(p page) {
			p.root.Get("protection").Delete("shield")
			p.reword("sash down", "")
		})
		add("nothing for an emergency", func(p page) { p.root.Delete("emergency") })
		add("no approval", func(p page) { p.root.Delete("approval") })
		add("no protection", func(p page) { p.root.Delete("protection") })
	}},
	{family: "protection", word: true, answers: "caution/*", unless: "no reactive metal", sites: func(p page, add adder) {
		if p.has(alkaliMetal) || p.row("materials", "magnesium") != nil {
			add("carbon dioxide for a metal fire", func(p page) { p.root.Get("protection").Set("extinguisher", text("carbon dioxide")) })
			add("nothing for an emergency", func(p page) { p.root.Delete("emergency") })
		}
	}},
	{family: "protection", word: true, answers: "timing/*", unless: "nothing reactive is used", sites: func(p page, add adder) {
		if p.has(alkaliMetal) || p.has(wants1Dry|wantsGas) {
			add("working alone", func(p page) { p.root.Get("section").Set("working alone", text("true")) })
		}
	}},
	{family: "protection", word: true, answers: "pressure/* caution/*", unless: "no toxic or burning gas leaves", sites: func(p page, add adder) {
		if p.next(0, does("scrub")) >= 0 || slices.Contains(p.topics(), "hydrogen") {
			add("no hood", func(p page) {
				p.root.Get("protection").Set("hood", text("no"))
				p.root.Get("protection").Delete("shield")
				p.reword("hood", "place")
				p.reword("Hood", "Place")
				p.reword("sash", "door")
			})
		}
	}},

	// reagents as they come from the shelf
	{family: "shelf", word: true, answers: "amounts/*", unless: "no titrated reagent", sites: func(p page, add adder) {
		for _, e := range p.rows("materials") {
			if e.Value.Get("titrated") != nil {
				add("not titrated, "+e.Key.Text, func(p page) { p.row("materials", e.Key.Text).Delete("titrated") })
				add("strength not written, "+e.Key.Text, func(p page) { p.row("materials", e.Key.Text).Set("solution", text("dilute in hexanes")) })
			}
			if traits[e.Key.Text] != 0 && e.Value.Get("amount") != nil {
				add("amount not written, "+e.Key.Text, func(p page) { p.row("materials", e.Key.Text).Delete("amount") })
			}
		}
	}},
	{family: "shelf", word: true, answers: "storage/*", level: finding.Advise, unless: "no peroxide former is boiled down", sites: func(p page, add adder) {
		if slices.ContainsFunc(ethers, func(e string) bool { return p.row("materials", e).Get("peroxides") != nil }) {
			add("age and test of every ether unknown", func(p page) {
				for _, e := range p.rows("materials") {
					for _, k := range []string{"peroxides", "opened", "inhibited"} {
						e.Value.Delete(k)
					}
				}
			})
		}
	}},
	{family: "shelf", word: true, answers: "timing/*", unless: "nothing live is handed out in portions", sites: func(p page, add adder) {
		for _, e := range p.rows("materials") {
			if e.Value.Get("portioned") != nil && traits[e.Key.Text]&(pyrophoric|alkaliMetal) != 0 {
				add("from the stock bottle, "+e.Key.Text, func(p page) { p.row("materials", e.Key.Text).Set("portioned", text("no")) })
			}
		}
	}},
}

// ungas takes the supply of gas off the page.
func (p page) ungas() {
	for _, e := range slices.Clone(p.rows("apparatus")) {
		k := word(e.Value.Get("kind"))
		if k == "oil bubbler" || k == "balloon" || strings.Contains(k, "line") || strings.Contains(k, "manifold") {
			p.root.Get("apparatus").Delete(e.Key.Text)
			for _, n := range p.steps() {
				dropWord(n.Get("with"), e.Key.Text)
			}
			s := p.root.Get("steps")
			s.Items = slices.DeleteFunc(slices.Clone(s.Items), func(n *document.Node) bool {
				return does("fit", e.Key.Text)(n) || does("vent")(n) && word(n.Get("to")) == e.Key.Text
			})
		}
	}
	for _, n := range p.steps() {
		if strings.HasPrefix(word(n.Get("under")), "a stream of") {
			n.Delete("under")
		}
		if does("cool")(n) {
			n.Delete("flow")
		}
	}
}

// reword puts one word for another in the texts of the page.
func (p page) reword(old, now string) {
	walk(p.root, func(n *document.Node) { n.Text = strings.ReplaceAll(n.Text, old, now) })
}

func dropWord(n *document.Node, name string) {
	if n != nil && n.Kind == document.Sequence {
		n.Items = slices.DeleteFunc(slices.Clone(n.Items), func(m *document.Node) bool { return m.Text == name })
	}
}

func walk(n *document.Node, f func(*document.Node)) {
	if n == nil {
		return
	}
	f(n)
	for _, e := range n.Entries {
		walk(e.Value, f)
	}
	for _, m := range n.Items {
		walk(m, f)
	}
}

// pace takes every control of the rate out of a step; what stands for it, if
// anything, is put in.
func pace(n *document.Node, rate string) {
	for _, k := range []string{"over", "rate", "portions", "keep below"} {
		n.Delete(k)
	}
	if rate != "" {
		n.Set("rate", text(rate))
	}
}

func cautionNode(topic, say string) *document.Node {
	c := &document.Node{Kind: document.Mapping}
	c.Set("about", text(topic))
	c.Set("say", text(say))
	return c
}

// caution puts one more among those of the page.
func (p page) caution(topic, say string) {
	l := p.root.Get("cautions")
	l.Items = append(slices.Clone(l.Items), cautionNode(topic, say))
}

// eachCaution offers every caution of the page and of its steps.
func (p page) eachCaution(f func(c *document.Node)) {
	for _, c := range p.root.Get("cautions").Items {
		f(c)
	}
	for _, n := range p.steps() {
		if l := n.Get("cautions"); l != nil {
			for _, c := range l.Items {
				f(c)
			}
		}
	}
}

func (p page) topics() []string {
	var all []string
	p.eachCaution(func(c *document.Node) {
		if t := word(c.Get("about")); !slices.Contains(all, t) {
			all = append(all, t)
		}
	})
	return all
}

func (p page) dropCautions(topic string) {
	p.withoutCautions(func(c *document.Node) bool { return word(c.Get("about")) == topic })
}

// silence takes out what the cautions say of a topic, under whatever heading.
func (p page) silence(topic string) {
	says := regexp.MustCompile("(?i)" + spokenOf[topic])
	p.withoutCautions(func(c *document.Node) bool {
		return word(c.Get("about")) == topic || spokenOf[topic] != "" && says.MatchString(word(c.Get("say")))
	})
}

func (p page) withoutCautions(out func(c *document.Node) bool) {
	drop := func(l *document.Node) { l.Items = slices.DeleteFunc(slices.Clone(l.Items), out) }
	drop(p.root.Get("cautions"))
	for _, n := range p.steps() {
		if l := n.Get("cautions"); l != nil {
			if drop(l); len(l.Items) == 0 {
				n.Delete("cautions")
			}
		}
	}
}

// saysOf are the words by which a finding speaks of a topic.
func saysOf(topic string) *regexp.Regexp {
	words := map[string]string{"flammable": "highly flammable", "ether vapour": "highly flammable", "corrosive": "burns? "}[topic]
	if words == "" {
		words = regexp.QuoteMeta(topic)
	}
	return regexp.MustCompile(words)
}

// spokenOf are the words by which a caution speaks of a topic.
var spokenOf = map[string]string{
	"pyrophoric": "fire|pyrophoric|smoulder", "water-reactive": "water|dry|wet|moist", "hydrogen": "hydrogen|fizz|gas",
	"alkali metal": "sodium|lithium|metal|dry sand|class d|oil", "explosive": "explo", "oxidiser": "oxidis|peroxide",
	"flammable": "flam|fire|ignit|hot plate", "ether vapour": "vapour|flam|ignit|ether",
	"corrosive": "burn|corros|goggles|gloves|splash|skin", "toxic": "toxic|harmful|hood|poison",
	"toxic gas": "fume|gas|sulfur dioxide|hydrogen chloride|scrub|hood|vapour", "cryogen": "dry ice|cold|nitrogen|freez|78",
	"vacuum": "implode|crack|vacuum|shield", "lachrymator": "eyes|tear|trace", "carcinogen": "cancer",
}

// graveTopic: a caution of these must come before and say what can happen.
var graveTopic = map[string]bool{"pyrophoric": true, "water-reactive": true, "alkali metal": true, "explosive": true, "oxidiser": true}

var topicWords = map[string]string{
	"pyrophoric": "catch fire in air", "water-reactive": "react violently with water", "alkali metal": "burn with water",
	"explosive": "explode", "oxidiser": "set fire to paper",
}

var (
	upUnit   = map[string]string{"g": "kg", "mg": "g", "mL": "L", "mmol": "mol", "mbar": "bar", "mL/min": "L/min", "L": "m³"}
	downUnit = map[string]string{"g": "mg", "mg": "µg", "mL": "µL", "mmol": "µmol", "L": "mL", "mL/min": "µL/min"}
)

// otherUnit writes the same figure with another unit, as a slip of the pen.
func otherUnit(s string, units map[string]string) (string, bool) {
	u := unitOf(s)
	to, ok := units[u]
	return strings.TrimSuffix(s, u) + to, ok
}

// slips of a quantity: by ten in the figure, by a thousand in the unit.
func slips(s string) map[string]string {
	all := map[string]string{"×10": times(s, 10), "÷10": times(s, 0.1)}
	if u := unitOf(s); u == "min" {
		all["s for min"] = strings.TrimSuffix(s, u) + "s"
	}
	if t, ok := otherUnit(s, upUnit); ok {
		all["×1000"] = t
	}
	if t, ok := otherUnit(s, downUnit); ok {
		all["÷1000"] = t
	}
	return all
}

// reactants are the rows that the page's reactions consume, and the live ones.
func (p page) reactant(name string) bool {
	if traits[name] != 0 {
		return true
	}
	for _, r := range p.root.Get("reactions").Items {
		if r.Get("consumes").Get(name) != nil {
			return true
		}
	}
	return false
}

const anyAmount = "amounts/* heat/* addition/* quench/* pressure/* equipment/* waste/refused"

// slipSites offers the slips of some size of every quantity that matters.
func slipSites(sizes ...string) func(page, adder, string) {
	return func(p page, add adder, only string) {
		takesAll := true
		offer := func(group, where, s string, put func(p page, s string)) {
			if group != only {
				return
			}
			for _, size := range sizes {
				if !takesAll && strings.HasPrefix(size, "×") {
					continue // more in the bottle than the steps take
				}
				if t, ok := slips(s)[size]; ok {
					add(fmt.Sprintf("%s, %s for %s", where, t, s), func(p page) { put(p, t) })
				}
			}
		}
		for _, e := range p.rows("materials") {
			name, amount := e.Key.Text, e.Value.Get("amount")
			takesAll = p.next(0, func(n *document.Node) bool {
				return n.Get("amount") == nil && (slices.Contains(objects(n), name) || slices.Contains(words(n.Get("with")), name)) && !does("discard dry distil")(n) || does("dry")(n) && word(n.Get("with")) == name
			}) >= 0
			switch {
			case amount == nil || figure.FindStringSubmatch(words(amount)[0]) == nil || strings.Contains(words(amount)[0], "pieces"):
			case p.reactant(name):
				for k, s := range words(amount) {
					offer("reactant", name, s, func(p page, t string) {
						if a := p.row("materials", name).Get("amount"); a.Kind == document.Sequence {
							a.Items[k] = text(t)
						} else {
							p.row("materials", name).Set("amount", text(t))
						}
					})
				}
			default:
				group := "work-up"
				if p.next(0, func(n *document.Node) bool { return does("quench")(n) && word(n.Get("with")) == name }) >= 0 && p.has(wants1Dry) {
					group = "quench"
				} else if slices.Contains([]string{"thf", "ether", "DME", "toluene", "hexane", "ethanol"}, name) && p.next(0, does("add charge", name)) >= 0 {
					group = "solvent"
				}
				offer(group, name, words(amount)[0], func(p page, t string) { p.row("materials", name).Set("amount", text(t)) })
			}
			if s := word(e.Value.Get("solution")); figure.MatchString(s) && strings.Contains(s, " M in") && p.reactant(name) {
				offer("strength", name, s, func(p page, t string) { p.row("materials", name).Set("solution", text(t)) })
			}
		}
		takesAll = true
		for _, e := range p.rows("apparatus") {
			s, k := word(e.Value.Get("size")), word(e.Value.Get("kind"))
			used := p.next(0, func(n *document.Node) bool {
				return does("add charge transfer quench dissolve")(n) && (word(n.Get("to")) == e.Key.Text || word(n.Get("in")) == e.Key.Text || slices.Contains(objects(n), e.Key.Text))
			}) >= 0
			if s != "" && used && (strings.Contains(k, "flask") || strings.Contains(k, "vial") || k == "addition funnel") {
				offer("vessel", e.Key.Text, s, func(p page, t string) { p.row("apparatus", e.Key.Text).Set("size", text(t)) })
			}
		}
		for i, n := range p.steps() {
			put := func(key string) func(p page, t string) {
				return func(p page, t string) { p.steps()[i].Set(key, text(t)) }
			}
			l := p.label(i)
			if does("reflux heat distil")(n) && n.Get("at") != nil {
				offer("hot", l, word(n.Get("at")), put("at"))
			}
			if does("cool")(n) && strings.HasPrefix(word(n.Get("to")), "-") && mustFigure(word(n.Get("to"))) < -50 {
				offer("cold", l, word(n.Get("to")), put("to"))
			}
			if does("purge")(n) {
				offer("flow", l, word(n.Get("flow")), put("flow"))
			}
			if does("backfill")(n) {
				offer("vacuum", l, word(n.Get("vacuum")), put("vacuum"))
			}
			if hotDose(p, i, n) {
				offer("over", l, word(n.Get("over")), put("over"))
			}
			if does("reflux")(n) {
				offer("long", l, word(n.Get("for")), put("for"))
			}
		}
	}
}

func slipMutators() []mutator {
	var all []mutator
	for _, s := range []struct {
		family string
		group  string
		answer string
		sizes  []string
	}{
		{"slip by 10", "reactant", anyAmount, []string{"×10", "÷10"}},
		{"slip by 1000", "reactant", anyAmount, []string{"×1000", "÷1000"}},
		{"slip by 10", "strength", anyAmount, []string{"×10", "÷10"}},
		{"slip by 10", "quench", "quench/* heat/* amounts/* equipment/* waste/refused", []string{"×10"}},
		{"slip by 1000", "quench", "quench/* heat/* amounts/* equipment/* waste/refused", []string{"×1000", "÷1000"}},
		{"slip by 10", "solvent", "amounts/* heat/* addition/* quench/* equipment/*", []string{"×10", "÷10"}},
		{"slip by 1000", "solvent", "amounts/* heat/* addition/* quench/* equipment/*", []string{"×1000", "÷1000"}},
		{"slip by 1000", "work-up", "amounts/* heat/* workup/* waste/* equipment/* drying/*", []string{"×1000"}},
		{"slip by 10", "vessel", "heat/* addition/* quench/* equipment/* amounts/*", []string{"÷10"}},
		{"slip by 1000", "vessel", "heat/* addition/* quench/* equipment/* amounts/* exclusion/* format/*", []string{"×1000", "÷1000"}},
		{"slip by 10", "hot", "heat/* storage/* cryogen/* equipment/*", []string{"×10"}},
		{"slip by 10", "cold", "addition/* heat/* equipment/* cryogen/* quench/*", []string{"÷10", "×10"}},
		{"slip by 10", "flow", "exclusion/*", []string{"÷10"}},
		{"slip by 1000", "flow", "exclusion/* pressure/*", []string{"×1000", "÷1000"}},
		{"slip by 1000", "vacuum", "exclusion/*", []string{"×1000"}},
		{"unit of time", "over", "addition/* heat/*", []string{"s for min"}},
		{"slip by 10", "long", "timing/* heat/*", []string{"×10"}},
	} {
		all = append(all, mutator{family: s.family, answers: s.answer, slip: true,
			sites: func(p page, add adder) { slipSites(s.sizes...)(p, add, s.group) }})
	}
	return all
}

// harmless edits: the same work in other words.
var harmless = []mutator{
	{family: "other units", sites: func(p page, add adder) {
		units := map[string]int{}
		var order []string
		eachQuantity(p.root, func(n *document.Node) {
			for _, s := range inOtherUnits(n.Text) {
				u := unitOf(n.Text) + " in " + unitOf(s)
				if units[u]++; units[u] == 1 {
					order = append(order, u)
				}
			}
		})
		for _, u := range order {
			add(u, func(p page) {
				eachQuantity(p.root, func(n *document.Node) {
					for _, s := range inOtherUnits(n.Text) {
						if unitOf(n.Text)+" in "+unitOf(s) == u {
							n.Text = s
							return
						}
					}
				})
			})
		}
	}},
	{family: "other order", sites: func(p page, add adder) {
		for _, table := range []string{"materials", "apparatus"} {
			add(table+" from last to first", func(p page) { slices.Reverse(p.root.Get(table).Entries) })
		}
		for _, table := range []string{"cautions", "emergency", "reactions"} {
			if table == "reactions" && len(p.root.Get(table).Items) < 2 {
				continue
			}
			add(table+" from last to first", func(p page) { slices.Reverse(p.root.Get(table).Items) })
		}
		add("keys of the file from last to first", func(p page) { slices.Reverse(p.root.Entries) })
		for i := range p.steps() {
			if i == 0 {
				continue
			}
			a, b := p.steps()[i-1], p.steps()[i]
			independent := does("discard clean")(a) && does("discard clean")(b) ||
				isGlassDrying(a) && p.isSolventDrying(b) || does("clear")(a) && does("assemble")(b) ||
				does("start", "condenser water")(b) && does("assemble guard charge")(a) || does("sparge")(a) && does("sparge")(b)
			if independent {
				add(p.label(i)+" before "+p.label(i-1), func(p page) { p.move(i, i-2) })
			}
			if verbOf(b) != "" && len(b.Entries) > 2 {
				add("modifiers from last to first, "+p.label(i), func(p page) { slices.Reverse(p.steps()[i].Entries[1:]) })
			}
			if n := len(objects(b)); n > 1 && does("dry backfill blanket discard clean introduce charge")(b) {
				add("objects from last to first, "+p.label(i), func(p page) { slices.Reverse(p.steps()[i].Entries[0].Value.Items) })
			}
		}
	}},
	{family: "other names", sites: func(p page, add adder) {
		for k, e := range p.rows("apparatus") {
			if p.alone(e.Key.Text) {
				add(e.Key.Text+" called piece", func(p page) { p.rename("apparatus", e.Key.Text, fmt.Sprintf("piece %d", k+1)) })
			}
		}
		for _, e := range p.rows("materials") {
			other := synonyms[e.Key.Text]
			switch {
			case other == "" || !p.alone(e.Key.Text):
			case e.Value.Get("substance") != nil:
				add(e.Key.Text+" of substance "+other, func(p page) { p.row("materials", e.Key.Text).Set("substance", text(other)) })
			default:
				add(e.Key.Text+" called "+other, func(p page) { p.rename("materials", e.Key.Text, other) })
			}
			if e.Value.Get("substance") != nil && p.alone(e.Key.Text) {
				add(e.Key.Text+" called bottle", func(p page) { p.rename("materials", e.Key.Text, "bottle") })
			}
		}
	}},
	{family: "rewording", sites: func(p page, add adder) {
		add("a note to every step that has none", func(p page) {
			for _, n := range p.steps() {
				if n.Get("note") == nil {
					n.Set("note", text("work in pairs and write down what you see"))
				}
			}
		})
		add("title and aims", func(p page) {
			p.root.Set("title", text("Exercise 12"))
			p.root.Delete("aims")
		})
		for i, n := range p.steps() {
			if s := word(n.Get("note")); s != "" {
				add("note, "+p.label(i), func(p page) { p.steps()[i].Set("note", text("As shown in the talk before: "+s+"; take your time")) })
			}
		}
	}},
	{family: "more care", sites: func(p page, add adder) {
		for i, n := range p.steps() {
			for _, c := range []struct {
				key, verbs string
				by         float64
			}{{"cycles", "backfill introduce degas", 5.0 / 3}, {"load", "dry", 1.25}, {"over", "add quench", 1.1}} {
				if does(c.verbs)(n) && n.Get(c.key) != nil {
					s := times(word(n.Get(c.key)), c.by)
					add(fmt.Sprintf("%s %s for %s, %s", c.key, s, word(n.Get(c.key)), p.label(i)), func(p page) { p.steps()[i].Set(c.key, text(s)) })
				}
			}
			if verbOf(n) == "dry" && n.Get("before the section") != nil && figure.MatchString(word(n.Get("for"))) {
				s := times(word(n.Get("for")), 1.5)
				add("for "+s+", "+p.label(i), func(p page) { p.steps()[i].Set("for", text(s)) })
			}
			if isGlassDrying(n) {
				s := plainNumber(mustFigure(word(n.Get("at")))+10) + " °C"
				add("at "+s+", "+p.label(i), func(p page) { p.steps()[i].Set("at", text(s)) })
			}
			if does("purge")(n) {
				s := times(word(n.Get("for")), 1.2)
				add("for "+s+", "+p.label(i), func(p page) { p.steps()[i].Set("for", text(s)) })
			}
		}
		for _, e := range p.rows("materials") {
			if word(e.Value.Get("grade")) == "anhydrous" && slices.Contains([]string{"thf", "ether", "toluene", "hexane", "ethanol", "hexanes"}, e.Key.Text) {
				add("2 ppm of water in "+e.Key.Text, func(p page) { p.row("materials", e.Key.Text).Set("water", text("2 ppm")) })
			}
			if e.Value.Get("titrated") != nil {
				add("titrated today, "+e.Key.Text, func(p page) { p.row("materials", e.Key.Text).Set("titrated", text("today, three times")) })
			}
		}
		for _, e := range p.rows("apparatus") {
			k, s := word(e.Value.Get("kind")), word(e.Value.Get("size"))
			if s != "" && (strings.Contains(k, "flask") || k == "addition funnel" || k == "separating funnel" || k == "beaker") && k != "round-bottom flask" || k == "round-bottom flask" && p.next(0, does("distil", e.Key.Text)) < 0 {
				by := 1.25
				if k == "separating funnel" || k == "beaker" {
					by = 2
				}
				add("a larger "+e.Key.Text, func(p page) {
					r := p.row("apparatus", e.Key.Text)
					r.Set("size", text(times(s, by)))
				})
			}
			if e.Value.Get("purity") != nil {
				add("gas of 99.9999 %", func(p page) { p.row("apparatus", e.Key.Text).Set("purity", text("99.9999 %")) })
			}
		}
		add("one student less", func(p page) {
			s := p.root.Get("section")
			s.Set("students", text(plainNumber(mustFigure(word(s.Get("students")))-1)))
		})
		add("a general caution more", func(p page) {
			p.caution("exotherm", "Whatever gets warmer than expected is put into the ice bath, and the addition stops.")
		})
	}},
}

func mustFigure(s string) float64 {
	x, err := strconv.ParseFloat(figure.FindStringSubmatch(s)[2], 64)
	if err != nil {
		panic(err)
	}
	return x
}

// synonyms are from chemistry books.
var synonyms = map[string]string{
	"thf": "oxolane", "ether": "ethoxyethane", "work-up ether": "ethoxyethane", "n-butyllithium": "butyllithium", "2-propanol": "isopropyl alcohol",
	"ethanol": "ethyl alcohol", "methanol": "methyl alcohol", "water": "H2O", "magnesium": "Mg", "sodium": "Na", "lithium": "Li",
	"lithium aluminium hydride": "LiAlH4", "thionyl chloride": "SOCl2", "toluene": "methylbenzene", "1-bromobutane": "n-butyl bromide",
	"ethyl acetate": "ethyl ethanoate", "acetic acid": "ethanoic acid", "hydrochloric acid": "hydrogen chloride", "brine": "NaCl", "DME": "ethylene glycol dimethyl ether",
	"isopentyl alcohol": "3-methylbutan-1-ol", "sodium bicarbonate": "sodium hydrogen carbonate", "sodium borohydride": "NaBH4", "magnesium sulfate": "MgSO4",
	"ammonium chloride": "NH4Cl", "bromobenzene": "phenyl bromide", "benzaldehyde": "benzenecarbaldehyde", "benzophenone": "diphenylmethanone",
	"diisopropylamine": "diisopropyl amine", "diethylamine": "N-ethylethanamine", "hexane": "n-hexane", "benzoic acid": "benzenecarboxylic acid",
	"sodium hydroxide": "NaOH", "hydrogen peroxide": "H2O2", "1-octene": "oct-1-ene",
}

// alone reports whether a name is part of no other word of the page that the
// bench reads by name.
func (p page) alone(name string) bool {
	alone := true
	ask := func(s string) {
		if s != name && strings.Contains(" "+s+" ", " "+name+" ") {
			alone = false
		}
	}
	for _, table := range []string{"materials", "apparatus"} {
		for _, e := range p.rows(table) {
			ask(e.Key.Text)
			if s := word(e.Value.Get("relief")); s != "" {
				ask(s)
			}
		}
	}
	for _, n := range p.steps() {
		for _, e := range n.Entries {
			if !slices.Contains([]string{"note", "cautions", "until", "look for", "otherwise", "expect", "stop point", "aims"}, e.Key.Text) {
				walk(e.Value, func(m *document.Node) { ask(m.Text) })
			}
		}
	}
	return alone
}

// rename calls a row otherwise wherever the page names it.
func (p page) rename(table, old, now string) {
	put := func(n *document.Node) {
		if n.Kind == document.Scalar && n.Text == old {
			n.Text = now
		}
	}
	for _, e := range p.rows(table) {
		put(e.Key)
	}
	for _, e := range p.rows("apparatus") {
		for _, x := range e.Value.Entries {
			if x.Key.Text != "kind" { // what it is stays what it is, also where it is called by its kind
				walk(x.Value, put)
			}
		}
	}
	for _, t := range []string{"product", "reactions", "steps"} {
		walk(p.root.Get(t), func(n *document.Node) {
			if n.Kind == document.Scalar {
				put(n)
			}
			for _, e := range n.Entries {
				if t == "reactions" {
					put(e.Key)
				}
			}
		})
	}
}

// eachQuantity offers the quantities of the tables and steps.
func eachQuantity(n *document.Node, f func(n *document.Node)) {
	texts := []string{"cautions", "note", "emergency", "approval", "expect", "until", "product", "section", "aims", "substances", "stop point"}
	for _, e := range n.Entries {
		if !slices.Contains(texts, e.Key.Text) {
			eachQuantity(e.Value, f)
		}
	}
	for _, m := range n.Items {
		eachQuantity(m, f)
	}
	if n.Kind == document.Scalar && figure.MatchString(n.Text) {
		f(n)
	}
}

// inOtherUnits writes a quantity in other units of the same size, exactly.
func inOtherUnits(s string) []string {
	m := figure.FindStringSubmatch(s)
	if m == nil || m[3] != "" {
		return nil
	}
	u := m[5]
	x := mustFigure(s)
	put := func(y float64, unit string) string { return m[1] + plainNumber(y) + " " + unit }
	switch u {
	case "g":
		return []string{put(x*1000, "mg"), put(x/1000, "kg")}
	case "mg":
		return []string{put(x/1000, "g")}
	case "mL":
		return []string{put(x, "ml"), put(x, "cm³"), put(x/1000, "L"), put(x*1000, "µL")}
	case "L":
		return []string{put(x*1000, "mL")}
	case "mmol":
		return []string{put(x/1000, "mol")}
	case "min":
		return []string{put(x*60, "s"), put(x, "minutes")}
	case "h":
		return []string{put(x*60, "min"), put(x, "hours")}
	case "d":
		return []string{put(x*24, "h")}
	case "°C":
		return []string{put(x+273.15, "K"), put(x*1.8+32, "°F")}
	case "mbar":
		return []string{put(x*100, "Pa"), put(x, "hPa")}
	case "mL/min":
		return []string{put(x/1000, "L/min")}
	}
	return nil
}

var topicIn = regexp.MustCompile(`^on (.*?) (?:out|says to be|at the last)`)

// sitesOf makes the changes of a table of mutators for one page.
func sitesOf(p page, all []mutator) []change {
	var out []change
	seen := map[string]bool{}
	for _, m := range all {
		level := m.level
		if level == "" {
			level = finding.Revise
		}
		m.sites(p, func(what string, edit func(p page)) {
			c := change{family: m.family, what: what, answers: strings.Fields(m.answers), level: level, slip: m.slip, word: m.word, edit: edit}
			if strings.HasPrefix(what, halogenated) {
				c.level = finding.Advise
			}
			if m.family == "caution" || m.family == "position of caution" {
				c.says = topicIn.FindStringSubmatch(what)[1]
			}
			if seen[c.name()] {
				return
			}
			seen[c.name()] = true
			out = append(out, c)
		})
	}
	return out
}

// outcome is what became of one change.
type outcome struct {
	file    string
	change  change
	verdict string
	grave   []string          // rules and levels of what keeps it from being clear
	found   []finding.Finding // not there before
	fault   string            // of the edit itself
}

func pages(t *testing.T) []page {
	var all []page
	for _, name := range list(t, "../procedures/*.yaml", 12) {
		f, found := document.Read(name, []byte(read(t, name)))
		if len(found) > 0 {
			t.Fatalf("%s: %s", name, found[0].Message)
		}
		all = append(all, page{filepath.Base(name), f.Root})
	}
	return all
}

// tryAll judges every change of every page, on all processors.
func tryAll(t *testing.T, ps []page, before map[string]map[string]int, all []mutator) []outcome {
	t.Helper()
	c, found := judge()
	if len(found) > 0 {
		t.Fatal(found[0].Message)
	}
	var out []outcome
	for _, p := range ps {
		for _, ch := range sitesOf(p, all) {
			out = append(out, outcome{file: p.file, change: ch})
		}
	}
	byFile := map[string]page{}
	for _, p := range ps {
		byFile[p.file] = p
	}
	var group sync.WaitGroup
	work := make(chan *outcome)
	for range runtime.GOMAXPROCS(0) {
		group.Go(func() {
			for o := range work {
				p := byFile[o.file].clone()
				written := string(document.Marshal(p.root))
				o.change.edit(p)
				after := document.Marshal(p.root)
				if string(after) == written {
					o.fault = "the edit changes nothing"
				}
				r := c.Check(o.file, after)
				o.verdict, o.grave, o.found = r.Verdict, grave(r), news(r, before[o.file])
			}
		})
	}
	for i := range out {
		work <- &out[i]
	}
	close(work)
	group.Wait()
	return out
}

// key tells findings apart by rule, level, outcome and subject, so that a step
// taken out does not make those after it new.
func key(f finding.Finding) string {
	return f.Rule + "|" + string(f.Level) + "|" + string(f.Outcome) + "|" + f.Subject
}

// tally counts findings by key.
func tally(fs []finding.Finding) map[string]int {
	n := map[string]int{}
	for _, f := range flat(fs) {
		n[key(f)]++
	}
	return n
}

// news are the findings that were not there before.
func news(r checker.Result, before map[string]int) []finding.Finding {
	now := tally(r.Findings)
	return slices.DeleteFunc(flat(r.Findings), func(f finding.Finding) bool { return now[key(f)] <= before[key(f)] })
}

// detected reports whether a finding answers the change: of a family that may,
// at its level, not there before, and with a figure, unless it asks for one or
// a word is at fault.
func (c change) detected(found []finding.Finding) bool {
	return slices.ContainsFunc(found, func(f finding.Finding) bool {
		if f.Outcome == finding.Unread {
			return c.slip // what cannot be read is not released
		}
		family := slices.ContainsFunc(c.answers, func(glob string) bool { ok, _ := path.Match(glob, f.Rule); return ok })
		return family && f.Level.Rank() >= c.level.Rank() && (c.word || len(f.Figures) > 0 || f.Outcome == finding.CannotTell && f.Ask != "") && (c.says == "" || saysOf(c.says).MatchString(f.Subject+": "+f.Message))
	})
}

// explained is a change whose outcome is not what the test wants, with why.
type explained struct {
	File     string `yaml:"file,required"`
	Mutation string `yaml:"mutation,required"`
	Because  string `yaml:"because,required"`
	used     bool
}

// explanations are the lists of explained.yaml.
type explanations struct {
	Missed  []explained `yaml:"missed"`  // seeded faults that no rule answers
	Changed []explained `yaml:"changed"` // harmless edits that change a verdict
}

func readExplained(t *testing.T) explanations {
	b, err := os.ReadFile(explainedFile)
	if err != nil {
		t.Fatal(err)
	}
	f, found := document.Read(explainedFile, b)
	var all explanations
	found = append(found, document.Decode(f, f.Root, &all)...)
	for _, x := range found {
		t.Fatalf("%s: %s", explainedFile, x.Message)
	}
	return all
}

// TestSeededFaults takes the safeguards out of the released procedures, one at
// a time. What goes unnoticed must stand in explained.yaml with its reason.
func TestSeededFaults(t *testing.T) {
	ps := pages(t)
	before := map[string]map[string]int{}
	for _, p := range ps {
		r := check(t, p.file, string(document.Marshal(p.root)))
		if r.Verdict != checker.Clear {
			t.Errorf("%s is no sound text to begin with: %s", p.file, r.Verdict)
		}
		before[p.file] = tally(r.Findings)
	}
	type count struct{ all, hit int }
	counts, misses := map[string]*count{}, map[string][]string{}
	var families []string
	reasons := readExplained(t).Missed
	table := append(slices.Clone(mutators), slipMutators()...)
	for _, m := range table {
		if !slices.ContainsFunc(ps, func(p page) bool { return len(sitesOf(p, []mutator{m})) > 0 }) {
			t.Errorf("no released procedure has what the mutator of %s answered by %s takes out (%s)", m.family, m.answers, m.unless)
		}
	}
	for _, o := range tryAll(t, ps, before, table) {
		n := counts[o.change.family]
		if n == nil {
			n = &count{}
			counts[o.change.family] = n
			families = append(families, o.change.family)
		}
		name := o.file + ": " + o.change.name()
		if o.fault != "" {
			t.Errorf("%s: %s", name, o.fault)
		}
		if o.verdict == checker.Unread && !o.change.slip {
			t.Errorf("%s: the mutated text cannot be read: %s", name, briefs(o.found))
		}
		n.all++
		x := reasonFor(reasons, o)
		hit := o.change.detected(o.found)
		switch {
		case x != nil:
			x.used = true
			if hit {
				t.Errorf("%s: explained as missed, but it is found: take it out of %s", name, explainedFile)
				break
			}
			name += " (explained: " + x.Because + ")"
		case !hit:
			t.Errorf("missed: %s; wanted %s of %s%s, found%s", name, o.change.level, strings.Join(o.change.answers, " "), o.change.says, briefs(o.found))
		}
		if hit {
			n.hit++
		} else {
			misses[o.change.family] = append(misses[o.change.family], name)
		}
	}
	checkUsed(t, reasons)
	var sb strings.Builder
	total := count{}
	fmt.Fprintf(&sb, "%-22s %9s %9s %7s\n", "safeguard", "mutations", "detected", "missed")
	for _, f := range families {
		n := counts[f]
		total.all, total.hit = total.all+n.all, total.hit+n.hit
		fmt.Fprintf(&sb, "%-22s %9d %9d %7d\n", f, n.all, n.hit, n.all-n.hit)
		for _, m := range misses[f] {
			fmt.Fprintf(&sb, "    %s\n", m)
		}
	}
	fmt.Fprintf(&sb, "%-22s %9d %9d %7d\n", "all", total.all, total.hit, total.all-total.hit)
	t.Log("\n" + sb.String())
}

// reasonFor is the entry that explains why a change is missed; nil when none
// does.
func reasonFor(all []explained, o outcome) *explained {
	for i := range all {
		if all[i].File == o.file && all[i].Mutation == o.change.name() {
			return &all[i]
		}
	}
	return nil
}

func checkUsed(t *testing.T, all []explained) {
	t.Helper()
	for _, x := range all {
		if !x.used {
			t.Errorf("%s explains a change that is not made: %s: %s", explainedFile, x.File, x.Mutation)
		}
	}
}

func briefs(fs []finding.Finding) string {
	var sb strings.Builder
	for _, f := range fs {
		fmt.Fprintf(&sb, "\n\t\t%s", brief(f))
	}
	return sb.String()
}

// grave is the set of rules and levels of what keeps a text from being clear.
func grave(r checker.Result) []string {
	var all []string
	for _, f := range flat(r.Findings) {
		if s := f.Rule + " " + string(f.Level); f.Level.Rank() >= finding.Revise.Rank() && !slices.Contains(all, s) {
			all = append(all, s)
		}
	}
	slices.Sort(all)
	return all
}

// TestHarmlessEdits says the same in other words: no verdict changes.
func TestHarmlessEdits(t *testing.T) {
	ps := pages(t)
	verdicts, rules := map[string]string{}, map[string][]string{}
	for _, p := range ps {
		asWritten := check(t, p.file, read(t, filepath.Join("../procedures", p.file)))
		r := check(t, p.file, string(document.Marshal(p.root)))
		if r.Verdict != asWritten.Verdict || !slices.Equal(grave(r), grave(asWritten)) {
			t.Errorf("%s: written in block style the verdict is %s, as released %s", p.file, r.Verdict, asWritten.Verdict)
		}
		verdicts[p.file], rules[p.file] = r.Verdict, grave(r)
	}
	reasons := readExplained(t).Changed
	var notes []string
	counts, changed := map[string]int{}, map[string]int{}
	var families []string
	for _, o := range tryAll(t, ps, nil, harmless) {
		if counts[o.change.family] == 0 {
			families = append(families, o.change.family)
		}
		counts[o.change.family]++
		name := o.file + ": " + o.change.name()
		if o.fault != "" {
			t.Errorf("%s: %s", name, o.fault)
		}
		x := reasonFor(reasons, o)
		if x != nil {
			x.used = true
		}
		same := o.verdict == verdicts[o.file] && slices.Equal(o.grave, rules[o.file])
		switch {
		case same && x != nil:
			t.Errorf("%s: explained as changed, but nothing changes: take it out of %s", name, explainedFile)
		case same:
			continue
		case x == nil:
			t.Errorf("%s: the verdict goes from %s to %s:%s", name, verdicts[o.file], o.verdict,
				briefs(slices.DeleteFunc(o.found, func(f finding.Finding) bool { return f.Level.Rank() < finding.Revise.Rank() })))
		}
		changed[o.change.family]++
		if x != nil {
			notes = append(notes, name+" (explained: "+x.Because+")")
		}
	}
	checkUsed(t, reasons)
	var sb strings.Builder
	fmt.Fprintf(&sb, "%-22s %9s %9s\n", "harmless edits", "made", "changed")
	for _, f := range families {
		fmt.Fprintf(&sb, "%-22s %9d %9d\n", f, counts[f], changed[f])
	}
	for _, n := range notes {
		fmt.Fprintf(&sb, "    %s\n", n)
	}
	t.Log("\n" + sb.String())
}
