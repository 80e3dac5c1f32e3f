"""Evidence sets for the fixtures, drawn by a fixed seed."""

import itertools
import random
import sys

from work import draw_from_network

SEED = 20  # any number; fixed so that the cases stay the same


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

    def found(n):
        drawn = draw_from_network(network, rng)
        return {var: drawn[var] for var in rng.sample(list(states), n)}

    def anything(n):
        return {var: rng.choice(states[var]) for var in rng.sample(list(states), n)}

    def likelihoods(among, n, low, high):
        return draw_likelihoods(rng, {var: states[var] for var in among}, n, low, high)

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


def draw_likelihoods(rng, states, n, low, high):
    """Likelihoods for n of some variables."""
    return {
        var: [rng.uniform(low, high) for _ in states[var]] for var in rng.sample(list(states), n)
    }


def draw_few_cases(name, network, share):
    """Three evidence sets for a large network: nothing; a share of the variables found as in one draw
    from the network; another draw and five likelihoods."""
    rng = random.Random(f"{SEED} {name}")
    states = {v["name"]: v["states"] for v in network["variables"]}
    n = round(share * len(states))
    cases = [("none", {})]
    for case in (f"found-{n}", f"mixed-{n}-5"):
        drawn = draw_from_network(network, rng)
        hard = {var: drawn[var] for var in rng.sample(list(states), n)}
        rest = {var: states[var] for var in states if var not in hard}
        soft = draw_likelihoods(rng, rest, 5, 0.05, 1.0) if case.startswith("mixed") else {}
        cases.append((case, {**hard, **soft}))
    return cases
