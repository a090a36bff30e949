"""The estimate's page: the model's arrays, the figures told, and the words around them."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from simrun.answers.estimate.charts import lessons_chart
from simrun.answers.estimate.lessons import Lessons
from simrun.answers.estimate.words import (
    HELD,
    LESSONS_ALT,
    LESSONS_NO_ARC,
    LESSONS_TITLE,
    OTHER_ENGINE,
    OWN_RACE,
    RANGE_WORDS,
    UNKNOWN_WORDS,
    lesson_labels,
    lesson_sentence,
    lesson_words,
    lessons_about,
    made_of_words,
)
from simrun.pages.cautions import CAUTION
from simrun.pages.page import Figure, Page, Part
from simrun.pages.slider_page import slider_page
from simrun.trials.handbook.estimate_model import EstimateModel
from simrun.trials.handbook.sampled_day import (
    BEHIND_TURN_M,
    BODY_M,
    EVENLY,
    FAST_SHARE,
    FASTEST_S,
    LAST_TURN_M,
    MOST_ABREAST,
    MOST_FIELD,
    MOST_THROAT,
    PLAIN_SPREAD_S,
    POSTS,
    RANGES,
)
from simrun.trials.handbook.told_figures import ToldFigures


def page_text(
    told: ToldFigures, box: int, model: EstimateModel, units: str, same_engine: bool
) -> str:
    """One file with sliders that needs nothing else."""
    arrays = ("middle", "width", "layers", "scale", "scatter", "factor", "points")
    data: dict[str, Any] = {
        "told": asdict(told),
        "box": box,
        "units": units,
        "model": {name: model.content[name] for name in arrays},
        "ranges": RANGES,
        "evenly": EVENLY,
        "limits": {
            "body_m": BODY_M,
            "most_abreast": MOST_ABREAST,
            "most_field": MOST_FIELD,
            "most_throat": MOST_THROAT,
            "posts": POSTS,
            "plain_spread_s": PLAIN_SPREAD_S,
            "fastest_s": FASTEST_S,
            "fast_share": FAST_SHARE,
            "last_turn_m": LAST_TURN_M - BEHIND_TURN_M,
        },
        "unknown_words": UNKNOWN_WORDS,
        "range_words": RANGE_WORDS,
    }
    notes = [HELD, OWN_RACE, *([] if same_engine else [OTHER_ENGINE])]
    return slider_page(data, made_of_words(model), notes)


def lessons_page(lessons: Lessons) -> Page:
    """What all days together teach: headline, chart, and every lesson with how it is proved wrong."""
    chart = Figure(lessons_chart(lessons, *lesson_labels(lessons)), LESSONS_ALT)
    parts = tuple(Part(text=(lesson, wrong)) for lesson, wrong in lesson_words(lessons))
    return Page(
        LESSONS_TITLE,
        lesson_sentence(lessons),
        Part(figures=(chart,), parts=parts),
        about=lessons_about(lessons),
        notes=(LESSONS_NO_ARC, HELD),
        caution=CAUTION,
    )
