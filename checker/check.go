// Package checker is the whole way of a procedure through the program, from
// bytes to findings: read, decode, bench, judge. What is printed of it is the
// business of the report package.
package checker

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"ketyl/checker/bench"
	"ketyl/checker/finding"
	"ketyl/checker/judge"
	"ketyl/checker/procedure"
	"ketyl/checker/quantity"
	"ketyl/checker/site"
	"ketyl/checker/substance"
	"ketyl/rules"
)

// Version of the program; the linker may set another.
var Version = "0.1.0"

// Verdicts, from best to worst. Unread stands above all: a text that could not
// be read or judged in full is never called clear.
const (
	Clear  = "clear"
	Revise = "revise"
	Hold   = "hold"
	Unread = "unread"
)

// Notice stands under every report.
const Notice = "An aid to review, not a risk assessment: local rules and a qualified person's judgement come first."

// patience bounds the judging of one text, so that no rule of a laboratory's
// own can hang a run; the built-in ones take milliseconds.
const patience = 30 * time.Second

// Checker judges procedures. It may be used by many goroutines at once.
type Checker struct {
	Compendium *substance.Compendium
	Rules      *judge.Set
	Site       *substance.Site
	SiteFile   string // the site file in force; empty for the built-in laboratory
	Strict     bool   // revise counts as hold
	Today      time.Time

	accepted   []site.Acceptance
	ran        int
	off        []string // rules that the site turns off
	changed    []string // limits that it sets
	containers int      // waste containers that it names, in place of the built-in list
	compiled   atomic.Bool
}

// Options say how to judge.
type Options struct {
	SiteFile  string   // empty for the built-in laboratory
	RulesDirs []string // folders of rules beside the built-in ones
	Strict    bool
}

// Result is what became of one text.
type Result struct {
	Path          string
	SHA256        string
	Verdict       string // Clear, Revise, Hold or Unread
	Source        *finding.Source
	Procedure     *procedure.Procedure // nil when the file could not be read
	Trace         *bench.Trace         // nil when it could not be played
	Findings      []finding.Finding    // in reading order, accepted ones among them
	Ran           int                  // how many rules ran
	Off           []string             // rules that the site file turns off
	OwnContainers int                  // waste containers of the site file in place of the built-in list, 0 where it names none
	Changed       []string             // limits that the site file sets, as rule.limit: figure (default)
	Rules         string               // hash of the rules in force
	// Containers are what goes into each waste container: of this text, or of
	// the whole section where texts were judged together.
	Containers []bench.ContainerFacts
	Section    int // how many texts were judged together; 0 when it was alone
	SiteFile   string
}

// builtin loads the rules built into the program, once.
var builtin = sync.OnceValues(func() (*judge.Set, []finding.Finding) {
	return judge.Load(rules.FS, ".", true)
})

// New makes a checker. Faults of the site file and of rule folders are
// findings of outcome unread whose messages begin with file:line:column; the
// checker is never nil, but with findings it lacks what they name, so that
// what it clears is not cleared by the whole of the rules.
func New(o Options) (*Checker, []finding.Finding) {
	c := &Checker{Strict: o.Strict, Today: time.Now(), Site: substance.DefaultSite(), SiteFile: o.SiteFile}
	var group sync.WaitGroup
	var opened error
	group.Go(func() { c.Compendium, opened = substance.Default() })
	var found []finding.Finding
	c.Rules, found = builtin()
	found = slices.Clone(found)
	group.Wait()
	if opened != nil {
		found = append(found, fault("knowledge/compendium", "the compendium cannot be opened: %v", opened))
	}
	var lab *site.File
	if o.SiteFile != "" {
		var more []finding.Finding
		lab, more = readSite(o.SiteFile)
		found = append(found, more...)
	}
	dirs := slices.Clone(o.RulesDirs)
	if lab != nil {
		for _, f := range lab.Rules {
			dirs = append(dirs, f.Path)
		}
	}
	for _, dir := range dirs {
		set, more := LoadRules(dir)
		found = append(found, more...)
		c.Rules = c.Rules.With(set)
	}
	if lab != nil {
		found = append(found, c.settle(lab)...)
	}
	for _, r := range c.Rules.Rules() {
		if r.Level != judge.Off {
			c.ran++
		} else {
			c.off = append(c.off, r.ID)
		}
	}
	return c, found
}

