package procedure

import (
	"strings"
	"testing"
)

// TestGaps: what a fix leaves to the reader is no value.
func TestGaps(t *testing.T) {
	text := func(steps string) []byte {
		return []byte("procedure: p\nmaterials: {toluene: {amount: 20 mL}}\napparatus: {flask: {kind: round-bottom flask, size: 100 mL}}\nsteps:\n" + steps)
	}
	for _, c := range []struct {
		step string
		want string // "" when it is read
	}{
		{"  - {heat: flask, at: …}", "a gap that is still to be filled"},
		{"  - {heat: flask, at: ..., bath: oil bath}", "a gap that is still to be filled"},
		{"  - {discard: flask, into: …}", "a gap that is still to be filled"},
		{"  - {add: toluene, to: flask, amount: …}", "expected a quantity"},
		{"  - {stir: flask, note: wait … then go on}", ""},
		{"  - {heat: flask, at: 40 °C, bath: oil bath}", ""},
	} {
		_, fs := Load("p", text(c.step+"\n"))
		var got []string
		for _, f := range fs {
			got = append(got, f.Message)
		}
		if all := strings.Join(got, "; "); c.want == "" && all != "" || !strings.Contains(all, c.want) {
			t.Errorf("%s: found %q, expected %q", c.step, all, c.want)
		}
	}
}
