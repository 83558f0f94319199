package checker_test

import (
	"fmt"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"ketyl/checker"
	"ketyl/checker/bench"
	"ketyl/checker/document"
	"ketyl/checker/finding"
	"ketyl/checker/procedure"
)

// pasted is what a fix offers to paste: parts of the head of a file, steps,
// and modifiers of the step at fault. The rest is prose.
type pasted struct {
	head  []*document.Node
	steps []*document.Node
	more  []*document.Node
	prose []string
}

var headKeys = []string{"procedure", "title", "setting", "section", "materials", "apparatus", "substances", "reactions", "product", "cautions", "protection", "emergency", "approval", "refers to", "steps", "accepted"}

var (
	stepLine = regexp.MustCompile(`^- [a-z-]+: `)
	keyLine  = regexp.MustCompile(`^([a-z][a-z -]*):( |$)`)
)

// readFix takes a fix apart. A line that begins like YAML and cannot be read is
// an error.
func readFix(fix string) (p pasted, err error) {
	var blocks [][]string
	var kinds []string
	open := false
	for line := range strings.SplitSeq(fix, "\n") {
		switch {
		case strings.TrimSpace(line) == "" || strings.HasPrefix(strings.TrimSpace(line), "#"):
			continue
		case stepLine.MatchString(line):
			blocks, kinds, open = append(blocks, []string{line}), append(kinds, "step"), true
		case keyLine.MatchString(line):
			kind := "modifier"
			if slices.Contains(headKeys, keyLine.FindStringSubmatch(line)[1]) {
				kind = "head"
			}
			blocks, kinds, open = append(blocks, []string{line}), append(kinds, kind), true
		case open && strings.HasPrefix(line, "  "):
			blocks[len(blocks)-1] = append(blocks[len(blocks)-1], line)
		default:
			p.prose, open = append(p.prose, line), false
		}
	}
	for i, b := range blocks {
		f, fs := document.Read("fix", []byte(strings.Join(b, "\n")+"\n"))
		if len(fs) > 0 {
			return p, fmt.Errorf("%s in %q", fs[0].Message, strings.Join(b, "\n"))
		}
		switch kinds[i] {
		case "step":
			p.steps = append(p.steps, f.Root.Items...)
		case "head":
			p.head = append(p.head, f.Root)
		default:
			p.more = append(p.more, f.Root)
		}
	}
	return p, nil
}

// over merges keys into a mapping; lists of cautions and emergency lines grow.
func over(into, from *document.Node) {
	for _, e := range from.Entries {
		old := into.Get(e.Key.Text)
		switch {
		case old != nil && old.Kind == document.Mapping && e.Value.Kind == document.Mapping:
			over(old, e.Value)
		case old != nil && old.Kind == document.Sequence && e.Value.Kind == document.Sequence && (e.Key.Text == "cautions" || e.Key.Text == "emergency" || e.Key.Text == "steps"):
			old.Items = append(old.Items, e.Value.Items...)
		default:
			into.Set(e.Key.Text, e.Value.Clone())
		}
	}
}

// broken are the findings of a rule in a report, folded ones too.
func broken(fs []finding.Finding, rule string) (out []finding.Finding) {
	for _, f := range fs {
		if f.Rule == rule && f.Outcome == finding.Broken {
			out = append(out, f)
		}
		out = append(out, broken(f.Consequences, rule)...)
	}
	return out
}

// holds are the rules that hold in a report.
func holds(fs []finding.Finding, into map[string]bool) map[string]bool {
	if into == nil {
		into = map[string]bool{}
	}
	for _, f := range fs {
		if f.Level == finding.Hold && f.Outcome == finding.Broken {
			into[f.Rule] = true
		}
		holds(f.Consequences, into)
	}
	return into
}

// verbEntry is the verb of a step with its object.
func verbEntry(n *document.Node) (verb string, object *document.Node) {
	for _, e := range n.Entries {
		if slices.ContainsFunc(procedure.Verbs, func(v procedure.Verb) bool { return v.Name == e.Key.Text }) {
			return e.Key.Text, e.Value
		}
	}
	return "", &document.Node{}
}

// atTheEnd are holds that an example, which is a piece of a procedure, earns
// as soon as it holds a live reagent or a product.
var atTheEnd = []string{"quench/none", "waste/leftovers", "waste/live-reagent", "drying/glass-not-dried", "exclusion/no-barrier"}

