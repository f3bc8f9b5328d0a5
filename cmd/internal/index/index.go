// Package index keeps what was gathered from records, so that a question over
// the whole shop reads again only the records that changed.
//
// Start with [New] and [Index.Table]. Facts are kept with the hash of the
// folder that holds the records, and with those of the records' bytes: what has
// another hash than it should is not used. It is a cache and never the truth:
// without its file, with a damaged one, in a folder that cannot be written and
// beside another process the answers are the same and take longer. What is
// deliberately absent: what the facts mean.
package index

import (
	"errors"
	"fmt"
	"maps"
	"runtime"
	"runtime/debug"
	"sync"

	"feedproof/records"
	"feedproof/schema"
)

// Gather makes the facts of a record, by table, from the record alone.
type Gather func(schema.Record) (map[string][]byte, error)

// Options say where facts are kept and who makes them.
type Options struct {
	File     string // of the cache; it may be missing
	Program  string // names the version of Gather: facts of another are not used
	Gather   Gather
	Progress func(done, total int) // records read; nil for silence
}

// Index is the facts of a shop as one commit holds it. It is for one
// goroutine.
type Index struct {
	view  records.View
	o     Options
	mu    sync.Mutex // of what follows
	store store
	fresh map[string][]byte // facts that the store would not take
}

// New is the index of a view.
func New(view records.View, o Options) *Index {
	return &Index{view: view, o: o, store: store{file: o.File, program: o.Program}, fresh: map[string][]byte{}}
}

// Row is the facts of one record in a table.
type Row struct {
	ID    string
	Facts []byte
}

// Table hands over a table of all records of a kind, by folder and id.
// Records that have no facts in it are left out.
func (x *Index) Table(kind schema.RecordKind, table string, visit func(Row) error) error {
	folders, err := x.view.Folders(kind)
	if err != nil {
		return err
	}
	joined, err := x.joined(table, folders)
	if err != nil {
		return err
	}
	for _, f := range folders {
		if err := rows(joined[f.Path], visit); err != nil {
			return fmt.Errorf("%s: %w", f.Path, err)
		}
	}
	return nil
}

// joined is the table's facts of each folder, by path. What is missing is
// gathered and kept.
func (x *Index) joined(table string, folders []records.Folder) (map[string][]byte, error) {
	keys := make([]string, len(folders))
	for i, f := range folders {
		keys[i] = tableKey(f, table)
	}
	kept := x.get(keys)
	have := map[string][]byte{}
	var missing []records.Folder
	for i, f := range folders {
		if facts, ok := factsOf(f.Hash, kept[keys[i]]); ok {
			have[f.Path] = facts
		} else {
			missing = append(missing, f)
		}
	}
	if len(missing) == 0 {
		return have, nil
	}
	var saving sync.WaitGroup // while the next records are read
	err := x.gather(missing, func(made map[string][]byte) {
		for i, f := range folders {
			if facts, ok := factsOf(f.Hash, made[keys[i]]); ok {
				have[f.Path] = facts
			}
		}
		saving.Wait()
		saving.Go(func() { x.keep(made) })
	})
	saving.Wait()
	if err != nil {
		return nil, err
	}
	if len(have) < len(folders) {
		return nil, fmt.Errorf("table %s: is not gathered", table)
	}
	return have, nil
}

// get is the values of those keys that are there and whole.
func (x *Index) get(keys []string) map[string][]byte {
	x.mu.Lock()
	defer x.mu.Unlock()
	have := x.store.get(keys)
	for _, k := range keys {
		if v, there := x.fresh[k]; there {
			have[k] = v
		}
	}
	return have
}

// keep puts facts into the store, or in memory when it takes none.
func (x *Index) keep(made map[string][]byte) {
	x.mu.Lock()
	defer x.mu.Unlock()
	if x.store.put(made) == nil {
		return
	}
	for k, v := range made {
		x.fresh[k] = v
	}
}

// foldersAtOnce is how many folders are kept in one go.
const foldersAtOnce = 32

// While records are gathered the garbage collector may let so many percent lie,
// up to so many bytes.
const (
	gatherGC     = 400
	gatherMemory = 256 << 20
)

