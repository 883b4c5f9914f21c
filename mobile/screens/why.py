"""What findings may mean: opened where it is wanted, never in the way of the trial."""

from __future__ import annotations

from typing import Any, Callable, Mapping

from shared_models.catalogue.edition import Edition
from shared_models.language import spoken
from shared_models.wording import findings as words_of
from mobile.widgets.banner import Banner
from mobile.widgets.buttons import PlainButton, keep_within
from mobile.widgets.surface import Column, Words
from mobile.widgets.theme import theme

#: What must not be overlooked stands in a notice of its kind.
_BANNERS = {"contradiction": "doubt", "restore": "caution"}


class WhyPart:
    """A button that takes no room until something was found, and what it opens.

    ``items`` returns the findings as recorded; :meth:`again` reads them anew.
    ``name`` tells several on one page apart.
    """

    def __init__(
        self, body, edition: Edition, items: Callable[[], list[Mapping[str, Any]]],
        function: str = "", label: str = "", name: str = "why",
    ):
        label = label or spoken(words_of.WHY)
        self.edition, self.items, self.function, self.label = edition, items, function, label
        self.name, self.is_open = name, False
        self.place = Column(spacing=theme.gap)
        self.opener = PlainButton(text=label, fit=True, test_name=name)
        self.opener.fbind("on_release", lambda *_: self.turn())
        keep_within(self.opener, self.place)
        body.add_widget(self.place)
        self.again()

    def turn(self) -> None:
        """Open what the findings may mean, or close it again."""
        self.is_open = not self.is_open
        self.again()

    def again(self) -> None:
        """Bring it up to date with what is graded now."""
        sections = words_of.why(self.items(), self.edition, self.function)
        self.place.clear_widgets()
        self.is_open = self.is_open and bool(sections)
        if not sections:
            return
        self.opener.text = spoken(words_of.WHY_CLOSE) if self.is_open else self.label
        self.place.add_widget(self.opener)
        if self.is_open:
            self.place.add_widget(_panel(sections, self.name))


def _panel(sections: tuple[words_of.Section, ...], name: str) -> Column:
    """All sections one below the other, on a ground of their own."""
    panel = Column(
        ground_tone="panel", padding=[theme.gap * 1.5, theme.gap], spacing=theme.gap, test_name=f"{name}:open",
    )
    panel.add_widget(Words(text=spoken(words_of.NOT_CERTAIN), tone="ink_soft"))
    for section in sections:
        part = Column(spacing=theme.gap * 0.3)
        if section.key in _BANNERS:
            part.add_widget(Banner(
                kind=_BANNERS[section.key], lead=section.title, text=" ".join(section.lines),
                test_name=f"{name}:{section.key}",
            ))
        else:
            if section.title:
                part.add_widget(Words(text=section.title, bold=True))
            for line in section.lines:
                part.add_widget(Words(text=line))
        for line in section.small:
            part.add_widget(Words(text=line, role="small", tone="ink_soft"))
        panel.add_widget(part)
    return panel
