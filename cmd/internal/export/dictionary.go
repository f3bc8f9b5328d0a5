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
	Table    string // file of the column, without .csv
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
		b := builder{defs: root.Defs, kind: name}
		t := table{name: string(kind) + "." + name}
		b.object(&t, nil, branch.Then.Properties["data"], true)
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
type builder struct {
	defs map[string]node
	kind string
}

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
func (b builder) object(t *table, path []string, n node, required bool) {
	n, _ = b.resolve(n)
	for _, name := range slices.Sorted(maps.Keys(n.Properties)) {
		at := append(slices.Clone(path), name)
		must := required && slices.Contains(n.Required, name)
		b.property(t, at, n.Properties[name], must)
	}
}

func (b builder) property(t *table, path []string, n node, required bool) {
	n, def := b.resolve(n)
	switch {
	case len(n.Properties) > 0:
		b.object(t, path, n, required && !isQuantity(n))
		if isQuantity(n) {
			for i := range t.columns {
				if c := &t.columns[i]; slices.Equal(c.path[:len(c.path)-1], path) && c.path[len(c.path)-1] == "unit" {
					c.Values = "a unit of " + strings.ReplaceAll(strings.Replace(def, "written", "any quantity", 1), "_", " ")
				}
			}
		}
	case n.Type == "array" && n.Items != nil:
		item, _ := b.resolve(*n.Items)
		if len(item.Properties) > 0 {
			c := child{path: path, table: table{name: t.name + "." + strings.Join(path, ".")}}
			b.object(&c.table, nil, item, true)
			t.children = append(t.children, c)
			return
		}
		b.column(t, path, item, "list, separated by |", required)
	default:
		b.column(t, path, n, typeOf(n), required)
	}
}

// isQuantity reports an object of value and unit.
func isQuantity(n node) bool {
	_, value := n.Properties["value"]
	_, unit := n.Properties["unit"]
	return value && unit && len(n.Properties) <= 4
}

func (b builder) column(t *table, path []string, n node, kind string, required bool) {
	name := strings.Join(path, ".")
	f := Field{Table: t.name, Column: name, Type: kind, Required: required, Personal: isPersonal(t.name, name), Means: meanings[t.name+" "+name]}
	var words []string
	for _, w := range n.Enum {
		words = append(words, fmt.Sprint(w))
	}
	const many = 20
	if len(words) <= many {
		f.Values = strings.Join(words, " | ")
	} else {
		f.Values = "a unit of the shop's unit table"
	}
	t.columns = append(t.columns, column{path, f})
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

// meanings say what a column's name does not.
var meanings = map[string]string{
	"vehicle.reading test":               "which test: feedproof explain TEST",
	"vehicle.reading.values name":        "which value of the test",
	"vehicle.reading.values gauge.due":   "calibration due date as it stood at the reading",
	"vehicle.holdpoint point":            "HP0 to HP11: feedproof explain HP5",
	"vehicle.waive expires":              "last day on which it holds",
	"vehicle.visit kinds":                "job kinds a to i",
	"vehicle.signoff statement.digest":   "SHA-256 over the bytes of the entries that were seen, in order, each with a line feed",
	"vehicle.signoff statement.rule_set": "version of the rules under which the car was judged",
	"vehicle.vehicle owner":              "a reference; names and addresses are not in the records",
	"vehicle.correct entry":              "the entry that was wrong; it stays",
}

// envelopeColumns stand before the fields of every entry.
var envelopeColumns = []Field{
	{Column: "record", Type: "text", Required: true, Means: "id of the record that the entry stands in"},
	{Column: "entry", Type: "text", Required: true, Means: "id of the entry, unique in the shop"},
	{Column: "counter", Type: "integer", Required: true, Means: "order: one more than the highest its writer had seen"},
	{Column: "at", Type: "date-time (RFC 3339)", Required: true, Means: "when it happened, as claimed"},
	{Column: "entered", Type: "date-time (RFC 3339)", Required: true, Means: "when it was typed, by the clock of the device"},
	{Column: "by", Type: "text", Required: true, Means: "person id"},
	{Column: "device", Type: "text", Required: true, Means: "device id"},
}

// listColumns stand before the fields of an object of a list.
var listColumns = []Field{
	{Column: "record", Type: "text", Required: true, Means: "id of the record"},
	{Column: "entry", Type: "text", Required: true, Means: "id of the entry that holds the list"},
	{Column: "place", Type: "integer", Required: true, Means: "place in the list, from 1"},
}

// Dictionary is every column of every table.
func Dictionary() ([]Field, error) {
	var out []Field
	for _, kind := range schema.RecordKinds {
		all, err := tables(kind)
		if err != nil {
			return nil, err
		}
		for _, name := range slices.Sorted(maps.Keys(all)) {
			t := all[name]
			out = append(out, t.fields(envelopeColumns)...)
			for _, c := range t.children {
				out = append(out, c.fields(listColumns)...)
			}
		}
	}
	return out, nil
}

func (t table) fields(first []Field) []Field {
	var out []Field
	for _, f := range first {
		f.Table = t.name
		out = append(out, f)
	}
	for _, c := range t.columns {
		out = append(out, c.Field)
	}
	for _, c := range t.children { // of a list in a list
		if first[2].Column == listColumns[2].Column {
			out = append(out, Field{Table: t.name, Column: strings.Join(c.path, "."), Type: "JSON"})
		}
	}
	return out
}
