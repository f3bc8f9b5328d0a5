package schema_test

import (
	"encoding/json"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"feedproof/schema"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

var exact = cmp.AllowUnexported(schema.Record{}, schema.Entry{})

// drawEntries makes up to n entries whose ids differ and whose counters do not
// always.
func drawEntries(t *rapid.T, n int) []schema.Entry {
	ids := rapid.SliceOfNDistinct(rapid.StringMatching(`[A-Za-z0-9][A-Za-z0-9._-]{0,7}`), 0, n, rapid.ID).Draw(t, "ids")
	entries := make([]schema.Entry, len(ids))
	for i, id := range ids {
		counter := rapid.IntRange(1, n).Draw(t, "counter")
		text, err := json.Marshal(schema.NoteData{Text: rapid.StringN(1, 20, -1).Draw(t, "text")})
		if err != nil {
			t.Fatal(err)
		}
		raw, err := schema.Canonical([]byte(line(id, counter, string(text))))
		if err != nil {
			t.Fatal(err)
		}
		if entries[i], err = schema.DecodeEntry(raw); err != nil {
			t.Fatal(err)
		}
	}
	return entries
}

// drawSome picks entries of a list, some of them more than once.
func drawSome(t *rapid.T, from []schema.Entry, label string) []schema.Entry {
	if len(from) == 0 {
		return nil
	}
	return rapid.SliceOfN(rapid.SampledFrom(from), 0, 2*len(from)).Draw(t, label)
}

func sameBytes(t *rapid.T, law string, a, b schema.Record) {
	t.Helper()
	if diff := cmp.Diff(string(a.Encode()), string(b.Encode())); diff != "" {
		t.Fatalf("%s:\n%s", law, diff)
	}
}

func empty() schema.Record { return schema.NewRecord(schema.GaugeRecord, "gas-1") }

// A merge is a union of entries: in any grouping, any order and any number of
// times it is the same record.
func TestMergeLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := drawEntries(t, 12)
		a, b, c := empty().With(drawSome(t, all, "a")...), empty().With(drawSome(t, all, "b")...), empty().With(drawSome(t, all, "c")...)
		merge := func(x, y schema.Record) schema.Record { return x.With(y.Entries...) }
		before := string(a.Encode())

		sameBytes(t, "commutative", merge(a, b), merge(b, a))
		sameBytes(t, "associative", merge(merge(a, b), c), merge(a, merge(b, c)))
		sameBytes(t, "idempotent", merge(merge(a, b), b), merge(a, b))
		sameBytes(t, "itself", merge(a, a), a)
		sameBytes(t, "nothing", merge(a, empty()), a)
		if string(a.Encode()) != before {
			t.Fatal("merging changed what it merged")
		}
	})
}

func TestMergeLosesNothingAndOrders(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := drawEntries(t, 12)
		a, b := drawSome(t, all, "a"), drawSome(t, all, "b")
		r := empty().With(a...).With(b...)
		want := map[string]string{}
		var highest int64
		for _, e := range slices.Concat(a, b) {
			want[e.ID] = string(e.Raw())
			highest = max(highest, e.Counter)
		}
		got := map[string]string{}
		for i, e := range r.Entries {
			got[e.ID] = string(e.Raw())
			if i == 0 {
				continue
			}
			if last := r.Entries[i-1]; last.Counter > e.Counter || last.Counter == e.Counter && last.ID >= e.ID {
				t.Fatalf("(%d, %s) stands before (%d, %s)", last.Counter, last.ID, e.Counter, e.ID)
			}
			if found, ok := r.Entry(e.ID); !ok || string(found.Raw()) != got[e.ID] {
				t.Fatalf("entry %s is not found by its id", e.ID)
			}
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Fatal(diff)
		}
		if r.MaxCounter() != highest {
			t.Fatalf("highest counter %d, want %d", r.MaxCounter(), highest)
		}
	})
}

