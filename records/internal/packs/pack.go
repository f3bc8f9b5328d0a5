package packs

import (
	"bufio"
	"bytes"
	"errors"
	"io"
	"math"
	"slices"
	"sync"

	"feedproof/records/internal/gitfs"

	"github.com/go-git/go-billy/v5"
	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/format/packfile"
	"github.com/klauspost/compress/zlib"
)

// pack is one pack, opened when it is first asked.
type pack struct {
	name string
	git  gitfs.FS

	mu              sync.Mutex
	index           *index
	data, indexFile billy.File
	bases           map[int64]content // what differences were resolved to
	held            int               // bytes in bases
}

// content is an object in memory.
type content struct {
	kind  plumbing.ObjectType
	bytes []byte
}

// Bounds of what is believed and kept.
const (
	maxDepth = 4095     // differences upon differences: git's own bound
	maxHeld  = 16 << 20 // bytes of resolved objects kept for the next difference
)

func newPack(git gitfs.FS, name string) *pack {
	return &pack{name: name, git: git, bases: map[int64]content{}}
}

// open opens both files, so that the pack can be read on when another process removes it.
func (p *pack) open() error {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.data != nil {
		return nil
	}
	data, err := p.git.Open(file(p.name, ".pack"))
	if err != nil {
		return err
	}
	in, err := p.git.Open(file(p.name, ".idx"))
	if err == nil {
		p.index, err = openIndex(p.name, in)
	}
	if err != nil {
		return errors.Join(err, data.Close())
	}
	p.data, p.indexFile = data, in
	return nil
}

// find is where an object stands.
func (p *pack) find(hash plumbing.Hash) (offset int64, there bool, err error) {
	if err := p.open(); err != nil {
		return 0, false, err
	}
	return p.index.find(hash)
}

// entry is the beginning of an object in the pack.
type entry struct {
	kind plumbing.ObjectType
	size int64 // unpacked
	base int64 // offset of what a difference is to
	in   *bufio.Reader
}

// entry reads the beginning of what stands at an offset; the reader stands at its packed bytes then.
func (p *pack) entry(offset int64) (entry, error) {
	if offset <= 0 {
		return entry{}, damaged(p.name, "points before its beginning")
	}
	e := entry{in: bufio.NewReader(io.NewSectionReader(p.data, offset, math.MaxInt64-offset))}
	b, err := e.in.ReadByte()
	e.kind, e.size = plumbing.ObjectType(b>>4&7), int64(b&15)
	for shift := 4; err == nil && b&0x80 != 0 && shift < 60; shift += 7 {
		b, err = e.in.ReadByte()
		e.size |= int64(b&0x7f) << shift
	}
	if err == nil {
		e.base, err = p.base(e, offset)
	}
	if err != nil {
		return entry{}, damaged(p.name, "object at %d: cannot be read: %v", offset, err)
	}
	return e, nil
}

// base is where the object stands that a difference is to; 0 for a whole one.
func (p *pack) base(e entry, offset int64) (int64, error) {
	switch e.kind {
	case plumbing.OFSDeltaObject:
		b, err := e.in.ReadByte()
		back := int64(b & 0x7f)
		for err == nil && b&0x80 != 0 && back < 1<<55 {
			b, err = e.in.ReadByte()
			back = (back+1)<<7 | int64(b&0x7f)
		}
		return offset - back, err
	case plumbing.REFDeltaObject:
		var hash plumbing.Hash
		if _, err := io.ReadFull(e.in, hash[:]); err != nil {
			return 0, err
		}
		at, there, err := p.index.find(hash)
		if err == nil && !there {
			err = plumbing.ErrObjectNotFound
		}
		return at, err
	case plumbing.CommitObject, plumbing.TreeObject, plumbing.BlobObject, plumbing.TagObject:
		return 0, nil
	}
	return 0, plumbing.ErrInvalidType
}

// object reads the object at an offset.
func (p *pack) object(offset int64, hash plumbing.Hash, streamed int64) (plumbing.EncodedObject, error) {
	e, err := p.entry(offset)
	if err != nil {
		return nil, err
	}
	if e.base == 0 && e.size > streamed {
		return &stream{hash: hash, kind: e.kind, size: e.size, pack: p, offset: offset}, nil
	}
	c, err := p.resolve(offset)
	if err != nil {
		return nil, err
	}
	return &Object{hash: hash, kind: c.kind, content: slices.Clip(c.bytes)}, nil
}

