package schema

import (
	"encoding/json"
	"io/fs"
	"strings"
	"testing"
)

// Every schema is JSON of the promised draft under its own name.
func TestSchemas(t *testing.T) {
	files, err := fs.Glob(FS, "*.schema.json")
	if err != nil || len(files) == 0 {
		t.Fatal(files, err)
	}
	for _, name := range files {
		var head struct {
			Schema string `json:"$schema"`
			ID     string `json:"$id"`
			Title  string `json:"title"`
		}
		if err := json.Unmarshal(read(strings.TrimSuffix(name, ".schema.json")), &head); err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if head.Schema != "https://json-schema.org/draft/2020-12/schema" || !strings.HasSuffix(head.ID, name) || head.Title == "" {
			t.Errorf("%s: $schema %q, $id %q, title %q", name, head.Schema, head.ID, head.Title)
		}
	}
	if len(Procedure()) == 0 {
		t.Error("no procedure schema")
	}
}
