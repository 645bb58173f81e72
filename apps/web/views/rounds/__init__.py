"""Pages of rounds: building them, walking them, and who carries."""
