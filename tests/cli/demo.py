#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""The demo is worth its name only if validate finds and names the discrepancy that fieldsim put into the pulls. And in US units it
holds no value in SI but what was typed.

usage: demo.py HARDPAN FIELDSIM
"""
import json
import html as markup
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile


# A number and an SI unit that US output has another for. Those of both (s, deg, V, W, Wh, Hz, rpm) are left out.
SI_VALUE = re.compile(r"\d\s?(?:mm|cm|m|km|m/s|km/h|m/s2|Pa|kPa|MPa|N|kN|N m|N/mm|g|kg|J/m|Wh/km|kg/m3|N/m\S*|kN/m\S*)(?![\w/])")


def in_si(text, typed):
    """Values in SI in a text, those aside that stand in the campaign as typed."""
    for words in sorted(typed, key=len, reverse=True):
        text = text.replace(words, "")
    return [text[max(0, m.start() - 60):m.end() + 20] for m in SI_VALUE.finditer(text)]


def us_faults(hardpan, spit):
    us = spit.parent / "us"
    shutil.copytree(spit, us, ignore=shutil.ignore_patterns("out", "ledger*"))
    campaign = (us / "campaign.toml").read_text(encoding="utf-8")
    (us / "campaign.toml").write_text(campaign.replace('output_units = "SI"', 'output_units = "US"'), encoding="utf-8")
    typed = [words for key in ("position", "weather") for words in re.findall(rf'^{key} = "(.*)"$', campaign, re.M)]
    outputs = {verb: subprocess.run([hardpan, verb, str(us), "--quiet"], check=True, capture_output=True, text=True).stdout
               for verb in ("check", "drawbar", "run", "validate")}
    report = (us / "out" / "report.html").read_text(encoding="utf-8")
    report = re.sub(r"<(style|script)\b.*?</\1>", "", report, flags=re.S)
    report = re.sub(r"</(?:td|th|text|p|li|h\d|div|dt|dd|title|desc|caption|figcaption)>", "\n", report)
    outputs["the report"] = markup.unescape(re.sub(r"<[^>]+>", "", report))
    if " psi" not in outputs["the report"]:
        return ["the report in US units has no pressure in psi"]
    return [f"{where} of a US campaign speaks SI: {' | '.join(repr(f) for f in found[:5])}" for where, text in outputs.items() if (found := in_si(text, typed))]


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
        if len(verdicts) != 13 or set(verdicts.values()) != {"met", "not met", "not shown"}:
            faults.append(f"thirteen requirements, of which not all can be met or shown: {verdicts}")
        trials = results["trials_compared"]
        headings = [h for p in results["validation"] for h in p["headings"]]
        for what, found in {"steps": trials["obstacles"], "turns": trials["turns"], "remote runs": trials["remote_runs"], "slopes across": headings,
                            "trips": trials["trip_runs"], "rocks": trials["rock_runs"], "rough ground": trials["rough_runs"],
                            "the cut": [c for c in trials["obstacles"] if c["profile"]]}.items():
            if not found or not all(c["statement"] for c in found):
                faults.append(f"trials without a comparison: {what}")
        if not results["trials"]["paired"]:
            faults.append("two vehicles driven in turn are not compared")
        again = subprocess.run([hardpan, "run", str(spit), "--quiet"], check=True, capture_output=True, text=True)
        if "Nothing has changed" not in again.stdout:
            faults.append("the second run computed again")
        if not in_si("pressure at 94 mm", []):
            faults.append("the search for values in SI finds none where one stands")
        faults += us_faults(hardpan, spit)
    for fault in faults:
        print("FAIL", fault)
    print(f"demo: 6 checks, {len(faults)} failed")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
