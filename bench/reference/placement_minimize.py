#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""What one would write with SciPy: movable masses placed so that the sum of squares of the wheel loads is least.

Reads vehicles, a line each on standard input (axles, movable masses; mass of the body and its place; of every axle its place and track width; of every mass its size, place and
allowed spans), prints the largest wheel load over the mean one, then the processor time a vehicle. Two wheels an axle, all equally stiff, on level hard ground: loads are those of
a plane over springs. minimize (L-BFGS-B; SLSQP stopped short of the least on one of forty) in millimetres, from the place given.
"""
import sys
import time

import numpy as np
from scipy.optimize import minimize


def read(line):
    numbers = iter(float(x) for x in line.split(","))
    axles, masses = int(next(numbers)), int(next(numbers))
    body = [next(numbers) for _ in range(3)]
    wheels = []
    for _ in range(axles):
        x, track = next(numbers), next(numbers)
        wheels += [(x, 0.5 * track), (x, -0.5 * track)]
    return body, np.array(wheels), [[next(numbers) for _ in range(7)] for _ in range(masses)]


def loads(body, wheels, masses, places):
    total = body[0] + sum(m[0] for m in masses)
    x = (body[0] * body[1] + sum(m[0] * p[0] for m, p in zip(masses, places))) / total
    y = (body[0] * body[2] + sum(m[0] * p[1] for m, p in zip(masses, places))) / total
    plane = np.column_stack([np.ones(len(wheels)), wheels])
    return plane @ np.linalg.solve(plane.T @ plane, total * np.array([1, x, y]))


def largest_share(vehicle):
    body, wheels, masses = vehicle
    scale = body[0] / len(wheels)
    unevenness = lambda z: float(np.sum((loads(body, wheels, masses, 1e-3 * z.reshape(-1, 2)) / scale) ** 2))
    start = 1e3 * np.array([[m[1], m[2]] for m in masses]).ravel()
    bounds = [span for m in masses for span in ((1e3 * m[3], 1e3 * m[4]), (1e3 * m[5], 1e3 * m[6]))]
    answer = minimize(unevenness, start, method="L-BFGS-B", bounds=bounds, options={"ftol": 1e-15, "gtol": 1e-11, "maxiter": 5000})
    found = loads(body, wheels, masses, 1e-3 * answer.x.reshape(-1, 2))
    return found.max() / found.mean()


def main():
    vehicles = [read(line) for line in sys.stdin if line.strip()]
    largest_share(vehicles[0])
    start = time.process_time()
    answers = [largest_share(v) for v in vehicles]
    spent = time.process_time() - start
    for answer in answers:
        print(f"{answer:.12g}")
    print(f"seconds_per_vehicle,{spent / len(vehicles):.9g}")


if __name__ == "__main__":
    main()
