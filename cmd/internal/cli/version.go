package cli

import (
	"crypto/sha256"
	"fmt"
	"runtime"
	"runtime/debug"
	"strings"

	"feedproof/checklist"
	"feedproof/cmd/internal/desk"
	"feedproof/schema"
)

// build is what this program is, for two machines to compare.
type build struct {
	Version string `json:"version"`
	Commit  string `json:"commit"` // "" when the build does not know: one by go install has only its version
	Date    string `json:"date"`   // of the commit, RFC 3339
	Edited  bool   `json:"edited"` // the sources were not as committed
	Rules   int    `json:"rules"`
	Pages   string `json:"pages"` // SHA-256 of every page that explain shows: same pages, same limits and procedures
	Writes  int    `json:"writes"`
	Reads   [2]int `json:"reads"` // oldest and newest format
	Go      string `json:"go"`
	System  string `json:"system"`
}

// version is what the build says about itself.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok || info.Main.Version == "" {
		return "(built without version)"
	}
	return info.Main.Version
}

// thisBuild gathers all of it.
func thisBuild(version string) build {
	b := build{Version: version, Writes: schema.WrittenVersion, Reads: [2]int{schema.MinVersion, schema.MaxVersion}, Go: runtime.Version(), System: runtime.GOOS + "/" + runtime.GOARCH}
	if info, ok := debug.ReadBuildInfo(); ok {
		for _, s := range info.Settings {
			switch s.Key {
			case "vcs.revision":
				b.Commit = s.Value
			case "vcs.time":
				b.Date = s.Value
			case "vcs.modified":
				b.Edited = s.Value == "true"
			}
		}
	}
	b.Rules, b.Pages = ruleBook()
	return b
}

// ruleBook is how many rules there are, and the digest of all pages.
func ruleBook() (rules int, digest string) {
	all := sha256.New()
	for _, p := range checklist.Pages() {
		if p.Kind == "rule" {
			rules++
		}
		text, _ := checklist.Explain(p.ID)
		fmt.Fprintf(all, "%s\n%s\n", p.ID, text)
	}
	return rules, fmt.Sprintf("%x", all.Sum(nil))
}

// lines are what --version says.
func (b build) lines() string {
	commit := "not known"
	if b.Commit != "" {
		commit = fmt.Sprintf("%.12s of %s", b.Commit, b.Date)
	}
	if b.Edited {
		commit += ", edited afterwards"
	}
	return strings.Join([]string{
		"feedproof " + b.Version,
		"commit " + commit,
		fmt.Sprintf("rules  %s, digest of their pages %.12s", desk.Plural(b.Rules, "rule"), b.Pages),
		fmt.Sprintf("format writes %d, reads %d to %d", b.Writes, b.Reads[0], b.Reads[1]),
		fmt.Sprintf("built  by %s for %s", b.Go, b.System),
	}, "\n")
}
