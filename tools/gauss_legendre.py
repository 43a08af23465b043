#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Writes src/math/gauss_legendre_table.hpp: nodes and weights of Gauss-Legendre quadrature.

Nodes are roots of the Legendre polynomial P_n, found by Newton's method in 60 decimal digits from
cos(pi (i - 1/4) / (n + 1/2)); weights are 2 / ((1 - x^2) P_n'(x)^2) (Abramowitz and Stegun 1964, 25.4.29).
Run without arguments from anywhere; with --check it only says whether the file is what it would write.
"""
import decimal
import math
import pathlib
import sys

ORDERS = (8, 12, 16, 20, 24, 32)
TARGET = pathlib.Path(__file__).resolve().parent.parent / "src" / "math" / "gauss_legendre_table.hpp"
D = decimal.Decimal


def legendre(n, x):
    """P_n and its derivative at x, by the three-term recurrence (A. and S. 22.7.10, 22.8.5)."""
    before, now = D(1), x
    for k in range(2, n + 1):
        before, now = now, ((2 * k - 1) * x * now - (k - 1) * before) / k
    return now, n * (x * now - before) / (x * x - 1)


def rule(n):
    nodes, weights = [], []
    for i in range(n // 2, 0, -1):  # positive nodes, smallest first
        x = D(math.cos(math.pi * (i - 0.25) / (n + 0.5)))
        for _ in range(8):
            value, slope = legendre(n, x)
            x -= value / slope
        nodes.append(x)
        weights.append(2 / ((1 - x * x) * legendre(n, x)[1] ** 2))
    return nodes, weights


def rows(numbers):
    return ",\n".join(f"      {number:.25e}" for number in numbers)


def text():
    out = ["// SPDX-License-Identifier: Apache-2.0",
           "// Written by tools/gauss_legendre.py; do not edit. Nodes and weights on [-1, 1], nodes rising.",
           "#pragma once", "", "#include <array>", "", "namespace hardpan::math {", "",
           "template <int N>", "struct GaussLegendre;  // N = " + ", ".join(map(str, ORDERS)), ""]
    for n in ORDERS:
        nodes, weights = rule(n)
        out += ["template <>", f"struct GaussLegendre<{n}> {{",
                f"  static constexpr std::array<double, {n}> node{{",
                rows([-x for x in reversed(nodes)] + nodes) + "};",
                f"  static constexpr std::array<double, {n}> weight{{",
                rows(list(reversed(weights)) + weights) + "};", "};", ""]
    return "\n".join(out + ["}  // namespace hardpan::math", ""])


def main():
    decimal.getcontext().prec = 60
    if "--check" in sys.argv[1:]:
        if TARGET.read_text(encoding="ascii") != text():
            sys.exit(f"{TARGET.name} is not what tools/gauss_legendre.py writes; run it again")
        print(f"{TARGET.name} is up to date")
    else:
        TARGET.write_text(text(), encoding="ascii")


if __name__ == "__main__":
    main()
