package document

import (
	"cmp"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"sync"

	"ketyl/checker/finding"
)

// FromNode is what a type implements on its pointer to decode itself. An error
// may be a *PlaceError, or several joined, to point inside the value.
type FromNode interface {
	FromNode(f *File, n *Node) error
}

// PlaceError is an error at a place within a value that decodes itself.
type PlaceError struct {
	Span    finding.Span
	Message string
	Fix     string
}

func (e *PlaceError) Error() string { return e.Message }

// Decode fills dst, a pointer, from the tree under n and reports at its place
// everything that does not fit. Fields are named by the tag `yaml:"name"`, or
// by their lower-cased name; "-" leaves a field out. Tag options: "inline"
// (also any embedded struct without a name) takes the struct's keys as its
// own, "required" makes a missing key an error, "span" on a finding.Span field
// stores the place of the value, "ordered" fills a slice of
// struct{Key string; KeySpan finding.Span; Value T} from a mapping in file
// order. Any scalar decodes into a string; only plain decimals into numbers;
// a scalar or mapping where a slice is wanted becomes its one element; *Node
// and Node fields take the tree itself; any takes its JSON meaning. A key that
// no field names is an error.
func Decode(f *File, n *Node, dst any) []finding.Finding {
	v := reflect.ValueOf(dst)
	if v.Kind() != reflect.Pointer || v.IsNil() {
		panic(fmt.Sprintf("document: Decode wants a pointer, got %T", dst))
	}
	d := &decoder{file: f}
	if n == nil {
		return nil
	}
	d.value(n, v.Elem(), n.Span, "the file")
	slices.SortStableFunc(d.findings, func(a, b finding.Finding) int {
		return cmp.Or(cmp.Compare(a.Span.Start, b.Span.Start), cmp.Compare(a.Message, b.Message))
	})
	return d.findings
}

type decoder struct {
	file     *File
	findings []finding.Finding
}

func (d *decoder) report(at finding.Span, format string, args ...any) *finding.Finding {
	d.findings = append(d.findings, unread("format/value", at, fmt.Sprintf(format, args...)))
	return &d.findings[len(d.findings)-1]
}

var (
	nodeType     = reflect.TypeFor[Node]()
	spanType     = reflect.TypeFor[finding.Span]()
	fromNodeType = reflect.TypeFor[FromNode]()
)

// value fills v from n; owner is the place to point at for what n lacks, and
// label names n in messages.
func (d *decoder) value(n *Node, v reflect.Value, owner finding.Span, label string) {
	t := v.Type()
	if t == nodeType {
		v.Set(reflect.ValueOf(*n))
		return
	}
	if t.Kind() == reflect.Pointer {
		if t.Elem() == nodeType {
			v.Set(reflect.ValueOf(n))
			return
		}
		if n.Kind == Null {
			v.SetZero()
			return
		}
		p := reflect.New(t.Elem())
		d.value(n, p.Elem(), owner, label)
		v.Set(p)
		return
	}
	if v.CanAddr() && reflect.PointerTo(t).Implements(fromNodeType) {
		if err := v.Addr().Interface().(FromNode).FromNode(d.file, n); err != nil {
			d.failed(n, err, label)
		}
		return
	}
	wrong := func(expected string) {
		d.report(pointAt(n), "%s: found %s, expected %s", label, found(n), expected)
	}
	switch t.Kind() {
	case reflect.Interface:
		if t.NumMethod() != 0 {
			panic("document: Decode cannot fill " + t.String())
		}
		if x := n.value(); x != nil {
			v.Set(reflect.ValueOf(x))
		} else {
			v.SetZero()
		}
	case reflect.String:
		switch n.Kind {
		case Scalar:
			v.SetString(n.Text)
		case Null:
			v.SetString("")
		default:
			wrong("a text")
		}
	case reflect.Float64, reflect.Float32:
		x, ok := n.Number()
		if !ok {
			wrong("a plain number like 2 or 0.5")
			return
		}
		v.SetFloat(x)
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		x, ok := n.Number()
		if !ok || x != float64(int64(x)) || v.OverflowInt(int64(x)) {
			wrong("a whole number like 2")
			return
		}
		v.SetInt(int64(x))
	case reflect.Bool:
		x, ok := n.Bool()
		if !ok {
			wrong("true or false")
			return
		}
		v.SetBool(x)
	case reflect.Slice:
		d.slice(n, v, owner, label)
	case reflect.Map:
		if t.Key().Kind() != reflect.String {
			panic("document: Decode wants text keys, got " + t.String())
		}
		switch n.Kind {
		case Null:
			v.SetZero()
		case Mapping:
			m := reflect.MakeMapWithSize(t, len(n.Entries))
			for _, e := range n.Entries {
				x := reflect.New(t.Elem()).Elem()
				d.value(e.Value, x, e.Key.Span, show(e.Key.Text))
				m.SetMapIndex(reflect.ValueOf(e.Key.Text).Convert(t.Key()), x)
			}
			v.Set(m)
		default:
			wrong("keys with values")
		}
	case reflect.Struct:
		if n.Kind == Null && label != "the file" {
			n = &Node{Kind: Mapping, Span: n.Span}
		}
		if n.Kind != Mapping {
			wrong("keys with values")
			return
		}
		d.structure(n, v, owner, label)
	default:
		panic("document: Decode cannot fill " + t.String())
	}
}

