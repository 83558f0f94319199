// Package site reads a laboratory's site file: what the laboratory has, laid
// over the built-in default field by field, and what it settles about rules:
// their levels and limits, accepted deviations and folders of its own rules.
// It knows no rules: whether a rule of that name exists is for the judge.
package site

import (
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"ketyl/checker/document"
	"ketyl/checker/finding"
	"ketyl/checker/quantity"
	"ketyl/checker/substance"
	"ketyl/schema"
)

// FileName is what a site file is called when it is found by its place.
const FileName = ".ketyl.yaml"

// File is a site file read over the default laboratory.
type File struct {
	Source *finding.Source
	// Site is the laboratory; what the file leaves out is the default's.
	Site     *substance.Site
	Levels   []Level
	Limits   []Limit
	Accepted []Acceptance
	Rules    []Folder
	// OwnContainers: its waste containers stand in place of the default ones.
	OwnContainers bool
}

// Level sets a rule's level: hold, revise, advise or off.
type Level struct {
	Rule, Level string
	Span        finding.Span
}

// Limit sets a rule's limit, in the unit that the rule gives it.
type Limit struct {
	Rule, Name string
	Value      float64
	Unit       string // as written; empty where the figure stands alone
	Source     string
	Span       finding.Span
}

// Acceptance is a deviation that a role of the laboratory answers for.
type Acceptance struct {
	Procedure         string // its name; empty for every procedure
	Rule, Because, By string
	Step              int    // 0 for every step
	Until             string // last day, 2031-07-31; empty when it does not lapse
	Span              finding.Span
}

// Folder is a folder of rules, its path taken from the site file's folder.
type Folder struct {
	Path string
	Span finding.Span
}

// Find gives the nearest site file in dir and the folders above it.
func Find(dir string) (string, bool) {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return "", false
	}
	for {
		name := filepath.Join(dir, FileName)
		if info, err := os.Stat(name); err == nil && info.Mode().IsRegular() {
			return name, true
		}
		up := filepath.Dir(dir)
		if up == dir {
			return "", false
		}
		dir = up
	}
}

// The shape of a site file.
type (
	shape struct {
		Sources      map[string]substance.Source   `yaml:"sources"`
		Name         string                        `yaml:"name"`
		Humidity     *figure                       `yaml:"relative humidity"`
		Temperature  *figure                       `yaml:"temperature"`
		Pressure     *figure                       `yaml:"pressure"`
		Pump         *figure                       `yaml:"pump"`
		PumpSpeed    *figure                       `yaml:"pump speed"`
		Aspirator    *figure                       `yaml:"aspirator"`
		GasPurity    *figure                       `yaml:"gas purity"`
		Room         *figure                       `yaml:"room volume"`
		AirChanges   *figure                       `yaml:"air changes"`
		Grades       map[string]map[string]*figure `yaml:"grades"`
		GradeDefault map[string]*figure            `yaml:"grade default"`
		Containers   []container                   `yaml:"containers"`
		FillLimit    *figure                       `yaml:"fill limit"`
		Container    *figure                       `yaml:"container size"`
		Limits       []struct {
			Key     string
			KeySpan finding.Span
			Value   *figure
		} `yaml:"limits,ordered"`
		Forbidden []substance.Agent `yaml:"forbidden"`
		Levels    []struct {
			Key     string
			KeySpan finding.Span
			Value   *document.Node
		} `yaml:"levels,ordered"`
		Accepted []acceptance     `yaml:"accepted"`
		Rules    []*document.Node `yaml:"rules"`
		Source   []string         `yaml:"source"`
	}

	container struct {
		Name    string           `yaml:"name,required"`
		Names   []string         `yaml:"names"`
		Matter  []string         `yaml:"matter"`
		Only    []string         `yaml:"only"`
		Refuses []string         `yaml:"refuses"`
		PH      *substance.Value `yaml:"pH"`
		Size    *figure          `yaml:"size"`
		Source  []string         `yaml:"source"`
		Note    string           `yaml:"note"`
	}

	acceptance struct {
		Span      finding.Span   `yaml:",span"`
		Procedure string         `yaml:"procedure"`
		Rule      string         `yaml:"rule,required"`
		Step      int            `yaml:"step"`
		Because   string         `yaml:"because,required"`
		By        string         `yaml:"by,required"`
		Until     *document.Node `yaml:"until"`
	}
)

