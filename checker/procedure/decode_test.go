package procedure

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"ketyl/checker/document"
	"ketyl/checker/finding"
	"ketyl/checker/quantity"
	"ketyl/schema"
)

var update = flag.Bool("update", false, "rewrite the verbs' descriptions in the schema")

func load(t testing.TB, name string) *Procedure {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	p, fs := Load(name, b)
	for _, line := range places(p, b, fs) {
		t.Error(line)
	}
	if p == nil {
		t.Fatal("no procedure")
	}
	f, _ := document.Read(name, b)
	s, err := compiled()
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range places(p, b, s.Validate(f)) {
		t.Errorf("the schema disagrees: %s", line)
	}
	return p
}

// places writes findings as "line:column rule message".
func places(p *Procedure, b []byte, fs []finding.Finding) (out []string) {
	src := finding.NewSource("", b)
	if p != nil {
		src = p.Source
	}
	for _, f := range fs {
		line, column := src.Position(f.Span.Start)
		out = append(out, fmt.Sprintf("%d:%d %s %s", line, column, f.Rule, f.Message))
	}
	return out
}

func one(t *testing.T, f *Figure, dim quantity.Dimension, want float64) {
	t.Helper()
	if f == nil {
		t.Fatalf("no figure, want %g", want)
	}
	if f.Dim != dim || math.Abs(f.Value()-want) > 1e-9*max(1, math.Abs(want)) {
		t.Errorf("%q: got %v %g, want %v %g", f.Raw, f.Dim, f.Value(), dim, want)
	}
}

func words(ts []Text) (out []string) {
	for _, t := range ts {
		out = append(out, t.S)
	}
	return out
}

// The procedure of the design decodes without loss.
func TestPhenylpentanol(t *testing.T) {
	p := load(t, "phenylpentanol.yaml")
	if p.Name.S != "1-phenylpentan-1-ol" || p.Setting != "teaching" || !p.Whole() {
		t.Errorf("head: %+v", p)
	}
	one(t, p.Section.Students, quantity.Count, 16)
	one(t, p.Section.Time, quantity.Time, 240)
	if p.Section.Alone == nil || *p.Section.Alone {
		t.Error("working alone: want no")
	}
	if f := p.Section.Stations["rotary evaporator"]; f.Value() != 2 {
		t.Errorf("stations: %+v", p.Section.Stations)
	}
	if len(p.Materials) != 7 || len(p.Apparatus) != 6 || len(p.Steps) != 16 {
		t.Fatalf("%d materials, %d pieces, %d steps", len(p.Materials), len(p.Apparatus), len(p.Steps))
	}
	buli := p.Materials[1]
	if buli.Solution == nil || buli.Solution.Strength.Value() != 1.6 || buli.Solution.Solvent != "hexanes" || buli.Portioned == nil || !*buli.Portioned {
		t.Errorf("n-butyllithium: %+v", buli)
	}
	thf := p.Materials[2]
	one(t, thf.Water, quantity.Fraction, 180e-6)
	if thf.Substance.S != "tetrahydrofuran" || thf.Grade.S != "reagent" {
		t.Errorf("thf: %+v", thf)
	}
	if q, ok := p.Materials[4].Amount.Of(quantity.Volume); !ok || q.Total() != 60 {
		t.Errorf("ether: %+v", q)
	}
	if q, ok := p.Materials[5].Amount.Of(quantity.Mass); !ok || q.Value() != 3 {
		t.Errorf("magnesium sulfate, an amount alone: %+v", q)
	}
	flask := p.Apparatus[0]
	one(t, flask.Size, quantity.Volume, 250)
	one(t, flask.Necks, quantity.Count, 3)
	funnel := p.Apparatus[1]
	if funnel.On.S != "flask" || funnel.Equalised == nil || !*funnel.Equalised {
		t.Errorf("funnel: %+v", funnel)
	}
	one(t, p.Apparatus[4].Purity, quantity.Fraction, 0.99999)
	one(t, p.Apparatus[5].Gauge, quantity.Count, 18)
	r := p.Reactions[0]
	if len(r.Consumes) != 2 || r.Consumes[1] != (Portion{r.Consumes[1].Name, 1}) || r.In.S != "flask" || r.HeatKJ == nil || *r.HeatKJ != -210 {
		t.Errorf("reaction: %+v", r)
	}
	one(t, p.Product.Boiling, quantity.Temperature, 137)
	one(t, p.Product.BoilingAt, quantity.Pressure, 21*1.33322387415)
	one(t, p.Product.Yield, quantity.Fraction, 0.79)
	if p.Approval.On.S != "2030-01-15" || p.Approval.Version.S != "3" || p.Protection.Hood == nil || len(p.Emergency) != 1 || p.Emergency[0].If.S == "" {
		t.Errorf("approval %+v, protection %+v, emergency %+v", p.Approval, p.Protection, p.Emergency)
	}

	dry := p.Steps[0]
	if dry.Verb.Name != "dry" || !slices.Equal(words(dry.Object), []string{"flask", "funnel", "condenser"}) || dry.CoolIn.S != "desiccator" {
		t.Errorf("step 1: %+v", dry)
	}
	one(t, dry.At, quantity.Temperature, 130)
	sieves := p.Steps[1]
	one(t, sieves.Load, quantity.Fraction, 0.2)
	one(t, sieves.ActivatedAt, quantity.Temperature, 300)
	one(t, sieves.ActivatedFor, quantity.Time, 900)
	if sieves.Load.Basis != "m/v" || sieves.Before == nil || !*sieves.Before || sieves.DoneBy.S != "stockroom" {
		t.Errorf("step 2: %+v", sieves)
	}
	one(t, p.Steps[2].Vacuum, quantity.Pressure, 1)
	one(t, p.Steps[2].Cycles, quantity.Count, 3)
	if p.Steps[3].Outlet.S != "bubbler" {
		t.Errorf("step 4: %+v", p.Steps[3])
	}
	cool := p.Steps[5]
	one(t, cool.ToTemp, quantity.Temperature, -78)
	if len(cool.To) != 0 || cool.ToPH != nil {
		t.Errorf("step 6 goes to a temperature only: %+v", cool)
	}
	add := p.Steps[6]
	one(t, add.Over, quantity.Time, 10)
	one(t, add.KeepBelow, quantity.Temperature, -65)
	if !slices.Equal(words(add.To), []string{"flask"}) || add.By.S != "syringe" || len(add.Cautions) != 1 || add.Cautions[0].About.S != "pyrophoric" {
		t.Errorf("step 7: %+v", add)
	}
	if !slices.Equal(words(add.RinseWith), []string{"thf"}) || add.RinseAmount.All[0].Value() != 2 {
		t.Errorf("step 7 rinses with %v %+v", words(add.RinseWith), add.RinseAmount)
	}
	one(t, p.Steps[7].RateFigure, quantity.DripRate, 120)
	if g := p.Steps[10]; g.Gives["organic"].S != "ether layer" || g.Gives["aqueous"].S != "aqueous layer" || !slices.Equal(g.GivesOrder, []string{"organic", "aqueous"}) {
		t.Errorf("step 11: %+v", g.Gives)
	}
	if v := p.Steps[12].Vacuum; v == nil || v.Dim != quantity.Word || v.Word != "aspirator" {
		t.Errorf("step 13: %+v", v)
	}

	// Places: what is underlined is what was written.
	at := func(sp finding.Span) string { return string(p.Source.Bytes[sp.Start:sp.End]) }
	for _, x := range []struct {
		sp   finding.Span
		want string
	}{
		{p.Span, "1-phenylpentan-1-ol"},
		{add.Head, "add: n-butyllithium"},
		{add.Object[0].Span, "n-butyllithium"},
		{add.Where("keep below"), "-65 °C"},
		{add.Where("cycles"), "add: n-butyllithium"},
		{add.RinseWith[0].Span, "thf"},
		{add.RinseAmount.Span, "2 mL"},
		{buli.SolSpan, "1.6 M in hexanes"},
		{buli.Amount.Span, "6.9 mL"},
		{p.Materials[5].Name.Span, "magnesium sulfate"},
		{p.Product.Boiling.Span, "137 °C"},
		{p.Product.BoilingAt.Span, "21 mmHg"},
	} {
		if got := at(x.sp); got != x.want {
			t.Errorf("place shows %q, want %q", got, x.want)
		}
	}
	if got := at(add.Span); !strings.HasPrefix(got, "add: n-butyllithium") || !strings.HasSuffix(got, "rinse with: thf, 2 mL") {
		t.Errorf("step 7 spans %q", got)
	}
}

