package cli

import (
	"io"
	"time"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"
	"feedproof/records"
	"feedproof/schema"
)

// session is a desk with its screen, for the commands that are not plain
// functions of both yet: plan, datalog, acknowledge and waive.
type session struct {
	*app
	*desk.Desk
}

// sessionAt is a desk with its screen alone.
func sessionAt(d *desk.Desk, out *terminal.Screen) *session { return &session{&app{Screen: out}, d} }

// Now is the desk's clock.
func (s *session) Now() time.Time { return s.Desk.Now() }

func (a *app) open() (*session, error) {
	d, err := openDesk(a.World, a.flags, a.Screen)
	if err != nil {
		return nil, err
	}
	return &session{a, d}, nil
}

// record writes a fact about a car down; see [record].
func (s *session) record(c desk.Car, at time.Time, data schema.Data) error {
	return record(s.Desk, s.Screen, c, at, data)
}

// keep puts a file into the shop; see [desk.Desk.KeepFile].
func (s *session) keep(name string, content io.Reader) (records.Evidence, error) {
	return s.KeepFile(name, content)
}

// otherCars is where else a file stands; see [desk.Desk.OtherUses].
func (s *session) otherCars(v desk.Car, kept records.Evidence) ([]string, error) {
	return s.OtherUses(v, kept)
}

// path is a file or folder as typed, against the working folder.
func (s *session) path(name string) string { return folder(s.Dir).path(name) }
