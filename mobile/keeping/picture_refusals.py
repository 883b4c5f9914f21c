"""Why a file can't be taken as a photo."""

from __future__ import annotations

from shared_models.quantities.refusals import Refusal


class PictureRefusal(Refusal):
    """A file can't be taken as a photo; figures: ``file`` its name, and limits.

    Codes: ``photo_gone``, ``photo_unreadable``, ``photo_empty``,
    ``photo_file_too_large``, ``photo_not_a_picture``, ``photo_heic``,
    ``photo_cut_short``, ``photo_too_many_pixels``.
    """
