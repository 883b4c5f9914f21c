"""What a tablet called saved is there after the program was killed."""

import random
import signal
import subprocess
import sys
import time

import pytest
from sqlalchemy import text

from tests.shared_models.making import CLINIC, opened, tablet_store

WRITER = """
import sys
from pathlib import Path
from tests.shared_models.making import Chain, tablet_store
store = tablet_store(Path(sys.argv[1]))
chain = Chain("tablet-a")
chain.entries = store.chain("clinic-north", "tablet-a")
print("ready", flush=True)
while True:
    place = f"fitting/f-1/{len(chain.entries)}"
    store.keep_draft(place, {"text": f"typed {len(chain.entries)}"})
    print("draft", place, flush=True)
    if len(chain.entries) % 2:
        store.append(chain.add(), [chain.head()], fulfils_draft=place)
        print("fulfilled", place, flush=True)
    else:
        store.append(chain.add(), [chain.head()])
    print("saved", chain.end[1], flush=True)
"""


def killed_writer(folder, lines: int, pause: float) -> list[list[str]]:
    """Run a writer, kill it some lines and a moment later; return what it said."""
    child = subprocess.Popen(
        [sys.executable, "-c", WRITER, str(folder)], stdout=subprocess.PIPE, text=True
    )
    said = [child.stdout.readline() for _ in range(lines)]
    time.sleep(pause)
    child.send_signal(signal.SIGKILL)
    rest = child.stdout.read().splitlines(keepends=True)
    child.wait()
    assert child.returncode == -signal.SIGKILL
    return [line.split() for line in (*said, *rest) if line.endswith("\n")]


@pytest.mark.parametrize("seed", [11, 47])
def test_nothing_acknowledged_is_lost_when_the_tablet_is_killed(tmp_path, seed):
    chance = random.Random(seed)
    saved: set[str] = set()
    drafts: dict[str, bool] = {}
    for _ in range(4):
        said = killed_writer(tmp_path, chance.randint(2, 40), chance.random() / 50)
        saved |= {line[1] for line in said if line[0] == "saved"}
        for word, *place in said:
            if word in ("draft", "fulfilled"):
                drafts[place[0]] = word == "draft"
        last = [line[1] for line in said if line[0] == "draft"][-1:]
        store = tablet_store(tmp_path)
        kept = {entry.digest for entry in store.entries()}
        assert saved <= kept
        assert {found.signs for found in store.signatures()} == kept
        for place, open_ in drafts.items():
            if not open_:
                assert store.draft(place) is None
            elif place not in last:  # the last one may just have been fulfilled
                assert store.draft(place) is not None
        for place in last:
            drafts[place] = store.draft(place) is not None
        with opened(store).reading() as connection:
            assert connection.scalar(text("PRAGMA integrity_check")) == "ok"
        assert store.chain_end(CLINIC, "tablet-a")[0] == len(kept)
        opened(store).close()
    assert len(saved) > 10