// Where an id comes with other bytes the receiver's stand; refusing such a
// merge is the work of records.
func TestMergeKeepsItsOwnBytes(t *testing.T) {
	mine, err := schema.DecodeEntry([]byte(line("a", 1, `{"text":"mine"}`)))
	if err != nil {
		t.Fatal(err)
	}
	theirs, err := schema.DecodeEntry([]byte(line("a", 1, `{"text":"theirs"}`)))
	if err != nil {
		t.Fatal(err)
	}
	got := empty().With(mine).With(theirs)
	if len(got.Entries) != 1 || string(got.Entries[0].Raw()) != string(mine.Raw()) {
		t.Errorf("got %s", got.Encode())
	}
}

func TestRecordRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := empty().With(drawEntries(t, 8)...)
		back, err := schema.DecodeRecord(r.Encode())
		if err != nil {
			t.Fatal(err)
		}
		if len(r.Entries) == 0 {
			r.Entries = nil
		}
		if diff := cmp.Diff(r, back, exact); diff != "" {
			t.Fatal(diff)
		}
		if err := back.Validate(); err != nil {
			t.Fatal(err)
		}
	})
}

func TestDigestLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := drawEntries(t, 8)
		if len(all) == 0 {
			return
		}
		digest := schema.Digest(all)
		if got := schema.Digest(rapid.Permutation(all).Draw(t, "shuffled")); got != digest {
			t.Fatal("the digest depends on the order")
		}
		i := rapid.IntRange(0, len(all)-1).Draw(t, "one")
		if schema.Digest(slices.Delete(slices.Clone(all), i, i+1)) == digest {
			t.Fatal("the digest does not see an added entry")
		}
		other, err := schema.DecodeEntry([]byte(line(all[i].ID, int(all[i].Counter), `{"text":"another, and longer than any that is drawn"}`)))
		if err != nil {
			t.Fatal(err)
		}
		changed := slices.Clone(all)
		changed[i] = other
		if schema.Digest(changed) == digest {
			t.Fatal("the digest does not see a changed entry")
		}
	})
}

// FIPS 180-4: the SHA-256 of no bytes, and of the bytes of one entry with its
// line feed as sha256sum prints it.
func TestDigestIsSHA256(t *testing.T) {
	if got := schema.Digest(nil); got != "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855" {
		t.Errorf("of nothing: %s", got)
	}
	e, err := schema.DecodeEntry([]byte(line("a", 1, `{"text":"x"}`)))
	if err != nil {
		t.Fatal(err)
	}
	if got := schema.Digest([]schema.Entry{e}); got != "fcc86c0a514f565def41f637be9a06c3a6f6547d6019918383a3d376e7d85f4f" {
		t.Errorf("of %s: %s", e.Raw(), got)
	}
}

// What is typed comes back to the letter, in an entry that is canonical.
func TestNewEntryRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		entered := time.Unix(rapid.Int64Range(0, 4e9).Draw(t, "entered"), rapid.Int64Range(0, 999_999_999).Draw(t, "ns"))
		late := time.Duration(rapid.IntRange(0, 3600).Draw(t, "late")) * time.Second
		origin := schema.Origin{By: "tech-1", Device: "bay-2", Counter: rapid.Int64Range(1, schema.MaxCounter).Draw(t, "counter"), At: entered.Add(-late), Entered: entered}
		want := schema.NoteData{Text: rapid.StringN(1, 200, -1).Draw(t, "text")}
		e, err := schema.NewEntry(origin, want)
		if err != nil {
			t.Fatal(err)
		}
		if e, err = e.Signed(noSig); err != nil {
			t.Fatal(err)
		}
		if err := schema.ValidateEntry(schema.VehicleRecord, "car-1", e); err != nil {
			t.Fatal(err)
		}
		got, err := schema.Into[schema.NoteData](e)
		if err != nil || got != want {
			t.Fatalf("got %q, %v, want %q", got, err, want)
		}
		if !e.Entered.Equal(entered.Truncate(time.Second)) || !e.At.Equal(origin.At.Truncate(time.Second)) {
			t.Fatalf("at %s, entered %s from %s and %s", e.At, e.Entered, origin.At, entered)
		}
		if e.By != origin.By || e.Device != origin.Device || e.Counter != origin.Counter || e.Kind != "note" {
			t.Fatalf("got %+v from %+v", e, origin)
		}
		if e.Late() != (late > 10*time.Minute) {
			t.Fatalf("late by %s: %v", late, e.Late())
		}
	})
}

