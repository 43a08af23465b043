#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Fails when a module includes one that its line in the top CMakeLists.txt does not name.

Also fails when a third-party header stands in a public header of ours (std only there), when a
module's detail/ header is included from outside, or when one library is named outside the modules
that docs/decisions/0001-layers.md gives it to. Tests and bench are exempt from the library rule.
"""
import pathlib
import re
import sys

ROOT = pathlib.Path(__file__).resolve().parent.parent
# Library header prefix -> modules whose .cpp files may name it.
LIBRARIES = {
    "Eigen/": {"math", "fitting"}, "unsupported/Eigen": {"math", "fitting"}, "ceres/": {"fitting"},
    "boost/": {"math"}, "hwy/": {"math", "contact"}, "Random123/": {"math"}, "udunits2.h": {"units"},
    "sqlite3.h": {"io"}, "nlohmann/": {"io", "formats", "report", "service"},
    "toml++/": {"io", "formats"}, "xlsxwriter.h": {"io"}, "CLI/": {"cli", "fieldsim"},
}


def declared_modules(text):
    modules = {}
    for kind, name, rest in re.findall(r"^hardpan_(module|app)\((\w+)([^)]*)\)", text, re.M):
        names = re.sub(r"\bDEPENDS\b", "", rest).split()
        for dep in names:
            if dep not in modules:
                sys.exit(f"CMakeLists.txt: {name} names {dep}, which is not declared above it")
        modules[name] = set(names) | {name}
    return modules


def check_file(path, module, allowed, modules, faults):
    is_test = path.stem.endswith("_test")
    is_header = path.suffix == ".hpp" and "detail" not in path.parts and "src" in path.relative_to(ROOT).parts  # a program has no public headers
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        found = re.match(r'\s*#\s*include\s*([<"])([^>"]+)[>"]', line)
        if not found:
            continue
        header = found.group(2)
        where = f"{path.relative_to(ROOT)}:{number}"
        first = header.split("/")[0]
        if first in modules and "/" in header:
            if first not in allowed:
                faults.append(f"{where}: {module} may not include {header}")
            elif first != module and "/detail/" in header:
                faults.append(f"{where}: {header} belongs to {first} alone")
        for prefix, owners in LIBRARIES.items():
            if header.startswith(prefix) and not is_test:
                if module not in owners:
                    faults.append(f"{where}: {header} may be named in {sorted(owners)} only")
                elif is_header:
                    faults.append(f"{where}: no public header shows a third-party type ({header})")


def main():
    modules = declared_modules((ROOT / "CMakeLists.txt").read_text(encoding="utf-8"))
    faults, files = [], 0
    for name, allowed in modules.items():
        for folder in (ROOT / "src" / name, ROOT / "apps" / name):
            for path in sorted(folder.rglob("*")):
                if path.suffix in (".hpp", ".cpp"):
                    files += 1
                    check_file(path, name, allowed, modules, faults)
    for fault in faults:
        print(fault)
    print(f"layers: {files} files, {len(modules)} modules, {len(faults)} faults")
    if files == 0:
        sys.exit("layers: no files found, nothing was checked")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
