package bench

import (
	"maps"
	"math"
	"slices"

	"ketyl/checker/finding"
	"ketyl/checker/quantity"
	"ketyl/checker/substance"
)

// stream is a leftover that went into a container.
type stream struct {
	name      string
	container string // the site's name of it, else as written, in lower case
	shown     string // the same as it is to be read
	step      int
	span      finding.Span
	contents  []portion
	features  map[string]string // feature → what has it
	acid      float64           // acid that carbonate takes, mmol
	carbonate float64           // acid that its carbonate takes, mmol
	co2       float64           // carbon dioxide that this gives off, mmol
	ml        float64
	bulk      float64 // of a solid as it lies in the bottle, mL
	blur      string  // question when the volume is not known
	origin    *vessel
	facts     *DiscardFacts
}

// holds reports a share of a species that counts, 0.01 mmol and over.
func (x *stream) holds(sp *species) bool {
	for _, p := range x.contents {
		if sameSpecies(p.sp, sp) && p.mmol > 0.01 {
			return true
		}
	}
	return false
}

// sameSpecies tells one substance from another also across runs.
func sameSpecies(a, b *species) bool {
	return a == b || a.name == b.name || a.sub != nil && b.sub != nil && a.sub.Name == b.sub.Name
}

// lineage is a vessel and all that what it holds has been in.
func (v *vessel) lineage() []*vessel {
	if v == nil {
		return nil
	}
	all := []*vessel{v}
	for i := 0; i < len(all); i++ {
		for _, p := range all[i].parents {
			if !slices.Contains(all, p) {
				all = append(all, p)
			}
		}
	}
	return all
}

// comesFrom notes that contents of w went into v.
func (v *vessel) comesFrom(w *vessel) {
	if v != nil && w != nil && w != v && !slices.Contains(v.parents, w) {
		v.parents = append(v.parents, w)
	}
}

// stoodTogether reports that two species of two streams have been in one vessel
// before: they did there what they do.
func stoodTogether(x, y *stream, p, q *species) bool {
	if x.holds(q) || y.holds(p) {
		return true
	}
	of := y.origin.lineage()
	for _, v := range x.origin.lineage() {
		if slices.Contains(of, v) && slices.Contains(v.had, p) && slices.Contains(v.had, q) {
			return true
		}
	}
	return false
}

// Amounts below which two streams do nothing to each other that is felt in a
// waste bottle: what both hold of the pair, mmol, and in much liquid its
// concentration, mol/L (common practice).
const (
	meetMmol  = 0.01
	meetTrace = 0.1
	meetMolar = 0.01
)

// counts reports enough of a portion in a stream to be felt.
func (x *stream) counts(p portion) bool {
	return p.mmol > meetMmol && (p.mmol >= meetTrace || x.ml <= 5) && (x.ml <= 0 || p.mmol/x.ml >= meetMolar || p.mmol >= 10)
}

// encounter is one thing that two streams do to each other.
type encounter struct {
	x, y           *stream
	p, q           string // what in each
	does, gas, src string
	grave          bool
	groupP, groupQ string
	gasMmol        float64 // of every student
}

// meetings looks at what streams do to each other in one container.
func (b *Bench) meetings() {
	said := map[string]bool{}
	for i, x := range b.streams {
		for _, y := range b.streams[:i] {
			for _, e := range b.meet(x, y, b.students(), b.students()) {
				key := x.container + "|" + e.p + "|" + e.q + "|" + e.does
				if said[key] {
					continue
				}
				said[key] = true
				b.emit(b.meeting(e, ""))
			}
		}
	}
}

// meeting describes an encounter from the side of its stream x.
func (b *Bench) meeting(e encounter, file string) Event {
	f := &MeetingFacts{Container: e.x.shown, A: e.x.name, B: e.y.name, StepA: Got(float64(e.y.step)), PartA: e.p, PartB: e.q, Consequence: e.does, Severe: e.grave, Gas: e.gas, Source: e.src,
		GroupA: e.groupP, GroupB: e.groupQ, OtherFile: file, GasL: Missing("how many students run it"), Better: b.betterBut(e.x)}
	if e.gasMmol > 0 {
		f.GasL = Got(GasLitres(e.gasMmol))
		if f.GasL.V > 0.5*b.containerL(e.x.container) {
			f.Severe = true // the pressure in a closed bottle goes up by more than half
		}
	}
	return Event{Kind: "meeting", Step: e.x.step, Span: e.x.span, Subject: b.join(e.x.name, " with ", e.y.name), Cause: b.join("bottle ", e.x.container, ""), Facts: f}
}

// containerL is the size of a container of the site, L.
func (b *Bench) containerL(name string) float64 {
	size := figure(b.site.ContainerSize, 4)
	if c, ok := b.container(name); ok {
		size = figure(c.Size, size)
	}
	return size
}

