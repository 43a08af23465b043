#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""What one would write with SciPy: the least friction that holds a chain of bodies on its wheels, pose by pose.

Reads poses (a line each on standard input: bodies, axles; of every body x, z of its centre of gravity and weight; of every joint x, z; of every axle its body, whether
it touches, x, z of the contact and the slope there), and prints the least friction of each, then the processor time a pose. Every body is balanced by itself (three rows);
unknown are the push and pull of every wheel and the two forces of every free joint. Whether a friction suffices is a linear program (linprog, HiGHS); it is halved to 1e-7.
"""
import math
import sys
import time

import numpy as np
from scipy.optimize import linprog


def read(line):
    numbers = [float(x) for x in line.split(",")]
    bodies, axles = int(numbers[0]), int(numbers[1])
    rest = iter(numbers[2:])
    take = lambda count: [next(rest) for _ in range(count)]
    return [take(3) for _ in range(bodies)], [take(2) for _ in range(bodies - 1)], [take(5) for _ in range(axles)]


def balance(bodies, joints, contacts):
    """Rows of force x, force z and moment about the centre of gravity, body by body."""
    weight = sum(b[2] for b in bodies)
    columns = 2 * len(contacts) + 2 * len(joints)
    rows, right = np.zeros((3 * len(bodies), columns)), np.zeros(3 * len(bodies))

    def add(column, body, fx, fz, x, z):
        rows[3 * body, column] += fx
        rows[3 * body + 1, column] += fz
        rows[3 * body + 2, column] += (x - bodies[body][0]) * fz - (z - bodies[body][1]) * fx

    for i, (body, _, x, z, slope) in enumerate(contacts):
        add(2 * i, int(body), -math.sin(slope), math.cos(slope), x, z)
        add(2 * i + 1, int(body), math.cos(slope), math.sin(slope), x, z)
    for j, (x, z) in enumerate(joints):
        for axis in (0, 1):
            for body, sign in ((j, 1.0), (j + 1, -1.0)):
                add(2 * len(contacts) + 2 * j + axis, body, sign * (axis == 0), sign * (axis == 1), x, z)
    for b, (_, _, own) in enumerate(bodies):
        right[3 * b + 1] = own / weight
    return rows, right


def least_friction(bodies, joints, contacts):
    contacts = [c for c in contacts if c[1]]
    rows, right = balance(bodies, joints, contacts)
    columns = rows.shape[1]
    bounds = [(0, 10) if i < 2 * len(contacts) and i % 2 == 0 else (None, None) for i in range(columns)]

    def excess(friction):
        # The least t with |T| - mu N <= t.
        over = np.zeros((2 * len(contacts), columns + 1))
        for i in range(len(contacts)):
            for k, sign in enumerate((1.0, -1.0)):
                over[2 * i + k, 2 * i + 1] = sign
                over[2 * i + k, 2 * i] = -friction
                over[2 * i + k, -1] = -1
        cost = np.zeros(columns + 1)
        cost[-1] = 1
        answer = linprog(cost, A_ub=over, b_ub=np.zeros(len(over)), A_eq=np.hstack([rows, np.zeros((len(rows), 1))]), b_eq=right, bounds=bounds + [(-1, None)], method="highs")
        return answer.fun if answer.status == 0 else math.inf

    if excess(0) <= 1e-7:
        return 0.0
    low, high = 0.0, 5.0
    while high - low > 1e-7:
        middle = 0.5 * (low + high)
        if excess(middle) <= 1e-9:
            high = middle
        else:
            low = middle
    return high


def main():
    poses = [read(line) for line in sys.stdin if line.strip()]
    least_friction(*poses[0])
    start = time.process_time()
    answers = [least_friction(*pose) for pose in poses]
    spent = time.process_time() - start
    for answer in answers:
        print(f"{answer:.12g}")
    print(f"seconds_per_pose,{spent / len(poses):.9g}")


if __name__ == "__main__":
    main()
