package records

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/object"
	"github.com/go-git/go-git/v5/plumbing/storer"
	"github.com/go-git/go-git/v5/storage/memory"
	"pgregory.net/rapid"
)

// graph is a drawn history: commits by number, each with its parents' numbers.
type graph struct {
	store   storer.EncodedObjectStorer
	parents [][]int
	hashes  []plumbing.Hash
}

// drawGraph draws forks, joins and criss-crosses, by clocks that are right or wrong.
func drawGraph(rt *rapid.T, clocksRight bool) graph {
	g := graph{store: memory.NewStorage()}
	for n := range rapid.IntRange(2, 25).Draw(rt, "commits") {
		var parents []int
		if n > 0 {
			parents = rapid.SliceOfNDistinct(rapid.IntRange(0, n-1), 1, 2, func(i int) int { return i }).Draw(rt, fmt.Sprintf("parents of %d", n))
		}
		when := int64(n)
		if !clocksRight {
			when = rapid.Int64Range(0, 30).Draw(rt, fmt.Sprintf("clock of %d", n))
		}
		c := &object.Commit{Message: fmt.Sprint(n), Committer: object.Signature{Name: "x", Email: "x", When: time.Unix(when, 0).UTC()}}
		for _, p := range parents {
			c.ParentHashes = append(c.ParentHashes, g.hashes[p])
		}
		o := &plumbing.MemoryObject{}
		if err := c.Encode(o); err != nil {
			rt.Fatal(err)
		}
		h, err := g.store.SetEncodedObject(o)
		if err != nil {
			rt.Fatal(err)
		}
		g.parents, g.hashes = append(g.parents, parents), append(g.hashes, h)
	}
	return g
}

// behind is the commits that some lead to, these included, found the slow way.
func (g graph) behind(tips ...int) map[int]bool {
	seen := map[int]bool{}
	for len(tips) > 0 {
		at := tips[0]
		tips = tips[1:]
		if !seen[at] {
			seen[at] = true
			tips = append(tips, g.parents[at]...)
		}
	}
	return seen
}

func (g graph) String() string {
	var text strings.Builder
	for n, parents := range g.parents {
		fmt.Fprintf(&text, "%d <- %v\n", n, parents)
	}
	return text.String()
}

// Two lines are told apart as the slow way does, over any shape of history; with wrong clocks too much may count as one side's, and never
// too little.
func TestLinesAreToldApart(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		right := rapid.Bool().Draw(rt, "clocks are right")
		g := drawGraph(rt, right)
		any := rapid.IntRange(0, len(g.parents)-1)
		ours, theirs := any.Draw(rt, "ours"), any.Draw(rt, "theirs")
		l, err := apart(g.store, []plumbing.Hash{g.hashes[ours]}, []plumbing.Hash{g.hashes[theirs]})
		if err != nil {
			rt.Fatal(err)
		}
		us, them := g.behind(ours), g.behind(theirs)
		if gotTheirs, gotOurs := l.holds(g.hashes[theirs]), l.holds(g.hashes[ours]); gotTheirs != us[theirs] || gotOurs != them[ours] {
			rt.Fatalf("%d and %d: ours holds theirs %v, theirs holds ours %v, in\n%s", ours, theirs, gotTheirs, gotOurs, g)
		}
		own := l.own(theirSide, g.hashes[theirs])
		for n, h := range g.hashes {
			listed, want := slices.Contains(own, h), them[n] && !us[n]
			if want && !listed || listed && (!them[n] || right && !want) {
				rt.Fatalf("%d and %d: commit %d is listed: %v, in\n%s", ours, theirs, n, listed, g)
			}
		}
		for i, h := range own {
			for _, p := range g.parents[slices.Index(g.hashes, h)] {
				if at := slices.Index(own, g.hashes[p]); at > i {
					rt.Fatalf("a parent comes after its child in\n%s", g)
				}
			}
		}
	})
}

// The walk ends near where the lines part, however long the history is.
func TestTellingApartDoesNotWalkTheHistory(t *testing.T) {
	store := &counting{EncodedObjectStorer: memory.NewStorage()}
	var tip plumbing.Hash
	commit := func(parent plumbing.Hash, when int64) plumbing.Hash {
		c := &object.Commit{Message: fmt.Sprint(when), Committer: object.Signature{Name: "x", Email: "x", When: time.Unix(when, 0).UTC()}}
		if !parent.IsZero() {
			c.ParentHashes = []plumbing.Hash{parent}
		}
		o := &plumbing.MemoryObject{}
		must(t, c.Encode(o))
		h, err := store.SetEncodedObject(o)
		must(t, err)
		return h
	}
	for n := range 2000 {
		tip = commit(tip, int64(n))
	}
	ours, theirs := commit(tip, 3000), commit(commit(tip, 3001), 3002)
	l, err := apart(store, []plumbing.Hash{ours}, []plumbing.Hash{theirs})
	must(t, err)
	if n := len(l.own(theirSide, theirs)); n != 2 || store.reads > 10 {
		t.Errorf("%d commits are theirs, and %d were read", n, store.reads)
	}
}

// counting counts what is read.
type counting struct {
	storer.EncodedObjectStorer
	reads int
}

func (c *counting) EncodedObject(kind plumbing.ObjectType, hash plumbing.Hash) (plumbing.EncodedObject, error) {
	c.reads++
	return c.EncodedObjectStorer.EncodedObject(kind, hash)
}

// What a merge reads follows the records that changed, and not how many there are.
func TestMergeReadsWhatChanged(t *testing.T) {
	t.Parallel()
	reads := func(cars int) int {
		store := &counting{EncodedObjectStorer: memory.NewStorage()}
		var root plumbing.Hash
		put := func(root plumbing.Hash, car, text string) plumbing.Hash {
			p, err := recordPath("vehicle", car)
			must(t, err)
			blob, err := writeBlob(store, []byte(fmt.Sprintf("{\"record\":\"vehicle\",\"version\":1,\"id\":%q,\"entries\":[%s\n]}\n", car, text)))
			must(t, err)
			root, err = writeFile(store, root, p, blob)
			must(t, err)
			return root
		}
		for i := range cars {
			root = put(root, fmt.Sprintf("car-%d", i), "")
		}
		ours := put(root, "car-1", "")
		ours = put(ours, "ours", "")
		theirs := put(root, "theirs", "")
		store.reads = 0
		_, err := mergeTrees(store, "", root, ours, theirs)
		must(t, err)
		return store.reads
	}
	few, many := reads(300), reads(6000)
	if few == 0 || many > few+2 {
		t.Errorf("a merge reads %d objects among 300 cars and %d among 6000", few, many)
	}
}
