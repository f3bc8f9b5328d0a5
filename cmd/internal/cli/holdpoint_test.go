package cli

import (
	"encoding/json"
	"errors"
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/cmd/internal/terminal"
)

func TestHoldPointOptions(t *testing.T) {
	fills(t, newPointListCommand,
		line[pointListOptions]{args: "kestrel", want: pointListOptions{car: "kestrel"}},
		line[pointListOptions]{args: "--json", fault: "unknown flag"},
		line[pointListOptions]{args: "kestrel|HP0", fault: "one word too many"},
	)
	fills(t, newPointCloseCommand,
		line[pointCloseOptions]{args: "kestrel|HP5|--second|tech-1|--late|the tablet was flat|--at|09:14", want: pointCloseOptions{car: "kestrel", point: "HP5", second: "tech-1", late: "the tablet was flat", at: "09:14"}},
		line[pointCloseOptions]{args: "kestrel|HP9|--delayed", want: pointCloseOptions{car: "kestrel", point: "HP9", delayed: true}},
		line[pointCloseOptions]{args: "kestrel|HP9|--delayed|--second|RV", fault: "second"},
		line[pointCloseOptions]{args: "kestrel", fault: "POINT: is missing"},
	)
	fills(t, newPointReopenCommand,
		line[pointReopenOptions]{args: "kestrel|HP5|--why|hose off again|--at|09:14", want: pointReopenOptions{car: "kestrel", point: "HP5", why: "hose off again", at: "09:14"}},
		line[pointReopenOptions]{args: "kestrel|HP5", want: pointReopenOptions{car: "kestrel", point: "HP5"}},
		line[pointReopenOptions]{args: "", fault: "POINT: is missing"},
	)
}

// That a hold point closes is a script's: it takes what the point waits for.
func TestRunHoldPoint(t *testing.T) {
	dir := desktest.Shop(t)
	says(t, dir, "tech-1", runPointList, pointListOptions{car: "kestrel"}, "FUEL CLOSED", "[ ] HP0 ", "      wants ")
	text, err := shown(t, dir, "tech-1", runPointList, pointListOptions{car: "kestrel"}, terminal.Options{JSON: true})
	var points []map[string]any
	if err := errors.Join(err, json.Unmarshal([]byte(text), &points)); err != nil || len(points) < 5 || points[0]["id"] != "HP0" {
		t.Errorf("%v\n%s\nwant the hold points", err, text)
	}
	refuses(t, dir, "tech-1", runPointList, pointListOptions{car: "osprey"}, desk.Usage, "car osprey: is not in this shop")

	refuses(t, dir, "tech-1", runPointClose, pointCloseOptions{car: "kestrel", point: "hp0"}, desk.Refused, "HP0 stays locked: ")
	refuses(t, dir, "tech-1", runPointClose, pointCloseOptions{car: "kestrel", point: "HP99"}, desk.Usage, "hold point HP99: is not known")
	refuses(t, dir, "tech-1", runPointClose, pointCloseOptions{car: "kestrel", point: "HP0", second: "nobody"}, desk.Usage, "nobody: is not in this shop")
	refuses(t, dir, "tech-1", runPointReopen, pointReopenOptions{car: "kestrel", point: "HP0"}, desk.Usage, "--why: is missing")
	refuses(t, dir, "tech-1", runPointReopen, pointReopenOptions{car: "kestrel", point: "HP0", why: "looked again", at: "soon"}, desk.Usage, `"soon" is not a time`)
	says(t, dir, "tech-1", runPointReopen, pointReopenOptions{car: "kestrel", point: "hp0", why: "looked again"}, "kestrel #3 by tech-1: ", "HP0", "looked again")
	answers(t, dir, "tech-1", runPointReopen, pointReopenOptions{car: "kestrel", point: "hp0", why: "looked again"}, "vehicle", "entry", "next")
}
