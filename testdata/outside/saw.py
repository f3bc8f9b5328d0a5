"""Says which entries of each record saw which, from the exported lines alone: one
is seen when it is reached through "after". Prints "record later earlier" for each
such pair and "record one other" with a tilde for two that did not see each other.
"""
import collections
import itertools
import json
import sys

records = collections.defaultdict(dict)
for line in sys.stdin:
    e = json.loads(line)
    records[e["record_kind"], e["record"]][e["entry"]] = e

for (_, record), entries in sorted(records.items()):
    saw = {}
    for id in sorted(entries, key=lambda id: (entries[id]["counter"], id)):
        saw[id] = set()
        for seen in entries[id]["after"]:
            saw[id] |= {seen} | saw[seen]
        highest = max((entries[seen]["counter"] for seen in entries[id]["after"]), default=0)
        if entries[id]["counter"] != highest + 1:
            sys.exit(f"{id}: counter {entries[id]['counter']} is not one more than {highest}")
    for one, other in itertools.permutations(sorted(entries), 2):
        if other in saw[one]:
            print(record, one, other)
        elif one < other and one not in saw[other]:
            print(record, one, "~", other)
