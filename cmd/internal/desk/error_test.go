package desk_test

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"syscall"
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/records"
	"feedproof/schema"
)

// What a desk refuses says the thing, what is wrong and what mends it, and of
// which sort it is.
func TestErrors(t *testing.T) {
	dir := desktest.Shop(t)
	for _, c := range []struct {
		name, who, text, mend string
		kind                  desk.Kind
		does                  func(d *desk.Desk, car desk.Car) error
	}{
		{"nobody by that name", "tech-9", "person tech-9: is not in this shop", "one of these: tech-1, lead-1", desk.Usage, func(d *desk.Desk, car desk.Car) error {
			_, err := d.Record(car, d.Now(), base("3.00"))
			return err
		}},
		{"no such car", "tech-1", "car kestral: is not in this shop", "one of these: kestrel", desk.Usage, func(d *desk.Desk, _ desk.Car) error {
			_, err := d.Car("kestral")
			return err
		}},
		{"no such part", "tech-1", "part PUMP-B: is not in this shop", "one of these: PUMP-A", desk.Usage, func(d *desk.Desk, _ desk.Car) error {
			_, err := d.Part("PUMP-B")
			return err
		}},
		{"a role", "tech-1", "", "ask one of: lead-1", desk.Refused, func(d *desk.Desk, car desk.Car) error {
			_, err := d.Record(car, d.Now(), schema.WaiveData{Rule: "V-06"})
			return err
		}},
		{"nothing to commit", "tech-1", "kestrel: nothing to commit", "feedproof read, step, fit ...", desk.Failed, func(d *desk.Desk, car desk.Car) error {
			_, err := d.Commit(context.Background(), car, false, "")
			return err
		}},
		{"open points", "lead-1", "", "feedproof check kestrel", desk.Refused, func(d *desk.Desk, car desk.Car) error {
			_, err := d.SignOff(context.Background(), car, desk.Release{Meaning: "released"})
			return err
		}},
	} {
		d := desktest.At(t, dir, c.who)
		car, err := d.Car("kestrel")
		if err != nil {
			t.Fatal(err)
		}
		var got *desk.Error
		switch err := c.does(d, car); {
		case !errors.As(err, &got):
			t.Errorf("%s: %v, want a *desk.Error", c.name, err)
		case got.Kind != c.kind || got.Mend != c.mend || c.text != "" && got.Error() != c.text:
			t.Errorf("%s: %q, mend %q, kind %d; want %q, %q, %d", c.name, got.Error(), got.Mend, got.Kind, c.text, c.mend, c.kind)
		}
	}
}

// Errors of the layers below keep their sort when they are wrapped.
func TestExplain(t *testing.T) {
	for _, c := range []struct {
		err  error
		want desk.Kind
	}{
		{errors.New("broke"), desk.Failed},
		{&desk.Error{Kind: desk.Refused}, desk.Refused},
		{&records.RefusedError{}, desk.Refused},
		{&records.RoleError{Reason: errors.New("no")}, desk.Refused},
		{&records.VerifyError{Reason: errors.New("no")}, desk.NotProven},
		{&records.WrongKeyError{}, desk.NotProven},
		{&schema.InvalidError{}, desk.Usage},
		{&records.BusyError{}, desk.Busy},
		{fs.ErrPermission, desk.Failed},
		{syscall.ENOSPC, desk.Failed},
	} {
		for _, err := range []error{c.err, fmt.Errorf("wrapped: %w", c.err)} {
			if got := desk.Explain(err); got.Kind != c.want || !errors.Is(got, c.err) {
				t.Errorf("%T: kind %d, want %d, with its cause", err, got.Kind, c.want)
			}
		}
	}
	for _, err := range []error{fs.ErrPermission, syscall.ENOSPC} {
		if desk.Explain(err).Mend == "" {
			t.Errorf("%v: nothing mends it", err)
		}
	}
}

// The id of an entry that was never written says nothing to who typed it, and
// what is wrong with it is said to the letter.
func TestExplainInvalid(t *testing.T) {
	err := &schema.InvalidError{ID: "car-1", Problems: []schema.Problem{{Entry: "01J", Kind: "note", What: "text (entry 2): is missing"}, {What: "id: is empty"}}}
	if got, want := desk.Explain(err).Error(), "text (entry 2): is missing; id: is empty"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	if got, want := err.Error(), "record car-1: entry 01J (note): text (entry 2): is missing; id: is empty"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}
