package datalog

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"hash"
	"io"
	"unicode/utf8"

	"github.com/klauspost/compress/zstd"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// maxZstdWindow bounds the memory a compressed file can ask for.
const maxZstdWindow = 64 << 20

// source hands out the text of a file, unpacked and as bytes of an ASCII
// superset.
type source struct {
	text  io.Reader
	close func()

	Packing  string // "gzip", "zstd" or ""
	Encoding string // "utf-8", "utf-16le", "utf-16be", "latin-1"
}

func openSource(r io.Reader) (*source, error) {
	s := &source{close: func() {}}
	plain, err := s.unpack(bufio.NewReaderSize(r, 64<<10))
	if err != nil {
		return nil, err
	}
	s.decode(plain)
	return s, nil
}

func (s *source) unpack(packed *bufio.Reader) (*bufio.Reader, error) {
	magic, _ := packed.Peek(4)
	switch {
	case bytes.HasPrefix(magic, []byte{0x1f, 0x8b}):
		s.Packing = "gzip"
		z, err := gzip.NewReader(packed)
		if err != nil {
			return nil, fmt.Errorf("log: not a whole gzip file: %w", err)
		}
		return bufio.NewReaderSize(z, 64<<10), nil
	case bytes.HasPrefix(magic, []byte{0x28, 0xb5, 0x2f, 0xfd}):
		s.Packing = "zstd"
		z, err := zstd.NewReader(packed, zstd.WithDecoderConcurrency(1), zstd.WithDecoderMaxWindow(maxZstdWindow))
		if err != nil {
			return nil, fmt.Errorf("log: not a zstd file: %w", err)
		}
		s.close = z.Close
		return bufio.NewReaderSize(z, 64<<10), nil
	}
	return packed, nil
}

// decode removes a byte order mark and turns UTF-16 into UTF-8. Latin-1 stays
// as it is, for only names and units can hold more than ASCII; see [textOf].
func (s *source) decode(plain *bufio.Reader) {
	head, _ := plain.Peek(512)
	s.text, s.Encoding = plain, "utf-8"
	switch {
	case bytes.HasPrefix(head, []byte{0xef, 0xbb, 0xbf}):
		_, _ = plain.Discard(3)
	case bytes.HasPrefix(head, []byte{0xff, 0xfe}):
		s.text, s.Encoding = fromUTF16(plain, unicode.LittleEndian), "utf-16le"
	case bytes.HasPrefix(head, []byte{0xfe, 0xff}):
		s.text, s.Encoding = fromUTF16(plain, unicode.BigEndian), "utf-16be"
	case zeroShare(head, 1) > 0.4:
		s.text, s.Encoding = fromUTF16(plain, unicode.LittleEndian), "utf-16le"
	case zeroShare(head, 0) > 0.4:
		s.text, s.Encoding = fromUTF16(plain, unicode.BigEndian), "utf-16be"
	}
}

// fromUTF16 is the text without its mark as UTF-8. A surrogate without its
// other half and an odd byte at the end become U+FFFD.
func fromUTF16(r io.Reader, order unicode.Endianness) io.Reader {
	return transform.NewReader(r, unicode.UTF16(order, unicode.UseBOM).NewDecoder())
}

// textOf is the text of a name or unit: UTF-8, or else Latin-1 (ISO 8859-1).
func textOf(cell []byte) string {
	if utf8.Valid(cell) {
		return string(cell)
	}
	text, _ := charmap.ISO8859_1.NewDecoder().Bytes(cell) // has a character for each byte
	return string(text)
}

// zeroShare is the share of zero bytes at even (0) or odd (1) places: text of
// Western letters in UTF-16 has one zero byte a letter.
func zeroShare(head []byte, parity int) float64 {
	zeros, n := 0, 0
	for i := parity; i < len(head); i += 2 {
		n++
		if head[i] == 0 {
			zeros++
		}
	}
	if n == 0 {
		return 0
	}
	return float64(zeros) / float64(n)
}

// digest hands a file on and takes the SHA-256 of its original bytes as they
// pass.
type digest struct {
	io.Reader
	sum hash.Hash
}

func newDigest(r io.Reader) digest {
	sum := sha256.New()
	return digest{io.TeeReader(r, sum), sum}
}

// hex reads what is left of the file and is the sum of it all.
func (d digest) hex() (string, error) {
	if _, err := io.Copy(io.Discard, d); err != nil {
		return "", err
	}
	return hex.EncodeToString(d.sum.Sum(nil)), nil
}
