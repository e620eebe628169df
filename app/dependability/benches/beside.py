#!/usr/bin/env python3
"""The fits of `scale` beside general Python packages, on the same fleets.

usage: beside.py FOLDER   (FOLDER filled by `cargo bench -p dependability --bench scale -- FOLDER`, with the fleet of a
million units too where `--million` is added; packages, in a virtual environment outside the repository: pip install
scipy statsmodels). Every fit is made in a process of its own, so that its most memory (resource.getrusage) is its own,
the interpreter, the packages and the reading of the fleet counted in.

1. statsmodels: failures ~ negative binomial with the exposure as offset, beta profiled over (the same likelihood: given
   beta a unit's count is negative binomial, and its ages add (beta - 1) sum ln t - n ln A).
2. scipy: the likelihood written out in vectors, L-BFGS-B with numerical gradient.
"""
import resource, subprocess, sys, time, warnings
from pathlib import Path

import numpy as np
from scipy import optimize, special
from statsmodels.discrete.discrete_model import NegativeBinomial

warnings.simplefilter("ignore")
T0, LIMIT = 10.0, 150.0


def exposure(a, b, beta):
    return T0 / beta * ((b / T0) ** beta - (a / T0) ** beta)


def by_statsmodels(a, b, n, s):
    """Maximum over ln beta of the profile; (beta, theta, log-likelihood)."""
    best = {}

    def minus(ln_beta):
        beta = np.exp(ln_beta)
        area = exposure(a, b, beta)
        fit = NegativeBinomial(n, np.ones((len(n), 1)), offset=np.log(area)).fit(disp=0, maxiter=200)
        ll = fit.llf + np.sum(special.gammaln(n + 1)) - np.sum(n * np.log(area)) + (beta - 1) * s.sum()
        best[ln_beta] = (beta, fit.params[-1], ll)
        return -ll

    found = optimize.minimize_scalar(minus, bounds=(-0.5, 1.5), method="bounded", options={"xatol": 1e-6})
    return best[found.x] if found.x in best else best[max(best, key=lambda k: best[k][2])]


def by_scipy(a, b, n, s):
    total_n, total_s = n.sum(), s.sum()
    counts = np.bincount(n)
    k = np.arange(1, len(counts))
    above = counts[::-1].cumsum()[::-1]  # units with at least j failures

    def minus(p):
        alpha, beta, theta = p[0], np.exp(p[1]), np.exp(p[2])
        mu = np.exp(alpha) * exposure(a, b, beta)
        ll = total_n * alpha + (beta - 1) * total_s + np.sum(above[2:] * np.log1p(k[: len(above) - 2] * theta))
        return -(ll - np.sum((n + 1 / theta) * np.log1p(theta * mu)))

    found = optimize.minimize(minus, [np.log(total_n / (b - a).sum()), 0.2, np.log(0.5)], method="L-BFGS-B", options={"ftol": 1e-13, "gtol": 1e-6})
    return np.exp(found.x[1]), np.exp(found.x[2]), -found.fun


FITS = {"statsmodels": by_statsmodels, "scipy": by_scipy}


def only(file, name):
    """One fit, its line printed."""
    d = np.genfromtxt(file, delimiter=",", names=True)
    a, b, n, s = d["from"], d["until"], d["failures"].astype(int), d["sum_ln_age"]
    begun = time.perf_counter()
    beta, theta, ll = FITS[name](a, b, n, s)
    took = time.perf_counter() - begun
    late = " (beyond the limit)" if took > LIMIT else ""
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024  # KiB on Linux
    print(f"| {len(n)} | {name} | {took:.2f}{late} | {most:.0f} | {beta:.4f}, {theta:.4f} | {ll:.3f} |", flush=True)


def main():
    folder = Path(sys.argv[1])
    if len(sys.argv) == 4:
        return only(folder / f"fleet_{sys.argv[2]}.csv", sys.argv[3])
    print("| units | package | fit, s | most memory, MiB | beta, theta | log-likelihood |\n|---|---|---|---|---|---|", flush=True)
    for units in (1_000, 10_000, 100_000, 1_000_000):
        if not (folder / f"fleet_{units}.csv").exists():
            print(f"| {units} | no fleet of this size in the folder | | | | |", flush=True)
            continue
        for name in FITS:
            try:
                subprocess.run([sys.executable, __file__, str(folder), str(units), name], check=True, timeout=4 * LIMIT)
            except subprocess.TimeoutExpired:
                print(f"| {units} | {name} | not ended in {4 * LIMIT:.0f} | | | |", flush=True)


main()