func fault(rule, format string, args ...any) finding.Finding {
	return finding.Finding{Rule: rule, Level: finding.Hold, Outcome: finding.Unread, Message: fmt.Sprintf(format, args...)}
}

func readSite(name string) (*site.File, []finding.Finding) {
	b, err := os.ReadFile(name)
	if err != nil {
		return nil, []finding.Finding{fault("format/site", "the site file cannot be read: %v", err)}
	}
	return site.Read(name, b)
}

// LoadRules loads a folder of rules from disk. They are judged under a cost
// limit, and named by their path.
func LoadRules(dir string) (*judge.Set, []finding.Finding) {
	return judge.Load(folder(dir), filepath.ToSlash(dir), false)
}

// folder is the disk under the names that the user writes: relative ones, with
// .., and absolute ones, which os.DirFS refuses.
type folder string

func (folder) Open(name string) (fs.File, error)    { return os.Open(filepath.FromSlash(name)) }
func (folder) ReadFile(name string) ([]byte, error) { return os.ReadFile(filepath.FromSlash(name)) }
func (folder) ReadDir(name string) ([]fs.DirEntry, error) {
	return os.ReadDir(filepath.FromSlash(name))
}
func (folder) Stat(name string) (fs.FileInfo, error) { return os.Stat(filepath.FromSlash(name)) }

// settle puts the laboratory's word on rules into force.
func (c *Checker) settle(lab *site.File) []finding.Finding {
	c.Site, c.accepted = lab.Site, lab.Accepted
	if lab.OwnContainers {
		c.containers = len(lab.Site.Containers)
	}
	config := judge.Config{Levels: map[string]finding.Level{}, Limits: map[string]float64{}, LimitSource: filepath.Base(lab.Source.Name)}
	spans := map[string]finding.Span{}
	for _, l := range lab.Levels {
		config.Levels[l.Rule] = finding.Level(l.Level)
		spans[l.Rule] = l.Span
	}
	var misread []finding.Finding
	for _, l := range lab.Limits {
		key := l.Rule + "." + l.Name
		spans[key] = l.Span
		unit, least := unitOf(c.Rules, l)
		v, err := l.In(unit)
		switch {
		case err != nil:
			f := fault("format/site", "found the limit %s in `%s`, expected it in %s", key, l.Unit, word(unit, "plain figures"))
			f.Subject = key
			misread = append(misread, f)
			continue
		case v < 0 && !least:
			f := fault("format/site", "found the limit %s below nothing (%s), expected a figure of 0 or more", key, quantity.FormatNumber(v))
			f.Subject = key
			misread = append(misread, f)
			continue
		}
		config.Limits[key] = v
		c.changed = append(c.changed, key+": "+strings.TrimSpace(quantity.FormatNumber(v)+" "+unit))
	}
	set, found := c.Rules.Configure(config)
	c.Rules, found = set, append(found, misread...)
	for i := range found {
		found[i].Span = spans[found[i].Subject]
	}
	for _, a := range lab.Accepted {
		if _, ok := set.Rule(a.Rule); !ok {
			f := fault("format/site", "found the rule `%s` accepted, which is not known%s", a.Rule, meant(set, a.Rule))
			f.Span = a.Span
			found = append(found, f)
		}
	}
	for i := range found {
		line, column := lab.Source.Position(found[i].Span.Start)
		found[i].Message = fmt.Sprintf("%s:%d:%d: %s", lab.Source.Name, line, column, found[i].Message)
	}
	return found
}

