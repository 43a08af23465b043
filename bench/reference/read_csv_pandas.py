#!/usr/bin/python3
# SPDX-License-Identifier: Apache-2.0
"""The reference for csv_bench: pandas.read_csv of the same file, fastest of several runs.

usage: read_csv_pandas.py FILE [repeats]   (heading lines: names, units)
"""
import resource
import sys
import time

import pandas


def main():
    path = sys.argv[1]
    repeats = int(sys.argv[2]) if len(sys.argv) > 2 else 5
    for label, options in (
        ("pandas.read_csv", {}),
        ("pandas.read_csv exact", {"float_precision": "round_trip"}),
    ):
        best = processor = float("inf")
        for _ in range(repeats):
            begin, used = time.perf_counter(), time.process_time()
            frame = pandas.read_csv(path, skiprows=[1], **options)
            best = min(best, time.perf_counter() - begin)
            processor = min(processor, time.process_time() - used)
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(f"{label:24} wall {best:8.3f} s  processor {processor:8.3f} s {len(frame) / best:12.0f} rows/s  peak {peak:7.1f} MB  "
              f"rows {len(frame)}  sum {frame.iloc[:, -1].sum():.9g}")


if __name__ == "__main__":
    main()
