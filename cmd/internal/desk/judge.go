package desk

import (
	"fmt"
	"strings"

	"feedproof/checklist"
	"feedproof/checklist/audit"
	"feedproof/records"
	"feedproof/schema"
)

// Assess judges a car as its record and draft stand now, beside what other cars
// claim.
func (d *Desk) Assess(c Car) (checklist.Assessment, error) {
	facts, err := d.factsOf(c.ID)
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
	facts, err := d.factsOf(c.ID)
	if err != nil {
		return checklist.Assessment{}, err
	}
	return checklist.Assess(c.Whole(), facts, d.Now()), nil
}

// factsOf are the facts beside a car's record, with what other machines have in
// their drafts of it.
func (d *Desk) factsOf(car string) (schema.Shop, error) {
	facts, err := d.Facts()
	if err != nil {
		return facts, err
	}
	facts.Elsewhere, err = d.elsewhere(car)
	return facts, err
}

// elsewhere are the entries of a car in drafts of other machines that came with
// a sync.
func (d *Desk) elsewhere(car string) ([]schema.Entry, error) {
	drafts, err := d.shop.OtherDrafts(car)
	var all []schema.Entry
	for _, draft := range drafts {
		all = append(all, draft.Entries...)
	}
	return all, err
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
			return unknownElsewhere(err)
		}
		shop.Claims = claims
		if shop.Elsewhere, err = d.elsewhere(r.ID); err != nil {
			return unknownElsewhere(err)
		}
		return checklist.Evaluate(r, shop, d.Now())
	}
}

// unknownElsewhere holds a car of which nobody can read what others say.
func unknownElsewhere(err error) []schema.Finding {
	return []schema.Finding{{Rule: "X14", Severity: schema.Hold, About: "other cars and drafts", Measured: err.Error(), Means: "nobody knows what they say", Next: "feedproof verify"}}
}

// Standing is how a car stands, on the board and over every screen of it.
type Standing struct {
	Vehicle  string         `json:"vehicle"`
	Plate    string         `json:"plate,omitempty"`
	Visit    string         `json:"visit,omitempty"`
	Jobs     string         `json:"jobs,omitempty"`
	Bay      string         `json:"bay,omitempty"`
	Left     bool           `json:"left,omitempty"`   // the visit is over
	Stop     string         `json:"stop,omitempty"`   // why to stop the work now
	Band     checklist.Band `json:"band"`             // what is to be seen first
	Why      string         `json:"why,omitempty"`    // the finding, or the joints
	Fuel     string         `json:"fuel"`             // OPEN or CLOSED
	Joints   []string       `json:"joints,omitempty"` // that are open
	Held     bool           `json:"held"`
	Released string         `json:"released,omitempty"` // who signed it off
	Unseen   []string       `json:"unseen,omitempty"`   // written elsewhere while it was signed off
	Point    string         `json:"next_point,omitempty"`
	Red      int            `json:"red"`   // HOLD, BLOCK and STOP not answered
	Amber    int            `json:"amber"` // FLAG and UNPROVEN not answered
	Draft    int            `json:"draft"` // entries not committed on this machine
	Next     string         `json:"next"`
}

// Seen is the band with its reason, for one line.
func (st Standing) Seen() string {
	if st.Why == "" {
		return st.Bands()
	}
	return st.Bands() + ": " + st.Why
}

// Bands are the band, and that fuel is open where it says stop.
func (st Standing) Bands() string {
	if st.Band == checklist.BandStop && st.Fuel == "OPEN" {
		return string(checklist.BandStop) + ", " + string(checklist.BandOpen)
	}
	return string(st.Band)
}

// Stands is how a car stands by its assessment.
func Stands(c Car, a checklist.Assessment) Standing {
	st := Standing{Vehicle: c.Data.Name, Plate: c.Data.Plate, Fuel: "CLOSED", Held: a.Standing.Held, Draft: len(c.Draft), Next: ForCar(a.Next, c.Data.Name)}
	if a.Standing.FuelOpen {
		st.Fuel, st.Joints = "OPEN", a.Standing.Joints
	}
	if st.Band, st.Why = a.Standing.Band(); st.Band == checklist.BandStop {
		st.Stop = st.Why
	}
	if signed, ok := a.Standing.Released(); ok {
		st.Released = signed.Entry.By
	}
	for _, e := range a.Standing.Unseen {
		st.Unseen = append(st.Unseen, fmt.Sprintf("#%d %s by %s on %s", e.Counter, e.Kind, e.By, e.Device))
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
