# SPDX-License-Identifier: Apache-2.0
"""What a table of cases cannot say: runs compared with one another, and archives opened.

Each function takes the program's path and returns the text of its faults, "" when there are none.
"""
import hashlib
import pathlib
import math
import re
import tempfile
import zipfile

import harness

BASE = pathlib.Path(__file__).resolve().parent.parent / "malformed" / "base"
ALL = []
LIMIT_S = 300


def property_(name):
    def register(function):
        def with_folder(program):
            with tempfile.TemporaryDirectory(prefix="hardpan-property-") as scratch:
                return function(program, pathlib.Path(scratch)) or ""
        ALL.append((name, with_folder))
        return function
    return register


def several_points(folder):
    """The base campaign with five points, so that possible soils can be drawn: loads and torques differ from point to point by a few per cent."""
    harness.copy_folder(BASE, folder)
    points, records = "", ""
    for k in range(2, 6):
        points += f'\n[[point]]\nid = "A{k}"\nzone = "field"\ntime = "2026-04-12T{9 + k:02d}:40"\n'
        for kind, name, instrument in (("plate", "plates", "press"), ("shear-ring", "ring", "ring")):
            records += f'\n[[record]]\nid = "{name}{k}"\nfile = "records/{name}{k}.csv"\nkind = "{kind}"\ninstrument = "{instrument}"\npoint = "A{k}"\n'
            text = (folder / "records" / f"{name}.csv").read_text(encoding="utf-8")
            factor = 1 + 0.04 * (k - 3.5) * (1 if kind == "plate" else -0.5)
            scaled = re.sub(r"(\d+\.\d+)([,;])$", lambda m: f"{float(m.group(1)) * factor:.2f}{m.group(2)}", text, flags=re.M)
            if scaled == text:
                raise ValueError(f"{name}.csv has no readings to scale")
            (folder / "records" / f"{name}{k}.csv").write_text(scaled, encoding="utf-8")
    campaign = folder / "campaign.toml"
    campaign.write_text(campaign.read_text(encoding="utf-8") + points + records, encoding="utf-8")


def result_of(program, scratch, *options):
    """The result part of validate --json, as the program printed it and parsed."""
    outcome = harness.run(program, ["validate", "case", "--json", "--quiet", *options], scratch, limit_s=LIMIT_S)
    if outcome.code != 0:
        raise ValueError(f"validate {options}: {outcome.ending()}\n{outcome.stderr}")
    document = harness.strict_json(outcome.stdout)
    return outcome.stdout[outcome.stdout.index('\n  "result":'):], document["result"]


@property_("one thread and two give the same bytes, over possible soils")
def threads(program, scratch):
    several_points(scratch / "case")
    one, parsed = result_of(program, scratch, "--threads", "1")
    two, _ = result_of(program, scratch, "--threads", "2")
    if not parsed["predictions"] or parsed["predictions"][0]["draws"] < 40:
        return f"    no possible soils were drawn, nothing was compared: {str(parsed['predictions'])[:300]}\n"
    if one == two:
        return ""
    for number, (a, b) in enumerate(zip(one.splitlines(), two.splitlines()), 1):
        if a != b:
            return f"    line {number} of the result: --threads 1 {a.strip()}, --threads 2 {b.strip()}\n"
    return "    one result is longer than the other\n"


def differences(a, b, tolerance, path=""):
    if isinstance(a, dict) and isinstance(b, dict) and a.keys() == b.keys():
        for key in a:
            yield from differences(a[key], b[key], tolerance, f"{path}/{key}")
    elif isinstance(a, list) and isinstance(b, list) and len(a) == len(b):
        for i, (x, y) in enumerate(zip(a, b)):
            yield from differences(x, y, tolerance, f"{path}/{i}")
    elif isinstance(a, (int, float)) and isinstance(b, (int, float)) and not isinstance(a, bool):
        # Limits of slopes are found to 0.01 deg (performance/any_heading), so that is how far two kernels may end apart; near a top the slip moves much
        # more than the slope. How often a balance was looked at is no result.
        least = 1e-12
        if "/slopes_on_any_heading/" in path:
            if path.endswith("/evaluations"):
                return
            least = 0.005 if path.endswith("/largest_slip_ratio") else math.radians(0.01)
        if abs(a - b) > tolerance * max(abs(a), abs(b)) and abs(a - b) > least:
            yield f"{path}: {a!r} and {b!r}, relative {abs(a - b) / max(abs(a), abs(b)):.2g}"
    elif isinstance(a, str) and isinstance(b, str) and re.search(r"\d\.\d", a):
        return  # a sentence with rounded numbers may round the other way
    elif a != b:
        yield f"{path}: {a!r} and {b!r}"


