"""What to do first when a line is hit: words with their sources, and which phones may read them."""
