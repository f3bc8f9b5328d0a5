package page

import (
	"crypto/rand"
	"net/http"
	"sync"
	"time"

	"feedproof/checklist"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/guide"
	"feedproof/cmd/internal/language"
	"feedproof/schema"
)

// seat is a browser that was let in, and who is at it: one at a time.
type seat struct {
	mu     sync.Mutex
	name   string // its cookie; guarded by the server
	person desk.Person
	desk   *desk.Desk // nil: nobody
	since  time.Time
	tapped time.Time
	proved time.Time // when the passphrase was given for one act with a role
	works  map[string]*work
}

// work is a guide at one car. Its form carries the id of what it was drawn from,
// so that an answer counts once and only for what its person saw.
type work struct {
	guide *guide.Work
	id    string
	head  string // of the state that the guide last looked at
	moved bool   // the last answer came too late
}

// leave forgets the person and the key.
func (s *seat) leave() { s.person, s.desk, s.works, s.proved = desk.Person{}, nil, nil, time.Time{} }

// tries are those of a secret. After five that failed it is locked, each time
// for longer.
type tries struct {
	failed int
	until  time.Time
}

const mostTries = 5

var locks = []time.Duration{time.Minute, 5 * time.Minute, 30 * time.Minute}

// begin counts a try before it is made, and reports whether it may be made.
func (t *tries) begin(now time.Time) bool {
	if now.Before(t.until) {
		return false
	}
	t.failed++
	if t.failed%mostTries == 0 {
		t.until = now.Add(locks[min(t.failed/mostTries, len(locks))-1])
	}
	return true
}

// seated hands a handler the seat of the browser, held for it alone; who was
// away too long is no longer at it.
func (s *server) seated(do func(http.ResponseWriter, *http.Request, *seat)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		at, ok := s.seatOf(r)
		if !ok {
			s.show(w, http.StatusUnauthorized, "door", view{words: spoken(r)})
			return
		}
		at.mu.Lock()
		defer at.mu.Unlock()
		now := s.Now()
		if at.desk != nil && (now.Sub(at.tapped) > idleTime || now.Sub(at.since) > shiftTime) {
			at.leave()
		}
		do(w, r, at)
	}
}

func (s *server) seatOf(r *http.Request) (*seat, bool) {
	c, err := r.Cookie(cookie)
	if err != nil {
		return nil, false
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	at, ok := s.seats[c.Value]
	return at, ok
}

// renew gives the browser another cookie: what it kept of a page is then fetched
// anew, and the old one opens nothing.
func (s *server) renew(w http.ResponseWriter, at *seat) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.seats, at.name)
	at.name = rand.Text()
	s.seats[at.name] = at
	setCookie(w, at.name)
}

// known lets only those through who are signed in.
func (s *server) known(do func(http.ResponseWriter, *http.Request, *seat)) func(http.ResponseWriter, *http.Request, *seat) {
	return func(w http.ResponseWriter, r *http.Request, at *seat) {
		if at.desk == nil {
			s.who(w, r, http.StatusUnauthorized, "")
			return
		}
		if r.Method == http.MethodPost {
			at.tapped = s.Now()
		}
		do(w, r, at)
	}
}

// opened is a desk of a person whose key was opened by a passphrase.
func (s *server) opened(name, passphrase string) (d *desk.Desk, bare string, ok bool) {
	closed, err := s.Open("", nil)
	if err != nil {
		return nil, "", false
	}
	m, err := closed.Person(name)
	if err != nil || !m.Active() || !s.mayTry(m.Person) {
		return nil, "", false
	}
	asked := false
	d, err = s.Open(m.Person, func(string) ([]byte, error) { asked = true; return []byte(passphrase), nil })
	if err != nil {
		return nil, "", false
	}
	if _, err := d.Key(m.Person); err != nil {
		return nil, "", false
	}
	if !asked {
		return nil, d.KeyPath(m.Person), false
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.tried, m.Person)
	return d, "", true
}

func (s *server) mayTry(person string) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.tried[person] == nil {
		s.tried[person] = &tries{}
	}
	return s.tried[person].begin(s.Now())
}

