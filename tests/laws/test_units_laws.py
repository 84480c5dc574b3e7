"""What is printed can be read back, on both tapes and for every quantity."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bedplan.errors import UnitError
from bedplan.units import (
    FOOT2_M2,
    format_area,
    format_length,
    format_mass,
    format_volume,
    nanometres,
    parse,
)

laws = settings(max_examples=200, deadline=None)
systems = st.sampled_from(["imperial", "metric"])


@laws
@given(st.integers(-40_000, 40_000), st.sampled_from([1, 2, 4, 8, 16, 32, 64]))
def test_tape_marks_come_back_unchanged(ticks, denominator):
    length_m = float(Fraction(ticks * 254, denominator * 10_000))
    assert parse(format_length(length_m, denominator=denominator), "length") == length_m


@laws
@given(st.integers(-20_000, 20_000))
def test_millimetres_come_back_unchanged(millimetres):
    length_m = millimetres / 1000
    assert parse(format_length(length_m, "metric"), "length") == length_m


@laws
@given(st.floats(-500, 500))
def test_any_length_comes_back_within_half_a_mark(length_m):
    assert abs(parse(format_length(length_m), "length") - length_m) <= 0.0254 / 32 + 1e-12
    assert abs(parse(format_length(length_m, "metric"), "length") - length_m) <= 0.0005 + 1e-12


@laws
@given(st.floats(0, 1e5), systems)
def test_areas_come_back_within_their_digits(area_m2, show):
    half_digit = 0.005 if show == "metric" else 0.05 * FOOT2_M2
    assert parse(format_area(area_m2, show), "area") == pytest.approx(
        area_m2, abs=half_digit * (1 + 1e-9)
    )


@laws
@given(st.floats(1e-3, 1e4), systems)
def test_volumes_and_weights_come_back_within_their_digits(size, show):
    # never fewer than two figures: half of the last one is at most one part in twenty
    assert parse(format_volume(size, show), "volume") == pytest.approx(size, rel=0.05, abs=2e-4)
    assert parse(format_mass(size, show), "mass") == pytest.approx(size, rel=0.05, abs=0.06)


@laws
@given(st.integers(0, 100_000), st.integers(-20, 20), st.sampled_from([396_875, 100_000]))
def test_nanometres_find_the_mark_of_either_tape(count, noise, mark):
    # two marks nearer than the noise to each other cannot be told apart
    other = {396_875: 100_000, 100_000: 396_875}[mark]
    whole = count * mark
    near = abs(whole - round(whole / other) * other)
    if near == 0 or near > 40:
        assert nanometres((whole + noise) * 1e-9) == whole


@laws
@given(
    st.text(max_size=30),
    st.sampled_from(["length", "area", "volume", "mass", "density", "ratio", "angle"]),
)
def test_any_text_is_read_or_refused(text, dimension):
    try:
        value = parse(text, dimension)
    except UnitError:
        return
    assert isinstance(value, float)
    assert abs(value) < float("inf")


@laws
@given(
    st.integers(0, 99),
    st.integers(0, 11),
    st.integers(0, 15),
    st.tuples(*map(st.sampled_from, ("'′’", '"″”', ["", " "], ["-", " "]))),
)
def test_feet_inches_and_sixteenths_add_up(feet, inches, ticks, signs):
    foot, inch, gap, dash = signs
    text = f"{feet}{foot}{gap}{inches}{dash}{ticks}/16{inch}"
    exact = Fraction(feet * 12 * 16 + inches * 16 + ticks, 16) * Fraction(254, 10_000)
    assert parse(text, "length") == float(exact)
