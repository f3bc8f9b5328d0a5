package records

import (
	"context"
	"encoding/json"
	"errors"
	"testing"

	"feedproof/records/signature"
	"feedproof/schema"

	"github.com/google/go-cmp/cmp"
)

// statement is a sign-off of a record, by the person whose key signs it.
func (w *world) statement(by string, r schema.Record) schema.SignOffData {
	w.t.Helper()
	st := schema.Statement{
		Meaning: "I have seen these entries", Record: r.ID, Entries: len(r.Entries), Digest: schema.Digest(r.Entries), Person: by,
		Role: schema.Lead, At: "2026-03-02T09:14:05Z", RuleSet: "1", Envelope: envelope(w.t), Findings: []schema.Finding{}, Recheck: "2026-09-02",
	}
	text, err := json.Marshal(st)
	must(w.t, err)
	canonical, err := schema.Canonical(text)
	must(w.t, err)
	armored, err := signature.Sign(signature.Statement, canonical, w.keys[by])
	must(w.t, err)
	return schema.SignOffData{Statement: st, Signature: string(armored)}
}

func envelope(t testing.TB) schema.Envelope {
	t.Helper()
	var e schema.Envelope
	must(t, json.Unmarshal([]byte(`{"power":{"value":"300","unit":"kW"},"manifold":{"value":"220","unit":"kPa abs"},`+
		`"speed":{"value":"7000","unit":"rpm"},"ethanol_min":{"value":"0","unit":"%"},"ethanol_max":{"value":"10","unit":"%"},`+
		`"altitude":{"value":"500","unit":"m"},"fuel_level":{"value":"25","unit":"%"}}`), &e))
	return e
}

// signed is the statement of a sign-off as it was signed, and its signature.
func signed(t testing.TB, e schema.Entry) (statement, armored string) {
	t.Helper()
	var data struct {
		Statement json.RawMessage `json:"statement"`
		Signature string          `json:"signature"`
	}
	must(t, json.Unmarshal(e.Data, &data))
	return string(data.Statement), data.Signature
}

func gateOf(findings ...schema.Finding) Gate {
	return func(schema.Record, schema.Shop) []schema.Finding { return findings }
}

func TestGateRefusesACommit(t *testing.T) {
	open := schema.Finding{Rule: "L01", Subject: "pump", Code: "short", Severity: schema.Block, About: "flow margin"}
	answered := schema.Finding{Rule: "L05", Severity: schema.Hold, About: "slope", Answered: "01"}
	flag := schema.Finding{Rule: "L06", Severity: schema.Flag, About: "base pressure"}
	w := newShop(t)
	w.vehicle("car-1")
	w.note("car-1", "pump whines")
	before, err := w.shop.head()
	must(t, err)
	req := CommitRequest{Vehicle: "car-1", By: "tech-1", Key: w.keys["tech-1"], Gate: gateOf(open, answered, flag)}
	_, err = w.shop.Commit(context.Background(), req)
	var refused *RefusedError
	if !errors.As(err, &refused) {
		t.Fatalf("commit says %v", err)
	}
	if diff := cmp.Diff([]schema.Finding{open}, refused.Findings); diff != "" {
		t.Error(diff)
	}
	after, err := w.shop.head()
	must(t, err)
	if draft, err := w.shop.Draft("car-1"); before != after || err != nil || len(draft) != 1 {
		t.Errorf("a refused commit changed something: %s to %s, draft of %d, %v", before, after, len(draft), err)
	}
	req.Held = true
	req.Extra = []schema.Entry{w.entry("tech-1", schema.VehicleRecord, "car-1", schema.HoldData{Findings: []schema.Finding{open}, RuleSet: "1"})}
	done, err := w.shop.Commit(context.Background(), req)
	must(t, err)
	if len(done.Added) != 2 || done.Added[1].Kind != "hold" || len(done.Findings) != 3 {
		t.Errorf("held commit added %d entries under %d findings", len(done.Added), len(done.Findings))
	}
}

func TestWhoMaySignOff(t *testing.T) {
	for _, try := range []struct {
		name    string
		by      string
		gate    Gate
		prepare func(*world) schema.Entry
		want    any // pointer to the error type, nil for success
	}{
		{"the lead", "lead-1", nil, func(w *world) schema.Entry { return w.signOff("lead-1", "car-1") }, nil},
		{"a technician", "tech-1", nil, func(w *world) schema.Entry { return w.signOff("tech-1", "car-1") }, new(*RoleError)},
		{"a technician for the lead", "tech-1", nil, func(w *world) schema.Entry { return w.signOff("lead-1", "car-1") }, new(*RoleError)},
		{"with a note in the draft", "lead-1", nil, func(w *world) schema.Entry {
			w.note("car-1", "leaks")
			return w.signOff("lead-1", "car-1")
		}, new(*DraftError)},
		{"with a flag unanswered", "lead-1", gateOf(schema.Finding{Rule: "L06", Severity: schema.Flag}),
			func(w *world) schema.Entry { return w.signOff("lead-1", "car-1") }, new(*RefusedError)},
		{"with a flag answered", "lead-1", gateOf(schema.Finding{Rule: "L06", Severity: schema.Flag, Answered: "01"}),
			func(w *world) schema.Entry { return w.signOff("lead-1", "car-1") }, nil},
		{"a statement signed by another", "lead-1", nil, func(w *world) schema.Entry {
			r, err := w.shop.Record(schema.VehicleRecord, "car-1")
			must(w.t, err)
			w.keys["lead-1"], w.keys["tech-1"] = w.keys["tech-1"], w.keys["lead-1"]
			st := w.statement("lead-1", r)
			w.keys["lead-1"], w.keys["tech-1"] = w.keys["tech-1"], w.keys["lead-1"]
			return w.entry("lead-1", schema.VehicleRecord, "car-1", st)
		}, new(*RoleError)},
	} {
		t.Run(try.name, func(t *testing.T) {
			w := newShop(t)
			w.vehicle("car-1")
			e := try.prepare(w)
			_, err := w.shop.SignOff(context.Background(), SignOffRequest{Vehicle: "car-1", By: try.by, Key: w.keys[try.by], Gate: try.gate, Entry: e})
			if try.want == nil {
				must(t, err)
			} else if err == nil || !errors.As(err, try.want) {
				t.Errorf("sign-off says %v, want a %T", err, try.want)
			}
		})
	}
}
