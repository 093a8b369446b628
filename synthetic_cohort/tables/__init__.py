"""The further tables of a registry, beside the core: each from the same children, by a generator of its own."""
