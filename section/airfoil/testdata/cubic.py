"""Cubics through points with not-a-knot ends by scipy, as a reference for the outline through a file's points.

Reads {"t": [...], "value": [...], "at": [...]} from standard input; writes {"value", "slope"} there.
"""
import json
import sys

from scipy.interpolate import CubicSpline

job = json.load(sys.stdin)
curve = CubicSpline(job["t"], job["value"], bc_type="not-a-knot")
json.dump({"value": curve(job["at"]).tolist(), "slope": curve(job["at"], 1).tolist()}, sys.stdout)
