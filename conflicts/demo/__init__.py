"""The invented jobs of the demo."""
