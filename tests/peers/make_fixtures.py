#!/usr/bin/env python3
"""Writes the answers that two general-purpose libraries give on the networks of make_networks.py.

Run it with

    sh tests/peers/regenerate.sh

which makes tests/peers/.venv, installs requirements.txt there and starts this script. The files it
writes are committed, so that testing the engine needs no Python; run it again only to change the
networks, the cases or the versions. pyAgrum sums in an order that changes from run to run, and with
it the last digit or two; a fixture file that the new answers confirm within 1e-12 is left as it is,
so a run that changes nothing leaves no difference behind.

What it writes
--------------
fixtures/<name>.json    `cases`, each with
                          `name`         how the evidence was drawn (see `draw_cases`)
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
                          `second`       only where they differ by more than 1e-12: `p_evidence` and
                                         `posteriors` of the second peer. Elsewhere the first peer's
                                         values are stored and stand for both
                        and `impossible`: sets of hard findings with probability zero, each with
                        `smallest_conflicts`, every subset of the least size that is impossible by
                        itself.

Where the numbers come from
---------------------------
First peer: pyAgrum, `LazyPropagation`, `posterior` and `evidenceProbability`, likelihoods by
`addEvidence` (one that leaves a single state possible is divided by it, and p_evidence multiplied by
it again: see `First.answer`).
Second peer: pgmpy, `VariableElimination.query`, likelihoods by `virtual_evidence` (which takes
values in 0..1 only: they are divided by the largest, and p_evidence is multiplied by it again); it
has no call for the probability of evidence, so that is built up by the chain rule, one query for
each finding given those before it.

The script fails if the peers differ by more than 1e-9 anywhere, and says how far apart they are.
"""

import argparse
import itertools
import json
import math
import pathlib
import random
import sys
import time
from importlib.metadata import version

from libraries import First, Second
from make_networks import HERE, load
from store import dump

NETWORKS = ["asia", "child", "alarm", "insurance"]
SEED = 20  # any number; fixed so that the cases stay the same

PEERS_MUST_AGREE = 1e-9  # absolute for posteriors, relative for p_evidence
STORE_ONCE = 1e-12  # closer than this, one set of values stands for both peers

# --- cases ----------------------------------------------------------------------------------------


def draw_cases(name, network, first):
    """Named evidence sets, and up to two that are impossible. The same for the same network and seed.

    found-n      n variables at random, their states read off one draw from the network: what is
                 likely to be met
    rare-n       n variables at random, each state equally likely, probability above zero
    likelihood-n n variables at random with likelihoods between 0.05 and 1
    ruled-out    one state of one variable has likelihood zero
    density      likelihoods between 0.5 and 20
    mixed-n-m    n findings as in found, m likelihoods
    """
    rng = random.Random(f"{SEED} {name}")
    states = {v["name"]: v["states"] for v in network["variables"]}
    by_name = {v["name"]: v for v in network["variables"]}

    def draw_from_network():
        drawn = {}

        def draw(var):
            if var not in drawn:
                v, row = by_name[var], 0
                for parent in v["parents"]:
                    row = row * len(states[parent]) + states[parent].index(draw(parent))
                card = len(v["states"])
                weights = v["table"][row * card : (row + 1) * card]
                drawn[var] = rng.choices(v["states"], weights)[0]
            return drawn[var]

        return {var: draw(var) for var in states}

    def found(n):
        drawn = draw_from_network()
        return {var: drawn[var] for var in rng.sample(list(states), n)}

    def anything(n):
        return {var: rng.choice(states[var]) for var in rng.sample(list(states), n)}

    def likelihoods(among, n, low, high):
        return {
            var: [rng.uniform(low, high) for _ in states[var]] for var in rng.sample(among, n)
        }

    cases = [("none", {})]
    if name == "asia":
        # The questions commonly asked of this network since its publication.
        visit = {"asia": "yes", "dysp": "yes"}
        cases += [
            ("visit and short of breath", visit),
            ("and X-ray clear", {**visit, "xray": "no"}),
            ("and X-ray positive", {**visit, "xray": "yes"}),
            ("and a non-smoker", {**visit, "xray": "yes", "smoke": "no"}),
        ]
    for n in (1, 2, 4, 8):
        cases += [(f"found-{n}-{letter}", found(n)) for letter in "ab"]
        for _ in range(1000):
            evidence = anything(n)
            if first.answer(evidence)[0] > 0:
                cases.append((f"rare-{n}", evidence))
                break
        else:
            sys.exit(f"{name}: no possible set of {n} findings in 1000 tries")
    everything = list(states)
    for n in (1, 3):
        cases.append((f"likelihood-{n}", likelihoods(everything, n, 0.05, 1.0)))
    most = max(len(s) for s in states.values())
    var = rng.choice([v for v in everything if len(states[v]) == min(3, most)])
    ruled_out = likelihoods([var], 1, 0.05, 1.0)
    ruled_out[var][rng.randrange(len(states[var]))] = 0.0
    cases.append(("ruled-out", ruled_out))
    cases.append(("density", likelihoods(everything, 2, 0.5, 20.0)))
    for n, m in ((1, 1), (2, 2), (4, 3)):
        hard = found(n)
        rest = [v for v in everything if v not in hard]
        cases.append((f"mixed-{n}-{m}", {**hard, **likelihoods(rest, m, 0.05, 1.0)}))
    impossible = []
    for n in (4, 8):
        for _ in range(1000):
            evidence = anything(n)
            if first.answer(evidence)[0] == 0:
                impossible.append(evidence)
                break
    return cases, impossible


