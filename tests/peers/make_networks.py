#!/usr/bin/env python3
"""Writes published networks in the Network file form: networks/<name>.json, the larger gzipped.

Run it with

    sh tests/peers/regenerate.sh

Per variable there are `name`, `states`, `parents` and a flat `table`, row-major, parents in the order
listed, the last parent faster than the first, own states fastest. Variables keep the published order,
in which a child may come before its parent. networks/README.md says where they come from.

Each file of the package is read twice, by pgmpy's reader and by pyAgrum's, and the two must agree.

Some published rows are rounded and do not sum to one. Rows more than 1e-12 away from one are divided
by their sum, once, here (the other rows stay as published), so that the engine and everything that it
is compared with compute on identical numbers.
"""

import argparse
import gzip
import math
import pathlib
import re
import tempfile
import time
from importlib.resources import files

import numpy as np
import pyagrum as gum
from libraries import pgmpy
from store import read_json, write_json

get_example_model = pgmpy.utils.get_example_model

HERE = pathlib.Path(__file__).resolve().parent

NETWORKS = [
    "asia",
    "child",
    "insurance",
    "alarm",
    "hailfinder",
    "hepar2",
    "win95pts",
    "water",
    "andes",
    "pigs",
    "barley",
    "mildew",
    "diabetes",
    "munin1",
    "link",
    "munin",
]

GZIPPED = {"water", "pigs", "barley", "mildew", "diabetes", "munin1", "link", "munin"}

ROW_TOLERANCE = 1e-12  # a row of a table sums to one within this


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


def path_of(name, folder=HERE / "networks"):
    """Where a network is kept."""
    return folder / (f"{name}.json.gz" if name in GZIPPED else f"{name}.json")


def load(name):
    """A committed network."""
    return read_json(path_of(name))


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--out", type=pathlib.Path, default=HERE / "networks", help="folder")
    parser.add_argument("names", nargs="*", default=NETWORKS)
    asked = parser.parse_args()
    total = 0
    for name in asked.names:
        started = time.monotonic()
        network, renormalised = export_network(name)
        size = write_json(path_of(name, asked.out), network, 2)
        total += size
        print(
            f"{name}: {len(network['variables'])} variables, "
            f"{sum(len(v['table']) for v in network['variables'])} entries, "
            f"{renormalised['count']} of {renormalised['of']} rows renormalised "
            f"(furthest from one by {renormalised['largest_deviation']:.1e}), "
            f"{size / 1e3:.0f} kB, {time.monotonic() - started:.0f} s",
            flush=True,
        )
    print(f"{total / 1e3:.0f} kB in all.")


if __name__ == "__main__":
    main()
