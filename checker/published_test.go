package checker_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"ketyl/checker/bench"
	"ketyl/checker/procedure"
	"ketyl/checker/substance"
)

func TestPublishedRead(t *testing.T) {
	files, _ := filepath.Glob("../testdata/published/[0-9]*.yaml")
	c, err := substance.Default()
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range files {
		raw, _ := os.ReadFile(name)
		p, bad := procedure.Load(name, raw)
		for _, f := range bad {
			l, col := p.Source.Position(f.Span.Start)
			fmt.Printf("%s:%d:%d %s %s %s\n", filepath.Base(name), l, col, f.Rule, f.Message, f.Fix)
		}
		if len(bad) > 0 {
			continue
		}
		tr := bench.Run(p, c, substance.DefaultSite())
		for _, f := range tr.Findings {
			l, col := p.Source.Position(f.Span.Start)
			fmt.Printf("%s:%d:%d bench %s %s\n", filepath.Base(name), l, col, f.Rule, f.Message)
		}
		for _, e := range tr.Events {
			if m, ok := e.Facts.(*bench.MaterialEvent); ok && !m.Known && e.Kind == "material" {
				fmt.Printf("%s unknown %s\n", filepath.Base(name), m.Material.Name)
			}
		}
	}
}
