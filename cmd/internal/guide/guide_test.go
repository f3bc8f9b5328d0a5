package guide

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"feedproof/checklist"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/language"
	"feedproof/schema"
	"feedproof/schema/quantity"

	"pgregory.net/rapid"
)

// fataler is what helpers need of a test, drawn or not.
type fataler interface {
	Helper()
	Fatal(...any)
}

// stage is a bench in memory: one car with an open visit, two people, one
// pressure gauge and two multimeters.
type stage struct {
	record schema.Record
	shop   schema.Record
	who    string
	clock  time.Time
	place  desk.Place
	habits map[string]desk.Habits
	full   bool // the disk is full
}

func newStage(t fataler) *stage {
	t.Helper()
	s := &stage{record: schema.NewRecord(schema.VehicleRecord, "01JDA0000000000000000000AA"), shop: schema.NewRecord(schema.ShopRecord, ""), who: "tech-1",
		clock: time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC), habits: map[string]desk.Habits{}}
	for _, p := range []schema.PersonData{{Person: "tech-1", Name: "Sam Reed", Roles: []schema.Role{schema.FuelTechnician}}, {Person: "lead-1", Name: "Robin Vale", Roles: []schema.Role{schema.Lead}}} {
		s.shop.Entries = append(s.shop.Entries, s.entry(t, p))
	}
	for _, d := range []schema.Data{
		schema.VehicleData{Name: "kestrel", Plate: "KT 42", VIN: "ZZ9FP2KT0N0004711", Description: "silver hatchback", RoadUse: schema.Yes, EmissionControlled: schema.NotKnown, TankEverFuelled: schema.Yes},
		schema.VisitData{Action: schema.OpenVisit, Visit: "1", Kinds: []schema.JobKind{"a"}, Bay: "2"},
	} {
		s.record.Entries = append(s.record.Entries, s.entry(t, d))
	}
	return s
}

