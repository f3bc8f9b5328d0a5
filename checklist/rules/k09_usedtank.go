package rules

import (
	"fmt"
	"slices"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

var _ = register(Rule{
	ID: "K09", Title: "cutting a tank that has held fuel", Never: true,
	What: "Each cut of a tank that was ever fuelled, or of which nobody knows, needs before it: a certificate of whoever cleaned it, which says how, names this tank and is at most 24 h old; " +
		"and an own gas reading in the tank, at most 15 minutes old, below 1 % LEL in every cell after correction, with oxygen from 19.5 to 23.5 %. One does not stand in for the other. Cutting, hot work and tank cleaning are licensed trades in many places; local code decides.",
	Limits: "certificate and reading, as above",
	Source: "29 CFR 1910.252(a)(3)(i): no hot work on used containers until they have been cleaned so thoroughly that no flammable material is present; oxygen: 29 CFR 1910.146(b); both from memory. 15 min and 24 h: shop policy",
	Means:  "A drained tank is the dangerous one: 3 mL of gasoline make 55 L explosive.",
	Next:   "No cut. A professional cleans it and writes the certificate; then read, then cut at once. After any break read again.",
	Words:  uncutWords("K09"),
	Judge:  inVisit(func(c *state.Car) []schema.Finding { return cuts(c, "K09", usedTankBefore) }),
})

func usedTankBefore(c *state.Car, o state.Opening) (schema.Finding, bool) {
	f := cutFinding("K09", o, "cleaning certificate of this tank, at most 24 h old; below 1 % LEL and 19.5 to 23.5 % oxygen, at most 15 min old")
	cert, by, ok := certificateBefore(c, o)
	if !ok {
		return unshown(f, doubtful(code.Uncertified), o.Entry), false
	}
	if why := certificateTrouble(c, cert, o); why.is() {
		return unshown(f, why, o.Entry, by), false
	}
	why, rests := tankGas(c, o, true)
	return unshown(f, why, rests...), !why.is()
}

func certificateBefore(c *state.Car, o state.Opening) (schema.Certificate, schema.Entry, bool) {
	for _, k := range slices.Backward(answersBefore(c, "K09", o)) {
		if k.Data.Certificate != nil {
			return *k.Data.Certificate, k.Entry, true
		}
	}
	return schema.Certificate{}, schema.Entry{}, false
}

// certificateTrouble is why a certificate does not cover a cut.
func certificateTrouble(c *state.Car, cert schema.Certificate, o state.Opening) doubt {
	at, err := time.Parse(time.RFC3339, cert.At)
	age := o.Entry.At.Sub(at)
	switch {
	case !says(cert.By) || !says(cert.Method):
		return doubtful(code.Anonymous)
	case cert.Tank == "":
		return doubtful(code.Nameless)
	case c.Vehicle.Tank == "":
		return doubtful(code.Untagged)
	case cert.Tank != c.Vehicle.Tank:
		return doubtful(code.OtherTank, called("certified", cert.Tank), called("tank", c.Vehicle.Tank))
	case err != nil:
		return doubtful(code.Undated)
	case age < 0:
		return doubtful(code.Afterwards)
	case age > cutCleaned:
		return doubtful(code.Old, schema.Amount{Name: "age", Value: fmt.Sprintf("%.0f", age.Hours()), Unit: "h"})
	}
	return doubt{}
}
