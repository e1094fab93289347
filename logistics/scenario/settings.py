"""The settings of a scenario, as frozen records.

Fields are the rows of `columns.csv` whose table is `settings`; meaning, unit, limits
and default stand there. A percent setting loses `_pct` and is a share from 0 to 1.
"""

from collections.abc import Mapping
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict

from logistics.scenario.cells import blank_value, read_value
from logistics.scenario.currency import SETTING as SCALE
from logistics.scenario.currency import scaled
from logistics.scenario.lists import in_list
from logistics.scenario.schema import settings_columns


class SettingsGroup(BaseModel):
    """Settings that belong together; cannot be changed once made."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class DistrictSettings(SettingsGroup):
    """Edges of the district in degrees."""

    west: float
    south: float
    east: float
    north: float


class TravelSettings(SettingsGroup):
    """Speeds, detours and reach of the trucks."""

    circuity_near: float
    circuity_middle: float
    circuity_far: float
    straight_kmh: float
    access_kmh: float
    access_limit_km: float
    lane_limit_km: float | None


class SitingSettings(SettingsGroup):
    """What the land screening does."""

    screen: Literal["off", "warn", "refuse"]


class WorkSettings(SettingsGroup):
    """Working time, and the dates of the year."""

    hours_per_day: float
    first_day: str
    rest_days: str
    holidays: str


class RoundsSettings(SettingsGroup):
    """Limits of driving, and the search for rounds."""

    starts_h: float
    driving_day_h: float
    driving_week_h: float
    unbroken_h: float
    break_minutes: float
    stop_minutes: float
    iterations: int
    seconds: float


class FleetSettings(SettingsGroup):
    """Whether the own trucks are a decision, and whether trips are paired."""

    decide: Literal["no", "yes"]
    pairing: Literal["no", "yes", "washed"]


class HaulSettings(SettingsGroup):
    """The least that is worth hauling."""

    least_load_t: float
    least_t_per_30_days: float


class MixSettings(SettingsGroup):
    """Windows of a mix."""

    cn_low: float
    cn_high: float
    cn_basis: Literal["total", "available"]
    margin: float
    moisture_low: float
    moisture_high: float
    density_high_kg_m3: float | None
    structure_low: float | None
    salt_high: float | None
    product_n_low: float | None
    product_p2o5_low: float | None
    product_k2o_low: float | None


class ProcessSettings(SettingsGroup):
    """Days, losses and product of composting."""

    active_days: float
    curing_days: float
    nitrogen_loss: float | None
    product_moisture: float
    product_kg_m3: float
    turning_water_m3_per_t: float
    turning_days: float
    hot_c: float
    hot_days: int
    hot_turnings: int


class WindrowSettings(SettingsGroup):
    """Shape and packing of windrows."""

    section: Literal["parabola", "triangle", "semicircle"]
    base_m: float
    height_m: float
    aisle_m: float
    packing: float
    end_volume: float
    shorten: Literal["turning", "never"]
    reserve: float
    bucket_m3: float


class CoverSettings(SettingsGroup):
    """What covers feedstock that spoils."""

    days: float
    m3_per_t: float


class ProductSettings(SettingsGroup):
    """Most that compost of any yard may hold, as on a label."""

    n: float | None
    p2o5: float | None
    k2o: float | None
    salt: float | None
    standard: str


class FinanceSettings(SettingsGroup):
    """Rates and prices."""

    discount: float
    fuel_price_per_l: float
    money_scale: float
    leftover_cost_per_t: float
    subsidy_per_t: float
    basis: Literal["real", "nominal"]
    inflation: float
    horizon_years: int
    salvage: float
    idle: float
    closing: float


class PolicySettings(SettingsGroup):
    """Limits set by the board."""

    max_yards: int | None
    capital_limit: float | None
    budget_limit: float | None
    most_share_material: str
    most_share: float | None
    most_exposed: float | None


class PeopleSettings(SettingsGroup):
    """Distances within which people are counted."""

    near_m: float
    middle_m: float
    far_m: float
    road_m: float
    trucks_per_day: float


class GoalSettings(SettingsGroup):
    """What is made least."""

    minimise: Literal["cost", "uncollected", "co2e"]


class MapSettings(SettingsGroup):
    """What the map may fetch, if the reader asks."""

    tiles: str
    tiles_credit: str


class SolveSettings(SettingsGroup):
    """When solving stops."""

    gap: float
    seconds: float
    threads: int
    seed: int


class Settings(SettingsGroup):
    """All settings of a scenario."""

    name: str
    currency: str
    story: str
    district: DistrictSettings
    travel: TravelSettings
    siting: SitingSettings
    work: WorkSettings
    rounds: RoundsSettings
    fleet: FleetSettings
    haul: HaulSettings
    mix: MixSettings
    process: ProcessSettings
    windrow: WindrowSettings
    cover: CoverSettings
    product: ProductSettings
    finance: FinanceSettings
    policy: PolicySettings
    people: PeopleSettings
    goal: GoalSettings
    map: MapSettings
    solve: SolveSettings


def settings_from(values: Mapping[str, Any]) -> Settings:
    """
    Make settings from values named and in units as in `columns.csv`.

    Parameters
    ----------
    values
        Dotted name to value; those left out, or None, get their default.

    Returns
    -------
    Settings
        Frozen, percentages turned into shares.

    Examples
    --------
    >>> settings = settings_from({"name": "Test", "mix.moisture_low_pct": 50})
    >>> settings.mix.moisture_low, settings.mix.cn_low, settings.policy.max_yards
    (0.5, 20.0, None)
    """
    unknown = set(values) - set(settings_columns())
    if unknown:
        message = f"unknown settings: {in_list(sorted(unknown))}"
        raise KeyError(message)
    groups: dict[str, dict[str, Any]] = {"": {}}
    scale = values.get(SCALE) or 1.0
    for name, column in settings_columns().items():
        value = values.get(name)
        if value is None:
            value = default_setting(name, scale)
        if column.kind == "percent" and value is not None:
            value = value / 100
        if column.kind == "integer" and value is not None:
            value = int(value)
        group, _, _ = name.rpartition(".")
        groups.setdefault(group, {})[column.inside.rpartition(".")[2]] = value
    top = groups.pop("")
    return Settings.model_validate({**top, **groups})


def default_setting(name: str, scale: float = 1.0) -> Any:
    """
    Return the default of a setting in the unit of `columns.csv`; None for no limit.

    Parameters
    ----------
    name
        Dotted name.
    scale
        Units of the currency for one of the built-in money figures.

    Examples
    --------
    >>> default_setting("mix.moisture_low_pct"), default_setting("policy.max_yards")
    (45.0, None)
    """
    column = scaled(settings_columns()[name], scale)
    if column.default:
        return read_value(column.default, column)
    return "" if blank_value(column) == "" else None


def flat_settings(settings: Settings) -> dict[str, Any]:
    """
    Return all settings by dotted name, in the units of `columns.csv`.

    Examples
    --------
    >>> flat_settings(settings_from({"name": "Test"}))["solve.gap_pct"]
    0.5
    """
    flat: dict[str, Any] = {}
    for name, column in settings_columns().items():
        record: Any = settings
        for part in column.inside.split("."):
            record = getattr(record, part)
        if column.kind == "percent" and record is not None:
            record = float(f"{record * 100:.12g}")
        flat[name] = record
    return flat


def change_setting(settings: Settings, name: str, value: Any) -> Settings:
    """
    Return settings with one value changed; the ones given stay as they are.

    Examples
    --------
    >>> change_setting(settings_from({"name": "T"}), "mix.cn_low", 25).mix.cn_low
    25.0
    """
    return settings_from({**flat_settings(settings), name: value})
