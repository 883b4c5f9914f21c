"""Choose one of a few: a row of large cells that becomes several lines where the width is short."""

from kivy.metrics import dp
from kivy.properties import (
    AliasProperty,
    BooleanProperty,
    ListProperty,
    NumericProperty,
    ObjectProperty,
    StringProperty,
)
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.gridlayout import GridLayout

from mobile.widgets import kv_beside
from mobile.widgets.fonts import longest_word_width, one_line_width
from mobile.widgets.marks import ChoiceMark, GradeMark, KindMark  # noqa: F401 (used by the kv file)
from mobile.widgets.surface import Column, Row, Words
from mobile.widgets.theme import theme
from shared_models.language import spoken


#: In dp at the usual type: a way's word, what a compact grade needs beside its word, and from
#: which width on two ways or two short questions lie side by side.
_WAY_DP, _COMPACT_ROOM_DP, _TWO_WAYS_DP, _TWO_FIELDS_DP = 54, 34, 690, 560


def width_of_ways(*said: str) -> float:
    """Pixels that the words before an answer need, the longest of them whole."""
    size = theme.type_size("body")
    return max(dp(_WAY_DP) * theme.font_scale, *(longest_word_width(words, size) + 2 for words in said))


class ChoiceCell(ButtonBehavior, Row):
    """One thing that can be chosen; made by :class:`ChoiceRow`."""

    key = StringProperty("")
    words = StringProperty("")
    chosen = BooleanProperty(False)
    row = ObjectProperty(None)

    def on_release(self):
        self.row.press(self.key)


class GradeCell(ChoiceCell):
    """One grade of a finding, with its bars; made by :class:`GradedChoice`."""

    grade = NumericProperty(0)
    highest = NumericProperty(2)


class ChoiceCells(GridLayout):
    """Equal cells, as many on a line as their longest words allow."""


