package checklist

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"feedproof/checklist/datalog"
	"feedproof/checklist/datalogtest"
	"feedproof/checklist/fuel"
	"feedproof/schema/quantity"
)

// explains is the model that must be named for each fault.
var explains = map[datalogtest.Fault]string{
	datalogtest.Healthy: AsPlanned, datalogtest.Relief: "pump relief", datalogtest.WornPump: "pump gives less",
	datalogtest.VoltageSag: "voltage at the pump", datalogtest.ReferenceLeak: "reference leak", datalogtest.NoReference: "no reference",
	datalogtest.Offset: "offset", datalogtest.Restriction: "restriction to the injectors",
}

// predicted drives a car, reads the log and holds it against the car's plan.
func predicted(t *testing.T, c datalogtest.Car, log datalogtest.Log) Prediction {
	t.Helper()
	file := datalogtest.Render(log.Drive.Shots(), datalogtest.Columns, log.Dialect)
	p, err := datalog.Propose(bytes.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	m := datalog.Mapping{Header: p.Mapping.Header}
	for _, g := range p.Guesses {
		column, ok := datalogtest.Named(datalogtest.Columns, g.Column)
		if !ok {
			column = datalogtest.Column{Channel: string(datalog.Time), Unit: "s"}
		}
		m.Columns = append(m.Columns, datalog.Column{Column: g.Column, Channel: datalog.Channel(column.Channel), Unit: column.Unit, Sensor: datalog.Sensor(column.Sensor), Events: column.Events})
	}
	r, err := datalog.Analyse(bytes.NewReader(file), m, datalog.Conditions{Cylinders: 4, Injectors: logInjectors(c.Planned)})
	if err != nil {
		t.Fatal(err)
	}
	plan, err := fuel.Plan(c.Planned)
	if err != nil {
		t.Fatal(err)
	}
	return predict(c.Planned, plan, r)
}

// TestPredictedNames: each fault of the trade notes' logs is named by the
// network of the plan, at every usual rate. The logs are invented, by the same
// network: this shows that one pull is enough to tell its faults apart.
func TestPredictedNames(t *testing.T) {
	rates := []float64{10, 20, 50, 100}
	if os.Getenv("FEEDPROOF_LONG") == "" {
		rates = []float64{10, 50}
	}
	for _, fault := range datalogtest.Faults() {
		for _, rate := range rates {
			c := datalogtest.Example(fault)
			log := datalogtest.Log{Drive: c.Drive(), Dialect: datalogtest.Plain()}
			log.Drive.Rate, log.Drive.Pulls = rate, 1
			if p := predicted(t, c, log); p.Named != explains[fault] {
				t.Errorf("%s at %v Hz is named %q: %s\n%s", fault, rate, p.Named, p.Text+p.Why, describeModels(p))
			}
		}
	}
}

// TestPredictedConfusion names the faults of random cars and logs the table of
// what was there against what the network named.
func TestPredictedConfusion(t *testing.T) {
	random := rand.New(rand.NewPCG(2026, 11))
	each := 26
	if os.Getenv("FEEDPROOF_LONG") == "" {
		each = 2 // make confusion drives all
	}
	table := map[datalogtest.Fault]map[string]int{}
	for _, fault := range datalogtest.Faults() {
		table[fault] = map[string]int{}
		for range each {
			c := datalogtest.Random(fault, random)
			p := predicted(t, c, datalogtest.RandomLog(c, random))
			table[fault][p.Named]++
			if p.Named != explains[fault] {
				t.Logf("%s is named %q: %s\n%s", fault, p.Named, p.Text+p.Why, describeModels(p))
			}
		}
		if right := table[fault][explains[fault]]; right < each-each*5/100 {
			t.Errorf("%s is named in %d of %d cars", fault, right, each)
		}
	}
	var b strings.Builder
	for i, fault := range datalogtest.Faults() {
		fmt.Fprintf(&b, "%d %-15s", i+1, fault)
		for _, f := range datalogtest.Faults() {
			fmt.Fprintf(&b, "%4d", table[fault][explains[f]])
		}
		fmt.Fprintf(&b, "   blocked upstream %d, none %d\n", table[fault]["blocked upstream"], table[fault][""])
	}
	t.Logf("%d random cars with a fault each, and what the network of the plan named, in the same order\n                    1   2   3   4   5   6   7   8\n%s", each*len(table), b.String())
}

func describeModels(p Prediction) string {
	var b strings.Builder
	for _, m := range p.Models {
		fmt.Fprintf(&b, "  %-28s rms %s mean %s worst %s, %d points; %s\n", m.Name, quantity.Format(m.RMS, "bar", 3), quantity.Format(m.Mean, "bar", 3), quantity.Format(m.Worst.Value, "bar", 3), m.Asked, m.Fitted)
	}
	return b.String()
}

// TestPredictedNewPump: a plan counts on an aged pump. One that is as new is as
// planned still, and does not hide what the volts do.
func TestPredictedNewPump(t *testing.T) {
	for _, fault := range []datalogtest.Fault{datalogtest.Healthy, datalogtest.VoltageSag, datalogtest.ReferenceLeak} {
		c := datalogtest.Example(fault)
		c.Planned.Pumps = slices.Clone(c.Planned.Pumps)
		c.Planned.Pumps[0].Ageing = fuel.Ageing
		log := datalogtest.Log{Drive: c.Drive(), Dialect: datalogtest.Plain()}
		log.Drive.Pulls, log.Drive.Rate = 1, 20
		if p := predicted(t, c, log); p.Named != explains[fault] {
			t.Errorf("%s is named %q: %s\n%s", fault, p.Named, p.Text+p.Why, describeModels(p))
		}
	}
}

// TestPredictedNeedsAPlan: what cannot be predicted says why.
func TestPredictedNeeds(t *testing.T) {
	c := datalogtest.Example(datalogtest.Healthy)
	plan, err := fuel.Plan(c.Planned)
	if err != nil {
		t.Fatal(err)
	}
	if p := predict(c.Planned, plan, datalog.Result{}); p.Known || !strings.Contains(p.Why, "loaded pull") {
		t.Errorf("an empty log: %+v", p)
	}
	carburetted := c.Planned
	carburetted.Injectors = nil
	if p := predict(carburetted, plan, datalog.Result{}); p.Known || !strings.Contains(p.Why, "carburetted") {
		t.Errorf("a carburettor: %+v", p)
	}
}

// TestModelsAreSaid: every model has a name of its own and a next check.
func TestModelsAreSaid(t *testing.T) {
	p := predictor{s: datalogtest.Example(datalogtest.Healthy).Planned, points: []datalog.Point{{Drop: 3e5, Manifold: 2e5, PumpVoltage: 13}}}
	var names []string
	for _, m := range p.models() {
		if m.next == "" || m.name == "" || slices.Contains(names, m.name) {
			t.Errorf("%+v", m)
		}
		names = append(names, m.name)
	}
	if len(names) < 8 {
		t.Errorf("models %v", names)
	}
}
