package bench

import (
	"slices"
	"strings"

	"ketyl/checker/finding"
	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
)

// act notes an act that has a hazard of its own, at this step.
func (b *Bench) act(topic, of string) { b.actAt(topic, of, b.step) }

func (b *Bench) actAt(topic, of string, s *procedure.Step) {
	if topic == "ether vapour" && of == "" {
		return
	}
	n, span := 0, finding.Span{}
	if s != nil {
		n, span = s.N, s.Head
	}
	b.hazards = append(b.hazards, hazard{topic: topic, of: of, step: n, span: span, mmol: Missing("the amount"), act: true})
}

// hazard is something that calls for a caution on the page.
type hazard struct {
	topic  string
	of     string
	step   int
	span   finding.Span
	mmol   Num
	codes  []string
	act    bool
	liquid bool // a solvent by its family
	made   bool // by a step: the page may name what it is made from
	amount string
	heldG  float64 // mass of mmol, g, where the amount is not worded yet
}

// worded gives the amount in words; a hazard that a later one covers needs none.
func (h *hazard) worded() string {
	if h.amount != "" || h.act || !h.mmol.Known {
		return h.amount
	}
	s := quantity.Format(h.mmol.V, quantity.Amount)
	if h.heldG > 0 {
		s += " (" + quantity.Format(h.heldG, quantity.Mass) + ")"
	}
	return s
}

// meetHazards notes the hazards of a substance when a step handles it.
func (b *Bench) meetHazards(sp *species, p portion, s *procedure.Step) {
	if sp.sub == nil || p.mmol <= 10*trace {
		return
	}
	from := len(b.hazards)
	add := func(topic string) {
		if topic == "" || slices.ContainsFunc(b.hazards[from:], func(h hazard) bool { return h.topic == topic }) {
			return
		}
		h := hazard{topic: topic, of: sp.name, step: s.N, span: s.Head, mmol: Got(p.mmol), codes: sp.codes,
			liquid: topic == "carcinogen" && sp.liquid && sp.is("hydrocarbon", "aromatic hydrocarbon", "halogenated solvent", "ether")}
		if m := b.material(p.from); m != nil && !m.mmol.Known && m.sp == sp {
			h.mmol, h.amount = b.ask("the amount of ", m.name, ""), "an unstated amount"
		} else if sp.mw > 0 && p.mmol > 0 {
			h.heldG = p.mmol * sp.mw / 1000
		}
		b.hazards = append(b.hazards, h)
	}
	for _, c := range sp.sub.Cautions {
		if c == "oxidiser" && has(sp.name, "sulfuric acid") {
			continue // corrosive is its topic at this use
		}
		if c == "water-reactive" && sp.coarse || c == "pyrophoric" && !sp.pyro() {
			continue
		}
		if m := b.material(p.from); c == "flammable" && m != nil && m.row.Solution != nil && m.solvent != nil && m.solvent.is("water") && !sp.is("alcohol") {
			continue // a dilute acid or amine in water does not burn
		}
		if c == "ether vapour" && !sp.liquid {
			continue // the ether's own row calls for it
		}
		add(c)
	}
	if sp.pyro() && sp.live {
		add("pyrophoric")
	}
	if sp.waterReactive() {
		add("water-reactive")
	}
	if sp.name == "acetylene" {
		add("metal acetylide")
	}
}

// madeHazards notes the hazards of reagents that no row of the table names
// because a step makes them: what reacts with water, what brings tears.
func (b *Bench) madeHazards(s *procedure.Step) {
	for _, v := range b.vessels {
		if v.gone || v.discarded {
			continue
		}
		for _, p := range v.contents {
			if p.sp.sub == nil || p.mmol <= 10*trace || p.maybe || p.mmol <= 1.2*b.madeSeen[p.sp] {
				continue
			}
			water := p.sp.live && p.sp.waterReactive() && p.sp.is("organomagnesium", "diorganomagnesium", "organolithium", "organozinc", "organoaluminium", "metal amide")
			tears := p.sp.tears
			if !water && !tears || slices.ContainsFunc(b.materials, func(m *material) bool { return m.sp == p.sp }) {
				continue
			}
			if b.madeSeen == nil {
				b.madeSeen = map[*species]float64{}
			}
			b.madeSeen[p.sp] = p.mmol
			h := hazard{of: p.sp.name, step: s.N, span: s.Head, mmol: Got(p.mmol), codes: p.sp.codes, amount: quantity.Format(p.mmol, quantity.Amount) + ", made here", made: true}
			if water {
				h.topic = "water-reactive"
				b.hazards = append(b.hazards, h)
			}
			if tears {
				h.topic = "lachrymator"
				b.hazards = append(b.hazards, h)
			}
		}
	}
}

