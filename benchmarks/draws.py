#!/usr/bin/python3
"""The same draws as `lampassay assay LAMP --draws N`, by vectorised numpy.

draws.py lamp FILE              writes an invented lamp, 2048 samples
draws.py draw FILE N [WIDE]     draws N times; writes mean and u of each figure
                                as JSON, and the first drawn spectra to WIDE
draws.py compare NUMPY OURS WIDE.jsonl TIMES
                                the two runs against each other

Whole arrays everywhere: pixel noise, response with correlated errors, the
temperature of the reference lamp, stray light and dark level on the samples;
one matrix for projection, both observers and every test sample; wavelength
offset, stretch and bandwidth on the whole nanometres. The inputs are those of
the class "compact" in docs/method/uncertainty.md.
"""
import json
import statistics
import sys

import numpy as np

from batch import C2, cri, daylight_xy, table, tm30, uv

GRID = np.arange(200, 1401.0)
BLOCK = 250
KEPT = 40  # drawn spectra that are written down for comparison
KEYS = ["x", "y", "cct", "duv", "ra", "rf", "rg"]


def lamp(name):
    i = np.arange(2048.0)
    nm = 338 + 0.27 * i - 6e-6 * i * i
    s = np.zeros_like(nm)
    for centre, fwhm, area in [(452, 20, 20), (545, 90, 42), (610, 100, 46), (435.8, 2, 1.5), (546.1, 2, 2)]:
        s += area / fwhm * np.exp(-4 * np.log(2) * ((nm - centre) / fwhm) ** 2)
    with open(name, "w", encoding="ascii") as f:
        f.write("wavelength (nm),relative power\n")
        f.writelines(f"{float(l)!r},{float(v)!r}\n" for l, v in zip(nm, s))


def sprague(y):
    """A 5 nm table at 1 nm, CIE 167:2005."""
    near, far = np.array([508, -540, 488, -367, 144, -24]) / 209, np.array([884, -1960, 3033, -2648, 1080, -180]) / 209
    y = np.concatenate([[far @ y[:6], near @ y[:6]], y, [near @ y[::-1][:6], far @ y[::-1][:6]]])
    m2, m1, z, p1, p2, p3 = (y[k : y.size - 5 + k] for k in range(6))
    a = [
        (2 * m2 - 16 * m1 + 16 * p1 - 2 * p2) / 24,
        (-m2 + 16 * m1 - 30 * z + 16 * p1 - p2) / 24,
        (-9 * m2 + 39 * m1 - 70 * z + 66 * p1 - 33 * p2 + 7 * p3) / 24,
        (13 * m2 - 64 * m1 + 126 * z - 124 * p1 + 61 * p2 - 12 * p3) / 24,
        (-5 * m2 + 25 * m1 - 50 * z + 50 * p1 - 25 * p2 + 5 * p3) / 24,
    ]
    f = (np.arange(5) / 5)[None]
    inside = z[:, None] + f * (a[0][:, None] + f * (a[1][:, None] + f * (a[2][:, None] + f * (a[3][:, None] + f * a[4][:, None]))))
    return np.concatenate([inside.ravel(), y[-3:-2]])


def observer(name):
    x, y = table(name)
    columns = [sprague(c) if x[1] - x[0] == 5 else c for c in y.T]
    return np.stack([np.interp(GRID, np.arange(x[0], x[-1] + 1), c, left=0, right=0) for c in columns])


def at_grid(name):
    x, y = table(name)
    return np.stack([np.interp(GRID, x, c, left=0, right=0) for c in y.T])


def projection(nm):
    """The integral of a curve, straight between samples, times each hat."""
    p = np.zeros((nm.size, GRID.size))
    edges = np.union1d(nm, GRID[(GRID > nm[0]) & (GRID < nm[-1])])
    for a, b in zip(edges[:-1], edges[1:]):
        k = np.searchsorted(nm, (a + b) / 2) - 1
        g = int(np.floor((a + b) / 2 - GRID[0]))
        for l, w in ((a, 1), ((a + b) / 2, 4), (b, 1)):
            w *= (b - a) / 6
            t, h = (l - nm[k]) / (nm[k + 1] - nm[k]), l - GRID[g]
            for i, si in ((k, 1 - t), (k + 1, t)):
                p[i, g] += w * si * (1 - h)
                p[i, g + 1] += w * si * h
    return p