// unitOf is the unit of a rule's limit, and whether it may lie below zero: a
// temperature, or one that does by default.
func unitOf(set *judge.Set, l site.Limit) (unit string, negative bool) {
	r, ok := set.Rule(l.Rule)
	if !ok {
		return l.Unit, true // the set names what is wrong
	}
	for _, x := range r.Limits {
		if x.Name == l.Name {
			return x.Unit, x.Unit == "°C" || x.Value < 0
		}
	}
	return l.Unit, true
}

func word(s, otherwise string) string {
	if s == "" {
		return otherwise
	}
	return s
}

func meant(set *judge.Set, id string) string {
	if near := set.Nearest(id); near != "" {
		return ", did you mean `" + near + "`?"
	}
	return ""
}

// Check judges the bytes of a procedure file under the name shown to the
// reader. It never panics: what goes wrong inside is a finding of outcome
// unread, like any other text that could not be judged.
func (c *Checker) Check(name string, b []byte) (r Result) {
	c.guarded(&r, func() {
		c.begin(&r, name, b)
		if c.play(&r) {
			c.judge(&r, r.Trace.Events)
			for _, e := range r.Trace.Events {
				if f, ok := e.Facts.(*bench.ContainerFacts); ok {
					r.Containers = append(r.Containers, *f)
				}
			}
			c.settled(&r)
		}
	})
	return r
}

// guarded does a part of the work on a text, turns what fails in it into a
// finding, and brings findings and verdict up to date.
func (c *Checker) guarded(r *Result, work func()) {
	defer func() {
		if p := recover(); p != nil {
			r.Findings = append(r.Findings, fault("format/internal", "the checker failed on this text: %v; what it had found stands here, the rest was not judged", p))
		}
		finding.Sort(r.Findings)
		r.Verdict = verdict(r.Findings, c.Strict)
	}()
	work()
}

func (c *Checker) begin(r *Result, name string, b []byte) {
	sum := sha256.Sum256(b)
	*r = Result{Path: name, SHA256: hex.EncodeToString(sum[:]), Source: finding.NewSource(name, b), Rules: c.Rules.Hash(), SiteFile: c.SiteFile}
}

// play reads a text and plays it. It gives false when the text could not be
// read: judging half of it would find faults that are not there, and miss those
// that are.
func (c *Checker) play(r *Result) bool {
	p, found := procedure.Load(r.Path, r.Source.Bytes)
	r.Procedure, r.Findings = p, found
	if p == nil && len(found) == 0 {
		r.Findings = append(r.Findings, fault("format/empty", "found no procedure in the file"))
	}
	if unread(r.Findings) {
		return false
	}
	c.date(p)
	r.Trace = bench.Run(p, c.Compendium, c.Site)
	r.Findings = append(r.Findings, r.Trace.Findings...)
	return true
}

// judge has the rules judge what happened.
func (c *Checker) judge(r *Result, events []bench.Event) {
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	c.compile(ctx, events)
	r.Findings = append(r.Findings, c.Rules.Judge(ctx, events)...)
	r.Ran, r.Off, r.Changed, r.OwnContainers = c.ran, c.off, c.changed, c.containers
}

// settled marks what a role has accepted, once all findings are there.
func (c *Checker) settled(r *Result) {
	r.Findings = c.accept(r.Procedure, r.Findings)
	r.Findings = append(r.Findings, unknown(r.Trace, r.Findings)...)
}

// unknownSubstance is the rule that holds what nothing is known of.
const unknownSubstance = "knowledge/unknown-substance"

// unknown sees to it that a substance of which nothing is known is never
// cleared, whatever a site file says of the rule that holds it.
func unknown(t *bench.Trace, fs []finding.Finding) []finding.Finding {
	for _, f := range fs {
		if f.Rule == unknownSubstance && f.Level == finding.Hold {
			return nil
		}
	}
	var out []finding.Finding
	for _, e := range t.Events {
		if m, ok := e.Facts.(*bench.MaterialEvent); ok && !m.Known {
			f := fault(unknownSubstance, "nothing is known of %s, and the rule that holds it is turned off or lowered: it was not judged", m.Material.Name)
			f.Span, f.Subject = e.Span, e.Subject
			out = append(out, f)
		}
	}
	return out
}

