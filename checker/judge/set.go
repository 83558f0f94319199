package judge

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"strings"
	"sync"

	"github.com/google/cel-go/common/types"

	"ketyl/checker/document"
	"ketyl/checker/finding"
)

// Off as a configured level turns a rule off.
const Off finding.Level = "off"

// Rule describes a loaded rule as it is in force.
type Rule struct {
	ID, Family    string
	Level         finding.Level // as in the file, or as configured; Off when turned off
	Configured    bool          // the level was configured
	Over          string        // kind of event
	When, Require string        // CEL; When is empty when the rule always applies
	Say, Ask, Fix string        // templates
	CannotTell    finding.Level // level when it cannot tell; empty for that of the rule; "silent"
	SilentBecause string
	Limits        []Limit
	Because       string
	Explain       string
	Sources       []Source
	Danger        float64
	Modes         []string // failure modes it covers
	Once          bool
	File          string
	Line, Column  int
}

// Limit is one threshold of a rule.
type Limit struct {
	Name   string
	Value  float64
	Unit   string
	As     string // what it is called in a finding: "fill over gas"; may be empty
	Basis  string // published | derived | practice | site-set
	Source string
	Set    string // whose it is: "ketyl default, derived"; "site file lab.yaml"
}

// Source is where a rule comes from.
type Source struct{ Cite, Kind, Address string }

// Set is a set of rules ready to judge. It never changes and may be used by
// many goroutines at once.
type Set struct {
	rules  []activeRule // by id
	byKind map[string][]*activeRule
	pool   *sync.Pool // of *scratch
	hash   func() string
}

// activeRule is a rule as it is in force.
type activeRule struct {
	*rule
	level  finding.Level  // configured; empty when not
	limits *limitValues   // in force
	set    map[int]string // whose limit it is, where configured, by index
}

func newSet(rules []activeRule) *Set {
	slices.SortFunc(rules, func(a, b activeRule) int { return strings.Compare(a.doc.ID, b.doc.ID) })
	s := &Set{
		rules: rules, byKind: map[string][]*activeRule{},
		pool: &sync.Pool{New: func() any { return &scratch{records: map[string]*record{}} }},
	}
	for i := range rules {
		if a := &s.rules[i]; a.level != Off {
			s.byKind[a.doc.Over] = append(s.byKind[a.doc.Over], a)
		}
	}
	s.hash = sync.OnceValue(s.digest)
	return s
}

// With gives a set with the rules of more added; a rule of the same id is
// replaced.
func (s *Set) With(more *Set) *Set {
	rules := slices.Clone(more.rules)
	for _, a := range s.rules {
		if _, ok := more.find(a.doc.ID); !ok {
			rules = append(rules, a)
		}
	}
	return newSet(rules)
}

func (s *Set) find(id string) (int, bool) {
	return slices.BinarySearchFunc(s.rules, id, func(a activeRule, id string) int { return strings.Compare(a.doc.ID, id) })
}

// Config is what a site sets of rules.
type Config struct {
	Levels      map[string]finding.Level // by rule id: hold, revise, advise or Off
	Limits      map[string]float64       // by rule id and limit: drying/solvent-water.loss_percent
	LimitSource string                   // whose they are: the name of the site file
}

