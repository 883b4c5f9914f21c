"""Where the Android package starts; staged as ``main.py``.

The record lies in the app's own storage, which other apps can't read.
"""

from android.storage import app_storage_path  # there on Android only

from mobile.main import main

main(["--folder", app_storage_path()])
