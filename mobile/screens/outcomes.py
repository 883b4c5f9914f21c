"""The outcome measures on their page: each figure, changed or not, over time, and published figures."""

from __future__ import annotations

from kivy.metrics import dp

from shared_models.checks.outcome_change import SLOT
from shared_models.drawings.outcome_course import OutcomeCourse, outcome_scene
from shared_models.drawings.outcome_values import outcome_courses
from shared_models.entries.fitting import FittingView
from shared_models.language import spoken
from shared_models.wording.outcome_course import SIGNS, chart_title, source_words
from shared_models.wording.outcome_lines import outcome_lines, published_words
from mobile.screens.trial_picture import RoomyDrawing
from mobile.widgets.listing import ListRow
from mobile.widgets.surface import Surface, Words
from mobile.widgets.theme import theme

OUTCOME = SLOT
_CHART_DP = 230


def show_outcomes(page) -> None:
    """Show what the measures come to, against the person's last fitting on this tablet."""
    others = page.session.others_of_person(page.view)
    for number, line in enumerate(outcome_lines(page.view, others), 1):
        page.body.add_widget(ListRow(
            title=line.what, subtitle=line.says, trailing=line.value, pressable=False,
            test_name=f"outcome:{number}",
        ))
    show_over_time(page, others)
    for sentence in published_words(page.view):
        page.body.add_widget(Words(text=sentence, role="small", tone="ink_soft"))


def show_over_time(page, others: list[FittingView]) -> None:
    """Show each measure as a chart over the person's fittings and visits on this tablet."""
    courses = outcome_courses(page.view, others)
    for number, course in enumerate(courses, 1):
        page.body.add_widget(Words(text=chart_title(course.name, course.unit), bold=True))
        page.body.add_widget(_chart(course, number))
        if source_words(course):
            page.body.add_widget(Words(text=source_words(course), role="small", tone="ink_soft"))
    if courses:
        page.body.add_widget(Words(text=spoken(SIGNS), role="small", tone="ink_soft"))


def _chart(course: OutcomeCourse, number: int) -> Surface:
    """One chart on white, as high as its type needs."""
    ground = Surface(orientation="vertical", ground_tone="field", edge_tone="ink", size_hint_y=None, height=dp(_CHART_DP) * theme.font_scale)
    ground.add_widget(RoomyDrawing(lambda room: outcome_scene(course, room), test_name=f"outcome_chart:{number}", margin=[dp(8)] * 4))
    return ground
