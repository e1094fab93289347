"""Forms for enumerators: a survey for phones, and the same questions on paper."""

from maps.forms.paper_forms import write_paper_forms
from maps.forms.question_list import questions_for
from maps.forms.xlsform import write_xlsform, xlsform_sheets

__all__ = ["questions_for", "write_paper_forms", "write_xlsform", "xlsform_sheets"]
