package cli

import (
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
)

func TestNoteOptions(t *testing.T) {
	fills(t, newNoteCommand,
		line[noteOptions]{args: "kestrel|pump|whines", want: noteOptions{car: "kestrel", words: []string{"pump", "whines"}}},
		line[noteOptions]{args: "kestrel|pump whines|--at|08:30", want: noteOptions{car: "kestrel", words: []string{"pump whines"}, at: "08:30"}},
		line[noteOptions]{args: "kestrel", fault: "TEXT: is missing"},
	)
}

func TestRunNote(t *testing.T) {
	dir := desktest.Shop(t)
	says(t, dir, "tech-1", runNote, noteOptions{car: "kestrel", words: []string{"pump", "whines"}}, "kestrel #3 by tech-1: note: pump whines")
	answers(t, dir, "tech-1", runNote, noteOptions{car: "kestrel", words: []string{"still"}}, "vehicle", "entry", "fact")
	refuses(t, dir, "tech-1", runNote, noteOptions{car: "kestrel", words: []string{"x"}, at: "soon"}, desk.Usage, `"soon" is not a time`)
	refuses(t, dir, "tech-1", runNote, noteOptions{car: "osprey", words: []string{"x"}}, desk.Usage, "car osprey: is not in this shop")
}