// cautions on the page, with the step they stand at (0 for the head).
type pageCaution struct {
	about, say string
	step       int
	says       []bool // by topic, whether its words stand here
	careful    bool   // it asks for care, and says of nothing else
}

func (b *Bench) pageCautions() []pageCaution {
	if b.page != nil {
		return b.page
	}
	out := []pageCaution{}
	read := func(c *procedure.Caution, step int) {
		about, say := strings.ToLower(c.About.S), strings.ToLower(c.Say.S)
		out = append(out, pageCaution{about, say, step, b.ref.phrases.in(about + "\n" + say), len(say) < 60 && hasLower(say, carefulWords...)})
	}
	for i := range b.p.Cautions {
		read(&b.p.Cautions[i], 0)
	}
	for _, s := range b.p.Steps {
		for i := range s.Cautions {
			read(&s.Cautions[i], s.N)
		}
	}
	b.page = out
	return out
}

// judgeCautions sets each hazard against the cautions on the page.
func (b *Bench) judgeCautions() {
	page := b.pageCautions()
	type kind struct{ topic, of string }
	first := map[kind]int{}         // index into merged
	merged := make([]hazard, 0, 32) // copies: what met them first stays as it is
	for i := range b.hazards {
		h := &b.hazards[i]
		key := kind{h.topic, strings.ToLower(h.of)}
		at, ok := first[key]
		if !ok {
			first[key] = len(merged)
			merged = append(merged, *h)
			continue
		}
		old := &merged[at]
		if h.mmol.Known && (!old.mmol.Known || h.mmol.V > old.mmol.V) {
			old.mmol, old.amount, old.heldG = h.mmol, h.amount, h.heldG
		}
		if h.step < old.step {
			old.step, old.span = h.step, h.span
		}
	}
	unnamed, matched, calls := map[string][]string{}, map[string][]match{}, map[string][]string{}
	all := make([]*HazardFacts, 0, len(merged))
	for i := range merged {
		h := &merged[i]
		t, ok := b.ref.topics[h.topic]
		if !ok {
			continue
		}
		f := &HazardFacts{Topic: h.topic, Of: h.of, Amount: h.worded(), Mmol: h.mmol, Grave: t.Grave, Codes: h.codes,
			ReadyText: strings.ReplaceAll(t.Ready, "{of}", h.of)}
		f.Act, f.OfSolvent = h.act, h.liquid
		general := false
		matches, known := matched[h.topic]
		if !known {
			matches = b.matchTopic(page, h.topic, t.Words)
			matched[h.topic] = matches
		}
		var called []string
		names := func() []string {
			if called == nil {
				if called = calls[h.of]; called == nil {
					called = b.callsFor(h.of)
					calls[h.of] = called
				}
			}
			return called
		}
		for i := range page {
			c := &page[i]
			topic, words := matches[i].topic, matches[i].words
			if !topic && !words {
				general = general || c.careful
				continue
			}
			if topic && c.say == "" {
				continue
			}
			if matches[i].empty && !hasLower(c.say, names()...) {
				general = true
				continue
			}
			if !f.Present || float64(c.step) < f.CautionAt.V {
				f.CautionAt = Got(float64(c.step))
			}
			f.Present = true
			if c.step <= h.step {
				f.Before = true
			}
			if !f.Names {
				f.Names = c.step == h.step || h.act || h.made || hasLower(c.say, names()...)
			}
		}
		if !f.Present {
			f.CautionAt = b.ask("a caution about ", h.topic, "")
		}
		f.General = general && !f.Present
		if !f.Present || !f.Names {
			unnamed[h.topic] = append(unnamed[h.topic], h.of)
		}
		all = append(all, f)
		b.emit(Event{Kind: "hazard", Step: h.step, Span: h.span, Subject: b.join(h.topic, ": ", h.of), Facts: f, Cause: b.join("caution ", h.topic, "")})
	}
	for _, f := range all {
		f.All = unnamed[f.Topic]
	}
}

