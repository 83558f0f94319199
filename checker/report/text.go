package report

import (
	"cmp"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"ketyl/checker"
	"ketyl/checker/finding"
)

// The escape sequences of the colours (ECMA-48, SGR).
const (
	plainText = "\x1b[0m"
	bold      = "\x1b[1m"
	dim       = "\x1b[2m"
	red       = "\x1b[31m"
	green     = "\x1b[32m"
	yellow    = "\x1b[33m"
	magenta   = "\x1b[35m"
	cyan      = "\x1b[36m"
)

// painter writes text in lines of a width, coloured or not.
type painter struct {
	sticky
	colour bool
	width  int
}

func (p *painter) paint(how, s string) string {
	if !p.colour || s == "" {
		return s
	}
	return how + s + plainText
}

// indent of the texts beside labels, of which the longest is "accepted".
const indent = 11

// labelled writes a text under a label, later lines under the first.
func (p *painter) labelled(label, text string) {
	lines := wrap(text, p.width-indent)
	for i, line := range lines {
		if i == 0 {
			p.printf("  %s%s\n", p.paint(dim, fmt.Sprintf("%-*s", indent-2, label)), line)
		} else {
			p.printf("%*s%s\n", indent, "", line)
		}
	}
}

// paragraph writes a text indented.
func (p *painter) paragraph(indent int, text string) {
	for _, line := range wrap(text, p.width-indent) {
		p.printf("%*s%s\n", indent, "", line)
	}
}

// ends writes one text at the left and one at the right of the same line; what
// has no room at the left goes on below, three lines in all.
func (p *painter) ends(left, leftHow, right, rightHow string) {
	left, right = flatten(left, 0), flatten(right, 0)
	const least, gap = 16, 2 // cells for the left text, and between the two
	room := p.width - width(right) - gap
	if room < least {
		room = p.width
	}
	lines := []string{left}
	if width(left) > room {
		lines = wrap(left, room)
	}
	if len(lines) > 3 {
		lines = append(lines[:2], lines[2]+" …")
	}
	for i, line := range lines {
		line = cut(line, room)
		if i > 0 || room == p.width {
			p.printf("%s\n", p.paint(leftHow, line))
			continue
		}
		p.printf("%s%*s%s\n", p.paint(leftHow, line), p.width-width(line)-width(right), "", p.paint(rightHow, right))
	}
	if room == p.width {
		p.printf("%*s%s\n", max(0, p.width-width(right)), "", p.paint(rightHow, right))
	}
}

// textPrinter prints for people at a terminal.
type textPrinter struct {
	out   io.Writer
	o     Options
	files int
	sum   map[string]int
	last  string
	total tally
	// the containers of a section that was judged together, by name
	section map[string]string
}

func colourOf(f finding.Finding) string {
	switch {
	case f.Outcome == finding.Unread:
		return magenta
	case checker.Accepted(f):
		return green
	case f.Level == finding.Hold:
		return bold + red
	case f.Level == finding.Revise:
		return yellow
	}
	return cyan
}

func (t *textPrinter) Result(r checker.Result) error {
	p := &painter{sticky: sticky{w: t.out}, colour: t.o.Colour, width: t.o.Width}
	if t.files > 0 {
		if t.files == 1 {
			p.paragraph(0, t.last)
			p.printf("\n")
		}
	}
	t.files++
	if t.sum == nil {
		t.sum = map[string]int{}
	}
	t.sum[r.Verdict]++
	t.total.add(r.Findings)
	for _, line := range inSection(r) {
		name, _, _ := strings.Cut(line, ": ")
		if t.section == nil {
			t.section = map[string]string{}
		}
		t.section[name] = line
	}
	if len(r.Findings) > 0 {
		p.printf("%s\n\n", p.paint(bold, flatten(r.Path, 0)))
	}
	for _, f := range r.Findings {
		p.finding(f, r.Source)
		p.printf("\n")
	}
	verdict := summary(r, t.o.Strict)
	if t.files == 1 { // the verdict on a single file stands last
		t.last = flatten(r.Path, 0) + ": " + verdict
		return p.err
	}
	p.paragraph(0, flatten(r.Path, 0)+": "+verdict)
	p.printf("\n")
	return p.err
}

