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
