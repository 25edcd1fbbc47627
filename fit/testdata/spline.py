"""A smoothing spline by scipy's B-splines, with a penalty on the fourth derivative, fitted twice.

Reads {"x", "y", "w", "cut", "length", "at"} from standard input and minimises

    sum w (y - f)² + sum(w)/length (cut/2π)^8 ∫ f''''² dx

by splines of degree 7 whose knots lie far closer than the cut, the integral taken by Gauss's rule. What is left is
fitted once more and added (twicing). Answers with the curve's values there.
"""
import json
import math
import sys

import numpy
from scipy.interpolate import BSpline

job = json.load(sys.stdin)
unit = job["cut"] / (2 * math.pi)
x, at = numpy.array(job["x"]) / unit, numpy.array(job["at"]) / unit
y, w = numpy.array(job["y"]), numpy.array(job["w"])
length = job["length"] / unit
DEGREE = 7
pieces = int(length / 0.7)
knots = numpy.concatenate([numpy.zeros(DEGREE), numpy.linspace(0, length, pieces + 1), numpy.full(DEGREE, length)])
count = len(knots) - DEGREE - 1


def matrix(places, derivative=0):
    """The functions, or their derivatives, at the places."""
    columns = []
    for k in range(count):
        one = numpy.zeros(count)
        one[k] = 1
        columns.append(BSpline(knots, one, DEGREE)(places, derivative))
    return numpy.array(columns).T


nodes, shares = numpy.polynomial.legendre.leggauss(5)
step = length / pieces
places = (numpy.arange(pieces)[:, None] * step + step * (nodes + 1) / 2).ravel()
bend = matrix(places, 4) * numpy.sqrt(numpy.tile(shares * step / 2, pieces))[:, None]
penalty = w.sum() / length * bend.T @ bend
basis = matrix(x)
normal = basis.T @ (w[:, None] * basis)


def fit(values):
    return numpy.linalg.solve(normal + penalty, basis.T @ (w * values))


first = fit(y)
coefficients = first + fit(y - basis @ first)
json.dump((matrix(at) @ coefficients).tolist(), sys.stdout)
