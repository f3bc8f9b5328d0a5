package audit

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"feedproof/schema"
	"feedproof/schema/quantity"
)

// timedFlow is a timed flow of 2 L at 4 bar and 14 V, on gauges whose accuracy is
// known.
func timedFlow(seconds float64) schema.ReadingData {
	gauge := func(accuracy string, unit string) *schema.GaugeSnapshot {
		return &schema.GaugeSnapshot{Gauge: "G-" + unit, Due: "2027-03-02", Accuracy: quantity.Written{Value: accuracy, Unit: unit}, Resolution: quantity.Written{Value: accuracy, Unit: unit}}
	}
	return schema.ReadingData{Test: "flow", Values: []schema.Value{
		{Name: "volume", Value: "2.00", Unit: "L"}, {Name: "time", Value: fmt.Sprintf("%.1f", seconds), Unit: "s"},
		{Name: "pressure", Value: "4.00", Unit: "bar", Gauge: gauge("0.02", "bar")}, {Name: "volts", Value: "14.00", Unit: "V", Gauge: gauge("0.05", "V")},
	}}
}

func carburettorPlan(power float64) schema.PlanData {
	p := schema.PlanData{
		Envelope: schema.Envelope{Power: written[quantity.Power](power, "kW"), Manifold: written[quantity.Absolute](99, "kPa abs"), Speed: written[quantity.EngineSpeed](6000, "rpm"),
			EthanolMin: written[quantity.Fraction](0, "%"), EthanolMax: written[quantity.Fraction](10, "%"), Altitude: written[quantity.Length](0, "m")},
		Basis: schema.AtCrank, Engine: schema.EnginePlan{Consumption: written[quantity.SpecificConsumption](0.36, "kg/kWh")},
		Carburettor: &schema.CarburettorPlan{Pressure: written[quantity.Gauge](0.45, "bar"), Seats: 4, Seat: written[quantity.Length](3, "mm"), Bowls: written[quantity.Volume](0.5, "L")},
		Pumps:       schema.PumpPlan{Part: "PUMP-1", Count: 1, Voltage: written[quantity.Voltage](14, "V")},
		Feed:        schema.LinePlan{Bore: written[quantity.Length](9, "mm"), Length: written[quantity.Length](3, "m")},
	}
	p.Envelope.FuelLevel.State = schema.Unknown
	return p
}

// The curve gives 200 L/h at 4 bar and 14 V; 2 L in 36, 37.5 and 39 s are 200,
// 192 and 184.6 L/h: ratios of 1, 0.96 and 0.923, over 10000 km.
func TestWear(t *testing.T) {
	s := newShop(t)
	var curve []schema.PumpPoint
	for _, p := range [][3]float64{{0.2, 12, 218}, {4, 12, 180}, {6, 12, 160}, {0.2, 14, 238}, {4, 14, 200}, {6, 14, 180}} {
		curve = append(curve, schema.PumpPoint{Pressure: written[quantity.Difference](p[0], "bar"), Voltage: written[quantity.Voltage](p[1], "V"), Flow: written[quantity.Flow](p[2], "L/h")})
	}
	s.part("PUMP-1", schema.PartData{Part: schema.PartPump, Name: "pump", Pump: &schema.PumpData{Curve: curve, Source: "bench"}})
	fitted := func(name string, seconds ...float64) {
		c := s.car(name, name).open("1", 1000).add(carburettorPlan(350)).add(schema.FitData{Position: "pump", Part: "PUMP-1", Count: 1})
		for i, sec := range seconds {
			c.on(timeOf(i)).open(fmt.Sprint(i+2), 1000+float64(5000*i)).add(timedFlow(sec)).close(fmt.Sprint(i+2), 1000+float64(5000*i))
		}
	}
	fitted("worn", 36, 37.5, 39)
	fitted("young", 36, 37)
	c := s.car("anew", "anew").open("1", 1000).add(carburettorPlan(350)).add(schema.FitData{Position: "pump", Part: "PUMP-1", Count: 1})
	for i, sec := range []float64{36, 37, 38} {
		c.on(timeOf(i)).add(timedFlow(sec))
	}
	c.add(schema.FitData{Position: "pump", Part: "PUMP-1", Count: 1})

	a := s.answer(200*day, "wear")
	if len(a.Rows) != 1 || a.Rows[0].Record == "" {
		t.Fatalf("%d rows: %v, notes %q", len(a.Rows), a.Rows, a.Notes)
	}
	cells := a.Rows[0].Cells
	margin, low := cells[4].(float64), cells[5].(float64)
	if cells[2] != 3 || !(low < margin) || margin < 1.2 || margin > 1.4 {
		t.Errorf("%v", cells)
	}
	if len(a.Notes) != 1 || !strings.HasPrefix(a.Notes[0], "1 cars with three timed flows or more have no trend") {
		t.Errorf("notes %q", a.Notes)
	}
}

func timeOf(i int) time.Duration { return time.Duration(i+1) * 40 * day }