// The constructs that facts of published texts need.
func TestConstructs(t *testing.T) {
	p := load(t, "constructs.yaml")
	if p.Whole() {
		t.Error("a text read in part is not whole")
	}
	dims := func(a *Amount) (ds []quantity.Dimension) {
		for _, q := range a.All {
			ds = append(ds, q.Dim)
		}
		return ds
	}
	m := map[string]*Material{}
	for _, x := range p.Materials {
		m[x.Name.S] = x
	}
	if got := dims(m["ester"].Amount); !slices.Equal(got, []quantity.Dimension{quantity.Mass, quantity.Volume, quantity.Amount}) {
		t.Errorf("ester: %v", got)
	}
	if got := dims(m["magnesium turnings"].Amount); !slices.Equal(got, []quantity.Dimension{quantity.Mass, quantity.Amount}) || m["magnesium turnings"].Amount.Raw != "27 g; 1.1 gram-atoms" {
		t.Errorf("magnesium: %v %q", got, m["magnesium turnings"].Amount.Raw)
	}
	if q := m["borane"].Amount.All[0]; q.Dim != quantity.Equivalents || q.Of != "1-octene" || q.Value() != 0.37 {
		t.Errorf("borane: %+v", q)
	}
	if s := m["caustic"].Solution; s == nil || s.SoluteMass.Value() != 200 || s.SolventVolume.Value() != 500 {
		t.Errorf("caustic: %+v", s)
	}
	for name, dim := range map[string]quantity.Dimension{"dry ice": quantity.Count, "iodine": quantity.Count, "water": quantity.Count, "stones": quantity.Count, "brine": quantity.Word, "hexane": quantity.Word} {
		if got := m[name].Amount; !got.Is() || got.All[0].Dim != dim {
			t.Errorf("%s: %+v, want %v", name, got, dim)
		}
	}
	if m["sodium sulfate"].Amount.Is() {
		t.Error("sodium sulfate has no amount")
	}
	one(t, p.Apparatus[3].Gauge, quantity.Count, 18)
	one(t, p.Apparatus[3].Size, quantity.Length, 150)
	if a := p.Apparatus[5]; a.Name.S != "beaker" || a.Kind.S != "beaker" {
		t.Errorf("a piece named only by its kind: %+v", a)
	}
	if s := p.Substances[0]; s.Name.S != "nopenal" || len(s.Hazards) != 2 || s.Boiling.Value() != 74 || s.BoilingAt.Dim != quantity.Pressure {
		t.Errorf("declared: %+v", s)
	}
	if len(p.Accepted) != 2 || p.Accepted[0].Step != 9 || p.Accepted[0].Until.S != "2031-01-01" || p.Accepted[1].Step != 9 || p.Accepted[1].Rule.S != "quench/reverse" {
		t.Errorf("accepted: %+v", p.Accepted)
	}

	s := func(n int) *Step { return p.Steps[n-1] }
	if s(1).Text.S != "the sheet on Grignard reagents, section 2" || s(1).Part.S != "A" || len(s(1).With) != 2 {
		t.Errorf("follow: %+v", s(1))
	}
	if !slices.Equal(words(s(2).Signs), []string{"cloudiness", "bubbles at the metal"}) || s(2).Otherwise.S == "" {
		t.Errorf("confirm: %+v", s(2))
	}
	if s(3).If.S != "it does not start" || s(3).ToTemp.Low != 35 || s(3).ToTemp.High != 40 {
		t.Errorf("conditional: %+v", s(3))
	}
	if s(4).Rate.S != "to hold gentle reflux" || s(4).RateFigure != nil || !s(4).Over.About || s(4).RinseAmount.All[0].Times != 2 {
		t.Errorf("rate in words: %+v", s(4))
	}
	if q := s(5).Amount.All[0]; q.Dim != quantity.Fraction || q.Value() != 0.5 || s(5).Rate.S == "" {
		t.Errorf("half: %+v", q)
	}
	if q := s(6).Amount.All[0]; q.Dim != quantity.Word {
		t.Errorf("the rest: %+v", q)
	}
	one(t, s(6).Portions, quantity.Count, 3)
	one(t, s(7).At, quantity.PerTime, 300)
	if s(7).For.Word != "overnight" || s(7).Temp.Dim != quantity.Temperature || s(7).Attended == nil || *s(7).Attended || s(7).Until.S == "" || s(7).StopPoint.S == "" {
		t.Errorf("stir: %+v", s(7))
	}
	if s(8).ToTemp.Low != 0 || s(8).ToTemp.High != 5 {
		t.Errorf("cool: %+v", s(8).ToTemp)
	}
	if s(9).Accepted == nil || s(9).Accepted.Rule.S != "quench/reverse" || s(9).ToTemp != nil {
		t.Errorf("pour: %+v", s(9))
	}
	one(t, s(10).ToPH, quantity.Count, 1)
	if ph := s(11).ToPH; ph == nil || !ph.AtLeast || ph.Low != 12 {
		t.Errorf("basify: %+v", ph)
	}
	one(t, s(12).ToPH, quantity.Count, 7)
	if s(13).Keep.S != "organic" || s(13).Gives["fraction 1"].S != "drops" {
		t.Errorf("separate: %+v", s(13))
	}
	if s(14).Repeat.Dim != quantity.Word || s(14).Repeat.Raw != "until the washings are neutral" {
		t.Errorf("wash: %+v", s(14).Repeat)
	}
	one(t, s(15).Leave, quantity.Volume, 50)
	if s(15).Verb.Name != "concentrate" || s(15).Trap.S == "" || s(16).Verb.Name != "trap" {
		t.Error("trap is a modifier beside a verb, else a verb")
	}
	one(t, s(17).Pressure, quantity.Pressure, 15*1.33322387415)
	one(t, s(17).Leave, quantity.Fraction, 0.1)
	if s(17).Gives[""].S != "product" || s(17).Fraction.Low != 131 {
		t.Errorf("distil: %+v", s(17))
	}
	if s(18).ToTemp == nil || s(18).ToTemp.Dim != quantity.Word || s(18).ToTemp.Word != "reflux" {
		t.Errorf("heat to reflux: %+v", s(18).ToTemp)
	}
	if !slices.Equal(words(s(19).RinseWith), []string{"1,2-dimethoxyethane"}) || s(19).RinseAmount.All[0].Value() != 5 {
		t.Errorf("rinse: %+v", s(19))
	}
	if at := s(20).At; at == nil || at.Dim != quantity.Word || at.Word != "mantle setting 6" {
		t.Errorf("a setting: %+v", at)
	}
	if len(s(21).Then) != 2 || len(s(21).Cautions) != 2 || s(21).Cautions[0].Say.S == "" || s(21).Rate.S != "dropwise" {
		t.Errorf("quench: %+v", s(21))
	}
}