// failed reports the error of a value that decodes itself.
func (d *decoder) failed(n *Node, err error, label string) {
	if many, ok := err.(interface{ Unwrap() []error }); ok {
		for _, e := range many.Unwrap() {
			d.failed(n, e, label)
		}
		return
	}
	if place, ok := errors.AsType[*PlaceError](err); ok {
		d.report(place.Span, "%s: %s", label, err).Fix = place.Fix
		return
	}
	d.report(pointAt(n), "%s: %s", label, err)
}

func (d *decoder) slice(n *Node, v reflect.Value, owner finding.Span, label string) {
	t := v.Type()
	switch n.Kind {
	case Null:
		v.SetZero()
	case Sequence:
		s := reflect.MakeSlice(t, len(n.Items), len(n.Items))
		for i, item := range n.Items {
			d.value(item, s.Index(i), pointAt(item), singular(label))
		}
		v.Set(s)
	default:
		s := reflect.MakeSlice(t, 1, 1)
		d.value(n, s.Index(0), owner, label)
		v.Set(s)
	}
}

// ordered fills a slice of struct{Key, KeySpan, Value} from a mapping.
func (d *decoder) ordered(n *Node, v reflect.Value, label string) {
	if n.Kind == Null {
		v.SetZero()
		return
	}
	if n.Kind != Mapping {
		d.report(pointAt(n), "%s: found %s, expected keys with values", label, found(n))
		return
	}
	s := reflect.MakeSlice(v.Type(), len(n.Entries), len(n.Entries))
	for i, e := range n.Entries {
		item := s.Index(i)
		item.FieldByName("Key").SetString(e.Key.Text)
		if at := item.FieldByName("KeySpan"); at.IsValid() {
			at.Set(reflect.ValueOf(e.Key.Span))
		}
		d.value(e.Value, item.FieldByName("Value"), e.Key.Span, show(e.Key.Text))
	}
	v.Set(s)
}

func (d *decoder) structure(n *Node, v reflect.Value, owner finding.Span, label string) {
	s := shapeOf(v.Type())
	for _, index := range s.spans {
		v.FieldByIndex(index).Set(reflect.ValueOf(n.Span))
	}
	var taken []string
	for _, e := range n.Entries {
		field, ok := s.fields[e.Key.Text]
		if !ok {
			var free []string
			for _, name := range s.names {
				if n.Get(name) == nil {
					free = append(free, name)
				}
			}
			if near := Nearest(e.Key.Text, free); near != "" {
				taken = append(taken, near)
			}
			d.findings = append(d.findings, unread("format/value", e.Key.Span, unknownKey(e.Key.Text, free)))
			continue
		}
		target := v.FieldByIndex(field.index)
		if field.ordered {
			d.ordered(e.Value, target, show(e.Key.Text))
		} else {
			d.value(e.Value, target, e.Key.Span, show(e.Key.Text))
		}
	}
	for _, name := range s.required {
		if n.Get(name) == nil && !slices.Contains(taken, name) {
			d.report(owner, "%s has no %s", label, show(name))
		}
	}
}

// shape is what a struct type looks like to Decode.
type shape struct {
	fields   map[string]shapeField
	names    []string // sorted
	required []string // in field order
	spans    [][]int
}

