"""Distances of one outline from another by GEOS.

Reads {"points", "line"} from standard input, two outlines. Answers with the signed distances of places 1 mm apart along
the first, clear of the tail, from the second: outward is positive.
"""
import json
import sys

import numpy
from shapely.geometry import LineString, Polygon

job = json.load(sys.stdin)
first, second = LineString(job["points"]), LineString(job["line"])
body = Polygon(job["line"])
places = [first.interpolate(s) for s in numpy.arange(5, first.length - 5)]
json.dump([second.distance(p) * (-1 if body.contains(p) else 1) for p in places], sys.stdout)
