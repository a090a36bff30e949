"""Are the inputs that may be told the assumed ones, and is every one of them used?"""

from __future__ import annotations

from simrun.laws.settings import settings_of
from simrun.sources.assumed import BODY, DECIDES, INSIDE, PULL, assumed_inputs


def test_all_of_them_are_assumed_and_have_a_range() -> None:
    assert list(assumed_inputs()) == list(DECIDES)
    assert all(figure.low < figure.high for figure in assumed_inputs().values())


def test_every_input_but_those_of_the_people_is_a_setting_of_the_laws() -> None:
    plain = settings_of("runner")
    for key, figure in assumed_inputs().items():
        changed = sum(
            a != b for a, b in zip(plain, settings_of("runner", {key: figure.low}), strict=True)
        )
        assert changed == (key not in (BODY, INSIDE, PULL)), key


def test_a_told_figure_that_has_its_own_value_changes_nothing() -> None:
    told = {key: figure.value for key, figure in assumed_inputs().items()}
    assert settings_of("runner", told) == settings_of("runner")
