"""One outline laid on another by scipy, with distances by GEOS.

Reads {"points", "weights", "line"} from standard input: points with weights, and a polyline. Answers with {"shift",
"turn"}, the shift and turn about the origin, nose up (aft points sink), that lay the points on the line best in the
sense of least squares; {"rms", "worst"}, the root of the mean square of what is left, weights aside, and the worst,
outward positive; {"rawRMS", "rawWorst"}, the same before they were moved; and the "area" within the line.
"""
import json
import sys

import numpy
from scipy import optimize
from shapely.geometry import LineString, Point, Polygon

job = json.load(sys.stdin)
points, weights = numpy.array(job["points"]), numpy.sqrt(numpy.array(job["weights"]))
line, body = LineString(job["line"]), Polygon(job["line"])


def distances(move):
    x, z, turn = move[0], move[1], move[2] / 1000
    c, s = numpy.cos(turn), numpy.sin(turn)
    moved = numpy.column_stack([c * points[:, 0] + s * points[:, 1] + x, c * points[:, 1] - s * points[:, 0] + z])
    places = [Point(p) for p in moved]
    return numpy.array([line.distance(p) * (-1 if body.contains(p) else 1) for p in places])


found = optimize.least_squares(lambda m: weights * distances(m), numpy.zeros(3), diff_step=1e-4, xtol=1e-10, ftol=1e-10)
left, before = distances(found.x), distances(numpy.zeros(3))
rms = lambda d: float(numpy.sqrt((d ** 2).mean()))
worst = lambda d: float(d[numpy.abs(d).argmax()])
json.dump({"shift": found.x[:2].tolist(), "turn": found.x[2] / 1000, "rms": rms(left), "worst": worst(left),
           "rawRMS": rms(before), "rawWorst": worst(before), "area": body.area}, sys.stdout)
