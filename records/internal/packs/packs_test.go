package packs

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"feedproof/records/internal/gitfs"

	"github.com/go-git/go-git/v5/plumbing"
)

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// git runs the git program in a repository.
func git(t testing.TB, dir string, in []byte, args ...string) []byte {
	t.Helper()
	cmd := exec.Command("git", append([]string{"-C", dir}, args...)...)
	cmd.Stdin = bytes.NewReader(in)
	cmd.Env = append(os.Environ(), "GIT_COMMITTER_NAME=x", "GIT_COMMITTER_EMAIL=x", "GIT_AUTHOR_NAME=x", "GIT_AUTHOR_EMAIL=x")
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("git %s: %v", strings.Join(args, " "), err)
	}
	return out
}

// history makes a repository with the versions of some growing files and one large one, in one pack unless it is to be loose.
func history(t testing.TB, loose bool) string {
	t.Helper()
	dir := t.TempDir()
	git(t, dir, nil, "init", "-q", "--bare", ".")
	var in bytes.Buffer
	dice := rand.New(rand.NewPCG(3, 3))
	texts := make([]bytes.Buffer, 40)
	for n := range 200 {
		fmt.Fprintf(&in, "commit refs/heads/main\ncommitter x <x> %d +0000\ndata 3\ntry\n", 1_700_000_000+n)
		i := dice.IntN(len(texts))
		for range 30 {
			fmt.Fprintf(&texts[i], "a line that nobody has written before %d\n", dice.Uint64())
		}
		fmt.Fprintf(&in, "M 100644 inline f/%02d\ndata %d\n%s\n", i, texts[i].Len(), texts[i].Bytes())
		if n == 100 {
			large := make([]byte, 3<<20)
			_, _ = rand.NewChaCha8([32]byte{7}).Read(large) // never fails
			fmt.Fprintf(&in, "M 100644 inline large\ndata %d\n%s\n", len(large), large)
		}
	}
	limit := map[bool]string{true: "100000", false: "1"}[loose]
	git(t, dir, in.Bytes(), "-c", "fastimport.unpackLimit="+limit, "fast-import", "--quiet")
	return dir
}

// everything lists the objects of a repository as git sees them, by name.
func everything(t testing.TB, dir string) map[plumbing.Hash]string {
	t.Helper()
	all := map[plumbing.Hash]string{}
	for line := range strings.Lines(string(git(t, dir, nil, "cat-file", "--batch-all-objects", "--batch-check=%(objectname) %(objecttype) %(objectsize)"))) {
		name, rest, _ := strings.Cut(strings.TrimSpace(line), " ")
		all[plumbing.NewHash(name)] = rest
	}
	if len(all) < 500 {
		t.Fatalf("git lists %d objects: too few to test with", len(all))
	}
	return all
}

// compare reads every object and holds it to git's type and size and, as its name is over both and the bytes, to its name. It counts the
// differences.
func compare(t *testing.T, dir string, all map[plumbing.Hash]string) int {
	t.Helper()
	s := New(gitfs.New(gitfs.Folder(dir)), 1<<20)
	streams := 0
	for hash, want := range all {
		size, err := s.Size(hash)
		must(t, err)
		o, err := s.Get(hash)
		must(t, err)
		if _, is := o.(*stream); is {
			streams++
		}
		in, err := o.Reader()
		must(t, err)
		content, err := io.ReadAll(in)
		must(t, err)
		if got := fmt.Sprint(o.Type(), " ", o.Size()); got != want || size != o.Size() {
			t.Errorf("%s is %s (size alone: %d), git says %s", hash, got, size, want)
		}
		if o.Hash() != hash || plumbing.ComputeHash(o.Type(), content) != hash {
			t.Errorf("%s: has other bytes", hash)
		}
	}
	if streams != 1 {
		t.Errorf("%d objects were streamed, want the large one", streams)
	}
	return differences(t, s, all)
}

// differences counts the objects that are kept as such.
func differences(t *testing.T, s *Store, all map[plumbing.Hash]string) int {
	t.Helper()
	n := 0
	for hash := range all {
		must(t, s.in(hash, func(p *pack, offset int64) error {
			e, err := p.entry(offset)
			if e.base != 0 {
				n++
			}
			return err
		}))
	}
	return n
}

