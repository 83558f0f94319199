package site

import (
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"ketyl/checker/document"
	"ketyl/checker/substance"
)

func TestRead(t *testing.T) {
	f, fs := Read("lab/.ketyl.yaml", []byte(`
name: ground floor
sources:
  meter: {cite: hygrometer in the hall, kind: common practice}
relative humidity: {value: 65, unit: '%', source: meter}
pump: 0.1 torr
temperature: 77 °F
room volume: 240 m3
gas purity: 99,999 %
grade default: {reagent: 0.1 %}
grades:
  tetrahydrofuran: {anhydrous: 20 ppm}
containers:
  - {name: halogenated organic, size: 10 L}
  - {name: drum outside, matter: organic, refuses: [live, water-reactive], size: 200 L}
fill limit: 80 %
limits:
  vessel fill: 60 %
  margin to boiling: 15 K
  peroxide class A after opening: 2 months
  drying/sample.loss_percent: 3
  heat/sample.rise_k: {value: 12, source: meter}
levels: {drying/sample: advise, heat/sample: off}
accepted:
  - {rule: addition/sample, procedure: x, step: 2, because: tried, by: head, until: 2031-07-31}
rules: [more, ../shared]
`))
	for _, fd := range fs {
		t.Error(fd.Message)
	}
	if f == nil {
		t.Fatal("nothing was read")
	}
	s, d := f.Site, substance.DefaultSite()
	for _, test := range []struct {
		what string
		got  *substance.Value
		want float64
		unit string
	}{
		{"humidity", s.Humidity, 65, "%"},
		{"pump: 0.1 torr at 1013.25/760 mbar", s.Pump, 0.133322, "mbar"},
		{"temperature: 77 °F", s.Temperature, 25, "°C"},
		{"room", s.Room, 240, "m3"},
		{"purity with a comma", s.GasPurity, 99.999, "%"},
		{"aspirator is the default's", s.Aspirator, *d.Aspirator.Value, d.Aspirator.Unit},
		{"fill limit", s.FillLimit, 80, "%"},
	} {
		if v := *test.got.Value; v < test.want*0.99999 || v > test.want*1.00001 || test.got.Unit != test.unit {
			t.Errorf("%s: %g %s, want %g %s", test.what, v, test.got.Unit, test.want, test.unit)
		}
	}
	if v := s.GradeDefault["reagent"]; *v.Value < 999.9 || *v.Value > 1000.1 || v.Unit != "ppm" {
		t.Errorf("0.1 %% is %g %s", *v.Value, v.Unit)
	}
	if _, ok := s.GradeDefault["anhydrous"]; !ok {
		t.Error("the other grades are lost")
	}
	if v := s.Grades["tetrahydrofuran"]["anhydrous"]; v.Value == nil || *v.Value != 20 {
		t.Errorf("grade of a solvent: %+v", v)
	}
	if v := s.Limits["vessel fill"]; *v.Value != 60 || s.Limits["syringe fill"].Value == nil || *s.Limits["margin to boiling"].Value != 15 || *s.Limits["peroxide class A after opening"].Value != 2 {
		t.Errorf("limits: %+v", s.Limits)
	}
	if len(s.Containers) != 2 || s.Containers[0].Matter == nil || *s.Containers[0].Size.Value != 10 || len(s.Containers[0].Refuses) == 0 {
		t.Errorf("containers: %+v", s.Containers)
	}
	if c, ok := s.Container("drum outside"); !ok || *c.Size.Value != 200 {
		t.Errorf("own container: %+v", c)
	}
	if len(f.Levels) != 2 || f.Levels[1].Rule != "heat/sample" || f.Levels[1].Level != "off" {
		t.Errorf("levels: %+v", f.Levels)
	}
	if len(f.Limits) != 2 || f.Limits[0].Rule != "drying/sample" || f.Limits[0].Name != "loss_percent" || f.Limits[0].Value != 3 || f.Limits[1].Source != "meter" {
		t.Errorf("limits of rules: %+v", f.Limits)
	}
	if a := f.Accepted; len(a) != 1 || a[0].Step != 2 || a[0].Until != "2031-07-31" || a[0].By != "head" || a[0].Procedure != "x" {
		t.Errorf("accepted: %+v", a)
	}
	if r := f.Rules; len(r) != 2 || r[0].Path != filepath.Join("lab", "more") || r[1].Path != "shared" {
		t.Errorf("folders: %+v", r)
	}
	if s.Sources["meter"].Cite == "" || s.Humidity.Source[0] != "meter" || s.Pump.Source[0] != ".ketyl.yaml" || s.Sources[".ketyl.yaml"].Cite == "" {
		t.Errorf("sources: %v", s.Sources)
	}
	if *d.Pump.Value != 1 || len(d.Containers) == 2 || *d.Limits["vessel fill"].Value == 60 || d.Sources["meter"].Cite != "" {
		t.Error("the default laboratory was changed")
	}
}

