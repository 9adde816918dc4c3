from fractions import Fraction

import pytest

from lamphouse.graph.time.rate import nominal, parse_rate, rate_text
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
]


@pytest.mark.parametrize(("text", "rate", "canonical", "per_second"), RATES)
def test_a_rate_is_exact_and_has_one_text(text: str, rate: Fraction, canonical: str, per_second: int) -> None:
    assert parse_rate(text) == rate
    assert rate_text(rate) == canonical
    assert parse_rate(canonical) == rate
    assert nominal(rate) == per_second


@pytest.mark.parametrize("text", ["", "23", "59.94", "24.0", "nan", "-25", "25/0", "twenty"])
def test_any_other_rate_is_refused_with_the_rates_there_are(text: str) -> None:
    with pytest.raises(BadInput, match=r"not a frame rate; there is .*18.*24000/1001.*29\.97"):
        parse_rate(text)


def test_a_rate_that_could_not_be_read_back_is_not_written() -> None:
    with pytest.raises(BadInput, match="50"):
        rate_text(Fraction(50))
