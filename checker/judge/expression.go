package judge

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"
	"sync"

	"github.com/google/cel-go/cel"
	"github.com/google/cel-go/checker"
	"github.com/google/cel-go/common/ast"
	"github.com/google/cel-go/common/operators"
	"github.com/google/cel-go/common/types"
	"github.com/google/cel-go/common/types/ref"
	"github.com/google/cel-go/common/types/traits"
	"github.com/google/cel-go/ext"

	"ketyl/checker/document"
	"ketyl/checker/finding"
)

// Limits of what a rule may ask of the machine. CEL counts cost in steps of
// about 0.1 µs.
const (
	maxExpression = 4000    // code points of one expression
	maxDepth      = 40      // nesting of one expression
	maxLoops      = 2       // nested exists, all, …
	maxRegex      = 500     // instructions of one regular expression
	maxCost       = 200_000 // of one evaluation: about 20 ms
	sizeOfList    = 50      // items that the estimate expects of a list fact
	sizeOfText    = 200     // code points that the estimate expects of a text fact
)

// baseEnv is the language of rules without the event, whose type differs by
// kind.
var baseEnv = sync.OnceValues(func() (*cel.Env, error) {
	registry := types.NewEmptyRegistry()
	return cel.NewEnv(
		cel.CustomTypeAdapter(registry),
		cel.CustomTypeProvider(provider{registry}),
		cel.Variable("limit", limitsType),
		cel.CrossTypeNumericComparisons(true),
		cel.ParserExpressionSizeLimit(maxExpression),
		cel.ParserRecursionLimit(maxDepth),
		cel.RegexProgramSizeLimit(maxRegex),
		cel.ASTValidators(cel.ValidateRegexLiterals(), cel.ValidateComprehensionNestingLimit(maxLoops), cel.ValidateHomogeneousAggregateLiterals()),
		ext.Strings(ext.StringsVersion(5)),
		ext.Math(ext.MathVersion(2)),
		cel.Function("oneOf", cel.Overload("one_of_string_list",
			[]*cel.Type{cel.StringType, cel.ListType(cel.StringType)}, cel.BoolType,
			cel.BinaryBinding(func(word, list ref.Val) ref.Val {
				return list.(traits.Lister).Contains(word)
			}))),
		// What a / b becomes: division by zero is an error, where CEL would
		// give a number that is neither above nor below any limit.
		cel.Function(quotient, cel.Overload("quotient_double_double",
			[]*cel.Type{cel.DoubleType, cel.DoubleType}, cel.DoubleType,
			cel.BinaryBinding(func(a, b ref.Val) ref.Val {
				if b.(types.Double) == 0 {
					return types.NewErr("division by zero")
				}
				return a.(types.Double) / b.(types.Double)
			}))),
	)
})

const noExpression = "this is no expression: "

const quotient = "quotient"

var kindEnvs sync.Map // kind → func() (*cel.Env, error)

// envOf is the language of rules over one kind of event.
func envOf(kind string) (*cel.Env, error) {
	if f, ok := kindEnvs.Load(kind); ok {
		return f.(func() (*cel.Env, error))()
	}
	f, _ := kindEnvs.LoadOrStore(kind, sync.OnceValues(func() (*cel.Env, error) {
		base, err := baseEnv()
		if err != nil {
			return nil, err
		}
		return base.Extend(cel.Variable("event", vocab.kinds[kind].typ))
	}))
	return f.(func() (*cel.Env, error))()
}

// bindings gives a program its variables.
type bindings struct {
	event *record
	limit *limitValues
}

func (b *bindings) ResolveName(name string) (any, bool) {
	switch name {
	case "event":
		return b.event, true
	case "limit":
		return b.limit, true
	}
	return nil, false
}

func (b *bindings) Parent() cel.Activation { return nil }

// place is where an expression stands: at a byte of a scalar's text.
type place struct {
	file *document.File
	node *document.Node
	at   int // byte of node.Text at which the expression begins
}

// span is the place in the file of bytes from to end of the expression.
func (p place) span(from, end int) finding.Span {
	start := sourceOffset(p.file.Source.Bytes, p.node, p.at+from)
	stop := sourceOffset(p.file.Source.Bytes, p.node, p.at+end)
	return finding.Span{Start: start, End: max(start, stop)}
}

