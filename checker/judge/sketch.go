package judge

import (
	"math"
	"slices"

	"github.com/google/cel-go/common/ast"
	"github.com/google/cel-go/common/operators"
	"github.com/google/cel-go/common/types"
)

// guard is a comparison that needs no CEL: a yes or no, or a fact compared
// with a constant or a limit.
type guard struct {
	path  factPath
	op    string   // operators.Equals, …; "" for a yes or no
	words []string // for texts: Equals, NotEquals (one word) and In
	num   float64  // for numbers
	limit string   // in place of num
}

// tri is an outcome that may be undecided.
type tri uint8

const (
	no tri = iota
	yes
	undecided
)

// sketch is a condition as far as it can be told without CEL. In CEL, a part
// of && that is false decides the whole whatever the other parts are, even
// when they fail; so does a part of || that is true. A sketch therefore never
// contradicts CEL: what it leaves undecided, CEL is asked. Most rules do not
// apply to most events, and that is found here at a tenth of the cost.
type sketch struct {
	op    string   // operators.LogicalAnd, LogicalOr, LogicalNot; "" for a guard
	parts []sketch // of op
	guard *guard   // nil for a part that only CEL can tell
}

// sketchOf sketches a checked condition over events of kind g.
func sketchOf(g *group, e ast.Expr) sketch {
	if e.Kind() == ast.CallKind {
		switch c := e.AsCall(); c.FunctionName() {
		case operators.LogicalAnd, operators.LogicalOr, operators.LogicalNot:
			s := sketch{op: c.FunctionName()}
			for _, arg := range c.Args() {
				s.parts = append(s.parts, sketchOf(g, arg))
			}
			return s
		}
	}
	if one, ok := guardOf(g, e); ok {
		return sketch{guard: &one}
	}
	return sketch{}
}

// test tells what can be told of the bound event.
func (s *sketch) test(b *bindings) tri {
	switch s.op {
	case operators.LogicalNot:
		switch s.parts[0].test(b) {
		case yes:
			return no
		case no:
			return yes
		}
		return undecided
	case operators.LogicalAnd, operators.LogicalOr:
		decides, otherwise := no, yes
		if s.op == operators.LogicalOr {
			decides, otherwise = yes, no
		}
		for i := range s.parts {
			switch s.parts[i].test(b) {
			case decides:
				return decides
			case undecided:
				otherwise = undecided
			}
		}
		return otherwise
	}
	if s.guard == nil {
		return undecided
	}
	return s.guard.test(b)
}

func guardOf(g *group, e ast.Expr) (guard, bool) {
	if p, ok := pathOf(g, "event", e); ok {
		return guard{path: p}, p.last.kind == truth
	}
	if e.Kind() != ast.CallKind {
		return guard{}, false
	}
	c := e.AsCall()
	args := c.Args()
	if c.IsMemberFunction() {
		return guard{}, false
	}
	op := c.FunctionName()
	if len(args) != 2 {
		return guard{}, false
	}
	p, ok := pathOf(g, "event", args[0])
	if !ok {
		return guard{}, false
	}
	one := guard{path: p, op: op}
	switch p.last.kind {
	case text:
		switch op {
		case operators.Equals, operators.NotEquals:
			word, ok := literal[types.String](args[1])
			one.words = []string{string(word)}
			return one, ok
		case operators.In, "oneOf":
			one.op = operators.In
			if args[1].Kind() != ast.ListKind {
				return one, false
			}
			for _, item := range args[1].AsList().Elements() {
				word, ok := literal[types.String](item)
				if !ok {
					return one, false
				}
				one.words = append(one.words, string(word))
			}
			return one, true
		}
	case number, figure:
		switch op {
		case operators.Equals, operators.NotEquals, operators.Less, operators.LessEquals, operators.Greater, operators.GreaterEquals:
			if v, ok := literal[types.Double](args[1]); ok {
				one.num = float64(v)
				return one, true
			}
			if s := args[1]; s.Kind() == ast.SelectKind && !s.AsSelect().IsTestOnly() {
				if root := s.AsSelect().Operand(); root.Kind() == ast.IdentKind && root.AsIdent() == "limit" {
					one.limit = s.AsSelect().FieldName()
					return one, true
				}
			}
		}
	}
	return guard{}, false
}

func literal[T any](e ast.Expr) (T, bool) {
	if e.Kind() != ast.LiteralKind {
		var zero T
		return zero, false
	}
	v, ok := e.AsLiteral().(T)
	return v, ok
}

// pathOf reads a chain of facts from a variable.
func pathOf(g *group, variable string, e ast.Expr) (factPath, bool) {
	var dotted string
	for e.Kind() == ast.SelectKind && !e.AsSelect().IsTestOnly() {
		if dotted != "" {
			dotted = "." + dotted
		}
		dotted = e.AsSelect().FieldName() + dotted
		e = e.AsSelect().Operand()
	}
	if dotted == "" || e.Kind() != ast.IdentKind || e.AsIdent() != variable {
		return factPath{}, false
	}
	p, bad, _ := findPath(g, dotted)
	return p, bad < 0
}

// test applies the guard to the bound event.
func (t *guard) test(b *bindings) tri {
	r, slot := t.path.end(b.event)
	f := &r.group.facts[slot]
	v := r.v.Field(f.index)
	switch f.kind {
	case truth:
		return verdict(v.Bool())
	case text:
		// v.String does not copy.
		return verdict(slices.Contains(t.words, v.String()) == (t.op != operators.NotEquals))
	}
	var n float64
	if f.kind == number {
		n = v.Float()
	} else {
		figure, err := r.num(slot)
		if err != nil {
			return undecided
		}
		n = figure.V
	}
	than := t.num
	if t.limit != "" {
		limit, err := b.limit.get(t.limit)
		if err != nil {
			return undecided
		}
		than = float64(limit.(types.Double))
	}
	if math.IsNaN(n) || math.IsNaN(than) {
		return undecided
	}
	switch t.op {
	case operators.Equals:
		return verdict(n == than)
	case operators.NotEquals:
		return verdict(n != than)
	case operators.Less:
		return verdict(n < than)
	case operators.LessEquals:
		return verdict(n <= than)
	case operators.Greater:
		return verdict(n > than)
	}
	return verdict(n >= than)
}

func verdict(b bool) tri {
	if b {
		return yes
	}
	return no
}
