package checklist_test

import (
	"slices"
	"strconv"
	"strings"
)

func (s *situation) apply(t helper, edits ...edit) {
	t.Helper()
	for _, e := range edits {
		list := s.list(t, e)
		if e.Add != nil {
			*list = insert(t, *list, e.Add, e.After)
			if c := confirming(e.Add); c != nil {
				*list = insert(t, *list, c, e.Add.Name)
			}
			continue
		}
		i := find(t, *list, e.name())
		if e.Remove {
			*list = slices.Delete(*list, i, i+1)
			continue
		}
		(*list)[i] = (*list)[i].copied()
		(*list)[i].change(t, e)
	}
}

// name is the entry that is meant: of a part or gauge its description, unless
// another is named.
func (e edit) name() string {
	switch {
	case e.Entry != "":
		return e.Entry
	case e.Part != "":
		return "part"
	case e.Gauge != "":
		return "gauge"
	}
	return ""
}

// list is the entries that an edit is about.
func (s *situation) list(t helper, e edit) *[]*compact {
	t.Helper()
	records, id := s.parts, e.Part
	switch {
	case e.Shop:
		return &s.shop
	case e.Part == "" && e.Gauge == "":
		return &s.entries
	case e.Gauge != "":
		records, id, s.origin = s.gauges, e.Gauge, nil
	}
	if records[id] == nil {
		if e.Add == nil {
			t.Fatalf("edit: there is no %q", id)
		}
		records[id] = &[]*compact{}
	}
	return records[id]
}

func find(t helper, list []*compact, name string) int {
	t.Helper()
	i := slices.IndexFunc(list, func(c *compact) bool { return c.Name == name })
	if i < 0 {
		t.Fatalf("edit: there is no entry %q", name)
	}
	return i
}

func insert(t helper, list []*compact, c *compact, after string) []*compact {
	t.Helper()
	i := len(list)
	if after != "" {
		i = find(t, list, after) + 1
	}
	if i < len(list) && list[i].Name == after+" confirmed" && c.Name != list[i].Name { // it was confirmed at once
		i++
	}
	return slices.Insert(list, i, c.copied()) // a later edit may change it
}

// change sets and unsets fields of the entry's data, its time and its writer.
func (c *compact) change(t helper, e edit) {
	t.Helper()
	if e.At != "" {
		c.At = e.At
	}
	if e.By != "" {
		c.By = e.By
	}
	if e.Counter != 0 {
		c.Counter = e.Counter
	}
	for pointer, value := range e.Set {
		set(t, c.Data, pointer, copied(value))
	}
	for _, pointer := range e.Unset {
		parent, last := walk(t, c.Data, pointer)
		object, ok := parent.(map[string]any)
		if _, there := object[last]; !ok || !there {
			t.Fatalf("unset %s: there is nothing", pointer)
		}
		delete(object, last)
	}
}

func set(t helper, data any, pointer string, value any) {
	t.Helper()
	parent, last := walk(t, data, pointer)
	switch p := parent.(type) {
	case map[string]any:
		p[last] = value
	case []any:
		p[element(t, p, last)] = value
	default:
		t.Fatalf("set %s: leads through what holds nothing", pointer)
	}
}

// walk follows a JSON pointer (RFC 6901) to the parent of its last part. In a
// list of named values the name may stand for the index.
func walk(t helper, at any, pointer string) (parent any, last string) {
	t.Helper()
	parts := strings.Split(pointer, "/")
	if len(parts) < 2 || parts[0] != "" {
		t.Fatalf("pointer %q: does not begin with /", pointer)
	}
	for _, p := range parts[1 : len(parts)-1] {
		switch o := at.(type) {
		case map[string]any:
			at = o[p]
		case []any:
			at = o[element(t, o, p)]
		default:
			t.Fatalf("pointer %s: %q leads nowhere", pointer, p)
		}
	}
	return at, parts[len(parts)-1]
}

func element(t helper, list []any, name string) int {
	t.Helper()
	if i, err := strconv.Atoi(name); err == nil && i >= 0 && i < len(list) {
		return i
	}
	i := slices.IndexFunc(list, func(e any) bool {
		o, ok := e.(map[string]any)
		return ok && o["name"] == name
	})
	if i < 0 {
		t.Fatalf("pointer: no element %q", name)
	}
	return i
}

// confirming is what the second person writes at once that an added closing or
// step names.
func confirming(c *compact) *compact {
	second, named := c.Data["second"].(string)
	if !named || c.Kind != "holdpoint" && c.Kind != "step" || second == c.By || c.Unconfirmed {
		return nil
	}
	return &compact{Name: c.Name + " confirmed", Kind: "confirm", By: second, At: c.At, Entered: c.Entered, Device: c.Device,
		Data: map[string]any{"entry": entryID(c.Name), "saw": "looked at it myself"}}
}
