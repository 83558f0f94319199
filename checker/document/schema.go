package document

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/santhosh-tekuri/jsonschema/v5"

	"ketyl/checker/finding"
)

// Schema is a compiled JSON Schema; it is safe to share between goroutines.
type Schema struct {
	root *jsonschema.Schema
	at   map[string]*jsonschema.Schema // by absolute location
}

// schemaBase is where schemas live; nothing is ever fetched from it.
const schemaBase = "https://ketyl.invalid/schema/"

// CompileSchema compiles the schema b named name. A reference may name any of
// others by its file name or its $id; nothing is read from disk or network.
func CompileSchema(name string, b []byte, others map[string][]byte) (*Schema, error) {
	c := jsonschema.NewCompiler()
	c.Draft = jsonschema.Draft2020
	c.AssertFormat = true
	c.ExtractAnnotations = true
	c.LoadURL = func(s string) (io.ReadCloser, error) {
		return nil, fmt.Errorf("schema %s is not among those given", strings.TrimPrefix(s, schemaBase))
	}
	add := func(name string, b []byte) error {
		if err := c.AddResource(schemaBase+name, bytes.NewReader(b)); err != nil {
			return fmt.Errorf("schema %s: %w", name, err)
		}
		var head struct {
			ID string `json:"$id"`
		}
		if json.Unmarshal(b, &head) == nil && head.ID != "" && strings.Contains(head.ID, "://") {
			if err := c.AddResource(strings.TrimSuffix(head.ID, "#"), bytes.NewReader(b)); err != nil {
				return fmt.Errorf("schema %s: %w", name, err)
			}
		}
		return nil
	}
	if err := add(name, b); err != nil {
		return nil, err
	}
	for other, b := range others {
		if other == name {
			continue
		}
		if err := add(other, b); err != nil {
			return nil, err
		}
	}
	root, err := c.Compile(schemaBase + name)
	if err != nil {
		return nil, fmt.Errorf("schema %s: %w", name, err)
	}
	s := &Schema{root: root, at: map[string]*jsonschema.Schema{}}
	s.index(root)
	return s, nil
}

// index notes every schema reachable from sch by its location.
func (s *Schema) index(sch *jsonschema.Schema) {
	if sch == nil || s.at[sch.Location] == sch {
		return
	}
	s.at[sch.Location] = sch
	for _, sub := range subschemas(sch) {
		s.index(sub)
	}
}

// inPlace lists the schemas that judge the same value as sch does.
func inPlace(sch *jsonschema.Schema) []*jsonschema.Schema {
	subs := []*jsonschema.Schema{sch.Ref, sch.RecursiveRef, sch.DynamicRef, sch.If, sch.Then, sch.Else}
	subs = slices.Concat(subs, sch.AllOf, sch.AnyOf, sch.OneOf)
	for _, sub := range sch.DependentSchemas {
		subs = append(subs, sub)
	}
	return subs
}

func subschemas(sch *jsonschema.Schema) []*jsonschema.Schema {
	subs := append(inPlace(sch), sch.Not, sch.PropertyNames, sch.UnevaluatedProperties, sch.Items2020,
		sch.Contains, sch.UnevaluatedItems, sch.ContentSchema)
	subs = append(subs, sch.PrefixItems...)
	for _, sub := range sch.Properties {
		subs = append(subs, sub)
	}
	for _, sub := range sch.PatternProperties {
		subs = append(subs, sub)
	}
	for _, sub := range sch.Dependencies {
		if sub, ok := sub.(*jsonschema.Schema); ok {
			subs = append(subs, sub)
		}
	}
	for _, x := range []any{sch.AdditionalProperties, sch.AdditionalItems, sch.Items} {
		switch x := x.(type) {
		case *jsonschema.Schema:
			subs = append(subs, x)
		case []*jsonschema.Schema:
			subs = append(subs, x...)
		}
	}
	return subs
}

