// Package document turns the bytes of a file into a YAML tree whose every
// value knows its place, checks the tree against a JSON Schema and decodes it
// into Go values. It alone knows the YAML and JSON Schema libraries; it knows
// nothing of chemistry.
//
// Only a small, plain part of YAML is read: one document, string keys, no
// anchors, aliases, merge keys or tags. What is left out is refused at its
// place with a finding, never skipped.
package document

import (
	"strconv"
	"strings"

	"ketyl/checker/finding"
)

// Kind says what a Node is.
type Kind uint8

// The four kinds of node. A Scalar is any text, number or truth value; Null is
// an empty value, "~" or "null" without quotes.
const (
	Mapping Kind = iota
	Sequence
	Scalar
	Null
)

// String names the kind as a chemist would.
func (k Kind) String() string {
	switch k {
	case Mapping:
		return "a group of keys"
	case Sequence:
		return "a list"
	case Scalar:
		return "a text"
	}
	return "nothing"
}

// Node is one value of a file.
type Node struct {
	Kind Kind
	// Span covers the value in the source. A mapping or sequence runs from its
	// first byte to past the last byte of its last value; trailing blank lines
	// and comments are outside. An empty value has an empty span after its colon.
	Span finding.Span
	// Text is what the author wrote, without quotes and with lines folded.
	Text string
	// Quoted marks text in quotes or in a block (| or >): never a number.
	Quoted  bool
	Entries []Entry // of a mapping, in file order
	Items   []*Node // of a sequence
}

// Entry is one key of a mapping with its value; neither is nil after Read.
type Entry struct{ Key, Value *Node }

// File is a source with its tree.
type File struct {
	Source *finding.Source
	Root   *Node // nil when the file could not be read
}

// ScalarNode makes an unquoted scalar (or Null for "", "~" and "null").
func ScalarNode(text string) *Node {
	if isNull(text) {
		return &Node{Kind: Null, Text: text}
	}
	return &Node{Kind: Scalar, Text: text}
}

// Get returns the value under key, or nil when n is no mapping or lacks it.
func (n *Node) Get(key string) *Node {
	e, _ := n.Entry(key)
	return e.Value
}

// Entry returns the entry under key; false when n is no mapping or lacks it.
func (n *Node) Entry(key string) (Entry, bool) {
	if n == nil || n.Kind != Mapping {
		return Entry{}, false
	}
	for _, e := range n.Entries {
		if e.Key.Text == key {
			return e, true
		}
	}
	return Entry{}, false
}

// Bool reads true, false, yes, no, on and off in any case, quoted or not.
func (n *Node) Bool() (v, ok bool) {
	if n == nil || n.Kind != Scalar || len(n.Text) > 5 {
		return false, false
	}
	switch strings.ToLower(n.Text) {
	case "true", "yes", "on":
		return true, true
	case "false", "no", "off":
		return false, true
	}
	return false, false
}

// Number reads an unquoted plain decimal of at most 15 digits: -5, 0.25.
func (n *Node) Number() (float64, bool) {
	if n == nil || n.Kind != Scalar || n.Quoted {
		return 0, false
	}
	return decimal(n.Text)
}

// Clone copies the tree under n; spans are kept.
func (n *Node) Clone() *Node {
	if n == nil {
		return nil
	}
	c := *n
	if n.Entries != nil {
		c.Entries = make([]Entry, len(n.Entries))
		for i, e := range n.Entries {
			c.Entries[i] = Entry{e.Key.Clone(), e.Value.Clone()}
		}
	}
	if n.Items != nil {
		c.Items = make([]*Node, len(n.Items))
		for i, item := range n.Items {
			c.Items[i] = item.Clone()
		}
	}
	return &c
}

// Set puts v under key, in the old entry's place or at the end. It does
// nothing when n is no mapping.
func (n *Node) Set(key string, v *Node) {
	if n == nil || n.Kind != Mapping {
		return
	}
	for i, e := range n.Entries {
		if e.Key.Text == key {
			n.Entries[i].Value = v
			return
		}
	}
	n.Entries = append(n.Entries, Entry{&Node{Kind: Scalar, Text: key}, v})
}

// Delete removes the entry under key, if there is one.
func (n *Node) Delete(key string) {
	if n == nil || n.Kind != Mapping {
		return
	}
	for i, e := range n.Entries {
		if e.Key.Text == key {
			n.Entries = append(n.Entries[:i], n.Entries[i+1:]...)
			return
		}
	}
}

// maxDigits is how many decimal digits a float64 holds without loss.
const maxDigits = 15

// decimal reads -?digits(.digits)? of at most maxDigits digits.
func decimal(s string) (float64, bool) {
	digits, point := 0, -1
	for i := range len(s) {
		switch c := s[i]; {
		case c >= '0' && c <= '9':
			digits++
		case c == '-' && i == 0:
		case c == '.' && point < 0 && digits > 0:
			point = i
		default:
			return 0, false
		}
	}
	if digits == 0 || digits > maxDigits || point == len(s)-1 {
		return 0, false
	}
	f, err := strconv.ParseFloat(s, 64)
	return f, err == nil
}

func isNull(s string) bool { return s == "" || s == "~" || s == "null" }

// truth reads the spellings of true and false that are no text.
func truth(s string) (v, ok bool) {
	switch s {
	case "true", "True", "TRUE":
		return true, true
	case "false", "False", "FALSE":
		return false, true
	}
	return false, false
}

// value gives the JSON meaning of a tree: map[string]any, []any, string,
// float64, bool or nil; never a number that is not finite.
func (n *Node) value() any {
	switch n.Kind {
	case Mapping:
		m := make(map[string]any, len(n.Entries))
		for _, e := range n.Entries {
			m[e.Key.Text] = e.Value.value()
		}
		return m
	case Sequence:
		l := make([]any, len(n.Items))
		for i, item := range n.Items {
			l[i] = item.value()
		}
		return l
	case Null:
		return nil
	}
	if n.Quoted {
		return n.Text
	}
	if f, ok := decimal(n.Text); ok {
		return f
	}
	if v, ok := truth(n.Text); ok {
		return v
	}
	return n.Text
}

// unread makes the finding of something that could not be read.
func unread(rule string, at finding.Span, message string) finding.Finding {
	return finding.Finding{
		Rule: rule, Level: finding.Hold, Outcome: finding.Unread,
		Span: at, Message: message,
	}
}
