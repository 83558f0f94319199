package checker

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"ketyl/checker/bench"
	"ketyl/checker/finding"
)

const (
	caustic = `procedure: caustic
section: {students: 40}
materials: {sodium hydroxide: {solution: 2 M in water, amount: 60 mL}}
apparatus: {beaker: {kind: beaker, size: 250 mL}}
steps:
  - {add: sodium hydroxide, to: beaker}
  - {discard: beaker, into: basic aqueous}
`
	acidic = `procedure: acidic
section: {students: 12}
materials: {hydrochloric acid: {solution: 2 M in water, amount: 50 mL}}
apparatus: {jar: {kind: beaker, size: 250 mL}}
steps:
  - {add: hydrochloric acid, to: jar}
  - {discard: jar, into: basic aqueous}
`
)

// ofTrade is a checker with the rules of the trade.
func ofTrade(t *testing.T) *Checker {
	t.Helper()
	c, found := New(Options{})
	if len(found) > 0 {
		t.Fatal(found[0].Message)
	}
	return c
}

func texts(pairs ...string) (all []Text) {
	for i := 0; i < len(pairs); i += 2 {
		all = append(all, Text{pairs[i], []byte(pairs[i+1])})
	}
	return all
}

func found(r Result, rule string) *finding.Finding {
	i := slices.IndexFunc(r.Findings, func(f finding.Finding) bool { return f.Rule == rule })
	if i < 0 {
		return nil
	}
	return &r.Findings[i]
}

// Two texts that are sound alone meet in one bottle: both are held, each with
// the file and the step of the other.
func TestTogether(t *testing.T) {
	c := ofTrade(t)
	rs := c.Together(texts("a.yaml", caustic, "b.yaml", acidic))
	for i, other := range []string{"b.yaml", "a.yaml"} {
		r := rs[i]
		f := found(r, "waste/meeting")
		if f == nil {
			t.Fatalf("%s: nothing is said of the meeting", r.Path)
		}
		if r.Verdict != Hold || f.Step != 2 || !strings.Contains(f.Message, other) || !strings.Contains(f.Message, "step 2") {
			t.Errorf("%s: %s at step %d: %s", r.Path, r.Verdict, f.Step, f.Message)
		}
		if len(f.Related) != 1 || f.Related[0].Source == nil || f.Related[0].Source.Name != other || f.Related[0].Source.Bytes == nil {
			t.Errorf("%s: the place in the other file is %+v", r.Path, f.Related)
		}
		if r.Section != 2 {
			t.Errorf("%s: judged with %d", r.Path, r.Section)
		}
	}
	for _, r := range []Result{c.Check("a.yaml", []byte(caustic)), c.Check("b.yaml", []byte(acidic))} {
		if found(r, "waste/meeting") != nil {
			t.Errorf("%s alone: %s", r.Path, found(r, "waste/meeting").Message)
		}
	}
	// 40 students with 60 mL and 12 with 50 mL are 3.0 L
	for _, r := range rs {
		if len(r.Containers) != 1 || r.Containers[0].Litres != bench.Got(3) || !slices.Equal(r.Containers[0].Files, []string{"a.yaml", "b.yaml"}) {
			t.Errorf("%s: containers %+v", r.Path, r.Containers)
		}
	}
}

// The order of the files changes nothing but the order.
func TestTogetherOrder(t *testing.T) {
	c := ofTrade(t)
	one, two := c.Together(texts("a.yaml", caustic, "b.yaml", acidic)), c.Together(texts("b.yaml", acidic, "a.yaml", caustic))
	for i := range one {
		x, y := one[i], two[len(two)-1-i]
		if x.Path != y.Path || x.Verdict != y.Verdict || len(x.Findings) != len(y.Findings) {
			t.Errorf("%s: %s with %d findings, in the other order %s: %s with %d", x.Path, x.Verdict, len(x.Findings), y.Path, y.Verdict, len(y.Findings))
		}
	}
}

// Streams that get along in one bottle, or go into two, say nothing.
func TestTogetherHarmless(t *testing.T) {
	c := ofTrade(t)
	for name, b := range map[string]string{
		"a bottle of its own": strings.Replace(acidic, "basic aqueous", "acidic aqueous", 1),
		"the same again":      strings.Replace(caustic, "procedure: caustic", "procedure: again", 1),
	} {
		for _, r := range c.Together(texts("a.yaml", caustic, "b.yaml", b)) {
			if f := found(r, "waste/meeting"); f != nil {
				t.Errorf("%s: %s", name, f.Message)
			}
		}
	}
}

// Litres that fit alone are counted together.
func TestTogetherLitres(t *testing.T) {
	c := ofTrade(t)
	again := strings.Replace(caustic, "procedure: caustic", "procedure: again", 1)
	if r := c.Check("a.yaml", []byte(caustic)); found(r, "waste/bottles") != nil {
		t.Errorf("2.4 L alone: %s", found(r, "waste/bottles").Message)
	}
	for _, r := range c.Together(texts("a.yaml", caustic, "b.yaml", again)) {
		f := found(r, "waste/bottles")
		if f == nil || !strings.Contains(f.Message, "4.8 L") || !strings.Contains(f.Message, "a.yaml") || !strings.Contains(f.Message, "b.yaml") {
			t.Errorf("%s: 4.8 L in a 4 L bottle: %+v", r.Path, f)
		}
	}
}

// Alone in its section a text is judged as by itself.
func TestTogetherAlone(t *testing.T) {
	c := ofTrade(t)
	names, err := filepath.Glob("../procedures/*.yaml")
	if err != nil || len(names) == 0 {
		t.Fatal("no procedures", err)
	}
	for _, name := range names {
		b, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		one, alone := c.Together([]Text{{name, b}})[0], c.Check(name, b)
		if one.Verdict != alone.Verdict || len(one.Findings) != len(alone.Findings) {
			t.Errorf("%s: %s with %d findings, by itself %s with %d", name, one.Verdict, len(one.Findings), alone.Verdict, len(alone.Findings))
		}
	}
}

// What cannot be read leaves the others unjudged together, and says so.
func TestTogetherUnread(t *testing.T) {
	c := ofTrade(t)
	rs := c.Together(texts("a.yaml", caustic, "broken.yaml", "procedure: x\nsteps: [{stirr: flask}]\n"))
	if rs[0].Verdict != Unread || !strings.Contains(found(rs[0], "format/together").Message, "broken.yaml") {
		t.Errorf("beside a text that cannot be read: %s, %+v", rs[0].Verdict, found(rs[0], "format/together"))
	}
	if rs[1].Verdict != Unread {
		t.Errorf("the broken text itself: %s", rs[1].Verdict)
	}
}

// An acceptance of a meeting between two files is no idle one.
func TestTogetherAccepted(t *testing.T) {
	c := ofTrade(t)
	rs := c.Together(texts("a.yaml", caustic+"accepted:\n  - {rule: waste/meeting, step: 2, because: neutralised by staff, by: safety officer}\n", "b.yaml", acidic))
	if f := found(rs[0], "waste/meeting"); f == nil || !Accepted(*f) {
		t.Errorf("not accepted: %+v", f)
	}
	if f := found(rs[0], "format/idle-acceptance"); f != nil {
		t.Errorf("%s", f.Message)
	}
}
