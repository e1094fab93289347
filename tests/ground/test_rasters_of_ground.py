"""Slope and heads from rasters, against planes of known slope and plain sums."""

import builtins

import numpy as np
import pytest
import shapely
from pyproj import Proj, Transformer
from support.map_extract import with_sites

from logistics.ground import district_area, heads_within, plane_of, site_slopes_pct
from logistics.ground.rasters import raster_of
from logistics.ground.slopes import plane_slope_pct
from logistics.scenario import ScenarioError, read_scenario

rasterio = pytest.importorskip("rasterio", reason="needs the part [terrain]")
UTM = "EPSG:32625"
LON, LAT = -30.45, 0.55


def written(path, values, x, y, cell, crs, nodata=None):
    """Write a GeoTIFF whose upper left corner lies at x, y."""
    with rasterio.open(
        path, "w", driver="GTiff", width=values.shape[1], height=values.shape[0],
        count=1, dtype="float64", crs=crs, nodata=nodata,
        transform=rasterio.transform.from_origin(x, y, cell, cell),
    ) as file:  # fmt: skip
        file.write(values, 1)
    return path


def tilted(path, east, north):
    """A plane that rises by `east` and `north` [m/m] in cells of 30 m of UTM."""
    x0, y0 = Transformer.from_crs(4326, UTM, always_xy=True).transform(LON, LAT)
    column, row = np.meshgrid(np.arange(40) + 0.5, np.arange(40) + 0.5)
    heights = 50 + east * 30 * column - north * 30 * row
    return written(path, heights, x0 - 600, y0 + 600, 30, UTM, nodata=-9999)


@pytest.mark.parametrize(("east", "north"), [(0.03, 0.04), (0.0, 0.0), (-0.2, 0.1)])
def test_a_plane_has_the_slope_it_was_made_with(tmp_path, east, north):
    """A metre of UTM is no metre on the ground: pyproj says by how much."""
    path = tilted(tmp_path / "h.tif", east, north)
    lon, lat = np.array([LON, LON + 0.001]), np.array([LAT, LAT - 0.001])
    found = site_slopes_pct(path, lon, lat, np.array([15_000.0, 10.0]))
    scale = Proj(UTM).get_factors(LON, LAT).meridional_scale
    assert scale == pytest.approx(1.0005, abs=0.0002)
    expected = 100 * np.hypot(east, north) * scale
    assert found == pytest.approx(expected, rel=2e-5, abs=1e-9)


def test_degrees_are_no_metres(tmp_path):
    """The same rise in a raster in degrees, whose cells are narrower in the north."""
    cell = 0.0003
    rows = np.arange(200)[:, None] * np.ones(200)
    columns = rows.T
    for north in (0.0, 60.0):
        path = tmp_path / f"{north:g}.tif"
        wide = 111_320 * np.cos(np.radians(north)) * cell
        written(path, 0.05 * wide * columns, 10, north + 0.03, cell, "EPSG:4326")
        found = site_slopes_pct(
            path, np.array([10.03]), np.array([north]), np.array([20_000.0])
        )
        assert found[0] == pytest.approx(5.0, rel=0.01)


def test_where_there_is_no_height_the_slope_is_unknown(tmp_path):
    path = tilted(tmp_path / "h.tif", 0.05, 0.0)
    far = site_slopes_pct(path, np.array([LON + 1]), np.array([LAT]), np.array([1e4]))
    assert np.isnan(far).all()
    with rasterio.open(path, "r+") as file:
        file.write(np.full((40, 40), -9999.0), 1)
    gone = site_slopes_pct(path, np.array([LON]), np.array([LAT]), np.array([1e4]))
    assert np.isnan(gone).all()


def test_a_slope_needs_six_heights_that_are_not_on_one_line():
    x, y = np.array([0, 1, 2, 0, 1, 2.0]), np.array([0, 0, 0, 1, 1, 1.0])
    assert plane_slope_pct(x, y, 0.1 * x) == pytest.approx(10)
    assert np.isnan(plane_slope_pct(x[:5], y[:5], 0.1 * x[:5]))
    assert np.isnan(plane_slope_pct(x, 2 * x, 0.1 * x))


@pytest.fixture(scope="module")
def scenario(tmp_path_factory):
    return read_scenario(with_sites(tmp_path_factory.mktemp("crane") / "crane"))


def people(path, rng):
    heads = rng.poisson(3, (300, 300)) * (rng.uniform(size=(300, 300)) < 0.2)
    return written(path, heads.astype(float), -30.6, 0.7, 0.001, "EPSG:4326"), heads


def test_heads_are_those_of_the_cells_in_the_district(tmp_path, scenario):
    """A plain sum over all cells, each asked whether its middle lies in the area."""
    path, heads = people(tmp_path / "p.tif", np.random.default_rng(5))
    plane = plane_of(scenario)
    area = district_area(scenario, 5.0, plane)
    found = heads_within(path, area, plane)
    total, moment = 0.0, 0.0
    for row in range(300):
        for column in np.flatnonzero(heads[row]):
            lon, lat = -30.6 + 0.001 * (column + 0.5), 0.7 - 0.001 * (row + 0.5)
            x, y = plane.xy(np.array([lon]), np.array([lat]))
            if shapely.contains_xy(area, x[0], y[0]):
                total += heads[row, column]
                moment += heads[row, column] * x[0]
    assert 0 < total < heads.sum()
    assert found["heads"].sum() == pytest.approx(total)
    x, _ = plane.xy(found["lon"].to_numpy(), found["lat"].to_numpy())
    assert (x * found["heads"]).sum() == pytest.approx(moment, rel=1e-6)
    assert len(found) < 0.4 * (heads > 0).sum()


@pytest.mark.parametrize(("most", "passes"), [(1_000_000, True), (1_000_001, False)])
def test_a_raster_that_counts_something_else_is_refused(
    tmp_path, scenario, most, passes
):
    heads = np.zeros((300, 300))
    heads[150, 150] = most
    path = written(tmp_path / "p.tif", heads, -30.6, 0.7, 0.001, "EPSG:4326")
    plane = plane_of(scenario)
    area = district_area(scenario, 5.0, plane)
    if passes:
        assert heads_within(path, area, plane)["heads"].tolist() == [most]
        return
    with pytest.raises(ScenarioError, match="counts heads in each cell"):
        heads_within(path, area, plane)


def test_a_file_that_is_no_raster_is_refused(tmp_path):
    for name, data, why in (
        ("a.vrt", b"<VRTDataset/>", "is no raster that is read"),
        ("a.tif", b"<VRTDataset/>", "is not a TIFF file"),
        ("a.tif", b"II*\x00 and nothing more", "cannot be read as GeoTIFF"),
    ):
        (tmp_path / name).write_bytes(data)
        with pytest.raises(ScenarioError, match=why), raster_of(tmp_path / name):
            pass


def test_without_rasterio_one_sentence_says_how_to_get_it(tmp_path, monkeypatch):
    path = tilted(tmp_path / "h.tif", 0.1, 0.0)
    real = builtins.__import__

    def without(name, *rest, **more):
        if name == "rasterio":
            raise ImportError(name)
        return real(name, *rest, **more)

    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(ScenarioError) as fault, raster_of(path):
        pass
    assert "needs rasterio, which is not installed" in str(fault.value)
    assert "pip install 'loamhaul[terrain]'" in str(fault.value)
