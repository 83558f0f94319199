package bench

import (
	"reflect"
	"testing"
)

// TestSameSeesEveryFact: two pictures that differ in any one fact are not the
// same, so that no event shares a picture that has become another.
func TestSameSeesEveryFact(t *testing.T) {
	if !new(VesselFacts).same(new(VesselFacts)) {
		t.Fatal("two empty pictures are not the same")
	}
	for i := range reflect.TypeFor[VesselFacts]().NumField() {
		var f VesselFacts
		switch x := reflect.ValueOf(&f).Elem().Field(i).Addr().Interface().(type) {
		case *Num:
			*x = Missing("a figure")
		case *string:
			*x = "a word"
		case *bool:
			*x = true
		case *float64:
			*x = 1
		case *[]string:
			*x = []string{"a word"}
		default:
			t.Fatalf("no other value for a %T", x)
		}
		if f.same(new(VesselFacts)) {
			t.Errorf("%s is not compared", reflect.TypeFor[VesselFacts]().Field(i).Name)
		}
	}
}
