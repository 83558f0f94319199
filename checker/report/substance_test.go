package report

import (
	"bytes"
	"regexp"
	"slices"
	"strings"
	"testing"

	"ketyl/checker/substance"
)

func cardText(t testing.TB, c *substance.Compendium, s *substance.Substance) string {
	t.Helper()
	var b bytes.Buffer
	if err := SubstanceText(&b, c, substance.DefaultSite(), s, Options{Width: 100000}); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// Every card answers where leftovers go, and says nothing that a chemist would
// smile at.
func TestCards(t *testing.T) {
	c, err := substance.Default()
	if err != nil {
		t.Fatal(err)
	}
	twice := regexp.MustCompile(`(\S+) to (\S+) `)
	for _, s := range c.All() {
		text := cardText(t, c, s)
		if strings.Contains(text, "as it is: ask") {
			t.Errorf("%s: nobody says where its leftovers go", s.Name)
		}
		for _, m := range twice.FindAllStringSubmatch(text, -1) {
			if m[1] == m[2] && strings.ContainsAny(m[1], "0123456789") {
				t.Errorf("%s: %q", s.Name, m[0])
			}
		}
		if s.Family == "water" && strings.Contains(text, "dry with") {
			t.Errorf("%s is dried", s.Name)
		}
		if strings.Contains(text, "<nil>") || strings.Contains(text, "%!") {
			t.Errorf("%s: %s", s.Name, text)
		}
		// hydrogen is no toxic gas, and no other gas that only burns or smothers
		if slices.Contains(s.Cautions, "toxic gas") && s.Phase == "gas" && !slices.ContainsFunc([]string{"H33", "H30", "H31", "EUH071", "H35", "H36", "H37"}, s.HasCode) {
			t.Errorf("%s: cautioned as a toxic gas, with the codes %v", s.Name, s.Hazards)
		}
		agents := []string{}
		for _, line := range strings.Split(text, "\n") {
			agent, ok := strings.CutPrefix(strings.TrimSpace(line), "do not dry with ")
			if !ok {
				continue
			}
			agent, _, _ = strings.Cut(strings.ReplaceAll(agent, "–", "-"), ":")
			if slices.Contains(agents, agent) {
				t.Errorf("%s: %s is barred twice", s.Name, agent)
			}
			agents = append(agents, agent)
		}
		for _, a := range s.DryWith {
			if strings.Contains(text, "drying with "+a.Agent+":") || strings.Contains(text, "do not dry with "+a.Agent+":") {
				t.Errorf("%s: dried with %s and not", s.Name, a.Agent)
			}
		}
		for _, a := range c.DryWithAgents(s) {
			if v := c.MayDry(s, a.Agent); len(v) > 0 && len(s.DryWith) == 0 {
				t.Errorf("%s: dry with %s, and %s", s.Name, a.Agent, v[0].Because)
			}
		}
	}
}

// What a colleague would say, line by line.
func TestCardLines(t *testing.T) {
	c, err := substance.Default()
	if err != nil {
		t.Fatal(err)
	}
	for _, test := range []struct {
		name      string
		has, hasn []string
	}{
		{"water", []string{"into neutral aqueous", "nothing: it is what attacks"}, []string{"lithium aluminium hydride", "vigour"}},
		{"pyridine", []string{"into non-halogenated organic"}, []string{": ask"}},
		{"triethylamine", []string{"dissolved in cold dilute acid"}, []string{": ask"}},
		{"hydrochloric acid", []string{"acidic aqueous"}, []string{": ask"}},
		{"nitrogen", []string{"well aired room"}, []string{": ask"}},
		{"ammonia", []string{"stirred dilute acid"}, []string{": ask"}},
		{"mercury", []string{"mercury"}, []string{": ask"}},
		{"hydrogen", []string{"warn of: hydrogen, flammable"}, []string{"toxic gas"}},
		{"lithium aluminium hydride", []string{"first with ethyl acetate, the usual choice", "2.54 L per g", "0.0962 L per mmol", "that gives off hydrogen"}, nil},
		{"allyl bromide", []string{"strong base", "amine", "dry with calcium chloride"}, []string{"chlorinated solvents"}},
		{"dichloromethane", []string{"strong base", "amine", "into halogenated organic"}, []string{"nothing is known"}},
		{"diethyl ether", []string{"test for peroxides before it is dried over a metal or a hydride", "discard or test 12 months after opening", "1.7 to 39.2 % v/v in air"}, nil},
		{"styrene", []string{"start its polymerisation"}, nil},
		{"toluene", nil, []string{"test for peroxides"}},
		{"palladium on carbon", []string{"assay as sold 10 % w/w"}, nil},
		{"diethylaluminium cyanide", []string{"hydrogen cyanide, 1 mol per mol"}, nil},
		{"calcium phosphide", []string{"phosphine, 2 mol per mol", "toxic gas"}, nil},
	} {
		s, _ := c.Lookup(test.name)
		if s == nil {
			t.Errorf("%s is not known", test.name)
			continue
		}
		text := cardText(t, c, s)
		for _, w := range test.has {
			if !strings.Contains(text, w) {
				t.Errorf("%s: no word of %q in\n%s", test.name, w, text)
			}
		}
		for _, w := range test.hasn {
			if strings.Contains(text, w) {
				t.Errorf("%s: %q has no place in\n%s", test.name, w, text)
			}
		}
	}
}

// A clash of the family is not told again under a narrower name.
func TestSaysAgain(t *testing.T) {
	wide := jsonAgent{Agent: "acids", Because: "toxic and explosive hydrazoic acid"}
	for _, test := range []struct {
		narrow jsonAgent
		want   bool
	}{
		{jsonAgent{Agent: "mineral acid", Because: "hydrazoic acid, toxic and explosive"}, true},
		{jsonAgent{Agent: "mineral acid", Because: "heat"}, false},
		{jsonAgent{Agent: "lead", Because: "toxic and explosive hydrazoic acid"}, false},
	} {
		if got := saysAgain(test.narrow, wide); got != test.want {
			t.Errorf("%+v: found %v, expected %v", test.narrow, got, test.want)
		}
	}
}
