#!/usr/bin/env python3
"""Writes published networks and the answers two general-purpose libraries give on them.

Run it with

    npm --prefix tests run peers        (or: sh tests/peers/regenerate.sh)

which makes tests/peers/.venv, installs requirements.txt there and starts this script. The files it
writes are committed, so that testing the engine needs no Python; run it again only to change the
networks, the cases or the versions. pyAgrum sums in an order that changes from run to run, and with
it the last digit or two; a fixture file that the new answers confirm within 1e-12 is left as it is,
so a run that changes nothing leaves no difference behind.

What it writes
--------------
networks/<name>.json    the network in the Network file form: per variable `name`, `states`, `parents`
                        and a flat `table`, row-major, parents in the order listed, the last parent
                        faster than the first, own states fastest. Variables keep the published
                        order, in which a child may come before its parent.

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
Networks: the files asia, child, alarm and insurance of the Bayesian Network Repository (M. Scutari)
as bundled in pgmpy 0.1.26 (`pgmpy.utils.get_example_model`, pgmpy/utils/example_models/*.bif.gz).
First published (references from memory) by
  asia       Lauritzen and Spiegelhalter 1988
  child      Spiegelhalter and Cowell 1992
  alarm      Beinlich, Suermondt, Chavez and Cooper 1989
  insurance  Binder, Koller, Russell and Kanazawa 1997
Each file is read twice, by pgmpy's reader and by pyAgrum's, and the two must agree.

Some published rows are rounded and do not sum to one. Rows more than 1e-12 away from one are divided
by their sum, once, here (`renormalised_rows` counts them; the other rows stay as published). Both
peers are then built from the JSON file just written, so that they and the engine compute on
identical numbers.

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
import gzip
import importlib.machinery
import itertools
import json
import math
import pathlib
import random
import re
import sys
import tempfile
import time
import types
from importlib.metadata import version
from importlib.resources import files

HERE = pathlib.Path(__file__).resolve().parent

NETWORKS = ["asia", "child", "alarm", "insurance"]
SEED = 20  # any number; fixed so that the cases stay the same

ROW_TOLERANCE = 1e-12  # a row of a table sums to one within this
PEERS_MUST_AGREE = 1e-9  # absolute for posteriors, relative for p_evidence
STORE_ONCE = 1e-12  # closer than this, one set of values stands for both peers


def import_pgmpy():
    """Imports pgmpy without torch, xgboost and google-generativeai.

    pgmpy 0.1.26 imports all three at the top of modules that exact inference loads, but with its
    default numpy backend it only asks `isinstance(x, torch.Tensor)`. Empty modules take their place
    while it is imported; anything else asked of them fails loudly.
    """

    class Absent(types.ModuleType):
        def __getattr__(self, name):
            raise AttributeError(f"{self.__name__} is not installed here: {name}")

    def absent(name, **has):
        module = Absent(name)
        module.__spec__ = importlib.machinery.ModuleSpec(name, None)
        module.__path__ = []
        for key, value in has.items():
            setattr(module, key, value)
        return module

    nothing = type("NeverMade", (), {})
    genai = absent("google.generativeai")
    stand_ins = {
        "torch": absent("torch", Tensor=nothing, optim=None),
        "xgboost": absent("xgboost", XGBClassifier=nothing, XGBRegressor=nothing),
        "google": absent("google", generativeai=genai),
        "google.generativeai": genai,
    }
    sys.modules.update(stand_ins)
    try:
        import pgmpy.inference
        import pgmpy.models
        import pgmpy.utils
    finally:
        for name in stand_ins:
            del sys.modules[name]
    pgmpy.config.set_show_progress(False)
    return pgmpy


import numpy as np  # noqa: E402
import pyagrum as gum  # noqa: E402

pgmpy = import_pgmpy()
from pgmpy.factors.discrete import TabularCPD  # noqa: E402
from pgmpy.inference import VariableElimination  # noqa: E402
from pgmpy.models import BayesianNetwork  # noqa: E402
from pgmpy.utils import get_example_model  # noqa: E402

# --- networks -------------------------------------------------------------------------------------


def export_network(name):
    """The published network in the Network file form, and how many rows were renormalised."""
    model = get_example_model(name)
    check_against_other_reader(name, model)
    variables, renormalised = [], {"count": 0, "of": 0, "largest_deviation": 0.0}
    for node in model.nodes():
        cpd = model.get_cpds(node)
        own, *parents = cpd.variables
        assert own == node
        # pgmpy's axes: own states, then the parents in order. Ours: own states last.
        rows = np.moveaxis(cpd.values, 0, -1).reshape(-1, cpd.variable_card)
        table = []
        for row in rows.tolist():
            total = math.fsum(row)
            renormalised["of"] += 1
            if abs(total - 1) > ROW_TOLERANCE:
                renormalised["count"] += 1
                renormalised["largest_deviation"] = max(
                    renormalised["largest_deviation"], abs(total - 1)
                )
                row = [p / total for p in row]
            assert abs(math.fsum(row) - 1) <= ROW_TOLERANCE and min(row) >= 0
            table.extend(row)
        variables.append(
            {
                "name": node,
                "states": list(cpd.state_names[node]),
                "parents": parents,
                "table": table,
            }
        )
    if name == "asia":
        check_chest_clinic(variables)
    return {"variables": variables}, renormalised


def check_against_other_reader(name, model):
    """Fails unless pyAgrum reads the same variables, states, parents and numbers from the same file.

    Its BIF reader takes only plain words and integers as states (child has `Asy/Patch`, `<5`, `12+`)
    and keeps single precision, so such states are renamed for this comparison and the numbers are
    compared within 1e-6. The numbers used are pgmpy's, in double precision.
    """
    text = gzip.decompress((files("pgmpy") / f"utils/example_models/{name}.bif.gz").read_bytes())
    text = text.decode("utf-8")
    every = {state for node in model.nodes() for state in model.get_cpds(node).state_names[node]}
    plain = {state: state for state in every}
    odd = sorted(s for s in every if not re.fullmatch(r"[A-Za-z_]\w*|\d+", s))
    for at, state in enumerate(odd):
        plain[state] = f"renamed_{at}"
        text = re.sub(rf"(?<=[{{(,\s]){re.escape(state)}(?=[,)}}\s])", plain[state], text)
    with tempfile.TemporaryDirectory() as folder:
        path = pathlib.Path(folder) / f"{name}.bif"
        path.write_text(text, encoding="utf-8")
        other = gum.loadBN(str(path))
    assert set(other.names()) == set(model.nodes())
    for node in model.nodes():
        cpd = model.get_cpds(node)
        for var in cpd.variables:
            labels = [plain[state] for state in cpd.state_names[var]]
            assert list(other[var].labels()) == labels, f"{name}: the two readers differ at {var}"
        assert set(other.cpt(node).names) == set(cpd.variables)
        # pyAgrum lists the fastest axis first and hands out arrays with it last.
        theirs = other.cpt(node).reorganize(list(cpd.variables)[::-1]).toarray()
        assert theirs.shape == cpd.values.shape
        assert np.abs(theirs - cpd.values).max() < 1e-6, f"{name}: the readers differ at {node}"


def check_chest_clinic(variables):
    """Fails unless asia has the inputs of the chest clinic (Lauritzen and Spiegelhalter 1988).

    The numbers below are typed in from the documentation and tests of public graphical-model
    libraries, not read from the package.

    Found with pgmpy 0.1.26: all 18 numbers are equal to the published ones, to the last bit, no row
    needs renormalising; every variable has the states yes, no in that order; `either` lists the
    parents lung, tub; `dysp` lists bronc, either.
    """
    published = {  # P(yes | parents), parents yes before no, the last parent fastest
        "asia": ([], [0.01]),
        "tub": (["asia"], [0.05, 0.01]),
        "smoke": ([], [0.5]),
        "lung": (["smoke"], [0.1, 0.01]),
        "bronc": (["smoke"], [0.6, 0.3]),
        "either": (["lung", "tub"], [1.0, 1.0, 1.0, 0.0]),
        "xray": (["either"], [0.98, 0.05]),
        "dysp": (["bronc", "either"], [0.9, 0.8, 0.7, 0.1]),
    }
    assert {v["name"] for v in variables} == set(published)
    for v in variables:
        parents, yes = published[v["name"]]
        assert v["states"] == ["yes", "no"] and v["parents"] == parents, v
        assert v["table"][0::2] == yes, v


# --- the first peer: pyAgrum ----------------------------------------------------------------------


class First:
    label = f"pyAgrum {gum.__version__}, LazyPropagation"

    def __init__(self, network):
        self.states = {v["name"]: v["states"] for v in network["variables"]}
        self.bn = gum.BayesNet()
        for v in network["variables"]:
            self.bn.add(gum.LabelizedVariable(v["name"], v["name"], v["states"]))
        for v in network["variables"]:
            for parent in v["parents"]:
                self.bn.addArc(parent, v["name"])
        for v in network["variables"]:
            # pyAgrum fills with the first listed variable fastest: own states, then the last parent.
            tensor = gum.Tensor()
            for var in [v["name"], *reversed(v["parents"])]:
                tensor.add(self.bn[var])
            tensor.fillWith(v["table"])
            self.bn.cpt(v["name"]).fillWith(tensor)

    def answer(self, evidence):
        """(p_evidence, posteriors), or (0, None) for impossible evidence."""
        ie = gum.LazyPropagation(self.bn)
        scale = 1.0
        for var, what in evidence.items():
            # A likelihood that leaves one state is taken for a hard finding, and pyAgrum 3.3.1 then
            # hands that likelihood back as the variable's posterior, not divided by its sum.
            if not isinstance(what, str) and sum(value > 0 for value in what) == 1:
                scale *= max(what)
                what = [value / max(what) for value in what]
            ie.addEvidence(var, what)
        try:
            ie.makeInference()
            p = ie.evidenceProbability() * scale
        except gum.IncompatibleEvidence:
            return 0.0, None
        if p == 0.0:
            return 0.0, None
        posteriors = {
            var: dict(zip(states, ie.posterior(var).tolist()))
            for var, states in self.states.items()
            if not isinstance(evidence.get(var), str)
        }
        return p, posteriors


# --- the second peer: pgmpy -----------------------------------------------------------------------


class Second:
    label = f"pgmpy {version('pgmpy')}, VariableElimination"

    def __init__(self, network):
        self.states = {v["name"]: v["states"] for v in network["variables"]}
        self.model = BayesianNetwork()
        self.model.add_nodes_from(self.states)
        for v in network["variables"]:
            self.model.add_edges_from((parent, v["name"]) for parent in v["parents"])
        for v in network["variables"]:
            card = len(v["states"])
            self.model.add_cpds(
                TabularCPD(
                    v["name"],
                    card,
                    np.array(v["table"]).reshape(-1, card).T,
                    evidence=v["parents"],
                    evidence_card=[len(self.states[p]) for p in v["parents"]],
                    state_names={x: self.states[x] for x in [v["name"], *v["parents"]]},
                )
            )

    def marginal(self, var, hard, virtual):
        # A new object each time: a query with virtual evidence changes the object it is asked of.
        result = VariableElimination(self.model).query(
            [var], evidence=dict(hard), virtual_evidence=virtual or None, show_progress=False
        )
        assert result.state_names[var] == self.states[var]
        return result.values.tolist()

    def virtual(self, var, likelihood):
        return TabularCPD(
            var,
            len(likelihood),
            [[value / max(likelihood)] for value in likelihood],
            state_names={var: self.states[var]},
        )

    def answer(self, evidence):
        """(p_evidence, posteriors), or (0, None) for impossible evidence."""
        p, hard, virtual = 1.0, {}, []
        for var, what in evidence.items():
            if isinstance(what, str):
                p *= self.marginal(var, hard, virtual)[self.states[var].index(what)]
                hard[var] = what
            else:
                now = self.marginal(var, hard, virtual)
                p *= math.fsum(a * b for a, b in zip(now, what))
                virtual.append(self.virtual(var, what))
            if p == 0.0:
                return 0.0, None
        posteriors = {
            var: dict(zip(states, self.marginal(var, hard, virtual)))
            for var, states in self.states.items()
            if var not in hard
        }
        return p, posteriors


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


def dump(value, unfold, indent=0):
    """JSON with the first `unfold` levels on lines of their own. Floats in full (repr)."""
    if unfold == 0 or not value or not isinstance(value, (dict, list)):
        return json.dumps(value, allow_nan=False, ensure_ascii=False)
    pad = " " * (indent + 1)
    if isinstance(value, dict):
        items = [
            f"{json.dumps(key, ensure_ascii=False)}: {dump(item, unfold - 1, indent + 1)}"
            for key, item in value.items()
        ]
        return "{\n" + ",\n".join(pad + item for item in items) + "\n" + " " * indent + "}"
    items = [dump(item, unfold - 1, indent + 1) for item in value]
    return "[\n" + ",\n".join(pad + item for item in items) + "\n" + " " * indent + "]"


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
        progress(f"{name}: reading")
        network, renormalised = export_network(name)
        path = out / "networks" / f"{name}.json"
        size_network = write(path, network, 2)
        network = json.loads(path.read_text(encoding="utf-8"))  # the peers get what the file says
        cases, impossible = make_cases(name, network)
        fixture = {
            "network": name,
            "made_by": "tests/peers/make_fixtures.py",
            "source": f"pgmpy {version('pgmpy')}, pgmpy/utils/example_models/{name}.bif.gz",
            "first": First.label,
            "second": Second.label,
            "numpy": version("numpy"),
            "renormalised_rows": renormalised,
            "cases": cases,
            "impossible": impossible,
        }
        path = out / "fixtures" / f"{name}.json"
        if path.exists() and confirms(fixture, json.loads(path.read_text(encoding="utf-8"))):
            size_fixture, outcome = path.stat().st_size, "confirmed"
        else:
            size_fixture, outcome = write(path, fixture, 4), "written"
        total += size_network + size_fixture
        worst = {
            key: max(case["peers_differ"][key] for case in cases)
            for key in ("posteriors", "p_evidence")
        }
        progress("")
        print(
            f"{name}: {len(network['variables'])} variables, "
            f"{renormalised['count']} of {renormalised['of']} rows renormalised "
            f"(furthest from one by {renormalised['largest_deviation']:.1e}); "
            f"{len(cases)} cases, {len(impossible)} impossible; the peers agree within "
            f"{worst['posteriors']:.1e} (posteriors) and {worst['p_evidence']:.1e} (p_evidence, "
            f"relative); {sum('second' in case for case in cases)} cases stored twice; "
            f"smallest p_evidence {min(case['p_evidence'] for case in cases):.1e}; "
            f"{(size_network + size_fixture) / 1e3:.0f} kB {outcome}, "
            f"{time.monotonic() - started:.0f} s",
            flush=True,
        )
    print(f"Both peers agree within {PEERS_MUST_AGREE:g} everywhere. {total / 1e3:.0f} kB in all.")


if __name__ == "__main__":
    main()