// Each fault is reported once, at its line and column, with the nearest right
// word.
func TestFaults(t *testing.T) {
	tests := []struct {
		name string
		text string
		want []string // "line:column rule", then words the message or the fix must hold, parted by |
	}{
		{"eight faults", `procedure: eight
materials:
  thf: {substance: tetrahydrofuran, amount: 40 mK, watr: 180 ppm}
  ether: 3
steps:
  - stir: flask
    for: about 20 mim
    cycles: 3
  - evaporate: ether layer
    at: 40 °C
  - cool: flask
    add: thf
    to: -78 °C
  - add: thf
    to: flask
    keep below: 5 mL
`, []string{
			"3:48 format/quantity|mK",
			"3:52 format/key|`watr`|`water`",
			"4:10 format/quantity|`3`|without a unit|3 g",
			"7:19 format/quantity|mim|20 min",
			"8:5 format/modifier|`cycles` means nothing to `stir`|it takes at",
			"9:5 format/verb|`evaporate`|`concentrate`",
			"12:5 format/verb|`cool` and `add`|two steps",
			"16:17 format/quantity|a volume|a temperature|-78 °C",
		}},
		{"no verb at all", "procedure: a\nsteps:\n  - to: flask\n    by: syringe\n", []string{"3:5 format/verb|no verb|`to` and `by`"}},
		{"verb misspelt", "procedure: a\nsteps:\n  - reflx: flask\n", []string{"3:5 format/verb|`reflux`"}},
		{"american spelling", "procedure: a\nsteps:\n  - neutralize: flask\n", []string{"3:5 format/verb|`neutralise`"}},
		{"a need is missing", "procedure: a\nsteps:\n  - add: thf\n    over: 5 min\n", []string{"3:5 format/incomplete|`add` needs `to`"}},
		{"modifier misspelt", "procedure: a\nsteps:\n  - add: thf\n    to: flask\n    keep bellow: 5 °C\n", []string{"5:5 format/modifier|`keep below`"}},
		{"no object", "procedure: a\nsteps:\n  - stir:\n", []string{"3:5 format/incomplete|a vessel"}},
		{"empty value", "procedure: a\nsteps:\n  - stir: flask\n    note:\n", []string{"4:5 format/value|`note` says nothing"}},
		{"a step of words", "procedure: a\nsteps:\n  - stir the flask\n", []string{"3:5 format/verb|`stir the flask`|- stir: flask"}},
		{"in double quotes", "procedure: a\nsteps:\n  - stir: flask\n    for: \"20 mim\"\n", []string{"4:14 format/quantity|mim"}},
		{"escapes give the whole value", "procedure: a\nsteps:\n  - stir: flask\n    for: \"20\\u0020mim\"\n", []string{"4:10 format/quantity|mim"}},
		{"after wide characters", "procedure: a\nsteps:\n  - {stir: \"Kölbchen °\", for: 20 mim}\n", []string{"3:34 format/quantity|mim"}},
		{"inside brackets", "procedure: a\nmaterials: {ester: \"75 g (71.5 mL, 0.5 moo)\"}\nsteps: [stir: flask]\n", []string{"2:40 format/quantity|mol"}},
		{"one of a list", "procedure: a\nmaterials: {mg: {amount: [27 g, 1.1 gramatoms]}}\nsteps: [stir: flask]\n", []string{"2:37 format/quantity"}},
		{"rate that is a figure gone wrong", "procedure: a\nsteps:\n  - {add: a, to: b, rate: 5 mL/mim}\n", []string{"3:32 format/quantity|mL/min"}},
		{"acidity out of range", "procedure: a\nsteps:\n  - {acidify: a, to: pH 77}\n", []string{"3:22 format/quantity|pH"}},
		{"temperature gone wrong", "procedure: a\nsteps:\n  - {cool: a, to: -78 °Q}\n", []string{"3:24 format/quantity"}},
		{"one name for two things", "procedure: a\nmaterials: {ether: 5 mL}\napparatus: {Ether: bottle}\nsteps: [stir: flask]\n", []string{"3:13 format/name|a material"}},
		{"ghost step", "procedure: a\naccepted: [{rule: a/b, step: 2, because: c, by: head}]\nsteps: [stir: flask]\n", []string{"2:12 format/value|step 2|1 step"}},
		{"no day", "procedure: a\naccepted: [{rule: a/b, because: c, by: head, until: soon}]\nsteps: [stir: flask]\n", []string{"2:53 format/value|`soon`"}},
		{"nobody accepts", "procedure: a\naccepted: [{rule: a/b, because: c}]\nsteps: [stir: flask]\n", []string{"2:12 format/incomplete|`by`"}},
		{"coefficient", "procedure: a\nreactions: [{consumes: {a: -1}}]\nsteps: [stir: flask]\n", []string{"2:28 format/value|above 0"}},
		{"heat", "procedure: a\nreactions: [{consumes: {a: 1}, heat: lots}]\nsteps: [stir: flask]\n", []string{"2:38 format/quantity|-210 kJ/mol"}},
		{"part of a layer", "procedure: a\nsteps: [{extract: a, gives: {orgnic: b}}]\n", []string{"2:30 format/key|`organic`"}},
		{"who", "procedure: a\nsteps: [{stir: a, done by: studnet}]\n", []string{"2:28 format/value|`student`"}},
		{"maybe", "procedure: a\nsteps: [{stir: a, optional: maybe}]\n", []string{"2:29 format/value|yes or no"}},
		{"true as an object", "procedure: a\nsteps: [{stir: true}]\n", []string{"2:16 format/value|`true`"}},
		{"other format", "procedure: a\nformat: 2\nsteps: [stir: a]\n", []string{"2:9 format/value|expected 1"}},
		{"nothing needed is there", "title: a\n", []string{"1:1 format/incomplete|`procedure`", "1:1 format/incomplete|`steps`"}},
		{"no steps", "procedure: a\nsteps: []\n", []string{"2:8 format/incomplete|at least one step"}},
		{"empty list", "procedure: a\nsteps: [{stir: [], with: []}]\n", []string{"2:16 format/value|`stir`", "2:26 format/value|`with`"}},
		{"empty lists that mean none", "procedure: a\ncautions: []\nmaterials: {}\nsteps: [{stir: a, cautions: []}]\n", nil},
		{"rinse without its liquid", "procedure: a\nsteps: [{add: a, to: b, rinse with: {amount: 5 mL}}]\n", []string{"2:37 format/incomplete|`with`"}},
		{"one caution is still a list", "procedure: a\ncautions: hot\nsteps: [stir: a]\n", []string{"2:11 format/value|a list"}},
		{"true as a setting", "procedure: a\nsteps: [{stir: a, at: true}]\n", []string{"2:23 format/quantity|130 °C"}},
		{"a number for a piece of apparatus", "procedure: a\napparatus: {flask: 250}\nsteps: [stir: a]\n", []string{"2:20 format/value|kind"}},
		{"comma in a name", "procedure: a\nmaterials: {dme: {substance: 1,2-dimethoxyethane, amount: 3 mL}}\nsteps: [stir: a]\n", []string{"2:30 format/value|quotes|\"1,2-dimethoxyethane\""}},
		{"comma in an amount", "procedure: a\nmaterials: {e: {amount: 75 g (71.5 mL, 0.5 mol), grade: dry}}\nsteps: [stir: a]\n", []string{"2:25 format/value|quotes|\"75 g (71.5 mL, 0.5 mol)\""}},
		{"comma in a step", "procedure: a\nsteps: [{add: a, to: b, note: slowly, with care, and stirring, by: hand}]\n", []string{"2:31 format/value|quotes|\"slowly, with care, and stirring\""}},
		{"steps as words", "procedure: a\nsteps: stir\n", []string{"2:8 format/value|a list of steps"}},
		{"unknown section of the file", "procedure: a\nmaterial: {a: 1 g}\nsteps: [stir: a]\n", []string{"2:1 format/key|`materials`"}},
		{"a slip for mL", "procedure: a\nmaterials: {thf: 40 mm}\nsteps: [stir: a]\n", []string{"2:18 format/quantity|write mL"}},
		{"density without a unit", "procedure: a\nmaterials: {thf: {density: 0.9}}\nsteps: [stir: a]\n", []string{"2:28 format/quantity|without a unit|0.813 g/mL"}},
		{"list of words for the file", "- a\n- b\n", []string{"1:1 format/value|expected a procedure"}},
		{"rinse without a liquid", "procedure: a\nsteps: [{add: a, to: b, rinse with: \", 5 mL\"}]\n", []string{"2:37 format/value|a liquid"}},
		{"rinse amount", "procedure: a\nsteps: [{add: a, to: b, rinse with: \"ether, 5 mll\"}]\n", []string{"2:47 format/quantity|mll"}},
		{"amounts in a list of rinses", "procedure: a\nsteps: [{add: a, to: b, rinse with: [\"ether, 5 mL\"]}]\n", []string{"2:38 format/value|names only"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p, fs := Load("a.yaml", []byte(tt.text))
			got := places(p, []byte(tt.text), fs)
			if len(fs) != len(tt.want) {
				t.Fatalf("got %d findings, want %d:\n%s", len(fs), len(tt.want), strings.Join(got, "\n"))
			}
			for i, want := range tt.want {
				parts := strings.Split(want, "|")
				if !strings.HasPrefix(got[i], parts[0]+" ") {
					t.Errorf("got %s\nwant %s", got[i], want)
				}
				for _, word := range parts[1:] {
					if !strings.Contains(fs[i].Message+" "+fs[i].Fix, word) {
						t.Errorf("%s (%s)\nlacks %q", got[i], fs[i].Fix, word)
					}
				}
				if fs[i].Level != finding.Hold || fs[i].Outcome != finding.Unread {
					t.Errorf("%s: level %s, outcome %s", got[i], fs[i].Level, fs[i].Outcome)
				}
			}
		})
	}
}

