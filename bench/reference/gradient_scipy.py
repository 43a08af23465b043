#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""What one would write with SciPy: the gradient that a four-wheel vehicle climbs at a wheel slip, on each soil by itself.

Reads soils (CSV on standard input: k, n, cohesion, tan phi, K, c1, c2, slip) and prints for each the gradient in rad, and at the end the processor time per soil. The
vehicle is the carrier of the tests: 420 kg, 9.81 m/s^2, wheelbase 1.30 m, centre of gravity 0.62 m ahead of the rear axle and 0.55 m high, rigid wheels 0.3 m by 0.2 m.
Loads by moments with the soil's own moment and the lean that the sinkages give the body, gradient and loads found together by fsolve; wheels as in wheel_scipy.py.
"""
import math
import sys
import time

from scipy.optimize import fsolve

from wheel_scipy import solve

MASS, GRAVITY, BASE, AHEAD, HIGH, RADIUS, WIDTH = 420, 9.81, 1.30, 0.62, 0.55, 0.3, 0.2


def gradient(k, n, cohesion, tan_phi, modulus, c1, c2, slip):
    weight = MASS * GRAVITY

    def off_balance(unknown):
        angle, front = unknown[0], unknown[1] * weight
        rear = weight * math.cos(angle) - front
        wheels = [solve(RADIUS, WIDTH, k, n, cohesion, tan_phi, modulus, c1, c2, slip, load / 2) for load in (rear, front)]
        pull = sum(2 * w[1] for w in wheels)
        moment = sum(2 * (w[2] - w[1] * RADIUS) for w in wheels)
        sunk = [RADIUS * (1 - math.cos(w[0])) for w in wheels]
        lean = (sunk[1] - sunk[0]) / BASE  # nose down; the axles go ahead by RADIUS of it
        return [(pull - weight * math.sin(angle)) / weight,
                (front * BASE + (rear + front) * RADIUS * lean - weight * (math.cos(angle) * (AHEAD + HIGH * lean) - math.sin(angle) * HIGH) + moment) / (weight * BASE)]

    return fsolve(off_balance, [0.1, 0.4], xtol=1e-9)[0]


def main():
    rows = [[float(x) for x in line.split(",")] for line in sys.stdin if line.strip()]
    gradient(*rows[0])
    start = time.process_time()
    answers = [gradient(*row) for row in rows]
    spent = time.process_time() - start
    for answer in answers:
        print(f"{answer:.15g}")
    print(f"seconds_per_soil,{spent / len(rows):.9g}")


if __name__ == "__main__":
    main()
