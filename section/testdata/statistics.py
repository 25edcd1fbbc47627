"""The statistics behind the constants of robust fits and limits, by scipy.

Reads {"biweight", "huber", "z"} from standard input: the cut-offs, and places of the normal distribution. Answers
with the efficiencies that the cut-offs leave at the normal distribution, some quantiles, and at each z the
distribution function and its integral.
"""
import json
import sys

import numpy
from scipy import integrate, stats

job = json.load(sys.stdin)


def efficiency(psi, slope, limits):
    """Of a location estimate by psi against the mean, on normal data: E[psi']² / E[psi²] (Huber 1964)."""
    weigh = lambda f: integrate.quad(lambda x: f(x) * stats.norm.pdf(x), *limits, limit=200)[0]
    return weigh(slope) ** 2 / weigh(lambda x: psi(x) ** 2)


c, k = job["biweight"], job["huber"]
biweight = efficiency(lambda x: x * (1 - (x / c) ** 2) ** 2,
                      lambda x: (1 - (x / c) ** 2) * (1 - 5 * (x / c) ** 2), (-c, c))
inner = 2 * stats.norm.cdf(k) - 1
huber = inner ** 2 / (inner - 2 * k * stats.norm.pdf(k) + 2 * k * k * (1 - stats.norm.cdf(k)))
z = numpy.array(job["z"])
json.dump({
    "biweight": biweight, "huber": huber,
    "mad": 1 / stats.norm.ppf(0.75), "found": stats.norm.ppf(0.95), "two": 2 * stats.norm.cdf(2) - 1,
    "chi2median": stats.chi2.median(1), "t95": [stats.t.ppf(0.975, n) for n in (1, 2, 3, 4)],
    "cumulative": stats.norm.cdf(z).tolist(),
    "integral": [integrate.quad(stats.norm.cdf, -40, v, epsabs=1e-12, epsrel=1e-12, points=[-8, 0])[0] for v in z],
}, sys.stdout)
