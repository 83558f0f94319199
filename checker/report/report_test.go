package report

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"flag"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"ketyl/checker"
	"ketyl/checker/bench"
	"ketyl/checker/document"
	"ketyl/checker/finding"
	"ketyl/checker/judge"
	"ketyl/checker/procedure"
	"ketyl/schema"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// text is a source with what makes columns hard: a tab, wide and combining
// characters, a control character and a long line.
const text = "procedure: sample\n" +
	"steps:\n" +
	"  - add: n-butyllithium\n" +
	"\tto: flask\n" +
	"  - note: 溶媒 e\u0301ther\x1b[31m  # wide\n" +
	"  - note: a very long line that goes on and on until it is far past the edge of any terminal and the place at fault is HERE, near its end\n" +
	"  - quench: flask\n" +
	"    with: water\n"

// at gives the span of the first occurrence of a word.
func at(word string) finding.Span {
	i := strings.Index(text, word)
	return finding.Span{Start: i, End: i + len(word)}
}

func results() []checker.Result {
	src := finding.NewSource("lab/sample.yaml", []byte(text))
	hold := finding.Finding{
		Rule: "drying/sample", Level: finding.Hold, Outcome: finding.Broken, Step: 1, Span: at("add: n-butyllithium"), Subject: "add n-butyllithium",
		Message: "The THF (40 mL) brings 26 mmol of water to 11 mmol of n-butyllithium. Limit: 5 % (ketyl default, derived).",
		Because: "Butyllithium takes a proton from water at once.", Fix: "- dry: thf\n  with: molecular sieves 3A\n", Source: "a paper; common practice",
		Figures: []finding.Figure{{Name: "water_mmol", Value: 26.123456789}, {Name: "loss_percent", Value: math.Inf(1)}, {Name: "grade", Value: "saturated", Assumed: "the worst that is sold"}, {Name: "names", Value: []string{"a", "b"}}},
		Related: []finding.Related{{Span: at("to: flask"), Message: "where it goes"}},
		Consequences: []finding.Finding{
			{Rule: "quench/sample", Level: finding.Revise, Outcome: finding.Broken, Step: 4, Span: at("quench: flask"), Subject: "quench flask", Message: "follows from it, and is told in a sentence that is longer than one line of a terminal is wide", Fix: "over: 10 min\nat: 0 °C"},
		},
	}
	ask := finding.Finding{
		Rule: "heat/sample", Level: finding.Hold, Outcome: finding.CannotTell, Step: 4, Span: at("quench: flask\n    with: water"), Subject: "quench flask",
		Ask: "how long the quench takes", Message: "cannot tell; wanted: how long the quench takes. Limit: 10 K (ketyl default, derived).", Because: "Heat.", Fix: "over: 10 min",
	}
	accepted := finding.Finding{
		Rule: "caution/sample", Level: finding.Hold, Outcome: finding.Broken, Span: at("溶媒"), Subject: "sample", Message: "no caution",
		Accepted: &finding.Acceptance{Because: "a card hangs at the hood", By: "safety officer", Until: "2031-07-31"},
	}
	lapsed := finding.Finding{
		Rule: "caution/sample", Level: finding.Revise, Outcome: finding.Broken, Step: 3, Span: at("HERE"), Subject: "note", Message: "no caution here",
		Accepted: &finding.Acceptance{Because: "a card hung at the hood", By: "safety officer", Until: "2001-07-31", Lapsed: true},
	}
	unreadable := finding.Finding{Rule: "format/value", Level: finding.Hold, Outcome: finding.Unread, Span: at("e\u0301ther\x1b"), Message: "found `\x1b[31m`, expected a word"}
	figures := bench.Figures{Limiting: "benzaldehyde", LimitingMmol: bench.Got(10), TheoreticalG: bench.Assume(1.64, "full conversion"), GasL: bench.Missing("the amounts"), Wastes: []string{"aqueous layer"}}
	named := &procedure.Procedure{Name: procedure.Text{S: "sample"}, Title: procedure.Text{S: "A <sample> & more"}}
	return []checker.Result{
		{Path: "lab/sample.yaml", SHA256: strings.Repeat("0a", 32), Verdict: checker.Hold, Source: src, Procedure: named, Trace: &bench.Trace{Figures: figures},
			Findings: []finding.Finding{hold, ask, accepted, lapsed}, Ran: 3, Rules: "abc123", SiteFile: "lab/.ketyl.yaml"},
		{Path: "lab/broken.yaml", SHA256: strings.Repeat("0b", 32), Verdict: checker.Unread, Source: src, Findings: []finding.Finding{unreadable}, Rules: "abc123"},
		{Path: "lab/quiet.yaml", SHA256: strings.Repeat("0c", 32), Verdict: checker.Clear, Source: src, Procedure: named, Trace: &bench.Trace{}, Ran: 3, Rules: "abc123"},
	}
}