// finding writes one finding in full.
func (p *painter) finding(f finding.Finding, src *finding.Source) {
	how := colourOf(f)
	p.ends(subject(f, src), bold, standing(f)+" · "+f.Rule, how)
	p.excerpt(src, f.Span, how)
	p.paragraph(2, sentence(f))
	if f.Because != "" {
		p.labelled("why", f.Because)
	}
	if f.Fix != "" {
		p.labelled("write", f.Fix)
	}
	for _, r := range related(f, src) {
		p.labelled("see", fmt.Sprintf("%s, %s: %s", r.where(), cut(r.text, 40), r.message))
	}
	for _, g := range assumptions(f.Figures) {
		if g.assumed != "" {
			p.labelled("assumed", g.figures+": "+g.assumed)
		}
	}
	if f.Source != "" {
		p.labelled("source", f.Source)
	}
	for _, c := range f.Consequences {
		p.consequence(c, f, src)
	}
	if f.Accepted != nil {
		p.labelled(cmp.Or(map[bool]string{true: "lapsed"}[f.Accepted.Lapsed], "accepted"), acceptance(f.Accepted))
	}
}

// consequence writes a finding that is folded under another: where, what, and,
// unless it is only worth knowing or the same as above, what to write.
func (p *painter) consequence(c, under finding.Finding, src *finding.Source) {
	p.labelled("with", fmt.Sprintf("%s (%s · %s): %s", subject(c, src), standing(c), c.Rule, sentence(c)))
	if c.Fix == "" || strings.TrimSpace(c.Fix) == strings.TrimSpace(under.Fix) || c.Level == finding.Advise || checker.Accepted(c) {
		return
	}
	between := " "
	if strings.Contains(strings.TrimSpace(c.Fix), "\n") {
		between = "\n"
	}
	p.labelled("", "write:"+between+c.Fix)
}

// excerpt shows the line at fault with a marker under it.
func (p *painter) excerpt(src *finding.Source, at finding.Span, how string) {
	x, ok := shown(src, at)
	if !ok {
		return
	}
	const gutter = 7 // "  51 | "
	number := fmt.Sprintf("%*d", gutter-3, x.line)
	x = x.within(p.width - len(number) - 3)
	p.printf("%s %s%s\n", p.paint(dim, number+" |"), x.before+x.marked, x.after)
	carets := strings.Repeat("^", max(1, width(x.marked)))
	if x.more {
		carets += " …"
	}
	p.printf("%s %*s%s\n", p.paint(dim, strings.Repeat(" ", len(number))+" |"), width(x.before), "", p.paint(how, carets))
}

func (t *textPrinter) Close() error {
	p := &painter{sticky: sticky{w: t.out}, colour: t.o.Colour, width: t.o.Width}
	switch {
	case t.files == 0:
		p.printf("No procedure was given.\n")
	case t.files == 1:
		p.paragraph(0, t.last)
	default:
		var parts []string
		for _, v := range []string{checker.Unread, checker.Hold, checker.Revise, checker.Clear} {
			if n := t.sum[v]; n > 0 {
				parts = append(parts, fmt.Sprintf("%d %s", n, v))
			}
		}
		counts := t.total.counts()
		if counts != "" {
			counts = " " + counts + "."
		}
		p.paragraph(0, fmt.Sprintf("%d procedures: %s.%s", t.files, strings.Join(parts, ", "), counts))
	}
	if len(t.section) > 0 {
		p.printf("\nInto the containers of the section:\n")
		for _, name := range slices.Sorted(maps.Keys(t.section)) {
			p.paragraph(2, t.section[name])
		}
		p.printf("\n")
	}
	for _, line := range wrap(checker.Notice, p.width) {
		p.printf("%s\n", p.paint(dim, line))
	}
	return p.err
}