// Validate checks a file and returns every fault, each once, by place; of more
// than a thousand the first, with the count of the rest. A file without a tree has none: Read has said why it has no tree.
func (s *Schema) Validate(f *File) (fs []finding.Finding) {
	if f == nil || f.Root == nil {
		return nil
	}
	stopped := func() []finding.Finding {
		return []finding.Finding{unread("format/schema", pointAt(f.Root), "the file could not be compared with its schema: the schema loops or is broken")}
	}
	defer func() {
		if r := recover(); r != nil {
			fs = stopped()
		}
	}()
	err := s.root.Validate(f.Root.value())
	if err == nil {
		return nil
	}
	failed, ok := errors.AsType[*jsonschema.ValidationError](err)
	if !ok {
		return stopped()
	}
	e := &explainer{
		schema: s, root: f.Root, places: map[string]place{}, keys: map[*Node]map[string]int{},
		names: map[*jsonschema.Schema][]string{}, unused: map[string][]string{},
	}
	faults := e.leaves(failed, "\x00", nil)
	dropped := max(0, len(faults)-maxFindings)
	if dropped > 0 {
		// Words are costly and nobody reads so many: keep the first of the file.
		slices.SortStableFunc(faults, func(a, b fault) int { return cmp.Compare(e.start(a), e.start(b)) })
		faults = faults[:maxFindings]
	}
	for _, ft := range e.settle(faults) {
		fs = append(fs, e.finding(ft))
	}
	defer func() {
		if dropped > 0 && len(fs) > 0 {
			fs[len(fs)-1].Message += fmt.Sprintf(" (and %d more faults further down)", dropped)
		}
	}()
	slices.SortFunc(fs, func(a, b finding.Finding) int {
		return cmp.Or(cmp.Compare(a.Span.Start, b.Span.Start), cmp.Compare(a.Span.End, b.Span.End), cmp.Compare(a.Message, b.Message))
	})
	return slices.CompactFunc(fs, func(a, b finding.Finding) bool { return a.Span == b.Span && a.Message == b.Message })
}

// place is where an instance location leads in the tree.
type place struct {
	node  *Node
	key   *Node // nil for the root and for list items
	label string
	step  int // 1-based number of the step it lies in, or 0
}

// fault is one failed keyword, before it is put into words.
type fault struct {
	loc     string // instance location, escaped as the library gives it
	keyword string
	schema  *jsonschema.Schema // the schema that holds the keyword; may be nil
	// Owner is the schema that judges the value first, before references: it
	// says what the value is for.
	owner *jsonschema.Schema
	// Alternatives are expectations that would each have done, merged from
	// the branches of an anyOf or oneOf.
	alternatives []*jsonschema.Schema
	names        []string // keys: of required, the missing; of unknown-key, the unknown
	item         int      // of uniqueItems: the second of the two equal items
	first        int
}

type explainer struct {
	schema *Schema
	root   *Node
	places map[string]place
	keys   map[*Node]map[string]int
	names  map[*jsonschema.Schema][]string // see known
	unused map[string][]string             // see free, by place and schema
}

// start is about where a fault stands, for sorting.
func (e *explainer) start(ft fault) int {
	p := e.find(ft.loc)
	if len(ft.names) > 0 {
		if i, ok := e.entry(p.node, ft.names[0]); ok {
			return p.node.Entries[i].Key.Span.Start
		}
	}
	return p.node.Span.Start
}

// find walks an instance location through the tree.
func (e *explainer) find(loc string) place {
	if p, ok := e.places[loc]; ok {
		return p
	}
	if loc == "" {
		return place{node: e.root, label: "the file"}
	}
	cut := strings.LastIndexByte(loc, '/')
	p := e.find(loc[:max(cut, 0)])
	token := loc[cut+1:]
	if p.node != nil {
		switch p.node.Kind {
		case Sequence:
			if i, err := strconv.Atoi(token); err == nil && i < len(p.node.Items) {
				q := place{node: p.node.Items[i], label: singular(p.label), step: p.step}
				if loc == "/steps/"+token {
					q.step = i + 1
				}
				p = q
			}
		case Mapping:
			if i, ok := e.entry(p.node, pointerToken(token)); ok {
				entry := p.node.Entries[i]
				p = place{node: entry.Value, key: entry.Key, label: show(entry.Key.Text), step: p.step}
			}
		}
	}
	e.places[loc] = p
	return p
}

func (e *explainer) entry(n *Node, key string) (int, bool) {
	index := e.keys[n]
	if index == nil {
		index = make(map[string]int, len(n.Entries))
		for i, entry := range n.Entries {
			index[entry.Key.Text] = i
		}
		e.keys[n] = index
	}
	i, ok := index[key]
	return i, ok
}

// pointerToken undoes the library's escaping: first of URLs, then of JSON
// pointers (RFC 6901).
func pointerToken(s string) string {
	if u, err := url.PathUnescape(s); err == nil {
		s = u
	}
	return strings.ReplaceAll(strings.ReplaceAll(s, "~1", "/"), "~0", "~")
}

