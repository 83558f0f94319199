package report

import (
	"io"

	"ketyl/checker"
	"ketyl/checker/bench"
	"ketyl/checker/finding"
)

// The shapes of the JSON report; schema/report.schema.json describes them.
type (
	jsonPlace struct {
		Line      int `json:"line"`
		Column    int `json:"column"`
		EndLine   int `json:"end_line"`
		EndColumn int `json:"end_column"`
		Start     int `json:"start"` // byte offsets into the file
		End       int `json:"end"`
	}

	jsonRelated struct {
		Message string    `json:"message"`
		Path    string    `json:"path,omitempty"` // of another file
		Span    jsonPlace `json:"span"`
	}

	// jsonContainer is a waste container and what goes into it.
	jsonContainer struct {
		Container string   `json:"container"`
		Streams   []string `json:"streams"`
		Files     []string `json:"files,omitempty"`
		Litres    any      `json:"litres"` // null when not known
		SizeL     any      `json:"size_l"`
		Bottles   any      `json:"bottles"`
	}

	jsonFinding struct {
		Rule         string              `json:"rule"`
		Level        finding.Level       `json:"level"`
		Outcome      finding.Outcome     `json:"outcome"`
		Step         int                 `json:"step"`
		Line         int                 `json:"line"`
		Column       int                 `json:"column"`
		Span         jsonPlace           `json:"span"`
		Subject      string              `json:"subject"`
		Message      string              `json:"message"`
		Because      string              `json:"because"`
		Fix          string              `json:"fix"`
		Ask          string              `json:"ask,omitempty"`
		Source       string              `json:"source"`
		Figures      map[string]any      `json:"figures"`
		Assumed      map[string]string   `json:"assumed,omitempty"`
		Related      []jsonRelated       `json:"related,omitempty"`
		Consequences []jsonFinding       `json:"consequences,omitempty"`
		Accepted     *finding.Acceptance `json:"accepted"`
	}

	jsonFile struct {
		Path      string            `json:"path"`
		SHA256    string            `json:"sha256"`
		Procedure string            `json:"procedure,omitempty"`
		Verdict   string            `json:"verdict"`
		Summary   string            `json:"summary"`
		Ran       int               `json:"ran"`
		Rules     string            `json:"rules"`
		Site      string            `json:"site,omitempty"`
		Off       []string          `json:"off,omitempty"`
		Limits    []string          `json:"limits,omitempty"`
		Together  int               `json:"together,omitempty"`
		Counts    Counts            `json:"counts"`
		Findings  []jsonFinding     `json:"findings"`
		Figures   map[string]any    `json:"figures"`
		Assumed   map[string]string `json:"assumed,omitempty"`
		// Containers are those of the section where files were judged together.
		Containers []jsonContainer `json:"containers,omitempty"`
	}
)

// jsonPrinter prints the promised JSON, file by file.
type jsonPrinter struct {
	out   io.Writer
	o     Options
	files int
}

func placeOf(src *finding.Source, at finding.Span) jsonPlace {
	p := jsonPlace{Start: at.Start, End: max(at.Start, at.End)}
	p.Line, p.Column = src.Position(p.Start)
	p.EndLine, p.EndColumn = src.Position(p.End)
	return p
}

func findingJSON(f finding.Finding, src *finding.Source) jsonFinding {
	at := placeOf(src, f.Span)
	j := jsonFinding{
		Rule: f.Rule, Level: f.Level, Outcome: f.Outcome, Step: f.Step, Line: at.Line, Column: at.Column, Span: at,
		Subject: f.Subject, Message: sentence(f), Because: f.Because, Fix: f.Fix, Ask: f.Ask, Source: f.Source, Accepted: f.Accepted,
	}
	j.Figures, j.Assumed = figures(f.Figures)
	for _, r := range f.Related {
		rel := jsonRelated{Message: r.Message, Span: placeOf(src, r.Span)}
		if r.Source != nil {
			rel.Path, rel.Span = r.Source.Name, placeOf(r.Source, r.Span)
		}
		j.Related = append(j.Related, rel)
	}
	for _, c := range f.Consequences {
		j.Consequences = append(j.Consequences, findingJSON(c, src))
	}
	return j
}

