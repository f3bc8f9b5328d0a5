package state

import (
	"testing"

	"feedproof/checklist/procedures"
)

func TestEveryFieldIsEvaluated(t *testing.T) {
	if len(procedures.Fields) == 0 {
		t.Fatal("procedures names no fields")
	}
	for _, f := range procedures.Fields {
		if fields[f.Name] == nil {
			t.Errorf("field %s: conditions may ask for it, and nothing evaluates it", f.Name)
		}
	}
	if len(fields) != len(procedures.Fields) {
		t.Errorf("%d fields are evaluated, %d are named", len(fields), len(procedures.Fields))
	}
}