def count_numbers(x):
    if isinstance(x, dict):
        return sum(count_numbers(v) for v in x.values())
    if isinstance(x, list):
        return sum(count_numbers(v) for v in x)
    return int(isinstance(x, (int, float)) and not isinstance(x, bool))


@property_("the plain kernel and the best one agree to 1e-6, over possible soils")
def simd(program, scratch):
    several_points(scratch / "case")
    _, plain = result_of(program, scratch, "--simd", "plain")
    _, best = result_of(program, scratch, "--simd", "best")
    if not plain["predictions"] or plain["predictions"][0]["draws"] < 40 or count_numbers(plain["predictions"]) < 100:
        return "    no possible soils were drawn, nothing was compared\n"
    found = list(differences(plain, best, 1e-6))
    return "".join(f"    plain and best: {d}\n" for d in found[:10])


@property_("an unchanged campaign is not computed again, a touched one that says the same is not either")
def unchanged(program, scratch):
    harness.copy_folder(BASE, scratch / "case")
    first = harness.run(program, ["run", "case", "--json", "--quiet"], scratch)
    second = harness.run(program, ["run", "case", "--json"], scratch)
    talk = harness.run(program, ["run", "case"], scratch)
    if (first.code, second.code, talk.code) != (0, 0, 0):
        return f"    {first.ending()}, {second.ending()}, {talk.ending()}: {first.stderr}{second.stderr}{talk.stderr}\n"
    a, b = harness.strict_json(first.stdout), harness.strict_json(second.stdout)
    faults = []
    if not re.fullmatch("[0-9a-f]{64}", a["provenance"]["key"]):
        faults.append(f"the key of the inputs is {a['provenance']['key']!r}")
    if b["provenance"] != a["provenance"]:
        faults.append("the second run has a provenance of its own: it was computed again")
    if a["result"] != b["result"]:
        faults.append("the second run tells another result")
    if "Nothing has changed" not in talk.stdout:
        faults.append("nothing says that nothing has changed")
    if "predicting" in talk.stderr + second.stderr:
        faults.append("a prediction was computed again")
    path = scratch / "case" / "records" / "ring.csv"
    path.write_bytes(path.read_bytes())  # a new time stamp, the same bytes
    if "Nothing has changed" not in harness.run(program, ["run", "case"], scratch).stdout:
        faults.append("a new time stamp alone made it run again")
    (scratch / "case" / "out" / "report.html").unlink()
    again = harness.run(program, ["run", "case"], scratch)
    if "Nothing has changed" in again.stdout or not (scratch / "case" / "out" / "report.html").is_file():
        faults.append("a deleted report was not written again")
    harness.apply_edit(scratch, {"file": "case/campaign.toml", "replace": "seed = 12", "with": "seed = 13"})
    if "Nothing has changed" in harness.run(program, ["run", "case"], scratch).stdout:
        faults.append("another seed did not make it run again")
    return "".join(f"    {f}\n" for f in faults)


@property_("raw files keep their bytes through every step")
def raw_files(program, scratch):
    folder = scratch / "case"
    harness.copy_folder(BASE, folder)
    before = {p.relative_to(folder): p.read_bytes() for p in folder.rglob("*") if p.is_file()}
    faults = []
    for verb in ("check", "validate", "run", "changes", "pack"):
        outcome = harness.run(program, [verb, "case"], scratch)
        if outcome.code != 0:
            faults.append(f"{verb}: {outcome.ending()}: {outcome.stderr}")
    faults += [f"{name} was changed" for name, data in before.items() if not (folder / name).is_file() or (folder / name).read_bytes() != data]
    new = {p.relative_to(folder).parts[0] for p in folder.rglob("*")} - {name.parts[0] for name in before}
    if not new <= {"out", "ledger.sqlite", ".lock"}:
        faults.append(f"written beside: {sorted(new)}")
    return "".join(f"    {f}\n" for f in faults)


