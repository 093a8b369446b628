"""`make fuzz`: the two readers of strangers' files (cohort, bundle) are fed what nobody would send."""
