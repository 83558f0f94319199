package checker

import (
	"context"
	"fmt"
	"slices"

	"ketyl/checker/bench"
	"ketyl/checker/finding"
)

// Text is a procedure file to judge: its bytes under the name shown to the
// reader.
type Text struct {
	Name  string
	Bytes []byte
}

// Together judges procedures that are run in one section and share its waste
// containers: each as Check does, then what a stream of the one does to a
// stream of another in the same bottle, told in both files with the place in
// the other, and the litres and containers over all. Where a text cannot be
// read, the others say that they were not judged together with it.
func (c *Checker) Together(texts []Text) []Result {
	rs := make([]Result, len(texts))
	var runs []bench.Played
	var of []*Result // whose run it is
	for i, t := range texts {
		r := &rs[i]
		c.guarded(r, func() {
			c.begin(r, t.Name, t.Bytes)
			if c.play(r) {
				c.judge(r, slices.DeleteFunc(slices.Clone(r.Trace.Events), func(e bench.Event) bool { return e.Kind == "container" }))
				runs, of = append(runs, bench.Played{Name: t.Name, Trace: r.Trace}), append(of, r)
			}
		})
	}
	if len(runs) > 0 {
		c.guarded(of[0], func() { c.share(runs, of) })
	}
	for _, r := range of {
		for i := range rs {
			if x := &rs[i]; x != r && !slices.Contains(of, x) {
				r.Findings = append(r.Findings, fault("format/together", "%s could not be read: what it puts into the containers of the section was not judged", x.Path))
			}
		}
		c.guarded(r, func() { c.settled(r) })
	}
	return rs
}

// share judges what the runs do to each other, and hands out the sums.
func (c *Checker) share(runs []bench.Played, of []*Result) {
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	for _, s := range bench.Together(runs, c.Compendium, c.Site) {
		r := of[s.Run]
		if f, ok := s.Facts.(*bench.ContainerFacts); ok {
			r.Containers = append(r.Containers, *f)
		}
		found := c.Rules.Judge(ctx, []bench.Event{s.Event})
		for i := range found {
			if s.Other < 0 {
				continue
			}
			found[i].Related = append(found[i].Related, finding.Related{
				Source: of[s.Other].Source, Span: s.At, Message: fmt.Sprintf("step %d there goes into the same container", s.Step),
			})
		}
		r.Findings = append(r.Findings, found...)
	}
	for _, r := range of {
		r.Section = len(runs)
	}
}
