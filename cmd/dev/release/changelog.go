package release

import (
	"fmt"
	"regexp"
	"strings"
)

// changelog is kept by hand: a heading for each version, the newest first.
const changelog = "cmd/feedproof/docs/CHANGELOG.md"

// unreleased heads what no tag has yet.
const unreleased = "Unreleased"

// untagged ends the version that Go makes of a commit without a tag: time and hash.
var untagged = regexp.MustCompile(`[-.][0-9]{14}-[0-9a-f]{12}$`)

// notes are what the changelog says of a version; of one that no tag gave, what
// is not released yet.
func notes(text, version string) (string, error) {
	heading := version
	if untagged.MatchString(version) {
		heading = unreleased
	}
	var said []string
	within := false
	for line := range strings.Lines(text) {
		if title, is := strings.CutPrefix(line, "## "); is {
			within = len(strings.Fields(title)) > 0 && strings.Fields(title)[0] == heading
			continue
		}
		if within {
			said = append(said, line)
		}
	}
	if of := strings.TrimSpace(strings.Join(said, "")); of != "" {
		return of, nil
	}
	return "", fmt.Errorf("%s: says nothing under %q", changelog, "## "+heading)
}
