package gitfs_test

import (
	"errors"
	"io/fs"
	"os"
	"slices"
	"strings"
	"testing"

	"feedproof/records/internal/gitfs"
	"feedproof/records/internal/gitfstest"

	"github.com/go-git/go-billy/v5"
	"pgregory.net/rapid"
)

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// A replaced file is the old one or the new one, whole, at whichever change the disk stops and whatever it forgets.
func TestReplaceIsAllOrNothing(t *testing.T) {
	const before, after = "the old content", "the new content, which is longer"
	for n := 1; ; n++ {
		memory := gitfstest.NewMemory()
		must(t, gitfs.New(memory).WriteFile("a/b", []byte(before), 0o644))
		faulty := gitfstest.NewFaulty(memory, gitfstest.Tear, n)
		err := gitfs.New(faulty).WriteFile("a/b", []byte(after), 0o644)
		want := []string{before, after}
		if err == nil {
			want = []string{after}
		}
		for _, survives := range []bool{false, true} {
			got, readErr := gitfs.New(memory.Crash(func() bool { return survives })).ReadFile("a/b")
			if readErr != nil || !slices.Contains(want, string(got)) {
				t.Errorf("change %d (%s): %q, %v, after an error %v", n, faulty.Call(n), got, readErr, err)
			}
		}
		if faulty.Changes() < n {
			if n < 6 {
				t.Fatalf("%d changes: too few for create, write, sync, close, rename, sync", n-1)
			}
			return
		}
	}
}

func TestFailedWriteLeavesNoTemporaryFile(t *testing.T) {
	for n := 1; n <= 6; n++ {
		memory := gitfstest.NewMemory()
		disk := gitfstest.NewFaulty(memory, gitfstest.FailOnce, n)
		if err := gitfs.New(disk).WriteFile("x", []byte("content"), 0o644); !errors.Is(err, gitfstest.ErrFault) {
			t.Fatalf("change %d: %v", n, err)
		}
		files, err := gitfs.New(memory).ReadDir(".")
		must(t, err)
		for _, f := range files {
			if strings.HasPrefix(f.Name(), gitfs.TempPrefix) {
				t.Errorf("change %d (%s) leaves %s", n, disk.Call(n), f.Name())
			}
		}
	}
}

// go-git lists every file under refs/ as a branch.
func TestTemporaryFileIsNeverABranch(t *testing.T) {
	memory := gitfstest.NewMemory()
	f := gitfs.New(memory)
	out, err := f.Create("refs/heads/main")
	must(t, err)
	_, err = out.Write([]byte("x"))
	must(t, err)
	files, err := f.ReadDir("refs/heads")
	must(t, err)
	if len(files) != 0 {
		t.Errorf("%s lies under refs before the file is closed", files[0].Name())
	}
	must(t, out.Close())
	if _, err := f.Stat("refs/heads/main"); err != nil {
		t.Error(err)
	}
}

func TestNamesStayInside(t *testing.T) {
	root := t.TempDir()
	f, err := gitfs.New(gitfs.Folder(root)).Sub("sub")
	must(t, err)
	for _, name := range []string{"..", "../x", "a/../../x"} {
		if _, err := f.Create(name); !errors.Is(err, billy.ErrCrossedBoundary) {
			t.Errorf("create %s: %v", name, err)
		}
		if _, err := f.Stat(name); !errors.Is(err, billy.ErrCrossedBoundary) {
			t.Errorf("stat %s: %v", name, err)
		}
	}
}

func TestNewFileMustBeNew(t *testing.T) {
	f := gitfs.New(gitfs.Folder(t.TempDir()))
	must(t, f.WriteNew("lock", []byte("1"), 0o644))
	if err := f.WriteNew("lock", []byte("2"), 0o644); !errors.Is(err, fs.ErrExist) {
		t.Errorf("says %v", err)
	}
	if got, err := f.ReadFile("lock"); err != nil || string(got) != "1" {
		t.Errorf("holds %q, %v", got, err)
	}
}

// The disk in memory does what a real folder does, so that what is proved on it holds.
func TestMemoryIsLikeAFolder(t *testing.T) {
	names := []string{"a", "b", "dir", "dir/a", "dir/b"}
	rapid.Check(t, func(rt *rapid.T) {
		root, err := os.MkdirTemp(t.TempDir(), "disk")
		must(t, err)
		real, memory := gitfs.Disk(gitfs.Folder(root)), gitfs.Disk(gitfstest.NewMemory())
		for range rapid.IntRange(1, 20).Draw(rt, "steps") {
			step := rapid.SampledFrom(steps).Draw(rt, "step")
			from, to := rapid.SampledFrom(names).Draw(rt, "from"), rapid.SampledFrom(names).Draw(rt, "to")
			if a, b := step(real, from, to), step(memory, from, to); a != b {
				rt.Fatalf("%s %s: the folder says %q and the memory %q", from, to, a, b)
			}
		}
	})
}

// steps do something to a disk and say what came of it.
var steps = []func(d gitfs.Disk, from, to string) string{
	func(d gitfs.Disk, from, to string) string { return write(d, from, os.O_CREATE|os.O_RDWR, to) },
	func(d gitfs.Disk, from, to string) string { return write(d, from, os.O_CREATE|os.O_RDWR|os.O_EXCL, to) },
	func(d gitfs.Disk, from, to string) string { return write(d, from, os.O_RDWR|os.O_TRUNC, to) },
	func(d gitfs.Disk, from, _ string) string {
		content, err := gitfs.New(d).ReadFile(from)
		return outcome(err) + string(content)
	},
	func(d gitfs.Disk, from, _ string) string { return outcome(d.Mkdir(from, 0o755)) },
	func(d gitfs.Disk, from, _ string) string { return outcome(d.Remove(from)) },
	func(d gitfs.Disk, _, _ string) string {
		files, err := d.ReadDir("dir")
		said := outcome(err)
		for _, f := range files {
			said += " " + f.Name()
		}
		return said
	},
	func(d gitfs.Disk, from, to string) string {
		if a, err := d.Stat(from); err != nil || a.IsDir() {
			return "not a file"
		}
		if b, err := d.Stat(to); err == nil && b.IsDir() {
			return "a folder is there"
		}
		return outcome(d.Rename(from, to))
	},
}

func write(d gitfs.Disk, name string, flag int, content string) string {
	if info, err := d.Stat(name); err == nil && info.IsDir() {
		return "folder"
	}
	f, err := d.OpenFile(name, flag, 0o644)
	if err != nil {
		return outcome(err)
	}
	_, err = f.Write([]byte(content))
	if closed := f.Close(); err == nil {
		err = closed
	}
	return outcome(err)
}

// outcome is what an error amounts to. A file where a folder should be is, for a caller, just not there.
func outcome(err error) string {
	switch {
	case err == nil:
		return "done"
	case errors.Is(err, fs.ErrExist):
		return "exists"
	default:
		return "fails"
	}
}
