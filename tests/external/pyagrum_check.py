"""Checks the engine's posteriors against a general Bayesian-network library.

Usage: pyagrum_check.py EXPORT.json

The export (`cargo test --test it export_for_pyagrum -- --ignored`, file named by PINTLE_EXPORT) holds models, evidence and what the engine makes of
it. For each piece of evidence a Bayesian network is built here, from the definitions, and solved exactly by pyAgrum's
LazyPropagation. It is not a table over the engine's hypotheses: every cause is a boolean node of its own, and which sets of causes are
possible follows from how they can come about.

  kind            listed, not listed, nothing wrong
  first, second   the cause that arose by itself, and perhaps a second one that arose without connection
  brings c d      cause c has brought on d
  there c e       cause c is there after e repairs (all false unless kind is "listed")
  count           how many are there at the start, capped; "no more than two" is evidence
  symptom s       noisy-OR with leak (pyAgrum's own) over the causes; a mean for the other two kinds
  shows, draw     in a spell, whether a cause shows on tests, and the outcome that it draws
  answer          the draws folded into one outcome; virtual evidence
  now, proof      whether it is doing it now; whether a symptom is still there after a repair

Prints "N passed, M failed"; exit status 1 if anything failed.
"""

import json
import sys
from itertools import product

import pyagrum as gum

CLOSE = 1e-8
FLOOR = 0.02
LISTED, NOT_LISTED, NOTHING = 0, 1, 2


def boolean(net, name):
    return net.add(gum.LabelizedVariable(name, name, 2))


def labelled(net, name, labels):
    return net.add(gum.LabelizedVariable(name, name, labels))


def fill(net, node, parents, chances):
    """P(node | parents): `chances` takes the parents' values and returns a distribution."""
    for parent in parents:
        net.addArc(parent, node)
    cpt = net.cpt(node)
    for values in product(*(range(net.variable(p).domainSize()) for p in parents)):
        row = {net.variable(p).name(): v for p, v in zip(parents, values)}
        cpt[row] = list(chances(*values))


def coin(p):
    return [1.0 - p, p]


class Network:
    """Causes and how they come about; symptoms as noisy-OR."""

    def __init__(self, model, kinds):
        self.model = model
        self.settings = model["settings"]
        self.causes = range(len(model["causes"]))
        self.net = gum.BayesNet()
        self.virtual = []
        self.kind = labelled(self.net, "kind", 3)
        fill(self.net, self.kind, [], lambda: kinds)
        self.arise()
        self.count()
        self.symptoms = [self.noisy_or(s) for s in range(len(model["causes"][0]["symptoms"]))]

    def arise(self):
        causes, net = self.model["causes"], self.net
        n = len(causes)
        rates = [c["rate"] for c in causes]
        total = sum(rates)
        kappa = self.settings["unrelated_pairs"] if self.settings["pairs"] else 0.0
        alone = [[1.0] + [kappa * rates[d] / total if d != c else 0.0 for d in range(n)] for c in range(n)]
        weight = [rates[c] * sum(alone[c]) for c in range(n)]
        # A variable needs two labels, so there is one spare cause that never arises.
        first = labelled(net, "first", n + 1)
        fill(net, first, [], lambda: [w / sum(weight) for w in weight] + [0.0])
        second = labelled(net, "second", n + 1)
        fill(net, second, [first], lambda c: [p / sum(alone[c]) for p in alone[c]] if c < n else [1.0] + [0.0] * n)
        self.at_start = []
        brought = [[] for _ in causes]
        for c in range(n):
            there = boolean(net, f"there_{c}_0")
            fill(
                net,
                there,
                [self.kind, first, second] + brought[c],
                lambda kind, a, b, *by, c=c: coin(float(kind == LISTED and (a == c or b == c + 1 or any(by)))),
            )
            for d, x in causes[c]["brings_on"].items():
                brings = boolean(net, f"brings_{c}_{d}")
                fill(net, brings, [there], lambda is_there, x=x: coin(x if is_there else 0.0))
                brought[int(d)].append(brings)
            self.at_start.append(there)

    def count(self):
        most = 2 if self.settings["pairs"] else 1
        before = None
        for c, there in enumerate(self.at_start):
            node = labelled(self.net, f"count_{c}", 4)
            parents = [there] if before is None else [there, before]
            fill(
                self.net,
                node,
                parents,
                lambda is_there, so_far=0: [float(min(is_there + so_far, 3) == k) for k in range(4)],
            )
            before = node
        self.possible = (before, [float(k <= most) for k in range(4)])

    def noisy_or(self, symptom):
        """The library's own canonical model in Díez's convention: the leak lies outside the causes (its "compound" noisy-OR is Henrion's)."""
        node = self.net.addNoisyORNet(gum.LabelizedVariable(f"made_{symptom}", "", 2), self.settings["leak"])
        for c in self.causes:
            q = self.model["causes"][c]["symptoms"][symptom]
            if q > 0.0:
                self.net.addWeightedArc(self.at_start[c], node, q)
        return node

    def solve(self, evidence, targets):
        engine = gum.LazyPropagation(self.net)
        engine.setEvidence({})
        for node, likelihood in evidence:
            engine.addEvidence(node, likelihood)
        engine.makeInference()
        return engine.evidenceProbability(), [list(engine.posterior(t).toarray()) for t in targets]


