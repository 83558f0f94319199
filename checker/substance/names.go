package substance

import (
	"strings"
	"sync"
	"sync/atomic"
	"unicode"
)

// greek spells out the letters that names use.
var greek = map[rune]string{
	'α': "alpha", 'β': "beta", 'γ': "gamma", 'δ': "delta", 'ε': "epsilon", 'η': "eta",
	'κ': "kappa", 'μ': "mu", 'µ': "mu", 'ω': "omega", 'π': "pi", 'σ': "sigma",
	'Å': "a", 'å': "a", '\u212b': "a",
}

// spelling makes one of the pairs of spellings in use.
func spelling(s string) string {
	if strings.Contains(s, "ulph") {
		s = strings.ReplaceAll(s, "sulph", "sulf")
	}
	if strings.Contains(s, "luminum") {
		s = strings.ReplaceAll(s, "aluminum", "aluminium")
	}
	if strings.Contains(s, "cesium") {
		s = strings.ReplaceAll(s, "cesium", "caesium")
	}
	return s
}

// token is a run of letters and digits of a name.
type token struct {
	text   string // lower case
	lowerN bool   // written as a small n: the prefix of a straight chain
}

// tokens splits a name at everything that is neither letter nor digit.
// Primes vanish, Greek letters and the star of Cp* are spelt, subscripts become
// digits.
func tokens(name string) []token {
	var out []token
	var b strings.Builder
	raw := ""
	flush := func() {
		if b.Len() > 0 {
			out = append(out, token{b.String(), raw == "n"})
			b.Reset()
		}
		raw = ""
	}
	prev := rune(0)
	for _, r := range name {
		switch {
		case r < 0x80 && (r >= 'a' && r <= 'z' || r >= '0' && r <= '9'):
			if b.Len() == 0 {
				raw = ""
				if r == 'n' {
					raw = "n"
				}
			} else {
				raw = ""
			}
			b.WriteByte(byte(r))
		case r == '\'' || r == '′' || r == '’' || r == '″' || r == '`' || r == '"':
		case r >= '₀' && r <= '₉':
			b.WriteRune('0' + r - '₀')
		case r >= 0x80 && greek[r] != "":
			b.WriteString(greek[r])
		case r == '*' && unicode.IsLetter(prev):
			b.WriteString("star") // Cp* is not Cp
		case r == '+' && prev == '(':
			flush()
			out = append(out, token{text: "plus"})
		case unicode.IsLetter(r) || unicode.IsDigit(r):
			if b.Len() == 0 {
				raw = string(r)
			} else {
				raw = ""
			}
			b.WriteRune(unicode.ToLower(r))
		default:
			flush()
		}
		prev = r
	}
	flush()
	return out
}

// chain reports whether a token begins like an alkyl chain or its symbol.
func chain(t string, stems ...string) bool {
	for _, s := range stems {
		if strings.HasPrefix(t, s) {
			return true
		}
	}
	return false
}

// keys keeps the lookup keys of words that are asked for again and again, up
// to a number that the data and any laboratory's texts stay below.
var (
	keys     [2]sync.Map // strict, loose: word → key
	keysKept atomic.Int64
)

const keysToKeep = 1 << 15

// lookupKey is joinTokens of a word's tokens.
func lookupKey(word string, loose bool) string {
	m := &keys[0]
	if loose {
		m = &keys[1]
	}
	if k, ok := m.Load(word); ok {
		return k.(string)
	}
	k := joinTokens(tokens(word), loose)
	if len(word) <= 80 && keysKept.Add(1) <= keysToKeep {
		m.Store(strings.Clone(word), k)
	}
	return k
}

// joinTokens writes tokens as one lookup key. tert-, t- and tertiary are one, sec-
// and s-, iso- and i-; a straight chain's n- is left out of a loose key.
func joinTokens(ts []token, loose bool) string {
	var b strings.Builder
	for i, t := range ts {
		next := ""
		if i+1 < len(ts) {
			next = ts[i+1].text
		}
		s := t.text
		switch s {
		case "t", "tert", "tertiary":
			if chain(next, "bu", "amyl", "pent", "oct", "hex", "dodec") {
				s = "tert"
			}
		case "s", "sec", "secondary":
			if chain(next, "bu", "amyl", "pent", "phen") {
				s = "sec"
			}
		case "i", "iso":
			if chain(next, "pr", "bu", "amyl", "pent", "hex", "oct") {
				s = "iso"
			}
		case "n":
			if loose && t.lowerN && next != "" {
				s = ""
			}
		default:
			switch {
			case strings.HasPrefix(s, "tbu"):
				s = "tert" + s[1:]
			case strings.HasPrefix(s, "sbu"):
				s = "sec" + s[1:]
			case strings.HasPrefix(s, "ibu") && !strings.HasPrefix(s, "ibup"):
				s = "iso" + s[1:]
			case strings.HasPrefix(s, "ipr"):
				s = "iso" + s[1:]
			case loose && strings.HasPrefix(s, "nbu"):
				s = s[1:]
			}
		}
		b.WriteString(s)
	}
	return spelling(b.String())
}

// hasChainPrefix reports whether a loose key can differ from the plain one.
func hasChainPrefix(ts []token) bool {
	for _, t := range ts {
		if t.lowerN || strings.HasPrefix(t.text, "nbu") {
			return true
		}
	}
	return false
}

