"""The family's sheet: what it may say, what it must never say, and that it can be read."""

import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from functools import cache
from itertools import product

import numpy as np
import pypdfium2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskmodel.bundle import OutcomeText, Published, Use
from riskmodel.documents import family
from riskmodel.documents.family import Avoid, Choice, FamilyOptions, FamilySheet
from riskmodel.documents.family.numbers import Why
from riskmodel.documents.family.options import WAITING
from riskmodel.documents.html import as_css
from riskmodel.documents.reading import Counts, count, grade
from riskmodel.documents.scored import Scored, counted, score
from riskmodel.errors import DocumentRefused
from riskmodel.like_cases import count_words
from riskmodel.scoring import LikeCases, Scorer
from tests.riskmodel.documents.builders import ON, bundle

CASE = {"age_years": 4.0, "condition": "down", "reduces": "under_traction", "upper_level": "O", "prior_cvj_surgery": 0}
PUBLISHED = Published("somewhere", 0.05, 0.30, "somebody")
FULL = FamilyOptions(
    choices=tuple(Choice),
    avoid=tuple(Avoid),
    reasons=True,
    growing_up=True,
    young_person=True,
    halo=True,
    joined_skull=True,
)
# Reading grade that is advised for what families take home (review of 90 pages of the web, 2024: 2.2% reached it).
ADVISED = 6.0


@cache
def _scorer(outcome: str, published: Published | None) -> Scorer:
    text = OutcomeText(outcome, f"Some {outcome}", 24.0)
    return Scorer(bundle(outcome=text, published=published, use=Use.LOCAL))


@cache
def answer(
    risk: tuple[float, float, float] = (0.08, 0.16, 0.27),
    *,
    outcome: str = "revision",
    like: int = 40,
    condition: str = "down",
    published: Published | None = PUBLISHED,
    expired: bool = False,
) -> Scored:
    """An answer with a risk (low, point, high), like cases and a condition of our choosing."""
    on = date(2030, 1, 1) if expired else ON
    held = score(_scorer(outcome, published), {**CASE, "condition": condition}, on=on)
    if not held.estimate.shown:
        return held
    cells = (LikeCases("kind", count_words(like)),)
    return replace(
        held, estimate=replace(held.estimate, low=risk[0], probability=risk[1], high=risk[2], like_cases=cells)
    )


def sheet(*answers: Scored, options: FamilyOptions = FULL) -> FamilySheet:
    return family.summarise(answers or (answer(),), options, on=ON)


def text(*answers: Scored, options: FamilyOptions = FULL) -> str:
    return "\n".join(sheet(*answers, options=options).texts)


def test_the_range_comes_first_the_guess_second_and_both_counts_are_given() -> None:
    told = text()
    between = told.index("Between 8 and 27 of the 100 had a second neck operation that was not planned.")
    guess = told.index("Our best guess is 16. That would leave 84 who did not.")
    assert told.index("Think of 100 children like yours.") < between < guess
    assert "We look at the first 2 years after it." in told


def test_a_wide_range_is_drawn_as_three_groups_and_a_narrow_one_as_two() -> None:
    (wide,) = (part.picture for part in sheet().parts if part.picture)
    assert [line.split(".")[0] for line in wide.key] == ["Dark: 8", "Striped: 19", "White: 73"]
    (narrow,) = (part.picture for part in sheet(answer((0.10, 0.14, 0.20))).parts if part.picture)
    assert [line.split(".")[0] for line in narrow.key] == ["Dark: 14", "White: 86"]


@given(st.floats(0.011, 0.98), st.floats(0.0, 0.19), st.floats(0.0, 0.19))
@settings(max_examples=60, deadline=None)
def test_bounds_are_rounded_outward_and_whole(point: float, below: float, above: float) -> None:
    low, high = max(0.0, point - below), min(1.0, point + above)
    (held,) = sheet(answer((low, point, high))).numbers
    assert held.low is not None
    assert held.likely is not None
    assert held.high is not None
    assert held.low <= 100 * low + 1e-6
    assert held.high >= 100 * high - 1e-6
    assert held.low <= held.likely <= held.high


