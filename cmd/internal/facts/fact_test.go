package facts

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"feedproof/schema"
	"feedproof/schema/quantity"
)

// Every kind of entry, as the frozen records hold it, has words of its own.
func TestFactOfEveryKind(t *testing.T) {
	files, err := filepath.Glob("../../../testdata/formats/v1/*.json")
	if err != nil || len(files) == 0 {
		t.Fatalf("no frozen records: %v", err)
	}
	told := map[string]bool{}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		r, err := schema.DecodeRecord(text)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range r.Entries {
			fact := Fact(e)
			if fact == e.Kind || strings.ContainsAny(fact, "\n\t") || strings.Contains(fact, ", ,") || strings.HasSuffix(fact, ": ") {
				t.Errorf("%s entry %s: said as %q", e.Kind, e.ID, fact)
			}
			told[string(r.Kind)+" "+e.Kind] = true
		}
	}
	for _, kind := range schema.RecordKinds {
		for _, d := range schema.Kinds(kind) {
			if name := string(kind) + " " + d.EntryKind(); !told[name] {
				t.Errorf("%s: is in no frozen record, so nothing tells it", name)
			}
		}
	}
}

// The second system of units, by the factors of NIST SP 811 (2008), appendix
// B.8: 1 psi = 6.894 757 kPa, 1 inHg = 3.386 389 kPa, 1 US gal = 3.785 412 L,
// 1 hp (550 ft.lbf/s) = 745.6999 W, 1 metric hp = 735.4988 W.
func TestBoth(t *testing.T) {
	for text, want := range map[string]string{
		"43.5 psi":         "43.5 psi (3.00 bar)",                 // 43.5 x 0.068 947 57 = 2.9992
		"3.00 bar":         "3.00 bar (43.5 psi)",                 // 3 / 0.068 947 57 = 43.511
		"20.0 inHg vacuum": "20.0 inHg vacuum (0.677 bar vacuum)", // 20 x 0.033 863 89 = 0.67728
		"221.3 kPa abs":    "221.3 kPa abs (32.1 psi abs)",        // 221.3 / 6.894 757 = 32.097
		"240 L/h":          "240 L/h (63.4 gph)",                  // 240 / 3.785 412 = 63.401
		"300 kW":           "300 kW (402 hp)",                     // 300 / 0.745 6999 = 402.31
		"400 PS":           "400 PS (294 kW)",                     // 400 x 0.735 4988 = 294.20
		"13.5 V":           "13.5 V",
		"unheard of":       "unheard of",
	} {
		w, err := quantity.Read(text)
		if err != nil {
			w = quantity.Written{Value: "unheard", Unit: "of"}
		}
		if got := Both(w); got != want {
			t.Errorf("Both(%s) = %q, want %q", text, got, want)
		}
	}
}

func TestAccuracy(t *testing.T) {
	for _, c := range []struct {
		g    schema.GaugeSnapshot
		want string
	}{
		{schema.GaugeSnapshot{Accuracy: quantity.Written{Value: "0.02", Unit: "V"}}, "± 0.02 V"},
		{schema.GaugeSnapshot{Class: "1.6", Span: quantity.Written{Value: "10", Unit: "bar"}}, "class 1.6 of 10 bar"},
		{schema.GaugeSnapshot{Class: "1.6"}, ""},
	} {
		if got := Accuracy(c.g); got != c.want {
			t.Errorf("%+v: %q, want %q", c.g, got, c.want)
		}
	}
}

// An entry that was taken back says by which, and a correction names what it is
// about by number. A taking-back is never taken back.
func TestToldWithCorrections(t *testing.T) {
	r := schema.NewRecord(schema.VehicleRecord, "finch")
	add := func(d schema.Data) string {
		e, err := schema.NewEntry(schema.Origin{By: "tech-1", Device: "bay-1", After: schema.Heads(r.Entries), Counter: r.MaxCounter() + 1}, d)
		if err != nil {
			t.Fatal(err)
		}
		r = r.With(e)
		return e.ID
	}
	first := add(schema.NoteData{Text: "one"})
	second := add(schema.NoteData{Text: "two"})
	add(schema.CorrectData{Entry: first, Action: schema.Void, Why: "slip"})
	undone := add(schema.CorrectData{Entry: second, Action: schema.Void, Why: "slip"})
	add(schema.CorrectData{Entry: undone, Action: schema.Void, Why: "it was right"})
	want := "note: one [taken back by #3]\nnote: two [taken back by #4]\nvoid of entry #1, slip\nvoid of entry #2, slip\nvoid of entry #4, it was right"
	if got := strings.Join(Told(r), "\n"); got != want {
		t.Errorf("told as\n%s\nwant\n%s", got, want)
	}
}
