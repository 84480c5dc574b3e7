"""CPU time of laying strips over a walk with many beds, and how it grows. Run: python FILE."""

from __future__ import annotations

import time

import shapely
from shapely import affinity
from shapely.geometry import box

from bedplan.takeoff.barrier import lay_strips


def walk_round(beds: int, turned: bool) -> shapely.Geometry:
    """Ground with beds on a grid of 3 m; every third one stands at its own angle if turned."""
    across = max(1, round(beds**0.5))
    down = -(-beds // across)
    holes = []
    for i in range(beds):
        x, y = 3.0 * (i % across) + 0.7, 3.0 * (i // across) + 0.7
        bed = box(x, y, x + 1.6, y + 1.2 + 0.1 * (i % 5))
        holes.append(affinity.rotate(bed, 7.0 * i) if turned and i % 3 == 0 else bed)
    fence = shapely.Polygon(
        [(0, 0), (3.0 * across + 0.2, 0.3), (3.0 * across, 3.0 * down + 0.4), (-0.3, 3.0 * down)]
    )
    return shapely.difference(fence, shapely.union_all(holes))


def median_s(area: shapely.Geometry, runs: int) -> float:
    times = []
    for _ in range(runs):
        start = time.process_time()
        lay_strips(area, roll_width_m=1.2192, lap_m=0.1524, turn_up_m=0.0762)
        times.append(time.process_time() - start)
    return sorted(times)[runs // 2]


def main() -> None:
    base = 0.0
    for beds in (10, 14, 40, 100, 300, 1000):
        for turned in (False, True):
            area = walk_round(beds, turned)
            seconds = median_s(area, 9 if beds < 100 else 3)
            if beds == 10 and turned:
                base = seconds
            laying = lay_strips(area, roll_width_m=1.2192, lap_m=0.1524, turn_up_m=0.0762)
            ratio = f"{seconds / base / (beds / 10):6.2f} of linear" if base else " " * 16
            print(
                f"{beds:5d} beds {'turned' if turned else 'square'} "
                f"{len(shapely.get_coordinates(area)):6d} corners {1e3 * seconds:9.1f} ms "
                f"{ratio}  strips {len(laying.strips):5d}  proven {laying.complete}  "
                f"fabric/net {laying.fabric_area_m2 / laying.net_area_m2:.3f}"
            )


if __name__ == "__main__":
    main()
