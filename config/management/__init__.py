"""Django's commands of the set-up."""