func options() Options {
	return Options{Hash: "abc123", Width: 90, Rules: []judge.Rule{
		{ID: "drying/sample", Family: "drying", Level: finding.Hold, Because: "Water.", Fix: "dry it", Explain: "More."},
		{ID: "heat/sample", Family: "heat", Level: finding.Revise, Because: "Heat.", Fix: "cool it"},
		{ID: "caution/sample", Family: "caution", Level: finding.Advise, Because: "Warn.", Fix: "warn"},
	}}
}

func printed(t *testing.T, format string, o Options, rs []checker.Result) string {
	t.Helper()
	var b bytes.Buffer
	p, err := New(format, &b, o)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range rs {
		if err := p.Result(r); err != nil {
			t.Fatal(err)
		}
	}
	if err := p.Close(); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func golden(t *testing.T, name, got string) {
	t.Helper()
	file := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("%s differs from what is printed now (rewrite with -update):\n%s", file, got)
	}
}

func TestGolden(t *testing.T) {
	for _, format := range Formats {
		t.Run(format, func(t *testing.T) {
			rs := results()
			got := printed(t, format, options(), rs)
			golden(t, "three."+format, got)
			if again := printed(t, format, options(), results()); again != got {
				t.Error("a second run prints other bytes")
			}
			golden(t, "one."+format, printed(t, format, options(), rs[:1]))
			golden(t, "none."+format, printed(t, format, options(), nil))
		})
	}
	strict := options()
	strict.Strict, strict.Colour, strict.Width = true, true, 60
	golden(t, "strict-colour.text", printed(t, "text", strict, results()))
}

// Every format carries the safety notice, and none lets a file's own bytes
// steer a terminal or a page.
func TestNoticeAndControls(t *testing.T) {
	for _, format := range Formats {
		for n := range 4 {
			got := printed(t, format, options(), results()[:n])
			flat := strings.Join(strings.Fields(got), " ") // the lines of text are wrapped
			if n > 0 || format != "junit" {                // an empty JUnit report has no suite to hold it
				if !strings.Contains(flat, checker.Notice) && !strings.Contains(flat, strings.ReplaceAll(checker.Notice, "'", "&#39;")) {
					t.Errorf("%s of %d files lacks the notice", format, n)
				}
			}
			if strings.ContainsRune(got, '\x1b') {
				t.Errorf("%s of %d files holds an escape character", format, n)
			}
		}
	}
	if strings.Contains(printed(t, "html", options(), results()), "<sample>") {
		t.Error("html does not escape a title")
	}
}

func TestVerdictWording(t *testing.T) {
	broken := func(l finding.Level) finding.Finding { return finding.Finding{Level: l, Outcome: finding.Broken} }
	tests := []struct {
		name   string
		r      checker.Result
		strict bool
		want   string
	}{
		{"clear", checker.Result{Verdict: checker.Clear, Ran: 96}, false, "clear. No fault found in what is written (96 rules ran)."},
		{"one rule", checker.Result{Verdict: checker.Clear, Ran: 1}, false, "clear. No fault found in what is written (1 rule ran)."},
		{"hold", checker.Result{Verdict: checker.Hold, Ran: 2, Findings: []finding.Finding{broken(finding.Hold), broken(finding.Hold), broken(finding.Revise), broken(finding.Advise)}}, false,
			"hold. 2 holds, 1 to revise, 1 to consider. No other fault found in what is written (2 rules ran)."},
		{"strict", checker.Result{Verdict: checker.Hold, Ran: 2, Findings: []finding.Finding{broken(finding.Revise)}}, true,
			"hold (strict: what is to be revised counts as a hold). 1 to revise. No other fault found in what is written (2 rules ran)."},
		{"unread", checker.Result{Verdict: checker.Unread, Findings: []finding.Finding{{Outcome: finding.Unread}}}, false,
			"unread. 1 place could not be read or judged. No rule ran: nothing else was judged."},
		{"questions and consequences", checker.Result{Verdict: checker.Hold, Ran: 2, Findings: []finding.Finding{{Level: finding.Hold, Outcome: finding.CannotTell, Consequences: []finding.Finding{broken(finding.Hold)}}}}, false,
			"hold. 1 hold, 1 question. No other fault found in what is written (2 rules ran)."},
	}
	for _, test := range tests {
		if got := summary(test.r, test.strict); got != test.want {
			t.Errorf("%s: %s\nwant %s", test.name, got, test.want)
		}
	}
}

