"""Invented people, prices and sizes of Brackwater, as plain lists."""

from brackwater_map import HEIGHT_KM, WIDTH_KM
from brackwater_roads import FRAME, NODES
from drawing import rows_by_column

PERIODS = [f"m{month:02d}" for month in range(1, 13)]
MONTHS = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
]
DAYS = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
WORKING_DAYS = [26, 23, 26, 25, 26, 25, 25, 25, 25, 26, 25, 25]

CALENDAR = {  # share of the year in January to December [%]
    "milling": [12, 7, 4, 10, 13, 11, 6, 3, 2, 5, 13, 14],
    "landings": [8, 9, 9.5, 8, 4, 4, 8.5, 10.5, 11, 10.5, 9, 8],
    "harvest": [0, 0, 24, 26, 0, 0, 0, 0, 0, 26, 24, 0],
    "even": [8.5, 7.7, 8.5, 8.2, 8.5, 8.2, 8.5, 8.5, 8.2, 8.5, 8.2, 8.5],
    "paddy": [0, 0, 0, 0, 28, 24, 0, 0, 0, 0, 26, 22],
    "vegetables": [9, 10, 9, 8, 6, 6, 7, 8, 10, 10, 9, 8],
    "orchard": [20, 15, 5, 0, 0, 15, 20, 10, 0, 0, 5, 10],
}

