"""A window without display, OpenGL or root: everything of Kivy but the pixels.

Layout, clock, kv, touches, keyboards, focus and the measuring of text are the real ones; drawing
goes to Kivy's mock GL. :func:`install` must run before anything imports ``kivy.core.window``.
"""

import logging
import os
import sys


class WindowAlreadyMade(RuntimeError):
    """A fault of ours: another window exists already, so this one comes too late."""


def install(width: int = 1280, height: int = 800, *, density: float = 1.0):
    """Make the display-less window Kivy's window, and return it.

    ``width`` and ``height`` in pixels, ``density`` in pixels per dp. A second call returns the
    window of the first, turned to the size asked for.
    """
    present = sys.modules.get("kivy.core.window")
    window = getattr(present, "Window", None)
    if window is not None:
        if not getattr(window, "headless", False):
            raise WindowAlreadyMade("install the headless window before importing kivy.core.window")
        window.set_size(width, height)
        return window
    _environment(density)
    _configuration(width, height)
    module = _window_module()
    window = _window_class(module)()
    module.Window = window
    from kivy.base import EventLoop

    EventLoop.window = window
    window.register()
    return window


def _environment(density: float) -> None:
    os.environ["KIVY_GL_BACKEND"] = "mock"
    os.environ["KIVY_METRICS_DENSITY"] = str(density)
    os.environ["KIVY_METRICS_FONTSCALE"] = "1"
    os.environ["KIVY_DPI"] = str(96 * density)
    for name, value in (("KIVY_NO_ARGS", "1"), ("KIVY_NO_FILELOG", "1"), ("KIVY_NO_CONFIG", "1")):
        os.environ.setdefault(name, value)


def _configuration(width: int, height: int) -> None:
    import kivy
    from kivy.config import Config

    # Set here and not by environment variables, which Kivy has read already when somebody else
    # imported it first.
    kivy.kivy_options.update(window=(), audio=(), video=(), camera=(), spelling=())
    kivy.kivy_options["clipboard"] = ("dummy",)
    Config.set("graphics", "width", str(width))
    Config.set("graphics", "height", str(height))
    # No screen to wait for: a frame takes as long as its work.
    Config.set("graphics", "maxfps", "0")
    for name, _provider in Config.items("input"):
        Config.remove_option("input", name)


def _window_module():
    log = logging.getLogger("kivy")
    level = log.level
    # Kivy reports in capitals that it found no window provider, which is what is wanted here.
    log.setLevel(logging.CRITICAL + 1)
    try:
        import kivy.core.window as module
    finally:
        log.setLevel(level)
    if module.Window is not None:
        raise WindowAlreadyMade("Kivy has opened a real window instead of none")
    log.addFilter(_not_about_shaders)
    return module


def _not_about_shaders(record: logging.LogRecord) -> bool:
    """The mock GL never reports success, so each shader would be logged as broken."""
    message = record.getMessage()
    return not (message.startswith("Shader") or "Error while parsing" in message)


def _window_class(module):
    class HeadlessWindow(module.WindowBase):
        """A pretend tablet: it can be turned, pressed and typed at, but not looked at."""

        headless = True
        gl_backends_ignored = ()
        # As in the real window: characters come as text input, key presses bring none.
        managed_textinput = True

        def create_window(self, *largs):
            if not self.initialized:
                from kivy.config import Config

                self._size = self.system_size = (
                    Config.getint("graphics", "width"),
                    Config.getint("graphics", "height"),
                )
            super().create_window(*largs)

        def set_size(self, width: int, height: int) -> None:
            """Give the window another size in pixels."""
            self.system_size = (width, height)
            self._size = (width, height)
            self.update_viewport()
            self.dispatch("on_resize", width, height)

        def turn(self) -> None:
            """Turn the tablet from landscape to portrait or back."""
            width, height = self._size
            self.set_size(height, width)

        def close(self):
            self.dispatch("on_close")

        def flip(self):
            """Nothing to show."""

        def screenshot(self, *largs, **kwargs):
            raise RuntimeError("a headless window has no pixels")

    return HeadlessWindow
