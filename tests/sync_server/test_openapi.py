"""Everything that the server's own OpenAPI document allows, and what it doesn't: no fault.

The usual run asks a little of every operation; ``STANCEBOOK_EXAMPLES=500``
before pytest asks as much as that of each.
"""

from __future__ import annotations

import gzip
import json
import os

import pytest
from hypothesis import HealthCheck, Phase, given, settings

from sync_server.main import main
from sync_server.routes.described import describe
from tests.fitting_desk import CLINIC
from tests.sync_server.conftest import hidden

schemathesis = pytest.importorskip("schemathesis", reason="schemathesis is not installed")
EXAMPLES = int(os.environ.get("STANCEBOOK_EXAMPLES", "4"))
_KNOWN = {"clinic": CLINIC, "fitting": "fitting-1"}


@pytest.fixture
def asked(house, tablet):
    """Sends a case as somebody who may, and returns the answer."""
    assert tablet.push().status_code == 200
    lead, count = house.lead(), [0]

    def ask(case):
        nonlocal lead
        count[0] += 1
        path = case.path
        for name, value in (case.path_parameters or {}).items():
            known = _KNOWN.get(name) if count[0] % 2 else None
            path = path.replace("{" + name + "}", known or str(value) or "x")
        for_tablets = path.startswith("/exchange/")
        sent = {"params": {n: str(v) for n, v in (case.query or {}).items()}}
        if for_tablets:
            sent |= {"headers": tablet.headers, "content": body_of(case, packed=count[0] % 3 > 0)}
        elif isinstance(case.body, dict):
            form = {str(n): str(v) for n, v in case.body.items()}
            if count[0] % 2:
                form["csrf"] = hidden(lead.client.get("/fittings"), "csrf")
            sent["data"] = {n: v.encode("utf-8", "replace").decode() for n, v in form.items()}
        elif isinstance(case.body, bytes):
            sent["content"] = case.body
        answer = (tablet.client if for_tablets else lead.client).request(case.method, path, **sent)
        if "/log-in" in answer.headers.get("location", ""):
            lead = house.lead()  # it logged itself out
        return answer

    return ask


def body_of(case, packed: bool) -> bytes | None:
    if isinstance(case.body, bytes):
        return case.body
    if isinstance(case.body, (dict, list, str, int, float, bool)):
        data = json.dumps(case.body).encode()
        return gzip.compress(data, mtime=0) if packed else data
    return None


def operations(house) -> list:
    schema = schemathesis.openapi.from_dict(describe(house.app))
    return [found.ok() for found in schema.get_all_operations()]


def test_no_operation_stumbles_over_what_its_description_allows(house, asked):
    seen: dict[str, set[int]] = {}
    for operation in operations(house):
        documented = {int(code) for code in operation.definition.raw["responses"]}

        @given(case=operation.as_strategy())
        @settings(max_examples=EXAMPLES, deadline=None, derandomize=True, database=None,
                  suppress_health_check=list(HealthCheck), phases=[Phase.generate])
        def ask(case) -> None:
            answer = asked(case)
            seen.setdefault(operation.label, set()).add(answer.status_code)
            assert answer.status_code in documented, (operation.label, answer.status_code, answer.text[:300])
            if case.path.startswith("/exchange/") and answer.status_code >= 400 and answer.content:
                assert {"code", "format"} <= set(answer.json())

        ask()
    assert len(seen) == len(operations(house)) >= 12
    assert any(200 in codes for codes in seen.values())


def test_the_document_names_every_route_and_its_refusals(house, capsys):
    document = describe(house.app)
    for path, found in document["paths"].items():
        for method, operation in found.items():
            assert {"400", "401", "403", "404", "503"} <= set(operation["responses"])
            assert ("requestBody" in operation) == (method in ("post", "put", "patch")), (method, path)
    assert "/exchange/{clinic}/entries" in document["paths"]
    assert main(["--openapi"]) == 0
    assert json.loads(capsys.readouterr().out)["paths"].keys() == document["paths"].keys()


def test_the_document_itself_is_not_served(house):
    for path in ("/openapi.json", "/docs", "/redoc"):
        assert house.client().get(path).status_code == 404
