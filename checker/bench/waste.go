package bench

import (
	"math"
	"slices"
	"strings"
	"unicode"

	"ketyl/checker/procedure"
	"ketyl/checker/substance"
)

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
		if c, ok := b.siteContainer(strings.TrimSuffix(try, "s")); ok {
			return c, true
		}
	}
	if kind, how, said := strings.Cut(n, ","); said {
		kind, how = strings.TrimSpace(kind), strings.TrimSpace(how)
		if c, ok := b.container(how + " " + kind); ok {
			return c, true // "aqueous waste, acidic"
		}
		if !has(how, "acid", "bas", "alkali", "halogen", "chlorin", "metal", "azide", "cyanide", "oxidi", "mercury", "neutral") {
			if c, ok := b.siteContainer(kind); ok {
				return c, true // what follows says how it is kept: "spent catalyst, wet"
			}
		}
	}
	if p := b.pieceNamed(name); p != nil {
		p.used = true
		if p.row != nil && p.row.Fill.Is() {
			return b.container(p.row.Fill.S)
		}
		if p.row != nil && !sameName(p.kind, name) {
			return b.container(p.kind)
		}
	}
	return nil, false
}

// ownContainer is the route of what no container of the site takes.
const ownContainer = "a labelled container of its own"

// namesMatter reports a label that names what no common container takes: azide
// waste, cyanide.
func namesMatter(label string, feat map[string]string) bool {
	for _, k := range []string{"azide", "cyanide", "sulfide", "mercury"} {
		if _, ok := feat[k]; ok && has(label, k) {
			return true
		}
	}
	return false
}

