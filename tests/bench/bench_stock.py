"""Share proven and time of the stock engine: published sets, carpentry, growth, splicing.

    python tests/bench/bench_stock.py                          # everything, about 15 minutes
    python tests/bench/bench_stock.py hard28 waescher          # some sets
    python tests/bench/bench_stock.py carpentry ratio growth splice
    python tests/bench/bench_stock.py hard28 --limit 60        # seconds a cut list

Times are processor seconds of this process, because cores are shared; the limit is real time.
Sets: E. Falkenauer 1996 (u, t), J. Schoenfield 2002 (hard28), G. Wäscher & T. Gau 1996,
P. Schwerin & G. Wäscher 1997, as collected in BPPLIB (Delorme, Iori, Martello 2018); read from
the folder given by --sets.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from random import Random
from statistics import median
from time import process_time

import highspy  # loaded first, so that no cut list pays for it
import numpy as np

from bedplan.solver import quiet_model
from bedplan.stock import SpliceRules, SpliceRun, StockLength, cut, splice_anywhere
from bedplan.stock.even_splices import evenly

SETS = ("falkenauer_u", "falkenauer_t", "hard28", "waescher", "schwerin_1")
FOLDER = Path("/work/shared/benchmarks")
INCH = 25_400_000  # nm
FEET = {6: 4.10, 8: 6.25, 10: 7.90, 12: 9.45}
STOCK = [StockLength(12 * feet * INCH, price) for feet, price in FEET.items()]


def timed(pieces, stock, kerf, limit):
    start = process_time()
    plan = cut(pieces, stock, kerf, time_limit_s=limit)
    return process_time() - start, plan


def report(name, times, open_cases):
    print(
        f"{name:16} proven {len(times) - len(open_cases)}/{len(times)}"
        f"  median {median(times):.4f} s  max {max(times):.3f} s  sum {sum(times):.1f} s"
    )
    for line in open_cases:
        print("   not proven:", line)


def published(name, folder, limit):
    times, open_cases = [], []
    for line in (folder / f"{name}.jsonl").read_text().splitlines():
        instance = json.loads(line)
        pieces = [length for length, count in instance["pieces"] for _ in range(count)]
        seconds, plan = timed(pieces, [StockLength(instance["stock"])], 0, limit)
        times.append(seconds)
        if not plan.proven:
            boards = plan.objective / instance["stock"], plan.lower_bound / instance["stock"]
            open_cases.append(f"{instance['name']}: {boards[0]:.0f} against {boards[1]:.0f}")
    report(name, times, open_cases)


def carpentry_list(seed, count, step):
    """Lengths of 18 to 110 in, a third of them different, on a grid of `step` nm."""
    random = Random(seed)
    lengths = [random.uniform(18, 110) * INCH for _ in range(max(3, count // 3))]
    return [round(random.choice(lengths) / step) * step for _ in range(count)]


def assigned(pieces, stock, kerf, limit):
    """Plain model, each piece to a numbered board, on the same solver: seconds, cost, proven."""
    start = process_time()
    n = len(pieces)
    most = [min(n, -(-2 * sum(pieces) // s.length)) for s in stock]
    boards = [s for s, m in zip(stock, most, strict=True) for _ in range(m)]
    model = quiet_model()
    model.setOptionValue("time_limit", float(limit))
    model.setOptionValue("mip_rel_gap", 0.0)
    width = len(boards) * n
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = width + len(boards), n + len(boards)
    lp.col_cost_ = np.array([0.0] * width + [s.price for s in boards])
    lp.col_lower_, lp.col_upper_ = np.zeros(lp.num_col_), np.ones(lp.num_col_)
    lp.row_lower_ = np.array([1.0] * n + [-highspy.kHighsInf] * len(boards))
    lp.row_upper_ = np.array([1.0] * n + [0.0] * len(boards))
    index, value = [], []
    for b in range(len(boards)):
        for i, piece in enumerate(pieces):
            index += [i, n + b]
            value += [1.0, (piece + kerf) / INCH]
    for b, s in enumerate(boards):
        index.append(n + b)
        value.append(-(s.length + kerf) / INCH)
    starts = [2 * j for j in range(width)] + [2 * width + b for b in range(len(boards) + 1)]
    lp.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    lp.a_matrix_.start_ = np.array(starts, dtype=np.int32)
    lp.a_matrix_.index_ = np.array(index, dtype=np.int32)
    lp.a_matrix_.value_ = np.array(value)
    lp.integrality_ = [highspy.HighsVarType.kInteger] * lp.num_col_
    model.passModel(lp)
    model.run()
    proven = model.getModelStatus() == highspy.HighsModelStatus.kOptimal
    return process_time() - start, model.getInfo().objective_function_value, proven


def carpentry(limit):
    for step, name in ((INCH // 16, "1/16 in"), (1, "1 nm")):
        for count in (10, 20, 40, 80):
            times, open_cases = [], []
            for seed in range(30):
                pieces = carpentry_list(seed, count, step)
                seconds, plan = timed(pieces, STOCK, INCH // 8, limit)
                times.append(seconds)
                if not plan.proven:
                    open_cases.append(f"seed {seed}: gap {plan.gap:.2%}")
            report(f"{name} {count}", times, open_cases)


def ratio(limit):
    for count in (8, 12, 16, 24):
        ours, theirs, done = [], [], 0
        for seed in range(3):
            pieces = carpentry_list(seed, count, INCH // 16)
            seconds, plan = timed(pieces, STOCK, INCH // 8, limit)
            plain, cost, proven = assigned(pieces, STOCK, INCH // 8, 20)
            assert not proven or abs(cost - plan.cost) < 1e-6, (cost, plan.cost)
            assert cost > plan.cost - 1e-6
            ours.append(seconds)
            theirs.append(plain)
            done += proven
        print(
            f"assignment model, {count} pieces: {median(theirs) / median(ours):.0f} times as "
            f"long (median {median(theirs):.2f} s against {median(ours):.4f} s; it proved "
            f"{done} of 3 in 20 s)"
        )


def growth(limit):
    first = None
    for count in (20, 50, 100, 200, 500, 1000, 2000):
        times, proven = [], 0
        for seed in range(5):
            pieces = carpentry_list(seed, count, INCH // 16)
            seconds, plan = timed(pieces, STOCK, INCH // 8, limit)
            times.append(seconds)
            proven += plan.proven
        first = first or median(times)
        print(
            f"{count:5} pieces: median {median(times):.3f} s, max {max(times):.3f} s, "
            f"{median(times) / first:.1f} times 20 pieces, proven {proven}/5"
        )


def spliced(runs, stock, limit):
    """Splicing anywhere against even splices: seconds, plan, share saved, even splices."""
    rules = SpliceRules(least_piece=24 * INCH, clear=12 * INCH)
    pieces = [p for r in runs for p in evenly(SpliceRun(r), rules, max(s.length for s in stock))]
    even = cut(pieces, stock, INCH // 8, time_limit_s=limit)
    start = process_time()
    plan = splice_anywhere(runs, stock, INCH // 8, rules, time_limit_s=limit)
    seconds = process_time() - start
    assert plan.cut.cost <= even.cost + 1e-9, (plan.cut.cost, even.cost)
    return seconds, plan, 1 - plan.cut.cost / even.cost, len(pieces) - len(runs)


def splice(limit):
    """Runs of 30 to 260 in; one length on sale, three at one price per foot, and short cheap."""
    per_foot = [StockLength(12 * feet * INCH, 0.78 * feet) for feet in (8, 10, 12)]
    sales = {"12 ft": STOCK[-1:], "8, 10, 12 ft": per_foot, "6 ft cheapest": STOCK}
    for name, stock in sales.items():
        for count in (4, 8, 16, 30, 60):
            times, gaps, saved, more, proven = [], [], [], [], 0
            for seed in range(6):
                random = Random(seed)
                runs = [round(random.uniform(30, 260) * 16) * INCH // 16 for _ in range(count)]
                seconds, plan, share, even = spliced(runs, stock, limit)
                times.append(seconds)
                gaps.append(plan.cut.gap)
                saved.append(share)
                more.append(plan.splices - even)
                proven += plan.cut.proven
            print(
                f"splice {name}, {count:2} runs: proven {proven}/6, worst gap {max(gaps):.2%}, "
                f"median {median(times):.2f} s, max {max(times):.2f} s, saves "
                f"{sum(saved) / 6:.1%} of cost on even splices (most {max(saved):.1%}), "
                f"{sum(more) / 6:+.1f} splices",
                flush=True,
            )


SECTIONS = {"carpentry": carpentry, "ratio": ratio, "growth": growth, "splice": splice}


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("names", nargs="*", default=[*SETS, *SECTIONS])
    parser.add_argument("--limit", type=float, default=10.0)
    parser.add_argument("--sets", type=Path, default=FOLDER)
    chosen = parser.parse_args()
    for name in chosen.names:
        if name in SECTIONS:
            SECTIONS[name](chosen.limit)
        else:
            published(name, chosen.sets, chosen.limit)


if __name__ == "__main__":
    main()
