"""Read tables of the server: kept from the fold, rebuilt from entries alone.

NULL means not recorded.  A disputed place has one row for each head, which is
why the digest of the entry belongs to the key.
"""

from __future__ import annotations

from sqlalchemy import Boolean, Column, Index, String, Table

from shared_models.ledger.columns import (
    ON_SERVER,
    count,
    digest,
    identifier,
    key,
    metadata,
    moment,
    text,
)

read_person = Table(
    "read_person", metadata,
    key("clinic"),
    key("person"),
    text("name"),
    text("born_on"),
    text("identifier"),
    text("telephone"),
    text("side"),
    text("level"),
    text("functional_level"),
    text("body_mass_kg"),
    text("carried_load_kg"),
    Index("read_person_identifier", "clinic", "identifier"),
    info=ON_SERVER,
)

read_fitting = Table(
    "read_fitting", metadata,
    key("clinic"),
    key("fitting"),
    identifier("person"),
    text("side"),
    identifier("edition"),
    text("prosthetist"),
    text("technician"),
    moment("started_at"),
    moment("last_entry_at"),
    text("review_due_on"),
    count("entries"),
    Index("read_fitting_person", "clinic", "person"),
    info=ON_SERVER,
)

read_component = Table(
    "read_component", metadata,
    key("clinic"),
    key("fitting"),
    key("place"),
    digest("digest", primary_key=True),
    identifier("person"),
    text("sheet"),
    text("sheet_version"),
    text("serial"),
    text("lot"),
    text("device_identifier"),
    # False for a part that was built in once and has been exchanged since.
    Column("built_in", Boolean, nullable=False),
    moment("happened_at"),
    Index("read_component_serial", "clinic", "serial"),
    Index("read_component_lot", "clinic", "lot"),
    Index("read_component_sheet", "clinic", "sheet"),
    Index("read_component_device_identifier", "clinic", "device_identifier"),
    info=ON_SERVER,
)

read_setting = Table(
    "read_setting", metadata,
    key("clinic"),
    key("fitting"),
    key("adjuster"),
    digest("digest", primary_key=True),
    text("position"),
    text("unit"),
    moment("happened_at"),
    identifier("recorded_by"),
    info=ON_SERVER,
)

read_torque = Table(
    "read_torque", metadata,
    key("clinic"),
    key("fitting"),
    key("screw"),
    key("stage"),
    digest("digest", primary_key=True),
    text("figure_nm"),
    text("reading_nm"),
    text("wrench"),
    text("calibrated_on"),
    text("locking"),
    moment("happened_at"),
    identifier("recorded_by"),
    info=ON_SERVER,
)

#: The lead clinician's list.  ``since`` and ``disputed_since`` are in UTC, to be sorted by;
#: ``review_awaited_on`` is a planned day to which the person has not come yet;
#: ``event_open_since`` the day of the oldest fall, pain or fault that nobody has closed.
read_standing = Table(
    "read_standing", metadata,
    key("clinic"),
    key("fitting"),
    identifier("person"),
    identifier("standing"),
    moment("since"),
    count("disputed"),
    moment("disputed_since", nullable=True),
    Column("review_awaited_on", String(10), nullable=True),
    text("prosthetist"),
    identifier("state"),
    identifier("review"),
    Column("changed", Boolean, nullable=False),
    count("missing"),
    count("open_events"),
    count("serious_events"),
    Column("event_open_since", String(10), nullable=True),
    Index("read_standing_events", "clinic", "event_open_since", "fitting"),
    Index("read_standing_since", "clinic", "standing", "since", "fitting"),
    Index("read_standing_disputed", "clinic", "disputed_since", "fitting"),
    Index("read_standing_awaited", "clinic", "review_awaited_on", "fitting"),
    Index("read_standing_prosthetist", "clinic", "prosthetist"),
    Index("read_standing_person", "clinic", "person"),
    info=ON_SERVER,
)

#: Of which members of staff a fitting's verdict asked name, roles or keys.
read_staff = Table(
    "read_staff", metadata,
    key("clinic"),
    key("staff"),
    key("fitting"),
    Index("read_staff_fitting", "clinic", "fitting"),
    info=ON_SERVER,
)

#: Whose rows are to be made anew: ``sort`` is ``fitting`` or ``person``.  See ``judging_anew``.
judge_anew = Table(
    "judge_anew", metadata,
    key("clinic"),
    key("sort"),
    key("subject"),
    info=ON_SERVER,
)

#: By the beginning of which words a person is found, folded as ``quantities.comparing``.
read_person_word = Table(
    "read_person_word", metadata,
    key("clinic"),
    key("word"),
    key("person"),
    Index("read_person_word_person", "clinic", "person"),
    info=ON_SERVER,
)
