// Package finding holds the one type of diagnostic that every stage of the
// checker speaks: intake, schema, names, bench and rules. It knows positions
// and words; it knows nothing of YAML, chemistry or CEL.
package finding

import (
	"bytes"
	"cmp"
	"slices"
	"sort"
	"strings"
	"unicode/utf8"
)

// Level says what a finding asks of the reader.
type Level string

// The three promised levels, from gravest to mildest.
const (
	Hold   Level = "hold"   // must not be released
	Revise Level = "revise" // fix before the next run
	Advise Level = "advise" // worth knowing
)

// Rank orders levels: hold 3, revise 2, advise 1, anything else 0.
func (l Level) Rank() int {
	switch l {
	case Hold:
		return 3
	case Revise:
		return 2
	case Advise:
		return 1
	}
	return 0
}

// Outcome says how the judgement ended.
type Outcome string

// Outcomes. Unread marks what could not be read or judged at all: a syntax
// or schema error, an unreadable quantity, a rule that failed to evaluate.
const (
	Broken     Outcome = "broken"
	CannotTell Outcome = "cannot tell"
	Unread     Outcome = "unread"
)

// Span is a half-open range of byte offsets into a kept Source.
type Span struct{ Start, End int }

// Source is a file's bytes, kept so that spans can be shown as lines.
type Source struct {
	Name  string
	Bytes []byte
	lines []int // offset of each line's first byte
}

// NewSource keeps the bytes of a file under the name shown to the reader.
func NewSource(name string, b []byte) *Source {
	s := &Source{Name: name, Bytes: b, lines: []int{0}}
	for i, c := range b {
		if c == '\n' {
			s.lines = append(s.lines, i+1)
		}
	}
	return s
}

// bom is the byte order mark that some editors put before the first line.
var bom = []byte("\xef\xbb\xbf")

// Position gives the 1-based line and the 1-based column in code points of a
// byte offset; an offset outside the source is moved to its nearest end.
func (s *Source) Position(offset int) (line, column int) {
	offset = max(0, min(offset, len(s.Bytes)))
	line = sort.SearchInts(s.lines, offset+1)
	start := s.lines[line-1]
	if line == 1 && bytes.HasPrefix(s.Bytes, bom) && offset >= len(bom) {
		start = len(bom) // no editor shows it as a column
	}
	return line, utf8.RuneCount(s.Bytes[start:offset]) + 1
}

// Offset gives the byte offset of a 1-based line and column (code points),
// moved to the nearest place inside the source.
func (s *Source) Offset(line, column int) int {
	if line < 1 {
		return 0
	}
	if line > len(s.lines) {
		return len(s.Bytes)
	}
	at := s.lines[line-1]
	if line == 1 && bytes.HasPrefix(s.Bytes, bom) {
		at = len(bom)
	}
	for ; column > 1 && at < len(s.Bytes) && s.Bytes[at] != '\n'; column-- {
		_, n := utf8.DecodeRune(s.Bytes[at:])
		at += n
	}
	return at
}

// Line returns the text of a 1-based line without its line ending; an unknown
// line is empty.
func (s *Source) Line(n int) string {
	if n < 1 || n > len(s.lines) {
		return ""
	}
	end := len(s.Bytes)
	if n < len(s.lines) {
		end = s.lines[n] - 1
	}
	return strings.TrimSuffix(string(s.Bytes[s.lines[n-1]:end]), "\r")
}

// Lines counts the lines of the source; an empty source has one.
func (s *Source) Lines() int { return len(s.lines) }

// Related points at a second place that says why.
type Related struct {
	Source  *Source // of another file; nil for that of the finding
	Span    Span
	Message string
}

// Acceptance records that a named role took responsibility for a finding.
type Acceptance struct {
	Because string `json:"because"`
	By      string `json:"by"`
	Until   string `json:"until,omitempty"`
	Lapsed  bool   `json:"lapsed,omitempty"`
}

// Figure is one number or word a finding rests on.
type Figure struct {
	Name    string // as in the JSON report: water_mmol
	Value   any    // float64, string, bool or []string
	Assumed string // why the bench assumed it; empty when stated or computed
}

// Finding is one thing a reader should know about a procedure.
type Finding struct {
	Rule    string // family/name
	Level   Level
	Outcome Outcome
	Step    int // 1-based; 0 when it belongs to no step
	Span    Span
	Subject string // what it is about, in a few words: "add n-butyllithium"
	Message string
	Because string
	Fix     string
	Source  string
	Ask     string // the one figure or word wanted when the outcome is cannot tell
	Figures []Figure
	Related []Related
	// Consequences are findings of the same cause, folded under this one.
	Consequences []Finding
	Accepted     *Acceptance
	// Danger orders findings of one level; higher is shown first.
	Danger float64
}

// Sort puts findings in reading order: level, danger, step, place, rule. The
// order is total, so two runs print the same bytes.
func Sort(fs []Finding) {
	slices.SortStableFunc(fs, func(a, b Finding) int {
		return cmp.Or(
			cmp.Compare(b.Level.Rank(), a.Level.Rank()),
			cmp.Compare(b.Danger, a.Danger),
			cmp.Compare(a.Step, b.Step),
			cmp.Compare(a.Span.Start, b.Span.Start),
			cmp.Compare(a.Rule, b.Rule),
			cmp.Compare(a.Message, b.Message),
		)
	})
}
