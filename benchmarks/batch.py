#!/usr/bin/python3
"""The same work as `lampassay assay WIDE --json`, by vectorised numpy.

batch.py FILE > results.jsonl

Reads a wide CSV file (one wavelength column, many spectra) and writes XYZ,
CCT, Duv, Ra, R1-R14, Rf, Rg and the hue-bin values of every spectrum as JSON
lines. It is the yardstick of docs/benchmarks.md: whole arrays everywhere, no
Python loop over spectra except to print, work in slices that fit the cache.
The formulas are those of CIE 15:2018, CIE 13.3-1995, CIE 224:2017 and
ANSI/IES TM-30-20, the tables this project's own.
"""
import json
import os
import sys

import numpy as np

DATA = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "light", "standards", "data")
C2 = 1.4388e-2


def table(name):
    with open(os.path.join(DATA, name + ".csv"), encoding="utf-8") as f:
        rows = [line for line in f if not line.startswith("#")]
    body = np.array([[float(v) for v in r.split(",")] for r in rows[1:]])
    return body[:, 0], body[:, 1:]


def read_wide(name):
    with open(name, "rb") as f:
        head = f.readline()
        text = f.read()
    columns = head.count(b",") + 1
    flat = np.fromstring(text.replace(b"\n", b","), dtype=float, sep=",")
    grid = flat.reshape(-1, columns)
    return grid[:, 0], grid[:, 1:]


def on_axis(nm, name):
    x, y = table(name)
    return np.stack([np.interp(nm, x, y[:, c], left=0, right=0) for c in range(y.shape[1])])


def trapezoid(nm):
    w = np.empty_like(nm)
    w[1:-1] = (nm[2:] - nm[:-2]) / 2
    w[0], w[-1] = (nm[1] - nm[0]) / 2, (nm[-1] - nm[-2]) / 2
    return w


def planck(nm, t):
    l = nm * 1e-9
    return (1e-9 / l) ** 5 * 1e20 / np.expm1(C2 / (l * t[:, None]))


def daylight_xy(t):
    x = np.where(
        t <= 7000,
        ((-4.6070e9 / t + 2.9678e6) / t + 99.11) / t + 0.244063,
        ((-2.0064e9 / t + 1.9018e6) / t + 247.48) / t + 0.237040,
    )
    return x, (-3 * x + 2.87) * x - 0.275


def daylight(nm, t, components):
    x, y = daylight_xy(t)
    m = 0.0241 + 0.2562 * x - 0.7341 * y
    m1 = (-1.3515 - 1.7703 * x + 5.9114 * y) / m
    m2 = (0.0300 - 31.4424 * x + 30.0717 * y) / m
    return components[0] + m1[:, None] * components[1] + m2[:, None] * components[2]


def uv(xyz):
    d = xyz[..., 0] + 15 * xyz[..., 1] + 3 * xyz[..., 2]
    return 4 * xyz[..., 0] / d, 6 * xyz[..., 1] / d


class Locus:
    """The Planckian locus, tabulated in mired; nearest point by table, then
    three Newton steps of the parabola through its neighbours."""

    def __init__(self):
        x, cmf = table("cie1931")
        self.mired = np.linspace(1, 1000, 4000)
        spd = planck(x, 1e6 / self.mired)
        self.u, self.v = uv(spd @ cmf)

    def cct(self, u, v):
        k = np.empty(u.size, dtype=int)
        for i in range(0, u.size, 500):
            s = slice(i, i + 500)
            k[s] = np.argmin((u[s, None] - self.u) ** 2 + (v[s, None] - self.v) ** 2, axis=1)
        k = np.clip(k, 1, self.mired.size - 2)
        d = [np.hypot(u - self.u[k + j], v - self.v[k + j]) ** 2 for j in (-1, 0, 1)]
        f = (d[0] - d[2]) / (2 * (d[0] - 2 * d[1] + d[2]))
        step = self.mired[1] - self.mired[0]
        m = self.mired[k] + f * step
        nu = self.u[k] + f * (self.u[k + 1] - self.u[k - 1]) / 2 + f * f * (self.u[k + 1] - 2 * self.u[k] + self.u[k - 1]) / 2
        nv = self.v[k] + f * (self.v[k + 1] - self.v[k - 1]) / 2 + f * f * (self.v[k + 1] - 2 * self.v[k] + self.v[k - 1]) / 2
        duv = np.hypot(u - nu, v - nv) * np.where(v > nv, 1, -1)
        return 1e6 / m, duv