// resolve reads the object at an offset: it goes down the differences to a whole object and up again.
func (p *pack) resolve(offset int64) (content, error) {
	var deltas [][]byte
	var at []int64
	c, known := p.inHand(offset)
	for !known {
		e, err := p.entry(offset)
		if err != nil {
			return c, err
		}
		packed, err := inflate(e)
		if err != nil {
			return c, damaged(p.name, "object at %d: %v", offset, err)
		}
		if e.base == 0 {
			c = content{e.kind, packed}
			break
		}
		if deltas, at = append(deltas, packed), append(at, offset); len(at) > maxDepth {
			return c, damaged(p.name, "object at %d: is a difference upon too many others", at[0])
		}
		offset = e.base
		c, known = p.inHand(offset)
	}
	if len(deltas) > 0 && !known {
		p.hold(offset, c)
	}
	for i := len(deltas) - 1; i >= 0; i-- {
		whole, err := packfile.PatchDelta(c.bytes, deltas[i])
		if err != nil {
			return c, damaged(p.name, "object at %d: %v", at[i], err)
		}
		c.bytes = whole
		p.hold(at[i], c)
	}
	return c, nil
}

func (p *pack) inHand(offset int64) (content, bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	c, known := p.bases[offset]
	return c, known
}

func (p *pack) hold(offset int64, c content) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.held += len(c.bytes); p.held > maxHeld {
		clear(p.bases)
		p.held = len(c.bytes)
	}
	p.bases[offset] = c
}

// size is that of the object at an offset, unpacked.
func (p *pack) size(offset int64) (int64, error) {
	e, err := p.entry(offset)
	if err != nil || e.base == 0 {
		return e.size, err
	}
	unpacked, err := zlib.NewReader(e.in)
	if err != nil {
		return 0, damaged(p.name, "object at %d: %v", offset, err)
	}
	begin := make([]byte, min(e.size, 20))
	if _, err := io.ReadFull(unpacked, begin); err != nil {
		return 0, damaged(p.name, "object at %d: %v", offset, err)
	}
	_, begin = number(begin)
	size, _ := number(begin)
	return size, nil
}

// number reads a number of seven bits a byte, lowest first, as a difference begins with two: the sizes before and after.
func number(in []byte) (n int64, rest []byte) {
	for i, b := range in {
		n |= int64(b&0x7f) << (7 * min(i, 8))
		if b < 0x80 {
			return n, in[i+1:]
		}
	}
	return n, nil
}

var unpackers sync.Pool

// inflate unpacks what an entry holds, which must be exactly as long as it says.
func inflate(e entry) ([]byte, error) {
	unpacked, err := unpacker(e.in)
	if err != nil {
		return nil, err
	}
	defer unpackers.Put(unpacked)
	var out bytes.Buffer
	out.Grow(int(min(e.size, 1<<20)) + bytes.MinRead)
	n, err := out.ReadFrom(io.LimitReader(unpacked, e.size+1))
	if err == nil && n != e.size {
		err = errors.New("has another size than it says")
	}
	return out.Bytes(), err
}

func unpacker(in io.Reader) (io.ReadCloser, error) {
	if used, ok := unpackers.Get().(io.ReadCloser); ok {
		return used, used.(zlib.Resetter).Reset(in, nil)
	}
	return zlib.NewReader(in)
}

// Object is an object that was read whole. Its name is the one that it was asked for by.
type Object struct {
	plumbing.MemoryObject
	hash    plumbing.Hash
	kind    plumbing.ObjectType
	content []byte
}

// Hash is the object's name.
func (o *Object) Hash() plumbing.Hash { return o.hash }

// Type is commit, tree, blob or tag.
func (o *Object) Type() plumbing.ObjectType { return o.kind }

// Size is in bytes.
func (o *Object) Size() int64 { return int64(len(o.content)) }

// Content is not to be changed: it may be that of another object too, or what others are differences to.
func (o *Object) Content() []byte { return o.content }

// Reader reads the object from its beginning.
func (o *Object) Reader() (io.ReadCloser, error) {
	return io.NopCloser(bytes.NewReader(o.content)), nil
}

// stream is an object that is unpacked as it is read.
type stream struct {
	plumbing.MemoryObject
	hash   plumbing.Hash
	kind   plumbing.ObjectType
	size   int64
	pack   *pack
	offset int64
}

func (s *stream) Hash() plumbing.Hash       { return s.hash }
func (s *stream) Type() plumbing.ObjectType { return s.kind }
func (s *stream) Size() int64               { return s.size }

// Reader unpacks the object from its beginning.
func (s *stream) Reader() (io.ReadCloser, error) {
	e, err := s.pack.entry(s.offset)
	if err != nil {
		return nil, err
	}
	return zlib.NewReader(e.in)
}
