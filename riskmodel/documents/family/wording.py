"""Every sentence of the family's sheet, for neck operations in children.

Rules: no blame, no relative risk, no "1 in", no decimals, no lone word for a chance; both numbers every time; a group
of children, never this child. The trade's facts here (when to call, what to mind, growing up) are common practice
without a source. Reading grade 6 or lower: a test holds every combination to it.
"""

from riskmodel.documents.family.numbers import Why
from riskmodel.documents.family.options import Avoid, Choice
from riskmodel.documents.languages import message

TITLE = message("Your child's neck operation")
SUBTITLE = message("A sheet about risk, to take home")
NAME_LINE = message("Name (write by hand, if you like)")

DRAFT = message("Draft: not yet talked through with the family.")
DEMONSTRATION = message("The numbers on this sheet are made up. They are not for any real child.")
LANGUAGE_DRAFT = message("Draft translation: not yet read by a person who speaks this language at home.")

ABOUT_TITLE = message("What this sheet is for")
ABOUT = (
    message("It is here to help you talk with the team."),
    message("It does not tell you what to do."),
    message("The bones where the head meets the neck do not hold still as they should."),
    message("They can press on the cord in the spine, which takes messages to the arms and legs."),
    message("The aim of the operation is to hold these bones with metal, so that they can grow into one."),
)

CHOICES_TITLE = message("What you can choose from")
CHOICES = {
    Choice.THIS_OPERATION: (
        message("This operation."),
        message("It can hold the bones and help to keep the cord safe. The part that is joined will not bend again."),
    ),
    Choice.OTHER_OPERATION: (
        message("A different operation."),
        message("It holds the bones in another way. Ask what you gain and what you lose."),
    ),
    Choice.BRACE: (
        message("A brace, and we watch."),
        message("There is no cut. The brace may not hold the bones well enough."),
    ),
    Choice.SCAN_AGAIN: (
        message("Wait, and scan again."),
        message("Things may get better, stay the same or get worse. We set a day to look again."),
    ),
    Choice.NOT_NOW: (
        message("No operation now."),
        message("Things may get better, stay the same or get worse. You can ask us again on any day."),
    ),
}

NUMBERS_TITLE = message("What happened to other children")
THINK = message("Think of {total} children like yours. They all had the operation.")
YEARS = message("We look at the first {years} years after it.")
MONTHS = message("We look at the first {months} months after it.")
# For each outcome: heading, what it means, range, range from none, best guess.
OUTCOMES = {
    "fixation_failure": (
        message("How often did the metal or the bone not hold?"),
        message(
            "A screw came loose, a part broke, the bones moved, or they did not grow into one. "
            "Not all of these children had a second operation."
        ),
        message("For between {low} and {high} of the {total}, the metal or the bone did not hold."),
        message("For up to {high} of the {total}, the metal or the bone did not hold."),
        message("Our best guess is {likely}. For the other {others}, they held."),
    ),
    "revision": (
        message("How often was there a second operation that was not planned?"),
        message(
            "The team had to change the metal, add bone or free the cord. A wound that was cleaned does not count."
        ),
        message("Between {low} and {high} of the {total} had a second neck operation that was not planned."),
        message("Up to {high} of the {total} had a second neck operation that was not planned."),
        message("Our best guess is {likely}. That would leave {others} who did not."),
    ),
}
ANY_OUTCOME = (
    "{label}",
    "",
    message("It happened to between {low} and {high} of the {total}."),
    message("It happened to up to {high} of the {total}."),
    message("Our best guess is {likely}. It did not happen to the other {others}."),
)
DARK_SURE = message("Dark: {count}. It happened to at least this many.")
STRIPED = message("Striped: {count}. We are not sure. It may have happened to some of these.")
WHITE_SURE = message("White: {count}. As far as we can tell, it did not happen to these.")
DARK = message("Dark: {count}. It happened to these.")
WHITE = message("White: {count}. It did not happen to these.")
BOTH = message("Some children are in both counts. Do not add the two.")
GROUP = message("These are counts in a group. No one can say what will happen to your child.")
RANGE = message("The range shows how unsure we are: it is wide if we know few children like yours.")
RECORDS = message("The counts come from the records of {children} children or more.")
LIKE = message("{like} or more of them were like your child.")
RARE = message("Fewer than 5 of them had the same condition. So we are less sure.")
NOT_EFFECT = message("The counts do not show what a change of plan would do.")
NOT_WAITING = message("Our numbers come only from children who had the operation. They say nothing about waiting.")
OTHER_RISKS = message(
    "Other things can go wrong, too: an infection, a bleed, harm to the cord or a nerve, trouble with the sleep "
    "medicine. They are not in these counts. Ask us."
)

