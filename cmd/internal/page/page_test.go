package page_test

import (
	"encoding/json"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/cmd/internal/page"
	"feedproof/schema"

	"github.com/google/go-cmp/cmp"
)

const secret, code = "correct horse", "abcdefghij"

// bay is a shop with its page, and a browser at it.
type bay struct {
	t      *testing.T
	dir    string
	now    time.Time
	server *httptest.Server
	client *http.Client
}

func open(t *testing.T) *bay {
	t.Helper()
	b := &bay{t: t, dir: desktest.Shop(t), now: desktest.Now}
	desktest.Protect(t, desktest.At(t, b.dir, "lead-1"), "tech-1", secret)
	b.server = httptest.NewUnstartedServer(nil)
	host := b.server.Listener.Addr().String()
	b.server.Config.Handler = page.New(page.Options{Hosts: []string{host}, Code: code, Now: func() time.Time { return b.now }, Open: func(who string, ask func(string) ([]byte, error)) (*desk.Desk, error) {
		return desk.Open(b.dir, desk.Options{Now: func() time.Time { return b.now }, As: who, Secret: ask})
	}})
	b.server.StartTLS()
	t.Cleanup(b.server.Close)
	b.client = b.browser()
	return b
}

func (b *bay) browser() *http.Client {
	jar, err := cookiejar.New(nil)
	if err != nil {
		b.t.Fatal(err)
	}
	return &http.Client{Transport: b.server.Client().Transport, Jar: jar}
}

func (b *bay) send(r *http.Request) (int, string) {
	b.t.Helper()
	res, err := b.client.Do(r)
	if err != nil {
		b.t.Fatal(err)
	}
	defer func() { _ = res.Body.Close() }()
	text, err := io.ReadAll(res.Body)
	if err != nil {
		b.t.Fatal(err)
	}
	return res.StatusCode, string(text)
}

