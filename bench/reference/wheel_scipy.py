#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""What one would write with SciPy: wheel equilibrium at a load and slip by quad and brentq.

Reads wheels (CSV on standard input: radius, width, k, n, cohesion, tan phi, K, c1, c2, slip, load) and prints
for each: entry angle, pull, torque, and at the end the processor time per wheel. Rigid wheel, th2 = 0; the load
is integrated before and behind the largest stress, kinks where a braked wheel's travel turns left to
the adaptive rule. Tolerances are those the program answers to: 1e-8.
"""
import math
import sys
import time

from scipy.integrate import quad
from scipy.optimize import brentq

TIGHT = dict(epsabs=0, epsrel=1e-8, limit=200)


def solve(r, b, k, n, c, tan_phi, modulus, c1, c2, s, load):
    travel = 1 - s if s >= 0 else 1 / (1 + s)
    ratio = min(c1 + c2 * abs(s), 0.8)

    def stresses(th, th1, thm):
        mirrored = th if th >= thm else th1 - th / thm * (th1 - thm)
        z = r * (math.cos(mirrored) - math.cos(th1))
        sigma = k * z ** n if z > 0 else 0.0
        j = r * ((th1 - th) - travel * (math.sin(th1) - math.sin(th)))
        tau = (c + sigma * tan_phi) * (1 - math.exp(-abs(j) / modulus))
        return sigma, tau if j >= 0 else -tau

    def integral(f, th1):
        thm = ratio * th1
        total = quad(f, thm, th1, args=(th1, thm), **TIGHT)[0]
        if thm > 0:
            total += quad(f, 0, thm, args=(th1, thm), **TIGHT)[0]
        return total

    def lifted(th, th1, thm):
        sigma, tau = stresses(th, th1, thm)
        return sigma * math.cos(th) + tau * math.sin(th)

    def pulled(th, th1, thm):
        sigma, tau = stresses(th, th1, thm)
        return tau * math.cos(th) - sigma * math.sin(th)

    def sheared(th, th1, thm):
        return stresses(th, th1, thm)[1]

    th1 = brentq(lambda t: r * b * integral(lifted, t) - load, 1e-4, 0.5 * math.pi, rtol=1e-9, xtol=1e-12)
    return th1, r * b * integral(pulled, th1), r * r * b * integral(sheared, th1)


def main():
    rows = [[float(x) for x in line.split(",")] for line in sys.stdin if line.strip()]
    solve(*rows[0])
    start = time.process_time()
    answers = [solve(*row) for row in rows]
    spent = time.process_time() - start
    for answer in answers:
        print(",".join(f"{x:.15g}" for x in answer))
    print(f"seconds_per_wheel,{spent / len(rows):.9g}")


if __name__ == "__main__":
    main()
