package schema

import (
	"cmp"
	"container/heap"
	"fmt"
	"maps"
	"slices"
)

// Bounds of what one record is told apart into. No honest shop comes near
// them; what lies beyond sees nothing and is seen by nobody.
const (
	maxChains         = 256 // of a record
	maxChainsOfDevice = 16
)

// Sight is who saw what among the entries of a record: an entry saw another
// when it is reached through After. Nothing else orders entries, no clock, no
// counter and no place in a file. Two of which neither saw the other are
// concurrent.
//
// Building is linear in the entries and their edges, and nothing recurses. An
// entry that cannot be shown to have been seen counts as not seen.
type Sight struct {
	entries []Entry // in order of (counter, id)
	index   map[string]int
	after   [][]int // the edges that hold, by index
	chain   []int   // a device's line of entries, each of which saw the one before; none is lost beyond the bounds
	place   []int   // in the chain, from 1
	vector  [][]int // of each chain, the place up to which the entry saw it; shared along a chain
	chains  int
	faults  []SightFault
}

// none is the chain of what lies beyond the bounds.
const none = -1

// SightFault is something in what an entry says it saw that cannot be so.
type SightFault struct {
	Entry  string
	Reason string
	Fork   bool // its device wrote two lines that have not seen each other, as after a restored backup: no lie by itself
}

func (f SightFault) Error() string { return fmt.Sprintf("entry %s: %s", f.Entry, f.Reason) }

// NewSight tells the entries of one record apart, whatever their order.
func NewSight(entries []Entry) *Sight {
	s := &Sight{entries: slices.Clone(entries), index: make(map[string]int, len(entries))}
	if !isOrdered(s.entries) {
		slices.SortStableFunc(s.entries, listed)
	}
	n := len(s.entries)
	s.after, s.chain, s.place, s.vector = make([][]int, n), make([]int, n), make([]int, n), make([][]int, n)
	for i, e := range s.entries {
		s.index[e.ID] = i
	}
	tails := map[string][]int{} // of each device, the last entry of each of its chains
	for i := range s.entries {
		s.link(i)
		s.join(i, tails)
	}
	return s
}

// link keeps the edges that can be: to entries of this record with a lower
// counter, which makes a cycle impossible.
func (s *Sight) link(i int) {
	e := s.entries[i]
	highest := int64(0)
	for _, id := range e.After {
		j, there := s.index[id]
		switch {
		case !there:
			s.fault(e, "names %s as seen, which is not in this record", id)
		case s.entries[j].Counter >= e.Counter:
			s.fault(e, "names %s as seen, which is not older", id)
		case s.chain[j] == none:
			s.fault(e, "names %s as seen, which nobody can be shown to have seen", id)
		default:
			s.after[i] = append(s.after[i], j)
			highest = max(highest, s.entries[j].Counter)
		}
	}
	if e.Counter != highest+1 {
		s.fault(e, "counter %d is not one more than the highest of what it saw, %d", e.Counter, highest)
	}
}

func (s *Sight) fault(e Entry, format string, args ...any) {
	s.faults = append(s.faults, SightFault{Entry: e.ID, Reason: fmt.Sprintf(format, args...)})
}

// join puts an entry on the chain of its device whose last entry it saw, or on
// a new one.
func (s *Sight) join(i int, tails map[string][]int) {
	device := s.entries[i].Device
	if k := slices.IndexFunc(tails[device], func(tail int) bool { return slices.Equal(s.after[i], []int{tail}) }); k >= 0 {
		tail := tails[device][k]
		s.chain[i], s.place[i], s.vector[i] = s.chain[tail], s.place[tail]+1, s.vector[tail]
		tails[device][k] = i
		return
	}
	s.vector[i] = s.joined(i)
	for k, tail := range tails[device] {
		if c := s.chain[tail]; c < len(s.vector[i]) && s.vector[i][c] == s.place[tail] {
			s.chain[i], s.place[i] = c, s.place[tail]+1
			tails[device][k] = i
			return
		}
	}
	if len(tails[device]) > 0 {
		s.faults = append(s.faults, SightFault{s.entries[i].ID, fmt.Sprintf("did not see the entry that %s wrote before it", device), true})
	}
	if s.chains == maxChains || len(tails[device]) == maxChainsOfDevice {
		s.fault(s.entries[i], "more entries than can be told apart have not seen each other")
		s.chain[i], s.place[i], s.vector[i], s.after[i] = none, 0, nil, nil
		return
	}
	s.chain[i], s.place[i] = s.chains, 1
	s.chains++
	tails[device] = append(tails[device], i)
}

// joined is what an entry saw through those that it names.
func (s *Sight) joined(i int) []int {
	seen := make([]int, s.chains)
	for _, j := range s.after[i] {
		if s.chain[j] == none {
			continue
		}
		for c, upTo := range s.vector[j] {
			seen[c] = max(seen[c], upTo)
		}
		seen[s.chain[j]] = max(seen[s.chain[j]], s.place[j])
	}
	return seen
}

// Saw reports whether one entry saw another, both by id. No entry saw itself.
func (s *Sight) Saw(later, earlier string) bool {
	f, there := s.index[later]
	e, known := s.index[earlier]
	return there && known && s.saw(f, e)
}