// A fault in a step says which step and what it does.
func TestFaultNamesItsStep(t *testing.T) {
	_, fs := Load("a.yaml", []byte("procedure: a\nsteps:\n  - stir: b\n  - {add: [thf, ether], to: b, over: 5 mL}\nproduct: {nam: a}\n"))
	if len(fs) != 3 || fs[0].Step != 2 || fs[0].Subject != "add thf and ether" {
		t.Errorf("%+v", fs)
	}
	for _, f := range fs[1:] {
		if f.Step != 0 || f.Subject != "" {
			t.Errorf("outside the steps: %+v", f)
		}
	}
}

func TestUnreadable(t *testing.T) {
	for _, text := range []string{"", "# nothing\n", "a: [\n", "\x00", "a: &x 1\n", "steps: *nowhere\n"} {
		if p, fs := Load("a.yaml", []byte(text)); p != nil || len(fs) == 0 {
			t.Errorf("%q: procedure %v, %d findings", text, p, len(fs))
		}
	}
	if p, fs := Decode(nil); p != nil || fs != nil {
		t.Error("Decode(nil)")
	}
}

func TestMolarHeat(t *testing.T) {
	for s, want := range map[string][2]float64{
		"-210 kJ/mol":              {-210, -210},
		"−210 kJ/mol":              {-210, -210},
		"about -50 kcal/mol":       {-209.2, -209.2}, // 4.184 kJ per kcal
		"-240 to -200 kJ/mol":      {-240, -200},
		"+12,5 kJ/mol":             {12.5, 12.5},
		"ca. -1e2 kJ/mol":          {-100, -100},
		"lots":                     {math.NaN()},
		"-210":                     {math.NaN()},
		"NaN kJ/mol":               {math.NaN()},
		"-Inf kJ/mol":              {math.NaN()},
		"-200 to -300 to 1 kJ/mol": {math.NaN()},
	} {
		low, high, ok := molarHeat(s)
		if ok == math.IsNaN(want[0]) || ok && (math.Abs(low-want[0]) > 1e-9 || math.Abs(high-want[1]) > 1e-9) {
			t.Errorf("molarHeat(%q) = %g, %g, %v", s, low, high, ok)
		}
	}
}

