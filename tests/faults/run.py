#!/usr/bin/env python3
"""Seeded faults: puts the mistakes of faults.toml into the code, one at a time, and asks the tests to notice.

On demand, never part of the check that every change must pass. The unaltered tests must pass first. A fault of a shader
goes into a copy of shaders/, which the test programs read through UNDERCAP_SHADER_DIR. A fault of C++ goes into a copy of
the whole tree with a build of its own, build/faults/tree, and is built there; the working tree is never touched. The
programs that could notice run one after another, those that take least time first, each up to its first failure.

Exit status 0: every fault was caught. 1: one survived, does not apply or does not compile. 2: the unaltered tests fail.
"""

import argparse
import hashlib
import json
import os
import queue
import shutil
import sys
import tempfile
import threading
import time
from pathlib import Path

sys.dont_write_bytecode = True
from common import (ROOT, Stop, altered, configure, digest, edits_of, fingerprint, first_error, git_files, is_shader, ninja,
                    programs_of, read_faults, refuse_uncompiled, run, say)

PROBE = "undercap = 1\n[exposure]\nshutter_s = 1.0\nwhite_balance_k = 6500\n"  # compiles every shader, traces little
UNALTERED = "the unaltered tests"
LABELS = ["unit", "cli", "physics", "reference", "coverage"]


# --- the two places where faults are put in


class Shaders:
    """Copies of shaders/ for the programs of the unaltered build."""

    def __init__(self, options, programs):
        self.options, self.work = options, options.work
        self.programs = [p for p in programs if p.reads_shader_folder()]
        self.undercap = options.build / "app" / "undercap"
        self.plain = self.work / "plain"  # as they are now, whatever an editor does meanwhile
        shutil.rmtree(self.plain, ignore_errors=True)
        shutil.copytree(ROOT / "shaders", self.plain / "shaders")
        if not self.programs:
            raise Stop("no test program reads shaders from a folder: is the build old?")

    def compile(self, folder):
        probe = folder.parent / "probe.toml"
        probe.write_text(PROBE, encoding="utf-8")
        device = ["--device", self.options.device] if self.options.device else []
        status, text = run([self.undercap, "render", probe, "--size", "16x16", "--quality", "draft",
                            "--shader-dir", folder, "-o", folder.parent / "probe.png", *device], timeout=600)
        refuse_uncompiled(text)
        if status != 0:
            raise ValueError("renders nothing: " + first_error(text))

    def judge(self, fault, result, compile_only=False):
        texts = altered(fault, self.plain)
        with tempfile.TemporaryDirectory(prefix="fault-", dir=self.work) as place:
            folder = Path(place) / "shaders"
            shutil.copytree(self.plain / "shaders", folder)
            for name, text in texts.items():
                (Path(place) / name).write_text(text, encoding="utf-8")
            if compile_only:
                self.compile(folder)
                return
            environment = {"UNDERCAP_SHADER_DIR": str(folder), **self.options.device_environment}
            result["caught"] = first_that_notices(self.programs, environment, self.options, fault)


class Tree:
    """A copy of the working tree with a build of its own, for faults of C++."""

    def __init__(self, options):
        self.options = options
        self.source = options.work / "tree"
        self.build = self.source / "build"
        self.programs, self.plain = [], {}

    def prepare(self, seconds):
        """Brings the copy up to date and builds it. 'seconds': what each program took, by name."""
        wanted = set(git_files())
        for name in wanted:
            source, target = ROOT / name, self.source / name
            if not target.is_file() or target.read_bytes() != source.read_bytes():
                target.parent.mkdir(parents=True, exist_ok=True)
                shutil.copy(source, target)
        for old in self.source.rglob("*"):
            if old.is_file() and self.build not in old.parents and str(old.relative_to(self.source)) not in wanted:
                old.unlink()
        log = self.options.work / "tree.log"
        configure(self.source, self.build, log)
        status, text = ninja(self.build, self.options.jobs, log)
        if status != 0:
            raise Stop(f"the copy of the tree does not build:\n{text[-2000:]}")
        self.programs = programs_of(self.build, LABELS)
        for program in self.programs:
            program.seconds = seconds.get(program.name, 0)
        self.programs.sort(key=lambda p: p.seconds)
        self.plain = {p.path: digest(p.path) for p in self.programs}
        self.plain_undercap = digest(self.build / "app" / "undercap")

    def put(self, texts):
        """Writes these texts; returns what stood there."""
        before = {name: (self.source / name).read_text(encoding="utf-8") for name in texts}
        for name, text in texts.items():
            (self.source / name).write_text(text, encoding="utf-8")
        return before

    def judge(self, fault, result):
        before = self.put(altered(fault, self.source))
        try:
            asked = self.built(self.options.work / "logs" / f"{fault['id']}.build.log")
            result["caught"] = first_that_notices(asked, self.options.device_environment, self.options, fault)
        finally:
            self.put(before)

    def built(self, log):
        """The programs that could notice, each built only when its turn comes: most faults are caught early."""
        for program in self.programs:
            of_users = program.label == "cli"  # runs the program that users run, so everything is built
            target = [] if of_users else [str(program.path.relative_to(self.build))]
            status, text = ninja(self.build, self.options.jobs, log, *target)
            if status != 0:
                raise ValueError("does not compile: " + first_error(text))
            # A program whose bytes are the same cannot notice.
            told = of_users and digest(self.build / "app" / "undercap") != self.plain_undercap
            if told or digest(program.path) != self.plain[program.path]:
                yield program

    def compile_all(self, faults):
        """Compiles faults of different files together; those of a round that fails, alone. Returns id: trouble."""
        trouble, rest = {}, list(faults)

        def attempt(group):
            texts = {}
            for fault in group:
                texts.update(altered(fault, self.source))
            before = self.put(texts)
            status, text = ninja(self.build, self.options.jobs, self.options.work / "tree.log")
            self.put(before)
            return None if status == 0 else "does not compile: " + first_error(text)

        while rest:
            group, files = [], set()
            for fault in list(rest):
                own = {edit["file"] for edit in edits_of(fault)}
                if not own & files:
                    group.append(fault)
                    files |= own
                    rest.remove(fault)
            say(f"  compiling {len(group)} faults of C++ together")
            if attempt(group) is not None:
                for fault in group:
                    if (fails := attempt([fault])) is not None:
                        trouble[fault["id"]] = fails
        return trouble


