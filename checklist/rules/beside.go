package rules

import (
	"slices"

	"feedproof/schema"
)

// beside joins what a log says of a limit with what was read by hand. Where the
// log proves it, a hand reading that proves nothing is not needed, and one that
// finds fault is kept: both facts stand. Where the log proves nothing, the hand
// reading alone counts, if there is one. replaces says that a log can stand in
// for a reading that was not made.
func beside(log, byHand []schema.Finding, replaces bool) []schema.Finding {
	if len(log) == 0 || slices.ContainsFunc(log, notProven) {
		if len(byHand) > 0 {
			return byHand
		}
		return log
	}
	kept := slices.DeleteFunc(slices.Clone(byHand), func(f schema.Finding) bool {
		return notProven(f) && (replaces || !Waits(f))
	})
	return append(kept, log...)
}

func notProven(f schema.Finding) bool { return f.Severity == schema.Unproven }
