package cli

import (
	"encoding/json"
	"maps"
	"slices"
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"
	"feedproof/records"

	"github.com/google/go-cmp/cmp"
)

// What --json prints is a contract: the fields are written here a second time,
// by hand, so that none comes or goes unseen.
func TestFieldsOfJSON(t *testing.T) {
	standings := []string{"amber", "bay", "draft", "fuel", "held", "jobs", "next", "next_point", "plate", "red", "vehicle", "visit"}
	full := desk.Standing{Plate: "x", Visit: "x", Jobs: "x", Bay: "x", Point: "x"}
	for _, c := range []struct {
		name  string
		value any
		want  []string
	}{
		{"board", full, standings},
		{"check", checkJSON{Standing: full}, slices.Sorted(slices.Values(append(slices.Clone(standings), "findings", "looks_like", "points", "rule_set")))},
		{"recorded", recordedJSON{}, []string{"counter", "entry", "fact", "findings", "fuel_open", "kind", "next", "vehicle"}},
		{"put", putJSON{}, []string{"facts", "id", "record"}},
		{"history", factJSON{}, []string{"at", "by", "committed", "counter", "data", "device", "entered", "entry", "fact", "kind", "late"}},
		{"commit", commitJSON{}, []string{"commit", "entries", "findings", "held", "vehicle"}},
		{"vehicle list", vehicleJSON{}, []string{"draft", "entries", "id", "vehicle"}},
		{"vehicle show", showJSON{}, []string{"fitted", "id", "stands", "vehicle"}},
		{"sync", records.SyncReport{Stayed: "x"}, []string{"came", "drafts", "drafts_kept", "drafts_stayed", "head", "merged", "remote", "set_aside", "went"}},
		{"sync --set-aside", records.Aside{}, []string{"commit", "new", "reason", "remote", "when"}},
		{"sync --drafts", records.TravelledDraft{}, []string{"by", "device", "entries", "when"}},
		{"person list", personLine{}, []string{"active", "initials", "keys", "name", "person", "roles"}},
		{"gauge list", desk.Instrument{}, []string{"gauge", "id", "state"}},
		{"part list", desk.Lot{Quarantine: "x"}, []string{"id", "part", "quarantine", "received"}},
		{"step list", stepJSON{By: "x", Point: "x", Test: "x"}, []string{"by", "done", "point", "state", "step", "test", "text", "who"}},
		{"shop new", shopNewJSON{}, []string{"device", "key", "lead", "shop"}},
		{"evidence", desk.Evidence{}, []string{"at", "by", "entry", "fact", "kept", "original", "sha256"}},
		{"verify --code", codeJSON{}, []string{"code", "draft", "entries", "since", "vehicle"}},
		{"failure", terminal.Trouble{Fix: "x"}, []string{"error", "exit", "fix"}},
	} {
		text, err := json.Marshal(c.value)
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		var fields map[string]json.RawMessage
		if err := json.Unmarshal(text, &fields); err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		if diff := cmp.Diff(c.want, slices.Sorted(maps.Keys(fields))); diff != "" {
			t.Errorf("%s\n%s", c.name, diff)
		}
	}
}
