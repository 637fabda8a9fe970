"""What people call a line of each facility type, for sentences."""

LINE_WORDS = {
    "electric": "an electric line",
    "gas_oil_steam": "a gas, oil or steam line",
    "communication": "a communication line",
    "potable_water": "a water line",
    "reclaimed_water": "a reclaimed water line",
    "sewer_drain": "a sewer",
    "unknown": "a line of unknown type",
}