// figure is a value written short (65 %) or with its source
// ({value: 65, unit: '%', source: hygrometer in the hall}).
type figure struct {
	substance.Value
	span finding.Span
}

// FromNode reads either way of writing a figure.
func (g *figure) FromNode(f *document.File, n *document.Node) error {
	g.span = n.Span
	if n.Kind == document.Mapping {
		for i, fd := range document.Decode(f, n, &g.Value) {
			if i == 0 {
				return &document.PlaceError{Span: fd.Span, Message: fd.Message, Fix: fd.Fix}
			}
		}
		if g.Value.Value == nil {
			return &document.PlaceError{Span: n.Span, Message: "found no `value`, expected one figure", Fix: "write {value: 65, unit: '%', source: where it comes from}"}
		}
		return nil
	}
	number, unit := strings.TrimSpace(n.Text), ""
	if i := strings.IndexFunc(number, func(r rune) bool { return !strings.ContainsRune("0123456789.,+-−", r) }); i >= 0 {
		number, unit = number[:i], strings.TrimSpace(number[i:])
	}
	v, err := strconv.ParseFloat(strings.NewReplacer(",", ".", "−", "-").Replace(number), 64)
	if n.Kind != document.Scalar || err != nil || number == "" {
		return &document.PlaceError{Span: n.Span, Message: fmt.Sprintf("found %s, expected one figure with its unit", found(n)), Fix: "write 65 %, or {value: 65, unit: '%', source: where it comes from}"}
	}
	g.Value.Value, g.Unit = &v, unit
	return nil
}

func found(n *document.Node) string {
	if n.Kind == document.Scalar {
		return "`" + n.Text + "`"
	}
	return n.Kind.String()
}

var compiled = sync.OnceValues(func() (*document.Schema, error) {
	return document.CompileSchema("site.schema.json", schema.Site(), nil)
})

type reader struct {
	src *finding.Source
	own string // how the file is cited where a figure names no source
	fs  []finding.Finding
}

// report adds a fault; its message begins with file:line:column, since it is
// read beside findings in other files.
func (r *reader) report(at finding.Span, fix, format string, args ...any) {
	line, column := r.src.Position(at.Start)
	r.fs = append(r.fs, finding.Finding{
		Rule: "format/site", Level: finding.Hold, Outcome: finding.Unread, Span: at, Fix: fix,
		Message: fmt.Sprintf("%s:%d:%d: ", r.src.Name, line, column) + fmt.Sprintf(format, args...),
	})
}

func (r *reader) adopt(fs []finding.Finding) {
	for _, f := range fs {
		r.report(f.Span, f.Fix, "%s", f.Message)
	}
}

// Read reads a site file of that name over the default laboratory. Every
// fault is a finding of outcome unread whose message begins with
// file:line:column; with findings the File is nil, since judging by half a
// laboratory would mislead.
func Read(name string, b []byte) (*File, []finding.Finding) {
	f, fs := document.Read(name, b)
	r := &reader{src: f.Source, own: filepath.Base(name)}
	r.adopt(fs)
	if f.Root == nil || len(fs) > 0 {
		return nil, r.fs
	}
	checked, err := compiled()
	if err != nil {
		r.report(f.Root.Span, "", "%v", err)
		return nil, r.fs
	}
	r.adopt(checked.Validate(f))
	if len(r.fs) > 0 {
		return nil, r.fs
	}
	var s shape
	r.adopt(document.Decode(f, f.Root, &s))
	if len(r.fs) > 0 {
		return nil, r.fs
	}
	out := &File{Source: f.Source, Site: r.site(&s), OwnContainers: s.Containers != nil}
	r.settle(&s, out)
	if len(r.fs) > 0 {
		return nil, r.fs
	}
	return out, nil
}

