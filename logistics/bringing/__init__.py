"""Files as people have them, proposed as our tables: read, asked about, merged."""

from logistics.bringing.body import Body
from logistics.bringing.merging import Change, Merged, merged
from logistics.bringing.proposal import Proposal, propose
from logistics.bringing.questions import Question
from logistics.bringing.recipe import NAME, SheetRecipe, read_recipe, recipe_text
from logistics.bringing.standing import Surroundings, standing_of

__all__ = [
    "NAME",
    "Body",
    "Change",
    "Merged",
    "Proposal",
    "Question",
    "SheetRecipe",
    "Surroundings",
    "merged",
    "propose",
    "read_recipe",
    "recipe_text",
    "standing_of",
]
