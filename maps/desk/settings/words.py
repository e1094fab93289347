"""What settings and their groups are called on the page, in a planner's words."""

from __future__ import annotations

GROUPS = {
    "": "The district",
    "finance": "Money and prices",
    "goal": "Goal",
    "policy": "Limits set by the board",
    "people": "People near yards and roads",
    "product": "What the compost may hold",
    "mix": "Mixes",
    "process": "Composting",
    "windrow": "Windrows",
    "cover": "Cover for what spoils",
    "work": "Working time",
    "fleet": "Own trucks and paired trips",
    "haul": "Smallest loads",
    "rounds": "Rounds of trucks",
    "travel": "Roads and travel",
    "siting": "Land rules",
    "district": "Edges of the district",
    "map": "Online map",
    "solve": "Solving",
}
"""Groups of settings in the order of the page; any other comes behind."""
BESIDE = {
    "finance": (
        ("trucks", "Pay of crews, hire and fuel use stand in the table Trucks."),
        ("prices", "How fast prices rise stands in the table Prices."),
        ("accounts", "Headings of the budget stand in the table Accounts."),
    ),
    "policy": (("policy", "Rules for single places stand in the table Policy."),),
    "people": (("people", "Who lives where stands in the table People."),),
    "product": (("standards", "Product standards stand in the table Standards."),),
    "work": (("periods", "Working days stand in the table Periods."),),
    "fleet": (("trucks", "Trucks owned and for hire stand in the table Trucks."),),
    "siting": (("siting_rules", "The rules stand in the table Siting rules."),),
}
"""Tables that say more about a group, and what."""
LABELS = {
    "name": "Name of the district",
    "currency": "Currency",
    "story": "Sentence at the head of map and report",
    "district.west": "Western edge",
    "district.south": "Southern edge",
    "district.east": "Eastern edge",
    "district.north": "Northern edge",
    "travel.circuity_near": "Detour under 5 km",
    "travel.circuity_middle": "Detour from 5 to 20 km",
    "travel.circuity_far": "Detour beyond 20 km",
    "travel.straight_kmh": "Truck speed without roads",
    "travel.access_kmh": "Speed between a site and its road",
    "travel.access_limit_km": "Furthest from a road",
    "travel.lane_limit_km": "Longest lane",
    "siting.screen": "Candidates that break a land rule",
    "work.hours_per_day": "Working hours of a truck",
    "work.first_day": "First day of the year planned",
    "work.rest_days": "Weekly rest days",
    "work.holidays": "Holidays",
    "rounds.starts_h": "Earliest start of trucks",
    "rounds.driving_day_h": "Most driving in a day",
    "rounds.driving_week_h": "Most driving in a week",
    "rounds.unbroken_h": "Longest driving without a break",
    "rounds.break_minutes": "Length of the break",
    "rounds.stop_minutes": "Weighing and papers at a stop",
    "rounds.iterations": "Steps of the search for rounds",
    "rounds.seconds": "Longest search for rounds",
    "fleet.decide": "Let the plan decide how many trucks to own",
    "fleet.pairing": "Pair trips out with trips back",
    "haul.least_load_t": "Smallest load of a trip",
    "haul.least_t_per_30_days": "Fewest tonnes between two places",
    "mix.cn_low": "Lowest C:N",
    "mix.cn_high": "Highest C:N",
    "mix.cn_basis": "Carbon that C:N counts",
    "mix.margin_pct": "Room for error in feedstock figures",
    "mix.moisture_low_pct": "Lowest moisture",
    "mix.moisture_high_pct": "Highest moisture",
    "mix.density_high_kg_m3": "Highest bulk density",
    "mix.structure_low_pct": "Least structure feedstock",
    "mix.salt_high_pct": "Most salt in the mix",
    "mix.product_n_low_pct": "Least nitrogen in the compost",
    "mix.product_p2o5_low_pct": "Least phosphate in the compost",
    "mix.product_k2o_low_pct": "Least potash in the compost",
    "process.active_days": "Active days",
    "process.curing_days": "Curing days",
    "process.nitrogen_loss_pct": "Nitrogen lost, if measured",
    "process.product_moisture_pct": "Moisture of compost",
    "process.product_kg_m3": "Density of compost",
    "process.turning_water_m3_per_t": "Water added while turning",
    "process.turning_days": "Days between turnings",
    "process.hot_c": "Temperature to be logged",
    "process.hot_days": "Days at that temperature",
    "process.hot_turnings": "Turnings within those days",
    "windrow.section": "Cross-section",
    "windrow.base_m": "Width at the base",
    "windrow.height_m": "Height",
    "windrow.aisle_m": "Aisle",
    "windrow.packing_pct": "Volume when fresh",
    "windrow.end_volume_pct": "Volume at the end",
    "windrow.shorten": "Windrows are shortened",
    "windrow.reserve_pct": "Extra pad for receiving and curing",
    "windrow.bucket_m3": "Bucket that measures the mix",
    "cover.days": "Days of cover in store",
    "cover.m3_per_t": "Cover for a tonne that spoils",
    "product.n_pct": "Most nitrogen",
    "product.p2o5_pct": "Most phosphate",
    "product.k2o_pct": "Most potash",
    "product.salt_pct": "Most salt",
    "product.standard": "Product standard to keep",
    "finance.discount_pct": "Discount rate",
    "finance.fuel_price_per_l": "Diesel price",
    "finance.money_scale": "Units of the currency for one US dollar",
    "finance.leftover_cost_per_t": "Cost of compost that nobody takes",
    "finance.subsidy_per_t": "Subsidy for a tonne collected",
    "finance.basis": "Prices of the cash flow",
    "finance.inflation_pct": "Inflation",
    "finance.horizon_years": "Years of the cash flow",
    "finance.salvage_pct": "Years ahead: what is left of yards counts as",
    "finance.idle_pct": "Years ahead: a yard that stands idle costs",
    "finance.closing_pct": "Years ahead: clearing a closed yard costs",
    "policy.max_yards": "Most yards open",
    "policy.capital_limit": "Most capital for new yards",
    "policy.budget_limit": "Highest net cost of a year",
    "policy.most_share_material": "Feedstock with a limited share",
    "policy.most_share_pct": "Largest share of this feedstock",
    "policy.most_exposed": "Most people near open yards",
    "people.near_m": "First distance from a yard",
    "people.middle_m": "Second distance",
    "people.far_m": "Third distance, within which people are exposed",
    "people.road_m": "Distance from a busy road",
    "people.trucks_per_day": "Truck passes that make a road busy",
    "goal.minimise": "What the plan makes least",
    "map.tiles": "Address of an online map",
    "map.tiles_credit": "Who made the online map",
    "solve.gap_pct": "Proven gap at which solving stops",
    "solve.seconds": "Longest solving time",
    "solve.threads": "Processor threads",
    "solve.seed": "Random seed",
}
"""Short names of settings; the sentence of `columns.csv` stands below each."""


def label_of(name: str) -> str:
    """
    Name a setting; one without a name here by its own.

    >>> label_of("finance.fuel_price_per_l"), label_of("yard.new_thing")
    ('Diesel price', 'New thing')
    """
    plain = name.rpartition(".")[2].replace("_", " ").capitalize()
    return LABELS.get(name, plain)


def group_title(group: str) -> str:
    """
    Name a group of settings.

    >>> group_title("mix"), group_title("night_work")
    ('Mixes', 'Night work')
    """
    return GROUPS.get(group, group.replace("_", " ").capitalize())
