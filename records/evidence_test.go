package records

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"feedproof/schema"
)

// file is an invented file of n bytes that do not compress, and its SHA-256.
func file(n int, seed uint64) ([]byte, string) {
	content := make([]byte, n)
	dice := rand.NewChaCha8([32]byte{byte(seed), byte(seed >> 8)})
	_, _ = dice.Read(content) // never fails
	sum := sha256.Sum256(content)
	return content, hex.EncodeToString(sum[:])
}

// attach keeps a file and appends the entry that names it.
func (w *world) attach(id string, content []byte) Evidence {
	w.t.Helper()
	kept, err := w.shop.Keep(bytes.NewReader(content))
	must(w.t, err)
	data := schema.EvidenceData{SHA256: kept.SHA256, Bytes: kept.Bytes, Type: "application/octet-stream", What: "an invented file"}
	must(w.t, w.shop.Append(id, w.entry("tech-1", schema.VehicleRecord, id, data)))
	return kept
}

// reads opens a kept file in a shop opened anew.
func (w *world) reads(sum string) ([]byte, error) {
	w.t.Helper()
	shop, err := Open(w.dir)
	must(w.t, err)
	in, err := shop.OpenEvidence(sum)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	return io.ReadAll(in)
}

// The hash is sha256sum's, the path in git is git's.
func TestEvidenceGoesIntoGitWithItsEntry(t *testing.T) {
	w := newShop(t)
	w.vehicle("car-1")
	for name, n := range map[string]int{"small": 100, "streamed": 3 << 20} {
		t.Run(name, func(t *testing.T) {
			content, sum := file(n, uint64(n))
			out, err := command(t, "sha256sum", content)
			must(t, err)
			if !strings.HasPrefix(out, sum) {
				t.Fatalf("sha256sum says %s and we %s", out, sum)
			}
			kept := w.attach("car-1", content)
			if kept.SHA256 != sum || kept.Bytes != int64(n) || kept.Known {
				t.Errorf("kept as %+v", kept)
			}
			if got, err := w.reads(sum); err != nil || !bytes.Equal(got, content) {
				t.Errorf("drafted: %d bytes, %v", len(got), err)
			}
			if _, err := w.shop.head(); err != nil {
				t.Fatal(err)
			}
			if _, err := w.commit("car-1"); err != nil {
				t.Fatal(err)
			}
			if got := w.git("cat-file", "blob", "main:evidence/"+sum[:2]+"/"+sum); got != string(content) {
				t.Errorf("git has %d other bytes", len(got))
			}
			if got, err := w.reads(sum); err != nil || !bytes.Equal(got, content) {
				t.Errorf("committed: %d bytes, %v", len(got), err)
			}
			if _, err := os.Stat(filepath.Join(w.dir, keptPath(sum))); !errors.Is(err, fs.ErrNotExist) {
				t.Errorf("the draft's copy is still there: %v", err)
			}
			if again, err := w.shop.Keep(bytes.NewReader(content)); err != nil || !again.Known {
				t.Errorf("kept again: %+v, %v", again, err)
			}
		})
	}
	left, err := os.ReadDir(filepath.Join(w.dir, keptDir))
	must(t, err)
	if len(left) > 0 {
		t.Errorf("%s is left among the drafts", left[0].Name())
	}
	fsck(t, filepath.Join(w.dir, gitDir))
}

func command(t *testing.T, name string, in []byte) (string, error) {
	t.Helper()
	cmd := exec.Command(name)
	cmd.Stdin = bytes.NewReader(in)
	out, err := cmd.Output()
	return string(out), err
}

