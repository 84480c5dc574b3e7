"""The survey engine against printed surveys and against an independent least-squares solver."""

from __future__ import annotations

import csv
import math
import re
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from gardens import FOOT

from bedplan.model.ties import RingShape, Tape, Tie
from bedplan.survey import frame, solve

TABLE = Path(__file__).parents[1] / "data/check-values.csv"
ROWS = {row["id"]: row for row in csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines())}
EQUAL = Tape(fixed_m=FOOT, per_m=0.0)
"""Equal weights: one foot each, so that the unit weight comes out in feet."""


def figures(row):
    return [float(text) for text in re.findall(r"-?\d+\.?\d*", ROWS[row]["expected"])]


def feet(first, second, length):
    return Tie(first, second, length * FOOT)


def in_feet(place):
    return [value / FOOT for value in place]


# S08: J. Mahun, Open Access Surveying Library, COGO self-study solution 3, problem 1(b)-(d),
# https://jerrymahun.com/index.php/home/open-access/160-sol-ss-cogo-3-p1: printed station
# coordinates (N, E) and inverse distances, re-used as a third corner from two tapes.
STATIONS = {"S": (2000.0, 1000.0), "F": (2435.613, 463.846)}  # E, N


def test_two_tapes_from_two_stations_give_the_third_corner():
    north, east = 836.445, 1450.051
    known = {name: (e * FOOT, n * FOOT) for name, (e, n) in STATIONS.items()}
    ties = [feet("S", "P", 573.754), feet("F", "P", 1053.642)]
    # the western root: going S, P, F the ground lies on the left hand
    found = solve("SPF", known, ties)
    assert in_feet(found.places["P"]) == pytest.approx([east, north], abs=0.01)
    assert found.redundancy == 0
    mirrored = solve("SPF", known, ties, shape=RingShape("cw"))
    assert in_feet(mirrored.places["P"])[0] > 2000.0
    # the printed inverse distances come back from the places
    back = {check.tie.name: check.computed_m / FOOT for check in mirrored.ties}
    assert back == pytest.approx({"SP": 573.754, "FP": 1053.642}, abs=0.0005)


# S09, S10: C. Ghilani and P. Wolf, Adjustment Computations, trilateration chapter: inputs from
# memory, answer computed apart from this engine when the check values were gathered, not read
CONTROL = {"A": (865.40, 4527.15), "B": (2432.55, 2047.25), "C": (2865.22, 27.15)}
LENGTHS = {"A": 6049.00, "B": 4736.83, "C": 5446.49}


def ghilani():
    known = {name: (x * FOOT, y * FOOT) for name, (x, y) in CONTROL.items()}
    ties = [feet(name, "U", length) for name, length in LENGTHS.items()]
    return solve("ACB", known, ties, others={"U": "outside"}, tape=EQUAL)


def test_one_station_from_three_lengths_with_one_to_spare():
    found = ghilani()
    assert in_feet(found.places["U"]) == pytest.approx([6861.317, 3727.819], abs=0.01)
    residuals = [check.residual_m / FOOT for check in found.ties]
    # observed less computed
    assert residuals == pytest.approx([0.037, -0.077, 0.047], abs=0.001)
    assert not found.rivals


def test_standard_deviation_of_unit_weight():
    assert ghilani().unit_weight == pytest.approx(0.0977, abs=0.0005)


def test_3_4_5_and_its_multiples_are_square():
    # FAO Training Manual 2, 4.1: 12 m loop held at 0, 3 and 8 m; Noble Foundation: 24-32-40 ft
    for row, unit in (("S01", 1.0), ("S02", FOOT)):
        *sides, right = figures(row)
        a, b, c = sides if len(sides) == 3 else (24.0, 32.0, sides[0])
        short, long, slope = sorted((a, b, c))
        ties = [
            Tie("A", "B", short * unit),
            Tie("A", "C", long * unit),
            Tie("B", "C", slope * unit),
        ]
        corner = solve("ABC", {}, ties).corners[0]
        assert corner.interior_deg == pytest.approx(right, abs=1e-9)
        assert corner.off_square_deg == pytest.approx(0.0, abs=1e-9)