// expression is one piece of CEL over a kind of event. It is compiled once:
// at load, or in a trusted rule when it is first needed. Most rules do not
// apply to a given text, so that most of what they require and say is never
// needed; compiling all of it takes longer than all else that a first check
// does. What is wrong with a trusted rule is found by its tests.
type expression struct {
	over   string
	source string
	place  place
	known  []string // limits that limit may have; nil for no check
	want   []factKind
	use    string // what it is wanted for, if not as a whole value of a rule
	capped bool   // evaluated under a cost limit

	once   sync.Once
	faults []fault
	// What compiling finds:
	kind    factKind   // number, text, truth or texts
	paths   []factPath // facts it reads, other than in has(), in order
	limits  []string   // limits it reads, in order
	direct  *factPath  // set when the whole expression is one path
	sketch  sketch     // of a condition
	env     *cel.Env
	checked *cel.Ast

	plan    sync.Once
	program cel.Program
	planErr error
}

// compile compiles the expression once, and gives what is wrong with it.
func (x *expression) compile() []fault {
	x.once.Do(func() {
		if x.faults = x.check(); x.faults == nil && !slices.Contains(x.want, x.kind) {
			var words []string
			for _, k := range x.want {
				words = append(words, k.words())
			}
			x.faults = []fault{{0, len(x.source), fmt.Sprintf("found an expression that gives a %s, expected a %s%s", x.kind.words(), strings.Join(words, " or a "), x.use)}}
		}
	})
	return x.faults
}

// anything is what a template or figure may show.
var anything = []factKind{number, text, truth, texts}

// fault is an error in an expression, at bytes of its text.
type fault struct {
	from, to int
	message  string
}

func (f fault) Error() string { return f.message }

var (
	plainPath = regexp.MustCompile(`^\s*event((?:\.[a-z_][a-z0-9_]*)+)\s*$`)
	celType   = regexp.MustCompile(`ketyl\.[A-Za-z]+|\blist\(string\)|\b(?:double|int|string|bool)\b`)
)

// check compiles the expression and says what is wrong with it.
func (x *expression) check() []fault {
	source, g := x.source, vocab.kinds[x.over]
	if m := plainPath.FindStringSubmatchIndex(source); m != nil {
		// Most templates and figures are one fact: no CEL is needed for them.
		p, fs := x.resolve(g, source[m[2]+1:m[3]], m[2]+1)
		if fs != nil {
			return fs
		}
		if p.last.kind == nested {
			return []fault{{m[2] + 1, m[3], fmt.Sprintf("found the whole %s, expected one of its facts: %s", p.name, list(p.last.group.names()))}}
		}
		x.paths, x.direct, x.kind = []factPath{p}, &p, p.last.kind
		if x.kind == figure {
			x.kind = number
		}
		if x.kind == truth {
			x.sketch = sketch{guard: &guard{path: p}}
		}
		return nil
	}
	env, err := envOf(x.over)
	if err != nil {
		return []fault{{0, len(source), err.Error()}}
	}
	x.env = env
	parsed, issues := env.Parse(source)
	if issues.Err() != nil {
		return faults(source, issues, nil)
	}
	w := &walker{x: x, group: g, info: parsed.NativeRep().SourceInfo(), next: ast.MaxID(parsed.NativeRep())}
	w.walk(parsed.NativeRep().Expr(), false)
	if w.faults != nil {
		return w.faults
	}
	x.checked, issues = env.Check(parsed)
	if issues.Err() != nil {
		return faults(source, issues, parsed)
	}
	switch t := x.checked.OutputType(); {
	case t.IsExactType(cel.DoubleType), t.IsExactType(cel.IntType):
		x.kind = number
	case t.IsExactType(cel.StringType):
		x.kind = text
	case t.IsExactType(cel.BoolType):
		x.kind = truth
		x.sketch = sketchOf(g, x.checked.NativeRep().Expr())
	case t.IsExactType(cel.ListType(cel.StringType)):
		x.kind = texts
	default:
		return []fault{{0, len(source), "found " + plainTypes(t.String()) + ", expected a number, a text, a list of texts or a yes or no"}}
	}
	if x.capped {
		if cost, err := x.estimate(); err != nil || cost > maxCost {
			return []fault{{0, len(source), fmt.Sprintf("found an expression that may take %d steps, expected at most %d: a rule from outside must be cheap", cost, maxCost)}}
		}
	}
	return nil
}

// cost estimates the dearest evaluation, in CEL's steps; 1 for a plain fact.
func (x *expression) cost() (uint64, error) {
	if x.compile() != nil || x.checked == nil {
		return 1, nil
	}
	return x.estimate()
}

