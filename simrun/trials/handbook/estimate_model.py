"""The model behind the estimate, as plain arrays: what every box costs on a day given in figures.

Two layers of hyperbolic tangents over the traits of a box; the seconds of the ground are added exactly, and
the boxes of a day are centred, so that a cost is always against the average box. The page's script has the
same lines and reads the same numbers (`pages/templates/estimate.js`).
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.sources.library import shared_folder
from simrun.trials.handbook.sampled_day import MARKS, SampledDay
from simrun.trials.handbook.traits import traits

Array = NDArray[np.float64]

OUTPUTS = ("cost_s", "cost_places", "p10_s", "p90_s", "front_s")
"""What is known of a box at every mark. p10_s, p90_s: between which eight of ten single runners lie, against
the average box; front_s: the front row against the box."""

CENTRED = ("cost_s", "cost_places")
SCATTERED = CENTRED
"""Which have an interval."""

FILE = "model.json"


@dataclass(frozen=True)
class Costs:
    """Every box of a day from left to right: (B, M) by name of OUTPUTS; spread_s, spread_places (B, M): half
    of the 90 % interval of the mean cost."""

    values: dict[str, Array]
    half: dict[str, Array]


@dataclass(frozen=True)
class EstimateModel:
    """The arrays of the model, as in the file: layers [(weights, bias)], and what its errors were."""

    content: dict[str, Any]

    def outputs(self, day: SampledDay) -> dict[str, Array]:
        """Of every box at every mark: (B, M) by name of OUTPUTS."""
        seen, ground_s = traits(day)
        return self.centred(self.raw(seen), ground_s)

    def raw(self, seen: Array) -> Array:
        """The network's own word, (B, M x OUTPUTS), mark by mark."""
        middle, width, layers, scale = self._arrays
        values = (seen - middle) / width
        *inner, (weights, bias) = layers
        for inner_weights, inner_bias in inner:
            values = np.tanh(values @ inner_weights + inner_bias)
        found: Array = (values @ weights + bias) * scale
        return found

    @cached_property
    def _arrays(self) -> tuple[Array, Array, list[tuple[Array, Array]], Array]:
        """The lists of the file as arrays, made once: a page asks while a line is dragged."""
        c = self.content
        layers = [(np.array(weights), np.array(bias)) for weights, bias in c["layers"]]
        return np.array(c["middle"]), np.array(c["width"]), layers, np.array(c["scale"])

    @staticmethod
    def centred(raw: Array, ground_s: Array) -> dict[str, Array]:
        """With the seconds of the ground, against the average box."""
        each = raw.reshape(len(raw), len(MARKS), len(OUTPUTS))
        values = {name: each[:, :, k] for k, name in enumerate(OUTPUTS)}
        values["cost_s"] = values["cost_s"] + ground_s
        for name in CENTRED:
            values[name] = values[name] - values[name].mean(axis=0)
        for name in ("p10_s", "p90_s"):
            values[name] = values[name] + values["cost_s"]
        return values

    def scatter(self, name: str, value: Array) -> Array:
        """The model's own error, one standard deviation, (B, M): larger where costs are large."""
        found = np.zeros_like(value)
        day = (value**2).mean(axis=0)
        for mark in range(len(MARKS)):
            base, own, whole = self.content["scatter"][name][mark]
            found[:, mark] = np.sqrt(base + own * value[:, mark] ** 2 + whole * day[mark])
        return found

    def costs(self, days: Sequence[SampledDay]) -> Costs:
        """Over days that differ in what is not known: the mean, and an interval that holds both the model's
        error and what is not known."""
        found = [self.outputs(day) for day in days]
        values = {name: np.mean([f[name] for f in found], axis=0) for name in OUTPUTS}
        half = {}
        for name in SCATTERED:
            own = np.mean([self.scatter(name, f[name]) ** 2 for f in found], axis=0)
            unknown = np.var([f[name] for f in found], axis=0)
            factor = np.array(self.content["factor"][name])
            half[name] = factor * np.sqrt(own + unknown)
        return Costs(values, half)


def model_folder() -> Path:
    """Where the shipped handbook lies."""
    return shared_folder() / "handbook"


@cache
def estimate_model() -> EstimateModel:
    """The shipped model. Check: tests/unit/trials/test_handbook.py."""
    return EstimateModel(json.loads((model_folder() / FILE).read_text("utf-8")))
