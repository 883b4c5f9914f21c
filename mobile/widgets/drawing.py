"""Shows a scene of plain shapes on the screen, in the colours of the theme."""

from __future__ import annotations

from kivy.core.text import Label as CoreLabel
from kivy.graphics import Color, Ellipse, Line, Mesh, Rectangle
from kivy.metrics import dp
from kivy.properties import ListProperty, ObjectProperty
from kivy.uix.widget import Widget

from mobile.widgets.fonts import font_for
from mobile.widgets.surface import Named
from mobile.widgets.theme import theme
from mobile.widgets.writing import drawn

_FAINT = 0.45
_DASH_DP = 6
#: A finger in a glove covers about this much around the middle of a spot.
_REACH_DP = 28
#: Type set smaller comes out in whole pixels; a little less makes sure that it fits.
_ROUNDING = 0.97
#: Of its size: type set smaller than this is not read at a glance any more.
_READABLE = 0.5


class DrawingView(Named, Widget):
    """Draws ``scene`` as large as fits, and anew when it changes.

    ``on_spot`` hears the key of a spot that was pressed.
    """

    scene = ObjectProperty(None, allownone=True)
    margin = ListProperty([dp(12), dp(12), dp(12), dp(12)])
    """Left, bottom, right and top, in pixels, kept free around the scene."""

    __events__ = ("on_spot",)

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        for name in ("scene", "pos", "size", "margin"):
            self.fbind(name, self._redraw)
        # Bound weakly: the theme outlives every drawing.
        theme.bind(name=self._redraw, font_scale=self._redraw)
        self._redraw()

    def on_spot(self, key: str) -> None:
        """A spot was pressed."""

    # From the scene's unit to pixels -------------------------------------------

    def _frame(self) -> tuple[float, float, float, float]:
        left, bottom, right, top = self.margin
        wide = max(self.width - left - right, 1)
        high = max(self.height - bottom - top, 1)
        across, up = wide / self.scene.width, high / self.scene.height
        if self.scene.to_scale:
            across = up = min(across, up)
        x = self.x + left + (wide - across * self.scene.width) / 2
        y = self.y + bottom + (high - up * self.scene.height) / 2
        return x, y, across, up

    def to_pixels(self, point) -> tuple[float, float]:
        """Return where a point of the scene lies in the window of the widget."""
        x, y, across, up = self._frame()
        return (
            x + (point[0] - self.scene.left) * across,
            y + (point[1] - self.scene.bottom) * up,
        )

    # Drawing -------------------------------------------------------------------

    def _redraw(self, *_args) -> None:
        self.canvas.clear()
        if self.scene is None or self.width < 2 or self.height < 2:
            return
        with self.canvas:
            for shape in self.scene.shapes:
                getattr(self, f"_draw_{type(shape).__name__.lower()}")(shape)

    def _flat(self, points) -> list[float]:
        return [n for point in points for n in self.to_pixels(point)]

    def _draw_line(self, shape) -> None:
        Color(*theme.colour(shape.tone))
        points = self._flat(shape.points)
        if not shape.dashed:
            Line(points=points, width=dp(shape.pen_dp) / 2, close=shape.closed, joint="round", cap="round")
            return
        if shape.closed:
            points += points[:2]
        for dash in dashes(points, dp(_DASH_DP)):
            Line(points=dash, width=dp(shape.pen_dp) / 2, cap="none")

    def _draw_area(self, shape) -> None:
        red, green, blue, alpha = theme.colour(shape.tone)
        Color(red, green, blue, alpha * (_FAINT if shape.faint else 1))
        points = self._flat(shape.points)
        vertices = [n for i in range(0, len(points), 2) for n in (points[i], points[i + 1], 0, 0)]
        Mesh(vertices=vertices, indices=list(range(len(points) // 2)), mode="triangle_fan")

    def _draw_disc(self, shape) -> None:
        x, y = self.to_pixels(shape.centre)
        radius = shape.radius * self._frame()[2]
        if shape.fill_tone:
            Color(*theme.colour(shape.fill_tone))
            Ellipse(pos=(x - radius, y - radius), size=(2 * radius, 2 * radius))
        if not shape.edge_tone:
            return
        Color(*theme.colour(shape.edge_tone))
        pen = dp(shape.pen_dp) / 2
        if shape.dashed:
            for start in range(0, 360, 45):
                Line(circle=(x, y, radius, start, start + 28), width=pen, cap="none")
        else:
            Line(circle=(x, y, radius), width=pen)

    def placed_label(self, shape):
        """Return the texture of a label's words, and left and bottom of where they lie; None where they are left out.

        Words wider than the drawing, or wider or higher than they may be, are set smaller, so that their ends lie on nothing else.
        """
        size = theme.type_size(shape.role)
        texture = _texture(shape.text, size, shape.bold, shape.across)
        room = max(self.width - dp(4), 1)
        if shape.most_wide:
            room = min(room, shape.most_wide * self._frame()[2])
        if shape.most_wide and texture.width * _READABLE > room:
            return None
        share = room / texture.width if texture.width else 1
        if shape.most_high and texture.height:
            share = min(share, shape.most_high * self._frame()[2] / texture.height)
        if share < 1:
            texture = _texture(shape.text, size * share * _ROUNDING, shape.bold, shape.across)
        x, y = self.to_pixels(shape.at)
        wide, high = texture.size
        x += dp(shape.shift_dp[0]) - {"left": 0, "middle": wide / 2, "right": wide}[shape.across]
        y += dp(shape.shift_dp[1]) - {"bottom": 0, "middle": high / 2, "top": high}[shape.up]
        # Words stay on the paper even where their point lies at its edge.
        x = min(max(x, self.x + dp(2)), max(self.right - wide - dp(2), self.x + dp(2)))
        y = min(max(y, self.y + dp(2)), max(self.top - high - dp(2), self.y + dp(2)))
        return texture, x, y

    def _draw_label(self, shape) -> None:
        placed = self.placed_label(shape)
        if placed is None:
            return
        texture, x, y = placed
        wide, high = texture.size
        if shape.ground_tone:
            Color(*theme.colour(shape.ground_tone))
            Rectangle(pos=(x - dp(3), y), size=(wide + dp(6), high))
        Color(*theme.colour(shape.tone))
        Rectangle(texture=texture, pos=(round(x), round(y)), size=texture.size)

    def _draw_spot(self, _shape) -> None:
        """A spot is where one presses; what is seen there are the other shapes."""

    # Pressing ------------------------------------------------------------------

    def on_touch_down(self, touch):
        key = self.spot_at(touch.pos)
        if key is None:
            return super().on_touch_down(touch)
        touch.grab(self)
        return True

    def on_touch_up(self, touch):
        if touch.grab_current is not self:
            return super().on_touch_up(touch)
        touch.ungrab(self)
        key = self.spot_at(touch.pos)
        if key is not None:
            self.dispatch("on_spot", key)
        return True

    def spot_at(self, position) -> str | None:
        """Return the key of the nearest spot in reach of a touch, None when there is none."""
        if self.scene is None or not self.collide_point(*position):
            return None
        found = []
        for shape in self.scene.shapes:
            if type(shape).__name__ == "Spot":
                x, y = self.to_pixels(shape.at)
                away = ((x - position[0]) ** 2 + (y - position[1]) ** 2) ** 0.5
                if away <= dp(_REACH_DP):
                    found.append((away, shape.key))
        return min(found)[1] if found else None


def dashes(points: list[float], length: float) -> list[list[float]]:
    """Return the dashes of a line through flat ``points``, each ``length`` pixels long."""
    found = []
    for i in range(0, len(points) - 2, 2):
        x, y, to_x, to_y = points[i:i + 4]
        whole = ((to_x - x) ** 2 + (to_y - y) ** 2) ** 0.5
        at = 0.0
        while at < whole:
            end = min(at + length, whole)
            found.append([
                x + (to_x - x) * at / whole, y + (to_y - y) * at / whole,
                x + (to_x - x) * end / whole, y + (to_y - y) * end / whole,
            ])
            at += 2 * length
    return found


def _texture(text: str, size: float, bold: bool, across: str):
    halign = "center" if across == "middle" else across
    label = CoreLabel(text=drawn(text), font_size=size, font_name=font_for(text), bold=bold, halign=halign)
    label.refresh()
    return label.texture