// alike reports two steps that do the same to the same thing.
func alike(a, b *document.Node) bool {
	verb := func(n *document.Node) string {
		switch v, _ := verbEntry(n); v {
		case "charge", "transfer", "pour":
			return "add"
		default:
			return v
		}
	}
	if verb(a) == "" || verb(a) != verb(b) {
		return false
	}
	names := func(n *document.Node) []string {
		_, v := verbEntry(n)
		if v.Kind != document.Sequence {
			return []string{v.Text}
		}
		var out []string
		for _, x := range v.Items {
			out = append(out, x.Text)
		}
		return out
	}
	for _, x := range names(a) {
		if slices.Contains(names(b), x) {
			return true
		}
	}
	return false
}

// ways are the files that come of pasting a fix at a step: its steps in place
// of the step, before it or after it.
func (p pasted) ways(text []byte, at int) (out [][]byte) {
	build := func(place func(steps []*document.Node) []*document.Node) {
		f, _ := document.Read("example", text)
		root := f.Root
		for _, h := range p.head {
			over(root, h)
		}
		steps := root.Get("steps")
		if at > 0 {
			for _, m := range p.more {
				over(steps.Items[at-1], m)
			}
		}
		steps.Items = place(steps.Items)
		out = append(out, document.Marshal(root))
	}
	if len(p.steps) == 0 {
		if at > 0 || len(p.more) == 0 {
			build(func(s []*document.Node) []*document.Node { return s })
			return out
		}
		f, _ := document.Read("example", text)
		for at = range f.Root.Get("steps").Items { // at some step
			at++
			build(func(s []*document.Node) []*document.Node { return s })
		}
		return out
	}
	splice := func(from, to int, merged bool) {
		build(func(s []*document.Node) []*document.Node {
			fresh := make([]*document.Node, len(p.steps))
			for i, n := range p.steps {
				fresh[i] = n.Clone()
				if merged && from < len(s) && alike(n, s[from]) { // the step itself, with what the fix changes
					fresh[i] = s[from].Clone()
					over(fresh[i], n)
				}
			}
			return slices.Concat(s[:from], fresh, s[to:])
		})
	}
	f, _ := document.Read("example", text)
	items := f.Root.Get("steps").Items
	n := len(items)
	for i := at - 1; i >= 0; i-- {
		// in place of a step that does the same to the same thing, the one at
		// fault first
		if slices.ContainsFunc(p.steps, func(x *document.Node) bool { return alike(x, items[i]) }) {
			splice(i, i+1, true)
			splice(i, i+1, false)
		}
	}
	if at > 0 {
		splice(at, at, false)
	}
	for i := at - 1; i >= 0; i-- { // before it, or earlier
		splice(i, i, false)
	}
	splice(n, n, false)
	return out
}

// TestFixes pastes what each rule says to write into the examples that break
// it. What begins like YAML must read as a procedure does, every key and verb
// known; and where it is complete, pasting it must clear the rule. The rules
// whose fix leaves something to the reader are listed with the reason.
func TestFixes(t *testing.T) {
	c, problems := judge()
	for _, f := range problems {
		t.Fatal(f.Message)
	}
	reasons := struct {
		Open []struct {
			Rule    string `yaml:"rule,required"`
			Because string `yaml:"because,required"`
		} `yaml:"open"`
	}{}
	b, err := os.ReadFile("../testdata/fixes.yaml")
	if err != nil {
		t.Fatal(err)
	}
	file, fs := document.Read("fixes.yaml", b)
	if len(fs) == 0 {
		fs = document.Decode(file, file.Root, &reasons)
	}
	for _, f := range fs {
		t.Fatal(f.Message)
	}
	open := map[string]string{}
	for _, r := range reasons.Open {
		open[r.Rule] = r.Because
	}
	var clears, left int
	for _, r := range c.Rules.Rules() {
		var texts [][]byte
		c.Rules.Test(func(name string, text []byte) ([]bench.Event, []finding.Finding) {
			texts = append(texts, slices.Clone(text))
			return c.Play(name, text)
		}, r.ID)
		tried, cleared, first := 0, 0, ""
		for _, text := range texts {
			found := broken(c.Check("example", text).Findings, r.ID)
			if len(found) == 0 {
				continue
			}
			for _, f := range found {
				p, err := readFix(f.Fix)
				if err != nil {
					t.Errorf("%s: the fix cannot be pasted: %v", r.ID, err)
					continue
				}
				for _, m := range odd(f.Fix) {
					t.Errorf("%s: the fix asks for %q, which no clock shows or no stockroom has:\n%s", r.ID, m, f.Fix)
				}
				for _, m := range unreadable(p) {
					t.Errorf("%s: %s, in the fix\n%s", r.ID, m, f.Fix)
				}
			}
			f := found[0]
			p, err := readFix(f.Fix)
			if err != nil || len(p.steps)+len(p.head)+len(p.more) == 0 {
				continue
			}
			tried++
			ok, harm := false, ""
			was := holds(c.Check("example", text).Findings, nil)
			for _, way := range p.ways(text, f.Step) {
				res := c.Check("example", way)
				if res.Verdict == checker.Unread || len(broken(res.Findings, r.ID)) >= len(found) {
					continue
				}
				worse := ""
				for id := range holds(res.Findings, nil) {
					if !was[id] && id != r.ID && !slices.Contains(atTheEnd, id) {
						worse = id
					}
				}
				if worse == "" {
					ok = true
					break
				}
				harm = worse
			}
			switch {
			case ok:
				cleared++
			case first == "" && harm != "":
				first = "(it brings on " + harm + ") " + f.Fix
			case first == "":
				first = f.Fix
			}
		}
		switch {
		case tried == 0 && open[r.ID] == "":
			t.Errorf("%s offers nothing to paste, and ../testdata/fixes.yaml does not say why", r.ID)
		case tried > 0 && cleared == tried && open[r.ID] != "":
			t.Errorf("%s is listed as open in ../testdata/fixes.yaml, but its fix clears: take it out", r.ID)
		case cleared < tried && open[r.ID] == "":
			t.Errorf("%s: pasting the fix clears %d of %d examples; the first that it does not:\n%s", r.ID, cleared, tried, first)
		}
		if tried > 0 && cleared == tried {
			clears++
		} else {
			left++
		}
		delete(open, r.ID)
	}
	for id := range open {
		t.Errorf("../testdata/fixes.yaml lists %s, which is no rule", id)
	}
	t.Logf("%d fixes clear every example of their rule, %d leave something to the reader", clears, left)
}

