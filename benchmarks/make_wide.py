#!/usr/bin/python3
"""Writes a wide file of invented spectra: make_wide.py COUNT FILE.

One wavelength column, 380-780 nm every 0.5 nm, and COUNT columns of smooth
bands with a few narrow lines, each with noise. The same file every time.
"""
import sys

import numpy as np

count, name = int(sys.argv[1]), sys.argv[2]
rng = np.random.default_rng(20190)
nm = np.arange(380, 780.25, 0.5)

values = np.empty((nm.size, count))
for c in range(count):
    s = np.zeros_like(nm)
    for _ in range(3):
        centre, width, height = rng.uniform(430, 680), rng.uniform(10, 60), rng.uniform(0.2, 1)
        s += height * np.exp(-0.5 * ((nm - centre) / width) ** 2)
    for _ in range(2):
        centre, height = rng.uniform(400, 700), rng.uniform(0, 2)
        s += height * np.exp(-0.5 * ((nm - centre) / 1.2) ** 2)
    values[:, c] = s + rng.normal(0, 0.002, nm.size)

with open(name, "w", encoding="ascii") as f:
    f.write("nm," + ",".join(f"s{c}" for c in range(count)) + "\n")
    for l, row in zip(nm, values):
        f.write(f"{l:.1f}," + ",".join(["%.5f" % v for v in row.tolist()]) + "\n")
