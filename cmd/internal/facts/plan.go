package facts

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"feedproof/checklist/fuel"
	"feedproof/checklist/planning"
	"feedproof/checklist/rules"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// PlanPage is the calculation of a car, each number beside its limit.
type PlanPage struct {
	Envelope string    `json:"envelope"`
	Rows     []PlanRow `json:"rows"`
	Notes    []string  `json:"notes"`
	Both     bool      `json:"both,omitempty"` // rows say what is fitted where it differs
}

// PlanRow is one number of the calculation. It is Judged when a rule has a
// limit for it, with what the rule says. Fitted is the number of the parts in
// the car, where they are others than the plan names and the number differs.
type PlanRow struct {
	Name           string          `json:"name"`
	Value          string          `json:"value"`
	Fitted         string          `json:"fitted,omitempty"`
	Limit          string          `json:"limit,omitempty"`
	Judged         bool            `json:"judged"`
	Severity       schema.Severity `json:"severity"`
	FittedSeverity schema.Severity `json:"fitted_severity,omitempty"`
	Note           string          `json:"note,omitempty"`
}

// Plan lays the calculation of the car as it stands out, from what the engine
// needs to the margin, with what the rules say of it.
func Plan(c *state.Car, r fuel.Result) PlanPage {
	return lay(c, r, len(planning.Others(c)) > 0)
}

// PlanBoth lays the plan out, with what is fitted beside it where that differs.
func PlanBoth(c *state.Car, planned, fitted fuel.Result) PlanPage {
	p := lay(c, planned, false)
	others := planning.Others(c)
	if len(others) == 0 {
		return p
	}
	for _, o := range others {
		p.Notes = append(p.Notes, fmt.Sprintf("%s: the plan says %s, %s is fitted", o.Position, o.Planned, cmp.Or(o.Fitted, "a part without papers")))
	}
	beside := map[string]PlanRow{}
	for _, r := range lay(c, fitted, true).Rows {
		beside[r.Name] = r
	}
	p.Both = true
	for i := range p.Rows {
		if f, ok := beside[p.Rows[i].Name]; ok && (f.Value != p.Rows[i].Value || f.Severity != p.Rows[i].Severity) {
			p.Rows[i].Fitted, p.Rows[i].FittedSeverity = f.Value, f.Severity
		}
	}
	return p
}

