package checklist

import (
	"fmt"
	"slices"
	"time"

	"feedproof/checklist/procedures"
	"feedproof/checklist/state"
	"feedproof/schema"
)

// SamePersonDelayed is what the closing of a hold point says, as its reason,
// when the second check was made by the person who made the first.
const SamePersonDelayed = "same person, delayed"

// secondCheckAfter is how long one person waits between two leak tests that
// stand in for two persons. Source: shop policy.
const secondCheckAfter = 12 * time.Hour

// Alone reports that nobody else of the roster works on cars: then, and only
// then, may one person make the second check.
func Alone(c *state.Car, person string) bool { return len(c.Others(person)) == 0 }

// confirmWithin is how long after a closing its second person may confirm it: a
// shift. Source: shop policy.
const confirmWithin = 12 * time.Hour

// secondTrouble says why a hold point of two persons is not closed by two;
// empty when another person confirmed the closing with their own hand, in time
// and before the act that it guards, or when one person may stand in for the
// second and did so in time.
func secondTrouble(c *state.Car, p procedures.Point, closing state.PointEntry) string {
	if !p.Two {
		return ""
	}
	confirmed, ok := c.Confirmed(closing.Entry)
	if !ok {
		return unconfirmed(c, p, closing)
	}
	if after := confirmed.Entry.At.Sub(closing.Entry.At); after > confirmWithin || confirmed.Entry.Entered.Sub(closing.Entry.Entered) > confirmWithin {
		return fmt.Sprintf("%s confirmed it %.1f h after it, more than %.0f h", confirmed.Entry.By, after.Hours(), confirmWithin.Hours())
	}
	act, acted := firstOfLastRun(c, p.Guards, c.Between)
	if p.Guards != "" && acted && schema.Order(closing.Entry, act) < 0 && schema.Order(confirmed.Entry, act) > 0 {
		return fmt.Sprintf("%s confirmed it after the %s that it guards", confirmed.Entry.By, p.Guards)
	}
	return ""
}

// Awaits is the person whose confirmation a closing of two persons waits for;
// empty when it waits for nobody.
func awaits(c *state.Car, p procedures.Point, closing state.PointEntry) string {
	second := closing.Data.Second
	if _, confirmed := c.Confirmed(closing.Entry); !p.Two || confirmed || second == closing.Entry.By {
		return ""
	}
	return second
}

// unconfirmed says why a closing that nobody confirmed is not one of two
// persons.
func unconfirmed(c *state.Car, p procedures.Point, closing state.PointEntry) string {
	if second := awaits(c, p, closing); second != "" {
		return second + " has not confirmed it"
	}
	return aloneTrouble(c, p, closing)
}

// aloneTrouble says why one person may not stand in for two; empty when they
// may, and waited as long as they must.
func aloneTrouble(c *state.Car, p procedures.Point, closing state.PointEntry) string {
	by, second := closing.Entry.By, closing.Data.Second
	switch others := c.Others(by); {
	case second == "" || !p.Alone:
		return "two persons are asked for"
	case len(others) > 0:
		return fmt.Sprintf("two persons are asked for, and %s works here too", others[0])
	case closing.Data.Why != SamePersonDelayed:
		return "two persons are asked for, and it does not say: " + SamePersonDelayed
	}
	if apart := testsApart(c, p, closing.Entry); apart < secondCheckAfter {
		return fmt.Sprintf("the two leak tests of %s are %.1f h apart, less than %.0f h", by, apart.Hours(), secondCheckAfter.Hours())
	}
	return ""
}

// testsApart is the time between the first and the last leak test that one
// person made since anything was opened or changed, up to the closing.
func testsApart(c *state.Car, p procedures.Point, closing schema.Entry) time.Duration {
	tests := slices.DeleteFunc(c.All("leak"), func(r state.Reading) bool {
		return r.Entry.By != closing.By || r.Data.Late != "" || r.Entry.Late() || schema.Order(r.Entry, closing) > 0 || !countsFor(c, p, r)
	})
	if len(tests) < 2 {
		return 0
	}
	return tests[len(tests)-1].Entry.At.Sub(tests[0].Entry.At)
}

// secondMends says how a missing second person is mended.
func secondMends(c *state.Car, p procedures.Point, by string) string {
	if p.Alone && Alone(c, by) {
		return fmt.Sprintf("nobody else works here: test again %.0f h after the first leak test, then close it with --delayed", secondCheckAfter.Hours())
	}
	return "name the other one: --second"
}
