"""Sheets and scales: the largest standard scale that fits, whichever way the sheet is turned."""

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from bedplan.errors import OutputError
from bedplan.outputs.sheet import SIZES_MM, Frame, Sheet, choose, scales

PANEL_MM = 45.0


def setting_for(sheet, show, width_m, height_m):
    return choose(
        sheet,
        show,
        lambda _page: PANEL_MM,
        lambda per_m: shapely.box(0, 0, width_m * per_m, height_m * per_m),
    )


def room_of(page):
    """Width and height left for the drawing, reckoned from the border inwards."""
    inside = (page.width_mm - 16.0, page.height_mm - 16.0)
    if page.width_mm > page.height_mm:
        return inside[0] - 66.0 - 6.0, inside[1] - 6.0
    return inside[0] - 6.0, inside[1] - (PANEL_MM + 6.0) - 6.0


@settings(max_examples=80, deadline=None)
@given(
    st.sampled_from(sorted(SIZES_MM)),
    st.sampled_from(["imperial", "metric"]),
    st.floats(0.5, 80.0),
    st.floats(0.5, 80.0),
)
def test_no_standard_scale_that_fits_is_larger(name, show, width_m, height_m):
    sheet = Sheet(name)
    fitting = [
        scale.denominator
        for page in sheet.pages()
        for scale in scales(show)
        for per_m in (1000 / scale.denominator / page.enlarged,)
        if width_m * per_m <= room_of(page)[0] and height_m * per_m <= room_of(page)[1]
    ]
    assert setting_for(sheet, show, width_m, height_m).scale.denominator == min(fitting)


@pytest.mark.parametrize(
    ("words", "denominator"),
    [
        # inches of paper to a foot of ground: 12 in over the fraction
        ('1/4" = 1\'-0"', 48),
        ('3/8" = 1\'-0"', 32),
        ('3/32" = 1\'-0"', 128),
        ('1-1/2" = 1\'-0"', 8),
        ("1\" = 20'", 240),
    ],
)
def test_scale_words_say_their_denominator(words, denominator):
    said = {scale.words: scale.denominator for scale in scales("imperial")}
    assert said[words] == denominator


@pytest.mark.parametrize("show", ["imperial", "metric"])
def test_scales_run_from_the_largest_down(show):
    series = [scale.denominator for scale in scales(show)]
    assert series == sorted(set(series))


def test_drawing_is_centred_in_its_field():
    setting = setting_for(Sheet("letter"), "metric", 8.0, 5.0)
    left, bottom, right, top = setting.frame.shape(shapely.box(0, 0, 8, 5)).bounds
    field = setting.field.bounds
    assert left - field[0] == pytest.approx(field[2] - right)
    assert bottom - field[1] == pytest.approx(field[3] - top)


def test_a_tall_plot_turns_the_sheet_upright():
    assert not setting_for(Sheet("letter"), "metric", 5.0, 10.0).page.landscape
    assert setting_for(Sheet("letter", landscape=True), "metric", 5.0, 10.0).page.landscape


def test_frame_maps_points_and_shapes_alike():
    frame = Frame(20.0, 3.0, 4.0)
    assert frame.point((1.0, 2.0)) == (23.0, 44.0)
    assert frame.shape(shapely.Point(1.0, 2.0)).coords[0] == (23.0, 44.0)


def test_unknown_sheet_names_those_there_are():
    with pytest.raises(OutputError, match="letter, tabloid, a4, a3"):
        Sheet("legal")


def test_ground_too_large_for_any_scale_is_refused():
    with pytest.raises(OutputError, match="too large"):
        setting_for(Sheet("letter"), "metric", 5000.0, 5000.0)
