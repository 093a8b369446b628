"""What several cohorts may tell together: ranges that reach as far as any, counts that add up."""

from collections.abc import Iterator, Sequence

from riskmodel.bundle import Ranges, Support, SupportCell


def joined_ranges(parts: Sequence[Ranges]) -> Ranges:
    """Where any of the cohorts had children; each bound lies five children deep in its own cohort."""
    names = dict.fromkeys(name for part in parts for name in part.numbers)
    levels = dict.fromkeys(name for part in parts for name in part.levels)
    return Ranges(
        {name: _span([part.numbers[name] for part in parts if name in part.numbers]) for name in names},
        {name: tuple(dict.fromkeys(_codes(parts, name))) for name in levels},
    )


def _span(held: Sequence[tuple[float, float]]) -> tuple[float, float]:
    # low above high: that cohort has nobody to compare with
    spans = [span for span in held if span[0] <= span[1]]
    return (min(low for low, _ in spans), max(high for _, high in spans)) if spans else held[0]


def _codes(parts: Sequence[Ranges], name: str) -> Iterator[str]:
    for part in parts:
        yield from part.levels.get(name, ())


def joined_supports(parts: Sequence[tuple[Support, ...]]) -> tuple[Support, ...]:
    """Counts added up, by the combinations of the first: each is at least what it says, and so is the sum."""
    known = [{held.of: held for held in part} for part in parts]
    return tuple(_sum_of(held.of, [part[held.of] for part in known if held.of in part]) for held in parts[0])


def _sum_of(names: tuple[str, ...], parts: Sequence[Support]) -> Support:
    counts: dict[tuple[str, ...], int] = {}
    for cell in (cell for part in parts for cell in part.cells):
        counts[cell.codes] = counts.get(cell.codes, 0) + cell.at_least
    return Support(names, tuple(SupportCell(codes, count) for codes, count in sorted(counts.items())))
