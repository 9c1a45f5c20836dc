"""A sentence keeps its quantities, however it is put together, and tells them in any units."""

import copy
import json
import pickle

import pytest

from tco.sentences import (
    Quantity,
    Sentence,
    begun,
    degc,
    imperial,
    joined,
    kg,
    metres,
    mm,
    says,
    told,
)


@pytest.mark.parametrize(
    ("sentence", "metric", "other"),
    [
        (says(kg(43.2), " of ", kg(100, "g")), "43 kg of 100 kg", "95 lb of 220 lb"),
        (says(kg(1000.0, ",.0f")), "1,000 kg", "2,205 lb"),
        (says("from ", degc(-0.5, ".1f"), " to ", degc(0)), "from -0.5 degC to 0 degC",
         "from 31.1 degF to 32.0 degF"),
        (says(mm(10), " higher"), "10 mm higher", "0.4 in higher"),
        (says(metres(1, "g"), " there, ", metres(3.7)), "1 m there, 3.7 m",
         "3.3 ft there, 12.1 ft"),
        (says("× ", Quantity(1.5, "per kg", ",.2f")), "× 1.50 per kg", "× 0.68 per lb"),
        (says(Quantity(20, "degC", bare=True), " to ", degc(25)), "20 to 25 degC",
         "68.0 to 77.0 degF"),
        (says("at ", Quantity(0, "degC", both=True)), "at 0 degC, 32 degF", "at 32 degF"),
        (says(Quantity(7, "A", "g"), ", cable 25 mm2"), "7 A, cable 25 mm2", "7 A, cable 25 mm2"),
    ],
)  # fmt: skip
def test_quantities_are_told_in_the_units_asked_for(
    sentence: Sentence, metric: str, other: str
) -> None:
    assert str(sentence) == sentence == metric
    assert told(sentence, "metric") == metric
    assert told(sentence, "imperial") == other


def test_values_are_rounded_once() -> None:
    """16.2 kg are 35.7 lb: 36, not the 35 of a number rounded to 16 kg before."""
    assert told(says(kg(16.2)), "imperial") == "36 lb"


def test_degrees_get_their_sign_on_screens() -> None:
    sentence = says("kept at ", Quantity(10, "°C", "g"), " degC")
    assert str(sentence) == "kept at 10 °C degC"
    assert told(sentence, "metric") == "kept at 10 degC degC"  # what is no quantity stays
    assert told(sentence, "metric", signs=True) == "kept at 10 °C degC"
    assert told(sentence, "imperial", signs=True) == "kept at 50.0 °F degC"


def test_sentences_in_sentences_keep_their_quantities() -> None:
    inner = says("falls to ", degc(5))
    outer = joined("; ", [inner, "", says("weighs ", kg(10)), "plain"])
    assert outer == "falls to 5 degC; weighs 10 kg; plain"
    expected = "Falls to 41.0 degF; weighs 22 lb; plain"
    assert told(begun(outer), "imperial") == expected
    for again in (copy.deepcopy(begun(outer)), pickle.loads(pickle.dumps(begun(outer)))):
        assert told(again, "imperial") == expected
    assert json.loads(json.dumps(outer)) == str(outer)
    assert begun("plain") == "Plain"


def test_a_difference_of_temperatures_has_no_offset() -> None:
    assert imperial(10.0, "degC") == (50.0, "degF")
    assert imperial(10.0, "degC", difference=True) == (18.0, "degF")
