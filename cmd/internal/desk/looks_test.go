package desk_test

import (
	"context"
	"testing"

	"feedproof/checklist/audit"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/schema"
)

// A command sees one shop: opening it reads the head once, to know that it is
// there, and the one view reads it once more. A commit reads it again under the
// lock: to write, and for what other cars claim, which the gate asks.
func TestHeadReads(t *testing.T) {
	dir := desktest.Shop(t)
	for _, c := range []struct {
		name string
		most int64
		does func(t *testing.T, d *desk.Desk) error
	}{
		{"open", 1, func(*testing.T, *desk.Desk) error { return nil }},
		{"read", 2, func(_ *testing.T, d *desk.Desk) error {
			car, err := d.Car("kestrel")
			if err != nil {
				return err
			}
			if _, err := d.Gauge("P1"); err != nil {
				return err
			}
			if _, err := d.Person("SR"); err != nil {
				return err
			}
			_, err = d.Record(car, d.Now(), base("3.00"))
			return err
		}},
		{"check", 2, func(_ *testing.T, d *desk.Desk) error {
			car, err := d.Car("kestrel")
			if err != nil {
				return err
			}
			_, err = d.Assess(car)
			return err
		}},
		{"board", 2, func(_ *testing.T, d *desk.Desk) error {
			cars, err := d.Present()
			if err != nil {
				return err
			}
			for _, car := range cars {
				if _, err := d.AssessAlone(car); err != nil {
					return err
				}
			}
			src, err := d.Source()
			if err != nil {
				return err
			}
			if _, err := audit.ThisMorning(src, d.Now()); err != nil {
				return err
			}
			_, err = d.Gauges()
			return err
		}},
		{"commit", 5, func(_ *testing.T, d *desk.Desk) error {
			car, err := d.Car("kestrel")
			if err != nil {
				return err
			}
			_, err = d.Commit(context.Background(), car, true, "")
			return err
		}},
	} {
		d := desktest.At(t, dir, "tech-1")
		if err := c.does(t, d); err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		if got := d.Store().HeadReads(); got == 0 || got > c.most {
			t.Errorf("%s: reads the head %d times, at most %d", c.name, got, c.most)
		}
	}
}

// A guided step is a look, the instruments, the fact and a look: three, and one
// that is written meanwhile in another window is seen.
func TestHeadReadsOfAGuidedStep(t *testing.T) {
	dir := desktest.Shop(t)
	d := desktest.At(t, dir, "tech-1")
	car, err := d.Car("kestrel")
	if err != nil {
		t.Fatal(err)
	}
	b, err := d.Bench(car, "")
	if err != nil {
		t.Fatal(err)
	}
	before := d.Store().HeadReads()
	if _, err := b.Stand(); err != nil {
		t.Fatal(err)
	}
	test, _ := schema.FindReading("base")
	rail, _ := test.Value("rail")
	for range 5 { // a form asks at each key
		if all, err := b.Gauges(rail); err != nil || len(all) != 1 {
			t.Fatalf("gauges %v %v, want P1", all, err)
		}
	}
	if _, err := b.Record(d.Now(), base("3.00")); err != nil {
		t.Fatal(err)
	}
	if _, err := b.Stand(); err != nil {
		t.Fatal(err)
	}
	if got := d.Store().HeadReads() - before; got == 0 || got > 3 {
		t.Errorf("a step reads the head %d times, at most 3", got)
	}
}

// Who stays at a car while another window commits sees it at the next look, and
// what they write is numbered after all of it.
func TestBenchSeesAnotherWindow(t *testing.T) {
	dir := desktest.Shop(t)
	d := desktest.At(t, dir, "tech-1")
	car, err := d.Car("kestrel")
	if err != nil {
		t.Fatal(err)
	}
	b, err := d.Bench(car, "")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := b.Record(d.Now(), base("3.00")); err != nil {
		t.Fatal(err)
	}
	other := desktest.At(t, dir, "tech-1")
	car, err = other.Car("kestrel")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := other.Commit(context.Background(), car, true, ""); err != nil {
		t.Fatal(err)
	}
	e, err := b.Record(d.Now(), base("3.10"))
	if err != nil {
		t.Fatal(err)
	}
	car, err = b.Car()
	if err != nil {
		t.Fatal(err)
	}
	if highest := car.Record.MaxCounter(); e.Counter != highest+1 || len(car.Draft) != 1 {
		t.Errorf("entry #%d over a record up to #%d, draft of %d: want the next number, and it alone in the draft", e.Counter, highest, len(car.Draft))
	}
}

// What is committed between the look and the reading of the draft is in the
// record then, and never in neither.
func TestCommittedMeanwhile(t *testing.T) {
	dir := desktest.Shop(t)
	first := desktest.At(t, dir, "tech-1")
	car, err := first.Car("kestrel")
	if err != nil {
		t.Fatal(err)
	}
	done, err := first.Record(car, first.Now(), base("3.00"))
	if err != nil {
		t.Fatal(err)
	}
	d := desktest.At(t, dir, "tech-1")
	if _, err := d.Names(); err != nil { // looks
		t.Fatal(err)
	}
	if _, err := first.Commit(context.Background(), done.Car, true, ""); err != nil {
		t.Fatal(err)
	}
	car, err = d.Car("kestrel")
	if err != nil {
		t.Fatal(err)
	}
	if _, ok := car.Whole().Entry(done.Entry.ID); !ok || len(car.Draft) > 0 {
		t.Errorf("the reading is in neither record nor draft (of %d)", len(car.Draft))
	}
	next, err := d.Record(car, d.Now(), base("3.10"))
	if err != nil || next.Entry.Counter <= done.Entry.Counter {
		t.Errorf("entry #%d after #%d, %v", next.Entry.Counter, done.Entry.Counter, err)
	}
}

// base is a base pressure reading.
func base(bar string) schema.ReadingData {
	return schema.ReadingData{Test: "base", Values: []schema.Value{{Name: "rail", Value: bar, Unit: "bar"}}}
}
