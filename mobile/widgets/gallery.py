"""Every widget, on a few pages with invented content, to look at and to test against."""

from mobile.widgets.banner import Banner
from mobile.widgets.buttons import MainButton, PlainButton, QuietButton, StopButton
from mobile.widgets.choices import ChoiceRow, GradedChoice, YesNoChoice
from mobile.widgets.date_field import DateField
from mobile.widgets.figure_field import AmountField
from mobile.widgets.keypad import Keypad
from mobile.widgets.listing import Heading, LastSettings, ListRow, ProgressLine
from mobile.widgets.page_frame import PageFrame
from mobile.widgets.photo_row import PhotoRow
from mobile.widgets.pin_pad import PinPad
from mobile.widgets.sheet import Sheet
from mobile.widgets.signature_pad import SignaturePad
from mobile.widgets.surface import Words
from mobile.widgets.text_field import TextField

STEPS = [
    ("person", "Person", "met", "met"),
    ("components", "Components", "met", "met"),
    ("bench", "Bench alignment", "waived", "waived by A. Nwosu"),
    ("ready", "Ready to walk", "stale", "stale: an adapter screw was slackened"),
    ("standing", "Standing alignment", "disputed", "disputed"),
    ("threshold", "Stance threshold", "open", "open"),
    ("flexion", "Swing flexion", "open", "open"),
    ("extension", "Swing extension", "open", "open"),
    ("stairs", "Ramp, low steps and stairs", "not_applicable", "not applicable"),
    ("torque", "Caps and torque", "open", "open"),
    ("handover", "Handover", "open", "open"),
]


def _frame(current: str, *, has_side: bool = False) -> PageFrame:
    frame = PageFrame(has_side=has_side)
    header = frame.header
    header.who = "Marisela Okoro-Lindqvist"
    header.detail = "left above-knee · born 1988-04-02 · file 2041"
    header.unsent, header.saved = "11 not yet sent", "saved 10:42"
    header.leave_words = "Fittings"
    names = ("key", "title", "state", "state_word")
    frame.rail.steps = [dict(zip(names, step, strict=True)) for step in STEPS]
    frame.rail.current = current
    return frame


def figures_page() -> PageFrame:
    """One reading in hand, the keypad beside it, a doubt and a refusal."""
    frame = _frame("standing", has_side=True)
    pad = Keypad(test_name="keypad")
    fields = [
        AmountField(
            test_name="field:load_line_offset_mm", label="Load line, in front of knee centre",
            text="46", unit="mm", hint="asked 34 ± 5 mm", keypad=pad, signed=True,
            steps=["-5", "-1", "+1", "+5"], message_kind="doubt",
            message="12 mm further forward than asked. Moving the foot back 12 mm brings it in.",
        ),
        AmountField(
            test_name="field:body_mass_kg", label="Body mass", text="1240", unit="kg",
            hint="from 20 to 250 kg", keypad=pad, steps=["-1", "-0.5", "+0.5", "+1"],
            message="A body mass lies between 20 and 250 kg.", message_kind="refusal",
        ),
        AmountField(
            test_name="field:weight_sound_kg", label="Weight on the sound side", unit="kg",
            hint="from 0 to 250 kg", keypad=pad, steps=["-1", "+1"],
        ),
        DateField(
            test_name="field:review_on", label="Review on", text="2026-12-09", keypad=pad,
            hint="year, month, day", today="2026-11-25",
        ),
    ]  # fmt: skip
    frame.body.add_widget(
        Heading(
            title="Standing alignment",
            lead="Both feet level, sound foot on the block. Read where the load line falls in "
            "front of the knee centre.",
        )
    )
    for field in fields:
        frame.body.add_widget(field)
    frame.side.add_widget(pad)
    strip = LastSettings(label="Last confirmed", settings=[("threshold", "3 of 24"), ("damping", "8")])
    frame.foot.add_widget(strip)
    frame.foot.add_widget(PlainButton(text="Measure again", fit=True, least_height=72, test_name="again"))
    frame.foot.add_widget(MainButton(text="Record", fit=True, test_name="record"))
    return frame


def trial_page() -> PageFrame:
    """Findings of a trial, with the stop button always in reach."""
    frame = _frame("flexion")
    body = frame.body
    body.add_widget(Heading(title="Swing flexion, trial 3", lead="Walk ten steps. Say what was seen."))
    body.add_widget(
        GradedChoice(test_name="field:heel_rise", label="Heel rise higher than the sound side",
                     value="slight")
    )  # fmt: skip
    body.add_widget(YesNoChoice(test_name="field:safe", label="Felt safe by the person?", value="yes"))
    body.add_widget(
        ChoiceRow(
            test_name="field:activity", label="Functional level", value="outdoor",
            hint="In the person's own surroundings, with the present socket.",
            options=[("indoor", "indoor walker"), ("limited", "limited outdoor walker"),
                     ("outdoor", "unrestricted outdoor walker"),
                     ("high", "unrestricted outdoor walker with especially high demands")],
        )
    )  # fmt: skip
    body.add_widget(
        TextField(test_name="field:note", label="What was seen", least_lines=2, lines_allowed=True,
                  text="Heel rises late on the third step, then settles; Жанна felt steady → good.")
    )  # fmt: skip
    body.add_widget(TextField(test_name="field:serial", label="Serial number", text="KN-0042-A"))
    frame.foot.add_widget(
        LastSettings(
            label="Last confirmed 10:38",
            settings=[("threshold", "3 of 24"), ("swing flexion", "9"), ("swing extension", "11"),
                      ("damping", "8")],
        )
    )  # fmt: skip
    frame.foot.add_widget(StopButton(text="Stop trial", fit=True, test_name="stop"))
    frame.foot.add_widget(MainButton(text="Record trial", fit=True, test_name="record"))
    return frame


