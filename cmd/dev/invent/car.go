package invent

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"strings"
	"time"

	"feedproof/records/signature"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// life is one car and how it stands.
type life struct {
	*writer
	chance   *rand.Rand // of what happens, beside that of the ids
	km       float64
	power    float64 // of its envelope, kW
	ethanol  float64 // most, %
	base     float64 // regulator as it is set, bar
	drift    float64 // of it in a visit
	tank     string  // its tag
	visit    int
	pump     lot
	pumpFrom time.Time
	signed   schema.Record // as the last commit left it, until it is signed off
	seen     time.Time     // when the lead looks at it
	lead     string
	tech     string
	fuel     float64 // measured ethanol
}

var birds = []string{"kestrel", "finch", "heron", "swift", "robin", "egret", "stork", "plover", "dunlin", "siskin", "linnet", "merlin", "curlew", "wagtail", "bittern", "avocet"}

var colours = []string{"silver", "dark blue", "red", "white", "grey", "green", "yellow", "black"}

var bodies = []string{"hatchback", "saloon", "coupe", "estate", "roadster", "single-seater"}

// car makes one car with all its visits.
func (m *maker) car(i int) error {
	c := &life{writer: m.writer(schema.VehicleRecord, "", fmt.Sprint("car ", i)), chance: m.chance(fmt.Sprint("life of car ", i))}
	visits := 1
	if m.Visits > 1 {
		visits = 1 + c.chance.IntN(2*m.Visits-1)
	}
	at := begin.Add(time.Duration(c.chance.Float64() * 0.7 * float64(lifetime))).Truncate(day).Add(8 * time.Hour)
	gap := (begin.Add(lifetime).Sub(at)) / time.Duration(visits)
	c.id, c.lead = c.newID(at), fmt.Sprint("lead-", 1+c.chance.IntN(2))
	c.describe(i, at)
	for v := range visits {
		c.tech = fmt.Sprint("tech-", 1+c.chance.IntN(4))
		if err := c.stay(at, v == visits-1); err != nil {
			return err
		}
		at = at.Add(max(2*day, time.Duration((0.3+1.4*c.chance.Float64())*float64(gap))))
		if at.After(begin.Add(lifetime)) {
			break
		}
		at = at.Truncate(day).Add(time.Duration(7+c.chance.IntN(4)) * time.Hour)
	}
	c.made.Cars++
	if err := c.signOff(); err != nil || len(c.facts) == 0 {
		return err
	}
	if back := c.seen.AddDate(0, 0, 25); back.Before(begin.Add(lifetime)) && !c.rare(8) { // most cars come back to be checked
		c.byTwo(back, "HP11")
	}
	_, err := c.commit(c.lead, Today.Add(-day))
	return err
}

func (c *life) describe(i int, at time.Time) {
	c.km, c.power, c.base, c.ethanol = float64(10000+c.chance.IntN(150000)), float64(180+10*c.chance.IntN(30)), 3, 10
	if c.chance.IntN(5) == 0 {
		c.ethanol = 85
	}
	if c.rare(30) {
		c.drift = 0.03
	}
	c.tank = fmt.Sprintf("T-%05d", i+1)
	d := schema.VehicleData{
		Name:  fmt.Sprintf("%s-%04d", birds[i%len(birds)], i+1),
		Plate: fmt.Sprintf("%c%c %04d", 'A'+i%26, 'A'+i/26%26, i%10000), VIN: fmt.Sprintf("XFPZZ%03dZ%08d", c.chance.IntN(1000), i+1),
		Description: colours[c.chance.IntN(len(colours))] + " " + bodies[c.chance.IntN(len(bodies))],
		Engine:      "2.0 L turbo", Cylinders: 4, Displacement: q[quantity.Volume](2, "L", 1), Induction: "turbo", FuelSystem: "port injection",
		RoadUse: schema.Yes, EmissionControlled: schema.No, TankEverFuelled: schema.Yes, TankVolume: q[quantity.Volume](50, "L", 0),
		Tank: c.tank, HighVoltage: schema.No, Owner: fmt.Sprintf("owner-%05d", i*7%100000),
	}
	c.add(at, "lead-1", d)
}

