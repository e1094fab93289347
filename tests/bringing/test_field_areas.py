"""Hectares of drawn fields."""

import numpy as np
import pytest
import shapely
from pyproj import Transformer

from logistics.bringing.field_areas import hectares
from logistics.bringing.geo_files import read_geodata


def test_a_band_of_the_earth_has_the_area_of_the_closed_form():
    """
    Between two meridians and two parallels, by the authalic function of the ellipsoid.

    Snyder, J. P., Map Projections: A Working Manual, USGS Professional Paper 1395,
    1987, equation 3-12 (from memory). Sides along the parallels are drawn with many
    corners, as geodesics between two would leave them.
    """
    a, f = 6_378_137.0, 1 / 298.257223563
    e = np.sqrt(f * (2 - f))

    def q(lat):
        s = np.sin(np.radians(lat))
        part = s / (1 - e**2 * s**2) - np.log((1 - e * s) / (1 + e * s)) / (2 * e)
        return (1 - e**2) * part

    whole = a**2 * np.radians(0.3) * (q(41.2) - q(41.0)) / 2
    band = shapely.segmentize(shapely.box(12.0, 41.0, 12.3, 41.2), 0.001)
    assert hectares(np.array([band]))[0] == pytest.approx(whole / 1e4, rel=1e-7)


def test_a_quadrilateral_has_the_area_of_its_equal_area_plane():
    corners = [(-30.45, 0.55), (-30.44, 0.552), (-30.441, 0.561), (-30.452, 0.558)]
    field = shapely.polygons(corners)
    hole = shapely.box(-30.447, 0.554, -30.446, 0.555)
    plane = Transformer.from_crs(
        4326, "+proj=laea +lat_0=0.555 +lon_0=-30.446 +ellps=WGS84", always_xy=True
    )
    flat = shapely.transform(
        shapely.difference(field, hole), plane.transform, interleaved=False
    )
    found = hectares(
        np.array([shapely.difference(field, hole), shapely.reverse(field),
                  shapely.points(0, 0), shapely.multipolygons([field, hole])])
    )  # fmt: skip
    assert found[0] == pytest.approx(shapely.area(flat) / 1e4, rel=1e-6)
    assert found[1] == pytest.approx(found[0] + hectares(np.array([hole]))[0])
    assert found[2] == 0
    assert found[3] > found[1] > found[0] > 50


@pytest.mark.parametrize(("column", "measured"), [("owner", True), ("area_ha", False)])
def test_fields_are_measured_where_no_column_gives_an_area(tmp_path, column, measured):
    import geopandas

    fields = [
        shapely.box(-30.46, 0.55, -30.45, 0.56),
        shapely.box(-30.4, 0.5, -30.39, 0.505),
    ]
    frame = geopandas.GeoDataFrame(
        {"name": ["North", "South"], column: ["1", "2"]}, geometry=fields, crs=4326
    )
    frame.to_file(tmp_path / "fields.gpkg")
    (sheet,) = read_geodata(tmp_path / "fields.gpkg")
    assert ("hectares" in sheet.rows[0]) == measured
    told = [words for words in sheet.said if "hectares were measured" in words]
    assert len(told) == measured
    if measured:
        found = [float(row[sheet.rows[0].index("hectares")]) for row in sheet.rows[1:]]
        assert found == pytest.approx(hectares(np.array(fields)), abs=1e-4)
