"""From the file's tables to the layout the engines work on (layer: layout_file).

Public entry point: `build_layout`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from bedplan.layout_file.quantities import SaleUnit
from bedplan.layout_file.schema import (
    BedTable,
    CircleTable,
    EnclosureTable,
    GateTable,
    LayerTable,
    LayoutFile,
    PathTable,
    PlaceTable,
    PlantTable,
    TiedPoint,
)
from bedplan.layout_file.schema_goods import (
    BoardTable,
    BondTable,
    BulkTable,
    FabricTable,
    MaterialTable,
    MotifUnitTable,
    PaverTable,
    PriceList,
    StepTable,
    StockTable,
)
from bedplan.model.bonds import BondPattern, MotifUnit, Step
from bedplan.model.layout import (
    AlongSides,
    Around,
    BedShape,
    BedSpec,
    Centerline,
    Circle,
    EnclosureSpec,
    Gate,
    Layer,
    Layout,
    Outline,
    PathShape,
    PathSpec,
    Paving,
    Place,
    Plant,
    PostRow,
    Posts,
    Rectangle,
    Rest,
    SidePoint,
)
from bedplan.model.materials import Bag, Board, Bulk, Fabric, Material, Paver, StockItem

NOTHING = "none"
"""What a file writes for no barrier or no edging."""


def build_layout(file: LayoutFile, lists: list[PriceList]) -> Layout:
    """Return the layout a file describes.

    Parameters
    ----------
    file
        The layout file, with every reference checked.
    lists
        The price lists it includes. Where two define a name, the later in this list wins, and
        the layout's own goods win over all.
    """
    goods = [*lists, file]
    return Layout(
        title=file.title,
        enclosure=_enclosure(file.enclosure),
        gates=tuple(_gate(gate) for gate in file.gate),
        plants=tuple(_plant(plant) for plant in file.plant),
        beds=tuple(_bed(bed) for bed in file.bed),
        paths=tuple(_path(path) for path in file.path),
        boards={name: _board(name, board) for each in goods for name, board in each.board.items()},
        pavers={name: _paver(name, paver) for each in goods for name, paver in each.paver.items()},
        fabrics={
            name: _fabric(name, fabric) for each in goods for name, fabric in each.fabric.items()
        },
        materials={
            name: _material(name, material)
            for each in goods
            for name, material in each.material.items()
        },
        show=_show(file),
        bonds={name: _bond(name, bond) for each in goods for name, bond in each.bond.items()},
    )


def _show(file: LayoutFile) -> Literal["imperial", "metric"]:
    metric_file = file.unit in ("m", "cm", "mm")
    return file.show or ("metric" if metric_file else "imperial")


def _pair(values: list[float]) -> tuple[float, float]:
    first, second = values
    return first, second


def _place(point: PlaceTable) -> Place:
    if isinstance(point, TiedPoint):
        return SidePoint(point.side, point.along, point.in_)
    return _pair(point)


def _enclosure(table: EnclosureTable) -> EnclosureSpec:
    corners = tuple((name, _pair(at)) for name, at in table.corners.items())
    if table.posts is None:
        return EnclosureSpec(corners)
    rows: Mapping[str, list[float]] = table.posts.__pydantic_extra__
    posts = Posts(
        table.posts.size,
        table.posts.proud,
        tuple(PostRow(side, tuple(along)) for side, along in rows.items()),
    )
    return EnclosureSpec(corners, posts)


def _gate(table: GateTable) -> Gate:
    return Gate(
        table.name,
        table.side,
        table.along,
        table.opening,
        table.leaves,
        table.hinge or "",
        table.opens,
        table.gap_below,
    )


def _plant(table: PlantTable) -> Plant:
    return Plant(
        table.name, _place(table.at), table.stem, table.spread, table.keep_clear, table.existing
    )


def _bed(table: BedTable) -> BedSpec:
    return BedSpec(
        table.name,
        _bed_shape(table),
        _named(table.edging),
        table.against_fence,
        _named(table.barrier),
        _layer(table.mulch) if table.mulch else None,
        tuple(_layer(layer) for layer in table.layers),
    )


def _bed_shape(table: BedTable) -> BedShape:
    """Return the one shape of a bed; the rules have seen to it that there is exactly one."""
    if table.along is not None and table.width is not None:
        return AlongSides(tuple(table.along), table.width, table.start, table.end)
    if table.rectangle is not None:
        box = table.rectangle
        return Rectangle(_place(box.center), _pair(box.size), box.square_to)
    if table.circle is not None:
        return _circle(table.circle)
    if table.polygon is not None:
        return Outline(tuple(_place(point) for point in table.polygon))
    return Around(tuple(table.around or ()), table.clearance or 0.0, table.square_to)


def _circle(table: CircleTable) -> Circle:
    radius_m = table.radius if table.radius is not None else (table.diameter or 0.0) / 2
    return Circle(_place(table.center), radius_m, table.facets)


def _path(table: PathTable) -> PathSpec:
    return PathSpec(
        table.name,
        _path_shape(table),
        _named(table.barrier),
        _paving(table),
        tuple(_layer(layer) for layer in table.layers),
        table.joint_fill,
    )


def _path_shape(table: PathTable) -> PathShape:
    if table.polygon is not None:
        return Outline(tuple(_place(point) for point in table.polygon))
    if table.centerline is not None and table.width is not None:
        return Centerline(tuple(_place(point) for point in table.centerline), table.width)
    return Rest()


def _paving(table: PathTable) -> Paving | None:
    if table.pavers is None:
        return None
    joint_m = _pair(table.joint) if isinstance(table.joint, list) else (table.joint, table.joint)
    return Paving(
        table.pavers,
        table.bond,
        table.offset,
        table.direction,
        joint_m,
        table.stride,
        table.second,
    )


def _layer(table: LayerTable) -> Layer:
    return Layer(table.material, table.depth)


def _named(name: str | None) -> str | None:
    return None if name == NOTHING else name


def _stock(tables: list[StockTable]) -> tuple[StockItem, ...]:
    return tuple(StockItem(item.length, item.price, item.limit) for item in tables)


def _board(name: str, table: BoardTable) -> Board:
    return Board(
        name,
        table.thickness,
        table.height,
        table.kerf,
        table.end_trim,
        table.corner,
        table.through,
        _stock(table.stock),
        tuple(table.on_hand),
        table.splice_clear,
        table.bends,
    )


def _paver(name: str, table: PaverTable) -> Paver:
    length_m, width_m = _pair(table.size)
    return Paver(
        name,
        length_m,
        width_m,
        table.thickness,
        table.price,
        table.weight,
        table.on_hand,
        table.limit,
    )


def _bond(name: str, table: BondTable) -> BondPattern:
    units = [MotifUnit(_step(unit), unit.turned, unit.face - 1) for unit in table.units]
    return BondPattern(name, tuple(units), _step(table.along), _step(table.across))


def _step(table: StepTable | MotifUnitTable) -> Step:
    return Step(tuple(table.x), tuple(table.y))


def _fabric(name: str, table: FabricTable) -> Fabric:
    return Fabric(
        name,
        table.width,
        table.lap,
        table.turn_up,
        _stock(table.rolls),
        table.pin_every,
        tuple(table.on_hand),
        table.pin_price,
    )


def _material(name: str, table: MaterialTable) -> Material:
    bulk = _bulk(table.bulk) if table.bulk else None
    return Material(
        name,
        table.compaction,
        table.density,
        table.sold_by or (bulk.measure if bulk else None),
        bulk,
        tuple(Bag(bag.volume, bag.price) for bag in table.bags),
        table.on_hand,
    )


def _bulk(table: BulkTable) -> Bulk:
    per: SaleUnit = table.per
    return Bulk(
        per.measure, per.text, per.size, table.step, table.minimum, table.price, table.delivery
    )