def test_a_number_that_is_whole_stays_what_it_is() -> None:
    (held,) = sheet(answer((0.07, 0.16, 0.29))).numbers
    assert (held.low, held.likely, held.high) == (7, 16, 29)


def test_one_risk_below_1_in_100_turns_the_whole_sheet_to_a_thousand() -> None:
    held = sheet(answer((0.002, 0.006, 0.02), outcome="revision"), answer(outcome="fixation_failure"))
    assert {number.total for number in held.numbers} == {1000}
    assert "Think of 1000 children like yours." in "\n".join(held.texts)
    assert "between 80 and 270 of the 1000" in "\n".join(held.texts)
    assert "of the 100," not in "\n".join(held.texts)


def test_a_range_from_none_is_said_without_a_zero() -> None:
    told = text(answer((0.001, 0.03, 0.09)))
    assert "Up to 9 of the 100 had a second neck operation" in told
    assert "Between 0" not in told


@pytest.mark.parametrize(
    ("held", "why"),
    [
        (answer(like=15), Why.TOO_FEW),
        (answer(condition="sedc"), Why.TOO_FEW),
        (answer((0.05, 0.2, 0.46)), Why.TOO_UNSURE),
        (answer(expired=True), Why.OUT_OF_DATE),
    ],
)
def test_without_a_number_there_is_a_sentence_and_the_published_range(held: Scored, why: Why) -> None:
    made = sheet(held)
    assert made.numbers[0].why is why
    assert (made.numbers[0].likely, made.numbers[0].low, made.numbers[0].high) == (None, None, None)
    told = "\n".join(made.texts)
    assert "That is about our records, not about your child." in told
    assert "In reports on all kinds of children it was between 5 and 30 of 100." in told
    assert "best guess" not in told
    assert not any(part.picture for part in made.parts)
    assert "too unusual" not in told
    # Everything else stays on the page.
    assert "Call us the same day" in told
    assert "Other things can go wrong, too" in told


def test_one_reason_for_all_numbers_that_are_withheld_is_said_once() -> None:
    about = "That is about our records, not about your child."
    both = text(answer(like=0), answer(outcome="fixation_failure", like=0))
    assert both.count(about) == both.count("too few children like yours") == 1
    apart = text(answer((0.05, 0.2, 0.46)), answer(outcome="fixation_failure", like=0))
    assert (apart.count(about), apart.count("too few children like yours")) == (2, 1)
    assert both.count("In reports on all kinds of children") == apart.count("In reports on all kinds of children") == 2


def test_one_horizon_of_all_numbers_is_said_once() -> None:
    assert text(answer(), answer(outcome="fixation_failure")).count("We look at the first 2 years after it.") == 1
    longer = answer(outcome="fixation_failure")
    outcome = replace(longer.bundle.outcome, horizon_months=18.0)
    told = text(answer(), replace(longer, bundle=replace(longer.bundle, outcome=outcome)))
    assert told.count("We look at the first 2 years after it.") == 1
    assert told.count("We look at the first 18 months after it.") == 1


def test_what_an_outcome_means_is_said_with_and_without_a_number() -> None:
    for held in (answer(outcome="fixation_failure"), answer(outcome="fixation_failure", like=0)):
        assert "Not all of these children had a second operation." in text(held)


def test_what_no_number_counts_is_said_and_the_emergency_comes_first() -> None:
    told = text(options=FamilyOptions())
    assert "Other things can go wrong, too" in told
    assert told.index("Call an ambulance now") < told.index("Call us the same day") < told.index("fever")
    assert told.index("Phone by day") < told.index("Phone by night")