// meet lists what two streams do to each other in one container, each that many
// times over; the x and y of what it gives are these, in this order, and each
// pair of substances stands there once, at its gravest.
func (b *Bench) meet(x, y *stream, ofX, ofY float64) (out []encounter) {
	if x.container != y.container {
		return nil
	}
	for _, p := range x.contents {
		for _, q := range y.contents {
			if sameSpecies(p.sp, q.sp) || p.sp.sub == nil || q.sp.sub == nil || p.mmol <= meetMmol || q.mmol <= meetMmol {
				continue
			}
			if !(x.counts(p) && y.counts(q)) && !givesPoison(p.sp) && !givesPoison(q.sp) {
				continue
			}
			if p.sp.family == "water" && y.features["aqueous"] != "" || q.sp.family == "water" && x.features["aqueous"] != "" {
				continue // both are in water already
			}
			if stoodTogether(x, y, p.sp, q.sp) {
				continue
			}
			for _, c := range b.conflicts(p.sp, q.sp) {
				if !c.Grave && c.By == "chart" || b.mildPair(c, p, q) || dissolvedHalide(c, x, y, p, q) {
					continue
				}
				gas := ""
				if has(c.Consequence, "gas") {
					gas = c.Consequence
				}
				out = append(out, encounter{x: x, y: y, p: p.sp.name, q: q.sp.name, does: c.Consequence, gas: gas, src: c.Source, grave: c.Grave, groupP: c.Groups[0], groupQ: c.Groups[1]})
				break
			}
		}
	}
	// carbonate with acid: the gas of it, in a bottle that is closed
	for _, s := range [][2]*stream{{x, y}, {y, x}} {
		acid, carbonate := s[0], s[1]
		of := map[*stream]float64{x: math.Max(1, ofX), y: math.Max(1, ofY)}
		n := math.Min(of[acid]*acid.acid, of[carbonate]*carbonate.carbonate)
		if n < meetTrace {
			continue
		}
		e := encounter{x: x, y: y, does: "carbon dioxide in a closed bottle", gas: "carbon dioxide", src: "stoichiometry; 40 CFR Part 264 Appendix V, group 1", gasMmol: n * carbonate.co2 / carbonate.carbonate, groupP: "acid", groupQ: "carbonate"}
		e.p, e.q = acid.acidName(), carbonate.carbonateName()
		if acid == y {
			e.p, e.q, e.groupP, e.groupQ = e.q, e.p, e.groupQ, e.groupP
		}
		out = append(out, e)
	}
	// acid stream with base stream: heat, by 40 CFR 264 Appendix V group 1
	if x.features["acid"] != "" && y.features["base"] != "" || x.features["base"] != "" && y.features["acid"] != "" {
		if p, q := acidBasePortion(x), acidBasePortion(y); p != nil && q != nil {
			out = append(out, encounter{x: x, y: y, p: p.sp.name, q: q.sp.name, does: "heat and violent reaction (acid with base)", src: "40 CFR Part 264 Appendix V, group 1", grave: true, groupP: "acid", groupQ: "base"})
		}
	}
	for _, s := range [][2]*stream{{x, y}, {y, x}} {
		if live := s[0].features["live"]; live != "" && s[1].features["aqueous"] != "" {
			e := encounter{x: x, y: y, p: live, q: "water", does: "live " + live + " meets water", src: "40 CFR Part 264 Appendix V, group 3", grave: true, groupP: "water-reactive", groupQ: "water"}
			if s[0] == y {
				e.p, e.q, e.groupP, e.groupQ = e.q, e.p, e.groupQ, e.groupP
			}
			out = append(out, e)
		}
	}
	slices.SortStableFunc(out, func(d, e encounter) int {
		switch {
		case d.grave == e.grave:
			return 0
		case d.grave:
			return -1
		}
		return 1
	})
	said := map[[2]string]bool{}
	return slices.DeleteFunc(out, func(e encounter) bool {
		pair := [2]string{e.p, e.q}
		had := said[pair]
		said[pair] = true
		return had
	})
}

// mildPair reports a pair of the chart that does nothing grave at the strength
// that waste has: an amine and an alkyl halide make a salt, slowly and without
// gas; a dilute base leaves an ether or an alkane alone.
func (b *Bench) mildPair(c substance.Conflict, p, q portion) bool {
	if c.By != "chart" {
		return false
	}
	of := func(a, z portion) bool {
		switch {
		case a.sp.is("amine", "pyridine base", "aromatic amine") && z.sp.is(halideFamilies...):
			return true
		case a.sp.is("hydroxide", "carbonate") && z.sp.is("ether", "alkane", "arene", "alcohol"):
			return true
		}
		return false
	}
	return of(p, q) || of(q, p)
}

