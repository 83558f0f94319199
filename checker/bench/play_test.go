package bench

import (
	"encoding/json"
	"os"
	"testing"

	"ketyl/checker/procedure"
	"ketyl/checker/substance"
)

// playFile plays a procedure of testdata and fails on any fault of reading.
func playFile(t *testing.T, name string) *Trace {
	t.Helper()
	raw, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	p, bad := procedure.Load(name, raw)
	for _, f := range bad {
		line, col := p.Source.Position(f.Span.Start)
		t.Fatalf("%s:%d:%d: %s", name, line, col, f.Message)
	}
	c, err := substance.Default()
	if err != nil {
		t.Fatal(err)
	}
	return Run(p, c, substance.DefaultSite())
}

func TestPhenylpentanol(t *testing.T) {
	tr := playFile(t, "../procedure/testdata/phenylpentanol.yaml")
	for _, f := range tr.Findings {
		t.Log(f.Rule, f.Message)
	}
	for _, e := range tr.Events {
		if e.Kind == "step" || e.Kind == "apparatus" {
			continue
		}
		b, _ := json.Marshal(e.Facts)
		s := string(b)
		if len(s) > 600 {
			s = s[:600]
		}
		t.Logf("%d %s %s: %s", e.Step, e.Kind, e.Subject, s)
	}
	for _, s := range tr.Steps {
		b, _ := json.Marshal(s.Vessels)
		t.Logf("%d %s: %s", s.Step, s.Text, b)
	}
}
