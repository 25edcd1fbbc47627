"""Parallels of outlines by shapely (GEOS), as a reference for Offset.

Reads JSON from standard input: a list of {"outline": [[x, y]], "distance": d, "parallel": [[x, y]]}.
Writes a list of {"far": a, "missed": b}: the farthest that a vertex of the parallel lies from the
reference, and the farthest that a vertex of the reference lies from the parallel. The reference is the
edge of what lies within the distance of the outline, on the side that the sign says; along the face of
an open tail, where no parallel runs, it is left out.
"""
import json
import sys

from shapely.geometry import LinearRing, LineString, Point, Polygon

FLAT = 2  # cap style


def reference(outline, distance):
    body = Polygon(outline)
    line = LinearRing(outline) if outline[0] == outline[-1] else LineString(outline)
    band = line.buffer(abs(distance), 256, cap_style=FLAT)
    if distance < 0:
        left = body.difference(band)
    else:
        left = body.union(band)
    if left.geom_type == "MultiPolygon":
        left = max(left.geoms, key=lambda g: g.area)
    return left.exterior


def main():
    answers = []
    for case in json.load(sys.stdin):
        line, outline = reference(case["outline"], case["distance"]), LineString(case["outline"])
        mine = LineString(case["parallel"])
        far = max(line.distance(Point(p)) for p in case["parallel"])
        missed = max(
            (mine.distance(Point(p)) for p in line.coords
             if outline.distance(Point(p)) > abs(case["distance"]) - 1e-3),
            default=0.0,
        )
        answers.append({"far": far, "missed": missed})
    json.dump(answers, sys.stdout)


main()
