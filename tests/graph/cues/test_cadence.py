"""Which film frame a picture shows. Patterns: common practice, no source. Counts follow from the rates."""

from fractions import Fraction
from itertools import chain, groupby

import pytest

from lamphouse.graph.time.cadence import Cadence, Kind, running_rate

NTSC = Fraction(30000, 1001)
FILM = Fraction(24000, 1001)


def _cadence(kind: Kind, film: Fraction, rate: Fraction, fields: int) -> Cadence:
    return Cadence(running_rate(kind, film, rate, fields), rate, fields)


# kind, film, master, fields in a frame, pictures for each film frame, in turn
PATTERNS = [
    ("run", 18, 25, 1, [1]),
    ("run", 24, FILM, 1, [1]),
    ("run", 25, 25, 2, [2]),
    ("2:2", 25, 25, 2, [2]),
    ("2:2", 25, 50, 1, [2]),
    ("2:3", 24, NTSC, 2, [2, 3]),
    ("2:3", 24, Fraction(60000, 1001), 1, [2, 3]),
    ("repeat", 25, 25, 1, [1]),
    ("repeat", Fraction(50, 3), 25, 2, [3]),
    ("repeat", 12, 24, 1, [2]),
    ("repeat", 16, 24, 1, [1, 2]),
    ("repeat", 20, 30, 1, [1, 2]),
    ("repeat", 20, 25, 1, [1, 1, 2, 1]),
]


@pytest.mark.parametrize(("kind", "film", "rate", "fields", "pattern"), PATTERNS)
def test_a_film_frame_is_shown_in_as_many_pictures_as_the_cadence_says(
    kind: Kind, film: int, rate: Fraction, fields: int, pattern: list[int]
) -> None:
    cadence = _cadence(kind, Fraction(film), Fraction(rate), fields)
    shown = list(chain.from_iterable(map(cadence.shown, range(cadence.stop(4 * len(pattern))))))
    runs = [len(list(run)) for _, run in groupby(shown)][: 2 * len(pattern)]
    assert runs == pattern * 2
    assert sorted(shown) == shown


@pytest.mark.parametrize(("kind", "film", "rate", "fields", "pattern"), PATTERNS)
def test_an_hour_of_film_is_counted_exactly(
    kind: Kind, film: int, rate: Fraction, fields: int, pattern: list[int]
) -> None:
    cadence = _cadence(kind, Fraction(film), Fraction(rate), fields)
    frames = int(cadence.running * 3600)
    # An hour of film is an hour of master, to half a picture.
    lasts = Fraction(frames) / cadence.running
    assert abs(cadence.stop(frames) - lasts * cadence.rate) <= Fraction(1, 2) + Fraction(fields - 1, 2)
    assert cadence.shown(cadence.stop(frames) - 1)[0] == frames - 1
    for frame in (0, 1, frames // 2, frames - 1):
        number = cadence.number(frame)
        assert frame in cadence.shown(number)
        assert frame not in cadence.shown(number - 1)
        assert all(later > frame for later in cadence.shown(cadence.stop(frame + 1)))


def test_a_picture_shows_what_is_running_at_the_middle_of_its_time() -> None:
    cadence = _cadence("repeat", Fraction(18), Fraction(25), 1)
    for number in range(200):
        middle = (number + 0.5) / 25
        assert cadence.shown(number) == (int(middle * 18 + 1e-9),)