NO_NUMBER = {
    Why.TOO_FEW: (
        message("There are too few children like yours in our records. So we cannot give a number."),
        message("That is about our records, not about your child."),
    ),
    Why.TOO_UNSURE: (
        message("Our records are too small to give a number that would help you."),
        message("That is about our records, not about your child."),
    ),
    Why.OUT_OF_DATE: (
        message("Our numbers are out of date. We have to check them first."),
        message("That is about our records, not about your child."),
    ),
    Why.NOT_CHECKED: (
        message("Our numbers have not been checked yet. So we do not give them to families."),
        message("That is about our records, not about your child."),
    ),
    Why.PLAN: (
        message("We still work on the plan for the operation. So we do not give a number now."),
        message("Please ask us again when the plan is made."),
    ),
}
ASK_US = message("Ask us what we expect all the same, and why.")
PUBLISHED = message(
    "In reports on all kinds of children it was between {low} and {high} of {total}. "
    "For children like yours it is not known."
)
NOT_PUBLISHED = message("We do not know of a good number from other places.")

REASONS_TITLE = message("What moved our guess")
RAISED = message("This made it higher: {what}.")
LOWERED = message("This made it lower: {what}.")
NO_BLAME = message("No one is to blame for these.")
# Bone and condition only: nothing that a family could be blamed for, and nothing that is a choice of treatment.
REASONS = {
    "condition": message("the condition that your child has"),
    "atlas_ring": message("the shape of the top neck bone"),
    "reduces": message("how well the bones move back into line"),
    "adi_mm": message("the gap between the top two neck bones"),
    "padi_mm": message("the space for the cord"),
    "clivo_axial_angle_deg": message("the angle between the skull and the neck"),
    "bone_density_z": message("how dense the bone is"),
}

NEXT_TITLE = message("What happens next")
NEXT = (
    message("Ask us how long you can take to decide."),
    message("You may bring someone to our talks. You may ask another team what they think."),
    message("If you say yes, you sign a form. You can still change your mind."),
    message("Before the day you meet the doctor who will put your child to sleep."),
)

CALL_TITLE = message("When to call")
CALL_NOW = message(
    "Call an ambulance now if it is hard for your child to breathe, if an arm or a leg will not move, or if you cannot "
    "wake your child. Keep the head still."
)
CALL_US = message("Call us the same day, before or after the operation, if you see:")
CALL_LINES = (message("Ask for"), message("Phone by day"), message("Phone by night"))
CALL = (
    message("weak or numb arms or legs, or clumsy hands"),
    message("a change in how your child walks"),
    message("new trouble with the bladder or bowel"),
    message("trouble when they swallow, or noisy breath"),
    message("a new tilt of the head"),
    message("pain that medicine does not help"),
    message("fever"),
    message("a wound that leaks or gets red"),
)
CALL_HALO = message("a pin of the halo that is loose or sore")

AVOID_TITLE = message("Until the operation")
AVOID = {
    Avoid.JUMPING: message("No jumping, no trampoline, no diving."),
    Avoid.CONTACT_SPORT: message("No sport where people bump into each other."),
    Avoid.RIDES: message("No fast rides that jerk the head."),
    Avoid.NECK_HANDLING: message("Let no one pull, twist or crack the neck."),
    Avoid.SLEEP_MEDICINE: message(
        "If your child is to be put to sleep for any reason, tell that doctor about the neck."
    ),
}

