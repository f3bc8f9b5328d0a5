package records

import (
	"bytes"
	"context"
	"strings"
	"testing"

	"feedproof/records/signature"
	"feedproof/schema"

	"github.com/google/go-cmp/cmp"
	"golang.org/x/crypto/ssh"
)

// forged is an entry that no honest program writes: its origin is edited, and it is signed with any key over what it then says.
func (w *world) forged(kind schema.RecordKind, id string, f Fact, edit func(*schema.Origin)) schema.Entry {
	w.t.Helper()
	seen, err := w.shop.Show(kind, id)
	must(w.t, err)
	heads := schema.Heads(seen.Record.Entries)
	o := schema.Origin{
		By: f.By, Device: "bay-1", After: heads, Counter: schema.NextCounter(seen.Record.Entries, heads), Head: seen.Head, At: f.At, Entered: f.Entered, ID: f.ID,
	}
	if edit != nil {
		edit(&o)
	}
	e, err := schema.NewEntry(o, f.Data)
	must(w.t, err)
	first, err := w.shop.firstKey()
	must(w.t, err)
	message, err := schema.HashesOf(seen.Record.Of(first), seen.Record.Entries).Sign(e)
	if err != nil {
		message = []byte("rests on nothing")
	}
	sig, err := signature.SignEntry(message, f.Key)
	must(w.t, err)
	e, err = e.Signed(sig)
	must(w.t, err)
	return e
}

func (w *world) fact(by, text string) Fact {
	return Fact{By: by, Key: w.keys[by], At: moment, Entered: moment, Data: schema.NoteData{Text: text}}
}

// doubts are those of a car's record.
func (w *world) doubts(id string) map[string]string {
	w.t.Helper()
	r, err := w.shop.Record(schema.VehicleRecord, id)
	must(w.t, err)
	return r.Doubts
}

func TestHonestRecordsHaveNoDoubts(t *testing.T) {
	w := newShop(t)
	w.vehicle("car-1")
	w.add("car-1", "pump whines")
	_, err := w.shop.SignOff(context.Background(), SignOffRequest{Vehicle: "car-1", By: "lead-1", Key: w.keys["lead-1"], Entry: w.signOff("lead-1", "car-1")})
	must(t, err)
	w.note("car-1", "in the draft")
	must(t, w.put("tech-1", schema.GaugeRecord, "gas-1", schema.NoteData{Text: "x"}))
	must(t, w.put("tech-1", schema.PartRecord, "lot-1", schema.NoteData{Text: "x"}))
	view, err := w.shop.View()
	must(t, err)
	for kind, id := range map[schema.RecordKind]string{schema.VehicleRecord: "car-1", schema.ShopRecord: "", schema.GaugeRecord: "gas-1", schema.PartRecord: "lot-1"} {
		if r, err := view.Record(kind, id); err != nil || len(r.Entries) == 0 || len(r.Doubts) > 0 {
			t.Errorf("%s: %d entries, doubts %v, %v", kind, len(r.Entries), r.Doubts, err)
		}
	}
	r, draft, err := view.Vehicle("car-1")
	if err != nil || len(draft) != 1 || len(r.Doubts) > 0 {
		t.Errorf("with the draft: %d, doubts %v, %v", len(draft), r.Doubts, err)
	}
}

