package desk

import (
	"fmt"
	"time"

	"feedproof/schema"
)

// movable are the facts that can have been written to the wrong car. What is
// said about a record, such as an answer, a closing or a sign-off, belongs to
// it, and is taken back instead.
var movable = map[string]func(schema.Entry) (schema.Data, error){
	"reading": as[schema.ReadingData], "step": as[schema.StepData], "fit": as[schema.FitData], "remove": as[schema.RemoveData],
	"caution": as[schema.CautionData], "evidence": as[schema.EvidenceData], "datalog": as[schema.DatalogData],
	"note": as[schema.NoteData], "incident": as[schema.IncidentData],
}

func as[T schema.Data](e schema.Entry) (schema.Data, error) {
	data, err := schema.Into[T](e)
	return data, err
}

// moved is an entry as the other car takes it, with a note of where it stood.
func moved(from Car, e schema.Entry, why string) (schema.Data, schema.NoteData, error) {
	read, ok := movable[e.Kind]
	if !ok {
		return nil, schema.NoteData{}, usage(fmt.Sprintf("feedproof correct %s %d --why %q", Quoted(from.Data.Name), e.Counter, why), fmt.Sprintf("#%d %s", e.Counter, e.Kind), "belongs to the record it was written in; take it back instead")
	}
	data, err := read(e)
	trace := fmt.Sprintf("The %s before this stood in the record of %s (%s) as entry %s, #%d, by %s. %s", e.Kind, from.Data.Name, from.ID, e.ID, e.Counter, e.By, why)
	return data, schema.NoteData{Text: trace}, err
}

// Move writes an entry of a car into the record of the one it belongs to, with
// a note of where it stood and who wrote it, and takes it back here. The other
// car gets it first: a machine that dies between leaves it in both, never in
// neither. Whatever was written is handed over, also when it stops midway.
func (d *Desk) Move(from Car, e schema.Entry, to, why string) (written []Recorded, err error) {
	other, err := d.Car(to)
	if err != nil {
		return nil, err
	}
	if other.ID == from.ID {
		return nil, usage("feedproof correct "+Quoted(from.Data.Name)+" .. --to OTHER", "--to", "%s is the car it stands in already", from.Data.Name)
	}
	err = moving(from, e, other.ID, why, d.Now(), func(car string, at time.Time, data schema.Data) error {
		c, err := d.CarOf(car)
		if err != nil {
			return err
		}
		done, err := d.Record(c, at, data)
		if err == nil {
			written = append(written, done)
		}
		return err
	})
	return written, err
}

// moving writes what moves an entry from a car to another, in that order.
func moving(from Car, e schema.Entry, to, why string, now time.Time, write func(car string, at time.Time, data schema.Data) error) error {
	data, trace, err := moved(from, e, why)
	if err != nil {
		return err
	}
	if err := write(to, e.At, data); err != nil {
		return err
	}
	if err := write(to, now, trace); err != nil {
		return err
	}
	return write(from.ID, now, schema.CorrectData{Entry: e.ID, Action: schema.Move, To: to, Why: why})
}
