package invent

import (
	"fmt"
	"time"

	"feedproof/schema"
	"feedproof/schema/quantity"
)

// instrument is a gauge that the shop has.
type instrument struct {
	id       string
	data     schema.GaugeData
	lapses   int // year of the shop's life in which it was three weeks late to be calibrated; -1: never
	badIn    int // year in which it was found bad in between; -1: never
	snapshot schema.GaugeSnapshot
}

var instruments = []instrument{
	{id: "P1", data: schema.GaugeData{Name: "rail gauge", Measures: schema.MeasuresPressure, Class: q[quantity.Fraction](0.25, "%", 2), RangeLow: w(0, "bar gauge", 0), RangeHigh: w(10, "bar gauge", 0), Resolution: w(0.01, "bar", 2)}, lapses: 3, badIn: 6,
		snapshot: schema.GaugeSnapshot{Class: "0.25", Span: w(10, "bar", 0), Resolution: w(0.01, "bar", 2)}},
	{id: "P2", data: schema.GaugeData{Name: "second rail gauge", Measures: schema.MeasuresPressure, Class: q[quantity.Fraction](0.5, "%", 1), RangeLow: w(0, "bar gauge", 0), RangeHigh: w(10, "bar gauge", 0), Resolution: w(0.02, "bar", 2)}, lapses: -1, badIn: -1,
		snapshot: schema.GaugeSnapshot{Class: "0.5", Span: w(10, "bar", 0), Resolution: w(0.02, "bar", 2)}},
	{id: "M1", data: schema.GaugeData{Name: "multimeter", Measures: "voltage and current", Accuracy: w(0.02, "V", 2), Resolution: w(0.01, "V", 2)}, lapses: 8, badIn: -1,
		snapshot: schema.GaugeSnapshot{Accuracy: w(0.02, "V", 2), Resolution: w(0.01, "V", 2)}},
	{id: "G1", data: schema.GaugeData{Name: "gas meter", Measures: schema.MeasuresGas, Accuracy: w(0.2, "%LEL", 1), Resolution: w(0.1, "%LEL", 1), Sensor: "catalytic", SpanGas: "methane", GasFactor: q[quantity.Fraction](1.9, "ratio", 1)}, lapses: -1, badIn: -1,
		snapshot: schema.GaugeSnapshot{Accuracy: w(0.2, "%LEL", 1), Resolution: w(0.1, "%LEL", 1), Factor: "1.9", Sensor: "catalytic"}},
}

const years = 10

// calibrated is when an instrument was calibrated in a year of the shop's
// life.
func (i instrument) calibrated(year int) time.Time {
	at := begin.AddDate(year, 0, 0).Add(-day)
	if year > 0 && year == i.lapses {
		at = at.Add(21 * day)
	}
	return at
}

// due is the due date that stood on a day.
func (i instrument) due(at time.Time) string {
	for year := years; year >= 0; year-- {
		if c := i.calibrated(year); !c.After(at) {
			return date(begin.AddDate(year+1, 0, 0).Add(-day))
		}
	}
	return ""
}

// foundBad is the day on which it was found bad, and mended.
func (i instrument) foundBad() time.Time { return begin.AddDate(i.badIn, 5, 0) }

// gauges writes the instruments with ten years of calibrations.
func (m *maker) gauges() error {
	for _, i := range instruments {
		w := m.writer(schema.GaugeRecord, i.id, "gauge "+i.id)
		w.add(i.calibrated(0), "lead-1", i.data)
		for year := range years + 1 {
			at := i.calibrated(year)
			w.add(at, "lead-1", schema.CalibrationData{Date: date(at), Due: i.due(at), Certificate: fmt.Sprintf("%s-%d", i.id, 1000+year), Accredited: schema.Yes})
			if year == i.badIn {
				bad := i.foundBad()
				w.add(bad.Add(-40*day), "lead-1", schema.CheckData{Check: schema.Comparison, Result: schema.Good, Note: "against the second gauge"})
				w.add(bad, "lead-1", schema.CheckData{Check: schema.Comparison, Result: schema.Bad, Note: "reads 0.12 bar low"})
				w.add(bad.Add(2*day), "lead-1", schema.CalibrationData{Date: date(bad.Add(2 * day)), Due: i.due(bad), Certificate: i.id + "-repair"})
			}
		}
		if err := w.put("lead-1"); err != nil {
			return err
		}
	}
	return nil
}

