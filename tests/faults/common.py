"""What run.py stands on: the list of faults, the test programs of a build, and commands."""

import hashlib
import json
import os
import re
import shutil
import subprocess
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


class Stop(Exception):
    """Nothing can be said about any fault; the message says why."""


def say(text):
    print(text, flush=True)


def run(command, log=None, **more):
    """Runs a command; returns (status, output). A command that runs too long gives the status None."""
    more.setdefault("cwd", ROOT)
    try:
        done = subprocess.run([str(word) for word in command], stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
                              stdin=subprocess.DEVNULL, **more)
        status, output = done.returncode, done.stdout
    except subprocess.TimeoutExpired as late:
        status, output = None, late.stdout or b""
    text = output.decode("utf-8", "replace")
    if log:
        log.write_text(text, encoding="utf-8")
    return status, text


def git_files(*places):
    """The files of the working tree, new ones too, without what git ignores."""
    _, text = run(["git", "ls-files", "-z", "-c", "-o", "--exclude-standard", *places])
    return sorted(name for name in set(text.split("\0")) if name and (ROOT / name).is_file())


# --- faults


def edits_of(fault):
    return [fault, *fault.get("more", [])]


def is_shader(fault):
    return all(edit["file"].split("/")[0] == "shaders" for edit in edits_of(fault))


def read_faults(wanted):
    with open(Path(__file__).with_name("faults.toml"), "rb") as file:
        faults = tomllib.load(file)["fault"]
    names = [fault["id"] for fault in faults]
    if len(set(names)) != len(names):
        raise Stop("faults.toml: two faults share an id")
    if wanted is None:
        return faults
    for name in wanted:
        if name not in names:
            raise Stop(f"there is no fault '{name}' in faults.toml")
    return [fault for fault in faults if fault["id"] in wanted]


def altered(fault, root):
    """The texts of the files that a fault changes. Raises ValueError where a snippet is not there exactly once."""
    texts = {}
    for edit in edits_of(fault):
        where = root / edit["file"]
        files = sorted(p for p in where.rglob("*.*") if p.is_file()) if where.is_dir() else [where]
        found, count = None, 0
        for path in files:
            name = str(path.relative_to(root))
            text = texts[name] if name in texts else path.read_text(encoding="utf-8")
            if edit["old"] in text:
                found, count = name, count + text.count(edit["old"])
                altered_text = text.replace(edit["old"], edit["new"])
        if count != 1:
            raise ValueError(f"the snippet stands {count} times in {edit['file']}: {edit['old']!r}")
        texts[found] = altered_text
    return texts


def fingerprint(fault):
    """What a stored result depends on: the edits alone, so that a reworded description does not run anew."""
    said = [[edit["file"], edit["old"], edit["new"]] for edit in edits_of(fault)]
    return hashlib.sha256(json.dumps(said).encode()).hexdigest()[:16]


# --- test programs of one build


def digest(path):
    return hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else ""


class Program:
    """One test program of a build, run as a whole. 'tests' are its names in ctest."""

    def __init__(self, command, label, folder):
        self.command, self.label, self.folder = command, label, folder
        self.path = Path(command[0])
        self.seconds = 0.0

    @property
    def name(self):
        return " ".join([self.path.name, *self.command[1:]])

    def reads_shader_folder(self):
        return self.path.is_file() and b"UNDERCAP_SHADER_DIR" in self.path.read_bytes()

    def ask(self, environment, jobs_hint, log):
        """Returns (caught by, output): None when all its tests passed."""
        limit = 120 + 8 * self.seconds if self.seconds else 3600
        status, text = run(self.command, log, cwd=self.folder, timeout=limit,
                           env={**os.environ, "GTEST_FAIL_FAST": "1", "GTEST_COLOR": "no",
                                "LP_NUM_THREADS": str(jobs_hint), **environment})
        if status == 0:
            return None, text
        if status is None:
            return f"{self.path.name}: over {limit:.0f} s", text
        failed = re.search(r"^\[  FAILED  \] ([\w./]+)", text, re.MULTILINE)
        if failed:
            return failed.group(1), text
        return f"{self.path.name}: status {status}", text


def programs_of(build, labels):
    """The programs of the build behind the tests that ctest knows, each once. Scripts run the same programs again."""
    status, text = run(["ctest", "--test-dir", build, "--show-only=json-v1"])
    if status != 0:
        raise Stop(f"ctest cannot list the tests of {build}:\n{text}")
    programs = {}
    for test in json.loads(text[text.index("{"):])["tests"]:
        properties = {p["name"]: p["value"] for p in test.get("properties", [])}
        label = next((l for l in labels if l in properties.get("LABELS", [])), None)
        if label is None or not test.get("command") or Path(build) not in Path(test["command"][0]).parents:
            continue
        # A case of a program that ctest runs one by one: the whole program is asked once.
        command = [word for word in test["command"]
                   if not word.startswith(("--gtest_filter=", "--gtest_also_run_disabled_tests"))]
        programs.setdefault(tuple(command),
                            Program(command, label, properties.get("WORKING_DIRECTORY", str(build))))
    return list(programs.values())


def configure(source, build, log):
    if not (build / "build.ninja").is_file():
        launcher = ["-DCMAKE_CXX_COMPILER_LAUNCHER=ccache"] if shutil.which("ccache") else []
        status, text = run(["cmake", "-S", source, "-B", build, "-G", "Ninja", "-DCMAKE_BUILD_TYPE=Release",
                            "-DUNDERCAP_TESTS=ON", *launcher], log)
        if status != 0:
            raise Stop(f"{build} cannot be configured:\n{text}")


def ninja(build, jobs, log, *more):
    return run(["ninja", "-C", build, "-j", str(jobs), *more], log)


def first_error(text):
    lines = [line for line in text.splitlines() if re.search(r"\berror\b", line, re.IGNORECASE)]
    return (lines or text.splitlines() or ["?"])[0][:300]


def refuse_uncompiled(text):
    """A shader that does not compile proves nothing about the tests."""
    if re.search(r"a shader does not (compile|link)", text):
        raise ValueError("does not compile: " + first_error(text))