func (x *expression) estimate() (uint64, error) {
	c, err := x.env.EstimateCost(x.checked, sizes{})
	return c.Max, err
}

// sizes gives the cost estimate the sizes of facts.
type sizes struct{}

func (sizes) EstimateSize(n checker.AstNode) *checker.SizeEstimate {
	switch n.Type().Kind() {
	case types.ListKind:
		return &checker.SizeEstimate{Max: sizeOfList}
	case types.StringKind:
		return &checker.SizeEstimate{Max: sizeOfText}
	}
	return nil
}

func (sizes) EstimateCallCost(string, string, *checker.AstNode, []checker.AstNode) *checker.CallEstimate {
	return nil
}

// eval gives the value for the bound event. The error of an unknown figure
// that decided the outcome unwraps to *unknown.
func (x *expression) eval(b *bindings) (ref.Val, error) {
	if fs := x.compile(); fs != nil {
		return nil, &failure{x, fs[0]}
	}
	if x.direct != nil {
		return x.direct.get(b.event)
	}
	x.plan.Do(func() {
		options := []cel.ProgramOption{cel.EvalOptions(cel.OptOptimize)}
		if x.capped {
			options = append(options, cel.CostLimit(maxCost))
		}
		x.program, x.planErr = x.env.Program(x.checked, options...)
	})
	if x.planErr != nil {
		return nil, &failure{x, x.planErr}
	}
	v, _, err := x.program.Eval(b)
	if err != nil {
		if isUnknown(err) {
			return nil, err
		}
		return nil, &failure{x, err}
	}
	if d, ok := v.(types.Double); ok && math.IsNaN(float64(d)) {
		return nil, &failure{x, errors.New("the result is not a number")}
	}
	return v, nil
}

// failure is the error of an expression that could not be evaluated, other
// than for an unknown figure.
type failure struct {
	x   *expression
	err error
}

func (f *failure) Error() string { return f.err.Error() }
func (f *failure) Unwrap() error { return f.err }

// position gives file:line:column of the part that failed.
func (f *failure) position() string {
	from := 0
	if e, ok := errors.AsType[fault](f.err); ok {
		from = e.from
	}
	if e, ok := errors.AsType[*types.Err](f.err); ok && f.x.checked != nil {
		if at, ok := f.x.checked.NativeRep().SourceInfo().GetOffsetRange(e.NodeID()); ok {
			from = runeOffset(f.x.source, int(at.Start))
		}
	}
	src := f.x.place.file.Source
	line, column := src.Position(f.x.place.span(from, from).Start)
	return fmt.Sprintf("%s:%d:%d", src.Name, line, column)
}

// holds evaluates a condition.
func (x *expression) holds(b *bindings) (bool, error) {
	if fs := x.compile(); fs != nil {
		return false, &failure{x, fs[0]}
	}
	switch x.sketch.test(b) {
	case yes:
		return true, nil
	case no:
		return false, nil
	}
	v, err := x.eval(b)
	if err != nil {
		return false, err
	}
	t, ok := v.(types.Bool)
	if !ok {
		return false, fmt.Errorf("%s is neither true nor false", x.source)
	}
	return bool(t), nil
}

// walker goes through a parsed expression once: it notes the facts and limits
// that are read, and makes every number a double. Facts are doubles, and CEL
// neither compares nor adds a double and an int; so that a chemist may write
// event.uses == 1, all numbers of a rule are doubles.
type walker struct {
	x      *expression
	group  *group
	info   *ast.SourceInfo
	next   int64 // last id given to a node
	loops  int   // around the node
	faults []fault
}

var (
	factory = ast.NewExprFactory()
	// counts are the functions that give an int.
	counts = []string{"size", "indexOf", "lastIndexOf", "int"}
	// positions are the functions that take ints.
	positions = []string{"charAt", "substring", "split", "replace", "indexOf", "lastIndexOf", "format"}
)

