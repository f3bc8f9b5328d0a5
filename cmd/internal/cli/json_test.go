package cli

import (
	"encoding/json"
	"maps"
	"slices"
	"testing"

	"feedproof/checklist"
	"feedproof/checklist/audit"
	"feedproof/checklist/past"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"
	"feedproof/records"
	"feedproof/schema"

	"github.com/google/go-cmp/cmp"
)

// What --json prints is a contract: the fields are written here a second time,
// by hand, so that none comes or goes unseen.
func TestFieldsOfJSON(t *testing.T) {
	standings := []string{"amber", "band", "bay", "draft", "fuel", "held", "jobs", "joints", "next", "next_point", "plate", "red", "released", "stop", "unseen", "vehicle", "visit", "why"}
	full := desk.Standing{Plate: "x", Visit: "x", Jobs: "x", Bay: "x", Point: "x", Stop: "x", Joints: []string{"x"}, Released: "x", Unseen: []string{"x"}, Why: "x"}
	for _, c := range []struct {
		name  string
		value any
		want  []string
	}{
		{"board", full, standings},
		{"check", checkJSON{Standing: full}, slices.Sorted(slices.Values(append(slices.Clone(standings), "findings", "looks_like", "points", "rule_set")))},
		{"recorded", recordedJSON{}, []string{"band", "counter", "entry", "fact", "findings", "kind", "next", "vehicle"}},
		{"put", putJSON{}, []string{"facts", "id", "record"}},
		{"history", factJSON{}, []string{"at", "by", "committed", "counter", "data", "device", "entered", "entry", "fact", "kind", "late"}},
		{"history --reading", seriesJSON{Trend: &past.Trend{}}, []string{"name", "points", "trend", "unit"}},
		{"history --reading, a reading", pointJSON{}, []string{"at", "by", "conditions", "entry", "gauge", "value", "visit", "written"}},
		{"history, the years", storyJSON{}, []string{"care_ended", "components", "envelopes", "facts", "findings", "id", "incidents", "sign_offs", "vehicle", "visits", "waivers"}},
		{"board, of all", desk.Morning{}, []string{"at", "carriers", "cars", "instruments", "lots", "open", "rechecks", "releases", "waivers"}},
		{"board, an open finding", desk.OpenFinding{}, []string{"car", "days", "entry", "finding", "severity"}},
		{"board, a car with a lot on hold", audit.Carrier{}, []string{"car", "entry", "part", "plate", "position", "told"}},
		{"board, an instrument", desk.ToolDue{}, []string{"gauge", "name", "state"}},
		{"handover", checklist.Shift{}, []string{"band", "begun", "next", "physical", "unanswered", "waiting", "why"}},
		{"ask", answerJSON{}, []string{"args", "at", "columns", "name", "notes", "question", "rows"}},
		{"ask, a column", columnJSON{}, []string{"means", "name"}},
		{"ask, the questions", questionJSON{}, []string{"id", "name", "title", "usage"}},
		{"verify", records.VerifyReport{}, []string{"commits", "entries", "evidence", "forks", "head", "missing", "pinned", "records", "sign_offs"}},
		{"export", exportJSON{}, []string{"commit", "dir", "entries", "files", "records"}},
		{"export --copy", copyJSON{}, []string{"dir", "head", "key"}},
		{"sync --adopt", adoptJSON{}, []string{"device", "entries"}},
		{"explain", explainJSON{}, []string{"id", "kind", "text", "title"}},
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
		{"evidence --to", wroteJSON{}, []string{"file", "of"}},
		{"evidence", desk.Evidence{}, []string{"at", "by", "entry", "fact", "kept", "original", "sha256"}},
		{"verify --code", codeJSON{}, []string{"code", "draft", "entries", "since", "vehicle"}},
		{"failure", failureJSON{terminal.Trouble{Fix: "x"}, []schema.Finding{{}}, json.RawMessage("[]")}, []string{"done", "error", "exit", "findings", "fix"}},
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
