package report

import (
	"regexp"
	"strings"

	"ketyl/checker/finding"
)

// units are the units that the names of facts and limits end in: boiling_c is
// in °C. A longer ending stands before one that it ends in itself.
var units = []struct{ ending, unit string }{
	{"ml_per_g", "mL/g"}, {"litres_per_min", "L/min"}, {"ml_per_min", "mL/min"}, {"percent", "%"}, {"minutes", "min"}, {"hours", "h"}, {"h", "h"},
	{"litres", "L"}, {"mmol", "mmol"}, {"mbar", "mbar"}, {"bar", "bar"}, {"ppm", "ppm"}, {"min", "min"}, {"mol", "mol"}, {"ml", "mL"},
	{"kj", "kJ"}, {"kg", "kg"}, {"mg", "mg"}, {"c", "°C"}, {"k", "K"}, {"l", "L"}, {"g", "g"},
}

// sayings are names as one says them, without their units.
var sayings = map[string]string{
	"boiling": "boiling point", "freezes": "freezing point", "freezing": "freezing point", "flash": "flash point", "target": "target temperature",
	"live": "live reagent", "left": "left over", "leftover_count": "left over", "heat": "heat given off", "hold_up": "hold-up", "glass": "water on the glass",
	"source": "water in the source", "need": "water allowed", "need_rank": "barrier needed, of rank", "barrier_rank": "barrier of rank", "lost": "loss", "oven": "oven", "bath_low": "coldest of the bath", "bath_high": "warmest of the bath",
	"stated_yield": "stated yield", "half_life": "half-life", "charged_share": "share charged", "permitted_share": "share permitted",
}

// measure splits the name of a fact or limit into words and the unit that its
// ending tells: boiling_c is "boiling point", "°C". The words are empty where
// the name is a unit alone; the unit is empty where the name tells none.
func measure(key string) (name, unit string) {
	rest := key
	for _, u := range units {
		if key == u.ending {
			return "", u.unit
		}
		if before, ok := strings.CutSuffix(key, "_"+u.ending); ok {
			rest, unit = before, u.unit
			break
		}
	}
	if s := sayings[rest]; s != "" {
		return s, unit
	}
	for prefix, at := range map[string]string{"vessel_": "in the vessel", "source_": "in the source", "material_": "of the material", "with_": "of the other"} {
		if part, ok := strings.CutPrefix(rest, prefix); ok {
			if s := sayings[part]; s != "" {
				part = s
			}
			return words(part) + " " + at, unit
		}
	}
	return words(rest), unit
}

// measured writes a figure with its name and unit, the unit once: "boiling
// point 34.7 °C". What is no number has no unit.
func measured(g finding.Figure) string {
	name, unit := measure(g.Name)
	text := show(g.Value)
	switch {
	case !numeric(g.Value):
		name, unit = words(g.Name), ""
	case name == "" && unit == "mmol":
		name = "amount"
	case name == "" && (unit == "L" || unit == "mL"):
		name = "volume"
	case name == "" && strings.HasSuffix(unit, "L/g"):
		name = "liquid"
	case name == "" && (unit == "min" || unit == "h"):
		name = "time"
	case name == "":
		name = words(g.Name)
	}
	return strings.TrimSpace(name + " " + text + " " + unit)
}

func numeric(v any) bool {
	switch v.(type) {
	case float64, int, int64, uint64:
		return true
	}
	return false
}

// limitName is the name of a limit beside its value, without what its unit
// says again: gas_l in L is "gas". It is empty where nothing is left.
func limitName(key, unit string) string {
	if name, own := measure(key); own != "" && (own == unit || strings.HasPrefix(unit, own+" ")) {
		return name
	}
	return words(key)
}

// limitPart is one of several limits in a sentence of the judge: a name, a
// value, a unit and, in brackets, whose it is.
var limitPart = regexp.MustCompile(`(^|; )([a-z][a-z0-9 ]*?) ([−-]?[0-9∞][^ ();]*)((?: [^();]+)?) \(`)

// limitsAt is where the judge begins to tell limits.
var limitsAt = regexp.MustCompile(`Limits?: `)

// plainLimits takes the units out of the names of the limits in a message:
// "gas l 0.05 L" becomes "gas 0.05 L".
func plainLimits(message string) string {
	at := limitsAt.FindStringIndex(message)
	if at == nil {
		return message
	}
	before, limits := message[:at[1]], message[at[1]:]
	limits = limitPart.ReplaceAllStringFunc(limits, func(s string) string {
		m := limitPart.FindStringSubmatch(s)
		unit := strings.TrimSpace(m[4])
		name := limitName(strings.ReplaceAll(m[2], " ", "_"), unit)
		return m[1] + strings.TrimSpace(strings.TrimSpace(name+" "+m[3])+" "+unit) + " ("
	})
	return before + limits
}

// assumption is what some figures rest on, and those figures in words.
type assumption struct {
	figures string
	assumed string
}

// assumptions writes the figures of a finding, those that rest on the same
// assumption together; the figures that rest on none stand alone.
func assumptions(fs []finding.Figure) (out []assumption) {
	at := map[string]int{}
	for _, g := range fs {
		if i, ok := at[g.Assumed]; ok && g.Assumed != "" {
			out[i].figures += ", " + measured(g)
			continue
		}
		at[g.Assumed] = len(out)
		out = append(out, assumption{measured(g), g.Assumed})
	}
	return out
}