func TestAcidity(t *testing.T) {
	for _, tt := range []struct {
		s        string
		expected bool
		low      float64
		high     float64
		ok       bool
	}{
		{"pH 7", false, 7, 7, true},
		{"pH7", false, 7, 7, true},
		{"pH 8-9", false, 8, 9, true},
		{"about pH 7", false, 7, 7, true},
		{"pH < 2", false, 0, 2, true},
		{"pH > 12", true, 12, math.Inf(1), true},
		{"neutral", true, 7, 7, true},
		{"neutral", false, 0, 0, false},
		{"7", true, 7, 7, true},
		{"7", false, 0, 0, false},
		{"pH 15", true, 0, 0, false},
		{"litmus", true, 0, 0, false},
		{"phenol", true, 0, 0, false},
		{"3 drops", true, 0, 0, false},
	} {
		q, ok := acidity(tt.s, tt.expected)
		if ok != tt.ok || ok && (q.Low != tt.low || q.High != tt.high || q.Raw != tt.s) {
			t.Errorf("acidity(%q, %v) = %+v, %v", tt.s, tt.expected, q, ok)
		}
	}
}

// sample is a value for each modifier; the verb decides which it takes.
var sample = map[string]string{
	"to": "vessel", "load": "5 g", "fraction": "64-66 °C", "limit": "25 ppm", "amount": "5 mL", "rinse with": "ether, 5 mL", "rate": "1 mL/min",
	"at": "20 °C", "temperature": "20 °C", "keep below": "20 °C", "keep above": "20 °C", "activated at": "300 °C",
	"vacuum": "1 mbar", "pressure": "1 mbar", "flow": "10 mL/min", "cycles": "3", "portions": "3", "size": "5 mL", "repeat": "2", "replicates": "3", "leave": "5 mL",
	"done by": "student", "cautions": "[hot]", "accepted": "{rule: a/b, because: c, by: head}",
}

