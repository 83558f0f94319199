package checker_test

import (
	"fmt"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"

	"ketyl/checker"
	"ketyl/checker/finding"
)

// judge is one checker with the built-in rules and laboratory for all examples.
var judge = sync.OnceValues(func() (*checker.Checker, []finding.Finding) {
	return checker.New(checker.Options{})
})

func check(t *testing.T, name, text string) checker.Result {
	t.Helper()
	c, found := judge()
	for _, f := range found {
		t.Fatalf("the built-in rules: %s: %s", f.Rule, f.Message)
	}
	return c.Check(name, []byte(text))
}

func read(t *testing.T, name string) string {
	t.Helper()
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func list(t *testing.T, pattern string, atLeast int) []string {
	t.Helper()
	names, err := filepath.Glob(pattern)
	if err != nil {
		t.Fatal(err)
	}
	if len(names) < atLeast {
		t.Fatalf("%s: found %d files, expected at least %d", pattern, len(names), atLeast)
	}
	return names
}

// want is what a seeded fault must give.
type want struct {
	rule   string // id or glob: exclusion/*
	step   int    // 0 for the whole text
	level  finding.Level
	figure string // name of a figure that the finding carries; "none" where a word is at fault
	from   string // file of the sound text it was made from, or "none"
}

var (
	wantLine = regexp.MustCompile(`(?m)^# want: (\S+) step (\d+) level (hold|revise|advise) figure (\S+)$`)
	fromLine = regexp.MustCompile(`(?m)^# from: (\S+)$`)
)

func readWant(text string) (want, error) {
	m := wantLine.FindStringSubmatch(text)
	if m == nil {
		return want{}, fmt.Errorf("found no line `# want: FAMILY/RULE step N level LEVEL figure NAME`")
	}
	step, err := strconv.Atoi(m[2])
	if err != nil {
		return want{}, err
	}
	w := want{rule: m[1], step: step, level: finding.Level(m[3]), figure: m[4]}
	if _, err := path.Match(w.rule, ""); err != nil {
		return want{}, err
	}
	f := fromLine.FindStringSubmatch(text)
	if f == nil {
		return want{}, fmt.Errorf("found no line `# from: FILE`")
	}
	w.from = f[1]
	return w, nil
}

// flat is the findings with those folded under them.
func flat(fs []finding.Finding) []finding.Finding {
	var all []finding.Finding
	for _, f := range fs {
		all = append(all, f)
		all = append(all, flat(f.Consequences)...)
	}
	return all
}

func of(fs []finding.Finding, rule string) []finding.Finding {
	var some []finding.Finding
	for _, f := range flat(fs) {
		if ok, _ := path.Match(rule, f.Rule); ok {
			some = append(some, f)
		}
	}
	return some
}

// met says why no finding is the one wanted; nil when one is.
func (w want) met(fs []finding.Finding) error {
	near := of(fs, w.rule)
	for _, f := range near {
		if f.Step == w.step && f.Level == w.level && (w.figure == "none" || carries(f, w.figure)) {
			return nil
		}
	}
	var sb strings.Builder
	fmt.Fprintf(&sb, "no finding %s at step %d, %s, with the figure %s; found", w.rule, w.step, w.level, w.figure)
	if len(fs) == 0 {
		sb.WriteString(" nothing")
	}
	for _, f := range flat(fs) {
		fmt.Fprintf(&sb, "\n\t%s", brief(f))
	}
	return fmt.Errorf("%s", sb.String())
}

func carries(f finding.Finding, figure string) bool {
	for _, g := range f.Figures {
		if g.Name == figure && g.Value != nil {
			return true
		}
	}
	return false
}

func brief(f finding.Finding) string {
	s := fmt.Sprintf("%s step %d %s (%s): %s", f.Rule, f.Step, f.Level, f.Outcome, f.Message)
	for _, g := range f.Figures {
		s += fmt.Sprintf(" %s=%v", g.Name, g.Value)
	}
	return s
}

// TestReleasedProcedures: what a class is handed carries no hold, and nothing
// in it is left unread.
func TestReleasedProcedures(t *testing.T) {
	for _, name := range list(t, "../procedures/*.yaml", 12) {
		t.Run(filepath.Base(name), func(t *testing.T) {
			r := check(t, name, read(t, name))
			for _, f := range flat(r.Findings) {
				if f.Level == finding.Hold || f.Outcome == finding.Unread {
					t.Error(brief(f))
				}
			}
			if r.Verdict == checker.Hold || r.Verdict == checker.Unread {
				t.Errorf("the verdict is %s", r.Verdict)
			}
		})
	}
}

// TestReleasedProceduresCoverTheTrade: between them the examples show every
// way of keeping air out and the reagents a class asks for.
func TestReleasedProceduresCoverTheTrade(t *testing.T) {
	var all strings.Builder
	for _, name := range list(t, "../procedures/*.yaml", 12) {
		all.WriteString(read(t, name))
	}
	for what, re := range map[string]string{
		"drying tube":             `(?m)^  - guard: `,
		"flow and bubbler":        `(?m)^  - purge: .*\n(    .*\n)*    outlet: bubbler`,
		"balloon":                 `kind: balloon`,
		"evacuate and refill":     `(?m)^  - backfill: `,
		"glovebox":                `kind: glovebox`,
		"still":                   `kind: still[,}]`,
		"drying column":           `kind: solvent column`,
		"sieves":                  `with: molecular sieves 3A`,
		"equalised funnel":        `equalised: true`,
		"syringe":                 `(?m)^    by: syringe`,
		"cannula":                 `(?m)^    by: cannula`,
		"hydride":                 `(?m)^  lithium aluminium hydride: \{`,
		"organolithium":           `(?m)^  n-butyllithium: +\{`,
		"Grignard reagent":        `phenylmagnesium bromide: 2`,
		"proof of start":          `(?m)^  - confirm: initiation`,
		"amide base":              `gives: \{lithium diisopropylamide: 1`,
		"alkali metal":            `(?m)^  sodium: +\{`,
		"lithium under argon":     `(?m)^  lithium: +\{`,
		"low-valent complex":      `(?m)^  bis\(1,5-cyclooctadiene\)nickel\(0\): \{`,
		"degassed solvent":        `(?m)^  - sparge: `,
		"corrosive halide":        `(?m)^  thionyl chloride: +\{`,
		"scrubber":                `(?m)^  - scrub: `,
		"borane":                  `(?m)^  borane tetrahydrofuran complex: \{`,
		"control without a guard": `(?m)^  sodium borohydride: \{`,
	} {
		if !regexp.MustCompile(re).MatchString(all.String()) {
			t.Errorf("no released procedure shows: %s", what)
		}
	}
}

// TestFlawedProcedures: each file under testdata/flawed is a sound text with
// one fault, which must be found at its step, at its level, with its figure,
// and which the sound text does not have.
func TestFlawedProcedures(t *testing.T) {
	for _, name := range list(t, "../testdata/flawed/*.yaml", 24) {
		t.Run(filepath.Base(name), func(t *testing.T) {
			text := read(t, name)
			w, err := readWant(text)
			if err != nil {
				t.Fatal(err)
			}
			r := check(t, name, text)
			if r.Trace == nil {
				t.Fatalf("not read: %s", brief(r.Findings[0]))
			}
			if err := w.met(r.Findings); err != nil {
				t.Error(err)
			}
			if w.from == "none" {
				return
			}
			sound := filepath.Join("../procedures", w.from)
			for _, f := range of(check(t, sound, read(t, sound)).Findings, w.rule) {
				if f.Level.Rank() >= w.level.Rank() {
					t.Errorf("the sound text has the fault as well: %s", brief(f))
				}
			}
		})
	}
}

// edit takes blocks of text out of a procedure or puts others in their place.
type edit struct{ old, new string }

// apply fails the test when a block does not stand there exactly once.
func apply(t *testing.T, text string, edits []edit) string {
	t.Helper()
	for _, e := range edits {
		if n := strings.Count(text, e.old); n != 1 {
			t.Fatalf("the block %q stands %d times in the base", e.old, n)
		}
		text = strings.Replace(text, e.old, e.new, 1)
	}
	return text
}

// step cuts the nth step that begins with a head out of a procedure's text.
func step(t *testing.T, text, head string) string {
	t.Helper()
	i := strings.Index(text, "\n  - "+head+"\n")
	if i < 0 {
		t.Fatalf("no step %q in the base", head)
	}
	block := text[i+1:]
	if j := strings.Index(block[1:], "\n  - "); j >= 0 {
		block = block[:j+2]
	}
	return block
}

// row cuts a row of a table out of a procedure's text.
func row(t *testing.T, text, name string) string {
	t.Helper()
	m := regexp.MustCompile(`(?m)^  ` + regexp.QuoteMeta(name) + `: .*\n`).FindString(text)
	if m == "" {
		t.Fatalf("no row %q in the base", name)
	}
	return m
}

// TestTakingOneThingOut takes one safeguard at a time out of a sound procedure:
// each gives a finding of the right family with a figure, and putting it back
// silences it.
func TestTakingOneThingOut(t *testing.T) {
	const butyllithium, enolate = "../procedures/phenylpentanol.yaml", "../procedures/ethyl-3-hydroxy-3,3-diphenylpropanoate.yaml"
	cases := []struct {
		name   string
		base   string
		out    func(t *testing.T, text string) []edit
		rule   string
		level  finding.Level
		figure string
	}{
		{"the drying of the glass", butyllithium, func(t *testing.T, x string) []edit {
			return []edit{{step(t, x, "dry: [flask, funnel]"), ""}}
		}, "drying/*", finding.Hold, "glass_mmol"},
		{"the sieves", butyllithium, func(t *testing.T, x string) []edit {
			return []edit{{step(t, x, "dry: thf"), ""}, {row(t, x, "molecular sieves 3A"), ""}}
		}, "drying/*", finding.Hold, "water_mmol"},
		{"the equalising arm", butyllithium, func(*testing.T, string) []edit {
			return []edit{{", equalised: true", ""}}
		}, "addition/*", finding.Hold, "volume_ml"},
		{"the inert line", butyllithium, func(t *testing.T, x string) []edit {
			return []edit{{step(t, x, "purge: flask"), ""}, {step(t, x, "blanket: flask"), ""}, {row(t, x, "line"), ""}}
		}, "exclusion/*", finding.Hold, "mmol"},
		{"the bubbler", butyllithium, func(t *testing.T, x string) []edit {
			purge, blanket := step(t, x, "purge: flask"), step(t, x, "blanket: flask")
			return []edit{
				{row(t, x, "bubbler"), ""}, {", relief: bubbler on the line", ""}, {"septum, bubbler, stirrer", "septum, stirrer"},
				{purge, strings.Replace(purge, "    outlet: bubbler\n", "", 1)},
				{blanket, strings.Replace(blanket, "    outlet: bubbler\n", "", 1)},
			}
		}, "pressure/*", finding.Hold, "rise_bar"},
		{"the quench", butyllithium, func(t *testing.T, x string) []edit {
			return []edit{{step(t, x, "charge: ammonium chloride"), ""}, {step(t, x, "quench: flask"), ""}, {row(t, x, "ammonium chloride"), ""}}
		}, "quench/*", finding.Hold, "live_mmol"},
		{"the caution on fire in air", butyllithium, func(t *testing.T, x string) []edit {
			var es []edit
			for _, l := range regexp.MustCompile(`(?m)^.*about: pyrophoric.*\n`).FindAllString(x, -1) {
				es = append(es, edit{l, ""})
			}
			if len(es) != 2 {
				t.Fatalf("found %d cautions, expected 2", len(es))
			}
			return es
		}, "caution/*", finding.Hold, "mmol"},
		{"the waste route", butyllithium, func(t *testing.T, x string) []edit {
			return []edit{{step(t, x, "discard: [aqueous layer, brine washings]"), ""}}
		}, "waste/*", finding.Hold, "leftover_count"},
		{"evacuate and refill, for a drying tube", enolate, func(t *testing.T, x string) []edit {
			return []edit{
				{step(t, x, "backfill: [flask, ketone flask]"), "  - guard: [flask, ketone flask]\n    with: drying tube\n"},
				{step(t, x, "blanket: [flask, ketone flask]"), ""},
				{row(t, x, "manifold"), "  drying tube: {kind: drying tube, fill: calcium chloride, packing: loose granules}\n"},
			}
		}, "exclusion/*", finding.Hold, "oxygen_ppm"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			base := read(t, c.base)
			text := apply(t, base, c.out(t, base))
			if text == base {
				t.Fatal("nothing was taken out")
			}
			r := check(t, c.base, text)
			var hit bool
			for _, f := range of(r.Findings, c.rule) {
				hit = hit || f.Level == c.level && carries(f, c.figure)
			}
			if !hit {
				t.Errorf("no %s of %s with the figure %s; found:", c.level, c.rule, c.figure)
				for _, f := range flat(r.Findings) {
					t.Log(brief(f))
				}
			}
			for _, f := range of(check(t, c.base, base).Findings, c.rule) {
				if f.Level.Rank() >= c.level.Rank() {
					t.Errorf("still there when it is put back: %s", brief(f))
				}
			}
		})
	}
}
