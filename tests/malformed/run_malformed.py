#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Malformed campaigns, one defect each, then two or three defects at once.

Usage: run_malformed.py PROGRAM [--only NAME] [--combinations N] [--seed N]

Each row of defects.toml edits a copy of base/, which itself must pass. The program must refuse it (exit 2) within the time
limit, name the place in one line of the message, and leave neither a crash nor an output folder behind.
"""
import argparse
import pathlib
import random
import re
import sys
import tempfile
import tomllib

HERE = pathlib.Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "cli"))
import harness  # noqa: E402

LIMIT_S = 20
LEAST_DEFECTS = 60  # the promise made for this table


def refusal_lines(stderr):
    """Lines that tell a refusal; remarks do not count."""
    part = stderr.split("Remarks (")[0]
    return [line.strip() for line in part.splitlines() if line.startswith("  ")]


def try_defects(program, defects, verb, scratch):
    """Applies the edits of all the defects and runs the verb. Nothing where they do not fit together."""
    folder = pathlib.Path(scratch) / "case"
    harness.copy_folder(HERE / "base", folder)
    for defect in defects:
        for edit in defect["edits"]:
            harness.apply_edit(folder, edit)
    outcome = harness.run(program, [verb, "case"], scratch, limit_s=LIMIT_S)
    faults = []
    if outcome.code != 2:
        faults.append(f"{outcome.ending()}, expected exit 2")
    if outcome.crashed:
        faults.append("crash, hang or fault in the program")
    lines = refusal_lines(outcome.stderr)
    if not lines:
        faults.append("no refusal is told")
    for line in lines:
        if len(line) > 2000:
            faults.append(f"a refusal of {len(line)} characters")
    left = sorted(p.name for p in folder.iterdir() if p.name in ("out", "ledger.sqlite") or p.name.startswith(".out"))
    if left:
        faults.append(f"left behind: {left}")
    return outcome, lines, faults


def tell(name, defects, verb, faults, outcome):
    print(f"FAIL {name} ({verb})")
    for fault in faults:
        print(f"    {fault}")
    for defect in defects:
        for edit in defect["edits"]:
            print(f"    edit: {str(edit)[:300]}")
    print(f"    {outcome.ending()}; stderr:\n{harness.indented(outcome.stderr)}    stdout:\n{harness.indented(outcome.stdout, 500)}", end="")


def one_defect_each(program, defects, only):
    failed = tried = 0
    for defect in defects:
        if only and only not in defect["name"]:
            continue
        for verb in ("check", "run") if defect.get("run") else ("check",):
            with tempfile.TemporaryDirectory(prefix="hardpan-malformed-") as scratch:
                try:
                    outcome, lines, faults = try_defects(program, [defect], verb, scratch)
                except harness.EditError as error:
                    tried += 1
                    failed += 1
                    print(f"FAIL {defect['name']}: {error}")
                    continue
            tried += 1
            # Every text of `names` must stand in one and the same line; plain digits must not merge with others.
            patterns = [re.escape(n) + (r"(?!\d)" if n[-1].isdigit() else "") for n in defect["names"]]
            if not any(all(re.search(p, line) for p in patterns) for line in lines):
                faults.append(f"no refusal names all of {defect['names']}")
            faults += [f"the message says {n!r}" for n in defect.get("not_told", []) if n in outcome.stderr]
            if faults:
                failed += 1
                tell(defect["name"], [defect], verb, faults, outcome)
    return tried, failed


def combined(program, defects, count, seed):
    """Two or three defects at once: refused, never a crash, hang or empty message, and one of the files is named."""
    random_ = random.Random(seed)
    failed = tried = attempts = 0
    while tried < count and attempts < 20 * count:
        attempts += 1
        chosen = random_.sample(defects, random_.choice((2, 3)))
        verb = "run" if random_.random() < 0.1 else "check"
        with tempfile.TemporaryDirectory(prefix="hardpan-malformed-") as scratch:
            try:
                outcome, lines, faults = try_defects(program, chosen, verb, scratch)
            except harness.EditError:
                continue  # one edit took away what the other one edits
        tried += 1
        files = {re.split(r":\d", d["names"][0])[0].removesuffix(":") for d in chosen}
        if not any(f in line for f in files for line in lines):
            faults.append(f"none of {sorted(files)} is named")
        if faults:
            failed += 1
            tell(f"seed {seed}, combination {tried}: " + " + ".join(d["name"] for d in chosen), chosen, verb, faults, outcome)
    if tried < count:
        failed += 1
        print(f"FAIL only {tried} of {count} combinations could be made")
    return tried, failed


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("program")
    parser.add_argument("--only", help="only defects whose name contains this; no combinations")
    parser.add_argument("--combinations", type=int, default=150)
    parser.add_argument("--seed", type=int, default=20260412)
    args = parser.parse_args()
    program = str(pathlib.Path(args.program).resolve())
    defects = tomllib.loads((HERE / "defects.toml").read_text(encoding="utf-8"))["defect"]
    names = [d["name"] for d in defects]
    if len(set(names)) != len(names):
        sys.exit(f"defects.toml: repeated names {sorted({n for n in names if names.count(n) > 1})}")
    with tempfile.TemporaryDirectory(prefix="hardpan-malformed-") as scratch:
        harness.copy_folder(HERE / "base", pathlib.Path(scratch) / "case")
        base = harness.run(program, ["check", "case"], scratch, limit_s=LIMIT_S)
    if base.code != 0:
        print(f"FAIL the base campaign must pass, but: {base.ending()}\n{harness.indented(base.stderr)}", end="")
        return 1
    tried, failed = one_defect_each(program, defects, args.only)
    more_tried, more_failed = (0, 0) if args.only else combined(program, defects, args.combinations, args.seed)
    print(f"malformed: {len(defects)} defects, {tried} runs, {failed} failed; {more_tried} combinations (seed {args.seed}), {more_failed} failed")
    if tried == 0 or (not args.only and len(defects) < LEAST_DEFECTS):
        print(f"FAIL at least {LEAST_DEFECTS} defects must be tried")
        return 1
    return 1 if failed + more_failed else 0


if __name__ == "__main__":
    sys.exit(main())
