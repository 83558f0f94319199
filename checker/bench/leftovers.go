package bench

import (
	"maps"
	"math"
	"slices"
	"strings"

	"ketyl/checker/finding"
	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
	"ketyl/checker/substance"
)

// stream is a leftover that went into a container.
type stream struct {
	name      string
	container string
	step      int
	span      finding.Span
	contents  []portion
	features  map[string]string // feature → what has it
	ml        float64
	known     bool
	facts     *DiscardFacts
}

// holds reports a share of a species that counts, 0.01 mmol and over.
func (x *stream) holds(sp *species) bool {
	for _, p := range x.contents {
		if p.sp == sp && p.mmol > 0.01 {
			return true
		}
	}
	return false
}

var drainWords = []string{"sink", "drain", "sewer", "down the", "evaporate in", "hood to evaporate", "to evaporate", "atmosphere"}

func (b *Bench) isContainer(name string) bool {
	if b.vesselNamed(name) != nil {
		return false
	}
	if _, ok := b.siteContainer(strings.TrimSuffix(strings.TrimSpace(strings.ToLower(name)), " waste")); ok {
		return true
	}
	if p := b.pieceNamed(name); p != nil {
		return p.class == "container"
	}
	return has(name, "waste", "sharps", "bin", "sink", "drain", "container of its own", "bottle of its own")
}

// container reads a name as one of the site's containers.
func (b *Bench) container(name string) (*substance.Container, bool) {
	n := strings.ToLower(strings.TrimSpace(name))
	for _, try := range []string{n, strings.TrimSuffix(n, " waste"), strings.TrimSuffix(n, " bottle"), strings.TrimSuffix(strings.TrimSuffix(n, " bottle"), " waste"), strings.TrimPrefix(strings.TrimSuffix(n, " container"), "the ")} {
		if c, ok := b.siteContainer(try); ok {
			return c, true
		}
	}
	if p := b.pieceNamed(name); p != nil {
		p.used = true
		if p.row != nil && p.row.Fill.Is() {
			return b.container(p.row.Fill.S)
		}
		if p.row != nil && !strings.EqualFold(p.kind, name) {
			return b.container(p.kind)
		}
	}
	return nil, false
}

// features of a stream as the site's containers ask for them.
func (b *Bench) features(contents []portion, acidMmol float64, ml float64) map[string]string {
	f := map[string]string{}
	set := func(k, why string) {
		if _, ok := f[k]; !ok {
			f[k] = why
		}
	}
	var water, organic, grams, acid, base float64
	acid = acidMmol
	for _, p := range contents {
		grams += p.g
		switch {
		case p.sp.family == "water":
			water += p.ml
		case p.sp.liquid:
			organic += p.ml
		}
		w := p.sp.waste
		if w.Halogenated && p.mmol > 1e-3 {
			why := p.sp.name
			if p.maybe {
				why += " that did not react"
			}
			set("halogenated", why)
		}
		if p.sp.strongAcid() {
			acid += p.mmol * math.Max(1, p.sp.protic)
		}
		if p.sp.is("hydroxide", "alkoxide", "carbonate") {
			if !has(p.sp.name, "bicarbonate", "hydrogen carbonate", "hydrogencarbonate") {
				base += p.mmol // bicarbonate stays near pH 8
			}
		}
		dilute := has(p.sp.name, "sulfuric acid") && totalG(contents) > 2*p.g
		if !dilute && (w.Oxidiser || p.sp.is("oxidant", "peroxide", "oxidising acid", "hypochlorite")) && p.mmol > 0.1 {
			set("oxidiser", p.sp.name)
		}
		if w.ToxicMetal != "" && p.mmol > 1e-3 {
			set("toxic metal", w.ToxicMetal)
			set("metal", w.ToxicMetal)
		}
		if p.sp.is("precatalyst", "metal powder") {
			set("metal", p.sp.name)
		}
		if w.Mercury {
			set("mercury", p.sp.name)
		}
		if w.Cyanide || p.sp.is("cyanide") {
			set("cyanide", p.sp.name)
		}
		if w.Sulfide || p.sp.is("sulfide") {
			set("sulfide", p.sp.name)
		}
		if w.Azide || p.sp.is("azide") {
			set("azide", p.sp.name)
		}
		if p.sp.live && p.mmol > 10*trace {
			set("live", p.sp.name)
		}
		if p.sp.pyro() && p.mmol > 10*trace {
			set("pyrophoric", p.sp.name)
		}
		if (p.sp.waterReactive() || w.WaterReactive) && p.mmol > 10*trace {
			set("water-reactive", p.sp.name)
		}
		if p.sp.is("alkali metal") {
			set("alkali metal", p.sp.name)
		}
		if w.GasFormer != "" && (p.sp.live || p.sp.waterReactive()) {
			set("gas former", w.GasFormer)
		}
	}
	net := acid - base
	molar := 0.0
	if ml > 0 {
		molar = math.Abs(net) / ml
	}
	if net > 0.05 && molar > 1e-4 {
		set("acid", quantity.Format(net, quantity.Amount)+" of acid")
	}
	if net < -0.05 && molar > 1e-3 {
		set("base", quantity.Format(-net, quantity.Amount)+" of base")
	}
	switch {
	case water > 0 && water >= 0.5*organic:
		set("aqueous", "water")
	case organic > 0.05:
		set("organic", "organic liquid")
	case grams > 0:
		set("solid", "solid")
	}
	return f
}

func totalG(ps []portion) float64 {
	var g float64
	for _, p := range ps {
		g += p.g
	}
	return g
}

// discard puts leftovers into containers.
func (b *Bench) discard(s *procedure.Step) {
	for _, o := range s.Object {
		b.discardOne(s, o)
	}
}

