package schema_test

import (
	"slices"
	"strings"
	"testing"

	"feedproof/schema"
)

// This program knows all of what it writes itself.
func TestNothingOfOursIsNewer(t *testing.T) {
	seen := 0
	for _, kind := range schema.RecordKinds {
		for _, e := range frozenRecord(t, kind).Entries {
			if what := schema.Newer(kind, e); what != "" {
				t.Errorf("%s %s: %s", e.Kind, e.ID, what)
			}
			seen++
		}
	}
	if seen < 60 {
		t.Errorf("%d entries looked at", seen)
	}
}

func TestNewer(t *testing.T) {
	for _, test := range []struct {
		name       string
		record     schema.RecordKind
		kind, data string
		want       string
	}{
		{"kind", schema.VehicleRecord, "hologram", `{"depth":"3"}`, `kind "hologram"`},
		{"kind of another record is wrong, not new", schema.GaugeRecord, "fit", `{}`, ""},
		{"field", schema.VehicleRecord, "note", `{"text":"x","mood":"good"}`, `field "mood"`},
		{"field inside", schema.VehicleRecord, "visit", `{"action":"open","declared":{"moon":{"value":"1","unit":"bar"}}}`, `field "moon"`},
		{"field of a quantity", schema.VehicleRecord, "visit", `{"action":"open","odometer":{"value":"1","unit":"km","by":"x"}}`, `field "by"`},
		{"word", schema.ShopRecord, "person", `{"person":"p","name":"P","roles":["lead","pilot"],"key":"x"}`, `word "pilot"`},
		{"unit", schema.VehicleRecord, "visit", `{"action":"open","odometer":{"value":"1","unit":"parsec"}}`, `unit "parsec"`},
		{"unit of a reading", schema.VehicleRecord, "reading", `{"test":"base","values":[{"name":"rail","value":"3","unit":"torr"}]}`, `unit "torr"`},
		{"reading", schema.VehicleRecord, "reading", `{"test":"sonar","values":[]}`, `reading "sonar"`},
		{"value of a reading", schema.VehicleRecord, "reading", `{"test":"base","values":[{"name":"echo","value":"3","unit":"bar"}]}`, `value "echo" of reading "base"`},
		{"all known", schema.VehicleRecord, "reading", `{"test":"base","values":[{"name":"rail","value":"3","unit":"bar"}]}`, ""},
		{"a unit of another quantity is wrong, not new", schema.VehicleRecord, "visit", `{"action":"open","odometer":{"value":"1","unit":"kg"}}`, ""},
		{"a text for a list is wrong, not new", schema.ShopRecord, "person", `{"person":"p","roles":"lead"}`, ""},
		{"a list for a text is wrong, not new", schema.VehicleRecord, "note", `{"text":[1,{"a":2}]}`, ""},
		{"nothing", schema.VehicleRecord, "note", `null`, ""},
	} {
		e := schema.Entry{ID: "a", Kind: test.kind, Data: []byte(test.data)}
		if got := schema.Newer(test.record, e); got != test.want {
			t.Errorf("%s: says %q, want %q", test.name, got, test.want)
		}
	}
}

// What is newer is taken as it is; what is wrong is refused beside it.
func TestValidateKnown(t *testing.T) {
	newer := strings.Replace(line("a", 1, `{"depth":"3"}`), `"kind":"note"`, `"kind":"hologram"`, 1)
	for want, text := range map[string]string{
		"": record(newer, line("b", 2, `{"text":"x"}`)), "missing properties: 'text'": record(newer, line("b", 2, `{}`)),
		"canonical form": record(strings.Replace(newer, `"counter":1`, `"counter": 1`, 1)), "out of order": record(line("b", 2, `{"text":"x"}`), newer),
	} {
		r, err := schema.DecodeRecord([]byte(text))
		if err != nil {
			t.Fatal(err)
		}
		if err := r.ValidateKnown(); (err == nil) != (want == "") || err != nil && !strings.Contains(err.Error(), want) {
			t.Errorf("says %v, want %q", err, want)
		}
		if r.Validate() == nil {
			t.Error("Validate takes what is newer")
		}
	}
}

func TestKnowledge(t *testing.T) {
	all := schema.Knowledge()
	if !slices.IsSorted(all) || len(slices.Compact(slices.Clone(all))) != len(all) {
		t.Error("is not sorted, or says something twice")
	}
	for _, want := range []string{"vehicle reading", "vehicle reading.values", "gauge calibration.due", "shop key", "reading gas", "unit kPa abs"} {
		if !slices.Contains(all, want) {
			t.Errorf("%q is not in it", want)
		}
	}
}

func FuzzNewer(f *testing.F) {
	f.Add("note", `{"text":"x"}`)
	f.Add("reading", `{"test":"base","values":[{"name":"rail","value":"3","unit":"bar"}]}`)
	f.Add("visit", `[{]`)
	f.Fuzz(func(t *testing.T, kind, data string) {
		e := schema.Entry{ID: "a", Kind: kind, Data: []byte(data)}
		if what := schema.Newer(schema.VehicleRecord, e); what != "" && schema.ValidateEntry(schema.VehicleRecord, "car-1", e) == nil {
			t.Errorf("%s, and it is valid", what)
		}
	})
}
