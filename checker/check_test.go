package checker

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"ketyl/checker/finding"
	"ketyl/checker/judge"
	"ketyl/checker/procedure"
	"ketyl/checker/site"
	"ketyl/checker/substance"
)

// fixture is a checker with the two rules of testdata/rules alone, so that no
// test here depends on the trade's rules.
func fixture(t testing.TB) *Checker {
	t.Helper()
	set, fs := LoadRules(filepath.Join("testdata", "rules"))
	if len(fs) > 0 {
		t.Fatal(fs[0].Message)
	}
	compendium, err := substance.Default()
	if err != nil {
		t.Fatal(err)
	}
	return &Checker{Compendium: compendium, Rules: set, Site: substance.DefaultSite(), Today: time.Date(2030, 6, 15, 12, 0, 0, 0, time.UTC), ran: len(set.Rules())}
}

// text makes a procedure that the fixture's rules speak of.
func text(students, more string) string {
	return "procedure: sample\n" + students + more + `materials:
  toluene: {amount: 40 mL}
  xylene: {amount: 10 mL}
apparatus:
  flask: {kind: round-bottom flask, size: 250 mL}
steps:
  - add: toluene
    to: flask
  - add: xylene
    to: flask
`
}

func verdicts(fs []finding.Finding) (out []string) {
	for _, f := range fs {
		state := ""
		if f.Accepted != nil {
			state = " accepted"
			if f.Accepted.Lapsed {
				state = " lapsed"
			}
		}
		out = append(out, fmt.Sprintf("%s %s %s%s", f.Rule, f.Level, f.Outcome, state))
	}
	return out
}

func TestFixtureRules(t *testing.T) {
	c := fixture(t)
	results := c.Rules.Test(c.Play, "")
	if len(results) != 4 {
		t.Errorf("%d examples ran, want 4", len(results))
	}
	for _, r := range results {
		if !r.OK {
			t.Errorf("%s, %s: %s", r.Rule, r.Example, r.Got)
		}
	}
}

func TestCheck(t *testing.T) {
	const few, many = "section: {students: 8}\n", "section: {students: 20}\n"
	accept := func(rule, more string) string {
		return "accepted:\n  - {rule: " + rule + ", because: tried, by: safety officer" + more + "}\n"
	}
	tests := []struct {
		name, text, verdict string
		strict              bool
		findings            []string
	}{
		{"revise", text(few, ""), Revise, false, []string{"timing/fixture-toluene revise broken"}},
		{"strict", text(few, ""), Hold, true, []string{"timing/fixture-toluene revise broken"}},
		{"hold", text(many, ""), Hold, false, []string{"timing/fixture-students hold broken", "timing/fixture-toluene revise broken"}},
		{"cannot tell", text("", ""), Hold, false, []string{"timing/fixture-students hold cannot tell", "timing/fixture-toluene revise broken"}},
		{"accepted", text(many, accept("timing/fixture-students", "")), Revise, false, []string{"timing/fixture-students hold broken accepted", "timing/fixture-toluene revise broken"}},
		{"accepted at its step", text(few, accept("timing/fixture-toluene", ", step: 1")), Clear, false, []string{"timing/fixture-toluene revise broken accepted"}},
		{"accepted on the last day", text(few, accept("timing/fixture-toluene", ", until: 2030-06-15")), Clear, false, []string{"timing/fixture-toluene revise broken accepted"}},
		{"lapsed", text(few, accept("timing/fixture-toluene", ", until: 2030-06-14")), Revise, false, []string{"timing/fixture-toluene revise broken lapsed"}},
		{"accepted at another step", text(few, accept("timing/fixture-toluene", ", step: 2")), Revise, false,
			[]string{"timing/fixture-toluene revise broken", "format/idle-acceptance advise broken"}},
		{"accepted for nothing", text(few, accept("timing/fixture-students", "")), Revise, false,
			[]string{"timing/fixture-toluene revise broken", "format/idle-acceptance advise broken"}},
		{"bad quantity", strings.Replace(text(few, ""), "40 mL", "40 furlongs", 1), Unread, false, nil},
		{"unknown key", text(few, "nonsense: 1\n"), Unread, false, nil},
		{"empty", "", Unread, false, nil},
		{"only a comment", "# nothing\n", Unread, false, nil},
		{"not YAML", "a: [", Unread, false, nil},
		{"not text", "\xff\xfe\x00", Unread, false, nil},
		{"two documents", text(few, "") + "---\n" + text(few, ""), Unread, false, nil},
		{"no steps", "procedure: x\nsteps: []\n", Unread, false, nil},
		{"a bomb", "a: &a [x]\nb: [*a, *a]\n", Unread, false, nil},
		{"deep", strings.Repeat("[", 20000), Unread, false, nil},
	}
	for _, test := range tests {
		c := fixture(t)
		c.Strict = test.strict
		r := c.Check("sample.yaml", []byte(test.text))
		if r.Verdict != test.verdict {
			t.Errorf("%s: verdict %s, want %s: %v", test.name, r.Verdict, test.verdict, r.Findings)
		}
		if got := verdicts(r.Findings); test.findings != nil && !slices.Equal(got, test.findings) {
			t.Errorf("%s: %q, want %q", test.name, got, test.findings)
		}
		if r.Verdict == Unread && len(r.Findings) == 0 {
			t.Errorf("%s: unread without a reason", test.name)
		}
		if (r.Ran == 0) != (r.Trace == nil) {
			t.Errorf("%s: %d rules ran, trace %v", test.name, r.Ran, r.Trace != nil)
		}
	}
}