def first_that_notices(programs, environment, options, fault):
    threads = max(1, (os.cpu_count() or 1) // options.jobs)
    for program in programs:
        log = options.work / "logs" / f"{fault['id']}.{program.path.name}.log"
        caught, text = program.ask(environment, threads, log)
        if caught:
            refuse_uncompiled(text)
            return caught
    return None


# --- the run


def unaltered_pass(programs, options, results):
    """Every program once without a fault, and how long each takes; known when it passed before with the same code."""
    known = results.known.get(UNALTERED, {}).get("programs", {})
    if set(known) == {p.name for p in programs}:
        for program in programs:
            program.seconds = known[program.name]
        say("The unaltered tests have passed before")
        return
    threads = max(1, (os.cpu_count() or 1) // options.jobs)
    say(f"The unaltered tests: {len(programs)} programs")
    for program in programs:
        begin = time.monotonic()
        failed, text = program.ask({**options.device_environment, "GTEST_FAIL_FAST": "0"}, threads,
                                   options.work / "logs" / f"unaltered.{program.path.name}.log")
        program.seconds = time.monotonic() - begin
        say(f"  {program.seconds:7.1f} s  {program.name}")
        if failed:
            raise Stop(f"the unaltered tests fail ({failed}); nothing can be said about faults:\n{text[-2000:]}")
    results.put(UNALTERED, {"programs": {p.name: round(p.seconds, 1) for p in programs}})


def tree_state():
    """A name for the code that is judged: a result of other code says nothing about this one."""
    judged = hashlib.sha256()
    for name in git_files("engine", "app", "shaders", "tests", "CMakeLists.txt"):
        if not name.startswith("tests/faults/"):
            judged.update(os.fsencode(name) + b"\0" + (ROOT / name).read_bytes())
    return judged.hexdigest()[:16]


class Results:
    """What is known so far; written after each fault, so that a run that was stopped goes on where it was."""

    def __init__(self, path):
        self.path, self.lock, self.state = path, threading.Lock(), tree_state()
        self.known = json.loads(path.read_text()) if path and path.is_file() else {}
        self.stale = [name for name, result in self.known.items() if result["code"] != self.state]

    def of(self, fault):
        found = self.known.get(fault["id"])
        return found if found and found["edit"] == fingerprint(fault) else None

    def put(self, name, result):
        with self.lock:
            self.known[name] = {**result, "code": self.state}
            if self.path:
                new = self.path.with_suffix(".new")
                new.write_text(json.dumps(self.known, indent=1) + "\n")
                new.replace(self.path)


def judge_all(faults, shaders, tree, results, options):
    waiting = {"shader": queue.Queue(), "tree": queue.Queue()}
    for fault in faults:
        waiting["shader" if is_shader(fault) else "tree"].put(fault)
    done = [0]

    def work(kinds):
        for kind in kinds:
            while True:
                try:
                    fault = waiting[kind].get_nowait()
                except queue.Empty:
                    break
                result, begin = {"caught": None, "invalid": None}, time.monotonic()
                try:
                    (shaders if kind == "shader" else tree).judge(fault, result)
                except ValueError as wrong:
                    result["invalid"] = str(wrong)
                result["seconds"] = round(time.monotonic() - begin, 1)
                results.put(fault["id"], {**result, "edit": fingerprint(fault)})
                with results.lock:
                    done[0] += 1
                    say(f"  [{done[0]}/{len(faults)}] {result['seconds']:6.1f} s  {fault['id']}: {verdict(result)}")

    # One tree, so one thread for C++; it helps with the shaders when it is through.
    threads = [threading.Thread(target=work, args=(["tree", "shader"],))]
    threads += [threading.Thread(target=work, args=(["shader"],)) for _ in range(options.jobs - 1)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()


def verdict(result):
    if result["invalid"]:
        return "INVALID: " + result["invalid"]
    return result["caught"] or "SURVIVED"


def table(faults, results):
    lines = ["| fault | mistake | caught by | s |", "|---|---|---|---|"]
    for fault in faults:
        result = results.of(fault)
        word, seconds = (verdict(result), result["seconds"]) if result else ("not run", "")
        lines.append(f"| {fault['id']} | {fault['what']} | {word} | {seconds} |")
    return "\n".join(lines)


def compile_check(faults, options):
    """Whether every fault still applies and compiles; runs no test."""
    trouble, good = {}, []
    for fault in faults:
        try:
            altered(fault, ROOT)
            good.append(fault)
        except ValueError as wrong:
            trouble[fault["id"]] = str(wrong)
    if not options.apply_only:
        if any(is_shader(f) for f in good):
            shaders = Shaders(options, programs_of(options.build, LABELS))
            for fault in filter(is_shader, good):
                try:
                    shaders.judge(fault, {}, compile_only=True)
                except ValueError as wrong:
                    trouble[fault["id"]] = str(wrong)
        of_tree = [f for f in good if not is_shader(f)]
        if of_tree:
            tree = Tree(options)
            tree.prepare({})
            trouble.update(tree.compile_all(of_tree))
    for name, wrong in trouble.items():
        say(f"{name}: {wrong}")
    say(f"{len(faults) - len(trouble)} of {len(faults)} faults apply" + ("" if options.apply_only else " and compile"))
    return 1 if trouble else 0


def options_of(arguments):
    parser = argparse.ArgumentParser(description="Puts known mistakes into the code and asks the tests to notice.")
    parser.add_argument("--only", metavar="ID,ID", help="these faults alone")
    parser.add_argument("--list", action="store_true", help="print the faults and why each matters")
    parser.add_argument("--apply-only", action="store_true", help="only see whether every snippet is still there")
    parser.add_argument("--compile-only", action="store_true", help="only see whether every fault applies and compiles")
    parser.add_argument("--results", type=Path, metavar="FILE",
                        help="JSON of what is known; faults in it, of the same code, are not run again")
    parser.add_argument("--keep-stale", action="store_true", help="trust results of other code in --results as well")
    parser.add_argument("--build", type=Path, default=ROOT / "build", metavar="FOLDER",
                        help="build of the unaltered tree (default: build)")
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1, metavar="N",
                        help="how much runs at a time (default: one a core)")
    parser.add_argument("--device", metavar="D", help="OpenGL device: 'software', a number, a part of its name")
    options = parser.parse_args(arguments)
    options.jobs = max(1, options.jobs)
    options.build = options.build.resolve()
    options.work = options.build / "faults"
    options.device_environment = {"UNDERCAP_DEVICE": options.device} if options.device else {}
    return options


def main(arguments):
    options = options_of(arguments)
    faults = read_faults(options.only.split(",") if options.only else None)
    if options.list:
        for fault in faults:
            say(f"{fault['id']} ({fault['file']})\n  {fault['what']}\n  {fault['why']}")
        return 0
    if options.apply_only:
        return compile_check(faults, options)
    (options.work / "logs").mkdir(parents=True, exist_ok=True)
    configure(ROOT, options.build, options.work / "build.log")
    status, text = ninja(options.build, options.jobs, options.work / "build.log")
    if status != 0:
        raise Stop(f"the unaltered tree does not build:\n{text[-2000:]}")
    if options.compile_only:
        return compile_check(faults, options)

    results = Results(options.results)
    for name in results.stale:
        if name == UNALTERED or not options.keep_stale:
            del results.known[name]
    waiting = [fault for fault in faults if not results.of(fault)]
    if waiting:
        programs = programs_of(options.build, LABELS)
        unaltered_pass(programs, options, results)
        programs.sort(key=lambda p: p.seconds)
        shaders, tree = None, Tree(options)
        if any(map(is_shader, waiting)):
            shaders = Shaders(options, programs)
        if not all(map(is_shader, waiting)):
            tree.prepare({p.name: p.seconds for p in programs})
        say(f"{len(waiting)} faults")
        judge_all(waiting, shaders, tree, results, options)
    say("\n" + table(faults, results))
    bad = [f["id"] for f in faults if not (r := results.of(f)) or r["invalid"] or not r["caught"]]
    say(f"\n{len(faults) - len(bad)} of {len(faults)} caught" + (f"; not caught: {', '.join(bad)}" if bad else ""))
    return 1 if bad else 0


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except Stop as reason:
        print(f"run.py: {reason}", file=sys.stderr)
        sys.exit(2)
    except KeyboardInterrupt:
        sys.exit(130)
