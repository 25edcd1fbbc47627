"""Robust regression and robust means by scipy's least squares with Tukey's biweight as loss.

Reads {"rows", "values", "cells", "cut", "middle"} from standard input: a regression of values on rows, and samples
each of which has a location near its middle, with the biweight's cut-off for them all. Answers with {"x", "se",
"locations"}.
"""
import json
import sys

import numpy
from scipy import optimize, stats

C = 4.685
job = json.load(sys.stdin)


def tukey(z):
    """The loss in scipy's form, a function of the square of misfit over scale, with two derivatives."""
    rest = numpy.maximum(1 - z, 0)
    return numpy.array([(1 - rest ** 3) / 3, rest ** 2, -2 * rest])


def regression(rows, values):
    misfit = lambda x: values - rows @ x
    x = optimize.least_squares(misfit, numpy.zeros(rows.shape[1]), loss="soft_l1", f_scale=0.1).x
    for _ in range(20):
        scale = stats.median_abs_deviation(misfit(x), center=lambda v, axis: 0, scale="normal")
        x = optimize.least_squares(misfit, x, loss=tukey, f_scale=C * scale, xtol=1e-14, ftol=1e-14, gtol=1e-14).x
    return x, scale * numpy.sqrt(numpy.diag(numpy.linalg.inv(rows.T @ rows)))


def location(sample, middle):
    fit = optimize.least_squares(lambda m: sample - m, [middle], loss=tukey, f_scale=job["cut"], xtol=1e-14, ftol=1e-14, gtol=1e-14)
    return fit.x[0]


x, se = regression(numpy.array(job["rows"]), numpy.array(job["values"]))
json.dump({"x": x.tolist(), "se": se.tolist(),
           "locations": [location(numpy.array(s), m) for s, m in zip(job["cells"], job["middle"])]}, sys.stdout)
