#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Fails when a source is cited and not listed, or listed and never cited.

A citation is a key in brackets, [Bekker1969], [Kotz2004, section 1.2] or [Wong1980; Reece1965], in a page of docs/, in the README
or CHANGELOG, in data/, or in a comment of the C++ sources. The list is docs/references.bib; its keys are unique, and each entry
has an author (or editor, or organization), a title and a year.
"""
import pathlib
import re
import sys

ROOT = pathlib.Path(__file__).resolve().parent.parent
BIBLIOGRAPHY = ROOT / "docs" / "references.bib"
SHAPE = re.compile(r"[A-Z][A-Za-z]+\d{4}[a-z]?")  # what is a citation even when nobody listed it
PAGES = ("docs/**/*.md", "*.md", "data/**/*", "tests/data/**/*.md", "examples/**/*.md")
SOURCES = ("src/**/*.[ch]pp", "src/**/*.ipp", "apps/**/*.[ch]pp", "bench/**/*.[ch]pp", "bench/**/*.py", "tools/*.py")


def entries(faults):
    """Key -> line of every entry of the bibliography."""
    text = BIBLIOGRAPHY.read_text(encoding="utf-8")
    found = {}
    parts = re.split(r"^@(\w+)\{\s*([^,\s]+)\s*,", text, flags=re.M)
    line = 1 + parts[0].count("\n")
    for kind, key, body in zip(parts[1::3], parts[2::3], parts[3::3]):
        where = f"docs/references.bib:{line}"
        if key in found:
            faults.append(f"{where}: {key} is listed twice (first in line {found[key]})")
        found.setdefault(key, line)
        fields = {f.lower() for f in re.findall(r"^\s*(\w+)\s*=", body, flags=re.M)}
        for wanted in ({"title"}, {"year", "date"}, {"author", "editor", "organization", "institution", "key"}):
            if not fields & wanted:
                faults.append(f"{where}: {key} ({kind}) has no {' or '.join(sorted(wanted))}")
        line += body.count("\n")
    return found


def comments(text, suffix):
    """The text with everything that is not a comment blanked, so that lines keep their numbers."""
    if suffix == ".py":
        return text
    keep = []
    for piece in re.finditer(r'//[^\n]*|/\*.*?\*/|"(?:\\.|[^"\\\n])*"|\'(?:\\.|[^\'\\\n])*\'|.', text, flags=re.S):
        token = piece.group(0)
        keep.append(token if token.startswith(("//", "/*")) else re.sub(r"[^\n]", " ", token))
    return "".join(keep)


def citations(text, listed):
    """(line, key) of everything in brackets that is a listed key or has the shape of one."""
    for bracket in re.finditer(r"\[([^\[\]\n]+)\]", text):
        for part in re.split(r"[;,]", bracket.group(1)):
            word = part.strip().split(" ")[0] if part.strip() else ""
            if word in listed or SHAPE.fullmatch(word):
                yield text.count("\n", 0, bracket.start()) + 1, word


def main():
    faults = []
    listed = entries(faults)
    cited, files = {}, 0
    for patterns, is_source in ((PAGES, False), (SOURCES, True)):
        for pattern in patterns:
            for path in sorted(ROOT.glob(pattern)):
                if not path.is_file() or path == pathlib.Path(__file__).resolve():
                    continue
                files += 1
                text = path.read_text(encoding="utf-8", errors="replace")
                for line, key in citations(comments(text, path.suffix) if is_source else text, listed):
                    where = f"{path.relative_to(ROOT)}:{line}"
                    cited.setdefault(key, where)
                    if key not in listed:
                        faults.append(f"{where}: [{key}] is cited but not in docs/references.bib")
    faults += [f"docs/references.bib:{line}: {key} is listed but never cited" for key, line in listed.items() if key not in cited]
    for fault in faults:
        print(fault)
    print(f"citations: {files} files, {len(listed)} sources, {len(cited)} cited, {len(faults)} faults")
    if not files or not listed or not cited:
        print("citations: nothing was checked")
        return 1
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
