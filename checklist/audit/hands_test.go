package audit

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"feedproof/schema"
	"feedproof/schema/quantity"
)

// A sign-off given again with nothing new, one that is wider after work, and one
// that did not know of the one before are listed; one that is narrower after
// work is not. Worked out by hand from what is put in.
func TestSignedAgain(t *testing.T) {
	s := newShop(t)
	s.car("finch", "F1").open("1", 1).signed("lead-1").on(day).add(schema.NoteData{Text: "washed"}).signed("lead-1")
	s.car("heron", "H2").open("1", 1).signed("lead-1").on(day).as("tech-1").read("base", "P1", "", "rail=3 bar").signedFor("lead-2", 330)
	s.car("kite", "K4").open("1", 1).signed("lead-1").on(day).as("tech-1").read("base", "P1", "", "rail=3 bar").signedFor("lead-2", 280)
	same(t, s.ask(2*day, "signed-again"),
		"finch|F1|2026-03-03|lead-1|2026-03-02|lead-1|repeated|2026-04-02|2026-04-03|0",
		"heron|H2|2026-03-03|lead-2|2026-03-02|lead-1|power widened: 300 kW to 330 kW|2026-04-02|2026-04-03|1")

	c := s.car("swift", "S3").open("1", 1)
	c.signed("lead-1")
	signed, err := schema.Into[schema.SignOffData](s.records[schema.VehicleRecord]["swift"].Entries[2])
	if err != nil {
		t.Fatal(err)
	}
	c.on(time.Hour).as("lead-2").elsewhere("bay-3", 2, signed)
	c.as("tech-1").read("base", "P1", "", "rail=3 bar")
	if rows := s.ask(2*day, "signed-again"); len(rows) != 3 || rows[2] != "swift|S3|2026-03-02|lead-2|2026-03-02|lead-1|apart; repeated|2026-04-02|2026-04-02|0" {
		t.Errorf("rows %q", rows)
	}
}

// A limit that was left out limits nothing, so the envelope is wider.
func TestSignedAgainWithoutALimit(t *testing.T) {
	s := newShop(t)
	c := s.car("finch", "F1").open("1", 1).signed("lead-1")
	d, err := schema.Into[schema.SignOffData](s.records[schema.VehicleRecord]["finch"].Entries[2])
	if err != nil {
		t.Fatal(err)
	}
	d.Statement.Envelope.Power = schema.Q[quantity.Power]{State: schema.Unknown}
	d.Statement.Entries, d.Statement.Digest = 4, schema.Digest(c.on(day).as("tech-1").read("base", "P1", "", "rail=3 bar").shop.records[schema.VehicleRecord]["finch"].Entries)
	c.as("lead-1").add(d)
	same(t, s.ask(2*day, "signed-again"), "finch|F1|2026-03-03|lead-1|2026-03-02|lead-1|power widened: 300 kW to unknown|2026-04-02|2026-04-02|1")
}

func acknowledged(subject, why string) schema.AcknowledgeData {
	return schema.AcknowledgeData{Rule: "L06", Subject: subject, Code: "outside", Values: []schema.Amount{{Name: "rail", Value: "3.1", Unit: "bar"}}, Why: why}
}

// One FLAG is answered by who read it, two in one another's words, one by
// another person in words of its own, which is not listed; nor is one that was
// answered again after it lapsed.
func TestFlags(t *testing.T) {
	s := newShop(t)
	s.car("finch", "F1").open("1", 1).read("base", "P1", "", "rail=3.1 bar").add(acknowledged("base", "gauge reads high"))
	s.car("heron", "H2").open("1", 1).read("base", "P1", "", "rail=3.1 bar").as("lead-1").add(acknowledged("base", "Looked at  it"))
	s.car("kite", "K4").open("1", 1).as("lead-1").add(acknowledged("base", "looked at it"))
	s.car("swift", "S3").open("1", 1).as("lead-1").add(acknowledged("base", "hot day")).add(acknowledged("base", "hot day"))
	same(t, s.ask(day, "flags"),
		"finch|F1|1|L06 base outside|rail 3.1 bar|tech-1|2026-03-02T08:00:00Z|true|1|gauge reads high",
		"heron|H2|1|L06 base outside|rail 3.1 bar|lead-1|2026-03-02T08:00:00Z|false|2|looked at it",
		"kite|K4|1|L06 base outside|rail 3.1 bar|lead-1|2026-03-02T08:00:00Z|false|2|looked at it")
}

