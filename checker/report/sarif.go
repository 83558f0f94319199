package report

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"net/url"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"ketyl/checker"
	"ketyl/checker/finding"
	"ketyl/checker/judge"
)

// The part of SARIF 2.1.0 (OASIS, 2020) that is written.
type (
	sarifText struct {
		Text string `json:"text"`
	}

	sarifRule struct {
		ID               string         `json:"id"`
		ShortDescription *sarifText     `json:"shortDescription,omitempty"`
		FullDescription  *sarifText     `json:"fullDescription,omitempty"`
		Help             *sarifText     `json:"help,omitempty"`
		Default          *sarifDefault  `json:"defaultConfiguration,omitempty"`
		Properties       map[string]any `json:"properties,omitempty"`
	}

	sarifDefault struct {
		Level string `json:"level"`
	}

	sarifLocation struct {
		ID       int           `json:"id,omitempty"`
		Physical sarifPhysical `json:"physicalLocation"`
		Logical  []sarifName   `json:"logicalLocations,omitempty"`
		Message  *sarifText    `json:"message,omitempty"`
	}

	sarifName struct {
		Name string `json:"name"`
		Kind string `json:"kind"`
	}

	sarifPhysical struct {
		Artifact sarifArtifact `json:"artifactLocation"`
		Region   *sarifRegion  `json:"region,omitempty"`
	}

	sarifArtifact struct {
		URI  string `json:"uri"`
		Base string `json:"uriBaseId,omitempty"`
	}

	sarifRegion struct {
		StartLine   int `json:"startLine"`
		StartColumn int `json:"startColumn"`
		EndLine     int `json:"endLine"`
		EndColumn   int `json:"endColumn"`
	}

	sarifResult struct {
		RuleID       string             `json:"ruleId"`
		RuleIndex    int                `json:"ruleIndex"`
		Level        string             `json:"level"`
		Message      sarifText          `json:"message"`
		Locations    []sarifLocation    `json:"locations"`
		Related      []sarifLocation    `json:"relatedLocations,omitempty"`
		Fingerprints map[string]string  `json:"partialFingerprints"`
		Suppressions []sarifSuppression `json:"suppressions,omitempty"`
		Properties   map[string]any     `json:"properties"`
	}

	sarifSuppression struct {
		Kind          string `json:"kind"`
		Status        string `json:"status"`
		Justification string `json:"justification"`
	}
)

// sarifPrinter writes results as they come and the tool, whose list of rules
// they settle, at the end; the order of keys is free in JSON.
type sarifPrinter struct {
	out     io.Writer
	o       Options
	n       int
	failed  bool
	ids     []string
	indexes map[string]int
	seen    map[string]int // of fingerprints
}

func (p *sarifPrinter) rule(id string) int {
	if i, ok := p.indexes[id]; ok {
		return i
	}
	if p.indexes == nil {
		p.indexes = map[string]int{}
	}
	p.indexes[id] = len(p.ids)
	p.ids = append(p.ids, id)
	return len(p.ids) - 1
}

func sarifLevel(l finding.Level) string {
	switch l {
	case finding.Hold:
		return "error"
	case finding.Revise:
		return "warning"
	}
	return "note"
}

// artifact names a file: relative to the root of the sources where it lies
// below it.
func artifact(path string) sarifArtifact {
	slashed := filepath.ToSlash(filepath.Clean(path))
	if filepath.IsAbs(path) {
		if !strings.HasPrefix(slashed, "/") {
			slashed = "/" + slashed
		}
		return sarifArtifact{URI: (&url.URL{Scheme: "file", Path: slashed}).String()}
	}
	return sarifArtifact{URI: (&url.URL{Path: slashed}).EscapedPath(), Base: "%SRCROOT%"}
}

func sarifPlace(path string, src *finding.Source, at finding.Span) sarifPhysical {
	p := sarifPhysical{Artifact: artifact(path)}
	if src != nil && len(src.Bytes) > 0 {
		x := placeOf(src, at)
		p.Region = &sarifRegion{StartLine: x.Line, StartColumn: x.Column, EndLine: x.EndLine, EndColumn: x.EndColumn}
	}
	return p
}

// fingerprint stays the same while the finding is about the same rule and step
// of the same file, wherever its lines move.
func (p *sarifPrinter) fingerprint(path string, f finding.Finding) string {
	key := strings.Join([]string{f.Rule, filepath.ToSlash(path), strconv.Itoa(f.Step), f.Subject, string(f.Outcome)}, "\x00")
	if p.seen == nil {
		p.seen = map[string]int{}
	}
	p.seen[key]++
	sum := sha256.Sum256([]byte(key + "\x00" + strconv.Itoa(p.seen[key])))
	return hex.EncodeToString(sum[:16])
}

