"""`python -m validation.elsewhere.learner FOLDER`: how far a learner gets that knows the maker.

It learns from other jobs of the same kind, each told without noise, which no tool can have: a
yardstick, not a rival.  Needs scikit-learn, which the project itself does not use.
"""

from __future__ import annotations

import argparse
import importlib
import json
from collections import defaultdict
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize_scalar

from validation.elsewhere.case import Case, case
from validation.elsewhere.causes import catalogue
from validation.elsewhere.ideal import features, matrix, names

Values = NDArray[np.float64]
OTHER_SEED = 1_000_003  # added to the folder's seed for the jobs learned from
FOLDS = 5
FLOOR = 1e-6
Fit = Callable[[Values, NDArray[np.int64], Values], Callable[[Values], Values]]


def library(name: str) -> Any:
    """A part of scikit-learn, or one sentence when it is not there."""
    try:
        return importlib.import_module(f"sklearn.{name}")
    except ImportError as error:
        raise SystemExit(
            "The yardstick needs scikit-learn: install it into an environment of its own, "
            "beside this project, and run it there."
        ) from error


def jobs(kind: str, seed: int, count: int) -> list[Case]:
    """The first jobs of this kind and seed, unwritten."""
    return [case(kind, seed, number) for number in range(count)]


def labelled(some: list[Case]) -> tuple[NDArray[np.int64], NDArray[np.int64], Values]:
    """Rows, causes and weights: a job with two faults stands twice, with half the weight."""
    where = {cause: index for index, cause in enumerate(catalogue())}
    told = [
        (row, where[c], 1.0 / len(one.truth.causes))
        for row, one in enumerate(some)
        for c in one.truth.causes
    ]
    rows, causes, weights = zip(*told, strict=True)
    return np.array(rows), np.array(causes), np.array(weights)


def boosting(x: Values, y: NDArray[np.int64], weights: Values) -> Callable[[Values], Values]:
    """Gradient boosting on histograms of the features; missing ones as they are."""
    ensemble = library("ensemble")
    model = ensemble.HistGradientBoostingClassifier(
        learning_rate=0.06,
        max_iter=90,
        max_leaf_nodes=8,
        min_samples_leaf=8,
        l2_regularization=2.0,
        max_features=0.3,
        random_state=0,
    )
    return _whole(model.fit(x, y, sample_weight=weights))


def logistic(x: Values, y: NDArray[np.int64], weights: Values) -> Callable[[Values], Values]:
    """Multinomial logistic regression; missing ones at the middle, with a mark."""
    pipeline, impute = library("pipeline"), library("impute")
    scaling, linear = library("preprocessing"), library("linear_model")
    model = pipeline.make_pipeline(
        impute.SimpleImputer(strategy="median", add_indicator=True, keep_empty_features=True),
        scaling.RobustScaler(quantile_range=(10.0, 90.0)),
        scaling.FunctionTransformer(_gently),
        linear.LogisticRegression(C=0.08, max_iter=400),
    )
    return _whole(model.fit(x, y, logisticregression__sample_weight=weights))


def _gently(values: Values) -> Values:
    return np.asarray(np.clip(values, -4.0, 4.0))


def _whole(model: Any) -> Callable[[Values], Values]:
    """Probabilities over the whole catalogue, also where a cause was never seen."""

    def predict(values: Values) -> Values:
        found = np.full((len(values), len(catalogue())), FLOOR)
        found[:, model.classes_] += model.predict_proba(values)
        return np.asarray(found / found.sum(axis=1, keepdims=True))

    return predict


LEARNERS: dict[str, Fit] = {"boosting": boosting, "logistic": logistic}


def unseen(fit: Fit, x: Values, some: list[Case]) -> Values:
    """For each job what a learner says that has not seen it."""
    rows, causes, weights = labelled(some)
    found = np.zeros((len(x), len(catalogue())))
    for fold in range(FOLDS):
        kept = rows % FOLDS != fold
        held = np.arange(len(x)) % FOLDS == fold
        found[held] = fit(x[rows[kept]], causes[kept], weights[kept])(x[held])
    return found


