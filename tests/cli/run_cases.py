#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Runs the cases of tests/cli/*.toml and of properties.py against the shipped program.

Usage: run_cases.py PROGRAM [--only TEXT]

A [[case]] has a name, a setup and steps. The setup is a list of edits in an empty folder, on top of a copy of `folder` (from the
top of the repository) named "case". A step gives `args`, and any of: `stdin`, `edits` (made before it), `code` (0 unless stated),
`stdout`, `stderr` (texts that must stand there), `not_stdout`, `not_stderr`, `files`, `no_files`, `zip` (archives: `file`, `member`,
and texts that it `has` or `lacks`), and `json`, a list of checks on the result: `path` by "/" ("*" takes every item, "id=R1" the items with that member), then `equals`, `near` with `within`,
`contains`, `type`, `least` (length or number), `most`, `absent = true`. With several values found, one must satisfy the check
unless `all = true`. Whatever is printed with --json must be strict JSON in the envelope of the program.
"""
import argparse
import pathlib
import sys
import tempfile
import tomllib
import zipfile

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parent.parent
sys.path.insert(0, str(HERE))
import harness  # noqa: E402
import properties  # noqa: E402

LIMIT_S = 300
ENVELOPE = {"schema": str, "version": str, "verb": str, "status": str, "problems": list, "provenance": dict, "result": (dict, list, type(None))}
TYPES = {"number": (int, float), "text": str, "list": list, "object": dict, "null": type(None), "boolean": bool}
CHECKS = {"path", "equals", "near", "within", "contains", "type", "least", "most", "absent", "all"}
STEP_KEYS = {"args", "stdin", "edits", "code", "stdout", "stderr", "not_stdout", "not_stderr", "files", "no_files", "json", "envelope", "zip"}


def found_at(document, path):
    """Every value that the path leads to."""
    values = [document]
    for part in path.split("/"):
        nexts = []
        for value in values:
            if part == "*" and isinstance(value, (list, dict)):
                nexts += value if isinstance(value, list) else value.values()
            elif isinstance(value, list) and part.isdigit():
                nexts += [value[int(part)]] if int(part) < len(value) else []
            elif isinstance(value, list) and "=" in part:
                key, wanted = part.split("=", 1)
                nexts += [v for v in value if isinstance(v, dict) and str(v.get(key)) == wanted]
            elif isinstance(value, dict) and part in value:
                nexts.append(value[part])
        values = nexts
    return values


def satisfied(value, check):
    number = isinstance(value, (int, float)) and not isinstance(value, bool)
    size = len(value) if isinstance(value, (list, dict, str)) else value if number else None
    if "equals" in check and (value != check["equals"] or isinstance(value, bool) != isinstance(check["equals"], bool)):
        return False
    if "near" in check and not (number and abs(value - check["near"]) <= check["within"]):
        return False
    if "contains" in check and not (isinstance(value, (str, list)) and check["contains"] in value):
        return False
    if "type" in check and (not isinstance(value, TYPES[check["type"]]) or (isinstance(value, bool) and check["type"] != "boolean")):
        return False
    if "least" in check and not (size is not None and size >= check["least"]):
        return False
    return "most" not in check or (size is not None and size <= check["most"])


def check_json(document, check):
    if set(check) - CHECKS or len(set(check) & (CHECKS - {"path", "within", "all"})) == 0 or ("near" in check) != ("within" in check):
        return f"the case is wrong: {check}"
    values = found_at(document, check["path"])
    if check.get("absent"):
        return f"{check['path']}: {str(values)[:200]} where nothing should be" if values else None
    results = [satisfied(v, check) for v in values]
    if results and (all(results) if check.get("all") else any(results)):
        return None
    return f"{check}: found {str(values)[:400]}"


def envelope_faults(outcome, verb):
    try:
        document = harness.strict_json(outcome.stdout)
    except ValueError as error:
        return None, [f"stdout is not strict JSON: {error}"]
    if not isinstance(document, dict) or set(document) != set(ENVELOPE):
        return None, [f"the envelope is {sorted(document) if isinstance(document, dict) else type(document)}, not {sorted(ENVELOPE)}"]
    faults = [f"{k} is {type(document[k]).__name__}" for k, t in ENVELOPE.items() if not isinstance(document[k], t)]
    if document["verb"] != verb:
        faults.append(f"the envelope says verb {document['verb']!r}, not {verb!r}")
    if outcome.code == 2 and document["status"] != "refused":
        faults.append(f"exit 2 with status {document['status']!r}")
    faults += [f"the provenance has no {key}" for key in ("started", "finished", "simd_target") if not document["provenance"].get(key)]
    for problem in document["problems"]:
        if not problem.get("what") or problem.get("severity") not in ("refusal", "remark"):
            faults.append(f"a problem without words: {problem}")
    return document, faults


def zip_faults(folder, check):
    if set(check) - {"file", "member", "has", "lacks"} or not check.get("has"):
        return [f"the case is wrong: {check}"]
    with zipfile.ZipFile(folder / check["file"]) as archive:
        if check["member"] not in archive.namelist():
            return [f"{check['member']} is not in {check['file']}"]
        text = archive.read(check["member"]).decode()
    faults = [f"{check['member']} lacks {t!r}" for t in check["has"] if t not in text]
    return faults + [f"{check['member']} has {t!r}" for t in check.get("lacks", []) if t in text]


def step_faults(step, outcome, folder):
    faults = []
    if set(step) - STEP_KEYS:
        return [f"the case is wrong: unknown {sorted(set(step) - STEP_KEYS)}"]
    if outcome.crashed:
        faults.append("crash, hang or fault in the program")
    if outcome.code != step.get("code", 0):
        faults.append(f"{outcome.ending()}, expected exit {step.get('code', 0)}")
    for stream in ("stdout", "stderr"):
        text = getattr(outcome, stream)
        faults += [f"{stream} lacks {t!r}" for t in step.get(stream, []) if t not in text]
        faults += [f"{stream} has {t!r}" for t in step.get("not_" + stream, []) if t in text]
    faults += [f"{f} was not written" for f in step.get("files", []) if not (folder / f).exists()]
    faults += [f"{f} was written" for f in step.get("no_files", []) if (folder / f).exists()]
    faults += [f for check in step.get("zip", []) for f in zip_faults(folder, check)]
    if "--json" in step["args"] and not step.get("envelope") is False:
        document, more = envelope_faults(outcome, step["args"][0])
        faults += more
        if document is not None:
            faults += [f for f in (check_json(document, c) for c in step.get("json", [])) if f]
    elif "json" in step:
        faults.append("the case is wrong: json checks without --json")
    return faults


def run_case(program, case):
    """Faults of the first step that has any, with everything needed to repeat it."""
    with tempfile.TemporaryDirectory(prefix="hardpan-case-") as scratch:
        folder = pathlib.Path(scratch)
        if "folder" in case:
            harness.copy_folder(ROOT / case["folder"], folder / "case")
        for edit in case.get("setup", []):
            harness.apply_edit(folder, edit)
        for number, step in enumerate(case["steps"], 1):
            for edit in step.get("edits", []):
                harness.apply_edit(folder, edit)
            outcome = harness.run(program, step["args"], folder, step.get("stdin", ""), LIMIT_S)
            faults = step_faults(step, outcome, folder)
            if faults:
                return "".join(f"    step {number}: {f}\n" for f in faults) + (
                    f"    args: {step['args']}\n    {outcome.ending()}; stdout:\n{harness.indented(outcome.stdout)}"
                    f"    stderr:\n{harness.indented(outcome.stderr)}")
    return ""


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("program")
    parser.add_argument("--only", default="", help="only cases whose name contains this")
    args = parser.parse_args()
    program = str(pathlib.Path(args.program).resolve())
    jobs = []
    for path in sorted(HERE.glob("*.toml")):
        for case in tomllib.loads(path.read_text(encoding="utf-8"))["case"]:
            if not case.get("steps"):
                sys.exit(f"{path.name}: case {case.get('name')!r} has no steps")
            jobs.append((f"{path.stem}: {case['name']}", lambda c=case: run_case(program, c)))
    jobs += [(f"properties: {name}", lambda f=function: f(program)) for name, function in properties.ALL]
    jobs = [j for j in jobs if args.only in j[0]]
    failed = 0
    for name, job in jobs:
        try:
            told = job()
        except (harness.EditError, KeyError, ValueError, OSError, zipfile.BadZipFile) as error:
            told = f"    {type(error).__name__}: {error}\n"
        if told:
            failed += 1
            print(f"FAIL {name}\n{told}", end="")
    print(f"cli: {len(jobs)} cases, {failed} failed")
    if not jobs:
        print("FAIL no case ran")
    return 1 if failed or not jobs else 0


if __name__ == "__main__":
    sys.exit(main())