// lot is a part record of the shop.
type lot struct {
	id   string
	kind schema.PartKind
	from time.Time
	flow float64 // pumps: litres an hour at 4 bar and 13.5 V; of what the papers say
	wear float64 // pumps: share of the flow that is lost in a year
}

var kinds = []struct {
	kind schema.PartKind
	name string
	code string
}{
	{schema.PartPump, "in-tank pump", "PU"}, {schema.PartInjector, "injector", "IN"}, {schema.PartRegulator, "return regulator", "RE"},
	{schema.PartHose, "fuel hose", "HO"}, {schema.PartFilter, "pressure filter", "FI"},
}

// parts writes the lots: as many as a shop of that size goes through.
func (m *maker) parts() error {
	each := max(2, m.Cars*m.Visits/40)
	for i := range each {
		for _, k := range kinds {
			from := begin.Add(lifetime / time.Duration(each) * time.Duration(i)).Add(-day)
			if err := m.part(lot{id: fmt.Sprintf("%s-%05d", k.code, i+1), kind: k.kind, from: from}, k.name, i); err != nil {
				return err
			}
		}
	}
	return nil
}

func (m *maker) part(l lot, name string, i int) error {
	chance := m.chance("lot " + l.id)
	d := schema.PartData{Part: l.kind, Name: name, Mark: l.id, Lot: fmt.Sprintf("%d-%c", 2000+chance.IntN(8000), 'A'+i%6), Ethanol: schema.Yes, Papers: "maker's sheet"}
	switch l.kind {
	case schema.PartPump:
		l.flow, l.wear = 220+float64(chance.IntN(60)), 0.01
		if i%17 == 4 { // a lot that wears early
			l.wear = 0.08
		}
		d.Pump = &schema.PumpData{Curve: pumpCurve(l.flow), Source: "maker sheet", Relief: q[quantity.Difference](9, "bar", 0), CheckValve: schema.Yes, Class: "injection"}
	case schema.PartInjector:
		d.Injector = &schema.InjectorData{StaticFlow: q[quantity.Flow](1050, "cc/min", 0), Pressure: q[quantity.Difference](3, "bar", 0), Fluid: "n-heptane", DeadTime: deadTimes(), MaxPressure: q[quantity.Difference](8, "bar", 0)}
	case schema.PartHose:
		d.Hose = &schema.HoseData{Size: "-8", Bore: q[quantity.Length](11, "mm", 0), WorkingPressure: q[quantity.Gauge](20, "bar", 0), DateCode: fmt.Sprintf("%dQ %d", 1+chance.IntN(4), l.from.Year()-chance.IntN(3))}
		if i%9 == 2 {
			d.Ethanol = schema.NotKnown
		}
	}
	w := m.writer(schema.PartRecord, l.id, "part "+l.id)
	w.add(l.from, "stores-1", d)
	if i%41 != 7 { // now and then nobody books a delivery in
		w.add(l.from, "stores-1", schema.ReceiptData{Date: date(l.from), Quantity: 8 + chance.IntN(8), Supplier: "Mill Lane Parts", Invoice: fmt.Sprint(10000 + chance.IntN(90000)), State: "new"})
	}
	if held := l.from.Add(700 * day); l.wear > 0.05 && held.Before(Today) {
		w.add(held, "lead-1", schema.QuarantineData{Action: "hold", Why: "flow tests of this lot come out low"})
	}
	m.lots = append(m.lots, l)
	m.made.Parts++
	return w.put("lead-1")
}

// deadTimes are those of an invented injector: shorter as the volts rise.
func deadTimes() []schema.DeadTime {
	var out []schema.DeadTime
	for _, v := range []float64{8, 10, 12, 14, 16} {
		out = append(out, schema.DeadTime{Voltage: q[quantity.Voltage](v, "V", 0), Time: q[quantity.Duration](180/v/v, "ms", 2)})
	}
	return out
}

// pumpCurve falls evenly from 2 to 8 bar and is flow at 4 bar and 13.5 V.
func pumpCurve(flow float64) []schema.PumpPoint {
	var out []schema.PumpPoint
	for _, v := range []float64{12, 13.5, 15} {
		for _, p := range []float64{2, 4, 6, 8} {
			at := flow * (1 - 0.11*(p-4)/2) * (v / 13.5)
			out = append(out, schema.PumpPoint{
				Pressure: q[quantity.Difference](p, "bar", 0), Voltage: q[quantity.Voltage](v, "V", 1),
				Flow: q[quantity.Flow](at, "L/h", 0), Current: q[quantity.Current](6+p*0.8, "A", 1),
			})
		}
	}
	return out
}
