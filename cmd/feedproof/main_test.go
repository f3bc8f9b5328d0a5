package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"feedproof/cmd/internal/cli"

	"github.com/gofrs/flock"
	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(tidy{m}, map[string]func(){"feedproof": run})
}

// tidy takes away what the tests share, when all have run.
type tidy struct{ *testing.M }

var shared []string // folders

func (t tidy) Run() int {
	defer func() {
		for _, dir := range shared {
			_ = os.RemoveAll(dir)
		}
	}()
	if raced {
		if err := quick(); err != nil {
			fmt.Fprintln(os.Stderr, err)
			return 1
		}
	}
	return t.M.Run()
}

// exe ends the name of a program.
var exe = map[bool]string{true: ".exe"}[runtime.GOOS == "windows"]

// raced says that the tests were built with the race detector.
var raced bool

// quick puts the same program without the race detector in front. The scripts
// start it some thousand times, and the detector makes each start five times
// slower; what runs side by side has tests of its own in the packages below.
func quick() error {
	dir, err := os.MkdirTemp("", "feedproof-test-")
	if err != nil {
		return err
	}
	shared = append(shared, dir)
	build := exec.Command("go", "test", "-c", "-race=false", "-o", filepath.Join(dir, "feedproof"+exe), ".")
	if out, err := build.CombinedOutput(); err != nil {
		return fmt.Errorf("%w: %s", err, out)
	}
	return os.Setenv("PATH", dir+string(filepath.ListSeparator)+os.Getenv("PATH"))
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
	if !answersJSON(os.Args[1:]) {
		os.Exit(cli.Main(w, os.Args[1:]))
	}
	var answer bytes.Buffer
	w.Out = &answer
	exit := cli.Main(w, os.Args[1:])
	_, _ = os.Stdout.Write(answer.Bytes())
	if err := oneDocument(answer.Bytes()); err != nil {
		fmt.Fprintf(os.Stderr, "feedproof %s: %v\n", strings.Join(os.Args[1:], " "), err)
		exit = notOneDocument
	}
	os.Exit(exit)
}

// notOneDocument is an exit code that the program itself does not have.
const notOneDocument = 99

// answersJSON reports that a command line asks for JSON, and not for help.
func answersJSON(args []string) bool {
	return slices.Contains(args, "--json") && !slices.Contains(args, "--help")
}

// oneDocument says what an answer is that is not one JSON document: whatever a
// script asks for with --json is held to it, failures too.
func oneDocument(answer []byte) error {
	dec := json.NewDecoder(bytes.NewReader(answer))
	var first, second json.RawMessage
	if err := dec.Decode(&first); err != nil {
		return fmt.Errorf("no JSON document: %w", err)
	}
	if err := dec.Decode(&second); err != io.EOF {
		return fmt.Errorf("more than one JSON document: %v %s", err, second)
	}
	return nil
}

func TestOneDocument(t *testing.T) {
	for answer, one := range map[string]bool{"{}\n": true, "[1, 2]": true, "": false, "{}\n{}\n": false, "{} and more": false, "kestrel #3": false} {
		if err := oneDocument([]byte(answer)); (err == nil) != one {
			t.Errorf("%q: %v", answer, err)
		}
	}
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
		Cmds:          map[string]func(*testscript.TestScript, bool, []string){"exits": exits, "brokenDraft": brokenDraft, "replace": replace, "hold": hold, "invented": invented, "fingerprint": fingerprint, "json": printsJSON, "document": document},
		Setup: func(e *testscript.Env) error {
			e.Setenv("TEST_NOW", "2026-03-02T09:00:00Z")
			e.Setenv("TZ", "UTC")
			photos, err := filepath.Abs("../../records/photo/testdata")
			e.Setenv("PHOTOS", photos)
			return err
		},
	})
}

// printsJSON runs a command with --json and demands one JSON value: json
// feedproof check car.
func printsJSON(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: json COMMAND ...")
	}
	ts.Check(ts.Exec(args[0], append(args[1:], "--json")...))
	if out := ts.ReadFile("stdout"); !json.Valid([]byte(out)) {
		ts.Fatalf("this is not JSON: %s", out)
	}
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

// brokenDraft appends a broken line to the only draft of a shop, as a power cut
// may leave it: brokenDraft SHOP TEXT.
func brokenDraft(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: brokenDraft SHOP TEXT")
	}
	f, err := os.OpenFile(only(ts, filepath.Join(args[0], "drafts", "*.jsonl")), os.O_APPEND|os.O_WRONLY, 0)
	ts.Check(err)
	_, err = f.WriteString(args[1])
	ts.Check(err)
	ts.Check(f.Close())
}

