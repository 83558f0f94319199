package report

import (
	"bytes"
	"cmp"
	"fmt"
	"html"
	"io"
	"strings"

	"ketyl/checker"
	"ketyl/checker/bench"
	"ketyl/checker/finding"
)

// style is plain and prints: levels are told by word and border, not by
// colour alone.
const style = `
:root { color-scheme: light dark; --ink: #1c1e21; --paper: #fff; --soft: #f3f2ee; --line: #c9c6bd; --hold: #a4161a; --revise: #8a5a00; --advise: #1d5c8a; --unread: #6a1b7a; --clear: #2c6e3f; }
@media (prefers-color-scheme: dark) { :root { --ink: #e8e6e1; --paper: #191a1c; --soft: #232528; --line: #45474b; --hold: #ff8a80; --revise: #f0b95a; --advise: #8cc4ee; --unread: #d9a3e6; --clear: #8fd3a2; } }
body { font: 16px/1.5 Georgia, "Times New Roman", serif; color: var(--ink); background: var(--paper); max-width: 54rem; margin: 2rem auto; padding: 0 1rem; }
h1 { font-size: 1.5rem; } h2 { font-size: 1.2rem; margin-top: 2.5rem; border-bottom: 2px solid var(--line); } h3 { font-size: 1rem; margin: 0; }
article { border: 1px solid var(--line); border-left: .4rem solid var(--advise); padding: .6rem 1rem; margin: 1rem 0; break-inside: avoid; }
.hold { border-left-color: var(--hold); } .revise { border-left-color: var(--revise); } .unread { border-left-color: var(--unread); } .accepted { border-left-style: dashed; }
.level { font-weight: bold; } .rule { float: right; font: .85rem ui-monospace, monospace; }
pre { font: .85rem/1.5 ui-monospace, monospace; background: var(--soft); padding: .4rem .6rem; overflow-x: auto; white-space: pre-wrap; } pre .n { color: gray; user-select: none; }
mark { background: none; color: inherit; font-weight: bold; text-decoration: underline wavy var(--hold); }
dl { display: grid; grid-template-columns: 6rem minmax(0, 1fr); gap: .2rem 1rem; margin: .5rem 0 0; } dt { font-style: italic; } dd { margin: 0; overflow-wrap: anywhere; } dd pre { margin: 0; }
.sum { font: .8rem ui-monospace, monospace; overflow-wrap: anywhere; } .verdict { font-weight: bold; }
table { border-collapse: collapse; } th, td { text-align: left; padding: .2rem .8rem .2rem 0; border-bottom: 1px solid var(--line); vertical-align: top; }
@media (max-width: 36rem) { .rule { float: none; display: block; } dl { grid-template-columns: minmax(0, 1fr); } body { margin: 1rem auto; } td { overflow-wrap: anywhere; } }
footer { margin-top: 3rem; border-top: 2px solid var(--line); padding-top: .5rem; font-size: .9rem; }
@media print { body { margin: 0; max-width: none; font-size: 11pt; } h2 { break-before: auto; break-after: avoid; } }
`

// lineShown is how many cells of a line of the text a page shows: it scrolls,
// and no line that people write is as long.
const lineShown = 400

// htmlPrinter prints one page that needs nothing from elsewhere. Since the
// table of all files stands before the first of them, the sections are kept
// until the end.
type htmlPrinter struct {
	out   io.Writer
	o     Options
	files int
	body  bytes.Buffer
	rows  []string
}

func esc(s string) string {
	return html.EscapeString(strings.Map(func(r rune) rune {
		if r != '\n' && r != '\t' && steers(r) {
			return '\uFFFD'
		}
		return r
	}, s))
}

func (h *htmlPrinter) Result(r checker.Result) error {
	s := &sticky{w: &h.body}
	h.files++
	title := ""
	if r.Procedure != nil && r.Procedure.Title.Is() {
		title = r.Procedure.Title.S
	}
	verdict := summary(r, h.o.Strict)
	var t tally
	t.add(r.Findings)
	h.rows = append(h.rows, fmt.Sprintf("<tr><td><a href=\"#file-%d\">%s</a></td><td>%s</td><td>%s</td><td>%s</td></tr>\n", h.files, esc(r.Path), esc(title), esc(r.Verdict), esc(t.counts())))
	s.printf("<section id=\"file-%d\">\n<h2>%s</h2>\n", h.files, esc(cmp.Or(title, r.Path)))
	s.printf("<p class=\"verdict\">Verdict: %s</p>\n<p>", esc(verdict))
	if title != "" {
		s.printf("%s · ", esc(r.Path))
	}
	s.printf("<span class=\"sum\">SHA-256 %s</span></p>\n", esc(r.SHA256))
	for _, f := range r.Findings {
		h.finding(s, f, r.Source)
	}
	h.figures(s, r.Trace)
	if lines := inSection(r); len(lines) > 0 {
		s.printf("<h3>Containers of the section</h3>\n<ul>\n")
		for _, line := range lines {
			s.printf("<li>%s</li>\n", esc(line))
		}
		s.printf("</ul>\n")
	}
	s.printf("</section>\n")
	return s.err
}

