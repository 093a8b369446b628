"""Documents as PDF: typeset by typst, tagged for screen readers (PDF/UA-1), fonts embedded, the same bytes each time.

Texts travel as JSON beside the template, never inside it: whatever they hold prints as it was typed.
"""

import json
from importlib import resources

from riskmodel.documents.plain import plain
from riskmodel.errors import DocumentRefused

ACCEPTED = "texts in signs that its fonts have, without control characters; .html and .md print any"


def typeset(template: str, summary: object) -> bytes:
    """A summary through a typst template of this package.

    Raises
    ------
    DocumentRefused
        When the document cannot be typeset.
    """
    # The typesetter is large: a command that writes no PDF does not load it.
    import typst

    source = (resources.files("riskmodel.documents") / "templates" / template).read_bytes()
    held = json.dumps(plain(summary), ensure_ascii=False, allow_nan=False)
    try:
        made = typst.compile(
            source, format="pdf", sys_inputs={"held": held}, ignore_system_fonts=True, pdf_standards="ua-1"
        )
    except (typst.TypstError, RuntimeError) as error:
        raise DocumentRefused(f"the PDF could not be typeset: {error}; accepted: {ACCEPTED}") from None
    if not isinstance(made, bytes):
        raise DocumentRefused("the PDF must be one file; the typesetter gave several")
    return made
