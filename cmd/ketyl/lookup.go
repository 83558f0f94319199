package main

import (
	"strings"

	"github.com/spf13/cobra"

	"ketyl/checker/report"
	"ketyl/checker/site"
	"ketyl/checker/substance"
)

func (s *shell) lookupCommand() *cobra.Command {
	var format string
	c := &cobra.Command{
		Use:   "lookup NAME",
		Short: "What is known of a substance",
		Long: `Lookup prints what is known of a substance, under any usual name, abbreviation,
formula or CAS number: what attacks it, how far to keep air out, how to dry it,
what it gives off with water, what it must not meet, how to destroy it and where
its leftovers go, each figure with its source. What has no entry is judged by
its family where its name tells it.

Exit codes: 0 found; 2 not known.`,
		Args: func(_ *cobra.Command, args []string) error {
			if strings.TrimSpace(strings.Join(args, "")) == "" {
				return trouble("lookup wants a name, as in: ketyl lookup diethyl ether")
			}
			return nil
		},
		RunE: func(_ *cobra.Command, args []string) error {
			if format != "text" && format != "json" {
				return trouble("found the format %q, expected one of text, json", format)
			}
			name := strings.Join(args, " ")
			compendium, err := substance.Default()
			if err != nil {
				return trouble("the compendium cannot be opened: %v", err)
			}
			lab, err := s.laboratory()
			if err != nil {
				return err
			}
			found, nearest := compendium.Lookup(name)
			if found == nil {
				hint := "; a procedure can declare it under `substances`"
				if same := compendium.OfFormula(name); len(same) > 0 {
					hint = " as a name; of this composition are " + strings.Join(same, ", ") + ": say which"
				} else if len(nearest) > 0 {
					hint = ", did you mean " + strings.Join(nearest, " or ") + "?"
				}
				return trouble("%q is not known%s", name, hint)
			}
			if format == "json" {
				err = report.SubstanceJSON(s.out, compendium, lab, found)
			} else {
				err = report.SubstanceText(s.out, compendium, lab, found, report.Options{Colour: s.coloured(), Width: s.width()})
			}
			if err != nil {
				return trouble("the report could not be written: %v", err)
			}
			return nil
		},
	}
	c.Flags().StringVar(&format, "format", "text", "text or json")
	c.Flags().StringVar(&s.site, "site", "", "site `FILE` of the laboratory, for its waste containers (default: the nearest "+siteName+" upward)")
	return c
}

// laboratory reads the site file in force, or gives the default.
func (s *shell) laboratory() (*substance.Site, error) {
	file := s.site
	if file == "" {
		file = siteOf(".")
	}
	if file == "" {
		return substance.DefaultSite(), nil
	}
	b, err := readFile(file)
	if err != nil {
		return nil, trouble("the site file cannot be read: %v", err)
	}
	lab, faults := site.Read(file, b)
	if err := s.complain(faults); err != nil {
		return nil, err
	}
	return lab.Site, nil
}
