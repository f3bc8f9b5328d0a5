package cli

import (
	"encoding/json"
	"errors"
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/cmd/internal/terminal"
)

func TestBoardOptions(t *testing.T) {
	fills(t, newBoardCommand,
		line[boardOptions]{args: "kestrel", want: boardOptions{one: true, car: "kestrel"}},
		line[boardOptions]{args: "", want: boardOptions{one: true}}, // an empty name is a name that no car has
		line[boardOptions]{args: "kestrel|osprey", fault: "osprey: is one word too many"},
	)
}

func TestRunBoard(t *testing.T) {
	dir := desktest.Shop(t)
	says(t, dir, "tech-1", runBoard, boardOptions{}, "kestrel (KT 42)\tFUEL CLOSED\ta\t2\tHP0")
	says(t, dir, "tech-1", runBoard, boardOptions{one: true, car: "kestrel"}, "kestrel (KT 42)\tFUEL CLOSED\ta\t2\tHP0")
	answers(t, dir, "tech-1", runBoard, boardOptions{}, "at", "cars", "open", "instruments", "rechecks", "waivers")
	answers(t, dir, "tech-1", runBoard, boardOptions{one: true, car: "kestrel"}, "vehicle", "fuel", "next_point")
	refuses(t, dir, "tech-1", runBoard, boardOptions{one: true}, desk.Usage, "is not in this shop")
	text, err := shown(t, dir, "tech-1", runBoard, boardOptions{brief: true}, terminal.Options{JSON: true})
	var cars []map[string]any
	if err := errors.Join(err, json.Unmarshal([]byte(text), &cars)); err != nil || len(cars) != 1 {
		t.Errorf("%v\n%s\nwant a list of one car", err, text)
	}
}
