package substance

import "testing"

// A formula names its own matter only: case decides between elements (Co and
// CO, Hf and HF), as IUPAC writes their symbols.
func TestFormulaIsNoOtherMatter(t *testing.T) {
	c, err := Default()
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]string{
		"(COCl)2": "oxalyl chloride", "CoCl2": "cobalt(II) chloride", "NaBH4": "sodium borohydride", "nabh4": "sodium borohydride",
		"NBS": "N-bromosuccinimide", "n-BuLi": "n-butyllithium", "HCl": "hydrochloric acid", "POCl3": "phosphorus oxychloride", "SOCl2": "thionyl chloride",
		"ZnCl2": "zinc chloride", "CHCl3": "chloroform", "SnCl4": "tin(IV) chloride", "CsF": "cesium fluoride",
	} {
		s, ok := c.Find(name)
		if !ok {
			if name == "CoCl2" || name == "CsF" {
				continue // no entry, and so nothing else either
			}
			t.Errorf("%s: not found", name)
			continue
		}
		if s.Name != want && !sameEntry(c, s.Name, want) {
			t.Errorf("%s: found %s, want %s", name, s.Name, want)
		}
	}
}

// sameEntry reports two names of one entry.
func sameEntry(c *Compendium, a, b string) bool {
	x, ok1 := c.Find(a)
	y, ok2 := c.Find(b)
	return ok1 && ok2 && x.Name == y.Name
}