func (h *htmlPrinter) finding(s *sticky, f finding.Finding, src *finding.Source) {
	class := string(f.Level)
	if f.Outcome == finding.Unread {
		class = "unread"
	}
	if checker.Accepted(f) {
		class += " accepted"
	}
	s.printf("<article class=\"%s\">\n<h3><span class=\"rule\">%s</span>%s — <span class=\"level\">%s</span></h3>\n", esc(class), esc(f.Rule), esc(subject(f, src)), esc(standing(f)))
	if x, ok := shown(src, f.Span); ok {
		x = x.within(lineShown)
		more := ""
		if x.more {
			more = " …"
		}
		s.printf("<pre><span class=\"n\">%d | </span>%s<mark>%s</mark>%s%s</pre>\n", x.line, esc(x.before), esc(cmp.Or(x.marked, " ")), esc(x.after), more)
	}
	s.printf("<p>%s</p>\n<dl>\n", esc(sentence(f)))
	row := func(label, text string) {
		if text != "" {
			s.printf("<dt>%s</dt><dd>%s</dd>\n", label, esc(text))
		}
	}
	row("why", f.Because)
	write := func(fix string) {
		if fix = strings.Trim(fix, "\n"); fix != "" { // to be copied as it is, with its line breaks
			s.printf("<dt>write</dt><dd><pre>%s</pre></dd>\n", esc(fix))
		}
	}
	write(f.Fix)
	for _, r := range related(f, src) {
		row("see", fmt.Sprintf("%s, %s: %s", r.where(), cut(r.text, 60), r.message))
	}
	var list []string
	for _, g := range assumptions(f.Figures) {
		text := g.figures
		if g.assumed != "" {
			text += " (assumed: " + g.assumed + ")"
		}
		list = append(list, text)
	}
	row("figures", strings.Join(list, "; "))
	row("source", f.Source)
	for _, c := range f.Consequences {
		row("with it", fmt.Sprintf("%s (%s · %s): %s", subject(c, src), standing(c), c.Rule, sentence(c)))
		if c.Level != finding.Advise && !checker.Accepted(c) && strings.TrimSpace(c.Fix) != strings.TrimSpace(f.Fix) {
			write(c.Fix)
		}
	}
	if f.Accepted != nil {
		row(map[bool]string{true: "lapsed", false: "accepted"}[f.Accepted.Lapsed], acceptance(f.Accepted))
	}
	s.printf("</dl>\n</article>\n")
}

// figures prints the figures of the whole procedure.
func (h *htmlPrinter) figures(s *sticky, t *bench.Trace) {
	if t == nil {
		return
	}
	s.printf("<table>\n<caption>Figures of the whole text</caption>\n")
	g := t.Figures
	if g.Limiting != "" {
		s.printf("<tr><th scope=\"row\">limiting</th><td>%s</td></tr>\n", esc(g.Limiting))
	}
	for _, x := range []struct {
		name, unit string
		n          bench.Num
	}{
		{"amount of it", "mmol", g.LimitingMmol}, {"theoretical yield", "g", g.TheoreticalG}, {"expected yield", "%", g.YieldPercent},
		{"largest adiabatic rise", "K", g.LargestRiseK}, {"gas given off", "L", g.GasL}, {"water met", "mmol", g.WaterMmol},
		{"reagent lost to water", "%", g.WaterLossPercent}, {"hands-on time", "min", g.HandsOnMin}, {"time in all", "min", g.TotalMin}, {"first to last step", "min", g.CriticalPathMin},
		{"main quench from", "min", g.QuenchStartMin}, {"main quench at the latest", "min", g.LatestQuenchMin}, {"begun before the section", "days", g.LeadDays},
	} {
		text := "not stated"
		switch {
		case x.n.Known:
			text = show(x.n.V) + " " + x.unit
			if x.n.Assumed() != "" {
				text += " (assumed: " + x.n.Assumed() + ")"
			}
		case x.n.Ask() != "":
			text += ": " + x.n.Ask()
		}
		s.printf("<tr><th scope=\"row\">%s</th><td>%s</td></tr>\n", x.name, esc(text))
	}
	s.printf("</table>\n")
}

func (h *htmlPrinter) Close() error {
	s := &sticky{w: h.out}
	s.printf("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>ketyl report</title>\n<style>%s</style>\n</head>\n<body>\n<main>\n<h1>Review of written procedures</h1>\n<p>%s</p>\n", style, esc(checker.Notice))
	switch {
	case h.files == 0:
		s.printf("<p>No procedure was given.</p>\n")
	case h.files > 1:
		s.printf("<table>\n<caption>Files and verdicts</caption>\n<tr><th scope=\"col\">file</th><th scope=\"col\">title</th><th scope=\"col\">verdict</th><th scope=\"col\">found</th></tr>\n%s</table>\n", strings.Join(h.rows, ""))
	}
	if s.err == nil {
		_, s.err = h.body.WriteTo(h.out)
	}
	s.printf("</main>\n<footer>\n<details><summary>%d rules ran</summary>\n<p>%s</p>\n</details>\n", len(h.o.Rules), esc(strings.Join(ids(h.o.Rules), ", ")))
	s.printf("<p>ketyl %s, rules %s. %s</p>\n</footer>\n</body>\n</html>\n", esc(checker.Version), esc(h.o.Hash), esc(checker.Notice))
	return s.err
}