def q(model, symptom, there):
    absent = 1.0 - model["settings"]["leak"]
    for c in there:
        absent *= 1.0 - model["causes"][c]["symptoms"][symptom]
    return 1.0 - absent


class Situation(Network):
    """A network with nodes for one piece of evidence."""

    def __init__(self, model, kinds, means, situation):
        super().__init__(model, kinds)
        self.means = means
        self.situation = situation
        self.evidence = [self.possible]
        for s in situation["symptoms"]:
            self.reported(s, [0.0, 1.0])
        for s in situation["denied"]:
            self.reported(s, [1.0, 0.0])
        there = self.at_start
        for e, epoch in enumerate(situation["epochs"]):
            for i, proof in enumerate(epoch["proofs"]):
                self.proof(f"{e}_{i}", proof, there)
            for i, spell in enumerate(epoch["spells"]):
                self.spell(f"{e}_{i}", spell, there)
            if e < len(situation["repairs"]):
                there = [self.cured(c, e, there[c], situation["repairs"][e][c]) for c in self.causes]
        self.left = there

    def reported(self, s, likelihood):
        node = boolean(self.net, f"symptom_{s}")
        mean = self.means[s]
        fill(
            self.net,
            node,
            [self.kind, self.symptoms[s]],
            lambda kind, made: coin(float(made)) if kind == LISTED else coin(mean),
        )
        self.evidence.append((node, likelihood))

    def cured(self, c, e, before, chance):
        if chance == 0.0:
            return before
        node = boolean(self.net, f"there_{c}_{e + 1}")
        fill(self.net, node, [before], lambda was: coin(1.0 - chance if was else 0.0))
        return node

    def spell(self, name, spell, there):
        if spell["now"] != "unknown":
            self.now(name, spell, there)
        shows = {}
        for i, answer in enumerate(spell["answers"]):
            self.answer(f"{name}_{i}", answer, spell, there, shows)

    def now(self, name, spell, there):
        makers = self.makers(self.situation["symptoms"])
        node = boolean(self.net, f"now_{name}")

        def present(kind, *is_there):
            if kind == NOT_LISTED:
                return coin(self.settings["not_listed_present"])
            away = 1.0
            for c, here in zip(makers, is_there):
                away *= 1.0 - spell["share"][c] if here else 1.0
            return coin(min(max(1.0 - away, FLOOR), 1.0 - FLOOR))

        fill(self.net, node, [self.kind] + [there[c] for c in makers], present)
        self.evidence.append((node, [0.0, 1.0] if spell["now"] == "present" else [1.0, 0.0]))

    def makers(self, symptoms):
        return [c for c in self.causes if any(self.model["causes"][c]["symptoms"][s] > 0.0 for s in symptoms)]

    def showing(self, name, c, spell, there):
        a, b = spell["share"][c], spell["traces"][c]
        chance = {"present": 1.0, "away": b, "unknown": a + (1.0 - a) * b}[spell["now"]]
        node = boolean(self.net, f"shows_{name}_{c}")
        fill(self.net, node, [there[c]], lambda here: coin(chance if here else 0.0))
        return node

    def answer(self, name, answer, spell, there, shows):
        test = self.model["tests"][answer["test"]]
        k = len(test["healthy"])
        silent = k
        folded = None
        for c in self.causes:
            shown = self.model["causes"][c]["shows"].get(str(answer["test"]))
            if shown is None:
                continue
            if c not in shows:
                shows[c] = self.showing(name.rsplit("_", 1)[0], c, spell, there)
            draw = labelled(self.net, f"draw_{name}_{c}", k + 1)
            fill(self.net, draw, [shows[c]], lambda here, p=shown: p + [0.0] if here else [0.0] * k + [1.0])
            if folded is None:
                folded = draw
            else:
                both = labelled(self.net, f"both_{name}_{c}", k + 1)
                fill(self.net, both, [folded, draw], lambda x, y: self.fold(x, y, test["normal"], silent))
                folded = both
        node = labelled(self.net, f"answer_{name}", k)
        anything = [0.5 * h + 0.5 / k for h in test["healthy"]]

        def outcome(kind, seen=silent):
            if kind == NOT_LISTED:
                return anything
            return test["healthy"] if seen == silent else [float(seen == o) for o in range(k)]

        fill(self.net, node, [self.kind] if folded is None else [self.kind, folded], outcome)
        self.evidence.append((node, answer["likelihood"]))

    @staticmethod
    def fold(x, y, normal, silent):
        """An abnormal outcome wins over a normal one; otherwise a coin decides."""
        row = [0.0] * (silent + 1)
        if x == silent or y == silent:
            row[y if x == silent else x] = 1.0
        elif normal[x] != normal[y]:
            row[y if normal[x] else x] = 1.0
        else:
            row[x] += 0.5
            row[y] += 0.5
        return row

    def proof(self, name, proof, there):
        s = proof["symptom"]
        makers = self.makers([s])
        node = boolean(self.net, f"still_{name}")
        was, now = [self.at_start[c] for c in makers], [there[c] for c in makers]
        same = [c for c, a, b in zip(makers, was, now) if a == b]
        changed = [c for c in makers if c not in same]

        def still(kind, *values):
            if kind != LISTED:
                return coin(float(kind == NOT_LISTED))
            before = [c for c, v in zip(makers, values) if v]
            after = [c for c in before if c in same or values[len(makers) + changed.index(c)]]
            if not before and q(self.model, s, before) == 0.0:
                return coin(0.0)
            left = q(self.model, s, after) / q(self.model, s, before)
            away = 1.0
            for c in after:
                away *= 1.0 - proof["share"][c]
            return coin((1.0 - away if after else 1.0) * left)

        parents = [self.kind] + was + [there[c] for c in changed]
        fill(self.net, node, parents, still)
        self.evidence.append((node, [0.0, 1.0] if proof["still_there"] else [1.0, 0.0]))


