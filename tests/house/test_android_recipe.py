"""The Android package's recipe is whole: everything the tablet runs can run on Android."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import pytest
from packaging.requirements import Requirement

from mobile.bundling.android import stage
from tests.house import android


@pytest.fixture(scope="module")
def recipes():
    pytest.importorskip("pythonforandroid", reason="the Android build tool's package has no wheel here")
    return android.recipes()


def test_the_recipe_lists_all_that_the_tablet_app_needs_and_nothing_else(recipes):
    needed = set(android.needed())
    listed = set(android.listed()) - android.BY_THE_TOOL
    assert needed - listed == set(), "missing in buildozer.spec"
    brought = {name for part in needed if part in recipes for name in recipes[part].brings}
    assert listed - needed - brought == set(), "in buildozer.spec for nothing"


def test_each_pinned_version_is_one_the_app_itself_takes(recipes):
    needed = android.needed()
    for name, requirement in android.listed().items():
        pins = [s.version for s in requirement.specifier if s.operator == "=="]
        for asked in needed.get(name, ()) if pins else ():
            assert pins[0] in asked.specifier, f"{name}: {pins[0]} does not satisfy {asked}"


def without_a_way(requirements, recipes) -> list[str]:
    """The requirements that neither a recipe nor a wheel brings to Android."""
    python = android.python_version()
    left = [r for r in requirements if not android.has_recipe(r, recipes)]
    try:
        with ThreadPoolExecutor(8) as pool:
            wheels = list(pool.map(lambda r: android.wheel_for_android(r, python), left))
    except ConnectionError as error:
        pytest.skip(f"the package registry can't be asked: {str(error).strip()[-200:]}")
    return [str(r) for r, wheel in zip(left, wheels) if not wheel or not android.runs_on_android(wheel)]


def test_everything_the_tablet_runs_has_an_android_recipe_or_wheel(recipes):
    listed = [r for name, r in android.listed().items() if name not in android.BY_THE_TOOL]
    assert without_a_way(listed, recipes) == []
    assert android.BY_THE_TOOL <= set(recipes)


def test_a_requirement_that_is_compiled_and_has_no_recipe_would_be_found(recipes):
    # Rust and C libraries that a careless edit might bring in.
    planted = [Requirement("orjson"), Requirement("zstandard")]
    assert without_a_way(planted, recipes) == ["orjson", "zstandard"]


def test_a_recipe_too_old_for_the_app_does_not_count(recipes):
    assert not android.has_recipe(Requirement("sqlalchemy>=2.1"), recipes)
    assert android.has_recipe(Requirement("kivy==2.3.1"), recipes)


def test_the_staged_folder_starts_the_tablet_app_and_holds_every_kind_of_file(tmp_path):
    folder = stage(tmp_path)
    assert "mobile.main" in (folder / "main.py").read_text()
    taken = android.spec()["source.include_exts"].split(",")
    left = {
        path.suffix for path in folder.rglob("*")
        if path.is_file() and path.suffix[1:] not in taken and path.name != "buildozer.spec"
    }
    assert left - {""} == set(), "the build tool would leave these out"
