#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""What the machine does to a run: killed, disk full, folder read-only, locked, nobody reads, interrupted.

Usage: faults.py PROGRAM [--kills N] [--seed N]

A part that needs root (small disk, another user) is skipped with the reason printed when it cannot be had.
"""
import argparse
import fcntl
import os
import pathlib
import pwd
import random
import signal
import shutil
import subprocess
import sys
import tempfile
import time

HERE = pathlib.Path(__file__).resolve().parent
sys.path.insert(0, str(HERE))
import harness  # noqa: E402
import properties  # noqa: E402

LIMIT_S = 120


class Skipped(Exception):
    pass


def start(program, args, folder, **more):
    return subprocess.Popen([program, *args], cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=harness.ENVIRONMENT, **more)


def whole(out):
    """The seed that out/ was computed with. Raises ValueError with what is wrong unless the folder is whole."""
    results = harness.strict_json((out / "results.json").read_text(encoding="utf-8"))
    report = (out / "report.html").read_text(encoding="utf-8")
    if not report.rstrip().endswith("</html>"):
        raise ValueError("report.html ends in the middle")
    for table in (out / "tables").glob("*.csv"):
        text = table.read_text(encoding="utf-8")
        if not text.endswith("\n"):
            raise ValueError(f"tables/{table.name} ends in the middle")
    if not (out / "tables" / "tables.xlsx").read_bytes().startswith(b"PK"):
        raise ValueError("tables.xlsx is no archive")
    for figure in (out / "figures").glob("*.svg"):
        if not figure.read_text(encoding="utf-8").rstrip().endswith("</svg>"):
            raise ValueError(f"figures/{figure.name} ends in the middle")
    return results["provenance"]["settings"]["seed"], sorted(str(p.relative_to(out)) for p in out.rglob("*"))


def set_seed(folder, seed):
    path = folder / "campaign.toml"
    lines = [f"seed = {seed}" if line.startswith("seed =") else line for line in path.read_text(encoding="utf-8").splitlines()]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


def killed(program, scratch, kills, seed):
    """SIGKILL at random moments: out/ is whole and is either the old one or the new one; the next run works."""
    random_ = random.Random(seed)
    folder = scratch / "case"
    properties.several_points(folder)
    begin = time.monotonic()
    first = harness.run(program, ["run", "case", "--quiet"], scratch, limit_s=LIMIT_S)
    took = time.monotonic() - begin
    if first.code != 0:
        return [f"the first run: {first.ending()}: {first.stderr}"]
    faults, died, old = [], 0, "12"
    _, files = whole(folder / "out")
    for n in range(kills):
        new = str(100 + n)
        set_seed(folder, new)
        process = start(program, ["run", "case", "--quiet"], scratch)
        # Half of the moments anywhere in 0 to 2 s or the length of a run, half towards its end, where the folders are exchanged.
        wait = random_.uniform(0, min(2, 1.3 * took)) if n % 2 == 0 else random_.uniform(0.6, 1.1) * took
        begin = time.monotonic()
        try:
            process.wait(timeout=wait)
            took = min(took, time.monotonic() - begin)  # the machine is less busy now: aim at the shorter run
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
            died += 1
        process.communicate()
        told = f"kill {n + 1} of {kills} (seed {seed}) after {wait:.3f} s"
        try:
            found, now = whole(folder / "out")
            if found not in (old, new):
                faults.append(f"{told}: out/ is of seed {found}, neither the old {old} nor the new {new}")
            elif set(now) != set(files):
                faults.append(f"{told}: out/ holds other files: {sorted(set(now) ^ set(files))[:6]}")
            old = found
        except (OSError, ValueError, KeyError) as error:
            faults.append(f"{told}: out/ is not whole: {type(error).__name__}: {error}")
            old = new
        if n % 5 == 4 or faults:
            after = harness.run(program, ["run", "case", "--quiet"], scratch, limit_s=LIMIT_S)
            if after.code != 0:
                return faults + [f"{told}: the next run: {after.ending()}: {after.stderr}"]
            found, _ = whole(folder / "out")
            if found != new:
                faults.append(f"{told}: the next run left seed {found}, not {new}")
            old = found
            left = sorted(p.name for p in folder.iterdir() if p.name.startswith(".") and p.name != ".lock")
            if left:
                faults.append(f"{told}: the next run left {left} behind")
        if len(faults) > 5:
            break
    if died < kills // 4:
        faults.append(f"only {died} of {kills} runs were killed before they ended: the moments do not test anything")
    print(f"  {died} of {kills} runs were killed (a whole one takes about {took:.2f} s)")
    return faults


def refused_by_machine(outcome, what, *words):
    """Faults unless the run ended with 4 and one plain sentence that names the trouble."""
    faults = []
    if outcome.code != 4:
        faults.append(f"{what}: {outcome.ending()}, expected exit 4")
    text = outcome.stderr.strip()
    if len(text) < 20 or "fault in the program" in text:
        faults.append(f"{what}: no sentence says why: {text!r}")
    faults += [f"{what}: the sentence lacks {w!r}: {text!r}" for w in words if w not in text]
    return faults


def need_root():
    if os.geteuid() != 0:
        raise Skipped("needs root")


def full_disk(program, scratch):
    """A disk of 200 kB: exit 4 and a sentence; with an old out/ on it, that one stays whole."""
    need_root()
    disk = scratch / "disk"
    disk.mkdir()
    mount = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=200k", "tmpfs", str(disk)], capture_output=True, text=True, check=False)
    if mount.returncode != 0:
        raise Skipped(f"mount is refused: {mount.stderr.strip()}")
    try:
        harness.copy_folder(properties.BASE, disk / "case")
        faults = refused_by_machine(harness.run(program, ["run", "case", "--quiet"], disk, limit_s=LIMIT_S), "run on a full disk", "case")
        if (disk / "case" / "out").exists():
            faults.append("run on a full disk left an out/ that cannot be whole")
        fill(disk)
        faults += refused_by_machine(harness.run(program, ["pack", "case", "--to", "full.zip"], disk, limit_s=LIMIT_S), "pack on a full disk", "full.zip")
        if (disk / "full.zip").exists():
            faults.append("pack on a full disk left a zip that cannot be whole")
        return faults
    finally:
        subprocess.run(["umount", str(disk)], check=True)


def fill(disk):
    """Writes until the disk is full."""
    with open(disk / "filler", "wb", buffering=0) as stream:
        try:
            while True:
                stream.write(b"x" * 1024)
        except OSError:
            pass
    return disk


def old_outputs_on_full_disk(program, scratch):
    """A disk that becomes full after a good run: exit 4, and the old outputs stay as they were."""
    need_root()
    disk = scratch / "disk"
    disk.mkdir()
    mount = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=4m", "tmpfs", str(disk)], capture_output=True, text=True, check=False)
    if mount.returncode != 0:
        raise Skipped(f"mount is refused: {mount.stderr.strip()}")
    try:
        harness.copy_folder(properties.BASE, disk / "case")
        first = harness.run(program, ["run", "case", "--quiet"], disk, limit_s=LIMIT_S)
        if first.code != 0:
            return [f"the first run: {first.ending()}: {first.stderr}"]
        before = {p: p.read_bytes() for p in (disk / "case" / "out").rglob("*") if p.is_file()}
        set_seed(disk / "case", 77)
        fill(disk)
        faults = refused_by_machine(harness.run(program, ["run", "case", "--quiet"], disk, limit_s=LIMIT_S), "second run on a full disk")
        after = {p: p.read_bytes() for p in (disk / "case" / "out").rglob("*") if p.is_file()}
        if after != before:
            faults.append(f"the old outputs were touched: {sorted(str(p) for p in set(before) ^ set(after))[:5]}")
        (disk / "filler").unlink()
        again = harness.run(program, ["run", "case", "--quiet"], disk, limit_s=LIMIT_S)
        if again.code != 0 or whole(disk / "case" / "out")[0] != "77":
            faults.append(f"with room again: {again.ending()}: {again.stderr}")
        return faults
    finally:
        subprocess.run(["umount", str(disk)], check=True)


def read_only(program, scratch):
    """A folder that the user may read and not write: exit 4 for what writes, the reading verbs work."""
    need_root()
    nobody = pwd.getpwnam("nobody")
    scratch.chmod(0o755)
    # The program and its libraries must be readable by that user too.
    copy = scratch / "bin"
    copy.mkdir()
    for file in pathlib.Path(program).parent.glob("*hardpan*"):
        if file.is_file() and (file.suffix == ".so" or file.name == pathlib.Path(program).name):
            shutil.copy2(file, copy / file.name)
    harness.copy_folder(properties.BASE, scratch / "case")
    for path in [scratch / "case", *(scratch / "case").rglob("*")]:
        path.chmod(0o555 if path.is_dir() else 0o444)

    def as_nobody(args):
        done = subprocess.run([str(copy / pathlib.Path(program).name), *args], cwd=scratch, capture_output=True, timeout=LIMIT_S, check=False,
                              env={**harness.ENVIRONMENT, "TMPDIR": "/tmp"}, user=nobody.pw_uid, group=nobody.pw_gid, extra_groups=[])
        return harness.Outcome(done.returncode, done.stdout.decode(errors="replace"), done.stderr.decode(errors="replace"))
    check = as_nobody(["check", "case"])
    faults = [] if check.code == 0 else [f"check in a read-only folder: {check.ending()}: {check.stderr}"]
    faults += refused_by_machine(as_nobody(["run", "case"]), "run in a read-only folder", "case")
    faults += refused_by_machine(as_nobody(["new", "case/inside", "--name", "x", "--gravity", "9.81 m/s^2"]), "new in a read-only folder", "inside")
    faults += refused_by_machine(as_nobody(["pack", "case", "--to", "case/sealed.zip"]), "pack into a read-only folder", "sealed.zip")
    # A file that the user may not even read is input that is refused, by name.
    (scratch / "case" / "records" / "ring.csv").chmod(0)
    unreadable = as_nobody(["check", "case"])
    if unreadable.code != 2 or "records/ring.csv" not in unreadable.stderr:
        faults.append(f"a record that may not be read: {unreadable.ending()}: {unreadable.stderr!r}")
    return faults


def second_run(program, scratch):
    """A second run at once is refused with a sentence; reading verbs are not; afterwards it works."""
    harness.copy_folder(properties.BASE, scratch / "case")
    with open(scratch / "case" / ".lock", "w", encoding="utf-8") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        faults = refused_by_machine(harness.run(program, ["run", "case"], scratch, limit_s=LIMIT_S), "a second run at once", "case", "in use")
        if (scratch / "case" / "out").exists():
            faults.append("a second run at once wrote out/")
        check = harness.run(program, ["check", "case"], scratch, limit_s=LIMIT_S)
        if check.code != 0:
            faults.append(f"check beside a run: {check.ending()}: {check.stderr}")
    after = harness.run(program, ["run", "case"], scratch, limit_s=LIMIT_S)
    if after.code != 0:
        faults.append(f"a run after the lock was given back: {after.ending()}: {after.stderr}")
    return faults


def nobody_reads(program, scratch):
    """Results that cannot be told end with 4: standard output full, closed, or its reader gone."""
    harness.copy_folder(properties.BASE, scratch / "case")
    faults = []
    gravity = ["gravity", "--mass", "1 kg", "--from", "9.81 m/s^2", "--to", "1.62 m/s^2"]
    for args in (gravity, [*gravity, "--json"], ["check", "case", "--json"], ["run", "case", "--quiet"], ["--help"], ["--version"]):
        with open("/dev/full", "wb") as full:
            done = subprocess.run([program, *args], cwd=scratch, stdout=full, stderr=subprocess.PIPE, env=harness.ENVIRONMENT, timeout=LIMIT_S, check=False)
        faults += refused_by_machine(harness.Outcome(done.returncode, "", done.stderr.decode()), f"{args[0]} {args[-1]} to a full device")
        if args[0] == "--help":
            continue
        reader, writer = os.pipe()
        os.close(reader)
        done = subprocess.run([program, *args], cwd=scratch, stdout=writer, stderr=subprocess.PIPE, env=harness.ENVIRONMENT, timeout=LIMIT_S, check=False)
        os.close(writer)
        faults += refused_by_machine(harness.Outcome(done.returncode, "", done.stderr.decode()), f"{args[0]} {args[-1]} to a reader that is gone")
    done = subprocess.run(["/bin/sh", "-c", 'exec "$0" "$@" >&-', program, *gravity], cwd=scratch, stderr=subprocess.PIPE, env=harness.ENVIRONMENT,
                          timeout=LIMIT_S, check=False)
    faults += refused_by_machine(harness.Outcome(done.returncode, "", done.stderr.decode()), "gravity with standard output closed")
    return faults


def interrupted(program, scratch):
    """SIGINT and SIGTERM end a run with 130 and leave the outputs as they were."""
    properties.several_points(scratch / "case")
    # Many possible soils, so that there is something to interrupt.
    campaign = scratch / "case" / "campaign.toml"
    campaign.write_text(campaign.read_text(encoding="utf-8").replace("draws = 40\n", "draws = 100000\n"), encoding="utf-8")
    faults = []
    for number in (signal.SIGINT, signal.SIGTERM):
        process = start(program, ["run", "case"], scratch)
        told = b""
        while b"reducing" not in told:  # the work has begun
            line = process.stderr.readline()
            if not line:
                break
            told += line
        begin = time.monotonic()
        process.send_signal(number)
        try:
            _, rest = process.communicate(timeout=LIMIT_S)
        except subprocess.TimeoutExpired:
            process.kill()
            process.communicate()
            faults.append(f"{number.name}: still running {LIMIT_S} s later")
            continue
        took = time.monotonic() - begin
        if process.returncode != 130:
            faults.append(f"{number.name}: exit {process.returncode}, expected 130; stderr {(told + rest).decode(errors='replace')!r}")
        if (scratch / "case" / "out").exists() or list((scratch / "case").glob(".out*")):
            faults.append(f"{number.name}: something was written: {sorted(p.name for p in (scratch / 'case').iterdir())}")
        print(f"  {number.name} was answered after {took:.2f} s")
    return faults


def no_temporary_space(program, scratch):
    """Amended copies need a temporary folder: without one, exit 4 and a sentence."""
    harness.copy_folder(properties.BASE, scratch / "case")
    (scratch / "case" / "amendments.csv").write_text(
        "file,line,column,action,old,new,initials,time,reason\nrecords/pulls.csv,4,,exclude,,,AI,2026-04-13,stone\n", encoding="utf-8")
    done = subprocess.run([program, "check", "case"], cwd=scratch, capture_output=True, env={**harness.ENVIRONMENT, "TMPDIR": "/nonexistent"},
                          timeout=LIMIT_S, check=False)
    return refused_by_machine(harness.Outcome(done.returncode, done.stdout.decode(), done.stderr.decode()), "no temporary folder")


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("program")
    parser.add_argument("--kills", type=int, default=25)
    parser.add_argument("--seed", type=int, default=20260412)
    parser.add_argument("--only", default="")
    args = parser.parse_args()
    program = str(pathlib.Path(args.program).resolve())
    parts = {"killed at random moments": lambda p, s: killed(p, s, args.kills, args.seed), "a disk without room": full_disk,
             "a disk that fills up": old_outputs_on_full_disk, "a read-only folder": read_only, "a second run at once": second_run,
             "nobody reads the results": nobody_reads, "interrupted": interrupted, "no temporary folder": no_temporary_space}
    failed = ran = skipped = 0
    for name, part in parts.items():
        if args.only not in name:
            continue
        with tempfile.TemporaryDirectory(prefix="hardpan-faults-") as scratch:
            try:
                faults = part(program, pathlib.Path(scratch))
            except Skipped as why:
                skipped += 1
                print(f"SKIPPED {name}: {why}")
                continue
            except (OSError, ValueError, subprocess.SubprocessError) as error:
                faults = [f"{type(error).__name__}: {error}"]
        ran += 1
        if faults:
            failed += 1
            print(f"FAIL {name}")
            for fault in faults:
                print(f"    {fault}")
    print(f"faults: {ran} parts, {failed} failed, {skipped} skipped")
    return 1 if failed or not ran else 0


if __name__ == "__main__":
    sys.exit(main())