@property_("the sealed archive's checksums verify and cover every file")
def sealed(program, scratch):
    harness.copy_folder(BASE, scratch / "case")
    for args in (["run", "case", "--quiet"], ["pack", "case", "--to", "sealed.zip"]):
        outcome = harness.run(program, args, scratch)
        if outcome.code != 0:
            return f"    {args}: {outcome.ending()}: {outcome.stderr}\n"
    faults = []
    with zipfile.ZipFile(scratch / "sealed.zip") as archive:
        if archive.testzip() is not None:
            faults.append(f"damaged: {archive.testzip()}")
        sums = dict(reversed(line.split("  ", 1)) for line in archive.read("SHA256SUMS").decode().splitlines())
        names = set(archive.namelist())
        for name, sha in sums.items():
            if name not in names:
                faults.append(f"{name} has a checksum but is not there")
            elif hashlib.sha256(archive.read(name)).hexdigest() != sha:
                faults.append(f"{name} does not have its checksum")
        faults += [f"{n} has no checksum" for n in sorted(names - set(sums) - {"SHA256SUMS"})]
        for needed in ("campaign.toml", "records/ring.csv", "out/report.html", "out/results.json", "ledger.sqlite"):
            if needed not in names:
                faults.append(f"{needed} is missing")
        faults += [f"{n} may leave the folder it is unpacked in" for n in names if n.startswith("/") or ".." in pathlib.PurePath(n).parts]
        if not archive.read("DATA_DICTIONARY.md").strip():
            faults.append("the data dictionary is empty")
    return "".join(f"    {f}\n" for f in faults)


@property_("the report is one file that needs nothing else, and tells the verdicts of results.json")
def report(program, scratch):
    harness.copy_folder(BASE, scratch / "case")
    outcome = harness.run(program, ["run", "case", "--quiet"], scratch)
    if outcome.code != 0:
        return f"    {outcome.ending()}: {outcome.stderr}\n"
    html = (scratch / "case/out/report.html").read_text(encoding="utf-8")
    results = harness.strict_json((scratch / "case/out/results.json").read_text(encoding="utf-8"))
    faults = []
    for attribute, target in re.findall(r"""\b(src|href|action|xlink:href)\s*=\s*["']([^"']*)""", html):
        if not target.startswith(("#", "data:")):
            faults.append(f"{attribute}={target!r} leaves the file")
    if re.search(r"url\(\s*['\"]?(?!#|data:)", html) or "@import" in html:
        faults.append("a style leaves the file")
    for token in (">nan<", ">inf<", ">-inf<", ">NaN<", "undefined"):
        if token in html:
            faults.append(f"{token!r} stands in the report")
    for finding in results["result"]["findings"]:
        if finding["id"] not in html or finding["verdict"] not in html.lower():
            faults.append(f"requirement {finding['id']} or its verdict {finding['verdict']!r} is not in the report")
    for table in (scratch / "case/out/tables").glob("*.csv"):
        if re.search(r"(?i)(^|[,;])(nan|-?inf)([,;]|$)", table.read_text(encoding="utf-8"), re.M):
            faults.append(f"{table.name} holds nan or inf")
    return "".join(f"    {f}\n" for f in faults)


@property_("results on disk are the results printed")
def disk(program, scratch):
    harness.copy_folder(BASE, scratch / "case")
    outcome = harness.run(program, ["run", "case", "--json", "--quiet"], scratch)
    if outcome.code != 0:
        return f"    {outcome.ending()}: {outcome.stderr}\n"
    printed = harness.strict_json(outcome.stdout)
    written = harness.strict_json((scratch / "case/out/results.json").read_text(encoding="utf-8"))
    return "" if printed == written else f"    {list(differences(written, printed, 0.0))[:5]}\n"