func TestSentence(t *testing.T) {
	tests := []struct {
		name string
		f    finding.Finding
		want string
	}{
		{"plain", finding.Finding{Message: "no quench"}, "no quench."},
		{"ends", finding.Finding{Message: "no quench. "}, "no quench."},
		{"question", finding.Finding{Outcome: finding.CannotTell, Ask: "the size of flask", Message: "cannot tell; wanted: the size of flask"}, "The text does not say the size of flask: state it."},
		{"with limit", finding.Finding{Outcome: finding.CannotTell, Ask: "x", Message: "cannot tell; wanted: x. Limit: 5 %."}, "The text does not say x: state it. Limit: 5 %."},
		{"for rules", finding.Finding{Outcome: finding.CannotTell, Ask: "x", Message: "cannot tell; wanted: x (for a/b and c/d)"}, "The text does not say x: state it (for a/b and c/d)."},
		{"no ask", finding.Finding{Outcome: finding.CannotTell, Message: "cannot tell why"}, "cannot tell why."},
	}
	for _, test := range tests {
		if got := sentence(test.f); got != test.want {
			t.Errorf("%s: %q, want %q", test.name, got, test.want)
		}
	}
}

// The marker stands under the marked part, counted in terminal cells.
func TestMarker(t *testing.T) {
	tests := []struct{ name, line, mark, shown string }{
		{"plain", "  - add: thf", "thf", "   1 |   - add: thf\n     |          ^^^\n"},
		{"tab before", "\tto: flask", "flask", "   1 |     to: flask\n     |         ^^^^^\n"},
		{"tab inside", "a:\tb", "a:\tb", "   1 | a:  b\n     | ^^^^^\n"},
		{"wide before", "溶媒: thf", "thf", "   1 | 溶媒: thf\n     |       ^^^\n"},
		{"wide marked", "a: 溶媒", "溶媒", "   1 | a: 溶媒\n     |    ^^^^\n"},
		{"combining", "e\u0301: x", "x", "   1 | e\u0301: x\n     |    ^\n"},
		{"empty mark", "a:", "", "   1 | a:\n     | ^\n"},
		{"control", "\x1b[2J: x", "x", "   1 | \uFFFD[2J: x\n     |       ^\n"},
	}
	for _, test := range tests {
		var b bytes.Buffer
		p := newPainter(&b, Options{Width: 60})
		i := strings.Index(test.line, test.mark)
		p.excerpt(finding.NewSource("x", []byte(test.line)), finding.Span{Start: i, End: i + len(test.mark)}, "")
		if b.String() != test.shown {
			t.Errorf("%s:\n%swant\n%s", test.name, b.String(), test.shown)
		}
	}
}

// No span, however wrong, makes a printer fail, and no line is wider than
// asked but for a word that cannot be broken.
func TestAnySpan(t *testing.T) {
	src := finding.NewSource("x", []byte(text))
	for from := -3; from < len(text)+3; from += 3 {
		for _, to := range []int{from, from + 1, from + 40, len(text) + 9, -1} {
			f := finding.Finding{Rule: "a/b", Level: finding.Hold, Outcome: finding.Broken, Span: finding.Span{Start: from, End: to}, Message: "m"}
			r := checker.Result{Path: "x", Source: src, Findings: []finding.Finding{f}, Verdict: checker.Hold, Ran: 1}
			for _, format := range Formats {
				out := printed(t, format, Options{Width: 60}, []checker.Result{r})
				if format != "text" {
					continue
				}
				for _, line := range strings.Split(out, "\n") {
					if width(line) > 60 {
						t.Fatalf("span %d to %d: a line has %d cells: %s", from, to, width(line), line)
					}
				}
			}
		}
	}
	empty := checker.Unreadable("gone.yaml", io.ErrUnexpectedEOF)
	for _, format := range Formats {
		if out := printed(t, format, Options{}, []checker.Result{empty}); !strings.Contains(out, "gone.yaml") {
			t.Errorf("%s does not name the file that could not be read", format)
		}
	}
}

