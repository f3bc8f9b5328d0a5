// Package invent makes a believable shop of any size: people, gauges with
// calibrations that lapse, lots of parts of which one wears early, cars that
// come back for years, readings that drift, waivers, late closings, comebacks
// and what else an auditor looks for. Everything is made up, cars, makers,
// people and numbers alike.
//
// Start with [Shop]. Records are written through package records, one signed
// commit a visit, as a shop would; the same options make the same record
// bytes. What is deliberately absent: evidence that a limit is right.
package invent

import (
	"context"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
	"time"

	"feedproof/records"
	"feedproof/schema"
	"feedproof/schema/quantity"

	"golang.org/x/crypto/ssh"
)

// Options are the size of a shop.
type Options struct {
	Cars, Visits, Readings int // visits a car and readings a visit are averages
	Seed                   uint64
	Trouble                int                   // how many times oftener than usual things go wrong; 0 counts as 1
	Progress               func(done, total int) // cars; may be nil
}

// Made is what was made.
type Made struct {
	Cars, Visits, Readings, Parts, Commits int
	Today                                  time.Time // a moment after all of it
}

// begin is when the invented shop opened its doors; it works for ten years.
var begin = time.Date(2016, 1, 4, 8, 0, 0, 0, time.UTC)

const (
	day      = 24 * time.Hour
	lifetime = 3650 * day
)

// Today is the moment at which the shop stands when it is done.
var Today = begin.Add(lifetime + 30*day)

// maker is a shop being made.
type maker struct {
	Options
	ctx  context.Context
	shop *records.Shop
	keys map[string]ssh.Signer
	made Made
	lots []lot
}

// Shop makes a shop in a new folder.
func Shop(ctx context.Context, dir string, o Options) (Made, error) {
	m := &maker{Options: o, ctx: ctx, keys: map[string]ssh.Signer{}}
	m.made.Today = Today
	if err := m.people(dir); err != nil {
		return m.made, err
	}
	if err := m.gauges(); err != nil {
		return m.made, err
	}
	if err := m.parts(); err != nil {
		return m.made, err
	}
	for i := range o.Cars {
		if err := ctx.Err(); err != nil {
			return m.made, err
		}
		if err := errors.Join(m.car(i), m.tidy()); err != nil {
			return m.made, fmt.Errorf("car %d: %w", i, err)
		}
		if o.Progress != nil {
			o.Progress(i+1, o.Cars)
		}
	}
	return m.made, nil
}

// tidy packs the store when it is time, as the program does after a commit.
func (m *maker) tidy() error {
	if !m.shop.Untidy() {
		return nil
	}
	_, err := m.shop.Tidy(m.ctx, nil)
	return err
}

// chance is a source of chance of its own for each thing that is made, so
// that one more car changes no other.
func (m *maker) chance(what string) *rand.Rand {
	sum := sha256.Sum256(fmt.Appendf(nil, "%d %s", m.Seed, what))
	return rand.New(rand.NewPCG(binary.BigEndian.Uint64(sum[:8]), binary.BigEndian.Uint64(sum[8:16])))
}

var staff = []schema.PersonData{
	{Person: "lead-1", Name: "Robin Vale", Initials: "RV", Roles: []schema.Role{schema.Lead}},
	{Person: "lead-2", Name: "Jo Marsh", Initials: "JM", Roles: []schema.Role{schema.Lead}},
	{Person: "tech-1", Name: "Sam Reed", Initials: "SR", Roles: []schema.Role{schema.FuelTechnician}},
	{Person: "tech-2", Name: "Kim Ash", Initials: "KA", Roles: []schema.Role{schema.FuelTechnician, schema.Tuner}},
	{Person: "tech-3", Name: "Lou Fenn", Initials: "LF", Roles: []schema.Role{schema.Technician}},
	{Person: "tech-4", Name: "Max Thorn", Initials: "MT", Roles: []schema.Role{schema.HotWork, schema.Technician}},
	{Person: "stores-1", Name: "Ada Brook", Initials: "AB", Roles: []schema.Role{schema.Stores}},
}

