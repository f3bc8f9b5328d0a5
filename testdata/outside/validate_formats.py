"""Validates the frozen records against the embedded schemas with python3-jsonschema.

Another implementation than the one the program uses, so that the schemas mean
what JSON Schema 2020-12 says and not what one library makes of them. Each
record is also tried with something wrong, to see that the schema refuses it.
"""

import copy
import json
import pathlib
import sys

from jsonschema import Draft202012Validator, FormatChecker

ROOT = pathlib.Path(__file__).resolve().parents[2]


def read(path):
    with open(path, encoding="utf-8") as file:
        return json.load(file)


def validators(folder):
    """The validator of each kind of record, by its name."""
    found = {}
    for path in sorted(folder.glob("*.schema.json")):
        schema = read(path)
        Draft202012Validator.check_schema(schema)
        found[path.name.removesuffix(".schema.json")] = Draft202012Validator(
            schema, format_checker=FormatChecker()
        )
    return found


def spoiled(record):
    """Copies of a record with one thing wrong, and what that is."""

    def changed(what, change):
        other = copy.deepcopy(record)
        change(other)
        return what, other

    yield changed("an unknown field", lambda r: r.update(colour="red"))
    yield changed("no id", lambda r: r.pop("id"))
    yield changed("an unknown kind of record", lambda r: r.update(record="boat"))
    for i, entry in enumerate(record["entries"]):
        where = f"entry {i} ({entry['kind']})"
        yield changed(f"{where} without a person", lambda r: r["entries"][i].pop("by"))
        yield changed(f"{where} of an unknown kind", lambda r: r["entries"][i].update(kind="wish"))
        yield changed(f"{where} with an unknown datum", lambda r: r["entries"][i]["data"].update(colour="red"))


def complaints(path, by_kind):
    record = read(path)
    validator = by_kind.get(record.get("record"))
    if validator is None:
        return [f"no schema for a record of kind {record.get('record')!r}"]
    bad = [f"{error.json_path}: {error.message}" for error in validator.iter_errors(record)]
    if not record["entries"]:
        bad.append("has no entry, so it shows nothing")
    bad += [f"the schema accepts {what}" for what, other in spoiled(record) if validator.is_valid(other)]
    return bad


def main():
    failed = 0
    versions = sorted(path for path in (ROOT / "schema").glob("v[0-9]*") if path.is_dir())
    if not versions:
        sys.exit("formats: no folder schema/v*")
    for version in versions:
        by_kind = validators(version)
        records = sorted((ROOT / "testdata" / "formats" / version.name).glob("*.json"))
        if not by_kind or not records:
            sys.exit(f"formats: {version.name} has {len(by_kind)} schemas and {len(records)} frozen records")
        seen = set()
        for path in records:
            seen.add(read(path).get("record"))
            for complaint in complaints(path, by_kind):
                failed += 1
                print(f"formats: {path.relative_to(ROOT)}: {complaint}", file=sys.stderr)
        for kind in sorted(by_kind.keys() - seen):
            failed += 1
            print(f"formats: {version.name}: no frozen record of kind {kind}", file=sys.stderr)
        print(f"formats: {version.name}: {len(records)} records, {len(by_kind)} schemas")
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()