// wholeFigures are the figures of the whole procedure: null where the text
// leaves them unknown.
func wholeFigures(t *bench.Trace) (values map[string]any, assumed map[string]string) {
	values = map[string]any{}
	if t == nil {
		return values, nil
	}
	g := t.Figures
	if g.Limiting != "" {
		values["limiting"] = g.Limiting
	}
	for _, x := range []struct {
		name string
		n    bench.Num
	}{
		{"limiting_mmol", g.LimitingMmol}, {"theoretical_yield_g", g.TheoreticalG}, {"yield_percent", g.YieldPercent},
		{"largest_rise_k", g.LargestRiseK}, {"gas_l", g.GasL}, {"water_mmol", g.WaterMmol}, {"water_loss_percent", g.WaterLossPercent},
		{"hands_on_min", g.HandsOnMin}, {"total_min", g.TotalMin}, {"critical_path_min", g.CriticalPathMin},
		{"quench_start_min", g.QuenchStartMin}, {"latest_quench_min", g.LatestQuenchMin}, {"lead_days", g.LeadDays},
	} {
		values[x.name] = numberOf(x.n)
		if x.n.Assumed() != "" {
			if assumed == nil {
				assumed = map[string]string{}
			}
			assumed[x.name] = x.n.Assumed()
		}
	}
	if len(g.Wastes) > 0 {
		values["wastes"] = g.Wastes
	}
	return values, assumed
}

func (j *jsonPrinter) head(hash string) error {
	s := &sticky{w: j.out}
	s.printf("{\n  \"ketyl\": ")
	for _, part := range []struct {
		v    any
		next string
	}{
		{checker.Version, ",\n  \"rules\": "}, {hash, ",\n  \"rules_ran\": "}, {ids(j.o.Rules), ",\n  \"strict\": "},
		{j.o.Strict, ",\n  \"notice\": "}, {checker.Notice, ",\n  \"files\": ["},
	} {
		if err := writeJSON(s, part.v, "  "); err != nil {
			return err
		}
		s.printf("%s", part.next)
	}
	return s.err
}

func (j *jsonPrinter) Result(r checker.Result) error {
	s := &sticky{w: j.out}
	if j.files == 0 {
		if err := j.head(r.Rules); err != nil {
			return err
		}
	} else {
		s.printf(",")
	}
	j.files++
	f := jsonFile{
		Path: r.Path, SHA256: r.SHA256, Verdict: r.Verdict, Summary: summary(r, j.o.Strict), Ran: r.Ran, Rules: r.Rules, Site: r.SiteFile, Off: r.Off, Limits: r.Changed,
		Together: r.Section, Findings: []jsonFinding{},
	}
	for _, x := range r.Containers {
		f.Containers = append(f.Containers, jsonContainer{x.Container, x.Streams, x.Files, numberOf(x.Litres), numberOf(x.SizeL), numberOf(x.Bottles)})
	}
	if r.Procedure != nil {
		f.Procedure = r.Procedure.Name.S
	}
	for _, x := range r.Findings {
		f.Findings = append(f.Findings, findingJSON(x, r.Source))
	}
	f.Counts.add(r.Findings)
	f.Figures, f.Assumed = wholeFigures(r.Trace)
	s.printf("\n    ")
	if err := writeJSON(s, f, "    "); err != nil {
		return err
	}
	return s.err
}

func (j *jsonPrinter) Close() error {
	s := &sticky{w: j.out}
	if j.files == 0 {
		if err := j.head(j.o.Hash); err != nil {
			return err
		}
		s.printf("]\n}\n")
		return s.err
	}
	s.printf("\n  ]\n}\n")
	return s.err
}
