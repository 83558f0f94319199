package quantity

import (
	"errors"
	"strconv"
	"strings"
)

const (
	overnightWord  = "overnight"
	overnightLow   = 720.0
	overnightHigh  = 1080.0
	overnightUsual = 960.0
)

type wordKind uint8

const wordManner wordKind = 1

type word struct{ kind wordKind }

func lookupWord(string) *word { return nil }

func plural(s string, v float64) string {
	if v == 1 {
		return s
	}
	return s + "s"
}

func unitNamed(name string, want mask) (*measure, error) {
	if i, ok := unitByName[name]; ok {
		m := units[i].reading(want)
		return &m, nil
	}
	return nil, errors.New("unknown unit " + name)
}

// Solution is the strength of a solution as chemists write it.
type Solution struct {
	Raw           string
	Strength      Quantity // Molarity, Fraction, MassConcentration, or Word: saturated, concentrated, dilute
	Normal        bool     // written N
	Form          string   // solution, dispersion, suspension, slurry, complex, amalgam, standard; "" if unstated
	Solvent       string   // hexanes, water, mineral oil; "" if unstated
	SoluteMass    Quantity // of "200 g in 500 mL water"
	SolventVolume Quantity
}

// Parse reads one quantity of any dimension.
func Parse(s string) (Quantity, error) { return ParseAs(s) }

// ParseAs reads one quantity of one of the dimensions.
func ParseAs(s string, dims ...Dimension) (Quantity, error) {
	t := strings.TrimSpace(s)
	i := strings.LastIndexAny(t, "0123456789") + 1
	v, err := strconv.ParseFloat(t[:i], 64)
	m, uerr := unitNamed(strings.TrimSpace(t[i:]), maskOf(dims...))
	if err != nil || uerr != nil {
		return Quantity{}, &Error{At: 0, Found: s, Expected: "a figure with a unit", Example: "6.9 mL"}
	}
	return Quantity{Raw: s, Dim: m.dim, Low: m.toBase(v), High: m.toBase(v), Times: 1, Unit: m.sym}, nil
}

// ParseAll reads several expressions of one amount.
func ParseAll(s string) ([]Quantity, error) {
	q, err := Parse(s)
	return []Quantity{q}, err
}

// ParseSolution reads the strength of a solution.
func ParseSolution(s string) (Solution, error) {
	q, err := Parse(s)
	return Solution{Raw: s, Strength: q}, err
}

// String prints the quantity canonically.
func (q Quantity) String() string { return Format(q.Value(), q.Dim) }