// compile makes the rules ready that the events of the first text need, on all
// processors: a rule is compiled when it first judges, and to let one text
// compile them one after the other takes most of a cold start. What this
// judging finds is dropped.
func (c *Checker) compile(ctx context.Context, events []bench.Event) {
	if !c.compiled.CompareAndSwap(false, true) {
		return
	}
	kinds := map[string][]bench.Event{}
	for _, e := range events {
		kinds[e.Kind] = append(kinds[e.Kind], e)
	}
	var group sync.WaitGroup
	for _, of := range kinds {
		group.Go(func() {
			defer func() { _ = recover() }() // the judging that counts will meet it again
			c.Rules.Judge(ctx, of)
		})
	}
	group.Wait()
}

// Trace reads and plays a text without judging it by rules. The findings are
// those of reading and playing; the verdict is Unread if there are any, else
// empty, since nothing was judged.
func (c *Checker) Trace(name string, b []byte) (r Result) {
	sum := sha256.Sum256(b)
	r = Result{Path: name, SHA256: hex.EncodeToString(sum[:]), Source: finding.NewSource(name, b), SiteFile: c.SiteFile}
	defer func() {
		if p := recover(); p != nil {
			r.Trace = nil
			r.Findings = append(r.Findings, fault("format/internal", "the bench failed on this text: %v", p))
		}
		finding.Sort(r.Findings)
		if len(r.Findings) > 0 {
			r.Verdict = Unread
		}
	}()
	r.Procedure, r.Findings = procedure.Load(name, b)
	if r.Procedure == nil || unread(r.Findings) {
		return r
	}
	c.date(r.Procedure)
	r.Trace = bench.Record(r.Procedure, c.Compendium, c.Site)
	r.Findings = append(r.Findings, r.Trace.Findings...)
	return r
}

// date sets the day of the run to today where the text names none.
func (c *Checker) date(p *procedure.Procedure) {
	if p.On.IsZero() {
		p.On = c.Today
	}
}

// Play reads and plays a text without judging it: what a rule's own examples
// are run on.
func (c *Checker) Play(name string, b []byte) ([]bench.Event, []finding.Finding) {
	p, found := procedure.Load(name, b)
	if p == nil || unread(found) {
		return nil, found
	}
	t := bench.Run(p, c.Compendium, c.Site)
	return t.Events, append(found, t.Findings...)
}

func unread(fs []finding.Finding) bool {
	return slices.ContainsFunc(fs, func(f finding.Finding) bool { return f.Outcome == finding.Unread })
}

// verdict is the worst that the findings ask for, folded ones too. A lapsed
// acceptance accepts nothing, and nothing unread can be accepted, nor can a
// substance of which nothing is known.
func verdict(fs []finding.Finding, strict bool) string {
	worst := Clear
	var look func(fs []finding.Finding)
	look = func(fs []finding.Finding) {
		for _, f := range fs {
			switch {
			case f.Outcome == finding.Unread:
				worst = Unread
			case Accepted(f) && f.Rule != unknownSubstance || worst == Unread:
			case f.Level == finding.Hold || strict && f.Level == finding.Revise:
				worst = Hold
			case f.Level == finding.Revise && worst == Clear:
				worst = Revise
			}
			look(f.Consequences)
		}
	}
	look(fs)
	return worst
}

// Accepted reports whether a role has taken a finding on itself, and the
// acceptance has not lapsed.
func Accepted(f finding.Finding) bool {
	return f.Accepted != nil && !f.Accepted.Lapsed && f.Outcome != finding.Unread
}

// Unreadable is the result for a file whose bytes could not be had.
func Unreadable(name string, err error) Result {
	sum := sha256.Sum256(nil)
	return Result{
		Path: name, SHA256: hex.EncodeToString(sum[:]), Verdict: Unread, Source: finding.NewSource(name, nil),
		Findings: []finding.Finding{fault("format/file", "the file cannot be read: %v", err)},
	}
}
