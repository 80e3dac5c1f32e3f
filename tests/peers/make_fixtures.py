#!/usr/bin/env python3
"""Writes the answers that two general-purpose libraries give on the networks of make_networks.py.

Run it with

    sh tests/peers/regenerate.sh

which makes tests/peers/.venv, installs requirements.txt there and starts this script. The files it
writes are committed, so that testing the engine needs no Python; run it again only to change the
networks, the cases or the versions. pyAgrum sums in an order that changes from run to run, and with
it the last digit or two; a fixture file that the new answers confirm within 1e-11 is left as it is,
so a run that changes nothing leaves no difference behind.

What it writes
--------------
fixtures/<name>.json    (of the larger networks gzipped, with posteriors to twelve decimals) `cases`, each with
                          `name`         how the evidence was drawn (see cases.py)
                          `evidence`     in the Evidence file form
                          `p_evidence`   the sum over all states x of P(x) times the product of the
                                         likelihoods of x; a hard finding is the likelihood 1 on its
                                         state and 0 elsewhere. Likelihoods need not sum to one, nor
                                         stay below one (a density may exceed it)
                          `posteriors`   of every variable without a hard finding; with all
                                         variables found it is empty
                          `peers_differ` how far the peers are apart: the largest absolute
                                         difference of a posterior, and the relative difference of
                                         p_evidence
                          `second`       only where they differ by more than 1e-11: `p_evidence` and
                                         `posteriors` of the second peer. Elsewhere the first peer's
                                         values are stored and stand for both
                        `could_not`: what a peer could not do, with the reason (memory, time); such a
                        case is left out, unless it has `peers`, the two that answered it;
                        and `impossible`: sets of hard findings with probability zero, each with
                        `smallest_conflicts`, every subset of the least size that is impossible by
                        itself.

Where the numbers come from
---------------------------
First peer: pyAgrum, `LazyPropagation`, `posterior` and `evidenceProbability`, likelihoods by
`addEvidence` (one that leaves a single state possible is divided by it, and p_evidence multiplied by
it again: see `First.answer`).
Second peer: pgmpy, `VariableElimination.query`, likelihoods as children that are found (which takes
values in 0..1 only: they are divided by the largest, and p_evidence is multiplied by it again); it
has no call for the probability of evidence, so that is built up by the chain rule, one query for
each finding given those before it.

Where one of the two could not, pyAgrum's `ShaferShenoyInference` stands in for it.

On the large networks every peer answers every case in a process of its own with a limit of time and
memory.

The script fails if the peers differ by more than 1e-9 anywhere, and says how far apart they are.
"""

import argparse
import multiprocessing
import pathlib
import resource
import signal
import sys
import time
from importlib.metadata import version

from cases import draw_cases, draw_few_cases, smallest_conflicts
from libraries import First, FirstByShaferShenoy, Second, gum
from make_networks import HERE, NETWORKS, load
from store import read_json, write_json

# Large networks, and the share of their variables that is found: with fewer findings on munin1 and
# link no peer can answer.
FEW = {
    "andes": 0.1,
    "pigs": 0.1,
    "barley": 0.1,
    "mildew": 0.1,
    "diabetes": 0.1,
    "munin1": 0.3,
    "link": 0.3,
    "munin": 0.1,
}
GZIPPED = {*FEW, "hailfinder", "hepar2", "win95pts", "water"}

PEERS_MUST_AGREE = 1e-9  # absolute for posteriors, relative for p_evidence
STORE_ONCE = 1e-11  # closer than this, one set of values stands for both peers
DECIMALS = 12  # of the posteriors in the gzipped files

SECONDS = 900  # of processor time, for one answer on a large network
GIGABYTES = 8


def apart(one, other):
    """How far two answers differ: posteriors absolutely, p_evidence relatively."""
    (p1, posteriors1), (p2, posteriors2) = one, other
    assert posteriors1.keys() == posteriors2.keys()
    return {
        "posteriors": max(
            (
                abs(value - posteriors2[var][state])
                for var, states in posteriors1.items()
                for state, value in states.items()
            ),
            default=0.0,
        ),
        "p_evidence": abs(p1 - p2) / p1,
    }


def store(case, evidence, one, other, digits=None):
    """What is stored of a case that both peers have answered."""
    differ = apart(one, other)
    # `not <=` so that a NaN fails too.
    if not max(differ.values()) <= PEERS_MUST_AGREE:
        sys.exit(f"{case}: the peers differ by {differ} for {evidence}")

    def rounded(posteriors):
        return {
            var: {state: p if digits is None else round(p, digits) for state, p in states.items()}
            for var, states in posteriors.items()
        }

    entry = {
        "name": case,
        "evidence": evidence,
        "p_evidence": one[0],
        "posteriors": rounded(one[1]),
        "peers_differ": differ,
    }
    if max(differ.values()) > STORE_ONCE:
        entry["second"] = {"p_evidence": other[0], "posteriors": rounded(other[1])}
    return entry


