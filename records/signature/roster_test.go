package signature

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"feedproof/schema"

	"golang.org/x/crypto/ssh"
	"pgregory.net/rapid"
)

func entry(t testing.TB, counter int64, data schema.Data) schema.Entry {
	t.Helper()
	e, err := schema.NewEntry(schema.Origin{By: "lead-1", Device: "bay-1", Counter: counter, Entered: time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)}, data)
	must(t, err)
	return e
}

func personData(id string, key ssh.Signer, roles ...schema.Role) schema.PersonData {
	return schema.PersonData{Person: id, Name: id, Roles: roles, Key: KeyLine(key.PublicKey())}
}

func keyData(id string, key ssh.Signer, action schema.KeyAction) schema.KeyData {
	return schema.KeyData{Person: id, Key: KeyLine(key.PublicKey()), Action: action}
}

// rosterOf folds entries of which each saw those with a lower counter.
func rosterOf(entries ...schema.Entry) Roster {
	entries = slices.Clone(entries)
	for i := range entries {
		for _, e := range entries {
			if e.Counter < entries[i].Counter {
				entries[i].After = append(slices.Clip(entries[i].After), e.ID)
			}
		}
	}
	return NewRoster(schema.NewRecord(schema.ShopRecord, "shop-1").With(entries...))
}

func TestWhoMayWriteWhat(t *testing.T) {
	roster := rosterOf(
		entry(t, 1, personData("lead-1", newSigner(t), schema.Lead)),
		entry(t, 2, personData("tech-1", newSigner(t), schema.Technician)),
		entry(t, 3, personData("audit-1", newSigner(t), schema.Auditor)),
		entry(t, 4, personData("both-1", newSigner(t), schema.Auditor, schema.Lead)),
		entry(t, 5, personData("none-1", newSigner(t))),
	)
	for _, c := range []struct {
		person string
		may    string
		mayNot string
	}{
		{"lead-1", "person key limit waive signoff reading note", ""},
		{"tech-1", "reading step caution note holdpoint acknowledge bay receipt", "person key limit waive signoff"},
		{"audit-1", "note", "reading person signoff bay"},
		{"both-1", "note reading signoff person", ""},
		{"none-1", "", "note reading signoff"},
		{"nobody", "", "note reading signoff"},
	} {
		for _, kind := range strings.Fields(c.may) {
			if err := roster.May(c.person, kind); err != nil {
				t.Errorf("%s may not write a %s: %v", c.person, kind, err)
			}
		}
		for _, kind := range strings.Fields(c.mayNot) {
			if roster.May(c.person, kind) == nil {
				t.Errorf("%s may write a %s", c.person, kind)
			}
		}
	}
}

func TestWaiverIsSignedByTheOneWhoWaives(t *testing.T) {
	roster := rosterOf(entry(t, 1, personData("lead-1", newSigner(t), schema.Lead)), entry(t, 2, personData("lead-2", newSigner(t), schema.Lead)))
	waiver := entry(t, 3, schema.WaiveData{}) // by lead-1
	if err := roster.MaySign("lead-1", waiver); err != nil {
		t.Error(err)
	}
	if roster.MaySign("lead-2", waiver) == nil {
		t.Error("a lead signed another's waiver")
	}
	if err := roster.MaySign("lead-2", entry(t, 3, schema.NoteData{Text: "x"})); err != nil {
		t.Errorf("a note by another was refused: %v", err)
	}
}

func TestRevokedKeyDoesNotComeBack(t *testing.T) {
	lead, old, fresh := newSigner(t), newSigner(t), newSigner(t)
	history := []schema.Entry{
		entry(t, 1, personData("lead-1", lead, schema.Lead)),
		entry(t, 2, personData("tech-1", old, schema.Technician)),
		entry(t, 3, keyData("tech-1", old, revokeKey)),
	}
	roster := rosterOf(history...)
	if m, err := roster.Signer(old.PublicKey()); err == nil || m.Person != "tech-1" || !strings.Contains(err.Error(), "revoked at counter 3") {
		t.Errorf("signer is %s, %v", m.Person, err)
	}
	if roster.May("tech-1", "note") == nil {
		t.Error("a person without a key may write")
	}
	for name, back := range map[string]schema.Data{
		"by a key entry":    keyData("tech-1", old, addKey),
		"by a person entry": personData("tech-1", old, schema.Lead),
	} {
		again := rosterOf(append(history, entry(t, 4, back))...)
		if _, err := again.Signer(old.PublicKey()); err == nil || len(again.Problems()) != 1 {
			t.Errorf("%s: a revoked key came back, problems %v", name, again.Problems())
		}
		if m, _ := again.Member("tech-1"); m.Has(schema.Lead) {
			t.Errorf("%s: the entry counted", name)
		}
	}
	renewed := rosterOf(append(history, entry(t, 4, keyData("tech-1", fresh, addKey)))...)
	if m, err := renewed.Signer(fresh.PublicKey()); err != nil || m.Person != "tech-1" {
		t.Errorf("the new key is %s's, %v", m.Person, err)
	}
	if lines := strings.Count(renewed.AllowedSigners(), "tech-1 "); lines != 2 {
		t.Errorf("%d lines of allowed signers, want the old key and the new one", lines)
	}
}

