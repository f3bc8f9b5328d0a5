package index

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"maps"
	"os"
	"path/filepath"
	"runtime/debug"
	"slices"
	"time"

	"github.com/klauspost/compress/s2"
	bolt "go.etcd.io/bbolt"
	bolterrors "go.etcd.io/bbolt/errors"
)

// store is the file of the cache. Each call opens it and closes it again, so
// that no process keeps another out; every value carries a checksum of itself
// and its key. Whatever is wrong with the file, get finds nothing and put
// starts a new one.
type store struct {
	file, program string
}

// How long to wait for another process that has the file.
const (
	readWait  = 2 * time.Second
	writeWait = 200 * time.Millisecond
)

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// read looks at what this program gathered; where there is nothing, it does not.
func (s store) read(look func(*bolt.Bucket)) error {
	return guarded(func() error {
		db, err := bolt.Open(s.file, 0o644, &bolt.Options{ReadOnly: true, Timeout: readWait})
		if err != nil {
			return err
		}
		defer db.Close()
		return db.View(func(tx *bolt.Tx) error {
			if b := tx.Bucket([]byte(s.program)); b != nil {
				look(b)
			}
			return nil
		})
	})
}

// get is the values of those keys that are there and whole.
func (s store) get(keys []string) map[string][]byte {
	have := map[string][]byte{}
	err := s.read(func(b *bolt.Bucket) {
		for _, k := range keys {
			if v, ok := unseal(k, b.Get([]byte(k))); ok {
				have[k] = v
			}
		}
	})
	if damaged(err) {
		_ = os.Remove(s.file)
	}
	return have
}

// put keeps values. What another program gathered goes.
func (s store) put(values map[string][]byte) error {
	return s.change(func(tx *bolt.Tx) error {
		if err := s.dropOthers(tx); err != nil {
			return err
		}
		b, err := tx.CreateBucketIfNotExists([]byte(s.program))
		if err != nil {
			return err
		}
		for _, k := range slices.Sorted(maps.Keys(values)) { // in order they need fewer pages
			if err := b.Put([]byte(k), seal(k, values[k])); err != nil {
				return err
			}
		}
		return nil
	})
}

func (s store) change(f func(*bolt.Tx) error) error {
	if err := os.MkdirAll(filepath.Dir(s.file), 0o755); err != nil {
		return err
	}
	err := guarded(func() error {
		db, err := bolt.Open(s.file, 0o644, &bolt.Options{Timeout: writeWait, FreelistType: bolt.FreelistMapType})
		if err != nil {
			return err
		}
		defer db.Close()
		return db.Update(f)
	})
	if damaged(err) {
		_ = os.Remove(s.file)
	}
	return err
}

func (s store) dropOthers(tx *bolt.Tx) error {
	var others [][]byte
	err := tx.ForEach(func(name []byte, _ *bolt.Bucket) error {
		if string(name) != s.program {
			others = append(others, bytes.Clone(name))
		}
		return nil
	})
	for _, name := range others {
		err = errors.Join(err, tx.DeleteBucket(name))
	}
	return err
}

// seal packs a value and puts a checksum before it.
func seal(key string, value []byte) []byte {
	packed := s2.Encode(nil, value)
	return append(binary.BigEndian.AppendUint32(nil, checksum(key, packed)), packed...)
}

// unseal is a copy of the value when it is whole.
func unseal(key string, sealed []byte) ([]byte, bool) {
	if len(sealed) < 4 || binary.BigEndian.Uint32(sealed) != checksum(key, sealed[4:]) {
		return nil, false
	}
	value, err := s2.Decode(nil, sealed[4:])
	return value, err == nil
}

func checksum(key string, packed []byte) uint32 {
	return crc32.Update(crc32.Checksum([]byte(key), castagnoli), castagnoli, packed)
}

// errFault says that the library met pages that cannot be.
var errFault = errors.New("the cache is damaged")

// guarded turns what the library makes of a damaged file, a panic or a fault
// of mapped memory, into an error.
func guarded(f func() error) (err error) {
	old := debug.SetPanicOnFault(true)
	defer debug.SetPanicOnFault(old)
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("%w: %v", errFault, r)
		}
	}()
	return f()
}

// damaged reports that the file is of no use and should go.
func damaged(err error) bool {
	return errors.Is(err, errFault) || errors.Is(err, bolterrors.ErrInvalid) || errors.Is(err, bolterrors.ErrChecksum) || errors.Is(err, bolterrors.ErrVersionMismatch)
}
