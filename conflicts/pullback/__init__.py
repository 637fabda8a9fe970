"""The pullback: what it takes to pull the conduits in, and what they and the gear between can bear."""