def tempered(probabilities: Values, power: float) -> Values:
    """The probabilities made bolder or more modest."""
    logs = power * np.log(np.maximum(probabilities, FLOOR))
    raised = np.exp(logs - logs.max(axis=1, keepdims=True))
    return np.asarray(raised / raised.sum(axis=1, keepdims=True))


def best_power(probabilities: Values, some: list[Case]) -> float:
    """The power that makes the log score best on jobs the learner has not seen."""
    found = minimize_scalar(
        lambda power: -figures(tempered(probabilities, power), some)["log_share"],
        bounds=(0.3, 3.0),
        method="bounded",
    )
    return float(found.x)


def figures(probabilities: Values, some: list[Case]) -> dict[str, float]:
    """Top-cause accuracy and mean logarithms, as in the score of the tool."""
    where = {cause: index for index, cause in enumerate(catalogue())}
    true = [[where[cause] for cause in one.truth.causes] for one in some]
    shares = np.array([row[at].sum() for row, at in zip(probabilities, true, strict=True)])
    led = [int(row.argmax()) in at for row, at in zip(probabilities, true, strict=True)]
    single = np.array([len(at) == 1 for at in true])
    logs = np.log(np.maximum(shares, FLOOR))
    return {
        "top_cause": float(np.mean(led)),
        "top_cause_single": float(np.mean(np.array(led)[single])),
        "log_share": float(logs.mean()),
        "log_single": float(logs[single].mean()),
    }


def learned(train: list[Case], test: list[Case]) -> tuple[dict[str, Values], str]:
    """Calibrated probabilities for the test jobs, by learner and of all together; the best name.

    Which is best is told by the jobs learned from, each asked of a learner that had not seen it.
    """
    told = [features(one) for one in train]
    known = names(told)
    x, x_test = matrix(told, known), matrix([features(one) for one in test], known)
    rows, causes, weights = labelled(train)
    inside = {name: unseen(fit, x, train) for name, fit in LEARNERS.items()}
    outside = {name: fit(x[rows], causes, weights)(x_test) for name, fit in LEARNERS.items()}
    for found in (inside, outside):
        found["together"] = np.mean(list(found.values()), axis=0)
    powers = {name: best_power(found, train) for name, found in inside.items()}
    scores = {
        name: figures(tempered(found, powers[name]), train)["log_share"]
        for name, found in inside.items()
    }
    calm = {name: tempered(found, powers[name]) for name, found in outside.items()}
    return calm, max(scores, key=lambda name: scores[name])


def by_cause(probabilities: Values, some: list[Case]) -> dict[str, tuple[int, float]]:
    """For each single cause: jobs, and how often it led."""
    counts: dict[str, list[bool]] = defaultdict(list)
    for row, one in zip(probabilities, some, strict=True):
        if len(one.truth.causes) == 1:
            cause = one.truth.causes[0]
            counts[cause].append(catalogue()[int(row.argmax())] == cause)
    return {cause: (len(led), float(np.mean(led))) for cause, led in sorted(counts.items())}


def main() -> None:
    """Read the options, learn, print."""
    options = argparse.ArgumentParser(description=__doc__.split("\n")[0] if __doc__ else "")
    options.add_argument("folder", type=Path, help="its truths say which kind and seed")
    options.add_argument("--train", type=int, default=1200)
    options.add_argument("--test", type=int, default=600)
    told = options.parse_args()
    library("ensemble")
    first = json.loads(min((told.folder / "truth").glob("*.json")).read_text(encoding="utf-8"))
    kind, seed = first["kind"], first["seed"]
    test = jobs(kind, seed, told.test)
    found, best = learned(jobs(kind, seed + OTHER_SEED, told.train), test)
    print(f"kind {kind}: learned from {told.train} other jobs, {told.test} held out")
    for name, probabilities in found.items():
        line = figures(probabilities, test)
        print(f"{name:10s}", "  ".join(f"{key} {value:.3f}" for key, value in line.items()))
    print(f"best by the jobs learned from: {best}")
    for cause, (count, led) in by_cause(found[best], test).items():
        print(f"  {cause:28s} {count:4d} {led:.2f}")


if __name__ == "__main__":
    main()
