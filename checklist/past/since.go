package past

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// Since is what changed between two visits, and what a returning car must
// have looked at again.
type Since struct {
	Before   string    `json:"before"` // number of the visit
	After    string    `json:"after"`
	Days     int       `json:"days"`
	Driven   string    `json:"driven"` // empty when an odometer is missing
	Changes  []Change  `json:"changes"`
	Readings []Reading `json:"readings"`
	Again    []Again   `json:"again"`
}

// Change is something that is no longer as it was.
type Change struct {
	What    string   `json:"what"`
	Before  string   `json:"before"`
	After   string   `json:"after"`
	Entries []string `json:"entries"`
}

// Again is something to look at again, and why.
type Again struct {
	What    string   `json:"what"`
	Why     string   `json:"why"`
	Entries []string `json:"entries,omitempty"`
}

// SinceLast compares the last visit with the one before it. There must be two.
func SinceLast(c *state.Car) (Since, bool) {
	visits := Visits(c)
	if len(visits) < 2 {
		return Since{}, false
	}
	return Between(c, visits, len(visits)-2, len(visits)-1), true
}

// Between compares two visits by their places in the list.
func Between(c *state.Car, visits []Visit, before, after int) Since {
	a, b := visits[before], visits[after]
	s := Since{Before: a.Number, After: b.Number, Days: int(b.Open.At.Sub(left(a)).Hours() / 24), Driven: driven(a, b)}
	s.Changes = slices.Concat(components(c, visits, a, b), envelopes(a, b), maps(visits, before, after), declared(a, b))
	s.Readings = Compare(a, b)
	s.Again = again(c, visits[:after+1], a, b, s)
	return s
}

// left is when the car left the visit: closed, else signed off, else the last
// that was written.
func left(v Visit) time.Time {
	switch {
	case v.Close != nil:
		return v.Close.At
	case v.Release != nil:
		return v.Release.Entry.At
	}
	return v.Entries[len(v.Entries)-1].At
}

func driven(a, b Visit) string {
	from, err := a.Closing.Odometer.SI()
	if err != nil {
		from, err = a.Opening.Odometer.SI()
	}
	to, err2 := b.Opening.Odometer.SI()
	if err != nil || err2 != nil {
		return ""
	}
	return quantity.Format(to-from, "km", 0)
}

// components lists what came in and out since the car left the earlier visit.
func components(c *state.Car, visits []Visit, a, b Visit) []Change {
	var out []Change
	in := func(e schema.Entry) bool {
		last := a.Entries[len(a.Entries)-1]
		return schema.Order(e, last) > 0 && schema.Order(e, b.Entries[len(b.Entries)-1]) <= 0
	}
	was := map[string]Component{}
	for _, k := range Components(c, visits) {
		if k.Out != nil && in(*k.Out) {
			was[k.Data.Position] = k
		}
		if in(k.In) {
			old := was[k.Data.Position]
			delete(was, k.Data.Position)
			out = append(out, Change{What: k.Data.Position, Before: partOf(old.Data), After: partOf(k.Data), Entries: ids(old.In, k.In)})
		}
	}
	for position, k := range was {
		out = append(out, Change{What: position, Before: partOf(k.Data), After: "removed: " + k.Why, Entries: ids(k.In, *k.Out)})
	}
	slices.SortFunc(out, func(x, y Change) int { return strings.Compare(x.What, y.What) })
	return out
}

func partOf(d schema.FitData) string {
	if d.Part == "" {
		return d.WhyNone
	}
	return strings.TrimSpace(d.Part + " " + strings.Join(d.Serials, " "))
}

func ids(entries ...schema.Entry) []string {
	out := []string{}
	for _, e := range entries {
		if e.ID != "" {
			out = append(out, e.ID)
		}
	}
	return out
}

// envelopes compares the envelope that was signed with the one planned now.
func envelopes(a, b Visit) []Change {
	plans := Of[schema.PlanData](b)
	if a.Release == nil || len(plans) == 0 {
		return nil
	}
	plan := plans[len(plans)-1]
	was, is := a.Release.Statement.Envelope, plan.Data.Envelope
	var out []Change
	for _, l := range []struct {
		what    string
		was, is fmt.Stringer
	}{
		{"power", was.Power, is.Power}, {"manifold pressure", was.Manifold, is.Manifold}, {"engine speed", was.Speed, is.Speed},
		{"least ethanol", was.EthanolMin, is.EthanolMin}, {"most ethanol", was.EthanolMax, is.EthanolMax},
		{"altitude", was.Altitude, is.Altitude}, {"least fuel level", was.FuelLevel, is.FuelLevel},
	} {
		if l.was.String() != l.is.String() {
			out = append(out, Change{What: "envelope: " + l.what, Before: l.was.String(), After: l.is.String(), Entries: ids(a.Release.Entry, plan.Entry)})
		}
	}
	return out
}

// maps compares the calibrations that plans and logs named.
func maps(visits []Visit, before, after int) []Change {
	was, at := lastMap(visits[:before+1])
	is, now := lastMap(visits[before+1 : after+1])
	if was == is || is == "" {
		return nil
	}
	return []Change{{What: "calibration", Before: was, After: is, Entries: ids(at, now)}}
}

func lastMap(visits []Visit) (name string, at schema.Entry) {
	for _, v := range visits {
		for _, e := range v.Entries {
			if d, is := As[schema.PlanData](e); is && d.Map != "" {
				name, at = d.Map, e
			}
			if d, is := As[schema.DatalogData](e); is && d.Map != "" {
				name, at = d.Map, e
			}
		}
	}
	return name, at
}

