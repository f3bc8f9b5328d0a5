package records

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"slices"
	"strings"

	"feedproof/schema"

	"github.com/go-git/go-git/v5/plumbing"
)

// Drafts lists the vehicles with entries not yet committed on this machine.
func (s *Shop) Drafts() ([]string, error) {
	files, err := s.disk.ReadDir(draftsDir)
	if err != nil {
		return nil, err
	}
	var vehicles []string
	for _, f := range files {
		if name := f.Name(); path.Ext(name) == ".jsonl" && f.Size() > 0 {
			vehicles = append(vehicles, strings.TrimSuffix(name, ".jsonl"))
		}
	}
	return vehicles, nil
}

// Draft is the entries of a vehicle that are not committed yet, in the order they were written. A broken line, such as a power cut can
// leave, was never acknowledged: it is no part of the draft, and Torn shows it.
func (s *Shop) Draft(vehicle string) ([]schema.Entry, error) {
	entries, _, err := s.readDraft(vehicle)
	return entries, err
}

// Torn is the broken lines of a vehicle's draft, those still in it and those kept aside.
func (s *Shop) Torn(vehicle string) ([]string, error) {
	_, torn, err := s.readDraft(vehicle)
	if err != nil {
		return nil, err
	}
	aside, err := s.disk.ReadFile(tornPath(vehicle))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	for line := range bytes.Lines(aside) {
		torn = append(torn, strings.TrimSuffix(string(line), "\n"))
	}
	return torn, nil
}

// readDraft reads the whole lines and the broken ones.
func (s *Shop) readDraft(vehicle string) (entries []schema.Entry, torn []string, err error) {
	if !schema.ValidID(vehicle) {
		return nil, nil, fmt.Errorf("vehicle %q: is not an id", vehicle)
	}
	content, err := s.disk.ReadFile(draftPath(vehicle))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil, nil
	}
	if err != nil {
		return nil, nil, err
	}
	seen := map[string]bool{}
	for line := range bytes.Lines(content) {
		text := bytes.TrimSuffix(line, []byte("\n"))
		e, err := schema.DecodeEntry(text)
		switch {
		case len(text) == 0:
		case err != nil:
			torn = append(torn, string(text))
		case !seen[e.ID]:
			seen[e.ID] = true
			entries = append(entries, e)
		}
	}
	return entries, torn, nil
}

// Append adds an entry, which Write made, to a vehicle's draft. It is durable when Append returns. Several processes may append at once; an
// entry of this machine that has not seen what another of them appended is an *UnseenError, and is not added.
func (s *Shop) Append(vehicle string, e schema.Entry) error {
	if !schema.ValidID(vehicle) {
		return fmt.Errorf("vehicle %q: is not an id", vehicle)
	}
	line := e.Raw()
	if bytes.ContainsRune(line, '\n') {
		return fmt.Errorf("entry %s: spans lines: a draft holds one entry a line", e.ID)
	}
	if e.Sig == "" {
		return fmt.Errorf("entry %s: is not signed by its author", e.ID)
	}
	release, err := s.lock(context.Background(), draftsDir)
	if err != nil {
		return err
	}
	defer release()
	if err := s.checkFollows(vehicle, e); err != nil {
		return err
	}
	return s.appendLine(draftPath(vehicle), append(line, '\n'))
}

// checkFollows holds an entry of this machine to what it wrote before. One that names the last of the draft, or stands on the shop as it is,
// has seen all of it; else the record is read.
func (s *Shop) checkFollows(vehicle string, e schema.Entry) error {
	if e.Device != s.device.Name {
		return nil
	}
	draft, err := s.Draft(vehicle)
	if err != nil {
		return err
	}
	head, err := s.head()
	if err != nil {
		return err
	}
	if n := len(draft); n > 0 && draft[n-1].Device == e.Device && slices.Contains(e.After, draft[n-1].ID) || n == 0 && e.Head == head.String() {
		return nil
	}
	now, err := s.Show(schema.VehicleRecord, vehicle)
	if err != nil {
		return err
	}
	return s.checkOwnLine(now.Record, []schema.Entry{e})
}

// appendLine adds a line at the end, after a broken one has been ended, or leaves the file as it was.
func (s *Shop) appendLine(name string, line []byte) error {
	f, err := s.disk.OpenFile(name, os.O_RDWR|os.O_CREATE, 0o644)
	if err != nil {
		return err
	}
	size, err := f.Seek(0, io.SeekEnd)
	if err == nil && size > 0 {
		last := make([]byte, 1)
		if _, err = f.ReadAt(last, size-1); err == nil && last[0] != '\n' {
			line = append([]byte{'\n'}, line...)
		}
	}
	if err == nil {
		if _, err = f.Write(line); err != nil {
			err = errors.Join(err, f.Truncate(size))
		}
	}
	if closed := f.Close(); err == nil {
		err = closed
	}
	return err
}

// settled is a shop as it is committed, and a vehicle's record in it.
type settled struct {
	snapshot
	record schema.Record
}

// settledAt reads a vehicle's record in a commit, when it is asked for.
func (s *Shop) settledAt(commit plumbing.Hash, vehicle string) func() (settled, error) {
	return func() (settled, error) {
		snap, err := s.at(commit)
		if err != nil {
			return settled{}, err
		}
		r, err := snap.record(schema.VehicleRecord, vehicle)
		if missing := (*NotFoundError)(nil); errors.As(err, &missing) {
			err = nil
		}
		return settled{snap, r}, err
	}
}

// settleDraft takes out of a draft what the record holds by now, and puts broken lines aside.
func (s *Shop) settleDraft(vehicle string, committed func() (settled, error)) error {
	release, err := s.lock(context.Background(), draftsDir)
	if err != nil {
		return err
	}
	defer release()
	entries, torn, err := s.readDraft(vehicle)
	if err != nil || len(entries)+len(torn) == 0 {
		return err
	}
	now, err := committed()
	if err != nil {
		return err
	}
	var done, left []schema.Entry
	for _, e := range entries {
		if holds(now.record, e) {
			done = append(done, e)
		} else {
			left = append(left, e)
		}
	}
	if len(done) == 0 && len(torn) == 0 {
		return nil
	}
	if err := s.dropKept(now.snapshot, done); err != nil {
		return err
	}
	for _, line := range torn {
		if err := s.appendLine(tornPath(vehicle), []byte(line+"\n")); err != nil {
			return err
		}
	}
	return s.writeDraft(vehicle, left)
}

// holds reports whether the record has exactly this entry.
func holds(r schema.Record, e schema.Entry) bool {
	have, there := r.Entry(e.ID)
	return there && bytes.Equal(have.Raw(), e.Raw())
}

func (s *Shop) writeDraft(vehicle string, entries []schema.Entry) error {
	if len(entries) == 0 {
		return s.disk.Remove(draftPath(vehicle))
	}
	return s.disk.WriteFile(draftPath(vehicle), draftLines(entries), 0o644)
}
