package packs

import (
	"bytes"
	"encoding/binary"
	"io"
	"sort"

	"github.com/go-git/go-git/v5/plumbing"
)

const (
	hashSize   = len(plumbing.Hash{})
	fanStart   = 8 // after the magic number and the version
	namesStart = fanStart + 256*4
)

// index is an open pack index, read where it is asked.
type index struct {
	name string
	in   io.ReaderAt
	fan  [256]uint32 // objects whose first byte is at most this
}

func openIndex(name string, in io.ReaderAt) (*index, error) {
	head := make([]byte, namesStart)
	if _, err := in.ReadAt(head, 0); err != nil {
		return nil, damaged(name, "its index cannot be read: %v", err)
	}
	if !bytes.HasPrefix(head, []byte{0xff, 't', 'O', 'c', 0, 0, 0, 2}) {
		return nil, damaged(name, "its index is not of version 2")
	}
	x := &index{name: name, in: in}
	for i := range x.fan {
		x.fan[i] = binary.BigEndian.Uint32(head[fanStart+4*i:])
		if i > 0 && x.fan[i] < x.fan[i-1] {
			return nil, damaged(name, "its index is out of order")
		}
	}
	return x, nil
}

func (x *index) count() int64 { return int64(x.fan[255]) }

// scanned is how many names are read at once.
const scanned = 128

// find is where an object stands in the pack.
func (x *index) find(hash plumbing.Hash) (offset int64, there bool, err error) {
	low, high := int64(0), int64(x.fan[hash[0]])
	if hash[0] > 0 {
		low = int64(x.fan[hash[0]-1])
	}
	for high-low > scanned {
		middle := (low + high) / 2
		name, err := x.names(middle, 1)
		if err != nil {
			return 0, false, err
		}
		if bytes.Compare(name, hash[:]) <= 0 {
			low = middle
		} else {
			high = middle
		}
	}
	names, err := x.names(low, high-low)
	if err != nil {
		return 0, false, err
	}
	at := func(i int) []byte { return names[i*hashSize : (i+1)*hashSize] }
	i := sort.Search(int(high-low), func(i int) bool { return bytes.Compare(at(i), hash[:]) >= 0 })
	if i == int(high-low) || !bytes.Equal(at(i), hash[:]) {
		return 0, false, nil
	}
	offset, err = x.offset(low + int64(i))
	return offset, err == nil, err
}

// names reads some names.
func (x *index) names(from, n int64) ([]byte, error) {
	return x.read(namesStart+from*int64(hashSize), n*int64(hashSize))
}

// offset is where the i-th object stands.
func (x *index) offset(i int64) (int64, error) {
	small := namesStart + x.count()*int64(hashSize+4)
	raw, err := x.read(small+i*4, 4)
	if err != nil {
		return 0, err
	}
	at := binary.BigEndian.Uint32(raw)
	if at < 1<<31 {
		return int64(at), nil
	}
	raw, err = x.read(small+x.count()*4+int64(at&^(1<<31))*8, 8)
	if err != nil {
		return 0, err
	}
	return int64(binary.BigEndian.Uint64(raw)), nil
}

func (x *index) read(at, n int64) ([]byte, error) {
	raw := make([]byte, n)
	if _, err := x.in.ReadAt(raw, at); err != nil && (n > 0 || err != io.EOF) {
		return nil, damaged(x.name, "its index ends early: %v", err)
	}
	return raw, nil
}
