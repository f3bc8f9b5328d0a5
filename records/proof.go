package records

import (
	"container/heap"
	"errors"
	"fmt"
	"runtime"
	"sync"
	"time"

	"feedproof/records/signature"
	"feedproof/schema"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/object"
	"github.com/go-git/go-git/v5/plumbing/storer"
)

// proofs tells whose keys counted at any commit, and which commit stands on which. It keeps what it read: commits never change. Several may
// ask at once.
type proofs struct {
	store   storer.EncodedObjectStorer
	alone   sync.Mutex
	commits map[plumbing.Hash]commitNode
	rosters map[plumbing.Hash]signature.Roster // by the shop's record that they come from
}

// commitNode is what is needed of a commit.
type commitNode struct {
	tree    plumbing.Hash
	parents []plumbing.Hash
	when    time.Time
}

func newProofs(store storer.EncodedObjectStorer) *proofs {
	return &proofs{store: store, commits: map[plumbing.Hash]commitNode{}, rosters: map[plumbing.Hash]signature.Roster{}}
}

// commit reads a commit. The caller holds the lock.
func (p *proofs) commit(hash plumbing.Hash) (commitNode, error) {
	if n, known := p.commits[hash]; known {
		return n, nil
	}
	c, err := readCommit(p.store, hash)
	if err != nil {
		return commitNode{}, err
	}
	p.commits[hash] = nodeOf(c)
	return p.commits[hash], nil
}

func nodeOf(c *object.Commit) commitNode {
	return commitNode{c.TreeHash, c.ParentHashes, c.Committer.When}
}

// has reports whether a commit is there.
func (p *proofs) has(hash plumbing.Hash) bool {
	p.alone.Lock()
	defer p.alone.Unlock()
	_, err := p.commit(hash)
	return err == nil
}

// rosterAt is who was in the shop at a commit.
func (p *proofs) rosterAt(commit plumbing.Hash) (signature.Roster, error) {
	p.alone.Lock()
	defer p.alone.Unlock()
	blob, err := p.blobAt(commit, shopFile)
	if err != nil {
		return signature.Roster{}, err
	}
	if r, known := p.rosters[blob]; known {
		return r, nil
	}
	own, err := snapshot{store: p.store}.readRecord(shopFile, blob, schema.ReadCommitted)
	if err != nil {
		return signature.Roster{}, err
	}
	p.rosters[blob] = signature.NewRoster(own)
	return p.rosters[blob], nil
}

// blobAt is what stood at a path; zero for nothing. The caller holds the lock.
func (p *proofs) blobAt(commit plumbing.Hash, path string) (plumbing.Hash, error) {
	n, err := p.commit(commit)
	if err != nil {
		return plumbing.ZeroHash, fmt.Errorf("commit %s: is not in this shop", commit)
	}
	entry, err := snapshot{store: p.store, root: n.tree}.lookup(path)
	return entry.Hash, err
}

// recordAt is a record as a commit held it; empty when it was not there yet.
func (p *proofs) recordAt(commit plumbing.Hash, path string) (schema.Record, error) {
	p.alone.Lock()
	defer p.alone.Unlock()
	blob, err := p.blobAt(commit, path)
	if err != nil || blob.IsZero() {
		return schema.Record{}, err
	}
	return snapshot{store: p.store}.readRecord(path, blob, schema.ReadCommitted)
}

// standsOn reports whether a commit leads to another, itself included. It looks at the newest first: what is asked for is near as a rule.
func (p *proofs) standsOn(commit, other plumbing.Hash) (bool, error) {
	p.alone.Lock()
	defer p.alone.Unlock()
	seen := map[plumbing.Hash]bool{}
	var todo newestFirst
	push := func(hash plumbing.Hash) error {
		if seen[hash] {
			return nil
		}
		seen[hash] = true
		n, err := p.commit(hash)
		if err == nil {
			heap.Push(&todo, reached{hash, n.when})
		}
		return err
	}
	err := push(commit)
	for err == nil && len(todo) > 0 {
		at := heap.Pop(&todo).(reached)
		if at.commit == other {
			return true, nil
		}
		for _, parent := range p.commits[at.commit].parents {
			err = errors.Join(err, push(parent))
		}
	}
	return false, err
}

// reached is a commit that was reached on the way back.
type reached struct {
	commit plumbing.Hash
	when   time.Time
}

type newestFirst []reached

func (q newestFirst) Len() int           { return len(q) }
func (q newestFirst) Less(i, j int) bool { return q[i].when.After(q[j].when) }
func (q newestFirst) Swap(i, j int)      { q[i], q[j] = q[j], q[i] }
func (q *newestFirst) Push(x any)        { *q = append(*q, x.(reached)) }
func (q *newestFirst) Pop() any {
	last := (*q)[len(*q)-1]
	*q = (*q)[:len(*q)-1]
	return last
}

// firstKey is the fingerprint of the shop's first key, which everything that is signed in it names.
func (s *Shop) firstKey() (string, error) {
	if s.device.Pinned != "" {
		return s.device.Pinned, nil
	}
	head, err := s.head()
	if err != nil {
		return "", err
	}
	begins, err := beginning(s.store, head)
	return begins.Fingerprint, err
}

// authored proves that an entry is its author's: signed with a key that was theirs at the commit that they had seen.
func (p *proofs) authored(hashes schema.Hashes, e schema.Entry) (signature.Key, error) {
	if e.Head == "" {
		return signature.Key{}, errors.New("names no commit that its author had seen")
	}
	roster, err := p.rosterAt(plumbing.NewHash(e.Head))
	if err != nil {
		return signature.Key{}, err
	}
	return authoredBy(roster, hashes, e)
}

func authoredBy(roster signature.Roster, hashes schema.Hashes, e schema.Entry) (signature.Key, error) {
	message, err := hashes.Sign(e)
	if err != nil {
		return signature.Key{}, err
	}
	return roster.Author(e, message)
}

// each does something for every index, on all cores.
func each(n int, do func(i int)) {
	workers := min(runtime.GOMAXPROCS(0), n)
	var all sync.WaitGroup
	for w := range workers {
		all.Go(func() {
			for i := w; i < n; i += workers {
				do(i)
			}
		})
	}
	all.Wait()
}
