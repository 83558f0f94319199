package substance

import (
	"fmt"
	"maps"
	"sync"

	"ketyl/checker/document"
	"ketyl/checker/finding"
	"ketyl/rules"
)

// Site is what a laboratory has: rules/reference/site.yaml is the default, a
// site file of one's own replaces any part of it.
type Site struct {
	Sources       map[string]Source           `yaml:"sources"`
	Name          string                      `yaml:"name"`
	Humidity      *Value                      `yaml:"relative humidity"`
	Temperature   *Value                      `yaml:"temperature"`
	Pressure      *Value                      `yaml:"pressure"`
	Pump          *Value                      `yaml:"pump"`
	PumpSpeed     *Value                      `yaml:"pump speed"` // of the pump itself, L/min
	Aspirator     *Value                      `yaml:"aspirator"`
	GasPurity     *Value                      `yaml:"gas purity"`
	Room          *Value                      `yaml:"room volume"`
	AirChanges    *Value                      `yaml:"air changes"`
	Grades        map[string]map[string]Value `yaml:"grades"`        // solvent → grade → water, ppm w/w
	GradeDefault  map[string]Value            `yaml:"grade default"` // grade → water, ppm w/w, where a solvent's entry is silent
	Containers    []Container                 `yaml:"containers"`
	FillLimit     *Value                      `yaml:"fill limit"`     // of a waste container, %
	ContainerSize *Value                      `yaml:"container size"` // where a container states none
	Limits        map[string]Value            `yaml:"limits"`
	Forbidden     []Agent                     `yaml:"forbidden"` // substances or families not used here
	// Levels raises or lowers a rule: hold, revise, advise or off.
	Levels   map[string]string `yaml:"levels"`
	Accepted []Acceptance      `yaml:"accepted"`
	Source   []string          `yaml:"source"`
}

// Acceptance is a deviation that a named role answers for; it is shown, never
// hidden, and lapses on its date.
type Acceptance struct {
	Procedure string `yaml:"procedure"` // empty: every procedure of the site
	Rule      string `yaml:"rule"`
	Step      string `yaml:"step"`
	Because   string `yaml:"because"`
	By        string `yaml:"by"`
	Until     string `yaml:"until"` // 2031-07-31
}

// Container is a waste container. A stream may go in when it is of the right
// matter, has one of the features in Only (if any are named), and has none of
// those in Refuses.
type Container struct {
	Name    string   `yaml:"name"`
	Names   []string `yaml:"names"`
	Matter  []string `yaml:"matter"` // organic | aqueous | solid | sharp | glass
	Only    []string `yaml:"only"`
	Refuses []string `yaml:"refuses"`
	PH      *Value   `yaml:"pH"`
	Size    *Value   `yaml:"size"`
	Source  []string `yaml:"source"`
	Note    string   `yaml:"note"`
}

var defaultSite = sync.OnceValue(func() *Site {
	s := &Site{}
	if found := readTable(rules.FS, "site.yaml", s); len(found) > 0 {
		return &Site{}
	}
	return s
})

// DefaultSite gives the laboratory that is assumed when no site file is given.
// It is shared: copy it before changing it.
func DefaultSite() *Site { return defaultSite() }

// Container finds a waste container by any of its names.
func (s *Site) Container(name string) (*Container, bool) {
	key := lookupKey(name, true)
	for i := range s.Containers {
		c := &s.Containers[i]
		if lookupKey(c.Name, true) == key {
			return c, true
		}
		for _, n := range c.Names {
			if lookupKey(n, true) == key {
				return c, true
			}
		}
	}
	return nil, false
}

// ReadSite reads a site file over the default laboratory: what the file names
// replaces the default, single grades, limits and levels one by one, lists as a
// whole. A figure may be written short, as in "pump: 0.1 mbar". The site is nil
// when there are findings.
func ReadSite(name string, b []byte) (*Site, []finding.Finding) {
	f, found := document.Read(name, b)
	if len(found) > 0 || f.Root == nil {
		return nil, found
	}
	root := f.Root.Clone()
	for _, e := range root.Entries {
		switch e.Key.Text {
		case "relative humidity", "temperature", "pressure", "pump", "pump speed", "aspirator", "gas purity", "room volume", "air changes", "fill limit", "container size":
			spell(e.Value)
		case "limits", "grade default":
			for _, x := range e.Value.Entries {
				spell(x.Value)
			}
		case "grades":
			for _, x := range e.Value.Entries {
				for _, y := range x.Value.Entries {
					spell(y.Value)
				}
			}
		case "containers":
			for _, c := range e.Value.Items {
				if n := c.Get("size"); n != nil {
					spell(n)
				}
			}
		}
	}
	standard := *DefaultSite()
	site := standard
	found = document.Decode(f, root, &site)
	site.Sources = over(standard.Sources, site.Sources)
	site.Grades = over(standard.Grades, site.Grades)
	site.GradeDefault = over(standard.GradeDefault, site.GradeDefault)
	site.Limits = over(standard.Limits, site.Limits)
	site.Levels = over(standard.Levels, site.Levels)
	for rule, level := range site.Levels {
		if level != "hold" && level != "revise" && level != "advise" && level != "off" {
			at := root.Get("levels").Get(rule)
			found = append(found, finding.Finding{Rule: "format/value", Level: finding.Hold, Outcome: finding.Unread, Span: at.Span,
				Message: fmt.Sprintf("level of %s: found %q, expected hold, revise, advise or off", rule, level)})
		}
	}
	for i, a := range site.Accepted {
		if a.Rule == "" || a.Because == "" || a.By == "" {
			at := root.Get("accepted")
			if i < len(at.Items) {
				at = at.Items[i]
			}
			found = append(found, finding.Finding{Rule: "format/value", Level: finding.Hold, Outcome: finding.Unread, Span: at.Span,
				Message: "an accepted deviation wants rule, because and by (a role)"})
		}
	}
	if len(found) > 0 {
		return nil, found
	}
	return &site, nil
}

// over puts the site's entries over the default's in a map of its own.
func over[V any](standard, own map[string]V) map[string]V {
	out := maps.Clone(standard)
	if out == nil {
		out = map[string]V{}
	}
	maps.Copy(out, own)
	return out
}

// spell turns "0.1 mbar" into a value with its unit, in place. What it cannot
// read it leaves for Decode to refuse.
func spell(n *document.Node) {
	if n.Kind != document.Scalar {
		return
	}
	v, unit, ok := numberUnit(n.Text)
	if !ok || unit == "" {
		return
	}
	number := document.ScalarNode(fmt.Sprint(v))
	word := document.ScalarNode(unit)
	number.Span, word.Span = n.Span, n.Span
	*n = document.Node{Kind: document.Mapping, Span: n.Span}
	n.Set("value", number)
	n.Set("unit", word)
}
