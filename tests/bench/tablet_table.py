"""What bench_tablet.py measured as a table: each goal with its figure, and how it grows."""

from __future__ import annotations

#: The size that the goals are about.
STARTED_WITH = 2_000
#: What was wished for before anything was measured; ratios, and milliseconds a frame.
START, MEMORY, SAVE, FRAME_MS = 1.8, 1.8, 2.0, 50.0


def table(measured: dict) -> str:
    """Return the figures as they are to be read."""
    before, after = measured["load_before"][0], measured["load_after"][0]
    lines = [f"load of the machine {before:.1f} before, {after:.1f} after; took {measured['took_s']:.0f} s", ""]
    lines += [f"with {size} fittings: not measured, {why}" for size, why in measured["failed"].items()]
    lines += _goals(measured) + [""]
    lines.append(f"{'fittings':<47}" + "".join(f"{size:>10}" for size in measured["sizes"]))
    for words, value in _GROWTH:
        lines.append(f"{words:<47}" + "".join(f"{value(w):>10}" for w in measured["sizes"].values()))
    return "\n".join(lines)


def _goals(measured: dict) -> list[str]:
    lines = [f"{'goal':<60}{'figure':>12}   {'':<8}"]

    def goal(words: str, figure: float, most: float, unit: str = "") -> None:
        lines.append(f"{words:<60}{figure:>9.2f}{unit:<3}   {'held' if figure <= most else 'NOT HELD'}")

    start = measured.get("start")
    if start:
        goal(f"start at most {START} times a bare window's", start["start_s_ratio"], START)
        goal(f"memory at most {MEMORY} times a bare window's", start["memory_mib_ratio"], MEMORY)
    work = measured["sizes"].get(STARTED_WITH)
    if work:
        goal(f"tap to durable save at most {SAVE} times a bare commit", work["save_ratio"], SAVE)
        for name, words in (("scroll", "scrolling"), ("search", "searching"), ("open", "opening a fitting")):
            goal(f"no frame of ours over {FRAME_MS:.0f} ms, {words}", work[name]["worst_own_ms"], FRAME_MS, " ms")
    if start:
        lines.append(
            f"  start {start['app_start_s']:.2f} s beside {start['bare_start_s']:.2f} s, "
            f"memory {start['app_memory_mib']:.0f} MiB beside {start['bare_memory_mib']:.0f} MiB, "
            f"medians of {start['rounds']} by turns"
        )
    return lines


_GROWTH = [
    ("opening the store, s", lambda w: f"{w['open_store_s']:.2f}"),
    ("PIN to list, s", lambda w: f"{w['pin_to_list_s']:.2f}"),
    ("scrolling: worst frame, own / by the clock, ms", lambda w: _both(w["scroll"])),
    ("searching: worst frame, own / by the clock, ms", lambda w: _both(w["search"])),
    ("opening a fitting: first frame, own, median, ms", lambda w: f"{w['open_first_frame_ms']:.0f}"),
    ("opening a fitting: worst, own / by the clock, ms", lambda w: _both(w["open"])),
    ("opening a fitting: until whole, median, ms", lambda w: f"{w['open_whole_ms']:.0f}"),
    ("the first of all openings: worst frame, own, ms", lambda w: f"{w['open_very_first_ms']:.0f}"),
    ("in a quiet moment: garbage looked for, median, ms", lambda w: f"{w['quiet_search_ms']:.0f}"),
    ("in the first quiet moment, ms", lambda w: f"{w['settle_ms']:.0f}"),
    ("tap to durable save, median, ms", lambda w: f"{w['save']['median_ms']:.2f}"),
    ("  own work in it, ms", lambda w: f"{w['save_own_ms']:.2f}"),
    ("bare durable commit by turns, median, ms", lambda w: f"{w['bare_commit']['median_ms']:.2f}"),
    ("their ratio", lambda w: f"{w['save_ratio']:.2f}"),
    ("tap to 'saved' on the page, median, ms", lambda w: f"{w['said_saved']['median_ms']:.2f}"),
    ("memory with the list, MiB", lambda w: f"{w['memory_list_mib']:.0f}"),
    ("memory at the end, MiB", lambda w: f"{w['memory_end_mib']:.0f}"),
]


def _both(frames: dict) -> str:
    return f"{frames['worst_own_ms']:.0f} / {frames['worst_ms']:.0f}"
