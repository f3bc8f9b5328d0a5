"""Answers the questions about hold points, hoses and what rules find: Q06, Q11,
Q12 and Q16. Of the rules it knows those on pressure before a joint is opened
(K05), leaks (K20), gas in the bay (K01) and cleaning certificates (X16), as
their pages have them: common practice, and 29 CFR 1910.146(b) for gas.
"""
import math, re

from shop import *  # noqa: F403

OPENS = {"b4": "pressure", "c6": "cut", "c7": "cut"}  # of the shipped steps that the invented shop does
STARTS = ("idle", "load", "supply", "hot restart")


def opened(entries):
    return [e for e in entries if e["kind"] == "step" and e["data"]["step"] in OPENS and e["data"]["state"] != "not applicable"]


def readings(entries, *tests):
    return [e for e in entries if e["kind"] == "reading" and e["data"]["test"] in tests]


def closings(entries):
    return [e for e in entries if e["kind"] == "holdpoint" and e["data"]["action"] == "close"]


# Q06: hold points that were closed late or out of order.
AFTER = {"HP6": "HP5", "HP7": "HP5", "HP8": "HP5", "HP9": "HP5"}


def guarded(point, entries):
    """The first act of a visit that a point guards, and what it is called."""
    acts = opened(entries)
    if point == "HP2":
        return acts[:1], "opening"
    if point == "HP3":
        return [e for e in acts if OPENS[e["data"]["step"]] == "cut"][:1], "cut"
    if point == "HP5":
        return [e for e in readings(entries, *STARTS) if acts and order(e) > order(acts[0])][:1], "start"
    return [], ""


for rid, vs in stays.items():
    for v in vs:
        done = set()
        for e in closings(v.entries):
            point = e["data"]["point"]
            act, name = guarded(point, v.entries)
            why, before = "", None
            if e["data"].get("late"):
                why = "late: " + e["data"]["late"]
            elif point in AFTER and AFTER[point] not in done:
                why = "before " + AFTER[point]
            elif act and point not in done and order(act[0]) < order(e):
                why, before = f"after the {name} that it guards", act[0]["entry"]
            done.add(point)
            if why:
                row("late-points", rid, [e["entry"], before], v.no, point, e["at"], e["by"], e["data"].get("second", ""), why)

# Q11: hoses that are old, or not known to stand ethanol where there is some.
papers = {rid: [e for e in es if e["kind"] == "part"][-1] for rid, es in parts.items() if any(e["kind"] == "part" for e in es)}
for rid, es in cars.items():
    plans = [e for e in es if e["kind"] == "plan"]
    most = number(plans[-1]["data"]["envelope"]["ethanol_max"]) if plans else 0
    blend = most is None or most > 10
    for fit, gone in fittings(es):
        paper = papers.get(fit["data"].get("part"))
        d = paper["data"] if paper else {}
        position = fit["data"]["position"]
        if gone or not (d.get("part") == "hose" or not d and ("hose" in position or "line" in position)):
            continue
        code = d.get("hose", {}).get("date_code", "")
        year = re.search(r"(?<!\d)(19[89]\d|20\d\d)(?!\d)", code)
        made = min(day(year[1] + "-12-31"), when(fit["at"])) if year else when(fit["at"])
        age = (NOW - made).total_seconds() / 86400 / 365.25
        why = ["10 years or older"] if age >= 10 else []
        if blend and d.get("ethanol") != "yes":
            why.append("ethanol car, and its papers do not say that it stands it")
        if why:
            row("hoses", rid, [fit["entry"], paper and paper["entry"]], position, fit["data"].get("part", ""), code if year else "fitted " + fit["at"][:10],
                math.floor(age * 10 + 0.5) / 10, d.get("ethanol", ""), "; ".join(why))

# Q12, of K05: the gauge must read zero in the visit before a joint is opened;
# judged again at each release.
for rid, vs in stays.items():
    for v in vs:
        if not v.release:
            continue
        seen = [e for e in v.entries if order(e) < order(v.release)]
        for e in opened(seen):
            if OPENS[e["data"]["step"]] != "pressure":
                continue
            assert not [r for r in readings(seen, "zero") if order(r) < order(e)], "the invented shop never reads zero before it opens a joint"
            tested = [r for r in readings(seen, "leak") if order(r) > order(e)]
            row(f"new-rules {rid}", rid, [v.release["entry"], e["entry"]], v.no, v.release["at"][:10], v.release["data"]["statement"]["rule_set"],
                "K05 pressure before opening " + e["data"]["joint"], "", "HOLD" if tested else "STOP", "no reading before it")

# Q16: STOPs of cars that are in the shop.
for rid, vs in stays.items():
    es = cars[rid]
    if not vs or vs[-1].close:
        continue

    def stop(e, finding, measured):
        row("stops", rid, [e["entry"]], finding, measured, (NOW.date() - when(e["at"]).date()).days, e["at"][:10])

    for e in (e for e in es if e["kind"] == "reading"):
        for wet in (x for x in e["data"]["values"] if x.get("seen") in ("damp", "wet", "smell")):
            if not any(order(r) > order(e) and any(x["name"] == wet["name"] and x.get("seen") == "dry" for x in r["data"]["values"])
                       and any(x["name"] == "pressure" and number(x) > 0.05 for x in r["data"]["values"]) for r in readings(es, "leak")):
                stop(e, "K20 leak at " + wet["name"], f"{wet['name']}: {wet['seen']}")
    gas, acts = readings(es, "gas")[-1:], opened(vs[-1].entries)
    if gas and (not acts or order(gas[0]) > order(acts[-1])):
        worst = max(number(x) * float(x.get("gauge", {}).get("factor", 2)) for x in gas[0]["data"]["values"] if x.get("unit") == "%LEL")
        if worst >= 5:
            stop(gas[0], "K01 gas in the bay", f"{worst:.1f} % LEL corrected")
    tank = [e for e in es if e["kind"] == "vehicle"][-1]["data"].get("tank")
    for e in vs[-1].entries:
        paper = e["data"].get("certificate") if e["kind"] == "caution" and e["data"]["caution"] == "K09" else None
        if paper and paper.get("tank") and tank and paper["tank"] != tank:
            stop(e, "X16 cleaning certificate", f"it is of {paper['tank']}, this is {tank}")
