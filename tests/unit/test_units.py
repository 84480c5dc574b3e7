r"""Quantities as texts: what is read, what is refused, how lengths are told."""

from __future__ import annotations

import math

import pytest

from bedplan.errors import UnitError
from bedplan.units import (
    FOOT2_M2,
    FOOT3_M3,
    FOOT_M,
    INCH_M,
    POUND_KG,
    SHORT_TON_KG,
    YARD3_M3,
    describe,
    format_area,
    format_length,
    format_mass,
    format_volume,
    nanometres,
    parse,
    parse_unit,
    tell_area,
    tell_length,
)

INCH = 0.0254


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("12 ft 6 in", 150),
        ("12' 6-1/2\"", 150.5),
        ("12'6 1/2\"", 150.5),
        ("12ft6in", 150),
        ("5/8 in", 0.625),
        ("6-1/2 in", 6.5),
        ("6 1/2 in", 6.5),
        ("6 - 1/2 in", 6.5),
        ('3/4"', 0.75),
        (".5 in", 0.5),
        ("2. ft", 24),
        ("1e1 in", 10),
        ("2 yd 1 ft 3 in", 87),
        ("1.5 feet", 18),
        ("12′ 6″", 150),
        ("12’ 6”", 150),
        ("-3 ft", -36),
        ("- 3 ft", -36),
        ("+3 ft", 36),
        ("-1 ft 6 in", -18),
        ("  4 in  ", 4),
        ("0 in", 0),
        ("0/5 in", 0),
        ("254 mm", 10),
        ("25.4 cm", 10),
        ("0.254 m", 10),
        ("0.000254 km", 10),
        ("1 m 20 cm 7 mm", 1207 / 25.4),
    ],
)
def test_lengths_people_write(text, inches):
    assert parse(text, "length") == pytest.approx(inches * INCH, rel=1e-15, abs=1e-18)


@pytest.mark.parametrize(
    "text",
    [
        "",
        " ",
        "ft",
        "12' 6",
        "6in 2ft",
        "3 ft 2 ft",
        "12 ft -6 in",
        "5 furlong",
        "1,5 m",
        "1/0 in",
        "1 in^2",
        "½ in",
        "inf m",
        "nan m",
        "1.5.2 m",
        "1 2 3/4 in",
        "6--1/2 in",
        "4 FT",
        "2 kg",
        "1 m/0",
        "1 percent m",
        "12",
        "0x10 m",
        "1_000 mm",
        "__import__('os') m",
        "1 m; 2 m",
        "1e400 m",
        "1e9999999 m",
        "9" * 5000 + " m",
        "m 3",
        "3 m ft",
        "1/2/3 in",
        "1 meter ** 1",
    ],
)
def test_lengths_refused(text):
    with pytest.raises(UnitError) as caught:
        parse(text, "length")
    assert "a length" in str(caught.value)
    assert caught.value.remedy


@pytest.mark.parametrize(
    ("value", "dimension", "bare"),
    [
        (True, "ratio", ""),
        (False, "length", "in"),
        (None, "length", "in"),
        ([1], "length", "in"),
        (math.nan, "ratio", ""),
        (math.inf, "length", "m"),
        (-math.inf, "angle", ""),
        (10**400, "length", "m"),
        (10**400, "ratio", ""),
        (3, "length", ""),
        (3, "mass", ""),
        ("2 %", "angle", ""),
        ("30 deg", "ratio", ""),
        ("2 ft", "ratio", ""),
        ("3", "volume", ""),
        ("1 yd^2", "volume", ""),
        ("1 lb", "density", ""),
        ("2 lb/yd^2", "density", ""),
        ("5 °F", "angle", ""),
        ("1 lb lb", "mass", ""),
        ("x", "ratio", ""),
        ("", "volume", ""),
    ],
)
def test_quantities_refused(value, dimension, bare):
    with pytest.raises(UnitError):
        parse(value, dimension, bare)