// However entries of two machines are merged, a key is one person's, and no order of arrival changes the roster.
func TestRosterDependsOnEntriesAlone(t *testing.T) {
	keys := []ssh.Signer{newSigner(t), newSigner(t), newSigner(t)}
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(1, 12).Draw(rt, "entries")
		var entries []schema.Entry
		for range n {
			id := fmt.Sprintf("p%d", rapid.IntRange(0, 2).Draw(rt, "person"))
			key := keys[rapid.IntRange(0, 2).Draw(rt, "key")]
			counter := int64(rapid.IntRange(1, 5).Draw(rt, "counter"))
			var data schema.Data = personData(id, key, schema.Technician)
			if rapid.Bool().Draw(rt, "key entry") {
				data = keyData(id, key, rapid.SampledFrom([]schema.KeyAction{addKey, revokeKey}).Draw(rt, "action"))
			}
			entries = append(entries, entry(t, counter, data))
		}
		one, other := rosterOf(entries...), rosterOf(rapid.Permutation(entries).Draw(rt, "order")...)
		if one.AllowedSigners() != other.AllowedSigners() || fmt.Sprint(one.Problems()) != fmt.Sprint(other.Problems()) {
			rt.Fatal("the order of arrival changes the roster")
		}
		owners := map[string]string{}
		for _, m := range one.Members() {
			for _, k := range m.Keys {
				if owner, taken := owners[KeyLine(k.Public)]; taken {
					rt.Fatalf("one key of %s and %s", owner, m.Person)
				}
				owners[KeyLine(k.Public)] = m.Person
			}
		}
	})
}

func correction(of schema.Entry) schema.CorrectData {
	return schema.CorrectData{Entry: of.ID, Action: schema.Void, Why: "a slip"}
}

// after is an entry that saw just these.
func after(t testing.TB, e schema.Entry, seen ...schema.Entry) schema.Entry {
	t.Helper()
	for _, s := range seen {
		e.After = append(e.After, s.ID)
		e.Counter = max(e.Counter, s.Counter+1)
	}
	return e
}

func fold(entries ...schema.Entry) Roster {
	return NewRoster(schema.NewRecord(schema.ShopRecord, "shop-1").With(entries...))
}

// Corrections go first: a person who was taken back is gone at once, a revocation only when who took it back had seen it.
func TestRosterAfterCorrections(t *testing.T) {
	lead, key := newSigner(t), newSigner(t)
	first := entry(t, 1, personData("lead-1", lead, schema.Lead))
	hired := after(t, entry(t, 1, personData("tech-1", key, schema.Technician)), first)
	ended := after(t, entry(t, 1, keyData("tech-1", key, revokeKey)), hired)
	for _, test := range []struct {
		name   string
		more   []schema.Entry
		active bool
	}{
		{"nothing taken back", nil, true},
		{"hired by a slip", []schema.Entry{after(t, entry(t, 1, correction(hired)), hired)}, false},
		{"taken back unseen", []schema.Entry{after(t, entry(t, 1, correction(hired)), first)}, false},
		{"revoked", []schema.Entry{ended}, false},
		{"a revocation taken back by who saw it", []schema.Entry{ended, after(t, entry(t, 1, correction(ended)), ended)}, true},
		{"a revocation taken back by who did not see it", []schema.Entry{ended, after(t, entry(t, 1, correction(ended)), hired)}, false},
		{"a revocation from a bay that had not seen the hiring", []schema.Entry{after(t, entry(t, 1, keyData("tech-1", key, revokeKey)), first)}, false},
	} {
		roster := fold(append([]schema.Entry{first, hired}, test.more...)...)
		m, _ := roster.Member("tech-1")
		if m.Active() != test.active || !roster.isLead("lead-1") {
			t.Errorf("%s: active %v, want %v; problems %v", test.name, m.Active(), test.active, roster.Problems())
		}
	}
	slip := after(t, entry(t, 1, correction(first)), hired)
	if !fold(first, hired, slip).isLead("lead-1") {
		t.Error("the beginning was taken back")
	}
}

func (r Roster) isLead(person string) bool {
	m, _ := r.Member(person)
	return m.Active() && m.Has(schema.Lead)
}

// What two bays say of one person at the same time counts as far as both say it, until somebody has seen both.
func TestRolesOfTwoBays(t *testing.T) {
	lead, key := newSigner(t), newSigner(t)
	first := entry(t, 1, personData("lead-1", lead, schema.Lead))
	hired := after(t, entry(t, 1, personData("tech-1", key, schema.Technician)), first)
	one := after(t, entry(t, 1, personData("tech-1", key, schema.Technician, schema.Lead)), hired)
	other := after(t, entry(t, 1, personData("tech-1", key, schema.Technician, schema.Stores)), hired)
	if m, _ := fold(first, hired, one, other).Member("tech-1"); len(m.Roles) != 1 || !m.Has(schema.Technician) {
		t.Errorf("roles are %v", m.Roles)
	}
	both := after(t, entry(t, 1, personData("tech-1", key, schema.Lead)), one, other)
	if m, _ := fold(first, hired, one, other, both).Member("tech-1"); len(m.Roles) != 1 || !m.Has(schema.Lead) {
		t.Errorf("roles are %v", m.Roles)
	}
}
