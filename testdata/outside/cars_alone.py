"""Answers the questions about one car, Q03, Q10 and Q20, for every car of the
invented shop. Tolerances and alarms are those of the questions' pages: common
practice.
"""
import csv, hashlib, math, os, statistics

from shop import *  # noqa: F403

KPA = {"bar": 100, "psi": 6.894757293168361, "kPa": 1}  # NIST SP 811, appendix B
BAROMETER = 101.325  # kPa, standard atmosphere, ISO 2533


def say(q):
    return f"{q['value']} {q['unit']}" if q and "value" in q else (q or {}).get("state", "")


def tests(entries, name):
    return [e for e in entries if e["kind"] == "reading" and e["data"]["test"] == name]


def values(e, name):
    return [v for v in e["data"]["values"] if v["name"] == name and v.get("unit")]


def pressure(v):
    """A gauge pressure, bar; a vacuum lies below the barometer."""
    unit, *how = v["unit"].split()
    x = float(v["value"]) * KPA[unit] / 100
    return -x if how == ["vacuum"] else x


def barometer(e):
    q = e["data"].get("conditions", {}).get("barometer")
    return float(q["value"]) * KPA[q["unit"].split()[0]] if q and "value" in q else BAROMETER


def manifold(e, v):
    """A manifold pressure, kPa absolute."""
    if v["unit"].split()[1:] == ["abs"]:
        return float(v["value"]) * KPA[v["unit"].split()[0]]
    return pressure(v) * 100 + barometer(e)


def plain(e, v):
    return float(v["value"]) * {"min": 60}.get(v["unit"], 1)


# What is followed through the years: test, value, unit, how it is read.
QUANTITIES = {
    "base rail": ("base", "rail", "bar", lambda e, v: pressure(v)),
    "supply pump": ("supply", "pump", "V", plain),
    "load manifold": ("load", "manifold", "kPa abs", manifold),
    "load difference": ("load", "difference", "bar", None),
    "fuel temperature tank": ("fuel temperature", "tank", "degC", plain),
}


def points(e, quantity):
    """(written, value, gauge) of a reading."""
    test, name, _, read = QUANTITIES[quantity]
    if read:
        return [(say(v), read(e, v), v.get("gauge", {}).get("gauge", "")) for v in values(e, name)]
    return [(f"{say(r)} less {say(m)}", pressure(r) - (manifold(e, m) - barometer(e)) / 100, r.get("gauge", {}).get("gauge", ""))
            for r, m in zip(values(e, "rail"), values(e, "manifold"))]


def conditions(e):
    c = e["data"].get("conditions", {})
    told = [("hose", c.get("hose")), ("engine", c.get("engine")), ("", say(c.get("speed"))), ("fuel", say(c.get("fuel_level"))), ("ethanol", say(c.get("ethanol"))),
            ("fuel at", say(c.get("fuel_temperature"))), ("air at", say(c.get("air_temperature"))), ("barometer", say(c.get("barometer"))), ("charger", c.get("charger"))]
    return ", ".join(f"{name} {text}".strip() for name, text in told if text)


def visit_of(rid, e):
    found = [v for v in stays[rid] if order(v.open) <= order(e)]
    return found[-1].no if found else ""


def rounded(x, decimals):
    return math.floor(abs(x) * 10**decimals + 0.5) / 10**decimals * (1 if x >= 0 else -1)


def drifts(series):
    """The means of the last three visits each moved the same way."""
    visits = list(dict.fromkeys(no for no, _ in series))
    means = [statistics.fmean(x for no, x in series if no == v) for v in visits][-4:]
    steps = [0 if math.isclose(a, b, rel_tol=1e-9, abs_tol=1e-9) else b - a for a, b in zip(means, means[1:])]
    return len(steps) == 3 and (all(s > 0 for s in steps) or all(s < 0 for s in steps))


