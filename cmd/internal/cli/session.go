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
	keys map[string]ssh.Signer // that were opened
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
	s := &session{a, shop, map[string]ssh.Signer{}}
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

// key is a person's signing key on this machine, opened once.
func (s *session) key(person string) (ssh.Signer, error) {
	if key, open := s.keys[person]; open {
		return key, nil
	}
	if s.shop.Device().Copy {
		return nil, &records.CopyError{Dir: s.shop.Dir()}
	}
	key, err := s.openKey(person)
	if err == nil {
		s.keys[person] = key
	}
	return key, err
}

func (s *session) openKey(person string) (ssh.Signer, error) {
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

// entry makes the next entry of a record, with what stands there now in view,
// and signs it with its author's key.
func (s *session) entry(kind schema.RecordKind, id, by string, at time.Time, data schema.Data) (schema.Entry, error) {
	all, err := s.entries(kind, id, by, at, data)
	if err != nil {
		return schema.Entry{}, err
	}
	return all[0], nil
}

func (s *session) entries(kind schema.RecordKind, id, by string, at time.Time, data ...schema.Data) ([]schema.Entry, error) {
	seen, err := s.shop.Show(kind, id)
	if err != nil {
		return nil, err
	}
	return s.written(seen, by, at, data...)
}

// written makes entries of what somebody writes who has seen this.
func (s *session) written(seen records.Shown, by string, at time.Time, data ...schema.Data) ([]schema.Entry, error) {
	key, err := s.key(by)
	if err != nil {
		return nil, err
	}
	var all []records.Fact
	for _, d := range data {
		all = append(all, records.Fact{By: by, Key: key, At: at, Entered: s.Now(), Data: d})
	}
	return s.shop.Write(seen, all...)
}

// typed makes an entry of a car's draft, again when another window of this
// machine was quicker: nothing was shown in between.
func (s *session) typed(car, by string, at time.Time, data schema.Data) (schema.Entry, error) {
	for {
		e, err := s.entry(schema.VehicleRecord, car, by, at, data)
		if err != nil {
			return e, err
		}
		err = s.shop.Append(car, e)
		if unseen := (*records.UnseenError)(nil); !errors.As(err, &unseen) {
			return e, err
		}
	}
}

// put writes entries of a shop, gauge or part record, or a new car, at once,
// and says what it wrote.
func (s *session) put(kind schema.RecordKind, id string, at time.Time, said string, data ...schema.Data) error {
	me, err := s.who()
	if err != nil {
		return err
	}
	for _, d := range data {
		if err := s.may(me.Person, d.EntryKind()); err != nil {
			return err
		}
	}
	entries, err := s.entries(kind, id, me.Person, at, data...)
	if err != nil {
		return err
	}
	if err := s.enter(kind, id, me.Person, entries); err != nil {
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

// enter puts entries into their record at once; those of a car with a draft,
// which they have seen, go into it.
func (s *session) enter(kind schema.RecordKind, id, by string, entries []schema.Entry) error {
	if kind == schema.VehicleRecord {
		if draft, err := s.shop.Draft(id); err != nil || len(draft) > 0 {
			for _, e := range entries {
				err = errors.Join(err, s.shop.Append(id, e))
			}
			return err
		}
	}
	key, err := s.key(by)
	if err != nil {
		return err
	}
	_, err = s.shop.Put(s.asking.Context(), kind, id, by, key, entries...)
	return err
}
