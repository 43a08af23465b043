#!/usr/bin/python3
# SPDX-License-Identifier: Apache-2.0
"""The reference for csv_bench's "read and clean": the same file read with pandas and cleaned of the same defects, as
someone who knows pandas would write it. Nothing is averaged and no checksum is taken, so it does less.

usage: clean_log_pandas.py FILE [repeats]   (heading lines: names, units)
"""
import resource
import sys
import time

import numpy
import pandas

NEEDED = ["force", "speed", "wheel_speed"]
CAN_SATURATE = ["torque", "current"]
FORCE_RANGE = 1990.0


def clean(path):
    frame = pandas.read_csv(path, skiprows=[1])
    found = {}
    # Time that is missing, repeats or runs backward.
    latest = frame["time"].cummax().shift(fill_value=-numpy.inf)
    rising = frame["time"] > latest
    found["time"] = int((~rising).sum())
    steps = frame.loc[rising, "time"].diff().to_numpy()[1:]
    found["gaps"] = int((steps > 10 * numpy.median(steps)).sum())
    # Readings at the end of a range, and flat tops.
    found["saturated"] = int((frame["force"].abs() >= 0.999 * FORCE_RANGE).sum())
    for name in CAN_SATURATE:
        at_top = frame[name].abs() == frame[name].abs().max()
        run = at_top.groupby((~at_top).cumsum()).cumsum()
        found[f"flat {name}"] = int((run >= 5).sum())
    # Channels that stand still for 50 rows or more while another moves.
    changes = frame.drop(columns="time").diff() != 0
    for name in changes:
        run = changes[name].cumsum()
        sizes = run.value_counts()
        if sizes.iloc[0] >= 50 and frame.loc[run == sizes.index[0], name].iloc[0] != 0:
            others = changes.loc[run == sizes.index[0]].drop(columns=name).iloc[1:]
            if others.any(axis=None):
                found[f"stuck {name}"] = int(sizes.iloc[0])
    # Rows that lack a needed number go.
    finite = numpy.isfinite(frame[NEEDED]).all(axis=1)
    frame = frame[rising & finite]
    found["not finite"] = int((rising & ~finite).sum())
    return frame, found


def main():
    path = sys.argv[1]
    repeats = int(sys.argv[2]) if len(sys.argv) > 2 else 3
    best = processor = float("inf")
    for _ in range(repeats):
        begin, used = time.perf_counter(), time.process_time()
        frame, found = clean(path)
        best = min(best, time.perf_counter() - begin)
        processor = min(processor, time.process_time() - used)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{'pandas, read and clean':26} wall {best:8.3f} s  processor {processor:8.3f} s {len(frame) / best:12.0f} rows/s  peak {peak:7.1f} MB  "
          f"rows {len(frame)}  sum {frame.iloc[:, -1].sum():.9g}")
    print("  " + ", ".join(f"{k} {v}" for k, v in found.items()))


if __name__ == "__main__":
    main()
