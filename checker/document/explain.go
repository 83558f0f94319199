package document

import (
	"cmp"
	"fmt"
	"math/big"
	"slices"
	"strings"

	"github.com/santhosh-tekuri/jsonschema/v5"

	"ketyl/checker/finding"
)

// finding puts a fault into words at its place.
func (e *explainer) finding(ft fault) finding.Finding {
	p := e.find(ft.loc)
	n, sch := p.node, ft.schema
	if sch == nil {
		sch = &jsonschema.Schema{}
	}
	fd := unread("format/schema", pointAt(n), "")
	fd.Step, fd.Subject = p.step, p.label
	owner := ft.owner
	if owner == nil {
		owner = sch
	}
	fd.Because = cmp.Or(owner.Description, sch.Description)
	what := found(n)
	expected := func(s string) {
		fd.Message = fmt.Sprintf("%s: found %s, expected %s", p.label, what, s)
		fd.Fix = cmp.Or(example(p.key, owner), example(p.key, sch))
	}
	// Faults of the whole value are shown at its key; an item has none.
	whole := pointAt(n)
	if p.key != nil {
		whole = p.key.Span
	}
	switch ft.keyword {
	case "required":
		fd.Span = whole
		fd.Message = fmt.Sprintf("%s has no %s", p.label, show(ft.names[0]))
		fd.Fix = ""
		if sub := e.property(sch, ft.names[0]); sub != nil {
			fd.Because = sub.Description
			fd.Fix = example(ScalarNode(ft.names[0]), sub)
		}
	case "required-any":
		slices.Sort(ft.names)
		fd.Span, fd.Because = whole, ""
		fd.Message = fmt.Sprintf("%s has none of its keys, expected %s", p.label, oneOf(slices.Compact(ft.names)))
	case "dependentRequired":
		fd.Span = whole
		if i, ok := e.entry(n, ft.names[1]); ok {
			fd.Span = n.Entries[i].Key.Span
		}
		fd.Message = fmt.Sprintf("%s has %s but no %s, expected both", p.label, show(ft.names[1]), show(ft.names[0]))
	case "unknown-key", "unevaluated-key":
		if i, ok := e.entry(n, ft.names[0]); ok {
			fd.Span = n.Entries[i].Key.Span
		}
		fd.Because = ""
		fd.Message = unknownKey(ft.names[0], e.free(ft))
		if near := Nearest(ft.names[0], e.free(ft)); near != "" {
			fd.Fix = "write `" + near + ":`"
		}
	case "false":
		fd.Span = whole
		fd.Message = fmt.Sprintf("found %s, expected nothing of that name here", p.label)
	case "alternatives":
		var phrases, words []string
		for _, alt := range ft.alternatives {
			if list, ok := listed(alt); ok {
				words = append(words, list...)
				continue
			}
			if phrase := expectation(alt); !slices.Contains(phrases, phrase) {
				phrases = append(phrases, phrase)
			}
		}
		if len(words) > 0 {
			phrases = append(phrases, oneOf(unique(words)))
		}
		fd.Because = owner.Description
		expected(strings.Join(phrases, " or ") + meant(n, words))
		for _, alt := range ft.alternatives {
			if fd.Fix == "" {
				fd.Fix = example(p.key, alt)
			}
		}
	case "enum", "const":
		words, _ := listed(sch)
		expected(oneOf(words) + meant(n, words))
	case "minItems", "maxItems", "minProperties", "maxProperties":
		counts := map[string]struct {
			bound string
			limit int
			thing string
			found int
		}{
			"minItems":      {"at least", sch.MinItems, "item", len(n.Items)},
			"maxItems":      {"at most", sch.MaxItems, "item", len(n.Items)},
			"minProperties": {"at least", sch.MinProperties, "key", len(n.Entries)},
			"maxProperties": {"at most", sch.MaxProperties, "key", len(n.Entries)},
		}
		c := counts[ft.keyword]
		fd.Span = whole
		what = count(c.found, c.thing)
		expected(c.bound + " " + count(c.limit, c.thing))
	case "uniqueItems":
		second := n.Items[ft.item]
		fd.Span = pointAt(second)
		fd.Message = fmt.Sprintf("%s: found %s a second time, expected each once", p.label, found(second))
		fd.Related = []finding.Related{{Span: pointAt(n.Items[ft.first]), Message: "it is first written here"}}
	case "oneOf":
		expected("only one of the allowed forms, but it fits several")
	case "not":
		expected("something else")
	case "contains", "minContains", "maxContains":
		fd.Span = whole
		what = "no such item"
		if ft.keyword == "maxContains" {
			what = "too many such items"
		}
		expected(expectation(sch.Contains) + " in the list")
	case "minLength":
		if n.Text == "" {
			what = "an empty text"
		}
		expected(expectation(sch))
	case "type":
		expected(types(sch.Types))
	case "pattern", "format", "minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum", "multipleOf", "maxLength":
		expected(expectation(sch))
	case "additionalItems", "items", "unevaluatedItems":
		expected("fewer items")
	default:
		expected("what the schema asks for: " + ft.keyword)
	}
	// A propertyNames fault judges the key, not the value.
	if sch.Location != "" && p.key != nil && strings.Contains(sch.Location+"/", "/propertyNames/") {
		what = "the key " + show(p.key.Text)
		fd.Span = p.key.Span
		words, _ := listed(sch)
		if words != nil {
			fd.Message = unknownKey(p.key.Text, words)
		} else {
			fd.Message = fmt.Sprintf("found %s, expected %s", what, expectation(sch))
		}
	}
	return fd
}

