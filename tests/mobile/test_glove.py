"""A gloved fingertip: broad, a little off and never still; what it presses is still pressed."""

from __future__ import annotations

from mobile.device.glove import OFF_MM, WANDER_MM, DP_PER_MM, Glove


def test_a_press_that_trembles_in_place_takes_the_field_in_hand_wherever_it_lands(window, show):
    from kivy.uix.widget import Widget

    from mobile.widgets.text_field import TextField

    field = TextField(test_name="field:lot", label="Lot")
    # More than fits, so that the pane could scroll.
    show(field, *(Widget(size_hint_y=None, height=200) for _ in range(8)))
    for seed in range(12):
        glove = Glove(window, seed=seed)
        field.focus = field.touch_part.focus = False
        glove.tap(field)
        assert field.touch_part.focus, f"seed {seed}"


def test_a_drag_with_a_glove_still_scrolls(window, show):
    from kivy.uix.widget import Widget

    page = show(*(Widget(size_hint_y=None, height=200) for _ in range(12)))
    before = page.scroll_y
    Glove(window).drag([(640, 200), (640, 260), (640, 340), (640, 420)])
    assert page.scroll_y < before


def test_a_glove_presses_off_the_middle_and_wanders_but_not_without_bound(window):
    from kivy.metrics import dp

    places = []

    class Watched(Glove):
        def drag(self, points, *, hold_s=0.0):
            places.append(points)

    for seed in range(50):
        Watched(window, seed=seed).press_at((400, 300))
    off = [((p[0][0] - 400) ** 2 + (p[0][1] - 300) ** 2) ** 0.5 for p in places]
    assert max(off) <= dp(OFF_MM * DP_PER_MM) and max(off) > dp(DP_PER_MM)
    wandered = [((x - p[0][0]) ** 2 + (y - p[0][1]) ** 2) ** 0.5 for p in places for x, y in p[1:]]
    assert max(wandered) <= dp(WANDER_MM * DP_PER_MM) and min(wandered) < max(wandered)
