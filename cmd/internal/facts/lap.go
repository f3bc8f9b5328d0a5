package facts

import (
	"fmt"
	"math"

	"feedproof/checklist"
	"feedproof/checklist/fuel"
	"feedproof/cmd/internal/facts/chart"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// LapPage is a planned car driven round a lap in the model.
type LapPage struct {
	Lap      string           `json:"lap"`
	Laps     int              `json:"laps"`
	Rows     []PlanRow        `json:"rows"`
	Findings []schema.Finding `json:"findings"`
	Assumed  []string         `json:"assumed"`
}

// NewLapPage lays a run out.
func NewLapPage(r checklist.LapRun) LapPage {
	p := LapPage{Lap: r.Name, Laps: r.Laps, Findings: r.Findings, Assumed: r.Assumed}
	s, c := r.Session, r.Voyage.Course
	holder := string(r.Voyage.Holder)
	p.row("laps", fmt.Sprintf("%d of %s", r.Laps, quantity.Format(r.Time, "s", 1)), "from "+quantity.Format(c.Fuel, "L", 1)+" in the tank to "+quantity.Format(s.Main.Volume, "L", 1)+", "+quantity.Format(s.Burnt, "L", 1)+" burnt")
	p.row("least in the "+holder, quantity.Format(s.Least, "L", 2), fmt.Sprintf("of %s, at %s; in the first lap %s", quantity.Format(c.Surge, "L", 2), quantity.Format(s.LeastAt, "s", 0), quantity.Format(s.LeastByLap[0], "L", 2)))
	p.row("pick-up in air", quantity.Format(s.Dry, "s", 1), "the hardest corner needs "+quantity.Format(s.Covering, "L", 1)+", at 1.25 times the accelerations "+quantity.Format(r.Harder.Covering, "L", 1))
	p.judged(0, "pump short of fuel", lasting(s.Starved, s.StarvedAt), "at 1.25 times the accelerations "+lasting(r.Harder.Starved, r.Harder.StarvedAt))
	p.row("full load, pick-up in air", quantity.Format(s.Reserve, "s", 1), quantity.Format(s.Leaving, "L/h", 0)+" leaving; the return ends in the "+string(c.Return))
	if r.Voyage.Holder == fuel.HoldsSurge {
		p.row("full load, lift pump running", forEver(s), quantity.Format(c.Lift, "L/h", 0)+" from the lift pump")
	}
	p.judged(1, "hottest fuel", warm(s.Hottest), fmt.Sprintf("at the end %s in the %s, %s in the tank", warm(s.Surge.Temperature), holder, warm(s.Main.Temperature)))
	p.judged(2, "least vapour margin", p.Findings[2].Measured, marginAtEnd(s)+"over what stands on the fuel at the highest altitude of the envelope")
	return p
}

func marginAtEnd(s fuel.Session) string {
	if !s.MarginOK || len(s.Track) == 0 {
		return ""
	}
	return quantity.Format(s.Track[len(s.Track)-1].Margin, "kPa", 1) + " at the end, "
}

func (p *LapPage) row(name, value, note string) {
	p.Rows = append(p.Rows, PlanRow{Name: name, Value: value, Note: note})
}

// judged is a row with the limit of a finding.
func (p *LapPage) judged(finding int, name, value, note string) {
	f := p.Findings[finding]
	p.Rows = append(p.Rows, PlanRow{Name: name, Value: value, Note: note, Limit: f.Limit, Judged: true, Severity: f.Severity})
}

func lasting(t, from quantity.Duration) string {
	if t <= 0 {
		return "never"
	}
	return quantity.Format(t, "s", 1) + " from " + quantity.Format(from, "s", 1)
}

func forEver(s fuel.Session) string {
	if s.Lasts {
		return "for as long as the tank has fuel"
	}
	return quantity.Format(s.FullLoad, "s", 1)
}

func warm(t quantity.Temperature) string { return both(t, "degC", 1, "degF", 0) }

// chartMoments is how many points a line of the chart has at most.
const chartMoments = 300

// LapChart is volume and temperature of both tanks over the laps.
func LapChart(r checklist.LapRun) chart.Chart {
	holder := string(r.Voyage.Holder)
	moments := thinned(r.Session.Track, chartMoments)
	of := func(v func(fuel.Moment) float64) (line []chart.Point) {
		for _, m := range moments {
			line = append(line, chart.Point{X: float64(m.At), Y: v(m)})
		}
		return line
	}
	litres := func(s fuel.Standing) float64 { return quantity.In(s.Volume, "L") }
	celsius := func(s fuel.Standing) float64 { return quantity.In(s.Temperature, "degC") }
	c := chart.Chart{
		Title: fmt.Sprintf("%s and tank over %d laps of %s", holder, r.Laps, r.Name), About: lapInWords(r), X: chart.Axis{Label: "time", Unit: "s"},
		Panels: []chart.Panel{
			{Y: chart.Axis{Label: holder, Unit: "L", Min: 0, Max: quantity.In(r.Voyage.Course.Surge, "L") * 1.1}, Height: pressurePanel, Lines: []chart.Line{{Name: "in the " + holder, Mark: 's', Points: of(func(m fuel.Moment) float64 { return litres(m.Surge) })}}},
			{Y: chart.Axis{Label: "tank", Unit: "L"}, Height: smallPanel, Lines: []chart.Line{{Name: "in the tank", Mark: 't', Points: of(func(m fuel.Moment) float64 { return litres(m.Main) })}},
				Limits: []chart.Limit{{Name: "needed in the hardest corner", At: quantity.In(r.Session.Covering, "L")}}},
			{Y: chart.Axis{Label: "fuel", Unit: "degC"}, Height: smallPanel, Lines: []chart.Line{
				{Name: holder, Mark: 's', Points: of(func(m fuel.Moment) float64 { return celsius(m.Surge) })}, {Name: "tank", Mark: 't', Points: of(func(m fuel.Moment) float64 { return celsius(m.Main) })}}},
		},
	}
	if at := float64(r.Session.StarvedAt); at >= 0 {
		c.Windows = []chart.Window{{Name: "the pump is short from " + quantity.Format(r.Session.StarvedAt, "s", 0), From: at, To: at}}
	}
	return c
}

func lapInWords(r checklist.LapRun) string {
	return fmt.Sprintf("Volumes and temperatures of the %s and of the tank. Least in the %[1]s %s at %s; %s; hottest %s.", r.Voyage.Holder,
		quantity.Format(r.Session.Least, "L", 2), quantity.Format(r.Session.LeastAt, "s", 0), r.Findings[0].Measured, warm(r.Session.Hottest))
}

// thinned keeps of each few moments the one with least in the surge tank, and
// the last.
func thinned(track []fuel.Moment, most int) []fuel.Moment {
	every := int(math.Ceil(float64(len(track)) / float64(most)))
	if every <= 1 {
		return track
	}
	var out []fuel.Moment
	for i := 0; i < len(track); i += every {
		least := track[i]
		for _, m := range track[i:min(i+every, len(track))] {
			if m.Surge.Volume < least.Surge.Volume {
				least = m
			}
		}
		out = append(out, least)
	}
	return append(out, track[len(track)-1])
}