// An entry is late when it was typed more than ten minutes after it happened.
func TestLate(t *testing.T) {
	now := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	for delay, late := range map[time.Duration]bool{-time.Hour: false, 0: false, 10 * time.Minute: false, 10*time.Minute + time.Second: true} {
		e := schema.Entry{At: now, Entered: now.Add(delay)}
		if e.Late() != late {
			t.Errorf("typed after %s: late %v, want %v", delay, e.Late(), late)
		}
	}
}

func TestNewEntryWithoutAt(t *testing.T) {
	now := time.Date(2026, 3, 2, 10, 0, 0, 0, time.FixedZone("", 3600))
	e, err := schema.NewEntry(schema.Origin{By: "tech-1", Device: "bay-2", Counter: 1, Entered: now}, schema.NoteData{Text: "x"})
	if err != nil || !e.At.Equal(now) || e.Late() {
		t.Errorf("got at %s, %v", e.At, err)
	}
	if want := `"entered":"2026-03-02T09:00:00Z"`; !slices.Contains(splitFields(e), want) {
		t.Errorf("%s has no %s", e.Raw(), want)
	}
}

func splitFields(e schema.Entry) []string {
	var object map[string]json.RawMessage
	if json.Unmarshal(e.Raw(), &object) != nil {
		return nil
	}
	var out []string
	for key, value := range object {
		out = append(out, fmt.Sprintf("%q:%s", key, value))
	}
	return out
}

func TestNewEntryRefuses(t *testing.T) {
	now := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	good := schema.Origin{By: "tech-1", Device: "bay-2", Counter: 1, Entered: now}
	if _, err := schema.NewEntry(good, schema.NoteData{Text: "x"}); err != nil {
		t.Fatal(err)
	}
	for name, change := range map[string]func(*schema.Origin){
		"by":      func(o *schema.Origin) { o.By = "" },
		"device":  func(o *schema.Origin) { o.Device = "bay 2" },
		"counter": func(o *schema.Origin) { o.Counter = 0 },
		"at":      func(o *schema.Origin) { o.At = now.AddDate(10_000, 0, 0) },
	} {
		bad := good
		change(&bad)
		if e, err := schema.NewEntry(bad, schema.NoteData{Text: "x"}); err == nil {
			t.Errorf("%s: made %s", name, e.Raw())
		}
	}
}

// Identifiers of one millisecond and later sort by their time; a clock that is
// off makes an id all the same.
// TestValidIDIsItsPattern holds the function to the pattern that the schema has.
func TestValidIDIsItsPattern(t *testing.T) {
	pattern := regexp.MustCompile(schema.IDPattern)
	same := func(id string) {
		if schema.ValidID(id) != pattern.MatchString(id) {
			t.Fatalf("ValidID(%q) is %t", id, schema.ValidID(id))
		}
	}
	for _, n := range []int{0, 1, 63, 64, 65} {
		same(strings.Repeat("a", n))
	}
	rapid.Check(t, func(r *rapid.T) {
		same(rapid.OneOf(rapid.StringMatching(`[A-Za-z0-9._-]{0,70}`), rapid.String(), rapid.StringMatching(`[ -~]{0,3}\n?`)).Draw(r, "id"))
	})
}

func TestNewID(t *testing.T) {
	now := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	a, b := schema.NewID(now), schema.NewID(now.Add(time.Millisecond))
	if a >= b || a[:10] == b[:10] {
		t.Errorf("%s is not before %s", a, b)
	}
	for _, clock := range []time.Time{now, {}, time.Unix(-1, 0), now.AddDate(20_000, 0, 0)} {
		if id := schema.NewID(clock); !schema.ValidID(id) || len(id) != 26 {
			t.Errorf("at %s: %q", clock, id)
		}
	}
}

func TestIntoRefusesAnotherKind(t *testing.T) {
	e, err := schema.DecodeEntry([]byte(line("a", 1, `{"text":"x"}`)))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := schema.Into[schema.NoteData](e); err != nil {
		t.Fatal(err)
	}
	if _, err := schema.Into[schema.FitData](e); err == nil || err.Error() != "entry a: is a note, not a fit" {
		t.Errorf("got %v", err)
	}
}
