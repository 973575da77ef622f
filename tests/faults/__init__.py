"""What must survive faults: `python -m tests.faults NAME`; the suite runs each in short form."""