func (b *Bench) discardOne(s *procedure.Step, o procedure.Text) {
	into := strings.TrimSpace(joined(s.Into))
	if into == "" {
		into = strings.TrimSpace(joined(s.To))
	}
	v := b.vesselNamed(o.S)
	if a := b.alias[strings.ToLower(o.S)]; a != nil && (v == nil || v.gone) {
		if a.discarded {
			return // settled under its other name
		}
		v = a
	}
	var contents []portion
	acid := 0.0
	sharp := has(o.S, "needle", "sharp", "blade", "syringe") && !has(o.S, "rins", "wash")
	name := o.S
	var origin *vessel
	switch {
	case v != nil:
		origin = v
		contents, acid = slices.Clone(v.contents), v.acid
		v.discarded = true
	case b.byKind(strings.ToLower(o.S)) != nil:
		v = b.byKind(strings.ToLower(o.S))
		origin = v
		contents, acid = slices.Clone(v.contents), v.acid
		v.discarded = true
		b.alsoDiscard(v)
	case b.material(o.S) != nil:
		m := b.material(o.S)
		m.used = true
		share := m.left
		if m.desiccant || share <= 0 {
			share = math.Max(share, 0.02)
		}
		for _, p := range m.mix {
			contents = append(contents, portion{p.sp, p.mmol * share, p.g * share, p.ml * share, m.name, false})
		}
		b.usedMaterial(m, share)
	default:
		if v = b.place(o, false); v != nil {
			origin = v
			contents, acid = slices.Clone(v.contents), v.acid
			v.discarded = true
		} else if sp := b.lookup(o.S); sp != nil {
			contents = []portion{{sp: sp, mmol: 1, g: sp.mw / 1000, from: o.S}}
		}
	}
	if sharp {
		for _, t := range b.openTransfers {
			if has(o.S, t.tool) && t.tool != "" || has(t.tool, "syringe", "needle", "cannula") && has(o.S, "needle", "syringe") {
				if !t.ev.Rinsed {
					for _, m := range b.materials {
						if m.name == t.ev.Material.Name {
							contents = append(contents, portion{sp: m.sp, mmol: 0.02, g: 0.001, from: m.name})
						}
					}
				}
			}
		}
	}
	ml := 0.0
	for _, p := range contents {
		ml += p.ml
	}
	feat := b.features(contents, acid, ml)
	if sharp {
		feat = map[string]string{"sharp": "needle"}
		for _, p := range contents {
			if p.sp.live {
				feat["live"] = p.sp.name
			}
		}
	}
	f := &DiscardFacts{Stream: name, Into: into, VolumeML: Got(ml), SectionL: Missing("how many students run it"), ContainerL: Missing("the size of the container"), Bottles: Missing("how many students run it"), Provided: Missing("how many containers are provided"),
		HalogenMmol: Missing("the halogenated amount"), HalogenShare: Missing("the halogenated amount"), Sharp: sharp, Closed: isTrue(s.Sealed)}
	if origin != nil && origin.blur != "" {
		f.VolumeML = Missing(origin.blur)
	}
	f.Drain = has(into, drainWords...)
	for _, p := range contents {
		if p.mmol > trace {
			f.Contents = append(f.Contents, p.sp.name)
		}
		if p.sp.live && p.mmol > 10*trace {
			f.LiveMmol += p.mmol
			f.Live = p.sp.name
		}
	}
	var halo, all float64
	for _, p := range contents {
		all += p.g
		if p.sp.waste.Halogenated {
			halo += p.g
			f.HalogenMmol = Got(valueOf(f.HalogenMmol) + p.mmol)
		}
	}
	if all > 0 {
		f.HalogenShare = Got(100 * halo / all)
	}
	_, f.Halogenated = feat["halogenated"]
	f.HalogenSource = feat["halogenated"]
	_, f.Acidic = feat["acid"]
	_, f.Basic = feat["base"]
	_, f.Aqueous = feat["aqueous"]
	_, f.Organic = feat["organic"]
	_, f.Solid = feat["solid"]
	_, f.Oxidiser = feat["oxidiser"]
	f.ToxicMetal = feat["toxic metal"]
	_, f.Cyanide = feat["cyanide"]
	_, f.Sulfide = feat["sulfide"]
	_, f.Azide = feat["azide"]
	f.Pyrophoric, f.WaterReactive, f.GasFormer = feat["pyrophoric"], feat["water-reactive"], feat["gas former"]
	container := into
	if c, ok := b.container(into); ok {
		f.Container, f.Known = c.Name, true
		container = c.Name
		f.Refused = refused(c, feat, f)
		size := figure(c.Size, figure(b.site.ContainerSize, 4))
		f.ContainerL = Assume(size, "container of the site file")
		if p := b.pieceNamed(into); p != nil && p.row != nil && p.row.Size != nil && p.row.Size.Known() {
			f.ContainerL = Got(p.row.Size.Value() / 1000)
		}
	}
	if p := b.pieceNamed(into); p != nil {
		p.used = true
		if p.row != nil && p.row.Count != nil && p.row.Count.Known() {
			f.Provided = Got(p.row.Count.Value())
		} else if p.row != nil {
			f.Provided = Got(1)
		}
	}
	f.Better = b.better(feat, f)
	if n := b.students(); n > 0 {
		f.SectionL = Got(n * ml / 1000)
		if f.ContainerL.Known {
			fill := figure(b.site.FillLimit, 75) / 100
			f.Bottles = Got(math.Ceil(f.SectionL.V / (fill * f.ContainerL.V)))
		}
	}
	if f.VolumeML.Ask != "" {
		f.SectionL, f.Bottles = Missing(f.VolumeML.Ask), Missing(f.VolumeML.Ask)
	}
	b.emit(Event{Kind: "discard", Facts: f, Subject: "discard " + name, Span: o.Span, Cause: "waste of " + name})
	if into != "" && !sharp {
		b.streams = append(b.streams, &stream{name: name, container: strings.ToLower(container), step: s.N, span: o.Span, contents: contents, features: feat, ml: ml, known: f.Known, facts: f})
	}
}

