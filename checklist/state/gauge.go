package state

import (
	"time"

	"feedproof/schema"
)

// Lapsed reports that a gauge was past its calibration due date at a moment, or
// had none that can be read, as the copy of its state says. It is in date
// through the whole of the due date (UTC). Source: common practice.
func Lapsed(g schema.GaugeSnapshot, at time.Time) bool {
	due, err := time.Parse(time.DateOnly, g.Due)
	return err != nil || at.After(due.AddDate(0, 0, 1))
}

// Bumped reports that a gas meter's last good bump test was on the day of a
// moment (UTC) and not after it. Source: common practice, a bump test before
// each day's use.
func Bumped(g schema.GaugeSnapshot, at time.Time) bool {
	tested, err := time.Parse(time.RFC3339, g.Bumped)
	return err == nil && !tested.After(at) && tested.UTC().Format(time.DateOnly) == at.UTC().Format(time.DateOnly)
}
