package datalog

import (
	"strconv"
	"strings"
	"time"
)

// clockLayouts are the dates and times of day that a time column may hold,
// besides plain numbers. A date written with slashes is refused, because
// 03/04 is two dates.
var clockLayouts = []struct {
	layout string
	dated  bool
}{
	{"15:04:05", false},
	{"2006-01-02 15:04:05", true},
	{"2006-01-02T15:04:05", true},
	{time.RFC3339, true},
	{"2006-01-02 15:04:05Z07:00", true},
	{"2006.01.02 15:04:05", true},
	{"02.01.2006 15:04:05", true},
}

// clock reads the cells of a time column that are not plain numbers. It keeps
// the layout that fitted, so that a file has one.
type clock struct {
	layout int // 1 + index of the layout, 0 before the first cell
	dated  bool
	start  time.Time
	last   float64 // s of the last time of day
	days   float64 // midnights passed, s
}

const daySeconds = 24 * 3600

// seconds is the cell's time in seconds after midnight of the first day, or
// after the zero of the logger's clock when it shows minutes:seconds only.
func (c *clock) seconds(cell string) (float64, bool) {
	cell = strings.Replace(strings.TrimSpace(cell), ",", ".", 1)
	if s, ok := minutes(cell); ok {
		return s, true
	}
	t, ok := c.parse(cell)
	if !ok {
		return nan, false
	}
	if c.dated {
		if c.start.IsZero() {
			c.start = t
		}
		midnight := time.Date(c.start.Year(), c.start.Month(), c.start.Day(), 0, 0, 0, 0, c.start.Location())
		return t.Sub(midnight).Seconds(), true
	}
	return c.afterMidnight(t), true
}

func (c *clock) parse(cell string) (time.Time, bool) {
	for i, l := range clockLayouts {
		if c.layout != 0 && c.layout != i+1 {
			continue
		}
		if t, err := time.Parse(l.layout, cell); err == nil {
			c.layout, c.dated = i+1, l.dated
			return t, true
		}
	}
	return time.Time{}, false
}

// afterMidnight lets a time of day run on past midnight: a fall by more than
// half a day is the next day.
func (c *clock) afterMidnight(t time.Time) float64 {
	s := float64(t.Hour()*3600+t.Minute()*60+t.Second()) + float64(t.Nanosecond())/1e9
	if s < c.last-daySeconds/2 {
		c.days += daySeconds
	}
	c.last = s
	return s + c.days
}

// minutes reads mm:ss.sss, which runs past 60 minutes.
func minutes(cell string) (float64, bool) {
	m, s, found := strings.Cut(cell, ":")
	if !found || strings.Contains(s, ":") || len(m) == 0 || len(m) > 5 {
		return 0, false
	}
	whole, err := strconv.ParseUint(m, 10, 32)
	seconds, ok := cellNumber([]byte(s))
	if err != nil || !ok || !(seconds >= 0 && seconds < 60) {
		return 0, false
	}
	return float64(whole)*60 + seconds, true
}