// stay is one visit up to the commit of its work.
func (c *life) stay(at time.Time, last bool) error {
	if err := c.signOff(); err != nil {
		return err
	}
	c.visit++
	c.made.Visits++
	c.km += float64(40 + c.chance.IntN(9000))
	c.fuel = c.ethanol * (0.8 + 0.2*c.chance.Float64())
	clock := at
	tick := func() time.Time {
		clock = clock.Add(time.Duration(2+c.chance.IntN(9)) * time.Minute)
		return clock
	}
	comeback := c.visit > 1 && c.chance.IntN(12) == 0
	c.opening(at, comeback)
	if comeback && c.chance.IntN(2) == 0 {
		c.reading(tick(), "leak", v("pressure", 4.3, "bar", 2, "P1"), seen("hanger", "smell"))
	}
	recheck := c.visit > 1 && !comeback && c.chance.IntN(3) == 0
	if recheck {
		c.byTwo(tick(), "HP11")
	}
	c.plan(tick())
	c.work(tick)
	c.tests(tick)
	c.answers(tick)
	if c.rare(100) { // a lead who lends a hand
		c.reading2(tick(), c.lead, "prime", v("time", 1.8, "s", 1, ""))
	}
	stands := last && c.rare(40) // a few cars are in the shop today
	if stands && c.chance.IntN(2) == 0 {
		c.stop(tick())
	}
	r, err := c.commit(c.lead, clock)
	if err != nil {
		return err
	}
	if !stands {
		c.signed, c.seen = r, tick()
	}
	return nil
}

// stop is what stops the work: vapour in the bay, or a joint that is wet.
func (c *life) stop(at time.Time) {
	if c.chance.IntN(2) == 0 {
		c.gas(at, []string{"1.4", "3.1", "5.6"}[c.chance.IntN(3)])
		return
	}
	c.reading(at, "leak", v("pressure", 4.4, "bar", 2, "P1"), v("held", 90, "s", 0, ""), seen("rail inlet", "wet"), seen("hanger", "dry"))
}

func (c *life) opening(at time.Time, comeback bool) {
	d := schema.VisitData{Action: schema.OpenVisit, Visit: fmt.Sprint(c.visit), Odometer: q[quantity.Length](c.km, "km", 0), Bay: fmt.Sprint(1 + c.chance.IntN(4)),
		Kinds: []schema.JobKind{schema.JobKind([]string{"a", "a", "a", "b", "b", "e", "f", "c"}[c.chance.IntN(8)])}}
	if comeback {
		d.Reason = "comeback: starts badly when hot"
		if c.chance.IntN(2) == 0 {
			d.Reason = "comeback: smells of fuel"
		}
	}
	if c.visit > 1 {
		power := c.power
		if c.rare(20) {
			power += 30
		}
		d.Declared = &schema.Declared{Power: q[quantity.Power](power, "kW", 0), Boost: q[quantity.Gauge](1.1, "bar", 1), Ethanol: q[quantity.Fraction](c.fuel, "%", 0)}
	}
	c.add(at, c.lead, d)
}

func (c *life) plan(at time.Time) {
	if c.visit > 1 && c.chance.IntN(3) > 0 {
		return
	}
	d := schema.PlanData{
		Envelope: schema.Envelope{
			Power: q[quantity.Power](c.power, "kW", 0), Manifold: q[quantity.Absolute](221.3, "kPa abs", 1), Speed: q[quantity.EngineSpeed](7000, "rpm", 0),
			EthanolMin: q[quantity.Fraction](0, "%", 0), EthanolMax: q[quantity.Fraction](c.ethanol, "%", 0),
			Altitude: q[quantity.Length](500, "m", 0), FuelLevel: q[quantity.Fraction](25, "%", 0),
		},
		Basis: schema.AtCrank, Engine: schema.EnginePlan{Consumption: q[quantity.SpecificConsumption](0.36, "kg/kWh", 2)},
		Regulator: &schema.RegulatorPlan{Kind: schema.Referenced, Base: q[quantity.Difference](3, "bar", 0)},
		Injectors: &schema.InjectorPlan{Part: c.recent(schema.PartInjector, at).id, Count: 4},
		Pumps:     schema.PumpPlan{Part: c.recent(schema.PartPump, at).id, Count: 1},
		Feed:      schema.LinePlan{Bore: q[quantity.Length](8, "mm", 0), Length: q[quantity.Length](4, "m", 0)},
		Return:    &schema.LinePlan{Bore: q[quantity.Length](8, "mm", 0), Length: q[quantity.Length](4, "m", 0)},
		Map:       fmt.Sprintf("map-%d", c.visit),
	}
	c.add(at, c.lead, d)
}

