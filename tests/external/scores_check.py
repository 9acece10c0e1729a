"""Scores of `pintle calibration` against scikit-learn, beta quantiles against SciPy.

usage: scores_check.py EXPORT.json
Prints "N passed, M failed"; exit status 1 if anything failed.
"""

import json
import sys

import numpy as np
from scipy.stats import beta
from sklearn.calibration import calibration_curve
from sklearn.metrics import brier_score_loss, log_loss

CLOSE = 1e-9


def comparisons(export):
    """(label, ours, theirs) of every number compared."""
    calibration = export["calibration"]
    scores = calibration["scores"]
    p = np.array([said for said, _ in calibration["predictions"]])
    y = np.array([int(came_true) for _, came_true in calibration["predictions"]])
    yield "calls", scores["calls"], len(p)
    yield "brier score", scores["brier"], brier_score_loss(y, p)
    yield "log score", scores["log"], log_loss(y, p)
    observed, predicted = calibration_curve(y, p, n_bins=len(scores["bins"]), strategy="uniform")
    bins = [b for b in scores["bins"] if b["calls"] > 0]
    yield "bins with calls", len(bins), len(observed)
    for i, b in enumerate(bins):
        yield f"bin {i}: mean", b["predicted"], predicted[i]
        yield f"bin {i}: came true", b["observed"], observed[i]
    for chance, a, b, x in export["quantiles"]:
        yield f"quantile {chance} of beta({a}, {b})", x, beta.ppf(chance, a, b)


def main():
    if len(sys.argv) != 2:
        sys.exit("usage: scores_check.py EXPORT.json")
    with open(sys.argv[1], encoding="utf-8") as file:
        export = json.load(file)
    passed, failed, worst = 0, 0, 0.0
    for label, ours, theirs in comparisons(export):
        off = abs(ours - theirs)
        worst = max(worst, off)
        if off <= CLOSE:
            passed += 1
        else:
            failed += 1
            print(f"FAILED {label}: {ours} here, {theirs} there")
    print(f"largest difference {worst:.1e}")
    print(f"{passed} passed, {failed} failed")
    return 1 if failed or not passed else 0


if __name__ == "__main__":
    sys.exit(main())
