// Package export writes records as plain tables that need no program of ours:
// JSON Lines, CSV (RFC 4180), a data dictionary and checksums.
//
// Start with [New]. The columns and the dictionary come from the JSON Schema
// of the records, so that a new field shows up by itself. What is personal is
// kept in a folder of its own, which can be left out or taken away. What is
// deliberately absent: reading records, and any judgement of them.
package export

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"

	"feedproof/schema"
)

// Field is a line of the data dictionary: a column of a table.
type Field struct {
	Table    string // file of the column, without .csv when it stands in csv/
	Column   string
	Type     string // text, number as text, integer, yes or no, list, JSON
	Values   string // the words it may be; a dimension's units
	Required bool
	Personal bool // stands in the personal folder
	Means    string
}

// table is a CSV file: the fields of an entry kind, or the objects of a list
// in it.
type table struct {
	name     string
	means    string
	first    []Field // columns before those of the data
	columns  []column
	children []child
}

// column is a field of the entry's data, by its path.
type column struct {
	path []string
	Field
}

// child is a list of objects in an entry, which is a table of its own.
type child struct {
	path []string
	table
}

// node is the part of a JSON Schema that a table needs.
type node struct {
	Ref        string          `json:"$ref"`
	Means      string          `json:"description"`
	Type       string          `json:"type"`
	Enum       []any           `json:"enum"`
	Const      any             `json:"const"`
	Pattern    string          `json:"pattern"`
	Format     string          `json:"format"`
	Properties map[string]node `json:"properties"`
	Required   []string        `json:"required"`
	Items      *node           `json:"items"`
	If         *node           `json:"if"`
	Then       *node           `json:"then"`
	AllOf      []node          `json:"allOf"`
	Defs       map[string]node `json:"$defs"`
}

// tables are the tables of a record kind, by entry kind, from its schema.
func tables(kind schema.RecordKind) (map[string]table, error) {
	text, err := schema.Schema(kind)
	if err != nil {
		return nil, err
	}
	var root node
	if err := json.Unmarshal(booleans(text), &root); err != nil {
		return nil, fmt.Errorf("schema of %s: %w", kind, err)
	}
	out := map[string]table{}
	for _, branch := range root.Defs["entry"].AllOf {
		if branch.If == nil || branch.Then == nil {
			continue
		}
		name, _ := branch.If.Properties["kind"].Const.(string)
		data := branch.Then.Properties["data"]
		b := builder{defs: root.Defs}
		t := table{name: string(kind) + "." + name, means: data.Means, first: envelope(root.Defs["entry"])}
		b.object(&t, place{required: true}, data)
		out[name] = t
	}
	if len(out) == 0 {
		return nil, fmt.Errorf("schema of %s: holds no entry kind", kind)
	}
	return out, nil
}

// booleans makes the schemas that are just true or false into objects.
func booleans(text []byte) []byte {
	var v any
	if json.Unmarshal(text, &v) != nil {
		return text
	}
	out, err := json.Marshal(withoutBooleans("", v))
	if err != nil {
		return text
	}
	return out
}

func withoutBooleans(key string, v any) any {
	switch x := v.(type) {
	case map[string]any:
		for k, y := range x {
			if _, is := y.(bool); is && key == "properties" {
				delete(x, k)
				continue
			}
			x[k] = withoutBooleans(k, y)
		}
	case []any:
		for i, y := range x {
			x[i] = withoutBooleans(key, y)
		}
	}
	return v
}

// builder makes the columns of one entry kind.
type builder struct{ defs map[string]node }

// place is where in the data of an entry a schema stands.
type place struct {
	path     []string
	means    []string // of the objects on the way and of what stands here
	required bool
}

// in is a property of the object that stands here.
func (p place) in(name string, object, property node) place {
	p.path = append(slices.Clone(p.path), name)
	if property.Means != "" {
		p.means = append(slices.Clone(p.means), property.Means)
	}
	p.required = p.required && slices.Contains(object.Required, name)
	return p
}

func (p place) name() string { return strings.Join(p.path, ".") }

// resolve follows a reference and says its name.
func (b builder) resolve(n node) (node, string) {
	name, is := strings.CutPrefix(n.Ref, "#/$defs/")
	if !is {
		return n, ""
	}
	return b.defs[name], name
}

// object adds the properties of an object to a table. What stands in an object
// that may be missing is not required.
func (b builder) object(t *table, at place, n node) {
	n, _ = b.resolve(n)
	for _, name := range slices.Sorted(maps.Keys(n.Properties)) {
		b.property(t, at.in(name, n, n.Properties[name]), n.Properties[name])
	}
}

func (b builder) property(t *table, at place, n node) {
	n, def := b.resolve(n)
	switch {
	case isQuantity(n):
		b.quantity(t, at, n, def)
	case len(n.Properties) > 0:
		b.object(t, at, n)
	case n.Type == "array" && n.Items != nil:
		item, _ := b.resolve(*n.Items)
		if len(item.Properties) > 0 {
			c := child{path: at.path, table: table{name: t.name + "." + at.name(), means: strings.Join(at.means, ": "), first: listColumns}}
			b.object(&c.table, place{required: true}, item)
			t.children = append(t.children, c)
			return
		}
		b.column(t, at, item, "list, separated by |")
	default:
		b.column(t, at, n, typeOf(n))
	}
}

// isQuantity reports an object of value and unit.
func isQuantity(n node) bool {
	_, value := n.Properties["value"]
	_, unit := n.Properties["unit"]
	return value && unit && len(n.Properties) <= 4
}

