package records

import (
	"bufio"
	"compress/zlib"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"strconv"
	"strings"

	"feedproof/records/internal/gitfs"
	"feedproof/schema"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/format/packfile"
	"github.com/go-git/go-git/v5/plumbing/storer"
)

// Sizes of what comes in that no honest exchange reaches.
const (
	maxCommitBytes  = 1 << 20
	maxTreeBytes    = 16 << 20
	maxBlobBytes    = max(MaxEvidence, schema.MaxRecordBytes)
	maxPackObjects  = 5_000_000
	maxPackRatio    = 200      // of what a pack unpacks to, to its size
	maxPackFreeSize = 64 << 20 // up to which the ratio does not count
)

// tooLarge says that an object is larger than anything the shop would write.
func tooLarge(kind plumbing.ObjectType, hash plumbing.Hash, size int64) error {
	limit := int64(maxBlobBytes)
	switch kind {
	case plumbing.CommitObject:
		limit = maxCommitBytes
	case plumbing.TreeObject:
		limit = maxTreeBytes
	}
	if size > limit {
		return fmt.Errorf("object %s: unpacks to %d bytes, more than a %s may have", hash, size, kind)
	}
	return nil
}

// foreign is another repository's store, whose objects are bounded before they are unpacked: a few bytes may unpack to gigabytes.
type foreign struct {
	storer.EncodedObjectStorer
	git gitfs.FS
}

// EncodedObject reads one object, loose ones within the size that they announce.
func (f foreign) EncodedObject(kind plumbing.ObjectType, hash plumbing.Hash) (plumbing.EncodedObject, error) {
	o, err := f.loose(hash)
	if !errors.Is(err, fs.ErrNotExist) {
		return o, err
	}
	size, err := f.EncodedObjectSize(hash)
	if err != nil {
		return nil, err
	}
	if err := tooLarge(kind, hash, size); err != nil {
		return nil, err
	}
	return f.EncodedObjectStorer.EncodedObject(kind, hash)
}

func (f foreign) loose(hash plumbing.Hash) (plumbing.EncodedObject, error) {
	name := hash.String()
	in, err := f.git.Open("objects/" + name[:2] + "/" + name[2:])
	if err != nil {
		return nil, err
	}
	defer in.Close()
	unpacked, err := zlib.NewReader(in)
	if err != nil {
		return nil, fmt.Errorf("object %s: %w", hash, err)
	}
	defer unpacked.Close()
	buffered := bufio.NewReaderSize(unpacked, 64)
	header, err := buffered.ReadSlice(0)
	if err != nil {
		return nil, fmt.Errorf("object %s: has no header", hash)
	}
	word, number, _ := strings.Cut(strings.TrimSuffix(string(header), "\x00"), " ")
	kind, err := plumbing.ParseObjectType(word)
	if err != nil {
		return nil, fmt.Errorf("object %s: %w", hash, err)
	}
	size, err := strconv.ParseInt(number, 10, 64)
	if err != nil || size < 0 {
		return nil, fmt.Errorf("object %s: has no size", hash)
	}
	if err := tooLarge(kind, hash, size); err != nil {
		return nil, err
	}
	o := &plumbing.MemoryObject{}
	o.SetType(kind)
	n, err := io.Copy(o, io.LimitReader(buffered, size+1))
	if err == nil && n != size {
		err = errors.New("has another size than it says")
	}
	if err != nil {
		return nil, fmt.Errorf("object %s: %w", hash, err)
	}
	return o, nil
}

// scanPack reads a pack once and refuses one that unpacks to far more than it holds, before anything is unpacked into memory.
func scanPack(in io.Reader, size int64) error {
	s := packfile.NewScanner(in)
	_, count, err := s.Header()
	if err != nil {
		return err
	}
	if count > maxPackObjects {
		return fmt.Errorf("pack: holds %d objects, more than %d", count, maxPackObjects)
	}
	var total int64
	for range count {
		h, err := s.NextObjectHeader()
		if err != nil {
			return err
		}
		if err := believable(h.Length, total+h.Length, size); err != nil {
			return err
		}
		start := &deltaStart{}
		if _, _, err := s.NextObject(start); err != nil {
			return err
		}
		unpacked := h.Length
		if h.Type.IsDelta() {
			unpacked = max(unpacked, start.target())
		}
		total += unpacked
		if err := believable(unpacked, total, size); err != nil {
			return err
		}
	}
	return nil
}

// believable refuses an object, or all so far, that is out of proportion to the size of its pack.
func believable(unpacked, total, size int64) error {
	if unpacked < 0 || unpacked > maxBlobBytes || total < 0 || total > maxPackFreeSize+maxPackRatio*size {
		return fmt.Errorf("pack: unpacks to far more than it holds: %d bytes make %d or more", size, total)
	}
	return nil
}

// deltaStart keeps the first bytes of a delta, where the sizes stand.
type deltaStart struct{ bytes []byte }

func (b *deltaStart) Write(p []byte) (int, error) {
	if room := 20 - len(b.bytes); room > 0 {
		b.bytes = append(b.bytes, p[:min(room, len(p))]...)
	}
	return len(p), nil
}

// target is the size of the object that a delta makes: the second number of seven bits a byte.
func (b *deltaStart) target() int64 {
	rest := b.bytes
	var n int64
	for range 2 {
		n = 0
		for shift := 0; len(rest) > 0 && shift < 63; shift += 7 {
			digit := rest[0]
			rest = rest[1:]
			n |= int64(digit&0x7f) << shift
			if digit < 0x80 {
				break
			}
		}
	}
	return n
}

// overlay reads what came in, and beside it what the shop has. What a remote has and cannot be read there, or has other bytes than its name
// says, may still be right in the shop.
type overlay struct {
	storer.EncodedObjectStorer
	beside storer.EncodedObjectStorer
}

// EncodedObject reads an object from either.
func (o overlay) EncodedObject(kind plumbing.ObjectType, hash plumbing.Hash) (plumbing.EncodedObject, error) {
	came, err := o.beside.EncodedObject(kind, hash)
	if err == nil && came.Hash() == hash {
		return came, nil
	}
	own, missed := o.EncodedObjectStorer.EncodedObject(kind, hash)
	if missed == nil {
		return own, nil
	}
	return came, err
}

// HasEncodedObject reports whether either has it.
func (o overlay) HasEncodedObject(hash plumbing.Hash) error {
	if o.beside.HasEncodedObject(hash) == nil {
		return nil
	}
	return o.EncodedObjectStorer.HasEncodedObject(hash)
}

// EncodedObjectSize is the size of an object of either.
func (o overlay) EncodedObjectSize(hash plumbing.Hash) (int64, error) {
	size, err := o.beside.EncodedObjectSize(hash)
	if err == nil {
		return size, nil
	}
	return o.EncodedObjectStorer.EncodedObjectSize(hash)
}
