"""Questions of a quality assessment in our own words, by part and domain."""

PEOPLE, PREDICTORS, OUTCOME, ANALYSIS = "Children and sources of data", "Predictors", "Outcome", "Analysis"

# key: (domain, question); 16 about how the model was made, 18 about how it was tried on other children.
DEVELOPMENT = {
    "source": (PEOPLE, "Is the source of the data fit for the question?"),
    "rules": (PEOPLE, "Were children let in and left out by rules that were fixed beforehand?"),
    "stand_for": (PEOPLE, "Do they stand for the children to come?"),
    "alike": (PREDICTORS, "Were predictors defined and measured alike in all children?"),
    "blind": (PREDICTORS, "Were they measured without knowing the outcome?"),
    "in_time": (PREDICTORS, "Are all of them known when the estimate is wanted?"),
    "determined": (OUTCOME, "Was the outcome determined in a fit way?"),
    "beforehand": (OUTCOME, "Were outcome and horizon fixed beforehand?"),
    "apart": (OUTCOME, "Is no predictor a part of the outcome?"),
    "looked_for": (OUTCOME, "Was it looked for alike in all children, and long enough?"),
    "size": (ANALYSIS, "Are there enough children and events for so many effects?"),
    "numbers": (ANALYSIS, "Were numbers kept as numbers?"),
    "gaps": (ANALYSIS, "Were all children kept, and missing values handled well?"),
    "chosen": (ANALYSIS, "Were predictors chosen without looking at their association with the outcome?"),
    "censoring": (ANALYSIS, "Were censoring, competing ends and centres dealt with?"),
    "overfitting": (ANALYSIS, "Was overfitting dealt with, tuning included, and no class rebalanced?"),
}
EVALUATION = {
    "others": (PEOPLE, "Were other children used than those of the fit?"),
    "same_rules": (PEOPLE, "Were they let in by the same rules?"),
    "stand_for": (PEOPLE, "Do they stand for the children to come?"),
    "alike": (PREDICTORS, "Were predictors measured as in the fit?"),
    "blind": (PREDICTORS, "Were they measured without knowing the outcome?"),
    "in_time": (PREDICTORS, "Were all of them known at the moment of the estimate?"),
    "determined": (OUTCOME, "Was the outcome determined in a fit way?"),
    "same_outcome": (OUTCOME, "Is it the outcome of the model?"),
    "unseen": (OUTCOME, "Was it judged without knowing the estimate?"),
    "looked_for": (OUTCOME, "Was it looked for alike in all children?"),
    "followed": (OUTCOME, "Were the children followed to the horizon?"),
    "events": (ANALYSIS, "Were there enough events to judge it?"),
    "kept": (ANALYSIS, "Were all children of the check kept?"),
    "gaps": (ANALYSIS, "Were gaps filled as they are at use?"),
    "censoring": (ANALYSIS, "Were censoring and competing ends dealt with?"),
    "measures": (ANALYSIS, "Were ranking and calibration both judged, with intervals?"),
    "as_given": (ANALYSIS, "Was the model tried as it is given out?"),
    "groups": (ANALYSIS, "Was it judged in groups of children too, for fairness?"),
}