// recent is a lot that lies on the shelf on a day.
func (c *life) recent(kind schema.PartKind, at time.Time) lot {
	var found []lot
	for i := len(c.lots) - 1; i >= 0 && len(found) < 2; i-- {
		if l := c.lots[i]; l.kind == kind && !l.from.After(at) {
			found = append(found, l)
		}
	}
	return found[c.chance.IntN(len(found))]
}

// work opens the system, changes parts and closes it again.
func (c *life) work(tick func() time.Time) {
	for _, id := range []string{"K02", "K15", "K36"} {
		c.add(tick(), c.tech, schema.CautionData{Caution: id, State: schema.CautionMet, Proof: "as on the photo of the bay, " + c.tech})
	}
	at := tick()
	c.gas(at, "0.0")
	if !c.rare(100) {
		c.add(tick(), c.tech, schema.HoldPointData{Point: "HP2", Action: schema.ClosePoint})
	}
	c.add(tick(), c.tech, schema.StepData{Step: "b4", State: schema.StepDone, Joint: "rail inlet"})
	switch {
	case c.visit == 1:
		for _, p := range []struct {
			position string
			kind     schema.PartKind
		}{{"pump", schema.PartPump}, {"injectors", schema.PartInjector}, {"regulator", schema.PartRegulator}, {"feed line", schema.PartHose}, {"filter", schema.PartFilter}} {
			c.fit(tick(), p.position, p.kind)
		}
	case c.chance.IntN(10) == 0:
		c.add(tick(), c.tech, schema.RemoveData{Position: "pump", Part: c.pump.id, Why: "flow was low"})
		c.fit(tick(), "pump", schema.PartPump)
	case c.chance.IntN(3) == 0:
		c.fit(tick(), "filter", schema.PartFilter)
	}
	if c.rare(60) {
		c.cut(tick)
	}
}

func (c *life) fit(at time.Time, position string, kind schema.PartKind) {
	d := schema.FitData{Position: position, Count: 1}
	if c.rare(150) {
		d.WhyNone = "customer's own, untraceable"
	} else {
		l := c.recent(kind, at)
		d.Part = l.id
		if kind == schema.PartPump {
			c.pump, c.pumpFrom = l, at
			d.Serials = []string{fmt.Sprintf("S%07d", c.chance.IntN(10000000))}
		}
	}
	c.add(at, c.tech, d)
}

// cut is a tank that is sawn, with its certificate and gas reading.
func (c *life) cut(tick func() time.Time) {
	at, tank := tick(), c.tank
	if c.rare(20) { // the paper of another one
		tank = "T-99999"
	}
	c.add(at, "tech-4", schema.CautionData{Caution: "K09", State: schema.CautionMet, Proof: "certificate, photo of the tag",
		Certificate: &schema.Certificate{By: "Harbour Tank Cleaning", Method: "steam", Tank: tank, At: at.Add(-3 * time.Hour).UTC().Format(time.RFC3339)}})
	read := tick()
	g := c.snapshotOf("G1", read)
	c.reading3(read, "tech-4", schema.ReadingData{Test: "gas", Second: c.second(), Values: []schema.Value{
		{Name: "floor", Value: "0.0", Unit: "%LEL", Gauge: &g}, {Name: "tank", Value: "0.2", Unit: "%LEL", Gauge: &g}, {Name: "oxygen", Value: "20.9", Unit: "%"}}})
	c.add(tick(), "tech-4", schema.StepData{Step: cutStep, State: schema.StepDone, Joint: "tank top"})
}

// rare is true once in so many times, oftener in a troubled shop.
func (c *life) rare(n int) bool { return c.chance.IntN(max(1, n/max(1, c.Trouble))) == 0 }

// byTwo closes a hold point, which the second person confirms; now and then they
// do not.
func (c *life) byTwo(at time.Time, point string) {
	second := c.second()
	id := c.add(at, c.tech, schema.HoldPointData{Point: point, Action: schema.ClosePoint, Second: second})
	if second != c.tech && !c.rare(40) {
		c.add(at.Add(2*time.Minute), second, schema.ConfirmData{Entry: id})
	}
}

func (c *life) second() string { return fmt.Sprint("tech-", 1+c.chance.IntN(4)) }