def cri(test_white, test, ref_white, ref):
    """Arrays (n, 3) and (n, 14, 3)."""
    ut, vt = uv(test_white)
    ur, vr = uv(ref_white)
    us, vs = uv(test)
    wr_u, wr_v = uv(ref)

    def cd(u, v):
        return (4 - u - 10 * v) / v, (1.708 * v + 0.404 - 1.481 * u) / v

    cr, dr = cd(ur, vr)
    ct, dt = cd(ut, vt)
    ci, di = cd(us, vs)
    a, b = (cr / ct)[:, None] * ci, (dr / dt)[:, None] * di
    den = 16.518 + 1.481 * a - b
    ua, va = (10.872 + 0.404 * a - 4 * b) / den, 5.520 / den
    yt = 100 * test[..., 1] / test_white[:, 1, None]
    yr = 100 * ref[..., 1] / ref_white[:, 1, None]
    wt, wr = 25 * np.cbrt(yt) - 17, 25 * np.cbrt(yr) - 17
    du = 13 * wr * (wr_u - ur[:, None]) - 13 * wt * (ua - ur[:, None])
    dv = 13 * wr * (wr_v - vr[:, None]) - 13 * wt * (va - vr[:, None])
    return 100 - 4.6 * np.sqrt((wr - wt) ** 2 + du * du + dv * dv)


M02 = np.array([[0.7328, 0.4296, -0.1624], [-0.7036, 1.6975, 0.0061], [0.0030, 0.0136, 0.9834]])
HPE = np.array([[0.38971, 0.68898, -0.07868], [-0.22981, 1.18340, 0.04641], [0, 0, 1]])
TO_HPE = HPE @ np.linalg.inv(M02)


def ucs(white, xyz):
    """CAM02-UCS of (n, 99, 3) under (n, 3): La 100, Yb 20, average surround, D 1."""
    k = 1 / (5 * 100 + 1)
    fl = 0.2 * k**4 * 500 + 0.1 * (1 - k**4) ** 2 * 500 ** (1 / 3)
    n = 0.2
    nbb = 0.725 * (1 / n) ** 0.2
    z = 1.48 + np.sqrt(n)

    def compress(c):
        t = (fl * np.abs(c) / 100) ** 0.42
        return np.sign(c) * 400 * t / (t + 27.13) + 0.1

    rgb_w = white @ M02.T
    adapt = 100 / rgb_w
    p_w = compress(np.full((1, 3), 100.0) @ TO_HPE.T)
    p = compress(((xyz @ M02.T) * adapt[:, None, :]) @ TO_HPE.T)
    aw = (2 * p_w[..., 0] + p_w[..., 1] + p_w[..., 2] / 20 - 0.305) * nbb
    r, g, b = p[..., 0], p[..., 1], p[..., 2]
    ca, cb = r - 12 * g / 11 + b / 11, (r + g - 2 * b) / 9
    h = np.arctan2(cb, ca)
    e = 12500 / 13 * nbb * (np.cos(h + 2) + 3.8)
    big_a = (2 * r + g + b / 20 - 0.305) * nbb
    j = 100 * (big_a / aw) ** (0.69 * z)
    t = e * np.hypot(ca, cb) / (r + g + 21 * b / 20)
    m = t**0.9 * np.sqrt(j / 100) * (1.64 - 0.29**n) ** 0.73 * fl**0.25
    mp = np.log1p(0.0228 * m) / 0.0228
    return 1.7 * j / (1 + 0.007 * j), mp * np.cos(h), mp * np.sin(h)