def test_a_plan_that_contradicts_itself_has_no_number() -> None:
    made = sheet(replace(answer(), plan_contradicts=True))
    assert (made.numbers[0].why, made.numbers[0].likely) == (Why.PLAN, None)
    told = "\n".join(made.texts)
    assert "We still work on the plan for the operation. So we do not give a number now." in told.replace("\n", " ")
    assert "best guess" not in told
    assert "Call us the same day" in told


def test_a_model_for_study_gives_families_no_number_unless_its_data_are_invented() -> None:
    study = score(Scorer(bundle(use=Use.STUDY)), CASE, on=ON)
    assert sheet(study).numbers[0].why is Why.NOT_CHECKED
    invented = score(Scorer(bundle(use=Use.STUDY, demonstration=True)), CASE, on=ON)
    made = sheet(invented)
    assert made.numbers[0].why is None
    assert made.marks[0] == "The numbers on this sheet are made up. They are not for any real child."


def test_nothing_known_elsewhere_is_said_so() -> None:
    assert "We do not know of a good number from other places." in text(answer(like=0, published=None))


def test_a_rare_condition_is_said_of_the_records() -> None:
    told = text(answer(condition="marfan"))
    assert "Fewer than 5 of them had the same condition." in told
    assert "Fewer than 5" not in text(answer(condition="down"))


def test_two_outcomes_are_not_to_be_added() -> None:
    assert "Do not add the two." in text(answer(), answer(outcome="fixation_failure"))
    assert "Do not add the two." not in text()


def test_only_ticked_choices_are_printed_and_ticking_order_does_not_matter() -> None:
    told = text(options=FamilyOptions(choices=(Choice.BRACE, Choice.THIS_OPERATION)))
    assert told.index("This operation.") < told.index("A brace, and we watch.")
    assert "Wait, and scan again." not in told
    assert "What you can choose from" not in text(options=FamilyOptions())


def test_numbers_say_nothing_about_waiting() -> None:
    assert "They say nothing about waiting." in text(options=FamilyOptions(choices=(Choice.SCAN_AGAIN,)))


def test_reasons_are_of_bone_or_condition_only_and_off_by_default() -> None:
    assert "What moved our guess" not in text(options=FamilyOptions())
    steady = bundle(use=Use.LOCAL)
    held = score(Scorer(steady), CASE, on=ON)
    lines = tuple(replace(line, same_sign_share=0.95) for line in held.estimate.contributions)
    told = text(replace(held, estimate=replace(held.estimate, contributions=lines)))
    assert "This made it higher: the condition that your child has." in told
    assert "how well the bones move back into line" not in told, "it moved no whole child of 100"
    assert "age" not in told.split("What moved our guess")[1].split("When to call")[0].split()
    assert "No one is to blame for these." in told


def test_a_reason_whose_direction_did_not_hold_is_not_named() -> None:
    held = score(Scorer(bundle(use=Use.LOCAL)), CASE, on=ON)
    lines = tuple(replace(line, same_sign_share=0.6) for line in held.estimate.contributions)
    assert "What moved our guess" not in text(replace(held, estimate=replace(held.estimate, contributions=lines)))


def test_what_does_not_hold_in_this_child_turns_no_reason_round() -> None:
    """The condition raises; Down syndrome without the occiput, which this child does not have, would outweigh it."""
    held = score(Scorer(bundle(use=Use.LOCAL)), {**CASE, "upper_level": "O"}, on=ON)
    main, product = ("condition",), ("condition", "includes_occiput")
    moved = {main: 0.2, product: -0.5}
    lines = tuple(
        replace(line, log_odds=moved.get(line.variables, 0.0), same_sign_share=0.95)
        for line in held.estimate.contributions
    )
    (absent,) = [line for line in lines if line.variables == product]
    assert absent.value == "no"
    told = text(replace(held, estimate=replace(held.estimate, contributions=lines)))
    assert "This made it higher: the condition that your child has." in told
    assert "This made it lower" not in told


