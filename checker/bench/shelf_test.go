package bench

import (
	"strings"
	"testing"

	"ketyl/checker/procedure"
	"ketyl/checker/substance"
)

func TestPeroxideResult(t *testing.T) {
	for text, want := range map[string]string{
		"negative": "clean", "negative, this week": "clean", "none found": "clean", "< 5 ppm by strip": "clean", "<25 ppm": "clean", "10 ppm": "clean", "3 mg/L": "clean", "no blue colour": "clean",
		"positive": "dirty", "25 ppm": "dirty", "100 ppm by strip": "dirty", "peroxides found": "dirty", "strip turned blue": "dirty", "positive, 3 years ago": "dirty",
		"?": "", "negative?": "", "unknown": "", "not tested": "", "tested this week": "", "tested by the stockroom": "", "to be tested": "",
	} {
		clean, dirty, note := peroxideResult(text)
		got := ""
		switch {
		case clean && !dirty:
			got = "clean"
		case dirty && !clean:
			got = "dirty"
		}
		if got != want || (note == "") != (want != "") {
			t.Errorf("%q: clean %v, dirty %v, note %q; want %q", text, clean, dirty, note, want)
		}
	}
}

// The months are those of the tables: Cornell University, laboratory safety
// manual, appendix J (A 3, B and D 12, C 24 h or inhibited 12); University of
// Southern California, storage times (B unstabilised in air 6, under nitrogen
// 12); a job aid on peroxidizable compounds (after receipt A 6, B 12).
func TestKeepMonths(t *testing.T) {
	for _, c := range []struct {
		row  string
		want float64
	}{
		{"diisopropyl ether: {amount: 50 mL, opened: 2030-01-01, inhibited: yes}", 3},
		{"diisopropyl ether: {amount: 50 mL, received: 2030-01-01}", 6},
		{"diethyl ether: {amount: 50 mL, opened: 2030-01-01, inhibited: yes}", 12},
		{"diethyl ether: {amount: 50 mL, opened: 2030-01-01}", 6},
		{"diethyl ether: {amount: 50 mL, opened: 2030-01-01, kept under: argon}", 12},
		{"diethyl ether: {amount: 50 mL, received: 2030-01-01}", 12},
		{"methyl methacrylate: {amount: 50 mL, opened: 2030-01-01}", 24. / 24 / 30.44},
		{"methyl methacrylate: {amount: 50 mL, opened: 2030-01-01, inhibited: yes}", 12},
	} {
		f := shelfFacts(t, c.row, "2030-03-01")
		near(t, c.row, f.KeepMonths.V, c.want, 0.001)
		near(t, c.row+" stood", f.OpenedMonths.V, 59/30.44, 0.01) // 31 + 28 days
	}
}

// A day that cannot be read is asked for in every place, and vouches nowhere.
func TestUnreadableDay(t *testing.T) {
	for _, text := range []string{"?", "unknown", "2030-02-30", "2031-01-01", "12 January", "never mind"} {
		f := shelfFacts(t, `diethyl ether: {amount: 50 mL, inhibited: yes, opened: "`+text+`"}`, "2030-03-01")
		if f.OpenedMonths.Known || f.Opened || !strings.Contains(f.OpenedMonths.Ask(), "was opened") {
			t.Errorf("opened %q is read as %+v", text, f.OpenedMonths)
		}
	}
}

// Without the day of the run dates are asked about and ages stand.
func TestDayOfRunUnknown(t *testing.T) {
	f := shelfFacts(t, `diethyl ether: {amount: 50 mL, opened: 2030-01-01}`, "")
	if f.OpenedMonths.Known || !strings.Contains(f.OpenedMonths.Ask(), "day of the run") {
		t.Errorf("a date without a day of the run: %+v", f.OpenedMonths)
	}
	near(t, "an age", shelfFacts(t, `diethyl ether: {amount: 50 mL, opened: 3 months ago}`, "").OpenedMonths.V, 3, 0.001)
}

func shelfFacts(t *testing.T, row, on string) MaterialFacts {
	t.Helper()
	text := "procedure: shelf\n"
	if on != "" {
		text += "on: " + on + "\n"
	}
	text += "materials:\n  " + row + "\napparatus: {flask: {kind: flask, size: 250 mL}}\nsteps:\n  - {stand: flask, for: 1 h}\n"
	p, found := procedure.Load("shelf.yaml", []byte(text))
	for _, f := range found {
		t.Fatalf("%s: %s", row, f.Message)
	}
	c, err := substance.Default()
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range Run(p, c, substance.DefaultSite()).Events {
		if m, ok := e.Facts.(*MaterialEvent); ok {
			return m.Material
		}
	}
	t.Fatalf("%s: no material", row)
	return MaterialFacts{}
}
