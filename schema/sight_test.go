package schema_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"feedproof/schema"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// wrote is an entry of a device that had seen these.
func wrote(t testing.TB, device, id string, counter int64, after ...string) schema.Entry {
	t.Helper()
	slices.Sort(after)
	e, err := schema.NewEntry(schema.Origin{By: "tech-1", Device: device, After: after, Counter: counter, Entered: time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)}, schema.NoteData{Text: id})
	if err != nil {
		t.Fatal(err)
	}
	e.ID = id
	return e
}

// apart are up to four devices that write, read each other's and write on.
func apart() *rapid.Generator[[]schema.Entry] {
	return rapid.Custom(func(t *rapid.T) []schema.Entry {
		devices := rapid.IntRange(1, 4).Draw(t, "devices")
		known := make([][]schema.Entry, devices)
		var all []schema.Entry
		for n := range rapid.IntRange(1, 14).Draw(t, "entries") {
			d := rapid.IntRange(0, devices-1).Draw(t, "device")
			if from := rapid.IntRange(0, devices-1).Draw(t, "reads"); rapid.Bool().Draw(t, "syncs") {
				known[d] = schema.NewRecord(schema.VehicleRecord, "car").With(append(slices.Clone(known[d]), known[from]...)...).Entries
			}
			heads := schema.Heads(known[d])
			e, err := schema.NewEntry(schema.Origin{By: "tech-1", Device: fmt.Sprint("bay-", d), After: heads, Counter: schema.NextCounter(known[d], heads), Entered: time.Date(2026, 3, 2, 9, n, 0, 0, time.UTC)}, schema.NoteData{Text: "n"})
			if err != nil {
				t.Fatal(err)
			}
			known[d], all = append(known[d], e), append(all, e)
		}
		return all
	})
}

// reached is the definition: later leads to earlier through After.
func reached(entries []schema.Entry, later, earlier string) bool {
	byID := map[string]schema.Entry{}
	for _, e := range entries {
		byID[e.ID] = e
	}
	todo, done := slices.Clone(byID[later].After), map[string]bool{}
	for len(todo) > 0 {
		id := todo[0]
		todo = todo[1:]
		if id == earlier {
			return true
		}
		if !done[id] {
			done[id] = true
			todo = append(todo, byID[id].After...)
		}
	}
	return false
}

func TestSawIsReached(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		entries := rapid.Permutation(apart().Draw(t, "entries")).Draw(t, "in any order")
		s := schema.NewSight(entries)
		if len(s.Faults()) > 0 {
			t.Fatal(s.Faults())
		}
		for _, f := range entries {
			for _, e := range entries {
				if got, want := s.Saw(f.ID, e.ID), reached(entries, f.ID, e.ID); got != want {
					t.Errorf("%s saw %s: %v, want %v", f.ID, e.ID, got, want)
				}
			}
		}
	})
}

// Each order holds to what was seen, and for each entry there is one in which
// only those come after it that saw it.
func TestOrders(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		entries := apart().Draw(t, "entries")
		orders := schema.NewSight(entries).Orders()
		asLate := map[string]bool{}
		for _, order := range orders {
			if len(order) != len(entries) {
				t.Fatalf("%d entries of %d", len(order), len(entries))
			}
			for i, e := range order {
				for _, before := range order[:i] {
					if reached(entries, before.ID, e.ID) {
						t.Fatalf("%s saw %s and stands before it", before.ID, e.ID)
					}
				}
				if !slices.ContainsFunc(order[i+1:], func(f schema.Entry) bool { return !reached(entries, f.ID, e.ID) }) {
					asLate[e.ID] = true
				}
			}
		}
		if len(asLate) != len(entries) {
			t.Errorf("%d of %d entries are as late as they can be in some of %d orders", len(asLate), len(entries), len(orders))
		}
	})
}

func TestOneDeviceHasOneOrder(t *testing.T) {
	entries := []schema.Entry{wrote(t, "bay-1", "a", 1), wrote(t, "bay-1", "b", 2, "a"), wrote(t, "bay-2", "c", 3, "b")}
	orders := schema.NewSight(entries).Orders()
	if len(orders) != 1 || !slices.EqualFunc(orders[0], entries, func(a, b schema.Entry) bool { return a.ID == b.ID }) {
		t.Errorf("orders %v", orders)
	}
}

