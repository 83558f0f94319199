package quantity

import "math"

// wordKind is what a phrase does to the figure it stands with.
type wordKind uint8

const (
	wordAbout   wordKind = iota + 1 // about 20 min
	wordFloor                       // at least 24 h
	wordCeiling                     // up to 5 mL
	wordFrom                        // from 30 to 35 °C; alone, a floor
	wordBetween                     // between 30 and 35 °C
	wordFiller                      // a further 5 mL: says nothing of the figure
	wordNumber                      // three
	wordCouple                      // a couple of: about two
	wordTimes                       // twice
	wordVague                       // a few, several: a range put on a word
	wordShare                       // half, the rest: a part of something named elsewhere
	wordFigure                      // overnight, room temperature: a figure put on a word
	wordAlone                       // saturated, as assigned: no figure
	wordManner                      // dropwise, excess: alone, or after a figure
)

// word is one row of the phrase table. A space in text stands for any run of
// spaces or one hyphen.
type word struct {
	text      string
	kind      wordKind
	canon     string    // the printed form; text where empty
	dim       Dimension // of a wordFigure
	low, high float64   // the figure: base unit, or the number itself
	assumed   string    // what was assumed, with its source
}

const (
	overnightWord  = "overnight"
	overnightLow   = 12 * 60.0
	overnightHigh  = 18 * 60.0
	overnightUsual = 16 * 60.0
)

const (
	assumedOvernight = "overnight taken as 16 h, 12 to 18 h (common practice)"
	assumedRoom      = "room temperature taken as 20 to 25 °C (common practice)"
	assumedIceCold   = "ice-cold taken as 0 to 5 °C (common practice)"
	assumedIce       = "an ice bath taken as 0 °C (melting point of ice, exact to 0.01 °C)"
	assumedAtm       = "atmospheric pressure taken as 1013.25 mbar (standard atmosphere, NIST SP 811)"
	assumedFew       = "a few taken as 2 to 5 (common practice)"
	assumedSeveral   = "several taken as 3 to 7, or as 3 portions (common practice)"
)

// severalPortions is the count put on "several 25 mL portions": the fewest
// the word allows.
const severalPortions = 3