// walk goes through e; places keeps ints, for indexes and positions.
func (w *walker) walk(e ast.Expr, places bool) {
	switch e.Kind() {
	case ast.LiteralKind:
		if i, ok := e.AsLiteral().(types.Int); ok && !places {
			e.SetKindCase(factory.NewLiteral(e.ID(), types.Double(i)))
		}
	case ast.SelectKind:
		w.selected(e)
	case ast.CallKind:
		c := e.AsCall()
		name := c.FunctionName()
		inner := places || slices.Contains(positions, name)
		if c.IsMemberFunction() {
			w.walk(c.Target(), places)
		}
		for i, arg := range c.Args() {
			w.walk(arg, inner || name == "_[_]" && i == 1)
		}
		if name == operators.Divide {
			e.SetKindCase(factory.NewCall(e.ID(), quotient, c.Args()...))
		}
		if !places && slices.Contains(counts, name) {
			w.next++
			var count ast.Expr
			if c.IsMemberFunction() {
				count = factory.NewMemberCall(w.next, name, c.Target(), c.Args()...)
			} else {
				count = factory.NewCall(w.next, name, c.Args()...)
			}
			if at, ok := w.info.GetOffsetRange(e.ID()); ok {
				w.info.SetOffsetRange(w.next, at)
			}
			e.SetKindCase(factory.NewCall(e.ID(), "double", count))
		}
	case ast.ListKind:
		for _, item := range e.AsList().Elements() {
			w.walk(item, places)
		}
	case ast.MapKind:
		for _, entry := range e.AsMap().Entries() {
			w.walk(entry.AsMapEntry().Key(), places)
			w.walk(entry.AsMapEntry().Value(), places)
		}
	case ast.ComprehensionKind:
		c := e.AsComprehension()
		// A loop in a loop over long lists is slow even in a trusted rule.
		w.loops++
		w.x.capped = w.x.capped || w.loops > 1
		if c.IterVar() == "event" || c.IterVar() == "limit" {
			w.fault(e, fmt.Sprintf("found %s as the name of an item, expected another name", c.IterVar()))
		}
		for _, part := range []ast.Expr{c.IterRange(), c.AccuInit(), c.LoopCondition(), c.LoopStep(), c.Result()} {
			w.walk(part, places)
		}
		w.loops--
	}
}

// selected notes a chain of facts or a limit.
func (w *walker) selected(e ast.Expr) {
	var names []string
	root := e
	for root.Kind() == ast.SelectKind {
		names = append(names, root.AsSelect().FieldName())
		root = root.AsSelect().Operand()
	}
	slices.Reverse(names)
	if root.Kind() != ast.IdentKind {
		w.walk(root, false)
		return
	}
	switch root.AsIdent() {
	case "limit":
		name := names[0]
		if w.x.known != nil && !slices.Contains(w.x.known, name) {
			from, to := w.nameAt(e, name)
			w.faults = append(w.faults, fault{from, to, fmt.Sprintf("the rule has no limit `%s`%s", name, meant(name, w.x.known))})
		} else if !slices.Contains(w.x.limits, name) {
			w.x.limits = append(w.x.limits, name)
		}
	case "event":
		from, _ := w.nameAt(e, names[len(names)-1])
		p, fs := w.x.resolve(w.group, strings.Join(names, "."), from)
		if fs != nil {
			// The place found is that of the last name: go back to the wrong one.
			_, bad, _ := findPath(w.group, strings.Join(names, "."))
			outer := e
			for range len(names) - 1 - bad {
				outer = outer.AsSelect().Operand()
			}
			from, to := w.nameAt(outer, names[bad])
			w.faults = append(w.faults, fault{from, to, fs[0].message})
			return
		}
		if !e.AsSelect().IsTestOnly() && !slices.ContainsFunc(w.x.paths, func(q factPath) bool { return q.name == p.name }) {
			w.x.paths = append(w.x.paths, p)
		}
	}
}

func (w *walker) fault(e ast.Expr, message string) {
	from, to := w.nameAt(e, "")
	w.faults = append(w.faults, fault{from, to, message})
}

// nameAt finds the bytes of name at or after the place of e.
func (w *walker) nameAt(e ast.Expr, name string) (from, to int) {
	src := w.x.source
	if at, ok := w.info.GetOffsetRange(e.ID()); ok {
		from = runeOffset(src, int(at.Start))
	}
	if i := strings.Index(src[from:], name); i >= 0 && name != "" {
		from += i
	}
	return from, min(len(src), from+max(1, len(name)))
}

