"""Files as people have them, proposed as our tables: read, asked about, merged."""

from logistics.bringing.body import Body
from logistics.bringing.drafting import WORST_ACCURACY_M
from logistics.bringing.gathering import Gathered
from logistics.bringing.merging import Change, Merged, merged
from logistics.bringing.packed import check_markup
from logistics.bringing.proposal import Proposal, propose, short_names
from logistics.bringing.questions import Question
from logistics.bringing.recipe import NAME, SheetRecipe, read_recipe, recipe_text
from logistics.bringing.seasons_told import ORIGIN
from logistics.bringing.sheets import unread
from logistics.bringing.standing import Surroundings, standing_of
from logistics.bringing.survey_columns import MARK

__all__ = [
    "MARK",
    "NAME",
    "ORIGIN",
    "WORST_ACCURACY_M",
    "Body",
    "Change",
    "Gathered",
    "Merged",
    "Proposal",
    "Question",
    "SheetRecipe",
    "Surroundings",
    "check_markup",
    "merged",
    "propose",
    "read_recipe",
    "recipe_text",
    "short_names",
    "standing_of",
    "unread",
]
