package substance

import (
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
	key := lookupKey(barrier, true)
	for name, b := range t.Barriers {
		if lookupKey(name, true) == key {
			return b.Rank, true
		}
		for _, n := range b.Names {
			if lookupKey(n, true) == key {
				return b.Rank, true
			}
		}
	}
	return 0, false
}
