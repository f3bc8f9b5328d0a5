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

// secondTrouble says why a hold point of two persons is not closed by two;
// empty when it is, or when one person may stand in for the second and did so
// in time.
func secondTrouble(c *state.Car, p procedures.Point, closing state.PointEntry) string {
	by, second := closing.Entry.By, closing.Data.Second
	if !p.Two || second != "" && second != by {
		return ""
	}
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
