#!/usr/bin/env python3
"""The same work in this engine and in two other libraries, in one run, and the ratios of their times.

Run it with

    sh tests/peers/compare.sh                      (some 15 minutes)
    sh tests/peers/compare.sh asia alarm mower     (only these)
    sh tests/peers/compare.sh asia --json FILE     (and keep every measurement)
    sh tests/peers/compare.sh --from FILE..        (measure nothing: the table of what was kept)

It builds `bench_work` (tests/bench) and starts it and peer_times.py, which says what is measured, one
process after the other on one network after the other, ours before and after each of theirs, so that a
busy machine slows down all of them. Every process has a limit of time and memory; what does not
finish is said so in the table. Answers are compared: the table is worth nothing unless all engines
computed the same.

Times are medians in milliseconds, over evidence sets of medians for each. `ratio` is that of the
fastest peer: its time divided by ours, both over the evidence sets that it got through in its time.
Work that fits the time only in part is scaled up and marked ~.
`mower` is the demo job on the shipped mower, four attempts in. Ours takes its noisy-MAX rules as they
are; pyAgrum has such rules for two states only, so the peers get them as chains of maxima, which is the
same distribution, from the first parent to the last and from the last to the first: the faster counts.
"""

import argparse
import collections
import json
import math
import os
import pathlib
import resource
import statistics
import subprocess
import sys
import tempfile
import time

from make_networks import HERE, NETWORKS, load
from work import draw_work

ROOT = HERE.parent.parent
TASKS = {
    "compile": "a tree and the first answer: all marginals, nothing found",
    "first": "a tree and the first answer: all marginals, a tenth of the variables found",
    "new": "other findings, all marginals",
    "again": "the same variables in other states, all marginals",
    "sweep": "every unobserved leaf in each of its states, all root marginals",
}
OURS = "ours"
# Relative, of a sum over thousands of probabilities that agree within 1e-9 each.
SAME = 1e-9
MOWER_SHAPES = ["chain", "backwards"]
# On the mower a peer takes ten seconds for a single state of a leaf: more time, and for the sweep only.
MOWER_TASKS = ["sweep"]
MOWER_PATIENCE = 4


class Engine:
    """What is compared: a name for the table and how to start it."""

    def __init__(self, name, label, command):
        self.name, self.label, self.command = name, label, command


def engines(asked, binary):
    yield Engine(OURS, OURS, [str(binary)])
    for name in asked.engines:
        for threads in asked.threads if name.startswith("pyagrum") else [1]:
            label = name if threads == 1 else f"{name} x{threads}"
            script = [sys.executable, "-W", "ignore", str(HERE / "peer_times.py"), name]
            yield Engine(name, label, script + ["--threads", str(threads)])


def build():
    subprocess.run(
        ["cargo", "build", "--release", "-q", "-p", "halfsplit-tests", "--bin", "bench_work"],
        cwd=ROOT,
        check=True,
    )
    target = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
    return target / "release" / "bench_work"


def run(engine, work, task, asked, seconds):
    """The lines that an engine prints, and why there are no more."""
    command = [engine.command[0], *engine.command[1:], str(work), "--tasks", task]
    command += ["--seconds", str(asked.seconds)]
    memory = int(asked.memory * 1e9)
    # The order of pgmpy's sets, and with it its work, hangs on the hash of strings.
    environment = {**os.environ, "PYTHONHASHSEED": "0", "PYTHONDONTWRITEBYTECODE": "1"}
    started = time.monotonic()
    process = subprocess.Popen(
        command,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=environment,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_AS, (memory, memory)),
    )
    reason = None
    try:
        out, err = process.communicate(timeout=seconds)
    except subprocess.TimeoutExpired:
        process.kill()
        out, err = process.communicate()
        reason = f"did not finish in {seconds:.0f} s"
    lines = [json.loads(line) for line in out.splitlines() if line.startswith("{")]
    failed = [line["reason"] for line in lines if line["task"] == "failed"]
    if failed:
        reason = failed[0]
    elif process.returncode and not reason:
        reason = f"ended with {process.returncode}: {err.strip().splitlines()[-1:]}"
    lines = [line for line in lines if line["task"] == task]
    return lines, reason, time.monotonic() - started