func TestWrap(t *testing.T) {
	tests := []struct {
		in   string
		n    int
		want []string
	}{
		{"", 10, []string{""}},
		{"one two three", 8, []string{"one two", "three"}},
		{"incomprehensibilities x", 8, []string{"incomprehensibilities", "x"}},
		{"- dry: thf\n  with: sieves and more\n", 16, []string{"- dry: thf", "  with: sieves", "    and more"}},
		{"溶媒 溶媒 溶媒", 9, []string{"溶媒 溶媒", "溶媒"}},
		{"a\tb\x1b", 9, []string{"a b\uFFFD"}},
	}
	for _, test := range tests {
		if got := wrap(test.in, test.n); strings.Join(got, "|") != strings.Join(test.want, "|") {
			t.Errorf("%q at %d: %q, want %q", test.in, test.n, got, test.want)
		}
	}
}

// What is printed as JSON is what schema/report.schema.json says.
func TestSchema(t *testing.T) {
	s, err := document.CompileSchema("report.schema.json", schema.Report(), nil)
	if err != nil {
		t.Fatal(err)
	}
	for n := range 4 {
		out := printed(t, "json", options(), results()[:n])
		if !json.Valid([]byte(out)) {
			t.Fatalf("%d files: not JSON:\n%s", n, out)
		}
		f, fs := document.Read("report.json", []byte(out))
		for _, fd := range append(fs, s.Validate(f)...) {
			line, column := f.Source.Position(fd.Span.Start)
			t.Errorf("%d files, %d:%d: %s", n, line, column, fd.Message)
		}
	}
	// and it refuses what is not
	f, _ := document.Read("report.json", []byte(strings.Replace(printed(t, "json", options(), results()), `"verdict": "hold"`, `"verdict": "fine"`, 1)))
	if len(s.Validate(f)) == 0 {
		t.Error("the schema takes a verdict that there is not")
	}
}

// The promised keys of a finding and a file, with their values.
func TestPromisedJSON(t *testing.T) {
	var got struct {
		Ketyl, Rules string
		Files        []struct {
			Path, SHA256, Verdict string
			Findings              []map[string]any
			Figures               map[string]any
		}
	}
	if err := json.Unmarshal([]byte(printed(t, "json", options(), results())), &got); err != nil {
		t.Fatal(err)
	}
	if got.Ketyl != checker.Version || got.Rules != "abc123" || len(got.Files) != 3 {
		t.Fatalf("head is %+v", got)
	}
	f := got.Files[0].Findings[0]
	for key, want := range map[string]any{"rule": "drying/sample", "level": "hold", "outcome": "broken", "step": 1.0, "line": 3.0, "column": 5.0, "accepted": nil} {
		if f[key] != want {
			t.Errorf("%s is %v, want %v", key, f[key], want)
		}
	}
	figures := f["figures"].(map[string]any)
	if figures["water_mmol"] != 26.1235 || figures["loss_percent"] != nil || figures["grade"] != "saturated" {
		t.Errorf("figures are %v", figures)
	}
	if g := got.Files[0].Figures; g["limiting"] != "benzaldehyde" || g["theoretical_yield_g"] != 1.64 || g["gas_l"] != nil {
		t.Errorf("figures of the file are %v", g)
	}
	if a := got.Files[0].Findings[3]["accepted"].(map[string]any); a["lapsed"] != true {
		t.Errorf("acceptance is %v", a)
	}
}

