"""The models page, and which models may share an app."""

from dataclasses import replace

import pytest

from riskmodel import scoring
from riskmodel.documents import card
from riskmodel.errors import BundleError
from riskmodel.scoring import Scorer
from riskmodel.web import models
from tests.riskmodel.web.client import bundle_files, client, demonstration_models


def test_the_card_shows_limits_digest_chain_and_every_section() -> None:
    inside = client().let_in()
    scorer = demonstration_models().scorers[0]
    words = inside.get("/models/0").words
    held = card.page(card.summarise(scorer.bundle))
    for section in held.sections:
        assert section.title in words
    assert scorer.bundle.digest in words
    for limit in card.summarise(scorer.bundle).limits:
        assert " ".join(limit.split()) in words


def test_the_card_comes_as_a_file_in_four_kinds() -> None:
    inside = client().let_in()
    summary = card.summarise(demonstration_models().scorers[1].bundle)
    assert inside.get("/models/1/card.json").text == card.to_json(summary)
    assert inside.get("/models/1/card.md").text == card.to_markdown(summary)
    assert inside.get("/models/1/card.pdf").body.startswith(b"%PDF")
    assert "attachment" in inside.get("/models/1/card.html").header("content-disposition")
    assert inside.get("/models/1/card.exe").status == 404
    assert inside.get("/models/2").status == 404


def test_a_model_is_not_asked_twice() -> None:
    path = bundle_files()[0]
    with pytest.raises(BundleError, match="must differ from each other; revision_24m was given twice"):
        models.load([path, path])


def test_models_that_mean_different_things_by_one_name_do_not_share_a_form() -> None:
    first, second = (scoring.load(path).bundle for path in bundle_files())
    variables = dict(second.dictionary.variables)
    variables["age_years"] = replace(variables["age_years"], unit="months")
    other = replace(second, dictionary=replace(second.dictionary, variables=variables))
    with pytest.raises(BundleError, match="mean different things by age_years"):
        models.together([Scorer(first), Scorer(other)])


def test_a_model_that_differs_from_the_shipped_dictionary_is_asked_in_its_own_words() -> None:
    bundle = scoring.load(bundle_files()[0]).bundle
    variables = dict(bundle.dictionary.variables)
    variables["age_years"] = replace(variables["age_years"], hard=(0, 30))
    held = models.together([Scorer(replace(bundle, dictionary=replace(bundle.dictionary, variables=variables)))])
    assert held.dictionary.variables["age_years"].hard == (0, 30)
    assert "c2_hu" not in held.dictionary.variables
