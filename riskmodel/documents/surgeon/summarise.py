"""From answers and a conference to the surgeon's page."""

from collections.abc import Iterator, Sequence

from riskmodel.documents.cautions import DEMONSTRATION, GENERAL, PLANNING
from riskmodel.documents.scored import Scored
from riskmodel.documents.surgeon.estimates import account, identity, strip
from riskmodel.documents.surgeon.model import Conference, SurgeonPage
from riskmodel.documents.surgeon.planned import conference_of
from riskmodel.plans.summary import Summary

FORMAT = 1
NOT_READ_BACK = "Not read back: check every side and value against the images before this page is used."
# On every sheet of paper, since one may be copied without the others.
WHAT_IT_IS = "research software, decides nothing; cautions on the last page"


def summarise(answers: Sequence[Scored], planned: Summary, *, read_back_by: str = "") -> SurgeonPage:
    """The page for one child, from its answers (of the case as it was typed) and its planning conference."""
    return compose(answers, conference_of(planned), read_back_by=read_back_by)


def compose(answers: Sequence[Scored], conference: Conference, *, read_back_by: str = "") -> SurgeonPage:
    """The page from a conference in words.

    Parameters
    ----------
    answers
        None or more: without an estimate the rest of the page stands.
    read_back_by
        Initials of who read the values back against the images; without them the page says that nobody did.
    """
    accounts = [account(answer) for answer in answers]
    doubts = (*conference.doubts, *(str(doubt) for answer in answers for doubt in answer.doubts))
    cautions = dict.fromkeys(text for answer in answers for text in answer.bundle.cautions)
    between = dict(conference.between)
    torn = tuple(plan.name for plan in conference.plans if plan.contradictions)
    return SurgeonPage(
        format=FORMAT,
        case_id=conference.case_id,
        on=conference.on,
        marks=tuple(_marks(answers, read_back_by)),
        conference=conference,
        strips=tuple(strip(answer, between.get(answer.bundle.digest, ()), torn) for answer in answers),
        accounts=tuple(held for held in accounts if held is not None),
        doubts=tuple(dict.fromkeys(doubts)),
        cautions=(*(cautions or GENERAL), *PLANNING, *conference.says),
        identities=tuple(identity(answer) for answer in answers),
        foot=_foot(answers, conference, read_back_by),
    )


def _marks(answers: Sequence[Scored], read_back_by: str) -> Iterator[str]:
    if any(answer.bundle.demonstration for answer in answers):
        yield DEMONSTRATION
    if not read_back_by.strip():
        yield NOT_READ_BACK


def _foot(answers: Sequence[Scored], conference: Conference, read_back_by: str) -> str:
    parts = [conference.case_id, f"made on {conference.on}"]
    if read_back_by.strip():
        parts.append(f"read back by {read_back_by.strip()}")
    if answers:
        parts.append(f"ask for a new sheet after {min(answer.bundle.review_by for answer in answers)}")
    return " · ".join([*parts, WHAT_IT_IS])