@pytest.mark.parametrize(
    ("text", "remedy"),
    [
        ("12", "add its unit"),
        ("1,5 m", "decimal sign"),
        ("1/0 in", "over zero"),
        ("6 in 2 ft", "larger unit first"),
        ("5 furlong", "'furlong' is not known"),
        ("2 kg", "measures something else"),
    ],
)
def test_refusals_say_what_to_write(text, remedy):
    with pytest.raises(UnitError, match=remedy):
        parse(text, "length")


@pytest.mark.parametrize(
    ("text", "dimension", "same"),
    [
        ("2 cu yd", "volume", "2 yd^3"),
        ("2 cubic yards", "volume", "2 yd^3"),
        ("2 yd³", "volume", "2 yd^3"),
        ("2 yd3", "volume", "2 yd^3"),
        ("40 sq ft", "area", "40 ft^2"),
        ("40 ft²", "area", "40 ft^2"),
        ("95 lb/ft3", "density", "95 lb/ft^3"),
        ("95 lb per ft^3", "density", "95 lb / ft^3"),
        ("50 L", "volume", "50000 ml"),
        ("1/2 ton", "mass", "1000 lb"),
        ("1-1/2 t", "mass", "1500 kg"),
        ("16 oz", "mass", "1 lb"),
        ("2 %", "ratio", "0.02"),
        ("2 pct", "ratio", "1/50"),
        ("180 deg", "angle", "180"),
    ],
)
def test_ways_of_writing_the_same(text, dimension, same):
    assert parse(text, dimension) == pytest.approx(parse(same, dimension), rel=1e-15)


@pytest.mark.parametrize("bare", ["in", "ft", "yd", "m", "cm", "mm"])
def test_bare_numbers_take_the_files_unit(bare):
    assert parse(7, "length", bare) == parse(f"7 {bare}", "length")
    assert parse(0.1, "length", bare) == parse(f"0.1 {bare}", "length")


# pint's full registry knows the same units from its own definition file
FACTORS = [
    ("length", "m", ["in", "inch", "ft", "foot", "yd", "yard", "m", "cm", "mm", "km"]),
    ("area", "m**2", ["ft^2", "yd^2", "in^2", "m^2", "cm^2"]),
    ("volume", "m**3", ["yd^3", "ft^3", "in^3", "m^3", "L", "liter", "ml", "gal", "gallon"]),
    ("mass", "kg", ["lb", "pound", "oz", "kg", "g", "ton", "tonne", "t"]),
    (
        "density",
        "kg/m**3",
        ["lb/yd^3", "lb/ft^3", "kg/m^3", "g/cm^3", "t/m^3", "ton/yd^3", "lb/gal"],
    ),
]


@pytest.fixture(scope="module")
def whole_registry():
    import pint

    return pint.UnitRegistry()


@pytest.mark.parametrize(
    ("dimension", "base", "unit"),
    [(dimension, base, unit) for dimension, base, units in FACTORS for unit in units],
)
def test_factors_agree_with_pints_own_registry(whole_registry, dimension, base, unit):
    theirs = whole_registry.Quantity(1.0, unit).to(base).magnitude
    assert parse(f"1 {unit}", dimension) == pytest.approx(theirs, rel=1e-12)


@pytest.mark.parametrize(
    ("constant", "text", "dimension"),
    [
        (INCH_M, "1 in", "length"),
        (FOOT_M, "1 ft", "length"),
        (FOOT2_M2, "1 ft^2", "area"),
        (FOOT3_M3, "1 ft^3", "volume"),
        (YARD3_M3, "1 yd^3", "volume"),
        (POUND_KG, "1 lb", "mass"),
        (SHORT_TON_KG, "1 ton", "mass"),
    ],
)
def test_what_is_told_and_what_is_read_have_one_size(constant, text, dimension):
    assert constant == pytest.approx(parse(text, dimension), rel=1e-15)


