package gitfs

import "os"

// file is an open file that remembers a failed write, so that Close never puts half a file in place.
type file struct {
	File
	name   string
	failed error
	finish func(failed error) error // nil for a file opened for reading
	closed bool
}

// Name is the name the file was opened by.
func (f *file) Name() string { return f.name }

func (f *file) Write(p []byte) (int, error) {
	n, err := f.File.Write(p)
	if err != nil {
		f.failed = err
	}
	return n, err
}

func (f *file) Truncate(size int64) error {
	err := f.File.Truncate(size)
	if err != nil {
		f.failed = err
	}
	return err
}

// Close puts what was written in its place.
func (f *file) Close() error {
	if f.closed {
		return os.ErrClosed
	}
	f.closed = true
	if f.finish == nil {
		return f.File.Close()
	}
	return f.finish(f.failed)
}

// Lock does nothing: writers are kept apart by the lock of the store.
func (f *file) Lock() error { return nil }

// Unlock does nothing.
func (f *file) Unlock() error { return nil }
