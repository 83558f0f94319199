package substance

import (
	"io/fs"
	"sync"

	"ketyl/rules"
)

// TechniqueTable is rules/reference/techniques.yaml: barriers against air and
// the gases behind them.
type TechniqueTable struct {
	Sources  map[string]Source      `yaml:"sources"`
	Barriers map[string]Barrier     `yaml:"barriers"`
	Gases    map[string]InertGas    `yaml:"gases"`
	Air      map[string]Value       `yaml:"air"`     // mole fractions of dry air, ppm
	Figures  map[string]Value       `yaml:"figures"` // trade figures of techniques
	Heating  map[string]GlassDrying `yaml:"glass drying"`
}

// Barrier is a way to keep air out.
type Barrier struct {
	Names    []string `yaml:"names"`
	Rank     int      `yaml:"rank"` // 0 open … 4 glovebox
	KeepsOut []string `yaml:"keeps out"`
	Passes   []string `yaml:"passes"`
	Oxygen   *Value   `yaml:"oxygen"` // reached when done well, ppm mol
	Water    *Value   `yaml:"water"`
	Source   []string `yaml:"source"`
	Note     string   `yaml:"note"`
}

// InertGas is a gas for an atmosphere with what each grade carries.
type InertGas struct {
	Names     []string         `yaml:"names"`
	NotOver   []string         `yaml:"not over"` // substances or families it reacts with
	MolarMass *Value           `yaml:"molar mass"`
	Grades    map[string]Grade `yaml:"grades"`
	Source    []string         `yaml:"source"`
	Note      string           `yaml:"note"`
}

// Grade is a purity with its impurities in ppm mol.
type Grade struct {
	Purity string   `yaml:"purity"` // as printed on the cylinder: 99.998 %
	Total  float64  `yaml:"total"`  // all impurities
	Oxygen float64  `yaml:"oxygen"`
	Water  float64  `yaml:"water"`
	Source []string `yaml:"source"`
	Note   string   `yaml:"note"`
}

// GlassDrying is a way to dry glass that suffices.
type GlassDrying struct {
	At     string   `yaml:"at"`
	For    string   `yaml:"for"`
	Vacuum bool     `yaml:"vacuum"`
	Source []string `yaml:"source"`
	Note   string   `yaml:"note"`
}

var techniques = sync.OnceValue(func() *TechniqueTable {
	t := &TechniqueTable{}
	if found := readTable(rules.FS, "techniques.yaml", t); len(found) > 0 {
		return &TechniqueTable{}
	}
	return t
})

// Techniques gives the barriers and gases built into the program.
func Techniques() *TechniqueTable { return techniques() }

// Rank is a barrier's rank from 0 (open) to 4 (glovebox), by any of its names;
// "none" is 0. It is false for an unknown word.
func (t *TechniqueTable) Rank(barrier string) (int, bool) {
	if barrier == "none" || barrier == "" {
		return 0, true
	}
	if b, ok := t.Barriers[barrier]; ok {
		return b.Rank, true
	}
	key := joinTokens(tokens(barrier), true)
	for name, b := range t.Barriers {
		if joinTokens(tokens(name), true) == key {
			return b.Rank, true
		}
		for _, n := range b.Names {
			if joinTokens(tokens(n), true) == key {
				return b.Rank, true
			}
		}
	}
	return 0, false
}

// Site is what a laboratory has: rules/reference/site.yaml is the default, a
// site file of one's own replaces any part of it.
type Site struct {
	Sources       map[string]Source           `yaml:"sources"`
	Name          string                      `yaml:"name"`
	Humidity      *Value                      `yaml:"relative humidity"`
	Temperature   *Value                      `yaml:"temperature"`
	Pressure      *Value                      `yaml:"pressure"`
	Pump          *Value                      `yaml:"pump"`
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
	key := joinTokens(tokens(name), true)
	for i := range s.Containers {
		c := &s.Containers[i]
		if joinTokens(tokens(c.Name), true) == key {
			return c, true
		}
		for _, n := range c.Names {
			if joinTokens(tokens(n), true) == key {
				return c, true
			}
		}
	}
	return nil, false
}

var _ fs.FS = rules.FS
