"""From the file's tables to the layout the engines work on (layer: layout_file).

Public entry point: `build_layout`.
"""

from __future__ import annotations

from typing import Literal

from bedplan.layout_file.build_enclosure import build_enclosure
from bedplan.layout_file.build_ground import build_ground
from bedplan.layout_file.build_order import loose_material, order_terms, planting
from bedplan.layout_file.schema import (
    BedTable,
    CircleTable,
    GateTable,
    LayerTable,
    LayoutFile,
    MulchTable,
    PathTable,
    PipeTable,
    PlantTable,
)
from bedplan.layout_file.schema_goods import (
    BoardTable,
    BondTable,
    FabricTable,
    MotifUnitTable,
    PaverTable,
    PriceList,
    ScrewTable,
    StakeTable,
    StepTable,
    StockTable,
)
from bedplan.layout_file.schema_points import place_of
from bedplan.model.bonds import BondPattern, MotifUnit, Step
from bedplan.model.layout import (
    AlongSides,
    Around,
    BedShape,
    BedSpec,
    Centerline,
    Circle,
    Gate,
    Layer,
    Layout,
    Outline,
    PathShape,
    PathSpec,
    Paving,
    Pipe,
    Plant,
    Rectangle,
    Rest,
)
from bedplan.model.materials import (
    Board,
    Fabric,
    Paver,
    Screw,
    Stake,
    StockItem,
)

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
        enclosure=build_enclosure(file.enclosure),
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
            name: loose_material(name, material)
            for each in goods
            for name, material in each.material.items()
        },
        show=_show(file),
        bonds={name: _bond(name, bond) for each in goods for name, bond in each.bond.items()},
        stakes={name: _stake(name, stake) for each in goods for name, stake in each.stake.items()},
        screws={name: _screw(name, screw) for each in goods for name, screw in each.screw.items()},
        pipes=tuple(_pipe(pipe) for pipe in file.pipe),
        terms=order_terms(file.order),
        plantings=tuple(planting(row) for row in file.planting),
        ground=build_ground(file),
    )


def _show(file: LayoutFile) -> Literal["imperial", "metric"]:
    metric_file = file.unit in ("m", "cm", "mm")
    return file.show or ("metric" if metric_file else "imperial")


def _pair(values: list[float]) -> tuple[float, float]:
    first, second = values
    return first, second


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


def _pipe(table: PipeTable) -> Pipe:
    return Pipe(table.name, tuple(place_of(point) for point in table.line), table.clear)


def _plant(table: PlantTable) -> Plant:
    return Plant(
        table.name, place_of(table.at), table.stem, table.spread, table.keep_clear, table.existing
    )


def _bed(table: BedTable) -> BedSpec:
    return BedSpec(
        table.name,
        _bed_shape(table),
        _named(table.edging),
        table.against_fence,
        _named(table.barrier),
        _mulch(table.mulch) if table.mulch else None,
        tuple(_layer(layer) for layer in table.layers),
        table.height,
        table.tiers,
    )


def _bed_shape(table: BedTable) -> BedShape:
    """Return the one shape of a bed; the rules have seen to it that there is exactly one."""
    if table.along is not None and table.width is not None:
        return AlongSides(tuple(table.along), table.width, table.start, table.end)
    if table.rectangle is not None:
        box = table.rectangle
        return Rectangle(place_of(box.center), _pair(box.size), box.square_to)
    if table.circle is not None:
        return _circle(table.circle)
    if table.polygon is not None:
        return Outline(tuple(place_of(point) for point in table.polygon))
    return Around(tuple(table.around or ()), table.clearance or 0.0, table.square_to)


def _circle(table: CircleTable) -> Circle:
    radius_m = table.radius if table.radius is not None else (table.diameter or 0.0) / 2
    return Circle(place_of(table.center), radius_m, table.facets, table.sagitta or 0.0)


def _path(table: PathTable) -> PathSpec:
    return PathSpec(
        table.name,
        _path_shape(table),
        _named(table.barrier),
        _paving(table),
        tuple(_layer(layer) for layer in table.layers),
        table.joint_fill,
        table.base_beyond,
    )


def _path_shape(table: PathTable) -> PathShape:
    if table.polygon is not None:
        return Outline(tuple(place_of(point) for point in table.polygon))
    if table.centerline is not None and table.width is not None:
        return Centerline(tuple(place_of(point) for point in table.centerline), table.width)
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
    return Layer(table.material, table.depth, table.there)


def _mulch(table: MulchTable) -> Layer:
    if table.depth == "on hand":
        return Layer(table.material, table.there, table.there, from_heap=True)
    return Layer(table.material, table.depth, table.there)


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
        table.at_posts,
        table.stake,
        table.screws,
        table.stagger,
        table.block,
        table.splice,
        table.least_piece,
        table.corner_screws,
        table.block_screws,
        table.stake_screws,
        table.connector_price,
        table.waste,
    )


def _stake(name: str, table: StakeTable) -> Stake:
    return Stake(
        name,
        table.size,
        table.length,
        table.every,
        table.above,
        table.price,
        table.on_hand,
        table.pack,
    )


def _screw(name: str, table: ScrewTable) -> Screw:
    return Screw(name, table.length, table.pack, table.price, table.on_hand)


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
        table.waste,
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