// declared compares what the customer said.
func declared(a, b Visit) []Change {
	was, is := said(a), said(b)
	var out []Change
	for _, d := range []struct{ what, was, is string }{
		{"power", was.Power.String(), is.Power.String()}, {"boost", was.Boost.String(), is.Boost.String()},
		{"manifold pressure", was.Manifold.String(), is.Manifold.String()}, {"ethanol", was.Ethanol.String(), is.Ethanol.String()},
	} {
		if d.was != d.is && d.is != "" {
			out = append(out, Change{What: "declared: " + d.what, Before: d.was, After: d.is, Entries: ids(a.Open, b.Open)})
		}
	}
	return out
}

func said(v Visit) schema.Declared {
	if v.Opening.Declared == nil {
		return schema.Declared{}
	}
	return *v.Opening.Declared
}

// again is what must be looked at again, what the car is run at first.
func again(c *state.Car, visits []Visit, a, b Visit, s Since) []Again {
	var out []Again
	add := func(what, why string, entries ...string) { out = append(out, Again{what, why, entries}) }
	if a.Release == nil {
		add("everything", "visit "+a.Number+" ended without a sign-off: nothing is proven", a.Open.ID)
	} else {
		for _, x := range AgainstEnvelope(b.Opening.Declared, a.Release.Statement.Envelope) {
			switch {
			case x.Beyond:
				add("declared "+x.What, fmt.Sprintf("%s, and the envelope ends at %s: plan and test again before it is driven so", x.Declared, x.Limit), b.Open.ID, a.Release.Entry.ID)
			case x.Declared == "":
				add("declared "+x.What, fmt.Sprintf("nothing was declared: ask; the envelope ends at %s", x.Limit), b.Open.ID, a.Release.Entry.ID)
			}
		}
		if _, done := Rechecked(visits, a.Release.Entry); !done {
			add("re-check HP11", fmt.Sprintf("not done since the release; due %s: steps R1 to R7", a.Release.Statement.Recheck), a.Release.Entry.ID)
		}
	}
	for _, w := range Of[schema.WaiveData](a) {
		if expires, err := time.Parse(time.DateOnly, w.Data.Expires); err == nil && b.Open.At.After(expires.AddDate(0, 0, 1)) {
			add("waived: "+w.Data.Key(), "the waiver ended on "+w.Data.Expires, w.Entry.ID)
		}
	}
	for _, r := range s.Readings {
		switch {
		case r.Alarm != "":
			add(r.What, r.Alarm, r.Entries...)
		case r.Beyond:
			add(r.What, fmt.Sprintf("%s, then %s: more than %s apart", r.Before, r.After, r.Tolerance), r.Entries...)
		}
	}
	if base, err := Read(c, "base", "rail"); err == nil {
		if t, ok := base.Trend(); ok && t.Drifts {
			add("base pressure", "it moved the same way on three visits in a row: regulator, gauge, return line", base.Points[len(base.Points)-1].Entry.ID)
		}
	}
	for _, ch := range s.Changes {
		if tests := Retest(ch.What); tests != "" {
			add("after the change of "+ch.What, tests, ch.Entries...)
		}
	}
	return out
}

// Rechecked is the closing of HP11, the re-check, that a release was followed
// by: one after the release of a later visit is that one's.
func Rechecked(visits []Visit, release schema.Entry) (closing schema.Entry, done bool) {
	for _, v := range visits {
		for _, p := range Of[schema.HoldPointData](v) {
			if p.Data.Point == "HP11" && p.Data.Action == schema.ClosePoint && schema.Order(p.Entry, release) > 0 {
				return p.Entry, !signedBetween(visits, release, p.Entry)
			}
		}
	}
	return closing, false
}

// signedBetween reports that a later visit was signed off between two entries.
func signedBetween(visits []Visit, after, before schema.Entry) bool {
	own, _ := VisitAt(visits, after)
	return slices.ContainsFunc(visits, func(v Visit) bool {
		return v.Release != nil && v.Open.ID != own.Open.ID && schema.Order(v.Release.Entry, after) > 0 && schema.Order(v.Release.Entry, before) < 0
	})
}

// retests is the least that a change asks for again, by the names of readings.
// Source: common practice.
var retests = []struct{ position, tests string }{
	{"pump", "winding, prime, leak-down, leak, load, supply, flow"},
	{"filter", "leak, filter, load"},
	{"regulator", "leak, slope, idle, leak-down, load; duty of the injectors"},
	{"injectors", "leak-down, leak, load; and the calibration"},
	{"wiring", "prime, supply, stop"}, {"relay", "prime, supply, stop"}, {"fuse", "prime, supply, stop"},
	{"tank", "tank air or a full tank on a slope, vent"}, {"module", "tank air or a full tank on a slope, vent"},
	{"calibration", "plan, load"}, {"envelope", "plan, load"},
	{"rail", "leak"}, {"feed line", "leak"}, {"return line", "leak, return"},
}

// Retest says which readings a change of a position, of the calibration or of
// the envelope leaves to be taken again; nothing when it leaves all.
func Retest(what string) string {
	for _, r := range retests {
		rest, is := strings.CutPrefix(what, r.position)
		if is && (rest == "" || rest[0] == ' ' || rest[0] == ':') {
			return r.tests
		}
	}
	return ""
}
