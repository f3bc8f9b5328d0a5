package records

import (
	"compress/zlib"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"sync"

	"feedproof/records/internal/gitfs"
	"feedproof/records/internal/packs"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/cache"
	"github.com/go-git/go-git/v5/plumbing/format/objfile"
	"github.com/go-git/go-git/v5/storage/filesystem"
)

// streamed is the size in bytes from which an object is not read into memory whole.
const streamed = 1 << 20

// remembered bounds the bytes of objects that are kept in memory.
const remembered = 16 * cache.MiByte

// objects is go-git's storer but for objects. It reads them itself, as go-git reads the index of every pack whole before the first one. And it
// writes them itself, to have many durable at once; the name of one that is there already is made durable once more, as it may come from a
// process that died before syncing it.
type objects struct {
	*filesystem.Storage
	fresh gitfs.FS
	packs *packs.Store
	known *cache.ObjectLRU
}

func newObjects(fresh gitfs.FS) objects {
	known := cache.NewObjectLRU(remembered)
	return objects{Storage: filesystem.NewStorage(fresh, known), fresh: fresh, packs: packs.New(fresh, streamed), known: known}
}

// SetEncodedObject writes an object; it is durable after a Sync of fresh. It is packed quickly rather than well: Tidy does that later.
func (o objects) SetEncodedObject(content plumbing.EncodedObject) (plumbing.Hash, error) {
	temp, err := o.fresh.TempFile(packs.Dir, gitfs.TempPrefix)
	if err != nil {
		return plumbing.ZeroHash, err
	}
	hash, err := pour(temp, content)
	if closed := temp.Close(); err == nil {
		err = closed
	}
	if err == nil {
		err = o.place(temp.Name(), hash)
	}
	if err != nil {
		if strayed := o.fresh.Remove(temp.Name()); !errors.Is(strayed, fs.ErrNotExist) {
			err = errors.Join(err, strayed)
		}
		return plumbing.ZeroHash, err
	}
	return hash, o.fresh.Renew("objects", path.Dir(loosePath(hash)))
}

// place gives a written object its name, unless it is there already.
func (o objects) place(temp string, hash plumbing.Hash) error {
	_, err := o.fresh.Stat(loosePath(hash))
	if err == nil {
		return o.fresh.Remove(temp)
	}
	if !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return o.fresh.Rename(temp, loosePath(hash))
}

// packers are kept, as making one takes longer than packing a record with it.
var packers = sync.Pool{New: func() any {
	packer, err := zlib.NewWriterLevel(nil, zlib.BestSpeed)
	if err != nil {
		panic(err) // the level is a constant
	}
	return packer
}}

// pour writes an object in git's form and computes its name.
func pour(to io.Writer, content plumbing.EncodedObject) (plumbing.Hash, error) {
	in, err := content.Reader()
	if err != nil {
		return plumbing.ZeroHash, err
	}
	defer in.Close()
	packed := packers.Get().(*zlib.Writer)
	defer packers.Put(packed)
	packed.Reset(to)
	name := plumbing.NewHasher(content.Type(), content.Size())
	if _, err := fmt.Fprintf(packed, "%s %d\x00", content.Type(), content.Size()); err != nil {
		return plumbing.ZeroHash, err
	}
	n, err := io.Copy(io.MultiWriter(packed, name), in)
	if err == nil && n != content.Size() {
		err = fmt.Errorf("object: has %d bytes and not %d", n, content.Size())
	}
	return name.Sum(), errors.Join(err, packed.Close())
}

// EncodedObject reads an object, from a file of its own or from a pack. It may move from the one to the other meanwhile.
func (o objects) EncodedObject(kind plumbing.ObjectType, hash plumbing.Hash) (plumbing.EncodedObject, error) {
	found, known := o.known.Get(hash)
	if !known {
		var err error
		found, err = o.loose(hash)
		if errors.Is(err, fs.ErrNotExist) {
			found, err = o.packs.Get(hash)
		}
		if err != nil {
			return nil, err
		}
		if found.Type() != plumbing.BlobObject { // a record is read once; what leads to it again and again
			o.known.Put(found)
		}
	}
	if kind != plumbing.AnyObject && found.Type() != kind {
		return nil, plumbing.ErrObjectNotFound
	}
	return found, nil
}

// HasEncodedObject is plumbing.ErrObjectNotFound for an object that is not there.
func (o objects) HasEncodedObject(hash plumbing.Hash) error {
	_, err := o.fresh.Stat(loosePath(hash))
	if !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	there, err := o.packs.Has(hash)
	if err == nil && !there {
		err = plumbing.ErrObjectNotFound
	}
	return err
}

// EncodedObjectSize is the size of an object, without its bytes.
func (o objects) EncodedObjectSize(hash plumbing.Hash) (int64, error) {
	in, _, size, err := o.openLoose(hash)
	if errors.Is(err, fs.ErrNotExist) {
		return o.packs.Size(hash)
	}
	if err != nil {
		return 0, err
	}
	return size, in.Close()
}

func loosePath(hash plumbing.Hash) string {
	name := hash.String()
	return "objects/" + name[:2] + "/" + name[2:]
}

// looseReader unpacks an object's file.
type looseReader struct {
	*objfile.Reader
	file io.Closer
}

func (r looseReader) Close() error { return errors.Join(r.Reader.Close(), r.file.Close()) }

func (o objects) openLoose(hash plumbing.Hash) (in io.ReadCloser, kind plumbing.ObjectType, size int64, err error) {
	f, err := o.fresh.Open(loosePath(hash))
	if err != nil {
		return nil, 0, 0, err
	}
	unpacked, err := objfile.NewReader(f)
	if err == nil {
		kind, size, err = unpacked.Header()
	}
	if err != nil {
		return nil, 0, 0, errors.Join(fmt.Errorf("object %s: %w", hash, err), f.Close())
	}
	return looseReader{unpacked, f}, kind, size, nil
}

// loose reads an object from its own file.
func (o objects) loose(hash plumbing.Hash) (plumbing.EncodedObject, error) {
	in, kind, size, err := o.openLoose(hash)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	if size > streamed {
		return &largeObject{store: o, hash: hash, kind: kind, size: size}, nil
	}
	whole := &plumbing.MemoryObject{}
	whole.SetType(kind)
	if _, err := io.Copy(whole, io.LimitReader(in, size+1)); err != nil {
		return nil, fmt.Errorf("object %s: %w", hash, err)
	}
	return whole, nil
}

// largeObject is read as it is asked for.
type largeObject struct {
	plumbing.MemoryObject
	store objects
	hash  plumbing.Hash
	kind  plumbing.ObjectType
	size  int64
}

func (l *largeObject) Hash() plumbing.Hash       { return l.hash }
func (l *largeObject) Type() plumbing.ObjectType { return l.kind }
func (l *largeObject) Size() int64               { return l.size }

// Reader unpacks the object from its beginning, wherever it is by now.
func (l *largeObject) Reader() (io.ReadCloser, error) {
	in, _, _, err := l.store.openLoose(l.hash)
	if !errors.Is(err, fs.ErrNotExist) {
		return in, err
	}
	packed, err := l.store.packs.Get(l.hash)
	if err != nil {
		return nil, err
	}
	return packed.Reader()
}
