from fractions import Fraction

import pytest

from lamphouse.graph.time.rate import nominal, parse_rate, rate_text, rate_words
from lamphouse.nodes.errors import BadInput

# The two NTSC rates are 1000/1001 of 24 and 30 (SMPTE ST 12-1, second-hand). 16, 18 and 20 are the
# silent speeds of common practice, no source.
RATES = [
    ("24000/1001", Fraction(24000, 1001), "24000/1001", 24),
    ("23.976", Fraction(24000, 1001), "24000/1001", 24),
    ("23.98", Fraction(24000, 1001), "24000/1001", 24),
    ("30000/1001", Fraction(30000, 1001), "30000/1001", 30),
    ("29.97", Fraction(30000, 1001), "30000/1001", 30),
    ("16", Fraction(16), "16", 16),
    ("18", Fraction(18), "18", 18),
    ("20", Fraction(20), "20", 20),
    ("24", Fraction(24), "24", 24),
    (" 25 ", Fraction(25), "25", 25),
    ("30", Fraction(30), "30", 30),
    ("59.94", Fraction(60000, 1001), "60000/1001", 60),
    ("16 2/3", Fraction(50, 3), "50/3", 17),
    ("50/3", Fraction(50, 3), "50/3", 17),
    ("14", Fraction(14), "14", 14),
    ("22", Fraction(22), "22", 22),
    ("12.5", Fraction(25, 2), "25/2", 12),
]


@pytest.mark.parametrize(("text", "rate", "canonical", "per_second"), RATES)
def test_a_rate_is_exact_and_has_one_text(text: str, rate: Fraction, canonical: str, per_second: int) -> None:
    assert parse_rate(text) == rate
    assert rate_text(rate) == canonical
    assert parse_rate(canonical) == rate
    assert nominal(rate) == per_second


@pytest.mark.parametrize("text", ["", "0", "121", "16.67", "23.97", "nan", "-25", "25/0", "1 24", "twenty"])
def test_any_other_rate_is_refused_with_rates_that_there_are(text: str) -> None:
    with pytest.raises(BadInput, match=r"not a frame rate; write .*18.*30000/1001 or 16 2/3"):
        parse_rate(text)


def test_a_rate_that_could_not_be_read_back_is_not_written() -> None:
    with pytest.raises(BadInput, match="1000"):
        rate_text(Fraction(1000))


# What people call the rates of colour television: common practice, no source.
@pytest.mark.parametrize("words", ["23.976", "29.97", "59.94", "25", "60"])
def test_a_rate_is_called_as_people_call_it(words: str) -> None:
    assert rate_words(parse_rate(words)) == words