def test_equal_diagonals_prove_a_rectangle():
    # Noble Foundation layout sheet: sides 12 and 16 ft, both diagonals 20 ft
    (diagonal,) = {figures("S04")[0]}
    sides = [feet("A", "B", 12), feet("B", "C", 16), feet("C", "D", 12), feet("D", "A", 16)]
    found = solve("ABCD", {}, [*sides, feet("A", "C", diagonal), feet("B", "D", diagonal)])
    assert [corner.off_square_deg for corner in found.corners] == pytest.approx([0] * 4, abs=1e-9)
    assert found.unit_weight == pytest.approx(0.0, abs=1e-6)
    made = frame(found.ring)
    assert made.square
    assert [span.tape_m / FOOT for span in made.diagonals] == pytest.approx([diagonal] * 2)
    # an inch more on one diagonal, and the corners are told to be off
    off = solve("ABCD", {}, [*sides, feet("A", "C", diagonal + 1 / 12)])
    assert max(abs(corner.off_square_deg) for corner in off.corners) > 0.2
    assert not frame(off.ring).square


def test_area_from_three_tapes():
    # FAO Training Manual 1, 1.1.1: base 3, height 2; Heron, from memory: 13-14-15 ft, 84 ft2
    (area,) = figures("S16")
    ties = [
        Tie("A", "B", 3.0),
        Tie("B", "C", math.hypot(1.9, 2.0)),
        Tie("C", "A", math.hypot(1.1, 2.0)),
    ]
    assert solve("ABC", {}, ties).area_m2 == pytest.approx(area, rel=1e-9)
    (heron,) = figures("G09")
    found = solve("ABC", {}, [feet("A", "B", 15), feet("B", "C", 13), feet("C", "A", 14)])
    assert found.area_m2 / FOOT**2 == pytest.approx(heron, rel=1e-9)


@pytest.mark.parametrize("seed", range(12))
def test_the_same_places_as_an_independent_solver(seed):
    # scipy's trust-region solver on the same residuals, from places near the true ones; the
    # covariance from its Jacobian
    optimize = pytest.importorskip("scipy.optimize")
    chance = np.random.default_rng(seed)
    corners = int(chance.integers(4, 9))
    turn = 2 * np.pi * (np.arange(corners) + 0.4 * chance.random(corners)) / corners
    true = np.column_stack((np.cos(turn), np.sin(turn))) * chance.uniform(4, 9, (corners, 1))
    names = "ABCDEFGH"[:corners]
    pairs = [
        pair
        for pair in combinations(range(corners), 2)
        if pair[1] - pair[0] in (1, corners - 1) or chance.random() < 0.85
    ]
    i, j = np.array(pairs).T
    tape = Tape()
    taped = np.hypot(*(true[i] - true[j]).T)
    taped += np.array([tape.sigma_m(v) for v in taped]) * chance.normal(size=len(taped))
    sigma = np.array([tape.sigma_m(v) for v in taped])
    ties = [Tie(names[a], names[b], v) for a, b, v in zip(i, j, taped.tolist(), strict=True)]
    known = {names[k]: (float(true[k][0]), float(true[k][1])) for k in (0, 2)} if seed % 2 else {}
    found = solve(names, known, ties)

    start = np.array([found.places[name] for name in names]) + 0.05 * chance.normal(
        size=true.shape
    )
    held = [(0, 0), (0, 1), (1, 1)] if not known else [(0, 0), (0, 1), (2, 0), (2, 1)]
    for k, axis in held:
        start[k, axis] = found.places[names[k]][axis]
    free = [cell for cell in np.ndindex(true.shape) if cell not in held]

    def misfits(values):
        places = start.copy()
        for cell, value in zip(free, values, strict=True):
            places[cell] = value
        return (taped - np.hypot(*(places[i] - places[j]).T)) / sigma

    best = optimize.least_squares(
        misfits, [start[cell] for cell in free], xtol=1e-14, ftol=1e-14, gtol=1e-12
    )
    assert 2 * best.cost == pytest.approx(
        sum((c.residual_m / c.sigma_m) ** 2 for c in found.ties), rel=1e-6
    )
    ours = [found.places[names[k]][axis] for k, axis in free]
    assert ours == pytest.approx(best.x.tolist(), abs=2e-6)
    # redundancy numbers and error ellipses by dense linear algebra of the solver's Jacobian
    hat = best.jac @ np.linalg.inv(best.jac.T @ best.jac) @ best.jac.T
    assert [c.redundancy for c in found.ties] == pytest.approx(
        (1.0 - np.diag(hat)).tolist(), abs=1e-5
    )
    scale = max(1.0, math.sqrt(2 * best.cost / (len(ties) - len(free))))
    cov = np.linalg.inv(best.jac.T @ best.jac) * scale**2
    last = [free.index((corners - 1, axis)) for axis in (0, 1)]
    sizes = np.linalg.eigvalsh(cov[np.ix_(last, last)])
    told = found.marks[corners - 1].error
    assert [told.semi_minor_m, told.semi_major_m] == pytest.approx(
        np.sqrt(sizes).tolist(), rel=1e-4
    )
