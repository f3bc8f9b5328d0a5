// Command generate writes the JSON Schemas of the record kinds from the
// structs of package schema, so that an entry kind stands in one place.
package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"

	"feedproof/schema"
	"feedproof/schema/quantity"
)

// object is a JSON object; encoding/json sorts its keys, so output is stable.
type object = map[string]any

func main() {
	if err := run("v1"); err != nil {
		fmt.Fprintln(os.Stderr, "generate:", err)
		os.Exit(1)
	}
}

func run(folder string) error {
	for _, kind := range schema.RecordKinds {
		text, err := json.MarshalIndent(recordSchema(kind), "", " ")
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

func recordSchema(kind schema.RecordKind) object {
	g := generator{defs: object{}}
	var names []string
	var branches []any
	for _, data := range schema.Kinds(kind) {
		names = append(names, data.EntryKind())
		branches = append(branches, object{
			"if":   object{"properties": object{"kind": object{"const": data.EntryKind()}}},
			"then": object{"properties": object{"data": g.of(reflect.TypeOf(data))}},
		})
	}
	id := object{"type": "string", "pattern": `^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$`}
	moment := object{"type": "string", "format": "date-time", "maxLength": 35}
	g.defs["entry"] = object{
		"type": "object", "additionalProperties": false,
		"required": []string{"at", "by", "counter", "data", "device", "entered", "id", "kind"},
		"properties": object{
			"at": moment, "entered": moment, "by": id, "device": id, "id": id,
			"counter": object{"type": "integer", "minimum": 1, "maximum": 1 << 52},
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
			"record": object{"const": kind}, "version": object{"const": schema.WrittenVersion}, "id": id,
			"entries": object{"type": "array", "items": object{"$ref": "#/$defs/entry"}},
		},
		"$defs": g.defs,
	}
}

// generator collects the definitions that the types of one record need.
type generator struct{ defs object }

var (
	writtenType = reflect.TypeFor[quantity.Written]()
	number      = object{"type": "string", "pattern": `^[+-]?(\d+\.?\d*|\.\d+)$`, "maxLength": 24}
)

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
		return object{"type": "array", "maxItems": 1000, "items": g.of(t.Elem())}
	case t.Kind() == reflect.Struct:
		return g.structure(t)
	case t.Kind() == reflect.String:
		return object{"type": "string", "maxLength": 8000}
	case t == reflect.TypeFor[schema.Severity]():
		return object{"enum": severities()}
	case t.Kind() == reflect.Int, t.Kind() == reflect.Int64:
		return object{"type": "integer", "minimum": 0, "maximum": 1 << 52}
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

func (g generator) quantity(d quantity.Dimension) any {
	name := strings.ReplaceAll(string(d), " ", "_")
	g.defs[name] = object{"oneOf": []any{
		object{
			"type": "object", "additionalProperties": false, "required": []string{"value", "unit"},
			"properties": object{"value": number, "unit": object{"enum": quantity.Spellings(d)}},
		},
		g.state(),
	}}
	return object{"$ref": "#/$defs/" + name}
}

func (g generator) state() any {
	g.defs["no_value"] = object{"oneOf": []any{
		object{
			"type": "object", "additionalProperties": false, "required": []string{"state"},
			"properties": object{"state": object{"const": schema.Unknown}, "why": object{"type": "string", "maxLength": 8000}},
		},
		object{
			"type": "object", "additionalProperties": false, "required": []string{"state", "why"},
			"properties": object{
				"state": object{"enum": []string{schema.NotMeasured, schema.NotApplicable}},
				"why":   object{"type": "string", "minLength": 1, "maxLength": 8000},
			},
		},
	}}
	return object{"$ref": "#/$defs/no_value"}
}

func (g generator) written() any {
	g.defs["written"] = object{
		"type": "object", "additionalProperties": false, "required": []string{"value", "unit"},
		"properties": object{"value": number, "unit": object{"type": "string", "minLength": 1, "maxLength": 24}},
	}
	return object{"$ref": "#/$defs/written"}
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
		properties[name] = g.of(f.Type)
		if options == "" {
			required = append(required, name)
		}
	}
	if _, top := reflect.Zero(t).Interface().(schema.Data); top {
		return object{"type": "object", "additionalProperties": false, "required": required, "properties": properties}
	}
	g.defs[t.Name()] = object{"type": "object", "additionalProperties": false, "required": required, "properties": properties}
	return object{"$ref": "#/$defs/" + t.Name()}
}
