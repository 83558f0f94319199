package main

import (
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"
	"sync"

	"github.com/spf13/cobra"

	"ketyl/checker"
	"ketyl/checker/judge"
	"ketyl/checker/report"
	"ketyl/checker/site"
)

const siteName = site.FileName

// largest file that is read whole; what is larger is refused by the reader,
// which needs to see only that it is larger.
const largest = 64 << 20

func (s *shell) checkCommand() *cobra.Command {
	var format, stdinName string
	var together bool
	c := &cobra.Command{
		Use:   "check FILE…",
		Short: "Judge procedures ('-' reads standard input)",
		Long: `Check reads procedures, plays each on the simulated bench and judges what
happens there. A folder stands for every *.yaml and *.yml in it and below.

With --together the files are the procedures of one section, run at the same
time, which share the waste containers of the laboratory: beside each text alone,
what a leftover of the one does to a leftover of another in the same container is
judged and told in both files, and litres and containers are summed over all.

The site file of the laboratory is the nearest ` + siteName + ` in the folder of
the checked file and those above it; --site names another.

Exit codes: 0 no hold; 1 at least one hold; 2 something could not be read or
judged. They are the same in every format.`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return trouble("check wants at least one file or folder, or - for standard input; 'ketyl new' writes a file to begin with")
			}
			return nil
		},
		RunE: func(_ *cobra.Command, args []string) error {
			return s.check(args, format, stdinName, together)
		},
	}
	c.Flags().StringVar(&format, "format", "text", "one of "+strings.Join(report.Formats, ", "))
	c.Flags().StringVar(&stdinName, "stdin-filename", "", "`NAME` to show for standard input, and to look for the site file from")
	c.Flags().BoolVar(&together, "together", false, "judge the files as the procedures of one section that share its waste containers")
	s.judging(c)
	return c
}

// job is one text to judge: its name, and its bytes or why there are none.
type job struct {
	name    string
	checker *checker.Checker
	stdin   bool
	result  chan checker.Result
}

func (s *shell) check(args []string, format, stdinName string, together bool) error {
	options := report.Options{Strict: s.strict, Colour: s.coloured(), Width: s.width()}
	if _, err := report.New(format, io.Discard, options); err != nil {
		return trouble("%v", err)
	}
	jobs, missing := s.jobs(args, stdinName)
	if missing && len(jobs) == 0 {
		return trouble("no procedure was judged")
	}
	base, err := s.checkers(jobs)
	if err != nil {
		return err
	}
	for _, r := range base.Rules.Rules() {
		if r.Level != judge.Off {
			options.Rules = append(options.Rules, r)
		}
	}
	options.Hash = base.Rules.Hash()
	if len(jobs) >= shelf {
		debug.SetGCPercent(shelfGC)
	}
	printer, err := report.New(format, s.out, options)
	if err != nil {
		return trouble("%v", err)
	}
	worst := exitClear
	if missing {
		worst = exitUnread
	}
	results := s.judge(jobs)
	if together {
		if results, err = s.section(jobs); err != nil {
			return err
		}
	}
	for r := range results {
		switch {
		case r.Verdict == checker.Unread:
			worst = exitUnread
		case r.Verdict == checker.Hold && worst == exitClear:
			worst = exitHold
		}
		if err := printer.Result(r); err != nil {
			return trouble("the report could not be written: %v", err)
		}
	}
	if err := printer.Close(); err != nil {
		return trouble("the report could not be written: %v", err)
	}
	if worst != exitClear {
		return &exit{code: worst}
	}
	return nil
}

// jobs lists the texts in the order of the arguments, folders spread out in
// the order of their names. What is not there is told on stderr.
func (s *shell) jobs(args []string, stdinName string) (jobs []*job, missing bool) {
	complain := func(format string, args ...any) {
		fmt.Fprintf(s.err, "ketyl: "+format+"\n", args...)
		missing = true
	}
	stdin := false
	for _, arg := range args {
		if arg == "-" {
			if stdin {
				complain("standard input can be read only once")
				continue
			}
			stdin = true
			name := stdinName
			if name == "" {
				name = "standard input"
			}
			jobs = append(jobs, &job{name: name, stdin: true})
			continue
		}
		info, err := os.Stat(arg)
		switch {
		case err != nil:
			complain("%v", err)
		case !info.IsDir():
			jobs = append(jobs, &job{name: arg})
		default:
			names, err := procedures(arg)
			if err != nil {
				complain("%v", err)
			}
			if err == nil && len(names) == 0 {
				complain("found no *.yaml or *.yml in %s, expected procedures there", arg)
			}
			for _, name := range names {
				jobs = append(jobs, &job{name: name})
			}
		}
	}
	return jobs, missing
}

