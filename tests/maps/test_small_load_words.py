"""What is said of small loads: how many, how much, at what price."""

from dataclasses import replace

from maps.shared import assumptions, small_load_words


def test_what_was_left_out_is_said_with_its_price(brackwater_planned):
    small = brackwater_planned.plan.small_loads
    (words,) = small_load_words(brackwater_planned)
    assert words.startswith(
        f"{small.left_out} small loads of less than 0.5 t in 30 days"
    )
    assert f"{small.tonnes:.1f} t a year in total, were left out" in words
    assert f"adds {small.cost:.2f} dollars a year" in words
    assert words in set(assumptions(brackwater_planned)["note"])


def test_what_stays_is_said_with_its_reason(brackwater_planned):
    plan = brackwater_planned.plan
    one = replace(plan.small_loads, left_out=0, kept=1)
    result = replace(brackwater_planned, plan=replace(plan, small_loads=one))
    (words,) = small_load_words(result)
    assert words.startswith("1 load of less than")
    assert words.endswith("stays: without it demands could not be met.")
    none = replace(one, kept=0)
    result = replace(brackwater_planned, plan=replace(plan, small_loads=none))
    assert small_load_words(result) == []
