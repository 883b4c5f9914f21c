"""A new component from the maker's paper to the tablet: typed on a page without scripts, and over plain HTTP."""

from __future__ import annotations

import pytest

from shared_models.entries.envelope import Subject
from shared_models.entries.signatures import CHAIN_HEAD
from sync_server.services.staffing import demo_lead
from tests.fitting_desk import CLINIC
from tests.sync_server.form_as_shown import form_as_shown
from tests.sync_server.looked_over import findings_on
from tests.sync_server.test_in_a_browser import address, browser, log_in, picture, watched  # noqa: F401

PASSWORD = demo_lead()["password"]


@pytest.fixture
def lead(house):
    return house.lead()


class Paper:
    """The form of a new component at a lead's browser, row by row."""

    def __init__(self, lead, part: str) -> None:
        self.lead, self.path = lead, f"/new-sheet?part={part}"
        self.form = form_as_shown(lead.client.get(self.path).text, self.path)

    def press(self, button: str, value: str = "yes"):
        answer = self.lead.client.post(self.path, data={**self.form, button: value})
        if answer.status_code != 303:
            self.form = form_as_shown(answer.text, self.path)
        return answer

    def write(self, **typed: str) -> "Paper":
        self.form |= {name.replace("__", "-"): value for name, value in typed.items()}
        return self

    def publish(self):
        return self.lead.client.post(self.path, data={**self.form, "password": PASSWORD})


def sheets(house) -> dict[str, list[dict]]:
    with house.station.reading(CLINIC) as reading:
        found: dict[str, list[dict]] = {}
        for entry in sorted(reading.sheets(), key=lambda e: e.order):
            found.setdefault(entry.subject.id, []).append(dict(entry.body))
        return found


LIMITS = {"maker": "Invented", "version": "2026-03", "mass_limit_kg": "250 lb", "mass_basis": "with_carried_load",
          "lowest_level": "2", "highest_level": "3"}
OF_PART = {
    "socket": {"build__reference_mm": "251"}, "upper_adapter": {"build__height_mm": "31"}, "knee": {"build__below_centre_mm": "170"},
    "tube": {"build__shortest_mm": "80", "build__longest_mm": "300"}, "foot": {"build__height_mm": "66"},
}


@pytest.mark.parametrize("part", OF_PART)
def test_a_sheet_of_every_place_in_the_leg_is_begun_from_a_paper_and_offered_by_a_tablet(house, tablet, lead, part):
    paper = Paper(lead, part).write(name=f"Thistle {part} (invented)", device_identifier="5 1022222 233336", **LIMITS, **OF_PART[part])
    paper.write(screws__0__name="Clamp screw", screws__0__interim_nm="44 lbf·in", screws__0__final_nm="8 N·m",
                screws__0__tolerance_percent="6", screws__0__locking_method="none", service__months="24")
    assert paper.publish().status_code == 303
    new = next(bodies[0] for bodies in sheets(house).values() if bodies[0]["name"].startswith("Thistle"))
    assert (new["part"], new["mass_limit_kg"], new["as_typed"]) == (part, "113.4", {"mass_limit_kg": "250 lb"})
    assert new["device_identifier"] == "51022222233336" and new["service"] == {"months": "24"}
    assert new["screws"] == [{"name": "Clamp screw", "key": "clamp_screw", "interim_nm": "4.97", "final_nm": "8",
                              "tolerance_percent": "6", "locking_method": "none", "as_typed": {"interim_nm": "44 lbf·in"}}]
    tablet.take_all()
    head = tablet.desk.record.head(Subject("component_sheet", new["sheet"]), "sheet")
    assert head is not None and dict(head.body) == new
    component = tablet.desk.component(part, head)
    assert tablet.desk.view.sheet_of(component).name == new["name"], "the tablet fits by it"


def test_rows_are_added_taken_out_and_moved_and_what_was_typed_stays(house, lead):
    paper = Paper(lead, "knee").write(name="Reed knee (invented)", maker="Invented", adjusters__0__name="Valve")
    for sort in ("screws", "caps", "caps", "adapters", "outlines"):
        assert paper.press("add", sort).status_code == 200
    paper.write(screws__0__name="Inner", screws__1__name="Outer", caps__0__name="Cover", caps__1__name="Plug",
                **{"caps__0__over__caps-1": "yes", "caps__1__over__adjusters-0": "yes", "caps__0__over__screws-1": "yes"})
    paper.press("up", "caps-1")
    assert (paper.form["caps-0-name"], paper.form["caps-1-name"]) == ("Plug", "Cover")
    assert paper.form["caps-1-over-caps-0"] == paper.form["caps-0-over-adjusters-0"] == "yes"
    paper.press("drop", "screws-0")
    assert "screws-0-name" not in paper.form and paper.form["screws-1-name"] == "Outer"
    assert paper.form["caps-1-over-screws-1"] == "yes" and paper.form["maker"] == "Invented"
    answer = paper.press("check")
    assert answer.status_code == 422 and "Nothing is written here" in answer.text and paper.form["name"] == "Reed knee (invented)"
    assert all(not s.startswith("reed") for s in sheets(house)), "nothing is kept before it is published"