@property_("units of the inputs do not move the answer")
def unit_invariance(program, scratch):
    harness.copy_folder(BASE, scratch / "case")
    _, metric = result_of(program, scratch)
    folder = scratch / "case"
    pulls = folder / "records" / "pulls.csv"
    rows = pulls.read_text(encoding="utf-8").splitlines()
    out = [rows[0].replace("Pull (N)", "Pull (kN)").replace("Distance (m)", "Distance (cm)").replace("Sinkage (mm)", "Sinkage (m)")]
    for row in rows[1:]:
        cells = row.split(";")
        cells[3], cells[4], cells[6] = f"{float(cells[3]) * 100:.6f}", f"{float(cells[4]) / 1000:.9f}", f"{float(cells[6]) / 1000:.9f}"
        out.append(";".join(cells))
    pulls.write_text("\n".join(out) + "\n", encoding="utf-8")
    harness.apply_edit(scratch, {"file": "case/vehicles/carrier.toml", "replace": 'mass = "400 kg"', "with": 'mass = "0.4 t"'})
    harness.apply_edit(scratch, {"file": "case/instruments.toml", "replace": 'inner_radius = "40 mm"', "with": 'inner_radius = "4 cm"'})
    _, other = result_of(program, scratch)
    for result in (metric, other):
        del result["campaign"]
    return "".join(f"    {d}\n" for d in list(differences(metric, other, 1e-8))[:10])


CARRIER = ["--vehicle", "case/vehicles/carrier.toml"]
EARTH = ["--gravity", "9.81 m/s^2"]
SAND = ["--soil", "sand_tswj2014"]
TRANSFER = ["gravity", *CARRIER, *SAND, "--from", "9.81 m/s^2", "--to", "1.62 m/s^2"]
QUICK = [
    ["gravity", "--mass", "100 kg", "--from", "9.81 m/s^2", "--to", "1.62 m/s^2", "--target-mass", "80 kg"],
    [*TRANSFER, "--need", "5 deg", "--self-weight-share", "80 %"],
    ["ride", *CARRIER, *EARTH, "--wave-length", "4 m", "--amplitude", "0.1 m", "--shock", "5 m/s^2", "--need", "3 m/s", "--absorbed-power", "6 W"],
    ["boulders", *CARRIER, *EARTH, "--friction", "0.6", "--coverage", "10 %", "--need", "90 %"],
    ["boulders", *CARRIER, *EARTH, "--step", "0.15 m", "--map", "rocks.csv", "--plot", "0 m", "0 m", "40 m", "10 m", "--start", "0 m", "5 m", "--length", "40 m"],
    ["endurance", *CARRIER, *EARTH, *SAND, "--trip", "day.csv", "--battery", "1 kWh", "--and-back"],
    ["study", *CARRIER, *EARTH, *SAND, "--vary", "wheel width: 100 mm to 300 mm in 3", "--quantity", "energy", "--speed", "1 m/s", "--need", "80 Wh/km"],
    ["study", *CARRIER, *EARTH, *SAND, "--vary", "mass: 300 kg to 400 kg in 2", "--vary", "wheel diameter: 0.4 m to 0.6 m in 2", "--need", "5 deg"],
    ["slope", *CARRIER, *EARTH, *SAND, "--headings", "4", "--need", "5 deg"],
    ["turn", *CARRIER, *EARTH, *SAND, "--radius", "4 m", "--need", "5 m", "--speed", "1 m/s"],
]
SI_UNITS = r"m|mm|cm|km|kg|t|N|kN|Pa|kPa|MPa|m/s|km/h|m/s\^2|m\^2|N m|kN m|J/m|N/m|kW|Wh/km|metre|kilometre|hectare"
US_UNITS = r"ft|in|mi|lb|lbf|psi|mph|ft/s\^2|ft\^2|lbf ft|lbf/in|hp|Wh/mi|foot|mile|acre"


def trip_and_rocks(folder):
    harness.copy_folder(BASE, folder / "case")
    harness.apply_edit(folder, {"file": "case/vehicles/carrier.toml", "replace": 'working_slip = "20 %"', "with": 'working_slip = "20 %"\nidle_power = "50 W"'})
    (folder / "day.csv").write_text("name,distance (m),gradient (deg),speed (m/s),halt (min)\nout,200,0,20,5\nup,50,4,0.5,\n", encoding="utf-8")
    (folder / "rocks.csv").write_text("x (m),y (m),diameter (cm),height (cm)\n10,5,50,17\n20,5.5,40,\n30,9,30,\n", encoding="utf-8")