// folder is one that is being gathered.
type folder struct {
	records.Folder
	files []records.File
	list  list
	facts recordTables // by record
}

// gather makes the facts of folders, and hands over what is to be kept.
func (x *Index) gather(missing []records.Folder, done func(map[string][]byte)) error {
	defer debug.SetGCPercent(debug.SetGCPercent(gatherGC))
	defer debug.SetMemoryLimit(debug.SetMemoryLimit(gatherMemory))
	folders, total, err := x.folders(missing)
	if err != nil {
		return err
	}
	made, read, whole := map[string][]byte{}, 0, 0
	return x.read(folders, func(r result) {
		maps.Copy(r.folder.facts, r.facts)
		if len(r.folder.facts) == len(r.folder.files) {
			r.folder.join(made)
			r.folder.facts = nil
			if whole++; whole%foldersAtOnce == 0 || whole == len(folders) {
				done(made)
				made = map[string][]byte{}
			}
		}
		if read += len(r.facts); x.o.Progress != nil {
			x.o.Progress(read, total)
		}
	})
}

// folders are folders with their records and what they were gathered from the
// last time.
func (x *Index) folders(missing []records.Folder) (folders []*folder, total int, err error) {
	keys := make([]string, len(missing))
	for i, f := range missing {
		keys[i] = listKey(f)
	}
	lists := x.get(keys)
	for i, f := range missing {
		files, err := x.view.Files(f)
		if err != nil {
			return nil, 0, err
		}
		folders = append(folders, &folder{f, files, decodeList(lists[keys[i]]), recordTables{}})
		total += len(files)
	}
	return folders, total, nil
}

// kept are the facts of those records of a folder that did not change since it
// was gathered.
func (x *Index) kept(f *folder) recordTables {
	unchanged := f.unchanged()
	if len(unchanged) == 0 {
		return nil
	}
	keys := make([]string, len(f.list.Tables))
	for i, table := range f.list.Tables {
		keys[i] = tableKey(f.Folder, table)
	}
	values := x.get(keys)
	for i, table := range f.list.Tables {
		facts, ok := factsOf(f.list.Folder, values[keys[i]])
		if !ok || unchanged.take(table, facts) != nil {
			return nil
		}
	}
	return unchanged
}

// result is the facts of one or more records of a folder.
type result struct {
	folder *folder
	facts  recordTables
	err    error
}

// read gathers from the records of folders that changed. The repository is read
// by one goroutine, the records are decoded by as many as there are processors.
func (x *Index) read(folders []*folder, done func(result)) error {
	type job struct {
		folder  *folder
		file    records.File
		content []byte
	}
	jobs, results := make(chan job, 2*runtime.GOMAXPROCS(0)), make(chan result, 2*runtime.GOMAXPROCS(0))
	stop := make(chan struct{})
	var workers sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		workers.Go(func() {
			for j := range jobs {
				facts, err := x.one(j.file, j.content)
				results <- result{j.folder, recordTables{j.file.ID: facts}, err}
			}
		})
	}
	go func() {
		defer close(results)
		defer workers.Wait()
		defer close(jobs)
		for _, f := range folders {
			kept := x.kept(f)
			if len(kept) > 0 {
				results <- result{f, kept, nil}
			}
			for _, file := range f.files {
				if _, known := kept[file.ID]; known {
					continue
				}
				content, err := x.view.Read(file)
				if err != nil {
					results <- result{f, nil, err}
					return
				}
				select {
				case jobs <- job{f, file, content}:
				case <-stop:
					return
				}
			}
		}
	}()
	var failed error
	for r := range results {
		switch {
		case failed != nil:
		case r.err != nil:
			failed = r.err
			close(stop)
		default:
			done(r)
		}
	}
	return failed
}

// one gathers from one record. One of a newer version is taken as far as this
// program can read it.
func (x *Index) one(f records.File, content []byte) (tables, error) {
	r, err := schema.ReadCommitted(content)
	if newer := (*schema.TooNewError)(nil); errors.As(err, &newer) {
		err = nil
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", f.Path, err)
	}
	facts, err := x.o.Gather(r)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", f.Path, err)
	}
	return facts, nil
}