func (p *sarifPrinter) Result(r checker.Result) error {
	s := &sticky{w: p.out}
	p.open(s)
	var write func(fs []finding.Finding, under string) error
	write = func(fs []finding.Finding, under string) error {
		for _, f := range fs {
			if f.Outcome == finding.Unread {
				p.failed = true
			}
			if p.n > 0 {
				s.printf(",")
			}
			p.n++
			s.printf("\n        ")
			if err := writeJSON(s, p.result(r, f, under), "        "); err != nil {
				return err
			}
			if err := write(f.Consequences, f.Rule); err != nil {
				return err
			}
		}
		return s.err
	}
	return write(r.Findings, "")
}

// result is one finding. Its message alone must suffice: viewers leave out
// related places and suppressions.
func (p *sarifPrinter) result(r checker.Result, f finding.Finding, under string) sarifResult {
	text := subject(f, r.Source) + ": " + sentence(f)
	if f.Because != "" {
		text += " " + f.Because
	}
	if f.Fix != "" {
		text += " Write: " + f.Fix
	}
	if f.Accepted != nil {
		text += " Accepted " + acceptance(f.Accepted)
	}
	values, assumed := figures(f.Figures)
	out := sarifResult{
		RuleID: f.Rule, RuleIndex: p.rule(f.Rule), Level: sarifLevel(f.Level), Message: sarifText{text},
		Locations:    []sarifLocation{{Physical: sarifPlace(r.Path, r.Source, f.Span)}},
		Fingerprints: map[string]string{"ketyl/v1": p.fingerprint(r.Path, f)},
		Properties:   map[string]any{"level": f.Level, "outcome": f.Outcome, "step": f.Step, "figures": values},
	}
	if f.Step > 0 {
		out.Locations[0].Logical = []sarifName{{Name: "step " + strconv.Itoa(f.Step), Kind: "element"}}
	}
	if assumed != nil {
		out.Properties["assumed"] = assumed
	}
	if under != "" {
		out.Properties["consequence_of"] = under
	}
	for i, rel := range f.Related {
		path, src := r.Path, r.Source
		if rel.Source != nil {
			path, src = rel.Source.Name, rel.Source
		}
		out.Related = append(out.Related, sarifLocation{ID: i + 1, Physical: sarifPlace(path, src, rel.Span), Message: &sarifText{rel.Message}})
	}
	if checker.Accepted(f) {
		out.Suppressions = []sarifSuppression{{Kind: "external", Status: "accepted", Justification: acceptance(f.Accepted)}}
	}
	return out
}

// open writes what stands before the results.
func (p *sarifPrinter) open(s *sticky) {
	if p.seen != nil || p.n > 0 {
		return
	}
	p.seen = map[string]int{}
	s.printf("{\n  \"$schema\": \"https://json.schemastore.org/sarif-2.1.0.json\",\n  \"version\": \"2.1.0\",\n  \"runs\": [\n    {\n      \"columnKind\": \"unicodeCodePoints\",\n      \"results\": [")
}

func (p *sarifPrinter) Close() error {
	s := &sticky{w: p.out}
	p.open(s)
	if p.n > 0 {
		s.printf("\n      ")
	}
	s.printf("],\n")
	// Every rule that ran is listed: silence of a rule that ran is a result.
	for _, id := range ids(p.o.Rules) {
		p.rule(id)
	}
	rules := []sarifRule{}
	for _, id := range p.ids {
		rule := sarifRule{ID: id}
		if i := slices.IndexFunc(p.o.Rules, func(r judge.Rule) bool { return r.ID == id }); i >= 0 {
			d := p.o.Rules[i]
			rule.ShortDescription = &sarifText{strings.ReplaceAll(d.Family, "-", " ") + ": " + strings.ReplaceAll(strings.TrimPrefix(id, d.Family+"/"), "-", " ")}
			rule.FullDescription = &sarifText{d.Because}
			rule.Help = &sarifText{strings.TrimSpace(d.Explain + "\n\nWrite: " + d.Fix)}
			rule.Default = &sarifDefault{sarifLevel(d.Level)}
			rule.Properties = map[string]any{"level": d.Level, "sources": d.Sources}
		}
		rules = append(rules, rule)
	}
	invocation := map[string]any{"executionSuccessful": !p.failed}
	if p.failed {
		invocation["exitCode"] = 2
		invocation["exitCodeDescription"] = "something could not be read or judged"
	}
	for i, part := range []struct {
		key string
		v   any
	}{
		{"tool", map[string]any{"driver": map[string]any{
			"name": "ketyl", "version": checker.Version, "semanticVersion": checker.Version, "rules": rules,
			"fullDescription": sarifText{"Checks written procedures for work under inert gas. " + checker.Notice},
		}}},
		{"invocations", []any{invocation}},
		{"properties", map[string]any{"rules": p.o.Hash, "strict": p.o.Strict, "notice": checker.Notice}},
	} {
		if i > 0 {
			s.printf(",\n")
		}
		s.printf("      %q: ", part.key)
		if err := writeJSON(s, part.v, "      "); err != nil {
			return err
		}
	}
	s.printf("\n    }\n  ]\n}\n")
	if s.err != nil {
		return fmt.Errorf("sarif: %w", s.err)
	}
	return nil
}
