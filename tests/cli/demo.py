#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""The demo is worth its name only if validate finds and names the discrepancy that fieldsim put into the pulls.

usage: demo.py HARDPAN FIELDSIM
"""
import json
import pathlib
import subprocess
import sys
import tempfile


def main():
    hardpan, fieldsim = sys.argv[1:3]
    faults = []
    with tempfile.TemporaryDirectory() as work:
        spit = pathlib.Path(work) / "spit"
        subprocess.run([fieldsim, str(spit)], check=True, stdout=subprocess.DEVNULL)
        subprocess.run([hardpan, "run", str(spit), "--quiet"], check=True, stdout=subprocess.DEVNULL)
        results = json.loads((spit / "out" / "results.json").read_text(encoding="utf-8"))["result"]
        html = (spit / "out" / "report.html").read_text(encoding="utf-8")
        pulls = [c for pair in results["validation"] if (pair["vehicle"], pair["zone"]) == ("dunlin", "foredune")
                 for c in pair["comparisons"] if c["quantity"] == "pull coefficient"]
        if not pulls or not pulls[0]["shape"]["shown"]:
            faults.append("the discrepancy of shape on the foredune is not shown")
        elif pulls[0]["shape"]["statement"][:20] not in html:
            faults.append("the report does not name the discrepancy")
        verdicts = {f["id"]: f["verdict"] for f in results["findings"]}
        if len(verdicts) != 5 or set(verdicts.values()) != {"met", "not met", "not shown"}:
            faults.append(f"five requirements, of which not all can be met or shown: {verdicts}")
        again = subprocess.run([hardpan, "run", str(spit), "--quiet"], check=True, capture_output=True, text=True)
        if "Nothing has changed" not in again.stdout:
            faults.append("the second run computed again")
    for fault in faults:
        print("FAIL", fault)
    print(f"demo: 4 checks, {len(faults)} failed")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
