package report

import (
	"bytes"
	"html"
	"regexp"
	"strings"
	"testing"

	"ketyl/checker"
	"ketyl/checker/document"
	"ketyl/checker/finding"
)

func TestMeasured(t *testing.T) {
	for _, test := range []struct {
		name  string
		value any
		want  string
	}{
		{"boiling_c", 34.7, "boiling point 34.7 °C"},
		{"vessel_boiling_c", 34.7, "boiling point in the vessel 34.7 °C"},
		{"rise_k", 15.0, "rise 15 K"},
		{"gas_l", 0.05, "gas 0.05 L"},
		{"volume_ml", 20.0, "volume 20 mL"},
		{"water_mmol", 0.5, "water 0.5 mmol"},
		{"heat_kj", 7.15, "heat given off 7.15 kJ"},
		{"half_life_min", 10.5, "half-life 10.5 min"},
		{"lead_h", 18.0, "lead 18 h"},
		{"loss_percent", 5.0, "loss 5 %"},
		{"need_ppm", 435.0, "water allowed 435 ppm"},
		{"pressure_bar", 2.09, "pressure 2.09 bar"},
		{"pressure_mbar", 5.0, "pressure 5 mbar"},
		{"ml_per_g", 20.0, "liquid 20 mL/g"},
		{"source_ppm", 320.0, "water in the source 320 ppm"},
		{"mmol", 11.0, "amount 11 mmol"},
		{"leftover_count", 2.0, "left over 2"},
		{"grade", "saturated", "grade saturated"},
		{"trap_c", "none", "trap c none"}, // no number, no unit
		{"barrier_rank", 1.0, "barrier of rank 1"},
	} {
		if got := measured(finding.Figure{Name: test.name, Value: test.value}); got != test.want {
			t.Errorf("%s: %q, want %q", test.name, got, test.want)
		}
	}
}

// The judge names each of several limits; the unit in the name is said once.
func TestPlainLimits(t *testing.T) {
	for in, want := range map[string]string{
		"Full. Limit: 1 mmol (ketyl default, derived).":                                                                   "Full. Limit: 1 mmol (ketyl default, derived).",
		"Full. Limits: gas 0.5 of the vessel (a, b); gas l 0.05 L (c).":                                                   "Full. Limits: gas 0.5 of the vessel (a, b); gas 0.05 L (c).",
		"Full. Limit: gas l 0.05 L (c).":                                                                                  "Full. Limit: gas 0.05 L (c).",
		"x. Limits: rise k 15 K (a); hold up ml 20 mL (b); end c −10 °C (c).":                                             "x. Limits: rise 15 K (a); hold-up 20 mL (b); end −10 °C (c).",
		"x. Limits: ml 20 mL (a); some percent 5 % m/v (b); ratio 1.5 (c). Also at step 3.":                               "x. Limits: 20 mL (a); some 5 % m/v (b); ratio 1.5 (c). Also at step 3.",
		"x. Limits: gas l 0.05 mol (a); cold c 3 cycles (site file a b.yaml).":                                            "x. Limits: gas l 0.05 mol (a); cold c 3 cycles (site file a b.yaml).",
		"x (2 L) is full. Limits: loss percent ∞ % (ketyl default, to be set by the site); boiling c 1e-05 °C (derived).": "x (2 L) is full. Limits: loss ∞ % (ketyl default, to be set by the site); boiling point 1e-05 °C (derived).",
	} {
		if got := plainLimits(in); got != want {
			t.Errorf("%s\ngot  %s\nwant %s", in, got, want)
		}
	}
}

// The level and rule stand on the first line, however long the title is, and
// no line is wider than the terminal.
func TestLongTitle(t *testing.T) {
	title := "step 1, add tetrakis(triphenylphosphine)palladium(0) and 4-bromotoluene and phenylboronic acid and potassium carbonate and toluene and ethanol and water"
	for _, test := range []struct {
		left, right string
		width       int
		want        string
	}{
		{"step 1", "hold · a/b", 30, "step 1              hold · a/b\n"},
		{title[:41], "hold · a/b", 40, "step 1, add                   hold · a/b\ntetrakis(triphenylphosphine…\n"},
		{"one two three four five six", "hold · a/bc", 30, "one two three      hold · a/bc\nfour five six\n"},
		{"x", "hold, cannot tell · family/rule", 34, "x\n   hold, cannot tell · family/rule\n"},
	} {
		var b bytes.Buffer
		newPainter(&b, Options{Width: test.width}).ends(test.left, "", test.right, "")
		if b.String() != test.want {
			t.Errorf("%q and %q:\n%swant\n%s", test.left, test.right, b.String(), test.want)
		}
	}
	for n := 40; n < 120; n++ {
		var b bytes.Buffer
		newPainter(&b, Options{Width: n}).ends(title, "", "hold, cannot tell · a/rule", "")
		lines := strings.Split(strings.TrimSuffix(b.String(), "\n"), "\n")
		if n > 50 && !strings.HasSuffix(lines[0], "hold, cannot tell · a/rule") || len(lines) > 4 {
			t.Errorf("width %d:\n%s", n, b.String())
		}
		for _, line := range lines {
			if width(line) > n {
				t.Errorf("width %d: %d cells in %q", n, width(line), line)
			}
		}
	}
}

