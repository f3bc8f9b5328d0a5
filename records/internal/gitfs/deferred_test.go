package gitfs_test

import (
	"errors"
	"io/fs"
	"strings"
	"testing"

	"feedproof/records/internal/gitfs"
	"feedproof/records/internal/gitfstest"
)

// put writes a file the way go-git does: a temporary one, renamed.
func put(f gitfs.FS, name, content string) error {
	out, err := f.TempFile("tmp", gitfs.TempPrefix)
	if err != nil {
		return err
	}
	_, err = out.Write([]byte(content))
	if closed := out.Close(); err == nil {
		err = closed
	}
	if err == nil {
		err = f.Rename(out.Name(), name)
	}
	return err
}

// What was written is seen at once by its own filesystem, by others after Sync, and lies on the disk then.
func TestDeferredIsSeenAndThenDurable(t *testing.T) {
	memory := gitfstest.NewMemory()
	mine, others := gitfs.New(memory).Deferred(), gitfs.New(memory)
	must(t, put(mine, "dir/a", "one"))
	must(t, mine.Stage("note", []byte("two")))
	for name, want := range map[string]string{"dir/a": "one", "note": "two"} {
		if got, err := mine.ReadFile(name); err != nil || string(got) != want {
			t.Errorf("%s before Sync: %q, %v", name, got, err)
		}
		if info, err := mine.Stat(name); err != nil || info.Size() != int64(len(want)) {
			t.Errorf("%s before Sync: %v", name, err)
		}
		if _, err := others.ReadFile(name); !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("%s is seen by others before Sync: %v", name, err)
		}
	}
	must(t, mine.Sync())
	cut := gitfs.New(memory.Crash(func() bool { return false }))
	for name, want := range map[string]string{"dir/a": "one", "note": "two"} {
		for _, f := range []gitfs.FS{mine, others, cut} {
			if got, err := f.ReadFile(name); err != nil || string(got) != want {
				t.Errorf("%s after Sync: %q, %v", name, got, err)
			}
		}
	}
}

// What is removed before Sync never was.
func TestDeferredCanBeTakenBack(t *testing.T) {
	memory := gitfstest.NewMemory()
	f := gitfs.New(memory).Deferred()
	must(t, put(f, "a", "one"))
	must(t, f.Remove("a"))
	must(t, f.Sync())
	if _, err := f.ReadFile("a"); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("is still there: %v", err)
	}
	files, err := f.ReadDir("tmp")
	must(t, err)
	if len(files) > 0 {
		t.Errorf("leaves %s", files[0].Name())
	}
}

// At whichever change the disk breaks and whatever it forgets, a name stands for its whole content or for none, and for its whole content
// once Sync has said so.
func TestDeferredIsAllOrNothing(t *testing.T) {
	contents := map[string]string{"x/a": strings.Repeat("a", 100), "y/b": strings.Repeat("b", 200), "c": "c"}
	for _, mode := range []gitfstest.Mode{gitfstest.FailOnce, gitfstest.Stop, gitfstest.Tear, gitfstest.Full} {
		for n := 1; ; n++ {
			memory := gitfstest.NewMemory()
			faulty := gitfstest.NewFaulty(memory, mode, n)
			f := gitfs.New(faulty).Deferred()
			var failed error
			for name, content := range contents {
				failed = errors.Join(failed, put(f, name, content))
			}
			synced := f.Sync()
			for _, survives := range []bool{false, true} {
				left := gitfs.New(memory.Crash(func() bool { return survives }))
				for name, content := range contents {
					got, err := left.ReadFile(name)
					whole := err == nil && string(got) == content
					if !whole && !errors.Is(err, fs.ErrNotExist) || !whole && failed == nil && synced == nil {
						t.Errorf("mode %d, change %d (%s): %s is %q, %v, after %v and %v", mode, n, faulty.Call(n), name, got, err, failed, synced)
					}
				}
			}
			if faulty.Changes() < n {
				if n < 15 {
					t.Fatalf("%d changes: too few", n-1)
				}
				break
			}
		}
	}
}

// Many files do not stay open until Sync.
func TestDeferredKeepsFewFilesOpen(t *testing.T) {
	memory := gitfstest.NewMemory()
	f := gitfs.New(memory).Deferred()
	for i := range 300 {
		must(t, put(f, string(rune('a'+i%26))+strings.Repeat("x", i/26), "content"))
	}
	files, err := gitfs.New(memory).ReadDir("tmp")
	must(t, err)
	if len(files) > 200 {
		t.Errorf("%d files wait for Sync", len(files))
	}
}
