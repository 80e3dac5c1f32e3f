#!/usr/bin/env python3
"""Times one library on one network: a process of its own, started by compare.py.

Prints one JSON object per line as soon as it is known, so that what was measured before a time limit
is not lost: {"task": .., "ms": .., "check": .., ..}. Tasks:

compile   engine object made from a network that is there already, all marginals without evidence
first     the same with the first evidence set
new       other findings, all marginals: one line per evidence set (`set` is its place)
again     the same variables found in other states, all marginals: one line per set
sweep     every unobserved leaf in each of its states, all root marginals

`check` tells answers apart: the sum over all marginals asked for of every probability times the place
of its state, from 1 (in the sweep: over all possible states of leaves). Where the time did not
suffice, `measured` `of` so many were done and the time is scaled up to all; there is no check then.
The findings' names are looked up beforehand; what it takes to read a number out of an answer does not
count.

Each library gets its best case. pyAgrum: the engine is made once and given other findings; findings
that stay on their variables are changed by `chgEvidence`, which keeps its join tree; variables are
named by id; in the sweep only what is read is a target. The sweep is also tried the other way round
(`way` says which): every root in each of its states, all leaf marginals, turned over by Bayes' rule.
pgmpy: `VariableElimination.query` variable by variable (in the sweep: leaf and root jointly, so that
one query answers for all states of the leaf), as many as fit in the time; or a junction tree built
once, which for each evidence set is calibrated anew by its `BeliefPropagation`.
"""

import argparse
import json
import random
import resource
import sys
import time

import numpy as np
from libraries import First, Second, gum, pgmpy
from work import leaves_and_roots

MinFill = pgmpy.inference.EliminationOrder.MinFill

clock = time.perf_counter

REPEATS = 5  # at most so many measurements of the same thing


def say(task, seconds, **more):
    print(json.dumps({"task": task, "ms": 1e3 * seconds, **more}), flush=True)


class Budget:
    """Seconds to spend on one task."""

    def __init__(self, seconds):
        self.end = clock() + seconds

    def is_spent(self):
        return clock() >= self.end


# --- engines --------------------------------------------------------------------------------------


class PyAgrum:
    """An engine object of pyAgrum, given findings and asked for marginals."""

    impossible = gum.IncompatibleEvidence

    def __init__(self, network, kind, threads):
        self.bn = First(network).bn
        self.kind = kind
        gum.setNumberOfThreads(threads)
        self.id_of = {v["name"]: self.bn.idFromName(v["name"]) for v in network["variables"]}
        self.state_of = {
            v["name"]: {s: i for i, s in enumerate(v["states"])} for v in network["variables"]
        }
        self.found = {}

    def compile(self, targets=None):
        self.engine = getattr(gum, self.kind)(self.bn)
        self.found = {}
        if targets is not None:
            self.engine.eraseAllTargets()
            for var in targets:
                self.engine.addTarget(self.id_of[var])

    def find(self, evidence):
        evidence = {self.id_of[var]: self.state_of[var][state] for var, state in evidence.items()}
        for var in self.found.keys() - evidence.keys():
            self.engine.eraseEvidence(var)
        for var, state in evidence.items():
            if var not in self.found:
                self.engine.addEvidence(var, state)
            elif self.found[var] != state:
                self.engine.chgEvidence(var, state)
        self.found = evidence

    def answer(self, evidence, asked, _budget=None):
        self.find(evidence)
        self.engine.makeInference()
        return {var: self.engine.posterior(self.id_of[var]) for var in asked}

    def entries(self):
        """In the cliques of the tree in use."""
        tree = self.engine.junctionTree()
        return sum(
            float(np.prod([self.bn.variable(var).domainSize() for var in tree.clique(clique)]))
            for clique in tree.nodes()
        )


class PgmpyElimination:
    """pgmpy, one elimination for each marginal."""

    impossible = ()

    def __init__(self, network, *_):
        self.model = Second(network).model

    def compile(self, _targets=None):
        self.engine = pgmpy.inference.VariableElimination(self.model)

    def answer(self, evidence, asked, budget=None):
        out = {}
        # In any order, so that those measured stand for all.
        for var in random.Random(0).sample(asked, len(asked)):
            out[var] = self.engine.query([var], evidence=evidence, show_progress=False).values
            if budget and budget.is_spent():
                break
        return out

    def entries(self):
        return None