AFTER_TITLE = message("After the operation")
AFTER = (
    message("Your child may wake up with tubes, and machines that beep. They help us to watch over your child."),
    message("The neck will be sore at first. We give medicine for this."),
    message("Your child will turn and bend the neck less than before."),
    message("Bone needs months to heal. If it does not heal, no one is to blame."),
    message("Ask us when school can start again, and what the teachers need to know."),
    message("Ask us which play and sport are safe, and from when. Some sport may have to stop for good."),
)
AFTER_HALO = message(
    "A halo is a ring around the head. Pins hold it, and it is joined to a vest. It keeps the neck still. "
    "It feels strange in the first days. We show you how to keep the pins clean."
)
AFTER_SKULL = message("Nodding will be hard. At first it can be hard to swallow, too.")
AFTER_LINES = (message("Nights in hospital"), message("Back to school"), message("Back to sport"))

GROWING_TITLE = message("Growing up")
GROWING = (
    message(
        "We see your child at 6 weeks, and at 3, 6, 12 and 24 months. Then we meet once a year until they stop growing."
    ),
    message("We look at the bones above and below the joined part, since they go on growing."),
    message("Ask us for a letter about the stiff neck. Show it each time your child is to be put to sleep."),
    message("Ask us if the metal stays in for good."),
    message("At 16 to 18 your child moves to a team for adults. Take a copy of all records."),
)

QUESTIONS_TITLE = message("Questions that you may want to ask")
# Asked only where a way to wait is open.
QUESTION_WAITING = message("What would happen if we wait?")
QUESTIONS = (
    message("What else can go wrong? What is the worst?"),
    message("What will my child be able to do, and not do?"),
    message("How often have you done this? How did it go?"),
    message("What is your plan if a screw does not fit?"),
    message("May I stay with my child at night?"),
    message("Who made these numbers, and who paid for them?"),
)
OWN_QUESTIONS = message("Our own questions, and what we care about")
TELL_BACK = message("Before you go, please tell us in your own words what you heard. Then we know if we were clear.")

YOUNG_TITLE = message("For you: it is your neck")
YOUNG = message("This half is for you. Write on it, and bring it along.")
YOUNG_PARTS = (
    (
        message("What will be done."),
        message(
            "You sleep all through the operation, so you do not feel it. The surgeon joins bones in your neck with "
            "metal. You may wake up with tubes and a sore neck. There will be a scar. Some hair may be cut."
        ),
    ),
    (
        message("What will change."),
        message("Your head will turn less. You learn to turn your body when you look round."),
    ),
    (
        message("What you may ask."),
        message(
            "All that you want to know. No question is silly. What could go wrong? Who stays with me at night? "
            "Who will see my scar? You may talk to us alone, too."
        ),
    ),
    (
        message("What you may decide."),
        message(
            "What you think counts, even if a parent has to sign. Tell us if you want this, and if not, why not. "
            "Some things are up to you: what you bring, who visits, what your class is told."
        ),
    ),
    (
        message("School and sport."),
        message(
            "You will miss some school. Ask when you can go back. Some sport has to wait until the bone has healed. "
            "Some may have to stop for good. Ask what you can do in its place."
        ),
    ),
    (
        message("When it hurts."),
        message(
            "Say so. You do not have to be brave. Tell a nurse or a parent. At school, tell a teacher. If your hands "
            "get clumsy, your legs get weak or your skin feels numb, tell someone at once, at night, too."
        ),
    ),
    (
        message("What no one can promise."),
        message("No one knows for sure how it will go. If bone is slow to heal, it is not because of you."),
    ),
)
YOUNG_LINES = (message("What I most want to do again, and what worries me"),)

SMALL = (
    message("This is research software. It is not an approved medical device."),
    message("It does not choose an operation. What your team says, and the rules of your hospital, come first."),
    message("This sheet is not for an emergency. If your child gets worse, call."),
)
MADE = message("Made on {day}.")
# By its digest: names of models speak of failure.
MODEL = message("Model {digest}.")
AGAIN = message("Ask for a new sheet after {day}.")
SIGNED = message("Talked through by {initials} on {day}.")
SIGN_LINE = message("Talked through by (initials), on (date)")