func init() {
	for _, k := range []string{"for", "over", "within", "hold for", "time", "activated for"} {
		sample[k] = "5 min"
	}
	for _, k := range []string{"before the section", "optional", "attended", "vented", "shielded", "hot", "sealed"} {
		sample[k] = "yes"
	}
}

// Every verb decodes with every modifier it takes, and each reaches a field
// of the step.
func TestEveryModifierReachesAField(t *testing.T) {
	for _, v := range Verbs {
		for _, key := range slices.Concat(v.Takes, v.Needs, Everywhere) {
			value := sample[key]
			if value == "" {
				value = "word"
			}
			text := fmt.Sprintf("procedure: a\nsteps:\n  - %s: x\n    %s: %s\n", v.Name, key, value)
			if len(v.Needs) > 0 && !slices.Contains(v.Needs, key) {
				text += "    " + v.Needs[0] + ": vessel\n"
			}
			p, fs := Load("a.yaml", []byte(text))
			if len(fs) > 0 {
				t.Errorf("%s with %s: %v", v.Name, key, places(p, nil, fs))
				continue
			}
			agrees(t, text)
			s := p.Steps[0]
			if sp, ok := s.At_[key]; !ok || string(p.Source.Bytes[sp.Start:sp.End]) != value {
				t.Errorf("%s: place of %s: %v", v.Name, key, s.At_)
			}
			bare, _ := Load("a.yaml", []byte(strings.Replace(text, "    "+key+": "+value+"\n", "", 1)))
			a, b := *s, *bare.Steps[0]
			a.Span, b.Span, a.At_, b.At_ = finding.Span{}, finding.Span{}, nil, nil
			if reflect.DeepEqual(a, b) {
				t.Errorf("%s: %s left no trace in the step", v.Name, key)
			}
		}
	}
}

// agrees fails when the schema finds fault with a text that decodes.
func agrees(t *testing.T, text string) {
	t.Helper()
	s, err := compiled()
	if err != nil {
		t.Fatal(err)
	}
	f, _ := document.Read("a.yaml", []byte(text))
	for _, fd := range s.Validate(f) {
		t.Errorf("the schema disagrees: %s\n%s", fd.Message, text)
	}
}

func names(list []string) map[string]bool {
	m := map[string]bool{}
	for _, s := range list {
		m[s] = true
	}
	return m
}

// The schema offers exactly the keys that decoding knows.
func TestSchemaKeys(t *testing.T) {
	var root map[string]any
	if err := json.Unmarshal(schema.Procedure(), &root); err != nil {
		t.Fatal(err)
	}
	get := func(path ...string) map[string]any {
		v := any(root)
		for _, key := range path {
			v = v.(map[string]any)[key]
		}
		m, ok := v.(map[string]any)
		if !ok {
			t.Fatalf("no %v", path)
		}
		return m
	}
	steps := map[string]bool{}
	for _, v := range Verbs {
		steps[v.Name] = true
		for _, k := range slices.Concat(v.Takes, v.Needs) {
			steps[k] = true
		}
		for _, k := range v.Needs {
			if !v.takes(k) {
				t.Errorf("%s needs %s but does not take it", v.Name, k)
			}
		}
	}
	for _, k := range Everywhere {
		steps[k] = true
	}
	for _, k := range modifiers.names {
		if !steps[k] {
			t.Errorf("no verb takes the modifier %q", k)
		}
	}
	for k := range steps {
		_, verb := FindVerb(k)
		if _, mod := modifiers.by[k]; !verb && !mod {
			t.Errorf("the modifier %q is not decoded", k)
		}
	}
	for _, x := range []struct {
		path []string
		want map[string]bool
	}{
		{[]string{"properties"}, names(procedureFields.names)},
		{[]string{"$defs", "step", "properties"}, steps},
		{[]string{"$defs", "material", "properties"}, names(materialFields.names)},
		{[]string{"$defs", "apparatus", "properties"}, names(apparatusFields.names)},
		{[]string{"$defs", "reaction", "properties"}, names(reactionFields.names)},
		{[]string{"$defs", "declared", "properties"}, names(declaredFields.names)},
		{[]string{"$defs", "acceptance", "properties"}, names(acceptanceFields.names)},
		{[]string{"$defs", "step", "properties", "accepted", "properties"}, names(stepAcceptanceFields.names)},
		{[]string{"$defs", "step", "properties", "accepted", "items", "properties"}, names(stepAcceptanceFields.names)},
		{[]string{"$defs", "step", "properties", "rinse with", "properties"}, names(rinseFields.names)},
		{[]string{"$defs", "cautions", "items", "properties"}, names(cautionFields.names)},
		{[]string{"$defs", "gives", "properties"}, names(parts)},
		{[]string{"properties", "section", "properties"}, names(sectionFields.names)},
		{[]string{"properties", "product", "properties"}, names(productFields.names)},
		{[]string{"properties", "protection", "properties"}, names(protectionFields.names)},
		{[]string{"properties", "emergency", "items", "properties"}, names(branchFields.names)},
		{[]string{"properties", "approval", "properties"}, names(approvalFields.names)},
	} {
		got := map[string]bool{}
		for k := range get(x.path...) {
			got[k] = true
		}
		for k := range x.want {
			if !got[k] {
				t.Errorf("schema %v lacks %q", x.path, k)
			}
		}
		for k := range got {
			if !x.want[k] {
				t.Errorf("schema %v has %q, which is not decoded", x.path, k)
			}
		}
	}

	// An editor explains every key, so every key is described.
	var walk func(path string, v any)
	walk = func(path string, v any) {
		switch v := v.(type) {
		case map[string]any:
			for _, holder := range []string{"properties", "patternProperties", "$defs"} {
				for k, sub := range asMap(v[holder]) {
					if d, _ := asMap(sub)["description"].(string); !strings.HasSuffix(d, ".") {
						t.Errorf("%s/%s/%s: description %q", path, holder, k, d)
					}
				}
			}
			for k, sub := range v {
				if k != "examples" {
					walk(path+"/"+k, sub)
				}
			}
		case []any:
			for i, sub := range v {
				walk(fmt.Sprintf("%s/%d", path, i), sub)
			}
		}
	}
	walk("", any(root))
}

