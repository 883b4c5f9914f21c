"""Component sheets on the review page: entered, checked, published, and never changed."""

from __future__ import annotations

import html
import re
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import httpx
import pytest

from shared_models.catalogue.sheet_troubles import sheet_troubles
from shared_models.catalogue.sheets import demo_sheet
from shared_models.entries.envelope import Subject
from shared_models.entries.signatures import CHAIN_HEAD
from sync_server.services.staffing import demo_lead
from tests.fitting_desk import CLINIC, LEAD
from tests.sync_server.conftest import Lead, hidden
from tests.sync_server.form_as_shown import form_as_shown
from tests.sync_server.test_in_a_browser import address  # noqa: F401

KNEE = "demo-knee-alder"
PASSWORD = demo_lead()["password"]


@pytest.fixture
def lead(house):
    return house.lead()


def filled_form(lead, sheet: str = KNEE) -> dict[str, str]:
    """What a browser would send of the form as it stands."""
    path = f"/sheets/{sheet}/enter"
    return {**form_as_shown(lead.client.get(path).text, path), "password": PASSWORD}


def send(lead, **changed: str):
    form = {**filled_form(lead), "version": "1.3", **{k.replace("__", "-"): v for k, v in changed.items()}}
    return lead.client.post(f"/sheets/{KNEE}/enter", data=form)


def versions(house):
    with house.station.reading(CLINIC) as reading:
        return sorted((e for e in reading.of_kinds("component_sheet") if e.subject.id == KNEE), key=lambda e: e.order)


def test_a_published_version_is_signed_and_reaches_a_tablet_at_its_next_sync(house, tablet, lead):
    before = versions(house)[0]
    tablet.take_all()
    answer = send(lead, mass_limit_kg="112", screws__0__final_nm="97 lbf·in")
    assert answer.status_code == 303, answer.text
    old, new = versions(house)
    assert old.digest == before.digest and old.body == before.body, "a version never changes"
    assert new.body == {**old.body, "version": "1.3", "mass_limit_kg": "112",
                        "screws": [{**old.body["screws"][0], "final_nm": "10.96", "as_typed": {"final_nm": "97 lbf·in"}}, *old.body["screws"][1:]]}
    assert sheet_troubles(new.body) == []
    pulled = tablet.take_all()
    assert new.digest in tablet.desk.record.entries, "the tablet has it"
    assert {s.meaning for s in pulled.signatures if s.signs == new.digest} == {CHAIN_HEAD, "publishes"}
    page = lead.client.get(f"/sheets/{KNEE}").text
    assert re.search(r"<span>112 <strong>changed</strong>", page) and "<span>118</span>" in page
    assert ("publish sheet", "published") in {(r.what, r.outcome) for r in house.audit(CLINIC)}


def test_a_fitting_is_listed_under_the_version_that_it_used(house, tablet, lead):
    assert tablet.push().status_code == 200
    assert send(lead).status_code == 303
    page = lead.client.get(f"/sheets/{KNEE}").text
    newest, older = page.split("<h3>Version 1.3")[1].split("<h3>Version 1.2")
    assert "No fitting has used it" in newest and "/fittings/fitting-1" in older.split("</section>")[0]
    assert page.count("<h3>Version 1.2") == 1, "the same sheet from tablet and server is one version"


