package records

import (
	"bytes"
	"compress/zlib"
	"crypto/sha1"
	"encoding/binary"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// packed is a pack by hand, as git's gitformat-pack(5) has it: objects of a type, with the size that they announce and what they unpack to.
func packed(t testing.TB, objects ...packedObject) []byte {
	t.Helper()
	var out bytes.Buffer
	out.WriteString("PACK")
	for _, n := range []int{2, len(objects)} {
		must(t, binary.Write(&out, binary.BigEndian, uint32(n)))
	}
	for _, o := range objects {
		first := byte(o.kind<<4) | byte(o.says&15)
		rest := o.says >> 4
		for rest > 0 {
			out.WriteByte(first | 0x80)
			first = byte(rest & 0x7f)
			rest >>= 7
		}
		out.WriteByte(first)
		out.Write(o.before)
		z := zlib.NewWriter(&out)
		_, err := io.Copy(z, o.content)
		must(t, err)
		must(t, z.Close())
	}
	sum := sha1.Sum(out.Bytes())
	return append(out.Bytes(), sum[:]...)
}

type packedObject struct {
	kind    int // 3 a blob, 7 a difference from an object by name
	says    int64
	before  []byte // the name of the object that it differs from
	content io.Reader
}

func ofZeros(n int64) io.Reader { return io.LimitReader(zeros{}, n) }

// difference is one that makes an object of a size out of nothing.
func difference(size uint64) []byte {
	return append([]byte{0}, binary.AppendUvarint(nil, size)...)
}

func TestPacksThatBurst(t *testing.T) {
	var many []packedObject
	for range 100 {
		many = append(many, packedObject{kind: 3, says: 4 << 20, content: ofZeros(4 << 20)})
	}
	delta := difference(1 << 40)
	for _, pack := range []struct {
		name    string
		content []byte
		says    string // empty for a good one
	}{
		{"a good one", packed(t, packedObject{kind: 3, says: 1000, content: ofZeros(1000)}), ""},
		{"a large one that packs well", packed(t, packedObject{kind: 3, says: 16 << 20, content: ofZeros(16 << 20)}), ""},
		{"an object of a gigabyte", packed(t, packedObject{kind: 3, says: 1 << 30, content: ofZeros(1000)}), "far more than it holds"},
		{"an object that is larger than it says", packed(t, packedObject{kind: 3, says: 1000, content: ofZeros(64 << 20)}), "exceeds"},
		{"many objects of nothing", packed(t, many...), "far more than it holds"},
		{"a difference that makes a terabyte", packed(t, packedObject{kind: 7, says: int64(len(delta)), before: make([]byte, 20), content: bytes.NewReader(delta)}), "far more than it holds"},
		{"more objects than it holds", append([]byte("PACK\x00\x00\x00\x02\xff\xff\xff\xff"), make([]byte, 20)...), "holds 4294967295 objects"},
		{"no pack", []byte("nothing of the kind"), "malformed"},
	} {
		t.Run(pack.name, func(t *testing.T) {
			err := scanPack(bytes.NewReader(pack.content), int64(len(pack.content)))
			if pack.says == "" && err != nil || pack.says != "" && (err == nil || !strings.Contains(err.Error(), pack.says)) {
				t.Errorf("scanning says %v, want %q", err, pack.says)
			}
		})
	}
}

// A stick with such a pack is refused as a whole, with the file named; the shop goes on.
func TestAStickThatBursts(t *testing.T) {
	one, _, stick := bays(t)
	one.synced(stick)
	pack := packed(t, packedObject{kind: 3, says: 1 << 30, content: ofZeros(1000)})
	must(t, os.WriteFile(filepath.Join(stick, gitDir, packDir, "pack-bad.pack"), pack, 0o644))
	one.add("car-1", "pump whines")
	before := one.tree()
	if _, err := one.sync(stick); err == nil || !strings.Contains(err.Error(), "pack-bad.pack") {
		t.Errorf("sync says %v", err)
	}
	if one.tree() != before {
		t.Error("the shop changed")
	}
	one.synced(t.TempDir())
}

// FuzzScanPack holds that no bytes make the scan take more memory than they hold, or fail in another way than by an error.
func FuzzScanPack(f *testing.F) {
	f.Add(packed(f, packedObject{kind: 3, says: 1000, content: ofZeros(1000)}))
	f.Add(packed(f, packedObject{kind: 7, says: 7, before: make([]byte, 20), content: bytes.NewReader(difference(1 << 40))}))
	f.Fuzz(func(t *testing.T, content []byte) {
		if err := scanPack(bytes.NewReader(content), int64(len(content))); err == nil && !bytes.HasPrefix(content, []byte("PACK")) {
			t.Error("what is no pack was taken for one")
		}
	})
}
