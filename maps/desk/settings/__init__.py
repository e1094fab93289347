"""The settings of a district as a form: a draft, its words, what the page asks."""
