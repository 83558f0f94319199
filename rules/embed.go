// Package rules holds what the trade knows, as YAML that a chemist can read
// and edit: one file per rule family, and the reference tables under
// reference/. It holds no code and knows nothing of how the files are used.
package rules

import "embed"

// FS holds the rule files (*.yaml) at its root and the reference tables below
// "reference".
//
//go:embed reference *.yaml
var FS embed.FS