class Metrics:
    def __init__(self):
        self.cmf2, cmf10 = observer("cie1931"), observer("cie1964")
        visible = (GRID >= 380) & (GRID <= 780)
        v2, v10 = self.cmf2 * visible, cmf10 * visible
        tcs, ces = at_grid("tcs"), at_grid("ces")
        self.weights = np.concatenate(
            [self.cmf2, v2, v10, (tcs[:, None] * v2[None]).reshape(-1, GRID.size), (ces[:, None] * v10[None]).reshape(-1, GRID.size)]
        ).T.copy()
        self.keep = np.flatnonzero((GRID >= 359) & (GRID <= 831))
        self.short = self.weights[self.keep]
        s = at_grid("daylight")
        self.daylight = s.copy()
        self.daylight[:, 1:-1] = (s[:, :-2] + 4 * s[:, 1:-1] + s[:, 2:]) / 6  # a curve straight between whole nanometres
        used = (GRID >= 360) & (GRID <= 830)
        self.nm, self.cmf = GRID[used], self.cmf2[:, used].T.copy()
        self.mired = np.linspace(1, 1000, 2000)
        self.table = np.stack(uv(self.planck(self.mired)[0] @ self.cmf))

    def planck(self, mired, slope=False):
        k = C2 / (self.nm * 1e-9) * 1e-6
        e = np.exp(k * mired[:, None])
        b = (self.nm / 560) ** -5 / (e - 1)
        return b, (-b * k * e / (e - 1) if slope else None)

    def cct(self, u, v):
        near = np.empty(u.size, dtype=int)
        for i in range(0, u.size, 500):
            s = slice(i, i + 500)
            near[s] = np.argmin((u[s, None] - self.table[0]) ** 2 + (v[s, None] - self.table[1]) ** 2, axis=1)
        mired = self.mired[near]
        for _ in range(5):  # Gauss and Newton: the foot of the perpendicular
            b, db = self.planck(mired, slope=True)
            c, dc = b @ self.cmf, db @ self.cmf
            d = c[:, 0] + 15 * c[:, 1] + 3 * c[:, 2]
            dd = dc[:, 0] + 15 * dc[:, 1] + 3 * dc[:, 2]
            lu, lv = 4 * c[:, 0] / d, 6 * c[:, 1] / d
            su, sv = (4 * dc[:, 0] - lu * dd) / d, (6 * dc[:, 1] - lv * dd) / d
            mired = mired + ((u - lu) * su + (v - lv) * sv) / (su * su + sv * sv)
        return 1e6 / mired, np.hypot(u - lu, v - lv) * np.sign(su * (v - lv) - sv * (u - lu))

    def split(self, x):
        n = x.shape[0]
        return x[:, :3], x[:, 3:6], x[:, 6:9], x[:, 9:51].reshape(n, 14, 3), x[:, 51:].reshape(n, 99, 3)

    def reference(self, cct):
        visible = (self.nm >= 380) & (self.nm <= 780)
        at = np.searchsorted(GRID, self.nm[visible])
        black = self.planck(1e6 / cct)[0][:, visible]
        x, y = daylight_xy(np.maximum(cct, 4000))
        m = 0.0241 + 0.2562 * x - 0.7341 * y
        m1, m2 = (-1.3515 - 1.7703 * x + 5.9114 * y) / m, (0.03 - 31.4424 * x + 30.0717 * y) / m
        s0, s1, s2 = self.daylight[:, at]
        day = s0 + m1[:, None] * s1 + m2[:, None] * s2
        w = self.weights[at]
        y10 = w[:, 7]
        mixed = black / (black @ y10)[:, None]
        share = np.clip((cct - 4000) / 1000, 0, 1)[:, None]
        if share.any():
            mixed = mixed * (1 - share) + day / (day @ y10)[:, None] * share
        plain = np.where((cct < 5000)[:, None], black, day) if (cct >= 5000).any() else black
        return plain @ w[:, 3:51], mixed @ np.concatenate([w[:, 6:9], w[:, 51:]], axis=1)

    def of(self, b):
        """Every figure of projected spectra (n, grid)."""
        white, white2, white10, t_tcs, t_ces = self.split(b[:, self.keep] @ self.short)
        cct, duv = self.cct(*uv(white))
        plain, mixed = self.reference(cct)
        n = cct.size
        r = cri(white2, t_tcs, plain[:, :3], plain[:, 6:].reshape(n, 14, 3))
        rf, rg, rfh, rcs, rhs = tm30(white10, t_ces, mixed[:, :3], mixed[:, 3:].reshape(n, 99, 3))
        xy = white[:, :2] / white.sum(axis=1)[:, None]
        return np.column_stack([xy, cct, duv, r[:, :8].mean(axis=1), rf, rg, r, rfh, rcs, rhs])


NAMES = KEYS + [f"r{i}" for i in range(1, 15)] + [f"{k}_h{i}" for k in ("rf", "rcs", "rhs") for i in range(1, 17)]


