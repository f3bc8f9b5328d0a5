package gitfs

import (
	"errors"
	"maps"
	"path"
	"slices"
	"sync"
)

// Deferred is the same filesystem, but for when things become durable: at Sync. A file from TempFile is synced there, and takes the name it was
// renamed to only then, so that no name ever stands for half a content; readers of this filesystem see it under that name at once. Syncing
// the files, and then the folders, side by side lets the disk do them together, which takes a fraction of one after the other.
func (f FS) Deferred() FS {
	f.pending = &pending{dirs: map[string]bool{}, files: map[string]File{}, at: map[string]string{}}
	return f
}

// Sync makes durable what a Deferred filesystem did since the last time. After an error some of it may be missing.
func (f FS) Sync() error {
	if f.pending == nil {
		return nil
	}
	f.pending.Lock()
	defer f.pending.Unlock()
	if err := f.settleFiles(); err != nil {
		return err
	}
	if err := atOnce(slices.Collect(maps.Keys(f.pending.dirs)), f.disk.SyncDir); err != nil {
		return err
	}
	clear(f.pending.dirs)
	return nil
}

// Stage writes a file that is in place and durable at Sync.
func (f FS) Stage(name string, content []byte) error {
	out, err := f.TempFile(path.Dir(name), TempPrefix)
	if err != nil {
		return err
	}
	_, err = out.Write(content)
	if closed := out.Close(); err == nil {
		err = closed
	}
	if err == nil {
		err = f.Rename(out.Name(), name)
	}
	if err != nil {
		return errors.Join(err, f.Remove(out.Name()))
	}
	return nil
}

// settleFiles syncs the files and gives them their names. The caller holds the lock.
func (f FS) settleFiles() error {
	p := f.pending
	err := atOnce(slices.Collect(maps.Values(p.files)), func(file File) error { return errors.Join(file.Sync(), file.Close()) })
	for _, m := range p.moves {
		if err == nil {
			err = f.disk.Rename(m.from, m.to)
		}
		if err != nil {
			_ = f.disk.Remove(m.from) // the first error counts; a stray temporary file is swept later
			continue
		}
		p.dirs[path.Dir(m.to)] = true
	}
	clear(p.files)
	clear(p.at)
	p.moves = nil
	return err
}

// manyFiles is how many files are kept open until Sync.
const manyFiles = 128

// flushMany settles the files when there are many.
func (f FS) flushMany() error {
	f.pending.Lock()
	defer f.pending.Unlock()
	if len(f.pending.files) < manyFiles {
		return nil
	}
	return f.settleFiles()
}

// sideBySide is how many syncs the disk is asked for at once.
const sideBySide = 16

// atOnce does something to each of a list, several at once, and returns the errors.
func atOnce[T any](list []T, do func(T) error) error {
	errs := make([]error, len(list))
	turns := make(chan struct{}, sideBySide)
	var all sync.WaitGroup
	for i, item := range list {
		turns <- struct{}{}
		all.Go(func() {
			errs[i] = do(item)
			<-turns
		})
	}
	all.Wait()
	return errors.Join(errs...)
}

// pending is what is not durable yet. Without one everything is.
type pending struct {
	sync.Mutex
	dirs  map[string]bool   // with new names
	files map[string]File   // written and closed by their writers, by name
	moves []renaming        // of such files
	at    map[string]string // where a file stands that will be renamed, by its later name
}

type renaming struct{ from, to string }

func (p *pending) touch(dir string) {
	p.Lock()
	defer p.Unlock()
	p.dirs[dir] = true
}

// keep takes over a written file.
func (p *pending) keep(name string, file File, failed error) error {
	if failed != nil {
		return errors.Join(failed, file.Close())
	}
	p.Lock()
	defer p.Unlock()
	p.files[name] = file
	return nil
}

// move renames a file at Sync; false when it is not one of those.
func (p *pending) move(from, to string) bool {
	if p == nil {
		return false
	}
	p.Lock()
	defer p.Unlock()
	if _, ours := p.files[from]; !ours {
		return false
	}
	p.moves = append(p.moves, renaming{from, to})
	p.at[to] = from
	return true
}

// where is the file that has or will have a name.
func (p *pending) where(name string) string {
	if p == nil {
		return name
	}
	p.Lock()
	defer p.Unlock()
	if from, renamed := p.at[name]; renamed {
		return from
	}
	return name
}

// forget drops a file before it is removed, and says where it stands.
func (p *pending) forget(name string) string {
	if p == nil {
		return name
	}
	p.Lock()
	defer p.Unlock()
	if from, renamed := p.at[name]; renamed {
		name = from
	}
	if file, ours := p.files[name]; ours {
		_ = file.Close() // it is removed next
		delete(p.files, name)
	}
	p.moves = slices.DeleteFunc(p.moves, func(m renaming) bool { return m.from == name })
	maps.DeleteFunc(p.at, func(_, from string) bool { return from == name })
	return name
}
