package substance

import (
	"fmt"
	"math"
	"strings"
)

// valences of the atoms that SMILES writes without brackets: the next one that
// the bonds reach is filled with hydrogen (D. Weininger, J. Chem. Inf. Comput.
// Sci. 1988, 28, 31).
var valences = map[string][]int{"B": {3}, "C": {4}, "N": {3, 5}, "O": {2}, "P": {3, 5}, "S": {2, 4, 6}, "F": {1}, "Cl": {1}, "Br": {1}, "I": {1}}

type structureAtom struct {
	symbol   string
	aromatic bool
	bracket  bool
	hydrogen int // written in a bracket
	bonds    float64
}

// StructureFormula counts the atoms of a structure written as SMILES, implicit
// hydrogen included. An error names what cannot be read; nothing is guessed.
func StructureFormula(smiles string) (Formula, error) {
	bad := func(at int, why string) (Formula, error) {
		return Formula{}, fmt.Errorf("the structure %q cannot be read at character %d: %s", smiles, at+1, why)
	}
	if smiles == "" || len(smiles) > 1000 {
		return bad(0, "it is empty or longer than 1000 characters")
	}
	var atoms []structureAtom
	type open struct {
		atom int
		bond float64
	}
	rings := map[string]open{}
	var branches []int
	last, bond, charge := -1, 0.0, 0 // bond 0: not written
	join := func(a, b int, order float64) {
		atoms[a].bonds += math.Max(1, order)
		atoms[b].bonds += math.Max(1, order)
	}
	add := func(a structureAtom) {
		atoms = append(atoms, a)
		if last >= 0 {
			join(last, len(atoms)-1, bond)
		}
		last, bond = len(atoms)-1, 0
	}
	digits := func(s string) int {
		n := 0
		for n < len(s) && s[n] >= '0' && s[n] <= '9' {
			n++
		}
		return n
	}
	number := func(s string) int { // at most two digits
		n := 0
		for i := 0; i < len(s) && i < 3; i++ {
			n = 10*n + int(s[i]-'0')
		}
		return n
	}
	for i := 0; i < len(smiles); {
		switch c := smiles[i]; {
		case c == '[':
			end := strings.IndexByte(smiles[i:], ']')
			if end < 0 {
				return bad(i, "a bracket is not closed")
			}
			in := smiles[i+1 : i+end]
			in = in[digits(in):] // an isotope
			n := 1
			if len(in) > 1 && in[1] >= 'a' && in[1] <= 'z' && (in[0] >= 'A' && in[0] <= 'Z' || strings.HasPrefix(in, "se") || strings.HasPrefix(in, "as")) {
				n = 2
			}
			if len(in) < n || n == 0 {
				return bad(i, "a bracket without an element")
			}
			symbol := strings.ToUpper(in[:1]) + in[1:n]
			if _, known := elements().weight[symbol]; !known {
				return bad(i, symbol+" is no element")
			}
			a := structureAtom{symbol: symbol, aromatic: in[0] >= 'a', bracket: true}
			in = strings.TrimLeft(in[n:], "@")
			if strings.HasPrefix(in, "H") {
				in = in[1:]
				d := digits(in)
				a.hydrogen = 1
				if d > 0 {
					a.hydrogen = number(in[:d])
				}
				in = in[d:]
			}
			for in != "" && (in[0] == '+' || in[0] == '-') {
				sign := 1
				if in[0] == '-' {
					sign = -1
				}
				in = in[1:]
				if d := digits(in); d > 0 {
					sign *= number(in[:d])
					in = in[d:]
				}
				charge += sign
			}
			if in != "" {
				return bad(i, "the bracket holds "+in)
			}
			add(a)
			i += end + 1
		case strings.HasPrefix(smiles[i:], "Cl"), strings.HasPrefix(smiles[i:], "Br"):
			add(structureAtom{symbol: smiles[i : i+2]})
			i += 2
		case strings.IndexByte("BCNOPSFI", c) >= 0:
			add(structureAtom{symbol: string(c)})
			i++
		case strings.IndexByte("bcnops", c) >= 0:
			add(structureAtom{symbol: strings.ToUpper(string(c)), aromatic: true})
			i++
		case c == '(':
			if last < 0 {
				return bad(i, "a branch without an atom")
			}
			branches = append(branches, last)
			i++
		case c == ')':
			if len(branches) == 0 {
				return bad(i, "no branch is open")
			}
			last, branches = branches[len(branches)-1], branches[:len(branches)-1]
			bond = 0
			i++
		case c == '.':
			last, bond = -1, 0
			i++
		case strings.IndexByte(`-/\=#:`, c) >= 0:
			bond = map[byte]float64{'-': 1, '/': 1, '\\': 1, '=': 2, '#': 3, ':': 1}[c]
			i++
		case c >= '0' && c <= '9', c == '%':
			n := 1
			if c == '%' {
				n = 3
			}
			if last < 0 || i+n > len(smiles) || n == 3 && digits(smiles[i+1:i+3]) != 2 {
				return bad(i, "a ring number without an atom or its digits")
			}
			key := strings.TrimPrefix(smiles[i:i+n], "%")
			if from, ok := rings[key]; ok {
				if from.atom == last {
					return bad(i, "an atom bound to itself")
				}
				join(from.atom, last, math.Max(from.bond, bond))
				delete(rings, key)
			} else {
				rings[key] = open{last, bond}
			}
			bond = 0
			i += n
		default:
			return bad(i, "found "+string(rune(c)))
		}
	}
	if len(rings) > 0 || len(branches) > 0 || len(atoms) == 0 {
		return bad(len(smiles)-1, "a ring or a branch is not closed")
	}
	f := Formula{Elements: map[string]float64{}, Charge: charge}
	for _, a := range atoms {
		f.Elements[a.symbol]++
		if a.bracket {
			if a.hydrogen > 0 {
				f.Elements["H"] += float64(a.hydrogen)
			}
			continue
		}
		if a.aromatic {
			// the ring's share takes one more bond of carbon; n, o and s lend a pair
			if a.symbol == "C" && a.bonds < 3 {
				f.Elements["H"] += 3 - a.bonds
			}
			continue
		}
		used := int(a.bonds)
		for _, v := range valences[a.symbol] {
			if v >= used {
				if v > used {
					f.Elements["H"] += float64(v - used)
				}
				break
			}
		}
	}
	return f, nil
}
