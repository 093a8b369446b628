"""The fit that is examined, and the same fit again with something changed."""

from dataclasses import dataclass, replace

import numpy as np

from riskmodel.cases.table import Floats
from training.candidates import KNOWN, Candidate, Fitted, chosen
from training.cohort import Cohort
from training.features import Declared, Design, learn
from training.fitting import Trained
from training.outcome import Outcome, at_horizon
from training.protocol import Protocol


@dataclass(frozen=True, slots=True)
class Refitted:
    """A fit to a sample of a cohort: `outcome` with the weights of that sample, `design` as learned from it."""

    design: Design
    outcome: Outcome
    fitted: Fitted


@dataclass(frozen=True, slots=True)
class Examined:
    """What is examined: cohort, protocol, what was decided before the outcome, and the shipped fit.

    `rule` is what the protocol asks for (it may choose anew); `kind`, the candidate that was fitted in the end.
    """

    cohort: Cohort
    protocol: Protocol
    declared: Declared
    outcome: Outcome
    design: Design
    fitted: Fitted
    rule: Candidate
    kind: Candidate

    @classmethod
    def of(cls, trained: Trained) -> "Examined":
        """The parts of a fit that an examination needs."""
        kind = KNOWN[trained.fitted.name](trained.protocol)
        return cls(
            cohort=trained.cohort,
            protocol=trained.protocol,
            declared=trained.declared,
            outcome=trained.outcome,
            design=trained.design,
            fitted=trained.fitted,
            rule=chosen(trained.protocol),
            kind=kind,
        )

    @property
    def left_out(self) -> Floats:
        """(n,) probability of each child, estimated without it (approximate leave-one-out).

        Raises
        ------
        TypeError
            When the candidate makes none: it cannot have been shipped.
        """
        if self.fitted.left_out is None:
            raise TypeError(f"{self.fitted.name} has no left-out probabilities: it cannot have been shipped")
        return self.fitted.left_out

    def again(
        self,
        *,
        cohort: Cohort | None = None,
        protocol: Protocol | None = None,
        declared: Declared | None = None,
        candidate: Candidate | None = None,
        counts: Floats | None = None,
    ) -> Refitted:
        """The same fit with some of its parts replaced, or to a sample in which child i is `counts[i]` times.

        Raises
        ------
        FitRefused
            When there is no finite fit.
        """
        held = self.cohort if cohort is None else cohort
        asked = self.protocol if protocol is None else protocol
        settled = self.declared if declared is None else declared
        outcome = at_horizon(held, asked, counts=counts)
        same = held is self.cohort and counts is None and settled.recipe is self.declared.recipe
        # The columns hang on neither priors nor outcome, and take longer than the fit.
        design = (
            replace(self.design, priors=settled.priors) if same else learn(held, asked, counts=counts, declared=settled)
        )
        present = np.ones(len(held)) if counts is None else counts
        rng = np.random.default_rng(asked.seed)
        fitted = (candidate or self.kind).fit(design, held, outcome, counts=present, rng=rng)
        return Refitted(design, outcome, fitted)
