package cli

import (
	"fmt"
	"strings"
	"time"

	"feedproof/checklist"
	"feedproof/schema"
)

// standing is how a car stands, on the board and over every screen of it.
type standing struct {
	Vehicle string `json:"vehicle"`
	Plate   string `json:"plate,omitempty"`
	Visit   string `json:"visit,omitempty"`
	Jobs    string `json:"jobs,omitempty"`
	Bay     string `json:"bay,omitempty"`
	Left    bool   `json:"left,omitempty"` // the visit is over
	Fuel    string `json:"fuel"`           // OPEN or CLOSED
	Held    bool   `json:"held"`
	Point   string `json:"next_point,omitempty"`
	Red     int    `json:"red"`   // HOLD, BLOCK and STOP not answered
	Amber   int    `json:"amber"` // FLAG and UNPROVEN not answered
	Draft   int    `json:"draft"` // entries not committed on this machine
	Next    string `json:"next"`
}

func stands(v vehicle, a checklist.Assessment) standing {
	st := standing{Vehicle: v.Data.Name, Plate: v.Data.Plate, Fuel: "CLOSED", Held: a.Car.Held != nil, Draft: len(v.Draft), Next: forCar(a.Next, v.Data.Name)}
	if a.Car.FuelOpen() {
		st.Fuel = "OPEN"
	}
	if visit := a.Car.Visit; visit != nil {
		st.Visit, st.Jobs, st.Left = visit.Data.Visit, jobs(visit.Data.Kinds), visit.Closed
		if !st.Left {
			st.Bay = visit.Data.Bay
		}
	}
	for _, f := range a.Findings {
		switch {
		case f.Answered != "" || f.Severity < schema.Flag:
		case f.Severity >= schema.Hold:
			st.Red++
		default:
			st.Amber++
		}
	}
	st.Point = nextPoint(a)
	return st
}

func jobs(kinds []schema.JobKind) string {
	out := make([]string, len(kinds))
	for i, k := range kinds {
		out[i] = string(k)
	}
	return strings.Join(out, ",")
}

// nextPoint is the next lock on the work, or what a visit of no job is for.
func nextPoint(a checklist.Assessment) string {
	for _, p := range a.Points {
		if (!p.Release || a.Car.Looking()) && p.State != checklist.PointClosed {
			return p.ID
		}
	}
	return ""
}

// top is the line over every screen of a car.
func (s *session) top(v vehicle, a checklist.Assessment) {
	st := stands(v, a)
	held := ""
	if st.Held {
		held = " · HELD"
	}
	s.Head("%s%s · FUEL %s%s · next %s · %d red, %d amber", describe([]string{v.Data.Name, v.Data.Plate, tail(v.Data.VIN)}), inBay(st.Bay), st.Fuel, held, orDash(st.Point), st.Red, st.Amber)
}

func orDash(text string) string {
	if text == "" {
		return "-"
	}
	return text
}

// board shows the cars that are in the shop now, and what else a lead sees to.
func (a *app) board() error {
	s, err := a.open()
	if err != nil {
		return err
	}
	cars, err := s.standings()
	if err != nil {
		return err
	}
	if s.flags.json {
		return s.JSON(cars.lines)
	}
	if s.Terminal() {
		s.boardHead(len(cars.lines))
	}
	var rows [][]string
	for _, st := range cars.lines {
		rows = append(rows, st.row())
	}
	if len(rows) > 0 {
		s.Records([]string{"CAR", "FUEL", "JOBS", "BAY", "NEXT", "RED", "AMBER", "NEXT THING"}, rows)
	}
	m, err := s.morning(cars)
	if err != nil {
		return err
	}
	s.showMorning(m)
	return nil
}

func (st standing) row() []string {
	name := describe([]string{st.Vehicle, st.Plate})
	fuel := st.Fuel
	if st.Held {
		fuel += " HELD"
	}
	return []string{name, fuel, st.Jobs, orDash(st.Bay), orDash(st.Point), fmt.Sprint(st.Red), fmt.Sprint(st.Amber), st.Next}
}

func (s *session) boardHead(here int) {
	d := s.shop.Device()
	s.Head("%s%s · %s · %s", d.Name, inBay(d.Bay), orDash(d.Who), s.Now().Format("Mon "+time.DateOnly+" 15:04"))
	s.Say("%s in the shop", plural(here, "car"))
}
