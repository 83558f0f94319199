package procedure

import "strings"

// gasWords are the ways a page writes an inert gas or cryogen, in lower case,
// and the name the bench knows it by.
var gasWords = map[string]string{"n2": "nitrogen", "n₂": "nitrogen", "ar": "argon", "ln2": "liquid nitrogen", "ln₂": "liquid nitrogen"}

// plainGas writes the formula of an inert gas as its name: "a stream of N2" is
// a stream of nitrogen.
func plainGas(s string) string {
	if strings.IndexByte(s, '2') < 0 && !strings.Contains(s, "Ar") && !strings.Contains(s, "₂") {
		return s // no formula of gasWords stands in it
	}
	words := strings.Fields(s)
	changed := false
	for i, w := range words {
		bare := strings.Trim(w, "(),.;:")
		name, ok := gasWords[strings.ToLower(bare)]
		// "ar" in lower case is a word of its own in many a name
		if !ok || strings.EqualFold(bare, "ar") && bare != "Ar" {
			continue
		}
		words[i] = strings.Replace(w, bare, name, 1)
		changed = true
	}
	if !changed {
		return s
	}
	return strings.Join(words, " ")
}

// plainGases does so wherever a procedure names a gas. A row of the tables that
// is itself called by the formula keeps its name.
func (p *Procedure) plainGases() {
	own := func(s string) bool {
		for _, m := range p.Materials {
			if strings.EqualFold(m.Name.S, s) {
				return true
			}
		}
		for _, a := range p.Apparatus {
			if strings.EqualFold(a.Name.S, s) {
				return true
			}
		}
		return false
	}
	fix := func(t *Text) {
		if gas := plainGas(t.S); gas != t.S && !own(t.S) {
			t.S = gas
		}
	}
	for _, m := range p.Materials {
		fix(&m.KeptUnder)
	}
	for _, a := range p.Apparatus {
		for _, t := range []*Text{&a.Gas, &a.Fill, &a.Trap} {
			fix(t)
		}
	}
	for _, s := range p.Steps {
		for _, ts := range [][]Text{s.Under, s.With, s.In, s.Through} {
			for i := range ts {
				fix(&ts[i])
			}
		}
		for _, t := range []*Text{&s.By, &s.Bath, &s.Trap, &s.CoolIn, &s.Note} {
			fix(t)
		}
	}
}
