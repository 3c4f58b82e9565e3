"""SciPy LSODA over the segments of a profile, a law on standard input, as loosely as an error of 1e-8 allows."""

import json
import sys
import time

import numpy as np
from scipy.integrate import odeint, solve_ivp

case = json.load(sys.stdin)
times = case["timesS"]
kelvins = [celsius + 273.15 for celsius in case["tempsC"]]
law = case["law"]
a, energy = law["k2"]["aPerS"], law["k2"]["activationEnergyJPerMol"]
m, n, gas = law["m"], law["n"], law["gasConstant"]
c, c0, ct = (law["diffusion"][key] for key in ("c", "alphaC0", "alphaCTPerK"))


def rate(t, y, from_k, slope):
    kelvin = from_k + slope * t
    alpha = y[0]
    k = a * np.exp(-energy / (gas * kelvin))
    return [k * alpha**m * (1 - alpha) ** n / (1 + np.exp(c * (alpha - (c0 + ct * kelvin))))]


def fold(advance):
    alpha = law["initial"]
    for i in range(1, len(times)):
        span = times[i] - times[i - 1]
        slope = (kelvins[i] - kelvins[i - 1]) / span
        alpha = advance(alpha, span, kelvins[i - 1], slope)
    return alpha


def lsoda(rtol):
    return fold(lambda alpha, span, *run: odeint(rate, [alpha], [0, span], args=run, tfirst=True, rtol=rtol, atol=1e-14)[-1, 0])


truth = fold(
    lambda alpha, span, *run: solve_ivp(rate, (0, span), [alpha], method="DOP853", args=run, rtol=1e-12, atol=1e-15).y[0, -1]
)
for exponent in range(4, 13):
    rtol = 10.0**-exponent
    error = abs(lsoda(rtol) / truth - 1)
    if error <= 1e-8:
        break
runs = []
for _ in range(5):
    start = time.perf_counter()
    lsoda(rtol)
    runs.append(time.perf_counter() - start)
print(json.dumps({"truth": truth, "rtol": rtol, "error": error, "runsS": runs}))
