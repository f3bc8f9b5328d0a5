package cli

import (
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
)

func TestHandoverOptions(t *testing.T) {
	fills(t, newHandoverCommand,
		line[handoverOptions]{args: "kestrel", want: handoverOptions{car: "kestrel"}},
		line[handoverOptions]{args: "kestrel|--to|tech-2", want: handoverOptions{car: "kestrel", to: "tech-2"}},
		line[handoverOptions]{args: "--to|tech-2", fault: "CAR: is missing"},
	)
}

func TestRunHandover(t *testing.T) {
	dir := desktest.Shop(t)
	says(t, dir, "tech-1", runHandover, handoverOptions{car: "kestrel"}, "kestrel (KT 42, ", "● nothing is open, off or out by the record", "waiting for a record: feedproof check kestrel", "Next: ")
	answers(t, dir, "tech-1", runHandover, handoverOptions{car: "kestrel"}, "physical", "begun", "unanswered", "waiting", "next")
	refuses(t, dir, "tech-1", runHandover, handoverOptions{car: "kestrel", to: "nobody"}, desk.Usage, "nobody: is not in this shop")
	refuses(t, dir, "tech-1", runHandover, handoverOptions{car: "osprey"}, desk.Usage, "car osprey: is not in this shop")
	says(t, dir, "tech-1", runHandover, handoverOptions{car: "kestrel", to: "RV"}, "kestrel #3 by tech-1: ", "lead-1", "feedproof use lead-1")
	answers(t, dir, "tech-1", runHandover, handoverOptions{car: "kestrel", to: "RV"}, "vehicle", "entry", "fact")
}