// people opens the shop and puts its staff into the roster.
func (m *maker) people(dir string) error {
	for _, p := range staff {
		key, err := keyOf(m.Seed, p.Person)
		if err != nil {
			return err
		}
		m.keys[p.Person] = key
	}
	var err error
	m.shop, err = records.Create(dir, records.CreateOptions{
		ID: "invented-shop", First: m.writer(schema.ShopRecord, "invented-shop", "shop").newID(begin), Lead: staff[0], Key: m.keys["lead-1"], Device: records.Device{Name: "office"}, Now: func() time.Time { return begin },
	})
	if err != nil {
		return err
	}
	w := m.writer(schema.ShopRecord, "invented-shop", "staff")
	for _, p := range staff[1:] {
		p.Key = strings.TrimSpace(string(ssh.MarshalAuthorizedKey(m.keys[p.Person].PublicKey())))
		w.add(begin, "lead-1", p)
	}
	for bay := range 4 {
		w.add(begin, "lead-1", schema.BayData{Bay: fmt.Sprint(bay + 1), AirSpace: "hall", Distance: q[quantity.Length](6, "m", 0)})
	}
	return w.put("lead-1")
}

// keyOf is a person's key: the same for the same seed.
func keyOf(seed uint64, person string) (ssh.Signer, error) {
	sum := sha256.Sum256(fmt.Appendf(nil, "%d key of %s", seed, person))
	return ssh.NewSignerFromKey(ed25519.NewKeyFromSeed(sum[:]))
}

// writer makes the entries of a record.
type writer struct {
	*maker
	kind   schema.RecordKind
	id     string
	chance *rand.Rand
	shown  records.Shown  // as the last commit left it
	facts  []records.Fact // not yet in the record
	err    error          // the first
}

func (m *maker) writer(kind schema.RecordKind, id, what string) *writer {
	return &writer{maker: m, kind: kind, id: id, chance: m.chance("ids of " + what)}
}

// add adds an entry and gives its id.
func (w *writer) add(at time.Time, by string, data schema.Data) string {
	return w.late(at, at.Add(20*time.Second), by, data)
}

// late adds an entry that was typed at another time than it happened.
func (w *writer) late(at, typed time.Time, by string, data schema.Data) string {
	id := w.newID(typed)
	w.facts = append(w.facts, records.Fact{ID: id, By: by, Key: w.keys[by], At: at, Entered: typed, Data: data})
	return id
}

const crockford = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"

// newID is a ULID by the writer's own chance.
func (w *writer) newID(at time.Time) string {
	ms := uint64(at.UnixMilli())
	id := make([]byte, 26)
	for i := 9; i >= 0; i-- {
		id[i], ms = crockford[ms%32], ms/32
	}
	for i := 10; i < len(id); i++ {
		id[i] = crockford[w.chance.IntN(32)]
	}
	return string(id)
}

// written is what was added, signed by its authors.
func (w *writer) written() ([]schema.Entry, error) {
	if w.shown.Head == "" && w.err == nil {
		w.shown, w.err = w.shop.Show(w.kind, w.id)
	}
	if w.err != nil {
		return nil, w.err
	}
	entries, err := w.shop.Write(w.shown, w.facts...)
	w.facts = nil
	w.made.Commits++
	return entries, err
}

// keep takes what was committed for what is shown next.
func (w *writer) keep(done records.CommitResult, err error) (schema.Record, error) {
	if err == nil {
		w.shown = records.Shown{Record: done.Record, Head: done.Commit}
	}
	return done.Record, err
}

// put writes what was added into a record that has no draft.
func (w *writer) put(by string) error {
	entries, err := w.written()
	if err != nil {
		return err
	}
	last := entries[len(entries)-1].Entered
	_, err = w.keep(w.shop.PutAt(w.ctx, func() time.Time { return last }, w.kind, w.id, by, w.keys[by], entries...))
	return err
}

// commit writes what was added into a vehicle's record, at a moment.
func (w *writer) commit(by string, now time.Time) (schema.Record, error) {
	entries, err := w.written()
	if err != nil {
		return schema.Record{}, err
	}
	return w.keep(w.shop.Commit(w.ctx, records.CommitRequest{
		Vehicle: w.id, By: by, Key: w.keys[by], Extra: entries, Now: func() time.Time { return now },
	}))
}

// q is a quantity as it would be written.
func q[Q quantity.Quantity](x float64, unit string, decimals int) schema.Q[Q] {
	return schema.Write[Q](w(x, unit, decimals))
}

func w(x float64, unit string, decimals int) quantity.Written {
	return quantity.Written{Value: fmt.Sprintf("%.*f", decimals, x), Unit: unit}
}

func date(t time.Time) string { return t.UTC().Format(time.DateOnly) }
