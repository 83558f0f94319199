package bench

import (
	"strings"
	"testing"

	"ketyl/checker/substance"
)

// TestRefusesAsRefused: a container refuses a stream where, and only where, there
// is a reason for it.
func TestRefusesAsRefused(t *testing.T) {
	features := []string{"halogenated", "carbonate", "oxidiser", "toxic metal", "mercury", "cyanide", "live", "pyrophoric", "acid", "base", "aqueous", "organic", "solid", "sharp"}
	site := substance.DefaultSite()
	for i := range site.Containers {
		c := &site.Containers[i]
		for mask := range 1 << len(features) {
			feat, has := map[string]string{}, []string{}
			for j, k := range features {
				if mask>>j&1 == 1 {
					feat[k] = "why"
					has = append(has, k)
				}
			}
			if got, why := refuses(c, has), refused(c, feat, nil); got != (why != "") {
				t.Fatalf("%s, %v: refuses is %v, refused says %q", c.Name, has, got, why)
			}
		}
	}
}

// TestSameName holds sameName to what it stands for.
func TestSameName(t *testing.T) {
	names := []string{"", "a", "A", "flask", "Flask", "FLASK ", "flask\u212a", "flasKk", "flaskk", "funnel", "kelvin", "\u212aelvin", "Éther", "éther", "ether", "@", "`", "ſyringe", "syringe", "Syringe", "syringeſ", "syringes", "°", "n₂", "N₂"}
	for _, a := range names {
		for _, b := range names {
			if got, want := sameName(a, b), strings.EqualFold(a, b); got != want {
				t.Errorf("%q and %q: got %v, want %v", a, b, got, want)
			}
		}
	}
}

// TestHas holds has to what it stands for: words of lower case in a text of any.
func TestHas(t *testing.T) {
	words := []string{"", "ice", "ph 7", "é", "k", "drop", "reflux", "at once", "s", "\u00e5"}
	for _, s := range []string{"", "Ice", "in ICE", "pH 7", "\u212a", "É", "\u212b", "dropwise", "at  once", strings.Repeat("x", 200) + "Drop", "REFLUX at once"} {
		for _, w := range words {
			if got, want := has(s, w), s != "" && strings.Contains(strings.ToLower(s), w); got != want {
				t.Errorf("%q in %q: got %v, want %v", w, s, got, want)
			}
		}
	}
}
