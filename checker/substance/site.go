package substance

import (
	"sync"

	"ketyl/rules"
)

// Site is what a laboratory has: rules/reference/site.yaml is the default. Site
// files of laboratories are read by the site package, over this one.
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
	Source        []string                    `yaml:"source"`
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