class Bench:
    """A compact array spectrometer."""

    def __init__(self, nm, values, rng):
        self.nm, self.values, self.rng = nm, values, rng
        self.largest, self.mean = values.max(), values.mean()
        self.sd = self.largest * np.sqrt(0.0007**2 + (0.002**2 - 0.0007**2) * values / self.largest)
        knots = np.array([350, 400, 430, 480, 560, 650, 700, 780, 850.0])
        u = np.array([0.15, 0.06, 0.035, 0.02, 0.015, 0.02, 0.03, 0.05, 0.10])
        cov = np.outer(u, u) * np.exp(-np.abs(knots[:, None] - knots) / 120)
        self.lower = np.linalg.cholesky(cov)
        self.knots = knots
        between = np.stack([np.interp(nm, knots, row) for row in np.eye(knots.size)])
        self.between = between

    def samples(self, n):
        r = self.rng
        level = self.mean * 0.003 * r.standard_normal(n) + self.largest * 0.0003 * r.standard_normal(n)
        s = self.values - level[:, None]
        s += self.sd * r.standard_normal((n, self.nm.size))
        gain = 1 + r.standard_normal((n, self.knots.size)) @ self.lower.T
        kelvin = 2856 + 20 * r.standard_normal(n)
        k = C2 * 1e9

        def ratio(l):
            return np.expm1(k / (l * 2856)) / np.expm1(k / (l * kelvin[:, None]))

        gain *= ratio(self.knots) / ratio(560.0)
        s *= gain @ self.between
        return s

    def move(self, b):
        r, n = self.rng, b.shape[0]
        offset, stretch = 0.3 * r.standard_normal(n), 0.15 / 100 * r.standard_normal(n)
        width = 2 + 0.3 * (2 * r.random(n) - 1)
        variance = ((4 - width * width) / (8 * np.log(2)))[:, None]
        by = offset[:, None] + stretch[:, None] * (GRID - 550)
        whole = np.floor(by + 0.5)
        f = by - whole
        reach = 1 + np.floor(np.sqrt(2 * np.abs(variance)))
        spread = variance / (2 * reach * reach)
        b = b * (1 + stretch[:, None])
        out = np.zeros_like(b)

        def put(by_whole, amount, shift):
            for w in range(int(by_whole.min()), int(by_whole.max()) + 1):
                part = np.where(by_whole == w, amount, 0) if by_whole.min() != by_whole.max() else amount
                d = w + shift
                lo, hi = max(0, d), GRID.size + min(0, d)
                out[:, lo:hi] += part[:, lo - d : hi - d]

        put(whole, b * f * (f - 1) / 2, -1)
        put(whole, b * (1 - f * f - 2 * spread), 0)
        put(whole, b * f * (f + 1) / 2, 1)
        for m in np.unique(reach):
            part = np.where(reach == m, b * spread, 0)
            put(whole, part, -int(m))
            put(whole, part, int(m))
        return out


def draw(name, n, wide):
    nm, values = np.loadtxt(name, delimiter=",", skiprows=1).T
    bench, metrics, p = Bench(nm, values, np.random.default_rng(1)), Metrics(), projection(nm)
    covered = np.flatnonzero(p.any(axis=0))
    short = p[:, covered]
    figures, kept = [], None
    for start in range(0, n, BLOCK):
        s = bench.samples(min(BLOCK, n - start))
        b = np.zeros((s.shape[0], GRID.size))
        b[:, covered] = s @ short
        if kept is None and wide:
            kept = metrics.of(b[:KEPT])
            with open(wide, "w", encoding="ascii") as f:
                f.write("nm," + ",".join(f"s{i}" for i in range(KEPT)) + "\n")
                for l, row in zip(nm, s[:KEPT].T):
                    f.write(",".join(repr(float(v)) for v in (l, *row)) + "\n")
        figures.append(metrics.of(bench.move(b)))
    figures = np.concatenate(figures)
    json.dump({"u": dict(zip(NAMES, figures.std(axis=0, ddof=1).tolist())),
               "kept": [dict(zip(NAMES, row)) for row in kept.tolist()] if kept is not None else []}, sys.stdout)


def compare(numpy_name, ours_name, wide_name, times_name):
    numpy, ours = json.load(open(numpy_name, encoding="ascii")), json.load(open(ours_name, encoding="utf-8"))["quantities"]
    times = [[float(v) for v in line.split()] for line in open(times_name, encoding="ascii")]
    a, b = (statistics.median(t) for t in zip(*times))
    print(f"10 000 draws, whole process, median: lampassay {a:.2f} s, numpy {b:.2f} s; numpy takes {b / a:.1f} times as long")
    worst = {}
    for line, want in zip(open(wide_name, encoding="utf-8"), numpy["kept"], strict=True):
        q = json.loads(line)["quantities"]
        for key in NAMES:
            kind = key.rstrip("0123456789")
            scale = 100 if kind in ("ra", "r", "rf", "rg", "rf_h") else max(1, abs(want[key]))  # an index is 100 less a distance
            d = abs(q[key]["value"] - want[key]) / scale
            worst[kind] = max(worst.get(kind, 0), d)
    print(f"{len(numpy['kept'])} drawn spectra, largest relative difference (an index of 100): " + ", ".join(f"{k} {v:.1g}" for k, v in worst.items()))
    ratios = {k: ours[k]["u"] / numpy["u"][k] for k in KEYS}
    print("u of the draws, lampassay over numpy: " + ", ".join(f"{k} {v:.3f}" for k, v in ratios.items()))
    if max(worst.values()) > 1e-9 or not all(0.95 < r < 1.05 for r in ratios.values()):
        sys.exit("the two do not compute the same")


if __name__ == "__main__":
    command, args = sys.argv[1], sys.argv[2:]
    if command == "lamp":
        lamp(args[0])
    elif command == "draw":
        draw(args[0], int(args[1]), args[2] if len(args) > 2 else "")
    elif command == "compare":
        compare(*args)
