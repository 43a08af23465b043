#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Writes src/soil/textbook_table.inc from data/soils.csv: the rows with n, kc, kphi, c and phi.

Run from anywhere: python3 tools/textbook_soils.py. With --check it writes nothing and fails when the
table and the csv have drifted apart. Units change by moving the decimal point, so no digit is rounded.
"""
import argparse
import csv
import pathlib
import sys
from decimal import Decimal

ROOT = pathlib.Path(__file__).resolve().parent.parent
SOURCE = ROOT / "data" / "soils.csv"
TABLE = ROOT / "src" / "soil" / "textbook_table.inc"
NEEDED = ("n", "kc_kN_m_n1", "kphi_kN_m_n2", "c_kPa", "phi_deg")
HEAD = """// SPDX-License-Identifier: Apache-2.0
// Made by tools/textbook_soils.py from data/soils.csv; change those, not this.
// id, name, source, read in the source (else recalled), moisture [%], n, kc [N/m^(n+1)],
// kphi [N/m^(n+2)], c [Pa], phi [deg], K [m], density [kg/m3]
"""


def scaled(text, power):
    """The number times 10^power as a C++ double, or nothing for an empty cell."""
    if not text:
        return "{}"
    value = Decimal(text).scaleb(power).normalize()
    out = format(value, "f")
    return out if "." in out else out + ".0"


def quoted(text):
    if not text.isascii() or "\\" in text or '"' in text:
        sys.exit(f"{SOURCE.name}: cannot be written as a plain string: {text}")
    return f'"{text}"'


def table():
    lines = [HEAD]
    with SOURCE.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            if row["seen_or_memory"] not in ("seen", "memory"):
                sys.exit(f"{SOURCE.name}: {row['id']}: seen_or_memory is {row['seen_or_memory']!r}")
            if not all(row[key] for key in NEEDED):
                continue
            numbers = [scaled(row["moisture_pct"], 0), scaled(row["n"], 0), scaled(row["kc_kN_m_n1"], 3),
                       scaled(row["kphi_kN_m_n2"], 3), scaled(row["c_kPa"], 3), scaled(row["phi_deg"], 0),
                       scaled(row["K_cm"], -2), scaled(row["density_kg_m3"], 0)]
            read = "true" if row["seen_or_memory"] == "seen" else "false"
            lines.append("{%s, %s,\n %s,\n %s, %s},\n" % (quoted(row["id"]), quoted(row["name"]),
                                                         quoted(row["source"]), read, ", ".join(numbers)))
    return "".join(lines)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--check", action="store_true", help="compare only")
    arguments = parser.parse_args()
    text = table()
    if arguments.check:
        if not TABLE.is_file() or TABLE.read_text(encoding="ascii") != text:
            sys.exit(f"{TABLE.relative_to(ROOT)} differs from {SOURCE.relative_to(ROOT)}: run {pathlib.Path(__file__).name}")
        return
    TABLE.write_text(text, encoding="ascii")


if __name__ == "__main__":
    main()
