package main

import (
	"maps"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"feedproof/cmd/internal/cli"
)

// withoutJSON are the commands that have nothing to say as JSON, and why.
var withoutJSON = map[string]string{
	"feedproof demo":         "plays commands, each with its own words",
	"feedproof merge-driver": "is called by git, and writes the file that git names",
	"feedproof serve":        "talks to a browser",
	"feedproof work":         "is a talk on a screen",
}

// TestEveryCommandIsTried holds that each command stands in a script, and with
// --json in one.
func TestEveryCommandIsTried(t *testing.T) {
	lines := scriptLines(t)
	seen, unused := 0, maps.Clone(withoutJSON)
	all := cli.Commands().Commands()
	for i := 0; i < len(all); i++ {
		c := all[i]
		all = append(all, c.Commands()...)
		if !c.Runnable() || c.HasAvailableSubCommands() || c.Name() == "help" || c.Parent().Name() == "completion" {
			continue
		}
		seen++
		path := c.CommandPath()
		tried, json := tries(lines, path)
		if !tried {
			t.Errorf("%s: stands in no script of testdata/script", path)
		}
		if why := withoutJSON[path]; json == (why != "") {
			t.Errorf("%s: is tried with --json: %v; add it to testdata/script/json.txtar, or say in withoutJSON why not (there: %q)", path, json, why)
		}
		delete(unused, path)
	}
	if seen < 40 {
		t.Errorf("only %d commands", seen)
	}
	for path := range unused {
		t.Errorf("%s: stands in withoutJSON and is no command", path)
	}
}

// scriptLines are the lines of all scripts that run the program, global flags
// left out.
func scriptLines(t *testing.T) (lines []string) {
	t.Helper()
	found, err := filepath.Glob(filepath.Join(scripts, "*.txtar"))
	if err != nil || len(found) == 0 {
		t.Fatalf("no scripts in %s: %v", scripts, err)
	}
	for _, name := range found {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for line := range strings.Lines(string(text)) {
			if before, command, is := strings.Cut(line, "feedproof "); is && !strings.HasPrefix(line, "#") {
				lines = append(lines, before+"feedproof "+withoutGlobals(strings.Fields(command))+" ")
			}
		}
	}
	return lines
}

// withoutGlobals leaves out the flags that may stand before a command.
func withoutGlobals(words []string) string {
	for len(words) > 2 && (words[0] == "--as" || words[0] == "--shop") {
		words = words[2:]
	}
	return strings.Join(words, " ")
}

func tries(lines []string, path string) (tried, json bool) {
	for _, line := range lines {
		if strings.Contains(line, path+" ") {
			tried = true
			json = json || strings.HasPrefix(line, "json ") || strings.Contains(line, " --json ")
		}
	}
	return tried, json
}
