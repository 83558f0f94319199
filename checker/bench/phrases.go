package bench

import (
	"slices"
	"strings"
)

// phrases finds the words of all caution topics in a text in one pass, by their
// first two bytes.
type phrases struct {
	topics []string
	by     map[[2]byte][]phrase
	begins [1 << 10]uint64 // a bit for each two bytes with which some phrase begins
	short  []phrase        // of one byte
}

type phrase struct {
	text  string
	topic int // index into topics
}

func newPhrases(of map[string]topic) *phrases {
	p := &phrases{by: map[[2]byte][]phrase{}}
	for name := range of {
		p.topics = append(p.topics, name)
	}
	slices.Sort(p.topics)
	for i, name := range p.topics {
		for _, w := range of[name].Words {
			switch {
			case len(w) > 1:
				key := [2]byte{w[0], w[1]}
				p.by[key] = append(p.by[key], phrase{w, i})
				two := uint16(w[0])<<8 | uint16(w[1])
				p.begins[two>>6] |= 1 << (two & 63)
			case w != "":
				p.short = append(p.short, phrase{w, i})
			}
		}
	}
	return p
}

// in reports, topic by topic, whether any of its words stands in a text of lower
// case.
func (p *phrases) in(text string) []bool {
	found := make([]bool, len(p.topics))
	for i := 0; i+1 < len(text); i++ {
		if two := uint16(text[i])<<8 | uint16(text[i+1]); p.begins[two>>6]&(1<<(two&63)) == 0 {
			continue
		}
		for _, w := range p.by[[2]byte{text[i], text[i+1]}] {
			if !found[w.topic] && strings.HasPrefix(text[i:], w.text) {
				found[w.topic] = true
			}
		}
	}
	for _, w := range p.short {
		found[w.topic] = found[w.topic] || strings.Contains(text, w.text)
	}
	return found
}

// index is the place of a topic; false where there is none.
func (p *phrases) index(topic string) (int, bool) { return slices.BinarySearch(p.topics, topic) }
