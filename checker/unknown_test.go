package checker

import (
	"os"
	"path/filepath"
	"testing"
)

// Nothing unknown ends in clear: not by a site file that turns the rule off,
// not by one that lowers it, not by an acceptance.
func TestUnknownNeverClear(t *testing.T) {
	text := []byte("procedure: p\ntitle: t\nformat: 1\nsetting: research\nmaterials: {zorblium: {amount: 1 g}, water: {amount: 10 mL}}\napparatus: {flask: {kind: round-bottom flask, size: 50 mL}}\nsteps:\n  - {add: water, to: flask}\n  - {add: zorblium, to: flask}\n")
	for name, site := range map[string]string{
		"nothing": "",
		"off":     "levels: {knowledge/unknown-substance: off}\n",
		"lowered": "levels: {knowledge/unknown-substance: advise}\n",
		"accept":  "accepted:\n  - {rule: knowledge/unknown-substance, because: we know it, by: instructor, until: 2099-01-01}\n",
	} {
		o := Options{}
		if site != "" {
			o.SiteFile = filepath.Join(t.TempDir(), "site.yaml")
			if err := os.WriteFile(o.SiteFile, []byte(site), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		c, found := New(o)
		for _, f := range found {
			t.Fatalf("%s: %s", name, f.Message)
		}
		if r := c.Check("p.yaml", text); r.Verdict != Hold && r.Verdict != Unread {
			t.Errorf("%s: a substance that nothing is known of ends in %s", name, r.Verdict)
		}
	}
}