def test_a_sheet_is_a_draft_until_somebody_answers_for_the_talk() -> None:
    draft = "Draft: not yet talked through with the family."
    assert draft in sheet().marks
    assert draft in sheet(options=FamilyOptions(initials="AB")).marks
    signed = sheet(options=FamilyOptions(initials="AB", talked_on=date(2026, 12, 2)))
    assert draft not in signed.marks
    assert "Talked through by AB on 2 December 2026." in signed.foot


def test_the_sheet_outlives_its_model_only_until_a_date() -> None:
    assert "Ask for a new sheet after 25 November 2028." in sheet().foot


def test_a_model_is_named_by_its_digest_alone() -> None:
    """Names of models speak of failure."""
    named = replace(answer(), bundle=replace(answer().bundle, id="fixation_failure_24m"))
    assert "fail" not in text(named)
    assert f"Model {answer().bundle.digest[:8]}." in sheet().foot


def test_the_young_person_is_told_of_each_thing_and_promised_nothing() -> None:
    (young,) = (part for part in sheet().parts if part.look is family.model.Look.YOUNG)
    leads = [lead for lead, _ in young.items]
    assert len(leads) == 7
    for word in ("done", "ask", "decide", "School", "hurts", "promise"):
        assert any(word in lead for lead in leads), word
    told = " ".join(rest for _, rest in young.items).lower()
    for word in ("promise you", "will be fine", "safe", "no pain", "do not worry"):
        assert word not in told


def test_no_key_of_the_child_is_printed() -> None:
    held = sheet()
    assert answer().estimate.case_id not in " ".join(held.texts).split()
    assert held.name_line == "Name (write by hand, if you like)"


NEVER = ("%", "1 in", "odds", "relative", "average", "normal", "rare", "fail", "fault", "unusual", "score")


@pytest.mark.parametrize("held", [(answer(),), (answer(), answer(outcome="fixation_failure")), (answer(like=0),)])
def test_words_that_a_family_should_not_read_are_not_there(held: tuple[Scored, ...]) -> None:
    told = text(*held).lower()
    for word in NEVER:
        assert word not in told
    # Whole numbers only.
    assert not any(a.isdigit() and b == "." and c.isdigit() for a, b, c in zip(told, told[1:], told[2:], strict=False))


def test_more_than_two_outcomes_or_none_are_refused() -> None:
    with pytest.raises(DocumentRefused, match="one or two outcomes; found 3"):
        sheet(answer(), answer(), answer())
    with pytest.raises(DocumentRefused, match="one or two outcomes; found 0"):
        family.summarise((), FULL, on=ON)


@pytest.mark.parametrize("number", [0, 4, 5, 40, 100])
def test_counts_in_words_can_be_read_back(number: int) -> None:
    assert counted(count_words(number)) == (number if number >= 5 else 0)


# -- reading grade, over every combination of ticks and of what can be said in numbers


def _states(outcome: str) -> Iterator[Scored]:
    """Everything that can be said of one outcome."""
    for condition in ("down", "marfan"):
        for risk in ((0.08, 0.16, 0.27), (0.1, 0.14, 0.2), (0.0, 0.03, 0.09), (0.002, 0.006, 0.02)):
            yield answer(risk, outcome=outcome, condition=condition)
    for published in (PUBLISHED, None):
        yield answer(like=0, outcome=outcome, published=published)
        yield answer((0.05, 0.2, 0.46), outcome=outcome, published=published)
        yield answer(expired=True, outcome=outcome, published=published)
        yield replace(answer(outcome=outcome, published=published), plan_contradicts=True)
        study = score(Scorer(bundle(outcome=OutcomeText(outcome, "x", 24.0), published=published)), CASE, on=ON)
        yield study


@cache
def _situations() -> list[tuple[Scored, ...]]:
    first, second = list(_states("fixation_failure")), list(_states("revision"))
    return [(held,) for held in (*first, *second)] + list(product(first, second))


