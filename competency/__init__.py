"""The rules: who is signed off in what, on any date, as known at any instant, and why.

Plain Python. No framework, no clock, no files, no network: the day and the instant are passed in.
Start at `competency.history`, which works a family out; `competency.reading` turns a case into values
and `competency.answer` turns the result back into one.
"""
