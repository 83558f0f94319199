package judge

import (
	"fmt"
	"maps"
	"math"
	"reflect"
	"slices"
	"strings"

	"github.com/google/cel-go/cel"
	"github.com/google/cel-go/common/types"
	"github.com/google/cel-go/common/types/ref"

	"ketyl/checker/bench"
)

// factKind says what a fact is to a rule.
type factKind uint8

const (
	number factKind = iota // always known
	figure                 // a number that may be unknown
	text
	truth
	texts // list of texts
	nested
)

// words are the kinds as rule authors read them.
func (k factKind) words() string {
	return [...]string{"number", "number, may be unknown", "text", "yes or no", "list of texts", ""}[k]
}

// fact is one field of a facts struct.
type fact struct {
	name, doc string
	kind      factKind
	index     int    // of the field in its struct
	group     *group // of a nested fact
}

// group is one facts struct: an event's, or one nested in it.
type group struct {
	label  string // addition, vessel
	typ    *types.Type
	goType reflect.Type
	facts  []fact
	named  map[string]int
	fields map[string]*types.FieldType
}

func (g *group) names() []string { return slices.Sorted(maps.Keys(g.named)) }

// vocabulary is everything rules can read, built once from bench.Kinds.
type vocabulary struct {
	kinds  map[string]*group // by kind of event
	types  map[string]*group // by CEL type name
	sorted []string          // kinds
}

var vocab = newVocabulary()

func newVocabulary() *vocabulary {
	v := &vocabulary{kinds: map[string]*group{}, types: map[string]*group{}, sorted: slices.Sorted(maps.Keys(bench.Kinds))}
	seen := map[reflect.Type]*group{}
	for _, kind := range v.sorted {
		g := v.group(reflect.TypeOf(bench.Kinds[kind]), seen)
		g.label = kind
		v.kinds[kind] = g
	}
	return v
}

// group describes a facts struct. A field without a fact tag, or of a type
// that rules cannot read, is a fault of the program.
func (v *vocabulary) group(t reflect.Type, seen map[reflect.Type]*group) *group {
	if g := seen[t]; g != nil {
		return g
	}
	short := strings.TrimSuffix(t.Name(), "Facts")
	g := &group{
		label: strings.ToLower(short), typ: cel.ObjectType("ketyl." + short), goType: t,
		named: map[string]int{}, fields: map[string]*types.FieldType{},
	}
	seen[t] = g
	v.types[g.typ.TypeName()] = g
	for i := range t.NumField() {
		field := t.Field(i)
		f := fact{name: field.Tag.Get("fact"), doc: field.Tag.Get("doc"), index: i}
		if f.name == "" {
			panic(fmt.Sprintf("judge: field %s of %s has no fact tag", field.Name, t))
		}
		celType := cel.DoubleType
		switch {
		case field.Type == reflect.TypeFor[bench.Num]():
			f.kind = figure
		case field.Type == reflect.TypeFor[[]string]():
			f.kind, celType = texts, cel.ListType(cel.StringType)
		case field.Type.Kind() == reflect.Struct:
			f.kind, f.group = nested, v.group(field.Type, seen)
			celType = f.group.typ
		case field.Type.Kind() == reflect.Pointer && field.Type.Elem().Kind() == reflect.Struct:
			f.kind, f.group = nested, v.group(field.Type.Elem(), seen)
			celType = f.group.typ
		case field.Type.Kind() == reflect.Float64:
			f.kind = number
		case field.Type.Kind() == reflect.String:
			f.kind, celType = text, cel.StringType
		case field.Type.Kind() == reflect.Bool:
			f.kind, celType = truth, cel.BoolType
		default:
			panic(fmt.Sprintf("judge: rules cannot read field %s of %s", field.Name, t))
		}
		slot := len(g.facts)
		g.named[f.name] = slot
		g.facts = append(g.facts, f)
		g.fields[f.name] = &types.FieldType{
			Type: celType,
			IsSet: func(obj any) bool {
				r, ok := obj.(*record)
				return ok && r.has(slot)
			},
			GetFrom: func(obj any) (any, error) {
				r, ok := obj.(*record)
				if !ok {
					return nil, fmt.Errorf("%s is no %s", f.name, g.label)
				}
				return r.get(slot)
			},
		}
	}
	return g
}

// record wraps one facts struct for CEL. Each field is converted once, when
// it is first read. A record is reused for the next event of its kind, so
// that nothing read from it may be kept.
type record struct {
	group    *group
	v        reflect.Value
	cells    []ref.Val // by slot; nil until read
	children []*record // by slot; of nested facts
}

