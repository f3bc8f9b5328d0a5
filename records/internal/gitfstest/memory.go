package gitfstest

import (
	"io"
	"io/fs"
	"maps"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"feedproof/records/internal/gitfs"
)

// Memory is a disk in memory that knows what would survive a power cut: the content of a file as it was when it was last synced, and the
// names in a folder as they were when that was last synced.
type Memory struct {
	mu   *sync.Mutex
	root *node
}

// node is a file or a folder.
type node struct {
	dir     bool
	content []byte
	names   map[string]*node

	syncedContent []byte
	syncedNames   map[string]*node
}

func newDir() *node {
	return &node{dir: true, names: map[string]*node{}, syncedNames: map[string]*node{}}
}

// NewMemory is an empty disk.
func NewMemory() *Memory { return &Memory{mu: &sync.Mutex{}, root: newDir()} }

// Crash is the disk after a power cut. For each change that was not synced, chance says whether it reached the disk all the same.
func (m *Memory) Crash(chance func() bool) *Memory {
	m.mu.Lock()
	defer m.mu.Unlock()
	return &Memory{mu: &sync.Mutex{}, root: m.root.crash(chance, map[*node]*node{})}
}

func (n *node) crash(chance func() bool, done map[*node]*node) *node {
	if survivor, ok := done[n]; ok {
		return survivor
	}
	after := newDir()
	done[n] = after
	if !n.dir {
		*after = node{content: n.syncedContent}
		if string(n.content) != string(n.syncedContent) && chance() {
			after.content = n.content
		}
		after.content = slices.Clone(after.content)
		after.syncedContent = after.content
		return after
	}
	for _, name := range slices.Sorted(maps.Keys(union(n.names, n.syncedNames))) {
		kept := n.syncedNames[name]
		if n.names[name] != kept && chance() {
			kept = n.names[name]
		}
		if kept != nil {
			after.names[name] = kept.crash(chance, done)
		}
	}
	after.syncedNames = maps.Clone(after.names)
	return after
}

func union(a, b map[string]*node) map[string]*node {
	all := maps.Clone(a)
	maps.Copy(all, b)
	return all
}

// Export writes the disk into a real folder.
func (m *Memory) Export(dir string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.root.export(dir)
}

func (n *node) export(to string) error {
	if !n.dir {
		return os.WriteFile(to, n.content, 0o644)
	}
	if err := os.MkdirAll(to, 0o755); err != nil {
		return err
	}
	for name, below := range n.names {
		if err := below.export(filepath.Join(to, name)); err != nil {
			return err
		}
	}
	return nil
}

// find walks to a node; nil when there is none.
func (m *Memory) find(name string) *node {
	at := m.root
	if name == "." {
		return at
	}
	for part := range strings.SplitSeq(name, "/") {
		if at == nil || !at.dir {
			return nil
		}
		at = at.names[part]
	}
	return at
}

// folder is find for a folder; nil when there is none of that name.
func (m *Memory) folder(name string) *node {
	if n := m.find(name); n != nil && n.dir {
		return n
	}
	return nil
}

func fault(op, name string, err error) error { return &fs.PathError{Op: op, Path: name, Err: err} }

// OpenFile implements gitfs.Disk.
func (m *Memory) OpenFile(name string, flag int, _ fs.FileMode) (gitfs.File, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	n, dir := m.find(name), m.folder(path.Dir(name))
	switch {
	case n != nil && flag&os.O_EXCL != 0:
		return nil, fault("open", name, fs.ErrExist)
	case n == nil && (flag&os.O_CREATE == 0 || dir == nil):
		return nil, fault("open", name, fs.ErrNotExist)
	case n == nil:
		n = &node{}
		dir.names[path.Base(name)] = n
	case n.dir:
		return nil, fault("open", name, fs.ErrInvalid)
	}
	if flag&os.O_TRUNC != 0 {
		n.content = nil
	}
	return &memoryFile{disk: m, node: n}, nil
}

// Stat implements gitfs.Disk.
func (m *Memory) Stat(name string) (fs.FileInfo, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	n := m.find(name)
	if n == nil {
		return nil, fault("stat", name, fs.ErrNotExist)
	}
	return n.info(path.Base(name)), nil
}

