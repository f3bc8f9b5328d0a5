"""Answers the auditor's questions from an exported shop, with nothing but
Python's own library: an independent path to the same rows.

usage: questions.py entries.jsonl NOW LOT   (NOW in RFC 3339)
prints {question: [[record, [entry, ...], cell, ...], ...]}
"""
import collections, json, sys

from shop import *  # noqa: F403

# Q01: a part or lot, now or ever.
lots = {}
for rid, es in parts.items():
    for e in es:
        if e["kind"] == "part":
            lots[rid] = e["data"]
named = {rid for rid, d in lots.items() if LOT.lower() in (rid.lower(), d.get("lot", "").lower(), d.get("serial", "").lower())}
for rid, es in cars.items():
    for fit, gone in fittings(es):
        d = fit["data"]
        if d.get("part") in named or LOT.lower() in [s.lower() for s in d.get("serials", [])]:
            row("lot", rid, [fit["entry"], gone and gone["entry"]], d["position"], d.get("part", ""), fit["at"][:10], gone["at"][:10] if gone else "")

# Q02: readings on a gauge past its date or found bad, and what rests on them alone.
events = {}
for gid, es in gauges.items():
    events[gid] = [(when(e["at"]), e["kind"] == "check" and e["data"]["result"] == "bad") for e in es
                   if e["kind"] == "calibration" or e["kind"] == "check" and e["data"]["check"] != "bump test"]


def gauge_trouble(e):
    for v in e["data"]["values"]:
        g = v.get("gauge")
        if not g or g["gauge"] not in events:
            continue
        at = when(e["at"])
        if not g.get("due") or at > day(g["due"]) + dt.timedelta(days=1):
            return g["gauge"]
        later = [bad for t, bad in events[g["gauge"]] if t > at]
        if later and later[0]:
            return g["gauge"]
    return None


POINT_TESTS = {"HP2": ["gas", "zero"], "HP3": ["gas"], "HP5": ["leak"]}  # of the shipped hold points that the invented shop closes
for rid, vs in stays.items():
    for v in vs:
        readings = [e for e in v.entries if e["kind"] == "reading"]
        for e in readings:
            gauge = gauge_trouble(e)
            if not gauge:
                continue
            alone, closings = [], []
            for p in v.entries:
                if p["kind"] != "holdpoint" or p["data"]["action"] != "close" or p["data"]["point"] not in POINT_TESTS:
                    continue
                test = e["data"]["test"]
                if test not in POINT_TESTS[p["data"]["point"]] or order(e) > order(p):
                    continue
                if not any(r["data"]["test"] == test and order(r) < order(p) and not gauge_trouble(r) for r in readings):
                    alone.append(p["data"]["point"])
                    closings.append(p["entry"])
            row("gauges", rid, [e["entry"], *closings], v.no, e["data"]["test"], gauge, " ".join(alone))

# Q04: waivers.
def reason(e):
    return " ".join(e["data"]["why"].split()).lower()


copied = collections.defaultdict(set)
for rid, es in cars.items():
    for e in es:
        if e["kind"] == "waive":
            copied[reason(e)].add(rid)
repeats = collections.Counter((e["by"], e["data"]["rule"]) for es in cars.values() for e in es if e["kind"] == "waive")
for rid, vs in stays.items():
    for v in vs:
        for e in v.entries:
            if e["kind"] == "waive":
                left = v.release if v.release and order(e) < order(v.release) else None
                active = NOW <= day(e["data"]["expires"]) + dt.timedelta(days=1)
                row("waivers", rid, [e["entry"], left and left["entry"]], e["data"]["expires"], "active" if active else "expired",
                    left["at"][:10] if left else "", repeats[e["by"], e["data"]["rule"]], len(copied[reason(e)]))

# Q05: re-checks due within 14 days, overdue, or driven too far; ethanol readings.
for rid, vs in stays.items():
    released = [i for i, v in enumerate(vs) if v.release]
    closed = [p for p in cars[rid] if p["kind"] == "holdpoint" and p["data"]["point"] == "HP11" and p["data"]["action"] == "close"]
    if released:
        i = released[-1]
        v = vs[i]
        due = v.release["data"]["statement"]["recheck"]
        late = days(day(due), NOW)
        km = vs[i + 1].start - v.end if i + 1 < len(vs) else None
        if not any(order(p) > order(v.release) for p in closed) and (late >= -14 or km is not None and km > 160):
            row("rechecks", rid, [v.release["entry"]], "re-check", due, late)
    plans = [e for e in cars[rid] if e["kind"] == "plan"]
    blend = plans and (number(plans[-1]["data"]["envelope"]["ethanol_max"]) or 100) > 10
    ethanol = [e for e in cars[rid] if e["kind"] == "reading" and e["data"]["test"] == "ethanol"]
    if blend and ethanol:
        due = when(ethanol[-1]["at"]) + dt.timedelta(days=183)
        if days(due, NOW) >= -14:
            row("rechecks", rid, [ethanol[-1]["entry"]], "ethanol reading", str(due.date()), days(due, NOW))

# Q07: signed by one who worked on it.
for rid, vs in stays.items():
    for v in vs:
        if v.release and v.release["by"] in v.workers():
            row("own-work", rid, [v.release["entry"]], v.no, v.release["by"], " ".join(v.workers()))

