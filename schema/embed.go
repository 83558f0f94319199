// Package schema holds the JSON Schemas (draft 2020-12) of every file that
// ketyl reads or writes, for editors and for the checker itself.
package schema

import "embed"

// FS holds every schema under its file name, such as procedure.schema.json.
//
//go:embed *.schema.json
var FS embed.FS

// Procedure returns the schema of a procedure file.
func Procedure() []byte { return read("procedure") }

// Rules returns the schema of a rule file.
func Rules() []byte { return read("rules") }

// Substance returns the schema of a file of compendium entries.
func Substance() []byte { return read("substance") }

// Site returns the schema of a site file.
func Site() []byte { return read("site") }

// Report returns the schema of the JSON that `ketyl check` prints.
func Report() []byte { return read("report") }

// read returns an embedded schema. A name that is not there is a mistake in
// this package, which its test finds, so it stops the program.
func read(name string) []byte {
	b, err := FS.ReadFile(name + ".schema.json")
	if err != nil {
		panic("schema: " + err.Error())
	}
	return b
}
