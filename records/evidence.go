package records

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"
	"io/fs"
	"slices"

	"feedproof/records/internal/gitfs"
	"feedproof/schema"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/storer"
)

// MaxEvidence is the size in bytes of the largest file that Keep takes. Files are streamed to and from the disk whatever their size; the
// bound is for the people who exchange them.
const MaxEvidence = 256 << 20

// Evidence is a kept file. Its name is the SHA-256 of its bytes, in hexadecimal.
type Evidence struct {
	SHA256 string
	Bytes  int64
	Known  bool // the shop had the same bytes already: see UsesOf
}

// Keep keeps a file's bytes. They are durable when it returns, and go into git at evidence/<aa>/<sha256> with the commit of the entry that
// names them. The same bytes are kept once. An empty file and one beyond MaxEvidence are an *EvidenceError.
func (s *Shop) Keep(content io.Reader) (Evidence, error) {
	temp, err := s.disk.TempFile(keptDir, gitfs.TempPrefix)
	if err != nil {
		return Evidence{}, err
	}
	sum := sha256.New()
	n, err := io.Copy(io.MultiWriter(temp, sum), io.LimitReader(content, MaxEvidence+1))
	if closed := temp.Close(); err == nil {
		err = closed
	}
	kept := Evidence{SHA256: hex.EncodeToString(sum.Sum(nil)), Bytes: n}
	if err == nil {
		err = checkSize(n)
	}
	committed := false
	if err == nil {
		committed, err = s.hasEvidence(kept.SHA256)
	}
	if err != nil || committed {
		kept.Known = committed
		return kept, errors.Join(err, s.disk.Remove(temp.Name()))
	}
	_, err = s.disk.Stat(keptPath(kept.SHA256))
	kept.Known = err == nil
	return kept, s.disk.Rename(temp.Name(), keptPath(kept.SHA256)) // over what may be damaged
}

func checkSize(n int64) error {
	switch {
	case n == 0:
		return &EvidenceError{Reason: "is empty: there is nothing to keep"}
	case n > MaxEvidence:
		return &EvidenceError{Reason: fmt.Sprintf("is larger than %d MiB: cut it to what shows the matter", MaxEvidence>>20)}
	}
	return nil
}

// hasEvidence reports whether the committed history holds a file.
func (s *Shop) hasEvidence(sum string) (bool, error) {
	snap, _, err := s.snapshot()
	if err != nil {
		return false, err
	}
	entry, err := snap.lookup(evidencePath(sum))
	return !entry.Hash.IsZero(), err
}

// Use is an entry that names a file.
type Use struct{ Vehicle, Entry string }

// UsesOf lists the entries that name a file, committed or in a draft of this machine. It reads every vehicle's record.
func (s *Shop) UsesOf(sum string) ([]Use, error) {
	snap, _, err := s.snapshot()
	if err != nil {
		return nil, err
	}
	vehicles, err := snap.ids(schema.VehicleRecord)
	if err != nil {
		return nil, err
	}
	var uses []Use
	for _, vehicle := range vehicles {
		named, err := s.usesIn(snap, vehicle, sum)
		if err != nil {
			return nil, err
		}
		uses = append(uses, named...)
	}
	return uses, nil
}

func (s *Shop) usesIn(snap snapshot, vehicle, sum string) ([]Use, error) {
	entries, err := s.Draft(vehicle)
	if err != nil {
		return nil, err
	}
	content, err := snap.recordBytes(vehicle)
	if err != nil {
		return nil, err
	}
	if bytes.Contains(content, []byte(sum)) {
		r, err := schema.DecodeRecord(content)
		if newer := (*schema.TooNewError)(nil); err != nil && !errors.As(err, &newer) {
			return nil, err
		}
		entries = r.With(entries...).Entries
	}
	var uses []Use
	for _, e := range entries {
		if slices.Contains(EvidenceOf(e), sum) {
			uses = append(uses, Use{vehicle, e.ID})
		}
	}
	return uses, nil
}

// recordBytes is a vehicle's record as it is committed.
func (n snapshot) recordBytes(vehicle string) ([]byte, error) {
	p, err := recordPath(schema.VehicleRecord, vehicle)
	if err != nil {
		return nil, err
	}
	entry, err := n.lookup(p)
	if err != nil {
		return nil, err
	}
	return readBlob(n.store, entry.Hash)
}

// OpenEvidence opens a kept file, committed or not. The last Read reports an *EvidenceError instead of io.EOF when the bytes are not those
// of the hash. A file that is not in this shop is an *EvidenceError that matches fs.ErrNotExist.
func (s *Shop) OpenEvidence(sum string) (io.ReadCloser, error) {
	if !isSHA256(sum) {
		return nil, &EvidenceError{SHA256: sum, Reason: "is not a SHA-256 in hexadecimal"}
	}
	in, err := s.openKept(sum)
	if errors.Is(err, fs.ErrNotExist) {
		in, err = s.openCommitted(sum)
	}
	if err != nil {
		return nil, err
	}
	return &checkedReader{ReadCloser: in, sum: sha256.New(), want: sum}, nil
}

// openKept opens a file that is not committed yet.
func (s *Shop) openKept(sum string) (io.ReadCloser, error) { return s.disk.Open(keptPath(sum)) }