# node, paddy milled [t/yr], gathered [%], price [/t], room for husk at the mill [t]
MILLS = [
    ("brackwater", 13_900, 90, 4, 260),
    ("garrowisk", 10_100, 92, 0, 220),
    ("tavirush", 6_800, 90, 0, 120),
    ("wexilow", 5_900, 92, 0, 120),
    ("ostrewane", 4_000, 85, 0, 80),
    ("hobbentide", 8_900, 92, 0, 200),
    ("jallowick", 4_600, 88, 0, 60),
    ("murrelvey", 4_300, 85, 0, 80),
    ("dremmock", 7_700, 92, 5, 150),
    ("zelmarrow", 6_400, 90, 6, 100),
    ("noddlesedge", 7_300, 92, 0, 140),
    ("vorrensha", 3_500, 85, 0, 60),
    ("pelquin", 9_200, 94, 2, 200),
    ("kessivar", 6_200, 92, 0, 120),
    ("umberlode", 4_200, 88, 0, 80),
    ("sarnuggle", 5_400, 92, 0, 60),
]
# node, way to the shore, what, fish landed [t/yr], waste [%], gathered [%], wait [h],
# cost of dumping today [/t]
FISH = [
    ("eddershoal", (-1, 0), "cannery", 5_200, 48, 95, 3, 63),
    ("sarnuggle", (-1, 2), "fillet plant", 2_600, 62, 95, 3, 63),
    ("ulpenny", (0, -1), "sardine house", 4_400, 30, 95, 4, 61),
    ("plovenacre", (-1, 1), "drying yards", 2_600, 32, 90, 4, 69),
    ("skarnifold", (-1, 0), "landing", 1_500, 34, 90, 5, 59),
    ("mizzenrope", (-1, 0), "landing", 1_300, 36, 90, 5, 59),
    ("fennowar", (0, 1), "landing", 900, 39, 90, 5, 57),
    ("yessock", (0, 1), "landing", 800, 32, 90, 5, 57),
    ("thrandmere", (-1, 0), "landing", 1_000, 34, 90, 6, 57),
    ("bruntaway", (-1, 0), "landing", 1_200, 30, 90, 6, 57),
]
# node, paddy land [ha], straw that can be held under cover [t]
STRAW = [
    ("wexilow", 310, 90),
    ("n12", 240, 0),
    ("n10", 260, 80),
    ("ostrewane", 220, 0),
    ("n18", 230, 0),
    ("garrowisk", 340, 120),
    ("hobbentide", 300, 90),
    ("jallowick", 210, 0),
    ("murrelvey", 200, 60),
    ("dremmock", 260, 80),
    ("zelmarrow", 240, 0),
    ("noddlesedge", 290, 90),
    ("e20", 180, 0),
    ("pelquin", 330, 110),
    ("d3", 280, 0),
    ("d17", 250, 80),
    ("kessivar", 230, 0),
    ("d13", 210, 70),
]
# node, cattle, manure gathered [%], cost of clearing the pens today [/t]
CATTLE = [
    ("skarnifold", 260, 50, 12),
    ("n15", 220, 45, 0),
    ("n13", 310, 50, 0),
    ("tavirush", 340, 55, 12),
    ("quillander", 240, 50, 12),
    ("e7", 260, 45, 0),
    ("e6", 330, 50, 0),
    ("e4", 280, 40, 0),
    ("e10", 300, 50, 12),
    ("e18", 260, 45, 0),
    ("e22", 350, 50, 0),
    ("crindle", 380, 50, 0),
    ("e26", 240, 40, 0),
    ("kessivar", 320, 55, 12),
    ("umberlode", 290, 55, 12),
    ("ovrindle", 270, 45, 0),
]
# node, how near [km], area [m2], works factor, rent [/m2/yr], water [m3/day], price,
# slope [%], depth to the water table [m]
YARDS = [
    ("brackwater", 2.3, 5_200, 1.15, 0.60, 18, 0.70, 2.2, 2.6),
    ("sarnuggle", 1.9, 4_800, 1.10, 0.45, 16, 0.60, 2.0, 2.1),
    ("eddershoal", 2.2, 15_000, 1.05, 0.30, 30, 0.50, 3.2, 2.4),
    ("n4", 1.6, 42_000, 1.00, 0.08, 50, 0.30, 2.8, 3.5),
    ("ulpenny", 1, 14_500, 1.05, 0.25, 40, 0.40, 2.4, 2.2),
    ("wexilow", 2.2, 16_000, 1.00, 0.06, 45, 0.25, 2.6, 3.8),
    ("garrowisk", 2.4, 22_000, 1.00, 0.07, 60, 0.25, 3.1, 3.0),
    ("tavirush", 2.2, 18_000, 1.00, 0.06, 25, 0.25, 7.2, 9.0),
    ("n7", 1.6, 15_000, 1.00, 0.18, 60, 0.40, 2.1, 1.9),
    ("hobbentide", 2.4, 50_000, 0.95, 0.05, 60, 0.20, 2.9, 4.2),
    ("e10", 1.6, 16_000, 0.95, 0.04, 25, 0.20, 3.4, 6.5),
    ("dremmock", 2.2, 40_000, 1.00, 0.06, 60, 0.25, 2.7, 3.6),
    ("noddlesedge", 2.2, 20_000, 0.95, 0.05, 15, 0.30, 4.4, 5.8),
    ("d1", 0.8, 16_000, 1.30, 0.03, 80, 0.15, 0.4, 0.7),
    ("d3", 1.6, 30_000, 1.00, 0.07, 60, 0.25, 2.0, 1.8),
    ("kessivar", 2.2, 42_000, 0.95, 0.05, 35, 0.25, 3.0, 4.4),
    ("thrandmere", 2.2, 16_000, 1.00, 0.09, 20, 0.40, 2.3, 2.0),
    ("ibbermoor", 2.2, 6_000, 1.25, 0.12, 8, 0.90, 3.8, 2.9),
]
VILLAGES = [node for node, (_, _, name) in NODES.items() if name]
EXISTING = {"brackwater": "small", "sarnuggle": "small"}
# node, hectares, t/ha, price [/t], nitrogen limit [kg/ha]
PADDY = [
    ("wexilow", 264, 4, 16, None),
    ("n12", 195, 4, 15, None),
    ("ostrewane", 184, 4, 16, None),
    ("garrowisk", 299, 4, 16, None),
    ("n18", 207, 4, 15, None),
    ("hobbentide", 288, 4, 16, None),
    ("jallowick", 195, 4, 17, None),
    ("dremmock", 264, 4, 15, None),
    ("noddlesedge", 276, 4, 16, None),
    ("e20", 184, 4, 17, None),
    ("pelquin", 322, 4, 15, 35),
    ("d3", 241, 4, 15, 30),
    ("kessivar", 230, 4, 16, None),
    ("d13", 207, 4, 16, None),
]
VEGETABLES = [
    ("skarnifold", 41, 12, 29, None),
    ("quillander", 57, 12, 30, None),
    ("brackwater", 71, 14, 32, 90),
    ("e10", 55, 12, 31, None),
    ("e9", 64, 12, 30, None),
    ("murrelvey", 51, 12, 31, None),
    ("zelmarrow", 60, 12, 30, None),
    ("sarnuggle", 51, 12, 31, 80),
    ("ibbermoor", 25, 12, 35, None),
]
ORCHARDS = [
    ("thessup", 80, 8, 25, None),
    ("e6", 75, 8, 24, None),
    ("vorrensha", 92, 8, 24, None),
    ("crindle", 86, 8, 25, None),
    ("ovrindle", 69, 8, 24, None),
    ("thrandmere", 75, 8, 23, None),
    ("tavirush", 80, 8, 23, None),
]

