package main

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"feedproof/cmd/internal/cli"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"feedproof": run})
}

// run is the program with a clock that a script may set: TEST_NOW, in
// RFC 3339. The product has no such door.
func run() {
	w := cli.System()
	if text := os.Getenv("TEST_NOW"); text != "" {
		now, err := time.Parse(time.RFC3339, text)
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		w.Now = func() time.Time { return now }
	}
	os.Exit(cli.Main(w, os.Args[1:]))
}

// scripts is where the stories of the command line stand.
const scripts = "../../testdata/script"

func TestScripts(t *testing.T) {
	found, err := filepath.Glob(filepath.Join(scripts, "*.txtar"))
	if err != nil || len(found) == 0 {
		t.Fatalf("no scripts in %s: %v", scripts, err)
	}
	testscript.Run(t, testscript.Params{
		Dir: scripts, RequireExplicitExec: true, RequireUniqueNames: true,
		UpdateScripts: os.Getenv("UPDATE_SCRIPTS") != "",
		Cmds:          map[string]func(*testscript.TestScript, bool, []string){"exits": exits, "draft": draft, "tamper": tamper},
		Setup: func(e *testscript.Env) error {
			e.Setenv("TEST_NOW", "2026-03-02T09:00:00Z")
			e.Setenv("TZ", "UTC")
			return nil
		},
	})
}

// exits runs a command and demands an exit code: exits 3 feedproof commit car.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits CODE COMMAND ...")
	}
	got := 0
	if err := ts.Exec(args[1], args[2:]...); err != nil {
		code, ok := exitCode(err)
		if !ok {
			ts.Fatalf("%v", err)
		}
		got = code
	}
	if fmt.Sprint(got) != args[0] {
		ts.Fatalf("exit code %d, want %s", got, args[0])
	}
}

func exitCode(err error) (int, bool) {
	coded, ok := err.(interface{ ExitCode() int })
	if !ok {
		return 0, false
	}
	return coded.ExitCode(), true
}

// draft appends a broken line to the only draft of a shop, as a power cut may
// leave it: draft DIR TEXT.
func draft(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: draft SHOP TEXT")
	}
	found, err := filepath.Glob(filepath.Join(ts.MkAbs(args[0]), "drafts", "*.jsonl"))
	ts.Check(err)
	if len(found) != 1 {
		ts.Fatalf("%d drafts, want one", len(found))
	}
	f, err := os.OpenFile(found[0], os.O_APPEND|os.O_WRONLY, 0)
	ts.Check(err)
	_, err = f.WriteString(args[1])
	ts.Check(err)
	ts.Check(f.Close())
}
