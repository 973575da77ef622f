"""The floors: plain SQL or a bare loop that gives the same result as what it is held against."""
