"""The manager's audit of records of use: checks A01 to A22 (regulations 7.7) as open items.

Where each is judged stands in DEVELOPERS.md, "Checks of records"; a test compares it with `kinds`.
An item closes by itself when its cause is gone, else a person closes it with a note.
"""
