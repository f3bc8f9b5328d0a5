package cli

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"time"

	"feedproof/cmd/internal/facts"
	"feedproof/cmd/internal/terminal"
	"feedproof/records"
	"feedproof/records/signature"
	"feedproof/schema"

	"golang.org/x/crypto/ssh"
)

// session is an open shop and who is at it.
type session struct {
	*app
	shop *records.Shop
}

// openCar opens the shop and finds a car in it.
func (a *app) openCar(name string) (*session, vehicle, error) {
	s, err := a.open()
	if err != nil {
		return nil, vehicle{}, err
	}
	v, err := s.car(name)
	return s, v, err
}

// open finds and opens the shop: --shop, FEEDPROOF_SHOP, or by walking up.
func (a *app) open() (*session, error) {
	dir := a.flags.shop
	if dir == "" {
		dir = a.Getenv("FEEDPROOF_SHOP")
	}
	if dir == "" {
		found, err := records.Find(a.Dir)
		if err != nil {
			return nil, failed(`feedproof shop new DIR --lead "Name", or --shop DIR`, "%s: is not in a shop", a.Dir)
		}
		dir = found
	}
	shop, err := records.Open(a.path(dir))
	if err != nil {
		return nil, err
	}
	s := &session{a, shop}
	return s, s.tellCopy()
}

// tellCopy looks at the end of a copy's history before anything is read from
// it, and says on a terminal how the whole is proved.
func (s *session) tellCopy() error {
	if !s.shop.Device().Copy {
		return nil
	}
	who, commit, err := s.shop.HeadSigner()
	if err != nil {
		return err
	}
	if s.Terminal() {
		s.Warn("copy for reading, up to commit %.12s, which %s (%s) signed; feedproof verify proves the whole of it", commit, who.Person, who.Name)
	}
	return nil
}

// path is a file or folder as typed, against the working folder.
func (a *app) path(name string) string {
	if filepath.IsAbs(name) {
		return name
	}
	return filepath.Join(a.Dir, name)
}

// who is the person at work: --as, FEEDPROOF_AS, or who is on this machine.
func (s *session) who() (signature.Member, error) {
	name := s.flags.as
	if name == "" {
		name = s.Getenv("FEEDPROOF_AS")
	}
	if name == "" {
		name = s.shop.Device().Who
	}
	if name == "" {
		return signature.Member{}, wrong("feedproof use PERSON, or --as PERSON", "nobody is on this machine")
	}
	return s.person(name)
}

// person finds somebody of the roster by id, initials, name or the start of one.
func (s *session) person(name string) (signature.Member, error) {
	roster, err := s.shop.Roster()
	if err != nil {
		return signature.Member{}, err
	}
	members := roster.Members()
	i, err := pick("person", name, members, func(m signature.Member) []string { return []string{m.Person, m.Initials, m.Name} })
	if err != nil {
		return signature.Member{}, err
	}
	return members[i], nil
}

// may checks early what the commit would check again.
func (s *session) may(person, kind string) error {
	roster, err := s.shop.Roster()
	if err != nil {
		return err
	}
	if err := roster.May(person, kind); err != nil {
		return &refused{what: err.Error(), fix: "ask one of: " + strings.Join(leads(roster), ", ")}
	}
	return nil
}

func leads(roster signature.Roster) []string {
	var out []string
	for _, m := range roster.Members() {
		if m.Active() && m.Has(schema.Lead) {
			out = append(out, m.Person)
		}
	}
	return out
}

// key is a person's signing key on this machine.
func (s *session) key(person string) (ssh.Signer, error) {
	path := keyPath(s.shop, person)
	key, err := signature.LoadKey(path, func() ([]byte, error) { return s.passphrase("passphrase of " + person) })
	if os.IsNotExist(err) {
		if key, err := s.agentKey(person); err == nil {
			return key, nil
		}
		return nil, failed("run this on their machine, or ask a lead: feedproof person key "+person, "person %s: has no key on this machine", person)
	}
	return key, err
}

// agentKey is a person's key in the ssh-agent of this machine.
func (s *session) agentKey(person string) (ssh.Signer, error) {
	roster, err := s.shop.Roster()
	if err != nil {
		return nil, err
	}
	m, _ := roster.Member(person)
	var keys []ssh.PublicKey
	for _, k := range m.Keys {
		if k.Revoked == 0 {
			keys = append(keys, k.Public)
		}
	}
	return signature.AgentKey(s.Getenv("SSH_AUTH_SOCK"), keys...)
}