// With the trade's rules, a substance that nobody knows holds a text back.
func TestUnknownSubstance(t *testing.T) {
	c, fs := New(Options{})
	if len(fs) > 0 {
		t.Fatal(fs[0].Message)
	}
	r := c.Check("x", []byte(strings.ReplaceAll(text("section: {students: 8}\n", ""), "xylene", "xyzzylene")))
	if r.Verdict != Hold && r.Verdict != Unread {
		t.Errorf("verdict %s: %q", r.Verdict, verdicts(r.Findings))
	}
	if !slices.ContainsFunc(r.Findings, func(f finding.Finding) bool {
		return strings.Contains(f.Message, "xyzzylene") && f.Level == finding.Hold
	}) {
		t.Errorf("no hold names it: %q", verdicts(r.Findings))
	}
}

// A fault inside the checker is a finding like any other, and never clear.
func TestPanic(t *testing.T) {
	c := fixture(t)
	c.Compendium, c.Site = nil, nil
	for _, r := range []Result{c.Check("sample.yaml", []byte(text("", ""))), c.Trace("sample.yaml", []byte(text("", "")))} {
		if r.Verdict != Unread || len(r.Findings) == 0 || r.Findings[0].Rule != "format/internal" {
			t.Errorf("verdict %s, %v", r.Verdict, r.Findings)
		}
	}
}

func TestVerdict(t *testing.T) {
	f := func(l finding.Level, o finding.Outcome, folded ...finding.Finding) finding.Finding {
		return finding.Finding{Level: l, Outcome: o, Consequences: folded}
	}
	yes, lapsed := &finding.Acceptance{By: "a role"}, &finding.Acceptance{By: "a role", Lapsed: true}
	with := func(f finding.Finding, a *finding.Acceptance) finding.Finding { f.Accepted = a; return f }
	tests := []struct {
		name   string
		fs     []finding.Finding
		strict bool
		want   string
	}{
		{"nothing", nil, false, Clear},
		{"advice", []finding.Finding{f(finding.Advise, finding.Broken)}, true, Clear},
		{"revise", []finding.Finding{f(finding.Revise, finding.Broken)}, false, Revise},
		{"strict", []finding.Finding{f(finding.Revise, finding.CannotTell)}, true, Hold},
		{"question", []finding.Finding{f(finding.Hold, finding.CannotTell)}, false, Hold},
		{"unread wins", []finding.Finding{f(finding.Hold, finding.Broken), f(finding.Advise, finding.Unread), f(finding.Hold, finding.Broken)}, false, Unread},
		{"folded hold", []finding.Finding{f(finding.Revise, finding.Broken, f(finding.Hold, finding.Broken))}, false, Hold},
		{"accepted", []finding.Finding{with(f(finding.Hold, finding.Broken), yes)}, true, Clear},
		{"lapsed", []finding.Finding{with(f(finding.Hold, finding.Broken), lapsed)}, false, Hold},
		{"unread cannot be accepted", []finding.Finding{with(f(finding.Hold, finding.Unread), yes)}, false, Unread},
	}
	for _, test := range tests {
		if got := verdict(test.fs, test.strict); got != test.want {
			t.Errorf("%s: %s, want %s", test.name, got, test.want)
		}
	}
}

