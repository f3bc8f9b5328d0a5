package signature

import (
	"fmt"
	"slices"

	"feedproof/schema"
)

// Kinds of entry that go together.
var (
	seen   = kinds(schema.NoteData{}, schema.CorrectData{}, schema.EvidenceData{}, schema.CautionData{}, schema.IncidentData{})
	hands  = kinds(schema.StepData{}, schema.ReadingData{}, schema.HoldPointData{}, schema.ConfirmData{}, schema.HoldData{}, schema.AcknowledgeData{})
	fuel   = kinds(schema.VehicleData{}, schema.VisitData{}, schema.FitData{}, schema.RemoveData{}, schema.DatalogData{})
	shelf  = kinds(schema.PartData{}, schema.ReceiptData{}, schema.QuarantineData{}, schema.GaugeData{}, schema.CalibrationData{}, schema.CheckData{})
	plan   = kinds(schema.PlanData{})
	bay    = kinds(schema.BayData{})
	answer = kinds(schema.WaiveData{}, schema.SignOffData{}, schema.LimitData{}, schema.PersonData{}, schema.KeyData{})
)

// table is which kinds of entry a role may sign: what a person of it may do alone, by the trade's table. Whose hands did it is the entry's
// own By: a technician may sign for the apprentice who held the light.
var table = map[schema.Role][]string{
	schema.Apprentice:     seen,
	schema.Technician:     slices.Concat(seen, hands, fuel, shelf, bay),
	schema.FuelTechnician: slices.Concat(seen, hands, fuel, shelf, bay, plan),
	schema.HotWork:        slices.Concat(seen, hands),
	schema.Tuner:          slices.Concat(seen, hands, plan, kinds(schema.DatalogData{})),
	schema.Stores:         slices.Concat(seen, shelf),
	schema.Lead:           slices.Concat(seen, hands, fuel, shelf, bay, plan, answer),
	schema.Auditor:        kinds(schema.NoteData{}),
}

// known is every kind of entry in the table.
var known = table[schema.Lead]

// ask is the order in which somebody is looked for who may.
var ask = []schema.Role{schema.Technician, schema.FuelTechnician, schema.Stores, schema.Tuner, schema.HotWork, schema.Lead}

// personal kinds are by the person who signs them: nobody waives or signs off for another.
var personal = kinds(schema.WaiveData{}, schema.SignOffData{})

func kinds(data ...schema.Data) []string {
	var names []string
	for _, d := range data {
		names = append(names, d.EntryKind())
	}
	return names
}

// May returns nil when the person may write entries of this kind now, or says what it takes.
func (r Roster) May(person, kind string) error {
	m, known := r.Member(person)
	switch {
	case !known:
		return fmt.Errorf("person %s: is not in this shop's roster", person)
	case !m.Active():
		return fmt.Errorf("person %s: has no key that counts", person)
	case slices.ContainsFunc(m.Roles, func(role schema.Role) bool { return allows(role, kind) }):
		return nil
	}
	for _, role := range ask {
		if allows(role, kind) {
			return fmt.Errorf("person %s: may not write a %s: it takes the role %s", person, kind, role)
		}
	}
	return fmt.Errorf("person %s: may not write a %s with the roles %v", person, kind, m.Roles)
}

// allows looks into the table. A kind that only a newer program knows is for that program to judge; an auditor writes none.
func allows(role schema.Role, kind string) bool {
	return slices.Contains(table[role], kind) || !slices.Contains(known, kind) && role != schema.Auditor
}

// MaySign returns nil when the signer may put this entry into a record, or says why not.
func (r Roster) MaySign(signer string, e schema.Entry) error {
	if err := r.May(signer, e.Kind); err != nil {
		return err
	}
	if slices.Contains(personal, e.Kind) && e.By != signer {
		return fmt.Errorf("person %s: may not sign a %s by %s: it is for that person alone", signer, e.Kind, e.By)
	}
	return nil
}
