package checklist_test

import (
	"encoding/json"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"sync"
	"time"

	"feedproof/schema"
	"feedproof/schema/quantity"
)

// built is a situation as rules see it.
type built struct {
	record schema.Record
	shop   schema.Shop
	moment time.Time
}

// build turns the situation into records. An entry's id is its name, and its
// counter its place, unless it gives one.
func (s *situation) build(t helper) built {
	t.Helper()
	gauges, parts := map[string]schema.Record{}, map[string]schema.Record{}
	for id, list := range s.gauges {
		gauges[id] = s.record(t, schema.GaugeRecord, id, *list, nil)
	}
	for id, list := range s.parts {
		parts[id] = s.record(t, schema.PartRecord, id, *list, nil)
	}
	b := built{
		record: s.record(t, schema.VehicleRecord, "car", s.entries, gauges),
		shop: schema.Shop{
			Record: s.record(t, schema.ShopRecord, "shop", s.shop, nil),
			Gauge:  func(id string) (schema.Record, bool) { r, ok := gauges[id]; return r, ok },
			Part:   func(id string) (schema.Record, bool) { r, ok := parts[id]; return r, ok },
			Claims: s.claims,
		},
		moment: s.moment,
	}
	return b
}

// validate says what is wrong with any of the records.
func (b built) validate(s *situation) error {
	records := []schema.Record{b.record, b.shop.Record}
	for id := range s.gauges {
		r, _ := b.shop.Gauge(id)
		records = append(records, r)
	}
	for id := range s.parts {
		r, _ := b.shop.Part(id)
		records = append(records, r)
	}
	for _, r := range records {
		for _, e := range r.Entries {
			if err := validEntry(r.Kind, e); err != nil {
				return err
			}
		}
	}
	return nil
}

var checked sync.Map // kind of record and bytes of an entry -> error or nil

// validEntry validates an entry once, however many situations it stands in.
func validEntry(kind schema.RecordKind, e schema.Entry) error {
	key := string(kind) + string(e.Raw())
	if err, done := checked.Load(key); done {
		err, _ := err.(error)
		return err
	}
	err := schema.ValidateEntry(kind, "record", e)
	checked.Store(key, err)
	return err
}

func (s *situation) record(t helper, kind schema.RecordKind, id string, list []*compact, gauges map[string]schema.Record) schema.Record {
	t.Helper()
	r := schema.NewRecord(kind, id)
	for i, c := range list {
		place := c.Counter
		if place == 0 {
			place = int64(i + 1)
		}
		r.Entries = append(r.Entries, s.entry(t, seenBefore(r.Entries, place), c, gauges))
	}
	return r.With()
}

// seen is what the writer of an entry had seen last, and the number that follows from it.
type seen struct {
	after   string // ids, by spaces
	counter int64
}

// seenBefore is everything that stands before a place in the record.
func seenBefore(entries []schema.Entry, place int64) seen {
	if n := len(entries); n > 0 && entries[n-1].Counter < place && entries[n-1].Counter == int64(n) {
		return seen{entries[n-1].ID, int64(n) + 1} // one line
	}
	known := slices.DeleteFunc(slices.Clone(entries), func(e schema.Entry) bool { return e.Counter >= place })
	heads := schema.Heads(known)
	return seen{strings.Join(heads, " "), schema.NextCounter(known, heads)}
}

var notID = regexp.MustCompile(`[^A-Za-z0-9._-]+`)

// entryID is the id of the entry of that name.
func entryID(name string) string { return notID.ReplaceAllString(name, "-") }

var decoded, unchanged sync.Map // line or place -> schema.Entry

// place is an entry of a base at its place in the order.
type place struct {
	origin *situation
	entry  *compact
	saw    seen
}

// entry builds an entry; one that stands unchanged in its base, once.
func (s *situation) entry(t helper, saw seen, c *compact, gauges map[string]schema.Record) schema.Entry {
	t.Helper()
	at := place{s.origin, c, saw}
	if e, ok := unchanged.Load(at); ok && s.origin != nil {
		return e.(schema.Entry)
	}
	e := s.newEntry(t, saw, c, gauges)
	if s.origin != nil && slices.ContainsFunc(s.origin.lists(), func(list []*compact) bool { return slices.Contains(list, c) }) {
		unchanged.Store(at, e)
	}
	return e
}