func newRecord(g *group) *record {
	return &record{group: g, cells: make([]ref.Val, len(g.facts)), children: make([]*record, len(g.facts))}
}

// reset points the record at other facts of its group.
func (r *record) reset(v reflect.Value) {
	r.v = v
	clear(r.cells)
}

// unknown is the error of reading a figure that the text leaves unknown.
type unknown struct{ name, ask string }

func (u *unknown) Error() string { return u.name + " is unknown: " + u.ask }

// num gives the figure in a slot. One that is not a number counts as unknown:
// every comparison with it would be false, and so might pass as met.
func (r *record) num(slot int) (bench.Num, error) {
	f := &r.group.facts[slot]
	n := *r.v.Field(f.index).Addr().Interface().(*bench.Num)
	if n.Known && !math.IsNaN(n.V) {
		return n, nil
	}
	if n.Ask() == "" {
		n.Note = f.doc
	}
	n.Known = false
	return n, &unknown{f.name, n.Ask()}
}

// get gives the value in a slot; the error of an unknown figure is *unknown.
func (r *record) get(slot int) (ref.Val, error) {
	if c := r.cells[slot]; c != nil {
		return c, nil
	}
	f := &r.group.facts[slot]
	var c ref.Val
	switch v := r.v.Field(f.index); f.kind {
	case figure:
		n, err := r.num(slot)
		if err != nil {
			return nil, err
		}
		c = types.Double(n.V)
	case number:
		if math.IsNaN(v.Float()) {
			return nil, &unknown{f.name, f.doc}
		}
		c = types.Double(v.Float())
	case text:
		c = types.String(v.String())
	case truth:
		c = types.Bool(v.Bool())
	case texts:
		c = types.NewStringList(types.DefaultTypeAdapter, *v.Addr().Interface().(*[]string))
	case nested:
		c = r.child(slot)
	}
	r.cells[slot] = c
	return c, nil
}

// child gives the record of a nested fact.
func (r *record) child(slot int) *record {
	if c, ok := r.cells[slot].(*record); ok {
		return c
	}
	f := &r.group.facts[slot]
	c := r.children[slot]
	if c == nil {
		c = newRecord(f.group)
		r.children[slot] = c
	}
	v := r.v.Field(f.index)
	if v.Kind() == reflect.Pointer {
		if v.IsNil() {
			v = reflect.New(v.Type().Elem()) // facts that nobody filled
		}
		v = v.Elem()
	}
	c.reset(v)
	r.cells[slot] = c
	return c
}

// has is CEL's has(): a figure is known, a text or list not empty; a number,
// a yes-or-no and a nested fact are always there.
func (r *record) has(slot int) bool {
	f := &r.group.facts[slot]
	switch v := r.v.Field(f.index); f.kind {
	case figure:
		_, err := r.num(slot)
		return err == nil
	case text, texts:
		return v.Len() > 0
	}
	return true
}

// The methods that make a record a CEL value.

func (r *record) ConvertToNative(t reflect.Type) (any, error) {
	return nil, fmt.Errorf("a %s cannot be taken as %s", r.group.label, t)
}

func (r *record) ConvertToType(t ref.Type) ref.Val {
	if t == types.TypeType {
		return r.group.typ
	}
	return types.NewErr("a %s cannot be taken as %s", r.group.label, t.TypeName())
}

func (r *record) Equal(other ref.Val) ref.Val { return types.Bool(r == other) }
func (r *record) Type() ref.Type              { return r.group.typ }
func (r *record) Value() any                  { return r }

// limitsType is the CEL type of the variable limit. Any name is a field of
// it to the type checker; which ones a rule has is checked at load.
var limitsType = cel.ObjectType("ketyl.Limits")

// limitValues are a rule's limits as CEL reads them.
type limitValues struct {
	names  []string
	values []ref.Val
}

func (l *limitValues) get(name string) (ref.Val, error) {
	if i := slices.Index(l.names, name); i >= 0 {
		return l.values[i], nil
	}
	return nil, fmt.Errorf("the rule has no limit %q", name)
}

func (l *limitValues) ConvertToNative(t reflect.Type) (any, error) {
	return nil, fmt.Errorf("limits cannot be taken as %s", t)
}

func (l *limitValues) ConvertToType(t ref.Type) ref.Val {
	if t == types.TypeType {
		return limitsType
	}
	return types.NewErr("limits cannot be taken as %s", t.TypeName())
}

func (l *limitValues) Equal(other ref.Val) ref.Val { return types.Bool(l == other) }
func (l *limitValues) Type() ref.Type              { return limitsType }
func (l *limitValues) Value() any                  { return l }