// ReadDir implements gitfs.Disk.
func (m *Memory) ReadDir(name string) ([]fs.FileInfo, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	n := m.folder(name)
	if n == nil {
		return nil, fault("readdir", name, fs.ErrNotExist)
	}
	var infos []fs.FileInfo
	for _, base := range slices.Sorted(maps.Keys(n.names)) {
		infos = append(infos, n.names[base].info(base))
	}
	return infos, nil
}

// Rename implements gitfs.Disk.
func (m *Memory) Rename(from, to string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	n, source, target := m.find(from), m.folder(path.Dir(from)), m.folder(path.Dir(to))
	if n == nil || target == nil {
		return fault("rename", from, fs.ErrNotExist)
	}
	delete(source.names, path.Base(from))
	target.names[path.Base(to)] = n
	return nil
}

// Remove implements gitfs.Disk.
func (m *Memory) Remove(name string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	n := m.find(name)
	if n == nil {
		return fault("remove", name, fs.ErrNotExist)
	}
	if len(n.names) > 0 {
		return fault("remove", name, fs.ErrExist)
	}
	delete(m.find(path.Dir(name)).names, path.Base(name))
	return nil
}

// Mkdir implements gitfs.Disk.
func (m *Memory) Mkdir(name string, _ fs.FileMode) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	dir := m.folder(path.Dir(name))
	if dir == nil {
		return fault("mkdir", name, fs.ErrNotExist)
	}
	if m.find(name) != nil {
		return fault("mkdir", name, fs.ErrExist)
	}
	dir.names[path.Base(name)] = newDir()
	return nil
}

// SyncDir implements gitfs.Disk.
func (m *Memory) SyncDir(name string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	n := m.folder(name)
	if n == nil {
		return fault("sync", name, fs.ErrNotExist)
	}
	n.syncedNames = maps.Clone(n.names)
	return nil
}

// memoryFile is an open file.
type memoryFile struct {
	disk *Memory
	node *node
	at   int64
}

func (f *memoryFile) Read(p []byte) (int, error) {
	n, err := f.ReadAt(p, f.at)
	f.at += int64(n)
	if n > 0 {
		err = nil
	}
	return n, err
}

func (f *memoryFile) ReadAt(p []byte, off int64) (int, error) {
	f.disk.mu.Lock()
	defer f.disk.mu.Unlock()
	if off >= int64(len(f.node.content)) {
		return 0, io.EOF
	}
	n := copy(p, f.node.content[off:])
	if n < len(p) {
		return n, io.EOF
	}
	return n, nil
}

func (f *memoryFile) Write(p []byte) (int, error) {
	f.disk.mu.Lock()
	defer f.disk.mu.Unlock()
	end := f.at + int64(len(p))
	content := make([]byte, max(end, int64(len(f.node.content))))
	copy(content, f.node.content)
	copy(content[f.at:], p)
	f.node.content, f.at = content, end
	return len(p), nil
}

func (f *memoryFile) Seek(offset int64, whence int) (int64, error) {
	f.disk.mu.Lock()
	defer f.disk.mu.Unlock()
	switch whence {
	case io.SeekCurrent:
		offset += f.at
	case io.SeekEnd:
		offset += int64(len(f.node.content))
	}
	if offset < 0 {
		return 0, fs.ErrInvalid
	}
	f.at = offset
	return offset, nil
}

func (f *memoryFile) Sync() error {
	f.disk.mu.Lock()
	defer f.disk.mu.Unlock()
	f.node.syncedContent = slices.Clone(f.node.content)
	return nil
}

func (f *memoryFile) Truncate(size int64) error {
	f.disk.mu.Lock()
	defer f.disk.mu.Unlock()
	content := make([]byte, size)
	copy(content, f.node.content)
	f.node.content = content
	return nil
}

func (f *memoryFile) Close() error { return nil }

// info describes a node.
type info struct {
	name string
	node node
}

func (n *node) info(name string) fs.FileInfo { return info{name, *n} }

func (i info) Name() string       { return i.name }
func (i info) Size() int64        { return int64(len(i.node.content)) }
func (i info) ModTime() time.Time { return time.Time{} }
func (i info) IsDir() bool        { return i.node.dir }
func (i info) Sys() any           { return nil }

func (i info) Mode() fs.FileMode {
	if i.node.dir {
		return fs.ModeDir | 0o755
	}
	return 0o644
}