func TestWhatIsNoEvidence(t *testing.T) {
	w := newShop(t)
	for name, r := range map[string]io.Reader{
		"empty":     strings.NewReader(""),
		"too large": io.LimitReader(zeros{}, MaxEvidence+1),
		"broken":    io.MultiReader(strings.NewReader("begin"), brokenReader{}),
	} {
		if kept, err := w.shop.Keep(r); err == nil {
			t.Errorf("%s: kept as %+v", name, kept)
		}
		left, err := os.ReadDir(filepath.Join(w.dir, keptDir))
		must(t, err)
		if len(left) > 0 {
			t.Errorf("%s: leaves %s", name, left[0].Name())
		}
	}
	_, never := file(10, 99)
	if _, err := w.reads(never); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a file that was never kept: %v", err)
	}
	if _, err := w.shop.OpenEvidence("../../device.json"); err == nil {
		t.Error("a path was opened as a hash")
	}
}

type zeros struct{}

func (zeros) Read(p []byte) (int, error) { clear(p); return len(p), nil }

type brokenReader struct{}

func (brokenReader) Read([]byte) (int, error) { return 0, errors.New("the stick was pulled out") }

func TestDamagedEvidenceIsNotedAndNotCommitted(t *testing.T) {
	w := newShop(t)
	w.vehicle("car-1")
	content, _ := file(1000, 5)
	kept := w.attach("car-1", content)
	content[500]++
	must(t, os.WriteFile(filepath.Join(w.dir, keptPath(kept.SHA256)), content, 0o644))
	var damaged *EvidenceError
	if _, err := w.reads(kept.SHA256); !errors.As(err, &damaged) {
		t.Errorf("read: %v", err)
	}
	if _, err := w.commit("car-1"); !errors.As(err, &damaged) {
		t.Errorf("commit: %v", err)
	}
	content[500]--
	if again, err := w.shop.Keep(bytes.NewReader(content)); err != nil || again.SHA256 != kept.SHA256 {
		t.Fatalf("kept again as %+v, %v", again, err)
	}
	if _, err := w.commit("car-1"); err != nil {
		t.Errorf("commit after the file was kept again: %v", err)
	}
}

// A file named by two drafts stays for the second one after the first is committed.
func TestEvidenceOfTwoDrafts(t *testing.T) {
	w := newShop(t)
	w.vehicle("car-1")
	w.vehicle("car-2")
	content, sum := file(1000, 6)
	first, second := w.attach("car-1", content), w.attach("car-2", content)
	if first.Known || !second.Known {
		t.Errorf("kept as %+v, then as %+v", first, second)
	}
	for _, car := range []string{"car-1", "car-2"} {
		_, err := w.commit(car)
		must(t, err)
		if got, err := w.reads(sum); err != nil || !bytes.Equal(got, content) {
			t.Errorf("after %s: %d bytes, %v", car, len(got), err)
		}
		uses, err := w.shop.UsesOf(sum)
		if err != nil || len(uses) != 2 || uses[0].Vehicle != "car-1" || uses[1].Vehicle != "car-2" {
			t.Errorf("after %s: used by %v, %v", car, uses, err)
		}
	}
}

// Keeping, committing and reading a large file takes memory that does not follow its size.
func TestLargeEvidenceIsStreamed(t *testing.T) {
	w := newShop(t)
	w.vehicle("car-1")
	const size = 64 << 20
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	kept, err := w.shop.Keep(io.LimitReader(zeros{}, size))
	must(t, err)
	data := schema.EvidenceData{SHA256: kept.SHA256, Bytes: kept.Bytes, Type: "text/csv", What: "a long log"}
	must(t, w.shop.Append("car-1", w.entry("tech-1", schema.VehicleRecord, "car-1", data)))
	_, err = w.commit("car-1")
	must(t, err)
	in, err := w.shop.OpenEvidence(kept.SHA256)
	must(t, err)
	n, err := io.Copy(io.Discard, in)
	if err != nil || n != size {
		t.Errorf("read %d bytes, %v", n, err)
	}
	must(t, in.Close())
	runtime.ReadMemStats(&after)
	if grown := after.TotalAlloc - before.TotalAlloc; grown > size/4 {
		t.Errorf("allocated %d MB in all for a file of %d MB", grown>>20, size>>20)
	}
}
