package sheet

import (
	"fmt"
	"slices"
	"strings"

	"feedproof/checklist/car"
	"feedproof/checklist/fuel"
	"feedproof/checklist/planning"
	"feedproof/checklist/rules"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// PlanPage is the calculation of a car, each number beside its limit.
type PlanPage struct {
	Envelope string    `json:"envelope"`
	Rows     []PlanRow `json:"rows"`
	Notes    []string  `json:"notes"`
}

// PlanRow is one number of the calculation. It is Judged when a rule has a
// limit for it, with what the rule says.
type PlanRow struct {
	Name     string          `json:"name"`
	Value    string          `json:"value"`
	Limit    string          `json:"limit,omitempty"`
	Judged   bool            `json:"judged"`
	Severity schema.Severity `json:"severity"`
	Note     string          `json:"note,omitempty"`
}

// Plan lays the calculation out, from what the engine needs to the margin, with
// what the rules say of it.
func Plan(c *car.Car, r fuel.Result) PlanPage {
	p := PlanPage{Envelope: Envelope(c.Plan.Envelope), Notes: slices.Concat([]string{}, r.Notes)}
	for _, o := range planning.Others(c) {
		p.Notes = append(p.Notes, fmt.Sprintf("%s: computed with %s, which is fitted; the plan says %s", o.Position, o.Fitted, o.Planned))
	}
	p.demand(r)
	p.pressure(r)
	p.delivery(r)
	p.injection(r)
	p.electrical(r)
	p.fuse(c, r)
	p.tank(c, r)
	p.judge(c)
	return p
}

// Unjudged is the page without what the rules say, for a question about the
// model that the rules do not see. Limits stay beside their numbers.
func (p PlanPage) Unjudged() PlanPage {
	p.Rows = slices.Clone(p.Rows)
	for i := range p.Rows {
		p.Rows[i].Judged, p.Rows[i].Severity = false, schema.OK
	}
	return p
}

func (p *PlanPage) row(name, value, note string) {
	p.Rows = append(p.Rows, PlanRow{Name: name, Value: value, Note: note})
}

func (p *PlanPage) demand(r fuel.Result) {
	p.row("fuel demand", both(r.Demand.Volume, "L/h", 1, "gph", 1), both(r.Demand.Mass, "kg/h", 1, "lb/h", 0)+" at "+quantity.Format(r.Blend.Density, "kg/L", 3))
}

func (p *PlanPage) pressure(r fuel.Result) {
	p.row("rail pressure at full boost", both(r.Pressures.Rail, "bar", 2, "psi", 1), "base and boost of "+both(r.Boost, "bar", 2, "psi", 1))
	p.row("pump outlet pressure", both(r.Pressures.Outlet, "bar", 2, "psi", 1), "feed line, filter and valve take "+both(r.Pressures.Feed.Total, "bar", 2, "psi", 1))
}

func (p *PlanPage) delivery(r fuel.Result) {
	p.row("volts at the pump", quantity.Format(r.Delivery.Voltage, "V", 2), map[bool]string{true: "as planned or read at the pump", false: "computed from the wiring"}[r.Electrical.Measured])
	p.row("delivery, aged", both(r.Delivery.Flow, "L/h", 1, "gph", 1), fmt.Sprintf("new %s, %s left", quantity.Format(r.Delivery.New, "L/h", 1), quantity.Format(r.Delivery.Left, "%", 0)))
	p.row("flow margin", fmt.Sprintf("%.2f", float64(r.Delivery.Margin)), "delivery over demand")
}

func (p *PlanPage) injection(r fuel.Result) {
	if r.Injection == nil {
		return
	}
	i := r.Injection
	p.row("pressure across an injector", both(i.Difference, "bar", 2, "psi", 1), "")
	p.row("injector flow on this fuel", quantity.Format(i.Static, "g/min", 0), "each, at that pressure")
	p.row("effective duty", quantity.Format(i.Effective, "%", 1), "without dead time")
	p.row("commanded duty", quantity.Format(i.Commanded, "%", 1), "with dead time "+quantity.Format(i.DeadTime, "ms", 2)+" of "+quantity.Format(i.Cycle, "ms", 2))
}

func (p *PlanPage) electrical(r fuel.Result) {
	e := r.Electrical
	if !e.Known {
		return
	}
	note := "the hungriest pump"
	if e.Lost > 0 {
		note = fmt.Sprintf("%s lost in the wiring, %s of it in the ground", quantity.Format(e.Lost, "V", 2), quantity.Format(e.GroundLost, "V", 2))
	}
	p.row("pump current", quantity.Format(e.Current, "A", 1), note)
}

func (p *PlanPage) fuse(c *car.Car, r fuel.Result) {
	if c.Plan.Wiring == nil || !r.Electrical.Known {
		return
	}
	planned := c.Plan.Wiring.Fuse.String()
	if planned == "" {
		planned = "not given"
	}
	p.row("fuse", planned, "blades that fit: "+amps(r.Electrical.Fuses))
}

func amps(fuses []quantity.Current) string {
	if len(fuses) == 0 {
		return "none"
	}
	var out []string
	for _, f := range fuses {
		out = append(out, quantity.Format(f, "A", 0))
	}
	return strings.Join(out, ", ")
}

// judgedBy is which rule has the limit of a row, and what it judges.
var judgedBy = map[string][]string{"flow margin": {"L01", "L01e"}, "effective duty": {"L02"}, "fuse": {"L12"},
	rowReservoir: {"L44"}, rowSurge: {"L44"}, rowPickUp: {"L41"}, rowWear: {"L43"}}

// judge asks the rules that a plan can answer. A row takes the finding whose
// subject names it, else the rule's only one.
func (p *PlanPage) judge(c *car.Car) {
	for i := range p.Rows {
		row := &p.Rows[i]
		for _, id := range judgedBy[row.Name] {
			if rule, ok := rules.Find(id); ok {
				row.take(rule.Judge(c))
			}
		}
	}
}

func (r *PlanRow) take(found []schema.Finding) {
	for _, f := range found {
		if f.Measured == rules.NotYet || !strings.Contains(f.About, r.Name) && len(found) > 1 {
			continue
		}
		r.Limit, r.Severity, r.Judged = f.Limit, f.Severity, true
	}
}