WRONGS = {
    "a step wider than the range": ("adjusters-1-largest_step", "40", "wider than the range. Write 20 or less"),
    "a torque without unit": ("screws-0-final_nm", "11", "has no unit. Write it with one, like 11 N·m"),
    "a torque in no unit of torque": ("screws-0-final_nm", "11 kg", "is not a torque"),
    # 1 lbf·in is 0.1129848 N·m (NIST Special Publication 811, 2008, appendix B.8).
    "N·m where lbf·in were meant": ("screws-0-final_nm", "97 N·m", "If it is 97 lbf·in, write that: it is 10.96 N·m"),
    "lbf·in where N·m were meant": ("screws-0-interim_nm", "6 lbf·in", "0.7 N·m is less than"),
    "pounds where kilograms were meant": ("mass_limit_kg", "260", "If it is 260 lb, write 260 lb: that is 117.9 kg"),
    "a cap without place": ("caps-0-over-adjusters-1", "", "Nothing is said of what the cap closes"),
    "a cap over a place that is not there": ("caps-0-over-setting/none_such", "yes", "not on this sheet"),
    "a cap over one that comes later": ("caps-0-over-caps-2", "yes", "goes on later"),
    "a range with its ends swapped": ("adjusters-1-lowest", "30", "Change them over if the range is 20 to 30"),
    "a start outside the range": ("adjusters-1-start", "21", "Write a position from 0 to 20"),
    "steps swapped": ("adjusters-1-smallest_step", "4", "The smallest step 4 is wider than the largest 3"),
    "two adjusters of one name": ("adjusters-1-name", "threshold  SCREW", "Another one is called threshold  SCREW already"),
    "two screws of one name": ("screws-1-name", "Top screw, front", "tells them apart"),
    "two adjusters of one function": ("adjusters-1-function", "stance_threshold", "Another adjuster sets this already"),
    "a service of no months": ("service-months", "0", "0 is no interval"),
    "a service of half a step": ("service-steps", "0.5", "is not a whole number"),
    "a level off the scale": ("highest_level", "5", "run from 0 to 4"),
    "a mass limit that is no figure": ("mass_limit_kg", "heavy", "is not a mass"),
    "a mass limit of nothing": ("mass_limit_kg", "0", "above 0 kg"),
    "a version that stands": ("version", "1.2", "stands already and never changes"),
    "an adapter beyond any tilt": ("adapters-0-tilt_limit_deg", "80", "from 0 to 45 degrees"),
    "two adapters of one name": ("adapters-1-name", "Alder lower joint", "Another adapter is called"),
    "a height beyond any leg": ("build-below_centre_mm", "1860", "from 0 to 1000 mm"),
    # FDA, UDI formats by issuing agency (2017): 51022222233336.
    "an identifier with a wrong digit": ("device_identifier", "51022222233337", "it would be 6"),
    "an identifier cut short": ("device_identifier", "5102222223", "here are 10"),
    "a place outside the drawing": ("places-0-x_mm", "90", "outside of what is drawn"),
    "an outline of two corners": ("outlines-0-corners_mm", "0 0\n5 5", "at least 3 different corners"),
    "a corner of one figure": ("outlines-0-corners_mm", "0 0\n5\n5 5", "is no corner"),
    "a place of nothing": ("places-0-of", "", "Nothing is written here"),
    "a compound that cures before it sets": ("screws-0-locking_sets_min", "40", "sets first"),
    "a text without end": ("maker", "m" * 401, "too long"),
}


@pytest.mark.parametrize("case", WRONGS)
def test_a_sheet_that_contradicts_itself_is_refused_beside_the_field_with_what_was_typed_kept(house, lead, case):
    field, typed, said = WRONGS[case]
    answer = send(lead, **{"maker": "Typed by hand", field: typed})
    assert answer.status_code == 422
    text = html.unescape(answer.text)
    place = re.sub(r"-over-.*", "-over", field)
    beside = re.search(rf'id="wrong-{re.escape(place)}">([^<]*)<', text)
    assert beside and said in beside[1], re.findall(r'id="wrong-[^<]*<', text)
    assert f'href="#{place}"' in text, "told at the top too, with the way there"
    kept = form_as_shown(answer.text, f"/sheets/{KNEE}/enter")
    assert kept["maker"] == ("Typed by hand" if field != "maker" else typed) and kept.get(field, "") == typed
    assert PASSWORD not in answer.text
    assert len(versions(house)) == 1, "nothing half done"


def test_levels_the_wrong_way_round_are_refused_with_the_right_way(house, lead):
    answer = send(lead, lowest_level="4", highest_level="2")
    assert "Change them over if the instructions say 2 to 4" in answer.text and answer.status_code == 422


def test_a_torque_beyond_the_usual_is_taken_once_it_was_compared_again_and_asked_anew_when_it_changes(house, lead):
    asked = send(lead, screws__0__final_nm="70 N·m")
    form = form_as_shown(asked.text, f"/sheets/{KNEE}/enter")
    assert "screws-0-final_nm-again" not in form and 'id="screws-0-final_nm-again"' in asked.text
    changed = {**form, "password": PASSWORD, "screws-0-final_nm-again": "70 N·m", "screws-0-final_nm": "700 N·m"}
    assert lead.client.post(f"/sheets/{KNEE}/enter", data=changed).status_code == 422
    answer = lead.client.post(f"/sheets/{KNEE}/enter", data={**changed, "screws-0-final_nm": "70 N·m"})
    assert answer.status_code == 303, answer.text
    screw = versions(house)[-1].body["screws"][0]
    assert (screw["final_nm"], screw["compared_again"]) == ("70", {"final_nm": "70"})
    assert send(lead, version="1.4").status_code == 303, "not asked again while the figure stays"