def measure(name, all_engines, folder, asked, binary):
    """By task and engine: the lines, and why there are none."""
    works = {}
    if name == "mower":
        works[OURS] = ["mower"]
        works[None] = []
        for shape in MOWER_SHAPES:
            path = folder / f"mower-{shape}.json"
            text = subprocess.run(
                [str(binary), "mower", "--export", shape], check=True, capture_output=True
            ).stdout
            path.write_bytes(text)
            works[None].append(path)
        tasks, patience = MOWER_TASKS, MOWER_PATIENCE
    else:
        network = load(name)
        path = folder / f"{name}.json"
        path.write_text(json.dumps({"network": network, **draw_work(name, network)}))
        works[OURS] = works[None] = [path]
        tasks, patience = list(TASKS), 1
    result = collections.defaultdict(lambda: ([], []))
    limit = asked.limit * patience
    left = {engine.label: 3 * limit for engine in all_engines}

    def once(engine, task):
        for work in works.get(engine.name, works[None]):
            if left[engine.label] <= 0:
                result[task, engine.label][1].append("the network's time was spent")
                continue
            lines, reason, took = run(
                engine, work, task, asked, min(limit, max(left[engine.label], 1))
            )
            left[engine.label] -= took
            result[task, engine.label][0].extend(lines)
            if reason:
                result[task, engine.label][1].append(reason)

    ours, *theirs = all_engines
    for task in [t for t in tasks if t in asked.tasks]:
        once(ours, task)
        for engine in theirs:
            once(engine, task)
        once(ours, task)
        show_progress(f"{name}: {task}")
    return result


def show_progress(text):
    if sys.stderr.isatty():
        print(f"\r\033[K{text}", end="", file=sys.stderr, flush=True)


def median(lines):
    """Of the medians of every evidence set: some were measured once more than others."""
    by_set = collections.defaultdict(list)
    for line in lines:
        by_set[line.get("set")].append(line["ms"])
    return statistics.median(statistics.median(of_one) for of_one in by_set.values())


def fastest_way(lines):
    """Of the ways to the same answer, the lines of the fastest."""
    ways = collections.defaultdict(list)
    for line in lines:
        ways[line.get("way")].append(line)
    return min(ways.values(), key=median, default=[])


def ratio(peer, ours):
    """Of medians, over the evidence sets that both measured."""
    sets = {line.get("set") for line in peer} & {line.get("set") for line in ours}
    peer, ours = ([line for line in lines if line.get("set") in sets] for lines in (peer, ours))
    return median(peer) / median(ours) if sets else None


def differences(name, task, everything):
    """Answers that are not the same as ours."""
    ours = {line.get("set"): line["check"] for line in everything.get(OURS, []) if "check" in line}
    for label, lines in everything.items():
        for line in lines:
            expected = ours.get(line.get("set"))
            if "check" not in line or expected is None:
                continue
            if not math.isclose(line["check"], expected, rel_tol=SAME):
                yield f"{name}, {task}, {label}: {line['check']} is not {expected}"
                break


def table(title, names, labels, cells):
    """Prints rows of network, the engines' times, ratio; `cells` has lines by name and label."""
    print(f"\n{title}")
    width = max(12, *(len(label) + 2 for label in labels))
    print(f"{'network':12}" + "".join(f"{label:>{width}}" for label in labels) + f"{'ratio':>10}")
    for name in names:
        text = f"{name:12}"
        ratios = []
        for label in labels:
            lines = cells[name][label]
            if lines:
                mark = "~" if any("measured" in line for line in lines) else ""
                text += f"{mark + format(median(lines), '.4g'):>{width}}"
                if label != OURS and cells[name][OURS]:
                    ratios.append(ratio(lines, cells[name][OURS]))
            else:
                text += f"{'-':>{width}}"
        ratios = [r for r in ratios if r is not None]
        print(text + (f"{min(ratios):>10.3g}" if ratios else ""))


