package packs

import (
	"bufio"
	"bytes"
	"cmp"
	"crypto"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"slices"
	"strings"

	"feedproof/records/internal/gitfs"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/format/idxfile"
	"github.com/go-git/go-git/v5/plumbing/format/packfile"
	"github.com/go-git/go-git/v5/plumbing/hash"
	"github.com/go-git/go-git/v5/plumbing/storer"
)

// Write puts objects into a new pack, each compared with so many other versions of the same file, and reads it back from the disk to index it.
// The pack is durable after a Sync of the repository. All objects are in memory meanwhile.
func Write(git gitfs.FS, from storer.EncodedObjectStorer, objects []plumbing.Hash, window uint) (name string, err error) {
	return install(git, objects, func(to io.Writer) error {
		if window == 0 {
			_, err := packfile.NewEncoder(to, from, false).Encode(objects, window)
			return err
		}
		groups, all, err := versions(from, objects)
		if err != nil {
			return err
		}
		return whole(to, len(objects), func(out io.Writer) error {
			for _, g := range groups {
				if err := writeGroup(out, all, g, window); err != nil {
					return err
				}
			}
			return nil
		})
	})
}

// writeGroup writes some objects as they stand in a pack, and lets go of them.
func writeGroup(to io.Writer, all held, group []plumbing.Hash, window uint) error {
	var pack bytes.Buffer
	if _, err := packfile.NewEncoder(&pack, all, false).Encode(group, window); err != nil {
		return err
	}
	for _, hash := range group {
		delete(all.objects, hash)
	}
	_, err := to.Write(pack.Bytes()[headSize : pack.Len()-hashSize])
	return err
}

// headSize is the bytes of a pack before its first object.
const headSize = 12

// whole writes the head of a pack, its objects, and the sum over both.
func whole(to io.Writer, objects int, write func(io.Writer) error) error {
	sum := hash.New(crypto.SHA1)
	out := io.MultiWriter(to, sum)
	if _, err := out.Write(binary.BigEndian.AppendUint32([]byte("PACK\x00\x00\x00\x02"), uint32(objects))); err != nil {
		return err
	}
	if err := write(out); err != nil {
		return err
	}
	_, err := to.Write(sum.Sum(nil))
	return err
}

// Merge makes one pack of several that share no object, by copying their bytes: differences are to what stands so many bytes before, or to a
// name, and both stay true. The old packs are left where they are.
func Merge(git gitfs.FS, names []string) (name string, err error) {
	all, err := Objects(git, names...)
	if err != nil {
		return "", err
	}
	return install(git, all, func(to io.Writer) error {
		return whole(to, len(all), func(out io.Writer) error {
			for _, name := range names {
				if err := copyBody(out, git, name); err != nil {
					return err
				}
			}
			return nil
		})
	})
}

// copyBody copies the objects of a pack: all but its head and its sum.
func copyBody(to io.Writer, git gitfs.FS, name string) error {
	in, err := git.Open(file(name, ".pack"))
	if err != nil {
		return err
	}
	defer in.Close()
	size, err := in.Seek(0, io.SeekEnd)
	if err != nil {
		return err
	}
	_, err = io.Copy(to, io.NewSectionReader(in, headSize, size-headSize-int64(hashSize)))
	return err
}

// Objects lists what packs hold, pack by pack.
func Objects(git gitfs.FS, names ...string) ([]plumbing.Hash, error) {
	var all []plumbing.Hash
	for _, name := range names {
		p := newPack(git, name)
		if err := p.open(); err != nil {
			return nil, err
		}
		raw, err := p.index.names(0, p.index.count())
		if err := errors.Join(err, p.close()); err != nil {
			return nil, err
		}
		for ; len(raw) > 0; raw = raw[hashSize:] {
			all = append(all, plumbing.Hash(raw[:hashSize]))
		}
	}
	return all, nil
}

const buffered = 64 << 10

// install writes a pack, reads it back to index it, and puts both in place. The index comes first: go-git takes a pack for whole as soon as
// it is there, git when both are.
func install(git gitfs.FS, objects []plumbing.Hash, write func(io.Writer) error) (name string, err error) {
	if err := git.MkdirAll(Dir, 0); err != nil {
		return "", err
	}
	temp, err := git.TempFile(Dir, gitfs.TempPrefix)
	if err != nil {
		return "", err
	}
	out := bufio.NewWriterSize(temp, buffered) // both writers write a few bytes at a time
	if err = write(out); err == nil {
		err = out.Flush()
	}
	if closed := temp.Close(); err == nil {
		err = closed
	}
	if err == nil {
		name, err = place(git, temp.Name(), objects)
	}
	if err != nil {
		if strayed := git.Remove(temp.Name()); !errors.Is(strayed, fs.ErrNotExist) {
			err = errors.Join(err, strayed)
		}
	}
	return name, err
}

func place(git gitfs.FS, temp string, objects []plumbing.Hash) (name string, err error) {
	index, err := readBack(git, temp)
	if err != nil {
		return "", err
	}
	if err := holds(index, objects); err != nil {
		return "", err
	}
	return placeIndexed(git, temp, index)
}

// Place indexes a pack that came from elsewhere, unpacking every object, and puts both in place.
func Place(git gitfs.FS, temp string) error {
	index, err := readBack(git, temp)
	if err != nil {
		return err
	}
	_, err = placeIndexed(git, temp, index)
	return err
}

