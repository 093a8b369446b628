"""Parts of a planning summary in words, a line each; pages and text say them alike."""

from collections.abc import Iterator

from riskmodel.anatomy.blood import BloodVolume
from riskmodel.anatomy.craniometry import Comparison, Place
from riskmodel.documents.words import SUPPORT, of_100, short, signed
from riskmodel.plans.fitting import AnchorFit, SizeFit
from riskmodel.plans.rescue import Rescue
from riskmodel.plans.risks import Difference, ModelRisks, PlanNumber
from riskmodel.plans.situations import Prompt
from riskmodel.plans.steps import Fact
from riskmodel.plans.telling import listed, mm, told
from riskmodel.plans.theatre import KitItem
from riskmodel.plans.watch import WatchItem


def anchor_class(fit: AnchorFit) -> str:
    """Class, why, and what it could be: "fits barely at best (narrow), could be fits"."""
    words = fit.fit.value + (" at best" if fit.at_best else "")
    if fit.because:
        words += f" ({'; '.join(because.value for because in fit.because)})"
    return words + (f", could be: {fit.could_be.value}" if fit.could_be else "")


def anchor_measures(fit: AnchorFit) -> str:
    """Screw asked for, margin, what was measured, the largest screw and the longest length in stock."""
    return "; ".join(_measures(fit))


def _measures(fit: AnchorFit) -> Iterator[str]:
    if fit.margin_mm is not None:
        yield _margin(fit, fit.margin_mm)
    yield from (f"{part.label} {mm(part.value_mm)}" for part in fit.measured if part.value_mm is not None)
    yield from _largest(fit)
    if fit.not_known:
        yield f"not known: {' | '.join(fit.not_known)}"


def _margin(fit: AnchorFit, margin_mm: float) -> str:
    """The margin of the asked screw; a plan has no breach grade, only "wider than the path by 0.5 mm"."""
    if fit.measured[0].least_mm is not None:
        return f"{mm(abs(margin_mm))} {'beyond' if margin_mm >= 0.0 else 'short of'} the least"
    if margin_mm < 0.0:
        return f"at {mm(fit.asked_mm or 0.0)}: wider than the path by {mm(-margin_mm)}"
    return f"at {mm(fit.asked_mm or 0.0)}: margin {mm(margin_mm)}"


def _largest(fit: AnchorFit) -> Iterator[str]:
    best, most = fit.largest_fitting, fit.largest_possible
    if fit.sizes and most is None and fit.margin_mm is not None:
        yield "no stocked screw fits"
    if best is not None:
        yield f"largest in stock that fits {_size(best)}"
    if most is not None and (best is None or most.diameter_mm > best.diameter_mm):
        yield f"barely {_size(most)}"


def _size(size: SizeFit) -> str:
    margin = "" if size.margin_mm is None else f", margin {mm(size.margin_mm)}"
    longest = ", length of the path not measured" if size.longest_mm is None else f", longest {mm(size.longest_mm)}"
    return f"{mm(size.diameter_mm)}{margin}{longest}"


def anchor_limit(fit: AnchorFit) -> str:
    """The limit that the class stands on, with its source and how well it is supported."""
    local = "local limit, " if fit.limit.local else ""
    source = f"[{local}{fit.limit.source}; {SUPPORT[fit.limit.confidence]}]"
    return f"{fit.limit.text}: {told(fit.limit.value)} {fit.limit.unit} {source}"


def fact(held: Fact) -> str:
    """A fact, and where it lies against what is published."""
    beside = [comparison(part) for part in held.comparisons]
    return f"{held.label}: {held.says}" + (f" [{'; '.join(beside)}]" if beside else "")


def comparison(held: Comparison) -> str:
    """A value against one published limit."""
    norm = held.norm
    about = f"{norm.who}, {norm.text}"
    if norm.low is None and norm.high is None:
        mean = "" if norm.mean is None else f" {short(norm.mean)}" + (f" (SD {short(norm.sd)})" if norm.sd else "")
        return f"beside it: {about}{mean}"
    if held.place is Place.NOT_COMPARED:
        return f"limit {_span(held)}, not compared: {about}; {held.why}"
    return f"{_limit(held)}: {about}, {norm.source}"