def test_the_same_component_is_begun_once_and_the_second_lead_keeps_what_they_typed(house, lead):
    second = house.lead()
    papers = [Paper(who, "foot").write(name="Fern foot (invented)", **LIMITS) for who in (lead, second)]
    papers[1].write(name="fern  FOOT (invented)", mass_limit_kg="120")
    assert papers[0].publish().status_code == 303
    answer = papers[1].publish()
    assert answer.status_code == 422 and "A sheet of Fern foot (invented) is here already, in version 2026-03" in answer.text
    assert form_as_shown(answer.text, papers[1].path)["mass_limit_kg"] == "120"
    assert sum(bodies[0]["name"].lower().startswith("fern") for bodies in sheets(house).values()) == 1


def test_a_new_component_goes_nowhere_by_another_sites_form_or_to_a_place_that_no_leg_has(house, lead):
    before = sheets(house)
    paper = Paper(lead, "foot").write(name="Fern foot (invented)", csrf="guessed", **LIMITS)
    assert paper.publish().status_code == 403
    assert lead.client.get("/new-sheet?part=liner").status_code == 404
    assert lead.client.post("/new-sheet?part=liner", data=paper.form).status_code == 404
    assert sheets(house) == before


def test_a_published_component_bears_the_leads_signature(house, tablet, lead):
    assert Paper(lead, "foot").write(name="Fern foot (invented)", **LIMITS).publish().status_code == 303
    pulled = tablet.take_all()
    new = next(e for e in tablet.desk.record.entries.values() if e.body.get("name") == "Fern foot (invented)")
    assert {s.meaning for s in pulled.signatures if s.signs == new.digest} == {CHAIN_HEAD, "publishes"}


@pytest.mark.browser
@pytest.mark.parametrize("across", [1280, 390])
def test_a_knee_is_entered_from_its_paper_on_a_page_without_scripts(house, tablet, address, browser, across):  # noqa: F811
    page, complaints = watched(browser)
    log_in(page, address)
    page.set_viewport_size({"width": across, "height": 900})
    page.goto(f"{address}/sheets")
    page.get_by_role("link", name="Begin a sheet for a new component").click()
    looked(page, across, "new-places")
    page.get_by_role("link", name="Knee", exact=True).click()
    looked(page, across, "new-empty")
    fill(page, {"name": "Reed knee (invented)", "maker": "Invented", "version": "A", "mass_limit_kg": "260",
                "lowest_level": "3", "highest_level": "2", "adjusters-0-name": "Flexion valve", "adjusters-0-unit": "marks",
                "adjusters-0-lowest": "0", "adjusters-0-highest": "12", "adjusters-0-start": "4",
                "adjusters-0-smallest_step": "1", "adjusters-0-largest_step": "20", "screws-0-name": "Top screw",
                "screws-0-interim_nm": "6", "screws-0-final_nm": "97 N·m", "screws-0-tolerance_percent": "5"})
    page.select_option("#mass_basis", "bare")
    page.select_option("#adjusters-0-function", "swing_flexion")
    page.select_option("#adjusters-0-clockwise", "more")
    page.select_option("#screws-0-locking_method", "none")
    page.get_by_role("button", name="Add a cap").click()
    assert page.url.endswith("#caps-0") and page.locator("#name").input_value() == "Reed knee (invented)"
    page.locator("#caps-0-name").fill("Plug")
    page.locator("summary").click()
    page.get_by_role("button", name="Add an outline").click()
    page.locator("#outlines-0-corners_mm").fill("-24 28\n24 28\n20 -160\n-20 -160")
    page.select_option("#outlines-0-view", "front")
    page.get_by_role("button", name="Add a place").click()
    page.select_option("#places-0-of", "screws-0")
    page.select_option("#places-0-view", "front")
    fill(page, {"places-0-x_mm": "0", "places-0-y_mm": "14"})
    page.get_by_role("button", name="Check").last.click()
    said = {"mass_limit_kg": "260 lb", "lowest_level": "Change them over", "adjusters-0-largest_step": "Write 12 or less",
            "screws-0-interim_nm": "has no unit", "screws-0-final_nm": "97 lbf·in", "caps-0-over": "what the cap closes"}
    for field, words in said.items():
        assert words in page.locator(f"#wrong-{field}").inner_text(), field
    looked(page, across, "new-refused")
    fill(page, {"mass_limit_kg": "260 lb", "lowest_level": "2", "highest_level": "3", "adjusters-0-largest_step": "3",
                "screws-0-interim_nm": "6 N·m", "screws-0-final_nm": "97 lbf·in"})
    page.get_by_label("Adjuster 1: Flexion valve").check()
    page.get_by_role("button", name="Check").last.click()
    page.get_by_text("Nothing contradicts itself").wait_for()
    assert page.locator("svg.scene").count() == 1, "the drawing is shown before it is published"
    looked(page, across, "new-sound")
    page.locator("#password").fill(PASSWORD)
    page.locator("#password").press("Enter")
    page.get_by_role("heading", name="Who used which version").wait_for()
    looked(page, across, "new-published")
    body = next(bodies[-1] for bodies in sheets(house).values() if bodies[-1]["name"] == "Reed knee (invented)")
    assert (body["mass_limit_kg"], body["screws"][0]["final_nm"]) == ("117.9", "10.96")
    assert body["screws"][0]["as_typed"] == {"final_nm": "97 lbf·in"} and body["caps"][0]["over"] == ["setting/swing_flexion"]
    assert complaints == [] or all("422" in one for one in complaints)


def fill(page, typed: dict[str, str]) -> None:
    for field, text in typed.items():
        page.locator(f"#{field}").fill(text)


def looked(page, across: int, name: str) -> None:
    assert findings_on(page) == [], name
    picture(page, f"{name}-{across}")
    page.set_viewport_size({"width": across, "height": 900})
