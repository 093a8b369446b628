"""The sentences that every output carries, so that no page says them in another way."""

DEMONSTRATION = (
    "Made from invented data, to show how the software works: no number here is about real children, and none may be "
    "used for one."
)

GENERAL = (
    "Research software, not cleared as a medical device. It works from typed values and reads no images.",
    "It does not choose an operation and does not replace the judgement of the treating team, local protocols or "
    "licensed practice.",
    "Not for emergencies: when a child's neurology is falling, do not wait for a number.",
    "The number describes children of the past with values like these. It is not the effect of changing the plan.",
    "Only children who had an operation are in the records: nothing here says what happens without one.",
    "Centres and years differ. Before it is used, a model has to be checked on the patients of the place that uses it.",
    "Measurements differ between readers, positions and kinds of image, and the estimate moves with them.",
    "What was not imaged or not tested is not known: it is not normal.",
    "Sides are the child's own sides.",
    "Not for children outside the ranges that the model states, nor for repeat operations unless its cohort had them.",
)

PLANNING = (
    "Published limits of anatomy come mostly from adults or injuries; most have never been checked in a small child.",
    "Bone morphogenetic protein is off-label in children.",
    "Halo pins in a thin or soft skull, after a craniectomy or over a shunt need a plan of their own.",
    "Every CT is radiation: repeat one only if the answer changes care.",
    "After a fusion that includes the occiput the neck stays fixed: warn whoever manages the airway from then on.",
)


def cautions(*, demonstration: bool) -> tuple[str, ...]:
    """What is printed with every number of a model; that the data are invented comes first."""
    return (DEMONSTRATION, *GENERAL) if demonstration else GENERAL
