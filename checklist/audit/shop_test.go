package audit

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"feedproof/checklist/procedures"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// An invented shop: every car, part, person and number is made up. What a
// question must answer is worked out by hand from what was put in; limits and
// definitions: common practice, as the question's page says.

var epoch = time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)

const day = 24 * time.Hour

// shopOf is a source over records in memory.
type shopOf struct {
	t       *testing.T
	records map[schema.RecordKind]map[string]schema.Record
}

func newShop(t *testing.T) *shopOf {
	s := &shopOf{t, map[schema.RecordKind]map[string]schema.Record{}}
	for _, k := range schema.RecordKinds {
		s.records[k] = map[string]schema.Record{}
	}
	s.records[schema.ShopRecord]["shop"] = schema.NewRecord(schema.ShopRecord, "shop")
	return s
}

func (s *shopOf) Facts(kind schema.RecordKind, table string, visit func(string, []byte) error) error {
	gather := Gather
	if table == TableWords {
		gather = GatherWords
	}
	for _, id := range slices.Sorted(maps.Keys(s.records[kind])) {
		facts, err := gather(s.records[kind][id])
		if err != nil {
			return err
		}
		b, known := facts[table]
		if !known {
			return fmt.Errorf("table %s: is not gathered", table)
		}
		if len(b) > 0 {
			if err := visit(id, b); err != nil {
				return err
			}
		}
	}
	return nil
}

func (s *shopOf) Record(kind schema.RecordKind, id string) (schema.Record, error) {
	r, ok := s.records[kind][id]
	if !ok {
		return r, fmt.Errorf("%s %s: is not in this shop", kind, id)
	}
	return r, nil
}

func (s *shopOf) IDs(kind schema.RecordKind) ([]string, error) {
	return slices.Sorted(maps.Keys(s.records[kind])), nil
}

func (s *shopOf) Shop() (schema.Shop, error) {
	lookup := func(kind schema.RecordKind) func(string) (schema.Record, bool) {
		return func(id string) (schema.Record, bool) { r, ok := s.records[kind][id]; return r, ok }
	}
	return schema.Shop{Record: s.records[schema.ShopRecord]["shop"], Gauge: lookup(schema.GaugeRecord), Part: lookup(schema.PartRecord)}, nil
}

func (s *shopOf) Told(r schema.Record) (kinds []string) {
	for _, e := range r.Entries {
		kinds = append(kinds, e.Kind)
	}
	return kinds
}

// book writes one record, an entry after another.
type book struct {
	shop *shopOf
	kind schema.RecordKind
	id   string
	by   string
	at   time.Time
	last string // id of the entry written last
}

func (s *shopOf) car(id, plate string) *book {
	b := &book{shop: s, kind: schema.VehicleRecord, id: id, by: "tech-1", at: epoch}
	return b.add(schema.VehicleData{Name: id, Plate: plate, Description: "silver hatchback", RoadUse: schema.Yes, EmissionControlled: schema.No, TankEverFuelled: schema.Yes})
}

func (s *shopOf) part(id string, d schema.PartData) *book {
	b := &book{shop: s, kind: schema.PartRecord, id: id, by: "stores-1", at: epoch}
	return b.add(d)
}

func (s *shopOf) gauge(id string) *book {
	b := &book{shop: s, kind: schema.GaugeRecord, id: id, by: "lead-1", at: epoch}
	return b.add(schema.GaugeData{Name: "gauge " + id, Measures: schema.MeasuresPressure})
}

func (b *book) add(data schema.Data) *book { return b.typed(b.at, data) }

// typed adds an entry that was typed at another time than it happened.
func (b *book) typed(entered time.Time, data schema.Data) *book {
	b.shop.t.Helper()
	r, there := b.shop.records[b.kind][b.id]
	if !there {
		r = schema.NewRecord(b.kind, b.id)
	}
	e, err := schema.NewEntry(schema.Origin{By: b.by, Device: "bay-1", After: schema.Heads(r.Entries), Counter: r.MaxCounter() + 1, At: b.at, Entered: entered}, data)
	if err != nil {
		b.shop.t.Fatal(err)
	}
	b.last = e.ID
	b.shop.records[b.kind][b.id] = r.With(e)
	return b
}

// on goes to a moment after the epoch; as to another person.
func (b *book) on(after time.Duration) *book { b.at = epoch.Add(after); return b }
func (b *book) as(person string) *book       { b.by = person; return b }

func (b *book) open(visit string, km float64, kinds ...schema.JobKind) *book {
	return b.add(schema.VisitData{Action: schema.OpenVisit, Visit: visit, Odometer: written[quantity.Length](km, "km"), Kinds: kinds})
}

func (b *book) close(visit string, km float64) *book {
	return b.add(schema.VisitData{Action: schema.CloseVisit, Visit: visit, Odometer: written[quantity.Length](km, "km")})
}

func written[Q quantity.Quantity](x float64, unit string) schema.Q[Q] {
	return schema.Write[Q](quantity.Written{Value: fmt.Sprint(x), Unit: unit})
}

