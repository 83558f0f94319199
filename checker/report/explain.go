package report

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"ketyl/checker"
	"ketyl/checker/finding"
	"ketyl/checker/judge"
	"ketyl/checker/quantity"
)

// Example is one self-test of a rule, as text.
type Example struct {
	Name    string
	Source  *finding.Source
	Finding *finding.Finding // what the rule says of it; nil when it is silent
}

// Stages tells of what is reported without a rule: by reading, playing, and
// the checker itself.
var Stages = map[string]string{
	"format/file":            "The file is not there, or may not be read. Nothing in it was judged.",
	"format/empty":           "The file holds no procedure. Nothing was judged.",
	"format/internal":        "The checker itself failed on this text. That is a fault of the program: please report it with the text. What stands in the report was found before; the rest was not judged.",
	"format/site":            "The site file has a fault. Nothing is judged by half a laboratory: correct the place that the message names.",
	"format/idle-acceptance": "A deviation is accepted that no finding answers to: its rule or step is wrong, or the reason for it is gone. Remove it, so that it cannot hide the next fault of its kind.",
}

// Stage prints what a finding without a rule means.
func Stage(w io.Writer, id, about string, o Options) error {
	p := newPainter(w, o)
	p.printf("%s\n\n", p.paint(bold, id))
	p.paragraph(0, about)
	p.printf("\n")
	p.paragraph(0, "It is no rule of the trade: it cannot be accepted, turned off or given another level.")
	return p.err
}

func newPainter(w io.Writer, o Options) *painter {
	if o.Width <= 0 {
		o.Width = 100
	}
	return &painter{sticky: sticky{w: w}, colour: o.Colour, width: o.Width}
}

// Band is a level that a rule gives in place of its own when a condition, in
// CEL, holds.
type Band struct {
	Level finding.Level
	When  string
}

// levels names every level that a rule may give, the gravest first: its own
// and those of its bands.
func levels(r judge.Rule, bands []Band) string {
	var names []string
	for _, l := range []finding.Level{finding.Hold, finding.Revise, finding.Advise} {
		if r.Level == l || slices.ContainsFunc(bands, func(b Band) bool { return b.Level == l }) {
			names = append(names, string(l))
		}
	}
	if len(names) == 0 { // turned off
		return string(r.Level)
	}
	return strings.Join(names, " or ")
}

// Explain prints what a rule asks and why, the levels it may give, its limits
// with their sources, and how to satisfy it. The bands are in the order of the
// rule; bands and examples may be nil.
func Explain(w io.Writer, r judge.Rule, bands []Band, bad, good *Example, o Options) error {
	p := newPainter(w, o)
	level := levels(r, bands)
	if r.Configured {
		level += ", set by the site file"
	}
	p.ends(r.ID, bold, level, colourOf(finding.Finding{Level: r.Level}))
	p.printf("\n")
	p.paragraph(0, r.Because)
	if r.Explain != "" {
		p.printf("\n")
		p.paragraph(0, r.Explain)
	}
	var lines []string
	for _, l := range r.Limits {
		source := strings.TrimLeft(strings.TrimPrefix(l.Source, "common practice"), ":; ") // said by whose it is
		said := strings.TrimSpace(l.As + " " + strings.TrimSpace(quantity.FormatNumber(l.Value)+" "+l.Unit))
		lines = append(lines, fmt.Sprintf("%s: %s (%s)", l.Name, said, with(l.Set, "; ", source)))
	}
	p.topic("Limits", lines...)
	if len(lines) > 0 {
		p.paragraph(2, fmt.Sprintf("A site file sets them: limits: {%q: %s}", r.ID+"."+r.Limits[0].Name, quantity.FormatNumber(r.Limits[0].Value)))
	}
	fix := blanks(r.Fix)
	if bad != nil && bad.Finding != nil && bad.Finding.Fix != "" {
		fix = bad.Finding.Fix // with the names and figures of the example below
	}
	p.topic("To satisfy it", fix)
	p.examples(bad, good)
	cannot := "If the text leaves a figure unstated that it needs, it cannot tell, and asks for that figure"
	switch r.CannotTell {
	case "":
		cannot += "."
	case "silent":
		cannot = "If the text leaves a figure unstated that it needs, it stays silent: " + r.SilentBecause
	default:
		cannot += fmt.Sprintf(" at the level %s.", r.CannotTell)
	}
	asks := "It judges each event of the kind " + r.Over
	if r.When != "" {
		asks += ", when " + oneLine(r.When)
	}
	p.topic("As the rule is written", asks+". It requires "+oneLine(r.Require)+".", cannot)
	if len(bands) > 0 {
		lines = nil
		for _, b := range bands {
			lines = append(lines, fmt.Sprintf("%s, when %s", b.Level, oneLine(b.When)))
		}
		p.topic("Its level, by the first that holds", append(lines, string(r.Level)+" otherwise")...)
	}
	lines = nil
	for _, s := range r.Sources {
		line := s.Cite
		if !strings.EqualFold(s.Cite, s.Kind) {
			line += " (" + s.Kind + ")"
		}
		if s.Address != "" {
			line += " " + s.Address
		}
		lines = append(lines, line)
	}
	p.topic("Where it comes from", lines...)
	p.printf("\n")
	p.paragraph(0, fmt.Sprintf("To deviate, write in the file under accepted: {rule: %s, step: N, because: why it is safe here, by: a role, until: a day}. It is shown with the finding, and lapses on its day.", r.ID))
	p.printf("\n")
	p.paragraph(0, checker.Notice)
	return p.err
}