class PgmpyPropagation:
    """pgmpy, one calibration of a junction tree for each evidence set."""

    impossible = ZeroDivisionError

    def __init__(self, network, *_):
        self.model = Second(network).model
        self.states = {
            v["name"]: {s: i for i, s in enumerate(v["states"])} for v in network["variables"]
        }

    def compile(self, _targets=None):
        # With the order that it finds for elimination; the one that its junction trees take by
        # themselves makes cliques of twenty variables on alarm.
        moral = self.model.to_markov_model()
        order = MinFill(self.model).get_elimination_order(show_progress=False)
        moral.triangulate(order=order, inplace=True)
        self.tree = moral.to_junction_tree()
        self.home = {}
        for clique in self.tree.nodes():
            for var in clique:
                if var not in self.home or len(clique) < len(self.home[var]):
                    self.home[var] = clique

    def answer(self, evidence, asked, _budget=None):
        tree = self.tree.copy()
        for var, state in evidence.items():
            factor = tree.get_factors(self.home[var])
            at = [slice(None)] * len(factor.variables)
            for other in range(factor.get_cardinality([var])[var]):
                if other != self.states[var][state]:
                    at[factor.variables.index(var)] = other
                    factor.values[tuple(at)] = 0
        engine = pgmpy.inference.BeliefPropagation(tree)
        engine.calibrate()
        beliefs = engine.get_clique_beliefs()
        out = {}
        for var in asked:
            clique = self.home[var]
            belief = beliefs[clique].marginalize([v for v in clique if v != var], inplace=False)
            belief.normalize()
            out[var] = belief.values
        return out

    def entries(self):
        return sum(float(f.values.size) for f in self.tree.get_factors())


ENGINES = {
    "pyagrum-lazy": (PyAgrum, "LazyPropagation"),
    "pyagrum-shafer-shenoy": (PyAgrum, "ShaferShenoyInference"),
    "pgmpy-elimination": (PgmpyElimination, None),
    "pgmpy-propagation": (PgmpyPropagation, None),
}

# --- tasks ----------------------------------------------------------------------------------------


def numbers(marginal):
    return np.asarray(marginal.tolist() if hasattr(marginal, "tolist") else marginal)


def check(marginals):
    return float(sum((numbers(m) * np.arange(1, len(numbers(m)) + 1)).sum() for m in marginals))


def say_answers(task, seconds, answers, asked, **more):
    measured, of = len(answers), len(asked)
    if measured == of:
        say(task, seconds, check=check(answers.values()), **more)
    else:
        say(task, seconds * of / measured, measured=measured, of=of, **more)


def unobserved(network, work, evidence):
    """What is asked: all variables, or those named in the work."""
    names = work.get("asked") or [v["name"] for v in network["variables"]]
    return [var for var in names if var not in evidence]


def compiled(engine, network, work, seconds, task):
    evidence = {} if task == "compile" else work["sets"][0]
    asked = unobserved(network, work, evidence)
    budget = Budget(seconds)
    for _ in range(REPEATS):
        started = clock()
        engine.compile()
        answers = engine.answer(evidence, asked, budget)
        say_answers(task, clock() - started, answers, asked, entries=engine.entries())
        if budget.is_spent():
            break


def answered(engine, network, work, seconds, task):
    engine.compile()
    engine.answer(work["sets"][0], [])
    budget = Budget(seconds)
    for _ in range(REPEATS):
        for at, evidence in enumerate(work["sets"][1:] if task == "new" else work["again"]):
            asked = unobserved(network, work, evidence)
            started = clock()
            answers = engine.answer(evidence, asked, budget)
            say_answers(task, clock() - started, answers, asked, set=at)
            if budget.is_spent():
                return


def sweep(engine, network, work, seconds, _task):
    evidence = work["sets"][0]
    states = {v["name"]: v["states"] for v in network["variables"]}
    leaves, roots = ([v for v in some if v not in evidence] for some in leaves_and_roots(network))
    if isinstance(engine, PgmpyElimination):
        sweep_pairs(engine, evidence, leaves, roots, seconds)
    else:
        sweep_states(engine, states, evidence, leaves, roots, seconds, turned=False)
        sweep_states(engine, states, evidence, roots, leaves, seconds, turned=True)