// What is folded under an accepted finding is not accepted with it, and a
// finding folded over steps is accepted only if all of them are.
func TestAcceptFolded(t *testing.T) {
	c := fixture(t)
	p, fs := procedure.Load("x", []byte(text("", "")))
	if len(fs) > 0 {
		t.Fatal(fs)
	}
	acc := func(rule string, step int) procedure.Acceptance {
		return procedure.Acceptance{Rule: procedure.Text{S: rule}, Step: step, Because: procedure.Text{S: "tried"}, By: procedure.Text{S: "officer"}}
	}
	root := finding.Finding{Rule: "a/root", Level: finding.Hold, Outcome: finding.Broken, Step: 1, Consequences: []finding.Finding{
		{Rule: "a/mild", Level: finding.Revise, Outcome: finding.Broken, Step: 1},
		{Rule: "a/grave", Level: finding.Hold, Outcome: finding.Broken, Step: 2},
	}}
	p.Accepted = []procedure.Acceptance{acc("a/root", 1)}
	got := c.accept(p, []finding.Finding{root})
	if len(got) != 2 || got[0].Rule != "a/grave" || len(got[0].Consequences) != 1 || got[0].Consequences[0].Rule != "a/mild" || !Accepted(got[1]) || len(got[1].Consequences) != 0 {
		t.Errorf("accepted root: %+v", got)
	}
	if v := verdict(got, false); v != Hold {
		t.Errorf("verdict %s, want hold: the consequence stands", v)
	}
	p.Accepted = []procedure.Acceptance{acc("a/root", 1), acc("a/mild", 0), acc("a/grave", 2)}
	got = c.accept(p, []finding.Finding{root})
	if len(got) != 1 || len(got[0].Consequences) != 2 || verdict(got, true) != Clear {
		t.Errorf("all accepted: %+v", got)
	}
	twice := finding.Finding{Rule: "a/twice", Level: finding.Hold, Outcome: finding.Broken, Step: 1, Related: []finding.Related{{Span: p.Steps[1].Head, Message: "also at step 2"}}}
	for _, test := range []struct {
		name     string
		accepted []procedure.Acceptance
		want     bool
	}{
		{"one of two steps", []procedure.Acceptance{acc("a/twice", 1)}, false},
		{"the other step", []procedure.Acceptance{acc("a/twice", 2)}, false},
		{"both", []procedure.Acceptance{acc("a/twice", 1), acc("a/twice", 2)}, true},
		{"the whole text", []procedure.Acceptance{acc("a/twice", 0)}, true},
	} {
		p.Accepted = test.accepted
		if got := c.accept(p, []finding.Finding{twice}); Accepted(got[0]) != test.want {
			t.Errorf("%s: accepted %v", test.name, Accepted(got[0]))
		}
	}
	p.Accepted = []procedure.Acceptance{acc("a/unread", 0)}
	if got := c.accept(p, []finding.Finding{{Rule: "a/unread", Outcome: finding.Unread}}); got[0].Accepted != nil {
		t.Error("what is unread was accepted")
	}
}

// The site's acceptances hold for its procedures; one that names no procedure
// may match nothing in a text.
func TestSiteAcceptance(t *testing.T) {
	c := fixture(t)
	for _, test := range []struct {
		name string
		a    site.Acceptance
		want []string
	}{
		{"everywhere", site.Acceptance{Rule: "timing/fixture-toluene"}, []string{"timing/fixture-toluene revise broken accepted"}},
		{"this one", site.Acceptance{Procedure: "Sample", Rule: "timing/fixture-toluene", Step: 1}, []string{"timing/fixture-toluene revise broken accepted"}},
		{"another", site.Acceptance{Procedure: "other", Rule: "timing/fixture-toluene"}, []string{"timing/fixture-toluene revise broken"}},
		{"everywhere, idle", site.Acceptance{Rule: "timing/fixture-students"}, []string{"timing/fixture-toluene revise broken"}},
		{"this one, idle", site.Acceptance{Procedure: "sample", Rule: "timing/fixture-students"}, []string{"timing/fixture-toluene revise broken", "format/idle-acceptance advise broken"}},
	} {
		c.accepted = []site.Acceptance{test.a}
		if got := verdicts(c.Check("x", []byte(text("section: {students: 8}\n", ""))).Findings); !slices.Equal(got, test.want) {
			t.Errorf("%s: %q, want %q", test.name, got, test.want)
		}
	}
}

func TestLapsed(t *testing.T) {
	today := time.Date(2030, 6, 15, 23, 59, 0, 0, time.UTC)
	for until, want := range map[string]bool{"": false, "2030-06-14": true, "2030-06-15": false, "2030-06-16": false, "soon": true} {
		if lapsed(until, today) != want {
			t.Errorf("until %q: lapsed %v", until, !want)
		}
	}
}

func write(t *testing.T, name, text string) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return file
}

