"""What only people can write, item by item of TRIPOD+AI, in our own words.

Collins et al., BMJ 2024;385:e078378; numbers and topics from memory, as on the model card.
"""

SECTIONS = {
    "Title and abstract": ("1", "2"),
    "Introduction": ("3a", "3b", "3c", "4"),
    "Methods": (
        *("5a", "5b", "6a", "6b", "6c", "7", "8a", "8b", "8c", "9a", "9b", "9c", "10", "11"),
        *("12a", "12b", "12c", "12d", "12e", "12f", "12g", "13", "14", "15", "16", "17"),
    ),
    "Open science": ("18a", "18b", "18c", "18d", "18e", "18f"),
    "Patients and public": ("19",),
    "Results": ("20a", "20b", "20c", "21", "22", "23a", "23b", "24"),
    "Discussion": ("25", "26", "27a", "27b", "27c"),
}

PROMPTS = {
    "1": "Fit the title to the journal; keep population, outcome and horizon in it.",
    "2": "Background, aim, children, outcome, method, main numbers with intervals, what it does not show.",
    "3a": "Which decision is made when, what guides it today, and which models exist already.",
    "3b": "Who would see the estimate, in which meeting, and for which children it is not meant.",
    "3c": "Which groups of children are operated on less, later, or followed worse here, and why.",
    "4": "What was to be shown, said as it was said before the data were seen.",
    "5a": "What kind of register it is, who keeps it, and which children of the region never reach it.",
    "6a": "Where the centres are, what they refer to each other, who operates.",
    "6b": "Whether anybody was left out before the register: refused operation, operated elsewhere.",
    "6c": "What is done after the operation by habit (support, visits, scans), and what changed over the years.",
    "7": "Who entered the data, who looked at warnings, and what was done about them.",
    "8a": "Whether the definition is the one that the department uses elsewhere.",
    "8b": "Who judged the outcome, on which images or notes, and how trained.",
    "8c": "Whether those who judged the outcome knew the predictors or an estimate.",
    "9a": "Why these predictors and no others; who chose them, and when.",
    "9c": "Who measured, how often two readers agreed, whether they knew the outcome.",
    "12d": "Why centres differ here, as far as known.",
    "14": "For which groups the model was judged, why those, and what counts as unfair here.",
    "16": "How the children, the readers and the years of the check differ from those of the fit.",
    "17": "Committee, number, and how consent was handled.",
    "18a": "Who paid, and what part they had.",
    "18b": "Ties of every author, to makers of implants and of software too.",
    "18c": "Where the protocol was kept, and the day before which it was not changed.",
    "18d": "Register and number, or that there is none.",
    "18e": "What may be shared, with whom, on which terms.",
    "18f": "Where the code is kept, and under which licence.",
    "19": "What families and patients had to say to the outcome, the horizon and the wording.",
    "20a": "A drawing of the flow from the register to the children in the analysis.",
    "25": "What the numbers mean for a decision, for whom they mean nothing, and who might be treated unfairly.",
    "26": "What else could be wrong: who measured, who is missing, what changed since.",
    "27b": "What a user has to be able to do: measure, judge the range, explain an interval.",
    "27c": "The next check, where, how many children, by when.",
}
