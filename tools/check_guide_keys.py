#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Fails when a reader of campaign files asks for a key that docs/guide/campaign-files.md does not list.

Keys are taken from the calls in src/formats/*.cpp: k.quantity("mass", ...), t.tables("axle"), modulus(k, "kc") and the like, lists
of keys of a kind of record, and roles (.name = "sinkage"). A key is listed where it stands in the section of its file, as code:
before "=" or in a heading of a fenced block, as a word of a code span, or as a word of a row of a table.
"""
import pathlib
import re
import sys

ROOT = pathlib.Path(__file__).resolve().parent.parent
GUIDE = ROOT / "docs" / "guide" / "campaign-files.md"
SECTIONS = {"soil_file": "soils/NAME.toml", "vehicle_file": "vehicles/NAME.toml", "instrument_file": "instruments.toml",
            "requirement_file": "requirements.toml", "amend": "amendments.csv",
            "survey_sheets": "Sheets of quick answers"}
ELSEWHERE = "campaign.toml"  # records and their columns
ASKING = ("quantity|quantity_text|require_quantity|positive|not_negative|text|require_text|boolean|number|integer|date|texts|choice|value|"
          "require_value|has|table|tables|require_table|strings|numbers")
CALL = re.compile(r"(?P<who>[\w()]+(?:\(\))?)(?:\.|->)(?:%s)\(\"(?P<key>[A-Za-z]\w*)\"" % ASKING)
HELPER = re.compile(r"\b(?P<helper>share|modulus|channel|radius|positive)\((?:k, )?\"(?P<key>[A-Za-z]\w*)\"")
ENDINGS = {"modulus": ("", "_kN"), "channel": ("_range", "_resolution", "_gain_sd"), "radius": ("_radius", "_diameter")}
ROLE = re.compile(r"\.name = \"([a-z]\w*)\"")
READ_ROWS = ("sheet", "texts")  # these look into a sheet that has been read, by role


def keys_asked(path):
    """(line, key) of everything that a reader asks for by name."""
    text = path.read_text(encoding="utf-8")
    for call in CALL.finditer(text):
        if call["who"] not in READ_ROWS:
            yield text.count("\n", 0, call.start()) + 1, call["key"]
    for call in HELPER.finditer(text):
        if text[call.start() - 1] in ".>":
            continue
        for ending in ENDINGS.get(call["helper"], ("",)):
            yield text.count("\n", 0, call.start()) + 1, call["key"] + ending
    for role in ROLE.finditer(text):
        yield text.count("\n", 0, role.start()) + 1, role.group(1)
    for table in re.finditer(r"(?:kKeys|kRunKeys|\bwanted)\{(.*?)\};", text, flags=re.S):
        listed = re.sub(r"\{\"[^\"]+\", \{", "", table.group(1))  # kinds stand before their keys
        for key in re.findall(r"\"([a-z]\w*)\"", listed):
            yield text.count("\n", 0, table.start()) + 1, key


def keys_listed(section):
    found = set()
    fenced = re.findall(r"^```.*?^```", section, flags=re.M | re.S)
    for block in fenced:
        found |= set(re.findall(r"(\w+) =", block))
        for heading in re.findall(r"^\[+([\w.]+)\]+", block, flags=re.M):
            found |= set(heading.split("."))
        section = section.replace(block, "")
    for span in re.findall(r"`([^`\n]+)`", section):
        found |= set(re.findall(r"\w+", span))
    for row in re.findall(r"^\|.*$", section, flags=re.M):
        found |= set(re.findall(r"\w+", row))
    return found


def main():
    parts = re.split(r"^## (.+)$", GUIDE.read_text(encoding="utf-8"), flags=re.M)
    listed = {heading: keys_listed(body) for heading, body in zip(parts[1::2], parts[2::2])}
    faults, asked = {}, set()
    for path in sorted((ROOT / "src" / "formats").glob("*.cpp")):
        if path.stem.endswith("_test"):
            continue
        heading = SECTIONS.get(path.stem, ELSEWHERE)
        for line, key in keys_asked(path):
            asked.add((heading, key))
            if key not in listed.get(heading, set()):
                faults.setdefault((heading, key), f"src/formats/{path.name}:{line}: \"{key}\" is asked for and not listed under \"## {heading}\" of docs/guide/campaign-files.md")
    for fault in faults.values():
        print(fault)
    print(f"guide keys: {len(asked)} keys asked for, {len(faults)} not listed")
    if len(asked) < 150:
        print("guide keys: the calls of the readers are no longer found")
        return 1
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
