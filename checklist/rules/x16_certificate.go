package rules

import (
	"slices"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

var _ = register(Rule{
	ID: "X16", Title: "certificate of another tank, or later than the cut", Never: true,
	What:   "The cleaning certificate of a tank that was cut names another tank, or is dated after the last cut. Both facts stay.",
	Limits: "this tank, before the cut",
	Source: "common practice",
	Means:  "Either the wrong tank was cut, or the paper was made to fit. Both are incidents.",
	Next:   "Stop, call the lead, write an incident entry, find out which tank was cleaned and which was cut.",
	Words:  Words{otherwise: {"the paper does not belong to what was done", "stop, call the lead, write it down: feedproof incident CAR --what ... --severity ..."}},
	Judge:  inVisit(judgeCertificate),
})

func judgeCertificate(c *state.Car) []schema.Finding {
	if !c.Vehicle.TankEverFuelled.Worst(true) {
		return nil
	}
	var found []schema.Finding
	for _, k := range answersTo(c, "K09") {
		if k.Data.Certificate == nil {
			continue
		}
		f := schema.Finding{
			Rule: "X16", Subject: k.Entry.ID, About: "cleaning certificate", Limit: "of this tank, before the cut", Entries: ids(k.Entry),
		}
		if f.Severity, f.Code, f.Measured = certificateContradicts(c, *k.Data.Certificate); f.Measured != "" {
			found = append(found, f)
		}
	}
	return found
}

func certificateContradicts(c *state.Car, cert schema.Certificate) (severity schema.Severity, why code.Code, measured string) {
	if cert.Tank != "" && c.Vehicle.Tank != "" && cert.Tank != c.Vehicle.Tank {
		return schema.Stop, code.OtherTank, "it is of " + cert.Tank + ", this is " + c.Vehicle.Tank
	}
	at, _ := time.Parse(time.RFC3339, cert.At)
	cut, ok := last(slices.DeleteFunc(c.VisitOpenings(), func(o state.Opening) bool { return !o.HotOrCut }))
	if ok && at.After(cut.Entry.At) {
		return schema.Hold, code.Afterwards, "it is dated after the cut"
	}
	return severity, why, ""
}