func (s *situation) newEntry(t helper, saw seen, c *compact, gauges map[string]schema.Record) schema.Entry {
	t.Helper()
	at := when(t, s.start, c.At)
	entered := at
	if c.Entered != "" {
		entered = when(t, s.start, c.Entered)
	}
	data := c.Data
	if gauges != nil {
		data = copied(data).(map[string]any)
		snapshots(t, data, gauges, at)
	}
	device := c.Device
	if device == "" {
		device = "bay-2"
	}
	line, err := json.Marshal(map[string]any{
		"id": entryID(c.Name), "kind": c.Kind, "by": c.By, "device": device, "counter": saw.counter,
		"after": strings.Fields(saw.after), "sig": unsigned,
		"at": at.UTC().Format(time.RFC3339), "entered": entered.UTC().Format(time.RFC3339), "data": data,
	})
	if err != nil {
		t.Fatalf("entry %s: %v", c.Name, err)
	}
	if e, ok := decoded.Load(string(line)); ok {
		return e.(schema.Entry)
	}
	canonical, err := schema.Canonical(line)
	if err != nil {
		t.Fatalf("entry %s: %v", c.Name, err)
	}
	e, err := schema.DecodeEntry(canonical)
	if err != nil {
		t.Fatalf("entry %s: %v", c.Name, err)
	}
	decoded.Store(string(line), e)
	return e
}

// unsigned stands where a signature stands: rules judge what was proven before.
var unsigned = strings.Repeat("A", 86)

// copied is a deep copy of decoded JSON.
func copied(v any) any {
	switch x := v.(type) {
	case map[string]any:
		out := make(map[string]any, len(x))
		for k, e := range x {
			out[k] = copied(e)
		}
		return out
	case []any:
		out := make([]any, len(x))
		for i, e := range x {
			out[i] = copied(e)
		}
		return out
	}
	return v
}

// snapshots puts the state of a gauge at that moment where only its id stands.
func snapshots(t helper, v any, gauges map[string]schema.Record, at time.Time) {
	t.Helper()
	switch x := v.(type) {
	case map[string]any:
		if id, ok := x["gauge"].(string); ok && x["name"] != nil {
			r, known := gauges[id]
			if !known {
				t.Fatalf("there is no gauge %q", id)
			}
			x["gauge"] = snapshot(t, r, at)
			return
		}
		for _, e := range x {
			snapshots(t, e, gauges, at)
		}
	case []any:
		for _, e := range x {
			snapshots(t, e, gauges, at)
		}
	}
}

// snapshot is what a reading copies of a gauge: its description, the due date
// of its last calibration, its last bump test unless that failed.
func snapshot(t helper, r schema.Record, at time.Time) map[string]any {
	t.Helper()
	out := map[string]any{"gauge": r.ID}
	for _, e := range r.Entries {
		if e.At.After(at) {
			continue
		}
		var d map[string]any
		if err := json.Unmarshal(e.Data, &d); err != nil {
			t.Fatal(err)
		}
		switch e.Kind {
		case "gauge":
			describe(out, d)
		case "calibration":
			out["due"] = d["due"]
		case "check":
			delete(out, "bumped")
			if d["check"] == "bump test" && d["result"] == "good" {
				out["bumped"] = e.At.UTC().Format(time.RFC3339)
			}
		}
	}
	return out
}

func describe(out, d map[string]any) {
	for _, k := range []string{"accuracy", "resolution", "sensor"} {
		if d[k] != nil {
			out[k] = d[k]
		}
	}
	for from, to := range map[string]struct{ field, unit string }{"class": {"class", "%"}, "gas_factor": {"factor", "ratio"}} {
		if c, ok := d[from].(map[string]any); ok {
			w := quantity.Written{Value: c["value"].(string), Unit: c["unit"].(string)}
			if q, err := quantity.Of[quantity.Fraction](w); err == nil {
				out[to.field] = quantity.Write(q, to.unit, 6).Value
			}
		}
	}
	if high, ok := d["range_high"].(map[string]any); ok {
		out["span"] = high // ranges of the bases start at zero
	}
}

// told prints the findings above OK for a person who reads a failed test.
func told(findings []schema.Finding) string {
	var b strings.Builder
	for _, f := range findings {
		if f.Severity == schema.OK {
			continue
		}
		fmt.Fprintf(&b, "\n  %s %s: %s: %s (limit %s) %s", f.Rule, f.Severity, f.About, f.Measured, f.Limit, f.Means)
		if f.Answered != "" {
			fmt.Fprintf(&b, " [answered by %s]", f.Answered)
		}
	}
	return b.String()
}