def _limit(held: Comparison) -> str:
    """Where the value lies, with the limit that says so."""
    low, high = held.norm.low, held.norm.high
    if held.place is Place.BELOW and low is not None:
        return f"below {short(low)}"
    if held.place is Place.ABOVE and high is not None:
        return f"{'at or above' if held.norm.reached else 'above'} {short(high)}"
    return f"within {_span(held)}" if low is not None and high is not None else _span(held)


def _span(held: Comparison) -> str:
    """The limits of a norm in words."""
    low, high = held.norm.low, held.norm.high
    if low is not None and high is not None:
        return f"{short(low)} to {short(high)}"
    return f"not below {short(low)}" if low is not None else f"not above {short(high or 0.0)}"


def prompt(held: Prompt) -> str:
    """A prompt with its source and how well it is supported."""
    plan = f"plan {held.plan}: " if held.plan else ""
    return f"{plan}{held.situation}: {held.says} [{held.source}; {SUPPORT[held.confidence]}]"


def rescue(held: Rescue) -> str:
    """What is left if an anchor fails."""
    parts = []
    if held.smaller:
        parts.append(
            f"same path, smaller: {', '.join(f'{mm(size.diameter_mm)} {size.fit.value}' for size in held.smaller)}"
        )
    parts += [_option(fit) for fit in held.options]
    if not parts:
        parts.append("nothing by the measurements")
    if held.not_measured:
        parts.append(f"not measured: {', '.join(held.not_measured)}")
    return "; ".join(parts)


def _option(fit: AnchorFit) -> str:
    size = "" if fit.asked_mm is None else f" {mm(fit.asked_mm)}"
    longest = "" if fit.longest_mm is None else f", longest {mm(fit.longest_mm)}"
    return f"{fit.label}{size} {fit.fit.value}{' at best' if fit.at_best else ''}{longest}"


def kit_item(held: KitItem) -> str:
    """One thing to have in the room, why, and whether it lies on the shelf."""
    shelf = " (not in the stock file)" if held.stocked is False else ""
    return f"{held.name}{shelf}: {'; '.join(held.because)}"


def watch_item(held: WatchItem) -> str:
    """One thing to watch: when, at which age, what, why."""
    plans = f" (plan {listed(held.plans)})" if held.plans else ""
    return f"{held.when}{_age(held)}{plans}: {held.what}; {held.why} [{held.source}]"


def _age(held: WatchItem) -> str:
    first, last = held.from_age_years, held.to_age_years
    if first is None and last is None:
        return ""
    if first is None or last is None:
        return f", from {told(round(first, 1))} years" if first is not None else f", to {last:g} years"
    return f", at {told(round(first, 1))}" + (f" to {last:g} years" if last > first else " years")


def blood(held: BloodVolume) -> str:
    """Volume and shares of it."""
    shares = ", ".join(f"{share:.0%} = {loss:.0f} ml" for share, loss in held.loss_ml)
    return f"blood volume about {held.volume_ml:.0f} ml ({shares})"


def difference(held: Difference) -> str:
    """What the records tell between two plans: the range first."""
    names = f"{held.first} less {held.second}"
    if held.difference is None or held.low is None or held.high is None:
        return f"{names}: {held.says}"
    span = f"between {signed(100 * held.low, 0)} and {signed(100 * held.high, 0)} in 100 ({held.level:.0%} range)"
    same = (
        f"; held the same: {listed(name.replace('_', ' ') for name in held.held_the_same)}"
        if held.held_the_same
        else ""
    )
    return f"{names}: {held.says}; {span}, best estimate {signed(100 * held.difference, 0)}{same}"


def plan_number(held: PlanNumber) -> str:
    """The estimate under one plan, range first."""
    estimate = held.estimate
    if estimate.probability is None or estimate.low is None or estimate.high is None:
        return f"plan {held.plan}: no number is shown"
    span = f"between {round(100 * estimate.low)} and {round(100 * estimate.high)} in 100 ({estimate.level:.0%} range)"
    return f"plan {held.plan}: {span}, best estimate {of_100(estimate.probability)}"


def model_head(held: ModelRisks) -> str:
    """What a model predicts, and its state."""
    within = "" if held.horizon_months is None else f" within {short(held.horizon_months)} months"
    return f"{held.outcome}{within} ({held.bundle_id}, {held.use}, digest {held.digest[:12]})"
