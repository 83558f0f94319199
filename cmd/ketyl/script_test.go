package main

import (
	"errors"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"ketyl/checker/document"
	"ketyl/schema"
)

var update = flag.Bool("update", false, "rewrite what the scripts compare with")

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"ketyl": main})
}

// TestScript runs the stories of testdata/script, each in a folder of its own.
func TestScript(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 filepath.Join("..", "..", "testdata", "script"),
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		UpdateScripts:       *update,
		Setup: func(e *testscript.Env) error {
			e.Setenv("COLUMNS", "100")
			return nil
		},
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
			"exits": exits,
		},
	})
}

// exits runs a command and holds its exit code: exits 2 ketyl check none.yaml.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits code command [argument…]")
	}
	code := 0
	if err := ts.Exec(args[1], args[2:]...); err != nil {
		e, ok := errors.AsType[*exec.ExitError](err)
		if !ok {
			ts.Fatalf("%v", err)
		}
		code = e.ExitCode()
	}
	if want := args[0]; strconv.Itoa(code) != want {
		ts.Fatalf("%s: exit code %d, want %s", strings.Join(args[1:], " "), code, want)
	}
}

// Reports on the released procedures are what the schema says, and the same
// whenever they are printed.
func TestReleased(t *testing.T) {
	s, err := document.CompileSchema("report.schema.json", schema.Report(), nil)
	if err != nil {
		t.Fatal(err)
	}
	var first string
	for range 2 {
		var out, complaints strings.Builder
		if code := run([]string{"check", "--format", "json", filepath.Join("..", "..", "procedures")}, strings.NewReader(""), &out, &complaints); code > exitUnread {
			t.Fatalf("exit code %d: %s", code, complaints.String())
		}
		f, fs := document.Read("report.json", []byte(out.String()))
		for _, fd := range append(fs, s.Validate(f)...) {
			line, column := f.Source.Position(fd.Span.Start)
			t.Errorf("%d:%d: %s", line, column, fd.Message)
		}
		if first != "" && first != out.String() {
			t.Error("a second run prints other bytes")
		}
		first = out.String()
	}
}

// BenchmarkColdStart is the command from exec to exit, as a shell or an editor
// pays for it.
func BenchmarkColdStart(b *testing.B) {
	dir := b.TempDir()
	program := filepath.Join(dir, "ketyl")
	if out, err := exec.Command("go", "build", "-o", program, ".").CombinedOutput(); err != nil {
		b.Fatalf("%v: %s", err, out)
	}
	file := filepath.Join(dir, "new.yaml")
	if err := os.WriteFile(file, starter, 0o644); err != nil {
		b.Fatal(err)
	}
	for _, args := range []string{"check " + file, "lookup thf", "new"} {
		name, _, _ := strings.Cut(args, " ")
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				out, err := exec.Command(program, strings.Fields(args)...).Output()
				if e, ok := errors.AsType[*exec.ExitError](err); err != nil && !(ok && e.ExitCode() == exitHold) {
					b.Fatalf("%v: %s", err, out)
				}
			}
		})
	}
}