// signed is a sign-off under 300 kW, 220 kPa and 10 % ethanol, due back a
// month later, that had seen all that stands before it.
func (b *book) signed(by string) *book { return b.signedFor(by, 300) }

// signedFor is signed under another power, kW.
func (b *book) signedFor(by string, power float64) *book {
	seen := b.shop.records[b.kind][b.id].Entries
	d := schema.SignOffData{Statement: schema.Statement{
		Person: by, Record: b.id, Entries: len(seen), Digest: schema.Digest(seen), RuleSet: "2020-01", Recheck: b.at.AddDate(0, 1, 0).Format(time.DateOnly),
		Envelope: schema.Envelope{
			Power: written[quantity.Power](power, "kW"), Manifold: written[quantity.Absolute](220, "kPa abs"),
			EthanolMin: written[quantity.Fraction](0, "%"), EthanolMax: written[quantity.Fraction](10, "%"),
		},
	}}
	d.Statement.Envelope.Speed.State, d.Statement.Envelope.Altitude.State, d.Statement.Envelope.FuelLevel.State = schema.Unknown, schema.Unknown, schema.Unknown
	return b.as(by).add(d)
}

func (b *book) read(test, gauge, due string, values ...string) *book {
	d := schema.ReadingData{Test: test}
	for _, v := range values {
		name, text, _ := strings.Cut(v, "=")
		value := schema.Value{Name: name}
		if w, err := quantity.Read(text); err == nil {
			value.Value, value.Unit = w.Value, w.Unit
		} else {
			value.Seen = text
		}
		if gauge != "" {
			value.Gauge = &schema.GaugeSnapshot{Gauge: gauge, Due: due}
		}
		d.Values = append(d.Values, value)
	}
	return b.add(d)
}

// ask answers a question some days after the epoch: its rows as text, the
// blank cells at their ends left out.
func (s *shopOf) ask(after time.Duration, name string, args ...string) []string {
	s.t.Helper()
	a := s.answer(after, name, args...)
	rows := []string{}
	for _, r := range a.Rows {
		cells := make([]string, len(r.Cells))
		for i, c := range r.Cells {
			cells[i] = fmt.Sprint(c)
		}
		rows = append(rows, strings.TrimRight(strings.Join(cells, "|"), "|"))
	}
	return rows
}

// answer is ask with all that comes with the rows. Every row must name a
// record and entries that are in it.
func (s *shopOf) answer(after time.Duration, name string, args ...string) Answer {
	s.t.Helper()
	q, ok := Find(name)
	if !ok {
		s.t.Fatalf("there is no question %s", name)
	}
	a, err := q.Ask(s, args, epoch.Add(after))
	if err != nil {
		s.t.Fatal(err)
	}
	for _, c := range a.Columns {
		if c.About == "" || slices.Contains([]string{"record_kind", "record", "entries"}, c.Name) {
			s.t.Errorf("%s: column %q: says nothing about itself, or is called as what every row has", name, c.Name)
		}
	}
	if len(a.Rows) > 0 {
		answered.Store(q.ID, true)
	}
	for _, r := range a.Rows {
		if len(r.Cells) != len(a.Columns) {
			s.t.Fatalf("%s: %d cells under %d columns", name, len(r.Cells), len(a.Columns))
		}
		for _, id := range r.Entries {
			if !s.stands(r, id) {
				s.t.Errorf("%s: row %v: entry %s is not in %s %s", name, r.Cells, id, r.Kind, r.Record)
			}
		}
		if len(r.Entries) == 0 && r.Record != "" {
			s.t.Errorf("%s: row %v leads back to no entry", name, r.Cells)
		}
	}
	return a
}

// stands reports that an entry is in the row's record, in a part that it
// names, or, for a row of several records, anywhere.
func (s *shopOf) stands(row Row, id string) bool {
	for kind, records := range s.records {
		for name, r := range records {
			if _, there := r.Entry(id); there && (row.Record == "" || kind == schema.PartRecord || name == row.Record) {
				return true
			}
		}
	}
	return false
}

// planned is a plan that says no more than the most ethanol.
func planned(ethanol string) schema.PlanData {
	var d schema.PlanData
	e := &d.Envelope
	e.Power.State, e.Manifold.State, e.Speed.State = schema.Unknown, schema.Unknown, schema.Unknown
	e.EthanolMin.State, e.Altitude.State, e.FuelLevel.State = schema.Unknown, schema.Unknown, schema.Unknown
	w, _ := quantity.Read(ethanol)
	e.EthanolMax = schema.Write[quantity.Fraction](w)
	d.Basis = schema.AtCrank
	d.Engine.Consumption.State, d.Feed.Bore.State, d.Feed.Length.State = schema.Unknown, schema.Unknown, schema.Unknown
	return d
}

// bookSteps are the shipped steps.
func bookSteps(t *testing.T) []procedures.Step {
	t.Helper()
	book, err := procedures.Load()
	if err != nil {
		t.Fatal(err)
	}
	return book.All()
}
