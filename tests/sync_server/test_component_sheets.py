"""Component sheets on the review page: entered, checked, published, and never changed."""

from __future__ import annotations

import html
import re

import pytest

from shared_models.catalogue.sheets import sheet_troubles
from shared_models.entries.signatures import CHAIN_HEAD
from sync_server.services.staffing import demo_lead
from tests.fitting_desk import CLINIC
from tests.sync_server.conftest import hidden

KNEE = "demo-knee-alder"
PASSWORD = demo_lead()["password"]


@pytest.fixture
def lead(house):
    return house.lead()


def filled_form(lead) -> dict[str, str]:
    """What a browser would send of the form as it stands."""
    text = lead.client.get(f"/sheets/{KNEE}/enter").text
    form = {n: html.unescape(v) for n, v in re.findall(r'<input[^>]* name="([^"]+)" value="([^"]*)"', text)}
    for name, options in re.findall(r'<select[^>]* name="([^"]+)"[^>]*>(.*?)</select>', text, re.S):
        chosen = re.search(r'value="([^"]*)" selected', options)
        form[name] = chosen[1] if chosen else ""
    return {**form, "password": PASSWORD}


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
                        "screws": [{**old.body["screws"][0], "final_nm": "10.96"}, *old.body["screws"][1:]]}
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


@pytest.mark.parametrize("field, typed, said", [
    ("adjusters-1-largest_step", "40", "largest step is wider than its range; write 20 or less"),
    ("screws-0-final_nm", "11", "has no unit. Write it with one, like 11 N·m"),
    ("caps-0-over", "", "Say what the cap closes"),
    ("caps-0-over", "setting/none_such", "comes later or is not there"),
    ("mass_limit_kg", "heavy", "is not a figure"),
    ("version", "1.2", "stands already and never changes"),
    ("mass_limit_kg", "0", "must be above 0 kg"),
])
def test_a_sheet_that_contradicts_itself_is_refused_beside_the_field_with_what_was_typed_kept(house, lead, field, typed, said):
    answer = send(lead, **{field: typed, "maker": "Typed by hand"})
    assert answer.status_code == 422
    text = html.unescape(answer.text)
    place = field.rpartition("-")[0] if "comes later" in said else field
    beside = re.search(rf'id="wrong-{place}">([^<]*)<', text)
    assert beside and said in beside[1], re.findall(r'id="wrong-[^<]*<', text)
    assert 'value="Typed by hand"' in text and (not typed or f'name="{field}" value="{typed}"' in text)
    assert PASSWORD not in answer.text
    assert len(versions(house)) == 1, "nothing half done"


def test_two_who_publish_at_once_do_not_overwrite_each_other(house, lead):
    first = {**filled_form(lead), "version": "1.3"}
    second = {**first, "version": "1.4", "maker": "The second one"}
    assert lead.client.post(f"/sheets/{KNEE}/enter", data=first).status_code == 303
    answer = lead.client.post(f"/sheets/{KNEE}/enter", data=second)
    assert answer.status_code == 409 and 'value="The second one"' in answer.text and len(versions(house)) == 2


def test_nothing_is_published_with_a_wrong_password_or_by_another_sites_form(house, lead):
    assert send(lead, password="not the password, no").status_code == 403
    assert send(lead, csrf="guessed").status_code == 403
    assert hidden(lead.client.get("/fittings"), "csrf")
    assert lead.client.get("/sheets/none-such").status_code == 404 and len(versions(house)) == 1