// property finds the schema of a key: in sch itself, or where sch is a branch
// (a then, an anyOf) in the schema around it.
func (e *explainer) property(sch *jsonschema.Schema, name string) *jsonschema.Schema {
	for sch != nil {
		if sub := sch.Properties[name]; sub != nil {
			return follow(sub)
		}
		around := strings.TrimRight(sch.Location, "0123456789")
		around = strings.TrimSuffix(around, "/")
		cut := strings.LastIndexByte(around, '/')
		if cut < 0 || !slices.Contains([]string{"then", "else", "anyOf", "oneOf", "allOf"}, around[cut+1:]) {
			return nil
		}
		sch = e.schema.at[around[:cut]]
	}
	return nil
}

// follow gives the schema that carries the annotations of sch.
func follow(sch *jsonschema.Schema) *jsonschema.Schema {
	for i := 0; i < 8 && sch.Ref != nil && len(sch.Examples) == 0 && sch.Description == ""; i++ {
		sch = sch.Ref
	}
	return sch
}

// example words the schema's first example as a line of the file.
func example(key *Node, sch *jsonschema.Schema) string {
	if sch == nil || len(sch.Examples) == 0 {
		return ""
	}
	n := fromJSON(sch.Examples[0])
	if key != nil {
		n = &Node{Kind: Mapping, Entries: []Entry{{&Node{Kind: Scalar, Text: key.Text}, n}}}
	}
	text := strings.TrimSuffix(string(Marshal(n)), "\n")
	if strings.Contains(text, "\n") {
		return "for example:\n" + text
	}
	return "for example " + "`" + text + "`"
}

