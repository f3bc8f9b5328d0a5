package checklist

// next is the one next thing in words.
func next(a Assessment) string {
	if tasks := Tasks(a); len(tasks) > 0 {
		return tasks[0].Say()
	}
	if a.Car.Looking() {
		return "nothing is left; hand the car over, then: feedproof visit close CAR"
	}
	if signed, ok := a.Standing.Released(); ok && a.Car.InVisit(signed.Entry) {
		by := signed.Entry.By
		if a.Car.Visit.Closed {
			return "signed off by " + by + ", and it has left; when it is back: feedproof visit open CAR"
		}
		return "signed off by " + by + "; hand the car over, then: feedproof visit close CAR"
	}
	return "a lead who did not work on the car signs it off: feedproof signoff CAR"
}
