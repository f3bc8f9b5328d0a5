// Package index keeps what was gathered from records, so that a question over
// the whole shop reads again only the records that changed.
//
// Start with [New] and [Index.Table]. Facts are kept by the hash of the
// record's bytes and, joined, by the hash of the folder that holds it: what
// stands under a hash can be missing, and can never be out of date. It is a
// cache and never the truth: without its file, with a damaged one, in a folder
// that cannot be written and beside another process the answers are the same
// and take longer. What is deliberately absent: what the facts mean.
package index

import (
	"errors"
	"fmt"
	"runtime"
	"runtime/debug"
	"slices"
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
		if err := rows(joined[folderKey(table, f)], visit); err != nil {
			return fmt.Errorf("%s: %w", f.Path, err)
		}
	}
	return nil
}

// joined is the table's facts of each folder, by key. What is missing is
// gathered and kept.
func (x *Index) joined(table string, folders []records.Folder) (map[string][]byte, error) {
	keys := make([]string, len(folders))
	for i, f := range folders {
		keys[i] = folderKey(table, f)
	}
	have := x.get(keys)
	missing := slices.DeleteFunc(slices.Clone(folders), func(f records.Folder) bool { _, there := have[folderKey(table, f)]; return there })
	if len(missing) == 0 {
		return have, nil
	}
	var saving sync.WaitGroup // while the next records are read
	err := x.gather(missing, func(made map[string][]byte) {
		for _, k := range keys {
			if v, there := made[k]; there {
				have[k] = v
			}
		}
		saving.Wait()
		saving.Go(func() { x.keep(made) })
	})
	saving.Wait()
	if err != nil {
		return nil, err
	}
	for _, k := range keys {
		if _, there := have[k]; !there {
			return nil, fmt.Errorf("table %s: is not gathered", table)
		}
	}
	x.store.prune(x.view, folders[0].Kind)
	return have, nil
}

func (x *Index) get(keys []string) map[string][]byte {
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
	if x.store.put(made) == nil {
		return
	}
	for k, v := range made {
		x.fresh[k] = v
	}
}

// foldersAtOnce bounds what is in memory while a large shop is gathered.
const foldersAtOnce = 32

// While records are gathered the garbage collector may let so many percent lie,
// up to so many bytes.
const (
	gatherGC     = 400
	gatherMemory = 256 << 20
)

// gather makes the joined facts of folders, and hands them over with those of
// each record that was read.
func (x *Index) gather(folders []records.Folder, done func(map[string][]byte)) error {
	defer debug.SetGCPercent(debug.SetGCPercent(gatherGC))
	defer debug.SetMemoryLimit(debug.SetMemoryLimit(gatherMemory))
	files := make([][]records.File, len(folders))
	total, read := 0, 0
	for i, f := range folders {
		var err error
		if files[i], err = x.view.Files(f); err != nil {
			return err
		}
		total += len(files[i])
	}
	kept := x.kept(files)
	for from := 0; from < len(folders); from += foldersAtOnce {
		to := min(from+foldersAtOnce, len(folders))
		batch := slices.Concat(files[from:to]...)
		facts, made, err := x.facts(batch, kept, func() {
			if read++; x.o.Progress != nil {
				x.o.Progress(read, total)
			}
		})
		if err != nil {
			return err
		}
		for i := from; i < to; i++ {
			join(made, folders[i], files[i], facts)
		}
		done(made)
	}
	return nil
}

// kept are the facts of those records that are there, by key.
func (x *Index) kept(files [][]records.File) map[string][]byte {
	var keys []string
	for _, f := range slices.Concat(files...) {
		keys = append(keys, fileKey(f))
	}
	return x.get(keys)
}

// facts are the facts of records by hash: kept ones, else gathered now. Those
// come a second time, as they are to be kept.
func (x *Index) facts(files []records.File, kept map[string][]byte, read func()) (all map[string]tables, made map[string][]byte, err error) {
	all, made = map[string]tables{}, map[string][]byte{}
	var missing []records.File
	for _, f := range files {
		if t, ok := decodeTables(kept[fileKey(f)]); ok {
			all[f.Hash] = t
			read()
		} else {
			missing = append(missing, f)
		}
	}
	err = x.read(missing, func(f records.File, t tables) {
		all[f.Hash], made[fileKey(f)] = t, t.encode()
		read()
	})
	return all, made, err
}

// read gathers from records. The repository is read by one goroutine, the
// records are decoded by as many as there are processors.
func (x *Index) read(files []records.File, done func(records.File, tables)) error {
	type job struct {
		file    records.File
		content []byte
	}
	type result struct {
		file  records.File
		facts tables
		err   error
	}
	jobs, results := make(chan job, 2*runtime.GOMAXPROCS(0)), make(chan result, 2*runtime.GOMAXPROCS(0))
	stop := make(chan struct{})
	var workers sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		workers.Go(func() {
			for j := range jobs {
				facts, err := x.one(j.file, j.content)
				results <- result{j.file, facts, err}
			}
		})
	}
	go func() {
		defer close(results)
		defer workers.Wait()
		defer close(jobs)
		for _, f := range files {
			content, err := x.view.Read(f)
			if err != nil {
				results <- result{f, nil, err}
				return
			}
			select {
			case jobs <- job{f, content}:
			case <-stop:
				return
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
			done(r.file, r.facts)
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
