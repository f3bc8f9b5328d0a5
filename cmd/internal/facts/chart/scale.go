package chart

import (
	"math"
	"strconv"
	"strings"
	"time"
)

// scale is an axis with ends and ticks.
type scale struct {
	low, high float64
	ticks     []Tick
}

// margin is the share of a vertical axis that stays free beyond its data.
const margin = 0.05

// scaleOf lays an axis over a range, with so much of it free at either end and
// at most so many ticks of round numbers or dates.
func scaleOf(a Axis, data spread, free float64, most int) scale {
	s := scale{low: data.low, high: data.high}
	if len(a.Ticks) > 0 {
		free = margin
	}
	switch {
	case a.Min < a.Max:
		s.low, s.high = a.Min, a.Max
	case data.empty():
		s.low, s.high = 0, 1
	case s.low == s.high && a.Dates:
		s.low, s.high = s.low-day, s.high+day
	case s.low == s.high:
		off := max(math.Abs(s.low)/10, 1)
		s.low, s.high = s.low-off, s.high+off
	default:
		off := (s.high - s.low) * free
		s.low, s.high = s.low-off, s.high+off
		if data.low >= 0 && len(a.Ticks) == 0 {
			s.low = max(s.low, 0)
		}
	}
	switch {
	case data.empty():
	case len(a.Ticks) > 0:
		s.ticks = a.Ticks
	case a.Dates:
		s.ticks = dates(s.low, s.high, most)
	default:
		s.ticks = numbers(s.low, s.high, most)
	}
	return s
}

// numbers are the round numbers within a range.
func numbers(low, high float64, most int) []Tick {
	step := roundStep(low, high, most)
	decimals := max(0, -int(math.Floor(math.Log10(step)+1e-9)))
	var ticks []Tick
	for i := math.Ceil(low/step - 1e-9); i <= math.Floor(high/step+1e-9); i++ {
		text := strconv.FormatFloat(i*step, 'f', decimals, 64)
		if strings.Trim(text, "-0.") == "" {
			text = strings.TrimPrefix(text, "-")
		}
		ticks = append(ticks, Tick{i * step, text})
	}
	return ticks
}

// roundStep is the least of 1, 2 and 5 times a power of ten that gives no more
// than so many ticks.
func roundStep(low, high float64, most int) float64 {
	step := math.Pow(10, math.Floor(math.Log10((high-low)/float64(most))))
	for _, times := range [...]float64{1, 2, 5} {
		if math.Floor(high/(step*times)+1e-9)-math.Ceil(low/(step*times)-1e-9) < float64(most) {
			return step * times
		}
	}
	return step * 10
}

// at is where a value lies from 0 to 1.
func (s scale) at(v float64) float64 { return (v - s.low) / (s.high - s.low) }

const day = 24 * 3600

// calendar steps in days or months, the finest first.
var calendar = []struct {
	days, months int
	layout       string
}{
	{1, 0, time.DateOnly}, {2, 0, time.DateOnly}, {7, 0, time.DateOnly}, {14, 0, time.DateOnly},
	{0, 1, "2006-01"}, {0, 3, "2006-01"}, {0, 6, "2006-01"},
	{0, 12, "2006"}, {0, 24, "2006"}, {0, 60, "2006"}, {0, 120, "2006"}, {0, 600, "2006"},
}

func dates(low, high float64, most int) []Tick {
	for _, step := range calendar {
		span := float64(step.days)*day + float64(step.months)*30*day
		if (high-low)/span > float64(most) {
			continue
		}
		var ticks []Tick
		for t := floorDate(low, step.days, step.months); float64(t.Unix()) <= high; t = t.AddDate(0, step.months, step.days) {
			if float64(t.Unix()) >= low {
				ticks = append(ticks, Tick{float64(t.Unix()), t.Format(step.layout)})
			}
		}
		return ticks
	}
	return nil
}

// floorDate is the date at or before a moment where a step of the calendar begins.
func floorDate(seconds float64, days, months int) time.Time {
	t := time.Unix(int64(math.Floor(seconds)), 0).UTC()
	if days > 0 {
		return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC)
	}
	month := (t.Year()*12 + int(t.Month()) - 1) / months * months
	return time.Date(month/12, time.Month(month%12+1), 1, 0, 0, 0, 0, time.UTC)
}

// heading is an axis in words.
func (a Axis) heading() string {
	if a.Unit == "" {
		return a.Label
	}
	return a.Label + ", " + a.Unit
}