SINGLE_TICKS = [
    *(FamilyOptions(choices=(choice,)) for choice in Choice),
    *(FamilyOptions(avoid=(avoid,)) for avoid in Avoid),
    FamilyOptions(growing_up=True),
    FamilyOptions(young_person=True),
    FamilyOptions(halo=True),
    FamilyOptions(joined_skull=True),
    FamilyOptions(initials="AB", talked_on=ON),
]


def _less(one: Counts, other: Counts) -> Counts:
    return Counts(one.words - other.words, one.sentences - other.sentences, one.syllables - other.syllables)


def _of(options: FamilyOptions, held: tuple[Scored, ...]) -> Counts:
    return count(family.summarise(held, options, on=ON).texts)


@cache
def _all_ticks() -> np.ndarray:
    """(2^15, 3) what every combination of ticks adds to the words, sentences and syllables of a sheet."""
    held = (answer(),)
    base = _of(FamilyOptions(), held)
    headings = {"choices": count(["What you can choose from"]), "avoid": count(["Until the operation"])}
    question = count(["What would happen if we wait?"])
    rows = []
    for options in SINGLE_TICKS:
        added = _less(_of(options, held), base)
        for name, heading in headings.items():
            added = _less(added, heading) if getattr(options, name) else added
        if WAITING.intersection(options.choices):
            added = _less(added, question)
        rows.append((added.words, added.sentences, added.syllables))
    ticked = np.array(list(product((0, 1), repeat=len(rows))))
    total = ticked @ np.array(rows)
    for name, columns in (("choices", slice(0, 5)), ("avoid", slice(5, 10))):
        heading = headings[name]
        some = ticked[:, columns].any(axis=1, keepdims=True)
        total += some * np.array([heading.words, heading.sentences, heading.syllables])
    # Asked once, by whichever way of waiting is open.
    waits = ticked[:, [place for place, choice in enumerate(Choice) if choice in WAITING]].any(axis=1, keepdims=True)
    total += waits * np.array([question.words, question.sentences, question.syllables])
    return np.asarray(total)


def test_every_combination_reads_at_grade_6_or_lower() -> None:
    situations, worst, combinations = _situations(), -99.0, 0
    # Different ticks may add the same counts: each sum is graded once.
    ticks = np.unique(_all_ticks(), axis=0)
    for held, reasons in product(situations, (False, True)):
        base = _of(FamilyOptions(reasons=reasons), held)
        words, sentences, syllables = (ticks + np.array([base.words, base.sentences, base.syllables])).T
        grades = 0.39 * words / sentences + 11.8 * syllables / words - 15.59
        worst, combinations = max(worst, float(grades.max())), combinations + len(_all_ticks())
    assert len(situations) == 18 + 18 + 18 * 18
    assert combinations == 2**15 * 360 * 2 == 23_592_960
    assert worst <= ADVISED


@given(
    st.frozensets(st.sampled_from(Choice)),
    st.frozensets(st.sampled_from(Avoid)),
    st.lists(st.booleans(), min_size=5, max_size=5),
    st.sampled_from(range(360)),
)
@settings(max_examples=25, deadline=None)
def test_what_ticks_add_is_added_up_rightly(
    choices: frozenset[Choice], avoid: frozenset[Avoid], flags: list[bool], which: int
) -> None:
    """The enumeration above stands for the sheets themselves."""
    growing, young, halo, skull, signed = flags
    options = FamilyOptions(
        choices=tuple(choices),
        avoid=tuple(avoid),
        growing_up=growing,
        young_person=young,
        halo=halo,
        joined_skull=skull,
    )
    options = replace(options, initials="AB", talked_on=ON) if signed else options
    held = _situations()[which]
    ticked = [choice in choices for choice in Choice] + [held_off in avoid for held_off in Avoid] + flags
    row = int("".join(str(int(tick)) for tick in ticked), 2)
    base = _of(FamilyOptions(), held)
    added = _all_ticks()[row]
    made = _of(options, held)
    assert (made.words, made.sentences, made.syllables) == tuple(
        added + np.array([base.words, base.sentences, base.syllables])
    )


