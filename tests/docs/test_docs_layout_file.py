"""docs/layout-file.md against the schema: every key, its default and its words, both ways."""

from __future__ import annotations

import re
from typing import Any, get_args, get_origin

import pytest
from docs_console import commands, mismatch, requoted, run, written
from docs_pages import DOCS, HOW, UPDATE, blocks, read, replaced, sections, table_rows

from bedplan.layout_file import (
    load_layout,
    schema,
    schema_enclosure,
    schema_goods,
    schema_ground,
    schema_order,
    schema_points,
)
from bedplan.plan import make_plan
from bedplan.units import parse

PAGE = "layout-file.md"
MODELS: dict[str, type[schema_goods.Table]] = {
    "Points": schema_points.TiedPoint,
    "Top of the file": schema.LayoutFile,
    "enclosure": schema_enclosure.EnclosureTable,
    "posts": schema_enclosure.PostsTable,
    "tape": schema_enclosure.TapeTable,
    "gate": schema.GateTable,
    "plant": schema.PlantTable,
    "pipe": schema.PipeTable,
    "bed": schema.BedTable,
    "rectangle": schema.RectangleTable,
    "circle": schema.CircleTable,
    "mulch": schema.MulchTable,
    "layer": schema.LayerTable,
    "path": schema.PathTable,
    "ground": schema_ground.GroundTable,
    "spot": schema_ground.SpotTable,
    "fall": schema_ground.FallTable,
    "soil": schema_ground.SoilTable,
    "bond": schema_goods.BondTable,
    "step": schema_goods.StepTable,
    "motif unit": schema_goods.MotifUnitTable,
    "board": schema_goods.BoardTable,
    "stake": schema_goods.StakeTable,
    "screw": schema_goods.ScrewTable,
    "stock and rolls": schema_goods.StockTable,
    "paver": schema_goods.PaverTable,
    "fabric": schema_goods.FabricTable,
    "material": schema_goods.MaterialTable,
    "bulk": schema_goods.BulkTable,
    "bags": schema_goods.BagTable,
    "order": schema_order.OrderTable,
    "planting": schema_order.PlantingTable,
}


def keys_of(model: type[schema_goods.Table]) -> dict[str, Any]:
    return {field.alias or name: field for name, field in model.model_fields.items()}


def rows_of(heading: str) -> dict[str, list[str]]:
    rows = table_rows(sections(read(PAGE))[heading])
    return {key: row for row in rows for key in re.findall(r"`([^`]+)`", row[0])}


def test_every_table_of_the_schema_has_its_section():
    mentioned = {
        model
        for module in (schema, schema_enclosure, schema_goods, schema_ground, schema_points)
        for model in vars(module).values()
        if isinstance(model, type) and issubclass(model, schema_goods.Table)
    }
    # a price list has no keys that the top of a layout has not
    assert mentioned - set(MODELS.values()) == {schema_goods.Table, schema_goods.PriceList}


@pytest.mark.parametrize("heading", MODELS)
def test_keys_of_the_page_are_the_keys_of_the_schema(heading):
    assert set(rows_of(heading)) == set(keys_of(MODELS[heading]))


def cases():
    return [(heading, key) for heading, model in MODELS.items() for key in keys_of(model)]


@pytest.mark.parametrize(("heading", "key"), cases())
def test_default_of_the_page_is_that_of_the_schema(heading, key):
    field, said = keys_of(MODELS[heading])[key], rows_of(heading)[key][2]
    if field.is_required():
        assert said == "needed"
        return
    default = field.get_default(call_default_factory=True)
    if default is None:
        assert said == "–"
    elif isinstance(default, bool):
        assert said == f"`{str(default).lower()}`"
    elif isinstance(default, str):
        assert said == f'`"{default}"`'
    elif isinstance(default, list | dict):
        assert said == f"`{default}`"
    else:
        word = said.strip("`").strip('"')
        number = parse(word, "length") if " " in word else float(word)
        assert number == pytest.approx(default)


def words_of(annotation: Any) -> list[str]:
    if get_origin(annotation) is not None and "Literal" in str(get_origin(annotation)):
        return [
            f'"{word}"' if isinstance(word, str) else str(word) for word in get_args(annotation)
        ]
    return [word for inner in get_args(annotation) for word in words_of(inner)]


def test_every_word_a_key_may_be_is_listed_and_no_other():
    listed = 0
    for heading, model in MODELS.items():
        for key, field in keys_of(model).items():
            words = words_of(field.annotation)
            if words:
                listed += 1
                assert re.findall(r"`([^`]+)`", rows_of(heading)[key][1]) == words, (heading, key)
    assert listed >= 8


@pytest.fixture
def folder(tmp_path):
    """Lay out the files of the page: its pieces of TOML joined, and those with a name."""
    joined = ""
    for block in blocks(read(PAGE)):
        if block.kind == "toml" and block.mark.startswith("file: "):
            (tmp_path / block.mark.removeprefix("file: ")).write_text(block.text, "utf-8")
        elif block.kind == "toml":
            joined += block.text + "\n"
    (tmp_path / "back-yard.toml").write_text(joined, "utf-8")
    return tmp_path


def test_the_pieces_of_the_page_are_one_garden_that_works(folder):
    plan = make_plan(load_layout(folder / "back-yard.toml"))
    assert plan.layout.title == "Back yard"
    assert len(plan.site.beds) == 5
    assert plan.layout.pavers["slab"].on_hand == 8
    assert not [finding for finding in plan.findings if finding.severity == "error"]


def test_faults_read_as_the_page_says(folder, monkeypatch, capsys):
    page, changes = read(PAGE), []
    for block in blocks(page):
        if block.kind != "console":
            continue
        made = commands(block.text)
        for number, each in enumerate(made):
            output = run(each.line, folder, monkeypatch, capsys)
            if UPDATE:
                made[number] = type(each)(each.line, requoted(each.quoted, output) or output)
                continue
            wrong = mismatch(each.quoted, output) if each.quoted else "nothing"
            assert not wrong, (
                f"docs/{PAGE} quotes {each.line!r} wrongly; {HOW}\nquoted: {wrong}\n\n{output}"
            )
        changes.append((block, written(made).rstrip("\n") + "\n"))
    assert changes
    if UPDATE:
        (DOCS / PAGE).write_text(replaced(page, changes), encoding="utf-8")