// expectation words what a schema asks of a scalar.
func expectation(sch *jsonschema.Schema) string {
	if sch == nil {
		return "something else"
	}
	if words, ok := listed(sch); ok {
		return oneOf(words)
	}
	thing := types(sch.Types)
	switch {
	case sch.Minimum != nil || sch.Maximum != nil || sch.ExclusiveMinimum != nil || sch.ExclusiveMaximum != nil || sch.MultipleOf != nil:
		if len(sch.Types) != 1 {
			thing = "a number"
		}
		var limits []string
		add := func(word string, x *big.Rat) {
			if x != nil {
				f, _ := x.Float64()
				limits = append(limits, fmt.Sprintf("%s %v", word, f))
			}
		}
		add("of at least", sch.Minimum)
		add("above", sch.ExclusiveMinimum)
		add("of at most", sch.Maximum)
		add("below", sch.ExclusiveMaximum)
		add("that is a multiple of", sch.MultipleOf)
		return thing + " " + strings.Join(limits, " and ")
	case sch.Format != "":
		return formats(sch.Format)
	case sch.Pattern != nil:
		if title := strings.TrimSpace(sch.Title); title != "" {
			return title
		}
		if len(sch.Examples) > 0 {
			return "a text like " + show(fmt.Sprint(sch.Examples[0]))
		}
		return "a text that matches " + show(sch.Pattern.String())
	case sch.MinLength == 1:
		return "a text"
	case sch.MinLength > 1 || sch.MaxLength >= 0 && len(sch.Types) > 0 && slices.Contains(sch.Types, "string"):
		if sch.MinLength > 0 {
			return fmt.Sprintf("a text of at least %s", count(sch.MinLength, "character"))
		}
		return fmt.Sprintf("a text of at most %s", count(sch.MaxLength, "character"))
	}
	return thing
}

func formats(format string) string {
	switch format {
	case "date":
		return "a date like `2024-05-31`"
	case "time":
		return "a time of day like `14:30:00Z`"
	case "uri", "uri-reference", "iri":
		return "a web address"
	case "regex":
		return "a regular expression"
	case "email":
		return "an e-mail address"
	}
	return "a text of the form " + show(format)
}

// types words JSON types: "a text or a number".
func types(list []string) string {
	words := map[string]string{
		"object": "keys with values", "array": "a list", "string": "a text", "number": "a number",
		"integer": "a whole number", "boolean": "true or false", "null": "nothing",
	}
	var out []string
	for _, t := range list {
		out = append(out, words[t])
	}
	switch len(out) {
	case 0:
		return "another value"
	case 1:
		return out[0]
	}
	return strings.Join(out[:len(out)-1], ", ") + " or " + out[len(out)-1]
}

// listed gives the words of an enum or const.
func listed(sch *jsonschema.Schema) ([]string, bool) {
	values := sch.Enum
	if len(values) == 0 {
		values = sch.Constant
	}
	var words []string
	for _, v := range values {
		n := fromJSON(v)
		if n.Kind == Null {
			words = append(words, "null")
			continue
		}
		words = append(words, strings.TrimSuffix(string(Marshal(n)), "\n"))
	}
	return words, len(words) > 0
}

// meant suggests the nearest of some words.
func meant(n *Node, words []string) string {
	if n.Kind != Scalar {
		return ""
	}
	if near := Nearest(n.Text, words); near != "" {
		return ", did you mean " + show(near) + "?"
	}
	return ""
}

// fromJSON makes a tree of a JSON value, keys sorted.
func fromJSON(v any) *Node {
	switch v := v.(type) {
	case nil:
		return ScalarNode("null")
	case map[string]any:
		n := &Node{Kind: Mapping}
		keys := make([]string, 0, len(v))
		for key := range v {
			keys = append(keys, key)
		}
		slices.Sort(keys)
		for _, key := range keys {
			n.Set(key, fromJSON(v[key]))
		}
		return n
	case []any:
		n := &Node{Kind: Sequence}
		for _, item := range v {
			n.Items = append(n.Items, fromJSON(item))
		}
		return n
	case string:
		n := ScalarNode(v)
		_, number := decimal(v)
		_, boolean := truth(v)
		n.Kind, n.Quoted = Scalar, number || boolean || isNull(v)
		return n
	}
	return ScalarNode(fmt.Sprint(v))
}

func count(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

func unique(words []string) []string {
	var out []string
	for _, w := range words {
		if !slices.Contains(out, w) {
			out = append(out, w)
		}
	}
	return out
}
