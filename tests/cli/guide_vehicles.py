#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""The vehicle files that docs/guide/campaign-files.md calls complete are taken as they stand.

Usage: guide_vehicles.py PROGRAM

A complete file is a fenced block whose first line begins with "# Complete". Each must answer tipover without a refusal or a remark.
"""
import pathlib
import re
import subprocess
import sys
import tempfile

GUIDE = pathlib.Path(__file__).resolve().parent.parent.parent / "docs" / "guide" / "campaign-files.md"
LEAST = 2


def chain_faults(program, block):
    """Several bodies are taken by their joints on slopes and in turns; without frame steering a joint that yaws tows a trailer, which is not turned."""
    soil = ["--gravity", "9.81 m/s^2", "--soil", "lete_sand", "--K", "15 mm"]
    towing = block[:block.index("[steering]")]
    asked = [(["slope", "--headings", "4", *soil], block, 0, "Several bodies"), (["turn", "--radius", "6 m", *soil], block, 0, "6.0"), (["turn", *soil], towing, 2, "path of a trailer")]
    faults = []
    for arguments, text, code, words in asked:
        with tempfile.TemporaryDirectory() as scratch:
            (pathlib.Path(scratch) / "vehicle.toml").write_text(text)
            told = subprocess.run([program, *arguments, "--vehicle", "vehicle.toml"], cwd=scratch, capture_output=True, text=True, timeout=60)
        if told.returncode != code or words not in told.stdout + told.stderr:
            faults.append(f"several bodies, {arguments[0]}: exit {told.returncode}, not {code} with \"{words}\"\n{told.stdout}{told.stderr}")
    return faults


def main():
    program = str(pathlib.Path(sys.argv[1]).resolve())
    blocks = re.findall(r"^```toml\n(# Complete.*?)^```", GUIDE.read_text(encoding="utf-8"), flags=re.M | re.S)
    faults = [] if len(blocks) >= LEAST else [f"{len(blocks)} complete files where {LEAST} should be"]
    for block in blocks:
        with tempfile.TemporaryDirectory(prefix="hardpan-guide-") as scratch:
            (pathlib.Path(scratch) / "vehicle.toml").write_text(block, encoding="utf-8")
            told = subprocess.run([program, "tipover", "--vehicle", "vehicle.toml", "--gravity", "9.81 m/s^2"], cwd=scratch, capture_output=True, text=True, timeout=60)
        if told.returncode != 0 or told.stderr or "tips" not in told.stdout.lower():
            faults.append(f"{block.splitlines()[0]}: exit {told.returncode}\n{told.stdout}{told.stderr}")
        elif (block.count("[[body]]") > 1) != ("Joints: " in told.stdout):
            faults.append(f"{block.splitlines()[0]}: what joints do to its tipping is told wrongly\n{told.stdout}")
    for block in blocks:
        if block.count("[[body]]") > 1:
            faults += chain_faults(program, block)
    print(f"guide_vehicles: {len(blocks)} files, {len(faults)} failed")
    for fault in faults:
        print("FAIL " + fault)
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