// halideInWater is the largest share of an aqueous stream, by mass, that a
// halogenated liquid has while it is only dissolved there: dichloromethane, the
// one that water takes most of, is 1.3 to 2 % (solubility, as listed).
const halideInWater = 0.03

// dissolvedHalide reports the little of a halogenated liquid that an aqueous layer
// has taken up and the dissolved base of another aqueous stream: it is as dilute
// as in the wash that both come from. A layer of it counts.
func dissolvedHalide(c substance.Conflict, x, y *stream, p, q portion) bool {
	if c.By != "chart" || x.features["aqueous"] == "" || y.features["aqueous"] == "" {
		return false
	}
	of := func(base, halide portion, in *stream) bool {
		return base.sp.is("hydroxide", "carbonate") && halide.sp.is("halogenated solvent") && halide.g < halideInWater*totalG(in.contents)
	}
	return of(p, q, y) || of(q, p, x)
}

// acidName is what makes a stream acid.
func (x *stream) acidName() string {
	for _, p := range x.contents {
		if p.sp.strongAcid() && p.mmol > meetMmol {
			return p.sp.name
		}
	}
	for _, p := range x.contents {
		if p.sp.is("carboxylic acid") && p.mmol > meetMmol {
			return p.sp.name
		}
	}
	return "acid"
}

func (x *stream) carbonateName() string {
	for _, p := range x.contents {
		if p.sp.is("carbonate") && p.mmol > meetMmol {
			return p.sp.name
		}
	}
	return "carbonate"
}

func acidBasePortion(x *stream) *portion {
	for i := range x.contents {
		p := &x.contents[i]
		if p.sp.strongAcid() || p.sp.is("hydroxide", "carbonate", "alkoxide") {
			return p
		}
	}
	if len(x.contents) > 0 {
		return &x.contents[0]
	}
	return nil
}

// acidity works out what acid and carbonate a stream holds, mmol: strong acid
// twice where it has two protons, carboxylic acids as they are; bicarbonate
// takes one proton for each carbon dioxide, carbonate two.
func (x *stream) acidity() {
	for _, p := range x.contents {
		switch {
		case p.sp.strongAcid():
			x.acid += p.mmol * math.Max(1, p.sp.protic)
		case p.sp.is("carboxylic acid"):
			x.acid += p.mmol
		case p.sp.is("carbonate") && isBicarbonate(p.sp):
			x.carbonate += p.mmol
			x.co2 += p.mmol
		case p.sp.is("carbonate"):
			x.carbonate += 2 * p.mmol
			x.co2 += p.mmol
		case p.sp.is("hydroxide"):
			x.acid -= p.mmol
		}
	}
	acid, carbonate := math.Max(0, x.acid), x.carbonate
	x.acid, x.carbonate = math.Max(0, acid-carbonate), math.Max(0, carbonate-acid)
	if carbonate > 0 {
		x.co2 *= x.carbonate / carbonate
	}
}

// givesPoison reports what acid turns into a gas that kills in traces.
func givesPoison(sp *species) bool {
	w := sp.waste
	return w.Cyanide || w.Sulfide || w.Azide || sp.is("cyanide", "sulfide", "azide")
}

func isBicarbonate(sp *species) bool {
	return has(sp.name, "bicarbonate", "hydrogen carbonate", "hydrogencarbonate")
}

// containersOf sums what goes into each container: one event for each, at the
// last stream into it.
func (b *Bench) containersOf() {
	for _, e := range b.fill([]Played{{Trace: &b.trace}}) {
		b.emit(e.Event)
	}
}

// Played is a procedure as it ran on the bench, under the name its reader knows.
type Played struct {
	Name  string
	Trace *Trace
}

// Shared is what runs do to each other through the containers they share: an
// event of the one, and the place in the other that it meets.
type Shared struct {
	Event
	Run   int // whose event it is
	Other int // whose stream it meets; -1 for none, as where litres are summed
	At    finding.Span
	Step  int // of the other
}

// Together looks at several procedures that are run in one section and share
// its containers: what a stream of the one does to a stream of another, told on
// both sides, and the litres and containers over all.
func Together(runs []Played, c *substance.Compendium, site *substance.Site) []Shared {
	b := &Bench{c: c, known: knownOf(c), site: site, pairs: map[pairOf][]substance.Conflict{}, containers: map[string]*substance.Container{}}
	var out []Shared
	for i := range runs {
		for j := range runs[:i] {
			said := map[string]bool{}
			for _, x := range runs[i].Trace.streams {
				for _, y := range runs[j].Trace.streams {
					for _, e := range b.meet(x, y, runs[i].Trace.students, runs[j].Trace.students) {
						key := x.container + "|" + e.p + "|" + e.q + "|" + e.does
						if said[key] {
							continue
						}
						said[key] = true
						back := encounter{x: y, y: x, p: e.q, q: e.p, does: e.does, gas: e.gas, src: e.src, grave: e.grave, groupP: e.groupQ, groupQ: e.groupP, gasMmol: e.gasMmol}
						out = append(out,
							Shared{Event: b.meeting(e, runs[j].Name), Run: i, Other: j, At: y.span, Step: y.step},
							Shared{Event: b.meeting(back, runs[i].Name), Run: j, Other: i, At: x.span, Step: x.step})
					}
				}
			}
		}
	}
	return append(out, b.fill(runs)...)
}