# Q10: one quantity through the years, and the line through it.
YEAR = 365.25 * 24 * 3600
for rid, es in cars.items():
    for q, (test, _, unit, _) in QUANTITIES.items():
        series = [(e, *p) for e in tests(es, test) for p in points(e, q)]
        for e, written, x, gauge in series:
            row(f"trend {rid} {q}", rid, [e["entry"]], visit_of(rid, e), e["at"], e["by"], written, rounded(x, 4), gauge, conditions(e))
        years = [(when(e["at"]) - when(series[0][0]["at"])).total_seconds() / YEAR for e, *_ in series]
        if years and max(years) * 365.25 >= 1:
            slope, begin = statistics.linear_regression(years, [x for _, _, x, _ in series])
            text = f"{q}: {round(slope, 9) + 0.0:+.3g} {unit} a year over {max(years):.1f} years, from {begin:.3g} to {begin + slope * max(years):.3g}"
            if drifts([(visit_of(rid, e), x) for e, _, x, _ in series]):
                text += "; it moved the same way on the last three visits"
            row(f"line {rid} {q}", rid, [], text)


# Q20: what the lead had seen at the release, and what had been typed by a day.
# The statement's digest is recomputed over the canonical bytes (RFC 8785) of the
# entries, with what is personal put back.
personal = collections.defaultdict(dict)
with open(os.path.join(os.path.dirname(sys.argv[1]), "personal", "personal.csv"), newline="", encoding="utf-8") as f:
    for r in csv.DictReader(f):
        personal[r["record"], r["entry"]][r["column"]] = r["value"]


