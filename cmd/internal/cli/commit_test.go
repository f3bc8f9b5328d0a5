package cli

import (
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
)

func TestCommitOptions(t *testing.T) {
	fills(t, newCommitCommand,
		line[commitOptions]{args: "kestrel", want: commitOptions{car: "kestrel"}},
		line[commitOptions]{args: "kestrel|--held|-m|waits for a part", want: commitOptions{car: "kestrel", held: true, message: "waits for a part"}},
		line[commitOptions]{args: "--held", fault: "CAR: is missing"},
	)
}

func TestRunCommit(t *testing.T) {
	dir := desktest.Shop(t)
	refuses(t, dir, "tech-1", runCommit, commitOptions{car: "kestrel"}, desk.Failed, "kestrel: nothing to commit")
	read := readOptions{car: "kestrel", test: "leak", words: []string{"pressure=4.3bar", "hanger=wet"}}
	says(t, dir, "tech-1", runRead, read, "kestrel #3", "STOP\tK20")
	refuses(t, dir, "tech-1", runCommit, commitOptions{car: "kestrel"}, desk.Refused, "open; nothing was changed")
	says(t, dir, "tech-1", runCommit, commitOptions{car: "kestrel", held: true}, "kestrel: 2 entries committed as ", "the car is HELD")
	says(t, dir, "tech-1", runRead, read, "kestrel #5")
	answers(t, dir, "tech-1", runCommit, commitOptions{car: "kestrel", held: true}, "vehicle", "commit", "entries", "held", "findings")
}
