"""Answers which value somebody wrote on car after car, from an exported shop."""
import collections, fractions, itertools

from shop import *  # noqa: F403

read = collections.defaultdict(list)  # by test, value, unit, gauge and number of decimals
for rid, es in cars.items():
    for e in es:
        if e["kind"] != "reading":
            continue
        for v in e["data"]["values"]:
            text = v.get("value", "")
            if v.get("gauge") and len(text.replace(".", "").replace("-", "").lstrip("0")) >= 3:
                decimals = len(text.partition(".")[2])
                read[e["data"]["test"], v["name"], v["unit"], v["gauge"]["gauge"], decimals].append((when(e["at"]), rid, text, e))

looked = sum(len(values) for values in read.values())
for (test, name, unit, gauge, _), values in read.items():
    values.sort(key=lambda v: v[:3])
    for by in {v[3]["by"] for v in values}:
        others = [v for v in values if v[3]["by"] != by]
        if len(others) < 20:
            continue
        for text, run in itertools.groupby((v for v in values if v[3]["by"] == by), key=lambda v: v[2]):
            run = list(run)
            count = len({rid for _, rid, _, _ in run})
            alike = sum(v[2] == text for v in others)
            chance = looked * fractions.Fraction(alike + 1, len(others) + 2) ** count
            if count >= 5 and chance <= fractions.Fraction(1, 100):
                row("same-values", "", [v[3]["entry"] for v in run], by, test + " " + name, text + " " + unit, gauge, count,
                    run[0][3]["at"][:10], run[-1][3]["at"][:10], len(others), round(100 * alike / len(others), 1), float("%.1e" % chance))