def test_every_part_of_the_fullest_sheet_reads_at_grade_6_or_lower_by_itself() -> None:
    for part in sheet(answer(), answer(outcome="fixation_failure")).parts:
        texts = [*part.sentences, *(" ".join(pair) for pair in part.items)]
        if texts:
            assert grade(texts) <= ADVISED, part.title


def test_what_the_sentences_do_not_speak_of_is_refused() -> None:
    own = replace(answer(), bundle=bundle(dictionary=replace(bundle().dictionary, name="hips")))
    with pytest.raises(DocumentRefused, match="written for the dictionary cvj; small was made with hips"):
        sheet(own)


@pytest.mark.parametrize("planned", [{}, {"planned_support": "halo"}, {"planned_support": "not_applicable"}])
def test_a_halo_goes_with_a_case_that_may_have_one(planned: dict[str, object]) -> None:
    """Also where the model does not read what the case plans."""
    halo = FamilyOptions(halo=True)
    assert "A halo is a ring around the head." in text(replace(answer(), typed=planned), options=halo)
    collar = replace(answer(), typed={"planned_support": "collar"})
    with pytest.raises(DocumentRefused, match="planned_support = halo; found planned_support = collar in the case"):
        sheet(collar, options=halo)
    assert "A halo is a ring" not in text(collar, options=FamilyOptions())


def test_a_joined_skull_goes_with_a_case_whose_fusion_reaches_it() -> None:
    """A family whose child keeps its nod is not told that nodding will be hard."""
    skull = FamilyOptions(joined_skull=True)
    for planned in ({}, {"upper_level": "O"}):
        assert "Nodding will be hard." in text(replace(answer(), typed=planned), options=skull)
    with pytest.raises(DocumentRefused, match="upper_level = O; found upper_level = C1 in the case"):
        sheet(replace(answer(), typed={"upper_level": "C1"}), options=skull)


def test_waiting_is_asked_about_only_where_it_is_open() -> None:
    asked = "What would happen if we wait?"
    for choice in Choice:
        told = text(options=FamilyOptions(choices=(choice,)))
        assert (asked in told) == (choice in {Choice.BRACE, Choice.SCAN_AGAIN, Choice.NOT_NOW}), choice


# -- renderings


def test_the_fullest_sheet_fits_two_pages_and_the_barest_too() -> None:
    for options, held in ((FULL, (answer(), answer(outcome="fixation_failure"))), (FamilyOptions(), (answer(like=0),))):
        document = pypdfium2.PdfDocument(family.to_pdf(sheet(*held, options=options)))
        assert len(document) <= 2
        # The marks run across the top of every page.
        for page in document:
            assert "Draft: not yet talked through" in page.get_textpage().get_text_range()
        document.close()


HELD = (answer(), answer(outcome="fixation_failure"))
SOME = FamilyOptions(choices=(Choice.THIS_OPERATION, Choice.SCAN_AGAIN), avoid=(Avoid.JUMPING,), young_person=True)


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize(
    ("options", "held"),
    [(FULL, HELD), (SOME, HELD), (SOME, HELD[:1]), (SOME, (answer(like=0),)), (replace(FULL, halo=False), HELD)],
)
def test_the_young_person_has_the_lower_half_of_the_last_page(
    language: str, options: FamilyOptions, held: tuple[Scored, ...]
) -> None:
    """From its heading down to the cautions, which stand at the foot: 4 to 6 tenths of the page, at any length."""
    made = sheet(*held, options=replace(options, language=language))
    title, foot = made.parts[-1].title, made.small[0]
    document = pypdfium2.PdfDocument(family.to_pdf(made))
    assert len(document) == 2
    text, height = document[1].get_textpage(), document[1].get_height()
    tops = []
    for told in (title, foot):
        found = text.search(told).get_next()
        assert found is not None, told
        tops.append(text.get_charbox(found[0])[3] / height)
    document.close()
    assert 0.40 <= tops[0] <= 0.60
    assert 0.05 <= tops[1] <= 0.12