// unreadable says which parts of a fix a procedure would not take. What the
// reader has to fill in stands as "…" and is not held against it.
func unreadable(p pasted) (out []string) {
	f, fs := document.Read("fix", []byte("procedure: fix\nmaterials: {}\napparatus: {}\nsteps:\n  - {stir: flask}\n"))
	if len(fs) > 0 {
		return []string{fs[0].Message}
	}
	root := f.Root
	for _, h := range p.head {
		over(root, h)
	}
	for _, s := range p.steps {
		root.Get("steps").Items = append(root.Get("steps").Items, s.Clone())
	}
	text := document.Marshal(root)
	_, fs = procedure.Load("fix", text)
	for _, d := range fs {
		if d.Outcome != finding.Unread {
			continue
		}
		line := ""
		if d.Span.Start < len(text) {
			start := strings.LastIndexByte(string(text[:d.Span.Start]), '\n') + 1
			line, _, _ = strings.Cut(string(text[start:]), "\n")
		}
		if strings.Contains(line, "…") || strings.Contains(d.Message, "…") {
			continue
		}
		out = append(out, d.Message)
	}
	return out
}

var (
	timeAsked  = regexp.MustCompile(`(?:over|for|hold for): ([0-9.]+ (?:s|min|h))\b`)
	sizeAsked  = regexp.MustCompile(`(syringe|funnel|flask|beaker)[^\n]*size: ([0-9.]+ m?L)\b`)
	clockTimes = strings.Split("10 s,15 s,20 s,30 s,1 min,2 min,3 min,4 min,5 min,6 min,8 min,10 min,12 min,15 min,20 min,25 min,30 min,40 min,45 min,50 min,1 h,1.25 h,1.5 h,2 h,2.5 h,3 h,4 h,5 h,6 h,8 h,12 h,15 h,16 h,24 h,48 h,72 h", ",")
	syringes   = strings.Split("1 mL,2 mL,2.5 mL,5 mL,10 mL,20 mL,30 mL,50 mL,60 mL,100 mL", ",")
	glassware  = strings.Split("5 mL,10 mL,25 mL,50 mL,100 mL,150 mL,250 mL,400 mL,500 mL,600 mL,1 L,2 L,3 L,4 L,5 L,10 L,20 L", ",")
)

// odd finds times and sizes in a fix that are figures and no times or sizes:
// 11.1 s on a clock, a syringe of 17.6 mL.
func odd(fix string) (out []string) {
	for _, m := range timeAsked.FindAllStringSubmatch(fix, -1) {
		if !slices.Contains(clockTimes, m[1]) {
			out = append(out, m[1])
		}
	}
	for _, m := range sizeAsked.FindAllStringSubmatch(fix, -1) {
		sold := glassware
		if m[1] == "syringe" {
			sold = syringes
		}
		if !slices.Contains(sold, m[2]) {
			out = append(out, m[2])
		}
	}
	return out
}
