package records

import (
	"container/heap"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/object"
	"github.com/go-git/go-git/v5/plumbing/storer"
)

// side says from which of two lines of commits one can be reached.
type side uint8

const (
	ourSide side = 1 << iota
	theirSide
	bothSides = ourSide | theirSide
)

// lines is how two lines of commits stand to each other.
type lines struct {
	sides   map[plumbing.Hash]side
	commits map[plumbing.Hash]*object.Commit // those that could be read
}

// apart tells the commits that only one of two lines leads to. It walks back from all tips, newest first by the clocks of the writers, and
// stops when all that is left lies behind both lines, so that its cost follows the commits by which they differ. Clocks decide nothing but
// that cost: with wrong ones, commits behind both lines may count as one side's, and none of its own is ever missed. A commit of theirs that
// cannot be read ends its line there.
func apart(store storer.EncodedObjectStorer, ours, theirs []plumbing.Hash) (lines, error) {
	l := lines{sides: map[plumbing.Hash]side{}, commits: map[plumbing.Hash]*object.Commit{}}
	next := &frontier{lines: l, queued: map[plumbing.Hash]bool{}}
	for _, h := range ours {
		if err := next.reach(store, h, ourSide); err != nil {
			return l, err
		}
	}
	for _, h := range theirs {
		if err := next.reach(store, h, theirSide); err != nil {
			return l, err
		}
	}
	for next.open > 0 {
		c := next.take()
		for _, p := range c.ParentHashes {
			if err := next.reach(store, p, l.sides[c.Hash]); err != nil {
				return l, err
			}
		}
	}
	return l, nil
}

// holds reports whether a commit lies behind both lines: for the one tip of a side, that the other line holds all of that side.
func (l lines) holds(tip plumbing.Hash) bool { return l.sides[tip] == bothSides }

// common is a commit behind both lines, the newest by the clocks of the writers; zero for none.
func (l lines) common() plumbing.Hash {
	var newest *object.Commit
	for h, s := range l.sides {
		c := l.commits[h]
		if s == bothSides && c != nil && (newest == nil || c.Committer.When.After(newest.Committer.When)) {
			newest = c
		}
	}
	if newest == nil {
		return plumbing.ZeroHash
	}
	return newest.Hash
}

// own lists the commits that only one side's tips lead to, parents before children, also those that could not be read.
func (l lines) own(s side, tips ...plumbing.Hash) []plumbing.Hash {
	type visit struct {
		hash plumbing.Hash
		done bool // its parents are listed
	}
	var order []plumbing.Hash
	seen := map[plumbing.Hash]bool{}
	var stack []visit
	for _, h := range tips {
		stack = append(stack, visit{hash: h})
	}
	for len(stack) > 0 {
		at := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		if at.done {
			order = append(order, at.hash)
			continue
		}
		if seen[at.hash] || l.sides[at.hash] != s {
			continue
		}
		seen[at.hash] = true
		stack = append(stack, visit{at.hash, true})
		if c := l.commits[at.hash]; c != nil {
			for _, p := range c.ParentHashes {
				stack = append(stack, visit{hash: p})
			}
		}
	}
	return order
}

// frontier is where a walk stands, newest commit first.
type frontier struct {
	lines
	heap   []*object.Commit
	queued map[plumbing.Hash]bool
	open   int // how many of the queued are not behind both lines
}

// reach marks a commit as one that a side leads to, and queues it when that is news.
func (f *frontier) reach(store storer.EncodedObjectStorer, h plumbing.Hash, s side) error {
	had := f.sides[h]
	if had|s == had {
		return nil
	}
	f.sides[h] = had | s
	if f.queued[h] {
		if had != bothSides && had|s == bothSides {
			f.open--
		}
		return nil
	}
	c := f.commits[h]
	if c == nil {
		var err error
		if c, err = readCommit(store, h); err != nil {
			if s == theirSide && had == 0 {
				return nil
			}
			return err
		}
		f.commits[h] = c
	}
	f.queued[h] = true
	if had|s != bothSides {
		f.open++
	}
	heap.Push(f, c)
	return nil
}

func (f *frontier) take() *object.Commit {
	c := heap.Pop(f).(*object.Commit)
	f.queued[c.Hash] = false
	if f.sides[c.Hash] != bothSides {
		f.open--
	}
	return c
}

// Len, Less, Swap, Push and Pop make a heap of it.
func (f *frontier) Len() int { return len(f.heap) }
func (f *frontier) Less(i, j int) bool {
	return f.heap[i].Committer.When.After(f.heap[j].Committer.When)
}
func (f *frontier) Swap(i, j int) { f.heap[i], f.heap[j] = f.heap[j], f.heap[i] }
func (f *frontier) Push(c any)    { f.heap = append(f.heap, c.(*object.Commit)) }
func (f *frontier) Pop() any {
	last := f.heap[len(f.heap)-1]
	f.heap = f.heap[:len(f.heap)-1]
	return last
}
