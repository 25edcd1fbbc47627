#!/usr/bin/python3
"""The same job as one would script it from general-purpose libraries: read, thin, clean, normals, planes, axes, fit
of a lofted section, map of departures, smoothed. It stands in SPEED.md for what the job costs so; it has neither
uncertainties nor tip rib, aileron, tail or form, and it thins to 150,000 points unless told not to.
Usage: script.py FILE [all]. Needs Debian's python3-numpy and python3-scipy."""
import sys
import time

import numpy as np
from scipy.ndimage import gaussian_filter
from scipy.optimize import least_squares
from scipy.spatial import cKDTree

KEPT, NEIGHBOURS = 150_000, 16
random = np.random.default_rng(1)


def read(path):
    """Points of a binary STL or little-endian PLY of floats, in file units."""
    with open(path, "rb") as f:
        head = f.read(4096)
    if not head.startswith(b"ply"):
        kind = np.dtype([("normal", "<f4", 3), ("corner", "<f4", (3, 3)), ("more", "<u2")])
        corners = np.fromfile(path, kind, offset=84)["corner"].reshape(-1, 3)
        key = np.ascontiguousarray(corners).view(np.dtype((np.void, 12))).ravel()
        return corners[np.unique(key, return_index=True)[1]]
    body = head.index(b"end_header\n") + 11
    count = int(head[: body].split(b"element vertex ")[1].split()[0])
    return np.fromfile(path, "<f4", 3 * count, offset=body).reshape(-1, 3)


def normals(points, tree):
    near = points[tree.query(points, NEIGHBOURS, workers=2)[1]]
    near -= near.mean(1, keepdims=True)
    return np.linalg.eigh(np.einsum("nki,nkj->nij", near, near))[1][:, :, 0]


def without_planes(points, unit, planes=2, tries=200, thick=0.01):
    for _ in range(planes):
        sample = random.choice(len(points), min(len(points), 20_000), replace=False)
        best = None
        for i in random.choice(sample, tries):
            on = np.abs((points[sample] - points[i]) @ unit[i]) < thick
            if best is None or on.sum() > best[0]:
                best = on.sum(), points[i], unit[i]
        if best[0] < 0.2 * len(sample):
            break
        keep = np.abs((points - best[1]) @ best[2]) > 2 * thick
        points, unit = points[keep], unit[keep]
    return points, unit


def section(n=400):
    """NACA 23012, chord 1 (Jacobs and others, NACA report 537, 1935), with the tangents' normals."""
    x = (1 - np.cos(np.linspace(0, np.pi, n))) / 2
    m, k = 0.2025, 15.957
    z = np.where(x < m, k / 6 * (x**3 - 3 * m * x**2 + m**2 * (3 - m) * x), k * m**3 / 6 * (1 - x))
    t = 0.6 * (0.2969 * np.sqrt(x) - 0.126 * x - 0.3516 * x**2 + 0.2843 * x**3 - 0.1015 * x**4)
    line = np.vstack([np.c_[x, z + t][::-1], np.c_[x, z - t][1:]])
    along = np.gradient(line, axis=0)
    out = np.c_[along[:, 1], -along[:, 0]]
    return line, out / np.linalg.norm(out, axis=1, keepdims=True)


def departures(p, at, line, out, tree):
    """Signed distances from a loft: place, angle, chord, and how the last three change along the span."""
    turn = p[3] + p[5] * at[:, 1]
    x, z = at[:, 0] - p[0], at[:, 2] - p[1] - p[6] * at[:, 1]
    chord = p[2] + p[4] * at[:, 1]
    q = np.c_[np.cos(turn) * x + np.sin(turn) * z, np.cos(turn) * z - np.sin(turn) * x] / chord[:, None]
    i = tree.query(q, workers=2)[1]
    return np.einsum("ij,ij->i", q - line[i], out[i]) * chord, i


def main():
    clock, processor = [time.perf_counter()], time.process_time()
    points = read(sys.argv[1]).astype(float)
    clock.append(time.perf_counter())
    if len(sys.argv) < 3 and len(points) > KEPT:
        points = points[random.choice(len(points), KEPT, replace=False)]
    tree = cKDTree(points)
    far = tree.query(points, NEIGHBOURS, workers=2)[0].mean(1)
    points = points[far < far.mean() + 2 * far.std()]
    unit = normals(points, cKDTree(points))
    clock.append(time.perf_counter())
    points, unit = without_planes(points, unit)
    span = np.linalg.eigh(unit.T @ unit)[1][:, 0]
    flat = points - points.mean(0)
    flat -= np.outer(flat @ span, span)
    aft = np.linalg.eigh(flat.T @ flat)[1][:, 2]
    frame = np.c_[aft, span, np.cross(aft, span)]
    at = (points - np.median(points, 0)) @ frame
    clock.append(time.perf_counter())
    line, out = section()
    tree = cKDTree(line)
    some = at[random.choice(len(at), min(len(at), 4000), replace=False)]
    most = np.array([4, 1, 1.25, 0.3, 0.2, 0.1, 0.2])  # the chord is taped
    least = -most
    least[2] = 1.19
    best = None
    for flip in ((1, 1), (-1, 1), (1, -1), (-1, -1)):
        turned = some * [flip[0], 1, flip[1]]
        begin = [np.quantile(turned[:, 0], 0.02), 0, 1.22, 0, 0, 0, 0]
        found = least_squares(lambda p: departures(p, turned, line, out, tree)[0], begin, bounds=(least, most), loss="cauchy", f_scale=0.002, max_nfev=15)
        if best is None or found.cost < best[0].cost:
            best = found, flip
    at = at * [best[1][0], 1, best[1][1]]
    at = at[np.abs(departures(best[0].x, at, line, out, tree)[0]) < 0.05]
    found = least_squares(lambda p: departures(p, at, line, out, tree)[0], best[0].x, bounds=(least, most), loss="cauchy", f_scale=0.001, max_nfev=8)
    clock.append(time.perf_counter())
    depth, i = departures(found.x, at, line, out, tree)
    size = (160, 60)
    row = np.clip(((at[:, 1] - at[:, 1].min()) / np.ptp(at[:, 1]) * size[1]).astype(int), 0, size[1] - 1)
    cell = i * size[0] // len(line) * size[1] + row
    order = np.lexsort((depth, cell))
    counts = np.bincount(cell, minlength=size[0] * size[1])
    middle = np.minimum(np.cumsum(counts) - counts + counts // 2, len(depth) - 1)
    grid = np.where(counts > 0, depth[order][middle], 0).reshape(size)
    gaussian_filter(grid, 2)
    clock.append(time.perf_counter())
    print(f"{len(at)} points on the wing, chord {found.x[2]:.4f}, rms {np.std(depth):.4f};",
          ", ".join(f"{n} {t:.2f} s" for n, t in zip(("read", "clean", "planes", "fit", "map"), np.diff(clock))))
    print("spent", time.process_time() - processor, clock[-1] - clock[0])


main()