// features of a stream as the site's containers ask for them.
func (b *Bench) features(contents []portion, ml float64) map[string]string {
	f := map[string]string{}
	set := func(k, why string) {
		if _, ok := f[k]; !ok {
			f[k] = why
		}
	}
	var water, organic, grams, acid, base, weakAcid, ammonia, amine, bicarbonate, carboxylate, ammonium float64
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
			if isBicarbonate(p.sp) {
				bicarbonate += p.mmol // stays near pH 8
			} else {
				base += p.mmol
			}
			if p.sp.is("carbonate") && p.mmol > 0.05 {
				set("carbonate", p.sp.name)
			}
		}
		switch {
		case p.sp.is("carboxylic acid"):
			weakAcid += p.mmol
		case p.sp.sub != nil && has(p.sp.name, "bisulfate", "hydrogen sulfate") && !p.sp.strongAcid():
			weakAcid += p.mmol
		case p.sp.is("carboxylic salt"):
			carboxylate += p.mmol
		case p.sp.name == "ammonia":
			ammonia += p.mmol
		case p.sp.is("amine"):
			amine += p.mmol
		case p.sp.name == "ammonium chloride" || p.sp.name == "ammonium sulfate":
			ammonium += p.mmol
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
		if p.sp.is("cryogen") && (p.g > 1 || p.ml > 1 || p.mmol > 20) {
			set("cryogen", p.sp.name)
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
		set("acid", acidOf(net, "acid"))
	}
	if net < -0.05 && molar > 1e-3 {
		set("base", acidOf(-net, "base"))
	}
	if ml > 0 && water > 0 && water >= 0.5*organic && f["acid"] == "" && f["base"] == "" {
		// in water: 0.01 M of acetic acid has pH 3.4, of ammonia 10.6, of an amine
		// (pKa 10.6 to 11.1) 11.4; with the salt of it pKa ± log of the two, so that 1.7
		// of acetate for each acid is above pH 5 and 1.8 of ammonium for each ammonia
		// below 9
		if n := weakAcid - ammonia - amine - bicarbonate + net; n > 0.5 && n/ml > 0.01 && carboxylate < 1.7*n {
			set("weak acid", acidOf(n, "acid"))
		}
		if n := ammonia + amine - weakAcid - net; n > 0.5 && n/ml > 0.01 && (ammonium < 1.8*n || amine/ml > 0.01) {
			set("weak base", acidOf(n, "base"))
		}
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
	if t := b.pieceNamed(wholeOf(o.S)); t != nil && b.condensed[t] != nil && (v == nil || len(v.contents) == 0) {
		v = b.condensed[t]
	}
	var contents []portion
	name := o.S
	sharp := b.isSharp(o.S, v)
	var origin *vessel
	switch {
	case v != nil:
		origin = v
		contents = slices.Clone(v.contents)
		v.discarded = true
	case b.byKind(layerKind(strings.ToLower(o.S))) != nil:
		v = b.byKind(layerKind(strings.ToLower(o.S)))
		origin = v
		contents = slices.Clone(v.contents)
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
			contents = slices.Clone(v.contents)
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
							n := math.Max(0.02, valueOf(t.ev.FilmMmol))
							contents = append(contents, portion{sp: m.sp, mmol: n, g: n * m.sp.mw / 1000, from: m.name})
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
	feat := b.features(contents, ml)
	if sharp {
		feat = map[string]string{"sharp": "needle"}
		for _, p := range contents {
			if p.sp.live {
				feat["live"] = p.sp.name
			}
		}
	}
	f := &DiscardFacts{Stream: name, Into: into, VolumeML: Got(ml), SectionL: Missing("how many students run it"), ContainerL: Missing("the size of the container"), Provided: Missing("how many containers are provided"),
		UpperML: Got(0), WaterML: Got(0), HalogenMmol: Missing("the halogenated amount"), HalogenShare: Missing("the halogenated amount"), Sharp: sharp, Closed: isTrue(s.Sealed)}
	if origin != nil && origin.blur != "" {
		f.VolumeML = Missing(origin.blur)
	}
	f.SolidG, f.WetML, f.WaterTakenG = Missing("the mass of "+name), Missing("the liquid on "+name), Missing("the water in "+name)
	bulk := 0.0
	if feat["solid"] != "" && !sharp {
		g, of, wet := solidOf(contents)
		f.SolidG, bulk = Got(g), of
		if w, ok := b.wetness[origin]; ok && origin != nil {
			if f.WetWith = w.liquid; f.WetWith != "" {
				f.WetML = Assume(wet, "0.5 mL of liquid on a gram of solid, 1.5 mL in a gram of silica or filter aid, before it has dried off")
			}
			if w.water.Known {
				f.WaterTakenG = w.water
			}
		}
	}
	f.Drain = has(into, drainWords...)
	for _, p := range contents {
		if p.mmol > trace {
			if !slices.Contains(f.Contents, p.sp.name) {
				f.Contents = append(f.Contents, p.sp.name)
			}
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
	f.WaterML, f.UpperML, f.Upper = b.twoLayers(contents)
	_, f.Halogenated = feat["halogenated"]
	f.HalogenSource = feat["halogenated"]
	f.Acidic = feat["acid"] != "" || feat["weak acid"] != ""
	f.Basic = feat["base"] != "" || feat["weak base"] != ""
	_, f.Aqueous = feat["aqueous"]
	_, f.Organic = feat["organic"]
	_, f.Solid = feat["solid"]
	_, f.Oxidiser = feat["oxidiser"]
	f.ToxicMetal = feat["toxic metal"]
	_, f.Cyanide = feat["cyanide"]
	_, f.Sulfide = feat["sulfide"]
	_, f.Azide = feat["azide"]
	f.Cryogen = feat["cryogen"]
	f.CryogenOnly = f.Cryogen != ""
	for _, p := range contents {
		f.CryogenOnly = f.CryogenOnly && (p.sp.is("cryogen") || p.mmol <= trace)
	}
	f.GoesOff = has(into, "evaporat", "hood", "atmosphere")
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
	f.Better, f.BetterAfter = b.better(feat, f), b.better(afterwards(feat), f)
	if !f.Known && !f.Drain && (f.Better == ownContainer && (namesMatter(into, feat) || namesMetal(into, contents)) || b.own[strings.ToLower(into)]) {
		// its label says what it is for, and it takes nothing else
		f.Known = true
		if b.own == nil {
			b.own = map[string]bool{}
		}
		b.own[strings.ToLower(into)] = true
	}
	if n := b.students(); n > 0 {
		f.SectionL = Got(n * (ml + bulk) / 1000)
		if bulk > 0 {
			f.SectionL.Note = "a solid as it lies in the bottle, 1 g/mL, silica and filter aid 0.5 g/mL"
		}
	}
	if f.VolumeML.Ask() != "" {
		f.SectionL = Missing(f.VolumeML.Ask())
	}
	b.emit(Event{Kind: "discard", Facts: f, Subject: b.join("discard ", name, ""), Span: o.Span, Cause: b.join("waste of ", name, "")})
	if into != "" && !sharp {
		x := &stream{name: name, container: strings.ToLower(container), shown: container, step: s.N, span: o.Span, contents: contents, features: feat, ml: ml, bulk: bulk, blur: f.VolumeML.Ask(), origin: origin, facts: f}
		x.acidity()
		b.streams = append(b.streams, x)
	}
}

// namesMetal reports a label that names the metal for whose sake a stream is kept
// apart, as the name of what is in it gives it.
func namesMetal(label string, contents []portion) bool {
	words := strings.FieldsFunc(strings.ToLower(label), func(r rune) bool { return !unicode.IsLetter(r) })
	for _, p := range contents {
		if p.sp.waste.ToxicMetal == "" || p.mmol <= trace {
			continue
		}
		name := strings.ToLower(p.sp.name)
		if slices.ContainsFunc(words, func(w string) bool {
			return strings.HasSuffix(w, "um") && strings.Contains(name, w) || slices.Contains(plainMetals, w) && strings.Contains(name, w)
		}) {
			return true
		}
	}
	return false
}

// plainMetals are the metals whose names do not end in -um.
var plainMetals = []string{"nickel", "cobalt", "copper", "silver", "gold", "tin", "lead", "iron", "zinc", "manganese", "mercury", "tungsten"}

// twoLayers is the water of a stream and the liquid that stands in it as a layer
// of its own: what neither mixes with water nor dissolves in what there is.
func (b *Bench) twoLayers(contents []portion) (water, other Num, most string) {
	var w, ml, largest float64
	for _, p := range contents {
		if p.sp.family == "water" {
			w += p.ml
		}
	}
	tmp := &vessel{contents: contents}
	for _, p := range contents {
		if !p.sp.liquid || p.ml <= 0 || b.goesWithWater(p, tmp, true) != 0 {
			continue
		}
		left := p.ml * (1 - dissolvedShare(p, w, p.mmol))
		ml += left
		if left > largest {
			largest, most = left, p.sp.name
		}
	}
	return Got(w), Got(ml), most
}

// isSharp reports a thing that pricks: a piece by its kind, else by its name. A
// rinse of a needle is a liquid.
func (b *Bench) isSharp(name string, v *vessel) bool {
	if v != nil && v.piece == nil {
		return false
	}
	return has(b.kindOf(name), "needle", "sharp", "blade", "syringe") && !has(name, "rins", "wash")
}

// alsoDiscard marks the other layers of the same kind and origin: "the
// aqueous layers" are one leftover.
func (b *Bench) alsoDiscard(v *vessel) {
	for _, w := range b.vessels {
		if w != v && w.piece == nil && w.kind == v.kind && w.kind == "aqueous" && sameName(w.name, v.name) {
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

// kindsOfMatter are told apart in this order: a needle in water is a sharp.
var kindsOfMatter = []struct{ kind, refusal string }{
	{"sharp", "it is not for sharps"},
	{"aqueous", "it is not for aqueous liquids"},
	{"organic", "it is not for organic liquids"},
	{"solid", "it is not for solids"},
}

// refuses reports that a container does not take a stream of some features; refused
// says why.
func refuses(c *substance.Container, has []string) bool {
	in := func(list []string) bool {
		return slices.ContainsFunc(has, func(k string) bool { return slices.Contains(list, strings.TrimPrefix(k, "weak ")) })
	}
	if in(c.Refuses) {
		return true
	}
	for _, m := range kindsOfMatter {
		if slices.Contains(has, m.kind) {
			if len(c.Matter) > 0 && !slices.Contains(c.Matter, m.kind) {
				return true
			}
			break
		}
	}
	return len(c.Only) > 0 && !in(c.Only)
}

// refused says why a container does not take a stream; empty when it does.
func refused(c *substance.Container, feat map[string]string, f *DiscardFacts) string {
	for _, r := range c.Refuses {
		why, ok := feat[r]
		if !ok && (r == "acid" || r == "base") {
			why, ok = feat["weak "+r]
		}
		if ok {
			return r + ": " + why
		}
	}
	for _, m := range kindsOfMatter {
		if _, ok := feat[m.kind]; !ok {
			continue
		}
		if len(c.Matter) > 0 && !slices.Contains(c.Matter, m.kind) {
			return m.refusal
		}
		break
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
