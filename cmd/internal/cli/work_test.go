package cli

import (
	"testing"

	"feedproof/cmd/internal/desktest"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"
)

func TestWorkOptions(t *testing.T) {
	fills(t, newWorkCommand,
		line[workOptions]{args: "kestrel", want: workOptions{car: "kestrel"}},
		line[workOptions]{args: "kestrel|--bay|1|--from-paper|12|--photo|sheet12.jpg", want: workOptions{car: "kestrel", bay: "1", paper: "12", photo: "sheet12.jpg"}},
		line[workOptions]{args: "--bay|1", fault: "CAR: is missing"},
	)
}

// Line by line, 0 leaves; the other keys are the guide's own tests'.
func TestRunWork(t *testing.T) {
	dir := desktest.Shop(t)
	run := far(t.TempDir(), "0\n", runWork)
	says(t, dir, "tech-1", run, workOptions{car: "kestrel"}, "KT 42", "bay 2", "FUEL CLOSED", "0 ")
	says(t, dir, "tech-1", runFit, fitOptions{car: "kestrel", position: "pump", data: schema.FitData{Part: "PUMP-A"}}, "kestrel #3")
	says(t, dir, "tech-1", run, workOptions{car: "kestrel", bay: "1"}, "bay 1", "kestrel: 1 entry on this machine alone; into the record with: feedproof commit kestrel")
	fails(t, dir, run, workOptions{car: "osprey"}, "car osprey: is not in this shop")
	fails(t, dir, run, workOptions{car: "kestrel", photo: "sheet12.jpg"}, "--photo: of which sheet?")
	fails(t, dir, run, workOptions{car: "kestrel", photo: "sheet12.jpg", paper: "12"}, "sheet12.jpg: cannot be read")
	if out, err := shown(t, dir, "tech-1", run, workOptions{car: "kestrel"}, terminal.Options{JSON: true}); err == nil || out != "" {
		t.Errorf("--json: %v, %q", err, out)
	}
}
