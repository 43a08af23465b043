#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Wheel-soil reference by SciPy: writes tests/data/wheel_reference.csv.

A slow and plain reading of the equations in docs/theory/contact.md, sharing no code with the program:
adaptive quadrature (scipy.integrate.quad) in the angle itself, split where the integrand has a kink,
a scan for the first rise of the load through the demand and brentq there.

    /usr/bin/python3 tools/wheel_reference.py            writes the table (a few seconds)

One row a case; every input is in the row, so the table can be checked without this script.
"""
import csv
import math
import pathlib
import warnings

import numpy as np
from scipy.integrate import IntegrationWarning, quad
from scipy.optimize import brentq

OUT = pathlib.Path(__file__).resolve().parent.parent / "tests" / "data" / "wheel_reference.csv"
INPUTS = ["case", "kind", "radius_m", "width_m", "grouser_height_m", "stiffness_n_per_m", "hysteresis_share",
          "rolling_radius_m", "law", "n", "first_modulus", "second_modulus", "shear_law", "cohesion_pa", "tan_phi",
          "shear_modulus_m", "residual_ratio", "adhesion_pa", "tan_delta", "density_kg_m3", "gravity_m_s2",
          "c1", "c2", "c1_braking", "c2_braking", "exit_ratio", "rebound_k0", "rebound_au", "slip_rule",
          "slip_exponent", "load_n", "slip_ratio", "slip_angle_rad"]
OUTPUTS = ["status", "entry_angle_rad", "exit_angle_rad", "peak_stress_angle_rad", "sinkage_m", "deflection_m",
           "pull_n", "torque_n_m", "side_force_n", "max_normal_stress_pa", "largest_load_n"]


class Wheel:
    """One row of inputs as attributes, with the stresses of a wheel at a given sinkage."""

    def __init__(self, row):
        self.__dict__.update(row)
        s, b = self.slip_ratio, self.width_m
        if self.law == "bekker":
            self.k, self.q = self.first_modulus / b + self.second_modulus, 0.0
        elif self.law == "reece":
            self.k, self.q = (self.first_modulus + self.second_modulus * b) / b ** self.n, 0.0
        else:  # muskeg, hydraulic diameter 2 b
            self.k, self.q = self.first_modulus, 4 * self.second_modulus / (2 * b)
        self.exponent, self.stretch = self.n, 1.0
        if self.slip_rule == "exponent":
            self.exponent = self.n + self.slip_exponent * abs(s)
        if self.slip_rule == "stretch":
            self.stretch = (1 + abs(s)) / (1 - 0.5 * abs(s))
        self.r_s = self.radius_m + self.grouser_height_m
        c1, c2 = (self.c1, self.c2) if s >= 0 else (self.c1_braking, self.c2_braking)
        self.peak_ratio = min(c1 + c2 * abs(s), 0.8)

    def deflection(self, load):
        return load / self.stiffness_n_per_m if self.stiffness_n_per_m else 0.0

    def pressure(self, z):
        z = z / self.stretch
        return self.k * z ** self.exponent + self.q * z * z if z > 0 else 0.0

    def geometry(self, z0, f):
        r = self.radius_m
        if self.stiffness_n_per_m:
            d = 2 * r
            length = math.sqrt(d * (z0 + f) - (z0 + f) ** 2) + math.sqrt(d * f - f * f)
            d_star = z0 + length ** 2 / z0
            radius, th1 = d_star / 2, math.acos(1 - 2 * z0 / d_star)
        else:
            radius, th1 = r, math.acos(1 - z0 / r)
        if self.rebound_k0:
            p = self.pressure(z0)
            h = z0 * 1e-4  # central difference of fourth order for dp/dz
            slope = (8 * (self.pressure(z0 + h) - self.pressure(z0 - h))
                     - (self.pressure(z0 + 2 * h) - self.pressure(z0 - 2 * h))) / (12 * h)
            ku = max(self.rebound_k0 + self.rebound_au * z0, p / z0, slope)
            th2 = -math.acos(1 - p / ku / radius)
        else:
            th2 = -self.exit_ratio * th1
        return radius, th1, self.peak_ratio * th1, th2

    def share(self, j):
        y = j / self.shear_modulus_m
        if y > 700:
            y = 700.0
        if self.shear_law == "exponential":
            return -math.expm1(-y)
        if self.shear_law == "hump":
            return y * math.exp(1 - y)
        kr = self.residual_ratio
        return kr * (1 + (1 / (kr * (1 - 1 / math.e)) - 1) * math.exp(1 - y)) * -math.expm1(-y)

    def stresses(self, th, g):
        radius, th1, thm, th2 = g
        s = self.slip_ratio
        mirrored = th if th >= thm else th1 - (th - th2) / (thm - th2) * (th1 - thm)
        sigma = self.pressure(radius * (math.cos(mirrored) - math.cos(th1)))
        top = self.cohesion_pa + sigma * self.tan_phi
        if self.adhesion_pa >= 0:
            top = min(top, self.adhesion_pa + sigma * self.tan_delta)
        arm = radius + self.grouser_height_m
        tan_d = abs(math.tan(self.slip_angle_rad))
        if s >= 0:
            jx = arm * ((th1 - th) - (1 - s) * (math.sin(th1) - math.sin(th)))
            jy = arm * (1 - s) * tan_d * (th1 - th)
        elif s > -1:
            jx = arm * ((th1 - th) - (math.sin(th1) - math.sin(th)) / (1 + s))
            jy = arm / (1 + s) * tan_d * (th1 - th)
        else:  # locked: direction of the limit, full strength
            jx, jy = -1e9 * (math.sin(th1) - math.sin(th)), 1e9 * tan_d * (th1 - th)
        j = math.hypot(jx, jy)
        if j == 0:
            return sigma, 0.0, 0.0
        tau = top * self.share(j)
        return sigma, tau * jx / j, tau * jy / j

    def kinks(self, g):
        radius, th1, thm, th2 = g
        out = []
        s = self.slip_ratio
        if s < 0 and s > -1:
            def travel(th):
                return (1 + s) * (th1 - th) - (math.sin(th1) - math.sin(th))
            turn = math.acos(1 + s)
            for a, b in ((max(-turn, th2), min(turn, th1)), (th2, -turn)):
                if a < b and travel(a) * travel(b) < 0:
                    out.append(brentq(travel, a, b, xtol=1e-15))
        if self.adhesion_pa >= 0 and self.tan_delta != self.tan_phi:
            sigma = (self.cohesion_pa - self.adhesion_pa) / (self.tan_delta - self.tan_phi)
            bottom = radius * (math.cos(thm) - math.cos(th1))
            if 0 < sigma < self.pressure(bottom):
                z = brentq(lambda z: self.pressure(z) - sigma, 0, bottom, xtol=1e-16)
                th = math.acos(math.cos(th1) + z / radius)
                out += [th, th2 + (th1 - th) * (thm - th2) / (th1 - thm)]
        return out

    def integral(self, f, g):
        radius, th1, thm, th2 = g
        cuts = sorted({th2, thm, th1} | {k for k in self.kinks(g) if th2 < k < th1})
        total = 0.0
        for a, b in zip(cuts, cuts[1:]):
            if b - a > 1e-14:
                total += quad(f, a, b, epsabs=0, epsrel=1e-11, limit=400)[0]
        return total

    def load(self, z0, f):
        g = self.geometry(z0, f)
        def along(th):
            sigma, tx, _ = self.stresses(th, g)
            return sigma * math.cos(th) + tx * math.sin(th)
        return g[0] * self.width_m * self.integral(along, g)

    def solve(self):
        """Status and sinkage: the smallest z0 at which the load rises through the demand."""
        f = self.deflection(self.load_n)
        last = self.radius_m - f
        largest = -math.inf
        before = 0.0
        for t in np.linspace(0, math.acos(1 - last / self.radius_m), 121)[1:]:
            z = self.radius_m * (1 - math.cos(t))
            load = self.load(z, f)
            largest = max(largest, load)
            if load >= self.load_n:
                z0 = brentq(lambda z: self.load(z, f) - self.load_n, before, z, xtol=1e-16, rtol=1e-14) if before else \
                    brentq(lambda z: self.load(z, f) - self.load_n, z * 1e-9, z, xtol=1e-16, rtol=1e-14)
                return "carried", z0, math.nan
            before = z
        return "bogs_down", math.nan, largest

    def answer(self):
        status, z0, largest = self.solve()
        if status != "carried":
            return dict(status=status, largest_load_n=largest)
        f = self.deflection(self.load_n)
        g = self.geometry(z0, f)
        radius, th1, thm, th2 = g
        area = radius * self.width_m
        pull = area * self.integral(lambda th: self.stresses(th, g)[1] * math.cos(th) - self.stresses(th, g)[0] * math.sin(th), g)
        shear = area * self.integral(lambda th: self.stresses(th, g)[1], g)
        arm = self.r_s if not self.stiffness_n_per_m else (self.rolling_radius_m or self.r_s - f / 3)
        torque = arm * shear
        if self.hysteresis_share and f > 0 and self.slip_ratio > -1:
            firm = 2 * math.sqrt(2 * self.radius_m * f - f * f)
            torque += arm * self.hysteresis_share * self.load_n * f / (2 * firm)
        side = 0.0
        if self.slip_angle_rad:
            side = area * self.integral(lambda th: self.stresses(th, g)[2], g)
            kp = math.tan(math.pi / 4 + math.atan(self.tan_phi) / 2) ** 2
            s = self.slip_ratio
            ratio = 1 - s if s >= 0 else 1 / (1 + s) if s > -1 else 1e12
            def wall(th):
                z = radius * (math.cos(th) - math.cos(th1))
                jy = (radius + self.grouser_height_m) * ratio * abs(math.tan(self.slip_angle_rad)) * (th1 - th)
                passive = 0.5 * self.gravity_m_s2 * self.density_kg_m3 * z * z * kp + 2 * self.cohesion_pa * z * math.sqrt(kp)
                return passive * -math.expm1(-jy / self.shear_modulus_m) * radius * math.cos(th)
            side += quad(wall, -th1, th1, epsabs=0, epsrel=1e-11, limit=400)[0]
        return dict(status="carried", entry_angle_rad=th1, exit_angle_rad=th2, peak_stress_angle_rad=thm, sinkage_m=z0,
                    deflection_m=f, pull_n=pull, torque_n_m=torque, side_force_n=-math.copysign(side, self.slip_angle_rad),
                    max_normal_stress_pa=self.pressure(radius * (math.cos(thm) - math.cos(th1))))


KINDS = (["driving"] * 50 + ["braking"] * 40 + ["oblique"] * 30 + ["flexible"] * 30 + ["exit"] * 12 + ["rebound"] * 8
         + ["metal"] * 12 + ["slip_sinkage"] * 8 + ["peak_residual"] * 4 + ["mat"] * 4 + ["locked"] * 2)


def draw(rng, case, kind):
    """A random soil and wheel, sizes from a light robot to a truck."""
    def between(a, b):
        return float(rng.uniform(a, b))

    def log_between(a, b):
        return float(math.exp(rng.uniform(math.log(a), math.log(b))))
    radius = log_between(0.1, 0.9)
    row = dict(case=case, kind=kind, radius_m=radius, width_m=radius * between(0.3, 1.0), grouser_height_m=0.0,
               stiffness_n_per_m=0.0, hysteresis_share=0.0, rolling_radius_m=0.0, law="bekker", n=between(0.3, 1.6),
               shear_law="exponential", cohesion_pa=float(rng.choice([0.0, log_between(100, 20e3)])),
               tan_phi=between(0.1, 0.9), shear_modulus_m=log_between(0.005, 0.05), residual_ratio=1.0, adhesion_pa=-1.0,
               tan_delta=0.0, density_kg_m3=between(1200, 2000), gravity_m_s2=float(rng.choice([9.81, 3.71, 1.62])),
               c1=between(0, 0.5), c2=between(0, 0.45), c1_braking=between(0, 0.4), c2_braking=between(-0.0, 0.4),
               exit_ratio=0.0, rebound_k0=0.0, rebound_au=0.0, slip_rule="none", slip_exponent=0.0,
               slip_ratio=between(0, 1), slip_angle_rad=0.0)
    if rng.random() < 0.4:
        row["grouser_height_m"] = radius * between(0.02, 0.1)
    # Pressure at a depth of a tenth of the radius between 5 and 500 kPa names the modulus.
    target = log_between(5e3, 500e3)
    k = target / (0.1 * radius) ** row["n"]
    share = between(0, 0.5)
    row["first_modulus"], row["second_modulus"] = share * k * row["width_m"], (1 - share) * k
    if case % 7 == 3:
        row["law"] = "reece"
        scale = row["width_m"] ** row["n"]
        row["first_modulus"], row["second_modulus"] = share * k * scale, (1 - share) * k * scale / row["width_m"]
    if kind in ("braking",) or (kind in ("oblique", "flexible", "exit", "metal", "slip_sinkage") and rng.random() < 0.4):
        row["slip_ratio"] = -between(0, 0.95) if rng.random() < 0.6 else -between(0, 0.1)
    if kind == "locked":
        row["slip_ratio"] = -1.0
    if kind == "oblique" or (kind in ("flexible", "locked") and rng.random() < 0.3):
        row["slip_angle_rad"] = float(rng.choice([-1, 1])) * between(0.01, 0.6)
    if kind == "exit":
        row["exit_ratio"] = between(0.05, 0.6)
    if kind == "rebound":
        row["rebound_k0"], row["rebound_au"] = target / (0.1 * radius) * between(1, 10), target / (0.1 * radius) ** 2 * between(0, 20)
    if kind == "metal":
        row["grouser_height_m"] = 0.0
        row["cohesion_pa"] = log_between(500, 10e3)
        if rng.random() < 0.5:
            row["adhesion_pa"], row["tan_delta"] = row["cohesion_pa"] * between(0, 0.8), row["tan_phi"] * between(1.05, 1.4)
        else:
            row["adhesion_pa"], row["tan_delta"] = row["cohesion_pa"] * between(1.05, 2), row["tan_phi"] * between(0.4, 0.9)
    if kind == "slip_sinkage":
        row["slip_rule"] = "exponent" if case % 2 else "stretch"
        row["slip_exponent"] = between(0.1, 0.5) if case % 2 else 0.0
    if kind == "peak_residual":
        row["shear_law"], row["residual_ratio"] = "peak_residual", between(0.4, 0.9)
    if kind == "mat":
        row.update(shear_law="hump", law="muskeg", n=1.0, first_modulus=log_between(1e5, 1e6), second_modulus=log_between(1e4, 1e6))
    wanted = radius * log_between(0.005, 0.4)  # sinkage aimed at while driving at a slip of 0.2
    trial = dict(row, slip_ratio=0.2, slip_angle_rad=0.0, load_n=0.0)
    load = Wheel(trial).load(wanted, 0.0)
    row["load_n"] = float(f"{load:.6g}")
    if kind == "flexible":
        row["stiffness_n_per_m"] = row["load_n"] / (radius * log_between(0.002, 0.25))
        row["hysteresis_share"] = between(0, 0.4)
        if rng.random() < 0.5:
            row["rolling_radius_m"] = radius * between(0.9, 1.0)
    return row


def main():
    # Pull, torque and side force may cancel to nearly nothing and then miss a relative 1e-11; they are compared
    # on the scale of the load.
    warnings.simplefilter("ignore", IntegrationWarning)
    rng = np.random.default_rng(20240611)
    OUT.parent.mkdir(parents=True, exist_ok=True)
    with OUT.open("w", newline="") as handle:
        handle.write("# Written by tools/wheel_reference.py (SciPy quad and brentq); invented soils and wheels. Do not edit.\n")
        writer = csv.DictWriter(handle, INPUTS + OUTPUTS, lineterminator="\n")
        writer.writeheader()
        for case, kind in enumerate(KINDS):
            row = draw(rng, case, kind)
            row.update({key: math.nan for key in OUTPUTS})
            row.update(Wheel(row).answer())
            writer.writerow({k: (f"{v:.17g}" if isinstance(v, float) else v) for k, v in row.items()})


if __name__ == "__main__":
    main()