// The day's screens are told of what verify refuses: each is put into the record past every check.
func TestWhatIsNotProvenIsDoubted(t *testing.T) {
	for _, try := range []struct {
		name string
		make func(*world) schema.Entry
		says string
	}{
		{"a stranger's signature", func(w *world) schema.Entry {
			f := w.fact("tech-1", "all dry")
			f.Key = newKey(w.t)
			return w.forged(schema.VehicleRecord, "car-1", f, nil)
		}, "does not verify"},
		{"another's name", func(w *world) schema.Entry {
			f := w.fact("lead-1", "all dry")
			f.Key = w.keys["tech-1"]
			return w.forged(schema.VehicleRecord, "car-1", f, nil)
		}, "does not verify"},
		{"no signature", func(w *world) schema.Entry {
			e := w.forged(schema.VehicleRecord, "car-1", w.fact("tech-1", "all dry"), nil)
			e, err := schema.DecodeEntry([]byte(strings.Replace(string(e.Raw()), `,"sig":"`+e.Sig+`"`, "", 1)))
			must(w.t, err)
			return e
		}, "is not signed by its author"},
		{"somebody who is not here", func(w *world) schema.Entry {
			return w.forged(schema.VehicleRecord, "car-1", w.fact("tech-1", "all dry"), func(o *schema.Origin) { o.By = "tech-9" })
		}, "was not in the roster"},
		{"somebody who was not here yet", func(w *world) schema.Entry {
			before, err := w.shop.head()
			must(w.t, err)
			w.keys["new-1"] = newKey(w.t)
			w.hire("new-1", schema.Technician)
			return w.forged(schema.VehicleRecord, "car-1", w.fact("new-1", "all dry"), func(o *schema.Origin) { o.Head = before.String() })
		}, "was not in the roster"},
		{"a commit that is not here", func(w *world) schema.Entry {
			return w.forged(schema.VehicleRecord, "car-1", w.fact("tech-1", "all dry"), func(o *schema.Origin) { o.Head = strings.Repeat("a", 40) })
		}, "is not in this shop"},
		{"no commit", func(w *world) schema.Entry {
			return w.forged(schema.VehicleRecord, "car-1", w.fact("tech-1", "all dry"), func(o *schema.Origin) { o.Head = "" })
		}, "names no commit"},
		{"an ancestor that is not there", func(w *world) schema.Entry {
			return w.forged(schema.VehicleRecord, "car-1", w.fact("tech-1", "all dry"), func(o *schema.Origin) { o.After = []string{"01ZZ"} })
		}, "rests on 01ZZ, which is not in this record"},
		{"a counter of its own", func(w *world) schema.Entry {
			return w.forged(schema.VehicleRecord, "car-1", w.fact("tech-1", "all dry"), func(o *schema.Origin) { o.Counter = 1 << 50 })
		}, "is not one more than"},
		{"an entry of another record", func(w *world) schema.Entry {
			w.vehicle("car-2")
			return w.entry("tech-1", schema.VehicleRecord, "car-2", schema.NoteData{Text: "all dry"})
		}, "which is not in this record"},
		{"a sign-off of other entries", func(w *world) schema.Entry {
			st := w.statementOf("lead-1", "car-1")
			w.add("car-1", "and leaks")
			return w.entry("lead-1", schema.VehicleRecord, "car-1", st)
		}, "signs off other entries"},
		{"a sign-off whose statement another signed", func(w *world) schema.Entry {
			w.keys["lead-1"], w.keys["tech-1"] = w.keys["tech-1"], w.keys["lead-1"]
			st := w.statementOf("lead-1", "car-1")
			w.keys["lead-1"], w.keys["tech-1"] = w.keys["tech-1"], w.keys["lead-1"]
			return w.entry("lead-1", schema.VehicleRecord, "car-1", st)
		}, "a key that is not theirs"},
	} {
		t.Run(try.name, func(t *testing.T) {
			w := newShop(t)
			w.vehicle("car-1")
			w.add("car-1", "pump whines")
			e := try.make(w)
			w.with("tech-1", schema.VehicleRecord, "car-1", e)
			doubts := w.doubts("car-1")
			if len(doubts) != 1 || !strings.Contains(doubts[e.ID], try.says) {
				t.Errorf("doubts are %v, want %q of %s", doubts, try.says, e.ID)
			}
			if _, err := w.shop.Verify(context.Background(), nil); err == nil {
				t.Error("verify takes it")
			}
		})
	}
}

// A line that was edited is doubted, and with it everything that was written upon it.
func TestEditedLineIsDoubted(t *testing.T) {
	w := newShop(t)
	w.vehicle("car-1")
	w.add("car-1", "pump whines")
	w.add("car-1", "looked at it")
	w.rewrite("lead-1", w.keys["lead-1"], schema.VehicleRecord, "car-1", func(r schema.Record) []byte {
		return bytes.Replace(r.Encode(), []byte("whines"), []byte("sings."), 1)
	})
	r, err := w.shop.Record(schema.VehicleRecord, "car-1")
	must(t, err)
	if len(r.Doubts) != 2 || r.Doubts[r.Entries[1].ID] == "" || r.Doubts[r.Entries[2].ID] == "" {
		t.Errorf("doubts are %v", r.Doubts)
	}
}

