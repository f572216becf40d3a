#!/usr/bin/python3
"""compare.py TIMES OURS NUMPY: the ratio of the median times, and the largest
differences between the two sets of figures."""
import json
import statistics
import sys

times = [[float(v) for v in line.split()] for line in open(sys.argv[1], encoding="ascii")]
ours, numpy = (statistics.median(t) for t in zip(*times))
print(f"median: lampassay {ours:.2f} s, numpy {numpy:.2f} s; numpy takes {numpy / ours:.1f} times as long")

worst = {}
count = 0
with open(sys.argv[2], encoding="utf-8") as a, open(sys.argv[3], encoding="utf-8") as b:
    for la, lb in zip(a, b, strict=True):
        q, n = json.loads(la)["quantities"], json.loads(lb)
        count += 1
        pairs = [(k, n[k]) for k in ("cct", "duv", "ra", "rf", "rg")]
        pairs += [(f"rf_h{i + 1}", v) for i, v in enumerate(n["rf_h"])]
        for key, v in pairs:
            value = q[key]["value"]
            # Far from white the two stop at different points: compare where a
            # CCT means something and the script has a figure.
            if value is None or v != v or abs(n["duv"]) > 0.02 or not 2000 < n["cct"] < 20000:
                continue
            name = "rf_h" if key.startswith("rf_h") else key
            d = abs(value - v) / (v if key == "cct" else 1)
            worst[name] = max(worst.get(name, 0), d)
print(f"{count} spectra; largest difference for 2000–20 000 K and |Duv| ≤ 0.02: "
      + ", ".join(f"{k} {v:.2g}" + (" (relative)" if k == "cct" else "") for k, v in worst.items()))
