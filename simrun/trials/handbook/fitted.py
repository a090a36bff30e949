"""How the estimate's model is fitted to the handbook's table, and judged by days that it never saw.

`python -m simrun.trials.handbook.fitted` reads shared/handbook and writes its model.json; needs the extra
`learn`.
"""

from __future__ import annotations

import json
import warnings
from collections.abc import Sequence
from dataclasses import fields
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from simrun.base.writing import write_text
from simrun.trials.handbook.estimate_model import (
    CENTRED,
    FILE,
    OUTPUTS,
    SCATTERED,
    EstimateModel,
    model_folder,
)
from simrun.trials.handbook.handbook_table import ABOUT, read_boxes, read_days
from simrun.trials.handbook.sampled_day import AXES, MARKS, SampledDay
from simrun.trials.handbook.traits import traits

if TYPE_CHECKING:
    import pandas

Array = NDArray[np.float64]

HIDDEN = (32, 32)
TURNS, STRENGTH, RATE, BATCH = 60, 0.03, 3e-3, 256
FOLDS = 3
POINTS, POINTS_SEED = 16, 3
NOISE_FLOOR = 0.3
"""Seconds: a box whose mean is surer than this weighs no more for it."""
PLACES_A_SECOND = 8.0
COVER = 0.9
ASKED_S = {"throat": 0.4, "turn": 0.8, "1 km": 0.8}
ASKED_SHARE = 0.12


def days_of(table: pandas.DataFrame) -> list[SampledDay]:
    """The days of a table, in its order."""
    names = [field.name for field in fields(SampledDay)]
    whole = {"boxes", "runners", "abreast"}
    found = []
    for row in table.to_dict("records"):
        values: dict[str, Any] = {n: int(row[n]) if n in whole else row[n] for n in names}
        found.append(SampledDay(**values))
    return found


def found_in(boxes: pandas.DataFrame, day_numbers: Sequence[int]) -> dict[str, Array]:
    """What the races gave, (rows, M) by column; rows are the boxes of these days, one day after the other."""
    here = boxes[boxes.day.isin(list(day_numbers))].sort_values(["day", "box"])
    by_mark = [here[here["mark"] == mark] for mark in MARKS]
    columns = [name for name in boxes.columns if name not in ("day", "mark", "box")]
    return {name: np.stack([m[name].to_numpy(float) for m in by_mark], axis=1) for name in columns}


def fit(days: Sequence[SampledDay], found: dict[str, Array]) -> dict[str, Any]:
    """The arrays of the model: a network on the traits of every box, weighed by how sure its mean is."""
    from sklearn.neural_network import MLPRegressor

    seen, ground_s = _seen(days)
    target = _target(found, ground_s)
    scale = target.std(axis=0)
    weight = 1 / (NOISE_FLOOR**2 + (found["se_s"] ** 2).mean(axis=1))
    middle, width = seen.mean(axis=0), seen.std(axis=0) + 1e-9
    network = MLPRegressor(
        hidden_layer_sizes=HIDDEN,
        activation="tanh",
        alpha=STRENGTH,
        max_iter=TURNS,
        learning_rate_init=RATE,
        batch_size=BATCH,
        tol=0.0,
        random_state=1,
    )
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it is told how many turns to make, and has made them
        network.fit((seen - middle) / width, target / scale, sample_weight=weight / weight.mean())
    layers = zip(network.coefs_, network.intercepts_, strict=True)
    return {
        "middle": _plain(middle),
        "width": _plain(width),
        "layers": [[_plain(weights), _plain(bias)] for weights, bias in layers],
        "scale": _plain(scale),
    }


def _seen(days: Sequence[SampledDay]) -> tuple[Array, Array]:
    each = [traits(day) for day in days]
    return np.concatenate([s for s, _ in each]), np.concatenate([g for _, g in each])


def _target(found: dict[str, Array], ground_s: Array) -> Array:
    """Seconds without those of the ground; percentiles against the box's own mean; one row, no front."""
    parts = {
        "cost_s": found["cost_s"] - ground_s,
        "cost_places": found["cost_places"],
        "p10_s": found["p10_s"] - found["cost_s"],
        "p90_s": found["p90_s"] - found["cost_s"],
        "front_s": np.nan_to_num(found["front_s"]),
    }
    each = np.stack([parts[name] for name in OUTPUTS], axis=2)
    return each.reshape(len(each), -1)