func (s *Shop) openCommitted(sum string) (io.ReadCloser, error) {
	snap, _, err := s.snapshot()
	if err != nil {
		return nil, err
	}
	entry, err := snap.lookup(evidencePath(sum))
	if err != nil {
		return nil, err
	}
	if entry.Hash.IsZero() {
		return nil, &EvidenceError{SHA256: sum, Reason: "is not in this shop", cause: fs.ErrNotExist}
	}
	return openBlob(s.store, entry.Hash)
}

// openBlob streams a blob.
func openBlob(store storer.EncodedObjectStorer, blob plumbing.Hash) (io.ReadCloser, error) {
	stored, err := store.EncodedObject(plumbing.BlobObject, blob)
	if err != nil {
		return nil, fmt.Errorf("object %s: %w", blob, err)
	}
	return stored.Reader()
}

// checkedReader ends with an error when what was read is not what its name says.
type checkedReader struct {
	io.ReadCloser
	sum  hash.Hash
	want string
}

func (r *checkedReader) Read(p []byte) (int, error) {
	n, err := r.ReadCloser.Read(p)
	r.sum.Write(p[:n])
	if err == io.EOF && hex.EncodeToString(r.sum.Sum(nil)) != r.want {
		err = &EvidenceError{SHA256: r.want, Reason: "has other bytes than its hash: the disk or another program damaged it"}
	}
	return n, err
}

// EvidenceOf lists the hashes of the files that an entry names.
func EvidenceOf(e schema.Entry) []string {
	var sums []string
	switch e.Kind {
	case schema.EvidenceData{}.EntryKind():
		if d, err := schema.Into[schema.EvidenceData](e); err == nil {
			sums = []string{d.SHA256, d.Original}
		}
	case schema.DatalogData{}.EntryKind():
		if d, err := schema.Into[schema.DatalogData](e); err == nil {
			sums = []string{d.SHA256}
		}
	}
	return slices.DeleteFunc(slices.Compact(sums), func(sum string) bool { return !isSHA256(sum) })
}

// commitEvidence puts the kept files that entries name into a tree. One that is not kept here is left out: Verify says so.
func (s *Shop) commitEvidence(root plumbing.Hash, entries []schema.Entry) (plumbing.Hash, error) {
	for _, e := range entries {
		for _, sum := range EvidenceOf(e) {
			there, err := snapshot{store: s.store, root: root}.lookup(evidencePath(sum))
			if err != nil {
				return root, err
			}
			if !there.Hash.IsZero() {
				continue
			}
			blob, err := s.writeKept(sum)
			if errors.Is(err, fs.ErrNotExist) {
				continue
			}
			if err != nil {
				return root, err
			}
			if root, err = writeFile(s.store, root, evidencePath(sum), blob); err != nil {
				return root, err
			}
		}
	}
	return root, nil
}

// writeKept streams a kept file into a blob.
func (s *Shop) writeKept(sum string) (plumbing.Hash, error) {
	info, err := s.disk.Stat(keptPath(sum))
	if err != nil {
		return plumbing.ZeroHash, err
	}
	in, err := s.OpenEvidence(sum)
	if err != nil {
		return plumbing.ZeroHash, err
	}
	return s.store.SetEncodedObject(&fileBlob{in: in, size: info.Size(), name: plumbing.NewHasher(plumbing.BlobObject, info.Size())})
}

// fileBlob is a blob that is read once, from a file, and knows its name when it was.
type fileBlob struct {
	plumbing.MemoryObject
	in   io.ReadCloser
	size int64
	name plumbing.Hasher
}

func (b *fileBlob) Type() plumbing.ObjectType { return plumbing.BlobObject }

func (b *fileBlob) Size() int64 { return b.size }

func (b *fileBlob) Hash() plumbing.Hash { return b.name.Sum() }

func (b *fileBlob) Reader() (io.ReadCloser, error) {
	return struct {
		io.Reader
		io.Closer
	}{io.TeeReader(b.in, b.name), b.in}, nil
}

// dropKept removes the kept files of entries that a commit holds, files and all.
func (s *Shop) dropKept(snap snapshot, entries []schema.Entry) error {
	for _, e := range entries {
		for _, sum := range EvidenceOf(e) {
			there, err := snap.lookup(evidencePath(sum))
			if err != nil {
				return err
			}
			if there.Hash.IsZero() {
				continue
			}
			if err := s.disk.Remove(keptPath(sum)); err != nil && !errors.Is(err, fs.ErrNotExist) {
				return err
			}
		}
	}
	return nil
}

// EvidenceError says what is wrong with a file.
type EvidenceError struct {
	SHA256 string // empty before it is kept
	Reason string
	cause  error
}

func (e *EvidenceError) Error() string {
	if e.SHA256 == "" {
		return "file: " + e.Reason
	}
	return fmt.Sprintf("evidence %s: %s", e.SHA256, e.Reason)
}

func (e *EvidenceError) Unwrap() error { return e.cause }

func isSHA256(text string) bool {
	raw, err := hex.DecodeString(text)
	return err == nil && len(raw) == sha256.Size && hex.EncodeToString(raw) == text
}
