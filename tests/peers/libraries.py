"""The two libraries that the engine is held against, brought to one form: make them from a network
file, ask for the probability of evidence and all posteriors."""

import importlib.machinery
import sys
import types
from importlib.metadata import version


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

# --- the first peer: pyAgrum ----------------------------------------------------------------------


class First:
    label = f"pyAgrum {gum.__version__}, LazyPropagation"
    kind = "LazyPropagation"

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
        ie = getattr(gum, self.kind)(self.bn)
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


class FirstByShaferShenoy(First):
    """For what the other engine has no memory for."""

    label = f"pyAgrum {gum.__version__}, ShaferShenoyInference"
    kind = "ShaferShenoyInference"


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

    def with_likelihoods(self, likelihoods):
        """The model with a child per likelihood, whose first state is found (Pearl 1988)."""
        if not likelihoods:
            return self.model
        model = self.model.copy()
        for var, likelihood in likelihoods.items():
            found = np.array(likelihood) / max(likelihood)
            model.add_edge(var, seen_of(var))
            model.add_cpds(
                TabularCPD(
                    seen_of(var),
                    2,
                    [found, 1 - found],
                    evidence=[var],
                    evidence_card=[len(likelihood)],
                    state_names={seen_of(var): ["found", "not"], var: self.states[var]},
                )
            )
        return model

    def answer(self, evidence):
        """(p_evidence, posteriors), or (0, None) for impossible evidence."""
        likelihoods = {var: what for var, what in evidence.items() if not isinstance(what, str)}
        engine = VariableElimination(self.with_likelihoods(likelihoods))

        def marginal(var, hard):
            result = engine.query([var], evidence=dict(hard), show_progress=False)
            return dict(zip(result.state_names[var], result.values.tolist()))

        p, hard = 1.0, {}
        for var, what in evidence.items():
            if isinstance(what, str):
                found, state = var, what
            else:
                found, state = seen_of(var), "found"
                p *= max(what)
            p *= marginal(found, hard)[state]
            if p == 0.0:
                return 0.0, None
            hard[found] = state
        posteriors = {var: marginal(var, hard) for var in self.states if var not in hard}
        assert all(list(posteriors[var]) == self.states[var] for var in posteriors)
        return p, posteriors


def seen_of(var):
    """Name of the child that stands for a likelihood."""
    return f"{var}, as seen"
