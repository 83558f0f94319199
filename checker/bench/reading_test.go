package bench

import (
	"slices"
	"testing"
)

// What is said to go dry, and what only looks so.
func TestSaysDry(t *testing.T) {
	for text, want := range map[string]bool{
		"the pot is dry":                            true,
		"to dryness":                                true,
		"all is over; nothing is left":              true,
		"never to dryness":                          false,
		"stop before the pot is dry":                false,
		"not to dryness, a tenth stays":             false,
		"until the distillate is dry by the sieves": false,
		"100 mL are left":                           false,
		"":                                          false,
	} {
		if got := saysDry(text); got != want {
			t.Errorf("saysDry(%q) = %v, want %v", text, got, want)
		}
	}
}

// Where a bottle stands beside what attacks it.
func TestBesideWet(t *testing.T) {
	for text, want := range map[string]string{
		"flammables refrigerator; beside the aqueous reagents": "the aqueous reagents",
		"cupboard; next to the peroxides":                      "the peroxides",
		"refrigerator; away from water, acids and oxidisers":   "",
		"refrigerator; never beside aqueous reagents":          "",
		"dry box; beside the hexanes":                          "",
		"":                                                     "",
	} {
		if got := besideWet(text); got != want {
			t.Errorf("besideWet(%q) = %q, want %q", text, got, want)
		}
	}
}

// A word that several families bear is answered by all of them; a short or a
// strange one by none.
func TestWider(t *testing.T) {
	keys := []string{"azide", "metal amide", "carboxamide", "alkoxide"}
	for word, want := range map[string][]string{
		"amide":  {quoted("metal amide"), quoted("carboxamide")},
		"Azide":  {quoted("azide")},
		"ide":    nil,
		"quinol": nil,
	} {
		if got := wider(word, keys); !slices.Equal(got, want) {
			t.Errorf("wider(%q) = %v, want %v", word, got, want)
		}
	}
}

// Words for a gas that do not say which it is.
func TestUnnamedGas(t *testing.T) {
	for text, want := range map[string]bool{"inert gas": true, "an inert gas": true, "a stream of inert gas": true, "argon": false, "nitrogen": false, "a stream of argon": false, "": false} {
		if got := unnamedGas(text); got != want {
			t.Errorf("unnamedGas(%q) = %v, want %v", text, got, want)
		}
	}
}
