package bench

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// One pass over a text finds what a search for each word finds, in the texts of
// all released procedures.
func TestPhrasesFindEveryWord(t *testing.T) {
	ref := loadReference()
	files, err := filepath.Glob("../../procedures/*.yaml")
	if err != nil || len(files) == 0 {
		t.Fatal("no procedures", err)
	}
	hits := 0
	for _, f := range files {
		raw, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		for line := range strings.Lines(strings.ToLower(string(raw))) {
			found := ref.phrases.in(line)
			for name, topic := range ref.topics {
				i, ok := ref.phrases.index(name)
				if !ok {
					t.Fatalf("no index of %q", name)
				}
				if want := hasLower(line, topic.Words...); found[i] != want {
					t.Errorf("%q in %q: %v, want %v", name, line, found[i], want)
				}
				if found[i] {
					hits++
				}
			}
		}
	}
	if hits < 100 {
		t.Errorf("only %d topics found in all texts", hits)
	}
}
