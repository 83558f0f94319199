// Package report prints what the checker found, one file per way to print. It
// reads results and changes none; equal results give equal bytes.
package report

import (
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"ketyl/checker"
	"ketyl/checker/bench"
	"ketyl/checker/finding"
	"ketyl/checker/judge"
	"ketyl/checker/quantity"
)

// Formats are the names of the formats in which findings are printed.
var Formats = []string{"text", "json", "sarif", "junit", "html"}

// Options say how to print.
type Options struct {
	// Rules that ran.
	Rules []judge.Rule
	// Hash of the rules, for a report on no file.
	Hash string
	// Strict says that revise counted as hold.
	Strict bool
	// Colour and Width are for text on a terminal; a Width of 0 is 100.
	Colour bool
	Width  int
}

// Printer prints results one by one, so that a shelf of them need not be kept.
type Printer interface {
	// Result prints one result.
	Result(checker.Result) error
	// Close prints what stands at the end. It must be called, also after no
	// result at all.
	Close() error
}

// New gives the printer of a format. An unknown format is an error.
func New(format string, w io.Writer, o Options) (Printer, error) {
	if o.Width <= 0 {
		o.Width = 100
	}
	switch format {
	case "text":
		return &textPrinter{out: w, o: o}, nil
	case "json":
		return &jsonPrinter{out: w, o: o}, nil
	case "sarif":
		return &sarifPrinter{out: w, o: o}, nil
	case "junit":
		return &junitPrinter{out: w, o: o}, nil
	case "html":
		return &htmlPrinter{out: w, o: o}, nil
	}
	return nil, fmt.Errorf("found the format %q, expected one of %s", format, strings.Join(Formats, ", "))
}

// sentence is the message of a finding as a sentence; what could not be told
// becomes a request for the one thing that is wanted.
func sentence(f finding.Finding) string {
	s := plainLimits(strings.TrimSpace(f.Message))
	if f.Outcome == finding.CannotTell && f.Ask != "" {
		rest := ""
		if after, ok := strings.CutPrefix(s, "cannot tell; wanted: "+f.Ask); ok {
			rest = strings.TrimSpace(strings.TrimPrefix(strings.TrimSpace(after), "."))
		} else if s != "" {
			rest = s
		}
		s = "The text does not say " + f.Ask + ": state it"
		switch {
		case strings.HasPrefix(rest, "(for ") && strings.Contains(rest, ")"):
			s += " " + rest
		case rest != "":
			s += ". " + rest
		}
	}
	if s != "" && !strings.ContainsAny(s[len(s)-1:], ".!?:") {
		s += "."
	}
	return s
}

// subject says what a finding is about and where: "step 8, add n-butyllithium".
func subject(f finding.Finding, src *finding.Source) string {
	var parts []string
	if f.Step > 0 {
		parts = append(parts, "step "+strconv.Itoa(f.Step))
	}
	if f.Subject != "" {
		parts = append(parts, f.Subject)
	}
	if len(parts) == 0 {
		line, _ := src.Position(f.Span.Start)
		parts = append(parts, "line "+strconv.Itoa(line))
	}
	return strings.Join(parts, ", ")
}

// standing is the level of a finding with what qualifies it: "hold",
// "revise, cannot tell", "hold, accepted".
func standing(f finding.Finding) string {
	if f.Outcome == finding.Unread {
		return "unread"
	}
	s := string(f.Level)
	if f.Outcome == finding.CannotTell {
		s += ", cannot tell"
	}
	switch {
	case f.Accepted == nil:
	case f.Accepted.Lapsed:
		s += ", acceptance lapsed"
	default:
		s += ", accepted"
	}
	return s
}

// acceptance is who took a finding on, why and until when.
func acceptance(a *finding.Acceptance) string {
	until := ""
	if a.Until != "" {
		until = ", until " + a.Until
	}
	if a.Lapsed {
		return fmt.Sprintf("the acceptance by %s lapsed on %s and has no force: %s", a.By, a.Until, a.Because)
	}
	if until == "" {
		until = ", open-ended"
	}
	return fmt.Sprintf("by %s%s: %s", a.By, until, a.Because)
}

// openEnded names the rules of which findings are accepted without a last day,
// each with who accepted it.
func openEnded(fs []finding.Finding) (names []string) {
	for _, f := range fs {
		if checker.Accepted(f) && f.Accepted.Until == "" {
			names = append(names, f.Rule+" (by "+f.Accepted.By+")")
		}
		names = append(names, openEnded(f.Consequences)...)
	}
	slices.Sort(names)
	return slices.Compact(names)
}

