package judge

import (
	"math/rand/v2"
	"reflect"

	"github.com/google/cel-go/common/types"
	"github.com/google/cel-go/common/types/ref"

	"ketyl/checker/bench"
)

type (
	celValue  = ref.Val
	celDouble = types.Double
	celBool   = types.Bool
)

// random fills facts with few different values, so that they often meet what
// a condition asks for.
type random struct{ *rand.Rand }

func newRandom(seed uint64) random { return random{rand.New(rand.NewPCG(seed, 0))} }

func (r random) facts(t reflect.Type) any {
	p := reflect.New(t)
	r.fill(p.Elem())
	return p.Interface()
}

func (r random) fill(v reflect.Value) {
	words := []string{"", "add", "pour", "open"}
	switch p := v.Addr().Interface().(type) {
	case *bench.Num:
		if *p = bench.Got(float64(r.IntN(3))); r.IntN(4) == 0 {
			*p = bench.Missing("something")
		}
		return
	case *[]string:
		for range r.IntN(3) {
			*p = append(*p, words[r.IntN(len(words))])
		}
		return
	}
	switch v.Kind() {
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		r.fill(v.Elem())
	case reflect.Struct:
		for i := range v.NumField() {
			r.fill(v.Field(i))
		}
	case reflect.String:
		v.SetString(words[r.IntN(len(words))])
	case reflect.Bool:
		v.SetBool(r.IntN(2) == 0)
	case reflect.Float64:
		v.SetFloat(float64(r.IntN(3)))
	}
}