// site lays the file over the default laboratory.
func (r *reader) site(s *shape) *substance.Site {
	site := *substance.DefaultSite()
	site.Sources = maps.Clone(site.Sources)
	if site.Sources == nil {
		site.Sources = map[string]substance.Source{}
	}
	maps.Copy(site.Sources, s.Sources)
	site.Sources[r.own] = substance.Source{Cite: "the site file " + r.own, Kind: "common practice"}
	if s.Name != "" {
		site.Name = s.Name
	}
	if s.Source != nil {
		site.Source = s.Source
	}
	for _, p := range []struct {
		to **substance.Value
		g  *figure
	}{
		{&site.Humidity, s.Humidity}, {&site.Temperature, s.Temperature}, {&site.Pressure, s.Pressure}, {&site.Pump, s.Pump},
		{&site.PumpSpeed, s.PumpSpeed}, {&site.Aspirator, s.Aspirator}, {&site.GasPurity, s.GasPurity}, {&site.Room, s.Room}, {&site.AirChanges, s.AirChanges},
		{&site.FillLimit, s.FillLimit}, {&site.ContainerSize, s.Container},
	} {
		if p.g != nil {
			*p.to = r.value(p.g, (*p.to).Unit)
		}
	}
	site.GradeDefault = maps.Clone(site.GradeDefault)
	for _, grade := range slices.Sorted(maps.Keys(s.GradeDefault)) {
		put(&site.GradeDefault, grade, r.value(s.GradeDefault[grade], "ppm"))
	}
	site.Grades = maps.Clone(site.Grades)
	if site.Grades == nil {
		site.Grades = map[string]map[string]substance.Value{}
	}
	for _, solvent := range slices.Sorted(maps.Keys(s.Grades)) {
		grades := maps.Clone(site.Grades[solvent])
		for _, grade := range slices.Sorted(maps.Keys(s.Grades[solvent])) {
			put(&grades, grade, r.value(s.Grades[solvent][grade], "ppm"))
		}
		site.Grades[solvent] = grades
	}
	if s.Containers != nil {
		site.Containers = nil
		for _, c := range s.Containers {
			site.Containers = append(site.Containers, r.container(c))
		}
	}
	if s.Forbidden != nil {
		site.Forbidden = s.Forbidden
	}
	return &site
}

func put(m *map[string]substance.Value, key string, v *substance.Value) {
	if *m == nil {
		*m = map[string]substance.Value{}
	}
	(*m)[key] = *v
}

// value gives a figure in the unit in which the bench reads it.
func (r *reader) value(g *figure, unit string) *substance.Value {
	v := g.Value
	if len(v.Source) == 0 {
		v.Source = []string{r.own}
	}
	switch x, err := convert(*v.Value, v.Unit, unit); {
	case v.Unit == "":
		r.report(g.span, fmt.Sprintf("write %s %s", quantity.FormatNumber(*v.Value), unit), "found %s without a unit, expected a figure in %s", quantity.FormatNumber(*v.Value), unit)
	case err != nil:
		r.report(g.span, "write it in "+unit, "found the unit `%s`, expected %s", v.Unit, unit)
	default:
		v.Value, v.Unit = &x, unit
	}
	return &v
}

// In gives a limit in the unit that its rule reads it in; a figure without a
// unit is in that unit already. The error says why it cannot be.
func (l Limit) In(unit string) (float64, error) {
	if l.Unit == "" {
		return l.Value, nil
	}
	return convert(l.Value, l.Unit, unit)
}

