package cli

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"feedproof/checklist/audit"
	"feedproof/records"
	"feedproof/schema"
)

// vehicle is a car of the shop: its record and draft together.
type vehicle struct {
	ID     string
	Data   schema.VehicleData
	Record schema.Record // as committed
	Draft  []schema.Entry
}

// whole is the record with the draft.
func (v vehicle) whole() schema.Record { return v.Record.With(v.Draft...) }

// car finds a car by name, plate, VIN or the start of one.
func (s *session) car(name string) (vehicle, error) {
	all, err := s.names()
	if err != nil {
		return vehicle{}, err
	}
	if len(all) == 0 {
		return vehicle{}, wrong(`feedproof vehicle add NAME --what "colour and body"`, "car %s: there is no car in this shop yet", name)
	}
	i, err := pick("car", name, all, func(n audit.Name) []string { return []string{n.Name, n.Plate, n.VIN, n.ID} })
	if err != nil {
		return vehicle{}, err
	}
	v, err := s.vehicle(all[i].ID)
	if err == nil {
		err = s.tellTorn(v)
	}
	return v, err
}

// names lists what every car of the shop is called, by name.
func (s *session) names() ([]audit.Name, error) {
	src, err := s.source()
	if err != nil {
		return nil, err
	}
	all, err := audit.Names(src)
	slices.SortFunc(all, func(a, b audit.Name) int { return cmp.Compare(fold(a.Name), fold(b.Name)) })
	return all, err
}

// vehicle reads a car with its draft.
func (s *session) vehicle(id string) (vehicle, error) {
	view, err := s.shop.View()
	if err != nil {
		return vehicle{}, err
	}
	return vehicleOf(view, id)
}

func vehicleOf(view records.View, id string) (vehicle, error) {
	r, draft, err := view.Vehicle(id)
	return vehicle{ID: r.ID, Data: identity(r.With(draft...)), Record: r, Draft: draft}, err
}

// cars reads every car of the shop.
func (s *session) cars() ([]vehicle, error) {
	return s.carsThat(func(audit.Name) bool { return true })
}

// present reads the cars that are in the shop as committed, and those with a
// draft on this machine.
func (s *session) present() ([]vehicle, error) {
	drafts, err := s.shop.Drafts()
	if err != nil {
		return nil, err
	}
	return s.carsThat(func(n audit.Name) bool { return n.Here || slices.Contains(drafts, n.ID) })
}

// carsThat reads the cars that are wanted, by name.
func (s *session) carsThat(which func(audit.Name) bool) ([]vehicle, error) {
	all, err := s.names()
	if err != nil {
		return nil, err
	}
	all = slices.DeleteFunc(all, func(n audit.Name) bool { return !which(n) })
	view, err := s.shop.View()
	if err != nil {
		return nil, err
	}
	told := told(s.Progress("reading car"))
	var cars []vehicle
	for i, n := range all {
		v, err := vehicleOf(view, n.ID)
		if err != nil {
			return nil, err
		}
		cars = append(cars, v)
		told(i+1, len(all))
	}
	return cars, nil
}

// told is a progress that nobody may be looking at.
func told(progress func(done, total int)) func(done, total int) {
	if progress == nil {
		return func(int, int) {}
	}
	return progress
}

// identity is what the record last said the car is.
func identity(r schema.Record) schema.VehicleData {
	var last schema.VehicleData
	for _, e := range r.Entries {
		if d, err := schema.Into[schema.VehicleData](e); err == nil {
			last = d
		}
	}
	return last
}

// tellTorn says what a power cut left of a draft: it was never acknowledged.
func (s *session) tellTorn(v vehicle) error {
	torn, err := s.shop.Torn(v.ID)
	if err != nil || len(torn) == 0 {
		return err
	}
	s.Warn("%s: the draft has %d broken line(s), as a power cut leaves them. They were never confirmed and do not count; %d entries are whole. Enter the fact again if it is missing.",
		v.Data.Name, len(torn), len(v.Draft))
	return nil
}