// answers are the waivers, acknowledgements, logs and slips of a visit.
func (c *life) answers(tick func() time.Time) {
	at := tick()
	if c.rare(35) {
		c.add(at, c.lead, schema.WaiveData{Rule: "L10", Subject: "supply", Code: "outside", Values: []schema.Amount{{Name: "lost", Value: "1.1", Unit: "V"}}, Limits: []schema.Bound{{Name: "lost", AtMost: "0.5", Unit: "V"}},
			Why:     "the loom is being made and comes in two weeks; the car is not driven hard before it is fitted and read again",
			Measure: "boost is held at 0.8 bar", Expires: date(at.AddDate(0, 0, 20+c.chance.IntN(40))), Informed: schema.Yes})
	}
	if c.rare(25) {
		c.add(at, c.lead, schema.AcknowledgeData{Rule: "L13", Subject: "fuel temperature tank", Code: "outside", Values: []schema.Amount{{Name: "temperature", Value: "52", Unit: "degC"}}, Why: "hot day, long drive, read again in the evening: 44 degC"})
	}
	if c.rare(40) {
		slip := c.add(at, c.tech, schema.NoteData{Text: "belongs to another car"})
		c.add(tick(), c.tech, schema.CorrectData{Entry: slip, Action: schema.Void, Why: "wrong car"})
	}
	if c.chance.IntN(10) == 0 {
		c.late(at, at.Add(9*time.Hour), c.tech, schema.NoteData{Text: "whistles at idle until warm, typed in the evening from the sheet"})
	}
	c.log(tick())
}

// log is a logged run; now and then one that was shown before.
func (c *life) log(at time.Time) {
	run := fmt.Sprintf("time (s),rail (bar)\n%.6f,%.3f\n%.6f,%.3f\n", c.chance.Float64(), c.base*c.noise(0.02), 1+c.chance.Float64(), c.base*c.noise(0.02))
	if c.rare(300) {
		run = "time (s),rail (bar)\n0.0,4.10\n"
	}
	kept, err := c.shop.Keep(strings.NewReader(run))
	if err != nil && c.err == nil {
		c.err = err
	}
	c.add(at, c.tech, schema.DatalogData{File: fmt.Sprintf("pull-%d.csv", c.visit), SHA256: kept.SHA256, Bytes: kept.Bytes, Run: "pull",
		Mapping: []schema.ChannelMap{{Column: "rail", Channel: "rail pressure", Unit: "bar"}},
		Worst:   []schema.NamedValue{{Name: "duty", Value: fmt.Sprintf("%.1f", 70+8*c.chance.Float64()), Unit: "%", At: "12.4"}}})
}

// signOff signs what the last visit left, and the car goes. It is committed
// with what comes next, which saves a commit a visit.
func (c *life) signOff() error {
	if c.signed.ID == "" {
		return nil
	}
	r, at := c.signed, c.seen
	c.signed = schema.Record{}
	st := schema.Statement{
		Meaning: "I looked at every finding and hold point of this record and release the car under this envelope.",
		Record:  c.id, Entries: len(r.Entries), Digest: schema.Digest(r.Entries), Person: c.lead, Role: schema.Lead, At: at.UTC().Format(time.RFC3339),
		RuleSet: ruleSet(at), Recheck: date(at.AddDate(0, 1, 0)),
		Envelope: schema.Envelope{
			Power: q[quantity.Power](c.power, "kW", 0), Manifold: q[quantity.Absolute](221.3, "kPa abs", 1), Speed: q[quantity.EngineSpeed](7000, "rpm", 0),
			EthanolMin: q[quantity.Fraction](0, "%", 0), EthanolMax: q[quantity.Fraction](c.ethanol, "%", 0),
			Altitude: q[quantity.Length](500, "m", 0), FuelLevel: q[quantity.Fraction](25, "%", 0),
		},
	}
	text, err := json.Marshal(st)
	if err != nil {
		return err
	}
	if text, err = schema.Canonical(text); err != nil {
		return err
	}
	armored, err := signature.Sign(signature.Statement, text, c.keys[c.lead])
	if err != nil {
		return err
	}
	c.add(at, c.lead, schema.SignOffData{Statement: st, Signature: string(armored)})
	if c.rare(200) { // written after it was signed
		c.reading(at.Add(5*time.Minute), "bond", v("resistance", 0.3, "ohm", 1, "M1"))
	}
	c.km += float64(c.chance.IntN(12))
	c.add(at.Add(30*time.Minute), c.lead, schema.VisitData{Action: schema.CloseVisit, Visit: fmt.Sprint(c.visit), Odometer: q[quantity.Length](c.km, "km", 0), Reason: "released"})
	return nil
}

// ruleSet names the rules of the day.
func ruleSet(at time.Time) string {
	if at.Before(begin.AddDate(0, 3, 0)) {
		return "2016-01"
	}
	return "2026-11"
}
