package checklist

import (
	"slices"

	"feedproof/checklist/state"
)

// next is the one next thing in words.
func next(a Assessment) string {
	if tasks := Tasks(a); len(tasks) > 0 {
		return tasks[0].Say()
	}
	if a.Car.Looking() {
		return "nothing is left; hand the car over, then: feedproof visit close CAR"
	}
	if by, ok := signedOff(a.Car); ok {
		if a.Car.Visit.Closed {
			return "signed off by " + by + ", and it has left; when it is back: feedproof visit open CAR"
		}
		return "signed off by " + by + "; hand the car over, then: feedproof visit close CAR"
	}
	return "a lead who did not work on the car signs it off: feedproof signoff CAR"
}

// signedOff is who signed, when nothing but notes and visits came after it.
func signedOff(c *state.Car) (string, bool) {
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
