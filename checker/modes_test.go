package checker

import (
	"os"
	"testing"

	"ketyl/checker/document"
	"ketyl/checker/judge"
	"ketyl/rules"
)

// Every failure mode that reviewers look for is covered by a rule, or the list
// says why a written procedure cannot show it.
func TestFailureModes(t *testing.T) {
	raw, err := os.ReadFile("../testdata/failure-modes.yaml")
	if err != nil {
		t.Fatal(err)
	}
	var list struct {
		Modes []struct {
			ID      string `yaml:"id"`
			Because string `yaml:"because"`
		} `yaml:"modes"`
	}
	f, found := document.Read("failure-modes.yaml", raw)
	for _, x := range append(found, document.Decode(f, f.Root, &list)...) {
		t.Fatal(x.Message)
	}
	set, faults := judge.Load(rules.FS, ".", true)
	for _, x := range faults {
		t.Fatal(x.Message)
	}
	known, covered := map[string]bool{}, map[string][]string{}
	for _, m := range list.Modes {
		known[m.ID] = true
	}
	for _, r := range set.Rules() {
		for _, m := range r.Modes {
			if !known[m] {
				t.Errorf("%s covers %q, which is no mode of the list", r.ID, m)
			}
			covered[m] = append(covered[m], r.ID)
		}
	}
	for _, m := range list.Modes {
		switch {
		case len(covered[m.ID]) == 0 && m.Because == "":
			t.Errorf("no rule covers %s, and no reason is given", m.ID)
		case len(covered[m.ID]) > 0 && m.Because != "":
			t.Errorf("%s is said to be beyond a written text, and is covered by %v", m.ID, covered[m.ID])
		}
	}
	if len(list.Modes) != 120 {
		t.Errorf("%d modes, the catalogue has 120", len(list.Modes))
	}
}