func keyPath(shop *records.Shop, person string) string {
	return filepath.Join(shop.KeysDir(), person)
}

// passphrase asks on the terminal, without showing it.
func (a *app) passphrase(what string) ([]byte, error) {
	secret, err := a.Screen.Secret(a.In, what)
	if errors.Is(err, terminal.ErrNoTerminal) {
		return nil, failed("run it on a terminal", "%s: %v", what, err)
	}
	return secret, err
}

// moment reads --at: RFC 3339, or hours and minutes of today. Empty is now.
func (a *app) moment(at string) (time.Time, error) {
	now := a.Now()
	if at == "" {
		return now, nil
	}
	if t, err := time.Parse(time.RFC3339, at); err == nil {
		return t, nil
	}
	for _, layout := range []string{"2006-01-02 15:04", "2006-01-02T15:04", "2006-01-02 15:04:05", "2006-01-02T15:04:05"} {
		if t, err := time.ParseInLocation(layout, at, now.Location()); err == nil {
			return t, nil
		}
	}
	if t, err := time.ParseInLocation("15:04", at, now.Location()); err == nil {
		return time.Date(now.Year(), now.Month(), now.Day(), t.Hour(), t.Minute(), 0, 0, now.Location()), nil
	}
	return now, wrong("--at 09:14 (today), --at "+quoted(now.Format("2006-01-02 15:04"))+" or --at "+now.Format(time.RFC3339), "--at: %q is not a time", at)
}

// day reads a date, or takes today.
func (a *app) day(flag, text string) (string, error) {
	if text == "" {
		return a.Now().Format(time.DateOnly), nil
	}
	if _, err := time.Parse(time.DateOnly, text); err != nil {
		return "", wrong("--"+flag+" "+a.Now().Format(time.DateOnly), "--%s: %q is not a date", flag, text)
	}
	return text, nil
}

// entry makes the next entry of a record and checks it against the schema.
func (s *session) entry(kind schema.RecordKind, id, by string, at time.Time, data schema.Data) (schema.Entry, error) {
	counter, err := s.shop.NextCounter(kind, id)
	if err != nil {
		return schema.Entry{}, err
	}
	return s.numbered(counter, kind, id, by, at, data)
}

func (s *session) numbered(counter int64, kind schema.RecordKind, id, by string, at time.Time, data schema.Data) (schema.Entry, error) {
	e, err := schema.NewEntry(schema.Origin{By: by, Device: s.shop.Device().Name, Counter: counter, At: at, Entered: s.Now()}, data)
	if err != nil {
		return e, err
	}
	return e, schema.ValidateEntry(kind, id, e)
}

// put writes entries of a shop, gauge or part record, or a new car, at once,
// and says what it wrote.
func (s *session) put(kind schema.RecordKind, id string, at time.Time, said string, data ...schema.Data) error {
	me, err := s.who()
	if err != nil {
		return err
	}
	entries, err := s.entriesOf(kind, id, me.Person, at, data)
	if err != nil {
		return err
	}
	key, err := s.key(me.Person)
	if err != nil {
		return err
	}
	if _, err := s.shop.Put(s.asking.Context(), kind, id, me.Person, key, entries...); err != nil {
		return err
	}
	if s.flags.json {
		return s.JSON(putJSON{kind, id, factsOf(entries)})
	}
	s.Say("%s", said)
	return nil
}

// putJSON is what was written at once, as --json prints it.
type putJSON struct {
	Record schema.RecordKind `json:"record"`
	ID     string            `json:"id"`
	Facts  []factJSON        `json:"facts"`
}

func factsOf(entries []schema.Entry) []factJSON {
	out := []factJSON{}
	for _, e := range entries {
		out = append(out, newFact(e, facts.Fact(e), true))
	}
	return out
}

// entriesOf numbers new entries of a record, each by somebody who may.
func (s *session) entriesOf(kind schema.RecordKind, id, by string, at time.Time, data []schema.Data) ([]schema.Entry, error) {
	counter, err := s.shop.NextCounter(kind, id)
	if err != nil {
		return nil, err
	}
	var entries []schema.Entry
	for i, d := range data {
		if err := s.may(by, d.EntryKind()); err != nil {
			return nil, err
		}
		e, err := s.numbered(counter+int64(i), kind, id, by, at, d)
		if err != nil {
			return nil, err
		}
		entries = append(entries, e)
	}
	return entries, nil
}
