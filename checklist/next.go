package checklist

import (
	"fmt"

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
	return "a lead who did not work on the car signs it off: feedproof signoff CAR"
}
