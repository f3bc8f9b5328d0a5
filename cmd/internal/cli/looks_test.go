package cli

import (
	"context"
	"io"
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/cmd/internal/guide"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"
)

// The commands and the guide themselves see one shop; what a desk reads for
// them is held in its own tests.
func TestCommandsLookOnce(t *testing.T) {
	dir := desktest.Shop(t)
	quiet := terminal.New(io.Discard, io.Discard, terminal.Options{})
	ctx := context.Background()
	for name, run := range map[string]func(d *desk.Desk) error{
		"read": func(d *desk.Desk) error {
			return runRead(ctx, d, quiet, readOptions{car: "kestrel", test: "base", words: []string{"3.00", "bar"}, gauges: []string{"rail=P1"}, data: schema.ReadingData{Second: "RV"}})
		},
		"check": func(d *desk.Desk) error { return runCheck(ctx, d, quiet, checkOptions{car: "kestrel"}) },
		"step": func(d *desk.Desk) error {
			return runStep(ctx, d, quiet, stepOptions{car: "kestrel", steps: []string{"a1"}, data: schema.StepData{Second: "RV"}})
		},
		"remove": func(d *desk.Desk) error {
			return runRemove(ctx, d, quiet, removeOptions{car: "kestrel", position: "pump", why: "too small"})
		},
		"vehicle show": func(d *desk.Desk) error { return runVehicleShow(ctx, d, quiet, vehicleShowOptions{car: "kestrel"}) },
		"vehicle list": func(d *desk.Desk) error { return runVehicleList(ctx, d, quiet, noOptions{}) },
		"gauge list":   func(d *desk.Desk) error { return runGaugeList(ctx, d, quiet, noOptions{}) },
		"board":        func(d *desk.Desk) error { return runBoard(ctx, d, quiet, boardOptions{}) },
	} {
		d := desktest.At(t, dir, "tech-1")
		if err := run(d); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		most := int64(3)
		if name == "step" {
			most = 4 // and once more under the lock, for the second person's own entry
		}
		if got := d.Store().HeadReads(); got == 0 || got > most {
			t.Errorf("%s: reads the head %d times, at most %d: to open, for the view, and under the lock of the draft", name, got, most)
		}
	}
}

// A step of the guide, from one entry on the disk to the next: the look before
// it is written, and the look at what it changed; a hold point is looked at once
// more before it is judged.
func TestGuidedStepsLookThreeTimes(t *testing.T) {
	d := desktest.At(t, desktest.Shop(t), "tech-1")
	car, err := d.Car("kestrel")
	if err != nil {
		t.Fatal(err)
	}
	b, err := d.Bench(car, "")
	if err != nil {
		t.Fatal(err)
	}
	w, err := guide.New(b, d.Now, "")
	if err != nil {
		t.Fatal(err)
	}
	steps, before, written := 0, d.Store().HeadReads(), 0
	for range 20 {
		w.Line("1")
		draft, err := d.Draft(car.ID)
		if err != nil {
			t.Fatal(err)
		}
		if len(draft) == written {
			continue
		}
		steps, written = steps+1, len(draft)
		looks := d.Store().HeadReads() - before
		before += looks
		if looks == 0 || looks > 4 {
			t.Errorf("step %d reads the head %d times, at most 4", steps, looks)
		}
	}
	if steps < 3 {
		t.Fatalf("%d steps were answered, want some", steps)
	}
}
