package document

import (
	"slices"
	"strings"
	"unicode"
)

// Nearest returns the word of among that word was most likely meant to be, or
// "" when none is near. Case does not count, and space, hyphen and underscore
// are one. The distance is the number of insertions, deletions, changes and
// swaps of neighbours (Damerau 1964, restricted form); about one in three
// letters may differ, and a single letter is near nothing. The earlier word wins a tie.
func Nearest(word string, among []string) string {
	w := plainRunes(word)
	if len(w) < 2 {
		return ""
	}
	best, bestDistance := "", 1+max(1, min(4, len(w)/3))
	for _, candidate := range among {
		if d := distance(w, plainRunes(candidate), bestDistance); d < bestDistance {
			best, bestDistance = candidate, d
		}
	}
	return best
}

// plainRunes lowers case and makes every space, hyphen and underscore one.
func plainRunes(s string) []rune {
	var out []rune
	for _, r := range strings.TrimSpace(s) {
		switch {
		case r == '-' || r == '_' || r == '‐' || r == '‑' || r == '–' || unicode.IsSpace(r):
			r = ' '
		default:
			r = unicode.ToLower(r)
		}
		out = append(out, r)
	}
	return out
}

// distance is the edit distance of a and b, or limit when it is not below it.
func distance(a, b []rune, limit int) int {
	if len(a)-len(b) >= limit || len(b)-len(a) >= limit {
		return limit
	}
	// Of one or two letters none may differ: "xy" is not meant to be "by".
	if len(a) == len(b) && len(a) <= 2 && slices.Compare(slices.Sorted(slices.Values(a)), slices.Sorted(slices.Values(b))) != 0 {
		return limit
	}
	before, last, row := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		lowest := i
		for j := 1; j <= len(b); j++ {
			change := 1
			if a[i-1] == b[j-1] {
				change = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+change)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
			lowest = min(lowest, row[j])
		}
		if lowest >= limit {
			return limit
		}
		before, last, row = last, row, before
	}
	return min(last[len(b)], limit)
}