// A lead is added, closes a point and signs off the same day, once back-dated
// to before they came, and is taken back; what they sign two days later stands
// beside no change.
func TestRoster(t *testing.T) {
	s := newShop(t)
	shop := &book{shop: s, kind: schema.ShopRecord, id: "shop", by: "lead-1", at: epoch}
	shop.add(schema.PersonData{Person: "lead-1", Name: "A", Roles: []schema.Role{schema.Lead}, Key: "k1"})
	shop.on(10 * day).add(schema.PersonData{Person: "lead-9", Name: "B", Roles: []schema.Role{schema.Technician}, Key: "k9"})
	shop.on(11 * day).add(schema.PersonData{Person: "lead-9", Name: "B", Roles: []schema.Role{schema.Lead}, Key: "k9"})
	risen := shop.last
	shop.on(30 * day).add(schema.CorrectData{Entry: risen, Action: schema.Void, Why: "a slip"}).add(schema.KeyData{Person: "lead-9", Key: "k9", Action: "revoke", Why: "left"})
	s.car("finch", "F1").open("1", 1).on(11*day+time.Hour).as("lead-9").add(schema.HoldPointData{Point: "HP0", Action: schema.ClosePoint}).
		on(5*day).typed(epoch.Add(11*day+2*time.Hour), schema.HoldPointData{Point: "HP2", Action: schema.ClosePoint}).
		on(12 * day).signed("lead-9")
	s.car("heron", "H2").open("1", 1).on(12*day + time.Second).signed("lead-9")
	all := s.answer(40*day, "roster")
	var rows []string
	for _, r := range all.Rows {
		if id := r.Cells[4]; r.Cells[6] == "" && r.Entries[0] != id {
			t.Errorf("rests on %v, and names %v", r.Entries, id)
		}
		rows = append(rows, fmt.Sprint(slices.Delete(slices.Clone(r.Cells), 4, 5)))
	}
	same(t, rows,
		"[2026-03-02T08:00:00Z lead-1 lead-1 added: lead false  ]",
		"[2026-03-12T08:00:00Z lead-1 lead-9 added: technician false  ]",
		"[2026-03-13T08:00:00Z lead-1 lead-9 roles: technician to lead true finch closed HP0; closed HP2; signed off]",
		"[2026-04-01T08:00:00Z lead-1 lead-9 key: revoke left false  ]")
}

// A closing of two that nobody confirmed is listed, also when it names somebody,
// when its own author confirmed it, and when who confirmed had not seen it; one
// that another person confirmed is not, nor a point of one person.
func TestOnePair(t *testing.T) {
	s := newShop(t)
	closed := func(id string) *book {
		return s.car(id, "").open("1", 1).add(schema.HoldPointData{Point: "HP5", Action: schema.ClosePoint, Second: "tech-2"})
	}
	c := closed("finch")
	c.as("tech-2").add(schema.ConfirmData{Entry: c.last}).as("tech-1").add(schema.HoldPointData{Point: "HP2", Action: schema.ClosePoint})
	closed("heron").signed("lead-1")
	c = closed("kite")
	c.add(schema.ConfirmData{Entry: c.last})
	c = closed("swift")
	c.as("tech-2").elsewhere("bay-3", 2, schema.ConfirmData{Entry: c.last})
	same(t, s.ask(day, "one-pair"),
		"heron||1|HP5|2026-03-02T08:00:00Z|tech-1|tech-2||2026-03-02",
		"kite||1|HP5|2026-03-02T08:00:00Z|tech-1|tech-2",
		"swift||1|HP5|2026-03-02T08:00:00Z|tech-1|tech-2")
}
