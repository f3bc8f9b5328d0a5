package rules

import (
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

var _ = register(Rule{
	ID: "K10", Title: "cutting a new tank", Never: true,
	What:   "Each cut of a tank that is known never to have held fuel needs proof that it is new, such as the invoice and a photo sealed and clean, and a gas reading in it at most 15 minutes old, below 1 % LEL after correction: test fluid may be left in it. A cleaning certificate is not asked. A tank of which nobody knows counts as used: K09.",
	Limits: "proof that it is new; below 1 % LEL",
	Source: "common practice",
	Means:  "A tank that only looks new is the one that explodes.",
	Next:   "Invoice and photo first, then the meter, then the cut.",
	Words:  uncutWords("K10"),
	Judge:  inVisit(judgeNewTank),
})

func judgeNewTank(c *state.Car) []schema.Finding {
	if c.Vehicle.TankEverFuelled != schema.No {
		return nil
	}
	return cuts(c, "K10", newTankBefore)
}

func newTankBefore(c *state.Car, o state.Opening) (schema.Finding, bool) {
	f := cutFinding("K10", o, "proof that it is new; below 1 % LEL, at most 15 min old")
	if !cautionMetBefore(c, "K10", o) {
		return unshown(f, doubtful(code.Unpapered), o.Entry), false
	}
	why, rests := tankGas(c, o, false)
	return unshown(f, why, rests...), !why.is()
}

func cautionMetBefore(c *state.Car, id string, o state.Opening) bool {
	k, _ := last(answersBefore(c, id, o))
	return k.Data.State == schema.CautionMet && answersCaution(k.Data)
}
