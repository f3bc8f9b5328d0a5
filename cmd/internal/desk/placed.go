package desk

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"feedproof/checklist"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/places"
)

// placed is a fact about a car with its places and joints by the names that
// rules know, whatever words were typed for them. What is no place or joint is
// refused with the nearest, and so is a part that does not go there.
func (d *Desk) placed(c Car, data schema.Data) (schema.Data, error) {
	switch f := data.(type) {
	case schema.FitData:
		return d.fitting(f)
	case schema.RemoveData:
		_, name, err := places.Find(f.Position)
		f.Position = name
		return f, unplaced(err)
	case schema.StepData:
		err := name(&f.Joint)
		return f, err
	case schema.CautionData:
		if f.Caution != leakCaution {
			return f, nil
		}
		err := name(&f.Where)
		return f, err
	case schema.ReadingData:
		return d.looked(c, f)
	}
	return data, nil
}

// leakCaution is the caution that names a joint.
const leakCaution = "K20"

// name writes a joint by its name, if one is said.
func name(joint *string) error {
	if *joint == "" {
		return nil
	}
	found, err := places.FindJoint(*joint)
	*joint = found
	return unplaced(err)
}

// fitting is a part that goes into a place that takes its kind.
func (d *Desk) fitting(f schema.FitData) (schema.Data, error) {
	place, name, err := places.Find(f.Position)
	if err != nil {
		return f, unplaced(err)
	}
	f.Position, f.Joins = name, slices.Clone(f.Joins)
	for i, j := range f.Joins {
		if j.Position == "" {
			continue
		}
		if _, f.Joins[i].Position, err = places.Find(j.Position); err != nil {
			return f, unplaced(err)
		}
	}
	if f.Part == "" {
		return f, nil
	}
	lot, err := d.Part(f.Part)
	if err != nil {
		return f, err
	}
	if !place.Takes(lot.Data.Part) {
		return f, &Error{Kind: Refused, Thing: lot.ID, Wrong: fmt.Sprintf("is a %s; the place %s does not take one", lot.Data.Part, name),
			Mend: "fit it in one of: " + strings.Join(places.Taking(lot.Data.Part), ", ")}
	}
	return f, nil
}

// allJoints stands in a leak test for each joint that was opened in the visit.
const allJoints = "all"

// looked is a leak test with its joints by name, each once.
func (d *Desk) looked(c Car, r schema.ReadingData) (schema.Data, error) {
	test, ok := schema.FindReading(r.Test)
	if !ok || !test.Joints {
		return r, nil
	}
	var values []schema.Value
	for _, v := range r.Values {
		if own := func(t schema.ReadingValue) bool { return t.Name == v.Name }; v.Seen == "" || slices.ContainsFunc(test.Values, own) {
			values = append(values, v)
			continue
		}
		names, err := d.jointsOf(c, v.Name)
		if err != nil {
			return r, err
		}
		for _, name := range names {
			if slices.ContainsFunc(values, func(o schema.Value) bool { return o.Name == name && o.Seen != v.Seen }) {
				return r, usage("say once how it is: "+name+"=dry", name, "stands twice, and not the same")
			}
			one := v
			if one.Name = name; !slices.ContainsFunc(values, func(o schema.Value) bool { return o.Name == name }) {
				values = append(values, one)
			}
		}
	}
	r.Values = values
	return r, nil
}

func (d *Desk) jointsOf(c Car, typed string) ([]string, error) {
	if typed != allJoints {
		name, err := places.FindJoint(typed)
		return []string{name}, unplaced(err)
	}
	a, err := d.Assess(c)
	if err != nil {
		return nil, err
	}
	if names := openedIn(a); len(names) > 0 {
		return names, nil
	}
	return nil, usage("name each joint that you looked at: rail inlet=dry", "all", "no joint was opened in this visit")
}

// openedIn are the joints that were opened in the visit, or earlier and not
// shown dry since.
func openedIn(a checklist.Assessment) []string {
	var names []string
	add := func(o state.Opening) {
		if name, err := places.FindJoint(o.Joint); err == nil && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	for _, o := range append(a.Car.Untested(), a.Car.VisitOpenings()...) {
		add(o)
	}
	return names
}

func unplaced(err error) error {
	var unknown *places.UnknownError
	if !errors.As(err, &unknown) {
		return err
	}
	return &Error{Kind: Usage, Thing: unknown.What + " " + Quoted(unknown.Typed), Wrong: "is no " + unknown.What + " of a fuel system", Mend: "one of these: " + strings.Join(unknown.Nearest, ", ")}
}
