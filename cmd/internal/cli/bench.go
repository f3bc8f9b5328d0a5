package cli

import (
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"time"

	"feedproof/checklist"
	"feedproof/cmd/internal/guide"
	"feedproof/records/signature"
	"feedproof/schema"
)

// bench joins the guided mode to the shop: one car, one person, one bay.
type bench struct {
	*session
	car         string // id
	bay         string
	who         signature.Member
	instruments []instrument
	read        time.Time // when the instruments were
}

// freshGauges is how long what was read of the instruments holds: a bump test
// that was just recorded in another window counts.
const freshGauges = time.Second

// Stand is how the car stands now.
func (b *bench) Stand() (guide.Stand, error) {
	v, err := b.vehicle(b.car)
	if err != nil {
		return guide.Stand{}, err
	}
	a, err := b.assess(v)
	if err != nil {
		return guide.Stand{}, err
	}
	st := stands(v, a)
	bay := b.bay
	if bay == "" {
		bay = st.Bay
	}
	return guide.Stand{
		Car: carOf(v), Bay: bay, Who: guide.Person{ID: b.who.Person, Name: b.who.Name},
		Point: st.Point, Red: st.Red, Amber: st.Amber, Held: st.Held, Assessment: a, ClockBehind: b.behind(v),
	}, nil
}

func carOf(v vehicle) guide.Car {
	return guide.Car{ID: v.ID, Name: v.Data.Name, Plate: v.Data.Plate, VIN: v.Data.VIN, Words: v.Data.Description}
}

// Record writes a fact about the car; it is on the disk on return.
func (b *bench) Record(at time.Time, data schema.Data) (schema.Entry, error) {
	return b.recordOn(b.car, at, data)
}

func (b *bench) recordOn(car string, at time.Time, data schema.Data) (schema.Entry, error) {
	if err := b.may(b.who.Person, data.EntryKind()); err != nil {
		return schema.Entry{}, b.mended(err)
	}
	e, err := b.typed(car, b.who.Person, at, data)
	return e, b.mended(err)
}

// mended is an error with what mends it, in a line.
func (b *bench) mended(err error) error {
	if err == nil {
		return nil
	}
	t := b.explainFailure(err)
	return errors.New(joinNonEmpty(t.Text, t.Fix))
}

// Move writes an entry into the record of the car it belongs to, and takes it
// back here.
func (b *bench) Move(e schema.Entry, to, why string) (schema.Entry, error) {
	v, err := b.vehicle(b.car)
	if err != nil {
		return schema.Entry{}, err
	}
	data, trace, err := moved(v, e, why)
	if err != nil {
		return schema.Entry{}, err
	}
	if _, err := b.recordOn(to, e.At, data); err != nil {
		return schema.Entry{}, err
	}
	if _, err := b.recordOn(to, b.Now(), trace); err != nil {
		return schema.Entry{}, err
	}
	return b.Record(b.Now(), schema.CorrectData{Entry: e.ID, Action: schema.Move, To: to, Why: why})
}

// Refused lists what keeps a hold point from being closed.
func (b *bench) Refused(point, second string) []schema.Finding {
	v, err := b.vehicle(b.car)
	if err == nil {
		var a checklist.Assessment
		if a, err = b.assess(v); err == nil {
			return checklist.CanClose(a, point, b.who.Person, second)
		}
	}
	return []schema.Finding{{Rule: point, Severity: schema.Hold, About: point, Measured: err.Error(), Next: "try again"}}
}

// Cars lists the cars with an open visit.
func (b *bench) Cars() ([]guide.Car, error) {
	all, err := b.present()
	if err != nil {
		return nil, err
	}
	var out []guide.Car
	for _, v := range all {
		if draft, err := b.shop.Draft(v.ID); err == nil {
			v.Draft = draft
		}
		if inShop(v.whole()) {
			out = append(out, carOf(v))
		}
	}
	return out, nil
}

// inShop reports that the last visit of a record is open.
func inShop(r schema.Record) bool {
	for _, e := range slices.Backward(r.Entries) {
		if d, err := schema.Into[schema.VisitData](e); err == nil {
			return d.Action == schema.OpenVisit
		}
	}
	return false
}

// Turn goes to another car.
func (b *bench) Turn(id string) error {
	b.car = id
	return nil
}

// People lists who is active in the shop.
func (b *bench) People() ([]guide.Person, error) {
	roster, err := b.shop.Roster()
	if err != nil {
		return nil, err
	}
	var out []guide.Person
	for _, m := range roster.Members() {
		if m.Active() {
			out = append(out, guide.Person{ID: m.Person, Name: m.Name})
		}
	}
	return out, nil
}

// Hand gives the work to another person, here alone: another window of this
// machine keeps its own.
func (b *bench) Hand(id string) error {
	m, err := b.person(id)
	if err == nil {
		b.who = m
	}
	return err
}

// Gauges lists the instruments that read a value, the best sort first.
func (b *bench) Gauges(v schema.ReadingValue) ([]guide.Gauge, error) {
	if b.read.IsZero() || b.Now().Sub(b.read) > freshGauges {
		all, err := b.gauges()
		if err != nil {
			return nil, err
		}
		b.instruments, b.read = all, b.Now()
	}
	var out []guide.Gauge
	for _, g := range fitting(b.instruments, v) {
		out = append(out, guide.Gauge{Name: g.Data.Name, Snapshot: g.Snapshot})
	}
	return out, nil
}

// Place is where this bay was with the car.
func (b *bench) Place() guide.Place { return keptIn[guide.Place](b.placeFile()) }

// Keep keeps it, on the disk on return.
func (b *bench) Keep(p guide.Place) error { return keepIn(b.placeFile(), p) }

// Habits are what the person is used to.
func (b *bench) Habits() guide.Habits { return keptIn[guide.Habits](b.habitFile(b.who.Person)) }

// Learn keeps them.
func (b *bench) Learn(h guide.Habits) error { return keepIn(b.habitFile(b.who.Person), h) }

// workDir holds what the guided mode keeps beside the records: where each bay
// was with each car, and what each person is used to.
const workDir = "work"

func (b *bench) placeFile() string {
	return filepath.Join(b.shop.Dir(), workDir, "bay-"+fileName(b.bay), b.car+".json")
}

func (s *session) habitFile(person string) string {
	return filepath.Join(s.shop.Dir(), workDir, fileName(person)+".json")
}

// fileName makes a name out of what was typed for a bay.
func fileName(text string) string {
	safe := func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || r == '-' {
			return r
		}
		return '_'
	}
	return string(mapRunes(text, safe))
}

func mapRunes(text string, f func(rune) rune) []rune {
	out := []rune(text)
	for i, r := range out {
		out[i] = f(r)
	}
	return out
}

// keptIn reads a small file; without one, or with one that a power cut spoiled,
// it begins anew: no fact is kept there.
func keptIn[T any](path string) T {
	var v T
	text, err := os.ReadFile(path)
	if err != nil || json.Unmarshal(text, &v) != nil {
		var empty T
		return empty
	}
	return v
}

// keepIn writes a small file whole or not at all. A shop that cannot be written
// keeps no place.
func keepIn(path string, v any) error {
	text, err := json.Marshal(v)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return err
	}
	f, err := os.CreateTemp(filepath.Dir(path), ".keep-*")
	if err != nil {
		return err
	}
	_, err = f.Write(text)
	err = errors.Join(err, f.Sync(), f.Close())
	if err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		err = errors.Join(err, ignoreMissing(os.Remove(f.Name())))
	}
	return err
}

func ignoreMissing(err error) error {
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}