def tm30(test_white, test, ref_white, ref):
    def scaled(white, samples):
        k = 100 / white[:, 1]
        return white * k[:, None], samples * k[:, None, None]

    jt, at, bt = ucs(*scaled(test_white, test))
    jr, ar, br = ucs(*scaled(ref_white, ref))
    de = np.sqrt((jt - jr) ** 2 + (at - ar) ** 2 + (bt - br) ** 2)

    def fidelity(d):
        return 10 * np.log1p(np.exp((100 - 6.73 * d) / 10))

    bins = np.floor(np.mod(np.arctan2(br, ar), 2 * np.pi) / (np.pi / 8)).astype(int) % 16
    onehot = (bins[..., None] == np.arange(16)).astype(float)
    count = np.maximum(onehot.sum(axis=1), 1)

    def mean(x):
        return np.einsum("ns,nsb->nb", x, onehot) / count

    mat, mbt, mar, mbr = mean(at), mean(bt), mean(ar), mean(br)

    def area(a, b):
        a2, b2 = np.roll(a, -1, axis=1), np.roll(b, -1, axis=1)
        return np.sum(a * b2 - a2 * b, axis=1)

    theta = (np.arange(16) + 0.5) * np.pi / 8
    chroma = np.hypot(mar, mbr)
    rcs = ((mat - mar) * np.cos(theta) + (mbt - mbr) * np.sin(theta)) / chroma
    rhs = (-(mat - mar) * np.sin(theta) + (mbt - mbr) * np.cos(theta)) / chroma
    return fidelity(de.mean(axis=1)), 100 * area(mat, mbt) / area(mar, mbr), fidelity(mean(de)), rcs, rhs


def main():
    nm, values = read_wide(sys.argv[1])
    w = trapezoid(nm)
    cmf2, cmf10 = on_axis(nm, "cie1931"), on_axis(nm, "cie1964")
    tcs, ces = on_axis(nm, "tcs"), on_axis(nm, "ces")
    components = on_axis(nm, "daylight")
    # Weights of every tristimulus value of every sample, as one matrix.
    whites = np.concatenate([cmf2, cmf10]) * w
    w_tcs = (tcs[:, None, :] * cmf2[None]).reshape(-1, nm.size) * w
    w_ces = (ces[:, None, :] * cmf10[None]).reshape(-1, nm.size) * w
    weights = np.concatenate([whites, w_tcs, w_ces]).T.copy()
    locus = Locus()
    y2 = (cmf2[1] * w)

    def split(x):
        n = x.shape[0]
        return x[:, :3], x[:, 3:6], x[:, 6:48].reshape(n, 14, 3), x[:, 48:].reshape(n, 99, 3)

    out = sys.stdout
    number = 0
    for start in range(0, values.shape[1], 250):
        s = values[:, start : start + 250].T
        white2, white10, t_tcs, t_ces = split(s @ weights)
        cct, duv = locus.cct(*uv(white2))
        pl, dl = planck(nm, cct), daylight(nm, np.maximum(cct, 4000), components)
        ref_cri = np.where((cct < 5000)[:, None], pl, dl)
        pl, dl = pl / (pl @ y2)[:, None], dl / (dl @ y2)[:, None]
        share = np.clip((cct - 4000) / 1000, 0, 1)[:, None]
        r2, _, r_tcs, _ = split(ref_cri @ weights)
        _, r10, _, r_ces = split((pl * (1 - share) + dl * share) @ weights)
        ri = cri(white2, t_tcs, r2, r_tcs)
        rf, rg, rfh, rcs, rhs = tm30(white10, t_ces, r10, r_ces)
        rows = np.column_stack([white2, cct, duv, ri[:, :8].mean(axis=1), rf, rg])
        for i, (row, a, b, c, d) in enumerate(zip(rows.tolist(), ri.tolist(), rfh.tolist(), rcs.tolist(), rhs.tolist())):
            out.write(json.dumps({"name": "s%d" % (start + i), "XYZ": row[:3], "cct": row[3], "duv": row[4], "ra": row[5],
                                  "rf": row[6], "rg": row[7], "r": a, "rf_h": b, "rcs_h": c, "rhs_h": d}))
            out.write("\n")
            number += 1
    print(f"{number} spectra", file=sys.stderr)


if __name__ == "__main__":
    main()
