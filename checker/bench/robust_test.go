package bench

import (
	"os"
	"path/filepath"
	"reflect"
	"testing"

	"ketyl/checker/procedure"
	"ketyl/checker/substance"
)

// everyText is every procedure in the repository: released, flawed, published.
func everyText(t testing.TB) []string {
	t.Helper()
	var files []string
	for _, dir := range []string{"../../procedures", "../../testdata/flawed", "../../testdata/published", "../procedure/testdata"} {
		found, err := filepath.Glob(dir + "/*.yaml")
		if err != nil {
			t.Fatal(err)
		}
		files = append(files, found...)
	}
	if len(files) < 40 {
		t.Fatalf("only %d procedures found", len(files))
	}
	return files
}

// Every text can be played, and twice to the same end: no map order, no state
// kept between runs.
func TestEveryTextTwice(t *testing.T) {
	c, err := substance.Default()
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range everyText(t) {
		raw, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		p, bad := procedure.Load(name, raw)
		if p == nil || len(bad) > 0 {
			continue // reading is tested elsewhere
		}
		one := Run(p, c, substance.DefaultSite())
		q, _ := procedure.Load(name, raw)
		two := Run(q, c, substance.DefaultSite())
		if len(one.Events) != len(two.Events) {
			t.Errorf("%s: %d events, then %d", name, len(one.Events), len(two.Events))
			continue
		}
		for i := range one.Events {
			if !reflect.DeepEqual(one.Events[i], two.Events[i]) {
				t.Errorf("%s: event %d differs: %+v, then %+v", name, i, one.Events[i].Facts, two.Events[i].Facts)
				break
			}
		}
	}
}

// FuzzRun: whatever can be read can be played; spans stay inside the file.
func FuzzRun(f *testing.F) {
	for _, name := range everyText(f) {
		raw, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(raw)
	}
	c, err := substance.Default()
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		p, bad := procedure.Load("f.yaml", raw)
		if p == nil || len(bad) > 0 {
			return
		}
		for _, e := range Run(p, c, substance.DefaultSite()).Events {
			if e.Span.Start < 0 || e.Span.End > len(raw) || e.Span.Start > e.Span.End {
				t.Fatalf("%s event at %v of %d bytes", e.Kind, e.Span, len(raw))
			}
			if e.Step < 0 || e.Step > len(p.Steps) {
				t.Fatalf("%s event at step %d of %d", e.Kind, e.Step, len(p.Steps))
			}
		}
	})
}