// lay lays one calculation out, with the findings of the plan or of what is
// fitted.
func lay(c *state.Car, r fuel.Result, fitted bool) PlanPage {
	p := PlanPage{Envelope: Envelope(c.Plan.Envelope), Notes: slices.Concat([]string{}, r.Notes)}
	p.demand(c, r)
	p.pressure(r)
	p.delivery(r)
	p.injection(r)
	p.electrical(r)
	p.fuse(c, r)
	p.round(r)
	p.tanks(r)
	p.tank(c, r)
	for _, text := range r.Carried {
		p.row("curve", "carried on", text)
	}
	p.judge(c, fitted)
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

func (p *PlanPage) demand(c *state.Car, r fuel.Result) {
	p.row("specific consumption", quantity.Format(r.Demand.Consumption, "kg/kWh", 3), fmt.Sprintf("%s, measured on %s ethanol, carried to %s by energy: %s of it at the crank",
		c.Plan.Engine.Consumption, cmp.Or(c.Plan.Engine.Measured.String(), c.Plan.Envelope.EthanolMax.String()), quantity.Format(r.Blend.Alcohol, "%", 0), percentOf(r.Demand.Efficiency)))
	p.row("fuel demand", both(r.Demand.Volume, "L/h", 1, "gph", 1), both(r.Demand.Mass, "kg/h", 1, "lb/h", 0)+" at "+quantity.Format(r.Blend.Density, "kg/L", 3))
}

func percentOf(f quantity.Fraction) string { return quantity.Format(f, "%", 1) }

func (p *PlanPage) pressure(r fuel.Result) {
	note := "base and boost of " + both(r.Boost, "bar", 2, "psi", 1)
	if lost := r.Pressures.Regulated - r.Pressures.Rail; lost > 0 && r.Idle == nil && r.Carburetted == nil {
		note = fmt.Sprintf("%s in the tank less the %s that line and rails take", both(r.Pressures.Regulated, "bar", 2, "psi", 1), quantity.Format(lost, "bar", 2))
	}
	p.row("rail pressure at full boost", both(r.Pressures.Rail, "bar", 2, "psi", 1), note)
	p.row("pump outlet pressure", both(r.Pressures.Outlet, "bar", 2, "psi", 1), "feed line, filter and valve take "+both(r.Pressures.Feed.Total, "bar", 2, "psi", 1))
	h := r.Highest
	p.row("highest at the rail", both(h.Rail, "bar", 2, "psi", 1), h.RailAt+": what the leak test must reach")
	note = h.OutletAt + ": what hoses hold and the relief stays above"
	if h.DeadheadKnown {
		note += "; with the line shut " + both(h.Deadhead, "bar", 2, "psi", 1)
	}
	p.row("highest at the pump", both(h.Outlet, "bar", 2, "psi", 1), note)
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
	p.row("pressure across an injector", both(i.Difference, "bar", 2, "psi", 1), map[bool]string{true: "the least, with cold fuel", false: "the least"}[i.Cold])
	p.row("injector flow on this fuel", quantity.Format(i.Static, "g/min", 0), "each, at that pressure")
	p.row("effective duty", quantity.Format(i.Effective, "%", 1), "without dead time")
	p.row("commanded duty", quantity.Format(i.Commanded, "%", 1), "with dead time "+quantity.Format(i.DeadTime, "ms", 2)+" of "+quantity.Format(i.Cycle, "ms", 2))
}

// round is the network beside the plan: each injector, the return, the suction.
func (p *PlanPage) round(r fuel.Result) {
	if h := r.Hydraulics; h != nil {
		p.row("across all injectors", fmt.Sprintf("%.3f to %s", quantity.In(h.Full.Lowest, "bar"), quantity.Format(h.Full.Highest, "bar", 3)),
			"aged pumps, open as the regulated pressure asks; rail to rail "+quantity.Format(h.Full.RailToRail, "bar", 3))
	}
	if i := r.Idle; i != nil {
		p.row("return at idle", both(i.BackPressure, "bar", 2, "psi", 1), fmt.Sprintf("%s go back of a rail at %s, new pumps", quantity.Format(i.Flow, "L/h", 0), quantity.Format(i.Rail, "bar", 2)))
	}
	if s := r.Suction; s != nil {
		p.row("suction takes", quantity.Format(s.Vacuum, "kPa", 1), fmt.Sprintf("%s at %s, where the pump moves most", quantity.Format(s.Flow, "L/h", 0), s.At))
	}
	if v := r.Vapour; v != nil {
		if v.Known && v.Pressure > 0 {
			p.row("vapour margin", quantity.Format(v.Margin, "kPa", 1), "boils from "+quantity.Format(v.Limit, "degC", 1)+" on")
		} else {
			p.row("vapour margin", "not known", v.Why)
		}
	}
}

// tanks are lift pump and tank; what a rule judges of them follows.
func (p *PlanPage) tanks(r fuel.Result) {
	if s := r.Surge; s != nil {
		p.row("lift pump", fmt.Sprintf("%.2f", float64(s.Margin)), fmt.Sprintf("brings %s, %s leave at %s", quantity.Format(s.Lift, "L/h", 1), quantity.Format(s.Leaving, "L/h", 1), s.At))
	}
	if t := r.Tank; t != nil {
		if t.Range > 0 {
			p.row("a tank lasts", quantity.Format(t.Range, "min", 0), "at full power, "+quantity.Format(t.Usable, "L", 1)+" of it usable")
		}
	}
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

func (p *PlanPage) fuse(c *state.Car, r fuel.Result) {
	if c.Plan.Wiring == nil || !r.Electrical.Known {
		return
	}
	planned := c.Plan.Wiring.Fuse.String()
	if planned == "" {
		planned = "not given"
	}
	p.row("fuse", planned, "blades that fit: "+amps(r.Electrical.Fuses)+"; "+fuel.FuseClass)
}

func amps(fuses []quantity.Current) string {
	if len(fuses) == 0 {
		return "none"
	}
	var out []string
	for _, f := range fuses {
		out = append(out, strings.TrimSuffix(strings.TrimSuffix(quantity.Format(f, "A", 1), " A"), ".0")+" A")
	}
	return strings.Join(out, ", ")
}

// judgedBy is which rule has the limit of a row, and what it judges.
var judgedBy = map[string][]string{"flow margin": {"L01", "L01e"}, "effective duty": {"L02"}, "fuse": {"L12"},
	rowReservoir: {"L44"}, rowSurge: {"L44"}, rowPickUp: {"L41"}, rowWear: {"L43"}}

// judge asks the rules that a plan can answer. A row takes the finding whose
// subject names it, else the rule's only one.
func (p *PlanPage) judge(c *state.Car, fitted bool) {
	for i := range p.Rows {
		row := &p.Rows[i]
		for _, id := range judgedBy[row.Name] {
			if rule, ok := rules.Find(id); ok {
				row.take(ofWay(c, rule.Judge(c), fitted))
			}
		}
	}
}

// ofWay leaves the findings of the plan, or of what is fitted.
func ofWay(c *state.Car, found []schema.Finding, fitted bool) []schema.Finding {
	return slices.DeleteFunc(found, func(f schema.Finding) bool {
		return fitted && rules.OfPlan(c, f) || !fitted && rules.OfFitted(f)
	})
}

func (r *PlanRow) take(found []schema.Finding) {
	for _, f := range found {
		if rules.Waits(f) || !strings.Contains(f.About, r.Name) && len(found) > 1 {
			continue
		}
		r.Limit, r.Severity, r.Judged = f.Limit, f.Severity, true
	}
}
