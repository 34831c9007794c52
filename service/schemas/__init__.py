"""What clients send and are shown, by the same nouns as the records."""
