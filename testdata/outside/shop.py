"""An exported shop as the other programs in this folder ask it: records without
what was taken back, visits, fittings. Nothing but Python's own library.
"""
import collections, datetime as dt, json, sys

UTC = dt.timezone.utc


def when(text):
    return dt.datetime.fromisoformat(text.replace("Z", "+00:00"))


def day(text):
    return dt.datetime.fromisoformat(text).replace(tzinfo=UTC)


def days(a, b):
    return (b.date() - a.date()).days


records = collections.defaultdict(list)
for line in open(sys.argv[1], encoding="utf-8"):
    e = json.loads(line)
    records[e["record_kind"], e["record"]].append(e)
NOW, LOT = when(sys.argv[2]), sys.argv[3]

for entries in records.values():
    entries.sort(key=lambda e: (e["counter"], e["entry"]))


def standing(entries):
    """Without what a correction took back; a correction taken back has no effect."""
    gone = set()
    for e in reversed(entries):
        if e["kind"] == "correct" and e["entry"] not in gone:
            gone.add(e["data"]["entry"])
    return [e for e in entries if e["entry"] not in gone]


def number(q, factor=1.0):
    return float(q["value"]) * factor if q and "value" in q else None


cars = {rid: standing(es) for (kind, rid), es in records.items() if kind == "vehicle"}
parts = {rid: standing(es) for (kind, rid), es in records.items() if kind == "part"}
gauges = {rid: es for (kind, rid), es in records.items() if kind == "gauge"}


class Visit:
    def __init__(self, e):
        self.no, self.open, self.close, self.entries, self.release = e["data"]["visit"], e, None, [e], None
        self.start = number(e["data"].get("odometer"))

    @property
    def end(self):
        out = number(self.close["data"].get("odometer")) if self.close else None
        return self.start if out is None else out

    @property
    def left(self):
        return when((self.close or self.release)["at"])

    def workers(self):
        who = []
        for e in self.entries:
            if e is self.release:
                break
            if e["kind"] in ("step", "fit", "remove", "reading", "datalog", "confirm") and e["by"] not in who:
                who.append(e["by"])
        return who


def visits(entries):
    out = []
    for e in entries:
        if e["kind"] == "visit" and e["data"]["action"] == "open":
            out.append(Visit(e))
            continue
        if not out:
            continue
        out[-1].entries.append(e)
        if e["kind"] == "visit":
            for v in out:
                if v.no == e["data"]["visit"]:
                    v.close = e
        if e["kind"] == "signoff":
            out[-1].release = e
    return out


stays = {rid: visits(es) for rid, es in cars.items()}


def order(e):
    return (e["counter"], e["entry"])


answers = collections.defaultdict(list)


def row(question, record, entries, *cells):
    answers[question].append([record, [e for e in entries if e], *cells])


def fittings(entries):
    """(fit entry, what ended it or None) for each fitting."""
    inside, out = {}, []
    for e in entries:
        if e["kind"] in ("fit", "remove"):
            position = e["data"]["position"]
            if position in inside:
                out[inside.pop(position)][1] = e
            if e["kind"] == "fit":
                inside[position] = len(out)
                out.append([e, None])
    return out
