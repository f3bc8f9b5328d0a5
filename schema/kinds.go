package schema

import (
	"bytes"
	"encoding/json"
	"fmt"
	"reflect"
)

// kinds lists the entry kinds of each record: the one place that adding a kind
// touches besides its struct.
var kinds = map[RecordKind][]Data{
	VehicleRecord: {
		VehicleData{}, VisitData{}, PlanData{}, FitData{}, RemoveData{}, StepData{}, ReadingData{},
		CautionData{}, DatalogData{}, EvidenceData{}, HoldPointData{}, ConfirmData{}, AcknowledgeData{}, WaiveData{},
		HoldData{}, SignOffData{}, IncidentData{}, NoteData{}, CorrectData{},
	},
	ShopRecord:  {PersonData{}, KeyData{}, LimitData{}, BayData{}, NoteData{}, CorrectData{}},
	GaugeRecord: {GaugeData{}, CalibrationData{}, CheckData{}, NoteData{}, CorrectData{}},
	PartRecord:  {PartData{}, ReceiptData{}, QuarantineData{}, NoteData{}, CorrectData{}},
}

// Kinds lists the data types of a record kind, in the order of the design.
func Kinds(kind RecordKind) []Data { return kinds[kind] }

// dataType finds the struct of an entry kind in a record kind.
func dataType(kind RecordKind, entryKind string) (reflect.Type, bool) {
	for _, d := range kinds[kind] {
		if d.EntryKind() == entryKind {
			return reflect.TypeOf(d), true
		}
	}
	return nil, false
}

// decodeData reads an entry's data into its struct, strictly.
func decodeData(kind RecordKind, e Entry) (Data, error) {
	t, ok := dataType(kind, e.Kind)
	if !ok {
		return nil, fmt.Errorf("kind: %q is not an entry of a %s record", e.Kind, kind)
	}
	target := reflect.New(t)
	dec := json.NewDecoder(bytes.NewReader(e.Data))
	dec.DisallowUnknownFields()
	if err := dec.Decode(target.Interface()); err != nil {
		return nil, fmt.Errorf("data: %w", err)
	}
	return target.Elem().Interface().(Data), nil
}
