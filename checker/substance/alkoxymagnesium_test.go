package substance

import "testing"

// TestAlkoxymagnesiumIsNoGrignard: oxygen between the group and magnesium makes
// an alkoxide, oxygen elsewhere in the group does not.
func TestAlkoxymagnesiumIsNoGrignard(t *testing.T) {
	c, err := Default()
	if err != nil {
		t.Fatal(err)
	}
	for name, family := range map[string]string{
		"diphenylmethoxymagnesium bromide":  "alkoxide",
		"methoxymagnesium chloride":         "alkoxide",
		"2-methoxyphenylmagnesium bromide":  "organomagnesium",
		"4-phenoxyphenylmagnesium chloride": "organomagnesium",
	} {
		s, ok := c.Derive(name, "", "")
		if !ok || s.Family != family {
			t.Errorf("%s: found %v %v, expected family %s", name, ok, s, family)
		}
	}
}