// convert leaves a figure in the wanted unit as it is, also where the unit is
// none of the trade's (months, 1/h), and converts any other.
func convert(v float64, from, to string) (float64, error) {
	plain := func(u string) string {
		return strings.NewReplacer(" ", "", "³", "3", "°", "", "month", "months", "monthss", "months", "peran", "/").Replace(u)
	}
	if from == to || plain(from) == plain(to) && to != "K" {
		return v, nil
	}
	if to == "K" { // a difference of temperature: no zero points
		return 0, fmt.Errorf("%s is no difference of temperature", from)
	}
	return quantity.Convert(v, from, to)
}

// container is a container of the file; what it leaves out of a container of
// the default's by that name is the default's.
func (r *reader) container(c container) substance.Container {
	out := substance.Container{Name: c.Name}
	if d, ok := substance.DefaultSite().Container(c.Name); ok {
		out = *d
		if d.Name != c.Name {
			out.Names = append([]string{d.Name}, d.Names...)
		}
		out.Name = c.Name
	}
	for _, p := range []struct {
		to  *[]string
		own []string
	}{{&out.Names, c.Names}, {&out.Matter, c.Matter}, {&out.Only, c.Only}, {&out.Refuses, c.Refuses}, {&out.Source, c.Source}} {
		if p.own != nil {
			*p.to = p.own
		}
	}
	if c.PH != nil {
		out.PH = c.PH
	}
	if c.Size != nil {
		out.Size = r.value(c.Size, "L")
	}
	if c.Note != "" {
		out.Note = c.Note
	}
	return out
}

// settle reads what the file says about rules, and the limits of the site.
func (r *reader) settle(s *shape, out *File) {
	out.Site.Limits = maps.Clone(out.Site.Limits)
	known := slices.Sorted(maps.Keys(substance.DefaultSite().Limits))
	for _, l := range s.Limits {
		if rule, name, ok := strings.Cut(l.Key, "."); ok && strings.Contains(rule, "/") {
			if l.Value == nil {
				r.report(l.KeySpan, "", "the limit %s has no value", l.Key)
				continue
			}
			source := strings.Join(l.Value.Source, ", ")
			if source == "" {
				source = "the site file " + r.own
			}
			out.Limits = append(out.Limits, Limit{Rule: rule, Name: name, Value: *l.Value.Value.Value, Unit: l.Value.Unit, Source: source, Span: l.KeySpan})
			continue
		}
		d, ok := out.Site.Limits[l.Key]
		if !ok {
			hint := ""
			if near := document.Nearest(l.Key, known); near != "" {
				hint = ", did you mean `" + near + "`?"
			}
			r.report(l.KeySpan, "write a rule's limit as family/rule.limit, or one of: "+strings.Join(known, ", "), "found the limit `%s`%s, expected a limit of the site or of a rule", l.Key, hint)
			continue
		}
		if l.Value != nil {
			put(&out.Site.Limits, l.Key, r.value(l.Value, d.Unit))
		}
	}
	for _, l := range s.Levels {
		out.Levels = append(out.Levels, Level{Rule: l.Key, Level: l.Value.Text, Span: l.KeySpan})
	}
	for _, a := range s.Accepted {
		acc := Acceptance{Procedure: a.Procedure, Rule: a.Rule, Step: a.Step, Because: a.Because, By: a.By, Span: a.Span}
		if a.Until != nil {
			acc.Until = a.Until.Text
			if _, err := time.Parse(time.DateOnly, acc.Until); err != nil {
				r.report(a.Until.Span, "write the last day as 2031-07-31", "found `%s`, expected a day", acc.Until)
			}
		}
		out.Accepted = append(out.Accepted, acc)
	}
	for _, n := range s.Rules {
		dir := n.Text
		if !filepath.IsAbs(dir) {
			dir = filepath.Join(filepath.Dir(r.src.Name), dir)
		}
		out.Rules = append(out.Rules, Folder{Path: dir, Span: n.Span})
	}
}
