package desk

import (
	"fmt"

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

// Moved is an entry as the other car takes it, with a note of where it stood.
func Moved(from Car, e schema.Entry, why string) (schema.Data, schema.NoteData, error) {
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
	data, trace, err := Moved(from, e, why)
	if err != nil {
		return nil, err
	}
	there, err := d.Record(other, e.At, data)
	if err != nil {
		return nil, err
	}
	traced, err := d.Record(there.Car, d.Now(), trace)
	if err != nil {
		return []Recorded{there}, err
	}
	here, err := d.Record(from, d.Now(), schema.CorrectData{Entry: e.ID, Action: schema.Move, To: other.ID, Why: why})
	if err != nil {
		return []Recorded{there, traced}, err
	}
	return []Recorded{there, traced, here}, nil
}
