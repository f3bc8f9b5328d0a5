package checklist

import (
	"fmt"
	"slices"

	"feedproof/checklist/car"
	"feedproof/schema"
)

// next is the one next thing: what stops the work, then what the next hold
// point waits for, then the sign-off.
func next(a Assessment) string {
	if a.Car.Visit == nil {
		return "open a visit: feedproof visit open CAR --kind a,b"
	}
	for _, f := range a.Findings {
		if f.Severity >= schema.Block && f.Answered == "" {
			return f.About + ": " + f.Next
		}
	}
	for _, p := range a.Points {
		if p.Release || p.State == PointClosed {
			continue
		}
		if len(p.Missing) > 0 {
			return fmt.Sprintf("%s (%s): %s", p.ID, p.Name, p.Missing[0])
		}
		return fmt.Sprintf("close %s (%s)", p.ID, p.Name)
	}
	for _, f := range a.Findings {
		if f.Severity >= schema.Flag && f.Answered == "" {
			return f.About + ": " + f.Next
		}
	}
	if by, ok := signedOff(a.Car); ok {
		return "signed off by " + by + "; hand the car over, then: feedproof visit close CAR"
	}
	return "a lead who did not work on the car signs it off: feedproof signoff CAR"
}

// signedOff is who signed, when nothing but notes and visits came after it.
func signedOff(c *car.Car) (string, bool) {
	for _, e := range slices.Backward(c.Record.Entries) {
		switch {
		case e.Kind == "note" || e.Kind == "visit":
		case e.Kind == "signoff" && c.InVisit(e):
			return e.By, true
		default:
			return "", false
		}
	}
	return "", false
}