// quantity adds a number with its unit, of which either may be missing.
func (b builder) quantity(t *table, at place, n node, dimension string) {
	at.required = false
	b.object(t, at, n)
	unit := at.name() + ".unit"
	for i, c := range t.columns {
		if c.Column == unit {
			t.columns[i].Values = "a unit of " + strings.ReplaceAll(strings.Replace(dimension, "written", "any quantity", 1), "_", " ") + ", see " + unitsName
		}
	}
}

func (b builder) column(t *table, at place, n node, kind string) {
	name := at.name()
	if slices.ContainsFunc(t.first, func(f Field) bool { return f.Column == name }) {
		name = "data." + name // a correction's entry, beside its own
	}
	f := Field{Table: t.name, Column: name, Type: kind, Required: at.required, Personal: isPersonal(t.name, name), Means: strings.Join(at.means, ": ")}
	var words []string
	for _, w := range n.Enum {
		words = append(words, fmt.Sprint(w))
	}
	const many = 20
	if len(words) <= many {
		f.Values = strings.Join(words, " | ")
	} else {
		f.Values = "a unit, see " + unitsName
	}
	t.columns = append(t.columns, column{at.path, f})
}

func typeOf(n node) string {
	switch {
	case n.Type == "integer":
		return "integer"
	case n.Format != "":
		return n.Format + " (RFC 3339)"
	case strings.Contains(n.Pattern, `\.?[0-9]*`):
		return "number as it was written"
	case len(n.Enum) > 0:
		return "word"
	}
	return "text"
}

// personal fields say who somebody is, or are in a customer's own words.
var personal = []string{"vehicle.vehicle owner", "vehicle.visit words", "shop.person name", "shop.person initials"}

func isPersonal(table, column string) bool { return slices.Contains(personal, table+" "+column) }

// envelope are the columns that stand before the fields of every entry: the
// record, and what its schema says of all entries.
func envelope(entry node) []Field {
	out := []Field{recordColumn}
	for _, name := range []string{"id", "counter", "at", "entered", "by", "device"} {
		n := entry.Properties[name]
		out = append(out, Field{Column: strings.Replace(name, "id", "entry", 1), Type: typeOf(n), Required: true, Means: n.Means})
	}
	return out
}

var recordColumn = Field{Column: "record", Type: "text", Required: true, Means: "id of the record that the entry stands in"}

// listColumns stand before the fields of an object of a list.
var listColumns = []Field{
	recordColumn,
	{Column: "entry", Type: "text", Required: true, Means: "id of the entry that holds the list"},
	{Column: "place", Type: "integer", Required: true, Means: "place in the list, from 1"},
}

// personalColumns are those of the personal folder.
var personalColumns = []Field{
	{Column: "record_kind", Type: "word", Required: true, Means: "kind of that record"},
	recordColumn,
	{Column: "entry", Type: "text", Required: true, Means: "id of the entry that it was taken out of"},
	{Column: "table", Type: "text", Required: true, Means: "table that it was taken out of"},
	{Column: "column", Type: "text", Required: true, Means: "column that it was taken out of"},
	{Column: "value", Type: "text", Required: true, Personal: true, Means: "what stood there"},
}

// unitColumns are those of the unit table.
var unitColumns = []Field{
	{Column: "quantity", Type: "text", Required: true, Means: "what is measured; a gauge pressure is over the air outside, a difference between two places"},
	{Column: "unit", Type: "text", Required: true, Means: "as it may be written"},
	{Column: "si", Type: "text", Required: true, Means: "coherent unit of the SI"},
	{Column: "factor", Type: "number", Required: true, Means: "value in that unit = number as written x factor + offset"},
	{Column: "offset", Type: "number", Required: true, Means: "see factor"},
}

// lineFields are the members of a line of entries.jsonl that its columns do
// not have.
var lineFields = []Field{
	{Column: "record_kind", Type: "word", Values: "vehicle | shop | gauge | part", Required: true, Means: "kind of that record"},
	{Column: "kind", Type: "word", Required: true, Means: "kind of the entry; with the kind of its record the name of its table"},
	{Column: "data", Type: "JSON", Required: true, Means: "what was recorded: the columns of its table, the dots as objects in one another"},
	{Column: "left_out", Type: "JSON", Means: "personal fields that are not in data: they stand in the personal folder, if at all"},
}

// Dictionary is every column of every table and every member of a line.
func Dictionary() ([]Field, error) {
	var out []Field
	for i, kind := range schema.RecordKinds {
		all, err := tables(kind)
		if err != nil {
			return nil, err
		}
		for j, name := range slices.Sorted(maps.Keys(all)) {
			t := all[name]
			if i == 0 && j == 0 {
				out = append(out, in(linesName, append(slices.Clone(t.first), lineFields...))...)
			}
			out = append(out, t.fields(false)...)
			for _, c := range t.children {
				out = append(out, c.fields(true)...)
			}
		}
	}
	return append(append(out, in(personalName, personalColumns)...), in(unitsName, unitColumns)...), nil
}

// in are fields as those of one table.
func in(table string, fields []Field) []Field {
	out := slices.Clone(fields)
	for i := range out {
		out[i].Table = table
	}
	return out
}

func heads(fields []Field) []string {
	var out []string
	for _, f := range fields {
		out = append(out, f.Column)
	}
	return out
}

func (t table) fields(inList bool) []Field {
	out := in(t.name, t.first)
	for _, c := range t.columns {
		out = append(out, c.Field)
	}
	for _, c := range t.children {
		if inList {
			out = append(out, Field{Table: t.name, Column: strings.Join(c.path, "."), Type: "JSON", Means: c.means})
		}
	}
	return out
}
