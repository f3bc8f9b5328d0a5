package desk

import (
	"strings"

	"feedproof/checklist"
	"feedproof/checklist/audit"
	"feedproof/records"
	"feedproof/schema"
)

// Assess judges a car as its record and draft stand now, beside what other cars
// claim.
func (d *Desk) Assess(c Car) (checklist.Assessment, error) {
	facts, err := d.Facts()
	if err != nil {
		return checklist.Assessment{}, err
	}
	if facts.Claims, err = audit.Claims(func() (audit.Source, error) { return d.Source() }, c.Whole()); err != nil {
		return checklist.Assessment{}, err
	}
	return checklist.Assess(c.Whole(), facts, d.Now()), nil
}

// AssessAlone judges a car by itself: what is asked at every reading must not
// wait for other records.
func (d *Desk) AssessAlone(c Car) (checklist.Assessment, error) {
	facts, err := d.Facts()
	if err != nil {
		return checklist.Assessment{}, err
	}
	return checklist.Assess(c.Whole(), facts, d.Now()), nil
}

// gate joins the checklist to a commit. It runs under the lock, so what other
// cars claim is looked at again.
func (d *Desk) gate() records.Gate {
	again := func() (audit.Source, error) {
		if err := d.Refresh(); err != nil {
			return nil, err
		}
		return d.Source()
	}
	return func(r schema.Record, shop schema.Shop) []schema.Finding {
		claims, err := audit.Claims(again, r)
		if err != nil {
			return []schema.Finding{{Rule: "X14", Severity: schema.Hold, About: "other cars", Measured: err.Error(), Means: "nobody knows what they claim", Next: "feedproof verify"}}
		}
		shop.Claims = claims
		return checklist.Evaluate(r, shop, d.Now())
	}
}

// Standing is how a car stands, on the board and over every screen of it.
type Standing struct {
	Vehicle string `json:"vehicle"`
	Plate   string `json:"plate,omitempty"`
	Visit   string `json:"visit,omitempty"`
	Jobs    string `json:"jobs,omitempty"`
	Bay     string `json:"bay,omitempty"`
	Left    bool   `json:"left,omitempty"` // the visit is over
	Fuel    string `json:"fuel"`           // OPEN or CLOSED
	Held    bool   `json:"held"`
	Point   string `json:"next_point,omitempty"`
	Red     int    `json:"red"`   // HOLD, BLOCK and STOP not answered
	Amber   int    `json:"amber"` // FLAG and UNPROVEN not answered
	Draft   int    `json:"draft"` // entries not committed on this machine
	Next    string `json:"next"`
}

// Stands is how a car stands by its assessment.
func Stands(c Car, a checklist.Assessment) Standing {
	st := Standing{Vehicle: c.Data.Name, Plate: c.Data.Plate, Fuel: "CLOSED", Held: a.Car.Held != nil, Draft: len(c.Draft), Next: ForCar(a.Next, c.Data.Name)}
	if a.Car.FuelOpen() {
		st.Fuel = "OPEN"
	}
	if visit := a.Car.Visit; visit != nil {
		st.Visit, st.Jobs, st.Left = visit.Data.Visit, jobs(visit.Data.Kinds), visit.Closed
		if !st.Left {
			st.Bay = visit.Data.Bay
		}
	}
	for _, f := range a.Findings {
		switch {
		case f.Answered != "" || f.Severity < schema.Flag:
		case f.Severity >= schema.Hold:
			st.Red++
		default:
			st.Amber++
		}
	}
	st.Point = nextPoint(a)
	return st
}

func jobs(kinds []schema.JobKind) string {
	out := make([]string, len(kinds))
	for i, k := range kinds {
		out[i] = string(k)
	}
	return strings.Join(out, ",")
}

// nextPoint is the next lock on the work, or what a visit of no job is for.
func nextPoint(a checklist.Assessment) string {
	for _, p := range a.Points {
		if (!p.Release || a.Car.Looking()) && p.State != checklist.PointClosed {
			return p.ID
		}
	}
	return ""
}