// alsoDiscard marks the other layers of the same kind and origin: "the
// aqueous layers" are one leftover.
func (b *Bench) alsoDiscard(v *vessel) {
	for _, w := range b.vessels {
		if w != v && w.piece == nil && w.kind == v.kind && w.kind == "aqueous" && strings.EqualFold(w.name, v.name) {
			w.discarded = true
		}
	}
}

func (b *Bench) students() float64 {
	if f := b.p.Section.Students; f != nil && f.Known() {
		return f.Value()
	}
	return 0
}

// refused says why a container does not take a stream; empty when it does.
func refused(c *substance.Container, feat map[string]string, f *DiscardFacts) string {
	for _, r := range c.Refuses {
		if why, ok := feat[r]; ok {
			return r + ": " + why
		}
	}
	matter := ""
	for _, m := range []string{"sharp", "aqueous", "organic", "solid"} {
		if _, ok := feat[m]; ok {
			matter = m
			break
		}
	}
	if matter != "" && len(c.Matter) > 0 && !slices.Contains(c.Matter, matter) {
		if matter == "solid" || matter == "organic" || matter == "aqueous" || matter == "sharp" {
			word := map[string]string{"sharp": "sharps", "aqueous": "aqueous liquids", "organic": "organic liquids", "solid": "solids"}
			return "it is not for " + word[matter]
		}
	}
	if len(c.Only) > 0 {
		for _, o := range c.Only {
			if _, ok := feat[o]; ok {
				return ""
			}
		}
		return "it is only for " + strings.Join(c.Only, " or ")
	}
	return ""
}

// better names the first of the site's containers that takes the stream.
func (b *Bench) better(feat map[string]string, f *DiscardFacts) string {
	if _, ok := feat["live"]; ok {
		return "none before it is destroyed"
	}
	for i := range b.site.Containers {
		c := &b.site.Containers[i]
		if refused(c, feat, f) == "" {
			if c.PH != nil && c.PH.High != nil && *c.PH.High <= 5 && feat["acid"] == "" {
				continue
			}
			if c.PH != nil && c.PH.Low != nil && *c.PH.Low >= 9 && feat["base"] == "" {
				continue
			}
			return c.Name
		}
	}
	return "a labelled container of its own"
}

// meetings looks at what streams do to each other in one container, over the
// whole section.
func (b *Bench) meetings() {
	said := map[string]bool{}
	for i, x := range b.streams {
		for _, y := range b.streams[:i] {
			if x.container != y.container {
				continue
			}
			b.meet(x, y, said)
		}
	}
}

