"""What an independent checker finds on a page that would keep somebody out: axe-core, run in the browser."""

from __future__ import annotations

from importlib.resources import files

#: How grave a finding may be without failing a test: nothing is.
_COUNTED = ("minor", "moderate", "serious", "critical")


def findings_on(page) -> list[str]:
    """Return what axe-core finds on the page as it stands, each rule with the first element it names.

    What it can't decide by itself (contrast of words inside drawings) is not in it.
    """
    page.evaluate(files("axe_playwright_python").joinpath("axe.min.js").read_text("utf-8"))
    found = page.evaluate("axe.run()")
    assert len(found["passes"]) > 20, "the checker looked at next to nothing"
    return [
        f"{v['impact']}: {v['help']}: {v['nodes'][0]['html'][:120]}"
        for v in found["violations"] if v["impact"] in _COUNTED
    ]