// leaves turns the library's tree of errors into faults, choosing among the
// branches of an anyOf or oneOf the one that was most likely meant. Loc and
// owner are those of the error around ve.
func (e *explainer) leaves(ve *jsonschema.ValidationError, loc string, owner *jsonschema.Schema) []fault {
	keyword, sch := e.keyword(ve.AbsoluteKeywordLocation)
	if ve.InstanceLocation != loc || owner == nil {
		loc, owner = ve.InstanceLocation, sch
	}
	leaf := func() []fault {
		faults := e.leaf(loc, keyword, sch)
		for i := range faults {
			if faults[i].loc == loc {
				faults[i].owner = owner
			}
		}
		return faults
	}
	if len(ve.Causes) == 0 {
		if ve.Message == "" {
			return nil
		}
		return leaf()
	}
	switch {
	case keyword == "anyOf" || keyword == "oneOf":
		var branches [][]fault
		for _, c := range ve.Causes {
			branches = append(branches, e.leaves(c, loc, owner))
		}
		return e.choose(loc, branches)
	case keyword == "minContains":
		return leaf()
	}
	var all []fault
	for _, c := range ve.Causes {
		all = append(all, e.leaves(c, loc, owner)...)
	}
	return all
}

// keyword splits an absolute location into the keyword and its schema.
func (e *explainer) keyword(loc string) (string, *jsonschema.Schema) {
	if cut := strings.LastIndexByte(loc, '/'); cut >= 0 && loc[cut+1:] == "not" {
		if sch := e.schema.at[loc[:cut]]; sch != nil && sch.Not != nil {
			return "not", sch
		}
	}
	keyword := ""
	for {
		if sch := e.schema.at[loc]; sch != nil {
			name, _, _ := strings.Cut(keyword, "/")
			return name, sch
		}
		cut := strings.LastIndexByte(loc, '/')
		if cut < 0 {
			return keyword, nil
		}
		keyword = strings.TrimSuffix(loc[cut+1:]+"/"+keyword, "/")
		loc = loc[:cut]
	}
}

// leaf makes the faults of one failed keyword.
func (e *explainer) leaf(loc, keyword string, sch *jsonschema.Schema) []fault {
	ft := fault{loc: loc, keyword: keyword, schema: sch}
	n := e.find(loc).node
	switch keyword {
	case "":
		// A schema that is false. Behind unevaluatedProperties and the like it
		// means a key that nothing expects.
		ft.keyword = "unknown-key"
		parent := loc[:max(strings.LastIndexByte(loc, '/'), 0)]
		if sch != nil && loc != "" {
			if owner := e.schema.at[strings.TrimSuffix(sch.Location, "/unevaluatedProperties")]; owner != nil && owner != sch {
				ft.names = []string{pointerToken(loc[len(parent)+1:])}
				ft.loc, ft.schema, ft.keyword = parent, owner, "unevaluated-key"
				return []fault{ft}
			}
		}
		ft.keyword = "false"
		return []fault{ft}
	case "additionalProperties":
		var all []fault
		for _, entry := range n.Entries {
			if sch == nil || expects(sch, entry.Key.Text) {
				continue
			}
			one := ft
			one.keyword, one.names = "unknown-key", []string{entry.Key.Text}
			all = append(all, one)
		}
		return all
	case "required":
		var all []fault
		for _, name := range sch.Required {
			if _, ok := e.entry(n, name); !ok {
				all = append(all, fault{loc: loc, keyword: keyword, schema: sch, names: []string{name}})
			}
		}
		return all
	case "dependentRequired", "dependencies":
		var all []fault
		needs := map[string][]string{}
		for key, names := range sch.DependentRequired {
			needs[key] = names
		}
		for key, names := range sch.Dependencies {
			if names, ok := names.([]string); ok {
				needs[key] = names
			}
		}
		for key, names := range needs {
			if _, ok := e.entry(n, key); !ok {
				continue
			}
			for _, name := range names {
				if _, ok := e.entry(n, name); !ok {
					all = append(all, fault{loc: loc, keyword: "dependentRequired", schema: sch, names: []string{name, key}})
				}
			}
		}
		return all
	case "uniqueItems":
		seen := map[string]int{}
		for i, item := range n.Items {
			b, _ := json.Marshal(item.value())
			if j, ok := seen[string(b)]; ok {
				one := ft
				one.first, one.item = j, i
				return []fault{one}
			}
			seen[string(b)] = i
		}
	}
	return []fault{ft}
}

// expects reports whether sch itself names a key.
func expects(sch *jsonschema.Schema, key string) bool {
	if _, ok := sch.Properties[key]; ok {
		return true
	}
	for pattern := range sch.PatternProperties {
		if pattern.MatchString(key) {
			return true
		}
	}
	return false
}

