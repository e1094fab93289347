"""What the pages of the month say: format of their records, cautions for the day."""

FORMAT = 3
"""Of the records that a program writes for the page."""
CAUTIONS = (
    "Driving hours: the new rounds keep the limits of the settings, counted from the "
    "morning. Hours that a driver has on the clock already are not known here; the "
    "driver and your dispatcher decide, and local driving-hours law comes first.",
    "Ring everyone before a truck leaves: places that are called on at another time, "
    "by another truck or not at all, and the yard that gets what it did not expect.",
)
SPOILS = (
    "Fish waste and other feedstock that spoils goes into a windrow on the day it "
    "comes, under cover. A yard that gets it instead of another must have "
    "bulking feedstock ready before the truck leaves; if it has none, do not send "
    "the load."
)
HOT = (
    "Hot windrows: wear gloves and eye protection, keep clear of steam and of the "
    "turner, never stand on a windrow; a pile above 70 °C may catch fire."
)
HOURS = (
    "Drivers: given out within the driving hours of your settings, and not more than a "
    "working day out. Hours of the month before, of other work and of rest between two "
    "days are not known here; local driving-hours law comes first, and nobody who is "
    "tired or ill drives."
)
ROOM = (
    "Room: a load fetched beyond the plan needs room on the pad and cover of its own. "
    "Ask the foreman of the yard before the truck leaves."
)
