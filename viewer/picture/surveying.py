"""The desk's survey: made by a process apart while a person works, and heard of from there."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from typing import Final

from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.survey.proposal import KINDS, ordered
from lamphouse.viewer.jobs.said import Ended, Given, Message, Progress
from lamphouse.viewer.jobs.survey import Evident, Measured, Proposed, Survey, Wished
from lamphouse.viewer.jobs.work import Work
from lamphouse.viewer.models.surveyed import SurveyAsked, Surveyed, SurveyFound, measured_text

SETTLED: Final = 3.0  # seconds until it is known how quickly it goes (our choice)
NOTHING: Final = Surveyed()
LOOKS: Final = "looking for changes of shot"


class Surveying:
    """The survey of a reel's scan, while one is wanted. `wake` is called on another thread."""

    def __init__(self, opened: OpenedReel, wake: Callable[[], None]) -> None:
        self._opened, self._wake = opened, wake
        self._making: _Making | None = None

    def follow(self, asked: SurveyAsked | None) -> Surveyed:
        """Have it made, or leave off; return what has come of it."""
        if asked is None:
            self.close()
            return NOTHING
        if self._making is None:
            self._making = _Making(Work(Survey(self._opened.file, self._opened.reel), self._wake))
        self._making.follow(asked)
        return self._making.told

    def close(self) -> None:
        """Leave off; what is measured stays."""
        making, self._making = self._making, None
        if making is not None:
            making.work.kill()


class _Making:
    """A survey under way: what was asked last, and what was said of it."""

    def __init__(self, work: Work) -> None:
        self.work, self.told = work, NOTHING
        self._number = 0
        self._asked: SurveyAsked | None = None
        self._is_sent = False
        self._hears = False  # whether the process has begun: before that a large wish would be waited for
        self._begun: tuple[float, int] | None = None  # when so many frames were measured

    def follow(self, asked: SurveyAsked) -> None:
        """Take what was said, and wish for what is asked now."""
        for message in self.work.news():
            self._hears = True
            self._take(message)
        if asked is not self._asked:
            self._asked, self._is_sent = asked, False
            self._number += 1
        if self._hears and not self._is_sent:
            self.work.wish(Wished(self._number, asked.reel, asked.margin))
            self._is_sent = True

    def _take(self, message: Message) -> None:
        if isinstance(message, Progress):
            self.told = replace(self.told, words=self._measured(message.done, message.total))
        elif isinstance(message, Given):
            self._take_given(message.what)
        elif isinstance(message, Ended):
            self.told = replace(self.told, words="", reason=message.sentence)

    def _take_given(self, what: object) -> None:
        if isinstance(what, Measured):
            self.told = replace(self.told, words=LOOKS)
        elif isinstance(what, Evident):
            self.told = replace(self.told, words="", evidence=what.evidence)
        elif isinstance(what, Proposed) and what.number == self._number and self._asked is not None:
            found = self.told.found
            if found is None or found.asked is not self._asked:
                found = SurveyFound(self._asked, looked_for=())
            kinds = KINDS if what.reason else (*found.looked_for, what.kind)
            found = SurveyFound(self._asked, ordered((*found.proposals, *what.proposals)), kinds)
            self.told = replace(self.told, found=found, reason=what.reason)

    def _measured(self, done: int, frames: int) -> str:
        """Return how far measuring is; nothing once it is done."""
        now, left = time.monotonic(), None
        since, first = self._begun = self._begun or (now, done)
        if done > first and now - since > SETTLED:
            left = (frames - done) * (now - since) / (done - first)
        return measured_text(done, frames, left) if done < frames else ""