func (b *bay) request(method, path string, form url.Values) *http.Request {
	b.t.Helper()
	r, err := http.NewRequestWithContext(b.t.Context(), method, b.server.URL+path, strings.NewReader(form.Encode()))
	if err != nil {
		b.t.Fatal(err)
	}
	if method == http.MethodPost {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	return r
}

func (b *bay) get(path string) (int, string) {
	b.t.Helper()
	return b.send(b.request("GET", path, nil))
}

func (b *bay) post(path string, pairs ...string) (int, string) {
	b.t.Helper()
	form := url.Values{}
	for i := 0; i < len(pairs); i += 2 {
		form.Set(pairs[i], pairs[i+1])
	}
	return b.send(b.request("POST", path, form))
}

func (b *bay) signIn() {
	b.t.Helper()
	if status, text := b.post("/enrol", "code", code); status != 200 || !strings.Contains(text, "Sam Reed") {
		b.t.Fatalf("enrol: %d %s", status, text)
	}
	if status, text := b.post("/enter", "person", "tech-1", "passphrase", secret); status != 200 || !strings.Contains(text, "kestrel") {
		b.t.Fatalf("enter: %d %s", status, text)
	}
}

func (b *bay) car() desk.Car {
	b.t.Helper()
	c, err := desktest.At(b.t, b.dir, "tech-1").Car("kestrel")
	if err != nil {
		b.t.Fatal(err)
	}
	return c
}

var formID = regexp.MustCompile(`name="form" value="([^"]+)"`)

func (b *bay) form(path string) string {
	b.t.Helper()
	_, text := b.get(path)
	found := formID.FindStringSubmatch(text)
	if found == nil {
		b.t.Fatalf("no form in %s", text)
	}
	return found[1]
}

// tap gives the answer whose button has the text.
func (b *bay) tap(path, button string) string {
	b.t.Helper()
	_, text := b.get(path)
	found := regexp.MustCompile(`value="([^"]*)">[^<]*` + regexp.QuoteMeta(button)).FindStringSubmatch(text)
	if found == nil {
		b.t.Fatalf("no button %q in %s", button, text)
	}
	_, text = b.post(path, "form", formID.FindStringSubmatch(text)[1], "answer", found[1])
	return text
}

func TestStrangersSeeNothing(t *testing.T) {
	b := open(t)
	path := "/cars/" + b.car().ID
	for _, p := range []string{"/", path, path + "/state"} {
		if status, text := b.get(p); status != 401 || strings.Contains(text, "kestrel") || strings.Contains(text, "Sam Reed") {
			t.Errorf("%s: %d %s", p, status, text)
		}
	}
	if status, _ := b.post("/enrol", "code", "aaaaaaaaaa"); status != 403 {
		t.Errorf("wrong code: %d", status)
	}
	b.signIn()
	b.client = b.browser()
	if status, _ := b.post("/enrol", "code", code); status != 403 {
		t.Errorf("the code let in twice: %d", status)
	}
}

func TestCodeRunsOutAndIsGuessedFiveTimes(t *testing.T) {
	late := open(t)
	late.now = late.now.Add(10 * time.Minute)
	if status, _ := late.post("/enrol", "code", code); status != 403 {
		t.Errorf("after ten minutes: %d", status)
	}
	b := open(t)
	for range 5 {
		b.post("/enrol", "code", "aaaaaaaaaa")
	}
	if status, _ := b.post("/enrol", "code", code); status != 403 {
		t.Errorf("after five wrong codes: %d", status)
	}
}

func TestSecrets(t *testing.T) {
	b := open(t)
	b.post("/enrol", "code", code)
	if status, text := b.post("/enter", "person", "lead-1", "passphrase", ""); status != 403 || !strings.Contains(text, "ssh-keygen -p") {
		t.Errorf("a key without passphrase: %d %s", status, text)
	}
	for range 5 {
		if status, _ := b.post("/enter", "person", "tech-1", "passphrase", "wrong"); status != 403 {
			t.Errorf("wrong passphrase: %d", status)
		}
	}
	if status, _ := b.post("/enter", "person", "tech-1", "passphrase", secret); status != 403 {
		t.Errorf("not locked after five wrong ones: %d", status)
	}
	b.now = b.now.Add(time.Minute)
	if status, text := b.post("/enter", "person", "tech-1", "passphrase", secret); status != 200 || !strings.Contains(text, "kestrel") {
		t.Errorf("a minute later: %d %s", status, text)
	}
}

func TestStolenCookieAfterLock(t *testing.T) {
	b := open(t)
	b.signIn()
	at, err := url.Parse(b.server.URL)
	if err != nil {
		t.Fatal(err)
	}
	thief := b.browser()
	thief.Jar.SetCookies(at, b.client.Jar.Cookies(at))
	b.post("/lock")
	b.client = thief
	if status, _ := b.get("/cars/" + b.car().ID); status != 401 {
		t.Errorf("%d", status)
	}
}

func TestTenIdleMinutesLock(t *testing.T) {
	b := open(t)
	b.signIn()
	b.now = b.now.Add(10*time.Minute + time.Second)
	if status, _ := b.get("/cars/" + b.car().ID + "/state"); status != 401 {
		t.Errorf("%d", status)
	}
}

func TestForeign(t *testing.T) {
	b := open(t)
	b.signIn()
	for name, c := range map[string]struct {
		change func(*http.Request)
		want   int
	}{
		"another origin":   {func(r *http.Request) { r.Header.Set("Origin", "https://example.com") }, 403},
		"origin null":      {func(r *http.Request) { r.Header.Set("Origin", "null") }, 403},
		"another site":     {func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "cross-site") }, 403},
		"foreign Host":     {func(r *http.Request) { r.Host = "example.com" }, 421},
		"Host, no port":    {func(r *http.Request) { r.Host = "127.0.0.1" }, 421},
		"text/plain":       {func(r *http.Request) { r.Header.Set("Content-Type", "text/plain") }, 415},
		"PUT":              {func(r *http.Request) { r.Method = "PUT" }, 405},
		"1 MB, told":       {func(r *http.Request) { body(r, 1<<20, true) }, 413},
		"1 MB, not told":   {func(r *http.Request) { body(r, 1<<20, false) }, 413},
		"a car that is no": {func(r *http.Request) { r.URL.Path = "/cars/..%2f..%2fkeys" }, 404},
	} {
		r := b.request("POST", "/cars/"+b.car().ID, url.Values{"form": {b.form("/cars/" + b.car().ID)}, "answer": {"2"}})
		c.change(r)
		if status, _ := b.send(r); status != c.want {
			t.Errorf("%s: %d, want %d", name, status, c.want)
		}
	}
}