@pytest.mark.parametrize("seed", range(12))
def test_any_ticks_fit_two_pages_in_any_language(seed: int) -> None:
    rng = np.random.default_rng(seed)
    ticks = rng.random(15) < rng.choice([0.3, 0.6, 0.9])
    options = FamilyOptions(
        tuple(choice for choice, ticked in zip(Choice, ticks[:5], strict=True) if ticked),
        tuple(avoid for avoid, ticked in zip(Avoid, ticks[5:10], strict=True) if ticked),
        *ticks[10:].tolist(),
    )
    options = replace(options, language=("en", "es")[seed % 2])
    held = _situations()[int(rng.integers(len(_situations())))]
    document = pypdfium2.PdfDocument(family.to_pdf(sheet(*held, options=options)))
    assert len(document) <= 2
    document.close()


def test_the_pdf_is_tagged_and_the_same_bytes_each_time() -> None:
    made = family.to_pdf(sheet())
    assert made == family.to_pdf(sheet())
    assert b"/StructTreeRoot" in made
    assert b"pdfuaid:part" in made
    assert b"CreationDate" not in made


def test_markup_prints_as_it_was_typed() -> None:
    label = "<b>x</b> #strong[y] $z$ \\ *w* \u202ename\u202c"
    held = score(Scorer(bundle(outcome=OutcomeText("other", label, None), use=Use.LOCAL)), CASE, on=ON)
    made = sheet(held)
    assert "&lt;b&gt;x&lt;/b&gt; #strong[y] $z$" in family.to_html(made)
    assert "<b>x</b>" not in family.to_html(made)
    document = pypdfium2.PdfDocument(family.to_pdf(made))
    assert "<b>x</b> #strong[y] $z$" in document[0].get_textpage().get_text_range()
    document.close()


def test_html_and_pdf_hold_every_text_of_the_summary() -> None:
    made = sheet(answer(), answer(outcome="fixation_failure"))
    html = family.to_html(made).replace("&#39;", "'")
    document = pypdfium2.PdfDocument(family.to_pdf(made))
    pdf = "".join(page.get_textpage().get_text_range() for page in document)
    document.close()
    squeezed = "".join(pdf.split())
    for told in made.texts:
        assert told in html
        assert "".join(told.split()) in squeezed


def test_markdown_and_json_say_the_same() -> None:
    made = sheet()
    markdown = family.to_markdown(made)
    for part in made.parts:
        for sentence in part.sentences:
            assert sentence in markdown
    assert json.loads(family.to_json(made))["numbers"][0]["likely"] == 16


def test_what_is_marked_is_marked_on_every_sheet_of_paper_printed_from_html() -> None:
    """CSS Paged Media Level 3: a margin box is printed on every page; the first has the box itself."""
    html = family.to_html(sheet())
    style = html[html.index("<style>") : html.index("</style>")]
    assert r'@top-center { content: "Draft\3a  not yet talked through with the family\2e "' in style
    assert "@top-center" not in family.to_html(sheet(options=replace(FULL, initials="AB", talked_on=ON)))


def test_a_text_in_a_style_ends_neither_its_string_nor_the_style() -> None:
    assert as_css('"}</style>') == r'"\22 \7d \3c \2f style\3e "'


def test_right_to_left_is_set_from_the_right() -> None:
    made = replace(sheet(), language="ar", direction="rtl")
    assert '<html lang="ar" dir="rtl">' in family.to_html(made)
    # The squares are a figure, not a text: they keep their direction.
    assert '<div class="picture" dir="ltr">' in family.to_html(made)
