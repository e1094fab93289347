"""One value as TOML writes it."""

from logistics.scenario.schema import number_text


def toml_value(value: object) -> str:
    r"""
    Write one value as TOML.

    Examples
    --------
    >>> toml_value(20.0), toml_value('say "ah"')
    ('20', '"say \\"ah\\""')
    """
    if isinstance(value, int | float):
        return number_text(value)
    text = str(value).replace("\\", "\\\\").replace('"', '\\"')
    return f'"{text}"'
