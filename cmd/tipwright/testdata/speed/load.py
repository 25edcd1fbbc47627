#!/usr/bin/python3
"""Loads the numbers of a scan's file with numpy and prints how long that took, seconds of processor time and of the
clock: first with the numbers as they stand in the file, then with those of an STL's corners laid out as a list, apart
from the directions between them. Usage: load.py FILE ROWS BYTES-BEFORE-THEM. Needs Debian's python3-numpy."""
import sys
import time

import numpy as np

path, rows, before = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
clock, processor = time.perf_counter(), time.process_time()
if path.endswith(".stl"):
    triangles = np.fromfile(path, np.dtype([("direction", "<f4", 3), ("corners", "<f4", (3, 3)), ("more", "<u2")]), rows, offset=before)
elif path.endswith(".ply"):
    np.fromfile(path, "<f4", 3 * rows, offset=before)
else:
    np.loadtxt(path, delimiter="," if path.endswith(".csv") else None)
print(time.process_time() - processor, time.perf_counter() - clock)
if path.endswith(".stl"):
    np.ascontiguousarray(triangles["corners"])
print(time.process_time() - processor, time.perf_counter() - clock)
