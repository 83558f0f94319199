package document

import (
	"testing"

	"ketyl/checker/finding"
)

// FuzzRead proves that no input panics, that every place lies in the source,
// that nothing is read without a tree or a finding, and that a tree written
// again reads the same.
func FuzzRead(f *testing.F) {
	for _, s := range []string{
		"", "a", "a: 1", "a: [1, {b: c}]", "- a\n- b: |\n   c\n", "a: &x *x", "&x a: *x", "<<: a", "{{},<<}", "{<<}", "? [a]\n: b", "? a",
		"a: 'b", "a: \"b", "a: [", "a: {", "a: ]", "\ta: b", "a:\n\t- b", "--- a\n--- b", "...\na", "%YAML 1.1\n---\na", "\ufeffa: b", "\xff\xfea\x00",
		"a: b\r\nc: d\r\n", "a: >5\n", "a: |2\n   x\n", "a: !!str b", "! a", "a: !t\n  b: c", "a: &x\n  - b", "*a : b", "é: *é", "a: *b\nc: '*b'\n",
		"- - - a", "-\n-\n", "a:\n- b\n-\n", "[a: b, ? c : d, {e}]", "{a: , b}", "a: b #c", "a: b#c", "#", "a: 'it''s'", "\"a\": \"\\x41\\u00e9\"",
		"a: - b", "a: b: c", "a: b\n c: d", "'a\n b': c", "a: |\n\n\n", "a: >-\n  b\n\n  c\n", "a: [b\n  c]", "a: {b:c}", "a:\n  b: 1\n c: 2", "?", "-", ":", "a: ~",
	} {
		f.Add([]byte(s))
	}
	f.Add(procedure(f))
	f.Fuzz(func(t *testing.T, b []byte) {
		if len(b) > 1<<14 {
			return
		}
		file, fs := Read("x", b)
		if file.Root == nil && len(fs) == 0 {
			t.Fatal("neither a tree nor a finding")
		}
		inside := func(s finding.Span) {
			if s.Start < 0 || s.Start > s.End || s.End > len(b) {
				t.Fatalf("span %v outside the %d bytes", s, len(b))
			}
		}
		for _, fd := range fs {
			inside(fd.Span)
			for _, r := range fd.Related {
				inside(r.Span)
			}
			if fd.Message == "" || fd.Rule == "" {
				t.Fatalf("mute finding %+v", fd)
			}
		}
		if file.Root == nil {
			return
		}
		checkSpans(t, file, file.Root, finding.Span{End: len(b)})
		again, fs := Read("x", Marshal(file.Root))
		if len(fs) > 0 {
			t.Fatalf("written again:\n%s\n%v", Marshal(file.Root), placed(again, fs))
		}
		if !same(file.Root, again.Root) {
			t.Fatalf("%q became\n%s", b, Marshal(file.Root))
		}
	})
}
