"""A scene of plain shapes as SVG inside a web page: the same scene that tablet and paper draw.

SVG 2 (W3C Candidate Recommendation, 4 October 2018).  Colours and sizes are
presentation attributes and no styles, so that a page which allows no inline
style still shows them, and print keeps them.  What the drawing shows is said in
its title and description for whoever can't see it.
"""

from __future__ import annotations

from dataclasses import dataclass
from html import escape

from shared_models.drawings.daylight import DASH_DP, FAINT, colour_of, type_dp
from shared_models.drawings.plain_shapes import Room
from shared_models.drawings.scene import Area, Disc, Label, Line, Point, Scene, Shape

#: How wide a letter of the page's type is, as a part of its height; rounded up, so that words stay inside.
_LETTER, _BOLD_LETTER = 0.56, 0.6
_LINE_HEIGHT = 1.15
#: Round the words where a line beneath must not cross them, in px.
_HALO_PX = 5


@dataclass(frozen=True)
class Paper:
    """How large a drawing is: ``wide_px`` by ``high_px``, and how many px one dp has on it."""

    wide_px: float
    high_px: float
    px_per_dp: float = 0.75

    @property
    def room(self) -> Room:
        """The room that a drawing of this size has for its words."""
        return Room(self.wide_px / self.high_px, _LINE_HEIGHT * type_dp("body") * self.px_per_dp / self.high_px)


def svg_of(scene: Scene, paper: Paper, name: str, title: str) -> str:
    """Return a scene as an ``svg`` element of a page.

    ``name`` names it on the page (letters, digits, hyphens; once a page),
    ``title`` says in a few words what it is.  All text in it is escaped.
    """
    return _Svg(scene, paper).element(name, title)


class _Svg:
    def __init__(self, scene: Scene, paper: Paper) -> None:
        self._scene, self._paper = scene, paper
        across, up = paper.wide_px / scene.width, paper.high_px / scene.height
        if scene.to_scale:
            across = up = min(across, up)
        self._across, self._up = across, up
        self._left = (paper.wide_px - across * scene.width) / 2
        self._bottom = paper.high_px - (paper.high_px - up * scene.height) / 2

    def element(self, name: str, title: str) -> str:
        name, paper = escape(name), self._paper
        desc = f'<desc id="{name}-says">{escape(self._scene.says)}</desc>' if self._scene.says else ""
        names = f"{name}-title {name}-says" if desc else f"{name}-title"
        shapes = "".join(filter(None, map(self._shape, self._scene.shapes)))
        return (
            f'<svg class="scene" xmlns="http://www.w3.org/2000/svg" role="img" aria-labelledby="{names}" '
            f'viewBox="0 0 {_n(paper.wide_px)} {_n(paper.high_px)}" width="{_n(paper.wide_px)}" '
            f'height="{_n(paper.high_px)}"><title id="{name}-title">{escape(title)}</title>{desc}{shapes}</svg>'
        )

    def _at(self, point: Point) -> Point:
        return (
            self._left + (point[0] - self._scene.left) * self._across,
            self._bottom - (point[1] - self._scene.bottom) * self._up,
        )

    def _shape(self, shape: Shape) -> str:
        if isinstance(shape, Line):
            return self._line(shape)
        if isinstance(shape, Area):
            faint = f' fill-opacity="{FAINT}"' if shape.faint else ""
            return f'<polygon points="{self._points(shape.points)}" fill="{colour_of(shape.tone)}"{faint}/>'
        if isinstance(shape, Disc):
            return self._disc(shape)
        if isinstance(shape, Label):
            return self._label(shape)
        return ""  # a spot is where one presses on a tablet

    def _points(self, points: tuple[Point, ...]) -> str:
        return " ".join(f"{_n(x)},{_n(y)}" for x, y in map(self._at, points))

    def _pen(self, tone: str, pen_dp: float, dashed: bool) -> str:
        dash = _n(DASH_DP * self._paper.px_per_dp)
        dashes = f' stroke-dasharray="{dash} {dash}"' if dashed else ' stroke-linecap="round"'
        return f'stroke="{colour_of(tone)}" stroke-width="{_n(pen_dp * self._paper.px_per_dp)}"{dashes}'

    def _line(self, line: Line) -> str:
        sort = "polygon" if line.closed else "polyline"
        pen = self._pen(line.tone, line.pen_dp, line.dashed)
        return f'<{sort} points="{self._points(line.points)}" fill="none" stroke-linejoin="round" {pen}/>'

    def _disc(self, disc: Disc) -> str:
        x, y = self._at(disc.centre)
        fill = colour_of(disc.fill_tone) if disc.fill_tone else "none"
        pen = " " + self._pen(disc.edge_tone, disc.pen_dp, disc.dashed) if disc.edge_tone else ""
        return f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{_n(disc.radius * self._across)}" fill="{fill}"{pen}/>'

    def _label(self, label: Label) -> str:
        paper = self._paper
        size = type_dp(label.role) * paper.px_per_dp
        lines = label.text.split("\n")
        wide = max(map(len, lines)) * size * (_BOLD_LETTER if label.bold else _LETTER)
        high = size * _LINE_HEIGHT * len(lines)
        x, y = self._at(label.at)
        x += label.shift_dp[0] * paper.px_per_dp
        y -= label.shift_dp[1] * paper.px_per_dp + {"bottom": high, "middle": high / 2, "top": 0.0}[label.up]
        # Words stay on the paper even where their point lies at its edge.
        before = {"left": 0.0, "middle": wide / 2, "right": wide}[label.across]
        x = min(max(x, before), max(paper.wide_px - wide + before, before))
        y = min(max(y, 0.0), max(paper.high_px - high, 0.0))
        halo = (
            f' paint-order="stroke" stroke="{colour_of(label.ground_tone)}" stroke-width="{_HALO_PX}" stroke-linejoin="round"'
            if label.ground_tone else ""
        )
        anchor = {"left": "start", "middle": "middle", "right": "end"}[label.across]
        spans = "".join(
            f'<tspan x="{_n(x)}" y="{_n(y + size * (_LINE_HEIGHT * n + 0.92))}">{escape(text)}</tspan>'
            for n, text in enumerate(lines)
        )
        weight = ' font-weight="700"' if label.bold else ""
        return f'<text font-size="{_n(size)}"{weight} text-anchor="{anchor}" fill="{colour_of(label.tone)}"{halo}>{spans}</text>'


def _n(number: float) -> str:
    """Return a number of px, to a hundredth."""
    return f"{number:.2f}".rstrip("0").rstrip(".")
