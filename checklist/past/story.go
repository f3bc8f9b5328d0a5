package past

import (
	"slices"
	"strings"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// Story is a car through the years, in lines that name their entries.
type Story struct {
	Visits     []VisitLine     `json:"visits"`
	Components []ComponentLine `json:"components"`
	Envelopes  []EnvelopeLine  `json:"envelopes"`
	Findings   []FindingLine   `json:"findings"` // as shown on the day
	Waivers    []WaiverLine    `json:"waivers"`
	SignOffs   []SignOffLine   `json:"sign_offs"`
	Incidents  []IncidentLine  `json:"incidents"`
	CareEnded  *CareLine       `json:"care_ended"` // null while the shop cares for the car
}

// CareLine is the end of the shop's care for a car.
type CareLine struct {
	When  time.Time `json:"when"`
	By    string    `json:"by"`
	Why   string    `json:"why"`
	Until string    `json:"keep_until"`
	Entry string    `json:"entry"`
}

// VisitLine is one stay.
type VisitLine struct {
	Visit    string    `json:"visit"`
	Jobs     string    `json:"jobs"`
	Opened   time.Time `json:"opened"`
	Closed   time.Time `json:"closed,omitzero"`
	In       string    `json:"odometer_in"`
	Out      string    `json:"odometer_out"`
	Reason   string    `json:"reason"`
	Released bool      `json:"released"`
	Entries  []string  `json:"entries"`
}

// ComponentLine is a part in a position.
type ComponentLine struct {
	Position string    `json:"position"`
	Part     string    `json:"part"`
	Now      bool      `json:"now"` // it is in the car
	Fitted   time.Time `json:"fitted"`
	At       string    `json:"fitted_at"` // odometer
	Removed  time.Time `json:"removed,omitzero"`
	Until    string    `json:"removed_at"`
	Why      string    `json:"why"`
	Entries  []string  `json:"entries"`
}

// EnvelopeLine is limits that were planned or signed.
type EnvelopeLine struct {
	When     time.Time       `json:"when"`
	How      string          `json:"how"` // planned, signed
	By       string          `json:"by"`
	Envelope schema.Envelope `json:"envelope"`
	Entry    string          `json:"entry"`
}

// FindingLine is a finding as it was shown.
type FindingLine struct {
	When    time.Time      `json:"when"`
	Shown   string         `json:"shown"` // held, signed off
	RuleSet string         `json:"rule_set"`
	Finding schema.Finding `json:"finding"`
	Entry   string         `json:"entry"`
}

// WaiverLine is a waiver.
type WaiverLine struct {
	When    time.Time `json:"when"`
	By      string    `json:"by"`
	Finding string    `json:"finding"`
	Why     string    `json:"why"`
	Measure string    `json:"measure"`
	Expires string    `json:"expires"`
	Entry   string    `json:"entry"`
}

// SignOffLine is a sign-off.
type SignOffLine struct {
	When    time.Time `json:"when"`
	Visit   string    `json:"visit"`
	By      string    `json:"by"`
	Entries int       `json:"entries_seen"`
	RuleSet string    `json:"rule_set"`
	Recheck string    `json:"recheck"`
	Done    bool      `json:"recheck_done"`
	DoneOn  string    `json:"recheck_done_on,omitempty"` // date
	Entry   string    `json:"entry"`
}

// IncidentLine is an incident.
type IncidentLine struct {
	When     time.Time     `json:"when"`
	By       string        `json:"by"`
	What     string        `json:"what"`
	Severity string        `json:"severity"`
	Injury   schema.Answer `json:"injury"`
	Action   string        `json:"action"`
	Entry    string        `json:"entry"`
}

// Tell is the story of a car.
func Tell(c *state.Car) Story {
	visits := Visits(c)
	s := Story{Visits: []VisitLine{}, Components: []ComponentLine{}, Envelopes: []EnvelopeLine{}, Findings: []FindingLine{}, Waivers: []WaiverLine{}, SignOffs: []SignOffLine{}, Incidents: []IncidentLine{}}
	for _, v := range visits {
		s.Visits = append(s.Visits, visitLine(v))
	}
	for _, k := range Components(c, visits) {
		s.Components = append(s.Components, componentLine(k))
	}
	slices.SortStableFunc(s.Components, func(a, b ComponentLine) int {
		switch {
		case a.Now == b.Now:
			return strings.Compare(a.Position, b.Position)
		case a.Now:
			return -1
		}
		return 1
	})
	for _, e := range c.Standing() {
		s.add(visits, e)
	}
	if care, ended := CareEnded(c, visits); ended {
		s.CareEnded = &CareLine{care.Entry.At, care.Entry.By, care.Why, care.Until, care.Entry.ID}
	}
	return s
}

func visitLine(v Visit) VisitLine {
	l := VisitLine{Visit: v.Number, Opened: v.Open.At, In: v.Opening.Odometer.String(), Out: v.Closing.Odometer.String(), Released: v.Release != nil, Entries: []string{v.Open.ID}}
	var jobs []string
	for _, k := range v.Opening.Kinds {
		jobs = append(jobs, string(k))
	}
	l.Jobs, l.Reason = strings.Join(jobs, ","), v.Opening.Reason
	if l.Reason == "" {
		l.Reason = v.Opening.Words
	}
	if v.Close != nil {
		l.Closed, l.Entries = v.Close.At, append(l.Entries, v.Close.ID)
	}
	return l
}

func componentLine(k Component) ComponentLine {
	l := ComponentLine{Position: k.Data.Position, Part: partOf(k.Data), Now: k.Out == nil, Fitted: k.In.At, At: k.Visit.odometer(), Entries: []string{k.In.ID}}
	if k.Out != nil {
		l.Removed, l.Until, l.Why, l.Entries = k.Out.At, k.Leaves.odometer(), k.Why, append(l.Entries, k.Out.ID)
	}
	return l
}

// odometer is what it said when the visit began.
func (v Visit) odometer() string {
	if km, err := v.Opening.Odometer.SI(); err == nil {
		return quantity.Format(km, "km", 0)
	}
	return v.Opening.Odometer.String()
}

func (s *Story) add(visits []Visit, e schema.Entry) {
	if d, is := As[schema.PlanData](e); is {
		s.Envelopes = append(s.Envelopes, EnvelopeLine{e.At, "planned", e.By, d.Envelope, e.ID})
	}
	if d, is := As[schema.HoldData](e); is {
		s.show(e, "held", d.RuleSet, d.Findings)
	}
	if d, is := As[schema.WaiveData](e); is {
		s.Waivers = append(s.Waivers, WaiverLine{e.At, e.By, d.Key(), d.Why, d.Measure, d.Expires, e.ID})
	}
	if d, is := As[schema.SignOffData](e); is {
		st := d.Statement
		v, _ := VisitAt(visits, e)
		s.Envelopes = append(s.Envelopes, EnvelopeLine{e.At, "signed", e.By, st.Envelope, e.ID})
		line := SignOffLine{When: e.At, Visit: v.Number, By: st.Person, Entries: st.Entries, RuleSet: st.RuleSet, Recheck: st.Recheck, Entry: e.ID}
		closing, done := Rechecked(visits, e)
		if line.Done = done; done {
			line.DoneOn = closing.At.UTC().Format(time.DateOnly)
		}
		s.SignOffs = append(s.SignOffs, line)
		s.show(e, "signed off", st.RuleSet, st.Findings)
	}
	if d, is := As[schema.IncidentData](e); is {
		s.Incidents = append(s.Incidents, IncidentLine{e.At, e.By, d.What, d.Severity, d.Injury, d.Action, e.ID})
	}
}

func (s *Story) show(e schema.Entry, how, ruleSet string, found []schema.Finding) {
	for _, f := range found {
		s.Findings = append(s.Findings, FindingLine{e.At, how, ruleSet, f, e.ID})
	}
}
