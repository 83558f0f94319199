package finding

import (
	"testing"
	"unicode/utf8"
)

// Lines and columns are 1-based, columns in code points; any offset lands
// inside the source, whatever the line endings.
func TestPositions(t *testing.T) {
	s := NewSource("f", []byte("a: 1\r\nb: µL\n\nlast"))
	for _, c := range []struct{ offset, line, column int }{
		{-5, 1, 1}, {0, 1, 1}, {3, 1, 4}, {6, 2, 1}, {9, 2, 4}, {11, 2, 5}, {12, 2, 6}, {13, 3, 1}, {14, 4, 1}, {18, 4, 5}, {99, 4, 5},
	} {
		if line, column := s.Position(c.offset); line != c.line || column != c.column {
			t.Errorf("offset %d: got %d:%d, want %d:%d", c.offset, line, column, c.line, c.column)
		}
	}
	for n, want := range map[int]string{0: "", 1: "a: 1", 2: "b: µL", 3: "", 4: "last", 5: ""} {
		if got := s.Line(n); got != want {
			t.Errorf("line %d: got %q, want %q", n, got, want)
		}
	}
	for offset := 0; offset <= len(s.Bytes); offset++ {
		if offset < len(s.Bytes) && !utf8.RuneStart(s.Bytes[offset]) {
			continue
		}
		line, column := s.Position(offset)
		if back := s.Offset(line, column); back > offset || offset-back > 1 {
			t.Errorf("offset %d is %d:%d, which is offset %d", offset, line, column, back)
		}
	}
	if s.Lines() != 4 {
		t.Errorf("%d lines", s.Lines())
	}
}

// Findings are read by level, then danger, then step; the order is total.
func TestSort(t *testing.T) {
	fs := []Finding{
		{Rule: "a/advise", Level: Advise, Step: 1},
		{Rule: "b/hold", Level: Hold, Danger: 1, Step: 2},
		{Rule: "a/hold", Level: Hold, Danger: 9, Step: 7},
		{Rule: "c/revise", Level: Revise, Step: 3},
		{Rule: "b/revise", Level: Revise, Step: 3},
	}
	Sort(fs)
	want := []string{"a/hold", "b/hold", "b/revise", "c/revise", "a/advise"}
	for i, f := range fs {
		if f.Rule != want[i] {
			t.Errorf("place %d: got %s, want %s", i, f.Rule, want[i])
		}
	}
}

// A byte order mark is no column.
func TestByteOrderMark(t *testing.T) {
	s := NewSource("f", []byte("\xef\xbb\xbfab\nc"))
	for _, c := range []struct{ offset, line, column int }{{3, 1, 1}, {4, 1, 2}, {6, 2, 1}} {
		if line, column := s.Position(c.offset); line != c.line || column != c.column {
			t.Errorf("offset %d: got %d:%d, want %d:%d", c.offset, line, column, c.line, c.column)
		}
	}
}
