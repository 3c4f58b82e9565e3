"""SciPy LSODA, banded, on the lay-up and faces on standard input, as loosely as the wanted error allows."""

import json
import sys
import time

import numpy as np
from scipy.integrate import solve_ivp

case = json.load(sys.stdin)
face_times = np.array(case["faceTimesS"])
face_temps = np.array(case["facesC"])


def solve(pieces_a_ply, rtol, atol):
    dx = case["plyMm"] / 1000 / pieces_a_ply
    count = case["plies"] * pieces_a_ply + 1
    k, rho_cp, h = case["conductivityWPerMK"], case["heatCapacityJPerM3K"], case["contactWPerM2K"]
    capacity = np.full(count, rho_cp * dx)
    capacity[0] = capacity[-1] = rho_cp * dx / 2
    between = k / dx

    def rate(t, y):
        face = np.interp(t, face_times, face_temps)
        flow = between * np.diff(y)
        heat = np.empty(count)
        heat[0] = h * (face - y[0]) + flow[0]
        heat[1:-1] = np.diff(flow)
        heat[-1] = h * (face - y[-1]) - flow[-1]
        return heat / capacity

    answer = solve_ivp(
        rate,
        (0, case["untilS"]),
        np.full(count, case["startC"]),
        method="LSODA",
        t_eval=case["atS"],
        rtol=rtol,
        atol=atol,
        lband=1,
        uband=1,
    )
    lines = [line * pieces_a_ply for line in range(1, case["plies"])]
    return answer.y[lines, :]


truth = solve(32, 1e-10, 1e-10)
if case.get("truthOnly"):
    print(json.dumps({"truth": truth.T.tolist()}))
    sys.exit()
found = None
for pieces in (1, 2, 4, 8):
    for exponent in range(2, 9):
        error = float(np.abs(solve(pieces, 10.0**-exponent, 10.0**-exponent) - truth).max())
        if error <= case["wantedK"]:
            found = (pieces, 10.0**-exponent, error)
            break
    if found:
        break
pieces, rtol, error = found
runs = []
for _ in range(5):
    start = time.perf_counter()
    solve(pieces, rtol, rtol)
    runs.append(time.perf_counter() - start)
print(json.dumps({"truth": truth.T.tolist(), "pieces": pieces, "rtol": rtol, "error": error, "runsS": runs}))