def smallest_conflicts(evidence, first):
    """Every impossible subset of the least size."""
    for size in range(1, len(evidence) + 1):
        conflicts = [
            sorted(subset)
            for subset in itertools.combinations(evidence, size)
            if first.answer({var: evidence[var] for var in subset})[0] == 0.0
        ]
        if conflicts:
            return sorted(conflicts)
    raise AssertionError(f"possible after all: {evidence}")


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


def make_cases(name, network):
    first, second = First(network), Second(network)
    drawn, impossible_sets = draw_cases(name, network, first)
    cases = []
    for at, (case, evidence) in enumerate(drawn, start=1):
        progress(f"{name}: case {at} of {len(drawn)}, {case}")
        one, other = first.answer(evidence), second.answer(evidence)
        differ = apart(one, other)
        # `not <=` so that a NaN fails too.
        if not max(differ.values()) <= PEERS_MUST_AGREE:
            sys.exit(f"{name}, {case}: the peers differ by {differ} for {evidence}")
        entry = {
            "name": case,
            "evidence": evidence,
            "p_evidence": one[0],
            "posteriors": one[1],
            "peers_differ": differ,
        }
        if max(differ.values()) > STORE_ONCE:
            entry["second"] = {"p_evidence": other[0], "posteriors": other[1]}
        cases.append(entry)
    impossible = []
    for evidence in impossible_sets:
        if second.answer(evidence)[0] != 0.0:
            sys.exit(f"{name}: only one peer calls this impossible: {evidence}")
        impossible.append(
            {"evidence": evidence, "smallest_conflicts": smallest_conflicts(evidence, first)}
        )
    return cases, impossible


# --- files ----------------------------------------------------------------------------------------


def write(path, value, unfold):
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(dump(value, unfold) + "\n", encoding="utf-8")
    return path.stat().st_size


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
    parser.add_argument("--out", type=pathlib.Path, default=HERE, help="folder to write to")
    out = parser.parse_args().out
    total = 0
    for name in NETWORKS:
        started = time.monotonic()
        network = load(name)
        cases, impossible = make_cases(name, network)
        fixture = {
            "network": name,
            "made_by": "tests/peers/make_fixtures.py",
            "source": f"pgmpy {version('pgmpy')}, pgmpy/utils/example_models/{name}.bif.gz",
            "first": First.label,
            "second": Second.label,
            "numpy": version("numpy"),
            "cases": cases,
            "impossible": impossible,
        }
        path = out / "fixtures" / f"{name}.json"
        if path.exists() and confirms(fixture, json.loads(path.read_text(encoding="utf-8"))):
            size_fixture, outcome = path.stat().st_size, "confirmed"
        else:
            size_fixture, outcome = write(path, fixture, 4), "written"
        total += size_fixture
        worst = {
            key: max(case["peers_differ"][key] for case in cases)
            for key in ("posteriors", "p_evidence")
        }
        progress("")
        print(
            f"{name}: {len(network['variables'])} variables, "
            f"{len(cases)} cases, {len(impossible)} impossible; the peers agree within "
            f"{worst['posteriors']:.1e} (posteriors) and {worst['p_evidence']:.1e} (p_evidence, "
            f"relative); {sum('second' in case for case in cases)} cases stored twice; "
            f"smallest p_evidence {min(case['p_evidence'] for case in cases):.1e}; "
            f"{size_fixture / 1e3:.0f} kB {outcome}, "
            f"{time.monotonic() - started:.0f} s",
            flush=True,
        )
    print(f"Both peers agree within {PEERS_MUST_AGREE:g} everywhere. {total / 1e3:.0f} kB in all.")


if __name__ == "__main__":
    main()