@pytest.mark.parametrize(
    ("unit", "dimension"),
    [
        ("ton", "mass"),
        ("lb", "mass"),
        ("tonne", "mass"),
        ("yd^3", "volume"),
        ("cu yd", "volume"),
        ("L", "volume"),
        ("ft^3", "volume"),
    ],
)
def test_units_of_sale(whole_registry, unit, dimension):
    plain = unit.replace("cu yd", "yd^3")
    theirs = (
        whole_registry.Quantity(1.0, plain)
        .to_base_units()
        .to("kg" if dimension == "mass" else "m**3")
        .magnitude
    )
    assert parse_unit(unit) == (dimension, pytest.approx(theirs, rel=1e-12))


@pytest.mark.parametrize("unit", ["ft", "yd^2", "bag", "", "load", "%", "lb/yd^3", "ton)"])
def test_units_nothing_is_sold_by(unit):
    with pytest.raises(UnitError):
        parse_unit(unit)


@pytest.mark.parametrize(
    ("inches", "text"),
    [
        (0, '0"'),
        (0.0625, '1/16"'),
        (0.5, '1/2"'),
        (11.9999, "1'"),
        (12, "1'"),
        (12.5, "1' 1/2\""),
        (13, "1' 1\""),
        (88.375, "7' 4-3/8\""),
        (-3.25, '-3-1/4"'),
        (-0.001, '0"'),
        (143.97, "12'"),
        (1200, "100'"),
        (0.03, '0"'),
        (0.032, '1/16"'),
    ],
)
def test_lengths_read_as_a_tape_does(inches, text):
    assert format_length(inches * INCH) == text


@pytest.mark.parametrize(
    ("metres", "text"),
    [
        (0, "0 mm"),
        (0.0004, "0 mm"),
        (0.0006, "1 mm"),
        (2.2447, "2245 mm"),
        (9.9994, "9999 mm"),
        (10.0, "10.000 m"),
        (12.3456, "12.346 m"),
        (-0.5, "-500 mm"),
    ],
)
def test_metric_lengths(metres, text):
    assert format_length(metres, "metric") == text


def test_finer_marks_than_sixteenths():
    assert format_length(0.40625 * INCH, denominator=32) == '13/32"'
    assert format_length(0.40625 * INCH, denominator=64) == '13/32"'


@pytest.mark.parametrize(
    ("told", "text"),
    [
        (format_area(10), "107.6 ft^2"),
        (format_area(10, "metric"), "10.00 m^2"),
        (format_volume(1), "1.31 yd^3"),
        (format_volume(0.05), "1.77 ft^3"),
        (format_volume(0.5, "metric"), "0.50 m^3"),
        (format_volume(0.05, "metric"), "50.0 L"),
        (format_mass(10), "22.0 lb"),
        (format_mass(1000), "1.10 ton"),
        (format_mass(999, "metric"), "999.0 kg"),
        (format_mass(1500, "metric"), "1.50 t"),
        (tell_length(0.9144), "3' (914 mm)"),
        (tell_area(1), "10.8 ft^2 (1.00 m^2)"),
    ],
)
def test_told_figures(told, text):
    assert told == text


@pytest.mark.parametrize(
    ("metres", "whole"),
    [
        (INCH / 64, 396_875),
        (0.0001, 100_000),
        (6 * 0.3048, 1_828_800_000),
        (6 * 0.3048 + 2e-9, 1_828_800_000),
        (6 * 0.3048 - 1.9e-8, 1_828_800_000),
        (6 * 0.3048 + 3e-8, 1_828_800_030),
        (0.123456789, 123_456_789),
        (0.0, 0),
    ],
)
def test_lengths_in_whole_nanometres(metres, whole):
    assert nanometres(metres) == whole


@pytest.mark.parametrize(
    "dimension", ["length", "area", "volume", "mass", "density", "ratio", "angle"]
)
def test_the_examples_in_messages_can_be_read(dimension):
    _, examples = describe(dimension).split("such as ")
    for example in examples.split(" or "):
        assert parse(example.strip('"'), dimension) > 0