def test_adapters_build_heights_cautions_and_the_drawing_change_in_a_new_version_and_the_rest_stays(house, lead):
    old = versions(house)[0].body
    answer = send(lead, adapters__0__tilt_limit_deg="6", build__below_centre_mm="190", cautions="One.\n\n Two. ",
                  places__0__y_mm="16", circles__0__radius_mm="9", **{"service-steps": ""})
    assert answer.status_code == 303, answer.text
    drawing = {**old["drawing"], "circles": [{**old["drawing"]["circles"][0], "radius_mm": "9"}],
               "places": [{**old["drawing"]["places"][0], "y_mm": "16"}, *old["drawing"]["places"][1:]]}
    assert versions(house)[-1].body == {
        **old, "version": "1.3", "cautions": ["One.", "Two."], "drawing": drawing, "service": {"months": "24"},
        "build": {**old["build"], "below_centre_mm": "190"},
        "adapters": [{**old["adapters"][0], "tilt_limit_deg": "6"}, *old["adapters"][1:]]}


def test_of_two_leads_who_publish_at_once_one_is_told_what_the_other_changed_and_loses_nothing(house, address):  # noqa: F811
    """Two log-ins over real HTTP, both pressing at the same moment."""
    with ThreadPoolExecutor(2) as both, httpx.Client(base_url=address) as one, httpx.Client(base_url=address) as other:
        leads = [Lead(one), Lead(other)]
        for lead in leads:
            assert lead.log_in(demo_lead()["login"], PASSWORD).status_code == 303
        forms = [{**filled_form(leads[0]), "version": "1.3", "mass_limit_kg": "111", "maker": "The first"},
                 {**filled_form(leads[1]), "version": "1.4", "mass_limit_kg": "109", "maker": "The second"}]
        together = Barrier(2)

        def press(number: int):
            together.wait()
            return leads[number].client.post(f"/sheets/{KNEE}/enter", data=forms[number])

        answers = list(both.map(press, range(2)))
        assert sorted(a.status_code for a in answers) == [303, 409]
        late = next(n for n, a in enumerate(answers) if a.status_code == 409)
        assert len(versions(house)) == 2 and versions(house)[-1].body["maker"] == forms[1 - late]["maker"]
        text = html.unescape(answers[late].text)
        told = text.split('role="alert"')[1].split("</div>")[0]
        assert f"118 → <b>{forms[1 - late]['mass_limit_kg']}</b>" in told and forms[1 - late]["version"] in told
        kept = form_as_shown(answers[late].text, f"/sheets/{KNEE}/enter")
        typed = {k: v for k, v in forms[late].items() if k not in ("password", "begun_from", "csrf")}
        assert {k: kept.get(k) for k in typed} == typed, "nothing that was typed is lost"
        again = leads[late].client.post(f"/sheets/{KNEE}/enter", data={**kept, "password": PASSWORD})
        assert again.status_code == 303 and [v.body["mass_limit_kg"] for v in versions(house)] == [
            "118", forms[1 - late]["mass_limit_kg"], forms[late]["mass_limit_kg"]]


def test_two_versions_that_tablets_named_alike_are_told_apart_by_their_digest(house, tablet, lead):
    assert tablet.push().status_code == 200
    subject = Subject("component_sheet", KNEE)
    body = {**versions(house)[0].body, "mass_limit_kg": "100"}
    newer = tablet.desk.note("component_sheet", body, by=LEAD, subject=subject, settles=True)
    tablet.desk.component("knee", newer, serial="K-9")
    assert tablet.push().status_code == 200
    page = lead.client.get(f"/sheets/{KNEE}").text
    newest, older = page.split("<h3>Version 1.2")[1:3]
    assert "Another version bears the same name" in newest and newer.digest[:12] in newest
    assert newest.count("/fittings/fitting-1") == 1
    assert "exchanged since" in older.split("</section>")[0] and "exchanged since" not in newest


def test_a_sheet_that_came_by_sync_and_contradicts_itself_is_kept_and_the_page_says_why_it_is_not_offered(house, tablet, lead):
    subject = Subject("component_sheet", KNEE)
    caps = [{**demo_sheet("knee_alder")["caps"][0], "over": []}]
    tablet.desk.note("component_sheet", {**demo_sheet("knee_alder"), "version": "7", "caps": caps}, by=LEAD, subject=subject)
    assert tablet.push().status_code == 200
    page = html.unescape(lead.client.get(f"/sheets/{KNEE}").text)
    assert "Cap 1 (Cap of the flexion valve), Closes: Nothing is said of what the cap closes" in page
    assert "not offered on tablets" in lead.client.get("/sheets").text


def test_nothing_is_published_with_a_wrong_password_or_by_another_sites_form(house, lead):
    assert send(lead, password="not the password, no").status_code == 403
    assert send(lead, csrf="guessed").status_code == 403
    assert hidden(lead.client.get("/fittings"), "csrf")
    assert lead.client.get("/sheets/none-such").status_code == 404 and len(versions(house)) == 1
