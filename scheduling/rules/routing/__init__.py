"""One day's routes: the problem, the plan, exact insertion, building, and an independent check.

Capacity is no rule of this trade's day (a truck carries what the load list says), so no load is
modeled anywhere here.
"""