def units_in(text, units):
    """Units of one system behind a number, or alone in the brackets of a heading, or counted ("a metre", "a foot")."""
    return sorted(set(re.findall(rf"(?:[0-9] |\(|\ban? )({units})(?![\w/^])", text)))


@property_("a quick answer tells no unit of the system that was not asked for, and the same JSON in both")
def one_system(program, scratch):
    trip_and_rocks(scratch)
    faults, seen = [], 0
    for args in QUICK:
        shown = " ".join(args[:1] + args[3:])
        told = {}
        for system, others in (("SI", US_UNITS), ("US", SI_UNITS)):
            outcome = harness.run(program, [*args, "--units", system], scratch, limit_s=LIMIT_S)
            if outcome.code != 0:
                faults.append(f"{shown} --units {system}: {outcome.ending()}: {outcome.stderr}")
                continue
            told[system] = outcome.stdout
            if found := units_in(outcome.stdout, others):
                faults.append(f"{shown} --units {system}: tells {found} in\n{harness.indented(outcome.stdout)}")
            seen += len(units_in(outcome.stdout, SI_UNITS if system == "SI" else US_UNITS))
        if args[0] != "slope" and len(told) == 2 and told["SI"] == told["US"]:
            faults.append(f"{shown}: the same text in SI and US")
        results = [harness.strict_json(harness.run(program, [*args, *more, "--json"], scratch, limit_s=LIMIT_S).stdout)["result"] for more in ([], ["--units", "US"])]
        if results[0] is None or results[0] != results[1]:
            faults.append(f"{shown}: --units moves the JSON")
    if seen < 2 * len(QUICK):
        faults.append(f"only {seen} units were recognised")
    return "".join(f"    {f}\n" for f in faults)


@property_("tables of slope and gravity fit 110 characters, with a rule as wide as they are")
def narrow_tables(program, scratch):
    trip_and_rocks(scratch)
    faults = []
    for args in ([*QUICK[8], "--slip", "90 %"], QUICK[8], QUICK[1], TRANSFER):
        for system in ([], ["--units", "US"]):
            lines = harness.run(program, [*args, *system], scratch, limit_s=LIMIT_S).stdout.splitlines()
            rules = [k for k, line in enumerate(lines) if re.fullmatch(" *-{10,}", line)]
            if not rules:
                faults.append(f"{args[0]}: no table")
            for k in rules:
                # The heading above and the rows below, up to a line that is no row: sentences begin with a word and have single spaces only.
                first, last = k, k
                while first > 0 and re.search(r"\S {2,}\S|^ {4,}\S", lines[first - 1]):
                    first -= 1
                while last + 1 < len(lines) and re.search(r"\S {2,}\S|^ {4,}\S", lines[last + 1]):
                    last += 1
                widest = max(len(line) for line in lines[first:last + 1])
                if last == k or first == k or widest > 110 or len(lines[k]) < widest:
                    faults.append(f"{' '.join([args[0], *system])}: {widest} wide, its rule {len(lines[k])}:\n{harness.indented(chr(10).join(lines[first:last + 1]))}")
    return "".join(f"    {f}\n" for f in faults)


@property_("the margin of gravity is that of the target with its true mass at the working slip")
def gravity_margin(program, scratch):
    harness.copy_folder(BASE, scratch / "case")
    outcome = harness.run(program, [*TRANSFER, "--self-weight-share", "80 %", "--need", "5 deg", "--json"], scratch)
    if outcome.code != 0:
        return f"    {outcome.ending()}: {outcome.stderr}{outcome.stdout}\n"
    result = harness.strict_json(outcome.stdout)["result"]
    target = [s for s in result["states"] if s["state"] == "target, true mass"]
    if len(target) != 1:
        return f"    states {[s['state'] for s in result['states']]}\n"
    test = [s["at_working_slip"]["gradient_rad"] for s in result["states"] if s["state"].startswith("equal-weight test")]
    reached, wanted = target[0]["at_working_slip"]["gradient_rad"], math.radians(5)
    if abs(result["needed_rad"] - wanted) > 1e-12 or abs(result["margin_rad"] - (reached - wanted)) > 1e-12 or abs(test[0] - reached) < 1e-3:
        return f"    needed {result['needed_rad']}, margin {result['margin_rad']}, the target climbs {reached}, its test {test}\n"
    return ""
