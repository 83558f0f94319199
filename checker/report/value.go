package report

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"ketyl/checker/bench"
	"ketyl/checker/quantity"
)

// plain makes a figure fit for JSON: numbers at six significant digits, what
// is no number as null.
func plain(v any) any {
	x, ok := v.(float64)
	if !ok {
		return v
	}
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	x, _ = strconv.ParseFloat(strconv.FormatFloat(x, 'g', 6, 64), 64)
	return x
}

// numberOf is a figure of the bench for JSON; null when the text leaves it
// unknown.
func numberOf(n bench.Num) any {
	if !n.Known {
		return nil
	}
	return plain(n.V)
}

// show prints a figure for people.
func show(v any) string {
	switch v := v.(type) {
	case float64:
		return quantity.FormatNumber(v)
	case bool:
		if v {
			return "yes"
		}
		return "no"
	case []string:
		return strings.Join(v, ", ")
	}
	return fmt.Sprint(v)
}

// words makes the name of a figure readable: water_mmol is water mmol.
func words(name string) string { return strings.ReplaceAll(name, "_", " ") }

// writeJSON writes a value indented, under a prefix for the lines after the
// first, without escaping for HTML.
func writeJSON(w io.Writer, v any, prefix string) error {
	var b strings.Builder
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent(prefix, "  ")
	if err := e.Encode(v); err != nil {
		return err
	}
	_, err := io.WriteString(w, strings.TrimSuffix(b.String(), "\n"))
	return err
}