// fill sums the litres that go into each container from all runs; an event for
// each run that puts something in, at its last stream.
func (b *Bench) fill(runs []Played) []Shared {
	type sum struct {
		facts ContainerFacts
		last  []*stream // of each run
	}
	sums := map[string]*sum{}
	for i, r := range runs {
		for _, x := range r.Trace.streams {
			s := sums[x.container]
			if s == nil {
				s = &sum{last: make([]*stream, len(runs)), facts: ContainerFacts{Container: x.shown, Known: x.facts.Known, Litres: Got(0), SizeL: x.facts.ContainerL, Bottles: Missing(x.facts.ContainerL.Ask()), Provided: x.facts.Provided}}
				sums[x.container] = s
			}
			f := &s.facts
			name := x.name
			if len(runs) > 1 {
				name += " (" + r.Name + ")"
			}
			f.Streams = append(f.Streams, name)
			if n := len(f.Files); len(runs) > 1 && (n == 0 || f.Files[n-1] != r.Name) {
				f.Files = append(f.Files, r.Name)
			}
			switch {
			case x.blur != "":
				f.Litres = Missing(x.blur)
			case r.Trace.students <= 0:
				f.Litres = Missing("how many students run it")
			case f.Litres.Known:
				f.Litres.V += r.Trace.students * (x.ml + x.bulk) / 1000
			}
			if x.facts.Provided.Known && x.facts.Provided.V > valueOf(f.Provided) {
				f.Provided = x.facts.Provided // the lists of the texts name the same bottles
			}
			s.last[i] = x
		}
	}
	var out []Shared
	for _, name := range slices.Sorted(maps.Keys(sums)) {
		s := sums[name]
		f := s.facts
		if !f.Litres.Known {
			f.Bottles = Missing(f.Litres.Ask())
		} else if f.SizeL.Known && f.SizeL.V > 0 {
			f.Bottles = Got(math.Ceil(f.Litres.V/(figure(b.site.FillLimit, 75)/100*f.SizeL.V) - 1e-9))
		}
		for i, x := range s.last {
			if x == nil {
				continue
			}
			facts := f
			out = append(out, Shared{Event: Event{Kind: "container", Step: x.step, Span: x.span, Subject: b.join("container ", f.Container, ""), Cause: b.join("container ", name, ""), Facts: &facts}, Run: i, Other: -1})
		}
	}
	return out
}

// better names the first of the site's containers that takes the stream.
func (b *Bench) better(feat map[string]string, f *DiscardFacts) string {
	return b.betterOf(feat, f, "")
}

// betterBut names a container that takes the stream and is not the one that it
// went into.
func (b *Bench) betterBut(x *stream) string { return b.betterOf(x.features, x.facts, x.shown) }

func (b *Bench) betterOf(feat map[string]string, f *DiscardFacts, but string) string {
	if _, ok := feat["live"]; ok {
		return "none before it is destroyed"
	}
	if x, ok := feat["cryogen"]; ok {
		return "none: let the " + x + " go off in the hood, in the open"
	}
	var few [24]string
	has := few[:0] // the features that it has
	for k := range feat {
		has = append(has, k)
	}
	for i := range b.site.Containers {
		c := &b.site.Containers[i]
		if refuses(c, has) || sameName(c.Name, but) {
			continue
		}
		if len(c.Only) > 0 {
			return c.Name // what it is for decides, and not its pH
		}
		if c.PH != nil && c.PH.High != nil && *c.PH.High <= 5 && feat["acid"] == "" && feat["weak acid"] == "" {
			continue
		}
		if c.PH != nil && c.PH.Low != nil && *c.PH.Low >= 9 && feat["base"] == "" && feat["weak base"] == "" && feat["carbonate"] == "" {
			continue
		}
		return c.Name
	}
	return ownContainer
}

// afterwards are the features of a stream whose live part has been destroyed.
func afterwards(feat map[string]string) map[string]string {
	out := maps.Clone(feat)
	for _, k := range []string{"live", "pyrophoric", "water-reactive", "gas former", "alkali metal"} {
		delete(out, k)
	}
	return out
}

// acidOf says how much acid, for a feature.
func acidOf(mmol float64, what string) string {
	return quantity.Format(mmol, quantity.Amount) + " of " + what
}
