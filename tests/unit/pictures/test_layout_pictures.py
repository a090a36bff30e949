"""Do the maps show what the layouts gave?"""

from __future__ import annotations

import numpy as np
import pytest

from simrun.pictures.charts.chart import png_of
from simrun.pictures.charts.layout_maps import Axis, Panel, curves, maps, refined, trade_offs

ACROSS, UP = Axis("straight, m", (100, 200, 300), 150), Axis("width, m", (4, 8), 6)
MEAN = np.array([[3.0, 2.0, 1.0], [2.0, 1.0, 0.0]])


def panels(mean: np.ndarray) -> list[Panel]:
    return [Panel(f"number {i}", mean, mean - 0.1, mean + 0.1, ((1.5, "known"),)) for i in range(4)]


def test_between_layouts_it_is_linear_and_gaps_stay_small() -> None:
    """The raced layouts keep their values; one that did not fit blanks its own cells only."""
    fine = refined(MEAN, 4)
    assert fine.shape == (5, 9)
    np.testing.assert_array_equal(fine[::4, ::4], MEAN)
    assert fine[2, 2] == pytest.approx(2.0)
    hole = MEAN.copy()
    hole[0, 0] = np.nan
    assert np.isnan(refined(hole, 4)[0, 0])
    assert not np.isnan(refined(hole, 4)[:, 4:]).any()


def test_the_present_layout_and_the_rule_are_drawn() -> None:
    """A large dot where the layout stands; the rule's line runs through its zero."""
    rule = np.array([[-100.0, 0.0, 100.0], [-50.0, 50.0, 150.0]])
    figure = maps(panels(MEAN), ACROSS, UP, rule)
    axes = figure.axes[0]
    dots = [tuple(c.get_offsets()[0]) for c in axes.collections if len(c.get_offsets()) == 1]
    assert (150.0, 6.0) in dots
    dashed = [
        c for c in axes.collections if getattr(c, "levels", None) is not None and 0.0 in c.levels
    ]
    points = np.concatenate(
        [p.vertices for c in dashed if len(c.levels) == 1 for p in c.get_paths()]
    )
    # On the line the margin, linear between the layouts, is nought: 200 m at width 4, 150 m at 8.
    np.testing.assert_allclose(points[points[:, 1] == 4][:, 0], 200, atol=1e-6)
    np.testing.assert_allclose(points[points[:, 1] == 8][:, 0], 150, atol=1e-6)


@pytest.mark.slow
def test_pictures_come_out_with_holes_and_without_spread() -> None:
    """A map with nothing but nan, one that is flat, curves over one knob, one dot of trade-offs."""
    flat, nothing = np.ones((2, 3)), np.full((2, 3), np.nan)
    for mean in (flat, nothing, MEAN):
        assert png_of(maps(panels(mean), ACROSS, UP, None)).startswith(b"\x89PNG")
        assert png_of(curves(panels(mean[:1]), ACROSS, 250.0)).startswith(b"\x89PNG")
    one = np.array([1.0])
    assert png_of(trade_offs(one, one, ["1"], (2.0, 2.0))).startswith(b"\x89PNG")