func (s *server) enter(w http.ResponseWriter, r *http.Request, at *seat) {
	if !form(w, r) {
		return
	}
	words := spoken(r)
	d, bare, ok := s.opened(r.PostForm.Get("person"), r.PostForm.Get("passphrase"))
	switch {
	case bare != "":
		s.who(w, r, http.StatusForbidden, words.Say("page.bare", bare))
		return
	case !ok:
		s.who(w, r, http.StatusForbidden, words.Say("page.wrong"))
		return
	}
	m, err := d.Who()
	if err != nil {
		s.fail(w, err)
		return
	}
	now := s.Now()
	at.leave()
	at.desk, at.person, at.since, at.tapped, at.works = d, desk.Person{ID: m.Person, Name: m.Name}, now, now, map[string]*work{}
	s.renew(w, at)
	http.Redirect(w, r, "/", http.StatusSeeOther)
}

func (s *server) lock(w http.ResponseWriter, r *http.Request, at *seat) {
	at.leave()
	s.renew(w, at)
	http.Redirect(w, r, "/", http.StatusSeeOther)
}

// prove takes the passphrase for one act with a role.
func (s *server) prove(w http.ResponseWriter, r *http.Request, at *seat) {
	if !form(w, r) {
		return
	}
	_, _, ok := s.opened(at.person.ID, r.PostForm.Get("passphrase"))
	if !ok {
		at.leave()
		s.who(w, r, http.StatusForbidden, spoken(r).Say("page.wrong"))
		return
	}
	at.proved = s.Now()
	http.Redirect(w, r, "/cars/"+r.PathValue("car"), http.StatusSeeOther)
}

// bench is a car's bench for one person alone: another signs in with an own
// secret, and what carries a role wants the passphrase again.
type bench struct {
	*desk.Bench
	seat  *seat
	words language.Words
	now   func() time.Time
}

// Hand refuses: nobody writes with another's key.
func (b bench) Hand(id string) error {
	if id == b.seat.person.ID {
		return nil
	}
	return told(b.words.Say("page.theirs", id))
}

// Turn refuses: each page is of one car.
func (b bench) Turn(string) error { return told(b.words.Say("page.other")) }

// Record writes a fact about the car.
func (b bench) Record(at time.Time, d schema.Data) (schema.Entry, error) {
	if carriesRole(d) {
		if b.now().Sub(b.seat.proved) > roleTime {
			return schema.Entry{}, told(b.words.Say("page.again"))
		}
		b.seat.proved = time.Time{}
	}
	return b.Bench.Record(at, d)
}

// carriesRole reports that an entry says more than what its writer measured or
// did.
func carriesRole(d schema.Data) bool {
	switch d.(type) {
	case schema.HoldPointData, schema.ConfirmData, schema.AcknowledgeData, schema.WaiveData:
		return true
	}
	return false
}

// told is what is wrong, in the words that are shown.
type told string

func (t told) Error() string { return string(t) }

// workOf is the guide of this person at a car.
func (s *server) workOf(at *seat, car string) (*work, error) {
	if w := at.works[car]; w != nil && !w.guide.Left() {
		return w, nil
	}
	c, err := at.desk.CarOf(car)
	if err != nil {
		return nil, err
	}
	b, err := at.desk.Bench(c, "")
	if err != nil {
		return nil, err
	}
	words := language.In(at.desk.Habits(at.person.ID).Language)
	g, err := guide.New(bench{b, at, words, s.Now}, s.Now, "")
	if err != nil {
		return nil, err
	}
	w := &work{guide: g, id: rand.Text()}
	at.works[car] = w
	return w, nil
}

// standing is a car as it stands now, also by what others wrote since.
func standing(d *desk.Desk, car string) (desk.Car, checklist.Assessment, error) {
	if err := d.Refresh(); err != nil {
		return desk.Car{}, checklist.Assessment{}, err
	}
	c, err := d.CarOf(car)
	if err != nil {
		return c, checklist.Assessment{}, err
	}
	a, err := d.Assess(c)
	return c, a, err
}