// Each fault is told at its line and column, and nothing is read by halves.
func TestReadRefuses(t *testing.T) {
	for _, test := range []struct{ name, in, want string }{
		{"empty", "", "s.yaml:1:1: "},
		{"not YAML", "a: [", "s.yaml:1:"},
		{"unknown key", "name: x\npummp: 1 mbar\n", "s.yaml:2:1: "},
		{"figure without a unit", "pump: 1\n", "s.yaml:1:7: found 1 without a unit, expected a figure in mbar"},
		{"another dimension", "pump: 1 mL\n", "s.yaml:1:7: found the unit `mL`, expected mbar"},
		{"no temperature difference", "limits:\n  margin to boiling: 10 °C\n", "s.yaml:2:22: found the unit `°C`, expected K"},
		{"a range", "pump: 1 to 2 mbar\n", "s.yaml:1:7: "},
		{"a word", "pump: good\n", "s.yaml:1:7: `pump`: found `good`, expected one figure with its unit"},
		{"a list", "pump: [1]\n", "s.yaml:1:7: "},
		{"value missing", "pump: {unit: mbar}\n", "s.yaml:1:1: `pump` has no `value`"},
		{"unknown limit", "limits: {vesel fill: 60 %}\n", "s.yaml:1:10: found the limit `vesel fill`, did you mean `vessel fill`?"},
		{"level", "levels: {a/b: holds}\n", "s.yaml:1:15: "},
		{"level as a list", "levels: {a/b: [hold]}\n", "s.yaml:1:15: "},
		{"accepted by nobody", "accepted: [{rule: a/b, because: x}]\n", "s.yaml:1:12: "},
		{"no day", "accepted: [{rule: a/b, because: x, by: y, until: next year}]\n", "s.yaml:1:50: found `next year`, expected a day"},
		{"container without a name", "containers: [{size: 4 L}]\n", "s.yaml:1:14: "},
		{"empty value", "pump:\n", "s.yaml:1:"},
		{"empty limit", "limits: {a/b.c: }\n", "s.yaml:1:"},
		{"empty list", "accepted:\n", "s.yaml:1:"},
	} {
		f, fs := Read("s.yaml", []byte(test.in))
		if f != nil || len(fs) == 0 {
			t.Errorf("%s: read as %+v", test.name, f)
			continue
		}
		if !strings.HasPrefix(fs[0].Message, test.want) {
			t.Errorf("%s: %s, want %s…", test.name, fs[0].Message, test.want)
		}
	}
}

// The built-in laboratory is itself a site file, and reading it changes nothing.
func TestReadDefault(t *testing.T) {
	b, err := os.ReadFile(filepath.Join("..", "..", "rules", "reference", "site.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	f, fs := Read("site.yaml", b)
	for _, fd := range fs {
		t.Error(fd.Message)
	}
	if f == nil {
		t.Fatal("nothing was read")
	}
	delete(f.Site.Sources, "site.yaml")
	if d := substance.DefaultSite(); !reflect.DeepEqual(f.Site.Limits, d.Limits) || !reflect.DeepEqual(f.Site.Pump, d.Pump) || !reflect.DeepEqual(f.Site.Sources, d.Sources) || !reflect.DeepEqual(f.Site.Containers, d.Containers) {
		t.Error("the default over the default is not the default")
	}
}

func TestFind(t *testing.T) {
	dir := t.TempDir()
	deep := filepath.Join(dir, "a", "b")
	if err := os.MkdirAll(deep, 0o755); err != nil {
		t.Fatal(err)
	}
	if got, ok := Find(deep); ok && strings.HasPrefix(got, dir) {
		t.Errorf("found %s where there is none", got)
	}
	for _, at := range []string{dir, filepath.Join(dir, "a")} {
		want := filepath.Join(at, FileName)
		if err := os.WriteFile(want, []byte("name: x\n"), 0o644); err != nil {
			t.Fatal(err)
		}
		if got, ok := Find(deep); !ok || got != want {
			t.Errorf("found %s, want the nearest, %s", got, want)
		}
	}
	if err := os.Mkdir(filepath.Join(deep, FileName), 0o755); err != nil {
		t.Fatal(err)
	}
	if got, _ := Find(deep); got != filepath.Join(dir, "a", FileName) {
		t.Errorf("took a folder for a site file: %s", got)
	}
}

// FuzzRead holds that a site file is read whole or not at all, without panic,
// and that each fault stands inside it.
func FuzzRead(f *testing.F) {
	f.Add([]byte("pump: 0.1 torr\nlimits: {vessel fill: 60 %, a/b.c: 3}\n"))
	f.Add([]byte("containers: [{name: solid, size: {value: 3, unit: L}, pH: {low: 5}}]\n"))
	f.Add([]byte("accepted: [{rule: a/b, because: x, by: y, until: 2031-01-01}]\nrules: x\nlevels: {a/b: off}\n"))
	f.Fuzz(func(t *testing.T, b []byte) {
		file, fs := Read("s.yaml", b)
		if (file == nil) != (len(fs) > 0) {
			t.Fatalf("file %v with %d faults", file != nil, len(fs))
		}
		for _, fd := range fs {
			if fd.Span.Start < 0 || fd.Span.End > len(b) {
				t.Fatalf("span %v of %s is outside", fd.Span, fd.Message)
			}
		}
	})
}

// What decoding takes and the schema does not, or the reverse, would confuse
// editors: the keys are the same.
func TestSchemaKeys(t *testing.T) {
	typ := reflect.TypeFor[shape]()
	for i := range typ.NumField() {
		key, _, _ := strings.Cut(typ.Field(i).Tag.Get("yaml"), ",")
		if key == "" {
			key = strings.ToLower(typ.Field(i).Name)
		}
		f, _ := document.Read("s.yaml", []byte("\""+key+"\": {a key that nobody knows: 1}\n"))
		s, err := compiled()
		if err != nil {
			t.Fatal(err)
		}
		for _, fd := range s.Validate(f) {
			if strings.Contains(fd.Message, "unknown key `"+key+"`") {
				t.Errorf("the schema lacks %s", key)
			}
		}
	}
}
