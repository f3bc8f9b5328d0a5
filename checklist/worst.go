package checklist

import (
	"cmp"
	"slices"
	"strings"
	"sync"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
)

// assessEach judges every history of a record as if it were the only one.
func assessEach(r schema.Record, shop schema.Shop, moment time.Time, assess func(*state.Car) Assessment) []Assessment {
	histories := state.Histories(r)
	if len(shop.Elsewhere) > 0 {
		histories = append(histories, state.Histories(r.With(shop.Elsewhere...))...)
	}
	each := make([]Assessment, len(histories))
	var wait sync.WaitGroup
	for i, h := range histories {
		wait.Go(func() { each[i] = assess(state.Fold(h, shop, moment)) })
	}
	wait.Wait()
	for i := range each {
		doubt(r, each[i].Findings)
		place(shop.Elsewhere, each[i].Findings)
	}
	return each
}

// doubt lets what only an unproven hand says weigh no more than UNPROVEN: a
// stranger cannot stop a car.
func doubt(r schema.Record, found []schema.Finding) {
	for i := range found {
		f := &found[i]
		if f.Severity > schema.Unproven && slices.ContainsFunc(f.Entries, func(id string) bool { return r.Doubts[id] != "" }) {
			f.Severity = schema.Unproven
		}
	}
}

// place says which findings rest on what another bay has not committed yet.
func place(elsewhere []schema.Entry, found []schema.Finding) {
	for _, e := range elsewhere {
		for i := range found {
			if f := &found[i]; slices.Contains(f.Entries, e.ID) {
				f.Measured += ", not committed yet, " + e.Device
			}
		}
	}
}

// worst is what holds while nobody has seen both: of each finding and hold
// point the worst that any history gives.
func worst(each []Assessment) Assessment {
	if len(each) == 1 {
		return each[0]
	}
	a := slices.MaxFunc(each, func(a, b Assessment) int { return cmp.Compare(weight(a.Findings), weight(b.Findings)) })
	a.each = each
	a.Findings = worstFindings(each)
	a.Steps = leastDone(a, each)
	a.Points = worstPoints(each)
	a.Standing = worstStanding(each).judged(a.Findings)
	a.Next = next(a)
	return a
}

// weight is the heaviest open severity of some findings.
func weight(found []schema.Finding) int {
	heaviest := 0
	for _, f := range found {
		heaviest = max(heaviest, weigh(f))
	}
	return heaviest
}

// weigh puts what is not answered before what is, and then the more severe.
func weigh(f schema.Finding) int {
	if f.Answered == "" && f.Severity >= schema.Flag {
		return 100 + int(f.Severity)
	}
	return 1 + int(f.Severity)
}

func worstFindings(each []Assessment) []schema.Finding {
	groups := map[string][]schema.Finding{}
	for _, a := range each {
		own := map[string][]schema.Finding{}
		for _, f := range a.Findings {
			own[f.Topic()] = append(own[f.Topic()], f)
		}
		for key, found := range own {
			if weight(found) > weight(groups[key]) {
				groups[key] = found
			}
		}
	}
	var found []schema.Finding
	for _, group := range groups {
		found = append(found, group...)
	}
	slices.SortStableFunc(found, func(a, b schema.Finding) int { return strings.Compare(a.Key(), b.Key()) })
	heaviestFirst(found)
	return found
}

// leastDone are the steps of one assessment, done if they are done in all.
func leastDone(a Assessment, each []Assessment) []Step {
	steps := slices.Clone(a.Steps)
	for i, s := range steps {
		for _, other := range each {
			at := slices.IndexFunc(other.Steps, func(o Step) bool { return o.ID == s.ID })
			if at >= 0 && !other.Steps[at].Done {
				steps[i] = other.Steps[at]
			}
		}
	}
	return steps
}

// worse orders how a hold point can stand.
var worse = []PointState{PointClosed, PointOpen, PointReopened, PointNotProven}

// closedApart is why a point that was closed by bays apart is open.
const closedApart = "closed by people who did not know of each other's work"

func worstPoints(each []Assessment) []Point {
	var out []Point
	for _, a := range each {
		for _, p := range a.Points {
			at := slices.IndexFunc(out, func(o Point) bool { return o.ID == p.ID })
			switch {
			case at < 0:
				out = append(out, p)
			case slices.Index(worse, p.State) > slices.Index(worse, out[at].State):
				out[at] = p
			case p.State == PointClosed && out[at].State == PointClosed && p.Closing != out[at].Closing:
				out[at].State, out[at].Why, out[at].ClosedBy, out[at].At = PointReopened, closedApart, "", time.Time{}
			}
		}
	}
	return out
}

func worstStanding(each []Assessment) Standing {
	s := each[0].Standing
	for _, a := range each[1:] {
		o := a.Standing
		if o.FuelOpen && !s.FuelOpen {
			s.Joints = nil
		}
		for _, joint := range o.Joints {
			if !slices.Contains(s.Joints, joint) {
				s.Joints = append(s.Joints, joint)
			}
		}
		s.FuelOpen, s.Held = s.FuelOpen || o.FuelOpen, s.Held || o.Held
		if o.Stop != nil {
			s.Stop = o.Stop
		}
		s.Releases = slices.DeleteFunc(slices.Clone(s.Releases), func(r state.SignOff) bool {
			return !slices.ContainsFunc(o.Releases, func(other state.SignOff) bool { return other.Entry.ID == r.Entry.ID })
		})
		if len(s.Unseen) == 0 {
			s.Unseen = o.Unseen
		}
	}
	return s
}