// tally counts the findings of a result, folded ones too.
type tally struct {
	Holds, Revisions, Advice, Questions, Unread, Accepted int
}

func (t *tally) add(fs []finding.Finding) {
	for _, f := range fs {
		switch {
		case f.Outcome == finding.Unread:
			t.Unread++
		case checker.Accepted(f):
			t.Accepted++
		case f.Outcome == finding.CannotTell:
			t.Questions++
		case f.Level == finding.Hold:
			t.Holds++
		case f.Level == finding.Revise:
			t.Revisions++
		default:
			t.Advice++
		}
		t.add(f.Consequences)
	}
}

// Counts are the open findings by level, folded ones and questions too, and
// beside them what is accepted or could not be read.
type Counts struct {
	Hold       int `json:"hold"`
	Revise     int `json:"revise"`
	Advise     int `json:"advise"`
	CannotTell int `json:"cannot_tell"` // how many of those three are questions
	Accepted   int `json:"accepted"`
	Unread     int `json:"unread"`
}

func (c *Counts) add(fs []finding.Finding) {
	for _, f := range fs {
		c.add(f.Consequences)
		switch {
		case f.Outcome == finding.Unread:
			c.Unread++
			continue
		case checker.Accepted(f):
			c.Accepted++
			continue
		case f.Level == finding.Hold:
			c.Hold++
		case f.Level == finding.Revise:
			c.Revise++
		default:
			c.Advise++
		}
		if f.Outcome == finding.CannotTell {
			c.CannotTell++
		}
	}
}

// counts is the tally in words; empty when there is nothing to count.
func (t tally) counts() string {
	var parts []string
	for _, c := range []struct {
		n         int
		one, many string
	}{
		{t.Holds, "hold", "holds"}, {t.Revisions, "to revise", "to revise"}, {t.Advice, "to consider", "to consider"},
		{t.Questions, "question", "questions"}, {t.Unread, "place could not be read or judged", "places could not be read or judged"},
		{t.Accepted, "accepted", "accepted"},
	} {
		switch {
		case c.n == 1:
			parts = append(parts, "1 "+c.one)
		case c.n > 1:
			parts = append(parts, fmt.Sprintf("%d %s", c.n, c.many))
		}
	}
	return strings.Join(parts, ", ")
}

// summary is the verdict on one result in words: never a bare pass, since the
// absence of faults is only what the rules that ran can say of what is
// written.
func summary(r checker.Result, strict bool) string {
	var t tally
	t.add(r.Findings)
	s := r.Verdict
	if strict && r.Verdict == checker.Hold && t.Holds == 0 && t.Revisions > 0 {
		s += " (strict: what is to be revised counts as a hold)"
	}
	s += "."
	counts := t.counts()
	if counts != "" {
		s += " " + counts + "."
	}
	ran := fmt.Sprintf("(%d rules ran)", r.Ran)
	if r.Ran == 1 {
		ran = "(1 rule ran)"
	}
	switch {
	case r.Ran == 0:
		s += " No rule ran: nothing else was judged."
	case counts == "":
		s += " No fault found in what is written " + ran + "."
	default:
		s += " No other fault found in what is written " + ran + "."
	}
	if open := openEnded(r.Findings); len(open) > 0 {
		s += " Accepted with no day on which it lapses: " + strings.Join(open, ", ") + "."
	}
	if len(r.Off) > 0 {
		s += " Turned off by the site file: " + strings.Join(r.Off, ", ") + "."
	}
	if r.OwnContainers > 0 {
		s += fmt.Sprintf(" Waste containers: %d of the site file, in place of the built-in list.", r.OwnContainers)
	}
	if len(r.Changed) > 0 {
		s += " Limits set by the site file: " + strings.Join(r.Changed, "; ") + "."
	}
	return s
}

// excerpt is a line of the source with the part that is marked.
type excerpt struct {
	line                  int
	before, marked, after string
	more                  bool // the marked part goes on in the next line
}

// within is the excerpt with at most room cells of text: what is cut off
// before the mark and behind it becomes an ellipsis.
func (x excerpt) within(room int) excerpt {
	x.before = flatten(x.before, 0)
	x.marked = flatten(x.marked, width(x.before))
	x.after = flatten(x.after, width(x.before)+width(x.marked))
	if width(x.before)+max(1, width(x.marked)) > room { // too long: show from the marked part on
		keep := min(width(x.before), 20)
		for w := width(x.before); w > keep; {
			r, n := utf8.DecodeRuneInString(x.before)
			x.before = x.before[n:]
			w -= cells(r)
		}
		x.before = "…" + x.before
	}
	if x.more {
		room -= 2 // for the ellipsis after the marker
	}
	x.marked = cut(x.marked, room-width(x.before))
	x.after = cut(x.after, max(0, room-width(x.before)-width(x.marked)))
	return x
}