# Q08: declared beyond the envelope of the last sign-off.
for rid, vs in stays.items():
    declared, released = [v for v in vs if v.open["data"].get("declared")], [v for v in vs if v.release]
    if not declared or not released:
        continue
    v, under = declared[-1], released[-1]
    d, e = v.open["data"]["declared"], under.release["data"]["statement"]["envelope"]
    kpa = number(d.get("manifold")) or (number(d["boost"], 100) + 101.325 if d.get("boost") else None)
    for what, x, most in (("power", number(d.get("power")), number(e["power"])), ("manifold pressure", kpa, number(e["manifold"])), ("ethanol", number(d.get("ethanol")), number(e["ethanol_max"]))):
        if x is not None and most is not None and x > most + 1e-9:
            row("beyond-envelope", rid, [v.open["entry"], under.release["entry"]], v.no, what)

# Q09: tank cuts. The shipped steps that cut are c6 and c7.
for rid, es in cars.items():
    gas = paper = None
    for e in es:
        if e["kind"] == "reading" and e["data"]["test"] == "gas" and any(v["name"] == "tank" for v in e["data"]["values"]):
            gas = e
        if e["kind"] == "caution" and e["data"].get("certificate"):
            paper = e
        if e["kind"] == "step" and e["data"]["step"] in ("c6", "c7"):
            minutes = int((when(e["at"]) - when(gas["at"])).total_seconds() // 60) if gas else ""
            row("tank-cuts", rid, [e["entry"], gas and gas["entry"], paper and paper["entry"]], e["data"]["joint"], minutes)

# Q13: comebacks.
WET = ("wet", "damp", "smell")
for rid, vs in stays.items():
    for a, b in zip(vs, vs[1:]):
        if not a.release:
            continue
        leak = None
        for e in b.entries:
            if e["kind"] in ("step", "fit", "remove"):
                break
            if e["kind"] == "reading" and any(v.get("seen") in WET for v in e["data"]["values"]):
                leak = e
                break
        gap = days(a.left, when(b.open["at"]))
        rechecked = False
        for p in (e for e in cars[rid] if e["kind"] == "holdpoint" and e["data"]["point"] == "HP11" and order(e) > order(a.release)):
            rechecked = when(b.open["at"]) <= when(p["at"]) and (not b.close or when(p["at"]) <= when(b.close["at"]))
            break
        if leak or "comeback" in b.open["data"].get("reason", "").lower() or gap <= 90 and not rechecked:
            row("comebacks", rid, [a.release["entry"], b.open["entry"], leak and leak["entry"]], a.no, gap, b.start - a.end, bool(leak), " ".join(a.workers()))

# Q14: one file in two cars or visits.
files = collections.defaultdict(list)
for rid, vs in stays.items():
    for v in vs:
        for e in v.entries:
            if e["kind"] in ("datalog", "evidence"):
                files[e["data"]["sha256"]].append((rid, v.no, e))
for sha, places in files.items():
    if len({(rid, no) for rid, no, _ in places}) > 1:
        for rid, no, e in places:
            row("reused", rid, [e["entry"]], no, sha, len({(r, n) for r, n, _ in places}))

# Q15: written after the sign-off of its visit.
FREE = ("note", "visit", "evidence", "signoff", "incident", "correct")
for rid, vs in stays.items():
    for v in vs:
        for e in v.entries:
            if v.release and order(e) > order(v.release) and e["kind"] not in FREE and not (e["kind"] == "holdpoint" and e["data"]["point"] == "HP11"):
                row("edits", rid, [e["entry"], v.release["entry"]], v.no, e["kind"])

# Q17: fitted and never received, received and never fitted.
received = {rid: [e for e in es if e["kind"] == "receipt"] for rid, es in parts.items()}
used = set()
for rid, es in cars.items():
    for e in es:
        if e["kind"] == "fit":
            part = e["data"].get("part", "")
            used.add(part)
            if not received.get(part):
                row("receipts", rid, [e["entry"]], part, e["data"]["position"])
for rid, got in received.items():
    if got and rid not in used:
        row("receipts", rid, [e["entry"] for e in got], rid, "")

# Q18: gas without a bump test that day.
for rid, es in cars.items():
    for e in es:
        if e["kind"] != "reading" or e["data"]["test"] != "gas":
            continue
        for meter in dict.fromkeys(v["gauge"]["gauge"] for v in e["data"]["values"] if v.get("gauge")):
            bumps = [v["gauge"].get("bumped", "") for v in e["data"]["values"] if v.get("gauge", {}).get("gauge") == meter]
            if not all(b and b[:10] == e["at"][:10] and when(b) <= when(e["at"]) for b in bumps):
                row("bump", rid, [e["entry"]], meter)

# Q19: timed flow over the papers, where a point of the curve stands at that pressure and voltage.
for rid, es in cars.items():
    pump = None
    for e in es:
        if e["kind"] == "fit" and e["data"]["position"] == "pump":
            pump = e
        if e["kind"] == "remove" and e["data"]["position"] == "pump":
            pump = None
        if e["kind"] == "reading" and e["data"]["test"] == "flow" and pump and pump["data"].get("part") in named:
            v = {x["name"]: float(x["value"]) for x in e["data"]["values"]}
            curve = {(float(p["pressure"]["value"]), float(p["voltage"]["value"])): float(p["flow"]["value"]) for p in lots[pump["data"]["part"]]["pump"]["curve"]}
            litres = v["volume"] / v["time"] * 3600
            row("flow-ratio", rid, [e["entry"], pump["entry"]], round(litres / curve[v["pressure"], v["volts"]], 3))

import cars_alone, rules_alone, values_alone  # noqa: E402, F401  they answer as they are read

json.dump(answers, sys.stdout)
