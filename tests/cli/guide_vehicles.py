#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""The vehicle files that docs/guide/campaign-files.md calls complete are taken as they stand.

Usage: guide_vehicles.py PROGRAM

A complete file is a fenced block whose first line begins with "# Complete". Each must answer tipover without a refusal or a remark; one of several bodies
slopes and turns too, alone and in a campaign.
"""
import json
import math
import pathlib
import re
import subprocess
import sys
import tempfile

import harness

HERE = pathlib.Path(__file__).resolve().parent
GUIDE = HERE.parent.parent / "docs" / "guide" / "campaign-files.md"
LEAST = 2


def chain_faults(program, block):
    """Several bodies are taken by their joints on slopes and in turns; without frame steering a joint that yaws tows a trailer, which is not turned."""
    soil = ["--gravity", "9.81 m/s^2", "--soil", "lete_sand", "--K", "15 mm"]
    towing = block[:block.index("[steering]")]
    asked = [(["slope", "--headings", "4", *soil], block, 0, "Several bodies"), (["turn", "--radius", "6 m", *soil], block, 0, "6.0"), (["turn", *soil], towing, 2, "the towing bodies have one axle only")]
    faults = []
    for arguments, text, code, words in asked:
        with tempfile.TemporaryDirectory() as scratch:
            (pathlib.Path(scratch) / "vehicle.toml").write_text(text)
            told = subprocess.run([program, *arguments, "--vehicle", "vehicle.toml"], cwd=scratch, capture_output=True, text=True, timeout=60)
        if told.returncode != code or words not in told.stdout + told.stderr:
            faults.append(f"several bodies, {arguments[0]}: exit {told.returncode}, not {code} with \"{words}\"\n{told.stdout}{told.stderr}")
    return faults


CAMPAIGN = """
[[turn]]
vehicles = ["two-bodies"]
radii = ["8 m", "4 m"]
"""
REQUIREMENT = """
[[requirement]]
id = "R2"
text = "turns on the track"
quantity = "turning radius"
at_most = "8 m"
vehicle = "two-bodies"
zone = "field"
condition = "dry"
probability = "90 %"
confidence = "90 %"
method = "analysis"
"""


def campaign_faults(program, block):
    """Several bodies in a campaign and its report: slopes on every heading, that straight uphill agreeing with the gradient, a turn, and by what they stand."""
    with tempfile.TemporaryDirectory() as scratch:
        folder = pathlib.Path(scratch) / "spit"
        harness.copy_folder(HERE.parent / "malformed" / "base", folder)
        (folder / "vehicles" / "two-bodies.toml").write_text(block)
        for name, more in (("campaign.toml", CAMPAIGN), ("requirements.toml", REQUIREMENT)):
            with open(folder / name, "a", encoding="utf-8") as file:
                file.write(more)
        told = harness.run(program, ["run", "spit"], scratch)
        if told.code != 0:
            return [f"several bodies in a campaign: {told.ending()}\n{told.stdout}{told.stderr}"]
        result = json.loads((folder / "out" / "results.json").read_text())["result"]
        report = (folder / "out" / "report.html").read_text()
    faults = []
    pair = next(p for p in result["predictions"] if p["vehicle"] == "two-bodies")
    headings = pair["slopes_on_any_heading"]["headings"]
    if len(headings) < 12 or any(h["working"]["solve"]["status"] != "converged" for h in headings):
        faults.append("several bodies in a campaign: a heading without a slope")
    uphill = next(h for h in headings if h["heading_left_of_uphill_rad"] == 0)["working"]["gradient_rad"]
    gradient = pair["gradient_at_working_slip_rad"]["value"]
    if abs(uphill - gradient) > math.radians(0.2):
        faults.append(f"several bodies in a campaign: {uphill} rad straight uphill on any heading, {gradient} rad as the gradient")
    radius = next(f for f in result["findings"] if f["id"] == "R2")["value_m"]["value"]
    if not 1 < radius < 8:
        faults.append(f"several bodies in a campaign: turning radius {radius}")
    for words in ("several bodies by their joints, those that yaw held straight", "none yaws but the one that steers"):
        if words not in report:
            faults.append(f"several bodies in a campaign: the report does not say {words!r}")
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
            faults += chain_faults(program, block) + campaign_faults(program, block)
    print(f"guide_vehicles: {len(blocks)} files, {len(faults)} failed")
    for fault in faults:
        print("FAIL " + fault)
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