def check(model):
    """Yields (label, largest difference) for every piece of evidence."""
    if not model["situations"]:
        return
    settings = model["settings"]
    base = Network(model, [1.0, 0.0, 0.0])
    possible, _ = base.solve([base.possible], [])
    _, made = base.solve([base.possible], base.symptoms)
    means = [m[1] for m in made]
    u, n = settings["not_listed"], settings["nothing_wrong"]
    weights = [(1.0 - u - n) / possible, u, n]
    kinds = [w / sum(weights) for w in weights]
    for i, situation in enumerate(model["situations"]):
        net = Situation(model, kinds, means, situation)
        before, _ = net.solve([net.possible], [])
        after, found = net.solve(net.evidence, [net.kind] + net.left)
        said = situation["posterior"]
        off = [abs(after / before - said["chance"]) / said["chance"]]
        off += [abs(found[0][NOT_LISTED] - said["not_listed"]), abs(found[0][NOTHING] - said["nothing_wrong"])]
        off += [abs(p[1] - stated) for p, stated in zip(found[1:], said["causes"])]
        yield f"{model['name']}, evidence {i}", max(off)


def main():
    if len(sys.argv) != 2:
        sys.exit("usage: pyagrum_check.py EXPORT.json")
    with open(sys.argv[1], encoding="utf-8") as file:
        models = json.load(file)
    passed, failed, worst = 0, 0, 0.0
    for model in models:
        for label, off in check(model):
            worst = max(worst, off)
            if off <= CLOSE:
                passed += 1
            else:
                failed += 1
                print(f"FAILED {label}: off by {off:.3e}")
    print(f"largest difference {worst:.1e}")
    print(f"{passed} passed, {failed} failed")
    return 1 if failed or not passed else 0


if __name__ == "__main__":
    sys.exit(main())
