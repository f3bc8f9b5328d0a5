package records

import (
	"fmt"

	"feedproof/records/signature"
	"feedproof/schema"
)

// What is kept free in every record, so that whoever fills it keeps no lead from writing on: to close a visit, to take something back, to
// add and revoke people.
const (
	roomEntries = schema.MaxEntries / 20
	roomBytes   = schema.MaxRecordBytes / 16
)

// FullError says that a record has room for a lead's commits alone.
type FullError struct {
	Kind    schema.RecordKind
	ID      string
	Entries int
}

func (e *FullError) Error() string {
	return fmt.Sprintf("%s %s: is full with %d entries: what is left is for a lead, who closes it and goes on in a new record", e.Kind, e.ID, e.Entries)
}

// checkRoom keeps the last of a record for what leads commit. A merge adds nothing.
func checkRoom(after schema.Record, fresh []schema.Entry, roster signature.Roster, by string) error {
	if len(fresh) == 0 || hasRoom(after) {
		return nil
	}
	if who, known := roster.Member(by); known && who.Has(schema.Lead) {
		return nil
	}
	return &FullError{after.Kind, after.ID, len(after.Entries)}
}

func hasRoom(r schema.Record) bool {
	size := 0
	for _, e := range r.Entries {
		size += len(e.Raw())
	}
	return len(r.Entries) <= schema.MaxEntries-roomEntries && size <= schema.MaxRecordBytes-roomBytes
}

func (c change) checkRoom(snap snapshot, after schema.Record, added []schema.Entry) error {
	if hasRoom(after) {
		return nil
	}
	roster, err := snap.roster()
	if err != nil {
		return err
	}
	return checkRoom(after, added, roster, c.by)
}
