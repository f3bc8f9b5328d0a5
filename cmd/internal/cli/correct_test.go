package cli

import (
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
)

func TestCorrectOptions(t *testing.T) {
	fills(t, newCorrectCommand,
		line[correctOptions]{args: "kestrel|last|--why|slip", want: correctOptions{car: "kestrel", entry: "last", why: "slip"}},
		line[correctOptions]{args: "kestrel|12|--why|slip|--instead|14", want: correctOptions{car: "kestrel", entry: "12", why: "slip", instead: "14"}},
		line[correctOptions]{args: "kestrel|12|--why|slip|--to|osprey", want: correctOptions{car: "kestrel", entry: "12", why: "slip", to: "osprey"}},
		line[correctOptions]{args: "kestrel|12|--why|slip|--to|osprey|--instead|14", fault: "--instead and --to: only one of them can be given"},
		line[correctOptions]{args: "kestrel", fault: "ENTRY: is missing"},
	)
}

func TestRunCorrect(t *testing.T) {
	dir := desktest.Shop(t)
	for _, text := range []string{"one", "two", "three"} {
		says(t, dir, "tech-1", runNote, noteOptions{car: "kestrel", words: []string{text}}, "note: "+text)
	}
	says(t, dir, "tech-1", runCorrect, correctOptions{car: "kestrel", entry: "last", why: "slip"}, "taken back: #5 note: three", "kestrel #6 by tech-1: ")
	says(t, dir, "tech-1", runCorrect, correctOptions{car: "kestrel", entry: "#3", instead: "4", why: "slip"}, "taken back: #3 note: one", "kestrel #7 by tech-1: ")
	answers(t, dir, "tech-1", runCorrect, correctOptions{car: "kestrel", entry: "last", why: "it was right"}, "vehicle", "entry", "fact")
	refuses(t, dir, "tech-1", runCorrect, correctOptions{car: "kestrel", entry: "4"}, desk.Usage, "--why: is missing")
	refuses(t, dir, "tech-1", runCorrect, correctOptions{car: "kestrel", entry: "40", why: "slip"}, desk.Usage, "entry 40: is not in the record of kestrel")
	refuses(t, dir, "tech-1", runCorrect, correctOptions{car: "kestrel", entry: "4", to: "kestrel", why: "slip"}, desk.Usage, "--to: kestrel is the car it stands in already")
	refuses(t, dir, "tech-1", runCorrect, correctOptions{car: "kestrel", entry: "2", to: "osprey", why: "slip"}, desk.Usage, "car osprey: is not in this shop")
	says(t, dir, "lead-1", runVehicleAdd, vehicleAddOptions{osprey()}, "car osprey")
	refuses(t, dir, "tech-1", runCorrect, correctOptions{car: "kestrel", entry: "2", to: "osprey", why: "slip"}, desk.Usage, "belongs to the record it was written in")
	says(t, dir, "tech-1", runCorrect, correctOptions{car: "kestrel", entry: "4", to: "osprey", why: "other car"}, "moved to osprey: #4 note: two", "osprey #2 by tech-1: note: two", "osprey #3 by tech-1: note: The note before this stood in the record of kestrel", "kestrel #9 by tech-1: ")
}
