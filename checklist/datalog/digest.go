package datalog

import (
	"crypto/sha256"
	"encoding/hex"
	"slices"
	"sync"
)

// How much is handed over at a time, and how often before the first is added.
const (
	digestBytes = 128 << 10
	digestAhead = 4
)

// digest is the SHA-256 of what is written to it. It is added up in a
// goroutine of its own, for it takes as long as half of the reading.
type digest struct {
	full, empty chan []byte
	sum         chan string
	stop        func()
}

func newDigest() *digest {
	d := &digest{full: make(chan []byte, digestAhead), empty: make(chan []byte, digestAhead+1), sum: make(chan string, 1)}
	for range cap(d.empty) {
		d.empty <- make([]byte, 0, digestBytes)
	}
	d.stop = sync.OnceFunc(func() { close(d.full) })
	go d.run()
	return d
}

func (d *digest) run() {
	h := sha256.New()
	for block := range d.full {
		h.Write(block)
		d.empty <- block
	}
	d.sum <- hex.EncodeToString(h.Sum(nil))
}

func (d *digest) Write(p []byte) (int, error) {
	for block := range slices.Chunk(p, digestBytes) {
		d.full <- append((<-d.empty)[:0], block...)
	}
	return len(p), nil
}

// hex is the sum of all that was written. Nothing may be written afterwards.
func (d *digest) hex() string {
	d.stop()
	return <-d.sum
}