func body(r *http.Request, size int64, told bool) {
	r.Body, r.ContentLength = io.NopCloser(strings.NewReader("answer="+strings.Repeat("x", int(size)))), -1
	if told {
		r.ContentLength = size + int64(len("answer="))
	}
}

// A button that is tapped twice writes once.
func TestTappedTwice(t *testing.T) {
	b := open(t)
	b.signIn()
	path := "/cars/" + b.car().ID
	b.tap(path, "SOMETHING")
	text := b.tap(path, "smell")
	before, tapped := len(b.car().Draft), false
	for range 6 { // until the guide has what it asks for
		id := formID.FindStringSubmatch(text)[1]
		for range 2 {
			_, text = b.post(path, "form", id, "answer", "1")
		}
		if tapped = len(b.car().Draft) > before; tapped {
			break
		}
	}
	if got := len(b.car().Draft) - before; got != 1 {
		t.Errorf("%d entries written, want 1 (%v)", got, tapped)
	}
}

// What another terminal writes is the state at the next question, which is what
// the commands answer.
func TestStateIsThatOfTheCommands(t *testing.T) {
	b := open(t)
	b.signIn()
	path := "/cars/" + b.car().ID
	stale := b.form(path)
	var first, second struct {
		Head     string
		Standing desk.Standing
	}
	b.state(path, &first)
	d := desktest.At(t, b.dir, "lead-1")
	c := b.car()
	if _, err := d.Record(c, b.now, schema.NoteData{Text: "<script>alert(1)</script>"}); err != nil {
		t.Fatal(err)
	}
	b.state(path, &second)
	if first.Head == second.Head {
		t.Error("the state has the same name after a note")
	}
	c = b.car()
	a, err := desktest.At(t, b.dir, "tech-1").Assess(c)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(desk.Stands(c, a), second.Standing); diff != "" {
		t.Errorf("(-desk +page)\n%s", diff)
	}
	if _, text := b.post(path, "form", stale, "answer", "2"); !strings.Contains(text, "nothing was written") {
		t.Errorf("an answer to a stale state was taken: %s", text)
	}
	if _, text := b.get(path); !strings.Contains(text, "&lt;script&gt;alert") || strings.Contains(text, "<script>alert") {
		t.Errorf("a note is not escaped: %s", text)
	}
}

func (b *bay) state(path string, into any) {
	b.t.Helper()
	status, text := b.get(path + "/state")
	if err := json.Unmarshal([]byte(text), into); err != nil || status != 200 {
		b.t.Fatalf("%d %v %s", status, err, text)
	}
}

// Nobody writes with another's key, and the policy holds every answer.
func TestHandedOverAndHeaders(t *testing.T) {
	b := open(t)
	b.signIn()
	path := "/cars/" + b.car().ID
	if text := b.tapKey(path, "7", "1"); !strings.Contains(text, "signs in with an own secret") || !strings.Contains(text, "<strong>Sam Reed</strong>") {
		t.Errorf("handed to another without a secret: %s", text)
	}
	res, err := b.client.Get(b.server.URL + "/")
	if err != nil {
		t.Fatal(err)
	}
	_ = res.Body.Close()
	for name, want := range map[string]string{"Content-Security-Policy": "frame-ancestors 'none'", "Cache-Control": "no-store", "X-Content-Type-Options": "nosniff", "Referrer-Policy": "no-referrer"} {
		if !strings.Contains(res.Header.Get(name), want) {
			t.Errorf("%s: %q", name, res.Header.Get(name))
		}
	}
}

func (b *bay) tapKey(path string, keys ...string) (text string) {
	b.t.Helper()
	for _, key := range keys {
		_, text = b.post(path, "form", b.form(path), "answer", key)
	}
	return text
}

// Who gives a wrong passphrase while signed in is no longer at it.
func TestWrongProofLocks(t *testing.T) {
	b := open(t)
	b.signIn()
	c := b.car()
	path := "/cars/" + c.ID
	if status, _ := b.post(path+"/prove", "passphrase", "wrong"); status != 403 {
		t.Errorf("wrong: %d", status)
	}
	if status, _ := b.get(path); status != 401 {
		t.Errorf("still at it after a wrong passphrase: %d", status)
	}
}