// replace edits the one file that matches: replace GLOB OLD NEW.
func replace(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: replace GLOB OLD NEW")
	}
	path := only(ts, args[0])
	text, err := os.ReadFile(path)
	ts.Check(err)
	if !bytes.Contains(text, []byte(args[1])) {
		ts.Fatalf("%s: does not contain %q", path, args[1])
	}
	ts.Check(os.WriteFile(path, bytes.ReplaceAll(text, []byte(args[1]), []byte(args[2])), 0o644))
}

func only(ts *testscript.TestScript, glob string) string {
	found, err := filepath.Glob(ts.MkAbs(glob))
	ts.Check(err)
	if len(found) != 1 {
		ts.Fatalf("%s: %d files, want one", glob, len(found))
	}
	return found[0]
}

// hold keeps a shop's lock, as another process that writes would: hold SHOP.
func hold(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: hold SHOP")
	}
	lock := flock.New(filepath.Join(ts.MkAbs(args[0]), "shop.git", "feedproof.lock"))
	got, err := lock.TryLock()
	ts.Check(err)
	if !got {
		ts.Fatalf("the lock is taken")
	}
	ts.Defer(func() { _ = lock.Close() })
}

// fingerprint sets FINGERPRINT to that of a shop's first key: fingerprint SHOP.
func fingerprint(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: fingerprint SHOP")
	}
	var device struct{ Pinned string }
	ts.Check(json.Unmarshal([]byte(ts.ReadFile(filepath.Join(args[0], "device.json"))), &device))
	ts.Setenv("FINGERPRINT", device.Pinned)
}

// invented is a small shop, made with the program itself: invented SHOP.
func invented(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: invented SHOP")
	}
	for _, line := range inventedLines(args[0]) {
		ts.Check(ts.Exec("feedproof", append([]string{"--shop", args[0]}, line...)...))
	}
}

// inventedLines are the commands that make the small shop.
func inventedLines(shop string) [][]string {
	return [][]string{
		{"shop", "new", shop, "--lead", "Robin Vale", "--id", "lead-1", "--device", "bay-laptop", "--bay", "2"},
		{"person", "add", "tech-1", "--name", "Sam Reed", "--role", "fuel technician"},
		{"person", "add", "tech-2", "--name", "Kim Ash", "--role", "fuel technician,tuner"},
		{"gauge", "add", "P1", "--name", "rail gauge", "--measures", "pressure", "--range", "0 to 10 bar", "--class", "0.1 %", "--division", "0.01 bar"},
		{"gauge", "calibrate", "P1", "--date", "2026-01-10", "--due", "2027-01-10"},
		{"gauge", "add", "G1", "--name", "gas meter", "--measures", "gas", "--accuracy", "0.2 %LEL", "--division", "0.1 %LEL", "--factor", "1.9 ratio"},
		{"gauge", "calibrate", "G1", "--date", "2026-01-10", "--due", "2026-07-10"},
		{"part", "receive", "PUMP-A", "--part", "pump", "--name", "pump A", "--curve-source", "bench",
			"--point", "3 bar 12V 230 L/h 8.4A", "--point", "5 bar 12V 188 L/h 10.6A", "--point", "7 bar 12V 136 L/h 12.9A",
			"--point", "3 bar 14V 278 L/h 9.6A", "--point", "5 bar 14V 238 L/h 11.9A", "--point", "7 bar 14V 190 L/h 14.3A"},
		{"part", "receive", "INJ-1", "--part", "injector", "--name", "injector 1050", "--quantity", "4", "--static", "1050 cc/min", "--rated-at", "3 bar", "--fluid", "n-heptane", "--dead", "12V 1.24ms", "--dead", "14V 0.93ms"},
		{"vehicle", "add", "kestrel", "--plate", "KT 42", "--what", "silver hatchback", "--road", "yes"},
		{"use", "tech-1"},
		{"visit", "open", "kestrel", "--kind", "a", "--odometer", "84210 km"},
	}
}

// passing is what differs from run to run: ids, and names of commits.
var passing = regexp.MustCompile(`"[0-9A-HJKMNP-TV-Z]{26}"|"[0-9a-f]{40}"|"[0-9a-f]{64}"`)

// document demands that what a command wrote is one JSON document, and that one
// alone, and puts it into a file to be compared: document FILE. Ids count by
// which of them are the same.
func document(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: document FILE")
	}
	out := ts.ReadFile("stdout")
	d := json.NewDecoder(strings.NewReader(out))
	if err := d.Decode(&json.RawMessage{}); err != nil || d.More() {
		ts.Fatalf("not one JSON document: %v\n%s", err, out)
	}
	names := map[string]string{}
	known := passing.ReplaceAllStringFunc(out, func(id string) string {
		if names[id] == "" {
			names[id] = fmt.Sprintf("%q", fmt.Sprint("id ", len(names)+1))
		}
		return names[id]
	})
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(known), 0o600))
}
