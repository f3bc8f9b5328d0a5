package signature

import (
	"slices"
	"strings"
	"testing"

	"feedproof/schema"
)

// The trade's table of who may do what, written here a second time by hand: the kinds of entry that a person may sign.
//
//	apprentice       fetch, photograph, hold the light; opens no fuel connection
//	technician       replaces like for like outside the tank; does not plan
//	fuel technician  all fuel work, and its calculation
//	hot work         cuts, drills and welds: steps, readings and hold points, and fits nothing
//	tuner            loaded pulls and their logs; re-opens the plan for more power
//	stores           receives, quarantines, keeps gauges
//	lead             everything: waives, sets limits, releases, keeps the roster
//	auditor          reads, and opens a concern
//
// Common practice; the kinds that each line comes to are ours.
const whoMay = `
             apprentice technician fuel-technician hot-work tuner stores lead auditor
note         yes        yes        yes             yes      yes   yes    yes  yes
correct      yes        yes        yes             yes      yes   yes    yes  -
evidence     yes        yes        yes             yes      yes   yes    yes  -
caution      yes        yes        yes             yes      yes   yes    yes  -
incident     yes        yes        yes             yes      yes   yes    yes  -
vehicle      -          yes        yes             -        -     -      yes  -
visit        -          yes        yes             -        -     -      yes  -
fit          -          yes        yes             -        -     -      yes  -
remove       -          yes        yes             -        -     -      yes  -
step         -          yes        yes             yes      yes   -      yes  -
reading      -          yes        yes             yes      yes   -      yes  -
holdpoint    -          yes        yes             yes      yes   -      yes  -
confirm      -          yes        yes             yes      yes   -      yes  -
hold         -          yes        yes             yes      yes   -      yes  -
acknowledge  -          yes        yes             yes      yes   -      yes  -
datalog      -          yes        yes             -        yes   -      yes  -
plan         -          -          yes             -        yes   -      yes  -
part         -          yes        yes             -        -     yes    yes  -
receipt      -          yes        yes             -        -     yes    yes  -
quarantine   -          yes        yes             -        -     yes    yes  -
gauge        -          yes        yes             -        -     yes    yes  -
calibration  -          yes        yes             -        -     yes    yes  -
check        -          yes        yes             -        -     yes    yes  -
bay          -          yes        yes             -        -     -      yes  -
waive        -          -          -               -        -     -      yes  -
signoff      -          -          -               -        -     -      yes  -
limit        -          -          -               -        -     -      yes  -
person       -          -          -               -        -     -      yes  -
key          -          -          -               -        -     -      yes  -
`

func TestWhoMayWhat(t *testing.T) {
	lines := strings.Split(strings.TrimSpace(whoMay), "\n")
	roles := strings.Fields(lines[0])
	if len(roles) != len(schema.Role("").Values()) {
		t.Fatalf("the table has %d roles, the shop %d", len(roles), len(schema.Role("").Values()))
	}
	var listed []string
	for _, line := range lines[1:] {
		words := strings.Fields(line)
		kind := words[0]
		listed = append(listed, kind)
		for i, may := range words[1:] {
			role := schema.Role(strings.ReplaceAll(roles[i], "-", " "))
			roster := roleRoster(t, role)
			err := roster.May("somebody", kind)
			if (err == nil) != (may == "yes") {
				t.Errorf("a %s and a %s: %v, want %s", role, kind, err, may)
			}
			if err != nil && !strings.Contains(err.Error(), "it takes the role") {
				t.Errorf("a %s and a %s: %v does not say what it takes", role, kind, err)
			}
		}
	}
	for _, record := range schema.RecordKinds {
		for _, d := range schema.Kinds(record) {
			if !slices.Contains(listed, d.EntryKind()) {
				t.Errorf("kind %s is not in the table", d.EntryKind())
			}
		}
	}
}

// A person with two roles may do what either may.
func TestTwoRoles(t *testing.T) {
	roster := roleRoster(t, schema.Stores, schema.HotWork)
	for kind, may := range map[string]bool{"receipt": true, "step": true, "plan": false} {
		if err := roster.May("somebody", kind); (err == nil) != may {
			t.Errorf("%s: %v", kind, err)
		}
	}
}

// What only a newer program knows is carried along; an auditor writes none of it.
func TestKindOfANewerProgram(t *testing.T) {
	for role, may := range map[schema.Role]bool{schema.Technician: true, schema.Apprentice: true, schema.Auditor: false} {
		if err := roleRoster(t, role).May("somebody", "inspection"); (err == nil) != may {
			t.Errorf("%s: %v", role, err)
		}
	}
}

// roleRoster has one person, with these roles.
func roleRoster(t *testing.T, roles ...schema.Role) Roster {
	t.Helper()
	key, _, err := NewKey("", nil)
	if err != nil {
		t.Fatal(err)
	}
	e, err := schema.NewEntry(schema.Origin{By: "somebody", Device: "d", Counter: 1}, schema.PersonData{Person: "somebody", Name: "x", Roles: roles, Key: KeyLine(key.PublicKey())})
	if err != nil {
		t.Fatal(err)
	}
	return NewRoster(schema.NewRecord(schema.ShopRecord, "shop").With(e))
}
