package bench

import (
	"strings"
	"testing"

	"ketyl/checker/procedure"
	"ketyl/checker/substance"
)

// A file that declares what the compendium knows is read as long as it says
// nothing else of it; a declaration that differs is not chosen over an entry.
func TestDeclaredAndKnown(t *testing.T) {
	const text = `
materials:
  diethyl ether: {amount: 20 mL}
  benzonitrile: {amount: 1.03 g}
apparatus: {flask: {kind: round-bottom flask, size: 100 mL}}
substances:
  benzonitrile: {DECLARED}
steps:
  - {add: [diethyl ether, benzonitrile], to: flask}
`
	c, err := substance.Default()
	if err != nil {
		t.Fatal(err)
	}
	for declared, reads := range map[string]bool{
		"formula: C7H5N, family: nitrile, phase: liquid":         true,
		"formula: C6H5CN, family: arene":                         true,
		"formula: C7H7N, family: nitrile":                        false,
		"formula: C7H5N, family: organolithium":                  false,
		"formula: C7H5N, family: nitrile, hazards: [H250]":       false,
		"formula: C7H5N, family: nitrile, attacked by: [oxygen]": false,
		"formula: C7H5N, family: nitrile, exclusion: glovebox":   false,
	} {
		p, bad := procedure.Load("p.yaml", []byte("procedure: p\ntitle: t\nformat: 1\nsetting: research\n"+strings.Replace(text, "DECLARED", declared, 1)))
		if len(bad) > 0 {
			t.Fatal(bad)
		}
		tr := Run(p, c, substance.DefaultSite())
		var got bool
		for _, f := range tr.Findings {
			got = got || f.Rule == "knowledge/declared-known"
		}
		if got == reads {
			t.Errorf("%s: read %v, want %v", declared, !got, reads)
		}
		all := eventsOf[*ProcedureFacts](tr)
		if told := len(all) == 1 && len(all[0].DeclaredKnown) == 1; told != reads {
			t.Errorf("%s: told %v, want %v", declared, told, reads)
		}
	}
}