// match is how a caution of the page answers a topic: by naming it, or in words.
// An empty one stands under the topic and says nothing of it.
type match struct{ topic, words, empty bool }

// carefulWords tell the reader to take care, and of nothing else.
var carefulWords = []string{"careful", "caution", "hazard", "dangerous", "take care", "with care", "beware", "danger"}

// notHydrogen are names of which hydrogen is a part.
var notHydrogen = strings.NewReplacer("hydrogen chloride", "", "hydrogen bromide", "", "hydrogen iodide", "", "hydrogen fluoride", "", "hydrogen cyanide", "",
	"hydrogen sulfide", "", "hydrogen peroxide", "", "hydrogen carbonate", "", "hydrogencarbonate", "")

// emptyCaution reports a text that names the topic at most: "be careful",
// "pyrophoric: take care". Such a text says neither what happens nor what to
// keep away.
func emptyCaution(say, topic string, words []string) bool {
	const short = 60 // characters: more than this says something
	if len(say) >= short {
		return false
	}
	bare := strings.ReplaceAll(say, topic, "")
	if hasLower(bare, words...) && !slices.ContainsFunc(words, func(w string) bool { return strings.Trim(say, " .!") == w }) {
		return false
	}
	return hasLower(say, carefulWords...) || len(strings.Fields(bare)) < 2
}

func (b *Bench) matchTopic(page []pageCaution, topic string, words []string) []match {
	out := make([]match, len(page))
	at, known := b.ref.phrases.index(topic)
	for i, c := range page {
		say := c.say
		m := match{topic: c.about == topic || topic != "hydrogen" && hasLower(c.about, topic) || topic != "" && len(c.about) > 4 && hasLower(topic, c.about)}
		if topic == "hydrogen" || !known {
			say = notHydrogen.Replace(say)
			m.words = hasLower(say, words...) || hasLower(c.about, words...)
		} else {
			m.words = c.says[at]
		}
		if m.topic || m.words {
			m.empty = emptyCaution(say, topic, words)
		}
		out[i] = m
	}
	return out
}

// callsFor are the words, in lower case, by which a text may call a substance:
// its names, the long parts of the name, the rows that are it.
func (b *Bench) callsFor(name string) []string {
	lower := strings.ToLower(name)
	out := []string{lower}
	sp := b.lookup(name)
	if sp == nil || sp.sub == nil {
		return out
	}
	for _, n := range sp.sub.Names {
		if len(n) > 2 {
			out = append(out, strings.ToLower(n))
		}
	}
	for _, w := range strings.FieldsFunc(lower, func(r rune) bool { return r == ' ' || r == '-' || r == '(' || r == ')' }) {
		if len(w) > 5 && !b.sharedWord(w, sp) {
			out = append(out, w)
		}
	}
	for _, m := range b.materials {
		if m.sp == sp {
			out = append(out, strings.ToLower(m.name))
		}
	}
	return append(out, groupNames(sp)...)
}

// groupNames are the plurals by which a page speaks of all of a family: azides,
// acid chlorides, Grignard reagents, hydrides.
func groupNames(sp *species) []string {
	f := sp.family
	if f == "" || f == "salt" || f == "product" {
		return nil
	}
	out := []string{plurals(f)}
	if _, title, ok := strings.Cut(strings.ToLower(sp.title), " "); ok && title != f {
		out = append(out, plurals(title))
	}
	if i := strings.LastIndexByte(f, ' '); i >= 0 && f[i+1:] == "hydride" {
		out = append(out, " "+plurals(f[i+1:]))
	}
	return out
}

// plurals is the plural of a family's name.
func plurals(name string) string {
	if n := len(name); n > 2 && name[n-1] == 'y' && !strings.ContainsRune("aeiou", rune(name[n-2])) {
		return name[:n-1] + "ies"
	}
	return name + "s"
}

// sharedWord reports a part of a name that another substance of the page has
// too, so that it does not tell which one is meant: hydride, sodium, chloride.
func (b *Bench) sharedWord(word string, sp *species) bool {
	for _, m := range b.materials {
		if m.sp != sp && hasLower(strings.ToLower(m.sp.name), word) {
			return true
		}
	}
	return false
}
