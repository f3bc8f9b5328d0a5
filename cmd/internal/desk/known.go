package desk

import (
	"errors"
	"fmt"
	"regexp"

	"feedproof/checklist/audit"
	"feedproof/checklist/state"
	"feedproof/records"
	"feedproof/schema"
)

var commitName = regexp.MustCompile(`^[0-9a-f]{7,40}$`)

// AsKnown is a car as it was known at a time (RFC 3339), at the end of a day,
// at its release, or as a commit held it, and by what that was decided. What was
// not known then is no draft.
func (d *Desk) AsKnown(c Car, at string) (then Car, said string, err error) {
	whole := c.Whole()
	c.Draft = nil
	if commitName.MatchString(at) {
		return d.asCommitted(c, at)
	}
	known, said, err := audit.KnownAt(whole, at)
	if err != nil {
		return c, "", usage(`--at "2026-03-02 14:00", --at 2026-03-02T14:00:00Z, --at 2026-03-02, --at COMMIT or --at release`, "--at", "%v", err)
	}
	said = fmt.Sprintf("%s: %s.", c.Data.Name, said)
	c.Record = known
	if len(state.Written(known)) > 0 {
		c.Data = state.Identity(known)
	}
	return c, said, nil
}

func (d *Desk) asCommitted(c Car, commit string) (then Car, said string, err error) {
	lists := "feedproof history " + Quoted(c.Data.Name) + " --commits lists them"
	view, full, err := d.shop.ViewAt(commit)
	if err != nil {
		return c, "", usage(lists, "--at", "%v", err)
	}
	known, err := view.Record(schema.VehicleRecord, c.ID)
	if missing := (*records.NotFoundError)(nil); errors.As(err, &missing) {
		return c, "", usage(lists, "--at", "commit %.12s does not hold %s yet", full, c.Data.Name)
	}
	if err != nil {
		return c, "", err
	}
	said = fmt.Sprintf("%s: %d of %d committed entries: those that commit %.12s held.", c.Data.Name, len(state.Written(known)), len(state.Written(c.Record)), full)
	c.Record, c.Data = known, state.Identity(known)
	return c, said, nil
}