// procedures lists the files in a folder and below that may be procedures:
// those with a YAML name, hidden ones left out.
func procedures(dir string) (names []string, err error) {
	err = filepath.WalkDir(dir, func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		hidden := strings.HasPrefix(d.Name(), ".") && name != dir
		switch {
		case d.IsDir() && hidden:
			return fs.SkipDir
		case d.IsDir() || hidden:
			return nil
		}
		if ext := filepath.Ext(name); ext == ".yaml" || ext == ".yml" {
			names = append(names, name)
		}
		return nil
	})
	return names, err
}

// checkers gives each job the checker of its site, made once for each site,
// and says on stderr which site files are in force.
func (s *shell) checkers(jobs []*job) (*checker.Checker, error) {
	made := map[string]*checker.Checker{}
	get := func(file string) (*checker.Checker, error) {
		if c := made[file]; c != nil {
			return c, nil
		}
		c, faults := checker.New(checker.Options{SiteFile: file, RulesDirs: s.rules, Strict: s.strict})
		if err := s.complain(faults); err != nil {
			return nil, err
		}
		if file != "" {
			fmt.Fprintf(s.err, "ketyl: site file %s\n", file)
		}
		made[file] = c
		return c, nil
	}
	var base *checker.Checker
	near := map[string]string{} // site file by folder
	for _, j := range jobs {
		file := s.site
		if file == "" {
			dir := filepath.Dir(j.name)
			found, ok := near[dir]
			if !ok {
				found = siteOf(dir)
				near[dir] = found
			}
			file = found
		}
		c, err := get(file)
		if err != nil {
			return nil, err
		}
		j.checker = c
		if base == nil {
			base = c
		}
	}
	if base == nil {
		return get(s.site)
	}
	return base, nil
}

// siteOf gives the site file nearest to a folder, by a path from the working
// folder where that is shorter.
func siteOf(dir string) string {
	file, ok := site.Find(dir)
	if !ok {
		return ""
	}
	if wd, err := os.Getwd(); err == nil {
		if rel, err := filepath.Rel(wd, file); err == nil && len(rel) < len(file) {
			return rel
		}
	}
	return file
}

// judge judges the jobs on all processors and gives the results in order.
func (s *shell) judge(jobs []*job) func(yield func(checker.Result) bool) {
	return func(yield func(checker.Result) bool) {
		workers := min(runtime.GOMAXPROCS(0), len(jobs))
		next := make(chan *job)
		// As many results wait as there are workers, so that memory does not
		// grow with the shelf.
		order := make(chan *job, 2*workers)
		stop := make(chan struct{})
		var group sync.WaitGroup
		for range workers {
			group.Go(func() {
				for j := range next {
					j.result <- s.one(j)
				}
			})
		}
		group.Go(func() {
			defer close(next)
			defer close(order)
			for _, j := range jobs {
				j.result = make(chan checker.Result, 1)
				select {
				case order <- j:
				case <-stop:
					return
				}
				select {
				case next <- j:
				case <-stop:
					j.result <- checker.Result{}
					return
				}
			}
		})
		for j := range order {
			if !yield(<-j.result) {
				break
			}
		}
		close(stop)
		for j := range order {
			<-j.result
		}
		group.Wait()
	}
}

// section judges the jobs as procedures that share the containers of one
// laboratory.
func (s *shell) section(jobs []*job) (func(yield func(checker.Result) bool), error) {
	var texts []checker.Text
	lost := map[int]checker.Result{} // by place among the jobs
	for i, j := range jobs {
		if first := jobs[0]; j.checker != first.checker {
			return nil, trouble("--together wants one laboratory: %s is under %s and %s under %s; name one with --site", first.name, laboratory(first), j.name, laboratory(j))
		}
		b, err := s.read(j)
		if err != nil {
			lost[i] = checker.Unreadable(j.name, err)
		}
		texts = append(texts, checker.Text{Name: j.name, Bytes: b})
	}
	results := jobs[0].checker.Together(texts)
	for i, r := range lost {
		results[i] = r
	}
	return slices.Values(results), nil
}

func laboratory(j *job) string {
	if j.checker.SiteFile == "" {
		return "no site file"
	}
	return "the site file " + j.checker.SiteFile
}

// one reads and judges one text.
func (s *shell) one(j *job) checker.Result {
	b, err := s.read(j)
	if err != nil {
		return checker.Unreadable(j.name, err)
	}
	return j.checker.Check(j.name, b)
}

func readFile(name string) ([]byte, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, largest))
}