func (s *Sight) saw(f, e int) bool {
	switch c := s.chain[e]; {
	case c == none || s.chain[f] == none:
		return false
	case c == s.chain[f]:
		return s.place[e] < s.place[f]
	default:
		return c < len(s.vector[f]) && s.vector[f][c] >= s.place[e]
	}
}

// Faults are the places in which what entries say they saw cannot be so, in
// order of (counter, id).
func (s *Sight) Faults() []SightFault { return s.faults }

// Seen lists what an entry saw, in order of (counter, id), without itself:
// what was known when it was written.
func (s *Sight) Seen(id string) []Entry {
	f, there := s.index[id]
	if !there {
		return nil
	}
	var seen []Entry
	for e := range s.entries {
		if s.saw(f, e) {
			seen = append(seen, s.entries[e])
		}
	}
	return seen
}

// Unseen lists what an entry did not see and what did not see it: what was
// written elsewhere at the same time, in order of (counter, id).
func (s *Sight) Unseen(id string) []Entry {
	f, there := s.index[id]
	if !there {
		return nil
	}
	var apart []Entry
	for e := range s.entries {
		if e != f && !s.saw(f, e) && !s.saw(e, f) {
			apart = append(apart, s.entries[e])
		}
	}
	return apart
}

// Heads are the ids of the entries that no other has seen, sorted: what the
// next entry names. A machine with more than MaxAfter writes in two steps.
func Heads(entries []Entry) []string {
	last := make(map[string]bool, len(entries))
	for _, e := range entries {
		last[e.ID] = true
	}
	for _, e := range entries {
		for _, seen := range e.After {
			delete(last, seen)
		}
	}
	heads := slices.Sorted(maps.Keys(last))
	return heads[:min(len(heads), MaxAfter)]
}

// NextCounter is the counter of an entry that names these as seen.
func NextCounter(entries []Entry, after []string) int64 {
	var highest int64
	for _, e := range entries {
		if slices.Contains(after, e.ID) {
			highest = max(highest, e.Counter)
		}
	}
	return highest + 1
}

// Orders are the orders of events that matter and that nobody's sight excludes.
// In each, what one device wrote stands as late as it can: after everything
// that had not seen it. So a fact that is worse holds, in one of the orders,
// until an entry that saw it, and who judges each order as if it were the only
// one and keeps the worst has judged no better than any truth. Where every
// entry saw all before it there is one order, that of (counter, id).
func (s *Sight) Orders() [][]Entry {
	if s.isOneLine() {
		return [][]Entry{slices.Clone(s.entries)}
	}
	var orders [][]Entry
	for _, last := range s.lines() {
		order := s.order(last)
		if !slices.ContainsFunc(orders, func(o []Entry) bool { return slices.EqualFunc(o, order, func(a, b Entry) bool { return a.ID == b.ID }) }) {
			orders = append(orders, order)
		}
	}
	return orders
}

func (s *Sight) isOneLine() bool {
	for i := 1; i < len(s.entries); i++ {
		if !s.saw(i, i-1) {
			return false
		}
	}
	return true
}

// lines are the chains, and one more for what lies beyond the bounds.
func (s *Sight) lines() []int {
	return slices.Compact(slices.Sorted(slices.Values(s.chain)))
}

// order is one order: what a chain wrote comes after all that may come before
// it. Each entry gets its rank in it.
func (s *Sight) order(last int) []Entry {
	waits, next := s.edges()
	var ready, late queue
	put := func(i int) {
		if s.chain[i] == last {
			heap.Push(&late, i)
		} else {
			heap.Push(&ready, i)
		}
	}
	for i, n := range waits {
		if n == 0 {
			put(i)
		}
	}
	order := make([]Entry, 0, len(s.entries))
	for len(ready)+len(late) > 0 {
		from := &ready
		if len(ready) == 0 {
			from = &late
		}
		i := heap.Pop(from).(int)
		e := s.entries[i]
		e.Rank = len(order) + 1
		order = append(order, e)
		for _, j := range next[i] {
			if waits[j]--; waits[j] == 0 {
				put(j)
			}
		}
	}
	return order
}

// edges are, of each entry, how many it saw directly and which saw it directly.
func (s *Sight) edges() (waits []int, next [][]int) {
	waits, next = make([]int, len(s.entries)), make([][]int, len(s.entries))
	for i, seen := range s.after {
		waits[i] = len(seen)
		for _, j := range seen {
			next[j] = append(next[j], i)
		}
	}
	return waits, next
}

// queue hands out the lowest index first.
type queue []int

func (q queue) Len() int           { return len(q) }
func (q queue) Less(i, j int) bool { return q[i] < q[j] }
func (q queue) Swap(i, j int)      { q[i], q[j] = q[j], q[i] }
func (q *queue) Push(i any)        { *q = append(*q, i.(int)) }
func (q *queue) Pop() any {
	i := (*q)[len(*q)-1]
	*q = (*q)[:len(*q)-1]
	return i
}

// Order compares two entries of one order of events: by their ranks in it, and
// by (counter, id) when they have none.
func Order(a, b Entry) int {
	if a.Rank > 0 && b.Rank > 0 {
		return cmp.Compare(a.Rank, b.Rank)
	}
	return listed(a, b)
}
