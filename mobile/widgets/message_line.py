"""The line beneath a field that says what would be right, or what is doubtful."""

from kivy.properties import OptionProperty, StringProperty

from mobile.widgets import kv_beside
from mobile.widgets.marks import KINDS
from mobile.widgets.surface import Row


class MessageLine(Row):
    """A mark of the kind and the message beside it; takes no room while the text is empty.

    ``kind`` is ``''``, ``'refusal'`` (it can't be taken; the text says what would be right) or
    ``'doubt'`` (it is kept, the text says what is odd).
    """

    text = StringProperty("")
    kind = OptionProperty("", options=KINDS)


kv_beside.load(__file__)
