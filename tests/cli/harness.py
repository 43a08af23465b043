# SPDX-License-Identifier: Apache-2.0
"""What the tests of the shipped program share: run it, edit a campaign folder, read strict JSON.

Standard library only, so that the tests run on a bare machine.
"""
import base64
import json
import os
import pathlib
import re
import shutil
import subprocess

# No locale, time zone or colour of the machine may change what the program says.
ENVIRONMENT = {"PATH": os.environ.get("PATH", "/usr/bin:/bin"), "HOME": "/nonexistent", "LC_ALL": "C.UTF-8", "TZ": "UTC",
               "TMPDIR": os.environ.get("TMPDIR", "/tmp"),
               **{k: v for k, v in os.environ.items() if k.endswith("SAN_OPTIONS")}}
FAULT_WORDS = ("fault in the program", "AddressSanitizer", "UndefinedBehavior", "ThreadSanitizer", "runtime error:",
               "terminate called", "Assertion", "assertion failed")


class Outcome:
    """How one call of the program ended. code is negative for a signal and None after the time limit."""

    def __init__(self, code, stdout, stderr):
        self.code, self.stdout, self.stderr = code, stdout, stderr

    @property
    def crashed(self):
        return self.code is None or self.code < 0 or self.code == 1 or any(w in self.stderr for w in FAULT_WORDS)

    def ending(self):
        if self.code is None:
            return "still running at the time limit"
        return f"signal {-self.code}" if self.code < 0 else f"exit {self.code}"


def run(program, args, folder, stdin="", limit_s=60):
    try:
        done = subprocess.run([program, *args], cwd=folder, input=stdin.encode(), capture_output=True, timeout=limit_s,
                              env=ENVIRONMENT, check=False)
    except subprocess.TimeoutExpired as late:
        return Outcome(None, (late.stdout or b"").decode(errors="replace"), (late.stderr or b"").decode(errors="replace"))
    return Outcome(done.returncode, done.stdout.decode(errors="replace"), done.stderr.decode(errors="replace"))


def strict_json(text):
    """Parses JSON that every reader takes: no NaN, no Infinity, no repeated key."""
    def refuse(token):
        raise ValueError(f"{token} is not JSON")

    def unique(pairs):
        keys = [k for k, _ in pairs]
        if len(set(keys)) != len(keys):
            raise ValueError(f"repeated key among {keys}")
        return dict(pairs)
    return json.loads(text, parse_constant=refuse, object_pairs_hook=unique)


class EditError(Exception):
    """The edit does not fit the folder: the table of cases is wrong, or an earlier edit took the text away."""


def _edit_bytes(path, edit):
    if "text" in edit:
        return edit["text"].encode()
    if "part" in edit:  # a file of tests/malformed/parts
        return (pathlib.Path(__file__).resolve().parent.parent / "malformed" / "parts" / edit["part"]).read_bytes()
    if "base64" in edit:
        return base64.b64decode(edit["base64"], validate=True)
    if "repeat" in edit:  # one long piece of text: head, then a unit many times
        return (edit.get("head", "") + edit["repeat"] * edit["times"]).encode()
    if not path.is_file():
        raise EditError(f"{path.name} is not there to be edited")
    old = path.read_bytes()
    if "append" in edit:
        return old + edit["append"].encode()
    if "encode" in edit:
        return old.decode().encode(edit["encode"])
    if "cut_bytes" in edit:
        return old[:edit["cut_bytes"]]
    if "replace" in edit:
        wanted = edit["replace"].encode()
        if old.count(wanted) != 1:
            raise EditError(f"{edit['replace']!r} stands {old.count(wanted)} times in {path.name}, not once")
        return old.replace(wanted, edit["with"].encode())
    if "regex" in edit:
        new, times = re.subn(edit["regex"], edit["with"], old.decode(), count=edit.get("most", 0), flags=re.M)
        if times == 0:
            raise EditError(f"{edit['regex']!r} is not found in {path.name}")
        return new.encode()
    raise EditError(f"an edit of {path.name} says nothing to do: {sorted(edit)}")


def apply_edit(folder, edit):
    path = pathlib.Path(folder) / edit["file"]
    if edit.get("delete"):
        if not path.exists():
            raise EditError(f"{edit['file']} is not there to be deleted")
        path.unlink()
        return
    if "symlink" in edit or edit.get("folder"):
        if path.is_file() or path.is_symlink():
            path.unlink()
        path.parent.mkdir(parents=True, exist_ok=True)
        if edit.get("folder"):
            path.mkdir()
        else:
            path.symlink_to(edit["symlink"])
        return
    new = _edit_bytes(path, edit)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(new)


def copy_folder(source, target):
    shutil.copytree(source, target, ignore=shutil.ignore_patterns("out", "ledger.sqlite*", ".lock"))


def indented(text, most=4000):
    shown = text if len(text) <= most else text[:most] + f"\n... {len(text) - most} more characters"
    return "".join(f"      | {line}\n" for line in shown.splitlines()) or "      | (nothing)\n"
