// Package schemas writes the JSON Schemas of the record kinds from the
// structs of package schema and the comments behind their fields, so that the
// form of an entry kind and what it means stand in one place.
package schemas

import (
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"

	"feedproof/schema"
	"feedproof/schema/quantity"
)

// object is a JSON object; encoding/json sorts its keys, so output is stable.
type object = map[string]any

// Run writes the schemas of the written version into a folder beside the
// sources of package schema: run it there, as go generate does.
func Run(args []string, _ io.Writer) error {
	if len(args) != 1 {
		return fmt.Errorf("schemas: want the folder of the version, such as v1, got %q", args)
	}
	return run(args[0])
}

func run(folder string) error {
	said, err := readComments(".")
	if err != nil {
		return err
	}
	for _, kind := range schema.RecordKinds {
		text, err := json.MarshalIndent(recordSchema(kind, said), "", " ")
		if err != nil {
			return err
		}
		path := filepath.Join(folder, string(kind)+".schema.json")
		if err := os.WriteFile(path, append(text, '\n'), 0o644); err != nil {
			return err
		}
	}
	return nil
}

func recordSchema(kind schema.RecordKind, said comments) object {
	g := generator{defs: object{}, said: said}
	var names []string
	var branches []any
	for _, data := range schema.Kinds(kind) {
		names = append(names, data.EntryKind())
		branches = append(branches, object{
			"if":   object{"properties": object{"kind": object{"const": data.EntryKind()}}},
			"then": object{"properties": object{"data": g.of(reflect.TypeOf(data))}},
		})
	}
	g.defs["entry"] = object{
		"type": "object", "additionalProperties": false,
		"required": []string{"after", "at", "by", "counter", "data", "device", "entered", "id", "kind", "sig"},
		"properties": object{
			"at":      described(forms["time"], "when it happened, as claimed"),
			"entered": described(forms["time"], "when it was typed, by the clock of the device"),
			"by":      described(forms["id"], "id of the person"),
			"device":  described(forms["id"], "id of the machine it was typed on"),
			"id":      described(forms["id"], "id of the entry, unique in the shop"),
			"after":   object{"type": "array", "items": forms["id"], "uniqueItems": true, "maxItems": schema.MaxAfter, "description": "ids of the entries of this record that its writer had seen last, sorted"},
			"head":    object{"type": "string", "maxLength": 40, "pattern": schema.HeadPattern, "description": "commit that the view of its writer stood on; missing before the first"},
			"sig":     object{"type": "string", "maxLength": 200, "pattern": schema.SigPattern, "description": "the author's signature over shop, record, what was seen and this entry"},
			"counter": object{"type": "integer", "minimum": 1, "maximum": int64(schema.MaxCounter), "description": "one more than the highest among after"},
			"kind":    object{"enum": names}, "data": object{"type": "object"},
		},
		"allOf": branches,
	}
	return object{
		"$schema": "https://json-schema.org/draft/2020-12/schema",
		"title":   fmt.Sprintf("feedproof %s record, version %d", kind, schema.WrittenVersion),
		"type":    "object", "additionalProperties": false,
		"required": []string{"record", "version", "id", "entries"},
		"properties": object{
			"record": object{"const": kind}, "version": object{"const": schema.WrittenVersion}, "id": forms["id"],
			"entries": object{"type": "array", "items": object{"$ref": "#/$defs/entry"}},
		},
		"$defs": g.defs,
	}
}

// generator collects the definitions that the types of one record need.
type generator struct {
	defs object
	said comments
}

var (
	writtenType = reflect.TypeFor[quantity.Written]()
	number      = object{"type": "string", "pattern": `^[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)$`, "maxLength": 24}
	text        = object{"type": "string", "minLength": 1, "maxLength": 8000}
	numberMeans = "number, as it was written"
	unitMeans   = "unit of that number"
	states      = []string{schema.Unknown, schema.NotMeasured, schema.NotApplicable}
)

// forms are what a form tag stands for. Patterns say again what a format says,
// because validators need not check formats.
var forms = map[string]object{
	"blank":  {"type": "string", "maxLength": 8000},
	"number": number,
	"unit":   {"enum": readUnits()},
	"state":  {"enum": states},
	"id":     {"type": "string", "maxLength": 64, "pattern": schema.IDPattern},
	"sha256": {"type": "string", "maxLength": 64, "pattern": `^[0-9a-f]{64}$`},
	"date":   {"type": "string", "maxLength": 10, "format": "date", "pattern": `^[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$`},
	"time":   {"type": "string", "maxLength": 35, "format": "date-time", "pattern": schema.TimePattern},
}