def report(names, labels, results, asked):
    wrong, reasons = [], []
    for task in [t for t in TASKS if t in asked.tasks]:
        cells = {}
        for name in names:
            everything = {label: results[name][task, label][0] for label in labels}
            wrong += differences(name, task, everything)
            cells[name] = {label: fastest_way(lines) for label, lines in everything.items()}
            for label in labels:
                for reason in dict.fromkeys(results[name][task, label][1]):
                    reasons.append(f"{name}, {task}, {label}: {reason}")
        table(f"{task}: {TASKS[task]} (ms)", names, labels, cells)
    print("\nentries in the cliques of the compiled tree (nothing found)")
    for name in names:
        show = {label: results[name]["compile", label][0][:1] for label in labels}
        counts = [f"{label} {x[0]['entries']:.4g}" for label, x in show.items() if x and x[0]["entries"]]
        print("  ".join([f"{name:12}", *counts]))
    print("\nentries gone through by ours for one answer (median over the sets of `new`)")
    for name in names:
        touched = [line["touched"] for line in results[name]["new", OURS][0] if line.get("touched")]
        print(f"{name:12}" + (f"  {statistics.median(touched):.4g}" if touched else ""))
    if reasons:
        print("\nwhat is missing, and why")
        print("\n".join(reasons))
    print("\n" + ("\n".join(["ANSWERS DIFFER", *wrong]) if wrong else "All answers compared agree."))
    return not wrong


def keep(path, results):
    """Writes what was measured, and what is missing, as lines of JSON."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("w") as file:
        for name, result in results.items():
            for (task, label), (lines, reasons) in result.items():
                about = {"network": name, "engine": label, "task": task}
                file.writelines(json.dumps({**about, **line}) + "\n" for line in lines)
                file.writelines(json.dumps({**about, "missing": reason}) + "\n" for reason in reasons)


def kept(paths):
    """What `keep` wrote into these files, as `measure` gives it, by network."""
    results = {}
    for path in paths:
        for text in path.read_text().splitlines():
            line = json.loads(text)
            result = results.setdefault(line.pop("network"), collections.defaultdict(lambda: ([], [])))
            lines, reasons = result[line["task"], line.pop("engine")]
            if "missing" in line:
                reasons.append(line["missing"])
            else:
                lines.append(line)
    return results


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("names", nargs="*", default=[*NETWORKS, "mower"], help="networks; mower")
    parser.add_argument("--tasks", type=lambda t: t.split(","), default=list(TASKS))
    parser.add_argument(
        "--engines",
        type=lambda t: t.split(","),
        default=["pyagrum-lazy", "pyagrum-shafer-shenoy", "pgmpy-elimination"],
        help="comma-separated; also pgmpy-propagation, slower wherever it was tried",
    )
    parser.add_argument(
        "--threads", type=lambda t: [int(n) for n in t.split(",")], default=[1], help="of pyAgrum"
    )
    parser.add_argument("--seconds", type=float, default=1, help="to measure a task")
    parser.add_argument("--limit", type=float, default=20, help="seconds for a process")
    parser.add_argument("--memory", type=float, default=8, help="GB for a process")
    parser.add_argument("--json", type=pathlib.Path, help="also write every measurement there")
    parser.add_argument(
        "--from",
        dest="files",
        type=pathlib.Path,
        nargs="+",
        help="measure nothing; print the table of what --json wrote into these files",
    )
    asked = parser.parse_args()
    if asked.files:
        results = kept(asked.files)
        names = [name for name in asked.names if name in results]
        labels = list(dict.fromkeys(label for result in results.values() for _, label in result))
        sys.exit(0 if report(names, labels, results, asked) else 1)
    unknown = set(asked.names) - {*NETWORKS, "mower"}
    if unknown:
        parser.error(f"there is no network {', '.join(sorted(unknown))}")
    binary = build()
    all_engines = list(engines(asked, binary))
    labels = [engine.label for engine in all_engines]
    results = {}
    with tempfile.TemporaryDirectory() as folder:
        for name in asked.names:
            results[name] = measure(name, all_engines, pathlib.Path(folder), asked, binary)
    show_progress("")
    if asked.json:
        keep(asked.json, results)
    print(
        f"{os.cpu_count()} processors, load {os.getloadavg()[0]:.1f}; pyAgrum with "
        f"{' and '.join(map(str, asked.threads))} thread(s), ours with 1; "
        f"{asked.limit:.0f} s and {asked.memory:.0f} GB for a process"
    )
    sys.exit(0 if report(asked.names, labels, results, asked) else 1)


if __name__ == "__main__":
    main()