// leading and trailing words say in which state a substance is, not which
// substance it is; they are dropped when the whole name is not known.
var (
	leading = words("anhydrous dry dried conc concentrated dil dilute diluted glacial absolute abs aqueous aq " +
		"saturated satd sat freshly fresh distilled redistilled degassed powdered granular activated solid liquid neat " +
		"crushed cold warm hot wet moist commercial commercially technical crude pure excess inhibited stabilised " +
		"unstabilised half washed rinsed clean metallic elemental extra reagent grade acs hplc of the")
	trailing = words("powder turnings ribbon pellets chips granules wire dust shot lumps lump pieces piece strips foil " +
		"solution soln dispersion anhydrous anh beads flakes solid liquid gas metal crystals pearls rods needles monomer " +
		"dry hplc acs reagent grade sand sponge filings mesh spheres gel")
)

func words(s string) map[string]bool {
	m := map[string]bool{}
	for _, w := range strings.Fields(s) {
		m[w] = true
	}
	return m
}

// shortened yields ever shorter forms of a name: words of state dropped from
// the front, then from the back, then both, then a plural s.
func shortened(ts []token) [][]token {
	var out [][]token
	front := 0
	for front < len(ts)-1 && leading[ts[front].text] {
		front++
	}
	back := len(ts)
	for back > 1 && trailing[ts[back-1].text] {
		back--
	}
	add := func(t []token) {
		if len(t) > 0 && len(t) < len(ts) {
			out = append(out, t)
		}
	}
	add(ts[front:])
	add(ts[:back])
	if front < back {
		add(ts[front:back])
	}
	n := len(out)
	for _, t := range append(out[:n:n], ts) {
		last := t[len(t)-1].text
		if len(last) > 4 && strings.HasSuffix(last, "s") && !strings.HasSuffix(last, "ss") && !strings.HasSuffix(last, "us") {
			p := append([]token(nil), t...)
			p[len(p)-1].text = strings.TrimSuffix(last, "s")
			out = append(out, p)
		}
	}
	return out
}

// sieve recognises any way to write a molecular sieve and gives its usual name.
func sieve(ts []token) (string, bool) {
	size, isSieve := "", false
	for i, t := range ts {
		s := t.text
		if strings.HasPrefix(s, "sieve") || s == "ms" || s == "mols" {
			isSieve = true
			continue
		}
		for _, w := range []string{"3a", "4a", "5a", "13x", "ms3a", "ms4a"} {
			if s == w {
				size = strings.TrimPrefix(w, "ms")
				isSieve = isSieve || strings.HasPrefix(w, "ms")
			}
		}
		if (s == "3" || s == "4" || s == "5") && i+1 < len(ts) && strings.HasPrefix(ts[i+1].text, "a") {
			size = s + "a"
		}
	}
	return "molecular sieves " + strings.ToUpper(size), isSieve && size != ""
}

// CASValid reports whether a CAS number has the right shape and check digit.
func CASValid(cas string) bool {
	parts := strings.Split(cas, "-")
	if len(parts) != 3 || len(parts[0]) < 2 || len(parts[0]) > 7 || len(parts[1]) != 2 || len(parts[2]) != 1 || parts[0][0] == '0' {
		return false
	}
	digits := parts[0] + parts[1]
	sum := 0
	for i := range len(digits) {
		if !isDigit(digits[i]) {
			return false
		}
		sum += int(digits[i]-'0') * (len(digits) - i)
	}
	return isDigit(parts[2][0]) && int(parts[2][0]-'0') == sum%10
}

// nearest3 gives up to three of among that are nearest to word, best first,
// none of them absurd: at most one in five letters differs, and three in all. A
// very different word is worse than none.
func nearest3(word string, among []indexedName) []string {
	w := []byte(joinTokens(tokens(word), false))
	limit := max(1, min(3, len(w)/5))
	type hit struct {
		name string
		d    int
	}
	var best []hit
	var rows [2][]int
	for _, n := range among {
		if len(n.key) > len(w)+limit || len(w) > len(n.key)+limit {
			continue
		}
		d := editDistance(w, n.key, limit, &rows)
		if d > limit {
			continue
		}
		best = insertHit(best, hit{n.entry, d}, func(a, b hit) bool { return a.d < b.d }, func(a, b hit) bool { return a.name == b.name })
	}
	out := make([]string, len(best))
	for i, h := range best {
		out[i] = h.name
	}
	return out
}

// insertHit keeps the three best hits, each name once.
func insertHit[T any](best []T, h T, less, same func(a, b T) bool) []T {
	for i, b := range best {
		if same(b, h) {
			if !less(h, b) {
				return best
			}
			best = append(best[:i], best[i+1:]...)
			break
		}
	}
	at := len(best)
	for at > 0 && less(h, best[at-1]) {
		at--
	}
	best = append(best, h)
	copy(best[at+1:], best[at:])
	best[at] = h
	return best[:min(len(best), 3)]
}

// editDistance is the Levenshtein distance of two keys, or limit+1 when it is
// larger than limit.
func editDistance(a []byte, b string, limit int, rows *[2][]int) int {
	for i := range rows {
		if cap(rows[i]) < len(b)+1 {
			rows[i] = make([]int, len(b)+1, 2*len(b)+16)
		}
		rows[i] = rows[i][:len(b)+1]
	}
	last, row := rows[0], rows[1]
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		low := i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+cost)
			low = min(low, row[j])
		}
		if low > limit {
			return limit + 1
		}
		last, row = row, last
	}
	return last[len(b)]
}
