"""The drawings on the page of a fitting: the scenes that tablet and paper draw, and the same in words."""

from __future__ import annotations

import html
import re
from xml.etree import ElementTree

from shared_models.drawings.trial_points import course_shown, with_findings
from shared_models.drawings.alignment import alignment_picture
from shared_models.entries.envelope import Subject
from sync_server.services.fitting_drawings import PLANE
from tests.sync_server.test_timings_on_the_page import contacts, timing, words_of

SVG = "{http://www.w3.org/2000/svg}"
RISE = {"finding": "heel_rise_too_high", "grade": "marked", "perceived": "seen"}


def drawn(answer) -> dict[str, ElementTree.Element]:
    """Every drawing of a page by its title; all of them are well-formed and say what they show."""
    found = {}
    for text in re.findall(r'<svg class="scene".*?</svg>', answer.text, re.S):
        drawing = ElementTree.fromstring(text)
        names = drawing.get("aria-labelledby").split()
        parts = {e.get("id"): e for e in drawing.iter() if e.get("id")}
        assert len(names) == 2 and all(parts[name].text for name in names)
        found[parts[names[0]].text] = drawing
    return found


def words_in(drawing) -> list[str]:
    return [s.text for s in drawing.iter(f"{SVG}tspan")]


def test_each_adjuster_has_its_course_with_findings_by_letter_and_the_same_as_a_table(house, tablet):
    desk = tablet.desk
    desk.walk("swing_flexion", "change", findings=[RISE, {"finding": "trunk_leans", "grade": "slight", "perceived": "felt"}])
    desk.turn("swing_flexion", "9")
    desk.walk("swing_flexion", "stopped", stop_reason="pain", findings=[RISE, {**RISE, "perceived": "felt", "grade": "slight"}])
    assert tablet.push().status_code == 200
    page = house.lead().open()
    courses = {t: d for t, d in drawn(page).items() if "position over its trials" in t}
    assert len(courses) == 4
    said = words_in(courses["Swing flexion, position over its trials (marks)"])
    assert "stop" in said and said.count("a") == 2 and said.count("b") == 1
    rows = re.search(r"Swing flexion, position over its trials \(marks\)</caption>.*?</table>", page.text, re.S)[0]
    cells = [html.unescape(re.sub("<[^>]+>", "", c)) for c in re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", rows)]
    assert cells[4:8] == ["1", "8", "confirmed", "nothing noted"]
    assert cells[8:11] == ["2", "8", "not right yet"] and cells[11].startswith("a, b: heel rises too high")
    assert cells[12:15] == ["3", "9", "stopped"]
    assert re.search(r"<li><b>a</b> heel rises too high", page.text) and "<li><b>b</b> trunk leans" in page.text


def test_what_was_looked_for_and_not_found_is_not_marked(house, tablet):
    desk = tablet.desk
    desk.walk("swing_flexion", findings=[{**RISE, "grade": "none"}])
    courses, key = with_findings(desk.view, {"swing_flexion": course_shown(desk.view, "swing_flexion")})
    assert key == () and not any(point.marks for point in courses["swing_flexion"].points)


def test_an_alignment_is_drawn_in_both_planes_as_the_tablet_draws_it(house, tablet):
    assert tablet.push().status_code == 200
    found = drawn(house.lead().open())
    view = tablet.desk.view
    for plane, title in (("side", "Standing alignment, from the side"), ("front", "Standing alignment, from the front")):
        head = view.head("alignment/static")
        scene = alignment_picture(view, head.kind, head.body, plane, PLANE.room).scene
        said = " ".join(words_in(found[title]))
        for shape in scene.shapes:
            if type(shape).__name__ == "Label":
                assert all(line in said for line in shape.text.split("\n"))
    assert "36\u00a0mm" in words_in(found["Standing alignment, from the side"])
    assert "Alignment after tightening, from the front" not in found, "it reads nothing there"


def test_what_was_measured_by_walk_and_each_step_of_a_timing_are_drawn_and_stand_in_a_table(house, tablet):
    desk = tablet.desk
    walk = desk.walk("swing_flexion", "change", marked_distance_m="10", marked_time_s="8", findings=[RISE])
    desk.note("walk_timing", timing(walk, "one", contacts(24, 0.1)))
    assert tablet.push().status_code == 200
    page = house.lead().open()
    found = drawn(page)
    assert "1.25" in words_in(found["Walking speed, by walk (m/s)"])
    assert "marked high" in words_in(found["Heel rise, by walk"])
    assert "prosthesis (left), mean 0.50 s" in words_in(found["Step times: Swing flexion trial, number 2"])
    said = words_of(page)
    assert re.search(r"Swing flexion trial 2 marked high 1\.25 \(stopwatch\); 0\.72 \(0\.71 to 0\.73\) -33 \(-48 to -18\)", said)
    assert "Step Side Lands at, s Step time, s Counted 1 sound side (right) 0.70 0.70 left out" in said


def test_outcome_measures_are_drawn_over_the_persons_fittings(house, tablet):
    desk = tablet.desk
    desk.fitting = Subject("fitting", "fitting-2")
    desk.note("opened", {**desk.view.record.head(Subject("fitting", "fitting-1"), "opened").body})
    desk.note("outcome_measures", {"timed_up_and_go_s": "6.3", "aid": "none"})
    assert tablet.push().status_code == 200
    page = house.lead().open("fitting-2")
    drawing = drawn(page)["Timed up and go, over time (s)"]
    assert {"9.9", "6.3", "lower is better; band: ± 3.6 s"} <= set(words_in(drawing))
    assert re.search(r"6\.3 s better since \d+ \w+ \d+ \(9\.9 s\): -3\.6 s", words_of(page))