func TestSightFaults(t *testing.T) {
	first := func() schema.Entry { return wrote(t, "bay-1", "a", 1) }
	crowd := func(devices int) []schema.Entry {
		entries := []schema.Entry{first()}
		for i := range 600 {
			entries = append(entries, wrote(t, fmt.Sprint("d", i%devices), fmt.Sprintf("e%03d", i), 2, "a"))
		}
		return entries
	}
	for name, test := range map[string]struct {
		entries []schema.Entry
		want    string
		seen    [2]string // the first must not have seen the second
	}{
		"cycle":         {[]schema.Entry{wrote(t, "bay-1", "a", 1, "b"), wrote(t, "bay-2", "b", 2, "a")}, "entry a: names b as seen, which is not older", [2]string{"a", "b"}},
		"itself":        {[]schema.Entry{wrote(t, "bay-1", "a", 1, "a")}, "entry a: names a as seen, which is not older", [2]string{"a", "a"}},
		"missing":       {[]schema.Entry{first(), wrote(t, "bay-1", "c", 2, "a", "x")}, "entry c: names x as seen, which is not in this record", [2]string{"c", "x"}},
		"wrong counter": {[]schema.Entry{first(), wrote(t, "bay-1", "b", 9, "a")}, "entry b: counter 9 is not one more than the highest of what it saw, 1", [2]string{"a", "b"}},
		"fork":          {[]schema.Entry{first(), wrote(t, "bay-1", "b", 2, "a"), wrote(t, "bay-1", "c", 2, "a")}, "entry c: did not see the entry that bay-1 wrote before it", [2]string{"c", "b"}},
		"many devices":  {crowd(600), "entry e255: more entries than can be told apart have not seen each other", [2]string{"e255", "a"}},
		"many forks":    {crowd(1), "entry e016: more entries than can be told apart have not seen each other", [2]string{"e016", "a"}},
	} {
		t.Run(name, func(t *testing.T) {
			s := schema.NewSight(test.entries)
			if !slices.ContainsFunc(s.Faults(), func(f schema.SightFault) bool { return f.Error() == test.want }) {
				t.Errorf("faults %v, want %s", s.Faults()[:min(3, len(s.Faults()))], test.want)
			}
			if s.Saw(test.seen[0], test.seen[1]) {
				t.Errorf("%s saw %s", test.seen[0], test.seen[1])
			}
			for _, order := range s.Orders() {
				if len(order) != len(test.entries) {
					t.Errorf("an order of %d of %d entries", len(order), len(test.entries))
				}
			}
		})
	}
}

func TestSeenAndUnseen(t *testing.T) {
	// a - b - d   bay 1
	//  \     /
	//   c --'     bay 2, and e of bay 2 that nobody saw
	entries := []schema.Entry{wrote(t, "bay-1", "a", 1), wrote(t, "bay-1", "b", 2, "a"), wrote(t, "bay-2", "c", 2, "a"), wrote(t, "bay-1", "d", 3, "b", "c"), wrote(t, "bay-2", "e", 3, "c")}
	s := schema.NewSight(entries)
	ids := func(entries []schema.Entry) (out []string) {
		for _, e := range entries {
			out = append(out, e.ID)
		}
		return out
	}
	if diff := cmp.Diff([][]string{{"a", "b", "c"}, {"e"}, {"a"}, {"b"}}, [][]string{ids(s.Seen("d")), ids(s.Unseen("d")), ids(s.Seen("c")), ids(s.Unseen("c"))}); diff != "" {
		t.Error(diff)
	}
	if got := schema.Heads(entries); !slices.Equal(got, []string{"d", "e"}) || schema.NextCounter(entries, got) != 4 {
		t.Errorf("heads %v, next %d", got, schema.NextCounter(entries, got))
	}
}

func BenchmarkSight(b *testing.B) {
	for _, devices := range []int{1, 4} {
		b.Run(fmt.Sprint("devices=", devices), func(b *testing.B) {
			var entries []schema.Entry
			tails := make([]string, devices)
			for i := range 10_000 {
				d := i / 5 % devices
				var after []string
				if i%5 == 0 {
					after = slices.Compact(slices.Sorted(slices.Values(slices.DeleteFunc(slices.Clone(tails), func(id string) bool { return id == "" }))))
				} else {
					after = []string{tails[d]}
				}
				e := wrote(b, fmt.Sprint("bay-", d), fmt.Sprintf("e%05d", i), schema.NextCounter(entries[max(0, len(entries)-40):], after), after...)
				entries, tails[d] = append(entries, e), e.ID
			}
			for b.Loop() {
				schema.NewSight(entries)
			}
		})
	}
}

// Whatever entries say they saw, the two ways of asking agree, no entry sees
// itself or one that saw it, and a fault drops edges and adds none.
func FuzzSight(f *testing.F) {
	f.Add([]byte{1, 0, 1, 1, 0, 1})
	f.Add([]byte{3, 2, 1, 0, 200, 7, 7, 9})
	f.Fuzz(func(t *testing.T, b []byte) {
		var entries []schema.Entry
		for i := 0; i+2 < len(b) && len(entries) < 40; i += 3 {
			e := schema.Entry{ID: fmt.Sprint("e", len(entries)), Device: fmt.Sprint("d", b[i]%4), Counter: int64(b[i+1]%16) + 1}
			for _, n := range []byte{b[i+2] % 41, b[i+2] / 6} {
				if id := fmt.Sprint("e", n); !slices.Contains(e.After, id) {
					e.After = append(e.After, id)
				}
			}
			entries = append(entries, e)
		}
		s := schema.NewSight(entries)
		for _, f := range entries {
			for _, e := range entries {
				if !s.Saw(f.ID, e.ID) {
					continue
				}
				if s.Saw(e.ID, f.ID) || !reached(entries, f.ID, e.ID) {
					t.Fatalf("%s saw %s, of %+v", f.ID, e.ID, entries)
				}
			}
		}
		for _, order := range s.Orders() {
			if len(order) != len(entries) {
				t.Fatalf("an order of %d of %d entries", len(order), len(entries))
			}
		}
	})
}