// What viewers of SARIF need: a version, results that are never null, regions
// that begin at 1, rules that the results point at, columns counted as said.
func TestSARIF(t *testing.T) {
	for n := range 4 {
		var log struct {
			Version string
			Runs    []struct {
				ColumnKind string
				Tool       struct {
					Driver struct {
						Name, Version string
						Rules         []struct{ ID string }
					}
				}
				Invocations []struct{ ExecutionSuccessful bool }
				Results     []struct {
					RuleID              string
					RuleIndex           int
					Level               string
					Message             struct{ Text string }
					PartialFingerprints map[string]string
					Suppressions        []struct{ Kind string }
					Locations           []struct {
						PhysicalLocation struct {
							ArtifactLocation struct{ URI, URIBaseID string }
							Region           struct{ StartLine, StartColumn, EndLine, EndColumn int }
						}
					}
				}
			}
		}
		out := printed(t, "sarif", options(), results()[:n])
		if err := json.Unmarshal([]byte(out), &log); err != nil {
			t.Fatal(err)
		}
		run := log.Runs[0]
		if log.Version != "2.1.0" || run.ColumnKind != "unicodeCodePoints" || run.Tool.Driver.Name != "ketyl" || run.Tool.Driver.Version == "" || run.Results == nil {
			t.Fatalf("%d files: %s", n, out)
		}
		if run.Invocations[0].ExecutionSuccessful != (n < 2) {
			t.Errorf("%d files: execution successful is %v", n, run.Invocations[0].ExecutionSuccessful)
		}
		prints := map[string]bool{}
		for _, r := range run.Results {
			if run.Tool.Driver.Rules[r.RuleIndex].ID != r.RuleID {
				t.Errorf("result of %s points at rule %d", r.RuleID, r.RuleIndex)
			}
			p := r.Locations[0].PhysicalLocation
			if p.Region.StartLine < 1 || p.Region.StartColumn < 1 || p.Region.EndLine < p.Region.StartLine || strings.HasPrefix(p.ArtifactLocation.URI, "/") || p.ArtifactLocation.URIBaseID != "%SRCROOT%" {
				t.Errorf("place of %s is %+v", r.RuleID, p)
			}
			if prints[r.PartialFingerprints["ketyl/v1"]] {
				t.Errorf("two results have the fingerprint of %s", r.RuleID)
			}
			prints[r.PartialFingerprints["ketyl/v1"]] = true
			if accepted := r.RuleID == "caution/sample" && strings.Contains(r.Message.Text, "hangs"); accepted != (len(r.Suppressions) == 1) {
				t.Errorf("suppressions of %q: %v", r.Message.Text, r.Suppressions)
			}
		}
	}
	// A fingerprint outlives an added line.
	moved := results()[:1]
	moved[0].Source = finding.NewSource("lab/sample.yaml", []byte("# more\n"+text))
	for i := range moved[0].Findings {
		moved[0].Findings[i].Span.Start += 7
		moved[0].Findings[i].Span.End += 7
	}
	pick := func(out string) (prints []string) {
		for _, line := range strings.Split(out, "\n") {
			if strings.Contains(line, `"ketyl/v1"`) {
				prints = append(prints, line)
			}
		}
		return prints
	}
	if a, b := pick(printed(t, "sarif", options(), results()[:1])), pick(printed(t, "sarif", options(), moved)); len(a) == 0 || strings.Join(a, "") != strings.Join(b, "") {
		t.Error("fingerprints changed with the line")
	}
}

func TestArtifact(t *testing.T) {
	for in, want := range map[string]sarifArtifact{
		"lab/a b.yaml":    {"lab/a%20b.yaml", "%SRCROOT%"},
		"./lab/x.yaml":    {"lab/x.yaml", "%SRCROOT%"},
		"/srv/lab/ä.yaml": {"file:///srv/lab/%C3%A4.yaml", ""},
	} {
		if got := artifact(in); got != want {
			t.Errorf("%s: %+v, want %+v", in, got, want)
		}
	}
}

func TestJUnit(t *testing.T) {
	var doc struct {
		Suites []struct {
			Name                             string `xml:"name,attr"`
			Tests, Failures, Errors, Skipped int
			Attrs                            []xml.Attr `xml:",any,attr"`
			Cases                            []struct {
				Name    string    `xml:"name,attr"`
				Failure *struct{} `xml:"failure"`
				Error   *struct{} `xml:"error"`
				Skipped *struct{} `xml:"skipped"`
			} `xml:"testcase"`
		} `xml:"testsuite"`
	}
	if err := xml.Unmarshal([]byte(printed(t, "junit", options(), results())), &doc); err != nil {
		t.Fatal(err)
	}
	if len(doc.Suites) != 3 {
		t.Fatalf("%d suites", len(doc.Suites))
	}
	var failures, errors, skipped int
	for _, c := range doc.Suites[0].Cases {
		switch {
		case c.Failure != nil:
			failures++
		case c.Error != nil:
			errors++
		case c.Skipped != nil:
			skipped++
		}
	}
	if failures != 2 || errors != 0 || skipped != 1 {
		t.Errorf("first suite: %d failures, %d errors, %d skipped", failures, errors, skipped)
	}
	if n := len(doc.Suites[2].Cases); n != 3 {
		t.Errorf("a quiet file shows %d tests, want the 3 rules that ran", n)
	}
}