// shown gives the first line of a span; false when there is nothing to show.
func shown(src *finding.Source, at finding.Span) (excerpt, bool) {
	if src == nil || len(src.Bytes) == 0 {
		return excerpt{}, false
	}
	line, _ := src.Position(at.Start)
	text := src.Line(line)
	start := src.Offset(line, 1)
	from := max(0, min(at.Start-start, len(text)))
	to := max(from, min(at.End-start, len(text)))
	return excerpt{
		line: line, before: text[:from], marked: text[from:to], after: text[to:],
		more: at.End-start > len(text)+1 && strings.TrimSpace(string(src.Bytes[min(start+len(text), len(src.Bytes)):min(at.End, len(src.Bytes))])) != "",
	}, true
}

// seen is a line that a finding points at beside its own.
type seen struct {
	file    string // another file; empty for that of the finding
	line    int
	text    string
	message string
}

// related gives the lines a finding points at, each line once with all that
// is said of it, in the order of the finding.
func related(f finding.Finding, src *finding.Source) (lines []seen) {
	for _, r := range f.Related {
		file, in := "", src
		if r.Source != nil {
			file, in = r.Source.Name, r.Source
		}
		x, ok := shown(in, r.Span)
		if !ok {
			continue
		}
		i := slices.IndexFunc(lines, func(l seen) bool { return l.line == x.line && l.file == file })
		if i < 0 {
			lines = append(lines, seen{file, x.line, strings.TrimSpace(x.before + x.marked + x.after), r.Message})
		} else if had := strings.Split(lines[i].message, "; "); !slices.Contains(had, r.Message) {
			lines[i].message += "; " + r.Message
		}
	}
	return lines
}

// where is the place of the line in words.
func (l seen) where() string {
	if l.file == "" {
		return fmt.Sprintf("line %d", l.line)
	}
	return fmt.Sprintf("%s, line %d", l.file, l.line)
}

// inSection says in a line for each container what a section that was judged
// together puts into it; nothing where it was not.
func inSection(r checker.Result) (lines []string) {
	if r.Section < 2 {
		return nil
	}
	for _, c := range r.Containers {
		line := c.Container + ": "
		switch {
		case !c.Litres.Known:
			line += "how much is not known (" + c.Litres.Ask() + ")"
		default:
			line += quantity.Format(c.Litres.V*1000, quantity.Volume)
			if c.Litres.V <= 0 {
				line = c.Container + ": solids"
			} else if c.Bottles.Known {
				line += ", " + bottles(c.Bottles.V) + " of " + quantity.Format(c.SizeL.V*1000, quantity.Volume)
			}
		}
		lines = append(lines, line+". "+byFile(c))
	}
	return lines
}

// bottles writes a number of bottles.
func bottles(n float64) string {
	if n == 1 {
		return "1 bottle"
	}
	return quantity.FormatNumber(n) + " bottles"
}

// byFile names the leftovers that go into a container, file by file.
func byFile(c bench.ContainerFacts) string {
	var out []string
	for _, file := range c.Files {
		var names []string
		for _, s := range c.Streams {
			if name, ok := strings.CutSuffix(s, " ("+file+")"); ok {
				names = append(names, name)
			}
		}
		out = append(out, filepath.Base(file)+": "+strings.Join(names, ", "))
	}
	if len(out) == 0 {
		return "From " + strings.Join(c.Streams, ", ")
	}
	return strings.Join(out, "; ")
}

// figures gives the figures of a finding by name, with what was assumed.
func figures(fs []finding.Figure) (values map[string]any, assumed map[string]string) {
	values = map[string]any{}
	for _, g := range fs {
		values[g.Name] = plain(g.Value)
		if g.Assumed != "" {
			if assumed == nil {
				assumed = map[string]string{}
			}
			assumed[g.Name] = g.Assumed
		}
	}
	return values, assumed
}

// ids gives the ids of the rules, sorted.
func ids(rules []judge.Rule) []string {
	out := make([]string, 0, len(rules))
	for _, r := range rules {
		out = append(out, r.ID)
	}
	slices.Sort(out)
	return out
}

// sticky keeps the first error of a row of writes.
type sticky struct {
	w   io.Writer
	err error
}

func (s *sticky) Write(b []byte) (int, error) {
	if s.err != nil {
		return 0, s.err
	}
	n, err := s.w.Write(b)
	s.err = err
	return n, err
}

func (s *sticky) printf(format string, args ...any) { fmt.Fprintf(s, format, args...) }
