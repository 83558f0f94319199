package bench

import (
	"bytes"
	"os"
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
