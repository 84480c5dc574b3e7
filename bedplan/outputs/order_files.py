"""An order as CSV, as a workbook whose sums are alive, as a list for the phone (layer: outputs).

Public entry points: `order_csv`, `order_workbook`, `order_list`.
"""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from itertools import groupby
from typing import TYPE_CHECKING, Final

from bedplan.outputs.csv_files import written
from bedplan.outputs.table import money
from bedplan.plan import Plan
from bedplan.takeoff.order_lines import OrderLine

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

HEADINGS: Final = ("for", "item", "quantity", "unit", "price", "delivery", "cost", "note")
WIDTHS: Final = (14, 30, 10, 12, 10, 10, 12, 48)
"""Widths of the workbook's columns, in characters."""

MONEY: Final = "0.00"


def order_csv(plan: Plan) -> bytes:
    """Return the order as a CSV file: one row a line, empty where a price is missing."""
    return written(HEADINGS, (_row(line) for line in plan.order.lines))


def _row(line: OrderLine) -> list[object]:
    cost = "" if line.cost is None else f"{line.cost:.2f}"
    price = "" if line.price is None else f"{line.price:g}"
    delivery = f"{line.fixed:g}" if line.fixed else ""
    quantity = f"{line.quantity:.10g}"
    return [line.group, line.item, quantity, line.unit, price, delivery, cost, line.note]


def order_list(plan: Plan) -> bytes:
    """Return the order as a plain text with a box to tick before every line."""
    lines = [plan.layout.title, ""]
    for group, members in groupby(plan.order.lines, key=lambda line: line.group):
        lines.append(group.upper())
        lines += [f"[ ] {_asked(line)}" for line in members]
        lines.append("")
    total = money(plan.order.total)
    lines.append(f"Total {total}" + (" with tax" if plan.order.tax else ""))
    if plan.order.missing:
        lines.append(f"No price for: {', '.join(plan.order.missing)}")
    return ("\n".join(lines) + "\n").encode()


def _asked(line: OrderLine) -> str:
    unit = "×" if line.unit == "each" else line.unit
    return f"{line.quantity:g} {unit} {line.item}"


def order_workbook(plan: Plan) -> bytes:
    """Return the order as an .xlsx workbook whose costs and sums are formulas.

    A price typed into an empty cell, or another quantity, goes into every sum.
    """
    from openpyxl import Workbook  # noqa: PLC0415 - only this command needs it

    book = Workbook()
    sheet = book.active
    sheet.title = "Order"
    sheet.append(HEADINGS)
    for line in plan.order.lines:
        _write_line(sheet, line)
    last = len(plan.order.lines) + 1
    _write_sums(sheet, plan, last)
    _dress(sheet)
    target = BytesIO()
    book.save(target)
    return target.getvalue()


def _write_line(sheet: Worksheet, line: OrderLine) -> None:
    row = sheet.max_row + 1
    texts = {1: line.group, 2: line.item, 4: line.unit, 8: line.note}
    for column, text in texts.items():
        _write_text(sheet, row, column, text)
    sheet.cell(row, 3, line.quantity)
    sheet.cell(row, 5, line.price)
    sheet.cell(row, 6, line.fixed or None)
    sheet.cell(row, 7, f'=IF(ISNUMBER(E{row}),C{row}*E{row}+N(F{row}),"")')


def _write_text(sheet: Worksheet, row: int, column: int, text: str) -> None:
    """Write a text as a text, even one that begins with an equals sign."""
    if text:
        cell = sheet.cell(row, column, text)
        cell.data_type = "s"


def _write_sums(sheet: Worksheet, plan: Plan, last: int) -> None:
    """Write a sum for each group, the sum of all, the tax and the sum with it."""
    row = last + 2
    for group in plan.order.groups:
        _write_text(sheet, row, 2, f"{group.group}, sum")
        sheet.cell(row, 7, f'=SUMIF(A2:A{last},"{group.group}",G2:G{last})')
        row += 1
    sums: Sequence[tuple[str, float | None, str]] = (
        ("all priced lines", None, f"=SUM(G2:G{last})" if last > 1 else "=0"),
        ("tax", plan.layout.terms.tax, f"=G{row}*E{row + 1}"),
        ("with tax", None, f"=G{row}+G{row + 1}"),
        ("lines without a price", None, f"=COUNTBLANK(E2:E{last})" if last > 1 else "=0"),
    )
    for words, rate, formula in sums:
        _write_text(sheet, row, 2, words)
        sheet.cell(row, 5, rate)
        sheet.cell(row, 7, formula)
        if rate is not None:
            sheet.cell(row, 5).number_format = "0.00%"
        row += 1


def _dress(sheet: Worksheet) -> None:
    """Set headings bold and fixed, columns wide enough, money with two decimals."""
    from openpyxl.styles import Font  # noqa: PLC0415 - only this command needs it
    from openpyxl.utils import get_column_letter  # noqa: PLC0415 - only this command needs it

    for number, width in enumerate(WIDTHS, start=1):
        sheet.column_dimensions[get_column_letter(number)].width = width
        sheet.cell(1, number).font = Font(bold=True)
    for row in range(2, sheet.max_row):
        sheet.cell(row, 7).number_format = MONEY
    sheet.freeze_panes = "A2"
