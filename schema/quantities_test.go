package schema_test

import (
	"encoding/json"
	"errors"
	"testing"
	"time"

	"feedproof/schema"
	"feedproof/schema/quantity"
)

// The three states and a number are four things, and nothing said is a fifth.
func TestQuantityForms(t *testing.T) {
	tests := []struct {
		json, text string
		known      bool
		or         quantity.Difference
	}{
		{`{"value":"43.50","unit":"psi"}`, "43.50 psi", true, 43.5 * quantity.PSI},
		{`{"state":"unknown"}`, "unknown", false, 7},
		{`{"state":"not measured","why":"gauge is away"}`, "not measured", false, 7},
		{`{"state":"not applicable","why":"carburettor"}`, "not applicable", false, 7},
	}
	for _, tt := range tests {
		t.Run(tt.text, func(t *testing.T) {
			var q schema.Q[quantity.Difference]
			if err := json.Unmarshal([]byte(tt.json), &q); err != nil {
				t.Fatal(err)
			}
			if again, err := json.Marshal(q); err != nil || string(again) != tt.json {
				t.Errorf("written as %s, %v", again, err)
			}
			if q.IsZero() || q.Known() != tt.known || q.String() != tt.text || q.Or(7) != tt.or {
				t.Errorf("zero %v, known %v, %q, %v", q.IsZero(), q.Known(), q, q.Or(7))
			}
			if _, err := q.SI(); (err == nil) != tt.known || err != nil && !errors.Is(err, schema.ErrNoValue) {
				t.Errorf("SI: %v", err)
			}
		})
	}
}

func TestQuantityNotGiven(t *testing.T) {
	var q schema.Q[quantity.Voltage]
	if _, err := q.SI(); !errors.Is(err, schema.ErrNoValue) || err.Error() != "not given: no value" {
		t.Errorf("SI: %v", err)
	}
	if !q.IsZero() || q.Known() || q.Or(12) != 12 {
		t.Errorf("zero %v, known %v", q.IsZero(), q.Known())
	}
	if b, err := json.Marshal(schema.GaugeData{Name: "x", Measures: schema.MeasuresGas}); err != nil || string(b) != `{"name":"x","measures":"gas"}` {
		t.Errorf("a gauge of which nothing else was said: %s, %v", b, err)
	}
}

// A state is something said, so it is written where the field may be left out.
func TestQuantityStateIsNotLeftOut(t *testing.T) {
	b, err := json.Marshal(schema.GaugeData{Name: "x", Measures: schema.MeasuresGas, GasFactor: schema.Q[quantity.Fraction]{State: schema.Unknown}})
	if want := `{"name":"x","measures":"gas","gas_factor":{"state":"unknown"}}`; err != nil || string(b) != want {
		t.Errorf("got %s, %v, want %s", b, err, want)
	}
}

func TestQuantityRefusesAnotherUnit(t *testing.T) {
	for text, good := range map[string]bool{
		`{"value":"12.6","unit":"V"}`: true, `{"value":"12.6","unit":"A"}`: false, `{"value":"12.6"}`: false,
		`{"unit":"V"}`: false, `{}`: false, `12.6`: false, `"12.6 V"`: false,
	} {
		var q schema.Q[quantity.Voltage]
		if err := json.Unmarshal([]byte(text), &q); (err == nil) != good {
			t.Errorf("%s: %v", text, err)
		}
	}
}

func TestAnswerWorst(t *testing.T) {
	for answer, want := range map[schema.Answer][2]bool{
		schema.Yes: {true, true}, schema.No: {false, false}, schema.NotKnown: {true, false}, "": {true, false}, "maybe": {true, false},
	} {
		if got := [2]bool{answer.Worst(true), answer.Worst(false)}; got != want {
			t.Errorf("%q: got %v for the worse case yes and no, want %v", answer, got, want)
		}
	}
}

func TestSeverityWords(t *testing.T) {
	words := []string{"OK", "NOTE", "FLAG", "UNPROVEN", "HOLD", "BLOCK", "STOP"}
	for i, word := range words {
		s := schema.Severity(i)
		var back schema.Severity
		if b, err := s.MarshalText(); err != nil || string(b) != word || back.UnmarshalText(b) != nil || back != s {
			t.Errorf("%d: %s, %v, back as %v", i, b, err, back)
		}
	}
	if got := schema.Severity(len(words)).String(); got != "Severity(7)" {
		t.Errorf("past the last: %s", got)
	}
	for _, word := range []string{"", "ok", "FATAL"} {
		if err := new(schema.Severity).UnmarshalText([]byte(word)); err == nil {
			t.Errorf("%q is taken for a severity", word)
		}
	}
}

func TestFindingOpen(t *testing.T) {
	for s := schema.OK; s <= schema.Stop; s++ {
		f := schema.Finding{Rule: "L01", Subject: "pump", Code: "short", About: "flow margin", Severity: s}
		if f.Open() != (s >= schema.Hold) {
			t.Errorf("%v: open %v", s, f.Open())
		}
		if f.Answered = "entry"; f.Open() {
			t.Errorf("%v: open though answered", s)
		}
		if f.Key() != "L01 pump short" {
			t.Errorf("key %q", f.Key())
		}
	}
}

// A lead signs off a car of which nothing was found.
func TestSignOffWithoutFindings(t *testing.T) {
	r := frozenRecord(t, schema.VehicleRecord)
	for _, e := range r.Entries {
		if e.Kind != "signoff" {
			continue
		}
		data, err := schema.Into[schema.SignOffData](e)
		if err != nil {
			t.Fatal(err)
		}
		data.Statement.Findings = nil
		clean, err := schema.NewEntry(schema.Origin{By: e.By, Device: e.Device, Counter: 1, Entered: time.Unix(0, 0)}, data)
		if err != nil {
			t.Fatal(err)
		}
		if err := schema.ValidateEntry(schema.VehicleRecord, r.ID, signed(t, clean)); err != nil {
			t.Error(err)
		}
		return
	}
	t.Fatal("no sign-off")
}

func TestSchemaOfUnknownKind(t *testing.T) {
	if _, err := schema.Schema("boat"); err == nil {
		t.Error("there is a schema of boats")
	}
	if err := schema.NewRecord("boat", "b").Validate(); err == nil || err.Error() != `record kind "boat": no schema` {
		t.Errorf("got %v", err)
	}
}