def notices_page() -> PageFrame:
    """Banners, list rows and progress."""
    frame = _frame("handover")
    body = frame.body
    body.add_widget(Heading(title="What is still missing", lead="Two things keep this open."))
    body.add_widget(
        Banner(kind="doubt", lead="12 mm further forward than asked.", button_words="Keep it and say why",
               text="Moving the foot back 12 mm brings it in, height unchanged. Or keep it and say "
               "why.", test_name="doubt")
    )  # fmt: skip
    body.add_widget(Banner(kind="info", lead="Nothing to send.", text="All is with the clinic since 10:42."))
    body.add_widget(
        Banner(kind="caution", lead="Stand by.",
               text="Somebody stands within reach until the yield under load has been felt.")
    )  # fmt: skip
    body.add_widget(Banner(kind="stop", lead="Stopped at 10:31.", text="The knee gave way on the ramp."))
    for title, subtitle, trailing, state in (
        ("Proximal adapter, screw 2", "final torque 15 N·m, wrench W-7", "met", "met"),
        ("Жанна Ковалёва", "right above-knee · file 2077", "stale", "stale"),
        ("Cap of the flexion valve", "", "disputed by two tablets", "disputed"),
    ):
        body.add_widget(
            ListRow(title=title, subtitle=subtitle, trailing=trailing, row_state=state,
                    test_name=f"row:{title}")
        )  # fmt: skip
    body.add_widget(
        ProgressLine(test_name="sending", share=0.4, words="Sending, 50 of 124", cancel_words="Stop sending")
    )
    frame.foot.add_widget(QuietButton(text="Why?", fit=True, test_name="why"))
    frame.foot.add_widget(Words(text="Two of eleven steps are open."))
    frame.foot.add_widget(
        MainButton(text="Hand over", fit=True, disabled=True, test_name="hand_over")
    )
    return frame


def unlock_page() -> PageFrame:
    """The pad for the personal number, without a rail."""
    frame = _frame("person", has_side=True)
    frame.has_rail = False
    frame.body.add_widget(Heading(title="Who is working?", lead="Choose your name, then type your number."))
    for name, part in (("A. Nwosu", "prosthetist"), ("Łucja Brandt", "technician")):
        frame.body.add_widget(ListRow(title=name, subtitle=part, test_name=f"row:{name}"))
    pad = PinPad(test_name="pin_pad", label="Number of A. Nwosu", enter_words="unlock",
                 message="That number does not fit this name. 4 tries are left.")  # fmt: skip
    frame.side.add_widget(pad)
    frame.foot.add_widget(Words(text="Nothing leaves this tablet while it is locked."))
    return frame


def drawn_page() -> PageFrame:
    """A paper to sign on, and photos in a list."""
    frame = _frame("handover", has_side=True)
    frame.body.add_widget(Heading(title="Signature: Handover", lead="The knee was shown to me."))
    frame.body.add_widget(
        PhotoRow(test_name="row:photo", title="skin", subtitle="Rim above the knee, red.",
                 trailing="2026-11-25 10:31", instead="on another tablet")
    )  # fmt: skip
    pad = SignaturePad(
        test_name="signature", label="Sign here", name="Marisela Okoro-Lindqvist", message_kind="refusal",
        message="Nothing is drawn yet. Sign in the field, or say why it is not signed.",
    )  # fmt: skip
    frame.side.add_widget(pad)
    frame.foot.add_widget(PlainButton(text="Back", fit=True, test_name="back"))
    frame.foot.add_widget(MainButton(text="Save", fit=True, test_name="save"))
    return frame


def correction_sheet() -> Sheet:
    """A sheet for a correction, with a field and its keypad."""
    sheet = Sheet(
        test_name="sheet", title="Correct the body mass", main_words="Correct it",
        lead="The first figure stays in the record; the correction points back to it.",
        plain_words="Leave it as it is",
    )  # fmt: skip
    pad = Keypad(test_name="sheet:keypad")
    sheet.content.add_widget(
        AmountField(test_name="sheet:mass", label="Body mass", text="84.0", unit="kg", keypad=pad,
                    hint="from 20 to 250 kg", steps=["-1", "-0.5", "+0.5", "+1"])
    )  # fmt: skip
    sheet.content.add_widget(TextField(test_name="sheet:why", label="Why it was wrong"))
    sheet.below.add_widget(pad)
    return sheet


PAGES = {
    "figures": figures_page,
    "trial": trial_page,
    "notices": notices_page,
    "unlock": unlock_page,
    "drawn": drawn_page,
}

__all__ = ["PAGES", "correction_sheet"]