// pick finds the one of a list that a typed name means: exactly, else by a
// start that only one has. Two that match are both listed; for none the
// nearest names are.
func pick[T any](what, typed string, list []T, names func(T) []string) (int, error) {
	want := fold(typed)
	exact, starts := matches(list, names, func(n string) bool { return n == want }), []int(nil)
	if want != "" {
		starts = matches(list, names, func(n string) bool { return strings.HasPrefix(n, want) })
	}
	for _, found := range [][]int{exact, starts} {
		if len(found) == 1 {
			return found[0], nil
		}
		if len(found) > 1 {
			return 0, wrong("name it in full, or by plate or id", "%s %s: could be %s", what, typed, describeAll(list, found, names))
		}
	}
	return 0, wrong(nearest(typed, list, names), "%s %s: is not in this shop", what, typed)
}

func matches[T any](list []T, names func(T) []string, is func(string) bool) []int {
	var found []int
	for i, item := range list {
		if slices.ContainsFunc(names(item), func(n string) bool { return n != "" && is(fold(n)) }) {
			found = append(found, i)
		}
	}
	return found
}

// mostNamed bounds how many are named where more than one fits.
const mostNamed = 6

func describeAll[T any](list []T, found []int, names func(T) []string) string {
	var out []string
	for _, i := range found[:min(len(found), mostNamed)] {
		out = append(out, describe(names(list[i])))
	}
	if more := len(found) - mostNamed; more > 0 {
		out = append(out, fmt.Sprintf("one of %d more", more))
	}
	return strings.Join(out, " or ")
}

// describe names something by all its names: "Kestrel (plate KT 42)".
func describe(names []string) string {
	shown := slices.DeleteFunc(slices.Clone(names), func(n string) bool { return n == "" })
	if len(shown) < 2 {
		return strings.Join(shown, "")
	}
	return fmt.Sprintf("%s (%s)", shown[0], strings.Join(shown[1:], ", "))
}

// fold makes names equal that a tired person takes for equal.
func fold(name string) string {
	drop := func(r rune) rune {
		if strings.ContainsRune(" -_.", r) {
			return -1
		}
		return r
	}
	return strings.Map(drop, strings.ToLower(name))
}

// mostNear bounds how many names are offered.
const mostNear = 3

// nearest offers the names that are least typing away.
func nearest[T any](typed string, list []T, names func(T) []string) string {
	type near struct {
		name  string
		slips int
	}
	var all []near
	for _, item := range list {
		best := near{slips: 1 << 30}
		for _, n := range names(item) {
			if d := slips(fold(typed), fold(n)); n != "" && d < best.slips {
				best = near{n, d}
			}
		}
		all = append(all, best)
	}
	slices.SortStableFunc(all, func(a, b near) int { return cmp.Compare(a.slips, b.slips) })
	var out []string
	for _, n := range all[:min(len(all), mostNear)] {
		out = append(out, n.name)
	}
	if len(out) == 0 {
		return ""
	}
	return "one of these: " + strings.Join(out, ", ")
}

// slips is the edit distance of two names.
func slips(a, b string) int {
	x, y := []rune(a), []rune(b)
	row := make([]int, len(y)+1)
	for j := range row {
		row[j] = j
	}
	for i := range x {
		diagonal := row[0]
		row[0] = i + 1
		for j := range y {
			cost := diagonal
			if x[i] != y[j] {
				cost++
			}
			diagonal = row[j+1]
			row[j+1] = min(cost, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(y)]
}

// pickExact finds the one of a list that a typed id means: to the letter, else
// in any case where only one differs by it.
func pickExact[T any](what, typed string, list []T, id func(T) string) (int, error) {
	if i := slices.IndexFunc(list, func(t T) bool { return id(t) == typed }); i >= 0 {
		return i, nil
	}
	found := matches(list, func(t T) []string { return []string{id(t)} }, func(n string) bool { return n == fold(typed) })
	switch len(found) {
	case 1:
		return found[0], nil
	case 0:
		return 0, wrong(nearest(typed, list, func(t T) []string { return []string{id(t)} }), "%s %s: is not known", what, typed)
	}
	return 0, wrong("capitals matter here", "%s %s: could be %s", what, typed, describeAll(list, found, func(t T) []string { return []string{id(t)} }))
}

// spaced takes pump-2 for "pump 2".
func spaced(name string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return r == ' ' || r == '-' || r == '_' }), " ")
}