// Configure gives a set with levels and limits set. A configured level holds
// in place of the rule's level and its bands, and is never exceeded by a
// question. Each entry that names no rule or limit, or has no such level, is
// a finding of outcome unread with the entry's key as Subject.
func (s *Set) Configure(c Config) (*Set, []finding.Finding) {
	rules := slices.Clone(s.rules)
	var fs []finding.Finding
	fail := func(key, format string, args ...any) {
		f := unread("rules/site", finding.Span{}, fmt.Sprintf(format, args...))
		f.Subject = key
		fs = append(fs, f)
	}
	for _, id := range slices.Sorted(maps.Keys(c.Levels)) {
		level := c.Levels[id]
		i, ok := s.find(id)
		switch {
		case !ok:
			fail(id, "found a level for the rule `%s`, which is not known%s", id, s.meant(id))
		case level.Rank() == 0 && level != Off:
			words := append(slices.Clone(levelWords), string(Off))
			fail(id, "found the level `%s` for %s%s", level, id, meant(string(level), words))
		default:
			rules[i].level = level
		}
	}
	for _, key := range slices.Sorted(maps.Keys(c.Limits)) {
		v := c.Limits[key]
		id, name, _ := strings.Cut(key, ".")
		i, ok := s.find(id)
		if !ok {
			fail(key, "found a limit for the rule `%s`, which is not known%s", id, s.meant(id))
			continue
		}
		a := &rules[i]
		at := slices.Index(a.limits.names, name)
		switch {
		case at < 0 && len(a.limits.names) == 0:
			fail(key, "found the limit `%s`, but %s has no limits", name, id)
		case at < 0:
			fail(key, "found the limit `%s`, which %s does not have%s", name, id, meant(name, a.limits.names))
		case math.IsNaN(v) || math.IsInf(v, 0):
			fail(key, "found no number for the limit %s, expected a plain number in %s", key, a.doc.Limits[at].Unit)
		default:
			a.limits = &limitValues{a.limits.names, slices.Clone(a.limits.values)}
			a.limits.values[at] = types.Double(v)
			if a.set = maps.Clone(a.set); a.set == nil {
				a.set = map[int]string{}
			}
			a.set[at] = "site file"
			if c.LimitSource != "" {
				a.set[at] = "site file " + c.LimitSource
			}
		}
	}
	return newSet(rules), fs
}

// limit gives a limit as it is in force.
func (a *activeRule) limit(i int) Limit {
	l := a.doc.Limits[i]
	l.Value = float64(a.limits.values[i].(types.Double))
	if who, ok := a.set[i]; ok {
		l.Set = who
	}
	return l
}

func (a *activeRule) describe() Rule {
	d := a.doc
	if a.level != "" {
		d.Level, d.Configured = a.level, true
	}
	d.Limits = slices.Clone(d.Limits)
	for i := range d.Limits {
		d.Limits[i] = a.limit(i)
	}
	return d
}

// Rules lists the rules by id, those turned off too.
func (s *Set) Rules() []Rule {
	rules := make([]Rule, len(s.rules))
	for i := range s.rules {
		rules[i] = s.rules[i].describe()
	}
	return rules
}

// Rule gives the rule of an id.
func (s *Set) Rule(id string) (Rule, bool) {
	i, ok := s.find(id)
	if !ok {
		return Rule{}, false
	}
	return s.rules[i].describe(), true
}

func (s *Set) ids() []string {
	ids := make([]string, len(s.rules))
	for i, a := range s.rules {
		ids[i] = a.doc.ID
	}
	return ids
}

// Nearest gives the id that was most likely meant, with or without its
// family; empty when none is near.
func (s *Set) Nearest(id string) string {
	ids := s.ids()
	if near := document.Nearest(id, ids); near != "" {
		return near
	}
	_, name, ok := strings.Cut(id, "/")
	if !ok {
		name = id
	}
	names := make([]string, len(ids))
	for i, id := range ids {
		_, names[i], _ = strings.Cut(id, "/")
	}
	if near := document.Nearest(name, names); near != "" {
		return ids[slices.Index(names, near)]
	}
	return ""
}

func (s *Set) meant(id string) string {
	if near := s.Nearest(id); near != "" {
		return fmt.Sprintf(", did you mean `%s`?", near)
	}
	return ""
}

// Hash identifies the rules as they are in force: their texts without the
// examples, levels and limits. Equal sets have equal hashes, wherever they were loaded from.
func (s *Set) Hash() string { return s.hash() }

func (s *Set) digest() string {
	h := sha256.New()
	for _, a := range s.rules {
		fmt.Fprintf(h, "%s\x00%s\x00", a.doc.ID, a.level)
		hashNode(h, a.node)
		for _, v := range a.limits.values {
			var b [8]byte
			binary.BigEndian.PutUint64(b[:], math.Float64bits(float64(v.(types.Double))))
			h.Write(b[:])
		}
	}
	return hex.EncodeToString(h.Sum(nil))[:16]
}

// hashNode writes what a rule says, without its examples.
func hashNode(w io.Writer, n *document.Node) {
	fmt.Fprintf(w, "%d%d:%s[", n.Kind, len(n.Text), n.Text)
	for _, item := range n.Items {
		hashNode(w, item)
	}
	for _, e := range n.Entries {
		if e.Key.Text != "good" && e.Key.Text != "bad" {
			hashNode(w, e.Key)
			hashNode(w, e.Value)
		}
	}
	io.WriteString(w, "]")
}