class ChoiceRow(Column):
    """A question with a few answers, one of which can be chosen.

    ``options`` is a list of (key, words); ``value`` the key chosen, ``''`` for none yet. A press
    dispatches ``on_edit(key)``; setting ``value`` does not. With ``clearable`` a second press on
    the chosen answer takes it back and dispatches ``on_edit('')``. ``hint`` and ``message`` stand
    beneath, as in the other fields. The cells are called ``<test_name>=<key>``.
    """

    __events__ = ("on_edit",)
    label = StringProperty("")
    hint = StringProperty("")
    message = StringProperty("")
    message_kind = StringProperty("")
    options = ListProperty([])
    value = StringProperty("")
    clearable = BooleanProperty(False)

    cell_class = ChoiceCell

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        for name in ("options", "test_name"):
            self.fbind(name, self._make_cells)
        self.fbind("value", self._show_value)
        self.ids.cells.fbind("width", self._share_out)
        theme.bind(font_scale=self._share_out)
        self._make_cells()

    def press(self, key: str) -> None:
        """Choose as a person does, by the key of an answer."""
        if key != self.value:
            self.value = key
        elif self.clearable:
            self.value = ""
        else:
            return
        self.dispatch("on_edit", self.value)

    def on_edit(self, value: str) -> None:
        """A person chose; ``value`` is the key of the answer."""

    def _make_cells(self, *_args):
        cells = self.ids.cells
        cells.clear_widgets()
        for number, (key, words) in enumerate(self.options):
            cells.add_widget(self._cell(number, key, words))
        self._show_value()
        self._share_out()

    def _cell(self, number: int, key: str, words: str):
        return self.cell_class(key=key, words=words, row=self, test_name=f"{self.test_name}={key}")

    def _show_value(self, *_args):
        for cell in self.ids.cells.children:
            cell.chosen = cell.key == self.value

    def _share_out(self, *_args):
        cells = self.ids.cells
        count = len(self.options)
        if not count or cells.width <= 0:
            return
        size = theme.type_size("body")
        widest = max(one_line_width(words, size, bold=True) for _key, words in self.options)
        each = max(widest + self.room_beside_words(), theme.touch)
        gap = cells.spacing[0]
        fitting = int((cells.width + gap) // (each + gap))
        cells.cols = _even_columns(count, max(1, min(count, fitting)))

    def room_beside_words(self) -> float:
        """Pixels a cell needs beside its words, for mark and padding."""
        return theme.touch * 0.5 + theme.gap * 2.2


def _even_columns(count: int, most: int) -> int:
    """As few columns as make the same number of lines, so that four become 2 and 2, not 3 and 1."""
    lines = -(-count // most)
    return -(-count // lines)


class YesNoChoice(ChoiceRow):
    """A question answered by yes or no (keys ``'yes'`` and ``'no'``)."""

    def __init__(self, **kwargs):
        kwargs.setdefault("options", [("yes", spoken("Yes")), ("no", spoken("No"))])
        super().__init__(**kwargs)

    def _get_answer(self):
        return {"yes": True, "no": False}.get(self.value)

    answer = AliasProperty(_get_answer, None, bind=["value"])
    """True, False or None while unanswered; read only."""


class GradedChoice(ChoiceRow):
    """How marked a finding is, in order from none upwards, by rising bars as well as words."""

    cell_class = GradeCell

    def __init__(self, **kwargs):
        kwargs.setdefault("options", [("none", spoken("none")), ("slight", spoken("slight")), ("marked", spoken("marked"))])
        super().__init__(**kwargs)

    def _cell(self, number, key, words):
        cell = super()._cell(number, key, words)
        cell.highest = len(self.options) - 1
        cell.grade = number
        return cell


class PlainCell(ButtonBehavior, Row):
    """A cell without a mark of its own: told chosen by its ground, its bold word and the bar under it."""

    key = StringProperty("")
    words = StringProperty("")
    chosen = BooleanProperty(False)
    row = ObjectProperty(None)

    def on_release(self):
        self.row.press(self.key)


class CompactGradeCell(PlainCell):
    """A grade with its bars close to its word, so that three stand side by side."""

    grade = NumericProperty(0)
    highest = NumericProperty(2)


class WayGrades(GradedChoice):
    """The grades of one way of noticing (seen, felt, heard), always on one line where that is wide enough."""

    cell_class = CompactGradeCell

    def room_beside_words(self) -> float:
        return dp(_COMPACT_ROOM_DP)

    def one_line_px(self) -> float:
        """Pixels at which all grades stand on one line."""
        size = theme.type_size("body")
        each = max((one_line_width(words, size, bold=True) for _key, words in self.options), default=0) + self.room_beside_words()
        return max(each, theme.touch) * len(self.options) + self.ids.cells.spacing[0] * max(0, len(self.options) - 1)


class FindingGrades(Column):
    """One finding: its ``label``, how it was ``before``, and beneath them a line of grades for each way.

    ``ways`` is a list of (way, words, value). A press dispatches ``on_edit(way, grade)``, with ``''``
    when a grade was taken back. The lines are called ``<way>:<test_name>`` and lie side by side where
    there is room for two.
    """

    __events__ = ("on_edit",)
    label = StringProperty("")
    before = StringProperty("")
    ways = ListProperty([])

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        self.rows: dict[str, WayGrades] = {}
        self.fbind("width", self._share_out)
        theme.bind(font_scale=self._share_out)
        for way, words, value in self.ways:
            row = WayGrades(test_name=f"{way}:{self.test_name}", value=value, clearable=True, spacing=0)
            row.fbind("on_edit", lambda _row, grade, w=way: self.dispatch("on_edit", w, grade))
            line = Row(spacing=dp(6))
            line.add_widget(Words(text=words, size_hint_x=None))
            line.add_widget(row)
            self.rows[way] = row
            self.ids.lines.add_widget(line)
        self._share_out()

    def on_edit(self, way: str, grade: str) -> None:
        """A person graded one way of noticing."""

    def take(self, way: str, grade: str) -> None:
        """Show another grade; nothing is dispatched."""
        self.rows[way].value = grade

    def _share_out(self, *_args):
        wide = width_of_ways(*(words for _way, words, _value in self.ways))
        each = wide + dp(6) + max((row.one_line_px() for row in self.rows.values()), default=0)
        # Two ways side by side only where the grades of each stay on one line.
        room = self.width >= max(dp(_TWO_WAYS_DP) * theme.font_scale, 2 * each + self.ids.lines.spacing[0])
        self.ids.lines.cols = min(2, max(1, len(self.ways))) if room else 1
        for line in self.ids.lines.children:
            line.children[-1].width = wide


class ScaleCell(PlainCell):
    """One number of a short scale; made by :class:`ScaleChoice`."""


class ScaleChoice(ChoiceRow):
    """A scale of a few numbers, as many on a line as a finger can tell apart."""

    cell_class = ScaleCell

    def room_beside_words(self) -> float:
        return dp(4)


class WordBeside(Row):
    """A question's word and, beside it, what answers it: one line where that is wide enough."""

    def __init__(self, word: str, answer, **kwargs):
        super().__init__(spacing=dp(6), **kwargs)
        self._word = Words(text=word, size_hint_x=None)
        self.add_widget(self._word)
        self.add_widget(answer)
        theme.bind(font_scale=self._share_out)
        self._share_out()

    def _share_out(self, *_args):
        self._word.width = width_of_ways(self._word.text)


class FieldGrid(GridLayout):
    """Short questions side by side where there is room for two, else one below the other."""

    def __init__(self, **kwargs):
        kwargs.setdefault("cols", 1)
        super().__init__(**kwargs)
        self.fbind("width", self._share_out)
        theme.bind(font_scale=self._share_out)

    def _share_out(self, *_args):
        self.cols = 2 if self.width >= dp(_TWO_FIELDS_DP) * theme.font_scale else 1


kv_beside.load(__file__)
