"""How often one wrong tie is seen, named and mended, by redundancy and size of the error.

Run: python tests/bench/bench_survey.py [trials]
Yards are drawn at random from numbered seeds: corners of a crooked ring of 6 to 14 m across, all
sides taped and as many diagonals as the redundancy asks for. Every tie has the tape's own spread;
one of them, drawn at random, is wrong by the stated length, long or short.

  seen    some tie is suspect
  named   the suspect is the wrong tie
  among   the wrong tie is the suspect or one of those told to be as likely
  ties    how many ties are told, the suspect and those as likely (median)
  mended  where named, how far the corrected length lies from the true one (median) [mm]
  refused  no figure is given: mostly a triangle that cannot close, which counts as seen
"""

from __future__ import annotations

import statistics
import sys
import time
from itertools import combinations

import numpy as np
from shapely.geometry import Polygon

from bedplan.errors import LayoutError
from bedplan.model.ties import Tape, Tie
from bedplan.survey import solve

NAMES = "ABCDEFGH"
TAPE = Tape()


def crooked_ring(corners: int, chance: np.random.Generator) -> np.ndarray:
    turn = 2 * np.pi * (np.arange(corners) + 0.5 * chance.random(corners)) / corners
    reach = chance.uniform(3.0, 7.0, corners)
    return np.column_stack((reach * np.cos(turn), reach * np.sin(turn)))


def true_ties(corners: int, redundancy: int, chance: np.random.Generator) -> list[Tie]:
    """Return sides and diagonals without error; the diagonals nearest right across come first."""
    points = crooked_ring(corners, chance)
    while Polygon(points).buffer(-0.5).is_empty or not Polygon(points).is_valid:
        points = crooked_ring(corners, chance)
    sides = [(i, (i + 1) % corners) for i in range(corners)]
    diagonals = [
        (i, j) for i, j in combinations(range(corners), 2) if (j - i) not in (1, corners - 1)
    ]
    picked = chance.permutation(len(diagonals))[: corners - 3 + redundancy]
    return [
        Tie(NAMES[i], NAMES[j], float(np.hypot(*(points[i] - points[j]))))
        for i, j in [*sides, *(diagonals[k] for k in picked)]
    ]


def taped(ties: list[Tie], wrong: int | None, error_m: float, chance) -> list[Tie]:
    read = [tie.length_m + TAPE.sigma_m(tie.length_m) * chance.normal() for tie in ties]
    if wrong is not None:
        read[wrong] += error_m * chance.choice((-1.0, 1.0))
    return [Tie(tie.first, tie.second, length) for tie, length in zip(ties, read, strict=True)]


def rates(corners: int, redundancy: int, error_m: float, trials: int) -> dict[str, float]:
    chance = np.random.default_rng([corners, redundancy, round(error_m * 1000)])
    done = seen = named = among = refused = 0
    told, mended, spent = [], [], []
    while done < trials:
        ties = true_ties(corners, redundancy, chance)
        wrong = int(chance.integers(len(ties))) if error_m else None
        read = taped(ties, wrong, error_m, chance)
        begun = time.process_time()
        try:
            found = solve(NAMES[:corners], {}, read)
        except LayoutError as error:
            text = str(error)
            if "free to move" in text:
                continue  # the diagonals drawn do not hold the yard
            # a triangle that cannot close names its three ties; any other refusal is not seen
            done += 1
            refused += 1
            seen += "short" in text
            if wrong is not None and "short" in text:
                named += f"begin with {read[wrong].name}," in text
                among += read[wrong].name in text
            continue
        spent.append(time.process_time() - begun)
        done += 1
        suspect = found.suspect
        if suspect is None:
            continue
        seen += 1
        told.append(1 + len(suspect.alike))
        if wrong is not None and suspect.tie is read[wrong]:
            named += 1
            mended.append(abs(suspect.corrected_m - ties[wrong].length_m) * 1000)
        among += wrong is not None and read[wrong] in (suspect.tie, *suspect.alike)
    return {
        "seen": 100 * seen / done,
        "named": 100 * named / done,
        "among": 100 * among / done,
        "refused": 100 * refused / done,
        "told": statistics.median(told) if told else 0,
        "mended": statistics.median(mended) if mended else 0,
        "ms": 1000 * statistics.median(spent),
    }


def main(trials: int = 200) -> None:
    print("corners redundancy error_mm   seen  named  among  ties mended_mm  refused   ms")
    for corners, redundancy in ((4, 1), (5, 2), (5, 3), (6, 3), (6, 6), (8, 6), (8, 15)):
        for error_m in (0.0, 0.010, 0.025, 0.050, 0.100, 0.3048):
            r = rates(corners, redundancy, error_m, trials)
            print(
                f"{corners:7d} {redundancy:10d} {error_m * 1000:8.0f} {r['seen']:5.0f}% "
                f"{r['named']:5.0f}% {r['among']:5.0f}% {r['told']:5.0f} {r['mended']:9.1f} "
                f"{r['refused']:7.1f}% {r['ms']:4.1f}"
            )


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
