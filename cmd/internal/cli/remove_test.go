package cli

import (
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/schema"
)

func TestRemoveOptions(t *testing.T) {
	fills(t, newRemoveCommand,
		line[removeOptions]{args: "kestrel|pump-2|--why|too small", want: removeOptions{car: "kestrel", position: "pump-2", why: "too small"}},
		line[removeOptions]{args: "kestrel|pump|--why|too small|--condition|brushes worn|--at|08:30", want: removeOptions{car: "kestrel", position: "pump", why: "too small", condition: "brushes worn", at: "08:30"}},
		line[removeOptions]{args: "kestrel", fault: "POSITION: is missing"},
	)
}

func TestRunRemove(t *testing.T) {
	dir := desktest.Shop(t)
	says(t, dir, "tech-1", runFit, fitOptions{car: "kestrel", position: "pump 2", data: schema.FitData{Part: "PUMP-A"}}, "kestrel #3")
	says(t, dir, "tech-1", runRemove, removeOptions{car: "kestrel", position: "pump-2", why: "too small"}, "kestrel #4 by tech-1: ", "PUMP-A", "too small")
	answers(t, dir, "tech-1", runRemove, removeOptions{car: "kestrel", position: "filter", why: "clogged"}, "vehicle", "entry", "fact")
	refuses(t, dir, "tech-1", runRemove, removeOptions{car: "kestrel", position: "pump"}, desk.Usage, "--why: is missing")
	refuses(t, dir, "tech-1", runRemove, removeOptions{car: "kestrel", position: "pump", why: "so", at: "soon"}, desk.Usage, `"soon" is not a time`)
}