def canonical(e):
    whole = {k: e[k] for k in ("after", "at", "by", "counter", "device", "entered", "head", "kind", "sig") if k in e} | {"id": e["entry"], "data": e["data"] | personal[e["record"], e["entry"]]}
    return json.dumps(whole, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()


KNOWN = "2021-06-30"
for (kind, rid), es in records.items():
    if kind != "vehicle":
        continue
    for e in es:
        if e["entered"] <= KNOWN + "T23:59:59Z":
            row(f"known-at {rid} {KNOWN}", rid, [e["entry"]], e["counter"], e["entered"], e["kind"])
    releases = [v.release for v in stays[rid] if v.release]
    if releases:
        seen = [e for e in es if order(e) < order(releases[-1])]
        statement = releases[-1]["data"]["statement"]
        digest = hashlib.sha256(b"".join(canonical(e) + b"\n" for e in seen)).hexdigest()
        if (digest, len(seen)) != (statement["digest"], statement["entries"]):
            sys.exit(f"{rid}: the statement says {statement['entries']} entries of {statement['digest']}, the export has {len(seen)} of {digest}")
        for e in seen:
            row(f"known-at {rid} release", rid, [e["entry"]], e["counter"], e["entered"], e["kind"])

# Q03: the last visit beside the one before.
RETESTS = {"pump": "winding, prime, leak-down, leak, load, supply, flow", "filter": "leak, filter, load", "regulator": "leak, slope, idle, leak-down, load; duty of the injectors",
           "injectors": "leak-down, leak, load; and the calibration", "feed line": "leak", "calibration": "plan, load", "envelope": "plan, load"}
ENVELOPE = [("power", "power"), ("manifold pressure", "manifold"), ("engine speed", "speed"), ("least ethanol", "ethanol_min"), ("most ethanol", "ethanol_max"),
            ("altitude", "altitude"), ("least fuel level", "fuel_level")]


def last(visit, test):
    found = tests(visit.entries, test)
    return found[-1] if found else None


def one(e, name, read=plain):
    found = values(e, name)
    return read(e, found[-1]) if found else None


def gauged(e, name):
    return one(e, name, lambda _, v: pressure(v))


def flow(e):
    return one(e, "volume") / one(e, "time") * 3600


def air(e):
    q = e["data"].get("conditions", {}).get("air_temperature")
    return float(q["value"]) if q else None


# what, test, unit of the change, unit of the value, decimals, tolerance, as text, value, what must be alike, alarm
COMPARED = [
    ("base pressure", "base", "bar", "bar", 2, 0.07, "0.07 bar", lambda e: gauged(e, "rail"), [], None),
    ("pressure difference under load", "load", "bar", "bar", 2, 0.05, "0.05 bar", lambda e: points(e, "load difference")[-1][1], [], None),
    ("volts at the pump under load", "supply", "V", "V", 1, 0.2, "0.2 V", lambda e: one(e, "pump"), [], None),
    ("pump current under load", "supply", "A", "A", 1, 0.1, "10 %", lambda e: one(e, "current"), [("volts", lambda e: one(e, "pump"), 0.2)], None),
    ("timed flow", "flow", "L/h", "L/h", 0, 0.05, "5 %", flow, [("pressure (bar)", lambda e: gauged(e, "pressure"), 0.1), ("volts", lambda e: one(e, "volts"), 0.2)],
     lambda a, b: b <= 0.9 * a * (1 + 1e-9) and "the pump gives 10 % less or worse: wear, strainer, volts"),
    ("lost in 5 min, pump off", "leak-down", "bar", "bar", 2, 0.15, "0.15 bar", lambda e: (gauged(e, "start") - gauged(e, "end")) * 300 / one(e, "time"), [], None),
    ("fuel temperature in the tank", "fuel temperature", "K", "degC", 0, 5, "5 K", lambda e: one(e, "tank"), [("air temperature", air, 5)], None),
    ("pressure drop of the filter", "filter", "bar", "bar", 2, math.inf, "", lambda e: gauged(e, "drop"), [],
     lambda a, b: a > 0 and b >= 2 * a * (1 - 1e-9) and "the filter's pressure drop has doubled: change it"),
]


def duty(visit):
    found = [(e, float(w["value"])) for e in visit.entries if e["kind"] == "datalog" for w in e["data"].get("worst", []) if w["name"] == "duty"]
    return found[-1] if found else (None, None)


def measured(a, b):
    """(what, entries, before, after, change, tolerance, say) of what both visits measured."""
    for what, test, unit, shown, digits, tolerance, text, of, alike, alarm in COMPARED:
        x, y = last(a, test), last(b, test)
        if x and y:
            yield compared(what, x, y, of(x), of(y), unit, shown, digits, tolerance, text, [(n, f(x), f(y), most) for n, f, most in alike], alarm)
    (x, was), (y, now) = duty(a), duty(b)
    if x and y:
        more = lambda p, q: q >= p + 5 - 1e-9 and "duty is up 5 points or more: pressure, ethanol, power, or a blocked injector"
        yield compared("highest duty in the log", x, y, was, now, "points", "%", 1, 3, "3 points", [], more)


def compared(what, x, y, was, now, unit, shown, digits, tolerance, text, alike, alarm):
    limit = tolerance * abs(was) if text.endswith(" %") else tolerance
    verdict = "same"
    if abs(now - was) > limit + 1e-9 * max(1, limit):
        verdict = "beyond"
    if alarm and alarm(was, now):
        verdict = "alarm: " + alarm(was, now)
    for name, p, q, most in reversed(alike):
        if abs(p - q) > most + 1e-9:
            verdict = f"not compared: {name} {p:.1f} then, {q:.1f} now"
    return what, [x["entry"], y["entry"]], f"{was:.{digits}f} {shown}", f"{now:.{digits}f} {shown}", f"{round(now - was, digits) + 0.0:+.{digits}f} {unit}", text, verdict


def changes(rid, a, b):
    """(what, entries, before, after) of what is no longer as it was."""
    named_as = lambda d: " ".join([d["part"], *d.get("serials", [])]) if d.get("part") else d["why_none"]
    new = lambda e: e and order(a.entries[-1]) < order(e) <= order(b.entries[-1])
    gone = {f["data"]["position"]: f for f, out in fittings(cars[rid]) if new(out)}
    for f, _ in fittings(cars[rid]):
        if new(f):
            position = f["data"]["position"]
            old = gone.pop(position, None)
            yield position, [old and old["entry"], f["entry"]], named_as(old["data"]) if old else "", named_as(f["data"])
    assert not gone, "the invented shop never takes out without putting in"
    plans = [e for e in b.entries if e["kind"] == "plan"]
    if a.release and plans:
        for what, field in ENVELOPE:
            was, now = say(a.release["data"]["statement"]["envelope"][field]), say(plans[-1]["data"]["envelope"][field])
            if was != now:
                yield "envelope: " + what, [a.release["entry"], plans[-1]["entry"]], was, now
    maps = [e for v in stays[rid] for e in v.entries if e["kind"] in ("plan", "datalog") and e["data"].get("map")]
    old, now = [e for e in maps if order(e) < order(b.open)], [e for e in maps if order(e) > order(b.open)]
    if now and (not old or old[-1]["data"]["map"] != now[-1]["data"]["map"]):
        yield "calibration", [old and old[-1]["entry"], now[-1]["entry"]], old[-1]["data"]["map"] if old else "", now[-1]["data"]["map"]
    was, now = a.open["data"].get("declared", {}), b.open["data"].get("declared", {})
    for what, field in [("power", "power"), ("boost", "boost"), ("manifold pressure", "manifold"), ("ethanol", "ethanol")]:
        if say(now.get(field)) not in ("", say(was.get(field))):
            yield "declared: " + what, [a.open["entry"], b.open["entry"]], say(was.get(field)), say(now.get(field))


def again(rid, a, b, changed, readings):
    """(what, entries, why) of what a returning car must have looked at again."""
    if not a.release:
        yield "everything", [a.open["entry"]], f"visit {a.no} ended without a sign-off: nothing is proven"
    else:
        d, limits = b.open["data"].get("declared", {}), a.release["data"]["statement"]["envelope"]
        boost = f"{number(d['boost'], 100) + BAROMETER:.1f} kPa abs" if d.get("boost") else ""
        for what, told, limit in [("power", say(d.get("power")), say(limits["power"])), ("manifold pressure", boost, say(limits["manifold"])), ("ethanol", say(d.get("ethanol")), say(limits["ethanol_max"]))]:
            if not told:
                yield "declared " + what, [b.open["entry"], a.release["entry"]], f"nothing was declared: ask; the envelope ends at {limit}"
            elif float(told.split()[0]) > float(limit.split()[0]):
                yield "declared " + what, [b.open["entry"], a.release["entry"]], f"{told}, and the envelope ends at {limit}: plan and test again before it is driven so"
        later = [e for e in cars[rid] if order(e) > order(a.release)]
        closed = [p for p in later if p["kind"] == "holdpoint" and p["data"]["point"] == "HP11" and p["data"]["action"] == "close"]
        if not closed or any(e["kind"] == "signoff" and e not in a.entries and order(e) < order(closed[0]) for e in later):
            yield "re-check HP11", [a.release["entry"]], f"not done since the release; due {a.release['data']['statement']['recheck']}: steps R1 to R7"
    for w in a.entries:
        if w["kind"] == "waive" and when(b.open["at"]) > day(w["data"]["expires"]) + dt.timedelta(days=1):
            yield "waived: " + " ".join(w["data"][k] for k in ("rule", "subject", "code")), [w["entry"]], "the waiver ended on " + w["data"]["expires"]
    for what, entries, was, now, _, text, verdict in readings:
        if verdict.startswith("alarm: "):
            yield what, entries, verdict[7:]
        elif verdict == "beyond":
            yield what, entries, f"{was}, then {now}: more than {text} apart"
    base = [(visit_of(rid, e), x, e) for e in tests(cars[rid], "base") for _, x, _ in points(e, "base rail")]
    if drifts([(no, x) for no, x, _ in base]):
        yield "base pressure", [base[-1][2]["entry"]], "it moved the same way on three visits in a row: regulator, gauge, return line"
    for what, entries, _, _ in changed:
        if what.split(":")[0] in RETESTS:
            yield "after the change of " + what, entries, RETESTS[what.split(":")[0]]


for rid, vs in stays.items():
    if len(vs) > 1:
        a, b = vs[-2:]
        changed, readings = list(changes(rid, a, b)), list(measured(a, b))
        for what, entries, was, now in changed:
            row(f"since {rid}", rid, entries, what, was, now, "", "", "changed")
        for what, entries, *cells in readings:
            row(f"since {rid}", rid, entries, what, *cells)
        for what, entries, why in again(rid, a, b, changed, readings):
            row(f"since {rid}", rid, entries, "again: " + what, "", "", "", "", why)
