package desk

import (
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"feedproof/checklist"
	"feedproof/records/signature"
	"feedproof/schema"
)

// Bench is a person who stays at one car: the guided mode's way into the shop.
// Each look at the car is a look at the shop.
type Bench struct {
	desk *Desk
	car  string // id
	bay  string
	who  signature.Member
	seen time.Time // when the shop was last looked at
}

// fresh is how long a look holds for what is asked between two steps: a bump
// test that was just recorded in another window counts.
const fresh = time.Second

// Bench puts who is at the desk to a car, in a bay; without one, this machine's.
func (d *Desk) Bench(c Car, bay string) (*Bench, error) {
	me, err := d.Who()
	if bay == "" {
		bay = d.Device().Bay
	}
	return &Bench{desk: d, car: c.ID, bay: bay, who: me}, err
}

// Tag is how a car is told apart.
type Tag struct{ ID, Name, Plate, VIN, Words string }

// Person is somebody of the shop.
type Person struct{ ID, Name string }

// Stand is how a car stands before who works on it.
type Stand struct {
	Car        Tag
	Bay        string
	Who        Person
	Point      string // the next hold point
	Red, Amber int    // findings not answered
	Held       bool
	Assessment checklist.Assessment
	// ClockBehind says that the clock of this machine is behind the record.
	ClockBehind bool
}

func (b *Bench) refresh() error {
	err := b.desk.Refresh()
	if err == nil {
		b.seen = b.desk.Now()
	}
	return err
}

// Car is the car that is worked on, as it is now.
func (b *Bench) Car() (Car, error) {
	if err := b.refresh(); err != nil {
		return Car{}, err
	}
	return b.desk.CarOf(b.car)
}

// Stand is how the car stands now.
func (b *Bench) Stand() (Stand, error) {
	c, err := b.Car()
	if err != nil {
		return Stand{}, err
	}
	a, err := b.desk.Assess(c)
	if err != nil {
		return Stand{}, err
	}
	st := Stands(c, a)
	bay := b.bay
	if bay == "" {
		bay = st.Bay
	}
	return Stand{
		Car: tagOf(c), Bay: bay, Who: Person{ID: b.who.Person, Name: b.who.Name},
		Point: st.Point, Red: st.Red, Amber: st.Amber, Held: st.Held, Assessment: a, ClockBehind: b.desk.behind(c),
	}, nil
}

func tagOf(c Car) Tag {
	return Tag{ID: c.ID, Name: c.Data.Name, Plate: c.Data.Plate, VIN: c.Data.VIN, Words: c.Data.Description}
}

// Record writes a fact about the car; it is on the disk on return.
func (b *Bench) Record(at time.Time, data schema.Data) (schema.Entry, error) {
	return b.recordOn(b.car, at, data)
}

// recordOn looks at the shop first: whoever answers may have sat there long, and
// another window may have committed what was in the draft.
func (b *Bench) recordOn(car string, at time.Time, data schema.Data) (schema.Entry, error) {
	err := b.refresh()
	if err != nil {
		return schema.Entry{}, mended(err)
	}
	c, err := b.desk.CarOf(car)
	if err != nil {
		return schema.Entry{}, mended(err)
	}
	if data, err = b.desk.placed(c, data); err != nil {
		return schema.Entry{}, mended(err)
	}
	e, err := b.desk.draw(car, b.who.Person, at, data)
	return e, mended(err)
}

// mended is an error with what mends it, in a line.
func mended(err error) error {
	if err == nil {
		return nil
	}
	e := Explain(err)
	return errors.New(Joined(e.Wrong, e.Mend))
}

// Move writes an entry into the record of the car it belongs to, and takes it
// back here: that is the entry it gives. See [Desk.Move].
func (b *Bench) Move(e schema.Entry, to, why string) (last schema.Entry, err error) {
	c, err := b.desk.CarOf(b.car)
	if err != nil {
		return schema.Entry{}, err
	}
	err = moving(c, e, to, why, b.desk.Now(), func(car string, at time.Time, data schema.Data) (err error) {
		last, err = b.recordOn(car, at, data)
		return err
	})
	return last, err
}

// Refused lists what keeps a hold point from being closed.
func (b *Bench) Refused(point, second string) []schema.Finding {
	c, err := b.Car()
	if err == nil {
		var a checklist.Assessment
		if a, err = b.desk.Assess(c); err == nil {
			return checklist.CanClose(a, point, b.who.Person, second)
		}
	}
	return []schema.Finding{{Rule: point, Severity: schema.Hold, About: point, Measured: err.Error(), Next: "try again"}}
}

// Cars lists the cars with an open visit.
func (b *Bench) Cars() ([]Tag, error) {
	all, err := b.desk.Present()
	if err != nil {
		return nil, err
	}
	var out []Tag
	for _, c := range all {
		if c.InShop() {
			out = append(out, tagOf(c))
		}
	}
	return out, nil
}

// Turn goes to another car.
func (b *Bench) Turn(id string) error {
	b.car = id
	return nil
}

// People lists who is active in the shop.
func (b *Bench) People() ([]Person, error) {
	roster, err := b.desk.Roster()
	if err != nil {
		return nil, err
	}
	var out []Person
	for _, m := range roster.Members() {
		if m.Active() {
			out = append(out, Person{ID: m.Person, Name: m.Name})
		}
	}
	return out, nil
}

// Hand gives the work to another person, here alone: another window of this
// machine keeps its own.
func (b *Bench) Hand(id string) error {
	m, err := b.desk.Person(id)
	if err == nil {
		b.who = m
	}
	return err
}

// Gauges lists the instruments that read a value, the best sort first.
func (b *Bench) Gauges(v schema.ReadingValue) ([]Instrument, error) {
	if b.desk.Now().Sub(b.seen) > fresh {
		if err := b.refresh(); err != nil {
			return nil, err
		}
	}
	all, err := b.desk.Gauges()
	return Fitting(all, v), err
}

// Place is where this bay was with the car.
func (b *Bench) Place() Place { return keptIn[Place](b.placeFile()) }

// Keep keeps it, on the disk on return.
func (b *Bench) Keep(p Place) error { return keepIn(b.placeFile(), p) }

// Habits are what the person is used to.
func (b *Bench) Habits() Habits { return b.desk.Habits(b.who.Person) }

// Learn keeps them.
func (b *Bench) Learn(h Habits) error { return b.desk.Learn(b.who.Person, h) }

// Habits are what a person is used to on this machine.
func (d *Desk) Habits(person string) Habits { return keptIn[Habits](d.habitFile(person)) }

// Learn keeps what a person is used to, on the disk on return.
func (d *Desk) Learn(person string, h Habits) error { return keepIn(d.habitFile(person), h) }

// workDir holds what the guided mode keeps beside the records: where each bay
// was with each car, and what each person is used to.
const workDir = "work"

func (b *Bench) placeFile() string {
	return filepath.Join(b.desk.shop.Dir(), workDir, "bay-"+fileName(b.bay), b.car+".json")
}

func (d *Desk) habitFile(person string) string {
	return filepath.Join(d.shop.Dir(), workDir, fileName(person)+".json")
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