def sweep_states(engine, states, evidence, found, read, seconds, turned):
    """Each variable of `found` in each of its states, all of `read` read; turned over if asked."""
    way = "roots found" if turned else "leaves found"
    variables = random.Random(0).sample(found, len(found))
    of = sum(len(states[var]) for var in found)
    engine.compile(read + found if turned else read)
    started = clock()
    base = engine.answer(evidence, read + found if turned else read)
    spent = clock() - started
    budget, varying, measured, total = Budget(seconds), 0.0, 0, 0.0
    for var in variables:
        # Some variables are both root and leaf; what is found is not read. All states of a variable
        # in a row, so that only a state changes.
        others = [v for v in read if v != var]
        started = clock()
        answers = []
        for state in states[var]:
            try:
                answers.append(engine.answer({**evidence, var: state}, others))
            except engine.impossible:
                answers.append(None)
        if turned:
            answers = turn_over(answers, base, var, others, states)
        varying += clock() - started
        measured += len(states[var])
        total += sum(check(a.values()) for a in answers if a)
        if budget.is_spent():
            break
    if measured == of:
        say("sweep", spent + varying, way=way, check=total)
    elif measured:
        say("sweep", spent + varying * of / measured, way=way, measured=measured, of=of)


def turn_over(answers, base, root, leaves, states):
    """From P(leaf | root) for every state of the root: P(root | leaf) for every state of the leaf."""
    prior = numbers(base[root])
    possible = [at for at, answer in enumerate(answers) if answer and prior[at] > 0]
    out = []
    for leaf in leaves:
        joint = np.zeros((len(prior), len(states[leaf])))
        for at in possible:
            joint[at] = prior[at] * numbers(answers[at][leaf])
        chance = joint.sum(axis=0)
        out += [{root: joint[:, s] / chance[s]} for s in range(len(chance)) if chance[s] > 0]
    return out


def sweep_pairs(engine, evidence, leaves, roots, seconds):
    engine.compile()
    pairs = [(leaf, root) for leaf in leaves for root in roots if leaf != root]
    of = len(pairs)
    random.Random(0).shuffle(pairs)
    budget, spent, measured, total = Budget(seconds), 0.0, 0, 0.0
    for pair in pairs:
        started = clock()
        joint = engine.engine.query(list(pair), evidence=evidence, show_progress=False).values
        chance = joint.sum(axis=1)
        given = [joint[s] / chance[s] for s in range(len(chance)) if chance[s] > 0]
        spent += clock() - started
        measured += 1
        total += check(given)
        if budget.is_spent():
            break
    way = "leaf and root jointly"
    if measured == of:
        say("sweep", spent, way=way, check=total)
    else:
        say("sweep", spent * of / measured, way=way, measured=measured, of=of)


TASKS = {
    "compile": compiled,
    "first": compiled,
    "new": answered,
    "again": answered,
    "sweep": sweep,
}


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("engine", choices=ENGINES)
    parser.add_argument("work", help="file with `network` and the evidence sets")
    parser.add_argument("--tasks", default=",".join(TASKS))
    parser.add_argument("--threads", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=5, help="to spend on a task")
    parser.add_argument("--memory", type=float, default=8, help="GB that the process may take")
    asked = parser.parse_args()
    memory = int(asked.memory * 1e9)
    resource.setrlimit(resource.RLIMIT_AS, (memory, memory))
    with open(asked.work, encoding="utf-8") as file:
        work = json.load(file)
    network = work["network"]
    kind, name = ENGINES[asked.engine]
    try:
        engine = kind(network, name, asked.threads)
        for task in asked.tasks.split(","):
            TASKS[task](engine, network, work, asked.seconds, task)
    except Exception as error:  # whatever it is, the table says so and goes on
        reason = f"{type(error).__name__}: {str(error).strip()[:200]}"
        print(json.dumps({"task": "failed", "reason": reason}), flush=True)
        sys.exit(1)


if __name__ == "__main__":
    main()
