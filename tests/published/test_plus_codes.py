"""
Plus codes against the published test tables of the open standard.

google/open-location-code, folder test_data: decoding.csv, encodingTests.csv,
validityTests.csv (but for a row with a Greek letter), shortCodeTests.csv (recovery).
Apache licence 2.0.
"""

import pytest

from logistics.bringing.plus_codes import (
    area_of,
    code_of,
    is_full,
    is_short,
    nearest_full,
)

DECODING = """
7FG49Q00+,6,20.35,2.75,20.4,2.8
7FG49QCJ+2V,10,20.37,2.782125,20.370125,2.78225
7FG49QCJ+2VX,11,20.3701,2.78221875,20.370125,2.78225
7FG49QCJ+2VXGJ,13,20.370113,2.782234375,20.370114,2.78223632813
8FVC2222+22,10,47.0,8.0,47.000125,8.000125
4VCPPQGP+Q9,10,-41.273125,174.785875,-41.273,174.786
62G20000+,4,0.0,-180.0,1,-179
22220000+,4,-90,-180,-89,-179
7FG40000+,4,20.0,2.0,21.0,3.0
22222222+22,10,-90.0,-180.0,-89.999875,-179.999875
6VGX0000+,4,0,179,1,180
6FH32222+222,11,1,1,1.000025,1.00003125
CFX30000+,4,89,1,90,2
62H20000+,4,1,-180,2,-179
62H30000+,4,1,-179,2,-178
CFX3X2X2+X2,10,89.9998750,1,90,1.0001250
84000000+,2,30,-140,50,-120
6FH56C22+22,10,1.2000000000000028,3.4000000000000057,1.2001249999999999,3.4001250000000027
849VGJQF+VX7QR3J,15,37.5396691200,-122.3750698242,37.5396691600,-122.3750697021
849VGJQF+VX7QR3J7QR3J,15,37.5396691200,-122.3750698242,37.5396691600,-122.3750697021
"""
ENCODING = """
7FG49Q00+,20.375,2.775
7FG49QCJ+2V,20.3700625,2.7821875
7FG49QCJ+2VX,20.3701125,2.782234375
7FG49QCJ+2VXGJ,20.3701135,2.78223535156
8FVC2222+22,47.0000625,8.0000625
4VCPPQGP+Q9,-41.2730625,174.7859375
62G20000+,0.5,-179.5
22220000+,-89.5,-179.5
7FG40000+,20.5,2.5
22222222+22,-89.9999375,-179.9999375
6VGX0000+,0.5,179.5
6FH32222+222,1,1
CFX30000+,90,1
CFX30000+,92,1
62H20000+,1,180
62H30000+,1,181
CFX3X2X2+X2,90,1
6FH56C22+22,1.2,3.4
"""
VALIDITY = """
8FWC2345+G6,true,false,true
8FWC2345+G6G,true,false,true
8fwc2345+,true,false,true
8FWCX400+,true,false,true
WC2345+G6g,true,true,false
2345+G6,true,true,false
45+G6,true,true,false
+G6,true,true,false
G+,false,false,false
+,false,false,false
8FWC2345+G,false,false,false
8FWC2_45+G6,false,false,false
8FWC2345+G6+,false,false,false
8FWC2345G6+,false,false,false
8FWC2300+G6,false,false,false
WC2300+G6g,false,false,false
WC2345+G,false,false,false
WC2300+,false,false,false
849VGJQF+VX7QR3J,true,false,true
849VGJQF+VX7QR3U,false,false,false
849VGJQF+VX7QR3JW,true,false,true
849VGJQF+VX7QR3JU,false,false,false
"""
SHORT = """
9C3W9QCJ+2VX,51.3701125,-1.217765625,+2VX
9C3W9QCJ+2VX,51.3708675,-1.217765625,CJ+2VX
9C3W9QCJ+2VX,51.3693575,-1.217765625,CJ+2VX
9C3W9QCJ+2VX,51.3701125,-1.218520625,CJ+2VX
9C3W9QCJ+2VX,51.3701125,-1.217010625,CJ+2VX
9C3W9QCJ+2VX,51.3852125,-1.217765625,9QCJ+2VX
9C3W9QCJ+2VX,51.3550125,-1.217765625,9QCJ+2VX
9C3W9QCJ+2VX,51.3701125,-1.232865625,9QCJ+2VX
9C3W9QCJ+2VX,51.3701125,-1.202665625,9QCJ+2VX
8FJFW222+,42.899,9.012,22+
796RXG22+,14.95125,-23.5001,22+
8FRCXGRF+PM,47.00,8.55,XGRF+PM
CFX22222+22,89.6,0.0,2222+22
2CXXXXXX+XX,-81.0,0.0,XXXXXX+XX
"""


def rows(text):
    return [line.split(",") for line in text.strip().splitlines()]


@pytest.mark.parametrize("row", rows(DECODING), ids=lambda row: row[0])
def test_decoding(row):
    """The tables give edges to ten places."""
    code, _, *edges = row
    assert area_of(code) == pytest.approx([*map(float, edges)], abs=1e-10)


@pytest.mark.parametrize("row", rows(ENCODING), ids=lambda row: ",".join(row))
def test_encoding(row):
    code, lat, lon = row
    length = len(code.replace("+", "").rstrip("0"))
    assert code_of(float(lon), float(lat), length) == code


@pytest.mark.parametrize("row", rows(VALIDITY), ids=lambda row: row[0])
def test_validity(row):
    code, valid, short, full = row
    assert (is_short(code), is_full(code)) == (short == "true", full == "true")
    assert (is_short(code) or is_full(code)) == (valid == "true")


@pytest.mark.parametrize("row", rows(SHORT), ids=lambda row: ",".join(row))
def test_recovery_of_short_codes(row):
    code, lat, lon, short = row
    assert nearest_full(short, float(lon), float(lat)) == code