// Reason is the reason of a rule in its first sentence.
func Reason(r judge.Rule) string {
	because := oneLine(r.Because)
	if first, _, ok := strings.Cut(because, ". "); ok {
		because = first + "."
	}
	return because
}

// Index lists rules by family, each with its level and its reason in a sentence.
func Index(w io.Writer, rules []judge.Rule, o Options) error {
	p := newPainter(w, o)
	family := ""
	for _, r := range rules {
		if r.Family != family {
			if family != "" {
				p.printf("\n")
			}
			family = r.Family
			p.printf("%s\n", p.paint(bold, family))
		}
		p.ends("  "+r.ID, "", string(r.Level), colourOf(finding.Finding{Level: r.Level}))
		p.paragraph(4, Reason(r))
	}
	p.printf("\n")
	p.paragraph(0, fmt.Sprintf("%d rules. 'ketyl explain RULE' tells the whole of one.", len(rules)))
	return p.err
}

// examples shows a self-test that breaks a rule beside one that meets it.
func (p *painter) examples(bad, good *Example) {
	if bad != nil {
		p.printf("\n%s\n", p.paint(bold, "Breaks it: "+flatten(bad.Name, 0)))
		if bad.Finding != nil {
			p.excerpt(bad.Source, bad.Finding.Span, colourOf(*bad.Finding))
			p.paragraph(2, sentence(*bad.Finding))
		}
	}
	if good != nil {
		p.printf("\n%s\n", p.paint(bold, "Meets it: "+flatten(good.Name, 0)))
		if bad != nil {
			p.difference(bad.Source, good.Source, 14)
		}
	}
}

// blanks puts … for the expressions of a template.
func blanks(template string) string {
	s := strings.NewReplacer("{{", "\x01", "}}", "\x02").Replace(template)
	for {
		before, rest, ok := strings.Cut(s, "{")
		_, after, closed := strings.Cut(rest, "}")
		if !ok || !closed {
			break
		}
		s = before + "…" + after
	}
	return strings.NewReplacer("\x01", "{", "\x02", "}").Replace(s)
}

// Nearer reports whether a good example differs less from a bad one than
// another does: it shows better what makes the difference.
func Nearer(bad, a, b *Example) bool {
	return bad != nil && distance(bad, a) < distance(bad, b)
}

func distance(a, b *Example) (n int) {
	for _, l := range compare(body(a.Source), body(b.Source)) {
		if l.mark != ' ' {
			n++
		}
	}
	return n
}

func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

// body are the lines of an example without its own name.
func body(s *finding.Source) (lines []string) {
	for i := 1; i <= s.Lines(); i++ {
		if line := s.Line(i); !strings.HasPrefix(line, "title: ") {
			lines = append(lines, line)
		}
	}
	return lines
}

// compared is a line of one of two texts, or of both.
type compared struct {
	mark rune // '-' of the first alone, '+' of the second alone, ' ' of both
	text string
}

// compare lays two texts beside each other: the longest row of lines that they
// share in order, and what each has beside it.
func compare(a, b []string) (out []compared) {
	long := make([][]int, len(a)+1) // of the rows shared from a[i], b[j] on
	for i := range long {
		long[i] = make([]int, len(b)+1)
	}
	for i := len(a) - 1; i >= 0; i-- {
		for j := len(b) - 1; j >= 0; j-- {
			if a[i] == b[j] {
				long[i][j] = long[i+1][j+1] + 1
			} else {
				long[i][j] = max(long[i+1][j], long[i][j+1])
			}
		}
	}
	for i, j := 0, 0; i < len(a) || j < len(b); {
		switch {
		case i < len(a) && j < len(b) && a[i] == b[j]:
			out = append(out, compared{' ', a[i]})
			i, j = i+1, j+1
		case i < len(a) && (j == len(b) || long[i+1][j] >= long[i][j+1]):
			out = append(out, compared{'-', a[i]})
			i++
		default:
			out = append(out, compared{'+', b[j]})
			j++
		}
	}
	return out
}

// depth is how far a line is indented; a dash of a list counts as indentation,
// so that what belongs to a step stands deeper than its first line.
func depth(line string) int { return len(line) - len(strings.TrimLeft(line, " ")) }

// difference shows what has to be changed in one text to come to another: the
// lines that go and come, each group under the lines that it stands under. At
// most n changed lines are shown.
func (p *painter) difference(from, to *finding.Source, n int) {
	lines := compare(body(from), body(to))
	shown := map[int]bool{}
	for i, l := range lines {
		if l.mark == ' ' || strings.TrimSpace(l.text) == "" {
			continue
		}
		if n == 0 {
			p.printf("    …\n")
			return
		}
		n--
		var over []int // what it stands under, of both texts
		for at, k := depth(l.text), i-1; k >= 0 && at > 0; k-- {
			if d := depth(lines[k].text); d < at && strings.TrimSpace(lines[k].text) != "" {
				if at = d; lines[k].mark == ' ' {
					over = append(over, k)
				}
			}
		}
		for _, k := range slices.Backward(over) {
			if !shown[k] {
				shown[k] = true
				p.printf("    %s\n", cut(flatten(lines[k].text, 0), p.width-4))
			}
		}
		how := green
		if l.mark == '-' {
			how = red
		}
		p.printf("  %s %s\n", p.paint(how, string(l.mark)), cut(flatten(l.text, 0), p.width-4))
	}
}