var words = [...]word{
	{text: "about", kind: wordAbout}, {text: "approximately", kind: wordAbout}, {text: "approx", kind: wordAbout},
	{text: "approx.", kind: wordAbout}, {text: "ca", kind: wordAbout}, {text: "ca.", kind: wordAbout}, {text: "c.", kind: wordAbout},
	{text: "circa", kind: wordAbout}, {text: "roughly", kind: wordAbout}, {text: "around", kind: wordAbout},
	{text: "nearly", kind: wordAbout}, {text: "almost", kind: wordAbout}, {text: "or so", kind: wordAbout},

	{text: "at least", kind: wordFloor}, {text: "upwards of", kind: wordFloor}, {text: "more than", kind: wordFloor},
	{text: "not less than", kind: wordFloor}, {text: "no less than", kind: wordFloor}, {text: "not below", kind: wordFloor},
	{text: "never below", kind: wordFloor}, {text: "not under", kind: wordFloor}, {text: "above", kind: wordFloor},
	{text: "minimum", kind: wordFloor}, {text: "minimum of", kind: wordFloor},
	{text: "a minimum of", kind: wordFloor}, {text: "min.", kind: wordFloor}, {text: "not fewer than", kind: wordFloor},
	{text: "or more", kind: wordFloor}, {text: "or higher", kind: wordFloor}, {text: "or above", kind: wordFloor},
	{text: "and above", kind: wordFloor}, {text: "or longer", kind: wordFloor}, {text: "more if needed", kind: wordFloor},
	{text: "or over", kind: wordFloor}, {text: "and over", kind: wordFloor},

	{text: "up to", kind: wordCeiling}, {text: "at most", kind: wordCeiling}, {text: "no more than", kind: wordCeiling},
	{text: "not more than", kind: wordCeiling}, {text: "not above", kind: wordCeiling}, {text: "never above", kind: wordCeiling},
	{text: "not over", kind: wordCeiling}, {text: "not exceeding", kind: wordCeiling}, {text: "below", kind: wordCeiling},
	{text: "under", kind: wordCeiling}, {text: "less than", kind: wordCeiling}, {text: "fewer than", kind: wordCeiling},
	{text: "within", kind: wordCeiling}, {text: "max", kind: wordCeiling}, {text: "max.", kind: wordCeiling},
	{text: "maximum", kind: wordCeiling}, {text: "maximum of", kind: wordCeiling}, {text: "a maximum of", kind: wordCeiling},
	{text: "or less", kind: wordCeiling}, {text: "or fewer", kind: wordCeiling}, {text: "or below", kind: wordCeiling},
	{text: "or under", kind: wordCeiling}, {text: "or lower", kind: wordCeiling},

	{text: "from", kind: wordFrom}, {text: "between", kind: wordBetween},

	{text: "a further", kind: wordFiller}, {text: "further", kind: wordFiller}, {text: "another", kind: wordFiller},
	{text: "an additional", kind: wordFiller}, {text: "additional", kind: wordFiller}, {text: "a total of", kind: wordFiller},
	{text: "total", kind: wordFiller}, {text: "in total", kind: wordFiller}, {text: "in all", kind: wordFiller},
	{text: "exactly", kind: wordFiller}, {text: "precisely", kind: wordFiller}, {text: "each", kind: wordFiller},
	{text: "only", kind: wordFiller}, {text: "some", kind: wordAbout},

	{text: "a", kind: wordNumber, low: 1}, {text: "an", kind: wordNumber, low: 1}, {text: "one", kind: wordNumber, low: 1},
	{text: "a single", kind: wordNumber, low: 1}, {text: "two", kind: wordNumber, low: 2}, {text: "three", kind: wordNumber, low: 3},
	{text: "four", kind: wordNumber, low: 4}, {text: "five", kind: wordNumber, low: 5}, {text: "six", kind: wordNumber, low: 6},
	{text: "seven", kind: wordNumber, low: 7}, {text: "eight", kind: wordNumber, low: 8}, {text: "nine", kind: wordNumber, low: 9},
	{text: "ten", kind: wordNumber, low: 10}, {text: "eleven", kind: wordNumber, low: 11}, {text: "twelve", kind: wordNumber, low: 12},
	{text: "a dozen", kind: wordNumber, low: 12}, {text: "one small", kind: wordNumber, low: 1}, {text: "a small", kind: wordNumber, low: 1},
	{text: "a couple", kind: wordCouple, low: 2}, {text: "a couple of", kind: wordCouple, low: 2},

	{text: "once", kind: wordTimes, low: 1}, {text: "twice", kind: wordTimes, low: 2}, {text: "thrice", kind: wordTimes, low: 3},

	{text: "a few", kind: wordVague, low: 2, high: 5, assumed: assumedFew},
	{text: "few", kind: wordVague, canon: "a few", low: 2, high: 5, assumed: assumedFew},
	{text: "several", kind: wordVague, low: 3, high: 7, assumed: assumedSeveral},

	{text: "half", kind: wordShare, low: 0.5}, {text: "a half", kind: wordShare, canon: "half", low: 0.5},
	{text: "one half", kind: wordShare, canon: "half", low: 0.5}, {text: "first half", kind: wordShare, low: 0.5},
	{text: "the first half", kind: wordShare, canon: "first half", low: 0.5}, {text: "second half", kind: wordShare, low: 0.5},
	{text: "the second half", kind: wordShare, canon: "second half", low: 0.5}, {text: "other half", kind: wordShare, low: 0.5},
	{text: "the other half", kind: wordShare, canon: "other half", low: 0.5},
	{text: "a third", kind: wordShare, low: 1.0 / 3}, {text: "one third", kind: wordShare, canon: "a third", low: 1.0 / 3},
	{text: "third", kind: wordShare, canon: "a third", low: 1.0 / 3}, {text: "two thirds", kind: wordShare, low: 2.0 / 3},
	{text: "a quarter", kind: wordShare, low: 0.25}, {text: "quarter", kind: wordShare, canon: "a quarter", low: 0.25},
	{text: "one quarter", kind: wordShare, canon: "a quarter", low: 0.25}, {text: "three quarters", kind: wordShare, low: 0.75},
	{text: "a fifth", kind: wordShare, low: 0.2}, {text: "one fifth", kind: wordShare, canon: "a fifth", low: 0.2},
	{text: "a tenth", kind: wordShare, low: 0.1}, {text: "one tenth", kind: wordShare, canon: "a tenth", low: 0.1},
	{text: "all", kind: wordShare, low: 1}, {text: "the whole", kind: wordShare, canon: "all", low: 1},

	{text: "overnight", kind: wordFigure, dim: Time, low: overnightLow, high: overnightHigh, assumed: assumedOvernight},
	{text: "over night", kind: wordFigure, canon: "overnight", dim: Time, low: overnightLow, high: overnightHigh, assumed: assumedOvernight},
	{text: "room temperature", kind: wordFigure, dim: Temperature, low: 20, high: 25, assumed: assumedRoom},
	{text: "room temp", kind: wordFigure, canon: "room temperature", dim: Temperature, low: 20, high: 25, assumed: assumedRoom},
	{text: "room temp.", kind: wordFigure, canon: "room temperature", dim: Temperature, low: 20, high: 25, assumed: assumedRoom},
	{text: "r.t.", kind: wordFigure, canon: "room temperature", dim: Temperature, low: 20, high: 25, assumed: assumedRoom},
	{text: "r.t", kind: wordFigure, canon: "room temperature", dim: Temperature, low: 20, high: 25, assumed: assumedRoom},
	{text: "rt", kind: wordFigure, canon: "room temperature", dim: Temperature, low: 20, high: 25, assumed: assumedRoom},
	{text: "ambient", kind: wordFigure, canon: "room temperature", dim: Temperature, low: 20, high: 25, assumed: assumedRoom},
	{text: "ambient temperature", kind: wordFigure, canon: "room temperature", dim: Temperature, low: 20, high: 25, assumed: assumedRoom},
	{text: "ice cold", kind: wordFigure, canon: "ice-cold", dim: Temperature, low: 0, high: 5, assumed: assumedIceCold},
	{text: "ice bath", kind: wordFigure, dim: Temperature, low: 0, high: 0, assumed: assumedIce},
	{text: "ice water bath", kind: wordFigure, canon: "ice bath", dim: Temperature, low: 0, high: 0, assumed: assumedIce},
	{text: "ice water", kind: wordFigure, canon: "ice bath", dim: Temperature, low: 0, high: 0, assumed: assumedIce},
	{text: "atmospheric", kind: wordFigure, canon: "atmospheric pressure", dim: Pressure, low: 1013.25, high: 1013.25, assumed: assumedAtm},
	{text: "atmospheric pressure", kind: wordFigure, dim: Pressure, low: 1013.25, high: 1013.25, assumed: assumedAtm},
	{text: "ambient pressure", kind: wordFigure, canon: "atmospheric pressure", dim: Pressure, low: 1013.25, high: 1013.25, assumed: assumedAtm},

	{text: "rest", kind: wordAlone}, {text: "the rest", kind: wordAlone, canon: "rest"}, {text: "remainder", kind: wordAlone, canon: "rest"},
	{text: "the remainder", kind: wordAlone, canon: "rest"}, {text: "remaining", kind: wordAlone, canon: "rest"},
	{text: "the remaining", kind: wordAlone, canon: "rest"}, {text: "aliquot", kind: wordAlone}, {text: "an aliquot", kind: wordAlone, canon: "aliquot"},
	{text: "saturated", kind: wordAlone}, {text: "sat", kind: wordAlone, canon: "saturated"}, {text: "sat.", kind: wordAlone, canon: "saturated"},
	{text: "satd", kind: wordAlone, canon: "saturated"}, {text: "satd.", kind: wordAlone, canon: "saturated"}, {text: "sat'd", kind: wordAlone, canon: "saturated"},
	{text: "concentrated", kind: wordAlone}, {text: "conc", kind: wordAlone, canon: "concentrated"}, {text: "conc.", kind: wordAlone, canon: "concentrated"},
	{text: "concd", kind: wordAlone, canon: "concentrated"}, {text: "concd.", kind: wordAlone, canon: "concentrated"},
	{text: "dilute", kind: wordAlone}, {text: "dil", kind: wordAlone, canon: "dilute"}, {text: "dil.", kind: wordAlone, canon: "dilute"},
	{text: "glacial", kind: wordAlone}, {text: "fuming", kind: wordAlone}, {text: "neat", kind: wordAlone},
	{text: "as assigned", kind: wordAlone}, {text: "as needed", kind: wordManner}, {text: "as required", kind: wordManner, canon: "as needed"},
	{text: "if needed", kind: wordManner}, {text: "if necessary", kind: wordManner, canon: "if needed"}, {text: "just enough", kind: wordAlone}, {text: "enough", kind: wordAlone, canon: "just enough"},
	{text: "sufficient", kind: wordAlone, canon: "just enough"},
	{text: "a little", kind: wordAlone}, {text: "little", kind: wordAlone, canon: "a little"}, {text: "a small amount", kind: wordAlone, canon: "a little"}, {text: "a small quantity", kind: wordAlone, canon: "a little"},
	{text: "a minimum", kind: wordAlone, canon: "just enough"}, {text: "the minimum", kind: wordAlone, canon: "just enough"}, {text: "a minimum amount", kind: wordAlone, canon: "just enough"}, {text: "equal volume", kind: wordAlone},
	{text: "an equal volume", kind: wordAlone, canon: "equal volume"}, {text: "to completion", kind: wordAlone},
	{text: "not stated", kind: wordAlone}, {text: "unstated", kind: wordAlone, canon: "not stated"}, {text: "unspecified", kind: wordAlone, canon: "not stated"},
	{text: "none", kind: wordAlone}, {text: "catalytic", kind: wordAlone}, {text: "a catalytic amount", kind: wordAlone, canon: "catalytic"},
	{text: "catalytic amount", kind: wordAlone, canon: "catalytic"}, {text: "trace", kind: wordAlone}, {text: "a trace", kind: wordAlone, canon: "trace"},
	{text: "reflux", kind: wordAlone}, {text: "gentle reflux", kind: wordAlone}, {text: "vigorous reflux", kind: wordAlone}, {text: "boiling", kind: wordAlone},
	{text: "vacuum", kind: wordAlone}, {text: "in vacuum", kind: wordAlone, canon: "vacuum"}, {text: "in vacuo", kind: wordAlone, canon: "vacuum"},
	{text: "under vacuum", kind: wordAlone, canon: "vacuum"}, {text: "high vacuum", kind: wordAlone},
	{text: "reduced pressure", kind: wordAlone}, {text: "under reduced pressure", kind: wordAlone, canon: "reduced pressure"},
	{text: "slight positive pressure", kind: wordAlone}, {text: "positive pressure", kind: wordAlone, canon: "slight positive pressure"},

	{text: "excess", kind: wordManner}, {text: "an excess", kind: wordManner, canon: "excess"}, {text: "in excess", kind: wordManner, canon: "excess"},
	{text: "large excess", kind: wordManner}, {text: "a large excess", kind: wordManner, canon: "large excess"},
	{text: "slight excess", kind: wordManner}, {text: "a slight excess", kind: wordManner, canon: "slight excess"},
	{text: "dropwise", kind: wordManner}, {text: "drop by drop", kind: wordManner, canon: "dropwise"}, {text: "slow dropwise", kind: wordManner, canon: "slowly, dropwise"},
	{text: "in portions", kind: wordManner}, {text: "portionwise", kind: wordManner, canon: "in portions"},
	{text: "in small portions", kind: wordManner, canon: "in portions"}, {text: "in one portion", kind: wordManner, canon: "at once"},
	{text: "at once", kind: wordManner}, {text: "all at once", kind: wordManner, canon: "at once"},
	{text: "slowly", kind: wordManner}, {text: "very slowly", kind: wordManner}, {text: "slow", kind: wordManner, canon: "slowly"}, {text: "rapidly", kind: wordManner},
	{text: "quickly", kind: wordManner, canon: "rapidly"}, {text: "rapid", kind: wordManner, canon: "rapidly"},
	{text: "gently", kind: wordManner}, {text: "gentle", kind: wordManner, canon: "gently"}, {text: "very gentle", kind: wordManner, canon: "very gently"}, {text: "very gently", kind: wordManner},
	{text: "cautiously", kind: wordManner}, {text: "carefully", kind: wordManner, canon: "cautiously"}, {text: "careful", kind: wordManner, canon: "cautiously"},
	{text: "steadily", kind: wordManner}, {text: "brisk", kind: wordManner, canon: "briskly"}, {text: "briskly", kind: wordManner},
}