// known lists, sorted, the keys that sch names for a value, in any branch.
func (e *explainer) known(sch *jsonschema.Schema) []string {
	if list, ok := e.names[sch]; ok {
		return list
	}
	seen := map[*jsonschema.Schema]bool{}
	names := map[string]bool{}
	var walk func(*jsonschema.Schema)
	walk = func(sch *jsonschema.Schema) {
		if sch == nil || seen[sch] {
			return
		}
		seen[sch] = true
		for name, p := range sch.Properties {
			if p.Always == nil || *p.Always {
				names[name] = true
			}
		}
		for _, sub := range inPlace(sch) {
			walk(sub)
		}
	}
	walk(sch)
	list := slices.Sorted(maps.Keys(names))
	e.names[sch] = list
	return list
}

// ofValue reports whether a keyword judges the value itself, so that its
// expectation can stand beside another as "a or b".
func ofValue(ft fault) bool {
	switch ft.keyword {
	case "type", "enum", "const", "pattern", "format", "minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum", "minLength", "alternatives":
		return true
	}
	return false
}

// choose reduces the failed branches of an anyOf or oneOf at loc.
func (e *explainer) choose(loc string, branches [][]fault) []fault {
	wrongType := func(fs []fault) bool {
		return slices.ContainsFunc(fs, func(ft fault) bool { return ft.loc == loc && ft.keyword == "type" })
	}
	var near [][]fault
	for _, b := range branches {
		if !wrongType(b) {
			near = append(near, b)
		}
	}
	if len(near) == 0 {
		near = branches
	}
	merge := func(all func(fault) bool, keyword string) []fault {
		merged := fault{loc: loc, keyword: keyword}
		for _, b := range near {
			if len(b) != 1 || b[0].loc != loc || !all(b[0]) {
				return nil
			}
			merged.names = append(merged.names, b[0].names...)
			if b[0].alternatives != nil {
				merged.alternatives = append(merged.alternatives, b[0].alternatives...)
			} else {
				merged.alternatives = append(merged.alternatives, b[0].schema)
			}
			merged.schema, merged.owner = b[0].schema, b[0].owner
		}
		return []fault{merged}
	}
	if len(near) > 1 {
		if m := merge(ofValue, "alternatives"); m != nil {
			return m
		}
		if m := merge(func(ft fault) bool { return ft.keyword == "required" || ft.keyword == "required-any" }, "required-any"); m != nil {
			return m
		}
	}
	score := func(fs []fault) int {
		total := 0
		for _, ft := range fs {
			total++
			rest := strings.TrimPrefix(ft.loc, loc)
			switch {
			case ft.loc == loc && ft.keyword == "type":
				total += 10_000
			case (ft.keyword == "const" || ft.keyword == "enum") && strings.Count(rest, "/") <= 1:
				total += 100 // the branch is for another kind of thing
			case ft.loc == loc && (ft.keyword == "required" || ft.keyword == "unknown-key" || ft.keyword == "false"):
				total += 10
			}
		}
		return total
	}
	return slices.MinFunc(near, func(a, b []fault) int { return score(a) - score(b) })
}

// settle drops faults that only repeat another's cause.
func (e *explainer) settle(faults []fault) []fault {
	type spot struct{ loc, name string }
	meant := map[spot]bool{} // missing keys that an unknown key was meant to be
	failing := map[string]bool{}
	for _, ft := range faults {
		if ft.keyword != "unevaluated-key" {
			for loc := ft.loc; ; loc = loc[:strings.LastIndexByte(loc, '/')] {
				failing[loc] = true
				if loc == "" {
					break
				}
			}
		}
	}
	var kept []fault
	for _, ft := range faults {
		switch ft.keyword {
		case "unknown-key", "unevaluated-key":
			// A failed branch leaves its keys unevaluated: they are no fault.
			if ft.keyword == "unevaluated-key" && failing[ft.loc] && slices.Contains(e.known(ft.schema), ft.names[0]) {
				continue
			}
			if near := Nearest(ft.names[0], e.free(ft)); near != "" {
				meant[spot{ft.loc, near}] = true
			}
		}
		kept = append(kept, ft)
	}
	return slices.DeleteFunc(kept, func(ft fault) bool {
		switch ft.keyword {
		case "required", "required-any":
			return slices.ContainsFunc(ft.names, func(name string) bool { return meant[spot{ft.loc, name}] })
		}
		return false
	})
}

// free lists the keys that would be right at the mapping of an unknown key and
// are not there yet.
func (e *explainer) free(ft fault) []string {
	at := ft.keyword + ft.loc + ft.schema.Location
	if list, ok := e.unused[at]; ok {
		return list
	}
	n := e.find(ft.loc).node
	list := []string{}
	for _, name := range e.known(ft.schema) {
		// additionalProperties looks at its own schema's keys alone.
		if ft.keyword == "unknown-key" && !expects(ft.schema, name) {
			continue
		}
		if _, ok := e.entry(n, name); !ok {
			list = append(list, name)
		}
	}
	e.unused[at] = list
	return list
}
