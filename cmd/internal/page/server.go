// Package page serves the guide to a browser on this machine: the board, a car
// with its next thing, the emergency card.
//
// Start with [New]; the handler wants a listener that only this machine
// reaches. A browser is let in by a code that stands on the terminal, a person
// by the passphrase of their own key, which stays open until LOCK or ten minutes
// without a tap. What is shown and what an answer does comes from the guide and
// the desk. What is deliberately absent: any rule, limit or order of work, and
// the local network.
package page

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	"embed"
	"errors"
	"html/template"
	"io/fs"
	"mime"
	"net"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/language"
)

//go:embed static
var static embed.FS

var pages = template.Must(template.ParseFS(static, "static/*.html"))

// Options are what the page needs of the world.
type Options struct {
	Hosts []string // what a browser may call this server, with the port
	Code  string   // lets one browser in, once, within codeTime
	Now   func() time.Time
	// Open opens the shop for a person; secret gives their passphrase.
	Open func(person string, secret func(string) ([]byte, error)) (*desk.Desk, error)
}

// Code is a new code for a browser to be let in: 50 random bits, to be typed.
func Code() string { return strings.ToLower(rand.Text()[:10]) }

const (
	codeTime  = 10 * time.Minute
	idleTime  = 10 * time.Minute
	shiftTime = 12 * time.Hour
	roleTime  = 2 * time.Minute // a passphrase given for one act with a role waits so long for it
	mostBody  = 64 << 10
)

type server struct {
	Options
	began time.Time
	mu    sync.Mutex
	admit tries             // of the code
	seats map[string]*seat  // by the cookie of the browser
	tried map[string]*tries // of passphrases, by person
}

// New is the page as a handler.
func New(o Options) http.Handler {
	s := &server{Options: o, began: o.Now(), seats: map[string]*seat{}, tried: map[string]*tries{}}
	m := http.NewServeMux()
	m.HandleFunc("GET /{$}", s.seated(s.board))
	m.HandleFunc("POST /enrol", s.enrol)
	m.HandleFunc("POST /enter", s.seated(s.enter))
	m.HandleFunc("POST /lock", s.seated(s.lock))
	m.HandleFunc("GET /cars/{car}", s.seated(s.known(s.car)))
	m.HandleFunc("POST /cars/{car}", s.seated(s.known(s.answer)))
	m.HandleFunc("POST /cars/{car}/prove", s.seated(s.known(s.prove)))
	m.HandleFunc("GET /cars/{car}/state", s.seated(s.known(s.state)))
	m.HandleFunc("GET /card", s.card)
	for _, name := range []string{"page.css", "page.js"} {
		m.HandleFunc("GET /"+name, func(w http.ResponseWriter, r *http.Request) { http.ServeFileFS(w, r, sub(), name) })
	}
	return s.shut(m)
}

func sub() fs.FS {
	files, _ := fs.Sub(static, "static") // fails for a name that is no path alone
	return files
}

// Serve answers at a listener until the context ends; who is still there a
// second later is cut off.
func Serve(ctx context.Context, l net.Listener, h http.Handler) error {
	server := &http.Server{Handler: h, ReadHeaderTimeout: 2 * time.Second, ReadTimeout: 10 * time.Second, WriteTimeout: 30 * time.Second, IdleTimeout: time.Minute, MaxHeaderBytes: 16 << 10}
	go func() {
		<-ctx.Done()
		last, cancel := context.WithTimeout(context.WithoutCancel(ctx), time.Second)
		defer cancel()
		if server.Shutdown(last) != nil {
			_ = server.Close() // nothing more can be done for them
		}
	}()
	if err := server.Serve(l); !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}

// shut refuses what no page of ours asks for, and says what its own may do.
func (s *server) shut(next http.Handler) http.Handler {
	guarded := http.NewCrossOriginProtection().Handler(next)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'; require-trusted-types-for 'script'; trusted-types 'none'")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Permissions-Policy", "camera=(), geolocation=(), microphone=()")
		h.Set("Cache-Control", "no-store")
		if status := s.refusal(r); status != 0 {
			http.Error(w, http.StatusText(status), status)
			return
		}
		r.Body = http.MaxBytesReader(w, r.Body, mostBody)
		guarded.ServeHTTP(w, r)
	})
}

// refusal is the status of what is turned away unread; 0 of nothing.
func (s *server) refusal(r *http.Request) int {
	kind, _, _ := mime.ParseMediaType(r.Header.Get("Content-Type"))
	switch {
	case !slices.Contains(s.Hosts, strings.ToLower(r.Host)):
		return http.StatusMisdirectedRequest
	case r.Method != http.MethodGet && r.Method != http.MethodHead && r.Method != http.MethodPost:
		return http.StatusMethodNotAllowed
	case r.Header.Get("Sec-Fetch-Site") == "cross-site" && r.Header.Get("Sec-Fetch-Mode") != "navigate":
		return http.StatusForbidden
	case r.Method == http.MethodPost && kind != "application/x-www-form-urlencoded":
		return http.StatusUnsupportedMediaType
	case r.ContentLength > mostBody:
		return http.StatusRequestEntityTooLarge
	}
	return 0
}

// form reads what was sent, or answers why it cannot.
func form(w http.ResponseWriter, r *http.Request) bool {
	err := r.ParseForm()
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &large):
		http.Error(w, "too large: nothing was written", http.StatusRequestEntityTooLarge)
	case err != nil:
		http.Error(w, "not readable: nothing was written", http.StatusBadRequest)
	}
	return err == nil
}

const cookie = "__Host-feedproof"

func setCookie(w http.ResponseWriter, value string) {
	http.SetCookie(w, &http.Cookie{Name: cookie, Value: value, Path: "/", Secure: true, HttpOnly: true, SameSite: http.SameSiteStrictMode})
}

// enrol lets a browser in that knows the code.
func (s *server) enrol(w http.ResponseWriter, r *http.Request) {
	if !form(w, r) {
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	now := s.Now()
	good := s.Code != "" && now.Before(s.began.Add(codeTime)) && s.admit.begin(now) &&
		subtle.ConstantTimeCompare([]byte(strings.ToLower(strings.TrimSpace(r.PostForm.Get("code")))), []byte(s.Code)) == 1
	if !good {
		s.show(w, http.StatusForbidden, "door", view{words: spoken(r), Problem: spoken(r).Say("page.wrong")})
		return
	}
	s.Code = ""
	name := rand.Text()
	s.seats[name] = &seat{name: name}
	setCookie(w, name)
	http.Redirect(w, r, "/", http.StatusSeeOther)
}

// spoken is the language that a browser asks for.
func spoken(r *http.Request) language.Words {
	code, _, _ := strings.Cut(r.Header.Get("Accept-Language"), ",")
	code, _, _ = strings.Cut(code, "-")
	return language.In(strings.ToLower(strings.TrimSpace(code)))
}
