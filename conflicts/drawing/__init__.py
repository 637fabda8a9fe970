"""Figures as pictures and documents: profiles, cross-sections and the layers of the map."""