// An assumption that several figures rest on is told once, after them.
func TestAssumedOnce(t *testing.T) {
	f := finding.Finding{Figures: []finding.Figure{
		{Name: "loss_percent", Value: 7.0, Assumed: "a figure of drying"}, {Name: "grade", Value: "wet"}, {Name: "source_ppm", Value: 320.0, Assumed: "a figure of drying"},
		{Name: "rise_k", Value: 3.0, Assumed: "a heat"},
	}}
	var b bytes.Buffer
	newPainter(&b, Options{}).finding(f, finding.NewSource("x", nil))
	want := "  assumed  loss 7 %, water in the source 320 ppm: a figure of drying\n  assumed  rise 3 K: a heat\n"
	if !strings.HasSuffix(b.String(), want) {
		t.Errorf("found\n%swant\n%s", b.String(), want)
	}
	r := results()[0]
	r.Findings = []finding.Finding{f}
	if page := printed(t, "html", options(), []checker.Result{r}); !strings.Contains(page, "<dd>loss 7 %, water in the source 320 ppm (assumed: a figure of drying); grade wet; rise 3 K (assumed: a heat)</dd>") {
		t.Errorf("the page says\n%s", page)
	}
}

// A line that several remarks point at is listed once, with all of them.
func TestRelatedOnce(t *testing.T) {
	src := finding.NewSource("x", []byte(text))
	f := finding.Finding{Related: []finding.Related{
		{Span: at("to: flask"), Message: "also at step 1"}, {Span: at("quench: flask"), Message: "also at step 4"},
		{Span: at("flask"), Message: "also at step 2"}, {Span: at("to: flask"), Message: "also at step 1"},
	}}
	got := related(f, src)
	if len(got) != 2 || got[0] != (seen{"", 4, "to: flask", "also at step 1; also at step 2"}) || got[1].line != 7 {
		t.Errorf("related lines are %+v", got)
	}
	var b bytes.Buffer
	newPainter(&b, Options{}).finding(f, src)
	if n := strings.Count(b.String(), "  see "); n != 2 {
		t.Errorf("%d lines under see, want 2:\n%s", n, b.String())
	}
}

// What is copied from the page is YAML again, with the breaks it had.
func TestFixCopied(t *testing.T) {
	fix := "cautions:\n  - about: pyrophoric\n    say: \"no <water> & no \\\"air\\\"\"\n"
	r := results()[0]
	r.Findings[0].Fix = fix
	page := printed(t, "html", options(), []checker.Result{r})
	m := regexp.MustCompile(`(?s)<dt>write</dt><dd><pre>(.*?)</pre></dd>`).FindStringSubmatch(page)
	if m == nil {
		t.Fatalf("no fix in\n%s", page)
	}
	copied := html.UnescapeString(m[1])
	if copied != strings.TrimSpace(fix) || strings.Contains(m[1], "<water>") {
		t.Errorf("copied is %q of %q", copied, m[1])
	}
	if f, fs := document.Read("x.yaml", []byte(copied)); len(fs) > 0 || f.Root.Get("cautions") == nil {
		t.Errorf("the copy is not read: %v", fs)
	}
}

// Several files are listed before the first of them; the verdict stands before
// the findings; a name without a title is said once.
func TestPageOrder(t *testing.T) {
	page := printed(t, "html", options(), results())
	before := func(a, b string) {
		t.Helper()
		if i, j := strings.Index(page, a), strings.Index(page, b); i < 0 || j < 0 || i > j {
			t.Errorf("%q stands at %d, %q at %d", a, i, b, j)
		}
	}
	before("Files and verdicts", "<section")
	before("href=\"#file-3\"", "<section")
	before("Verdict: hold.", "<article")
	before("white-space: pre-wrap", "<body>")
	section := page[strings.Index(page, "id=\"file-2\""):]
	section = section[:strings.Index(section, "<article")]
	if n := strings.Count(section, "lab/broken.yaml"); n != 1 {
		t.Errorf("the name of the file stands %d times in\n%s", n, section)
	}
	if one := printed(t, "html", options(), results()[:1]); strings.Contains(one, "Files and verdicts") {
		t.Error("a single file has a table of files")
	}
}