// provider tells CEL of the facts and limits; standard types come from the
// provider within.
type provider struct{ types.Provider }

func (p provider) FindStructType(name string) (*types.Type, bool) {
	if g, ok := vocab.types[name]; ok {
		return types.NewTypeTypeWithParam(g.typ), true
	}
	if name == limitsType.TypeName() {
		return types.NewTypeTypeWithParam(limitsType), true
	}
	return p.Provider.FindStructType(name)
}

func (p provider) FindStructFieldNames(name string) ([]string, bool) {
	if g, ok := vocab.types[name]; ok {
		return g.names(), true
	}
	return p.Provider.FindStructFieldNames(name)
}

func (p provider) FindStructFieldType(name, field string) (*types.FieldType, bool) {
	if g, ok := vocab.types[name]; ok {
		f, ok := g.fields[field]
		return f, ok
	}
	if name == limitsType.TypeName() {
		return &types.FieldType{
			Type: cel.DoubleType,
			IsSet: func(obj any) bool {
				l, ok := obj.(*limitValues)
				return ok && slices.Contains(l.names, field)
			},
			GetFrom: func(obj any) (any, error) {
				l, ok := obj.(*limitValues)
				if !ok {
					return nil, fmt.Errorf("limit.%s is not there", field)
				}
				return l.get(field)
			},
		}, true
	}
	return p.Provider.FindStructFieldType(name, field)
}

func (p provider) NewValue(name string, _ map[string]ref.Val) ref.Val {
	return types.NewErr("a rule cannot make a %s", name)
}

// factPath is a chain of facts from the event, such as event.vessel.fill.
type factPath struct {
	name  string // as written, without "event."
	slots []int
	last  *fact
}

// findPath resolves a written path from an event of kind g. When a name is
// wrong, bad is its index among the dotted names and at the group that lacks
// it (nil when the fact before it holds no facts).
func findPath(g *group, dotted string) (p factPath, bad int, at *group) {
	p.name = dotted
	names := strings.Split(dotted, ".")
	for i, name := range names {
		if g == nil {
			return p, i, nil
		}
		slot, ok := g.named[name]
		if !ok {
			return p, i, g
		}
		p.slots = append(p.slots, slot)
		p.last = &g.facts[slot]
		g = p.last.group
	}
	return p, -1, nil
}

// end gives the record and slot that hold the path's fact.
func (p *factPath) end(r *record) (*record, int) {
	last := len(p.slots) - 1
	for _, slot := range p.slots[:last] {
		r = r.child(slot)
	}
	return r, p.slots[last]
}

func (p *factPath) get(r *record) (ref.Val, error) {
	r, slot := p.end(r)
	return r.get(slot)
}

// assumed says why the bench assumed the figure; empty when it did not.
func (p *factPath) assumed(r *record) string {
	if p.last.kind != figure {
		return ""
	}
	r, slot := p.end(r)
	n, err := r.num(slot)
	if err != nil {
		return ""
	}
	return n.Assumed()
}

// FactDoc describes one kind of event, or a group of facts nested in events.
type FactDoc struct {
	Name  string // addition; vessel
	Event bool   // rules can be over it
	Facts []FactLine
}

// FactLine is one fact that rules can read.
type FactLine struct {
	Name string `json:"name"`
	Type string `json:"type"` // number | number, may be unknown | text | yes or no | list of texts | the name of a nested group
	Doc  string `json:"doc"`
}

// Facts lists what rules can read: the kinds of event, then the groups nested
// in them, each in order of name.
func Facts() []FactDoc {
	var docs []FactDoc
	for _, g := range vocab.types {
		d := FactDoc{Name: g.label, Event: vocab.kinds[g.label] == g}
		for _, f := range g.facts {
			line := FactLine{Name: f.name, Type: f.kind.words(), Doc: f.doc}
			if f.kind == nested {
				line.Type = f.group.title()
			}
			d.Facts = append(d.Facts, line)
		}
		if !d.Event {
			d.Name = g.title()
		}
		docs = append(docs, d)
	}
	slices.SortFunc(docs, func(a, b FactDoc) int {
		if a.Event != b.Event {
			if a.Event {
				return -1
			}
			return 1
		}
		return strings.Compare(a.Name, b.Name)
	})
	return docs
}

// title names a group; a nested one is kept apart from the event of its name.
func (g *group) title() string {
	if k := vocab.kinds[g.label]; k != nil && k != g {
		return g.label + " (as used)"
	}
	return g.label
}