# What is left blank comes from the library. Sea fish brings salt.
MATERIALS = rows_by_column(
    material=("rice_husk", "fish_waste_mixed", "rice_straw", "cattle_manure"),
    name=("Rice husk", "Fish-processing waste", "Rice straw", "Cattle manure"),
    salt_pct=(None, 1, None, None),
    colour=("#C27C0A", "#1F78B4", "#159A72", "#5E2750"),
    source=("", "salt from memory", "", ""),
)

# Pads at 4 to 9 dollars/m2 with drains and fence; the works cost 96 / 23 = 4.2 times
# as much for a pad 10 times as large: exponent 0.62. Prices from memory. The small yard
# works by hand: tools, a pump and a scale, and six hours a tonne at 1.2 dollars. Medium
# and large have loader and turner: half an hour a tonne at 2.2 dollars, 3 L of diesel,
# and a tenth of the machines' price a year for repair.
YARD_SIZES = rows_by_column(
    size=("small", "medium", "large"),
    name=("Small yard", "Medium yard", "Large yard"),
    site_m2=(4_200, 14_200, 39_500),
    pad_m2=(2_500, 8_500, 25_000),
    store_m3=(900, 4_000, 12_000),
    compost_store_m3=(600, 2_500, 8_000),
    works_cost=(23_000, 48_000, 96_000),
    works_life_years=(20, 20, 20),
    machine_cost=(4_000, 34_000, 72_000),
    machine_life_years=(9, 9, 9),
    fixed_cost_per_year=(6_500, 14_500, 33_000),
    handling_cost_per_t=(7, 4.6, 4.5),
)

# Yearly cost of an owned truck: price as an annuity over 8 years at 10 %, insurance
# 3 % of the price and 600 dollars for premises. Prices and fuel from memory.
DRY = "rice_husk rice_straw cattle_manure compost"
TRUCKS = rows_by_column(
    truck=("pickup", "light", "heavy"),
    name=("Pickup with tubs, 1.2 t", "Lined caged truck, 4 t", "Caged truck, 10 t"),
    payload_t=(1.2, 4, 10),
    body_m3=(3.2, 20, 35),
    tare_t=(1.3, 3.4, 9.2),
    speed_factor=(1.05, 1, 0.95),
    fuel_l_per_km_loaded=(0.111, 0.182, 0.313),
    fuel_l_per_km_empty=(0.083, 0.133, 0.222),
    repair_cost_per_km=(0.05, 0.11, 0.19),
    crew_cost_per_hour=(1.6, 2.2, 2.6),
    owned=(2, 4, 2),
    fixed_cost_per_year=(3_600, 7_600, 15_800),
    hire_cost_per_hour=(2.6, 5.5, 9.5),
    hire_limit=(6, 12, 10),
    load_minutes=(15, 30, 50),
    unload_minutes=(10, 20, 25),
    wash_minutes=(18, 18, 18),
    carries=("fish_waste_mixed cattle_manure compost", "all", DRY),
)

SCENARIO = f"""\
# Brackwater is invented. It lies in open ocean; no such place exists.
name = "Brackwater (invented)"
currency = "dollars"
story = "An invented estuary district turns mill husk, straw, manure and fish waste \
that is dumped at sea today into compost for paddy, vegetables and orchards."

[district]
west = {FRAME.degrees((0, 0))[0]}
south = {FRAME.degrees((0, 0))[1]}
east = {FRAME.degrees((WIDTH_KM, 0))[0]}
north = {FRAME.degrees((0, HEIGHT_KM))[1]}

[travel]
access_limit_km = 5

[work]
hours_per_day = 8

[mix]
cn_low = 25
cn_high = 40
moisture_low_pct = 50
moisture_high_pct = 60

[windrow]
# Turned with a loader: 3 to 5 m wide and 1.5 to 2 m high are published.
base_m = 4
height_m = 1.8

[finance]
discount_pct = 10
fuel_price_per_l = 1.0
leftover_cost_per_t = 1.5

[goal]
minimise = "cost"

[solve]
gap_pct = 1
seconds = 120
"""

YEARS = rows_by_column(
    year=range(2027, 2037),
    capital=[123_000] * 10,
    carry_over=["yes"] * 10,
    changes=[
        *("", "", "", "new_fish_plant"),
        *("", "", "close_source:source=mill_brackwater", "", "", ""),
    ],
)
"""Ten years with the capital of one medium yard and a half each; a new fish plant in
the fourth, and the largest mill gone from the seventh."""
