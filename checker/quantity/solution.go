package quantity

import (
	"math"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Solution is the strength of a solution as chemists write it: "1.6 M in
// hexanes", "60 % dispersion in mineral oil", "saturated in water".
type Solution struct {
	Raw           string
	Strength      Quantity // Molarity, Fraction, MassConcentration, or Word: saturated, concentrated, dilute, Unstated
	Normal        bool     // written N: equivalents per litre, not moles
	Form          string   // solution, dispersion, suspension, slurry, complex, amalgam, standard; "" if unstated
	Solvent       string   // hexanes, water, mineral oil; "" if unstated
	Support       string   // what a solid catalyst sits on: carbon, alumina; it is no solution then
	SoluteMass    Quantity // of "200 g in 500 mL water"; Dim None if unstated
	SolventVolume Quantity // of the same
}

// assumedVolume is put on a strength reckoned from the solvent's volume.
const assumedVolume = "volume of the solution taken as that of the solvent (no volume change on dissolving)"

// Unstated is the word for the strength of a solution of which only the
// solvent is written: "in diethyl ether".
const Unstated = "unstated"

const solutionExample = "1.6 M in hexanes"

var solutionForms = [...]string{"solution", "dispersion", "suspension", "slurry", "complex", "amalgam", "standard"}

// ParseSolution reads the strength of a solution. A solute's mass or amount in
// a volume of solvent ("200 g in 500 mL water") gives the strength by that
// volume, with the assumption on record. The error is an *Error.
func ParseSolution(s string) (Solution, error) {
	sol, err := parseSolution(s)
	if err != nil {
		if err.Example == kinds[None].example {
			err.Example = solutionExample
		}
		return Solution{}, err
	}
	return sol, nil
}

func parseSolution(s string) (Solution, *Error) {
	p := parser{s: s, sol: true}
	if err := p.begin(); err != nil {
		err.Expected = strings.Replace(err.Expected, "a quantity", "the strength of a solution", 1)
		return Solution{}, err
	}
	out := Solution{Raw: s}
	p.aqueous(&out)
	if rest := strings.TrimSpace(p.rest()); rest == "" && out.Solvent != "" || matchWords(p.rest(), "in") > 0 {
		// the text names the solvent and no strength: that is known, this is not
		out.Strength = Quantity{Raw: s, Dim: Word, Word: Unstated, Times: 1}
		if err := p.solvent(&out); err != nil {
			return out, err
		}
		return out, nil
	}
	start := p.i
	q, err := p.quantity()
	if err != nil {
		if err.At == start {
			err.Expected = "the strength of a solution"
		}
		return out, err
	}
	q.Raw = strings.TrimSpace(s[start:p.i])
	switch {
	case q.Times > 1 || q.AtLeast && q.Dim == Word:
		return out, p.notStrength(start, &q)
	case q.Dim == Mass || q.Dim == Amount:
		out.SoluteMass = q
		if q.Dim == Amount {
			out.SoluteMass = Quantity{}
		}
	case q.Dim == Molarity || q.Dim == Fraction || q.Dim == MassConcentration:
		out.Strength = q
		out.Normal = q.Unit == "N"
	case q.Dim == Word:
		switch q.Word {
		case "saturated", "concentrated", "dilute", "glacial", "fuming", "neat":
		default:
			return out, p.notStrength(start, &q)
		}
		out.Strength = q
	default:
		return out, p.notStrength(start, &q)
	}
	p.aqueous(&out)
	p.space()
	for _, form := range solutionForms {
		if n := matchWords(p.rest(), form); n > 0 {
			out.Form = form
			p.i += n
			break
		}
	}
	if n := matchWords(p.rest(), "on"); n > 0 && out.Strength.Dim == Fraction {
		// "10 % w/w on carbon": a solid by its share of metal
		p.i += n
		p.space()
		out.Support = strings.TrimSpace(p.rest())
		if out.Support == "" {
			return out, p.fail(p.i, "what it sits on, as in 10 % on carbon")
		}
		return out, nil
	}
	if err := p.solvent(&out); err != nil {
		return out, err
	}
	if out.Strength.Dim != None {
		return out, nil
	}
	// A solute in a volume of solvent.
	v := out.SolventVolume
	if !v.Known() || v.Total() <= 0 {
		e := p.fail(p.i, "\"in\" and a volume of solvent, as in 200 g in 500 mL water")
		e.Example = "200 g in 500 mL water"
		return out, e
	}
	k := Quantity{Raw: out.Raw, Dim: MassConcentration, Unit: "g/mL", Times: 1, About: q.About || v.About, Assumed: assumedVolume}
	if q.Dim == Amount {
		k.Dim, k.Unit = Molarity, "M"
	}
	k.Low, k.High = tidy(q.Min()/v.Max()), tidy(q.Max()/v.Min())
	if math.IsNaN(k.Low) || math.IsNaN(k.High) || math.IsInf(k.High, 0) || math.IsInf(k.Low, 0) {
		return out, p.fail(start, "a solute and a solvent with both ends stated")
	}
	out.Strength = k
	return out, nil
}

func (p *parser) notStrength(start int, q *Quantity) *Error {
	at := start
	if p.unitAt > start {
		at = p.unitAt
	}
	e := p.fail(at, "the strength of a solution, not "+q.Dim.String())
	if q.Dim == Word {
		e.Found = q.Word
		e.Expected = "the strength of a solution"
	}
	return e
}

// aqueous reads "aqueous" or "aq.", which names the solvent.
func (p *parser) aqueous(out *Solution) {
	p.space()
	for _, text := range [...]string{"aqueous", "aq.", "aq"} {
		if n := matchWords(p.rest(), text); n > 0 {
			out.Solvent = "water"
			p.i += n
			p.space()
			return
		}
	}
}

// solvent reads "in hexanes", "in 500 mL water", "(hexanes)", or nothing.
func (p *parser) solvent(out *Solution) *Error {
	p.space()
	if p.i < len(p.s) && p.s[p.i] == ',' {
		p.i++
		p.space()
	}
	s := p.rest()
	if s == "" {
		return nil
	}
	closing := false
	if s[0] == '(' {
		if !strings.HasSuffix(strings.TrimSpace(s), ")") {
			return p.fail(len(p.s), "a closing bracket")
		}
		closing = true
		p.i++
	} else {
		n := 0
		for _, joint := range [...]string{"in", "with", "from", "over"} {
			if n = matchWords(s, joint); n > 0 {
				break
			}
		}
		if n == 0 {
			return p.fail(p.i, "\"in\" and the solvent, or nothing more")
		}
		p.i += n
	}
	p.space()
	if n := matchWords(p.rest(), "the"); n > 0 {
		p.i += n
		p.space()
	}
	if p.i < len(p.s) && (isDigit(p.s[p.i]) || p.s[p.i] == '.') {
		at := p.i
		v := parser{s: p.s, i: p.i, want: maskOf(Volume), sol: true}
		q := Quantity{Times: 1}
		var b bound
		if err := v.body(&q, &b); err != nil {
			return err
		}
		switch q.Dim {
		case Volume:
			q.Raw = strings.TrimSpace(p.s[at:v.i])
			out.SolventVolume = q
			p.i = v.i
			if err := p.solventOf(); err != nil {
				return err
			}
		case Fraction, Molarity:
			// "in 2 % nitric acid": the solvent is itself a solution.
		default:
			return v.fail(at, "a volume of solvent, not "+q.Dim.String())
		}
	} else if p.i == len(p.s) {
		return p.fail(p.i, "the solvent")
	}
	name := p.rest()
	if closing {
		name = strings.TrimSuffix(strings.TrimSpace(name), ")")
	}
	name = strings.TrimSpace(name)
	if name == "" {
		if closing {
			return p.fail(p.i, "the solvent")
		}
		return nil
	}
	if !utf8.ValidString(name) || strings.ContainsFunc(name, func(r rune) bool { return !unicode.IsPrint(r) }) || strings.ContainsAny(name, "{}[]<>=") {
		return p.fail(p.i, "the name of the solvent")
	}
	if !strings.ContainsFunc(name, unicode.IsLetter) {
		return p.fail(p.i, "the name of the solvent")
	}
	if out.Solvent != "" && out.Solvent != name {
		return p.fail(p.i, "one solvent; aqueous already says water")
	}
	out.Solvent = name
	p.i = len(p.s)
	return nil
}

// solventOf reads "of" and "the" between a volume and its solvent.
func (p *parser) solventOf() *Error {
	p.space()
	n := matchWords(p.rest(), "of")
	if n == 0 {
		return nil
	}
	p.i += n
	p.space()
	if n := matchWords(p.rest(), "the"); n > 0 {
		p.i += n
		p.space()
	}
	if p.i == len(p.s) {
		return p.fail(p.i, "the solvent")
	}
	return nil
}
