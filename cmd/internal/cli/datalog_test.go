package cli

import (
	"os"
	"path/filepath"
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
)

func TestDatalogOptions(t *testing.T) {
	fills(t, newDatalogCommand,
		line[logOptions]{args: "kestrel|pull.csv|--run|pull|--map|FP=fuel rail pressure,unit=bar|--map|X=|--yes", want: logOptions{car: "kestrel", file: "pull.csv", run: "pull", maps: []string{"FP=fuel rail pressure,unit=bar", "X="}, yes: true}},
		line[logOptions]{args: "kestrel|idle.csv|--run|idle|--hose-off|4s-14s|--barometer|98 kPa abs|--charger|no|--calibration|cal-7|--at|08:30", want: logOptions{car: "kestrel", file: "idle.csv", run: "idle", hoseOff: "4s-14s",
			barometer: "98 kPa abs", charger: "no", calibration: "cal-7", at: "08:30"}},
		line[logOptions]{args: "kestrel|a.csv|--beside|b.csv|--svg|charts", want: logOptions{car: "kestrel", file: "a.csv", beside: "b.csv", svg: "charts"}},
		line[logOptions]{args: "kestrel", fault: "FILE: is missing"},
	)
}

func TestRunDatalog(t *testing.T) {
	dir, here := desktest.Shop(t), t.TempDir()
	log := "Time,RPM,Fuel P\n0.00,3000,3.01\n0.10,3100,3.00\n0.20,3200,3.02\n0.30,3300,3.01\n0.40,3400,3.00\n"
	if err := os.WriteFile(filepath.Join(here, "pull.csv"), []byte(log), 0o600); err != nil {
		t.Fatal(err)
	}
	run := typedIn(here, runDatalog)
	o := logOptions{car: "kestrel", file: "pull.csv", run: "pull", barometer: "101.3 kPa abs", maps: []string{"Time=time,unit=s", "RPM=engine speed,unit=rpm", "Fuel P=fuel rail pressure,unit=bar,sensor=gauge"}}
	says(t, dir, "tech-1", run, o, "nothing is recorded yet", "fuel rail pressure", "then add --yes")
	answers(t, dir, "tech-1", run, o, "columns", "worst", "unproven")
	recorded := o
	recorded.yes = true
	says(t, dir, "tech-1", run, recorded, "pull.csv", "kestrel #3 by tech-1: ")
	for want, o := range map[string]logOptions{
		"--run: say what was logged":           {car: "kestrel", file: "pull.csv"},
		"neither a log of this car nor a file": {car: "kestrel", file: "pull.csv", run: "pull", barometer: o.barometer, beside: "none.csv"},
		"is not a span":                        {car: "kestrel", file: "pull.csv", run: "idle", hoseOff: "4s", maps: o.maps},
		"has no column \"XX\"":                 {car: "kestrel", file: "pull.csv", run: "pull", maps: []string{"XX=lambda"}},
		"car osprey: is not in this shop":      {car: "osprey", file: "pull.csv", run: "pull"},
	} {
		refuses(t, dir, "tech-1", run, o, desk.Usage, want)
	}
	refuses(t, dir, "tech-1", run, logOptions{car: "kestrel", file: "none.csv", run: "pull"}, desk.Failed, "none.csv: cannot be read")
}
