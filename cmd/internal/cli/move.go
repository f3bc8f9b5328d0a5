package cli

import (
	"fmt"

	"feedproof/cmd/internal/facts"
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

// move writes an entry into the record of the car it belongs to, with a note of
// where it stood and who wrote it, and takes it back here. The other car gets
// it first: a machine that dies between leaves it in both, never in neither.
func (s *session) move(from vehicle, e schema.Entry, to, why string) error {
	other, err := s.car(to)
	if err != nil {
		return err
	}
	if other.ID == from.ID {
		return wrong("feedproof correct "+quoted(from.Data.Name)+" .. --to OTHER", "--to: %s is the car it stands in already", from.Data.Name)
	}
	data, trace, err := moved(from, e, why)
	if err != nil {
		return err
	}
	s.Say("moved to %s: #%d %s", other.Data.Name, e.Counter, facts.Fact(e))
	if err := s.record(other, e.At, data); err != nil {
		return err
	}
	if other, err = s.car(to); err != nil {
		return err
	}
	if err := s.record(other, s.Now(), trace); err != nil {
		return err
	}
	return s.record(from, s.Now(), schema.CorrectData{Entry: e.ID, Action: schema.Move, To: other.ID, Why: why})
}

// moved is an entry as the other car takes it, with a note of where it stood.
func moved(from vehicle, e schema.Entry, why string) (schema.Data, schema.NoteData, error) {
	read, ok := movable[e.Kind]
	if !ok {
		return nil, schema.NoteData{}, wrong(fmt.Sprintf("feedproof correct %s %d --why %q", quoted(from.Data.Name), e.Counter, why), "#%d %s: belongs to the record it was written in; take it back instead", e.Counter, e.Kind)
	}
	data, err := read(e)
	trace := fmt.Sprintf("The %s before this stood in the record of %s (%s) as entry %s, #%d, by %s. %s", e.Kind, from.Data.Name, from.ID, e.ID, e.Counter, e.By, why)
	return data, schema.NoteData{Text: trace}, err
}
