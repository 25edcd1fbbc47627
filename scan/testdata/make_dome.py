"""Writes the dome-* files: an ellipsoid's upper half, x²/600² + y²/150² + z²/70² = 1, sampled on a grid.

Independent of the Go code: numpy lays every byte down from the published descriptions of the formats.
Run it in this folder with Debian's python3 and python3-numpy.
"""
import numpy as np

A, B, C = 600.0, 150.0, 70.0
ROWS, COLUMNS = 7, 9
u, v = np.meshgrid(np.linspace(0.2, 1.4, ROWS), np.linspace(0.1, 3.0, COLUMNS), indexing="ij")
P = np.stack([A * np.cos(u) * np.cos(v), B * np.cos(u) * np.sin(v), C * np.sin(u)], axis=2).reshape(-1, 3)
N = P / np.array([A * A, B * B, C * C])
N /= np.linalg.norm(N, axis=1)[:, None]
i = (np.arange(ROWS - 1)[:, None] * COLUMNS + np.arange(COLUMNS - 1)).ravel()
quads = np.stack([i, i + 1, i + COLUMNS + 1, i + COLUMNS], axis=1)
triangles = np.concatenate([quads[:, [0, 1, 2]], quads[:, [0, 2, 3]]])


def header(form, *elements):
    return ("ply\nformat %s 1.0\ncomment a dome\n" % form + "".join(e + "\n" for e in elements) + "end_header\n").encode()


# Map coordinates in doubles, big-endian, colours between, polygons with unsigned corners.
points = np.zeros(len(P), dtype=[("red", "u1"), ("p", ">f8", 3), ("intensity", ">u2")])
points["p"], points["red"], points["intensity"] = P + [450000.25, 5400000.5, 310.125], 200, 65535
faces = np.zeros(len(quads), dtype=[("n", "u1"), ("v", ">u4", 4), ("flags", ">i4")])
faces["n"], faces["v"], faces["flags"] = 4, quads, -1
with open("dome-map.ply", "wb") as f:
    f.write(header("binary_big_endian", f"element vertex {len(P)}", "property uchar red", "property double x", "property double y",
                   "property double z", "property ushort intensity", f"element face {len(quads)}",
                   "property list uchar uint vertex_indices", "property int flags"))
    f.write(points.tobytes() + faces.tobytes())

# A phone's cloud: single precision, normals first, then a point that is not a number.
points = np.zeros(len(P) + 1, dtype=[("n", "<f4", 3), ("p", "<f4", 3), ("c", "u1", 4)])
points["p"][:-1], points["n"][:-1], points["c"] = P, N, 128
points["p"][-1] = np.nan
with open("dome-cloud.ply", "wb") as f:
    f.write(header("binary_little_endian", f"element vertex {len(points)}", *(f"property float {n}" for n in ("nx", "ny", "nz", "x", "y", "z")),
                   *(f"property uchar {n}" for n in ("red", "green", "blue", "alpha"))))
    f.write(points.tobytes())

# A binary STL whose header begins with the word that tells the other kind.
facets = np.zeros(len(triangles), dtype=[("n", "<f4", 3), ("v", "<f4", (3, 3)), ("a", "<u2")])
facets["v"], facets["a"] = P[triangles], 7
with open("dome-solid.stl", "wb") as f:
    f.write(b"solid dome, in mm".ljust(80) + np.uint32(len(facets)).tobytes() + facets.tobytes())

# A table with the axes in other places, in metres.
with open("dome-table.csv", "w", newline="") as f:
    f.write("Time (s),Z (m),Y (m),X (m),Quality\r\n")
    for k, (x, y, z) in enumerate(P / 1000):
        f.write("%.3f,%.9f,%.9f,%.9f,high\r\n" % (0.033 * k, z, y, x))