func TestUnknownFormat(t *testing.T) {
	if _, err := New("xml", io.Discard, Options{}); err == nil || !strings.Contains(err.Error(), "sarif") {
		t.Errorf("error is %v", err)
	}
}

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, io.ErrClosedPipe }

// A report that cannot be written is an error, never silent.
func TestWriteError(t *testing.T) {
	for _, format := range Formats {
		p, _ := New(format, broken{}, options())
		err := p.Result(results()[0])
		if closed := p.Close(); err == nil && closed == nil {
			t.Errorf("%s: no error", format)
		}
	}
}

// A line of thirty megabytes is shown around the place at fault, in every
// format.
func TestLongLineIsCut(t *testing.T) {
	long := strings.Repeat("x", 1<<20)
	src := finding.NewSource("long.yaml", []byte("title: "+long+" HERE "+long))
	at := strings.Index(string(src.Bytes), "HERE")
	r := checker.Result{Path: "long.yaml", Verdict: checker.Revise, Source: src, Ran: 1, Findings: []finding.Finding{
		{Rule: "caution/sample", Level: finding.Revise, Outcome: finding.Broken, Span: finding.Span{Start: at, End: at + 4}, Message: "no caution"},
	}}
	for _, format := range Formats {
		got := printed(t, format, options(), []checker.Result{r})
		if len(got) > 100_000 {
			t.Errorf("%s: found a report of %d bytes", format, len(got))
		}
		if (format == "text" || format == "html") && !strings.Contains(got, "HERE") {
			t.Errorf("%s: the place at fault is not shown", format)
		}
	}
}

// Findings folded under another count like any, and what is accepted without a
// last day is told beside the verdict.
func TestCountsAndOpenEnds(t *testing.T) {
	taken := func(by, until string) *finding.Acceptance {
		return &finding.Acceptance{Because: "it stands there", By: by, Until: until}
	}
	fs := []finding.Finding{
		{Rule: "a/hold", Level: finding.Hold, Outcome: finding.Broken, Consequences: []finding.Finding{
			{Rule: "a/second", Level: finding.Hold, Outcome: finding.Broken}, {Rule: "a/third", Level: finding.Revise, Outcome: finding.CannotTell},
			{Rule: "a/folded", Level: finding.Hold, Outcome: finding.Broken, Accepted: taken("the dean", "")},
		}},
		{Rule: "a/advice", Level: finding.Advise, Outcome: finding.Broken},
		{Rule: "a/dated", Level: finding.Hold, Outcome: finding.Broken, Accepted: taken("laboratory head", "2999-01-01")},
		{Rule: "a/open", Level: finding.Hold, Outcome: finding.Broken, Accepted: taken("x", "")},
		{Rule: "a/unread", Level: finding.Hold, Outcome: finding.Unread},
	}
	var got Counts
	got.add(fs)
	if want := (Counts{Hold: 2, Revise: 1, Advise: 1, CannotTell: 1, Accepted: 3, Unread: 1}); got != want {
		t.Errorf("found %+v, expected %+v", got, want)
	}
	s := summary(checker.Result{Verdict: checker.Hold, Findings: fs, Ran: 2}, false)
	if want := "Accepted with no day on which it lapses: a/folded (by the dean), a/open (by x)."; !strings.Contains(s, want) {
		t.Errorf("found %q, expected in it %q", s, want)
	}
	if s := summary(checker.Result{Verdict: checker.Clear, Findings: fs[2:3], Ran: 2}, false); strings.Contains(s, "lapses") {
		t.Errorf("found %q, expected no open end", s)
	}
	for _, test := range []struct {
		a    finding.Acceptance
		want string
	}{
		{finding.Acceptance{By: "the dean", Because: "b"}, "by the dean, open-ended: b"},
		{finding.Acceptance{By: "laboratory head", Until: "2999-01-01", Because: "b"}, "by laboratory head, until 2999-01-01: b"},
		{finding.Acceptance{By: "x", Until: "2001-01-01", Because: "b", Lapsed: true}, "the acceptance by x lapsed on 2001-01-01 and has no force: b"},
	} {
		if got := acceptance(&test.a); got != test.want {
			t.Errorf("found %q, expected %q", got, test.want)
		}
	}
}
