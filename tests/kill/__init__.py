"""`make kill`: a program that keeps answers is killed two hundred times while it saves."""
