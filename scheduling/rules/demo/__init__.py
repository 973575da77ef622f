"""The invented firm: every person, place, product and number is made up for demonstration."""