// Packs of every form that git writes read as git reads them.
func TestPacksReadAsGitReadsThem(t *testing.T) {
	base := history(t, false)
	all := everything(t, base)
	for name, args := range map[string][]string{
		"differences by offset": {"-c", "repack.useDeltaBaseOffset=true", "repack", "-adfq", "--depth=200", "--window=50"},
		"differences by name":   {"-c", "repack.useDeltaBaseOffset=false", "repack", "-adfq"},
		"whole objects":         {"repack", "-adfq", "--window=0"},
	} {
		t.Run(name, func(t *testing.T) {
			dir := copied(t, base)
			git(t, dir, nil, args...)
			if n := compare(t, dir, all); (n > len(all)/4) != (name != "whole objects") {
				t.Errorf("%d of %d objects are kept as differences", n, len(all))
			}
		})
	}
	t.Run("offsets of 64 bits", func(t *testing.T) {
		dir := copied(t, base)
		git(t, dir, nil, "repack", "-adq")
		packs, err := filepath.Glob(filepath.Join(dir, Dir, "*.pack"))
		if err != nil || len(packs) != 1 {
			t.Fatalf("packs %v, %v", packs, err)
		}
		must(t, os.Remove(strings.TrimSuffix(packs[0], ".pack")+".idx"))
		git(t, dir, nil, "index-pack", "--index-version=2,0x1000", packs[0])
		compare(t, dir, all)
	})
}

func copied(t testing.TB, dir string) string {
	t.Helper()
	to := filepath.Join(t.TempDir(), "copy")
	must(t, os.CopyFS(to, os.DirFS(dir)))
	return to
}

// What another process packs, and what it merges into one pack, is found.
func TestPacksOfAnotherProcessAreFound(t *testing.T) {
	dir := history(t, true)
	s := New(gitfs.New(gitfs.Folder(dir)), 1<<20)
	all := everything(t, dir)
	for hash := range all {
		if _, err := s.Get(hash); !errors.Is(err, plumbing.ErrObjectNotFound) {
			t.Fatalf("%s is in no pack: %v", hash, err)
		}
		break
	}
	git(t, dir, nil, "repack", "-dq")
	for hash := range all {
		if _, err := s.Get(hash); err != nil {
			t.Fatalf("%s was packed: %v", hash, err)
		}
	}
	git(t, dir, nil, "repack", "-adfq", "--window=3")
	fresh := New(gitfs.New(gitfs.Folder(dir)), 1<<20)
	for hash := range all {
		for _, s := range []*Store{s, fresh} {
			if there, err := s.Has(hash); err != nil || !there {
				t.Fatalf("%s was packed anew: %v, %v", hash, there, err)
			}
		}
	}
	if there, err := s.Has(plumbing.ComputeHash(plumbing.BlobObject, []byte("never written"))); err != nil || there {
		t.Errorf("an object that is nowhere: %v, %v", there, err)
	}
}

// A pack without its index, or an index without its pack, as a writer that died leaves them, is passed over.
func TestHalfAPackIsNone(t *testing.T) {
	for _, ending := range []string{".pack", ".idx"} {
		dir := history(t, false)
		git(t, dir, nil, "repack", "-adq")
		found, err := filepath.Glob(filepath.Join(dir, Dir, "*"+ending))
		if err != nil || len(found) != 1 {
			t.Fatalf("%v, %v", found, err)
		}
		must(t, os.Remove(found[0]))
		if names, err := Names(gitfs.New(gitfs.Folder(dir))); err != nil || len(names) != 0 {
			t.Errorf("without %s: %v, %v", ending, names, err)
		}
	}
}

// Damage is an error or the right bytes, and never a crash.
func FuzzDamage(f *testing.F) {
	dir := history(f, false)
	git(f, dir, nil, "repack", "-adq")
	names, err := Names(gitfs.New(gitfs.Folder(dir)))
	if err != nil || len(names) != 1 {
		f.Fatalf("%v, %v", names, err)
	}
	whole := map[string][]byte{}
	for _, ending := range []string{".pack", ".idx"} {
		whole[ending], err = os.ReadFile(filepath.Join(dir, file(names[0], ending)))
		must(f, err)
	}
	var some []plumbing.Hash
	for hash := range everything(f, dir) {
		if some = append(some, hash); len(some) == 20 {
			break
		}
	}
	f.Add(true, uint32(20), byte(0xff))
	f.Add(false, uint32(900), byte(0x80))
	f.Fuzz(func(t *testing.T, inPack bool, at uint32, flip byte) {
		dir := t.TempDir()
		must(t, os.MkdirAll(filepath.Join(dir, Dir), 0o755))
		for ending, content := range whole {
			content = bytes.Clone(content)
			if inPack == (ending == ".pack") {
				content[int(at)%len(content)] ^= flip
			}
			must(t, os.WriteFile(filepath.Join(dir, file(names[0], ending)), content, 0o644))
		}
		s := New(gitfs.New(gitfs.Folder(dir)), 1<<20)
		for _, hash := range some {
			if o, err := s.Get(hash); err == nil {
				_ = o.Size()
			}
			_, _ = s.Size(hash)
		}
	})
}