// wordsBy lists, by the first letter a to z, the rows of words.
var wordsBy [26][]uint16

func init() {
	for i := range words {
		w := &words[i]
		if w.canon == "" {
			w.canon = w.text
		}
		if w.kind == wordNumber || w.kind == wordShare || w.kind == wordCouple {
			w.high = w.low
		}
		c := w.text[0] - 'a'
		wordsBy[c] = append(wordsBy[c], uint16(i))
	}
}

// lookupWord returns the row of a printed word, or nil.
func lookupWord(canon string) *word {
	if canon == "" || canon[0] < 'a' || canon[0] > 'z' {
		return nil
	}
	for _, i := range wordsBy[canon[0]-'a'] {
		if w := &words[i]; w.canon == canon && w.kind >= wordVague {
			return w
		}
	}
	return nil
}

// standsForFigure reports whether the word is printed in place of a figure.
func (w *word) standsForFigure() bool {
	return w != nil && (w.kind == wordVague || w.kind == wordShare || w.kind == wordFigure)
}

// ceilingFrom is the low end of "up to x".
func ceilingFrom(d Dimension) float64 {
	if canBeNegative(d) {
		return math.Inf(-1)
	}
	return 0
}

// plural returns the word for v things.
func plural(noun string, v float64) string {
	if v == 1 || noun == "" {
		return noun
	}
	return noun + "s"
}
