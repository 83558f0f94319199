package bench

import (
	"os"
	"path/filepath"
	"reflect"
	"testing"

	"ketyl/checker/procedure"
	"ketyl/checker/substance"
)

// TestFiguresStay: what one run makes of an entry is not there in the next: the
// figures that runs share are, after many texts, those worked out afresh.
func TestFiguresStay(t *testing.T) {
	c, err := substance.Default()
	if err != nil {
		t.Fatal(err)
	}
	files, _ := filepath.Glob("../../procedures/*.yaml")
	published, _ := filepath.Glob("../../testdata/published/*.yaml")
	if len(files) == 0 || len(published) == 0 {
		t.Fatal("no texts")
	}
	for _, name := range append(files, published...) {
		raw, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if p, _ := procedure.Load(name, raw); p != nil {
			Run(p, c, substance.DefaultSite())
		}
	}
	k := knownOf(c)
	if len(k.plain) < 50 {
		t.Errorf("only %d entries were met", len(k.plain))
	}
	kept := k.plain
	k.plain = map[*substance.Substance]*figures{}
	defer func() { k.plain = kept }()
	b := prepare(&procedure.Procedure{}, c, substance.DefaultSite())
	for s, f := range kept {
		if fresh := b.species(s).figures; !reflect.DeepEqual(fresh, f) {
			t.Errorf("the figures of %s were changed", s.Name)
		}
	}
}
