"""
A district whose year can be reckoned by hand.

One feedstock composts alone (C:N 30, 55 % moisture, 35 % lost), so a tonne of it makes
0.45 x 0.65 / 0.65 = 0.45 t of compost at 35 % moisture. Trucks, water and works cost
nothing; the one yard is built and costs 3,000 a year to run. Each tonne saves what its
source pays to be rid of it and brings 10 a tonne of compost, less 1 for handling.
"""

import textwrap

TABLES = {
    "scenario.toml": """
        name = "Fair"
        currency = "coin"
        [district]
        west = -31
        south = 0
        east = -30
        north = 1
        [finance]
        fuel_price_per_l = 0
        [process]
        product_moisture_pct = 35
        [solve]
        gap_pct = 0
        """,
    "materials.csv": """
        material,name,moisture_pct,carbon_pct,nitrogen_pct,loose_kg_m3,hauled_kg_m3,keep_hours,dry_matter_loss_pct,structure
        mash,Mash,55,45,1.5,400,400,48,35,yes
        """,
    "sources.csv": """
        source,name,material,lon,lat,amount,season,disposal_cost_per_t,wait_hours
        rich,Rich mill,mash,-30.50,0.50,1000,even,20,1
        poor,Poor mill,mash,-30.51,0.50,500,even,5,1
        idle,Idle mill,mash,-30.52,0.50,0,even,50,1
        """,
    "calendar.csv": "season,period,share_pct\n"
    + "".join(f"even,m{m:02},{8.4 if m < 12 else 7.6}\n" for m in range(1, 13)),
    "yards.csv": """
        yard,name,lon,lat,existing_size,area_m2,water_m3_per_day
        heap,The heap,-30.50,0.51,big,40000,500
        """,
    "yard_sizes.csv": """
        size,name,site_m2,pad_m2,store_m3,compost_store_m3,works_cost,fixed_cost_per_year,handling_cost_per_t
        big,Big,30000,25000,9000,9000,0,3000,1
        """,
    "markets.csv": """
        market,name,lon,lat,basis,amount,season,price_per_t
        farms,Farms,-30.49,0.50,tonnes,5000,even,10
        """,
    "trucks.csv": """
        truck,name,payload_t,body_m3,tare_t,fuel_l_per_km_loaded,fuel_l_per_km_empty
        cart,Cart,10,30,5,0,0
        """,
}
BASE = -(0.45 * 10 * 1500 - 1500 - 3000)
LOSSES = {
    "lose_yard_heap": 24_750.0,  # all disposal and sales, less handling and running
    "lose_market_farms": 6_750.0,  # the sales
    "lose_source_rich": 3_500.0,  # 4,500 of sales, less 1,000 of handling
    "lose_source_poor": 1_750.0,  # 2,250 and 500
    "lose_source_idle": 0.0,
}


def write_fair(folder):
    """Write the tables into a folder."""
    folder.mkdir()
    for name, text in TABLES.items():
        (folder / name).write_text(textwrap.dedent(text).lstrip())
    return folder
