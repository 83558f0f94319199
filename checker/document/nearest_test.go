package document

import "testing"

func TestNearest(t *testing.T) {
	keys := []string{"to", "from", "volume", "keep below", "benzaldehyde", "n-butyllithium", "by", "for", "over"}
	for word, want := range map[string]string{
		"volum": "volume", "Volume": "volume", "vloume": "volume", "volumme": "volume",
		"keep_below": "keep below", "keep-below": "keep below", "keepbelow": "keep below", "keep\u00a0below": "keep below",
		"n butyllithium": "n-butyllithium", "n-butylithium": "n-butyllithium", "benzaldeyde": "benzaldehyde",
		"ot": "to", "form": "from", "t": "", "fro": "from",
		"temperature": "", "xy": "", "": "", "acetone": "", "q": "",
	} {
		if got := Nearest(word, keys); got != want {
			t.Errorf("nearest of %q is %q, want %q", word, got, want)
		}
	}
	if got := Nearest("a", nil); got != "" {
		t.Errorf("nearest of nothing is %q", got)
	}
}

// Distances of pairs known from the literature on edit distance; the last is
// the case where the restricted form differs from the full one (3, not 2).
func TestDistance(t *testing.T) {
	for _, tt := range []struct {
		a, b string
		want int
	}{
		{"kitten", "sitting", 3}, {"saturday", "sunday", 3}, {"abc", "abc", 0}, {"ab", "ba", 1}, {"", "abc", 3}, {"ca", "abc", 3},
	} {
		if got := distance([]rune(tt.a), []rune(tt.b), 99); got != tt.want {
			t.Errorf("%s to %s: %d, want %d", tt.a, tt.b, got, tt.want)
		}
		if got := distance([]rune(tt.b), []rune(tt.a), 99); got != tt.want {
			t.Errorf("%s to %s: %d, want %d", tt.b, tt.a, got, tt.want)
		}
	}
}
