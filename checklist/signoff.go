package checklist

import (
	"fmt"
	"slices"
	"strings"

	"feedproof/checklist/car"
	"feedproof/checklist/procedures"
	"feedproof/checklist/rules"
	"feedproof/schema"
)

// CanClose lists what keeps a person from closing a hold point now; nothing
// when it may be closed. The facts are never refused: only the closing is. Who
// names oneself as the second says that it was done alone, delayed.
func CanClose(a Assessment, point, by, second string) []schema.Finding {
	p, ok := a.Car.Book.Point(point)
	if !ok {
		return []schema.Finding{refusal("hold point", point+" is not a hold point", "see `feedproof explain points`")}
	}
	var found []schema.Finding
	for _, t := range wants(a.Car, p, a) {
		next := "record it, then close " + p.ID
		if t.Finding != nil && t.Finding.Next != "" {
			next = t.Finding.Next
		}
		found = append(found, refusal(p.ID, t.wanted(), next))
	}
	if why := secondTrouble(a.Car, p, now(a.Car, p, by, second)); why != "" {
		found = append(found, refusal(p.ID, why, secondMends(a.Car, p, by)))
	}
	if why := strangerTrouble(a.Car, by, second); why != "" {
		found = append(found, refusal(p.ID, why, "see `feedproof person list`"))
	}
	if why := roleTrouble(a.Car, by, p.Who); why != "" {
		found = append(found, refusal(p.ID, why, "ask somebody who may"))
	}
	if p.AtRelease {
		found = append(found, refusal(p.ID, "it is closed by the sign-off itself", "feedproof signoff CAR"))
	}
	return found
}

// now is the closing as it would be made at this moment.
func now(c *car.Car, p procedures.Point, by, second string) car.PointEntry {
	closing := car.PointEntry{
		Entry: schema.Entry{ID: "now", By: by, At: c.Now, Counter: c.Record.MaxCounter() + 1},
		Data:  schema.HoldPointData{Point: p.ID, Action: schema.ClosePoint, Second: second},
	}
	if second == by {
		closing.Data.Why = SamePersonDelayed
	}
	return closing
}

// strangerTrouble says that the second person cannot have checked.
func strangerTrouble(c *car.Car, by, second string) string {
	if second == "" || second == by {
		return ""
	}
	p, known := c.Person(second)
	switch {
	case !known:
		return second + " is not in the shop"
	case !car.HandsOn(p):
		return fmt.Sprintf("%s is %s; somebody who works on cars is asked for", second, roles(p))
	}
	return ""
}

func refusal(about, measured, next string) schema.Finding {
	return schema.Finding{Rule: "HP", Severity: schema.Hold, About: about, Measured: measured, Limit: "proven before it closes", Means: "the next act stays locked", Next: next}
}

// roleTrouble says why a person may not act in a role. A lead may act in every
// role but hot work; a fuel technician does what a technician may.
func roleTrouble(c *car.Car, id string, want schema.Role) string {
	p, ok := c.Person(id)
	if !ok {
		return id + " is not in the shop's roster"
	}
	may := slices.Contains(p.Roles, want) ||
		want != schema.HotWork && slices.Contains(p.Roles, schema.Lead) ||
		want == schema.Technician && slices.Contains(p.Roles, schema.FuelTechnician)
	if may {
		return ""
	}
	return fmt.Sprintf("%s is %s; a %s is asked for", id, roles(p), want)
}

func roles(p schema.PersonData) string {
	var out []string
	for _, r := range p.Roles {
		out = append(out, string(r))
	}
	return strings.Join(out, ", ")
}

// CanSignOff lists what keeps a person from signing the car off; nothing when
// they may. Who worked on it may sign only where nobody else works: then the
// second checks were their own, delayed. A shortage is never waived: the envelope is lowered.
func CanSignOff(a Assessment, person string) []schema.Finding {
	c := a.Car
	if c.Visit == nil {
		return []schema.Finding{signRefusal("visit", "no visit is open", "feedproof visit open CAR")}
	}
	var found []schema.Finding
	if !c.IsLead(person) {
		found = append(found, signRefusal("who signs", person+" is not a lead", "a lead who did not do the work signs"))
	}
	if worked(c, person) && !Alone(c, person) {
		found = append(found, signRefusal("who signs", person+" worked on this car", "another lead signs"))
	}
	for _, f := range a.Findings {
		if f.Severity >= schema.Flag && f.Answered == "" && !rules.OfPlan(c, f) {
			found = append(found, f)
		}
	}
	for _, p := range a.Points {
		if !p.Release && p.State != PointClosed {
			found = append(found, signRefusal(p.ID, strings.TrimSpace(string(p.State)+" "+p.Why), "close "+p.ID+": "+p.Name))
		}
	}
	return found
}

func signRefusal(about, measured, next string) schema.Finding {
	return schema.Finding{Rule: "HP10", Severity: schema.Hold, About: about, Measured: measured, Limit: "closed before the car leaves", Means: "the car cannot leave yet", Next: next}
}

func worked(c *car.Car, person string) bool { return slices.Contains(c.Workers(), person) }

func words(s string) int { return len(strings.Fields(s)) }