func (s *stage) entry(t fataler, d schema.Data) schema.Entry {
	t.Helper()
	e, err := schema.NewEntry(s.origin(s.clock), d)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// origin is that of an entry whose writer has seen all of the record.
func (s *stage) origin(at time.Time) schema.Origin {
	heads := schema.Heads(s.record.Entries)
	return schema.Origin{By: s.who, Device: "bench", After: heads, Counter: schema.NextCounter(s.record.Entries, heads), At: at, Entered: s.clock}
}

func (s *stage) now() time.Time { return s.clock }

func (s *stage) Stand() (desk.Stand, error) {
	none := func(string) (schema.Record, bool) { return schema.Record{}, false }
	a := checklist.Assess(s.record, schema.Shop{Record: s.shop, Gauge: none, Part: none}, s.clock)
	names := map[string]string{"tech-1": "Sam Reed", "lead-1": "Robin Vale"}
	return desk.Stand{Car: desk.Tag{ID: "kestrel", Name: "kestrel", Plate: "KT 42", VIN: "ZZ9FP2KT0N0004711", Words: "silver hatchback"}, Bay: "2", Who: desk.Person{ID: s.who, Name: names[s.who]}, Point: "HP0", Red: 3, Amber: 12, Assessment: a}, nil
}

func (s *stage) Record(at time.Time, d schema.Data) (schema.Entry, error) {
	if s.full {
		return schema.Entry{}, errors.New("no space left on device")
	}
	e, err := schema.NewEntry(s.origin(at), d)
	if err != nil {
		return e, err
	}
	if e, err = e.Signed(strings.Repeat("A", 86)); err != nil { // nobody checks it here
		return e, err
	}
	if err := schema.ValidateEntry(schema.VehicleRecord, s.record.ID, e); err != nil {
		return e, err
	}
	s.record.Entries = append(s.record.Entries, e)
	return e, nil
}

func (s *stage) Move(e schema.Entry, to, why string) (schema.Entry, error) {
	return s.Record(s.clock, schema.CorrectData{Entry: e.ID, Action: schema.Move, To: to, Why: why})
}

func (s *stage) Refused(point, second string) []schema.Finding {
	at, _ := s.Stand()
	return checklist.CanClose(at.Assessment, point, s.who, second)
}
func (s *stage) Cars() ([]desk.Tag, error) {
	return []desk.Tag{{ID: "kestrel", Name: "kestrel", Plate: "KT 42"}, {ID: "01JDA0000000000000000000BB", Name: "osprey", Plate: "OS 7"}}, nil
}
func (s *stage) Turn(string) error { return nil }
func (s *stage) People() ([]desk.Person, error) {
	return []desk.Person{{ID: "lead-1", Name: "Robin Vale"}, {ID: "tech-1", Name: "Sam Reed"}}, nil
}
func (s *stage) Hand(id string) error { s.who = id; return nil }
func instrument(name string, snapshot schema.GaugeSnapshot) desk.Instrument {
	return desk.Instrument{ID: snapshot.Gauge, Data: schema.GaugeData{Name: name}, Snapshot: snapshot}
}

func (s *stage) Gauges(v schema.ReadingValue) ([]desk.Instrument, error) {
	if len(v.Accepts) == 0 {
		return nil, nil
	}
	switch v.Accepts[0] {
	case quantity.Gauge(0).Dimension():
		return []desk.Instrument{instrument("rail gauge", schema.GaugeSnapshot{Gauge: "P1", Class: "0.1"})}, nil
	case quantity.Voltage(0).Dimension():
		return []desk.Instrument{instrument("meter one", schema.GaugeSnapshot{Gauge: "M1"}), instrument("meter two", schema.GaugeSnapshot{Gauge: "M2"})}, nil
	}
	return nil, nil
}
func (s *stage) Place() desk.Place         { return s.place }
func (s *stage) Keep(p desk.Place) error   { s.place = p; return nil }
func (s *stage) Habits() desk.Habits       { return s.habits[s.who] }
func (s *stage) Learn(h desk.Habits) error { s.habits[s.who] = h; return nil }

func guide(t fataler, s *stage) *Work {
	t.Helper()
	w, err := New(s, s.now, "")
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// shown is the page as text.
func shown(w *Work) string {
	var out strings.Builder
	page := w.Show()
	for _, part := range [][]Line{page.Top, {page.Banner}, page.Middle, page.Bottom} {
		for _, l := range part {
			for _, span := range l.Spans {
				out.WriteString(span.Text)
			}
			out.WriteString("\n")
		}
	}
	return strings.Join(strings.Fields(out.String()+page.Markdown), " ")
}

// A value that two instruments could have read asks once which one it was; the
// answer is remembered.
func TestWhichGaugeIsAskedOnce(t *testing.T) {
	s := newStage(t)
	w := guide(t, s)
	w.read("plug")
	for _, key := range []string{"0", ".", "0", "enter"} {
		w.Key(key)
	}
	if text := shown(w); !strings.Contains(text, "which instrument was it read on?") {
		t.Fatal(text)
	}
	w.Key("2")
	w.read("plug")
	for _, key := range []string{"0", ".", "1", "enter"} {
		w.Key(key)
	}
	var last schema.ReadingData
	readings := 0
	for _, e := range s.record.Entries {
		if d, err := schema.Into[schema.ReadingData](e); err == nil {
			last, readings = d, readings+1
		}
	}
	if readings != 2 || last.Values[0].Gauge == nil || last.Values[0].Gauge.Gauge != "M2" {
		t.Errorf("%d readings, the last %+v", readings, last)
	}
}

// The unit that is shown is the unit that is stored, whoever is used to what.
func TestShownUnitIsStored(t *testing.T) {
	for _, system := range []string{"", Metric, US} {
		for _, test := range schema.Readings {
			s := newStage(t)
			s.habits["tech-1"] = desk.Habits{System: system, Gauges: map[string]string{string(quantity.Voltage(0).Dimension()): "M1"}}
			w := guide(t, s)
			w.read(test.Name)
			f, ok := w.mode.(*form)
			a, open := f.now()
			if !ok || !open {
				t.Fatalf("%s: no form", test.Name)
			}
			if a.sort != askNumber {
				continue
			}
			unit := w.unit(a.value)
			if unit == "" || !strings.Contains(shown(w), unit) {
				t.Errorf("%s of %s: unit %q is not shown: %s", a.name, test.Name, unit, shown(w))
			}
			w.Key("1")
			w.Key("enter")
			if len(s.place.Given) == 0 && len(s.record.Entries) == 2 {
				t.Errorf("%s of %s: 1 %s was not taken: %s", a.name, test.Name, unit, w.problem)
			}
			for _, v := range s.place.Given {
				if v.Unit != "" && v.Unit != unit {
					t.Errorf("%s: shown %q, kept %q", test.Name, unit, v.Unit)
				}
			}
		}
	}
}

// What cannot be written is said, and nothing that was typed is lost.
func TestFullDisk(t *testing.T) {
	s := newStage(t)
	w := guide(t, s)
	w.read("base")
	s.full = true
	for _, key := range []string{"3", "enter"} {
		w.Key(key)
	}
	if text := shown(w); !strings.Contains(text, "no space left on device") {
		t.Fatal(text)
	}
	s.full = false
	w = guide(t, s)
	if text := shown(w); !strings.Contains(text, "READ base") || len(s.place.Given) != 1 {
		t.Errorf("what was typed is gone: %s", text)
	}
	w.Key("enter")
	if n := len(s.record.Entries); n != 3 {
		t.Errorf("%d entries, want 3: %s", n, shown(w))
	}
}

// Whatever keys are pressed: no panic, every entry valid, nothing recorded that
// is not said, the page never empty, and after leaving and coming back the same
// page is there.
func TestAnyKeys(t *testing.T) {
	keys := []string{"0", "1", "2", "3", "4", "5", "6", "7", "8", "9", ".", ",", "-", "enter", "enter", "esc", "backspace", "up", "down", "f1", "e", "?", "x", "ö", " ", "p", "s", "i"}
	rapid.Check(t, func(t *rapid.T) {
		s := newStage(t)
		w := guide(t, s)
		for range rapid.IntRange(1, 60).Draw(t, "presses") {
			before := len(s.record.Entries)
			key := rapid.SampledFrom(keys).Draw(t, "key")
			w.Key(key)
			if w.Left() {
				w = guide(t, s)
			}
			text := shown(w)
			if !strings.Contains(text, "KT 42") || !strings.Contains(text, "FUEL") && !strings.Contains(text, "STOP") {
				t.Fatalf("after %s: %s", key, text)
			}
			if n := len(s.record.Entries); n > before && w.told == "" {
				t.Fatalf("%d entries more, and nothing said: %s", n-before, text)
			}
			s.clock = s.clock.Add(time.Second)
		}
		if f, ok := w.mode.(*form); ok && len(s.place.Given) > 0 {
			again := guide(t, s)
			g, ok := again.mode.(*form)
			if !ok || g.test.Name != f.test.Name || fmt.Sprint(g.given) != fmt.Sprint(s.place.Given) {
				t.Fatalf("not the same place: %s / %s", shown(w), shown(again))
			}
		}
	})
}

// Both languages show the same page in their own words.
func TestSecondLanguage(t *testing.T) {
	s := newStage(t)
	s.habits["tech-1"] = desk.Habits{Language: "de"}
	w := guide(t, s)
	for _, want := range []string{"SYSTEM ZU", "1 EINTRAGEN", "2 ETWAS STIMMT NICHT", "3 ÜBERGEBEN", "9 NOTFALL"} {
		if text := shown(w); !strings.Contains(text, want) {
			t.Errorf("lacks %q: %s", want, text)
		}
	}
	w.Key("9")
	if text := shown(w); !strings.Contains(text, "Feuerwehr rufen") {
		t.Error(text)
	}
	if len(language.Codes()) < 2 {
		t.Error("only one language")
	}
}

// The emergency card is one key away from every page that can be reached by
// two keys, and Enter comes back.
func TestCardIsOneKeyAway(t *testing.T) {
	pages := 0
	for _, first := range []string{"1", "2", "3", "4", "6", "7", "8"} {
		for _, second := range []string{"", "1", "2", "3", "4", "5"} {
			s := newStage(t)
			w := guide(t, s)
			w.Key(first)
			if second != "" {
				w.Key(second)
			}
			if w.Left() {
				continue
			}
			pages++
			w.Key("f1")
			if text := shown(w); !strings.Contains(text, "Everyone out") {
				t.Errorf("after %s %s: %s", first, second, text)
			}
			w.Key("enter")
			if text := shown(w); strings.Contains(text, "Everyone out") {
				t.Errorf("after %s %s Enter does not come back", first, second)
			}
		}
	}
	if pages < 30 {
		t.Fatalf("only %d pages", pages)
	}
}

// A step that counts plugs asks how many, and takes no word for it.
func TestPlugsAreCounted(t *testing.T) {
	s := newStage(t)
	w := guide(t, s)
	w.step("F5", schema.StepData{Step: "F5", State: schema.StepDone})
	for _, key := range []string{"f", "o", "u", "r", "enter"} {
		w.Key(key)
	}
	if text := shown(w); !strings.Contains(text, "How many plugs?") || !strings.Contains(text, "four is no number of things") || len(s.record.Entries) != 2 {
		t.Fatal(text)
	}
	w.Key("4")
	w.Key("enter")
	d, err := schema.Into[schema.StepData](s.record.Entries[len(s.record.Entries)-1])
	if err != nil || d.Step != "F5" || d.Count != "4" {
		t.Errorf("%+v, %v", d, err)
	}
}

// A value that was typed wrongly is taken back before the reading is recorded.
func TestOneValueBack(t *testing.T) {
	s := newStage(t)
	w := guide(t, s)
	w.read("leak-down")
	for _, key := range []string{"9", "enter", "enter"} {
		w.Key(key)
	}
	i := strings.Index(shown(w), "go back one value")
	if i < 0 {
		t.Fatal(shown(w))
	}
	number := strings.Fields(shown(w)[:i])
	w.Key(number[len(number)-1])
	for _, key := range []string{"3", "enter", "2", ".", "9", "enter", "3", "0", "0", "enter", "enter"} {
		w.Key(key)
	}
	d, err := schema.Into[schema.ReadingData](s.record.Entries[len(s.record.Entries)-1])
	if err != nil || len(d.Values) != 3 || d.Values[0].Value != "3" || d.Values[1].Value != "2.9" {
		t.Errorf("%+v, %v", d, err)
	}
}

// A series goes on until its first value is left out: the points of a slope.
func TestSeries(t *testing.T) {
	s := newStage(t)
	w := guide(t, s)
	w.read("slope")
	for _, value := range []string{"100", "3.00", "200", "4.00", ""} {
		for _, r := range value {
			w.Key(string(r))
		}
		w.Key("enter")
	}
	d, err := schema.Into[schema.ReadingData](s.record.Entries[len(s.record.Entries)-1])
	if err != nil {
		t.Fatalf("%v: %s", err, shown(w))
	}
	got := ""
	for _, v := range d.Values {
		got += v.Name + " " + v.Value + " " + v.Unit + "; "
	}
	if want := "manifold 100 kPa abs; rail 3.00 bar; manifold 200 kPa abs; rail 4.00 bar; "; got != want {
		t.Errorf("%s, want %s", got, want)
	}
}

// Every joint that was opened is asked for in a leak test, and others can be
// named.
func TestLeakTestAsksForEveryJoint(t *testing.T) {
	s := newStage(t)
	w := guide(t, s)
	w.recordAt(s.clock, schema.StepData{Step: "B12", State: schema.StepDone, Joint: "rail inlet"})
	w.read("leak")
	for _, key := range []string{"4", ".", "3", "enter", "enter", "1"} { // pressure, no time held, rail inlet dry
		w.Key(key)
	}
	for _, r := range "hanger" {
		w.Key(string(r))
	}
	for _, key := range []string{"enter", "2", "enter", "1"} { // damp, no more joints, seen by lead-1
		w.Key(key)
	}
	d, err := schema.Into[schema.ReadingData](s.record.Entries[len(s.record.Entries)-1])
	if err != nil {
		t.Fatalf("%v: %s", err, shown(w))
	}
	got := ""
	for _, v := range d.Values[1:] {
		got += v.Name + " " + v.Seen + "; "
	}
	if want := "rail inlet dry; hanger damp; "; got != want || d.Second != "lead-1" {
		t.Errorf("%s by %s, want %s", got, d.Second, want)
	}
	if text := shown(w); !strings.Contains(text, "NOT SAFE, STOP") {
		t.Errorf("a damp joint is not said at once: %s", text)
	}
}

// Whoever goes on with a reading that another began is told so, and so is the
// record.
func TestReadingBegunByAnother(t *testing.T) {
	s := newStage(t)
	w := guide(t, s)
	w.read("leak-down")
	for _, key := range []string{"3", "enter"} {
		w.Key(key)
	}
	s.who = "lead-1"
	w = guide(t, s)
	if text := shown(w); !strings.Contains(text, "begun by tech-1") {
		t.Fatal(text)
	}
	for _, key := range []string{"2", ".", "9", "enter", "3", "0", "0", "enter", "enter"} {
		w.Key(key)
	}
	e := s.record.Entries[len(s.record.Entries)-1]
	d, err := schema.Into[schema.ReadingData](e)
	if err != nil || e.By != "lead-1" || d.Note != "begun by tech-1" {
		t.Errorf("%+v by %s, %v", d, e.By, err)
	}
}