// New puts a site file into force, and says where it is at fault.
func TestNew(t *testing.T) {
	dir, err := filepath.Abs(filepath.Join("testdata", "rules"))
	if err != nil {
		t.Fatal(err)
	}
	file := write(t, ".ketyl.yaml", "pump: 1 torr\nrules: "+dir+"\nlevels: {timing/fixture-toluene: off}\nlimits: {timing/fixture-students.most: 30}\n")
	c, fs := New(Options{SiteFile: file})
	for _, f := range fs {
		if strings.Contains(f.Message, file) {
			t.Errorf("fault: %s", f.Message)
		}
	}
	if r, ok := c.Rules.Rule("timing/fixture-toluene"); !ok || r.Level != judge.Off {
		t.Errorf("the rule that is off: %+v", r)
	}
	if r, _ := c.Rules.Rule("timing/fixture-students"); len(r.Limits) != 1 || r.Limits[0].Value != 30 || !strings.Contains(r.Limits[0].Set, ".ketyl.yaml") {
		t.Errorf("limits: %+v", r.Limits)
	}
	if v := *c.Site.Pump.Value; v < 1.333 || v > 1.334 {
		t.Errorf("pump is %g mbar, want 1.3332 (1 torr)", v)
	}
	for _, test := range []struct{ name, text, want string }{
		{"unknown rule", "levels: {timing/nonesuch: hold}\n", ":1:10: "},
		{"unknown limit", "rules: " + dir + "\nlimits: {timing/fixture-students.moost: 30}\n", ":2:10: "},
		{"unknown accepted", "accepted:\n  - {rule: timing/nonesuch, because: x, by: y}\n", ":2:5: "},
		{"unknown key", "pummp: 1 mbar\n", ":1:1: "},
		{"no such folder", "rules: nowhere\n", "nowhere"},
	} {
		file := write(t, "site.yaml", test.text)
		_, fs := New(Options{SiteFile: file})
		if !slices.ContainsFunc(fs, func(f finding.Finding) bool {
			return f.Outcome == finding.Unread && strings.Contains(f.Message, test.want)
		}) {
			t.Errorf("%s: %v", test.name, fs)
		}
	}
	if _, fs := New(Options{SiteFile: "testdata/none.yaml"}); len(fs) == 0 {
		t.Error("a missing site file is no fault")
	}
}

// Many goroutines over one checker see the same (run with -race).
func TestConcurrent(t *testing.T) {
	c := fixture(t)
	b := []byte(text("section: {students: 20}\n", ""))
	want := fmt.Sprintf("%+v", c.Check("x", b).Findings)
	var group sync.WaitGroup
	for range 8 {
		group.Go(func() {
			for range 5 {
				if got := fmt.Sprintf("%+v", c.Check("x", bytes.Clone(b)).Findings); got != want {
					t.Errorf("got %s\nwant %s", got, want)
				}
			}
		})
	}
	group.Wait()
}

// FuzzCheck holds that no bytes make the checker panic, pass as clear what it
// could not read, or point outside the file.
func FuzzCheck(f *testing.F) {
	f.Add([]byte(text("section: {students: 8}\n", "")))
	f.Add([]byte(text("", "accepted: [{rule: timing/fixture-toluene, step: 1, because: x, by: y, until: 2031-01-01}]\n")))
	f.Add([]byte("procedure: x\nsteps: [{stir: flask}]\n"))
	c := fixture(f)
	f.Fuzz(func(t *testing.T, b []byte) {
		r := c.Check("x", b)
		if r.Verdict == Clear && (r.Procedure == nil || r.Trace == nil || r.Ran == 0) {
			t.Fatalf("clear, but not judged: %+v", r)
		}
		for _, fd := range r.Findings {
			if fd.Rule == "format/internal" {
				t.Fatal(fd.Message)
			}
			if fd.Span.Start < 0 || fd.Span.End > len(b) || fd.Span.Start > fd.Span.End {
				t.Fatalf("span %v of %s is outside the %d bytes", fd.Span, fd.Rule, len(b))
			}
		}
	})
}

// long is a whole procedure drawn out to forty steps.
func long(b *testing.B) []byte {
	text, err := os.ReadFile(filepath.Join("..", "procedures", "phenylpentanol.yaml"))
	if err != nil {
		b.Fatal(err)
	}
	p, fs := procedure.Load("long", text)
	if len(fs) > 0 {
		b.Fatal(fs[0].Message)
	}
	for n := len(p.Steps); n < 40; n++ {
		text = append(text, "\n  - stir: flask\n    for: 1 min\n"...)
	}
	return text
}

// BenchmarkCheck is a whole check of a procedure of forty steps, warm.
func BenchmarkCheck(b *testing.B) {
	text := long(b)
	c, fs := New(Options{})
	if len(fs) > 0 {
		b.Fatal(fs[0].Message)
	}
	if r := c.Check("long", text); r.Verdict == Unread || len(r.Procedure.Steps) < 40 {
		b.Fatal(r.Findings)
	}
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		c.Check("long", text)
	}
}

// BenchmarkLoad is what the check above is compared with: the same bytes read
// and decoded alone.
func BenchmarkLoad(b *testing.B) {
	text := long(b)
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		procedure.Load("long", text)
	}
}