func asMap(v any) map[string]any {
	m, _ := v.(map[string]any)
	return m
}

// describe is what the schema says of a verb.
func describe(v Verb) string {
	s := v.Doc + " Stands before " + v.Object + "."
	if len(v.Needs) > 0 {
		s += " Needs " + strings.Join(v.Needs, ", ") + "."
	}
	if len(v.Takes) > 0 {
		s += " Takes " + strings.Join(v.Takes, ", ") + "."
	}
	return s
}

// The schema says of each verb what verbs.go says; -update rewrites it.
func TestSchemaDescribesVerbs(t *testing.T) {
	b := slices.Clone(schema.Procedure())
	steps := bytes.Index(b, []byte(`"step": {`+"\n      \"type\": \"object\""))
	if steps < 0 {
		t.Fatal("the schema has no step")
	}
	for _, v := range Verbs {
		want := describe(v)
		line := regexp.MustCompile(`(?m)^        "` + regexp.QuoteMeta(v.Name) + `": \{\n(?:          "\$ref": "[^"]*",\n)?          "description": ("(?:[^"\\]|\\.)*")`)
		m := line.FindSubmatchIndex(b[steps:])
		if m == nil {
			t.Errorf("the schema lacks the verb %s", v.Name)
			continue
		}
		from, to := steps+m[2], steps+m[3]
		var got string
		if err := json.Unmarshal(b[from:to], &got); err != nil {
			t.Fatal(err)
		}
		// A verb that is also a modifier goes on to say what it means as one.
		got, rest, both := strings.Cut(got, " As a modifier: ")
		if got == want {
			continue
		}
		if !*update {
			t.Errorf("the schema says of %s\n%s\nwant\n%s\n(run this test with -update)", v.Name, got, want)
			continue
		}
		if both {
			want += " As a modifier: " + rest
		}
		var quoted bytes.Buffer
		enc := json.NewEncoder(&quoted)
		enc.SetEscapeHTML(false)
		if err := enc.Encode(want); err != nil {
			t.Fatal(err)
		}
		b = slices.Replace(b, from, to, bytes.TrimSpace(quoted.Bytes())...)
	}
	if *update && !bytes.Equal(b, schema.Procedure()) {
		if err := os.WriteFile("../../schema/procedure.schema.json", b, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// Examples of the schema are offered to editors, so they must be readable.
func TestSchemaExamplesDecode(t *testing.T) {
	var root map[string]any
	if err := json.Unmarshal(schema.Procedure(), &root); err != nil {
		t.Fatal(err)
	}
	defs := asMap(root["$defs"])
	value := func(v any) string {
		b, err := json.Marshal(v) // JSON is YAML
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	takes := func(key string) string {
		for _, v := range Verbs {
			if v.takes(key) {
				return v.Name
			}
		}
		return "stir"
	}
	tried := 0
	try := func(what, text string) {
		tried++
		if p, fs := Load("a.yaml", []byte(text)); len(fs) > 0 {
			t.Errorf("%s: %v\n%s", what, places(p, []byte(text), fs), text)
		}
		agrees(t, text)
	}
	examples := func(props any, write func(key, example string) string) {
		for key, sub := range asMap(props) {
			list, _ := asMap(sub)["examples"].([]any)
			for _, ex := range list {
				try(key, write(key, value(ex)))
			}
		}
	}
	examples(asMap(defs["step"])["properties"], func(key, ex string) string {
		verb := takes(key)
		if key == "to" && strings.Contains(ex, "pH") {
			verb = "acidify"
		}
		text := fmt.Sprintf("procedure: a\nsteps:\n  - {%s: x, %s: %s", verb, key, ex)
		if v, _ := FindVerb(verb); len(v.Needs) > 0 && key != "to" {
			text += ", to: b"
		}
		return text + "}\n"
	})
	examples(asMap(defs["material"])["properties"], func(key, ex string) string {
		return fmt.Sprintf("procedure: a\nmaterials: {m: {%s: %s}}\nsteps: [stir: a]\n", key, ex)
	})
	examples(asMap(defs["apparatus"])["properties"], func(key, ex string) string {
		return fmt.Sprintf("procedure: a\napparatus: {m: {%s: %s}}\nsteps: [stir: a]\n", key, ex)
	})
	examples(asMap(defs["reaction"])["properties"], func(key, ex string) string {
		return fmt.Sprintf("procedure: a\nreactions: [{consumes: {b: 1}, %s: %s}]\nsteps: [stir: a]\n", key, ex)
	})
	examples(asMap(defs["declared"])["properties"], func(key, ex string) string {
		return fmt.Sprintf("procedure: a\nsubstances: {m: {%s: %s}}\nsteps: [stir: a]\n", key, ex)
	})
	for _, group := range []string{"section", "product", "protection", "approval"} {
		examples(asMap(asMap(root["properties"])[group])["properties"], func(key, ex string) string {
			name := ""
			if group == "product" && key != "name" {
				name = "name: b, "
			}
			return fmt.Sprintf("procedure: a\n%s: {%s%s: %s}\nsteps: [stir: a]\n", group, name, key, ex)
		})
	}
	for _, ex := range asMap(defs["gives"])["examples"].([]any) {
		try("gives", fmt.Sprintf("procedure: a\nsteps: [{extract: a, gives: %s}]\n", value(ex)))
	}
	if tried < 100 {
		t.Errorf("only %d examples tried", tried)
	}
}

// fortySteps is a typical procedure of forty steps.
func fortySteps(t testing.TB) []byte {
	t.Helper()
	b, err := os.ReadFile("testdata/phenylpentanol.yaml")
	if err != nil {
		t.Fatal(err)
	}
	head, steps, ok := bytes.Cut(b, []byte("\nsteps:\n"))
	if !ok {
		t.Fatal("no steps")
	}
	list := strings.SplitAfter("\n"+string(steps), "\n  - ")[1:]
	var out bytes.Buffer
	out.Write(head)
	out.WriteString("\nsteps:\n")
	for i := range 40 {
		out.WriteString("  - " + strings.TrimSuffix(strings.TrimSuffix(list[i%len(list)], "  - "), "\n") + "\n")
	}
	return out.Bytes()
}

func BenchmarkLoad(b *testing.B) {
	text := fortySteps(b)
	p, fs := Load("forty.yaml", text)
	if len(fs) > 0 || len(p.Steps) != 40 {
		b.Fatalf("%d steps, %v", len(p.Steps), places(p, text, fs))
	}
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		Load("forty.yaml", text)
	}
}

func FuzzLoad(f *testing.F) {
	files, err := filepath.Glob("testdata/*.yaml")
	if err != nil || len(files) == 0 {
		f.Fatal("no seeds", err)
	}
	for _, name := range files {
		b, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
	}
	for _, v := range Verbs {
		f.Add([]byte("procedure: a\nsteps:\n  - " + v.Name + ": x\n    to: pH 7\n"))
	}
	f.Add([]byte("steps:\n- add: [a, , b]\n  rinse with: {with: x, amount: [1 g]}\n  gives: {fraction 3: \"\\t\"}\n"))
	f.Add([]byte("reactions: [{consumes: {a: 1e9}, heat: -1 kcal/mol}]\nsteps: [{concentrate: 1, to: 2 mL, trap: t}]"))
	f.Fuzz(func(t *testing.T, b []byte) {
		p, fs := Load("f.yaml", b)
		if p == nil && len(fs) == 0 {
			t.Fatal("neither a procedure nor a word why")
		}
		inside := func(what string, sp finding.Span) {
			if sp.Start < 0 || sp.End < sp.Start || sp.End > len(b) {
				t.Fatalf("%s: span %v in %d bytes", what, sp, len(b))
			}
		}
		for _, fd := range fs {
			inside(fd.Message, fd.Span)
			for _, r := range fd.Related {
				inside(r.Message, r.Span)
			}
			if fd.Level != finding.Hold || fd.Outcome != finding.Unread || fd.Message == "" {
				t.Fatalf("%+v", fd)
			}
		}
		if p == nil {
			return
		}
		// Load asks the schema only where decoding found fault.
		if file, fs := document.Read("f.yaml", b); len(fs) == 0 {
			if _, fs := Decode(file); len(fs) == 0 {
				s, err := compiled()
				if err != nil {
					t.Fatal(err)
				}
				if fs := s.Validate(file); len(fs) > 0 {
					t.Fatalf("decoding passed over %v", places(p, b, fs))
				}
			}
		}
		for i, s := range p.Steps {
			inside("step", s.Span)
			inside("head", s.Head)
			for k, sp := range s.At_ {
				inside(k, sp)
			}
			if s.N != i+1 {
				t.Fatalf("step %d is numbered %d", i+1, s.N)
			}
			if s.Verb == nil && len(fs) == 0 {
				t.Fatalf("step %d has no verb and nobody says so", s.N)
			}
		}
		for _, m := range p.Materials {
			inside("material", m.Span)
		}
	})
}

// What is destroyed or brought to a pH is watched like a quench.
func TestDestroyAndNeutraliseAreWatched(t *testing.T) {
	const text = `procedure: p
steps:
  - {destroy: pot, with: methanol, keep below: 20 °C, portions: 5, outlet: bubbler, sign: no gas}
  - {neutralise: pot, with: acid, to: pH 7, sign: pH 7 on paper, hold for: 10 min, under: nitrogen}
  - {acidify: pot, with: acid, sign: pH 2 on paper}
  - {basify: pot, with: base, sign: pH 12 on paper}
`
	p, bad := Load("p.yaml", []byte(text))
	if len(bad) > 0 {
		t.Fatalf("%s", bad[0].Message)
	}
	if k := p.Steps[0].KeepBelow; k == nil || k.Value() != 20 {
		t.Errorf("keep below: %v, want 20 °C", k)
	}
	for _, s := range p.Steps {
		if len(s.Signs) != 1 {
			t.Errorf("%s: %d signs, want 1", s.Verb.Name, len(s.Signs))
		}
	}
}
