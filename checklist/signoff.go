package checklist

import (
	"fmt"
	"slices"
	"strings"

	"feedproof/checklist/procedures"
	"feedproof/checklist/rules"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

// CanClose lists what keeps a person from closing a hold point now; nothing
// when it may be closed. The facts are never refused: only the closing is. Who
// names oneself as the second says that it was done alone, delayed.
func CanClose(a Assessment, point, by, second string) []schema.Finding {
	p, ok := a.Car.Book.Point(point)
	if !ok {
		return []schema.Finding{refusal("hold point", code.Unknown, point+" is not a hold point", "see `feedproof explain points`")}
	}
	var found []schema.Finding
	for _, h := range a.histories() {
		found = append(found, wanting(h, p, found)...)
	}
	if why := aloneTrouble(a.Car, p, now(a.Car, p, by, second)); p.Two && (second == "" || second == by) && why != "" {
		found = append(found, refusal(p.ID, code.Alone, why, secondMends(a.Car, p, by)))
	}
	if why := strangerTrouble(a.Car, by, second); why != "" {
		found = append(found, refusal(p.ID, code.Stranger, why, "see `feedproof person list`"))
	}
	if why := roleTrouble(a.Car, by, p.Who); why != "" {
		found = append(found, refusal(p.ID, code.Unfit, why, "ask somebody who may"))
	}
	if p.AtRelease {
		found = append(found, refusal(p.ID, code.Early, "it is closed by the sign-off itself", "feedproof signoff CAR"))
	}
	return found
}

// wanting are the refusals for what a point still needs, but for those known.
func wanting(a Assessment, p procedures.Point, known []schema.Finding) []schema.Finding {
	var found []schema.Finding
	for _, t := range wants(a.Car, p, a) {
		next := "record it, then close " + p.ID
		if t.Finding != nil && t.Finding.Next != "" {
			next = t.Finding.Next
		}
		if f := refusal(p.ID, code.Missing, t.wanted(), next); !slices.ContainsFunc(known, func(k schema.Finding) bool { return k.Measured == f.Measured }) {
			found = append(found, f)
		}
	}
	return found
}

// now is the closing as it would be made at this moment.
func now(c *state.Car, p procedures.Point, by, second string) state.PointEntry {
	closing := state.PointEntry{
		Entry: schema.Entry{ID: "now", By: by, At: c.Now, Counter: c.Record.MaxCounter() + 1},
		Data:  schema.HoldPointData{Point: p.ID, Action: schema.ClosePoint, Second: second},
	}
	if second == by {
		closing.Data.Why = SamePersonDelayed
	}
	return closing
}

// strangerTrouble says that the second person cannot have checked.
func strangerTrouble(c *state.Car, by, second string) string {
	if second == "" || second == by {
		return ""
	}
	p, known := c.Person(second)
	switch {
	case !known:
		return second + " is not in the shop"
	case !state.HandsOn(p):
		return fmt.Sprintf("%s is %s; somebody who works on cars is asked for", second, roles(p))
	}
	return ""
}

func refusal(about string, why code.Code, measured, next string) schema.Finding {
	return schema.Finding{Rule: "HP", Subject: about, Code: why, Severity: schema.Hold, About: about, Measured: measured, Limit: "proven before it closes", Means: "the next act stays locked", Next: next}
}

// roleTrouble says why a person may not act in a role. A lead may act in every
// role but hot work; a fuel technician does what a technician may.
func roleTrouble(c *state.Car, id string, want schema.Role) string {
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
		return []schema.Finding{signRefusal("visit", code.Missing, "no visit is open", "feedproof visit open CAR")}
	}
	var found []schema.Finding
	if !c.IsLead(person) {
		found = append(found, signRefusal("who signs", code.Unfit, person+" is not a lead", "a lead who did not do the work signs"))
	}
	if worked(c, person) && !Alone(c, person) {
		found = append(found, signRefusal("who signs", code.Alone, person+" worked on this car", "another lead signs"))
	}
	if by, idle := signedBefore(a); idle {
		found = append(found, signRefusal("release", code.Twice, "signed off by "+by+" already, and nothing is new since", "feedproof visit close CAR, or record what was done"))
	}
	for _, f := range a.Findings {
		if f.Severity >= schema.Flag && f.Answered == "" && !rules.OfPlan(c, f) {
			found = append(found, f)
		}
	}
	for _, p := range a.Points {
		if !p.Release && p.State != PointClosed {
			found = append(found, signRefusal(p.ID, code.Missing, strings.TrimSpace(string(p.State)+" "+p.Why), "close "+p.ID+": "+p.Name))
		}
	}
	return found
}

// signedBefore is who signed, when a release is in force and nothing but notes
// came after it: to sign again would only move the date of the re-check.
func signedBefore(a Assessment) (by string, idle bool) {
	signed, ok := a.Standing.Released()
	if !ok || !a.Car.InVisit(signed.Entry) {
		return "", false
	}
	return signed.Entry.By, !slices.ContainsFunc(a.Car.Standing(), func(e schema.Entry) bool {
		return schema.Order(e, signed.Entry) > 0 && !slices.Contains([]string{"note", "visit", "signoff"}, e.Kind)
	})
}

func signRefusal(about string, why code.Code, measured, next string) schema.Finding {
	return schema.Finding{Rule: "HP10", Subject: about, Code: why, Severity: schema.Hold, About: about, Measured: measured, Limit: "closed before the car leaves", Means: "the car cannot leave yet", Next: next}
}

func worked(c *state.Car, person string) bool { return slices.Contains(c.Workers(), person) }

func words(s string) int { return len(strings.Fields(s)) }