// resolve finds a path, or says which of its names is wrong.
func (x *expression) resolve(g *group, dotted string, from int) (factPath, []fault) {
	p, bad, at := findPath(g, dotted)
	if bad < 0 {
		return p, nil
	}
	names := strings.Split(dotted, ".")
	from += len(strings.Join(names[:bad], "."))
	if bad > 0 {
		from++
	}
	before := strings.Join(append([]string{"event"}, names[:bad]...), ".")
	message := fmt.Sprintf("%s (%s) has no `%s`", before, g.label, names[bad])
	if at == nil {
		message = fmt.Sprintf("%s is a %s and holds no `%s`", before, p.last.kind.words(), names[bad])
	} else {
		if bad > 0 {
			message = fmt.Sprintf("%s (%s) has no `%s`", before, at.title(), names[bad])
		}
		message += meant(names[bad], at.names())
	}
	return p, []fault{{from, min(len(x.source), from+len(names[bad])), message}}
}

// meant offers the nearest word, or all of a short list.
func meant(word string, among []string) string {
	if near := document.Nearest(word, among); near != "" {
		return fmt.Sprintf(", did you mean `%s`?", near)
	}
	if len(among) == 0 {
		return ""
	}
	return ", expected one of " + list(among)
}

func list(words []string) string { return "`" + strings.Join(words, "`, `") + "`" }

// faults puts CEL's issues into our words, at bytes of the source.
func faults(source string, issues *cel.Issues, parsed *cel.Ast) []fault {
	var out []fault
	for _, e := range issues.Errors() {
		from := lineOffset(source, e.Location.Line(), e.Location.Column())
		to := min(len(source), from+1)
		message := plainTypes(e.Message)
		switch {
		case strings.Contains(message, "Syntax error:"):
			message = expecting.ReplaceAllString(strings.TrimPrefix(message, "Syntax error: "), "")
			if strings.TrimSpace(source) == "" {
				message = "found nothing"
			}
			message = noExpression + message + ", expected something like event.volume_ml > 5"
		case undeclared.MatchString(message):
			name := undeclared.FindStringSubmatch(message)[1]
			known := []string{"event", "limit", "oneOf", "has", "size", "math"}
			message = fmt.Sprintf("found the word `%s`, expected a fact (event.…) or a limit (limit.…)", name)
			if near := document.Nearest(name, known); near != "" {
				message = fmt.Sprintf("found the word `%s`, did you mean `%s`?", name, near)
			} else if facts := factsNamed(name); facts != "" {
				message = fmt.Sprintf("found the word `%s`, did you mean `event.%s`?", name, facts)
			}
			to = min(len(source), from+len(name))
		case overload.MatchString(message):
			m := overload.FindStringSubmatch(message)
			message = fmt.Sprintf("`%s` cannot be used on (%s)", operatorName(m[1]), m[2])
			if operatorName(m[1]) == "&&" || operatorName(m[1]) == "||" {
				message += ", expected a yes or no on both sides"
			}
		}
		out = append(out, fault{from, to, message})
	}
	return out
}

var (
	expecting  = regexp.MustCompile(` expecting (\{.*\}|<.*>)$`)
	undeclared = regexp.MustCompile(`^undeclared reference to '([^']*)'`)
	overload   = regexp.MustCompile(`^found no matching overload for '(.*)' applied to '\((.*)\)'$`)
)

// operatorName writes CEL's name of a function as a rule does.
func operatorName(s string) string {
	if s == quotient {
		return "/"
	}
	return strings.Trim(s, "_@")
}

// factsNamed finds a fact of any event that a bare word may stand for.
func factsNamed(name string) string {
	for _, kind := range vocab.sorted {
		if _, ok := vocab.kinds[kind].named[name]; ok {
			return name
		}
	}
	return ""
}

// plainTypes replaces CEL's type names by ours.
func plainTypes(s string) string {
	return celType.ReplaceAllStringFunc(s, func(t string) string {
		switch t {
		case "double", "int":
			return "number"
		case "string":
			return "text"
		case "bool":
			return "yes or no"
		case "list(string)":
			return "list of texts"
		}
		if g := vocab.types[t]; g != nil {
			return g.title()
		}
		return "limits"
	})
}

// runeOffset gives the byte of the n-th code point of s.
func runeOffset(s string, n int) int {
	for i := range s {
		if n <= 0 {
			return i
		}
		n--
	}
	return len(s)
}

// lineOffset gives the byte at a line (from 1) and column (code points, from
// 0) of s, moved to the nearest place inside it.
func lineOffset(s string, line, column int) int {
	at := 0
	for ; line > 1; line-- {
		i := strings.IndexByte(s[at:], '\n')
		if i < 0 {
			break
		}
		at += i + 1
	}
	rest := s[at:]
	if i := strings.IndexByte(rest, '\n'); i >= 0 {
		rest = rest[:i]
	}
	return at + runeOffset(rest, column)
}
