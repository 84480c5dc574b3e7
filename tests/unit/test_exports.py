"""GeoPackage layers read back by an independent reader (pyogrio)."""

from __future__ import annotations

from pathlib import Path

import geopandas as gpd
import pyogrio
import pytest

import bedplan
from bedplan.errors import OutputError
from bedplan.outputs.exports import write_geopackage


@pytest.fixture(scope="module")
def plan() -> bedplan.Plan:
    root = Path(__file__).parents[2]
    return bedplan.make_plan(bedplan.load_layout(root / "layouts" / "corner-plot.toml"))


def test_layers_come_back_with_their_figures_and_grid(plan, tmp_path):
    target = tmp_path / "plot.gpkg"
    write_geopackage(plan, target)
    back = {name: gpd.read_file(target, layer=name) for name, _ in pyogrio.list_layers(target)}
    assert len(back["units"]) == sum(walk.count for walk in plan.walks)
    assert len(back["boards"]) == sum(len(edged.pieces) for edged in plan.edging)
    assert set(back["beds"].name) == {bed.spec.name for bed in plan.site.beds}
    assert back["beds"].area.sum() == pytest.approx(back["beds"].area_m2.sum(), rel=1e-9)
    ground = back["beds"].area.sum() + back["paths"].area.sum()
    assert ground == pytest.approx(back["fence"].area.sum(), abs=1e-6)
    for frame in back.values():
        assert frame.crs.name == "bedplan local grid"
        assert frame.crs.axis_info[0].unit_name == "metre"


def test_a_folder_that_is_not_there_leaves_nothing(plan, tmp_path):
    with pytest.raises(OutputError, match="cannot be written"):
        write_geopackage(plan, tmp_path / "no" / "plot.gpkg")
    assert list(tmp_path.iterdir()) == []
