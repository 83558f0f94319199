package bench

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"ketyl/checker/procedure"
	"ketyl/checker/substance"
)

// fortySteps is a typical procedure of forty steps, the same text that the
// benchmark of decoding in checker/procedure reads.
func fortySteps(t testing.TB) []byte {
	t.Helper()
	raw, err := os.ReadFile("../procedure/testdata/phenylpentanol.yaml")
	if err != nil {
		t.Fatal(err)
	}
	head, steps, ok := bytes.Cut(raw, []byte("\nsteps:\n"))
	if !ok {
		t.Fatal("no steps")
	}
	list := strings.SplitAfter("\n"+string(steps), "\n  - ")[1:]
	var out bytes.Buffer
	out.Write(head)
	out.WriteString("\nsteps:\n")
	for i := range 40 {
		out.WriteString("  - " + strings.TrimSuffix(strings.TrimSuffix(list[i%len(list)], "  - "), "\n") + "\n")
	}
	return out.Bytes()
}

// BenchmarkForty plays forty steps.
func BenchmarkForty(b *testing.B) {
	text := fortySteps(b)
	p, bad := procedure.Load("forty.yaml", text)
	if len(bad) > 0 || len(p.Steps) != 40 {
		b.Fatal(bad)
	}
	c, err := substance.Default()
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		Run(p, c, substance.DefaultSite())
	}
}

// BenchmarkFortyDecoded decodes the same text: playing is to cost less.
func BenchmarkFortyDecoded(b *testing.B) {
	text := fortySteps(b)
	b.ReportAllocs()
	for b.Loop() {
		procedure.Load("forty.yaml", text)
	}
}

// BenchmarkReleased decodes and plays all released procedures, the real texts:
// playing is to cost less.
func BenchmarkReleased(b *testing.B) {
	files, err := filepath.Glob("../../procedures/*.yaml")
	if err != nil || len(files) == 0 {
		b.Fatal("no released procedures", err)
	}
	c, err := substance.Default()
	if err != nil {
		b.Fatal(err)
	}
	var texts [][]byte
	var read []*procedure.Procedure
	for _, f := range files {
		raw, err := os.ReadFile(f)
		if err != nil {
			b.Fatal(err)
		}
		p, bad := procedure.Load(f, raw)
		if len(bad) > 0 {
			b.Fatal(bad)
		}
		texts, read = append(texts, raw), append(read, p)
	}
	b.Run("decode", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			for i, f := range files {
				procedure.Load(f, texts[i])
			}
		}
	})
	b.Run("play", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			for _, p := range read {
				Run(p, c, substance.DefaultSite())
			}
		}
	})
}