// A draft that came from another machine is read with its doubts, until somebody commits it.
func TestDraftsOfOtherBays(t *testing.T) {
	one, two, stick := bays(t)
	two.note("car-1", "wet at the rail")
	two.synced(stick)
	one.synced(stick)
	drafts, err := one.shop.OtherDrafts("car-1")
	must(t, err)
	if len(drafts) != 1 || drafts[0].Device != two.shop.device.Name || drafts[0].By != "tech-1" || len(drafts[0].Doubts) > 0 {
		t.Fatalf("drafts are %+v", drafts)
	}
	if diff := cmp.Diff([]string{"wet at the rail"}, notes(t, drafts[0].Entries)); diff != "" {
		t.Error(diff)
	}
	if others, err := one.shop.OtherDrafts("car-2"); err != nil || len(others) > 0 {
		t.Errorf("of another car: %+v, %v", others, err)
	}
	if own, err := two.shop.OtherDrafts("car-1"); err != nil || len(own) > 0 {
		t.Errorf("its own: %+v, %v", own, err)
	}
	_, err = two.commit("car-1")
	must(t, err)
	two.synced(stick)
	one.synced(stick)
	if left, err := one.shop.OtherDrafts("car-1"); err != nil || len(left) > 0 {
		t.Errorf("after the commit: %+v, %v", left, err)
	}
}

// A key is revoked while its owner writes on elsewhere: what the revocation had seen stands; what nobody had built upon is doubted, on every
// machine alike; what another person built upon before they knew of it stands.
func TestRevocationComesToTheSameAnswerEverywhere(t *testing.T) {
	office, bay, stick := bays(t)
	office.keys["tech-2"] = newKey(t)
	office.hire("tech-2", schema.FuelTechnician)
	office.add("car-1", "before")
	office.synced(stick)
	bay.synced(stick)

	revoke := schema.KeyData{Person: "tech-1", Key: signature.KeyLine(office.keys["tech-1"].PublicKey()), Action: "revoke", Why: "lost"}
	bay.add("car-1", "vouched for")
	e := bay.entry("tech-2", schema.VehicleRecord, "car-1", schema.NoteData{Text: "seen by another"})
	_, err := bay.shop.Put(context.Background(), schema.VehicleRecord, "car-1", "tech-2", bay.keys["tech-2"], e)
	must(t, err)
	bay.note("car-1", "by nobody")
	_, err = bay.commitBy("tech-2", "car-1")
	must(t, err)
	must(t, office.put("lead-1", schema.ShopRecord, "", revoke))

	by := func(w *world, who string) {
		r, err := w.shop.Sync(context.Background(), stick, SyncOptions{By: who, Key: func() (ssh.Signer, error) { return w.keys[who], nil }, Now: clock})
		must(t, err)
		if len(r.Aside) > 0 {
			t.Fatalf("set aside: %+v", r.Aside)
		}
	}
	by(bay, "tech-2")
	by(office, "lead-1")
	by(bay, "tech-2")
	if office.tree() != bay.tree() {
		t.Fatal("the bays have come apart")
	}
	for name, w := range map[string]*world{"office": office, "bay": bay} {
		r, err := w.shop.Record(schema.VehicleRecord, "car-1")
		must(t, err)
		var doubted []string
		for _, e := range r.Entries {
			if r.Doubts[e.ID] != "" {
				doubted = append(doubted, notes(t, []schema.Entry{e})...)
			}
		}
		if diff := cmp.Diff([]string{"by nobody"}, doubted); diff != "" {
			t.Errorf("%s: %s %v", name, diff, r.Doubts)
		}
	}
	later := office.entry("tech-2", schema.VehicleRecord, "car-1", schema.NoteData{Text: "built on it, knowing"})
	_, err = office.shop.Put(context.Background(), schema.VehicleRecord, "car-1", "tech-2", office.keys["tech-2"], later)
	must(t, err)
	if doubts := office.doubts("car-1"); len(doubts) != 1 {
		t.Errorf("whoever knows of the revocation vouches: %v", doubts)
	}
	_, err = office.shop.Verify(context.Background(), nil)
	must(t, err)
}

func TestWhoMayTakeBackOfTheRoster(t *testing.T) {
	w := newShop(t)
	r, err := w.shop.Record(schema.ShopRecord, "")
	must(t, err)
	slip := schema.CorrectData{Entry: r.Entries[len(r.Entries)-1].ID, Action: schema.Void, Why: "a slip"}
	if err := w.put("tech-1", schema.ShopRecord, "", slip); err == nil || !strings.Contains(err.Error(), "may not write a person") {
		t.Errorf("a technician took a person back: %v", err)
	}
	must(t, w.put("lead-1", schema.ShopRecord, "", slip))
	roster, err := w.shop.Roster()
	must(t, err)
	if _, there := roster.Member("audit-1"); there {
		t.Error("the person is still there")
	}
}
