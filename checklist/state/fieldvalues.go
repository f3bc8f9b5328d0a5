package state

import (
	"slices"
	"strings"
	"time"

	"feedproof/checklist/procedures"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// touched reports that something was fitted or removed in this visit in one of
// the positions, numbered or not: "pump" also means "pump 2".
func (c *Car) touched(positions ...string) bool {
	return slices.ContainsFunc(c.Changes, func(ch Change) bool {
		return c.InVisit(ch.Entry) && slices.ContainsFunc(positions, ch.of)
	})
}

// of reports that the change was in that position, numbered or not, or in a
// part of the wiring when that is asked for.
func (ch Change) of(position string) bool {
	if position == "wiring" && (ch.of("relay") || ch.of("fuse")) {
		return true
	}
	return ch.Position == position || Unnumbered(ch.Position) == position
}

func (c *Car) hasReading(tests ...string) bool {
	return slices.ContainsFunc(tests, func(t string) bool { _, ok := c.Last(t); return ok })
}

func (c *Car) hasStep(ids ...string) bool {
	return slices.ContainsFunc(c.Steps, func(s Step) bool {
		return c.InVisit(s.Entry) && s.Data.State != schema.StepNA && slices.Contains(ids, s.Data.Step)
	})
}

// hasStepOf reports that a step of a block was recorded.
func (c *Car) hasStepOf(block string) bool {
	return slices.ContainsFunc(c.Steps, func(s Step) bool {
		return c.InVisit(s.Entry) && s.Data.State != schema.StepNA && strings.HasPrefix(s.Data.Step, block)
	})
}

// opened reports that a recorded step of this visit opens in that way.
func (c *Car) opened(kind procedures.Opening) bool {
	return slices.ContainsFunc(c.Steps, func(s Step) bool {
		return c.InVisit(s.Entry) && s.Data.State != schema.StepNA && s.Step.Opens == kind
	})
}

func (c *Car) openedPressure() bool {
	return slices.ContainsFunc(c.VisitOpenings(), func(o Opening) bool { return o.Pressured })
}

// willOpen reports that a step of the visit's jobs opens in one of the ways;
// in any way when none is named.
func (c *Car) willOpen(kinds ...procedures.Opening) bool {
	return slices.ContainsFunc(c.todo(), func(s procedures.Step) bool {
		return s.Opens != procedures.OpensNothing && (len(kinds) == 0 || slices.Contains(kinds, s.Opens))
	})
}

func (c *Car) seen(caution string) bool {
	return slices.ContainsFunc(c.Cautions, func(k Caution) bool {
		return c.InVisit(k.Entry) && k.Data.Caution == caution && k.Data.State == schema.CautionSeen
	})
}

func (c *Car) aloneField() (string, bool) {
	openings := c.VisitOpenings()
	if len(openings) == 0 {
		return "", false
	}
	people := map[string]map[string]bool{}
	for _, e := range c.Record.Entries {
		day := e.At.Format(time.DateOnly)
		if people[day] == nil {
			people[day] = map[string]bool{}
		}
		people[day][e.By] = true
	}
	for _, o := range openings {
		if len(people[o.Entry.At.Format(time.DateOnly)]) < 2 {
			return "", false
		}
	}
	return string(schema.No), true
}

const boostedFrom = quantity.Absolute(105 * quantity.KPa)

func (c *Car) boostedField() (string, bool) {
	if c.Plan != nil && c.Plan.Envelope.Manifold.Or(0) > boostedFrom {
		return string(schema.Yes), true
	}
	if c.Vehicle.Induction == "" {
		return "", false
	}
	return yesNo(c.Vehicle.Induction != "natural"), true
}

func (c *Car) changedBayField() (string, bool) {
	bay := ""
	for _, v := range c.Visits {
		if !c.InVisit(v.Entry) {
			continue
		}
		if bay != "" && v.Data.Bay != "" && v.Data.Bay != bay && c.FuelOpen() {
			return string(schema.Yes), true
		}
		bay = v.Data.Bay
	}
	return string(schema.No), true
}

func (c *Car) chargerField() (string, bool) {
	for i := len(c.Readings) - 1; i >= 0; i-- {
		if r := c.Readings[i]; r.Data.Conditions != nil && r.Data.Conditions.Charger != "" && c.InVisit(r.Entry) {
			return answer(r.Data.Conditions.Charger)
		}
	}
	return "", false
}

// Pump is what is known of the fitted pump.
func (c *Car) Pump() (schema.PumpData, bool) {
	f, ok := c.Fitted["pump"]
	if !ok || f.Part == nil || f.Part.Pump == nil {
		return schema.PumpData{}, false
	}
	return *f.Part.Pump, true
}

func (c *Car) checkValveField() (string, bool) {
	pump, ok := c.Pump()
	if !ok {
		return "", false
	}
	return answer(pump.CheckValve)
}

// InjectionPump is the class that is never put straight on a carburettor.
const InjectionPump schema.PumpClass = "injection"

// PumpClass is the class that a pump's papers give; empty when they do not.
func (f Fitted) PumpClass() schema.PumpClass {
	if f.Part == nil || f.Part.Pump == nil {
		return ""
	}
	return f.Part.Pump.Class
}

// pumpClassField is the class of the car's pumps: injection when one of them
// is, and not known when that of one is not.
func (c *Car) pumpClassField() (class string, known bool) {
	pumps := c.Pumps()
	known = len(pumps) > 0
	for _, f := range pumps {
		switch f.PumpClass() {
		case InjectionPump:
			return string(InjectionPump), true
		case "":
			known = false
		default:
			class = string(f.PumpClass())
		}
	}
	return class, known
}

func (c *Car) electricPumpField() (string, bool) {
	if c.Plan != nil || c.touched("pump") {
		return string(schema.Yes), true
	}
	if c.Vehicle.FuelSystem == "" || c.Vehicle.FuelSystem == "carburettor" {
		return "", false
	}
	return string(schema.Yes), true
}

func (c *Car) fuelSystemField() (string, bool) {
	if c.Has("h") {
		return "carburettor", true
	}
	return string(c.Vehicle.FuelSystem), c.Vehicle.FuelSystem != ""
}

func (c *Car) injectionField() (string, bool) {
	system, known := c.fuelSystemField()
	return yesNo(system != "carburettor"), known
}

func (c *Car) hoseSubmergedField() (string, bool) {
	if c.Has("a", "c") || c.touched("in-tank hose") {
		return string(schema.Yes), true
	}
	opens, known := c.opensTankField()
	return string(schema.No), known && opens == string(schema.No)
}

func (c *Car) opensTankField() (string, bool) {
	switch {
	case c.Has("a", "c", "i") || c.touched("module", "tank", "vent") || c.opened(procedures.OpensTankCut):
		return string(schema.Yes), true
	case c.Has("d", "e", "g"):
		return "", false
	}
	return string(schema.No), true
}

func (c *Car) liftedField() (string, bool) {
	for i := len(c.Steps) - 1; i >= 0; i-- {
		if s := c.Steps[i]; s.Data.Step == "B5" && c.InVisit(s.Entry) {
			return yesNo(s.Data.State != schema.StepNA), true
		}
	}
	return "", false
}

func (c *Car) ownerSuppliedField() (string, bool) {
	for _, f := range c.Fitted {
		if f.Data.WhyNone == "customer's" || c.receivedAs(f.Data.Part) == "customer's" {
			return string(schema.Yes), true
		}
		if f.Data.Part == "" && f.Data.WhyNone == "" {
			return "", false
		}
	}
	return string(schema.No), true
}

func (c *Car) receivedAs(part string) (state string) {
	if part == "" || c.Shop.Part == nil {
		return ""
	}
	r, _ := c.Shop.Part(part)
	for _, e := range Standing(r) {
		if e.Kind == "receipt" {
			with(e, func(d schema.ReceiptData) { state = string(d.State) })
		}
	}
	return state
}

// HighestRail is base plus the highest manifold gauge pressure of the plan at
// sea level times the declared ratio, for a regulator that follows the manifold;
// else base.
func (c *Car) HighestRail() (quantity.Gauge, bool) {
	base, ok := c.Base()
	if !ok {
		return 0, false
	}
	manifold, err := c.Plan.Envelope.Manifold.SI()
	if err != nil || !c.MayReference() {
		return quantity.Gauge(base), true
	}
	boost := max(0, float64(manifold.Over(StandardBarometer)))
	return quantity.Gauge(float64(base) + c.BoostRatio()*boost), true
}

// StandardBarometer stands in where no barometer was recorded: sea level.
const StandardBarometer = quantity.Absolute(101.325 * quantity.KPa)

func (c *Car) railMaxField() (string, bool) {
	highest, ok := c.HighestRail()
	for _, r := range c.Readings {
		if v, has := r.Value("rail"); has && c.InVisit(r.Entry) {
			if p, err := quantity.Of[quantity.Gauge](v.Written()); err == nil && ok {
				highest = max(highest, p)
			}
		}
	}
	return quantity.Text(highest), ok
}

func (c *Car) regulatorField() (string, bool) {
	if c.Plan == nil || c.Plan.Regulator == nil {
		return "", false
	}
	return string(c.Plan.Regulator.Kind), true
}

// sharedAirField asks the shop's record for the visit's bay.
func (c *Car) sharedAirField() (string, bool) {
	if c.Visit == nil || c.Visit.Data.Bay == "" {
		return "", false
	}
	bays := map[string]schema.BayData{}
	for _, e := range c.Shop.Record.Entries {
		if e.Kind == "bay" {
			with(e, func(d schema.BayData) { bays[d.Bay] = d })
		}
	}
	mine, ok := bays[c.Visit.Data.Bay]
	if !ok || mine.AirSpace == "" {
		return "", false
	}
	if mine.Distance.Known() && mine.Distance.Or(0) < sparkDistance {
		return string(schema.Yes), true
	}
	for name, other := range bays {
		if name != mine.Bay && other.AirSpace == mine.AirSpace {
			return string(schema.Yes), true
		}
	}
	return string(schema.No), true
}

// sparkDistance is how far sparks of hot work are kept from fuel: 35 ft.
// Source: 29 CFR 1910.252(a)(2)(vii), NFPA 51B, from memory.
const sparkDistance = quantity.Length(35 * quantity.Foot)

func (c *Car) spillField() (string, bool) {
	var most quantity.Volume
	found := false
	for _, r := range c.All("spill") {
		if v, ok := r.Value("volume"); ok {
			if q, err := quantity.Of[quantity.Volume](v.Written()); err == nil {
				most, found = max(most, q), true
			}
		}
	}
	if !found && c.seen("K33") {
		return "", false
	}
	return quantity.Text(most), true
}

func (c *Car) lastWritten(test, value string) (string, bool) {
	r, ok := c.Last(test)
	if !ok {
		return "", false
	}
	v, ok := r.Value(value)
	return v.Written().String(), ok
}

// leakSeen reports that a joint was last seen other than dry.
func (c *Car) leakSeen() bool {
	last := map[string]string{}
	for _, r := range c.Readings {
		for _, v := range r.Data.Values {
			if v.Seen != "" && c.InVisit(r.Entry) {
				last[v.Name] = v.Seen
			}
		}
	}
	for _, seen := range last {
		if slices.Contains([]string{"damp", "wet", "smell", "overflow"}, seen) {
			return true
		}
	}
	return c.seen("K20")
}

const longDay = 10 * time.Hour

// handedOver reports that a step was left started, or begun by one person and
// ended by another, or that somebody worked over ten hours in a day.
func (c *Car) handedOver() bool {
	started := map[string]string{}
	for _, s := range c.Steps {
		switch {
		case !c.InVisit(s.Entry):
		case s.Data.State == schema.StepStarted:
			started[s.Data.Step] = s.Entry.By
		case started[s.Data.Step] != "" && started[s.Data.Step] != s.Entry.By:
			return true
		default:
			delete(started, s.Data.Step)
		}
	}
	return len(started) > 0 || c.longShift()
}

func (c *Car) longShift() bool {
	type day struct{ by, date string }
	first := map[day]time.Time{}
	for _, e := range c.Record.Entries {
		if !c.InVisit(e) {
			continue
		}
		d := day{e.By, e.At.Format(time.DateOnly)}
		begun, ok := first[d]
		if !ok {
			first[d] = e.At
			continue
		}
		if e.At.Sub(begun) > longDay {
			return true
		}
	}
	return false
}