type shapeField struct {
	index   []int
	ordered bool
}

var shapes sync.Map // reflect.Type → *shape

func shapeOf(t reflect.Type) *shape {
	if s, ok := shapes.Load(t); ok {
		return s.(*shape)
	}
	s := &shape{fields: map[string]shapeField{}}
	s.add(t, nil)
	for name := range s.fields {
		s.names = append(s.names, name)
	}
	slices.Sort(s.names)
	shapes.Store(t, s)
	return s
}

func (s *shape) add(t reflect.Type, index []int) {
	for i := range t.NumField() {
		field := t.Field(i)
		name, options, _ := strings.Cut(field.Tag.Get("yaml"), ",")
		at := append(slices.Clone(index), i)
		has := func(option string) bool { return slices.Contains(strings.Split(options, ","), option) }
		switch {
		case name == "-":
		case has("inline") || field.Anonymous && name == "" && field.Type.Kind() == reflect.Struct:
			s.add(field.Type, at)
		case !field.IsExported():
		case has("span") && field.Type == spanType:
			s.spans = append(s.spans, at)
		default:
			if name == "" {
				name = strings.ToLower(field.Name)
			}
			if _, ok := s.fields[name]; ok && index != nil {
				continue // the outer field wins over one that is taken in
			}
			s.fields[name] = shapeField{at, has("ordered")}
			if has("required") {
				s.required = append(s.required, name)
			}
		}
	}
}

// pointAt is the tightest place for a fault of a whole value: the value when
// it is short, the first key of a mapping, the first dash of a list.
func pointAt(n *Node) finding.Span {
	switch {
	case n.Kind == Mapping && len(n.Entries) > 0 && n.Span.Start == n.Entries[0].Key.Span.Start:
		return n.Entries[0].Key.Span
	case (n.Kind == Mapping || n.Kind == Sequence) && n.Span.End > n.Span.Start:
		return finding.Span{Start: n.Span.Start, End: n.Span.Start + 1}
	}
	return n.Span
}

// found names what stands in the file.
func found(n *Node) string {
	if n.Kind == Scalar {
		return show(n.Text)
	}
	return n.Kind.String()
}

// singular names an item of the list a label names: `steps` has a step.
func singular(label string) string {
	word := strings.Trim(label, "`")
	if len(word) > 3 && strings.HasSuffix(word, "s") && !strings.HasSuffix(word, "ss") && word != label {
		if stem, ok := strings.CutSuffix(word, "ies"); ok {
			return stem + "y"
		}
		return strings.TrimSuffix(word, "s")
	}
	return "item of " + label
}

// unknownKey words a key that nothing expects. Of many allowed keys only the
// likeliest are named.
func unknownKey(key string, allowed []string) string {
	const many, some = 24, 8
	m := "unknown key " + show(key)
	if len(allowed) == 0 {
		return m + ", expected no more keys here"
	}
	near := Nearest(key, allowed)
	switch {
	case near != "" && len(allowed) > many:
		return m + ", did you mean " + show(near) + "?"
	case near != "":
		return m + ", did you mean " + show(near) + "? expected " + oneOf(allowed)
	case len(allowed) <= many:
		return m + ", expected " + oneOf(allowed)
	}
	first := func(s string) string { return strings.ToLower(string(firstRune([]byte(s)))) }
	alike := slices.DeleteFunc(slices.Clone(allowed), func(name string) bool { return first(name) != first(key) })
	if len(alike) == 0 {
		alike = allowed
	}
	alike = alike[:min(len(alike), some)]
	return fmt.Sprintf("%s, expected one of %d keys such as %s", m, len(allowed), strings.TrimPrefix(oneOf(alike), "one of "))
}

// oneOf lists words: `a`; `a` or `b`; one of `a`, `b`, `c`.
func oneOf(words []string) string {
	const most = 24
	more := ""
	if len(words) > most {
		more = fmt.Sprintf(" and %d more", len(words)-most)
		words = words[:most]
	}
	quoted := make([]string, len(words))
	for i, w := range words {
		quoted[i] = show(w)
	}
	switch {
	case len(quoted) == 1:
		return quoted[0]
	case len(quoted) == 2 && more == "":
		return quoted[0] + " or " + quoted[1]
	}
	return "one of " + strings.Join(quoted, ", ") + more
}
