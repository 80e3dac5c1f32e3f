"""What is asked of every engine: the same evidence sets for all, drawn from the network itself."""

import random

SEED = 41  # any number; fixed so that the work stays the same
SETS = 20  # evidence sets per network


def draw_from_network(network, rng):
    """One state of every variable, drawn as the network says: by name."""
    by_name = {v["name"]: v for v in network["variables"]}
    states = {v["name"]: v["states"] for v in network["variables"]}
    drawn = {}

    def draw(var):
        # Parents first, without recursion: some networks are chains of hundreds.
        todo = [var]
        while todo:
            v = by_name[todo[-1]]
            missing = [p for p in v["parents"] if p not in drawn]
            if missing:
                todo.append(missing[0])
                continue
            todo.pop()
            if v["name"] in drawn:
                continue
            row = 0
            for parent in v["parents"]:
                row = row * len(states[parent]) + states[parent].index(drawn[parent])
            card = len(v["states"])
            weights = v["table"][row * card : (row + 1) * card]
            drawn[v["name"]] = rng.choices(v["states"], weights)[0]

    for var in by_name:
        draw(var)
    return {var: drawn[var] for var in by_name}


def leaves_and_roots(network):
    """Names of the variables that are nobody's parent, and of those without a parent."""
    parents = {p for v in network["variables"] for p in v["parents"]}
    leaves = [v["name"] for v in network["variables"] if v["name"] not in parents]
    roots = [v["name"] for v in network["variables"] if not v["parents"]]
    return leaves, roots


def draw_work(name, network):
    """The evidence sets of a network.

    `sets`   each finds a tenth of the variables, at least two, picked anew, in the states of a draw
             from the network: possible, and as likely as what one meets
    `again`  other draws, of the variables of the first set: only states change, one or more each time
    The sweep is asked with the first set.
    """
    rng = random.Random(f"{SEED} {name}")
    names = [v["name"] for v in network["variables"]]
    count = max(2, round(len(names) / 10))

    def found(among):
        drawn = draw_from_network(network, rng)
        return {var: drawn[var] for var in among}

    sets = [found(rng.sample(names, count)) for _ in range(SETS)]
    again = []
    while len(again) < SETS // 2:
        one = found(sets[0])
        # The list is gone through in a circle, beginning after the first set.
        before = again[-1] if again else sets[0]
        after = again[0] if len(again) == SETS // 2 - 1 else None
        if one not in (before, after):
            again.append(one)
    return {"sets": sets, "again": again}
