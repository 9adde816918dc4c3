"""A reel at work in the window: its desk, pictures and sound, made when it is opened, gone when it closes."""

from __future__ import annotations

import time
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.files.folders import settings_folder
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.keys import own_keys
from lamphouse.viewer.models.lately import keep_picture
from lamphouse.viewer.models.leaving_files import Menu
from lamphouse.viewer.models.monitors import MONITORS, SRGB
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.saving import begin
from lamphouse.viewer.picture.film_strip import shown_codes
from lamphouse.viewer.picture.gl_display import GlDisplay
from lamphouse.viewer.sound.desk_sound import DeskSound
from lamphouse.viewer.sticks.mapping import Device as Kind
from lamphouse.viewer.sticks.poll import Poll
from lamphouse.viewer.sticks.shelf import Shelf
from lamphouse.viewer.turn.hands import Hands
from lamphouse.viewer.turn.loop import Loop
from lamphouse.viewer.window.window import Window

# A gamepad first: every gamepad is a joystick too.
ORDER: Final[tuple[Kind, ...]] = ("gamepad", "joysticks")


class Session:
    """The turns of one desk in a window that others use before and after it. Close it when it is over."""

    def __init__(self, window: Window, desk: Desk) -> None:
        self.window, self.desk = window, desk
        self.panels = Panels(scale=window.scale, preferred=window.preferred, menu=Menu(window.wake))
        self.panels.recording.wake = self.panels.matching.wake = window.wake
        self.display = GlDisplay(desk, window.wake)
        self._sound = DeskSound(desk, window.wake)
        self.loop = Loop(
            desk,
            self.panels,
            self.display,
            surface=window,
            hands=Hands([(kind, Poll(kind)) for kind in ORDER] if window.is_seen else []),
            ear=self._sound,
            clock=time.monotonic_ns,
        )
        self.show()

    def begin(self) -> None:
        """Let a person begin: with their keys and joysticks, and what an earlier run did not save."""
        self.panels.sticks.shelf = Shelf(settings_folder())
        self.panels.keys, of_keys = own_keys(settings_folder())
        of_copying = self.panels.copying.load(settings_folder())
        of_screens = self.panels.screens.load(settings_folder())
        self._say(*self.panels.sticks.shelf.troubles, of_keys, of_copying, of_screens)
        self.panels.left_over = begin(self.desk)

    def show(self) -> None:
        """Take the window."""
        self._shown_name = self.desk.reel_file.name
        self.window.name(self._shown_name)

    def rest(self) -> None:
        """Stand still while the window shows something else; what is not saved is kept beside the reel."""
        self.desk.stop(time.monotonic_ns())
        self._sound.follow(self.desk, is_on=False)
        self.loop.keep()

    def keep_picture(self) -> None:
        """Keep the picture that is seen, small, for the list of reels opened lately."""
        graded = self.loop.seen.graded
        if graded is not None:
            keep_picture(self.desk.reel_file, shown_codes(graded, MONITORS[SRGB]))

    @property
    def is_over(self) -> bool:
        """Whether the person has left this reel, and all that they want of it is safe."""
        return self.panels.is_over

    @property
    def is_settled(self) -> bool:
        """Whether all that is shown is what the desk holds."""
        return self.loop.is_settled

    def turn(self, *, is_woken: bool = True) -> int:
        """Do what is due: see `Loop.turn`."""
        if self.desk.reel_file.name != self._shown_name:  # it was saved as another file
            self.show()
        self.panels.scale = self.window.fitted()
        is_woken |= self.panels.menu.take_news()
        return self.loop.turn(is_woken=is_woken)

    def picture(self) -> NDArray[np.float32]:
        """Return the window with this reel, (3, height, width), once all of it has come to rest."""
        return self.window.picture(self)

    def close(self) -> None:
        """Let threads, files, locks and GL objects go."""
        self.window.end_alone()
        self.panels.menu.close()
        self.panels.recording.close()
        self.panels.matching.close()
        self._sound.close()
        self.display.close()
        self.desk.recovery.close()

    def _say(self, *sentences: str) -> None:
        self.desk.message = " ".join(filter(None, (self.desk.message, *sentences)))