def calibrated(days: Sequence[SampledDay], numbers: Sequence[int], boxes: Any) -> dict[str, Any]:
    """How far off is the model on days that it was not fitted to? Each fold is told by the others.

    scatter: the model's own squared error as a sum of a constant, a share of the cost's square and of the
    day's, the chance of few races taken out; factor: by which its root is multiplied so that 90 % of the
    left-out costs lie within (conformal, the chance of few races added in quadrature).
    """
    rest: dict[str, list[Array]] = {name: [] for name in SCATTERED}
    for fold in range(FOLDS):
        inside = [k for k in range(len(days)) if k % FOLDS != fold]
        outside = [k for k in range(len(days)) if k % FOLDS == fold]
        part = found_in(boxes, [numbers[k] for k in inside])
        model = EstimateModel(fit([days[k] for k in inside], part))
        for k in outside:
            told, seen = model.outputs(days[k]), found_in(boxes, [numbers[k]])
            for name in SCATTERED:
                se = seen[name.replace("cost", "se")]
                whole = np.broadcast_to((told[name] ** 2).mean(axis=0), told[name].shape)
                rest[name].append(np.stack([told[name], seen[name], se, whole], axis=2))
    scatter, factor = {}, {}
    for name, parts in rest.items():
        each = np.concatenate(parts)
        by_mark = [_scatter(each[:, mark]) for mark in range(len(MARKS))]
        scatter[name] = [_plain(s) for s, _ in by_mark]
        factor[name] = [float(f"{q:.6g}") for _, q in by_mark]
    return {"scatter": scatter, "factor": factor}


def _scatter(rows: Array) -> tuple[Array, float]:
    """Coefficients of the squared error, and the factor of its root, from (told, found, se, whole)."""
    from scipy.optimize import nnls

    told, seen, se, whole = rows.T
    error = (seen - told) ** 2 - se**2
    design = np.stack([np.ones_like(told), told**2, whole], axis=1)
    weight = 1 / (0.05 * error.std() + told**2 + whole + se**2)
    found, _ = nnls(design * weight[:, None], error * weight)
    own = np.sqrt(design @ found + se**2)
    return found, float(np.quantile(np.abs(seen - told) / own, COVER))


def judged(
    model: EstimateModel, days: Sequence[SampledDay], found: dict[str, Array]
) -> list[dict[str, Any]]:
    """On days that were never fitted: the errors by mark, and how many costs the intervals cover."""
    told = [model.costs([day]) for day in days]
    rows = []
    for name in CENTRED:
        values = np.concatenate([t.values[name] for t in told])
        half = np.concatenate([t.half[name] for t in told])
        error = np.abs(values - found[name])
        for mark, word in enumerate(MARKS):
            off, cost = error[:, mark], found[name][:, mark]
            row = {
                "what": name,
                "mark": word,
                "boxes": len(off),
                "mean_error": round(float(off.mean()), 3),
                "error_95": round(float(np.quantile(off, 0.95)), 3),
                "cover": round(float((off <= half[:, mark]).mean()), 3),
                "mean_size": round(float(np.abs(cost).mean()), 3),
                "chance": round(float(found[name.replace("cost", "se")][:, mark].mean()), 3),
            }
            if name == "cost_s":
                allowed = np.maximum(ASKED_S[word], ASKED_SHARE * np.abs(cost))
                row["share_of_asked"] = round(float((off / allowed).mean()), 3)
                row["share_of_asked_95"] = round(float(np.quantile(off / allowed, 0.95)), 3)
            rows.append(row)
    return rows


def points() -> list[dict[str, float]]:
    """Where what is not told is taken from: a few Sobol points over the axes of the sample."""
    from scipy.stats import qmc

    unit = qmc.Sobol(len(AXES), rng=POINTS_SEED).random(POINTS)
    return [dict(zip(AXES, [round(float(u), 4) for u in row], strict=True)) for row in unit]


def _plain(values: Array) -> Any:
    return [_plain(v) if np.ndim(v) else float(f"{v:.6g}") for v in values]


def refit(folder: Path) -> Path:
    """Fit the model to the table of this folder and write it beside it. Raises CannotWrite."""
    table, boxes = read_days(folder), read_boxes(folder)
    parts = {use: table[table.use == use] for use in ("fit", "judge")}
    numbers = {use: part.day.tolist() for use, part in parts.items()}
    days = {use: days_of(part) for use, part in parts.items()}
    content = fit(days["fit"], found_in(boxes, numbers["fit"]))
    content |= calibrated(days["fit"], numbers["fit"], boxes)
    content["judged"] = judged(
        EstimateModel(content), days["judge"], found_in(boxes, numbers["judge"])
    )
    content["points"] = points()
    content["about"] = json.loads((folder / ABOUT).read_text("utf-8"))
    return write_text(folder / FILE, json.dumps(content, separators=(",", ":")) + "\n")


if __name__ == "__main__":
    refit(model_folder())
