"""From answers and a conference to the surgeon's page."""

from collections.abc import Iterator, Sequence
from datetime import date

from riskmodel.documents.cautions import DEMONSTRATION, PLANNING
from riskmodel.documents.scored import Scored
from riskmodel.documents.surgeon.estimates import account, identity, strip
from riskmodel.documents.surgeon.model import Conference, SurgeonPage

FORMAT = 1
NOT_READ_BACK = "Not read back: check every side and value against the images before this page is used."


def summarise(
    answers: Sequence[Scored], conference: Conference, *, case_id: str, on: date, read_back_by: str = ""
) -> SurgeonPage:
    """The page for one child.

    Parameters
    ----------
    answers
        None or more: without an estimate the rest of the page stands.
    read_back_by
        Initials of who read the values back against the images; without them the page says that nobody did.
    """
    accounts = [account(answer) for answer in answers]
    cautions = dict.fromkeys(text for answer in answers for text in answer.bundle.cautions)
    return SurgeonPage(
        format=FORMAT,
        case_id=case_id,
        on=on,
        marks=tuple(_marks(answers, read_back_by)),
        conference=conference,
        strips=tuple(strip(answer) for answer in answers),
        accounts=tuple(held for held in accounts if held is not None),
        doubts=tuple(dict.fromkeys(str(doubt) for answer in answers for doubt in answer.doubts)),
        cautions=(*cautions, *PLANNING),
        identities=tuple(identity(answer) for answer in answers),
        foot=_foot(answers, case_id, on, read_back_by),
    )


def _marks(answers: Sequence[Scored], read_back_by: str) -> Iterator[str]:
    if any(answer.bundle.demonstration for answer in answers):
        yield DEMONSTRATION
    if not read_back_by.strip():
        yield NOT_READ_BACK


def _foot(answers: Sequence[Scored], case_id: str, on: date, read_back_by: str) -> str:
    parts = [case_id, f"made on {on}"]
    if read_back_by.strip():
        parts.append(f"read back by {read_back_by.strip()}")
    if answers:
        parts.append(f"ask for a new sheet after {min(answer.bundle.review_by for answer in answers)}")
    return " · ".join(parts)
