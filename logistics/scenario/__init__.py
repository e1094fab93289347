"""A district's settings and tables: read, checked, edited and written back."""

from logistics.scenario.accepted import Accepted
from logistics.scenario.cells import decimal_sign_of, read_value
from logistics.scenario.coordinates import FIGURES, WORLD, Box, district, lon_about
from logistics.scenario.currency import is_money, scaled
from logistics.scenario.defaults import (
    COMPLETED,
    MONTH_DAYS,
    default_spread_rows,
    library,
)
from logistics.scenario.edits import (
    ChangeFault,
    add_row,
    known,
    refuse,
    rows_of,
    scale_values,
    set_values,
    some,
    with_settings,
    with_table,
)
from logistics.scenario.exporting import (
    copy_settings,
    export_book,
    export_csv,
    exported_tables,
)
from logistics.scenario.factors import Factors, factor_value
from logistics.scenario.faults import Problem, ScenarioError, choose_from
from logistics.scenario.gpkg_reader import DEGREES, quiet
from logistics.scenario.identity import fingerprint
from logistics.scenario.lists import between, in_list
from logistics.scenario.map_tiles import tile_server
from logistics.scenario.number_text import CellFault
from logistics.scenario.paper import CREATED, Printed, set_page
from logistics.scenario.periods import period_day, period_named
from logistics.scenario.raw import RawTable, is_example
from logistics.scenario.readers import no_file, read_tables
from logistics.scenario.rows import Row, RowLike, records, rows_by, totals
from logistics.scenario.scenario import Scenario, read_scenario, write_scenario
from logistics.scenario.schema import (
    Column,
    columns_of,
    keys_of,
    plain_name,
    settings_columns,
    tables,
)
from logistics.scenario.schema import number_text as plain_number
from logistics.scenario.seasonal_prices import (
    period_prices,
    price_change,
    with_period_prices,
)
from logistics.scenario.separators import clear_number
from logistics.scenario.settings import (
    DistrictSettings,
    FinanceSettings,
    MixSettings,
    Settings,
    WindrowSettings,
    change_setting,
    flat_settings,
)
from logistics.scenario.settings_edits import (
    SettingsFault,
    SettingsText,
    settings_document,
    typed_settings,
    with_typed,
)
from logistics.scenario.settings_file import FILE as SETTINGS_NAME
from logistics.scenario.settings_file import settings_of
from logistics.scenario.starter import FILL_FIRST, new_scenario
from logistics.scenario.table_text import (
    MOST_ROWS,
    TableText,
    table_file,
    table_texts,
)
from logistics.scenario.work_calendar import dates_of, work_days
from logistics.scenario.workbook_limits import too_much_merged
from logistics.scenario.writing import cell_text, outside, replace_file
from logistics.scenario.xlsx_reader import BookSheet, book_sheets

__all__ = [
    "COMPLETED",
    "CREATED",
    "DEGREES",
    "FIGURES",
    "FILL_FIRST",
    "MONTH_DAYS",
    "MOST_ROWS",
    "SETTINGS_NAME",
    "WORLD",
    "Accepted",
    "BookSheet",
    "Box",
    "CellFault",
    "ChangeFault",
    "Column",
    "DistrictSettings",
    "Factors",
    "FinanceSettings",
    "MixSettings",
    "Printed",
    "Problem",
    "RawTable",
    "Row",
    "RowLike",
    "Scenario",
    "ScenarioError",
    "Settings",
    "SettingsFault",
    "SettingsText",
    "TableText",
    "WindrowSettings",
    "add_row",
    "between",
    "book_sheets",
    "cell_text",
    "change_setting",
    "choose_from",
    "clear_number",
    "columns_of",
    "copy_settings",
    "dates_of",
    "decimal_sign_of",
    "default_spread_rows",
    "district",
    "export_book",
    "export_csv",
    "exported_tables",
    "factor_value",
    "fingerprint",
    "flat_settings",
    "in_list",
    "is_example",
    "is_money",
    "keys_of",
    "known",
    "library",
    "lon_about",
    "new_scenario",
    "no_file",
    "outside",
    "period_day",
    "period_named",
    "period_prices",
    "plain_name",
    "plain_number",
    "price_change",
    "quiet",
    "read_scenario",
    "read_tables",
    "read_value",
    "records",
    "refuse",
    "replace_file",
    "rows_by",
    "rows_of",
    "scale_values",
    "scaled",
    "set_page",
    "set_values",
    "settings_columns",
    "settings_document",
    "settings_of",
    "some",
    "table_file",
    "table_texts",
    "tables",
    "tile_server",
    "too_much_merged",
    "totals",
    "typed_settings",
    "with_period_prices",
    "with_settings",
    "with_table",
    "with_typed",
    "work_days",
    "write_scenario",
]