func (g generator) of(t reflect.Type) any {
	if d, ok := dimension(t); ok {
		return g.quantity(d)
	}
	if v, ok := reflect.Zero(t).Interface().(interface{ Values() []string }); ok {
		return object{"enum": v.Values()}
	}
	switch {
	case t == writtenType:
		return g.written()
	case t == reflect.TypeFor[schema.Number]():
		return number
	case t.Kind() == reflect.Pointer:
		return g.of(t.Elem())
	case t.Kind() == reflect.Slice:
		return list(g.of(t.Elem()))
	case t.Kind() == reflect.Struct:
		return g.structure(t)
	case t.Kind() == reflect.String:
		return text
	case t == reflect.TypeFor[schema.Severity]():
		return object{"enum": severities()}
	case t.Kind() == reflect.Int, t.Kind() == reflect.Int64:
		return object{"type": "integer", "minimum": 0, "maximum": int64(schema.MaxCounter)}
	}
	panic("generate: no schema for " + t.String())
}

func severities() []string {
	var out []string
	for s := schema.OK; s <= schema.Stop; s++ {
		out = append(out, s.String())
	}
	return out
}

// dimension tells whether t is a schema.Q, and of what.
func dimension(t reflect.Type) (quantity.Dimension, bool) {
	if t.PkgPath() != reflect.TypeFor[schema.Entry]().PkgPath() || !strings.HasPrefix(t.Name(), "Q[") {
		return "", false
	}
	si, _ := t.MethodByName("SI")
	return reflect.Zero(si.Type.Out(0)).Interface().(interface{ Dimension() quantity.Dimension }).Dimension(), true
}

// quantity is a value with its unit or a state. It is told by if and then, so
// that an error names the field that is wrong.
func (g generator) quantity(d quantity.Dimension) any {
	name := strings.ReplaceAll(string(d), " ", "_")
	g.defs[name] = object{
		"type": "object", "additionalProperties": false,
		"properties": object{
			"value": described(number, numberMeans),
			"unit":  object{"enum": quantity.Spellings(d), "description": unitMeans},
			"why":   described(text, "why there is no number"),
			"state": object{"enum": states, "description": "said instead of a number"},
		},
		"if":   object{"required": []string{"state"}},
		"then": g.state(),
		"else": object{"required": []string{"value", "unit"}, "properties": object{"why": false}},
	}
	return object{"$ref": "#/$defs/" + name}
}

func (g generator) state() any {
	g.defs["no_value"] = object{
		"properties": object{"value": false, "unit": false},
		"if":         object{"properties": object{"state": object{"const": schema.Unknown}}},
		"else":       object{"required": []string{"why"}},
	}
	return object{"$ref": "#/$defs/no_value"}
}

// written is a value with its unit where the dimension depends on the instrument.
func (g generator) written() any {
	g.defs["written"] = object{
		"type": "object", "additionalProperties": false, "required": []string{"value", "unit"},
		"properties": object{"value": described(number, numberMeans), "unit": described(forms["unit"], unitMeans)},
	}
	return object{"$ref": "#/$defs/written"}
}

// readUnits lists every unit in which some test is read.
func readUnits() []string {
	units := map[string]bool{}
	for _, test := range schema.Readings {
		for _, value := range test.Values {
			for _, d := range value.Accepts {
				for _, spelling := range quantity.Spellings(d) {
					units[spelling] = true
				}
			}
		}
	}
	return slices.Sorted(maps.Keys(units))
}

func (g generator) structure(t reflect.Type) any {
	properties := object{}
	required := []string{}
	for i := range t.NumField() {
		f := t.Field(i)
		name, options, _ := strings.Cut(f.Tag.Get("json"), ",")
		if name == "" {
			panic(fmt.Sprintf("generate: %s.%s has no json tag", t, f.Name))
		}
		properties[name] = described(g.field(f), g.said.of(t.Name()+"."+f.Name))
		if options == "" {
			required = append(required, name)
		}
	}
	whole := object{"type": "object", "additionalProperties": false, "required": required, "properties": properties, "description": g.said.of(t.Name())}
	if _, top := reflect.Zero(t).Interface().(schema.Data); top {
		return whole
	}
	g.defs[t.Name()] = whole
	return object{"$ref": "#/$defs/" + t.Name()}
}

// field is the schema of a struct's field, by its form tag when it has one.
func (g generator) field(f reflect.StructField) any {
	tag, ok := f.Tag.Lookup("form")
	if !ok {
		return g.of(f.Type)
	}
	form, ok := forms[tag]
	if !ok {
		panic(fmt.Sprintf("generate: %s: %q is not a form", f.Name, tag))
	}
	if f.Type.Kind() == reflect.Slice {
		return list(form)
	}
	return form
}

func list(items any) object { return object{"type": "array", "maxItems": 1000, "items": items} }
