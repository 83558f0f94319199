package document

import (
	"ketyl/checker/finding"

	"gopkg.in/yaml.v3"
)

func (w *walker) unknownAliases(b []byte, start int, err error) (*yaml.Node, error) { return nil, err }

func explainSyntax(src *finding.Source, start int, err error) finding.Finding {
	return unread("format/syntax", finding.Span{}, "x")
}
