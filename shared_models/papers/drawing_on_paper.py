"""A scene of plain shapes on paper, as lines and areas: nothing in it is a picture of dots.

The same scene that the tablet shows.  Paper is white and has the colours of
daylight; pens and type keep the size they have on a tablet in the hand.
"""

from __future__ import annotations

from fpdf import FPDF

from shared_models.drawings.daylight import DASH_DP, FAINT, colour_of, type_dp
from shared_models.drawings.scene import Area, Disc, Label, Line, Point, Scene, Shape
from shared_models.papers.faces import MAIN, printable

#: 1 dp is 1/160 inch.
DP_MM = 25.4 / 160
_MM_PER_POINT = 25.4 / 72
_DASH_MM, _LINE_HEIGHT = DASH_DP * DP_MM, 1.15


def rgb(tone: str) -> tuple[int, int, int]:
    """Return the colour of a tone; a tone that paper does not know is ink."""
    value = colour_of(tone)
    return int(value[1:3], 16), int(value[3:5], 16), int(value[5:7], 16)


class DrawingOnPaper:
    """Draws one scene into a box of a page: left, top, width and height in mm."""

    def __init__(self, pdf: FPDF, scene: Scene, box: tuple[float, float, float, float]) -> None:
        self._pdf, self._scene = pdf, scene
        left, top, wide, high = box
        across, up = wide / scene.width, high / scene.height
        if scene.to_scale:
            across = up = min(across, up)
        self._across, self._up = across, up
        self._left = left + (wide - across * scene.width) / 2
        self._bottom = top + high - (high - up * scene.height) / 2
        self._box = box

    def draw(self) -> None:
        """Put every shape on the page, in its order."""
        left, top, wide, high = self._box
        # The clip takes the colours of the page back at its end, the local context what fpdf2 knows
        # of them: it writes no colour that it believes to be set, and the next drawing came out black.
        with self._pdf.local_context(), self._pdf.rect_clip(left, top, wide, high):
            for shape in self._scene.shapes:
                self._shape(shape)
        self._pdf.set_dash_pattern()

    def _at(self, point: Point) -> Point:
        return (
            self._left + (point[0] - self._scene.left) * self._across,
            self._bottom - (point[1] - self._scene.bottom) * self._up,
        )

    def _shape(self, shape: Shape) -> None:
        if isinstance(shape, Line):
            self._line(shape)
        elif isinstance(shape, Area):
            self._area(shape)
        elif isinstance(shape, Disc):
            self._disc(shape)
        elif isinstance(shape, Label):
            self._label(shape)

    def _pen(self, tone: str, pen_dp: float, dashed: bool) -> None:
        self._pdf.set_draw_color(*rgb(tone))
        self._pdf.set_line_width(pen_dp * DP_MM)
        if dashed:
            self._pdf.set_dash_pattern(_DASH_MM, _DASH_MM)
        else:
            self._pdf.set_dash_pattern()

    def _line(self, line: Line) -> None:
        self._pen(line.tone, line.pen_dp, line.dashed)
        self._pdf.polyline([self._at(p) for p in line.points], polygon=line.closed, style="D")

    def _area(self, area: Area) -> None:
        with self._pdf.local_context(fill_opacity=FAINT if area.faint else 1):
            self._pdf.set_fill_color(*rgb(area.tone))
            self._pdf.polygon([self._at(p) for p in area.points], style="F")

    def _disc(self, disc: Disc) -> None:
        style = ("D" if disc.edge_tone else "") + ("F" if disc.fill_tone else "")
        if not style:
            return
        self._pen(disc.edge_tone or "ink", disc.pen_dp, disc.dashed)
        if disc.fill_tone:
            self._pdf.set_fill_color(*rgb(disc.fill_tone))
        x, y = self._at(disc.centre)
        self._pdf.circle(x, y, disc.radius * self._across, style=style)

    def _label(self, label: Label) -> None:
        pdf, height = self._pdf, type_dp(label.role) * DP_MM
        pdf.set_font(MAIN, "B" if label.bold else "", height / _MM_PER_POINT)
        lines = [printable(part).text for part in label.text.split("\n")]
        wide = max(pdf.get_string_width(text) for text in lines)
        high = height * _LINE_HEIGHT * len(lines)
        x, y = self._at(label.at)
        x += label.shift_dp[0] * DP_MM - {"left": 0.0, "middle": wide / 2, "right": wide}[label.across]
        y -= label.shift_dp[1] * DP_MM + {"bottom": high, "middle": high / 2, "top": 0.0}[label.up]
        left, top, width, tall = self._box
        x = min(max(x, left), max(left + width - wide, left))
        y = min(max(y, top), max(top + tall - high, top))
        if label.ground_tone:
            pdf.set_fill_color(*rgb(label.ground_tone))
            pdf.rect(x - 0.5, y, wide + 1, high, style="F")
        pdf.set_text_color(*rgb(label.tone))
        for number, text in enumerate(lines):
            own = pdf.get_string_width(text)
            start = x + {"left": 0.0, "middle": (wide - own) / 2, "right": wide - own}[label.across]
            pdf.text(start, y + height * (_LINE_HEIGHT * number + 0.92), text)