def make_cases(name, network):
    """Cases, nothing that a peer could not do, and impossible sets."""
    first, second = First(network), Second(network)
    drawn, impossible_sets = draw_cases(name, network, first)
    digits = DECIMALS if name in GZIPPED else None
    cases = []
    for at, (case, evidence) in enumerate(drawn, start=1):
        progress(f"{name}: case {at} of {len(drawn)}, {case}")
        one, other = first.answer(evidence), second.answer(evidence)
        cases.append(store(case, evidence, one, other, digits))
    impossible = []
    for evidence in impossible_sets:
        if second.answer(evidence)[0] != 0.0:
            sys.exit(f"{name}: only one peer calls this impossible: {evidence}")
        impossible.append(
            {"evidence": evidence, "smallest_conflicts": smallest_conflicts(evidence, first)}
        )
    return cases, [], impossible


def make_few_cases(name, network):
    """Cases, what a peer could not do, and no impossible sets."""
    cases, could_not = [], []
    for case, evidence in draw_few_cases(name, network, FEW[name]):
        answers = []
        for peer in (First, Second, FirstByShaferShenoy):
            if len(answers) == 2:
                break
            progress(f"{name}: {case}, {peer.label}")
            answer, reason = within_limits(peer, network, evidence)
            if answer:
                answers.append((peer, answer))
            else:
                could_not.append({"name": case, "peer": peer.label, "reason": reason})
        if len(answers) == 2:
            (one, by_one), (other, by_other) = answers
            entry = store(case, evidence, by_one, by_other, DECIMALS)
            if (one, other) != (First, Second):
                entry["peers"] = [one.label, other.label]
            cases.append(entry)
    return cases, could_not, []


def within_limits(peer, network, evidence):
    """A peer's answer, or none and the reason; in a process of its own."""
    context = multiprocessing.get_context("fork")
    receiver, sender = context.Pipe(duplex=False)

    def work():
        size = int(GIGABYTES * 1e9)
        resource.setrlimit(resource.RLIMIT_AS, (size, size))
        resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))
        gum.setNumberOfThreads(1)
        try:
            sender.send((peer(network).answer(evidence), None))
        except Exception as error:  # whatever it is, it is written down
            reason = f"{type(error).__name__}: {str(error).strip()[:100]}"
            sender.send((None, f"{reason} (the limit is {GIGABYTES} GB)"))

    process = context.Process(target=work)
    process.start()
    sender.close()
    try:
        return receiver.recv()
    except EOFError:
        process.join()
        if process.exitcode in (-signal.SIGXCPU, -signal.SIGKILL):
            return None, f"did not finish in {SECONDS} s of processor time"
        return None, f"ended with {process.exitcode}"
    finally:
        process.join()


# --- files ----------------------------------------------------------------------------------------


def confirms(new, old):
    """Whether two fixture files ask the same and answer the same within `STORE_ONCE`."""

    def asked(fixture):
        cases = [
            (c["name"], c["evidence"], "second" in c, [(v, *s) for v, s in c["posteriors"].items()])
            for c in fixture["cases"]
        ]
        return {**fixture, "cases": cases}

    def answers(fixture):
        for case in fixture["cases"]:
            yield case["p_evidence"], case["posteriors"]
            if "second" in case:
                yield case["second"]["p_evidence"], case["second"]["posteriors"]

    return asked(new) == asked(old) and all(
        max(apart(a, b).values()) <= STORE_ONCE
        for a, b in zip(answers(new), answers(old), strict=True)
    )


def progress(text):
    if sys.stdout.isatty():
        print(f"\r\033[K{text}", end="", flush=True)


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("names", nargs="*", default=NETWORKS, help="networks")
    parser.add_argument("--out", type=pathlib.Path, default=HERE, help="folder to write to")
    asked = parser.parse_args()
    total = 0
    for name in asked.names:
        started = time.monotonic()
        network = load(name)
        make = make_few_cases if name in FEW else make_cases
        cases, could_not, impossible = make(name, network)
        fixture = {
            "network": name,
            "made_by": "tests/peers/make_fixtures.py",
            "source": f"pgmpy {version('pgmpy')}, pgmpy/utils/example_models/{name}.bif.gz",
            "first": First.label,
            "second": Second.label,
            "numpy": version("numpy"),
            "cases": cases,
            "could_not": could_not,
            "impossible": impossible,
        }
        path = asked.out / "fixtures" / (f"{name}.json.gz" if name in GZIPPED else f"{name}.json")
        if path.exists() and confirms(fixture, read_json(path)):
            size, outcome = path.stat().st_size, "confirmed"
        else:
            size, outcome = write_json(path, fixture, 4), "written"
        total += size
        worst = {
            key: max((case["peers_differ"][key] for case in cases), default=0.0)
            for key in ("posteriors", "p_evidence")
        }
        progress("")
        print(
            f"{name}: {len(network['variables'])} variables, "
            f"{len(cases)} cases ({sum(len(c['posteriors']) for c in cases)} marginals), "
            f"{len(impossible)} impossible; the peers agree within "
            f"{worst['posteriors']:.1e} (posteriors) and {worst['p_evidence']:.1e} (p_evidence, "
            f"relative); {sum('second' in case for case in cases)} cases stored twice; "
            f"smallest p_evidence {min((c['p_evidence'] for c in cases), default=1):.1e}; "
            f"{size / 1e3:.0f} kB {outcome}, "
            f"{time.monotonic() - started:.0f} s",
            flush=True,
        )
        for what in could_not:
            print(f"  {what['name']}: {what['peer']}: {what['reason']}", flush=True)
    print(f"Both peers agree within {PEERS_MUST_AGREE:g} everywhere. {total / 1e3:.0f} kB in all.")


if __name__ == "__main__":
    main()
