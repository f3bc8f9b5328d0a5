package checklist_test

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"feedproof/schema"
)

// The format of scenarios is documented in testdata/scenarios/README.md.

// scenario is one situation and what the rules must say of it.
type scenario struct {
	ID      string            `json:"id"`
	Note    string            `json:"note"`
	Source  string            `json:"source"`
	Base    string            `json:"base"`
	Moment  string            `json:"moment"`
	Edit    []edit            `json:"edit"`
	Expect  []expected        `json:"expect"`
	Points  map[string]string `json:"points"`
	SignOff map[string]string `json:"signoff"`
	Refused string            `json:"refused"`
	Faults  *[]string         `json:"faults"`
	Claims  []schema.Claim    `json:"claims"`
}

// expected is a finding, by rule and severity; Says is part of its text.
type expected struct {
	Rule     string          `json:"rule"`
	Severity schema.Severity `json:"severity"`
	Says     string          `json:"says"`
	Answered bool            `json:"answered"`
}

// baseRecord is a whole record, or an edit of another.
type baseRecord struct {
	ID      string                 `json:"id"`
	Note    string                 `json:"note"`
	Base    string                 `json:"base"`
	Edit    []edit                 `json:"edit"`
	Start   string                 `json:"start"`
	Moment  string                 `json:"moment"`
	Shop    []*compact             `json:"shop"`
	Gauges  map[string]*[]*compact `json:"gauges"`
	Parts   map[string]*[]*compact `json:"parts"`
	Entries []*compact             `json:"entries"`
}

// compact is an entry without what the loader works out.
type compact struct {
	Name    string         `json:"name"`
	Kind    string         `json:"kind"`
	By      string         `json:"by"`
	At      string         `json:"at"`
	Entered string         `json:"entered"` // when it was typed, if later
	Device  string         `json:"device"`
	Counter int64          `json:"counter"`
	Data    map[string]any `json:"data"`

	Unconfirmed bool `json:"unconfirmed"` // the second person that it names does not confirm it
}

// edit changes a base: an entry of the car, or of a part, gauge or the shop.
type edit struct {
	Entry   string         `json:"entry"`
	Part    string         `json:"part"`
	Gauge   string         `json:"gauge"`
	Shop    bool           `json:"shop"`
	Set     map[string]any `json:"set"`
	Unset   []string       `json:"unset"`
	At      string         `json:"at"`
	By      string         `json:"by"`
	Counter int64          `json:"counter"`
	Remove  bool           `json:"remove"`
	Add     *compact       `json:"add"`
	After   string         `json:"after"`
}

// situation is a base with its edits, still in compact form.
type situation struct {
	start, moment time.Time
	shop, entries []*compact
	gauges, parts map[string]*[]*compact
	claims        []schema.Claim

	origin *situation // the base whose gauges these are, until one is edited
}

// copied shares the entries, which are copied when they are changed.
func (s *situation) copied() *situation {
	c := *s
	c.shop, c.entries = slices.Clone(s.shop), slices.Clone(s.entries)
	c.gauges, c.parts = copiedLists(s.gauges), copiedLists(s.parts)
	return &c
}

func copiedLists(lists map[string]*[]*compact) map[string]*[]*compact {
	out := map[string]*[]*compact{}
	for id, l := range lists {
		own := slices.Clone(*l)
		out[id] = &own
	}
	return out
}

// own copies every entry, so that all may be changed in place.
func (s *situation) own() {
	s.origin = nil
	for _, list := range s.lists() {
		for i := range list {
			list[i] = list[i].copied()
		}
	}
}

func (s *situation) lists() [][]*compact {
	lists := [][]*compact{s.shop, s.entries}
	for _, l := range s.gauges {
		lists = append(lists, *l)
	}
	for _, l := range s.parts {
		lists = append(lists, *l)
	}
	return lists
}

func (c *compact) copied() *compact {
	own := *c
	own.Data = copied(c.Data).(map[string]any)
	return &own
}

// helper is what loading and building need of a test; rapid's tests have it too.
type helper interface {
	Helper()
	Fatal(args ...any)
	Fatalf(format string, args ...any)
	Errorf(format string, args ...any)
}

const scenarioFolder = "../testdata/scenarios"

func strictly(t helper, file string, into any) {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	dec := json.NewDecoder(bytes.NewReader(text))
	dec.DisallowUnknownFields()
	dec.UseNumber()
	if err := dec.Decode(into); err != nil {
		t.Fatalf("%s: %v", file, err)
	}
}

// loadScenarios reads every scenario of the folder: the committed one, or that
// of FEEDPROOF_SCENARIOS.
func loadScenarios(t helper) []scenario {
	t.Helper()
	folder := scenarioFolder
	if other := os.Getenv("FEEDPROOF_SCENARIOS"); other != "" {
		folder = other
	}
	files, err := filepath.Glob(filepath.Join(folder, "*.json"))
	if err != nil {
		t.Fatal(err)
	}
	if len(files) == 0 {
		t.Fatalf("%s: holds no scenarios", folder)
	}
	var all []scenario
	for _, f := range files {
		var s scenario
		strictly(t, f, &s)
		if s.ID == "" || s.Note == "" || s.Source == "" || s.Base == "" {
			t.Errorf("%s: id, note, source and base must be given", f)
		}
		all = append(all, s)
	}
	return all
}

var loadedBases sync.Map // name -> *situation

// loadBase reads a base once.
func loadBase(t helper, name string) *situation {
	t.Helper()
	s, ok := loadedBases.Load(name)
	if !ok {
		s = readBase(t, name)
		loadedBases.Store(name, s)
	}
	c := s.(*situation).copied()
	c.origin = s.(*situation)
	return c
}

func readBase(t helper, name string) *situation {
	t.Helper()
	var b baseRecord
	strictly(t, filepath.Join(scenarioFolder, "bases", name+".json"), &b)
	s := &situation{shop: b.Shop, entries: b.Entries, gauges: b.Gauges, parts: b.Parts}
	if b.Base != "" {
		s = loadBase(t, b.Base)
	}
	if b.Start != "" {
		s.start = when(t, s.start, b.Start)
	}
	if b.Moment != "" {
		s.moment = when(t, s.start, b.Moment)
	}
	s.apply(t, b.Edit...)
	return s
}

func (sc scenario) situation(t helper) *situation {
	t.Helper()
	s := loadBase(t, sc.Base)
	s.apply(t, sc.Edit...)
	s.claims = sc.Claims
	if sc.Moment != "" {
		s.moment = when(t, s.start, sc.Moment)
	}
	return s
}

// when reads "+35m" and "-30d" from a start, or an RFC 3339 time.
func when(t helper, start time.Time, text string) time.Time {
	t.Helper()
	if d, err := time.Parse(time.RFC3339, text); err == nil {
		return d
	}
	if days, ok := strings.CutSuffix(text, "d"); ok {
		if n, err := strconv.ParseFloat(days, 64); err == nil {
			return start.Add(time.Duration(n * 24 * float64(time.Hour)))
		}
	}
	d, err := time.ParseDuration(text)
	if err != nil {
		t.Fatalf("time %q: neither +35m nor RFC 3339", text)
	}
	return start.Add(d)
}
