package datalog

import "slices"

// step follows the clock of the log.
func (a *analysis) step(at float64) {
	if a.rows++; a.rows == 1 {
		a.first, a.last = at, at
		return
	}
	step := at - a.last
	a.last = at
	a.learn(step)
	switch {
	case step < 0:
		a.backward++
		a.restart()
	case step == 0:
		a.stalled++
	case step > max(gapPeriods*a.period, medianWindow):
		a.gap(at, step)
		a.restart()
	case step > gapPeriods*a.period:
		a.gap(at, step)
		a.seconds += step
	default:
		a.seconds += step
	}
}

func (a *analysis) gap(at, step float64) {
	a.gaps++
	if step > a.longest {
		a.longest, a.longestAt = step, at
	}
}

// learn takes the period of the rows to be the median of the first steps.
func (a *analysis) learn(step float64) {
	if len(a.steps) == periodSamples || step <= 0 {
		return
	}
	a.steps = append(a.steps, step)
	if len(a.steps) == periodSamples {
		sorted := slices.Sorted(slices.Values(a.steps))
		a.period = sorted[periodSamples/2]
	}
}