func placeIndexed(git gitfs.FS, temp string, index *idxfile.MemoryIndex) (name string, err error) {
	name = fmt.Sprintf("pack-%x", index.PackfileChecksum)
	out, err := git.OpenFile(file(name, ".idx"), os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o644)
	if err != nil {
		return "", err
	}
	in := bufio.NewWriterSize(out, buffered)
	if _, err = idxfile.NewEncoder(in).Encode(index); err == nil {
		err = in.Flush()
	}
	if closed := out.Close(); err == nil {
		err = closed
	}
	if err != nil {
		return "", err
	}
	return name, git.Rename(temp, file(name, ".pack"))
}

// readBack unpacks every object of a written pack.
func readBack(git gitfs.FS, temp string) (*idxfile.MemoryIndex, error) {
	in, err := git.Open(temp)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	w := &idxfile.Writer{}
	p, err := packfile.NewParser(packfile.NewScanner(in), w)
	if err != nil {
		return nil, err
	}
	if _, err := p.Parse(); err != nil {
		return nil, fmt.Errorf("pack: cannot be read back: %w", err)
	}
	return w.Index()
}

// holds demands that these objects and no others are in a pack.
func holds(index *idxfile.MemoryIndex, objects []plumbing.Hash) error {
	if n, err := index.Count(); err != nil || n != int64(len(objects)) {
		return fmt.Errorf("pack: reads back as %d objects of %d: %w", n, len(objects), err)
	}
	for _, h := range objects {
		if there, err := index.Contains(h); err != nil || !there {
			return fmt.Errorf("pack: object %s does not read back", h)
		}
	}
	return nil
}

// Remove removes packs and what git keeps beside them. The pack itself goes first: without it nothing takes the rest for one.
func Remove(git gitfs.FS, names ...string) error {
	for _, name := range names {
		for _, ending := range []string{".pack", ".idx", ".rev", ".bitmap", ".mtimes"} {
			if err := git.Remove(file(name, ending)); err != nil && !errors.Is(err, fs.ErrNotExist) {
				return err
			}
		}
	}
	return nil
}

// Kept reports whether somebody asked git to keep a pack as it is, or git itself needs it so.
func Kept(git gitfs.FS, name string) (bool, error) {
	for _, ending := range []string{".keep", ".promisor"} {
		if _, err := git.Stat(file(name, ending)); !errors.Is(err, fs.ErrNotExist) {
			return true, err
		}
	}
	return false, nil
}

// Bytes is the size of a pack.
func Bytes(git gitfs.FS, name string) (int64, error) {
	info, err := git.Stat(file(name, ".pack"))
	if err != nil {
		return 0, err
	}
	return info.Size(), nil
}

// Check reads objects through, in the order in which they stand, and holds each to its name.
func (s *Store) Check(objects []plumbing.Hash) error {
	type place struct {
		hash   plumbing.Hash
		pack   *pack
		offset int64
	}
	places := make([]place, 0, len(objects))
	for _, h := range objects {
		if err := s.in(h, func(p *pack, offset int64) error { places = append(places, place{h, p, offset}); return nil }); err != nil {
			return fmt.Errorf("object %s: %w", h, err)
		}
	}
	slices.SortFunc(places, func(a, b place) int {
		return cmp.Or(strings.Compare(a.pack.name, b.pack.name), cmp.Compare(a.offset, b.offset))
	})
	for _, at := range places {
		if err := at.pack.check(at.offset, at.hash, s.streamed); err != nil {
			return fmt.Errorf("object %s: %w", at.hash, err)
		}
	}
	return nil
}

func (p *pack) check(offset int64, want plumbing.Hash, streamed int64) error {
	o, err := p.object(offset, want, streamed)
	if err != nil {
		return err
	}
	in, err := o.Reader()
	if err != nil {
		return err
	}
	defer in.Close()
	sum := plumbing.NewHasher(o.Type(), o.Size())
	if _, err := io.Copy(sum, in); err != nil {
		return err
	}
	if sum.Sum() != want {
		return errors.New("has the wrong content in its pack: the disk or another program damaged it")
	}
	return nil
}

// Only is the one pack of that name, to be asked apart from the others.
func Only(git gitfs.FS, name string, streamed int64) *Store {
	return &Store{git: git, streamed: streamed, listed: true, packs: []*pack{newPack(git, name)}}
}

// Close closes the files. The next question opens them again.
func (s *Store) Close() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	var err error
	for _, p := range s.packs {
		err = errors.Join(err, p.close())
	}
	s.packs, s.listed = nil, false
	return err
}

func (p *pack) close() error {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.data == nil {
		return nil
	}
	err := errors.Join(p.data.Close(), p.indexFile.Close())
	p.data, p.index, p.indexFile = nil, nil, nil
	return err
}

// Strays lists what writers that died left among the packs: files not in place yet, and indexes without a pack.
func Strays(git gitfs.FS) ([]string, error) {
	files, there, err := list(git)
	if err != nil {
		return nil, err
	}
	var strays []string
	for _, f := range files {
		name, isIndex := strings.CutSuffix(f.Name(), ".idx")
		if strings.HasPrefix(f.Name(), gitfs.TempPrefix) || strings.HasPrefix(f.Name(), "tmp_obj_") || isIndex && !there[name+".pack"] {
			strays = append(strays, Dir+"/"+f.Name())
		}
	}
	return strays, nil
}