func (b *Bench) meet(x, y *stream, said map[string]bool) {
	emit := func(a, c portion, cons, gas, src string, grave bool, ga, gc string) {
		key := x.container + "|" + a.sp.name + "|" + c.sp.name + "|" + cons
		if said[key] {
			return
		}
		said[key] = true
		b.emit(Event{Kind: "meeting", Step: x.step, Span: x.span, Subject: x.name + " with " + y.name, Cause: "bottle " + x.container,
			Facts: &MeetingFacts{Container: x.container, A: x.name, B: y.name, StepA: Got(float64(y.step)), PartA: a.sp.name, PartB: c.sp.name, Consequence: cons, Severe: grave, Gas: gas, Source: src, GroupA: ga, GroupB: gc}})
	}
	for _, p := range x.contents {
		for _, q := range y.contents {
			if p.sp == q.sp || p.mmol <= 0.01 || q.mmol <= 0.01 || p.sp.sub == nil || q.sp.sub == nil {
				continue
			}
			if p.sp.family == "water" && y.features["aqueous"] != "" || q.sp.family == "water" && x.features["aqueous"] != "" {
				continue // both are in water already
			}
			if (p.mmol < 0.1 || q.mmol < 0.1) && x.ml+y.ml > 10 {
				continue // a trace in much liquid
			}
			if x.holds(q.sp) || y.holds(p.sp) {
				continue // they have stood together in one of the streams already
			}
			for _, c := range b.conflicts(p.sp, q.sp) {
				if !c.Grave && c.By == "chart" {
					continue
				}
				gas := ""
				if has(c.Consequence, "gas") {
					gas = c.Consequence
				}
				emit(p, q, c.Consequence, gas, c.Source, c.Grave, c.Groups[0], c.Groups[1])
				break
			}
		}
	}
	// acid stream with base stream: heat, by 40 CFR 264 Appendix V group 1
	if x.features["acid"] != "" && y.features["base"] != "" || x.features["base"] != "" && y.features["acid"] != "" {
		a, c := acidBasePortion(x), acidBasePortion(y)
		if a != nil && c != nil {
			emit(*a, *c, "heat and violent reaction (acid with base)", "", "40 CFR Part 264 Appendix V, group 1", true, "acid", "base")
		}
	}
	if live := x.features["live"]; live != "" && y.features["aqueous"] != "" {
		emit(x.contents[0], y.contents[0], "live "+live+" meets water", "", "40 CFR Part 264 Appendix V, group 3", true, "water-reactive", "water")
	}
	if live := y.features["live"]; live != "" && x.features["aqueous"] != "" {
		emit(x.contents[0], y.contents[0], "live "+live+" meets water", "", "40 CFR Part 264 Appendix V, group 3", true, "water", "water-reactive")
	}
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

// equivalents finds the limiting reagent and sets every amount against it.
func (b *Bench) equivalents() {
	var lim *material
	// the product says what it comes from
	if p := b.p.Product; p != nil && p.From.Is() {
		lim = b.material(p.From.S)
	}
	if lim == nil || !lim.mmol.Known {
		best := math.Inf(1)
		for _, r := range b.reactions {
			for _, c := range r.consumes {
				for _, m := range b.materials {
					if m.sp == c.sp && m.mmol.Known && m.mmol.V/c.n < best {
						best, lim = m.mmol.V/c.n, m
					}
				}
			}
		}
	}
	// amounts written as equivalents
	for _, m := range b.materials {
		q, ok := m.row.Amount.Of(quantity.Equivalents)
		if !ok || m.mmol.Known || !q.Known() {
			continue
		}
		ref := lim
		if q.Of != "" {
			ref = b.material(q.Of)
		}
		if ref == nil {
			for _, x := range b.materials {
				if e, ok := x.row.Amount.Of(quantity.Equivalents); ok && e.Known() && e.Value() == 1 && x.mmol.Known {
					ref = x
				}
			}
		}
		if ref == nil || !ref.mmol.Known {
			continue
		}
		row := *m.row
		amt := quantity.Quantity{Raw: q.Raw, Dim: quantity.Amount, Low: ref.mmol.V * q.Total(), High: ref.mmol.V * q.Total(), Times: 1, Unit: "mmol"}
		row.Amount = &procedure.Amount{All: append([]quantity.Quantity{amt}, m.row.Amount.All...), Raw: m.row.Amount.Raw, Span: m.row.Amount.Span}
		name, orig := m.name, m.row
		*m = *b.resolve(&row)
		m.name, m.row = name, orig
	}
	if lim == nil || !lim.mmol.Known {
		return
	}
	b.trace.Figures.Limiting = lim.name
	b.trace.Figures.LimitingMmol = lim.mmol
	for _, m := range b.materials {
		if m.mmol.Known {
			m.equivalents = Got(m.mmol.V / lim.mmol.V)
		}
	}
}

// finish closes what is open and looks at the whole text.
func (b *Bench) finish() {
	b.step = nil
	for _, v := range b.vessels {
		b.closeBudget(v)
	}
	b.materialEvents()
	b.apparatusEvents()
	b.judgeCautions()
	for _, e := range b.trace.Events {
		if f, ok := e.Facts.(*ExposureFacts); ok {
			for _, v := range b.vessels {
				if v.name == f.Vessel.Name {
					f.MaxNeedRank = math.Max(f.MaxNeedRank, v.maxNeed)
				}
			}
		}
	}
	b.meetings()
	b.sumBottles()
	b.fillAtEnd()
	b.wholeText()
}

// sumBottles gives the last stream into a container the litres of all streams
// that go there, so that two that fit alone are counted together.
func (b *Bench) sumBottles() {
	total, unknown := map[string]float64{}, map[string]bool{}
	last := map[string]*stream{}
	for _, x := range b.streams {
		total[x.container] += x.ml
		unknown[x.container] = unknown[x.container] || x.facts.VolumeML.Ask != ""
		last[x.container] = x
	}
	n := b.students()
	for name, x := range last {
		if n == 0 || unknown[name] {
			continue
		}
		f := x.facts
		f.SectionL = Got(n * total[name] / 1000)
		if f.ContainerL.Known && f.ContainerL.V > 0 {
			f.Bottles = Got(math.Ceil(f.SectionL.V / (figure(b.site.FillLimit, 75) / 100 * f.ContainerL.V)))
		}
	}
}

// fillAtEnd tells every addition the largest fill its vessel came to.
func (b *Bench) fillAtEnd() {
	peak := map[string]Num{}
	for _, e := range b.trace.Events {
		switch f := e.Facts.(type) {
		case *AdditionFacts:
			if n := f.FillAfter; n.Known && n.V > valueOf(peak[f.Vessel.Name]) {
				peak[f.Vessel.Name] = n
			}
		case *QuenchFacts:
			if n := f.FillAfter; n.Known && n.V > valueOf(peak[f.Vessel.Name]) {
				peak[f.Vessel.Name] = n
			}
		}
	}
	for _, e := range b.trace.Events {
		if f, ok := e.Facts.(*AdditionFacts); ok {
			if n, ok := peak[f.Vessel.Name]; ok {
				f.FillAtEnd = n
			}
		}
	}
}

func (b *Bench) materialEvents() {
	for _, m := range b.materials {
		f := &MaterialEvent{Material: b.materialFacts(m, 1), Known: m.known, Nearest: m.nearest, AmountGiven: amountGiven(m.row.Amount), MismatchPct: m.mismatch, Stated: m.stated, Computed: m.computed,
			AssayMissing: m.assayMissing, Used: m.used, TitreStated: m.row.Titrated.Is(), ExcessPct: Missing("the amounts of the reaction"), BrokenDown: m.how, Sites: Missing("the amounts of the reaction")}
		f.TakenPercent = Missing("what the steps take of " + m.name)
		if m.taken > 0 {
			f.TakenPercent = Got(100 * m.taken)
		}
		f.Reactive = m.sp.live
		f.SoldMolarity = m.strongestSold()
		if m.calledAs != nil {
			f.CalledAs, f.CalledLive = m.calledAs.name, m.calledAs.live
		}
		raw := ""
		if m.row.Amount != nil {
			raw = m.row.Amount.Raw
		}
		small := has(m.name+m.row.Form.S+m.row.Role.S+raw, "crystal", "starter", "initiator", "boiling", "indicator", "drying agent", "seed", "catalyst", "stone", "chip")
		f.Needed = !small && !b.onlyEluent(m) && (!m.desiccant || m.sp.is("hydroxide", "alkali metal", "saline hydride", "aluminium hydride", "mineral acid", "oxidising acid") && !b.driesWith(m)) && !m.sp.is("drying salt", "adsorbent", "filter aid", "indicator", "molecular sieve", "inert gas", "salt")
		f.Peroxide = m.sp.sub != nil && m.sp.sub.PeroxideClass != nil || m.solvent != nil && m.solvent.sub != nil && m.solvent.sub.PeroxideClass != nil
		f.Concentrated = b.evaporated(m)
		for _, r := range b.reactions {
			for _, c := range r.consumes {
				if c.sp != m.sp {
					continue
				}
				need := math.Inf(1)
				for _, d := range r.consumes {
					if d.sp == c.sp {
						continue
					}
					if total, known := b.planned(d.sp); known {
						need = math.Min(need, total/d.n*c.n)
					}
				}
				if have, known := b.planned(c.sp); known && !math.IsInf(need, 1) && need > 0 {
					f.ExcessPct = Got((have - need) / need * 100)
				}
			}
		}
		if m.sp.live && m.mmol.Known {
			sites, handed, known := 0.0, 0.0, false
			for _, o := range b.materials {
				if o.sp == m.sp || !o.mmol.Known || o.sp.family == "water" || o.solvent != nil && o.solvent.family == "water" {
					continue
				}
				if b.usedOnlyAfterQuench(o) {
					continue
				}
				if n, ok := b.declaredRatio(m.sp, o.sp); ok {
					sites, known = sites+o.mmol.V*n*math.Max(m.sp.eq, 1), true
					continue
				}
				if o.sp.protic > 0 && meetsProton(m.sp, o.sp) {
					known = true
					if o.sp.is("amine") && m.sp.is("organolithium") {
						handed += o.mmol.V * o.sp.protic // makes the amide, which goes on
					} else {
						sites += o.mmol.V * o.sp.protic
					}
				}
				if o.sp.electro > 0 && meetsSite(m.sp, o.sp) {
					sites += o.mmol.V * o.sp.electro
					known = true
				}
			}
			sites = math.Max(sites, handed)
			if known {
				f.Sites = Got(sites / math.Max(m.sp.eq, 1))
			}
		}
		b.ownSolvent(m)
		span := m.row.Name.Span
		b.emit(Event{Kind: "material", Span: span, Subject: m.name, Facts: f, Cause: "material " + m.name})
	}
}

// ownSolvent sets a live reagent against the solvent it is written to be in,
// unless it is known to be sold in that solvent or in one of its family.
func (b *Bench) ownSolvent(m *material) {
	if !m.used || m.solvent == nil || m.sp.sub == nil || m.solvent.sub == nil || !(m.sp.live || strongBaseKind(m.sp.active)) || m.sp.is("borohydride", "alkoxide", "hydroxide") {
		return
	}
	for _, s := range m.sp.sub.Solutions {
		q, err := quantity.ParseSolution(s.As)
		if err != nil {
			continue
		}
		if o := b.lookup(q.Solvent); o != nil && o.family == m.solvent.family {
			return
		}
	}
	for _, c := range b.c.Clash(m.sp.sub, m.solvent.sub) {
		if c.By == "chart" {
			continue
		}
		f := &ContactFacts{A: m.sp.name, B: m.solvent.name, FamilyA: m.sp.family, FamilyB: m.solvent.family, Consequence: word(c.Because, c.Consequence), Severe: true, Kind: "own solvent", Vessel: b.facts(nil), Source: c.Source, TemperatureC: Got(b.roomT())}
		f.Vessel.Name = "its bottle"
		b.emit(Event{Kind: "contact", Span: m.row.Name.Span, Facts: f, Subject: m.name + " in " + m.solvent.name, Cause: "contact " + m.sp.name + "|" + m.solvent.name})
		return
	}
}

// strongestSold is the highest molarity among the solutions that the
// compendium knows to be sold or usual; not known when it names none.
func (m *material) strongestSold() Num {
	out := Missing("the strengths that " + m.name + " is sold at")
	if m.sp.sub == nil || m.sp.mw <= 0 {
		return out
	}
	if m.solvent != nil && m.solvent.family == "water" {
		return out
	}
	for _, s := range m.sp.sub.Solutions {
		q, err := quantity.ParseSolution(s.As)
		if err != nil || !q.Strength.Known() {
			continue
		}
		v := 0.0
		switch q.Strength.Dim {
		case quantity.Molarity:
			v = q.Strength.Max()
		case quantity.Fraction:
			rho := 1.0
			if s.Density != nil {
				rho = *s.Density
			}
			v = q.Strength.Max() * rho / m.sp.mw * 1000
		}
		if v > out.V {
			out = Got(v)
		}
	}
	return out
}

// declaredRatio is how many mol of the first a mol of the second takes by a
// declared reaction.
func (b *Bench) declaredRatio(reagent, partner *species) (float64, bool) {
	for _, r := range b.reactions {
		var n, d float64
		for _, c := range r.consumes {
			if c.sp == reagent {
				n = c.n
			}
			if c.sp == partner {
				d = c.n
			}
		}
		if n > 0 && d > 0 {
			return n / d, true
		}
	}
	return 0, false
}

// onlyEluent reports a material that serves only to run a column: that is
// given by ratio, not by amount.
func (b *Bench) onlyEluent(m *material) bool {
	used := false
	for _, s := range b.p.Steps {
		for _, ts := range [][]procedure.Text{s.Object, s.With, s.In, s.Into, s.To, s.Then, s.RinseWith} {
			for _, t := range ts {
				if !strings.EqualFold(t.S, m.name) {
					continue
				}
				if s.Verb.Name != "chromatograph" {
					return false
				}
				used = true
			}
		}
	}
	return used
}

// driesWith reports that a material is used as a drying agent.
func (b *Bench) driesWith(m *material) bool {
	if has(m.row.Role.S, "drying", "desiccant") {
		return true
	}
	for _, s := range b.p.Steps {
		if s.Verb.Name != "dry" && s.Verb.Name != "distil" {
			continue
		}
		for _, t := range s.With {
			if strings.EqualFold(t.S, m.name) {
				return true
			}
		}
	}
	return false
}

// amountGiven reports a figure or a word of the trade; "one small piece" is
// neither.
func amountGiven(a *procedure.Amount) bool {
	if a == nil {
		return false
	}
	for _, q := range a.All {
		if q.Dim == quantity.Count && !has(q.Raw, "drop", "equiv") {
			continue
		}
		return true
	}
	return false
}

// usedOnlyAfterQuench reports that a material first comes in with or after the
// quench.
func (b *Bench) usedOnlyAfterQuench(m *material) bool {
	q := 0
	for _, s := range b.p.Steps {
		switch s.Verb.Name {
		case "quench", "destroy", "extract", "wash", "separate", "filter", "concentrate":
			if q == 0 {
				q = s.N
			}
		}
	}
	if q == 0 {
		return m.firstStep == 0
	}
	return m.firstStep == 0 || m.firstStep >= q
}

func (b *Bench) evaporated(m *material) bool {
	for _, e := range b.trace.Events {
		h, ok := e.Facts.(*HeatingFacts)
		if !ok || h.Verb != "concentrate" && h.Verb != "distil" {
			continue
		}
		if slices.Contains(h.Vessel.Contents, m.sp.name) || m.solvent != nil && slices.Contains(h.Vessel.Contents, m.solvent.name) {
			return true
		}
	}
	return false
}

func (b *Bench) apparatusEvents() {
	for _, p := range b.pieces {
		if p.row == nil {
			continue
		}
		f := &ApparatusEvent{Name: p.name, Kind: p.kind, Class: p.class, Known: p.known, SizeML: Missing("the size of " + p.name), Used: p.used, Supply: p.class == "line", PressureMb: Missing("the supply pressure"), Gas: p.row.Gas.S, GasStated: p.row.Gas.Is(), Packing: p.row.Packing.S, Count: 1}
		if p.vessel != nil {
			f.SizeML = p.vessel.size
		}
		f.Relief = p.row.Relief.Is()
		for _, q := range b.pieces {
			if q.on == p && (q.class == "bubbler" || has(q.kind, "relief")) {
				f.Relief = true
			}
		}
		if has(p.kind, "schlenk line", "double", "manifold", "house") {
			f.Relief = true // relieved at the manifold bubbler by build
		}
		if p.row.Pressure != nil && p.row.Pressure.Known() {
			f.PressureMb = Got(p.row.Pressure.Value())
		}
		f.Mercury = has(p.kind+p.row.Fill.S+p.row.Note.S, "mercury")
		if p.row.Count != nil && p.row.Count.Known() {
			f.Count = p.row.Count.Value()
		}
		b.emit(Event{Kind: "apparatus", Span: p.row.Name.Span, Subject: p.name, Facts: f, Cause: "apparatus " + p.name})
	}
}

// wholeText sums the procedure up.
func (b *Bench) wholeText() {
	p := b.p
	f := &ProcedureFacts{Name: p.Name.S, Setting: p.Setting, Whole: p.Whole(), Students: Missing("how many students run it"), SectionMin: Missing("the length of the section"),
		HandsOnMin: Got(b.handsOn), WaitingMin: Got(b.waiting), TotalMin: Got(b.handsOn + b.waiting), LeadHours: Got(b.lead), LeadPlanned: b.leadPlanned, LeadWhat: b.leadWhat,
		Unattended: b.unattended, UnattendedMin: Got(b.unattendedMin), Attended: b.attended, LiveUsed: b.liveUsed, Quenched: b.quenched, StopPoint: b.stopPoint,
		Cryogen: b.cryogenUsed, Vacuum: b.vacuumUsed, InertGas: b.inertUsed, Emergency: float64(len(p.Emergency)), Approved: p.Approval != nil && (p.Approval.By.Is() || p.Approval.Training.Is()),
		HasProduct: p.Product != nil, LimitingMmol: Missing("the amounts"), TheoreticalG: Missing("the product's formula and the limiting amount"), ExpectedG: Missing("the expected yield"), YieldPercent: Missing("the expected yield"), StatedYield: Missing("the stated yield"), MeltingOffK: Missing("the melting point of the product"),
		RoomOxygen: Missing("the size of the gas store"), Limiting: b.trace.Figures.Limiting}
	if b.trace.Figures.LimitingMmol.Known {
		f.LimitingMmol = b.trace.Figures.LimitingMmol
	}
	if n := b.students(); n > 0 {
		f.Students = Got(n)
	}
	if t := p.Section.Time; t != nil && t.Known() {
		f.SectionMin = Got(t.Value())
	}
	f.Alone = isTrue(p.Section.Alone)
	for _, c := range p.Cautions {
		f.Topics = append(f.Topics, c.About.S)
	}
	for _, m := range b.materials {
		if !m.used {
			continue
		}
		if m.sp.live && m.sp.pyro() && !f.Pyrophoric {
			f.Pyrophoric, f.PyrophoricName = true, m.name
		}
		if m.sp.is("alkali metal", "saline hydride", "aluminium hydride", "organolithium", "organoaluminium", "organozinc") || m.sp.is("alkaline-earth metal") && !has(m.sp.name, "magnesium") {
			f.ReactiveMetal = true
		}
	}
	f.Cleared = b.clearsHood()
	for _, q := range b.pieces {
		f.Jack = f.Jack || has(q.kind, "jack", "lift")
	}
	f.ScaleRatio, f.SparePercent, f.QueueMin = Missing("the scale that was reviewed"), Missing("the spare allowance"), Missing("how many students share a station")
	if a := p.Approval; a != nil && a.Scale.Is() && f.LimitingMmol.Known {
		if q, err := quantity.Parse(a.Scale.S); err == nil && q.Dim == quantity.Amount && q.Known() && q.Value() > 0 {
			f.ScaleRatio = Got(f.LimitingMmol.V / q.Value())
		}
	}
	for _, m := range b.materials {
		if sp := m.row.Spare; sp != nil && sp.Known() && sp.Dim == quantity.Fraction && (!f.SparePercent.Known || sp.Value()*100 < f.SparePercent.V) {
			f.SparePercent = Got(sp.Value() * 100)
		}
	}
	b.queues(f)
	for _, r := range p.Refers {
		if has(r.S, "emergency", "first aid", "accident", "spill") {
			f.Emergency++
		}
	}
	if q := p.Protection; q != nil {
		f.Coat, f.Gloves, f.Eyes, f.Shield, f.Extinguisher = q.Coat.S, q.Gloves.S, q.Eyes.S, q.Shield.S, q.Extinguisher.S
	}
	for _, c := range b.pageCautions() {
		t := c.say
		if f.Coat == "" && has(t, "flame-resistant coat", "flame resistant coat", "fr coat", "nomex", "lab coat") {
			f.Coat = t
		}
		if f.Gloves == "" && has(t, "glove") {
			f.Gloves = t
		}
		if f.Eyes == "" && has(t, "goggle", "safety glasses", "spectacles", "eye protection", "face shield") {
			f.Eyes = t
		}
		if f.Shield == "" && has(t, "shield", "sash") {
			f.Shield = t
		}
		if f.Extinguisher == "" && has(t, "sand", "class d", "extinguisher") {
			f.Extinguisher = t
		}
	}
	for _, r := range b.reactions {
		if r.met || len(r.consumes) == 0 {
			continue
		}
		var names []string
		for _, c := range r.consumes {
			names = append(names, c.sp.name)
		}
		f.IdleReactions = append(f.IdleReactions, strings.Join(names, " with "))
	}
	b.endState(f)
	b.yield(f)
	for _, m := range b.missing {
		if !slices.Contains(f.MissingApparatus, m) {
			f.MissingApparatus = append(f.MissingApparatus, m)
		}
	}
	b.roomOxygen(f)
	b.times(f)
	b.emit(Event{Kind: "procedure", Span: p.Name.Span, Subject: p.Name.S, Facts: f})
	fig := &b.trace.Figures
	fig.TheoreticalG, fig.YieldPercent = f.TheoreticalG, f.YieldPercent
	fig.LargestRiseK, fig.GasL = Got(b.largestRise), Got(GasLitres(b.gasTotal))
	fig.WaterMmol, fig.WaterLossPercent = Got(b.waterTotal), Got(b.worstLoss)
	fig.HandsOnMin, fig.TotalMin = f.HandsOnMin, f.TotalMin
	for _, s := range b.streams {
		fig.Wastes = append(fig.Wastes, s.name+" → "+s.container)
	}
}

// clearsHood reports that the text clears the hood before reactive work.
func (b *Bench) clearsHood() bool {
	for _, s := range b.p.Steps {
		if s.Verb.Name == "clear" {
			return true
		}
	}
	for _, c := range b.pageCautions() {
		if has(c.say, "clear the hood", "cleared of", "no paper", "keep paper", "remove solvents", "out of the hood") {
			return true
		}
	}
	return false
}

// queues works out the longest wait at a shared station: students over
// stations, times the minutes of the longest step there.
func (b *Bench) queues(f *ProcedureFacts) {
	n := b.students()
	if n == 0 {
		return
	}
	for _, name := range slices.Sorted(maps.Keys(b.p.Section.Stations)) {
		k := b.p.Section.Stations[name]
		if !k.Known() || k.Value() <= 0 {
			continue
		}
		for _, e := range b.trace.Events {
			sf, ok := e.Facts.(*StepFacts)
			if !ok || e.Step == 0 || !sf.Minutes.Known {
				continue
			}
			s := b.p.Steps[e.Step-1]
			text := joined(s.In) + joined(s.On) + joined(s.From) + joined(s.With) + s.By.S + joined(s.Object)
			if !has(text, strings.ToLower(name)) {
				continue
			}
			if wait := (math.Ceil(n/k.Value()) - 1) * sf.Minutes.V; !f.QueueMin.Known || wait > f.QueueMin.V {
				f.QueueMin, f.QueueAt, f.QueueLive = Got(wait), name, sf.Live
			}
		}
	}
}

// endState looks for what is still live and what has no route when the text
// ends.
func (b *Bench) endState(f *ProcedureFacts) {
	var where []string
	for _, v := range b.vessels {
		if v.discarded || v.gone && len(v.contents) == 0 || v.piece != nil && (v.piece.class == "syringe" || v.piece.class == "cannula") {
			continue
		}
		stored := v.stored && (v.closed() || v.conn == connBox)
		if n := v.liveMmol(); n > 0.01 && !stored {
			f.LiveAtEndMmol += n
			l := v.live()[0]
			where = append(where, l.sp.name+" in "+v.name)
		}
	}
	f.LiveAtEnd = strings.Join(where, ", ")
	for _, v := range b.vessels {
		if v.discarded || v.gone || v.product || v.stored || len(v.contents) == 0 || v.bulk && v.volume() < 5 {
			continue
		}
		if v.piece != nil && (v.piece.class == "syringe" || v.piece.class == "cannula" || v.piece.class == "bubbler" || v.piece.class == "scrubber") {
			continue
		}
		if v.isDesiccant && b.keptDry(v) {
			continue
		}
		if v.kind == "organic" && !v.aqueous() && b.isProductVessel(v) {
			continue
		}
		if b.onlyProduct(v) {
			continue
		}
		f.Leftovers = append(f.Leftovers, v.name)
		if f.LeftoverRoutes != "" {
			f.LeftoverRoutes += "\n"
		}
		f.LeftoverRoutes += "- discard: " + v.name + "\n  into: " + b.routeFor(v)
	}
	f.LeftoverCount = float64(len(f.Leftovers))
}

// routeFor names the container that takes what is left in a vessel.
func (b *Bench) routeFor(v *vessel) string {
	ml := 0.0
	for _, p := range v.contents {
		ml += p.ml
	}
	feat := b.features(v.contents, v.acid, ml)
	if _, ok := feat["live"]; ok {
		return "… # destroy what is live in it first"
	}
	return b.better(feat, nil)
}

// keptDry: sieves that only dried a stock bottle before the section stay in
// it, with the stockroom.
func (b *Bench) keptDry(v *vessel) bool {
	for _, s := range b.p.Steps {
		for _, t := range s.With {
			if strings.EqualFold(t.S, v.name) && (isTrue(s.Before) || s.DoneBy.S == "stockroom") {
				return true
			}
		}
	}
	return false
}

func (b *Bench) isProductVessel(v *vessel) bool { return v.product }

func (b *Bench) onlyProduct(v *vessel) bool {
	for _, p := range v.contents {
		if p.mmol > trace && !b.isProduct(p.sp) {
			return false
		}
	}
	return true
}

func (b *Bench) yield(f *ProcedureFacts) {
	p := b.p.Product
	if p == nil {
		return
	}
	mw := 0.0
	if p.Formula.Is() {
		if x, err := substance.ParseFormula(p.Formula.S); err == nil {
			mw = x.Mass()
		} else {
			b.problem("format/value", p.Formula.Span, "found "+quoted(p.Formula.S)+" as a formula: "+err.Error(), "formula: C11H16O")
		}
	}
	if mw == 0 {
		if sp := b.lookup(p.Name.S); sp != nil {
			mw = sp.mw
		}
	}
	f.MeltingOffK = Missing("the melting point of the product")
	if m := p.Melting; m != nil && m.Known() {
		if sp := b.lookup(p.Name.S); sp != nil && sp.fp.Known && sp.sub != nil && !sp.liquid {
			switch {
			case m.High < sp.fp.V:
				f.MeltingOffK = Got(m.High - sp.fp.V)
			case m.Low > sp.fp.V:
				f.MeltingOffK = Got(m.Low - sp.fp.V)
			default:
				f.MeltingOffK = Got(0)
			}
		}
	}
	per := 1.0
	if lim := f.LimitingMmol; lim.Known && mw > 0 {
		f.TheoreticalG = Got(lim.V * per * mw / 1000)
		// a partner that runs short earlier in the chain limits the product,
		// whatever the text says it comes from
		made := 0.0
		for _, v := range b.vessels {
			for _, q := range v.contents {
				if b.isProduct(q.sp) {
					made += q.mmol
				}
			}
		}
		if made > 0.01*lim.V && made < 0.9*lim.V && len(b.reactions) > 0 {
			f.TheoreticalG = Num{V: made * mw / 1000, Known: true, Assumed: "what the bench makes of the declared reactions: a partner runs short"}
		}
	}
	if q, ok := p.Expected.Of(quantity.Mass); ok && q.Known() {
		f.ExpectedG = Got(q.Value())
		if f.TheoreticalG.Known && f.TheoreticalG.V > 0 {
			f.YieldPercent = Got(q.High / f.TheoreticalG.V * 100)
		}
	}
	if p.Yield != nil && p.Yield.Known() && p.Yield.Dim == quantity.Fraction {
		f.StatedYield = Got(p.Yield.High * 100)
	}
}

// roomOxygen takes the largest gas or cryogen store of the apparatus table to
// empty into the room.
func (b *Bench) roomOxygen(f *ProcedureFacts) {
	room := figure(b.site.Room, 200)
	worst := 0.0
	for _, p := range b.pieces {
		if p.row == nil || p.row.Size == nil || !p.row.Size.Known() {
			continue
		}
		text := p.kind + p.row.Fill.S + p.name
		m3 := 0.0
		switch {
		case has(text, "liquid nitrogen", "ln2"):
			m3 = p.row.Size.Value() * 700 / 1e6
		case p.class == "line" && has(p.kind, "cylinder") && p.row.Size.Dim == quantity.Volume:
			press := 200.0
			if p.row.Pressure != nil && p.row.Pressure.Known() && p.row.Pressure.Value() > 5000 {
				press = p.row.Pressure.Value() / 1013
			}
			m3 = p.row.Size.Value() * press / 1e6
		}
		if m3 > worst {
			worst = m3
			f.RoomSource = p.name
		}
	}
	if worst > 0 {
		f.RoomOxygen = Assume(RoomOxygen(room, worst), "room of the site file, no ventilation")
	}
}
