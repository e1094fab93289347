"""
UTM metres, degrees with minutes and seconds: worked examples of handbooks, and pyproj.

UTM: Snyder, Map Projections: A Working Manual, US Geological Survey Professional Paper
1395, 1987, numerical examples, pp. 269-270 (Clarke 1866 ellipsoid):
40° 30' N, 73° 30' W
in zone 18 is x = 627,106.5 m, y = 4,484,124.4 m. From memory.

Degrees: Ordnance Survey, A Guide to Coordinate Systems in Great Britain, worked example
of annex C (transverse Mercator): 52° 39' 27.2531" N, 1° 43' 4.5177" E on the Airy
ellipsoid is E 651,409.903 m, N 313,177.270 m of the National Grid. From memory.
"""

import pytest
from pyproj import Transformer

from logistics.bringing.angles import degrees_of, pair_of

CLARKE = "+proj=utm +zone=18 +ellps=clrk66"
CENTIMETRE = 1e-7
"""In degrees, about."""


def brought(lon_text, lat_text, system):
    """Bring one mill in from a file of metres; its longitude and latitude."""
    from logistics.bringing.places import _in_degrees

    points = {1: (float(lon_text), float(lat_text))}
    return _in_degrees(None, points, system, [])[1]


def test_utm_of_snyder():
    lon, lat = brought("627106.5", "4484124.4", CLARKE)
    assert (lon, lat) == pytest.approx((-73.5, 40.5), abs=1e-6)  # x, y to 0.1 m
    assert abs(brought("627206.5", "4484124.4", CLARKE)[0] + 73.5) > 1e-3


def test_degrees_of_the_ordnance_survey():
    lat, north = degrees_of("52° 39' 27.2531\" N")
    lon, east = degrees_of("1° 43' 4.5177\" E")
    assert (north, east) == ("lat", "lon")
    grid = "+proj=tmerc +lat_0=49 +lon_0=-2 +k=0.9996012717 +x_0=400000 "
    grid += "+y_0=-100000 +ellps=airy"
    turn = Transformer.from_pipeline(
        f"+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad +step {grid}"
    )
    assert turn.transform(lon, lat) == pytest.approx(
        (651_409.903, 313_177.270), abs=0.002
    )


def test_one_cell_with_both_is_what_two_cells_are():
    first, second, _ = pair_of("52° 39' 27.2531\" N, 1° 43' 4.5177\" E")
    apart = degrees_of("52 39 27.2531 N")[0], degrees_of("1 43 4.5177 E")[0]
    assert {first, second} == set(apart)


@pytest.mark.parametrize(
    ("system", "lon", "lat"), [("EPSG:32725", -31.1, -0.9), ("EPSG:32736", 33.2, -13.5)]
)
def test_metres_come_back_to_the_degrees_they_are_of(system, lon, lat):
    x, y = Transformer.from_crs("EPSG:4326", system, always_xy=True).transform(lon, lat)
    assert brought(x, y, system) == pytest.approx((lon, lat), abs=CENTIMETRE)
